//! What operations make of the values of a moment, without drawing: texts, pictures chosen, runs of pixels. At two moments
//! of one aspect they draw the same pixels, so that what looks as before need not be drawn anew.
//!
//! Not for the fields that can change pixels; see [`super::inspect`].

use super::Item;
use super::operation::{Operation, Shape};
use super::template::Template;
use super::values::{FieldId, Values};

/// What a list of elements makes of the values of a moment.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Aspect {
    /// All texts, one after the other.
    texts: String,
    /// Everything else, the ends of the texts among it.
    numbers: Vec<u64>,
}

impl Aspect {
    /// Nothing seen yet; its memory is kept.
    pub fn clear(&mut self) {
        self.texts.clear();
        self.numbers.clear();
    }

    /// Adds what an element makes of the values.
    pub fn add(&mut self, item: &Item, values: &Values) {
        let shows = item.shows(values);
        self.numbers.push(u64::from(shows));
        if shows {
            item.operations.iter().for_each(|operation| self.operation(operation, values));
        }
    }

    fn text(&mut self, template: &Template, values: &Values) {
        template.write(values, &mut self.texts);
        self.numbers.push(self.texts.len() as u64);
    }

    fn operation(&mut self, operation: &Operation, values: &Values) {
        let holds = operation.guard.holds(values);
        self.numbers.push(u64::from(holds));
        if !holds {
            return;
        }
        match &operation.shape {
            Shape::Fill { .. }
            | Shape::Outline(_)
            | Shape::Tile { .. }
            | Shape::Dashes { .. }
            | Shape::Line { .. }
            | Shape::Bitmap(_)
            | Shape::Label(_) => {}
            Shape::BitmapBy { field, .. } => self.numbers.push(values.of(*field).round().to_bits()),
            Shape::Text(text) => self.text(&text.template, values),
            Shape::Value(value) => {
                self.text(&value.number, values);
                self.text(&value.unit, values);
            }
            Shape::Bar(bar) => {
                let (from, run) = bar.run(values).unwrap_or_default();
                self.numbers.extend([from as u64, run as u64]);
            }
            Shape::Arc(arc) => self.numbers.push(arc.level.share(values).to_bits()),
            Shape::Marker(marker) => self.numbers.push(marker.threshold.share(values).map_or(u64::MAX, f64::to_bits)),
            Shape::RingMarker(marker) => {
                self.numbers.push(marker.threshold.share(values).map_or(u64::MAX, f64::to_bits));
            }
            // Much that is seen depends on these: each change counts.
            Shape::History(_) | Shape::Rows(_) => {
                let changes = |field: FieldId| values.version[field.0];
                self.numbers.extend(operation.fields().into_iter().map(changes));
            }
        }
    }
}
