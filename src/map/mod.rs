//! The flow as a map: a card for each screen and box with its picture and its ways, and arrows from way to card.
//!
//! [`cards`] says what is on the map, [`place`] where the cards stand, [`route`] where the arrows run, and `draw` makes
//! plain shapes of it all; nothing is drawn before that. What leads where is found by exploring the machine's states, so
//! that ways back and ways under conditions are on the map; what each way takes is the budget's figure for it. Not for
//! files: see the command line.

pub mod cards;
mod draw;
pub mod place;
pub mod route;

use crate::device::Device;
use crate::plot::scene::Scene;

/// The map of a device, its pictures in a locale.
pub fn map(device: &Device, locale: usize) -> Scene {
    draw::draw(&cards::cards(device, locale))
}
