//! What an element may ask for while it is settled: fonts, texts, fields, images, keys.

use crate::assets::fonts::Faces;
use crate::assets::pictures::{PictureLook, Pictures};
use crate::assets::strings::Strings;
use crate::behaviour::Event;
use crate::behaviour::field::Field;
use crate::behaviour::flow_state::FlowState;
use crate::frame::Frame;
use crate::hardware::display::Side;
use crate::screen::condition::LimitSpec;
use crate::screen::face::Face;
use crate::screen::guard::Guard;
use crate::screen::label::KeyLabel;
use crate::screen::shown::{Marks, Scale};
use crate::screen::template::{Piece, Template};
use crate::screen::values::{FieldId, Limit};
use crate::source::amount::At;
use crate::source::fault::{Fault, no_such};
use crate::source::spans::Span;
use crate::units::Seconds;
use std::sync::Arc;

/// Samples that a field may ask back for.
const MOST_BACK: f64 = 4_096.0;

/// Rows of a list or menu that a text may number.
const MOST_ROWS: f64 = 1_000.0;

/// One screen in one locale, while its elements are settled.
pub struct Scope<'a> {
    /// Faults found.
    pub faults: &'a mut Vec<Fault>,
    /// The project's faces.
    pub faces: &'a mut Faces,
    /// The project's pictures.
    pub pictures: &'a mut Pictures,
    /// The project's texts.
    pub strings: &'a mut Strings,
    /// The project's fields.
    pub fields: &'a [Field],
    /// The project's events.
    pub events: &'a [Event],
    /// The ids of the project's screens.
    pub screens: &'a [String],
    /// The fields that hold flow states.
    pub flow_state: &'a FlowState,
    /// The locale.
    pub locale: usize,
    /// The marks in its numbers.
    pub marks: Marks,
    /// The screen's id.
    pub screen: &'a str,
    /// The side of the panel along which keys lie unless they say otherwise.
    pub side: Side,
    /// The labels of the screen's keys.
    pub labels: Vec<KeyLabel>,
}

