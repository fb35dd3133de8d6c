//! Parts and points for the tests of this room.

use crate::mesh::{Body, Mass, Mesh, NO_NEIGHBOUR, Part};
use nalgebra::{Matrix3, Point3, Quaternion, Rotation3, Unit, UnitQuaternion, Vector3};
use std::collections::BTreeMap;

/// A small fixed generator (xorshift*, Vigna 2016), so that tests repeat.
pub(crate) struct Random(u64);

impl Random {
    pub(crate) fn new(seed: u64) -> Self {
        Self(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1)
    }

    /// Uniform in [0, 1).
    pub(crate) fn unit(&mut self) -> f64 {
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        (self.0.wrapping_mul(0x2545_F491_4F6C_DD1D) >> 11) as f64 / (1u64 << 53) as f64
    }

    fn normal(&mut self) -> f64 {
        (0..12).map(|_| self.unit()).sum::<f64>() - 6.0
    }

    pub(crate) fn rotation(&mut self) -> Rotation3<f64> {
        let q = Quaternion::new(self.normal(), self.normal(), self.normal(), self.normal());
        UnitQuaternion::from_quaternion(q).to_rotation_matrix()
    }

    pub(crate) fn direction(&mut self) -> Unit<Vector3<f64>> {
        Unit::new_normalize(Vector3::new(self.normal(), self.normal(), self.normal()))
    }
}

/// Points turned, then rounded to single precision as most files do.
pub(crate) fn written(points: &[Point3<f64>], turn: &Rotation3<f64>) -> Vec<Point3<f64>> {
    points
        .iter()
        .map(|p| (turn * p).map(|c| f64::from(c as f32)))
        .collect()
}

pub(crate) fn box_points(lo: [f64; 3], hi: [f64; 3]) -> Vec<Point3<f64>> {
    (0..8)
        .map(|k| {
            Point3::from(std::array::from_fn::<f64, 3, _>(|i| {
                if k >> i & 1 == 1 { hi[i] } else { lo[i] }
            }))
        })
        .collect()
}

/// Points on all faces of a box, `n` steps an edge.
pub(crate) fn subdivided_box(size: [f64; 3], n: usize) -> Vec<Point3<f64>> {
    let mut points = Vec::new();
    for i in 0..=n {
        for j in 0..=n {
            for k in 0..=n {
                if [i, j, k].iter().any(|&c| c == 0 || c == n) {
                    let at = |c: usize, s: f64| s * c as f64 / n as f64;
                    points.push(Point3::new(at(i, size[0]), at(j, size[1]), at(k, size[2])));
                }
            }
        }
    }
    points
}

/// `n` directions along a golden spiral, evenly in area: for averages
/// over the sphere. In order of falling z; none for `n` = 0. Source: Á. González, *Measurement
/// of areas on a sphere using Fibonacci and latitude–longitude lattices*, 2010.
pub(crate) fn fibonacci(n: usize) -> Vec<Unit<Vector3<f64>>> {
    let golden_turn = std::f64::consts::PI * (3.0 - 5f64.sqrt());
    (0..n)
        .map(|i| {
            let z = 1.0 - (2.0 * i as f64 + 1.0) / n as f64;
            let r = (1.0 - z * z).max(0.0).sqrt();
            let (s, c) = libm::sincos(golden_turn * i as f64);
            Unit::new_normalize(Vector3::new(r * c, r * s, z))
        })
        .collect()
}

/// `n` points on a sphere.
pub(crate) fn ball(n: usize, radius: f64) -> Vec<Point3<f64>> {
    fibonacci(n)
        .iter()
        .map(|d| Point3::from(d.into_inner() * radius))
        .collect()
}

