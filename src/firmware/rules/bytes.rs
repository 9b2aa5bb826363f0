//! Numbers as bytes: seven bits each, the lowest first, the eighth set where more follow; places take three bytes.

use crate::source::fault::Fault;

/// Bytes that grow.
#[derive(Clone, Debug, Default)]
pub struct Bytes(Vec<u8>);

fn too_large(what: impl std::fmt::Display) -> Fault {
    Fault::plain(format!("cannot write the rules for firmware: {what}"))
}

impl Bytes {
    /// A number of 32 bits.
    pub fn number(&mut self, number: u64) -> Result<(), Fault> {
        let mut rest = u32::try_from(number).map_err(|_| too_large(format!("{number} is beyond 32 bits")))?;
        while rest > 127 {
            self.0.push(rest as u8 & 127 | 128);
            rest >>= 7;
        }
        self.0.push(rest as u8);
        Ok(())
    }

    /// A number with a sign: 0, -1, 1, -2, 2 become 0, 1, 2, 3, 4.
    pub fn signed(&mut self, number: i64) -> Result<(), Fault> {
        let fits = i32::try_from(number).ok().filter(|number| *number != i32::MIN);
        let number = fits.ok_or_else(|| too_large(format!("{number} is beyond 32 bits")))?;
        self.number(u64::from((number << 1 ^ number >> 31) as u32))
    }

    /// A place in the tables, or a count: three bytes, the lowest first.
    pub fn word(&mut self, word: usize) -> Result<(), Fault> {
        let fits = u32::try_from(word).ok().filter(|word| *word < 1 << 24);
        let word = fits.ok_or_else(|| too_large(format!("{word} is beyond 24 bits")))?;
        self.0.extend(&word.to_le_bytes()[..3]);
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
        assert_eq!(bytes.into_bytes(), [0, 127, 0x80, 1, 0xAC, 2, 0, 1, 2, 127]);
        assert!(Bytes::default().number(1 << 32).is_err() && Bytes::default().signed(1 << 31).is_err());
        assert!(Bytes::default().word(1 << 24).is_err());
    }
}
