//! A capacitor beside the battery: what the terminals do under loads that follow one another while it gives and takes.
//!
//! The battery is a voltage `E` behind `R`, the capacitor one of `u` behind its series resistance `r`. With a current `i`
//! and a power `p` drawn, Kirchhoff's current law at the terminals is `(E - v) / R + (u - v) / r = i + p / v`, and
//! `C du/dt = (v - u) / r`. While `i` and `p` stay, `u` is a function of `v`, so that time is an integral over `v`:
//! `dt = -R C ((1 + r/R) v^2 - r p) / (v Q) dv` with `Q = v^2 + (R i - E) v + R p`. It is taken in closed form by partial
//! fractions and solved for `v`. Under a current alone that is an exponential with `(R + r) C`.
//!
//! Not for which loads follow one another: see `crate::cost::dip`.

use super::peak::{LoadCurrent, Terminal, terminal};
use crate::units::{Amps, Farads, Ohms, Seconds, Volts};
use std::sync::Arc;

/// A capacitor.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Capacitor {
    /// Its capacitance.
    pub capacitance: Farads,
    /// Its series resistance (ESR).
    pub resistance: Ohms,
}

impl Capacitor {
    /// `(R + r) C`: the time in which its voltage comes up to a part 1/e of what was missing.
    pub fn time_constant(self, source: Ohms) -> Seconds {
        Seconds((source.0 + self.resistance.0) * self.capacitance.0)
    }

    /// What is left of a pulse's own cost: the losses in both resistances, over those in the battery alone.
    ///
    /// Of a rectangular pulse of a time `t` the battery gives `i (1 - k e^(-s/T))` after `s`, with `k = R / (R + r)` and
    /// `T = (R + r) C`, and then `i k (1 - e^(-t/T)) e^(-s/T)`. The integral of the losses in `R` and `r`, over
    /// `R i^2 t`, is `1 - k (T/t) (1 - e^(-t/T))`. Of pulses so close together that the capacitor is not yet full again
    /// it is an upper bound.
    pub fn left_of_a_pulse(self, source: Ohms, time: Seconds) -> f64 {
        let constant = self.time_constant(source).0;
        if source.0 <= 0.0 || constant <= 0.0 || time.0 <= 0.0 {
            return 1.0;
        }
        let along = time.0 / constant;
        1.0 - source.0 / (source.0 + self.resistance.0) * -(-along).exp_m1() / along
    }
}

/// Something that is drawn for a time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Leg {
    /// What is drawn.
    pub load_current: LoadCurrent,
    /// How long.
    pub time: Seconds,
}

/// Legs that come again and again.
#[derive(Clone, Debug, PartialEq)]
pub struct Train {
    /// One after the other; between them and the next nothing but what is always drawn.
    pub legs: Vec<Leg>,
    /// From one beginning to the next.
    pub period: Seconds,
}

/// Loads that follow one another beside a capacitor.
#[derive(Clone, Debug, PartialEq)]
pub struct Buffered {
    /// The capacitor.
    pub capacitor: Capacitor,
    /// What is always drawn.
    pub always: LoadCurrent,
    /// What came again and again before, each included in `legs` as its mean: the capacitor may not be full.
    pub trains: Vec<Train>,
    /// What follows, `always` included in each.
    pub legs: Vec<Leg>,
}

/// The lowest voltage along legs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Dip {
    /// It.
    pub terminal: Terminal,
    /// The leg in which it lies.
    pub leg: usize,
    /// When, after the beginning of the first leg.
    pub at: Seconds,
}

/// The largest load in one moment; beside a capacitor, what leads to it and follows.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Peak {
    /// What is drawn at the terminals in that moment.
    pub load_current: LoadCurrent,
    /// The legs around it, where there is a capacitor.
    pub buffered: Option<Arc<Buffered>>,
}

impl From<LoadCurrent> for Peak {
    fn from(load_current: LoadCurrent) -> Self {
        Self { load_current, buffered: None }
    }
}

impl Peak {
    /// What the terminals do under it.
    pub fn terminal(&self, ocv: Volts, ohms: Ohms) -> Terminal {
        match &self.buffered {
            None => terminal(ocv, ohms, self.load_current),
            Some(buffered) => buffered.dip(ocv, ohms).terminal,
        }
    }

