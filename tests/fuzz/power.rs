//! Bytes as numbers and choices of a board: each byte is one of both, so that nearly every input is a project.

use super::BOARD;
use inkjoule::budget::summary::budget_of;
use inkjoule::project::load_files;
use inkjoule::source::fault::render;
use inkjoule::source::files::Files;
use std::fmt::Write as _;

const SCREEN: &str = "content = [ { text = \"A\" } ]\n";

/// Bytes in turn; 0 where there are no more.
struct Bytes<'d>(std::slice::Iter<'d, u8>);

impl Bytes<'_> {
    fn next(&mut self) -> usize {
        usize::from(self.0.next().copied().unwrap_or(0))
    }

    /// One of several.
    fn of<T: Copy>(&mut self, choices: &[T]) -> T {
        choices[self.next() % choices.len()]
    }

    /// One time of four.
    fn seldom(&mut self) -> bool {
        self.next() % 4 == 3
    }

    /// A number from low to high in steps of a 255th.
    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.next() as f64 / 255.0
    }
}

/// What was written is read, or refused with words; what is read is calculated, and its figures are numbers in order.
fn calculated(root: String) -> bool {
    let files = [("device.toml".to_owned(), root), ("screens/a.toml".to_owned(), SCREEN.to_owned())];
    match load_files(Files::from_memory(files)) {
        Ok(loaded) => {
            // So few devices that many projects are tried.
            let found = budget_of(&loaded.device, 20, &|| ());
            if let Ok(life) = &found.life {
                let spread = [life.p10.time.0, life.p50.time.0, life.p90.time.0];
                assert!(spread.iter().all(|time| time.is_finite() && *time >= 0.0) && spread.is_sorted(), "{spread:?}");
            }
            let energy = found.energy_per_day().0;
            assert!(energy.is_finite() && energy >= 0.0, "{energy} J a day");
            true
        }
        Err(failed) => {
            assert!(!failed.faults.is_empty() && failed.faults.iter().all(|fault| !fault.message.is_empty()));
            let _ = render(&failed.faults, &failed.sources, false);
            false
        }
    }
}

/// Up to six rails from one another, of every kind, circles too, with loads on them.
pub fn power_tree(data: &[u8]) {
    tree(data);
}

/// As [`power_tree`]; whether it was a project.
pub fn tree(data: &[u8]) -> bool {
    let mut bytes = Bytes(data.iter());
    let mut root = format!("name = \"Fuzz\"\n{BOARD}");
    let names = ["main", "a", "b", "c", "d", "e"];
    let rails = bytes.next() % names.len() + 1;
    for name in &names[..rails] {
        rail(&mut root, name, &names[..rails], &mut bytes);
    }
    for load in 0..bytes.next() % 4 {
        let _ = writeln!(root, "[board.loads.load-{load}]\nrail = \"{}\"", bytes.of(&names[..rails]));
        let _ = match bytes.seldom() {
            true => writeln!(root, "power = \"{:.2} mW\"", bytes.between(0.0, 90.0)),
            false => writeln!(root, "current = \"{:.2} mA\"", bytes.between(0.0, 60.0)),
        };
        if !bytes.seldom() {
            let _ = writeln!(root, "on = \"{:.1} ms\"\nperiod = \"{} s\"", bytes.between(0.1, 90.0), bytes.next() + 1);
        }
    }
    let from = bytes.of(&["lithium-ion-pouch", "coin-20mm", "alkaline-2-aa", "lithium-thionyl-half-aa"]);
    let _ = writeln!(root, "[battery]\nfrom = \"{from}\"");
    calculated(root)
}

