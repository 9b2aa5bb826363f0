//! What drawing costs on a Cortex-M0: instructions, and cycles by the processor's manual, for every screen of the demo,
//! whole and in strips. The figures are recorded in `tests/firmware/costs.md`.
//!
//! Not for what is drawn: only that it is the same picture as everywhere else.

use crate::firmware::cortex_m0::{Count, Machine};
use crate::firmware::{compile, export, order, runs};
use inkjoule::device::Device;
use inkjoule::export::Order;
use inkjoule::firmware::drawing::Drawing;
use inkjoule::firmware::tables::condition::decimals;
use inkjoule::frame::Frame;
use inkjoule::frame::pack::pack;
use inkjoule::project::load;
use inkjoule::screen::values::Values;
use std::path::Path;
use std::process::Command;

/// What `-Os` makes of the C files for a Cortex-M0, linked alone: no library but the compiler's own divisions.
const FLAGS: [&str; 5] = ["-mcpu=cortex-m0", "-mthumb", "-Os", "-std=c99", "-ffunction-sections"];

/// A design on the processor.
struct Board {
    machine: Machine,
    view: u32,
    layer: u32,
    values: u32,
    past: u32,
    strip: u32,
}

fn demo() -> Device {
    load(Path::new("screens-demo"), &[]).unwrap_or_else(|failed| panic!("{:#?}", failed.faults)).device
}

