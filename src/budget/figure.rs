//! The table of figures: name, unit, place in the JSON, how to read it from a budget. Text, JSON, comparison, sweep,
//! explanations and report read figures here; adding one is a line.
//!
//! Not here: what a budget has many of (each screen, each transition, each cause), which its lists hold.

use super::summary::Budget;
use crate::behaviour::policy::Buffer;
use crate::device::Device;
use crate::units::column::Scale;
use crate::units::{
    Amps, Bytes, Coulombs, DAY, Joules, Quantity, Ratio, Seconds, ValueFault, Volts, Watts, YEAR, figures as digits,
    grouped, plain_time,
};

/// What a figure counts, which decides how it is written and read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unit {
    /// A life, in days.
    Days,
    /// A time of an update, in seconds.
    Seconds,
    /// A long time, in seconds.
    Span,
    /// Joules.
    Joules,
    /// Watts.
    Watts,
    /// Amperes.
    Amps,
    /// A charge, in coulombs, written in mAh.
    Coulombs,
    /// Volts.
    Volts,
    /// Storage.
    Bytes,
    /// A share, in percent.
    Percent,
    /// A number without a unit.
    Count,
}

impl Unit {
    /// The unit of the number; empty for counts.
    pub fn symbol(self) -> &'static str {
        match self {
            Self::Days => "d",
            Self::Seconds | Self::Span => "s",
            Self::Joules => "J",
            Self::Watts => "W",
            Self::Amps => "A",
            Self::Coulombs => "C",
            Self::Volts => "V",
            Self::Bytes => "B",
            Self::Percent => "%",
            Self::Count => "",
        }
    }

    /// A value as a person reads it.
    pub fn show(self, value: f64) -> String {
        match self {
            Self::Days => plain_time(DAY * value),
            Self::Seconds => Seconds(value).to_string(),
            Self::Span => plain_time(Seconds(value)),
            Self::Joules => Joules(value).to_string(),
            Self::Watts => Watts(value).to_string(),
            Self::Amps => Amps(value).to_string(),
            Self::Coulombs => format!("{} mAh", digits(value / 3.6)),
            Self::Volts => Volts(value).to_string(),
            Self::Bytes => grouped(&digits(value)) + " B",
            Self::Percent => digits(value) + " %",
            Self::Count => grouped(&digits(value)),
        }
    }

    /// The unit for values that stand together, and what one of the figure's own unit is in SI.
    pub fn scale(self, values: impl IntoIterator<Item = f64>) -> UnitScale {
        let (si, own) = match self {
            Self::Days => ("s", DAY.0),
            Self::Seconds | Self::Span => ("s", 1.0),
            _ => (self.symbol(), 1.0),
        };
        UnitScale { own, scale: Scale::of(values.into_iter().map(|value| value * own), si), unit: self }
    }

    /// Reads a value: a quantity with its unit, or a number in [`Unit::symbol`].
    ///
    /// # Errors
    /// A sentence that says what was expected.
    pub fn parse(self, text: &str) -> Result<f64, ValueFault> {
        if let Ok(number) = text.trim().parse::<f64>() {
            return if number.is_finite() { Ok(number) } else { Err(ValueFault("the value must be finite".into())) };
        }
        match self {
            Self::Days => Seconds::parse(text).map(|time| time / DAY),
            Self::Seconds | Self::Span => Seconds::parse(text).map(f64::from),
            Self::Joules => Joules::parse(text).map(f64::from),
            Self::Watts => Watts::parse(text).map(f64::from),
            Self::Amps => Amps::parse(text).map(f64::from),
            Self::Coulombs => Coulombs::parse(text).map(f64::from),
            Self::Volts => Volts::parse(text).map(f64::from),
            Self::Bytes => Bytes::parse(text).map(f64::from),
            Self::Percent => Ratio::parse(text).map(|share| share.0 * 100.0),
            Self::Count => Err(ValueFault(format!("expected a number; {text:?} is none"))),
        }
    }
}

