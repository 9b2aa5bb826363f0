//! The table of figures: name, unit, place in the JSON, how to read it from a budget. Text, JSON, comparison, sweep,
//! explanations and report read figures here; adding one is a line.
//!
//! Not here: what a budget has many of (each screen, each transition, each cause), which its lists hold.

pub mod limit;
pub mod topic;
pub mod unit;

pub use limit::LimitSpec;
pub use topic::Topic;
pub use unit::{Unit, UnitScale};

use super::summary::Budget;
use crate::behaviour::policy::Buffer;
use crate::device::Device;
use crate::units::{DAY, YEAR, figures as digits};

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
    /// Its place in the budget's JSON.
    pub pointer: &'static str,
    /// Its group in tables.
    pub group: Group,
    /// Its name in tables.
    pub title: &'static str,
    /// The explanation that tells how it comes about.
    pub topic: Topic,
    /// How it is written.
    pub unit: Unit,
    /// Which direction is the better one.
    pub better: Better,
    /// The limit that a project can set for it.
    pub limit: Option<&'static LimitSpec>,
    read: fn(&Device, &Budget) -> Option<f64>,
}

impl FigureSpec {
    /// Its title as a heading: the first letter large; the name of an export stays as it is written.
    pub fn heading(&self) -> String {
        let mut letters = self.title.chars();
        match letters.next().filter(|_| !self.title.starts_with("c-live")) {
            Some(first) => first.to_uppercase().chain(letters).collect(),
            None => self.title.to_owned(),
        }
    }
}

macro_rules! figures {
    ($($id:ident: $name:literal, $pointer:literal, $group:ident, $topic:ident, $title:literal, $unit:ident, $better:ident $(limit $limit:ident)?, $read:expr;)*) => {
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
                        name: $name, pointer: $pointer, group: Group::$group, topic: Topic::$topic,
                        title: $title, unit: Unit::$unit, better: Better::$better,
                        limit: [$(&limit::$limit)?].first().copied(), read: $read,
                    },)*
                }
            }
        }
    };
}

