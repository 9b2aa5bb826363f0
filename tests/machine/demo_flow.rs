//! What the demo's keys do, walked through as its user would: the post that is chosen is the one that is shown, nothing is
//! kept before it is saved, the alarm asks, messages leave by themselves, and a lost link shows no bars.

use inkjoule::device::Device;
use inkjoule::frame::Frame;
use inkjoule::machine::canvas::drawn;
use inkjoule::machine::{Key, Machine, World, micros};
use inkjoule::project::load;
use inkjoule::screen::Role;
use inkjoule::screen::values::{FieldId, Values};
use inkjoule::simulate::play::play;
use inkjoule::units::Seconds;
use inkjoule::usage::script::script;
use std::path::Path;

/// Values stay as they are.
struct Still;

impl World for Still {
    fn sample(&mut self, _: &Device, field: FieldId, _: Seconds, values: &Values) -> f64 {
        values.of(field)
    }
}

struct Walk<'d> {
    device: &'d Device,
    machine: Machine,
    now: f64,
}

fn demo() -> Device {
    let Ok(loaded) = load(Path::new("screens-demo"), &[]) else { panic!("the demo does not load") };
    loaded.device
}

impl<'d> Walk<'d> {
    /// The keys pressed one after the other from the home screen.
    fn new(device: &'d Device, keys: &[usize]) -> Self {
        let mut walk = Self { device, machine: Machine::shown(device, device.usage.home, 0), now: 0.0 };
        keys.iter().for_each(|key| walk.press(*key));
        walk
    }

    fn press(&mut self, key: usize) {
        self.machine.press(self.device, key - 1, &mut Still);
        self.wait(1.0);
    }

    fn hold(&mut self, key: usize, seconds: f64) {
        self.machine.key(self.device, Key::Down(key - 1), &mut Still);
        self.wait(seconds);
        self.machine.key(self.device, Key::Up(key - 1), &mut Still);
    }

    fn wait(&mut self, seconds: f64) {
        self.now += seconds;
        let end = micros(Seconds(self.now));
        while let Some(wake) = self.machine.wake(self.device).filter(|wake| *wake < end && *wake > self.machine.now()) {
            self.machine.run(self.device, wake, &mut Still);
        }
        self.machine.run(self.device, end, &mut Still);
    }

    fn layers(&self) -> Vec<&'d str> {
        let state = &self.machine.state;
        let all = [state.screen].into_iter().chain(state.boxes.iter().map(|open| open.screen));
        all.map(|screen| self.device.screens[screen.0].id.as_str()).collect()
    }

    fn value(&self, name: &str) -> f64 {
        self.machine.state.values.of(self.device.field(name).expect("a field"))
    }

    fn picture(&self) -> Frame {
        drawn(self.device, &self.machine.state, self.device.locale_of(&self.machine.state.values).unwrap_or(0))
    }

    /// Whether the picture follows a field.
    fn shows(&mut self, name: &str, other: f64) -> bool {
        let (field, was, before) = (self.device.field(name).expect("a field"), self.value(name), self.picture());
        self.machine.state.values.put(field, other);
        let after = self.picture();
        self.machine.state.values.put(field, was);
        before != after
    }
}

#[test]
fn the_post_that_is_chosen_is_the_one_that_is_shown() {
    let device = demo();
    // To the first row, down twice, open: post 3.
    let mut walk = Walk::new(&device, &[1, 2, 2, 3, 3, 4]);
    assert_eq!(walk.layers(), ["post"]);
    for post in 1..=6 {
        for field in ["p", "humidity", "cell"] {
            let (field, shown) = (format!("{field}{post}"), post == 3);
            assert_eq!(walk.shows(&field, 20.0), shown, "{field}");
        }
    }
    // The arrows lead to its neighbours, and back leads to the list with that row selected.
    walk.press(3);
    assert!(walk.shows("p4", 20.0) && !walk.shows("p3", 20.0));
    walk.press(1);
    assert_eq!((walk.layers(), walk.value("chosen")), (vec!["posts"], 3.0));
}

