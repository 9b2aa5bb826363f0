// Written by inkjoule. Changes here are lost with the next export.
//! What the device says is to be done.

use super::device::Time;
use super::ffi::Numbers;

/// The next thing to do.
#[derive(Debug, PartialEq, Eq)]
pub enum Task<'d> {
    /// Nothing until then, unless a key, an event or the panel's end of busy comes; `None`: nothing by itself.
    Sleep {
        /// The next wake-up.
        until: Option<Time>,
    },
    /// Send these lines to the panel.
    Send(Lines<'d>),
    /// Begin the refresh of what was sent, and tell [`busy`](super::Device::busy) when it has ended; until then the panel is
    /// taken to be busy.
    Refresh(Refresh),
    /// The frame is new, but no waveform of the panel serves this temperature.
    Blocked,
}

/// Lines of one plane. They lie inside the window of the update.
#[derive(Debug, PartialEq, Eq)]
pub struct Lines<'d> {
    /// The memory of the panel that they are for.
    pub plane: Plane,
    /// The refresh that they are for.
    pub mode: Mode,
    /// The window of the update.
    pub window: Window,
    /// Where they begin: a line of the packed frame, and a byte of each line.
    pub first_line: u16,
    /// The first byte of each line that is sent.
    pub first_byte: u16,
    bytes: &'d mut [u8],
    row_bytes: u16,
    stride: u16,
}

impl Lines<'_> {
    /// The bytes of each line, in the panel's packing; as many in each.
    pub fn rows(&self) -> impl ExactSizeIterator<Item = &[u8]> {
        let row_bytes = usize::from(self.row_bytes);
        let rows = self.bytes.chunks(usize::from(self.stride).max(1));
        rows.map(move |row| row.get(..row_bytes).unwrap_or(row))
    }

    /// As [`Lines::rows`], to be changed before they are sent: for areas that your own code draws.
    pub fn rows_mut(&mut self) -> impl ExactSizeIterator<Item = &mut [u8]> {
        let row_bytes = usize::from(self.row_bytes);
        let rows = self.bytes.chunks_mut(usize::from(self.stride).max(1));
        rows.map(move |row| {
            let end = row_bytes.min(row.len());
            &mut row[..end]
        })
    }

    /// All of them in one piece, where whole lines are sent: `None` where the window is narrower than the frame.
    pub fn whole(&self) -> Option<&[u8]> {
        (self.row_bytes == self.stride).then_some(&*self.bytes)
    }

    /// Bytes of each line that are sent.
    pub fn row_bytes(&self) -> u16 {
        self.row_bytes
    }
}

/// A refresh of what was sent.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Refresh {
    /// With which waveform.
    pub mode: Mode,
    /// What was sent; the whole panel for a full refresh.
    pub window: Window,
}

/// A window of the panel, in its own orientation, aligned to its bytes; in pixels.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Window {
    /// Its left edge.
    pub x: u16,
    /// Its upper edge.
    pub y: u16,
    /// How wide it is.
    pub width: u16,
    /// How high it is.
    pub height: u16,
    /// The column at which it begins, as the controller counts.
    pub column: u16,
    /// The line at which it begins, as the controller counts.
    pub line: u16,
}

/// A memory of the panel.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Plane {
    /// What is to be shown.
    New,
    /// What is shown, where the controller compares.
    Old,
}

/// A kind of refresh.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Mode {
    /// Only the window, by the partial waveform.
    Partial,
    /// The whole panel, by the full waveform, and why.
    Full(Reason),
}

/// Why a refresh is full.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Reason {
    /// The panel has no partial refresh.
    NoPartial,
    /// First refresh.
    First,
    /// Below the partial refresh's temperatures.
    TooCold,
    /// Above them.
    TooWarm,
    /// Full on entry.
    Entry,
    /// Partial limit reached.
    Limit,
    /// The last full refresh is too old.
    Age,
}

impl<'d> Task<'d> {
    /// Of the numbers of C, with the strip that lines are in.
    pub(super) fn of(kind: u8, until: Option<Time>, numbers: Numbers, strip: &'d mut [u8]) -> Self {
        let Numbers {
            x,
            y,
            width,
            height,
            column,
            line,
            ..
        } = numbers;
        let window = Window {
            x,
            y,
            width,
            height,
            column,
            line,
        };
        let mode = match numbers.mode {
            0 => Mode::Full(reason(numbers.reason)),
            _ => Mode::Partial,
        };
        match kind {
            1 => Task::Send(Lines {
                plane: if numbers.plane == 0 {
                    Plane::New
                } else {
                    Plane::Old
                },
                mode,
                window,
                first_line: numbers.first_line,
                first_byte: numbers.first_byte,
                bytes: sent(&numbers, strip),
                row_bytes: numbers.row_bytes,
                stride: numbers.stride,
            }),
            2 => Task::Refresh(Refresh { mode, window }),
            3 => Task::Blocked,
            _ => Task::Sleep { until },
        }
    }
}

/// The part of the strip that is sent: from the first byte of the first line to the last byte of the last one.
fn sent<'d>(numbers: &Numbers, strip: &'d mut [u8]) -> &'d mut [u8] {
    let [first, row, stride] =
        [numbers.first_byte, numbers.row_bytes, numbers.stride].map(usize::from);
    let before = usize::from(numbers.lines)
        .saturating_sub(1)
        .saturating_mul(stride);
    let end = first.saturating_add(before).saturating_add(row);
    strip.get_mut(first..end).unwrap_or_default()
}

fn reason(number: u16) -> Reason {
    match number {
        1 => Reason::NoPartial,
        2 => Reason::First,
        3 => Reason::TooCold,
        4 => Reason::TooWarm,
        5 => Reason::Entry,
        6 => Reason::Limit,
        _ => Reason::Age,
    }
}
