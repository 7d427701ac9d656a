//! Chance from a seed.

use rand::rngs::ChaCha8Rng;
use rand::{Rng, SeedableRng};

/// Draws from a seed. The generator is ChaCha with eight rounds (Bernstein 2008), and the steps from its bits to a
/// choice are written here, so that a seed in an old log still gives the same question.
#[derive(Debug)]
pub struct Draw(ChaCha8Rng);

impl Draw {
    /// The draws of this seed.
    pub fn new(seed: u64) -> Draw {
        Draw(ChaCha8Rng::seed_from_u64(seed))
    }

    /// A whole number below `n`; 0 where `n` is 0.
    pub fn below(&mut self, n: usize) -> usize {
        let bits = u128::from(self.0.next_u64());
        ((bits * n as u128) >> 64) as usize
    }

    /// A number from 0 up to, not including, 1.
    pub fn unit(&mut self) -> f64 {
        (self.0.next_u64() >> 11) as f64 / (1u64 << 53) as f64
    }

    /// True with chance `p`.
    pub fn chance(&mut self, p: f64) -> bool {
        self.unit() < p
    }

    /// One of `from`; `None` where there is nothing.
    pub fn pick<T: Copy>(&mut self, from: &[T]) -> Option<T> {
        let at = self.below(from.len());
        from.get(at).copied()
    }

    /// All of `from` in a random order.
    pub fn shuffled<T>(&mut self, mut from: Vec<T>) -> Vec<T> {
        let mut all = Vec::new();
        while !from.is_empty() {
            all.push(from.swap_remove(self.below(from.len())));
        }
        all
    }

    /// A seed for something later on. It has 53 bits, so that it stays exact in programs that read numbers of a JSON
    /// file as floating point.
    pub fn seed(&mut self) -> u64 {
        self.0.next_u64() >> 11
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn draws_stay_in_range_and_reach_every_value() {
        let mut draw = Draw::new(1);
        let mut seen = [0; 3];
        for _ in 0..3000 {
            seen[draw.below(3)] += 1;
            assert!((0.0..1.0).contains(&draw.unit()));
            assert!(draw.seed() < 1 << 53);
        }
        // Binomial with n = 3000 and p = 1/3: standard deviation 26; five of them.
        assert!(seen.iter().all(|n| (870..=1130).contains(n)), "{seen:?}");
        assert_eq!(draw.pick::<u8>(&[]), None);
        assert_eq!(draw.below(0), 0);
    }
}
