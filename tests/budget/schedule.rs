//! The cheapest refresh schedule, against numbers worked by hand and against every schedule there is.

use inkjoule::refresh::schedule::{Breach, Choice, Planned, Rules, ScheduleFault, cheapest, cost_of};
use inkjoule::units::{Joules, Seconds};
use proptest::prelude::*;

use Choice::{Full, FullThenPartial, Partial};

fn step(time: f64, full: f64, partial: f64) -> Planned<Joules> {
    Planned { full: Joules(full), partial: Some(Joules(partial)), must_full: false, time: Seconds(time) }
}

fn rules(max_partials: u32) -> Rules<Joules> {
    Rules { max_partials, max_age: None, idle_full: Joules(10.0), last_full: Some(Seconds(0.0)) }
}

/// "Partial as long as it is allowed, else full", as a device that cannot look ahead does it.
fn greedy(steps: &[Planned<Joules>], rules: &Rules<Joules>) -> Vec<Choice> {
    let mut modes: Vec<Choice> = Vec::new();
    for at in 0..steps.len() {
        modes.push(Partial);
        if cost_of(&steps[..=at], rules, &modes).is_err() {
            modes[at] = Full;
        }
    }
    modes
}

#[test]
fn the_full_goes_where_it_costs_least_extra() {
    // At most two partials in a row, five updates, the last full just before them. One full is needed, at the third
    // update at the latest, and it may not leave more than two partials after it: so only the third alone will do.
    let steps = [step(1., 9., 2.), step(2., 6., 4.), step(3., 9., 2.), step(4., 9., 2.), step(5., 9., 2.)];
    let five = cheapest(&steps, &rules(2)).unwrap();
    assert_eq!(five.modes, [Partial, Partial, Full, Partial, Partial]);
    assert_eq!(five.total.cost, Joules(2. + 4. + 9. + 2. + 2.));
    // With four updates the full may be the second or the third. A full costs 6 - 4 = 2 J extra at the second, which
    // changes most of the screen anyway, and 9 - 2 = 7 J extra at the third. Waiting for the third would cost 5 J more.
    let four = cheapest(&steps[..4], &rules(2)).unwrap();
    assert_eq!(four.modes, [Partial, Full, Partial, Partial]);
    assert_eq!(four.total.cost, Joules(2. + 6. + 2. + 2.));
    let waiting = greedy(&steps[..4], &rules(2));
    assert_eq!(waiting, [Partial, Partial, Full, Partial]);
    assert_eq!(cost_of(&steps[..4], &rules(2), &waiting).unwrap().cost, Joules(17.0));
}

#[test]
fn a_deadline_without_an_update_costs_an_extra_full() {
    // A full at 0 h at least every 24 h; updates at 20 h, 50 h and 60 h. Left alone, extra fulls fall due at 24 h and
    // 48 h. A full at 20 h moves the next deadlines to 44 h and 68 h and so saves an extra full of 10 J for 9 - 2 = 7 J.
    let age = Rules { max_age: Some(Seconds(24.0)), ..rules(9) };
    let steps = [step(20., 9., 2.), step(50., 9., 2.), step(60., 9., 2.)];
    let kept = cost_of(&steps, &age, &[Partial; 3]).unwrap();
    assert_eq!((kept.cost, kept.extra_fulls), (Joules(2. + 20. + 2. + 2.), 2));
    let best = cheapest(&steps, &age).unwrap();
    assert_eq!(best.modes, [Full, Partial, Partial]);
    assert_eq!((best.total.cost, best.total.extra_fulls), (Joules(9. + 10. + 2. + 2.), 1));
}

#[test]
fn an_update_right_at_the_deadline_may_still_be_the_full() {
    let age = Rules { max_age: Some(Seconds(24.0)), ..rules(9) };
    let best = cheapest(&[step(24., 9., 2.), step(48., 9., 2.)], &age).unwrap();
    assert_eq!(best.total.extra_fulls, 0);
    // The last update has no deadline after it within the sequence.
    assert_eq!(best.modes, [Full, Partial]);
}

#[test]
fn illegal_schedules_name_the_update_and_the_rule() {
    let mut steps = [step(1., 9., 2.), step(2., 9., 2.), step(3., 9., 2.)];
    let illegal = |at, breach| Err(ScheduleFault::Illegal(at, breach));
    assert_eq!(cost_of(&steps, &rules(2), &[Partial; 3]), illegal(2, Breach::TooManyPartials));
    let fresh = Rules { last_full: None, ..rules(2) };
    assert_eq!(cost_of(&steps, &fresh, &[Partial; 3]), illegal(0, Breach::NoFullBefore));
    assert_eq!(cost_of(&steps, &fresh, &[FullThenPartial, Partial, Partial]), illegal(0, Breach::NoFullBefore));
    assert_eq!(cheapest(&steps, &fresh).unwrap().modes, [Full, Partial, Partial]);
    steps[1].partial = None;
    assert_eq!(cost_of(&steps, &rules(2), &[Partial; 3]), illegal(1, Breach::NoPartial));
    steps[0].must_full = true;
    assert_eq!(cost_of(&steps, &rules(2), &[Partial; 3]), illegal(0, Breach::MustBeFull));
    assert_eq!(cost_of(&steps, &rules(2), &[Full; 2]), Err(ScheduleFault::Length));
}