figures! {
    FrameBytes: "frame-bytes", "/panel/frame_bytes", Hardware, Memory, "one frame", Bytes, Less, |d, _| Some(d.panel.plane_bytes() as f64);
    Ram: "ram-bytes", "/memory/buffer/ram_bytes", Memory, Memory, "RAM of the buffer", Bytes, Less limit RAM, |d, b| chosen(d, b).map(|scheme| scheme.ram.0);
    Sram: "sram-bytes", "/memory/buffer/external_bytes", Memory, Memory, "external memory", Bytes, Less, |d, b| chosen(d, b).map(|scheme| scheme.memory.0);
    FlashImages: "flash-images-bytes", "/memory/flash_bytes/images", Memory, Flash, "flash, images", Bytes, Less, |d, _| Some(d.stock.images as f64);
    FlashFonts: "flash-fonts-bytes", "/memory/flash_bytes/fonts", Memory, Flash, "flash, glyphs", Bytes, Less, |d, _| Some(d.stock.fonts as f64);
    FlashStrings: "flash-strings-bytes", "/memory/flash_bytes/strings", Memory, Flash, "flash, strings", Bytes, Less, |d, _| Some(d.stock.strings as f64);
    Flash: "flash-bytes", "/memory/flash_bytes/total", Memory, Flash, "flash, total", Bytes, Less limit FLASH, |d, _| Some(d.stock.total() as f64);
    LiveFlash: "c-live-flash-bytes", "/memory/c_live/flash_bytes", Memory, Flash, "c-live: flash, total, on Cortex-M0", Bytes, Less, |d, b| b.live(d).map(|live| live.flash() as f64);
    LiveOperations: "c-live-operations-bytes", "/memory/c_live/operations_bytes", Memory, Flash, "c-live: operations", Bytes, Less, |d, b| b.live(d).map(|live| live.operations as f64);
    LiveTexts: "c-live-texts-bytes", "/memory/c_live/texts_bytes", Memory, Flash, "c-live: texts", Bytes, Less, |d, b| b.live(d).map(|live| live.texts as f64);
    LivePictures: "c-live-bitmaps-bytes", "/memory/c_live/bitmaps_bytes", Memory, Flash, "c-live: fonts and bitmaps", Bytes, Less, |d, b| b.live(d).map(|live| live.pictures as f64);
    LiveFlow: "c-live-flow-bytes", "/memory/c_live/flow_bytes", Memory, Flash, "c-live: flow", Bytes, Less, |d, b| b.live(d).map(|live| live.flow as f64);
    LiveRules: "c-live-rules-bytes", "/memory/c_live/rules_bytes", Memory, Flash, "c-live: rules", Bytes, Less, |d, b| b.live(d).map(|live| live.rules as f64);
    LiveMachine: "c-live-machine-bytes", "/memory/c_live/machine_bytes", Memory, Flash, "c-live: machine on Cortex-M0", Bytes, Less, |d, b| b.live(d).map(|live| live.machine as f64);
    LiveCode: "c-live-code-bytes", "/memory/c_live/code_bytes", Memory, Flash, "c-live: interpreter on Cortex-M0", Bytes, Less, |d, b| b.live(d).map(|live| live.code as f64);
    LiveRam: "c-live-ram-bytes", "/memory/c_live/ram_bytes", Memory, Flash, "c-live: RAM, without strip and stack", Bytes, Less, |d, b| b.live(d).map(|live| live.ram() as f64);
    LiveStack: "c-live-stack-bytes", "/memory/c_live/stack_bytes", Memory, Flash, "c-live: stack on Cortex-M0", Bytes, Less, |d, b| b.live(d).map(|live| live.stack as f64);
    LiveHistory: "c-live-history-ram-bytes", "/memory/c_live/history_ram_bytes", Memory, Flash, "c-live: RAM for histories", Bytes, Less, |d, b| b.live(d).map(|live| live.past as f64);
    LiveValues: "c-live-values-ram-bytes", "/memory/c_live/values_ram_bytes", Memory, Flash, "c-live: RAM for values", Bytes, Less, |d, b| b.live(d).map(|live| live.values as f64);
    FullLatency: "full-latency-s", "/updates/max_full_latency_s", Latency, Updates, "longest full refresh", Seconds, Less, |_, b| most(b.screens.iter().map(|screen| screen.latency.0));
    Latency: "latency-s", "/updates/max_latency_s", Latency, Updates, "slowest transition", Seconds, Less limit LATENCY, |_, b| most(b.transitions.iter().map(|way| way.change.latency.0));
    LatencyMedian: "latency-p50-s", "/per_day/latency_s/p50", Latency, Latency, "key-to-display latency, median", Seconds, Less, |_, b| b.counts.latency(0.5).map(f64::from);
    LatencyP95: "latency-p95-s", "/per_day/latency_s/p95", Latency, Latency, "key-to-display latency, p95", Seconds, Less, |_, b| b.counts.latency(0.95).map(f64::from);
    Refreshes: "refreshes-per-day", "/per_day/refreshes", Refreshes, Counts, "refreshes a day", Rate, Less limit REFRESHES, |_, b| a_day(b, b.counts.full + b.counts.partial);
    Full: "full-per-day", "/per_day/full", Refreshes, Counts, "full refreshes a day", Rate, Less, |_, b| a_day(b, b.counts.full);
    IdleFull: "periodic-full-per-day", "/per_day/periodic_full", Refreshes, Counts, "periodic full refreshes of an unchanged frame", Rate, Less, |_, b| a_day(b, b.counts.idle_full);
    FlashesSeen: "flashes-seen-per-day", "/per_day/flashes_seen", Refreshes, Counts, "full refreshes seen by the user", Rate, Less, |_, b| a_day(b, b.counts.flashes_seen);
    Residue: "ghosting-residue", "/use/residue_percent", Refreshes, Residue, "worst ghosting residue, share of the contrast (an assumption unless measured)", Percent, Less limit RESIDUE, |d, b| super::residue::worst(d, &b.counts).map(|ghost| ghost.share.0 * 100.0);
    ResidueTime: "ghosting-residue-s", "/use/residue_lasts_s", Refreshes, Residue, "how long the worst ghosting residue stays (an assumption unless measured)", Span, Less, |d, b| super::residue::worst(d, &b.counts).map(|ghost| ghost.worst.lasted.0);
    Partial: "partial-per-day", "/per_day/partial", Refreshes, Counts, "partial refreshes a day", Rate, Neither, |_, b| a_day(b, b.counts.partial);
    Windows: "windows-per-day", "/per_day/windows", Refreshes, Counts, "windows sent a day", Rate, Less, |_, b| a_day(b, b.counts.windows);
    ChangedPixels: "changed-px-per-day", "/per_day/changed_px", Refreshes, Counts, "pixels changed a day", Rate, Neither, |_, b| a_day(b, b.counts.changed_pixels);
    Blocked: "blocked-per-day", "/per_day/blocked", Refreshes, Counts, "updates blocked: outside the waveform table", Rate, Less, |_, b| a_day(b, b.counts.refused);
    Presses: "presses-per-day", "/per_day/presses", Use, Counts, "presses a day", Rate, Neither, |_, b| a_day(b, b.counts.presses);
    Dropped: "dropped-presses-per-day", "/per_day/dropped_presses", Use, Counts, "presses dropped during refresh", Rate, Less, |_, b| a_day(b, b.counts.lost_presses);
    Unassigned: "unassigned-presses-per-day", "/per_day/unassigned_presses", Use, Counts, "presses of an unassigned key", Rate, Less, |_, b| a_day(b, b.counts.idle_presses);
    Journeys: "journeys-per-day", "/per_day/journeys", Use, Counts, "journeys made a day", Rate, Neither, |_, b| a_day(b, b.counts.journeys.iter().map(|journeys| journeys.made).sum());
    Derailed: "derailed-journeys-per-day", "/per_day/derailed_journeys", Use, Counts, "journeys stopped early", Rate, Less, |_, b| a_day(b, b.counts.derailed());
    SimulatedDays: "simulated-days", "/per_day/simulated_days", Use, Counts, "days simulated", Count, Neither, |_, b| Some(b.counts.days);
    FullEnergy: "full-refresh-j", "/updates/max_full_energy_j", Energy, Updates, "full refresh, the most expensive", Joules, Less, |_, b| most(b.screens.iter().map(|screen| screen.energy.0));
    UpdateEnergy: "update-energy-j", "/updates/max_energy_j", Energy, Updates, "most expensive transition", Joules, Less limit ENERGY, |_, b| most(b.transitions.iter().map(|way| way.change.energy.0));
    RefreshEnergy: "refresh-energy-per-day-j", "/per_day/refresh_energy_j", Energy, Day, "refreshes, a day", Joules, Less, |_, b| Some(b.refreshes_per_day().0);
    PolicyEnergy: "policy-energy-per-day-j", "/policy/energy_j", Energy, Policy, "panel updates under your policy, a day", Joules, Less, |_, b| Some(b.policy[0].0);
    MinimumEnergy: "minimum-energy-per-day-j", "/policy/minimum_energy_j", Energy, Policy, "minimum-energy schedule, a day", Joules, Less, |_, b| Some(b.policy[1].0);
    Energy: "energy-per-day-j", "/per_day/energy_j", Energy, Day, "energy a day", Joules, Less, |_, b| Some(b.energy_per_day().0);
    MeanPower: "mean-power-w", "/per_day/mean_power_w", Energy, Day, "mean power", Watts, Less, |_, b| Some(f64::from(b.energy_per_day() / DAY));
    MeanCurrent: "mean-current-a", "/per_day/mean_current_a", Energy, Day, "mean current", Amps, Less, |_, b| Some(b.energy_per_day().0 / b.voltage.0 / DAY.0);
    Charge: "charge-per-day-c", "/per_day/charge_per_day_c", Energy, Day, "charge a day", Coulombs, Less, |_, b| Some(b.energy_per_day().0 / b.voltage.0);
    Usable: "usable-charge-c", "/battery/usable_c", Life, UsableCharge, "usable charge, new", Coulombs, More, |_, b| b.usable.as_ref().ok().map(|charge| charge.0);
    LifeP10: "life-p10-days", "/life/days/p10", Life, Fleet, "battery life, P10", Days, More, |_, b| b.life.as_ref().ok().map(|life| life.p10.time / DAY);
    Life: "life-days", "/life/days/p50", Life, Fleet, "battery life, median (P50)", Days, More limit LIFE, |_, b| b.life.as_ref().ok().map(|life| life.p50.time / DAY);
    LifeP90: "life-p90-days", "/life/days/p90", Life, Fleet, "battery life, P90", Days, More, |_, b| b.life.as_ref().ok().map(|life| life.p90.time / DAY);
    Devices: "devices", "/life/devices", Life, Fleet, "random devices", Count, Neither, |_, b| b.life.as_ref().ok().map(|_| f64::from(b.ended_by_voltage().1));
    VoltageEnded: "limited-by-voltage", "/life/limited_by_voltage", Life, Fleet, "devices limited by voltage", Count, Less, |_, b| b.life.as_ref().ok().map(|_| f64::from(b.ended_by_voltage().0));
    SupplyVoltage: "supply-voltage-v", "/battery/v_min_under_peak", Life, Supply, "lowest supply voltage under peak load", Volts, More, |_, b| b.worst_voltage().map(f64::from);
    NeededVoltage: "needed-voltage-v", "/battery/needed_v", Life, Supply, "supply voltage needed", Volts, Less, |_, b| b.supply_corners.as_ref().ok().map(|supply_corners| supply_corners.needed.0);
    ChargeTime: "charge-time-s", "/battery/charge_time_s", Life, Charging, "charge time from the reserve", Span, Less, |_, b| b.charge_time.map(f64::from);
    FullCycles: "full-cycles-per-year", "/use/charges/full_cycles_per_year", Life, Wear, "full cycles of the battery a year", Rate, Less, |_, b| b.counts.charges.map(|charges| charges.cycles() / b.counts.days * YEAR_DAYS);
    CycleLife: "cycle-life-days", "/use/charges/cycle_life_days", Life, Wear, "cycle life of the battery, spread evenly", Days, More, |d, b| super::life::cycle_life(d, &b.counts).map(|time| time / DAY);
    RatedRefreshes: "rated-refreshes-days", "/use/rated_refreshes_last_days", Life, Wear, "the panel's rated refreshes last", Days, More, |d, b| super::usage::rated(d, &b.counts).map(|(_, time)| time / DAY);
    LastScreen: "last-screen-j", "/battery/last_screen_j", Life, LastScreen, "reserve for the last screen", Joules, Less, |_, b| Some(b.last_screen.0);
}

