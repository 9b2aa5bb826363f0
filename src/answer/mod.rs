//! What `budget` answers: a summary that fits a screen or two, the changes that help most, and every section on demand.
//!
//! Figures come from the budget's table; nothing is calculated here.

mod sections;

use crate::budget::explain;
use crate::budget::figure::{Figure, buffer_name};
use crate::budget::fleet::Fleet;
use crate::budget::summary::{Budget, supply_holds};
use crate::check;
use crate::device::Device;
use crate::figures::advice::{self, advice};
use crate::look::Look;
use crate::source::files::Files;
use crate::table::{table, wrap};
use crate::units::column::Scale;
use crate::units::{DAY, Joules, Quantity, Seconds, figures};
use comfy_table::CellAlignment;
use std::fmt::Write as _;

/// What is answered from.
#[derive(Clone, Copy, Debug)]
pub struct Content<'a> {
    /// The project's files, for what-ifs.
    pub files: &'a Files,
    /// The model.
    pub device: &'a Device,
    /// Its budget.
    pub budget: &'a Budget,
}

/// A part of the answer.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "cli", derive(clap::ValueEnum))]
pub enum Section {
    /// Buffering of the image, flash.
    Memory,
    /// A full refresh of each screen.
    Screens,
    /// Every transition with its windows, latency and energy.
    Transitions,
    /// Refreshes, presses, journeys and latencies of a mean day.
    Day,
    /// Energy of a mean day by cause.
    Energy,
    /// The battery under peak load, and what limits the life.
    Supply,
    /// What moves the median life most.
    Sensitivity,
    /// The changes that help most.
    Advice,
    /// Inputs without a source.
    Assumptions,
    /// Every figure in one table, with its name for `sweep`.
    Figures,
    /// What to be careful with.
    Cautions,
}

impl Section {
    /// Every section in the order of the whole answer.
    pub const ALL: [Self; 11] = [
        Self::Memory,
        Self::Screens,
        Self::Transitions,
        Self::Day,
        Self::Energy,
        Self::Supply,
        Self::Sensitivity,
        Self::Advice,
        Self::Assumptions,
        Self::Figures,
        Self::Cautions,
    ];

    fn title(self) -> &'static str {
        match self {
            Self::Memory => "Memory",
            Self::Screens => "Screens, full refresh",
            Self::Transitions => "Transitions",
            Self::Day => "A day of use",
            Self::Energy => "Energy of a day, at the battery",
            Self::Supply => "Supply",
            Self::Sensitivity => "Sensitivity of the battery life",
            Self::Advice => "What would help most",
            Self::Assumptions => "Assumptions",
            Self::Figures => "Figures",
            Self::Cautions => "Cautions",
        }
    }

    fn text(self, of: Content<'_>, look: Look) -> String {
        let Content { device, budget, .. } = of;
        match self {
            Self::Memory => sections::memory(device, budget, look),
            Self::Screens => sections::screens(device, budget, look),
            Self::Transitions => sections::transitions(device, budget, look),
            Self::Day => sections::day(device, budget),
            Self::Energy => sections::causes(device, budget),
            Self::Supply => sections::supply(device, budget, look),
            Self::Sensitivity => sections::sensitivity(device, budget),
            Self::Advice => helping(of, look),
            Self::Assumptions => sections::assumptions(budget),
            Self::Figures => sections::figures_of(device, budget, look),
            Self::Cautions => sections::careful(device, look),
        }
    }
}

/// The sections asked for, each under its heading.
pub fn sections(of: Content<'_>, asked: &[Section], look: Look) -> String {
    let one = |section: &Section| format!("\n{}{}", look.heading(section.title()), section.text(of, look));
    look.fitted(&(head(of.device, look) + &asked.iter().map(one).collect::<String>()))
}

/// The whole answer: the summary and every section.
pub fn whole(of: Content<'_>, look: Look) -> String {
    let rest =
        Section::ALL.iter().map(|section| format!("\n{}{}", look.heading(section.title()), section.text(of, look)));
    look.fitted(&(head(of.device, look) + "\n" + &summary(of, look) + &rest.collect::<String>()))
}

/// Causes of energy that the summary lists one by one.
const CAUSES: usize = 7;
/// Assumptions and inputs that it lists.
const INPUTS: usize = 4;

/// The answer in a screen or two: the result, where the energy goes, what would help, what it rests on.
pub fn short(of: Content<'_>, look: Look) -> String {
    let Content { device, budget, .. } = of;
    let mut out = head(device, look) + "\n" + &summary(of, look);
    out += &format!("\n{}{}", look.heading("Energy of a day, at the battery"), folded_causes(device, budget));
    out += &format!("\n{}{}", look.heading("What would help most"), helping(of, look));
    out += &format!("\n{}{}", look.heading("What the life rests on"), rests_on(device, budget));
    let cautions = "Lithium cells, panel waveforms and stale frames can do harm: read --section cautions. Figures are \
                    estimates from the inputs given; measure the first board.";
    out += &format!("\n{}", look.caution(cautions));
    let names =
        "memory, screens, transitions, day, energy, supply, sensitivity, advice, assumptions, figures, cautions";
    out + &wrap(&format!("More: --all; --section NAME with {names}; --explain life."), look.width, 2)
}

