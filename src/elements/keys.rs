//! `keys`: the labels of the soft keys, each over the centre of its physical key, along whichever side the keys lie.
//!
//! A label whose key does nothing on this screen keeps its words but loses its tick, bar or frame.

use super::{Element, Spec};
use crate::elements::scope::Scope;
use crate::hardware::display::Side;
use crate::screen::guard::Guard;
use crate::screen::label::KeyLabel;
use crate::screen::operation::{Operation, Shape, Text};
use crate::screen::template::Template;
use crate::screen::typeset::{Setting, Stand};
use crate::screen::values::FieldId;
use crate::screen::widest::widest;
use crate::source::amount::At;
use embedded_graphics::prelude::{Point, Size};
use embedded_graphics::primitives::Rectangle;
use schemars::JsonSchema;
use serde::Deserialize;

/// Keys of `keys`.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct Keys {
    /// How the labels look.
    #[serde(rename = "keys")]
    look: Look,
    /// The font; absent: `small`.
    font: Option<At<String>>,
    /// The side whose keys are labelled; absent: `display.keys-at`.
    side: Option<Side>,
    /// The field that holds the number of the key being held, 0 for none; that key's label is drawn pressed.
    pressed: Option<At<String>>,
}

/// How the labels look.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
enum Look {
    /// Words beside a rule, with a tick at the edge of the display at each key's centre.
    Ticks,
    /// White words in black bars as wide as the keys.
    Bars,
    /// Words in frames as wide as the keys.
    Frames,
}

#[derive(Debug)]
struct Ready {
    look: Look,
    side: Side,
    setting: Setting,
    labels: Vec<KeyLabel>,
    pressed: Option<FieldId>,
}

/// Length and thickness of a tick.
const TICK: [u32; 2] = [5, 2];

impl Spec for Keys {
    fn resolve(&self, scope: &mut Scope<'_>) -> Option<Box<dyn Element>> {
        let face = scope.face(self.font.as_ref(), "small");
        let pressed = self.pressed.as_ref().map(|name| scope.field(name));
        let face = face?;
        let side = self.side.unwrap_or(scope.side);
        let labels: Vec<KeyLabel> = scope.labels.iter().filter(|label| label.side == Some(side)).cloned().collect();
        for label in &labels {
            for (_, words) in &label.words {
                scope.needs_glyphs(&face, &label.span, words.characters().into_iter());
            }
        }
        let setting = Setting { align: Stand::Center, ..Setting::plain(face) };
        let pressed = pressed.map_or(Some(None), |field| field.map(Some))?;
        Some(Box::new(Ready { look: self.look, side, setting, labels, pressed }))
    }
}

/// A label's parts in an area.
struct Spot {
    /// As long as the key, as thick as the area.
    whole: Rectangle,
    /// Where the words stand.
    words: Rectangle,
    tick: Rectangle,
}

impl Ready {
    fn is_level(&self) -> bool {
        matches!(self.side, Side::Bottom | Side::Top)
    }

    /// The part of `area` that begins `from` pixels from the edge of the display and is `thick` pixels thick.
    fn strip(&self, area: Rectangle, from: u32, thick: u32) -> Rectangle {
        let [w, h] = [area.size.width, area.size.height];
        let (x, y, size) = match self.side {
            Side::Top => (0, from, Size::new(w, thick)),
            Side::Bottom => (0, h.saturating_sub(from + thick), Size::new(w, thick)),
            Side::Left => (from, 0, Size::new(thick, h)),
            Side::Right => (w.saturating_sub(from + thick), 0, Size::new(thick, h)),
        };
        Rectangle::new(area.top_left + Point::new(x as i32, y as i32), size).intersection(&area)
    }

    /// The part of a strip around a key's centre.
    fn around(&self, strip: Rectangle, centre: i32, length: u32) -> Rectangle {
        let start = centre - length as i32 / 2;
        let part = match self.is_level() {
            true => Rectangle::new(Point::new(start, strip.top_left.y), Size::new(length, strip.size.height)),
            false => Rectangle::new(Point::new(strip.top_left.x, start), Size::new(strip.size.width, length)),
        };
        part.intersection(&strip)
    }

    fn thickness(&self, area: Rectangle) -> u32 {
        if self.is_level() { area.size.height } else { area.size.width }
    }

    fn spot(&self, area: Rectangle, label: &KeyLabel) -> Spot {
        let whole = self.around(area, label.centre, label.width);
        let words = match self.look {
            // Between the tick at the edge of the panel and the rule at the other side.
            Look::Ticks => {
                let strip = self.strip(area, TICK[1], self.thickness(area).saturating_sub(TICK[1] + 1));
                self.around(strip, label.centre, label.width)
            }
            Look::Bars | Look::Frames => whole,
        };
        let tick = self.around(self.strip(area, 0, TICK[1]), label.centre, TICK[0]);
        Spot { whole, words, tick }
    }

    /// One label's words as they look while its key is held, or while it is not.
    fn label(&self, spot: &Spot, label: &KeyLabel, words: &Template, held: bool) -> Vec<Operation> {
        let whole = || Operation::fill(spot.whole, true);
        let inside = || Operation::fill(spot.whole.offset(-1), false);
        let (mut operations, reversed) = match (self.look, label.acts, held) {
            (Look::Ticks, true, true) => {
                (vec![Operation::fill(spot.words, true), Operation::fill(spot.tick, true)], true)
            }
            (Look::Ticks, true, false) => (vec![Operation::fill(spot.tick, true)], false),
            (_, false, _) => (Vec::new(), false),
            (Look::Bars, true, false) | (Look::Frames, true, true) => (vec![whole()], true),
            (Look::Bars, true, true) | (Look::Frames, true, false) => (vec![whole(), inside()], false),
        };
        let (template, room) = (words.clone(), spot.words);
        let setting = Setting { reversed, ..self.setting.clone() };
        operations.push(Operation::new(room, Shape::Text(Text { template, setting, room, key: Some(label.key) })));
        operations
    }
}

impl Element for Ready {
    fn measure(&self, _: Option<u32>) -> Size {
        let width = |(_, words): &(Guard, Template)| self.setting.width(&widest(words, &self.setting)).max(0) as u32;
        let widths = self.labels.iter().map(|label| label.words.iter().map(width).max().unwrap_or(0));
        let line = self.setting.face.line_height().max(0) as u32;
        match self.is_level() {
            true => Size::new(widths.sum(), line + TICK[1] + 1),
            false => Size::new(widths.max().unwrap_or(0) + TICK[1] + 3, line * self.labels.len() as u32),
        }
    }

    fn operations(&self, area: Rectangle) -> Vec<Operation> {
        let mut operations = Vec::new();
        if self.look == Look::Ticks {
            let rule = self.strip(area, self.thickness(area).saturating_sub(1), 1);
            operations.push(Operation::fill(rule, true));
        }
        for label in &self.labels {
            let spot = self.spot(area, label);
            for (guard, words) in label.words.iter().filter(|(_, words)| *words != Template::fixed("")) {
                let look = |held| {
                    let all = self.label(&spot, label, words, held).into_iter();
                    all.map(|operation| operation.only(guard.clone()))
                };
                match self.pressed.filter(|_| label.acts) {
                    None => operations.extend(look(false)),
                    Some(field) => {
                        let held = |holds| Guard::Is { field, number: (label.key + 1) as f64, holds };
                        operations.extend(
                            [false, true].into_iter().flat_map(|down| look(down).map(move |one| one.only(held(down)))),
                        );
                    }
                }
            }
        }
        operations
    }
}
