//! Dithering against references written from the papers, and against what the methods promise about gray.

use inkjoule::frame::assert::assert_picture;
use inkjoule::frame::{Frame, Gray, Method, dither};
use proptest::collection::vec;
use proptest::prelude::*;

/// Error diffusion as the papers describe it, in real numbers: each pixel plus the error that it was given becomes the nearer
/// of black and white, and what that leaves over goes to the neighbours by weight.
fn diffusion(gray: &Gray, weights: &[(i64, i64, f64)]) -> Frame {
    let (width, height) = (i64::from(gray.width), i64::from(gray.height));
    let mut values: Vec<f64> = gray.pixels.iter().map(|value| f64::from(*value)).collect();
    let mut frame = Frame::new(gray.width, gray.height);
    for y in 0..height {
        for x in 0..width {
            let value = values[(y * width + x) as usize];
            let ink = value < 127.5;
            frame.set(x as u32, y as u32, ink);
            let error = value - if ink { 0.0 } else { 255.0 };
            for (right, down, weight) in weights {
                let (to_x, to_y) = (x + right, y + down);
                if (0..width).contains(&to_x) && to_y < height {
                    values[(to_y * width + to_x) as usize] += error * weight;
                }
            }
        }
    }
    frame
}

/// Floyd and Steinberg 1976 (the published weights 7/16, 3/16, 5/16, 1/16).
fn floyd_steinberg() -> Vec<(i64, i64, f64)> {
    [(1, 0, 7.0), (-1, 1, 3.0), (0, 1, 5.0), (1, 1, 1.0)].map(|(x, y, part)| (x, y, part / 16.0)).to_vec()
}

/// Jarvis, Judice and Ninke 1976 (the weights: memory).
fn jarvis_judice_ninke() -> Vec<(i64, i64, f64)> {
    let rows = [[0.0, 0.0, 0.0, 7.0, 5.0], [3.0, 5.0, 7.0, 5.0, 3.0], [1.0, 3.0, 5.0, 3.0, 1.0]];
    let cells = (0..).zip(rows).flat_map(|(y, row)| (-2..).zip(row).map(move |(x, part)| (x, y, part / 48.0)));
    cells.filter(|(_, _, weight)| *weight > 0.0).collect()
}

/// Gray values without a pattern.
fn noise(width: u32, height: u32, seed: u32) -> Gray {
    let mut state = seed;
    let mut next = || {
        state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        (state >> 24) as u8
    };
    Gray::new(width, height, (0..width * height).map(|_| next()).collect()).expect("as many as wanted")
}

fn flat(value: u8, side: u32) -> Gray {
    Gray::new(side, side, vec![value; (side * side) as usize]).expect("as many as wanted")
}

fn ramp(width: u32, height: u32) -> Gray {
    let pixels = (0..width * height).map(|index| ((index % width) * 255 / (width - 1)) as u8).collect();
    Gray::new(width, height, pixels).expect("as many as wanted")
}

#[test]
fn error_diffusion_follows_the_papers() {
    let pictures =
        [noise(131, 70, 1), noise(64, 64, 2), noise(1, 40, 3), noise(40, 1, 4), noise(2, 9, 5), ramp(200, 60)];
    for gray in &pictures {
        assert_eq!(dither(gray, Method::FloydSteinberg), diffusion(gray, &floyd_steinberg()));
        assert_eq!(dither(gray, Method::JarvisJudiceNinke), diffusion(gray, &jarvis_judice_ninke()));
    }
}

#[test]
fn floyd_and_steinberg_by_hand() {
    // A gray of 96 in two rows, worked on paper in sixteenths with the weights 7, 3, 5 and 1.
    // Row 1: 96 ink; 96 + 42 = 138 paper, -117; 96 - 51.1875 = 44.8 ink; 96 + 19.6 = 115.6 ink.
    // Row 2: 96 + 5/16*96 - 3/16*117 = 104.1 ink; 96 + 96/16 - 5/16*117 + 3/16*44.8 + 7/16*104.1 = 119.4 ink;
    //        96 - 117/16 + 5/16*44.8 + 3/16*115.6 + 7/16*119.4 = 176.6 paper, -78.4; 96 + 44.8/16 + 5/16*115.6 - 34.3 = 100.6.
    let gray = Gray::new(4, 2, vec![96; 8]).expect("eight pixels");
    assert_picture(&dither(&gray, Method::FloydSteinberg), &["#.##", "##.#"]);
}

