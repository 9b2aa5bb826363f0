//! Bytes in which pairs that come often are one byte each: a range of codes stands for pairs of codes, as found by merging
//! the commonest pair again and again (P. Gage, "A New Algorithm for Data Compression", The C Users Journal, 1994).
//!
//! Not for what the bytes say. The code behind the last pair says that the next byte is meant as it is.

/// How many pairs are tried: more of them leave fewer codes for bytes that mean themselves.
const MOST: [usize; 7] = [32, 48, 64, 80, 96, 128, 160];
/// Pairs in pairs; the interpreter has room for so many.
const DEEPEST: u8 = 8;
/// Stands for a byte that is no code of its own.
const PLAIN: u16 = 0x1000;

/// A range of codes with their pairs.
#[derive(Clone, Debug)]
pub(super) struct Pairs {
    first: u8,
    pairs: Vec<[u8; 2]>,
}

impl Default for Pairs {
    fn default() -> Self {
        Self { first: u8::MAX, pairs: Vec::new() }
    }
}

impl Pairs {
    /// The pairs that make sequences short.
    pub fn of<'s>(sequences: impl Iterator<Item = &'s [u8]> + Clone) -> Self {
        let tried = MOST.map(|most| Self::at_most(most, sequences.clone()));
        tried.into_iter().min_by_key(|(size, _)| *size).map(|(_, pairs)| pairs).unwrap_or_default()
    }

    /// So many pairs at most, and the bytes of everything then.
    fn at_most<'s>(most: usize, sequences: impl Iterator<Item = &'s [u8]> + Clone) -> (usize, Self) {
        let mut counts = [0usize; 256];
        sequences.clone().flatten().for_each(|byte| counts[usize::from(*byte)] += 1);
        // The range whose own values are rarest.
        let own = |first: &usize| counts[*first..=first + most].iter().sum::<usize>();
        let first = (0..256 - most).min_by_key(own).unwrap_or(0) as u8;
        let range = Self { first, pairs: vec![[0; 2]; most] };
        let mut all: Vec<Vec<u16>> = sequences.map(|bytes| range.symbols(bytes)).collect();
        let (mut pairs, mut depths) = (Vec::new(), [0u8; 256]);
        let mut often = Often::default();
        all.iter().for_each(|symbols| often.change(symbols, 1));
        while pairs.len() < most {
            let Some(pair) = often.commonest(&depths) else { break };
            let code = first + pairs.len() as u8;
            depths[usize::from(code)] = 1 + pair.map(|of| depths[usize::from(of)]).into_iter().max().unwrap_or(0);
            for symbols in all.iter_mut().filter(|symbols| holds(symbols, pair)) {
                often.change(symbols, -1);
                merge(symbols, pair, code);
                often.change(symbols, 1);
            }
            pairs.push(pair);
        }
        let found = Self { first, pairs };
        let saved = all.iter().map(|symbols| size(symbols)).sum::<usize>() + 2 * found.pairs.len();
        let plain = counts.iter().sum();
        if saved < plain { (saved, found) } else { (plain, Self::default()) }
    }

    /// Bytes as symbols: below 256 where a byte may be part of a pair.
    fn symbols(&self, bytes: &[u8]) -> Vec<u16> {
        let reserved = |byte: u8| usize::from(byte.wrapping_sub(self.first)) <= self.pairs.len();
        bytes.iter().map(|byte| u16::from(*byte) | if reserved(*byte) { PLAIN } else { 0 }).collect()
    }

    /// Bytes with their pairs as codes.
    pub fn coded(&self, bytes: &[u8]) -> Vec<u8> {
        let mut symbols = self.symbols(bytes);
        for (pair, code) in self.pairs.iter().zip(self.first..) {
            merge(&mut symbols, *pair, code);
        }
        let escape = self.first + self.pairs.len() as u8;
        let mut coded = Vec::with_capacity(size(&symbols));
        for symbol in symbols {
            if symbol & PLAIN != 0 {
                coded.push(escape);
            }
            coded.push(symbol as u8);
        }
        coded
    }

    /// The table: the first code, how many, and the two codes of each.
    pub fn table(&self) -> Vec<u8> {
        [&[self.first, self.pairs.len() as u8], self.pairs.as_flattened()].concat()
    }
}

fn size(symbols: &[u16]) -> usize {
    symbols.iter().map(|symbol| if symbol & PLAIN == 0 { 1 } else { 2 }).sum()
}

