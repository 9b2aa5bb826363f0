//! Where the first window of the partial steps appears on a panel that counts window addresses from another corner, or
//! takes two planes in the other order. Not for the order of bits; the orientation picture tells that.

use super::patterns::{mark, step_windows};
use crate::device::Device;
use crate::frame::{Corner, Frame, Planes};
use crate::refresh::update::upright;
use crate::refresh::windows::Window;

/// How the first step looks when the panel counts from a corner.
#[derive(Clone, Debug)]
pub struct Landed {
    /// The corner of the picture in memory from which the panel counts.
    pub corner: Corner,
    /// What is seen.
    pub frame: Frame,
    /// Whether that is the corner of the profile.
    pub right: bool,
}

/// The first step as seen for each corner. The pictures are all different.
pub fn every_origin(device: &Device) -> Vec<Landed> {
    let packing = &device.panel.packing;
    let native = device.panel.native;
    let whole = [native.width, native.height];
    let Some(window) = step_windows(native).first().copied() else { return Vec::new() };
    let Window { x, y, w, h } = window;
    let sent = packing.address([x, y], [w, h], whole);
    let counted = [0, 1].map(|axis| sent[axis].saturating_sub(packing.origin_at[axis]));
    let size = device.panel.size();
    let landed = |corner: Corner| {
        // Counting from a corner and back is the same step.
        let [x, y] = corner.address(counted, [w, h], whole, [0, 0]);
        let mut frame = Frame::new(size.width, size.height);
        mark(&mut frame, upright(device, &Window { x, y, w, h }));
        Landed { corner, frame, right: corner == packing.origin }
    };
    Corner::ALL.into_iter().map(landed).collect()
}

/// How the first step looks on a panel that takes the old plane for the new, with the planes as they must be sent to it:
/// still the white before. `None` where there is one plane only.
pub fn other_order(device: &Device) -> Option<(Planes, Frame)> {
    let planes = device.panel.packing.planes;
    let size = device.panel.size();
    (planes != Planes::New).then(|| (planes.exchanged(), Frame::new(size.width, size.height)))
}
