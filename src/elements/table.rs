//! `table`: texts and live values in aligned columns, with head rows and rules.

use super::cells::Cells;
use super::{Element, Spec};
use crate::elements::scope::Scope;
use crate::screen::operation::{Operation, Shape};
use crate::screen::typeset::{Overflow, Setting, Stand};
use crate::source::amount::At;
use crate::source::fault::Fault;
use embedded_graphics::prelude::{Point, Size};
use embedded_graphics::primitives::Rectangle;
use schemars::JsonSchema;
use serde::Deserialize;
use std::sync::OnceLock;

/// Keys of `table`.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct Table {
    /// The rows, each a list of cells; written like the words of `text`.
    table: At<Vec<Vec<At<String>>>>,
    /// Head rows: set in `head-font`, with a rule below.
    #[serde(default)]
    head: usize,
    /// Font of the head rows; absent: `small`.
    head_font: Option<At<String>>,
    /// The font; absent: `text`.
    font: Option<At<String>>,
    /// Height of a row in pixels; absent: the font's line, and two more between rules.
    row_height: Option<At<u32>>,
    /// Alignment of each column; absent: the first `start`, the others `end`.
    align: Option<At<Vec<Stand>>>,
    /// Width of each column in pixels, 0 for its widest text; the first such column takes what is left over.
    #[serde(default)]
    widths: Vec<u32>,
    /// Pixels between columns.
    #[serde(default = "gap")]
    gap: u32,
    /// What happens to cells that do not fit.
    #[serde(default)]
    overflow: Overflow,
    /// Where rules are drawn.
    #[serde(default)]
    rules: Rules,
}

fn gap() -> u32 {
    8
}

/// Where rules are drawn.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
enum Rules {
    /// A line below the head.
    #[default]
    Head,
    /// A line below the head, dotted ones between the other rows.
    Rows,
    /// None.
    None,
}

#[derive(Debug)]
struct Ready {
    cells: Cells,
    head_height: u32,
    row_height: u32,
    rules: Rules,
}

/// The head's rule and the space on both sides of it.
const HEAD_RULE: u32 = 3;

impl Spec for Table {
    fn resolve(&self, scope: &mut Scope<'_>) -> Option<Box<dyn Element>> {
        let face = scope.face(self.font.as_ref(), "text");
        let head_face = scope.face(self.head_font.as_ref(), "small");
        let mut rows = Vec::new();
        for row in &self.table.value {
            rows.push(row.iter().map(|cell| scope.template(cell)).collect::<Option<Vec<_>>>());
        }
        let (face, head_face, rows) = (face?, head_face?, rows.into_iter().collect::<Option<Vec<_>>>()?);
        if rows.is_empty() {
            scope.fault(Fault::at(self.table.span.clone(), "a table needs at least one row"));
        }
        if self.overflow == Overflow::Shrink {
            let fault =
                Fault::at(self.table.span.clone(), "a table has one font for all rows: its cells cannot shrink");
            scope.fault(fault.help("use overflow = \"ellipsis\", or a smaller font"));
        }
        for (index, (written, row)) in self.table.value.iter().zip(&rows).enumerate() {
            for (cell, template) in written.iter().zip(row) {
                let face = if index < self.head { &head_face } else { &face };
                scope.needs_glyphs(face, &cell.span, template.characters().into_iter());
            }
        }
        let columns = rows.iter().map(Vec::len).max().unwrap_or(0);
        let mut aligns = self.align.as_ref().map_or_else(|| Cells::usual_aligns(columns), |align| align.value.clone());
        aligns.resize(columns, Stand::End);
        let line = |height: i32| height.max(1) as u32;
        let usual = line(face.line_height()) + if self.rules == Rules::Rows { 2 } else { 0 };
        let row_height = self.row_height.as_ref().map_or(usual, |height| height.value.clamp(1, 1 << 12));
        let head_height = line(head_face.line_height());
        let head_setting = Setting { overflow: self.overflow, ..Setting::plain(head_face) };
        let setting = Setting { overflow: self.overflow, ..Setting::plain(face) };
        let cells = Cells {
            rows,
            head: self.head,
            head_setting,
            setting,
            aligns,
            widths: self.widths.iter().map(|width| Some(*width).filter(|width| *width > 0)).collect(),
            gap: self.gap.min(1 << 12) as i32,
            measured: OnceLock::new(),
        };
        Some(Box::new(Ready { cells, head_height, row_height, rules: self.rules }))
    }
}

impl Ready {
    /// Rows of the head.
    fn head(&self) -> usize {
        self.cells.head.min(self.cells.rows.len())
    }

    /// Pixels of the head with its rule.
    fn head_room(&self) -> u32 {
        match (self.head(), self.rules) {
            (0, _) => 0,
            (rows, Rules::None) => self.head_height.saturating_mul(rows as u32),
            (rows, _) => self.head_height.saturating_mul(rows as u32) + HEAD_RULE,
        }
    }

    /// The area of a row.
    fn row(&self, area: Rectangle, index: usize) -> Rectangle {
        let (y, height) = match index.checked_sub(self.head()) {
            None => (self.head_height.saturating_mul(index as u32), self.head_height),
            Some(below) => {
                (self.head_room().saturating_add(self.row_height.saturating_mul(below as u32)), self.row_height)
            }
        };
        let y = y.min(1 << 16) as i32;
        Rectangle::new(area.top_left + Point::new(0, y), Size::new(area.size.width, height)).intersection(&area)
    }
}

impl Element for Ready {
    fn measure(&self, _: Option<u32>) -> Size {
        let below = (self.cells.rows.len() - self.head()) as u32;
        let height = self.head_room().saturating_add(self.row_height.saturating_mul(below));
        Size::new(self.cells.width().max(0) as u32, height)
    }

    fn operations(&self, area: Rectangle) -> Vec<Operation> {
        let mut operations = Vec::new();
        for index in 0..self.cells.rows.len() {
            let row = self.row(area, index);
            operations.extend(self.cells.operations(index, row));
            if self.rules == Rules::Rows && index > self.head() && row.size.height > 0 {
                let dots = Rectangle::new(row.top_left, Size::new(row.size.width, 1));
                operations.push(Operation::new(dots, Shape::Dashes { ink_gap: [1, 2], upright: false }));
            }
        }
        if self.head() > 0 && self.rules != Rules::None {
            let y = self.head_room() as i32 - HEAD_RULE as i32 + 1;
            let rule = Rectangle::new(area.top_left + Point::new(0, y), Size::new(area.size.width, 1));
            operations.push(Operation::fill(rule.intersection(&area), true));
        }
        operations
    }
}
