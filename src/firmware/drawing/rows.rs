//! Lists: rows of cells, the selected one reversed, and the scroll bar.

use super::ink::Ink;
use super::op::{EXTRA, Op, ROWS};
use super::words::Words;
use crate::firmware::tables::condition::decimals;
use crate::screen::operation::Rows;
use embedded_graphics::primitives::Rectangle;

const PAGES: u8 = 1;
const COUNTED: u8 = 2;
const REVERSED: u8 = 1;
const SELECTED_REVERSED: u8 = 2;
const SELECTED_OTHER: u8 = 4;

impl Ink<'_> {
    /// A list.
    pub(super) fn rows(&mut self, rows: &Rows, area: Rectangle, seen: Rectangle) -> Option<Vec<Op>> {
        let cells: Option<Vec<Vec<Words>>> =
            rows.rows.iter().map(|row| row.iter().map(|cell| self.words(cell)).collect()).collect();
        let cells = cells?;
        // What is counted from the whole list's corner is counted from what is seen of it.
        let cut = if area == seen { 0 } else { EXTRA };
        let flags = if rows.pages { PAGES } else { 0 } | if rows.count.is_some() { COUNTED } else { 0 };
        let parts = [("INK_PAGES", rows.pages), ("INK_COUNTED", rows.count.is_some())];
        self.used.extend(parts.into_iter().filter(|(_, needed)| *needed).map(|(part, _)| part));
        let mut op = Op::new(ROWS | cut, seen);
        if cut != 0 {
            op = op.rectangle(area);
        }
        op = op.byte(flags);
        if let Some(count) = rows.count {
            op = op.number(count.0 as u32).byte(decimals(self.device, count.0) as u8);
        }
        let op = op.number(rows.selected.0 as u32).byte(decimals(self.device, rows.selected.0) as u8);
        let op = op.number(rows.rows.len() as u32).number(rows.columns.len() as u32);
        let mut op = op.number(rows.visible as u32).number(rows.pitch).number(rows.width);
        op = Op { area, ..op }.rectangle(rows.bar);
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
                self.used.insert("INK_CELLS_DIFFER");
                op = self.setting(op, selected, &words, None)?;
            }
        }
        for row in &cells {
            for column in 0..rows.columns.len() {
                op = op.cell(row.get(column).cloned());
            }
        }
        Some(vec![Op { area: seen, ..op }])
    }
}
