//! The map of a part as a drawing: the support of every side that may go down, as lines of equal support
//! on the sphere of directions.
//!
//! Each half of the sphere is an equal-area map (J. H. Lambert, 1772): a direction θ from the middle
//! lies √(1 − cos θ) from it, the rim of the half at 1. Between the directions that were measured,
//! the support is the mean of the nearest ones, weighed by the inverse square of their angle
//! (D. Shepard, *A two-dimensional interpolation function for irregularly-spaced data*, 1968).

use super::draw::picture::{Anchor, Pen, Picture, circle};
use super::plot::{Plot, round_up};
use crate::advice::RankedPose;
use crate::rank::map::MappedDirection;
use crate::words;
use nalgebra::{Unit, Vector3};
use std::collections::BTreeMap;

/// Radius of a half, and the room around it, mm.
const RADIUS: f64 = 34.0;
const MARGIN: f64 = 8.0;
const GAP: f64 = 12.0;
const BELOW: f64 = 15.0;
/// Lettering, mm.
const LETTER: f64 = 2.8;
/// Cells along the diameter of a half.
const CELLS: usize = 72;
/// Directions that a place takes its value from.
const NEAREST: usize = 5;
/// Lines at most between no support and most of it.
const LINES: f64 = 7.0;
/// A line shorter than this share of the radius gets no value of its own.
const LEAST_LABELLED: f64 = 0.4;
/// Marks beyond this share of the radius have their rank on the inner side.
const NEAR_RIM: f64 = 0.8;
/// Support below this is none, mm³.
const NONE_MM3: f64 = 1.0;

/// One half of the sphere, seen from outside.
struct Half {
    /// +1 from above, −1 from below.
    up: f64,
    /// Its middle on the paper, mm.
    middle: [f64; 2],
}

impl Half {
    /// The direction at a place of the map, in radii, y upwards.
    fn direction(&self, [x, y]: [f64; 2]) -> Unit<Vector3<f64>> {
        let r2 = x * x + y * y;
        // r² = 1 − cos θ, and sin θ = r √(2 − r²).
        let along = (2.0 - r2).max(0.0).sqrt();
        Unit::new_normalize(Vector3::new(
            self.up * x * along,
            y * along,
            self.up * (1.0 - r2),
        ))
    }

    /// The place of a direction, in radii; none of one on the other half.
    fn place(&self, d: &Unit<Vector3<f64>>) -> Option<[f64; 2]> {
        let cos = self.up * d.z;
        let share = (1.0 + cos).max(f64::MIN_POSITIVE).sqrt();
        (cos >= 0.0).then(|| [self.up * d.x / share, d.y / share])
    }

    fn paper(&self, [x, y]: [f64; 2]) -> [f64; 2] {
        [self.middle[0] + RADIUS * x, self.middle[1] - RADIUS * y]
    }
}

/// The map of a part with the poses that were advised.
pub fn map_of(mapped: &[MappedDirection], poses: &[RankedPose]) -> Plot {
    let downs: Vec<_> = poses.iter().map(|p| p.pose.down).collect();
    map(mapped, &downs)
}

