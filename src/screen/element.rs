//! What every element can tell and do once it is settled. The kinds are in [`crate::elements`].

use super::face::Face;
use super::live::Live;
use super::typeset::{Overflow, Setting};
use super::values::{FieldId, Values};
use crate::frame::Frame;
use embedded_graphics::prelude::Size;
use embedded_graphics::primitives::Rectangle;
use std::fmt::Debug;
use std::sync::Arc;

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
    pub fn widest(texts: impl IntoIterator<Item = String>, setting: &Setting, room: Rectangle) -> Option<Self> {
        let sized = texts.into_iter().map(|text| (setting.settled(&text, room.size), text));
        let (needs, text) = sized.max_by_key(|(needs, _)| (needs.width, needs.height))?;
        Some(Self { text, face: setting.face.clone(), room, needs, overflow: setting.overflow, key: None })
    }

    /// Whether the text is wider than its room.
    pub fn is_cut(&self) -> bool {
        self.needs.width > self.room.size.width
    }
}
