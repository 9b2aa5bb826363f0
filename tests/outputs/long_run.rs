//! Long runs of the preview: minutes, so only where they are asked for (`cargo test --test outputs -- --ignored`).

use inkjoule::preview::session::{Begin, Reply, SPEEDS, Session};
use inkjoule::project::{load, load_files};
use inkjoule::source::files::Files;
use inkjoule::units::{DAY, Seconds};
use rand::{RngExt, SeedableRng};
use std::path::Path;
use std::time::Duration;

const DEMO: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/screens-demo");
/// A frame of a display with 60 a second.
const FRAME: Duration = Duration::from_micros(16_667);
/// Memory may differ by so much at the end: what an allocator keeps back.
const FLAT: usize = 4 << 20;

/// Memory that this process holds, in bytes; `None` where the system does not tell it so.
fn held() -> Option<usize> {
    let text = std::fs::read_to_string("/proc/self/statm").ok()?;
    Some(text.split(' ').nth(1)?.parse::<usize>().ok()? * 4096)
}

fn flat(what: &str, before: Option<usize>) {
    if let (Some(before), Some(after)) = (before, held()) {
        println!("{what}: {} kB held, {} kB before", after >> 10, before >> 10);
        assert!(after < before + FLAT, "{what}: {before} bytes became {after}");
    }
}

/// A simulated year of the demo at the fastest speed of the preview, frame by frame, with some hundred keys a day. It holds
/// as much memory at its end as after its first month.
#[test]
#[ignore = "a minute"]
fn a_year_of_the_preview_takes_no_more_memory_than_a_month() {
    let mut session = Session::new(load(Path::new(DEMO), &[]).expect("the demo loads"), Begin::Shown);
    session.set_speed(SPEEDS[SPEEDS.len() - 1]);
    let mut random = rand_chacha::ChaCha8Rng::seed_from_u64(366);
    let keys = session.device().keys();
    let (start, mut month, mut acted) = (session.time(), None, 0_u32);
    while session.time() - start < Seconds(365.0 * DAY.0) {
        session.advance(FRAME);
        if random.random_bool(0.05) {
            acted += u32::from(session.press(random.random_range(0..keys)) == Reply::Acted);
        }
        if month.is_none() && session.time() - start > Seconds(30.0 * DAY.0) {
            month = Some(held());
        }
    }
    let counts = session.counts();
    assert!(acted > 1_000 && counts.full + counts.partial > 10_000, "{acted} keys, {counts:?}");
    flat("a year", month.expect("a month has passed"));
}

/// A project saved a thousand times, each second time with a mistake: the display is what the last good one draws, and the
/// memory stays.
#[test]
#[ignore = "a minute"]
fn a_thousand_reloads_with_mistakes_between_leave_nothing_behind() {
    let good = Files::read(Path::new(DEMO)).expect("the demo is there");
    let text = |files: &Files| String::from_utf8(files.bytes("device.toml").expect("a file").to_vec()).expect("UTF-8");
    let whole = text(&good);
    let mut random = rand_chacha::ChaCha8Rng::seed_from_u64(1_000);
    let mut session = Session::new(load_files(good.clone()).expect("the demo loads"), Begin::Shown);
    let (mut before, mut refused) = (None, 0);
    for count in 0..1_000 {
        let mut files = good.clone();
        if count % 2 == 0 {
            // A file as an editor may leave it half way: cut off somewhere.
            let mut cut = random.random_range(0..whole.len());
            while !whole.is_char_boundary(cut) {
                cut -= 1;
            }
            files.replace("device.toml", whole[..cut].to_owned());
        }
        match load_files(files) {
            Ok(loaded) => session.reload(loaded),
            Err(failed) => {
                assert!(!failed.faults.is_empty());
                refused += 1;
            }
        }
        session.advance(FRAME);
        session.press(count % session.device().keys());
        if count == 100 {
            before = held();
        }
    }
    assert!(refused > 400, "{refused} of 500 mistakes");
    session.reload(load_files(good.clone()).expect("the demo loads"));
    session.restart();
    let fresh = Session::new(load_files(good).expect("the demo loads"), Begin::Shown);
    assert_eq!((session.display(), session.screen()), (fresh.display(), fresh.screen()));
    flat("1,000 reloads", before);
}
