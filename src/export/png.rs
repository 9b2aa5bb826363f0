//! `png`: each screen as an 8-bit gray PNG, upright, one pixel a pixel.

use super::{Files, Order, ScreenPicture};
use crate::frame::files;
use crate::source::fault::Fault;

/// One `.png` file a screen.
pub fn write(order: &Order<'_>) -> Result<Files, Fault> {
    let file = |picture: ScreenPicture| {
        let bytes = files::png(&picture.frame, 1).map_err(|why| Fault::plain(format!("cannot make the PNG: {why}")))?;
        Ok((format!("{}.png", picture.path), bytes))
    };
    order.pictures()?.into_iter().map(file).collect()
}