/// How values of one figure are shown together: in one unit, with as many decimals each.
#[derive(Clone, Debug)]
pub struct UnitScale {
    own: f64,
    scale: Scale,
    unit: Unit,
}

impl UnitScale {
    /// A value with the unit; a count as if alone.
    pub fn show(&self, value: f64) -> String {
        if self.unit == Unit::Count { self.unit.show(value) } else { self.scale.show(value * self.own) }
    }

    /// A value as a number in [`UnitScale::symbol`].
    pub fn number(&self, value: f64) -> f64 {
        self.scale.number(value * self.own)
    }

    /// The unit's symbol; empty for counts.
    pub fn symbol(&self) -> &str {
        self.scale.unit()
    }
}

/// Which direction is the better one.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Better {
    /// Less is better.
    Less,
    /// More is better.
    More,
    /// Neither.
    Neither,
}

/// The group of a figure in tables.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Group {
    /// The panel and its frame.
    Hardware,
    /// RAM, external memory, flash.
    Memory,
    /// What a person waits for.
    Latency,
    /// Refreshes of a day.
    Refreshes,
    /// Presses and journeys of a day.
    Use,
    /// Energy, power, current.
    Energy,
    /// Battery, supply and life.
    Life,
}

impl Group {
    /// Its heading.
    pub fn name(self) -> &'static str {
        match self {
            Self::Hardware => "hardware",
            Self::Memory => "memory",
            Self::Latency => "latency",
            Self::Refreshes => "refreshes",
            Self::Use => "use",
            Self::Energy => "energy",
            Self::Life => "life",
        }
    }
}

/// All that is known of a figure.
#[derive(Clone, Copy)]
pub struct FigureSpec {
    /// Its name as an argument, with its unit: `life-days`.
    pub name: &'static str,
    /// Its place in the budget's JSON; empty where that has it only as part of a list.
    pub pointer: &'static str,
    /// Its group in tables.
    pub group: Group,
    /// Its name in tables.
    pub title: &'static str,
    /// How it is written.
    pub unit: Unit,
    /// Which direction is the better one.
    pub better: Better,
    read: fn(&Device, &Budget) -> Option<f64>,
}

