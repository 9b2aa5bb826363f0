//! One machine, whoever drives it: random projects and scripts give the same updates at the same times, with the same
//! pictures, causes and waveforms in simulation, preview and filmstrip.

use crate::plain::BASE;
use inkjoule::device::Device;
use inkjoule::filmstrip::{self, Shot, Showing};
use inkjoule::frame::Frame;
use inkjoule::machine::{Cause, Key, Micros, micros};
use inkjoule::preview::session::{Begin, Session};
use inkjoule::project::{Loaded, load_files};
use inkjoule::refresh::update::Mode;
use inkjoule::simulate::simulate_watched;
use inkjoule::source::fault::render;
use inkjoule::source::files::Files;
use inkjoule::units::Seconds;
use proptest::prelude::*;
use std::fmt::Write as _;

/// The script begins then. Nothing changes before: the event keeps later hours, the clock is sampled once `n` is above 0.
const BEGIN: Seconds = Seconds(600.0);

/// A random project: screens, a box, keys, timers, clocks, an event; and a script.
#[derive(Clone, Debug)]
struct Plan {
    screens: usize,
    /// For each screen and key: what it does.
    keys: Vec<[u8; 2]>,
    /// For each screen: seconds of a timer and where it leads.
    timers: Vec<Option<(u32, usize)>>,
    /// Where the event leads from each screen.
    event: Vec<Option<usize>>,
    queue: bool,
    /// Key, held for tenths of a second, look in tenths of a second.
    steps: Vec<(usize, u32, u32)>,
}

fn plans() -> impl Strategy<Value = Plan> {
    (2usize..5).prop_flat_map(|screens| {
        let key = any::<[u8; 2]>();
        let timer = prop::option::of((2u32..20, 0..screens));
        let event = prop::option::of(0..screens);
        let step = (0usize..2, prop_oneof![Just(0u32), 0u32..15], 0u32..120);
        (
            Just(screens),
            prop::collection::vec(key, screens),
            prop::collection::vec(timer, screens),
            prop::collection::vec(event, screens),
            any::<bool>(),
            prop::collection::vec(step, 1..20),
        )
            .prop_map(|(screens, keys, timers, event, queue, steps)| Plan {
                screens,
                keys,
                timers,
                event,
                queue,
                steps,
            })
    })
}

/// What a key does, from a random number.
fn action(number: u8, screens: usize) -> String {
    match number % 8 {
        0 | 1 => format!("go = \"s{}\"", usize::from(number / 8) % screens),
        2 => "change = { field = \"n\", by = 1, wrap = true }".into(),
        3 => format!("change = {{ field = \"n\", by = 3 }}, hold = {{ after = \"800 ms\", go = \"s{}\" }}", usize::from(number / 8) % screens),
        4 => "change = { field = \"n\", by = 1 }, repeat = { after = \"400 ms\", every = \"100 ms\", faster = { from = 4, times = 10 } }".into(),
        5 => "open = \"note\"".into(),
        6 => format!("first = [ {{ when = {{ field = \"n\", below = 5 }}, do = [ {{ change = {{ field = \"n\", to = 7 }} }}, {{ go = \"s{}\" }} ] }}, {{ do = [ {{ change = {{ field = \"n\", by = 1, wrap = true }} }} ] }} ]", usize::from(number / 8) % screens),
        _ => "release = { change = { field = \"n\", to = 0 } }".into(),
    }
}

