//! Finding the facets that reach beyond a plane or that a ray meets, quickly.
//!
//! Facets are put in Morton order of their centroids, in bundles of
//! `BUNDLE`; a bounding-volume hierarchy over the bundles' boxes finds the
//! bundles that matter without looking at the others.

use super::lines::Ray;
use super::{Bounds, Mesh};
use nalgebra::{Point3, Unit, Vector3};
use parry3d_f64::bounding_volume::{Aabb, BoundingVolume};
use parry3d_f64::partitioning::{Bvh, BvhBuildStrategy, BvhNode};
use parry3d_f64::query::{Ray as Line, RayCast};
use rayon::prelude::*;
use std::cell::Cell;
use std::sync::atomic::{AtomicUsize, Ordering};

/// Facets in one bundle.
const BUNDLE: usize = 32;

/// How much a box is grown for a ray, of its largest coordinate: some hundred roundings.
const BOX_SLACK_REL: f64 = 256.0 * f64::EPSILON;

/// Where a ray meets a facet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hit {
    /// Index into the triangles of the mesh.
    pub triangle: usize,
    /// Distance from the start of the ray, mm.
    pub apart_mm: f64,
    /// The ray enters the solid here (the facet faces against it) rather than leaves.
    pub enters: bool,
}

/// Bundles of facets and the hierarchy over their boxes.
pub struct FacetBvh {
    order: Vec<u32>,
    bvh: Bvh,
}

static BUILT: AtomicUsize = AtomicUsize::new(0);

impl FacetBvh {
    /// How often one was built over a whole mesh in this process.
    pub fn built() -> usize {
        BUILT.load(Ordering::Relaxed)
    }

    /// Sorts the facets of `mesh` into bundles. An empty mesh finds nothing.
    pub fn new(mesh: &Mesh) -> Self {
        BUILT.fetch_add(1, Ordering::Relaxed);
        let all: Vec<u32> = (0..mesh.triangles.len() as u32).collect();
        Self::of(mesh, &all)
    }

    /// The same of some of the facets of `mesh`, given by their indices.
    pub fn of(mesh: &Mesh, facets: &[u32]) -> Self {
        let (lo, hi) = mesh.bounds_of(facets);
        let scale = (hi - lo).map(|e| 1023.0 / e.max(f64::MIN_POSITIVE));
        let mut keyed: Vec<(u32, u32)> = facets
            .par_iter()
            .with_min_len(4096)
            .map(|&t| {
                let [a, b, c] = mesh.corners(t as usize);
                let centre = (a.coords + b.coords + c.coords) / 3.0;
                let q = (centre - lo.coords).component_mul(&scale);
                (morton(q.map(|v| v as u32)), t)
            })
            .collect();
        keyed.par_sort_unstable();
        let order: Vec<u32> = keyed.into_iter().map(|(_, t)| t).collect();
        let boxes: Vec<Aabb> = order
            .par_chunks(BUNDLE)
            .map(|bundle| parry_box(&mesh.bounds_of(bundle)))
            .collect();
        let bvh = Bvh::from_leaves(BvhBuildStrategy::Binned, &boxes);
        Self { order, bvh }
    }

    /// Facets of a leaf.
    fn bundle(&self, leaf: u32) -> &[u32] {
        let first = leaf as usize * BUNDLE;
        &self.order[first..self.order.len().min(first + BUNDLE)]
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
        leaves.for_each(|leaf| self.bundle(leaf).iter().for_each(|t| visit(*t as usize)));
    }

    /// Calls `visit` with every facet whose box the line through `p` along +z may meet
    /// at or above `p`, and perhaps a few more.
    pub(super) fn above(&self, p: &Point3<f64>, mut visit: impl FnMut(u32)) {
        let leaves = self.bvh.leaves(|node| {
            let (lo, hi) = (node.mins(), node.maxs());
            (lo.x..=hi.x).contains(&p.x) && (lo.y..=hi.y).contains(&p.y) && p.z <= hi.z
        });
        leaves.for_each(|leaf| self.bundle(leaf).iter().for_each(|t| visit(*t)));
    }

    /// The nearest facet of `mesh`, the mesh it was made for, that the ray from `from`
    /// along `along` meets and that `counts`; `None` where there is none. Part frame, mm.
    ///
    /// Watertight: through an edge or a corner the ray meets each surface once, whatever
    /// the shape of its facets. A facet seen edge on is not met. Of facets at one
    /// distance the one of lowest index is taken.
    ///
    /// Source: S. Woop, C. Benthin and I. Wald, *Watertight ray/triangle intersection*,
    /// JCGT 2013; see `Ray` for how ties fall.
    pub fn first_hit(
        &self,
        mesh: &Mesh,
        from: &Point3<f64>,
        along: &Unit<Vector3<f64>>,
        counts: impl Fn(&Hit) -> bool,
    ) -> Option<Hit> {
        self.first_within(mesh, from, along, f64::MAX, |_| true, counts)
    }

