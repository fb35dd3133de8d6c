//! Which body lies inside which, which faces outward, and whether material overlaps.

use super::bvh::{FacetBvh, parry_box};
use super::lines::{Axis, behind, crossing, height};
use super::{Body, Bounds, Mesh, sum};
use crate::tol;
use nalgebra::{Point2, Point3};
use parry3d_f64::bounding_volume::Aabb;
use parry3d_f64::partitioning::{Bvh, BvhBuildStrategy, BvhNode};
use rayon::prelude::*;
use std::collections::BTreeSet;
use std::sync::OnceLock;

/// The closed bodies around each body.
pub(crate) enum Nesting {
    /// All that hold it wholly, ascending.
    Listed(Vec<Vec<u32>>),
    /// The innermost one: where so many hold each other that a list of all would
    /// grow with the square of their number. Bodies that cross are taken for nested.
    Tree(Vec<Option<u32>>),
}

impl Nesting {
    /// Whether any body is around `body`.
    pub(crate) fn is_held(&self, body: usize) -> bool {
        match self {
            Self::Listed(lists) => !lists[body].is_empty(),
            Self::Tree(around) => around[body].is_some(),
        }
    }

    /// Whether `outer` is known to be around `inner` (of a tree: right around it).
    fn holds(&self, outer: usize, inner: usize) -> bool {
        match self {
            Self::Listed(lists) => lists[inner].contains(&(outer as u32)),
            Self::Tree(around) => around[inner] == Some(outer as u32),
        }
    }

    /// All bodies, each after those around it.
    fn outside_first(&self) -> Vec<usize> {
        match self {
            Self::Listed(lists) => {
                let mut order: Vec<usize> = (0..lists.len()).collect();
                order.sort_by_key(|&b| (lists[b].len(), b));
                order
            }
            Self::Tree(around) => {
                let mut held: Vec<Vec<usize>> = vec![Vec::new(); around.len()];
                let mut order = Vec::with_capacity(around.len());
                for (body, outer) in around.iter().enumerate() {
                    match outer {
                        Some(outer) => held[*outer as usize].push(body),
                        None => order.push(body),
                    }
                }
                for next in 0..around.len() {
                    order.extend_from_slice(&held[order[next]]);
                }
                order
            }
        }
    }
}

/// Whether one box is around another.
fn box_around(outer: &Bounds, inner: &Bounds) -> bool {
    outer.0 <= inner.0 && outer.1 >= inner.1
}

/// Whether the box of a node covers another.
fn covers(node: &BvhNode, inner: &Bounds) -> bool {
    let (lo, hi) = (node.mins(), node.maxs());
    let held = |i: usize| lo[i] <= inner.0[i] && hi[i] >= inner.1[i];
    held(0) && held(1) && held(2)
}

/// Pairs of boxes that are looked at one by one.
fn pairs_at_most(bodies: usize) -> usize {
    (1 << 16) + 32 * bodies
}

/// Hierarchy over the boxes of bodies.
fn tree_of<'a>(boxes: impl Iterator<Item = &'a Bounds>) -> Bvh {
    let boxes: Vec<Aabb> = boxes.map(parry_box).collect();
    Bvh::from_leaves(BvhBuildStrategy::Binned, &boxes)
}

