//! Drawing by the exported machine: more lines at a time and a memo cost less, and every way is a part of the update.
//!
//! What the cycles are held to is counted on an emulated processor: `tests/export/export_prices.rs`.

use crate::plain::{BASE, load};
use inkjoule::budget::memory::schemes;
use inkjoule::cost::phases::{Cause, phases};
use inkjoule::device::Device;
use inkjoule::device::drawing::{Pass, Passes, Scenes};
use inkjoule::refresh::drawing::{cycles_of_byte, entering, scene, typical};
use inkjoule::refresh::update::{Change, Mode, work};
use inkjoule::refresh::windows::Window;
use inkjoule::screen::ScreenId;
use inkjoule::units::Celsius;

const USE: &str = "[usage]\nhome = \"a\"\nstart = \"2031-01-01\"\n\
                   temperature = { low = \"20 °C\", high = \"20 °C\", warmest = \"12:00\" }\n";
const SCREENS: [(&str, &str); 2] = [
    ("a", "content = [ { text = \"Twenty degrees\" } ]\n[keys]\n1 = { go = \"b\" }\n"),
    ("b", "content = [ { text = \"b\" } ]\n[keys]\n1 = { go = \"a\" }\n"),
];

fn drawn_by(core: &str, policy: &str) -> Device {
    let base = BASE.replace("cycles-per-pixel = 10", &format!("core = \"{core}\""));
    assert!(base != BASE);
    load(format!("{base}[policy]\n{policy}\n{USE}"), &SCREENS).unwrap_or_else(|text| panic!("{text}"))
}

fn cycles(device: &Device, scenes: &Scenes, mode: Mode) -> f64 {
    let change = Change { windows: vec![Window { x: 8, y: 40, w: 16, h: 20 }], ..Change::NONE };
    work(device, device.policy.buffer, &change, scenes, mode, Celsius(20.0)).expect("within the tables").cycles
}

#[test]
fn more_lines_and_a_memo_cost_less() {
    let of = |core: &str, policy: &str| {
        let device = drawn_by(core, policy);
        cycles(&device, &typical(&device, device.policy.buffer), Mode::Partial)
    };
    for core in ["cortex-m0", "avr"] {
        let [few, more, whole] = ["buffer = { strip-lines = 4 }", "buffer = { strip-lines = 32 }", "buffer = \"ram\""]
            .map(|policy| of(core, policy));
        assert!(few > 2.0 * more && more > whole, "{core}: {few} {more} {whole}");
        let memo = of(core, "buffer = { strip-lines = 4 }\nmemo = 500");
        assert!(memo < 0.8 * few, "{core}: {memo} with a memo, {few} without");
    }
    let both = ["cortex-m0", "avr"].map(|core| of(core, "buffer = \"ram\""));
    assert!((3.0..4.0).contains(&(both[1] / both[0])), "an AVR takes about three times as many: {both:?}");
}

/// By hand: passes of 1,000 cycles before, 10 a strip and 1 a line. The panel has 64 lines of 16 bytes,
/// and wants both planes for a partial refresh.
#[test]
fn an_update_is_two_passes_to_compare_and_its_lines_for_each_plane() {
    let device = drawn_by("cortex-m0", "buffer = { strip-lines = 16 }");
    let pass = Pass { once: 1_000.0, each: 10.0, line: 1.0 };
    let passes = Passes { compared: pass, sent: pass };
    let scenes = Scenes { shown: Some(passes), next: passes };
    // 75 cycles for each byte compared; both halves of a strip of 32 lines hold 16.
    let compared = |lines: f64| 2.0 * (1_000.0 + 10.0 * (lines / 16.0_f64).ceil() + lines) + 75.0 * 16.0 * lines;
    let sent = |lines: f64| 1_000.0 + 10.0 * (lines / 32.0_f64).ceil() + lines;
    assert_eq!(cycles(&device, &scenes, Mode::Partial), compared(64.0) + 2.0 * sent(20.0));
    // A full one is compared up to the first strip that differs, here the third, and the first of all not at all.
    assert_eq!(cycles(&device, &scenes, Mode::Full), compared(48.0) + sent(64.0));
    let first = Scenes { shown: None, next: passes };
    assert_eq!(cycles(&device, &first, Mode::Full), sent(64.0));
}

/// Passes over a screen are kept for its locale: asked of one device for all screens and locales, in either order, they are
/// those of a device that was asked for nothing else.
#[test]
fn kept_passes_are_those_of_the_screen_and_its_locale() {
    let folder = std::path::Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/screens-demo"));
    let fresh = || inkjoule::project::load(folder, &[]).unwrap_or_else(|_| panic!("the demo is sound")).device;
    let (one, back) = (fresh(), fresh());
    let all: Vec<(usize, usize)> =
        (0..one.screens.len().min(4)).flat_map(|screen| (0..one.locales.len()).map(move |l| (screen, l))).collect();
    assert!(one.locales.len() > 1 && all.len() > 4);
    let of = |device: &Device, (screen, locale): (usize, usize)| {
        let passes = scene(device, locale, std::iter::once(ScreenId(screen)));
        [passes.compared, passes.sent].map(|pass| [pass.once, pass.each, pass.line])
    };
    let first: Vec<_> = all.iter().map(|at| of(&one, *at)).collect();
    let mut last: Vec<_> = all.iter().rev().map(|at| of(&back, *at)).collect();
    last.reverse();
    let alone: Vec<_> = all.iter().map(|at| of(&fresh(), *at)).collect();
    assert_eq!(first, alone);
    assert_eq!(last, alone);
    assert!(alone.windows(2).any(|pair| pair[0] != pair[1]));
}

