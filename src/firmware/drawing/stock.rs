//! Faces and bitmaps as bytes: the same however the operations that use them are written.

use super::ink::Ink;
use super::words::Codes;
use super::{bits, faces};
use crate::source::fault::Fault;
use std::collections::HashMap;

/// What operations take from.
pub(super) struct Stock {
    pub codes: Codes,
    /// Faces, then bitmaps.
    pub bits: Vec<u8>,
    /// Where each bitmap begins in `bits`.
    pub bitmaps: Vec<usize>,
    /// Whether heights of a face take two bytes.
    pub tall: bool,
    /// How `bits` is shared out, for people.
    pub shares: Vec<(String, usize)>,
}

impl Stock {
    /// What the gathered operations use.
    pub fn of(ink: &Ink<'_>) -> Result<Self, Fault> {
        let mut counts: HashMap<char, usize> = HashMap::new();
        for (_, characters) in &ink.faces {
            characters.iter().for_each(|one| *counts.entry(*one).or_default() += 1);
        }
        let Some(codes) = Codes::of(&counts) else {
            return Err(Fault::plain("the screens have more different characters than the tables can number"));
        };
        let all: Vec<Vec<u8>> =
            ink.faces.iter().map(|(face, used)| faces::face(face, used, &codes, ink.packing)).collect();
        if all.iter().any(|bytes| bytes.len() > faces::LARGEST) {
            return Err(Fault::plain(
                "the characters of a font take more than 2 MB, which is more than the tables can number",
            ));
        }
        let tall = all.iter().any(|bytes| faces::is_tall(bytes));
        let mut stock = Self { codes, bits: Vec::new(), bitmaps: Vec::new(), tall, shares: Vec::new() };
        let mut place = all.len() * 3;
        for ((face, used), bytes) in ink.faces.iter().zip(&all) {
            stock.bits.extend((place as u32).to_le_bytes().into_iter().take(3));
            stock.shares.push((format!("font {}, {} characters", face.name, used.len()), bytes.len()));
            place += bytes.len();
        }
        stock.bits.extend(all.concat());
        for frame in &ink.bitmaps {
            let bytes = bits::bitmap(frame);
            let found = stock.bitmaps.iter().copied().find(|at| stock.bits[*at..].starts_with(&bytes));
            stock.bitmaps.push(found.unwrap_or(stock.bits.len()));
            if found.is_none() {
                stock.bits.extend(bytes);
            }
        }
        // Bits are read four bytes at a time, also where none is left.
        stock.bits.extend([0; 4]);
        stock.shares.push((format!("{} bitmaps", ink.bitmaps.len()), stock.bits.len() - place));
        Ok(stock)
    }
}
