//! What one lint finds: each place in the files once, at its worst, with every screen and locale concerned.

use super::Subject;
use crate::screen::ScreenId;
use crate::screen::values::Values;
use crate::source::fault::{Fault, Level};
use crate::source::levels::Lint;
use embedded_graphics::primitives::Rectangle;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// A finding, and where it can be seen.
#[derive(Clone, Debug)]
pub struct Finding {
    /// What is wrong.
    pub fault: Fault,
    /// A picture of it; `None` where there is nothing to see.
    pub shown: Option<Evidence>,
}

/// What to draw to see a finding.
#[derive(Clone, Debug)]
pub struct Evidence {
    /// The screen.
    pub screen: ScreenId,
    /// The locale.
    pub locale: usize,
    /// The values.
    pub values: Arc<Values>,
    /// The areas concerned.
    pub areas: Vec<Rectangle>,
    /// Whether the locale matters; if not, messages do not name it.
    pub in_words: bool,
}

/// Findings of one lint beyond this many are only counted, whatever the output.
const MOST: usize = 1000;

struct Entry {
    weight: f64,
    finding: Finding,
    /// The greatest of its levels over the screens concerned.
    level: Level,
    places: BTreeMap<usize, BTreeSet<usize>>,
}

/// Gathers what one lint finds.
pub struct Report<'a> {
    subject: &'a Subject<'a>,
    lint: &'static Lint,
    found: BTreeMap<String, Entry>,
}

impl<'a> Report<'a> {
    pub(super) fn new(subject: &'a Subject<'a>, lint: &'static Lint) -> Self {
        Self { subject, lint, found: BTreeMap::new() }
    }

    /// A finding about an element: for each place in the files the one of greatest weight is kept.
    pub fn see(&mut self, shown: Evidence, weight: f64, fault: Fault) {
        let key = fault.span.as_ref().map_or_else(|| fault.message.clone(), |span| format!("{span:?}"));
        self.see_by(key, shown, weight, fault);
    }

    /// As [`Self::see`], where not the place but `key` says what is the same finding.
    pub fn see_by(&mut self, key: String, shown: Evidence, weight: f64, fault: Fault) {
        let (screen, locale) = (shown.screen.0, shown.in_words.then_some(shown.locale));
        let level = self.subject.device.levels.on_screen(self.lint, screen, fault.span.as_ref());
        if level == Level::Off {
            return;
        }
        let finding = Finding { fault, shown: Some(shown) };
        let entry = self.found.entry(key);
        let entry = entry
            .and_modify(|entry| {
                if weight > entry.weight {
                    (entry.weight, entry.finding) = (weight, finding.clone());
                }
            })
            .or_insert_with(|| Entry { weight, finding, level, places: BTreeMap::new() });
        entry.level = entry.level.max(level);
        entry.places.entry(screen).or_default().extend(locale);
    }

    /// A finding that cannot be seen on a screen.
    pub fn say(&mut self, fault: Fault) {
        let key = format!("{:?} {}", fault.span, fault.message);
        let level = self.subject.device.levels.at(self.lint, fault.span.as_ref());
        let finding = Finding { fault, shown: None };
        if level != Level::Off {
            self.found.insert(key, Entry { weight: 0.0, finding, level, places: BTreeMap::new() });
        }
    }

    pub(super) fn finish(self) -> Vec<Finding> {
        let Self { subject, lint, found } = self;
        let mut entries: Vec<Entry> = found.into_values().collect();
        let start = |entry: &Entry| entry.finding.fault.span.as_ref().map_or(usize::MAX, |span| span.start);
        entries.sort_by_key(|entry| (start(entry), entry.finding.fault.message.clone()));
        let rest = entries.len().saturating_sub(MOST);
        let unlisted = entries.iter().skip(MOST).map(|entry| entry.level).max();
        entries.truncate(MOST);
        let mut findings: Vec<Finding> = entries.into_iter().map(|entry| placed(subject, entry)).collect();
        if let Some(level) = unlisted {
            let fault = Fault::plain(format!("{rest} more findings of this kind are not listed"));
            findings.push(Finding { fault: Fault { level, ..fault }, shown: None });
        }
        for finding in &mut findings {
            finding.fault.id = Some(lint.id);
        }
        findings
    }
}

/// Adds the screens and locales concerned to a finding's label.
fn placed(subject: &Subject<'_>, mut entry: Entry) -> Finding {
    entry.finding.fault.level = entry.level;
    let place = |(screen, locales): (&usize, &BTreeSet<usize>)| {
        let screen = &subject.device.screens[*screen].id;
        let names: Vec<&str> = locales.iter().map(|locale| subject.device.locales[*locale].as_str()).collect();
        match locales.is_empty() || locales.len() == subject.locales.len() {
            true => screen.clone(),
            false => format!("{screen} ({})", names.join(", ")),
        }
    };
    if !entry.places.is_empty() {
        let places: Vec<String> = entry.places.iter().map(place).collect();
        let label = match &entry.finding.fault.label {
            label if label.is_empty() => format!("on {}", places.join(", ")),
            label => format!("{label}; on {}", places.join(", ")),
        };
        entry.finding.fault.label = label.into();
    }
    entry.finding
}
