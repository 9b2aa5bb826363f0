//! From rows to updates: one pass over the file with the baseline running along.
//!
//! An update begins where the current rises above an upper threshold and ends where it stays under a lower one for a
//! least time (hysteresis), so that noise and short dips do not break it. Every row stands for the time from halfway
//! to the row before to halfway to the row after, which makes all sums those of the trapezoid rule.

use super::baseline::{Level, Running, Sample, level};
use super::bins::{Bin, Bins};
use super::bursts;
use super::format::{Format, HEAD, format};
use super::rows::{Rows, TraceRow};
use super::steps::steps;
use super::{Pulses, Settings, Trace, Update, Wrong};
use crate::units::{Amps, Coulombs, Seconds, Volts};
use std::fs::File;
use std::io::{Read, Seek, SeekFrom};
use std::path::Path;

/// Bytes of one look into a long file.
const LOOK: u64 = 64 << 10;
/// Looks into a long file; a file that is not longer than all of them is looked at whole.
const LOOKS: u64 = 64;
/// Updates in one trace at most.
const MOST_UPDATES: usize = crate::limits::TRACE_UPDATES;

/// Reads a trace; see [`super::read`].
pub(super) fn read(path: &Path, settings: &Settings) -> Result<Trace, Wrong> {
    let fail = |why: std::io::Error| Wrong::file(format!("cannot be read: {why}"), "name a file that can be read");
    // Before it is opened: opening a pipe waits for its writer.
    let about = std::fs::metadata(path).map_err(fail)?;
    if !about.is_file() {
        return Err(Wrong::file("is not a plain file", "save the trace to a file first: it is read twice"));
    }
    let file = File::open(path).map_err(fail)?;
    read_from(&path.display().to_string(), file, about.len(), settings)
}

/// Reads a trace of so many bytes from a source; see [`super::read_from`].
pub(super) fn read_from(
    name: &str,
    mut file: impl Read + Seek,
    length: u64,
    settings: &Settings,
) -> Result<Trace, Wrong> {
    let fail = |why: std::io::Error| Wrong::file(format!("cannot be read: {why}"), "name a file that can be read");
    let mut head = Vec::new();
    file.by_ref().take(HEAD as u64).read_to_end(&mut head).map_err(fail)?;
    let format = format(&head)?;
    check_columns(&format, settings)?;
    let samples = look(&mut file, length, &format, settings).map_err(fail)?;
    let level = level(&samples).ok_or_else(|| {
        Wrong::file("has fewer than two rows with a current", "record a trace that holds some updates")
    })?;
    drop(samples);
    file.seek(SeekFrom::Start(format.bytes_before as u64)).map_err(fail)?;
    let mut rows = Rows::new(file, &format, settings.shunt, format.lines_before);
    let mut detector = Detector::new(*settings, level);
    let mut last: Option<TraceRow> = None;
    while let Some(row) = rows.next()? {
        if let Some(last) = last.filter(|last| row.time <= last.time) {
            return Err(backwards(row, last));
        }
        detector.row(row)?;
        last = Some(row);
    }
    let file = name.to_owned();
    let headings = format.columns.iter().flatten().map(|column| column.heading.clone()).collect();
    detector.end(Trace { origin: rows.origin(), ..empty(file, headings, level) })
}

fn empty(file: String, headings: Vec<String>, level: Level) -> Trace {
    Trace {
        file,
        headings,
        origin: Seconds(0.0),
        rows: 0,
        missing: 0,
        gaps: (0, Seconds(0.0)),
        time: Seconds(0.0),
        interval: level.interval,
        baseline: level.baseline,
        noise: level.noise,
        threshold: Amps(0.0),
        charge: Coulombs(0.0),
        updates: Vec::new(),
        pulses: Pulses::default(),
        cautions: Vec::new(),
    }
}

fn backwards(row: TraceRow, last: TraceRow) -> Wrong {
    let what = match row.time == last.time {
        true => format!("the time is the same as in line {}", last.line),
        false => format!("the time goes back by {} from line {}", last.time - row.time, last.line),
    };
    Wrong::line(
        row.line,
        what,
        "times must rise from row to row: sort the rows, export times with more digits, or cut joined traces apart",
    )
}

