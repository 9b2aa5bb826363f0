//! Times of a running device: whole microseconds after midnight of the first day, so that the order of happenings is
//! beyond doubt.

use crate::units::Seconds;

/// Microseconds after midnight of the first day.
pub type Micros = u64;

/// A time as whole microseconds; a negative one as 0.
pub fn micros(time: Seconds) -> Micros {
    // The cast cuts off what is behind the point.
    (time.0.max(0.0) * 1e6 + 0.5) as Micros
}

/// The time of a whole number of microseconds.
pub fn seconds(time: Micros) -> Seconds {
    Seconds(time as f64 * 1e-6)
}
