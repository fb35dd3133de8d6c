//! Whether an outer wall runs on through a height at which the section of its piece changes.

use super::Piece;
use crate::plane::polygon::{self, edges};
use nalgebra::Point2;
use std::collections::HashMap;

/// Outlines that lie this near are one wall, mm.
const SAME_WALL_MM: f64 = 0.1;
/// A wall shorter than this, or than this share of the outline, is too short for a line on it
/// to be seen (house values).
const LEAST_MM: f64 = 5.0;
const LEAST_SHARE: f64 = 0.35;
/// Distance of the places of an outline that are tried, mm, and their number at most.
const STEP_MM: f64 = 0.5;
const MOST_STEPS: f64 = 20_000.0;
/// Side of a cell in which edges are looked up, mm.
const CELL_MM: f64 = 1.0;

type Ends = (Point2<f64>, Point2<f64>);

/// Whether some piece of one section goes on in the next one with a changed area, by the
/// factor or more, while a stretch of its outer wall stays where it is. Inner walls do not
/// count, nor does the end of a piece.
pub(crate) fn runs_through(below: &[Piece], above: &[Piece], factor: f64) -> bool {
    let walls = Walls::new(above);
    below.iter().any(|piece| {
        let (shared_mm, outline_mm, whose) = walls.shared(&piece.outer);
        let goes_on = whose.iter().map(|&i| edges(&above[i].outer));
        let goes_on: f64 = goes_on.flatten().map(|(a, b)| (b - a).norm()).sum();
        if shared_mm < LEAST_MM.max(LEAST_SHARE * outline_mm.max(goes_on)) {
            return false;
        }
        let area: f64 = whose.iter().map(|&i| above[i].area_mm2).sum();
        let (small, large) = (area.min(piece.area_mm2), area.max(piece.area_mm2));
        large >= factor * small
    })
}

/// Outer loops of a section, to be looked up by place.
struct Walls {
    cells: HashMap<[i64; 2], Vec<(usize, Ends)>>,
}

impl Walls {
    fn new(pieces: &[Piece]) -> Self {
        let mut cells: HashMap<[i64; 2], Vec<(usize, Ends)>> = HashMap::new();
        for (i, piece) in pieces.iter().enumerate() {
            let step = step_mm(&piece.outer);
            for (a, b) in edges(&piece.outer) {
                let mut last = None;
                for p in places(a, b, step) {
                    let cell = cell(p);
                    if last != Some(cell) {
                        cells.entry(cell).or_default().push((i, (a, b)));
                        last = Some(cell);
                    }
                }
            }
        }
        Self { cells }
    }

    /// How much of a loop these walls share, its whole length, and the pieces they are of.
    fn shared(&self, ring: &[Point2<f64>]) -> (f64, f64, Vec<usize>) {
        let (mut shared, mut all, mut whose) = (0.0, 0.0, Vec::new());
        let step = step_mm(ring);
        for (a, b) in edges(ring) {
            let length = (b - a).norm();
            all += length;
            let tried: Vec<Point2<f64>> = places(a, b, step).collect();
            for p in &tried {
                if let Some(i) = self.near(*p) {
                    shared += length / tried.len() as f64;
                    if !whose.contains(&i) {
                        whose.push(i);
                    }
                }
            }
        }
        (shared, all, whose)
    }

    fn near(&self, p: Point2<f64>) -> Option<usize> {
        let [x, y] = cell(p);
        let around = (-1..=1).flat_map(|i| (-1..=1).map(move |j| [x + i, y + j]));
        let walls = around.filter_map(|c| self.cells.get(&c)).flatten();
        let mut within = walls.filter(|(_, e)| polygon::from_edge(*e, p).norm() <= SAME_WALL_MM);
        within.next().map(|(i, _)| *i)
    }
}

fn cell(p: Point2<f64>) -> [i64; 2] {
    [p.x, p.y].map(|v| (v / CELL_MM).floor() as i64)
}

fn step_mm(ring: &[Point2<f64>]) -> f64 {
    let all: f64 = edges(ring).map(|(a, b)| (b - a).norm()).sum();
    STEP_MM.max(all / MOST_STEPS)
}

/// Places evenly along an edge, the middles of equal shares.
fn places(a: Point2<f64>, b: Point2<f64>, step: f64) -> impl Iterator<Item = Point2<f64>> {
    let n = ((b - a).norm() / step).ceil().max(1.0) as usize;
    (0..n).map(move |k| a + (b - a) * ((k as f64 + 0.5) / n as f64))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::figures::mock::{circle, disc, rectangle, ring, square};

    #[test]
    fn the_wall_of_a_tray_runs_on_and_that_of_a_plate_ends() {
        let tray = ([disc(0.0, 0.0, 20.0, 90)], [ring(0.0, 0.0, 20.0, 18.0, 90)]);
        assert!(runs_through(&tray.0, &tray.1, 2.0));
        assert!(runs_through(&tray.1, &tray.0, 2.0), "a closed lid, too");
        // Posts on a plate, none of them flush with its side.
        let plate = [rectangle(0.0, 0.0, 40.0, 20.0)];
        let posts = [square(-10.0, 0.0, 4.0), square(10.0, 0.0, 4.0)];
        assert!(!runs_through(&plate, &posts, 2.0));
        // A wall flush with the back of the plate: the back goes on.
        let wall = [rectangle(0.0, 9.0, 40.0, 2.0)];
        assert!(runs_through(&plate, &wall, 2.0));
    }

    #[test]
    fn an_inner_wall_and_the_end_of_a_boss_draw_no_line() {
        // The bore goes on, the outside steps in.
        let flange = [ring(0.0, 0.0, 30.0, 5.0, 90)];
        let hub = [ring(0.0, 0.0, 10.0, 5.0, 90)];
        assert!(!runs_through(&flange, &hub, 2.0));
        // A boss beside a wall ends; the wall is the same above and below.
        let wall = rectangle(0.0, 30.0, 60.0, 2.0);
        let boss = disc(0.0, 0.0, 10.0, 90);
        assert!(!runs_through(&[wall.clone(), boss], &[wall], 2.0));
    }

    #[test]
    fn a_fine_outline_and_a_coarse_one_are_one_wall() {
        let mut hole = circle(0.0, 0.0, 18.0, 70);
        hole.reverse();
        let coarse = Piece::from_loops(circle(0.0, 0.0, 20.0, 120), vec![hole]);
        assert!(runs_through(&[disc(0.0, 0.0, 20.0, 1000)], &[coarse], 2.0));
    }
}
