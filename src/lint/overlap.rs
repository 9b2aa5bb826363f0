//! `overlap`: the ink of two elements runs together, or one wipes out ink of the other. By ink, not by box: areas may
//! overlap freely.
//!
//! Meant to lie over one another, and not reported: lines and boxes among themselves; white words that lie wholly on
//! black; a box filled white or black as the ground for what follows.

use super::Subject;
use super::black::{Bench, Run, columns};
use super::report::Report;
use super::subject::View;
use crate::screen::Item;
use crate::screen::element::Nature;
use crate::screen::values::Values;
use crate::source::fault::Fault;
use embedded_graphics::prelude::Point;
use embedded_graphics::primitives::Rectangle;
use std::collections::BTreeMap;
use std::sync::Arc;

pub(super) fn find(subject: &Subject<'_>, report: &mut Report<'_>) {
    let size = subject.device.panel.size();
    let mut bench = Bench::new(size);
    let mut canvas = InkOwners { width: size.width, owners: vec![NOBODY; size.width as usize * size.height as usize] };
    for view in subject.views() {
        for values in view.cases {
            canvas.owners.fill(NOBODY);
            one(&view, values, &mut bench, &mut canvas, report);
        }
    }
}

const NOBODY: u32 = u32::MAX;

/// For each pixel that is black, the element that made it so.
struct InkOwners {
    width: u32,
    owners: Vec<u32>,
}

/// What to do about it.
const APART: &str = "move them apart (at = [x, y], or both in a row or column), or show one at a time with `when`";

/// What an element does to the ink of one below it.
#[derive(Default)]
struct Clash {
    merged: u32,
    wiped: u32,
    /// First and last column and row concerned.
    bounds: Option<[u32; 4]>,
}

fn one(view: &View<'_>, values: &Arc<Values>, bench: &mut Bench, canvas: &mut InkOwners, report: &mut Report<'_>) {
    for (index, item) in view.items.iter().enumerate().filter(|(_, item)| item.crowd.is_none() && item.shows(values)) {
        let runs = bench.draw(item, values);
        let clashes = canvas.lay(index as u32, &runs);
        let count = |bits: fn(&Run) -> u64| runs.iter().map(|run| bits(run).count_ones()).sum::<u32>();
        let (ink, paper) = (count(|run| run.ink), count(|run| run.paper));
        let opaque = ink + paper >= item.area.size.width.saturating_mul(item.area.size.height);
        // White that lies wholly on black below is seen; white that reaches beside it is lost there.
        let on_black = paper > 0 && clashes.values().map(|clash| clash.wiped).sum::<u32>() == paper;
        for (below, clash) in clashes {
            let below = &view.items[below as usize];
            if let Some(what) = objection(item, below, &clash, opaque, on_black) {
                let message = format!("{} {what} {}", item.called(), other(below));
                let label = format!("{} px", clash.merged + clash.wiped);
                let fault = Fault::at(item.span.clone(), message).label(label);
                let fault = fault.help(APART);
                let area = clash.bounds.map_or(item.area, |[left, top, right, bottom]| {
                    let corner = |x: u32, y: u32| Point::new(x as i32, y as i32);
                    Rectangle::with_corners(corner(left, top), corner(right, bottom))
                });
                report.see(view.shown(values, vec![area]), f64::from(clash.merged + clash.wiped), fault);
            }
        }
    }
}

fn other(item: &Item) -> String {
    if item.name.is_empty() {
        let [x, y] = [item.area.top_left.x, item.area.top_left.y];
        format!("the {} at {x}, {y}", item.noun())
    } else {
        format!("`{}`", item.name)
    }
}

fn objection(item: &Item, below: &Item, clash: &Clash, opaque: bool, on_black: bool) -> Option<&'static str> {
    match (opaque, item.nature == Nature::Rule, below.nature == Nature::Rule) {
        (_, true, true) | (true, true, _) | (true, _, true) => None,
        (true, false, false) => Some("covers"),
        (false, ..) if clash.merged > 0 => Some("runs into"),
        (false, ..) if on_black => None,
        (false, ..) => Some("is only partly on the black of"),
    }
}

impl InkOwners {
    /// Lays an element's pixels over what is there and gives what that does to each element below.
    fn lay(&mut self, index: u32, runs: &[Run]) -> BTreeMap<u32, Clash> {
        let mut clashes: BTreeMap<u32, Clash> = BTreeMap::new();
        for run in runs {
            let row = run.y as usize * self.width as usize;
            for x in columns(run.x, run.ink | run.paper) {
                let is_ink = run.ink >> (63 - (x - run.x)) & 1 == 1;
                let owner = &mut self.owners[row + x as usize];
                if *owner != NOBODY {
                    let clash = clashes.entry(*owner).or_default();
                    *(if is_ink { &mut clash.merged } else { &mut clash.wiped }) += 1;
                    let [left, top, right, bottom] = clash.bounds.unwrap_or([x, run.y, x, run.y]);
                    clash.bounds = Some([left.min(x), top.min(run.y), right.max(x), bottom.max(run.y)]);
                }
                *owner = if is_ink { index } else { NOBODY };
            }
        }
        clashes
    }
}