fn rail(root: &mut String, name: &str, all: &[&str], bytes: &mut Bytes<'_>) {
    let _ = writeln!(root, "[board.rails.{name}]");
    // What feeds the panel and the microcontroller suits them and the battery more often than not.
    let kind = match name {
        "main" if !bytes.seldom() => bytes.of(&["ldo", "buck-boost"]),
        _ => bytes.of(&["ldo", "buck", "boost", "buck-boost", "load-switch", "direct"]),
    };
    let _ = writeln!(root, "regulator = \"{kind}\"");
    if name != "main" || bytes.seldom() && bytes.seldom() {
        let source = match bytes.next() % 8 {
            0 => bytes.of(all),
            1..4 => "main",
            _ => "battery",
        };
        let _ = writeln!(root, "source = \"{source}\"");
    }
    if kind != "direct" {
        let _ = writeln!(root, "quiescent = \"{:.3} uA\"", bytes.between(0.0, 30.0));
    }
    if !matches!(kind, "load-switch" | "direct") {
        let (low, high) = match (name, kind) {
            ("main", _) => (2.4, 3.2),
            (_, "boost") => (3.8, 5.5),
            (_, "ldo" | "buck") => (1.2, 2.8),
            _ => (1.2, 5.0),
        };
        let _ = writeln!(root, "output = \"{:.2} V\"", bytes.between(low, high));
    }
    let _ = match kind {
        "ldo" => writeln!(root, "dropout = \"{:.0} mV\"", bytes.between(0.0, 400.0)),
        "load-switch" => writeln!(root, "resistance = \"{:.2} Ohm\"", bytes.between(0.0, 5.0)),
        "direct" => Ok(()),
        _ => {
            let at = ["10 uA", "1 mA", "100 mA"];
            let rows = bytes.next() % at.len() + 1;
            let row = |at: &&str| format!("{{ at = \"{at}\", is = \"{:.0} %\" }}", bytes.between(20.0, 100.0));
            let rows: Vec<String> = at[..rows].iter().map(row).collect();
            writeln!(root, "efficiency = [ {} ]", rows.join(", "))
        }
    };
    if kind != "direct" && bytes.seldom() && (name != "main" || bytes.seldom()) {
        let _ = writeln!(root, "enabled = \"while-used\"\nstart-up = \"{:.1} ms\"", bytes.between(0.0, 20.0));
        let _ = writeln!(root, "capacitor = \"{:.0} uF\"", bytes.between(0.0, 100.0));
    }
    if bytes.seldom() {
        let _ = writeln!(root, "current-limit = \"{:.0} mA\"", bytes.between(1.0, 300.0));
    }
}

/// A battery of every chemistry with its tables overridden, in order or not.
pub fn battery(data: &[u8]) {
    cell(data);
}

/// As [`battery`]; whether it was a project.
pub fn cell(data: &[u8]) -> bool {
    let mut bytes = Bytes(data.iter());
    let mut root = format!("name = \"Fuzz\"\n{BOARD}")
        + "[board.rails.main]\nregulator = \"ldo\"\noutput = \"2.5 V\"\ndropout = \"50 mV\"\n";
    let from = bytes.of(&[
        "lithium-ion-pouch",
        "lithium-iron-phosphate",
        "coin-20mm",
        "alkaline-2-aa",
        "lithium-thionyl-half-aa",
    ]);
    let _ = writeln!(root, "[battery]\nfrom = \"{from}\"\ncapacity = \"{:.0} mAh\"", bytes.between(1.0, 1500.0));
    let _ = writeln!(root, "resistance = \"{:.1} Ohm\"", bytes.between(0.0, 50.0));
    let _ = writeln!(root, "reserve = \"{:.0} %\"", bytes.between(0.0, 100.0));
    let celsius = ["-20 °C", "0 °C", "25 °C", "60 °C"];
    let shares = ["0 %", "30 %", "70 %", "100 %"];
    for (key, at, low, high, unit) in [
        ("voltage", shares, 2.8, 4.3, "V"),
        ("capacity-over-temperature", celsius, 0.0, 120.0, "%"),
        ("resistance-over-temperature", celsius, 10.0, 900.0, "%"),
        ("resistance-over-charge", shares, 10.0, 900.0, "%"),
        ("self-discharge-over-temperature", celsius, 0.0, 900.0, "%"),
        ("ageing-over-temperature", celsius, 0.0, 900.0, "%"),
    ] {
        if bytes.next() % 2 == 0 {
            continue;
        }
        // Rising by themselves, as a table's maker would have them, or as they come.
        let (rising, mut last) = (!bytes.seldom(), low);
        let row = |at: &&str| {
            let value = bytes.between(if rising { last } else { low }, high);
            last = value;
            format!("{{ at = \"{at}\", is = \"{value:.2} {unit}\" }}")
        };
        let rows: Vec<String> = at.iter().map(row).collect();
        let _ = writeln!(root, "{key} = [ {} ]", rows.join(", "));
    }
    calculated(root)
}
