//! The machine in C against the machine here: random scripts of keys, holds, events, values, times, temperatures and busy
//! panels on the demo and on random projects; after every input both tell the same screen, boxes, way back, values,
//! locale and next wake-up, and every update has the same waveform, reason, window and bytes.

use super::machine_projects::project;
use crate::firmware::{C99, cc, compile, export, orchard, order};
use inkjoule::behaviour::field::{Motion, Renewal};
use inkjoule::behaviour::states::DeviceState;
use inkjoule::behaviour::{Action, EventId, KeyRule, Target};
use inkjoule::cost::energy::window_cost;
use inkjoule::device::Device;
use inkjoule::export::c::live::CODE;
use inkjoule::firmware::drawing::Drawing;
use inkjoule::firmware::rules::Rules;
use inkjoule::firmware::tables::condition::decimals;
use inkjoule::frame::Frame;
use inkjoule::frame::pack::pack;
use inkjoule::limits;
use inkjoule::machine::canvas::draw_whole;
use inkjoule::machine::{Key, Machine, Micros, PanelStep, State, Taken, World};
use inkjoule::project::load;
use inkjoule::refresh::policy::Reason;
use inkjoule::refresh::update::{Mode, Planner};
use inkjoule::screen::values::{FieldId, Values};
use inkjoule::units::{Celsius, Seconds};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use std::collections::BTreeMap;
use std::io::Write;
use std::path::Path;
use std::process::{Command, Stdio};

const SANITIZED: [&str; 4] = ["-O1", "-g", "-fsanitize=address,undefined", "-fno-sanitize-recover=all"];
/// The machine's files.
pub const MACHINE: [&str; 6] =
    ["ink_rules.c", "ink_state.c", "ink_run.c", "ink_machine.c", "ink_panel.c", "ink_scene.c"];
const UNKNOWN: i32 = i32::MIN;
const MILLI: Micros = 1000;

/// The world that a script makes: what was measured last.
struct Given(Vec<i32>);

impl World for Given {
    fn sample(&mut self, device: &Device, field: FieldId, time: Seconds, _: &Values) -> f64 {
        match device.fields[field.0].motion {
            Motion::Clock => (time.0 + 1e-7).floor(),
            _ => value(device, field.0, self.0[field.0]),
        }
    }
}

fn scale(device: &Device, field: usize) -> f64 {
    10f64.powi(decimals(device, field) as i32)
}

fn value(device: &Device, field: usize, number: i32) -> f64 {
    if number == UNKNOWN { f64::NAN } else { f64::from(number) / scale(device, field) }
}

/// A value as firmware holds it; it must be one that firmware can hold.
fn number(device: &Device, field: usize, held: f64) -> i32 {
    if held.is_nan() {
        return UNKNOWN;
    }
    let number = (held * scale(device, field)).round() as i32;
    assert_eq!(value(device, field, number), held, "`{}` holds no whole number", device.fields[field].name);
    number
}

/// A script as bytes for the program in C, and what it must tell.
struct Script<'d> {
    device: &'d Device,
    machine: Machine,
    planner: Planner,
    world: Given,
    random: ChaCha8Rng,
    temperature: i16,
    sent: [Option<Vec<u8>>; 2],
    input: Vec<u8>,
    expected: Vec<u8>,
    /// Where each answer begins, and what was asked.
    marks: Vec<(usize, String)>,
    updates: usize,
    occurred: BTreeMap<&'static str, usize>,
}

/// What must occur in the scripts of random projects, so that none is lost unseen.
const OCCURRENCES: [&str; 13] = [
    "back",
    "cancel that restores",
    "a press whose rule holds anywhere",
    "an event whose rule holds anywhere",
    "two boxes",
    "boxes to the full depth",
    "USB",
    "the link",
    "the charge",
    "a target of a row",
    "a list without rows",
    "a press that a box covers before its release",
    "a key down twice",
];

