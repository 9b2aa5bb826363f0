//! One basis: what the budget advises, lists as sensitivities and sweeps is the median life of the same random devices.

use inkjoule::budget::figure::Figure;
use inkjoule::budget::fleet::{DEVICES, Unit, changed, changed_median, fleet, scaled};
use inkjoule::budget::life::Habits;
use inkjoule::budget::summary::budget;
use inkjoule::figures::advice::{advice, text};
use inkjoule::figures::sweep::range::{Spacing, values};
use inkjoule::figures::sweep::{Swept, sweep};
use inkjoule::project::load;
use inkjoule::units::DAY;
use std::path::Path;

fn demo(changes: &[&str]) -> inkjoule::project::Loaded {
    let changes: Vec<String> = changes.iter().map(ToString::to_string).collect();
    load(Path::new("screens-demo"), &changes).unwrap_or_else(|failed| panic!("{:?}", failed.faults))
}

/// The estimate from the devices around the median, against medians of all devices with the input five per cent up and
/// down.
#[test]
fn sensitivities_are_those_of_the_median() {
    let loaded = demo(&[]);
    let device = &loaded.device;
    let budget = budget(device);
    for entry in budget.sensitivity(device).iter().take(6) {
        let index = device.inputs.rows().iter().position(|row| row.path == entry.input).expect("an input");
        let median =
            |factor: f64| scaled(device, &budget.counts, DEVICES, index, factor).expect("a life").p50.time.0.ln();
        let found = (median(1.05) - median(0.95)) / (1.05_f64.ln() - 0.95_f64.ln());
        // The median itself has a resolution of one device among its neighbours.
        assert!((found - entry.elasticity).abs() < 0.03 + 0.1 * found.abs(), "{entry:?}, by brute force {found}");
    }
}

/// The few devices around the median tell the same as all of them, also where a change turns their order around.
#[test]
fn the_median_after_a_change_is_that_of_all_devices() {
    let loaded = demo(&[]);
    let device = &loaded.device;
    let counts = budget(device).counts;
    let order = fleet(device, &counts, DEVICES, &|| ()).expect("lives").order;
    let scaled = |path: &'static str, factor: f64| {
        let index = device.inputs.rows().iter().position(|row| row.path == path).expect("an input");
        move |unit: Unit| Unit { parameters: unit.parameters.scaled(index, factor), ..unit }
    };
    let turned = |unit: Unit| Unit { habits: Habits { usage: unit.habits.usage.recip(), ..unit.habits }, ..unit };
    let slept = scaled("board.mcu.sleep", 20.0);
    let smaller = scaled("battery.capacity", 0.3);
    for change in [&slept as &(dyn Fn(Unit) -> Unit + Sync), &smaller, &turned] {
        let all = changed(device, &counts, DEVICES, change).expect("lives").p50.time;
        assert_eq!(changed_median(device, &counts, &order, change).expect("lives"), all);
    }
}

/// The advice once spoke of the typical device (+251 days) where the report's own sweep said +190.
#[test]
fn advice_is_what_a_run_with_it_says() {
    let loaded = demo(&[]);
    let now = budget(&loaded.device);
    let advice = advice(&loaded.files, &loaded.device, &now);
    let p50 = |sets: &[&str]| budget(&demo(sets).device).life.expect("a life").p50.time;
    let base = p50(&[]);
    assert!(advice.changes.len() >= 3 && advice.assumption.is_some());
    for change in advice.changes.iter().take(3) {
        let gain = p50(&[&change.set.to_string()]) - base;
        assert!((gain - change.gain).0.abs() < 1e-3 * base.0, "{change:?}: {gain}");
        assert!(!change.price.is_empty(), "nothing is for nothing: {change:?}");
    }
    let best: Vec<String> = advice.changes.iter().take(3).map(|change| change.set.to_string()).collect();
    let best: Vec<&str> = best.iter().map(String::as_str).collect();
    let together = advice.together.expect("three of them");
    assert!((p50(&best) - base - together).0.abs() < 1e-3 * base.0);
}

