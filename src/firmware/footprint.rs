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
pub const CODE: usize = 3_872;

/// What each part adds, and functions that several of them share: there with any of them.
const PARTS: &[(&[&str], usize)] = &[
    (&["INK_TILES"], 124),
    (&["INK_VALUES"], 334),
    (&["INK_BARS"], 176),
    (&["INK_MARKERS"], 146),
    (&["INK_ARCS"], 596),
    (&["INK_RING_MARKERS"], 360),
    (&["INK_HISTORIES"], 1_094),
    (&["INK_HOURS"], 680),
    (&["INK_ROWS"], 790),
    (&["INK_UNITS"], 108),
    (&["INK_MARKS"], 162),
    (&["INK_JOINED"], 52),
    (&["INK_CELLS"], 90),
    (&["INK_PASTS"], 102),
    (&["INK_TALL_FONTS"], 158),
    (&["INK_KERNS"], 204),
    (&["INK_COMPARED"], 116),
    (&["INK_STANDS"], 252),
    (&["INK_WRAPS"], 108),
    (&["INK_ELLIPSES"], 172),
    (&["INK_SMALLER"], 170),
    (&["INK_SPACED"], 108),
    (&["INK_LINE_CHARTS"], 522),
    (&["INK_BAR_CHARTS"], 352),
    (&["INK_GRIDS"], 76),
    (&["INK_ENDS"], 148),
    (&["INK_LIMITS"], 196),
    (&["INK_STAMPS"], 182),
    (&["INK_RISING"], 88),
    (&["INK_DATES"], 272),
    (&["INK_SCALED"], 148),
    (&["INK_PAGES"], 24),
    (&["INK_COUNTED"], 24),
    (&["INK_CELLS_DIFFER"], 148),
    (&["INK_CURSORS"], 202),
    (&["INK_PARTS"], 158),
    (&["INK_HOURS", "INK_CLOCKS"], 180),
    (&["INK_BARS", "INK_MARKERS", "INK_ARCS", "INK_RING_MARKERS", "INK_HISTORIES", "INK_UNITS"], 146),
    (&["INK_BARS", "INK_MARKERS", "INK_HISTORIES", "INK_ROWS", "INK_VALUES"], 146),
];

/// Bytes of the machine in C that are left of all of it without such parts, measured alike.
pub const MACHINE: usize = 3_968;

/// What each part adds to it, and what several of them share.
const MACHINE_PARTS: &[(&[&str], usize)] = &[
    (&["INK_FROZEN"], 206),
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
    (&["INK_REPEATS"], 406),
    (&["INK_KEYS_WAIT"], 262),
    (&["INK_TIMERS"], 314),
    (&["INK_RISES"], 314),
    (&["INK_EDITS"], 88),
    (&["INK_DIGITS"], 86),
    (&["INK_GOES_BY"], 48),
    (&["INK_LONG_WAITS"], 56),
    (&["INK_MANY_SCREENS"], 48),
    (&["INK_BACK_FORGETS"], 18),
    (&["INK_UNITS"], 364),
    (&["INK_HOLDS", "INK_REPEATS"], 306),
    (&["INK_UNITS", "INK_PICKS", "INK_GOES_BY", "INK_DIGITS", "INK_WITHIN"], 116),
];

/// What the code grows by where values are kept in as many bytes as they need, without the table of their places.
const PLACES: usize = 172;

/// Bytes that a memo adds to interpreter and machine, measured alike.
const MEMO: [usize; 2] = [2_040, 310];

/// Bytes of the stack under `ink_next`, the deepest call, on a Cortex-M0 without a memo, where a design only sets text; its
/// longest text and its widest picture come on top. Measured by running the demo, other parts from what the compiler says
/// that functions take (`-fcallgraph-info=su`); tests hold it against both.
const STACK: usize = 676;

/// What the stack grows by with parts: the first that a design needs, of those that set text in their own frames, and what
/// each of the others adds.
const STACK_UNDER: &[(&str, usize)] = &[("INK_HOURS", 144), ("INK_ROWS", 48), ("INK_HISTORIES", 48)];
/// What a memo of the panel adds.
const STACK_MEMO: usize = 136;
const STACK_MORE: &[(&str, usize)] = &[("INK_KERNS", 32), ("INK_SPACED", 16), ("INK_TALL_FONTS", 8)];

/// Bytes of the stack for a design that does not need some parts, with so many characters in its longest text and pixels
/// across its widest picture.
fn stack(spare: &[&str], text: usize, widest: usize) -> usize {
    let needed = |(part, _): &&(&str, usize)| !spare.contains(part);
    let under = STACK_UNDER.iter().find(needed).map_or(0, |(_, bytes)| *bytes);
    let more: usize = STACK_MORE.iter().filter(needed).map(|(_, bytes)| *bytes).sum();
    let character = if spare.contains(&"INK_LONG_CODES") { 1 } else { 2 };
    (STACK + under + more + character * (text + 1) + widest / 8 + 2).next_multiple_of(8)
}

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
    /// The stack under the deepest call of the machine on Cortex-M0, without interrupts.
    pub stack: usize,
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
        Ok(Self::of_tables(&drawing, &rules, order.device))
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

    fn of_tables(drawing: &Drawing, rules: &Rules, device: &Device) -> Self {
        let [memo_code, memo_machine] = if device.policy.memo.is_some() { MEMO } else { [0; 2] };
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
            code: code(&drawing.spare) + memo_code,
            machine: machine(&[&drawing.spare[..], &rules.spare].concat()) + kept(rules) + memo_machine,
            state: rules.structures[0] + 4 * (rules.cells[0] + rules.panel_cells[0]),
            stack: stack(&drawing.spare, drawing.size("INK_TEXT"), drawing.size("INK_WIDEST"))
                + if device.policy.memo.is_some() { STACK_MEMO } else { 0 },
            past: drawing.past_bytes(),
            values: rules.widths.as_ref().map_or(4 * device.fields.len(), |widths| widths.bytes),
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