    /// The same of the facets that are `wanted`, up to `within` mm from `from`: what lies farther
    /// may be given or not. Far quicker for a short ray, and where most facets are not wanted.
    pub fn first_within(
        &self,
        mesh: &Mesh,
        from: &Point3<f64>,
        along: &Unit<Vector3<f64>>,
        within: f64,
        wanted: impl Fn(usize) -> bool,
        counts: impl Fn(&Hit) -> bool,
    ) -> Option<Hit> {
        let ray = Ray::new(from, along);
        let first: Cell<Option<Hit>> = Cell::new(None);
        let (start, way) = (parry_vector(&from.coords), parry_vector(along));
        let line = Line::new(start, way);
        // Distance at which the ray comes to a box, at the least; `Real::MAX` where it passes.
        let reaches = |node: &BvhNode, _| {
            // No rounding, here or in the ray's own frame, may lose a facet.
            let furthest = start.abs().max(node.mins().abs()).max(node.maxs().abs());
            let grown = (node.aabb()).loosened(BOX_SLACK_REL * furthest.max_element());
            grown
                .cast_local_ray(&line, f64::MAX, true)
                .unwrap_or(f64::MAX)
        };
        // A little more: a box that begins just here may hold a facet of lower index.
        let further = |mm: f64| (mm * (1.0 + f64::EPSILON) + f64::MIN_POSITIVE).min(f64::MAX);
        self.bvh.find_best(further(within), reaches, |leaf, _| {
            for &t in self.bundle(leaf) {
                if !wanted(t as usize) {
                    continue;
                }
                let Some((apart_mm, enters)) = ray.meets(&mesh.corners(t as usize)) else {
                    continue;
                };
                let hit = Hit {
                    triangle: t as usize,
                    apart_mm,
                    enters,
                };
                let sooner = first
                    .get()
                    .is_none_or(|f| (apart_mm, hit.triangle) < (f.apart_mm, f.triangle));
                if sooner && apart_mm >= 0.0 && counts(&hit) {
                    first.set(Some(hit));
                }
            }
            first.get().map(|hit| further(hit.apart_mm))
        });
        first.get()
    }
}

/// A box in parry's types.
pub(super) fn parry_box((lo, hi): &Bounds) -> Aabb {
    Aabb::new(parry_vector(&lo.coords), parry_vector(&hi.coords))
}

