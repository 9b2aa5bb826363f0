//! Flash and RAM that a `c-live` export takes, from the tables themselves: every byte of them is known before a compiler has
//! seen it. The size of the interpreter is measured; see [`code`].

use super::drawing::Drawing;
use super::order::Order;
use super::tables::flow;
use crate::device::Device;
use crate::screen::ScreenId;
use crate::source::fault::Fault;

/// Bytes of the interpreter without the parts that can be left out, as a compiler for Cortex-M0 makes them
/// (arm-none-eabi-gcc 12.2, `-Os`; measured with `tests/references/cortex-m0/measure.sh`). A test holds all of it against
/// the compiler where one is installed.
pub const CODE: usize = 5_076;

/// What each part adds, and functions that several of them share: there with any of them.
const PARTS: &[(&[&str], usize)] = &[
    (&["INK_TILES"], 100),
    (&["INK_VALUES"], 235),
    (&["INK_BARS"], 136),
    (&["INK_MARKERS"], 140),
    (&["INK_ARCS"], 508),
    (&["INK_RING_MARKERS"], 332),
    (&["INK_HISTORIES"], 2_168),
    (&["INK_HOURS"], 732),
    (&["INK_ROWS"], 960),
    (&["INK_CLOCKS"], 368),
    (&["INK_BARS", "INK_MARKERS", "INK_ARCS", "INK_RING_MARKERS", "INK_HISTORIES"], 320),
    (&["INK_ARCS", "INK_RING_MARKERS"], 128),
    (&["INK_HOURS", "INK_CLOCKS"], 288),
];

/// Bytes of the interpreter for a design that does not need some of its parts.
pub fn code(spare: &[&str]) -> usize {
    let needed = PARTS.iter().filter(|(any, _)| any.iter().any(|part| !spare.contains(part)));
    CODE + needed.map(|(_, bytes)| bytes).sum::<usize>()
}

/// Bytes of the design's own structure on a processor with 32-bit addresses, and of one ring's.
const DESIGN: usize = 72;
const RING: usize = 8;
/// Bytes of a step of the flow.
const STEP: usize = 28;

/// What an export takes, in bytes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Footprint {
    /// Operations, lists of them and structures.
    pub operations: usize,
    /// Texts in all locales.
    pub texts: usize,
    /// Fonts and bitmaps.
    pub pictures: usize,
    /// The flow.
    pub flow: usize,
    /// The interpreter on Cortex-M0.
    pub code: usize,
    /// RAM of past values that charts show.
    pub past: usize,
    /// RAM of the fields' values.
    pub values: usize,
}

impl Footprint {
    /// Of a design with all its screens and locales.
    ///
    /// # Errors
    /// When the tables cannot be made.
    pub fn of(order: &Order<'_>) -> Result<Self, Fault> {
        let steps = flow::steps(order.device, &order.screens).len();
        Ok(Self::of_tables(&Drawing::of(order)?, order.device.fields.len(), steps))
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

    fn of_tables(drawing: &Drawing, fields: usize, steps: usize) -> Self {
        Self {
            operations: drawing.screens.len()
                + drawing.lists.len()
                + drawing.code.len()
                + DESIGN
                + RING * drawing.rings.len(),
            texts: drawing.texts.len() + drawing.slots.len(),
            pictures: drawing.bits.len(),
            flow: STEP * steps.max(1),
            code: code(&drawing.spare),
            past: drawing.past_bytes(),
            values: 4 * fields,
        }
    }

    /// Flash of the tables.
    pub fn tables(&self) -> usize {
        self.operations + self.texts + self.pictures + self.flow
    }

    /// Flash of tables and code.
    pub fn flash(&self) -> usize {
        self.tables() + self.code
    }

    /// RAM beside the frame or strip and the stack.
    pub fn ram(&self) -> usize {
        self.past + self.values
    }
}
