//! Rows of text cells in columns: widths, alignment, operations. Lists and tables are made of them.

use crate::screen::operation::{Column, Operation, Shape, Text};
use crate::screen::template::Template;
use crate::screen::typeset::{Setting, Stand};
use crate::screen::widest::widest;
use embedded_graphics::primitives::Rectangle;
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

    /// The columns in `room` pixels, `from` pixels from the rows' left edge, as the row of this number is set. What is left
    /// over goes to the first column without a stated width, or stays empty at the right; what is missing is taken from
    /// it, down to nothing.
    pub fn columns(&self, row: usize, from: i32, room: i32) -> Vec<Column> {
        let mut widths = self.natural().to_vec();
        let spare = room - widths.iter().sum::<i32>() - self.gap * (widths.len() as i32 - 1).max(0);
        let elastic = (0..widths.len()).find(|column| self.widths.get(*column).copied().flatten().is_none());
        if let Some(column) = elastic {
            widths[column] = (widths[column] + spare).max(0);
        }
        let mut left = 0;
        let place = |(width, align): (i32, &Stand)| {
            let plain = Setting { align: *align, ..self.setting(row).clone() };
            let settings = [plain.clone(), Setting { reversed: true, ..plain }];
            let here = Column { left: from + left, width: width.min(room - left).max(0) as u32, settings };
            left += width + self.gap;
            here
        };
        widths.into_iter().zip(&self.aligns).map(place).collect()
    }

    /// One row as texts in its area.
    pub fn operations(&self, index: usize, area: Rectangle) -> Vec<Operation> {
        let cells = self.rows.get(index).into_iter().flatten();
        let columns = self.columns(index, 0, area.size.width as i32);
        let text = |(template, column): (&Template, Column)| {
            let room = column.cell(area);
            let [setting, _] = column.settings;
            Operation::new(room, Shape::Text(Text { template: template.clone(), setting, room, key: None }))
        };
        cells.zip(columns).map(text).collect()
    }
}
