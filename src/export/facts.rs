//! What an export says of the design beside its tables, in no language in particular: who sets fields and when, their ends,
//! what screens are for, when events happen, intervals and temperatures. How it is written is for each target.

use crate::behaviour::count::Count;
use crate::behaviour::field::{Field, Motion, Renewal};
use crate::behaviour::policy::BusyPresses;
use crate::behaviour::states::DeviceState;
use crate::behaviour::{Action, Ends, Event, FieldChange, Times};
use crate::device::Device;
use crate::export::Order;
use crate::firmware::names::Names;
use crate::firmware::tables::condition::{Check, Relation, decimals};
use crate::screen::values::{Condition, FieldId};
use crate::screen::{Role, ScreenId};

/// What is counted from 0 on in an export: its name in the project, and what is said of it.
pub type Listed = Vec<(String, String)>;

/// Fields: unit, decimals, who sets them, what becomes of them at their ends; states of the device come in by the call named.
pub fn fields(order: &Order<'_>, arrived: &str) -> Listed {
    let device = order.device;
    let about = |(index, field): (usize, &Field)| {
        let unit = if field.unit.is_empty() { String::new() } else { format!(", {}", field.unit) };
        let (decimals, ends) = (decimals(device, index), at_ends(device, index));
        let about = format!("{}{unit}, {decimals} decimals, {}{ends}", field.name, set_by(device, index, arrived));
        (field.name.clone(), about)
    };
    device.fields.iter().enumerate().map(about).collect()
}

/// Screens and boxes: what they are for.
pub fn screens(order: &Order<'_>) -> Listed {
    let about = |id: &ScreenId| (order.device.screens[id.0].id.clone(), screen(order.device, *id));
    order.screens.iter().map(about).collect()
}

/// Locales.
pub fn locales(order: &Order<'_>) -> Listed {
    order.locales.iter().map(|locale| (order.device.locales[*locale].clone(), String::new())).collect()
}

/// Events: when they happen.
pub fn events(order: &Order<'_>) -> Listed {
    order.device.events.iter().map(|one| (one.name.clone(), event(order.device, one))).collect()
}

/// Who sets a field and when; states of the device come in by the call named.
fn set_by(device: &Device, index: usize, arrived: &str) -> String {
    let flow_state = &device.flow_state;
    let own = [flow_state.before, flow_state.front].into_iter().chain(flow_state.happened.iter().copied()).flatten();
    let own = own.chain(flow_state.recent.iter().map(|recent| recent.field));
    if own.into_iter().any(|field| field.0 == index) {
        return "set by the machine".into();
    }
    let field = &device.fields[index];
    if DeviceState::ALL.iter().any(|state| device.states.field(*state) == Some(FieldId(index))) {
        return format!("reported by {arrived}");
    }
    let clock = matches!(field.motion, Motion::Clock);
    let what = if clock { "takes the time" } else { "measured" };
    match field.renewal {
        Renewal::Never => "set by keys, or stored".into(),
        Renewal::Every(interval) => {
            let only = if field.only.is_empty() { "" } else { " under conditions" };
            format!("{what} every {} s{only}", interval.0)
        }
        Renewal::On(event) => match device.events.get(event.0) {
            Some(event) => format!("{what} at the event {}", event.name),
            None => what.into(),
        },
    }
}

/// What becomes of a field at its ends when keys change it; empty where they do not.
fn at_ends(device: &Device, index: usize) -> &'static str {
    let reactions = device.wirings.iter().flat_map(|wiring| wiring.reactions());
    let actions = reactions.flat_map(|reaction| &reaction.alternatives).flat_map(|one| &one.actions);
    let changes = actions.flat_map(|action| match action {
        Action::Change(change) => std::slice::from_ref(change),
        Action::Pick(_, changes) => changes,
        _ => &[],
    });
    let wraps: Vec<bool> = changes
        .filter(|change: &&FieldChange| change.field.0 == index)
        .map(|change| change.ends == Ends::Wrap)
        .collect();
    match (wraps.contains(&true), wraps.contains(&false)) {
        (true, false) => ", wraps at its ends",
        (false, true) => ", stops at its ends",
        (true, true) => ", wraps or stops at its ends",
        (false, false) => "",
    }
}

