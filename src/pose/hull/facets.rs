//! Flats of a hull: co-planar triangles merged within a tolerance.
//!
//! A region grows from its largest triangle against one plane, which is then
//! fitted to the whole region and the growth repeated. All corners of a facet lie
//! within the tolerance of one plane, so a chain of slightly tilted facets (a finely
//! tessellated cylinder) does not drift into one.

use super::convex::{Facet, Hull, in_plane, plane_basis};
use crate::plane::polygon;
use crate::plane::rect::{hull2d_ids, span};
use crate::tol;
use nalgebra::{Point2, Unit, Vector3};

/// Rounds of fitting and growing anew; the second seldom changes anything.
const ROUNDS: usize = 4;

/// State of the growth, allocated once.
struct Growth {
    /// Facet of each triangle, or unset.
    owner: Vec<bool>,
    triangle_round: Vec<u32>,
    vertex_round: Vec<u32>,
    round: u32,
    region: Vec<u32>,
    touched: Vec<u32>,
}

impl Hull {
    /// All flats, largest area first; equal areas in the order of the triangles.
    ///
    /// Corners lie within [`tol::COPLANAR_REL`] × [`Hull::scale_mm`] of the plane
    /// of their facet. O(n log n) in the number of triangles, once.
    pub fn facets(&self) -> &[Facet] {
        self.facets.get_or_init(|| self.merge())
    }

    fn merge(&self) -> Vec<Facet> {
        let within = tol::COPLANAR_REL * self.scale_mm();
        let spans: Vec<Vector3<f64>> = (0..self.triangles.len())
            .map(|t| {
                let [a, b, c] = self.corners(t);
                (b - a).cross(&(c - a)) / 2.0
            })
            .collect();
        let mut seeds: Vec<u32> = (0..spans.len() as u32).collect();
        let areas: Vec<f64> = spans.iter().map(Vector3::norm).collect();
        seeds.sort_by(|&i, &j| areas[j as usize].total_cmp(&areas[i as usize]));
        let mut growth = Growth {
            owner: vec![false; spans.len()],
            triangle_round: vec![0; spans.len()],
            vertex_round: vec![0; self.vertices.len()],
            round: 0,
            region: Vec::new(),
            touched: Vec::new(),
        };
        let mut facets = Vec::new();
        for &seed in &seeds {
            if growth.owner[seed as usize] {
                continue;
            }
            if let Some(facet) = self.grow(seed, &spans, within, &mut growth) {
                facets.push(facet);
            }
            for &t in &growth.region {
                growth.owner[t as usize] = true;
            }
        }
        facets.sort_by(|a, b| b.area_mm2.total_cmp(&a.area_mm2));
        facets
    }

    /// Grows the facet of `seed`; `growth.region` holds its triangles afterwards.
    /// `None` for a sliver that has no normal even as a whole.
    fn grow(
        &self,
        seed: u32,
        spans: &[Vector3<f64>],
        within: f64,
        growth: &mut Growth,
    ) -> Option<Facet> {
        growth.region.clear();
        growth.region.push(seed);
        let mut normal = Unit::try_new(spans[seed as usize], 0.0)?;
        let mut offset = self.corners(seed as usize)[0].coords.dot(&normal);
        for round in 0..ROUNDS {
            let before = growth.region.len();
            self.flood(seed, spans, within, (&normal, offset), growth);
            let total: Vector3<f64> = growth.region.iter().map(|&t| spans[t as usize]).sum();
            let Some(fitted) = Unit::try_new(total, 0.0) else {
                break;
            };
            let height = |&v: &u32| self.vertices[v as usize].coords.dot(&fitted);
            let (lo, hi) = span(growth.touched.iter().map(height));
            if hi - lo > 2.0 * within {
                break;
            }
            (normal, offset) = (fitted, f64::midpoint(lo, hi));
            if round > 0 && growth.region.len() == before || growth.region.len() == 1 {
                break;
            }
        }
        let basis = plane_basis(&normal);
        growth.touched.sort_unstable();
        let flat: Vec<Point2<f64>> = (growth.touched.iter())
            .map(|&i| in_plane(&basis, &self.vertices[i as usize]))
            .collect();
        let ids = hull2d_ids(&flat);
        let outline: Vec<Point2<f64>> = ids.iter().map(|&i| flat[i as usize]).collect();
        Some(Facet {
            normal,
            offset_mm: offset,
            polygon: ids.iter().map(|&i| growth.touched[i as usize]).collect(),
            area_mm2: polygon::area(&outline),
        })
    }

    /// Fills `region` with the free triangles around `seed` whose corners all lie
    /// within the tolerance of the plane, and `touched` with their corners.
    fn flood(
        &self,
        seed: u32,
        spans: &[Vector3<f64>],
        within: f64,
        (normal, offset): (&Vector3<f64>, f64),
        growth: &mut Growth,
    ) {
        growth.round += 1;
        let round = growth.round;
        growth.region.clear();
        growth.touched.clear();
        growth.region.push(seed);
        growth.triangle_round[seed as usize] = round;
        let mut done = 0;
        while let Some(&t) = growth.region.get(done) {
            done += 1;
            for &v in &self.triangles[t as usize] {
                if growth.vertex_round[v as usize] != round {
                    growth.vertex_round[v as usize] = round;
                    growth.touched.push(v);
                }
            }
            for &g in &self.neighbours[t as usize] {
                let i = g as usize;
                if growth.owner[i] || growth.triangle_round[i] == round {
                    continue;
                }
                growth.triangle_round[i] = round;
                // The back of a thin plate is near the plane too, but faces away.
                let faces = spans[i].dot(normal) >= 0.0;
                if faces
                    && self
                        .corners(i)
                        .iter()
                        .all(|p| (p.coords.dot(normal) - offset).abs() <= within)
                {
                    growth.region.push(g);
                }
            }
        }
    }
}