#[test]
fn the_limit_is_kept_when_it_is_saved_and_only_then() {
    let device = demo();
    let mut walk = Walk::new(&device, &[3]);
    let before = walk.value("limit");
    // A degree, then to the tenths, two tenths down.
    [2, 4, 3, 3].iter().for_each(|key| walk.press(*key));
    assert!((walk.value("limit") - (before + 0.8)).abs() < 1e-9);
    walk.press(1);
    assert_eq!((walk.layers(), walk.value("limit")), (vec!["tonight"], before));
    [3, 2, 4, 3, 3, 4].iter().for_each(|key| walk.press(*key));
    assert!((walk.value("limit") - (before + 0.8)).abs() < 1e-9);
    assert_eq!(walk.layers(), ["tonight", "saved"]);
    walk.wait(3.0);
    assert_eq!(walk.layers(), ["tonight"]);
    // Nobody finishes: the timer gives the old limit back.
    [3, 2].iter().for_each(|key| walk.press(*key));
    walk.wait(61.0);
    assert!((walk.value("limit") - (before + 0.8)).abs() < 1e-9);
    assert_eq!(walk.layers(), ["tonight"]);
    // In the other unit the same keys count degrees Fahrenheit.
    walk.machine.state.values.put(device.field("units").expect("a field"), 1.0);
    [3, 2, 4, 4].iter().for_each(|key| walk.press(*key));
    let seen = (before + 0.8) * 1.8 + 32.0 + 1.0;
    assert!((walk.value("limit") * 1.8 + 32.0 - seen).abs() < 0.06, "{}", walk.value("limit"));
}

#[test]
fn settings_act_at_once_and_the_alarm_asks_first() {
    let device = demo();
    let mut walk = Walk::new(&device, &[4, 4]);
    assert_eq!(walk.layers(), ["settings"]);
    let english = walk.picture();
    walk.press(4);
    assert!(walk.picture() != english && walk.value("language") == 1.0);
    [4, 4].iter().for_each(|key| walk.press(*key));
    assert!(walk.picture() == english, "three languages, then the first again");
    [3, 4].iter().for_each(|key| walk.press(*key));
    assert_eq!(walk.value("units"), 1.0);
    [3, 4].iter().for_each(|key| walk.press(*key));
    assert_eq!(walk.layers(), ["settings", "confirm"]);
    walk.press(1);
    assert_eq!((walk.layers(), walk.value("armed")), (vec!["settings"], 1.0));
    [4, 4].iter().for_each(|key| walk.press(*key));
    assert_eq!((walk.layers(), walk.value("armed")), (vec!["settings"], 0.0));
    let frost = device.events.iter().find(|event| event.name == "frost").expect("an event");
    assert!(!frost.allowed(&walk.machine.state.values));
    [3, 4].iter().for_each(|key| walk.press(*key));
    assert_eq!(walk.layers(), ["service"]);
}

#[test]
fn held_long_enough_the_power_key_switches_off_and_on() {
    let device = demo();
    let mut walk = Walk::new(&device, &[3, 2]);
    let limit = device.sample().of(device.field("limit").expect("a field"));
    walk.hold(5, 1.5);
    assert_eq!(walk.layers(), ["threshold"]);
    walk.wait(1.0);
    walk.hold(5, 2.5);
    assert_eq!((walk.layers(), walk.value("limit"), walk.value("running")), (vec!["off"], limit, 0.0));
    let report = device.events.iter().find(|event| event.name == "report").expect("an event");
    assert!(!report.allowed(&walk.machine.state.values));
    walk.wait(10_000.0);
    assert_eq!(walk.layers(), ["off"]);
    walk.hold(5, 1.5);
    assert_eq!((walk.layers(), walk.value("running")), (vec!["tonight"], 1.0));
}

#[test]
fn a_low_battery_and_a_lost_link_are_told_and_go_again() {
    let device = demo();
    let text = "wait 5 s\ncharge 14 %\nexpect low\nwait 5 s\npress 4\nwait 2 s\nexpect tonight\n\
                link lost\nexpect lost\nwait 6 s\npress 1\nexpect trend\nwait 130 s\nexpect lost\nlink back\nexpect tonight\n\
                wait 5 s\ncharge 40 %\ncharge 14 %\nexpect low\nwait 302 s\nexpect tonight\n";
    let read = script(&device, "round.keys", text).unwrap_or_else(|fault| panic!("{fault:?}"));
    let missed: Vec<String> =
        play(&device, 0, &read).missed.iter().map(|missed| missed.words(&device, "round.keys")).collect();
    assert_eq!(missed, Vec::<String>::new());
}

#[test]
fn a_lost_link_shows_no_signal_bars() {
    let device = demo();
    let lost = device.screens.iter().position(|screen| screen.role == Some(Role::LinkLost)).expect("a screen");
    let bars = |values: &Values, screen: usize| {
        let mut weaker = values.clone();
        weaker.put(device.field("link").expect("a field"), 1.0);
        let draw = |values: &Values| device.draw(inkjoule::screen::ScreenId(screen), 0, values);
        draw(values) != draw(&weaker)
    };
    let linked = device.sample();
    let mut gone = linked.clone();
    gone.put(device.field("linked").expect("a field"), 0.0);
    for (index, screen) in device.screens.iter().enumerate() {
        // Only the workshop's page counts the posts that were in reach.
        assert!(!bars(&gone, index) || screen.id == "service", "{}", screen.id);
    }
    assert!(!bars(&linked, lost) && bars(&linked, device.usage.home.0));
}
