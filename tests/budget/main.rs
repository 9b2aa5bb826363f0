//! Energy, use, supply, life and the panel's windows.

#[path = "../plain/mod.rs"]
mod plain;
#[path = "../starter/mod.rs"]
mod starter;

mod energy;
mod explain;
mod low_battery;
mod profiles_built_in;
mod profiles_supply;
mod schedule;
mod simulation;
mod stated_values;
mod supply_rail;
mod textbook;
mod windows;