/// The one place where a vector crosses into parry's types.
fn parry_vector(v: &Vector3<f64>) -> parry3d_f64::math::Vector {
    parry3d_f64::math::Vector::new(v.x, v.y, v.z)
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
                mesh.vertices.push(Point3::new(
                    x,
                    y,
                    libm::sin(x * 0.7) * 3.0 + libm::cos(y * 0.3),
                ));
            }
        }
        for j in 0..40_u32 {
            for i in 0..40_u32 {
                let v = j * 41 + i;
                mesh.triangles.push([v, v + 1, v + 42]);
                mesh.triangles.push([v, v + 42, v + 41]);
            }
        }
        let near = FacetBvh::new(&mesh);
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

    /// A bump of narrow facets round a hub over a closed floor.
    fn fan(rim: usize, lift: f64) -> Mesh {
        let mut mesh = Mesh {
            vertices: vec![
                Point3::new(0.1, 0.2, 1.0 + lift),
                Point3::new(0.1, 0.2, -1.0),
            ],
            triangles: Vec::new(),
        };
        for i in 0..rim {
            let angle = i as f64 / rim as f64 * std::f64::consts::TAU;
            mesh.vertices.push(Point3::new(
                7.0 * libm::cos(angle),
                3.0 * libm::sin(angle),
                1.0,
            ));
            let (a, b) = (2 + i as u32, 2 + ((i + 1) % rim) as u32);
            mesh.triangles.push([0, a, b]);
            mesh.triangles.push([1, b, a]);
        }
        mesh
    }

    #[test]
    fn no_ray_slips_between_facets() {
        let tilts = [
            [0.0, 0.0, -1.0],
            [0.31, -0.17, -0.93],
            [-0.6, 0.55, -0.58],
            [0.01, 0.02, -1.0],
        ];
        for rim in [5, 40, 4000] {
            let mesh = fan(rim, 0.37);
            let tree = FacetBvh::new(&mesh);
            for tilt in tilts {
                let along = Unit::new_normalize(Vector3::from(tilt));
                for t in 0..mesh.triangles.len().min(48) {
                    let [a, b, c] = mesh.corners(t);
                    let edge = |p: Point3<f64>, q: Point3<f64>, s: f64| p + (q - p) * s;
                    // The hub, an edge that two facets share, and the inside of one.
                    for at in [
                        a,
                        edge(a, b, 0.31),
                        edge(a, c, 0.77),
                        nalgebra::center(&a, &edge(b, c, 0.5)),
                    ] {
                        let from = at - *along * 20.0;
                        let found = |enters: bool| {
                            tree.first_hit(&mesh, &from, &along, |h| h.enters == enters)
                        };
                        let (into, out) = (found(true), found(false));
                        assert!(into.is_some() && out.is_some(), "{rim} {tilt:?} {t} {at}");
                        let (into, out) = (into.unwrap().apart_mm, out.unwrap().apart_mm);
                        let apart = if t % 2 == 0 { into } else { out };
                        assert!((apart - 20.0).abs() < 1e-9, "{rim} {tilt:?} {t} {apart}");
                        assert!(into < out);
                    }
                }
            }
        }
    }

    #[test]
    fn a_ray_through_edges_and_corners_counts_each_surface_once() {
        let mesh = fan(12, 0.37);
        let along = Unit::new_normalize(Vector3::new(0.31, -0.17, -0.93));
        for v in mesh.vertices.iter().take(1).chain(&[mesh.vertices[1]]) {
            let ray = Ray::new(&(v - *along * 20.0), &along);
            let met: Vec<bool> = (0..mesh.triangles.len())
                .filter_map(|t| ray.meets(&mesh.corners(t)))
                .map(|m| m.1)
                .collect();
            assert_eq!(met.len(), 2, "{met:?}");
            assert!(met[0] != met[1]);
        }
    }

    /// Against the first of all hits, found one facet after the other.
    #[test]
    fn a_ray_cut_short_and_told_what_is_wanted_finds_the_same() {
        let mesh = fan(40, 0.37);
        let tree = FacetBvh::new(&mesh);
        let mut found = 0;
        for k in 0..600_u32 {
            let turn = f64::from(k) * 0.7;
            let tilt = Vector3::new(libm::cos(turn), libm::sin(turn), -0.2 - 0.01 * turn);
            let along = Unit::new_normalize(tilt);
            let from = Point3::new(
                libm::sin(turn * 1.3) * 6.0,
                libm::cos(turn * 2.1) * 2.0,
                1.2,
            );
            let wanted = |t: usize| !t.is_multiple_of(3);
            let ray = Ray::new(&from, &along);
            let met = (0..mesh.triangles.len())
                .filter(|t| wanted(*t))
                .filter_map(|t| {
                    let (apart, _) = ray.meets(&mesh.corners(t))?;
                    (apart >= 0.0).then_some((apart, t))
                });
            let first = met.min_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
            for within in [0.0, 0.5, 2.0, 5.0, f64::MAX] {
                let hit = tree.first_within(&mesh, &from, &along, within, wanted, |_| true);
                let near = |mm: &f64| *mm <= within;
                let hit = hit.map(|h| (h.apart_mm, h.triangle)).filter(|h| near(&h.0));
                assert_eq!(hit, first.filter(|f| near(&f.0)), "{k} {within}");
                found += usize::from(hit.is_some());
            }
        }
        assert!(found > 500, "{found}");
    }

    #[test]
    fn distances_agree_with_the_plane_of_the_facet_in_any_direction() {
        let mesh = fan(9, 0.37);
        let tree = FacetBvh::new(&mesh);
        for d in [
            [0.0, 0.0, -1.0],
            [0.0, 0.0, 1.0],
            [0.2, 0.9, -0.3],
            [-0.8, 0.1, 0.5],
        ] {
            let along = Unit::new_normalize(Vector3::from(d));
            let from = Point3::new(0.3, -0.2, 0.9);
            let hit = tree
                .first_hit(&mesh, &from, &along, |h| !h.enters)
                .expect("inside a closed surface");
            let [a, b, c] = mesh.corners(hit.triangle);
            let normal = (b - a).cross(&(c - a));
            let exact = (a - from).dot(&normal) / along.dot(&normal);
            assert!((hit.apart_mm - exact).abs() < 1e-12, "{d:?}");
            assert!(normal.dot(&along) > 0.0);
        }
    }

    #[test]
    fn a_ray_meets_what_it_should() {
        let tri = [
            Point3::new(0.0, 0.0, 5.0),
            Point3::new(4.0, 0.0, 5.0),
            Point3::new(0.0, 4.0, 5.0),
        ];
        let mesh = Mesh {
            vertices: tri.to_vec(),
            triangles: vec![[0, 1, 2]],
        };
        let tree = FacetBvh::new(&mesh);
        let apart = |from: [f64; 3], along: Unit<Vector3<f64>>| {
            tree.first_hit(&mesh, &Point3::from(from), &along, |_| true)
                .map(|hit| hit.apart_mm)
        };
        let up = Vector3::z_axis();
        assert_eq!(apart([1.0, 1.0, 0.0], up), Some(5.0));
        assert_eq!(apart([3.0, 3.0, 0.0], up), None);
        assert_eq!(apart([1.0, 1.0, 9.0], up), None);
        assert_eq!(apart([1.0, 1.0, 0.0], Vector3::x_axis()), None);
    }
}
