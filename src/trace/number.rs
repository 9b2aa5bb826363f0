//! Decimal numbers out of bytes, with a point or a comma, fast enough for long traces.

/// Powers of ten that a double holds exactly.
const POWERS: [f64; 23] = [
    1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20,
    1e21, 1e22,
];

/// Reads the number that begins at `start`; returns it and where it ends. `None` where none begins, or where it is
/// too large for a double.
///
/// The result is the double nearest to the text. Up to 2^53 with a power of ten up to 22 both factors are exact, so one
/// rounding gives it (W. D. Clinger, "How to read floating point numbers accurately", PLDI 1990); the rest goes
/// through the standard library.
pub fn number(bytes: &[u8], start: usize, decimal: u8) -> Option<(f64, usize)> {
    let mut at = start;
    let negative = bytes.get(at) == Some(&b'-');
    if negative || bytes.get(at) == Some(&b'+') {
        at += 1;
    }
    let mut mantissa: u64 = 0;
    let mut digits = |mut at: usize| {
        while let Some(digit @ b'0'..=b'9') = bytes.get(at) {
            mantissa = mantissa.wrapping_mul(10).wrapping_add(u64::from(digit - b'0'));
            at += 1;
        }
        at
    };
    let whole_from = at;
    at = digits(at);
    let whole = at - whole_from;
    let mut fraction = 0;
    if bytes.get(at) == Some(&decimal) {
        let after = digits(at + 1);
        fraction = after - at - 1;
        if whole + fraction > 0 {
            at = after;
        }
    }
    if whole + fraction == 0 {
        return None;
    }
    let (exponent, end) = exponent(bytes, at);
    let power = exponent - fraction as i64;
    let exact = whole + fraction <= 19 && mantissa <= 1 << 53 && (-22..=22).contains(&power);
    let size = match exact {
        true if power < 0 => mantissa as f64 / POWERS[power.unsigned_abs() as usize],
        true => mantissa as f64 * POWERS[power as usize],
        false => return slow(bytes.get(start..end)?, decimal).map(|value| (value, end)),
    };
    Some((if negative { -size } else { size }, end))
}

/// The exponent at a place, 0 where there is none, and where it ends.
fn exponent(bytes: &[u8], at: usize) -> (i64, usize) {
    if !matches!(bytes.get(at), Some(b'e' | b'E')) {
        return (0, at);
    }
    let signed = matches!(bytes.get(at + 1), Some(b'+' | b'-'));
    let from = at + 1 + usize::from(signed);
    let (mut end, mut value) = (from, 0_i64);
    while let Some(digit @ b'0'..=b'9') = bytes.get(end) {
        value = (value * 10 + i64::from(digit - b'0')).min(100_000);
        end += 1;
    }
    if end == from {
        return (0, at);
    }
    (if bytes.get(at + 1) == Some(&b'-') { -value } else { value }, end)
}

fn slow(text: &[u8], decimal: u8) -> Option<f64> {
    let plain: String = text.iter().map(|byte| if *byte == decimal { '.' } else { char::from(*byte) }).collect();
    plain.parse().ok().filter(|value: &f64| value.is_finite())
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn numbers_end_where_their_text_ends() {
        assert_eq!(number(b"12.5,7", 0, b'.'), Some((12.5, 4)));
        assert_eq!(number(b"12,5;7", 0, b','), Some((12.5, 4)));
        assert_eq!(number(b"x-3e-3\n", 1, b'.'), Some((-0.003, 6)));
        assert_eq!(number(b".5", 0, b'.'), Some((0.5, 2)));
        assert_eq!(number(b"5.", 0, b'.'), Some((5.0, 2)));
        assert_eq!(number(b"5e", 0, b'.'), Some((5.0, 1)));
    }

    #[test]
    fn what_is_no_number_is_none() {
        for text in ["", "-", ".", "e5", "nan", "inf", "1e999"] {
            assert_eq!(number(text.as_bytes(), 0, b'.'), None, "{text}");
        }
    }

    proptest! {
        #[test]
        fn every_number_is_the_standard_librarys(value in proptest::num::f64::NORMAL, digits in 0_usize..20) {
            for text in [format!("{value:e}"), format!("{value}"), format!("{value:.digits$}")] {
                prop_assert_eq!(number(text.as_bytes(), 0, b'.'), Some((text.parse().unwrap(), text.len())));
            }
        }
    }
}
