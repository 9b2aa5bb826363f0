//! What `check` finds in a project that could be loaded: lints, and limits that are passed.

use crate::budget::figure::{Figure, chosen};
use crate::budget::life::moment;
use crate::budget::residue::worst;
use crate::budget::summary::{Budget, supply_holds};
use crate::budget::supply_corners::words;
use crate::budget::transition::PictureChange;
use crate::cost::reserve::needed;
use crate::device::Device;
use crate::lint::{self, Finding, Subject};
use crate::parameters::ParameterSample;
use crate::refresh::update::Mode;
use crate::source::fault::Fault;
use crate::source::fault::Level::{self, Error};
use crate::source::levels::{JOURNEY_DERAILS, JOURNEY_INTERRUPTED, Lint, lint as lint_of};
use crate::units::{Bytes, Celsius, plain_time};

/// The finding of a battery that does not carry a full refresh.
pub const SUPPLY: &str = "supply";

/// What cannot work, whatever the limits.
const IMPOSSIBLE: &[Lint] = &[
    Lint { id: SUPPLY, level: Error, about: "The battery does not carry a full refresh in the worst case." },
    Lint { id: "battery-current", level: Error, about: "The loads take more current than the battery is rated for." },
    Lint {
        id: "empty-before-charge",
        level: Level::Warning,
        about: "The battery is down to its reserve before the device comes to its charger.",
    },
    Lint { id: "flash", level: Error, about: "Images, glyphs and strings do not fit in the flash." },
    Lint { id: "buffer", level: Error, about: "The chosen buffer does not fit in RAM and external memory." },
];

/// The kinds of finding beside lints: limits of the project, as figures have them, and what cannot work.
pub fn kinds() -> impl Iterator<Item = &'static Lint> {
    let limits = Figure::ALL.iter().filter_map(|figure| figure.row().limit);
    limits.map(|limit| &limit.lint).chain(IMPOSSIBLE)
}

/// Everything found in a device with its budget, the lints' findings first.
pub fn check(subject: &Subject<'_>, budget: &Budget) -> Vec<Finding> {
    let device = subject.device;
    let mut findings = lint::findings(subject);
    findings.extend(derailed(device, budget, &findings).into_iter().map(|fault| Finding { fault, shown: None }));
    findings.extend(limits(device, budget).into_iter().map(|fault| Finding { fault, shown: None }));
    findings
}

/// All that `check` says of a project that could be loaded: what was noted while it was read, then [`check`].
pub fn all(warnings: &[Fault], subject: &Subject<'_>, budget: &Budget) -> Vec<Finding> {
    let noted = warnings.iter().map(|fault| Finding { fault: fault.clone(), shown: None });
    noted.chain(check(subject, budget)).collect()
}

/// A journey of which more than this share stops early in the simulated days is worth a word; now and then an alarm or a
/// full refresh comes between.
const STOPPED: f64 = 0.1;

/// Of fewer journeys nothing is said unless more than half of them stop: one alarm in a week may stop one.
const FEWEST: u64 = 10;

/// Journeys that stop in the simulated days, where boxes, refreshes and other people's events come between, though they
/// would go on if nothing did.
fn derailed(device: &Device, budget: &Budget, found: &[Finding]) -> Vec<Fault> {
    let Some(lint) = lint_of(JOURNEY_INTERRUPTED) else { return Vec::new() };
    let mut faults = Vec::new();
    for (journey, became) in device.usage.journeys.iter().zip(&budget.counts.journeys) {
        let all = became.made + became.derailed();
        let known = |finding: &Finding| {
            finding.fault.id == Some(JOURNEY_DERAILS) && finding.fault.span.as_ref() == Some(&journey.span)
        };
        let share = became.derailed() as f64 / all.max(1) as f64;
        let few = all < FEWEST && (became.derailed() < 2 || share <= 0.5);
        if few || share <= STOPPED || found.iter().any(known) {
            continue;
        }
        let why = match became.stopped >= became.unreached {
            true => "a key was unassigned on what was in front then",
            false => "nothing led from what was in front to its screen",
        };
        let what = match became.stopped {
            0 => "are not begun",
            _ => "stop early",
        };
        let message =
            format!("{} of {all} journeys `{}` {what} in the simulated days", became.derailed(), journey.name);
        let fault = Fault::at(journey.span.clone(), message).label(why).lint(lint.id);
        let help = "look longer before a press that follows a box or a refresh; `budget --section day` counts them";
        let level = device.levels.at(lint, Some(&journey.span));
        faults.push(Fault { level, ..fault.help(help) });
    }
    faults.retain(|fault| fault.level != Level::Off);
    faults
}

