//! In how many bytes the machine in C keeps each field's value: one, two or four, as the field's range asks for.
//!
//! Not for what a field may hold: the range comes from the project.

use crate::behaviour::count::Count;
use crate::behaviour::field::{Motion, Renewal};
use crate::device::Device;

/// Where values stand among one another: those of one byte first, then those of two, then those of four. What is measured
/// stands together in the middle, because the machine keeps it a second time.
#[derive(Clone, Debug)]
pub struct Widths {
    /// The place of each field, in bytes.
    pub places: Vec<usize>,
    /// Where those of two bytes begin, and those of four.
    pub ends: [usize; 2],
    /// Bytes of all, in whole cells of four.
    pub bytes: usize,
    /// From where to where fields that are measured stand, in whole cells.
    pub fresh: [usize; 2],
}

/// So many bytes of state must be saved, or the code for it is not worth its flash.
const WORTH: usize = 64;

impl Widths {
    /// Of a device's fields; `None` where too little is saved.
    pub(super) fn of(device: &Device) -> Option<Self> {
        let widths: Vec<usize> = (0..device.fields.len()).map(|field| width(device, field)).collect();
        let measured: Vec<bool> = (0..device.fields.len()).map(|field| is_measured(device, field)).collect();
        let measures = |width: usize| widths.iter().zip(&measured).any(|one| one == (&width, &true));
        let mut places = vec![0; widths.len()];
        let mut at = 0;
        let mut ends = [1, 2, 4].map(|wanted| {
            // Those that are not measured stand in front, or behind where nothing that is measured follows.
            let last = wanted > 1 && !(wanted == 2 && measures(4));
            for now in [last, !last] {
                let mine = widths.iter().zip(&measured).map(|own| own == (&wanted, &now));
                for (place, _) in places.iter_mut().zip(mine).filter(|(_, mine)| *mine) {
                    *place = at;
                    at += wanted;
                }
            }
            at
        });
        ends[2] = ends[2].next_multiple_of(4);
        let [one, two, bytes] = ends;
        let fits = places.last().is_some() && bytes <= usize::from(u16::MAX);
        let own = || places.iter().zip(&widths).zip(&measured).filter(|(_, measured)| **measured);
        let from = own().map(|((place, _), _)| *place).min().unwrap_or(0) / 4 * 4;
        let to = own().map(|((place, width), _)| place + width).max().unwrap_or(0).next_multiple_of(4);
        let fresh = [from, to];
        (fits && 4 * widths.len() >= bytes + WORTH).then_some(Self { places, ends: [one, two], bytes, fresh })
    }

    /// Bytes of a place in C.
    pub fn place_bytes(&self) -> usize {
        if self.bytes > usize::from(u8::MAX) { 2 } else { 1 }
    }
}

/// Whether what is measured of a field waits until it is renewed. A clock takes the time.
fn is_measured(device: &Device, field: usize) -> bool {
    let field = &device.fields[field];
    !matches!(field.renewal, Renewal::Never) && !matches!(field.motion, Motion::Clock)
}

/// Bytes that hold a field's range, its sample, and that it is not known.
fn width(device: &Device, field: usize) -> usize {
    let field = &device.fields[field];
    // A clock takes the time, whatever its range.
    if matches!(field.motion, Motion::Clock) {
        return 4;
    }
    let count = Count::new(field.range, field.grain());
    let (low, high) = count.ends();
    let sample = if field.sample.is_nan() { 0 } else { count.number(field.sample) };
    let most = [low, high, sample].map(i128::unsigned_abs).into_iter().max().unwrap_or(0);
    let fits = |end: u16| most <= u128::from(end);
    if fits(i8::MAX.unsigned_abs().into()) {
        1
    } else if fits(i16::MAX.unsigned_abs()) {
        2
    } else {
        4
    }
}
