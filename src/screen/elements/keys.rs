//! `keys`: the labels of the soft keys, each over the centre of its physical key.

use super::{Element, Spec};
use crate::design::amount::At;
use crate::frame::Frame;
use crate::resolve::scope::{KeyLabel, Scope};
use crate::screen::typeset::{Setting, Stand};
use crate::screen::values::Values;
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
    /// The face; absent: `small`.
    face: Option<At<String>>,
}

/// How the labels look.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
enum Look {
    /// Words under a rule, with a tick at each key's centre.
    Ticks,
    /// White words in black bars as wide as the keys.
    Bars,
    /// Words in frames as wide as the keys.
    Frames,
}

#[derive(Debug)]
struct Ready {
    look: Look,
    setting: Setting,
    labels: Vec<KeyLabel>,
}

impl Spec for Keys {
    fn resolve(&self, scope: &mut Scope<'_>) -> Option<Box<dyn Element>> {
        let face = scope.face(self.face.as_ref(), "small")?;
        let labels = scope.key_labels();
        for label in &labels {
            scope.needs_glyphs(&face, &label.span, label.text.chars());
        }
        let reversed = self.look == Look::Bars;
        let setting = Setting { align: Stand::Center, reversed, ..Setting::plain(face) };
        Some(Box::new(Ready { look: self.look, setting, labels }))
    }
}

impl Element for Ready {
    fn measure(&self, _: Option<u32>) -> Size {
        let width = self.labels.iter().map(|label| self.setting.face.width(&label.text)).sum::<i32>();
        Size::new(width.max(0) as u32, (self.setting.face.line_height() + 3).max(0) as u32)
    }

    fn draw(&self, area: Rectangle, _: &Values, frame: &mut Frame) {
        if self.look == Look::Ticks {
            frame.fill(Rectangle::new(area.top_left, Size::new(area.size.width, 1)), true);
        }
        for label in self.labels.iter().filter(|label| !label.text.is_empty()) {
            let left = label.centre - label.width as i32 / 2;
            let whole = Rectangle::new(Point::new(left, area.top_left.y), Size::new(label.width, area.size.height));
            let whole = whole.intersection(&area);
            match self.look {
                Look::Ticks => {
                    let tick = Rectangle::new(Point::new(label.centre - 2, area.top_left.y), Size::new(5, 3));
                    frame.fill(tick.intersection(&area), true);
                }
                Look::Bars => frame.fill(whole, true),
                Look::Frames => {
                    frame.fill(whole, true);
                    frame.fill(whole.offset(-1), false);
                }
            }
            let below = if self.look == Look::Ticks { 3 } else { 0 };
            let words = Rectangle::new(
                whole.top_left + Point::new(0, below),
                Size::new(whole.size.width, whole.size.height.saturating_sub(below as u32)),
            );
            self.setting.draw(&label.text, words, frame);
        }
    }
}
