//! The energy of updates and the life of a device against hand calculations and closed forms.

use crate::plain::{BASE, close, load};
use inkjoule::behaviour::policy::Buffer;
use inkjoule::budget::life::{Ending, Habits, bound, life, mean_load, moment};
use inkjoule::budget::memory::schemes;
use inkjoule::budget::summary::full_work;
use inkjoule::cost::curve::{Curve, worst};
use inkjoule::cost::energy::draw;
use inkjoule::cost::phases::{Cause, by_cause, duration, latency, phases, total};
use inkjoule::cost::reserve::{last_screen, least_input};
use inkjoule::device::Device;
use inkjoule::device::drawing::Scenes;
use inkjoule::refresh::update::{Change, Mode, work};
use inkjoule::refresh::windows::Window;
use inkjoule::refresh::work::Work;
use inkjoule::simulate::simulate;
use inkjoule::units::{Celsius, DAY, Seconds, YEAR};
use proptest::prelude::*;

/// The plain device on a larger panel whose drive depends on the temperature, with a cell that loses charge.
const DIFFERENT: [(&str, &str); 9] = [
    ("pixels = [128, 64]", "pixels = [128, 296]"),
    ("\"14.5 mm\"", "\"67 mm\""),
    ("at = \"-20 °C\", time = \"4 s\"", "at = \"0 °C\", time = \"4 s\""),
    ("at = \"60 °C\", time = \"2 s\"", "at = \"20 °C\", time = \"2 s\""),
    ("at = \"0 °C\", time = \"0.5 s\"", "at = \"0 °C\", time = \"1 s\""),
    ("at = \"60 °C\", time = \"0.5 s\"", "at = \"20 °C\", time = \"0.5 s\""),
    ("dropout = \"100 mV\"", "dropout = \"100 mV\"\nefficiency = \"80 %\""),
    ("self-discharge = \"0 %/month\"", "self-discharge = \"3 %/month\""),
    ("keys = [ { centre = \"5 mm\", width = \"8 mm\" }, { centre = \"20 mm\", width = \"8 mm\" } ]\n", ""),
];
const USE: &str = r#"[policy]
full-every = "10 d"
[usage]
home = "a"
start = "2031-01-01"
days = 3
temperature = { low = "20 °C", high = "20 °C", warmest = "12:00" }
"#;

fn plain(regulator: &str, changes: &[(&str, &str)]) -> Device {
    plain_with(regulator, changes, "content = [ { text = \"A\" } ]")
}

fn plain_with(regulator: &str, changes: &[(&str, &str)], screen: &str) -> Device {
    let mut text = format!("{BASE}{USE}");
    let regulator = format!("regulator = \"{regulator}\"");
    for (from, to) in DIFFERENT.iter().chain(&[("regulator = \"ldo\"", regulator.as_str())]).chain(changes) {
        assert!(text.contains(from), "{from}");
        text = text.replace(from, to);
    }
    load(text, &[("a", screen)]).unwrap_or_else(|said| panic!("{said}"))
}

#[test]
fn a_full_refresh_is_the_sum_worked_out_by_hand() {
    // Charge on a linear rail at 20 °C, currents beyond sleep:
    //   wake     1 ms x 2 mA                               =    2.000 uC
    //   compose  37888 px x 10 / 10 MHz = 37.888 ms x 2 mA =   75.776 uC
    //   start    10 ms x 1 mA                              =   10.000 uC
    //   transfer 8 x 4736 / 1 MHz = 37.888 ms x 2 mA       =   75.776 uC
    //   pump up  40 ms x 5 mA                              =  200.000 uC
    //   drive    2 s x 4 mA                                = 8000.000 uC
    //   pump down 20 ms x 2 mA                             =   40.000 uC
    let device = plain("ldo", &[]);
    let parameters = device.inputs.typical();
    let phases = phases(&device, &parameters, &full_work(&device, Celsius(20.0)), device.battery.nominal());
    let charge = 2e-6 + 75.776e-6 + 10e-6 + 75.776e-6 + 200e-6 + 8000e-6 + 40e-6;
    close(total(&phases).charge.0, charge, 1e-12);
    assert_eq!(total(&phases).energy.0, 0.0);
    close(latency(&phases).0, 0.001 + 0.037888 + 0.01 + 0.037888 + 0.04 + 2.0, 1e-12);
    close(duration(&phases).0, latency(&phases).0 + 0.02, 1e-12);
}

