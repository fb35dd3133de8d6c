//! Solids with closed-form answers, and a short way to measure them.
#![allow(
    dead_code,
    reason = "every test program uses its own share of these helpers"
)]

use nalgebra::{Point3, Unit, Vector3};
use wayup::advice::{self, RankedPose};
use wayup::figures::Figures;
use wayup::figures::quick::Bench;
use wayup::mesh::{Mesh, Part};
use wayup::pose::Hull;
use wayup::settings::Settings;

/// Outline of the worked example of a bridge: legs 5 × 15, 20 apart, under a slab 30 × 5.
pub const PORTAL: [[f64; 2]; 8] = [
    [0.0, 0.0],
    [5.0, 0.0],
    [5.0, 15.0],
    [25.0, 15.0],
    [25.0, 0.0],
    [30.0, 0.0],
    [30.0, 20.0],
    [0.0, 20.0],
];

/// Settings of the worked examples: 45° sharp, and a first layer so thin that the
/// contact section is the base itself.
pub fn sharp() -> Settings {
    Settings {
        limit_deg: 44.5,
        first_layer_mm: 0.02,
        ..Settings::default()
    }
}

/// The part of a mesh that must be one.
pub fn part(mesh: Mesh) -> Part {
    Part::new(mesh).expect("a solid").0
}

/// Everything about one pose.
pub fn measured(part: &Part, settings: &Settings, down: [f64; 3]) -> RankedPose {
    let hull = Hull::new(&part.mesh.vertices).expect("a solid has a hull");
    let bench = Bench::new(part, settings, hull);
    advice::measure(&bench, Unit::new_normalize(Vector3::from(down)))
}

/// A side of a prism goes down, and the file's own underside.
pub const ON_EDGE: [f64; 3] = [0.0, -1.0, 0.0];
pub const DOWN: [f64; 3] = [0.0, 0.0, -1.0];

/// A prism whose outline stands, `long` along the bed: the second coordinate of the outline is the height.
pub fn lying(outline: &[[f64; 2]], long: f64) -> RankedPose {
    measured(&part(prism(outline, long)), &Settings::default(), ON_EDGE)
}

/// What a rule of the precautions says of a pose.
pub fn said(pose: &RankedPose, key: &str) -> Option<String> {
    let notes = &pose.precautions_detail;
    notes.iter().find(|n| n.key == key).map(|n| n.says.clone())
}

/// Figures of one pose.
pub fn figures(part: &Part, settings: &Settings, down: [f64; 3]) -> Figures {
    measured(part, settings, down).figures
}

/// A prism over a simple counter-clockwise polygon in the x–y plane, z from 0 to `height`.
pub fn prism(polygon: &[[f64; 2]], height: f64) -> Mesh {
    let n = polygon.len();
    let mut mesh = Mesh::default();
    for z in [0.0, height] {
        mesh.vertices
            .extend(polygon.iter().map(|p| Point3::new(p[0], p[1], z)));
    }
    for [a, b, c] in ears(polygon) {
        mesh.triangles.push([a as u32, c as u32, b as u32]);
        mesh.triangles
            .push([(n + a) as u32, (n + b) as u32, (n + c) as u32]);
    }
    for i in 0..n {
        let j = (i + 1) % n;
        let (a, b, c, d) = (i as u32, j as u32, (n + j) as u32, (n + i) as u32);
        mesh.triangles.push([a, b, c]);
        mesh.triangles.push([a, c, d]);
    }
    mesh
}

/// An axis-parallel box.
pub fn block(lo: [f64; 3], size: [f64; 3]) -> Mesh {
    let [w, d, h] = size;
    let mut mesh = prism(&[[0.0, 0.0], [w, 0.0], [w, d], [0.0, d]], h);
    for p in &mut mesh.vertices {
        *p += Vector3::from(lo);
    }
    mesh
}

