//! The kinds of element. Each kind is one file with its keys ([`Spec`]), its size and its drawing ([`Element`]),
//! and one line in [`KINDS`].

mod battery;
mod boxed;
mod cells;
mod chart;
mod gauge;
mod icon;
mod icons;
mod image;
mod keys;
mod line;
mod link;
mod list;
mod pattern;
mod qr;
mod table;
mod text;
mod ticks;
mod value;

use crate::design::read::{Reader, Tree};
use crate::frame::Frame;
use crate::resolve::scope::Scope;
use crate::screen::face::Face;
use crate::screen::live::Live;
use crate::screen::typeset::{Overflow, Setting};
use crate::screen::values::{FieldId, Values};
use embedded_graphics::prelude::{Point, Size};
use embedded_graphics::primitives::Rectangle;
use schemars::{JsonSchema, Schema, SchemaGenerator};
use serde::de::DeserializeOwned;
use std::fmt::Debug;
use std::sync::Arc;

/// An element as written: knows how to become one that only draws.
pub trait Spec: Debug {
    /// Settles every name, path and default for one screen in one locale. Faults go to the scope.
    fn resolve(&self, scope: &mut Scope<'_>) -> Option<Box<dyn Element>>;
}

/// An element ready to draw.
pub trait Element: Debug + Send + Sync {
    /// The pixels it needs at its widest value, given the width it may use, if that is known.
    fn measure(&self, width: Option<u32>) -> Size;

    /// Draws into its area with the values of the moment. Must not draw outside the area.
    fn draw(&self, area: Rectangle, values: &Values, frame: &mut Frame);

    /// The part of its area that can have ink, whatever the values: less to redraw and to compare.
    fn extent(&self, area: Rectangle) -> Rectangle {
        area
    }

    /// The fields that can change its pixels.
    fn fields(&self) -> Vec<FieldId> {
        Vec::new()
    }

    /// What firmware needs to set its text again when a value changes; `None` for elements that are not live text.
    fn live(&self) -> Option<Live<'_>> {
        None
    }

    /// Samples of a field's history that it shows.
    fn history(&self) -> Option<(FieldId, usize)> {
        None
    }

    /// Its texts at their widest when it stands in `area`: what checks need to find text that does not fit, or is too
    /// small to read, without drawing.
    fn texts(&self, _area: Rectangle) -> Vec<SetText> {
        Vec::new()
    }

    /// The parts of `area` that it fills with dithered or patterned ink.
    fn dithered(&self, _area: Rectangle) -> Vec<Rectangle> {
        Vec::new()
    }
}

/// Pixels between the left and right edge of a black area and the text in it.
const INSET: u32 = 3;

/// An area without the room at its left and right that black ones keep free.
pub fn inset(area: Rectangle) -> Rectangle {
    let edge = INSET.min(area.size.width / 2);
    Rectangle::new(area.top_left + Point::new(edge as i32, 0), Size::new(area.size.width - 2 * edge, area.size.height))
}

/// A text at its widest, in its place.
#[derive(Clone, Debug)]
pub struct SetText {
    /// The widest text.
    pub text: String,
    /// The face it is set in at its usual size.
    pub face: Arc<Face>,
    /// Where it may stand.
    pub room: Rectangle,
    /// Pixels it takes there once wrapped or shrunk, as far as its element does that.
    pub needs: Size,
    /// What happens where it needs more than its room.
    pub overflow: Overflow,
    /// The soft key that it labels, the first being 0.
    pub key: Option<usize>,
}

impl SetText {
    /// The widest of some texts in a setting; `None` if there are none.
    fn widest(texts: impl IntoIterator<Item = String>, setting: &Setting, room: Rectangle) -> Option<Self> {
        let sized = texts.into_iter().map(|text| (setting.settled(&text, room.size), text));
        let (needs, text) = sized.max_by_key(|(needs, _)| (needs.width, needs.height))?;
        Some(Self { text, face: setting.face.clone(), room, needs, overflow: setting.overflow, key: None })
    }

    /// Whether the text is wider than its room.
    pub fn is_cut(&self) -> bool {
        self.needs.width > self.room.size.width
    }
}

/// One kind of element: the key that names it, its reader and its schema.
pub struct Kind {
    /// The key.
    pub name: &'static str,
    /// Reads its table.
    pub read: fn(&mut Reader, Tree<'_>) -> Option<Box<dyn Spec>>,
    /// Its keys as JSON Schema.
    pub schema: fn(&mut SchemaGenerator) -> Schema,
}

impl Kind {
    const fn of<T: Spec + DeserializeOwned + JsonSchema + 'static>(name: &'static str) -> Self {
        fn read<T: Spec + DeserializeOwned + 'static>(reader: &mut Reader, tree: Tree<'_>) -> Option<Box<dyn Spec>> {
            reader.read::<T>(tree).map(|spec| Box::new(spec) as Box<dyn Spec>)
        }
        Self { name, read: read::<T>, schema: |generator| T::json_schema(generator) }
    }
}

/// Every kind of element.
pub const KINDS: &[Kind] = &[
    Kind::of::<text::Text>("text"),
    Kind::of::<value::Value>("value"),
    Kind::of::<icon::Icon>("icon"),
    Kind::of::<icons::Icons>("icons"),
    Kind::of::<image::Image>("image"),
    Kind::of::<line::Line>("line"),
    Kind::of::<boxed::Boxed>("box"),
    Kind::of::<battery::Battery>("battery"),
    Kind::of::<link::Link>("link"),
    Kind::of::<gauge::Gauge>("gauge"),
    Kind::of::<chart::Chart>("chart"),
    Kind::of::<list::List>("list"),
    Kind::of::<table::Table>("table"),
    Kind::of::<qr::Qr>("qr"),
    Kind::of::<keys::Keys>("keys"),
];

/// The kind of a name.
pub fn kind(name: &str) -> Option<&'static Kind> {
    KINDS.iter().find(|kind| kind.name == name)
}
