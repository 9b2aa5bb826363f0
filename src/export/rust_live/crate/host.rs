// Written by inkjoule. Changes here are lost with the next export.
//! Runs the design on a computer: a script from standard input, an image for each refresh. `cargo run --example host FOLDER`.
//!
//! A line of the script: milliseconds since the line before, then `press KEY`, `down KEY`, `up KEY` (the first is 1),
//! `event NUMBER`, `measure FIELD NUMBER`, `arrive FIELD NUMBER`, `temperature TENTHS` or `wait`. Each refresh is written as a
//! portable bitmap into the folder, and told on standard output.

use std::io::BufRead;
use std::path::Path;

use @NAME@::*;
// @IF:FIELDS@

/// Settings and first measurements: the design's sample values.
#[rustfmt::skip]
const SAMPLES: &[(Field, Option<i32>)] = &[
@SAMPLES@
];

/// Past values that charts show, the oldest first.
#[rustfmt::skip]
const PAST: &[(Field, &[Option<i32>])] = &[
@PAST@
];
// @END@

/// How long the panel's refreshes take at 20 degrees Celsius, in milliseconds.
const FULL_MS: u64 = @FULL@;
const PARTIAL_MS: u64 = @PARTIAL@;

/// What the computer has in place of a board: a clock that jumps, a script, the memory of a panel.
struct Host<L> {
    script: L,
    /// The next line of the script: when, what, and its numbers.
    line: Option<(u64, String, [i64; 2])>,
    now: u64,
    temperature: i16,
    ready: u64,
    frame: Vec<u8>,
    images: usize,
}

impl<L: Iterator<Item = String>> Host<L> {
    fn read(&mut self, after: u64) {
        self.line = self.script.next().and_then(|line| {
            let mut words = line.split_whitespace();
            let wait: u64 = words.next()?.parse().ok()?;
            let what = words.next()?.to_owned();
            let mut number = || words.next().and_then(|word| word.parse().ok()).unwrap_or(0);
            Some((after.saturating_add(wait), what, [number(), number()]))
        });
    }

    /// Tells the device what the script says until now. What comes while a frame is on its way to the panel must wait.
    fn take_inputs(&mut self, device: &mut Device<'_>) {
        let now = Time::from_millis(self.now);
        while let Some((at, what, [first, second])) = self.line.clone() {
            if at > self.now {
                return;
            }
            // @IF:NO_FIELDS@
            let _ = second;
            // @END@
            // @IF:NO_INPUTS@
            let _ = (&device, now);
            // @END@
            match what.as_str() {
                // @IF:KEYS@
                "press" | "down" | "up" => {
                    let key = place(first.saturating_sub(1));
                    if let Some(key) = key.and_then(|place| Key::ALL.get(place)) {
                        if what != "up" {
                            device.key_down(now, *key);
                        }
                        if what != "down" {
                            device.key_up(now, *key);
                        }
                    }
                }
                // @END@
                // @IF:EVENTS@
                "event" => {
                    if let Some(event) = place(first).and_then(|place| Event::ALL.get(place)) {
                        if device.event(now, *event) == Err(Refused::Sending) {
                            return;
                        }
                    }
                }
                // @END@
                // @IF:FIELDS@
                "measure" => {
                    if let Some(field) = place(first).and_then(|place| Field::ALL.get(place)) {
                        device.measured(*field, second as i32);
                    }
                }
                "arrive" => {
                    if let Some(field) = place(first).and_then(|place| Field::ALL.get(place)) {
                        if device.arrived(now, *field, second as i32).is_err() {
                            return;
                        }
                    }
                }
                // @END@
                "temperature" => self.temperature = first as i16,
                _ => {}
            }
            self.read(at);
        }
    }

    fn send(&mut self, lines: &Lines<'_>) {
        if lines.plane == Plane::New {
            for (line, row) in (usize::from(lines.first_line)..).zip(lines.rows()) {
                let start = line * STRIDE + usize::from(lines.first_byte);
                self.frame[start..start + row.len()].copy_from_slice(row);
            }
        }
    }

    fn refresh(&mut self, refresh: Refresh, folder: &Path) -> std::io::Result<()> {
        let (mode, takes) = match refresh.mode {
            Mode::Full(_) => ("full", FULL_MS),
            Mode::Partial => ("partial", PARTIAL_MS),
        };
        self.ready = self.now + takes;
        let name = format!("{:04}.pbm", self.images);
        self.images += 1;
        let mut image = format!("P4\n{WIDTH} {HEIGHT}\n").into_bytes();
        for y in 0..HEIGHT {
            for x in (0..WIDTH).step_by(8) {
                let pixels = (x..x + 8).map(|x| x < WIDTH && self.is_ink(x, y));
                image.push(pixels.fold(0, |byte, ink| byte << 1 | u8::from(ink)));
            }
        }
        std::fs::write(folder.join(&name), image)?;
        let Window {
            x,
            y,
            width,
            height,
            ..
        } = refresh.window;
        println!(
            "{name} at {} ms: {mode}, {width} x {height} at {x}, {y}",
            self.now
        );
        Ok(())
    }

    fn is_ink(&self, x: u16, y: u16) -> bool {
        let (byte, bit) = place_of(x, y);
        (self.frame[byte] & bit != 0) == INK
    }

    /// Time passes at once: to the next wake-up, the script's next line or the end of a refresh. Whether anything follows.
    fn sleep(&mut self, until: Option<Time>) -> bool {
        let refreshing = self.now < self.ready;
        if self.line.is_none() && !refreshing {
            return false;
        }
        let line = self.line.as_ref().map(|(at, ..)| *at);
        let next = [
            until.map(Time::millis),
            line,
            refreshing.then_some(self.ready),
        ]
        .into_iter()
        .flatten()
        .min();
        self.now = next.map_or(self.now, |next| next.max(self.now));
        next.is_some()
    }
}
// @IF:INPUTS@

fn place(number: i64) -> Option<usize> {
    usize::try_from(number).ok()
}
// @END@

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let folder = std::env::args().nth(1).unwrap_or_else(|| ".".to_owned());
    let mut host = Host {
        script: std::io::stdin().lock().lines().map_while(Result::ok),
        line: None,
        now: @BEGIN@,
        temperature: 200,
        ready: 0,
        frame: vec![0; LINES * STRIDE],
        images: 0,
    };
    host.read(host.now);

    let mut store = Store::new();
    // @IF:FIELDS@
    let mut setup = Setup::new(&mut store)?;
    for (field, number) in SAMPLES {
        setup.preset(*field, *number);
    }
    for (field, past) in PAST {
        past.iter()
            .for_each(|number| setup.past_add(*field, *number));
    }
    // @END@
    // @IF:NO_FIELDS@
    let setup = Setup::new(&mut store)?;
    // @END@
    let mut device = setup.begin(Time::from_millis(host.now));
    let mut refreshing = false;
    loop {
        if refreshing && host.now >= host.ready {
            refreshing = false;
            device.busy(Some(Time::from_millis(host.now)));
        }
        host.take_inputs(&mut device);
        match device.next(Time::from_millis(host.now), host.temperature) {
            Task::Send(lines) => host.send(&lines),
            Task::Refresh(refresh) => {
                host.refresh(refresh, Path::new(&folder))?;
                device.busy(None);
                refreshing = true;
            }
            Task::Blocked => println!("no waveform of the panel serves this temperature"),
            Task::Sleep { until } => {
                if !host.sleep(until) {
                    return Ok(());
                }
            }
        }
    }
}
