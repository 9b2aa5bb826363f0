//! Rails that are switched on: many at one moment, and those whose conditions hold in the beginning.

use crate::plain::{BASE, load};
use inkjoule::budget::life::{mean_load, moment};
use inkjoule::device::Device;
use inkjoule::refresh::update::Mode;
use inkjoule::simulate::simulate;
use inkjoule::units::Celsius;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

const USE: &str = "[usage]\nhome = \"a\"\nstart = \"2031-01-01\"\ndays = 4\n\
                   temperature = { low = \"20 °C\", high = \"20 °C\", warmest = \"12:00\" }\n";

fn device(more: &str, screens: &[(&str, &str)]) -> Device {
    let root = BASE.replace("[board.mcu]\n", "[board.mcu]\nrail = \"main\"\n");
    let root = root.replace("[panel]\n", "[panel]\nrail = \"main\"\n");
    load(format!("{root}{more}{USE}"), screens).unwrap_or_else(|text| panic!("{text}"))
}

/// The peak load of random trees of nine switched rails, behind linear regulators that pass every current on: against every
/// choice of rails that are being charged, where a load waits for the rails that it needs and no rail is charged before
/// that which feeds it.
#[test]
fn the_peak_of_many_rails_is_that_of_every_choice_of_rails() {
    const RAILS: usize = 9;
    let screens = [("a", "content = [ { text = \"A\" } ]")];
    let peak = |device: &Device| {
        let moment = moment(device, &device.inputs.typical(), Mode::Full, Celsius(20.0)).expect("within the table");
        moment.peak.load_current.current.0
    };
    let update = peak(&device("", &screens));
    for seed in 0..12u64 {
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        let mut text = String::new();
        let mut rails: Vec<(Option<usize>, f64, f64)> = Vec::new();
        for rail in 0..RAILS {
            let above = (rail > 0 && random.random_bool(0.4)).then(|| random.random_range(0..rail));
            let deep = above.is_some_and(|above| rails[above].0.is_some());
            let above = above.filter(|_| !deep);
            let (inrush, load) = (f64::from(random.random_range(1..40)), f64::from(random.random_range(1..40)));
            let (source, volts) = above.map_or(("battery".to_owned(), 3.0), |above| (format!("r{above}"), 2.5));
            // C V / t.
            text += &format!(
                "[board.rails.r{rail}]\nsource = \"{source}\"\nregulator = \"ldo\"\noutput = \"{volts} V\"\n\
                 dropout = \"100 mV\"\nenabled = \"while-used\"\nstart-up = \"1 ms\"\ncapacitor = \"{} uF\"\n\
                 [board.loads.l{rail}]\nrail = \"r{rail}\"\ncurrent = \"{load} mA\"\non = \"4 ms\"\nperiod = \"60 s\"\n",
                inrush / volts
            );
            rails.push((above, inrush * 1e-3, load * 1e-3));
        }
        let mut most: f64 = 0.0;
        for set in 0..1u32 << RAILS {
            let charged = |rail: usize| set >> rail & 1 == 1;
            let waits = |rail: usize| charged(rail) || rails[rail].0.is_some_and(charged);
            if (0..RAILS).any(|rail| charged(rail) && rails[rail].0.is_some_and(charged)) {
                continue;
            }
            let drawn = |rail: usize| match (charged(rail), waits(rail)) {
                (true, _) => rails[rail].1,
                (false, false) => rails[rail].2,
                (false, true) => 0.0,
            };
            most = most.max((0..RAILS).map(drawn).sum());
        }
        let found = peak(&device(&text, &screens));
        assert!((found - update - most).abs() < 1e-9, "seed {seed}: {found} A, by every choice {}", update + most);
    }
}

/// 100 uF at 2.5 V take 250 uC. The device starts on screen a, leaves it after an hour and never comes back: the days stand
/// for many alike, so its rail is switched on once in them; that of a rail that is on all the time is not.
#[test]
fn a_condition_that_holds_in_the_beginning_began_as_often_as_it_ends() {
    let screens = [
        ("a", "after = [ { wait = \"1 h\", go = \"b\" } ]\ncontent = [ { text = \"A\" } ]"),
        ("b", "content = [ { text = \"B\" } ]"),
    ];
    let mean = |condition: &str, start: &str| {
        let rail = format!(
            "[board.rails.probe]\nregulator = \"ldo\"\noutput = \"2.5 V\"\ndropout = \"100 mV\"\nquiescent = \"50 uA\"\n\
             while = {condition}\n{start}[fields.fitted]\nrange = [0, 1]\nsample = 1\n[board.loads.sensor]\nrail = \"probe\"\ncurrent = \"2 mA\"\n"
        );
        let device = device(&rail, &screens);
        let parameters = device.inputs.typical();
        let counts = simulate(&device, &parameters);
        mean_load(&device, &parameters, &counts, 1.0, device.battery.nominal()).at(device.battery.nominal()).0
    };
    let start = "start-up = \"2 ms\"\ncapacitor = \"100 uF\"\n";
    for (condition, times) in [("{ screen = \"a\" }", 1.0), ("{ field = \"fitted\", is = 1 }", 0.0)] {
        let (found, expected) = (mean(condition, start) - mean(condition, ""), 250e-6 * times / (4.0 * 86_400.0));
        assert!((found - expected).abs() < 1e-15, "{condition}: {found} A, by hand {expected} A");
    }
}
