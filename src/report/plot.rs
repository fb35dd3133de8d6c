//! A plot: a picture with the words that say the same.

use super::draw::picture::Picture;

/// A plot with the words that say the same.
pub struct Plot {
    /// The picture.
    pub picture: Picture,
    /// The same in words.
    pub alt: String,
}

impl Plot {
    /// As inline SVG.
    pub fn svg(&self) -> String {
        self.picture.svg(&self.alt)
    }
}

/// A round number of 1, 2 or 5 times a power of ten, not below `v`.
pub fn round_up(v: f64) -> f64 {
    if !(v > 0.0 && v.is_finite()) {
        return 1.0;
    }
    let power = libm::pow(10.0_f64, libm::log10(v).floor());
    [1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 8.0, 10.0]
        .into_iter()
        .map(|s| s * power)
        .find(|s| *s >= v * (1.0 - 1e-9))
        .unwrap_or(10.0 * power)
}
