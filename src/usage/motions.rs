//! How sampled values move.

use crate::behaviour::field::Wave;
use crate::device::Device;
use crate::screen::values::{FieldId, Values};
use crate::units::Seconds;
use rand_chacha::ChaCha8Rng;

/// The motion of every field of a device.
#[derive(Debug)]
pub struct Motions {
    /// How often each field was sampled.
    sampled: Vec<usize>,
    wave: Wave,
}

impl Motions {
    /// Nothing has moved yet.
    pub fn new(device: &Device) -> Self {
        Self { sampled: vec![0; device.fields.len()], wave: Wave::default() }
    }

    /// The next value of a field.
    pub fn sample(
        &mut self,
        device: &Device,
        field: FieldId,
        time: Seconds,
        values: &Values,
        random: &mut ChaCha8Rng,
    ) -> f64 {
        let count = &mut self.sampled[field.0];
        let value = device.fields[field.0].next(field, values, (time, *count), &mut self.wave, random);
        *count += 1;
        value
    }
}
