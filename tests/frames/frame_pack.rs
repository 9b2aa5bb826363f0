//! Packed bytes: pictures small enough to check by eye, every packing there and back, and the text form of a packing.

use inkjoule::frame::pack::{pack, pack_pair, unpack, unpack_pair};
use inkjoule::frame::{Axis, Bit, BitOrder, Corner, Frame, Interleave, PackFault, Packing, Planes, Rotation, Scan};
use proptest::collection::vec;
use proptest::prelude::*;
use std::collections::HashSet;

/// Two strips wide and two strips high, each strip told apart by its pixels.
fn sample() -> Frame {
    Frame::from_pattern(&[
        "#.......##..",
        "#...........",
        "##..........",
        "............",
        "............",
        "............",
        "............",
        "#...........",
        ".#..........",
        "###.........",
    ])
}

fn packed(packing: Packing) -> Vec<u8> {
    pack(&sample(), &packing).expect("fits")
}

#[test]
fn rows_along_x() {
    let rows = [0x80, 0xC0, 0x80, 0, 0xC0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0x80, 0, 0x40, 0, 0xE0, 0];
    assert_eq!(packed(Packing::default()), rows);
    let lsb_first = packed(Packing { bits: BitOrder::LsbFirst, ..Packing::default() });
    assert_eq!(lsb_first[..6], [0x01, 0x03, 0x01, 0, 0x03, 0]);
    let inverted = packed(Packing { pixel_polarity: Bit::Zero, ..Packing::default() });
    // The last four bits of a row belong to no pixel and stay as the padding is.
    assert_eq!(inverted[..4], [0x7F, 0x30, 0x7F, 0xF0]);
    let padded = packed(Packing { padding: Bit::One, stride: Some(3), ..Packing::default() });
    assert_eq!(padded[..6], [0x80, 0xCF, 0xFF, 0x80, 0x0F, 0xFF]);
    assert_eq!(padded.len(), 30);
}

#[test]
fn columns_along_x() {
    let columns = packed(Packing { scan: Scan::Columns, ..Packing::default() });
    assert_eq!(columns[..10], [0x80, 0x80, 0xC0, 0, 0, 0, 0, 0x80, 0x40, 0xE0]);
    assert_eq!(columns[10..], [0xC0, 0, 0, 0, 0, 0, 0, 0, 0, 0]);
}

#[test]
fn rows_along_y() {
    let bands = packed(Packing { along: Axis::Y, ..Packing::default() });
    assert_eq!(bands[..12], [0xE1, 0x20, 0, 0, 0, 0, 0, 0, 0x80, 0x80, 0, 0]);
    assert_eq!(bands[12..], [0x40, 0xC0, 0x40, 0, 0, 0, 0, 0, 0, 0, 0, 0]);
    let lsb_first = packed(Packing { along: Axis::Y, bits: BitOrder::LsbFirst, ..Packing::default() });
    assert_eq!((lsb_first[0], lsb_first[12], lsb_first[13]), (0x87, 0x02, 0x03));
    let padded = packed(Packing { along: Axis::Y, padding: Bit::One, stride: Some(14), ..Packing::default() });
    assert_eq!((padded[12], padded[13], padded[14], padded[28 - 1]), (0xFF, 0xFF, 0x7F, 0xFF));
}

#[test]
fn columns_along_y() {
    let columns = packed(Packing { scan: Scan::Columns, along: Axis::Y, ..Packing::default() });
    assert_eq!(columns[..6], [0xE1, 0x40, 0x20, 0xC0, 0, 0x40]);
    assert_eq!(columns.len(), 24);
}

#[test]
fn turned_then_packed() {
    let frame = Frame::from_pattern(&["##......", "#......."]);
    let bytes = |rotation, mirror| pack(&frame, &Packing { rotation, mirror, ..Packing::default() }).expect("fits");
    assert_eq!(bytes(Rotation::None, true), [0x03, 0x01]);
    assert_eq!(bytes(Rotation::Half, false), [0x01, 0x03]);
    assert_eq!(bytes(Rotation::Quarter, false), [0xC0, 0x40, 0, 0, 0, 0, 0, 0]);
    assert_eq!(bytes(Rotation::ThreeQuarter, false), [0, 0, 0, 0, 0, 0, 0x80, 0xC0]);
    // Mirrored first, then turned: the pair of pixels of the first row ends up below.
    assert_eq!(bytes(Rotation::Quarter, true), [0, 0, 0, 0, 0, 0, 0x40, 0xC0]);
}

