//! What a compressed background takes to unpack on the microcontroller, band by band as it is drawn.
//!
//! The amounts are counted from the stored bytes; the cycles of each are inputs of the board. Not for energy; the budget
//! puts a current to the time.

use super::order::Order;
use super::squeeze::{Codec, squeeze};
use super::tables::Tables;
use crate::device::Device;
use crate::screen::ScreenId;
use crate::source::fault::Fault;

/// Core cycles to copy one decoded byte where the board does not say: a loop with a load, a store, a count and a branch
/// on a small core. An assumption; measure it on the board.
pub const CYCLES_PER_BYTE: f64 = 12.0;

/// How many copied bytes a token costs: it is read, told apart and sets up a copy. An assumption.
pub const BYTES_PER_TOKEN: f64 = 4.0;

/// The background of one screen as it is stored.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Decoding {
    /// The screen.
    pub screen: ScreenId,
    /// The locale, as a position.
    pub locale: usize,
    /// Bytes when unpacked.
    pub bytes: usize,
    /// Bytes in flash.
    pub stored: usize,
    /// How they are written.
    pub codec: Codec,
    /// Tokens of the decoder.
    pub tokens: usize,
}

impl Decoding {
    /// Core cycles to unpack all of it once.
    pub fn cycles(&self, per_byte: f64) -> f64 {
        match self.codec {
            // Plain bytes are read where they lie.
            Codec::Plain => 0.0,
            Codec::Runs | Codec::Pool => per_byte * (self.bytes as f64 + BYTES_PER_TOKEN * self.tokens as f64),
        }
    }
}

/// The backgrounds of all screens in a locale, in the panel's own packing.
///
/// # Errors
/// When the packing does not suit the panel's size.
pub fn decodings(device: &Device, locale: usize) -> Result<Vec<Decoding>, Fault> {
    let order = Order {
        device,
        screens: (0..device.screens.len()).map(ScreenId).collect(),
        locales: vec![locale],
        values: device.sample(),
        packing: device.panel.packing.clone(),
        prefix: String::new(),
        section: None,
        design: 0,
    };
    let tables = Tables::of(&order)?;
    let one = |sheet: &super::tables::Sheet| {
        let squeezed = squeeze(&sheet.bytes);
        Decoding {
            screen: sheet.screen,
            locale,
            bytes: sheet.bytes.len(),
            stored: squeezed.bytes.len(),
            codec: squeezed.codec,
            tokens: squeezed.tokens,
        }
    };
    Ok(tables.sheets.iter().map(one).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn plain_bytes_cost_nothing_and_tokens_more_than_bytes() {
        let decoding = |codec, tokens| {
            let screen = ScreenId(0);
            Decoding { screen, locale: 0, bytes: 100, stored: 20, codec, tokens }.cycles(10.0)
        };
        assert_eq!(
            [decoding(Codec::Plain, 0), decoding(Codec::Runs, 5), decoding(Codec::Pool, 0)],
            [0.0, 1200.0, 1000.0]
        );
    }
}
