//! Drops points that lie inside or on a polytope of a few extreme points.
//!
//! Source: S. G. Akl and G. T. Toussaint, *A fast convex hull algorithm*, 1978
//! (throw-away principle), here in space and with exact signs near the surface.

use super::quick::{Sieve, above, quickhull};
use crate::pose::bounds;
use nalgebra::{Point3, Vector3};
use rayon::prelude::*;

/// Points a task; fixed, so that the result does not depend on the number of threads.
const CHUNK: usize = 1 << 14;
/// With fewer points than this the exact algorithm alone is as fast.
const WORTH_IT: usize = 1 << 11;
/// From this many survivors on a second round with more directions pays.
const AGAIN: usize = 1 << 14;

/// Small-integer directions, one of each opposite pair: 3 along axes, 6 along face
/// diagonals, 4 along body diagonals; `fine` adds 12 of type 012, 12 of 112 and 12 of 122.
fn directions(fine: bool) -> Vec<Vector3<f64>> {
    let reach = if fine { 2i32 } else { 1 };
    let mut all = Vec::new();
    for x in -reach..=reach {
        for y in -reach..=reach {
            for z in -reach..=reach {
                let once = (x, y, z) > (0, 0, 0);
                let mut size = [x.abs(), y.abs(), z.abs()];
                size.sort_unstable();
                // Multiples of a shorter direction say nothing new.
                if once && !matches!(size, [0, 0 | 2, 2] | [2, 2, 2]) {
                    all.push(Vector3::new(f64::from(x), f64::from(y), f64::from(z)));
                }
            }
        }
    }
    all
}

/// Ids of the points that may lie on the hull, ascending: at least every corner.
pub(super) fn survivors(points: &[Point3<f64>]) -> Vec<u32> {
    let all: Vec<u32> = (0..points.len() as u32).collect();
    if all.len() < WORTH_IT {
        return all;
    }
    let kept = round(points, all, false);
    if kept.len() < AGAIN {
        kept
    } else {
        round(points, kept, true)
    }
}

/// One round: extreme points, their hull, and the ids outside it, with the extremes themselves.
fn round(points: &[Point3<f64>], ids: Vec<u32>, fine: bool) -> Vec<u32> {
    let extremes = extremes(points, &ids, &directions(fine));
    let few: Vec<Point3<f64>> = extremes.iter().map(|&i| points[i as usize]).collect();
    let Ok(polytope) = quickhull(&few) else {
        return ids;
    };
    let reach = bounds(few.iter().copied()).map_or(0.0, |[lo, hi]| (hi - lo).norm());
    let sieves: Vec<(Sieve, [Point3<f64>; 3])> = polytope
        .triangles
        .iter()
        .map(|t| {
            let [a, b, c] = t.map(|v| few[v as usize]);
            (Sieve::new(&a, &b, &c, reach), [a, b, c])
        })
        .collect();
    let covers = |p: &Point3<f64>| {
        sieves.iter().all(|(sieve, [a, b, c])| {
            let h = sieve.height(p);
            h < -sieve.slack || (h <= sieve.slack && above(a, b, c, p) <= 0.0)
        })
    };
    let kept: Vec<Vec<u32>> = ids
        .par_chunks(CHUNK)
        .map(|chunk| {
            let outside =
                |&&i: &&u32| !covers(&points[i as usize]) || extremes.binary_search(&i).is_ok();
            chunk.iter().filter(outside).copied().collect()
        })
        .collect();
    kept.concat()
}

/// The furthest points both ways along each direction, each id once, ascending.
fn extremes(points: &[Point3<f64>], ids: &[u32], directions: &[Vector3<f64>]) -> Vec<u32> {
    type Ends = Vec<[(f64, u32); 2]>;
    let none: Ends = vec![[(f64::INFINITY, 0), (f64::NEG_INFINITY, 0)]; directions.len()];
    let widen = |ends: &mut [(f64, u32); 2], lo: (f64, u32), hi: (f64, u32)| {
        if lo.0 < ends[0].0 {
            ends[0] = lo;
        }
        if hi.0 > ends[1].0 {
            ends[1] = hi;
        }
    };
    let parts: Vec<Ends> = ids
        .par_chunks(CHUNK)
        .map(|chunk| {
            let mut ends = none.clone();
            for &i in chunk {
                let p = points[i as usize].coords;
                for (d, e) in directions.iter().zip(&mut ends) {
                    let s = d.dot(&p);
                    widen(e, (s, i), (s, i));
                }
            }
            ends
        })
        .collect();
    let mut total = none;
    for part in &parts {
        for (e, [lo, hi]) in total.iter_mut().zip(part) {
            widen(e, *lo, *hi);
        }
    }
    let mut found: Vec<u32> = total.iter().flatten().map(|e| e.1).collect();
    found.sort_unstable();
    found.dedup();
    found
}
