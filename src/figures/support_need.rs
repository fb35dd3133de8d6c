//! Whether a pose needs support: decided, not measured.
//!
//! It is decided by what support would hold (an island, a cantilever, a bridge beyond the limit,
//! steep overhang), and by how low that is: one answer for the ranking, the figures, the words
//! and the drawings. Where it is to be kept out of a part all the same is a matter of the advice.

use super::low::{low_island_mm, low_mm, low_slope_mm};
use super::{Bridge, Figures, Island};
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
/// longer than [`FREE_LEDGE_MM`]: the crown of a screw hole or a small vault, mm². What is low
/// over the bed or leans hardly more than the limit is not counted.
pub const SPARE_MM2: f64 = 100.0;
/// Longest ledge that prints without support with a drooping edge, mm: the ring in a screw's
/// counterbore is as wide.
pub const FREE_LEDGE_MM: f64 = 1.8;
/// The same of a tab where no more hangs over than this, mm and mm² (house values).
const TAB_MM: f64 = 3.0;
const TAB_MM2: f64 = 10.0;

/// Room under overhang below this height on average is too low for a tool, mm, if support stands
/// on the part under this share of the overhang (house values).
const SHALLOW_MM: f64 = 1.5;
const BETWEEN: f64 = 0.5;

/// Is there overhang with room under it that would be filled? What is below the error
/// of the columns and the sampling is none.
pub fn hangs(f: &Figures) -> bool {
    f.support_needed_mm3 > NO_SUPPORT_MM3 && f.overhang_needed_mm2() > NO_OVERHANG_MM2
}

/// Overhang that bridges leave and that is neither low over the bed nor hardly beyond the
/// limit, nor bridges the short way, nor has a slit below it without room for support, mm².
pub fn steep_mm2(f: &Figures) -> f64 {
    (under_mm2(f) - f.overhang_gentle_mm2 - f.overhang_across_mm2).max(0.0)
}

/// Overhang that support is set for and has room under, mm².
pub fn under_mm2(f: &Figures) -> f64 {
    // Low slopes are among what is needed whether a bridge carries them or not, and low all the same.
    let low_mm2 = f.overhang_low_mm2.max(f.overhang_low_slope_mm2);
    (f.overhang_needed_mm2() - low_mm2 - f.overhang_slit_mm2).max(0.0)
}

/// Support where it has room, mm³.
pub fn room_mm3(f: &Figures) -> f64 {
    (f.support_needed_mm3 - f.low_mm3 - f.slit_mm3).max(0.0)
}

/// The same without what leans hardly beyond the limit: a limit for support set to that leaves it out, mm³.
pub fn held_mm3(f: &Figures) -> f64 {
    (room_mm3(f) - f.gentle_mm3).max(0.0)
}

/// Longest ledge that support could hold, mm.
pub fn ledge_mm(f: &Figures) -> f64 {
    f.ledge_high_mm.unwrap_or(f.cantilever_longest_mm)
}

/// The longest bridge beyond the limit that support could hold. So low over the bed chords
/// along a rounded rim are taken for bridges; a ceiling there still counts by its area.
pub fn too_long(f: &Figures, settings: &Settings) -> Option<Bridge> {
    let longer = |a: &Bridge, b: &Bridge| a.span_mm.total_cmp(&b.span_mm);
    all_too_long(f, settings).max_by(longer)
}

/// All of them, as they are told, from the bed up.
pub fn all_too_long(f: &Figures, settings: &Settings) -> impl Iterator<Item = Bridge> {
    let (limit_mm, least_mm) = (settings.bridge_limit_mm, low_slope_mm(settings));
    let all = f.bridges.iter().chain(&f.grooves).filter_map(Bridge::told);
    all.filter(move |b| b.span_mm > limit_mm && b.z_mm > least_mm)
}

/// An island of this area needs something below it as soon as two layers of air are, mm² (house value).
const ISLAND_MM2: f64 = 1.0;

/// Longest ledge of a pose that prints without support, mm.
pub fn free_ledge_mm(f: &Figures) -> f64 {
    if steep_mm2(f) <= TAB_MM2 {
        TAB_MM
    } else {
        FREE_LEDGE_MM
    }
}

/// Whether support would stand between two faces of the part with hardly any room, as in the
/// turns of a thread: no tool clears it.
pub fn is_shallow(f: &Figures) -> bool {
    let area_mm2 = f.overhang_needed_mm2();
    f.support_needed_mm3 < SHALLOW_MM * area_mm2 && f.support_marks_mm2.below >= BETWEEN * area_mm2
}

/// Whether the overhang that bridges leave may be left to itself.
pub fn spare(f: &Figures, settings: &Settings) -> bool {
    (steep_mm2(f) < SPARE_MM2 || is_shallow(f))
        && ledge_mm(f) <= free_ledge_mm(f)
        && too_long(f, settings).is_none()
        && islands(f, settings).next().is_none()
        && f.support_trapped_mm3 <= SHUT_MM3
}

/// Islands that only support holds: a small one that begins within a few layers of the bed sags on to it, a
/// larger one within a single layer, and scraps are taken in by the part.
pub fn islands<'a>(f: &'a Figures, settings: &Settings) -> impl Iterator<Item = &'a Island> {
    let (small_mm, large_mm) = (low_mm(settings), low_island_mm(settings));
    f.islands.iter().filter(move |s| {
        let low_mm = if s.area_mm2 < ISLAND_MM2 {
            small_mm
        } else {
            large_mm
        };
        s.z_mm > low_mm && !s.graze
    })
}

/// Whether a person would switch support on.
pub fn needs_support(f: &Figures, settings: &Settings) -> bool {
    hangs(f) && !spare(f, settings)
}

/// Support that is printed, mm³: none where a person leaves it off.
pub fn on_mm3(f: &Figures, settings: &Settings) -> f64 {
    if needs_support(f, settings) {
        f.support_needed_mm3
    } else {
        0.0
    }
}

/// Bridges within the limit, from the bed up; none whose strands run beside what holds them.
pub fn within_limit<'a>(f: &'a Figures, settings: &Settings) -> impl Iterator<Item = &'a Bridge> {
    let limit_mm = settings.bridge_limit_mm;
    let all = f.bridges.iter().chain(&f.grooves);
    all.filter(move |b| b.span_mm <= limit_mm && b.across.is_none())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Slats low over the bed, a third of them carried from end to end: nothing is left to hold.
    #[test]
    fn low_slopes_that_bridge_are_low_all_the_same() {
        let f = Figures {
            overhang_low_slope_mm2: 618.0,
            overhang_low_mm2: 419.0,
            support_needed_mm3: 277.0,
            ..Figures::default()
        };
        assert!(steep_mm2(&f) < 1e-9);
        assert!(!needs_support(&f, &Settings::default()));
    }

    /// With layers of 0.2 mm: a stem of 4 mm² that begins 0.4 mm over the bed has two layers of air below
    /// it, one at 0.2 mm a single one; a speck sags on to the bed from 0.6 mm.
    #[test]
    fn an_island_low_over_the_bed_is_left_alone_only_where_it_is_small_or_a_layer_up() {
        let settings = Settings::default();
        let held = |z_mm, area_mm2| {
            let island = Island {
                z_mm,
                area_mm2,
                graze: false,
            };
            let f = Figures {
                islands: vec![island],
                ..Figures::default()
            };
            islands(&f, &settings).count() == 1
        };
        assert!(held(0.4, 4.0));
        assert!(!held(0.2, 4.0));
        assert!(!held(0.6, 0.5));
        assert!(held(0.8, 0.5));
    }
}
