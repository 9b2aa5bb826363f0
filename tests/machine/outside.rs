//! The semantics held against what is published: cases worked out by hand from D. Harel, Statecharts, Science of Computer
//! Programming 8 (1987) 231-274, and from the algorithm of W3C SCXML 1.0, appendix D, each named beside its case.

use crate::plain::device;
use inkjoule::behaviour::EventId;
use inkjoule::device::Device;
use inkjoule::machine::{Key, Machine, Note, World};
use inkjoule::screen::values::{FieldId, Values};
use inkjoule::units::Seconds;

const REST: &str = "[fields.n]\nrange = [0, 99]\n[fields.m]\nrange = [0, 99]\n[events.seven]\nwhen = { field = \"n\", is = 7 }\n\
                    [events.call]\nper-day = 0\n[usage]\nhome = \"a\"\nstart = \"2031-01-01\"\n\
                    temperature = { low = \"20 °C\", high = \"20 °C\", warmest = \"12:00\" }\n";

const OVER: &str = "box = { size = [60, 30] }\ncontent = [ { text = \"x\" } ]\n";

fn with(screens: &[(&str, &str)]) -> Device {
    let texts: Vec<(&str, String)> = screens
        .iter()
        .map(|(id, rules)| match rules.strip_prefix("over ") {
            Some(rules) => (*id, format!("{OVER}{rules}")),
            None => (*id, format!("content = [ {{ text = \"{{n}}\" }} ]\n{rules}")),
        })
        .collect();
    let texts: Vec<(&str, &str)> = texts.iter().map(|(id, text)| (*id, text.as_str())).collect();
    device(REST, &texts)
}

/// Sampled fields keep their values; nobody watches.
struct Still;

impl World for Still {
    fn sample(&mut self, _: &Device, field: FieldId, _: Seconds, values: &Values) -> f64 {
        values.of(field)
    }

    fn note(&mut self, _: Note) {}
}

struct Run<'d>(&'d Device, Machine);

impl<'d> Run<'d> {
    fn new(device: &'d Device) -> Self {
        Self(device, Machine::shown(device, device.usage.home, 0))
    }

    /// Keys go down and up, all at one time and before anything is drawn.
    fn press(&mut self, keys: &[usize]) {
        for key in keys {
            self.1.key(self.0, Key::Down(*key), &mut Still);
            self.1.key(self.0, Key::Up(*key), &mut Still);
        }
    }

    fn call(&mut self) {
        let call = self.0.events.iter().position(|event| event.name == "call").expect("an event");
        self.1.happen(self.0, EventId(call), &mut Still);
    }

    fn front(&self) -> &str {
        &self.0.screens[self.1.state.front().0].id
    }

    fn values(&self) -> [f64; 2] {
        ["n", "m"].map(|name| self.1.state.values.of(self.0.field(name).expect("a field")))
    }
}

/// SCXML, mainEventLoop: the internal queue is emptied before the next external event is taken. The first key makes the
/// condition true, the event leads to b, and the second key of the same moment is b's.
#[test]
fn what_follows_from_an_input_comes_before_the_next_input() {
    let a = "[keys]\n1 = { change = { field = \"n\", to = 7 } }\n2 = { change = { field = \"m\", to = 1 } }\n[on]\nseven = { go = \"b\" }\n";
    let device = with(&[("a", a), ("b", "[keys]\n2 = { change = { field = \"m\", to = 2 } }\n")]);
    let mut run = Run::new(&device);
    run.press(&[0, 1]);
    assert_eq!((run.front(), run.values()), ("b", [7.0, 2.0]));
}

/// SCXML, selectTransitions: the first transition in document order whose condition holds, tested before anything is
/// carried out; a microstep does not look at the other conditions again.
#[test]
fn conditions_are_those_before_the_reaction() {
    let a = "[keys]\n1 = { first = [ { when = { field = \"n\", is = 0 }, do = [ { change = { field = \"n\", to = 1 } } ] }, \
             { when = { field = \"n\", is = 1 }, do = [ { change = { field = \"n\", to = 2 } } ] } ] }\n";
    let device = with(&[("a", a)]);
    let mut run = Run::new(&device);
    run.press(&[0]);
    assert_eq!(run.values()[0], 1.0);
    run.press(&[0]);
    assert_eq!(run.values()[0], 2.0);
}