macro_rules! figures {
    ($($id:ident: $name:literal, $pointer:literal, $group:ident, $title:literal, $unit:ident, $better:ident, $read:expr;)*) => {
        /// A figure of the budget.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
        pub enum Figure {
            $(#[doc = $title] $id,)*
        }

        impl Figure {
            /// Every figure, in the order of tables.
            pub const ALL: &[Self] = &[$(Self::$id),*];

            /// All that is known of it.
            pub fn row(self) -> FigureSpec {
                match self {
                    $(Self::$id => FigureSpec {
                        name: $name, pointer: $pointer, group: Group::$group, title: $title, unit: Unit::$unit,
                        better: Better::$better, read: $read,
                    },)*
                }
            }
        }
    };
}

figures! {
    FrameBytes: "frame-bytes", "/panel/frame_bytes", Hardware, "one frame", Bytes, Less, |d, _| Some(d.panel.plane_bytes() as f64);
    Ram: "ram-bytes", "", Memory, "RAM of the buffer", Bytes, Less, |d, b| chosen(d, b).map(|scheme| scheme.ram.0);
    Sram: "sram-bytes", "", Memory, "external memory", Bytes, Less, |d, b| chosen(d, b).map(|scheme| scheme.memory.0);
    FlashImages: "flash-images-bytes", "/memory/flash_bytes/images", Memory, "flash, images", Bytes, Less, |d, _| Some(d.stock.images as f64);
    FlashFonts: "flash-fonts-bytes", "/memory/flash_bytes/fonts", Memory, "flash, glyphs", Bytes, Less, |d, _| Some(d.stock.fonts as f64);
    FlashStrings: "flash-strings-bytes", "/memory/flash_bytes/strings", Memory, "flash, strings", Bytes, Less, |d, _| Some(d.stock.strings as f64);
    Flash: "flash-bytes", "/memory/flash_bytes/total", Memory, "flash, total", Bytes, Less, |d, _| Some(d.stock.total() as f64);
    LiveFlash: "c-live-flash-bytes", "/memory/c_live/flash_bytes", Memory, "c-live: flash, total, on Cortex-M0", Bytes, Less, |d, b| b.live(d).map(|live| live.flash() as f64);
    LiveOperations: "c-live-operations-bytes", "/memory/c_live/operations_bytes", Memory, "c-live: operations", Bytes, Less, |d, b| b.live(d).map(|live| live.operations as f64);
    LiveTexts: "c-live-texts-bytes", "/memory/c_live/texts_bytes", Memory, "c-live: texts", Bytes, Less, |d, b| b.live(d).map(|live| live.texts as f64);
    LivePictures: "c-live-bitmaps-bytes", "/memory/c_live/bitmaps_bytes", Memory, "c-live: fonts and bitmaps", Bytes, Less, |d, b| b.live(d).map(|live| live.pictures as f64);
    LiveFlow: "c-live-flow-bytes", "/memory/c_live/flow_bytes", Memory, "c-live: flow", Bytes, Less, |d, b| b.live(d).map(|live| live.flow as f64);
    LiveRules: "c-live-rules-bytes", "/memory/c_live/rules_bytes", Memory, "c-live: rules", Bytes, Less, |d, b| b.live(d).map(|live| live.rules as f64);
    LiveMachine: "c-live-machine-bytes", "/memory/c_live/machine_bytes", Memory, "c-live: machine on Cortex-M0", Bytes, Less, |d, b| b.live(d).map(|live| live.machine as f64);
    LiveCode: "c-live-code-bytes", "/memory/c_live/code_bytes", Memory, "c-live: interpreter on Cortex-M0", Bytes, Less, |d, b| b.live(d).map(|live| live.code as f64);
    LiveRam: "c-live-ram-bytes", "/memory/c_live/ram_bytes", Memory, "c-live: RAM, without strip and stack", Bytes, Less, |d, b| b.live(d).map(|live| live.ram() as f64);
    LiveHistory: "c-live-history-ram-bytes", "/memory/c_live/history_ram_bytes", Memory, "c-live: RAM for histories", Bytes, Less, |d, b| b.live(d).map(|live| live.past as f64);
    LiveValues: "c-live-values-ram-bytes", "/memory/c_live/values_ram_bytes", Memory, "c-live: RAM for values", Bytes, Less, |d, b| b.live(d).map(|live| live.values as f64);
    FullLatency: "full-latency-s", "", Latency, "longest full refresh", Seconds, Less, |_, b| most(b.screens.iter().map(|screen| screen.latency.0));
    Latency: "latency-s", "", Latency, "slowest transition", Seconds, Less, |_, b| most(b.transitions.iter().map(|way| way.change.latency.0));
    LatencyMedian: "latency-p50-s", "/per_day/latency_s/p50", Latency, "key-to-display latency, median", Seconds, Less, |_, b| b.counts.latency(0.5).map(f64::from);
    LatencyP95: "latency-p95-s", "/per_day/latency_s/p95", Latency, "key-to-display latency, p95", Seconds, Less, |_, b| b.counts.latency(0.95).map(f64::from);
    Refreshes: "refreshes-per-day", "", Refreshes, "refreshes a day", Count, Less, |_, b| a_day(b, b.counts.full + b.counts.partial);
    Full: "full-per-day", "/per_day/full", Refreshes, "full refreshes a day", Count, Less, |_, b| a_day(b, b.counts.full);
    IdleFull: "periodic-full-per-day", "/per_day/full_periodic", Refreshes, "periodic full refreshes of an unchanged frame", Count, Less, |_, b| a_day(b, b.counts.idle_full);
    FlashesSeen: "flashes-seen-per-day", "/per_day/flashes_seen", Refreshes, "full refreshes seen by the user", Count, Less, |_, b| a_day(b, b.counts.flashes_seen);
    Residue: "ghosting-residue", "", Refreshes, "worst ghosting residue, share of the contrast (an assumption unless measured)", Percent, Less, |d, b| super::residue::worst(d, &b.counts).map(|ghost| ghost.share.0 * 100.0);
    ResidueTime: "ghosting-residue-s", "", Refreshes, "how long the worst ghosting residue stays (an assumption unless measured)", Span, Less, |d, b| super::residue::worst(d, &b.counts).map(|ghost| ghost.worst.lasted.0);
    Partial: "partial-per-day", "/per_day/partial", Refreshes, "partial refreshes a day", Count, Neither, |_, b| a_day(b, b.counts.partial);
    Windows: "windows-per-day", "/per_day/windows", Refreshes, "windows sent a day", Count, Less, |_, b| a_day(b, b.counts.windows);
    ChangedPixels: "changed-px-per-day", "/per_day/changed_px", Refreshes, "pixels changed a day", Count, Neither, |_, b| a_day(b, b.counts.changed_pixels);
    Blocked: "blocked-per-day", "/per_day/blocked", Refreshes, "updates blocked: outside the waveform table", Count, Less, |_, b| a_day(b, b.counts.refused);
    Presses: "presses-per-day", "/per_day/presses", Use, "presses a day", Count, Neither, |_, b| a_day(b, b.counts.presses);
    Dropped: "dropped-presses-per-day", "/per_day/dropped_presses", Use, "presses dropped during refresh", Count, Less, |_, b| a_day(b, b.counts.lost_presses);
    Unassigned: "unassigned-presses-per-day", "/per_day/unassigned_presses", Use, "presses of an unassigned key", Count, Less, |_, b| a_day(b, b.counts.idle_presses);
    Journeys: "journeys-per-day", "/per_day/journeys", Use, "journeys made a day", Count, Neither, |_, b| a_day(b, b.counts.journeys.iter().map(|journeys| journeys.made).sum());
    Derailed: "derailed-journeys-per-day", "/per_day/derailed_journeys", Use, "journeys stopped early", Count, Less, |_, b| a_day(b, b.counts.derailed());
    SimulatedDays: "simulated-days", "/per_day/simulated_days", Use, "days simulated", Count, Neither, |_, b| Some(b.counts.days);
    FullEnergy: "full-refresh-j", "", Energy, "full refresh, the most expensive", Joules, Less, |_, b| most(b.screens.iter().map(|screen| screen.energy.0));
    UpdateEnergy: "update-energy-j", "", Energy, "most expensive transition", Joules, Less, |_, b| most(b.transitions.iter().map(|way| way.change.energy.0));
    RefreshEnergy: "refresh-energy-per-day-j", "", Energy, "refreshes, a day", Joules, Less, |_, b| Some(b.refreshes_per_day().0);
    PolicyEnergy: "policy-energy-per-day-j", "/policy/yours_energy_j", Energy, "panel updates under your policy, a day", Joules, Less, |_, b| Some(b.policy[0].0);
    MinimumEnergy: "minimum-energy-per-day-j", "/policy/minimum_energy_j", Energy, "minimum-energy schedule, a day", Joules, Less, |_, b| Some(b.policy[1].0);
    Energy: "energy-per-day-j", "/per_day/energy_j", Energy, "energy a day", Joules, Less, |_, b| Some(b.energy_per_day().0);
    MeanPower: "mean-power-w", "/per_day/mean_power_w", Energy, "mean power", Watts, Less, |_, b| Some(f64::from(b.energy_per_day() / DAY));
    MeanCurrent: "mean-current-a", "/per_day/mean_current_a", Energy, "mean current", Amps, Less, |_, b| Some(b.energy_per_day().0 / b.voltage.0 / DAY.0);
    Charge: "charge-per-day-c", "/per_day/charge_per_day_c", Energy, "charge a day", Coulombs, Less, |_, b| Some(b.energy_per_day().0 / b.voltage.0);
    Usable: "usable-charge-c", "/battery/usable_c", Life, "usable charge, new", Coulombs, More, |_, b| b.usable.as_ref().ok().map(|charge| charge.0);
    LifeP10: "life-p10-days", "/life/days/p10", Life, "battery life, P10", Days, More, |_, b| b.life.as_ref().ok().map(|life| life.p10.time / DAY);
    Life: "life-days", "/life/days/p50", Life, "battery life, median (P50)", Days, More, |_, b| b.life.as_ref().ok().map(|life| life.p50.time / DAY);
    LifeP90: "life-p90-days", "/life/days/p90", Life, "battery life, P90", Days, More, |_, b| b.life.as_ref().ok().map(|life| life.p90.time / DAY);
    Devices: "devices", "/life/devices", Life, "random devices", Count, Neither, |_, b| b.life.as_ref().ok().map(|_| f64::from(b.ended_by_voltage().1));
    VoltageEnded: "limited-by-voltage", "/life/limited_by_voltage", Life, "devices limited by voltage", Count, Less, |_, b| b.life.as_ref().ok().map(|_| f64::from(b.ended_by_voltage().0));
    SupplyVoltage: "supply-voltage-v", "/battery/v_min_under_peak", Life, "lowest supply voltage under peak load", Volts, More, |_, b| b.worst_voltage().map(f64::from);
    NeededVoltage: "needed-voltage-v", "/battery/v_needed", Life, "supply voltage needed", Volts, Less, |_, b| b.supply_corners.as_ref().ok().map(|supply_corners| supply_corners.needed.0);
    ChargeTime: "charge-time-s", "/battery/charge_time_s", Life, "charge time from the reserve", Span, Less, |_, b| b.charge_time.map(f64::from);
    FullCycles: "full-cycles-per-year", "/use/charges/full_cycles_per_year", Life, "full cycles of the battery a year", Count, Less, |_, b| b.counts.charges.map(|charges| charges.cycles() / b.counts.days * YEAR_DAYS);
    CycleLife: "cycle-life-days", "/use/charges/cycle_life_days", Life, "cycle life of the battery, spread evenly", Days, More, |d, b| super::life::cycle_life(d, &b.counts).map(|time| time / DAY);
    RatedRefreshes: "rated-refreshes-days", "/use/rated_refreshes_last_days", Life, "the panel's rated refreshes last", Days, More, |d, b| super::usage::rated(d, &b.counts).map(|(_, time)| time / DAY);
    LastScreen: "last-screen-j", "/battery/last_screen_j", Life, "reserve for the last screen", Joules, Less, |_, b| Some(b.last_screen.0);
}

/// Days of a year.
const YEAR_DAYS: f64 = YEAR / DAY.0;

fn chosen<'b>(device: &Device, budget: &'b Budget) -> Option<&'b super::memory::Scheme> {
    budget.schemes.iter().find(|scheme| scheme.buffer == device.policy.buffer)
}

