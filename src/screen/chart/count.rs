//! In which whole units a chart counts: so small that its samples, limits and the edges of its scale are whole numbers of
//! them. Firmware draws it from these numbers alone, so both draw the same rows.
//!
//! A unit whose factor has too many digits for that is counted in parts of the last decimal shown, and samples go to the
//! nearest part: some ten millionths of the scale.

use super::axis::Scale;
use crate::screen::ratio::Ratio;
use crate::screen::shown::Scale as UnitScale;

/// Units on a scale at most; see `MOST` in `ink_draw_charts.h`.
pub const MOST: f64 = 5e7;

/// How a chart counts. `units = value * 10^held * multiply + offset`, divided by `divide` where samples go to the nearest.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Count {
    /// Decimals of what is multiplied.
    pub held: u32,
    /// What that is multiplied by.
    pub multiply: i32,
    /// Is added then.
    pub offset: i32,
    /// Divides the sum, which goes to the nearest whole number; `None` where nothing is lost.
    pub divide: Option<i32>,
    /// Units of one step of the last decimal shown.
    pub one: i32,
    /// Decimals shown.
    decimals: u32,
}

/// The numbers of a chart that never change, in the unit it is drawn in.
fn edges(scale: &Scale, limit: Option<f64>) -> Vec<f64> {
    let all = [Some(scale.range[0]), Some(scale.range[1]), Some(scale.least()), scale.low, scale.high, limit];
    all.into_iter().flatten().collect()
}

impl Count {
    /// How a chart counts on a scale in a unit, with a stated limit in that unit. `range` is its field's, in the field's own
    /// unit, and `held` the decimals that samples and limits are held with. `None` where the scale is too long for its
    /// decimals.
    pub fn of(scale: &Scale, limit: Option<f64>, unit: UnitScale, range: [f64; 2], held: u32) -> Option<Self> {
        let edges = edges(scale, limit);
        let decimals = scale.decimals as u32;
        let exact = |held: u32| {
            // In the field's own unit the last decimal held is the unit; the fraction must not be made smaller.
            let [multiply, offset, one] = match unit {
                UnitScale::OWN => [1, 0, 10i32.pow(held.checked_sub(decimals)?)],
                unit => Ratio::of(unit, held, decimals).for_firmware()?,
            };
            let count = Self { held, multiply, offset, divide: None, one, decimals };
            edges.iter().all(|edge| count.is_whole(*edge)).then_some(count)
        };
        let parts = || {
            let most = |numbers: &[f64]| numbers.iter().fold(0.0f64, |most, number| most.max(number.abs()));
            let room = |places: u32| most(&edges) * 10f64.powi(places as i32) <= MOST;
            let places = (decimals..=decimals.saturating_add(8)).rev().find(|places| room(*places))?;
            let ratio = Ratio::as_taken(unit, held, places).for_firmware()?;
            let [multiply, offset, divide] = ratio;
            let count =
                Self { held, multiply, offset, divide: Some(divide), one: 10i32.pow(places - decimals), decimals };
            (most(&range) * 10f64.powi(held as i32) <= MOST).then_some(count)
        };
        (held..=8.max(held)).find_map(exact).or_else(parts)
    }

    /// Units in 1.
    fn fine(&self) -> f64 {
        10f64.powi(self.decimals as i32) * f64::from(self.one)
    }

    /// A number in the unit shown as units.
    pub fn units(&self, shown: f64) -> f64 {
        (shown * self.fine()).round()
    }

    /// Whether a number in the unit shown is a whole number of units, and not too many.
    fn is_whole(&self, shown: f64) -> bool {
        let units = self.units(shown);
        (shown * self.fine() - units).abs() <= 1e-4 && units.abs() <= MOST
    }

    /// A number in the unit shown as the chart counts it.
    pub fn counted(&self, shown: f64) -> f64 {
        if self.divide.is_none() { shown } else { self.units(shown) / self.fine() }
    }

    /// A value of the field in the unit shown, as the chart counts it.
    pub fn shown(&self, value: f64, unit: UnitScale) -> f64 {
        let Some(divide) = self.divide.filter(|_| value.is_finite()) else { return unit.shown(value) };
        let ratio = Ratio { multiply: self.multiply.into(), offset: self.offset.into(), divide: divide.into() };
        let held = (value * 10f64.powi(self.held as i32)).round();
        ratio.shown(held as i128) as f64 / self.fine()
    }
}
