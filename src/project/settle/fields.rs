//! From the fields' and events' text to their models.

use super::screens::condition;
use super::shown::{self, Formats};
use crate::assets::strings::Strings;
use crate::behaviour::field::{Field, Motion, Renewal};
use crate::behaviour::{EventId, Hours, Times};
use crate::elements::scope::nearest_field;
use crate::project::device::{EventSpec, FieldSpec, SignalSpec};
use crate::screen::template::Piece;
use crate::screen::values::FieldId;
use crate::source::amount::Named;
use crate::source::amount::{At, List};
use crate::source::fault::{Fault, no_such};
use crate::source::files::Files;
use crate::units::{DAY, Seconds};

/// A time of day such as `"06:30"`, as seconds after midnight.
pub fn time_of_day(text: &At<String>) -> Result<Seconds, Fault> {
    let parsed = text.value.split_once(':').and_then(|(hours, minutes)| {
        let (hours, minutes): (u32, u32) = (hours.parse().ok()?, minutes.parse().ok()?);
        (hours <= 24 && minutes < 60 && hours * 60 + minutes <= 1440).then_some(hours * 3600 + minutes * 60)
    });
    parsed.map(|seconds| Seconds(f64::from(seconds))).ok_or_else(|| {
        Fault::at(text.span.clone(), format!("expected a time of day, found {:?}", text.value)).help("write \"06:30\"")
    })
}

/// Hours of the day; the whole day where none are stated. Equal ends are the whole day too.
pub fn hours(spec: Option<&At<List<String, 2>>>, faults: &mut Vec<Fault>) -> Hours {
    let Some(spec) = spec else { return Hours::ALL };
    let mut end = |index: usize| {
        let text = At { span: spec.span.clone(), value: spec.value[index].clone() };
        time_of_day(&text).map_err(|fault| faults.push(fault)).unwrap_or_default()
    };
    let (from, to) = (end(0), end(1));
    let length = (to.0 - from.0).rem_euclid(DAY.0);
    Hours { from, length: if length == 0.0 { DAY } else { Seconds(length) } }
}

/// Settles the fields. Events are known by name only here; their conditions need the fields first.
pub fn fields(
    specs: &Named<FieldSpec>,
    sample_at: &At<String>,
    events: &[&str],
    strings: &mut Strings,
    formats: &Formats<'_>,
    files: &Files,
    faults: &mut Vec<Fault>,
) -> Vec<Field> {
    // A wrong time is reported with the usage.
    let sample_at = time_of_day(sample_at).unwrap_or_default();
    let names: Vec<&str> = specs.keys().map(String::as_str).collect();
    circles(specs, &names, faults);
    let fields = specs
        .iter()
        .enumerate()
        .map(|(index, (name, at))| {
            let spec = &at.value;
            let stated = range(at, faults);
            let range = stated.unwrap_or([0.0, 1.0]);
            let pieces = (0..strings.locales().len())
                .map(|locale| piece(FieldId(index), at, range, (strings, locale), formats, faults));
            let pieces = pieces.collect();
            let motion = spec.signal.as_ref().map_or(Motion::Still, |moves| motion(moves, &names, files, faults));
            let motion = if spec.clock.is_some() && matches!(motion, Motion::Still) { Motion::Clock } else { motion };
            let units = formats.units(spec);
            let within = spec.within.as_ref().and_then(|count| formats.field(count, faults));
            let sample = spec.sample.unwrap_or(if spec.clock.is_some() { sample_at.0 } else { range[0] });
            // Of a range that is itself at fault, a sample outside says nothing.
            if stated.is_some_and(|[low, high]| !(low..=high).contains(&sample)) && spec.clock.is_none() {
                let fault = Fault::at(at.span.clone(), format!("the sample {sample} of `{name}` is outside its range"));
                faults.push(fault.label(format!("the range is {} to {}", range[0], range[1])));
            }
            Field {
                name: name.clone(),
                span: at.span.clone(),
                quantity: formats.place(spec),
                unit: units.as_ref().map_or(spec.unit.clone(), |units| units.units[0].name.clone()),
                range,
                step: shown::step(spec, units.as_ref()),
                units,
                within,
                text: Vec::new(),
                only: Vec::new(),
                pieces,
                sample,
                renewal: renewal(name, at, events, faults),
                motion,
                history: 0,
            }
        })
        .collect();
    shown::with_texts(fields, specs, strings.locales().len(), faults)
}

