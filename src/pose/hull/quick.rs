//! Quickhull whose every decision is an exact sign.
//!
//! Sources: C. B. Barber, D. P. Dobkin, H. Huhdanpaa, *The quickhull algorithm
//! for convex hulls*, 1996; J. R. Shewchuk, *Adaptive precision floating-point
//! arithmetic and fast robust geometric predicates*, 1997.
//!
//! A point sees a triangle only where it lies strictly above its plane by the
//! exact predicate. So a point in the plane of a face sees none of that face's
//! triangles, the seen region is bounded by one simple loop, and no triangle
//! between that loop and the point can be degenerate.

use crate::mesh::behind;
use crate::pose::bounds;
use nalgebra::{Point3, Vector3};
use robust::orient2d;
use std::collections::VecDeque;

const NONE: u32 = u32::MAX;

/// Faces up to which the hull grows evenly.
const EVEN_FACES: usize = 1 << 13;

/// Why a point set has no hull to stand on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum Degenerate {
    /// No points at all.
    #[error("there are no points")]
    Empty,
    /// All points coincide.
    #[error("all points coincide")]
    Point,
    /// All points lie exactly on one line.
    #[error("all points lie on one line")]
    Line,
    /// A coordinate is not a number or lies beyond the range of exact arithmetic.
    #[error("a coordinate is not finite or is larger than 1e60 mm")]
    OutOfRange,
}

/// Triangles counter-clockwise from outside, and the triangle across the edge
/// from corner i to corner i + 1 of each.
pub(super) struct Boundary {
    pub triangles: Vec<[u32; 3]>,
    pub neighbours: Vec<[u32; 3]>,
}

/// Positive where `d` lies strictly above the plane of the counter-clockwise a, b, c. Exact.
pub(super) fn above(a: &Point3<f64>, b: &Point3<f64>, c: &Point3<f64>, d: &Point3<f64>) -> f64 {
    // Flats along an axis are common, and the adaptive predicate is slowest on them.
    if (0..3).any(|k| a[k] == b[k] && b[k] == c[k] && c[k] == d[k]) {
        return 0.0;
    }
    -behind(&[*a, *b, *c], d)
}

/// Whether three points lie on one line. Exact: all three shadows do.
fn collinear(a: &Point3<f64>, b: &Point3<f64>, c: &Point3<f64>) -> bool {
    [(0, 1), (1, 2), (2, 0)].iter().all(|&(i, j)| {
        let coord = |p: &Point3<f64>| robust::Coord { x: p[i], y: p[j] };
        orient2d(coord(a), coord(b), coord(c)) == 0.0
    })
}

/// A plane in floating point together with the height below which it decides nothing.
#[derive(Debug, Clone, Copy)]
pub(super) struct Sieve {
    pub origin: Point3<f64>,
    pub normal: Vector3<f64>,
    pub slack: f64,
}

impl Sieve {
    /// The plane of a triangle among points no further apart than `reach`.
    pub fn new(a: &Point3<f64>, b: &Point3<f64>, c: &Point3<f64>, reach: f64) -> Self {
        let (e, f) = (b - a, c - a);
        let cross = e.cross(&f);
        let length = cross.norm();
        if !(length > 0.0 && length.is_finite()) {
            return Self {
                origin: *a,
                normal: Vector3::zeros(),
                slack: f64::INFINITY,
            };
        }
        // Rounding tilts the normal by a few ε·|e||f|/|e×f|, which lifts a point by
        // that times its distance; the dot product itself adds a few ε.
        let tilt = e.norm() * f.norm() / length;
        let slack = 16.0 * f64::EPSILON * reach * (tilt + 1.0);
        Self {
            origin: *a,
            normal: cross / length,
            slack,
        }
    }

    /// Height over the plane; certain in sign only beyond the slack.
    pub fn height(&self, p: &Point3<f64>) -> f64 {
        self.normal.dot(&(p - self.origin))
    }
}

#[derive(Debug, Clone)]
struct Face {
    corners: [u32; 3],
    across: [u32; 3],
    sieve: Sieve,
    /// First point of the list of points above this face.
    head: u32,
    furthest: u32,
    furthest_height: f64,
    visit: u32,
    seen: bool,
    alive: bool,
}

struct Builder<'a> {
    points: &'a [Point3<f64>],
    reach: f64,
    faces: Vec<Face>,
    free: Vec<u32>,
    /// Next point in the list of the same face.
    next: Vec<u32>,
    /// New face whose horizon edge starts at a vertex.
    starts: Vec<u32>,
    visits: u32,
    /// Faces that may have points above them, oldest first.
    pending: VecDeque<u32>,
}

/// A horizon edge: from, to, the unseen face across and which of its edges it is.
type Rim = (u32, u32, u32, usize);

