//! The share of time that each screen shows in the long run, by linear algebra instead of simulation.
//!
//! Where screens change only at times without memory (events a day at random hours, single presses at random hours) the
//! flow is a continuous-time Markov chain over the screens: from screen `i` to `j` at the rate `q(i, j)`, and the shares
//! `p` solve `p Q = 0`. Timers, alarms on a field and journeys of several presses have a memory; then there is no law.
//! The time that a refresh takes is left out.

use crate::behaviour::{Times, Wiring};
use crate::device::Device;
use crate::device::usage::Usage;
use crate::screen::ScreenId;
use crate::units::{DAY, Ratio};

/// The law of a memoryless flow.
#[derive(Clone, Debug, PartialEq)]
pub struct Law {
    /// Share of time of each screen.
    pub share: Vec<Ratio>,
    /// How often a day each screen is entered from another.
    pub entries_per_day: Vec<f64>,
}

/// Why a flow has no law.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Memory {
    /// A screen has a timer.
    Timer(ScreenId),
    /// An event leads to a screen and has hours, an interval or a condition.
    Event(usize),
    /// A journey has hours or more than one press.
    Journey(usize),
    /// Screens fall into parts that cannot be left: the long run depends on chance.
    Parts,
}

/// The law of a device's flow.
///
/// # Errors
/// What gives the flow a memory.
pub fn law(device: &Device) -> Result<Law, Memory> {
    let rates = rates(device)?;
    let follows: Vec<Vec<bool>> = (0..rates.len()).map(|from| follows(&rates, from)).collect();
    let home = device.usage.home.0;
    // The screens that are shown again and again: those from which every screen they lead to leads back.
    let returns = |from: usize| (0..rates.len()).all(|to| !follows[from][to] || follows[to][from]);
    let reached = (0..rates.len()).filter(|screen| *screen == home || follows[home][*screen]);
    let kept: Vec<usize> = reached.filter(|screen| returns(*screen)).collect();
    let Some(first) = kept.first() else { return Err(Memory::Parts) };
    if kept.iter().any(|screen| !follows[*first][*screen]) {
        return Err(Memory::Parts);
    }
    let part: Vec<Vec<f64>> = kept.iter().map(|from| kept.iter().map(|to| rates[*from][*to]).collect()).collect();
    let shares = stationary(part);
    let mut share = vec![Ratio(0.0); rates.len()];
    for (screen, found) in kept.iter().zip(shares) {
        share[*screen] = Ratio(found);
    }
    let entries =
        |to: usize| (0..rates.len()).filter(|from| *from != to).map(|from| share[from].0 * rates[from][to]).sum();
    let entries_per_day = (0..rates.len()).map(entries).collect();
    Ok(Law { share, entries_per_day })
}

/// Moves a day from each screen (row) to each other.
fn rates(device: &Device) -> Result<Vec<Vec<f64>>, Memory> {
    let screens = device.screens.len();
    let mut rates = vec![vec![0.0; screens]; screens];
    let presses = presses(&device.usage, device.display.keys.len())?;
    for (from, wiring) in device.wirings.iter().enumerate() {
        if !wiring.timers.is_empty() {
            return Err(Memory::Timer(ScreenId(from)));
        }
        for (event, reaction) in &wiring.events {
            let Some((None, Some(to))) = reaction.plain() else { return Err(Memory::Event(event.0)) };
            match device.events[event.0].times {
                Times::PerDay(rate, hours) if hours.length >= DAY => rates[from][to.0] += rate,
                _ => return Err(Memory::Event(event.0)),
            }
        }
        for (key, to) in keys(wiring) {
            rates[from][to.0] += presses[key];
        }
    }
    (0..screens).for_each(|screen| rates[screen][screen] = 0.0);
    Ok(rates)
}

fn keys(wiring: &Wiring) -> impl Iterator<Item = (usize, ScreenId)> + '_ {
    wiring.keys.iter().enumerate().filter_map(|(key, rule)| Some((key, rule.press.plain()?.1?)))
}

