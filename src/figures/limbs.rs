//! Thin arms that lie in the layers: they bend along their strands.
//!
//! A section is cut again, by rows along X and along Y. An arm is a run of rows, each with one
//! stretch of material over the next, from a free end to where the stretch branches or at once
//! becomes twice as wide. It counts only if it stands clear: in every layer that it is in, there
//! is nothing beside it. Letters on a plate and ribs are none, nor is what runs askew.

use super::{Layers, Piece, Section};
use crate::plane::polygon::edges;
use nalgebra::Point2;

/// Widest arm, mm (house value).
const WIDEST_MM: f64 = 4.0;
/// Least length over width of an arm (house value).
const LEAST_RATIO: f64 = 8.0;
/// Most height over length of an arm: what is deeper is the leg of a bracket (house value).
const MOST_DEEP: f64 = 1.0 / 3.0;
/// Fewest layers of an arm.
const LEAST_LAYERS: usize = 4;
/// Sections that are looked at, evenly over the height.
const SECTIONS: usize = 5;
/// Rows over a piece at most.
const MOST_ROWS: usize = 400;
/// Pieces of a section, and corners of a piece, beyond which it is not looked at.
const MOST_PIECES: usize = 40;
const MOST_CORNERS: usize = 20_000;
/// Arms of at least this share of the longest one's length count with it.
const ALIKE: f64 = 0.7;

/// The arms of a pose.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Limbs {
    /// How many.
    pub count: u32,
    /// Width of the longest, mm.
    pub width_mm: f64,
    /// Its length, mm.
    pub length_mm: f64,
}

/// One arm in one section.
#[derive(Debug, Clone, Copy)]
struct Limb {
    width_mm: f64,
    length_mm: f64,
    /// Points on its middle line, and the direction across it.
    middle: [Point2<f64>; 3],
    by_rows_along_x: bool,
}

/// The thin arms that lie in the layers, in the section that shows most of them.
pub fn limbs(layers: &Layers, line_mm: f64) -> Option<Limbs> {
    let count = layers.sections.len();
    let mut best: Option<Limbs> = None;
    for i in 0..SECTIONS {
        let k = count * (2 * i + 1) / (2 * SECTIONS);
        let Some(section) = layers.sections.get(k) else {
            continue;
        };
        let found: Vec<Limb> = of_section(section, line_mm)
            .into_iter()
            .filter(|l| is_clear(l, layers, k, line_mm))
            .collect();
        let Some(longest) = found
            .iter()
            .copied()
            .reduce(|a, b| if b.length_mm > a.length_mm { b } else { a })
        else {
            continue;
        };
        let like = |l: &&Limb| l.length_mm >= ALIKE * longest.length_mm;
        let here = Limbs {
            count: found.iter().filter(like).count() as u32,
            width_mm: longest.width_mm,
            length_mm: longest.length_mm,
        };
        if best.is_none_or(|b| here.length_mm > b.length_mm * (1.0 + 1e-6)) {
            best = Some(here);
        }
    }
    best
}

fn of_section(section: &Section, line_mm: f64) -> Vec<Limb> {
    let few = section.pieces.len() <= MOST_PIECES;
    let pieces = section.pieces.iter().filter(|_| few);
    let corners = |p: &Piece| p.loops().map(<[_]>::len).sum::<usize>();
    pieces
        .filter(|p| corners(p) <= MOST_CORNERS)
        .flat_map(|p| [false, true].map(|along_x| of_piece(p, line_mm, along_x)))
        .flatten()
        .collect()
}

/// Material in a row from the first to the second.
type Run = [f64; 2];

