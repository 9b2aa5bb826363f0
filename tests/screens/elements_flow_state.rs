//! Elements shown by where the flow is: on which screen, from which screen, after which event.

use crate::firmware::order;
use inkjoule::behaviour::EventId;
use inkjoule::device::Device;
use inkjoule::firmware::tables::Tables;
use inkjoule::frame::Frame;
use inkjoule::machine::canvas::Canvas;
use inkjoule::machine::state::State;
use inkjoule::machine::{Machine, World};
use inkjoule::project::load_files;
use inkjoule::screen::values::{FieldId, Values};
use inkjoule::source::files::Files;
use inkjoule::units::Seconds;

const PART: &str = r#"content = [
  { box = 0, fill = "ink", at = [0, 0], size = [8, 8], when = { screen = "home" } },
  { box = 0, fill = "ink", at = [10, 0], size = [8, 8], when = { screen = ["menu", "empty"] } },
  { box = 0, fill = "ink", at = [20, 0], size = [8, 8], when = { from-screen = "menu" } },
  { box = 0, fill = "ink", at = [30, 0], size = [8, 8], when = { event = "reading" }, name = "blot" },
]
"#;

fn files(part: &str) -> Files {
    let home =
        "content = [ { part = \"status\" }, { text = \"{level}\", at = [0, 40] } ]\n[keys]\n1 = { go = \"menu\" }\n";
    let menu =
        "content = [ { part = \"status\" }, { text = \"at {taken}\", at = [0, 40] } ]\n[keys]\n1 = { go = \"home\" }\n";
    Files::from_memory([
        ("device.toml", include_str!("../../src/cli/starter/device.toml")),
        ("screens/home.toml", home),
        ("screens/menu.toml", menu),
        ("screens/empty.toml", include_str!("../../src/cli/starter/empty.toml")),
        ("parts/status.toml", part),
    ])
}

fn device() -> Device {
    load_files(files(PART)).unwrap_or_else(|failed| panic!("{:#?}", failed.faults)).device
}

/// Which of the four boxes are on the panel.
fn boxes(frame: &Frame) -> [bool; 4] {
    [0, 10, 20, 30].map(|x| frame.ink(x + 4, 4))
}

/// A world in which nothing moves.
struct Still;

impl World for Still {
    fn sample(&mut self, _: &Device, field: FieldId, _: Seconds, values: &Values) -> f64 {
        values.of(field)
    }
}

fn shown(device: &Device, state: &State) -> [bool; 4] {
    boxes(&device.draw(state.screen, 0, &state.values))
}

#[test]
fn a_running_device_shows_them_as_the_flow_goes() {
    let device = device();
    let mut machine = Machine::shown(&device, device.usage.home, 0);
    let mut canvas = Canvas::new(&device);
    let mut look = |state: &State| {
        canvas.draw(&device, state, None);
        canvas.adopt();
        assert!(canvas.shown == device.draw(state.screen, 0, &state.values), "what changed was redrawn");
        boxes(&canvas.shown)
    };
    assert_eq!(look(&machine.state), [true, false, false, false]);
    machine.happen(&device, EventId(0), &mut Still);
    assert_eq!(look(&machine.state), [true, false, false, true], "the event has happened");
    machine.press(&device, 0, &mut Still);
    assert_eq!(look(&machine.state), [false, true, false, false], "a new screen forgets the event");
    machine.press(&device, 0, &mut Still);
    assert_eq!(look(&machine.state), [true, false, true, false], "home was entered from the menu");
    machine.happen(&device, EventId(0), &mut Still);
    machine.happen(&device, EventId(0), &mut Still);
    assert_eq!(look(&machine.state), [true, false, true, true]);
}

#[test]
fn sample_pictures_show_a_quiet_device_and_lints_try_the_rest() {
    let device = device();
    assert_eq!(shown(&device, &State::new(&device, device.usage.home)), [true, false, false, false]);
    // What is on other screens only is no element of this one.
    let home = device.screen("home").expect("there");
    assert_eq!(device.screens[home.0].pictures[0].len(), 4);
    // Lints try the event: only then do these two texts lie over one another.
    let two = "content = [ { text = \"one\", at = [0, 20] }, { text = \"two\", at = [4, 22], when = { event = \"reading\" } } ]";
    let overlapping = load_files(files(two)).unwrap_or_else(|failed| panic!("{:#?}", failed.faults)).device;
    let found = inkjoule::check::check(
        &inkjoule::lint::Subject::new(&overlapping, vec![0]),
        &inkjoule::budget::summary::budget(&overlapping),
    );
    let ids: Vec<_> = found.iter().filter_map(|finding| finding.fault.id).collect();
    assert!(ids.contains(&"overlap"), "{ids:?}");
}

