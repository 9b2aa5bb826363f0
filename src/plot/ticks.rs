//! Round numbers along an axis.

use crate::units::figures;

/// A mark on an axis.
#[derive(Clone, Debug, PartialEq)]
pub struct Tick {
    /// Where.
    pub at: f64,
    /// What is written there.
    pub label: String,
}

/// The step of 1, 2, 2.5 or 5 times a power of ten that cuts a span into about so many pieces.
pub fn step(span: f64, pieces: f64) -> f64 {
    let rough = (span / pieces).abs().max(f64::MIN_POSITIVE);
    let decade = 10f64.powf(rough.log10().floor());
    let size = rough / decade;
    let round = [1.0, 2.0, 2.5, 5.0].into_iter().find(|round| size <= round + 1e-9);
    round.unwrap_or(10.0) * decade
}

/// Ticks at multiples of a round step between two ends, the ends included where they are round.
pub fn linear(from: f64, to: f64, pieces: f64) -> Vec<Tick> {
    let (from, to) = (from.min(to), from.max(to));
    let step = step(to - from, pieces);
    let whole = |decimals: &usize| {
        let scaled = step * 10f64.powi(*decimals as i32);
        (scaled - scaled.round()).abs() < 1e-6 * scaled
    };
    let decimals = (0..12).find(whole).unwrap_or(12);
    let (first, last) = ((from / step - 1e-9).ceil(), (to / step + 1e-9).floor());
    // Steps that vanish beside the numbers would never come to an end.
    let count = if (last - first).is_finite() { (last - first).clamp(-1.0, 100.0) as i32 } else { -1 };
    let tick = |number: i32| {
        let at = (first + f64::from(number)) * step;
        // No tick says "-0".
        let at = if at == 0.0 { 0.0 } else { at };
        Tick { at, label: format!("{at:.decimals$}") }
    };
    (0..=count).map(tick).collect()
}

/// Ticks of a logarithmic axis: 1, 2 and 5 of every decade, or only 1 where there are many. Between ends that are close
/// together the ticks are those of a linear axis.
pub fn logarithmic(from: f64, to: f64) -> Vec<Tick> {
    let (from, to) = (from.min(to), from.max(to));
    let decades = (to / from).log10();
    let parts: &[f64] = if decades > 3.5 { &[1.0] } else { &[1.0, 2.0, 5.0] };
    let (low, high) = (from.log10().floor() as i32, to.log10().ceil() as i32);
    let inside = |at: &f64| (from * (1.0 - 1e-9)..=to * (1.0 + 1e-9)).contains(at);
    let all = (low..=high).flat_map(|decade| parts.iter().map(move |part| part * 10f64.powi(decade)));
    let ticks: Vec<Tick> = all.filter(inside).map(|at| Tick { at, label: figures(at) }).collect();
    if ticks.len() >= 3 { ticks } else { linear(from, to, 5.0) }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn labels(ticks: &[Tick]) -> Vec<&str> {
        ticks.iter().map(|tick| tick.label.as_str()).collect()
    }

    #[test]
    fn steps_are_round() {
        assert_eq!(labels(&linear(0.0, 10.0, 5.0)), ["0", "2", "4", "6", "8", "10"]);
        assert_eq!(labels(&linear(0.3, 1.1, 4.0)), ["0.4", "0.6", "0.8", "1.0"]);
        assert_eq!(labels(&linear(-5.0, 12.0, 4.0)), ["-5", "0", "5", "10"]);
        assert_eq!(labels(&linear(20.0, 0.0, 4.0)), ["0", "5", "10", "15", "20"]);
        assert_eq!(labels(&linear(0.0, 1.0, 4.0)), ["0.00", "0.25", "0.50", "0.75", "1.00"]);
        assert_eq!(labels(&linear(0.0, 1250.0, 6.0)), ["0", "250", "500", "750", "1000", "1250"]);
    }

    #[test]
    fn a_logarithmic_axis_has_one_two_five() {
        assert_eq!(labels(&logarithmic(1.0, 100.0)), ["1", "2", "5", "10", "20", "50", "100"]);
        assert_eq!(labels(&logarithmic(1.0, 1e5)), ["1", "10", "100", "1000", "10000", "100000"]);
        assert_eq!(labels(&logarithmic(3.0, 4.5)), ["3.0", "3.5", "4.0", "4.5"]);
    }

    #[test]
    fn odd_ends_do_not_hang_or_panic() {
        for (from, to) in [(1.0, 1.0), (0.0, 0.0), (f64::NAN, 1.0), (1e300, 1.0000001e300), (0.0, f64::INFINITY)] {
            assert!(linear(from, to, 5.0).len() <= 101);
        }
    }
}
