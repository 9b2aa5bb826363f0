//! Whether the battery can be as it is described, and whether each rail can be made from it, from full to empty.
//!
//! At rest and at 25 °C: what a rail cannot do there it never can. The voltage under a peak, cold and aged, is the
//! budget's, since it takes the screens to know the peak.

use crate::cell::peak::LoadCurrent;
use crate::cell::{Case, CellFault};
use crate::hardware::battery::Battery;
use crate::hardware::board::Bus;
use crate::hardware::fit::Unfit;
use crate::hardware::panel::Panel;
use crate::hardware::rail::{Rail, Source};
use crate::hardware::tree::{On, Tree};
use crate::parameters::{Inputs, ParameterSample};
use crate::project::device::ProjectSpec;
use crate::project::hardware::{BetweenSpec, RailSpec, RegulatorKind};
use crate::source::amount::At;
use crate::source::fault::Fault;
use crate::units::{Celsius, Ratio, Seconds, Volts};

/// Unused charge that is not worth a word.
pub(super) const NEGLIGIBLE: Ratio = Ratio(0.005);

/// Notes what cannot be, as errors, and charge that a rail leaves unused, as warnings.
pub fn check(project: &ProjectSpec, rails: &[Rail], battery: &Battery, inputs: &Inputs, faults: &mut Vec<Fault>) {
    let parameters = inputs.typical();
    let case = match battery.cell(&parameters, Seconds(0.0)).at(Celsius(25.0)) {
        Ok(case) => case,
        Err(why) => {
            faults.extend(unsound(project, &why));
            return;
        }
    };
    for (index, rail) in rails.iter().enumerate() {
        let Some(spec) = project.board.rails.get(&rail.name).filter(|spec| complete(&spec.value)) else { continue };
        let ladder = Ladder { rails, rail: index, parameters: &parameters };
        faults.extend(impossible(spec, rail, &parameters).or_else(|| judge(spec, rail, &case, &ladder)));
    }
}

/// A rail without its output or dropout has been complained about already.
fn complete(spec: &RailSpec) -> bool {
    match spec.regulator {
        RegulatorKind::Direct | RegulatorKind::LoadSwitch => true,
        RegulatorKind::Ldo => spec.output.is_some() && spec.dropout.is_some(),
        _ => spec.output.is_some(),
    }
}

/// A rail that no battery can make.
fn impossible(spec: &At<RailSpec>, rail: &Rail, parameters: &ParameterSample) -> Option<Fault> {
    let (least, most) = (rail.least_input(parameters), rail.most_input());
    let (why, help) = if rail.output().is_some_and(|output| output <= Volts(0.0)) {
        ("its output is not above 0 V".to_owned(), "write the voltage that the parts on it need")
    } else if least > most {
        (
            format!("it needs at least {least} at its input and is rated for at most {most}"),
            "see `min-input`, `max-input` and `output`",
        )
    } else {
        return None;
    };
    Some(Fault::at(spec.span.clone(), format!("the rail `{}` cannot be: {why}", rail.name)).help(help))
}

/// A battery that cannot be.
fn unsound(project: &ProjectSpec, why: &CellFault) -> Option<Fault> {
    match (why, &project.battery.charge_voltage) {
        // Noted where the battery is read.
        (CellFault::FloatOfPrimary, _) => None,
        (CellFault::Float { from, to, .. }, Some(float)) => Some(
            Fault::at(float.span.clone(), "this chemistry cannot be charged to this voltage")
                .label(why.to_string())
                .help(format!(
                    "write a charge voltage from {from} to {to}; above its maximum a cell can burn, below the table nothing is known"
                )),
        ),
        _ => Some(Fault::plain(format!("the battery cannot be used: {why}"))),
    }
}

/// A rail and what feeds it, up to the battery.
struct Ladder<'a> {
    rails: &'a [Rail],
    rail: usize,
    parameters: &'a ParameterSample,
}