/// For every body, the closed bodies that hold it wholly. Time and memory grow with the
/// triangles, times a logarithm, however many bodies hold each other.
pub(crate) fn nesting(mesh: &Mesh, bodies: &[Body], boxes: &[Bounds]) -> Nesting {
    let space = Space {
        mesh,
        bodies,
        boxes,
        facets: bodies.iter().map(|_| OnceLock::new()).collect(),
    };
    // Of open ones there may be as many as triangles, and all of their boxes meet.
    let closed: Vec<u32> = (0..bodies.len() as u32)
        .filter(|&o| bodies[o as usize].closed)
        .collect();
    let tree = tree_of(closed.iter().map(|&o| &boxes[o as usize]));
    let mut pairs: Vec<(usize, u32)> = Vec::new();
    for (inner, within) in boxes.iter().enumerate() {
        let around = tree.leaves(|node| covers(node, within));
        pairs.extend(
            around
                .map(|leaf| closed[leaf as usize])
                .filter(|&o| o as usize != inner)
                .map(|o| (inner, o))
                .take(pairs_at_most(bodies.len()) + 1 - pairs.len()),
        );
        if pairs.len() > pairs_at_most(bodies.len()) {
            return Nesting::Tree(innermost(&space));
        }
    }
    // Before the pairs: a thread that waits within a lock for the facets of a body might take up
    // another pair with that body, and wait for itself.
    let outers: BTreeSet<u32> = pairs.iter().map(|(_, outer)| *outer).collect();
    outers.into_par_iter().for_each(|outer| {
        let triangles = &bodies[outer as usize].triangles;
        // Nobody else makes this one.
        let _ = space.facets[outer as usize].set(FacetBvh::of(mesh, triangles));
    });
    let held: Vec<bool> = pairs
        .par_iter()
        .map(|(inner, outer)| space.holds(*outer as usize, *inner))
        .collect();
    let mut lists = vec![Vec::new(); bodies.len()];
    for ((inner, outer), _) in pairs.into_iter().zip(held).filter(|(_, held)| *held) {
        lists[inner].push(outer);
    }
    for list in &mut lists {
        list.sort_unstable();
    }
    Nesting::Listed(lists)
}

/// The bodies of a mesh, to be asked which holds which.
struct Space<'a> {
    mesh: &'a Mesh,
    bodies: &'a [Body],
    boxes: &'a [Bounds],
    /// Of each body that was asked.
    facets: Vec<OnceLock<FacetBvh>>,
}

impl Space<'_> {
    /// Whether the closed body `outer` holds `inner` wholly, if their boxes lie so.
    fn holds(&self, outer: usize, inner: usize) -> bool {
        let triangles = &self.bodies[inner].triangles;
        // Three points, so that one on a shared face does not decide.
        let picks = [0, triangles.len() / 2, triangles.len().saturating_sub(1)];
        let mut seen = picks
            .iter()
            .filter_map(|&pick| Some(self.mesh.corners(*triangles.get(pick)? as usize)[pick % 3]))
            .filter_map(|point| self.winding(outer, &point))
            .peekable();
        seen.peek().is_some() && seen.all(|winding| winding != 0)
    }

    /// How often a body winds round a point; `None` on its surface.
    fn winding(&self, body: usize, point: &Point3<f64>) -> Option<i32> {
        let triangles = &self.bodies[body].triangles;
        let facets = self.facets[body].get_or_init(|| FacetBvh::of(self.mesh, triangles));
        let axis = Axis(2);
        let mut winding = Some(0);
        facets.above(point, |t| {
            let corners = self.mesh.corners(t as usize);
            let flat = corners.map(|p| axis.across(&p));
            let sign = crossing(&flat, axis.across(point));
            if corners.contains(point) {
                winding = None;
            } else if sign != 0 {
                match behind(&corners, point) * f64::from(sign) {
                    0.0 => winding = None,
                    above if above > 0.0 => winding = winding.map(|sum| sum + sign),
                    _ => {}
                }
            }
        });
        winding
    }
}

/// Bodies that lie beside each other in one, and a tree over most of their boxes.
#[derive(Default)]
struct Beside {
    all: Vec<u32>,
    tree: Bvh,
    in_tree: usize,
}

impl Beside {
    fn push(&mut self, body: u32, boxes: &[Bounds]) {
        self.all.push(body);
        // Made anew whenever their number has doubled.
        if self.all.len() > 2 * self.in_tree + 16 {
            self.tree = tree_of(self.all.iter().map(|b| &boxes[*b as usize]));
            self.in_tree = self.all.len();
        }
    }

