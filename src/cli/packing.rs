//! How pixels lie in bytes, as arguments: the project's packing, changed for one run.

use super::{Stop, print};
use crate::frame::{Axis, Bit, BitOrder, Corner, Interleave, Packing, Planes, Rotation, Scan};
use crate::hardware::packing::{mounted_packing, unmounted_packing, written};
use crate::hardware::panel::Panel;
use crate::units::ValueFault;
use clap::Args;

/// Changes of the panel's packing.
#[derive(Clone, Debug, Default, Args)]
#[command(next_help_heading = "Packing (the panel's own, unless stated)")]
pub struct PackingArgs {
    /// The order of successive bytes.
    #[arg(long, value_enum)]
    scan: Option<Scan>,
    /// The axis along which the eight pixels of a byte lie.
    #[arg(long, value_enum)]
    along: Option<Axis>,
    /// Which bit is the leftmost or topmost pixel.
    #[arg(long, value_enum)]
    bits: Option<BitOrder>,
    /// The bit that stands for ink: 0 or 1.
    #[arg(long, value_name = "BIT", value_parser = bit)]
    pixel_polarity: Option<Bit>,
    /// Bytes from one line to the next; 0 for lines without a gap.
    #[arg(long, value_name = "BYTES", value_parser = clap::value_parser!(u32).range(0..=i64::from(crate::limits::STRIDE)))]
    stride: Option<u32>,
    /// The value of bits that belong to no pixel: 0 or 1.
    #[arg(long, value_name = "BIT", value_parser = bit)]
    padding: Option<Bit>,
    /// Clockwise rotation before packing: 0, 90, 180 or 270; as in the project, on top of how the panel is mounted.
    #[arg(long, value_name = "DEGREES", value_parser = rotation)]
    rotation: Option<Rotation>,
    /// Whether left and right are exchanged, before the rotation.
    #[arg(long, value_name = "BOOL", num_args = 0..=1, default_missing_value = "true")]
    mirror: Option<bool>,
    /// Which planes are held, in the order they are sent.
    #[arg(long, value_enum)]
    planes: Option<Planes>,
    /// How two planes lie.
    #[arg(long, value_enum)]
    interleave: Option<Interleave>,
    /// The corner of the image in memory from which window addresses count.
    #[arg(long, value_enum)]
    origin: Option<Corner>,
    /// The address of that corner, such as 8,0.
    #[arg(long, value_name = "COLUMN,LINE", value_parser = address)]
    origin_at: Option<[u32; 2]>,
}

fn bit(text: &str) -> Result<Bit, ValueFault> {
    let number: u8 = text.parse().map_err(|_| ValueFault(format!("expected a bit, 0 or 1, found {text}")))?;
    Bit::try_from(number)
}

fn rotation(text: &str) -> Result<Rotation, ValueFault> {
    let degrees: u16 = text.parse().map_err(|_| ValueFault("expected 0, 90, 180 or 270".to_owned()))?;
    Rotation::try_from(degrees)
}

fn address(text: &str) -> Result<[u32; 2], ValueFault> {
    let numbers =
        text.split_once(',').and_then(|(column, line)| Some([column.trim().parse().ok()?, line.trim().parse().ok()?]));
    numbers.ok_or_else(|| ValueFault("expected a column and a line, such as 8,0".to_owned()))
}

impl PackingArgs {
    /// The panel's packing with the changes made. As in the project, `rotation` and `mirror` do not count how the panel is
    /// mounted.
    pub fn over(&self, panel: &Panel) -> Packing {
        let own = &unmounted_packing(&panel.packing, panel.mounted, panel.mirrored);
        let changed = Packing {
            scan: self.scan.unwrap_or(own.scan),
            along: self.along.unwrap_or(own.along),
            bits: self.bits.unwrap_or(own.bits),
            pixel_polarity: self.pixel_polarity.unwrap_or(own.pixel_polarity),
            stride: self.stride.map_or(own.stride, |stride| (stride > 0).then_some(stride)),
            padding: self.padding.unwrap_or(own.padding),
            rotation: self.rotation.unwrap_or(own.rotation),
            mirror: self.mirror.unwrap_or(own.mirror),
            planes: self.planes.unwrap_or(own.planes),
            interleave: self.interleave.unwrap_or(own.interleave),
            origin: self.origin.unwrap_or(own.origin),
            origin_at: self.origin_at.unwrap_or(own.origin_at),
        };
        mounted_packing(&changed, panel.mounted, panel.mirrored)
    }
}

/// Prints a packing after what is said of it, as it is written in a project: on one line however narrow the terminal is, so
/// that it can be pasted back.
///
/// # Errors
/// When standard output cannot be written.
pub fn print_packing(said: &str, packing: &Packing) -> Result<(), Stop> {
    print(&format!("{said}: {}\n", written(packing)))
}