fn check_columns(format: &Format, settings: &Settings) -> Result<(), Wrong> {
    let heading = |index: usize| format.columns[index].as_ref().map(|column| column.heading.clone());
    match (heading(1), heading(2), settings.shunt) {
        (_, _, Some(shunt)) if shunt.0.partial_cmp(&0.0) != Some(std::cmp::Ordering::Greater) => Err(Wrong::file(
            format!("a shunt of {shunt} gives no current"),
            "give its resistance, such as --shunt \"1 Ohm\"",
        )),
        (Some(current), _, Some(_)) => {
            let what = format!("has a current already (`{current}`), so no shunt is needed");
            Err(Wrong::file(what, "leave out --shunt, or delete the column"))
        }
        (None, Some(voltage), None) => {
            let what = format!("gives a voltage (`{voltage}`) and no current");
            Err(Wrong::file(what, "give the resistance that it was measured across, such as --shunt \"1 Ohm\""))
        }
        _ => Ok(()),
    }
}

/// Rows from all over the file, read leniently: faults are found in the pass over all rows.
fn look(
    file: &mut (impl Read + Seek),
    length: u64,
    format: &Format,
    settings: &Settings,
) -> std::io::Result<Vec<Sample>> {
    let start = format.bytes_before as u64;
    let data = length.saturating_sub(start);
    let (count, size) = if data <= LOOKS * LOOK { (1, data) } else { (LOOKS, LOOK) };
    let mut samples = Vec::new();
    let mut block = Vec::new();
    for index in 0..count {
        let from = start + (data - size) / (count - 1).max(1) * index;
        file.seek(SeekFrom::Start(from))?;
        block.clear();
        file.by_ref().take(size).read_to_end(&mut block)?;
        let newline = |byte: &u8| *byte == b'\n';
        // A look into the middle begins and ends inside of lines.
        let first = if index == 0 { 0 } else { block.iter().position(newline).map_or(block.len(), |at| at + 1) };
        let last = if from + size >= length {
            block.len()
        } else {
            block.iter().rposition(newline).map_or(first, |at| at + 1)
        };
        let mut rows = Rows::new(&block[first..last.max(first)], format, settings.shunt, 0);
        let mut before: Option<(Seconds, Amps)> = None;
        loop {
            let row = match rows.next() {
                Ok(None) => break,
                Ok(Some(row)) => row,
                Err(_) => continue,
            };
            let Some(current) = row.current else { continue };
            if let Some((time, other)) = before.filter(|(time, _)| row.time > *time) {
                samples.push(Sample { current, span: row.time - time, change: current - other });
            }
            before = Some((row.time, current));
        }
    }
    Ok(samples)
}

/// A row that waits for the next one, which tells how long it stands.
#[derive(Clone, Copy)]
struct Waiting {
    row: TraceRow,
    current: Amps,
    from: Seconds,
    after_hole: bool,
}

/// What rises above the baseline.
struct Rise {
    start: Seconds,
    baseline: Amps,
    bins: Bins,
    cut: bool,
}

struct Detector {
    settings: Settings,
    level: Level,
    /// Above the baseline: where an update begins, and under which it ends.
    thresholds: [Amps; 2],
    running: Running,
    waiting: Option<Waiting>,
    /// The supply voltage measured last.
    supply: Option<Volts>,
    /// Rows just under the upper threshold, which belong to an update if one follows.
    lead: Option<Rise>,
    rise: Option<Rise>,
    /// Rows under the lower threshold, which belong to the update if it goes on.
    tail: Bins,
    top: Top,
    found: Trace,
    /// How often, and first when, the current stayed up.
    stayed_up: Option<(u64, Seconds)>,
}

impl Detector {
    fn new(settings: Settings, level: Level) -> Self {
        // Half a percent of the range keeps a baseline with a little life in it from looking like updates.
        let range = (level.largest - level.baseline).0;
        let own = (8.0 * level.noise.0).max(0.005 * range).max(1e-9);
        let upper = settings.threshold.unwrap_or(Amps(own));
        Self {
            settings,
            level,
            thresholds: [upper, upper / 2.0],
            running: Running::new(level.baseline),
            waiting: None,
            supply: None,
            lead: None,
            rise: None,
            tail: Bins::default(),
            top: Top::default(),
            found: Trace { threshold: upper, ..empty(String::new(), Vec::new(), level) },
            stayed_up: None,
        }
    }

