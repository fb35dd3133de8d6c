//! Symmetries of a part, and poses that are one and the same by them.
//!
//! Source: M. J. Atallah, *On symmetry detection*, 1985 (propose from matching features,
//! then verify), here with the flats of the hull as features and the corners of the
//! surface as proof. Refinement by the orthogonal polar factor: P. H. Schönemann,
//! *A generalized solution of the orthogonal Procrustes problem*, 1966.
//!
//! Mirror images count: a part and its mirror image print alike.

use crate::mesh::Part;
use crate::pose::corners::Corners;
use crate::pose::hull::Hull;
use crate::tol;
use nalgebra::{Matrix3, Unit, Vector3};
use rayon::prelude::*;
use std::f64::consts::TAU;

/// Largest facets that take part; a part with more is curved, and its large ones suffice.
const FACETS: usize = 2000;
/// Facets whose image is looked up for each proposal.
const CHECKED: usize = 24;
/// Proposals kept for each image of the first feature, nearest to the part as it is first.
const NEAREST: usize = 256;
/// Proposals in all.
const PROPOSALS: usize = 8192;
/// Corner look-ups over all proposals; beyond, corners are sampled evenly.
const LOOKUPS: usize = 4_000_000;
/// A rotation symmetry of at least this order is that of a tessellated body of revolution.
const ROUND_FOLD: f64 = 24.0;
/// Directions this close are the same, radians (0.01°).
const SAME_RAD: f64 = 1.75e-4;
/// Cosines of matching facets agree to this before refinement.
const COSINE: f64 = 1e-4;

/// The symmetry group of a part about its centroid, as far as it was found.
#[derive(Debug, Clone, PartialEq)]
pub struct Symmetry {
    /// Orthogonal maps of the part onto itself about the centroid, part frame; det +1
    /// for rotations, −1 for mirrors. The identity comes first.
    pub isometries: Vec<Matrix3<f64>>,
    /// Axis of a body of revolution: the part has a rotation symmetry of order 24 or more
    /// about it. The isometries are then only some of the group.
    pub axis: Option<Unit<Vector3<f64>>>,
}

impl Symmetry {
    /// The symmetries of `part`, whose hull is `hull`.
    ///
    /// Every map is proposed by two facets and the two they may be carried to, and
    /// kept if it carries the corners of the mesh, normals included, onto corners
    /// within 16 × [`tol::COORD_REL`] of the part. A part that is symmetric but meshed
    /// unsymmetrically along its edges counts as unsymmetric. A flat hull has only
    /// the identity.
    pub fn detect(part: &Part, hull: &Hull) -> Self {
        let mut found = vec![Matrix3::identity()];
        let features = FacetClasses::new(part, hull);
        let likely: Vec<Matrix3<f64>> = features
            .proposals()
            .iter()
            .filter_map(|m| features.refine(m))
            .collect();
        if !likely.is_empty() {
            let corners = Corners::new(part, features.within_mm);
            let stride = (corners.len() * likely.len()).div_ceil(LOOKUPS);
            let proven: Vec<bool> = likely.par_iter().map(|m| corners.maps(m, stride)).collect();
            for (m, _) in likely.iter().zip(&proven).filter(|p| *p.1) {
                if found.iter().all(|f| (f - m).norm() > SAME_RAD) {
                    found.push(*m);
                }
            }
        }
        let axis = round_axis(&found);
        Self {
            isometries: found,
            axis,
        }
    }