#[test]
fn all_gives_every_order_once() {
    let mut frame = Frame::new(16, 24);
    for (x, y) in [(0, 0), (1, 0), (0, 2), (9, 3), (5, 17), (15, 20)] {
        frame.set(x, y, true);
    }
    let bytes = |packing: &Packing| pack(&frame, packing).expect("fits");
    let streams: HashSet<Vec<u8>> = Packing::all().iter().map(bytes).collect();
    assert_eq!((Packing::all().len(), streams.len()), (64, 64));
    assert_eq!(Packing::all().first(), Some(&Packing::default()));
    // Of two descriptions the simpler is given.
    let names = |packing: Packing| Packing::all().contains(&packing);
    assert!(names(Packing { mirror: true, ..Packing::default() }));
    assert!(names(Packing { scan: Scan::Columns, along: Axis::Y, ..Packing::default() }));
    assert!(names(Packing { scan: Scan::Columns, rotation: Rotation::Half, ..Packing::default() }));
    // Mirrored and turned by 270 degrees is transposed, which columns along y already say.
    assert!(!names(Packing { mirror: true, rotation: Rotation::ThreeQuarter, ..Packing::default() }));
    for rotation in Rotation::ALL {
        for (scan, along) in
            [(Scan::Rows, Axis::X), (Scan::Rows, Axis::Y), (Scan::Columns, Axis::X), (Scan::Columns, Axis::Y)]
        {
            let mirrored = Packing { scan, along, rotation, mirror: true, ..Packing::default() };
            assert!(streams.contains(&bytes(&mirrored)), "{mirrored:?}");
        }
    }
}

#[test]
fn what_cannot_be_packed_is_refused() {
    let frame = Frame::new(17, 2);
    let short = Packing { stride: Some(2), ..Packing::default() };
    assert_eq!(pack(&frame, &short), Err(PackFault::StrideTooShort { stride: 2, needed: 3 }));
    let endless = Packing { stride: Some(u32::MAX), ..Packing::default() };
    assert_eq!(pack(&frame, &endless), Err(PackFault::TooLarge));
    assert_eq!(Packing::default().size(u32::MAX, u32::MAX), Err(PackFault::TooLarge));
    let wrong = unpack(&[0; 5], 17, 2, &Packing::default());
    assert_eq!(wrong, Err(PackFault::WrongLength { expected: 6, found: 5 }));
    assert_eq!(pack(&Frame::new(0, 5), &Packing { stride: Some(2), ..Packing::default() }), Ok(vec![0; 10]));
    assert_eq!(Packing::default().place(17, 0, 17, 2), None);
}

#[test]
fn the_text_form() {
    let text = "scan = \"columns\"\nalong = \"y\"\nbits = \"lsb-first\"\npixel-polarity = 0\nstride = 40\npadding = 1\nrotation = 270\nmirror = true\nplanes = \"new-old\"\ninterleave = \"bytes\"\norigin = \"bottom-right\"\norigin-at = [8, 1]\n";
    let packing: Packing = toml::from_str(text).expect("all keys are known");
    let expected = Packing {
        scan: Scan::Columns,
        along: Axis::Y,
        bits: BitOrder::LsbFirst,
        pixel_polarity: Bit::Zero,
        stride: Some(40),
        padding: Bit::One,
        rotation: Rotation::ThreeQuarter,
        mirror: true,
        planes: Planes::NewOld,
        interleave: Interleave::Bytes,
        origin: Corner::BottomRight,
        origin_at: [8, 1],
    };
    assert_eq!(packing, expected);
    assert_eq!(toml::to_string(&packing).expect("plain values"), text);
    assert_eq!(toml::from_str::<Packing>(""), Ok(Packing::default()));
    let message = |text: &str| toml::from_str::<Packing>(text).expect_err("wrong").message().to_owned();
    assert_eq!(message("rotation = 45"), "expected a rotation of 0, 90, 180 or 270 degrees, found 45");
    assert_eq!(message("pixel-polarity = 2"), "expected a bit, 0 or 1, found 2");
    assert!(message("colour = 1").contains("unknown field `colour`"));
}

#[test]
fn the_schema_lists_keys_and_values() {
    let schema = serde_json::to_value(schemars::schema_for!(Packing)).expect("a schema is JSON");
    let keys: Vec<&String> = schema["properties"].as_object().expect("an object").keys().collect();
    let mut sorted: Vec<&str> = keys.into_iter().map(String::as_str).collect();
    sorted.sort_unstable();
    assert_eq!(
        sorted,
        [
            "along",
            "bits",
            "interleave",
            "mirror",
            "origin",
            "origin-at",
            "padding",
            "pixel-polarity",
            "planes",
            "rotation",
            "scan",
            "stride"
        ]
    );
    assert_eq!(schema["additionalProperties"], false);
    assert_eq!(schema["$defs"]["Rotation"]["enum"], serde_json::json!([0, 90, 180, 270]));
    assert_eq!(schema["$defs"]["Bit"]["enum"], serde_json::json!([0, 1]));
}

