//! What a product does, as plain tables: what keys, timers and events do on each screen, its live values, its refresh
//! policy. Not for carrying it out: that is [`crate::machine`].

pub mod count;
pub mod field;
pub mod flow_state;
pub mod policy;
pub mod states;
pub mod trigger;
pub mod units;

use self::count::Count;
use crate::hardware::load::Taken;
use crate::hardware::rail::Window;
use crate::parameters::Input;
use crate::screen::ScreenId;
use crate::screen::values::{Condition, FieldId, Values};
use crate::source::spans::Span;
use crate::units::Seconds;
use units::Bounds;

/// The position of an event in [`crate::device::Device::events`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct EventId(pub usize);

/// What keys, timers and events do on one screen or box, rules that hold anywhere included.
#[derive(Clone, Debug, Default)]
pub struct Wiring {
    /// What each key does; the first key stands at 0.
    pub keys: Vec<KeyRule>,
    /// What happens after a while.
    pub timers: Vec<Timer>,
    /// What events do.
    pub events: Vec<(EventId, Reaction)>,
    /// Fields that an [`Action::Cancel`] sets back to what they were on entry.
    pub edits: Vec<FieldId>,
    /// How each key is written in the screen's file, where it is.
    pub written: Vec<Option<WrittenKey>>,
}

impl Wiring {
    /// Everything that may happen here, whatever the cause.
    pub fn reactions(&self) -> impl Iterator<Item = &Reaction> {
        let keys = self.keys.iter().flat_map(KeyRule::reactions);
        let timers = self.timers.iter().map(|timer| &timer.reaction);
        keys.chain(timers).chain(self.events.iter().map(|(_, reaction)| reaction))
    }
}

/// A key as a screen's file has it.
#[derive(Clone, Debug)]
pub struct WrittenKey {
    /// Its table.
    pub span: Span,
    /// Whether it has a label.
    pub labelled: bool,
    /// It takes the place of a rule that holds anywhere.
    pub excepts: bool,
}

/// What one key does.
#[derive(Clone, Debug, Default)]
pub struct KeyRule {
    /// On a press. With a hold: when the key is let go before the hold's time is over.
    pub press: Reaction,
    /// When it is kept down.
    pub hold: Option<Hold>,
    /// The press is done again and again while the key is kept down.
    pub repeat: Option<Repeat>,
    /// When it is let go.
    pub release: Reaction,
}

impl KeyRule {
    /// Whether the key does anything at all.
    pub fn acts(&self) -> bool {
        self.reactions().any(Reaction::acts)
    }

    /// Everything that it may do.
    pub fn reactions(&self) -> impl Iterator<Item = &Reaction> {
        [&self.press, &self.release].into_iter().chain(self.hold.as_ref().map(|hold| &hold.reaction))
    }
}

/// What a key does when it is kept down.
#[derive(Clone, Debug)]
pub struct Hold {
    /// After so long.
    pub after: Seconds,
    /// What it does then, once.
    pub reaction: Reaction,
}

/// How a press is repeated while its key is kept down.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Repeat {
    /// First after so long.
    pub after: Seconds,
    /// Then at this interval.
    pub every: Seconds,
    /// From this repetition on, counted from 1, changes by an amount are this many times as large.
    pub faster: Option<(u32, f64)>,
}

/// What happens for one cause: the actions of the first alternative whose conditions hold.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Reaction {
    /// Alternatives in order.
    pub alternatives: Vec<Alternative>,
}

/// Actions under conditions.
#[derive(Clone, Debug, PartialEq)]
pub struct Alternative {
    /// All of these must hold.
    pub when: Vec<Condition>,
    /// Done in order.
    pub actions: Vec<Action>,
}

impl Reaction {
    /// These actions whatever holds; nothing at all without actions.
    pub fn always(actions: Vec<Action>) -> Self {
        let alternatives =
            if actions.is_empty() { Vec::new() } else { vec![Alternative { when: Vec::new(), actions }] };
        Self { alternatives }
    }

    /// Whether it can do anything.
    pub fn acts(&self) -> bool {
        !self.alternatives.is_empty()
    }

    /// The actions that the values of the moment choose; `None` where no alternative's conditions hold.
    pub fn actions(&self, values: &Values) -> Option<&[Action]> {
        let holds = |alternative: &&Alternative| alternative.when.iter().all(|condition| condition.holds(values));
        self.alternatives.iter().find(holds).map(|alternative| alternative.actions.as_slice())
    }

