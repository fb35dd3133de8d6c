//! Horizontal sections of a posed part, as clean connected pieces.
//!
//! A vertex at the height of the plane counts as above it, so every crossed
//! triangle has exactly one edge that comes up through the plane and one that
//! goes down. Loops are walked from neighbour to neighbour over those edges: no
//! sorting, no matching of end points, no tolerance. Material lies on the left.
//!
//! Where bodies may overlap ([`crate::mesh::Part::overlapping`]) the loops go
//! through a union by the non-zero rule. Where the surface is open, a chain ends
//! at the rim of the hole; chains are joined end to nearest start, and the count
//! of such joins is returned so that the figures can be marked.

use super::buckets::Buckets;
use super::stop::Stop;
use super::{Layers, Piece, Section, height};
use crate::mesh::NO_NEIGHBOUR;
use crate::plane::polygon::{self, Ring};
use crate::plane::union;
use crate::pose::{Posed, bounds};
use crate::settings::Settings;
use crate::tol;
use nalgebra::Point2;
use rayon::prelude::*;

/// Sections and the number of chains that had to be closed by a straight line.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Cut {
    /// One section a plane, in the order of the planes.
    pub sections: Vec<Section>,
    /// Gaps that were bridged by straight lines; 0 for a closed surface.
    pub mended: usize,
}

/// Cuts the part at layer boundaries' middles, first layer its own height.
///
/// Section k is cut [`tol::SECTION_NUDGE_MM`] above the middle of layer k; the
/// last may lie above the part's top and be empty. Build frame, mm. Where it is stopped,
/// sections are missing.
pub fn layers(posed: &Posed, settings: &Settings, stop: &Stop) -> (Layers, usize) {
    let count = height::layer_count(posed.height_mm, settings) as usize;
    let level = |k: usize| {
        if k == 0 {
            0.0
        } else {
            settings.first_layer_mm + settings.layer_mm * (k - 1) as f64
        }
    };
    let levels_mm: Vec<f64> = (0..=count).map(level).collect();
    let planes: Vec<f64> = levels_mm
        .windows(2)
        .map(|w| f64::midpoint(w[0], w[1]) + tol::SECTION_NUDGE_MM)
        .collect();
    let cut = cut_until(posed, &planes, stop);
    (
        Layers {
            sections: cut.sections,
            levels_mm,
        },
        cut.mended,
    )
}

/// Cuts the part by the planes z = `planes[k]` (ascending), build frame, mm.
///
/// A plane that meets nothing gives a section without pieces.
pub fn cut(posed: &Posed, planes: &[f64]) -> Cut {
    cut_until(posed, planes, &Stop::never())
}

fn cut_until(posed: &Posed, planes: &[f64], stop: &Stop) -> Cut {
    let walker = Walker::new(posed, planes);
    // Blocks of planes share one visited array; the block size depends on the
    // number of planes only, and every plane is independent of the others.
    let block = planes.len().div_ceil(32).max(1);
    let parts: Vec<Cut> = (0..planes.len().div_ceil(block))
        .into_par_iter()
        .map(|b| {
            let mut seen = vec![0_u32; posed.part.mesh.triangles.len()];
            let mut out = Cut::default();
            for (k, &z_mm) in planes.iter().enumerate().skip(b * block).take(block) {
                if stop.asked() {
                    break;
                }
                let (rings, mended) = walker.rings(k, z_mm, &mut seen);
                out.mended += mended;
                out.sections.push(Section {
                    z_mm,
                    pieces: pieces(rings, posed.part.overlapping),
                });
            }
            out
        })
        .collect();
    let mut whole = Cut::default();
    for part in parts {
        whole.sections.extend(part.sections);
        whole.mended += part.mended;
    }
    whole
}

struct Walker<'a> {
    posed: &'a Posed<'a>,
    /// Number of planes at or below each vertex.
    rank: Vec<u32>,
    /// Triangles that cross each plane, ascending.
    crossing: Buckets<u32>,
}

impl<'a> Walker<'a> {
    fn new(posed: &'a Posed<'a>, planes: &[f64]) -> Self {
        let rank: Vec<u32> = posed
            .vertices
            .par_iter()
            .with_min_len(4096)
            .map(|p| planes.partition_point(|&z| z <= p.z) as u32)
            .collect();
        let crossed = |(t, i): (&[u32; 3], u32)| {
            let [a, b, c] = t.map(|v| rank[v as usize] as usize);
            (a.min(b).min(c)..a.max(b).max(c)).map(move |k| (k, i))
        };
        let triangles = posed.part.mesh.triangles.iter().zip(0..);
        let crossing = Buckets::new(planes.len(), triangles.flat_map(crossed));
        Self {
            posed,
            rank,
            crossing,
        }
    }

    /// Closed rings of plane `k`, and how many gaps were closed by a line.
    fn rings(&self, k: usize, z: f64, seen: &mut [u32]) -> (Vec<Ring>, usize) {
        let mark = k as u32 + 1;
        let mut rings = Vec::new();
        let mut open: Vec<Ring> = Vec::new();
        for &seed in self.crossing.of(k) {
            if seen[seed as usize] == mark {
                continue;
            }
            let mut ring = Vec::new();
            let closed = self.walk(seed, k as u32, z, true, seen, &mut ring);
            if closed {
                tidy(&mut ring);
                if ring.len() >= 3 {
                    rings.push(ring);
                }
            } else {
                let mut back = Vec::new();
                self.walk(seed, k as u32, z, false, seen, &mut back);
                back.reverse();
                back.append(&mut ring);
                open.push(back);
            }
        }
        let mended = open.len();
        join_open(open, &mut rings);
        (rings, mended)
    }

