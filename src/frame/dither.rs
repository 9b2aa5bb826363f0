//! From gray to ink and paper: fixed threshold, ordered dither and error diffusion, in integers and so the same everywhere.
//!
//! Not for scaling or for tone; see [`super::gray`].

use super::bits::Frame;
use super::gray::Gray;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// How gray becomes ink or paper.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Method {
    /// Values below the threshold become ink.
    Threshold(u8),
    /// Each pixel's error goes to four neighbours: 7/16 right, 3/16, 5/16 and 1/16 below. R. W. Floyd and L. Steinberg, "An
    /// adaptive algorithm for spatial greyscale", Proceedings of the Society for Information Display 17 (1976) 75-77.
    #[default]
    FloydSteinberg,
    /// Each pixel's error goes to twelve neighbours in three rows, in forty-eighths. J. F. Jarvis, C. N. Judice and W. H.
    /// Ninke, "A survey of techniques for the display of continuous tone pictures on bilevel displays", Computer Graphics
    /// and Image Processing 5 (1976) 13-40. Calmer than Floyd and Steinberg's on small panels.
    JarvisJudiceNinke,
    /// A fixed 4 x 4 pattern of thresholds, so equal areas look equal and a small change of gray changes few pixels. B. E.
    /// Bayer, "An optimum method for two-level rendition of continuous-tone pictures", IEEE International Conference on
    /// Communications (1973) 26-11 to 26-15.
    Bayer4,
}

/// The frame that shows `gray` by ink and paper. Rows are worked from the top, each from left to right; error that would leave
/// the picture is dropped.
pub fn dither(gray: &Gray, method: Method) -> Frame {
    let mut frame = Frame::new(gray.width, gray.height);
    match method {
        Method::Threshold(threshold) => compare(gray, &mut frame, |_| [threshold; 4]),
        Method::Bayer4 => compare(gray, &mut frame, |y| BAYER_4.map(|line| line.map(first_paper))[y as usize % 4]),
        Method::FloydSteinberg => floyd_steinberg(gray, &mut frame),
        Method::JarvisJudiceNinke => jarvis_judice_ninke(gray, &mut frame),
    }
    frame
}

/// The order in which the cells of a 4 x 4 block turn to paper as gray gets lighter (Bayer 1973).
const BAYER_4: [[u8; 4]; 4] = [[0, 8, 2, 10], [12, 4, 14, 6], [3, 11, 1, 9], [15, 7, 13, 5]];

/// The smallest value shown as paper in a cell of rank 0 to 15: the first above (rank + 1/2) / 16 of white.
const fn first_paper(rank: u8) -> u8 {
    ((2 * rank as u16 + 1) * 255 / 32 + 1) as u8
}

/// Ink where the value is below the threshold of its column (modulo 4).
fn compare(gray: &Gray, frame: &mut Frame, thresholds: impl Fn(u32) -> [u8; 4]) {
    for y in 0..frame.height() {
        let thresholds = thresholds(y);
        for (word, values) in frame.row_mut(y).iter_mut().zip(gray.row(y).chunks(64)) {
            let ink =
                values.chunks(4).flat_map(|four| four.iter().zip(thresholds).map(|(value, limit)| *value < limit));
            *word = to_word(ink);
        }
    }
}

/// Up to 64 pixels, the first in the most significant bit.
fn to_word(ink: impl Iterator<Item = bool>) -> u64 {
    ink.zip((0..64).rev()).fold(0, |word, (ink, place)| word | (u64::from(ink) << place))
}

/// Steps of the fixed-point values of error diffusion in one step of gray. Error is passed on in whole such steps.
const STEPS: i32 = 1 << 12;
/// White in steps.
const WHITE: i32 = 255 * STEPS;

fn floyd_steinberg(gray: &Gray, frame: &mut Frame) {
    // Sixteen times the error from the row above, one place per column. A place is rewritten for the next row as soon as
    // no pixel of this row needs it, one column behind.
    let mut above = vec![0; frame.width() as usize + 1];
    for y in 0..frame.height() {
        let (mut error, mut before) = (0, 0);
        let mut column = 0;
        for (word, values) in frame.row_mut(y).iter_mut().zip(gray.row(y).chunks(64)) {
            let mut ink = 0;
            for (place, value) in (0..64).rev().zip(values) {
                let sum = i32::from(*value) * STEPS * 16 + above[column + 1] + 7 * error;
                let paper = decide(sum, 16);
                let new = (sum >> 4) - (paper & WHITE);
                above[column] = before + 5 * error + 3 * new;
                ink |= u64::from(paper == 0) << place;
                (before, error) = (error, new);
                column += 1;
            }
            *word = ink;
        }
        if let Some(last) = above.last_mut() {
            *last = before + 5 * error;
        }
    }
}

/// All ones if `sum`, which counts `parts` of a step, is at least half of white; else zero. Kept free of branches, because
/// nothing could predict them.
fn decide(sum: i32, parts: i32) -> i32 {
    (WHITE / 2 * parts - 1 - sum) >> 31
}

fn jarvis_judice_ninke(gray: &Gray, frame: &mut Frame) {
    // Forty-eight times the error from the rows above, two places wider on both sides to take what is dropped.
    let width = frame.width() as usize;
    let [mut here, mut below, mut second] = [(); 3].map(|()| vec![0i32; width + 4]);
    for y in 0..frame.height() {
        let mut column = 0;
        for (word, values) in frame.row_mut(y).iter_mut().zip(gray.row(y).chunks(64)) {
            let mut ink = 0;
            for (place, value) in (0..64).rev().zip(values) {
                let sum = i32::from(*value) * STEPS + (here[column + 2] + 24).div_euclid(48);
                let paper = decide(sum, 1);
                let error = sum - (paper & WHITE);
                spread(&mut here[column + 3..], error, &[7, 5]);
                spread(&mut below[column..], error, &[3, 5, 7, 5, 3]);
                spread(&mut second[column..], error, &[1, 3, 5, 3, 1]);
                ink |= u64::from(paper == 0) << place;
                column += 1;
            }
            *word = ink;
        }
        here.fill(0);
        (here, below, second) = (below, second, here);
    }
}

fn spread(places: &mut [i32], error: i32, weights: &[i32]) {
    places.iter_mut().zip(weights).for_each(|(place, weight)| *place += weight * error);
}
