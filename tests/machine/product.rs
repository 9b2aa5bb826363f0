//! A second product, larger than the demo and of another trade, which uses every feature of behaviour (`tests/product`):
//! nothing is said against it, its eleven scripts and a log of its keys give the same updates whoever plays them, and their frames are golden.

use crate::drivers::of_film;
use inkjoule::behaviour::states::DeviceState;
use inkjoule::budget::summary::budget;
use inkjoule::check::check;
use inkjoule::device::Device;
use inkjoule::filmstrip::script_shots;
use inkjoule::frame::Frame;
use inkjoule::frame::files::png;
use inkjoule::limits;
use inkjoule::machine::explore::{STATES, explore};
use inkjoule::machine::{Key, Micros, UpdateCause, micros};
use inkjoule::preview::command::Turn;
use inkjoule::preview::session::{Begin, Session};
use inkjoule::project::{Loaded, load};
use inkjoule::refresh::update::Mode;
use inkjoule::simulate::live::cause_words;
use inkjoule::simulate::play::play;
use inkjoule::source::fault::render;
use inkjoule::usage::script::{Input, Script, log, script};
use std::fmt::Write as _;
use std::path::{Path, PathBuf};

fn product() -> Loaded {
    changed(&[])
}

fn changed(changes: &[String]) -> Loaded {
    load(Path::new("tests/product"), changes).unwrap_or_else(|failed| {
        panic!("{}", render(&failed.faults, &failed.sources, false));
    })
}

/// It at one temperature: the preview follows that of the hour, a script is played at the mean.
fn even() -> Loaded {
    changed(&["low", "high"].map(|end| format!("usage.temperature.{end}=16 °C")))
}

/// The scripts by their names.
fn scripts(loaded: &Loaded) -> Vec<(String, Script)> {
    let entries = std::fs::read_dir("tests/product/scripts").expect("the folder is there");
    let mut files: Vec<PathBuf> = entries.map(|entry| entry.expect("readable").path()).collect();
    files.sort();
    let read = |path: &PathBuf| {
        let name = path.file_stem().unwrap_or_default().to_string_lossy().into_owned();
        let text = std::fs::read_to_string(path).expect("readable");
        let reader = if path.extension().is_some_and(|ending| ending == "csv") { log } else { script };
        let read = reader(&loaded.device, &name, &text).unwrap_or_else(|fault| panic!("{}", fault.message));
        (name, read)
    };
    files.iter().map(read).collect()
}

/// One update as the preview showed it.
struct Seen {
    time: Micros,
    cause: UpdateCause,
    mode: Mode,
    front: String,
    frame: Frame,
}

/// The inputs of a script at their times, made as somebody at the preview makes them.
fn in_preview(script: &Script) -> Vec<Seen> {
    let mut session = Session::new(even(), Begin::Shown);
    let begin = micros(script.begin);
    let until = begin + script.inputs.last().map_or(0, |last| last.at);
    let (mut seen, mut last) = (Vec::new(), None);
    let mut inputs = script.inputs.iter().peekable();
    while let Some(next) = inputs.peek().map(|timed| begin + timed.at) {
        let now = session.wake().map_or(next, |wake| wake.min(next));
        let mut keys = Vec::new();
        let mut others = Vec::new();
        while let Some(timed) = inputs.next_if(|timed| begin + timed.at == now) {
            match timed.input {
                Input::Key(key) => keys.push(key),
                other => others.push(other),
            }
        }
        session.run_to(now, &keys);
        for input in others {
            put(&mut session, input);
        }
        if let Some(update) = session.last_update().filter(|update| Some(update.time) != last) {
            let (time, cause, mode) = (micros(update.time), update.cause, update.mode);
            last = Some(update.time);
            let front = session.device().screens[session.front().0].id.clone();
            seen.push(Seen { time, cause, mode, front, frame: session.display().clone() });
        }
        if now >= until {
            break;
        }
    }
    seen
}

