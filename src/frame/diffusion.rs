//! Error diffusion in fixed-point integers.
//!
//! The published weights are kept exactly; what is divided is the sum of all errors that a pixel is given, once. Not for
//! thresholds without memory; see [`super::ordered`].

use super::bits::Frame;
use super::ordered::{fill_row, top_bits};

/// Steps of the fixed-point values in one step of gray; errors are whole steps. A pixel with its errors stays between -128
/// and 383, so that even 48 times it fits 31 bits.
const STEPS: i32 = 1 << 16;
/// White in steps.
const WHITE: i32 = 255 * STEPS;

/// All ones if `sum`, which counts `parts` of a step, is at least half of white: paper. Else zero: ink. Free of branches,
/// because nothing could predict them.
fn paper(sum: i32, parts: i32) -> i32 {
    (WHITE / 2 * parts - 1 - sum) >> 31
}

/// A row under way by Floyd and Steinberg's weights. Errors given to a pixel are summed in sixteenths.
#[derive(Default)]
struct Sixteenths {
    /// The error of the last pixel, of the one before, and seven times the last for the next pixel.
    last: i32,
    before: i32,
    onward: i32,
}

impl Sixteenths {
    /// Decides one pixel by its value and what the row above gave it. Returns whether it is paper (as a byte's top bit) and
    /// what the pixel one row below and one column back is given in all.
    fn pixel(&mut self, value: u8, given: i32) -> (u8, i32) {
        let sum = i32::from(value) * STEPS * 16 + given + self.onward;
        let paper = paper(sum, 16);
        let error = (sum >> 4) - (paper & WHITE);
        // Seven times the error; written so that the next pixel waits for as few operations as possible.
        self.onward = 7 * (sum >> 4) - (paper & (7 * WHITE));
        let down = self.before + 5 * self.last + 3 * error;
        (self.before, self.last) = (self.last, error);
        (paper as u8, down)
    }

    /// What the last pixel of the row below is given in all.
    fn end(&self) -> i32 {
        self.before + 5 * self.last
    }
}

/// Floyd and Steinberg 1976. `values` has all pixels of `frame`, whose width is not 0.
pub(super) fn floyd_steinberg(values: &[u8], frame: &mut Frame) {
    let width = frame.width() as usize;
    let (mut given, mut next) = (vec![0; width + 1], vec![0; width + 1]);
    let mut papers = [vec![0; width], vec![0; width]];
    let outside = vec![u8::MAX; width];
    let mut rows = values.chunks_exact(width);
    for y in (0..frame.height()).step_by(2) {
        let Some(upper) = rows.next() else { return };
        pair_of_rows(upper, rows.next().unwrap_or(&outside), &given, &mut next, &mut papers);
        (given, next) = (next, given);
        for (y, papers) in (y..).zip(&papers) {
            fill_row(frame.row_mut(y), papers, |eight| top_bits(!eight));
        }
    }
}

/// Works two rows at once, the lower one column behind: each pixel waits for its left neighbour, and two rows share the wait.
/// Place `x + 1` of `given` is what pixel `x` of the upper row is given; `next` takes the same for the row below the lower.
fn pair_of_rows(
    upper: &[u8],
    lower: &[u8],
    given: &[i32],
    next: &mut [i32],
    [papers_up, papers_low]: &mut [Vec<u8>; 2],
) {
    let (mut up, mut low) = (Sixteenths::default(), Sixteenths::default());
    let (Some((first, upper)), Some((last, lower))) = (upper.split_first(), lower.split_last()) else { return };
    let (Some((paper_first, papers_up)), Some((paper_last, papers_low))) =
        (papers_up.split_first_mut(), papers_low.split_last_mut())
    else {
        return;
    };
    let (&[_, given_first, ref given @ ..], [next @ .., next_before, next_last]) = (given, next) else { return };
    (*paper_first, _) = up.pixel(*first, given_first);
    let values = upper.iter().zip(lower);
    let papers = papers_up.iter_mut().zip(papers_low);
    for (((value_up, value_low), (paper_up, paper_low)), (given, next)) in
        values.zip(papers).zip(given.iter().zip(next))
    {
        let down;
        (*paper_up, down) = up.pixel(*value_up, *given);
        (*paper_low, *next) = low.pixel(*value_low, down);
    }
    (*paper_last, *next_before) = low.pixel(*last, up.end());
    *next_last = low.end();
}

/// Jarvis, Judice and Ninke 1976, errors summed in forty-eighths. `values` has all pixels of `frame`, whose width is not 0.
pub(super) fn jarvis_judice_ninke(values: &[u8], frame: &mut Frame) {
    let width = frame.width() as usize;
    // What the pixels of this row, and so far those of the row below, are given.
    let (mut here, mut below) = (vec![0; width], vec![0; width]);
    let mut papers = vec![0; width];
    for (y, values) in (0..).zip(values.chunks_exact(width)) {
        // The errors of the last four pixels, the latest first.
        let mut last = [0; 4];
        for x in 0..width + 2 {
            let error = if x < width {
                let sum = i32::from(values[x]) * STEPS + (here[x] + 7 * last[0] + 5 * last[1]) / 48;
                let paper = paper(sum, 1);
                papers[x] = paper as u8;
                sum - (paper & WHITE)
            } else {
                0
            };
            // Two columns back all five pixels that give to the column below are known. Its place in this row is free for
            // what the second row below is given.
            if let Some(column) = x.checked_sub(2) {
                below[column] += 3 * (error + last[3]) + 5 * (last[0] + last[2]) + 7 * last[1];
                here[column] = error + last[3] + 3 * (last[0] + last[2]) + 5 * last[1];
            }
            last = [error, last[0], last[1], last[2]];
        }
        fill_row(frame.row_mut(y), &papers, |eight| top_bits(!eight));
        (here, below) = (below, here);
    }
}
