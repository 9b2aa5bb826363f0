//! Compression of blobs for small microcontrollers: runs, and a pool of literal bytes that later bytes are copied from.
//!
//! Both are decoded forwards with a few bytes of state and no look at what was decoded before: copies come from the
//! blob itself, which lies in flash. So a picture can be decoded band by band. Not for anything but bytes; the decoder in C
//! is `inkjoule_unpack.c`.
//!
//! **Runs**: a byte `n` below 128 is followed by `n + 1` plain bytes, a byte `n` from 128 on by one byte that stands
//! `n - 125` times (3 to 130).
//!
//! **Pool**: two bytes with the length of the token part, low byte first; the tokens; the pool. A token `n` below 64 gives
//! the next `n + 1` bytes of the pool; from 64 to 127 the next byte of the pool stands `n - 61` times (3 to 66); from 128
//! on, two bytes follow with a position in the pool, low byte first, and `n - 124` bytes (4 to 131) are copied from there.

use serde::Serialize;

/// How a blob's bytes are written.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Codec {
    /// As they are.
    Plain,
    /// Runs of equal bytes.
    Runs,
    /// Copies from a pool.
    Pool,
}

impl Codec {
    /// In a word.
    pub fn word(self) -> &'static str {
        match self {
            Self::Plain => "plain",
            Self::Runs => "runs",
            Self::Pool => "pool",
        }
    }

    /// Its number in tables for firmware.
    pub fn number(self) -> u8 {
        match self {
            Self::Plain => 0,
            Self::Runs => 1,
            Self::Pool => 2,
        }
    }
}

/// A blob as it is stored.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Squeezed {
    /// How.
    pub codec: Codec,
    /// The stored bytes.
    pub bytes: Vec<u8>,
    /// Tokens that the decoder goes through; the rest of its work is a copy of each byte.
    pub tokens: usize,
}

/// The smallest of the three forms; among equals the simplest.
pub fn squeeze(bytes: &[u8]) -> Squeezed {
    let plain = Squeezed { codec: Codec::Plain, bytes: bytes.to_vec(), tokens: 0 };
    let smaller = |best: Squeezed, other: Squeezed| if other.bytes.len() < best.bytes.len() { other } else { best };
    let best = smaller(plain, runs(bytes));
    match pool(bytes) {
        Some(pool) => smaller(best, pool),
        None => best,
    }
}

/// Length of the run of equal bytes at the start, `most` at most.
fn run(bytes: &[u8], most: usize) -> usize {
    let Some(first) = bytes.first() else { return 0 };
    bytes.iter().take(most).take_while(|byte| *byte == first).count()
}

/// Bytes as runs.
pub fn runs(bytes: &[u8]) -> Squeezed {
    let mut out = Vec::new();
    let (mut at, mut tokens) = (0, 0);
    while at < bytes.len() {
        let same = run(&bytes[at..], 130);
        tokens += 1;
        if same >= 3 {
            out.extend([(same + 125) as u8, bytes[at]]);
            at += same;
            continue;
        }
        let start = at;
        while at < bytes.len() && at - start < 128 && run(&bytes[at..], 3) < 3 {
            at += 1;
        }
        out.push((at - start - 1) as u8);
        out.extend(&bytes[start..at]);
    }
    Squeezed { codec: Codec::Runs, bytes: out, tokens }
}

const SHORTEST_COPY: usize = 4;

/// Bytes as copies from a pool; `None` where tokens or pool outgrow their 16-bit lengths.
pub fn pool(bytes: &[u8]) -> Option<Squeezed> {
    let (mut tokens, mut pool) = (Vec::new(), Vec::new());
    let (mut at, mut count, mut pending) = (0, 0, 0);
    let mut places: std::collections::HashMap<[u8; SHORTEST_COPY], Vec<usize>> = std::collections::HashMap::new();
    let mut entered = 0;
    while at < bytes.len() {
        let same = run(&bytes[at..], 66);
        let (from, copied) = longest(&bytes[at..], &pool, &places);
        let flush = |pending: &mut usize, tokens: &mut Vec<u8>, count: &mut usize| {
            if *pending > 0 {
                tokens.push((*pending - 1) as u8);
                *pending = 0;
                *count += 1;
            }
        };
        if copied >= SHORTEST_COPY && copied > same {
            flush(&mut pending, &mut tokens, &mut count);
            tokens.push((copied + 124) as u8);
            tokens.extend(u16::try_from(from).ok()?.to_le_bytes());
            count += 1;
            at += copied;
        } else if same >= 3 {
            flush(&mut pending, &mut tokens, &mut count);
            tokens.push((same + 61) as u8);
            pool.push(bytes[at]);
            count += 1;
            at += same;
        } else {
            pool.push(bytes[at]);
            at += 1;
            pending += 1;
            if pending == 64 {
                flush(&mut pending, &mut tokens, &mut count);
            }
        }
        while entered + SHORTEST_COPY <= pool.len() {
            if let Ok(key) = <[u8; SHORTEST_COPY]>::try_from(&pool[entered..entered + SHORTEST_COPY]) {
                places.entry(key).or_default().push(entered);
            }
            entered += 1;
        }
    }
    if pending > 0 {
        tokens.push((pending - 1) as u8);
        count += 1;
    }
    if pool.len() > usize::from(u16::MAX) {
        return None;
    }
    let mut out = u16::try_from(tokens.len()).ok()?.to_le_bytes().to_vec();
    out.extend(tokens);
    out.extend(pool);
    Some(Squeezed { codec: Codec::Pool, bytes: out, tokens: count })
}

