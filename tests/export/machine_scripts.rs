//! The machine in C against the machine here: random scripts of keys, holds, events, values, times, temperatures and busy
//! panels on the demo and on random projects; after every input both tell the same screen, boxes, way back, values,
//! locale and next wake-up, and every update has the same waveform, reason, window and bytes.

use super::machine_program::{Program, Ran, run_scripts, scripts};
use super::machine_projects::project;
use crate::firmware::{orchard, order, product};
use inkjoule::firmware::drawing::Drawing;
use inkjoule::firmware::rules::Rules;
use inkjoule::project::load;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use std::path::Path;

/// How many times as many scripts as usual: `SCRIPTS=10`.
fn scaled() -> u64 {
    std::env::var("SCRIPTS").ok().and_then(|times| times.parse().ok()).unwrap_or(1)
}

#[test]
fn the_machine_in_c_runs_the_orchard_as_the_machine_here() {
    let updates = scripts(&Program::new(), &orchard(), 1, 300 * scaled(), 60, "orchard").updates;
    assert!(updates > 1000, "{updates}");
}

/// The demo has everything that a product has: it is run as it is here, or refused by name.
#[test]
fn the_machine_in_c_runs_the_demo_or_says_what_it_lacks() {
    let Ok(loaded) = load(Path::new("screens-demo"), &[]) else { panic!("the demo does not load") };
    let device = &loaded.device;
    match Rules::of(device, &device.panel.packing, 0) {
        Ok(_) => assert!(scripts(&Program::new(), device, 1, 100 * scaled(), 60, "demo").updates > 300),
        Err(fault) => assert!(fault.message.contains("chosen unit"), "{}", fault.message),
    }
}

#[test]
fn the_machine_in_c_runs_random_projects_as_the_machine_here() {
    let program = Program::new();
    let mut all = Ran::default();
    for seed in 0..60 * scaled() {
        let device = project(seed);
        let ran = scripts(&program, &device, seed * 1000, 40, 60, &format!("project {seed}"));
        all.updates += ran.updates;
        all.seen.add(&ran.seen);
    }
    assert!(all.updates > 10_000, "{}", all.updates);
    assert_eq!(all.seen.rare(5), [""; 0], "hardly ever, of {:?}", all.seen);
}

/// As firmware has it: what the design does not need is left out, and its numbers are the compiler's.
#[test]
fn the_machine_built_for_one_design_runs_it_as_the_machine_here() {
    let past = |device: &_| Drawing::of(&order(device)).expect("drawing tables").past_bytes();
    let demo = load(Path::new("screens-demo"), &[]).unwrap_or_else(|failed| panic!("{:#?}", failed.faults)).device;
    let run = |device: &_, seed, count, about: &str| {
        run_scripts(&Program::stated(device), device, past(device), seed, count, 60, about)
    };
    assert!(run(&demo, 5, 100 * scaled(), "demo alone").updates > 300);
    assert!(run(&product(), 5, 50 * scaled(), "product alone").updates > 100);
    let updates = |seed| run(&project(seed), seed * 1000 + 1, 30, &format!("project {seed} alone")).updates;
    let updates: usize = (0..30 * scaled()).map(updates).sum();
    assert!(updates > 4_000, "{updates}");
}

#[test]
fn the_orchard_draws_in_c_what_it_draws_here_update_by_update() {
    let device = &orchard();
    let past = Drawing::of(&order(device)).expect("drawing tables").past_bytes();
    for remembers in [false, true] {
        let program = Program::drawing(device, remembers);
        let updates = run_scripts(&program, device, past, 7, 40 * scaled(), 60, "orchard with images").updates;
        assert!(updates > 150, "{updates}");
    }
}

/// A unit of six digits of which values are held finely was once more than firmware could be told.
#[test]
fn the_second_product_runs_and_draws_in_c_as_it_does_here() {
    let device = &product();
    let updates = scripts(&Program::new(), device, 1, 100 * scaled(), 60, "product").updates;
    assert!(updates > 300, "{updates}");
    let drawing = Drawing::of(&order(device)).expect("drawing tables");
    assert_eq!(drawing.own, [], "nothing is left to the firmware");
    let program = Program::drawing(device, true);
    let updates =
        run_scripts(&program, device, drawing.past_bytes(), 7, 20 * scaled(), 60, "product with images").updates;
    assert!(updates > 50, "{updates}");
}

#[test]
fn random_projects_draw_in_c_what_they_draw_here_update_by_update() {
    for seed in 0..3 * scaled() {
        let device = project(seed);
        let past = Drawing::of(&order(&device)).expect("drawing tables").past_bytes();
        let about = format!("project {seed} with images");
        let updates =
            run_scripts(&Program::drawing(&device, seed % 2 == 0), &device, past, seed, 20, 60, &about).updates;
        assert!(updates > 50, "{updates}");
    }
}

/// Rules and random inputs for the fuzzer to damage: `ACCEPT=1` writes them anew.
#[test]
fn the_fuzzer_begins_with_rules_of_this_layout() {
    for seed in [3u64, 5] {
        let device = project(seed);
        let past = Drawing::of(&order(&device)).expect("drawing tables").past_bytes();
        let rules = Rules::of(&device, &device.panel.packing, past).expect("the rules can be written");
        let mut bytes = (rules.bytes.len() as u16).to_le_bytes().to_vec();
        bytes.extend(&rules.bytes);
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        (0..400).for_each(|_| {
            let input = [random.random_range(0..32u8), random.random_range(0..80), random.random_range(0..4), 0];
            bytes.extend(input);
        });
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("tests/fuzz/seeds/machine/project-{seed}"));
        if std::env::var("ACCEPT").is_ok() {
            std::fs::create_dir_all(path.parent().expect("a folder")).expect("a folder");
            std::fs::write(&path, &bytes).expect("written");
        }
        let known = std::fs::read(&path).expect("a seed");
        assert!(
            known == bytes,
            "{}: the layout of the rules moved; write the seeds anew with ACCEPT=1",
            path.display()
        );
    }
}
