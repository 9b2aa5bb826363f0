//! The running device behind the preview: its times and energies are the budget's, its days the simulation's.

use inkjoule::behaviour::field::Renewal;
use inkjoule::behaviour::states::DeviceState;
use inkjoule::behaviour::trigger::Trigger;
use inkjoule::behaviour::{EventId, Hours, Times};
use inkjoule::budget::transition::transitions;
use inkjoule::frame::Frame;
use inkjoule::machine::Key;
use inkjoule::preview::session::{Begin, Reply, SPEEDS, Seen, Session, UpdateCause, Weather, beyond, reason_words};
use inkjoule::project::{Loaded, load, load_files};
use inkjoule::refresh::policy::Reason;
use inkjoule::refresh::update::Mode;
use inkjoule::screen::ScreenId;
use inkjoule::simulate::simulate;
use inkjoule::source::files::Files;
use inkjoule::units::{Celsius, DAY, Seconds};
use proptest::prelude::*;
use std::path::Path;
use std::time::Duration;

const DEVICE: &str = include_str!("../../src/cli/starter/device.toml");

/// Two screens with keys, a timer, and a field that a key changes; `change` edits the device's file.
fn small(change: &[(&str, &str)]) -> Loaded {
    let mut device = DEVICE.to_owned();
    for (from, to) in change {
        assert!(device.contains(from), "the starter project has no {from:?}");
        device = device.replace(from, to);
    }
    let files = [("device.toml", device.as_str()), ("screens/home.toml", HOME), ("screens/other.toml", OTHER)];
    load_files(Files::from_memory(files)).unwrap_or_else(|failed| panic!("{:?}", failed.faults))
}

const HOME: &str = r#"
content = [
  { text = "at {taken}", font = "small", top = 14 },
  { value = "level", font = "numerals" },
]
[keys]
1 = { go = "other" }
2 = { change = { field = "level", by = 10 } }
"#;

const OTHER: &str = r#"
content = [ { text = "Other", font = "bold" } ]
after = [ { wait = "20 s", go = "home" } ]
[keys]
1 = { go = "home" }
[on]
reading = { go = "home" }
"#;

fn shown(change: &[(&str, &str)]) -> Session {
    Session::new(small(change), Begin::Shown)
}

/// Lets time pass until the panel is free.
fn rest(session: &mut Session) {
    for _ in 0..1_000 {
        if !session.busy() {
            return;
        }
        session.advance(session.next_change().expect("a busy panel becomes free"));
    }
    panic!("the panel never rests");
}

/// Lets the device run to a time.
fn run_to(session: &mut Session, end: Seconds) {
    for _ in 0..10_000_000 {
        let left = end - session.time();
        if left.0 < 2e-6 {
            return;
        }
        let real = Duration::from_secs_f64(left.0 / session.rate());
        session.advance(session.next_change().map_or(real, |change| change.min(real)));
    }
    panic!("time does not get to {end}");
}

