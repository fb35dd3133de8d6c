use super::*;
use crate::figures::fixture::{boxes, lying_hole, part, posed, sphere, yaw};
use nalgebra::{Point3, UnitQuaternion, Vector3};
use proptest::prelude::*;

type Soup = Vec<[Point3<f64>; 3]>;

/// Every line of `grid` through `posed`, in order.
fn lines(posed: &Posed, grid: &Grid) -> Vec<Vec<Crossing>> {
    let raster = Raster::new(posed, grid);
    let all: Vec<Dexels> = (0..raster.strips())
        .map(|s| {
            let mut columns = Dexels::default();
            raster.strip(s, &mut columns, Stop::never());
            columns
        })
        .collect();
    all.iter()
        .flat_map(|c| c.rows.clone().map(move |j| (c, j)))
        .flat_map(|(c, j)| (0..grid.nx).map(move |i| c.line(i, j).to_vec()))
        .collect()
}

fn balanced(line: &[Crossing]) -> bool {
    2 * line.iter().filter(|c| c.enters).count() == line.len()
}

#[test]
fn lines_through_edges_and_corners_enter_as_often_as_they_leave() {
    // Whole-number coordinates and a whole-number grid: nearly every line runs
    // through a vertex, along an edge or in a vertical face.
    let soups = [
        boxes(
            &[
                [[0.0; 3], [6.0, 4.0, 5.0]],
                [[1.0, 1.0, 5.0], [3.0, 2.0, 8.0]],
            ],
            &[[[2.0, 1.0, 1.0], [5.0, 3.0, 4.0]]],
        ),
        sphere(5.0, 24),
        lying_hole(4.0, 3.0, 6.0, 48),
    ];
    for soup in &soups {
        let part = part(soup, false);
        for turn in [0.0, 30.0, 45.0, 90.0] {
            let tilt = UnitQuaternion::from_axis_angle(&Vector3::x_axis(), f64::to_radians(turn));
            for posed in [
                posed(&part, yaw(turn)),
                posed(&part, tilt),
                posed(&part, tilt * yaw(45.0)),
            ] {
                for (cell, angle, shift) in [
                    (1.0, 0.0, 0.0),
                    (0.5, 0.0, 0.0),
                    (0.25, 0.0, 0.5),
                    (0.37, 0.6, 0.3),
                ] {
                    let grid = Grid::over(&posed, cell, angle, [shift; 2]).unwrap();
                    let lines = lines(&posed, &grid);
                    assert_eq!(lines.len(), grid.nx * grid.ny);
                    assert!(lines.iter().all(|l| balanced(l)));
                    assert!(lines.iter().any(|l| !l.is_empty()));
                }
            }
        }
    }
}

#[test]
fn crossings_lie_on_the_surface() {
    // A sphere about (0, 0, 5): z = 5 ± √(25 − x² − y²), less the sagitta of the facets.
    let part = part(&sphere(5.0, 360), false);
    let posed = posed(&part, yaw(0.0));
    let grid = Grid::over(&posed, 0.4, 0.5, [0.3, 0.8]).unwrap();
    let lines = lines(&posed, &grid);
    let mut met = 0;
    for j in 0..grid.ny {
        for i in 0..grid.nx {
            let p = grid.line(i, j);
            let rr = p.coords.norm_squared();
            let line = &lines[j * grid.nx + i];
            if rr > 25.0 {
                assert!(line.is_empty());
            } else if rr < 24.0 {
                let half = (25.0 - rr).sqrt();
                assert_eq!(line.len(), 2);
                assert!((line[0].z_mm - 5.0 + half).abs() < 0.005 && line[0].enters);
                assert!((line[1].z_mm - 5.0 - half).abs() < 0.005 && !line[1].enters);
                met += 1;
            }
        }
    }
    assert!(met > 400);
}

#[test]
fn strips_join_without_a_seam() {
    // More lines than a strip holds, and a triangle across all strips.
    let part = part(&boxes(&[[[0.0; 3], [50.0, 40.0, 10.0]]], &[]), false);
    let posed = posed(&part, yaw(0.0));
    let grid = Grid::over(&posed, 0.1, 0.0, [0.5, 0.5]).unwrap();
    assert!(Raster::new(&posed, &grid).strips() > 3);
    let lines = lines(&posed, &grid);
    assert_eq!(lines.len(), 500 * 400);
    assert!(
        lines
            .iter()
            .all(|l| l.len() == 2 && l[0].z_mm == 0.0 && l[1].z_mm == 10.0)
    );
}

#[test]
fn voids_of_one_line() {
    let at = |z_mm: f64, enters: bool| Crossing {
        z_mm,
        triangle: 0,
        enters,
    };
    let spans = |line: &[Crossing]| {
        let mut out = Vec::new();
        let matched = voids(line, 1e-6, &mut out);
        (
            matched,
            out.iter().map(|v| (v.from_mm, v.to_mm)).collect::<Vec<_>>(),
        )
    };
    let inf = f64::INFINITY;
    assert_eq!(spans(&[]), (true, vec![(0.0, inf)]));
    assert_eq!(
        spans(&[at(0.0, true), at(2.0, false)]),
        (true, vec![(2.0, inf)])
    );
    assert_eq!(
        spans(&[at(1.0, true), at(2.0, false)]),
        (true, vec![(0.0, 1.0), (2.0, inf)])
    );
    // Overlapping, then touching bodies.
    let overlap = [at(1.0, true), at(2.0, true), at(3.0, false), at(4.0, false)];
    assert_eq!(spans(&overlap), (true, vec![(0.0, 1.0), (4.0, inf)]));
    let touch = [
        at(0.0, true),
        at(2.0, false),
        at(2.0 + 1e-9, true),
        at(3.0, false),
    ];
    assert_eq!(spans(&touch), (true, vec![(3.0, inf)]));
    // A lone floor, a lone ceiling.
    assert_eq!(spans(&[at(3.0, false)]), (false, vec![(3.0, inf)]));
    assert_eq!(spans(&[at(3.0, true)]), (false, vec![(0.0, 3.0)]));
}