/// Arms of a piece by rows along X (which find arms along Y) or along Y.
fn of_piece(piece: &Piece, line_mm: f64, along_x: bool) -> Vec<Limb> {
    let place = |p: Point2<f64>| if along_x { [p.x, p.y] } else { [p.y, p.x] };
    let [lo, hi] = piece.bounds.map(place);
    let tall = hi[1] - lo[1];
    let rows = ((tall / line_mm).ceil() as usize).clamp(1, MOST_ROWS);
    let pitch = tall / rows as f64;
    if tall < LEAST_RATIO * line_mm || !tall.is_finite() {
        return Vec::new();
    }
    let mut crossings: Vec<Vec<f64>> = vec![Vec::new(); rows];
    for (a, b) in piece.loops().flat_map(edges) {
        let ([ax, ay], [bx, by]) = (place(a), place(b));
        let row = |y: f64| (y - lo[1]) / pitch - 0.5;
        let (from, to) = (row(ay.min(by)), row(ay.max(by)));
        let first = (from.floor() + 1.0).max(0.0) as usize;
        let past = (to.floor() + 1.0).clamp(0.0, rows as f64) as usize;
        for (k, at) in crossings.iter_mut().enumerate().take(past).skip(first) {
            let y = lo[1] + (k as f64 + 0.5) * pitch;
            at.push(ax + (y - ay) / (by - ay) * (bx - ax));
        }
    }
    let runs: Vec<Vec<Run>> = (crossings.into_iter())
        .map(|mut row| {
            row.sort_by(f64::total_cmp);
            row.chunks_exact(2).map(|c| [c[0], c[1]]).collect()
        })
        .collect();
    let upward: Vec<usize> = (0..rows).collect();
    let downward: Vec<usize> = (0..rows).rev().collect();
    let mut out = Vec::new();
    for order in [upward, downward] {
        for start in 0..rows {
            for &tip in &runs[order[start]] {
                let before = start.checked_sub(1).map(|k| &runs[order[k]]);
                if before.is_some_and(|r| r.iter().any(|b| meet(b, &tip))) {
                    continue;
                }
                let Some((width_mm, line)) = follow(&runs, &order[start..], tip) else {
                    continue;
                };
                let length_mm = line.len() as f64 * pitch;
                let fits = width_mm <= WIDEST_MM
                    && width_mm >= line_mm
                    && length_mm >= LEAST_RATIO * width_mm;
                if !fits {
                    continue;
                }
                let middle = [1, 2, 3].map(|q| {
                    let (k, x) = line[q * line.len() / 4];
                    let y = lo[1] + (k as f64 + 0.5) * pitch;
                    if along_x {
                        Point2::new(x, y)
                    } else {
                        Point2::new(y, x)
                    }
                });
                out.push(Limb {
                    width_mm,
                    length_mm,
                    middle,
                    by_rows_along_x: along_x,
                });
            }
        }
    }
    out
}

fn meet(a: &Run, b: &Run) -> bool {
    a[0] < b[1] && b[0] < a[1]
}

/// From a free end to the root: median width, row and middle of each step. None where there is
/// no root, but another free end.
fn follow(runs: &[Vec<Run>], order: &[usize], tip: Run) -> Option<(f64, Vec<(usize, f64)>)> {
    let mut line = vec![(order[0], f64::midpoint(tip[0], tip[1]))];
    let mut widths = vec![tip[1] - tip[0]];
    let mut widest = widths[0];
    let mut at = tip;
    for pair in order.windows(2) {
        let (here, next) = (&runs[pair[0]], &runs[pair[1]]);
        let mut onward = next.iter().filter(|r| meet(r, &at));
        let (Some(one), None) = (onward.next(), onward.next()) else {
            // It ends freely, or parts in two.
            return next
                .iter()
                .any(|r| meet(r, &at))
                .then(|| (median(&mut widths), line));
        };
        let width = one[1] - one[0];
        let joined = here.iter().filter(|r| meet(r, one)).count() > 1;
        // A rounded end grows over its own width.
        let grown = line.len() > 8;
        if joined || (grown && width > 2.0 * widest) {
            return Some((median(&mut widths), line));
        }
        widest = widest.max(width);
        if widest > 2.0 * WIDEST_MM {
            return None;
        }
        at = *one;
        line.push((pair[1], f64::midpoint(at[0], at[1])));
        widths.push(width);
    }
    None
}

