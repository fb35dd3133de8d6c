//! Which body lies inside which, which faces outward, and whether material overlaps.

use super::lines::{Axis, behind, crossing, height};
use super::{Body, Mesh};
use crate::tol;
use nalgebra::{Point2, Point3, Vector3};
use rayon::prelude::*;

/// Lowest and highest corner of a box.
type Bounds = (Point3<f64>, Point3<f64>);

/// Box of some triangles.
pub(crate) fn bounds_of(mesh: &Mesh, triangles: &[u32]) -> Bounds {
    let empty = (
        Point3::from(Vector3::repeat(f64::INFINITY)),
        Point3::from(Vector3::repeat(f64::NEG_INFINITY)),
    );
    triangles
        .iter()
        .flat_map(|&t| mesh.corners(t as usize))
        .fold(empty, |(lo, hi), p| (lo.inf(&p), hi.sup(&p)))
}

fn holds(outer: &Bounds, inner: &Bounds) -> bool {
    outer.0 <= inner.0 && outer.1 >= inner.1
}

/// Interiors of boxes share more than `within`.
fn meet(a: &Bounds, b: &Bounds, within: f64) -> bool {
    (0..3).all(|i| a.0[i] + within < b.1[i] && b.0[i] + within < a.1[i])
}

/// For every body, the closed bodies that hold it wholly, ascending.
pub(crate) fn containers(mesh: &Mesh, bodies: &[Body], boxes: &[Bounds]) -> Vec<Vec<u32>> {
    let mut inside = vec![Vec::new(); bodies.len()];
    // A sweep along x: the closed bodies whose boxes reach the current x may be outer ones.
    let mut by_x: Vec<usize> = (0..bodies.len()).collect();
    by_x.sort_by(|&a, &b| boxes[a].0.x.total_cmp(&boxes[b].0.x).then(a.cmp(&b)));
    let mut active: Vec<usize> = Vec::new();
    let mut pairs: Vec<(u32, u32)> = Vec::new();
    for group in by_x.chunk_by(|a, b| boxes[*a].0.x == boxes[*b].0.x) {
        let x = boxes[group[0]].0.x;
        active.retain(|o| boxes[*o].1.x >= x);
        active.extend(group.iter().filter(|b| bodies[**b].closed));
        for &inner in group {
            let outers = active
                .iter()
                .filter(|o| **o != inner && holds(&boxes[**o], &boxes[inner]));
            pairs.extend(outers.map(|o| (inner as u32, *o as u32)));
        }
    }
    pairs.sort_unstable();
    if pairs.is_empty() {
        return inside;
    }

    // Three points of each inner body, so that one on a shared face does not decide.
    let mut probes: Vec<(u32, Point3<f64>)> = Vec::new();
    for group in pairs.chunk_by(|p, q| p.0 == q.0) {
        let body = group[0].0;
        let triangles = &bodies[body as usize].triangles;
        for pick in [0, triangles.len() / 2, triangles.len().saturating_sub(1)] {
            if let Some(&t) = triangles.get(pick) {
                probes.push((body, mesh.corners(t as usize)[pick % 3]));
            }
        }
    }
    let axis = Axis(2);
    let mut order: Vec<u32> = (0..probes.len() as u32).collect();
    let x = |probe: u32| probes[probe as usize].1.x;
    order.sort_by(|a, b| x(*a).total_cmp(&x(*b)).then(a.cmp(b)));

    let mut outers: Vec<u32> = pairs.iter().map(|p| p.1).collect();
    outers.sort_unstable();
    outers.dedup();
    // (probe, outer body, winding or `None` where the probe lies on the surface).
    let mut hits: Vec<(u32, u32, Option<i32>)> = Vec::new();
    for &outer in &outers {
        for &t in &bodies[outer as usize].triangles {
            let corners = mesh.corners(t as usize);
            let flat = corners.map(|p| axis.across(&p));
            let (lo, hi) = (
                flat[0].inf(&flat[1]).inf(&flat[2]),
                flat[0].sup(&flat[1]).sup(&flat[2]),
            );
            let from = order.partition_point(|p| x(*p) < lo.x);
            for &probe in order[from..].iter().take_while(|p| x(**p) <= hi.x) {
                let (body, point) = &probes[probe as usize];
                if *body == outer || !(lo.y..=hi.y).contains(&point.y) {
                    continue;
                }
                let sign = crossing(&flat, axis.across(point));
                if corners.contains(point) {
                    hits.push((probe, outer, None));
                } else if sign != 0 {
                    match behind(&corners, point) * f64::from(sign) {
                        0.0 => hits.push((probe, outer, None)),
                        above if above > 0.0 => hits.push((probe, outer, Some(sign))),
                        _ => {}
                    }
                }
            }
        }
    }
    hits.sort_unstable();
    let winding = |probe: u32, outer: u32| -> Option<i32> {
        let from = hits.partition_point(|h| (h.0, h.1) < (probe, outer));
        hits[from..]
            .iter()
            .take_while(|h| (h.0, h.1) == (probe, outer))
            .map(|h| h.2)
            .sum()
    };
    for (inner, outer) in pairs {
        // Probes stand in the order of their bodies.
        let from = probes.partition_point(|probe| probe.0 < inner);
        let to = probes.partition_point(|probe| probe.0 <= inner);
        let mut seen = (from..to)
            .filter_map(|i| winding(i as u32, outer))
            .peekable();
        if seen.peek().is_some() && seen.all(|w| w != 0) {
            inside[inner as usize].push(outer);
        }
    }
    inside
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
pub(crate) fn settle(facing: &[i8], containers: &[Vec<u32>]) -> Settled {
    let count = facing.len();
    let mut order: Vec<usize> = (0..count).collect();
    order.sort_by_key(|&b| (containers[b].len(), b));
    let mut turn = vec![false; count];
    let mut sense = facing.to_vec();
    let mut buried = Vec::new();
    for b in order {
        let outermost = containers[b]
            .iter()
            .find(|o| containers[**o as usize].is_empty())
            .map(|o| *o as usize);
        if outermost.is_some_and(|o| turn[o]) {
            turn[b] = true;
            sense[b] = -facing[b];
        }
        let depth: i32 = containers[b]
            .iter()
            .map(|o| i32::from(sense[*o as usize]))
            .sum();
        if sense[b] < 0 && depth < 1 {
            turn[b] = !turn[b];
            sense[b] = 1;
        } else if sense[b] > 0 && depth >= 1 {
            buried.push(b);
        }
    }
    Settled { turn, buried }
}

/// Whether the boxes of two bodies meet, other than a cavity's in the body around it.
pub(crate) fn boxes_meet(
    bodies: &[Body],
    boxes: &[Bounds],
    containers: &[Vec<u32>],
    within: f64,
) -> bool {
    let mut order: Vec<usize> = (0..bodies.len()).collect();
    order.sort_by(|&a, &b| boxes[a].0.x.total_cmp(&boxes[b].0.x).then(a.cmp(&b)));
    let hollow = |cavity: usize, around: usize| {
        bodies[cavity].cavity && containers[cavity].contains(&(around as u32))
    };
    order.iter().enumerate().any(|(i, &a)| {
        order[i + 1..]
            .iter()
            .take_while(|b| boxes[**b].0.x <= boxes[a].1.x)
            .any(|&b| meet(&boxes[a], &boxes[b], within) && !hollow(a, b) && !hollow(b, a))
    })
}

/// Lines a side of the sampling grid.
const LINES: usize = 48;

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
        // Off the middle of the cells by an odd amount, clear of symmetric edges.
        let line = |i: usize, span: f64| (i as f64 + 0.478_37) / LINES as f64 * span;
        let at = |i: usize, j: usize| {
            Point2::new(origin.x + line(i, span.x), origin.y + line(j, span.y))
        };
        let range = |from: f64, to: f64, span: f64| {
            let index = |x: f64| (x / span * LINES as f64 - 0.478_37).clamp(-1.0, LINES as f64);
            let from = index(from).ceil().max(0.0) as usize;
            let to = (index(to).floor() + 1.0).max(0.0) as usize;
            from..to.min(LINES)
        };
        if span.x <= 0.0 || span.y <= 0.0 {
            continue;
        }
        let mut crossings: Vec<(u32, f64, i32)> = bodies
            .iter()
            .filter(|body| body.closed)
            .flat_map(|body| {
                let found: Vec<Vec<(u32, f64, i32)>> = body
                    .triangles
                    .par_chunks(1 << 15)
                    .map(|chunk| {
                        let mut found = Vec::new();
                        for &t in chunk {
                            let corners = mesh.corners(t as usize);
                            let flat = corners.map(|p| axis.across(&p));
                            let (a, b) = (
                                flat[0].inf(&flat[1]).inf(&flat[2]) - origin,
                                flat[0].sup(&flat[1]).sup(&flat[2]) - origin,
                            );
                            for i in range(a.x, b.x, span.x) {
                                for j in range(a.y, b.y, span.y) {
                                    let sign = crossing(&flat, at(i, j));
                                    if sign != 0 {
                                        let along = corners.map(|p| axis.along(&p));
                                        let height = height(&flat, along, at(i, j));
                                        found.push(((i * LINES + j) as u32, height, sign));
                                    }
                                }
                            }
                        }
                        found
                    })
                    .collect();
                found.into_iter().flatten()
            })
            .collect();
        crossings.sort_by(|p, q| p.0.cmp(&q.0).then(p.1.total_cmp(&q.1)).then(p.2.cmp(&q.2)));
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
                    let across = at(index / LINES, index % LINES);
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
