//! Gray pictures on their way to one bit a pixel: pixels and tone.
//!
//! Not for decoding picture files (see [`super::files`]) nor for the choice of ink or paper (see [`super::dither()`]).

use super::bits::LARGEST_SIDE;
use std::borrow::Cow;

/// A gray picture, one byte a pixel, rows from the top: 0 is black, 255 white.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Gray {
    /// Columns.
    pub width: u32,
    /// Rows.
    pub height: u32,
    /// `width * height` values. Pixels that are missing count as white, those beyond are ignored.
    pub pixels: Vec<u8>,
}

impl Gray {
    /// A gray picture; `None` if the number of pixels is not `width * height` or a side is beyond [`LARGEST_SIDE`].
    pub fn new(width: u32, height: u32, pixels: Vec<u8>) -> Option<Self> {
        let fits = width <= LARGEST_SIDE && height <= LARGEST_SIDE;
        (fits && pixels.len() as u64 == u64::from(width) * u64::from(height)).then_some(Self { width, height, pixels })
    }

    /// The value of a pixel; white outside the picture.
    pub fn value(&self, x: u32, y: u32) -> u8 {
        let index = y as usize * self.width as usize + x as usize;
        if x < self.width && y < self.height { self.pixels.get(index).copied().unwrap_or(u8::MAX) } else { u8::MAX }
    }

    /// All `width * height` values, white where pixels are missing. Borrowed where none are.
    pub(super) fn whole(&self) -> Cow<'_, [u8]> {
        let count = self.width as usize * self.height as usize;
        match self.pixels.get(..count) {
            Some(pixels) => Cow::Borrowed(pixels),
            None => Cow::Owned(self.pixels.iter().copied().chain(std::iter::repeat(u8::MAX)).take(count).collect()),
        }
    }

    /// The picture with its tones changed: first each value `v` (0 to 1) becomes `v^(1/gamma)`, so that a `gamma` above 1
    /// lightens the middle tones; then its distance from the middle gray is multiplied by `contrast`. Both are plain
    /// factors, 1 changes nothing. A factor that is not finite, a negative contrast or a gamma that is not positive counts
    /// as 1.
    #[must_use]
    pub fn adjust(&self, contrast: f64, gamma: f64) -> Self {
        let contrast = if contrast.is_finite() && contrast >= 0.0 { contrast } else { 1.0 };
        let gamma = if gamma.is_finite() && gamma > 0.0 { gamma } else { 1.0 };
        let tones: Vec<u8> = (0..=u8::MAX).map(|value| tone(value, contrast, gamma)).collect();
        let pixels = self.pixels.iter().map(|value| tones[usize::from(*value)]).collect();
        Self { pixels, ..*self }
    }
}

fn tone(value: u8, contrast: f64, gamma: f64) -> u8 {
    let lightened = (f64::from(value) / 255.0).powf(1.0 / gamma);
    // The cast saturates, which is the clipping wanted here.
    ((0.5 + (lightened - 0.5) * contrast) * 255.0).round() as u8
}

impl From<image::GrayImage> for Gray {
    fn from(picture: image::GrayImage) -> Self {
        Self { width: picture.width(), height: picture.height(), pixels: picture.into_raw() }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tones_change_as_documented() {
        let gray = Gray::new(5, 1, vec![0, 64, 128, 192, 255]).expect("five pixels");
        assert_eq!(gray.adjust(1.0, 1.0), gray);
        assert_eq!(gray.adjust(f64::NAN, -1.0), gray);
        assert_eq!(gray.adjust(1.5, 1.0).pixels, [0, 32, 128, 224, 255]);
        assert_eq!(gray.adjust(0.0, 1.0).pixels, [128; 5]);
        // The square roots of 64/255, 128/255 and 192/255, times 255.
        assert_eq!(gray.adjust(1.0, 2.0).pixels, [0, 128, 181, 221, 255]);
    }

    #[test]
    fn missing_pixels_are_white() {
        assert_eq!(Gray::new(2, 2, vec![0; 3]), None);
        let short = Gray { width: 2, height: 2, pixels: vec![7; 3] };
        assert_eq!([short.value(0, 1), short.value(1, 1), short.value(2, 0)], [7, 255, 255]);
    }
}
