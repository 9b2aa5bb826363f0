//! Smooth functions as polynomials of degree five, each of which comes near it everywhere because it meets it at the points of
//! Chebyshev. Theory: W. H. Press et al., Numerical Recipes, 5.8 (from memory, held by the tests below).

/// Points of a polynomial, those above zero: the cosines of 15, 45 and 75 degrees.
const POINTS: [f64; 3] = [0.965_925_826_289_068_3, 0.707_106_781_186_547_5, 0.258_819_045_102_520_7];

/// Factors of the parabola with these values at the squares of the points, by Newton's divided differences.
fn of_squares(values: [f64; 3]) -> [f64; 3] {
    const SQUARES: [f64; 3] = [POINTS[0] * POINTS[0], POINTS[1] * POINTS[1], POINTS[2] * POINTS[2]];
    let [a, b, c] = SQUARES;
    let (first, second) = ((values[1] - values[0]) / (b - a), (values[2] - values[1]) / (c - b));
    let bend = (second - first) / (c - a);
    [values[0] - a * (first - b * bend), first - (a + b) * bend, bend]
}

/// Several of them, for each power of `x` from the first to the fifth the factors of all, with `x` from -1 to 1.
#[derive(Clone, Copy, Debug)]
pub(super) struct Polynomials<const N: usize>([[f64; N]; 6]);

impl<const N: usize> Polynomials<N> {
    /// Through functions that are calculated together. Half the sum of what one has at `x` and `-x` is a parabola of `x^2`,
    /// and so is half their difference as a share of `x`.
    pub(super) fn through(mut functions: impl FnMut(f64) -> [f64; N]) -> Self {
        let mut values = [[[0.0; N]; 3]; 2];
        for (point, x) in POINTS.into_iter().enumerate() {
            (values[0][point], values[1][point]) = (functions(x), functions(-x));
        }
        let mut all = [[0.0; N]; 6];
        for place in 0..N {
            let (mut even, mut odd) = ([0.0; 3], [0.0; 3]);
            for (point, x) in POINTS.into_iter().enumerate() {
                let (right, left) = (values[0][point][place], values[1][point][place]);
                (even[point], odd[point]) = (0.5 * (right + left), 0.5 * (right - left) / x);
            }
            let (even, odd) = (of_squares(even), of_squares(odd));
            for power in 0..3 {
                (all[2 * power][place], all[2 * power + 1][place]) = (even[power], odd[power]);
            }
        }
        Self(all)
    }

    /// The values.
    #[inline]
    pub(super) fn at(&self, x: f64) -> [f64; N] {
        let mut values = self.0[5];
        for factors in self.0[..5].iter().rev() {
            values.iter_mut().zip(factors).for_each(|(value, factor)| *value = *value * x + factor);
        }
        values
    }
}

/// One: factors of 1, `x`, and so on to `x^5`, with `x` from -1 to 1.
#[derive(Clone, Copy, Debug)]
pub(super) struct Polynomial([f64; 6]);

impl Polynomial {
    /// Through a function.
    pub(super) fn through(function: impl Fn(f64) -> f64) -> Self {
        Self(Polynomials::through(|x| [function(x)]).0.map(|[factor]| factor))
    }

    /// The value, its slope, and half of what the slope changes with `x`: the first factors of the polynomial around `x`.
    #[inline]
    pub(super) fn at(&self, x: f64) -> [f64; 3] {
        let on =
            |[value, slope, bend]: [f64; 3], factor: &f64| [value * x + factor, slope * x + value, bend * x + slope];
        self.0.iter().rev().fold([0.0; 3], on)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn polynomials_of_its_degree_are_met() {
        let of = |x: f64| 3.0 + x * (-2.0 + x * (0.5 + x * (4.0 + x * (-1.0 + x * 0.25))));
        let slope = |x: f64| -2.0 + x * (1.0 + x * (12.0 + x * (-4.0 + x * 1.25)));
        let bend = |x: f64| 0.5 + x * (12.0 + x * (-6.0 + x * 2.5));
        let found = Polynomial::through(of);
        for x in [-1.0, -0.7, 0.0, 0.3, 1.0] {
            let (at, right) = (found.at(x), [of(x), slope(x), bend(x)]);
            assert!(at.iter().zip(right).all(|(at, right)| (at - right).abs() < 1e-12), "{x}: {at:?} for {right:?}");
        }
    }

    /// Against the function itself: the miss of the exponential is near `1 / (2^5 6!)`, its seventh term.
    #[test]
    fn a_smooth_function_is_met_nearly() {
        let found = Polynomial::through(f64::exp);
        let worst = (-50..=50).map(|step| 0.02 * f64::from(step)).map(|x| (found.at(x)[0] - x.exp()).abs());
        let worst = worst.fold(0.0, f64::max);
        assert!((3e-5..6e-5).contains(&worst), "{worst:e}");
    }
}
