//! `unaligned-update`: a live element whose changes straddle the panel's bytes. A panel is addressed in whole bytes
//! along its source axis; a few pixels' shift can save a byte in every line of every update.

use super::Subject;
use super::black::{Bench, Run, bounds};
use super::report::Report;
use super::timestamp::is_live;
use crate::device::Device;
use crate::screen::Item;
use crate::screen::values::Values;
use crate::source::fault::Fault;
use embedded_graphics::primitives::Rectangle;

/// Bytes that a shift must save in each update of the element to be worth telling (practice).
const LEAST_SAVED: u32 = 48;

/// Share of the element's bytes that a shift must save (practice).
const LEAST_SHARE: f64 = 0.25;

pub(super) fn find(subject: &Subject<'_>, report: &mut Report<'_>) {
    let device = subject.device;
    if device.panel.partial.is_none() {
        return;
    }
    let mut bench = Bench::new(device.panel.size());
    for view in subject.screens() {
        let live = |item: &&Item| item.shown().iter().any(|field| is_live(device, *field));
        for item in view.items.iter().filter(live) {
            let Some(area) = changes(item, &view.cases[0], &view.cases[1], &mut bench) else { continue };
            let Some(better) = shift(device, area) else { continue };
            let (now, then) = (better.bytes, better.least);
            let saved = now - then;
            if saved < LEAST_SAVED || f64::from(saved) < LEAST_SHARE * f64::from(now) {
                continue;
            }
            let message = format!(
                "each update of {} sends {now} B; moved by {} px {} it would send {then} B",
                item.called(),
                better.by,
                better.direction
            );
            let fault = Fault::at(item.span.clone(), message);
            let fault = fault.label(format!("its changes are {} x {} px", area.size.width, area.size.height));
            let help = "the panel is addressed in bytes of 8 pixels: move the element, or the group that holds it";
            report.see(view.shown(view.showing(item), vec![area]), f64::from(saved), fault.help(help));
        }
    }
}

/// Where an element's pixels differ between the sample and the widest values.
fn changes(item: &Item, sample: &Values, widest: &Values, bench: &mut Bench) -> Option<Rectangle> {
    let mut runs: Vec<Run> = bench.draw(item, sample);
    let others = bench.draw(item, widest);
    if runs.len() == others.len() && runs.iter().zip(&others).all(|(a, b)| (a.x, a.y) == (b.x, b.y)) {
        for (run, other) in runs.iter_mut().zip(&others) {
            (run.ink, run.paper) = (run.ink ^ other.ink, run.paper ^ other.paper);
        }
    } else {
        runs.extend(others);
    }
    bounds(&runs, |run| run.ink | run.paper)
}

/// A shift of an area, and what it saves.
struct Shift {
    bytes: u32,
    least: u32,
    by: u32,
    direction: &'static str,
}

/// The smallest shift along the source axis after which an area takes fewest bytes; `None` where it does already.
fn shift(device: &Device, area: Rectangle) -> Option<Shift> {
    let size = device.panel.size();
    let place = |x: i32, y: i32| device.panel.turn().place(x as u32, y as u32, size.width, size.height);
    let last = area.bottom_right().filter(|_| size.width > 1 && size.height > 1)?;
    let (a, b) = (place(area.top_left.x, area.top_left.y), place(last.x, last.y));
    let (first, last, lines) = (a.0.min(b.0), a.0.max(b.0), a.1.abs_diff(b.1) + 1);
    let bytes = |shift: i64| {
        let (first, last) = (i64::from(first) + shift, i64::from(last) + shift);
        (last.div_euclid(8) - first.div_euclid(8) + 1) as u32 * lines
    };
    let inside =
        |shift: &i64| i64::from(first) + shift >= 0 && i64::from(last) + shift < i64::from(device.panel.native.width);
    let best = (-7..=7i64).filter(inside).min_by_key(|shift| (bytes(*shift), shift.abs()))?;
    if bytes(best) >= bytes(0) {
        return None;
    }
    // Which way the source axis runs in the upright picture.
    let across = place(1, 0).0 as i64 - place(0, 0).0 as i64;
    let down = place(0, 1).0 as i64 - place(0, 0).0 as i64;
    let direction = match (across != 0, best * if across != 0 { across } else { down } > 0) {
        (true, true) => "to the right",
        (true, false) => "to the left",
        (false, true) => "down",
        (false, false) => "up",
    };
    Some(Shift { bytes: bytes(0), least: bytes(best), by: best.unsigned_abs() as u32, direction })
}
