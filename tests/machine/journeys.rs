//! Journeys begin at their screen, stop at presses that mean nothing, and wait for one another.

use crate::plain::{device, try_device};
use inkjoule::behaviour::trigger::Trigger;
use inkjoule::budget::summary::budget;
use inkjoule::device::Device;
use inkjoule::machine::canvas::drawn;
use inkjoule::machine::{Machine, World};
use inkjoule::screen::values::{FieldId, Values};
use inkjoule::simulate::counts::Counts;
use inkjoule::simulate::simulate;
use inkjoule::units::Seconds;

fn usage(more: &str) -> String {
    format!(
        "[usage]\nhome = \"a\"\nstart = \"2031-01-01\"\ndays = 10\n\
         temperature = {{ low = \"20 °C\", high = \"20 °C\", warmest = \"12:00\" }}\n{more}"
    )
}

fn run(more: &str, screens: &[(&str, &str)]) -> Counts {
    let device = device(more, screens);
    simulate(&device, &device.inputs.typical())
}

const SCREENS: [(&str, &str); 3] = [
    ("a", "keys.1.go = \"b\"\ncontent = [ { text = \"A\" } ]"),
    ("b", "keys.1.go = \"c\"\nkeys.2.go = \"a\"\ncontent = [ { text = \"BB\" } ]"),
    ("c", "keys.2.go = \"a\"\ncontent = [ { text = \"CCC\" } ]"),
];

/// `from` was ignored once: two projects with and without it gave the same counts.
#[test]
fn a_journey_begins_at_its_screen() {
    let from = |from: &str| {
        run(
            &usage(&format!(
                "[usage.journeys.look]\nat = [\"08:00\"]\n{from}steps = [ {{ press = 1, look = \"60 s\" }}, {{ press = 2, look = \"60 s\" }} ]\n"
            )),
            &SCREENS,
        )
    };
    let (home, b) = (from(""), from("from = \"b\"\n"));
    assert_eq!((home.presses, home.entries[1], home.entries[2]), (20, 10, 0), "a, b, a");
    // From a the person goes to b by key 1; there the journey leads to c and by key 2 to a.
    assert_eq!((b.presses, b.entries[1], b.entries[2]), (30, 10, 10), "a, (b), c, a");
    assert_eq!((b.derailed(), b.journeys[0].made), (0, 10));
}

/// One event that leads to a screen without a timer once made every later press land wrong.
#[test]
fn an_event_that_leads_astray_costs_the_presses_back_and_nothing_else() {
    let event = "[events.alarm]\nper-day = 2\n";
    let journey = "[usage.journeys.look]\nper-day = 8\nsteps = [ { press = 1, look = \"20 s\" }, { press = 1, look = \"20 s\" }, { press = 2, look = \"5 s\" } ]\n";
    let stray = [
        ("a", "keys.1.go = \"b\"\non.alarm.go = \"stray\"\ncontent = [ { text = \"A\" } ]"),
        SCREENS[1],
        SCREENS[2],
        ("stray", "keys.2.go = \"a\"\ncontent = [ { text = \"STRAY\" } ]"),
    ];
    let counts = run(&format!("{event}{}", usage(journey)), &stray);
    let all = counts.journeys[0];
    assert!(counts.entries[3] > 5, "{:?}", counts.entries);
    assert_eq!((all.derailed(), counts.idle_presses), (0, 0), "{all:?}");
    assert!(all.made > 50 && counts.entries[2] == all.made, "every journey reaches c: {all:?} {:?}", counts.entries);
}

#[test]
fn where_nothing_leads_to_its_screen_a_journey_is_not_made_and_counted() {
    let trap = [
        ("a", "keys.1.go = \"b\"\non.fault.go = \"trap\"\ncontent = [ { text = \"A\" } ]"),
        SCREENS[1],
        SCREENS[2],
        ("trap", "content = [ { text = \"TRAP\" } ]"),
    ];
    let event = "[events.fault]\nevery = \"3 d\"\n";
    let journey = "[usage.journeys.look]\nat = [\"08:00\"]\nsteps = [ { press = 1, look = \"5 s\" }, { press = 2, look = \"5 s\" } ]\n";
    let counts = run(&format!("{event}{}", usage(journey)), &trap);
    let all = counts.journeys[0];
    assert_eq!((all.made, all.unreached, all.stopped), (3, 7, 0));
    assert_eq!(counts.presses, 6, "nobody presses where nothing leads on");
}