/// An input that is no key: an event, or one of the preview's keys for states.
fn put(session: &mut Session, input: Input) {
    match input {
        Input::Event(event) => session.inject(event),
        Input::Value(field, value) => {
            let now = session.value(field);
            let held = |state| session.device().states.field(state) == Some(field);
            let turn = if held(DeviceState::Usb) {
                Some(Turn::Usb)
            } else if held(DeviceState::Link) {
                Some(Turn::Link)
            } else if held(DeviceState::Charge) {
                Some(if value < now { Turn::Emptier } else { Turn::Fuller })
            } else {
                // Charging comes and goes with the cable.
                None
            };
            if let Some(turn) = turn.filter(|_| now != value) {
                assert!(session.turn(turn));
            }
            assert_eq!(session.value(field), value, "the preview's keys reach what the script says");
        }
        Input::Expect(_) | Input::Rest | Input::Key(_) => {}
    }
}

#[test]
fn nothing_is_said_against_it() {
    let loaded = product();
    let device = &loaded.device;
    assert!(device.screens.len() >= 25 && device.locales.len() == 2, "{} screens", device.screens.len());
    let mut said: Vec<String> = loaded.warnings.iter().map(|fault| fault.message.clone()).collect();
    let budget = budget(device);
    // Its journey was once a press too fast for its own message, and nobody said so.
    assert!(budget.counts.derailed() <= 1, "{}", budget.counts.derailed());
    said.extend(
        check(&inkjoule::lint::Subject::new(device, vec![0, 1]), &budget)
            .into_iter()
            .map(|finding| finding.fault.message),
    );
    assert!(said.is_empty(), "{}", said.join("\n"));
}

#[test]
fn its_states_are_all_explored() {
    let found = explore(&product().device, STATES);
    println!("{} states", found.states);
    assert!(found.complete, "{} states and more", found.states);
    assert!(found.states > 500 && found.trapped.is_empty(), "{} states", found.states);
    assert!(found.shown.iter().all(|shown| *shown));
}

#[test]
fn scripts_give_the_same_updates_in_simulation_preview_and_film_and_their_frames_are_golden() {
    let loaded = even();
    let device = &loaded.device;
    let all = scripts(&loaded);
    assert_eq!(all.len(), 12);
    let mut shown = vec![false; device.screens.len()];
    let mut differing = Vec::new();
    let mut deepest = 0;
    for (name, script) in &all {
        let played = play(device, 0, script);
        let missed: Vec<String> = played.missed.iter().map(|missed| missed.words(device, name)).collect();
        assert!(missed.is_empty(), "{}", missed.join("\n"));
        played.fronts.iter().for_each(|front| shown[front.0] = true);
        deepest = deepest.max(boxes(device, script));
        let seen = in_preview(script);
        let trace = |time: Micros, cause, mode| format!("{time} {} {mode:?}", cause_words(cause, device));
        let simulated: Vec<String> = played.sent.iter().map(|sent| trace(sent.at, sent.cause, sent.mode)).collect();
        let previewed: Vec<String> = seen.iter().map(|one| trace(one.time, one.cause, one.mode)).collect();
        assert_eq!(simulated, previewed, "{name}");
        let (shots, missed) = script_shots(device, 0, script);
        assert!(missed.is_empty());
        let (film, _) = of_film(&shots, script.begin);
        // The film shows an update once its drive is over; it may end before the last one is.
        assert!(film.len() + 1 >= seen.len() && film.len() > 5, "{name}: {} of {}", film.len(), seen.len());
        for (at, mode, frame) in &film {
            let sent = seen.iter().rfind(|one| one.time <= *at);
            assert!(sent.is_some_and(|sent| sent.frame == *frame && sent.mode == *mode), "{name}: film at {at}");
        }
        let begin = micros(script.begin);
        let mut text = String::new();
        for (one, sent) in seen.iter().zip(&played.sent) {
            let time = (one.time - begin) as f64 * 1e-6;
            let mode = if one.mode == Mode::Full { "full" } else { "partial" };
            let cause = cause_words(one.cause, device);
            let _ = writeln!(text, "{time:8.3} s  {:9} {mode:7} {:5} px  {cause}", one.front, sent.changed);
        }
        differing.extend(golden(name, "txt", text.as_bytes()));
        differing.extend(golden(name, "png", &png(&contact(&seen), 1).expect("a picture has pixels")));
    }
    assert!(differing.is_empty(), "{}", differing.join("\n"));
    assert_eq!(deepest, limits::BOX_DEPTH);
    let never: Vec<&str> =
        device.screens.iter().zip(&shown).filter(|(_, shown)| !**shown).map(|(screen, _)| screen.id.as_str()).collect();
    assert_eq!(never, [""; 0]);
}

