//! Sweeps: a project's budget over a range of one or two of its inputs.
//!
//! A swept value goes into the project's text exactly as `--set` puts it there, and the project is read and calculated
//! anew, so a row of a sweep equals a single run. Nothing is kept from one value to the next: an electrical input may
//! change busy times, and with them what the simulation counts. Values are calculated in parallel; each depends on
//! nothing but itself, so any number of threads gives the same rows.

pub mod chart;
pub mod now;
pub mod range;
pub mod reading;

use crate::budget::figure::Figure;
use crate::budget::summary::budget;
use crate::device::Device;
use crate::project::swap::{Swapped, swap};
use crate::project::{ProjectFault, alternatives, load_files, set};
use crate::source::fault::{Fault, Level};
use crate::source::files::Files;
use crate::source::spans::Sources;
use range::{Spacing, Value, Values};
use rayon::prelude::*;
use reading::Reading;

/// Most rows of one sweep.
pub const MOST_ROWS: usize = crate::limits::SWEEP_ROWS;

/// An input and the values it takes.
#[derive(Clone, Debug)]
pub struct Swept {
    /// Its path in the project: `board.mcu.sleep`.
    pub path: String,
    /// The unit of its numbers; empty for plain ones.
    pub unit: String,
    /// Its values.
    pub values: Vec<Value>,
    /// How they are spaced.
    pub spacing: Spacing,
    /// Its value in the project as it stands, where the project says it.
    pub now: Option<f64>,
    /// The same of words: `lithium-ion`.
    pub now_word: Option<String>,
}

/// The figures at one value of each swept input.
#[derive(Clone, Debug, PartialEq)]
pub struct SweepPoint {
    /// Position among the values of each input.
    pub at: Vec<usize>,
    /// One reading for each figure asked for.
    pub readings: Vec<Option<Reading>>,
    /// Why there are none: the project cannot be so. Only of words, such as buffers or profiles; a number that cannot be
    /// ends the sweep.
    pub impossible: Option<String>,
}

/// A sweep.
#[derive(Clone, Debug)]
pub struct Sweep {
    /// The project's name.
    pub project: String,
    /// One or two inputs.
    pub inputs: Vec<Swept>,
    /// The figures asked for; limits and plots are about the first.
    pub figures: Vec<Figure>,
    /// Every combination of values, the last input's changing fastest.
    pub rows: Vec<SweepPoint>,
    /// The figures of the project as it stands.
    pub now: Vec<Option<Reading>>,
    /// The limit of the first figure, in its unit.
    pub limit: Option<f64>,
    /// The values of the first input at which the first figure passes its limit; empty for two inputs. For the life it is
    /// the P10.
    pub crossings: Vec<f64>,
}

impl Swept {
    /// An input with its values; the design point is looked up in the project.
    pub fn new(device: &Device, files: &Files, path: &str, values: Values, spacing: Spacing) -> Self {
        let (now, spacing) = match values.words {
            true => (None, Spacing::Words),
            false => (now::now(device, files, path, &values.unit), spacing),
        };
        let now_word = (spacing == Spacing::Words).then(|| now::word(files, path)).flatten();
        Self { path: path.to_owned(), unit: values.unit, values: values.values, spacing, now, now_word }
    }
}

/// Calculates every combination of the inputs' values. `device` is the project as it stands, read from `files`.
///
/// # Errors
/// When there are too many combinations, or with one of them the project cannot be used: the first such, with what is
/// wrong with it.
pub fn sweep(
    device: &Device,
    files: &Files,
    inputs: Vec<Swept>,
    figures: Vec<Figure>,
    limit: Option<f64>,
) -> Result<Sweep, Box<ProjectFault>> {
    let count = inputs.iter().map(|input| input.values.len()).product::<usize>();
    if count > MOST_ROWS {
        let fault = Fault::plain(format!("{count} combinations are too many; at most {MOST_ROWS} are calculated"));
        return Err(alone(fault.help("ask for fewer --steps")));
    }
    let rows: Vec<Result<SweepPoint, Box<ProjectFault>>> =
        (0..count).into_par_iter().map(|number| row(files, &inputs, &figures, number)).collect();
    let rows = rows.into_iter().collect::<Result<Vec<SweepPoint>, _>>()?;
    if let Some(why) =
        rows.iter().find_map(|row| row.impossible.clone()).filter(|_| rows.iter().all(|row| row.impossible.is_some()))
    {
        let fault = Fault::plain(format!("the project can be with none of these values: {why}"));
        return Err(alone(fault.help("sweep values of which one is possible at least")));
    }
    let now = budget(device);
    if let Some(fault) = now.refusal(device) {
        return Err(alone(fault));
    }
    let now = figures.iter().map(|figure| Reading::of(*figure, device, &now)).collect();
    let mut done = Sweep { project: device.name.clone(), inputs, figures, rows, now, limit, crossings: Vec::new() };
    done.crossings = done.brackets().into_iter().map(|bracket| crossing(files, &done, bracket)).collect();
    Ok(done)
}

/// Two neighbouring values of the input, and how far the figure lies above the limit at each.
type Bracket = [(f64, f64); 2];

/// Values that are tried to find where a limit is passed.
const TRIED: usize = 6;

