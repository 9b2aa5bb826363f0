//! Pictures and faces made to do harm: far too large, cut off, or no pictures and faces at all.

use image::codecs::png::PngEncoder;
use image::{ExtendedColorType, ImageEncoder};
use inkjoule::project::load_files;
use inkjoule::source::files::Files;
use rand::{RngExt, SeedableRng};
use std::time::{Duration, Instant};

const DEVICE: &str = include_str!("../../src/cli/starter/device.toml");

/// What is said about a project with one more file, used by a screen; empty if nothing is wrong.
fn said(name: &str, bytes: &[u8]) -> String {
    let (faces, element) = match name.ends_with(".bdf") || name.ends_with(".ttf") {
        true => (
            format!("\n[fonts.given]\nfile = \"{name}\"\nsize = 20\n"),
            "{ text = \"at {taken}\", font = \"given\" }".to_owned(),
        ),
        false => (String::new(), format!("{{ icon = \"{name}\" }}")),
    };
    let device = format!("{DEVICE}{faces}");
    let device = if name.ends_with(".bdf") { device.replace("size = 20\n", "") } else { device };
    let screen = format!("content = [ {element} ]\n");
    let files =
        [("device.toml", device.into_bytes()), ("screens/home.toml", screen.into_bytes()), (name, bytes.to_vec())];
    let start = Instant::now();
    let said = match load_files(Files::from_memory(files)) {
        Ok(_) => String::new(),
        Err(failed) => failed.faults.iter().map(|fault| format!("{}\n", fault.message)).collect(),
    };
    assert!(start.elapsed() < Duration::from_secs(60), "{name} took {:?}", start.elapsed());
    said
}

fn png(width: u32, height: u32) -> Vec<u8> {
    let pixels = vec![200; width as usize * height as usize];
    let mut file = Vec::new();
    PngEncoder::new(&mut file).write_image(&pixels, width, height, ExtendedColorType::L8).unwrap();
    file
}

/// A PNG whose header announces other sizes, with a right checksum (W3C PNG, third edition: IHDR).
fn announcing(width: u32, height: u32) -> Vec<u8> {
    let mut file = png(16, 16);
    file[16..20].copy_from_slice(&width.to_be_bytes());
    file[20..24].copy_from_slice(&height.to_be_bytes());
    let sum = crc::Crc::<u32>::new(&crc::CRC_32_ISO_HDLC).checksum(&file[12..29]);
    file[29..33].copy_from_slice(&sum.to_be_bytes());
    file
}

#[test]
fn a_sound_picture_is_read() {
    assert_eq!(said("icons/a.png", &png(16, 16)), "");
    assert_eq!(said("icons/a.png", &announcing(16, 16)), "");
}

#[test]
fn picture_bombs_are_refused_before_they_are_decoded() {
    for (width, height) in [(60_000, 60_000), (u32::MAX >> 1, 1), (1, 100_000), (16_000, 16_000)] {
        let said = said("icons/a.png", &announcing(width, height));
        assert!(said.contains("cannot use icons/a.png"), "{width} x {height}: {said}");
    }
    assert!(said("icons/a.png", &announcing(60_000, 60_000)).contains("60000 x 60000 pixels"));
    assert!(said("icons/a.pbm", b"P4\n99999 99999\n").contains("99999 x 99999 pixels"));
    assert!(said("icons/a.pbm", b"P1\n4000000000 4000000000\n1").contains("cannot use"));
}

#[test]
fn cut_off_pictures_are_errors() {
    let whole = png(64, 64);
    for length in [0, 4, 8, 20, 33, 40, whole.len() / 2, whole.len() - 14] {
        assert!(said("icons/a.png", &whole[..length]).contains("cannot use icons/a.png"), "{length} bytes");
    }
}

#[test]
fn garbage_is_no_picture_and_no_face() {
    let mut random = rand_chacha::ChaCha8Rng::seed_from_u64(7);
    let heads: [&[u8]; 7] = [
        b"",
        b"\x89PNG\r\n\x1a\n",
        b"\xff\xd8\xff\xe0",
        b"BM",
        b"P4\n8 8\n",
        b"\x00\x01\x00\x00\x00\x10",
        b"STARTFONT 2.1\n",
    ];
    for head in heads {
        for _ in 0..40 {
            let tail: Vec<u8> = (0..random.random_range(0..400)).map(|_| random.random()).collect();
            let bytes = [head, &tail].concat();
            // A picture of eight by eight bits may come out right by chance; what matters is that it ends.
            let _ = said("icons/a.png", &bytes);
            assert!(said("fonts/a.ttf", &bytes).contains("cannot read fonts/a.ttf"));
            assert!(said("fonts/a.bdf", &bytes).contains("cannot read fonts/a.bdf"));
        }
    }
}

/// A font whose table directory points everywhere (OpenType specification, "Table Directory").
#[test]
fn a_font_directory_that_points_out_of_the_file_is_an_error() {
    let mut file = vec![0, 1, 0, 0, 0, 9, 0, 0, 0, 0, 0, 0];
    for (index, tag) in
        [b"cmap", b"glyf", b"head", b"hhea", b"hmtx", b"loca", b"maxp", b"name", b"post"].iter().enumerate()
    {
        file.extend_from_slice(*tag);
        file.extend_from_slice(&[0; 4]);
        file.extend_from_slice(&(u32::MAX - index as u32).to_be_bytes());
        file.extend_from_slice(&u32::MAX.to_be_bytes());
    }
    assert!(said("fonts/a.ttf", &file).contains("cannot read fonts/a.ttf"));
}

#[test]
fn bdf_metrics_out_of_proportion_are_errors() {
    let face = |bbx: &str, advance: &str| {
        format!(
            "STARTFONT 2.1\nFONTBOUNDINGBOX 8 8 0 0\nCHARS 1\nSTARTCHAR a\nENCODING 97\nDWIDTH {advance} 0\nBBX {bbx}\nBITMAP\nENDCHAR\nENDFONT\n"
        )
    };
    for (bbx, advance) in
        [("2000000000 1 0 0", "5"), ("-5 3 0 0", "5"), ("8 0 2147483647 0", "5"), ("8 0 0 0", "2147483647")]
    {
        let said = said("fonts/a.bdf", face(bbx, advance).as_bytes());
        assert!(said.contains("cannot read fonts/a.bdf"), "{bbx} {advance}: {said}");
    }
}
