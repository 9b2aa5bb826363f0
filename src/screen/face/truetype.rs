//! Makes 1-bit faces from TrueType outlines, rasterised by fontdue.
//!
//! At small sizes a fixed threshold makes some faces too thin and others too fat. Unless the designer sets one, the
//! threshold is chosen so that the ink over all characters is as near as can be to the area of their outlines.

use super::outlines::Outlines;
use super::{Face, FontFault, Glyph};
use crate::frame::Frame;
use fontdue::{Font, FontSettings};
use std::collections::{BTreeSet, HashMap};
use std::panic::{AssertUnwindSafe, catch_unwind};

/// Smallest and largest size in pixels per em.
pub const SIZES: std::ops::RangeInclusive<f32> = 4.0..=400.0;

/// Longest side of a glyph in pixels.
pub(super) const LARGEST_GLYPH: usize = 1024;
/// Distances in a face are cut to this many pixels.
pub(super) const FARTHEST: i32 = 4096;

/// Rasterises the wanted characters of a TrueType font.
///
/// `size` is in pixels per em, `threshold` the coverage (0 to 1) from which a pixel is ink.
///
/// # Errors
/// When the bytes are not a font that can be read, or it has none of the characters.
pub fn read(
    name: &str,
    bytes: &[u8],
    size: f32,
    threshold: Option<f32>,
    wanted: &BTreeSet<char>,
) -> Result<Face, FontFault> {
    sound(|| read_sound(name, bytes, size, threshold, wanted))
}

/// Reads a font with parts that rely on fonts being sound in places and stop the thread where one is not.
pub(super) fn sound(read: impl FnOnce() -> Result<Face, FontFault>) -> Result<Face, FontFault> {
    catch_unwind(AssertUnwindSafe(read))
        .unwrap_or_else(|_| Err("this is not a TrueType font that can be read: it is broken".into()))
}

fn read_sound(
    name: &str,
    bytes: &[u8],
    size: f32,
    threshold: Option<f32>,
    wanted: &BTreeSet<char>,
) -> Result<Face, FontFault> {
    let outlines = Outlines::of(bytes, wanted)?;
    let settings = FontSettings { scale: size, load_substitutions: false, ..FontSettings::default() };
    let font = Font::from_bytes(outlines.file(), settings)
        .map_err(|why| format!("this is not a TrueType font that can be read: {why}"))?;
    let line = font.horizontal_line_metrics(size).ok_or("the font has no horizontal metrics")?;
    let characters: Vec<char> = outlines.characters().collect();
    // Before anything is drawn: the outlines are within bounds, the size in pixels is free.
    let side = |pixels: usize| pixels <= LARGEST_GLYPH;
    let metrics = characters.iter().map(|c| (c, font.metrics(*c, size)));
    if let Some((c, _)) = metrics.into_iter().find(|(_, found)| !side(found.width) || !side(found.height)) {
        return Err(FontFault::from(format!(
            "its U+{:04X} is larger than {LARGEST_GLYPH} pixels at this size",
            u32::from(*c)
        )));
    }
    let coverage: Vec<_> = characters.iter().map(|c| font.rasterize(*c, size)).collect();
    let threshold = match threshold {
        Some(share) => (share.clamp(0.0, 1.0) * 255.0).round().max(1.0) as u8,
        None => matching_threshold(coverage.iter().flat_map(|(_, pixels)| pixels.iter().copied())),
    };
    let glyphs: HashMap<char, Glyph> = characters
        .iter()
        .zip(&coverage)
        .map(|(character, (metrics, pixels))| {
            let ink = solid(metrics.width, metrics.height, pixels, threshold);
            let top = metrics.ymin.saturating_add(metrics.height as i32);
            let advance = (metrics.advance_width.round() as i32).clamp(-FARTHEST, FARTHEST);
            (
                *character,
                Glyph {
                    advance,
                    left: metrics.xmin.clamp(-FARTHEST, FARTHEST),
                    top: top.clamp(-FARTHEST, FARTHEST),
                    ink,
                },
            )
        })
        .collect();
    let kerning = kerning(&outlines, &characters, size);
    let (ascent, descent) = (line.ascent.ceil() as i32, (-line.descent).ceil() as i32);
    Ok(Face::new(name, ascent.clamp(0, 1000), descent.clamp(0, 1000), glyphs).with_kerning(kerning))
}

/// The threshold at which the number of ink pixels is nearest to the sum of the coverage.
pub fn matching_threshold(pixels: impl Iterator<Item = u8>) -> u8 {
    let mut counts = [0u64; 256];
    pixels.for_each(|coverage| counts[coverage as usize] += 1);
    let area: f64 = counts.iter().enumerate().map(|(coverage, count)| coverage as f64 / 255.0 * *count as f64).sum();
    let mut ink = 0u64;
    let mut best = (f64::INFINITY, 128);
    for threshold in (1..=255u8).rev() {
        ink += counts[threshold as usize];
        let off = (ink as f64 - area).abs();
        if off < best.0 {
            best = (off, threshold);
        }
    }
    best.1
}

fn solid(width: usize, height: usize, coverage: &[u8], threshold: u8) -> Frame {
    let mut ink = Frame::new(width as u32, height as u32);
    for (index, value) in coverage.iter().enumerate() {
        if *value >= threshold {
            ink.set((index % width) as u32, (index / width) as u32, true);
        }
    }
    ink
}

/// Characters beyond this many are not tried for kerning in pairs.
const MOST_KERNED: usize = 256;

/// Distances between pairs of characters in pixels, where they are not 0.
pub(super) fn kerning(outlines: &Outlines<'_>, characters: &[char], size: f32) -> HashMap<(char, char), i32> {
    let mut pairs = HashMap::new();
    let characters = &characters[..characters.len().min(MOST_KERNED)];
    for left in characters {
        for right in characters {
            let distance = (outlines.kerning(*left, *right) * size).round() as i32;
            let distance = distance.clamp(-FARTHEST, FARTHEST);
            if distance != 0 {
                pairs.insert((*left, *right), distance);
            }
        }
    }
    pairs
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn threshold_matches_the_covered_area() {
        // Ten pixels at 40 %: an area of 4 pixels; the nearest whole answer is none of them or all of them.
        assert!(matching_threshold(std::iter::repeat_n(102, 10)) > 102);
        assert!(matching_threshold(std::iter::repeat_n(204, 10)) <= 204);
        // Five full and five at 20 %: six pixels of area, five of ink is nearest.
        let pixels = std::iter::repeat_n(255, 5).chain(std::iter::repeat_n(51, 5));
        assert!(matching_threshold(pixels) > 51);
    }

    #[test]
    fn garbage_is_an_error() {
        assert!(read("x", b"not a font", 12.0, None, &BTreeSet::from(['a'])).is_err());
        assert!(read("x", &[], 12.0, None, &BTreeSet::from(['a'])).is_err());
    }
}
