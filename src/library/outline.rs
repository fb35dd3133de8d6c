//! A part as a small black figure on the ground, in a few hundred bytes.
//!
//! The part is seen from the front, filled into a coarse grid, walked round and thinned.

use crate::plane::polygon;
use crate::pose::Posed;
use crate::report::draw::depth::{Depth, Frame, NOTHING};
use crate::report::draw::join::simplified;
use crate::report::draw::view::View;
use nalgebra::Point2;

/// Cells along the longer side: a figure is shown at this size in pixels or so.
const CELLS: usize = 48;
/// How far the outline may move when it is thinned, cells.
const SLACK: f64 = 0.75;
/// Fewer cells in one piece, or in one hole, are a crumb and left out.
const CRUMB: f64 = 3.0;
/// Corners in all at most; what is left out are the smallest loops.
const MOST_CORNERS: usize = 160;

/// A part in the best pose and in the pose of the file, each as the data of an SVG path
/// in a box of [`BOX`] units, standing on its lower edge. Empty where there is nothing.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Outlines {
    /// In the best pose.
    pub best: String,
    /// As stored.
    pub stored: String,
}

/// Side of the square that figures are drawn in.
pub const BOX: usize = CELLS;

/// The figure of a posed part from the front, as the data of an SVG path.
pub fn outline(posed: &Posed) -> String {
    let view = View::front();
    let mesh = &posed.part.mesh;
    let points: Vec<[f64; 3]> = posed.vertices.iter().map(|p| view.map(p)).collect();
    let Some(frame) = Frame::around(&points, CELLS) else {
        return String::new();
    };
    let pixels: Vec<[f64; 3]> = points.iter().map(|p| frame.px(*p)).collect();
    let depth = Depth::new(frame, &pixels, &mesh.triangles, false);
    let mut grid = Grid {
        nx: frame.nx,
        ny: frame.ny,
        full: depth.face.iter().map(|f| *f != NOTHING).collect(),
    };
    // Bits thinner than a cell have no middle of one in them: their corners ink it.
    for p in &pixels {
        if let Some(i) = depth.frame.at([p[0], p[1]]) {
            grid.full[i] = true;
        }
    }
    grid.path()
}

/// Which cells are full; row 0 is the lowest.
struct Grid {
    nx: usize,
    ny: usize,
    full: Vec<bool>,
}

/// A corner of the grid.
type Corner = [i32; 2];

impl Grid {
    fn at(&self, x: i32, y: i32) -> bool {
        let inside = x >= 0 && y >= 0 && (x as usize) < self.nx && (y as usize) < self.ny;
        inside && self.full[y as usize * self.nx + x as usize]
    }

    /// Loops round the full cells, full on the left: counter-clockwise outside, clockwise
    /// round holes.
    fn loops(&self) -> Vec<Vec<Corner>> {
        // An edge starts at a corner and goes right, up, left or down.
        const STEP: [Corner; 4] = [[1, 0], [0, 1], [-1, 0], [0, -1]];
        // Cells left and right of an edge that starts at corner (0, 0).
        const LEFT: [Corner; 4] = [[0, 0], [-1, 0], [-1, -1], [0, -1]];
        const RIGHT: [Corner; 4] = [[0, -1], [0, 0], [-1, 0], [-1, -1]];
        let is_edge = |c: Corner, way: usize| {
            self.at(c[0] + LEFT[way][0], c[1] + LEFT[way][1])
                && !self.at(c[0] + RIGHT[way][0], c[1] + RIGHT[way][1])
        };
        let (w, h) = (self.nx as i32 + 1, self.ny as i32 + 1);
        let mut walked = vec![false; (w * h) as usize];
        let mut loops = Vec::new();
        for y in 0..h {
            for x in 0..w {
                // Every loop has an edge that goes right.
                if walked[(y * w + x) as usize] || !is_edge([x, y], 0) {
                    continue;
                }
                let (mut at, mut way) = ([x, y], 0);
                let mut points = Vec::new();
                loop {
                    if way == 0 {
                        walked[(at[1] * w + at[0]) as usize] = true;
                    }
                    at = [at[0] + STEP[way][0], at[1] + STEP[way][1]];
                    // Right first, so that cells that touch at a corner are one piece.
                    let next = [(way + 3) % 4, way, (way + 1) % 4]
                        .into_iter()
                        .find(|&n| is_edge(at, n));
                    let Some(next) = next else { break };
                    if next != way {
                        points.push(at);
                        way = next;
                    }
                    if at == [x, y] && way == 0 {
                        break;
                    }
                }
                loops.push(points);
            }
        }
        loops
    }