fn head(device: &Device, look: Look) -> String {
    let mut out = format!("{}\n", look.bold(&device.name));
    if !device.note.is_empty() {
        out += &wrap(&device.note, look.width, 0);
    }
    out
}

fn summary(of: Content<'_>, look: Look) -> String {
    let Content { device, budget, .. } = of;
    let text = |figure: Figure| figure.text(device, budget);
    let mut lines: Vec<(&str, String)> = Vec::new();
    lines.push((
        "battery life",
        match &budget.life {
            Ok(life) => {
                let [p50, p10, p90] = [Figure::Life, Figure::LifeP10, Figure::LifeP90]
                    .map(|figure| lives(of, figure.value(device, budget)));
                format!("{p50} (P50), {p10} (P10) to {p90} (P90); limited by {}", Fleet::limited_by(life))
            }
            Err(why) => format!("unknown: {why}"),
        },
    ));
    if let Some(line) = unusual(of) {
        lines.push(("typical device", line));
    }
    lines.push(("mean current", format!("{}, {} a day", text(Figure::MeanCurrent), text(Figure::Charge))));
    let of_day = |figure: Figure| figure.value(device, budget).unwrap_or_default();
    let refreshing = 100.0 * of_day(Figure::RefreshEnergy) / of_day(Figure::Energy).max(f64::MIN_POSITIVE);
    let energy = text(Figure::Energy);
    lines.push(("energy", format!("{energy} a day, {} % of it for refreshes", figures(refreshing.round()))));
    lines.push(("limits", limits(of, look)));
    lines.push(("supply", supply(budget, look)));
    let a_day = |figure: Figure| figure.a_day(device, budget);
    let rare = |figure: Figure| figure.value(device, budget).is_some_and(|rate| figure.is_rare(rate, budget));
    lines.push((
        "refreshes",
        match [Figure::Full, Figure::Partial].iter().any(|figure| rare(*figure)) {
            true => format!("full {}, partial {}", a_day(Figure::Full), a_day(Figure::Partial)),
            false => format!("{} full and {} partial a day", text(Figure::Full), text(Figure::Partial)),
        },
    ));
    lines.push((
        "panel updates",
        format!("{} a day; minimum-energy schedule {}", text(Figure::PolicyEnergy), text(Figure::MinimumEnergy)),
    ));
    if of_day(Figure::Derailed) > 0.0 {
        let [stopped, made] = [Figure::Derailed, Figure::Journeys].map(a_day);
        lines.push(("journeys", format!("{stopped} stop early, {made} are made: see --section day")));
    }
    if Figure::LatencyMedian.value(device, budget).is_some() {
        let [half, most] = [Figure::LatencyMedian, Figure::LatencyP95].map(text);
        // No single transition takes as long: presses wait for the refresh of the one before.
        let queued = if of_day(Figure::LatencyP95) > of_day(Figure::Latency) { ", with presses queued" } else { "" };
        lines.push((
            "key to display",
            format!("{half} (median), {most} (p95{queued}); slowest transition {}", text(Figure::Latency)),
        ));
    }
    let buffer = buffer_name(device, budget);
    let [ram, sram, flash] = [Figure::Ram, Figure::Sram, Figure::Flash].map(text);
    let live = budget.live(device).map_or(String::new(), |_| format!(", c-live {}", text(Figure::LiveFlash)));
    lines.push(("memory", format!("{buffer}: {ram} of RAM, {sram} external; flash {flash}{live}")));
    if budget.usable.is_ok() {
        lines.push(("battery", format!("{} usable when new, at {}", text(Figure::Usable), budget.temperature)));
    }
    if budget.charge_time.is_some() {
        lines.push(("charging", format!("{} from the reserve, the device running", text(Figure::ChargeTime))));
    }
    let size = device.panel.size();
    let ppi = figures(device.panel.ppi());
    lines.push((
        "panel",
        format!("{} x {} px, {ppi} px per inch, {} a frame", size.width, size.height, text(Figure::FrameBytes)),
    ));
    let column = lines.iter().map(|(name, _)| name.len()).max().unwrap_or(0) + 2;
    lines.iter().map(|(name, line)| look.after(&format!("{name:column$}"), line)).collect()
}

/// Where the device with typical inputs lives well beyond the median or outside P10 to P90: how long, and why.
fn unusual(of: Content<'_>) -> Option<String> {
    let life = of.budget.life.as_ref().ok()?;
    let one_sided = explain::one_sided(of.device, of.budget)?;
    let typical = one_sided.typical;
    let place = match () {
        () if typical > life.p90.time => "above P90",
        () if typical < life.p10.time => "below P10",
        () if typical.0 > FAR * life.p50.time.0 => "above P50",
        () => return None,
    };
    Some(format!("{}, {place}: {}", lives(of, Some(typical / DAY)), one_sided.reason()))
}

