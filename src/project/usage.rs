//! `[usage]` of `device.toml`: journeys, temperature, charging, the days simulated. Types only; their meaning is settled
//! in [`crate::project::settle`].

use crate::source::amount::{At, List, Named, Qty};
use crate::units::{Celsius, Ratio, Seconds};
use schemars::JsonSchema;
use serde::Deserialize;

/// How the device is used.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct UsageSpec {
    /// The screen shown at first and returned to.
    pub home: At<String>,
    /// The screen shown at power-up, from which a timer or a key leads on; absent: the home screen.
    pub start_up: Option<At<String>>,
    /// First day simulated, as `"2031-04-12"`.
    pub start: At<String>,
    /// Time of day of the sample images, as `"20:00"`.
    #[serde(default = "evening")]
    pub sample_at: At<String>,
    /// How many days are simulated; absent: 7, or 365 where the temperature moves over the year.
    pub days: Option<At<u32>>,
    /// Seed of every random number.
    #[serde(default)]
    pub seed: u64,
    /// Spread of usage between owners, as one standard deviation of the number of journeys.
    #[serde(default = "usage_spread")]
    pub spread: Qty<Ratio>,
    /// Temperature of the device over the day.
    pub temperature: At<TemperatureSpec>,
    /// When the device is at its charger; absent: it is used until it is empty.
    pub charging: Option<At<ChargingSpec>>,
    /// What people do with it.
    #[serde(default)]
    pub journeys: Named<JourneySpec>,
}

fn evening() -> At<String> {
    At { span: 0..0, value: "20:00".to_owned() }
}

fn usage_spread() -> Qty<Ratio> {
    Qty(Ratio(0.25))
}

/// Temperature over the day: a cosine between the night's low and the day's high, which may move over the year.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct TemperatureSpec {
    /// The day's lowest temperature, the same all year.
    pub low: Option<At<Qty<Celsius>>>,
    /// The day's highest temperature, the same all year.
    pub high: Option<At<Qty<Celsius>>>,
    /// In place of low and high: the two for each of the twelve months, January first. A pair stands for the middle of
    /// its month; between middles the temperature moves evenly.
    pub months: Option<At<Vec<List<Qty<Celsius>, 2>>>>,
    /// Time of the highest, as `"15:00"`.
    pub warmest: At<String>,
    /// How much warmer or colder devices are than one another, as one standard deviation of their mean.
    #[serde(default = "temperature_spread")]
    pub spread: Qty<Celsius>,
}

fn temperature_spread() -> Qty<Celsius> {
    Qty(Celsius(2.0))
}

/// When the device is at its charger.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct ChargingSpec {
    /// From one charge to the next, in whole days, as `"2 d"`.
    pub every: At<Qty<Seconds>>,
    /// When it begins, as `"21:00"`.
    pub at: At<String>,
    /// How long it stays there.
    #[serde(rename = "for")]
    pub length: At<Qty<Seconds>>,
}

/// Something people do with the device.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct JourneySpec {
    /// The screen it starts from; absent: the home screen. Where the device shows another one, the person first goes
    /// there by the shortest way of presses, or waits for timers.
    pub from: Option<At<String>>,
    /// It starts from whatever screen is shown.
    #[serde(default)]
    pub anywhere: bool,
    /// How often a day, at random times.
    pub per_day: Option<At<f64>>,
    /// In place of that: at these times of every day, as `["07:30", "19:00"]`.
    #[serde(default)]
    pub at: Vec<At<String>>,
    /// Between these hours, as `["06:00", "22:00"]`; absent: all day.
    pub between: Option<At<List<String, 2>>>,
    /// Each time it is made so often one after the other.
    pub session: Option<At<SessionSpec>>,
    /// What is pressed and how long one looks.
    pub steps: Vec<At<StepSpec>>,
}

/// A journey made several times one after the other, as on a round.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct SessionSpec {
    /// How often.
    pub times: u32,
    /// From one begin to the next.
    pub every: Qty<Seconds>,
}

/// One of several alternatives.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct WaySpec {
    /// How likely it is, as `"30 %"`.
    pub chance: Qty<Ratio>,
    /// Its steps.
    pub steps: Vec<At<StepSpec>>,
}

/// One step of a journey.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct StepSpec {
    /// The soft key pressed, counted from 1.
    pub press: Option<At<u32>>,
    /// How long the key is kept down; absent: a short press.
    pub hold: Option<At<Qty<Seconds>>>,
    /// How long one looks before the next step.
    pub look: Option<At<Qty<Seconds>>>,
    /// In place of all that: one of these alternatives is taken; where their chances are less than 100 % together, sometimes none.
    #[serde(default)]
    pub either: Vec<At<WaySpec>>,
    /// The step is done this many times.
    #[serde(default = "once")]
    pub times: u32,
}

fn once() -> u32 {
    1
}
