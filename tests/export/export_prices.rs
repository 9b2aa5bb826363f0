//! Drawing as `budget` prices it, from the amounts that a screen's operations come to, against the cycles that a Cortex-M0
//! takes for it.

use super::export_costs::{Board, KIND, ROOM, demo, held, linked, linked_with, past, record};
use crate::firmware::cortex_m0::Machine as Processor;
use crate::firmware::{export, orchard, order, product, runs, starter};
use crate::sheet::Sheet;
use inkjoule::cost::energy::window_cost;
use inkjoule::device::Device;
use inkjoule::device::drawing::Scenes;
use inkjoule::export::Order;
use inkjoule::firmware::drawing::Drawing;
use inkjoule::firmware::tables::condition::decimals;
use inkjoule::hardware::core::{Amounts, Core};
use inkjoule::machine::canvas::{drawn, scenes_of};
use inkjoule::machine::explore::{By, fire};
use inkjoule::machine::state::State;
use inkjoule::project::load;
use inkjoule::refresh::strips::{Stripped, strip_lines, stripped};
use inkjoule::refresh::update::{Mode, Planner, work};
use inkjoule::screen::Screen;
use inkjoule::screen::effort::{Lie, efforts};
use inkjoule::screen::values::Values;
use inkjoule::units::Celsius;
use std::fmt::Write;
use std::path::Path;

/// A picture drawn in one way: its amounts, and what a Cortex-M0 counts.
struct Case {
    screen: String,
    at_a_time: usize,
    memo: bool,
    amounts: Amounts,
    counted: f64,
}

impl Case {
    fn priced(&self) -> f64 {
        self.amounts.cost(Core::CortexM0.cycles())
    }
}

/// What so many strips come to together.
fn sum(all: &Stripped, strips: f64) -> Amounts {
    let parts = [all.once.all(), all.each.all().map(|each| each * strips), all.lines.all()];
    Amounts::of(std::array::from_fn(|at| parts.iter().map(|part| part[at]).sum()))
}

fn numbers(device: &Device, values: &Values) -> Vec<i32> {
    let number = |field: usize| match values.now[field] {
        missing if missing.is_nan() => i32::MIN,
        known => (known * 10f64.powi(decimals(device, field) as i32)).round() as i32,
    };
    (0..device.fields.len()).map(number).collect()
}

/// Every screen of a design in every locale: whole, in strips of 16 lines, and in such strips with a memo; with strips of
/// other sizes where cycles are fitted to them.
fn cases(order: &Order<'_>) -> Vec<Case> {
    let device = order.device;
    let folder = tempfile::tempdir().expect("a folder");
    export(order, "c-live", folder.path());
    let roots = ["ink_draw", "ink_memo_make", "ink_memo_draw", "screens_live_design"];
    let machine = linked(folder.path(), &["ink_draw.c", "screens_live.c"], &roots);
    let drawing = Drawing::of(order).expect("tables");
    let size = device.panel.size();
    let bytes = order.packing.size(size.width, size.height).expect("fits");
    let stride = order.packing.stride_of(size.width, size.height).expect("fits") as usize;
    let lines = bytes / stride;
    let mut board = Board::new(machine, device.fields.len(), drawing.past_bytes(), bytes);
    let values = held(device);
    let mut all = Vec::new();
    for (locale, position) in (0..order.locales.len()).flat_map(|l| (0..order.screens.len()).map(move |p| (l, p))) {
        board.show(position, locale, &numbers(device, &values), &past(device, &drawing, &values));
        let screen = &device.screens[order.screens[position].0];
        let told = efforts(&screen.pictures[locale], &values, size, Lie::of(&order.packing));
        let fits = std::env::var_os("AMOUNTS").is_some();
        let other: &[(usize, bool)] = if fits { &[(64, false), (8, false), (64, true), (8, true)] } else { &[] };
        for &(at_a_time, memo) in [(lines, false), (16, false), (16, true)].iter().chain(other) {
            let at_a_time = at_a_time.min(lines);
            let (_, count) = board.draw(lines, stride, at_a_time, memo);
            let cells = memo.then_some(ROOM as f64);
            let amounts = stripped(&told, [lines as f64, stride as f64], at_a_time as f64, cells);
            all.push(Case {
                screen: screen.id.clone(),
                at_a_time,
                memo,
                amounts: sum(&amounts, lines.div_ceil(at_a_time) as f64),
                counted: count.cycles as f64,
            });
        }
    }
    all
}

/// Cases as lines of numbers, from which fit_cycles.py fits the cycles of each amount.
fn put(dump: &mut String, design: &str, cases: &[Case]) {
    for Case { screen, at_a_time, memo, amounts, counted } in cases {
        let amounts = amounts.all().map(|amount| amount.to_string()).join(",");
        let _ = writeln!(dump, "{design},{screen},{at_a_time},{memo},{counted},{amounts}");
    }
}

/// How far a price may be from what is counted: of a screen drawn at once, of all screens of a design, of all of them in
/// strips of 16 lines, and in such strips with a memo.
const WITHIN: [f64; 4] = [0.25, 0.2, 0.25, 0.1];