fn frame() -> impl Strategy<Value = Frame> {
    (1..90u32, 1..90u32).prop_flat_map(|(width, height)| {
        vec(any::<bool>(), (width * height) as usize).prop_map(move |bits| {
            let mut frame = Frame::new(width, height);
            for (index, ink) in (0..).zip(bits) {
                frame.set(index % width, index / width, ink);
            }
            frame
        })
    })
}

/// Every description, also those that `Packing::all` leaves out, with `extra` bytes of stride and the padding given.
fn every(frame: &Frame, extra: Option<u32>, padding: Bit) -> Vec<Packing> {
    let mut every = vec![Packing { padding, ..Packing::default() }];
    let mut double = |change: &dyn Fn(&mut Packing)| {
        let mut changed = every.clone();
        changed.iter_mut().for_each(change);
        every.extend(changed);
    };
    double(&|packing| packing.scan = Scan::Columns);
    double(&|packing| packing.along = Axis::Y);
    double(&|packing| packing.bits = BitOrder::LsbFirst);
    double(&|packing| packing.pixel_polarity = Bit::Zero);
    double(&|packing| packing.mirror = true);
    double(&|packing| packing.rotation = Rotation::Half);
    double(&|packing| {
        packing.rotation = if packing.rotation == Rotation::Half { Rotation::ThreeQuarter } else { Rotation::Quarter }
    });
    assert_eq!(every.iter().collect::<HashSet<_>>().len(), 128);
    for packing in &mut every {
        packing.stride = extra.map(|extra| line_bytes(frame, packing) + extra);
    }
    every
}

/// Bytes of one line without stride, counted from the definition.
fn line_bytes(frame: &Frame, packing: &Packing) -> u32 {
    let turned = frame.rotated(packing.rotation);
    match (packing.scan, packing.along) {
        (Scan::Rows, Axis::X) => turned.width().div_ceil(8),
        (Scan::Rows, Axis::Y) => turned.width(),
        (Scan::Columns, Axis::X) => turned.height(),
        (Scan::Columns, Axis::Y) => turned.height().div_ceil(8),
    }
}

/// The definition of a packing followed pixel by pixel.
fn naive(frame: &Frame, packing: &Packing) -> Vec<u8> {
    let seen = if packing.mirror { frame.mirrored() } else { frame.clone() };
    let picture = seen.rotated(packing.rotation);
    let padding = packing.padding == Bit::One;
    let (columns, rows) = match packing.along {
        Axis::X => (picture.width().div_ceil(8), picture.height()),
        Axis::Y => (picture.width(), picture.height().div_ceil(8)),
    };
    let byte = |column: u32, row: u32| {
        (0..8).fold(0u8, |byte, place| {
            let (x, y) = match packing.along {
                Axis::X => (column * 8 + place, row),
                Axis::Y => (column, row * 8 + place),
            };
            let outside = x >= picture.width() || y >= picture.height();
            let ink = picture.ink(x, y) == (packing.pixel_polarity == Bit::One);
            let bit = if packing.bits == BitOrder::MsbFirst { 0x80 >> place } else { 1 << place };
            byte | if if outside { padding } else { ink } { bit } else { 0 }
        })
    };
    let (lines, line) = if packing.scan == Scan::Rows { (rows, columns) } else { (columns, rows) };
    let mut bytes = Vec::new();
    for outer in 0..lines {
        bytes.extend(
            (0..line).map(|inner| if packing.scan == Scan::Rows { byte(inner, outer) } else { byte(outer, inner) }),
        );
        let gap = packing.stride.map_or(0, |stride| stride - line);
        bytes.extend(std::iter::repeat_n(if padding { 0xFF } else { 0 }, gap as usize));
    }
    bytes
}

#[test]
fn places_are_where_pixels_are_packed() {
    let blank = Frame::new(11, 19);
    for packing in every(&blank, Some(2), Bit::Zero) {
        let empty = pack(&blank, &packing).expect("fits");
        for (x, y) in (0..19).flat_map(|y| (0..11).map(move |x| (x, y))) {
            let mut frame = blank.clone();
            frame.set(x, y, true);
            let (byte, mask) = packing.place(x, y, 11, 19).expect("inside");
            let mut expected = empty.clone();
            expected[byte] ^= mask;
            assert_eq!(pack(&frame, &packing).expect("fits"), expected, "{packing:?} {x} {y}");
        }
    }
}

