//! Kinds of updates: those that take about as long and as much charge, and what they have in common.

use super::spread::Spread;
use super::{Trace, Update};
use crate::units::{Amps, Coulombs, Joules, Seconds};

/// What a kind is taken for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Name {
    /// A full refresh.
    Full,
    /// A partial refresh.
    Partial,
    /// Anything else.
    Other,
}

impl Name {
    /// Its name in tables and files.
    pub fn text(self) -> &'static str {
        match self {
            Self::Full => "full",
            Self::Partial => "partial",
            Self::Other => "other",
        }
    }
}

/// Updates that are alike.
#[derive(Clone, Debug)]
pub struct UpdateKind {
    /// What it is taken for.
    pub name: Name,
    /// Positions of its updates in the trace.
    pub updates: Vec<usize>,
    /// How long they last.
    pub duration: Spread<Seconds>,
    /// Their charge above the baseline.
    pub charge: Spread<Coulombs>,
    /// Their energy above the baseline.
    pub energy: Option<Spread<Joules>>,
    /// Their largest currents.
    pub peak: Spread<Amps>,
    /// Their phases in order.
    pub phases: Vec<Phase>,
    /// How many of the updates show these phases.
    pub alike: usize,
}

/// A phase that the updates of a kind have in common.
#[derive(Clone, Debug)]
pub struct Phase {
    /// What it can be told to be; `None` where that cannot be told from the current alone.
    pub label: Option<Label>,
    /// How long it lasts.
    pub duration: Spread<Seconds>,
    /// Mean current above the baseline.
    pub current: Spread<Amps>,
    /// Charge above the baseline.
    pub charge: Spread<Coulombs>,
    /// Largest current above the baseline.
    pub peak: Spread<Amps>,
}

/// What a phase is, as far as the current tells.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Label {
    /// Waking, drawing, starting the panel.
    Start,
    /// Sending the image.
    Transfer,
    /// Booster on.
    BoosterOn,
    /// Driving the panel.
    Drive,
    /// Booster off.
    BoosterOff,
}

impl Label {
    /// Its name in tables and files.
    pub fn text(self) -> &'static str {
        match self {
            Self::Start => "start",
            Self::Transfer => "transfer",
            Self::BoosterOn => "booster on",
            Self::Drive => "drive",
            Self::BoosterOff => "booster off",
        }
    }
}

/// Updates whose durations or charges lie further apart than by this factor, with none between, are of two kinds.
const APART: f64 = 1.25;

/// Groups the whole updates of a trace; the kind with the largest charge comes first.
pub fn kinds(trace: &Trace) -> Vec<UpdateKind> {
    let sound = |index: &usize| {
        let update = &trace.updates[*index];
        !update.cut && update.charge.0 > 0.0
    };
    let all: Vec<usize> = (0..trace.updates.len()).filter(sound).collect();
    let (duration, charge) = (|update: &Update| update.duration.0, |update: &Update| update.charge.0);
    let mut groups = vec![all];
    loop {
        let by_time = groups.iter().flat_map(|group| parted(trace, group, duration));
        let finer: Vec<Vec<usize>> = by_time.flat_map(|group| parted(trace, &group, charge)).collect();
        if finer.len() == groups.len() {
            break;
        }
        groups = finer;
    }
    let mut kinds: Vec<UpdateKind> = groups.into_iter().filter_map(|group| kind(trace, group)).collect();
    kinds.sort_by(|a, b| b.charge.typ.0.total_cmp(&a.charge.typ.0));
    guess(&mut kinds);
    kinds
}

/// Parts a group where a value jumps by more than [`APART`].
fn parted(trace: &Trace, group: &[usize], value: impl Fn(&Update) -> f64) -> Vec<Vec<usize>> {
    let mut sorted: Vec<(f64, usize)> = group.iter().map(|index| (value(&trace.updates[*index]), *index)).collect();
    sorted.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
    let parts = sorted.chunk_by(|low, high| high.0 <= low.0 * APART);
    let indices = |part: &[(f64, usize)]| {
        let mut indices: Vec<usize> = part.iter().map(|(_, index)| *index).collect();
        indices.sort_unstable();
        indices
    };
    parts.map(indices).collect()
}