fn most(values: impl Iterator<Item = f64>) -> Option<f64> {
    values.reduce(f64::max)
}

/// Whether something is so rare that a number a day says more than a short simulation can know.
pub fn rare(a_day: f64, days: f64) -> bool {
    a_day > 0.0 && a_day < 1.0 && days < 100.0
}

fn a_day(budget: &Budget, count: u64) -> Option<f64> {
    Some(budget.counts.per_day(count))
}

impl Figure {
    /// Its value in the unit of its row; `None` where the budget has none, as for the voltage of a battery that browns
    /// out.
    pub fn value(self, device: &Device, budget: &Budget) -> Option<f64> {
        (self.row().read)(device, budget)
    }

    /// Whether it is a count a day of which the simulation saw only a few.
    pub fn is_rare(self, value: f64, budget: &Budget) -> bool {
        let row = self.row();
        row.unit == Unit::Count && matches!(row.group, Group::Refreshes | Group::Use) && rare(value, budget.counts.days)
    }

    /// Its value as a person reads it; of what is rare, how often it was in the days that were simulated.
    pub fn text(self, device: &Device, budget: &Budget) -> String {
        let (row, days) = (self.row(), budget.counts.days);
        match self.value(device, budget) {
            None => "none".to_owned(),
            Some(rate) if self.is_rare(rate, budget) => format!("{} in {} days", (rate * days).round(), digits(days)),
            Some(value) => row.unit.show(value),
        }
    }