#[test]
fn a_grid_that_cannot_be_laid_is_none() {
    let none = part(&Vec::new(), false);
    assert!(Grid::over(&posed(&none, yaw(0.0)), 1.0, 0.0, [0.5; 2]).is_none());
    let some = part(&boxes(&[[[0.0; 3], [1.0; 3]]], &[]), false);
    let some = posed(&some, yaw(0.0));
    for cell in [0.0, -1.0, f64::NAN, f64::INFINITY, 1e-9] {
        assert!(Grid::over(&some, cell, 0.0, [0.5; 2]).is_none());
    }
    assert!(Grid::cell_for(&some, 0, 0.0).is_none());
    let coarse = Grid::over(&some, 100.0, 0.3, [0.9; 2]).unwrap();
    assert_eq!((coarse.nx, coarse.ny), (1, 1));
}

fn small_boxes() -> impl Strategy<Value = Vec<[[i32; 3]; 2]>> {
    let one = (
        prop::array::uniform3(0..6_i32),
        prop::array::uniform3(1..4_i32),
    );
    prop::collection::vec(
        one.prop_map(|(lo, size)| [lo, [0, 1, 2].map(|a| lo[a] + size[a])]),
        1..7,
    )
}

proptest! {
    /// Boxes at whole-number places, each its own body, overlapping and touching at
    /// will: the voids of a line through the middle of a stack of unit cells are
    /// the runs of empty cells.
    #[test]
    fn voids_are_runs_of_empty_cells(list in small_boxes()) {
        let soup: Soup = list.iter().flat_map(|b| boxes(&[b.map(|p| p.map(f64::from))], &[])).collect();
        let low = [0, 1, 2].map(|a| list.iter().map(|b| b[0][a]).min().unwrap());
        let full = |cell: [i32; 3]| {
            list.iter().any(|b| (0..3).all(|a| b[0][a] <= low[a] + cell[a] && low[a] + cell[a] < b[1][a]))
        };
        let part = part(&soup, true);
        let posed = posed(&part, yaw(0.0));
        let grid = Grid::over(&posed, 1.0, 0.0, [0.5; 2]).unwrap();
        let lines = lines(&posed, &grid);
        for j in 0..grid.ny {
            for i in 0..grid.nx {
                let mut found = Vec::new();
                prop_assert!(voids(&lines[j * grid.nx + i], 1e-6, &mut found));
                let mut expected = Vec::new();
                let mut from = Some(0);
                for k in 0..12 {
                    let here = full([i as i32, j as i32, k]);
                    if let (true, Some(f)) = (here, from) {
                        if f < k {
                            expected.push((f64::from(f), f64::from(k)));
                        }
                        from = None;
                    } else if !here && from.is_none() {
                        from = Some(k);
                    }
                }
                expected.push((f64::from(from.unwrap()), f64::INFINITY));
                let spans: Vec<_> = found.iter().map(|v| (v.from_mm, v.to_mm)).collect();
                prop_assert_eq!(spans, expected);
            }
        }
    }

    /// Any closed surface, however it is turned, folded or degenerate once snapped.
    #[test]
    fn any_closed_surface_is_watertight(
        points in prop::collection::vec(prop::array::uniform3(-4..5_i32), 5..12),
        cell in 1..5_u8,
    ) {
        // A fan from one point to a loop and another back: closed whatever the points.
        let p: Vec<Point3<f64>> = points.iter().map(|p| Point3::from(p.map(f64::from))).collect();
        let (tips, ring) = p.split_at(2);
        let soup: Soup = (0..ring.len())
            .flat_map(|k| {
                let (a, b) = (ring[k], ring[(k + 1) % ring.len()]);
                [[tips[0], a, b], [tips[1], b, a]]
            })
            .collect();
        let part = part(&soup, true);
        let posed = posed(&part, yaw(0.0));
        let grid = Grid::over(&posed, f64::from(cell) * 0.25, 0.0, [0.0; 2]).unwrap();
        prop_assert!(lines(&posed, &grid).iter().all(|l| balanced(l)));
    }
}

/// A strip that is stopped leaves no rows of the one before it.
#[test]
fn a_strip_that_is_stopped_leaves_no_rows() {
    let part = part(&sphere(10.0, 24), false);
    let ball = posed(&part, UnitQuaternion::identity());
    let grid = Grid::over(&ball, 0.5, 0.0, [0.0; 2]).expect("a grid");
    let raster = Raster::new(&ball, &grid);
    let mut columns = Dexels::default();
    raster.strip(0, &mut columns, Stop::never());
    assert!(!columns.rows.is_empty());
    raster.strip(0, &mut columns, Stop::when(&|| true));
    assert!(columns.rows.is_empty());
}
