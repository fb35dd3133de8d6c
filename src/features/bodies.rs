//! Which bodies of a part hang together, which lie apart, and which run in another.
//!
//! Bodies that cross, touch, or lie in the material of another print as one *lump*; so does a
//! cavity with the body around it. Two surfaces cross where an edge of one meets a facet of the
//! other: every edge is a ray that ends at its length. What lies before a facet is found along
//! its normal. Two lumps are *tied* where none of a dozen planes parts them, and one is
//! *captive* where a narrow gap lies round it on all sides of at least one plane.

use crate::mesh::bvh::FacetBvh;
use crate::mesh::{NO_NEIGHBOUR, Part};
use nalgebra::{Matrix3, Point3, Unit, Vector3};

/// More bodies than this are not told apart.
const MOST_BODIES: usize = 2000;
/// More pairs of bodies whose boxes meet are not looked at.
const MOST_PAIRS: usize = 1 << 16;
/// Surfaces nearer than this fuse in any print, mm (house value).
const TOUCH_MM: f64 = 0.05;
/// More than a ray is off by for rounding, mm.
const SLACK_MM: f64 = 1e-6;
/// Widest gap in which a body is said to run, mm: 0.2–0.6 mm is common practice.
pub const GAP_MM: f64 = 1.0;
/// Facets of one body from which the way outward is looked along.
const MOST_LOOKS: usize = 4000;
/// A captive body has at least this share of its surface at the gap …
const CAPTIVE_SHARE: f64 = 0.05;
/// … that looks to all sides: its normals sum up to no more than this share …
const BALANCE: f64 = 0.4;
/// … and spread over more than a line: λ₁λ₂ + λ₂λ₃ + λ₃λ₁ of their mean square, 0.25 for a
/// cylinder, 0 for two parallel faces.
const SPREAD: f64 = 0.12;

/// The bodies of a part, put together to lumps. Part frame, mm. Empty for a part of one body,
/// or of so many that they are not told apart.
#[derive(Debug, Clone, Default)]
pub struct Bodies {
    /// What prints as one piece, the largest volume first.
    pub lumps: Vec<Lump>,
    /// Pairs of them that no plane parts, the smaller index first.
    pub tied: Vec<(usize, usize)>,
    /// Those that run in another.
    pub captives: Vec<Captive>,
}

/// Bodies that print as one piece.
#[derive(Debug, Clone)]
pub struct Lump {
    /// Indices into the bodies of the part, ascending.
    pub bodies: Vec<u32>,
    /// Volume, mm³.
    pub volume_mm3: f64,
    /// Lowest and highest corner of its box.
    pub bounds: [Point3<f64>; 2],
}

impl Lump {
    /// Its longest extent along an axis of the file, mm.
    pub fn longest_mm(&self) -> f64 {
        (self.bounds[1] - self.bounds[0]).max()
    }

    /// Its triangles.
    pub fn triangles<'a>(&'a self, part: &'a Part) -> impl Iterator<Item = u32> + 'a {
        let of = |b: &u32| part.bodies[*b as usize].triangles.iter().copied();
        self.bodies.iter().flat_map(of)
    }
}

/// A lump within another, with a narrow gap all round.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Captive {
    /// Index of the lump within.
    pub inner: usize,
    /// Index of the one around it.
    pub outer: usize,
    /// Least width of the gap, mm.
    pub gap_mm: f64,
    /// Mean width of the gap, mm.
    pub mean_gap_mm: f64,
}

/// Somebody's facet that looks at another body across a gap.
struct Facing {
    body: u32,
    other: u32,
    area: f64,
    normal: Vector3<f64>,
    at: Point3<f64>,
    gap: f64,
}

/// Tells the bodies of a part apart. `bvh` is over its facets. O(n log n).
pub(super) fn bodies(part: &Part, bvh: &FacetBvh) -> Bodies {
    let count = part.bodies.len();
    if !(2..=MOST_BODIES).contains(&count) {
        return Bodies::default();
    }
    let mut look = Look::new(part, bvh);
    let Some(()) = look.pair() else {
        return Bodies::default();
    };
    look.cavities();
    let mut order: Vec<usize> = (0..count).collect();
    order.sort_by_key(|&b| (part.bodies[b].triangles.len(), b));
    for &b in &order {
        look.crossings(b);
    }
    let mut facing = Vec::new();
    for &b in &order {
        look.outward(b, &mut facing);
    }
    facing.retain(|f| look.set[f.body as usize] != look.set[f.other as usize]);
    let (lumps, of_body) = look.lumps();
    let tied = tied(part, &lumps);
    let captives = captives(part, &lumps, &of_body, &tied, &facing);
    Bodies {
        lumps,
        tied,
        captives,
    }
}