    /// The current that the battery itself gives then.
    pub fn battery_current(&self, ocv: Volts, ohms: Ohms, at: Volts) -> Amps {
        match (&self.buffered, self.terminal(ocv, ohms)) {
            (Some(_), Terminal::Holds(volts)) if ohms.0 > 0.0 => (ocv - volts) / ohms,
            _ => self.load_current.at(at),
        }
    }
}

/// The circuit of one battery and one capacitor.
#[derive(Clone, Copy, Debug)]
struct Circuit {
    ocv: f64,
    ohms: f64,
    esr: f64,
    farads: f64,
}

/// What a leg comes to.
#[derive(Clone, Copy, Debug)]
enum Reached {
    /// The terminals' voltage at its beginning and end, and the capacitor's at its end.
    End { first: f64, last: f64, capacitor: f64 },
    /// No voltage bears it any longer after this time.
    Collapse(f64),
}

impl Circuit {
    /// The terminals' voltage while the capacitor is at `u`.
    fn volts(&self, u: f64, load_current: LoadCurrent) -> Option<f64> {
        let both = self.ohms + self.esr;
        let source = (self.ocv * self.esr + u * self.ohms) / both;
        terminal(Volts(source), Ohms(self.ohms * self.esr / both), load_current).volts().map(f64::from)
    }

    /// The capacitor's voltage that belongs to the terminals'.
    fn capacitor(&self, v: f64, load_current: LoadCurrent) -> f64 {
        v + self.esr * (load_current.current.0 + load_current.power.0 / v - (self.ocv - v) / self.ohms)
    }

    /// A leg from the capacitor's voltage on.
    fn run(&self, u: f64, leg: Leg) -> Reached {
        let Some(first) = self.volts(u, leg.load_current) else { return Reached::Collapse(0.0) };
        let end = |last: f64| Reached::End { first, last, capacitor: self.capacitor(last, leg.load_current) };
        if leg.load_current.power.0 == 0.0 {
            let settled = self.ocv - self.ohms * leg.load_current.current.0;
            let constant = (self.ohms + self.esr) * self.farads;
            let last = settled + (first - settled) * (-leg.time.0 / constant).exp();
            if last > 0.0 {
                return end(last);
            }
            return Reached::Collapse(constant * ((first - settled) / -settled).ln());
        }
        let law = Law::new(self, leg.load_current, first);
        if let Some(settled) = law.settled {
            // So far from the beginning that nothing is left of the way to go.
            const WHOLE: f64 = 36.0;
            let way = first - settled;
            if way.abs() <= 1e-13 * settled || WHOLE * law.slowest(first.min(settled)) < 0.9 * leg.time.0 {
                return end(settled);
            }
            let law = law.from(first);
            let at = |s: f64| settled + way * (-s).exp();
            if law.time(at(WHOLE)) <= leg.time.0 {
                return end(settled);
            }
            return end(at(zero(|s| law.time(at(s)) - leg.time.0, 0.0, WHOLE)));
        }
        let law = law.from(first);
        // Below this voltage the load no longer finds one.
        let fold = (self.esr * leg.load_current.power.0 / (1.0 + self.esr / self.ohms)).sqrt().max(1e-9 * first);
        let time = law.time(fold);
        if time <= leg.time.0 {
            return Reached::Collapse(time);
        }
        end(zero(|v| leg.time.0 - law.time(v), fold, first))
    }
}

/// Time as a function of the terminals' voltage under a power, from a voltage on.
struct Law {
    /// `-R C`.
    scale: f64,
    /// The parts of the fraction: `one / v + (two v + three) / Q`.
    one: f64,
    two: f64,
    three: f64,
    /// `Q = v^2 + p v + q`.
    p: f64,
    q: f64,
    /// The integral at the beginning.
    begin: f64,
    /// Where the voltage tends to; none where nothing holds it.
    settled: Option<f64>,
}

