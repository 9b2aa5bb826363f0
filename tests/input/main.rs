//! Bad input, hostile input, limits, faults of the machine underneath.

#[path = "../starter/mod.rs"]
mod starter;

mod accepted;
mod bad_input;
mod faults;
mod fuzz_smoke;
mod hostile_assets;
mod hostile_files;
mod hostile_text;
mod limits;
mod limits_page;
mod refused_power;
mod steering;
mod victims;
mod wording;