fn project(plan: &Plan) -> Loaded {
    let mut device = BASE.to_owned();
    let _ = write!(
        device,
        "[fields.n]\nrange = [0, 99]\n[fields.clock]\nclock = \"%H:%M:%S\"\nevery = \"7 s\"\nwhile = {{ field = \"n\", from = 1 }}\n[fields.slow]\nclock = \"%M:%S\"\non = \"tick\"\n\
         [events.tick]\nevery = \"25 s\"\nbetween = [\"00:11\", \"23:00\"]\n[events.seven]\nwhen = {{ field = \"n\", is = 7 }}\n\
         [policy]\nmax-partials = 100000\nfull-every = \"300 d\"\nbusy-presses = \"{}\"\n\
         [usage]\nhome = \"s0\"\nstart = \"2031-01-01\"\ndays = 1\nsample-at = \"00:10\"\n\
         temperature = {{ low = \"20 °C\", high = \"20 °C\", warmest = \"12:00\" }}\n[usage.journeys.script]\nat = [\"00:10\"]\nsteps = [\n",
        if plan.queue { "queue" } else { "drop" }
    );
    for (key, hold, look) in &plan.steps {
        let hold = if *hold > 0 { format!("hold = \"{} ms\", ", hold * 100) } else { String::new() };
        let _ = writeln!(device, "{{ press = {}, {hold}look = \"{} ms\" }},", key + 1, look * 100);
    }
    device.push_str("]\n");
    let mut files = vec![("device.toml".to_owned(), device)];
    for screen in 0..plan.screens {
        let mut text = format!(
            "content = [ {{ text = \"{}\", left = 16, top = 16 }}, {{ value = \"n\" }}, {{ text = \"{{clock}} {{slow}}\", bottom = 16 }} ]\n[keys]\n",
            "#".repeat(screen + 1)
        );
        for key in 0..2 {
            let _ = writeln!(text, "{} = {{ {} }}", key + 1, action(plan.keys[screen][key], plan.screens));
        }
        // The home screen is not left by itself, so that every run begins alike.
        if let Some((wait, to)) = plan.timers[screen].filter(|_| screen > 0) {
            let since = if wait % 2 == 0 { "press" } else { "entry" };
            let _ = writeln!(text, "[[after]]\nwait = \"{wait} s\"\nsince = \"{since}\"\ngo = \"s{to}\"");
        }
        if let Some(to) = plan.event[screen] {
            let _ = writeln!(text, "[on]\ntick = {{ go = \"s{to}\" }}\nseven = {{ open = \"note\" }}");
        }
        files.push((format!("screens/s{screen}.toml"), text));
    }
    let note = "box = { size = [64, 32], below = \"frozen\" }\ncontent = [ { text = \"Note {n}\" } ]\n[keys]\n1 = { close = true }\n\
                2 = { change = { field = \"n\", by = 1 } }\n[[after]]\nwait = \"3 s\"\nclose = true\n";
    files.push(("screens/note.toml".to_owned(), note.to_owned()));
    load_files(Files::from_memory(files)).unwrap_or_else(|failed| {
        let said = render(&failed.faults, &failed.sources, false);
        panic!("{said}\n{plan:?}")
    })
}

/// One update as a runner saw it.
#[derive(Clone, Debug, PartialEq)]
struct Seen {
    time: Micros,
    cause: Cause,
    mode: Mode,
    frame: Frame,
}

fn in_simulation(device: &Device, until: Micros) -> Vec<Seen> {
    let mut seen = Vec::new();
    let point = device.inputs.typical();
    simulate_watched(device, &point, |machine, update| {
        let time = machine.now();
        if time >= micros(BEGIN) && time < until {
            seen.push(Seen { time, cause: update.cause, mode: update.mode, frame: machine.canvas.shown.clone() });
        }
    });
    seen
}

