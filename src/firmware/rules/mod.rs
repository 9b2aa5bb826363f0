//! What keys, timers and events do, when what is measured, and when the panel is refreshed, as bytes that the machine in C
//! (`ink_machine.c`) reads in place: numbers of seven bits a byte, lists one after the other, reactions once each.
//! The layout is told in `ink_inside.h`, which this must match.
//!
//! Not for pictures: those are [`super::tables`].

mod bytes;
mod reactions;
mod spare;
mod world;

use crate::behaviour::field::Renewal;
use crate::behaviour::policy::{BusyPresses, Policy};
use crate::behaviour::{Since, Times, Wiring};
use crate::device::Device;
use crate::frame::{Axis, BitOrder, Packing, Scan};
use crate::hardware::panel::Drive;
use crate::limits;
use crate::screen::ScreenId;
use crate::source::fault::Fault;
use crate::units::Seconds;
use bytes::Bytes;
use reactions::Reactions;

/// The machine's tables.
#[derive(Debug)]
pub struct Rules {
    /// The bytes.
    pub bytes: Vec<u8>,
    /// Cells of four bytes that the machine keeps its state in.
    pub cells: usize,
    /// Cells more that the panel's state takes, with what it shows.
    pub panel_cells: usize,
    /// Parts of the machine that the design does without, by the names that its header gives them.
    pub spare: Vec<&'static str>,
}

/// Bytes of a time's parts: whole seconds, and thousandths.
fn duration(bytes: &mut Bytes, time: Seconds) -> Result<(), Fault> {
    let thousandths = (time.0.max(0.0) * 1e3).round() as u64;
    bytes.number(thousandths / 1000)?;
    bytes.number(thousandths % 1000)
}

/// Bytes in front of the header's words.
const FLAGS: usize = 8;

impl Rules {
    /// Gathers the tables of a device whose picture is packed like this and whose charts keep their past in so many bytes.
    ///
    /// # Errors
    /// When a number of the design is beyond what firmware of 32 bits can hold, or the packing does not suit the panel.
    pub fn of(device: &Device, packing: &Packing, past: usize) -> Result<Self, Fault> {
        let mut reactions = Reactions::new(device);
        let mut body = Bytes::default();
        let wirings: Vec<Vec<u8>> = (0..device.screens.len())
            .map(|screen| wiring(device, ScreenId(screen), &mut reactions))
            .collect::<Result<_, _>>()?;
        let events: Vec<Vec<u8>> =
            (0..device.events.len()).map(|event| world::event(device, event)).collect::<Result<_, _>>()?;
        let header = FLAGS + 3 * WORDS;
        body.extend(&reactions.bytes);
        let mut list = |all: &[Vec<u8>]| -> Result<usize, Fault> {
            let mut places = Vec::new();
            for one in all {
                places.push(header + body.len());
                body.extend(one);
            }
            let at = header + body.len();
            places.into_iter().try_for_each(|place| body.word(place))?;
            Ok(at)
        };
        let (screens, events) = (list(&wirings)?, list(&events)?);
        let mut section = |bytes: Vec<u8>| {
            let at = header + body.len();
            body.extend(&bytes);
            at
        };
        let fields = section(world::fields(device)?);
        let beats = section(world::beats(device)?);
        let policy = section(policy(device)?);
        let within = section(world::within(device)?);
        let recent = section(world::recent(device)?);
        let sizes = Sizes::of(device, past);
        let size = device.panel.size();
        let unfit = |why| Fault::plain(format!("cannot pack the screens: {why}"));
        let stride = packing.stride_of(size.width, size.height).map_err(unfit)?;
        let bytes = packing.plane().size(size.width, size.height).map_err(unfit)?;
        let native = device.panel.native;
        let one_more = |field: Option<crate::screen::values::FieldId>| field.map_or(0, |field| field.0 + 1);
        let words = [
            device.screens.len(),
            device.fields.len(),
            device.events.len(),
            sizes.timers,
            sizes.saved[0],
            sizes.saved[1],
            past,
            screens,
            fields,
            events,
            beats,
            policy,
            device.usage.home.0,
            one_more(device.language),
            one_more(device.flow_state.front),
            one_more(device.flow_state.before),
            device.locales.len(),
            sizes.beats,
            native.width as usize,
            native.height as usize,
            bytes / stride.max(1) as usize,
            stride as usize,
            packing.origin_at[0] as usize,
            packing.origin_at[1] as usize,
            within,
            device.flow_state.recent.len(),
            recent,
        ];
        let mut all = Bytes::default();
        all.extend(flags(device, packing, &sizes)?);
        words.into_iter().try_for_each(|word| all.word(word))?;
        all.extend(&body);
        Ok(Self {
            bytes: all.into_bytes(),
            cells: sizes.cells(device),
            panel_cells: sizes.panel(),
            spare: spare::spare(device),
        })
    }
}

impl Rules {
    /// How the picture is packed, as the header says it.
    pub fn layout(&self) -> u8 {
        self.bytes.get(FLAGS - 1).copied().unwrap_or(0)
    }
}

/// Words of the header.
const WORDS: usize = 27;

/// The version of the layout.
const VERSION: u8 = 3;

