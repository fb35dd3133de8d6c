//! Directions in which the part stands on a flat of its hull.
//!
//! Source: K. Goldberg, B. Mirtich et al., *Part pose statistics: estimators and
//! experiments*, 1999: a body rests on the facets of its convex hull over which its
//! centroid stands.

use super::hull::{Hull, in_plane};
use crate::plane::rect::margin;
use crate::tol;
use nalgebra::{Point3, Unit, Vector3};

/// A facet of the hull taken for a base.
#[derive(Debug, Clone, PartialEq)]
pub struct Rest {
    /// Outward normal of the facet, part frame: what goes down.
    pub down: Unit<Vector3<f64>>,
    /// The centroid stands over the facet: the part needs no help.
    pub stands: bool,
    /// Distance of the centroid's foot to the facet's outline, mm: negative outside.
    pub margin_mm: f64,
}

/// The `keep` largest facets of `hull`, largest first, as bases for a part with this
/// centroid (part frame, mm). Curved hulls have thousands of facets of no use as a base.
///
/// A centroid within the length tolerance of the outline does not stand. On a
/// flat hull both sides are facets.
pub fn standing(hull: &Hull, centroid: &Point3<f64>, keep: usize) -> Vec<Rest> {
    let least = tol::length(hull.scale_mm());
    (hull.facets().iter().take(keep))
        .map(|facet| {
            let margin_mm = margin(&facet.outline(hull), &in_plane(&facet.basis(), centroid));
            Rest {
                down: facet.normal,
                stands: margin_mm > least,
                margin_mm,
            }
        })
        .collect()
}

#[cfg(test)]
#[path = "standing_tests.rs"]
mod tests;