    /// Those of the symmetries that carry a line onto itself, whichever way it points, and
    /// each of some directions onto one of them (to 0.01°).
    #[must_use]
    pub fn keeping(&self, line: Option<Unit<Vector3<f64>>>, set: &[Unit<Vector3<f64>>]) -> Self {
        let near = |a: &Vector3<f64>, b: &Vector3<f64>| (a - b).norm() <= SAME_RAD;
        let keeps = |m: &&Matrix3<f64>| {
            let line = line.is_none_or(|d| near(&(*m * *d), &d) || near(&(*m * *d), &-*d));
            line && (set.iter()).all(|d| set.iter().any(|e| near(&(*m * **d), e)))
        };
        let along = |axis: &Unit<Vector3<f64>>| {
            (line.iter().chain(set)).all(|d| axis.cross(d).norm() <= SAME_RAD)
        };
        Self {
            isometries: self.isometries.iter().filter(keeps).copied().collect(),
            axis: self.axis.filter(along),
        }
    }

    /// Whether some symmetry, rotation or mirror, carries one direction onto the other
    /// (to 0.01°).
    pub fn equivalent(&self, a: &Unit<Vector3<f64>>, b: &Unit<Vector3<f64>>) -> bool {
        self.images(a).any(|image| self.same(&image, b))
    }

    /// Where the symmetries carry a direction.
    pub fn images(&self, of: &Unit<Vector3<f64>>) -> impl Iterator<Item = Vector3<f64>> {
        let of = of.into_inner();
        self.isometries.iter().map(move |m| m * of)
    }

    /// Smallest angle, degrees, between `b` and any direction equivalent to `a`: 0 for
    /// equivalent ones.
    pub fn apart_deg(&self, a: &Unit<Vector3<f64>>, b: &Unit<Vector3<f64>>) -> f64 {
        let chords = self.images(a).map(|image| self.chord(&image, b));
        let chord = chords.fold(self.chord(a, b), f64::min);
        2.0 * libm::asin((chord / 2.0).min(1.0)).to_degrees()
    }

    /// Number of directions that are equivalent to `down`, itself included. On a body of
    /// revolution all directions of one latitude count as one.
    pub fn orbit(&self, down: &Unit<Vector3<f64>>) -> usize {
        let mut apart: Vec<Vector3<f64>> = Vec::new();
        for image in self.images(down) {
            if !apart.iter().any(|i| self.same(i, &image)) {
                apart.push(image);
            }
        }
        apart.len()
    }

    /// Whether two unit directions are one, or one up to a turn about the axis.
    fn same(&self, a: &Vector3<f64>, b: &Vector3<f64>) -> bool {
        self.chord(a, b) <= SAME_RAD
    }

    /// Distance of two unit directions as points, up to a turn about the axis.
    fn chord(&self, a: &Vector3<f64>, b: &Vector3<f64>) -> f64 {
        self.axis.as_ref().map_or_else(
            || (a - b).norm(),
            |axis| {
                let polar = |d: &Vector3<f64>| [d.dot(axis), d.cross(axis).norm()];
                let ([za, ra], [zb, rb]) = (polar(a), polar(b));
                libm::hypot(za - zb, ra - rb)
            },
        )
    }
}

/// The axis of the smallest turn in a group, if it is that of a body of revolution.
fn round_axis(group: &[Matrix3<f64>]) -> Option<Unit<Vector3<f64>>> {
    let mut best: Option<(f64, Vector3<f64>)> = None;
    for m in group.iter().filter(|m| m.determinant() > 0.0) {
        let twist = Vector3::new(
            m[(2, 1)] - m[(1, 2)],
            m[(0, 2)] - m[(2, 0)],
            m[(1, 0)] - m[(0, 1)],
        );
        let angle = libm::atan2(twist.norm(), m.trace() - 1.0);
        if angle > SAME_RAD && best.is_none_or(|b| angle < b.0) {
            best = Some((angle, twist));
        }
    }
    // Half a step of leeway for rounding.
    best.filter(|b| TAU / b.0 > ROUND_FOLD - 0.5)
        .map(|b| Unit::new_normalize(b.1))
}

/// A facet as a symmetry sees it.
struct ClassedFacet {
    normal: Vector3<f64>,
    area_mm2: f64,
    height_mm: f64,
    class: usize,
}