impl<'d> Script<'d> {
    fn new(device: &'d Device, seed: u64) -> Self {
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        let day = 86_400_000;
        let now =
            [0, random.random_range(0..day), random.random_range(0..400 * day)][random.random_range(0..3)] * MILLI;
        let mut machine = Machine::new(device, device.usage.home, now);
        // Past values as firmware holds them.
        for (field, past) in machine.state.values.past.iter_mut().enumerate() {
            let whole = |held: &f64| (held * scale(device, field)).round() / scale(device, field);
            past.iter_mut().for_each(|held| *held = if held.is_nan() { *held } else { whole(held) });
        }
        let numbers: Vec<i32> =
            (0..device.fields.len()).map(|field| number(device, field, device.fields[field].sample)).collect();
        let mut input = vec![b'B', random.random_range(0..4)];
        // The flow states are the machine's own.
        for (field, start) in numbers.iter().enumerate() {
            input.extend(start.to_le_bytes());
            let past = &machine.state.values.past[field];
            input.extend((past.len() as u16).to_le_bytes());
            past.iter().for_each(|held| input.extend(number(device, field, *held).to_le_bytes()));
        }
        input.extend((now / MILLI).to_le_bytes());
        let planner = Planner::new(window_cost(device, &device.inputs.typical()));
        let mut script = Self {
            device,
            machine,
            planner,
            world: Given(numbers),
            random,
            temperature: 200,
            sent: [None, None],
            input,
            expected: Vec::new(),
            marks: Vec::new(),
            updates: 0,
            occurred: BTreeMap::new(),
        };
        script.mark(format!("begin at {now}"));
        script.state();
        script
    }

    fn mark(&mut self, what: String) {
        self.marks.push((self.expected.len(), what));
    }

    fn now(&self) -> u64 {
        self.machine.now() / MILLI
    }

    fn state(&mut self) {
        let machine = &self.machine;
        let wake = machine.wake(self.device).map_or(u64::MAX, |wake| wake / MILLI);
        let out = &mut self.expected;
        let state = &machine.state;
        out.extend(wake.to_le_bytes());
        out.extend((state.screen.0 as u16).to_le_bytes());
        out.push(state.boxes.len() as u8);
        state.boxes.iter().for_each(|open| out.extend((open.screen.0 as u16).to_le_bytes()));
        out.push(state.back().len() as u8);
        state.back().iter().for_each(|screen| out.extend((screen.0 as u16).to_le_bytes()));
        out.push(machine.canvas.locale() as u8);
        out.extend(machine.memory().partials.to_le_bytes());
        for (field, held) in state.values.now.iter().enumerate() {
            out.extend(number(self.device, field, *held).to_le_bytes());
        }
    }

    fn key(&mut self, key: Key) {
        let before = self.machine.state.clone();
        let taken = self.machine.key(self.device, key, &mut self.world);
        self.observe(&before, key, taken);
        let (number, down) = match key {
            Key::Down(number) => (number, 1),
            Key::Up(number) => (number, 0),
        };
        self.mark(format!("{key:?} at {}", self.now()));
        self.input.extend([b'K', number as u8, down]);
        self.input.extend(self.now().to_le_bytes());
        self.expected.push(match taken {
            Taken::Acted => 0,
            Taken::Nothing => 1,
            Taken::Queued => 2,
            Taken::Dropped => 3,
        });
        self.state();
    }

    fn note(&mut self, what: &'static str, happened: bool) {
        *self.occurred.entry(what).or_default() += usize::from(happened);
    }

    /// What a key did, from what it found and left.
    fn observe(&mut self, before: &State, key: Key, taken: Taken) {
        let device = self.device;
        let after = self.machine.state.clone();
        let (deepest, boxes) = (limits::BOX_DEPTH, after.boxes.len());
        self.note("two boxes", boxes == 2 && before.boxes.len() < 2);
        self.note("boxes to the full depth", boxes == deepest && before.boxes.len() < deepest);
        let value = |state: &State, name: &str| device.field(name).map(|field| state.values.of(field));
        let (Key::Down(number), Taken::Acted) = (key, taken) else {
            let lit = |state: &State| value(state, "lamp") == Some(1.0);
            let late = matches!(key, Key::Up(_)) && lit(before) && !lit(&after);
            let front = before.front();
            let lights = |rule: &KeyRule| rule.release.acts();
            let (Key::Up(number) | Key::Down(number)) = key;
            let own = device.wirings[front.0].keys.get(number).is_some_and(lights);
            return self.note("a press that a box covers before its release", late && !own);
        };
        let press = &device.wirings[before.front().0].keys[number].press;
        let actions = press.actions(&before.values).unwrap_or_default();
        let does = |wanted: fn(&Action) -> bool| actions.iter().any(wanted);
        let fallen = before.back().len() == after.back().len() + 1 && before.back().last() == Some(&after.screen);
        let by = |action: &Action| matches!(action, Action::Go(Target::By { rows: Some(_), .. }));
        let rows = value(before, "posts").unwrap_or(1.0);
        self.note("back", does(|action| *action == Action::Back) && fallen);
        let edited = |name| value(before, name) != value(&after, name);
        let restored = ["deep", "n", "level", "name", "limit"].into_iter().any(edited);
        self.note("cancel that restores", restored && actions == [Action::Cancel]);
        self.note("a press whose rule holds anywhere", number == 3 && edited("calls"));
        self.note("a target of a row", does(by) && rows >= 1.0);
        self.note("a list without rows", does(by) && rows < 1.0);
    }

