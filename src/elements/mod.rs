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
use crate::source::read::Reader;
use crate::source::tree::Tree;
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
pub struct ElementKind {
    /// The key.
    pub name: &'static str,
    /// Reads its table.
    pub read: fn(&mut Reader, Tree<'_>) -> Option<Box<dyn Spec>>,
    /// Its keys as JSON Schema.
    pub schema: fn(&mut SchemaGenerator) -> Schema,
}

impl ElementKind {
    const fn of<T: Spec + DeserializeOwned + JsonSchema + 'static>(name: &'static str) -> Self {
        fn read<T: Spec + DeserializeOwned + 'static>(reader: &mut Reader, tree: Tree<'_>) -> Option<Box<dyn Spec>> {
            reader.read::<T>(tree, None).map(|spec| Box::new(spec) as Box<dyn Spec>)
        }
        Self { name, read: read::<T>, schema: |generator| T::json_schema(generator) }
    }
}

/// Every kind of element.
pub const KINDS: &[ElementKind] = &[
    ElementKind::of::<text::Text>("text"),
    ElementKind::of::<value::Value>("value"),
    ElementKind::of::<icon::Icon>("icon"),
    ElementKind::of::<icons::Icons>("icons"),
    ElementKind::of::<image::Image>("image"),
    ElementKind::of::<line::Line>("line"),
    ElementKind::of::<boxed::Boxed>("box"),
    ElementKind::of::<battery::Battery>("battery"),
    ElementKind::of::<link::Link>("link"),
    ElementKind::of::<gauge::Gauge>("gauge"),
    ElementKind::of::<chart::Chart>("chart"),
    ElementKind::of::<list::List>("list"),
    ElementKind::of::<table::Table>("table"),
    ElementKind::of::<editor::Editor>("editor"),
    ElementKind::of::<qr::Qr>("qr"),
    ElementKind::of::<keys::Keys>("keys"),
];

/// The kind of a name.
pub fn kind(name: &str) -> Option<&'static ElementKind> {
    KINDS.iter().find(|kind| kind.name == name)
}
