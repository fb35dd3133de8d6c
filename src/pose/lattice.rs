//! Even sets of directions, and the frame of a part in which they are laid out.
//!
//! Sources: D. L. D. Caspar and A. Klug, *Physical principles in the construction of
//! regular viruses*, 1962 (triangulations of the icosahedron); R. Swinbank and R. J.
//! Purser, *Fibonacci grids: a novel approach to global modelling*, 2006; Á. González,
//! *Measurement of areas on a sphere using Fibonacci and latitude–longitude
//! lattices*, 2010; moments over tetrahedra after B. Mirtich, *Fast and accurate
//! computation of polyhedral mass properties*, 1996.

use super::hull::{Hull, plane_basis};
use crate::mesh::{Part, sum};
use nalgebra::{Matrix3, Point3, Rotation3, SymmetricEigen, Unit, Vector3};

/// No direction is further than this from one of [`lattice`], degrees.
pub const COVERING_DEG: f64 = 5.0;

/// Steps along two lattice directions from one corner of the icosahedron to the next: the
/// fewest for which some spread reaches [`COVERING_DEG`].
const STEPS: (i32, i32) = (7, 2);

/// How much the flat pattern is swollen about the corners of each face before it is
/// thrown on the sphere, so that the middle of a face is not stretched. Found by trial.
const SWELL: f64 = 0.28;

/// Principal moments closer than this, relative to the largest, count as equal: the
/// axes between them are not defined by the inertia.
const EQUAL_MOMENTS_REL: f64 = 1e-4;

/// Odd moments below this share of their scale count as zero.
const SYMMETRIC_REL: f64 = 1e-5;

/// Triangles a task, fixed, so that sums do not depend on the number of threads.
const CHUNK: usize = 1 << 14;

/// So many directions, each with an equal share of the sphere, along a spiral of golden angles
/// (Swinbank and Purser; González). None for a count of 0.
pub fn spiral(count: usize) -> Vec<Unit<Vector3<f64>>> {
    let golden = std::f64::consts::PI * (3.0 - 5.0_f64.sqrt());
    let at = |k: usize| {
        let z = 1.0 - (2.0 * k as f64 + 1.0) / count as f64;
        let (sin, cos) = libm::sincos(golden * k as f64);
        let r = (1.0 - z * z).sqrt();
        Unit::new_normalize(Vector3::new(r * cos, r * sin, z))
    };
    (0..count).map(at).collect()
}

/// The even lattice: 672 directions, no direction further than [`COVERING_DEG`] from one.
/// (Perfect hexagons, which no sphere has, would need 635.)
///
/// A triangulated icosahedron. Three of its two-fold axes are X, Y and Z, so it does not
/// matter which way the axes of a [`canonical_frame`] point. Order: face by face, fixed.
pub fn lattice() -> Vec<Unit<Vector3<f64>>> {
    // Caspar–Klug pattern of h and k steps: 10(h² + hk + k²) + 2 directions.
    let (h, k) = STEPS;
    let corners = icosahedron();
    let total = h * h + h * k + k * k;
    // Lattice points x + y·e^{iπ/3} in barycentric coordinates (times `total`) of the
    // triangle 0, h + k·e^{iπ/3}, and that times e^{iπ/3}.
    let reach = h + k;
    let mut cells = Vec::new();
    for y in 0..=reach {
        for x in -reach..=reach {
            let second = x * (h + k) + y * k;
            let third = y * h - x * k;
            let first = total - second - third;
            if first >= 0 && second >= 0 && third >= 0 {
                cells.push([first, second, third]);
            }
        }
    }
    let spread = |share: i32| {
        let part = f64::from(share) / f64::from(total);
        part * (1.0 + SWELL * (1.0 - part))
    };
    let mut found: Vec<Unit<Vector3<f64>>> = Vec::new();
    for a in 0..12 {
        for b in 0..12 {
            for c in 0..12 {
                let [p, q, r] = [a, b, c].map(|i| corners[i]);
                // Neighbours are 2 apart; each face once, counter-clockwise, smallest first.
                let near = |u: &Vector3<f64>, v: &Vector3<f64>| ((u - v).norm() - 2.0).abs() < 1e-6;
                let face = a < b && a < c && near(&p, &q) && near(&q, &r) && near(&r, &p);
                if !face || p.dot(&q.cross(&r)) < 0.0 {
                    continue;
                }
                for cell in &cells {
                    let [u, v, w] = cell.map(spread);
                    let d = Unit::new_normalize(p * u + q * v + r * w);
                    // Points on edges and corners come up once a face.
                    let inner = cell.iter().all(|&s| s > 0);
                    if inner || found.iter().all(|f| f.dot(&d) < 1.0 - 1e-9) {
                        found.push(d);
                    }
                }
            }
        }
    }
    found
}

