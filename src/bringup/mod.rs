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
use crate::frame::{Axis, Frame, Interleave, Packing, Planes, Rotation, Scan};
use crate::hardware::panel::Panel;
use crate::project::settle::hardware::mounted_packing;

/// How the orientation picture looks on a glass that takes the bytes in another order than they are sent in.
#[derive(Clone, Debug)]
pub struct Seen {
    /// Its number on the sheet, from 1 on.
    pub number: usize,
    /// The order in which the glass takes the bytes, from the upright picture on.
    pub packing: Packing,
    /// What is seen.
    pub frame: Frame,
    /// Whether the bytes are sent as the glass wants them.
    pub right: bool,
}

/// Every way in which `picture`, packed by `sent`, can look. Of two planes that of the picture now is looked at.
pub fn every_look(picture: &Frame, sent: &Packing) -> Vec<Seen> {
    let sent = &sent.plane();
    let (width, height) = (picture.width(), picture.height());
    let bytes = pack(picture, sent).unwrap_or_default();
    let look = |(index, packing): (usize, Packing)| {
        let mut taken = bytes.clone();
        // The glass takes as many bytes as it has places for.
        taken.resize(packing.size(width, height).unwrap_or(0), 0);
        let frame = unpack(&taken, width, height, &packing).unwrap_or_else(|_| Frame::new(width, height));
        Seen { number: index + 1, right: packing.same_order(sent), packing, frame }
    };
    Packing::all().into_iter().enumerate().map(look).collect()
}

/// The `packing` of a panel's profile, without its mounting, that has the order of `whole` once mounted. `None` if there is
/// no such.
pub fn profile_packing(panel: &Panel, whole: &Packing) -> Option<Packing> {
    let (panel_packing, whole) = (&panel.packing, &whole.plane());
    let mut every: Vec<Packing> = Vec::new();
    for packing in Packing::all() {
        for rotation in Rotation::ALL {
            for mirror in [false, true] {
                every.push(Packing { rotation, mirror, padding: panel_packing.padding, ..packing.clone() });
            }
        }
    }
    // The plainest first: a mirror or a turn is easier to picture than columns.
    let changed = |packing: &Packing| {
        let bytes = usize::from(packing.scan != Scan::Rows) + usize::from(packing.along != Axis::X);
        2 * bytes + usize::from(packing.mirror) + usize::from(packing.rotation != Rotation::None)
    };
    every.sort_by_key(changed);
    let own = every.into_iter().find(|own| mounted_packing(own, panel.mounted, panel.mirrored).same_order(whole))?;
    // What the order of one plane does not tell stays as it is in the profile.
    let Packing { planes, interleave, origin, origin_at, .. } = *panel_packing;
    Some(Packing { planes, interleave, origin, origin_at, ..own })
}

/// A packing as it is written in a profile; what has its usual value is left out.
pub fn written(packing: &Packing) -> String {
    let usual = Packing::default();
    let mut keys = Vec::new();
    if packing.scan != usual.scan {
        keys.push("scan = \"columns\"".to_owned());
    }
    if packing.along != usual.along {
        keys.push("along = \"y\"".to_owned());
    }
    if packing.bits != usual.bits {
        keys.push("bits = \"lsb-first\"".to_owned());
    }
    if packing.ink_is != usual.ink_is {
        keys.push("ink-is = 0".to_owned());
    }
    if let Some(stride) = packing.stride {
        keys.push(format!("stride = {stride}"));
    }
    if packing.padding != usual.padding {
        keys.push("padding = 1".to_owned());
    }
    if packing.rotation != usual.rotation {
        keys.push(format!("rotation = {}", packing.rotation.degrees()));
    }
    if packing.mirror {
        keys.push("mirror = true".to_owned());
    }
    let mut word = |key: &str, word: Option<&str>| keys.extend(word.map(|word| format!("{key} = \"{word}\"")));
    word("planes", (packing.planes != Planes::New).then(|| packing.planes.word()));
    word(
        "interleave",
        match packing.interleave {
            Interleave::Planes => None,
            Interleave::Lines => Some("lines"),
            Interleave::Bytes => Some("bytes"),
        },
    );
    word("origin", (packing.origin != usual.origin).then(|| packing.origin.words().replace(' ', "-")).as_deref());
    if let Some([column, line]) = (packing.origin_at != usual.origin_at).then_some(packing.origin_at) {
        keys.push(format!("origin-at = [{column}, {line}]"));
    }
    if keys.is_empty() { "packing = {}".to_owned() } else { format!("packing = {{ {} }}", keys.join(", ")) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_written_reads_back() {
        for packing in Packing::all() {
            let packing = Packing {
                stride: Some(99),
                padding: crate::frame::Bit::One,
                planes: Planes::NewOld,
                interleave: Interleave::Bytes,
                origin: crate::frame::Corner::BottomRight,
                origin_at: [8, 1],
                ..packing
            };
            let table: std::collections::BTreeMap<String, Packing> = toml::from_str(&written(&packing)).unwrap();
            assert_eq!(table["packing"], packing);
        }
    }
}
