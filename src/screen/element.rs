//! What a settled element can do before it is placed: say its size, and become drawing operations for its area. The kinds
//! are in [`crate::elements`]; a placed element is its operations and nothing else.

use super::operation::Operation;
use embedded_graphics::prelude::Size;
use embedded_graphics::primitives::Rectangle;
use std::fmt::Debug;

/// What people take an element for, where that matters to checks. A kind that is none of these says nothing.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Nature {
    /// Words, readings, pictures.
    #[default]
    Content,
    /// It divides or frames: it may meet others of its nature.
    Rule,
    /// A sign for the state of the device's own supply: nobody takes it for a reading that may be old.
    SupplySign,
    /// A sign for the state of a radio link: likewise, and where there is one, a link can be lost.
    LinkSign,
}

/// An element that is settled, but not yet placed.
pub trait Element: Debug {
    /// The pixels it needs at its widest value, given the width it may use, if that is known.
    fn measure(&self, width: Option<u32>) -> Size;

    /// What draws it in an area. None of them may draw outside the area.
    fn operations(&self, area: Rectangle) -> Vec<Operation>;

    /// What people take it for.
    fn nature(&self) -> Nature {
        Nature::Content
    }
}
