//! From the loads' and events' text to their shapes, and to what may draw at one time.

use super::hardware::Bench;
use crate::behaviour::Event;
use crate::device::party::{Party, coincident};
use crate::hardware::board::Board;
use crate::hardware::load::{Amount as Stated, Drawn, Load, Shape, Step, Taken};
use crate::hardware::rail::Rail;
use crate::limits;
use crate::project::device::{EventSpec, ProjectSpec};
use crate::project::hardware::{LoadSpec, ProfileStepSpec};
use crate::source::amount::{Amount, At};
use crate::source::fault::{Fault, nearest};
use crate::source::spans::Span;
use crate::units::{Amps, Seconds, Watts};

impl Bench<'_> {
    /// A load of the board.
    pub(super) fn load(&mut self, rails: &[Rail], name: &str, load: &At<LoadSpec>) -> Load {
        let (spec, path) = (&load.value, format!("board.loads.{name}"));
        Load {
            name: name.to_owned(),
            span: load.span.clone(),
            rail: self.rail(rails, spec.rail.as_ref(), &path),
            shape: self.shape(&path, name, load),
            awake: spec.mcu_awake.as_ref().map(|time| self.enter(&format!("{path}.mcu-awake"), time)),
            supply: self.window(spec.supply.as_ref()),
            needed: spec.needed,
            with_rail: spec.with_rail,
        }
    }

    fn shape(&mut self, path: &str, name: &str, load: &At<LoadSpec>) -> Shape {
        let spec = &load.value;
        let wrong = |message: String| Fault::at(load.span.clone(), message);
        if let Some(profile) = &spec.profile {
            if spec.current.is_some() || spec.power.is_some() || spec.on.is_some() {
                let fault = wrong(format!("`{name}` has a profile and a `current`, `power` or `on` beside it"));
                self.fault(fault.help("write each step's current or power and time in the profile alone"));
            }
            let steps = self.steps(&format!("{path}.profile"), profile);
            let Some(period) = &spec.period else {
                let fault = Fault::at(profile.span.clone(), format!("the profile of `{name}` has no end"));
                self.fault(fault.help("add the time from start to start, such as period = \"10 s\""));
                return Shape::Always(self.nothing(path));
            };
            let time: Seconds = profile.value.iter().map(|step| step.time.spread[2]).sum();
            if time > period.spread[0] {
                let fault =
                    wrong(format!("the profile of `{name}` takes {time} and its period is {}", period.spread[0]));
                self.fault(fault.help("write a longer period, or shorter steps"));
            }
            return Shape::Pulses { steps, period: self.enter(&format!("{path}.period"), period) };
        }
        let drawn = self.drawn(path, &load.span, spec.current.as_ref(), spec.power.as_ref());
        match (&spec.on, &spec.period) {
            (None, None) => Shape::Always(drawn),
            (Some(on), Some(period)) => {
                if period.spread[0] <= Seconds(0.0) {
                    self.fault(wrong(format!("the period of `{name}` must be longer than 0 s")));
                    return Shape::Always(drawn);
                }
                if on.spread[2] > period.spread[0] {
                    self.fault(wrong(format!("`{name}` is on for longer than its period")));
                }
                let time = self.enter(&format!("{path}.on"), on);
                Shape::Pulses {
                    steps: vec![Step { time, drawn }],
                    period: self.enter(&format!("{path}.period"), period),
                }
            }
            _ => {
                self.fault(wrong(format!("`{name}` needs both `on` and `period`, or neither")));
                Shape::Always(drawn)
            }
        }
    }

    fn nothing(&mut self, path: &str) -> Drawn {
        Drawn::Current(self.enter(&format!("{path}.current"), &Amount::exact(Amps(0.0))))
    }

    /// Either a current or a power.
    fn drawn(
        &mut self,
        path: &str,
        span: &Span,
        current: Option<&Amount<Amps>>,
        power: Option<&Amount<Watts>>,
    ) -> Drawn {
        match (current, power) {
            (Some(current), None) => Drawn::Current(self.enter(&format!("{path}.current"), current)),
            (None, Some(power)) => Drawn::Power(self.enter(&format!("{path}.power"), power)),
            _ => {
                let message = "what draws from a rail has either a `current` or a `power`";
                self.fault(Fault::at(span.clone(), message).help("write one of them, such as current = \"2 mA\""));
                self.nothing(path)
            }
        }
    }

    fn steps(&mut self, path: &str, profile: &At<Vec<ProfileStepSpec>>) -> Vec<Step> {
        if profile.value.is_empty() || profile.value.len() > limits::PROFILE_STEPS {
            let message = format!("a profile has 1 to {} steps", limits::PROFILE_STEPS);
            let fault = Fault::at(profile.span.clone(), message);
            self.fault(fault.help("write [ { current = \"110 mA\", time = \"4 ms\" }, ... ]"));
        }
        let steps = profile.value.iter().take(limits::PROFILE_STEPS).enumerate();
        steps
            .map(|(index, step)| {
                let path = format!("{path}.{index}");
                if step.time.spread[0] <= Seconds(0.0) {
                    let fault = Fault::at(profile.span.clone(), "a step of a profile lasts longer than 0 s");
                    self.fault(fault.help("write how long it lasts, such as time = \"4 ms\", or delete the step"));
                }
                Step {
                    time: self.enter(&format!("{path}.time"), &step.time),
                    drawn: self.drawn(&path, &profile.span, step.current.as_ref(), step.power.as_ref()),
                }
            })
            .collect()
    }

    /// What an event takes.
    pub(super) fn taken(&mut self, rails: &[Rail], name: &str, at: &At<EventSpec>) -> Option<Taken> {
        let (spec, path) = (&at.value, format!("events.{name}"));
        let what = match (&spec.charge, &spec.profile) {
            (None, None) => return None,
            (Some(charge), None) => Stated::Charge(self.enter(&format!("{path}.charge"), charge)),
            (_, Some(profile)) => {
                if spec.charge.is_some() {
                    let fault =
                        Fault::at(profile.span.clone(), format!("the event `{name}` has a charge and a profile"));
                    self.fault(fault.help("keep one of them; a profile reaches the supply check too"));
                }
                Stated::Steps(self.steps(&format!("{path}.profile"), profile))
            }
        };
        Some(Taken { rail: self.rail(rails, spec.rail.as_ref(), &path), what })
    }
}

