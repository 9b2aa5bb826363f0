//! Cores on which drawing was measured: what each of the amounts that drawing comes to costs in cycles.
//!
//! Not for the amounts of a screen; see [`crate::screen::effort`] and [`crate::refresh::drawing`].

use schemars::JsonSchema;
use serde::Deserialize;

/// A core on which the cycles of drawing were measured.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Core {
    /// Arm Cortex-M0.
    CortexM0,
    /// 8-bit AVR.
    Avr,
}

/// How the time of drawing is known.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum DrawingTime {
    /// Firmware with drawing code of its own, which draws the pixels of a window once: cycles for each.
    PerPixel(f64),
    /// The exported code on a core.
    Exported(Core),
}

impl DrawingTime {
    /// Whether the exported machine draws.
    pub fn is_exported(self) -> bool {
        matches!(self, Self::Exported(_))
    }
}

/// Amounts that drawing comes to, or what one of each costs in cycles.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Amounts {
    /// Calls: one a strip.
    pub calls: f64,
    /// Operations that set texts, whether they are drawn or only read.
    pub words: f64,
    /// Operations that are drawn or noted.
    pub drawn: f64,
    /// Characters of texts that are composed.
    pub characters: f64,
    /// Characters whose widths are asked for, each time.
    pub measured: f64,
    /// Codes that are unpacked for glyphs and pictures.
    pub codes: f64,
    /// Their rows along bytes.
    pub rows: f64,
    /// Areas that are filled.
    pub fills: f64,
    /// Bytes that fills write.
    pub bytes: f64,
    /// Pixels of rings, each of which is asked for.
    pub asked: f64,
    /// Past values that are read.
    pub samples: f64,
    /// Cells of a memo that are written.
    pub noted: f64,
    /// Bytes of lines that are cleared.
    pub cleared: f64,
    /// Bytes of a picture that are compared with those of another.
    pub compared: f64,
}

impl Amounts {
    /// In the order above.
    pub fn of(all: [f64; 14]) -> Self {
        let [calls, words, drawn, characters, measured, codes, rows, fills, rest @ ..] = all;
        let [bytes, asked, samples, noted, cleared, compared] = rest;
        Self {
            calls,
            words,
            drawn,
            characters,
            measured,
            codes,
            rows,
            fills,
            bytes,
            asked,
            samples,
            noted,
            cleared,
            compared,
        }
    }

    /// All of them, in the order above.
    pub fn all(&self) -> [f64; 14] {
        let Self { calls, words, drawn, characters, measured, codes, rows, fills, .. } = *self;
        let Self { bytes, asked, samples, noted, cleared, compared, .. } = *self;
        [calls, words, drawn, characters, measured, codes, rows, fills, bytes, asked, samples, noted, cleared, compared]
    }

    /// What they cost at so many cycles for one of each.
    pub fn cost(&self, cycles: &Self) -> f64 {
        self.all().iter().zip(cycles.all()).map(|(amount, cycles)| amount * cycles).sum()
    }
}

impl Core {
    /// Cycles that one of each amount costs the exported code; how they were measured is told in
    /// `tests/firmware/costs.md`.
    pub fn cycles(self) -> &'static Amounts {
        match self {
            Self::CortexM0 => &CORTEX_M0,
            Self::Avr => &AVR,
        }
    }
}

/// As `tests/firmware/fit_cycles.py` fits them to what is counted; the bytes compared from whole updates.
const CORTEX_M0: Amounts = Amounts {
    calls: 5353.5,
    words: 1553.0,
    drawn: 1758.0,
    characters: 329.2,
    measured: 112.7,
    codes: 61.7,
    rows: 436.6,
    fills: 183.3,
    bytes: 20.1,
    asked: 63.2,
    samples: 638.8,
    noted: 73.5,
    cleared: 2.7,
    compared: 75.0,
};

/// The same for frames drawn at once. What strips, memos and comparing take was counted on the Cortex-M0 alone, and is as much
/// larger here as frames are.
const AVR: Amounts = Amounts {
    calls: 16865.4,
    words: 3623.7,
    drawn: 3987.0,
    characters: 1085.2,
    measured: 390.5,
    codes: 274.5,
    rows: 1287.5,
    fills: 673.9,
    bytes: 75.3,
    asked: 205.8,
    samples: 1875.7,
    noted: 239.3,
    cleared: 8.8,
    compared: 244.1,
};