    /// Those whose box covers another.
    fn around<'a>(&'a self, inner: &'a Bounds, boxes: &'a [Bounds]) -> impl Iterator<Item = u32> {
        let in_tree = self.tree.leaves(|node| covers(node, inner));
        let rest = self.all[self.in_tree..].iter().copied();
        in_tree
            .map(|leaf| self.all[leaf as usize])
            .chain(rest.filter(|b| box_around(&boxes[*b as usize], inner)))
    }
}

/// The innermost closed body around each, for bodies of which any two lie apart or one
/// in the other. From the largest down each is let into the tree of those before it.
///
/// The way down is not walked step by step: the tree is divided into paths from a body
/// to its largest branch, and how far down one goes is found by bisection.
fn innermost(space: &Space) -> Vec<Option<u32>> {
    let count = space.bodies.len();
    let size = |b: usize| space.bodies[b].volume_mm3.abs();
    let mut order: Vec<usize> = (0..count).collect();
    // Open bodies hold nothing: they come last.
    order.sort_by(|&a, &b| {
        let open = |body: usize| !space.bodies[body].closed;
        open(a)
            .cmp(&open(b))
            .then(size(b).total_cmp(&size(a)))
            .then(a.cmp(&b))
    });
    let mut around: Vec<Option<u32>> = vec![None; count];
    let mut beside: Vec<Beside> = (0..=count).map(|_| Beside::default()).collect();
    let mut paths = Paths::new(count);
    for (done, &body) in order.iter().enumerate() {
        if done.is_power_of_two() {
            paths.divide(&order[..done], &around);
        }
        let inner = &space.boxes[body];
        // The last place stands for what lies in nothing.
        let mut outer = count;
        while let Some(next) = beside[outer]
            .around(inner, space.boxes)
            .find(|next| space.holds(*next as usize, body))
        {
            outer = paths.deepest(next, |b| {
                box_around(&space.boxes[b as usize], inner) && space.holds(b as usize, body)
            });
        }
        around[body] = (outer < count).then_some(outer as u32);
        if space.bodies[body].closed {
            beside[outer].push(body as u32, space.boxes);
            paths.add(body as u32, around[body]);
        }
    }
    around
}

/// Paths downward through a tree of bodies.
struct Paths {
    /// Of each body its path and its place there.
    place: Vec<(usize, usize)>,
    paths: Vec<Vec<u32>>,
}

impl Paths {
    fn new(bodies: usize) -> Self {
        Self {
            place: vec![(0, 0); bodies],
            paths: Vec::new(),
        }
    }

    /// Adds a body below another, at the end of its path where that has no end yet.
    fn add(&mut self, body: u32, around: Option<u32>) {
        let path = around
            .map(|outer| self.place[outer as usize])
            .filter(|(path, place)| place + 1 == self.paths[*path].len())
            .map(|(path, _)| path);
        let path = path.unwrap_or_else(|| {
            self.paths.push(Vec::new());
            self.paths.len() - 1
        });
        self.place[body as usize] = (path, self.paths[path].len());
        self.paths[path].push(body);
    }

    /// Divides the tree anew, so that each path goes on into the largest branch: then
    /// no way down passes more than log₂ n paths. `order` has outer bodies first.
    fn divide(&mut self, order: &[usize], around: &[Option<u32>]) {
        let mut below = vec![1_u32; self.place.len()];
        for &body in order.iter().rev() {
            if let Some(outer) = around[body] {
                below[outer as usize] += below[body];
            }
        }
        let mut largest: Vec<Option<usize>> = vec![None; self.place.len()];
        for &body in order {
            if let Some(outer) = around[body] {
                let branch = &mut largest[outer as usize];
                if branch.is_none_or(|other| below[other] < below[body]) {
                    *branch = Some(body);
                }
            }
        }
        self.paths.clear();
        for &body in order {
            let outer = around[body].map(|o| o as usize);
            let goes_on = outer.filter(|o| largest[*o] == Some(body));
            let path = goes_on.map_or(self.paths.len(), |o| self.place[o].0);
            if path == self.paths.len() {
                self.paths.push(Vec::new());
            }
            self.place[body] = (path, self.paths[path].len());
            self.paths[path].push(body as u32);
        }
    }

