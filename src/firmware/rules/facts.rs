//! Facts of a design that the machine in C is told in front of its rules, or its compiler as constants.
//!
//! Not for what happens when; see [`super`].

use super::bytes::milliseconds;
use super::sizes::Sizes;
use crate::behaviour::policy::BusyPresses;
use crate::device::Device;
use crate::frame::{Axis, BitOrder, Packing, Scan};
use crate::hardware::panel::Drive;
use crate::limits;
use crate::screen::values::FieldId;
use crate::source::fault::Fault;
use crate::units::{Celsius, Seconds};

/// Where lists begin in the rules.
pub(super) struct Places {
    pub places: usize,
    pub fields: usize,
    pub beats: usize,
    pub within: usize,
    pub recent: usize,
}

/// All facts, in the order of `ink_machine_rules.h`.
pub(super) fn facts(
    device: &Device,
    packing: &Packing,
    past: usize,
    sizes: &Sizes,
    at: &Places,
) -> Result<Vec<(&'static str, u32)>, Fault> {
    let panel = &device.panel;
    let policy = &device.policy;
    let size = panel.size();
    let unfit = |why| Fault::plain(format!("cannot pack the screens: {why}"));
    let stride = packing.stride_of(size.width, size.height).map_err(unfit)?;
    let bytes = packing.plane().size(size.width, size.height).map_err(unfit)?;
    let one_more = |field: Option<FieldId>| field.map_or(0, |field| field.0 + 1);
    let planes = |drive: &Drive| if drive.planes > 1 { 2 } else { 1 };
    let flags = u32::from(policy.busy_presses == BusyPresses::Drop)
        | u32::from(panel.partial.is_some()) << 1
        | u32::from(policy.full_every.is_some()) << 2;
    let layout = u32::from(packing.scan == Scan::Columns)
        | u32::from(packing.along == Axis::Y) << 1
        | u32::from(packing.origin.right()) << 2
        | u32::from(packing.origin.bottom()) << 3
        | u32::from(packing.bits == BitOrder::LsbFirst) << 4;
    let [interval, age] = [policy.min_interval, policy.full_every.unwrap_or(Seconds(0.0))].map(milliseconds);
    let temperatures = [Some(&panel.full), panel.partial.as_ref()].map(|drive| drive.map_or([0, -1], tenths));
    let counted = [
        ("SCREENS", device.screens.len()),
        ("FIELDS", device.fields.len()),
        ("EVENTS", device.events.len()),
        ("KEYS", device.keys().min(limits::KEYS)),
        ("TIMERS", sizes.timers),
        ("SAVED_SCREEN", sizes.saved[0]),
        ("SAVED_BOX", sizes.saved[1]),
        ("PAST", past),
        ("RECENT", device.flow_state.recent.len()),
        ("BOXES", sizes.boxes),
        ("FROZEN", sizes.frozen),
        ("PLACES_AT", at.places),
        ("FIELDS_AT", at.fields),
        ("BEATS_AT", at.beats),
        ("WITHIN_AT", at.within),
        ("RECENT_AT", at.recent),
        ("HOME", device.usage.home.0),
        ("LANGUAGE", one_more(device.language)),
        ("FRONT", one_more(device.flow_state.front)),
        ("BEFORE", one_more(device.flow_state.before)),
        ("LOCALES", device.locales.len()),
        ("WIDTH", panel.native.width as usize),
        ("HEIGHT", panel.native.height as usize),
        ("LINES", bytes / stride.max(1) as usize),
        ("STRIDE", stride as usize),
        ("ORIGIN_X", packing.origin_at[0] as usize),
        ("ORIGIN_Y", packing.origin_at[1] as usize),
    ];
    let stated = [
        ("POLICY", flags),
        ("PLANES", planes(&panel.full)),
        ("PARTIAL_PLANES", panel.partial.as_ref().map_or(1, planes)),
        ("LAYOUT", layout),
        ("LIMIT", policy.max_partials),
        ("INTERVAL", interval as u32),
        ("INTERVAL_HIGH", (interval >> 32) as u32),
        ("AGE", age as u32),
        ("AGE_HIGH", (age >> 32) as u32),
        ("FULL_FROM", temperatures[0][0] as u32),
        ("FULL_TO", temperatures[0][1] as u32),
        ("PARTIAL_FROM", temperatures[1][0] as u32),
        ("PARTIAL_TO", temperatures[1][1] as u32),
    ];
    let too_large = |name| Fault::plain(format!("cannot write the rules for firmware: {name} is beyond 16 bits"));
    let counted = counted.into_iter().map(|(name, number)| {
        let fits = u16::try_from(number).map_err(|_| too_large(name))?;
        Ok((name, u32::from(fits)))
    });
    counted.chain(stated.into_iter().map(Ok)).collect()
}

/// The lowest and the highest tenth of a degree that a waveform's table covers.
fn tenths(drive: &Drive) -> [i32; 2] {
    let (Some(first), Some(last)) = (drive.knots.first(), drive.knots.last()) else { return [0, -1] };
    let near = |celsius: f64| (celsius * 10.0).round() as i32;
    let covers = |tenth: &i32| drive.covers(Celsius(f64::from(*tenth) / 10.0));
    let low = (near(first.at.0) - 1..=near(first.at.0) + 1).find(covers);
    let high = (near(last.at.0) - 1..=near(last.at.0) + 1).rev().find(covers);
    low.zip(high).map_or([0, -1], |(low, high)| [low, high])
}
