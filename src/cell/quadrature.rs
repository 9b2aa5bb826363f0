//! Integrals of several quantities along one variable at once, to a stated relative error.
//!
//! Kronrod rules with their Gauss rules as the error estimate: seven points over three, which is enough for most; where
//! they disagree, fifteen over seven, halved until those agree. A narrow piece of something larger, to which a larger error
//! is allowed, is tried with three points over one first. Nodes and weights for seven: A. S. Kronrod, Nodes and
//! Weights of Quadrature Formulas (1965), from memory, held by a test to the degree up to which they are exact; for
//! fifteen: R. Piessens et al., QUADPACK (1983), rule QK15. Not a general solver: the integrands here are smooth but for a
//! few kinks.

/// A Kronrod rule of `2 N - 1` points; every second of them, beginning with the second, is a point of its Gauss rule.
struct Rule<const N: usize> {
    /// Points on one side of the middle, outermost first; the last is the middle itself.
    nodes: [f64; N],
    /// Kronrod weights.
    kronrod: [f64; N],
    /// Gauss weights; 0 where a point is none of that rule.
    gauss: [f64; N],
}

const THREE: Rule<2> = Rule {
    nodes: [0.774_596_669_241_483_4, 0.0],
    kronrod: [0.555_555_555_555_555_6, 0.888_888_888_888_888_8],
    gauss: [0.0, 2.0],
};

const SEVEN: Rule<4> = Rule {
    nodes: [0.960_491_268_708_020_3, 0.774_596_669_241_483_4, 0.434_243_749_346_802_55, 0.0],
    kronrod: [0.104_656_226_026_467_27, 0.268_488_089_868_333_44, 0.401_397_414_775_962_2, 0.450_916_538_658_474_14],
    gauss: [0.0, 0.555_555_555_555_555_6, 0.0, 0.888_888_888_888_888_8],
};

const FIFTEEN: Rule<8> = Rule {
    nodes: [
        0.991_455_371_120_812_6,
        0.949_107_912_342_758_5,
        0.864_864_423_359_769_1,
        0.741_531_185_599_394_4,
        0.586_087_235_467_691_1,
        0.405_845_151_377_397_2,
        0.207_784_955_007_898_47,
        0.0,
    ],
    kronrod: [
        0.022_935_322_010_529_22,
        0.063_092_092_629_978_55,
        0.104_790_010_322_250_18,
        0.140_653_259_715_525_92,
        0.169_004_726_639_267_9,
        0.190_350_578_064_785_41,
        0.204_432_940_075_298_9,
        0.209_482_141_084_727_83,
    ],
    gauss: [
        0.0,
        0.129_484_966_168_869_7,
        0.0,
        0.279_705_391_489_276_64,
        0.0,
        0.381_830_050_505_118_9,
        0.0,
        0.417_959_183_673_469_4,
    ],
};

/// Relative error from which on three points have a chance.
const COARSE: f64 = 1e-7;

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
    if tolerance >= COARSE {
        let (few, error) = rule(&THREE, f, from, to)?;
        if error <= tolerance * few[0].abs() {
            return Some(few);
        }
    }
    let (quick, error) = rule(&SEVEN, f, from, to)?;
    if error <= tolerance * quick[0].abs() {
        return Some(quick);
    }
    let (whole, error) = rule(&FIFTEEN, f, from, to)?;
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
    let (left, right) = (rule(&FIFTEEN, f, from, middle)?, rule(&FIFTEEN, f, middle, to)?);
    let left = refine(f, (from, middle), left, 0.5 * allowed, depth - 1)?;
    let right = refine(f, (middle, to), right, 0.5 * allowed, depth - 1)?;
    Some(std::array::from_fn(|i| left[i] + right[i]))
}

/// The Kronrod sums, and the difference of the first one from its Gauss sum.
fn rule<const N: usize, const M: usize>(
    rule: &Rule<M>,
    f: &mut impl FnMut(f64) -> Option<[f64; N]>,
    from: f64,
    to: f64,
) -> Option<([f64; N], f64)> {
    let (centre, half) = (0.5 * (from + to), 0.5 * (to - from));
    let mut sums = [0.0; N];
    let mut gauss = 0.0;
    for (i, node) in rule.nodes.into_iter().enumerate() {
        let mut both = f(centre - half * node)?;
        if node > 0.0 {
            let other = f(centre + half * node)?;
            both = std::array::from_fn(|n| both[n] + other[n]);
        }
        for (sum, value) in sums.iter_mut().zip(both) {
            *sum += rule.kronrod[i] * value * half;
        }
        gauss += rule.gauss[i] * both[0] * half;
    }
    Some((sums, (sums[0] - gauss).abs()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn polynomials_and_kinks() {
        // A Kronrod rule over n Gauss points is exact up to degree 3 n + 1, one more for even n.
        let ([power], _) = rule(&SEVEN, &mut |x: f64| Some([x.powi(10)]), 0.0, 1.0).unwrap();
        assert!((power * 11.0 - 1.0).abs() < 1e-14, "{power}");
        let ([power], _) = rule(&THREE, &mut |x: f64| Some([x.powi(5)]), 0.0, 1.0).unwrap();
        assert!((power * 6.0 - 1.0).abs() < 1e-14, "{power}");
        let [power] = integrate(&mut |x: f64| Some([x.powi(22)]), 0.0, 1.0, 1e-12).unwrap();
        assert!((power * 23.0 - 1.0).abs() < 1e-13, "{power}");
        for tolerance in [1e-9, 1e-7, 1e-5, 1e-3] {
            let [steep] = integrate(&mut |x: f64| Some([(3.0 * x).exp()]), 0.0, 1.0, tolerance).unwrap();
            assert!((steep * 3.0 / 3.0_f64.exp_m1() - 1.0).abs() <= tolerance, "{steep} to {tolerance}");
        }
        let [kink, line] = integrate(&mut |x: f64| Some([(x - 0.3).abs(), x]), 0.0, 1.0, 1e-9).unwrap();
        assert!((kink - 0.29).abs() < 1e-9 && (line - 0.5).abs() < 1e-14, "{kink} {line}");
    }

    /// A jump is narrowed down to a part in 2^16 of the way, and no further.
    #[test]
    fn a_jump_ends_as_well() {
        let mut asked = 0;
        let mut jump = |x: f64| {
            asked += 1;
            Some([if x < 1.0 / 3.0 { 0.0 } else { 1.0 }])
        };
        let [step] = integrate(&mut jump, 0.0, 1.0, 1e-12).unwrap();
        assert!((step - 2.0 / 3.0).abs() < 0.5_f64.powi(16), "{step}");
        // Seven, fifteen, and fifteen in either half of each halving.
        assert_eq!(asked, 7 + 15 + 16 * 2 * 15);
    }

    #[test]
    fn no_value_ends_it() {
        assert_eq!(integrate(&mut |x: f64| (x < 0.9).then_some([x]), 0.0, 1.0, 1e-9), None);
    }
}
