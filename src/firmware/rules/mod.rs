//! What keys, timers and events do, when what is measured, and when the panel is refreshed, as bytes that the machine in C
//! (`ink_machine.c`) reads in place: numbers of seven bits a byte, lists one after the other, reactions once each.
//! The layout is told in `ink_machine_rules.h`, which this must match.
//!
//! Not for pictures: those are [`super::tables`].

mod bytes;
mod facts;
mod reactions;
mod sizes;
mod spare;
mod widths;
mod world;

use crate::behaviour::{Since, Wiring};
use crate::device::Device;
use crate::frame::Packing;
use crate::limits;
use crate::screen::ScreenId;
use crate::source::fault::Fault;
use bytes::Bytes;
use reactions::Reactions;
use sizes::Sizes;
use std::collections::HashMap;
use widths::Widths;

/// The machine's tables.
#[derive(Debug)]
pub struct Rules {
    /// The bytes, facts in front.
    pub bytes: Vec<u8>,
    /// Facts by the names that the machine in C gives them: the exporter states them to the compiler, which needs none in
    /// front of the bytes then.
    pub facts: Vec<(&'static str, u32)>,
    /// Cells of four bytes that the machine keeps its state in, built for this design and with all its parts.
    pub cells: [usize; 2],
    /// Screens that the way back remembers.
    pub back: usize,
    /// Cells more that the panel's state takes, with what it shows, likewise.
    pub panel_cells: [usize; 2],
    /// How values are kept where the machine is built for this design; `None`: in four bytes each.
    pub widths: Option<Widths>,
    /// Bytes of the structures that keep the rest of the state, with addresses of 32 bits and of 64.
    pub structures: [usize; 2],
    /// Parts of the machine that the design does without, by the names that its header gives them.
    pub spare: Vec<&'static str>,
}

impl Rules {
    /// Gathers the tables of a device whose picture is packed like this and whose charts keep their past in so many bytes.
    ///
    /// # Errors
    /// When a number of the design is beyond what firmware of 32 bits can hold, or the packing does not suit the panel.
    pub fn of(device: &Device, packing: &Packing, past: usize) -> Result<Self, Fault> {
        let mut reactions = Reactions::new(device);
        let wirings: Vec<Vec<u8>> = (0..device.screens.len())
            .map(|screen| wiring(device, ScreenId(screen), &mut reactions))
            .collect::<Result<_, _>>()?;
        let events: Vec<Vec<u8>> =
            (0..device.events.len()).map(|event| world::event(device, event)).collect::<Result<_, _>>()?;
        let mut body = Bytes::default();
        body.number(VERSION)?;
        body.extend(&reactions.bytes);
        // What is alike stands once.
        let mut known = HashMap::new();
        let mut section = |bytes: Vec<u8>| {
            let at = *known.entry(bytes.clone()).or_insert(body.len());
            if at == body.len() {
                body.extend(bytes);
            }
            at
        };
        let places: Vec<usize> = wirings.into_iter().chain(events).map(&mut section).collect();
        let mut list = Bytes::default();
        places.into_iter().try_for_each(|place| list.place(place))?;
        let at = facts::Places {
            places: section(list.into_bytes()),
            fields: section(world::fields(device)?),
            beats: section(world::beats(device)?),
            within: section(world::within(device)?),
            recent: section(world::recent(device)?),
        };
        let sizes = Sizes::of(device, past);
        let facts = facts::facts(device, packing, past, &sizes, &at)?;
        let spare = spare::spare(device);
        let widths = Widths::of(device);
        let all = device.fields.len();
        let value_cells = widths.as_ref().map_or(all, |widths| widths.bytes / 4);
        let fresh = widths.as_ref().map_or(all, |widths| (widths.fresh[1] - widths.fresh[0]) / 4);
        let mut bytes = Bytes::default();
        facts.iter().for_each(|(_, fact)| bytes.extend(fact.to_le_bytes()));
        bytes.extend(&body);
        Ok(Self {
            bytes: bytes.into_bytes(),
            facts,
            // An array in C has one at least.
            cells: [sizes.cells(device, [value_cells, fresh], &spare), sizes.cells(device, [all; 2], &[])]
                .map(|cells| cells.max(1)),
            back: sizes.back,
            panel_cells: [sizes.panel(value_cells), sizes.panel(all)].map(|cells| cells.max(1)),
            widths,
            structures: [4, 8].map(|address| {
                sizes.structures(device.policy.max_partials, device.policy.memo.is_some(), &spare, address)
            }),
            spare,
        })
    }

    /// The bytes behind the facts.
    pub fn body(&self) -> &[u8] {
        self.bytes.get(4 * self.facts.len()..).unwrap_or_default()
    }

    /// A fact by its name; 0 where there is none of it.
    pub fn fact(&self, name: &str) -> u32 {
        self.facts.iter().find(|(of, _)| *of == name).map_or(0, |(_, fact)| *fact)
    }
}

/// The version of the layout.
const VERSION: u64 = 4;

fn wiring(device: &Device, screen: ScreenId, reactions: &mut Reactions<'_>) -> Result<Vec<u8>, Fault> {
    let none = Wiring::default();
    let wiring = device.wirings.get(screen.0).unwrap_or(&none);
    let over = device.screens[screen.0].over.as_ref();
    let full = device.policy.full_on.get(screen.0).copied().unwrap_or(false);
    let flags = u64::from(over.is_some()) | u64::from(over.is_some_and(|over| over.frozen)) << 1 | u64::from(full) << 2;
    let (mut keys, mut timers, mut events, mut edits) =
        (Bytes::default(), Bytes::default(), Bytes::default(), Bytes::default());
    for key in 0..device.keys().min(limits::KEYS) {
        reactions.key(&mut keys, wiring.keys.get(key))?;
    }
    for timer in &wiring.timers {
        timers.number(u64::from(timer.since == Since::Entry))?;
        timers.wait(timer.wait);
        timers.number(reactions.place(&timer.reaction)?)?;
    }
    for (event, reaction) in &wiring.events {
        events.number(event.0 as u64)?;
        events.number(reactions.place(reaction)?)?;
    }
    wiring.edits.iter().try_for_each(|field| edits.number(field.0 as u64))?;
    let mut bytes = Bytes::default();
    bytes.number(flags)?;
    [keys, timers, events, edits].iter().try_for_each(|part| bytes.list(part))?;
    Ok(bytes.into_bytes())
}
