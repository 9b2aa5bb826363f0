//! Every sheet in `golden/elements` must give the picture beside it, pixel by pixel.
//!
//! A sheet is a TOML file (see `sheet`), its picture the PNG of the same name: one element in one state, looked at by
//! eye when it was accepted. After a wanted change, write the pictures anew with `ACCEPT=1` and look at each of them.

use crate::sheet::Sheet;
use inkjoule::frame::Frame;
use inkjoule::frame::assert::side_by_side;
use inkjoule::frame::files::{png, read_frame};
use std::path::{Path, PathBuf};

const FOLDER: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/golden/elements");

fn files(ending: &str) -> Vec<PathBuf> {
    let entries = std::fs::read_dir(FOLDER).expect("the folder is there");
    let mut files: Vec<PathBuf> = entries.map(|entry| entry.expect("readable").path()).collect();
    files.retain(|path| path.extension().is_some_and(|found| found == ending));
    files.sort();
    files
}

/// Where pictures differ: expected ink that is missing red, unexpected ink blue, common ink black.
fn difference(expected: &Frame, actual: &Frame) -> image::RgbImage {
    let size = |side: fn(&Frame) -> u32| side(expected).max(side(actual));
    let picture = image::RgbImage::from_fn(size(Frame::width), size(Frame::height), |x, y| {
        image::Rgb(match (expected.ink(x, y), actual.ink(x, y)) {
            (true, true) => [0, 0, 0],
            (false, false) => [255, 255, 255],
            (true, false) => [220, 40, 40],
            (false, true) => [30, 90, 230],
        })
    });
    image::imageops::resize(&picture, picture.width() * 4, picture.height() * 4, image::imageops::FilterType::Nearest)
}

fn check(path: &Path) -> Result<(), String> {
    let name = path.file_stem().unwrap_or_default().to_string_lossy().into_owned();
    let actual = Sheet::new(&std::fs::read_to_string(path).expect("readable")).draw();
    let picture = path.with_extension("png");
    if std::env::var_os("ACCEPT").is_some() {
        std::fs::write(&picture, png(&actual, 1).expect("an image has pixels")).expect("writable");
    }
    let bytes = std::fs::read(&picture).map_err(|why| format!("{name}: {}: {why}", picture.display()))?;
    let expected = read_frame(&bytes).map_err(|why| format!("{name}: {why}"))?;
    if expected == actual {
        return Ok(());
    }
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("elements");
    let shown = folder.join(format!("{name}.png"));
    std::fs::create_dir_all(&folder).expect("writable");
    difference(&expected, &actual).save(&shown).expect("writable");
    Err(format!("{name} differs; see {}\n{}", shown.display(), side_by_side(&expected, &actual)))
}

#[test]
fn pictures_are_as_accepted() {
    let sheets = files("toml");
    assert!(sheets.len() >= 60, "only {} sheets", sheets.len());
    let wrong: Vec<String> = sheets.iter().filter_map(|path| check(path).err()).collect();
    assert!(wrong.is_empty(), "{} images are wrong\n{}", wrong.len(), wrong.join("\n"));
}

#[test]
fn every_picture_has_its_sheet() {
    let lost: Vec<PathBuf> = files("png").into_iter().filter(|path| !path.with_extension("toml").exists()).collect();
    assert!(lost.is_empty(), "{lost:?}");
}
