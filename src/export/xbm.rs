//! `xbm`: each screen as an X Window System bitmap, upright whatever the panel's packing is.

use super::{Files, Order, ScreenPicture};
use crate::frame::files;
use crate::source::fault::Fault;

/// One `.xbm` file a screen.
pub fn write(order: &Order<'_>) -> Result<Files, Fault> {
    let file = |picture: ScreenPicture| {
        (format!("{}.xbm", picture.path), files::xbm(&picture.frame, &picture.name).into_bytes())
    };
    Ok(order.pictures()?.into_iter().map(file).collect())
}