/// The largest sets of what may draw at one time.
pub fn together(project: &ProjectSpec, board: &Board, events: &[Event], faults: &mut Vec<Fault>) -> Vec<Vec<Party>> {
    let loads = board.loads.iter().zip(project.board.loads.values()).enumerate();
    let loads = loads.filter(|(_, (load, spec))| load.pulsed() || spec.value.only.is_some());
    let steps = |event: &Event| matches!(event.taken, Some(Taken { what: Stated::Steps(_), .. }));
    let mut all = vec![Party::Update];
    all.extend(loads.map(|(index, _)| Party::Load(index)));
    all.extend(events.iter().enumerate().filter(|(_, event)| steps(event)).map(|(index, _)| Party::Event(index)));
    let mut apart = Vec::new();
    let stated = project.board.loads.values().enumerate().map(|(index, at)| (Party::Load(index), &at.value.never_with));
    let stated = stated
        .chain(project.events.values().enumerate().map(|(index, at)| (Party::Event(index), &at.value.never_with)));
    for (party, name) in stated.flat_map(|(party, names)| names.iter().map(move |name| (party, name))) {
        let load = board.loads.iter().position(|load| load.name == name.value).map(Party::Load);
        let event = events.iter().position(|event| event.name == name.value).map(Party::Event);
        match load.or(event).or((name.value == "update").then_some(Party::Update)) {
            Some(other) if all.contains(&other) && all.contains(&party) && other != party => apart.push((party, other)),
            Some(_) => {
                let message = format!("`{}` is not something that comes and goes: it cannot be excluded", name.value);
                faults.push(
                    Fault::at(name.span.clone(), message)
                        .help("exclusions are between an update, pulsed loads and events with a profile"),
                );
            }
            None => {
                let message = format!("there is no load or event `{}`", name.value);
                let known = board.loads.iter().map(|load| load.name.as_str());
                let known = known.chain(events.iter().map(|event| event.name.as_str())).chain(["update"]);
                let help = nearest(&name.value, known)
                    .unwrap_or_else(|| "write the name of a load or event, or \"update\"".into());
                faults.push(Fault::at(name.span.clone(), message).wants("loads", &name.value).help(help));
            }
        }
    }
    let mut bound: Vec<Party> = apart.iter().flat_map(|(a, b)| [*a, *b]).collect();
    bound.sort_by_key(|party| format!("{party:?}"));
    bound.dedup();
    if bound.len() > limits::EXCLUSIVE {
        let message =
            format!("{} loads and events exclude one another; at most {} can", bound.len(), limits::EXCLUSIVE);
        faults.push(Fault::plain(message).help("leave out exclusions that do not matter for the largest current"));
        apart.clear();
    }
    coincident(&all, &apart)
}