#[test]
fn transitions_and_the_simulation_know_where_they_come_from() {
    let device = device();
    let point = device.inputs.typical();
    let all = inkjoule::budget::transition::transitions(&device, &point, inkjoule::units::Celsius(15.0));
    let (home, menu) = (device.screen("home").expect("there"), device.screen("menu").expect("there"));
    let back = all.iter().find(|way| way.from == menu && way.to == home).expect("a key leads there");
    // Home from the menu: the first box comes, the second goes, the third comes.
    let mut values = device.sample();
    let before = device.draw(menu, 0, &values);
    device.flow_state.enter(&mut values, menu);
    let after = device.draw(home, 0, &values);
    assert_eq!(Some(back.change.changed), before.changed_pixels(&after));
    assert_eq!(boxes(&after), [true, false, true, false]);
    let counts = inkjoule::simulate::simulate(&device, &point);
    assert!(counts.full + counts.partial > 0.0 as _, "it runs");
}

#[test]
fn exports_carry_them_as_fields_that_firmware_sets() {
    let device = device();
    let order = order(&device);
    let names: Vec<&str> = device.fields.iter().map(|field| field.name.as_str()).collect();
    assert!(names.ends_with(&["screen before", "reading since entry"]), "{names:?}");
    let tables = Tables::of(&order).expect("exports");
    let home = device.screen("home").expect("there");
    let sheet = tables.sheets.iter().find(|sheet| sheet.screen == home).expect("there");
    // The box of this screen is background; two wait for their fields.
    assert!(sheet.background.ink(4, 4) && !sheet.background.ink(14, 4));
    let checks: Vec<_> =
        sheet.entries.iter().flat_map(|entry| &entry.checks).map(|check| (check.field, check.limit)).collect();
    let menu = device.screen("menu").expect("there").0 as i32;
    assert_eq!(checks, [(names.len() - 2, menu), (names.len() - 1, 1)]);
}

#[test]
fn unknown_names_and_mixtures_are_refused_where_they_stand() {
    for (when, words) in [
        ("{ screen = \"hme\" }", "there is no screen `hme`"),
        ("{ screen = [\"home\", \"hme\"] }", "there is no screen `hme`"),
        ("{ from-screen = \"hme\" }", "there is no screen `hme`"),
        ("{ event = \"storm\" }", "there is no event `storm`"),
        ("{ screen = \"home\", is = 1 }", "asks one of"),
        ("{ screen = \"home\", event = \"reading\" }", "asks one of"),
        ("{ is = 1 }", "asks one of"),
        ("{ field = \"level\" }", "exactly one of"),
    ] {
        let part = format!("content = [ {{ box = 1, at = [0, 0], size = [8, 8], when = {when} }} ]\n");
        let Err(failed) = load_files(files(&part)) else { panic!("{when} was taken") };
        assert!(failed.faults.iter().any(|fault| fault.message.contains(words)), "{when}: {:#?}", failed.faults);
    }
    // What a key does asks fields only; what else stood beside the field was passed over in silence.
    for more in
        ["for = \"10 s\"", "after = { key = 1 }", "screen = \"home\"", "from-screen = \"home\"", "event = \"reading\""]
    {
        let home = format!(
            "content = [ {{ text = \"{{level}}\" }} ]\n[keys]\n1 = {{ first = [ {{ when = {{ field = \"level\", below = 3, {more} }}, do = [ {{ go = \"empty\" }} ] }} ] }}\n"
        );
        only_fields(include_str!("../../src/cli/starter/device.toml"), &home);
    }
    // An event's own condition asks fields only.
    let root = include_str!("../../src/cli/starter/device.toml").to_owned()
        + "\n[events.late]\nwhen = { screen = \"home\" }\n";
    only_fields(&root, include_str!("../../src/cli/starter/home.toml"));
}

/// The starter project with another root and home screen is refused, since something asks more than a field.
fn only_fields(root: &str, home: &str) {
    let files = Files::from_memory([
        ("device.toml", root),
        ("screens/home.toml", home),
        ("screens/empty.toml", include_str!("../../src/cli/starter/empty.toml")),
    ]);
    let Err(failed) = load_files(files) else { panic!("it was taken: {home}") };
    assert!(
        failed.faults.iter().any(|fault| fault.message.contains("only elements, labels and `while` can ask")),
        "{home}: {:#?}",
        failed.faults
    );
}
