//! Parts of known shape for tests, made without the readers.

use crate::mesh::{Body, Mass, Mesh, NO_NEIGHBOUR, Part};
use crate::pose::{Pose, Posed};
use nalgebra::{IsometryMatrix3, Matrix3, Point3, Translation3, UnitQuaternion, Vector3};
use std::collections::BTreeMap;

/// A part from a triangle soup that shares no vertices yet.
pub(crate) fn part(soup: &[[Point3<f64>; 3]], overlapping: bool) -> Part {
    let mut ids: BTreeMap<[u64; 3], u32> = BTreeMap::new();
    let mut mesh = Mesh::default();
    for corners in soup {
        let tri = corners.map(|p| {
            *ids.entry([p.x, p.y, p.z].map(|x| (x + 0.0).to_bits()))
                .or_insert_with(|| {
                    mesh.vertices.push(p);
                    mesh.vertices.len() as u32 - 1
                })
        });
        mesh.triangles.push(tri);
    }
    let mut normals = Vec::new();
    let mut areas = Vec::new();
    for t in 0..mesh.triangles.len() {
        let [a, b, c] = mesh.corners(t);
        let twice = (b - a).cross(&(c - a));
        areas.push(twice.norm() / 2.0);
        normals.push(twice.try_normalize(0.0).unwrap_or_default());
    }
    let mass = Mass {
        volume_mm3: 0.0,
        area_mm2: areas.iter().sum(),
        centroid: Point3::origin(),
        inertia_mm5: Matrix3::zeros(),
    };
    let opposite = vec![NO_NEIGHBOUR; 3 * mesh.triangles.len()];
    let bodies = bodies(&mesh);
    Part {
        mesh,
        normals,
        areas,
        opposite,
        mass,
        bodies,
        closed: true,
        overlapping,
    }
}

/// A part from a triangle soup, with all that a reader makes of a file.
pub(crate) fn part_of(soup: &[[Point3<f64>; 3]]) -> Part {
    Part::new(part(soup, false).mesh).expect("a solid").0
}

/// The shells of a closed mesh: triangles that share vertices; one that faces inward is a cavity.
fn bodies(mesh: &Mesh) -> Vec<Body> {
    let mut label: Vec<u32> = (0..mesh.vertices.len() as u32).collect();
    let mut changed = true;
    while changed {
        changed = false;
        for tri in &mesh.triangles {
            let low = tri.iter().map(|v| label[*v as usize]).min().unwrap_or(0);
            for v in tri {
                changed |= label[*v as usize] != low;
                label[*v as usize] = low;
            }
        }
    }
    let mut shells: BTreeMap<u32, Vec<u32>> = BTreeMap::new();
    for (t, tri) in mesh.triangles.iter().enumerate() {
        shells
            .entry(label[tri[0] as usize])
            .or_default()
            .push(t as u32);
    }
    let body = |triangles: Vec<u32>| {
        let soup: Vec<_> = triangles
            .iter()
            .map(|t| mesh.corners(*t as usize))
            .collect();
        let volume_mm3 = volume(&soup);
        let cavity = volume_mm3 < 0.0;
        Body {
            triangles,
            volume_mm3,
            closed: true,
            cavity,
            turned: false,
        }
    };
    shells.into_values().map(body).collect()
}

/// The part turned by `turn` and set down on the bed.
pub(crate) fn posed(part: &Part, turn: UnitQuaternion<f64>) -> Posed<'_> {
    let turned: Vec<Point3<f64>> = part.mesh.vertices.iter().map(|p| turn * p).collect();
    let low = turned.iter().map(|p| p.z).fold(f64::INFINITY, f64::min);
    let high = turned.iter().map(|p| p.z).fold(f64::NEG_INFINITY, f64::max);
    let offset = Translation3::new(0.0, 0.0, -low);
    Posed {
        part,
        pose: Pose {
            down: turn.inverse() * -Vector3::z_axis(),
            build_from_part: IsometryMatrix3::from_parts(offset, turn.to_rotation_matrix()),
        },
        vertices: turned.iter().map(|p| offset * p).collect(),
        normal_z: part.normals.iter().map(|n| (turn * n).z).collect(),
        height_mm: high - low,
    }
}

/// Turn about Z by degrees.
pub(crate) fn yaw(deg: f64) -> UnitQuaternion<f64> {
    UnitQuaternion::from_axis_angle(&Vector3::z_axis(), deg.to_radians())
}

fn quad(soup: &mut Vec<[Point3<f64>; 3]>, corners: [[f64; 3]; 4]) {
    let [a, b, c, d] = corners.map(Point3::from);
    for tri in [[a, b, c], [a, c, d]] {
        if tri[0] != tri[1] && tri[1] != tri[2] && tri[2] != tri[0] {
            soup.push(tri);
        }
    }
}