/// A bus whose commands and pauses take a quarter of the bits' time takes 1.25 times as long.
#[test]
fn the_overhead_of_a_bus_lengthens_its_transfers() {
    let device = plain("ldo", &[("overhead = \"0 %\"", "overhead = \"25 %\"")]);
    let parameters = device.inputs.typical();
    let phases = phases(&device, &parameters, &full_work(&device, Celsius(20.0)), device.battery.nominal());
    close(latency(&phases).0, 0.001 + 0.037888 + 0.01 + 1.25 * 0.037888 + 0.04 + 2.0, 1e-12);
}

/// Between two rows of its table a drive takes the time and the current on the straight line: at 20 °C, half way from -20 to
/// 60 °C, 3 s and 5 mA beyond sleep.
#[test]
fn a_drive_between_two_temperatures_lies_on_the_line() {
    let device = load(format!("{BASE}{USE}"), &[("a", "content = [ { text = \"A\" } ]")]).expect("a device");
    let parameters = device.inputs.typical();
    for (temperature, time, current) in [(-20.0, 4.0, 6e-3), (0.0, 3.5, 5.5e-3), (20.0, 3.0, 5e-3), (60.0, 2.0, 4e-3)] {
        let full = full_work(&device, Celsius(temperature));
        let phases = phases(&device, &parameters, &full, device.battery.nominal());
        let drives: Vec<_> = phases.iter().filter(|phase| phase.cause == Cause::Drive && phase.time.0 > 0.0).collect();
        let [drive] = drives[..] else { panic!("{drives:?}") };
        close(drive.time.0, time, 1e-12);
        close(drive.draw.charge.0, time * current, 1e-12);
    }
}

/// What is kept for the last screen is a full refresh at the coldest: by hand, the drive takes 4 s x 6 mA at 0 °C.
#[test]
fn the_last_screen_is_a_full_refresh_at_the_coldest() {
    let device = plain("ldo", &[("low = \"20 °C\"", "low = \"0 °C\"")]);
    let found = last_screen(&device, &device.inputs.typical());
    close(found.charge.0, 2e-6 + 75.776e-6 + 10e-6 + 75.776e-6 + 200e-6 + 4.0 * 6e-3 + 40e-6, 1e-12);
}

/// The device works down to what its battery may fall to, cell by cell, where its rail would work further down.
#[test]
fn cells_in_series_are_each_kept_above_their_minimum() {
    let boost = (
        "output = \"3 V\"\ndropout = \"100 mV\"\nefficiency = \"80 %\"",
        "output = \"3 V\"\nmin-input = \"1 V\"\nefficiency = \"80 %\"",
    );
    for cells in [1, 2, 3] {
        let battery = format!("capacity = \"100 mAh\"\ncells = {cells}");
        let device = plain("buck-boost", &[boost, ("capacity = \"100 mAh\"", &battery)]);
        let least = least_input(&device, &device.inputs.typical());
        close(least.0, f64::from(cells) * device.battery.chemistry.minimum.0, 1e-12);
    }
}

/// The curve of an update has its phases one after the other, and their charge and energy as its area.
#[test]
fn the_curve_of_an_update_has_its_charge_as_area() {
    let device = plain("ldo", &[]);
    let (parameters, volts) = (device.inputs.typical(), device.battery.nominal());
    let full = full_work(&device, Celsius(20.0));
    let curve = Curve::of(&device, &parameters, &full, volts);
    // By hand as above: waking, composing, starting, sending, pumping up, driving, pumping down; the rest takes no time.
    let times = [1e-3, 37.888e-3, 10e-3, 37.888e-3, 40e-3, 2.0, 20e-3];
    let currents = [2e-3, 2e-3, 1e-3, 2e-3, 5e-3, 4e-3, 2e-3];
    assert_eq!(curve.pieces.len(), times.len());
    let mut begins = 0.0;
    for (piece, (time, current)) in curve.pieces.iter().zip(times.into_iter().zip(currents)) {
        close(piece.time.0, time, 1e-12);
        close(piece.current.0, current, 1e-9);
        assert!((piece.begins.0 - begins).abs() < 1e-12, "{}", piece.name);
        begins += time;
        close(piece.ends().0, begins, 1e-12);
    }
    let charge: f64 = times.iter().zip(currents).map(|(time, current)| time * current).sum();
    close(curve.charge().0, charge, 1e-9);
    close(curve.energy().0, charge * volts.0, 1e-9);
    close(curve.duration().0, times.iter().sum(), 1e-12);
    close(curve.peak().0, 5e-3, 1e-9);
}

