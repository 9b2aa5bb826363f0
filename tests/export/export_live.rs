//! The interpreter in C draws every screen from exported tables exactly as the frames are drawn here, whole and in strips.

use crate::firmware::drawn::compare;
use crate::firmware::{C99, compile, cpp_compilers, export, object, orchard, order, starter};
use inkjoule::device::Device;
use inkjoule::export::Order;
use inkjoule::export::c::live::CODE;
use inkjoule::firmware::footprint::Footprint;
use inkjoule::firmware::tables::Tables;
use inkjoule::frame::{Axis, Bit, BitOrder, Packing, Rotation, Scan};
use inkjoule::project::load_files;
use inkjoule::source::files::Files;

/// The starter project with another panel, other fields and screens made for this test, in two locales.
fn device() -> Device {
    let root = include_str!("../../src/cli/starter/device.toml");
    let (before, rest) = root.split_once("[fields.level]").expect("the starter has this field");
    let (_, after) = rest.split_once("[events.reading]").expect("the starter has this event");
    let fields = r#"
[fonts.outline]
file = "fonts/outline.ttf"
size = 15

[fields.depth]
unit = "mm"
decimals = 1
range = [-450, 450]
sample = 123.4

[fields.limit]
decimals = 2
range = [-400, 400]
sample = 100

[fields.flow]
unit = "l/min"
decimals = 3
range = [-25, 99]
sample = 7.125

[fields.state]
choices = ["at rest", "filling up quickly", "stuck", "—", "Grenzwert überschritten"]
sample = 1

[fields.taken]
clock = "%a %d %b %H:%M"
on = "reading"
sample = 36_000

[events.reading]"#;
    let root = format!("{before}{fields}{after}")
        .replace(
            "from = \"mono-296x128\"",
            "from = \"mono-296x128\"\npixels = [101, 180]\nactive = [\"23 mm\", \"41 mm\"]",
        )
        .replace("home = \"home\"", "home = \"plain\"")
        .replace("centre = \"56 mm\"", "centre = \"38 mm\"")
        .replace("width = \"18 mm\"", "width = \"5 mm\"");
    let files: Vec<(&str, &[u8])> = vec![
        ("device.toml", root.as_bytes()),
        ("fonts/outline.ttf", include_bytes!("../../fonts/ink-outline.ttf")),
        ("screens/live.toml", include_bytes!("../firmware/project/live.toml")),
        ("screens/plain.toml", include_bytes!("../firmware/project/plain.toml")),
        ("strings/de.toml", "mixed = \"Stand {depth} mm um {taken}, Zufluss {flow}\"\n".as_bytes()),
        ("strings/en.toml", "mixed = \"{depth} mm, {flow} l/min – {state}\"\n".as_bytes()),
    ];
    load_files(Files::from_memory(files)).unwrap_or_else(|failed| panic!("{:#?}", failed.faults)).device
}

#[test]
fn every_screen_of_the_orchard_in_every_locale_is_drawn_alike() {
    let device = orchard();
    let order = order(&device);
    assert_eq!((order.screens.len(), order.locales.len()), (11, 3));
    compare(&order, 3_000, 16);
}

#[test]
fn ten_thousand_random_values_are_drawn_alike_whole_and_in_strips() {
    let device = device();
    compare(&order(&device), 10_000, 11);
}

#[test]
fn other_packings_are_drawn_alike() {
    let device = device();
    let packings = [
        Packing { along: Axis::Y, bits: BitOrder::LsbFirst, ..Packing::default() },
        Packing {
            scan: Scan::Columns,
            pixel_polarity: Bit::Zero,
            padding: Bit::One,
            stride: Some(200),
            ..Packing::default()
        },
        Packing { scan: Scan::Columns, along: Axis::Y, rotation: Rotation::Half, mirror: true, ..Packing::default() },
        Packing {
            rotation: Rotation::ThreeQuarter,
            mirror: true,
            padding: Bit::One,
            stride: Some(17),
            ..Packing::default()
        },
    ];
    for packing in packings {
        compare(&Order { packing, ..order(&device) }, 150, 12);
    }
}

/// A project whose panel has a memo.
pub(crate) fn remembering(project: &str) -> inkjoule::device::Device {
    let loaded = inkjoule::project::load(std::path::Path::new(project), &["policy.memo=500".to_owned()]);
    loaded.unwrap_or_else(|failed| panic!("{:#?}", failed.faults)).device
}

