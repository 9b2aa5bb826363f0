//! Screens: fonts, elements, layout, and drawing them into a frame.

pub mod chart;
pub mod condition;
pub mod crowd;
pub mod draw;
pub mod effort;
pub mod element;
pub mod face;
pub mod guard;
pub mod icons;
pub mod inspect;
pub mod label;
pub mod layout;
pub mod operation;
pub mod pattern;
pub mod place;
pub mod ratio;
pub mod redraw;
pub mod shown;
pub mod template;
pub mod ticks;
pub mod typeset;
pub mod values;
pub mod widest;

use crate::frame::Frame;
use crate::source::spans::Span;
use crowd::Crowd;
use element::Nature;
use embedded_graphics::primitives::Rectangle;
use inspect::SetText;
use operation::Operation;
use schemars::JsonSchema;
use serde::Deserialize;
use values::{Condition, FieldId, Values};

/// The position of a screen in [`crate::device::Device::screens`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct ScreenId(pub usize);

/// What a screen is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Role {
    /// Stays on the display when the battery is empty.
    BatteryEmpty,
    /// Shown when values no longer arrive.
    LinkLost,
    /// Stays on the display while the device is off.
    Off,
    /// Asks for attention.
    Alarm,
}

impl Role {
    /// It ends the use of the device: a way to it leads out of nothing.
    pub fn ends_use(self) -> bool {
        matches!(self, Self::Off | Self::BatteryEmpty)
    }
}

/// One screen, settled for every locale.
#[derive(Debug)]
pub struct Screen {
    /// The file's name without its ending.
    pub id: String,
    /// The screen's file.
    pub span: Span,
    /// What the screen is for, where the program must know.
    pub role: Option<Role>,
    /// For a box over the screen: where it lies and what becomes of what lies below.
    pub over: Option<Over>,
    /// Title for people, one for each locale.
    pub titles: Vec<String>,
    /// The keys' labels, one list for each locale.
    pub labels: Vec<Vec<label::KeyLabel>>,
    /// Elements in drawing order, one list for each locale.
    pub pictures: Vec<Vec<Item>>,
}

impl Screen {
    /// What people call it in a locale: its title, of one with fields, which only the screen itself can fill, the words
    /// before or after them; its id where there are none.
    pub fn title(&self, locale: usize) -> &str {
        let title = self.titles.get(locale).map_or("", String::as_str);
        let between = |text: &'_ str| text.chars().any(char::is_alphabetic);
        let before = title.split('{').next().unwrap_or_default();
        let after = title.rsplit('}').next().unwrap_or_default();
        let words = [before, after].into_iter().find(|words| between(words)).unwrap_or_default();
        let words = words.trim_matches(|letter: char| letter.is_whitespace() || ":;,-–".contains(letter));
        if words.is_empty() { &self.id } else { words }
    }
}

/// A box over a screen.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Over {
    /// Its area.
    pub area: Rectangle,
    /// What lies below stays as it was when the box opened; else its values go on.
    pub frozen: bool,
}

/// An element in its place.
#[derive(Debug)]
pub struct Item {
    /// The designer's name for it; empty where it has none.
    pub name: String,
    /// The key that names its kind: `text`, `icon`.
    pub kind: &'static str,
    /// What people take it for.
    pub nature: Nature,
    /// Its table in the file.
    pub span: Span,
    /// Its area on the screen in pixels.
    pub area: Rectangle,
    /// The area of the group that holds it.
    pub room: Rectangle,
    /// What is docked so large that this element has no room.
    pub crowd: Option<Crowd>,
    /// Shown only while all of these hold.
    pub when: Vec<Condition>,
    /// What draws it, in order.
    pub operations: Vec<Operation>,
}

impl Item {
    /// What messages call it: its name, or its kind.
    pub fn called(&self) -> String {
        if self.name.is_empty() { format!("this {}", self.noun()) } else { format!("`{}`", self.name) }
    }

    /// Its kind as one thing: some keys are no words, or speak of several.
    pub fn noun(&self) -> &'static str {
        match self.kind {
            "keys" => "row of key labels",
            "icons" => "icon",
            "qr" => "QR code",
            kind => kind,
        }
    }

    /// Draws it, where its conditions hold.
    pub fn draw(&self, values: &Values, frame: &mut Frame) {
        if self.shows(values) {
            draw::draw(&self.operations, values, frame);
        }
    }

    /// The part of its area that can have pixels of it, whatever the values.
    pub fn extent(&self) -> Rectangle {
        inspect::extent(&self.operations)
    }

    /// The fields that it shows, each once.
    pub fn shown(&self) -> Vec<FieldId> {
        let mut fields = Vec::new();
        for field in self.operations.iter().flat_map(Operation::fields) {
            if !fields.contains(&field) {
                fields.push(field);
            }
        }
        fields
    }

    /// Its texts at their widest.
    pub fn texts(&self) -> Vec<SetText> {
        self.operations.iter().flat_map(Operation::texts).collect()
    }

    /// The parts of the screen that it fills with dithered or patterned ink.
    pub fn dithered(&self) -> Vec<Rectangle> {
        self.operations.iter().flat_map(Operation::dithered).collect()
    }

    /// The histories that it shows: the field and how many samples.
    pub fn histories(&self) -> impl Iterator<Item = (FieldId, usize)> {
        self.operations.iter().flat_map(Operation::histories)
    }

    /// Whether it is shown with these values.
    pub fn shows(&self, values: &Values) -> bool {
        self.when.iter().all(|condition| condition.holds(values))
    }

    /// The fields that can change its pixels, its conditions' fields among them.
    pub fn fields(&self) -> Vec<FieldId> {
        let mut fields = self.shown();
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

    /// Draws a box over what the frame holds. A screen that is no box covers everything.
    pub fn draw_over(&self, locale: usize, values: &Values, frame: &mut Frame) {
        match &self.over {
            Some(over) => frame.fill(over.area, false),
            None => frame.clear(false),
        }
        for item in &self.pictures[locale] {
            item.draw(values, frame);
        }
    }
}
