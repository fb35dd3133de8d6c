//! How far a printed length may be off: the setting for short lengths, more for long ones.
//!
//! Up to 50 mm the tolerance is the setting; beyond, 0.2 % of what is longer is
//! added, in steps of 0.05 mm, which is what a calliper shows for sure. Shrinkage and belts
//! err by a share of the length, lines and seams by an amount. House values: 0.2 % is what
//! machines of this kind are commonly said to hold; the tolerance grades of ISO 286 grow by
//! 0.1 to 0.2 % between 50 and 180 mm (IT12 from 0.25 to 0.40 mm, from memory).

/// The setting holds up to this length, mm (house value).
const SHORT_MM: f64 = 50.0;
/// What is added of the length beyond it (house value).
const GROWTH: f64 = 0.002;
/// Steps in which it is added, mm.
const STEP_MM: f64 = 0.05;

/// How far a print may be off over `length_mm` where a short length may be off by
/// `setting_mm`, mm.
pub fn tolerance_mm(length_mm: f64, setting_mm: f64) -> f64 {
    let more = GROWTH * (length_mm - SHORT_MM).max(0.0);
    // Hundredths, so that the sum has no dust behind its last digit.
    let steps = (more / STEP_MM).round() * (100.0 * STEP_MM).round();
    if steps > 0.0 {
        (100.0 * setting_mm + steps) / 100.0
    } else {
        setting_mm
    }
}

#[cfg(test)]
mod tests {
    use super::tolerance_mm;

    /// By hand: 0.25 + 0.002 · (100 − 50) = 0.35; 0.002 · 10 = 0.02 is no step yet.
    #[test]
    fn long_lengths_may_be_off_by_more() {
        for (length, setting, want) in [
            (10.0, 0.25, 0.25),
            (50.0, 0.25, 0.25),
            (60.0, 0.25, 0.25),
            (100.0, 0.25, 0.35),
            (150.0, 0.25, 0.45),
            (300.0, 0.25, 0.75),
            (20.0, 0.1, 0.1),
            (100.0, 0.05, 0.15),
        ] {
            let got = tolerance_mm(length, setting);
            assert!((got - want).abs() < 1e-12, "{length} {setting}: {got}");
        }
    }
}
