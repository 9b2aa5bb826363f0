//! The crate of `rust-live` as firmware in Rust has it: several devices in one program, what its calls promise, and the
//! program of the guide.
//!
//! Not for what a design does: that is compared in `rust_live.rs` and `machine_scripts.rs`.

use super::rust_live::{Crate, orchard_crate, play, product_crate, rustc};
use crate::firmware::{order, starter};
use inkjoule::frame::pack::pack;
use inkjoule::guide::page;

/// Runs a program over a crate.
fn said(built: &Crate, program: &str) -> String {
    std::fs::write(built.path("program.rs"), program).expect("written");
    play(&built.program("program.rs", "program"), "").0
}

#[test]
fn two_devices_run_in_one_program() {
    assert_eq!(said(product_crate(), include_str!("../firmware/rust_devices.rs")), "done\n");
}

/// Where no field chooses the locale, the firmware does.
#[test]
fn the_firmware_chooses_a_locale_where_no_field_does() {
    let program = r#"
use screens_live::*;

fn first(locale: Locale, later: bool) -> Vec<u8> {
    let mut store = Store::new();
    let mut setup = Setup::new(&mut store).expect("sound tables");
    if !later {
        setup.set_locale(locale);
    }
    let mut device = setup.begin(Time::from_millis(0));
    if later {
        device.set_locale(locale);
    }
    assert_eq!(device.locale(), locale);
    let mut bytes = Vec::new();
    while let Task::Send(lines) = device.next(Time::from_millis(0), 200) {
        lines.rows().for_each(|row| bytes.extend_from_slice(row));
    }
    bytes
}

fn main() {
    let all: Vec<_> = Locale::ALL.iter().map(|locale| first(*locale, false)).collect();
    assert!(all.len() > 1 && all[0] != all[1]);
    for (locale, bytes) in Locale::ALL.iter().zip(&all) {
        assert!(first(*locale, true) == *bytes);
    }
    println!("done");
}
"#;
    assert_eq!(said(orchard_crate(), program), "done\n");
}

/// What the firmware of the guide must fill in, for a panel in memory: it prints what is sent, without what is not a byte.
const BOARD: &str = r#"
struct Memory {
    now: u64,
    readings: Vec<i32>,
    keys: Vec<(Key, bool)>,
    frame: Vec<u8>,
}

impl Board for Memory {
    fn now(&mut self) -> (Time, i16) {
        (Time::from_millis(self.now), 200)
    }
    fn key(&mut self) -> Option<(Key, bool)> {
        self.keys.pop()
    }
    fn reading(&mut self) -> Option<i32> {
        self.readings.pop()
    }
    fn send(&mut self, lines: &Lines<'_>) {
        for (line, row) in lines.rows().enumerate() {
            let start = (usize::from(lines.first_line) + line) * screens_live::STRIDE + usize::from(lines.first_byte);
            self.frame[start..start + row.len()].copy_from_slice(row);
        }
    }
    fn refresh(&mut self, _: Refresh) {
        let bytes: String = self.frame.iter().map(|byte| format!("{byte:02x}")).collect();
        println!("{bytes}");
    }
    fn is_ready(&mut self) -> bool {
        true
    }
    fn sleep(&mut self, until: Option<Time>) -> bool {
        self.now += 2_000;
        match self.now {
            36_002_000 => self.readings.push(1234),
            36_300_000 => self.keys.extend([(Key::K1, false), (Key::K1, true)]),
            _ => {}
        }
        until.is_some() && self.now < 36_303_000
    }
}

fn main() {
    let frame = vec![0; screens_live::LINES * screens_live::STRIDE];
    let mut memory = Memory { now: 36_000_000, readings: Vec::new(), keys: Vec::new(), frame };
    run(&mut memory, &mut Store::new()).expect("sound tables");
}
"#;

/// The program that the guide shows, over the project that its page is about, with a panel in memory: the first frame is
/// home without a reading, then home with one, then the screen of the first key.
#[test]
fn the_program_of_the_guide_runs() {
    let text = page("firmware").expect("the page").text;
    let program =
        text.split("```rust,ignore firmware.rs\n").nth(1).and_then(|rest| rest.split("```").next()).expect("a program");
    let device = starter();
    let told = said(&Crate::of(&order(&device)), &(program.to_owned() + BOARD));
    let frame = |screen: &str, level: f64, taken: f64| {
        let mut values = device.sample();
        values.now = vec![level, taken];
        let screen = device.screens.iter().position(|one| one.id == screen).expect("a screen");
        let frame = device.draw(inkjoule::screen::ScreenId(screen), 0, &values);
        let packed = pack(&frame, &device.panel.packing.plane()).expect("packed");
        packed.iter().map(|byte| format!("{byte:02x}")).collect::<String>() + "\n"
    };
    assert_eq!(device.fields.iter().map(|field| field.name.as_str()).collect::<Vec<_>>(), ["level", "taken"]);
    let expected = [frame("home", f64::NAN, f64::NAN), frame("home", 123.4, 36_002.0), frame("empty", 123.4, 36_002.0)];
    assert_eq!(told.lines().count(), 3);
    assert!(told == expected.concat(), "what is sent is not what is drawn");
}

/// What would be a mistake does not compile: keys before the begin, settings after it, a second device in one store.
#[test]
fn mistakes_of_order_do_not_compile() {
    let built = product_crate();
    let program =
        |lines: &str| format!("use screens_live::*;\nfn main() {{\n    let mut store = Store::new();\n{lines}}}\n");
    let begin = "    let mut device = Setup::new(&mut store).expect(\"sound\").begin(Time::from_millis(0));\n";
    let compiles = |lines: &str| {
        std::fs::write(built.path("mistake.rs"), program(lines)).expect("written");
        let library = format!("{0}=lib{0}.rlib", built.name);
        let arguments = ["mistake.rs", "--emit", "metadata", "--extern", &library];
        rustc(built.path(""), &arguments).status.success()
    };
    let down = "    device.key_down(Time::from_millis(5), Key::K1);\n";
    assert!(compiles(&format!("{begin}{down}")));
    for mistake in [
        "    let mut setup = Setup::new(&mut store).expect(\"sound\");\n    setup.key_down(Time::from_millis(5), Key::K1);\n",
        &format!("{begin}    device.preset(Field::Level, 5);\n"),
        &format!("{begin}    let _ = Setup::new(&mut store);\n{down}"),
        &format!("{begin}    let task = device.next(Time::from_millis(5), 200);\n{down}    drop(task);\n"),
    ] {
        assert!(!compiles(mistake), "{mistake}");
    }
}