#[test]
fn bayer_fills_in_the_published_order() {
    // Bayer 1973: the sixteen cells in the order of the matrix 0 8 2 10 / 12 4 14 6 / 3 11 1 9 / 15 7 13 5.
    let paper = |steps: u32| dither(&flat((steps * 255 / 16) as u8, 4), Method::Bayer4);
    assert_picture(&paper(0), &["####", "####", "####", "####"]);
    assert_picture(&paper(1), &[".###", "####", "####", "####"]);
    assert_picture(&paper(2), &[".###", "####", "##.#", "####"]);
    assert_picture(&paper(4), &[".#.#", "####", ".#.#", "####"]);
    assert_picture(&paper(8), &[".#.#", "#.#.", ".#.#", "#.#."]);
    assert_picture(&paper(15), &["....", "....", "....", "#..."]);
    assert_picture(&paper(16), &["....", "....", "....", "...."]);
    for value in 0..=255u8 {
        let ink = dither(&flat(value, 64), Method::Bayer4).ink_count() as f64 / 4096.0;
        let wanted = 1.0 - f64::from(value) / 255.0;
        assert!((ink - wanted).abs() <= 1.0 / 32.0 + 1e-9, "{value}: {ink} instead of {wanted}");
    }
}

#[test]
fn the_threshold_itself_is_paper() {
    let gray = Gray::new(5, 1, vec![0, 99, 100, 101, 255]).expect("five pixels");
    assert_picture(&dither(&gray, Method::Threshold(100)), &["##..."]);
    assert_picture(&dither(&gray, Method::Threshold(0)), &["....."]);
}

#[test]
fn a_short_picture_is_white_where_pixels_are_missing() {
    let gray = Gray { width: 4, height: 3, pixels: vec![0; 6] };
    for method in [Method::Threshold(128), Method::Bayer4, Method::FloydSteinberg, Method::JarvisJudiceNinke] {
        assert_picture(&dither(&gray, method), &["####", "##..", "...."]);
    }
}

#[test]
fn methods_are_named_in_text() {
    let read = |text| serde_json::from_str::<Method>(text).expect("a known method");
    assert_eq!(read("\"floyd-steinberg\""), Method::FloydSteinberg);
    assert_eq!(read("\"jarvis-judice-ninke\""), Method::JarvisJudiceNinke);
    assert_eq!(read("\"bayer4\""), Method::Bayer4);
    assert_eq!(read("{\"threshold\": 90}"), Method::Threshold(90));
}

#[test]
fn error_diffusion_keeps_the_mean_gray() {
    for method in [Method::FloydSteinberg, Method::JarvisJudiceNinke] {
        for value in (0..=255u8).step_by(5) {
            let side = 256;
            let paper = 1.0 - dither(&flat(value, side), method).ink_count() as f64 / f64::from(side * side);
            let wanted = f64::from(value) / 255.0;
            // Only the error dropped at the edges is lost: less than one pixel's worth for each pixel of the edge.
            assert!((paper - wanted).abs() < 1.0 / f64::from(side), "{method:?} {value}: {paper} instead of {wanted}");
        }
    }
}

proptest! {
    #[test]
    fn black_and_white_stay_as_they_are(bits in vec(any::<bool>(), 70 * 9)) {
        let pixels = bits.iter().map(|ink| if *ink { 0 } else { 255 }).collect();
        let gray = Gray::new(70, 9, pixels).expect("as many as wanted");
        for method in [Method::Threshold(128), Method::Bayer4, Method::FloydSteinberg, Method::JarvisJudiceNinke] {
            let frame = dither(&gray, method);
            for (index, ink) in (0..).zip(&bits) {
                prop_assert_eq!(frame.ink(index % 70, index / 70), *ink);
            }
        }
    }

    #[test]
    fn any_picture_can_be_dithered(width in 0..140u32, height in 0..20u32, pixels in vec(any::<u8>(), 0..3000)) {
        let gray = Gray { width, height, pixels };
        for method in [Method::Threshold(9), Method::Bayer4, Method::FloydSteinberg, Method::JarvisJudiceNinke] {
            let frame = dither(&gray, method);
            prop_assert_eq!((frame.width(), frame.height()), (width, height));
        }
    }
}