/// Every arrangement of two planes.
fn two_planes(one: &Packing) -> impl Iterator<Item = Packing> {
    let orders = [Planes::OldNew, Planes::NewOld].into_iter();
    let ways = orders.flat_map(|planes| Interleave::ALL.map(|interleave| (planes, interleave)));
    ways.map(|(planes, interleave)| Packing { planes, interleave, ..one.clone() })
}

/// Two planes followed byte by byte from the definition.
fn naive_pair(before: &[u8], now: &[u8], stride: usize, packing: &Packing) -> Vec<u8> {
    let (first, second) = if packing.planes == Planes::OldNew { (before, now) } else { (now, before) };
    let mut bytes = Vec::new();
    match packing.interleave {
        Interleave::Planes => bytes.extend(first.iter().chain(second)),
        Interleave::Lines => (0..first.len() / stride).for_each(|line| {
            bytes.extend(&first[line * stride..(line + 1) * stride]);
            bytes.extend(&second[line * stride..(line + 1) * stride]);
        }),
        Interleave::Bytes => (0..first.len()).for_each(|at| bytes.extend([first[at], second[at]])),
    }
    bytes
}

#[test]
fn places_in_two_planes_are_those_of_the_picture_now() {
    let blank = Frame::new(11, 19);
    for one in every(&blank, Some(1), Bit::One).iter().step_by(9) {
        for packing in two_planes(one) {
            let empty = pack(&blank, &packing).expect("fits");
            for (x, y) in [(0, 0), (10, 18), (3, 7), (8, 1)] {
                let mut frame = blank.clone();
                frame.set(x, y, true);
                let (byte, mask) = packing.place(x, y, 11, 19).expect("inside");
                let mut expected = empty.clone();
                expected[byte] ^= mask;
                assert_eq!(pack(&frame, &packing).expect("fits"), expected, "{packing:?} {x} {y}");
            }
        }
    }
}

#[test]
fn two_pictures_of_different_sizes_are_refused() {
    let packing = Packing { planes: Planes::OldNew, ..Packing::default() };
    let answer = pack_pair(&Frame::new(8, 3), &Frame::new(8, 4), &packing);
    assert_eq!(answer, Err(PackFault::WrongLength { expected: 4, found: 3 }));
    assert_eq!(pack_pair(&Frame::new(8, 3), &Frame::new(8, 4), &Packing::default()), Ok(vec![0; 4]));
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 60, ..ProptestConfig::default() })]

    #[test]
    fn two_planes_there_and_back(frame in frame(), extra in prop::option::of(0..5u32), padding: bool) {
        let (width, height) = (frame.width(), frame.height());
        let before = frame.mirrored();
        for one in every(&frame, extra, Bit::from(padding)) {
            let (old, new) = (naive(&before, &one), naive(&frame, &one));
            let stride = one.stride_of(width, height).expect("fits") as usize;
            for packing in two_planes(&one) {
                let bytes = pack_pair(&before, &frame, &packing).expect("fits");
                prop_assert_eq!(&bytes, &naive_pair(&old, &new, stride, &packing), "{:?}", packing);
                prop_assert_eq!(packing.size(width, height), Ok(bytes.len()));
                let read = unpack_pair(&bytes, width, height, &packing);
                prop_assert_eq!(read, Ok((Some(before.clone()), frame.clone())));
                let alone = pack(&frame, &packing).expect("fits");
                prop_assert_eq!(unpack(&alone, width, height, &packing), Ok(frame.clone()));
            }
        }
    }

    #[test]
    fn there_and_back(frame in frame(), extra in prop::option::of(0..5u32), padding: bool, noise in any::<prop::sample::Index>()) {
        let (width, height) = (frame.width(), frame.height());
        for packing in every(&frame, extra, Bit::from(padding)) {
            let mut bytes = pack(&frame, &packing).expect("fits");
            prop_assert_eq!(&bytes, &naive(&frame, &packing), "{:?}", packing);
            prop_assert_eq!(packing.size(width, height), Ok(bytes.len()));
            let read = unpack(&bytes, width, height, &packing);
            prop_assert_eq!(read.as_ref(), Ok(&frame));
            // One bit changed in the bytes changes the pixel that claims it, or is padding.
            let bit = noise.index(bytes.len() * 8);
            bytes[bit / 8] ^= 1 << (bit % 8);
            let read = unpack(&bytes, width, height, &packing).expect("same length");
            let changed = frame.difference(&read).expect("same size").ink_bounds();
            if let Some(pixel) = changed {
                let (x, y) = (pixel.top_left.x as u32, pixel.top_left.y as u32);
                prop_assert_eq!(packing.place(x, y, width, height), Some((bit / 8, 1 << (bit % 8))));
            }
        }
    }
}