/// By counting on the processor as its manual says; see `tests/firmware/costs.md`.
#[test]
fn prices_are_near_what_is_counted() {
    if !runs("arm-none-eabi-gcc") {
        println!("no compiler for Cortex-M0 here");
        return;
    }
    let mut table = String::from(
        "| design | priced / counted, at once | farthest screen | strips of 16 lines | with memo |\n|---|---|---|---|---|\n",
    );
    let mut dump = String::new();
    if std::env::var_os("AMOUNTS").is_some() {
        for (_, text) in super::export_elements::sheets() {
            put(&mut dump, "sheets", &cases(&order(&Sheet::new(&text).device)));
        }
    }
    for (name, device) in [("demo", demo()), ("product", product()), ("orchard", orchard()), ("starter", starter())] {
        let order = order(&device);
        let all = cases(&order);
        put(&mut dump, name, &all);
        let lines = all.iter().map(|case| case.at_a_time).max().expect("a screen");
        let way = |at_a_time: usize, memo: bool| {
            let some: Vec<&Case> = all.iter().filter(|case| case.at_a_time == at_a_time && case.memo == memo).collect();
            let [priced, counted] = [Case::priced as fn(&Case) -> f64, |case| case.counted]
                .map(|of| some.iter().map(|case| of(case)).sum::<f64>());
            let off = |case: &&Case| case.priced() / case.counted - 1.0;
            let far = some.iter().map(off).max_by(|a, b| a.abs().total_cmp(&b.abs())).expect("a screen");
            [priced / counted, far]
        };
        let [[whole, far], [strips, _], [memo, _]] = [way(lines, false), way(16, false), way(16, true)];
        let _ = writeln!(table, "| {name} | {whole:.2} | {:+.0} % | {strips:.2} | {memo:.2} |", far * 100.0);
        if std::env::var_os("AMOUNTS").is_none() {
            assert!(far.abs() <= WITHIN[0], "{name}: a screen is off by {far:.2}");
            let near = [whole, strips, memo].iter().zip(&WITHIN[1..]).all(|(share, most)| (share - 1.0).abs() <= *most);
            assert!(near, "{table}");
        }
        put(&mut dump, &format!("{name}.avr"), &whole_frames(&device));
    }
    println!("{table}");
    if let Some(file) = std::env::var_os("AMOUNTS") {
        std::fs::write(file, dump).expect("written");
        return;
    }
    record("prices", &table);
}

/// Cycles of everything that `ink_next` does for the first update, and for one after a key is pressed, with the demo's own
/// strip.
fn counted_by_the_panel(device: &Device, key: u32) -> [f64; 2] {
    let order = order(device);
    let folder = tempfile::tempdir().expect("a folder");
    export(&order, "c-live", folder.path());
    let files = ["ink_draw.c", "ink_machine.c", "screens_live.c"];
    let calls = ["ink_cells", "ink_init", "ink_begin", "ink_panel_cells", "ink_panel_init", "ink_next", "ink_key"];
    let roots = [&calls[..], &["ink_preset", "ink_busy", "screens_live_rules", "screens_live_design"]].concat();
    let more = device.policy.memo.map(|_| "ink_panel_memo");
    let roots: Vec<&str> = roots.into_iter().chain(more).collect();
    let mut processor =
        linked_with(folder.path(), &files, &roots, if more.is_some() { "-DINK_MEMO=1" } else { "-DINK_MEMO=0" });
    let size = device.panel.size();
    let stride = order.packing.stride_of(size.width, size.height).expect("fits");
    let [design, rules] = ["screens_live_design", "screens_live_rules"].map(|name| processor.symbol(name));
    let [cells, more] = ["ink_cells", "ink_panel_cells"].map(|name| processor.call(name, &[rules]).0);
    let bytes = strip_lines(device) * stride;
    let [machine, state, panel, shown, strip, task] =
        [512, 4 * cells, 1024, 4 * more, bytes, 64].map(|bytes| processor.room(bytes as usize));
    assert_eq!(processor.call("ink_init", &[machine, design, rules, state, cells]).0, 1);
    assert_eq!(processor.call("ink_panel_init", &[panel, machine, shown, more, strip, bytes]).0, 1);
    if let Some(size) = device.policy.memo {
        let cells = processor.room(2 * size as usize);
        processor.call("ink_panel_memo", &[panel, cells, size]);
    }
    for (field, number) in numbers(device, &held(device)).into_iter().enumerate() {
        processor.call("ink_preset", &[machine, field as u32, number as u32]);
    }
    let morning = 8 * 3_600_000;
    processor.call("ink_begin", &[machine, 0, morning, 0]);
    let update = |processor: &mut Processor, now: u32| {
        let mut cycles = 0.0;
        for _ in 0..1_000 {
            cycles += processor.call("ink_next", &[panel, 0, now, 0, 200, task]).1.cycles as f64;
            if processor.bytes(task, 64)[KIND] != 1 {
                break;
            }
        }
        assert_eq!(processor.bytes(task, 64)[KIND], 2, "a refresh begins");
        cycles
    };
    let first = update(&mut processor, morning);
    processor.call("ink_busy", &[machine, 0, morning + 5_000, 0]);
    processor.call("ink_key", &[machine, 0, morning + 6_000, 0, key, 1]);
    processor.call("ink_key", &[machine, 0, morning + 6_100, 0, key, 0]);
    [first, update(&mut processor, morning + 6_100)]
}

