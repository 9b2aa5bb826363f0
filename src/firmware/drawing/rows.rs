//! Lists: rows of cells, the selected one reversed, and the scroll bar.

use super::ink::Ink;
use super::op::{Op, ROWS};
use super::words::Words;
use crate::firmware::tables::condition::decimals;
use crate::screen::operation::Rows;
use embedded_graphics::primitives::Rectangle;

const PAGES: u8 = 1;
const REVERSED: u8 = 1;
const SELECTED_REVERSED: u8 = 2;
const SELECTED_OTHER: u8 = 4;

impl Ink<'_> {
    /// A list; `None` where it does not lie on the screen as a whole.
    pub(super) fn rows(&mut self, rows: &Rows, area: Rectangle, seen: Rectangle) -> Option<Vec<Op>> {
        if area != seen || rows.count.is_some() {
            return None;
        }
        let cells: Option<Vec<Vec<Words>>> =
            rows.rows.iter().map(|row| row.iter().map(|cell| self.words(cell)).collect()).collect();
        let cells = cells?;
        let op = Op::new(ROWS, area).byte(if rows.pages { PAGES } else { 0 });
        let op = op.number(rows.selected.0 as u32).byte(decimals(self.device, rows.selected.0) as u8);
        let op = op.number(rows.rows.len() as u32).number(rows.columns.len() as u32);
        let mut op = op.number(rows.visible as u32).number(rows.pitch).number(rows.width).rectangle(rows.bar);
        for (index, column) in rows.columns.iter().enumerate() {
            let words: Words = cells.iter().filter_map(|row| row.get(index)).flatten().cloned().collect();
            let [usual, selected] = &column.settings;
            let reversed = |set: bool, bit: u8| if set { bit } else { 0 };
            let plain = |op: Op| Some(op.parts);
            let (one, other) = (Op::new(ROWS, area), Op::new(ROWS, area));
            let mine = plain(self.setting(one, usual, &words, None)?)?;
            let its = plain(self.setting(other, selected, &words, None)?)?;
            let flags = reversed(usual.reversed, REVERSED)
                | reversed(selected.reversed, SELECTED_REVERSED)
                | reversed(mine != its, SELECTED_OTHER);
            op = op.signed(column.left).number(column.width).byte(flags);
            op = self.setting(op, usual, &words, None)?;
            if mine != its {
                op = self.setting(op, selected, &words, None)?;
            }
        }
        for row in &cells {
            for column in 0..rows.columns.len() {
                op = op.cell(row.get(column).cloned());
            }
        }
        Some(vec![op])
    }
}