/// On the device on which an update takes most, what it takes is at its greater end, and what it does not take as it was.
#[test]
fn an_update_takes_most_where_its_own_inputs_are_greatest() {
    let spread =
        |typical: &str, min: &str, max: &str| format!("{{ typ = \"{typical}\", min = \"{min}\", max = \"{max}\" }}");
    let changes = [
        ("active = \"2.002 mA\"", format!("active = {}", spread("2.002 mA", "1 mA", "3 mA"))),
        ("clock = \"10 MHz\"", format!("clock = {}", spread("10 MHz", "8 MHz", "12 MHz"))),
        ("capacity = \"100 mAh\"", format!("capacity = {}", spread("100 mAh", "90 mAh", "110 mAh"))),
    ];
    let changes: Vec<(&str, &str)> = changes.iter().map(|(from, to)| (*from, to.as_str())).collect();
    let device = plain("ldo", &changes);
    let found = worst(&device, &full_work(&device, Celsius(20.0)), device.battery.nominal());
    let at = |path: &str| device.inputs.rows().iter().position(|row| row.path == path).expect("an input");
    let value = |path: &str| found.value(at(path));
    assert_eq!(value("board.mcu.active"), 3e-3);
    // Slower is longer.
    assert_eq!(value("board.mcu.clock"), 8e6);
    assert_eq!(value("battery.capacity"), device.inputs.typical().value(at("battery.capacity")));
}

#[test]
fn a_switching_rail_takes_power_over_efficiency() {
    let linear = plain("ldo", &[]);
    let switching = plain("buck-boost", &[]);
    let of = |device: &Device| draw(device, &device.inputs.typical(), &full_work(device, Celsius(20.0)));
    // The same charge at 3 V through 80 %.
    close(of(&switching).energy.0, of(&linear).charge.0 * 3.0 / 0.8, 1e-12);
    assert_eq!(of(&switching).charge.0, 0.0);
}

#[test]
fn drive_between_two_rows_of_the_table_is_time_times_current() {
    // Half way: 3 s x 5 mA, not the mean of 4 s x 6 mA and 2 s x 4 mA.
    let device = plain("ldo", &[]);
    let parameters = device.inputs.typical();
    let nothing = Change::NONE;
    let full = work(&device, device.policy.buffer, &nothing, &Scenes::default(), Mode::Full, Celsius(10.0)).unwrap();
    let drive: Vec<_> = phases(&device, &parameters, &full, device.battery.nominal())
        .into_iter()
        .filter(|phase| phase.name == "drive, full")
        .collect();
    close(drive[0].draw.charge.0, 15e-3, 1e-12);
    close(drive[0].time.0, 3.0, 1e-12);
    assert!(
        work(&device, device.policy.buffer, &nothing, &Scenes::default(), Mode::Full, Celsius(20.1)).is_none(),
        "outside the table it is refused"
    );
    assert!(work(&device, device.policy.buffer, &nothing, &Scenes::default(), Mode::Full, Celsius(-0.1)).is_none());
}

#[test]
fn work_adds_up_whatever_the_temperatures() {
    let device = plain("buck-boost", &[]);
    let parameters = device.inputs.typical();
    let nothing = Change::NONE;
    let mut sum = Work::default();
    let mut energy = 0.0;
    for step in 0..=20 {
        let one =
            work(&device, device.policy.buffer, &nothing, &Scenes::default(), Mode::Full, Celsius(f64::from(step)))
                .unwrap();
        energy += draw(&device, &parameters, &one).energy.0;
        sum += &one;
    }
    close(draw(&device, &parameters, &sum).energy.0, energy, 1e-9);
}