/// Bytes of flash of object files, as the tool of a compiler for Cortex-M0 counts them.
fn flash_on_cortex_m0(folder: &std::path::Path) -> usize {
    let flags = ["-mcpu=cortex-m0", "-mthumb", "-Os", "-Wconversion"];
    // The seal is an addition for who wants it.
    let code = CODE.iter().map(|(file, _)| *file).filter(|file| file.ends_with(".c") && *file != "ink_seal.c");
    let files: Vec<&str> = code.chain(["screens_live.c"]).collect();
    for file in &files {
        object("arm-none-eabi-gcc", folder, file, &[&C99[..], &flags].concat());
    }
    let mut size = std::process::Command::new("arm-none-eabi-size");
    let output =
        size.args(files.iter().map(|file| file.replace(".c", ".o"))).current_dir(folder).output().expect("size runs");
    let text = String::from_utf8_lossy(&output.stdout).into_owned();
    let rows = text.lines().skip(1).map(|line| line.split_whitespace().map(str::to_owned).collect::<Vec<_>>());
    let numbers =
        rows.map(|row| row.iter().take(3).map(|number| number.parse().expect("a number")).collect::<Vec<usize>>());
    // Neither initialised nor other data: tables and code are all there is.
    numbers.inspect(|row| assert_eq!(row[1..], [0, 0])).map(|row| row[0]).sum()
}

#[test]
fn flash_is_what_the_compiler_says_within_three_percent() {
    if !crate::firmware::runs("arm-none-eabi-gcc") {
        println!("no compiler for Cortex-M0 here");
        return;
    }
    let demo = super::export_costs::demo();
    for (at, device) in
        [demo, orchard(), device(), starter(), remembering("screens-demo"), remembering("tests/product")]
            .iter()
            .enumerate()
    {
        let folder = tempfile::tempdir().expect("a folder");
        export(&order(device), "c-live", folder.path());
        let (found, stated) = (flash_on_cortex_m0(folder.path()) as f64, Footprint::of_device(device).expect("tables"));
        let share = stated.flash() as f64 / found - 1.0;
        println!("{}: {found} B, stated {stated:?}", device.name);
        assert!(share.abs() < 0.03, "{found} B, stated {stated:?}");
        // All of the demo: fonts, tables and code, three locales.
        assert!(at > 0 || found <= 24.0 * 1024.0, "{found} B");
    }
    // What draws; the whole with the machine is still above that.
    let plain = Footprint::of_device(&orchard()).expect("tables");
    assert!(plain.drawing() < 24 * 1024, "{plain:?}");
}

/// State beside strip and stack, byte by byte: the structures and the cells of machine and panel.
#[test]
fn ram_is_what_the_compiler_says() {
    if !crate::firmware::runs("arm-none-eabi-gcc") {
        println!("no compiler for Cortex-M0 here");
        return;
    }
    let demo = super::export_costs::demo();
    for device in [demo, orchard(), device(), starter(), remembering("screens-demo"), remembering("tests/product")] {
        let folder = tempfile::tempdir().expect("a folder");
        export(&order(&device), "c-live", folder.path());
        let state = "#include \"screens_live.h\"\nstruct ink_machine machine; struct ink_panel panel;\n\
                     int32_t cells[SCREENS_LIVE_CELLS], panel_cells[SCREENS_LIVE_PANEL_CELLS];\n";
        std::fs::write(folder.path().join("state.c"), state).expect("written");
        compile(
            "arm-none-eabi-gcc",
            folder.path(),
            &[&C99[..], &["-mcpu=cortex-m0", "-mthumb", "-c", "state.c"]].concat(),
        );
        let mut nm = std::process::Command::new("arm-none-eabi-nm");
        let output = nm.args(["-S", "-t", "d", "state.o"]).current_dir(folder.path()).output().expect("nm runs");
        let text = String::from_utf8_lossy(&output.stdout).into_owned();
        let sizes = text.lines().filter_map(|line| line.split_whitespace().nth(1)?.parse::<usize>().ok());
        assert_eq!(
            sizes.sum::<usize>(),
            Footprint::of_device(&device).expect("tables").ram(),
            "{}: {text}",
            device.name
        );
    }
}

