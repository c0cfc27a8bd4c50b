//! Random numbers that are the same everywhere for one seed: SplitMix64 (Steele, Lea, Flood 2014).

/// A seeded source.
#[derive(Debug, Clone)]
pub struct Rng(u64);

impl Rng {
    /// A source of a seed.
    pub fn new(seed: u64) -> Self {
        Self(seed)
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// A number from `low` to `high`, both possible.
    pub fn range(&mut self, low: i64, high: i64) -> i64 {
        low + (self.next() % (high - low + 1) as u64) as i64
    }

    /// True in so many cases of a hundred.
    pub fn chance(&mut self, percent: i64) -> bool {
        self.range(1, 100) <= percent
    }

    /// One of a list.
    pub fn pick<'a, T: ?Sized>(&mut self, list: &[&'a T]) -> &'a T {
        list[self.range(0, list.len() as i64 - 1) as usize]
    }

    /// The list in another order.
    pub fn shuffle<T>(&mut self, list: &mut [T]) {
        for i in (1..list.len()).rev() {
            list.swap(i, self.range(0, i as i64) as usize);
        }
    }
}
