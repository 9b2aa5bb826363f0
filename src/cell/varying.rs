//! A mean load that changes with the terminal voltage otherwise than currents and powers do: behind efficiencies over the
//! input voltage and rails that follow their input.
//!
//! It is calculated at a few voltages once, not anew along a discharge. Between the voltages at which it bends it is smooth;
//! a piece is a parabola through three points, halved until a fourth point lies on it unless they are nearly in line.
//! Not for what is drawn: see [`crate::budget::life`].

use super::case::Point;
use super::life::LifeFault;
use super::load::{Draw, Drawn};
use super::peak::{LoadCurrent, Terminal, terminal};
use super::polynomial::Polynomial;
use super::series::SECOND;
use crate::units::{Amps, Ohms, Volts, Watts};

/// Largest relative miss at a point that a piece was not made from.
const CLOSE: f64 = 1e-5;
/// Largest relative miss of a straight line in the middle for which the parabola needs no proof: what it leaves is of
/// the next order.
const STRAIGHT: f64 = 1e-4;
/// Relative difference of a piece's ends for which it is a straight line: what that misses is of the order of its square.
const ALIKE: f64 = 0.01;
/// Halvings of a piece: where a step lies in it they end.
const DEEPEST: u32 = 5;
/// Largest relative miss of a whole current as a polynomial: far below that of the piece itself.
const WHOLE: f64 = 1e-7;
/// A fall of the voltage, relative to that without load, over which a load changes in a straight line.
const NEAR: f64 = 1e-4;
/// The least part of the voltage without load at which the other, unstable voltage is far: it is below a half.
const LITTLE: f64 = 0.8;
/// The least steepness for which a step of Newton's method is trusted.
const STEEP: f64 = 0.5;
/// A step of Newton's method, relative to the voltage without load, after which a straight line is right to 1e-10.
const NEARER: f64 = 1e-5;
/// Steps of Newton's method: two are usual.
const STEPS: usize = 4;
/// Substitutions until the voltage stays; each is a small part of the one before.
const ROUNDS: usize = 100;

/// A mean load over the terminal voltage. Beyond its ends the nearest counts.
#[derive(Clone, Debug)]
pub struct Varying {
    /// In order of their voltages, each beginning where the one before ends; at least one.
    pieces: Vec<Piece>,
    /// The voltages at which a piece ends and another begins, with the whole current there.
    bends: Vec<(Volts, Amps)>,
}

/// Current and power between two voltages.
#[derive(Clone, Copy, Debug)]
struct Piece {
    low: f64,
    high: f64,
    /// What turns volts beyond `low` into twice a share of the way.
    scale: f64,
    current: Parabola,
    power: Parabola,
    /// The whole current, from -1 at `low` to 1 at `high`, where a polynomial tells it and both parts are amounts.
    whole: Option<Polynomial>,
}

/// Through values at the beginning, middle and end of a piece. Powers over an efficiency that is a straight line are
/// straight as reciprocals, so those are taken where all three are above zero.
#[derive(Clone, Copy, Debug)]
struct Parabola {
    /// Factors of 1, `x` and `x^2`, with `x` from -1 to 1.
    factors: [f64; 3],
    reciprocal: bool,
}

impl Parabola {
    fn through(values: [f64; 3]) -> Self {
        let reciprocal = values.iter().all(|value| *value > 0.0) && values != [values[0]; 3];
        let [low, middle, high] = if reciprocal { values.map(f64::recip) } else { values };
        Self { factors: [middle, 0.5 * (high - low), 0.5 * (high + low) - middle], reciprocal }
    }

    /// The straight line through two values, or through their reciprocals.
    fn straight(low: f64, high: f64) -> Self {
        let middle = if low > 0.0 && high > 0.0 { 2.0 / (low.recip() + high.recip()) } else { 0.5 * (low + high) };
        Self::through([low, middle, high])
    }

