//! Panel, board and battery as they stand in the files (a project's own or a built-in profile).

use crate::frame::pack::Packing;
use crate::hardware::board::DuringRefresh;
use crate::hardware::core::Core;
use crate::hardware::rail::{Enabled, OutOfRange};
use crate::screen::condition::WhileSpec;
use crate::source::amount::Named;
use crate::source::amount::{Amount, At, List, Qty};
use crate::units::{Amps, Bytes, Celsius, Farads, Hertz, Metres, Ohms, Ratio, Seconds, Volts, Watts};
use schemars::JsonSchema;
use serde::Deserialize;

/// An e-paper panel.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
#[schemars(transform = crate::project::schema::whole_or_from)]
pub struct PanelSpec {
    /// A built-in panel profile or `panels/<name>.toml`, whose values are used where this table gives none.
    pub from: Option<String>,
    /// What the panel is, in plain words.
    #[serde(default)]
    pub note: String,
    /// Pixels along the source (byte) axis and number of lines, as the controller addresses them.
    pub pixels: At<List<u32, 2>>,
    /// Active area along the same two axes.
    pub active: At<List<Qty<Metres>, 2>>,
    /// How far the controller's image is turned clockwise to be upright in the instrument: 0, 90, 180 or 270.
    #[serde(default)]
    pub mounted: At<u32>,
    /// The panel is seen mirrored (through a mirror or from behind).
    #[serde(default)]
    pub mirrored: bool,
    /// How the controller takes its bits, in its own orientation.
    #[serde(default)]
    pub packing: At<Packing>,
    /// The board's rail that feeds it; absent: the board's only rail.
    pub rail: Option<At<String>>,
    /// Supply voltages at which it works.
    pub supply: Option<At<WindowSpec>>,
    /// The voltage at which the currents of start, booster and drive are stated. They are then taken as powers: a panel
    /// with a booster takes more current from less voltage. Absent: the same currents at any voltage.
    pub currents_at: Option<At<Qty<Volts>>>,
    /// Current in deep sleep.
    pub sleep: At<Amount<Amps>>,
    /// What the panel does between updates: `deep-sleep` takes `sleep`, `power-off` what `power-off.leakage` says.
    #[serde(default)]
    pub between_updates: At<BetweenSpec>,
    /// Switching its supply off between updates: what leaks, and the longer initialisation afterwards.
    pub power_off: Option<PowerOffSpec>,
    /// Reset and initialisation after deep sleep.
    pub start: PhaseSpec,
    /// Booster on, until its rails are up.
    pub booster_on: PhaseSpec,
    /// Booster off.
    pub booster_off: PhaseSpec,
    /// The booster is kept on after each update: an update that comes meanwhile needs no start and no booster.
    pub hold: Option<At<BoosterHoldSpec>>,
    /// Windows that one refresh can send.
    #[serde(default = "one")]
    pub max_windows: At<u32>,
    /// Bytes of commands for each window beside its pixels.
    #[serde(default = "window_bytes")]
    pub window_bytes: u32,
    /// The panel has no controller, and the microcontroller clocks every line of every frame.
    pub clocked: Option<At<ClockedSpec>>,
    /// A refresh of the whole display with the full waveform.
    pub full: At<RefreshSpec>,
    /// A refresh with the partial waveform; absent: the panel has none.
    pub partial: Option<At<RefreshSpec>>,
    /// The controller takes the new plane over as its old one after each refresh, so that a partial refresh need not send
    /// the old one.
    #[serde(default)]
    pub keeps_old: bool,
    /// Number of refreshes the maker rates it for.
    pub rated_refreshes: Option<At<u64>>,
    /// Share of the contrast that one partial refresh leaves of the older image on the pixels that it drives, until a full
    /// refresh; measured on the panel with a `source`, otherwise an assumption. Absent: nothing is said of ghosting.
    pub residue: Option<At<Amount<Ratio>>>,
}

