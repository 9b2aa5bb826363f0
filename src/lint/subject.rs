//! What lints look at: a device in chosen locales, with the values at which each screen is tried.

use super::report::Evidence;
use crate::device::Device;
use crate::machine::explore::{Exploration, STATES, explore};
use crate::screen::values::{Condition, FieldId, Limit, Test, Values};
use crate::screen::{Item, Screen, ScreenId};
use embedded_graphics::primitives::Rectangle;
use std::sync::{Arc, OnceLock};

/// More sets of values than this are not tried on one screen.
const MOST_CASES: usize = 16;

/// A device under lints.
pub struct Subject<'a> {
    /// The device.
    pub device: &'a Device,
    /// Positions of the locales that are tried.
    pub locales: Vec<usize>,
    cases: Vec<Vec<Arc<Values>>>,
    explored: OnceLock<Exploration>,
}

/// One screen in one locale.
#[derive(Clone, Copy)]
pub struct View<'a> {
    /// Its position.
    pub id: ScreenId,
    /// The screen.
    pub screen: &'a Screen,
    /// The locale.
    pub locale: usize,
    /// Whether it is tried in every locale.
    pub in_words: bool,
    /// Its elements.
    pub items: &'a [Item],
    /// Values at which it is tried: the sample, the widest, and for each condition of an element a set that fulfils it.
    pub cases: &'a [Arc<Values>],
}

impl<'a> Subject<'a> {
    /// A device in some of its locales.
    pub fn new(device: &'a Device, locales: Vec<usize>) -> Self {
        let base = [Arc::new(device.sample()), Arc::new(device.worst())];
        let cases = device.screens.iter().map(|screen| cases(device, screen, &base)).collect();
        Self { device, locales, cases, explored: OnceLock::new() }
    }

    /// The states of the flow, looked at once for all lints.
    pub fn explored(&self) -> &Exploration {
        self.explored.get_or_init(|| explore(self.device, STATES))
    }

    /// Every screen in every locale that is tried.
    pub fn views(&self) -> impl Iterator<Item = View<'_>> {
        let screens = self.device.screens.iter().enumerate();
        screens.flat_map(move |(index, screen)| {
            self.locales.iter().map(move |locale| View {
                id: ScreenId(index),
                screen,
                locale: *locale,
                in_words: true,
                items: &screen.pictures[*locale],
                cases: &self.cases[index],
            })
        })
    }

    /// Every screen in the first locale that is tried: for what does not depend on words.
    pub fn screens(&self) -> impl Iterator<Item = View<'_>> {
        let first = self.locales.first().copied();
        let first = self.views().filter(move |view| Some(view.locale) == first);
        first.map(|view| View { in_words: false, ..view })
    }

    /// The device's full-panel rectangle.
    pub fn display(&self) -> Rectangle {
        Rectangle::new(embedded_graphics::prelude::Point::zero(), self.device.panel.size())
    }

    /// Whether a screen can be entered, or redrawn, by a partial refresh.
    pub fn partial(&self, screen: ScreenId) -> bool {
        self.device.panel.partial.is_some() && !self.device.policy.full_on[screen.0]
    }
}

impl View<'_> {
    /// The sample values.
    pub fn sample(&self) -> &Arc<Values> {
        &self.cases[0]
    }

    /// Values at which an element is shown.
    pub fn showing(&self, item: &Item) -> &Arc<Values> {
        // The widest values come second: they are the likelier ones to show what is wrong.
        let widest_first = self.cases.iter().skip(1).chain(self.cases.first());
        widest_first.into_iter().find(|values| item.shows(values)).unwrap_or(&self.cases[0])
    }

    /// How a finding on this screen can be seen.
    pub fn shown(&self, values: &Arc<Values>, areas: Vec<Rectangle>) -> Evidence {
        Evidence { screen: self.id, locale: self.locale, values: values.clone(), areas, in_words: self.in_words }
    }
}

fn cases(device: &Device, screen: &Screen, base: &[Arc<Values>; 2]) -> Vec<Arc<Values>> {
    let mut cases = base.to_vec();
    for item in screen.pictures.iter().flatten() {
        if cases.len() < MOST_CASES && !cases.iter().any(|values| item.shows(values)) {
            cases.extend(fulfilled(device, &base[1], &item.when).map(Arc::new));
        }
    }
    cases
}

/// Values changed so that conditions hold; `None` where no simple change does it.
fn fulfilled(device: &Device, values: &Values, conditions: &[Condition]) -> Option<Values> {
    let mut values = values.clone();
    for condition in conditions {
        if condition.holds(&values) {
            continue;
        }
        let end = |field: FieldId, end: usize| device.fields[field.0].range[end];
        let (low, high) = (end(condition.field, 0), end(condition.field, 1));
        match condition.test {
            Test::Is(wanted) => values.now[condition.field.0] = wanted,
            Test::Below(limit) => {
                values.now[condition.field.0] = low;
                if let Limit::Field(other) = limit {
                    values.now[other.0] = end(other, 1);
                }
            }
            Test::From(limit) => {
                values.now[condition.field.0] = high;
                if let Limit::Field(other) = limit {
                    values.now[other.0] = end(other, 0);
                }
            }
        }
    }
    conditions.iter().all(|condition| condition.holds(&values)).then_some(values)
}
