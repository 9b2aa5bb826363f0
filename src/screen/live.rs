//! Live text as plain data: what a firmware must know to set it again. Not for drawing it here; elements draw themselves.

use super::face::Face;
use super::template::Template;
use super::typeset::{Setting, Stand};
use std::sync::Arc;

/// A live text of one element.
#[derive(Clone, Copy, Debug)]
pub enum Live<'e> {
    /// Words with values in them, set into the element's area.
    Text {
        /// The words.
        template: &'e Template,
        /// How they are set.
        setting: &'e Setting,
        /// The area is filled with ink first.
        filled: bool,
    },
    /// One value with its unit.
    Value(Figure<'e>),
}

/// One value with its unit. The digits end where the widest value would end, so that the unit keeps its place.
#[derive(Clone, Copy, Debug)]
pub struct Figure<'e> {
    /// The value.
    pub number: &'e Template,
    /// The digits' face.
    pub face: &'e Arc<Face>,
    /// The unit; empty for none.
    pub unit: &'e str,
    /// The unit's face.
    pub unit_face: &'e Arc<Face>,
    /// Where the unit stands beside the digits.
    pub unit_at: Stand,
    /// Across the area.
    pub align: Stand,
    /// Down the area.
    pub vertical: Stand,
    /// White on black: the area is filled first.
    pub inverted: bool,
    /// Pixels that the widest value takes.
    pub widest: i32,
    /// Pixels between digits and unit.
    pub gap: i32,
}
