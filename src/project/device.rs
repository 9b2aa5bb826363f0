//! `device.toml`: the whole device except its screens. Types only; their meaning is settled in [`crate::project::settle`].

use super::battery::BatterySpec;
use super::hardware::{BoardSpec, PanelSpec};
use super::rules::{AfterSpec, KeySpec, OnSpec};
use super::screen::RulesSpec;
use super::usage::UsageSpec;
use crate::assets::fonts::FontSpec;
use crate::behaviour::policy::{BufferSpec, BusyPresses};
use crate::hardware::display::Side;
use crate::screen::condition::{ConditionSpec, OnField, WhileSpec};
use crate::source::amount::{Amount, At, List, Named, Qty};
use crate::source::fault::Level;
use crate::units::{Bytes, Joules, Metres, Ratio, Seconds};
use schemars::JsonSchema;
use serde::Deserialize;
use std::collections::BTreeMap;

/// The root file of a project.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct ProjectSpec {
    /// The product's name.
    pub name: String,
    /// What the project is; a demo or invented device says so here.
    #[serde(default)]
    pub note: String,
    /// The locale of `strings/` that figures and images begin with; absent: the first by name.
    pub locale: Option<At<String>>,
    /// The panel, or the built-in panel profile to start from.
    pub panel: PanelSpec,
    /// How the display sits in the instrument: mounting, keys, viewing distance.
    pub display: DisplaySpec,
    /// Microcontroller, bus, memory, rails, always-on loads.
    pub board: BoardSpec,
    /// The battery, or the built-in battery profile to start from.
    pub battery: BatterySpec,
    /// Fonts by name; built-in fonts need no entry.
    #[serde(default)]
    pub fonts: Named<FontSpec>,
    /// Live values by name.
    #[serde(default)]
    pub fields: Named<FieldSpec>,
    /// Quantities by name: the units that a setting chooses among.
    #[serde(default)]
    pub quantities: Named<QuantitySpec>,
    /// Numbers, dates and times as each locale writes them; absent: with a full stop in every locale.
    pub formats: Option<At<FormatsSpec>>,
    /// Things that happen without a key: radio reports, alarms.
    #[serde(default)]
    pub events: Named<EventSpec>,
    /// Rules that hold on every screen that says nothing else.
    #[serde(default)]
    pub anywhere: AnywhereSpec,
    /// When to refresh fully and what happens meanwhile.
    #[serde(default)]
    pub policy: PolicySpec,
    /// How the device is used.
    pub usage: UsageSpec,
    /// Limits that `check` enforces.
    #[serde(default)]
    pub limits: LimitsSpec,
    /// The project otherwise: with another battery, panel, accessory or policy. `--alternative` chooses one, `compare` puts
    /// them side by side.
    #[serde(default)]
    pub alternatives: Named<ProjectAlternativeSpec>,
    /// Level of each lint by its id; absent: the lint's own (`inkjoule check --lints` lists them). A screen and an element can
    /// have `lints` of their own.
    #[serde(default)]
    pub lints: Named<Level>,
}

/// How the panel sits in the instrument.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct DisplaySpec {
    /// How far the eye is from the display.
    pub viewing_distance: At<Qty<Metres>>,
    /// The side of the display along which the soft keys lie.
    #[serde(default)]
    pub keys_at: Side,
    /// Soft keys, numbered from 1 in this order.
    #[serde(default)]
    pub keys: Vec<At<KeyPlaceSpec>>,
}

/// A physical key.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct KeyPlaceSpec {
    /// The side of the display at which it lies; absent: `keys-at`. `"none"`: elsewhere on the instrument, like a power key.
    pub at: Option<KeySideSpec>,
    /// What it is called, such as `"power"`.
    #[serde(default)]
    pub name: String,
    /// Its centre, measured from the start of the active area along its side.
    pub centre: Option<At<Qty<Metres>>>,
    /// Its width.
    pub width: Option<At<Qty<Metres>>>,
}

