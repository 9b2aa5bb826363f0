//! Somebody who carries out journeys on a machine, one after the other.
//!
//! A journey begins at its screen. Where the device shows another one, the person goes there by the flow's shortest way
//! of presses, or waits for its timers; where neither leads there, the journey is not made. It stops at a press that
//! means nothing on what is shown, also where it waited for the panel and the journey has come to its end meanwhile. At a choice it takes one of the ways by chance. Both kinds are derailed. Journeys that overlap in time wait for one another.

use super::content;
use crate::device::Device;
use crate::device::usage::JourneyStep;
use crate::limits;
use crate::machine::ways::{WayStep, Ways};
use crate::machine::{Key, Machine, Micros, micros};
use crate::random;
use crate::units::Seconds;
use rand::RngExt;
use rand_chacha::ChaCha8Rng;
use std::collections::VecDeque;

/// What became of journeys.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Journeys {
    /// Begun and carried out to their last step.
    pub made: u64,
    /// Not begun, since nothing leads from what the device showed to their screen.
    pub unreached: u64,
    /// Stopped at a press that meant nothing.
    pub stopped: u64,
}

impl Journeys {
    /// Those that were not carried out as they are written.
    pub fn derailed(&self) -> u64 {
        self.unreached + self.stopped
    }
}

/// Time between two presses of somebody on the way to a journey's screen: as long as it takes to see where one is.
pub const PAUSE: Seconds = Seconds(1.0);

/// Somebody.
#[derive(Debug)]
pub struct Person {
    doing: Option<Doing>,
    /// Journeys that wait, in order.
    waiting: VecDeque<usize>,
    /// Somebody is looking until then.
    pub watches_until: Micros,
    /// What became of each journey.
    pub journeys: Vec<Journeys>,
    /// Random numbers of each journey's choices.
    random: Vec<ChaCha8Rng>,
    /// The ways to where journeys begin.
    ways: Ways,
    /// The last presses of journeys, which may still wait for the panel.
    presses: VecDeque<Press>,
    /// Journeys taken up so far.
    taken_up: u64,
}

/// A press of a journey.
#[derive(Clone, Copy, Debug)]
struct Press {
    key: usize,
    made: Micros,
    journey: usize,
    /// Which journey of all that were taken up.
    number: u64,
}

/// A journey under way.
#[derive(Clone, Copy, Debug)]
struct Doing {
    journey: usize,
    /// Which one of all that were taken up.
    number: u64,
    /// The step to do next; `None` on the way to the journey's screen.
    step: Option<usize>,
    /// Steps on the way so far.
    walked: usize,
    /// The key that is down, and when it is let go.
    down: Option<(usize, Micros)>,
    /// When the next step is done.
    due: Micros,
    /// A press meant nothing.
    stopped: bool,
}

impl Person {
    /// Somebody who has nothing to do yet.
    pub fn new(device: &Device) -> Self {
        let journeys = vec![Journeys::default(); device.usage.journeys.len()];
        let contents: Vec<String> = device.usage.journeys.iter().map(content::choices).collect();
        let streams = random::streams(contents.iter().map(String::as_str));
        let random = streams.into_iter().map(|stream| random::source(device.usage.seed, stream)).collect();
        Self {
            doing: None,
            waiting: VecDeque::new(),
            watches_until: 0,
            journeys,
            random,
            ways: Ways::new(device),
            presses: VecDeque::new(),
            taken_up: 0,
        }
    }

    /// A journey is to be made, now or after those that are under way.
    pub fn begin(&mut self, journey: usize, now: Micros) {
        self.waiting.push_back(journey);
        self.take_up(now);
    }

    fn take_up(&mut self, now: Micros) {
        if self.doing.is_none() {
            let number = self.taken_up;
            let begin =
                |journey| Doing { journey, number, step: None, walked: 0, down: None, due: now, stopped: false };
            self.doing = self.waiting.pop_front().map(begin);
            self.taken_up += u64::from(self.doing.is_some());
        }
    }