/// Where the figure passes the limit between two values: by regula falsi (Illinois), each value tried as a run of its own,
/// until the place moves by less than half a percent. Whole numbers have nothing between, so there it is the straight line.
fn crossing(files: &Files, sweep: &Sweep, [mut low, mut high]: Bracket) -> f64 {
    let (input, figure, limit) = (&sweep.inputs[0], sweep.figures[0], sweep.limit.unwrap_or_default());
    let log = input.spacing == Spacing::Log;
    let scale = |x: f64| if log { x.ln() } else { x };
    let line = |a: (f64, f64), b: (f64, f64)| {
        let x = scale(a.0) + (scale(b.0) - scale(a.0)) * a.1 / (a.1 - b.1);
        if log { x.exp() } else { x }
    };
    let mut found = line(low, high);
    if input.unit.is_empty() && input.values.iter().all(|value| value.number.fract() == 0.0) {
        return found;
    }
    for _ in 0..TRIED {
        let text = format!("{found} {}", input.unit);
        let value = Value { text: text.trim().to_owned(), number: found };
        let tried = Swept { values: vec![value], ..input.clone() };
        let Ok(row) = row(files, &[tried], &[figure], 0) else { return found };
        let Some(reading) = row.readings[0] else { return found };
        let above = reading.against_limit() - limit;
        let before = found;
        if (above < 0.0) == (low.1 < 0.0) {
            low = (found, above);
            high.1 /= 2.0;
        } else {
            high = (found, above);
            low.1 /= 2.0;
        }
        found = line(low, high);
        if (found - before).abs() <= 0.005 * found.abs() {
            break;
        }
    }
    found
}

fn alone(fault: Fault) -> Box<ProjectFault> {
    ProjectFault::of(vec![fault], Sources::default())
}

fn row(files: &Files, inputs: &[Swept], figures: &[Figure], number: usize) -> Result<SweepPoint, Box<ProjectFault>> {
    let mut at = vec![0; inputs.len()];
    let mut rest = number;
    for (place, input) in at.iter_mut().zip(inputs).rev() {
        *place = rest % input.values.len();
        rest /= input.values.len();
    }
    let mut changed = files.clone();
    let chosen =
        || inputs.iter().zip(&at).map(|(input, place)| (input.path.as_str(), input.values[*place].text.as_str()));
    // Another profile first, without what the project says of the old part, as in a comparison; then other values.
    for (path, value) in chosen() {
        if let Some(part) = Swapped::named_by(path) {
            changed = swap(&changed, part, value.trim_matches('"')).map_err(alone)?;
        }
    }
    let changes: Vec<String> = chosen().map(|(path, value)| format!("{path}={value}")).collect();
    // An alternative before values, as on the command line.
    let values = chosen().filter(|(path, _)| Swapped::named_by(path).is_none());
    let mut values: Vec<String> = values.map(|(path, value)| format!("{path}={value}")).collect();
    values.sort_by_key(|change| alternatives::chosen(change).is_none());
    set::apply_all(&mut changed, &values).map_err(alone)?;
    let words = inputs.iter().all(|input| input.spacing == Spacing::Words);
    let loaded = match load_files(changed) {
        Ok(loaded) => loaded,
        Err(failed) if words => {
            let errors = failed.faults.iter().filter(|fault| fault.level == Level::Error);
            let why = errors.map(|fault| fault.message.as_str()).next().unwrap_or_default();
            let impossible = Some(format!("with {}: {why}", changes.join(" and ")));
            return Ok(SweepPoint { at, readings: vec![None; figures.len()], impossible });
        }
        Err(mut failed) => {
            let fault = Fault::plain(format!("with {} the project cannot be used", changes.join(" and ")));
            failed.faults.insert(0, fault.help("sweep a range in which every value is possible"));
            return Err(failed);
        }
    };
    let budget = budget(&loaded.device);
    if let Some(fault) = budget.refusal(&loaded.device) {
        return Err(alone(fault.label(format!("with {}", changes.join(" and ")))));
    }
    Ok(SweepPoint {
        at,
        readings: figures.iter().map(|figure| Reading::of(*figure, &loaded.device, &budget)).collect(),
        impossible: None,
    })
}

impl Sweep {
    /// The text of an input's value in a row.
    pub fn value(&self, row: &SweepPoint, input: usize) -> &Value {
        &self.inputs[input].values[row.at[input]]
    }

    /// Neighbouring values of the first input between which the first figure passes its limit.
    fn brackets(&self) -> Vec<Bracket> {
        let (Some(limit), [input]) = (self.limit, &self.inputs[..]) else { return Vec::new() };
        if input.spacing == Spacing::Words {
            return Vec::new();
        }
        let above = |row: &SweepPoint| row.readings[0].map(|reading| reading.against_limit() - limit);
        let pairs = self.rows.windows(2).filter_map(|pair| {
            let (a, b) = (above(&pair[0])?, above(&pair[1])?);
            if (a < 0.0) == (b < 0.0) {
                return None;
            }
            Some([(self.value(&pair[0], 0).number, a), (self.value(&pair[1], 0).number, b)])
        });
        pairs.collect()
    }
}
