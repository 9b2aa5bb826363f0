//! Redrawing only what changed gives the picture of a whole redraw: the simulation relies on it for every update.

use inkjoule::frame::Frame;
use inkjoule::project::load;
use inkjoule::screen::redraw::Redraw;
use inkjoule::screen::values::FieldId;
use rand::{RngExt, SeedableRng};
use std::path::Path;

#[test]
fn islands_redrawn_equal_the_whole_picture() {
    let device = load(Path::new("screens-demo"), &[]).map_err(|failed| failed.faults).unwrap().device;
    let mut random = rand_chacha::ChaCha8Rng::seed_from_u64(5);
    let size = device.panel.size();
    for (locale, _) in device.locales.iter().enumerate() {
        for screen in &device.screens {
            let redraw = Redraw::new(screen, locale);
            let mut values = device.sample();
            let mut frame = Frame::new(size.width, size.height);
            screen.draw(locale, &values, &mut frame);
            let mut partly = 0;
            let own: Vec<FieldId> = screen.pictures[locale].iter().flat_map(|item| item.fields()).collect();
            for _ in 0..200 {
                let mut changed = vec![false; device.fields.len()];
                for _ in 0..random.random_range(1..4) {
                    // The screen's own fields, and any.
                    let field = match own.len() {
                        count if count > 0 && random.random_bool(0.5) => own[random.random_range(0..count)].0,
                        _ => random.random_range(0..device.fields.len()),
                    };
                    let [low, high] = device.fields[field].range;
                    let share: f64 = random.random();
                    let value = if low > -1e9 { low + share * (high - low) } else { share * 86_400.0 * 30.0 };
                    let value = if random.random_bool(0.5) { value.round() } else { value };
                    values.set(FieldId(field), if share < 0.02 { f64::NAN } else { value });
                    changed[field] = true;
                }
                let before = frame.clone();
                for island in redraw.stale(&changed) {
                    let before = frame.clone();
                    island.draw(screen, locale, &values, &mut frame);
                    let found = before.changed_in(&frame, island.rows.clone());
                    assert_eq!(before.changed(&frame), found, "changes lie in the island's rows");
                }
                let mut whole = Frame::new(size.width, size.height);
                screen.draw(locale, &values, &mut whole);
                assert!(frame == whole, "{} in locale {locale}", screen.id);
                partly += usize::from(before != frame);
            }
            let live = screen.pictures[locale].iter().any(|item| !item.fields().is_empty());
            assert!(!live || partly > 20, "{} changed {partly} times", screen.id);
        }
    }
}
