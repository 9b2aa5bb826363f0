//! The cheapest update windows, against pictures, hand-worked costs and every cover there is on small grids.

use crate::plain::{BASE, load};
use inkjoule::frame::Frame;
use inkjoule::refresh::update::upright;
use inkjoule::refresh::windows::{Cover, Window, WindowCost, WindowFault, WindowSearch};
use inkjoule::units::Joules;
use proptest::prelude::*;

/// A search for a single update.
fn cheapest_windows(
    changed: &[u8],
    stride: usize,
    cost: &WindowCost<Joules>,
    max_windows: usize,
) -> Result<Cover<Joules>, WindowFault> {
    WindowSearch::default().cheapest(changed, stride, cost, max_windows)
}

/// Reads a picture of changed bytes, one character a byte, `.` unchanged.
fn picture(lines: &[&str]) -> (Vec<u8>, usize) {
    let bytes = lines.iter().flat_map(|line| line.bytes().map(|c| if c == b'.' { 0 } else { 0x10 })).collect();
    (bytes, lines[0].len())
}

fn price(per_window: f64, per_byte: f64, per_line: f64) -> WindowCost<Joules> {
    WindowCost { per_window: Joules(per_window), per_byte: Joules(per_byte), per_line: Joules(per_line) }
}

fn cheapest(lines: &[&str], price: &WindowCost<Joules>, max: usize) -> Cover<Joules> {
    let (changed, stride) = picture(lines);
    cheapest_windows(&changed, stride, price, max).unwrap()
}

fn cells(x: u32, y: u32, w: u32, h: u32) -> Window {
    Window { x: x * 8, y, w: w * 8, h }
}

/// Changed bytes that no window covers.
fn missed(changed: &[u8], stride: usize, windows: &[Window]) -> usize {
    let inside = |x: u32, y: u32| {
        windows.iter().any(|w| (w.x / 8..(w.x + w.w) / 8).contains(&x) && (w.y..w.y + w.h).contains(&y))
    };
    (0..changed.len()).filter(|at| changed[*at] != 0 && !inside((at % stride) as u32, (at / stride) as u32)).count()
}

/// The cost of the one window around all changed bytes, found without the search; zero if nothing changed.
fn bounding_cost(changed: &[u8], stride: usize, price: &WindowCost<Joules>) -> f64 {
    let at = |at: &usize| changed[*at] != 0;
    let xs = || (0..changed.len()).filter(at).map(|at| (at % stride) as u32);
    let ys = || (0..changed.len()).filter(at).map(|at| (at / stride) as u32);
    let (Some(left), Some(right), Some(top), Some(bottom)) = (xs().min(), xs().max(), ys().min(), ys().max()) else {
        return 0.0;
    };
    price.of(&cells(left, top, right + 1 - left, bottom + 1 - top)).0
}

#[test]
fn nothing_changed_sends_nothing() {
    let cover = cheapest(&["....", "...."], &price(1., 1., 1.), 3);
    assert_eq!((cover.windows.len(), cover.cost, cover.exact), (0, Joules(0.0), true));
    assert!(cheapest_windows(&[], 0, &price(1., 1., 1.), 3).unwrap().windows.is_empty());
}

#[test]
fn two_groups_are_split_when_the_gap_costs_more_than_a_window() {
    let digits = ["##......", "##....##", "......##"];
    // One window: 7 + 3 * 8 = 31. Two: 2 * 7 + 4 + 4 = 22. With 20 a window the one (44) beats the two (48).
    let two = cheapest(&digits, &price(7., 1., 0.), 4);
    assert_eq!(two.windows, [cells(0, 0, 2, 2), cells(6, 1, 2, 2)]);
    assert_eq!((two.cost, two.exact), (Joules(22.0), true));
    let one = cheapest(&digits, &price(20., 1., 0.), 4);
    assert_eq!((one.windows, one.cost), (vec![cells(0, 0, 8, 3)], Joules(44.0)));
    // A line driven twice is paid twice: with 12 a line the two cost 22 + 4 * 12 = 70, the one 31 + 3 * 12 = 67.
    assert_eq!(cheapest(&digits, &price(7., 1., 12.), 4).cost, Joules(67.0));
}

#[test]
fn a_cross_is_sent_as_two_overlapping_windows() {
    let cross = ["...#...", "...#...", "...#...", "#######", "...#...", "...#...", "...#..."];
    // 2 * 2 + 7 + 7; without overlap the same cells need three windows, 3 * 2 + 13.
    let cover = cheapest(&cross, &price(2., 1., 0.), 3);
    assert_eq!(cover.cost, Joules(18.0));
    assert_eq!(cover.windows, [cells(3, 0, 1, 7), cells(0, 3, 7, 1)]);
}