    /// When the person does something next.
    pub fn next(&self) -> Option<Micros> {
        let doing = self.doing.as_ref()?;
        Some(doing.down.map_or(doing.due, |(_, until)| until.min(doing.due)))
    }

    /// Whether no journey is under way.
    pub fn idle(&self) -> bool {
        self.doing.is_none()
    }

    /// A press meant nothing; one that waited for the panel may be of a journey that has come to its last step since.
    pub fn puzzled(&mut self, key: usize, made: Micros) {
        let Some(press) = self.presses.iter().find(|press| press.key == key && press.made == made).copied() else {
            return;
        };
        self.presses.retain(|other| other.number != press.number);
        match &mut self.doing {
            Some(doing) if doing.number == press.number => doing.stopped = true,
            _ => {
                let journeys = &mut self.journeys[press.journey];
                journeys.made = journeys.made.saturating_sub(1);
                journeys.stopped += 1;
            }
        }
    }

    /// What the person does next, if it is time: a key goes down or up. Looks and waits are done by themselves.
    pub fn act(&mut self, device: &Device, machine: &Machine) -> Option<Key> {
        let now = machine.now();
        loop {
            let doing = self.doing.as_mut()?;
            if let Some((key, until)) = doing.down.filter(|(_, until)| *until <= now) {
                let _ = until;
                doing.down = None;
                return Some(Key::Up(key));
            }
            if doing.due > now {
                return None;
            }
            let journey = &device.usage.journeys[doing.journey];
            if doing.stopped {
                self.end(now, |journeys| &mut journeys.stopped);
                continue;
            }
            match doing.step {
                None => {
                    let there = |screen| machine.state.boxes.is_empty() && machine.state.screen == screen;
                    if journey.from.is_none_or(there) {
                        doing.step = Some(0);
                        continue;
                    }
                    if machine.busy() {
                        doing.due = machine.busy_until();
                        return None;
                    }
                    let from = journey.from?;
                    // Twice around everything there is: events may lead astray again and again.
                    let lost = doing.walked > 2 * device.screens.len() + 8;
                    doing.walked += 1;
                    match self.ways.first(device, &machine.state, from).filter(|_| !lost) {
                        None => self.end(now, |journeys| &mut journeys.unreached),
                        Some(WayStep::Press(key)) => {
                            doing.due = now + micros(PAUSE);
                            doing.down = Some((key, now));
                            self.watches_until = self.watches_until.max(doing.due);
                            return Some(Key::Down(key));
                        }
                        Some(WayStep::Hold(key)) => {
                            let hold = device.wirings[machine.state.front().0].keys[key].hold.as_ref();
                            let until = now + hold.map_or(0, |hold| micros(hold.after)) + 1;
                            doing.down = Some((key, until));
                            doing.due = until + micros(PAUSE);
                            return Some(Key::Down(key));
                        }
                        Some(WayStep::Timer(timer)) => {
                            doing.due = machine.timer_ends(timer).unwrap_or(now).max(now) + micros(PAUSE);
                        }
                    }
                }
                Some(index) => match journey.steps.get(index) {
                    None => self.end(now, |journeys| &mut journeys.made),
                    Some(step) => {
                        let JourneyStep { press, hold, look } = *step;
                        let random = &mut self.random[doing.journey];
                        doing.step = Some(journey.after(index, &mut || random.random()));
                        doing.due = now + micros(look);
                        self.watches_until = self.watches_until.max(doing.due);
                        if let Some(key) = press {
                            let until = now + hold.map_or(0, micros);
                            doing.due = doing.due.max(until);
                            doing.down = Some((key, until));
                            let Doing { journey, number, .. } = *doing;
                            if self.presses.len() > limits::WAITING_KEYS {
                                self.presses.pop_front();
                            }
                            self.presses.push_back(Press { key, made: now, journey, number });
                            return Some(Key::Down(key));
                        }
                    }
                },
            }
        }
    }

    fn end(&mut self, now: Micros, count: impl Fn(&mut Journeys) -> &mut u64) {
        if let Some(doing) = self.doing.take() {
            *count(&mut self.journeys[doing.journey]) += 1;
        }
        self.take_up(now);
    }
}