/// Where in the pool the most of the coming bytes stand, and how many: 131 at most.
fn longest(
    bytes: &[u8],
    pool: &[u8],
    places: &std::collections::HashMap<[u8; SHORTEST_COPY], Vec<usize>>,
) -> (usize, usize) {
    let Some(key) = bytes.first_chunk::<SHORTEST_COPY>() else { return (0, 0) };
    let mut best = (0, 0);
    // The latest places first; beyond some hundreds there is little more to gain.
    for from in places.get(key).into_iter().flatten().rev().take(256) {
        let length = pool[*from..].iter().zip(bytes).take(131).take_while(|(a, b)| a == b).count();
        if length > best.1 {
            best = (*from, length);
        }
    }
    best
}

/// The bytes that were squeezed, at most `most`; `None` where the stored bytes are damaged. Mirrors the decoder in C.
pub fn unsqueeze(codec: Codec, stored: &[u8], most: usize) -> Option<Vec<u8>> {
    let mut out = Vec::new();
    match codec {
        Codec::Plain => out.extend(stored),
        Codec::Runs => {
            let mut rest = stored;
            while let [token, tail @ ..] = rest {
                let token = usize::from(*token);
                if token < 128 {
                    out.extend(tail.get(..token + 1)?);
                    rest = &tail[token + 1..];
                } else {
                    out.extend(std::iter::repeat_n(*tail.first()?, token - 125));
                    rest = &tail[1..];
                }
                if out.len() > most {
                    return None;
                }
            }
        }
        Codec::Pool => {
            let length = usize::from(u16::from_le_bytes(*stored.first_chunk()?));
            let (mut tokens, pool) = (stored.get(2..2 + length)?, stored.get(2 + length..)?);
            let mut next = 0;
            while let [token, tail @ ..] = tokens {
                let token = usize::from(*token);
                tokens = tail;
                match token {
                    0..64 => {
                        out.extend(pool.get(next..next + token + 1)?);
                        next += token + 1;
                    }
                    64..128 => {
                        out.extend(std::iter::repeat_n(*pool.get(next)?, token - 61));
                        next += 1;
                    }
                    _ => {
                        let from = usize::from(u16::from_le_bytes(*tail.first_chunk()?));
                        out.extend(pool.get(from..from + token - 124)?);
                        tokens = &tail[2..];
                    }
                }
                if out.len() > most {
                    return None;
                }
            }
        }
    }
    (out.len() <= most).then_some(out)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_blob_is_squeezed_only_when_it_pays() {
        assert_eq!(squeeze(&[1, 2, 3]).codec, Codec::Plain);
        assert_eq!(squeeze(&[0; 500]).codec, Codec::Runs);
        let pattern: Vec<u8> = (0..40).map(|n| (n * 37 + n * n * 11) as u8).collect();
        assert_eq!(squeeze(&pattern.repeat(6)).codec, Codec::Pool);
        assert_eq!(runs(&[7, 7, 7, 1]).bytes, [128, 7, 0, 1]);
        assert_eq!(pool(&[7, 7, 7, 1]).unwrap().bytes, [2, 0, 64, 0, 7, 1]);
    }

    proptest! {
        #[test]
        fn what_is_squeezed_comes_back(bytes in proptest::collection::vec(prop_oneof![Just(0u8), Just(255), 0..6u8, any::<u8>()], 0..3000), times in 1..3usize) {
            let bytes = bytes.repeat(times);
            for squeezed in [runs(&bytes), pool(&bytes).expect("small"), squeeze(&bytes)] {
                prop_assert_eq!(unsqueeze(squeezed.codec, &squeezed.bytes, bytes.len()), Some(bytes.clone()));
            }
        }

        #[test]
        fn damaged_blobs_end_in_an_answer(bytes in proptest::collection::vec(any::<u8>(), 0..200)) {
            for codec in [Codec::Runs, Codec::Pool] {
                prop_assert!(unsqueeze(codec, &bytes, 5000).is_none_or(|out| out.len() <= 5000));
            }
        }
    }
}
