//! Pictures over time: the area under a curve is the energy that the budget prices, and a strip's refreshes are the
//! simulation's.

use inkjoule::budget::summary::{budget, full_work};
use inkjoule::budget::transition::transitions;
use inkjoule::cost::always_on::{Rates, event_taken, events};
use inkjoule::cost::consumer::Consumer;
use inkjoule::cost::curve::{Curve, worst};
use inkjoule::cost::phases::{duration, phases, total};
use inkjoule::cost::supply::Supply;
use inkjoule::device::Device;
use inkjoule::plot::palette::{Colour, Theme};
use inkjoule::plot::png::png;
use inkjoule::plot::scene::{Anchor, Scene, Shape};
use inkjoule::plot::svg::svg;
use inkjoule::project::load;
use inkjoule::refresh::update::Mode;
use inkjoule::refresh::work::Work;
use inkjoule::simulate::diary::What;
use inkjoule::simulate::{simulate_recorded, simulate_watched};
use inkjoule::timeline::day::{day, scene as strip, usual_day};
use inkjoule::timeline::update::{UpdatePlot, scene};
use inkjoule::units::{Celsius, DAY, Seconds};
use std::path::Path;

fn demo(days: u32) -> Device {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("screens-demo");
    load(&path, &[format!("usage.days={days}")]).unwrap_or_else(|_| panic!("the demo does not load")).device
}

fn close(found: f64, expected: f64, share: f64, what: &str) {
    assert!((found - expected).abs() <= share * expected.abs(), "{what}: {found}, expected {expected}");
}

/// Every update that the demo's budget lists.
fn works(device: &Device) -> Vec<(String, Work, Option<f64>)> {
    let temperature = device.usage.climate.mean();
    let full = ("full".to_owned(), full_work(device, temperature), None);
    let cold = ("cold".to_owned(), full_work(device, Celsius(-4.0)), None);
    let ways = transitions(device, &device.inputs.typical(), temperature);
    let ways = ways.into_iter().map(|way| (way.by(device), way.change.work, Some(way.change.energy.0)));
    [full, cold].into_iter().chain(ways).collect()
}

#[test]
fn the_area_under_the_curve_is_the_energy_of_the_update() {
    let device = demo(1);
    let volts = device.battery.nominal();
    for (name, work, priced) in works(&device) {
        let points = [device.inputs.typical(), worst(&device, &work, volts), device.inputs.draw(7, 3)];
        for (number, parameters) in points.iter().enumerate() {
            let curve = Curve::of(&device, parameters, &work, volts);
            let phases = phases(&device, parameters, &work, volts);
            // Without gaps, from nothing to the end.
            let mut at = 0.0;
            for piece in &curve.pieces {
                close(piece.begins.0, at, 1e-12, &name);
                at += piece.time.0;
            }
            close(at, duration(&phases).0, 1e-12, &name);
            let area: f64 = curve.pieces.iter().map(|piece| volts.0 * piece.current.0 * piece.time.0).sum();
            close(area, total(&phases).energy_at(volts).0, 1e-12, &name);
            if let Some(priced) = priced.filter(|_| number == 0) {
                close(area, priced, 1e-12, &name);
            }
        }
    }
}

#[test]
fn no_device_takes_more_than_the_worst() {
    let device = demo(1);
    let volts = device.battery.nominal();
    let work = full_work(&device, device.usage.climate.mean());
    let most = Curve::of(&device, &worst(&device, &work, volts), &work, volts).energy();
    let typical = Curve::of(&device, &device.inputs.typical(), &work, volts).energy();
    assert!(most > typical);
    for number in 0..500 {
        let energy = Curve::of(&device, &device.inputs.draw(1, number), &work, volts).energy();
        assert!(energy <= most, "device {number} takes {energy}, the worst {most}");
    }
}

/// Numbers beside an axis of a scene, with their places: of the first axis upwards, and of the first across.
fn scale(scene: &Scene, anchor: Anchor, part: usize) -> (f64, f64) {
    let ticks: Vec<(f64, f64)> = scene
        .shapes
        .iter()
        .filter_map(|shape| match shape {
            Shape::Text { at, anchor: own, text, colour: Colour::Grey, .. } if *own == anchor => {
                Some((f64::from(at[part]), text.parse().ok()?))
            }
            _ => None,
        })
        .collect();
    // Units on the sheet for each of the axis: first and second tick of the first axis.
    ((ticks[1].0 - ticks[0].0) / (ticks[1].1 - ticks[0].1), ticks[0].1)
}

