//! Loads at the battery's terminals, as means over time.
//!
//! Not for what a phase draws on its rail: [`crate::hardware::rail`] turns that into a load current.

use super::case::Point;
use super::life::LifeFault;
use super::peak::{LoadCurrent, terminal};
use crate::units::{Amps, Ohms, Ratio, Volts, Watts};

/// Mean current and mean power at the terminals.
pub type Draw = (Amps, Watts);

/// Something drawn for a share of the time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LoadPart {
    /// Share of the time during which it is drawn.
    pub share: Ratio,
    /// What is drawn then.
    pub load_current: LoadCurrent,
}

/// A mean load as the sum of its parts. Each part meets the terminal voltage of its own load current, not that of the mean: a
/// short pulse at a sagging voltage costs more charge than the mean current says.
#[derive(Clone, Debug, PartialEq)]
pub struct MeanLoad {
    /// Mean of all currents that do not depend on the voltage.
    fixed_width: f64,
    /// Parts with power in them: share, amps, watts.
    powers: Vec<(f64, f64, f64)>,
}

impl MeanLoad {
    /// A load that is always on.
    ///
    /// # Errors
    /// As [`MeanLoad::of`].
    pub fn always(load_current: LoadCurrent) -> Result<Self, LifeFault> {
        Self::of([LoadPart { share: Ratio(1.0), load_current }])
    }

    /// A load of parts.
    ///
    /// # Errors
    /// A negative or non-finite value.
    pub fn of(parts: impl IntoIterator<Item = LoadPart>) -> Result<Self, LifeFault> {
        let mut load = Self { fixed_width: 0.0, powers: Vec::new() };
        for LoadPart { share, load_current } in parts {
            if [share.0, load_current.current.0, load_current.power.0]
                .iter()
                .any(|value| !value.is_finite() || *value < 0.0)
            {
                return Err(LifeFault::Load);
            }
            if load_current.power.0 == 0.0 || share.0 == 0.0 {
                load.fixed_width += share.0 * load_current.current.0;
            } else {
                load.powers.push((share.0, load_current.current.0, load_current.power.0));
            }
        }
        Ok(load)
    }

    /// Mean current and power. The currents that do not depend on the voltage are taken at the voltage of their mean.
    fn mean(&self, ocv: Volts, resistance: Ohms) -> Option<Draw> {
        let steady = LoadCurrent::current(Amps(self.fixed_width));
        let volts = terminal(ocv, resistance, steady).volts()?;
        let (mut current, mut power) = (steady.current, volts * steady.current);
        for (share, amps, watts) in &self.powers {
            let volts =
                terminal(ocv, resistance, LoadCurrent { current: Amps(*amps), power: Watts(*watts) }).volts()?;
            current += Amps(share * (amps + watts / volts.0));
            power += Watts(share * (amps * volts.0 + watts));
        }
        Some((current, power))
    }

    pub(super) fn draw(&self, at: Point) -> Result<Draw, LifeFault> {
        let (ocv, ohms) = at.source();
        self.mean(ocv, ohms).ok_or(LifeFault::LoadRefused { at: ocv })
    }
}

/// What is drawn at the terminals along a discharge: a [`MeanLoad`], or a mean current as a function of the terminal voltage,
/// which has none where it is `None`; the voltage handed in is that of the mean current, found by repeated substitution.
pub trait Drawn {
    /// Mean current and power at a point of the discharge.
    ///
    /// # Errors
    /// See [`LifeFault`].
    fn drawn(&self, at: Point) -> Result<Draw, LifeFault>;

    /// Whether the cell bears it there; a load that cannot be given at all is told by [`Drawn::drawn`].
    fn holds(&self, at: Point) -> bool {
        !matches!(self.drawn(at), Err(LifeFault::Unbearable { .. }))
    }

    /// Terminal voltages at which it bends, with the current there; integrals are cut at them.
    fn bends(&self) -> &[(Volts, Amps)] {
        &[]
    }
}

impl Drawn for MeanLoad {
    fn drawn(&self, at: Point) -> Result<Draw, LifeFault> {
        self.draw(at)
    }

    fn holds(&self, at: Point) -> bool {
        self.draw(at).is_ok()
    }
}

impl<F: Fn(Volts) -> Option<Amps>> Drawn for F {
    fn drawn(&self, at: Point) -> Result<Draw, LifeFault> {
        settle(at, self)
    }
}

/// The terminal voltage that a current, itself a function of that voltage, leaves: by repeated substitution, which
/// closes in on the upper, stable voltage wherever there is one.
fn settle(at: Point, current: &impl Fn(Volts) -> Option<Amps>) -> Result<Draw, LifeFault> {
    let (ocv, ohms) = at.source();
    let mut volts = ocv;
    for _ in 0..100 {
        let sound = |amps: &Amps| amps.0.is_finite() && amps.0 >= 0.0;
        let amps = current(volts).filter(sound).ok_or(LifeFault::LoadRefused { at: volts })?;
        let next = ocv - ohms * amps;
        if next.0 <= 0.0 {
            break;
        }
        if (next - volts).0.abs() <= 1e-10 * ocv.0 {
            return Ok((amps, next * amps));
        }
        volts = next;
    }
    Err(LifeFault::Unbearable { at: ocv })
}