#[test]
fn a_timer_that_leads_on_is_waited_for() {
    let timer = [
        ("a", "keys.1.go = \"b\"\ncontent = [ { text = \"A\" } ]"),
        ("b", "content = [ { text = \"BB\" } ]\n[[after]]\nwait = \"2 min\"\ngo = \"a\""),
        SCREENS[2],
    ];
    let journey =
        "[usage.journeys.look]\nat = [\"08:00\", \"08:00\", \"08:01\"]\nsteps = [ { press = 1, look = \"5 s\" } ]\n";
    let counts = run(&usage(journey), &timer);
    assert_eq!((counts.journeys[0].made, counts.entries[1], counts.derailed()), (30, 30, 0));
    // Each waits for the timer of the one before: 30 times two minutes on b.
    assert!((counts.shown[1] - Seconds(30.0 * 120.0)).0.abs() < 1.0, "{}", counts.shown[1]);
}

#[test]
fn a_press_that_means_nothing_stops_the_journey() {
    // Key 2 leads on only while n is below 1; the first journey raises it.
    let field = "[fields.n]\nrange = [0, 9]\n";
    let screens = [
        (
            "a",
            "keys.1.change = { field = \"n\", by = 1 }\nkeys.2.first = [ { when = { field = \"n\", below = 1 }, do = [ { go = \"b\" } ] } ]\ncontent = [ { text = \"{n}\" } ]",
        ),
        SCREENS[1],
        SCREENS[2],
    ];
    let journey = "[usage.journeys.look]\nat = [\"08:00\"]\nsteps = [ { press = 2, look = \"1 s\" }, { press = 2, look = \"1 s\" }, { press = 1, look = \"5 s\" } ]\n";
    let counts = run(&format!("{field}{}", usage(journey)), &screens);
    let all = counts.journeys[0];
    assert_eq!((all.made, all.stopped), (1, 9), "{all:?}");
    assert_eq!((counts.keys[1].idle, counts.keys[0].made), (9, 1), "the press after it is not made");
}

/// A press after a timer has led home was refused while the project was loaded, by a second statement of the rules.
#[test]
fn a_journey_goes_on_where_a_timer_or_an_event_has_led_meanwhile() {
    let timer = [
        ("a", "keys.1.go = \"b\"\nkeys.2.go = \"c\"\ncontent = [ { text = \"A\" } ]"),
        ("b", "content = [ { text = \"BB\" } ]\n[[after]]\nwait = \"30 s\"\ngo = \"a\""),
        ("c", "keys.2.go = \"a\"\ncontent = [ { text = \"CCC\" } ]"),
    ];
    let journey = "[usage.journeys.look]\nat = [\"08:00\"]\nfrom = \"a\"\nsteps = [ { press = 1, look = \"60 s\" }, { press = 2, look = \"5 s\" }, { press = 2, look = \"5 s\" } ]\n";
    let counts = run(&usage(journey), &timer);
    assert_eq!((counts.journeys[0].made, counts.derailed()), (10, 0));
}

/// A press that waits for the panel belongs to the journey that made it, also where another one begins meanwhile.
#[test]
fn a_press_that_waited_is_charged_to_its_own_journey() {
    let two = "[usage.journeys.slip]\nat = [\"08:00\"]\nsteps = [ { press = 1, look = \"0.1 s\" }, { press = 1, look = \"0.1 s\" }, { press = 1, look = \"0.1 s\" } ]\n\
               [usage.journeys.good]\nat = [\"08:00\"]\nfrom = \"a\"\nsteps = [ { press = 1, look = \"10 s\" }, { press = 2, look = \"10 s\" } ]\n";
    let counts = run(&usage(two), &SCREENS);
    let of = |index: usize| (counts.journeys[index].made, counts.journeys[index].stopped);
    assert_eq!((of(0), of(1)), ((10, 0), (0, 10)), "in the order of their names: good, slip");
}

/// The way to a journey's screen may count a field up before it leads on.
#[test]
fn a_way_over_values_leads_to_where_a_journey_begins() {
    let field = "[fields.n]\nrange = [0, 9]\n";
    let screens = [
        ("a", "keys.1.go = \"b\"\ncontent = [ { text = \"A\" } ]"),
        (
            "b",
            "keys.2.first = [ { when = { field = \"n\", below = 3 }, do = [ { change = { field = \"n\", by = 1 } } ] }, { do = [ { go = \"a\" } ] } ]\ncontent = [ { text = \"BB\" } ]",
        ),
        ("c", "keys.2.go = \"a\"\ncontent = [ { text = \"CCC\" } ]"),
    ];
    let journey = "[usage.journeys.look]\nat = [\"08:00\"]\nfrom = \"a\"\nsteps = [ { press = 1, look = \"60 s\" } ]\n";
    let counts = run(&format!("{field}{}", usage(journey)), &screens);
    assert_eq!((counts.journeys[0].made, counts.derailed()), (10, 0));
}

