//! Which bytes of a packed picture hold a window of the panel, counted by hand from the description of the packing.

use inkjoule::frame::{Axis, Packing, Scan};

/// Bytes of the packed lines that hold a window of the controller.
pub fn packed_bytes(packing: &Packing, [width, _]: [u32; 2], [x, y, w, h]: [u32; 4]) -> u32 {
    match packing.along {
        Axis::X => w / 8 * h,
        Axis::Y => {
            let columns = (x + w).min(width) - x;
            columns * ((y + h).div_ceil(8) - y / 8)
        }
    }
    .max(u32::from(packing.scan == Scan::Rows && w == 0))
}
