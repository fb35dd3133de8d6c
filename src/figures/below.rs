//! What lies straight below points of a pose.
//!
//! All rays of a pose run the same way: down. So a facet can only be met from points over its shadow
//! on the bed. A grid over the plan lists in each cell the facets whose shadow reaches into it, the
//! highest first; a ray looks at one cell and stops at the first facet that lies lower than what it
//! met. Whether it meets one is decided as for any other ray ([`Ray`]): what is found is what
//! [`Bench::void_below`] finds, to the bit, some ten times sooner.

use super::buckets::Buckets;
use super::quick::{Bench, faces};
use crate::mesh::lines::Ray;
use crate::plane::rect;
use crate::pose::Posed;
use nalgebra::{IsometryMatrix3, Point3};
use std::sync::OnceLock;

/// Entries of the grid for each facet in it, at most on average.
const ENTRIES: usize = 16;
/// Facets that a ray may have to look at before the tree over all of them is the quicker way.
const MOST_IN_CELL: usize = 64;
/// Of more facets the grid would take more memory than it is worth.
const MOST_FACETS: usize = 1 << 20;
/// Boxes are kept in single precision and grown by this, of the largest coordinate.
const SLACK_REL: f64 = 4.0 * f32::EPSILON as f64;

/// Answers how much room there is below points of a part in a pose.
pub(super) struct Below<'a> {
    bench: &'a Bench<'a>,
    posed: &'a Posed<'a>,
    part_from_build: IsometryMatrix3<f64>,
    /// Made when the first point is asked: many poses ask none. None where it does not pay.
    grid: OnceLock<Option<Grid>>,
}

/// The box around a facet: from and to along X, Y and Z, mm.
type Around = [[f32; 2]; 3];

/// The facets that a ray down may enter, by where their shadows are.
struct Grid {
    /// Corner of the grid, and cells a millimetre along X and Y.
    lo: [f64; 2],
    per_mm: [f64; 2],
    /// Cells along X and Y.
    sides: [usize; 2],
    /// Facets, the highest first, with their boxes.
    facets: Vec<(u32, Around)>,
    /// Places in that list, by cell.
    cells: Buckets<u32>,
    /// Two heights this close may be one, mm.
    slack_mm: f64,
}

impl<'a> Below<'a> {
    /// Of a part in a pose. At once: the grid is made in O(n log n) when the first point is asked.
    pub(super) fn new(bench: &'a Bench<'a>, posed: &'a Posed<'a>) -> Self {
        Self {
            bench,
            posed,
            part_from_build: posed.pose.build_from_part.inverse(),
            grid: OnceLock::new(),
        }
    }

    /// Length of the void straight below a point of the surface, build frame, to the next surface
    /// that faces it, mm; none where there is none.
    pub(super) fn void_mm(&self, p: &Point3<f64>) -> Option<f64> {
        self.void_within_mm(p, f64::MAX)
    }

    /// The same where it is no longer than `within`; quicker for a short way.
    pub(super) fn void_within_mm(&self, p: &Point3<f64>, within: f64) -> Option<f64> {
        let grid = self.grid.get_or_init(|| Grid::new(self.bench, self.posed));
        let (from, down) = (self.part_from_build * p, &self.posed.pose.down);
        let Some(grid) = grid else {
            return self.bench.void_within(&from, down, within);
        };
        let ray = Ray::new(&from, down);
        let mesh = &self.bench.part.mesh;
        let skin_mm = self.bench.skin_mm();
        let mut nearest_mm = within;
        let mut found = None;
        for &(facet, [x, y, z]) in grid.over(p) {
            let [[x0, x1], [y0, y1], [z0, z1]] = [x, y, z].map(|s| s.map(f64::from));
            if p.z - z1 > nearest_mm + grid.slack_mm {
                break;
            }
            let beside = p.x < x0 || p.x > x1 || p.y < y0 || p.y > y1;
            if beside || z0 > p.z {
                continue;
            }
            if let Some((apart_mm, true)) = ray.meets(&mesh.corners(facet as usize))
                && apart_mm > skin_mm
                && apart_mm <= nearest_mm
            {
                nearest_mm = apart_mm;
                found = Some(apart_mm);
            }
        }
        found
    }
}

