//! Cases derived by hand: changes in the unit that is shown, items and characters that a cursor names, values that would
//! leave their range, positions that stay within what exists. Reactions are carried out whole, in order (W3C SCXML 1.0,
//! appendix D); a change that is refused ends its reaction.

use crate::plain::{device, try_device};
use inkjoule::behaviour::EventId;
use inkjoule::device::Device;
use inkjoule::machine::{Machine, Note, State, World, explore};
use inkjoule::screen::values::{FieldId, Values};
use inkjoule::units::Seconds;

const FIELDS: &str = "
[fields.system]
choices = [\"metric\", \"feet\"]
[quantities.length]
by = \"system\"
units = [ { unit = \"m\", decimals = 2 }, { unit = \"ft\", factor = 3.280839895013123, decimals = 1 } ]
[fields.level]
quantity = \"length\"
range = [0, 12]
sample = 3.048
[fields.n]
range = [0, 9]
[fields.m]
range = [0, 9]
[fields.item]
range = [0, 1]
[fields.posts]
range = [0, 5]
sample = 5
on = \"report\"
[fields.row]
range = [0, 4]
within = \"posts\"
[fields.name]
text = { length = 3, letters = \" ABC\", sample = \"AB\" }
[fields.place]
range = [0, 2]
[events.report]
per-day = 1
";
const USAGE: &str = "[usage]\nhome = \"a\"\nstart = \"2031-01-01\"\n\
                     temperature = { low = \"20 °C\", high = \"20 °C\", warmest = \"12:00\" }\n";
const WARNING: &str = "content = [ { text = \"Too much\" } ]\n[box]\nsize = [80, 20]\n[keys]\n1 = { close = true }\n";

fn screens(key: &str) -> [(&'static str, String); 2] {
    let a = format!(
        "edit = [\"name\"]\ncontent = [ {{ text = \"{{n}} {{level}}\" }} ]\n[keys]\n1 = {key}\n2 = {{ cancel = true }}\n"
    );
    [("a", a), ("warning", WARNING.to_owned())]
}

fn with(key: &str) -> Device {
    let [a, warning] = screens(key);
    device(&format!("{FIELDS}{USAGE}"), &[(a.0, &a.1), (warning.0, &warning.1)])
}

fn refused(key: &str, expected: &str) {
    let [a, warning] = screens(key);
    let found = try_device(&format!("{FIELDS}{USAGE}"), &[(a.0, &a.1), (warning.0, &warning.1)]);
    let text = found.err().unwrap_or_default();
    assert!(text.contains(expected) && text.contains("screens/a.toml:"), "{expected}: {text}");
}

struct Run<'d> {
    device: &'d Device,
    state: State,
}

impl<'d> Run<'d> {
    fn new(device: &'d Device) -> Self {
        Self { device, state: State::new(device, device.usage.home) }
    }

    fn press(&mut self, key: usize) {
        let rule = &self.device.wirings[self.state.front().0].keys[key];
        self.state.react(self.device, &rule.press, 1.0);
    }

    fn id(&self, name: &str) -> FieldId {
        self.device.field(name).expect("a field")
    }

    fn put(&mut self, name: &str, value: f64) {
        let id = self.id(name);
        self.state.values.put(id, value);
    }

    fn of(&self, name: &str) -> f64 {
        self.state.values.of(self.id(name))
    }

    fn front(&self) -> &str {
        &self.device.screens[self.state.front().0].id
    }
}

#[test]
fn a_step_counts_in_the_unit_that_is_shown() {
    let device = with("{ change = { field = \"level\", by = 0.1 } }");
    let mut run = Run::new(&device);
    // 3.048 m is held; 3.048 + 0.1.
    run.press(0);
    assert!((run.of("level") - 3.148).abs() < 1e-12);
    // In feet 10.0 is seen for 3.048 m, and 10.1 afterwards.
    let mut run = Run::new(&device);
    run.put("system", 1.0);
    run.press(0);
    assert!((run.of("level") - 10.1 * 0.3048).abs() < 1e-12, "{}", run.of("level"));
    // A value between two numbers goes on from the one that is seen: 3.06 m is 10.04 ft, seen as 10.0.
    run.put("level", 3.06);
    run.press(0);
    assert!((run.of("level") - 10.1 * 0.3048).abs() < 1e-12);
}

#[test]
fn a_hundred_steps_there_and_back_lose_nothing() {
    let device = with("{ change = { field = \"level\", by = 0.1 } }");
    let mut run = Run::new(&device);
    run.put("system", 1.0);
    run.put("level", 0.0);
    (0..100).for_each(|_| run.press(0));
    assert!((run.of("level") - 3.048).abs() < 1e-9, "10 ft: {}", run.of("level"));
    // The end of the range is 12 m, in whatever unit.
    (0..1_000).for_each(|_| run.press(0));
    assert_eq!(run.of("level"), 12.0);
}

#[test]
fn a_digit_is_one_of_the_number_shown() {
    let device = with("{ change = { field = \"level\", digit = \"place\", by = 1 } }");
    let mut run = Run::new(&device);
    run.put("place", 1.0);
    // The second digit from the right: tenths of a metre, and whole feet.
    run.press(0);
    assert!((run.of("level") - 3.148).abs() < 1e-12);
    let mut run = Run::new(&device);
    run.put("place", 1.0);
    run.put("system", 1.0);
    run.press(0);
    assert!((run.of("level") - 11.0 * 0.3048).abs() < 1e-12);
}

#[test]
fn an_item_of_a_list_is_changed_and_the_others_are_not() {
    let device = with("{ change = { field = [\"n\", \"m\"], item = \"item\", by = 1, wrap = true } }");
    let mut run = Run::new(&device);
    run.press(0);
    run.put("item", 1.0);
    run.press(0);
    run.press(0);
    assert_eq!((run.of("n"), run.of("m")), (1.0, 2.0));
}

#[test]
fn characters_go_through_the_letters_and_cancel_restores_all_of_them() {
    let device = with("{ change = { field = \"name\", character = \"place\", by = 1, wrap = true } }");
    let mut run = Run::new(&device);
    run.put("place", 2.0);
    run.press(0);
    run.put("place", 0.0);
    (0..3).for_each(|_| run.press(0));
    // "AB " becomes "ABA"; three letters on from A are B, C and the space.
    let values: Vec<f64> = ["name", "name character 2", "name character 3"].map(|name| run.of(name)).to_vec();
    assert_eq!(values, [0.0, 2.0, 1.0]);
    run.press(1);
    let values: Vec<f64> = ["name", "name character 2", "name character 3"].map(|name| run.of(name)).to_vec();
    assert_eq!(values, [1.0, 2.0, 0.0]);
}

#[test]
fn a_value_that_would_leave_its_range_stays_and_a_box_says_so() {
    let key = "{ do = [ { change = { field = \"n\", by = 4, outside = \"warning\" } }, { change = { field = \"m\", by = 1 } } ] }";
    let device = with(key);
    let mut run = Run::new(&device);
    run.press(0);
    run.press(0);
    assert_eq!((run.of("n"), run.of("m"), run.front()), (8.0, 2.0, "a"));
    // 12 is beyond 9: nothing changes, and what else the key does is not done.
    run.press(0);
    assert_eq!((run.of("n"), run.of("m"), run.front()), (8.0, 2.0, "warning"));
    run.press(0);
    assert_eq!(run.front(), "a");
    // The box is among the states that can be reached.
    let found = explore::explore(&device, explore::STATES);
    assert_eq!(found.shown, [true, true]);
}

/// Reports that so many posts exist.
struct Report(f64);

impl World for Report {
    fn sample(&mut self, _: &Device, _: FieldId, _: Seconds, _: &Values) -> f64 {
        self.0
    }

    fn note(&mut self, _: Note) {}
}

#[test]
fn a_position_stays_within_what_exists() {
    let device = with("{ change = { field = \"row\", by = 1, wrap = true } }");
    let mut machine = Machine::shown(&device, device.usage.home, 0);
    let row = device.field("row").expect("a field");
    let mut world = Report(3.0);
    (0..4).for_each(|_| {
        machine.press(&device, 0, &mut world);
    });
    assert_eq!(machine.state.values.of(row), 4.0);
    // Three posts are left: the last of them is selected.
    machine.happen(&device, EventId(0), &mut world);
    assert_eq!(machine.state.values.of(row), 2.0);
    // The way round is as long as what exists.
    machine.press(&device, 0, &mut world);
    assert_eq!(machine.state.values.of(row), 0.0);
    // Nothing exists: the first position remains.
    machine.press(&device, 0, &mut world);
    world.0 = 0.0;
    machine.happen(&device, EventId(0), &mut world);
    machine.press(&device, 0, &mut world);
    assert_eq!(machine.state.values.of(row), 0.0);
}

#[test]
fn changes_that_cannot_be_meant_are_refused_at_their_place() {
    refused("{ change = { field = [\"n\", \"m\"], by = 1 } }", "a list of fields and `item` go together");
    refused("{ change = { field = [\"n\", \"x\"], item = \"item\", by = 1 } }", "there is no field `x`");
    refused("{ change = { field = [\"n\", \"m\"], item = \"row\", by = 1 } }", "`row` does not count these fields");
    refused("{ change = { field = \"name\", by = 1 } }", "a text and `character` go together");
    refused("{ change = { field = \"n\", character = \"place\", by = 1 } }", "a text and `character` go together");
    refused(
        "{ change = { field = \"name\", character = \"item\", by = 1 } }",
        "`item` does not count these characters",
    );
    refused("{ change = { field = \"n\", by = 1, outside = \"a\" } }", "`a` is a screen, not a box");
    refused("{ change = { field = \"n\", by = 1, outside = \"none\" } }", "there is no screen `none`");
    refused("{ change = { field = \"n\", by = 1, wrap = true, outside = \"warning\" } }", "never leaves its range");
}
