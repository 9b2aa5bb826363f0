//! From whole numbers of a field's last decimal to whole numbers of a unit's: what firmware multiplies and divides by.

use super::shown::Scale;

/// From whole numbers of a field's last decimal held to whole numbers of a unit's last decimal shown, as firmware
/// calculates it: `shown = (held * multiply + offset) / divide`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Ratio {
    /// Multiplies what is held.
    pub multiply: i128,
    /// Is added.
    pub offset: i128,
    /// Divides the sum; above 0.
    pub divide: i128,
}

/// Firmware multiplies by numbers below the first and divides by numbers below the second: products stay in 64 bits.
const SMALL: [i128; 2] = [1 << 28, 1 << 30];

/// A fraction that is equal to a number, or as near as a double tells; the terms stay below 2^31.
fn fraction(number: f64) -> (i128, i128) {
    const MOST: i128 = 1 << 31;
    let (mut before, mut last) = ((0, 1), (1, 0));
    let mut rest = number.abs();
    for _ in 0..40 {
        let whole = rest.floor();
        let term = whole as i128;
        let next = (term.saturating_mul(last.0) + before.0, term.saturating_mul(last.1) + before.1);
        if next.0 > MOST || next.1 > MOST {
            break;
        }
        (before, last) = (last, next);
        let near = last.0 as f64 / last.1 as f64;
        if (near - number.abs()).abs() <= number.abs() * 4.0 * f64::EPSILON || rest == whole {
            break;
        }
        rest = 1.0 / (rest - whole);
    }
    (if number < 0.0 { -last.0 } else { last.0 }, last.1.max(1))
}

fn common(a: i128, b: i128) -> i128 {
    if b == 0 { a.abs() } else { common(b, a % b) }
}

/// `number / by` to the nearest, halves away from zero.
pub fn nearest(number: i128, by: i128) -> i128 {
    let half = if number < 0 { -by / 2 } else { by / 2 };
    (number + half) / by
}

impl Ratio {
    /// The conversion to a unit shown with `decimals` of a field that is held with `held`.
    pub fn of(scale: Scale, held: u32, decimals: u32) -> Self {
        let (factor, by) = fraction(scale.factor);
        let (add, parts) = fraction(scale.offset);
        let power = |decimals: u32| 10i128.pow(decimals.min(12));
        // (held / 10^held * factor / by + add / parts) * 10^decimals
        let (multiply, divide) = (factor * power(decimals) * parts, power(held) * by * parts);
        let offset = add * power(decimals) * power(held) * by;
        let same = common(common(multiply, divide), offset).max(1);
        Self { multiply: multiply / same, offset: offset / same, divide: divide / same }
    }

    /// The same in numbers that firmware multiplies without overflow: multiply, offset, divide. `None` where they are larger.
    pub fn for_firmware(&self) -> Option<[i32; 3]> {
        let offset = i32::try_from(self.offset).ok().filter(|offset| offset.unsigned_abs() <= 2_000_000_000)?;
        let small = |number: i128, end: i128| (1..end).contains(&number);
        let fits = small(self.multiply, SMALL[0]) && small(self.divide, SMALL[1]);
        fits.then_some([self.multiply as i32, offset, self.divide as i32])
    }

    /// The conversion, where it has more digits than firmware multiplies the nearest one that has not.
    pub fn as_taken(scale: Scale, held: u32, decimals: u32) -> Self {
        let exact = Self::of(scale, held, decimals);
        exact.for_firmware().or_else(|| exact.near(SMALL[1] - 1)).map_or(exact, |[multiply, offset, divide]| Self {
            multiply: multiply.into(),
            offset: offset.into(),
            divide: divide.into(),
        })
    }

    /// The nearest conversion whose divisor is at most so large and whose numbers firmware can multiply, found by continued
    /// fractions (A. Ya. Khinchin, "Continued Fractions", 1964, theorem 16); `None` where there is none.
    fn near(&self, most: i128) -> Option<[i32; 3]> {
        let (mut before, mut last) = ((0, 1), (1, 0));
        let (mut number, mut by) = (self.multiply, self.divide);
        let mut best = None;
        while by != 0 {
            let (whole, rest) = (number / by, number % by);
            let next = (whole * last.0 + before.0, whole * last.1 + before.1);
            if next.1 > most {
                break;
            }
            (before, last) = (last, next);
            let near = Self { multiply: last.0, offset: nearest(self.offset * last.1, self.divide), divide: last.1 };
            best = near.for_firmware().or(best);
            (number, by) = (by, rest);
        }
        best
    }

    /// What is shown of a number held.
    pub fn shown(&self, held: i128) -> i128 {
        nearest(held * self.multiply + self.offset, self.divide)
    }

    /// The number held that is nearest to what is shown.
    pub fn held(&self, shown: i128) -> i128 {
        nearest(shown * self.divide - self.offset, self.multiply.max(1))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Exact by definition: the international foot is 0.3048 m, the degree Fahrenheit 5/9 K (NIST Handbook 44, appendix C).
    #[test]
    fn conversions_are_exact() {
        let feet = Scale { factor: 3.280839895013123, offset: 0.0 };
        assert_eq!(Ratio::of(feet, 5, 1), Ratio { multiply: 1, offset: 0, divide: 3048 });
        let fahrenheit = Ratio::of(Scale { factor: 1.8, offset: 32.0 }, 1, 1);
        assert_eq!(fahrenheit, Ratio { multiply: 9, offset: 1600, divide: 5 });
        assert_eq!([0, 1000, -400].map(|held| fahrenheit.shown(held)), [320, 2120, -400]);
        assert_eq!([320, 2120, -400].map(|shown| fahrenheit.held(shown)), [0, 1000, -400]);
        // Six digits of a foot, held to a thousandth of a centimetre: refused before, though it could not be rounded more.
        let rounded = Ratio::of(Scale { factor: 3.28084, offset: 0.0 }, 5, 1);
        assert_eq!(rounded.for_firmware(), Some([82_021, 0, 250_000_000]));
        let kelvin = Ratio::of(Scale { factor: 1.0, offset: 273.15 }, 1, 0);
        assert_eq!((kelvin.shown(0), kelvin.shown(-2732)), (273, 0));
    }
}
