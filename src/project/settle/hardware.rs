//! From the hardware's text to its model: inputs entered, rails found, units and ranges checked.

use crate::frame::{Packing, Rotation};
use crate::hardware::board::{Board, Bus, Charger, Mcu, Memory};
use crate::hardware::core::DrawingTime;
use crate::hardware::display::{Display, KeyPlace, Side};
use crate::hardware::packing::mounted_packing;
use crate::hardware::panel::{Between, Currents, Fixed, Hold, Panel, Resting};
use crate::hardware::rail::{Rail, RailId};
use crate::limits;
use crate::parameters::{Input, Inputs};
use crate::project::device::{DisplaySpec, KeyPlaceSpec, KeySideSpec};
use crate::project::hardware::{BetweenSpec, BoardSpec, BoosterHoldSpec, PanelSpec, PhaseSpec};
use crate::source::amount::{Amount, At, Qty};
use crate::source::fault::{Fault, Table, no_such};
use crate::units::{Amps, Metres, Quantity, Seconds, Volts, figures};
use embedded_graphics::prelude::Size;

/// Pixels that are longer than wide by more than this are remarked on; those of segment-like panels reach 1.2 or so.
const FAR_FROM_SQUARE: f64 = 1.5;

/// Collects inputs and faults while the hardware is settled.
pub struct Bench<'a> {
    /// Every uncertain number so far.
    pub inputs: &'a mut Inputs,
    /// Faults so far.
    pub faults: &'a mut Vec<Fault>,
}

