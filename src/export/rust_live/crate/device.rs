// Written by inkjoule. Changes here are lost with the next export.
//! A running device: what comes in, and what it says is to be done.

use super::ffi::{Handle, Store};
use super::task::Task;
// @IF:EVENTS@
use super::Event;
// @END@
// @IF:FIELDS@
use super::Field;
// @END@
// @IF:KEYS@
use super::Key;
// @END@
use super::{Locale, Screen};

/// A time of the clock that runs while the device sleeps: milliseconds after midnight of the first day, local time.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Time(u64);

impl Time {
    /// So many milliseconds after midnight of the first day. A clock that goes back is taken as one that stands still.
    pub const fn from_millis(millis: u64) -> Self {
        Self(millis)
    }

    /// Milliseconds after midnight of the first day.
    pub const fn millis(self) -> u64 {
        self.0
    }

    /// Of the numbers of C, where the highest is never.
    pub(super) const fn of(number: u64) -> Option<Self> {
        if number == u64::MAX {
            None
        } else {
            Some(Self(number))
        }
    }
}

/// The tables are not those that were exported: flash is damaged.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Damaged;

impl core::fmt::Display for Damaged {
    fn fmt(&self, out: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        out.write_str("the tables of the design are damaged")
    }
}

impl core::error::Error for Damaged {}
// @IF:KEYS@

/// What became of a key.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Answer {
    /// It did something.
    Acted,
    /// It has no meaning now.
    Nothing,
    /// It waits for the panel to end its refresh.
    Queued,
    /// It was dropped, because the panel refreshes.
    Dropped,
}
// @END@
// @IF:TOLD@

/// Why something was not taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Refused {
    /// A frame is on its way to the panel. Tell it again after the refresh has begun.
    Sending,
    /// The event's condition does not hold.
    Condition,
}
// @END@

/// Whether the tables are still what was exported. It reads all of them: ask once at the start, where flash may be damaged.
pub fn tables_are_sound() -> bool {
    super::ffi::sound()
}

/// A device before it begins.
pub struct Setup<'s>(Handle<'s>);

impl<'s> Setup<'s> {
    /// Prepares a device in its store, with the design's own values. What the store held before is lost.
    ///
    /// # Errors
    /// [`Damaged`] where tables and rules do not belong together.
    pub fn new(store: &'s mut Store) -> Result<Self, Damaged> {
        Handle::new(store).map(Self).ok_or(Damaged)
    }
    // @IF:FIELDS@

    /// Sets a field: what was stored, and the first measurements. A number in units of the field's last decimal, within its
    /// range; `None` where it is not known. One beyond what the field's bytes hold becomes the nearest, here and in all calls.
    pub fn preset(&mut self, field: Field, number: impl Into<Option<i32>>) {
        self.0.preset(field as u16, known(number.into()));
    }

    /// Appends a value to a field's history, the oldest first, as it was stored. Nothing happens where the field has none.
    pub fn past_add(&mut self, field: Field, number: impl Into<Option<i32>>) {
        self.0.past_add(field as u16, known(number.into()));
    }
    // @END@
    // @IF:LOCALES@

    /// The locale to begin with; the first one otherwise.
    pub fn set_locale(&mut self, locale: Locale) {
        self.0.locale(locale as u8);
    }
    // @END@

    /// The device begins with its home screen.
    #[must_use]
    pub fn begin(mut self, now: Time) -> Device<'s> {
        self.0.begin(now.0);
        Device(self.0)
    }
}

/// A running device.
///
/// It may be moved, also to another thread, and any number of them may run at once, each in its own store.
pub struct Device<'s>(Handle<'s>);

