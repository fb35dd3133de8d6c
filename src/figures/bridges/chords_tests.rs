//! Cuts that are given up on the way, against the whole of them.

use super::*;
use crate::plane::overlay::IntegerGrid;
use crate::plane::polygon::{Ends, edges};
use nalgebra::Point2;

/// Numbers between 0 and 1 that repeat.
struct Numbers(u64);

impl Numbers {
    fn next(&mut self) -> f64 {
        self.0 = (self.0.wrapping_mul(6_364_136_223_846_793_005)).wrapping_add(1);
        (self.0 >> 40) as f64 / f64::from(1 << 24)
    }

    /// Edges of a star of few or many corners.
    fn star(&mut self, middle: [f64; 2], size: f64) -> Vec<Ends> {
        let corners = 3 + (self.next() * 20.0) as u32;
        let round = self.next();
        let ring: Vec<Point2<f64>> = (0..corners)
            .map(|k| {
                let turn = f64::from(k) / f64::from(corners) * 2.0 * PI;
                let (sin, cos) = libm::sincos(turn);
                let r = size * (round + (1.0 - round) * self.next());
                Point2::new(middle[0] + r * cos, middle[1] + r * sin)
            })
            .collect();
        edges(&ring).collect()
    }

    /// What a star reaches over others, and parts of that.
    fn gap(&mut self) -> Option<(Area, Area)> {
        let grid = IntegerGrid::new(100.0);
        let upper = self.star([0.0, 0.0], 12.0);
        let mut below = Vec::new();
        for _ in 0..=(self.next() * 4.0) as u32 {
            let at = [self.next(), self.next()].map(|x| 24.0 * x - 12.0);
            let size = 2.0 + 8.0 * self.next();
            below.extend(self.star(at, size));
        }
        let gap = grid.difference(&upper, &below).into_iter().next()?;
        let of_gap: Vec<Ends> = gap.edges.iter().map(|e| (e.0, e.1)).collect();
        let taken = self.star([6.0, 0.0], 8.0);
        let overhang = grid.difference(&of_gap, &taken).into_iter().next()?;
        Some((gap, overhang))
    }
}

/// Where a cut is given up, all of it would not have done; where it is not, it is whole.
#[test]
fn a_cut_that_is_given_up_would_not_have_done() {
    let mut n = Numbers(7);
    let (mut given_up, mut whole) = ([0, 0], 0);
    for _ in 0..400 {
        let Some((gap, overhang)) = n.gap() else {
            continue;
        };
        let mut cutter = Cutter::new(&gap, &overhang, 0.45, 0.2);
        let (mut cut, mut all) = (Cut::default(), Cut::default());
        let mut best: Option<Score> = None;
        for k in 0..36 {
            let direction = f64::from(k) * COARSE_RAD + n.next();
            assert!(cutter.cut(direction, &mut all, Need::default()));
            let score = Score::of(&all);
            for bridge in [false, true] {
                let all_below_mm = best.and_then(|b| b.beaten_below_mm());
                let need = Need {
                    bridge,
                    all_below_mm,
                };
                if cutter.cut(direction, &mut cut, need) {
                    assert_eq!(cut, all);
                    whole += 1;
                } else {
                    let beats = best.is_none_or(|b| score.beats(&b));
                    let bridges = score.bridged_mm2 > 0.0 || !bridge;
                    assert!(!beats || !bridges, "{direction} {score:?} {best:?}");
                    given_up[usize::from(bridge && all_below_mm.is_none())] += 1;
                }
            }
            if best.is_none_or(|b| score.beats(&b)) {
                best = Some(score);
            }
        }
    }
    assert!(
        given_up.iter().all(|&n| n > 100) && whole > 100,
        "{given_up:?} {whole}"
    );
}

/// Chords against the whole outline: lengths times widths come to the area that they cut, in
/// every direction, where all of the gap overhangs.
#[test]
fn chords_fill_the_area_that_they_cut() {
    let mut n = Numbers(3);
    let mut looked_at = 0;
    for _ in 0..60 {
        let Some((gap, _)) = n.gap().filter(|(gap, _)| gap.mm2 > 20.0) else {
            continue;
        };
        let mut cutter = Cutter::new(&gap, &gap, 0.05, 0.2);
        let mut cut = Cut::default();
        for k in 0..6 {
            cutter.cut(f64::from(k) * 0.5 + 0.1, &mut cut, Need::default());
            let area: f64 = cut.chords.iter().map(|c| c.length() * c.width).sum();
            assert!(
                (area - gap.mm2).abs() < 0.02 * gap.mm2,
                "{area} {}",
                gap.mm2
            );
            looked_at += 1;
        }
    }
    assert!(looked_at > 100, "{looked_at}");
}
