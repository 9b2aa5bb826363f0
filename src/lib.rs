//! inkjoule: e-paper screens of battery-powered handheld instruments, from text to pixels, bytes, joules and life.
//!
//! A project is a folder of text files. It is settled once into a plain model, [`device::Device`]; one [`machine`] runs
//! it for whoever asks; pictures are 1-bit [`frame::Frame`]s; everything that the board takes from the battery is in the
//! [`budget`]. The program `inkjoule` is a thin layer over this library (feature `cli`; the window of its preview is the
//! feature `window`; both are on by default).
//!
//! Load a project and see what `check` finds in it. What is wrong comes with file, line and column, all of it at once:
//!
//! ```
//! use inkjoule::evaluation::Evaluation;
//! use inkjoule::project;
//! use inkjoule::source::files::Files;
//! use std::path::Path;
//!
//! fn main() -> Result<(), Box<dyn std::error::Error>> {
//!     let evaluation = Evaluation::of("demo", Files::read(Path::new("screens-demo"))?)?;
//!     println!("{}: {} findings", evaluation.device.name, evaluation.findings.len());
//!
//!     let wrong = project::load(Path::new("screens-demo"), &["battery.capacity=9 bananas".to_owned()]);
//!     let why = wrong.expect_err("no such unit").to_string();
//!     assert!(why.contains("device.toml:") && why.contains("bananas"), "{why}");
//!     Ok(())
//! }
//! ```
//!
//! Read its budget, here with another battery, in SI units:
//!
//! ```
//! use inkjoule::units::{DAY, Joules};
//! use inkjoule::{budget::summary::budget, project};
//! use std::path::Path;
//!
//! fn main() -> Result<(), Box<dyn std::error::Error>> {
//!     let small = ["battery.capacity=200 mAh".to_owned()];
//!     let loaded = project::load(Path::new("screens-demo"), &small)?;
//!     let budget = budget(&loaded.device);
//!     let energy: Joules = budget.energy_per_day();
//!     let life = budget.life?;
//!     println!("{energy} a day; {:.0} d (P50), limited by {}", life.p50.time / DAY, life.limited_by());
//!     assert!(life.p10.time < life.p50.time && life.p50.time < life.p90.time);
//!     Ok(())
//! }
//! ```
//!
//! Draw a frame: the home screen in the first locale with its sample values, as plain PBM.
//!
//! ```
//! use inkjoule::frame::files::pbm;
//! use inkjoule::project;
//! use std::path::Path;
//!
//! fn main() -> Result<(), Box<dyn std::error::Error>> {
//!     let device = project::load(Path::new("screens-demo"), &[])?.device;
//!     let frame = device.draw(device.usage.home, 0, &device.sample());
//!     println!("{} of {} pixels are black", frame.ink_count(), frame.width() * frame.height());
//!     assert!(pbm(&frame).starts_with(b"P4"));
//!     Ok(())
//! }
//! ```
#![forbid(unsafe_code)]
#![warn(missing_docs)]

pub mod answer;
pub mod assets;
pub mod behaviour;
pub mod bringup;
pub mod budget;
pub mod cell;
pub mod check;
#[cfg(feature = "cli")]
pub mod cli;
pub mod compare;
pub mod cost;
pub mod device;
pub mod elements;
pub mod evaluation;
pub mod export;
pub mod figures;
pub mod filmstrip;
pub mod firmware;
pub mod frame;
pub mod guide;
pub mod hardware;
pub mod limits;
pub mod lint;
pub mod look;
pub mod machine;
pub mod map;
pub mod output;
pub mod parameters;
pub mod plot;
pub mod preview;
pub mod project;
pub mod random;
pub mod refresh;
pub mod render;
pub mod report;
pub mod sarif;
pub mod screen;
pub mod simulate;
pub mod source;
pub mod specimen;
pub mod sweep;
pub mod table;
pub mod timeline;
pub mod trace;
pub mod units;
pub mod usage;
pub mod verify;
pub mod visible;
