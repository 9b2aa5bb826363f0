//! Random numbers that belong to what they are for: each use has a stream of its own, named by its content, so that
//! neither names nor the order of things in a project change a figure.

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use std::collections::BTreeMap;

/// The number of a stream from what it is for (Fowler, Noll and Vo's hash 1a, 64 bits; from memory).
fn stream_of(content: &str) -> u64 {
    content.bytes().fold(0xcbf2_9ce4_8422_2325, |hash, byte| (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3))
}

/// The numbers of streams for these contents. Equal contents get streams of their own, in their order: which of two
/// equal things has which is all the same.
pub fn streams<'c>(contents: impl IntoIterator<Item = &'c str>) -> Vec<u64> {
    let mut seen: BTreeMap<&str, u64> = BTreeMap::new();
    let mut stream = |content: &'c str| {
        let count = seen.entry(content).or_default();
        *count += 1;
        // The multiplier of Knuth's linear congruential generator MMIX (TAOCP vol. 2, 3.3.4; from memory).
        stream_of(content).wrapping_add((*count - 1).wrapping_mul(6_364_136_223_846_793_005))
    };
    contents.into_iter().map(&mut stream).collect()
}

/// The random numbers of one stream.
pub fn source(seed: u64, stream: u64) -> ChaCha8Rng {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    random.set_stream(stream);
    random
}

/// The random numbers of one stream from the `number`th of its parts on; a part has 16 words of 32 bits.
pub fn part(seed: u64, stream: u64, number: u64) -> ChaCha8Rng {
    let mut random = source(seed, stream);
    random.set_word_pos(u128::from(number) * 16);
    random
}

/// A Poisson number with the given mean: products of uniform draws (Knuth, TAOCP vol. 2, 3.4.1), in parts of at most 30.
pub fn poisson(mean: f64, random: &mut ChaCha8Rng) -> u64 {
    let mut left = mean.max(0.0);
    let mut count = 0;
    while left > 0.0 {
        let limit = (-left.min(30.0)).exp();
        left -= 30.0;
        let mut product: f64 = random.random();
        while product > limit {
            count += 1;
            product *= random.random::<f64>();
        }
    }
    count
}

#[cfg(test)]
mod tests {
    use super::*;
    use rand::SeedableRng;

    #[test]
    fn poisson_draws_have_their_mean_and_variance() {
        let mut random = ChaCha8Rng::seed_from_u64(3);
        let draws: Vec<f64> = (0..20_000).map(|_| poisson(47.0, &mut random) as f64).collect();
        let mean = draws.iter().sum::<f64>() / draws.len() as f64;
        let variance = draws.iter().map(|x| (x - mean).powi(2)).sum::<f64>() / draws.len() as f64;
        assert!((mean - 47.0).abs() < 0.2, "{mean}");
        assert!((variance - 47.0).abs() < 2.0, "{variance}");
    }

    #[test]
    fn equal_contents_have_streams_of_their_own_and_order_does_not_matter() {
        let one = streams(["lamp 3", "pump 4", "lamp 3"]);
        let other = streams(["lamp 3", "lamp 3", "pump 4"]);
        assert!(one[0] != one[2] && one[0] == other[0] && one[2] == other[1] && one[1] == other[2]);
        let first = |stream| source(7, stream).random::<f64>();
        assert!(first(one[0]) != first(one[2]) && first(one[0]) == first(other[0]));
        assert!(part(7, 1, 0).random::<f64>() != part(7, 1, 1).random::<f64>());
    }
}
