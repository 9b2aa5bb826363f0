//! `raw`: the packed bytes of each screen and nothing else.

use super::{Files, Order};
use crate::source::fault::Fault;

/// One `.bin` file a screen.
pub fn write(order: &Order<'_>) -> Result<Files, Fault> {
    Ok(order.pictures()?.into_iter().map(|picture| (format!("{}.bin", picture.path), picture.bytes)).collect())
}