type Corners = [Point3<f64>; 2];

fn meet(a: &Corners, b: &Corners, within: f64) -> bool {
    (0..3).all(|i| a[0][i] <= b[1][i] + within && b[0][i] <= a[1][i] + within)
}

fn grown(a: &Corners, b: &Corners) -> Corners {
    [a[0].inf(&b[0]), a[1].sup(&b[1])]
}

struct Look<'a> {
    part: &'a Part,
    bvh: &'a FacetBvh,
    /// Body of each triangle.
    of: Vec<u32>,
    boxes: Vec<Corners>,
    /// Bodies whose boxes come near that of each.
    near: Vec<Vec<u32>>,
    /// The lowest body that each hangs together with.
    set: Vec<u32>,
}

impl<'a> Look<'a> {
    fn new(part: &'a Part, bvh: &'a FacetBvh) -> Self {
        let mut of = vec![0; part.mesh.triangles.len()];
        for (b, body) in part.bodies.iter().enumerate() {
            for &t in &body.triangles {
                of[t as usize] = b as u32;
            }
        }
        let boxes = part.bodies.iter().map(|body| {
            let (lo, hi) = part.mesh.bounds_of(&body.triangles);
            [lo, hi]
        });
        Self {
            part,
            bvh,
            of,
            boxes: boxes.collect(),
            near: vec![Vec::new(); part.bodies.len()],
            set: (0..part.bodies.len() as u32).collect(),
        }
    }

    /// Finds bodies whose boxes come near each other; none where those are too many.
    fn pair(&mut self) -> Option<()> {
        let mut order: Vec<usize> = (0..self.boxes.len()).collect();
        order.sort_by(|&a, &b| {
            let low = |i: usize| self.boxes[i][0].x;
            low(a).total_cmp(&low(b)).then(a.cmp(&b))
        });
        let mut pairs = 0;
        for (i, &a) in order.iter().enumerate() {
            let reach = self.boxes[a][1].x + GAP_MM;
            let beside = order[i + 1..].iter();
            for &b in beside.take_while(|&&b| self.boxes[b][0].x <= reach) {
                if meet(&self.boxes[a], &self.boxes[b], GAP_MM) {
                    pairs += 1;
                    self.near[a].push(b as u32);
                    self.near[b].push(a as u32);
                }
            }
            if pairs > MOST_PAIRS {
                return None;
            }
        }
        Some(())
    }

    fn join(&mut self, a: usize, b: usize) {
        let (a, b) = (self.set[a], self.set[b]);
        for set in &mut self.set {
            if *set == a || *set == b {
                *set = a.min(b);
            }
        }
    }

    /// The box around all bodies near `b` that are not joined to it; none without any.
    fn open(&self, b: usize) -> Option<Corners> {
        let others = self.near[b].iter().map(|&o| o as usize);
        (others.filter(|&o| self.set[o] != self.set[b]))
            .map(|o| self.boxes[o])
            .reduce(|a, b| grown(&a, &b))
    }

    /// Whether a box comes near that of a body which may still be joined to `b`.
    fn is_near(&self, b: usize, around: &Corners) -> bool {
        let others = self.near[b].iter().map(|&o| o as usize);
        (others.filter(|&o| self.set[o] != self.set[b]))
            .any(|o| meet(around, &self.boxes[o], TOUCH_MM + SLACK_MM))
    }

    /// The first facet of a body not joined to `b` along a ray: its body, how far, and
    /// whether the ray enters there. Farther than `within` it may be missing.
    fn first(
        &self,
        b: usize,
        from: &Point3<f64>,
        along: &Unit<Vector3<f64>>,
        within: f64,
    ) -> Option<(usize, f64, bool)> {
        let own = self.set[b];
        let wanted = |t: usize| self.set[self.of[t] as usize] != own;
        let hit =
            (self.bvh).first_within(&self.part.mesh, from, along, within, wanted, |_| true)?;
        let other = self.of[hit.triangle] as usize;
        Some((other, hit.apart_mm, hit.enters))
    }

    /// Joins every cavity to what its material is bounded by.
    fn cavities(&mut self) {
        for b in 0..self.part.bodies.len() {
            let body = &self.part.bodies[b];
            if !body.cavity {
                continue;
            }
            let solid = |t: &&u32| self.part.areas[**t as usize] > 0.0;
            let found = body.triangles.iter().find(solid).and_then(|&t| {
                let (at, normal) = self.facet(t);
                self.first(b, &at, &-normal, f64::MAX)
            });
            if let Some((other, _, _)) = found {
                self.join(b, other);
            }
        }
    }

