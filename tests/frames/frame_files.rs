//! Picture files read back by decoders that are not ours, and by a small reader of the X bitmap text.

use image::codecs::pnm::PnmDecoder;
use image::{DynamicImage, GrayImage, ImageDecoder, ImageFormat};
use inkjoule::frame::files::{FileFault, pbm, png, read_frame, read_gray, xbm};
use inkjoule::frame::{Frame, LARGEST_SIDE};
use std::io::Cursor;

/// A frame without symmetry, of a width that fills neither words nor bytes.
fn sample() -> Frame {
    let mut frame = Frame::new(77, 13);
    for index in 0..77 * 13u32 {
        frame.set(index % 77, index / 77, index.wrapping_mul(2_654_435_761) >> 30 == 0);
    }
    frame
}

fn assert_shows(picture: &GrayImage, frame: &Frame, scale: u32) {
    assert_eq!(picture.dimensions(), (frame.width() * scale, frame.height() * scale));
    for (x, y, pixel) in picture.enumerate_pixels() {
        let expected = if frame.ink(x / scale, y / scale) { 0 } else { 255 };
        assert_eq!(pixel.0[0], expected, "at {x}, {y}");
    }
}

#[test]
fn pbm_in_plain_sight() {
    // Netpbm pbm(5): the magic number P4, sizes in ASCII, rows padded to bytes, most significant bit leftmost, 1 is black.
    let frame = Frame::from_pattern(&["#........#", ".#........"]);
    assert_eq!(pbm(&frame), b"P4\n10 2\n\x80\x40\x40\x00");
}

#[test]
fn pbm_is_read_by_another_decoder() {
    let file = pbm(&sample());
    let decoder = PnmDecoder::new(Cursor::new(&file)).expect("a Netpbm file");
    assert_eq!(decoder.dimensions(), (77, 13));
    let picture = DynamicImage::from_decoder(decoder).expect("whole").into_luma8();
    assert_shows(&picture, &sample(), 1);
    assert_eq!(read_frame(&file), Ok(sample()));
}

#[test]
fn png_is_read_by_another_decoder() {
    for scale in [1, 3] {
        let file = png(&sample(), scale).expect("small");
        assert_eq!(file, png(&sample(), scale).expect("small"), "the bytes are the same each time");
        let picture = image::load_from_memory_with_format(&file, ImageFormat::Png).expect("a PNG").into_luma8();
        assert_shows(&picture, &sample(), scale);
    }
    assert_eq!(png(&sample(), 0), png(&sample(), 1));
    assert_eq!(png(&Frame::new(0, 4), 1), Err(FileFault::Empty));
    assert_eq!(png(&Frame::new(2, 2), LARGEST_SIDE), Err(FileFault::TooLarge));
    assert_eq!(png(&Frame::new(2, 2), 16_000), Err(FileFault::TooLarge));
    assert_eq!(png(&Frame::new(2, 2), u32::MAX), Err(FileFault::TooLarge));
}

/// Reads an X bitmap by the Xlib manual (`XReadBitmapFile`): two defines, then an array of bytes, rows padded to bytes, the
/// leftmost pixel in the least significant bit.
fn read_xbm(text: &str, name: &str) -> Option<Frame> {
    let define = |what: &str| -> Option<u32> {
        let line = text.lines().find_map(|line| line.strip_prefix(&format!("#define {name}_{what} ")))?;
        line.parse().ok()
    };
    let (width, height) = (define("width")?, define("height")?);
    let (head, rest) = text.split_once('{')?;
    assert!(head.ends_with(&format!("static unsigned char {name}_bits[] = ")));
    let (body, end) = rest.split_once('}')?;
    assert_eq!(end, ";\n");
    let numbers = body.split(',').map(|number| u8::from_str_radix(number.trim().strip_prefix("0x")?, 16).ok());
    let bytes: Vec<u8> = numbers.collect::<Option<_>>()?;
    assert_eq!(bytes.len() as u32, width.div_ceil(8) * height);
    let mut frame = Frame::new(width, height);
    for (y, row) in (0..height).zip(bytes.chunks(width.div_ceil(8) as usize)) {
        for x in 0..width {
            frame.set(x, y, row[x as usize / 8] & (1 << (x % 8)) != 0);
        }
    }
    Some(frame)
}

#[test]
fn xbm_is_read_by_the_manual() {
    assert_eq!(read_xbm(&xbm(&sample(), "icon"), "icon"), Some(sample()));
    let text = xbm(&Frame::from_pattern(&["#........#"]), "low cell");
    let expected = "#define low_cell_width 10\n#define low_cell_height 1\n\
                    static unsigned char low_cell_bits[] = {\n    0x01, 0x02\n};\n";
    assert_eq!(text, expected);
    assert!(xbm(&sample(), "9V").starts_with("#define _9V_width 77\n"));
    assert!(xbm(&sample(), "").starts_with("#define __width 77\n"));
}

#[test]
fn transparent_pixels_are_seen_on_white() {
    let mut picture = image::RgbaImage::new(3, 1);
    picture.put_pixel(0, 0, image::Rgba([0, 0, 0, 255]));
    picture.put_pixel(1, 0, image::Rgba([0, 0, 0, 0]));
    picture.put_pixel(2, 0, image::Rgba([0, 0, 0, 51]));
    let mut file = Cursor::new(Vec::new());
    picture.write_to(&mut file, ImageFormat::Png).expect("in memory");
    assert_eq!(read_gray(file.get_ref()).expect("a PNG").pixels, [0, 255, 204]);
}

#[test]
fn what_is_no_picture_is_refused() {
    for file in [&b""[..], b"P4\n", b"P4\n10 2\n\x80", b"P4\n4000000000 4000000000\n", b"no image at all"] {
        assert!(read_gray(file).is_err(), "{file:?}");
    }
    let whole = png(&sample(), 1).expect("small");
    assert!(read_frame(&whole[..whole.len() / 2]).is_err());
}
