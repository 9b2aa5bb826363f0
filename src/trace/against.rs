//! Predicted beside measured: the phases of the project's updates against those of the trace.

use super::align::{AlignedPart, align, whole};
use super::kinds::{Name, UpdateKind};
use crate::budget::summary::full_work;
use crate::budget::transition::transitions;
use crate::cost::phases::{Cause, Drawer, Maker, Phase, phases};
use crate::device::Device;
use crate::refresh::update::Mode;
use crate::refresh::work::Work;
use crate::source::fault::Fault;
use crate::units::{Amps, Celsius, Coulombs, Seconds, Volts};
use std::ops::Range;

/// The comparison of a trace with a project.
#[derive(Clone, Debug)]
pub struct Against {
    /// The project's name.
    pub project: String,
    /// The temperature of the prediction.
    pub temperature: Celsius,
    /// Whether nobody stated that temperature.
    pub assumed: bool,
    /// The battery voltage of the prediction.
    pub voltage: Volts,
    /// Each kind that the project explains.
    pub compared: Vec<Compared>,
}

/// One kind of update beside its prediction.
#[derive(Clone, Debug)]
pub struct Compared {
    /// Position among the kinds.
    pub kind: usize,
    /// The waveform.
    pub mode: Mode,
    /// Which update was predicted.
    pub what: String,
    /// Predicted phases in order.
    pub predicted: Vec<Predicted>,
    /// Rows in order; together all phases.
    pub rows: Vec<Matched>,
    /// All rows together.
    pub total: Matched,
    /// The row that misses most charge.
    pub worst: usize,
}

/// A predicted phase, as drawn from the battery beyond sleep.
#[derive(Clone, Debug)]
pub struct Predicted {
    /// Its name.
    pub name: &'static str,
    /// What it belongs to.
    pub cause: Cause,
    /// How long it lasts, and its current at the battery.
    pub part: AlignedPart,
    /// The panel's share of that current is all but this.
    pub others: Amps,
    /// What flows on the panel's rail beside the panel's own, sleep included.
    pub beneath: Amps,
    /// Whether the panel takes part.
    pub panel: bool,
}

/// Phases that are seen as one, predicted and measured.
#[derive(Clone, Debug)]
pub struct Matched {
    /// Their names: `wake + compose`.
    pub name: String,
    /// Positions of the predicted phases.
    pub phases: Range<usize>,
    /// Positions of the measured ones.
    pub parts: Range<usize>,
    /// As predicted.
    pub predicted: AlignedPart,
    /// As measured, typical.
    pub measured: AlignedPart,
}

impl Matched {
    /// Predicted less measured charge.
    pub fn miss(&self) -> Coulombs {
        charge(self.predicted) - charge(self.measured)
    }

    /// Relative errors of the predicted time, current and charge; the measured value is the whole.
    pub fn errors(&self) -> [f64; 3] {
        let (p, m) = (self.predicted, self.measured);
        [p.duration / m.duration - 1.0, p.current / m.current - 1.0, charge(p) / charge(m) - 1.0]
    }
}

/// The charge of a part.
pub fn charge(part: AlignedPart) -> Coulombs {
    part.current * part.duration
}

/// A kind is no more than this far from its prediction: both time and charge by a factor of 2.5.
const FARTHEST: f64 = 1.84;