fn merge(symbols: &mut Vec<u16>, pair: [u8; 2], code: u8) {
    let [left, right] = pair.map(u16::from);
    let (mut read, mut write) = (0, 0);
    while read < symbols.len() {
        let here = symbols[read] == left && symbols.get(read + 1) == Some(&right);
        symbols[write] = if here { u16::from(code) } else { symbols[read] };
        read += if here { 2 } else { 1 };
        write += 1;
    }
    symbols.truncate(write);
}

fn holds(symbols: &[u16], pair: [u8; 2]) -> bool {
    let [left, right] = pair.map(u16::from);
    symbols.windows(2).any(|pair| pair[0] == left && pair[1] == right)
}

/// How often each pair comes.
struct Often {
    counts: Vec<i32>,
    /// The pairs that came at all.
    seen: Vec<u16>,
    is_seen: Vec<bool>,
}

impl Default for Often {
    fn default() -> Self {
        Self { counts: vec![0; 1 << 16], seen: Vec::new(), is_seen: vec![false; 1 << 16] }
    }
}

impl Often {
    /// Counts the pairs of a sequence, or takes them away again.
    fn change(&mut self, symbols: &[u16], by: i32) {
        let mut last = None;
        for (at, pair) in symbols.windows(2).enumerate() {
            // Of three alike only one pair can be merged.
            let overlaps = pair[0] == pair[1] && last == Some(at.wrapping_sub(1)) && symbols[at - 1] == pair[0];
            if pair[0] < 256 && pair[1] < 256 && !overlaps {
                let pair = pair[0] << 8 | pair[1];
                self.counts[usize::from(pair)] += by;
                if !std::mem::replace(&mut self.is_seen[usize::from(pair)], true) {
                    self.seen.push(pair);
                }
                last = Some(at);
            }
        }
    }

    /// The pair that comes most often, where a code for it is worth its place.
    fn commonest(&self, depths: &[u8; 256]) -> Option<[u8; 2]> {
        let allowed = |pair: u16| pair.to_be_bytes().iter().all(|code| depths[usize::from(*code)] < DEEPEST);
        let counted = self.seen.iter().map(|pair| (self.counts[usize::from(*pair)], std::cmp::Reverse(*pair)));
        let (count, std::cmp::Reverse(best)) = counted.filter(|(_, pair)| allowed(pair.0)).max()?;
        (count >= 4).then_some(best.to_be_bytes())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(coded: &[u8], table: &[u8]) -> Vec<u8> {
        let mut bytes = Vec::new();
        let mut left: Vec<u8> = coded.iter().rev().copied().collect();
        while let Some(code) = left.pop() {
            let at = usize::from(code.wrapping_sub(table[0]));
            match at {
                at if at < usize::from(table[1]) => left.extend([table[3 + 2 * at], table[2 + 2 * at]]),
                at if at == usize::from(table[1]) => bytes.extend(left.pop()),
                _ => bytes.push(code),
            }
        }
        bytes
    }

    #[test]
    fn what_is_coded_is_read_again_and_shorter() {
        let texts: Vec<Vec<u8>> = (0..60u32)
            .map(|of| {
                (0..40).map(|at| b"the frost of the night "[(at * at + of as usize) % 23] ^ (of % 3) as u8).collect()
            })
            .chain([(0..=255).collect(), vec![7; 300], Vec::new()])
            .collect();
        let pairs = Pairs::of(texts.iter().map(Vec::as_slice));
        let table = pairs.table();
        let (mut before, mut after) = (0, table.len());
        for text in &texts {
            let coded = pairs.coded(text);
            assert_eq!(read(&coded, &table), *text);
            before += text.len();
            after += coded.len();
        }
        assert!(after * 10 < before * 9, "{before} to {after}");
    }

    /// What is counted again only where a pair was merged is what counting everything again gives, runs of one byte included.
    #[test]
    fn pairs_are_counted_as_if_all_were_counted_anew() {
        let mut all: Vec<Vec<u16>> = (0..30u16).map(|of| (0..60).map(|at| (at * at / 7 + of) % 3).collect()).collect();
        let counted = |all: &[Vec<u16>]| {
            let mut often = Often::default();
            all.iter().for_each(|symbols| often.change(symbols, 1));
            often.counts
        };
        let mut often = Often::default();
        all.iter().for_each(|symbols| often.change(symbols, 1));
        for code in 100..140 {
            assert_eq!(often.counts, counted(&all), "before {code}");
            let Some(pair) = often.commonest(&[0; 256]) else { break };
            for symbols in all.iter_mut().filter(|symbols| holds(symbols, pair)) {
                often.change(symbols, -1);
                merge(symbols, pair, code);
                often.change(symbols, 1);
            }
        }
    }
}
