//! `editor`: a number or a text in cells of one width, the one that a cursor names white on black.
//!
//! A number has all digits of its range, zeros in front, so that every digit can be named. What keys change is said by the
//! screen's rules; this only shows it.

use super::{Element, Spec};
use crate::elements::scope::Scope;
use crate::screen::face::Face;
use crate::screen::guard::Guard;
use crate::screen::operation::{Operation, Shape, Text};
use crate::screen::shown::{Marks, ShownNumber};
use crate::screen::template::{DigitPlace, Piece, Template};
use crate::screen::typeset::{Setting, Stand};
use crate::screen::values::FieldId;
use crate::screen::widest::widest;
use crate::source::amount::At;
use crate::source::fault::Fault;
use embedded_graphics::prelude::{Point, Size};
use embedded_graphics::primitives::Rectangle;
use schemars::JsonSchema;
use serde::Deserialize;
use std::sync::Arc;

/// Keys of `editor`.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct Editor {
    /// The field: a number or a text.
    editor: At<String>,
    /// The field that names the digit, 0 being the last one, or the character, 0 being the first one.
    cursor: At<String>,
    /// The font; absent: `bold`.
    font: Option<At<String>>,
    /// Across its area.
    #[serde(default)]
    align: Stand,
}

/// What stands in a cell.
#[derive(Debug)]
struct Cell {
    template: Template,
    /// What the cursor's field holds where this cell is named; `None` for cells that never are.
    named: Option<usize>,
    width: u32,
}

/// The cells from left to right in each unit.
#[derive(Debug)]
struct Ready {
    face: Arc<Face>,
    cursor: FieldId,
    align: Stand,
    rows: Vec<(Guard, Vec<Cell>)>,
}

/// Pixels beside the widest character of a cell, both sides together.
const ROOM: i32 = 2;

impl Spec for Editor {
    fn resolve(&self, scope: &mut Scope<'_>) -> Option<Box<dyn Element>> {
        let face = scope.face(self.font.as_ref(), "bold");
        let field = scope.field(&self.editor);
        let cursor = scope.field(&self.cursor);
        let (face, field, cursor) = (face?, field?, cursor?);
        let rows = match scope.piece(field) {
            Piece::Joined(characters) => vec![(Guard::Always, text_cells(characters, &face))],
            Piece::Choice { .. } | Piece::Clock { .. } => {
                let text = format!("`{}` has no digits to edit", self.editor.value);
                let fault = Fault::at(self.editor.span.clone(), text);
                scope.fault(fault.help("an editor is for fields with a `range` or a `text`"));
                return None;
            }
            _ => number_rows(field, &face, scope),
        };
        let most = rows.iter().flat_map(|(_, cells)| cells.iter().filter_map(|cell| cell.named)).max().unwrap_or(0);
        let [low, high] = scope.range(cursor);
        if low < 0.0 || high > most as f64 {
            let fault = Fault::at(
                self.cursor.span.clone(),
                format!("`{}` names more places than there are", self.cursor.value),
            );
            let fault = fault.label(format!("its range is {low} to {high}, the places are 0 to {most}"));
            let fault = [field, cursor].iter().fold(fault, |fault, id| fault.rests_on(&scope.fields[id.0].span));
            let fault = scope.fields[field.0].quantity.iter().fold(fault, Fault::rests_on);
            scope.fault(fault.help(format!("give the field range = [0, {most}]")));
        }
        for cell in rows.iter().flat_map(|(_, cells)| cells) {
            scope.needs_glyphs(&face, &self.editor.span, cell.template.characters().into_iter());
        }
        Some(Box::new(Ready { face, cursor, align: self.align, rows }))
    }
}

/// The width of cells with these contents.
fn width<'t>(templates: impl Iterator<Item = &'t Template>, face: &Arc<Face>) -> u32 {
    let setting = Setting::plain(face.clone());
    let most = templates.map(|template| setting.width(&widest(template, &setting))).max().unwrap_or(0);
    (most + ROOM).max(1) as u32
}

fn text_cells(characters: Vec<Piece>, face: &Arc<Face>) -> Vec<Cell> {
    let templates: Vec<Template> = characters.into_iter().map(|piece| Template { pieces: vec![piece] }).collect();
    let width = width(templates.iter().take(1), face);
    let cell = |(place, template)| Cell { template, named: Some(place), width };
    templates.into_iter().enumerate().map(cell).collect()
}

fn number_rows(field: FieldId, face: &Arc<Face>, scope: &Scope<'_>) -> Vec<(Guard, Vec<Cell>)> {
    let marks = Marks { group: None, ..scope.marks };
    let row = |(guard, scale, _, decimals)| {
        let number = ShownNumber { field, scale, decimals, range: scope.range(field), marks };
        (guard, number_cells(&number, face))
    };
    scope.views(field).into_iter().map(row).collect()
}

fn number_cells(number: &ShownNumber, face: &Arc<Face>) -> Vec<Cell> {
    let (digits, below) = number.digits();
    let one = |place| Template { pieces: vec![Piece::Cell { number: number.clone(), digits, place }] };
    let fixed = |text: String| Template::fixed(text);
    let last = one(DigitPlace::Digit(0));
    let digit = width([&last].into_iter(), face);
    let mut cells = Vec::new();
    if below {
        let template = one(DigitPlace::Sign);
        let width = width([&template].into_iter(), face);
        cells.push(Cell { template, named: None, width });
    }
    for place in (0..digits).rev() {
        cells.push(Cell { template: one(DigitPlace::Digit(place)), named: Some(place), width: digit });
        if place == number.decimals && place > 0 {
            let template = fixed(number.marks.decimal.to_string());
            let width = width([&template].into_iter(), face);
            cells.push(Cell { template, named: None, width });
        }
    }
    cells
}

impl Element for Ready {
    fn measure(&self, _: Option<u32>) -> Size {
        let width = |(_, cells): &(Guard, Vec<Cell>)| cells.iter().map(|cell| cell.width).sum();
        let height = self.face.line_height().max(1) as u32 + 2;
        Size::new(self.rows.iter().map(width).max().unwrap_or(0), height)
    }

    fn operations(&self, area: Rectangle) -> Vec<Operation> {
        let mut operations = Vec::new();
        for (guard, cells) in &self.rows {
            let total: u32 = cells.iter().map(|cell| cell.width).sum();
            let mut left = self.align.offset(area.size.width as i32, total as i32);
            for cell in cells {
                let corner = area.top_left + Point::new(left, 0);
                let room = Rectangle::new(corner, Size::new(cell.width, area.size.height));
                left += cell.width as i32;
                operations.extend(self.cell(cell, room, area).into_iter().map(|one| one.only(guard.clone())));
            }
        }
        operations
    }
}

impl Ready {
    /// One cell, as it is and as it is where the cursor names it.
    fn cell(&self, cell: &Cell, room: Rectangle, area: Rectangle) -> Vec<Operation> {
        let text = |reversed| {
            let setting = Setting { reversed, align: Stand::Center, ..Setting::plain(self.face.clone()) };
            let text = Text { template: cell.template.clone(), setting, room, key: None };
            Operation::new(room.intersection(&area), Shape::Text(text))
        };
        let Some(named) = cell.named else { return vec![text(false)] };
        let guard = |holds| Guard::Is { field: self.cursor, number: named as f64, holds };
        vec![
            text(false).only(guard(false)),
            Operation::fill(room.intersection(&area), true).only(guard(true)),
            text(true).only(guard(true)),
        ]
    }
}
