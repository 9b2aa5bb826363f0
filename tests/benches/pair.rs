//! Two ways to do the same, timed in turns.

use std::hint::black_box;
use std::time::{Duration, Instant};

/// Time of a number of repetitions.
pub type Timed<'a> = Box<dyn FnMut(u64) -> Duration + 'a>;

/// Each side runs at least this long in a turn.
const TURN: Duration = Duration::from_millis(8);
/// Turns of each side; odd, so that there is a middle one.
const TURNS: usize = 9;

/// What two ways take, in seconds for each repetition: medians over the turns.
#[derive(Clone, Copy, Debug)]
pub struct Pair {
    /// This program.
    pub ours: f64,
    /// The way it is compared with.
    pub plain: f64,
    /// Median of `plain / ours` over neighbouring turns.
    pub gain: f64,
}

/// Work to be repeated as a timed one.
pub fn timed<'a, T>(mut work: impl FnMut() -> T + 'a) -> Timed<'a> {
    Box::new(move |times| {
        let start = Instant::now();
        for _ in 0..times {
            black_box(work());
        }
        start.elapsed()
    })
}

/// Times both sides in turns: one, the other, one, the other.
pub fn pair(mut ours: Timed<'_>, mut plain: Timed<'_>) -> Pair {
    let (ours_times, plain_times) = (repetitions(&mut ours), repetitions(&mut plain));
    let each = |side: &mut Timed<'_>, times: u64| side(times).as_secs_f64() / times as f64;
    let turns: Vec<[f64; 2]> =
        (0..TURNS).map(|_| [each(&mut ours, ours_times), each(&mut plain, plain_times)]).collect();
    let of = |value: &dyn Fn(&[f64; 2]) -> f64| median(turns.iter().map(value).collect());
    Pair { ours: of(&|turn| turn[0]), plain: of(&|turn| turn[1]), gain: of(&|turn| turn[1] / turn[0]) }
}

/// Repetitions that fill a turn; this warms up, too.
fn repetitions(side: &mut Timed<'_>) -> u64 {
    let mut times = 1;
    loop {
        let taken = side(times);
        if taken >= TURN / 2 {
            let needed = TURN.as_secs_f64() / taken.as_secs_f64() * times as f64;
            return (needed.ceil() as u64).max(1);
        }
        times *= 2;
    }
}

/// The middle value.
pub fn median(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    values.get(values.len() / 2).copied().unwrap_or(f64::NAN)
}
