//! The difference of two frames as a picture in colours.

use crate::frame::Frame;
use image::codecs::png::PngEncoder;
use image::{ExtendedColorType, ImageEncoder};

/// Ink in both.
const BOTH: [u8; 3] = [150, 150, 150];
/// Ink in the design only.
const MISSING: [u8; 3] = [0, 90, 200];
/// Ink in the dump only.
const EXTRA: [u8; 3] = [220, 90, 0];
/// Paper in both.
const NEITHER: [u8; 3] = [255, 255, 255];

/// An RGB PNG, each pixel `scale` by `scale` pixels large: ink of both frames grey, ink only expected blue, ink only found
/// orange. `None` if the sizes differ or it cannot be encoded.
pub fn difference(expected: &Frame, found: &Frame, scale: u32) -> Option<Vec<u8>> {
    if expected.size() != found.size() {
        return None;
    }
    let scale = scale.max(1);
    let (width, height) = (expected.width().checked_mul(scale)?, expected.height().checked_mul(scale)?);
    let mut pixels = Vec::new();
    for y in 0..height {
        for x in 0..width {
            pixels.extend(match (expected.ink(x / scale, y / scale), found.ink(x / scale, y / scale)) {
                (true, true) => BOTH,
                (true, false) => MISSING,
                (false, true) => EXTRA,
                (false, false) => NEITHER,
            });
        }
    }
    let mut file = Vec::new();
    PngEncoder::new(&mut file).write_image(&pixels, width, height, ExtendedColorType::Rgb8).ok()?;
    Some(file)
}
