//! The cheapest legal sequence of full and partial refreshes for updates known beforehand.
//!
//! The yardstick for a refresh policy, which must decide without knowing what comes next. Not for the policy itself,
//! nor for what one refresh costs: costs come in with each [`Planned`], all in one quantity `Q` (energy, charge or time).
//!
//! A panel's rules forbid a partial refresh at some updates, more than so many in a row, and too old a full. So a
//! schedule is a path over (update, last full), and the cheapest is a shortest path. Of two places of the last full,
//! the later is never worse for what follows: it allows more partials and more time. A full that is both earlier and no
//! of lower cost can therefore be forgotten, and what is left is a queue that grows more expensive towards later fulls.
//! Each update takes the cheapest one, at its front. That needs O(n) steps for n updates, whatever the number of
//! partials allowed, and 8 bytes an update to find the way back.
//!
//! **Extra fulls.** When no update comes before the last full is too old, the picture is refreshed in full where it
//! stands, at the deadline, for [`Rules::idle_full`]. Any other extra full can be moved later without loss, to its
//! deadline or to just before the next update. There it pays only if that update's own full is more expensive than the
//! extra full and a partial together ([`Choice::FullThenPartial`]): costs that are measured alike never are, but the
//! search does not rely on it.

use std::collections::VecDeque;
use std::fmt;

use super::policy::limit_reached;
use crate::units::{Quantity, Seconds};

/// One update of the screen: when it comes and what each kind of refresh would cost.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Planned<Q> {
    /// Cost of showing it with a full refresh.
    pub full: Q,
    /// Cost of showing it with a partial refresh; `None` where that is not allowed (too cold, say).
    pub partial: Option<Q>,
    /// The screen demands a full refresh here.
    pub must_full: bool,
    /// When the update comes, on any clock; never earlier than the one before.
    pub time: Seconds,
}

/// What the panel allows.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rules<Q> {
    /// Most partial refreshes between two full ones.
    pub max_partials: u32,
    /// Longest time from one full refresh to the next, more than zero; `None` for no limit.
    pub max_age: Option<Seconds>,
    /// Cost of a full refresh of a picture that does not change.
    pub idle_full: Q,
    /// When the last full before the first update was; `None` if there was none, so that the first update is full.
    pub last_full: Option<Seconds>,
}

/// How one update is shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Choice {
    /// A full refresh.
    Full,
    /// A partial refresh.
    Partial,
    /// A full refresh of the old picture, then a partial one to the new.
    FullThenPartial,
}

/// What a schedule comes to, up to and including the last update.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Total<Q> {
    /// Cost of all refreshes, extra fulls included.
    pub cost: Q,
    /// Updates shown with a full refresh.
    pub fulls: u64,
    /// Updates shown with a partial refresh.
    pub partials: u64,
    /// Full refreshes that showed no update.
    pub extra_fulls: u64,
}

/// The cheapest schedule.
#[derive(Clone, Debug, PartialEq)]
pub struct Schedule<Q> {
    /// The mode of each update, in their order.
    pub modes: Vec<Choice>,
    /// What they come to.
    pub total: Total<Q>,
}

/// Why there is no answer.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ScheduleFault {
    /// A cost is negative or not a number, at this update (none: in the rules).
    Cost(Option<usize>),
    /// The time of this update is not a number, or before that of the update (or last full) before it.
    Time(usize),
    /// The longest age is not more than zero, or the time of the last full is not a number.
    Age,
    /// More updates than a schedule can hold (2,147,483,647).
    TooMany,
    /// The number of modes is not that of the updates.
    Length,
    /// A schedule breaks a rule at this update.
    Illegal(usize, Breach),
}

/// The rule a schedule breaks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Breach {
    /// A partial refresh where the step has none.
    NoPartial,
    /// A partial refresh where the screen demands a full one.
    MustBeFull,
    /// More partials since the last full than allowed.
    TooManyPartials,
    /// A partial refresh though there was no full before.
    NoFullBefore,
}

impl fmt::Display for ScheduleFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Cost(Some(at)) => write!(f, "update {at}: a cost must be zero or more"),
            Self::Cost(None) => write!(f, "the cost of an extra full refresh must be zero or more"),
            Self::Time(at) => write!(f, "update {at}: its time is before that of the refresh before it"),
            Self::Age => write!(f, "the longest time between full refreshes must be more than zero"),
            Self::TooMany => write!(f, "too many updates for one schedule"),
            Self::Length => write!(f, "a schedule needs one mode for each update"),
            Self::Illegal(at, breach) => write!(f, "update {at}: {breach}"),
        }
    }
}