/// Conditions that must all hold, as they are tested.
fn conditions(device: &Device, all: &[Condition]) -> String {
    let number = |field: usize, number: i32| {
        let decimals = decimals(device, field);
        format!("{:.*}", decimals as usize, f64::from(number) / 10f64.powi(decimals as i32))
    };
    let one = |condition: &Condition| {
        let check = Check::of(device, condition);
        let name = &device.fields[check.field].name;
        let limit = match check.other {
            Some((other, ..)) => device.fields[other].name.clone(),
            None => number(check.field, check.limit),
        };
        match check.test {
            Relation::Below => format!("{name} is below {limit}"),
            Relation::From => format!("{name} is {limit} or more"),
            Relation::Is => format!("{name} is {limit}"),
            Relation::Never => "never".to_owned(),
        }
    };
    all.iter().map(one).collect::<Vec<_>>().join(" and ")
}

/// When an event happens, and while what it may.
fn event(device: &Device, event: &Event) -> String {
    let times = match &event.times {
        Times::When(when) => format!("by itself, when {}", conditions(device, std::slice::from_ref(when))),
        Times::Every(interval, _) => format!("by itself, every {} s", interval.0),
        Times::PerDay(..) => "told by the firmware".to_owned(),
    };
    let only =
        if event.only.is_empty() { String::new() } else { format!(", only while {}", conditions(device, &event.only)) };
    times + &only
}

/// What a screen is for.
fn screen(device: &Device, screen: ScreenId) -> String {
    let settled = &device.screens[screen.0];
    let over = settled.over.as_ref().map(|over| match over.frozen {
        true => "a box; what lies below stays as it was",
        false => "a box",
    });
    let role = settled.role.map(role_words);
    over.into_iter().chain(role).collect::<Vec<_>>().join("; ")
}

fn role_name(role: Role) -> &'static str {
    match role {
        Role::BatteryEmpty => "battery-empty",
        Role::LinkLost => "link-lost",
        Role::Off => "off",
        Role::Alarm => "alarm",
    }
}

fn role_words(role: Role) -> &'static str {
    match role {
        Role::BatteryEmpty => "stays on the display when the battery is empty",
        Role::LinkLost => "shown when values no longer arrive",
        Role::Off => "stays on the display while the device is off",
        Role::Alarm => "asks for attention",
    }
}

/// Facts of the design that belong together.
pub struct Group {
    /// What is said of them; may have several lines.
    pub about: &'static str,
    /// Each with its name, in capitals.
    pub facts: Vec<(String, Fact)>,
}

/// One of them.
pub enum Fact {
    /// The position of a screen.
    Screen(usize),
    /// Whether it is so.
    Flag(bool),
    /// Never below 0.
    Count(u64),
    /// A number that may be below 0.
    Number(i64),
    /// One number for each of several.
    List(Vec<i64>),
}

/// A number of the project in whole units; those beyond 32 bits become the nearest.
fn whole(number: f64) -> i64 {
    number.round().clamp(-4e9, 4e9) as i64
}

