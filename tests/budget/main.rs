//! Energy, use, supply, life and the panel's windows.

#[path = "../plain/mod.rs"]
mod plain;
#[cfg(feature = "cli")]
#[path = "../starter/mod.rs"]
mod starter;

mod batteries;
mod capacitor;
mod cautions;
mod clocked;
mod drawing;
mod energy;
#[cfg(feature = "cli")]
mod explain;
#[cfg(feature = "cli")]
mod first_round;
mod loads;
mod low_battery;
mod median;
mod metamorphic;
mod pauses;
mod power_tree;
mod profiles_built_in;
#[cfg(feature = "cli")]
mod profiles_supply;
mod pulses;
mod residue;
mod schedule;
mod simulation;
mod stated_values;
mod supply_rail;
mod supply_windows;
mod switching_on;
mod textbook;
mod unit_costs;
mod windows;

/// The rows of a kind in `tests/references/power.csv`, in numbers.
fn power_rows(kind: &str) -> Vec<Vec<f64>> {
    let rows = include_str!("../references/power.csv").lines().filter_map(|line| line.split_once(','));
    let rows: Vec<Vec<f64>> = rows
        .filter(|(of, _)| *of == kind)
        .map(|(_, row)| row.split(',').map(|number| number.parse().expect("a number")).collect())
        .collect();
    assert!(!rows.is_empty(), "no rows for {kind}");
    rows
}
