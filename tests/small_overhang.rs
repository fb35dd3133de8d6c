//! Overhang that prints without support as a rule, against closed forms, and small parts
//! of the kind that people design for one way up.

#[path = "../examples/demo_parts/bench/solid.rs"]
#[allow(dead_code, reason = "these tests use a share of the shapes")]
mod solid;

use manifold_rust::manifold::Manifold;
use nalgebra::{Point3, Unit, Vector3};
use solid::{Along, block, circle, finish, prism, rod, turned, union};
use wayup::advice::{self, RankedPose};
use wayup::figures::Figures;
use wayup::figures::quick::Bench;
use wayup::mesh::{Mesh, Part};
use wayup::pose::Hull;
use wayup::rank::search::{Silent, Wanted, angle_deg};
use wayup::settings::Settings;

fn part(solid: &Manifold) -> Part {
    Part::new(finish(std::slice::from_ref(solid)))
        .expect("a solid")
        .0
}

fn measured(solid: &Manifold, down: [f64; 3]) -> RankedPose {
    let part = part(solid);
    let settings = Settings::default();
    let hull = Hull::new(&part.mesh.vertices).expect("a hull");
    let bench = Bench::new(&part, &settings, hull);
    advice::measure(&bench, Unit::new_normalize(Vector3::from(down)))
}

fn figures(solid: &Manifold, down: [f64; 3]) -> Figures {
    measured(solid, down).figures
}

const DOWN: [f64; 3] = [0.0, 0.0, -1.0];

/// A block 30 × 40 × 40 with a round hole of 128 chords along X.
fn drilled(diameter: f64) -> Manifold {
    let hole = prism(
        &circle([20.0, 20.0], diameter / 2.0, 32),
        Along::X,
        -1.0,
        31.0,
    );
    block([0.0; 3], [30.0, 40.0, 40.0]).difference(&hole)
}

fn close(a: f64, b: f64, share: f64) {
    assert!((a - b).abs() <= share * b.abs(), "{a} is not {b}");
}

/// A lying hole of diameter d has a roof beyond 45.5° of chord d·cos 45.5° and of arc
/// d/2 · 89° (worked example of the handbook table: ∅10 at 45°, chord 7.07). Up to a chord of the bridge
/// limit of 10 mm it needs nothing, up to 20 mm it may sag, beyond that it is overhang.
#[test]
fn the_roof_of_a_lying_hole_is_charged_by_its_chord() {
    for (diameter, small, wide) in [
        (8.0, true, false),
        (14.0, true, false),
        (15.0, false, true),
        (28.0, false, true),
        (29.0, false, false),
    ] {
        let f = figures(&drilled(diameter), DOWN);
        let roof = 30.0 * diameter / 2.0 * 89.0_f64.to_radians();
        // Chords: the roof begins at a whole one of 2.8°.
        close(f.overhang_area_mm2, roof, 0.04);
        if small {
            close(f.overhang_light_mm2, f.overhang_area_mm2, 1e-9);
            assert!(f.support_needed_mm3 < 0.03 * f.support_volume_mm3, "{f:?}");
        }
        if wide {
            close(f.overhang_wide_mm2, f.overhang_area_mm2, 1e-9);
            close(f.support_wide_mm3, f.support_needed_mm3, 0.05);
        }
        if !small && !wide {
            assert!(f.overhang_charged_mm2 > 0.3 * roof);
        }
    }
}

/// A lying bar of diameter 10 touches at ±11.5° (z = 0.1) and hangs over up to 44.5°, 1.43 mm over
/// the bed: that prints (common practice). All of it counts a seventh, but for the strip below 15°,
/// nearly level. On one of diameter 40 it does so up to 1.5 mm (22.3°); what is higher hangs.
#[test]
fn slopes_low_over_the_bed_are_no_charged_overhang() {
    let share = |of: f64, radius: f64| 2.0 * 60.0 * radius * of.to_radians();
    for (radius, low, higher) in [(5.0, 44.5 - 15.0, 0.0), (20.0, 22.3 - 15.0, 44.5 - 22.3)] {
        let bar = prism(&circle([0.0, radius], radius, 256), Along::X, 0.0, 60.0);
        let f = figures(&bar, DOWN);
        close(f.overhang_low_slope_mm2, share(low, radius), 0.04);
        let level = libm::acos(1.0 - 0.1 / radius).to_degrees();
        let rest = share(higher + 15.0 - level, radius);
        close(f.overhang_charged_mm2 + f.overhang_wide_mm2, rest, 0.06);
        let sum = f.overhang_charged_mm2 + f.overhang_wide_mm2 + f.overhang_light_mm2;
        close(sum, f.overhang_area_mm2, 1e-9);
        // The advice still knows of all of it.
        close(f.overhang_needed_mm2(), rest + share(low, radius), 0.04);
    }
    // Lifted by a plate it is no longer low.
    let bar = prism(&circle([0.0, 5.0], 5.0, 256), Along::X, 0.0, 60.0);
    let raised = union([bar, block([-1.0, -1.0, -3.0], [0.5, 1.0, 0.5])]);
    assert_eq!(figures(&raised, DOWN).overhang_low_slope_mm2, 0.0);
}

