//! Finding the facets near the bed for any direction, quickly.
//!
//! Facets are put in Morton order of their centroids, in bundles of
//! `BUNDLE`; a bounding-volume hierarchy over the bundles' boxes finds the
//! bundles that reach below a height without looking at the others.

use crate::mesh::{Mesh, Part};
use nalgebra::{Point3, Unit, Vector3};
use parry3d_f64::bounding_volume::Aabb;
use parry3d_f64::partitioning::{Bvh, BvhBuildStrategy};
use rayon::prelude::*;

/// Facets in one bundle.
const BUNDLE: usize = 32;

/// Bundles of facets and the hierarchy over their boxes.
pub struct NearBed {
    order: Vec<u32>,
    bvh: Bvh,
}

impl NearBed {
    /// Sorts the facets of `mesh` into bundles. An empty mesh finds nothing.
    pub fn new(mesh: &Mesh) -> Self {
        let Some((lo, hi)) = mesh.bounds() else {
            return Self {
                order: Vec::new(),
                bvh: Bvh::new(),
            };
        };
        let scale = (hi - lo).map(|e| 1023.0 / e.max(f64::MIN_POSITIVE));
        let mut keyed: Vec<(u32, u32)> = (0..mesh.triangles.len())
            .into_par_iter()
            .with_min_len(4096)
            .map(|t| {
                let [a, b, c] = mesh.corners(t);
                let centre = (a.coords + b.coords + c.coords) / 3.0;
                let q = (centre - lo.coords).component_mul(&scale);
                (morton(q.map(|v| v as u32)), t as u32)
            })
            .collect();
        keyed.par_sort_unstable();
        let order: Vec<u32> = keyed.into_iter().map(|(_, t)| t).collect();
        let boxes: Vec<Aabb> = order
            .par_chunks(BUNDLE)
            .map(|bundle| {
                let mut lo = Point3::from(Vector3::repeat(f64::INFINITY));
                let mut hi = Point3::from(Vector3::repeat(f64::NEG_INFINITY));
                for &t in bundle {
                    for p in mesh.corners(t as usize) {
                        lo = lo.inf(&p);
                        hi = hi.sup(&p);
                    }
                }
                Aabb::new(parry_point(lo), parry_point(hi))
            })
            .collect();
        let bvh = Bvh::from_leaves(BvhBuildStrategy::Binned, &boxes);
        Self { order, bvh }
    }

    /// Calls `visit` with every facet that may reach further along `down` than
    /// `reach` (p·down > reach for some corner p), and perhaps a few that do
    /// not. Order is fixed for a given mesh and direction.
    pub fn visit(&self, down: &Unit<Vector3<f64>>, reach: f64, mut visit: impl FnMut(usize)) {
        let d = down.as_ref();
        let leaves = self.bvh.leaves(|node| {
            let (lo, hi) = (node.mins(), node.maxs());
            let far = d.x * if d.x > 0.0 { hi.x } else { lo.x }
                + d.y * if d.y > 0.0 { hi.y } else { lo.y }
                + d.z * if d.z > 0.0 { hi.z } else { lo.z };
            far >= reach
        });
        for leaf in leaves {
            let first = leaf as usize * BUNDLE;
            for &t in self.order.iter().skip(first).take(BUNDLE) {
                visit(t as usize);
            }
        }
    }

    /// Distance from `from` along `down` to the next facet of `part` that faces against
    /// `down`, farther than `skin`; `None` where there is none. Part frame, mm.
    ///
    /// Source: T. Möller and B. Trumbore, *Fast, minimum storage ray/triangle
    /// intersection*, 1997.
    pub fn void_below(
        &self,
        part: &Part,
        from: &Point3<f64>,
        down: &Unit<Vector3<f64>>,
        skin: f64,
    ) -> Option<f64> {
        let leaves = self.bvh.leaves(|node| {
            let (lo, hi) = (node.mins(), node.maxs());
            let (mut near, mut far) = (0.0_f64, f64::INFINITY);
            for (lo, hi, at, d) in [
                (lo.x, hi.x, from.x, down.x),
                (lo.y, hi.y, from.y, down.y),
                (lo.z, hi.z, from.z, down.z),
            ] {
                if d == 0.0 {
                    if at < lo || at > hi {
                        return false;
                    }
                    continue;
                }
                let (a, b) = ((lo - at) / d, (hi - at) / d);
                near = near.max(a.min(b));
                far = far.min(a.max(b));
            }
            near <= far
        });
        let mut next: Option<f64> = None;
        for leaf in leaves {
            for &t in self.order.iter().skip(leaf as usize * BUNDLE).take(BUNDLE) {
                if part.normals[t as usize].dot(down) >= 0.0 {
                    continue;
                }
                let [a, b, c] = part.mesh.corners(t as usize);
                let (u, v) = (b - a, c - a);
                let p = down.cross(&v);
                let det = u.dot(&p);
                if det == 0.0 {
                    continue;
                }
                let s = from - a;
                let q = s.cross(&u);
                let (i, j) = (s.dot(&p) / det, down.dot(&q) / det);
                let at = v.dot(&q) / det;
                if i >= 0.0 && j >= 0.0 && i + j <= 1.0 && at > skin {
                    next = Some(next.map_or(at, |n| n.min(at)));
                }
            }
        }
        next
    }
}

/// The one place where a point crosses into parry's vector type.
fn parry_point(p: Point3<f64>) -> parry3d_f64::math::Vector {
    parry3d_f64::math::Vector::new(p.x, p.y, p.z)
}

fn morton(q: Vector3<u32>) -> u32 {
    let spread = |mut v: u32| {
        v &= 0x3ff;
        v = (v | (v << 16)) & 0x0300_00ff;
        v = (v | (v << 8)) & 0x0300_f00f;
        v = (v | (v << 4)) & 0x030c_30c3;
        (v | (v << 2)) & 0x0924_9249
    };
    spread(q.x) | (spread(q.y) << 1) | (spread(q.z) << 2)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn finds_exactly_what_a_full_scan_finds() {
        // A bumpy grid of 40 × 40 squares, heights by a formula.
        let mut mesh = Mesh::default();
        for j in 0..41 {
            for i in 0..41 {
                let (x, y) = (f64::from(i), f64::from(j));
                mesh.vertices
                    .push(Point3::new(x, y, (x * 0.7).sin() * 3.0 + (y * 0.3).cos()));
            }
        }
        for j in 0..40_u32 {
            for i in 0..40_u32 {
                let v = j * 41 + i;
                mesh.triangles.push([v, v + 1, v + 42]);
                mesh.triangles.push([v, v + 42, v + 41]);
            }
        }
        let near = NearBed::new(&mesh);
        for d in [[0.0, 0.0, -1.0], [1.0, 0.0, 0.0], [0.3, -0.5, 0.8]] {
            let down = Unit::new_normalize(Vector3::from(d));
            let far = |t: usize| {
                mesh.corners(t)
                    .map(|p| p.coords.dot(&down))
                    .into_iter()
                    .fold(f64::NEG_INFINITY, f64::max)
            };
            let top = (0..mesh.triangles.len())
                .map(far)
                .fold(f64::NEG_INFINITY, f64::max);
            let reach = top - 1.0;
            let mut found = Vec::new();
            near.visit(&down, reach, |t| {
                if far(t) > reach {
                    found.push(t);
                }
            });
            found.sort_unstable();
            let scan: Vec<usize> = (0..mesh.triangles.len())
                .filter(|&t| far(t) > reach)
                .collect();
            assert!(!scan.is_empty());
            assert_eq!(found, scan);
        }
    }
}
