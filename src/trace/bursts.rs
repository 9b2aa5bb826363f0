//! Short high currents that fall into some updates and not into others alike, such as a radio that transmits: they are set
//! apart and counted with the pulses.
//!
//! One that every update has at the same place belongs to the update (an inrush, a booster); with fewer than three updates
//! alike nothing can be told. Not for pulses between updates: see [`super::detect`].

use super::repeats::whole;
use super::{Plateau, Trace, Update};
use crate::units::{Coulombs, Seconds};

/// A burst is no longer than this, and no longer than this share of its update.
const LONGEST: Seconds = Seconds(0.05);
const SHARE: f64 = 0.05;
/// How far it stands above the levels that last.
const ABOVE: f64 = 4.0;
/// Updates are alike within this share of their length.
const ALIKE: f64 = 0.1;
/// Bursts of different updates are at one place within this time.
const PLACE: Seconds = Seconds(0.02);
/// Updates alike, at least.
const LEAST: usize = 3;
/// Levels beside a burst are one part within this share.
const LEVEL: f64 = 0.1;

/// Sets bursts apart; a caution says how many.
pub fn set_apart(trace: &mut Trace) {
    let found: Vec<Vec<usize>> = trace.updates.iter().map(|update| foreign(trace, update)).collect();
    let mut first = None;
    let mut count = 0;
    for (update, parts) in trace.updates.iter_mut().zip(found) {
        // From the last on, so that positions stay.
        for part in parts.into_iter().rev() {
            first.get_or_insert(update.start + update.steps[part].start);
            trace.pulses.charge += take(update, part);
            trace.pulses.count += 1;
            count += 1;
        }
    }
    if let Some(first) = first {
        trace.cautions.push(format!(
            "{count} short bursts during or just before updates do not come with all updates alike (first at {first}); \
             they are set apart and counted with the pulses."
        ));
    }
}

/// Short high parts of an update.
fn bursts(update: &Update) -> impl Iterator<Item = usize> + '_ {
    let short = |part: &Plateau| part.duration <= LONGEST && part.duration.0 <= SHARE * update.duration.0;
    let lasting = update.steps.iter().filter(|part| !short(part)).map(|part| part.current.0).fold(0.0, f64::max);
    let burst = move |part: &Plateau| short(part) && lasting > 0.0 && part.current.0 >= ABOVE * lasting;
    update.steps.iter().enumerate().filter(move |(_, part)| burst(part)).map(|(index, _)| index)
}

/// The bursts of an update that half of the updates alike or more do not have at that place.
fn foreign(trace: &Trace, update: &Update) -> Vec<usize> {
    let alike =
        |other: &&Update| !other.cut && (other.duration.0 - update.duration.0).abs() <= ALIKE * update.duration.0;
    if update.cut || bursts(update).next().is_none() {
        return Vec::new();
    }
    let others: Vec<&Update> = trace.updates.iter().filter(alike).collect();
    let there = |start: Seconds| {
        let at = |other: &Update| bursts(other).any(|part| (other.steps[part].start - start).0.abs() <= PLACE.0);
        others.iter().filter(|other| at(other)).count()
    };
    let rare = |part: &usize| others.len() >= LEAST && 2 * there(update.steps[*part].start) <= others.len();
    bursts(update).filter(rare).collect()
}

/// Takes a part out of an update: at its ends with its time, inside with its charge above the level before it. Gives that
/// charge.
fn take(update: &mut Update, part: usize) -> Coulombs {
    let burst = update.steps[part];
    let (first, last) = (part == 0, part + 1 == update.steps.len());
    let charge = if first || last {
        update.steps.remove(part);
        update.duration = update.duration - burst.duration;
        if first {
            update.start += burst.duration;
            update.steps.iter_mut().for_each(|step| step.start = step.start - burst.duration);
        }
        burst.charge()
    } else {
        let (before, after) = (update.steps[part - 1], update.steps[part + 1]);
        let level = before.current;
        let filled = Plateau { current: level, peak: before.peak, ..burst };
        let one = (before.current - after.current).0.abs() <= LEVEL * before.current.0.abs();
        let end = if one { part + 2 } else { part + 1 };
        let joined = if one { whole(&[before, filled, after]) } else { whole(&[before, filled]) };
        update.steps.splice(part - 1..end, [joined]);
        (burst.current - level) * burst.duration
    };
    if let Some(energy) = update.energy.filter(|_| update.charge.0 > 0.0) {
        update.energy = Some(energy * (1.0 - charge.0 / update.charge.0));
    }
    update.charge = update.charge - charge;
    let peak = update.steps.iter().map(|step| step.peak.0).fold(0.0, f64::max);
    update.peak = crate::units::Amps(peak) + update.baseline;
    charge
}