/// Tables in an address space of their own: on AVR, constants stay out of RAM.
#[test]
fn tables_stay_in_flash_on_a_harvard_part() {
    if !crate::firmware::runs("avr-gcc") {
        println!("no compiler for AVR here");
        return;
    }
    let device = orchard();
    let folder = tempfile::tempdir().expect("a folder");
    export(&order(&device), "c-live", folder.path());
    // An address space is no standard C; all else is, whatever an int holds.
    let ways = [("-std=c99", "-pedantic", "-DINK_MEMO=1"), ("-std=gnu99", "-Wall", "-DINK_FLASH=__flash")];
    for (standard, strict, space) in ways {
        for file in ["screens_live.c", "ink_draw.c", "ink_machine.c"] {
            let flags = [
                standard,
                strict,
                space,
                "-mmcu=atmega1284p",
                "-Wall",
                "-Wextra",
                "-Wconversion",
                "-Werror",
                "-Os",
                "-c",
                file,
            ];
            compile("avr-gcc", folder.path(), &flags);
        }
    }
    let mut size = std::process::Command::new("avr-size");
    let output = size
        .args(["-A", "screens_live.o", "ink_draw.o", "ink_machine.o"])
        .current_dir(folder.path())
        .output()
        .expect("size runs");
    let text = String::from_utf8_lossy(&output.stdout).into_owned();
    let in_ram =
        text.lines().filter(|line| [".data", ".rodata", ".bss"].iter().any(|section| line.starts_with(section)));
    let bytes: usize = in_ram.filter_map(|line| line.split_whitespace().nth(1)?.parse::<usize>().ok()).sum();
    assert_eq!(bytes, 0, "{text}");
}

#[test]
fn the_files_are_strict() {
    let device = device();
    let folder = tempfile::tempdir().expect("a folder");
    export(&order(&device), "c-live", folder.path());
    for file in ["screens_live.c", "ink_draw.c", "ink_machine.c"] {
        for compiler in crate::firmware::c_compilers() {
            compile(
                &compiler,
                folder.path(),
                &[&C99[..], &["-Wconversion", "-Os", "-c", file, "-o", "strict.o"]].concat(),
            );
            let memo = ["-DINK_MEMO=1", "-Wconversion", "-Os", "-c", file, "-o", "strict.o"];
            compile(&compiler, folder.path(), &[&C99[..], &memo].concat());
        }
        for compiler in cpp_compilers() {
            let flags = [
                "-std=c++17",
                "-Wall",
                "-Wextra",
                "-Werror",
                "-pedantic",
                "-x",
                "c++",
                "-DINK_MEMO=1",
                "-c",
                file,
                "-o",
                "cpp.o",
            ];
            compile(&compiler, folder.path(), &flags);
        }
    }
}

/// Windows follow the packing of the order, as the bytes do: turned by half, each is seen from the opposite corner.
#[test]
fn windows_turn_with_the_bytes() {
    let device = device();
    let windows = |rotation: Rotation| {
        let packing = Packing { rotation, mirror: false, ..device.panel.packing.clone() };
        let tables = Tables::of(&Order { packing, ..order(&device) }).expect("a packing for this panel");
        let entries = tables.sheets.iter().flat_map(|sheet| &sheet.entries);
        entries.map(|entry| (entry.area, entry.window)).collect::<Vec<_>>()
    };
    let size = device.panel.size();
    let mut seen = 0;
    for ((area, straight), (_, turned)) in windows(Rotation::None).into_iter().zip(windows(Rotation::Half)) {
        if straight.w == 0 {
            continue;
        }
        seen += 1;
        assert!(straight.x as i32 <= area.top_left.x && straight.y as i32 == area.top_left.y.max(0));
        assert_eq!((turned.h, turned.y), (straight.h, size.height - straight.y - straight.h));
    }
    assert!(seen > 5, "{seen} windows");
}

/// Images show samples of the past as firmware holds them: whole numbers of the last decimal.
#[test]
fn samples_of_the_past_are_as_firmware_holds_them() {
    let demo = super::export_costs::demo();
    let mut seen = 0;
    for device in [demo, device()] {
        for (field, past) in device.sample().past.iter().enumerate() {
            let scale = 10f64.powi(inkjoule::firmware::tables::condition::decimals(&device, field) as i32);
            for value in past.iter().filter(|value| value.is_finite()) {
                seen += 1;
                let off = (value * scale - (value * scale).round()).abs();
                assert!(off < 1e-6, "{}: {value}", device.fields[field].name);
            }
        }
    }
    assert!(seen > 50, "{seen} samples");
}
