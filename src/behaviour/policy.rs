//! When to refresh fully, what happens meanwhile, and how the image is buffered.

use crate::units::Seconds;
use schemars::JsonSchema;
use serde::Deserialize;

/// When to refresh fully, and what happens while the panel is busy.
#[derive(Clone, Debug)]
pub struct Policy {
    /// Partial refreshes in a row at most.
    pub max_partials: u32,
    /// A full refresh at least this often.
    pub full_every: Option<Seconds>,
    /// For each screen, whether its entry is drawn with a full refresh.
    pub full_on: Vec<bool>,
    /// Distance that redraws for changed fields keep from the refresh before.
    pub min_interval: Seconds,
    /// What happens to presses while the panel refreshes.
    pub busy_presses: BusyPresses,
    /// How the image is buffered.
    pub buffer: Buffer,
    /// Cells of 16 bits in which the exported machine notes what it draws, where it has any.
    pub memo: Option<u32>,
}

/// What happens to presses while the panel refreshes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum BusyPresses {
    /// Kept and carried out afterwards.
    Queue,
    /// Dropped.
    Drop,
}

/// Lines that are drawn at a time where the project does not say how many.
pub const STRIP: u32 = 16;

/// How the image is buffered before it goes to the panel.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Buffer {
    /// The whole frame in RAM.
    Ram,
    /// The whole frame in the external memory, drawn so many lines at a time.
    External(u32),
    /// A strip of lines in RAM.
    StripLines(u32),
}

/// How the image is buffered before it goes to the panel.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum BufferSpec {
    /// The whole frame in the microcontroller's RAM.
    Ram,
    /// The whole frame in the external memory: every byte crosses the bus twice. It is drawn 16 lines at a time.
    External,
    /// The same, drawn this many lines at a time.
    ExternalLines(#[schemars(range(min = 2))] u32),
    /// A strip of this many lines in RAM; the screen is rendered once a strip.
    StripLines(#[schemars(range(min = 1))] u32),
}

impl From<BufferSpec> for Buffer {
    fn from(spec: BufferSpec) -> Self {
        match spec {
            BufferSpec::Ram => Self::Ram,
            BufferSpec::External => Self::External(STRIP),
            BufferSpec::ExternalLines(lines) => Self::External(lines),
            BufferSpec::StripLines(lines) => Self::StripLines(lines),
        }
    }
}
