//! Rows of text cells in columns: widths, alignment, drawing. Lists and tables are made of them.

use super::SetText;
use crate::frame::Frame;
use crate::screen::template::Template;
use crate::screen::typeset::{Setting, Stand};
use crate::screen::values::{FieldId, Values};
use crate::screen::widest::widest;
use embedded_graphics::prelude::{Point, Size};
use embedded_graphics::primitives::Rectangle;
use std::collections::BTreeMap;
use std::sync::OnceLock;

/// Cells in columns.
#[derive(Debug)]
pub struct Cells {
    /// Rows of cells; a row may have fewer than the columns.
    pub rows: Vec<Vec<Template>>,
    /// Rows at the top that are set as a head.
    pub head: usize,
    /// How the head's text is set; alignment comes from the column.
    pub head_setting: Setting,
    /// How the other rows' text is set.
    pub setting: Setting,
    /// Alignment of each column.
    pub aligns: Vec<Stand>,
    /// Stated widths of columns; `None` for the widest text.
    pub widths: Vec<Option<u32>>,
    /// Pixels between columns.
    pub gap: i32,
    /// Widths of the columns, once they have been measured: that looks at every value that every cell can show.
    pub measured: OnceLock<Vec<i32>>,
}

impl Cells {
    /// Alignments where none are stated: words at the left of the first column, numbers at the right of the others.
    pub fn usual_aligns(columns: usize) -> Vec<Stand> {
        (0..columns).map(|column| if column == 0 { Stand::Start } else { Stand::End }).collect()
    }

    fn setting(&self, row: usize) -> &Setting {
        if row < self.head { &self.head_setting } else { &self.setting }
    }

    /// The widest text of each column in pixels, or what is stated.
    pub fn natural(&self) -> &[i32] {
        self.measured.get_or_init(|| self.measure())
    }

    fn measure(&self) -> Vec<i32> {
        let natural = |column: usize| {
            let cells = self.rows.iter().enumerate().filter_map(|(row, cells)| Some((row, cells.get(column)?)));
            let width = |(row, cell): (usize, &Template)| self.setting(row).width(&widest(cell, self.setting(row)));
            cells.map(width).max().unwrap_or(0)
        };
        let stated = |column: usize| self.widths.get(column).copied().flatten().map(|width| width.min(1 << 16) as i32);
        (0..self.aligns.len()).map(|column| stated(column).unwrap_or_else(|| natural(column))).collect()
    }

    /// Pixels that all columns need side by side.
    pub fn width(&self) -> i32 {
        self.natural().iter().sum::<i32>() + self.gap * (self.aligns.len() as i32 - 1).max(0)
    }

    /// Left edge and width of each column in `room` pixels. What is left over goes to the first column without a stated
    /// width, or stays empty at the right; what is missing is taken from it, down to nothing.
    pub fn columns(&self, room: i32) -> Vec<(i32, i32)> {
        let mut widths = self.natural().to_vec();
        let spare = room - widths.iter().sum::<i32>() - self.gap * (widths.len() as i32 - 1).max(0);
        let elastic = (0..widths.len()).find(|column| self.widths.get(*column).copied().flatten().is_none());
        if let Some(column) = elastic {
            widths[column] = (widths[column] + spare).max(0);
        }
        let mut left = 0;
        let place = |width: i32| {
            let here = (left, width.min(room - left).max(0));
            left += width + self.gap;
            here
        };
        widths.into_iter().map(place).collect()
    }

    fn areas(&self, row: Rectangle) -> Vec<Rectangle> {
        let column = |(left, width): (i32, i32)| {
            Rectangle::new(row.top_left + Point::new(left, 0), Size::new(width.max(0) as u32, row.size.height))
        };
        self.columns(row.size.width as i32).into_iter().map(column).collect()
    }

    /// Draws one row into its area.
    pub fn draw(&self, index: usize, area: Rectangle, reversed: bool, values: &Values, frame: &mut Frame) {
        let Some(row) = self.rows.get(index) else { return };
        for ((cell, align), area) in row.iter().zip(&self.aligns).zip(self.areas(area)) {
            let setting = Setting { align: *align, reversed, ..self.setting(index).clone() };
            setting.draw(&cell.text(values), area, frame);
        }
    }

    /// The widest texts of a row in an area, cell by cell.
    pub fn texts(&self, index: usize, area: Rectangle) -> Vec<SetText> {
        let Some(row) = self.rows.get(index) else { return Vec::new() };
        let cells = row.iter().zip(self.areas(area));
        cells
            .filter_map(|(cell, area)| {
                SetText::widest(cell.extremes_in(self.setting(index)), self.setting(index), area)
            })
            .collect()
    }

    /// The fields of all cells, each once.
    pub fn fields(&self) -> Vec<FieldId> {
        let all = self.rows.iter().flatten().flat_map(Template::fields);
        all.map(|field| (field, ())).collect::<BTreeMap<_, _>>().into_keys().collect()
    }
}
