//! What pays between updates: the booster kept on, the panel switched off. Break-even times of the typical device.
//!
//! Not for what the usage makes of them: that is simulated, and `--set` or a sweep compares it.

use super::phases::{Cause, Maker};
use super::supply::Supply;
use crate::device::Device;
use crate::hardware::panel::{Between, Fixed};
use crate::hardware::rail::Draw;
use crate::hardware::tree::On;
use crate::parameters::ParameterSample;
use crate::units::{Joules, Seconds, Watts};

/// Energy for each update against power between updates, both at the battery.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BreakEven {
    /// What one update takes more or less.
    pub energy: Joules,
    /// What the pause takes more or less.
    pub power: Watts,
}

impl BreakEven {
    /// The pause at which both are the same; `None` where the pause costs the same either way.
    pub fn pause(&self) -> Option<Seconds> {
        (self.power.0 > 0.0).then(|| Seconds(self.energy.0.max(0.0) / self.power.0))
    }
}

/// The booster kept on: what an update within the time saves, and the power of keeping it on. It pays for pauses shorter
/// than the break-even.
pub fn held(device: &Device, parameters: &ParameterSample) -> Option<BreakEven> {
    let panel = &device.panel;
    let hold = panel.hold?;
    let volts = device.battery.nominal();
    let maker = Maker::new(device, parameters, volts);
    let phases = [(panel.start, Cause::Start), (panel.booster_on, Cause::Booster), (panel.booster_off, Cause::Booster)];
    let saved: Draw = phases.into_iter().map(|(fixed, cause)| maker.fixed("", cause, fixed, 1.0).draw).sum();
    let supply = Supply::new(device, parameters, volts);
    let rails = supply.start_up(supply.needs(panel.rail));
    let energy = saved.energy_at(volts) + rails.energy_at(volts);
    let second = maker.held(hold, Seconds(1.0)).draw.energy_at(volts);
    Some(BreakEven { energy, power: Watts(second.0) })
}

/// The panel switched off instead of asleep: what the longer initialisation takes more, and what the pause takes less. It
/// pays for pauses longer than the break-even.
pub fn switched_off(device: &Device, parameters: &ParameterSample) -> Option<BreakEven> {
    let panel = &device.panel;
    let (asleep, off) = match panel.between {
        Between::Sleeps => return None,
        Between::CouldBeOff(off) => ((panel.sleep, panel.start), (off.current, off.start)),
        Between::Off(asleep) => ((asleep.current, asleep.start), (panel.sleep, panel.start)),
    };
    let volts = device.battery.nominal();
    let maker = Maker::new(device, parameters, volts);
    let start = |fixed: Fixed| maker.fixed("", Cause::Start, fixed, 1.0).draw.energy_at(volts);
    let supply = Supply::new(device, parameters, volts);
    let saved = parameters.of(asleep.0) - parameters.of(off.0);
    let all = crate::cell::peak::LoadCurrent::current(saved);
    let taken = supply.beyond(On::NONE, &[(panel.rail, all)]);
    Some(BreakEven { energy: start(off.1) - start(asleep.1), power: Watts((volts * taken.at(volts)).0) })
}