/// Findings about the limits of a project, with the figures that pass them.
pub fn limits(device: &Device, budget: &Budget) -> Vec<Fault> {
    if let Some(refusal) = budget.refusal(device) {
        // No limit can be held against figures that are not there.
        return vec![refusal];
    }
    let mut faults = Vec::new();
    for figure in Figure::ALL {
        let Some(spec) = figure.row().limit else { continue };
        let Some(limit) = spec.of(&device.limits) else { continue };
        let broken = |text: String| Fault {
            id: Some(spec.lint.id),
            ..Fault::at(limit.span.clone(), text).label("the limit stands here")
        };
        match figure {
            Figure::Latency => faults.extend(
                ways(
                    device,
                    budget,
                    limit.value,
                    |way| way.latency.0,
                    |way| format!("has an update latency of {}", way.latency),
                )
                .map(broken),
            ),
            Figure::UpdateEnergy => faults.extend(
                ways(device, budget, limit.value, |way| way.energy.0, |way| format!("takes {}", way.energy))
                    .map(broken),
            ),
            Figure::Residue => faults.extend(residue(device, budget, limit.value, broken)),
            Figure::Life => faults.extend(life(device, budget, limit.value).map(broken)),
            _ => {
                // Of memory the limit holds for what runs.
                let exported = || budget.exported(device);
                let kept = match figure {
                    Figure::Flash => exported().map(|of| (of.flash, flash_words(of.flash))),
                    Figure::Ram => exported().zip(chosen(device, budget)).map(|(_, scheme)| {
                        let ram = budget.ram(device, scheme);
                        (ram, ram_words(ram))
                    }),
                    _ => None,
                };
                let (over, text) = match kept {
                    Some((found, text)) => (found.0 > limit.value, text),
                    None => {
                        let over = figure.value(device, budget).is_some_and(|found| found > limit.value);
                        (over, passed(*figure, &figure.text(device, budget)))
                    }
                };
                faults.extend(over.then(|| broken(text)));
            }
        }
    }
    faults.extend(supply(device, budget));
    faults
}

fn flash_words(flash: Bytes) -> String {
    format!("the exported machine with its tables takes {flash} of flash on a Cortex-M0")
}

fn ram_words(ram: Bytes) -> String {
    format!("strip, state and stack of the exported machine take {ram} of RAM on a Cortex-M0")
}

/// What is said of one value above its limit.
fn passed(figure: Figure, text: &str) -> String {
    match figure {
        Figure::Ram => format!("the buffer takes {text} of RAM"),
        Figure::Flash => format!("images, glyphs and strings take {text} of flash"),
        Figure::Refreshes => format!("there are {text} refreshes a day"),
        _ => format!("{}: {text}", figure.row().title),
    }
}

/// Transitions above a limit, the worst first, as those after it are folded where they are printed.
fn ways(
    device: &Device,
    budget: &Budget,
    limit: f64,
    value: fn(&PictureChange) -> f64,
    says: fn(&PictureChange) -> String,
) -> impl Iterator<Item = String> {
    let mut over: Vec<_> = budget.transitions.iter().filter(|way| value(&way.change) > limit).collect();
    over.sort_by(|a, b| value(&b.change).total_cmp(&value(&a.change)));
    over.into_iter().map(move |way| {
        let [from, to] = [way.from, way.to].map(|screen| &device.screens[screen.0].id);
        format!("{from} to {to} by {} {}", way.by(device), says(&way.change))
    })
}

fn residue(device: &Device, budget: &Budget, limit: f64, broken: impl Fn(String) -> Fault) -> Option<Fault> {
    if device.panel.residue.is_none() {
        let fault = broken("the ghosting residue is unknown, so this limit is not met".to_owned());
        return Some(fault.help("state panel.residue: what one partial refresh leaves, measured or assumed"));
    }
    let ghost = worst(device, &budget.counts).filter(|ghost| ghost.share.0 * 100.0 > limit)?;
    let words = ghost.words(device);
    let fault = broken(words.trim_end_matches('.').replacen("Worst", "the worst", 1));
    Some(fault.help("lower policy.max-partials, or ask for a full refresh on entry of a screen (policy.full-on)"))
}

/// The life is held against its limit at P10.
fn life(device: &Device, budget: &Budget, limit: f64) -> Option<String> {
    if let Err(why) = &budget.life {
        return Some(format!("the life is unknown, so this limit is not met: {why}"));
    }
    let short = Figure::LifeP10.value(device, budget).is_some_and(|days| days < limit);
    short.then(|| format!("battery life P10 is only {}", Figure::LifeP10.text(device, budget)))
}

