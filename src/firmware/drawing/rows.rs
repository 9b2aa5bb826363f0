//! Lists: rows of cells, the selected one reversed, and the scroll bar.

use super::contents;
use super::ink::{FirstRow, Ink, first_baseline};
use super::op::{EXTRA, Op, ROWS};
use super::why::Drawn;
use super::words::Words;
use crate::firmware::tables::condition::decimals;
use crate::screen::operation::Rows;
use crate::screen::typeset::Setting;
use embedded_graphics::primitives::Rectangle;

const PAGES: u8 = 1;
const COUNTED: u8 = 2;
const REVERSED: u8 = 1;
const SELECTED_REVERSED: u8 = 2;
const SELECTED_OTHER: u8 = 4;

impl Ink<'_> {
    /// A list.
    pub(super) fn rows(&mut self, rows: &Rows, area: Rectangle, seen: Rectangle) -> Drawn<Vec<Op>> {
        let cells: Drawn<Vec<Vec<Words>>> =
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
        for (index, column) in rows.columns.iter().enumerate() {
            let own = || cells.iter().map(|row| row.get(index));
            let words: Words = own().flatten().flatten().cloned().collect();
            let [usual, selected] = &column.settings;
            let reversed = |set: bool, bit: u8| if set { bit } else { 0 };
            // Where every row has room, its baseline is known.
            let whole = (rows.visible as u32).saturating_mul(rows.pitch) <= area.size.height;
            let down = |setting: &Setting| {
                let baseline = first_baseline(setting, rows.pitch as i32, &words);
                baseline.filter(|_| whole && !contents::breaks(&words)).map_or(FirstRow::Room(0), FirstRow::Baseline)
            };
            let (one, other) = (Op::new(ROWS, area), Op::new(ROWS, area));
            let mine = self.setting(one, usual, &words, down(usual))?.parts;
            let its = self.setting(other, selected, &words, down(selected))?.parts;
            let flags = reversed(usual.reversed, REVERSED)
                | reversed(selected.reversed, SELECTED_REVERSED)
                | reversed(mine != its, SELECTED_OTHER);
            op = op.signed(column.left).number(column.width).byte(flags);
            op = self.setting(op, usual, &words, down(usual))?;
            if mine != its {
                self.used.insert("INK_CELLS_DIFFER");
                op = self.setting(op, selected, &words, down(selected))?;
            }
            op = own().fold(op, |op, cell| op.cell(cell.cloned()));
        }
        Ok(vec![op.rectangle(rows.bar)])
    }
}
