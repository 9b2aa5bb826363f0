//! The panel's picture in the colours of paper and ink, scaled by the drawing library's simulator.

use super::session::Seen;
use super::theme::{INK, PAPER, SETTLING, parts};
use embedded_graphics::pixelcolor::Rgb888;
use embedded_graphics::prelude::{DrawTarget, Point, Size};
use embedded_graphics::primitives::Rectangle;
use embedded_graphics_simulator::{OutputSettingsBuilder, SimulatorDisplay};
use image::imageops::{FilterType, resize};
use image::{ImageBuffer, Rgb};

/// A picture ready to be copied: rows of 8-bit RGB.
#[derive(Clone, Debug, PartialEq)]
pub struct RgbPicture {
    /// Width and height.
    pub size: Size,
    /// Rows of red, green and blue.
    pub rgb: Vec<u8>,
}

/// Keeps the last picture, since most redraws of a window change only what is beside it.
#[derive(Debug, Default)]
pub struct PanelPicture {
    last: Option<(Seen, f64, RgbPicture)>,
}

impl PanelPicture {
    /// The panel as it is seen, with `scale` pixels for each of its pixels. Between whole scales neighbours are mixed.
    pub fn picture(&mut self, seen: &Seen, scale: f64) -> &RgbPicture {
        let known = matches!(&self.last, Some((last, at, _)) if last == seen && *at == scale);
        if !known {
            self.last = Some((seen.clone(), scale, draw(seen, scale)));
        }
        // The line before filled it.
        &self.last.get_or_insert_with(|| (seen.clone(), scale, draw(seen, scale))).2
    }
}

fn draw(seen: &Seen, scale: f64) -> RgbPicture {
    let frame = &seen.frame;
    let whole = scale.ceil().clamp(1.0, 64.0) as u32;
    let [ink, paper, settling] = [INK, PAPER, SETTLING].map(|color| {
        let [red, green, blue] = parts(color);
        Rgb888::new(red, green, blue)
    });
    let mut display = SimulatorDisplay::<Rgb888>::with_default_color(frame.size(), paper);
    let color = |index: u32| {
        let (x, y) = (index % frame.width(), index / frame.width());
        match &seen.settling {
            Some(settles) if settles.ink(x, y) => settling,
            _ if frame.ink(x, y) => ink,
            _ => paper,
        }
    };
    let everything = Rectangle::new(Point::zero(), frame.size());
    let Ok(()) = display.fill_contiguous(&everything, (0..frame.width() * frame.height()).map(color));
    let settings = OutputSettingsBuilder::new().scale(whole).build();
    let output = display.to_rgb_output_image(&settings);
    let image: ImageBuffer<Rgb<u8>, &[u8]> = output.as_image_buffer();
    let side = |pixels: u32| ((f64::from(pixels) * scale).round() as u32).max(1);
    let size = Size::new(side(frame.width()), side(frame.height()));
    if size == Size::new(image.width(), image.height()) {
        return RgbPicture { size, rgb: image.as_raw().to_vec() };
    }
    let resized = resize(&image, size.width, size.height, FilterType::Triangle);
    RgbPicture { size, rgb: resized.into_raw() }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::frame::Frame;

    fn at(picture: &RgbPicture, x: u32, y: u32) -> [u8; 3] {
        let start = ((y * picture.size.width + x) * 3) as usize;
        [picture.rgb[start], picture.rgb[start + 1], picture.rgb[start + 2]]
    }

    #[test]
    fn whole_scales_keep_every_pixel_sharp() {
        let frame = Frame::from_pattern(&["#.", ".."]);
        let settling = Some(Frame::from_pattern(&["..", ".#"]));
        let mut panel = PanelPicture::default();
        let picture = panel.picture(&Seen { frame, settling }, 3.0);
        assert_eq!(picture.size, Size::new(6, 6));
        assert_eq!((at(picture, 2, 2), at(picture, 3, 2)), (parts(INK), parts(PAPER)));
        assert_eq!(at(picture, 3, 3), parts(SETTLING));
    }

    #[test]
    fn sizes_between_are_mixed() {
        let frame = Frame::from_pattern(&["####", "####"]);
        let mut panel = PanelPicture::default();
        let picture = panel.picture(&Seen { frame, settling: None }, 0.5);
        assert_eq!(picture.size, Size::new(2, 1));
        assert_eq!(at(picture, 0, 0), parts(INK));
    }
}