/// A square block with a round hole of `n` corners through it, upright about z: half as wide, high and
/// wide as given.
pub fn drilled(n: u32, half: f64, high: f64, radius: f64) -> Mesh {
    let mut mesh = Mesh::default();
    for z in [0.0, high] {
        for outer in [true, false] {
            for k in 0..n {
                let (s, c) = libm::sincos(std::f64::consts::TAU * f64::from(k) / f64::from(n));
                let r = if outer {
                    half / s.abs().max(c.abs())
                } else {
                    radius
                };
                mesh.vertices.push(Point3::new(r * c, r * s, z));
            }
        }
    }
    let at = |z: u32, hole: u32, k: u32| (2 * z + hole) * n + k % n;
    for k in 0..n {
        for [a, b, c, d] in [
            [at(0, 0, k), at(0, 1, k), at(0, 1, k + 1), at(0, 0, k + 1)],
            [at(1, 0, k), at(1, 0, k + 1), at(1, 1, k + 1), at(1, 1, k)],
            [at(0, 0, k), at(0, 0, k + 1), at(1, 0, k + 1), at(1, 0, k)],
            [at(0, 1, k), at(1, 1, k), at(1, 1, k + 1), at(0, 1, k + 1)],
        ] {
            mesh.triangles.extend([[a, b, c], [a, c, d]]);
        }
    }
    mesh
}

/// The same mesh laid down: what was up, so `high`, points along −y, and what was along y is up.
pub fn laid(mut mesh: Mesh, high: f64) -> Mesh {
    for p in &mut mesh.vertices {
        (p.y, p.z) = (high - p.z, p.y);
    }
    mesh
}

/// Several meshes in one.
pub fn together(meshes: &[Mesh]) -> Mesh {
    let mut out = Mesh::default();
    for m in meshes {
        let base = out.vertices.len() as u32;
        out.vertices.extend_from_slice(&m.vertices);
        out.triangles
            .extend(m.triangles.iter().map(|t| t.map(|v| v + base)));
    }
    out
}

/// The same surface seen from the other side.
pub fn inside_out(mut mesh: Mesh) -> Mesh {
    for t in &mut mesh.triangles {
        t.swap(1, 2);
    }
    mesh
}

/// A body of revolution about z: `profile` holds (radius, z) from the lower end of
/// the axis to the upper, radius 0 at both ends only; n sides.
pub fn turned(profile: &[[f64; 2]], n: usize) -> Mesh {
    let mut mesh = Mesh::default();
    let rings = &profile[1..profile.len() - 1];
    mesh.vertices.push(Point3::new(0.0, 0.0, profile[0][1]));
    for [r, z] in rings {
        for k in 0..n {
            let (s, c) = libm::sincos(std::f64::consts::TAU * k as f64 / n as f64);
            mesh.vertices.push(Point3::new(r * c, r * s, *z));
        }
    }
    mesh.vertices
        .push(Point3::new(0.0, 0.0, profile[profile.len() - 1][1]));
    let at = |ring: usize, k: usize| (1 + ring * n + k % n) as u32;
    let top = (mesh.vertices.len() - 1) as u32;
    for k in 0..n {
        mesh.triangles.push([0, at(0, k + 1), at(0, k)]);
        mesh.triangles
            .push([top, at(rings.len() - 1, k), at(rings.len() - 1, k + 1)]);
        for ring in 0..rings.len() - 1 {
            let (a, b) = (at(ring, k), at(ring, k + 1));
            let (c, d) = (at(ring + 1, k + 1), at(ring + 1, k));
            mesh.triangles.push([a, b, c]);
            mesh.triangles.push([a, c, d]);
        }
    }
    mesh
}

/// A sphere of radius r about the origin, as latitude rings.
pub fn sphere(r: f64, rings: usize, sides: usize) -> Mesh {
    let profile: Vec<[f64; 2]> = (0..=rings)
        .map(|i| {
            let a = std::f64::consts::PI * i as f64 / rings as f64;
            [r * libm::sin(a), -r * libm::cos(a)]
        })
        .collect();
    turned(&profile, sides)
}

fn ears(polygon: &[[f64; 2]]) -> Vec<[usize; 3]> {
    let cross = |a: [f64; 2], b: [f64; 2], c: [f64; 2]| {
        (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
    };
    let mut left: Vec<usize> = (0..polygon.len()).collect();
    let mut out = Vec::new();
    while left.len() > 3 {
        let n = left.len();
        let ear = (0..n)
            .find(|&i| {
                let [a, b, c] =
                    [left[(i + n - 1) % n], left[i], left[(i + 1) % n]].map(|v| polygon[v]);
                cross(a, b, c) > 0.0
                    && left.iter().map(|&v| polygon[v]).all(|p| {
                        p == a
                            || p == b
                            || p == c
                            || cross(a, b, p) < 0.0
                            || cross(b, c, p) < 0.0
                            || cross(c, a, p) < 0.0
                    })
            })
            .expect("a simple polygon has an ear");
        out.push([left[(ear + n - 1) % n], left[ear], left[(ear + 1) % n]]);
        left.remove(ear);
    }
    out.push([left[0], left[1], left[2]]);
    out
}
