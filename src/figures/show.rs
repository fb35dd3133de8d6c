//! Marks on the sides that must come out clean.
//!
//! A facet belongs to a side that is shown where its normal is within 60° of one of
//! the named directions. It is marked in full where it is an overhang (support or
//! sag), and where it lies on the bed, which prints its own texture and an
//! elephant's foot (common practice) with half; elsewhere by the share of a step:
//! half its cusp height over the layer.

use crate::mesh::sum;
use crate::pose::Posed;
use crate::settings::Settings;

/// Cosine of the cone about a shown direction.
const CONE_COS: f64 = 0.5;

/// Marked area of the shown sides, mm²; 0 where no side was named.
pub fn marked_mm2(posed: &Posed, settings: &Settings) -> f64 {
    let touch = settings.touch_mm();
    let sine = settings.overhang_sin();
    let level = libm::cos(crate::tol::LEVEL_DEG.to_radians());
    let part = posed.part;
    sum(part.normals.len(), 8192, |t| {
        if !(settings.show.iter()).any(|s| part.normals[t].dot(s) > CONE_COS) {
            return 0.0;
        }
        let nz = posed.normal_z[t];
        let top = posed.corners(t).iter().fold(0.0, |top, p| p.z.max(top));
        let mark = if top <= touch {
            0.5
        } else if -nz > sine {
            1.0
        } else if nz.abs() > level {
            0.0
        } else {
            nz.abs() / 2.0
        };
        part.areas[t] * mark
    })
}