/// Notes grades that are graded by themselves, directly or through others.
fn circles(specs: &Named<FieldSpec>, names: &[&str], faults: &mut Vec<Fault>) {
    let graded_by = |name: &str| match &specs.get(name)?.value.signal.as_ref()?.value {
        SignalSpec::Thresholds { field, .. } => Some(field),
        _ => None,
    };
    for name in names {
        let Some(first) = graded_by(name) else { continue };
        let mut chain = std::iter::successors(Some(first), |field| graded_by(&field.value)).take(names.len());
        if chain.any(|field| field.value == *name) {
            let fault = Fault::at(first.span.clone(), format!("`{name}` takes its thresholds from itself"));
            faults.push(fault.help("name the field that is measured"));
        }
    }
}

/// The smallest and largest value; `None` where what is stated is at fault.
fn range(at: &At<FieldSpec>, faults: &mut Vec<Fault>) -> Option<[f64; 2]> {
    let spec = &at.value;
    match (&spec.range, &spec.choices) {
        (Some(range), None) => {
            let [low, high] = range.value.0;
            if !(low < high && low.is_finite() && high.is_finite()) {
                faults.push(Fault::at(range.span.clone(), "a range is [smallest, largest]"));
                return None;
            }
            Some(range.value.0)
        }
        (None, Some(choices)) => {
            if choices.value.is_empty() {
                faults.push(Fault::at(choices.span.clone(), "a choice needs at least one text"));
                return None;
            }
            Some([0.0, (choices.value.len() - 1) as f64])
        }
        (None, None) if spec.clock.is_some() => Some([f64::MIN, f64::MAX]),
        (None, None) if spec.text.is_some() => Some([0.0, 1.0]),
        (Some(range), Some(_)) => {
            faults.push(Fault::at(range.span.clone(), "a choice has no range: its texts are counted from 0"));
            None
        }
        (None, None) => {
            let fault = Fault::at(at.span.clone(), "this field needs `range`, `choices`, `clock` or `text`");
            faults
                .push(fault.help("the smallest and largest value decide how wide its text can be: range = [-20, 45]"));
            None
        }
    }
}

fn piece(
    field: FieldId,
    at: &At<FieldSpec>,
    range: [f64; 2],
    (strings, locale): (&mut Strings, usize),
    formats: &Formats<'_>,
    faults: &mut Vec<Fault>,
) -> Piece {
    let spec = &at.value;
    let piece = if let Some(choices) = &spec.choices {
        let mut words = |text: &String| {
            let text = At { span: choices.span.clone(), value: text.clone() };
            strings.words(&text, locale, faults).unwrap_or_default()
        };
        Piece::Choice { field, texts: choices.value.iter().map(&mut words).collect() }
    } else if let Some(clock) = &spec.clock {
        formats.clock(field, clock, locale, faults)
    } else {
        formats.number(field, spec, range, locale)
    };
    match &spec.worst {
        Some(worst) => Piece::Stated { piece: Box::new(piece), worst: worst.clone() },
        None => piece,
    }
}

fn renewal(name: &str, at: &At<FieldSpec>, events: &[&str], faults: &mut Vec<Fault>) -> Renewal {
    match (&at.value.every, &at.value.on) {
        (None, None) => Renewal::Never,
        (Some(every), None) => {
            if every.value.0.0 < 1.0 {
                faults.push(Fault::at(every.span.clone(), "a field is updated at most once a second"));
            }
            Renewal::Every(Seconds(every.value.0.0.max(1.0)).to_milliseconds())
        }
        (None, Some(on)) => match events.iter().position(|event| *event == on.value) {
            Some(event) => Renewal::On(EventId(event)),
            None => {
                faults.push(no_such("event", "events", (&on.value, &on.span), events.iter().copied()));
                Renewal::Never
            }
        },
        (Some(_), Some(on)) => {
            faults.push(Fault::at(
                on.span.clone(),
                format!("`{name}` is updated either `every` or `on` an event, not both"),
            ));
            Renewal::Never
        }
    }
}