fn one() -> At<u32> {
    At { span: 0..0, value: 1 }
}

fn yes() -> bool {
    true
}

fn window_bytes() -> u32 {
    12
}

/// Supply voltages at which a consumer works: at least one of the two.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct WindowSpec {
    /// The minimum voltage: below it the consumer stops, and with it the device.
    pub min: Option<Qty<Volts>>,
    /// The maximum voltage: above it the consumer may be damaged.
    pub max: Option<Qty<Volts>>,
}

/// What a panel does between updates.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum BetweenSpec {
    /// Deep sleep: its controller keeps its image memory or not, as its maker says.
    #[default]
    DeepSleep,
    /// Its supply is switched off: it forgets its registers and both planes.
    PowerOff,
}

/// Switching a panel's supply off between updates.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct PowerOffSpec {
    /// What flows through the switch all the same.
    pub leakage: Amount<Amps>,
    /// Supply up, reset and the whole initialisation, in place of `start`.
    pub start: PhaseSpec,
}

/// The booster kept on after an update.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct BoosterHoldSpec {
    /// For how long.
    pub time: Qty<Seconds>,
    /// The panel's current meanwhile.
    pub current: Amount<Amps>,
}

/// A phase of fixed length.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct PhaseSpec {
    /// How long it takes.
    pub time: Amount<Seconds>,
    /// The panel's current meanwhile.
    pub current: Amount<Amps>,
}

/// One kind of refresh.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct RefreshSpec {
    /// Planes sent for each window: 1, or 2 where the controller wants old and new.
    #[serde(default = "one")]
    pub planes: At<u32>,
    /// Drive time and current over temperature; linear between, blocked outside. Needed where the panel has a controller.
    pub drive: Option<At<Vec<DriveSpec>>>,
    /// The stages of an update, each a time in which frames are repeated. Needed where the panel is `clocked`.
    pub stages: Option<At<Vec<StageSpec>>>,
}

/// What is sent for one frame of a panel that the microcontroller clocks, and how temperature stretches an update.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct ClockedSpec {
    /// Bytes of a line, those that select it included; absent: two bits for each pixel of the line.
    pub line_bytes: Option<At<u32>>,
    /// Time of a line beside its bytes: what the lines' latch and the firmware's loop take.
    pub line_time: Amount<Seconds>,
    /// Factor on the time of the stages, and current, over temperature; linear between, blocked outside.
    pub stretch: At<Vec<StretchSpec>>,
}

/// Stretch of an update at one temperature.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct StretchSpec {
    /// The temperature.
    pub at: At<Qty<Celsius>>,
    /// Factor on the time of every stage.
    pub factor: At<Amount<Ratio>>,
    /// Mean current of the panel while it is driven.
    pub current: Amount<Amps>,
    /// Largest current meanwhile, for the supply alone: energies are those of the mean.
    pub peak: Option<Amount<Amps>>,
}

/// One stage of an update of a panel that the microcontroller clocks.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct StageSpec {
    /// How long its frames are repeated where the factor is 1.
    pub time: At<Amount<Seconds>>,
    /// The minimum number of frames.
    #[serde(default = "one")]
    pub min_frames: At<u32>,
}

/// Drive at one temperature.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct DriveSpec {
    /// The temperature.
    pub at: At<Qty<Celsius>>,
    /// How long the display is driven.
    pub time: Amount<Seconds>,
    /// Mean current meanwhile.
    pub current: Amount<Amps>,
    /// Peak current meanwhile, for the supply alone: energies are those of the mean.
    pub peak: Option<Amount<Amps>>,
}

/// Everything on the board beside the panel.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct BoardSpec {
    /// The microcontroller.
    pub mcu: At<McuSpec>,
    /// The serial bus to panel and memory.
    pub bus: BusSpec,
    /// The external memory that buffers the image.
    pub memory: Option<MemorySpec>,
    /// Supply rails by name.
    pub rails: Named<RailSpec>,
    /// Loads that are always there, by name.
    #[serde(default)]
    pub loads: Named<LoadSpec>,
    /// The charger; absent: none on the board.
    pub charger: Option<At<ChargerSpec>>,
}

