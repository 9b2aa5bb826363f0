//! The packing with and without how the panel is mounted, and as it is written in a profile.
//!
//! A profile, a project and the command line all state the packing without the mounting. Not for bytes; see
//! [`crate::frame::pack`].

use super::panel::Panel;
use crate::frame::{Axis, Interleave, Packing, Planes, Rotation, Scan};

/// The packing from the upright picture: turned back into the controller's orientation, then as the controller wants it.
///
/// A packing mirrors first and turns then. A mirror after a turn equals the mirror before the opposite turn.
pub fn mounted_packing(own: &Packing, mounted: Rotation, mirrored: bool) -> Packing {
    let back = if own.mirror { mounted } else { mounted.inverse() };
    let turned = match (back.degrees() + own.rotation.degrees()) % 360 {
        90 => Rotation::Quarter,
        180 => Rotation::Half,
        270 => Rotation::ThreeQuarter,
        _ => Rotation::None,
    };
    Packing { rotation: turned, mirror: own.mirror ^ mirrored, ..own.clone() }
}

/// The packing as a profile and the command line write it, without the mounting: what [`mounted_packing`] makes `whole` of.
pub fn unmounted_packing(whole: &Packing, mounted: Rotation, mirrored: bool) -> Packing {
    let mirror = whole.mirror ^ mirrored;
    let back = if mirror { mounted } else { mounted.inverse() };
    let own = match (whole.rotation.degrees() + 360 - back.degrees()) % 360 {
        90 => Rotation::Quarter,
        180 => Rotation::Half,
        270 => Rotation::ThreeQuarter,
        _ => Rotation::None,
    };
    Packing { rotation: own, mirror, ..whole.clone() }
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
    if packing.pixel_polarity != usual.pixel_polarity {
        keys.push("pixel-polarity = 0".to_owned());
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
    fn mounting_is_undone_exactly() {
        for own in Packing::all() {
            for rotation in Rotation::ALL {
                for (mounted, mirrored) in Rotation::ALL.into_iter().flat_map(|turn| [(turn, false), (turn, true)]) {
                    for mirror in [false, true] {
                        let own = Packing { rotation, mirror, stride: Some(99), ..own.clone() };
                        let whole = mounted_packing(&own, mounted, mirrored);
                        assert_eq!(unmounted_packing(&whole, mounted, mirrored), own);
                    }
                }
            }
        }
    }

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