impl Grid {
    /// None where no facet can be met, or where the tree over all facets is the better way.
    fn new(bench: &Bench, posed: &Posed) -> Option<Self> {
        let down = &posed.pose.down;
        let extent_mm = (posed.vertices.iter())
            .flat_map(|p| [p.x, p.y, p.z])
            .fold(0.0, |most: f64, x| most.max(x.abs()));
        // In the part's own frame coordinates may be larger, and rounding with them.
        let moved_mm = bench.part.mesh.bounds().map_or(0.0, |(lo, hi)| {
            lo.coords.abs().max().max(hi.coords.abs().max())
        });
        let slack_mm = SLACK_REL * extent_mm.max(moved_mm);
        let met: Vec<usize> = (0..posed.normal_z.len())
            .filter(|&t| faces(&bench.part.normals[t], down))
            .collect();
        let count = met.len();
        if count == 0 || count > MOST_FACETS {
            return None;
        }
        let around = |t: usize| {
            let corners = posed.corners(t);
            [0, 1, 2].map(|k| {
                let (lo, hi) = rect::span(corners.iter().map(|p| p[k]));
                [(lo - slack_mm) as f32, (hi + slack_mm) as f32]
            })
        };
        let mut facets: Vec<(u32, Around)> = met.iter().map(|&t| (t as u32, around(t))).collect();
        facets.sort_unstable_by(|(s, a), (t, b)| b[2][1].total_cmp(&a[2][1]).then(s.cmp(t)));
        let spans = [0, 1].map(|k| {
            let each = facets.iter().map(|(_, b)| b[k].map(f64::from));
            let (lo, hi) = rect::span(each.clone().flatten());
            let mean = each.map(|[a, b]| b - a).sum::<f64>() / count as f64;
            (lo, (hi - lo).max(f64::MIN_POSITIVE), mean.max(slack_mm))
        });
        // Cells in the proportion of a facet's shadow, about one for each facet.
        let of_facet = spans.map(|(_, long, mean)| long / mean.max(f64::MIN_POSITIVE));
        let lean = (of_facet[0] / of_facet[1].max(f64::MIN_POSITIVE)).sqrt();
        let even = (count as f64).sqrt();
        let mut sides = [even * lean, even / lean].map(|n| (n.ceil() as usize).clamp(1, count));
        let mut grid = Self {
            lo: spans.map(|(lo, ..)| lo),
            per_mm: [0.0; 2],
            sides,
            facets,
            cells: Buckets::default(),
            slack_mm,
        };
        loop {
            grid.sides = sides;
            grid.per_mm = [0, 1].map(|k| sides[k] as f64 / spans[k].1);
            let entries: usize = (grid.facets.iter())
                .map(|(_, b)| {
                    let [[a, b], [c, d]] = [grid.cells_of(0, b), grid.cells_of(1, b)];
                    (b - a + 1) * (d - c + 1)
                })
                .sum();
            if entries > MOST_IN_CELL * sides[0] * sides[1] {
                return None;
            }
            if entries <= ENTRIES * count {
                break;
            }
            sides = sides.map(|n| n.div_ceil(2));
        }
        let wide = sides[0];
        let pairs = grid.facets.iter().enumerate().flat_map(|(i, (_, b))| {
            let [[a, b], [c, d]] = [grid.cells_of(0, b), grid.cells_of(1, b)];
            (c..=d).flat_map(move |row| (a..=b).map(move |column| (row * wide + column, i as u32)))
        });
        grid.cells = Buckets::new(sides[0] * sides[1], pairs);
        Some(grid)
    }

    /// The first and the last cell along an axis that a box reaches into.
    fn cells_of(&self, axis: usize, around: &Around) -> [usize; 2] {
        around[axis].map(|x| self.cell(axis, f64::from(x)))
    }

    fn cell(&self, axis: usize, x: f64) -> usize {
        let at = ((x - self.lo[axis]) * self.per_mm[axis]).max(0.0);
        (at as usize).min(self.sides[axis] - 1)
    }

    /// The facets that may lie below or above a point, the highest first.
    fn over(&self, p: &Point3<f64>) -> impl Iterator<Item = &(u32, Around)> {
        let cell = self.cell(1, p.y) * self.sides[0] + self.cell(0, p.x);
        (self.cells.of(cell).iter()).map(|&i| &self.facets[i as usize])
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::figures::fixture::{boxes, lying_hole, moved, part, revolved, sphere};
    use crate::pose::{Hull, Pose};
    use crate::settings::Settings;
    use nalgebra::{Unit, Vector3};

    /// From points of the undersides and from points inside and beside the part, in poses that are
    /// turned any way: the same bits as the tree over all facets, and told by the grid.
    #[test]
    fn a_grid_finds_what_the_tree_finds() {
        let tray = boxes(
            &[[[0.0; 3], [60.0, 40.0, 20.0]]],
            &[
                [[5.0, 5.0, 5.0], [30.0, 35.0, 20.0]],
                [[40.0, -1.0, 8.0], [50.0, 41.0, 12.0]],
            ],
        );
        let soups = [
            tray.clone(),
            moved(&tray, [900.0, -4000.0, 70.0]),
            sphere(12.0, 40),
            lying_hole(12.0, 5.0, 30.0, 48),
            revolved(
                &[
                    [0.0, 0.0],
                    [20.0, 0.0],
                    [6.0, 9.0],
                    [25.0, 30.0],
                    [0.0, 34.0],
                ],
                64,
            ),
        ];
        let (mut met, mut gridded) = (0, 0);
        for soup in soups {
            let part = part(&soup, false);
            let settings = Settings::default();
            let hull = Hull::new(&part.mesh.vertices).expect("a solid");
            let bench = Bench::new(&part, &settings, hull);
            for down in [
                [0.0, 0.0, -1.0],
                [1.0, 0.0, 0.0],
                [0.3, -0.4, 0.5],
                [-0.7, 0.1, -0.2],
            ] {
                let down = Unit::new_normalize(Vector3::from(down));
                let posed = Posed::new(&part, Pose::new(&down, &part.mesh.vertices));
                let below = Below::new(&bench, &posed);
                let map = posed.pose.build_from_part.inverse();
                for t in 0..part.mesh.triangles.len() {
                    let [a, b, c] = posed.corners(t).map(|p| p.coords);
                    let weights = [[0.4, 0.35, 0.25], [1.0, 0.0, 0.0], [0.5, 0.5, 0.0]];
                    for [u, v, w] in weights {
                        let on = Point3::from(a * u + b * v + c * w);
                        for p in [
                            on,
                            on + Vector3::new(0.3, 0.1, 2.0),
                            on - Vector3::z() * 0.7,
                        ] {
                            for within in [f64::MAX, 3.0] {
                                let found = below.void_within_mm(&p, within);
                                let by_tree =
                                    bench.void_within(&(map * p), &posed.pose.down, within);
                                assert_eq!(
                                    found.map(f64::to_bits),
                                    by_tree.map(f64::to_bits),
                                    "{p}"
                                );
                                met += usize::from(found.is_some());
                            }
                        }
                    }
                }
                gridded += usize::from(matches!(below.grid.get(), Some(Some(_))));
            }
        }
        assert!(met > 2000 && gridded > 15, "{met} {gridded}");
    }
}
