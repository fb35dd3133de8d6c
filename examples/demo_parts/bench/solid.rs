//! The few shapes that the demo parts are made of, and the clean mesh at the end.
//!
//! Solids are `manifold_rust` meshes in the unit they are modelled in, double
//! precision; its booleans are those of Manifold (Emmett Lalish), whose result
//! is closed and consistently oriented, and the same on every run.
// The files in the repository were made with the functions of the platform; no result hangs on them.
#![allow(clippy::disallowed_methods)]

use manifold_rust::cross_section::CrossSection;
use manifold_rust::linalg::{Vec2, Vec3};
use manifold_rust::manifold::Manifold;
use manifold_rust::types::{OpType, Polygons};
use nalgebra::Point3;
use wayup::mesh::Mesh;

/// Coordinates are rounded to this many steps a unit before they are written:
/// 0.1 µm for a part in mm, far below what a printer can do, and coarse enough
/// that the last bit of a sine does not show in the file.
const STEPS_PER_UNIT: f64 = 10_000.0;

/// A corner that moves an outline by less than this is left out where outlines meet.
const SPECK: f64 = 0.002;

/// Pieces of a quarter turn on rounded corners and small holes.
const QUARTER: usize = 8;

/// A direction along which a profile is drawn out.
#[derive(Debug, Clone, Copy)]
pub enum Along {
    /// The profile's first axis is Y, its second Z.
    X,
    /// The profile's first axis is X, its second Z.
    Y,
    /// The profile's first axis is X, its second Y.
    Z,
}

fn point(p: [f64; 3]) -> Vec3 {
    Vec3::new(p[0], p[1], p[2])
}

/// The union of all the solids.
pub fn union(solids: impl IntoIterator<Item = Manifold>) -> Manifold {
    solids
        .into_iter()
        .fold(Manifold::empty(), |sum, s| sum.union(&s))
}

/// A box from its lowest to its highest corner.
pub fn block(low: [f64; 3], high: [f64; 3]) -> Manifold {
    Manifold::cube(point([0, 1, 2].map(|k| high[k] - low[k])), false).translate(point(low))
}

/// An outline in the form that the geometry crate takes.
pub fn polygons(outline: &[[f64; 2]]) -> Polygons {
    vec![outline.iter().map(|p| Vec2::new(p[0], p[1])).collect()]
}

/// A profile (counter-clockwise outline) drawn out from `from` to `to`.
pub fn prism(outline: &[[f64; 2]], along: Along, from: f64, to: f64) -> Manifold {
    draw(&polygons(outline), along, from, to)
}

/// The union of flat sections, drawn out from `from` to `to`.
pub fn drawn_out(
    sections: impl IntoIterator<Item = CrossSection>,
    along: Along,
    from: f64,
    to: f64,
) -> Manifold {
    let sections: Vec<CrossSection> = sections.into_iter().collect();
    let section = CrossSection::batch_boolean(&sections, OpType::Add).simplify(SPECK);
    draw(&section.to_polygons(), along, from, to)
}

fn draw(profile: &Polygons, along: Along, from: f64, to: f64) -> Manifold {
    let solid = Manifold::extrude(profile, to - from, 0, 0.0, Vec2::new(1.0, 1.0));
    match along {
        Along::X => solid
            .rotate(90.0, 0.0, 90.0)
            .translate(point([from, 0.0, 0.0])),
        Along::Y => solid
            .rotate(90.0, 0.0, 0.0)
            .translate(point([0.0, to, 0.0])),
        Along::Z => solid.translate(point([0.0, 0.0, from])),
    }
}

/// A round-ended bar from `a` to `b`, `width` wide.
pub fn stroke(a: [f64; 2], b: [f64; 2], width: f64) -> CrossSection {
    let corners = [a, b].into_iter().flat_map(|c| circle(c, width / 2.0, 4));
    CrossSection::hull_points(&corners.map(|p| Vec2::new(p[0], p[1])).collect::<Vec<_>>())
}

/// A regular polygon of `4 * quarter` corners on a circle, two of them on the first axis.
pub fn circle(center: [f64; 2], radius: f64, quarter: usize) -> Vec<[f64; 2]> {
    let n = 4 * quarter;
    (0..n)
        .map(|i| at(center, radius, 360.0 * i as f64 / n as f64))
        .collect()
}

/// The point at `angle_deg` on a circle.
pub fn at(center: [f64; 2], radius: f64, angle_deg: f64) -> [f64; 2] {
    let (sin, cos) = angle_deg.to_radians().sin_cos();
    [center[0] + radius * cos, center[1] + radius * sin]
}

/// A round rod; `center` is in the two axes of the profile (see [`Along`]).
pub fn rod(center: [f64; 2], radius: f64, along: Along, from: f64, to: f64) -> Manifold {
    let quarter = if radius > 7.0 { 2 * QUARTER } else { QUARTER };
    prism(&circle(center, radius, quarter), along, from, to)
}

