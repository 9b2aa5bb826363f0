//! First pictures on a new board: a test set to flash once, and how the orientation picture looks under every packing.
//!
//! A board shows the picture in one of these ways; the packing beside it is what the profile should say. Not for
//! frames read back from a device; that is [`crate::verify`].

pub mod orientation;
pub mod patterns;
pub mod questions;
pub mod sheet;
pub mod windows;

use crate::frame::pack::{pack, unpack};
use crate::frame::{Frame, Packing};

/// How the orientation picture looks on a panel that takes the bytes in another order than they are sent in.
#[derive(Clone, Debug)]
pub struct Seen {
    /// Its number on the sheet, from 1 on.
    pub number: usize,
    /// The order in which the panel takes the bytes, from the upright picture on.
    pub packing: Packing,
    /// What is seen.
    pub frame: Frame,
    /// Whether the bytes are sent as the panel wants them.
    pub right: bool,
}

/// Every way in which `picture`, packed by `sent`, can look. Of two planes that of the picture now is looked at.
pub fn every_look(picture: &Frame, sent: &Packing) -> Vec<Seen> {
    let sent = &sent.plane();
    let (width, height) = (picture.width(), picture.height());
    let bytes = pack(picture, sent).unwrap_or_default();
    let look = |(index, packing): (usize, Packing)| {
        let mut taken = bytes.clone();
        // The panel takes as many bytes as it has places for.
        taken.resize(packing.size(width, height).unwrap_or(0), 0);
        let frame = unpack(&taken, width, height, &packing).unwrap_or_else(|_| Frame::new(width, height));
        Seen { number: index + 1, right: packing.same_order(sent), packing, frame }
    };
    Packing::all().into_iter().enumerate().map(look).collect()
}
