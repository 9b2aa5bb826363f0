//! The bodies of the fuzz targets on their seeds and on some thousand changes of them, the same in every run. Long runs
//! are `cargo +nightly fuzz run --fuzz-dir tests/fuzz NAME`; what they found stands in `tests/fuzz/found` and is run here.

#[path = "../fuzz/bodies.rs"]
mod bodies;

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use std::path::PathBuf;
use std::time::{Duration, Instant};

/// Time for the changes of one target's seeds; `FUZZ_SECONDS` sets another, with changes of another series.
const TIME: Duration = Duration::from_millis(700);
/// Time that no single input may take, in a build that is not optimised.
const LONGEST: Duration = Duration::from_secs(60);

fn inputs(folder: &str, target: &str) -> Vec<Vec<u8>> {
    let folder: PathBuf = [env!("CARGO_MANIFEST_DIR"), "tests/fuzz", folder, target].iter().collect();
    let Ok(entries) = std::fs::read_dir(&folder) else { return Vec::new() };
    let mut paths: Vec<PathBuf> = entries.filter_map(|entry| entry.ok().map(|entry| entry.path())).collect();
    paths.sort();
    paths.iter().map(|path| std::fs::read(path).expect("an input that can be read")).collect()
}

/// A few random changes: bytes set, cut out, doubled, swapped in from another input.
fn changed(inputs: &[Vec<u8>], random: &mut ChaCha8Rng) -> Vec<u8> {
    let mut bytes = inputs[random.random_range(0..inputs.len())].clone();
    for _ in 0..random.random_range(1..6) {
        let at = random.random_range(0..=bytes.len());
        let length = random.random_range(0..=(bytes.len() - at).min(40));
        match random.random_range(0..5) {
            0 if at < bytes.len() => bytes[at] = random.random(),
            1 => drop(bytes.drain(at..at + length)),
            2 => {
                let copy = bytes[at..at + length].to_vec();
                bytes.splice(at..at, copy);
            }
            3 => {
                let other = &inputs[random.random_range(0..inputs.len())];
                let from = random.random_range(0..=other.len());
                let until = (from + length + 1).min(other.len());
                bytes.splice(at..at + length, other[from..until].iter().copied());
            }
            _ if at < bytes.len() => bytes[at] ^= 1 << random.random_range(0..8),
            _ => {}
        }
    }
    bytes
}

fn run(target: &str, body: fn(&[u8]), input: &[u8]) {
    let start = Instant::now();
    body(input);
    assert!(start.elapsed() < LONGEST, "{target} took {:?}", start.elapsed());
}

#[test]
fn seeds_findings_and_changes_of_them_do_no_harm() {
    for (target, body) in bodies::TARGETS {
        let seeds = inputs("seeds", target);
        assert!(!seeds.is_empty(), "{target} has no seeds");
        let found = inputs("found", target);
        let all: Vec<Vec<u8>> = seeds.into_iter().chain(found).collect();
        all.iter().for_each(|input| run(target, body, input));
        let asked = std::env::var("FUZZ_SECONDS").ok().map(|text| text.parse().expect("FUZZ_SECONDS in seconds"));
        let mut random = ChaCha8Rng::seed_from_u64(if asked.is_some() { 8 } else { 7 });
        let (start, mut executions) = (Instant::now(), 0u64);
        while start.elapsed() < asked.map_or(TIME, Duration::from_secs) {
            let input = changed(&all, &mut random);
            if asked.is_some() {
                // What a panic or an endless loop was met by.
                std::fs::write(std::env::temp_dir().join(format!("fuzz-{target}")), &input).expect("it can be written");
            }
            run(target, body, &input);
            executions += 1;
        }
        println!("{target}: {executions} executions");
    }
}

/// A fuzzer of boards that are nearly all refused looks at the reader alone.
#[test]
fn random_boards_are_often_projects() {
    let mut random = ChaCha8Rng::seed_from_u64(9);
    for (what, body, least) in [("trees", bodies::tree as fn(&[u8]) -> bool, 10), ("batteries", bodies::cell, 20)] {
        let read = (0..100).filter(|_| body(&(0..90).map(|_| random.random()).collect::<Vec<u8>>())).count();
        assert!(read >= least, "{read} of 100 {what} are projects");
    }
}