/// A box with outward faces as a mesh.
pub(crate) fn box_mesh(lo: [f64; 3], hi: [f64; 3]) -> Mesh {
    let triangles = vec![
        [0, 2, 3],
        [0, 3, 1],
        [4, 5, 7],
        [4, 7, 6],
        [0, 1, 5],
        [0, 5, 4],
        [2, 6, 7],
        [2, 7, 3],
        [0, 4, 6],
        [0, 6, 2],
        [1, 3, 7],
        [1, 7, 5],
    ];
    Mesh {
        vertices: box_points(lo, hi),
        triangles,
    }
}

/// The hull of points as a mesh.
pub(crate) fn hull_mesh(points: &[Point3<f64>]) -> Mesh {
    let hull = crate::pose::hull::Hull::new(points).expect("spans a volume");
    Mesh {
        vertices: hull.vertices,
        triangles: hull.triangles,
    }
}

/// A prism over a counter-clockwise polygon that is star-shaped about its first corner.
pub(crate) fn prism(outline: &[[f64; 2]], height: f64) -> Mesh {
    let n = outline.len() as u32;
    let vertices = [0.0, height]
        .iter()
        .flat_map(|&z| outline.iter().map(move |&[x, y]| Point3::new(x, y, z)))
        .collect();
    let mut triangles = Vec::new();
    for i in 1..n - 1 {
        triangles.push([0, i + 1, i]);
        triangles.push([n, n + i, n + i + 1]);
    }
    for i in 0..n {
        let j = (i + 1) % n;
        triangles.push([i, j, n + j]);
        triangles.push([i, n + j, n + i]);
    }
    Mesh {
        vertices,
        triangles,
    }
}

pub(crate) fn turned_mesh(mesh: &Mesh, turn: &Rotation3<f64>) -> Mesh {
    Mesh {
        vertices: written(&mesh.vertices, turn),
        triangles: mesh.triangles.clone(),
    }
}

/// Weighs a closed mesh by its tetrahedra about a vertex (Mirtich 1996).
pub(crate) fn part(mesh: Mesh) -> Part {
    let (mut volume, mut first, mut second) = (0.0, Vector3::zeros(), Matrix3::zeros());
    let o = mesh.vertices[0];
    let mut normals = Vec::new();
    let mut areas = Vec::new();
    for t in 0..mesh.triangles.len() {
        let p = mesh.corners(t);
        let [a, b, c] = p.map(|q| q - o);
        let det = a.dot(&b.cross(&c));
        volume += det / 6.0;
        let sum = a + b + c;
        first += sum * (det / 24.0);
        second +=
            (a * a.transpose() + b * b.transpose() + c * c.transpose() + sum * sum.transpose())
                * (det / 120.0);
        let n = (p[1] - p[0]).cross(&(p[2] - p[0]));
        areas.push(n.norm() / 2.0);
        normals.push(n.normalize());
    }
    let mean = first / volume;
    let central = second - mean * mean.transpose() * volume;
    let bodies = vec![Body {
        triangles: (0..mesh.triangles.len() as u32).collect(),
        volume_mm3: volume,
        closed: true,
        cavity: false,
        turned: false,
    }];
    Part {
        mass: Mass {
            volume_mm3: volume,
            area_mm2: areas.iter().sum(),
            centroid: o + mean,
            inertia_mm5: Matrix3::identity() * central.trace() - central,
        },
        opposite: opposite(&mesh),
        normals,
        areas,
        bodies,
        closed: true,
        overlapping: false,
        mesh,
    }
}

/// The half-edge the other way along each edge.
fn opposite(mesh: &Mesh) -> Vec<u32> {
    let ends = |h: usize| {
        let t = mesh.triangles[h / 3];
        (t[h % 3], t[(h + 1) % 3])
    };
    let count = 3 * mesh.triangles.len();
    let at: BTreeMap<_, _> = (0..count).map(|h| (ends(h), h as u32)).collect();
    (0..count)
        .map(|h| {
            at.get(&(ends(h).1, ends(h).0))
                .copied()
                .unwrap_or(NO_NEIGHBOUR)
        })
        .collect()
}
