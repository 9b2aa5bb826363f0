//! What a device does below a state of charge: one simulation for each stretch of the charge in which the conditions of
//! its rules hold alike, and a life that goes through them one after the other.
//!
//! The stretches follow from the numbers that conditions of events, sampled fields, loads and rules compare the charge with (a
//! field with `holds = "charge"`). Where the device is charged now and then, the simulation moves the charge itself.

use super::life::mean_load;
use crate::cell::life::{Discharge, EndedBy, Life, LifeFault};
use crate::cell::pulsed::Pulsed;
use crate::device::Device;
use crate::parameters::ParameterSample;
use crate::simulate::counts::{Counts, regimes};
use crate::simulate::switches::{Switched, switched};
use crate::table::table;
use crate::units::{Amps, Coulombs, Ratio, Seconds, figures};
use comfy_table::CellAlignment;
use serde_json::{Value, json};

/// A stretch of the charge and what is drawn in it.
pub struct Regime {
    /// It ends at this state of charge.
    pub until: Ratio,
    /// What is drawn.
    pub course: Pulsed,
}

/// A discharge from a charge on through the first so many regimes, the fullest first.
///
/// # Errors
/// See [`LifeFault`].
pub fn through(discharge: &Discharge<'_>, from: Coulombs, regimes: &[Regime], count: usize) -> Result<Life, LifeFault> {
    let case = discharge.case;
    let mut charge = from;
    let mut sum: Option<Life> = None;
    for (place, regime) in regimes.iter().enumerate().take(count) {
        let last = place + 1 == regimes.len();
        let until = if last { case.floor() } else { case.charge(regime.until) };
        if charge <= until && !last {
            continue;
        }
        let gone = sum.map_or(Seconds(0.0), |sum| sum.time);
        let age_limit = discharge.age_limit.map(|limit| Seconds((limit - gone).0.max(0.0)));
        let rest = Discharge { age_limit, ..*discharge };
        let part = rest.between(charge, until, &regime.course)?;
        charge = case.floor() + part.left;
        let whole = match sum {
            None => part,
            Some(sum) => sum.then(part),
        };
        if part.ended_by != EndedBy::ChargeExhausted {
            return Ok(whole);
        }
        sum = Some(whole);
    }
    match sum {
        // It begins below them.
        None if count < regimes.len() => Ok(Life::NOTHING),
        sum => sum.ok_or(LifeFault::Load),
    }
}

/// What changes at a state of charge in percent, in words.
pub fn who(device: &Device, percent: f64) -> Vec<String> {
    let here = switched(device).into_iter().filter(|(at, _)| (at - percent).abs() < 1e-9);
    let words = |(_, who): (f64, Switched)| match who {
        Switched::Event(event) => format!("event `{}`", device.events[event.0].name),
        Switched::Sampling(field) => format!("sampling of `{}`", device.fields[field.0].name),
        Switched::Load(load) => format!("load `{}`", device.board.loads[load].name),
        Switched::Rules(screen) => format!("rules of `{}`", device.screens[screen.0].id),
    };
    here.map(words).collect()
}

/// Each regime as it is told: from and to which state of charge, refreshes a day, mean current; none where there is one.
pub fn rows(device: &Device, counts: &Counts) -> Vec<(Ratio, Ratio, f64, Amps)> {
    if counts.below.is_empty() {
        return Vec::new();
    }
    let parameters: ParameterSample = device.inputs.typical();
    let nominal = device.battery.nominal();
    let mut upper = Ratio(1.0);
    let row = |(until, counts): (Ratio, &Counts)| {
        let from = std::mem::replace(&mut upper, until);
        let current = mean_load(device, &parameters, counts, 1.0, device.battery.nominal()).at(nominal);
        (from, until, counts.per_day(counts.full + counts.partial), current)
    };
    regimes(counts).map(row).collect()
}

/// A table of the regimes; nothing where there is one.
pub fn text(device: &Device, counts: &Counts) -> String {
    if counts.below.is_empty() {
        return String::new();
    }
    let mut table = table(&["state of charge", "refreshes a day", "mean current"]);
    for (from, until, refreshes, current) in rows(device, counts) {
        let range = format!("{} to {} %", figures(from.0 * 100.0), figures(until.0 * 100.0));
        table.add_row([range, figures(refreshes), current.to_string()]);
    }
    table.column_iter_mut().skip(1).for_each(|column| column.set_cell_alignment(CellAlignment::Right));
    format!("{table}\nThe tables of a day are those of the fullest battery; the life goes through all of them.\n")
}

/// The regimes for other programs; empty where there is one.
pub fn json(device: &Device, counts: &Counts) -> Vec<Value> {
    let row = |(from, until, refreshes, current): (Ratio, Ratio, f64, Amps)| json!({ "from_state_of_charge": from.0, "to_state_of_charge": until.0, "refreshes_per_day": refreshes, "mean_current_a": current.0 });
    rows(device, counts).into_iter().map(row).collect()
}
