//! A journey as an animated picture (APNG): keys pressed, the panel's refreshes in their emulated times, looks between.
//!
//! The waveform itself is the panel maker's; here a full refresh goes through negative, black and white in equal parts
//! of its drive time, and a partial one leaves its changed pixels gray until it ends. The times are the budget's: at the
//! usage's mean temperature, partial refreshes counted from the first picture. Everything is played faster by one
//! factor. Not for live use: that is the preview.

mod emulate;
mod strip;

pub use emulate::{REST, Shot, Showing, script_shots, shaded_script_shots, shaded_shots, shots};
pub use strip::{apng, pace};
