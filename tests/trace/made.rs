//! Makes traces: phases of known length and level, noise from a seed, and a logger that samples them.

use rand::{Rng, RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// A phase: seconds and amperes above the baseline.
pub type Phase = (f64, f64);

/// What really happened, in order of time.
#[derive(Clone, Debug)]
pub struct Happening {
    /// When it begins, in seconds.
    pub start: f64,
    pub phases: Vec<Phase>,
}

impl Happening {
    pub fn duration(&self) -> f64 {
        self.phases.iter().map(|phase| phase.0).sum()
    }

    pub fn charge(&self) -> f64 {
        self.phases.iter().map(|phase| phase.0 * phase.1).sum()
    }

    /// When each phase ends.
    fn ends(&self) -> Vec<f64> {
        let end = |end: &mut f64, (duration, _): &Phase| {
            *end += duration;
            Some(*end)
        };
        self.phases.iter().scan(self.start, end).collect()
    }

    /// The level at a time, `ends` being of [`Happening::ends`].
    fn level(&self, ends: &[f64], time: f64) -> Option<f64> {
        let phase = self.phases.get(ends.partition_point(|end| *end <= time));
        phase.filter(|_| time >= self.start).map(|phase| phase.1)
    }
}

/// The truth behind a trace.
#[derive(Clone, Debug)]
pub struct Truth {
    pub baseline: f64,
    /// Standard deviation at the baseline.
    pub noise: f64,
    /// Standard deviation of what is above it, as a share.
    pub grain: f64,
    /// Ripple of what is above the baseline: share and period.
    pub ripple: (f64, f64),
    pub happenings: Vec<Happening>,
    /// Seconds.
    pub length: f64,
}

/// Rows of time and current.
pub type Samples = Vec<(f64, f64)>;

impl Truth {
    /// The current at given times, which rise.
    pub fn sample(&self, times: impl IntoIterator<Item = f64>, random: &mut ChaCha8Rng) -> Samples {
        let mut ahead = self.happenings.as_slice();
        let ends_of = |ahead: &[Happening]| ahead.first().map_or_else(Vec::new, Happening::ends);
        let mut ends = ends_of(ahead);
        let mut samples = Vec::new();
        for time in times {
            while ends.last().is_some_and(|end| *end <= time) {
                ahead = &ahead[1..];
                ends = ends_of(ahead);
            }
            let above = ahead.first().and_then(|first| first.level(&ends, time)).unwrap_or(0.0);
            let (share, period) = self.ripple;
            let ripple = 1.0 + share * (std::f64::consts::TAU * time / period).sin() + self.grain * gauss(random);
            samples.push((time, self.baseline + self.noise * gauss(random) + above * ripple));
        }
        samples
    }

    /// Times of a logger that is quick around happenings and slow between.
    pub fn logger(&self, quick: f64, slow: f64) -> Vec<f64> {
        let mut times = vec![0.0];
        let mut time = 0.0;
        while time < self.length {
            let near = |one: &&Happening| time > one.start - 0.0301 && time < one.start + one.duration() + 0.1;
            let busy = self.happenings.iter().any(|one| near(&one));
            let next =
                self.happenings.iter().map(|one| one.start - 0.03).find(|start| *start > time).unwrap_or(f64::INFINITY);
            time += if busy { quick } else { slow.min((next - time).max(quick)) };
            times.push(time);
        }
        times
    }
}

/// A number of the normal law, by G. Box and M. Muller, Ann. Math. Stat. 29 (1958) 610.
fn gauss(random: &mut impl Rng) -> f64 {
    let (u, v): (f64, f64) = (random.random(), random.random());
    (-2.0 * (1.0 - u).ln()).sqrt() * (std::f64::consts::TAU * v).cos()
}

pub fn seeded(seed: u64) -> ChaCha8Rng {
    ChaCha8Rng::seed_from_u64(seed)
}

/// The text of a trace in seconds and microamperes.
pub fn csv(samples: &Samples) -> String {
    let mut text = String::from("t [s],I [uA]\n");
    samples.iter().for_each(|(time, current)| text += &format!("{time:.6},{:.3}\n", current * 1e6));
    text
}

/// The integral by the trapezoid rule between two times, above a level.
pub fn trapezoid(samples: &Samples, from: f64, to: f64, level: f64) -> f64 {
    let inside = samples.windows(2).filter(|pair| pair[0].0 >= from && pair[1].0 <= to);
    inside.map(|pair| ((pair[0].1 + pair[1].1) / 2.0 - level) * (pair[1].0 - pair[0].0)).sum()
}