impl Scope<'_> {
    /// Notes a fault.
    pub fn fault(&mut self, fault: Fault) {
        self.faults.push(fault);
    }

    /// A face by name, or the usual one.
    pub fn face(&mut self, name: Option<&At<String>>, usual: &str) -> Option<Arc<Face>> {
        let usual = At { span: 0..0, value: usual.to_owned() };
        self.faces.find(name.unwrap_or(&usual), self.faults)
    }

    /// A picture from a file, black and white.
    pub fn picture(&mut self, file: &At<String>, look: &PictureLook) -> Option<Arc<Frame>> {
        self.pictures.find(file, look, self.faults)
    }

    /// A built-in icon.
    pub fn icon(&mut self, name: &At<String>, size: u32) -> Option<Arc<Frame>> {
        self.pictures.icon(name, size, self.faults)
    }

    /// A field by name.
    pub fn field(&mut self, name: &At<String>) -> Option<FieldId> {
        let found = self.fields.iter().position(|field| field.name == name.value).map(FieldId);
        if found.is_none() {
            self.faults.push(no_field(name, self.fields));
        }
        found
    }

    /// A field's text in this locale.
    pub fn piece(&self, field: FieldId) -> Piece {
        self.fields[field.0].pieces[self.locale].clone()
    }

    /// A field's text in this locale as it was so many samples ago as another field says. Faults are noted.
    pub fn back(&mut self, field: FieldId, by: &At<String>) -> Option<Piece> {
        let back = self.field(by)?;
        let [low, high] = self.range(back);
        if low != 0.0 || !(0.0..MOST_BACK).contains(&high) {
            let fault = Fault::at(by.span.clone(), format!("`{}` does not count samples back", by.value));
            let fault = fault.label(format!("its range is {low} to {high}"));
            self.fault(fault.help("give it range = [0, ...], one less than the samples of the chart"));
            return None;
        }
        Some(Piece::Back { piece: Box::new(self.piece(field)), by: back, samples: high as usize + 1 })
    }

    /// A field's unit, as a text that follows the setting; without pieces where it has none.
    pub fn unit_of(&self, field: FieldId) -> Template {
        let field = &self.fields[field.0];
        match &field.units {
            Some(units) => {
                let texts = units.units.iter().map(|unit| unit.name.clone()).collect();
                Template { pieces: vec![Piece::Choice { field: units.by, texts }] }
            }
            None if field.unit.is_empty() => Template::default(),
            None => Template::fixed(&field.unit),
        }
    }

    /// Each unit that a field is shown in: when, how it converts, its name, its decimals.
    pub fn views(&self, id: FieldId) -> Vec<(Guard, Scale, String, usize)> {
        let field = &self.fields[id.0];
        let Some(units) = &field.units else {
            return vec![(Guard::Always, Scale::OWN, field.unit.clone(), self.decimals(id))];
        };
        let guard = |place| Guard::Choice { field: units.by, place, of: units.units.len() };
        let all = units.units.iter().enumerate();
        all.map(|(place, unit)| (guard(place), unit.scale, unit.name.clone(), unit.decimals)).collect()
    }

    /// The field that says how many values a field has.
    pub fn within(&self, field: FieldId) -> Option<FieldId> {
        self.fields[field.0].within
    }

    /// A field's range.
    pub fn range(&self, field: FieldId) -> [f64; 2] {
        self.fields[field.0].range
    }

    /// Decimals that a field's text shows; 0 for choices and times.
    pub fn decimals(&self, field: FieldId) -> usize {
        self.fields[field.0].pieces[self.locale].decimals()
    }

    /// Decimals that a field is held with.
    pub fn held(&self, field: FieldId) -> u32 {
        self.fields[field.0].held()
    }

    /// Time between a field's renewals.
    pub fn interval(&self, field: FieldId) -> Seconds {
        self.fields[field.0].interval(self.events)
    }

    /// A limit with its field found.
    pub fn limit(&mut self, limit: &At<LimitSpec>) -> Option<Limit> {
        match &limit.value {
            LimitSpec::Number(number) => Some(Limit::Number(*number)),
            LimitSpec::Field(name) => {
                self.field(&At { span: limit.span.clone(), value: name.clone() }).map(Limit::Field)
            }
        }
    }

    /// A text in this locale: itself, or the string that a leading `@` names.
    pub fn words(&mut self, text: &At<String>) -> Option<String> {
        self.strings.words(text, self.locale, self.faults)
    }

    /// A text with fields in braces; `{{` and `}}` are braces.
    pub fn template(&mut self, text: &At<String>) -> Option<Template> {
        let words = self.words(text)?;
        let mut template = Template::default();
        let mut fixed = String::new();
        let mut rest = words.as_str();
        while let Some(at) = rest.find(['{', '}']) {
            fixed.push_str(&rest[..at]);
            let brace = &rest[at..=at];
            rest = &rest[at + 1..];
            if rest.starts_with(brace) {
                fixed.push_str(brace);
                rest = &rest[1..];
                continue;
            }
            let Some(end) = rest.find('}').filter(|_| brace == "{") else {
                let fault = Fault::at(text.span.clone(), "a brace has no partner in this text");
                self.fault(fault.label(words.clone()).help("write {field} for a value, {{ and }} for braces"));
                return None;
            };
            let name = At { span: text.span.clone(), value: rest[..end].trim().to_owned() };
            rest = &rest[end + 1..];
            let pieces = self.live(&name)?;
            if !fixed.is_empty() {
                template.pieces.push(Piece::Fixed(std::mem::take(&mut fixed)));
            }
            template.pieces.extend(pieces);
        }
        fixed.push_str(rest);
        if !fixed.is_empty() || template.pieces.is_empty() {
            template.pieces.push(Piece::Fixed(fixed));
        }
        Some(template)
    }

    /// What stands between braces: a field, its unit (`level.unit`), its value so many samples ago (`level@cursor`), and of
    /// a position among rows which one it is, counted from 1 (`row.number`), and of how many (`row.of`).
    fn live(&mut self, name: &At<String>) -> Option<Vec<Piece>> {
        let known = self.fields.iter().any(|field| field.name == name.value);
        let part = |text: &str| At { span: name.span.clone(), value: text.trim().to_owned() };
        if !known && let Some(field) = name.value.strip_suffix(".unit") {
            let field = self.field(&part(field))?;
            return Some(self.unit_of(field).pieces);
        }
        if !known && let Some(field) = name.value.strip_suffix(".number") {
            let (field, rows) = self.position(&part(field))?;
            let texts = (1..=rows).map(|number| number.to_string()).collect();
            return Some(vec![Piece::Choice { field, texts }]);
        }
        if !known && let Some(field) = name.value.strip_suffix(".of") {
            let (field, rows) = self.position(&part(field))?;
            return Some(vec![match self.fields[field.0].within {
                Some(count) => self.piece(count),
                None => Piece::Fixed(rows.to_string()),
            }]);
        }
        if !known && let Some((field, back)) = name.value.split_once('@') {
            let field = self.field(&part(field))?;
            return self.back(field, &part(back)).map(|piece| vec![piece]);
        }
        let field = self.field(name)?;
        Some(vec![self.piece(field)])
    }

    /// A field that counts rows from 0, and how many it can count.
    fn position(&mut self, name: &At<String>) -> Option<(FieldId, usize)> {
        let field = self.field(name)?;
        let [low, high] = self.range(field);
        if low != 0.0 || !(0.0..MOST_ROWS).contains(&high) || self.fields[field.0].step != 1.0 {
            let fault = Fault::at(name.span.clone(), format!("`{}` does not count rows", name.value));
            let fault = fault.label(format!("its range is {low} to {high}"));
            self.fault(fault.help(format!("give it whole numbers from 0 to at most {}", MOST_ROWS - 1.0)));
            return None;
        }
        Some((field, high as usize + 1))
    }

    /// Notes which characters a face must have here.
    pub fn needs_glyphs(&mut self, face: &Arc<Face>, span: &Span, characters: impl Iterator<Item = char>) {
        let locale = &self.strings.locales()[self.locale];
        self.faces.needs(face, span, characters, self.screen, locale);
    }
}

/// The fault for a field that does not exist.
pub fn no_field(name: &At<String>, fields: &[Field]) -> Fault {
    nearest_field(name, fields.iter().map(|field| field.name.as_str()))
}

/// The fault for a field that is not among these names.
pub fn nearest_field<'n>(name: &At<String>, fields: impl Iterator<Item = &'n str>) -> Fault {
    let fault = no_such("field", "fields", (&name.value, &name.span), fields);
    fault.or_help(format!("add it to device.toml: [fields.{}]", name.value))
}