/// Days of a year.
const YEAR_DAYS: f64 = YEAR / DAY.0;

/// The way in which the image is buffered, with what it takes.
pub fn chosen<'b>(device: &Device, budget: &'b Budget) -> Option<&'b super::memory::Scheme> {
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
        row.unit == Unit::Rate && matches!(row.group, Group::Refreshes | Group::Use) && rare(value, budget.counts.days)
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

    /// The figure of a name: `life-days`.
    pub fn named(name: &str) -> Option<Self> {
        Self::ALL.iter().copied().find(|figure| figure.row().name == name)
    }

    /// The figures that an explanation tells of.
    pub fn of_topic(topic: Topic) -> impl Iterator<Item = Self> {
        Self::ALL.iter().copied().filter(move |figure| figure.row().topic == topic)
    }

    /// Its name in CSV and JSON: `life_days`.
    pub fn key(self) -> String {
        self.row().name.replace('-', "_")
    }

    /// The limit that a project sets for it, in its unit.
    pub fn limit(self, device: &Device) -> Option<f64> {
        Some(self.row().limit?.of(&device.limits)?.value)
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
        if matches!(device.policy.buffer, Buffer::External(_)) { "no external memory" } else { "unknown" }.to_owned()
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
        let places: Vec<&str> = rows.iter().map(|row| row.pointer).collect();
        assert_eq!(names.len(), rows.len());
        assert_eq!(titles.len(), rows.len());
        assert_eq!(places.iter().collect::<BTreeSet<_>>().len(), places.len());
        assert!(rows.iter().all(|row| row.pointer.starts_with('/')));
    }
}