fn said(folder: &Path, program: &str, arguments: &[&str]) -> String {
    let output = Command::new(program).current_dir(folder).args(arguments).output().expect("runs");
    assert!(output.status.success(), "{program}: {}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8_lossy(&output.stdout).into_owned()
}

/// Links the exported files of a folder, and gives the image with its symbols.
fn linked(folder: &Path, files: &[&str], roots: &[&str]) -> Machine {
    let wanted: Vec<String> = roots.iter().map(|root| format!("-Wl,-u,{root}")).collect();
    let wanted: Vec<&str> = wanted.iter().map(String::as_str).collect();
    // A compiler for bare metal still asks for this one function.
    let memory = "void *memset(void *at, int byte, unsigned count) { char *to = at; while (count--) *to++ = (char)byte; return at; }\n";
    std::fs::write(folder.join("memory.c"), memory).expect("written");
    compile("arm-none-eabi-gcc", folder, &[&FLAGS[..], &["-fno-tree-loop-distribute-patterns", "-c", "memory.c"]].concat());
    let place = ["memory.o", "-nostdlib", "-Wl,--gc-sections", "-Wl,-Ttext=0x100", "-Wl,-e,ink_draw", "-o", "board.elf"];
    compile("arm-none-eabi-gcc", folder, &[&FLAGS[..], files, &wanted, &place, &["-lgcc"]].concat());
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
fn past(device: &Device, drawing: &Drawing, values: &Values) -> Vec<u8> {
    let mut bytes = vec![0; drawing.past_bytes().max(1)];
    for ring in &drawing.rings {
        let scale = 10f64.powi(decimals(device, ring.field) as i32);
        let shown = &values.past[ring.field];
        for at in 0..ring.samples {
            let known = (at + shown.len()).checked_sub(ring.samples).map(|from| shown[from]);
            let number = known.filter(|number| !number.is_nan()).map(|number| (number * scale).round() as i32);
            match ring.wide {
                true => bytes[ring.first + 2 + 4 * at..][..4].copy_from_slice(&number.unwrap_or(i32::MIN).to_le_bytes()),
                false => bytes[ring.first + 2 + 2 * at..][..2]
                    .copy_from_slice(&(number.unwrap_or(-32_768) as i16).to_le_bytes()),
            }
        }
    }
    bytes
}

/// The sample as firmware holds it: in whole units of the last decimal.
fn held(device: &Device) -> Values {
    let mut values = device.sample();
    for field in 0..device.fields.len() {
        let scale = 10f64.powi(decimals(device, field) as i32);
        let whole = |number: f64| (number * scale).round() / scale;
        values.now[field] = whole(values.now[field]);
        values.past[field].iter_mut().for_each(|number| *number = whole(*number));
    }
    values
}

impl Board {
    fn new(mut machine: Machine, fields: usize, past: usize, frame: usize) -> Self {
        let [view, layer, values] = [machine.room(8), machine.room(12), machine.room(4 * fields)];
        let [past, strip] = [machine.room(past), machine.room(frame)];
        machine.put(view, &[layer.to_le_bytes(), [1, 0, 0, 0]].concat());
        Self { machine, view, layer, values, past, strip }
    }

    /// Shows a screen: what is drawn from now on.
    fn show(&mut self, screen: usize, locale: usize, numbers: &[i32], past: &[u8]) {
        let bytes: Vec<u8> = numbers.iter().flat_map(|number| number.to_le_bytes()).collect();
        self.machine.put(self.values, &bytes);
        self.machine.put(self.past, past);
        self.machine.put(self.view + 4, &[1, locale as u8]);
        let layer = [(screen as u32).to_le_bytes(), self.values.to_le_bytes(), self.past.to_le_bytes()].concat();
        self.machine.put(self.layer, &layer);
    }

    /// Draws all lines, so many at a time; what came of it and what it took.
    fn draw(&mut self, lines: usize, stride: usize, at_a_time: usize) -> (Vec<u8>, Count) {
        let design = self.machine.symbol("screens_live_design");
        let (mut picture, mut sum) = (Vec::new(), Count::default());
        for first in (0..lines).step_by(at_a_time) {
            let some = at_a_time.min(lines - first);
            let (_, count) =
                self.machine.call("ink_draw", &[design, self.view, self.strip, first as u32, some as u32]);
            picture.extend_from_slice(self.machine.bytes(self.strip, some * stride));
            sum.instructions += count.instructions;
            sum.cycles += count.cycles;
            sum.stack = sum.stack.max(count.stack);
        }
        (picture, sum)
    }
}

/// The costs of a screen.
struct Cost {
    name: String,
    whole: Count,
    strips: Count,
}

fn costs(order: &Order<'_>, folder: &Path) -> (Vec<Cost>, Machine) {
    export(order, "c-live", folder);
    let machine = linked(folder, &["ink_draw.c", "screens_live.c"], &["ink_draw", "screens_live_design"]);
    let device = order.device;
    let drawing = Drawing::of(order).expect("tables");
    let size = device.panel.size();
    let bytes = order.packing.size(size.width, size.height).expect("fits");
    let stride = order.packing.stride_of(size.width, size.height).expect("fits") as usize;
    let mut board = Board::new(machine, device.fields.len(), drawing.past_bytes(), bytes);
    let mut all = Vec::new();
    for (position, screen) in order.screens.iter().enumerate() {
        let values = held(device);
        let numbers: Vec<i32> = (0..device.fields.len())
            .map(|field| match values.now[field] {
                missing if missing.is_nan() => i32::MIN,
                known => (known * 10f64.powi(decimals(device, field) as i32)).round() as i32,
            })
            .collect();
        board.show(position, 0, &numbers, &past(device, &drawing, &values));
        let mut frame = Frame::new(size.width, size.height);
        if let Ok(dir) = std::env::var("INK_CASES") {
            let mut f = Vec::new();
            numbers.iter().for_each(|n| f.extend(n.to_le_bytes()));
            let p = past(device, &drawing, &values);
            f.extend(&p);
            device.screens[screen.0].draw(order.locales[0], &values, &mut frame);
            f.extend(pack(&frame, &order.packing).expect("fits"));
            std::fs::write(format!("{dir}/{position:02}-{}", device.screens[screen.0].id), f).unwrap();
            frame = Frame::new(size.width, size.height);
        }
        device.screens[screen.0].draw(order.locales[0], &values, &mut frame);
        let expected = pack(&frame, &order.packing).expect("fits");
        let (picture, whole) = board.draw(bytes / stride, stride, bytes / stride);
        let name = device.screens[screen.0].id.clone();
        assert!(picture == expected, "{name}: another picture");
        let (picture, strips) = board.draw(bytes / stride, stride, 16);
        assert!(picture == expected, "{name}: another picture in strips");
        all.push(Cost { name, whole, strips });
    }
    (all, board.machine)
}

#[test]
fn drawing_the_demo_costs_what_is_recorded() {
    if !runs("arm-none-eabi-gcc") {
        println!("no compiler for Cortex-M0 here");
        return;
    }
    let device = demo();
    let folder = tempfile::tempdir().expect("a folder");
    let (costs, machine) = costs(&order(&device), folder.path());
    let size = device.panel.size();
    let pixels = f64::from(size.width * size.height);
    for cost in &costs {
        println!(
            "{:<10} {:>8} {:>8} {:5.2} cycles a pixel, {:5.2} in strips, {} stack",
            cost.name,
            cost.whole.instructions,
            cost.whole.cycles,
            cost.whole.cycles as f64 / pixels,
            cost.strips.cycles as f64 / cost.whole.cycles as f64,
            cost.strips.stack
        );
    }
    let mut functions: Vec<&(String, u64)> = machine.functions.values().collect();
    functions.sort_by_key(|(_, cycles)| std::cmp::Reverse(*cycles));
    functions.iter().take(20).for_each(|(name, cycles)| println!("{cycles:>9} {name}"));
}