/// The map of a part with the poses of its list, best first.
fn map(mapped: &[MappedDirection], poses: &[Unit<Vector3<f64>>]) -> Plot {
    let most = (mapped.iter().map(|m| m.support.volume_mm3)).fold(0.0, f64::max);
    let (unit, factor) = if most >= 1000.0 {
        ("cm³", 1000.0)
    } else {
        ("mm³", 1.0)
    };
    let step = round_up(most / factor / LINES) * factor;
    let side = 2.0 * (RADIUS + MARGIN);
    let mut out = Picture::new(2.0 * side + GAP, side + BELOW);
    let halves = [
        (-1.0, "from below (−Z side)"),
        (1.0, "from above (+Z side)"),
    ];
    for (k, (up, title)) in halves.into_iter().enumerate() {
        let x = (side + GAP) * k as f64 + 0.5 * side;
        let half = Half {
            up,
            middle: [x, 0.5 * side],
        };
        out.stroke(Pen::Edge, &circle(half.middle, RADIUS, 180));
        if most > NONE_MM3 {
            lines(&mut out, &half, mapped, (step, factor));
        }
        axes(&mut out, &half);
        for (direction, rank) in poses.iter().zip(1..) {
            mark(&mut out, &half, direction, rank);
        }
        out.label([x, side + 3.0], title, LETTER, Anchor::Middle);
    }
    let every = format!("{} {unit}", words::three(step / factor));
    let caption = if most > NONE_MM3 {
        format!("support by the side that goes down, a line every {every}; 1: the best pose")
    } else {
        "no side needs support; 1: the best pose".into()
    };
    let middle = [out.width_mm / 2.0, side + 9.0];
    out.label(middle, caption, LETTER, Anchor::Middle);
    let least = (mapped.iter().map(|m| m.support.volume_mm3)).fold(f64::INFINITY, f64::min);
    Plot {
        picture: out,
        alt: format!(
            "Map of {} directions: support under all overhang from {} to {}, lines every {every}.",
            mapped.len(),
            words::volume(least.min(most)),
            words::volume(most)
        ),
    }
}

/// The axes of the file at the rim and the middle.
fn axes(out: &mut Picture, half: &Half) {
    let right = if half.up > 0.0 {
        ["−X", "+X"]
    } else {
        ["+X", "−X"]
    };
    for (at, name) in [
        ([-1.11, -0.03], right[0]),
        ([1.11, -0.03], right[1]),
        ([0.0, 1.06], "+Y"),
        ([0.0, -1.12], "−Y"),
    ] {
        out.label(half.paper(at), name, LETTER, Anchor::Middle);
    }
    let tick = 0.03;
    for line in [[[-tick, 0.0], [tick, 0.0]], [[0.0, -tick], [0.0, tick]]] {
        out.stroke(Pen::Thin, &line.map(|p| half.paper(p)));
    }
}

/// A pose of the list: a dot with its rank, the first one ringed.
fn mark(out: &mut Picture, half: &Half, direction: &Unit<Vector3<f64>>, rank: usize) {
    let Some(place) = half.place(direction) else {
        return;
    };
    let at = half.paper(place);
    out.fill(&circle(at, 0.7, 24));
    if rank == 1 {
        out.stroke(Pen::Outline, &circle(at, 1.8, 48));
    }
    // Away from the letters at the rim.
    let off = if rank == 1 { 2.6 } else { 1.3 };
    let (off, anchor) = if place[0] > NEAR_RIM {
        (-off, Anchor::End)
    } else {
        (off, Anchor::Start)
    };
    let beside = [at[0] + off, at[1] + 1.0];
    out.label(beside, rank.to_string(), LETTER, anchor);
    if let Some(label) = out.labels.last_mut() {
        label.mark = true;
    }
}

/// Support at a direction, mm³: of one that was measured its own.
fn support(mapped: &[MappedDirection], at: &Unit<Vector3<f64>>) -> f64 {
    let mut near: Vec<(f64, f64)> = (mapped.iter())
        .map(|m| (1.0 - m.down.dot(at), m.support.volume_mm3))
        .collect();
    let many = near.len() > NEAREST;
    if many {
        near.select_nth_unstable_by(NEAREST - 1, |a, b| a.0.total_cmp(&b.0));
        near.truncate(NEAREST);
    }
    near.sort_by(|a, b| a.0.total_cmp(&b.0));
    // 1 − cos θ is half the square of the angle.
    let weights = near.iter().map(|n| 1.0 / n.0.max(1e-9));
    let sum: f64 = weights.clone().sum();
    weights.zip(&near).map(|(w, n)| w * n.1).sum::<f64>() / sum.max(f64::MIN_POSITIVE)
}