/// Where a key lies.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum KeySideSpec {
    /// Below the image.
    Bottom,
    /// Above the image.
    Top,
    /// Left of the image.
    Left,
    /// Right of the image.
    Right,
    /// At no side of it.
    None,
}

/// A live value.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct FieldSpec {
    /// Unit shown after the number.
    #[serde(default)]
    pub unit: String,
    /// Decimals shown.
    #[serde(default)]
    pub decimals: u8,
    /// Smallest and largest value the product can show.
    pub range: Option<At<List<f64, 2>>>,
    /// Texts for the values 0, 1, 2, ...; makes the field a choice.
    pub choices: Option<At<Vec<String>>>,
    /// A strftime pattern (`"%H:%M"`); makes the field a point in time. With `[formats]`, `%x` is the locale's date and
    /// `%X` its time of day. `{ by = "hours", patterns = ["%H:%M", "%-I:%M %p"] }` follows a setting.
    pub clock: Option<At<ClockSpec>>,
    /// A text that keys change character by character; makes the field a text.
    pub text: Option<At<TextSpec>>,
    /// The quantity whose units the value is shown in, in place of `unit` and `decimals`. Ranges, samples, conditions and
    /// `to` count in its first unit.
    pub quantity: Option<At<String>>,
    /// The field that says how many values this one has: it counts rows from 0 and stays below that number.
    pub within: Option<At<String>>,
    /// Widest text the product can show, where the range does not say.
    pub worst: Option<String>,
    /// The value in sample images; for a clock, seconds after the midnight of the usage's start.
    pub sample: Option<f64>,
    /// The value is updated at this interval.
    pub every: Option<At<Qty<Seconds>>>,
    /// With `every`: only while this holds.
    #[serde(rename = "while")]
    pub only: Option<At<WhileSpec>>,
    /// The value is updated when this event happens.
    pub on: Option<At<String>>,
    /// What the field sets in the product.
    pub sets: Option<At<SetsSpec>>,
    /// The state of the device that the field holds: it is then set by the device itself.
    pub holds: Option<At<HoldsSpec>>,
    /// The simulated signal: how the value changes at each update.
    pub signal: Option<At<SignalSpec>>,
}

/// A clock's pattern.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(
    untagged,
    expecting = "expected a strftime pattern, or { by = \"field\", patterns = [\"%H:%M\", \"%-I:%M %p\"] }"
)]
pub enum ClockSpec {
    /// One pattern.
    Pattern(String),
    /// One of several, by a field's value.
    By {
        /// The field, a choice.
        by: String,
        /// The patterns for its values 0, 1, 2, ...
        patterns: Vec<String>,
    },
}

/// A text that keys change.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct TextSpec {
    /// Characters at most; spaces at the end are not shown.
    pub length: usize,
    /// The characters that it can have, in the order in which keys go through them, the space among them where the text
    /// may be shorter.
    pub letters: String,
    /// The text in sample images.
    pub sample: String,
}

/// A quantity that can be shown in several units.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct QuantitySpec {
    /// The field that chooses the unit: a choice with as many texts as there are units.
    pub by: At<String>,
    /// The units for its values 0, 1, 2, ...; the first is the one that fields of this quantity are held in.
    pub units: At<Vec<UnitSpec>>,
}

/// A unit of a quantity: a value `v` in the first unit is shown as `v * factor + offset`.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct UnitSpec {
    /// As it is written after the number.
    pub unit: String,
    /// How many of it make one of the first unit; absent: 1.
    #[serde(default = "one")]
    pub factor: f64,
    /// What it shows where the first unit shows 0; absent: 0.
    #[serde(default)]
    pub offset: f64,
    /// Decimals shown.
    #[serde(default)]
    pub decimals: u8,
}

fn one() -> f64 {
    1.0
}

