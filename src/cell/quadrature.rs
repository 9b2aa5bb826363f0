//! Integrals of several quantities along one variable at once, to a stated relative error.
//!
//! Fifteen-point Kronrod rule with its seven-point Gauss rule as the error estimate, halved where they disagree. Nodes
//! and weights: R. Piessens et al., QUADPACK (1983), rule QK15. Not a general solver: the integrands here are smooth but
//! for a few kinks.

/// Nodes of the rule on one side of the middle, outermost first; the last is the middle itself.
const NODES: [f64; 8] = [
    0.991_455_371_120_812_6,
    0.949_107_912_342_758_5,
    0.864_864_423_359_769_1,
    0.741_531_185_599_394_4,
    0.586_087_235_467_691_1,
    0.405_845_151_377_397_2,
    0.207_784_955_007_898_47,
    0.0,
];
/// Kronrod weights of [`NODES`].
const KRONROD: [f64; 8] = [
    0.022_935_322_010_529_22,
    0.063_092_092_629_978_55,
    0.104_790_010_322_250_18,
    0.140_653_259_715_525_92,
    0.169_004_726_639_267_9,
    0.190_350_578_064_785_41,
    0.204_432_940_075_298_9,
    0.209_482_141_084_727_83,
];
/// Gauss weights of every second of [`NODES`], beginning with the second.
const GAUSS: [f64; 4] =
    [0.129_484_966_168_869_7, 0.279_705_391_489_276_64, 0.381_830_050_505_118_9, 0.417_959_183_673_469_4];

/// Halvings allowed at one place; a kink is 2^-16 of its interval wide by then.
const DEEPEST: u32 = 16;

/// Integrates the `N` values of `f` from `from` to `to` until the first of them has the relative error `tolerance`.
/// `None` as soon as `f` has no value.
pub(super) fn integrate<const N: usize>(
    f: &mut impl FnMut(f64) -> Option<[f64; N]>,
    from: f64,
    to: f64,
    tolerance: f64,
) -> Option<[f64; N]> {
    let (whole, error) = rule(f, from, to)?;
    refine(f, (from, to), (whole, error), tolerance * whole[0].abs(), DEEPEST)
}

fn refine<const N: usize>(
    f: &mut impl FnMut(f64) -> Option<[f64; N]>,
    (from, to): (f64, f64),
    (sum, error): ([f64; N], f64),
    allowed: f64,
    depth: u32,
) -> Option<[f64; N]> {
    if error <= allowed || depth == 0 || !error.is_finite() {
        return Some(sum);
    }
    let middle = 0.5 * (from + to);
    let (left, right) = (rule(f, from, middle)?, rule(f, middle, to)?);
    let left = refine(f, (from, middle), left, 0.5 * allowed, depth - 1)?;
    let right = refine(f, (middle, to), right, 0.5 * allowed, depth - 1)?;
    Some(std::array::from_fn(|i| left[i] + right[i]))
}

/// The Kronrod sums, and the difference of the first one from its Gauss sum.
fn rule<const N: usize>(f: &mut impl FnMut(f64) -> Option<[f64; N]>, from: f64, to: f64) -> Option<([f64; N], f64)> {
    let (centre, half) = (0.5 * (from + to), 0.5 * (to - from));
    let mut sums = [0.0; N];
    let mut gauss = 0.0;
    for (i, node) in NODES.into_iter().enumerate() {
        let mut both = f(centre - half * node)?;
        if node > 0.0 {
            let other = f(centre + half * node)?;
            both = std::array::from_fn(|n| both[n] + other[n]);
        }
        for (sum, value) in sums.iter_mut().zip(both) {
            *sum += KRONROD[i] * value * half;
        }
        if i % 2 == 1 {
            gauss += GAUSS[i / 2] * both[0] * half;
        }
    }
    Some((sums, (sums[0] - gauss).abs()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn polynomials_and_kinks() {
        // A fifteen-point Kronrod rule is exact up to degree 22.
        let [power] = integrate(&mut |x: f64| Some([x.powi(22)]), 0.0, 1.0, 1e-12).unwrap();
        assert!((power * 23.0 - 1.0).abs() < 1e-13, "{power}");
        let [kink, line] = integrate(&mut |x: f64| Some([(x - 0.3).abs(), x]), 0.0, 1.0, 1e-9).unwrap();
        assert!((kink - 0.29).abs() < 1e-9 && (line - 0.5).abs() < 1e-14, "{kink} {line}");
    }

    #[test]
    fn no_value_ends_it() {
        assert_eq!(integrate(&mut |x: f64| (x < 0.9).then_some([x]), 0.0, 1.0, 1e-9), None);
    }
}
