//! Bores and bosses: round surfaces made of plane strips side by side.
//!
//! An exported cylinder is a ring of plane strips whose long edges lie on the
//! cylinder. From one strip and the edges to its two neighbours follow the axis
//! (the cross product of neighbouring normals), the centre and the radius: the
//! bisectors of the edges' normals meet on the axis. Strips that agree are one
//! cylinder. Walls that run tangent into a round end agree with no strip and
//! fall out. A surface that turns its normals towards the axis is a bore, one
//! that turns them away a boss.

use super::regions::Regions;
use crate::mesh::{NO_NEIGHBOUR, Part};
use nalgebra::{Point3, Unit, Vector3};
use std::cmp::Ordering;

/// Strips that turn by more than this from one to the next are corners, degrees:
/// a round hole of eight sides still counts.
pub(super) const MOST_TURN_DEG: f64 = 46.0;
/// Relative agreement of radius and centre for strips of one cylinder.
pub(super) const AGREE: f64 = 0.03;
/// Turn that makes a round surface: a little under a half turn, degrees.
pub(super) const LEAST_TURN_DEG: f64 = 170.0;

/// A bore or boss. Part frame, mm.
#[derive(Debug, Clone, PartialEq)]
pub struct Bore {
    /// Direction of the axis; its first component that is not zero is positive.
    pub axis: Unit<Vector3<f64>>,
    /// Point of the axis half way along.
    pub centre: Point3<f64>,
    /// Radius of the circle on which the corners lie.
    pub radius_mm: f64,
    /// Length along the axis.
    pub length_mm: f64,
    /// How far round the surface goes, radians; 2π for a whole hole.
    pub turn_rad: f64,
    /// A hole (normals towards the axis) or a pin.
    pub hole: bool,
    /// Facets of its surface.
    pub triangles: Vec<u32>,
    /// Area of its surface, mm².
    pub area_mm2: f64,
}

impl Bore {
    /// Width that is clear between its facets, mm: of a hole drawn with few corners less than its
    /// diameter. `part` is the one it was found on.
    pub fn clear_mm(&self, part: &Part) -> f64 {
        let apothem = |&t: &u32| {
            let [corner, ..] = part.mesh.corners(t as usize);
            part.normals[t as usize].dot(&(corner - self.centre)).abs()
        };
        let (mut sum, mut all) = (0.0, 0.0);
        for t in &self.triangles {
            let area = part.areas[*t as usize];
            sum += area * apothem(t);
            all += area;
        }
        if all > 0.0 {
            (2.0 * sum / all).min(2.0 * self.radius_mm)
        } else {
            2.0 * self.radius_mm
        }
    }

    /// The order that bores are kept in: largest surface first.
    pub(super) fn larger_first(&self, other: &Self) -> Ordering {
        let larger = other.area_mm2.total_cmp(&self.area_mm2);
        larger.then_with(|| self.triangles.cmp(&other.triangles))
    }
}

/// Where two regions meet at a soft edge.
#[derive(Clone, Copy)]
struct Seam {
    other: u32,
    /// Middle of the shared boundary.
    at: Point3<f64>,
    axis: Vector3<f64>,
    /// Unit bisector of the two normals.
    out: Vector3<f64>,
    concave: bool,
    length: f64,
}

struct Strip {
    region: u32,
    axis: Vector3<f64>,
    centre: Point3<f64>,
    radius: f64,
    turn: f64,
    hole: bool,
}

/// Finds bores and bosses, in no order that means anything. O(n log n).
pub(super) fn bores(part: &Part, regions: &Regions) -> Vec<Bore> {
    let seams = seams(part, regions);
    let strips: Vec<Strip> = (seams.iter().enumerate())
        .filter_map(|(region, around)| strip(region as u32, around))
        .collect();
    let mut groups: Vec<Vec<usize>> = Vec::new();
    let mut index = vec![None; regions.list.len()];
    for (i, s) in strips.iter().enumerate() {
        index[s.region as usize] = Some(i);
    }
    let mut taken = vec![false; strips.len()];
    for seed in 0..strips.len() {
        if taken[seed] {
            continue;
        }
        taken[seed] = true;
        let mut group = vec![seed];
        let mut next = 0;
        while next < group.len() {
            let s = &strips[group[next]];
            next += 1;
            for seam in &seams[s.region as usize] {
                let Some(o) = index[seam.other as usize] else {
                    continue;
                };
                if !taken[o] && agree(&strips[seed], &strips[o]) {
                    taken[o] = true;
                    group.push(o);
                }
            }
        }
        groups.push(group);
    }
    let facets = regions.facets();
    groups
        .iter()
        .filter_map(|g| whole(part, g, &strips, &facets))
        .collect()
}

