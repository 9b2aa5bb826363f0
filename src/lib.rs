//! inkjoule: e-paper screens of battery-powered handheld instruments, from text to pixels, bytes, joules and life.
#![forbid(unsafe_code)]
#![warn(missing_docs)]

pub mod assets;
pub mod behaviour;
pub mod bringup;
pub mod budget;
pub mod cell;
pub mod check;
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
pub mod hardware;
pub mod limits;
pub mod lint;
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
pub mod screen;
pub mod simulate;
pub mod source;
pub mod specimen;
pub mod sweep;
pub mod table;
pub mod trace;
pub mod units;
pub mod usage;
pub mod verify;