/// The void below that roof: ∫ 2√(r² − x²) dx over the chord, times the length.
#[test]
fn the_void_below_a_small_roof_is_the_segment_between_chord_and_circle() {
    let f = figures(&drilled(12.0), DOWN);
    let (r, lean) = (6.0_f64, 45.5_f64.to_radians());
    let a = r * libm::cos(lean);
    let void = 30.0 * 2.0 * (a * (r * r - a * a).sqrt() + r * r * libm::asin(a / r));
    close(f.support_volume_mm3, void, 0.04);
    // What bridges do not carry is forgiven.
    assert!(f.support_after_bridges_mm3 > 0.2 * void);
    assert!(f.support_needed_mm3 < 0.03 * void);
}

/// Wall area times sin² of the angle between axis and vertical: 0 upright, all of it
/// lying, a quarter at 30°.
#[test]
fn bores_lie_by_the_square_of_the_sine() {
    let solid = drilled(8.0);
    let wall = 30.0 * 128.0 * 8.0 * libm::sin(std::f64::consts::PI / 128.0);
    assert!(figures(&solid, [-1.0, 0.0, 0.0]).bores_lying_mm2 < 1e-9 * wall);
    close(figures(&solid, DOWN).bores_lying_mm2, wall, 1e-4);
    let (s, c) = libm::sincos(30.0_f64.to_radians());
    close(
        figures(&solid, [c, s, 0.0]).bores_lying_mm2,
        wall / 4.0,
        1e-3,
    );
}

/// A block with four holes ∅3.4 that open into wider ones at the bottom.
fn counterbored(wide: f64) -> Manifold {
    let mut solid = block([0.0; 3], [60.0, 40.0, 12.0]);
    for (x, y) in [(12.0, 10.0), (48.0, 10.0), (12.0, 30.0), (48.0, 30.0)] {
        solid = solid.difference(&rod([x, y], 1.7, Along::Z, -1.0, 13.0));
        solid = solid.difference(&rod([x, y], wide / 2.0, Along::Z, -1.0, 4.0));
    }
    solid
}

/// The ring above a screw head of ∅6.5 reaches 1.55 mm past the wall: it prints (common
/// practice). One of ∅12 reaches 4.3 mm and does not.
#[test]
fn a_ring_above_a_screw_head_is_a_ledge() {
    let narrow = figures(&counterbored(6.5), DOWN);
    let disc = |d: f64| 32.0 / 2.0 * (d / 2.0).powi(2) * libm::sin(std::f64::consts::TAU / 32.0);
    close(
        narrow.overhang_light_mm2,
        4.0 * (disc(6.5) - disc(3.4)),
        1e-3,
    );
    assert!(narrow.overhang_charged_mm2 < 1e-9 && narrow.support_needed_mm3 < 5.0);
    let broad = figures(&counterbored(12.0), DOWN);
    assert!(broad.overhang_charged_mm2 > 10.0 && broad.support_needed_mm3 > 20.0);
}

/// The lower edge of a fin that hangs in the air is as narrow as a ledge, but nothing
/// holds it along its length.
#[test]
fn the_edge_of_a_hanging_fin_is_no_ledge() {
    let solid = union([
        block([0.0; 3], [20.0, 20.0, 40.0]),
        block([20.0, 9.4, 20.0], [60.0, 10.6, 40.0]),
    ]);
    let f = figures(&solid, DOWN);
    close(f.overhang_charged_mm2, 40.0 * 1.2, 1e-6);
    close(f.support_needed_mm3, 40.0 * 1.2 * 20.0, 0.02);
}