/// How many boxes lie over one another at most.
fn boxes(device: &Device, script: &Script) -> usize {
    let mut session = Session::new(even(), Begin::Shown);
    let mut deepest = 0;
    let begin = micros(script.begin);
    for timed in &script.inputs {
        while let Some(wake) = session.wake().filter(|wake| *wake < begin + timed.at) {
            session.run_to(wake, &[]);
            deepest = deepest.max(session.state().boxes.len());
        }
        let keys: Vec<Key> = match timed.input {
            Input::Key(key) => vec![key],
            _ => Vec::new(),
        };
        session.run_to(begin + timed.at, &keys);
        put(&mut session, timed.input);
        deepest = deepest.max(session.state().boxes.len());
    }
    assert!(deepest <= device.screens.len());
    deepest
}

/// What differs from the file that was accepted. ACCEPT=1 writes it anew: look at it then.
fn golden(name: &str, ending: &str, found: &[u8]) -> Option<String> {
    let path = Path::new("tests/golden/product").join(format!("{name}.{ending}"));
    if std::env::var_os("ACCEPT").is_some() {
        std::fs::create_dir_all("tests/golden/product").expect("writable");
        std::fs::write(&path, found).expect("writable");
    }
    let expected = std::fs::read(&path).unwrap_or_default();
    if expected == found {
        return None;
    }
    let shown = Path::new(env!("CARGO_TARGET_TMPDIR")).join(format!("{name}.{ending}"));
    std::fs::write(&shown, found).expect("writable");
    Some(format!("{} differs from {}", shown.display(), path.display()))
}

/// Frames beside one another, six in a row, each in an outline.
fn contact(seen: &[Seen]) -> Frame {
    const ROW: usize = 6;
    let [width, height] = seen.first().map_or([1, 1], |one| [one.frame.width() + 4, one.frame.height() + 4]);
    let mut all = Frame::new(width * ROW as u32, height * seen.len().div_ceil(ROW) as u32);
    for (place, one) in seen.iter().enumerate() {
        let (left, top) = ((place % ROW) as u32 * width, (place / ROW) as u32 * height);
        for y in 0..height - 2 {
            for x in 0..width - 2 {
                let edge = x == 0 || y == 0 || x == width - 3 || y == height - 3;
                if edge || one.frame.ink(x - 1, y - 1) {
                    all.set(left + x, top + y, true);
                }
            }
        }
    }
    all
}

#[test]
fn journeys_that_a_message_stops_are_named_though_the_flow_alone_would_let_them_go_on() {
    let loaded = changed(&["usage.journeys.round.steps.2.look=2 s".to_owned()]);
    let device = &loaded.device;
    let budget = budget(device);
    assert!(budget.counts.derailed() > 5);
    let found = check(&inkjoule::lint::Subject::new(device, vec![0]), &budget);
    let named: Vec<&str> = found
        .iter()
        .filter(|finding| finding.fault.id == Some("journey-interrupted"))
        .map(|finding| finding.fault.message.as_str())
        .collect();
    assert_eq!(named.len(), 1, "{named:?}");
    assert!(named[0].contains("`round` stop early"), "{named:?}");
}
