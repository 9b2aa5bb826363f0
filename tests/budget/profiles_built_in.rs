//! Every built-in profile in a small project: it loads, it gives a life, and each of its values has a source or is
//! listed as an assumption.

use inkjoule::budget::summary::budget;
use inkjoule::hardware::profiles::{PROFILES, names, text, whole};
use inkjoule::project::{Loaded, load_files};
use inkjoule::source::files::Files;
use inkjoule::units::{Celsius, Seconds};

const SCREEN: &str = "title = \"Home\"\ncontent = [ { text = \"Hello\" } ]\n";

fn device(panel: &str, battery: &str) -> String {
    format!(
        r#"
name = "Small"
[panel]
from = "{panel}"
[display]
viewing-distance = "40 cm"
keys = []
[board.mcu]
ram = "64 KiB"
flash = "64 KiB"
clock = "16 MHz"
active = "2 mA"
sleep = "2 uA"
wake = "1 ms"
cycles-per-pixel = 20
[board.bus]
clock = "4 MHz"
overhead = "20 %"
[board.rails.main]
regulator = "buck-boost"
output = "3.0 V"
efficiency = "85 %"
min-input = "1.5 V"
max-input = "5.5 V"
[battery]
from = "{battery}"
[usage]
home = "home"
start = "2031-01-01"
sample-at = "10:00"
temperature = {{ low = "10 °C", high = "24 °C", warmest = "15:00" }}
"#
    )
}

fn load(panel: &str, battery: &str, more: &[(&str, &str)]) -> Loaded {
    let device = device(panel, battery);
    let mut files = vec![("device.toml", device.as_str()), ("screens/home.toml", SCREEN)];
    files.extend(more);
    load_files(Files::from_memory(files)).unwrap_or_else(|failed| {
        let messages: Vec<&str> = failed.faults.iter().map(|fault| fault.message.as_str()).collect();
        panic!("{panel} and {battery}: {messages:?}")
    })
}

fn assert_usable(panel: &str, battery: &str) {
    let loaded = load(panel, battery, &[]);
    let budget = budget(&loaded.device);
    let life = budget.life.unwrap_or_else(|why| panic!("{panel} and {battery} give no life: {why}"));
    assert!(life.p10.time <= life.p50.time && life.p50.time <= life.p90.time);
    for row in loaded.device.inputs.rows() {
        let assumed = budget.assumptions.iter().any(|line| line.starts_with(&format!("{} = ", row.path)));
        assert!(row.source.is_some() || assumed, "{} of {panel} and {battery}", row.path);
    }
    assert!(!loaded.device.panel.note.is_empty() && !loaded.device.battery.note.is_empty());
}

#[test]
fn every_panel_can_be_used() {
    assert_eq!(names("panels").count(), 17);
    names("panels").for_each(|panel| assert_usable(panel, "lithium-ion-pouch"));
}

#[test]
fn every_battery_can_be_used() {
    assert_eq!(names("batteries").count(), 19);
    names("batteries").for_each(|battery| assert_usable("mono-250x122", battery));
}

#[test]
fn each_size_comes_with_and_without_partial_refreshes() {
    for panel in names("panels") {
        let device = load(panel, "lithium-ion-pouch", &[]).device;
        assert_eq!(device.panel.partial.is_none(), panel.ends_with("-full"), "{panel}");
        let range = device.panel.partial.as_ref().map(|partial| partial.covers(Celsius(25.0)));
        assert_ne!(range, Some(false), "{panel}");
    }
}

#[test]
fn the_name_is_the_resolution_and_the_note_tells_the_diagonal() {
    for panel in names("panels") {
        let device = load(panel, "lithium-ion-pouch", &[]).device;
        let size = device.panel.size();
        let [across, down] = device.panel.pitch.map(|pitch| pitch.0);
        let diagonal = (across * f64::from(size.width)).hypot(down * f64::from(size.height)) / 0.0254;
        let note = device.panel.note.split(", ").find_map(|part| part.strip_suffix(" in")).expect("inches");
        let inches: f64 = note.parse().expect("a number");
        let named = panel.trim_start_matches("mono-").trim_end_matches("-full").split_once('x').expect("a resolution");
        let [long, short] = [size.width.max(size.height), size.width.min(size.height)];
        assert_eq!((named.0.to_owned(), named.1.to_owned()), (long.to_string(), short.to_string()), "{panel}");
        assert!((diagonal / inches - 1.0).abs() < 0.02, "{panel}: {diagonal:.3} in");
        // The pixels of all of them are square within 2 %.
        assert!((across / down - 1.0).abs() < 0.02, "{panel}");
    }
}

