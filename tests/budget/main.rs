//! Energy, use, supply, life and the panel's windows.

#[path = "../plain/mod.rs"]
mod plain;
#[cfg(feature = "cli")]
#[path = "../starter/mod.rs"]
mod starter;

mod energy;
#[cfg(feature = "cli")]
mod explain;
mod median;
mod profiles_built_in;
#[cfg(feature = "cli")]
mod profiles_supply;
mod schedule;
mod simulation;
mod stated_values;
mod supply_rail;
mod textbook;
mod windows;
