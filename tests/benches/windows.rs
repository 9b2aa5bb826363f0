//! Update windows: the search against all covers there are, and on the demo's own transitions.

use super::devices::demo;
use super::pair::timed;
use super::table::{Table, Target};
use inkjoule::cost::energy::window_cost;
use inkjoule::refresh::update::Planner;
use inkjoule::refresh::windows::{WindowCost, WindowSearch};
use inkjoule::screen::ScreenId;
use inkjoule::units::Joules;

/// Side of the small grid in bytes and lines.
const SIDE: usize = 8;

/// All rows.
pub fn rows(table: &mut Table) {
    brute(table);
    transitions(table);
}

fn brute(table: &mut Table) {
    let name = "minimum-energy windows, two, 8 bytes x 8 lines";
    if !table.wants(name) {
        return;
    }
    let pictures: Vec<u64> = (1..33_u64).map(scattered).collect();
    let bytes: Vec<Vec<u8>> =
        pictures.iter().map(|cells| (0..64).map(|bit| u8::from(cells >> bit & 1 == 1)).collect()).collect();
    let cost = WindowCost { per_window: Joules(6.0), per_byte: Joules(1.0), per_line: Joules(0.0) };
    let mut search = WindowSearch::default();
    let mut ours = |at: usize| search.cheapest(&bytes[at], SIDE, &cost, 2).map(|cover| cover.cost.0).unwrap_or(0.0);
    let all = every_window();
    let plain = |at: usize| least(&all, pictures[at]);
    for at in 0..pictures.len() {
        assert!((ours(at) - plain(at)).abs() < 1e-9, "both ways find the same cost");
    }
    let (mut a, mut b) = (0, 0);
    let ours = timed(|| {
        a = (a + 1) % pictures.len();
        ours(a)
    });
    let plain = timed(|| {
        b = (b + 1) % pictures.len();
        plain(b)
    });
    table.pair(name, Target::Faster(50.0), "every cover by two windows", ours, plain);
}

/// Some changed cells in two clusters.
fn scattered(seed: u64) -> u64 {
    let mixed = seed.wrapping_mul(0x9E37_79B9_7F4A_7C15);
    (mixed & 0x0000_0000_0303_0707) | ((mixed >> 8) & 0x6060_6000_0000_0000) | 1
}

/// Every window of the grid as its cells and its cost.
fn every_window() -> Vec<(u64, f64)> {
    let spans = || (0..SIDE).flat_map(|from| (from + 1..=SIDE).map(move |to| (from, to)));
    let window = |(left, right): (usize, usize), (top, bottom): (usize, usize)| {
        let line = (left..right).fold(0_u64, |cells, x| cells | 1 << x);
        let cells = (top..bottom).fold(0, |cells, y| cells | line << (SIDE * y));
        (cells, 6.0 + f64::from(cells.count_ones()))
    };
    spans().flat_map(|across| spans().map(move |down| window(across, down))).collect()
}

fn least(all: &[(u64, f64)], changed: u64) -> f64 {
    let mut best = f64::INFINITY;
    for (one, cost) in all {
        if changed & !one == 0 {
            best = best.min(*cost);
        }
        for (other, more) in all {
            if changed & !(one | other) == 0 {
                best = best.min(cost + more);
            }
        }
    }
    best
}

/// Changes between all pairs of the demo's screens: how long planning takes against the difference alone.
fn transitions(table: &mut Table) {
    let name = "windows of a change of screens, up to 4";
    if !table.wants(name) {
        return;
    }
    let device = demo(&["panel.max-windows=4"]);
    let sample = device.sample();
    let frames: Vec<_> = (0..device.screens.len()).map(|id| device.draw(ScreenId(id), 0, &sample)).collect();
    let mut planner = Planner::new(window_cost(&device, &device.inputs.typical()));
    let (mut a, mut b) = (0, 0);
    let pair = |at: &mut usize| {
        *at += 1;
        (*at % frames.len(), *at / frames.len() % frames.len())
    };
    let ours = timed(|| {
        let (old, new) = pair(&mut a);
        planner.change(&device, &frames[old], &frames[new], 0..frames[new].height())
    });
    let plain = timed(|| {
        let (old, new) = pair(&mut b);
        frames[old].difference(&frames[new])
    });
    table.pair(name, Target::None, "their difference alone", ours, plain);
}
