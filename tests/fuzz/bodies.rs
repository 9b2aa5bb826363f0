//! What each fuzz target does with its bytes. None may panic, hang or take memory without bound, whatever they are;
//! where there is something to hold against the result, it is asserted.

#[path = "names.rs"]
mod names;
#[path = "power.rs"]
mod power;
#[path = "running.rs"]
mod running;

pub use names::names;
pub use power::{battery, cell, power_tree, tree};
pub use running::{behaviour, script};

use embedded_graphics::prelude::Point;
use embedded_graphics::primitives::Rectangle;
use inkjoule::budget::summary::budget;
use inkjoule::check::check;
use inkjoule::frame::Frame;
use inkjoule::frame::blit::Paint;
use inkjoule::frame::files::{pbm, png, read_frame, read_gray, xbm};
use inkjoule::frame::pack::{Axis, BitOrder, Packing, Scan, pack, unpack};
use inkjoule::frame::turn::Rotation;
use inkjoule::project::load_files;
use inkjoule::screen::face::{Face, bdf as bdf_face, truetype as truetype_face};
use inkjoule::source::fault::render;
use inkjoule::source::files::Files;
use inkjoule::trace;
use inkjoule::units::{Amps, Celsius, Coulombs, Metres, PerSecond, Quantity, Ratio, Seconds};
use inkjoule::verify::dump;
use std::collections::BTreeSet;
use std::io::Cursor;

/// A board and its use in `device.toml`: everything but name, rails, loads and battery.
const BOARD: &str = r#"
[panel]
from = "mono-200x200"
rail = "main"
[display]
viewing-distance = "40 cm"
[board.mcu]
rail = "main"
ram = "16 KiB"
flash = "64 KiB"
clock = "10 MHz"
active = "2 mA"
sleep = "2 uA"
wake = "1 ms"
cycles-per-pixel = 10
[board.bus]
clock = "4 MHz"
overhead = "10 %"
[usage]
home = "a"
start = "2031-01-01"
days = 1
temperature = { low = "5 °C", high = "35 °C", warmest = "12:00" }
"#;

/// What a target does with its bytes.
pub type Body = fn(&[u8]);

/// Every target by name.
pub const TARGETS: [(&str, Body); 13] = [
    ("project", project),
    ("quantities", quantities),
    ("bdf", bdf),
    ("truetype", truetype),
    ("picture", picture),
    ("trace", trace),
    ("dump", dump),
    ("packing", packing),
    ("behaviour", behaviour),
    ("script", script),
    ("power_tree", power_tree),
    ("battery", battery),
    ("names", names),
];

/// A project of several files: each begins with a line `--- name`, and what stands before the first is `device.toml`.
/// A project that loads is checked and calculated.
pub fn project(data: &[u8]) {
    let mut files: Vec<(String, Vec<u8>)> = vec![("device.toml".to_owned(), Vec::new())];
    for line in data.split_inclusive(|byte| *byte == b'\n') {
        match line.strip_prefix(b"--- ").map(|name| String::from_utf8_lossy(name).trim().to_owned()) {
            Some(name) => files.push((name, Vec::new())),
            None => files.last_mut().expect("never empty").1.extend(line),
        }
    }
    match load_files(Files::from_memory(files)) {
        Ok(loaded) => {
            // What a project may ask for is bounded by its limits; here it must also be quick.
            let small = loaded.device.screens.len() <= 4 && loaded.device.usage.days <= 7;
            if small && quiet(&loaded.device) {
                let _ = check(&inkjoule::lint::Subject::new(&loaded.device, vec![0]), &budget(&loaded.device));
                let _ = budget(&loaded.device);
            }
        }
        Err(failed) => {
            assert!(!failed.faults.is_empty(), "a project that is refused without a word");
            let _ = render(&failed.faults, &failed.sources, false);
        }
    }
}

/// Whether nothing happens more often than every minute.
fn quiet(device: &inkjoule::device::Device) -> bool {
    use inkjoule::behaviour::Times;
    use inkjoule::behaviour::field::Renewal;
    let slow = |time: Seconds| time.0 >= 60.0;
    let fields = device.fields.iter().all(|field| !matches!(field.renewal, Renewal::Every(time) if !slow(time)));
    let events = device.events.iter().all(|event| match event.times {
        Times::Every(time, _) => slow(time),
        Times::PerDay(rate, _) => rate <= 1_000.0,
        Times::When(_) => true,
    });
    let timers = device.wirings.iter().flat_map(|wiring| &wiring.timers).all(|timer| slow(timer.wait));
    let journeys = device.usage.journeys.iter().all(|journey| journey.per_day <= 100.0 && journey.steps.len() <= 50);
    fields && events && timers && journeys
}