impl Builder<'_> {
    fn at(&self, i: u32) -> &Point3<f64> {
        &self.points[i as usize]
    }

    fn add(&mut self, corners: [u32; 3], across: [u32; 3]) -> u32 {
        let [a, b, c] = corners.map(|i| *self.at(i));
        let sieve = Sieve::new(&a, &b, &c, self.reach);
        let face = Face {
            corners,
            across,
            sieve,
            head: NONE,
            furthest: NONE,
            furthest_height: 0.0,
            visit: 0,
            seen: false,
            alive: true,
        };
        if let Some(slot) = self.free.pop() {
            self.faces[slot as usize] = face;
            return slot;
        }
        self.faces.push(face);
        (self.faces.len() - 1) as u32
    }

    /// Height of a point over a face, exact in sign.
    fn height(&self, face: u32, point: u32) -> f64 {
        let f = &self.faces[face as usize];
        let p = self.at(point);
        let h = f.sieve.height(p);
        if h.abs() > f.sieve.slack {
            return h;
        }
        let [a, b, c] = f.corners;
        match above(self.at(a), self.at(b), self.at(c), p) {
            s if s > 0.0 => h.max(f64::MIN_POSITIVE),
            s if s < 0.0 => h.min(-f64::MIN_POSITIVE),
            _ => 0.0,
        }
    }

    /// The next face to refine. At first the oldest, so that the hull grows evenly all round
    /// and no fan of triangles about one corner gets long: each point would be tried
    /// against all of it. Then the newest, whose points are still in the cache.
    fn next_pending(&mut self) -> Option<u32> {
        if self.faces.len() < EVEN_FACES {
            self.pending.pop_front()
        } else {
            self.pending.pop_back()
        }
    }

    /// Puts a point on the list of the first of `faces` that it sees, if any.
    fn assign(&mut self, point: u32, faces: &[u32]) {
        for &f in faces {
            let h = self.height(f, point);
            if h > 0.0 {
                let face = &mut self.faces[f as usize];
                self.next[point as usize] = face.head;
                face.head = point;
                if h > face.furthest_height {
                    face.furthest_height = h;
                    face.furthest = point;
                }
                return;
            }
        }
    }

    /// All faces that `point` sees, connected to `from`, and the loop around them.
    fn look(&mut self, from: u32, point: u32, seen: &mut Vec<u32>, rim: &mut Vec<Rim>) {
        self.visits += 1;
        seen.clear();
        rim.clear();
        self.faces[from as usize].visit = self.visits;
        self.faces[from as usize].seen = true;
        seen.push(from);
        let mut done = 0;
        while done < seen.len() {
            let f = seen[done];
            done += 1;
            for edge in 0..3 {
                let g = self.faces[f as usize].across[edge];
                if self.faces[g as usize].visit != self.visits {
                    let visible = self.height(g, point) > 0.0;
                    let face = &mut self.faces[g as usize];
                    face.visit = self.visits;
                    face.seen = visible;
                    if visible {
                        seen.push(g);
                    }
                }
                if !self.faces[g as usize].seen {
                    let corners = self.faces[f as usize].corners;
                    let (a, b) = (corners[edge], corners[(edge + 1) % 3]);
                    let back = self.faces[g as usize].corners.iter().position(|c| *c == b);
                    rim.push((a, b, g, back.unwrap_or(0)));
                }
            }
        }
    }

    /// Replaces the faces seen from the furthest point over `face` by a cone. False where
    /// the rim is not one loop, which exact signs exclude.
    fn extend(
        &mut self,
        face: u32,
        seen: &mut Vec<u32>,
        rim: &mut Vec<Rim>,
        made: &mut Vec<u32>,
    ) -> bool {
        let apex = self.faces[face as usize].furthest;
        self.look(face, apex, seen, rim);
        made.clear();
        for &(a, b, outer, back) in rim.iter() {
            let f = self.add([a, b, apex], [outer, NONE, NONE]);
            self.faces[outer as usize].across[back] = f;
            self.starts[a as usize] = f;
            made.push(f);
        }
        for &f in made.iter() {
            let [_, b, _] = self.faces[f as usize].corners;
            let g = self.starts[b as usize];
            if g == NONE || self.faces[g as usize].across[2] != NONE {
                return false;
            }
            self.faces[f as usize].across[1] = g;
            self.faces[g as usize].across[2] = f;
        }
        for &(a, ..) in rim.iter() {
            self.starts[a as usize] = NONE;
        }
        for &f in seen.iter() {
            let mut point = self.faces[f as usize].head;
            while point != NONE {
                let after = self.next[point as usize];
                if point != apex {
                    self.assign(point, made);
                }
                point = after;
            }
            self.faces[f as usize].alive = false;
            self.faces[f as usize].head = NONE;
            self.free.push(f);
        }
        self.pending.extend(
            made.iter()
                .filter(|&&f| self.faces[f as usize].head != NONE),
        );
        true
    }
}

