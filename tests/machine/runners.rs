//! One machine, whoever drives it: random projects and scripts give the same updates at the same times, with the same
//! pictures, causes and waveforms in simulation, preview and filmstrip.

use crate::drivers::{Seen, by_journey, by_script, chosen, compare_film, in_film, in_preview, in_simulation, of_film};
use crate::occurrences::Occurred;
use crate::plans::{BEGIN, Plan, Step, plans, project};
use inkjoule::filmstrip;
use inkjoule::machine::micros;
use inkjoule::simulate::play::play;
use inkjoule::usage::script::script;
use proptest::prelude::*;
use proptest::test_runner::{RngAlgorithm, TestRng, TestRunner};
use std::cell::RefCell;

fn the_journey_is_one(plan: &Plan, occurred: &mut Occurred) -> Result<(), TestCaseError> {
    let loaded = project(plan, "");
    let (film, end) = in_film(&loaded.device);
    let simulated = in_simulation(&loaded.device, end);
    compare_film(&film, &simulated)?;
    let inputs = by_journey(plan, &loaded.device);
    let choices = plan.steps.iter().filter_map(|step| match step {
        Step::Either(_, [one, two], _) if one != two => Some(*one),
        _ => None,
    });
    let chosen = chosen(&loaded.device);
    let walked = plan.steps.iter().filter(|step| !matches!(step, Step::Turn(..))).zip(&chosen);
    let taken = walked.filter_map(|(step, key)| match step {
        Step::Either(_, [one, two], _) if one != two => Some(*key),
        _ => None,
    });
    for (first, taken) in choices.zip(taken) {
        occurred.note("the first way of a choice", first == taken);
        occurred.note("the other way of a choice", first != taken);
    }
    let previewed = in_preview(loaded, &inputs, end, occurred);
    let times = |all: &[Seen]| all.iter().map(|one| (one.time, one.cause, one.mode)).collect::<Vec<_>>();
    prop_assert_eq!(times(&previewed), times(&simulated));
    prop_assert!(previewed == simulated, "images differ");
    Ok(())
}

fn the_script_is_one(plan: &Plan, occurred: &mut Occurred) -> Result<(), TestCaseError> {
    let loaded = project(plan, " {charge}");
    let (text, inputs) = by_script(plan);
    let read = script(&loaded.device, "x.script", &text).expect("a script");
    let played = play(&loaded.device, 0, &read);
    let (shots, missed) = filmstrip::script_shots(&loaded.device, 0, &read);
    prop_assert_eq!(missed, vec![]);
    let (film, end) = of_film(&shots, BEGIN);
    let until = micros(BEGIN) + read.inputs.last().map_or(0, |last| last.at);
    prop_assert!(end >= until, "the film ends at {end}");
    // Up to the script's end, itself not.
    let previewed = in_preview(loaded, &inputs, until, occurred);
    let sent: Vec<_> = played.sent.iter().map(|sent| (sent.at, sent.cause, sent.mode)).collect();
    let sent: Vec<_> = sent.into_iter().filter(|(at, ..)| *at < until).collect();
    let times: Vec<_> = previewed.iter().map(|one| (one.time, one.cause, one.mode)).collect();
    prop_assert_eq!(times, sent);
    let film: Vec<_> = film.into_iter().filter(|(at, ..)| *at < until).collect();
    compare_film(&film, &previewed)
}

/// Runs a check on so many random plans, and gives what occurred.
pub(crate) fn on_plans(cases: u32, check: impl Fn(&Plan, &mut Occurred) -> Result<(), TestCaseError>) -> Occurred {
    let occurred = RefCell::new(Occurred::default());
    let config = ProptestConfig { cases, failure_persistence: None, ..ProptestConfig::default() };
    let mut runner = TestRunner::new_with_rng(config, TestRng::deterministic_rng(RngAlgorithm::ChaCha));
    if let Err(failed) = runner.run(&plans(), |plan| check(&plan, &mut occurred.borrow_mut())) {
        panic!("{failed}");
    }
    occurred.into_inner()
}

pub(crate) fn all_occurred(occurred: &Occurred, wanted: &[&str]) {
    let missing: Vec<&&str> =
        wanted.iter().filter(|what| occurred.0.get(**what).is_none_or(|count| *count < 3)).collect();
    assert!(missing.is_empty(), "hardly ever: {missing:?} of {:?}", occurred.0);
}

/// Boxes to the full depth are opened by a script of the product, and by the random scripts that C and Rust share.
const BY_KEYS: [&str; 6] = [
    "back",
    "cancel that restores",
    "a press whose rule holds anywhere",
    "an event whose rule holds anywhere",
    "a box",
    "a sample for a time after a key",
];

#[test]
fn random_journeys_give_the_same_updates_in_simulation_preview_and_film() {
    let occurred = on_plans(120, the_journey_is_one);
    all_occurred(&occurred, &BY_KEYS);
    all_occurred(&occurred, &["the first way of a choice", "the other way of a choice"]);
}

#[test]
fn random_scripts_give_the_same_updates_in_play_preview_and_film() {
    let occurred = on_plans(120, the_script_is_one);
    all_occurred(&occurred, &BY_KEYS);
    let states = ["USB", "charging", "the link", "the charge"];
    all_occurred(&occurred, &states);
    all_occurred(&occurred, &["the box of USB", "the box of a low charge", "the screen of a lost link"]);
}

/// A screen with a timer of 10 s stands for 10 s in the film, as in the budget.
#[test]
fn a_timer_ends_in_the_film_as_in_the_budget() {
    let plan = Plan {
        screens: 2,
        keys: vec![[11, 11, 0], [2, 2, 2]],
        timers: vec![None, Some((10, 0))],
        event: vec![None, None],
        except: vec![true, true],
        queue: true,
        steps: vec![Step::Press(0, 0, 576)],
    };
    let loaded = project(&plan, "");
    let shots = filmstrip::shots(&loaded.device, 0, 0, None);
    let caption: Vec<&str> = shots.iter().map(|shot| shot.caption.as_str()).collect();
    assert!(caption.iter().any(|words| words.starts_with("after 10 s")), "{caption:?}");
}