    /// A state of the device arrives.
    fn arrive(&mut self) {
        let held: Vec<FieldId> =
            DeviceState::ALL.into_iter().filter_map(|state| self.device.states.field(state)).collect();
        if held.is_empty() {
            return;
        }
        let field = held[self.random.random_range(0..held.len())];
        let [low, high] = self.device.fields[field.0].range.map(|end| (end * scale(self.device, field.0)) as i32);
        let number = self.random.random_range(low..=high);
        let before = self.machine.state.values.of(field);
        self.machine.put(self.device, field, value(self.device, field.0, number), &mut self.world);
        let moved = self.machine.state.values.of(field) != before;
        for (state, what) in
            [(DeviceState::Usb, "USB"), (DeviceState::Link, "the link"), (DeviceState::Charge, "the charge")]
        {
            self.note(what, moved && self.device.states.field(state) == Some(field));
        }
        self.mark(format!("`{}` arrives as {number} at {}", self.device.fields[field.0].name, self.now()));
        self.input.push(b'A');
        self.input.extend((field.0 as u16).to_le_bytes());
        self.input.extend(number.to_le_bytes());
        self.input.extend(self.now().to_le_bytes());
        self.expected.push(1);
        self.state();
    }

    fn event(&mut self, event: usize) {
        let allowed = self.device.events[event].allowed(&self.machine.state.values);
        let shaken = self.device.field("shaken");
        let before = shaken.map(|field| self.machine.state.values.of(field));
        if allowed {
            self.machine.happen(self.device, EventId(event), &mut self.world);
        }
        let moved = shaken.map(|field| self.machine.state.values.of(field)) != before;
        self.note("an event whose rule holds anywhere", moved);
        self.mark(format!("event {event} at {}", self.now()));
        self.input.push(b'E');
        self.input.extend((event as u16).to_le_bytes());
        self.input.extend(self.now().to_le_bytes());
        self.expected.push(allowed.into());
        self.state();
    }

    fn measure(&mut self, field: usize) {
        let [low, high] = self.device.fields[field].range.map(|end| (end * scale(self.device, field)).clamp(-1e5, 1e5));
        let number = match self.random.random_range(0..12) {
            0 => UNKNOWN,
            1..6 => self.random.random_range(low as i32..=low as i32 + 9),
            _ => self.random.random_range(low as i32..=high as i32),
        };
        self.world.0[field] = number;
        self.input.push(b'V');
        self.input.extend((field as u16).to_le_bytes());
        self.input.extend(number.to_le_bytes());
    }

    fn packed(&self, frame: &Frame) -> Vec<u8> {
        pack(frame, &self.device.panel.packing.plane()).expect("the packing fits the panel")
    }

    /// Lets time pass, carries out what is due and looks at the panel.
    fn next(&mut self, at: Micros) {
        let duration = self.random.random_range(1..6000u32);
        let before = self.packed(&self.machine.canvas.shown);
        self.machine.run(self.device, at, &mut self.world);
        let look = if self.machine.busy() {
            PanelStep::Nothing
        } else {
            let temperature = Celsius(f64::from(self.temperature) / 10.0);
            self.machine.look(self.device, temperature, &mut self.planner, &mut self.world)
        };
        let device = self.device;
        let size = device.panel.size();
        let mut after = Frame::new(size.width, size.height);
        let locale = device.locale_of(&self.machine.state.values).unwrap_or(0);
        draw_whole(device, &self.machine.state, locale, None, &mut after);
        let after = self.packed(&after);
        self.mark(format!("next at {}, {} tenths", self.now(), self.temperature));
        self.input.push(b'N');
        self.input.extend(self.now().to_le_bytes());
        self.input.extend(self.temperature.to_le_bytes());
        self.input.extend(duration.to_le_bytes());
        let frames = [before, after];
        let news = [0, 1].map(|which| self.sent[which].as_ref() != Some(&frames[which]));
        self.input.push(u8::from(news[0]) | u8::from(news[1]) << 1);
        for (which, frame) in frames.into_iter().enumerate().filter(|(which, _)| news[*which]) {
            self.input.extend(&frame);
            self.sent[which] = Some(frame);
        }
        match look {
            PanelStep::Nothing => self.expected.push(0),
            PanelStep::Refused => self.expected.push(3),
            PanelStep::Send(update) => {
                self.updates += 1;
                self.machine.sent(self.machine.now() + Micros::from(duration) * MILLI);
                self.update(&update);
            }
        }
        self.state();
    }