/// Four points that span a volume, the first three counter-clockwise seen from outside. The
/// error is `None` where all points lie in one plane.
fn simplex(points: &[Point3<f64>]) -> Result<[u32; 4], Option<Degenerate>> {
    let first = points.first().ok_or(Degenerate::Empty)?;
    let furthest = |measure: &dyn Fn(&Point3<f64>) -> f64| {
        let measured = (0u32..).zip(points.iter().map(measure));
        let first = (0, f64::NEG_INFINITY);
        measured.fold(first, |a, b| if b.1 > a.1 { b } else { a }).0
    };
    let at = |i: u32| &points[i as usize];
    let a = furthest(&|p| (p - first).norm_squared());
    let b = furthest(&|p| (p - at(a)).norm_squared());
    if at(a) == at(b) {
        // The squares may underflow where the points still differ.
        let all_one = points.iter().all(|p| p == first);
        return Err(Some(if all_one {
            Degenerate::Point
        } else {
            Degenerate::OutOfRange
        }));
    }
    let e = (at(b) - at(a)).normalize();
    let mut c = furthest(&|p| (p - at(a)).cross(&e).norm_squared());
    if collinear(at(a), at(b), at(c)) {
        c = points
            .iter()
            .position(|p| !collinear(at(a), at(b), p))
            .ok_or(Degenerate::Line)? as u32;
    }
    let d = furthest(&|p| above(at(a), at(b), at(c), p).abs());
    match above(at(a), at(b), at(c), at(d)) {
        s if s < 0.0 => Ok([a, b, c, d]),
        s if s > 0.0 => Ok([a, c, b, d]),
        _ => Err(None),
    }
}

/// The hull of points that are finite and in the exact range. The error is `None` where all
/// of them lie in one plane.
///
/// Every vertex of the result is a corner: none lies within a face or an edge.
pub(super) fn quickhull(points: &[Point3<f64>]) -> Result<Boundary, Option<Degenerate>> {
    let boundary = build(points)?;
    let corner = corners(points, &boundary);
    if (boundary.triangles.iter().flatten()).all(|&v| corner[v as usize]) {
        return Ok(boundary);
    }
    // With corners only as input, each of them is a corner of the result.
    let kept: Vec<u32> = (0..points.len() as u32)
        .filter(|&i| corner[i as usize])
        .collect();
    let few: Vec<Point3<f64>> = kept.iter().map(|&i| points[i as usize]).collect();
    let mut boundary = build(&few)?;
    for t in &mut boundary.triangles {
        *t = t.map(|v| kept[v as usize]);
    }
    Ok(boundary)
}

fn build(points: &[Point3<f64>]) -> Result<Boundary, Option<Degenerate>> {
    let start = simplex(points)?;
    let mut b = Builder {
        points,
        reach: bounds(points.iter().copied()).map_or(0.0, |[lo, hi]| (hi - lo).norm()),
        faces: Vec::new(),
        free: Vec::new(),
        next: vec![NONE; points.len()],
        starts: vec![NONE; points.len()],
        visits: 0,
        pending: VecDeque::new(),
    };
    let [p, q, r, s] = start;
    // Faces pqr, qps, rqs, prs with the neighbours across each of their edges.
    let first = [
        b.add([p, q, r], [1, 2, 3]),
        b.add([q, p, s], [0, 3, 2]),
        b.add([r, q, s], [0, 1, 3]),
        b.add([p, r, s], [0, 2, 1]),
    ];
    for i in 0..points.len() as u32 {
        if !start.contains(&i) {
            b.assign(i, &first);
        }
    }
    b.pending.extend(first);
    let (mut seen, mut rim, mut made) = (Vec::new(), Vec::new(), Vec::new());
    while let Some(face) = b.next_pending() {
        let f = &b.faces[face as usize];
        if f.alive && f.head != NONE && !b.extend(face, &mut seen, &mut rim, &mut made) {
            return Err(Some(Degenerate::OutOfRange));
        }
    }
    let alive = || (0..).zip(&b.faces).filter(|(_, f)| f.alive);
    let mut place = vec![NONE; b.faces.len()];
    for (count, (slot, _)) in (0..).zip(alive()) {
        place[slot as usize] = count;
    }
    let across = |f: &Face| f.across.map(|g| place[g as usize]);
    Ok(Boundary {
        triangles: alive().map(|(_, f)| f.corners).collect(),
        neighbours: alive().map(|(_, f)| across(f)).collect(),
    })
}

/// Which points are corners: where at least three edges with a real bend meet.
fn corners(points: &[Point3<f64>], boundary: &Boundary) -> Vec<bool> {
    let mut bends = vec![0u8; points.len()];
    for (f, (t, across)) in boundary
        .triangles
        .iter()
        .zip(&boundary.neighbours)
        .enumerate()
    {
        for edge in 0..3 {
            let g = across[edge] as usize;
            if g < f {
                continue;
            }
            let (a, b) = (t[edge], t[(edge + 1) % 3]);
            let [p, q, r] = t.map(|v| &points[v as usize]);
            let far = boundary.triangles[g].iter().find(|&&v| v != a && v != b);
            if far.is_some_and(|&v| above(p, q, r, &points[v as usize]) != 0.0) {
                for v in [a, b] {
                    bends[v as usize] = bends[v as usize].saturating_add(1);
                }
            }
        }
    }
    bends.into_iter().map(|n| n >= 3).collect()
}
