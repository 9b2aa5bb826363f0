//! The kinds of element. Each kind is one file with its keys ([`Spec`]), its size and the operations that draw it
//! ([`Element`]), and one line in [`KINDS`].

mod battery;
mod boxed;
mod cells;
mod chart;
mod editor;
mod gauge;
mod icon;
mod icons;
mod image;
mod keys;
mod line;
mod link;
mod list;
mod qr;
pub mod scope;
mod table;
mod text;
mod value;

use crate::elements::scope::Scope;
pub use crate::screen::element::Element;
use crate::source::read::{Reader, Tree};
use embedded_graphics::prelude::{Point, Size};
use embedded_graphics::primitives::Rectangle;
use schemars::{JsonSchema, Schema, SchemaGenerator};
use serde::de::DeserializeOwned;
use std::fmt::Debug;

/// An element as written: knows how to become one that can be placed.
pub trait Spec: Debug {
    /// Settles every name, path and default for one screen in one locale. Faults go to the scope.
    fn resolve(&self, scope: &mut Scope<'_>) -> Option<Box<dyn Element>>;
}

/// Pixels between the left and right edge of a black area and the text in it.
const INSET: u32 = 3;

/// An area without the room at its left and right that black ones keep free.
pub fn inset(area: Rectangle) -> Rectangle {
    let edge = INSET.min(area.size.width / 2);
    Rectangle::new(area.top_left + Point::new(edge as i32, 0), Size::new(area.size.width - 2 * edge, area.size.height))
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
            reader.read::<T>(tree, None).map(|spec| Box::new(spec) as Box<dyn Spec>)
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
    Kind::of::<editor::Editor>("editor"),
    Kind::of::<qr::Qr>("qr"),
    Kind::of::<keys::Keys>("keys"),
];

/// The kind of a name.
pub fn kind(name: &str) -> Option<&'static Kind> {
    KINDS.iter().find(|kind| kind.name == name)
}