/// The closed outline through `corners` `[x, y, r]`, each rounded with its
/// radius r (0 leaves it sharp).
pub fn rounded(corners: &[[f64; 3]]) -> Vec<[f64; 2]> {
    let n = corners.len();
    let mut outline = Vec::new();
    for i in 0..n {
        let [x, y, r] = corners[i];
        let [before, after] = [corners[(i + n - 1) % n], corners[(i + 1) % n]];
        let heading = |a: [f64; 3], b: [f64; 3]| (b[1] - a[1]).atan2(b[0] - a[0]).to_degrees();
        let into = heading(before, corners[i]);
        let turn = (heading(corners[i], after) - into + 540.0).rem_euclid(360.0) - 180.0;
        if r == 0.0 {
            outline.push([x, y]);
            continue;
        }
        // The arc's centre lies r beside the way in, r·tan(turn/2) before the corner.
        let side = turn.signum();
        let start = at(
            [x, y],
            r * (turn.abs() / 2.0).to_radians().tan(),
            into + 180.0,
        );
        let center = at(start, r, into + 90.0 * side);
        let pieces = ((turn.abs() / 90.0 * QUARTER as f64).ceil() as usize).max(2);
        for k in 0..=pieces {
            let angle = into - 90.0 * side + turn * k as f64 / pieces as f64;
            outline.push(at(center, r, angle));
        }
    }
    // Two arcs that meet without a straight between them share a point.
    let apart = |a: [f64; 2], b: [f64; 2]| (a[0] - b[0]).hypot(a[1] - b[1]) > 1.0 / STEPS_PER_UNIT;
    (0..outline.len())
        .filter(|&i| apart(outline[i], outline[(i + 1) % outline.len()]))
        .map(|i| outline[i])
        .collect()
}

/// A rectangle about the origin of `size`, corners rounded with `r`.
pub fn rectangle(size: [f64; 2], r: f64) -> Vec<[f64; 2]> {
    let [x, y] = [size[0] / 2.0, size[1] / 2.0];
    rounded(&[[-x, -y, r], [x, -y, r], [x, y, r], [-x, y, r]])
}

/// The convex solid over flat outlines, each at its height: a plate with
/// chamfered edges, a cone, a tapering bar.
pub fn tapered(layers: &[(f64, &[[f64; 2]])]) -> Manifold {
    let points: Vec<Vec3> = layers
        .iter()
        .flat_map(|(z, o)| o.iter().map(|p| point([p[0], p[1], *z])))
        .collect();
    Manifold::hull(&points)
}

/// A plate about the origin, `size` with 45° chamfers `[bottom, top]` and corners
/// rounded with `r`.
pub fn plate(size: [f64; 3], r: f64, chamfers: [f64; 2]) -> Manifold {
    let inset = |c: f64| rectangle([size[0] - 2.0 * c, size[1] - 2.0 * c], r - c);
    tapered(&[
        (0.0, &inset(chamfers[0])),
        (chamfers[0], &inset(0.0)),
        (size[2] - chamfers[1], &inset(0.0)),
        (size[2], &inset(chamfers[1])),
    ])
}

/// What a countersunk wood screw needs, pointing down from `head` (the middle of
/// the head at the surface): a hole `depth` deep and a 90° cone twice as wide.
pub fn screw(head: [f64; 3], hole: f64, depth: f64) -> Manifold {
    let r = hole / 2.0;
    // The cone goes on above the surface so that no skin is left there.
    let cone = tapered(&[
        (-r, &circle([0.0; 2], r, QUARTER)),
        (r, &circle([0.0; 2], 3.0 * r, QUARTER)),
    ]);
    rod([0.0; 2], r, Along::Z, -depth, 0.0)
        .union(&cone)
        .translate(point(head))
}

/// A closed outline `[radius, z]` turned once about Z.
pub fn turned(outline: &[[f64; 2]], segments: i32) -> Manifold {
    Manifold::revolve(&polygons(outline), segments, 360.0)
}

/// The bodies as one mesh on the coordinate grid, each kept as a body of its own.
///
/// Vertices are sorted, every triangle begins with its lowest index and the
/// triangles are sorted, so the bytes of a file do not hang on the order in which
/// the booleans produced them.
pub fn finish(bodies: &[Manifold]) -> Mesh {
    let grid = |v: f64| (v * STEPS_PER_UNIT).round() as i64;
    let mut mesh = Mesh::default();
    for body in bodies {
        let gl = body.get_mesh_gl64(-1);
        let corners: Vec<[i64; 3]> = gl
            .vert_properties
            .chunks_exact(3)
            .map(|p| [grid(p[0]), grid(p[1]), grid(p[2])])
            .collect();
        let mut vertices = corners.clone();
        vertices.sort_unstable();
        vertices.dedup();
        let base = mesh.vertices.len();
        let index = |v: u64| {
            let place = vertices.partition_point(|p| *p < corners[v as usize]);
            (base + place) as u32
        };
        let mut triangles: Vec<[u32; 3]> = gl
            .tri_verts
            .chunks_exact(3)
            .map(|t| [index(t[0]), index(t[1]), index(t[2])])
            .filter(|[a, b, c]| a != b && b != c && c != a)
            .map(|[a, b, c]| {
                if a < b && a < c {
                    [a, b, c]
                } else if b < c {
                    [b, c, a]
                } else {
                    [c, a, b]
                }
            })
            .collect();
        triangles.sort_unstable();
        mesh.triangles.append(&mut triangles);
        mesh.vertices.extend(
            vertices
                .iter()
                .map(|p| Point3::from(p.map(|v| v as f64 / STEPS_PER_UNIT))),
        );
    }
    mesh
}
