//! Random draws that the simulation needs and the random library has not.

use rand::RngExt;
use rand_chacha::ChaCha8Rng;

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
}