/// Presses of each key a day.
fn presses(usage: &Usage, keys: usize) -> Result<Vec<f64>, Memory> {
    let mut presses = vec![0.0; keys];
    for (index, journey) in usage.journeys.iter().enumerate() {
        let mut pressed = journey.steps.iter().enumerate().filter_map(|(step, done)| Some((step, done.press?)));
        match (pressed.next(), pressed.next()) {
            (None, _) => {}
            _ if !journey.times.is_empty() || !journey.choices.is_empty() || journey.session.times > 1 => {
                return Err(Memory::Journey(index));
            }
            // The first step is done at once; a press after a look comes at random too, only later.
            (Some((_, key)), None) if journey.hours.length >= DAY && journey.from.is_none() => {
                presses[key] += journey.per_day
            }
            _ => return Err(Memory::Journey(index)),
        }
    }
    Ok(presses)
}

/// For each screen, whether it can follow after one or more moves.
fn follows(rates: &[Vec<f64>], from: usize) -> Vec<bool> {
    let mut seen = vec![false; rates.len()];
    let mut open = vec![from];
    while let Some(at) = open.pop() {
        for to in (0..rates.len()).filter(|to| rates[at][*to] > 0.0) {
            if !std::mem::replace(&mut seen[to], true) {
                open.push(to);
            }
        }
    }
    // A screen that is never left stays with itself.
    seen[from] |= rates[from].iter().all(|rate| *rate == 0.0);
    seen
}

/// The shares of an irreducible chain with these rates, its diagonal not read: state reduction without subtractions,
/// so that no digits are lost (Grassmann, Taksar and Heyman, Operations Research 33 (1985) 1107-1116).
fn stationary(mut rates: Vec<Vec<f64>>) -> Vec<f64> {
    let count = rates.len();
    let mut leaves = vec![0.0; count];
    for last in (1..count).rev() {
        let out: f64 = rates[last][..last].iter().sum();
        leaves[last] = out;
        for from in 0..last {
            for to in (0..last).filter(|to| *to != from) {
                rates[from][to] += rates[from][last] * rates[last][to] / out;
            }
        }
    }
    let mut share = vec![1.0; count];
    for state in 1..count {
        let into: f64 = (0..state).map(|from| share[from] * rates[from][state]).sum();
        share[state] = into / leaves[state];
    }
    let sum: f64 = share.iter().sum();
    share.into_iter().map(|one| one / sum).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_states_share_the_time_as_their_rates_say() {
        let share = stationary(vec![vec![0.0, 2.0], vec![6.0, 0.0]]);
        assert!((share[0] - 0.75).abs() < 1e-15 && (share[1] - 0.25).abs() < 1e-15);
    }

    #[test]
    fn a_birth_and_death_chain_has_its_product_form() {
        // p(n) is in proportion to the product of births over deaths up to n (Erlang's loss system with three lines
        // and 1.5 erlangs: blocking 0.1344, from p(3) = (1.5^3 / 6) / (1 + 1.5 + 1.5^2 / 2 + 1.5^3 / 6)).
        let mut rates = vec![vec![0.0; 4]; 4];
        for busy in 0..3 {
            rates[busy][busy + 1] = 1.5;
            rates[busy + 1][busy] = (busy + 1) as f64;
        }
        let share = stationary(rates);
        let expected = (1.5f64.powi(3) / 6.0) / (1.0 + 1.5 + 1.125 + 1.5f64.powi(3) / 6.0);
        assert!((share[3] - expected).abs() < 1e-15 && (share[3] - 0.1343).abs() < 1e-4, "{share:?}");
    }

    #[test]
    fn what_flows_in_flows_out() {
        let rates: Vec<Vec<f64>> =
            (0..7).map(|from| (0..7).map(|to| f64::from((from * 5 + to * 3) % 7 + 1) * 0.3).collect()).collect();
        let share = stationary(rates.clone());
        for state in 0..7 {
            let others = || (0..7).filter(move |other| *other != state);
            let into: f64 = others().map(|from| share[from] * rates[from][state]).sum();
            let out: f64 = others().map(|to| share[state] * rates[state][to]).sum();
            assert!((into - out).abs() < 1e-14, "{into} {out}");
        }
    }

    #[test]
    fn a_screen_that_is_never_left_is_reached_from_itself() {
        let rates = vec![vec![0.0, 1.0], vec![0.0, 0.0]];
        assert_eq!(follows(&rates, 1), [false, true]);
        assert_eq!(follows(&rates, 0), [false, true]);
    }
}