    /// Walks from `seed` along the section, forward over rising edges or back
    /// over falling ones, and collects the crossings. True if it came round.
    fn walk(
        &self,
        seed: u32,
        k: u32,
        z: f64,
        forward: bool,
        seen: &mut [u32],
        out: &mut Ring,
    ) -> bool {
        let mesh = &self.posed.part.mesh;
        let opposite = &self.posed.part.opposite;
        let mut t = seed;
        loop {
            seen[t as usize] = k + 1;
            let corners = mesh.triangles[t as usize];
            let above = corners.map(|v| self.rank[v as usize] > k);
            let Some(i) = (0..3).find(|&i| above[i] != forward && above[(i + 1) % 3] == forward)
            else {
                return false;
            };
            let (a, b) = (corners[i], corners[(i + 1) % 3]);
            // Always from the lower end, so both directions give the same bits.
            let (lo, hi) = if forward { (a, b) } else { (b, a) };
            let [lo, hi] = [lo, hi].map(|v| self.posed.vertices[v as usize]);
            out.push((lo + (hi - lo) * ((z - lo.z) / (hi.z - lo.z))).xy());
            let across = opposite[t as usize * 3 + i];
            if across == NO_NEIGHBOUR {
                return false;
            }
            t = across / 3;
            if t == seed {
                return true;
            }
            if seen[t as usize] == k + 1 {
                return false;
            }
        }
    }
}

/// Open chains that are joined to their nearest; more are no surface with holes, but loose facets.
const MOST_CHAINS: usize = 4096;

/// Joins open chains end to nearest start, then end to own start.
fn join_open(mut open: Vec<Ring>, rings: &mut Vec<Ring>) {
    let looked_at = if open.len() > MOST_CHAINS {
        0
    } else {
        MOST_CHAINS
    };
    while let Some(mut chain) = (!open.is_empty()).then(|| open.remove(0)) {
        while let (Some(&first), Some(&last)) = (chain.first(), chain.last()) {
            let own = (first - last).norm();
            let nearest = open
                .iter()
                .take(looked_at)
                .enumerate()
                .filter_map(|(i, c)| Some((i, (c.first()? - last).norm())))
                .min_by(|a, b| a.1.total_cmp(&b.1));
            match nearest {
                Some((i, d)) if d < own => chain.append(&mut open.remove(i)),
                _ => break,
            }
        }
        tidy(&mut chain);
        if chain.len() >= 3 {
            rings.push(chain);
        }
    }
}

/// Drops points that repeat the one before (a vertex on the plane).
fn tidy(ring: &mut Ring) {
    ring.dedup();
    while ring.len() > 1 && ring.first() == ring.last() {
        ring.pop();
    }
}

/// Sorts rings into pieces: outer loops with their holes.
fn pieces(rings: Vec<Ring>, overlapping: bool) -> Vec<Piece> {
    if rings.is_empty() {
        return Vec::new();
    }
    if overlapping {
        return union::union(rings.iter().map(Vec::as_slice))
            .into_iter()
            .map(|shape| {
                let mut loops = shape.into_iter();
                let outer = loops.next().unwrap_or_default();
                Piece::from_loops(outer, loops.collect())
            })
            .filter(|p| p.area_mm2 > 0.0)
            .collect();
    }
    let mut outers: Vec<(Ring, f64, Vec<Ring>)> = Vec::new();
    let mut holes: Vec<Ring> = Vec::new();
    for ring in rings {
        let area = polygon::area(&ring);
        if area > 0.0 {
            outers.push((ring, area, Vec::new()));
        } else if area < 0.0 {
            holes.push(ring);
        }
    }
    if outers.len() == 1 {
        outers[0].2 = holes;
    } else {
        // Smallest outer first: the first that holds a hole is its own.
        let mut by_area: Vec<usize> = (0..outers.len()).collect();
        by_area.sort_by(|&a, &b| outers[a].1.total_cmp(&outers[b].1).then(a.cmp(&b)));
        let around = |ring: &Ring| bounds(ring.iter().copied()).unwrap_or_default();
        let boxes: Vec<_> = outers.iter().map(|o| around(&o.0)).collect();
        for hole in holes {
            let probe = longest_edge_middle(&hole);
            let hole_box = around(&hole);
            let home = by_area.iter().copied().find(|&i| {
                let ([lo, hi], [hlo, hhi]) = (boxes[i], hole_box);
                lo.x <= hlo.x
                    && lo.y <= hlo.y
                    && hi.x >= hhi.x
                    && hi.y >= hhi.y
                    && polygon::contains(polygon::edges(&outers[i].0), probe)
            });
            if let Some(i) = home {
                outers[i].2.push(hole);
            }
        }
    }
    outers
        .into_iter()
        .map(|(outer, _, holes)| Piece::from_loops(outer, holes))
        .filter(|p| p.area_mm2 > 0.0)
        .collect()
}

/// The middle of the longest edge: a point of the loop that is least likely to
/// touch another loop, which two loops can do at a corner.
fn longest_edge_middle(ring: &[Point2<f64>]) -> Point2<f64> {
    polygon::edges(ring)
        .max_by(|(a, b), (c, d)| (b - a).norm_squared().total_cmp(&(d - c).norm_squared()))
        .map_or_else(Point2::origin, |(a, b)| nalgebra::center(&a, &b))
}

#[cfg(test)]
#[path = "slicing_tests.rs"]
mod tests;