/// A life in the unit that its median suits, so that all lives of an answer have one; in days.
fn lives(of: Content<'_>, days: Option<f64>) -> String {
    let scale = Figure::Life.row().unit.scale(Figure::Life.value(of.device, of.budget));
    days.map_or_else(|| "none".to_owned(), |days| scale.show(days))
}

/// From this times the median on, the typical device's life is told beside it.
const FAR: f64 = 1.05;

/// Whether the project's limits are kept.
fn limits(of: Content<'_>, look: Look) -> String {
    let broken = check::limits(of.device, of.budget);
    let set = Figure::ALL.iter().filter(|figure| figure.limit(of.device).is_some()).count();
    match broken.split_first() {
        None if set == 0 => "none set; [limits] in device.toml sets them, and check enforces them".to_owned(),
        None => {
            format!("{} ({})", look.verdict("pass", true), crate::units::count(set, "limit is set", "limits are set"))
        }
        Some((first, rest)) => {
            let more = if rest.is_empty() { String::new() } else { format!("; {} more: see check", rest.len()) };
            let first = if first.id == Some(check::SUPPLY) { "supply fails" } else { first.message.as_str() };
            format!("{}: {first}{more}", look.verdict("FAIL", false))
        }
    }
}

fn supply(budget: &Budget, look: Look) -> String {
    let supply_corners = match &budget.supply_corners {
        Ok(supply_corners) => supply_corners,
        Err(why) => return format!("unknown: {why}"),
    };
    let holds = supply_holds(budget);
    let voltage = budget.worst_voltage().map_or("brown-out".to_owned(), |volts| volts.to_string());
    let mut out = format!(
        "{voltage} under peak load when {}, all tolerances at their worst; {} needed: {}",
        crate::budget::supply_corners::words(&supply_corners.worst),
        supply_corners.needed,
        look.verdict(if holds { "enough" } else { "NOT ENOUGH" }, holds)
    );
    let (short, all) = budget.ended_by_voltage();
    if short > 0 {
        let _ = write!(out, "; {short} of {all} random devices are limited by voltage");
    }
    out
}

/// The largest causes one by one, the rest in one line.
fn folded_causes(device: &Device, budget: &Budget) -> String {
    let total = budget.energy_per_day();
    let mut rows = table(&["cause", "energy", "share"]);
    let share = |energy: Joules| sections::share(energy, total);
    let scale = Scale::of(budget.causes.iter().map(|(_, energy)| energy.0).chain([total.0]), Joules::SI);
    // One line more is no longer than a line for the rest.
    let shown = if budget.causes.len() <= CAUSES + 1 { budget.causes.len() } else { CAUSES };
    for (cause, energy) in budget.causes.iter().take(shown) {
        rows.add_row([cause.label(device), scale.show(energy.0), share(*energy)]);
    }
    let rest: Joules = budget.causes.iter().skip(shown).map(|(_, energy)| *energy).sum();
    if budget.causes.len() > shown {
        rows.add_row([format!("{} more", budget.causes.len() - shown), scale.show(rest.0), share(rest)]);
    }
    rows.add_row(["all".to_owned(), scale.show(total.0), share(total)]);
    for column in rows.column_iter_mut().skip(1) {
        column.set_cell_alignment(CellAlignment::Right);
    }
    format!("{rows}\n")
}

fn helping(of: Content<'_>, look: Look) -> String {
    advice::text(&advice(of.files, of.device, of.budget), look.width)
}

/// The inputs that move the life most, and how many are assumptions.
fn rests_on(device: &Device, budget: &Budget) -> String {
    let listed: Vec<_> =
        budget.sensitivity(device).iter().filter(|entry| entry.elasticity.abs() >= 0.005).take(INPUTS).collect();
    if listed.is_empty() {
        let at_once = budget.life.as_ref().is_ok_and(|life| life.p50.time <= Seconds(0.0));
        let why = if at_once { "at once: --explain supply" } else { "by age or by the panel's rated refreshes" };
        return format!("no input moves the life: it ends {why}\n");
    }
    let assumed = |input: &str| budget.assumptions.iter().any(|assumption| assumption.path == input);
    let mut rows = table(&["1 % more of", "life (P50)", ""]);
    for entry in listed {
        let note = if assumed(&entry.input) { "assumption" } else { "" };
        rows.add_row([entry.input.clone(), format!("{:+.2} %", entry.elasticity), note.to_owned()]);
    }
    if let Some(column) = rows.column_mut(1) {
        column.set_cell_alignment(CellAlignment::Right);
    }
    let count = crate::units::count(budget.assumptions.len(), "input has no source", "inputs have no source");
    format!("{rows}\n{count}: --section assumptions\n")
}
