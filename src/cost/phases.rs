//! The phases of updates: durations and currents on rails, and what they take from the battery.
//!
//! One update's work gives its phases; the summed work of many updates gives the sums of theirs. Currents are those
//! beyond the sleep currents, which are always-on loads and always there.

use super::supplies::Supplies;
use super::supply::Supply;
use crate::cell::peak::LoadCurrent;
use crate::device::Device;
use crate::hardware::core::DrawingTime;
use crate::hardware::panel::{Drive, Fixed, Hold};
use crate::hardware::rail::{Draw, RailId};
use crate::hardware::tree::{Flow, On};
use crate::parameters::ParameterSample;
use crate::refresh::work::{Moments, Work};
use crate::units::{Amps, Celsius, Hertz, Joules, Ratio, Seconds, Volts, figures, grouped};
use std::fmt;
use std::rc::Rc;

/// What a phase belongs to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Cause {
    /// Waking the microcontroller.
    Wake,
    /// Drawing.
    Render,
    /// Switching supply rails on.
    Supply,
    /// Resetting and initialising the panel.
    Start,
    /// Moving the image to and from the external memory.
    Buffer,
    /// Sending the image to the panel.
    Transfer,
    /// The panel's booster.
    Booster,
    /// Driving the panel.
    Drive,
}

impl Cause {
    /// Its name in tables and files.
    pub fn name(self) -> &'static str {
        match self {
            Self::Wake => "wake",
            Self::Render => "render",
            Self::Supply => "supply",
            Self::Start => "start",
            Self::Buffer => "buffer",
            Self::Transfer => "transfer",
            Self::Booster => "booster",
            Self::Drive => "drive",
        }
    }
}

/// What draws a current in a phase.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Drawer {
    /// The microcontroller.
    Mcu,
    /// The external memory.
    Memory,
    /// The panel.
    Panel,
    /// The output capacitor of a rail that was switched on.
    OutputCapacitor,
}

impl Drawer {
    /// Its name in tables.
    pub fn name(self) -> &'static str {
        match self {
            Self::Mcu => "mcu",
            Self::Memory => "memory",
            Self::Panel => "panel",
            Self::OutputCapacitor => "output capacitor",
        }
    }
}

/// A current on a rail, and what it belongs to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PhaseLoad {
    /// What draws it.
    pub who: Drawer,
    /// The rail.
    pub rail: RailId,
    /// What it draws beyond sleep.
    pub drawn: LoadCurrent,
}

/// The currents of a phase. At most three draw at once: microcontroller, memory and panel.
pub type Loads = [Option<PhaseLoad>; 3];

/// How a phase's time comes about.
#[derive(Clone, Copy, Debug)]
pub enum How {
    /// This long for each update.
    Each(Seconds),
    /// How the cycles are known, how many, core clock.
    Drawn(DrawingTime, f64, Hertz),
    /// Bytes, bit clock, overhead.
    Sent(f64, Hertz, Ratio),
    /// Between two rows of the drive table: their temperatures, times and currents, and the mean share.
    Driven([Celsius; 2], [Seconds; 2], [Amps; 2], f64),
    /// As a drive of stated length, and then in frames: how many, and the time of one.
    Clocked([Celsius; 2], [Seconds; 2], [Amps; 2], f64, (f64, Seconds)),
}

impl fmt::Display for How {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Each(time) => write!(f, "{time} each"),
            Self::Drawn(DrawingTime::PerPixel(each), cycles, clock) => {
                let pixels = if *each > 0.0 { (cycles / each).round() } else { 0.0 };
                write!(f, "{} px x {each} cycles / {clock}", grouped(&pixels.to_string()))
            }
            Self::Drawn(DrawingTime::Exported(_), cycles, clock) => {
                // As many digits as such a price has.
                let step = 10f64.powf((cycles.max(1.0).log10() - 2.0).floor().max(0.0));
                write!(f, "{} cycles / {clock}", grouped(&((cycles / step).round() * step).to_string()))
            }
            Self::Sent(bytes, clock, overhead) => {
                write!(f, "8 x {} B / {clock} x (1 + {overhead})", grouped(&bytes.to_string()))
            }
            Self::Driven([cold, warm], [t0, t1], [i0, i1], share) => {
                write!(f, "{cold} to {warm}: time {t0} to {t1}, current {i0} to {i1}, share {share:.3}")
            }
            Self::Clocked([cold, warm], [t0, t1], [i0, i1], share, (frames, frame)) => {
                write!(
                    f,
                    "{} frames x {frame}; {cold} to {warm}: stages {t0} to {t1}, current {i0} to {i1}, share {share:.3}",
                    figures(*frames)
                )
            }
        }
    }
}

