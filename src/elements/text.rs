//! `text`: words, with live values in braces: `{ text = "Dew {dew} °C", font = "text" }`.

use super::{Element, INSET, Spec, inset};
use crate::elements::scope::Scope;
use crate::screen::operation::{self, Operation, Shape};
use crate::screen::template::Template;
use crate::screen::typeset::{Overflow, Setting, Stand};
use crate::source::amount::At;
use crate::source::fault::Fault;
use embedded_graphics::prelude::Size;
use embedded_graphics::primitives::Rectangle;
use schemars::JsonSchema;
use serde::Deserialize;

/// Keys of `text`.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct Text {
    /// The words; `{field}` is that field's value, a leading `@` names a string.
    text: At<String>,
    /// The font; absent: `text`.
    font: Option<At<String>>,
    /// Across its area.
    #[serde(default)]
    align: Stand,
    /// Down its area.
    #[serde(default = "middle")]
    vertical: Stand,
    /// White on black: the area is filled first.
    #[serde(default)]
    inverted: bool,
    /// White on what is there, without filling.
    #[serde(default)]
    white: bool,
    /// Broken into lines at spaces.
    #[serde(default)]
    wrap: bool,
    /// What happens when it does not fit.
    #[serde(default)]
    overflow: Overflow,
    /// The smaller font that `overflow = "shrink"` uses where the text is too wide.
    smaller: Option<At<String>>,
    /// Pixels added between characters.
    #[serde(default)]
    spacing: i32,
}

fn middle() -> Stand {
    Stand::Center
}

#[derive(Debug)]
struct Ready {
    template: Template,
    setting: Setting,
    filled: bool,
    extremes: Vec<String>,
}

impl Spec for Text {
    fn resolve(&self, scope: &mut Scope<'_>) -> Option<Box<dyn Element>> {
        let face = scope.face(self.font.as_ref(), "text");
        let template = scope.template(&self.text);
        let smaller = self.smaller.as_ref().map(|name| scope.face(Some(name), "small"));
        if (self.overflow == Overflow::Shrink) != smaller.is_some() {
            let fault = Fault::at(self.text.span.clone(), "`overflow = \"shrink\"` and `smaller` go together");
            scope.fault(fault.help("name the font to fall back to: overflow = \"shrink\", smaller = \"small\""));
        }
        let (face, template, smaller) = (face?, template?, smaller.flatten());
        let setting = Setting {
            face,
            align: self.align,
            vertical: self.vertical,
            reversed: self.inverted || self.white,
            wrap: self.wrap,
            overflow: self.overflow,
            spacing: self.spacing,
            smaller,
        };
        let extremes = template.to_measure(&setting);
        scope.needs_glyphs(&setting.face, &self.text.span, template.characters().into_iter());
        if let Some(smaller) = &setting.smaller {
            scope.needs_glyphs(smaller, &self.text.span, template.characters().into_iter());
        }
        Some(Box::new(Ready { template, setting, filled: self.inverted, extremes }))
    }
}

impl Element for Ready {
    fn measure(&self, width: Option<u32>) -> Size {
        let inset = if self.filled { 2 * INSET } else { 0 };
        let width = width.map(|width| width.saturating_sub(inset));
        let sizes = self.extremes.iter().map(|text| self.setting.measure(text, width));
        sizes.fold(Size::zero(), |most, size| most.component_max(size)) + Size::new(inset, 0)
    }

    fn operations(&self, area: Rectangle) -> Vec<Operation> {
        let (template, setting) = (self.template.clone(), self.setting.clone());
        // Words stand away from the edges of a black area.
        let room = if self.filled { inset(area) } else { area };
        let text = Operation::new(area, Shape::Text(operation::Text { template, setting, room, key: None }));
        if self.filled { vec![Operation::fill(area, true), text] } else { vec![text] }
    }
}