/// The microcontroller.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct McuSpec {
    /// Its rail; absent: the board's only rail.
    pub rail: Option<At<String>>,
    /// RAM left for the display.
    pub ram: At<Qty<Bytes>>,
    /// Flash left for images, fonts and strings.
    pub flash: At<Qty<Bytes>>,
    /// Core clock while it draws and sends.
    pub clock: Amount<Hertz>,
    /// Current while it runs.
    pub active: Amount<Amps>,
    /// Current while it sleeps.
    pub sleep: At<Amount<Amps>>,
    /// From the press or alarm to the first instruction.
    pub wake: Amount<Seconds>,
    /// How long it runs for each press of a key (reading, debouncing), its wake-up apart; absent: presses that change
    /// nothing cost nothing.
    pub key_time: Option<Amount<Seconds>>,
    /// How long it runs for each update of a field, its wake-up apart; absent: updates cost nothing but their drawing.
    pub sample_time: Option<Amount<Seconds>>,
    /// Its core, where the exported machine draws: each screen is then priced from its operations, as measured on that core.
    pub core: Option<Core>,
    /// Core cycles it takes to draw one pixel, by drawing code of your own that draws changed windows only; absent: the
    /// exported machine draws, on its `core`.
    pub cycles_per_pixel: Option<f64>,
    /// What it does while the panel is busy.
    #[serde(default)]
    pub during_refresh: DuringRefresh,
    /// Supply voltages at which it works.
    pub supply: Option<At<WindowSpec>>,
}

/// The serial bus.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct BusSpec {
    /// Bit clock.
    pub clock: Amount<Hertz>,
    /// Gaps between bytes and commands, as a share of the bits' time.
    pub overhead: Amount<Ratio>,
}

/// The external memory.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct MemorySpec {
    /// Its rail; absent: the board's only rail.
    pub rail: Option<At<String>>,
    /// Its size.
    pub size: Qty<Bytes>,
    /// Current while it is read or written.
    pub active: Amount<Amps>,
    /// Current while it waits.
    pub standby: At<Amount<Amps>>,
    /// Supply voltages at which it works.
    pub supply: Option<At<WindowSpec>>,
}

/// A supply rail and its regulator.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct RailSpec {
    /// What feeds it: `battery`, `usb` (there only while the device is at its charger), or another rail by its name;
    /// absent: the battery.
    pub source: Option<At<String>>,
    /// What makes the rail from that.
    pub regulator: RegulatorKind,
    /// Output voltage; not for `direct` and `load-switch`.
    pub output: Option<At<Qty<Volts>>>,
    /// Current that the regulator itself takes while it is on.
    pub quiescent: Option<Amount<Amps>>,
    /// Current that the regulator takes while it is off.
    pub quiescent_off: Option<Amount<Amps>>,
    /// `ldo`: minimum difference between input and output.
    pub dropout: Option<Amount<Volts>>,
    /// `load-switch`: resistance while on.
    pub resistance: Option<Amount<Ohms>>,
    /// Switching: share of the input power that reaches the rail.
    pub efficiency: Option<At<EfficiencySpec>>,
    /// Switching: the efficiencies count the quiescent current among the losses, as the curves of data sheets do.
    #[serde(default)]
    pub includes_quiescent: bool,
    /// Minimum input voltage.
    pub min_input: Option<At<Qty<Volts>>>,
    /// Maximum input voltage.
    pub max_input: Option<At<Qty<Volts>>>,
    /// What happens where the input is too low for an `ldo` or `buck`, or too high for a `boost`, to hold the output.
    #[serde(default)]
    pub out_of_range: OutOfRange,
    /// When the rail is on.
    #[serde(default)]
    pub enabled: Enabled,
    /// The rail is on while this holds, and with it the loads on it that have no `while` of their own.
    #[serde(rename = "while")]
    pub only: Option<At<WhileSpec>>,
    /// From switching it on until its output is up; the microcontroller waits for it.
    pub start_up: Option<Amount<Seconds>>,
    /// Capacitor at its output: charged whenever the rail is switched on. C V^2 comes from what feeds the rail; half of
    /// it is lost at once, the other half when the rail is off.
    pub capacitor: Option<Amount<Farads>>,
    /// The maximum current that it supplies.
    pub current_limit: Option<Amount<Amps>>,
}