/// A plate whose upper edges are chamfered by 2 at 45°: two pairs of trapezoids.
#[test]
fn chamfers_are_an_underside_only_when_they_face_down() {
    let half = |low: [f64; 2], high: [f64; 2]| {
        let lift = |p: [f64; 2], z: f64| [p[0], p[1], z];
        block(lift(low, 0.0), lift(high, 8.0))
    };
    let wedge = |along: Along, at: f64, way: f64, to: f64| {
        prism(
            &if way > 0.0 {
                vec![[at, 6.0], [at, 9.0], [at - 3.0, 9.0]]
            } else {
                vec![[at, 6.0], [at + 3.0, 9.0], [at, 9.0]]
            },
            along,
            -1.0,
            to,
        )
    };
    let plate = half([0.0, 0.0], [50.0, 30.0])
        .difference(&wedge(Along::Y, 50.0, 1.0, 31.0))
        .difference(&wedge(Along::Y, 0.0, -1.0, 31.0))
        .difference(&wedge(Along::X, 30.0, 1.0, 51.0))
        .difference(&wedge(Along::X, 0.0, -1.0, 51.0));
    let slope = 2.0 * 2.0_f64.sqrt();
    let area = slope * (50.0 + 46.0 + 30.0 + 26.0);
    let (up, down) = (measured(&plate, DOWN), measured(&plate, [0.0, 0.0, 1.0]));
    assert!(up.figures.underside_area_mm2 < 1e-9);
    // Less what lies below touch height, a twentieth of the height of 2.
    close(down.figures.underside_area_mm2, area * 0.95, 0.01);
    assert!(up.total < down.total);
}

fn holes(solid: Manifold, at: &[[f64; 2]], radius: f64) -> Manifold {
    at.iter().fold(solid, |s, &c| {
        s.difference(&rod(c, radius, Along::Z, -50.0, 90.0))
    })
}

/// Parts that are designed for one way up, −Z: what a practitioner sees at a glance.
#[test]
fn parts_designed_for_one_way_up_are_printed_that_way() {
    let corners = |a: f64, b: f64| [[a, a], [a, b], [b, a], [b, b]];
    let motor_mount = {
        let plate = block([0.0; 3], [50.0, 50.0, 6.0]);
        let wall = block([0.0, 44.0, 0.0], [50.0, 50.0, 45.0]);
        let gusset = |x: f64| {
            prism(
                &[[4.0, 6.0], [44.0, 6.0], [44.0, 45.0]],
                Along::X,
                x,
                x + 5.0,
            )
        };
        let solid = union([plate, wall, gusset(0.0), gusset(45.0)]);
        let solid = solid.difference(&rod([25.0, 22.0], 11.5, Along::Z, -1.0, 7.0));
        let solid = [15.0, 35.0].iter().fold(solid, |s, &x| {
            s.difference(&rod([x, 30.0], 2.6, Along::Y, 40.0, 60.0))
        });
        holes(solid, &corners(9.5, 40.5), 1.7)
    };
    let carriage = {
        let solid = [8.0, 40.0]
            .iter()
            .fold(block([0.0; 3], [70.0, 60.0, 5.0]), |s, &y| {
                let seat = block([10.0, y, 5.0], [60.0, y + 22.0 - 10.0, 14.0]);
                union([s, seat]).difference(&rod([y + 6.0, 14.0], 4.1, Along::X, 0.0, 70.0))
            });
        holes(solid, &[[35.0, 30.0], [20.0, 30.0]], 1.7)
    };
    let knob = rod([0.0, 0.0], 16.0, Along::Z, 0.0, 14.0)
        .difference(&rod([0.0, 0.0], 13.5, Along::Z, 2.0, 15.0))
        .union(&rod([0.0, 0.0], 5.5, Along::Z, 1.0, 14.0))
        .difference(&rod([0.0, 0.0], 3.0, Along::Z, 3.0, 15.0));
    let bearing_holder = holes(
        block([0.0; 3], [60.0, 30.0, 12.0]),
        &[[8.0, 15.0], [52.0, 15.0]],
        2.2,
    )
    .difference(&rod([30.0, 15.0], 9.0, Along::Z, -1.0, 13.0))
    .difference(&rod([30.0, 15.0], 11.0, Along::Z, 5.0, 13.0));
    let box_lid = {
        let lip = block([3.0, 3.0, 2.0], [77.0, 57.0, 5.0])
            .difference(&block([5.0, 5.0, 1.0], [75.0, 55.0, 6.0]));
        union([block([0.0; 3], [80.0, 60.0, 2.5]), lip])
    };
    let screwed_base = {
        let posts = [20.0, 40.0]
            .iter()
            .map(|&x| rod([x, 20.0], 5.0, Along::Z, 10.0, 26.0));
        posts.fold(counterbored(6.5), |s, p| s.union(&p))
    };
    for (name, solid) in [
        ("motor mount", motor_mount),
        ("carriage", carriage),
        ("knob", knob),
        ("bearing holder", bearing_holder),
        ("box lid", box_lid),
        ("base with screws from below", screwed_base),
    ] {
        let part = part(&solid);
        let settings = Settings::default();
        let hull = Hull::new(&part.mesh.vertices).expect("a hull");
        let bench = Bench::new(&part, &settings, hull);
        let wanted = Wanted {
            named: Vec::new(),
            top: 2,
        };
        let advice = advice::advise(&bench, &wanted, &Silent).expect("never stopped");
        let first = &advice.poses[0];
        assert!(
            angle_deg(&first.pose.down, &-Vector3::z_axis()) < 1.0,
            "{name}: {}",
            advice.verdict
        );
        assert!(
            first.figures.support_needed_mm3 < 10.0,
            "{name}: {}",
            advice.verdict
        );
    }
}

