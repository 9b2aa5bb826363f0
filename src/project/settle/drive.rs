//! The drives of a panel: tables of times where it has a controller, stages of frames where the microcontroller clocks it.
//!
//! Not for the panel's other phases: see [`super::hardware`].

use super::hardware::Bench;
use crate::behaviour::policy::Buffer;
use crate::hardware::board::Bus;
use crate::hardware::clocked::{Scan, Stage, Stages};
use crate::hardware::panel::{Drive, DrivenBy, Knot, Length};
use crate::parameters::{Input, ParameterSample};
use crate::project::device::ProjectSpec;
use crate::project::hardware::{ClockedSpec, DriveSpec, RefreshSpec, StageSpec, StretchSpec};
use crate::source::amount::At;
use crate::source::fault::Fault;
use crate::source::spans::Span;
use crate::units::{Amps, Celsius, Ratio, Seconds, figures};

/// Temperature, factor, current and the highest current.
type StretchRow = (Celsius, Input<Ratio>, Input<Amps>, Option<Input<Amps>>);

/// The panel's stated frames, and its rows of temperature.
pub(super) struct Clocked {
    scan: Scan,
    rows: Vec<StretchRow>,
}

/// Bits of a pixel in a line that the microcontroller sends: black, white or left alone.
const BITS: u32 = 2;

/// Stages of one update, at most: the trade has four.
const STAGES: usize = 16;

impl Bench<'_> {
    /// One kind of refresh.
    pub(super) fn drive(&mut self, path: &str, spec: &At<RefreshSpec>, clocked: Option<&Clocked>) -> Drive {
        let planes = &spec.value.planes;
        if !(1..=2).contains(&planes.value) {
            self.fault(Fault::at(planes.span.clone(), "a refresh sends 1 or 2 planes"));
        }
        let planes = planes.value.clamp(1, 2);
        match clocked {
            None => {
                if let Some(stages) = &spec.value.stages {
                    let fault =
                        Fault::at(stages.span.clone(), "a panel with a controller makes its waveform by itself");
                    self.fault(fault.help(
                        "state its times in `drive`; or give the panel a table [panel.clocked] if the microcontroller clocks its lines",
                    ));
                }
                Drive { planes, knots: self.knots(path, spec), by: DrivenBy::Controller }
            }
            Some(clocked) => {
                if let Some(drive) = &spec.value.drive {
                    let fault = Fault::at(
                        drive.span.clone(),
                        "a panel that the microcontroller clocks has no times of its own",
                    );
                    self.fault(
                        fault.help("state `stages` here and the temperature's factors in panel.clocked.stretch"),
                    );
                }
                let stages = self.stages(path, spec, clocked);
                Drive { planes, knots: clocked.knots(), by: DrivenBy::Mcu(stages) }
            }
        }
    }

    /// The rows of a controller's table.
    fn knots(&mut self, path: &str, spec: &At<RefreshSpec>) -> Vec<Knot> {
        let missing = &spec.span;
        let (rows, span): (&[DriveSpec], &Span) =
            spec.value.drive.as_ref().map_or((&[], missing), |drive| (&drive.value, &drive.span));
        if rows.is_empty() || !rows.windows(2).all(|pair| pair[0].at.value.0 < pair[1].at.value.0) {
            let fault = Fault::at(span.clone(), "the drive table needs rows that rise in temperature");
            self.fault(fault.help(
                "write drive = [ { at = \"0 °C\", time = \"...\", current = \"...\" }, { at = \"25 °C\", ... } ]",
            ));
        }
        let knot = |(index, row): (usize, &DriveSpec)| Knot {
            at: row.at.value.0,
            length: Length::Time(self.enter(&format!("{path}.drive.{index}.time"), &row.time)),
            current: self.enter(&format!("{path}.drive.{index}.current"), &row.current),
            peak: row.peak.as_ref().map(|peak| self.enter(&format!("{path}.drive.{index}.peak"), peak)),
        };
        rows.iter().enumerate().map(knot).collect()
    }

    /// What is sent for a frame of a panel of this many pixels, and its rows of temperature.
    pub(super) fn clocked(&mut self, spec: &At<ClockedSpec>, [width, height]: [u32; 2]) -> Clocked {
        let clocked = &spec.value;
        if let Some(none) = clocked.line_bytes.as_ref().filter(|bytes| bytes.value == 0) {
            let fault = Fault::at(none.span.clone(), "a line of no bytes shows nothing");
            self.fault(
                fault.help("write how many bytes are sent for a line, or leave it out: two bits for each pixel"),
            );
        }
        let rows: &[StretchSpec] = &clocked.stretch.value;
        if rows.is_empty() || !rows.windows(2).all(|pair| pair[0].at.value.0 < pair[1].at.value.0) {
            let fault = Fault::at(clocked.stretch.span.clone(), "the factors need rows that rise in temperature");
            self.fault(fault.help(
                "write stretch = [ { at = \"0 °C\", factor = \"800 %\", current = \"...\" }, { at = \"25 °C\", ... } ]",
            ));
        }
        for row in rows.iter().filter(|row| row.factor.value.spread[0].0 <= 0.0) {
            let fault = Fault::at(row.factor.span.clone(), "an update that is not driven shows nothing");
            self.fault(fault.help(
                "write a factor above 0 %: \"100 %\" where the stages last as stated, \"200 %\" for twice as long",
            ));
        }
        let path = "panel.clocked";
        let scan = Scan {
            lines: height,
            line_bytes: f64::from(clocked.line_bytes.as_ref().map_or((width * BITS).div_ceil(8), |bytes| bytes.value)),
            line_time: self.enter(&format!("{path}.line-time"), &clocked.line_time),
        };
        let row = |(index, row): (usize, &StretchSpec)| {
            let path = format!("{path}.stretch.{index}");
            let factor = self.enter(&format!("{path}.factor"), &row.factor.value);
            let current = self.enter(&format!("{path}.current"), &row.current);
            let peak = row.peak.as_ref().map(|peak| self.enter(&format!("{path}.peak"), peak));
            (row.at.value.0, factor, current, peak)
        };
        Clocked { scan, rows: rows.iter().enumerate().map(row).collect() }
    }

    /// The stages of an update.
    fn stages(&mut self, path: &str, spec: &At<RefreshSpec>, clocked: &Clocked) -> Stages {
        let (rows, span): (&[StageSpec], &Span) =
            spec.value.stages.as_ref().map_or((&[], &spec.span), |stages| (&stages.value, &stages.span));
        if !(1..=STAGES).contains(&rows.len()) {
            let message = format!("an update of {} stages cannot be clocked", rows.len());
            let fault = Fault::at(span.clone(), message);
            self.fault(
                fault.help(format!("write stages = [ {{ time = \"480 ms\" }}, ... ] with 1 to {STAGES} stages")),
            );
        }
        for row in rows.iter().filter(|row| row.time.value.spread[0] <= Seconds(0.0)) {
            let fault = Fault::at(row.time.span.clone(), "a stage of no time drives nothing");
            self.fault(fault.help("write how long its frames are repeated, or delete the stage"));
        }
        for row in rows.iter().filter(|row| row.min_frames.value == 0) {
            let fault = Fault::at(row.min_frames.span.clone(), "a stage has one frame or more");
            self.fault(
                fault.help("write the minimum number of frames that the panel's maker asks for, or leave it out"),
            );
        }
        let rows = &rows[..rows.len().min(STAGES)];
        let enter = |(index, row): (usize, &StageSpec)| Stage {
            time: self.enter(&format!("{path}.stages.{index}.time"), &row.time.value),
            least: row.min_frames.value.max(1),
        };
        let stages: Vec<Stage> = rows.iter().enumerate().map(enter).collect();
        Stages { scan: clocked.scan.clone(), stages }
    }
}