impl Law {
    fn new(circuit: &Circuit, load_current: LoadCurrent, first: f64) -> Self {
        let share = circuit.esr / circuit.ohms;
        let (p, q) = (circuit.ohms * load_current.current.0 - circuit.ocv, circuit.ohms * load_current.power.0);
        let root = p * p - 4.0 * q;
        let bears = root >= 0.0 && p < 0.0 && first > 0.5 * (-p - root.max(0.0).sqrt());
        Self {
            scale: -circuit.ohms * circuit.farads,
            one: -share,
            two: 1.0 + 2.0 * share,
            three: share * p,
            p,
            q,
            begin: 0.0,
            settled: bears.then(|| 0.5 * (-p + root.sqrt())),
        }
    }

    /// Time counted from this voltage on.
    fn from(self, first: f64) -> Self {
        Self { begin: self.integral(first), ..self }
    }

    /// The longest time in which a part 1/e of the way to where it settles is left, from this voltage or a higher one on.
    ///
    /// With `Q = (v - s)(v - f)` and `s - v = w e^-x` it is `dt/dx = RC ((1 + r/R) v^2 - r p) / (v (v - f))`, at most
    /// `RC (1 + r/R) v / (v - f)`, which falls with `v`.
    fn slowest(&self, lowest: f64) -> f64 {
        let falls = -self.p - self.settled.unwrap_or(f64::NAN);
        -self.scale * (1.0 - self.one) * lowest / (lowest - falls)
    }

    fn integral(&self, v: f64) -> f64 {
        let (p, q, square) = (self.p, self.q, v * v + self.p * v + self.q);
        let root = p * p - 4.0 * q;
        let reciprocal = if root > 0.0 {
            let root = root.sqrt();
            ((2.0 * v + p - root) / (2.0 * v + p + root)).abs().ln() / root
        } else if root < 0.0 {
            let root = (-root).sqrt();
            2.0 / root * ((2.0 * v + p) / root).atan()
        } else {
            -2.0 / (2.0 * v + p)
        };
        self.one * v.ln() + 0.5 * self.two * square.abs().ln() + (self.three - 0.5 * self.two * p) * reciprocal
    }

    /// When the voltage is reached.
    fn time(&self, v: f64) -> f64 {
        self.scale * (self.integral(v) - self.begin)
    }
}

/// Where a function that rises from below 0 to above it is 0: regula falsi by the Illinois rule, whose bracket never opens.
fn zero(f: impl Fn(f64) -> f64, mut low: f64, mut high: f64) -> f64 {
    let (mut below, mut above, mut side) = (f(low), f(high), 0);
    if below >= 0.0 {
        return low;
    }
    for _ in 0..80 {
        let middle = match above.is_finite() {
            true => (low * above - high * below) / (above - below),
            false => 0.5 * (low + high),
        };
        if high - low <= 1e-14 * high.abs() || middle <= low || middle >= high {
            break;
        }
        let value = f(middle);
        if value == 0.0 {
            return middle;
        }
        if value < 0.0 {
            (low, below) = (middle, value);
            above = if side == -1 { 0.5 * above } else { above };
            side = -1;
        } else {
            (high, above) = (middle, value);
            below = if side == 1 { 0.5 * below } else { below };
            side = 1;
        }
    }
    if -below < above { low } else { high }
}

impl Buffered {
    /// The lowest voltage of the terminals along the legs, on a battery of this voltage and resistance.
    pub fn dip(&self, ocv: Volts, ohms: Ohms) -> Dip {
        let (farads, esr) = (self.capacitor.capacitance.0, self.capacitor.resistance.0);
        let circuit = Circuit { ocv: ocv.0, ohms: ohms.0.max(1e-12 * ocv.0), esr, farads };
        let collapse = |leg, at| Dip { terminal: Terminal::Collapses, leg, at: Seconds(at) };
        let Some(rest) = terminal(ocv, ohms, self.always).volts() else { return collapse(0, 0.0) };
        let mut u = rest.0;
        for train in &self.trains {
            let Some(before) = self.before(&circuit, rest.0, train) else { return collapse(0, 0.0) };
            u -= rest.0 - before;
        }
        let (mut low, mut begin) = (Dip { terminal: Terminal::Holds(rest), leg: 0, at: Seconds(0.0) }, 0.0);
        for (index, leg) in self.legs.iter().enumerate() {
            match circuit.run(u, *leg) {
                Reached::Collapse(after) => return collapse(index, begin + after),
                Reached::End { first, last, capacitor } => {
                    for (volts, at) in [(first, begin), (last, begin + leg.time.0)] {
                        if low.terminal.volts().is_some_and(|lowest| volts < lowest.0) {
                            low = Dip { terminal: Terminal::Holds(Volts(volts)), leg: index, at: Seconds(at) };
                        }
                    }
                    u = capacitor;
                }
            }
            begin += leg.time.0;
        }
        low
    }