/// What the budget says of the same two updates.
fn priced_for_the_panel(device: &Device, key: usize) -> [f64; 2] {
    let mut state = State::new(device, device.usage.home);
    state.values = held(device);
    let (after, _) = fire(device, &state, By::Press(key)).expect("the key does something");
    let mut planner = Planner::new(window_cost(device, &device.inputs.typical()));
    let change =
        planner.change(device, &drawn(device, &state, 0), &drawn(device, &after, 0), 0..device.panel.size().height);
    let cycles = |scenes: Scenes, mode: Mode| {
        let work = work(device, device.policy.buffer, &change, &scenes, mode, Celsius(20.0));
        work.expect("within the table").cycles
    };
    let scenes = scenes_of(device, &state, &after, 0);
    let first = Scenes { shown: None, next: scenes.shown.expect("a screen") };
    [cycles(first, Mode::Full), cycles(scenes, Mode::Partial)]
}

/// The exported machine compares what is shown with what is to be shown and sends both planes: counted on the processor,
/// and as the budget prices it.
#[test]
fn updates_are_priced_as_the_machine_makes_them() {
    if !runs("arm-none-eabi-gcc") {
        println!("no compiler for Cortex-M0 here");
        return;
    }
    for (key, lines, memo) in [(0, 128, 0), (2, 128, 0), (0, 16, 0), (2, 32, 0), (0, 16, 1_000), (2, 32, 1_000)] {
        let set = [format!("policy.buffer.external-lines={lines}"), format!("policy.memo={memo}")];
        let set = if memo > 0 { &set[..] } else { &set[..1] };
        let loaded = load(Path::new("screens-demo"), set).unwrap_or_else(|failed| panic!("{:#?}", failed.faults));
        let device = loaded.device;
        let [counted, priced] = [counted_by_the_panel(&device, key), priced_for_the_panel(&device, key as usize)];
        println!("key {key}, {lines} lines, memo {memo}: counted {counted:?}, priced {priced:?}");
        for (counted, priced) in counted.into_iter().zip(priced) {
            assert!(
                (priced / counted - 1.0).abs() < 0.25,
                "key {key}, {lines} lines, memo {memo}: {counted} counted, {priced} priced"
            );
        }
    }
}

/// What every screen comes to at once with the values that avr_costs.sh has an AVR draw.
fn whole_frames(device: &Device) -> Vec<Case> {
    let (order, values, size) = (order(device), fifths(device), device.panel.size());
    let bytes = order.packing.size(size.width, size.height).expect("fits") as f64;
    let stride = f64::from(order.packing.stride_of(size.width, size.height).expect("fits"));
    let whole = [bytes / stride, stride];
    let screens = order.screens.iter().map(|screen| &device.screens[screen.0]);
    let case = |screen: &Screen| {
        let told = efforts(&screen.pictures[0], &values, size, Lie::of(&order.packing));
        let amounts = sum(&stripped(&told, whole, whole[0], None), 1.0);
        Case { screen: screen.id.clone(), at_a_time: 0, memo: false, amounts, counted: 0.0 }
    };
    screens.map(case).collect()
}

/// Against what a simulated AVR counted by its own timer, as it is recorded in `tests/firmware/costs.md`.
#[test]
fn prices_on_an_avr_are_near_what_was_counted() {
    let record = include_str!("../firmware/costs.md");
    let (_, record) = record.split_once("# And on an 8-bit AVR").expect("its section");
    let counted = |screen: &str| -> f64 {
        let row = record.lines().find(|line| line.starts_with(&format!("| {screen} |"))).expect("a row");
        row.split('|').nth(2).and_then(|cell| cell.trim().parse().ok()).expect("its cycles")
    };
    let told: Vec<[f64; 2]> = whole_frames(&demo())
        .iter()
        .map(|case| [case.amounts.cost(Core::Avr.cycles()), counted(&case.screen)])
        .collect();
    assert_eq!(told.len(), 16);
    for [priced, counted] in &told {
        assert!((priced / counted - 1.0).abs() <= 0.3, "{priced} priced, {counted} counted");
    }
    let [priced, counted] = [0, 1].map(|at| told.iter().map(|pair| pair[at]).sum::<f64>());
    assert!((priced / counted - 1.0).abs() <= 0.1, "{priced} priced, {counted} counted");
}

/// Every value at three fifths of its range, histories empty.
fn fifths(device: &Device) -> Values {
    let mut values = held(device);
    for (index, field) in device.fields.iter().enumerate() {
        let [low, high] = field.range.map(|end| end.clamp(-1e8, 1e8));
        let scale = 10f64.powi(decimals(device, index) as i32);
        values.now[index] = ((low + 0.6 * (high - low)) * scale).round() / scale;
        std::sync::Arc::make_mut(&mut values.past)[index].fill(f64::NAN);
    }
    values
}