fn projects() -> Vec<Loaded> {
    let demo = || load(Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/screens-demo")), &[]).expect("the demo loads");
    vec![small(&[]), demo()]
}

/// The same device with values that stay the sample's, which is what a budget's transitions are calculated with.
fn still(mut loaded: Loaded) -> Loaded {
    loaded.device.fields.iter_mut().for_each(|field| field.renewal = Renewal::Never);
    loaded.device.events.iter_mut().for_each(|event| event.times = Times::PerDay(0.0, Hours::ALL));
    loaded
}

#[test]
fn emulated_updates_equal_the_budgets_for_the_same_transition() {
    let mut compared = 0;
    for (number, project) in projects().into_iter().enumerate() {
        let project = still(project);
        let parameters = project.device.inputs.typical();
        let expected = transitions(&project.device, &parameters, project.device.usage.climate.mean());
        let is_box = |screen: ScreenId| project.device.screens[screen.0].over.is_some();
        // A session jumps to screens only; what leads from a box is the machine's matter.
        let expected = expected.iter().filter(|transition| !is_box(transition.from));
        for transition in expected.filter(|transition| transition.change.changed > 0) {
            let mut session = Session::new(still(projects().swap_remove(number)), Begin::Shown);
            session.set_weather(Weather::Mean);
            session.jump(transition.from);
            match transition.trigger {
                Trigger::Press(key) => assert_eq!(session.press(key), Reply::Acted),
                Trigger::Timer(wait) => {
                    let end = session.time() + wait + Seconds(1e-3);
                    run_to(&mut session, end);
                }
                Trigger::Hold(key) => {
                    let wiring = &project.device.wirings[transition.from.0];
                    let after = wiring.keys[key].hold.as_ref().expect("a hold").after;
                    session.key(Key::Down(key));
                    let end = session.time() + after + Seconds(1e-3);
                    run_to(&mut session, end);
                    session.key(Key::Up(key));
                }
                Trigger::Event(event) => session.inject(event),
                other => panic!("a trigger of another kind: {other:?}"),
            }
            let from = &session.device().screens[transition.from.0].id;
            let at = format!("{from}, {:?}", transition.trigger);
            let update = session.last_update().unwrap_or_else(|| panic!("{at}: no update"));
            // An update belongs to a screen; the box is what lies in front.
            let shown = if is_box(transition.to) { session.front() } else { update.screen };
            assert_eq!(shown, transition.to, "{at}");
            assert_eq!(update.mode, transition.change.mode, "{at}");
            assert_eq!(update.changed, transition.change.changed, "{at}");
            assert_eq!(update.windows, transition.change.windows, "{at}");
            assert_eq!(update.latency, transition.change.latency, "{at}");
            assert_eq!(update.energy, transition.change.energy, "{at}");
            compared += 1;
        }
    }
    assert!(compared > 12, "only {compared} transitions were compared");
}

#[test]
fn a_press_is_visible_after_the_latency_and_the_panel_free_after_the_duration() {
    let mut session = shown(&[]);
    let (begin, before) = (session.time(), session.display().clone());
    session.press(0);
    let update = session.last_update().expect("an update").clone();
    let mut last = (session.time(), session.seen());
    let mut visible = None;
    while session.busy() {
        session.advance(session.next_change().expect("busy"));
        if session.seen().settling.is_none() && session.seen().frame == *session.display() {
            visible = visible.or(Some(session.time() - begin));
        }
        last = (session.time(), session.seen());
    }
    let close = |a: Seconds, b: Seconds| (a - b).0.abs() < 1e-5;
    assert!(close(visible.expect("it becomes visible"), update.latency), "{visible:?} and {:?}", update.latency);
    assert!(close(last.0 - begin, update.duration), "{:?} and {:?}", last.0 - begin, update.duration);
    assert_ne!(before, *session.display());
}

/// Every picture that is seen during an update.
fn pictures(session: &mut Session) -> Vec<Seen> {
    let mut seen = vec![session.seen()];
    while session.busy() {
        session.advance(session.next_change().expect("busy"));
        if seen.last() != Some(&session.seen()) {
            seen.push(session.seen());
        }
    }
    seen
}

#[test]
fn a_full_refresh_flashes_and_a_partial_one_does_not() {
    let mut session = shown(&[("max-partials = 10", "max-partials = 10\nfull-on = [\"other\"]")]);
    let before = session.display().clone();
    session.press(0);
    assert_eq!(
        session.last_update().map(|update| (update.mode, update.reason)),
        Some((Mode::Full, Some(Reason::Screen)))
    );
    let seen = pictures(&mut session);
    let size = before.size();
    let black = u64::from(size.width) * u64::from(size.height);
    let ink: Vec<u64> = seen.iter().map(|seen| seen.frame.ink_count()).collect();
    let (old, new) = (before.ink_count(), session.display().ink_count());
    assert_eq!(ink, [old, black - old, black, 0, new], "old image, negative, black, white, new image");

    session.press(0);
    assert_eq!(session.last_update().map(|update| update.mode), Some(Mode::Partial));
    let before = seen.last().expect("an image").frame.clone();
    let seen = pictures(&mut session);
    assert_eq!(seen.len(), 3, "old, on its way, new");
    let change = before.difference(session.display());
    assert_eq!(seen[1].settling, change, "only pixels that change are seen on their way");
}

#[test]
fn a_day_of_the_device_alone_is_the_simulations_day() {
    for (number, _) in projects().iter().enumerate() {
        let alone = || {
            let mut loaded = projects().swap_remove(number);
            loaded.device.usage.journeys.clear();
            loaded.device.usage.days = 1;
            // A simulation looks at the middle of each stretch of the charge: of the demo, from 100 down to 15 %.
            let charge = loaded.device.states.field(DeviceState::Charge);
            charge.into_iter().for_each(|field| loaded.device.fields[field.0].sample = 57.5);
            loaded
        };
        let loaded = alone();
        let expected = simulate(&loaded.device, &loaded.device.inputs.typical());
        let mut session = Session::new(alone(), Begin::Blank(Seconds(0.0)));
        session.set_speed(1000.0);
        // The simulation's day ends just before midnight.
        run_to(&mut session, DAY - Seconds(1e-3));
        let counts = session.counts();
        assert!(expected.full + expected.partial > 20, "a day with little to compare");
        assert_eq!(
            (counts.full, counts.partial, counts.idle_full),
            (expected.full, expected.partial, expected.idle_full)
        );
        assert_eq!((counts.windows, counts.changed_pixels), (expected.windows, expected.changed_pixels));
        assert!((counts.energy.0 / expected.energy.0 - 1.0).abs() < 1e-9, "{} and {}", counts.energy, expected.energy);
        assert_eq!(counts.by_itself, expected.by_itself);
        // Events at midnight itself are the day's last.
        run_to(&mut session, DAY);
        assert_eq!(session.counts().events, expected.events);
    }
}

#[test]
fn presses_meanwhile_are_queued_or_lost_as_the_project_says() {
    let mut session = shown(&[]);
    assert_eq!((session.press(0), session.press(0)), (Reply::Acted, Reply::Queued));
    assert_eq!((session.waiting(), session.screen()), (1, ScreenId(1)));
    let first = session.last_update().expect("an update").duration;
    run_until_screen(&mut session, ScreenId(0));
    let update = session.last_update().expect("a second update");
    assert_eq!((session.waiting(), update.cause), (0, UpdateCause::Key(0)));
    assert!((update.waited - first).0.abs() < 1e-5, "it waited for the first: {} of {first}", update.waited);

    let mut session = shown(&[("max-partials = 10", "max-partials = 10\nbusy-presses = \"drop\"")]);
    assert_eq!((session.press(0), session.press(0)), (Reply::Acted, Reply::Lost));
    rest(&mut session);
    assert_eq!((session.screen(), session.counts().lost_presses, session.counts().presses), (ScreenId(1), 1, 2));
    assert_eq!((session.press(2), session.press(77)), (Reply::Idle, Reply::Idle));
}

fn run_until_screen(session: &mut Session, screen: ScreenId) {
    for _ in 0..100 {
        if session.screen() == screen {
            return;
        }
        session.advance(session.next_change().expect("something happens"));
    }
    panic!("the screen is never reached");
}

#[test]
fn timers_and_events_lead_and_a_press_starts_the_timers_again() {
    let mut session = shown(&[]);
    session.press(0);
    let begin = session.time();
    run_to(&mut session, begin + Seconds(19.0));
    assert_eq!(session.screen(), ScreenId(1));
    run_to(&mut session, begin + Seconds(20.5));
    assert_eq!(
        (session.screen(), session.last_update().map(|update| update.cause)),
        (ScreenId(0), Some(UpdateCause::Timer(ScreenId(1), 0)))
    );
    rest(&mut session);
    session.press(0);
    rest(&mut session);
    session.inject(EventId(0));
    assert_eq!((session.screen(), session.counts().events[0]), (ScreenId(0), 1));
    assert_eq!(session.last_update().map(|update| update.cause), Some(UpdateCause::Event(EventId(0))));
}

#[test]
fn pausing_stops_the_world_but_not_the_refresh_under_way() {
    let mut session = shown(&[]);
    session.set_speed(0.0);
    assert_eq!(session.next_change(), None, "nothing to wait for: no processor time is used");
    let time = session.time();
    session.advance(Duration::from_secs(2));
    assert_eq!(session.time(), time);
    session.press(0);
    rest(&mut session);
    let stopped = session.time();
    assert!(stopped > time);
    session.advance(Duration::from_secs(2));
    assert_eq!(session.time(), stopped);
}

#[test]
fn time_goes_as_fast_as_it_was_told() {
    for speed in SPEEDS {
        let mut session = shown(&[("every = \"10 min\"", "every = \"20 h\"")]);
        session.set_speed(speed);
        let begin = session.time();
        for _ in 0..30 {
            session.advance(Duration::from_millis(33));
        }
        let gone = (session.time() - begin).0;
        assert!((gone - 0.99 * speed).abs() < 1e-3, "{gone} s at {speed} x");
    }
}

#[test]
fn what_the_designer_does_shows_at_once_and_costs_nothing() {
    let demo = projects().pop().expect("the demo");
    let mut session = Session::new(demo, Begin::Shown);
    let mut glass = vec![session.display().clone()];
    session.set_locale(1);
    glass.push(session.display().clone());
    session.set_worst(true);
    glass.push(session.display().clone());
    session.jump_by(1);
    glass.push(session.display().clone());
    session.jump_by(-3);
    glass.push(session.display().clone());
    for (index, frame) in glass.iter().enumerate() {
        assert!(glass[..index].iter().all(|other| other != frame), "step {index} shows something new");
    }
    assert!(!session.busy() && session.last_update().is_none());
    assert_eq!((session.counts().full + session.counts().partial, session.counts().energy.0), (0, 0.0));
}

#[test]
fn a_reload_keeps_the_place_and_shows_the_new_picture() {
    let mut session = shown(&[]);
    session.press(1);
    rest(&mut session);
    let (screen, time) = (session.screen(), session.time());
    let raised = session.display().clone();
    // The same project: what a key changed stays.
    session.reload(small(&[]));
    assert_eq!((session.display(), session.screen(), session.time()), (&raised, screen, time));
    assert_eq!(session.counts().partial, 0, "counts begin anew");
    session.reload(small(&[("unit = \"mm\"", "unit = \"cm\"")]));
    assert_ne!(*session.display(), raised);
    // Another panel, other keys, nothing of the old state fits.
    let other = projects().pop().expect("the demo");
    let size = other.device.panel.size();
    session.reload(other);
    assert_eq!((session.display().size(), session.screen()), (size, session.device().usage.home));
    let drawn: Frame = session.device().draw(session.screen(), 0, &session.device().sample());
    assert_eq!(drawn.size(), size);
    session.press(0);
    rest(&mut session);
}

#[test]
fn outside_the_panels_temperatures_nothing_is_refreshed() {
    // A project that says so is refused when it is loaded; a session must stand it all the same.
    let mut loaded = small(&[]);
    loaded.device.usage.climate.low = Celsius(-80.0);
    let mut session = Session::new(loaded, Begin::Shown);
    session.set_weather(Weather::Coldest);
    let before = session.display().clone();
    session.press(0);
    assert!(!session.busy() && session.refused().is_some());
    assert_eq!((session.display(), session.counts().refused), (&before, 1));
    session.set_weather(Weather::Warmest);
    session.press(0);
    session.press(0);
    assert_eq!(session.refused(), None, "the next refresh that works ends the warning");
}

#[test]
fn the_activity_map_counts_each_part_of_the_glass() {
    let mut session = shown(&[]);
    session.press(1);
    rest(&mut session);
    let update = session.last_update().expect("an update").clone();
    assert_eq!(update.mode, Mode::Partial);
    let (columns, rows) = session.activity().size();
    let mut driven = 0;
    for ((column, row), counted) in session.activity().regions() {
        let corner = (8 * column as i32, 8 * row as i32).into();
        let region = embedded_graphics::primitives::Rectangle::new(corner, (8, 8).into());
        let touched = update.windows.iter().any(|window| !window.intersection(&region).is_zero_sized());
        assert_eq!(counted.drives(), u64::from(touched), "{column}, {row}");
        driven += usize::from(touched);
    }
    assert!(driven > 0 && driven < columns * rows / 2, "{driven} regions");
    session.restart();
    rest(&mut session);
    assert!(
        session.activity().regions().all(|(_, counted)| counted.drives() == 1),
        "a full refresh drives all of the display"
    );
}

#[test]
fn pace_and_spending_follow_the_presses() {
    let mut session = shown(&[]);
    let quiet = session.spending().life.expect("a life");
    for _ in 0..10 {
        session.press(1);
        rest(&mut session);
    }
    let spending = session.spending();
    assert!(spending.life.expect("a life") < quiet * 0.5, "ten presses in seconds cost life");
    assert!(spending.all > spending.refreshes && spending.refreshes.0 > 0.0);
    assert_eq!(spending.refreshes, session.counts().energy);
}

#[test]
fn a_pace_is_told_once_there_is_a_history() {
    let mut session = shown(&[]);
    assert!(!session.spending().paced, "nothing has happened yet");
    session.set_speed(1000.0);
    session.advance(Duration::from_secs(4));
    assert!(session.spending().paced, "an hour is a history");
}

#[test]
fn a_reason_says_on_which_side_of_the_range() {
    assert!(reason_words(Reason::TooCold).starts_with("below"), "{}", reason_words(Reason::TooCold));
    assert!(reason_words(Reason::TooWarm).starts_with("above"), "{}", reason_words(Reason::TooWarm));
    let loaded = load(&Path::new(env!("CARGO_MANIFEST_DIR")).join("screens-demo"), &[]).expect("the demo loads");
    let full = &loaded.device.panel.full;
    assert_eq!(beyond(full, Celsius(-60.0), "its table"), "below its table");
    assert_eq!(beyond(full, Celsius(90.0), "its table"), "above its table");
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, failure_persistence: None, ..ProptestConfig::default() })]
    #[test]
    fn nothing_a_viewer_does_upsets_a_session(steps in proptest::collection::vec((0u8..14, 0u32..3_000), 1..60)) {
        let mut session = Session::new(projects().pop().expect("the demo"), Begin::Shown);
        let mut time = session.time();
        for (what, amount) in steps {
            match what {
                0..=3 => {
                    session.press(what as usize);
                }
                4 => session.inject(EventId(amount as usize % 4)),
                5 => session.set_speed(f64::from(amount) - 100.0),
                6 => session.set_locale(amount as usize % 4),
                7 => session.set_worst(amount % 2 == 0),
                8 => session.jump_by(amount as i32 - 1_500),
                9 => session.set_weather(session.weather().next()),
                10 => session.restart(),
                _ => {
                    session.advance(Duration::from_millis(u64::from(amount)));
                }
            }
            if what == 10 {
                time = session.time();
            }
            prop_assert!(session.time() >= time, "time went back");
            time = session.time();
            prop_assert_eq!(session.seen().frame.size(), session.device().panel.size());
            let spending = session.spending();
            prop_assert!(spending.all.0.is_finite() && spending.all.0 >= 0.0);
        }
    }
}