    /// Every action that it may do.
    pub fn every_action(&self) -> impl Iterator<Item = &Action> {
        self.alternatives.iter().flat_map(|alternative| &alternative.actions)
    }

    /// Every screen or box that it may lead to by name; [`Action::Back`] and [`Action::Close`] are not among them.
    pub fn targets(&self) -> impl Iterator<Item = ScreenId> + '_ {
        self.every_action().flat_map(Action::targets)
    }

    /// What it does where that is no more than one change and one target, whatever holds.
    pub fn plain(&self) -> Option<(Option<FieldChange>, Option<ScreenId>)> {
        match self.alternatives.as_slice() {
            [] => Some((None, None)),
            [Alternative { when, actions }] if when.is_empty() && actions.iter().all(Action::is_plain) => match actions
                .as_slice()
            {
                [Action::Change(change)] => Some((Some(*change), None)),
                [Action::Go(Target::Screen(screen))] => Some((None, Some(*screen))),
                [Action::Change(change), Action::Go(Target::Screen(screen))] => Some((Some(*change), Some(*screen))),
                _ => None,
            },
            _ => None,
        }
    }
}

/// One thing that is done.
#[derive(Clone, Debug, PartialEq)]
pub enum Action {
    /// A field changes.
    Change(FieldChange),
    /// Of several changes the one at a field's place: the nearest where the value lies outside.
    Pick(FieldId, Vec<FieldChange>),
    /// A screen is shown; boxes over the screen before close.
    Go(Target),
    /// The screen is shown from which this one was entered; over a screen, the box closes.
    Back,
    /// A box opens over what is shown.
    Open(ScreenId),
    /// The front box closes.
    Close,
    /// The fields that this screen edits are as they were when it was entered.
    Cancel,
}

impl Action {
    /// Whether it is no change that may open a box.
    fn is_plain(&self) -> bool {
        !matches!(self, Self::Change(change) if change.ends.opens().is_some())
    }

    /// The screens or boxes that it may lead to by name.
    pub fn targets(&self) -> Vec<ScreenId> {
        match self {
            Self::Go(Target::Screen(screen)) | Self::Open(screen) => vec![*screen],
            Self::Go(Target::By { screens, .. }) => screens.clone(),
            Self::Change(change) => change.ends.opens().into_iter().collect(),
            Self::Pick(_, changes) => changes.iter().filter_map(|change| change.ends.opens()).collect(),
            Self::Back | Self::Close | Self::Cancel => Vec::new(),
        }
    }
}

/// Where an action leads.
#[derive(Clone, Debug, PartialEq)]
pub enum Target {
    /// This screen.
    Screen(ScreenId),
    /// The screen at a field's place in a list; the nearest end where the value lies outside.
    By {
        /// The field.
        field: FieldId,
        /// The list.
        screens: Vec<ScreenId>,
        /// The field that says how many rows there are, where one does: with none, this leads nowhere.
        rows: Option<FieldId>,
    },
}

impl Target {
    /// The screen of the moment.
    pub fn screen(&self, values: &Values) -> Option<ScreenId> {
        match self {
            Self::Screen(screen) => Some(*screen),
            Self::By { rows: Some(rows), .. } if values.choice(*rows, usize::MAX) == 0 => None,
            Self::By { field, screens, .. } => screens.get(values.choice(*field, screens.len())).copied(),
        }
    }
}

/// A change of a field.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FieldChange {
    /// The field.
    pub field: FieldId,
    /// What happens to it.
    pub how: How,
    /// What happens at the ends of its range.
    pub ends: Ends,
}

/// What happens to a field.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum How {
    /// Added.
    By(f64),
    /// Set.
    To(f64),
    /// Added to the decimal digit that another field names: at 0 the field's last digit, at 1 the one before it.
    Digit {
        /// The field that names the digit.
        cursor: FieldId,
        /// Steps of the digit.
        by: i8,
    },
}

/// What happens at the ends of a field's range.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Ends {
    /// The value stops there.
    #[default]
    Clamp,
    /// It goes on from the other end.
    Wrap,
    /// The value stays as it was, this box opens, and what else would be done is not.
    Open(ScreenId),
}

impl Ends {
    /// The box that opens where a value would leave its range.
    pub fn opens(self) -> Option<ScreenId> {
        match self {
            Self::Open(screen) => Some(screen),
            Self::Clamp | Self::Wrap => None,
        }
    }
}

