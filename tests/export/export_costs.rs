//! What drawing costs on a Cortex-M0: instructions, and cycles by the processor's manual, for every screen of the demo,
//! whole and in strips. The figures are recorded in `tests/firmware/costs.md`.
//!
//! Not for what is drawn: only that it is the same picture as everywhere else.

use crate::firmware::cortex_m0::{Count, Machine};
use crate::firmware::{compile, export, object, order, runs};
use crate::sheet::Sheet;
use inkjoule::device::Device;
use inkjoule::export::Order;
use inkjoule::firmware::drawing::Drawing;
use inkjoule::firmware::tables::condition::decimals;
use inkjoule::frame::Frame;
use inkjoule::frame::pack::pack;
use inkjoule::project::load;
use inkjoule::screen::values::Values;
use std::collections::BTreeMap;
use std::path::Path;
use std::process::Command;
use std::sync::Mutex;

/// What `-Os` makes of the C files for a Cortex-M0, linked alone: no library but the compiler's own divisions.
pub(crate) const FLAGS: [&str; 5] = ["-mcpu=cortex-m0", "-mthumb", "-Os", "-std=c99", "-ffunction-sections"];

/// What a compiler for bare metal asks for by itself.
const MEMORY: &str = "
void *memset(void *at, int byte, unsigned count) { char *to = at; while (count--) *to++ = (char)byte; return at; }
void *memcpy(void *at, const void *of, unsigned count) {
    char *to = at; const char *from = of; while (count--) *to++ = *from++; return at;
}
void *memmove(void *at, const void *of, unsigned count) {
    char *to = at; const char *from = of;
    if (to < from) while (count--) *to++ = *from++; else while (count--) to[count] = from[count];
    return at;
}";

/// A design on the processor.
pub(crate) struct Board {
    machine: Machine,
    view: u32,
    layer: u32,
    values: u32,
    past: u32,
    strip: u32,
    /// The memo, and its cells.
    memo: [u32; 2],
}

/// Cells of the panel's memo, 16 bits each, and of one that draws a screen alone.
pub(crate) const CELLS: usize = 500;
pub(crate) const ROOM: usize = 700;

pub(crate) fn demo() -> Device {
    load(Path::new("screens-demo"), &[]).unwrap_or_else(|failed| panic!("{:#?}", failed.faults)).device
}

