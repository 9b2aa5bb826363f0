//! A figure of the budget in a sweep: one number, or for the life the median with its band.

use crate::budget::figure::Figure;
use crate::budget::summary::Budget;
use crate::device::Device;

/// A figure's value for one device or, with its band, for many.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reading {
    /// The value; of a life the median (P50).
    pub value: f64,
    /// P10 and P90.
    pub band: Option<[f64; 2]>,
}

impl Reading {
    /// Reads a figure from a budget; `None` where the budget has none, as for a battery that browns out.
    pub fn of(figure: Figure, device: &Device, budget: &Budget) -> Option<Self> {
        let value = figure.value(device, budget)?;
        let end = |figure: Figure| figure.value(device, budget);
        let band = (figure == Figure::Life).then(|| Some([end(Figure::LifeP10)?, end(Figure::LifeP90)?]));
        Some(Self { value, band: band.flatten() })
    }

    /// The value that a limit is held against: what nine of ten devices reach, as in `check`.
    pub fn against_limit(self) -> f64 {
        self.band.map_or(self.value, |[p10, _]| p10)
    }
}
