//! Flash and RAM that a `c-live` export takes, from the tables themselves: every byte of them is known before a compiler has
//! seen it. The sizes of interpreter and machine are measured; see [`code`] and [`MACHINE`].

use super::drawing::Drawing;
use super::order::Order;
use super::rules::Rules;
use crate::device::Device;
use crate::screen::ScreenId;
use crate::source::fault::Fault;

/// Bytes of the interpreter without the parts that can be left out, as a compiler for Cortex-M0 makes them
/// (arm-none-eabi-gcc 12.2, `-Os`; measured with `tests/references/cortex-m0/measure.sh`). A test holds all of it against
/// the compiler where one is installed.
pub const CODE: usize = 5_000;

/// What each part adds, and functions that several of them share: there with any of them.
const PARTS: &[(&[&str], usize)] = &[
    (&["INK_TILES"], 68),
    (&["INK_KERNS"], 150),
    (&["INK_VALUES"], 244),
    (&["INK_BARS"], 146),
    (&["INK_MARKERS"], 150),
    (&["INK_ARCS"], 530),
    (&["INK_RING_MARKERS"], 346),
    (&["INK_HISTORIES"], 2_370),
    (&["INK_HOURS"], 644),
    (&["INK_CURSORS"], 268),
    (&["INK_ROWS"], 1_210),
    (&["INK_CLOCKS"], 372),
    (&["INK_MARKS"], 192),
    (&["INK_UNITS"], 180),
    (&["INK_PIECES"], 240),
    (&["INK_PASTS"], 96),
    (&["INK_BARS", "INK_MARKERS", "INK_ARCS", "INK_RING_MARKERS", "INK_HISTORIES"], 290),
    (&["INK_ARCS", "INK_RING_MARKERS"], 128),
    (&["INK_HOURS", "INK_CLOCKS"], 288),
];

/// Bytes of the machine in C, measured alike.
pub const MACHINE: usize = 10_012;
/// What changes in several units add to it.
const MACHINE_UNITS: usize = 488;

/// Bytes of the machine for a design that does not need some of its parts.
pub fn machine(spare: &[&str]) -> usize {
    MACHINE + if spare.contains(&"INK_UNITS") { 0 } else { MACHINE_UNITS }
}

/// Bytes of the interpreter for a design that does not need some of its parts.
pub fn code(spare: &[&str]) -> usize {
    let needed = PARTS.iter().filter(|(any, _)| any.iter().any(|part| !spare.contains(part)));
    CODE + needed.map(|(_, bytes)| bytes).sum::<usize>()
}

/// Bytes of the design's own structure on a processor with 32-bit addresses, and of one ring's.
const DESIGN: usize = 80;
const RING: usize = 8;
/// Bytes of the rules' own structure.
const RULES: usize = 8;

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
            texts: drawing.texts.len() + drawing.pairs[1].len() + drawing.slots.len(),
            pictures: drawing.bits.len(),
            flow: 0,
            rules: rules.bytes.len() + RULES,
            code: code(&drawing.spare),
            machine: machine(&drawing.spare),
            state: 4 * (rules.cells + rules.panel_cells),
            past: drawing.past_bytes(),
            values: 4 * fields,
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
