//! Frames against a picture kept as one bool a pixel and worked on pixel by pixel.

use embedded_graphics::pixelcolor::BinaryColor;
use embedded_graphics::prelude::*;
use embedded_graphics::primitives::Rectangle;
use inkjoule::frame::{Frame, Paint, Rotation};
use proptest::collection::vec;
use proptest::prelude::*;

/// The naive picture.
#[derive(Clone)]
struct Model {
    width: i64,
    height: i64,
    ink: Vec<bool>,
}

impl Model {
    fn of(frame: &Frame) -> Self {
        let (width, height) = (i64::from(frame.width()), i64::from(frame.height()));
        let all = (0..frame.height()).flat_map(|y| (0..frame.width()).map(move |x| (x, y)));
        Self { width, height, ink: all.map(|(x, y)| frame.ink(x, y)).collect() }
    }

    fn at(&self, x: i64, y: i64) -> bool {
        (0..self.width).contains(&x) && (0..self.height).contains(&y) && self.ink[(y * self.width + x) as usize]
    }

    fn map(&self, pixel: impl Fn(i64, i64, bool) -> bool) -> Self {
        let all = (0..self.height).flat_map(|y| (0..self.width).map(move |x| (x, y)));
        Self { ink: all.map(|(x, y)| pixel(x, y, self.at(x, y))).collect(), ..*self }
    }

    fn places(&self) -> Vec<(i64, i64)> {
        let all = (0..self.height).flat_map(|y| (0..self.width).map(move |x| (x, y)));
        all.filter(|(x, y)| self.at(*x, *y)).collect()
    }

    /// Equal pixels, and padding bits all zero: a frame built pixel by pixel has the same words.
    #[track_caller]
    fn assert_equals(&self, frame: &Frame) {
        let mut expected = Frame::new(self.width as u32, self.height as u32);
        for (x, y) in self.places() {
            expected.set(x as u32, y as u32, true);
        }
        assert_eq!(&expected, frame);
        assert_eq!(expected.words(), frame.words());
    }
}

fn inside(area: &Rectangle, x: i64, y: i64) -> bool {
    let (left, top) = (i64::from(area.top_left.x), i64::from(area.top_left.y));
    (left..left + i64::from(area.size.width)).contains(&x) && (top..top + i64::from(area.size.height)).contains(&y)
}

fn bounds(places: &[(i64, i64)]) -> Option<Rectangle> {
    let left = places.iter().map(|place| place.0).min()?;
    let right = places.iter().map(|place| place.0).max()?;
    let top = places.iter().map(|place| place.1).min()?;
    let bottom = places.iter().map(|place| place.1).max()?;
    let size = Size::new((right - left + 1) as u32, (bottom - top + 1) as u32);
    Some(Rectangle::new(Point::new(left as i32, top as i32), size))
}

fn frame_of(width: u32, height: u32) -> impl Strategy<Value = Frame> {
    let bits = vec(prop_oneof![3 => Just(false), 1 => Just(true)], (width * height) as usize);
    bits.prop_map(move |bits| {
        let mut frame = Frame::new(width, height);
        for (index, ink) in (0..).zip(bits) {
            frame.set(index % width, index / width, ink);
        }
        frame
    })
}

fn frame() -> impl Strategy<Value = Frame> {
    let width = prop_oneof![1..200u32, Just(64), Just(128)];
    (width, 1..80u32).prop_flat_map(|(width, height)| frame_of(width, height))
}

fn two_of_one_size() -> impl Strategy<Value = (Frame, Frame)> {
    (1..150u32, 1..40u32).prop_flat_map(|(width, height)| (frame_of(width, height), frame_of(width, height)))
}

fn position() -> impl Strategy<Value = i32> {
    prop_oneof![8 => -100..220i32, 1 => any::<i32>(), 1 => Just(i32::MIN), 1 => Just(i32::MAX)]
}