#[test]
fn a_partial_refresh_sends_its_windows_twice_for_two_planes() {
    let device = plain("ldo", &[]);
    let change = Change { windows: vec![Window { x: 8, y: 10, w: 16, h: 20 }], ..Change::NONE };
    let work = work(&device, device.policy.buffer, &change, &Scenes::default(), Mode::Partial, Celsius(20.0)).unwrap();
    assert_eq!(work.panel_bytes, 2.0 * 2.0 * 20.0);
    assert_eq!(work.cycles, 10.0 * 16.0 * 20.0);
}

/// By hand: where no frame is kept, both pictures are composed in every band; the external memory is written once and read
/// once for each plane that is sent.
#[test]
fn two_planes_cost_their_bands_and_their_memory() {
    let device = plain("ldo", &[]);
    let change = Change { windows: vec![Window { x: 8, y: 10, w: 16, h: 20 }], ..Change::NONE };
    let of = |buffer| work(&device, buffer, &change, &Scenes::default(), Mode::Partial, Celsius(20.0)).unwrap();
    // Twenty lines are three bands of eight.
    assert_eq!(of(Buffer::StripLines(8)).cycles, 10.0 * 2.0 * 3.0 * 16.0 * 20.0);
    assert_eq!(of(Buffer::External(16)).memory_bytes, 3.0 * 2.0 * 20.0);
    assert_eq!(of(Buffer::External(16)).cycles, 10.0 * 16.0 * 20.0);
}

/// By hand: 296 lines of 20 bytes where 16 would do, kept, sent whole and flashed as they are packed; a window is sent
/// without what lies between lines.
#[test]
fn a_wider_stride_costs_memory_and_bytes() {
    let device = plain("ldo", &[("[panel]", "[panel]\npacking = { stride = 20 }")]);
    assert_eq!(device.panel.plane_bytes(), 20 * 296);
    let planes = f64::from(device.panel.full.planes);
    let full =
        work(&device, device.policy.buffer, &Change::NONE, &Scenes::default(), Mode::Full, Celsius(20.0)).unwrap();
    assert_eq!(full.panel_bytes, planes * 20.0 * 296.0 + f64::from(device.panel.window_bytes));
    let kept = schemes(&device, &device.inputs.typical(), Celsius(20.0));
    assert!(kept[0].ram.0 >= 20.0 * 296.0 && kept[0].ram.0 % (20.0 * 296.0) == 0.0, "{:?}", kept[0]);
    let change = Change { windows: vec![Window { x: 8, y: 10, w: 16, h: 20 }], ..Change::NONE };
    let partial =
        work(&device, device.policy.buffer, &change, &Scenes::default(), Mode::Partial, Celsius(20.0)).unwrap();
    assert_eq!(partial.panel_bytes, 2.0 * 2.0 * 20.0 + f64::from(device.panel.window_bytes));
}

/// A stated peak of the drive is what the supply must bear, and changes no energy.
#[test]
fn a_peak_loads_the_supply_and_takes_no_energy() {
    let row = "at = \"20 °C\", time = \"2 s\",";
    let (flat, peaky) = (plain("ldo", &[]), plain("ldo", &[(row, &format!("{row} peak = \"90 mA\","))]));
    let at = |device: &Device| {
        let load_current = moment(device, &device.inputs.typical(), Mode::Full, Celsius(20.0))
            .map(|moment| moment.peak.load_current)
            .unwrap();
        load_current.at(device.battery.nominal()).0
    };
    // Without the peak the booster's 5.001 mA are the most.
    close(at(&peaky) - at(&flat), 0.09 - 0.005_001, 1e-9);
    let energy = |device: &Device| {
        let full =
            work(device, device.policy.buffer, &Change::NONE, &Scenes::default(), Mode::Full, Celsius(20.0)).unwrap();
        draw(device, &device.inputs.typical(), &full).energy.0
    };
    assert_eq!(energy(&flat), energy(&peaky));
}

