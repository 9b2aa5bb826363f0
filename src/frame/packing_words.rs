//! How pixels lie in bytes, in words. Not for packing them; see [`super::pack`].

use super::pack::{Axis, Bit, BitOrder, Packing, Scan};
use super::planes::{Corner, Interleave, Planes};

/// A packing in words.
pub fn describe(packing: &Packing) -> String {
    let mut words = Vec::new();
    if packing.mirror {
        words.push("mirrored left-right".to_owned());
    }
    if packing.rotation.degrees() != 0 {
        words.push(format!("turned {} degrees clockwise", packing.rotation.degrees()));
    }
    words.push(match packing.scan {
        Scan::Rows => "bytes run along rows".to_owned(),
        Scan::Columns => "bytes run down columns".to_owned(),
    });
    words.push(match (packing.along, packing.bits) {
        (Axis::X, BitOrder::MsbFirst) => "eight pixels side by side, the left one in bit 7".to_owned(),
        (Axis::X, BitOrder::LsbFirst) => "eight pixels side by side, the left one in bit 0".to_owned(),
        (Axis::Y, BitOrder::MsbFirst) => "eight pixels one above the other, the top one in bit 7".to_owned(),
        (Axis::Y, BitOrder::LsbFirst) => "eight pixels one above the other, the top one in bit 0".to_owned(),
    });
    words.push(format!("a black pixel is {}", u8::from(packing.pixel_polarity)));
    if packing.padding != Bit::Zero {
        words.push("unused bits are 1".to_owned());
    }
    words.extend(planes(packing).map(str::to_owned));
    words.extend(origin(packing));
    words.join(", ")
}

/// Which planes are held and how they lie, in words; nothing for one plane.
fn planes(packing: &Packing) -> Option<&'static str> {
    Some(match (packing.planes, packing.interleave) {
        (Planes::New, _) => return None,
        (Planes::OldNew, Interleave::Planes) => "the plane of the image before, then that of the image now",
        (Planes::OldNew, Interleave::Lines) => "line by line the image before, then the image now",
        (Planes::OldNew, Interleave::Bytes) => "byte by byte the image before, then the image now",
        (Planes::NewOld, Interleave::Planes) => "the plane of the image now, then that of the image before",
        (Planes::NewOld, Interleave::Lines) => "line by line the image now, then the image before",
        (Planes::NewOld, Interleave::Bytes) => "byte by byte the image now, then the image before",
    })
}

/// From where windows are counted, in words; nothing for the usual.
fn origin(packing: &Packing) -> Option<String> {
    let [column, line] = packing.origin_at;
    ((packing.origin, packing.origin_at) != (Corner::TopLeft, [0, 0])).then(|| {
        format!("windows count from the {} in memory, which is column {column}, line {line}", packing.origin.words())
    })
}
