//! A frame read back from a device against the design: equal, equal under another packing, or different and where.
//!
//! Not for reading project files, nor for writing reports; the command line does both.

mod addressed;
pub mod baseline;
pub mod dump;
pub mod picture;
pub mod regions;
pub mod transport;

use crate::device::Device;
use crate::frame::pack::unpack;
use crate::frame::{Frame, Interleave, Packing, Planes};
use crate::screen::ScreenId;
use crate::screen::values::Values;
use regions::Region;

/// What may be in a dump.
#[derive(Debug)]
pub struct Question<'d> {
    /// The product.
    pub device: &'d Device,
    /// Screens that it may be.
    pub screens: Vec<ScreenId>,
    /// Locales that it may be in, as positions.
    pub locales: Vec<usize>,
    /// Values of the fields.
    pub values: Values,
    /// How it should be packed.
    pub packing: Packing,
}

/// What a dump is.
#[derive(Debug)]
pub struct Answer {
    /// The screen it is, or is most like.
    pub screen: ScreenId,
    /// The locale, as a position.
    pub locale: usize,
    /// The packing under which it is so.
    pub packing: Packing,
    /// Whether that is the packing it should have.
    pub as_packed: bool,
    /// The design's picture.
    pub expected: Frame,
    /// The dump's picture under that packing.
    pub found: Frame,
    /// Pixels that differ.
    pub changed: u64,
    /// Where they are and what stands there.
    pub regions: Vec<Region>,
}

/// Where more than this share of the pixels differs from the nearest screen, nothing resembles the dump: noise differs in
/// half of them, another screen of the same product in a tenth or so.
pub const RESEMBLES: f64 = 0.25;

impl Answer {
    /// The share of the pixels that differ.
    pub fn share(&self) -> f64 {
        let whole = u64::from(self.expected.width()) * u64::from(self.expected.height());
        self.changed as f64 / whole.max(1) as f64
    }

    /// Whether the dump is enough like the screen to speak of it, and of its packing.
    pub fn resembles(&self) -> bool {
        self.share() <= RESEMBLES
    }

    /// Equal, and packed as it should be.
    pub fn equal(&self) -> bool {
        self.changed == 0 && self.as_packed
    }
}

/// Another packing than the expected one must leave so many times fewer pixels different.
const CLEARLY: u64 = 4;

/// Packings under which `bytes` bytes can hold a picture of the size: the expected one first, then every order with the
/// stride that the number of bytes asks for, then every order of two planes.
fn candidates(expected: &Packing, bytes: usize, width: u32, height: u32) -> Vec<Packing> {
    let mut found = Vec::new();
    if expected.size(width, height) == Ok(bytes) {
        found.push(expected.clone());
    }
    for packing in Packing::all() {
        let Some(stride) = stride_for(&packing, bytes, width, height) else { continue };
        found.push(Packing { stride, padding: expected.padding, ..packing });
    }
    if bytes.is_multiple_of(2) {
        for plane in Packing::all() {
            let Some(stride) = stride_for(&plane, bytes / 2, width, height) else { continue };
            for planes in [Planes::OldNew, Planes::NewOld] {
                for interleave in Interleave::ALL {
                    found.push(Packing { stride, padding: expected.padding, planes, interleave, ..plane.clone() });
                }
            }
        }
    }
    // Windows are not seen in a dump.
    found.iter_mut().for_each(|packing| (packing.origin, packing.origin_at) = (expected.origin, expected.origin_at));
    found
}

/// The stride with which a plane of the size takes so many bytes: `Some(None)` for lines without a gap.
fn stride_for(packing: &Packing, bytes: usize, width: u32, height: u32) -> Option<Option<u32>> {
    let (lines, needed) = lines_of(packing, width, height)?;
    let whole = bytes.is_multiple_of(lines).then(|| bytes / lines)?;
    let stride = u32::try_from(whole).ok().filter(|stride| *stride >= needed)?;
    Some((stride > needed).then_some(stride))
}

/// Lines of a picture and the bytes that each needs.
fn lines_of(packing: &Packing, width: u32, height: u32) -> Option<(usize, u32)> {
    let needed = packing.stride_of(width, height).ok().filter(|needed| *needed > 0)?;
    Some((packing.size(width, height).ok()? / needed as usize, needed))
}

/// Finds what a dump is: the screen and locale that leave the fewest pixels different, under the expected packing or, where
/// that explains far more, under another; among equals the earlier screen. `None` if the dump has not the size of a picture
/// of this panel in any packing.
pub fn verify(question: &Question<'_>, dump: &[u8]) -> Option<Answer> {
    let device = question.device;
    let size = device.panel.size();
    let mut frames = Vec::new();
    for locale in &question.locales {
        for screen in &question.screens {
            frames.push((*screen, *locale, device.draw(*screen, *locale, &question.values)));
        }
    }
    // The best under the expected packing and the best under any other.
    let mut bests: [Option<(u64, usize, Packing, Frame)>; 2] = [None, None];
    for packing in candidates(&question.packing, dump.len(), size.width, size.height) {
        let Ok(found) = unpack(dump, size.width, size.height, &packing) else { continue };
        let best = &mut bests[usize::from(packing != question.packing)];
        for (index, (_, _, frame)) in frames.iter().enumerate() {
            let changed = found.changed_pixels(frame).unwrap_or(u64::MAX);
            if best.as_ref().is_none_or(|best| changed < best.0) {
                *best = Some((changed, index, packing.clone(), found.clone()));
            }
        }
    }
    let best = match bests {
        // Another packing is believed only where it explains most of what differs.
        [Some(expected), Some(other)] => {
            Some(if other.0.saturating_mul(CLEARLY) < expected.0 { other } else { expected })
        }
        [expected, other] => expected.or(other),
    };
    let (changed, index, packing, found) = best?;
    let (screen, locale, expected) = frames.into_iter().nth(index)?;
    let as_packed =
        packing.same_order(&question.packing) && question.packing.size(size.width, size.height) == Ok(dump.len());
    let regions = regions::regions(&device.screens[screen.0].pictures[locale], &question.values, &expected, &found);
    Some(Answer { screen, locale, packing, as_packed, expected, found, changed, regions })
}
