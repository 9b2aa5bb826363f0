//! A device of round numbers with any screens: what the tests of use and energy share.
#![allow(dead_code)] // Each test file uses a part of it.

use inkjoule::device::Device;
use inkjoule::project::load_files;
use inkjoule::source::fault::render;
use inkjoule::source::files::Files;

pub const BASE: &str = r#"
name = "Plain"
[panel]
pixels = [128, 64]
active = ["29 mm", "14.5 mm"]
sleep = "1 uA"
rated-refreshes = 1_000_000
start = { time = "10 ms", current = "1.001 mA" }
booster-on = { time = "40 ms", current = "5.001 mA" }
booster-off = { time = "20 ms", current = "2.001 mA" }
window-bytes = 0
full = { planes = 1, drive = [
  { at = "-20 °C", time = "4 s", current = "6.001 mA" },
  { at = "60 °C", time = "2 s", current = "4.001 mA" },
] }
partial = { planes = 2, drive = [
  { at = "0 °C", time = "0.5 s", current = "3.001 mA" },
  { at = "60 °C", time = "0.5 s", current = "3.001 mA" },
] }
[display]
viewing-distance = "40 cm"
keys = [ { centre = "5 mm", width = "8 mm" }, { centre = "20 mm", width = "8 mm" } ]
[board.mcu]
ram = "16 KiB"
flash = "16 KiB"
clock = "10 MHz"
active = "2.002 mA"
sleep = "2 uA"
wake = "1 ms"
cycles-per-pixel = 10
[board.bus]
clock = "1 MHz"
overhead = "0 %"
[board.rails.main]
regulator = "ldo"
output = "3 V"
dropout = "100 mV"
[battery]
chemistry = "lithium-ion"
capacity = "100 mAh"
resistance = "0 Ohm"
self-discharge = "0 %/month"
ageing = "0 %/year"
reserve = "0 %"
shelf-life = "50 year"
"#;

/// The rail of the base.
const RAIL: &str = "regulator = \"ldo\"\noutput = \"3 V\"\ndropout = \"100 mV\"\n";

/// A device from the base, more of `device.toml`, and screens by id.
pub fn device(more: &str, screens: &[(&str, &str)]) -> Device {
    device_on(RAIL, more, screens)
}

/// As [`device`], everything on a rail of its own kind.
pub fn device_on(rail: &str, more: &str, screens: &[(&str, &str)]) -> Device {
    match load(BASE.replace(RAIL, rail) + more, screens) {
        Ok(device) => device,
        Err(text) => panic!("{text}"),
    }
}

/// As [`device`]; the faults as the program shows them.
pub fn try_device(more: &str, screens: &[(&str, &str)]) -> Result<Device, String> {
    load(format!("{BASE}{more}"), screens)
}

/// A device from all of its files, or the faults as the program shows them.
pub fn load(root: String, screens: &[(&str, &str)]) -> Result<Device, String> {
    let mut files = vec![("device.toml".to_owned(), root)];
    files.extend(screens.iter().map(|(id, text)| (format!("screens/{id}.toml"), (*text).to_owned())));
    let files = Files::from_memory(files.iter().map(|(name, text)| (name.as_str(), text.as_str())));
    match load_files(files) {
        Ok(loaded) => Ok(loaded.device),
        Err(failed) => Err(render(&failed.faults, &failed.sources, false)),
    }
}

/// Whether two numbers agree to a share of the expected one.
pub fn close(found: f64, expected: f64, share: f64) {
    assert!((found - expected).abs() <= share * expected.abs(), "found {found}, expected {expected}");
}