    /// The longest time between rows that is bridged.
    fn longest_step(&self) -> Seconds {
        let least = if self.rise.is_some() { 0.02 } else { 1.0 };
        Seconds((20.0 * self.level.interval.0).max(least))
    }

    fn row(&mut self, row: TraceRow) -> Result<(), Wrong> {
        self.found.time = row.time;
        let Some(current) = row.current else {
            self.found.missing += 1;
            return Ok(());
        };
        self.found.rows += 1;
        let mut next = Waiting { row, current, from: row.time, after_hole: true };
        if let Some(waiting) = self.waiting {
            let step = row.time - waiting.row.time;
            if step > self.longest_step() {
                self.stand(waiting, waiting.row.time)?;
                self.found.gaps.0 += 1;
                self.found.gaps.1 += step;
                self.lead = None;
                // Where the current had fallen before the hole, the update had ended.
                let cut = self.tail.bins().is_empty();
                self.finish(cut)?;
            } else {
                let middle = waiting.row.time + step / 2.0;
                self.stand(waiting, middle)?;
                (next.from, next.after_hole) = (middle, false);
            }
        }
        self.waiting = Some(next);
        Ok(())
    }

    /// A row that stands until a time.
    fn stand(&mut self, waiting: Waiting, to: Seconds) -> Result<(), Wrong> {
        let (current, span) = (waiting.current, to - waiting.from);
        let charge = current * span;
        self.found.charge += charge;
        if span.0 <= 0.0 {
            return Ok(());
        }
        self.top.add(current, waiting.row.line, self.rise.is_some());
        let baseline = self.rise.as_ref().map_or(self.running.now(), |rise| rise.baseline);
        let above = current - baseline;
        // A row without a voltage has that of the row before.
        self.supply = waiting.row.voltage.or(self.supply);
        let voltage = self.supply.or(self.settings.voltage).unwrap_or(Volts(0.0));
        let bin = Bin { span, charge, energy: voltage * above * span, sum: current, rows: 1.0, peak: current };
        let [upper, lower] = self.thresholds;
        let Some(rise) = &mut self.rise else {
            // Where updates are close together, the rows that begin them are too many to be taken as quiet.
            if above <= upper {
                self.running.add(current);
            }
            if above <= lower {
                self.lead = None;
                return Ok(());
            }
            let begin = || Rise { start: waiting.from, baseline, bins: Bins::default(), cut: waiting.after_hole };
            let lead = self.lead.get_or_insert_with(begin);
            lead.bins.add(bin);
            if above > upper {
                self.rise = self.lead.take();
            }
            return Ok(());
        };
        if above < lower {
            self.tail.add(bin);
            return if self.tail.span() >= self.settings.min_gap { self.finish(false) } else { Ok(()) };
        }
        rise.bins.take(&mut self.tail);
        rise.bins.add(bin);
        if rise.bins.span() > self.settings.longest {
            self.stay_up();
        }
        Ok(())
    }

    /// Takes what stays up as the new baseline.
    fn stay_up(&mut self) {
        let Some(rise) = self.rise.take() else { return };
        let mut means: Vec<f64> = rise.bins.bins().iter().map(|bin| bin.mean().0).collect();
        means.sort_by(f64::total_cmp);
        if let Some(low) = means.get(means.len() / 10) {
            self.running = Running::new(Amps(*low));
        }
        self.stayed_up.get_or_insert((0, rise.start)).0 += 1;
    }

    /// Ends the update under way.
    fn finish(&mut self, cut: bool) -> Result<(), Wrong> {
        self.tail.clear();
        let Some(rise) = self.rise.take() else { return Ok(()) };
        let Some(total) = rise.bins.total() else { return Ok(()) };
        let charge = total.charge - rise.baseline * total.span;
        if total.span < self.settings.min_duration {
            self.found.pulses.count += 1;
            self.found.pulses.charge += charge;
            return Ok(());
        }
        if self.found.updates.len() >= MOST_UPDATES {
            let what = format!("holds more than {MOST_UPDATES} updates");
            return Err(Wrong::file(what, "raise --threshold or --min-duration, or cut the trace into pieces"));
        }
        let known = self.settings.voltage.is_some() || self.supply.is_some();
        self.found.updates.push(Update {
            start: rise.start,
            duration: total.span,
            baseline: rise.baseline,
            charge,
            energy: known.then_some(total.energy),
            peak: total.peak,
            cut: cut || rise.cut,
            steps: steps(rise.bins.bins(), rise.baseline),
        });
        Ok(())
    }

