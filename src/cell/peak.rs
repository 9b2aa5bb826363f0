//! Terminal voltage under load: what is left of the open-circuit voltage while the board draws its peak.
//!
//! The cell is a source behind a resistance; for a capacitor beside it see [`super::capacitor`]. Not modelled: the cell's
//! own slow settling. With a resistance measured over seconds the figures are pessimistic for pulses of milliseconds.

use super::capacitor::Peak;
use super::{Case, Cell, CellFault};
use crate::units::{Amps, Celsius, Ohms, Ratio, Seconds, Volts, Watts};

/// What is drawn at the battery terminals: a current that does not depend on the voltage (behind a linear regulator)
/// and a power that does not (behind a switching regulator). Negative current is charge flowing in.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct LoadCurrent {
    /// Constant current at the terminals.
    pub current: Amps,
    /// Constant power at the terminals, the regulator's loss included.
    pub power: Watts,
}

impl std::ops::Add for LoadCurrent {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self { current: self.current + other.current, power: self.power + other.power }
    }
}

impl std::iter::Sum for LoadCurrent {
    fn sum<I: Iterator<Item = Self>>(all: I) -> Self {
        let nothing = Self { current: Amps(0.0), power: Watts(0.0) };
        all.fold(nothing, std::ops::Add::add)
    }
}

impl LoadCurrent {
    /// A constant current alone.
    pub fn current(current: Amps) -> Self {
        Self { current, power: Watts(0.0) }
    }

    /// A constant power alone.
    pub fn power(power: Watts) -> Self {
        Self { current: Amps(0.0), power }
    }

    /// The current at a terminal voltage.
    pub fn at(self, terminal: Volts) -> Amps {
        if self.power.0 == 0.0 { self.current } else { self.current + self.power / terminal }
    }
}

/// What the terminals do under a load.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Terminal {
    /// They hold at this voltage.
    Holds(Volts),
    /// No voltage satisfies the load: it falls until the regulator stops. Not a small voltage but none.
    Collapses,
}

impl Terminal {
    /// The voltage, if it holds.
    pub fn volts(self) -> Option<Volts> {
        match self {
            Self::Holds(volts) => Some(volts),
            Self::Collapses => None,
        }
    }

    /// Whether the terminals hold at `minimum` or above.
    pub fn reaches(self, minimum: Volts) -> bool {
        self.volts().is_some_and(|volts| volts >= minimum)
    }
}

/// Terminal voltage of a source `ocv` behind `resistance` (at least 0) while `load_current` is drawn.
///
/// Kirchhoff's voltage law `V = OCV - R (I + P / V)` is a quadratic in V; of its two roots the upper one is stable
/// under a switching regulator: `V = (E + sqrt(E^2 - 4 R P)) / 2` with `E = OCV - R I`.
pub fn terminal(ocv: Volts, resistance: Ohms, load_current: LoadCurrent) -> Terminal {
    let source = ocv - resistance * load_current.current;
    let discriminant = source.0 * source.0 - 4.0 * resistance.0 * load_current.power.0;
    // Written so that NaN collapses too.
    if source.0 > 0.0 && discriminant >= 0.0 {
        Terminal::Holds(Volts(0.5 * (source.0 + discriminant.sqrt())))
    } else {
        Terminal::Collapses
    }
}

/// The largest constant power that can be drawn beside `current` with the terminals at `v_min` or above.
/// 0 when the current alone already pulls them below; `None` when the resistance is 0 and nothing bounds the power.
///
/// At `v_min` the power is `v_min (E - v_min) / R`; below half of `E` the bound is the matched load `E^2 / (4 R)`.
pub fn largest_power(ocv: Volts, resistance: Ohms, current: Amps, v_min: Volts) -> Option<Watts> {
    let source = (ocv - resistance * current).0;
    if source <= v_min.0 || source <= 0.0 {
        return Some(Watts(0.0));
    }
    if resistance.0 <= 0.0 {
        return None;
    }
    let at = v_min.0.max(source / 2.0);
    Some(Watts(at * (source - at) / resistance.0))
}

/// One end of the temperature range.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Warmth {
    /// The lowest temperature of use.
    Cold,
    /// The highest temperature of use.
    Hot,
}

/// One end of the discharge.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fill {
    /// As charged (to the float voltage) or as bought.
    Full,
    /// Only the reserve is left.
    Empty,
}

/// One end of the cell's own life.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Wear {
    /// Age 0.
    New,
    /// At the stated age.
    Aged,
}

/// The range over which a cell is used.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Span {
    /// Lowest temperature of use.
    pub cold: Celsius,
    /// Highest temperature of use.
    pub hot: Celsius,
    /// Age at which the cell is given up.
    pub aged: Seconds,
}

/// The cell under its peak load at one corner of its range.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Corner {
    /// Cold or hot.
    pub warmth: Warmth,
    /// Full or empty.
    pub fill: Fill,
    /// New or aged.
    pub wear: Wear,
    /// Temperature there.
    pub temperature: Celsius,
    /// State of charge there.
    pub state_of_charge: Ratio,
    /// Open-circuit voltage of the pack.
    pub ocv: Volts,
    /// Internal resistance of the pack, with the film of its rest.
    pub resistance: Ohms,
    /// What the terminals do under the load.
    pub terminal: Terminal,
    /// See [`largest_power`].
    pub largest_power: Option<Watts>,
}

/// The eight corners {cold, hot} x {full, empty} x {new, aged} under the peaks, the cold one first; `v_min` is the regulator's minimum input.
/// `cell.age` is not used: the ages are 0 and `span.aged`.
///
/// # Errors
/// A cell that cannot be, or a temperature outside its tables.
pub fn supply_corners(cell: &Cell, span: Span, peaks: &[Peak; 2], v_min: Volts) -> Result<Vec<Corner>, CellFault> {
    let mut all = Vec::with_capacity(8);
    for ((warmth, temperature), peak) in [(Warmth::Cold, span.cold), (Warmth::Hot, span.hot)].into_iter().zip(peaks) {
        for (wear, age) in [(Wear::New, Seconds(0.0)), (Wear::Aged, span.aged)] {
            let case = Cell { age, ..cell.clone() }.at(temperature)?;
            for (fill, charge) in [(Fill::Full, case.start()), (Fill::Empty, case.floor())] {
                all.push(corner(&case, (warmth, fill, wear), case.state_of_charge(charge), peak, v_min));
            }
        }
    }
    Ok(all)
}

fn corner(case: &Case, ends: (Warmth, Fill, Wear), soc: Ratio, peak: &Peak, v_min: Volts) -> Corner {
    let (ocv, resistance) = (case.ocv(soc), case.worst_resistance(soc));
    Corner {
        warmth: ends.0,
        fill: ends.1,
        wear: ends.2,
        temperature: case.temperature(),
        state_of_charge: soc,
        ocv,
        resistance,
        terminal: peak.terminal(ocv, resistance),
        largest_power: largest_power(ocv, resistance, peak.load_current.current, v_min),
    }
}

/// The corner with the lowest terminal voltage; a collapse is lower than any voltage, and of two the one that could
/// supply less is worse.
pub fn worst(supply_corners: &[Corner]) -> Option<&Corner> {
    let height = |corner: &Corner| corner.terminal.volts().map_or(f64::NEG_INFINITY, f64::from);
    let supply = |corner: &Corner| corner.largest_power.map_or(f64::INFINITY, f64::from);
    supply_corners.iter().min_by(|a, b| height(a).total_cmp(&height(b)).then(supply(a).total_cmp(&supply(b))))
}
