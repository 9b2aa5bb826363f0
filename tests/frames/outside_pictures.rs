//! Pictures against an independent decoder: what `render` writes is what was drawn.
//!
//! PBM: Netpbm pbm(5), 1 is black. PNG: W3C PNG, third edition.

use crate::starter::run;
use image::GenericImageView;
use inkjoule::project::load;
use inkjoule::render::{Show, frames};
use inkjoule::screen::ScreenId;
use std::path::Path;

fn decode(path: &Path) -> image::DynamicImage {
    let bytes = std::fs::read(path).unwrap();
    image::ImageReader::new(std::io::Cursor::new(bytes)).with_guessed_format().unwrap().decode().unwrap()
}

#[test]
fn every_picture_of_the_demo_decodes_to_its_frame() {
    let device = load(Path::new("screens-demo"), &[]).map_err(|failed| failed.faults).unwrap().device;
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().to_str().unwrap();
    for (format, scale) in [("pbm", 1u32), ("png", 1), ("png", 3)] {
        let shown = run(&["render", "screens-demo", "--to", format, "--scale", &scale.to_string(), "--out", out]);
        assert_eq!(shown.status, 0, "{}", shown.stderr);
        for (locale, name) in device.locales.iter().enumerate() {
            let all: Vec<ScreenId> = (0..device.screens.len()).map(ScreenId).collect();
            for (id, frame) in frames(&device, &all, locale, Show::Sample) {
                let screen = &device.screens[id.0];
                let picture = decode(&folder.path().join(name).join(format!("{}.{format}", screen.id)));
                assert_eq!(picture.dimensions(), (frame.width() * scale, frame.height() * scale));
                let gray = picture.to_luma8();
                for (x, y, pixel) in gray.enumerate_pixels() {
                    let black = frame.ink(x / scale, y / scale);
                    assert_eq!(pixel.0[0], if black { 0 } else { 255 }, "{} at {x}, {y}", screen.id);
                }
            }
        }
    }
}