#[test]
fn a_frame_is_left_hollow_by_four_windows_only() {
    let frame = ["######", "#....#", "#....#", "#....#", "######"];
    let three = cheapest(&frame, &price(1., 1., 0.), 3);
    assert_eq!((three.windows.len(), three.cost), (1, Joules(31.0)));
    // 4 windows, 18 changed bytes.
    let four = cheapest(&frame, &price(1., 1., 0.), 4);
    assert_eq!((four.windows.len(), four.cost, four.exact), (4, Joules(22.0), true));
}

#[test]
fn nonsense_is_refused() {
    assert_eq!(cheapest_windows(&[1, 2, 3], 2, &price(1., 1., 1.), 1), Err(WindowFault::Shape));
    assert_eq!(cheapest_windows(&[1], 0, &price(1., 1., 1.), 1), Err(WindowFault::Shape));
    assert_eq!(cheapest_windows(&[1], 1, &price(1., f64::NAN, 1.), 1), Err(WindowFault::Cost));
    assert_eq!(cheapest_windows(&[1], 1, &price(1., 1., -1.), 1), Err(WindowFault::Cost));
    assert_eq!(cheapest_windows(&[1], 1, &price(1., 1., 1.), 0).unwrap().windows, [cells(0, 0, 1, 1)]);
}

/// Least cost over every cover with up to `left` windows: some window must cover the first uncovered cell, and every
/// window that does is tried, tight or not.
fn every_cover(uncovered: u64, stride: usize, height: usize, price: &WindowCost<Joules>, left: usize) -> f64 {
    if uncovered == 0 {
        return 0.0;
    }
    if left == 0 {
        return f64::INFINITY;
    }
    let first = uncovered.trailing_zeros() as usize;
    let (x, y) = (first % stride, first / stride);
    let mut best = f64::INFINITY;
    for (top, bottom) in (0..=y).flat_map(|top| (y..height).map(move |bottom| (top, bottom))) {
        for (from, to) in (0..=x).flat_map(|from| (x..stride).map(move |to| (from, to))) {
            let line = ((1u64 << (to + 1 - from)) - 1) << from;
            let window = (top..=bottom).fold(0, |all, y| all | line << (y * stride));
            let (lines, bytes) = ((bottom + 1 - top) as f64, window.count_ones() as f64);
            let cost = price.per_window.0 + price.per_byte.0 * bytes + price.per_line.0 * lines;
            if cost < best {
                best = best.min(cost + every_cover(uncovered & !window, stride, height, price, left - 1));
            }
        }
    }
    best
}

prop_compose! {
    fn small(side: usize)(stride in 1..=side, height in 1..=side, share in 1..10u8)(
        changed in proptest::collection::vec((0..10u8).prop_map(move |dice| if dice < share { 1 + dice } else { 0 }),
            stride * height),
        stride in Just(stride), height in Just(height),
        window in 0..12u32, byte in 0..4u32, line in 0..4u32,
    ) -> (Vec<u8>, usize, usize, WindowCost<Joules>) {
        (changed, stride, height, price(f64::from(window), f64::from(byte), f64::from(line)))
    }
}