    fn facet(&self, t: u32) -> (Point3<f64>, Unit<Vector3<f64>>) {
        let [p, q, r] = self.part.mesh.corners(t as usize);
        // Off the middle, so that symmetrical parts are not hit on an edge.
        let at = Point3::from(p.coords * 0.37 + q.coords * 0.36 + r.coords * 0.27);
        (at, Unit::new_unchecked(self.part.normals[t as usize]))
    }

    /// Joins a body to those that its edges cross or touch.
    fn crossings(&mut self, b: usize) {
        let Some(mut open) = self.open(b) else { return };
        let part = self.part;
        for &t in &part.bodies[b].triangles {
            let corners = part.mesh.corners(t as usize);
            for i in 0..3 {
                let h = 3 * t + i as u32;
                let across = part.opposite[h as usize];
                let (p, q) = (corners[i], corners[(i + 1) % 3]);
                let Some((along, length)) = Unit::try_new_and_get(q - p, 1e-9) else {
                    continue;
                };
                let once = across == NO_NEIGHBOUR || h < across;
                let around = [p.inf(&q), p.sup(&q)];
                if !once || !meet(&around, &open, TOUCH_MM) || !self.is_near(b, &around) {
                    continue;
                }
                let from = p - *along * TOUCH_MM;
                let within = length + 2.0 * TOUCH_MM;
                while let Some((other, apart, _)) = self.first(b, &from, &along, within) {
                    if apart > within {
                        break;
                    }
                    self.join(b, other);
                    match self.open(b) {
                        Some(left) => open = left,
                        None => return,
                    }
                }
            }
        }
    }

    /// Looks outward from a body: joins it to what it lies in or touches, and notes what it
    /// faces across a gap.
    fn outward(&mut self, b: usize, facing: &mut Vec<Facing>) {
        let Some(mut open) = self.open(b) else { return };
        let part = self.part;
        let triangles = &part.bodies[b].triangles;
        let step = triangles.len().div_ceil(MOST_LOOKS);
        for &t in triangles.iter().step_by(step) {
            let area = part.areas[t as usize] * step as f64;
            let (at, normal) = self.facet(t);
            if area <= 0.0 || !meet(&[at, at], &open, GAP_MM) {
                continue;
            }
            let Some((other, gap, enters)) = self.first(b, &at, &normal, f64::MAX) else {
                continue;
            };
            let buried = !enters && part.bodies[other].closed;
            if buried || gap <= TOUCH_MM {
                self.join(b, other);
                match self.open(b) {
                    Some(left) => open = left,
                    None => return,
                }
            } else if enters && gap <= GAP_MM {
                facing.push(Facing {
                    body: b as u32,
                    other: other as u32,
                    area,
                    normal: normal.into_inner(),
                    at,
                    gap,
                });
            }
        }
    }

    /// What hangs together, and the lump of each body.
    fn lumps(&self) -> (Vec<Lump>, Vec<usize>) {
        let mut lumps: Vec<Lump> = Vec::new();
        let mut at = vec![usize::MAX; self.set.len()];
        for (b, &set) in self.set.iter().enumerate() {
            let volume_mm3 = self.part.bodies[b].volume_mm3;
            let place = &mut at[set as usize];
            if *place == usize::MAX {
                *place = lumps.len();
                lumps.push(Lump {
                    bodies: vec![b as u32],
                    volume_mm3,
                    bounds: self.boxes[b],
                });
            } else {
                let lump = &mut lumps[*place];
                lump.bodies.push(b as u32);
                lump.volume_mm3 += volume_mm3;
                lump.bounds = grown(&lump.bounds, &self.boxes[b]);
            }
        }
        lumps.sort_by(|a, b| {
            let larger = b.volume_mm3.total_cmp(&a.volume_mm3);
            larger.then(a.bodies.cmp(&b.bodies))
        });
        let mut of_body = vec![0; self.set.len()];
        for (k, lump) in lumps.iter().enumerate() {
            for &b in &lump.bodies {
                of_body[b as usize] = k;
            }
        }
        (lumps, of_body)
    }
}

