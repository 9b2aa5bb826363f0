//! How pixels lie in bytes, as arguments: the project's packing, changed for one run.

use crate::frame::{Axis, Bit, BitOrder, Packing, Rotation, Scan};
use clap::{Args, ValueEnum};

/// Changes of the panel's packing.
#[derive(Clone, Debug, Default, Args)]
#[command(next_help_heading = "Packing (the panel's own, unless stated)")]
pub struct PackingArgs {
    /// Which way successive bytes walk.
    #[arg(long, value_enum)]
    scan: Option<ScanWord>,
    /// The axis along which the eight pixels of a byte lie.
    #[arg(long, value_enum)]
    along: Option<AxisWord>,
    /// Which bit is the leftmost or topmost pixel.
    #[arg(long, value_enum)]
    bits: Option<BitsWord>,
    /// The bit that stands for ink: 0 or 1.
    #[arg(long, value_name = "BIT", value_parser = bit)]
    ink_is: Option<Bit>,
    /// Bytes from one line to the next; 0 for lines without a gap.
    #[arg(long, value_name = "BYTES")]
    stride: Option<u32>,
    /// The value of bits that belong to no pixel: 0 or 1.
    #[arg(long, value_name = "BIT", value_parser = bit)]
    padding: Option<Bit>,
    /// Clockwise rotation before packing: 0, 90, 180 or 270.
    #[arg(long, value_name = "DEGREES", value_parser = rotation)]
    rotation: Option<Rotation>,
    /// Whether left and right are exchanged, before the rotation.
    #[arg(long, value_name = "BOOL", num_args = 0..=1, default_missing_value = "true")]
    mirror: Option<bool>,
}

#[derive(Clone, Copy, Debug, ValueEnum)]
enum ScanWord {
    Rows,
    Columns,
}

#[derive(Clone, Copy, Debug, ValueEnum)]
enum AxisWord {
    X,
    Y,
}

#[derive(Clone, Copy, Debug, ValueEnum)]
enum BitsWord {
    MsbFirst,
    LsbFirst,
}

fn bit(text: &str) -> Result<Bit, String> {
    text.parse::<u8>().map_err(|_| format!("expected a bit, 0 or 1, found {text}")).and_then(Bit::try_from)
}

fn rotation(text: &str) -> Result<Rotation, String> {
    text.parse::<u16>().map_err(|_| "expected 0, 90, 180 or 270".to_owned()).and_then(Rotation::try_from)
}

impl PackingArgs {
    /// The packing with the changes made.
    pub fn over(&self, packing: &Packing) -> Packing {
        let mut changed = packing.clone();
        if let Some(scan) = self.scan {
            changed.scan = match scan {
                ScanWord::Rows => Scan::Rows,
                ScanWord::Columns => Scan::Columns,
            };
        }
        if let Some(along) = self.along {
            changed.along = match along {
                AxisWord::X => Axis::X,
                AxisWord::Y => Axis::Y,
            };
        }
        if let Some(bits) = self.bits {
            changed.bits = match bits {
                BitsWord::MsbFirst => BitOrder::MsbFirst,
                BitsWord::LsbFirst => BitOrder::LsbFirst,
            };
        }
        if let Some(stride) = self.stride {
            changed.stride = (stride > 0).then_some(stride);
        }
        changed.ink_is = self.ink_is.unwrap_or(changed.ink_is);
        changed.padding = self.padding.unwrap_or(changed.padding);
        changed.rotation = self.rotation.unwrap_or(changed.rotation);
        changed.mirror = self.mirror.unwrap_or(changed.mirror);
        changed
    }
}