    /// A count a day, within a sentence: `16.1 a day`, of what is rare `1 in 7 days`.
    pub fn a_day(self, device: &Device, budget: &Budget) -> String {
        let text = self.text(device, budget);
        match self.value(device, budget) {
            Some(rate) if self.is_rare(rate, budget) => text,
            _ => format!("{text} a day"),
        }
    }

    /// Its name in CSV and JSON: `life_days`.
    pub fn key(self) -> String {
        self.row().name.replace('-', "_")
    }

    /// The limit that a project sets for it.
    pub fn limit(self, device: &Device) -> Option<f64> {
        let limits = &device.limits;
        match self {
            Self::Life => limits.life.as_ref().map(|limit| limit.value / DAY),
            Self::UpdateEnergy => limits.update_energy.as_ref().map(|limit| limit.value.0),
            Self::Latency => limits.latency.as_ref().map(|limit| limit.value.0),
            Self::Refreshes => limits.refreshes_per_day.as_ref().map(|limit| limit.value),
            Self::Ram => limits.ram.as_ref().map(|limit| limit.value.0),
            Self::Flash => limits.flash.as_ref().map(|limit| limit.value.0),
            _ => None,
        }
    }
}

#[cfg(feature = "cli")]
impl clap::ValueEnum for Figure {
    fn value_variants<'a>() -> &'a [Self] {
        Self::ALL
    }

