//! What the exported code takes of the stack on a Cortex-M0, by running it and by what the compiler says of each function.
//!
//! Not for time: see `export_costs`.

use super::export_live::remembering;
use crate::export_costs::{FLAGS, KIND, demo, linked_with, record};
use crate::firmware::{compile, export, orchard, order, product, runs, starter};
use inkjoule::firmware::footprint::Footprint;
use inkjoule::firmware::tables::condition::decimals;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use std::collections::BTreeMap;

/// RAM beside the strip that a device with the demo's design may need: what is kept, and the stack.
const MOST_RAM: usize = 1_536;

/// Keys, reports, charges: so many of them.
const STEPS: usize = 250;

/// The demo for some days, with keys pressed at random, reports of random values and a panel that is ready at once: no call of
/// the machine takes more of the stack than is stated, the deepest one little less, and both together with what is kept
/// are within the limit.
#[test]
fn state_and_stack_take_as_much_as_is_stated() {
    if !runs("arm-none-eabi-gcc") {
        println!("no compiler for Cortex-M0 here");
        return;
    }
    let device = demo();
    let deepest = deepest(&device);
    println!("{deepest:?}");
    let found = deepest.values().copied().max().unwrap_or(0) as usize;
    let stated = Footprint::of_device(&device).expect("tables");
    assert!(found <= stated.stack && found * 100 >= stated.stack * 97, "{found} B of stack, {} stated", stated.stack);
    assert!(stated.ram() + stated.stack <= MOST_RAM, "{} B of state, {} of stack", stated.ram(), stated.stack);
    // With a memo it is a little deeper.
    let device = remembering("screens-demo");
    let found = self::deepest(&device).into_values().max().unwrap_or(0) as usize;
    let stated = Footprint::of_device(&device).expect("tables").stack;
    assert!(found <= stated && found * 100 >= stated * 97, "{found} B of stack with a memo, {stated} stated");
    let rows: String = deepest.iter().map(|(name, bytes)| format!("| {name} | {bytes} |\n")).collect();
    record("stack", &format!("| call | stack, B |\n|---|---|\n{rows}"));
}

/// The most that each call of the machine takes.
fn deepest(device: &inkjoule::device::Device) -> BTreeMap<&'static str, u32> {
    let folder = tempfile::tempdir().expect("a folder");
    let order = order(device);
    export(&order, "c-live", folder.path());
    let calls =
        ["ink_init", "ink_begin", "ink_key", "ink_event", "ink_measured", "ink_arrived", "ink_busy", "ink_next"];
    let mut more = vec!["ink_cells", "ink_panel_cells", "ink_panel_init", "screens_live_rules", "screens_live_design"];
    more.extend(device.policy.memo.map(|_| "ink_panel_memo"));
    let files = ["ink_draw.c", "ink_machine.c", "screens_live.c"];
    let mut processor = linked_with(
        folder.path(),
        &files,
        &[&calls[..], &more].concat(),
        if device.policy.memo.is_some() { "-DINK_MEMO=1" } else { "-DINK_MEMO=0" },
    );
    let [design, rules] = ["screens_live_design", "screens_live_rules"].map(|name| processor.symbol(name));
    let [cells, shown] = ["ink_cells", "ink_panel_cells"].map(|name| processor.call(name, &[rules]).0);
    let size = device.panel.size();
    let strip_bytes = 16 * order.packing.stride_of(size.width, size.height).expect("fits");
    let [machine, state, panel, shown_at, strip, task] =
        [256, 4 * cells, 512, 4 * shown, strip_bytes, 64].map(|bytes| processor.room(bytes as usize));
    let memo = processor.room(2 * device.policy.memo.unwrap_or(1) as usize);
    let mut deepest: BTreeMap<&'static str, u32> = BTreeMap::new();
    let mut call = |name: &'static str, arguments: &[u32]| {
        let (_, count) = processor.call(name, arguments);
        let most = deepest.entry(name).or_default();
        *most = count.stack.max(*most);
        processor.bytes(task, 64)[KIND]
    };
    let mut now = 8 * 3_600_000u64;
    let at = |of: u32, now: u64| [of, 0, now as u32, (now >> 32) as u32];
    call("ink_init", &[machine, design, rules, state, cells]);
    call("ink_panel_init", &[panel, machine, shown_at, shown, strip, strip_bytes]);
    if let Some(size) = device.policy.memo {
        call("ink_panel_memo", &[panel, memo, size]);
    }
    call("ink_begin", &at(machine, now));
    let mut random = ChaCha8Rng::seed_from_u64(20_310_412);
    let ends = |field: usize| {
        let scale = 10f64.powi(decimals(device, field) as i32);
        device.fields[field].range.map(|end| (end * scale).clamp(-1e9, 1e9) as i32)
    };
    let charge = device.field("charge").expect("the demo has it").0 as u32;
    for _ in 0..STEPS {
        match random.random_range(0..8) {
            0..=4 => {
                let key = random.random_range(0..device.keys() as u32);
                for down in [1, 0] {
                    call("ink_key", &[&at(machine, now)[..], &[key, down]].concat());
                }
            }
            5 => {
                for field in 0..device.fields.len() {
                    let [low, high] = ends(field);
                    call("ink_measured", &[machine, field as u32, random.random_range(low..=high) as u32]);
                }
            }
            6 => {
                let event = random.random_range(0..device.events.len() as u32);
                call("ink_event", &[&at(machine, now)[..], &[event]].concat());
            }
            _ => {
                let number = random.random_range(20..100);
                call("ink_arrived", &[&at(machine, now)[..], &[charge, number]].concat());
            }
        }
        for _ in 0..100 {
            match call("ink_next", &[&at(panel, now)[..], &[200, task]].concat()) {
                1 => {}
                2 => _ = call("ink_busy", &at(machine, now)),
                _ => break,
            }
        }
        now += [10, 1_500, 200_000, 4_000_000][random.random_range(0..4)];
    }
    deepest
}

