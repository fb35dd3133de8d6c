//! Whether support is needed: one answer for figures, words, tables and drawings.

use crate::figures::{Bridge, Figures};
use crate::settings::Settings;

/// Support below this volume is none, mm³: less than one line across a finger's
/// width.
pub const NO_SUPPORT_MM3: f64 = 1.0;
/// Overhang below this area is none, mm²: two lines crossed.
pub const NO_OVERHANG_MM2: f64 = 0.5;
/// Support in closed voids below this volume is none, mm³: the columns see that much
/// in the corners of voids that close by themselves.
pub const SHUT_MM3: f64 = 20.0;
/// Overhang after bridges that prints without support all the same, if no ledge is
/// longer than [`FREE_LEDGE_MM`]: the crown of a screw hole or a small vault, mm².
pub const SPARE_MM2: f64 = 100.0;
/// Longest ledge that prints without support with a drooping edge, mm.
pub const FREE_LEDGE_MM: f64 = 1.5;
/// Is there overhang with room under it that would be filled? What is below the error
/// of the columns and the sampling is none.
pub fn hangs(f: &Figures) -> bool {
    f.support_needed_mm3 > NO_SUPPORT_MM3 && f.overhang_needed_mm2() > NO_OVERHANG_MM2
}

/// Whether the overhang that bridges leave may be left to itself.
pub fn spare(f: &Figures, settings: &Settings) -> bool {
    f.overhang_needed_mm2() < SPARE_MM2
        && f.ledge_longest_mm <= FREE_LEDGE_MM
        && f.bridge_longest_mm <= settings.bridge_limit_mm
        && f.floating_starts.is_empty()
        && f.support_trapped_mm3 <= SHUT_MM3
}

/// Whether a person would switch support on.
pub fn needs_support(f: &Figures, settings: &Settings) -> bool {
    hangs(f) && !spare(f, settings)
}

/// Bridges within the limit, from the bed up.
pub fn within_limit<'a>(f: &'a Figures, settings: &Settings) -> impl Iterator<Item = &'a Bridge> {
    let limit_mm = settings.bridge_limit_mm;
    f.bridges.iter().filter(move |b| b.span_mm <= limit_mm)
}
