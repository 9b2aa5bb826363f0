//! From gray to ink and paper: fixed threshold, ordered dither and error diffusion, in integers and so the same everywhere.
//!
//! Not for scaling or for tone; see [`super::gray`].

use super::bits::Frame;
use super::gray::Gray;
use super::{diffusion, ordered};
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
    /// and Image Processing 5 (1976) 13-40.
    JarvisJudiceNinke,
    /// A fixed 4 x 4 pattern of thresholds, so equal areas look equal and a small change of gray changes few pixels. B. E.
    /// Bayer, "An optimum method for two-level rendition of continuous-tone pictures", IEEE International Conference on
    /// Communications (1973) 26-11 to 26-15.
    Bayer4,
}

/// The frame that shows `gray` by ink and paper. Rows are worked from the top, each from left to right; error that would leave
/// the image is dropped. Sides beyond [`super::LARGEST_SIDE`] give an empty frame.
pub fn dither(gray: &Gray, method: Method) -> Frame {
    let Some(mut frame) = Frame::checked(gray.width, gray.height) else { return Frame::new(0, 0) };
    if gray.width == 0 {
        return frame;
    }
    let values = gray.whole();
    match method {
        Method::Threshold(threshold) => ordered::compare(&values, &mut frame, &[[threshold; 4]]),
        Method::Bayer4 => {
            ordered::compare(&values, &mut frame, &ordered::BAYER_4.map(|row| row.map(ordered::first_paper)))
        }
        Method::FloydSteinberg => diffusion::floyd_steinberg(&values, &mut frame),
        Method::JarvisJudiceNinke => diffusion::jarvis_judice_ninke(&values, &mut frame),
    }
    frame
}