#[test]
fn nonsense_is_refused() {
    let ok = [step(1., 9., 2.)];
    assert_eq!(cheapest(&[step(1., f64::NAN, 2.)], &rules(1)), Err(ScheduleFault::Cost(Some(0))));
    assert_eq!(cheapest(&[step(1., 1., -2.)], &rules(1)), Err(ScheduleFault::Cost(Some(0))));
    assert_eq!(cheapest(&[step(2., 1., 1.), step(1., 1., 1.)], &rules(1)), Err(ScheduleFault::Time(1)));
    assert_eq!(cheapest(&ok, &Rules { max_age: Some(Seconds(0.0)), ..rules(1) }), Err(ScheduleFault::Age));
    assert_eq!(cheapest(&ok, &Rules { idle_full: Joules(-1.0), ..rules(1) }), Err(ScheduleFault::Cost(None)));
    assert_eq!(cheapest::<Joules>(&[], &rules(1)).unwrap().total.cost, Joules(0.0));
    // A wait of very many deadlines is one step of work.
    let long = Rules { max_age: Some(Seconds(1e-9)), ..rules(1) };
    assert!(cheapest(&[step(1e9, 9., 2.)], &long).unwrap().total.extra_fulls > 1_000_000_000);
}

/// The least cost over every sequence of the given modes, walked with its own bookkeeping, in whole numbers.
fn exhaustive(steps: &[Planned<Joules>], rules: &Rules<Joules>, modes: &[Choice], run: u32, last: Option<f64>) -> f64 {
    let Some((step, rest)) = steps.split_first() else { return 0.0 };
    let (mut run, mut last, mut due) = (run, last, 0.0);
    while let (Some(full), Some(age)) = (last, rules.max_age)
        && full + age.0 < step.time.0
    {
        (run, last, due) = (0, Some(full + age.0), due + rules.idle_full.0);
    }
    let time = step.time.0;
    let partial = step.partial.filter(|_| !step.must_full && last.is_some());
    let after = |mode: &Choice| match (mode, partial) {
        (Full, _) => step.full.0 + exhaustive(rest, rules, modes, 0, Some(time)),
        (Partial, Some(cost)) if run < rules.max_partials => cost.0 + exhaustive(rest, rules, modes, run + 1, last),
        (FullThenPartial, Some(cost)) if rules.max_partials > 0 => {
            rules.idle_full.0 + cost.0 + exhaustive(rest, rules, modes, 1, Some(time))
        }
        _ => f64::INFINITY,
    };
    due + modes.iter().map(after).fold(f64::INFINITY, f64::min)
}

prop_compose! {
    fn some_step()(full in 0..30u32, partial in proptest::option::weighted(0.9, 0..12u32), must in 0..12u8, wait in 0..9u32)
        -> (u32, Option<u32>, bool, u32) { (full, partial, must == 0, wait) }
}

prop_compose! {
    fn case(longest: usize)(
        raw in proptest::collection::vec(some_step(), 0..=longest),
        max_partials in 0..6u32, age in proptest::option::of(1..20u32), idle in 0..30u32, fresh: bool,
    ) -> (Vec<Planned<Joules>>, Rules<Joules>) {
        let mut time = 0.0;
        let steps = raw.iter().map(|&(full, partial, must_full, wait)| {
            time += f64::from(wait);
            let partial = partial.map(|cost| Joules(f64::from(cost)));
            Planned { full: Joules(f64::from(full)), partial, must_full, time: Seconds(time) }
        }).collect();
        let last_full = (!fresh).then_some(Seconds(0.0));
        let max_age = age.map(|age| Seconds(f64::from(age)));
        (steps, Rules { max_partials, max_age, idle_full: Joules(f64::from(idle)), last_full })
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    /// No full dearer than an extra full and a partial: two modes are enough, and the extra one is never chosen.
    #[test]
    fn equals_every_sequence_of_two_modes((steps, mut rules) in case(12)) {
        let extra = |s: &Planned<Joules>| s.full.0 - s.partial.map_or(0.0, |cost| cost.0);
        rules.idle_full.0 = steps.iter().map(extra).fold(rules.idle_full.0, f64::max);
        let best = cheapest(&steps, &rules).unwrap();
        let start = rules.last_full.map(|time| time.0);
        prop_assert_eq!(best.total.cost.0, exhaustive(&steps, &rules, &[Full, Partial], 0, start));
        prop_assert!(!best.modes.contains(&FullThenPartial));
    }

    /// Any costs: every sequence of the three modes.
    #[test]
    fn equals_every_sequence_of_three_modes((steps, rules) in case(8)) {
        let best = cheapest(&steps, &rules).unwrap();
        let start = rules.last_full.map(|time| time.0);
        prop_assert_eq!(best.total.cost.0, exhaustive(&steps, &rules, &[Full, Partial, FullThenPartial], 0, start));
        prop_assert_eq!(cost_of(&steps, &rules, &best.modes).unwrap(), best.total);
    }

    #[test]
    fn never_dearer_than_waiting_for_the_limit((steps, rules) in case(200)) {
        let waiting = cost_of(&steps, &rules, &greedy(&steps, &rules)).unwrap();
        let best = cheapest(&steps, &rules).unwrap().total;
        prop_assert!(best.cost.0 <= waiting.cost.0);
        prop_assert_eq!(best.fulls + best.partials, steps.len() as u64);
    }
}