fn flags(device: &Device, packing: &Packing, sizes: &Sizes) -> Result<[u8; FLAGS], Fault> {
    let panel = &device.panel;
    let policy = u8::from(device.policy.busy_presses == BusyPresses::Drop)
        | u8::from(panel.partial.is_some()) << 1
        | u8::from(device.policy.full_every.is_some()) << 2;
    let layout = u8::from(packing.scan == Scan::Columns)
        | u8::from(packing.along == Axis::Y) << 1
        | u8::from(packing.origin.right()) << 2
        | u8::from(packing.origin.bottom()) << 3
        | u8::from(packing.bits == BitOrder::LsbFirst) << 4;
    let planes = |drive: &Drive| if drive.planes > 1 { 2 } else { 1 };
    let keys = u8::try_from(device.keys().min(limits::KEYS)).unwrap_or(u8::MAX);
    Ok([
        VERSION,
        policy,
        keys,
        sizes.boxes as u8,
        sizes.frozen as u8,
        planes(&panel.full),
        panel.partial.as_ref().map_or(1, planes),
        layout,
    ])
}

/// What sizes the state.
struct Sizes {
    /// Most timers of one screen.
    timers: usize,
    /// Most edited fields of a screen, and of a box.
    saved: [usize; 2],
    /// Boxes over one another at most, and how many of them freeze what lies below.
    boxes: usize,
    frozen: usize,
    /// Periodic events and fields.
    beats: usize,
    /// Cells of all values with their past.
    block: usize,
}

impl Sizes {
    fn of(device: &Device, past: usize) -> Self {
        let edits = |boxes: bool| {
            let here = device.screens.iter().zip(&device.wirings).filter(move |(s, _)| s.over.is_some() == boxes);
            here.map(|(_, wiring)| wiring.edits.len()).max().unwrap_or(0)
        };
        let overs = || device.screens.iter().filter_map(|screen| screen.over.as_ref());
        let every = |event: &&crate::behaviour::Event| matches!(event.times, Times::Every(..));
        let sampled = device.fields.iter().filter(|field| matches!(field.renewal, Renewal::Every(_))).count();
        Self {
            timers: device.wirings.iter().map(|wiring| wiring.timers.len()).max().unwrap_or(0),
            saved: [edits(false), edits(true)],
            boxes: overs().count().min(limits::BOX_DEPTH),
            frozen: overs().filter(|over| over.frozen).count().min(limits::BOX_DEPTH),
            beats: device.events.iter().filter(every).count() + sampled,
            block: device.fields.len() + past.div_ceil(4),
        }
    }

    /// As `ink_cells` in C counts them.
    fn cells(&self, device: &Device) -> usize {
        let fields = device.fields.len();
        let keys = device.keys().min(limits::KEYS);
        let saved = self.saved[0] + self.saved[1] * self.boxes;
        let waiting = limits::WAITING_KEYS + keys;
        let bits = 2 * device.events.len().div_ceil(32);
        let times = self.beats + self.timers + device.flow_state.recent.len();
        self.block * (1 + self.frozen) + fields + saved + bits + 2 * times + 4 * keys + waiting
    }

    /// As `ink_panel_cells` in C counts them.
    fn panel(&self) -> usize {
        self.block * (1 + self.frozen)
    }
}

fn wiring(device: &Device, screen: ScreenId, reactions: &mut Reactions<'_>) -> Result<Vec<u8>, Fault> {
    let none = Wiring::default();
    let wiring = device.wirings.get(screen.0).unwrap_or(&none);
    let over = device.screens[screen.0].over.as_ref();
    let full = device.policy.full_on.get(screen.0).copied().unwrap_or(false);
    let flags = u64::from(over.is_some()) | u64::from(over.is_some_and(|over| over.frozen)) << 1 | u64::from(full) << 2;
    let mut bytes = Bytes::default();
    bytes.number(flags)?;
    bytes.number(wiring.edits.len() as u64)?;
    wiring.edits.iter().try_for_each(|field| bytes.number(field.0 as u64))?;
    for key in 0..device.keys().min(limits::KEYS) {
        reactions.key(&mut bytes, wiring.keys.get(key))?;
    }
    bytes.number(wiring.timers.len() as u64)?;
    for timer in &wiring.timers {
        bytes.number(u64::from(timer.since == Since::Entry))?;
        duration(&mut bytes, timer.wait)?;
        bytes.number(reactions.place(&timer.reaction)?)?;
    }
    bytes.number(wiring.events.len() as u64)?;
    for (event, reaction) in &wiring.events {
        bytes.number(event.0 as u64)?;
        bytes.number(reactions.place(reaction)?)?;
    }
    Ok(bytes.into_bytes())
}

/// Partial limit, interval, age, and the temperatures of both waveforms in tenths of a degree.
fn policy(device: &Device) -> Result<Vec<u8>, Fault> {
    let Policy { max_partials, full_every, min_interval, .. } = &device.policy;
    let mut bytes = Bytes::default();
    bytes.number((*max_partials).into())?;
    duration(&mut bytes, *min_interval)?;
    duration(&mut bytes, full_every.unwrap_or(Seconds(0.0)))?;
    for drive in [Some(&device.panel.full), device.panel.partial.as_ref()] {
        let [low, high] = drive.map_or([0, -1], tenths);
        bytes.signed(low)?;
        bytes.signed(high)?;
    }
    Ok(bytes.into_bytes())
}

/// The lowest and the highest tenth of a degree that a waveform's table covers.
fn tenths(drive: &Drive) -> [i64; 2] {
    let (Some(first), Some(last)) = (drive.knots.first(), drive.knots.last()) else { return [0, -1] };
    let near = |celsius: f64| (celsius * 10.0).round() as i64;
    let covers = |tenth: &i64| drive.covers(crate::units::Celsius(*tenth as f64 / 10.0));
    let low = (near(first.at.0) - 1..=near(first.at.0) + 1).find(covers);
    let high = (near(last.at.0) - 1..=near(last.at.0) + 1).rev().find(covers);
    low.zip(high).map_or([0, -1], |(low, high)| [low, high])
}