fn motion(spec: &At<SignalSpec>, names: &[&str], files: &Files, faults: &mut Vec<Fault>) -> Motion {
    match &spec.value {
        SignalSpec::RandomWalk { step } => Motion::Walk { step: step.abs() },
        SignalSpec::Cycle { low, high, period, peak, jitter } => {
            if period.0.0 <= 0.0 {
                faults.push(Fault::at(spec.span.clone(), "a cycle's period must be longer than 0 s"));
            }
            Motion::Cycle {
                low: *low,
                high: *high,
                period: Seconds(period.0.0.max(1.0)),
                peak: peak.0,
                jitter: jitter.abs(),
            }
        }
        SignalSpec::Count { step } => Motion::Count { step: *step },
        SignalSpec::Random {} => Motion::Draw,
        SignalSpec::Thresholds { below, .. } if below.is_empty() || !below.windows(2).all(|pair| pair[0] > pair[1]) => {
            let fault = Fault::at(spec.span.clone(), "thresholds fall: below the first the value is 1");
            faults.push(fault.help("write the highest first, such as below = [4.0, 2.0, 0.0]"));
            Motion::Still
        }
        SignalSpec::Thresholds { field, below } => match names.iter().position(|name| *name == field.value) {
            Some(position) => Motion::Grade { field: FieldId(position), below: below.clone() },
            None => {
                faults.push(nearest_field(field, names.iter().copied()));
                Motion::Still
            }
        },
        SignalSpec::Replay { file, column } => match replay(file, column.as_deref(), files) {
            Ok(values) => Motion::Replay { values },
            Err(fault) => {
                faults.push(*fault);
                Motion::Still
            }
        },
    }
}

/// Numbers of a CSV column. The first row is a heading where it has no number in that column.
fn replay(file: &At<String>, column: Option<&str>, files: &Files) -> Result<Vec<f64>, Box<Fault>> {
    let fail = |why: String| Box::new(Fault::at(file.span.clone(), format!("cannot replay {}: {why}", file.value)));
    let bytes = files.bytes(&file.value).ok_or_else(|| Box::new(crate::source::files::no_file(file, files)))?;
    let mut reader =
        csv::ReaderBuilder::new().has_headers(false).flexible(true).trim(csv::Trim::All).from_reader(bytes);
    let mut at = 0;
    let mut values = Vec::new();
    for (row, record) in reader.records().enumerate() {
        let record = record.map_err(|why| fail(why.to_string()))?;
        if row == 0
            && let Some(column) = column
        {
            at = record
                .iter()
                .position(|name| name == column)
                .ok_or_else(|| fail(format!("it has no column `{column}`")))?;
            continue;
        }
        let text = record.get(at).unwrap_or("");
        match text.parse::<f64>() {
            Ok(value) => values.push(value),
            Err(_) if text.is_empty() => values.push(f64::NAN),
            Err(_) if row == 0 => {}
            Err(_) => return Err(fail(format!("row {} has {text:?} where a number is needed", row + 1))),
        }
    }
    if values.is_empty() { Err(fail("it has no numbers".into())) } else { Ok(values) }
}

/// When an event happens.
pub fn times(name: &str, at: &At<EventSpec>, fields: &[Field], faults: &mut Vec<Fault>) -> Times {
    let spec = &at.value;
    let hours = hours(spec.between.as_ref(), faults);
    match (&spec.every, &spec.per_day, &spec.when) {
        (Some(every), None, None) if every.value.0.0 >= 1.0 => Times::Every(every.value.0.to_milliseconds(), hours),
        (Some(every), None, None) => {
            faults.push(Fault::at(every.span.clone(), "an event happens at most once a second"));
            Times::Every(DAY, hours)
        }
        (None, Some(rate), None) => {
            if !(0.0..=86_400.0).contains(&rate.value) {
                faults.push(Fault::at(rate.span.clone(), "expected a number of times a day, 0 to 86400"));
            }
            Times::PerDay(rate.value.clamp(0.0, 86_400.0), hours)
        }
        (None, None, Some(when)) => match condition(when, &at.span, fields, faults) {
            Some(condition) => Times::When(condition),
            None => Times::PerDay(0.0, hours),
        },
        _ => {
            let fault = Fault::at(
                at.span.clone(),
                format!("the event `{name}` needs exactly one of `every`, `per-day` and `when`"),
            );
            faults.push(fault);
            Times::PerDay(0.0, hours)
        }
    }
}