/// Directions beside the axes along which a plane may part two lumps.
const ACROSS: [[f64; 3]; 10] = [
    [1.0, 1.0, 0.0],
    [1.0, -1.0, 0.0],
    [1.0, 0.0, 1.0],
    [1.0, 0.0, -1.0],
    [0.0, 1.0, 1.0],
    [0.0, 1.0, -1.0],
    [1.0, 1.0, 1.0],
    [1.0, 1.0, -1.0],
    [1.0, -1.0, 1.0],
    [-1.0, 1.0, 1.0],
];

/// Pairs of lumps that no plane across a dozen directions parts.
fn tied(part: &Part, lumps: &[Lump]) -> Vec<(usize, usize)> {
    let span = |lump: &Lump, along: &Vector3<f64>| {
        let corners = (lump.triangles(part)).flat_map(|t| part.mesh.corners(t as usize));
        corners.fold([f64::INFINITY, f64::NEG_INFINITY], |[lo, hi], p| {
            let at = p.coords.dot(along);
            [lo.min(at), hi.max(at)]
        })
    };
    let parts = |a: [f64; 2], b: [f64; 2]| a[1] <= b[0] || b[1] <= a[0];
    let mut spans: Vec<Option<Vec<[f64; 2]>>> = vec![None; lumps.len()];
    let mut out = Vec::new();
    for b in 0..lumps.len() {
        for a in 0..b {
            if !meet(&lumps[a].bounds, &lumps[b].bounds, -1e-9) {
                continue;
            }
            for k in [a, b] {
                spans[k].get_or_insert_with(|| {
                    let across = ACROSS.iter().map(|d| Vector3::from(*d));
                    across.map(|d| span(&lumps[k], &d)).collect()
                });
            }
            let mut pair = spans[a].iter().flatten().zip(spans[b].iter().flatten());
            let middle = |l: &Lump| nalgebra::center(&l.bounds[0], &l.bounds[1]);
            let between = middle(&lumps[b]) - middle(&lumps[a]);
            let aside = || parts(span(&lumps[a], &between), span(&lumps[b], &between));
            let parted = pair.any(|(a, b)| parts(*a, *b)) || between.norm() > 1e-9 && aside();
            if !parted {
                out.push((a, b));
            }
        }
    }
    out
}

/// Sums over what one lump faces of another.
#[derive(Default, Clone)]
struct Round {
    area: f64,
    normal: Vector3<f64>,
    square: Matrix3<f64>,
    at: Vector3<f64>,
    /// Σ area · normal · place.
    flux: f64,
    gap: f64,
}

fn captives(
    part: &Part,
    lumps: &[Lump],
    of_body: &[usize],
    tied: &[(usize, usize)],
    facing: &[Facing],
) -> Vec<Captive> {
    let pair = |f: &Facing| (of_body[f.body as usize], of_body[f.other as usize]);
    let mut order: Vec<&Facing> = facing.iter().collect();
    order.sort_by_key(|f| pair(f));
    let mut out: Vec<Captive> = Vec::new();
    for run in order.chunk_by(|a, b| pair(a) == pair(b)) {
        let (inner, outer) = pair(run[0]);
        if tied
            .binary_search_by_key(&(outer.max(inner), outer.min(inner)), |t| (t.1, t.0))
            .is_err()
        {
            continue;
        }
        let mut sum = Round::default();
        for f in run {
            sum.area += f.area;
            sum.normal += f.normal * f.area;
            sum.square += f.normal * f.normal.transpose() * f.area;
            sum.at += f.at.coords * f.area;
            sum.flux += f.normal.dot(&f.at.coords) * f.area;
            sum.gap += f.gap * f.area;
        }
        let surface: f64 = (lumps[inner].triangles(part))
            .map(|t| part.areas[t as usize])
            .sum();
        let square = sum.square / sum.area;
        let spread = (1.0 - (square * square).trace()) / 2.0;
        // Normals that lead away from the middle of what faces: it is the inner one.
        let outward = sum.flux - sum.normal.dot(&sum.at) / sum.area;
        if sum.area >= CAPTIVE_SHARE * surface
            && sum.normal.norm() <= BALANCE * sum.area
            && spread >= SPREAD
            && outward > 0.0
        {
            // Seen from both sides: the smaller facets show where it is narrowest.
            let between = |f: &&Facing| [(inner, outer), (outer, inner)].contains(&pair(f));
            let gaps = facing.iter().filter(between).map(|f| f.gap);
            out.push(Captive {
                inner,
                outer,
                gap_mm: gaps.fold(f64::INFINITY, f64::min),
                mean_gap_mm: sum.gap / sum.area,
            });
        }
    }
    out
}