/// Soft edges between regions, for each region.
fn seams(part: &Part, regions: &Regions) -> Vec<Vec<Seam>> {
    let least = libm::cos(MOST_TURN_DEG.to_radians());
    let mut raw: Vec<(u32, u32, u32)> = Vec::new();
    for (h, &across) in part.opposite.iter().enumerate() {
        if across == NO_NEIGHBOUR || (across as usize) < h {
            continue;
        }
        let (a, b) = (regions.of[h / 3], regions.of[across as usize / 3]);
        if a == b {
            continue;
        }
        let [na, nb] = [a, b].map(|r| regions.list[r as usize].normal);
        if na.dot(&nb) >= least {
            raw.push((a.min(b), a.max(b), h as u32));
        }
    }
    raw.sort_unstable();
    let mut out: Vec<Vec<Seam>> = vec![Vec::new(); regions.list.len()];
    for run in raw.chunk_by(|x, y| (x.0, x.1) == (y.0, y.1)) {
        let (a, b, _) = run[0];
        let (ra, rb) = (&regions.list[a as usize], &regions.list[b as usize]);
        let (Some(axis), Some(bisector)) = (
            Unit::try_new(ra.normal.cross(&rb.normal), 1e-6),
            Unit::try_new(ra.normal.into_inner() + rb.normal.into_inner(), 1e-6),
        ) else {
            continue;
        };
        let (mut middle, mut length) = (Vector3::zeros(), 0.0);
        for &(_, _, h) in run {
            let (t, i) = (h as usize / 3, h as usize % 3);
            let corners = part.mesh.corners(t);
            let (p, q) = (corners[i], corners[(i + 1) % 3]);
            let l = (q - p).norm();
            middle += nalgebra::center(&p, &q).coords * l;
            length += l;
        }
        if length <= 0.0 {
            continue;
        }
        let at = Point3::from(middle / length);
        // Seen from the middle of one region, the other's normal plane lies below
        // at a convex edge and above at a concave one.
        let concave = (rb.centre - at).dot(&ra.normal) > 0.0;
        let seam = |other| Seam {
            other,
            at,
            axis: axis.into_inner(),
            out: bisector.into_inner(),
            concave,
            length,
        };
        out[a as usize].push(seam(b));
        out[b as usize].push(seam(a));
    }
    out
}

/// Centre and radius from a region's two longest soft edges along one axis.
fn strip(region: u32, around: &[Seam]) -> Option<Strip> {
    let mut order: Vec<&Seam> = around.iter().collect();
    order.sort_by(|a, b| b.length.total_cmp(&a.length).then(a.other.cmp(&b.other)));
    for (i, a) in order.iter().enumerate().take(4) {
        for b in order.iter().skip(i + 1).take(4) {
            if a.concave != b.concave || a.axis.dot(&b.axis).abs() < 0.9995 {
                continue;
            }
            let axis = a.axis;
            let across = |v: Vector3<f64>| v - axis * v.dot(&axis);
            let (d, m) = (across(b.at - a.at), across(a.out - b.out));
            let turn = 2.0 * libm::asin((m.norm() / 2.0).clamp(0.0, 1.0));
            let width = d.norm();
            if turn < 1e-4 || width <= 0.0 {
                continue;
            }
            let radius = width / m.norm();
            // The chord of the bisectors' tips must be parallel to that of the edges.
            if d.dot(&m).abs() < 0.999 * width * m.norm() {
                continue;
            }
            let hole = a.concave;
            let inward = if hole { a.out } else { -a.out };
            return Some(Strip {
                region,
                axis,
                centre: a.at + inward * radius,
                radius,
                turn,
                hole,
            });
        }
    }
    None
}

