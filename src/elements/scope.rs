//! What an element may ask for while it is settled: faces, texts, fields, pictures, keys.

use crate::assets::fonts::Faces;
use crate::assets::pictures::{Look, Pictures};
use crate::assets::strings::Strings;
use crate::behaviour::Event;
use crate::behaviour::field::Field;
use crate::behaviour::recall::Recall;
use crate::frame::Frame;
use crate::hardware::glass::Side;
use crate::screen::condition::LimitSpec;
use crate::screen::face::Face;
use crate::screen::template::{Piece, Template};
use crate::screen::values::{FieldId, Limit};
use crate::source::amount::At;
use crate::source::fault::{Fault, nearest};
use crate::source::spans::Span;
use crate::units::Seconds;
use std::sync::Arc;

/// A soft key's label on one screen.
#[derive(Clone, Debug)]
pub struct KeyLabel {
    /// Where it is written.
    pub span: Span,
    /// The words; empty where the key has none.
    pub text: String,
    /// The key's centre in pixels along the keys' side.
    pub centre: i32,
    /// The key's width in pixels.
    pub width: u32,
    /// Whether it does anything on this screen.
    pub acts: bool,
}

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
    pub recall: &'a Recall,
    /// The locale.
    pub locale: usize,
    /// The screen's id.
    pub screen: &'a str,
    /// The side of the glass along which the keys lie.
    pub side: Side,
    /// The screen's keys: label as written, centre, width, whether it does anything.
    pub labels: Vec<(Option<At<String>>, i32, u32, bool)>,
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
    pub fn picture(&mut self, file: &At<String>, look: &Look) -> Option<Arc<Frame>> {
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

    /// A field's unit.
    pub fn unit(&self, field: FieldId) -> String {
        self.fields[field.0].unit.clone()
    }

    /// A field's range.
    pub fn range(&self, field: FieldId) -> [f64; 2] {
        self.fields[field.0].range
    }

    /// Decimals that a field's text shows; 0 for choices and times.
    pub fn decimals(&self, field: FieldId) -> usize {
        let mut piece = &self.fields[field.0].pieces[self.locale];
        while let Piece::Stated { piece: inner, .. } = piece {
            piece = inner;
        }
        if let Piece::Number { decimals, .. } = piece { *decimals } else { 0 }
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
            let field = self.field(&name)?;
            if !fixed.is_empty() {
                template.pieces.push(Piece::Fixed(std::mem::take(&mut fixed)));
            }
            template.pieces.push(self.piece(field));
        }
        fixed.push_str(rest);
        if !fixed.is_empty() || template.pieces.is_empty() {
            template.pieces.push(Piece::Fixed(fixed));
        }
        Some(template)
    }

    /// The soft keys' labels on this screen, in this locale.
    pub fn key_labels(&mut self) -> Vec<KeyLabel> {
        let labels = self.labels.clone();
        let label = |(text, centre, width, acts): (Option<At<String>>, i32, u32, bool)| {
            let words = text.as_ref().and_then(|text| self.words(text)).unwrap_or_default();
            KeyLabel { span: text.map_or(0..0, |text| text.span), text: words, centre, width, acts }
        };
        labels.into_iter().map(label).collect()
    }

    /// Notes which characters a face must have here.
    pub fn needs_glyphs(&mut self, face: &Arc<Face>, span: &Span, characters: impl Iterator<Item = char>) {
        let locale = &self.strings.locales()[self.locale];
        self.faces.needs(face, span, characters, self.screen, locale);
    }
}

/// The fault for a field that does not exist.
pub fn no_field(name: &At<String>, fields: &[Field]) -> Fault {
    let fault = Fault::at(name.span.clone(), format!("there is no field `{}`", name.value));
    let help = nearest(&name.value, fields.iter().map(|field| field.name.as_str()));
    fault.help(help.unwrap_or_else(|| format!("add it to device.toml: [fields.{}]", name.value)))
}