fn kind(trace: &Trace, updates: Vec<usize>) -> Option<UpdateKind> {
    let members: Vec<&Update> = updates.iter().map(|index| &trace.updates[*index]).collect();
    let energies: Option<Vec<Joules>> = members.iter().map(|update| update.energy).collect();
    let count = usual_steps(&members)?;
    let alike: Vec<&Update> = members.iter().copied().filter(|update| update.steps.len() == count).collect();
    let phase = |index: usize| {
        Some(Phase {
            label: None,
            duration: Spread::of(alike.iter().map(|update| update.steps[index].duration))?,
            current: Spread::of(alike.iter().map(|update| update.steps[index].current))?,
            charge: Spread::of(alike.iter().map(|update| update.steps[index].charge()))?,
            peak: Spread::of(alike.iter().map(|update| update.steps[index].peak))?,
        })
    };
    let mut phases: Vec<Phase> = (0..count).map(phase).collect::<Option<_>>()?;
    label(&mut phases);
    Some(UpdateKind {
        name: Name::Other,
        duration: Spread::of(members.iter().map(|update| update.duration))?,
        charge: Spread::of(members.iter().map(|update| update.charge))?,
        energy: energies.and_then(Spread::of),
        peak: Spread::of(members.iter().map(|update| update.peak))?,
        phases,
        alike: alike.len(),
        updates,
    })
}

/// The number of steps that most updates have; of equals the smaller one.
fn usual_steps(members: &[&Update]) -> Option<usize> {
    let times = |count: usize| members.iter().filter(|update| update.steps.len() == count).count();
    let mut counts: Vec<usize> = members.iter().map(|update| update.steps.len()).filter(|count| *count > 0).collect();
    counts.sort_unstable();
    counts.dedup();
    counts.into_iter().rev().max_by_key(|count| times(*count))
}

/// Names phases as far as the current tells: the drive takes most of the charge, the pump stands out just before it,
/// what follows is its end, what comes before is the start and, last, the transfer.
fn label(phases: &mut [Phase]) {
    let most = phases.iter().enumerate().max_by(|a, b| a.1.charge.typ.0.total_cmp(&b.1.charge.typ.0));
    let Some((drive, _)) = most else { return };
    let level = phases[drive].current.typ;
    phases[drive].label = Some(Label::Drive);
    if phases.len() == drive + 2 {
        phases[drive + 1].label = Some(Label::BoosterOff);
    }
    let pump = drive > 0 && phases[drive - 1].current.typ > level;
    let before = if pump { drive - 1 } else { drive };
    if pump {
        phases[before].label = Some(Label::BoosterOn);
    }
    if before >= 2 {
        phases[0].label = Some(Label::Start);
        phases[before - 1].label = Some(Label::Transfer);
    }
}

/// Names kinds by what a panel's refreshes look like: the full one takes longest, the partial one is shorter and
/// drives at a like current. A lone kind is a full refresh if it takes more than 0.8 s (practice).
fn guess(kinds: &mut [UpdateKind]) {
    let drive = |kind: &UpdateKind| {
        kind.phases.iter().find(|phase| phase.label == Some(Label::Drive)).map(|phase| phase.current.typ)
    };
    let longest = (0..kinds.len()).max_by(|a, b| kinds[*a].duration.typ.0.total_cmp(&kinds[*b].duration.typ.0));
    let Some(full) = longest else { return };
    if kinds.len() == 1 {
        kinds[0].name = if kinds[0].duration.typ > Seconds(0.8) { Name::Full } else { Name::Partial };
        return;
    }
    let Some(level) = drive(&kinds[full]) else { return };
    let like = |index: &usize| {
        let kind = &kinds[*index];
        *index != full && drive(kind).is_some_and(|current| (0.5..2.0).contains(&(current / level)))
    };
    let partial = (0..kinds.len()).filter(like).max_by_key(|index| kinds[*index].updates.len());
    kinds[full].name = Name::Full;
    if let Some(partial) = partial {
        kinds[partial].name = Name::Partial;
    }
}