/// One phase.
#[derive(Clone, Debug)]
pub struct Phase {
    /// Its name.
    pub name: &'static str,
    /// What it belongs to.
    pub cause: Cause,
    /// How long it takes.
    pub time: Seconds,
    /// Mean currents meanwhile: one or two.
    pub loads: Loads,
    /// The rails that are switched on meanwhile.
    pub on: On,
    /// What it takes from the battery.
    pub draw: Draw,
    /// Energy that reaches the rails.
    pub delivered: Draw,
    /// How the time comes about, with its inputs.
    pub how: How,
    /// Whether the picture is visible only after it.
    pub before_visible: bool,
    /// Whether the panel takes no other update meanwhile.
    pub busy: bool,
}

/// The phases of some work on one device at a battery voltage, on which the efficiency of a switching rail may depend.
pub fn phases(device: &Device, parameters: &ParameterSample, work: &Work, volts: Volts) -> Vec<Phase> {
    Maker::new(device, parameters, volts).phases(work)
}

impl Maker<'_> {
    /// The phases of some work.
    pub fn phases(&mut self, work: &Work) -> Vec<Phase> {
        let (device, parameters) = (self.device, self.parameters);
        let (board, panel) = (&device.board, &device.panel);
        self.on = self.supply.needs(panel.rail);
        let mcu = self.mcu();
        let mut phases = Vec::with_capacity(10);
        let wake = parameters.of(board.mcu.wake);
        phases.push(self.phase("wake", Cause::Wake, wake * work.updates, [Some(mcu), None, None], How::Each(wake)));
        let clock: Hertz = parameters.of(board.mcu.clock);
        let compose = Seconds(work.cycles / clock.0);
        let how = How::Drawn(board.mcu.drawing, work.cycles, clock);
        phases.push(self.phase("render", Cause::Render, compose, [Some(mcu), None, None], how));
        phases.extend(self.switch_on(work));
        // Updates that find the booster on need none of it.
        let cold = work.updates - work.warm;
        phases.push(self.fixed("panel start", Cause::Start, panel.start, cold));
        if let Some(memory) = self.memory(work) {
            let time = self.bus_time(work.memory_bytes);
            let loads = [Some(mcu), Some(memory), None];
            phases.push(self.phase("buffer", Cause::Buffer, time, loads, self.bus_how(work.memory_bytes)));
        }
        let time = self.bus_time(work.panel_bytes);
        phases.push(self.phase(
            "transfer",
            Cause::Transfer,
            time,
            [Some(mcu), None, None],
            self.bus_how(work.panel_bytes),
        ));
        phases.push(self.fixed("booster on", Cause::Booster, panel.booster_on, cold));
        phases.extend(self.drives(work));
        if let Some(hold) = panel.hold {
            let mut held = self.held(hold, work.held);
            (held.before_visible, held.busy) = (false, false);
            phases.push(held);
        }
        let mut down = self.fixed("booster off", Cause::Booster, panel.booster_off, cold);
        // After a time of the booster it ends that, while nothing waits.
        (down.before_visible, down.busy) = (false, panel.hold.is_none());
        phases.push(down);
        phases
    }
}

/// Time from the press to the visible picture.
pub fn latency(phases: &[Phase]) -> Seconds {
    phases.iter().filter(|phase| phase.before_visible).map(|phase| phase.time).sum()
}

/// Time until the panel can take the next update.
pub fn duration(phases: &[Phase]) -> Seconds {
    phases.iter().filter(|phase| phase.busy).map(|phase| phase.time).sum()
}

/// What the phases take from the battery together.
pub fn total(phases: &[Phase]) -> Draw {
    phases.iter().map(|phase| phase.draw).sum()
}

/// Makes phases on one device at one battery voltage.
#[derive(Debug)]
pub struct Maker<'a> {
    device: &'a Device,
    parameters: &'a ParameterSample,
    supply: Rc<Supply<'a>>,
    /// The rails that the next phase needs beside those that are always on.
    on: On,
}

impl<'a> Maker<'a> {
    /// For a device at a battery voltage, on which the efficiency of a switching rail may depend. The panel's rail is
    /// on.
    pub fn new(device: &'a Device, parameters: &'a ParameterSample, volts: Volts) -> Self {
        Self::on(&Supplies::new(device, parameters), volts)
    }

    /// As [`Maker::new`], on one of its device's supplies.
    pub fn on(supplies: &Supplies<'a>, volts: Volts) -> Self {
        let (device, supply) = (supplies.device, supplies.at(volts));
        Self { device, parameters: supplies.parameters, on: supply.needs(device.panel.rail), supply }
    }

