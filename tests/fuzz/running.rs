//! Bytes as what happens to a running device: the product of `tests/product`, which uses every feature of behaviour.

use inkjoule::behaviour::EventId;
use inkjoule::cost::energy::window_cost;
use inkjoule::device::Device;
use inkjoule::filmstrip::script_shots;
use inkjoule::machine::canvas::drawn;
use inkjoule::machine::{Key, Machine, Micros, PanelStep, World, micros};
use inkjoule::project::{Loaded, load_files};
use inkjoule::refresh::update::Planner;
use inkjoule::screen::values::{FieldId, Values};
use inkjoule::source::files::Files;
use inkjoule::units::{Celsius, Seconds};
use inkjoule::usage::script;
use std::path::Path;
use std::sync::OnceLock;

/// A script or log that lasts longer is not played: what happens in an hour happens again.
const LONGEST: Micros = 3_600_000_000;

fn product() -> &'static Device {
    static PRODUCT: OnceLock<Loaded> = OnceLock::new();
    let loaded = PRODUCT.get_or_init(|| {
        // From the folder of the crate that runs this, which is the fuzz targets' own or the project's.
        let root = Path::new(env!("CARGO_MANIFEST_DIR")).ancestors().find(|root| root.join("tests/product").is_dir());
        let files =
            Files::read(&root.expect("the project's folder").join("tests/product")).expect("the product's files");
        load_files(files).expect("the product loads")
    });
    &loaded.device
}

/// Values of the world: bytes in turn, across each field's range.
struct Given<'d> {
    bytes: std::iter::Cycle<std::slice::Iter<'d, u8>>,
}

impl World for Given<'_> {
    fn sample(&mut self, device: &Device, field: FieldId, _: Seconds, _: &Values) -> f64 {
        let [low, high] = device.fields[field.0].range;
        low + (high - low) * f64::from(*self.bytes.next().unwrap_or(&0)) / 255.0
    }
}

/// Three bytes an input: keys, events, values, time. Time never passes over a wake-up, what is sent shows what a drawing
/// from nothing shows, and what is in front is a screen of the device.
pub fn behaviour(data: &[u8]) {
    let device = product();
    let mut world = Given { bytes: data.iter().cycle() };
    let parameters = device.inputs.typical();
    let mut planner = Planner::new(window_cost(device, &parameters));
    let mut machine = Machine::new(device, device.usage.home, 0);
    for input in data.chunks_exact(3).take(400) {
        let (which, amount) = (usize::from(input[1]), u64::from(input[2]));
        let now = machine.now();
        match input[0] % 8 {
            0 | 1 => drop(machine.key(device, Key::Down(which % device.keys()), &mut world)),
            2 | 3 => drop(machine.key(device, Key::Up(which % device.keys()), &mut world)),
            4 => machine.come(device, EventId(which % device.events.len()), &mut world),
            5 => {
                let field = FieldId(which % device.fields.len());
                let value = world.sample(device, field, Seconds(0.0), &machine.state.values.clone());
                machine.put(device, field, value, &mut world);
            }
            6 => {
                let until = now + amount * amount * 20_000;
                machine.run(device, machine.wake(device).map_or(until, |wake| wake.min(until)), &mut world);
            }
            _ => {
                let next = machine.wake(device).expect("the product samples by itself");
                machine.run(device, next, &mut world);
            }
        }
        assert!(machine.now() >= now, "time went back");
        let temperature = Celsius(f64::from(input[2] % 40));
        match machine.look(device, temperature, &mut planner, &mut world) {
            PanelStep::Send(_) => {
                let locale = machine.canvas.locale();
                assert!(
                    machine.canvas.shown == drawn(device, &machine.state, locale),
                    "the panel shows another picture"
                );
                machine.sent(machine.now() + micros(Seconds(0.3)));
            }
            PanelStep::Nothing | PanelStep::Refused => {}
        }
        assert!(machine.state.front().0 < device.screens.len());
        assert!(machine.wake(device).is_none_or(|wake| wake >= machine.now()), "a wake-up in the past");
    }
}

/// A script, or the log of a device's keys where it has commas: what is read is played.
pub fn script(data: &[u8]) {
    let Ok(text) = std::str::from_utf8(data) else { return };
    let device = product();
    let read = if text.contains(',') { script::log } else { script::script };
    match read(device, "fuzz", text) {
        Ok(script) => {
            let short = script.inputs.last().is_none_or(|last| last.at <= LONGEST);
            if short && script.inputs.len() <= 100 {
                let (shots, _) = script_shots(device, 0, &script);
                assert!(shots.iter().all(|shot| shot.frame.size() == device.panel.size()));
            }
        }
        Err(fault) => {
            assert!(fault.message.starts_with("fuzz"), "a line at fault without its place: {}", fault.message)
        }
    }
}