impl fmt::Display for Breach {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::NoPartial => "a partial refresh is not allowed here",
            Self::MustBeFull => "the screen demands a full refresh here",
            Self::TooManyPartials => "more partial refreshes in a row than the panel allows",
            Self::NoFullBefore => "a partial refresh before any full one",
        })
    }
}

impl std::error::Error for ScheduleFault {}

/// A full refresh that may be the last one.
#[derive(Clone, Copy)]
struct LastFull {
    time: f64,
    /// The first update after it.
    next: usize,
    /// Cost up to and including it, less the cost of a partial at each update before `next`.
    cost: f64,
    /// Which entry of the way back it is.
    way: u32,
}

/// The way back: a chosen full and the one before it.
#[derive(Clone, Copy)]
struct Kept {
    update: u32,
    before: u32,
}

const NOWHERE: u32 = u32::MAX;

/// Finds the cheapest legal schedule; among equals, one whose fulls come late. O(n) for n steps, except that each
/// deadline without an update adds a step for each last full still in question (nearly always one).
///
/// # Errors
/// Costs, times or rules that are no such thing; see [`ScheduleFault`].
pub fn cheapest<Q: Quantity>(steps: &[Planned<Q>], rules: &Rules<Q>) -> Result<Schedule<Q>, ScheduleFault> {
    check(steps, rules)?;
    let idle: f64 = rules.idle_full.into();
    let start = rules.last_full.map(|time| LastFull { time: time.0, next: 0, cost: 0.0, way: NOWHERE });
    let mut lasts: VecDeque<LastFull> = start.into_iter().collect();
    let mut ways: Vec<Kept> = Vec::with_capacity(steps.len());
    let mut expired = Vec::new();
    // Cost of a partial at each update so far, where there is one.
    let mut partials = 0.0;
    for (at, step) in steps.iter().enumerate() {
        let time = step.time.0;
        if let Some(age) = rules.max_age {
            renew(&mut lasts, &mut expired, age.0, idle, time, at);
        }
        let (cost, before) = lasts.front().map_or((0.0, NOWHERE), |last| (last.cost + partials, last.way));
        let full: f64 = step.full.into();
        match step.partial.filter(|_| !step.must_full) {
            Some(partial) => {
                let partial: f64 = partial.into();
                if idle + partial < full && !lasts.is_empty() {
                    let way = ways.len() as u32;
                    ways.push(Kept { update: at as u32 | EXTRA, before });
                    offer(&mut lasts, LastFull { time, next: at, cost: cost + idle - partials, way });
                }
                let spent = |last: &LastFull| limit_reached((at - last.next) as u32, rules.max_partials);
                while lasts.front().is_some_and(spent) {
                    lasts.pop_front();
                }
                partials += partial;
            }
            None => lasts.clear(),
        }
        let way = ways.len() as u32;
        ways.push(Kept { update: at as u32, before });
        offer(&mut lasts, LastFull { time, next: at + 1, cost: cost + full - partials, way });
    }
    let modes = follow(&ways, lasts.front().map_or(NOWHERE, |last| last.way), steps.len());
    let total = cost_of(steps, rules, &modes)?;
    Ok(Schedule { modes, total })
}

/// Marks a way's update as one before which an extra full is made.
const EXTRA: u32 = 1 << 31;

/// Puts a later full into the queue and forgets those before it that cost no less.
fn offer(lasts: &mut VecDeque<LastFull>, new: LastFull) {
    while lasts.back().is_some_and(|last| last.cost >= new.cost) {
        lasts.pop_back();
    }
    lasts.push_back(new);
}

/// Makes the extra fulls that fall due before the update `next` at `time`.
fn renew(lasts: &mut VecDeque<LastFull>, expired: &mut Vec<LastFull>, age: f64, idle: f64, time: f64, next: usize) {
    expired.clear();
    while let Some(last) = lasts.front().copied() {
        let (extras, newest) = extras_due(last.time, age, time);
        if extras == 0.0 {
            break;
        }
        lasts.pop_front();
        expired.push(LastFull { time: newest, next, cost: last.cost + extras * idle, way: last.way });
    }
    // After a long wait the order of the deadlines need not be that of the fulls they come from.
    expired.sort_by(|a, b| a.time.total_cmp(&b.time));
    for last in expired.drain(..) {
        offer(lasts, last);
    }
}