/// Two lying holes one above the other: below the upper roof lies its own floor, a
/// diameter down, not that of the lower hole; below the block lies nothing.
#[test]
fn a_void_ends_at_the_next_surface() {
    let hole = |z: f64| prism(&circle([20.0, z], 4.0, 32), Along::X, -1.0, 31.0);
    let solid = block([0.0; 3], [30.0, 40.0, 40.0])
        .difference(&hole(12.0))
        .difference(&hole(28.0));
    let part = part(&solid);
    let settings = Settings::default();
    let hull = Hull::new(&part.mesh.vertices).expect("a hull");
    let bench = Bench::new(&part, &settings, hull);
    let down = -Vector3::z_axis();
    let below = |z: f64| bench.void_below(&Point3::new(11.3, 20.1, z), &down);
    for top in [16.0, 32.0] {
        close(below(top - 0.01).expect("a floor"), 8.0, 5e-3);
    }
    assert_eq!(below(0.0), None);
}

/// A stud Ø 20 with a V thread of pitch 2 and flanks of 30° to the level, 1.5 mm deep: the lower
/// flank leans 60° and is as wide as 1.5 mm / cos 30°. It prints upright without support
/// (common practice), as a bevelled ring of that width does.
#[test]
fn the_flank_of_a_thread_is_small_and_one_three_times_as_deep_is_not() {
    for (depth, small) in [(1.2_f64, true), (4.0, false)] {
        let flank = depth * libm::tan(30.0_f64.to_radians());
        let mut rings: Vec<[f64; 2]> = vec![[0.0, 0.0], [10.0, 0.0]];
        let mut z = 6.0;
        for _ in 0..3 {
            rings.extend([
                [10.0, z],
                [10.0 + depth, z + flank],
                [10.0 + depth, z + flank + 0.3],
            ]);
            z += 2.0 * flank + 0.3;
            rings.push([10.0, z]);
            z += 4.0;
        }
        rings.extend([[10.0, z], [0.0, z]]);
        let stud = turned(&rings, 48);
        let f = figures(&stud, DOWN);
        assert!(f.overhang_area_mm2 > 200.0, "{f:?}");
        if small {
            close(f.overhang_light_mm2, f.overhang_area_mm2, 1e-9);
        } else {
            assert!(f.overhang_light_mm2 < 0.01 * f.overhang_area_mm2, "{f:?}");
        }
    }
}