fn said(folder: &Path, program: &str, arguments: &[&str]) -> String {
    let output = Command::new(program).current_dir(folder).args(arguments).output().expect("runs");
    assert!(output.status.success(), "{program}: {}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8_lossy(&output.stdout).into_owned()
}

/// Links the exported files of a folder with a memo, and gives the image with its symbols.
pub(crate) fn linked(folder: &Path, files: &[&str], roots: &[&str]) -> Machine {
    linked_with(folder, files, roots, "-DINK_MEMO=1")
}

/// The same with or without.
pub(crate) fn linked_with(folder: &Path, files: &[&str], roots: &[&str], memo: &str) -> Machine {
    let wanted: Vec<String> = roots.iter().map(|root| format!("-Wl,-u,{root}")).collect();
    let wanted: Vec<&str> = wanted.iter().map(String::as_str).collect();
    std::fs::write(folder.join("memory.c"), MEMORY).expect("written");
    object("arm-none-eabi-gcc", folder, "memory.c", &[&FLAGS[..], &["-fno-tree-loop-distribute-patterns"]].concat());
    let flags = [&FLAGS[..], &[memo]].concat();
    let objects: Vec<String> = files.iter().map(|file| object("arm-none-eabi-gcc", folder, file, &flags)).collect();
    let objects: Vec<&str> = objects.iter().map(String::as_str).collect();
    let place =
        ["memory.o", "-nostdlib", "-Wl,--gc-sections", "-Wl,-Ttext=0x100", "-Wl,-e,ink_draw", "-o", "board.elf"];
    compile("arm-none-eabi-gcc", folder, &[&FLAGS[..], &objects, &wanted, &place, &["-lgcc"]].concat());
    said(folder, "arm-none-eabi-objcopy", &["-O", "binary", "board.elf", "board.bin"]);
    let mut flash = vec![0xFF; 0x100];
    flash.extend(std::fs::read(folder.join("board.bin")).expect("written"));
    let names = said(folder, "arm-none-eabi-nm", &["board.elf"]);
    let symbols = names.lines().filter_map(|line| {
        let (at, name) = (line.get(..8)?, line.get(11..)?);
        (!name.starts_with('$')).then_some((name.to_owned(), u32::from_str_radix(at, 16).ok()?))
    });
    Machine::new(flash, symbols.collect::<Vec<_>>())
}

/// Rings as the interpreter keeps them.
pub(crate) fn past(device: &Device, drawing: &Drawing, values: &Values) -> Vec<u8> {
    let mut bytes = vec![0; drawing.past_bytes().max(1)];
    for ring in &drawing.rings {
        let scale = 10f64.powi(decimals(device, ring.field) as i32);
        let shown = &values.past[ring.field];
        for at in 0..ring.samples {
            let known = (at + shown.len()).checked_sub(ring.samples).map(|from| shown[from]);
            let number = known.filter(|number| !number.is_nan()).map(|number| (number * scale).round() as i32);
            match ring.wide {
                true => {
                    bytes[ring.first + 2 + 4 * at..][..4].copy_from_slice(&number.unwrap_or(i32::MIN).to_le_bytes())
                }
                false => bytes[ring.first + 2 + 2 * at..][..2]
                    .copy_from_slice(&(number.unwrap_or(-32_768) as i16).to_le_bytes()),
            }
        }
    }
    bytes
}

/// The sample as firmware holds it: in whole units of the last decimal.
pub(crate) fn held(device: &Device) -> Values {
    let mut values = device.sample();
    for field in 0..device.fields.len() {
        let scale = 10f64.powi(decimals(device, field) as i32);
        let whole = |number: f64| (number * scale).round() / scale;
        values.now[field] = whole(values.now[field]);
        std::sync::Arc::make_mut(&mut values.past)[field].iter_mut().for_each(|number| *number = whole(*number));
    }
    values
}

impl Board {
    pub(crate) fn new(mut machine: Machine, fields: usize, past: usize, frame: usize) -> Self {
        let [view, layer, values] = [machine.room(8), machine.room(12), machine.room(4 * fields)];
        let [past, strip, memo, cells] = [past, frame, 24, 2 * ROOM].map(|bytes| machine.room(bytes));
        machine.put(view, &[layer.to_le_bytes(), [1, 0, 0, 0]].concat());
        Self { machine, view, layer, values, past, strip, memo: [memo, cells] }
    }

    /// Shows a screen: what is drawn from now on.
    pub(crate) fn show(&mut self, screen: usize, locale: usize, numbers: &[i32], past: &[u8]) {
        let bytes: Vec<u8> = numbers.iter().flat_map(|number| number.to_le_bytes()).collect();
        self.machine.put(self.values, &bytes);
        self.machine.put(self.past, past);
        self.machine.put(self.view + 4, &[1, locale as u8]);
        let layer = [(screen as u32).to_le_bytes(), self.values.to_le_bytes(), self.past.to_le_bytes()].concat();
        self.machine.put(self.layer, &layer);
    }

    /// Draws all lines, so many at a time; what came of it and what it took.
    pub(crate) fn draw(&mut self, lines: usize, stride: usize, at_a_time: usize, with_memo: bool) -> (Vec<u8>, Count) {
        let design = self.machine.symbol("screens_live_design");
        let [memo, cells] = self.memo;
        let (mut picture, mut sum) = (Vec::new(), Count::default());
        if with_memo {
            let (_, made) = self.machine.call("ink_memo_make", &[memo, design, self.view, cells, ROOM as u32]);
            sum = made;
        }
        for first in (0..lines).step_by(at_a_time) {
            let some = at_a_time.min(lines - first);
            let part = [self.strip, first as u32, some as u32];
            let (_, count) = match with_memo {
                true => self.machine.call("ink_memo_draw", &[&[memo], &part[..]].concat()),
                false => self.machine.call("ink_draw", &[&[design, self.view], &part[..]].concat()),
            };
            picture.extend_from_slice(self.machine.bytes(self.strip, some * stride));
            sum.instructions += count.instructions;
            sum.cycles += count.cycles;
            sum.stack = sum.stack.max(count.stack);
        }
        (picture, sum)
    }
}

/// The costs of a screen: whole, in strips of 16 lines, and in such strips with a memo.
struct Cost {
    name: String,
    whole: Count,
    strips: Count,
    remembered: Count,
}

fn costs(order: &Order<'_>, folder: &Path) -> Vec<Cost> {
    export(order, "c-live", folder);
    let roots = ["ink_draw", "ink_memo_make", "ink_memo_draw", "screens_live_design"];
    let machine = linked(folder, &["ink_draw.c", "screens_live.c"], &roots);
    let device = order.device;
    let drawing = Drawing::of(order).expect("tables");
    let size = device.panel.size();
    let bytes = order.packing.size(size.width, size.height).expect("fits");
    let stride = order.packing.stride_of(size.width, size.height).expect("fits") as usize;
    let mut board = Board::new(machine, device.fields.len(), drawing.past_bytes(), bytes);
    let mut all = Vec::new();
    for (position, screen) in order.screens.iter().enumerate() {
        let values = held(device);
        let number = |field: usize| match values.now[field] {
            missing if missing.is_nan() => i32::MIN,
            known => (known * 10f64.powi(decimals(device, field) as i32)).round() as i32,
        };
        let numbers: Vec<i32> = (0..device.fields.len()).map(number).collect();
        board.show(position, 0, &numbers, &past(device, &drawing, &values));
        let mut frame = Frame::new(size.width, size.height);
        device.screens[screen.0].draw(order.locales[0], &values, &mut frame);
        let expected = pack(&frame, &order.packing).expect("fits");
        let lines = bytes / stride;
        let name = device.screens[screen.0].id.clone();
        let [whole, strips, remembered] = [(lines, false), (16, false), (16, true)].map(|(at_a_time, with_memo)| {
            let (picture, count) = board.draw(lines, stride, at_a_time, with_memo);
            assert!(picture == expected, "{name}: another picture, {at_a_time} lines at a time");
            count
        });
        all.push(Cost { name, whole, strips, remembered });
    }
    all
}

/// The figures as a table in Markdown.
fn table(costs: &[Cost], pixels: f64) -> String {
    let mut text = String::from(
        "| screen | instructions | cycles | cycles a pixel | strips | strips with memo | stack, B |\n|---|---|---|---|---|---|---|\n",
    );
    let row = |name: &str, whole: Count, strips: u64, remembered: u64, stack: u32, screens: f64| {
        let cycles = whole.cycles as f64;
        let (strips, remembered) = (strips as f64 / cycles, remembered as f64 / cycles);
        format!(
            "| {name} | {} | {} | {:.1} | {strips:.2} | {remembered:.2} | {stack} |\n",
            whole.instructions,
            whole.cycles,
            cycles / pixels / screens
        )
    };
    for Cost { name, whole, strips, remembered } in costs {
        let stack = whole.stack.max(strips.stack).max(remembered.stack);
        text += &row(name, *whole, strips.cycles, remembered.cycles, stack, 1.0);
    }
    let sum = |part: fn(&Cost) -> u64| costs.iter().map(part).sum::<u64>();
    let whole =
        Count { instructions: sum(|one| one.whole.instructions), cycles: sum(|one| one.whole.cycles), stack: 0 };
    let stack = costs.iter().map(|one| one.whole.stack.max(one.remembered.stack)).max().unwrap_or(0);
    let all = [sum(|one| one.strips.cycles), sum(|one| one.remembered.cycles)];
    text + &row("all", whole, all[0], all[1], stack, costs.len() as f64)
}

/// The most that is allowed: cycles a pixel on average, and strips with a memo against one pass, for every screen.
const MOST: (f64, f64) = (12.0, 1.6);

#[test]
fn drawing_the_demo_costs_what_is_recorded() {
    if !runs("arm-none-eabi-gcc") {
        println!("no compiler for Cortex-M0 here");
        return;
    }
    let device = demo();
    let folder = tempfile::tempdir().expect("a folder");
    let costs = costs(&order(&device), folder.path());
    let size = device.panel.size();
    let pixels = f64::from(size.width * size.height);
    let found = table(&costs, pixels);
    println!("{found}");
    let sum = |part: fn(&Cost) -> u64| costs.iter().map(part).sum::<u64>() as f64;
    let whole = sum(|one| one.whole.cycles);
    assert!(whole / pixels / costs.len() as f64 <= MOST.0, "cycles a pixel: {found}");
    for Cost { name, whole, remembered, .. } in &costs {
        assert!(remembered.cycles as f64 / whole.cycles as f64 <= MOST.1, "{name}, strips: {found}");
    }
    record("drawing", &found);
}

/// However the panel is mounted: lines along a chart's time axis or across it. With lines along it, each strip once asked all
/// samples again: 4.7 times one pass.
#[test]
fn strips_cost_little_however_the_panel_is_mounted() {
    if !runs("arm-none-eabi-gcc") {
        println!("no compiler for Cortex-M0 here");
        return;
    }
    for (panel, mounted) in [("mono-296x128", 270), ("mono-400x300", 0), ("mono-400x300", 180)] {
        let set = [format!("panel.from={panel}"), format!("panel.mounted={mounted}")];
        let device =
            load(Path::new("screens-demo"), &set).unwrap_or_else(|failed| panic!("{:#?}", failed.faults)).device;
        let folder = tempfile::tempdir().expect("a folder");
        let mut sums = [0, 0];
        for Cost { name, whole, remembered, .. } in costs(&order(&device), folder.path()) {
            let share = remembered.cycles as f64 / whole.cycles as f64;
            println!("mounted {mounted}, {name}: {} cycles, {share:.2}", whole.cycles);
            assert!(share <= MOST.1, "{name}, mounted {mounted}: {share:.2} times one pass");
            sums = [sums[0] + whole.cycles, sums[1] + remembered.cycles];
        }
        println!("mounted {mounted}: {:.2} times one pass", sums[1] as f64 / sums[0] as f64);
    }
}

/// A chart alone on its screen, with a sample for nearly every column.
#[test]
fn strips_of_a_chart_alone_cost_little() {
    if !runs("arm-none-eabi-gcc") {
        println!("no compiler for Cortex-M0 here");
        return;
    }
    for content in [
        "style = 'line'",
        "style = 'line', stroke = 1, grid = true",
        "style = 'bars'",
        "style = 'bars', threshold = 12.5",
    ] {
        let sheet = Sheet::new(&format!(
            "size = [400, 300]
             fields.level = {{ range = [-40, 60], decimals = 1, sample = 20, every = '60 s' }}
             screen.content = [ {{ chart = 'level', samples = 240, {content}, font = 'small', at = [0, 0], size = [390, 300] }} ]"
        ));
        let folder = tempfile::tempdir().expect("a folder");
        for Cost { whole, remembered, strips, .. } in costs(&order(&sheet.device), folder.path()) {
            let share = remembered.cycles as f64 / whole.cycles as f64;
            println!(
                "{content}: {} cycles, {share:.2}, {:.2}",
                whole.cycles,
                strips.cycles as f64 / whole.cycles as f64
            );
            assert!(share <= MOST.1, "{content}: {share:.2} times one pass");
        }
    }
}

/// Steps of the machine: the begin, a key down and up again on the first screen (all keys, the most expensive), the same for what is
/// due a second later and for asking when to wake.
#[test]
fn steps_of_the_machine_cost_what_is_recorded() {
    if !runs("arm-none-eabi-gcc") {
        println!("no compiler for Cortex-M0 here");
        return;
    }
    let device = demo();
    let folder = tempfile::tempdir().expect("a folder");
    let order = order(&device);
    export(&order, "c-live", folder.path());
    let files = ["ink_draw.c", "ink_machine.c", "screens_live.c"];
    let roots = ["ink_cells", "ink_init", "ink_begin", "ink_key", "ink_run", "ink_wake", "screens_live_rules"];
    let image = || linked(folder.path(), &files, &roots);
    let mut found = String::from("| step | instructions | cycles | stack, B |\n|---|---|---|---|\n");
    let mut worst: BTreeMap<&str, Count> = BTreeMap::new();
    for key in 0..device.keys() as u32 {
        let mut processor = image();
        let [design, rules] = ["screens_live_design", "screens_live_rules"].map(|name| processor.symbol(name));
        let (cells, _) = processor.call("ink_cells", &[rules]);
        let [machine, state] = [512, 4 * cells as usize].map(|bytes| processor.room(bytes));
        let (sound, begun) = processor.call("ink_init", &[machine, design, rules, state, cells]);
        assert_eq!(sound, 1, "rules and design belong together");
        let mut step = |name: &'static str, function: &str, arguments: &[u32]| {
            let (_, count) = processor.call(function, arguments);
            let most = worst.entry(name).or_default();
            *most = if count.cycles > most.cycles { count } else { *most };
        };
        step("begin", "ink_begin", &[machine, 0, 8 * 3_600_000, 0]);
        step("key down", "ink_key", &[machine, 0, 8 * 3_600_000 + 500, 0, key, 1]);
        step("key up", "ink_key", &[machine, 0, 8 * 3_600_000 + 600, 0, key, 0]);
        step("what is due", "ink_run", &[machine, 0, 8 * 3_600_000 + 1_600, 0]);
        step("next wake-up", "ink_wake", &[machine]);
        let most = worst.entry("preparation").or_default();
        *most = if begun.cycles > most.cycles { begun } else { *most };
    }
    for (step, count) in &worst {
        found += &format!("| {step} | {} | {} | {} |\n", count.instructions, count.cycles, count.stack);
    }
    println!("{found}");
    record("machine", &found);
}