#[test]
fn the_drawn_area_is_the_energy() {
    let device = demo(1);
    let work = full_work(&device, device.usage.climate.mean());
    let shown = UpdatePlot::of(&device, "full", &work);
    let energy = shown.typical.as_ref().expect("a curve").energy().0;
    let drawn = scene(&[shown]);
    let (up, _) = scale(&drawn, Anchor::End, 1);
    let (across, _) = scale(&drawn, Anchor::Middle, 0);
    let bottom = 84.0 + 190.0;
    let filled: f64 = drawn
        .shapes
        .iter()
        .filter_map(|shape| match shape {
            Shape::Area { points, opacity, .. } if *opacity == 0.35 && points[2][1] == bottom => {
                Some(f64::from(points[2][0] - points[0][0]) * f64::from(points[2][1] - points[0][1]))
            }
            _ => None,
        })
        .sum();
    // Milliamperes upwards, seconds across.
    let area = filled / (-up * 1e3) / across * device.battery.nominal().0;
    close(area, energy, 2e-3, "area on the sheet");
}

#[test]
fn a_days_refreshes_and_all_days_energy_are_the_simulations() {
    let device = demo(4);
    let parameters = device.inputs.typical();
    let mut sent: Vec<(f64, Mode)> = Vec::new();
    let counts = simulate_watched(&device, &parameters, |machine, update| {
        sent.push((machine.now() as f64 * 1e-6, update.mode));
    });
    let mut energy = 0.0;
    for number in 0..4 {
        let shown = day(&device, &parameters, number);
        let (from, to) = (DAY.0 * f64::from(number), DAY.0 * f64::from(number + 1));
        for mode in [Mode::Full, Mode::Partial] {
            let counted = sent.iter().filter(|(time, of)| *of == mode && (from..to).contains(time)).count();
            assert_eq!(shown.count(mode), counted, "day {number}, {}", mode.name());
            assert!(counted > 0, "the demo refreshes every day");
        }
        // Screens follow one another without gaps, all day.
        assert_eq!(shown.screens.first().map(|first| first.0.0), Some(0.0));
        assert!(shown.screens.windows(2).all(|pair| pair[0].1 == pair[1].0));
        close(shown.screens.last().expect("a screen").1.0, DAY.0, 1e-12, "the day's end");
        energy += shown.energy().0;
    }
    assert_eq!(sent.len() as u64, counts.full + counts.partial);
    let budget = budget(&device);
    let day: f64 = budget.causes.iter().map(|(_, energy)| energy.0).sum();
    // What happens at the last midnight is counted, and belongs to the day after.
    let (_, diary) = simulate_recorded(&device, &parameters, [DAY * 4.0, DAY * 5.0]);
    let volts = device.battery.nominal();
    let supply = Supply::new(&device, &parameters, volts);
    let one = Rates { samples: 1.0, ..Rates::default() };
    let work = events(&device, &parameters, &one, volts).into_iter().find(|one| one.what == Consumer::SampleWork);
    let sample = work.map_or(0.0, |work| (volts * work.load_current.at(volts) * DAY).0);
    let at_end = |(_, what): &(Seconds, What)| match what {
        What::Event(event) => event_taken(&device, &parameters, &device.events[event.0], &supply).energy_at(volts).0,
        What::Sample => sample,
        What::Press | What::Refresh(..) => 0.0,
    };
    energy += diary.moments.iter().map(at_end).sum::<f64>();
    // The budget prices the sum of all drives, at the efficiency of their mean current; the strip prices each at its own.
    close(energy / 4.0, day, 1e-5, "energy of a mean day");
}

#[test]
fn the_strip_draws_every_refresh() {
    let device = demo(3);
    let parameters = device.inputs.typical();
    let counts = simulate_watched(&device, &parameters, |_, _| ());
    let number = usual_day(&device, &counts);
    assert!(number > 0, "not the day of the start-up");
    let shown = day(&device, &parameters, number);
    let names: Vec<String> = device.screens.iter().map(|screen| screen.id.clone()).collect();
    let drawn = strip("x < y", &shown, &names);
    let marks = |colour: Colour| {
        let mark = |shape: &&Shape| match shape {
            Shape::Line { points, colour: own, width, .. } => *own == colour && *width == 1.1 && points.len() == 2,
            _ => false,
        };
        drawn.shapes.iter().filter(mark).count()
    };
    assert_eq!(marks(Colour::Alert), shown.count(Mode::Full));
    assert_eq!(marks(Colour::Kind(0)), shown.count(Mode::Partial));
    for theme in Theme::ALL {
        let written = svg(&drawn, theme);
        assert!(roxmltree::Document::parse(&written).is_ok(), "{theme:?}");
        assert!(image::load_from_memory(&png(&drawn, 1.0, theme).expect("a picture")).is_ok(), "{theme:?}");
    }
    assert!(svg(&drawn, Theme::Light) != svg(&drawn, Theme::Dark));
}
