//! Flash and RAM that a `c-live` export takes, from the tables themselves: every byte of them is known before a compiler has
//! seen it. The sizes of interpreter and machine are measured; see [`code`] and [`MACHINE`].

use super::drawing::Drawing;
use super::order::Order;
use super::rules::Rules;
use crate::device::Device;
use crate::screen::ScreenId;
use crate::source::fault::Fault;

/// Bytes of the interpreter without the parts that can be left out, as a compiler for Cortex-M0 makes them
/// (arm-none-eabi-gcc 12.2, `-Os`; measured with `tests/references/cortex-m0/parts.py`). A test holds all of it against
/// the compiler where one is installed.
pub const CODE: usize = 3_632;

/// What each part adds, and functions that several of them share: there with any of them.
const PARTS: &[(&[&str], usize)] = &[
    (&["INK_TILES"], 102),
    (&["INK_VALUES"], 304),
    (&["INK_BARS"], 154),
    (&["INK_MARKERS"], 130),
    (&["INK_ARCS"], 594),
    (&["INK_RING_MARKERS"], 350),
    (&["INK_HISTORIES"], 1_004),
    (&["INK_HOURS"], 668),
    (&["INK_ROWS"], 702),
    (&["INK_UNITS"], 108),
    (&["INK_MARKS"], 198),
    (&["INK_JOINED"], 30),
    (&["INK_CELLS"], 90),
    (&["INK_PASTS"], 90),
    (&["INK_KERNS"], 150),
    (&["INK_COMPARED"], 116),
    (&["INK_STANDS"], 220),
    (&["INK_WRAPS"], 102),
    (&["INK_ELLIPSES"], 158),
    (&["INK_SMALLER"], 168),
    (&["INK_SPACED"], 90),
    (&["INK_LINE_CHARTS"], 452),
    (&["INK_BAR_CHARTS"], 340),
    (&["INK_GRIDS"], 66),
    (&["INK_ENDS"], 164),
    (&["INK_LIMITS"], 142),
    (&["INK_STAMPS"], 188),
    (&["INK_RISING"], 88),
    (&["INK_DATES"], 268),
    (&["INK_SCALED"], 128),
    (&["INK_PAGES"], 24),
    (&["INK_COUNTED"], 38),
    (&["INK_CELLS_DIFFER"], 92),
    (&["INK_CURSORS"], 150),
    (&["INK_HOURS", "INK_CLOCKS"], 180),
    (&["INK_BARS", "INK_MARKERS", "INK_ARCS", "INK_RING_MARKERS", "INK_HISTORIES", "INK_UNITS"], 170),
    (&["INK_BARS", "INK_MARKERS", "INK_HISTORIES", "INK_ROWS", "INK_VALUES"], 170),
];

/// Bytes of the machine in C that are left of all of it without such parts, measured alike.
pub const MACHINE: usize = 3_938;

/// What each part adds to it, and what several of them share.
const MACHINE_PARTS: &[(&[&str], usize)] = &[
    (&["INK_FROZEN"], 202),
    (&["INK_RELEASES"], 154),
    (&["INK_FASTER"], 176),
    (&["INK_OPENS"], 24),
    (&["INK_WITHIN"], 358),
    (&["INK_PICKS"], 24),
    (&["INK_COMPARES"], 56),
    (&["INK_DAY_HOURS"], 108),
    (&["INK_FLOW_STATES"], 112),
    (&["INK_TIMES_AFTER"], 390),
    (&["INK_HOLDS"], 218),
    (&["INK_REPEATS"], 410),
    (&["INK_KEYS_WAIT"], 234),
    (&["INK_TIMERS"], 308),
    (&["INK_RISES"], 314),
    (&["INK_EDITS"], 88),
    (&["INK_DIGITS"], 86),
    (&["INK_GOES_BY"], 48),
    (&["INK_LONG_WAITS"], 56),
    (&["INK_MANY_SCREENS"], 30),
    (&["INK_BACK_FORGETS"], 18),
    (&["INK_UNITS"], 364),
    (&["INK_HOLDS", "INK_REPEATS"], 290),
    (&["INK_UNITS", "INK_PICKS", "INK_GOES_BY", "INK_DIGITS", "INK_WITHIN"], 116),
];

