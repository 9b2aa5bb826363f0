//! Draws random states of a design in C and here, and compares every byte.

use super::{C99, cc, compile, export, run};
use inkjoule::device::Device;
use inkjoule::export::Order;
use inkjoule::firmware::drawing::Drawing;
use inkjoule::firmware::tables::condition::decimals;
use inkjoule::frame::Frame;
use inkjoule::frame::pack::{pack, unpack};
use inkjoule::screen::template::Piece;
use inkjoule::screen::values::Values;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use std::path::Path;
use std::sync::OnceLock;

/// Flags that find every step outside and every undefined one.
pub const SANITIZED: [&str; 4] = ["-O1", "-g1", "-fsanitize=address,undefined", "-fno-sanitize-recover=all"];

/// A number as firmware holds it: in units of the last decimal, the least number where it is not known.
pub fn held(number: Option<i32>) -> i32 {
    number.unwrap_or(i32::MIN)
}

/// A random value of a field: an end of its range, some number in it, or none.
fn random_number(device: &Device, index: usize, random: &mut ChaCha8Rng) -> Option<i32> {
    let field = &device.fields[index];
    let scale = 10f64.powi(decimals(device, index) as i32);
    let [low, high] = field.range.map(|end| (end * scale).clamp(-2e9, 2e9) as i32);
    match &field.pieces[0] {
        _ if random.random_bool(0.04) => None,
        Piece::Choice { texts, .. } => Some(random.random_range(-1..=texts.len() as i32)),
        Piece::Clock { .. } => Some(random.random_range(-40_000_000..400_000_000)),
        _ => Some(match random.random_range(0..8) {
            0 => low,
            1 => high,
            2 => 0i32.clamp(low, high),
            _ => random.random_range(low..=high),
        }),
    }
}

/// A random state as the device and as firmware hold it: values, then the samples of all rings.
pub fn random_state(device: &Device, drawing: &Drawing, random: &mut ChaCha8Rng) -> (Values, Vec<i32>) {
    let mut values = device.sample();
    let mut firmware = Vec::new();
    let scale = |index: usize| 10f64.powi(decimals(device, index) as i32);
    for index in 0..device.fields.len() {
        let number = random_number(device, index, random);
        values.now[index] = number.map_or(f64::NAN, |number| f64::from(number) / scale(index));
        firmware.push(held(number));
    }
    for ring in &drawing.rings {
        let (gaps, near) = ([0.0, 0.1, 1.0][random.random_range(0..3)], random.random_bool(0.5));
        let [low, high] = device.fields[ring.field].range.map(|end| (end * scale(ring.field)) as i32);
        let mut last = random.random_range(low..=high);
        let samples = (0..ring.samples).map(|_| {
            let step = (high - low) / 20 + 1;
            last = if near {
                (last + random.random_range(-step..=step)).clamp(low, high)
            } else {
                random.random_range(low..=high)
            };
            (!random.random_bool(gaps)).then_some(last)
        });
        let samples: Vec<Option<i32>> = samples.collect();
        let number = |sample: &Option<i32>| sample.map_or(f64::NAN, |units| f64::from(units) / scale(ring.field));
        std::sync::Arc::make_mut(&mut values.past)[ring.field] = samples.iter().map(number).collect();
        firmware.extend(samples.into_iter().map(held));
    }
    (values, firmware)
}

/// The frame of layers: a screen, and boxes over it.
fn layered(device: &Device, locale: usize, layers: &[(usize, Values)]) -> Frame {
    let size = device.panel.size();
    let mut frame = Frame::new(size.width, size.height);
    for (index, (screen, values)) in layers.iter().enumerate() {
        match index {
            0 => device.screens[*screen].draw(locale, values, &mut frame),
            _ => device.screens[*screen].draw_over(locale, values, &mut frame),
        }
    }
    frame
}

