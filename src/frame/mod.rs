//! One-bit pictures: held, drawn on, compared, turned, dithered, packed into bytes and written as files.
//!
//! A [`Frame`] is what a screen becomes once it is drawn, and what every export and every refresh estimate starts from.
//! Not for what is drawn on it (that is layout and text), nor for choosing update windows from the changed pixels.
//!
//! ```
//! use inkjoule::frame::Frame;
//! let old = Frame::from_pattern(&["##..", "...."]);
//! let new = Frame::from_pattern(&["##..", "..#."]);
//! assert_eq!(old.changed_pixels(&new), Some(1));
//! ```

mod area;
pub mod assert;
mod bits;
pub mod blit;
pub mod diff;
mod diffusion;
pub mod dither;
pub mod files;
mod fill;
pub mod gray;
mod ordered;
pub mod pack;
pub mod packing_words;
pub mod planes;
mod rows;
mod stream;
mod target;
mod text;
pub mod turn;

pub use area::{rectangle, rectangle_json};
pub use bits::{Frame, LARGEST_SIDE};
pub use blit::Paint;
pub use dither::{Method, dither};
pub use gray::Gray;
pub use pack::{Axis, Bit, BitOrder, PackFault, Packing, Scan};
pub use planes::{Corner, Interleave, Planes};
pub use turn::{Rotation, Turn};
