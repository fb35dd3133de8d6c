//! Every tolerance of the crate, in one place.
//!
//! A tolerance is a precision times the size of the thing: coordinates in files
//! are single-precision floats more often than not, so a length is trusted to
//! [`COORD_REL`] of the part's largest extent.

/// Relative trust in a coordinate: 2⁻²² of the part's extent, four units in the
/// last place of a single-precision file coordinate.
pub const COORD_REL: f64 = 1.0 / 4_194_304.0;

/// Two facets of a hull count as co-planar within this relative height
/// (times the part's extent): a part that was turned before it was written in
/// single precision has flats that are flat to this much.
pub const COPLANAR_REL: f64 = 4.0 * COORD_REL;

/// Margin on the overhang limit, in degrees: lean counts as an overhang beyond
/// `limit + OVERHANG_MARGIN_DEG`.
pub const OVERHANG_MARGIN_DEG: f64 = 0.5;

/// A surface within this angle of level has no stair steps, in degrees.
pub const LEVEL_DEG: f64 = 0.5;

/// Mid-layer sections are cut this much above the nominal mid-layer height, so
/// that a face modelled exactly at mid-layer height is below the cut whatever
/// the rounding of the file. In mm.
pub const SECTION_NUDGE_MM: f64 = 1e-3;

/// Tolerance when a height is divided into layers, in layers: 2.7 mm at
/// 0.3 mm is 9 layers although 2.7/0.3 rounds above 9.
pub const LAYER_COUNT_TOL: f64 = 1e-4;

/// Entries shown to a person differ by at least this angle, in degrees.
pub const POSE_SEPARATION_DEG: f64 = 10.0;

/// Length below which two coordinates of a part of `extent` mm are the same.
pub fn length(extent: f64) -> f64 {
    extent * COORD_REL
}