/// What the code grows by where values are kept in as many bytes as they need, without the table of their places.
const PLACES: usize = 190;

/// Bytes of the machine for a design that does not need some of its parts.
pub fn machine(spare: &[&str]) -> usize {
    MACHINE + needed(MACHINE_PARTS, spare)
}

/// Bytes of the parts that a design needs.
fn needed(parts: &[(&[&str], usize)], spare: &[&str]) -> usize {
    let needed = parts.iter().filter(|(any, _)| any.iter().any(|part| !spare.contains(part)));
    needed.map(|(_, bytes)| bytes).sum()
}

/// Bytes of the interpreter for a design that does not need some of its parts.
pub fn code(spare: &[&str]) -> usize {
    CODE + needed(PARTS, spare)
}

/// Bytes of the design's own structure on a processor with 32-bit addresses, and of one ring's.
const DESIGN: usize = 76;
const RING: usize = 8;
/// Bytes of the rules' own structure.
const RULES: usize = 8;

/// Bytes of the code that reads and writes values in as many bytes as they need, and of the table of their places.
fn kept(rules: &Rules) -> usize {
    rules.widths.as_ref().map_or(0, |widths| PLACES + widths.place_bytes() * widths.places.len())
}

/// What an export takes, in bytes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Footprint {
    /// Operations, lists of them and structures.
    pub operations: usize,
    /// Texts in all locales.
    pub texts: usize,
    /// Fonts and bitmaps.
    pub pictures: usize,
    /// The flow as a table of steps: none, as the rules say it.
    pub flow: usize,
    /// The rules that the machine runs.
    pub rules: usize,
    /// The interpreter on Cortex-M0.
    pub code: usize,
    /// The machine on Cortex-M0.
    pub machine: usize,

    /// RAM of the machine's and the panel's state, values and their past included.
    pub state: usize,
    /// Of it, past values that charts show.
    pub past: usize,
    /// Of it, the fields' values.
    pub values: usize,
}

impl Footprint {
    /// Of a design with all its screens and locales.
    ///
    /// # Errors
    /// When the tables cannot be made.
    pub fn of(order: &Order<'_>) -> Result<Self, Fault> {
        let drawing = Drawing::of(order)?;
        let rules = Rules::of(order.device, &order.packing, drawing.past_bytes())?;
        Ok(Self::of_tables(&drawing, &rules, order.device.fields.len()))
    }

    /// Of a device with all its screens and locales; `None` where it cannot be exported.
    pub fn of_device(device: &Device) -> Option<Self> {
        let order = Order {
            device,
            screens: (0..device.screens.len()).map(ScreenId).collect(),
            locales: (0..device.locales.len()).collect(),
            values: device.sample(),
            packing: device.panel.packing.clone(),
            prefix: String::new(),
            section: None,
            design: 0,
        };
        Self::of(&order).ok()
    }

    fn of_tables(drawing: &Drawing, rules: &Rules, fields: usize) -> Self {
        Self {
            operations: drawing.screens.len()
                + drawing.code.len()
                + drawing.pairs[0].len()
                + DESIGN
                + RING * drawing.rings.len(),
            texts: drawing.texts.len() + drawing.pairs[1].len(),
            pictures: drawing.bits.len(),
            flow: 0,
            rules: rules.body().len() + RULES,
            code: code(&drawing.spare),
            machine: machine(&[&drawing.spare[..], &rules.spare].concat()) + kept(rules),
            state: rules.structures + 4 * (rules.cells[0] + rules.panel_cells[0]),
            past: drawing.past_bytes(),
            values: rules.widths.as_ref().map_or(4 * fields, |widths| widths.bytes),
        }
    }

    /// Flash of the tables.
    pub fn tables(&self) -> usize {
        self.operations + self.texts + self.pictures + self.flow + self.rules
    }

    /// Flash of tables and code.
    pub fn flash(&self) -> usize {
        self.tables() + self.code + self.machine
    }

    /// Flash of what draws, for firmware that runs the design by code of its own.
    pub fn drawing(&self) -> usize {
        self.operations + self.texts + self.pictures + self.code
    }

    /// RAM beside the frame or strip and the stack.
    pub fn ram(&self) -> usize {
        self.state
    }
}