    /// The deepest body on the path from `top` down that holds, as `top` does.
    fn deepest(&self, top: u32, mut holds: impl FnMut(u32) -> bool) -> usize {
        let (path, place) = self.place[top as usize];
        let below = &self.paths[path][place + 1..];
        let mut known = 0..below.len();
        while !known.is_empty() {
            let middle = usize::midpoint(known.start, known.end);
            if holds(below[middle]) {
                known.start = middle + 1;
            } else {
                known.end = middle;
            }
        }
        self.paths[path][place + known.start] as usize
    }
}

/// What [`settle`] decided.
pub(crate) struct Settled {
    /// Bodies to be turned.
    pub(crate) turn: Vec<bool>,
    /// Bodies inside the material of another.
    pub(crate) buried: Vec<usize>,
}

/// Decides which bodies are cavities and which are to be turned, from the outside in.
///
/// `facing[b]` is +1 outward, −1 inward, 0 undecidable (an open sheet). Where an
/// outermost body is inside out, the whole nest was written that way and turns
/// with it, so that its cavities stay cavities.
pub(crate) fn settle(facing: &[i8], nest: &Nesting) -> Settled {
    let count = facing.len();
    let mut turn = vec![false; count];
    let mut sense = facing.to_vec();
    let mut buried = Vec::new();
    // Of each body: the outermost one around it, and how often those around it wind.
    let mut outermost: Vec<Option<usize>> = vec![None; count];
    let mut depth = vec![0_i32; count];
    for b in nest.outside_first() {
        let sense_of = |o: u32| i32::from(sense[o as usize]);
        (outermost[b], depth[b]) = match nest {
            Nesting::Listed(lists) => (
                lists[b]
                    .iter()
                    .map(|o| *o as usize)
                    .find(|o| !nest.is_held(*o)),
                lists[b].iter().map(|o| sense_of(*o)).sum(),
            ),
            Nesting::Tree(around) => around[b].map_or((None, 0), |o| {
                let outer = o as usize;
                (outermost[outer].or(Some(outer)), depth[outer] + sense_of(o))
            }),
        };
        if outermost[b].is_some_and(|o| turn[o]) {
            turn[b] = true;
            sense[b] = -facing[b];
        }
        if sense[b] < 0 && depth[b] < 1 {
            turn[b] = !turn[b];
            sense[b] = 1;
        } else if sense[b] > 0 && depth[b] >= 1 {
            buried.push(b);
        }
    }
    Settled { turn, buried }
}

/// Whether the boxes of two bodies meet, other than a cavity's in the body around it.
/// So many boxes that meet that they are not all looked at count as bodies that meet.
pub(crate) fn boxes_meet(bodies: &[Body], boxes: &[Bounds], nest: &Nesting, within: f64) -> bool {
    let tree = tree_of(boxes.iter());
    let hollow = |cavity: usize, around: usize| bodies[cavity].cavity && nest.holds(around, cavity);
    let mut looked_at = 0;
    boxes.iter().enumerate().any(|(a, (lo, hi))| {
        let near = tree.leaves(|node| {
            let (least, most) = (node.mins(), node.maxs());
            let near = |i: usize| lo[i] + within < most[i] && least[i] + within < hi[i];
            near(0) && near(1) && near(2)
        });
        near.map(|b| b as usize).filter(|b| *b > a).any(|b| {
            looked_at += 1;
            looked_at > pairs_at_most(bodies.len()) || !hollow(a, b) && !hollow(b, a)
        })
    })
}

/// Lines a side of the sampling grid, at the most.
const LINES: usize = 48;

/// Crossings of lines and triangles that are looked at for one axis.
const CROSSINGS: f64 = (1 << 21) as f64;