fn length() -> impl Strategy<Value = u32> {
    prop_oneof![8 => 0..200u32, 1 => any::<u32>(), 1 => Just(u32::MAX)]
}

fn rectangle() -> impl Strategy<Value = Rectangle> {
    (position(), position(), length(), length())
        .prop_map(|(x, y, width, height)| Rectangle::new(Point::new(x, y), Size::new(width, height)))
}

/// A rectangle that begins near the corner of a frame and is likely to cover some of it.
fn near() -> impl Strategy<Value = Rectangle> {
    (-8..60i32, -8..30i32, 1..140u32, 1..60u32)
        .prop_map(|(x, y, width, height)| Rectangle::new(Point::new(x, y), Size::new(width, height)))
}

/// A rectangle small enough that all its pixels can be listed.
fn small_rectangle() -> impl Strategy<Value = Rectangle> {
    (-40..180i32, -30..60i32, 0..150u32, 0..40u32)
        .prop_map(|(x, y, width, height)| Rectangle::new(Point::new(x, y), Size::new(width, height)))
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, ..ProptestConfig::default() })]

    #[test]
    fn fills(mut frame in frame(), area in rectangle(), ink: bool, by_trait: bool) {
        let expected = Model::of(&frame).map(|x, y, old| if inside(&area, x, y) { ink } else { old });
        if by_trait {
            frame.fill_solid(&area, BinaryColor::from(ink)).expect("cannot fail");
        } else {
            frame.fill(area, ink);
        }
        expected.assert_equals(&frame);
    }

    #[test]
    fn inversions(mut frame in frame(), area in rectangle()) {
        let expected = Model::of(&frame).map(|x, y, old| old ^ inside(&area, x, y));
        frame.invert(area);
        expected.assert_equals(&frame);
    }

    #[test]
    fn clearing(mut frame in frame(), ink: bool) {
        let expected = Model::of(&frame).map(|_, _, _| ink);
        DrawTarget::clear(&mut frame, BinaryColor::from(ink)).expect("cannot fail");
        expected.assert_equals(&frame);
    }

    #[test]
    fn counts_and_bounds(frame in frame(), area in rectangle()) {
        let places = Model::of(&frame).places();
        prop_assert_eq!(frame.ink_count(), places.len() as u64);
        let counted = places.iter().filter(|(x, y)| inside(&area, *x, *y)).count();
        prop_assert_eq!(frame.ink_count_in(area), counted as u64);
        prop_assert_eq!(frame.ink_bounds(), bounds(&places));
    }

    #[test]
    fn contiguous_fills(mut frame in frame(), area in small_rectangle(), colors in vec(any::<bool>(), 0..6000)) {
        let (left, top, width) = (i64::from(area.top_left.x), i64::from(area.top_left.y), i64::from(area.size.width));
        let expected = Model::of(&frame).map(|x, y, old| {
            let color = || colors.get(((y - top) * width + x - left) as usize).copied();
            if inside(&area, x, y) { color().unwrap_or(old) } else { old }
        });
        frame.fill_contiguous(&area, colors.iter().map(|ink| BinaryColor::from(*ink))).expect("cannot fail");
        expected.assert_equals(&frame);
    }

    #[test]
    fn endless_colors_in_huge_areas(mut frame in frame(), area in rectangle(), ink: bool) {
        let expected = Model::of(&frame).map(|x, y, old| if inside(&area, x, y) { ink } else { old });
        frame.fill_contiguous(&area, std::iter::repeat(BinaryColor::from(ink))).expect("cannot fail");
        expected.assert_equals(&frame);
    }

    #[test]
    fn single_pixels(mut frame in frame(), points in vec((position(), position(), any::<bool>()), 0..40)) {
        let mut expected = Model::of(&frame);
        for (px, py, ink) in &points {
            expected = expected.map(|x, y, old| if (x, y) == (i64::from(*px), i64::from(*py)) { *ink } else { old });
        }
        let pixels = points.iter().map(|(x, y, ink)| Pixel(Point::new(*x, *y), BinaryColor::from(*ink)));
        frame.draw_iter(pixels).expect("cannot fail");
        expected.assert_equals(&frame);
    }

    #[test]
    fn blits(
        mut frame in frame(),
        source in frame(),
        part in prop_oneof![Just(None), near().prop_map(Some), rectangle().prop_map(Some)],
        at in prop_oneof![3 => (-60..100i32, -30..50i32), 1 => (position(), position())],
        clip in prop_oneof![
            Just(Rectangle::new(Point::zero(), Size::new(u32::MAX, u32::MAX))),
            near(),
            rectangle(),
        ],
        paint in prop::sample::select(vec![Paint::Ink, Paint::Paper, Paint::Opaque, Paint::Invert]),
    ) {
        let from = Model::of(&source);
        let taken = part.unwrap_or_else(|| Rectangle::new(Point::zero(), source.size()));
        let at = Point::new(at.0, at.1);
        let expected = Model::of(&frame).map(|x, y, old| {
            let sx = x - i64::from(at.x) + i64::from(taken.top_left.x);
            let sy = y - i64::from(at.y) + i64::from(taken.top_left.y);
            let in_source = (0..from.width).contains(&sx) && (0..from.height).contains(&sy);
            if !in_source || !inside(&taken, sx, sy) || !inside(&clip, x, y) {
                return old;
            }
            match (paint, from.at(sx, sy)) {
                (Paint::Ink, ink) => old | ink,
                (Paint::Paper, ink) => old & !ink,
                (Paint::Opaque, ink) => ink,
                (Paint::Invert, ink) => old ^ ink,
            }
        });
        match part {
            Some(part) => frame.blit_part(&source, part, at, clip, paint),
            None => frame.blit(&source, at, clip, paint),
        }
        expected.assert_equals(&frame);
    }

    #[test]
    fn differences((old, new) in two_of_one_size()) {
        let (a, b) = (Model::of(&old), Model::of(&new));
        let expected = a.map(|x, y, ink| ink != b.at(x, y));
        expected.assert_equals(&old.difference(&new).expect("same size"));
        let places = expected.places();
        prop_assert_eq!(old.changed_pixels(&new), Some(places.len() as u64));
        prop_assert_eq!(old.changed_bounds(&new), bounds(&places));
    }

    #[test]
    fn turns(frame in frame()) {
        let (w, h, model) = (i64::from(frame.width()), i64::from(frame.height()), Model::of(&frame));
        let turned = |width, height, from: &dyn Fn(i64, i64) -> (i64, i64)| {
            let blank = Model { width, height, ink: vec![false; (width * height) as usize] };
            blank.map(|x, y, _| model.at(from(x, y).0, from(x, y).1))
        };
        turned(w, h, &|x, y| (w - 1 - x, y)).assert_equals(&frame.mirrored());
        turned(w, h, &|x, y| (w - 1 - x, h - 1 - y)).assert_equals(&frame.rotated(Rotation::Half));
        turned(h, w, &|x, y| (y, h - 1 - x)).assert_equals(&frame.rotated(Rotation::Quarter));
        turned(h, w, &|x, y| (w - 1 - y, x)).assert_equals(&frame.rotated(Rotation::ThreeQuarter));
        for rotation in Rotation::ALL {
            prop_assert_eq!(&frame.rotated(rotation).rotated(rotation.inverse()), &frame);
        }
    }

    #[test]
    fn plain_rows(frame in frame()) {
        let read = Frame::from_rows_msb(frame.width(), frame.height(), &frame.to_rows_msb());
        prop_assert_eq!(read.as_ref(), Some(&frame));
        let text = frame.to_string();
        prop_assert_eq!(Frame::from_pattern(&text.lines().collect::<Vec<_>>()), frame);
    }
}
