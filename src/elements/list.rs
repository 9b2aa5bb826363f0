//! `list`: rows of cells, one of them selected: menus and choosers. Rows that do not fit are scrolled to.
//!
//! Rows are scrolled by whole pages unless asked otherwise: most presses then change only two rows of pixels.

use super::cells::Cells;
use super::{Element, INSET, Spec, inset};
use crate::elements::scope::Scope;
use crate::screen::guard::Guard;
use crate::screen::operation::{Operation, Rows, SCROLL_BAR, Shape, Text};
use crate::screen::template::Template;
use crate::screen::typeset::{Overflow, Setting, Stand};
use crate::screen::values::FieldId;
use crate::source::amount::At;
use crate::source::fault::Fault;
use embedded_graphics::prelude::{Point, Size};
use embedded_graphics::primitives::Rectangle;
use schemars::JsonSchema;
use serde::Deserialize;
use std::sync::OnceLock;

/// Keys of `list`.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct List {
    /// The field that holds the position of the selected row, counted from 0.
    list: At<String>,
    /// The rows, each a list of cells; written like the words of `text`.
    rows: Option<At<Vec<Vec<At<String>>>>>,
    /// In place of `rows`: the cells of every row, in which `#` stands for the row's number, counted from 1.
    row: Option<At<Vec<At<String>>>>,
    /// With `row`: how many rows there can be.
    of: Option<At<usize>>,
    /// The field that says how many of the rows exist; the others are not shown, and the selection stays within.
    count: Option<At<String>>,
    /// With `count`: what stands in place of the rows where there are none.
    empty: Option<At<String>>,
    /// The font; absent: `text`.
    font: Option<At<String>>,
    /// Height of a row in pixels; absent: the font's line and two more.
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
    /// How rows are scrolled.
    #[serde(default)]
    scroll: Scroll,
}

fn gap() -> u32 {
    6
}

/// How rows are scrolled.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
enum Scroll {
    /// By as many rows as are visible.
    #[default]
    Page,
    /// By one row, the selection in the middle where it can be.
    Row,
}

#[derive(Debug)]
struct Ready {
    field: FieldId,
    count: Option<FieldId>,
    empty: Option<Template>,
    cells: Cells,
    row_height: u32,
    scroll: Scroll,
}

/// Rows of one list.
const MOST_ROWS: usize = 1_000;

/// Pixels between rows and scroll bar.
const BAR_GAP: u32 = 2;

impl Spec for List {
    fn resolve(&self, scope: &mut Scope<'_>) -> Option<Box<dyn Element>> {
        let face = scope.face(self.font.as_ref(), "text");
        let field = scope.field(&self.list);
        let written = self.written(scope)?;
        let mut rows = Vec::new();
        for row in &written {
            rows.push(row.iter().map(|cell| scope.template(cell)).collect::<Option<Vec<_>>>());
        }
        let (face, field, rows) = (face?, field?, rows.into_iter().collect::<Option<Vec<_>>>()?);
        self.check(field, rows.len(), scope);
        let count = match &self.count {
            Some(count) => Some(self.counted(count, field, rows.len(), scope)?),
            None => None,
        };
        let empty = match &self.empty {
            Some(text) => {
                let template = scope.template(text)?;
                scope.needs_glyphs(&face, &text.span, template.characters().into_iter());
                Some(template)
            }
            None => None,
        };
        for (cell, template) in written.iter().flatten().zip(rows.iter().flatten()) {
            scope.needs_glyphs(&face, &cell.span, template.characters().into_iter());
        }
        let columns = rows.iter().map(Vec::len).max().unwrap_or(0);
        let mut aligns = self.align.as_ref().map_or_else(|| Cells::usual_aligns(columns), |align| align.value.clone());
        aligns.resize(columns, Stand::End);
        let widths = self.widths.iter().map(|width| Some(*width).filter(|width| *width > 0)).collect();
        let line = face.line_height().max(1) as u32;
        let row_height = self.row_height.as_ref().map_or(line + 2, |height| height.value.clamp(1, 1 << 12));
        let setting = Setting { overflow: self.overflow, ..Setting::plain(face) };
        let cells = Cells {
            rows,
            head: 0,
            head_setting: setting.clone(),
            setting,
            aligns,
            widths,
            gap: self.gap.min(1 << 12) as i32,
            measured: OnceLock::new(),
        };
        Some(Box::new(Ready { field, count, empty, cells, row_height, scroll: self.scroll }))
    }
}

