//! The machine: its semantics by hand-derived cases, and one behaviour whoever drives it.

#[path = "../plain/mod.rs"]
mod plain;

mod bench;
mod demo_flow;
mod drivers;
mod exploration;
mod journeys;
mod let_go;
mod names;
mod objections;
mod occurrences;
mod outside;
mod plans;
mod product;
mod product_uses;
mod refusals;
mod reloads;
mod runners;
mod scripts;
mod semantics;
mod settings;
mod times_after;
mod value_widths;
mod walked;