/// Corners of the icosahedron in units of ½: cyclic (0, ±1, ±φ).
fn icosahedron() -> Vec<Vector3<f64>> {
    let golden = f64::midpoint(1.0, 5f64.sqrt());
    let mut corners = Vec::with_capacity(12);
    for s in [1.0, -1.0] {
        for t in [golden, -golden] {
            corners.push(Vector3::new(0.0, s, t));
            corners.push(Vector3::new(s, t, 0.0));
            corners.push(Vector3::new(t, 0.0, s));
        }
    }
    corners
}

/// A frame that turns with the part: its columns are the axes, part frame.
///
/// Principal axes of inertia, smallest moment first. Where two moments are equal (to one
/// part in 10⁴) the axis between them goes to the hull corner furthest from the third
/// axis; where all three are, the first axis is the normal of the largest facet. Axes
/// point where the third moment of the volume is positive, else where the hull reaches
/// further, else to the positive side of the part frame. Right-handed. An open part,
/// which has no inertia to speak of, gets the axes of its hull's corners.
pub fn canonical_frame(part: &Part, hull: &Hull) -> Rotation3<f64> {
    let centroid = part.mass.centroid;
    let inertia = part.mass.inertia_mm5;
    let usable = part.closed && inertia.iter().all(|c| c.is_finite()) && inertia.trace() > 0.0;
    let tensor = if usable {
        inertia
    } else {
        corner_inertia(hull, &centroid)
    };
    let eigen = SymmetricEigen::new(tensor);
    let mut order = [0, 1, 2];
    order.sort_by(|&i, &j| eigen.eigenvalues[i].total_cmp(&eigen.eigenvalues[j]));
    let [a, b, c] = order.map(|i| eigen.eigenvectors.column(i).into_owned());
    let [low, mid, high] = order.map(|i| eigen.eigenvalues[i]);
    let equal = |x: f64, y: f64| (y - x).abs() <= EQUAL_MOMENTS_REL * high.abs();
    let (first, second) = match (equal(low, mid), equal(mid, high)) {
        (false, false) => (a, b),
        (false, true) => (a, furthest_across(hull, &centroid, &a)),
        (true, false) => (furthest_across(hull, &centroid, &c), c),
        (true, true) => {
            let largest = hull.facets().first();
            let largest = largest.map_or_else(Vector3::x, |f| f.normal.into_inner());
            (largest, furthest_across(hull, &centroid, &largest))
        }
    };
    let first = pointed(part, hull, first);
    let across = (second - first * first.dot(&second)).normalize();
    let second = pointed(part, hull, across);
    let columns = [first, second, first.cross(&second)];
    Rotation3::from_matrix_unchecked(Matrix3::from_columns(&columns))
}

/// Inertia of unit masses on the corners of the hull.
fn corner_inertia(hull: &Hull, centroid: &Point3<f64>) -> Matrix3<f64> {
    hull.vertices
        .iter()
        .map(|p| {
            let d = p - centroid;
            Matrix3::identity() * d.norm_squared() - d * d.transpose()
        })
        .sum()
}

/// Unit vector across `axis` to the hull corner furthest from it.
fn furthest_across(hull: &Hull, centroid: &Point3<f64>, axis: &Vector3<f64>) -> Vector3<f64> {
    let mut best = plane_basis(axis)[0];
    let mut reach = 0.0;
    for p in &hull.vertices {
        let d = p - centroid;
        let across = d - axis * d.dot(axis);
        // A symmetric part has several; the first is kept unless another is clearly further.
        if across.norm() > reach * (1.0 + SYMMETRIC_REL) {
            reach = across.norm();
            best = across / reach;
        }
    }
    best
}

/// `axis` or its opposite, by the rules of [`canonical_frame`].
fn pointed(part: &Part, hull: &Hull, axis: Vector3<f64>) -> Vector3<f64> {
    let centre = part.mass.centroid;
    let (lo, hi) = hull.range_along(&axis);
    let (below, beyond) = (centre.coords.dot(&axis) - lo, hi - centre.coords.dot(&axis));
    let reach = below.max(beyond);
    let third = third_moment(part, &axis);
    let sign = if third.abs() > SYMMETRIC_REL * part.mass.volume_mm3.abs() * reach.powi(3) {
        third
    } else if (beyond - below).abs() > SYMMETRIC_REL * reach {
        beyond - below
    } else {
        axis[axis.iamax()]
    };
    if sign < 0.0 { -axis } else { axis }
}

/// ∫ ((p − centroid) · axis)³ over the volume, mm⁶.
fn third_moment(part: &Part, axis: &Vector3<f64>) -> f64 {
    sum(part.mesh.triangles.len(), CHUNK, |t| {
        let [p, q, r] = part.mesh.corners(t).map(|p| p - part.mass.centroid);
        let (x, y, z) = (p.dot(axis), q.dot(axis), r.dot(axis));
        // Over a tetrahedron with one corner at the origin: V/20 times the sum of all
        // cubic monomials of the other three.
        let cubic = x * x * (x + y + z) + y * y * (x + y + z) + z * z * (x + y + z) + x * y * z;
        p.dot(&q.cross(&r)) / 120.0 * cubic
    })
}

#[cfg(test)]
#[path = "lattice_tests.rs"]
mod tests;
