//! A journey as it is seen: somebody presses and looks, timers end, events come, values move, and the panel is seen
//! while it refreshes. The machine, its world and the times of its updates are those of the simulation.

use crate::budget::residue::Shading;
use crate::device::Device;
use crate::frame::Frame;
use crate::machine::{Key, Machine, Micros, Note, Taken, Update, UpdateCause, micros, seconds};
use crate::refresh::residue::Residue;
use crate::refresh::update::{Mode, upright};
use crate::screen::ScreenId;
use crate::simulate::live::{Live, Looked, Took, cause_words};
use crate::simulate::play::{Missed, carry_out};
use crate::units::Seconds;
use crate::usage::person::Person;
use crate::usage::script::{Input, Player, Script};
use embedded_graphics::primitives::Rectangle;

/// What a moment belongs to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Showing {
    /// Somebody looks at a picture that stands.
    Look,
    /// The device works, the panel still shows the old picture.
    Wait,
    /// The panel is driven.
    Drive,
}

/// What is seen for some time.
#[derive(Clone, Debug)]
pub struct Shot {
    /// Ink and paper.
    pub frame: Frame,
    /// Pixels on their way, seen as gray.
    pub settling: Option<Frame>,
    /// The key held down, the first being 0.
    pub key: Option<usize>,
    /// What happens, in a few words.
    pub caption: String,
    /// What it belongs to.
    pub step: Showing,
    /// Regions that are shaded for their ghosting residue.
    pub shaded: Vec<Rectangle>,
    /// For how long, in the device's time.
    pub time: Seconds,
}

impl Shot {
    fn looks_like(&self, other: &Self) -> bool {
        let about = |shot: &Self| (shot.key, shot.step);
        about(self) == about(other)
            && self.caption == other.caption
            && self.frame == other.frame
            && self.settling == other.settling
            && self.shaded == other.shaded
    }
}

/// How long a key is seen pressed where nothing else would show it.
const PRESS: Seconds = Seconds(0.2);
/// How long the first picture is seen before anything is pressed, and the last one at least.
pub const REST: Seconds = Seconds(1.0);
/// Happenings in one film at most.
const MOST: usize = 100_000;

/// Everything seen during a journey, by its position. It begins at its screen, or at the home screen where it starts
/// anywhere: at a time after midnight of the first day, or where none is given at that of the sample values, with a rest
/// before the first press. A press during a refresh waits for its end or is dropped, as the project says.
pub fn shots(device: &Device, locale: usize, journey: usize, begin: Option<Seconds>) -> Vec<Shot> {
    shaded_shots(device, locale, (journey, begin), None)
}

/// As [`shots`], with the ghosting residue shaded; the panel is clean at the beginning.
pub fn shaded_shots(
    device: &Device,
    locale: usize,
    (journey, begin): (usize, Option<Seconds>),
    shading: Option<Shading>,
) -> Vec<Shot> {
    let Some(about) = device.usage.journeys.get(journey) else { return Vec::new() };
    let pressed = about.steps.first().is_some_and(|step| step.press.is_some());
    let rest = if begin.is_none() && pressed { REST } else { Seconds(0.0) };
    let begin = begin.unwrap_or(device.usage.sample_at);
    let mut film = Film::new(device, locale, about.from.unwrap_or(device.usage.home), begin);
    film.shading = shading;
    film.go(journey, micros(begin) + micros(rest));
    film.shots
}

/// Everything seen during a script, and its expectations that fail.
pub fn script_shots(device: &Device, locale: usize, script: &Script) -> (Vec<Shot>, Vec<Missed>) {
    shaded_script_shots(device, locale, script, None)
}

/// As [`script_shots`], with the ghosting residue shaded; the panel is clean at the beginning.
pub fn shaded_script_shots(
    device: &Device,
    locale: usize,
    script: &Script,
    shading: Option<Shading>,
) -> (Vec<Shot>, Vec<Missed>) {
    let mut film = Film::new(device, locale, script.from, script.begin);
    film.shading = shading;
    film.play(Player::new(script));
    (film.shots, film.missed)
}

struct Film<'a> {
    device: &'a Device,
    live: Live,
    person: Person,
    caption: String,
    /// What partial refreshes have left, and what of it is shaded.
    residue: Residue,
    shading: Option<Shading>,
    /// The key seen pressed, and until when.
    key: Option<(usize, Micros)>,
    shots: Vec<Shot>,
    missed: Vec<Missed>,
}

impl<'a> Film<'a> {
    fn new(device: &'a Device, locale: usize, from: ScreenId, begin: Seconds) -> Self {
        let mut machine = Machine::new(device, from, micros(begin));
        machine.set_locale(device, locale);
        machine.show_at_once(device);
        Self {
            device,
            live: Live::new(device, machine),
            person: Person::new(device),
            caption: String::new(),
            residue: Residue::new(device.panel.size()),
            shading: None,
            key: None,
            shots: Vec::new(),
            missed: Vec::new(),
        }
    }