impl Bench<'_> {
    pub(super) fn enter<Q: Quantity>(&mut self, path: &str, amount: &Amount<Q>) -> Input<Q> {
        self.inputs.enter(path, amount.spread, amount.source.clone())
    }

    pub(super) fn fault(&mut self, fault: Fault) {
        self.faults.push(fault);
    }

    /// A rail by name; without a name the only rail.
    pub fn rail(&mut self, rails: &[Rail], name: Option<&At<String>>, who: &str) -> RailId {
        let Some(name) = name else {
            if rails.len() > 1 {
                let names: Vec<_> = rails.iter().map(|rail| rail.name.as_str()).collect();
                let fault = Fault::plain(format!("{who} does not say which rail feeds it"));
                let fault = if who == "panel" { fault.follows(Table::Panel) } else { fault };
                self.fault(fault.help(format!("add rail = \"...\"; the board has {}", names.join(", "))));
            }
            return RailId(0);
        };
        rails.iter().position(|rail| rail.name == name.value).map(RailId).unwrap_or_else(|| {
            let known = rails.iter().map(|rail| rail.name.as_str());
            self.fault(no_such("rail", "rails", (&name.value, &name.span), known));
            RailId(0)
        })
    }

    /// The board.
    pub fn board(&mut self, spec: &BoardSpec) -> Board {
        let rails = self.rails(&spec.rails);
        if rails.is_empty() {
            let fault = Fault::plain("the board has no rail").wants("rails", "main");
            self.fault(fault.help("add [board.rails.main] with its regulator"));
        }
        let mcu = &spec.mcu.value;
        let memory = spec.memory.as_ref().map(|memory| ("the memory", &memory.standby, &memory.active));
        for (what, asleep, awake) in [("the microcontroller", &mcu.sleep, &mcu.active)].into_iter().chain(memory) {
            self.sleeps(what, asleep, awake);
        }
        if let Some(charger) = &spec.charger {
            let (termination, current) = (charger.value.termination_current.spread[1], charger.value.current.spread[1]);
            if termination >= current {
                let message = format!("charging ends at {termination}, and begins with {current}");
                let fault = Fault::at(charger.span.clone(), message);
                self.fault(
                    fault.help("the current at which charging ends is a part of the charging current, often a tenth"),
                );
            }
        }
        let own = mcu.cycles_per_pixel.map(|cycles| DrawingTime::PerPixel(cycles.max(0.0)));
        let drawing = own.or(mcu.core.map(DrawingTime::Exported));
        if drawing.is_none() {
            let fault = Fault::at(spec.mcu.span.clone(), "how long the microcontroller draws is not said");
            self.fault(
                fault.help("write `cycles-per-pixel`, or `core = \"cortex-m0\"` for cycles as measured on that core"),
            );
        }
        if let Some(cycles) = mcu.cycles_per_pixel.filter(|cycles| *cycles <= 0.0) {
            let message = format!("drawing a pixel takes more than 0 cycles, found {cycles}");
            self.fault(Fault::at(spec.mcu.span.clone(), message).help("write cycles-per-pixel = 20, or measure it"));
        }
        let loads = spec.loads.iter().map(|(name, load)| self.load(&rails, name, load)).collect();
        let board = Board {
            mcu: Mcu {
                rail: self.rail(&rails, mcu.rail.as_ref(), "board.mcu"),
                ram: mcu.ram.value.0,
                flash: mcu.flash.value.0,
                clock: self.enter("board.mcu.clock", &mcu.clock),
                active: self.enter("board.mcu.active", &mcu.active),
                sleep: self.enter("board.mcu.sleep", &mcu.sleep.value),
                wake: self.enter("board.mcu.wake", &mcu.wake),
                key_time: mcu.key_time.as_ref().map(|time| self.enter("board.mcu.key-time", time)),
                sample_time: mcu.sample_time.as_ref().map(|time| self.enter("board.mcu.sample-time", time)),
                drawing: drawing.unwrap_or(DrawingTime::PerPixel(0.0)),
                during_refresh: mcu.during_refresh,
                supply: self.window(mcu.supply.as_ref()),
            },
            bus: Bus {
                clock: self.enter("board.bus.clock", &spec.bus.clock),
                overhead: self.enter("board.bus.overhead", &spec.bus.overhead),
            },
            memory: spec.memory.as_ref().map(|memory| Memory {
                rail: self.rail(&rails, memory.rail.as_ref(), "board.memory"),
                size: memory.size.0,
                active: self.enter("board.memory.active", &memory.active),
                standby: self.enter("board.memory.standby", &memory.standby.value),
                supply: self.window(memory.supply.as_ref()),
            }),
            loads,
            charger: spec.charger.as_ref().map(|charger| Charger {
                current: self.enter("board.charger.current", &charger.value.current),
                termination: self.enter("board.charger.termination-current", &charger.value.termination_current),
                temperature: charger.value.temperature.0,
            }),
            rails,
        };
        self.stays_on(spec, &board);
        board
    }

    /// What sleeps takes no more than what works.
    fn sleeps(&mut self, what: &str, asleep: &At<Amount<Amps>>, awake: &Amount<Amps>) {
        let (sleep, work) = (asleep.value.spread[1], awake.spread[1]);
        if sleep > work {
            let message = format!("{what} takes {sleep} in sleep and {work} at work");
            let fault = Fault::at(asleep.span.clone(), message);
            self.fault(fault.help("expected less in sleep than at work; sleep is often in uA, work in mA"));
        }
    }

    fn max_windows(&mut self, spec: &PanelSpec, board: &Board) -> usize {
        let (stated, most) = (spec.max_windows.value as usize, crate::refresh::windows::MOST_WINDOWS);
        if !(1..=most).contains(&stated) {
            let fault =
                Fault::at(spec.max_windows.span.clone(), format!("a panel is not driven by {stated} windows here"));
            self.fault(fault.help(format!("expected 1 to {most} windows for one update")));
        } else if stated > 1 && board.mcu.drawing.is_exported() {
            let message =
                format!("the exported machine, whose drawing `core` prices, sends one window an update, not {stated}");
            let fault = Fault::at(spec.max_windows.span.clone(), message);
            self.fault(
                fault.help("write max-windows = 1, or cycles-per-pixel in [board.mcu] for drawing code of your own"),
            );
        }
        stated.clamp(1, most)
    }

    pub(super) fn fixed(&mut self, path: &str, spec: &PhaseSpec) -> Fixed {
        Fixed {
            time: self.enter(&format!("{path}.time"), &spec.time),
            current: self.enter(&format!("{path}.current"), &spec.current),
        }
    }

    /// How the panel rests between updates.
    fn between(&mut self, spec: &PanelSpec) -> (Resting, Between) {
        let current = self.enter("panel.sleep", &spec.sleep.value);
        let asleep = Resting { current, start: self.fixed("panel.start", &spec.start) };
        let off = spec.power_off.as_ref().map(|off| Resting {
            current: self.enter("panel.power-off.leakage", &off.leakage),
            start: self.fixed("panel.power-off.start", &off.start),
        });
        match (spec.between_updates.value, off) {
            (BetweenSpec::DeepSleep, None) => (asleep, Between::Sleeps),
            (BetweenSpec::DeepSleep, Some(off)) => (asleep, Between::CouldBeOff(off)),
            (BetweenSpec::PowerOff, Some(off)) => (off, Between::Off(asleep)),
            (BetweenSpec::PowerOff, None) => {
                let message = "nothing is said of what switching the panel off costs";
                let fault = Fault::at(spec.between_updates.span.clone(), message);
                self.fault(fault.help(
                    "add power-off = { leakage = \"50 nA\", start = { time = \"...\", current = \"...\" } } to [panel]",
                ));
                (asleep, Between::Sleeps)
            }
        }
    }

    /// The booster kept on after an update.
    fn hold(&mut self, spec: &At<BoosterHoldSpec>) -> Hold {
        let time = spec.value.time.0.to_milliseconds();
        if time <= Seconds(0.0) {
            let fault = Fault::at(spec.span.clone(), "a booster that is kept on for no time is not kept on");
            self.fault(fault.help("write for how long, such as time = \"5 s\", or delete `hold`"));
        }
        Hold { time, current: self.enter("panel.hold.current", &spec.value.current) }
    }

    /// What stated currents of the working panel stand for.
    fn currents(&mut self, at: Option<&At<Qty<Volts>>>) -> Currents {
        match at {
            None => Currents::AsTheyAre,
            Some(at) => {
                if at.value.0 <= Volts(0.0) {
                    let fault = Fault::at(at.span.clone(), "no current is stated at no voltage");
                    self.fault(fault.help("write the supply voltage of the data sheet's table, such as \"3.0 V\""));
                }
                Currents::At(at.value.0)
            }
        }
    }

    /// The packing as the project states it; a stride of 0 stands for lines without a gap, as on the command line.
    fn own_packing(&mut self, spec: &PanelSpec) -> Packing {
        let mut packing = spec.packing.value.clone();
        packing.stride = packing.stride.filter(|stride| *stride > 0);
        let wrong =
            |why: String| Fault::at(spec.packing.span.clone(), format!("this packing does not suit the panel: {why}"));
        if let Some(stride) = packing.stride.filter(|stride| *stride > limits::STRIDE) {
            self.fault(wrong(format!("its lines are {stride} bytes apart, at most {} are taken", limits::STRIDE)));
            packing.stride = None;
        } else if let Err(why) = packing.size(spec.pixels.value[0].max(1), spec.pixels.value[1].max(1)) {
            self.fault(wrong(why.to_string()));
        }
        packing
    }

    /// Pixels of panels are nearly square: what is not has its sides exchanged, most likely.
    fn square(&mut self, spec: &PanelSpec, [along, down]: [Metres; 2]) {
        let ratio = (along / down).max(down / along);
        if ratio > FAR_FROM_SQUARE && ratio.is_finite() {
            let [width, height] = spec.pixels.value.0;
            let message = format!("the panel's pixels are {} times as long as wide", figures(ratio));
            let fault = Fault::at(spec.active.span.clone(), message).lint("pixel-shape");
            self.fault(
                fault
                    .label(format!(
                        "{width} x {height} pixels on {} x {}",
                        spec.active.value[0].0, spec.active.value[1].0
                    ))
                    .help("write `pixels` and `active` in the same order: along the controller's lines first"),
            );
        }
    }

    /// The panel.
    pub fn panel(&mut self, spec: &PanelSpec, board: &Board) -> Option<Panel> {
        let [width, height] = spec.pixels.value.0;
        if width == 0 || height == 0 || width > limits::PANEL_SIDE || height > limits::PANEL_SIDE {
            let fault = Fault::at(spec.pixels.span.clone(), "a panel of this size cannot be built here");
            self.fault(fault.help(format!("expected 1 to {} pixels along each side", limits::PANEL_SIDE)));
        }
        let [width, height] = [width, height].map(|side| side.clamp(1, limits::PANEL_SIDE));
        let mounted = match spec.mounted.value {
            0 => Rotation::None,
            90 => Rotation::Quarter,
            180 => Rotation::Half,
            270 => Rotation::ThreeQuarter,
            other => {
                let fault =
                    Fault::at(spec.mounted.span.clone(), format!("a panel cannot be mounted at {other} degrees"));
                self.fault(fault.upsets(Table::Panel).help("expected 0, 90, 180 or 270"));
                Rotation::None
            }
        };
        let [along, down] = spec.active.value.map(|length| length.0);
        let (along, down) = (along / f64::from(width), down / f64::from(height));
        let upright = matches!(mounted, Rotation::None | Rotation::Half);
        if !(along.0 > 0.0 && down.0 > 0.0) {
            self.fault(Fault::at(spec.pixels.span.clone(), "the panel's active area must be larger than 0 mm"));
        }
        let packing = mounted_packing(&self.own_packing(spec), mounted, spec.mirrored);
        self.square(spec, [along, down]);
        let drives = [Some(&spec.full), spec.partial.as_ref()].into_iter().flatten();
        let rows = drives.filter_map(|drive| drive.value.drive.as_ref()).flat_map(|rows| &rows.value);
        let rows = rows.map(|row| &row.current);
        let stretch = spec.clocked.iter().flat_map(|clocked| &clocked.value.stretch.value).map(|row| &row.current);
        for current in rows.chain(stretch) {
            self.sleeps("the panel", &spec.sleep, current);
        }
        if let Some(rated) = spec.rated_refreshes.as_ref().filter(|rated| rated.value == 0) {
            let fault = Fault::at(rated.span.clone(), "a panel that is rated for no refresh shows nothing");
            self.fault(fault.help("write the number of its maker, or leave it out"));
        }
        if let Some(residue) = spec.residue.as_ref().filter(|_| spec.partial.is_none()) {
            let fault = Fault::at(residue.span.clone(), "a panel without a partial waveform leaves no residue");
            self.fault(fault.help("state [panel.partial], or leave `residue` out"));
        }
        let clocked = spec.clocked.as_ref().map(|clocked| self.clocked(clocked, [width, height]));
        let partial = spec.partial.as_ref();
        let (rest, between) = self.between(spec);
        Some(Panel {
            note: spec.note.clone(),
            native: Size::new(width, height),
            mounted,
            mirrored: spec.mirrored,
            packing,
            pitch: if upright { [along, down] } else { [down, along] },
            rail: self.rail(&board.rails, spec.rail.as_ref(), "panel"),
            supply: self.window(spec.supply.as_ref()),
            sleep: rest.current,
            between,
            start: rest.start,
            booster_on: self.fixed("panel.booster-on", &spec.booster_on),
            booster_off: self.fixed("panel.booster-off", &spec.booster_off),
            hold: spec.hold.as_ref().map(|hold| self.hold(hold)),
            max_windows: self.max_windows(spec, board),
            window_bytes: spec.window_bytes,
            currents: self.currents(spec.currents_at.as_ref()),
            full: self.drive("panel.full", &spec.full, clocked.as_ref()),
            partial: partial.map(|partial| self.drive("panel.partial", partial, clocked.as_ref())),
            rated_refreshes: spec.rated_refreshes.as_ref().map(|rated| rated.value),
            residue: spec.residue.as_ref().map(|residue| self.enter("panel.residue", &residue.value)),
        })
    }

    /// How the panel sits in the instrument; key centres become pixels.
    pub fn display(&mut self, spec: &DisplaySpec, panel: &Panel) -> Display {
        if spec.keys.len() > limits::KEYS {
            self.fault(Fault::plain(format!("a device may have at most {} soft keys", limits::KEYS)));
        }
        let keys = spec.keys.iter().take(limits::KEYS).map(|key| self.key(key, spec.keys_at, panel)).collect();
        let distance = &spec.viewing_distance;
        if distance.value.0 <= Metres(0.0) {
            let fault = Fault::at(distance.span.clone(), "the eye is at some distance from the display");
            self.fault(fault.help("write how far it is, such as \"40 cm\""));
        }
        Display { viewing_distance: distance.value.0, side: spec.keys_at, keys }
    }

    /// A key in its place.
    fn key(&mut self, spec: &At<KeyPlaceSpec>, usual: Side, panel: &Panel) -> KeyPlace {
        let key = &spec.value;
        let name = key.name.clone();
        let nowhere =
            |name| KeyPlace { name, side: None, centre: Metres(0.0), width: Metres(0.0), centre_px: 0, width_px: 1 };
        let side = match key.at {
            None => usual,
            Some(KeySideSpec::Bottom) => Side::Bottom,
            Some(KeySideSpec::Top) => Side::Top,
            Some(KeySideSpec::Left) => Side::Left,
            Some(KeySideSpec::Right) => Side::Right,
            Some(KeySideSpec::None) => {
                if let Some(centre) = &key.centre {
                    let fault =
                        Fault::at(centre.span.clone(), "a key at no side of the display has no centre along it");
                    self.fault(fault.help("delete it, or name the side: at = \"left\""));
                }
                return nowhere(name);
            }
        };
        let (Some(centre), Some(width)) = (&key.centre, &key.width) else {
            let fault = Fault::at(spec.span.clone(), "a key beside the display has a `centre` and a `width`");
            self.fault(
                fault.help("write { centre = \"10 mm\", width = \"8 mm\" }, or at = \"none\" for a key elsewhere"),
            );
            return nowhere(name);
        };
        let size = panel.size();
        let (pitch, length) =
            if side.is_level() { (panel.pitch[0], size.width) } else { (panel.pitch[1], size.height) };
        let centre_px = (centre.value.0 / pitch).floor();
        if !(0.0..f64::from(length)).contains(&centre_px) {
            let length = pitch * f64::from(length);
            self.faults.push(
                Fault::at(centre.span.clone(), "this key's centre is not beside the active area")
                    .follows(Table::Panel)
                    .help(format!("the active area is {length} long along the keys")),
            );
        }
        let width_px = (width.value.0 / pitch).round().clamp(1.0, f64::from(length)) as u32;
        let (centre, width) = (centre.value.0, width.value.0);
        KeyPlace { name, side: Some(side), centre, width, centre_px: centre_px as i32, width_px }
    }
}
