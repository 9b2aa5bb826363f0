//! Traces made here, with everything known about them, against what `trace` finds in them.

mod command;
mod demo;
mod made;
mod recovery;
mod waveforms;
