//! What a settled element can do before it is placed: say its size, and become drawing operations for its area. The kinds
//! are in [`crate::elements`]; a placed element is its operations and nothing else.

use super::operation::Operation;
use embedded_graphics::prelude::Size;
use embedded_graphics::primitives::Rectangle;
use std::fmt::Debug;

/// An element that is settled, but not yet placed.
pub trait Element: Debug {
    /// The pixels it needs at its widest value, given the width it may use, if that is known.
    fn measure(&self, width: Option<u32>) -> Size;

    /// What draws it in an area. None of them may draw outside the area.
    fn operations(&self, area: Rectangle) -> Vec<Operation>;
}
