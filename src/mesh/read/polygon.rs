//! Polygons to triangles: a fan where that is right, ears where the outline is hollow.

use super::raw::{Raw, ReadOptions, check_count};
use crate::mesh::defect::Tally;
use crate::mesh::error::{Place, ReadFault};
use crate::mesh::weld::weld_indexed;
use earcut::Earcut;
use nalgebra::{Point3, Vector3};

/// Corners of a hollow outline that are still cut: the time may grow with the square of
/// their count, and is about three seconds at this one (a comb, measured).
const MOST_CORNERS: usize = 1 << 16;
/// Share of the outline's area that triangles may cover twice by rounding.
const TWICE_REL: f64 = 1e-6;
/// Distance of a corner from the mean plane, over the size of the outline, from which
/// on another split is another shape to the eye (common practice).
const WARPED_REL: f64 = 0.1;

/// Faces of a file while they are split into triangles.
#[derive(Default)]
pub(super) struct Faces {
    triangles: Vec<[u32; 3]>,
    crossed: Tally<Place>,
    warped: Tally<Place>,
    large: Tally<Place>,
    cutter: Cutter,
}

impl Tally<Place> {
    /// What is odd about one face or several, and where the first is.
    fn says(&self, one: &str, several: &str) -> Option<String> {
        let first = self.first?;
        Some(match self.count {
            1 => format!("the face {first} {one}"),
            n => format!("{n} faces {several}, the first {first}"),
        })
    }
}

impl Faces {
    /// Splits one polygon, given by vertex indices in range of `points`, into triangles
    /// that keep its sense and leave no corner out. Fewer than three corners give none.
    pub(super) fn add(
        &mut self,
        points: &[Point3<f64>],
        polygon: &[u32],
        place: Place,
        options: &ReadOptions,
    ) -> Result<(), ReadFault> {
        let before = self.triangles.len();
        check_count((before + polygon.len().saturating_sub(2)) as u64, options)?;
        if polygon.len() <= 3 {
            self.triangles.extend(<[u32; 3]>::try_from(polygon));
            return Ok(());
        }
        let outline = Outline::new(points, polygon);
        let hollow = outline.hollow();
        let too_large = hollow && polygon.len() > MOST_CORNERS;
        let cut = hollow && !too_large && self.cutter.cut(&outline, &mut self.triangles);
        if !cut {
            let (hub, rest) = (polygon[0], &polygon[1..]);
            self.triangles
                .extend(rest.windows(2).map(|edge| [hub, edge[0], edge[1]]));
        }
        if too_large {
            self.large.add(|| place);
        } else if outline.warped() {
            self.warped.add(|| place);
        } else if outline.crosses_itself(&self.triangles[before..]) {
            self.crossed.add(|| place);
        }
        Ok(())
    }

    /// The welded mesh, with what is to be said about its faces.
    pub(super) fn into_raw(self, points: &[Point3<f64>]) -> Raw {
        let notes = [
            self.crossed.says(
                "crosses itself: it was split without knowing what was meant",
                "cross themselves: they were split without knowing what was meant",
            ),
            self.warped.says(
                "is far from flat: it could be split in other ways",
                "are far from flat: they could be split in other ways",
            ),
            self.large.says(
                "has too many corners for a hollow outline: it was split into a fan, which \
                 may cover too much",
                "have too many corners for a hollow outline: they were split into fans, which \
                 may cover too much",
            ),
        ];
        Raw {
            mesh: weld_indexed(points, &self.triangles),
            units: None,
            notes: notes.into_iter().flatten().collect(),
        }
    }
}

/// The outline of one polygon of four corners or more.
struct Outline<'a> {
    points: &'a [Point3<f64>],
    polygon: &'a [u32],
    /// Twice its area vector (M. E. Newell's sum, from memory).
    normal: Vector3<f64>,
}

impl<'a> Outline<'a> {
    fn new(points: &'a [Point3<f64>], polygon: &'a [u32]) -> Self {
        let mut outline = Self {
            points,
            polygon,
            normal: Vector3::zeros(),
        };
        let origin = outline.at(0);
        outline.normal = (0..polygon.len())
            .map(|i| (outline.at(i) - origin).cross(&(outline.at(i + 1) - origin)))
            .sum();
        outline
    }

    fn at(&self, i: usize) -> Point3<f64> {
        self.points[self.polygon[i % self.polygon.len()] as usize]
    }

    /// The sides that meet in corner `i`.
    fn sides(&self, i: usize) -> [Vector3<f64>; 2] {
        let before = self.at(i + self.polygon.len() - 1);
        [self.at(i) - before, self.at(i + 1) - self.at(i)]
    }