    /// Ends the trace; `about` tells its file and headings.
    fn end(mut self, about: Trace) -> Result<Trace, Wrong> {
        if let Some(waiting) = self.waiting {
            self.stand(waiting, waiting.row.time)?;
        }
        let cut = self.tail.bins().is_empty();
        self.finish(cut)?;
        if self.found.rows < 2 {
            return Err(Wrong::file(
                "has fewer than two rows with a current",
                "record a trace that holds some updates",
            ));
        }
        let mut cautions = Vec::new();
        cautions.extend(self.top.judge()?);
        if let Some((count, first)) = self.stayed_up {
            cautions.push(format!(
                "The current stayed up for more than {} ({count} times, first at {first}); this was taken as a new baseline.",
                self.settings.longest
            ));
        }
        let cut = self.found.updates.iter().filter(|update| update.cut).count();
        if cut > 0 {
            cautions.push(format!("Cut off by the trace's ends or by gaps, and not counted further: {cut} updates."));
        }
        if self.found.updates.iter().any(|update| update.energy.is_none()) {
            cautions.push(
                "No voltage is known, so there are no energies; give it, such as --voltage \"3.7 V\".".to_owned(),
            );
        }
        let Trace { file, headings, origin, .. } = about;
        let mut trace = Trace { file, headings, origin, cautions, ..self.found };
        bursts::set_apart(&mut trace);
        Ok(trace)
    }
}

/// Watches for a meter at the end of its range: the largest current held for row after row.
#[derive(Default)]
struct Top {
    largest: Option<f64>,
    line: u64,
    run: u64,
    longest: (u64, u64),
    last: f64,
    /// Neighbouring rows of updates below the largest current, and how many of them are equal.
    pairs: u64,
    equal: u64,
}

impl Top {
    fn add(&mut self, current: Amps, line: u64, in_update: bool) {
        let current = current.0;
        let largest = *self.largest.get_or_insert(current);
        if current > largest {
            self.largest = Some(current);
            self.longest = (0, line);
            self.run = 0;
        }
        if self.largest == Some(current) {
            if self.run == 0 {
                self.line = line;
            }
            self.run += 1;
            if self.run > self.longest.0 {
                self.longest = (self.run, self.line);
            }
        } else {
            self.run = 0;
            if in_update {
                self.pairs += 1;
                self.equal += u64::from(self.last == current);
            }
        }
        self.last = current;
    }

    /// Tells a run of equal maxima that chance does not explain.
    ///
    /// Where a share `r` of neighbouring rows is equal, `n` equal rows come about by chance with about `r^(n-1)`.
    /// Without noise (`r` near 1) an even current looks the same, so there it is only a caution.
    fn judge(&self) -> Result<Option<String>, Wrong> {
        /// Chance at which a run is believed to be no chance.
        const CHANCE: f64 = 1e-9;
        let (run, line) = self.longest;
        let current = Amps(self.largest.unwrap_or(0.0));
        if run < 4 || self.pairs < 50 {
            return Ok(None);
        }
        let share = self.equal.max(1) as f64 / self.pairs as f64;
        let by_chance = 1.0 + CHANCE.ln() / share.ln();
        if share < 0.9 && run as f64 >= by_chance {
            let what = format!("the current stands at {current} for {run} rows: the meter was at the end of its range");
            return Err(Wrong::line(
                line,
                what,
                "measure again with a larger range or a smaller shunt; what was cut off is unknown",
            ));
        }
        Ok((share >= 0.5).then(|| {
            format!("The largest current, {current}, is held for {run} rows from line {line} on. This trace is too coarse or too smooth to distinguish a constant current from a meter at the end of its range.")
        }))
    }
}
