//! `pbm`: each screen as a Netpbm P4 file, upright whatever the panel's packing is.

use super::{Files, Order};
use crate::frame::files;
use crate::source::fault::Fault;

/// One `.pbm` file a screen.
pub fn write(order: &Order<'_>) -> Result<Files, Fault> {
    let file = |picture: super::ScreenPicture| (format!("{}.pbm", picture.path), files::pbm(&picture.frame));
    Ok(order.pictures()?.into_iter().map(file).collect())
}