/// The first update by `ink_next`, in strips of 16 lines: everything until the refresh begins, without and with a memo of
/// the panel. What is shown before is nothing, so that each line is drawn once for the comparison at most and once to be sent.
#[test]
fn the_panel_sends_strips_at_little_more_than_one_pass() {
    if !runs("arm-none-eabi-gcc") {
        println!("no compiler for Cortex-M0 here");
        return;
    }
    let device = demo();
    let folder = tempfile::tempdir().expect("a folder");
    let order = order(&device);
    export(&order, "c-live", folder.path());
    let files = ["ink_draw.c", "ink_machine.c", "screens_live.c"];
    let roots =
        ["ink_cells", "ink_init", "ink_begin", "ink_panel_cells", "ink_panel_init", "ink_panel_memo", "ink_next"];
    let roots = [&roots[..], &["screens_live_rules", "screens_live_design", "ink_draw_scene"]].concat();
    let size = device.panel.size();
    let stride = order.packing.stride_of(size.width, size.height).expect("fits") as usize;
    let lines = order.packing.size(size.width, size.height).expect("fits") / stride;
    let mut found =
        String::from("| first update | instructions | cycles | against one pass | stack, B |\n|---|---|---|---|---|\n");
    let mut shares = Vec::new();
    for remembers in [false, true] {
        let mut processor = linked(folder.path(), &files, &roots);
        let [design, rules] = ["screens_live_design", "screens_live_rules"].map(|name| processor.symbol(name));
        let [cells, more] = ["ink_cells", "ink_panel_cells"].map(|name| processor.call(name, &[rules]).0);
        let [machine, state, panel, shown, strip, memo, task, frame] =
            [512, 4 * cells as usize, 1024, 4 * more as usize, 16 * stride, 2 * CELLS, 64, lines * stride]
                .map(|bytes| processor.room(bytes));
        assert_eq!(processor.call("ink_init", &[machine, design, rules, state, cells]).0, 1);
        let arguments = [panel, machine, shown, more, strip, 16 * stride as u32];
        assert_eq!(processor.call("ink_panel_init", &arguments).0, 1);
        if remembers {
            processor.call("ink_panel_memo", &[panel, memo, CELLS as u32]);
        }
        processor.call("ink_begin", &[machine, 0, 8 * 3_600_000, 0]);
        let (_, pass) = processor.call("ink_draw_scene", &[machine, machine, frame, 0, lines as u32]);
        let mut sum = Count::default();
        for _ in 0..100 {
            let (_, count) = processor.call("ink_next", &[panel, 0, 8 * 3_600_000, 0, 200, task]);
            sum.instructions += count.instructions;
            sum.cycles += count.cycles;
            sum.stack = sum.stack.max(count.stack);
            if processor.bytes(task, 64)[KIND] != 1 {
                break;
            }
        }
        assert_eq!(processor.bytes(task, 64)[KIND], 2, "a refresh begins");
        let share = sum.cycles as f64 / pass.cycles as f64;
        let name = if remembers { "with memo" } else { "without" };
        found += &format!("| {name} | {} | {} | {share:.2} | {} |\n", sum.instructions, sum.cycles, sum.stack);
        shares.push(share);
    }
    println!("{found}");
    assert!(2.0 * shares[1] <= shares[0], "{found}");
}

