//! One random script for the machine in C: keys, holds, events, values, times, temperatures and a busy panel as bytes, and
//! what the machine here tells after each of them.

use super::machine_occurrences::Seen;
use inkjoule::behaviour::field::{Motion, Renewal};
use inkjoule::behaviour::states::DeviceState;
use inkjoule::behaviour::{Action, EventId};
use inkjoule::cost::energy::window_cost;
use inkjoule::device::Device;
use inkjoule::firmware::tables::condition::decimals;
use inkjoule::frame::Frame;
use inkjoule::frame::pack::pack;
use inkjoule::machine::canvas::draw_whole;
use inkjoule::machine::{Key, Machine, Micros, PanelStep, Taken, World};
use inkjoule::refresh::policy::Reason;
use inkjoule::refresh::update::{Mode, Planner};
use inkjoule::screen::values::{FieldId, Values};
use inkjoule::units::{Celsius, Seconds};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

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
pub struct Script<'d> {
    device: &'d Device,
    machine: Machine,
    planner: Planner,
    world: Given,
    random: ChaCha8Rng,
    temperature: i16,
    /// The last two frames that were sent with the script.
    pub sent: [Option<Vec<u8>>; 2],
    /// What the program reads.
    pub input: Vec<u8>,
    /// What it must answer.
    pub expected: Vec<u8>,
    /// Where each answer begins, and what was asked.
    pub marks: Vec<(usize, String)>,
    /// Updates sent.
    pub updates: usize,
    /// What occurred.
    pub seen: Seen,
}

impl<'d> Script<'d> {
    /// A script of a seed that has only begun.
    pub fn new(device: &'d Device, seed: u64) -> Self {
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        let day = 86_400_000;
        let now =
            [0, random.random_range(0..day), random.random_range(0..400 * day)][random.random_range(0..3)] * MILLI;
        let mut machine = Machine::new(device, device.usage.home, now);
        // Past values as firmware holds them.
        for (field, past) in std::sync::Arc::make_mut(&mut machine.state.values.past).iter_mut().enumerate() {
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
            seen: Seen::default(),
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
        self.seen.times(self.device, &self.machine.state.values);
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
        self.seen.key(self.device, [&before, &self.machine.state], key, taken);
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
            self.seen.note(what, moved && self.device.states.field(state) == Some(field));
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
        self.seen.note("an event whose rule holds anywhere", moved);
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
            1..6 => self.random.random_range(low as i32..=(low as i32 + 9).min(high as i32)),
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

    /// A key whose press opens one more box over what is shown.
    fn opening(&self) -> Option<usize> {
        let state = &self.machine.state;
        let opens = |action: &Action| match action {
            Action::Open(screen) => state.boxes.iter().all(|open| open.screen != *screen),
            _ => false,
        };
        let keys = &self.device.wirings[state.front().0].keys;
        keys.iter().position(|rule| rule.press.actions(&state.values).is_some_and(|all| all.iter().any(opens)))
    }

    /// One random input.
    pub fn step(&mut self) {
        let keys = self.device.keys();
        let wake = self.machine.wake(self.device);
        let now = self.machine.now();
        // Boxes come to lie over one another.
        let opening = self.opening();
        if let Some(key) = opening.filter(|_| self.random.random_bool(0.3)) {
            self.key(Key::Down(key));
            return self.key(Key::Up(key));
        }
        match self.random.random_range(0..22) {
            20 | 21 => self.arrive(),
            0..5 if keys > 0 => {
                let key = self.random.random_range(0..keys);
                self.key(Key::Down(key));
                if self.random.random_bool(0.05) {
                    self.seen.note("a key down twice", true);
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