/// The surface of the union of axis-aligned boxes `[lo, hi]`, less that of `holes`:
/// the cells of the grid that their sides span, without the walls between two full cells.
pub(crate) fn boxes(solid: &[[[f64; 3]; 2]], holes: &[[[f64; 3]; 2]]) -> Vec<[Point3<f64>; 3]> {
    let cuts: [Vec<f64>; 3] = [0, 1, 2].map(|a| {
        let mut at: Vec<f64> = solid
            .iter()
            .chain(holes)
            .flat_map(|b| [b[0][a], b[1][a]])
            .collect();
        at.sort_by(f64::total_cmp);
        at.dedup();
        at
    });
    let full = |cell: [i64; 3]| {
        let mut mid = [0.0; 3];
        for a in 0..3 {
            let k = cell[a];
            if k < 0 || k as usize + 1 >= cuts[a].len() {
                return false;
            }
            mid[a] = 0.5 * (cuts[a][k as usize] + cuts[a][k as usize + 1]);
        }
        let within = |b: &[[f64; 3]; 2]| (0..3).all(|a| b[0][a] < mid[a] && mid[a] < b[1][a]);
        solid.iter().any(within) && !holes.iter().any(within)
    };
    let mut soup = Vec::new();
    let n = cuts.each_ref().map(|c| c.len() as i64 - 1);
    for i in 0..n[0] {
        for j in 0..n[1] {
            for k in 0..n[2] {
                let cell = [i, j, k];
                if !full(cell) {
                    continue;
                }
                for a in 0..3 {
                    for up in [false, true] {
                        let mut beside = cell;
                        beside[a] += if up { 1 } else { -1 };
                        if full(beside) {
                            continue;
                        }
                        let (b, c) = ((a + 1) % 3, (a + 2) % 3);
                        let corner = |q: i64, r: i64| {
                            let mut p = [0.0; 3];
                            p[a] = cuts[a][(cell[a] + i64::from(up)) as usize];
                            p[b] = cuts[b][(cell[b] + q) as usize];
                            p[c] = cuts[c][(cell[c] + r) as usize];
                            p
                        };
                        let [p, q, r, s] = [corner(0, 0), corner(1, 0), corner(1, 1), corner(0, 1)];
                        quad(&mut soup, if up { [p, q, r, s] } else { [p, s, r, q] });
                    }
                }
            }
        }
    }
    soup
}

/// A body of revolution about Z from a profile of (radius, height), which starts
/// and ends on the axis or closes on itself; `n` facets around. The solid lies to
/// the left of the profile.
pub(crate) fn revolved(profile: &[[f64; 2]], n: usize) -> Vec<[Point3<f64>; 3]> {
    let mut soup = Vec::new();
    let at = |[r, z]: [f64; 2], k: usize| {
        let angle = std::f64::consts::TAU * (k % n) as f64 / n as f64;
        [r * libm::cos(angle), r * libm::sin(angle), z]
    };
    for pair in profile.windows(2) {
        for k in 0..n {
            quad(
                &mut soup,
                [
                    at(pair[0], k),
                    at(pair[0], k + 1),
                    at(pair[1], k + 1),
                    at(pair[1], k),
                ],
            );
        }
    }
    soup
}

/// A sphere about the origin.
pub(crate) fn sphere(radius: f64, n: usize) -> Vec<[Point3<f64>; 3]> {
    let profile: Vec<[f64; 2]> = (0..=n / 2)
        .map(|k| {
            let angle = std::f64::consts::PI * k as f64 / (n / 2) as f64;
            let r = if k == 0 || k == n / 2 {
                0.0
            } else {
                radius * libm::sin(angle)
            };
            [r, -radius * libm::cos(angle)]
        })
        .collect();
    revolved(&profile, n)
}

/// The soup moved by an offset.
pub(crate) fn moved(soup: &[[Point3<f64>; 3]], by: [f64; 3]) -> Vec<[Point3<f64>; 3]> {
    soup.iter()
        .map(|t| t.map(|p| p + Vector3::from(by)))
        .collect()
}

/// A square block of side `2·half` about the Y axis with a round hole of `radius`
/// along it, `length` long, standing on z = 0.
pub(crate) fn lying_hole(half: f64, radius: f64, length: f64, n: usize) -> Vec<[Point3<f64>; 3]> {
    let mut soup = Vec::new();
    let at = |k: usize, outer: bool, y: f64| {
        let angle = std::f64::consts::TAU * (k % n) as f64 / n as f64;
        let (s, c) = libm::sincos(angle);
        let r = if outer {
            half / s.abs().max(c.abs())
        } else {
            radius
        };
        [r * c, length - y, half + r * s]
    };
    for k in 0..n {
        let l = k + 1;
        quad(
            &mut soup,
            [
                at(k, true, 0.0),
                at(l, true, 0.0),
                at(l, true, length),
                at(k, true, length),
            ],
        );
        quad(
            &mut soup,
            [
                at(k, false, length),
                at(l, false, length),
                at(l, false, 0.0),
                at(k, false, 0.0),
            ],
        );
        quad(
            &mut soup,
            [
                at(k, false, 0.0),
                at(l, false, 0.0),
                at(l, true, 0.0),
                at(k, true, 0.0),
            ],
        );
        quad(
            &mut soup,
            [
                at(k, true, length),
                at(l, true, length),
                at(l, false, length),
                at(k, false, length),
            ],
        );
    }
    soup
}

/// Signed volume of a closed soup: positive if it faces outward.
pub(crate) fn volume(soup: &[[Point3<f64>; 3]]) -> f64 {
    soup.iter()
        .map(|[a, b, c]| a.coords.dot(&b.coords.cross(&c.coords)))
        .sum::<f64>()
        / 6.0
}
