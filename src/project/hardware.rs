//! Panel, board and battery as they stand in the files (a project's own or a built-in profile).

use crate::cell::chemistry::Kind;
use crate::frame::pack::Packing;
use crate::hardware::board::WhileBusy;
use crate::source::amount::Named;
use crate::source::amount::{Amount, At, Qty};
use crate::units::{Amps, Bytes, Celsius, Coulombs, Hertz, Metres, Ohms, PerSecond, Ratio, Seconds, Volts};
use schemars::JsonSchema;
use serde::Deserialize;

/// An e-paper panel.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct PanelSpec {
    /// A built-in panel profile or `panels/<name>.toml`, whose values are used where this table gives none.
    pub from: Option<String>,
    /// What the panel is, in plain words.
    #[serde(default)]
    pub note: String,
    /// Pixels along the source (byte) axis and number of lines, as the controller addresses them.
    pub pixels: At<[u32; 2]>,
    /// Active area along the same two axes.
    pub active: At<[Qty<Metres>; 2]>,
    /// How far the controller's picture is turned clockwise to be upright in the instrument: 0, 90, 180 or 270.
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
    /// Current in deep sleep.
    pub sleep: At<Amount<Amps>>,
    /// Reset and initialisation.
    pub start: PhaseSpec,
    /// Charge pump on, until its rails are up.
    pub pump_up: PhaseSpec,
    /// Charge pump off.
    pub pump_down: PhaseSpec,
    /// Windows that one refresh can send.
    #[serde(default = "one")]
    pub max_windows: At<u32>,
    /// Bytes of commands for each window beside its pixels.
    #[serde(default = "window_bytes")]
    pub window_bytes: u32,
    /// A refresh of the whole glass with the full waveform.
    pub full: RefreshSpec,
    /// A refresh with the short waveform; absent: the panel has none.
    pub partial: Option<RefreshSpec>,
    /// Number of refreshes the maker rates it for.
    pub rated_refreshes: Option<At<u64>>,
}

fn one() -> At<u32> {
    At { span: 0..0, value: 1 }
}

fn window_bytes() -> u32 {
    12
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
    /// Drive time and current over temperature; linear between, refused outside.
    pub drive: At<Vec<DriveSpec>>,
}

/// Drive at one temperature.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct DriveSpec {
    /// The temperature.
    pub at: At<Qty<Celsius>>,
    /// How long the glass is driven.
    pub time: Amount<Seconds>,
    /// Mean current meanwhile.
    pub current: Amount<Amps>,
    /// Largest current meanwhile, for the supply alone: energies are those of the mean.
    pub peak: Option<Amount<Amps>>,
}

/// Everything on the board beside the panel.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct BoardSpec {
    /// The microcontroller.
    pub mcu: McuSpec,
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
    /// Flash left for images, faces and strings.
    pub flash: At<Qty<Bytes>>,
    /// Core clock while it draws and sends.
    pub clock: Amount<Hertz>,
    /// Current while it runs.
    pub active: Amount<Amps>,
    /// Current while it sleeps.
    pub sleep: At<Amount<Amps>>,
    /// From the press or alarm to the first instruction.
    pub wake: Amount<Seconds>,
    /// Core cycles it takes to draw one pixel.
    pub cycles_per_pixel: f64,
    /// Core cycles it takes to unpack one byte of a compressed background; 12 unless stated.
    pub cycles_per_byte: Option<f64>,
    /// What it does while the panel is busy.
    #[serde(default)]
    pub while_busy: WhileBusy,
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
}

/// A supply rail and its regulator.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct RailSpec {
    /// What makes the rail from the battery.
    pub regulator: RegulatorKind,
    /// Output voltage; not for `direct`.
    pub output: Option<At<Qty<Volts>>>,
    /// Current that the regulator itself takes.
    pub quiescent: Option<Amount<Amps>>,
    /// `ldo`: least difference between input and output.
    pub dropout: Option<Amount<Volts>>,
    /// Switching: share of the input power that reaches the rail.
    pub efficiency: Option<At<EfficiencySpec>>,
    /// Least input voltage.
    pub min_input: Option<At<Qty<Volts>>>,
    /// Largest input voltage.
    pub max_input: Option<At<Qty<Volts>>>,
}

/// What makes a rail.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum RegulatorKind {
    /// The battery itself.
    Direct,
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
    /// Over output current, and over input voltage too where every row has one; linear between, the end values beyond.
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

/// A load that is always there.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct LoadSpec {
    /// Its rail; absent: the board's only rail.
    pub rail: Option<At<String>>,
    /// Its current while on.
    pub current: Amount<Amps>,
    /// How long it is on in each period; absent: always.
    pub on: Option<Amount<Seconds>>,
    /// The period; absent: always on.
    pub period: Option<Amount<Seconds>>,
}

/// The charger.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct ChargerSpec {
    /// Constant charging current.
    pub current: Amount<Amps>,
    /// Current at which charging ends.
    pub taper: Amount<Amps>,
    /// Temperature at which it charges.
    pub temperature: Qty<Celsius>,
}

/// The battery.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct BatterySpec {
    /// A built-in battery profile, whose values are used where this table gives none.
    pub from: Option<String>,
    /// What the battery is, in plain words.
    #[serde(default)]
    pub note: String,
    /// Its chemistry, which brings the tables of voltage and resistance.
    pub chemistry: Kind,
    /// Cells in series.
    #[serde(default = "one")]
    pub cells: At<u32>,
    /// Rated charge.
    pub capacity: Amount<Coulombs>,
    /// Rechargeable: voltage per cell that it is charged to.
    pub float: Option<At<Qty<Volts>>>,
    /// Internal resistance of one cell when new, half full, at 25 °C.
    pub resistance: Amount<Ohms>,
    /// Charge lost without any load.
    pub self_discharge: Amount<PerSecond>,
    /// Capacity lost to age in each year at the chemistry's largest voltage; a lower float voltage slows it.
    pub ageing: Amount<PerSecond>,
    /// Share of the charge that is kept back for the last screen and the protection circuit.
    pub reserve: Amount<Ratio>,
    /// The battery is given up after this time whatever its charge.
    pub shelf: Qty<Seconds>,
}