#[test]
fn journeys_that_overlap_wait_for_one_another() {
    let two = "[usage.journeys.first]\nat = [\"08:00\"]\nsteps = [ { press = 1, look = \"100 s\" }, { press = 2, look = \"100 s\" } ]\n\
               [usage.journeys.second]\nat = [\"08:01\"]\nsteps = [ { press = 1, look = \"10 s\" }, { press = 2, look = \"10 s\" } ]\n";
    let counts = run(&usage(two), &SCREENS);
    assert_eq!((counts.entries[1], counts.entries[2], counts.idle_presses), (20, 0, 0), "each goes to b and back");
    assert!((counts.shown[1] - Seconds(10.0 * 110.0)).0.abs() < 1.0, "{}", counts.shown[1]);
}

#[test]
fn a_journey_says_how_often_it_is_made() {
    let said = |text: &str| try_device(&usage(text), &SCREENS).expect_err("it must be refused");
    let steps = "steps = [ { look = \"1 s\" } ]\n";
    assert!(said(&format!("[usage.journeys.x]\n{steps}")).contains("how often is the journey `x` made?"));
    assert!(said(&format!("[usage.journeys.x]\nper-day = 1\nat = [\"08:00\"]\n{steps}")).contains("not both"));
    assert!(
        said("[usage.journeys.x]\nper-day = 1\nsteps = [ { look = \"1 s\", hold = \"1 s\" } ]\n")
            .contains("a key is held")
    );
}

#[test]
fn a_load_that_the_charge_switches_off_parts_the_life_as_an_event_does() {
    let charge = "[fields.charge]\nrange = [0, 100]\nsample = 80\nholds = \"charge\"\n";
    let lamp = "[board.loads.lamp]\ncurrent = \"1 mA\"\nwhile = { field = \"charge\", from = 15 }\n";
    let counts = run(&format!("{charge}{lamp}{}", usage("")), &SCREENS);
    // Held all ten days above 15 %, not at all below.
    let [(end, below)] = &counts.below[..] else { panic!("{:?}", counts.below.len()) };
    assert_eq!((end.0, counts.held[0].0, below.held[0].0), (0.15, 10.0 * 86_400.0, 0.0));
}

/// What a single press comes to is what the machine shows after it, events that it makes happen included: the budget once
/// listed the picture before them as the press's own.
#[test]
fn a_transition_is_carried_out_to_its_end_as_the_machine_does_it() {
    let more = format!("[fields.n]\nrange = [0, 9]\n[events.seven]\nwhen = {{ field = \"n\", is = 7 }}\n{}", usage(""));
    let screens = [
        (
            "a",
            "keys.1.change = { field = \"n\", to = 7 }\n[on]\nseven = { go = \"b\" }\n[[content]]\nvalue = \"n\"\nleft = 16\n",
        ),
        ("b", "keys.2.go = \"a\"\ncontent = [ { text = \"{n} {n} {n}\" } ]"),
    ];
    let device = device(&more, &screens);
    let budget = budget(&device);
    let ways: Vec<_> = budget.transitions.iter().filter(|way| way.trigger == Trigger::Press(0)).collect();
    assert_eq!(ways.len(), 1, "{ways:?}");
    let mut machine = Machine::shown(&device, device.usage.home, 0);
    let shown = machine.state.clone();
    machine.press(&device, 0, &mut Still);
    assert_eq!(device.screens[machine.state.screen.0].id, "b");
    let [old, new] = [&shown, &machine.state].map(|state| drawn(&device, state, 0));
    assert_eq!((ways[0].to, Some(ways[0].change.changed)), (machine.state.screen, old.changed_pixels(&new)));
}

struct Still;

impl World for Still {
    fn sample(&mut self, _: &Device, field: FieldId, _: Seconds, values: &Values) -> f64 {
        values.of(field)
    }
}

/// Somebody who reads only the summary once did not learn that journeys stop early.
#[test]
fn the_summary_tells_of_journeys_that_stop_early() {
    use inkjoule::answer::{Content, short};
    use inkjoule::look::Look;
    use inkjoule::source::files::Files;
    let summary = |steps: &str| {
        let more = usage(&format!("[usage.journeys.look]\nat = [\"08:00\"]\nsteps = [ {steps} ]\n"));
        let device = device(&more, &SCREENS);
        let (files, budget) = (Files::default(), budget(&device));
        short(Content { files: &files, device: &device, budget: &budget }, Look { width: 200, color: false })
    };
    let fine = "{ press = 1, look = \"60 s\" }, { press = 2, look = \"60 s\" }";
    // Key 2 means nothing on the first screen.
    let astray = "{ press = 2, look = \"60 s\" }, { press = 1, look = \"60 s\" }";
    assert!(!summary(fine).contains("stop early"), "{}", summary(fine));
    assert!(summary(astray).contains("1 a day stop early"), "{}", summary(astray));
}
