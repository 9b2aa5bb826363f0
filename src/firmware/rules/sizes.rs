//! How much state the machine in C keeps for a design: cells of four bytes, and the structures around them.
//!
//! Not for what stands in them. `ink_machine.h` and `ink_machine_rules.h` count alike; tests compare.

use crate::behaviour::Times;
use crate::behaviour::field::Renewal;
use crate::device::Device;
use crate::limits;

/// What sizes the state.
pub(super) struct Sizes {
    /// Most timers of one screen.
    pub timers: usize,
    /// Most edited fields of a screen, and of a box.
    pub saved: [usize; 2],
    /// Boxes over one another at most, and how many of them freeze what lies below.
    pub boxes: usize,
    pub frozen: usize,
    /// Screens that the way back remembers.
    pub back: usize,
    /// Bytes of all values' past.
    past: usize,
}

/// Screens that a byte counts, with none.
const FEW_SCREENS: usize = 254;

impl Sizes {
    pub fn of(device: &Device, past: usize) -> Self {
        let edits = |boxes: bool| {
            let here = device.screens.iter().zip(&device.wirings).filter(move |(s, _)| s.over.is_some() == boxes);
            here.map(|(_, wiring)| wiring.edits.len()).max().unwrap_or(0)
        };
        let overs = || device.screens.iter().filter_map(|screen| screen.over.as_ref());
        Self {
            timers: device.wirings.iter().map(|wiring| wiring.timers.len()).max().unwrap_or(0),
            saved: [edits(false), edits(true)],
            boxes: overs().count().min(limits::BOX_DEPTH),
            frozen: overs().filter(|over| over.frozen).count().min(limits::BOX_DEPTH),
            // No screen stands twice in it, and never the one that is shown.
            back: (device.screens.len().max(2) - 1).min(limits::BACK_DEPTH),
            past,
        }
    }

    /// As `ink_cells` in C counts them, without the parts that are spare; values take so many cells, and those that are
    /// measured.
    pub fn cells(&self, device: &Device, [value_cells, fresh]: [usize; 2], spare: &[&str]) -> usize {
        let has = |part: &str| !spare.contains(&part);
        let keys = device.keys().min(limits::KEYS);
        let saved = self.saved[0] + self.saved[1] * self.boxes;
        let times = self.timers + device.flow_state.recent.len();
        let key_cells = match (has("INK_HOLDS"), has("INK_REPEATS")) {
            (_, true) => 3,
            (true, false) => 2,
            (false, false) => 0,
        };
        let waiting = if has("INK_KEYS_WAIT") { 3 * (limits::WAITING_KEYS + keys) } else { 0 };
        let key_bytes = match (has("INK_RELEASES"), has("INK_MANY_SCREENS")) {
            (true, true) => 3 * keys,
            (true, false) => 2 * keys,
            (false, _) => keys,
        };
        let event_bytes = if has("INK_RISES") { 2 * device.events.len().div_ceil(8) } else { 0 };
        let bytes = (key_bytes + event_bytes + waiting).div_ceil(4);
        self.panel(value_cells) + fresh + saved + 2 * times + key_cells * keys + bytes
    }

    /// As `ink_panel_cells` in C counts them.
    pub fn panel(&self, value_cells: usize) -> usize {
        (value_cells + self.past.div_ceil(4)) * (1 + self.frozen)
    }

    /// Bytes of `struct ink_machine` and `struct ink_panel`, for a policy that allows so many partial refreshes, with a memo
    /// of the panel or without, on a processor whose addresses take so many bytes.
    pub fn structures(&self, max_partials: u32, memo: bool, spare: &[&str], address: usize) -> usize {
        let has = |part: &str| usize::from(!spare.contains(&part));
        let screen = 1 + has("INK_MANY_SCREENS");
        let aligned = |at: usize, to: usize| at.next_multiple_of(to);
        let frozen = has("INK_FROZEN");
        let boxes = screen * (1 + self.boxes.max(1));
        let scene = aligned(aligned(address + 2 + frozen, screen) + boxes, address);
        let small = aligned(scene + 4 + 2 * has("INK_KEYS_WAIT"), screen) + screen * (1 + self.back);
        let timers = if self.timers > usize::from(u8::MAX) { 2 } else { 1 };
        let partials = if max_partials > u32::from(u8::MAX) { 4 } else { 1 };
        let counts = aligned(aligned(small, timers) + timers, partials) + partials;
        let machine = aligned(aligned(aligned(counts, 4) + 4, address) + 2 * address, 8) + 40;
        let panel = aligned(aligned(scene + 14, address) + 2 * address + 4, address);
        // Two sights, each a memo, a view and its layers; then where the cells are, how many, and what is seen.
        let sight = aligned(3 * address + 7, address) + 2 * address + 3 * address * (1 + self.boxes);
        machine + panel + if memo { 2 * sight + aligned(address + 3, address) } else { 0 }
    }
}

/// Cells, or parts of them, that depend on how the design is.
pub(super) fn many_screens(device: &Device) -> bool {
    device.screens.len() > FEW_SCREENS
}

/// Whether the way back may be longer than the machine remembers.
pub(super) fn back_forgets(device: &Device) -> bool {
    device.screens.len() > limits::BACK_DEPTH + 1
}

/// Whether an interval or a wait is beyond 32 bits of milliseconds.
pub(super) fn long_waits(device: &Device) -> bool {
    let events = device.events.iter().filter_map(|event| match event.times {
        Times::Every(interval, _) => Some(interval),
        Times::When(_) | Times::PerDay(..) => None,
    });
    let fields = device.fields.iter().filter_map(|field| match field.renewal {
        Renewal::Every(interval) => Some(interval),
        Renewal::Never | Renewal::On(_) => None,
    });
    let timers = device.wirings.iter().flat_map(|wiring| &wiring.timers).map(|timer| timer.wait);
    let recent = device.flow_state.recent.iter().map(|recent| recent.lasts);
    let mut all = events.chain(fields).chain(timers).chain(recent);
    all.any(|time| super::bytes::milliseconds(time) > u64::from(u32::MAX))
}
