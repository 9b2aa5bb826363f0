//! Conditions and guards as firmware tests them, in whole units.

use super::numbers::Number;
use super::whole::{first, scale};
use crate::device::Device;
use crate::firmware::tables::condition::{Check, Relation};
use crate::screen::guard::{Guard, Level};
use crate::screen::values::Condition;

const RANGE: u32 = 0;
const KNOWN: u32 = 1;
const COMPARE: u32 = 2;
const GROUP: u32 = 3;
const FROM: u32 = 4;
const LOW: u32 = 4;
const HIGH: u32 = 8;
const SAME: u32 = 16;
const NOT: u32 = 32;
const MORE: u32 = 64;

/// A test as numbers, what it is first.
pub(super) type Test = Vec<Number>;

/// Tests that must all hold.
#[derive(Clone, Debug, Default)]
pub(super) struct Tests {
    all: Vec<Test>,
    /// One of them never holds.
    pub never: bool,
    /// One of them compares two fields.
    pub compares: bool,
}

impl Tests {
    /// The conditions of an element.
    pub fn of(device: &Device, conditions: &[Condition]) -> Self {
        let mut tests = Self::default();
        for condition in conditions {
            tests.check(&Check::of(device, condition));
        }
        tests
    }

    fn check(&mut self, check: &Check) {
        let field = check.field;
        match (check.test, check.other) {
            (Relation::Never, _) => self.never = true,
            (test, Some((other, mine, its))) => {
                self.compares = true;
                let head = COMPARE | if test == Relation::From { FROM } else { 0 };
                self.all.push([head, field as u32, other as u32, mine as u32, its as u32].map(Number::One).to_vec());
            }
            (Relation::Below, None) => match check.limit.checked_sub(1) {
                Some(high) => self.range(field, None, Some(high), true),
                None => self.never = true,
            },
            (Relation::From, None) => self.range(field, Some(check.limit), None, true),
            (Relation::Is, None) => self.range(field, Some(check.limit), Some(check.limit), true),
        }
    }

    /// A known value between two numbers, both of them included; or not so.
    pub fn range(&mut self, field: usize, low: Option<i32>, high: Option<i32>, holds: bool) {
        let mut test = within(field, low, high);
        if let (false, Some(Number::One(head))) = (holds, test.first_mut()) {
            *head |= NOT;
        }
        self.all.push(test);
    }

    /// The same and a guard; `None` where firmware cannot test it.
    pub fn and(&self, device: &Device, guard: &Guard) -> Option<Self> {
        let mut tests = self.clone();
        match guard {
            Guard::Always => {}
            Guard::Missing(Level { field, .. }) => {
                tests.all.push([KNOWN | NOT, field.0 as u32].map(Number::One).to_vec());
            }
            Guard::Above { level, share, holds } => {
                let above = |value: f64| crate::screen::guard::share(value, level.scale) > *share;
                match first(scale(device, level.field), above) {
                    Some(low) => tests.range(level.field.0, Some(low), None, *holds),
                    None => tests.never |= *holds,
                }
            }
            Guard::Is { field, number, holds } => {
                let scale = scale(device, *field);
                let low = first(scale, |value| value.round() >= *number);
                let high = first(scale, |value| value.round() > *number);
                match (low, high.map_or(Some(i32::MAX), |high| high.checked_sub(1))) {
                    (Some(low), Some(high)) if low <= high => tests.range(field.0, Some(low), Some(high), *holds),
                    _ => tests.never |= *holds,
                }
            }
            Guard::Choice { field, place, of } => {
                let scale = scale(device, *field);
                let from = first(scale, |value| value.round() >= *place as f64);
                let beyond = first(scale, |value| value.round() > *place as f64);
                match (*place, place + 1 == *of) {
                    // What chooses none is nearest to the first or to the last.
                    (0, true) => {}
                    (0, false) => tests.range(field.0, Some(beyond?), None, false),
                    (_, true) => tests.range(field.0, Some(from?), None, true),
                    (_, false) => tests.range(field.0, Some(from?), Some(beyond?.checked_sub(1)?), true),
                }
            }
            Guard::First { lists, place } => {
                for list in lists.iter().take(*place) {
                    tests.none(&Self::of(device, list));
                }
                let own = Self::of(device, lists.get(*place)?);
                tests.never |= own.never;
                tests.compares |= own.compares;
                tests.all.extend(own.all);
            }
            Guard::All(all) => {
                for guard in all {
                    tests = tests.and(device, guard)?;
                }
            }
        }
        Some(tests)
    }

    /// Not all of others hold.
    fn none(&mut self, others: &Self) {
        if others.never {
            return;
        }
        self.never |= others.all.is_empty();
        self.compares |= others.compares;
        let mut test = vec![Number::One(GROUP | NOT)];
        test.extend(joined(&others.all));
        self.all.push(test);
    }

    /// Each of them.
    pub fn all(&self) -> &[Test] {
        &self.all
    }
}

/// The test for a known value between two numbers, both of them included.
pub(super) fn within(field: usize, low: Option<i32>, high: Option<i32>) -> Test {
    let same = low.is_some() && low == high;
    let mut head = RANGE | if low.is_some() { LOW } else { 0 };
    head |= match high {
        Some(_) if same => SAME,
        Some(_) => HIGH,
        None => 0,
    };
    let ends = low.into_iter().chain(high.filter(|_| !same));
    [head, field as u32].map(Number::One).into_iter().chain(ends.map(Number::signed)).collect()
}

/// The field and its number where a test is whether it is that.
pub(super) fn is(test: &Test) -> Option<(usize, u32)> {
    match test[..] {
        [Number::One(head), Number::One(field), Number::One(low)] if head == RANGE | LOW | SAME && low & 1 == 0 => {
            Some((field as usize, low / 2))
        }
        _ => None,
    }
}

/// Tests in a row; empty where there are none.
pub(super) fn joined(all: &[Test]) -> Vec<Number> {
    let last = all.len().saturating_sub(1);
    let mut joined = Vec::new();
    for (index, test) in all.iter().enumerate() {
        let from = joined.len();
        joined.extend(test.iter().cloned());
        if let (true, Some(Number::One(head))) = (index < last, joined.get_mut(from)) {
            *head |= MORE;
        }
    }
    joined
}