    /// The phases in which rails are switched on; those that follow have them.
    pub(super) fn switch_on(&mut self, work: &Work) -> Vec<Phase> {
        let memory = self.device.board.memory.as_ref().filter(|_| work.memory_bytes > 0.0);
        let memory = memory.map_or(On::NONE, |memory| self.supply.needs(memory.rail));
        let of_panel = self.supply.needs(self.device.panel.rail);
        let all = of_panel.and(memory);
        let mut phases = Vec::new();
        for start in self.supply.starting(all) {
            self.on = start.on;
            let drawn = LoadCurrent::current(start.inrush);
            let load = PhaseLoad { who: Drawer::OutputCapacitor, rail: start.rail, drawn };
            let loads = [Some(load), self.device.polls().then(|| self.mcu()), None];
            phases.push(self.phase(
                "rail start-up",
                Cause::Supply,
                start.time * if of_panel.has(start.rail.0) { work.updates - work.warm } else { work.updates },
                loads,
                How::Each(start.time),
            ));
        }
        self.on = all;
        phases
    }

    /// The microcontroller at work.
    fn mcu(&self) -> PhaseLoad {
        let (rail, drawn) = self.device.awake(self.parameters);
        PhaseLoad { who: Drawer::Mcu, rail, drawn }
    }

    /// The external memory at work, where some work uses it.
    fn memory(&self, work: &Work) -> Option<PhaseLoad> {
        let memory = self.device.board.memory.as_ref().filter(|_| work.memory_bytes > 0.0)?;
        let drawn = LoadCurrent::current(self.parameters.of(memory.active) - self.parameters.of(memory.standby));
        Some(PhaseLoad { who: Drawer::Memory, rail: memory.rail, drawn })
    }

    /// The panel at a stated current, beyond its sleep.
    fn panel(&self, stated: Amps) -> PhaseLoad {
        let panel = &self.device.panel;
        let asleep = LoadCurrent::current(-self.parameters.of(panel.sleep));
        PhaseLoad { who: Drawer::Panel, rail: panel.rail, drawn: panel.currents.drawn(stated) + asleep }
    }

    /// The panel at a current, and the microcontroller where it waits awake.
    fn busy(&self, current: Amps) -> Loads {
        [Some(self.panel(current)), self.device.polls().then(|| self.mcu()), None]
    }

    fn bus_time(&self, bytes: f64) -> Seconds {
        let bus = &self.device.board.bus;
        let clock: Hertz = self.parameters.of(bus.clock);
        Seconds(8.0 * bytes / clock.0 * (1.0 + self.parameters.of(bus.overhead).0))
    }

    fn bus_how(&self, bytes: f64) -> How {
        let bus = &self.device.board.bus;
        How::Sent(bytes, self.parameters.of(bus.clock), self.parameters.of(bus.overhead))
    }

    /// The booster kept on: the panel alone, the microcontroller sleeps.
    pub(super) fn held(&self, hold: Hold, time: Seconds) -> Phase {
        let loads = [Some(self.panel(self.parameters.of(hold.current))), None, None];
        self.phase("booster held", Cause::Booster, time, loads, How::Each(hold.time))
    }

    pub(super) fn fixed(&self, name: &'static str, cause: Cause, fixed: Fixed, count: f64) -> Phase {
        let time = self.parameters.of(fixed.time);
        self.phase(name, cause, time * count, self.busy(self.parameters.of(fixed.current)), How::Each(time))
    }

    fn phase(&self, name: &'static str, cause: Cause, time: Seconds, loads: Loads, how: How) -> Phase {
        // Before its rails are switched on the microcontroller works alone.
        let on = if matches!(cause, Cause::Wake | Cause::Render) { On::NONE } else { self.on };
        let draw = Draw::of(self.load_current(&loads, on), time);
        let delivered = loads.iter().flatten().map(|load| self.delivered(load, time)).sum();
        Phase { name, cause, time, loads, on, draw, delivered, how, before_visible: true, busy: true }
    }

    /// What loads take beyond sleep with these rails on.
    pub fn load_current(&self, loads: &Loads, on: On) -> LoadCurrent {
        let (drawn, count) = on_rails(loads);
        self.supply.beyond(on, &drawn[..count])
    }

    /// The whole power tree in a phase.
    pub fn flow(&self, phase: &Phase) -> Rc<Flow> {
        let loads: Vec<_> = phase.loads.iter().flatten().map(|load| (load.rail, load.drawn)).collect();
        self.supply.flow(phase.on, &loads)
    }

    /// What reaches a rail: its voltage times its current; all of the current where it is the battery itself.
    fn delivered(&self, load: &PhaseLoad, time: Seconds) -> Draw {
        match self.supply.voltage(load.rail) {
            None => Draw::of(load.drawn, time),
            Some(output) => Draw { energy: output * load.drawn.at(output) * time, ..Draw::default() },
        }
    }