/// An owner who uses the device twice as often wears the panel out sooner, by what people cause alone.
#[test]
fn rated_refreshes_follow_the_owners_use() {
    let rated = "rated-refreshes = 2_000";
    let device = plain("ldo", &[("rated-refreshes = 1_000_000", rated)]);
    let parameters = device.inputs.typical();
    let mut counts = simulate(&device, &parameters);
    counts.by_people.updates = 3.0 * counts.days;
    counts.by_itself.updates = 2.0 * counts.days;
    for (usage, a_day) in [(1.0, 5.0), (2.0, 8.0)] {
        let (time, ending) = bound(&device, &counts, usage);
        close(time / DAY, 2_000.0 / a_day, 1e-12);
        assert_eq!(ending, Ending::Refreshes);
    }
}

#[test]
fn causes_and_regulator_loss_add_up() {
    for regulator in ["ldo", "buck-boost"] {
        let device = plain(regulator, &[]);
        let parameters = device.inputs.typical();
        let voltage = device.battery.nominal();
        let phases = phases(&device, &parameters, &full_work(&device, Celsius(20.0)), device.battery.nominal());
        let (causes, loss) = by_cause(&phases, voltage);
        let sum: f64 = causes.iter().map(|(_, energy)| energy.0).sum::<f64>() + loss.0;
        close(sum, total(&phases).energy_at(voltage).0, 1e-12);
        assert!(loss.0 > 0.0);
        // Each cause stands once, with all of its phases.
        for (at, (cause, energy)) in causes.iter().enumerate() {
            let own = phases.iter().filter(|phase| phase.cause == *cause);
            close(energy.0, own.map(|phase| phase.delivered.energy_at(voltage).0).sum(), 1e-12);
            assert!(causes[..at].iter().all(|(other, _)| other != cause), "{cause:?} twice");
        }
        assert!(causes.len() > 2 && phases.len() > causes.len(), "{} {}", causes.len(), phases.len());
    }
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    /// Whatever work was done at whatever efficiency: what the causes take and the regulators lose is what the battery
    /// gives, nothing of it is negative, and more work never takes less.
    #[test]
    fn energy_is_conserved_for_any_work(
        switching: bool,
        efficiency in 1..=100_u32,
        updates in 0.0..500.0_f64,
        amounts in [0.0..1e7_f64, 0.0..1e7_f64],
        temperatures in proptest::collection::vec((0.0..=20.0_f64, any::<bool>()), 0..20),
    ) {
        let regulator = if switching { "buck-boost" } else { "ldo" };
        let share = format!("efficiency = \"{efficiency} %\"");
        let device = plain(regulator, &[("efficiency = \"80 %\"", &share)]);
        let (parameters, voltage) = (device.inputs.typical(), device.battery.nominal());
        let [pixels, panel_bytes] = amounts;
        let mut all = Work { updates, cycles: 10.0 * pixels, panel_bytes, ..Work::default() };
        let mut before = 0.0;
        for (temperature, full) in temperatures {
            let mode = if full { Mode::Full } else { Mode::Partial };
            all += &work(&device, device.policy.buffer, &Change::NONE, &Scenes::default(), mode, Celsius(temperature)).expect("within the tables");
            let phases = phases(&device, &parameters, &all, device.battery.nominal());
            let (causes, loss) = by_cause(&phases, voltage);
            let (given, taken) = (total(&phases).energy_at(voltage).0, causes.iter().map(|(_, energy)| energy.0));
            prop_assert!(taken.clone().all(|energy| energy >= 0.0) && loss.0 >= -1e-12 * given, "{causes:?} {loss}");
            let sum = taken.sum::<f64>() + loss.0;
            prop_assert!((sum - given).abs() <= 1e-12 * given, "{sum} of {given}");
            prop_assert!(given > before, "{given} after {before}");
            before = given;
        }
    }
}

