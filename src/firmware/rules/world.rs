//! What comes from outside and when: fields at the start, renewals, events, what happens at intervals.

use super::bytes::Bytes;
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

/// Fields that stay within what another one counts, each: the counting field with its decimals, the field with its
/// decimals, and its ends.
pub fn within(device: &Device) -> Result<Vec<u8>, Fault> {
    let mut bytes = Bytes::default();
    let all = device.fields.iter().enumerate().filter_map(|(at, field)| Some((at, field, field.within?)));
    for (at, field, counts) in all {
        let (low, high) = Count::new(field.range, field.grain()).ends();
        for number in [counts.0, decimals(device, counts.0) as usize, at, decimals(device, at) as usize] {
            bytes.number(number as u64)?;
        }
        bytes.signed(low as i64)?;
        bytes.signed(high as i64)?;
    }
    listed(&bytes)
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
        bytes.wait(recent.lasts);
        bytes.number(recent.field.0 as u64)?;
    }
    listed(&bytes)
}

/// One event: the flow state that remembers it, while what, when what becomes true, what is renewed.
pub fn event(device: &Device, event: usize) -> Result<Vec<u8>, Fault> {
    let mut bytes = Bytes::default();
    let happened = device.flow_state.happened.get(event).copied().flatten();
    bytes.number(happened.map_or(0, |field| field.0 as u64 + 1))?;
    conditions(&mut bytes, device, &device.events[event].only)?;
    let mut rises = Bytes::default();
    if let Times::When(when) = &device.events[event].times {
        condition(&mut rises, device, when)?;
    }
    bytes.list(&rises)?;
    let mut renewed = Bytes::default();
    renewals(device, EventId(event)).into_iter().try_for_each(|field| renewal(&mut renewed, device, field.0))?;
    bytes.list(&renewed)?;
    Ok(bytes.into_bytes())
}

/// Bytes as a list.
fn listed(bytes: &Bytes) -> Result<Vec<u8>, Fault> {
    let mut list = Bytes::default();
    list.list(bytes)?;
    Ok(list.into_bytes())
}

/// A field that is renewed: whether with the time, and whether charts keep its past.
fn renewal(bytes: &mut Bytes, device: &Device, field: usize) -> Result<(), Fault> {
    let clock = matches!(device.fields[field].motion, Motion::Clock);
    bytes.number(field as u64)?;
    bytes.number(u64::from(clock) | u64::from(device.fields[field].history > 0) << 1)
}

/// What happens at intervals, in the order of equal times: events, then samples. Samples that follow one another at the
/// same interval and under the same conditions are one.
pub fn beats(device: &Device) -> Result<Vec<u8>, Fault> {
    let mut all = Bytes::default();
    for (index, event) in device.events.iter().enumerate() {
        let Times::Every(interval, hours) = event.times else { continue };
        let whole = hours == Hours::ALL;
        let mut beat = Bytes::default();
        beat.wait(interval);
        beat.number(if whole { 0 } else { 2 })?;
        beat.number(index as u64)?;
        if !whole {
            beat.wait(hours.from);
            beat.wait(hours.length);
        }
        all.list(&beat)?;
    }
    let sampled = device.fields.iter().enumerate().filter_map(|(index, field)| match field.renewal {
        Renewal::Every(interval) => Some((index, interval)),
        Renewal::Never | Renewal::On(_) => None,
    });
    let mut groups: Vec<(Bytes, Bytes)> = Vec::new();
    for (index, interval) in sampled {
        let mut begin = Bytes::default();
        begin.wait(interval);
        begin.number(1)?;
        conditions(&mut begin, device, &device.fields[index].only)?;
        if groups.last().is_none_or(|(before, _)| *before != begin) {
            groups.push((begin, Bytes::default()));
        }
        if let Some((_, fields)) = groups.last_mut() {
            renewal(fields, device, index)?;
        }
    }
    for (mut begin, fields) in groups {
        begin.extend(&fields);
        all.list(&begin)?;
    }
    listed(&all)
}