/// How numbers, dates and times are written in each locale.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct FormatsSpec {
    /// Thousands are set apart by the locale's mark.
    #[serde(default)]
    pub thousands: bool,
    /// The CLDR locale, such as `"de-CH"`, for locales of `strings/` that have no entry below.
    pub like: Option<At<String>>,
    /// For each locale of `strings/` its CLDR locale, or marks and patterns of its own; absent: its own name.
    #[serde(default)]
    pub locales: Named<FormatSpec>,
}

/// How one locale writes them.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(
    untagged,
    expecting = "expected a CLDR locale such as \"de-CH\", or { decimal = \",\", group = \" \", date = \"%d.%m.%Y\", time = \"%H:%M\" }"
)]
pub enum FormatSpec {
    /// As a CLDR locale does.
    Like(String),
    /// By itself.
    Own {
        /// The decimal mark.
        decimal: char,
        /// The mark between groups of three digits.
        group: char,
        /// The date as a strftime pattern.
        date: String,
        /// The time of day as a strftime pattern.
        time: String,
    },
}

/// What a field sets in the product.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum SetsSpec {
    /// The language of the screens: its values 0, 1, 2, ... are the locales: that of `locale` first, the
    /// others by name.
    Language,
}

/// A state of the device that a field holds. Conditions on the field, as `while` and `when`, follow it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum HoldsSpec {
    /// 1 while external power is attached, else 0.
    Usb,
    /// 1 while the battery is being charged, else 0.
    Charging,
    /// The state of charge in percent; its range is [0, 100].
    Charge,
    /// 1 while the link holds, 0 once it is lost.
    Link,
}

/// A simulated signal.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum SignalSpec {
    /// Each update adds a random step, uniform from -step to step, turned back at the range's ends.
    RandomWalk {
        /// Largest step.
        step: f64,
    },
    /// A daily or other cycle: a cosine between low and high, plus an even jitter.
    Cycle {
        /// Smallest value of the cycle.
        low: f64,
        /// Largest value of the cycle.
        high: f64,
        /// Length of a cycle.
        period: Qty<Seconds>,
        /// When the largest value is reached, counted from midnight.
        peak: Qty<Seconds>,
        /// Largest deviation from the cosine.
        #[serde(default)]
        jitter: f64,
    },
    /// Each update adds a fixed step; past the range's end it starts again.
    Count {
        /// The step.
        step: f64,
    },
    /// One of the choices or range's whole numbers, uniformly random at each update.
    Random {},
    /// How many of the limits the other field has fallen below.
    Thresholds {
        /// The field that is compared.
        field: At<String>,
        /// Thresholds, falling: below the first the value is 1, below the second 2.
        below: Vec<f64>,
    },
    /// The values of a CSV column, one after the other.
    Replay {
        /// CSV file, relative to the project, numbers in its first column unless `column` says otherwise.
        file: At<String>,
        /// Name of the column in the first row.
        column: Option<String>,
    },
}

/// Something that happens without a key.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct EventSpec {
    /// Happens at this interval.
    pub every: Option<At<Qty<Seconds>>>,
    /// Happens this often a day, at random times.
    pub per_day: Option<At<f64>>,
    /// Only between these hours, as `["18:00", "08:00"]`.
    pub between: Option<At<List<String, 2>>>,
    /// Happens when this becomes true.
    #[schemars(with = "Option<OnField>")]
    pub when: Option<ConditionSpec>,
    /// Charge that each occurrence takes from the rail beside the drawing (a radio exchange). On a switching rail the
    /// efficiency is that of a pulse of one second.
    pub charge: Option<Amount<crate::units::Coulombs>>,
    /// Steps of current or power that each occurrence takes from the rail, instead of `charge`: they reach the supply
    /// check too.
    pub profile: Option<At<Vec<crate::project::hardware::ProfileStepSpec>>>,
    /// How long the microcontroller runs for each occurrence beside its drawing, its wake-up apart; absent: that costs
    /// nothing.
    pub mcu_awake: Option<Amount<Seconds>>,
    /// Loads and events, by their names, and `update`: those with which it never draws at the same time.
    #[serde(default)]
    pub never_with: Vec<At<String>>,
    /// Supply voltages at which what takes it works.
    pub supply: Option<At<crate::project::hardware::WindowSpec>>,
    /// The rail that charge or profile is taken from; absent: the board's only rail.
    pub rail: Option<At<String>>,
    /// Happens only while this holds.
    #[serde(rename = "while")]
    pub only: Option<At<WhileSpec>>,
    /// It comes over a radio or a cable that can be lost: while a field that holds the link says so, it does not happen.
    #[serde(default)]
    pub link: bool,
}

