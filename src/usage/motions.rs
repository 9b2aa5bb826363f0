//! How sampled values move.

use super::content;
use crate::behaviour::field::Wave;
use crate::device::Device;
use crate::random;
use crate::screen::values::{FieldId, Values};
use crate::units::Seconds;
use rand_chacha::ChaCha8Rng;

/// The motion of every field of a device. Each field has random numbers of its own.
#[derive(Debug)]
pub struct Motions {
    fields: Vec<Moving>,
    wave: Wave,
}

#[derive(Debug)]
struct Moving {
    /// How often the field was sampled.
    count: usize,
    random: ChaCha8Rng,
}

impl Motions {
    /// Nothing has moved yet.
    pub fn new(device: &Device) -> Self {
        let contents: Vec<String> = device.fields.iter().map(|field| content::field(device, field)).collect();
        let streams = random::streams(contents.iter().map(String::as_str));
        let moving = |stream| Moving { count: 0, random: random::source(device.usage.seed, stream) };
        Self { fields: streams.into_iter().map(moving).collect(), wave: Wave::default() }
    }

    /// The next value of a field.
    pub fn sample(&mut self, device: &Device, field: FieldId, time: Seconds, values: &Values) -> f64 {
        let Moving { count, random } = &mut self.fields[field.0];
        let value = device.fields[field.0].next(field, values, (time, *count), &mut self.wave, random);
        *count += 1;
        value
    }
}
