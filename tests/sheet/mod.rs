//! A screen of any size made of a few lines of TOML, drawn with given values: what the tests of elements share.
//!
//! ```toml
//! size = [40, 12]                     # pixels
//! fields.level = { range = [0, 10] }  # as in device.toml
//! fonts.big = { ... }                 # as in device.toml
//! panel-mirrored = true               # seen through a mirror
//! keys-at = "bottom"                  # the side of the soft keys
//! keys = ["5 mm", "15 mm"]            # centres of soft keys
//! display-keys = [{ ... }]              # in place of them: keys as in device.toml
//! now.level = 4                       # values of the moment; absent: the fields' samples
//! past.level = [1, nan, 3]            # histories, oldest first
//! screen.content = [ { ... } ]        # as in screens/*.toml
//! strings.en.word = "..."             # as in strings/*.toml
//! ```
#![allow(dead_code)] // Each test file uses a part of it.

use inkjoule::device::Device;
use inkjoule::frame::Frame;
use inkjoule::project::load_files;
use inkjoule::screen::ScreenId;
use inkjoule::screen::values::Values;
use inkjoule::source::fault::Fault;
use inkjoule::source::files::Files;
use std::io::Cursor;
use toml::{Table, Value};

/// A device with one screen, and the values of the moment.
pub struct Sheet {
    pub device: Device,
    pub values: Values,
    pub warnings: Vec<Fault>,
}

const BOARD: &str = r#"
name = "Sheet"
[board.mcu]
ram = "8 KiB"
flash = "64 KiB"
clock = "8 MHz"
active = "2 mA"
sleep = "1 uA"
wake = "1 ms"
cycles-per-pixel = 4.0
[board.bus]
clock = "4 MHz"
overhead = "10 %"
[board.rails.main]
regulator = "ldo"
output = "3 V"
dropout = "0.1 V"
[battery]
from = "lithium-ion-pouch"
[usage]
home = "one"
start = "2031-04-12"
temperature = { low = "10 °C", high = "20 °C", warmest = "15:00" }
"#;

impl Sheet {
    /// Reads a sheet.
    ///
    /// # Panics
    /// If it has faults; they are printed.
    pub fn new(text: &str) -> Self {
        match Self::read(text) {
            Ok(sheet) => sheet,
            Err(faults) => panic!("the sheet has faults: {faults:#?}\n{text}"),
        }
    }

    /// Reads a sheet, or says what is wrong with its project.
    pub fn read(text: &str) -> Result<Self, Vec<Fault>> {
        let mut sheet: Table = text.parse().unwrap_or_else(|why| panic!("{why}\n{text}"));
        let mut take = |key: &str| sheet.remove(key);
        let (now, past, strings) = (take("now"), take("past"), take("strings"));
        let screen = take("screen").unwrap_or(Value::Table(Table::new()));
        let size = take("size").unwrap_or_else(|| panic!("a sheet has a size"));
        let mut project: Table = BOARD.parse().expect("the board is sound");
        let mut panel = Table::new();
        panel.insert("from".into(), "mono-296x128".into());
        panel.insert("pixels".into(), size.clone());
        // One pixel is a quarter of a millimetre.
        let side = |index: usize| format!("{} mm", size[index].as_integer().unwrap_or(0) as f64 / 4.0);
        panel.insert("active".into(), Value::Array(vec![side(0).into(), side(1).into()]));
        if let Some(mirrored) = take("panel-mirrored") {
            panel.insert("mirrored".into(), mirrored);
        }
        project.insert("panel".into(), Value::Table(panel));
        let mut display = Table::new();
        display.insert("viewing-distance".into(), "400 mm".into());
        let key = |centre: &Value| {
            Value::Table(
                [("centre".to_owned(), centre.clone()), ("width".to_owned(), "7 mm".into())].into_iter().collect(),
            )
        };
        let keys = take("keys").and_then(|keys| keys.as_array().map(|keys| keys.iter().map(key).collect::<Vec<_>>()));
        let keys = Value::Array(keys.unwrap_or_default());
        display.insert("keys".into(), take("display-keys").unwrap_or(keys));
        if let Some(side) = take("keys-at") {
            display.insert("keys-at".into(), side);
        }
        project.insert("display".into(), Value::Table(display));
        // What is left is part of device.toml.
        project.extend(sheet);
        let mut files: Vec<(String, Vec<u8>)> = pictures();
        files.push(("device.toml".into(), project.to_string().into_bytes()));
        // A file of its own, not an inline table.
        let screen = screen.as_table().map(Table::to_string).unwrap_or_default();
        files.push(("screens/one.toml".into(), screen.into_bytes()));
        for (locale, table) in strings.as_ref().and_then(Value::as_table).into_iter().flatten() {
            let table = table.as_table().map(Table::to_string).unwrap_or_default();
            files.push((format!("strings/{locale}.toml"), table.into_bytes()));
        }
        let loaded = load_files(Files::from_memory(files)).map_err(|failed| failed.faults)?;
        let mut sheet = Self { values: loaded.device.sample(), device: loaded.device, warnings: loaded.warnings };
        for (field, value) in now.as_ref().and_then(Value::as_table).into_iter().flatten() {
            sheet.set(field, number(value));
        }
        for (field, list) in past.as_ref().and_then(Value::as_table).into_iter().flatten() {
            let list: Vec<f64> = list.as_array().into_iter().flatten().map(number).collect();
            sheet.past(field, &list);
        }
        Ok(sheet)
    }