    /// The value, and how it changes with `x`.
    fn at(self, x: f64) -> [f64; 2] {
        let [one, first, second] = self.factors;
        let value = one + x * (first + x * second);
        let slope = first + 2.0 * x * second;
        if self.reciprocal {
            let value = value.recip();
            [value, -slope * value * value]
        } else {
            [value, slope]
        }
    }
}

impl Piece {
    fn through(low: (f64, LoadCurrent), middle: LoadCurrent, high: (f64, LoadCurrent)) -> Self {
        let of = |part: fn(&LoadCurrent) -> f64| Parabola::through([part(&low.1), part(&middle), part(&high.1)]);
        Self::of((low.0, high.0), of(|load_current| load_current.current.0), of(|load_current| load_current.power.0))
    }

    fn straight(low: (f64, LoadCurrent), high: (f64, LoadCurrent)) -> Self {
        let of = |part: fn(&LoadCurrent) -> f64| Parabola::straight(part(&low.1), part(&high.1));
        Self::of((low.0, high.0), of(|load_current| load_current.current.0), of(|load_current| load_current.power.0))
    }

    fn of((low, high): (f64, f64), current: Parabola, power: Parabola) -> Self {
        let scale = if high > low { 2.0 / (high - low) } else { 0.0 };
        let mut piece = Self { low, high, scale, current, power, whole: None };
        piece.whole = piece.told_by_polynomial();
        piece
    }

    fn told_by_polynomial(&self) -> Option<Polynomial> {
        let amps = |x: f64| {
            let ([current, _], [power, _]) = (self.current.at(x), self.power.at(x));
            let sound = |part: f64| part.is_finite() && part >= 0.0;
            let volts = self.low + 0.5 * (x + 1.0) * (self.high - self.low);
            if sound(current) && sound(power) { current + power / volts } else { f64::NAN }
        };
        let whole = Polynomial::through(amps);
        // Where it may miss most.
        let met = |x: f64| (whole.at(x)[0] - amps(x)).abs() <= WHOLE * amps(x);
        (self.scale > 0.0 && [-1.0, 0.0, 1.0].into_iter().all(met)).then_some(whole)
    }

    /// The load current, and how it changes with each volt.
    fn at(&self, volts: f64) -> [LoadCurrent; 2] {
        let along = (volts - self.low) * self.scale;
        let within = along.clamp(0.0, 2.0);
        let (x, scale) = (within - 1.0, if along == within { self.scale } else { 0.0 });
        let ([current, rise], [power, growth]) = (self.current.at(x), self.power.at(x));
        let load_current = |current, power| LoadCurrent { current: Amps(current), power: Watts(power) };
        [load_current(current, power), load_current(rise * scale, growth * scale)]
    }
}

impl Piece {
    /// The current and the voltage that it leaves of a source, by the first and second order of the whole current around a
    /// voltage of the piece that is near; else `None`.
    #[inline]
    fn settle(&self, around: f64, ocv: Volts, ohms: Ohms) -> Option<(f64, f64)> {
        if around > self.high {
            return None;
        }
        let [amps, slope, bend] = self.whole.as_ref()?.at((around - self.low) * self.scale - 1.0);
        let (rise, bend) = (slope * self.scale, bend * self.scale * self.scale);
        let flatter = (1.0 + ohms.0 * rise).recip();
        let first = (ocv.0 - around - ohms.0 * amps) * flatter;
        let fall = first - ohms.0 * bend * first * first * flatter;
        let near = first.abs() <= SECOND * ocv.0 && flatter > 0.0 && flatter * STEEP < 1.0;
        near.then_some((amps + fall * (rise + fall * bend), around + fall))
    }

    fn is_nearly_straight(&self) -> bool {
        let bent = |parabola: Parabola| parabola.factors[2].abs() <= STRAIGHT * parabola.factors[0].abs();
        bent(self.current) && bent(self.power)
    }
}

