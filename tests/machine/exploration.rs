//! Exploring the states of a flow: how many there are, which are never left; lints that follow from it.

use crate::plain::device;
use inkjoule::lint::{Subject, findings};
use inkjoule::machine::explore::{STATES, explore};
use inkjoule::project::load;
use std::path::Path;
use std::time::{Duration, Instant};

const USAGE: &str = "[fields.n]\nrange = [0, 4]\n[usage]\nhome = \"a\"\nstart = \"2031-01-01\"\n\
                     temperature = { low = \"20 °C\", high = \"20 °C\", warmest = \"12:00\" }\n";

fn said(more: &str, screens: &[(&str, &str)], lint: &str) -> Vec<String> {
    let device = device(&format!("{USAGE}{more}"), screens);
    let found = findings(&Subject::new(&device, vec![0]));
    found.into_iter().filter(|finding| finding.fault.id == Some(lint)).map(|finding| finding.fault.message).collect()
}

#[test]
fn the_states_of_a_small_flow_are_those_counted_by_hand() {
    // On a the field decides where key 2 leads, so its five values count: 5 states of a, each leads to b or, at 4, to c,
    // with a behind them on the way back. b is entered with n from 0 to 3, c with 4.
    let a = "content = [ { text = \"{n}\" } ]\n[keys]\n1 = { change = { field = \"n\", by = 1, wrap = true } }\n\
             2 = { first = [ { when = { field = \"n\", is = 4 }, do = [ { go = \"c\" } ] }, { do = [ { go = \"b\" } ] } ] }\n";
    let back = "content = [ { text = \"b\" } ]\n[keys]\n1 = { back = true }\n";
    let device = device(USAGE, &[("a", a), ("b", back), ("c", back)]);
    let found = explore(&device, STATES);
    assert_eq!((found.states, found.complete, found.trapped.len()), (5 + 4 + 1, true, 0));
    assert_eq!(found.shown, [true; 3]);
    let bounded = explore(&device, 4);
    assert_eq!(
        (bounded.states, bounded.complete, bounded.trapped.len()),
        (4, false, 0),
        "a bound is told, nothing is made up"
    );
}

#[test]
fn a_planted_trap_is_found_and_a_way_out_takes_it_away() {
    // The screen c leads back only while n is below 2, and nothing changes n there.
    let a =
        "content = [ { text = \"{n}\" } ]\n[keys]\n1 = { change = { field = \"n\", by = 1 } }\n2 = { go = \"c\" }\n";
    let c = "content = [ { text = \"c\" } ]\n[keys]\n1 = { first = [ { when = { field = \"n\", below = 2 }, do = [ { go = \"a\" } ] } ] }\n";
    let found = said("", &[("a", a), ("c", c)], "trapped");
    assert_eq!(found, ["a state of `c` is never left: nothing leads from it back to `a`"]);
    let out = format!("{c}[[after]]\nwait = \"60 s\"\ngo = \"a\"\n");
    assert!(said("", &[("a", a), ("c", &out)], "trapped").is_empty());
}

#[test]
fn a_box_without_a_way_out_is_a_trap() {
    let a = "content = [ { text = \"a\" } ]\n[keys]\n1 = { open = \"x\" }\n";
    let shut = "box = { size = [60, 30] }\ncontent = [ { text = \"x\" } ]\n";
    assert_eq!(said("", &[("a", a), ("x", shut)], "trapped").len(), 1);
    let open = format!("{shut}[keys]\n1 = {{ close = true }}\n");
    assert!(said("", &[("a", a), ("x", &open)], "trapped").is_empty());
}

#[test]
fn journeys_that_derail_and_screens_that_strand_them_are_named() {
    let event = "[events.fault]\nper-day = 1\n";
    let a = "content = [ { text = \"a\" } ]\n[keys]\n1 = { change = { field = \"n\", by = 1 } }\n\
             2 = { first = [ { when = { field = \"n\", below = 1 }, do = [ { go = \"b\" } ] } ] }\n[on]\nfault = { go = \"stuck\" }\n";
    let b = "content = [ { text = \"b\" } ]\n[keys]\n1 = { go = \"a\" }\n";
    let stuck = "content = [ { text = \"stuck\" } ]\n";
    let journey = "[usage.journeys.round]\nper-day = 1\nsteps = [ { press = 1, look = \"1 s\" }, { press = 2, look = \"1 s\" } ]\n";
    let screens = [("a", a), ("b", b), ("stuck", stuck)];
    let both = format!("{journey}{event}");
    assert_eq!(
        said(&both, &screens, "journey-derails"),
        ["the journey `round` stops at its step 2: key 2 does nothing on `a`"]
    );
    assert_eq!(
        said(&both, &screens, "journey-stranded"),
        ["from `stuck` nothing leads to where the journey `round` begins"]
    );
    let fine = journey
        .replace("press = 1, look", "press = 2, look")
        .replace("press = 2, look = \"1 s\" } ]", "press = 1, look = \"1 s\" } ]");
    let led =
        [("a", a), ("b", b), ("stuck", "content = [ { text = \"stuck\" } ]\n[[after]]\nwait = \"60 s\"\ngo = \"a\"\n")];
    assert!(said(&format!("{fine}{event}"), &led, "journey-derails").is_empty());
    assert!(said(&format!("{fine}{event}"), &led, "journey-stranded").is_empty());
}

#[test]
fn the_demo_is_explored_at_once() {
    let Ok(loaded) = load(Path::new("screens-demo"), &[]) else { panic!("the demo does not load") };
    let start = Instant::now();
    let found = explore(&loaded.device, STATES);
    assert!(found.complete && found.states >= loaded.device.screens.len() - 2, "{found:?}");
    assert!(start.elapsed() < Duration::from_secs(1), "{:?}", start.elapsed());
}
