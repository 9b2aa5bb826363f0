//! No element draws outside its area, whatever the area's size and place and whatever the values.

use crate::sheet::Sheet;
use embedded_graphics::prelude::Point;
use inkjoule::frame::Frame;
use inkjoule::screen::Item;
use inkjoule::screen::draw::draw;
use inkjoule::screen::values::Values;
use rand::{RngExt, SeedableRng};
use std::path::PathBuf;
use toml::{Table, Value};

/// Every golden sheet: between them they have every element in every state.
fn sheets() -> Vec<String> {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/golden/elements");
    let entries = std::fs::read_dir(folder).expect("the folder is there");
    let mut files: Vec<PathBuf> = entries.map(|entry| entry.expect("readable").path()).collect();
    files.retain(|path| path.extension().is_some_and(|ending| ending == "toml"));
    files.sort();
    files.iter().map(|path| std::fs::read_to_string(path).expect("readable")).collect()
}

/// The elements in a list of slots, groups opened, without the keys that place them.
fn leaves(slots: &[Value], found: &mut Vec<Table>) {
    for slot in slots.iter().filter_map(Value::as_table) {
        let mut slot = slot.clone();
        let group = ["stack", "row", "column", "grid"].iter().find_map(|flow| slot.get(*flow)?.as_array().cloned());
        for key in inkjoule::screen::place::PLACE_KEYS {
            slot.remove(key);
        }
        match group {
            Some(children) => leaves(&children, found),
            None => found.push(slot),
        }
    }
}

/// The sheet with each of its elements alone in each of some areas `[x, y, width, height]`.
fn placed(text: &str, areas: &[[i64; 4]]) -> Sheet {
    let mut sheet: Table = text.parse().expect("the sheet is sound");
    let screen = sheet.get_mut("screen").and_then(Value::as_table_mut).expect("a screen");
    let mut found = Vec::new();
    leaves(screen["content"].as_array().expect("content"), &mut found);
    let place = |leaf: &Table, [x, y, width, height]: [i64; 4]| {
        let mut leaf = leaf.clone();
        leaf.insert("at".into(), Value::Array(vec![x.into(), y.into()]));
        leaf.insert("size".into(), Value::Array(vec![width.into(), height.into()]));
        Value::Table(leaf)
    };
    let content = areas.iter().flat_map(|area| found.iter().map(|leaf| place(leaf, *area))).collect();
    screen.insert("content".into(), Value::Array(content));
    Sheet::new(&sheet.to_string())
}

/// Draws an element over ink or paper and finds a changed pixel outside its area.
fn escape(item: &Item, values: &Values, ground: bool) -> Option<Point> {
    let mut frame = Frame::new(96, 72);
    frame.clear(ground);
    draw(&item.operations, values, &mut frame);
    let all = (0..72).flat_map(|y| (0..96).map(move |x| (x, y)));
    let mut changed = all.filter(|(x, y)| frame.ink(*x, *y) != ground).map(|(x, y)| Point::new(x as i32, y as i32));
    changed.find(|point| !item.area.contains(*point) || !item.extent().contains(*point))
}

#[test]
fn elements_stay_inside() {
    let shares = [0.0, 0.3, 0.5, 1.0, -4.0, 7.0, f64::NAN, f64::INFINITY, f64::NEG_INFINITY, 1e300];
    let mut random = rand_chacha::ChaCha8Rng::seed_from_u64(29);
    let mut drawn = 0;
    for text in sheets() {
        let mut area = || {
            let corner = [random.random_range(-40..100), random.random_range(-40..80)];
            [corner[0], corner[1], random.random_range(0..120), random.random_range(0..90)]
        };
        let areas: Vec<[i64; 4]> = (0..80).map(|_| area()).collect();
        let sheet = placed(&text, &areas);
        for item in &sheet.device.screens[0].pictures[0] {
            let mut values = sheet.values.clone();
            let share = shares[random.random_range(0..shares.len())];
            for (now, field) in values.now.iter_mut().zip(&sheet.device.fields) {
                let [low, high] = field.range;
                *now = if (high - low).is_finite() { low + share * (high - low) } else { share * 1e5 };
            }
            let ground = random.random();
            assert_eq!(escape(item, &values, ground), None, "{:?} {:?} {share}", item.area, item.operations);
            // What checks ask must not fail either.
            let _ = (item.texts(), item.dithered());
            drawn += 1;
        }
    }
    assert!(drawn > 6_000, "{drawn}");
}

#[test]
fn areas_beyond_any_screen_cost_no_time() {
    let started = std::time::Instant::now();
    for text in sheets() {
        let sheet = placed(&text, &[[0, 0, 16_384, 16_384], [-16_000, -16_000, 16_384, 16_384]]);
        for item in &sheet.device.screens[0].pictures[0] {
            assert!(item.area.size.width > 8_000);
            draw(&item.operations, &sheet.values, &mut Frame::new(296, 128));
        }
    }
    assert!(started.elapsed().as_secs() < 60, "{:?}", started.elapsed());
}