impl Varying {
    /// Of a load that is smooth between these voltages, in rising order; at least one.
    pub fn of(volts: &[Volts], load_current: impl Fn(Volts) -> LoadCurrent) -> Self {
        let ends: Vec<(f64, LoadCurrent)> = volts.iter().map(|volts| (volts.0, load_current(*volts))).collect();
        let mut pieces = Vec::new();
        for pair in ends.windows(2) {
            if alike(pair[0].1, pair[1].1) {
                pieces.push(Piece::straight(pair[0], pair[1]));
                continue;
            }
            let middle = load_current(Volts(0.5 * (pair[0].0 + pair[1].0)));
            halve(&load_current, [pair[0], pair[1]], middle, DEEPEST, &mut pieces);
        }
        if let (true, Some(only)) = (pieces.is_empty(), ends.first()) {
            pieces.push(Piece::through(*only, only.1, *only));
        }
        let mut all = Self { bends: Vec::with_capacity(pieces.len() + 1), pieces };
        for piece in 0..=all.pieces.len() {
            let Some(volts) = all.pieces.get(piece).map_or(all.pieces.last().map(|last| last.high), |at| Some(at.low))
            else {
                break;
            };
            all.bends.push((Volts(volts), all.at(Volts(volts)).at(Volts(volts))));
        }
        all
    }

    /// The load current at a terminal voltage.
    pub fn at(&self, volts: Volts) -> LoadCurrent {
        self.around(volts)[0]
    }

    /// The voltages at which its pieces end.
    pub(super) fn edges(&self) -> impl Iterator<Item = f64> {
        self.pieces.iter().flat_map(|piece| [piece.low, piece.high])
    }

    /// The first factors of the whole current around a terminal voltage, where a polynomial tells it.
    #[inline]
    pub(super) fn whole_around(&self, volts: Volts) -> Option<[f64; 3]> {
        let piece =
            self.pieces.iter().rev().find(|piece| piece.low <= volts.0).filter(|piece| volts.0 <= piece.high)?;
        let [amps, slope, bend] = piece.whole.as_ref()?.at((volts.0 - piece.low) * piece.scale - 1.0);
        Some([amps, slope * piece.scale, bend * piece.scale * piece.scale])
    }

    /// The load current at a terminal voltage, and how it changes with each volt there.
    fn around(&self, volts: Volts) -> [LoadCurrent; 2] {
        let piece = self.pieces.iter().rev().find(|piece| piece.low <= volts.0).or(self.pieces.first());
        piece.map_or([LoadCurrent::default(); 2], |piece| piece.at(volts.0))
    }
}

fn alike(a: LoadCurrent, b: LoadCurrent) -> bool {
    let close = |a: f64, b: f64| (a - b).abs() <= ALIKE * a.abs().min(b.abs());
    close(a.current.0, b.current.0) && close(a.power.0, b.power.0)
}

/// Pieces between two voltages, halved while they miss what is drawn in between.
fn halve(
    load_current: &impl Fn(Volts) -> LoadCurrent,
    [low, high]: [(f64, LoadCurrent); 2],
    middle: LoadCurrent,
    depth: u32,
    pieces: &mut Vec<Piece>,
) {
    let piece = Piece::through(low, middle, high);
    if piece.is_nearly_straight() {
        pieces.push(piece);
        return;
    }
    let (centre, proof) = (0.5 * (low.0 + high.0), 0.25 * low.0 + 0.75 * high.0);
    let found = load_current(Volts(proof));
    let (right, taken) = (found.at(Volts(proof)).0, piece.at(proof)[0].at(Volts(proof)).0);
    if depth == 0 || (taken - right).abs() <= CLOSE * right.abs() {
        pieces.push(piece);
        return;
    }
    let first = load_current(Volts(0.75 * low.0 + 0.25 * high.0));
    halve(load_current, [low, (centre, middle)], first, depth - 1, pieces);
    halve(load_current, [(centre, middle), high], found, depth - 1, pieces);
}

