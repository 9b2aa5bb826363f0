//! What comes from outside and when: fields at the start, renewals, events, what happens at intervals.

use super::bytes::Bytes;
use super::duration;
use super::reactions::{condition, conditions};
use crate::behaviour::count::Count;
use crate::behaviour::field::{Motion, Renewal};
use crate::behaviour::flow_state::After;
use crate::behaviour::{EventId, Hours, Times};
use crate::device::Device;
use crate::firmware::tables::condition::decimals;
use crate::machine::state::renewals;
use crate::source::fault::Fault;

/// The value of each field at the start: what is set by keys begins with the sample, what is measured is not known yet.
pub fn fields(device: &Device) -> Result<Vec<u8>, Fault> {
    let mut bytes = Bytes::default();
    for field in &device.fields {
        let count = Count::new(field.range, field.grain());
        let known = field.renewal == Renewal::Never && !field.sample.is_nan();
        bytes.number(u64::from(known))?;
        if known {
            bytes.signed(count.number(field.sample) as i64)?;
        }
    }
    Ok(bytes.into_bytes())
}

/// Fields that stay within what another one counts: how many, then the counting field with its decimals, the field with its
/// decimals, and its ends.
pub fn within(device: &Device) -> Result<Vec<u8>, Fault> {
    let mut bytes = Bytes::default();
    let all = || device.fields.iter().enumerate().filter_map(|(at, field)| Some((at, field, field.within?)));
    bytes.number(all().count() as u64)?;
    for (at, field, counts) in all() {
        let (low, high) = Count::new(field.range, field.grain()).ends();
        for number in [counts.0, decimals(device, counts.0) as usize, at, decimals(device, at) as usize] {
            bytes.number(number as u64)?;
        }
        bytes.signed(low as i64)?;
        bytes.signed(high as i64)?;
    }
    Ok(bytes.into_bytes())
}

/// Times after something: the cause, its number, how long, the flow state.
pub fn recent(device: &Device) -> Result<Vec<u8>, Fault> {
    let mut bytes = Bytes::default();
    for recent in &device.flow_state.recent {
        let (cause, number) = match recent.cause {
            After::Key(None) => (0, 0),
            After::Key(Some(key)) => (1, key),
            After::Entry(screen) => (2, screen.0),
            After::Event(event) => (3, event.0),
        };
        bytes.number(cause)?;
        bytes.number(number as u64)?;
        duration(&mut bytes, recent.lasts)?;
        bytes.number(recent.field.0 as u64)?;
    }
    Ok(bytes.into_bytes())
}

/// One event: the flow state that remembers it, while what, when what becomes true, what is renewed.
pub fn event(device: &Device, event: usize) -> Result<Vec<u8>, Fault> {
    let mut bytes = Bytes::default();
    let happened = device.flow_state.happened.get(event).copied().flatten();
    bytes.number(happened.map_or(0, |field| field.0 as u64 + 1))?;
    conditions(&mut bytes, device, &device.events[event].only)?;
    match &device.events[event].times {
        Times::When(when) => {
            bytes.number(1)?;
            condition(&mut bytes, device, when)?;
        }
        Times::Every(..) | Times::PerDay(..) => bytes.number(0)?,
    }
    let fields = renewals(device, EventId(event));
    bytes.number(fields.len() as u64)?;
    fields.into_iter().try_for_each(|field| renewal(&mut bytes, device, field.0))?;
    Ok(bytes.into_bytes())
}

/// A field that is renewed: whether with the time, and whether charts keep its past.
fn renewal(bytes: &mut Bytes, device: &Device, field: usize) -> Result<(), Fault> {
    let clock = matches!(device.fields[field].motion, Motion::Clock);
    bytes.number(field as u64)?;
    bytes.number(u64::from(clock) | u64::from(device.fields[field].history > 0) << 1)
}

/// What happens at intervals, in the order of equal times: events, then samples.
pub fn beats(device: &Device) -> Result<Vec<u8>, Fault> {
    let mut bytes = Bytes::default();
    for (index, event) in device.events.iter().enumerate() {
        let Times::Every(interval, hours) = event.times else { continue };
        let whole = hours == Hours::ALL;
        bytes.number(if whole { 0 } else { 2 })?;
        duration(&mut bytes, interval)?;
        bytes.number(index as u64)?;
        if !whole {
            duration(&mut bytes, hours.from)?;
            duration(&mut bytes, hours.length)?;
        }
    }
    for (index, field) in device.fields.iter().enumerate() {
        let Renewal::Every(interval) = field.renewal else { continue };
        bytes.number(1)?;
        duration(&mut bytes, interval)?;
        renewal(&mut bytes, device, index)?;
        conditions(&mut bytes, device, &field.only)?;
    }
    Ok(bytes.into_bytes())
}