impl List {
    /// The cells of every row as written.
    fn written(&self, scope: &mut Scope<'_>) -> Option<Vec<Vec<At<String>>>> {
        if let (Some(empty), None) = (&self.empty, &self.count) {
            scope.fault(Fault::at(empty.span.clone(), "`empty` needs `count`: a list of fixed rows is never empty"));
        }
        match (&self.rows, &self.row, &self.of) {
            (Some(rows), None, None) => Some(rows.value.clone()),
            (None, Some(row), Some(of)) if (1..=MOST_ROWS).contains(&of.value) => {
                let number = |cell: &At<String>, at: usize| At {
                    span: cell.span.clone(),
                    value: cell.value.replace('#', &at.to_string()),
                };
                Some((1..=of.value).map(|at| row.value.iter().map(|cell| number(cell, at)).collect()).collect())
            }
            (_, Some(_), Some(of)) if self.rows.is_none() => {
                scope.fault(Fault::at(of.span.clone(), format!("a list has 1 to {MOST_ROWS} rows")));
                None
            }
            _ => {
                let fault = Fault::at(self.list.span.clone(), "a list has either `rows`, or `row` and `of`");
                scope.fault(
                    fault.help("write rows = [[\"...\"], [\"...\"]], or row = [\"Post #\", \"{air-#}\"], of = 12"),
                );
                None
            }
        }
    }

    /// The field that says how many rows exist; the selection stays within it.
    fn counted(&self, name: &At<String>, selected: FieldId, rows: usize, scope: &mut Scope<'_>) -> Option<FieldId> {
        let count = scope.field(name)?;
        let [low, high] = scope.range(count);
        if low < 0.0 || high > rows as f64 {
            let fault = Fault::at(name.span.clone(), format!("`{}` does not count the rows of this list", name.value));
            let fault = fault.label(format!("its range is {low} to {high}, there can be 0 to {rows} rows"));
            scope.fault(fault.help(format!("give the field range = [0, {rows}]")));
            return None;
        }
        if scope.within(selected) != Some(count) {
            let text = format!("`{}` does not stay within the rows that exist", self.list.value);
            let fault = Fault::at(self.list.span.clone(), text);
            scope.fault(fault.help(format!("add to the field: within = \"{}\"", name.value)));
            return None;
        }
        Some(count)
    }

    fn check(&self, field: FieldId, rows: usize, scope: &mut Scope<'_>) {
        let [low, high] = scope.range(field);
        if rows == 0 {
            scope.fault(Fault::at(self.list.span.clone(), "a list needs at least one row"));
        } else if low != 0.0 || high != (rows - 1) as f64 {
            let fault = Fault::at(
                self.list.span.clone(),
                format!("`{}` does not count the rows of this list", self.list.value),
            );
            let fault = fault.label(format!("its range is {low} to {high}, the rows are 0 to {}", rows - 1));
            scope.fault(fault.help(format!("give the field range = [0, {}]", rows - 1)));
        }
        if self.overflow == Overflow::Shrink {
            let fault = Fault::at(self.list.span.clone(), "a list has one font for all rows: its cells cannot shrink");
            scope.fault(fault.help("use overflow = \"ellipsis\", or a smaller font"));
        }
    }
}

impl Element for Ready {
    fn measure(&self, _: Option<u32>) -> Size {
        let rows = self.cells.rows.len() as u32;
        Size::new(self.cells.width().max(0) as u32 + 2 * INSET, self.row_height.saturating_mul(rows))
    }

    fn operations(&self, area: Rectangle) -> Vec<Operation> {
        let total = self.cells.rows.len();
        let visible = ((area.size.height / self.row_height) as usize).clamp(1, total.max(1));
        let scrolls = total > visible;
        let width = area.size.width.saturating_sub(if scrolls { SCROLL_BAR + BAR_GAP } else { 0 });
        let left = area.size.width.saturating_sub(SCROLL_BAR) as i32;
        let height = area.size.height.min((visible as u32).saturating_mul(self.row_height));
        let bar = Rectangle::new(area.top_left + Point::new(left, 0), Size::new(SCROLL_BAR, height));
        let room = inset(Rectangle::new(Point::zero(), Size::new(width, self.row_height)));
        let rows = Rows {
            selected: self.field,
            count: self.count,
            rows: self.cells.rows.clone(),
            columns: self.cells.columns(0, room.top_left.x, room.size.width as i32),
            pitch: self.row_height,
            width,
            visible,
            pages: self.scroll == Scroll::Page,
            bar: bar.intersection(&area),
        };
        let mut operations = vec![Operation::new(area, Shape::Rows(Box::new(rows)))];
        if let (Some(count), Some(template)) = (self.count, &self.empty) {
            let setting = Setting { align: Stand::Center, wrap: true, ..self.cells.setting.clone() };
            let room = inset(area);
            let text = Text { template: template.clone(), setting, room, key: None };
            let guard = Guard::Choice { field: count, place: 0, of: total + 1 };
            operations.push(Operation::new(area, Shape::Text(text)).only(guard));
        }
        operations
    }
}