/// The script by hand: key by key at its times.
fn in_preview(loaded: Loaded, plan: &Plan, until: Micros) -> Vec<Seen> {
    let mut session = Session::new(loaded, Begin::Shown);
    let mut seen = Vec::new();
    let mut last = None;
    let mut inputs = Vec::new();
    let mut at = micros(BEGIN);
    for (key, hold, look) in &plan.steps {
        let up = at + u64::from(*hold) * 100_000;
        inputs.extend([(at, Key::Down(*key)), (up, Key::Up(*key))]);
        at = up.max(at + u64::from(*look) * 100_000);
    }
    let mut inputs = inputs.into_iter().peekable();
    loop {
        if let Some(update) = session.last_update().filter(|update| Some(update.time) != last) {
            let (time, cause, mode) = (micros(update.time), update.cause, update.mode);
            last = Some(update.time);
            seen.push(Seen { time, cause, mode, frame: session.display().clone() });
        }
        let wake = session.wake().unwrap_or(until).min(until);
        match inputs.peek().map(|(time, _)| *time).filter(|time| *time <= wake && *time < until) {
            Some(time) => {
                // All keys of one moment go in together, as a person's do.
                let keys: Vec<Key> =
                    std::iter::from_fn(|| inputs.next_if(|(next, _)| *next == time)).map(|(_, key)| key).collect();
                session.run_to(time, &keys);
            }
            None if wake >= until => return seen,
            None => session.run_to(wake, &[]),
        }
    }
}

/// The pictures that stand after each drive, with their times.
fn in_film(device: &Device) -> (Vec<(Micros, Mode, Frame)>, Micros) {
    of_film(&filmstrip::shots(device, 0, 0, Some(BEGIN)), BEGIN)
}

/// The pictures that stand after each drive of these shots, with their times, and when the last shot ends.
pub(crate) fn of_film(shots: &[Shot], begin: Seconds) -> (Vec<(Micros, Mode, Frame)>, Micros) {
    let mut now = micros(begin);
    let mut seen = Vec::new();
    let mut driven: Option<(Micros, Mode)> = None;
    for (place, shot) in shots.iter().enumerate() {
        if shot.step == Showing::Drive && driven.is_none() {
            let mode = if shot.settling.is_some() { Mode::Partial } else { Mode::Full };
            driven = Some((now, mode));
        }
        let next = shots.get(place + 1);
        now += micros(shot.time);
        let ends = shot.step == Showing::Drive && next.is_none_or(|next: &Shot| next.step != Showing::Drive);
        if let (true, Some((at, mode)), Some(next)) = (ends, driven, next) {
            seen.push((at, mode, next.frame.clone()));
            driven = None;
        }
    }
    (seen, now)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 60, ..ProptestConfig::default() })]

    #[test]
    fn random_scripts_give_the_same_updates_in_simulation_preview_and_film(plan in plans()) {
        let loaded = project(&plan);
        let (film, end) = in_film(&loaded.device);
        let simulated = in_simulation(&loaded.device, end);
        // The film shows an update once its drive is over.
        for (at, mode, frame) in &film {
            let sent = simulated.iter().rfind(|update| update.time <= *at);
            prop_assert!(sent.is_some_and(|sent| sent.frame == *frame && sent.mode == *mode), "film at {at}: {sent:?}");
        }
        // It ends with the person's last look, while the device goes on.
        let last = film.last().map_or(0, |(at, ..)| *at);
        let until = simulated.iter().filter(|update| update.time <= last).count();
        prop_assert_eq!(film.len(), until, "of {}", simulated.len());
        let previewed = in_preview(loaded, &plan, end);
        let times = |all: &[Seen]| all.iter().map(|one| (one.time, one.cause, one.mode)).collect::<Vec<_>>();
        prop_assert_eq!(times(&previewed), times(&simulated));
        prop_assert!(previewed == simulated, "images differ");
    }
}

/// A screen with a timer of 10 s stands for 10 s in the film, as in the budget.
#[test]
fn a_timer_ends_in_the_film_as_in_the_budget() {
    let plan = Plan {
        screens: 2,
        keys: vec![[8, 8], [2, 2]],
        timers: vec![None, Some((10, 0))],
        event: vec![None, None],
        queue: true,
        steps: vec![(0, 0, 576)],
    };
    let loaded = project(&plan);
    let shots = filmstrip::shots(&loaded.device, 0, 0, None);
    let caption: Vec<&str> = shots.iter().map(|shot| shot.caption.as_str()).collect();
    assert!(caption.iter().any(|words| words.starts_with("after 10 s")), "{caption:?}");
}
