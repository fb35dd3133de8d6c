//! Directions in which the part stands on a flat of its hull.
//!
//! Source: K. Goldberg, B. Mirtich et al., *Part pose statistics: estimators and
//! experiments*, 1999: a body rests on the facets of its convex hull over which its
//! centroid stands.

use super::hull::{Facet, Hull};
use crate::plane::rect::margin;
use crate::tol;
use nalgebra::{Point2, Point3, Unit, Vector3};

/// A facet of the hull taken for a base.
#[derive(Debug, Clone, PartialEq)]
pub struct Rest {
    /// Outward normal of the facet, part frame: what goes down.
    pub down: Unit<Vector3<f64>>,
    /// Index into [`Standing::facets`].
    pub facet: u32,
    /// The centroid stands over the facet: the part needs no help.
    pub stands: bool,
    /// Area of the facet, mm² (of the hull: the true contact may be less).
    pub area_mm2: f64,
    /// Distance of the centroid's foot to the facet's outline, mm: negative outside.
    pub margin_mm: f64,
    /// Smallest tilt that carries the centroid over the outline, radians; negative
    /// where it lies outside already.
    pub tip_rad: f64,
}

/// Facets of a hull as bases.
#[derive(Debug, Clone, PartialEq)]
pub struct Standing {
    /// The facets looked at, largest first.
    pub facets: Vec<Facet>,
    /// One entry a facet, same order.
    pub rests: Vec<Rest>,
    /// Number of facets of the hull, looked at or not.
    pub total: usize,
}

/// The `keep` largest facets of `hull` as bases for a part with this centroid
/// (part frame, mm). Curved hulls have thousands of facets of no use as a base.
///
/// A centroid within the length tolerance of the outline does not stand. On a
/// flat hull both sides are facets.
pub fn standing(hull: &Hull, centroid: &Point3<f64>, keep: usize) -> Standing {
    let total = hull.facets().len();
    let facets: Vec<Facet> = hull.facets().iter().take(keep).cloned().collect();
    let least = tol::length(hull.scale_mm());
    let rests = facets
        .iter()
        .enumerate()
        .map(|(i, facet)| {
            let [u, v] = facet.basis();
            let foot = Point2::new(centroid.coords.dot(&u), centroid.coords.dot(&v));
            let margin_mm = margin(&facet.outline(hull), &foot);
            let above_mm = (facet.offset_mm - centroid.coords.dot(&facet.normal)).max(0.0);
            Rest {
                down: facet.normal,
                facet: i as u32,
                stands: margin_mm > least,
                area_mm2: facet.area_mm2,
                margin_mm,
                tip_rad: margin_mm.atan2(above_mm),
            }
        })
        .collect();
    Standing {
        facets,
        rests,
        total,
    }
}

#[cfg(test)]
#[path = "standing_tests.rs"]
mod tests;
