//! Numbers that are spread evenly and are the same every time.

/// The `SplitMix64` generator (Steele, Lea & Flood, *Fast splittable pseudorandom number
/// generators*, 2014, from memory).
pub struct Even(u64);

impl Even {
    /// Starts from a number; other numbers give other sequences.
    pub fn new(start: u64) -> Self {
        Self(start)
    }

    /// The next number, from 0 to below 1.
    pub fn draw(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64
    }
}