/// SCXML, microstep: content of the transition in document order, then entry. What an editor remembers on entry is what
/// stood there before the actions that follow the entry, and after those before it.
#[test]
fn entry_stands_in_its_place_among_the_actions() {
    let entered = |order: &str| {
        let edit = "edit = [\"n\"]\n[keys]\n1 = { cancel = true }\n2 = { back = true }\n";
        let device = with(&[("a", &format!("[keys]\n1 = {{ do = [ {order} ] }}\n")), ("b", edit)]);
        let mut run = Run::new(&device);
        run.press(&[0]);
        let before = run.values()[0];
        run.press(&[0]);
        (run.front().to_owned(), before, run.values()[0])
    };
    let (change, go) = ("{ change = { field = \"n\", to = 5 } }", "{ go = \"b\" }");
    assert_eq!(entered(&format!("{change}, {go}")), ("b".to_owned(), 5.0, 5.0), "remembered after the change");
    assert_eq!(entered(&format!("{go}, {change}")), ("b".to_owned(), 5.0, 0.0), "remembered before it");
}

/// Harel, section 2.4, and SCXML, history: the way back is to what was last active, whatever led away from it; it is
/// shallow: the boxes that were open are not open again.
#[test]
fn the_way_back_is_a_shallow_history() {
    let a = "[keys]\n1 = { go = \"b\" }\n[on]\ncall = { go = \"alarm\" }\n";
    let b = "[keys]\n1 = { open = \"x\" }\n2 = { back = true }\n[on]\ncall = { go = \"alarm\" }\n";
    let device = with(&[
        ("a", a),
        ("b", b),
        ("alarm", "[keys]\n1 = { back = true }\n"),
        ("x", "over [keys]\n1 = { close = true }\n"),
    ]);
    let mut run = Run::new(&device);
    run.call();
    assert_eq!(run.front(), "alarm");
    run.press(&[0]);
    assert_eq!(run.front(), "a", "from a to a");
    run.press(&[0, 0]);
    assert_eq!(run.front(), "x");
    run.call();
    assert_eq!(run.front(), "alarm");
    run.press(&[0]);
    assert_eq!((run.front(), run.1.state.boxes.len()), ("b", 0), "from b to b, without its box");
    run.press(&[1]);
    assert_eq!(run.front(), "a", "and from there on as before");
}

/// SCXML, selectTransitions: a state's transition comes before those of its ancestors, and takes the event alone.
#[test]
fn the_inner_rule_takes_an_event_alone() {
    let a =
        "[keys]\n1 = { open = \"x\" }\n2 = { open = \"y\" }\n[on]\ncall = { change = { field = \"m\", by = 10 } }\n";
    let x = "over [keys]\n1 = { close = true }\n[on]\ncall = { change = { field = \"m\", by = 1 } }\n";
    let y = "over [keys]\n1 = { close = true }\n";
    let device = with(&[("a", a), ("x", x), ("y", y)]);
    let mut run = Run::new(&device);
    run.press(&[0]);
    run.call();
    assert_eq!(run.values()[1], 1.0, "the box's rule alone");
    run.press(&[0, 1]);
    run.call();
    assert_eq!(run.values()[1], 11.0, "without one, the screen's");
}

/// SCXML, mainEventLoop: an event that no transition takes is gone; it is not kept for a later state.
#[test]
fn an_event_without_a_rule_is_gone() {
    let device = with(&[
        ("a", "[keys]\n1 = { go = \"b\" }\n"),
        ("b", "[keys]\n1 = { back = true }\n[on]\ncall = { change = { field = \"m\", by = 1 } }\n"),
    ]);
    let mut run = Run::new(&device);
    run.call();
    run.press(&[0]);
    assert_eq!((run.front(), run.values()[1]), ("b", 0.0));
    run.call();
    assert_eq!(run.values()[1], 1.0);
}

/// SCXML, enterStates: in entry order, the outer first. A screen and a box over it in one list are entered so, and two
/// boxes close from the inner to the outer.
#[test]
fn a_screen_is_entered_before_the_box_over_it() {
    let a = "[keys]\n1 = { go = \"b\" }\n";
    let b = "[keys]\n1 = { do = [ { back = true }, { open = \"x\" } ] }\n";
    let x = "over [keys]\n1 = { open = \"y\" }\n2 = { close = true }\n";
    let y = "over [keys]\n1 = { do = [ { close = true }, { close = true } ] }\n2 = { do = [ { close = true }, { open = \"x\" } ] }\n";
    let device = with(&[("a", a), ("b", b), ("x", x), ("y", y)]);
    let mut run = Run::new(&device);
    run.press(&[0, 0]);
    assert_eq!(
        (run.front(), run.1.state.screen),
        ("x", device.screen("a").expect("a screen")),
        "saved, back, and said"
    );
    run.press(&[0, 0]);
    assert_eq!(run.front(), "a", "both closed");
}