/// A QR code as it is packed, unpacked and drawn, against the same screen without it.
#[test]
fn unpacking_costs_what_is_recorded() {
    if !runs("arm-none-eabi-gcc") {
        println!("no compiler for Cortex-M0 here");
        return;
    }
    let drawn = |content: &str| {
        let sheet = crate::sheet::Sheet::new(&format!("size = [200, 120]\nscreen.content = [ {content} ]"));
        let folder = tempfile::tempdir().expect("a folder");
        let order = order(&sheet.device);
        let costs = costs(&order, folder.path());
        (costs[0].whole.cycles, Drawing::of(&order).expect("tables").bits.len())
    };
    let [(blank, none), (shown, some)] =
        ["{ line = 1 }", "{ qr = \"RIMEWATCH-DEMO-0042 (invented)\", correction = \"low\", at = [20, 20] }"].map(drawn);
    let (cycles, bytes) = (shown - blank, some - none);
    let found = format!(
        "| packed, B | cycles | cycles a byte |\n|---|---|---|\n| {bytes} | {cycles} | {:.0} |\n",
        cycles as f64 / bytes as f64
    );
    println!("{found}");
    record("unpacking", &found);
}

/// Where the kind stands in `struct ink_task`.
pub(crate) const KIND: usize = 34;