    fn update(&mut self, update: &inkjoule::machine::Update) {
        let panel = &self.device.panel;
        let packing = &panel.packing;
        let native = [panel.native.width, panel.native.height];
        let reason = update
            .reason
            .map_or(0, |reason| 1 + Reason::ALL.iter().position(|known| *known == reason).expect("a reason"));
        let whole = [0, 0, native[0].div_ceil(8) * 8, native[1]];
        let (drive, [x, y, w, h]) = match update.mode {
            Mode::Full => (Some(&panel.full), whole),
            Mode::Partial => {
                let window = update.change.windows.first().expect("a window");
                (panel.partial.as_ref(), [window.x, window.y, window.w, window.h])
            }
        };
        let [column, line] = packing.address([x, y], [w, h], native);
        self.expected.extend([2, u8::from(update.mode == Mode::Partial), reason as u8]);
        for number in [x, y, w, h, column, line] {
            self.expected.extend((number as u16).to_le_bytes());
        }
        // Bytes of each plane: those of the packed lines that hold the window.
        let bytes = match update.mode {
            Mode::Full => panel.plane_bytes() as u32,
            Mode::Partial => crate::machine_windows::packed_bytes(packing, native, [x, y, w, h]),
        };
        let planes = drive.map_or(1, |drive| drive.planes);
        self.expected.extend((if planes > 1 { bytes } else { 0 }).to_le_bytes());
        self.expected.extend(bytes.to_le_bytes());
    }

    /// One random input.
    fn step(&mut self) {
        let keys = self.device.keys();
        let wake = self.machine.wake(self.device);
        let now = self.machine.now();
        match self.random.random_range(0..22) {
            20 | 21 => self.arrive(),
            0..5 if keys > 0 => {
                let key = self.random.random_range(0..keys);
                self.key(Key::Down(key));
                if self.random.random_bool(0.05) {
                    self.note("a key down twice", true);
                    self.key(Key::Down(key));
                }
                // Most keys are let go soon.
                match self.random.random_range(0..4) {
                    0 => {}
                    1 => {
                        // Some for exactly as long as a hold takes; some wait for the panel all the while.
                        let random = self.random.random_range(0..1500);
                        let held = [random, random, 300, 800, 1250][self.random.random_range(0..5)];
                        let until = now + held * MILLI;
                        if self.random.random_bool(0.5) {
                            self.pass_to(until)
                        } else {
                            self.machine.pass(until)
                        }
                        self.key(Key::Up(key));
                    }
                    _ => self.key(Key::Up(key)),
                }
            }
            5 | 6 if keys > 0 => {
                let key = self.random.random_range(0..keys);
                self.key(Key::Up(key));
            }
            7 if !self.device.events.is_empty() => {
                let event = self.random.random_range(0..self.device.events.len());
                self.event(event);
            }
            8..10 => {
                let fields: Vec<usize> = (0..self.device.fields.len())
                    .filter(|field| self.device.fields[*field].renewal != Renewal::Never)
                    .collect();
                for _ in 0..3.min(fields.len()) {
                    let field = fields[self.random.random_range(0..fields.len())];
                    self.measure(field);
                }
            }
            10 => {
                self.temperature = [200, 200, 200, -1, 0, 300, -150, 501, 600, 601][self.random.random_range(0..10)];
            }
            11 => self.next(now),
            // Slept over what was due.
            12 => {
                let late = self.random.random_range(0..40_000) * MILLI;
                self.next(wake.unwrap_or(now).min(now + 400_000_000_000) + late);
            }
            13..16 => {
                let until = now + self.random.random_range(0..3000) * MILLI;
                self.pass_to(until);
            }
            _ => {
                if let Some(wake) = wake {
                    self.next(wake);
                }
            }
        }
    }

    /// Everything up to a time.
    fn pass_to(&mut self, until: Micros) {
        for _ in 0..20 {
            match self.machine.wake(self.device) {
                Some(wake) if wake < until && wake > self.machine.now() => self.next(wake),
                _ => break,
            }
        }
        self.next(until);
    }
}