    /// The current of a load at its rail's voltage.
    pub fn current(&self, load: &PhaseLoad) -> Amps {
        load.drawn.at(self.supply.voltage(load.rail).unwrap_or_else(|| self.device.battery.nominal()))
    }

    /// The drives of both waveforms, one phase for each segment of their tables that was used.
    pub fn drives<'b>(&'b self, work: &'b Work) -> impl Iterator<Item = Phase> + 'b {
        let panel = &self.device.panel;
        let full = work.full.segments().map(|used| ("drive, full", &panel.full, used));
        let partial = panel
            .partial
            .iter()
            .flat_map(|drive| work.partial.segments().map(move |used| ("drive, partial", drive, used)));
        let used = full.chain(partial).filter(|(_, _, (_, moments))| moments.count > 0.0);
        used.map(move |(name, drive, (below, moments))| self.segment(name, drive, (below, moments), self.memory(work)))
    }

    fn segment(
        &self,
        name: &'static str,
        drive: &Drive,
        (below, sum): (usize, &Moments),
        memory: Option<PhaseLoad>,
    ) -> Phase {
        let last = drive.knots.len() - 1;
        let (low, high) = (&drive.knots[below.min(last)], &drive.knots[(below + 1).min(last)]);
        let (t0, t1) = (drive.length(self.parameters, low), drive.length(self.parameters, high));
        let (i0, i1): (Amps, Amps) = (self.parameters.of(low.current), self.parameters.of(high.current));
        let (dt, di) = (t1 - t0, i1 - i0);
        let stretched = t0 * sum.count + dt * sum.share;
        // Sum of (t0 + s dt)(i0 + s di) over all drives, as a mean current over their time.
        let mut charge = t0 * i0 * sum.count + (t0 * di + dt * i0) * sum.share + dt * di * sum.square;
        let (rows, share) = ([low.at, high.at], sum.share / sum.count);
        let Some(stages) = drive.clocked() else {
            let current = if stretched.0 > 0.0 { charge / stretched } else { i0 };
            let how = How::Driven(rows, [t0, t1], [i0, i1], share);
            return self.phase(name, Cause::Drive, stretched, self.busy(current), how);
        };
        // What whole frames add to that, at each drive's own current. The driver counts frames by this device's clock.
        let clocking = stages.clocking(self.parameters, &self.device.board.bus);
        let frame = clocking.frame;
        let (mut time, mut frames) = (stretched, 0.0);
        for (count, share) in sum.clocked.all() {
            let each = clocking.frames(drive.factor(self.parameters, below, share));
            frames += each.all * count;
            time += frame * (each.beyond * count);
            charge += frame * (i0 + di * share) * (each.beyond * count);
        }
        let current = if time.0 > 0.0 { charge / time } else { i0 };
        let how = How::Clocked(rows, [t0, t1], [i0, i1], share, (frames / sum.count, frame));
        // The microcontroller sends every frame, read from the memory where the image is there.
        self.phase(name, Cause::Drive, time, [Some(self.panel(current)), Some(self.mcu()), memory], how)
    }
}

/// Adds what loads take beyond sleep through each of some supplies in which every rail stands alone.
pub fn taken_each(supplies: &[Rc<Supply<'_>>], loads: &Loads, sums: &mut [LoadCurrent]) {
    let (drawn, count) = on_rails(loads);
    Supply::beyond_each(supplies, &drawn[..count], sums);
}

/// Each load's rail and what it draws there, and how many there are.
fn on_rails(loads: &Loads) -> ([(RailId, LoadCurrent); 3], usize) {
    let mut drawn = [(RailId(0), LoadCurrent::default()); 3];
    let mut count = 0;
    for load in loads.iter().flatten() {
        drawn[count] = (load.rail, load.drawn);
        count += 1;
    }
    (drawn, count)
}

/// Energy at the battery by cause, regulator losses apart. The parts add up to the whole.
pub fn by_cause(phases: &[Phase], voltage: Volts) -> (Vec<(Cause, Joules)>, Joules) {
    let mut causes: Vec<(Cause, Joules)> = Vec::new();
    let mut loss = Joules(0.0);
    for phase in phases {
        let (taken, delivered) = (phase.draw.energy_at(voltage), phase.delivered.energy_at(voltage));
        loss += taken - delivered;
        match causes.iter_mut().find(|(cause, _)| *cause == phase.cause) {
            Some((_, sum)) => *sum += delivered,
            None => causes.push((phase.cause, delivered)),
        }
    }
    (causes, loss)
}