    /// Whether it turns to the wrong side in some corner.
    fn hollow(&self) -> bool {
        (0..self.polygon.len()).any(|i| {
            let [a, b] = self.sides(i);
            a.cross(&b).dot(&self.normal) < 0.0
        })
    }

    /// Whether the outline shows in one of two ways that it crosses itself: it does not
    /// turn by one full circle (H. Hopf's theorem on the turning of tangents, from
    /// memory), or its triangles cover more than its area.
    fn crosses_itself(&self, triangles: &[[u32; 3]]) -> bool {
        let size = self.normal.norm();
        let up = self.normal.try_normalize(0.0);
        let covered: f64 = triangles
            .iter()
            .map(|t| {
                let [a, b, c] = t.map(|v| self.points[v as usize]);
                let double = (b - a).cross(&(c - a));
                up.map_or(double.norm(), |up| double.dot(&up).abs())
            })
            .sum();
        // Against the square of the outline's length, a sliver is no crossing.
        let length: f64 = (0..self.polygon.len())
            .map(|i| self.sides(i)[1].norm())
            .sum();
        if covered - size > TWICE_REL * size + f64::EPSILON * length * length {
            return true;
        }
        let Some(up) = up.filter(|_| self.polygon.len() > 4) else {
            return false;
        };
        // A corner that stands there twice has a side without a direction.
        let sides = (0..self.polygon.len()).map(|i| self.sides(i)[1]);
        let sides: Vec<_> = sides.filter(|side| side.norm() > 0.0).collect();
        let turn: f64 = (0..sides.len())
            .map(|i| {
                let (a, b) = (sides[i], sides[(i + 1) % sides.len()]);
                libm::atan2(a.cross(&b).dot(&up), a.dot(&b))
            })
            .sum();
        turn > 3.0 * std::f64::consts::PI
    }

    fn warped(&self) -> bool {
        let Some(up) = self.normal.try_normalize(0.0) else {
            return false;
        };
        let heights = (0..self.polygon.len()).map(|i| (self.at(i) - self.at(0)).dot(&up));
        let (low, high) = heights.fold((0.0f64, 0.0f64), |(l, h), z| (l.min(z), h.max(z)));
        let across = (0..self.polygon.len())
            .map(|i| (self.at(i) - self.at(0)).norm())
            .fold(0.0, f64::max);
        // The mean plane lies midway between the extremes of few corners.
        (high - low) / 2.0 > WARPED_REL * across
    }
}

/// Cuts the ears off hollow outlines.
#[derive(Default)]
struct Cutter {
    earcut: Earcut<f64>,
    flat: Vec<[f64; 2]>,
    corners: Vec<u32>,
}