/// A program in C that runs scripts of any design.
pub struct Program(tempfile::TempDir);

impl Program {
    /// For any design: the pictures come in with the scripts.
    pub fn new() -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        for (file, text) in CODE {
            std::fs::write(folder.path().join(file), text).expect("written");
        }
        Self::build(folder, &[])
    }

    /// For one design, which draws its own pictures; the panel may remember them for its strips.
    fn drawing(device: &Device, remembers: bool) -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        export(&order(device), "c-live", folder.path());
        let memo = if remembers { "-DINK_MEMO=1" } else { "-DINK_MEMO=0" };
        Self::build(folder, &["-DINK_PICTURES", memo, "ink_draw.c", "screens_live.c"])
    }

    fn build(folder: tempfile::TempDir, more: &[&str]) -> Self {
        std::fs::write(folder.path().join("scripts.c"), include_str!("../firmware/machine_scripts.c"))
            .expect("written");
        let files = [&MACHINE[..], more, &["scripts.c", "-o", "scripts"]].concat();
        compile(&cc(), folder.path(), &[&C99[..], &SANITIZED, &files].concat());
        Self(folder)
    }

    fn run(&self, input: Vec<u8>) -> (Vec<u8>, String) {
        let mut child = Command::new(self.0.path().join("scripts"))
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .expect("starts");
        let mut stdin = child.stdin.take().expect("piped");
        let writer = std::thread::spawn(move || {
            let _ = stdin.write_all(&input);
        });
        let output = child.wait_with_output().expect("ends");
        let _ = writer.join();
        (output.stdout, format!("{} {}", output.status, String::from_utf8_lossy(&output.stderr)))
    }
}

/// What scripts came to: updates, and how often each thing of the flow occurred.
#[derive(Default)]
struct Ran {
    updates: usize,
    occurred: BTreeMap<&'static str, usize>,
}

/// Runs so many scripts of a device in one process; gives how many updates they had.
fn scripts(program: &Program, device: &Device, seed: u64, count: u64, steps: usize, about: &str) -> Ran {
    run_scripts(program, device, 0, seed, count, steps, about)
}

/// As [`scripts`], where charts keep their past in so many bytes.
fn run_scripts(
    program: &Program,
    device: &Device,
    past: usize,
    seed: u64,
    count: u64,
    steps: usize,
    about: &str,
) -> Ran {
    let packing = &device.panel.packing;
    let rules = Rules::of(device, packing, past).expect("the rules can be written");
    let size = device.panel.size();
    let stride = packing.stride_of(size.width, size.height).expect("fits");
    let lines = packing.plane().size(size.width, size.height).expect("fits") as u32 / stride;
    let mut input = (rules.bytes.len() as u32).to_le_bytes().to_vec();
    input.extend(&rules.bytes);
    input.extend((lines as u16).to_le_bytes());
    input.extend((stride as u16).to_le_bytes());
    input.push(packing.pixel_polarity.into());
    input.extend((device.fields.len() as u16).to_le_bytes());
    input.extend((device.screens.len() as u16).to_le_bytes());
    input.extend((rules.cells as u32).to_le_bytes());
    input.extend((rules.panel_cells as u32).to_le_bytes());
    let mut expected: Vec<u8> = Vec::new();
    let mut marks = Vec::new();
    let mut ran = Ran::default();
    for script in 0..count {
        let mut run = Script::new(device, seed + script);
        if script > 0 {
            // The frames that the program holds are those of the script before.
            run.sent = [None, None];
        }
        for _ in 0..steps {
            run.step();
        }
        input.extend(&run.input);
        marks.extend(run.marks.into_iter().map(|(at, what)| (expected.len() + at, what)));
        expected.extend(&run.expected);
        ran.updates += run.updates;
        run.occurred.into_iter().for_each(|(what, count)| *ran.occurred.entry(what).or_default() += count);
    }
    // For processors that are emulated; see `tests/firmware/emulated.sh`.
    if let Ok(folder) = std::env::var("INK_SCRIPTS") {
        let name = about.replace(' ', "-");
        for (ending, bytes) in [("in", &input), ("out", &expected)] {
            std::fs::write(format!("{folder}/{name}.{ending}"), bytes).expect("written");
        }
    }
    let (told, said) = program.run(input);
    if told != expected {
        let differs = told.iter().zip(&expected).position(|(a, b)| a != b).unwrap_or(told.len().min(expected.len()));
        let at = marks.partition_point(|(at, _)| *at <= differs) - 1;
        let end = marks.get(at + 1).map_or(expected.len(), |(at, _)| *at);
        let begin = marks[at].0;
        let history: Vec<&str> = marks[at.saturating_sub(12)..=at].iter().map(|(_, what)| what.as_str()).collect();
        panic!(
            "{about}: {said}\n{history:#?}\nat byte {} of the answer\n expected {:?}\n told     {:?}",
            differs - begin,
            &expected[begin..end],
            told.get(begin..end.min(told.len()))
        );
    }
    ran
}

