//! What a key's release does where something else came to the front, or where it was never seen; and a list without rows.

use crate::plain::device;
use inkjoule::behaviour::EventId;
use inkjoule::device::Device;
use inkjoule::machine::{Key, Machine, Taken, World, micros};
use inkjoule::screen::values::{FieldId, Values};
use inkjoule::units::Seconds;

const MORE: &str = "[fields.lamp]\nrange = [0, 1]\n[fields.n]\nrange = [0, 9]\n[fields.rows]\nrange = [0, 3]\nsample = 0\n\
    [fields.row]\nrange = [0, 2]\nwithin = \"rows\"\n[events.leak]\nper-day = 0\n[events.rain]\nper-day = 0\n\
    [usage]\nhome = \"a\"\nstart = \"2031-01-01\"\ntemperature = { low = \"20 °C\", high = \"20 °C\", warmest = \"12:00\" }\n";

/// Sampled fields keep their values.
struct Still;

impl World for Still {
    fn sample(&mut self, _: &Device, field: FieldId, _: Seconds, values: &Values) -> f64 {
        values.of(field)
    }
}

fn lamp_and_list() -> Device {
    let a = "content = [ { text = \"{lamp} {n} {rows} {row}\" } ]\n[keys]\n\
        1 = { change = { field = \"lamp\", to = 1 }, release = { do = [ { change = { field = \"lamp\", to = 0 } }, { go = \"b\" } ] } }\n\
        2 = { go = { by = \"row\", to = [\"b\", \"c\", \"b\"] } }\n[on]\nleak = { open = \"box\" }\nrain = { go = \"c\" }\n";
    let b = "content = [ { text = \"b {lamp}\" } ]\n[keys]\n1 = { change = { field = \"n\", by = 1 } }\n2 = { go = \"a\" }\n";
    let c = "content = [ { text = \"c {lamp}\" } ]\n[keys]\n2 = { go = \"a\" }\n";
    let over = "box = { size = [60, 30] }\ncontent = [ { text = \"leak\" } ]\n[keys]\n1 = { close = true }\n";
    device(MORE, &[("a", a), ("b", b), ("c", c), ("box", over)])
}

struct Bench {
    device: Device,
    machine: Machine,
}

impl Bench {
    fn new() -> Self {
        let device = lamp_and_list();
        let machine = Machine::shown(&device, device.usage.home, 0);
        Self { device, machine }
    }

    fn key(&mut self, key: Key) -> Taken {
        self.machine.key(&self.device, key, &mut Still)
    }

    fn event(&mut self, event: usize) {
        self.machine.happen(&self.device, EventId(event), &mut Still);
    }

    fn value(&self, name: &str) -> f64 {
        self.machine.state.values.of(self.device.field(name).expect("a field"))
    }

    fn front(&self) -> &str {
        &self.device.screens[self.machine.state.front().0].id
    }

    fn event_named(&self, name: &str) -> usize {
        self.device.events.iter().position(|event| event.name == name).expect("an event")
    }
}

#[test]
fn a_release_under_a_box_that_came_between_still_puts_out_the_lamp_and_leads_nowhere() {
    let mut bench = Bench::new();
    bench.key(Key::Down(0));
    assert_eq!(bench.value("lamp"), 1.0);
    let leak = bench.event_named("leak");
    bench.event(leak);
    assert_eq!((bench.front(), bench.value("lamp")), ("box", 1.0));
    // The finger is on the key still: let go now, it changes what it changes, and does not go to `b`.
    assert_eq!(bench.key(Key::Up(0)), Taken::Acted);
    assert_eq!((bench.front(), bench.value("lamp")), ("box", 0.0));
    // Once only: the key's next press is that of the box.
    assert_eq!(bench.key(Key::Up(0)), Taken::Nothing);
    bench.key(Key::Down(0));
    assert_eq!(bench.front(), "a");
}

#[test]
fn a_release_on_another_screen_is_that_of_the_screen_of_its_press() {
    let mut bench = Bench::new();
    bench.key(Key::Down(0));
    let rain = bench.event_named("rain");
    bench.event(rain);
    assert_eq!(bench.front(), "c");
    bench.key(Key::Up(0));
    assert_eq!((bench.front(), bench.value("lamp")), ("c", 0.0));
}

#[test]
fn a_key_that_goes_down_again_was_let_go_before() {
    let mut bench = Bench::new();
    bench.key(Key::Down(0));
    // Its release never came: it comes with the next press, and leads to `b`, whose key the press then is.
    bench.key(Key::Down(0));
    assert_eq!((bench.front(), bench.value("lamp"), bench.value("n")), ("b", 0.0, 1.0));
}

#[test]
fn a_list_without_rows_opens_nothing() {
    let mut bench = Bench::new();
    bench.key(Key::Down(1));
    assert_eq!(bench.front(), "a");
    bench.key(Key::Up(1));
    let rows = bench.device.field("rows").expect("a field");
    // One row arrives, and then the list holds two.
    for (count, to) in [(1.0, "b"), (2.0, "b")] {
        bench.machine.pass(micros(Seconds(count * 60.0)));
        bench.machine.put(&bench.device, rows, count, &mut Still);
        bench.key(Key::Down(1));
        bench.key(Key::Up(1));
        assert_eq!(bench.front(), to);
        bench.key(Key::Down(1));
        bench.key(Key::Up(1));
    }
    // Values that arrive keep the row within what there is.
    let row = bench.device.field("row").expect("a field");
    bench.machine.state.values.put(row, 1.0);
    bench.machine.put(&bench.device, rows, 1.0, &mut Still);
    assert_eq!(bench.value("row"), 0.0);
}