    fn play(&mut self, mut player: Player<'_>) {
        let device = self.device;
        for _ in 0..MOST {
            let Some(input) = player.next() else { break };
            let next = self.live.wake(device).map_or(input, |wake| wake.min(input));
            self.see_until(next);
            self.live.outside(device);
            while let Some(timed) = player.take(next) {
                match timed.input {
                    Input::Key(key) => self.press(key),
                    _ => self.missed.extend(carry_out(device, &mut self.live, &timed)),
                }
            }
            self.live.run(device);
            self.look();
        }
        self.end();
    }

    fn go(&mut self, journey: usize, begin: Micros) {
        let device = self.device;
        let mut begun = false;
        for _ in 0..MOST {
            if begun && self.person.idle() {
                break;
            }
            let start = (!begun).then_some(begin);
            let all = [self.live.wake(device), start, self.person.next()];
            let Some(next) = all.into_iter().flatten().min() else { break };
            self.see_until(next);
            self.live.outside(device);
            if !begun && next >= begin {
                begun = true;
                self.person.begin(journey, next);
            }
            while let Some(key) = self.person.act(device, &self.live.machine) {
                self.press(key);
            }
            self.live.run(device);
            self.look();
        }
        self.end();
    }

    /// The last update is seen to its end, and the picture for a while.
    fn end(&mut self) {
        let now = self.live.machine.now();
        let stands = self.live.drive.as_ref().map_or(0, |drive| drive.to);
        if stands > now {
            self.see_until(stands);
        }
        if self.shots.last().is_none_or(|last| last.step != Showing::Look) {
            self.see_until(self.live.machine.now() + micros(REST));
        }
    }

    fn press(&mut self, key: Key) {
        let (device, now) = (self.device, self.live.machine.now());
        let taken = self.live.key(device, key);
        let Key::Down(number) = key else { return };
        self.key = Some((number, now + micros(PRESS)));
        let name = format!("key {}", number + 1);
        match taken {
            Taken::Acted => self.caption = format!("{name}: nothing changes"),
            Taken::Dropped => self.caption = format!("{name} dropped: the panel is busy"),
            Taken::Queued | Taken::Nothing => {}
        }
    }

    fn look(&mut self) {
        let device = self.device;
        let looked = self.live.look(device, device.usage.climate.mean());
        for note in self.live.take_notes() {
            if let Note::Unassigned { key, made } = note {
                self.caption = format!("key {} does nothing", key + 1);
                self.person.puzzled(key, made);
            }
        }
        match looked {
            Looked::Nothing => {}
            Looked::Refused => self.caption = "not shown: outside the waveform table".to_owned(),
            Looked::Sent(update, took) => {
                self.caption = caption(device, &update, took);
                self.leave(&update);
                if let Some(shading) = &self.shading {
                    self.caption += &format!(", residue {}", shading.most(&self.residue));
                }
                let until = self.live.drive.as_ref().map_or(0, |drive| drive.to);
                self.key = match update.cause {
                    UpdateCause::Key(number) => Some((number, until)),
                    _ => None,
                };
            }
        }
    }

    /// What an update leaves of older images.
    fn leave(&mut self, update: &Update) {
        let (device, now) = (self.device, seconds(self.live.machine.now()));
        match update.mode {
            Mode::Full => self.residue.full(now),
            Mode::Partial => {
                let windows = update.change.windows.iter().map(|window| upright(device, window));
                self.residue.partial(windows, self.live.machine.state.front(), now);
            }
        }
    }

    /// Adds what is seen; what looks as before goes on.
    fn add(&mut self, shot: Shot) {
        match self.shots.last_mut().filter(|last| last.looks_like(&shot)) {
            Some(last) => last.time += shot.time,
            None => self.shots.push(shot),
        }
    }

    /// Lets time pass, seen in pieces that each look the same.
    fn see_until(&mut self, end: Micros) {
        let mut now = self.live.machine.now();
        while now < end {
            let turn = self.live.drive.as_ref().and_then(|drive| drive.next_turn(now));
            let up = self.key.map(|(_, until)| until).filter(|until| *until > now);
            let until = [turn, up].into_iter().flatten().min().map_or(end, |turn| turn.min(end));
            let seen = self.live.seen(now);
            let step = match &self.live.drive {
                Some(drive) if now < drive.from => Showing::Wait,
                Some(drive) if now < drive.to => Showing::Drive,
                _ if self.key.is_some_and(|(_, until)| until > now) => Showing::Wait,
                _ => Showing::Look,
            };
            let key = self.key.filter(|(_, until)| *until > now).map(|(number, _)| number);
            let (frame, settling, caption) = (seen.frame, seen.settling, self.caption.clone());
            // What an update leaves is seen once it is done.
            let shading = self.shading.filter(|_| step == Showing::Look);
            let shaded = shading.map_or_else(Vec::new, |shading| shading.regions(&self.residue));
            self.add(Shot { frame, settling, key, caption, step, shaded, time: seconds(until - now) });
            now = until;
        }
        self.live.pass(end);
    }
}

/// What an update is, in a line: `key 1: partial, 870 ms, 12.5 mJ`.
fn caption(device: &Device, update: &Update, took: Took) -> String {
    let cause = cause_words(update.cause, device);
    format!("{cause}: {}, {}, {}", update.mode.name(), took.latency, took.energy)
}