impl Clocked {
    fn knots(&self) -> Vec<Knot> {
        let knot = |(at, factor, current, peak): &(Celsius, Input<Ratio>, Input<Amps>, Option<Input<Amps>>)| Knot {
            at: *at,
            length: Length::Factor(*factor),
            current: *current,
            peak: *peak,
        };
        self.rows.iter().map(knot).collect()
    }
}

/// Notes stages that are too short for their minimum number of frames at the warmest of the usage's temperatures, where
/// they are shortest, and images that are not whole while the microcontroller sends frames.
pub fn check(
    project: &ProjectSpec,
    drives: [Option<&Drive>; 2],
    (bus, typical): (&Bus, &ParameterSample),
    (buffer, warmest): (Buffer, Celsius),
    faults: &mut Vec<Fault>,
) {
    let [full, partial] = drives;
    let drives = [Some(&project.panel.full).zip(full), project.panel.partial.as_ref().zip(partial)];
    for (spec, drive) in drives.into_iter().flatten() {
        let Some(stages) = drive.clocked() else { continue };
        let Some(last) = drive.knots.last() else { continue };
        // Beyond its table a partial drive is not used.
        let at = if warmest > last.at { last.at } else { warmest };
        let Some((below, share)) = drive.share(at) else { continue };
        let clocking = stages.clocking(typical, bus);
        let slow = clocking.too_slow(drive.factor(typical, below, share));
        let rows = spec.value.stages.as_ref().map_or(&[][..], |rows| &rows.value);
        if let Some((stage, fits, least)) = slow
            && let Some(row) = rows.get(stage)
        {
            let message = format!(
                "{} frames of {} fit into this stage at {at}, and it needs {least}: it takes longer than stated",
                figures(fits.max(0.0)),
                clocking.frame
            );
            let scan = &stages.scan;
            faults.push(
                Fault::at(row.time.span.clone(), message)
                    .label(format!("a frame is {} lines of {} bytes", scan.lines, figures(scan.line_bytes)))
                    .lint("few-frames")
                    .help("use a faster bus, send fewer bytes for a line or spend less time beside them; or a longer stage"),
            );
        }
    }
    if let (Some(clocked), Buffer::StripLines(_)) = (&project.panel.clocked, buffer) {
        let message = "frames are sent again and again, and strips keep no whole image to send them from";
        let fault = Fault::at(clocked.span.clone(), message);
        faults.push(fault.help("write policy.buffer = \"ram\" or \"external\""));
    }
}
