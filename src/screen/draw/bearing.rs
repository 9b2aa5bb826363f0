//! Directions in whole numbers, so that firmware without floating point decides every pixel of a ring as it is decided
//! here.
//!
//! Sine and cosine come from rotations by shifts (CORDIC: J. E. Volder, "The CORDIC Trigonometric Computing Technique",
//! IRE Transactions on Electronic Computers EC-8, 1959). `ink_draw.c` does the same steps.

/// Half a turn.
pub const HALF_TURN: f64 = (1u32 << 30) as f64;

/// What counts as no distance at all, in half pixels times 2^29: far below a pixel, far above what rounding leaves.
pub const SLACK: i64 = 1 << 16;

/// The angles whose tangents are 1, 1/2, 1/4 and so on, in units of 2^-30 half turns; from the last one on each is half the
/// one before.
const ANGLES: [i32; 12] = [
    268_435_456,
    158_466_703,
    83_729_454,
    42_502_378,
    21_333_666,
    10_677_233,
    5_339_919,
    2_670_123,
    1_335_082,
    667_543,
    333_772,
    166_886,
];

/// A direction clockwise from the top: sine and cosine times 2^29.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Bearing {
    sine: i32,
    cosine: i32,
    /// At the top or to its right.
    right: bool,
}

impl Bearing {
    /// The direction of an angle in units of 2^-30 half turns, at most one half turn either way.
    pub fn of(angle: i32) -> Self {
        // 2^29 over the product of all rotations' gains.
        let (mut x, mut y, mut left) = (326_016_437i32, 0i32, angle);
        const QUARTER: i32 = 1 << 29;
        if angle > QUARTER {
            (x, y, left) = (0, x, angle - QUARTER);
        } else if angle < -QUARTER {
            (x, y, left) = (0, -x, angle + QUARTER);
        }
        for step in 0..29 {
            let turn = ANGLES.get(step).copied().unwrap_or_else(|| ANGLES[11] >> (step - 11));
            let (dx, dy) = (x >> step, y >> step);
            if left < 0 {
                (x, y, left) = (x + dy, y - dx, left + turn);
            } else {
                (x, y, left) = (x - dy, y + dx, left - turn);
            }
        }
        Self { sine: y, cosine: x, right: angle >= 0 }
    }

    /// Half pixels along the direction, times 2^29.
    pub fn along(self, x: i32, y: i32) -> i64 {
        i64::from(x) * i64::from(self.sine) - i64::from(y) * i64::from(self.cosine)
    }

    /// Half pixels clockwise of the direction, times 2^29.
    pub fn aside(self, x: i32, y: i32) -> i64 {
        i64::from(x) * i64::from(self.cosine) + i64::from(y) * i64::from(self.sine)
    }

    /// Whether a point, in half pixels from the middle, lies clockwise of the direction on the way from the bottom over the
    /// left, the top and the right to the bottom. Positive 1 where it does, -1 where it lies before, 0 on the direction.
    pub fn side(self, x: i32, y: i32) -> i32 {
        let right = x >= 0;
        let aside = self.aside(x, y);
        match () {
            () if aside.abs() <= SLACK && self.along(x, y) >= 0 => 0,
            () if right != self.right => {
                if right {
                    1
                } else {
                    -1
                }
            }
            () if aside > 0 => 1,
            () => -1,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    #[test]
    fn sines_are_those_of_the_standard_library() {
        for step in -1000..=1000 {
            let angle = f64::from(step) / 1000.0;
            let bearing = Bearing::of((angle * HALF_TURN) as i32);
            let (sine, cosine) = (angle * PI).sin_cos();
            let wanted = [sine, cosine].map(|part| part * f64::from(1 << 29));
            assert!((f64::from(bearing.sine) - wanted[0]).abs() < 64.0, "{angle} {bearing:?} {wanted:?}");
            assert!((f64::from(bearing.cosine) - wanted[1]).abs() < 64.0, "{angle} {bearing:?} {wanted:?}");
        }
    }

    #[test]
    fn sides_are_those_of_the_angle() {
        for step in -99..=99 {
            let angle = f64::from(step) / 100.0;
            let bearing = Bearing::of((angle * HALF_TURN) as i32);
            for (x, y) in [(40, -3), (-40, 3), (5, 90), (-5, 90), (1, -80), (-1, -80), (-70, -71), (33, 1)] {
                let wanted = f64::from(x).atan2(-f64::from(y)) - angle * PI;
                assert_eq!(bearing.side(x, y), wanted.signum() as i32, "{x} {y} {angle}");
            }
        }
        assert_eq!(Bearing::of(0).side(0, -20), 0);
        assert_eq!(Bearing::of(1 << 28).side(7, -7), 0);
    }
}