/// Lines a side such that no more than [`CROSSINGS`] of the triangles' boxes are met.
fn lines_across(mesh: &Mesh, axis: Axis, span: Point2<f64>) -> usize {
    let covered = sum(mesh.triangles.len(), 1 << 15, |t| {
        let flat = mesh.corners(t).map(|p| axis.across(&p));
        let size = flat[0].sup(&flat[1]).sup(&flat[2]) - flat[0].inf(&flat[1]).inf(&flat[2]);
        (size.x / span.x) * (size.y / span.y)
    });
    let mut lines = LINES;
    while lines > 3 && covered * (lines * lines) as f64 > CROSSINGS {
        lines /= 2;
    }
    lines
}

/// Sampled lines along which the closed bodies wind other than 0 or 1 times: how
/// many, and a place on the first. `bodies` face their final way.
pub(crate) fn overlaps(mesh: &Mesh, bodies: &[Body]) -> Option<(u64, Point3<f64>)> {
    let (lo, hi) = mesh.bounds()?;
    let size = hi - lo;
    let within = 16.0 * tol::length(size.max());
    let mut count = 0;
    let mut place = None;
    for axis in [Axis(0), Axis(1), Axis(2)] {
        let (origin, span) = (axis.across(&lo), axis.across(&Point3::from(size)));
        if span.x <= 0.0 || span.y <= 0.0 {
            continue;
        }
        let lines = lines_across(mesh, axis, span);
        // Off the middle of the cells by an odd amount, clear of symmetric edges.
        let line = |i: usize, span: f64| (i as f64 + 0.478_37) / lines as f64 * span;
        let at = |i: usize, j: usize| {
            Point2::new(origin.x + line(i, span.x), origin.y + line(j, span.y))
        };
        let range = |from: f64, to: f64, span: f64| {
            let index = |x: f64| (x / span * lines as f64 - 0.478_37).clamp(-1.0, lines as f64);
            let from = index(from).ceil().max(0.0) as usize;
            let to = (index(to).floor() + 1.0).max(0.0) as usize;
            from..to.min(lines)
        };
        let mut crossings: Vec<(u32, f64, i32)> = bodies
            .par_iter()
            .filter(|body| body.closed)
            .flat_map(|body| body.triangles.par_chunks(1 << 15))
            .flat_map_iter(|chunk| {
                let mut found = Vec::new();
                for &t in chunk {
                    let corners = mesh.corners(t as usize);
                    let flat = corners.map(|p| axis.across(&p));
                    let a = flat[0].inf(&flat[1]).inf(&flat[2]) - origin;
                    let b = flat[0].sup(&flat[1]).sup(&flat[2]) - origin;
                    for i in range(a.x, b.x, span.x) {
                        for j in range(a.y, b.y, span.y) {
                            let sign = crossing(&flat, at(i, j));
                            if sign != 0 {
                                let along = corners.map(|p| axis.along(&p));
                                let height = height(&flat, along, at(i, j));
                                found.push(((i * lines + j) as u32, height, sign));
                            }
                        }
                    }
                }
                found
            })
            .collect();
        crossings.par_sort_unstable_by(|p, q| {
            p.0.cmp(&q.0).then(p.1.total_cmp(&q.1)).then(p.2.cmp(&q.2))
        });
        for one_line in crossings.chunk_by(|p, q| p.0 == q.0) {
            let mut winding = 0;
            let bad = one_line.windows(2).find_map(|pair| {
                winding -= pair[0].2;
                let long = pair[1].1 - pair[0].1 > within;
                (long && !(0..=1).contains(&winding)).then_some(f64::midpoint(pair[0].1, pair[1].1))
            });
            if let Some(height) = bad {
                count += 1;
                place.get_or_insert_with(|| {
                    let index = one_line[0].0 as usize;
                    let across = at(index / lines, index % lines);
                    let mut p = Point3::origin();
                    p[axis.0] = height;
                    p[(axis.0 + 1) % 3] = across.x;
                    p[(axis.0 + 2) % 3] = across.y;
                    p
                });
            }
        }
    }
    place.map(|place| (count, place))
}

#[cfg(test)]
mod tests;