#[test]
fn life_under_a_constant_current_is_the_closed_form() {
    // dq/dt = -I - k q: life (1/k) ln(1 + k Q / I). The device shows one fixed screen and refreshes every 10 days.
    // The reserve keeps the cell above the voltage at which the regulator would end it first.
    let device =
        plain("ldo", &[("output = \"3 V\"", "output = \"2.5 V\""), ("reserve = \"0 %\"", "reserve = \"5 %\"")]);
    let parameters = device.inputs.typical();
    let counts = simulate(&device, &parameters);
    assert_eq!((counts.full, counts.partial), (1, 0), "one image, then nothing changes");
    let load_current = mean_load(&device, &parameters, &counts, 1.0, device.battery.nominal());
    let one = draw(&device, &parameters, &counts.by_itself).charge.0 / (DAY.0 * 3.0);
    close(load_current.current.0, 1e-6 + 2e-6 + one, 1e-9);
    // The lithium-ion table leaves all of the capacity at 20 °C or nearly so; what is usable is asked, not assumed.
    let usable = inkjoule::budget::life::usable(&device, &parameters, &counts).unwrap().0;
    let k = 0.03 * 12.0 / YEAR;
    let expected = (1.0 + k * usable / load_current.current.0).ln() / k;
    let found = life(&device, &parameters, &counts, Habits::USUAL).unwrap();
    close(found.time.0, expected, 1e-6);
    assert_eq!(found.ending, Ending::Charge);
}

#[test]
fn more_load_never_lengthens_the_life() {
    let days = |current: &str| {
        let load = format!("[board.loads.extra]\ncurrent = \"{current}\"\n[battery]");
        let device = plain("buck-boost", &[("[battery]", &load)]);
        let parameters = device.inputs.typical();
        life(&device, &parameters, &simulate(&device, &parameters), Habits::USUAL).unwrap().time.0
    };
    let lives: Vec<f64> = ["0 uA", "1 uA", "10 uA", "100 uA", "1 mA"].into_iter().map(days).collect();
    assert!(lives.windows(2).all(|pair| pair[0] > pair[1]), "{lives:?}");
}

#[test]
fn more_capacity_never_shortens_the_life() {
    let days = |capacity: &str| {
        let capacity = format!("capacity = \"{capacity}\"");
        let ageing = ("ageing = \"0 %/year\"", "ageing = \"4 %/year\"");
        let device = plain("buck-boost", &[("capacity = \"100 mAh\"", &capacity), ageing]);
        let parameters = device.inputs.typical();
        life(&device, &parameters, &simulate(&device, &parameters), Habits::USUAL).unwrap().time.0
    };
    let lives: Vec<f64> = ["20 mAh", "50 mAh", "100 mAh", "101 mAh", "200 mAh"].into_iter().map(days).collect();
    assert!(lives.windows(2).all(|pair| pair[0] < pair[1]), "{lives:?}");
}

#[test]
fn a_fixed_schedule_and_a_blinking_light_are_what_they_add_up_to() {
    // A counter that changes every 10 minutes: 144 updates a day, every 11th full (10 partials between two fulls).
    let extra = "[board.loads.light]\ncurrent = \"3 mA\"\non = \"10 ms\"\nperiod = \"3 s\"\n[fields.n]\nrange = [0, 9]\nevery = \"10 min\"\n\
                 signal = { count = { step = 1 } }\n[battery]";
    let partials = ("full-every = \"10 d\"", "full-every = \"10 d\"\nmax-partials = 10");
    let device = plain_with("ldo", &[("[battery]", extra), partials], "content = [ { text = \"{n}\" } ]");
    let parameters = device.inputs.typical();
    let counts = simulate(&device, &parameters);
    let updates = counts.full + counts.partial;
    assert_eq!(updates, 3 * 144, "one at the start and one every ten minutes before the end");
    assert_eq!(counts.full, updates.div_ceil(11));
    let load_current = mean_load(&device, &parameters, &counts, 1.0, device.battery.nominal());
    // Light: 3 mA x 10 ms / 3 s = 10 uA. Refreshes: drive, pump, start, wake by count; bytes and cycles by the work.
    let mut all = counts.by_itself.clone();
    all += &counts.by_people;
    let by_hand = counts.full as f64 * 2.0 * 4e-3
        + counts.partial as f64 * 0.5 * 3e-3
        + updates as f64 * (40e-3 * 5e-3 + 20e-3 * 2e-3 + 10e-3 * 1e-3 + 1e-3 * 2e-3)
        + all.panel_bytes * 8.0 / 1e6 * 2e-3
        + all.cycles / 10e6 * 2e-3;
    close(load_current.current.0, 10e-6 + 3e-6 + by_hand / (3.0 * DAY.0), 1e-3);
    assert!(Seconds(0.0) < Seconds(load_current.current.0));
}