/// What makes a rail.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum RegulatorKind {
    /// What feeds it, as it is.
    Direct,
    /// A switch: what feeds it, less what its resistance drops.
    LoadSwitch,
    /// A linear regulator.
    Ldo,
    /// A step-down converter.
    Buck,
    /// A step-up converter.
    Boost,
    /// A converter that steps up and down.
    BuckBoost,
}

/// Efficiency of a switching regulator.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(untagged, expecting = "expected a share such as \"88 %\", or a list of { at = \"10 mA\", is = \"90 %\" }")]
pub enum EfficiencySpec {
    /// Over output current, and over input voltage too where every row has one. Between rows it is a straight line over
    /// the logarithm of the current, as data sheets draw it; beyond them the end values count.
    Table(Vec<EfficiencyAt>),
    /// One value.
    One(Amount<Ratio>),
}

/// Efficiency at one output current, and at one input voltage where the table has them.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct EfficiencyAt {
    /// Output current.
    pub at: Qty<Amps>,
    /// Input voltage: in every row or in none.
    pub input: Option<Qty<Volts>>,
    /// Efficiency there.
    pub is: Amount<Ratio>,
}

/// One step of a profile: either a current or a power.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct ProfileStepSpec {
    /// How long it lasts.
    pub time: Amount<Seconds>,
    /// The current meanwhile.
    pub current: Option<Amount<Amps>>,
    /// The power meanwhile.
    pub power: Option<Amount<Watts>>,
}

/// A load of the board: a `current` or a `power`, all the time or `on` for a part of each `period`; or a `profile` of
/// steps in each `period`.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct LoadSpec {
    /// Its rail; absent: the board's only rail.
    pub rail: Option<At<String>>,
    /// Its current while on.
    pub current: Option<Amount<Amps>>,
    /// Its power while on.
    pub power: Option<Amount<Watts>>,
    /// Steps that follow one another in each period.
    pub profile: Option<At<Vec<ProfileStepSpec>>>,
    /// How long the microcontroller runs for each pulse, its wake-up apart; absent: it need not wake for it.
    pub mcu_awake: Option<Amount<Seconds>>,
    /// It draws only while this holds.
    #[serde(rename = "while")]
    pub only: Option<At<WhileSpec>>,
    /// Loads and events, by their names, and `update`: those with which it never draws at the same time.
    #[serde(default)]
    pub never_with: Vec<At<String>>,
    /// How long it is on in each period; absent: always.
    pub on: Option<Amount<Seconds>>,
    /// The period; absent: always on.
    pub period: Option<Amount<Seconds>>,
    /// Supply voltages at which it works.
    pub supply: Option<At<WindowSpec>>,
    /// Whether the device works only as long as this does; a load that may fail does not end the device's life.
    #[serde(default = "yes")]
    pub needed: bool,
    /// It is on with its rail, by the rail's condition.
    #[serde(skip)]
    pub with_rail: bool,
}

/// The charger.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct ChargerSpec {
    /// Constant charging current.
    pub current: Amount<Amps>,
    /// Current at which charging ends.
    pub termination_current: Amount<Amps>,
    /// Temperature at which it charges.
    pub temperature: Qty<Celsius>,
}