/// Beside each advice on the policy stands what it does to the residue, also where that stays as it is.
#[test]
fn advice_on_the_policy_tells_of_the_residue() {
    // A policy with something to relax, on a panel that states a residue.
    let loaded = demo(&["policy.min-interval=20 s", "policy.full-every=10 min", "panel.residue=1.5 %"]);
    let advice = advice(&loaded.files, &loaded.device, &budget(&loaded.device));
    let of_policy: Vec<_> = advice.changes.iter().filter(|change| change.set.path.starts_with("policy.")).collect();
    assert!(!of_policy.is_empty(), "{:?}", advice.changes);
    for change in of_policy {
        let words = change.residue.as_deref().unwrap_or_default();
        assert!(words.contains("the worst ghosting residue") && words.contains("% of the contrast"), "{change:?}");
    }
}

/// A battery that does not support the peak load is given up at once: no saved charge helps, and that is said.
#[test]
fn of_a_life_that_ends_at_once_its_end_is_told_and_no_saving() {
    let loaded = demo(&["battery.resistance=60 Ohm"]);
    let advice = advice(&loaded.files, &loaded.device, &budget(&loaded.device));
    assert!(advice.changes.is_empty(), "{:?}", advice.changes);
    let told = text(&advice, 200);
    assert!(told.starts_with("The median device stops at once, limited by"), "{told}");
    assert!(told.contains("--explain supply"), "{told}");
}

/// The mark of a plot stood at another life than the row of its table.
#[test]
fn a_sweep_at_the_design_value_is_the_design() {
    let loaded = demo(&[]);
    let row = loaded.device.inputs.rows().iter().find(|row| row.path == "battery.capacity").expect("a capacity");
    assert!(row.max > row.min, "it has a tolerance");
    let range = values("800 mAh, 850 mAh, 900 mAh", 2, Spacing::Linear).expect("a range");
    let input = Swept::new(&loaded.device, &loaded.files, "battery.capacity", range, Spacing::Linear);
    let made = sweep(&loaded.device, &loaded.files, vec![input], vec![Figure::Life], None).expect("a sweep");
    let at =
        made.inputs[0].values.iter().position(|value| Some(value.number) == made.inputs[0].now).expect("the design");
    let (row, mark) = (made.rows[at].readings[0].expect("a life"), made.now[0].expect("a life"));
    assert!((row.value - mark.value).abs() < 1e-9 * mark.value, "{row:?} {mark:?}");
    let headline = budget(&loaded.device).life.expect("a life").p50.time / DAY;
    assert_eq!(mark.value, headline);
}

#[test]
fn what_limits_the_devices_is_told_in_shares() {
    let loaded = demo(&["battery.resistance={ min = \"0.1 Ohm\", typ = \"1 Ohm\", max = \"60 Ohm\" }"]);
    let budget = budget(&loaded.device);
    let life = budget.life.as_ref().expect("a life");
    let shares: f64 = life.limits().iter().map(|(_, share)| share.0).sum();
    assert!(life.limits().len() > 1 && (shares - 1.0).abs() < 1e-12, "{:?}", life.limits());
    assert!(life.limited_by().contains(" %)"), "{}", life.limited_by());
    let same = fleet(&loaded.device, &budget.counts, DEVICES, &|| ()).expect("a life");
    assert_eq!(same.endings, life.endings);
}

/// Strips of a few lines are drawn so often that a memo is worth its RAM: it is proposed, and a run with it says the same.
#[test]
fn a_memo_is_proposed_where_strips_cost_much() {
    let small = "policy.buffer.external-lines=4";
    let loaded = demo(&[small]);
    let now = budget(&loaded.device);
    let said = advice(&loaded.files, &loaded.device, &now);
    let memo = said.changes.iter().find(|change| change.set.path == "policy.memo").expect("a memo is proposed");
    let then = budget(&demo(&[small, &memo.set.to_string()]).device);
    let [before, after] = [&now, &then].map(|budget| budget.life.as_ref().expect("a life").p50.time);
    assert!((memo.gain.0 - (after.0 - before.0)).abs() < 1e-3 * before.0, "{} said, {before} {after}", memo.gain);
    assert!(
        !advice(&loaded.files, &demo(&[]).device, &budget(&demo(&[]).device))
            .changes
            .iter()
            .any(|change| change.set.path == "policy.memo")
    );
}