    /// Sets a value of the moment, its history untouched.
    pub fn set(&mut self, field: &str, value: f64) -> &mut Self {
        let id = self.device.field(field).unwrap_or_else(|| panic!("no field {field}"));
        self.values.now[id.0] = value;
        self
    }

    /// Sets a history; places before its start are missing.
    pub fn past(&mut self, field: &str, values: &[f64]) -> &mut Self {
        let id = self.device.field(field).unwrap_or_else(|| panic!("no field {field}"));
        let past = &mut std::sync::Arc::make_mut(&mut self.values.past)[id.0];
        past.fill(f64::NAN);
        let start = past.len() - values.len();
        past[start..].copy_from_slice(values);
        self
    }

    /// The picture.
    pub fn draw(&self) -> Frame {
        self.device.draw(ScreenId(0), 0, &self.values)
    }
}

fn number(value: &Value) -> f64 {
    value.as_float().or(value.as_integer().map(|whole| whole as f64)).unwrap_or_else(|| panic!("{value} is no number"))
}

/// Pictures made for tests: a ramp from black to white, a shaded ball on transparent ground, two marks.
fn pictures() -> Vec<(String, Vec<u8>)> {
    let ramp = image::GrayImage::from_fn(64, 24, |x, _| image::Luma([(x * 255 / 63) as u8]));
    let ball = image::GrayAlphaImage::from_fn(40, 40, |x, y| {
        let (dx, dy) = (f64::from(x) - 19.5, f64::from(y) - 19.5);
        let lit = (f64::from(x) - 13.0).hypot(f64::from(y) - 12.0) / 34.0;
        image::LumaA([(255.0 * (1.0 - lit.min(1.0))) as u8, if dx.hypot(dy) < 19.0 { 255 } else { 0 }])
    });
    let mark = |rows: &[&str]| Frame::from_pattern(rows);
    let drop = mark(&[
        "...#...", "...#...", "..###..", "..#.#..", ".#...#.", ".#...#.", "#.....#", "#.....#", ".#...#.", "..###..",
    ]);
    let leaf =
        mark(&["......#", "...###.", ".##..#.", ".#..#..", "#..#.#.", "#.#..#.", "##..#..", "#.##...", "#......"]);
    let png = |name: &str, picture: image::DynamicImage| {
        let mut file = Cursor::new(Vec::new());
        picture.write_to(&mut file, image::ImageFormat::Png).expect("written to memory");
        (format!("icons/{name}.png"), file.into_inner())
    };
    let pbm = |name: &str, frame: &Frame| (format!("icons/{name}.pbm"), inkjoule::frame::files::pbm(frame));
    let svg = (String::from("icons/bell.svg"), BELL.as_bytes().to_vec());
    vec![png("ramp", ramp.into()), png("ball", ball.into()), pbm("drop", &drop), pbm("leaf", &leaf), svg]
}

/// A bell of a few shapes, drawn for these tests.
const BELL: &str = r##"<?xml version="1.0" encoding="UTF-8"?>
<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 24 24" width="24" height="24">
  <defs><g id="side"><path d="M12 3v15H4v-2l2-2v-5c0-3.3 2.7-6 6-6z"/></g></defs>
  <use href="#side"/><use href="#side" transform="matrix(-1 0 0 1 24 0)"/>
  <circle cx="12" cy="20" r="2.5"/>
  <path d="M9 8v5" fill="none" stroke="#fff" stroke-width="1.5" stroke-linecap="round"/>
</svg>
"##;
