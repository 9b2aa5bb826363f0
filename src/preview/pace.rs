//! Between the viewer's clock and the session's: how much time has passed, how long nothing will change.

use super::session::Session;
use std::time::{Duration, Instant};

/// Pictures come at most this often.
const LEAST: Duration = Duration::from_millis(12);

/// Remembers when time was last passed on.
#[derive(Debug)]
pub struct Pace {
    last: Instant,
}

impl Default for Pace {
    fn default() -> Self {
        Self { last: Instant::now() }
    }
}

impl Pace {
    /// Time since the last call.
    pub fn elapsed(&mut self, now: Instant) -> Duration {
        let elapsed = now.saturating_duration_since(self.last);
        self.last = now;
        elapsed
    }
}

/// Real time until the picture may look different: something happens, the panel takes its next step, or the clock
/// shows another minute. `None` while all stands still.
pub fn until_change(session: &Session) -> Option<Duration> {
    let rate = session.rate();
    if rate <= 0.0 {
        return None;
    }
    let minute = (60.0 - session.time().0.rem_euclid(60.0)) / rate;
    let minute = Duration::from_secs_f64(minute.clamp(0.05, 60.0));
    Some(session.next_change().map_or(minute, |change| change.min(minute)).max(LEAST))
}