/// What draws beside the update at its hardest moment.
fn alongside(device: &Device, parameters: &ParameterSample, mode: Mode, temperature: Celsius) -> String {
    let moment = moment(device, parameters, mode, temperature);
    let moment = moment.filter(|moment| !moment.with.is_empty());
    moment.map_or(String::new(), |moment| format!(" ({})", moment.words(device)))
}

/// Who needs the least voltage, where it is a consumer with a supply window.
fn needed_by(device: &Device, parameters: &ParameterSample) -> String {
    let needed = needed(device, parameters);
    needed.by.map_or(String::new(), |(who, rail, volts)| {
        format!(" by {who}, which must have {volts} on the rail `{}`", device.board.rails[rail.0].name)
    })
}

/// The supply must hold in the worst case; the buffer must fit.
fn supply(device: &Device, budget: &Budget) -> Vec<Fault> {
    let fault =
        |id, text: String, help: &str| Fault { id: Some(id), level: Level::Error, ..Fault::plain(text).help(help) };
    let mut faults = Vec::new();
    if !supply_holds(budget) {
        let found = budget.worst_voltage().map_or("browns out".to_owned(), |volts| format!("falls to {volts}"));
        let (short, all) = budget.ended_by_voltage();
        let text = match &budget.supply_corners {
            Ok(supply_corners) => format!(
                "the battery {found} under a {} refresh{} when {}, all tolerances at their worst; {} is needed{}; {short} \
                 of {all} random devices are limited by voltage",
                supply_corners.mode.name(),
                alongside(device, &supply_corners.device, supply_corners.mode, supply_corners.worst.temperature),
                words(&supply_corners.worst),
                supply_corners.needed,
                needed_by(device, &supply_corners.device)
            ),
            Err(why) => format!("the voltage under an update is unknown: {why}"),
        };
        faults.push(fault(
            SUPPLY,
            text,
            "keep a larger reserve, lower the peak current, use a battery with less resistance or more cells, or a regulator \
             that works from a lower voltage (min-input)",
        ));
    }
    if let (Some(most), Ok(supply_corners)) = (device.battery.max_current, &budget.supply_corners)
        && let Some(moment) =
            moment(device, &supply_corners.device, supply_corners.mode, supply_corners.worst.temperature)
        && let given = moment.peak.battery_current(
            supply_corners.worst.ocv,
            supply_corners.worst.resistance,
            supply_corners.needed,
        )
        && given > most
    {
        let text = format!("the battery delivers up to {given} ({}); its limit is {most}", moment.words(device));
        let help =
            "spread the loads over time with `never-with`, lower the largest current, or use a battery rated for more";
        faults.push(fault("battery-current", text, help));
    }
    if let (Some(charging), Some(empty)) =
        (device.usage.charging, budget.counts.charges.and_then(|charges| charges.empty))
    {
        let text = format!(
            "the battery is down to its reserve after {}; the device comes to its charger every {} d",
            plain_time(empty),
            charging.every
        );
        let help = "charge more often (usage.charging.every) or longer, take a larger battery, or see the best changes in `budget`";
        faults.push(Fault { level: Level::Warning, ..fault("empty-before-charge", text, help) });
    }
    let (exported, there) = (budget.exported(device), device.board.mcu.flash);
    let stock = Bytes(device.stock.total() as f64);
    let (flash, words) = match exported {
        Some(of) => (of.flash, flash_words(of.flash)),
        None => (stock, format!("images, glyphs and strings take {stock} of flash")),
    };
    if flash > there {
        let text = format!("{words}; board.mcu.flash leaves {there}");
        faults.push(fault(
            "flash",
            text,
            "use fewer fonts, smaller images or shorter texts, or a part with more flash",
        ));
    }
    if let Some(scheme) = chosen(device, budget).filter(|scheme| budget.room(device, scheme).is_none()) {
        let (ram, there) = (budget.ram(device, scheme), device.board.mcu.ram);
        let (text, help) = match exported {
            Some(_) if scheme.ram <= there && ram > there => (
                format!("{}; board.mcu.ram leaves {there}", ram_words(ram)),
                "draw fewer lines at a time, take a smaller memo or none, or a part with more RAM",
            ),
            _ => (
                format!(
                    "{} needs {} of RAM and {} of external memory: that does not fit",
                    scheme.name, scheme.ram, scheme.memory
                ),
                "choose another policy.buffer, such as buffer = { strip-lines = 16 }",
            ),
        };
        faults.push(fault("buffer", text, help));
    }
    faults
}
