//! The kinds of element. Each kind is one file with its keys ([`Spec`]), its size and its drawing ([`Element`]),
//! and one line in [`KINDS`].

mod battery;
mod boxed;
mod icon;
mod keys;
mod line;
mod text;
mod value;

use crate::design::read::{Reader, Tree};
use crate::frame::Frame;
use crate::resolve::scope::Scope;
use crate::screen::live::Live;
use crate::screen::values::{FieldId, Values};
use embedded_graphics::prelude::Size;
use embedded_graphics::primitives::Rectangle;
use schemars::{JsonSchema, Schema, SchemaGenerator};
use serde::de::DeserializeOwned;
use std::fmt::Debug;

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
    Kind::of::<line::Line>("line"),
    Kind::of::<boxed::Boxed>("box"),
    Kind::of::<battery::Battery>("battery"),
    Kind::of::<keys::Keys>("keys"),
];

/// The kind of a name.
pub fn kind(name: &str) -> Option<&'static Kind> {
    KINDS.iter().find(|kind| kind.name == name)
}