/// Where the figures are recorded, between two marks that name them. Other releases of the compiler make other code: the
/// figures must be those recorded to a twentieth. `ACCEPT=1` records them.
pub(crate) fn record(name: &str, found: &str) {
    static ONE_AT_A_TIME: Mutex<()> = Mutex::new(());
    let _turn = ONE_AT_A_TIME.lock();
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/firmware/costs.md");
    let page = std::fs::read_to_string(&path).expect("the record");
    let marks = [format!("<!-- {name} -->\n"), format!("<!-- /{name} -->")];
    let (before, rest) = page.split_once(&marks[0]).expect("its beginning");
    let (recorded, after) = rest.split_once(&marks[1]).expect("its end");
    if std::env::var_os("ACCEPT").is_some() {
        let [first, last] = &marks;
        std::fs::write(&path, format!("{before}{first}{found}{last}{after}")).expect("written");
        return;
    }
    let cells = |text: &str| text.split('|').map(|cell| cell.trim().to_owned()).collect::<Vec<_>>();
    let (recorded, found) = (cells(recorded), cells(found));
    assert_eq!(recorded.len(), found.len(), "{name}: as many figures");
    for (then, now) in recorded.iter().zip(&found) {
        let near = match (then.parse::<f64>(), now.parse::<f64>()) {
            (Ok(then), Ok(now)) => (now - then).abs() <= then.abs() * 0.05,
            _ => then == now,
        };
        assert!(near, "{name}: {then} recorded, {now} found; ACCEPT=1 records them anew");
    }
}