/// The interpreter and the program that feeds it, compiled once; tables are linked to them.
fn interpreter() -> &'static Path {
    static FOLDER: OnceLock<tempfile::TempDir> = OnceLock::new();
    let folder = FOLDER.get_or_init(|| {
        let folder = tempfile::tempdir().expect("a folder");
        // Read when the test runs, so that a change of the C code needs no build of the test.
        let root = Path::new(env!("CARGO_MANIFEST_DIR"));
        for (file, _) in inkjoule::export::c::live::CODE {
            std::fs::copy(root.join("src/export/c").join(file), folder.path().join(file)).expect("copied");
        }
        std::fs::copy(root.join("tests/firmware/draw_views.c"), folder.path().join("draw.c")).expect("copied");
        for file in ["ink_draw.c", "draw.c"] {
            compile(&cc(), folder.path(), &[&C99[..], &SANITIZED, &["-DINK_MEMO=1", "-c", file]].concat());
        }
        folder
    });
    folder.path()
}

/// Draws cases in C and here, whole and in strips of some lines without and with a memo, and compares every byte. Every screen is drawn in every
/// locale of the order about equally often; now and then another one lies over it as a box.
pub fn compare(order: &Order<'_>, cases: usize, seed: u64) {
    let folder = tempfile::tempdir().expect("a folder");
    export(order, "c-live", folder.path());
    let mut objects: Vec<String> = ["ink_draw.o", "draw.o"]
        .map(|name| interpreter().join(name))
        .iter()
        .map(|path| path.display().to_string())
        .collect();
    objects.extend(["screens_live.c", "-o", "draw"].map(str::to_owned));
    let objects: Vec<&str> = objects.iter().map(String::as_str).collect();
    compile(&cc(), folder.path(), &[&C99[..], &SANITIZED, &objects].concat());
    let drawing = Drawing::of(order).expect("tables");
    assert_eq!(drawing.own, [], "everything is drawn");
    let device = order.device;
    let size = device.panel.size();
    let bytes = order.packing.size(size.width, size.height).expect("fits");
    let lines = bytes / order.packing.stride_of(size.width, size.height).expect("fits") as usize;
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let (mut input, mut expected) = (Vec::new(), Vec::new());
    for case in 0..cases {
        let locale = random.random_range(0..order.locales.len());
        let strip = [8, 16, random.random_range(1..=lines.min(255))][random.random_range(0..3)].min(lines);
        let layers = if random.random_bool(0.2) { random.random_range(2..=3) } else { 1 };
        input.extend([locale as u8, strip as u8, layers]);
        let mut shown = Vec::new();
        for layer in 0..usize::from(layers) {
            let screen =
                if layer == 0 { case % order.screens.len() } else { random.random_range(0..order.screens.len()) };
            let (values, firmware) = random_state(device, &drawing, &mut random);
            input.push(screen as u8);
            firmware.iter().for_each(|number| input.extend(number.to_le_bytes()));
            shown.push((order.screens[screen].0, values));
        }
        let frame = layered(device, order.locales[locale], &shown);
        expected.push((locale, shown, pack(&frame, &order.packing).expect("fits")));
    }
    let drawn = run(folder.path(), "draw", &input);
    assert_eq!(drawn.len(), cases * bytes * 3);
    for (case, (all, (locale, shown, expected))) in drawn.chunks(bytes * 3).zip(&expected).enumerate() {
        let [whole, strips, remembered] = [0, 1, 2].map(|at| &all[at * bytes..][..bytes]);
        let screens: Vec<&str> = shown.iter().map(|(screen, _)| device.screens[*screen].id.as_str()).collect();
        if whole != expected {
            let show = |bytes: &[u8]| unpack(bytes, size.width, size.height, &order.packing).expect("fits");
            let difference = show(whole).difference(&show(expected)).expect("same size");
            let bounds = difference.ink_bounds();
            let values: Vec<f64> = shown.iter().flat_map(|(_, values)| values.now.clone()).collect();
            if let Ok(folder) = std::env::var("INK_SHOW") {
                std::fs::write(format!("{folder}/c.pbm"), inkjoule::frame::files::pbm(&show(whole))).expect("written");
                std::fs::write(format!("{folder}/r.pbm"), inkjoule::frame::files::pbm(&show(expected)))
                    .expect("written");
            }
            panic!("case {case}, {screens:?}, locale {locale}, {values:?}: differs in {bounds:?}");
        }
        assert!(strips == expected, "case {case}, {screens:?}: strips differ from the whole");
        assert!(remembered == expected, "case {case}, {screens:?}: strips with a memo differ from the whole");
    }
}
