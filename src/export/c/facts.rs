//! What the header says of the design beside its tables: who sets fields and when, their ends, what screens are for, when
//! events happen, intervals and temperatures.

use crate::behaviour::count::Count;
use crate::behaviour::field::{Motion, Renewal};
use crate::behaviour::policy::BusyPresses;
use crate::behaviour::states::DeviceState;
use crate::behaviour::{Action, Ends, Event, FieldChange, Times};
use crate::device::Device;
use crate::export::Order;
use crate::firmware::names::Names;
use crate::firmware::tables::condition::{Check, Relation, decimals};
use crate::screen::values::{Condition, FieldId};
use crate::screen::{Role, ScreenId};
use std::fmt::Write;

/// Who sets a field and when.
pub fn set_by(device: &Device, index: usize) -> String {
    let flow_state = &device.flow_state;
    let own = [flow_state.before, flow_state.front].into_iter().chain(flow_state.happened.iter().copied()).flatten();
    let own = own.chain(flow_state.recent.iter().map(|recent| recent.field));
    if own.into_iter().any(|field| field.0 == index) {
        return "set by the machine".into();
    }
    let field = &device.fields[index];
    if DeviceState::ALL.iter().any(|state| device.states.field(*state) == Some(FieldId(index))) {
        return "reported by ink_arrived".into();
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
pub fn ends(device: &Device, index: usize) -> &'static str {
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
pub fn event(device: &Device, event: &Event) -> String {
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
pub fn screen(device: &Device, screen: ScreenId) -> String {
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

/// What the driver of a panel without a controller has to do, with the numbers that the project states; empty otherwise.
fn stages(device: &Device, upper: &str) -> String {
    let (mut text, typical) = (String::new(), device.inputs.typical());
    for (name, drive) in [("FULL", Some(&device.panel.full)), ("PARTIAL", device.panel.partial.as_ref())] {
        let Some((drive, stages)) = drive.and_then(|drive| Some((drive, drive.clocked()?))) else { continue };
        if text.is_empty() {
            text += "\n/* This panel has no controller. The driver is given the lines of an image once: it keeps them as its pages\n   \
                     (old and new), and when a refresh is to begin it clocks the stages from them, frame by frame. A stage lasts\n   \
                     its milliseconds times the factor at the temperature, in whole frames, its minimum number at least. */\n";
        }
        let list = |values: Vec<String>| format!("{{ {} }}", values.join(", "));
        let clocking = stages.clocking(&typical, &device.board.bus);
        let times = clocking.stages.iter().map(|(time, _)| format!("{:.0}", time.0 * 1e3)).collect();
        let least = clocking.stages.iter().map(|(_, least)| least.to_string()).collect();
        let at = drive.knots.iter().map(|knot| format!("{:.0}", knot.at.0 * 10.0)).collect();
        let rows = 0..drive.knots.len();
        let factors = rows.map(|row| format!("{:.0}", drive.factor(&typical, row, 0.0) * 100.0)).collect();
        let rows: [(&str, Vec<String>); 4] =
            [("STAGE_MS", times), ("STAGE_MIN_FRAMES", least), ("STRETCH_AT", at), ("STRETCH_PERCENT", factors)];
        for (what, values) in rows {
            let _ = writeln!(text, "#define {upper}_{name}_{what} {}", list(values));
        }
        let (lines, bytes) = (stages.scan.lines, stages.scan.line_bytes);
        let _ = writeln!(text, "#define {upper}_{name}_LINES {lines}\n#define {upper}_{name}_LINE_BYTES {bytes:.0}");
    }
    text
}

/// Numbers of the design that firmware may want to know: where it begins, intervals, temperatures, the ends of fields.
pub fn facts(order: &Order<'_>, upper: &str) -> String {
    let device = order.device;
    let mut text = String::new();
    if let Some(home) = order.screens.iter().position(|screen| *screen == device.usage.home) {
        let _ = writeln!(text, "/* The screen that the device begins with. */\n#define {upper}_HOME {home}\n");
    }
    let mut roles = Names::default();
    for (place, screen) in order.screens.iter().enumerate() {
        if let Some(role) = device.screens[screen.0].role {
            let name = roles.take(role_name(role)).to_uppercase();
            let _ = writeln!(text, "/* {}. */\n#define {upper}_{name} {place}\n", role_words(role));
        }
    }
    let milliseconds = (device.policy.min_interval.0 * 1e3).round().clamp(0.0, 4e9);
    let drops = u8::from(device.policy.busy_presses == BusyPresses::Drop);
    let _ = writeln!(
        text,
        "/* Milliseconds between refreshes for changed fields at least; whether keys are dropped during a refresh. */\n\
         #define {upper}_MIN_INTERVAL_MS {milliseconds:.0}\n#define {upper}_DROPS_KEYS {drops}\n"
    );
    let drives = [("FULL", Some(&device.panel.full)), ("PARTIAL", device.panel.partial.as_ref())];
    text += "/* Temperatures that the waveforms are for, in tenths of a degree Celsius. */\n";
    for (name, drive) in drives {
        let ends = drive.and_then(|drive| Some([drive.knots.first()?.at.0, drive.knots.last()?.at.0]));
        if let Some([low, high]) = ends.map(|ends| ends.map(|end| (end * 10.0).round())) {
            let _ = writeln!(text, "#define {upper}_{name}_FROM ({low:.0})\n#define {upper}_{name}_TO ({high:.0})");
        }
    }
    text += &stages(device, upper);
    text += "\n/* The ends of fields, in units of their last decimal. */\n";
    let mut given = Names::default();
    for (index, field) in device.fields.iter().enumerate() {
        let name = given.take(&field.name).to_uppercase();
        let ends = Count::new(field.range, field.grain()).ends();
        if field.range[0] != f64::MIN && ends.0 > -MOST && ends.1 < MOST {
            let about = decimals(device, index);
            let _ = writeln!(
                text,
                "#define {upper}_MIN_OF_{name} ({}L) /* {about} decimals */\n#define {upper}_MAX_OF_{name} ({}L)",
                ends.0, ends.1
            );
        }
    }
    text + "\n"
}

/// Beyond this a field has no ends of its own.
const MOST: i128 = 2_000_000_000;