struct FacetClasses {
    all: Vec<ClassedFacet>,
    /// Members of each class of equal area and height over the centroid.
    classes: Vec<Vec<usize>>,
    within_mm: f64,
}

impl FacetClasses {
    fn new(part: &Part, hull: &Hull) -> Self {
        let within_mm = 16.0 * tol::COORD_REL * hull.scale_mm();
        let mut classes: Vec<Vec<usize>> = Vec::new();
        let mut all: Vec<ClassedFacet> = Vec::new();
        for f in hull.facets().iter().take(FACETS) {
            let height_mm = f.offset_mm - part.mass.centroid.coords.dot(&f.normal);
            let alike = |members: &Vec<usize>| {
                let first = &all[members[0]];
                // An outline that is off by the tolerance all round.
                let room = 4.0 * within_mm * f.area_mm2.sqrt() + within_mm * within_mm;
                (first.area_mm2 - f.area_mm2).abs() <= room
                    && (first.height_mm - height_mm).abs() <= within_mm
            };
            let class = classes.iter().position(alike).unwrap_or_else(|| {
                classes.push(Vec::new());
                classes.len() - 1
            });
            classes[class].push(all.len());
            all.push(ClassedFacet {
                normal: f.normal.into_inner(),
                area_mm2: f.area_mm2,
                height_mm,
                class,
            });
        }
        Self {
            all,
            classes,
            within_mm,
        }
    }

    /// Maps that carry one feature of the rarest kind, and another across it, onto their likes.
    fn proposals(&self) -> Vec<Matrix3<f64>> {
        let mut rare: Vec<&Vec<usize>> = self.classes.iter().collect();
        rare.sort_by_key(|members| members.len());
        let Some(firsts) = rare.first() else {
            return Vec::new();
        };
        let a = &self.all[firsts[0]].normal;
        let across = |i: &&usize| a.cross(&self.all[**i].normal).norm() > 0.1;
        let Some(&second) = rare.iter().find_map(|members| members.iter().find(across)) else {
            return Vec::new();
        };
        let b = &self.all[second].normal;
        let seconds = &self.classes[self.all[second].class];
        let from = frame(a, b, 1.0).transpose();
        let mut maps = Vec::new();
        for &i in *firsts {
            let image_a = &self.all[i].normal;
            let mut images: Vec<&Vector3<f64>> = seconds
                .iter()
                .map(|&j| &self.all[j].normal)
                .filter(|image_b| (image_a.dot(image_b) - a.dot(b)).abs() <= COSINE)
                .collect();
            images.sort_by(|p, q| q.dot(b).total_cmp(&p.dot(b)));
            for image_b in images.into_iter().take(NEAREST) {
                maps.extend([1.0, -1.0].map(|hand| frame(image_a, image_b, hand) * from));
            }
        }
        maps.truncate(PROPOSALS);
        maps
    }

    /// The map fitted to the largest features and their images, or `None` where one has none.
    fn refine(&self, map: &Matrix3<f64>) -> Option<Matrix3<f64>> {
        let mut sum = Matrix3::zeros();
        for f in self.all.iter().take(CHECKED) {
            let image = map * f.normal;
            let near = self.classes[f.class]
                .iter()
                .map(|&j| &self.all[j].normal)
                .max_by(|p, q| p.dot(&image).total_cmp(&q.dot(&image)))
                .filter(|n| n.dot(&image) >= 1.0 - COSINE)?;
            sum += near * f.normal.transpose() * f.area_mm2;
        }
        let svd = sum.svd(true, true);
        Some(svd.u? * svd.v_t?)
    }
}

/// Orthonormal frame of two directions: the first, across it towards the second, and the
/// third on the side of `hand`.
fn frame(a: &Vector3<f64>, b: &Vector3<f64>, hand: f64) -> Matrix3<f64> {
    let third = a.cross(b).normalize();
    Matrix3::from_columns(&[*a, third.cross(a), third * hand])
}

#[cfg(test)]
#[path = "symmetry_tests.rs"]
mod tests;
