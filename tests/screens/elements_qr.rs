//! QR codes on screens are read by a decoder that shares nothing with the encoder (rqrr; ISO/IEC 18004).

use crate::sheet::Sheet;
use inkjoule::frame::Frame;

/// What a decoder reads from a frame, seen at twice its size.
fn read(frame: &Frame) -> Vec<String> {
    let (width, height) = (frame.width() as usize * 2, frame.height() as usize * 2);
    let gray = |x: usize, y: usize| if frame.ink(x as u32 / 2, y as u32 / 2) { 0 } else { 255 };
    let mut picture = rqrr::PreparedImage::prepare_from_greyscale(width, height, gray);
    picture.detect_grids().into_iter().filter_map(|grid| grid.decode().ok()).map(|(_, text)| text).collect()
}

#[test]
fn codes_say_what_was_written() {
    let long = "A".repeat(180);
    let texts = ["4711", "https://example.org/s/4711?post=3", "Frostwächter: Größe 3 µm, świt 6:40", &long];
    for text in texts {
        for level in ["low", "medium", "quartile", "high"] {
            let sheet = format!(
                "size = [160, 160]\nscreen.content = [ {{ box = 0, fill = \"ink\" }}, {{ qr = {text:?}, correction = \"{level}\" }} ]"
            );
            assert_eq!(read(&Sheet::new(&sheet).draw()), [text], "{level}");
        }
    }
}

#[test]
fn a_code_survives_damage_up_to_its_level() {
    let sheet = "size = [160, 160]\nscreen.content = [ { qr = 'https://example.org/s/4711', correction = 'high' } ]";
    let mut frame = Sheet::new(sheet).draw();
    // A blot in the middle, about a tenth of the code.
    frame.fill(
        embedded_graphics::primitives::Rectangle::new(
            embedded_graphics::prelude::Point::new(64, 84),
            embedded_graphics::prelude::Size::new(34, 30),
        ),
        true,
    );
    assert_eq!(read(&frame), ["https://example.org/s/4711"]);
}

#[test]
fn text_that_is_too_long_is_refused() {
    let long = "x".repeat(3_000);
    let faults =
        Sheet::read(&format!("size = [160, 160]\nscreen.content = [ {{ qr = \"{long}\" }} ]")).err().expect("refused");
    assert!(faults[0].message.contains("too long for a QR code"), "{faults:?}");
}