/// Lines of equal support on one half, with their values.
fn lines(out: &mut Picture, half: &Half, mapped: &[MappedDirection], (step, factor): (f64, f64)) {
    let at = |i: usize| 2.0 * i as f64 / CELLS as f64 - 1.0;
    let cell = 2.0 / CELLS as f64;
    let side = CELLS + 1;
    // A cell beyond the rim, so that the lines reach it.
    let value = |i: usize, j: usize| {
        let p = [at(i), at(j)];
        let near = libm::hypot(p[0], p[1]) <= 1.0 + 1.5 * cell;
        near.then(|| support(mapped, &half.direction(p)))
    };
    let grid: Vec<Option<f64>> = (0..side * side)
        .map(|k| value(k % side, k / side))
        .collect();
    let most = grid.iter().flatten().copied().fold(0.0, f64::max);
    let levels = (1..).map(|k| step * f64::from(k)).take_while(|l| *l < most);
    for level in levels {
        let mut pieces: Vec<[[f64; 2]; 2]> = Vec::new();
        for j in 0..CELLS {
            for i in 0..CELLS {
                let corners = [(i, j), (i + 1, j), (i + 1, j + 1), (i, j + 1)];
                let values = corners.map(|(i, j)| grid[j * side + i]);
                let [Some(a), Some(b), Some(c), Some(d)] = values else {
                    continue;
                };
                let ends = corners.map(|(i, j)| [at(i), at(j)]);
                crossings(ends, [a, b, c, d], level, &mut pieces);
            }
        }
        pieces.retain(|p| p.iter().all(|q| libm::hypot(q[0], q[1]) <= 1.0));
        let joined = joined(&pieces);
        let long = |line: &Vec<[f64; 2]>| -> f64 {
            let each = line.windows(2);
            each.map(|w| libm::hypot(w[1][0] - w[0][0], w[1][1] - w[0][1]))
                .sum()
        };
        let longest = joined.iter().max_by(|a, b| long(a).total_cmp(&long(b)));
        if let Some(line) = longest.filter(|line| long(line) >= LEAST_LABELLED) {
            let place = half.paper(line[line.len() / 2]);
            let text = words::three(level / factor);
            out.label(
                [place[0], place[1] + 0.8],
                text,
                0.75 * LETTER,
                Anchor::Middle,
            );
            if let Some(label) = out.labels.last_mut() {
                label.mark = true;
            }
        }
        for line in joined {
            let line: Vec<[f64; 2]> = line.into_iter().map(|p| half.paper(p)).collect();
            out.stroke(Pen::Thin, &line);
        }
    }
}

/// Where a level runs through a cell, as pieces between its sides (marching squares). A saddle is
/// parted by the mean of its corners.
fn crossings(ends: [[f64; 2]; 4], values: [f64; 4], level: f64, out: &mut Vec<[[f64; 2]; 2]>) {
    let cut = |k: usize| {
        let l = (k + 1) % 4;
        let (a, b) = (values[k], values[l]);
        ((a < level) != (b < level)).then(|| {
            let t = (level - a) / (b - a);
            [0, 1].map(|c| ends[k][c] + t * (ends[l][c] - ends[k][c]))
        })
    };
    match [0, 1, 2, 3].map(cut) {
        [Some(a), Some(b), Some(c), Some(d)] => {
            let mean = values.iter().sum::<f64>() / 4.0;
            if (mean < level) == (values[0] < level) {
                out.extend([[a, b], [c, d]]);
            } else {
                out.extend([[d, a], [b, c]]);
            }
        }
        cuts => {
            let mut met = cuts.into_iter().flatten();
            if let (Some(a), Some(b)) = (met.next(), met.next()) {
                out.push([a, b]);
            }
        }
    }
}