impl Cutter {
    /// Adds the triangles, two fewer than corners; or none, and returns false, where the
    /// outline cannot be cut into so many.
    fn cut(&mut self, outline: &Outline, out: &mut Vec<[u32; 3]>) -> bool {
        let n = outline.polygon.len();
        // Seen along the axis that is nearest to the normal, coordinates stay exact.
        let axis = outline.normal.iamax();
        let (mut x, mut y) = ((axis + 1) % 3, (axis + 2) % 3);
        if outline.normal[axis] < 0.0 {
            (x, y) = (y, x);
        }
        self.flat.clear();
        self.flat.extend((0..n).map(|i| {
            let p = outline.at(i);
            [p[x], p[y]]
        }));
        self.earcut.earcut_slice(&self.flat, &[], &mut self.corners);

        // Corners on a straight line are left out of the cut; without them a neighbour's
        // corner would lie on a side of this face. Each goes into the side it is on.
        let mut used = vec![false; n];
        for &i in &self.corners {
            used[i as usize] = true;
        }
        let mut next = vec![0; n];
        let mut ahead = used.iter().position(|u| *u).unwrap_or(0);
        for i in (0..n).rev() {
            next[i] = ahead;
            if used[i] {
                ahead = i;
            }
        }
        let before = out.len();
        let mut todo: Vec<[usize; 3]> = Vec::new();
        for ear in self.corners.chunks_exact(3) {
            todo.push([ear[0], ear[1], ear[2]].map(|i| i as usize));
            while let Some(ear) = todo.pop() {
                let side = (0..3).find(|&k| {
                    let (from, to) = (ear[k], ear[(k + 1) % 3]);
                    (from + 1) % n != to && next[from] == to
                });
                let Some(k) = side else {
                    out.push(ear.map(|i| outline.polygon[i]));
                    continue;
                };
                let (from, to, tip) = (ear[k], ear[(k + 1) % 3], ear[(k + 2) % 3]);
                let middle = (from + 1) % n;
                todo.push([middle, to, tip]);
                todo.push([from, middle, tip]);
            }
        }
        let whole = out.len() - before == n - 2;
        if !whole {
            out.truncate(before);
        }
        whole
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use std::collections::BTreeMap;

    /// A flat outline turned out of the axes, with the triangles and notes of its face.
    fn split(outline: &[[f64; 2]]) -> (Vec<Point3<f64>>, Vec<[u32; 3]>, Vec<String>) {
        let points: Vec<_> = outline
            .iter()
            .map(|[x, y]| Point3::new(0.6 * x, *y, 0.8 * x))
            .collect();
        let polygon: Vec<u32> = (0..points.len() as u32).collect();
        let mut faces = Faces::default();
        faces
            .add(&points, &polygon, Place::Line(7), &ReadOptions::default())
            .expect("few triangles");
        let triangles = faces.triangles.clone();
        (points.clone(), triangles, faces.into_raw(&points).notes)
    }

    /// Area of all triangles, and of their sum as vectors.
    fn area(points: &[Point3<f64>], triangles: &[[u32; 3]]) -> (f64, f64) {
        let areas = triangles.iter().map(|t| {
            let [a, b, c] = t.map(|v| points[v as usize]);
            (b - a).cross(&(c - a)) / 2.0
        });
        (
            areas.clone().map(|a| a.norm()).sum(),
            areas.sum::<Vector3<f64>>().norm(),
        )
    }

    /// The sides that are left when those that run both ways cancel: the outline, once.
    fn assert_rim(corners: usize, triangles: &[[u32; 3]]) {
        let mut sides = BTreeMap::new();
        for [a, b, c] in triangles {
            for (p, q) in [(a, b), (b, c), (c, a)] {
                *sides.entry((*p.min(q), *p.max(q))).or_insert(0) += if p < q { 1 } else { -1 };
            }
        }
        sides.retain(|_, n| *n != 0);
        let n = corners as u32;
        let mut wanted: BTreeMap<_, _> = (1..n).map(|i| ((i - 1, i), 1)).collect();
        wanted.insert((0, n - 1), -1);
        assert_eq!(sides, wanted);
    }

    /// Shoelace formula.
    fn enclosed(outline: &[[f64; 2]]) -> f64 {
        let n = outline.len();
        (0..n)
            .map(|i| {
                let ([ax, ay], [bx, by]) = (outline[i], outline[(i + 1) % n]);
                (ax * by - ay * bx) / 2.0
            })
            .sum()
    }

    #[test]
    fn hollow_outlines_are_cut_without_overlap() {
        // An L, an arrow head, a U, and an L with corners on its straight sides.
        let outlines: [&[[f64; 2]]; 4] = [
            &[[0., 0.], [2., 0.], [2., 1.], [1., 1.], [1., 2.], [0., 2.]],
            &[[0., 0.], [1., 1.], [2., 0.], [1., 3.]],
            &[
                [0., 0.],
                [3., 0.],
                [3., 3.],
                [2., 3.],
                [2., 1.],
                [1., 1.],
                [1., 3.],
                [0., 3.],
            ],
            &[
                [0., 0.],
                [1., 0.],
                [1.5, 0.],
                [2., 0.],
                [2., 1.],
                [1.5, 1.],
                [1., 1.],
                [1., 1.25],
                [1., 2.],
                [0., 2.],
                [0., 1.],
            ],
        ];
        for outline in outlines {
            for start in 0..outline.len() {
                let mut turned = outline.to_vec();
                turned.rotate_left(start);
                let (points, triangles, notes) = split(&turned);
                assert_eq!(triangles.len(), outline.len() - 2);
                assert_rim(outline.len(), &triangles);
                let ((sum, vector), expected) = (area(&points, &triangles), enclosed(outline));
                assert!((sum - expected).abs() < 1e-12, "{sum} for {expected}");
                assert!((vector - expected).abs() < 1e-12);
                assert_eq!(notes, Vec::<String>::new());
            }
        }
    }

    /// A comb: `teeth` teeth of width 1 and height 2 on a bar of height 1.
    fn comb(teeth: usize) -> Vec<[f64; 2]> {
        let mut outline = vec![[0.0, 0.0], [(2 * teeth) as f64, 0.0]];
        for tooth in (0..teeth).rev() {
            let x = (2 * tooth) as f64;
            outline.extend([[x + 2.0, 1.0], [x + 1.0, 1.0], [x + 1.0, 3.0], [x, 3.0]]);
            // The next tooth begins one to the left.
            if tooth > 0 {
                outline.push([x, 1.0]);
            }
        }
        outline
    }

    #[test]
    fn a_hollow_outline_of_many_corners_is_cut_too() {
        let outline = comb(200);
        assert!(outline.len() > 900);
        let (points, triangles, notes) = split(&outline);
        let ((sum, _), expected) = (area(&points, &triangles), enclosed(&outline));
        assert!(
            (sum - expected).abs() < 1e-9 * expected,
            "{sum} for {expected}"
        );
        assert_rim(outline.len(), &triangles);
        assert_eq!(notes, Vec::<String>::new());
    }

    #[test]
    fn an_outline_of_too_many_corners_is_said() {
        let outline = comb(20_000);
        assert!(outline.len() > MOST_CORNERS);
        let (_, triangles, notes) = split(&outline);
        assert_eq!(triangles.len(), outline.len() - 2);
        assert!(
            notes[0].starts_with("the face at line 7 has too many corners"),
            "{notes:?}"
        );
    }

    #[test]
    fn what_cannot_be_cut_cleanly_is_said() {
        let star: Vec<[f64; 2]> = (0..5)
            .map(|i| {
                let angle = f64::from(i) * 0.8 * std::f64::consts::PI;
                [libm::cos(angle), libm::sin(angle)]
            })
            .collect();
        // A loop inside a loop that begins on the inner one: every fan triangle is sound.
        let twice: Vec<[f64; 2]> = (0..24)
            .map(|i| {
                let angle = f64::from(i) * std::f64::consts::PI / 6.0;
                let far = 1.0 + f64::from(i) / 24.0;
                [far * libm::cos(angle), far * libm::sin(angle)]
            })
            .collect();
        let bow: &[[f64; 2]] = &[[0., 0.], [2., 2.], [2., 0.], [0., 2.]];
        let askew: &[[f64; 2]] = &[[0., 0.], [4., 3.], [4., 0.], [0., 2.], [-1., 1.]];
        for outline in [&star, &twice, bow, askew] {
            let (_, triangles, notes) = split(outline);
            assert_rim(outline.len(), &triangles);
            assert_eq!(
                notes,
                ["the face at line 7 crosses itself: it was split without knowing what was meant"]
            );
        }
    }

    #[test]
    fn a_face_far_from_flat_is_said_once_for_all() {
        let mut faces = Faces::default();
        let saddle =
            |z: f64| [[0., 0., 0.], [1., 0., z], [1., 1., 0.], [0., 1., z]].map(Point3::from);
        let mut add = |z: f64, place| {
            let options = ReadOptions::default();
            faces
                .add(&saddle(z), &[0, 1, 2, 3], place, &options)
                .expect("few triangles");
        };
        add(0.05, Place::Face(1));
        add(0.9, Place::Face(2));
        add(0.9, Place::Face(3));
        assert_eq!(
            faces.into_raw(&saddle(0.9)).notes,
            ["2 faces are far from flat: they could be split in other ways, the first at face 2"]
        );
    }

    #[test]
    fn too_few_corners_give_nothing() {
        let mut faces = Faces::default();
        for polygon in [&[][..], &[0], &[0, 0]] {
            faces
                .add(
                    &[Point3::origin()],
                    polygon,
                    Place::Face(1),
                    &ReadOptions::default(),
                )
                .expect("no triangles");
        }
        assert!(faces.triangles.is_empty());
    }

    proptest! {
        #[test]
        fn any_outline_seen_whole_from_one_point_is_covered_once(
            far in prop::collection::vec(0.05..1.0f64, 5..60), grid in any::<bool>()
        ) {
            let n = far.len() as f64;
            let outline: Vec<[f64; 2]> = far
                .iter()
                .enumerate()
                .map(|(i, far)| {
                    let angle = i as f64 * std::f64::consts::TAU / n;
                    let p = [far * libm::cos(angle), far * libm::sin(angle)];
                    // Whole coordinates bring corners on straight sides.
                    if grid { p.map(|c| (c * 1e4).round()) } else { p }
                })
                .collect();
            let (points, triangles, notes) = split(&outline);
            prop_assert_eq!(triangles.len(), outline.len() - 2);
            assert_rim(outline.len(), &triangles);
            let ((sum, _), expected) = (area(&points, &triangles), enclosed(&outline));
            prop_assert!((sum - expected).abs() < 1e-9 * expected, "{} for {}", sum, expected);
            prop_assert_eq!(notes, Vec::<String>::new());
        }

        #[test]
        fn no_outline_is_a_panic_and_each_keeps_its_rim(
            at in prop::collection::vec((0..4i32, 0..4i32), 4..12)
        ) {
            let outline: Vec<[f64; 2]> =
                at.iter().map(|(x, y)| [f64::from(*x), f64::from(*y)]).collect();
            let (_, triangles, _) = split(&outline);
            prop_assert_eq!(triangles.len(), outline.len() - 2);
            assert_rim(outline.len(), &triangles);
        }
    }
}