impl Ladder<'_> {
    /// Its input voltage at a voltage of the battery, nothing drawn and everything on.
    fn input(&self, battery: Volts) -> Volts {
        let tree = Tree { rails: self.rails, parameters: self.parameters, battery };
        tree.flow(&vec![LoadCurrent::default(); self.rails.len()], On::ALL).nodes[self.rail].input
    }

    fn fits(&self, battery: Volts) -> Result<(), Unfit> {
        self.rails[self.rail].fits(self.parameters, self.input(battery))
    }
}

fn judge(spec: &At<RailSpec>, rail: &Rail, case: &Case, ladder: &Ladder<'_>) -> Option<Fault> {
    let (full, empty) = (case.state_of_charge(case.start()), case.state_of_charge(case.floor()));
    let (high, low) = (case.ocv(full), case.ocv(empty));
    let source = match rail.source {
        Source::Battery => None,
        Source::Usb => Some("USB".to_owned()),
        Source::Rail(above) => Some(format!("the rail `{}`", ladder.rails[above.0].name)),
    };
    let gives = match &source {
        None => format!("the battery gives {low} (empty) to {high} (full)"),
        Some(source) => format!("{source} gives {} to {}", ladder.input(low), ladder.input(high)),
    };
    if let Err(why) = ladder.fits(high) {
        let what = source.as_deref().unwrap_or("this battery");
        let starts = if matches!(why, Unfit::AboveMaximum { .. } | Unfit::BoostAboveOutput { .. }) {
            format!("cannot be made from {}", source.as_deref().unwrap_or("the full battery"))
        } else {
            format!("can never be made from {what}")
        };
        let fault = Fault::at(spec.span.clone(), format!("the rail `{}` {starts}: {why}", rail.name));
        return Some(fault.label(gives).help(remedy(&why, ladder.input(high))));
    }
    let why = ladder.fits(low).err()?;
    let least = rail.least_input(ladder.parameters);
    let stop = charge_where(case, empty, full, |battery| ladder.fits(battery).is_ok());
    let unused = Ratio((stop.0 - empty.0) / (full.0 - empty.0));
    if unused.0 < NEGLIGIBLE.0 {
        return None;
    }
    let message = format!(
        "the rail `{}` stops working at {least} and leaves {unused} of the usable charge in the battery",
        rail.name
    );
    let fault = Fault::at(spec.span.clone(), message).label(format!("{gives}; {why}"));
    Some(fault.help(format!("{}; as it is, the life ends there", remedy(&why, high))).warning())
}

fn remedy(why: &Unfit, high: Volts) -> String {
    match why {
        Unfit::AboveMaximum { .. } => format!("use a regulator rated for {high}, or fewer cells in series"),
        Unfit::BoostAboveOutput { .. } => {
            "use a buck-boost converter, a higher output, or fewer cells in series".into()
        }
        Unfit::Dropout { .. } => {
            "use a lower output, a regulator with less dropout or a buck-boost converter, or more cells in series"
                .into()
        }
        Unfit::BuckBelowOutput { .. } => "use a buck-boost converter, a lower output, or more cells in series".into(),
        _ => "use a regulator that works from a lower input, or more cells in series".into(),
    }
}

/// The least state of charge at which something holds that holds when full, by halving: the voltage never falls with the
/// charge.
pub(super) fn charge_where(case: &Case, empty: Ratio, full: Ratio, holds: impl Fn(Volts) -> bool) -> Ratio {
    let (mut low, mut high) = (empty.0, full.0);
    for _ in 0..60 {
        let middle = (low + high) / 2.0;
        if holds(case.ocv(Ratio(middle))) { high = middle } else { low = middle }
    }
    Ratio(high)
}