#[test]
fn documented_values_are_as_published_and_say_so() {
    // 2.13inch e-Paper specification, section 3.2: 4.5 mA while updating at 3.3 V, deep sleep at most 2 uA, 0 to 50 °C.
    let small = load("mono-250x122", "lithium-ion-pouch", &[]).device;
    let warm = small.panel.full.knots.iter().find(|knot| knot.at == Celsius(25.0)).unwrap();
    let (current, sleep) = (small.inputs.row(warm.current), small.inputs.row(small.panel.sleep));
    assert!((current.typ - 4.5e-3).abs() < 1e-12 && (sleep.max - 2e-6).abs() < 1e-15);
    assert!([current, sleep].iter().all(|row| row.source.as_ref().is_some_and(|from| from.contains("section 3.2"))));
    assert_eq!(small.panel.full.knots.first().map(|knot| knot.at), Some(Celsius(0.0)));
    assert_eq!(small.panel.full.knots.last().map(|knot| knot.at), Some(Celsius(50.0)));
    // Technical specification of model HTEW029C32, rev. 1.1 (2017): 128 x 296, 29.06 mm x 66.9 mm.
    let nine = load("mono-296x128", "lithium-ion-pouch", &[]).device;
    assert_eq!((nine.panel.native.width, nine.panel.native.height), (128, 296));
    assert!(
        (nine.panel.pitch[0].0 * 128.0 - 0.02906).abs() < 1e-9 && (nine.panel.pitch[1].0 * 296.0 - 0.0669).abs() < 1e-9
    );
    // Maker's advice for small modules, quoted on a public wiki page: rated 1,000,000 refreshes.
    assert_eq!(nine.panel.rated_refreshes, Some(1_000_000));
    // BU-808, public table: 4.00 V stores 70 to 75 %, 4.10 V 85 to 90 % of what 4.20 V does.
    let usable = |battery: &str| {
        let device = load("mono-296x128", battery, &[]).device;
        device.battery.cell(&device.inputs.typical(), Seconds(0.0)).usable_charge(Celsius(20.0)).unwrap().0
    };
    let full = usable("lithium-ion-pouch-4v2");
    let (most, middle) = (usable("lithium-ion-pouch") / full, usable("lithium-ion-pouch-4v0") / full);
    assert!((0.85..=0.90).contains(&most) && (0.70..=0.75).contains(&middle), "{most} and {middle}");
    // 225 mAh for a cell of 20 mm and 3.2 mm: memory, data sheets of several makers.
    let coin = load("mono-296x128", "coin-20mm", &[]).device;
    assert!((coin.inputs.row(coin.battery.capacity).typ - 0.225 * 3600.0).abs() < 1e-9);
}

#[test]
fn a_printed_profile_is_the_same_as_the_built_in_one() {
    for (folder, name, _) in PROFILES {
        let (panel, battery) = if *folder == "panels" { (*name, "coin-24mm") } else { ("mono-250x122", *name) };
        let built_in = load(panel, battery, &[]).device;
        let file = format!("{folder}/mine.toml");
        let (panel, battery) = if *folder == "panels" { ("mine", battery) } else { (panel, "mine") };
        let printed = whole(folder, name).unwrap();
        let own = load(panel, battery, &[(&file, &printed)]).device;
        let rows = |device: &inkjoule::device::Device| {
            let rows = device.inputs.rows().iter();
            rows.map(|row| format!("{} {} {} {} {:?}", row.path, row.min, row.typ, row.max, row.source))
                .collect::<Vec<_>>()
        };
        assert_eq!(rows(&own), rows(&built_in), "{folder}/{name}");
        assert_eq!(own.battery.float, built_in.battery.float, "{folder}/{name}");
    }
}

#[test]
fn a_projects_profile_may_start_from_a_built_in_one_but_not_in_a_circle() {
    let mine = "from = \"mono-296x128-full\"\nnote = \"mine\"\nmax-windows = 2\n";
    let device = load("mine", "coin-20mm", &[("panels/mine.toml", mine)]).device;
    assert_eq!((device.panel.note.as_str(), device.panel.max_windows, device.panel.native.width), ("mine", 2, 128));
    let text = self::device("a", "coin-20mm");
    let circle = [
        ("device.toml", text.as_str()),
        ("screens/home.toml", SCREEN),
        ("panels/a.toml", "from = \"b\"\n"),
        ("panels/b.toml", "from = \"a\"\n"),
    ];
    let failed = load_files(Files::from_memory(circle)).unwrap_err();
    assert!(failed.faults.iter().any(|fault| fault.message.contains("in a circle")), "{:?}", failed.faults);
}

#[test]
fn names_are_neutral_and_texts_without_makers() {
    for (folder, name, _) in PROFILES {
        assert!(name.chars().all(|letter| letter.is_ascii_lowercase() || letter.is_ascii_digit() || letter == '-'));
        assert!(text(folder, name).unwrap().contains("note = "), "{name}");
    }
}

/// A profile's note tells the profile; a project that states another capacity has none of it.
#[test]
fn a_note_does_not_outlive_what_it_tells() {
    let battery = |more: &str| {
        let text = device("mono-296x128", "lithium-ion-pouch");
        let from = "from = \"lithium-ion-pouch\"";
        assert!(text.contains(from), "{text}");
        let text = text.replace(from, &format!("{from}\n{more}"));
        let files = Files::from_memory([("device.toml", text.as_str()), ("screens/home.toml", SCREEN)]);
        load_files(files).unwrap_or_else(|failed| panic!("{:#?}", failed.faults)).device.battery.note
    };
    assert!(battery("").contains("4.1 V"));
    assert_eq!(battery("capacity = \"400 mAh\""), "");
}