/// A quantity in each of several units; what is read is a finite number and can be shown.
pub fn quantities(data: &[u8]) {
    fn one<Q: Quantity + std::fmt::Display>(text: &str) {
        if let Ok(value) = Q::parse(text) {
            let value: f64 = value.into();
            assert!(value.is_finite(), "{text}");
            assert!(!Q::from(value).to_string().is_empty());
        }
    }
    let Ok(text) = std::str::from_utf8(data) else { return };
    one::<Amps>(text);
    one::<Celsius>(text);
    one::<Coulombs>(text);
    one::<Metres>(text);
    one::<PerSecond>(text);
    one::<Ratio>(text);
    one::<Seconds>(text);
}

fn letters() -> BTreeSet<char> {
    "0123456789.-:%°AaÅgłŻ".chars().collect()
}

fn draw(face: &Face) {
    let mut frame = Frame::new(64, 32);
    let _ = face.width("A0-");
    let clip = Rectangle::new(Point::zero(), frame.size());
    face.draw("A0-", Point::new(1, 20), clip, Paint::Opaque, &mut frame);
}

/// A bitmap face; one that is read is measured and drawn.
pub fn bdf(data: &[u8]) {
    let Ok(text) = std::str::from_utf8(data) else { return };
    if let Ok(face) = bdf_face::read("fuzz", text) {
        draw(&face);
    }
}

/// An outline face at a size told by the first byte.
pub fn truetype(data: &[u8]) {
    let Some((size, font)) = data.split_first() else { return };
    let size = f32::from(*size % 40) + 1.0;
    // A panic of the font library is caught and becomes an error; without this the fuzzer would stop at it.
    let told = std::panic::take_hook();
    std::panic::set_hook(Box::new(|_| ()));
    let face = truetype_face::read("fuzz", font, size, None, &letters());
    std::panic::set_hook(told);
    if let Ok(face) = face {
        draw(&face);
    }
}

/// A picture file; one that is read is written in every format and read again.
pub fn picture(data: &[u8]) {
    let _ = read_gray(data);
    let Ok(frame) = read_frame(data) else { return };
    if frame.width() > 0 && frame.height() > 0 && frame.width() <= 512 && frame.height() <= 512 {
        assert!(read_frame(&pbm(&frame)).is_ok_and(|again| again == frame));
        let again = png(&frame, 1).ok().and_then(|file| read_frame(&file).ok());
        assert_eq!(again.as_ref(), Some(&frame));
        let _ = xbm(&frame, "fuzz");
    }
}

/// A measured current.
pub fn trace(data: &[u8]) {
    let settings = trace::Settings::default();
    if let Ok(found) = trace::read_from("fuzz", Cursor::new(data), data.len() as u64, &settings) {
        let kinds = trace::kinds::kinds(&found);
        let _ = trace::text::text(&found, &kinds, None, inkjoule::look::Look { width: 80, color: false });
        let _ = trace::json::json(&found, &kinds, None);
        let _ = trace::profile::profile(&found, &kinds, Celsius(20.0), None);
    }
}

/// A frame read back from a device, in every form.
pub fn dump(data: &[u8]) {
    let guessed = dump::guess(data);
    for form in [dump::Form::Raw, dump::Form::Hex, dump::Form::C, dump::Form::IntelHex] {
        match dump::read(data, form) {
            Ok(bytes) => assert!(bytes.len() <= dump::LARGEST),
            Err(fault) => assert!(!fault.message.is_empty() && (form != guessed || form != dump::Form::Raw)),
        }
    }
}

/// Bytes as a frame of some size under some packing: what is unpacked is packed to the same.
pub fn packing(data: &[u8]) {
    let Some(([width, height, choice, stride], rest)) = data.split_first_chunk::<4>().map(|(h, r)| (*h, r)) else {
        return;
    };
    let (width, height) = (u32::from(width % 70) + 1, u32::from(height % 70) + 1);
    let packing = chosen(choice, stride);
    let Ok(size) = packing.size(width, height) else { return };
    let bytes: Vec<u8> = rest.iter().copied().cycle().take(if rest.is_empty() { 0 } else { size }).collect();
    if let Ok(frame) = unpack(&bytes, width, height, &packing) {
        let packed = pack(&frame, &packing).expect("a packing that unpacks packs");
        assert_eq!(packed.len(), size);
        assert_eq!(unpack(&packed, width, height, &packing).as_ref(), Ok(&frame));
    }
}

fn chosen(choice: u8, stride: u8) -> Packing {
    let bit = |place: u32| choice >> place & 1 == 1;
    Packing {
        scan: if bit(0) { Scan::Columns } else { Scan::Rows },
        along: if bit(1) { Axis::Y } else { Axis::X },
        bits: if bit(2) { BitOrder::LsbFirst } else { BitOrder::MsbFirst },
        pixel_polarity: bit(3).into(),
        padding: bit(4).into(),
        mirror: bit(5),
        rotation: Rotation::ALL[usize::from(choice >> 6)],
        stride: (stride > 0).then_some(u32::from(stride)),
        ..Packing::default()
    }
}