    /// The capacitor's voltage before each of a train's legs once they have come often: where a round ends as it began.
    /// `None` where it does not bear them.
    fn before(&self, circuit: &Circuit, rest: f64, train: &Train) -> Option<f64> {
        let gap = train.period.0 - train.legs.iter().map(|leg| leg.time.0).sum::<f64>();
        let round = |u: f64| {
            let mut u = u;
            let gap = Leg { load_current: self.always, time: Seconds(gap.max(0.0)) };
            for leg in train.legs.iter().chain([&gap]) {
                let Reached::End { capacitor, .. } = circuit.run(u, *leg) else { return None };
                u = capacitor;
            }
            Some(u)
        };
        // Steffensen's method; one round is enough for currents, for which a round is a straight line.
        const ROUNDS: usize = 6;
        let mut u = rest;
        for _ in 0..ROUNDS {
            let once = round(u)?;
            let twice = round(once)?;
            let (first, second) = (once - u, twice - once);
            if first.abs() <= 1e-12 * rest || first == second {
                return Some(once);
            }
            u += first * first / (first - second);
        }
        Some(u)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::Watts;
    use rand::{RngExt, SeedableRng};

    /// Where the plain regula falsi keeps one end for good, the Illinois rule moves both.
    #[test]
    fn a_zero_is_found_where_one_side_is_flat() {
        for (power, low, high) in [(9, 0.0, 3.0), (15, -1.0, 2.0), (15, 0.5, 4.0), (25, 0.0, 1.5)] {
            let rising = zero(|x: f64| x.powi(power) - 0.2, low, high);
            assert!((rising - 0.2f64.powf(1.0 / f64::from(power))).abs() < 1e-12, "{power}: {rising}");
            // The other end is the flat one.
            let falling = zero(|x: f64| 0.2 - (-x).powi(power), -high, -low);
            assert!((falling + 0.2f64.powf(1.0 / f64::from(power))).abs() < 1e-12, "{power}: {falling}");
        }
        assert_eq!(zero(|x| x + 1.0, 0.0, 1.0), 0.0, "what is above 0 from the beginning");
    }

    /// The bound by which a long leg is settled, against the law itself: no part of the way takes longer.
    #[test]
    fn no_part_of_the_way_is_slower_than_the_slowest() {
        let mut random = rand_chacha::ChaCha8Rng::seed_from_u64(5);
        let (mut held, mut near) = (0, 0);
        for _ in 0..5_000 {
            let mut between = |low: f64, high: f64| low * (high / low).powf(random.random::<f64>());
            let ocv = between(1.5, 5.0);
            let circuit =
                Circuit { ocv, ohms: between(0.05, 50.0), esr: between(1e-3, 10.0), farads: between(1e-6, 1.0) };
            let most = ocv * ocv / (4.0 * circuit.ohms);
            let load =
                LoadCurrent { current: Amps(between(1e-9, 0.1) * most / ocv), power: Watts(most * between(1e-6, 1.2)) };
            let Some(first) = circuit.volts(ocv * between(0.3, 1.0), load) else { continue };
            let law = Law::new(&circuit, load, first).from(first);
            let Some(settled) = law.settled else { continue };
            let slowest = law.slowest(first.min(settled));
            for along in [0.01, 0.1, 0.5, 1.0, 2.0, 5.0, 10.0] {
                let time = law.time(settled + (first - settled) * f64::exp(-along));
                assert!(
                    time <= along * slowest * (1.0 + 1e-6) + 1e-9 * slowest,
                    "{circuit:?} {load:?} {first}: {time}"
                );
                near += usize::from(time > 0.8 * along * slowest);
            }
            held += 1;
        }
        assert!(held > 1_000 && near > 1_000, "{held} settle, {near} of their parts near the bound");
    }
}