/// A policy that asks for full refreshes more often than the panel makes them: one after the other without an end.
pub fn too_often(project: &ProjectSpec, panel: &Panel, (bus, inputs): (&Bus, &Inputs)) -> Option<Fault> {
    let every = project.policy.full_every.as_ref().filter(|every| every.value.0 > Seconds(0.0))?;
    let least = full_refresh(project, panel, (bus, inputs))?;
    (every.value.0 <= least).then(|| {
        let message = format!("a full refresh every {} is more than the panel can do", every.value.0);
        let label = format!("one takes about {least} at the lowest temperature of the usage");
        Fault::at(every.span.clone(), message).label(label).help("write the longest time without one, such as \"24 h\"")
    })
}

/// How long a full refresh takes at the coldest of the usage's temperatures, typical values: `None` where the table of the
/// drive is empty. Outside the table its ends count.
fn full_refresh(project: &ProjectSpec, panel: &Panel, (bus, inputs): (&Bus, &Inputs)) -> Option<Seconds> {
    let (board, usage) = (&project.board, &project.usage.temperature.value);
    let ends = usage.low.iter().chain(&usage.high).map(|end| end.value.0);
    let months =
        usage.months.iter().flat_map(|months| months.value.iter().flat_map(|pair| pair.iter())).map(|end| end.0);
    let (first, last) = (panel.full.knots.first()?.at, panel.full.knots.last()?.at);
    let within = |at: Celsius| Celsius(at.0.min(last.0).max(first.0));
    let parameters = inputs.typical();
    let drive = ends
        .chain(months)
        .filter_map(|at| panel.full.time(&parameters, bus, within(at)))
        .map(|time| time.0)
        .reduce(f64::max)?;
    let pixels = project.panel.pixels.value.iter().map(|side| f64::from(*side)).product::<f64>();
    let bits = pixels * f64::from(panel.full.planes_sent());
    let fixed = [panel.start, panel.booster_on, panel.booster_off];
    let fixed: Seconds = fixed.iter().map(|phase| parameters.of(phase.time)).sum();
    let sent = bits / board.bus.clock.spread[1].0 * (1.0 + board.bus.overhead.spread[1].0);
    Some(fixed + Seconds(drive + sent))
}

/// Partial refreshes that the policy counts on where the panel has none.
pub fn no_partials(project: &ProjectSpec) -> Option<Fault> {
    let stated = &project.policy.max_partials;
    let counted_on = !stated.span.is_empty() && stated.value > 0 && project.panel.partial.is_none();
    counted_on.then(|| {
        let message = format!("the panel has no partial refresh, so it cannot make {} in a row", stated.value);
        Fault::at(stated.span.clone(), message).help(
            "write `max-partials = 0` or remove it: every update is a full refresh then; or give the panel's partial \
             waveform in [panel.partial] with the maker's data",
        )
    })
}

/// Partial refreshes that compare with a plane that nobody writes: what a builder sees is the old value under the new one.
pub fn stale_plane(project: &ProjectSpec) -> Option<Fault> {
    let planes = &project.panel.partial.as_ref()?.value.planes;
    let forgets = project.panel.between_updates.value == BetweenSpec::PowerOff;
    let alone = planes.value == 1 && project.panel.clocked.is_none() && project.policy.max_partials.value > 0;
    let stale = alone && (forgets || !project.panel.keeps_old);
    if stale && forgets {
        let message =
            "partial refreshes send the new plane alone, and a panel that is switched off forgets its old one";
        let fault = Fault::at(planes.span.clone(), message).lint("stale-plane");
        return Some(
            fault.help("write planes = 2, so that both are sent, or between-updates = \"deep-sleep\" in [panel]"),
        );
    }
    stale.then(|| {
        let message = "partial refreshes send the new plane alone: the controller compares it with a stale old plane";
        Fault::at(planes.span.clone(), message).lint("stale-plane").help(
            "write planes = 2, so that both are sent, or keeps-old = true in [panel] where its data sheet says that the \
             controller takes the new plane over after each refresh",
        )
    })
}
