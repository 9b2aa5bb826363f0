//! A smooth function as a polynomial of degree five, which comes near it everywhere because it meets it at the points of
//! Chebyshev. Theory: W. H. Press et al., Numerical Recipes, 5.8 (from memory, held by the tests below).

/// Points of a polynomial, those above zero: the cosines of 15, 45 and 75 degrees.
const POINTS: [f64; 3] = [0.965_925_826_289_068_3, 0.707_106_781_186_547_5, 0.258_819_045_102_520_7];

/// Factors of 1, `x`, and so on to `x^5`, with `x` from -1 to 1.
#[derive(Clone, Copy, Debug)]
pub(super) struct Polynomial([f64; 6]);

impl Polynomial {
    /// Through a function.
    pub(super) fn through(function: impl Fn(f64) -> f64) -> Self {
        let mut series = [0.0; 6];
        for point in POINTS.into_iter().flat_map(|point| [point, -point]) {
            // Chebyshev's polynomials at the point, each from the two before.
            let (value, mut one, mut next) = (function(point) / 3.0, 1.0, point);
            for sum in &mut series {
                *sum += value * one;
                (one, next) = (next, 2.0 * point * next - one);
            }
        }
        let [a, b, c, d, e, f] = series;
        Self([0.5 * a - c + e, b - 3.0 * d + 5.0 * f, 2.0 * c - 8.0 * e, 4.0 * d - 20.0 * f, 8.0 * e, 16.0 * f])
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
