//! Values that no device has are refused where they stand, before anything is calculated from them.

use crate::plain::{BASE, load, try_device};

const USE: &str = "[usage]\nhome = \"a\"\nstart = \"2031-01-01\"\n\
                   temperature = { low = \"20 °C\", high = \"20 °C\", warmest = \"12:00\" }\n";
const SCREENS: [(&str, &str); 1] = [("a", "content = [ { text = \"A\" } ]")];

/// What is said of the base with one line changed.
fn said(from: &str, to: &str) -> String {
    assert!(BASE.contains(from), "{from}");
    load(BASE.replace(from, to) + USE, &SCREENS).err().unwrap_or_default()
}

fn says(text: &str, parts: &[&str]) {
    for part in parts {
        assert!(text.contains(part), "no {part:?} in:\n{text}");
    }
}

#[test]
fn signs_and_sizes_are_those_of_the_world() {
    says(&said("sleep = \"2 uA\"", "sleep = \"-5 mA\""), &["device.toml:", "expected a current from 0 A", "\"-5 mA\""]);
    says(&said("wake = \"1 ms\"", "wake = \"1000000 year\""), &["expected a time from", "100 years"]);
    says(&said("clock = \"1 MHz\"", "clock = \"0 MHz\""), &["expected a frequency from 1 Hz"]);
    says(
        &said("viewing-distance = \"40 cm\"", "viewing-distance = \"0 cm\""),
        &["device.toml:", "the eye is at some distance"],
    );
    let blink = "[board.loads.light]\ncurrent = \"1 mA\"\non = \"0 s\"\nperiod = \"0 s\"\n";
    says(
        &try_device(&format!("{blink}{USE}"), &SCREENS).err().unwrap_or_default(),
        &["the period of `light` must be longer"],
    );
    says(&said("window-bytes = 0", "window-bytes = 0\nmax-windows = 9"), &["expected 1 to 8 windows"]);
}

#[test]
fn a_buffer_that_the_board_lacks_is_refused_and_one_beyond_the_panel_too() {
    let with = |buffer: &str| try_device(&format!("[policy]\nbuffer = {buffer}\n{USE}"), &SCREENS);
    says(&with("\"external\"").err().unwrap_or_default(), &["no external memory", "device.toml:", "strip-lines = 16"]);
    says(&with("{ strip-lines = 0 }").err().unwrap_or_default(), &["a strip of no lines"]);
    let beyond = with("{ strip-lines = 500 }").err().unwrap_or_default();
    assert!(beyond.contains("500") && beyond.contains("64"), "{beyond}");
}

#[test]
fn names_that_files_are_named_after_stay_in_their_folder() {
    for name in ["../x", "/x", ".x"] {
        let face = format!("[fonts.\"{name}\"]\nfile = \"fonts/a.bdf\"\n{USE}");
        let screen = format!("content = [ {{ text = \"A\", font = \"{name}\" }} ]");
        let text = try_device(&face, &[("a", &screen)]).err().unwrap_or_default();
        says(&text, &["cannot be the name of a font", "letters, digits, - and _"]);
    }
}

#[test]
fn a_longer_text_than_can_be_set_is_refused_at_once() {
    let started = std::time::Instant::now();
    let long = format!("content = [ {{ text = \"{}\" }} ]", "a".repeat(3_000_000));
    says(&try_device(USE, &[("a", &long)]).err().unwrap_or_default(), &["this text has 3000000 bytes"]);
    // It took minutes.
    assert!(started.elapsed().as_secs() < 60);
}

#[test]
fn places_far_off_the_glass_do_not_overflow() {
    let far = "at = [2000000000, 2000000000]";
    let screen = format!("content = [ {{ stack = [ {{ stack = [ {{ text = \"A\", {far} }} ], {far} }} ], {far} }} ]");
    assert!(try_device(USE, &[("a", &screen)]).is_ok());
}

#[test]
fn a_part_without_the_flash_and_a_life_that_cannot_be_told_are_findings() {
    let found = |base: String, more: &str| {
        let device = load(base + more + USE, &SCREENS).expect("it can be read");
        let faults = inkjoule::check::limits(&device, &inkjoule::budget::summary::budget(&device));
        faults.into_iter().filter_map(|fault| fault.id).collect::<Vec<_>>()
    };
    assert!(found(BASE.replace("flash = \"16 KiB\"", "flash = \"1 B\""), "").contains(&"flash"));
    assert!(!found(BASE.to_owned(), "").contains(&"flash"));
    // Hotter than the tables of the cell: no life, so none to hold against the limit.
    let hot = USE.replace("20 °C", "55 °C").replace("[usage]", "[limits]\nlife = \"1 year\"\n[usage]");
    let cells = BASE.replace("chemistry = \"lithium-ion\"", "chemistry = \"alkaline\"\ncells = 4");
    let device = load(format!("{cells}{hot}"), &SCREENS).expect("it can be read");
    let budget = inkjoule::budget::summary::budget(&device);
    assert!(budget.life.is_err(), "the tables reach there");
    let faults = inkjoule::check::limits(&device, &budget);
    assert!(faults.iter().any(|fault| fault.id == Some("limit-life")));
    // Nor a voltage: it is not said to collapse.
    let supply = faults.iter().find(|fault| fault.id == Some("supply")).expect("it cannot be told");
    assert!(supply.message.contains("is unknown: the capacity over temperature is known from"), "{}", supply.message);
}

