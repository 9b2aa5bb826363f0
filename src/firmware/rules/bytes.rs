//! Numbers as bytes: seven bits each, the highest first, the eighth set where more follow; places take two bytes.

use crate::source::fault::Fault;
use crate::units::Seconds;

/// Bytes that grow.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Bytes(Vec<u8>);

fn too_large(what: impl std::fmt::Display) -> Fault {
    Fault::plain(format!("cannot write the rules for firmware: {what}"))
}

/// A time in whole milliseconds.
pub fn milliseconds(time: Seconds) -> u64 {
    (time.0.max(0.0) * 1e3).round() as u64
}

impl Bytes {
    /// A number of 32 bits.
    pub fn number(&mut self, number: u64) -> Result<(), Fault> {
        u32::try_from(number).map_err(|_| too_large(format!("{number} is beyond 32 bits")))?;
        self.long_number(number);
        Ok(())
    }

    /// A number of 64 bits.
    fn long_number(&mut self, number: u64) {
        let digits = (64 - number.leading_zeros()).div_ceil(7).max(1);
        for digit in (0..digits).rev() {
            let more = if digit > 0 { 128 } else { 0 };
            self.0.push((number >> (7 * digit)) as u8 & 127 | more);
        }
    }

    /// A time in milliseconds.
    pub fn wait(&mut self, time: Seconds) {
        self.long_number(milliseconds(time));
    }

    /// A list of which these are the bytes.
    pub fn list(&mut self, bytes: impl AsRef<[u8]>) -> Result<(), Fault> {
        self.number(bytes.as_ref().len() as u64)?;
        self.extend(bytes);
        Ok(())
    }

    /// A number with a sign: 0, -1, 1, -2, 2 become 0, 1, 2, 3, 4.
    pub fn signed(&mut self, number: i64) -> Result<(), Fault> {
        let fits = i32::try_from(number).ok().filter(|number| *number != i32::MIN);
        let number = fits.ok_or_else(|| too_large(format!("{number} is beyond 32 bits")))?;
        self.number(u64::from((number << 1 ^ number >> 31) as u32))
    }

    /// A place in the tables: two bytes, the lowest first.
    pub fn place(&mut self, place: usize) -> Result<(), Fault> {
        let fits = u16::try_from(place).map_err(|_| too_large(format!("they have more than {} bytes", u16::MAX)))?;
        self.0.extend(fits.to_le_bytes());
        Ok(())
    }

    /// Bytes as they are.
    pub fn extend(&mut self, bytes: impl AsRef<[u8]>) {
        self.0.extend(bytes.as_ref());
    }

    /// How many there are.
    pub fn len(&self) -> usize {
        self.0.len()
    }

    /// All of them.
    pub fn into_bytes(self) -> Vec<u8> {
        self.0
    }
}

impl AsRef<[u8]> for Bytes {
    fn as_ref(&self) -> &[u8] {
        &self.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn small_numbers_take_one_byte() {
        let mut bytes = Bytes::default();
        for number in [0, 127, 128, 300] {
            bytes.number(number).unwrap();
        }
        for number in [0, -1, 1, -64] {
            bytes.signed(number).unwrap();
        }
        assert_eq!(bytes.into_bytes(), [0, 127, 0x81, 0, 0x82, 0x2C, 0, 1, 2, 127]);
        assert!(Bytes::default().number(1 << 32).is_err() && Bytes::default().signed(1 << 31).is_err());
        assert!(Bytes::default().place(1 << 16).is_err());
    }

    #[test]
    fn waits_may_be_longer_than_32_bits_of_milliseconds() {
        let mut bytes = Bytes::default();
        bytes.wait(Seconds(0.0015));
        bytes.wait(Seconds(4_398_046_511.104));
        assert_eq!(bytes.into_bytes(), [2, 0x81, 0x80, 0x80, 0x80, 0x80, 0x80, 0]);
    }
}