/// How many deadlines, `age` apart from the full at `last` on, come before `time`, and the full's time after them.
fn extras_due(last: f64, age: f64, time: f64) -> (f64, f64) {
    if last + age >= time {
        return (0.0, last);
    }
    let count = (((time - last) / age).ceil() - 1.0).max(1.0);
    (count, last + count * age)
}

/// Reads the modes off the chosen fulls, from the last one back.
fn follow(ways: &[Kept], mut way: u32, len: usize) -> Vec<Choice> {
    let mut modes = vec![Choice::Partial; len];
    while let Some(Kept { update, before }) = ways.get(way as usize) {
        modes[(update & !EXTRA) as usize] = if update & EXTRA == 0 { Choice::Full } else { Choice::FullThenPartial };
        way = *before;
    }
    modes
}

/// What a given schedule costs under the same rules, with the extra fulls that fall due between its updates. O(n).
///
/// # Errors
/// The first update at which the schedule is illegal and the rule it breaks, or input that [`cheapest`] refuses too.
pub fn cost_of<Q: Quantity>(
    steps: &[Planned<Q>],
    rules: &Rules<Q>,
    modes: &[Choice],
) -> Result<Total<Q>, ScheduleFault> {
    check(steps, rules)?;
    if steps.len() != modes.len() {
        return Err(ScheduleFault::Length);
    }
    let idle: f64 = rules.idle_full.into();
    let (mut cost, mut extras) = (0.0, 0.0);
    let (mut fulls, mut partials) = (0, 0);
    let mut last = rules.last_full.map(|time| time.0);
    let mut run = 0;
    for (at, (step, mode)) in steps.iter().zip(modes).enumerate() {
        let time = step.time.0;
        if let (Some(age), Some(full)) = (rules.max_age, last) {
            let (due, newest) = extras_due(full, age.0, time);
            if due > 0.0 {
                (last, run) = (Some(newest), 0);
                extras += due;
            }
        }
        if *mode == Choice::Full {
            cost += step.full.into();
            fulls += 1;
            (last, run) = (Some(time), 0);
            continue;
        }
        if *mode == Choice::FullThenPartial && last.is_some() {
            extras += 1.0;
            (last, run) = (Some(time), 0);
        }
        let breach = |breach| ScheduleFault::Illegal(at, breach);
        if step.must_full {
            return Err(breach(Breach::MustBeFull));
        }
        let partial = step.partial.ok_or(breach(Breach::NoPartial))?;
        last.ok_or(breach(Breach::NoFullBefore))?;
        if limit_reached(run, rules.max_partials) {
            return Err(breach(Breach::TooManyPartials));
        }
        cost += partial.into();
        partials += 1;
        run += 1;
    }
    Ok(Total { cost: (cost + extras * idle).into(), fulls, partials, extra_fulls: extras as u64 })
}

/// Refuses costs, times and rules that are no such thing.
fn check<Q: Quantity>(steps: &[Planned<Q>], rules: &Rules<Q>) -> Result<(), ScheduleFault> {
    let good = |cost: Q| {
        let cost: f64 = cost.into();
        cost.is_finite() && cost >= 0.0
    };
    if !good(rules.idle_full) {
        return Err(ScheduleFault::Cost(None));
    }
    if rules.max_age.is_some_and(|age| age.0.is_nan() || age.0 <= 0.0)
        || rules.last_full.is_some_and(|time| !time.0.is_finite())
    {
        return Err(ScheduleFault::Age);
    }
    if steps.len() >= EXTRA as usize {
        return Err(ScheduleFault::TooMany);
    }
    let mut before = rules.last_full.map_or(f64::NEG_INFINITY, |time| time.0);
    for (at, step) in steps.iter().enumerate() {
        if !good(step.full) || !step.partial.is_none_or(good) {
            return Err(ScheduleFault::Cost(Some(at)));
        }
        if !step.time.0.is_finite() || step.time.0 < before {
            return Err(ScheduleFault::Time(at));
        }
        before = step.time.0;
    }
    Ok(())
}