/// What the driver of a panel without a controller has to do, with the numbers that the project states.
fn stages(device: &Device) -> Vec<(String, Fact)> {
    let (mut facts, typical) = (Vec::new(), device.inputs.typical());
    for (name, drive) in [("FULL", Some(&device.panel.full)), ("PARTIAL", device.panel.partial.as_ref())] {
        let Some((drive, stages)) = drive.and_then(|drive| Some((drive, drive.clocked()?))) else { continue };
        let clocking = stages.clocking(&typical, &device.board.bus);
        let times = clocking.stages.iter().map(|(time, _)| whole(time.0 * 1e3)).collect();
        let least = clocking.stages.iter().map(|(_, least)| i64::from(*least)).collect();
        let at = drive.knots.iter().map(|knot| whole(knot.at.0 * 10.0)).collect();
        let factors = (0..drive.knots.len()).map(|row| whole(drive.factor(&typical, row, 0.0) * 100.0)).collect();
        facts.extend([
            (format!("{name}_STAGE_MS"), Fact::List(times)),
            (format!("{name}_STAGE_MIN_FRAMES"), Fact::List(least)),
            (format!("{name}_STRETCH_AT"), Fact::List(at)),
            (format!("{name}_STRETCH_PERCENT"), Fact::List(factors)),
            (format!("{name}_LINES"), Fact::Count(stages.scan.lines.into())),
            (format!("{name}_LINE_BYTES"), Fact::Count(whole(stages.scan.line_bytes).unsigned_abs())),
        ]);
    }
    facts
}

/// What firmware may want to know: where the device begins, intervals, temperatures, when it refreshes fully.
pub fn groups(order: &Order<'_>) -> Vec<Group> {
    let device = order.device;
    let home = order.screens.iter().position(|screen| *screen == device.usage.home);
    let home = home.map(|place| Group {
        about: "The screen that the device begins with.",
        facts: vec![("HOME".into(), Fact::Screen(place))],
    });
    let mut given = Names::default();
    let role = |(place, screen): (usize, &ScreenId)| {
        let role = device.screens[screen.0].role?;
        let name = given.take(role_name(role)).to_uppercase();
        Some(Group { about: role_words(role), facts: vec![(name, Fact::Screen(place))] })
    };
    let roles: Vec<Group> = order.screens.iter().enumerate().filter_map(role).collect();
    let drops = device.policy.busy_presses == BusyPresses::Drop;
    let drives = [("FULL", Some(&device.panel.full)), ("PARTIAL", device.panel.partial.as_ref())];
    let temperatures = drives.into_iter().filter_map(|(name, drive)| {
        let knots = &drive?.knots;
        let ends = [("FROM", knots.first()?), ("TO", knots.last()?)];
        Some(ends.map(|(end, knot)| (format!("{name}_{end}"), Fact::Number(whole(knot.at.0 * 10.0)))))
    });
    let seconds = |time: f64| Fact::Count(whole(time.max(0.0)).unsigned_abs());
    let named = |name: &str, fact: Fact| (name.to_owned(), fact);
    let all = [
        Group {
            about: "Milliseconds between refreshes for changed fields at least; whether keys are dropped during a refresh.",
            facts: vec![
                named("MIN_INTERVAL_MS", seconds(device.policy.min_interval.0 * 1e3)),
                named("DROPS_KEYS", Fact::Flag(drops)),
            ],
        },
        Group {
            about: "Temperatures that the waveforms are for, in tenths of a degree Celsius.",
            facts: temperatures.flatten().collect(),
        },
        Group {
            about: "This panel has no controller. The driver is given the lines of an image once: it keeps them as its pages\n\
                    (old and new), and when a refresh is to begin it clocks the stages from them, frame by frame. A stage lasts\n\
                    its milliseconds times the factor at the temperature, in whole frames, its minimum number at least.",
            facts: stages(device),
        },
        Group {
            about: "When to refresh fully: after this many partial refreshes, and after this many seconds (0: never).",
            facts: vec![
                named("MAX_PARTIALS", Fact::Count(device.policy.max_partials.into())),
                named("FULL_EVERY_S", seconds(device.policy.full_every.map_or(0.0, |time| time.0))),
            ],
        },
    ];
    home.into_iter().chain(roles).chain(all).filter(|group| !group.facts.is_empty()).collect()
}

/// The ends of a field in units of its last decimal, where it has any.
pub fn range(device: &Device, field: usize) -> Option<(i128, i128)> {
    let field = &device.fields[field];
    let ends = Count::new(field.range, field.grain()).ends();
    (!field.is_endless() && ends.0 > -MOST && ends.1 < MOST).then_some(ends)
}

/// Beyond this a field has no ends of its own.
const MOST: i128 = 2_000_000_000;