fn median(values: &mut [f64]) -> f64 {
    values.sort_by(f64::total_cmp);
    values[values.len() / 2]
}

/// Whether in all layers that the arm is in there is nothing beside it.
fn is_clear(limb: &Limb, layers: &Layers, at: usize, line_mm: f64) -> bool {
    let solid = |k: usize, p: Point2<f64>| {
        let section = &layers.sections[k];
        section.pieces.iter().any(|piece| piece.contains(p))
    };
    let off = 0.5 * limb.width_mm + line_mm.max(0.5 * limb.width_mm);
    limb.middle.iter().all(|&p| {
        let mut from = at;
        while from > 0 && solid(from - 1, p) {
            from -= 1;
        }
        let mut to = at;
        while to + 1 < layers.sections.len() && solid(to + 1, p) {
            to += 1;
        }
        let beside = [-off, off].map(|d| {
            if limb.by_rows_along_x {
                Point2::new(p.x + d, p.y)
            } else {
                Point2::new(p.x, p.y + d)
            }
        });
        let level = |k: usize| layers.levels_mm.get(k).copied().unwrap_or_default();
        to + 1 - from >= LEAST_LAYERS
            && level(to + 1) - level(from) <= MOST_DEEP * limb.length_mm
            && (from..=to).all(|k| beside.iter().all(|&b| !solid(k, b)))
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::figures::mock::{Stack, rectangle, square};
    use approx::assert_relative_eq;

    /// A tuning fork that lies: a handle, a yoke and two tines of 3 × 60.
    fn fork(along_x: bool) -> Piece {
        let outline = [
            (0.0, 0.0),
            (40.0, 0.0),
            (40.0, 3.0),
            (110.0, 3.0),
            (110.0, 6.0),
            (50.0, 6.0),
            (50.0, 12.0),
            (110.0, 12.0),
            (110.0, 15.0),
            (40.0, 15.0),
            (40.0, 12.0),
            (0.0, 12.0),
        ];
        let turned = outline.map(|(x, y)| {
            if along_x {
                Point2::new(x, y)
            } else {
                Point2::new(-y, x)
            }
        });
        Piece::from_loops(turned.to_vec(), vec![])
    }

    #[test]
    fn a_tuning_fork_has_two_arms_whichever_way_it_lies() {
        for along_x in [true, false] {
            let s = Stack::new(0.2).up_to(4.0, &[fork(along_x)]);
            let l = limbs(&s.layers(), 0.45).expect("two arms");
            assert_eq!(l.count, 2);
            assert_relative_eq!(l.width_mm, 3.0, max_relative = 1e-6);
            assert_relative_eq!(l.length_mm, 60.0, max_relative = 0.02);
        }
    }

    /// A bar has no root, a frame no free end, letters on a plate are not clear, a skin of two
    /// layers is none, and neither are plates as deep as the legs of a bracket.
    #[test]
    fn other_shapes_have_none() {
        let none = |s: &Stack| limbs(&s.layers(), 0.45).is_none();
        assert!(none(
            &Stack::new(0.2).up_to(4.0, &[rectangle(0.0, 0.0, 80.0, 3.0)])
        ));
        let mut inner = rectangle(0.0, 0.0, 74.0, 44.0).outer;
        inner.reverse();
        let frame = Piece::from_loops(rectangle(0.0, 0.0, 80.0, 50.0).outer, vec![inner]);
        assert!(none(&Stack::new(0.2).up_to(4.0, &[frame])));
        let plate = rectangle(55.0, 7.0, 140.0, 40.0);
        let letters = Stack::new(0.2)
            .up_to(2.0, &[plate])
            .up_to(4.0, &[fork(true)]);
        assert!(none(&letters));
        assert!(none(&Stack::new(0.2).up_to(0.4, &[fork(true)])));
        assert!(none(&Stack::new(0.2).up_to(25.0, &[fork(true)])));
        assert!(none(&Stack::new(0.2).up_to(4.0, &[square(0.0, 0.0, 30.0)])));
        assert!(none(&Stack::new(0.2)));
    }
}