impl FieldChange {
    /// The field's value after the change, `times` as large where it is an amount; amounts and digits count in the unit
    /// shown. A missing value stays missing unless it is set. `None` where it would leave the field's bounds and a box
    /// opens instead.
    pub fn value(&self, values: &Values, bounds: &Bounds, times: f64) -> Option<f64> {
        let now = values.of(self.field);
        let count = Count::new(bounds.range, bounds.grain);
        // Amounts count in steps of what is shown.
        let seen = Count::new(bounds.range, bounds.step);
        let amount = match self.how {
            How::To(value) => return Some(count.value(count.clamped(count.number(value)))),
            How::By(by) => count::times(seen.number(by), times),
            How::Digit { cursor, by, .. } => {
                // The cast makes 0 of a missing value.
                let place = values.of(cursor).round().clamp(0.0, f64::from(MOST_DIGIT)) as u32;
                count::times(by.into(), times) * 10i128.pow(place)
            }
        };
        if now.is_nan() {
            return Some(now);
        }
        let held = count.number(now);
        let wanted = match &bounds.unit {
            None => held.saturating_add(amount),
            Some(unit) => unit.moved(held, amount),
        };
        // What conversion leaves over is no step outside.
        let slack = bounds.unit.as_ref().map_or(0, |unit| i128::from(!unit.own));
        let outside = (count.clamped(wanted) - wanted).abs() > slack;
        match self.ends {
            Ends::Wrap if outside => Some(count.value(count.wrapped(wanted, bounds.unit.map_or(1, |unit| unit.step)))),
            Ends::Open(_) if outside => None,
            _ => Some(count.value(count.clamped(wanted))),
        }
    }
}

/// The highest digit that a cursor names, counted from the last one shown, which is 0: numbers of 32 bits have ten.
pub const MOST_DIGIT: u32 = 9;

/// A timer of a screen.
#[derive(Clone, Debug)]
pub struct Timer {
    /// How long.
    pub wait: Seconds,
    /// From when.
    pub since: Since,
    /// What happens then, once.
    pub reaction: Reaction,
}

/// From when a timer counts.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Since {
    /// From the screen's entry or the last press that did something here.
    #[default]
    Press,
    /// From the screen's entry.
    Entry,
}

/// Something that happens without a key.
#[derive(Clone, Debug)]
pub struct Event {
    /// Its name.
    pub name: String,
    /// Its table in the project.
    pub span: Span,
    /// When it happens.
    pub times: Times,
    /// It happens only while all of these hold.
    pub only: Vec<Condition>,
    /// What each occurrence takes beside its drawing.
    pub taken: Option<Taken>,
    /// How long the microcontroller runs for it beside its drawing, its wake-up apart.
    pub awake: Option<Input<Seconds>>,
    /// The supply voltages at which what it takes works, where they are stated.
    pub supply: Option<Window>,
    /// It comes over a link that can be lost; what then must hold is among the conditions.
    pub link: bool,
}

impl Event {
    /// Whether it is one that happens when a condition becomes true, and the condition holds.
    pub fn holds(&self, values: &Values) -> bool {
        matches!(self.times, Times::When(condition) if condition.holds(values)) && self.allowed(values)
    }

    /// Whether it may happen with these values.
    pub fn allowed(&self, values: &Values) -> bool {
        self.only.iter().all(|condition| condition.holds(values))
    }
}

/// When an event happens.
#[derive(Clone, Copy, Debug)]
pub enum Times {
    /// At an interval, within hours of the day.
    Every(Seconds, Hours),
    /// This often a day on average, at random times within hours of the day.
    PerDay(f64, Hours),
    /// When a condition becomes true.
    When(Condition),
}

/// Hours of the day, which may reach over midnight.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hours {
    /// Begin, after midnight.
    pub from: Seconds,
    /// Length.
    pub length: Seconds,
}

impl Hours {
    /// The whole day.
    pub const ALL: Self = Self { from: Seconds(0.0), length: crate::units::DAY };

    /// Whether a time, counted from a midnight, lies within.
    pub fn hold(&self, time: Seconds) -> bool {
        // In whole microseconds, as the machine counts: a time is at an end or it is not.
        let whole = |time: Seconds| (time.0 * 1e6).round() as i64;
        (whole(time) - whole(self.from)).rem_euclid(whole(crate::units::DAY)) < whole(self.length)
    }
}

#[cfg(test)]
mod tests;