/// How many times as many scripts as usual: `SCRIPTS=10`.
fn scaled() -> u64 {
    std::env::var("SCRIPTS").ok().and_then(|times| times.parse().ok()).unwrap_or(1)
}

#[test]
fn the_machine_in_c_runs_the_orchard_as_the_machine_here() {
    let updates = scripts(&Program::new(), &orchard(), 1, 300 * scaled(), 60, "orchard").updates;
    assert!(updates > 1000, "{updates}");
}

/// The demo has everything that a product has: it is run as it is here, or refused by name.
#[test]
fn the_machine_in_c_runs_the_demo_or_says_what_it_lacks() {
    let Ok(loaded) = load(Path::new("screens-demo"), &[]) else { panic!("the demo does not load") };
    let device = &loaded.device;
    match Rules::of(device, &device.panel.packing, 0) {
        Ok(_) => assert!(scripts(&Program::new(), device, 1, 100 * scaled(), 60, "demo").updates > 300),
        Err(fault) => assert!(fault.message.contains("chosen unit"), "{}", fault.message),
    }
}

#[test]
fn the_machine_in_c_runs_random_projects_as_the_machine_here() {
    let program = Program::new();
    let mut all = Ran::default();
    for seed in 0..60 * scaled() {
        let device = project(seed);
        let ran = scripts(&program, &device, seed * 1000, 40, 60, &format!("project {seed}"));
        all.updates += ran.updates;
        ran.occurred.into_iter().for_each(|(what, count)| *all.occurred.entry(what).or_default() += count);
    }
    assert!(all.updates > 10_000, "{}", all.updates);
    let rare = OCCURRENCES.into_iter().filter(|what| all.occurred.get(what).is_none_or(|count| *count < 5));
    assert_eq!(rare.collect::<Vec<_>>(), [""; 0], "hardly ever, of {:?}", all.occurred);
}

#[test]
fn the_orchard_draws_in_c_what_it_draws_here_update_by_update() {
    let device = &orchard();
    let past = Drawing::of(&order(device)).expect("drawing tables").past_bytes();
    for remembers in [false, true] {
        let program = Program::drawing(device, remembers);
        let updates = run_scripts(&program, device, past, 7, 40 * scaled(), 60, "orchard with images").updates;
        assert!(updates > 150, "{updates}");
    }
}

#[test]
fn random_projects_draw_in_c_what_they_draw_here_update_by_update() {
    for seed in 0..3 * scaled() {
        let device = project(seed);
        let past = Drawing::of(&order(&device)).expect("drawing tables").past_bytes();
        let about = format!("project {seed} with images");
        let updates =
            run_scripts(&Program::drawing(&device, seed % 2 == 0), &device, past, seed, 20, 60, &about).updates;
        assert!(updates > 50, "{updates}");
    }
}

/// Rules and random inputs for the fuzzer to damage: `ACCEPT=1` writes them anew.
#[test]
fn the_fuzzer_begins_with_rules_of_this_layout() {
    for seed in [3u64, 5] {
        let device = project(seed);
        let past = Drawing::of(&order(&device)).expect("drawing tables").past_bytes();
        let rules = Rules::of(&device, &device.panel.packing, past).expect("the rules can be written");
        let mut bytes = (rules.bytes.len() as u16).to_le_bytes().to_vec();
        bytes.extend(&rules.bytes);
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        (0..400).for_each(|_| {
            let input = [random.random_range(0..32u8), random.random_range(0..80), random.random_range(0..4), 0];
            bytes.extend(input);
        });
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("tests/fuzz/seeds/machine/project-{seed}"));
        if std::env::var("ACCEPT").is_ok() {
            std::fs::create_dir_all(path.parent().expect("a folder")).expect("a folder");
            std::fs::write(&path, &bytes).expect("written");
        }
        let known = std::fs::read(&path).expect("a seed");
        assert!(
            known == bytes,
            "{}: the layout of the rules moved; write the seeds anew with ACCEPT=1",
            path.display()
        );
    }
}
