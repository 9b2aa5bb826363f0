// Written by inkjoule. Changes here are lost with the next export.
@TITLE@
//!
//! The machine of the design, as simulation and preview run it, behind types of Rust. The firmware brings a panel driver, a
//! clock, keys and values; the device says what to do next: send these lines, begin this refresh, sleep until then. No
//! allocation, no callbacks, any number of devices at once.
//!
//! ```
//! use @NAME@::{Setup, Store, Task, Time};
//!
//! let mut store = Store::new();
//! let mut device = Setup::new(&mut store)?.begin(Time::from_millis(0));
//! // At this time, and 20.0 degrees Celsius.
//! while let Task::Send(lines) = device.next(Time::from_millis(0), 200) {
//!     for row in lines.rows() {
//!         assert_eq!(row.len(), usize::from(lines.row_bytes())); // send it to the panel
//!     }
//! }
//! # Ok::<(), @NAME@::Damaged>(())
//! ```
//!
//! A whole program is in `examples/host.rs`.
#![no_std]
#![deny(missing_docs, unsafe_code)]

mod device;
mod ffi;
mod task;

// @IF:KEYS@
pub use device::Answer;
// @END@
// @IF:TOLD@
pub use device::Refused;
// @END@
pub use device::{tables_are_sound, Damaged, Device, Setup, Time};
pub use ffi::Store;
pub use task::{Lines, Mode, Plane, Reason, Refresh, Task, Window};

/// Pixels across the upright image.
pub const WIDTH: u16 = @WIDTH@;
/// Pixels down the upright image.
pub const HEIGHT: u16 = @HEIGHT@;
/// Bytes from one line of the packed frame to the next.
pub const STRIDE: usize = @STRIDE@;
/// Lines of the packed frame.
pub const LINES: usize = @LINES@;
/// Planes that are sent for a full refresh.
pub const FULL_PLANES: u8 = @FULL_PLANES@;
/// Planes that are sent for a partial refresh.
pub const PARTIAL_PLANES: u8 = @PARTIAL_PLANES@;
/// Lines of the strip in a [`Store`]: lines are drawn and sent so many at a time.
pub const STRIP_LINES: usize = @STRIP@;

const STRIP_BYTES: usize = STRIP_LINES * STRIDE;
/// What C keeps of a device, with addresses of 32 bits or fewer, and of 64; `store.c` has the same numbers and checks them.
const STATE_BYTES: usize = STATE_SIZES[cfg!(target_pointer_width = "64") as usize];
const STATE_SIZES: [usize; 2] = [@STATE32@, @STATE64@];

/// Whether a bit of 1 is ink in the packed frame.
pub const INK: bool = @INK@;

/// Where a pixel of the upright image lies in the packed frame: its byte, and its bit in that byte. For areas that your own
/// code draws, and for a panel that is only simulated.
pub const fn place_of(x: u16, y: u16) -> (usize, u8) {
    let (x, y) = (x as i32, y as i32);
    let [[ax, ay, a0], [bx, by, b0], [a_step, b_step, first_bit]] = PACKING;
    let (a, b) = (x * ax + y * ay + a0, x * bx + y * by + b0);
    let byte = a / 8 * a_step + b * b_step;
    (byte as usize, 1 << ((a & 7) ^ first_bit))
}

/// From a pixel to the axis of the eight pixels of a byte, and to the other one; bytes from one to the next along both, and
/// the bit of the first of the eight.
const PACKING: [[i32; 3]; 3] = @PACKING@;
@DESIGN@