fn bits(changed: &[u8]) -> u64 {
    changed.iter().enumerate().filter(|(_, byte)| **byte != 0).map(|(at, _)| 1 << at).sum()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn equals_every_cover_with_up_to_three_windows((changed, stride, height, price) in small(6), max in 1..=3usize) {
        let cover = cheapest_windows(&changed, stride, &price, max).unwrap();
        prop_assert!(cover.exact && cover.windows.len() <= max);
        prop_assert_eq!(missed(&changed, stride, &cover.windows), 0);
        prop_assert_eq!(cover.cost.0, every_cover(bits(&changed), stride, height, &price, max));
        prop_assert_eq!(cover.cost.0, cover.windows.iter().map(|window| price.of(window).0).sum::<f64>());
    }

    #[test]
    fn equals_every_cover_with_up_to_five_windows((changed, stride, height, price) in small(4), max in 4..=5usize) {
        let cover = cheapest_windows(&changed, stride, &price, max).unwrap();
        prop_assert!(cover.exact && cover.windows.len() <= max);
        prop_assert_eq!(cover.cost.0, every_cover(bits(&changed), stride, height, &price, max));
    }

    /// Repeated lines and columns change only what each cell weighs.
    #[test]
    fn wide_cells_equal_every_cover((small, stride, height, price) in small(5), wide in 1..4usize, high in 1..4usize) {
        let mut changed = Vec::new();
        for line in small.chunks(stride) {
            let line: Vec<u8> = line.iter().flat_map(|byte| std::iter::repeat_n(*byte, wide)).collect();
            (0..high).for_each(|_| changed.extend(&line));
        }
        let cover = cheapest_windows(&changed, stride * wide, &price, 3).unwrap();
        let scaled = WindowCost {
            per_byte: Joules(price.per_byte.0 * (wide * high) as f64),
            per_line: Joules(price.per_line.0 * high as f64), ..price
        };
        prop_assert_eq!(cover.cost.0, every_cover(bits(&small), stride, height, &scaled, 3));
    }

    /// One change more never makes the update cheaper, on screens of a real size too.
    #[test]
    fn more_changes_never_cost_less(
        blocks in proptest::collection::vec((0..16usize, 0..100usize, 1..5usize, 1..30usize), 1..6),
        more in (0..16usize, 0..100usize), window in 0..60u32, line in 0..3u32,
    ) {
        let mut changed = vec![0; 16 * 100];
        for (x, y, w, h) in blocks {
            for y in y..(y + h).min(100) {
                changed[y * 16 + x..y * 16 + (x + w).min(16)].fill(0xff);
            }
        }
        let price = price(f64::from(window), 1.0, f64::from(line));
        let mut search = WindowSearch::with_effort(u64::MAX);
        let before = search.cheapest(&changed, 16, &price, 3).unwrap();
        changed[more.1 * 16 + more.0] = 1;
        let after = search.cheapest(&changed, 16, &price, 3).unwrap();
        prop_assert!(before.exact && after.exact);
        prop_assert!(before.cost.0 <= after.cost.0);
    }

    /// Noise and wide panels, where the search may give up: still a cover, still no dearer than one window.
    #[test]
    fn always_a_cover_and_never_dearer_than_the_bounding_window(
        stride in 1..300usize, height in 1..60usize, margin in 0..20usize, share in 1..200u64, seed: u64, max in 0..20usize,
        window in 0..40u32, line in 0..3u32, effort in 0..20_000u64,
    ) {
        let mut state = seed;
        let mut dice = || { state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1); state >> 33 };
        let inside = |at: usize| (margin..stride.saturating_sub(margin / 2)).contains(&(at % stride));
        let changed: Vec<u8> =
            (0..stride * height).map(|at| u8::from(dice() % 200 < share && inside(at))).collect();
        let price = price(f64::from(window), 1.0, f64::from(line));
        let cover = WindowSearch::with_effort(effort).cheapest(&changed, stride, &price, max).unwrap();
        prop_assert_eq!(missed(&changed, stride, &cover.windows), 0);
        prop_assert!(cover.windows.len() <= max.max(1));
        let bounding = bounding_cost(&changed, stride, &price);
        prop_assert!(cover.cost.0 <= bounding);
        let one = cheapest_windows(&changed, stride, &price, 1).unwrap();
        prop_assert!(one.exact && one.cost.0 == bounding);
    }
}

/// A window of the controller in the upright picture holds the pixels that the window drives, however the panel is
/// mounted, and no others: those that it drives are set one by one on the controller's frame, which is turned upright.
#[test]
fn a_window_stands_upright_where_its_pixels_are() {
    for (mounted, mirrored) in [0, 90, 180, 270].into_iter().flat_map(|mounted| [(mounted, false), (mounted, true)]) {
        let text = BASE
            .replace("pixels = [128, 64]", &format!("pixels = [24, 10]\nmounted = {mounted}\nmirrored = {mirrored}"));
        let text = text.replace("[\"29 mm\", \"14.5 mm\"]", "[\"24 mm\", \"10 mm\"]");
        let keys = "keys = [ { centre = \"5 mm\", width = \"8 mm\" }, { centre = \"20 mm\", width = \"8 mm\" } ]\n";
        let text = text.replace(keys, "")
            + "[usage]\nhome = \"a\"\nstart = \"2031-01-01\"\ndays = 1\ntemperature = { low = \"20 °C\", high = \"20 °C\", warmest = \"12:00\" }\n";
        let device = load(text, &[("a", "content = []")]).unwrap_or_else(|said| panic!("{said}"));
        let native = device.panel.native;
        assert_eq!((native.width, native.height), (24, 10));
        for (x, y, w, h) in [(0, 0, 8, 1), (8, 3, 8, 4), (16, 0, 8, 10), (0, 9, 24, 1), (0, 0, 24, 10), (16, 8, 16, 9)]
        {
            let mut driven = Frame::new(24, 10);
            for (at_x, at_y) in (y..(y + h).min(10)).flat_map(|at_y| (x..(x + w).min(24)).map(move |at_x| (at_x, at_y)))
            {
                driven.set(at_x, at_y, true);
            }
            let expected = driven.turned(device.panel.turn().inverse()).ink_bounds();
            let found = upright(&device, &Window { x, y, w, h });
            assert_eq!(Some(found), expected, "{x} {y} {w} {h} mounted at {mounted}, mirrored: {mirrored}");
        }
    }
}