    fn to_possible_value(&self) -> Option<clap::builder::PossibleValue> {
        let row = self.row();
        Some(clap::builder::PossibleValue::new(row.name).help(row.title))
    }
}

/// The name of the way in which the image is buffered.
pub fn buffer_name(device: &Device, budget: &Budget) -> String {
    let found = chosen(device, budget).map(|scheme| scheme.name.clone());
    found.unwrap_or_else(|| {
        if device.policy.buffer == Buffer::External { "no external memory" } else { "unknown" }.to_owned()
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    #[test]
    fn names_places_and_titles_are_unique() {
        let rows: Vec<FigureSpec> = Figure::ALL.iter().map(|figure| figure.row()).collect();
        let names: BTreeSet<&str> = rows.iter().map(|row| row.name).collect();
        let titles: BTreeSet<&str> = rows.iter().map(|row| row.title).collect();
        let places: Vec<&str> = rows.iter().map(|row| row.pointer).filter(|place| !place.is_empty()).collect();
        assert_eq!(names.len(), rows.len());
        assert_eq!(titles.len(), rows.len());
        assert_eq!(places.iter().collect::<BTreeSet<_>>().len(), places.len());
        assert!(rows.iter().all(|row| row.pointer.is_empty() || row.pointer.starts_with('/')));
    }

    #[test]
    fn values_are_read_as_they_are_written() {
        assert_eq!(Unit::Days.parse("90 d"), Ok(90.0));
        assert_eq!(Unit::Days.parse("90"), Ok(90.0));
        assert_eq!(Unit::Coulombs.parse("1 mAh"), Ok(3.6));
        assert_eq!(Unit::Coulombs.show(3.6), "1 mAh");
        assert_eq!((Unit::Percent.parse("15 %"), Unit::Percent.show(15.0)), (Ok(15.0), "15 %".to_owned()));
        assert!(Unit::Seconds.parse("2 mAh").is_err() && Unit::Count.parse("two").is_err());
    }
}