/// Pieces joined end to end. Ends of neighbours agree but for rounding.
fn joined(pieces: &[[[f64; 2]; 2]]) -> Vec<Vec<[f64; 2]>> {
    let key = |p: [f64; 2]| p.map(|x| (x * 1e6).round() as i64);
    let mut at: BTreeMap<[i64; 2], Vec<usize>> = BTreeMap::new();
    for (k, piece) in pieces.iter().enumerate() {
        for p in piece {
            at.entry(key(*p)).or_default().push(k);
        }
    }
    let mut used = vec![false; pieces.len()];
    let next = |from: [f64; 2], used: &mut Vec<bool>| {
        let k = *at.get(&key(from))?.iter().find(|k| !used[**k])?;
        used[k] = true;
        let [a, b] = pieces[k];
        Some(if key(a) == key(from) { b } else { a })
    };
    let mut out = Vec::new();
    for k in 0..pieces.len() {
        if std::mem::replace(&mut used[k], true) {
            continue;
        }
        let mut line = pieces[k].to_vec();
        for _ in 0..2 {
            while let Some(p) = line.last().copied().and_then(|p| next(p, &mut used)) {
                line.push(p);
            }
            line.reverse();
        }
        out.push(line);
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::figures::fixture::{boxes, part_of};
    use crate::figures::quick::Bench;
    use crate::pose::Hull;
    use crate::rank::map as measured;
    use crate::rank::search::{Search, Silent};
    use crate::settings::Settings;

    const HALVES: [Half; 2] = [
        Half {
            up: 1.0,
            middle: [0.0; 2],
        },
        Half {
            up: -1.0,
            middle: [0.0; 2],
        },
    ];

    /// Equal areas: a cap of height h has the share h of its half (Archimedes), and its rim lies at √h.
    #[test]
    fn the_map_keeps_areas_and_leads_back() {
        for half in &HALVES {
            for h in [0.1_f64, 0.5, 0.9] {
                let side = (1.0 - (1.0 - h).powi(2)).sqrt();
                let d = Unit::new_normalize(Vector3::new(side, 0.0, half.up * (1.0 - h)));
                let [x, y] = half.place(&d).expect("on this half");
                assert!((x * x + y * y - h).abs() < 1e-12, "{h}");
                assert!((half.direction([x, y]).into_inner() - *d).norm() < 1e-9);
            }
            let away = Unit::new_normalize(Vector3::new(0.1, 0.2, -half.up));
            assert_eq!(half.place(&away), None);
        }
    }

    /// Lines of x over the cells are upright and run from side to side.
    #[test]
    fn a_slope_has_straight_lines() {
        let mut pieces = Vec::new();
        for j in 0..4 {
            let y = f64::from(j);
            let ends = [[0.0, y], [1.0, y], [1.0, y + 1.0], [0.0, y + 1.0]];
            crossings(ends, [0.0, 10.0, 10.0, 0.0], 2.5, &mut pieces);
        }
        let lines = joined(&pieces);
        let [line] = &lines[..] else {
            panic!("{lines:?}")
        };
        assert_eq!(line.len(), 5);
        assert!(line.iter().all(|p| (p[0] - 0.25).abs() < 1e-12));
    }

    /// A table needs support where its top looks down, and none on it: the line round its feet's side.
    #[test]
    fn the_winner_is_ringed_and_lines_have_their_values() {
        let soup = boxes(
            &[
                [[0.0, 0.0, 30.0], [40.0, 40.0, 34.0]],
                [[16.0, 16.0, 0.0], [24.0, 24.0, 30.0]],
            ],
            &[],
        );
        let part = part_of(&soup);
        let settings = Settings::default();
        let hull = Hull::new(&part.mesh.vertices).expect("a hull");
        let bench = Bench::new(&part, &settings, hull);
        let search = Search::new(&bench);
        let mapped = measured::map(&bench, &search, &Silent).expect("not stopped");
        let plot = map(&mapped, &[Vector3::z_axis()]);
        let of = |pen: Pen| plot.picture.strokes.iter().filter(|s| s.0 == pen).count();
        // Two rims, one ring, and lines.
        assert_eq!((of(Pen::Edge), of(Pen::Outline)), (2, 1));
        assert!(of(Pen::Thin) > 10, "{}", of(Pen::Thin));
        let own = support(&mapped, &-Vector3::z_axis());
        // 40² less the foot, times the height.
        assert!((own - (1600.0 - 64.0) * 30.0).abs() < 0.03 * own, "{own}");
        assert!(support(&mapped, &Vector3::z_axis()) < 1.0);
        assert!(plot.alt.contains("Map of"), "{}", plot.alt);
    }
}