/// The same by what the compiler says of each function, along the calls from one to another, for designs that use other
/// parts; it knows of no values, so that some of these ways are never taken.
#[test]
fn the_stack_is_near_what_the_compiler_says() {
    if !runs("arm-none-eabi-gcc") {
        println!("no compiler for Cortex-M0 here");
        return;
    }
    for device in [demo(), orchard(), product(), starter()] {
        let folder = tempfile::tempdir().expect("a folder");
        export(&order(&device), "c-live", folder.path());
        let mut frames = Frames::default();
        for file in ["ink_draw", "ink_machine"] {
            let source = format!("{file}.c");
            compile(
                "arm-none-eabi-gcc",
                folder.path(),
                &[&FLAGS[..], &["-fcallgraph-info=su", "-c", &source]].concat(),
            );
            frames.read(&std::fs::read_to_string(folder.path().join(format!("{file}.ci"))).expect("written"));
        }
        let found = frames.below("ink_next", &mut Vec::new());
        let stated = Footprint::of_device(&device).expect("tables").stack;
        println!("{}: {found} B by the compiler, {stated} stated", device.name);
        assert!(found.abs_diff(stated) * 10 <= found, "{}: {found} B by the compiler, {stated} stated", device.name);
    }
}

/// Functions with the stack that each takes, and which ones it calls.
#[derive(Default)]
struct Frames(BTreeMap<String, (usize, Vec<String>)>);

impl Frames {
    /// Reads what gcc writes in the language of VCG: nodes and edges, one a line.
    fn read(&mut self, text: &str) {
        let between = |line: &str, before: &str| Some(line.split_once(before)?.1.split_once('"')?.0.to_owned());
        for line in text.lines() {
            if let (Some(from), Some(to)) = (between(line, "sourcename: \""), between(line, "targetname: \"")) {
                self.0.entry(from).or_default().1.push(to);
            } else if let (Some(title), Some(label)) = (between(line, "title: \""), between(line, "label: \"")) {
                let bytes = label.split("\\n").find_map(|part| part.strip_suffix(" bytes (static)")?.parse().ok());
                let own = self.0.entry(title).or_default();
                own.0 = own.0.max(bytes.unwrap_or(0));
            }
        }
    }

    /// The most that a function takes with what it calls, each function once.
    fn below(&self, name: &str, above: &mut Vec<String>) -> usize {
        let Some((own, calls)) = self.0.get(name).filter(|_| !above.iter().any(|one| one == name)) else { return 0 };
        above.push(name.to_owned());
        let most = calls.iter().map(|call| self.below(call, above)).max().unwrap_or(0);
        above.pop();
        own + most
    }
}
