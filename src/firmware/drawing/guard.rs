//! Conditions and guards as firmware tests them, in whole units.

use super::bits::{number, signed};
use super::whole::{first, scale};
use crate::device::Device;
use crate::firmware::tables::condition::{Check, Relation};
use crate::screen::guard::{Guard, Level};
use crate::screen::values::Condition;

const RANGE: u8 = 0;
const KNOWN: u8 = 1;
const COMPARE: u8 = 2;
const GROUP: u8 = 3;
const FROM: u8 = 4;
const LOW: u8 = 4;
const HIGH: u8 = 8;
const SAME: u8 = 16;
const NOT: u8 = 64;
const MORE: u8 = 128;

/// A test as bytes.
pub(super) type Test = Vec<u8>;

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
                let mut bytes = vec![COMPARE | if test == Relation::From { FROM } else { 0 }];
                number(field as u32, &mut bytes);
                number(other as u32, &mut bytes);
                number(mine as u32, &mut bytes);
                number(its as u32, &mut bytes);
                self.all.push(bytes);
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
        let same = low.is_some() && low == high;
        let mut head = RANGE | if holds { 0 } else { NOT };
        head |= if low.is_some() { LOW } else { 0 };
        head |= match high {
            Some(_) if same => SAME,
            Some(_) => HIGH,
            None => 0,
        };
        let mut bytes = vec![head];
        number(field as u32, &mut bytes);
        low.into_iter().for_each(|low| signed(low, &mut bytes));
        high.filter(|_| !same).into_iter().for_each(|high| signed(high, &mut bytes));
        self.all.push(bytes);
    }

    /// The same and a guard; `None` where firmware cannot test it.
    pub fn and(&self, device: &Device, guard: &Guard) -> Option<Self> {
        let mut tests = self.clone();
        match guard {
            Guard::Always => {}
            Guard::Missing(Level { field, .. }) => {
                let mut bytes = vec![KNOWN | NOT];
                number(field.0 as u32, &mut bytes);
                tests.all.push(bytes);
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
        let mut bytes = vec![GROUP | NOT];
        bytes.extend(joined(&others.all));
        self.all.push(bytes);
    }

    /// Each of them.
    pub fn all(&self) -> &[Test] {
        &self.all
    }
}

/// Tests in a row; empty where there are none.
pub(super) fn joined(all: &[Test]) -> Vec<u8> {
    let last = all.len().saturating_sub(1);
    let mut bytes = Vec::new();
    for (index, test) in all.iter().enumerate() {
        let (head, rest) = test.split_first().unwrap_or((&0, &[]));
        bytes.push(head | if index < last { MORE } else { 0 });
        bytes.extend(rest);
    }
    bytes
}

/// The test for a locale, by its position.
pub(super) fn locale(position: usize) -> Test {
    let mut bytes = vec![KNOWN | FROM];
    number(position as u32, &mut bytes);
    bytes
}
