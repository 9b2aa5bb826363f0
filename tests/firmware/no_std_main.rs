//! Draws every exported screen through embedded-graphics and prints its pixels, then a checksum of its packed bytes.

use embedded_graphics::image::Image;
use embedded_graphics::pixelcolor::BinaryColor;
use embedded_graphics::prelude::*;
use firmware::screens::{HEIGHT, Screen, WIDTH};

struct Glass(Vec<Vec<bool>>);

impl OriginDimensions for Glass {
    fn size(&self) -> Size {
        Size::new(WIDTH, HEIGHT)
    }
}

impl DrawTarget for Glass {
    type Color = BinaryColor;
    type Error = core::convert::Infallible;

    fn draw_iter<I: IntoIterator<Item = Pixel<BinaryColor>>>(&mut self, pixels: I) -> Result<(), Self::Error> {
        for Pixel(point, color) in pixels {
            self.0[point.y as usize][point.x as usize] = color.is_on();
        }
        Ok(())
    }
}

/// CRC-32 as in ISO 3309, bit by bit.
fn checksum(bytes: &[u8]) -> u32 {
    !bytes.iter().fold(!0u32, |crc, byte| {
        (0..8).fold(crc ^ u32::from(*byte), |crc, _| if crc & 1 == 1 { crc >> 1 ^ 0xEDB8_8320 } else { crc >> 1 })
    })
}

fn main() {
    for screen in Screen::ALL {
        let mut glass = Glass(vec![vec![false; WIDTH as usize]; HEIGHT as usize]);
        let image = screen.image();
        let _ = Image::new(&image, Point::zero()).draw(&mut glass);
        for row in glass.0 {
            println!("{}", row.into_iter().map(|ink| if ink { '#' } else { '.' }).collect::<String>());
        }
        println!("{:08x}", checksum(screen.packed()));
    }
}
