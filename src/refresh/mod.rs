//! From two frames to a refresh: which windows are sent, with which waveform, and what work that is.

pub mod activity;
pub mod drawing;
pub mod policy;
pub mod residue;
pub mod schedule;
pub mod seen;
pub mod strips;
pub mod update;
pub mod windows;
pub mod work;
