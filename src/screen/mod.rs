//! Screens: faces, elements, layout, and drawing them into a frame.

pub mod elements;
pub mod face;
pub mod icons;
pub mod layout;
pub mod live;
pub mod redraw;
pub mod template;
pub mod typeset;
pub mod values;
pub mod widest;

use crate::design::screen::Role;
use crate::design::source::Span;
use crate::frame::Frame;
use elements::Element;
use embedded_graphics::primitives::Rectangle;
use values::{Condition, FieldId, Values};

/// The position of a screen in [`crate::device::Device::screens`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct ScreenId(pub usize);

/// One screen, settled for every locale.
#[derive(Debug)]
pub struct Screen {
    /// The file's name without its ending.
    pub id: String,
    /// The screen's file.
    pub span: Span,
    /// What the screen is for, where the program must know.
    pub role: Option<Role>,
    /// Title for people, one for each locale.
    pub titles: Vec<String>,
    /// Elements in drawing order, one list for each locale.
    pub pictures: Vec<Vec<Item>>,
}

/// An element in its place.
#[derive(Debug)]
pub struct Item {
    /// The designer's name for it; empty where it has none.
    pub name: String,
    /// The key that names its kind: `text`, `icon`.
    pub kind: &'static str,
    /// Its table in the file.
    pub span: Span,
    /// Its area on the screen in pixels.
    pub area: Rectangle,
    /// The area of the group that holds it.
    pub room: Rectangle,
    /// Shown only while all of these hold.
    pub when: Vec<Condition>,
    /// What it draws.
    pub element: Box<dyn Element>,
}

impl Item {
    /// What messages call it: its name, or its kind.
    pub fn called(&self) -> String {
        if self.name.is_empty() { format!("this {}", self.kind) } else { format!("`{}`", self.name) }
    }

    /// Draws it, where its conditions hold.
    pub fn draw(&self, values: &Values, frame: &mut Frame) {
        if self.shows(values) {
            self.element.draw(self.area, values, frame);
        }
    }

    /// The part of its area that can have ink, whatever the values.
    pub fn extent(&self) -> Rectangle {
        self.element.extent(self.area)
    }

    /// Whether it is shown with these values.
    pub fn shows(&self, values: &Values) -> bool {
        self.when.iter().all(|condition| condition.holds(values))
    }

    /// The fields that can change its pixels, its conditions' fields among them.
    pub fn fields(&self) -> Vec<FieldId> {
        let mut fields = self.element.fields();
        fields.extend(self.when.iter().flat_map(Condition::fields));
        fields
    }
}

impl Screen {
    /// Draws the screen in one locale over a white frame.
    pub fn draw(&self, locale: usize, values: &Values, frame: &mut Frame) {
        frame.clear(false);
        for item in &self.pictures[locale] {
            item.draw(values, frame);
        }
    }
}