/// A stud of radius 12 with a thread of pitch 4 whose profile is a sine, five turns. Rows of points
/// climb by a pitch a turn; below and above them a plain wall goes to a level end.
fn rounded_thread(depth: f64) -> Mesh {
    const SIDES: u32 = 64;
    const STEPS: u32 = 16;
    const ROWS: u32 = 5 * STEPS;
    let mut mesh = Mesh::default();
    let mut point = |along: f64, turn: f64, z: f64| {
        let wave = libm::cos(std::f64::consts::TAU * along);
        let radius = 12.0 - depth / 2.0 * (1.0 - wave);
        let (s, c) = libm::sincos(std::f64::consts::TAU * turn);
        mesh.vertices.push(Point3::new(radius * c, radius * s, z));
        mesh.vertices.len() as u32 - 1
    };
    // Row by row; of the seam a turn more, where the last row has climbed to.
    let helix = |row: u32, k: u32| {
        let (along, turn) = (
            f64::from(row) / f64::from(STEPS),
            f64::from(k) / f64::from(SIDES),
        );
        (along, turn, 6.0 + 4.0 * (along + turn))
    };
    let ids: Vec<Vec<u32>> = (0..=ROWS + STEPS)
        .map(|row| {
            let most = if row <= ROWS { SIDES } else { 1 };
            (0..most)
                .map(|k| {
                    let (along, turn, z) = helix(row, k);
                    point(along, turn, z)
                })
                .collect()
        })
        .collect();
    let mut level = |z: f64| -> Vec<u32> {
        (0..SIDES)
            .map(|k| point(0.0, f64::from(k) / f64::from(SIDES), z))
            .collect()
    };
    let (foot, head) = (level(0.0), level(40.0));
    let at = |row: u32, k: u32| {
        let (row, k) = if k == SIDES {
            (row + STEPS, 0)
        } else {
            (row, k)
        };
        ids[row as usize][k as usize]
    };
    let ring = |ring: &[u32], k: u32| ring[(k % SIDES) as usize];
    // Convex outlines, counter-clockwise from outside.
    let mut faces: Vec<Vec<u32>> = Vec::new();
    for k in 0..SIDES {
        for row in 0..ROWS {
            faces.push(vec![
                at(row, k),
                at(row, k + 1),
                at(row + 1, k + 1),
                at(row + 1, k),
            ]);
        }
        let (low, high) = (
            [ring(&foot, k), ring(&foot, k + 1)],
            [ring(&head, k + 1), ring(&head, k)],
        );
        let seam = |from: u32| (from..=from + STEPS).map(|row| at(row, 0));
        let mut wall = vec![at(0, k)];
        wall.extend(low);
        if k + 1 == SIDES {
            wall.extend(seam(0));
        } else {
            wall.push(at(0, k + 1));
        }
        faces.push(wall);
        let mut wall = vec![at(ROWS, k + 1)];
        wall.extend(high);
        if k == 0 {
            wall.extend(seam(ROWS).collect::<Vec<_>>().into_iter().rev());
        } else {
            wall.push(at(ROWS, k));
        }
        faces.push(wall);
    }
    faces.push(foot.iter().rev().copied().collect());
    faces.push(head);
    for face in &faces {
        for pair in face[1..].windows(2) {
            mesh.triangles.push([face[0], pair[0], pair[1]]);
        }
    }
    mesh
}

/// A knuckle thread prints upright as others do (common practice). Where its sine is steepest it leans
/// atan(π · depth / pitch): 57.5° of a depth of 2, 78° of 6, which is no thread to be printed so.
#[test]
fn the_flank_of_a_rounded_thread_is_small_and_a_deep_one_is_not() {
    for (depth, small) in [(2.0, true), (6.0, false)] {
        let part = Part::new(rounded_thread(depth)).expect("a solid").0;
        assert!(part.closed);
        let settings = Settings::default();
        let hull = Hull::new(&part.mesh.vertices).expect("a hull");
        let bench = Bench::new(&part, &settings, hull);
        let f = advice::measure(&bench, Unit::new_normalize(Vector3::from(DOWN))).figures;
        assert!(f.overhang_area_mm2 > 100.0, "{f:?}");
        let light = f.overhang_light_mm2 / f.overhang_area_mm2;
        assert!(
            if small { light > 0.95 } else { light < 0.1 },
            "{light}: {f:?}"
        );
    }
}

/// A flight of stairs seen from below, twelve treads of 1 mm on risers of 0.4 mm: each tread is
/// as narrow as a ledge, but together they lean 68° and reach 12 mm.
#[test]
fn a_stair_of_narrow_treads_is_no_row_of_ledges() {
    let steps = |tread: f64, riser: f64| {
        let treads = (0..12).map(|k| {
            let (k, z) = (f64::from(k), 40.0);
            let under = z - 12.0 * riser + k * riser;
            block([k * tread, 0.0, under], [(k + 1.0) * tread, 30.0, z])
        });
        figures(
            &union(treads.chain([block([-20.0, 0.0, 0.0], [0.0, 30.0, 40.0])])),
            DOWN,
        )
    };
    let f = steps(1.0, 0.4);
    close(f.overhang_area_mm2, 360.0, 1e-6);
    // The first one alone has a wall below it.
    close(f.overhang_light_mm2, 30.0, 1e-6);
    // With risers as high as the treads it leans 45°, and each holds the next.
    let f = steps(1.0, 1.0);
    close(f.overhang_light_mm2, f.overhang_area_mm2, 1e-6);
}
