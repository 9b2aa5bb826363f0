//! No element draws outside its area, whatever the area's size and place and whatever the values.

use crate::sheet::Sheet;
use embedded_graphics::prelude::{Point, Size};
use embedded_graphics::primitives::Rectangle;
use inkjoule::frame::Frame;
use inkjoule::screen::Item;
use inkjoule::screen::values::Values;
use proptest::prelude::*;
use proptest::sample::{Index, select};
use std::sync::OnceLock;

/// Every golden sheet: between them they have every element in every state.
fn sheets() -> &'static [Sheet] {
    static SHEETS: OnceLock<Vec<Sheet>> = OnceLock::new();
    SHEETS.get_or_init(|| {
        let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/golden/elements");
        let entries = std::fs::read_dir(folder).expect("the folder is there");
        let mut files: Vec<_> = entries.map(|entry| entry.expect("readable").path()).collect();
        files.retain(|path| path.extension().is_some_and(|ending| ending == "toml"));
        files.sort();
        files.iter().map(|path| Sheet::new(&std::fs::read_to_string(path).expect("readable"))).collect()
    })
}

/// Draws an element over ink or paper and finds a changed pixel outside its area.
fn escape(item: &Item, area: Rectangle, values: &Values, ground: bool) -> Option<Point> {
    let mut frame = Frame::new(96, 72);
    frame.clear(ground);
    item.element.draw(area, values, &mut frame);
    let all = (0..72).flat_map(|y| (0..96).map(move |x| (x, y)));
    let mut changed = all.filter(|(x, y)| frame.ink(*x, *y) != ground).map(|(x, y)| Point::new(x as i32, y as i32));
    changed.find(|point| !area.contains(*point))
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 6_000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn elements_stay_inside(
        sheet in any::<Index>(), item in any::<Index>(), ground in any::<bool>(),
        x in -40i32..100, y in -40i32..80, width in 0u32..120, height in 0u32..90,
        share in select(vec![0.0, 0.3, 0.5, 1.0, -4.0, 7.0, f64::NAN, f64::INFINITY, f64::NEG_INFINITY, 1e300]),
    ) {
        let sheet = sheet.get(sheets());
        let items = &sheet.device.screens[0].pictures[0];
        prop_assume!(!items.is_empty());
        let mut values = sheet.values.clone();
        for (now, field) in values.now.iter_mut().zip(&sheet.device.fields) {
            let [low, high] = field.range;
            *now = if (high - low).is_finite() { low + share * (high - low) } else { share * 1e5 };
        }
        let area = Rectangle::new(Point::new(x, y), Size::new(width, height));
        let item = item.get(items);
        prop_assert_eq!(escape(item, area, &values, ground), None, "{:?}", item.element);
        // What checks ask must not fail either.
        let _ = (item.element.measure(Some(width)), item.element.texts(area), item.element.dithered(area));
    }
}

#[test]
fn areas_beyond_any_screen_cost_no_time() {
    let started = std::time::Instant::now();
    for sheet in sheets() {
        for item in &sheet.device.screens[0].pictures[0] {
            for corner in [0, -16_000] {
                let area = Rectangle::new(Point::new_equal(corner), Size::new_equal(16_384));
                let mut frame = Frame::new(296, 128);
                item.element.draw(area, &sheet.values, &mut frame);
            }
        }
    }
    assert!(started.elapsed().as_secs() < 20, "{:?}", started.elapsed());
}