impl Device<'_> {
    /// The next thing to do at this time and temperature, in tenths of a degree Celsius. Carries out what is due first.
    #[must_use]
    pub fn next(&mut self, now: Time, temperature: i16) -> Task<'_> {
        let (kind, until, numbers) = self.0.next(now.0, temperature);
        Task::of(kind, Time::of(until), numbers, self.0.strip())
    }

    /// The panel refreshes until then; `None` while that is not known. Once a refresh has ended: the time of the moment.
    /// Until then keys wait or are dropped, and no other refresh begins.
    pub fn busy(&mut self, until: Option<Time>) {
        self.0.busy(until.map_or(u64::MAX, Time::millis));
    }

    /// Carries out everything due, the panel excepted; [`Device::next`] does it too.
    pub fn run(&mut self, now: Time) {
        self.0.run(now.0);
    }

    /// When something happens next by itself; `None`: nothing does.
    pub fn wake(&mut self) -> Option<Time> {
        Time::of(self.0.wake())
    }

    /// Whether a frame is on its way to the panel, so that events must wait.
    pub fn is_sending(&self) -> bool {
        self.0.sending()
    }

    /// The screen that is shown, below all boxes.
    pub fn screen(&self) -> Screen {
        screen(self.0.screen())
    }

    /// The locale of texts and numbers.
    pub fn locale(&self) -> Locale {
        Locale::ALL
            .get(usize::from(self.0.locale_now()))
            .copied()
            .unwrap_or(Locale::ALL[0])
    }

    /// Boxes over the screen, the front one last.
    pub fn boxes(&self) -> impl Iterator<Item = Screen> + '_ {
        (0..self.0.box_count()).map(|at| screen(self.0.open_box(at)))
    }

    /// What is in front: the last box, or the screen where there is none.
    pub fn front(&self) -> Screen {
        self.boxes().last().unwrap_or(self.screen())
    }
    // @IF:KEYS@

    /// A key goes down. Debounce it before.
    pub fn key_down(&mut self, now: Time, key: Key) -> Answer {
        answer(self.0.key(now.0, key as u8, true))
    }

    /// A key goes up.
    pub fn key_up(&mut self, now: Time, key: Key) -> Answer {
        answer(self.0.key(now.0, key as u8, false))
    }
    // @END@
    // @IF:EVENTS@

    /// Something happens outside. Fields that the event renews are told before, by [`Device::measured`].
    ///
    /// # Errors
    /// [`Refused::Sending`]: tell it again after the refresh has begun. [`Refused::Condition`]: it may not happen now.
    pub fn event(&mut self, now: Time, event: Event) -> Result<(), Refused> {
        match (self.0.sending(), self.0.event(now.0, event as u16)) {
            (true, _) => Err(Refused::Sending),
            (false, happened) => happened.then_some(()).ok_or(Refused::Condition),
        }
    }
    // @END@
    // @IF:FIELDS@

    /// The value of a field, in units of its last decimal; `None` where it is not known.
    pub fn value(&self, field: Field) -> Option<i32> {
        Some(self.0.value(field as u16)).filter(|number| *number != UNKNOWN)
    }

    /// Whether a field is renewed at this time by its interval, so that it should be measured before [`Device::next`].
    pub fn wanted(&mut self, now: Time, field: Field) -> bool {
        self.0.wanted(now.0, field as u16)
    }

    /// What was measured, a number within the field's range; `None` where it is not known. The field takes it when it is next
    /// renewed, by its event or at its interval. A clock takes the time by itself.
    pub fn measured(&mut self, field: Field, number: impl Into<Option<i32>>) {
        self.0.measured(field as u16, known(number.into()));
    }

    /// A value arrives: what no interval and no event renews, such as whether external power is attached, the link and the
    /// charge. The field takes it at once; the number lies within its range.
    ///
    /// # Errors
    /// [`Refused::Sending`]: tell it again after the refresh has begun.
    pub fn arrived(
        &mut self,
        now: Time,
        field: Field,
        number: impl Into<Option<i32>>,
    ) -> Result<(), Refused> {
        let taken = self.0.arrived(now.0, field as u16, known(number.into()));
        taken.then_some(()).ok_or(Refused::Sending)
    }
    // @END@
    // @IF:LOCALES@

    /// Another locale, from the next frame on.
    pub fn set_locale(&mut self, locale: Locale) {
        self.0.locale(locale as u8);
    }
    // @END@
}
// @IF:FIELDS@

/// What C has for a value that is not known.
const UNKNOWN: i32 = i32::MIN;

fn known(number: Option<i32>) -> i32 {
    number.unwrap_or(UNKNOWN)
}
// @END@

/// A screen by its position. The machine goes to no other than those there are.
fn screen(position: u16) -> Screen {
    Screen::ALL
        .get(usize::from(position))
        .copied()
        .unwrap_or(Screen::HOME)
}
// @IF:KEYS@

fn answer(number: u8) -> Answer {
    match number {
        0 => Answer::Acted,
        2 => Answer::Queued,
        3 => Answer::Dropped,
        _ => Answer::Nothing,
    }
}
// @END@