/// Twenty lines more of 16 bytes are drawn and sent: what they take more, for both planes, is what each of their bytes takes.
/// Of drawing code that is priced by the pixel, a byte is eight pixels: by hand 80 cycles at 10 for each.
#[test]
fn a_byte_takes_what_its_share_of_a_line_takes() {
    let device = drawn_by("cortex-m0", "buffer = \"ram\"");
    let scenes = typical(&device, device.policy.buffer);
    let of = |h: u32| {
        let change = Change { windows: vec![Window { x: 0, y: 8, w: 128, h }], ..Change::NONE };
        work(&device, device.policy.buffer, &change, &scenes, Mode::Partial, Celsius(20.0)).expect("in range").cycles
    };
    let (of_bytes, found) = (20.0 * 16.0 * cycles_of_byte(&device), of(40) - of(20));
    assert!(found > 0.0 && (found / of_bytes - 1.0).abs() < 1e-9, "{found} for {of_bytes}");
    let plain = load(format!("{BASE}{USE}"), &SCREENS).unwrap_or_else(|text| panic!("{text}"));
    assert_eq!(cycles_of_byte(&plain), 80.0);
}

#[test]
fn each_screen_has_its_own_price_and_each_way_its_strip() {
    let device = drawn_by("cortex-m0", "buffer = { strip-lines = 16 }\nmemo = 300");
    let parameters = device.inputs.typical();
    let render = |screen: usize| {
        let work = work(
            &device,
            device.policy.buffer,
            &Change::NONE,
            &entering(&device, ScreenId(screen)),
            Mode::Full,
            Celsius(20.0),
        );
        let all = phases(&device, &parameters, &work.expect("within the tables"), device.battery.nominal());
        all.iter().filter(|phase| phase.cause == Cause::Render).map(|phase| phase.time.0).sum::<f64>()
    };
    assert!(render(0) > 1.05 * render(1), "{} {}", render(0), render(1));
    // 600 bytes of memo beside the strip of two planes, or beside the frame.
    let kept = schemes(&device, &parameters, Celsius(20.0));
    assert_eq!(kept.iter().map(|way| way.ram.0).collect::<Vec<_>>(), [2.0 * 1024.0 + 600.0, 2.0 * 16.0 * 16.0 + 600.0]);
}

/// Flash and RAM are held against what the exported machine takes: code, tables, strip, state and stack. The frame alone
/// and the texts alone would fit.
#[test]
fn limits_hold_for_what_runs() {
    let found = |more: &[(&str, &str)], limits: &str| {
        let mut base = BASE.replace("cycles-per-pixel = 10", "core = \"cortex-m0\"");
        more.iter().for_each(|(from, to)| base = base.replace(from, to));
        let root = format!("{base}[policy]\nbuffer = {{ strip-lines = 16 }}\n{USE}{limits}");
        let device = load(root, &SCREENS).unwrap_or_else(|text| panic!("{text}"));
        let said = inkjoule::check::limits(&device, &inkjoule::budget::summary::budget(&device));
        said.into_iter().map(|fault| format!("{} {}", fault.id.unwrap_or_default(), fault.message)).collect::<Vec<_>>()
    };
    let has = |said: &[String], parts: &[&str]| said.iter().any(|one| parts.iter().all(|part| one.contains(part)));
    assert!(!has(&found(&[], ""), &["flash"]) && !has(&found(&[], ""), &["buffer"]));
    let little = found(&[("flash = \"16 KiB\"", "flash = \"4 KiB\"")], "");
    assert!(has(&little, &["flash the exported machine with its tables takes", "leaves 4096 B"]), "{little:?}");
    let narrow = found(&[("ram = \"16 KiB\"", "ram = \"1 KiB\"")], "");
    assert!(
        has(&narrow, &["buffer strip, state and stack of the exported machine take", "leaves 1024 B"]),
        "{narrow:?}"
    );
    let limited = found(&[], "[limits]\nram = \"1 KiB\"\nflash = \"4 KiB\"\n");
    assert!(
        has(&limited, &["limit-ram", "strip, state and stack"]) && has(&limited, &["limit-flash", "with its tables"])
    );
}

/// The exported machine sends one window an update: several would be priced, and could not be exported.
#[test]
fn a_core_with_several_windows_is_refused() {
    let path = std::path::Path::new("screens-demo");
    let Err(failed) = inkjoule::project::load(path, &["panel.max-windows=2".to_owned()]) else {
        panic!("a core sends one window");
    };
    let said: Vec<&str> = failed.faults.iter().map(|fault| fault.message.as_str()).collect();
    assert_eq!(said, ["the exported machine, whose drawing `core` prices, sends one window an update, not 2"]);
    let own = ["panel.max-windows=2", "board.mcu.cycles-per-pixel=18"].map(str::to_owned);
    assert!(inkjoule::project::load(path, &own).is_ok(), "drawing code of one's own may send several");
}