impl Varying {
    /// Current and power at the voltage that its own load current leaves of a source, the upper, stable one.
    pub(super) fn settle(&self, ocv: Volts, ohms: Ohms) -> Result<Draw, LifeFault> {
        match self.settle_within(ocv, ohms).or_else(|| self.settle_near(ocv, ohms)) {
            Some(draw) => Ok(draw),
            None => self.settle_anywhere(ocv, ohms),
        }
    }

    /// By the first and second order of the whole current around the voltage without load, or around the nearest end of the
    /// piece below where the voltage that is left lies there; else `None`.
    #[inline]
    fn settle_within(&self, ocv: Volts, ohms: Ohms) -> Option<Draw> {
        let place = self.pieces.iter().rposition(|piece| piece.low <= ocv.0)?;
        match self.pieces[place].settle(ocv.0, ocv, ohms)? {
            (amps, volts) if volts >= self.pieces[place].low => Some((Amps(amps), Watts(amps * volts))),
            _ => {
                let below = self.pieces[..place].last()?;
                let (amps, volts) = below.settle(below.high, ocv, ohms)?;
                (volts >= below.low && volts <= below.high).then_some((Amps(amps), Watts(amps * volts)))
            }
        }
    }

    /// By Newton's method, where the source loses so little that the upper voltage is the only one near; else `None`.
    fn settle_near(&self, ocv: Volts, ohms: Ohms) -> Option<Draw> {
        let mut volts = ocv.0 - ohms.0 * self.around(ocv)[0].at(ocv).0;
        for _ in 0..STEPS {
            if volts.is_nan() || volts < LITTLE * ocv.0 {
                return None;
            }
            let [LoadCurrent { current, power }, slope] = self.around(Volts(volts));
            let amps = current.0 + power.0 / volts;
            let rise = slope.current.0 + (slope.power.0 - power.0 / volts) / volts;
            // How much steeper than the voltage what is missing falls; 0 where the voltage collapses.
            let steep = 1.0 + ohms.0 * rise;
            let sound = |part: f64| part.is_finite() && part >= 0.0;
            if !(sound(current.0) && sound(power.0) && steep > STEEP) {
                return None;
            }
            let step = (ocv.0 - ohms.0 * amps - volts) / steep;
            if step.abs() <= NEARER * ocv.0 {
                let (amps, volts) = (amps + rise * step, volts + step);
                return Some((Amps(amps), Watts(amps * volts)));
            }
            volts += step;
        }
        None
    }

    /// By repeated substitution, closing in on the upper voltage wherever there is one.
    fn settle_anywhere(&self, ocv: Volts, ohms: Ohms) -> Result<Draw, LifeFault> {
        let mut volts = ocv;
        for _ in 0..ROUNDS {
            let [load_current, slope] = self.around(volts);
            if ![load_current.current.0, load_current.power.0].iter().all(|part| part.is_finite() && *part >= 0.0) {
                return Err(LifeFault::LoadRefused { at: volts });
            }
            let Terminal::Holds(next) = terminal(ocv, ohms, load_current) else { break };
            let fall = (next - volts).0;
            // What the change of the load current over the fall changes in the next fall.
            let changed = (slope.current.0 * fall, slope.power.0 * fall);
            if fall.abs() <= NEAR * ocv.0 && ohms.0 * (changed.0 + changed.1 / next.0).abs() <= 1e-10 * ocv.0 {
                let load_current = load_current + LoadCurrent { current: Amps(changed.0), power: Watts(changed.1) };
                return Ok((load_current.at(next), next * load_current.current + load_current.power));
            }
            volts = next;
        }
        Err(LifeFault::Unbearable { at: ocv })
    }
}

impl Drawn for Varying {
    fn drawn(&self, at: Point) -> Result<Draw, LifeFault> {
        let (ocv, ohms) = at.source();
        self.settle(ocv, ohms)
    }

    fn bends(&self) -> &[(Volts, Amps)] {
        &self.bends
    }
}

#[cfg(test)]
mod tests;