fn agree(a: &Strip, b: &Strip) -> bool {
    let apart = b.centre - a.centre;
    let off = (apart - a.axis * apart.dot(&a.axis)).norm();
    a.hole == b.hole
        && a.axis.dot(&b.axis).abs() > 0.9995
        && (a.radius - b.radius).abs() <= AGREE * a.radius
        && off <= AGREE * a.radius
}

/// A cylinder out of strips that agree, if it goes far enough round.
fn whole(part: &Part, group: &[usize], strips: &[Strip], facets: &[Vec<u32>]) -> Option<Bore> {
    let turn_rad: f64 = group.iter().map(|&i| strips[i].turn).sum();
    if turn_rad < LEAST_TURN_DEG.to_radians() {
        return None;
    }
    let first = &strips[group[0]];
    let mut axis = first.axis;
    let leading = axis.iter().copied().find(|c| c.abs() > 1e-9).unwrap_or(1.0);
    if leading < 0.0 {
        axis = -axis;
    }
    let n = group.len() as f64;
    let centre = group
        .iter()
        .map(|&i| strips[i].centre.coords)
        .sum::<Vector3<f64>>()
        / n;
    let radius_mm = group.iter().map(|&i| strips[i].radius).sum::<f64>() / n;
    let mut triangles: Vec<u32> = group
        .iter()
        .flat_map(|&i| facets[strips[i].region as usize].iter().copied())
        .collect();
    triangles.sort_unstable();
    let (mut lo, mut hi, mut area_mm2) = (f64::INFINITY, f64::NEG_INFINITY, 0.0);
    for &t in &triangles {
        area_mm2 += part.areas[t as usize];
        for p in part.mesh.corners(t as usize) {
            let h = (p.coords - centre).dot(&axis);
            lo = lo.min(h);
            hi = hi.max(h);
        }
    }
    Some(Bore {
        axis: Unit::new_normalize(axis),
        centre: Point3::from(centre + axis * f64::midpoint(lo, hi)),
        radius_mm,
        length_mm: hi - lo,
        turn_rad: turn_rad.min(std::f64::consts::TAU),
        hole: first.hole,
        triangles,
        area_mm2,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::features::regions::regions;
    use crate::mesh::{ReadOptions, read_path};
    use approx::assert_relative_eq;
    use std::path::Path;

    fn of(file: &str) -> (Part, Vec<Bore>) {
        let path = Path::new(env!("CARGO_MANIFEST_DIR"))
            .join("meshes")
            .join(file);
        let mut loaded = read_path(&path, &ReadOptions::default()).expect("a demo part");
        let part = loaded.take_part().expect("a solid").0;
        let found = bores(&part, &regions(&part));
        (part, found)
    }

    /// Dimensions from the table of the demo parts: six pockets Ø 30, 18 deep, and
    /// six drains Ø 5, all upright.
    #[test]
    fn the_tray_has_its_pockets_and_drains() {
        let (_, found) = of("mouthpiece-tray.stl");
        let holes = |d: f64| {
            found
                .iter()
                .filter(move |b| b.hole && (2.0 * b.radius_mm - d).abs() < 0.02 * d)
        };
        assert_eq!(holes(30.0).count(), 6);
        assert_eq!(holes(5.0).count(), 6);
        for b in holes(30.0).chain(holes(5.0)) {
            assert_relative_eq!(b.axis.z, 1.0, max_relative = 1e-6);
            assert!(b.turn_rad > 6.2, "{}", b.turn_rad);
        }
    }

    /// The bore of the stand clip is open at its mouth, and round all the same.
    #[test]
    fn an_open_clip_is_a_bore_along_y() {
        let (_, found) = of("stand-clip.stl");
        let b = found
            .iter()
            .find(|b| b.hole && (2.0 * b.radius_mm - 16.4).abs() < 0.2)
            .expect("the bore for the stand tube");
        assert_relative_eq!(b.axis.y.abs(), 1.0, max_relative = 1e-6);
        assert_relative_eq!(b.length_mm, 14.0, max_relative = 0.02);
    }
}
