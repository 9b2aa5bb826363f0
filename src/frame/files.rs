//! Frames as picture files in memory: Netpbm PBM, X bitmap, PNG; and pictures read from files.
//!
//! Not for touching the disk, nor for firmware source text.

use super::bits::{Frame, LARGEST_SIDE};
use super::gray::Gray;
use image::codecs::png::{CompressionType, FilterType, PngEncoder};
use image::{ExtendedColorType, ImageEncoder, ImageReader};
use std::fmt::{self, Write};
use std::io::Cursor;

/// The most pixels that a PNG may be given, so that a mistyped scale does not take all memory.
pub const LARGEST_PNG: u64 = 1 << 28;

/// Why a picture file cannot be written or read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum FileFault {
    /// The picture has no pixels, which a PNG cannot hold.
    Empty,
    /// A side of the picture, scaled as asked, is beyond [`LARGEST_SIDE`], or all pixels are more than [`LARGEST_PNG`].
    TooLarge,
    /// The bytes are no picture of a kind that can be read; in the words of the decoder.
    Unreadable(String),
}

impl fmt::Display for FileFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Empty => write!(f, "the image has no pixels"),
            Self::TooLarge => write!(
                f,
                "the image is too large: at most {LARGEST_SIDE} pixels a side and {LARGEST_PNG} pixels in all"
            ),
            Self::Unreadable(why) => write!(f, "the image cannot be read: {why}"),
        }
    }
}

impl std::error::Error for FileFault {}

/// The frame as a Netpbm file of kind P4 (`pbm(5)`): 1 is black, rows padded to bytes, leftmost pixel in the top bit.
pub fn pbm(frame: &Frame) -> Vec<u8> {
    let mut file = format!("P4\n{} {}\n", frame.width(), frame.height()).into_bytes();
    file.extend(frame.to_rows_msb());
    file
}

/// The frame as an X Window System bitmap file (Xlib manual, `XReadBitmapFile`): C text, 1 is the foreground (ink), the
/// leftmost pixel in the least significant bit. In `name`, characters that C does not allow become underscores.
pub fn xbm(frame: &Frame, name: &str) -> String {
    let name = identifier(name);
    let (width, height) = (frame.width(), frame.height());
    let mut text = format!("#define {name}_width {width}\n#define {name}_height {height}\n");
    let bytes: Vec<String> = frame.to_rows_msb().iter().map(|byte| format!("0x{:02x}", byte.reverse_bits())).collect();
    let lines: Vec<String> = bytes.chunks(12).map(|line| format!("    {}", line.join(", "))).collect();
    // Writing to a string cannot fail.
    let _ = writeln!(text, "static unsigned char {name}_bits[] = {{\n{}\n}};", lines.join(",\n"));
    text
}

fn identifier(name: &str) -> String {
    let plain: String = name.chars().map(|c| if c.is_ascii_alphanumeric() { c } else { '_' }).collect();
    if plain.starts_with(|c: char| !c.is_ascii_digit()) { plain } else { format!("_{plain}") }
}

/// The frame as an 8-bit gray PNG, each pixel `scale` by `scale` pixels large (0 counts as 1): ink 0, paper 255. The same
/// frame always gives the same bytes.
///
/// # Errors
/// If the frame has no pixels, a scaled side is beyond [`LARGEST_SIDE`], or all pixels are more than [`LARGEST_PNG`].
pub fn png(frame: &Frame, scale: u32) -> Result<Vec<u8>, FileFault> {
    let scale = scale.max(1);
    let side = |pixels: u32| pixels.checked_mul(scale).filter(|side| *side <= LARGEST_SIDE).ok_or(FileFault::TooLarge);
    let (width, height) = (side(frame.width())?, side(frame.height())?);
    if width == 0 || height == 0 {
        return Err(FileFault::Empty);
    }
    if u64::from(width) * u64::from(height) > LARGEST_PNG {
        return Err(FileFault::TooLarge);
    }
    let mut pixels = Vec::with_capacity(width as usize * height as usize);
    for y in 0..frame.height() {
        let start = pixels.len();
        for x in 0..frame.width() {
            pixels.extend(std::iter::repeat_n(if frame.ink(x, y) { 0 } else { u8::MAX }, scale as usize));
        }
        for _ in 1..scale {
            pixels.extend_from_within(start..start + width as usize);
        }
    }
    let mut file = Vec::new();
    PngEncoder::new_with_quality(&mut file, CompressionType::Default, FilterType::NoFilter)
        .write_image(&pixels, width, height, ExtendedColorType::L8)
        .map_err(|_| FileFault::TooLarge)?;
    Ok(file)
}

/// The picture in a PNG, JPEG, BMP or Netpbm file as gray. Transparent pixels are seen on white.
///
/// # Errors
/// If the bytes are no such file, or a side is beyond [`LARGEST_SIDE`].
pub fn read_gray(file: &[u8]) -> Result<Gray, FileFault> {
    let unreadable = |error: &dyn fmt::Display| FileFault::Unreadable(error.to_string());
    let mut reader = ImageReader::new(Cursor::new(file)).with_guessed_format().map_err(|error| unreadable(&error))?;
    let mut limits = image::Limits::default();
    (limits.max_image_width, limits.max_image_height) = (Some(LARGEST_SIDE), Some(LARGEST_SIDE));
    reader.limits(limits);
    let picture = reader.decode().map_err(|error| unreadable(&error))?;
    if !picture.color().has_alpha() {
        return Ok(picture.into_luma8().into());
    }
    let seen = picture.into_luma_alpha8();
    let on_white = |value: u8, alpha: u8| {
        let (value, alpha) = (u32::from(value), u32::from(alpha));
        ((value * alpha + 255 * (255 - alpha) + 127) / 255) as u8
    };
    let pixels = seen.pixels().map(|pixel| on_white(pixel.0[0], pixel.0[1])).collect();
    Ok(Gray { width: seen.width(), height: seen.height(), pixels })
}

/// The frame in a picture file: pixels darker than the middle gray are ink. Reads what [`pbm`] and [`png()`] write.
///
/// # Errors
/// As [`read_gray`].
pub fn read_frame(file: &[u8]) -> Result<Frame, FileFault> {
    Ok(super::dither(&read_gray(file)?, super::Method::Threshold(128)))
}