/// When to refresh fully, and what happens while the panel is busy.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case", default)]
pub struct PolicySpec {
    /// At most this many partial refreshes in a row.
    pub max_partials: At<u32>,
    /// A full refresh at least this often.
    pub full_every: Option<At<Qty<Seconds>>>,
    /// Screens whose entry is drawn with a full refresh.
    pub full_on: Vec<At<String>>,
    /// Redraws for changed fields keep this distance from the refresh before.
    pub min_interval: Qty<Seconds>,
    /// What happens to presses while the panel refreshes.
    pub busy_presses: BusyPresses,
    /// How the image is buffered.
    pub buffer: At<BufferSpec>,
    /// Cells of 16 bits in RAM in which the exported machine notes what it draws, so that strips cost little; absent:
    /// none.
    #[schemars(range(min = 1, max = 65_535))]
    pub memo: Option<At<u32>>,
}

impl Default for PolicySpec {
    fn default() -> Self {
        Self {
            max_partials: At { span: 0..0, value: 10 },
            full_every: Some(At { span: 0..0, value: Qty(Seconds(86_400.0)) }),
            full_on: Vec::new(),
            min_interval: Qty(Seconds(0.0)),
            busy_presses: BusyPresses::Queue,
            buffer: At { span: 0..0, value: BufferSpec::Ram },
            memo: None,
        }
    }
}

/// Rules that hold on every screen that says nothing else. An empty table for a key or an event on a screen is an
/// exception there; so is the screen's own rule.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case", default)]
pub struct AnywhereSpec {
    /// What keys do, by key number.
    pub keys: BTreeMap<String, At<KeySpec>>,
    /// What happens after a while.
    pub after: Vec<At<AfterSpec>>,
    /// What happens on events.
    pub on: BTreeMap<String, At<OnSpec>>,
    /// Screens and boxes on which none of these hold.
    pub except: Vec<At<String>>,
}

impl AnywhereSpec {
    /// The rules.
    pub fn rules(&self) -> RulesSpec<'_> {
        RulesSpec { keys: &self.keys, after: &self.after, on: &self.on }
    }
}

/// The project with some values changed.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct ProjectAlternativeSpec {
    /// What it is, in plain words.
    #[serde(default)]
    pub note: String,
    /// Its changes, each as for `--set`: `"battery.from=lithium-ion-pouch"`.
    pub set: Vec<At<String>>,
}

/// Limits that `check` enforces; what is absent is not limited.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct LimitsSpec {
    /// RAM for the frame or strip.
    pub ram: Option<At<Qty<Bytes>>>,
    /// Flash for images, fonts and strings.
    pub flash: Option<At<Qty<Bytes>>>,
    /// Energy of one update.
    pub update_energy: Option<At<Qty<Joules>>>,
    /// Update latency.
    pub latency: Option<At<Qty<Seconds>>>,
    /// Battery life, P10.
    pub life: Option<At<Qty<Seconds>>>,
    /// Refreshes a day.
    pub refreshes_per_day: Option<At<f64>>,
    /// Worst ghosting residue, as a share of the contrast; needs `panel.residue`.
    pub residue: Option<At<Qty<Ratio>>>,
}
