//! How long the battery lasts: the day's mean draw through the cell's physics, for one device and for many.

use super::energy::draw;
use super::phases::{hardest, phases};
use super::standing::{events, standing};
use crate::cell::life::{CutOff, Discharge, EndedBy};
use crate::cell::load::{Load, Part};
use crate::cell::peak::Pull;
use crate::device::Device;
use crate::flow::tally::Tally;
use crate::hardware::rail::Draw;
use crate::inputs::Point;
use crate::refresh::update::{Change, Mode, work};
use crate::units::{Celsius, Coulombs, DAY, Ratio, Seconds, Volts};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// Devices drawn for the spread.
const DEVICES: u32 = 400;

/// The life of one device.
#[derive(Clone, Debug)]
pub struct Life {
    /// How long.
    pub time: Seconds,
    /// What ends it.
    pub limited_by: &'static str,
}

/// The spread of lives.
#[derive(Clone, Debug)]
pub struct Spread {
    /// Nine of ten devices last longer.
    pub p10: Life,
    /// Half of them last longer.
    pub p50: Life,
    /// One of ten lasts longer.
    pub p90: Life,
}

/// Mean pull of a device in use; `usage` scales what people cause.
pub fn mean_pull(device: &Device, point: &Point, tally: &Tally, usage: f64) -> Pull {
    let refreshes = draw(device, point, &tally.by_people) * usage + draw(device, point, &tally.by_itself);
    let rates: Vec<f64> = tally.events.iter().map(|count| tally.per_day(*count)).collect();
    let standing = standing(device, point).into_iter().chain(events(device, point, &rates)).map(|load| load.pull);
    standing.chain([refreshes.per(DAY * tally.days)]).sum()
}

/// The coldest temperature of the usage.
pub fn coldest(device: &Device) -> Celsius {
    device.usage.climate.low
}

/// The hardest pull of a full refresh at the coldest temperature, and the least battery voltage all rails need.
pub fn peak(device: &Device, point: &Point) -> (Pull, Volts) {
    let nothing = Change::NONE;
    let work = work(device, &nothing, Mode::Full, coldest(device)).unwrap_or_default();
    let minimum = least_input(device, point);
    let always: Pull = standing(device, point).into_iter().map(|load| load.pull).sum();
    (hardest(device, point, &phases(device, point, &work), minimum) + always, minimum)
}

/// The least battery voltage at which every rail holds its output.
pub fn least_input(device: &Device, point: &Point) -> Volts {
    let floor = device.battery.chemistry.minimum * f64::from(device.battery.series);
    let rails = device.board.rails.iter().map(|rail| rail.least_input(point));
    rails.fold(floor, |most, volts| if volts > most { volts } else { most })
}

/// Energy that the last screen needs at the coldest temperature: one full refresh.
pub fn last_screen(device: &Device, point: &Point) -> Draw {
    let nothing = Change::NONE;
    let work = work(device, &nothing, Mode::Full, coldest(device)).unwrap_or_default();
    draw(device, point, &work)
}

/// The charge that a new battery can give at the usage's mean temperature. `None` outside the cell's tables.
pub fn usable(device: &Device, point: &Point) -> Option<Coulombs> {
    device.battery.cell(point, Seconds(0.0)).usable_charge(device.usage.climate.mean()).ok()
}

/// The life of one device. `None` outside the cell's tables or when nothing ends it.
pub fn life(device: &Device, point: &Point, tally: &Tally, usage: f64) -> Option<Life> {
    let cell = device.battery.cell(point, Seconds(0.0));
    let case = cell.at(device.usage.climate.mean()).ok()?;
    let (peak, minimum) = peak(device, point);
    let cut_offs = [CutOff { peak, minimum }];
    let refreshes = tally.per_day(tally.full + tally.partial);
    let rated = device.panel.rated_refreshes.map(|rated| DAY * (rated as f64 / refreshes.max(1e-9)));
    let (limit, by) = match rated {
        Some(rated) if rated < device.battery.shelf => (rated, "the panel's rated number of refreshes"),
        _ => (device.battery.shelf, "the battery's age limit"),
    };
    let pull = mean_pull(device, point, tally, usage);
    let load = Load::of([Part { share: Ratio(1.0), pull }]).ok()?;
    let run = Discharge { case: &case, cut_offs: &cut_offs, age_limit: Some(limit) }.run(&load).ok()?;
    let limited_by = match run.ended_by {
        EndedBy::ChargeExhausted => "the usable charge",
        EndedBy::VoltageTooLow { .. } => "the voltage under the peak of a full refresh",
        EndedBy::Collapse { .. } | EndedBy::LoadCollapse => "a collapse of the voltage under load",
        EndedBy::AgeLimit => by,
    };
    Some(Life { time: run.time, limited_by })
}

/// Lives of devices drawn at random: inputs within their spread, usage from a lognormal law with mean 1.
pub fn spread(device: &Device, tally: &Tally) -> Option<Spread> {
    let mut lives: Vec<Life> = (0..DEVICES).filter_map(|number| drawn(device, tally, number)).collect();
    lives.sort_by(|a, b| a.time.0.total_cmp(&b.time.0));
    let last = lives.len().checked_sub(1)?;
    let at = |share: f64| lives[(share * last as f64).round() as usize].clone();
    Some(Spread { p10: at(0.1), p50: at(0.5), p90: at(0.9) })
}

/// One device drawn at random. Its number alone decides the draw, whatever thread makes it.
fn drawn(device: &Device, tally: &Tally, number: u32) -> Option<Life> {
    let mut random = ChaCha8Rng::seed_from_u64(device.usage.seed);
    random.set_stream(u64::from(number) + 1);
    let point = device.inputs.draw(&mut random);
    let sigma = (1.0 + device.usage.spread.0.powi(2)).ln().sqrt();
    let usage = (sigma * normal(&mut random) - sigma * sigma / 2.0).exp();
    life(device, &point, tally, usage)
}

/// A standard normal draw (Box and Muller 1958).
fn normal(random: &mut ChaCha8Rng) -> f64 {
    let (u, v): (f64, f64) = (1.0 - random.random::<f64>(), random.random());
    (-2.0 * u.ln()).sqrt() * (std::f64::consts::TAU * v).cos()
}