/// Compares kinds with a project's updates; the kinds are named after what they were found to be.
///
/// # Errors
/// When the temperature is outside of the full waveform's table.
pub fn against(
    device: &Device,
    kinds: &mut [UpdateKind],
    (temperature, assumed): (Celsius, bool),
    voltage: Option<Volts>,
) -> Result<Against, Fault> {
    let voltage = voltage.unwrap_or(device.battery.nominal());
    if !device.panel.full.covers(temperature) {
        let knots = &device.panel.full.knots;
        let range = knots.first().zip(knots.last()).map(|(low, high)| format!("from {} to {}", low.at, high.at));
        let fault = Fault::plain(format!("the panel's table of the full waveform does not reach {temperature}"));
        return Err(fault.help(format!("give a --temperature {}", range.unwrap_or_default())));
    }
    let predict = |mode: Mode, what: String, work: &Work| (mode, what, predicted(device, work, voltage));
    let full = vec![predict(Mode::Full, "a full refresh".to_owned(), &full_work(device, temperature))];
    let ways = transitions(device, &device.inputs.typical(), temperature);
    let name = |id: crate::screen::ScreenId| device.screens[id.0].id.as_str();
    let partial: Vec<_> = ways
        .iter()
        .filter(|way| way.change.mode == Mode::Partial && way.change.changed > 0)
        .map(|way| {
            predict(
                Mode::Partial,
                format!("{} to {} by {}", name(way.from), name(way.to), way.by(device)),
                &way.change.work,
            )
        })
        .collect();
    let mut compared = Vec::new();
    for (mode, options) in [(Name::Full, full), (Name::Partial, partial)] {
        kinds.iter_mut().filter(|kind| kind.name == mode).for_each(|kind| kind.name = Name::Other);
        let taken = |kind: &usize| compared.iter().any(|other: &Compared| other.kind == *kind);
        let free = (0..kinds.len()).filter(|kind| !taken(kind));
        let pairs = free.flat_map(|kind| options.iter().map(move |option| (kind, option)));
        let with_distance = pairs.map(|(kind, option)| (distance(&kinds[kind], &option.2), kind, option));
        let nearest = with_distance.min_by(|a, b| a.0.total_cmp(&b.0)).filter(|(far, ..)| *far <= FARTHEST);
        if let Some((_, kind, (of, what, predicted))) = nearest {
            compared.extend(compare(kind, &kinds[kind], *of, what.clone(), predicted.clone()));
            kinds[kind].name = mode;
        }
    }
    Ok(Against { project: device.name.clone(), temperature, assumed, voltage, compared })
}

fn distance(kind: &UpdateKind, predicted: &[Predicted]) -> f64 {
    let parts: Vec<AlignedPart> = predicted.iter().map(|phase| phase.part).collect();
    let all = whole(&parts);
    (all.duration / kind.duration.typ).ln().abs() + (charge(all) / kind.charge.typ).ln().abs()
}

/// The phases of some work as they are seen at the battery.
fn predicted(device: &Device, work: &Work, voltage: Volts) -> Vec<Predicted> {
    let point = device.inputs.typical();
    let maker = Maker::new(device, &point, voltage);
    let current = |phase: &Phase, wanted: &dyn Fn(Drawer) -> bool| {
        maker.load_current(&phase.loads.map(|load| load.filter(|load| wanted(load.who))), phase.on).at(voltage)
    };
    let all = phases(device, &point, work, device.battery.nominal());
    let seen = all.iter().filter(|phase| phase.time > Seconds(0.0));
    seen.map(|phase| Predicted {
        name: phase.name,
        cause: phase.cause,
        part: AlignedPart { duration: phase.time, current: current(phase, &|_| true) },
        others: current(phase, &|who| who != Drawer::Panel),
        beneath: device.asleep(&point, device.panel.rail) + beside(device, &maker, phase),
        panel: phase.loads.iter().flatten().any(|load| load.who == Drawer::Panel),
    })
    .collect()
}

/// What loads other than the panel add to the panel's rail in a phase.
fn beside(device: &Device, maker: &Maker<'_>, phase: &Phase) -> Amps {
    let loads = phase.loads.iter().flatten();
    loads
        .filter(|load| load.who != Drawer::Panel && load.rail == device.panel.rail)
        .map(|load| maker.current(load))
        .sum()
}

fn compare(index: usize, kind: &UpdateKind, mode: Mode, what: String, predicted: Vec<Predicted>) -> Option<Compared> {
    let expected: Vec<AlignedPart> = predicted.iter().map(|phase| phase.part).collect();
    let measured: Vec<AlignedPart> = kind
        .phases
        .iter()
        .map(|phase| AlignedPart { duration: phase.duration.typ, current: phase.current.typ })
        .collect();
    let row = |(phases, parts): (Range<usize>, Range<usize>)| Matched {
        name: predicted[phases.clone()].iter().map(|phase| phase.name).collect::<Vec<_>>().join(" + "),
        predicted: whole(&expected[phases.clone()]),
        measured: whole(&measured[parts.clone()]),
        phases,
        parts,
    };
    let rows: Vec<Matched> = align(&expected, &measured).into_iter().map(row).collect();
    let miss = |row: &Matched| row.miss().0.abs();
    let (worst, _) = rows.iter().enumerate().max_by(|a, b| miss(a.1).total_cmp(&miss(b.1)))?;
    let total = Matched {
        name: "all".to_owned(),
        phases: 0..predicted.len(),
        parts: 0..measured.len(),
        predicted: whole(&expected),
        measured: AlignedPart { duration: kind.duration.typ, current: kind.charge.typ / kind.duration.typ },
    };
    Some(Compared { kind: index, mode, what, predicted, rows, total, worst })
}
