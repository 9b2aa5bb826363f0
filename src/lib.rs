//! inkjoule: e-paper screens of battery-powered handheld instruments, from text to pixels, bytes, joules and life.
#![forbid(unsafe_code)]
#![warn(missing_docs)]

pub mod bringup;
pub mod budget;
pub mod cell;
pub mod check;
pub mod cli;
pub mod compare;
pub mod design;
pub mod device;
pub mod export;
pub mod filmstrip;
pub mod flow;
pub mod frame;
pub mod hardware;
pub mod inputs;
pub mod limits;
pub mod lint;
pub mod output;
pub mod plot;
pub mod preview;
pub mod refresh;
pub mod render;
pub mod report;
pub mod resolve;
pub mod screen;
pub mod specimen;
pub mod sweep;
pub mod table;
pub mod trace;
pub mod units;
pub mod verify;
