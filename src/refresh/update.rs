//! One update of the panel: the pixels that change decide the windows, the windows the work.

use super::drawing;
use super::windows::{Window, WindowCost, WindowSearch};
use super::work::{Drives, Moments, Shares, Work};
use crate::behaviour::policy::Buffer;
use crate::device::Device;
use crate::device::drawing::Scenes;
use crate::frame::Frame;
use crate::hardware::panel::Drive;
use crate::units::{Celsius, Joules};
use embedded_graphics::prelude::{Point, Size};
use embedded_graphics::primitives::Rectangle;
use std::ops::Range;

/// A waveform.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Mode {
    /// The full waveform over the whole panel.
    Full,
    /// The short waveform over windows.
    Partial,
}

impl Mode {
    /// Its name in tables and files.
    pub fn name(self) -> &'static str {
        match self {
            Self::Full => "full",
            Self::Partial => "partial",
        }
    }
}

/// The change from one frame to the next, in the controller's own orientation.
#[derive(Debug)]
pub struct Change {
    /// Pixels that differ.
    pub pixels: u64,
    /// Windows that cover them, in the controller's orientation.
    pub windows: Vec<Window>,
    /// The windows are proven to be the cheapest.
    pub exact: bool,
}

/// Finds changes; keeps its buffers from one update to the next.
#[derive(Debug)]
pub struct Planner {
    cost: WindowCost<Joules>,
    search: WindowSearch,
}

impl Planner {
    /// A planner for a panel, with what windows cost on it.
    pub fn new(cost: WindowCost<Joules>) -> Self {
        Self { cost, search: WindowSearch::default() }
    }

    /// The change between two upright frames of the panel's size that differ in these rows at most.
    ///
    /// Only the part that the one aligned window around all changes covers is looked at: no window outside it pays.
    pub fn change(&mut self, device: &Device, old: &Frame, new: &Frame, rows: Range<u32>) -> Change {
        let Some((bounds, pixels)) = old.changed_in(new, rows) else { return Change::NONE };
        let around = aligned(device, bounds);
        let one = Change { pixels, windows: vec![around], exact: true };
        if device.panel.max_windows <= 1 {
            return one;
        }
        let Some(difference) = old.difference_in(new, upright(device, &around)) else { return Change::NONE };
        let turned = difference.turned(device.panel.turn());
        let stride = turned.width().div_ceil(8) as usize;
        match self.search.cheapest(&turned.to_rows_msb(), stride, &self.cost, device.panel.max_windows) {
            Err(_) => one,
            Ok(cover) => {
                let placed = |window: Window| Window { x: window.x + around.x, y: window.y + around.y, ..window };
                Change { windows: cover.windows.into_iter().map(placed).collect(), exact: cover.exact, ..one }
            }
        }
    }
}

impl Change {
    /// No change at all.
    pub const NONE: Self = Self { pixels: 0, windows: Vec::new(), exact: true };
}

/// The smallest window of the controller that covers a rectangle of the upright picture.
fn aligned(device: &Device, area: Rectangle) -> Window {
    let size = device.panel.size();
    let turn = device.panel.turn();
    let far = area.bottom_right().unwrap_or(area.top_left);
    let place = |corner: Point| turn.place(corner.x as u32, corner.y as u32, size.width, size.height);
    let (a, b) = (place(area.top_left), place(far));
    let (left, right) = (a.0.min(b.0) / 8 * 8, a.0.max(b.0) / 8 * 8 + 8);
    let (top, bottom) = (a.1.min(b.1), a.1.max(b.1) + 1);
    Window { x: left, y: top, w: right - left, h: bottom - top }
}

/// The work of one update in a mode at a temperature, the image buffered in a way, from one scene to another. `None` where
/// the mode's table does not reach the temperature, or the panel has no such mode.
pub fn work(
    device: &Device,
    buffer: Buffer,
    change: &Change,
    scenes: &Scenes,
    mode: Mode,
    temperature: Celsius,
) -> Option<Work> {
    let panel = &device.panel;
    let (drive, windows): (&Drive, &[Window]) = match mode {
        Mode::Full => (&panel.full, &[]),
        Mode::Partial => (panel.partial.as_ref()?, &change.windows),
    };
    let whole = Window { x: 0, y: 0, w: panel.native.width.div_ceil(8) * 8, h: panel.native.height };
    let windows = if mode == Mode::Full { std::slice::from_ref(&whole) } else { windows };
    // The whole picture is sent as it is packed, with what a wider stride leaves between lines; of a window its bytes alone.
    let plane: u64 = match mode {
        Mode::Full => panel.plane_bytes(),
        Mode::Partial => windows.iter().map(Window::bytes).sum(),
    };
    let commands = u64::from(panel.window_bytes) * windows.len() as u64;
    let cycles = drawing::cycles(device, buffer, (mode, drive), [&change.windows, windows], scenes);
    let (below, share) = drive.share(temperature)?;
    let clocked = if drive.clocked().is_some() { Shares::one(share) } else { Shares::default() };
    let moments = Moments { count: 1.0, share, square: share * share, clocked };
    let mut work = Work {
        updates: 1.0,
        cycles,
        panel_bytes: (plane * u64::from(drive.planes_sent()) + commands) as f64,
        // The picture is written to the memory once; each plane that the panel is sent is read from it.
        memory_bytes: if matches!(buffer, Buffer::External(_)) {
            (plane * (1 + u64::from(drive.planes_sent()))) as f64
        } else {
            0.0
        },
        ..Work::default()
    };
    match mode {
        Mode::Full => work.full = Drives::One(below, moments),
        Mode::Partial => work.partial = Drives::One(below, moments),
    }
    Some(work)
}

/// The work of an update from one typical screen to another, of windows that cover nothing where it is partial.
pub fn typical_work(device: &Device, mode: Mode, temperature: Celsius) -> Option<Work> {
    let buffer = device.policy.buffer;
    work(device, buffer, &Change::NONE, &drawing::typical(device, buffer), mode, temperature)
}

/// A window of the controller as a rectangle of the upright picture, cut at its edges.
pub fn upright(device: &Device, window: &Window) -> Rectangle {
    let panel = &device.panel;
    let (w, h) = (panel.native.width, panel.native.height);
    let corner = |x: u32, y: u32| {
        let (x, y) = (x.min(w - 1), y.min(h - 1));
        panel.turn().inverse().place(x, y, w, h)
    };
    let (a, b) = (corner(window.x, window.y), corner(window.x + window.w.max(1) - 1, window.y + window.h.max(1) - 1));
    let (left, top) = (a.0.min(b.0), a.1.min(b.1));
    let size = Size::new(a.0.abs_diff(b.0) + 1, a.1.abs_diff(b.1) + 1);
    Rectangle::new(Point::new(left as i32, top as i32), size)
}
