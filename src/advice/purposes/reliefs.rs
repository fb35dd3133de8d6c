//! Lettering and reliefs: small flats that lie a little above or below a large one.

use crate::features::Features;
use crate::features::regions::Region;
use nalgebra::{Point3, Unit, Vector3};

/// The ground is at least this share of the surface (house value).
const GROUND: f64 = 0.03;
/// Raised or sunk by this much, mm: less than a layer is none, more is a boss or a pocket.
const HEIGHT_MM: [f64; 2] = [0.2, 2.0];
/// A piece is smaller than this share of its ground …
const PIECE: f64 = 0.15;
/// … and larger than this, mm²: a stroke of half a line's width.
const LEAST_MM2: f64 = 0.3;
/// Fewest pieces that are lettering …
const FEWEST: usize = 5;
/// … and fewest sizes of them: pads and counterbores are of one.
const SIZES: usize = 3;
/// Areas within this share are of one size.
const ONE_SIZE: f64 = 0.02;
/// Pieces lie within so many times the root of the area of their ground from its middle.
const NEAR: f64 = 1.5;
/// Sides and heights that are the same, cosine of 1° and mm.
const SAME: f64 = 0.999_85;
const LEVEL_MM: f64 = 0.05;

/// Pieces at one height over or under one flat. Part frame, mm.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Relief {
    /// Outward direction of its ground.
    pub side: Unit<Vector3<f64>>,
    /// A point among the pieces.
    pub at_mm: Point3<f64>,
    /// Height over the ground; below zero where it is sunk.
    pub height_mm: f64,
    /// How many pieces.
    pub pieces: usize,
}

/// Finds them, one for each side, the one of most pieces. A scan has none. O(n) for each ground,
/// of which there are at most thirty.
pub(super) fn reliefs(features: &Features, surface_mm2: f64) -> Vec<Relief> {
    if features.is_scan() {
        return Vec::new();
    }
    let all = &features.regions.list;
    let mut out: Vec<Relief> = Vec::new();
    for ground in all.iter().filter(|r| r.area_mm2 >= GROUND * surface_mm2) {
        let over = |r| {
            let r: &Region = r;
            let height = (r.centre - ground.centre).dot(&ground.normal);
            let small = (LEAST_MM2..PIECE * ground.area_mm2).contains(&r.area_mm2);
            let near = (HEIGHT_MM[0]..=HEIGHT_MM[1]).contains(&height.abs());
            let reach = NEAR * ground.area_mm2.sqrt();
            let here = (r.centre - ground.centre).norm() <= reach;
            let along = r.normal.dot(&ground.normal) > SAME;
            (small && near && here && along).then_some((height, r))
        };
        let mut pieces: Vec<(f64, &Region)> = all.iter().filter_map(over).collect();
        pieces.sort_by(|a, b| a.0.total_cmp(&b.0));
        let level = pieces.chunk_by(|a, b| b.0 - a.0 <= LEVEL_MM);
        let Some(most) =
            (level.max_by_key(|l| l.len())).filter(|l| l.len() >= FEWEST && sizes(l) >= SIZES)
        else {
            continue;
        };
        let relief = Relief {
            side: ground.normal,
            at_mm: most[most.len() / 2].1.centre,
            height_mm: most[0].0,
            pieces: most.len(),
        };
        match out.iter_mut().find(|o| o.side.dot(&relief.side) > SAME) {
            Some(known) if known.pieces < relief.pieces => *known = relief,
            Some(_) => {}
            None => out.push(relief),
        }
    }
    out
}

/// How many sizes the pieces have.
fn sizes(pieces: &[(f64, &Region)]) -> usize {
    let mut areas: Vec<f64> = pieces.iter().map(|p| p.1.area_mm2).collect();
    areas.sort_by(f64::total_cmp);
    areas.chunk_by(|a, b| b - a <= ONE_SIZE * b).count()
}