    /// The data of an SVG path in a box of [`BOX`], standing in the middle of its lower
    /// edge; y grows downwards there.
    fn path(&self) -> String {
        let mut loops: Vec<(f64, Vec<Corner>)> = self
            .loops()
            .into_iter()
            .map(|l| (area(&l).abs(), l))
            .filter(|(area, _)| *area >= CRUMB)
            .map(|(area, l)| (area, thin(&l)))
            .filter(|(_, l)| l.len() > 2)
            .collect();
        loops.sort_by(|a, b| b.0.total_cmp(&a.0));
        let mut corners = 0;
        loops.retain(|(_, l)| {
            corners += l.len();
            corners <= MOST_CORNERS || corners == l.len()
        });
        let all = || loops.iter().flat_map(|(_, l)| l);
        let lo = |a: usize| all().map(|p| p[a]).min().unwrap_or(0);
        let hi = |a: usize| all().map(|p| p[a]).max().unwrap_or(0);
        let aside = (BOX as i32 - (hi(0) - lo(0))) / 2;
        let (left, low) = (lo(0), lo(1));
        let place = |p: &Corner| [p[0] - left + aside, BOX as i32 - (p[1] - low)];
        let mut out = String::new();
        for (_, points) in &loops {
            let mut last = [0; 2];
            for (i, p) in points.iter().map(place).enumerate() {
                let [x, y] = [p[0] - last[0], p[1] - last[1]];
                out.push_str(&if i == 0 {
                    format!("M{} {}l", p[0], p[1])
                } else if y < 0 {
                    format!("{}{x}{y}", if i == 1 || x < 0 { "" } else { " " })
                } else {
                    format!("{}{x} {y}", if i == 1 || x < 0 { "" } else { " " })
                });
                last = p;
            }
            out.push('z');
        }
        out
    }
}

/// Signed area, cells.
fn area(points: &[Corner]) -> f64 {
    let points: Vec<_> = points
        .iter()
        .map(|p| Point2::from(p.map(f64::from)))
        .collect();
    polygon::area(&points)
}

/// A closed loop with fewer corners, none farther from it than [`SLACK`].
fn thin(points: &[Corner]) -> Vec<Corner> {
    // Two corners that stay: the first and the one farthest from it.
    let far = |i: usize| {
        let [dx, dy] = [points[i][0] - points[0][0], points[i][1] - points[0][1]];
        dx * dx + dy * dy
    };
    let Some(split) = (1..points.len()).max_by_key(|&i| far(i)) else {
        return points.to_vec();
    };
    let ring = points.iter().chain(points.first());
    let ring: Vec<[f64; 2]> = ring.map(|p| p.map(f64::from)).collect();
    let mut out = Vec::new();
    for half in [&ring[..=split], &ring[split..]] {
        // Backwards: of equally far corners the last one stays.
        let back: Vec<[f64; 2]> = half.iter().rev().copied().collect();
        let kept = simplified(&back, SLACK);
        out.extend(kept.iter().skip(1).rev().map(|p| p.map(|c| c as i32)));
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pose::Pose;
    use crate::report::draw::fixture::cuboid;

    fn grid(rows: &[&str]) -> Grid {
        Grid {
            nx: rows[0].len(),
            ny: rows.len(),
            full: rows
                .iter()
                .rev()
                .flat_map(|r| r.bytes().map(|b| b == b'#'))
                .collect(),
        }
    }

    #[test]
    fn loops_enclose_what_is_full() {
        let g = grid(&["####.", "#..#.", "####.", "....#"]);
        let areas: Vec<f64> = g.loops().iter().map(|l| area(l)).collect();
        // 10 cells and one that touches at a corner, less the hole.
        assert_eq!(areas.iter().sum::<f64>(), 11.0);
        assert_eq!(areas.iter().filter(|a| **a < 0.0).count(), 1);
        assert_eq!(areas.len(), 2);
    }

    #[test]
    fn a_box_is_four_corners_that_stand_on_the_lower_edge() {
        let part = cuboid(40.0, 10.0, 20.0);
        let posed = Posed::new(&part, Pose::as_stored(&part.mesh.vertices));
        let path = outline(&posed);
        assert_eq!(path.matches('z').count(), 1, "{path}");
        assert!(path.len() < 40, "{path}");
        assert!(
            path.starts_with('M') && path.contains(&format!("{BOX}l")),
            "{path}"
        );
    }

    #[test]
    fn a_slope_is_thinned_and_stays_within_the_slack() {
        let stairs: Vec<Corner> = (0..40)
            .flat_map(|i| [[i, i], [i + 1, i]])
            .chain([[40, 40], [0, 40]])
            .collect();
        let thinned = thin(&stairs);
        assert!(thinned.len() <= 5, "{thinned:?}");
        assert!((area(&thinned).abs() - area(&stairs).abs()).abs() < 40.0);
    }
}