#[test]
fn currents_beyond_a_table_of_efficiency_are_pointed_out() {
    let ids = |rows: &str| {
        let rail =
            format!("regulator = \"buck-boost\"\noutput = \"3 V\"\nmin-input = \"1.8 V\"\nefficiency = [{rows}]\n");
        let device = crate::plain::device_on(&rail, USE, &SCREENS);
        let subject = inkjoule::lint::Subject::new(&device, vec![0]);
        let findings = inkjoule::lint::findings(&subject);
        let of = |finding: &inkjoule::lint::Finding| finding.fault.id == Some("efficiency-unknown");
        findings.iter().filter(|finding| of(finding)).map(|finding| finding.fault.message.clone()).collect::<Vec<_>>()
    };
    let both = ids("{ at = \"1 mA\", is = \"80 %\" }, { at = \"2 mA\", is = \"85 %\" }");
    assert_eq!(both.len(), 2, "{both:?}");
    says(&both.join("\n"), &["3 uA in sleep", "known from 1 mA", "known up to 2 mA"]);
    assert!(ids("{ at = \"1 uA\", is = \"40 %\" }, { at = \"20 mA\", is = \"85 %\" }").is_empty());
}

#[test]
fn what_contradicts_itself_is_refused_at_its_place() {
    let at = "device.toml:";
    says(
        &said("sleep = \"2 uA\"", "sleep = \"2 A\""),
        &[at, "the microcontroller takes 2 A in sleep", "sleep is often in uA"],
    );
    says(&said("sleep = \"1 uA\"", "sleep = \"1 A\""), &[at, "the panel takes 1 A in sleep"]);
    says(&said("rated-refreshes = 1_000_000", "rated-refreshes = 0"), &[at, "rated for no refresh"]);
    says(
        &said("window-bytes = 0", "window-bytes = 0\npacking = { stride = 3 }"),
        &[at, "this packing does not suit the panel"],
    );
    says(&said("cycles-per-pixel = 10", ""), &[at, "is not said", "`cycles-per-pixel`"]);
    says(&said("cycles-per-pixel = 10", "cycles-per-pixel = inf"), &[at, "is not a usable number"]);
    says(&said("cycles-per-pixel = 10", "cycles-per-pixel = 1e300"), &[at, "write a number up to"]);
    let policy = |line: &str| try_device(&format!("[policy]\n{line}\n{USE}"), &SCREENS).err().unwrap_or_default();
    says(&policy("full-every = \"0 s\""), &[at, "cannot follow one another immediately"]);
    for cells in [0, 65_536] {
        says(&policy(&format!("memo = {cells}")), &[at, &format!("a memo has 1 to 65535 cells, found {cells}")]);
    }
    says(&policy("buffer = { external-lines = 16 }"), &[at, "the board has no external memory"]);
    let memory = "[board.memory]\nsize = \"64 KiB\"\nactive = \"1 mA\"\nstandby = \"1 uA\"\n";
    let lines = |lines: u32| policy(&format!("buffer = {{ external-lines = {lines} }}\n{memory}"));
    says(&lines(1), &[at, "fewer than two lines at a time cannot be drawn", "external-lines = 16"]);
    says(&lines(5_000), &[at, "a strip of 5000 lines is more than the"]);
    assert_eq!(lines(2), "");
}

#[test]
fn a_sheet_beyond_the_largest_picture_is_an_error() {
    use inkjoule::screen::ScreenId;
    let device = try_device(USE, &SCREENS).expect("it can be read");
    let frame = device.draw(ScreenId(0), 0, &device.sample());
    let sheet = |count: usize| inkjoule::render::sheet(&device, 0, &vec![(ScreenId(0), frame.clone()); count], 1);
    assert!(sheet(30).is_ok());
    assert!(sheet(1_200).is_err_and(|fault| fault.message.contains("too large")));
}

/// The float voltage's share of ageing is 50 % for 100 mV less
/// (BU-808, public table: cycle life roughly doubles).
#[test]
fn the_explained_life_fades_as_the_float_voltage_lets_it() {
    let at = |float: &str| {
        let text =
            BASE.replace("ageing = \"0 %/year\"", &format!("ageing = \"4 %/year\"\ncharge-voltage = \"{float}\""));
        let device = load(format!("{text}{USE}"), &SCREENS).expect("it can be read");
        let budget = inkjoule::budget::summary::budget(&device);
        inkjoule::budget::explain::explain(&device, &budget, "life").expect("a life").text
    };
    let line = |text: &str| {
        text.lines()
            .find(|line| line.trim_start().starts_with("capacity fade a "))
            .map(str::to_owned)
            .expect("it is there")
    };
    assert!(line(&at("4.2 V")).contains("of it 100 %"), "{}", line(&at("4.2 V")));
    assert!(line(&at("4.1 V")).contains("of it 50 %"), "{}", line(&at("4.1 V")));
}

/// A core stands for the exported code on it; own figures override it.
#[test]
fn a_core_draws_as_it_was_measured_unless_own_figures_say_it() {
    use inkjoule::hardware::core::{Core, DrawingTime};
    let of = |to: &str| {
        let device = load(BASE.replace("cycles-per-pixel = 10", to) + USE, &SCREENS);
        device.unwrap_or_else(|text| panic!("{text}")).board.mcu.drawing
    };
    assert_eq!(of("core = \"cortex-m0\""), DrawingTime::Exported(Core::CortexM0));
    assert_eq!(of("core = \"avr\"\ncycles-per-pixel = 12"), DrawingTime::PerPixel(12.0));
}
