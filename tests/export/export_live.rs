//! The C reference draws live fields from exported tables exactly as the frames are drawn here, whole and in bands.

use crate::firmware::{C99, cc, compile, cpp_compilers, export, order, run};
use inkjoule::device::Device;
use inkjoule::export::Order;
use inkjoule::firmware::squeeze::{pool, runs, squeeze, unsqueeze};
use inkjoule::firmware::tables::condition::decimals;
use inkjoule::firmware::tables::{Kind, Tables};
use inkjoule::frame::pack::pack;
use inkjoule::frame::{Axis, Bit, BitOrder, Packing, Rotation, Scan};
use inkjoule::project::load_files;
use inkjoule::screen::template::{Piece, Template};
use inkjoule::screen::values::Values;
use inkjoule::source::files::Files;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

const SANITIZED: [&str; 4] = ["-O1", "-g", "-fsanitize=address,undefined", "-fno-sanitize-recover=all"];

/// The starter project with another panel, other fields and screens made for this test, in two locales.
fn device() -> Device {
    let root = include_str!("../../src/cli/starter/device.toml");
    let (before, rest) = root.split_once("[fields.level]").expect("the starter has this field");
    let (_, after) = rest.split_once("[events.reading]").expect("the starter has this event");
    let fields = r#"
[faces.outline]
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
        .replace("from = \"mono-2in9\"", "from = \"mono-2in9\"\npixels = [101, 180]\nactive = [\"23 mm\", \"41 mm\"]")
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

/// Random values as the device and as firmware hold them: `None` where a value is not known.
fn random_values(device: &Device, locale: usize, random: &mut ChaCha8Rng) -> (Values, Vec<(i32, String)>) {
    let mut values = device.sample();
    let mut firmware = Vec::new();
    for (index, field) in device.fields.iter().enumerate() {
        let piece = field.pieces[locale].clone();
        let scale = 10f64.powi(decimals(device, index) as i32);
        let number = match &piece {
            Piece::Choice { texts, .. } => Some(random.random_range(-1..=texts.len() as i32)),
            Piece::Clock { .. } => Some(random.random_range(0..40_000_000)),
            _ if random.random_bool(0.04) => None,
            _ => Some(random.random_range((field.range[0] * scale) as i32..=(field.range[1] * scale) as i32)),
        };
        values.now[index] = number.map_or(f64::NAN, |number| f64::from(number) / scale);
        let text = match piece {
            Piece::Clock { .. } => Template { pieces: vec![piece] }.text(&values),
            _ => String::new(),
        };
        firmware.push((number.unwrap_or(i32::MIN), text));
    }
    (values, firmware)
}

/// Draws cases in C and here, and compares every byte.
fn compare(order: &Order<'_>, cases: usize) {
    let folder = tempfile::tempdir().expect("a folder");
    export(order, "c-live", folder.path());
    std::fs::write(folder.path().join("draw.c"), include_str!("../firmware/draw_values.c")).expect("written");
    let sources = ["screens_live.c", "inkjoule_draw.c", "inkjoule_unpack.c", "draw.c", "-o", "draw"];
    compile(&cc(), folder.path(), &[&C99[..], &SANITIZED, &sources].concat());
    let device = order.device;
    let size = device.panel.size();
    let bytes = order.packing.size(size.width, size.height).expect("fits");
    let lines = bytes / order.packing.stride_of(size.width, size.height).expect("fits") as usize;
    let mut random = ChaCha8Rng::seed_from_u64(11);
    let mut input = Vec::new();
    let mut expected = Vec::new();
    for _ in 0..cases {
        let sheet = random.random_range(0..order.locales.len() * order.screens.len());
        let (locale, screen) = (order.locales[sheet / order.screens.len()], order.screens[sheet % order.screens.len()]);
        let (values, firmware) = random_values(device, locale, &mut random);
        input.extend([sheet as u8, random.random_range(1..=lines.min(255)) as u8]);
        for (number, text) in firmware {
            input.extend(number.to_le_bytes());
            input.push(text.len() as u8);
            input.extend(text.as_bytes());
        }
        expected.push((
            sheet,
            values.clone(),
            pack(&device.draw(screen, locale, &values), &order.packing).expect("fits"),
        ));
    }
    let drawn = run(folder.path(), "draw", &input);
    assert_eq!(drawn.len(), cases * bytes * 2);
    for (case, (pair, (sheet, values, expected))) in drawn.chunks(bytes * 2).zip(&expected).enumerate() {
        let (whole, banded) = pair.split_at(bytes);
        if whole != expected {
            let show = |bytes: &[u8]| {
                inkjoule::frame::pack::unpack(bytes, size.width, size.height, &order.packing).expect("fits")
            };
            let difference = show(whole).difference(&show(expected)).expect("same size");
            panic!("case {case}, sheet {sheet}, {:?}: differs at\n{difference}", values.now);
        }
        assert!(banded == expected, "case {case}: bands differ from the whole");
    }
}

#[test]
fn ten_thousand_random_values_are_drawn_alike_whole_and_in_bands() {
    let device = device();
    let order = order(&device);
    let tables = Tables::of(&order).expect("tables");
    let count = |test: fn(&Kind) -> bool| {
        tables.sheets.iter().flat_map(|sheet| &sheet.entries).filter(|entry| test(&entry.kind)).count()
    };
    // The project has every kind of entry that the reference draws, and nothing that it cannot.
    assert!(count(|kind| matches!(kind, Kind::Run(_))) > 20);
    assert!(count(|kind| matches!(kind, Kind::Bitmap { reversed: true, .. })) > 0);
    assert!(
        count(|kind| matches!(kind, Kind::Bitmap { reversed: false, .. })) > 2
            && count(|kind| matches!(kind, Kind::Fill)) > 2
    );
    assert!(count(|kind| matches!(kind, Kind::Run(run) if run.spacing != 0)) > 0);
    assert!(tables.faces.subsets.iter().any(|face| !face.kerning.is_empty()));
    assert_eq!(count(|kind| matches!(kind, Kind::Own(_))), 0);
    compare(&order, 10_000);
}

#[test]
fn other_packings_are_drawn_alike() {
    let device = device();
    let packings = [
        Packing { along: Axis::Y, bits: BitOrder::LsbFirst, ..Packing::default() },
        Packing { scan: Scan::Columns, ink_is: Bit::Zero, padding: Bit::One, stride: Some(200), ..Packing::default() },
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
        compare(&Order { packing, ..order(&device) }, 150);
    }
}

#[test]
fn the_files_are_strict_and_small() {
    let device = device();
    let folder = tempfile::tempdir().expect("a folder");
    export(&order(&device), "c-live", folder.path());
    for file in ["screens_live.c", "inkjoule_draw.c", "inkjoule_unpack.c"] {
        for compiler in crate::firmware::c_compilers() {
            compile(&compiler, folder.path(), &[&C99[..], &["-Os", "-c", file, "-o", "strict.o"]].concat());
        }
        for compiler in cpp_compilers() {
            let flags =
                ["-std=c++17", "-Wall", "-Wextra", "-Werror", "-pedantic", "-x", "c++", "-c", file, "-o", "cpp.o"];
            compile(&compiler, folder.path(), &flags);
        }
    }
    let code = code_bytes("inkjoule_draw.c", folder.path());
    assert!((500..2048).contains(&code), "{code} bytes of code");
    let code = code_bytes("inkjoule_unpack.c", folder.path());
    assert!((100..512).contains(&code), "{code} bytes of code");
}

/// Bytes of machine code of a C file at -Os, as the linker's symbols tell: the last function ends the text.
fn code_bytes(file: &str, folder: &std::path::Path) -> u64 {
    compile(&cc(), folder, &[&C99[..], &["-Os", "-c", file, "-o", "size.o"]].concat());
    let output =
        std::process::Command::new("size").args(["-A", "size.o"]).current_dir(folder).output().expect("size runs");
    let text = String::from_utf8_lossy(&output.stdout).into_owned();
    let sections = text.lines().filter(|line| line.starts_with(".text") || line.starts_with("__text"));
    sections.filter_map(|line| line.split_whitespace().nth(1)?.parse::<u64>().ok()).sum()
}

#[test]
fn decoders_survive_damaged_blobs_and_agree_with_the_encoder() {
    let folder = tempfile::tempdir().expect("a folder");
    let device = device();
    export(&order(&device), "c-live", folder.path());
    std::fs::write(folder.path().join("damaged.c"), include_str!("../firmware/unpack_damaged.c")).expect("written");
    compile(
        &cc(),
        folder.path(),
        &[&C99[..], &SANITIZED, &["inkjoule_unpack.c", "damaged.c", "-o", "damaged"]].concat(),
    );
    let mut random = ChaCha8Rng::seed_from_u64(5);
    let mut input = Vec::new();
    let mut expected: Vec<Option<Vec<u8>>> = Vec::new();
    for case in 0..20_000 {
        let length = random.random_range(0..400);
        let spread = random.random_range(1..=40u8);
        let plain: Vec<u8> =
            (0..length).map(|_| if random.random_bool(0.7) { 0 } else { random.random_range(0..spread) }).collect();
        let mut stored = [squeeze(&plain), runs(&plain), pool(&plain).expect("small")][case % 3].clone();
        let whole = case % 2 == 0;
        if !whole {
            for _ in 0..random.random_range(1..6) {
                match stored.bytes.len() {
                    0 => stored.bytes.push(random.random()),
                    n if random.random_bool(0.2) => stored.bytes.truncate(random.random_range(0..n)),
                    n => stored.bytes[random.random_range(0..n)] = random.random(),
                }
            }
        }
        let skip = random.random_range(0..=length);
        let size = if whole { random.random_range(0..=length - skip) } else { random.random_range(0..600) };
        input.push(stored.codec.number());
        for number in [skip, size, stored.bytes.len()] {
            input.extend((number as u16).to_le_bytes());
        }
        input.extend(&stored.bytes);
        if whole {
            assert_eq!(unsqueeze(stored.codec, &stored.bytes, length).as_ref(), Some(&plain));
            expected.push(Some(plain[skip..skip + size].to_vec()));
        } else {
            expected.push(None);
        }
    }
    let out = run(folder.path(), "damaged", &input);
    let mut rest = out.as_slice();
    for expected in expected {
        let (count, tail) = rest.split_at(2);
        let count = usize::from(u16::from_le_bytes([count[0], count[1]]));
        let (bytes, tail) = tail.split_at(count);
        rest = tail;
        if let Some(expected) = expected {
            assert!(bytes == expected);
        }
    }
    assert!(rest.is_empty());
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
