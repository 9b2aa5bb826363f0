//! Every kind of element in every state, in its place and in random ones, is drawn alike in C and here.

use crate::firmware::drawn::compare;
use crate::firmware::order;
use crate::sheet::Sheet;
use inkjoule::export::Order;
use inkjoule::firmware::drawing::Drawing;
use inkjoule::frame::{Axis, BitOrder, Packing, Rotation};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use std::path::PathBuf;
use toml::{Table, Value};

/// The golden sheets, with their names.
pub(crate) fn sheets() -> Vec<(String, String)> {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/golden/elements");
    let entries = std::fs::read_dir(folder).expect("the folder is there");
    let mut files: Vec<PathBuf> = entries.map(|entry| entry.expect("readable").path()).collect();
    files.retain(|path| path.extension().is_some_and(|ending| ending == "toml"));
    files.sort();
    let name = |path: &PathBuf| path.file_stem().expect("a name").to_string_lossy().into_owned();
    files.iter().map(|path| (name(path), std::fs::read_to_string(path).expect("readable"))).collect()
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

/// All elements of a sheet in random places, some of them partly off the screen.
fn scattered(text: &str, random: &mut ChaCha8Rng) -> String {
    let mut sheet: Table = text.parse().expect("the sheet is sound");
    let screen = sheet.get_mut("screen").and_then(Value::as_table_mut).expect("a screen");
    let mut found = Vec::new();
    leaves(screen["content"].as_array().expect("content"), &mut found);
    let mut content = Vec::new();
    for _ in 0..12 {
        for leaf in &found {
            let mut leaf = leaf.clone();
            let mut pair =
                |low: i64, high: i64| Value::Array((0..2).map(|_| random.random_range(low..high).into()).collect());
            leaf.insert("at".into(), pair(-20, 90));
            leaf.insert("size".into(), pair(1, 110));
            content.push(Value::Table(leaf));
        }
    }
    screen.insert("content".into(), Value::Array(content));
    sheet.to_string()
}

#[test]
fn every_golden_sheet_is_drawn_alike() {
    for (index, (name, text)) in sheets().into_iter().enumerate() {
        println!("{name}");
        let sheet = Sheet::new(&text);
        compare(&order(&sheet.device), 60, index as u64);
    }
}

#[test]
fn elements_in_random_places_are_drawn_alike() {
    let mut random = ChaCha8Rng::seed_from_u64(31);
    let packings = [
        Packing::default(),
        Packing { rotation: Rotation::Quarter, ..Packing::default() },
        Packing { along: Axis::Y, bits: BitOrder::LsbFirst, ..Packing::default() },
    ];
    for (index, (name, text)) in sheets().into_iter().enumerate() {
        println!("{name}");
        let sheet = Sheet::new(&scattered(&text, &mut random));
        let own = Drawing::of(&order(&sheet.device)).expect("tables").own;
        assert_eq!(own, [], "nothing is left to the firmware");
        let packing = packings[index % packings.len()].clone();
        compare(&Order { packing, ..order(&sheet.device) }, 40, index as u64);
    }
}
