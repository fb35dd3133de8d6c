//! What separate bodies of a file are, and what is said of them.

mod common;

use common::{block, inside_out, measured, part, sharp, together, turned};
use nalgebra::Point3;
use wayup::advice::RankedPose;
use wayup::mesh::Mesh;
use wayup::settings::Settings;

const DOWN: [f64; 3] = [0.0, 0.0, -1.0];
const ON_SIDE: [f64; 3] = [0.0, -1.0, 0.0];

fn advice(bodies: &[Mesh], down: [f64; 3]) -> RankedPose {
    measured(&part(together(bodies)), &Settings::default(), down)
}

fn said(pose: &RankedPose, key: &str) -> Option<String> {
    let notes = &pose.precautions_detail;
    notes.iter().find(|n| n.key == key).map(|n| n.says.clone())
}

#[track_caller]
fn nothing_of_bodies(bodies: &[Mesh]) {
    let pose = advice(bodies, DOWN);
    for key in ["stray_crumbs", "separate_parts", "print_in_place"] {
        assert_eq!(said(&pose, key), None);
    }
}

/// A tube about z.
fn tube(outer: f64, inner: f64, height: f64, n: usize) -> Mesh {
    let mut mesh = Mesh::default();
    for (r, z) in [(outer, 0.0), (outer, height), (inner, height), (inner, 0.0)] {
        for k in 0..n {
            let (s, c) = libm::sincos(std::f64::consts::TAU * k as f64 / n as f64);
            mesh.vertices.push(Point3::new(r * c, r * s, z));
        }
    }
    let at = |ring: usize, k: usize| (ring % 4 * n + k % n) as u32;
    for ring in 0..4 {
        for k in 0..n {
            let (a, b) = (at(ring, k), at(ring, k + 1));
            let (c, d) = (at(ring + 1, k + 1), at(ring + 1, k));
            mesh.triangles.extend([[a, b, c], [a, c, d]]);
        }
    }
    mesh
}

fn rod(radius: f64, from: f64, to: f64) -> Mesh {
    turned(&[[0.0, from], [radius, from], [radius, to], [0.0, to]], 32)
}

#[test]
fn a_crumb_beside_the_part_is_to_be_deleted_and_counts_for_nothing() {
    let plate = block([0.0; 3], [30.0, 20.0, 10.0]);
    let pose = advice(&[plate, block([40.0, 5.0, 4.0], [0.4, 0.3, 0.4])], DOWN);
    let says = said(&pose, "stray_crumbs").expect("told");
    assert!(
        says.starts_with("Delete the loose crumb of 0.4 mm at x 40.2, y 5.2, z 4.2 in the file"),
        "{says}"
    );
    assert_eq!(said(&pose, "separate_parts"), None);
    // It begins in the air, and nothing is lost with it.
    assert_eq!(pose.figures.islands.len(), 1);
    assert_eq!(said(&pose, "starts_in_the_air"), None);
    assert!(!pose.needs_support);
    let sizes: Vec<f64> = (pose.card.lines.iter().take(3))
        .map(|l| l.nominal_mm)
        .collect();
    assert_eq!(sizes, [30.0, 20.0, 10.0]);
    // A part of the same size is no crumb.
    let pose = advice(
        &[
            block([0.0; 3], [30.0, 20.0, 10.0]),
            block([40.0, 5.0, 4.0], [4.0, 3.0, 4.0]),
        ],
        DOWN,
    );
    let support = said(&pose, "support").expect("an island is held");
    assert!(
        support.contains("for an underside of 12 mm² at z = 4 mm (an island)"),
        "{support}"
    );
    assert_eq!(said(&pose, "stray_crumbs"), None);
}

#[test]
fn crumbs_inside_the_part_are_found_too_and_told_once() {
    let outside = turned(&[[0.0, 0.0], [10.0, 0.0], [10.0, 30.0], [0.0, 30.0]], 48);
    let cavity = turned(&[[0.0, 2.0], [8.0, 2.0], [8.0, 28.0], [0.0, 28.0]], 48);
    let crumb = |z: f64, size: f64| block([1.0, 2.0, z], [size; 3]);
    let can = [
        outside,
        inside_out(cavity),
        crumb(12.0, 0.3),
        crumb(17.0, 0.5),
    ];
    let pose = measured(&part(together(&can)), &sharp(), DOWN);
    let says = said(&pose, "stray_crumbs").expect("told");
    assert!(
        says.starts_with("Delete the 2 loose crumbs, the largest 0.5 mm"),
        "{says}"
    );
    for key in ["separate_parts", "print_in_place", "starts_in_the_air"] {
        assert_eq!(said(&pose, key), None);
    }
}

#[test]
fn a_nut_beside_its_bolt_is_two_parts() {
    let bolt = rod(4.0, 0.0, 30.0);
    let mut nut = tube(8.0, 4.2, 6.0, 6);
    for p in &mut nut.vertices {
        p.x += 14.0;
    }
    let pose = advice(&[bolt, nut], DOWN);
    let says = said(&pose, "separate_parts").expect("told");
    assert!(
        says.starts_with("Two parts lie in this file, apart from each other: print them as separate parts, each in its own best pose."),
        "{says}"
    );
    assert_eq!(said(&pose, "print_in_place"), None);
}

#[test]
fn hundreds_of_parts_are_one_sentence() {
    let many: Vec<Mesh> = (0..200_u32)
        .map(|k| {
            let (i, j) = (f64::from(k % 20), f64::from(k / 20));
            block([5.0 * i, 5.0 * j, 0.0], [3.0, 3.0, 2.0])
        })
        .collect();
    let pose = advice(&many, DOWN);
    let of_bodies = pose
        .precautions_detail
        .iter()
        .filter(|n| n.key == "separate_parts");
    let says: Vec<&str> = of_bodies.map(|n| n.says.as_str()).collect();
    assert_eq!(says.len(), 1);
    assert!(
        says[0].starts_with("200 parts lie in this file"),
        "{says:?}"
    );
}

#[test]
fn a_pin_in_its_bore_is_printed_in_place() {
    let pinned = [tube(10.0, 5.0, 12.0, 48), rod(4.6, 0.0, 12.0)];
    let pose = advice(&pinned, DOWN);
    let says = said(&pose, "print_in_place").expect("told");
    assert!(
        says.starts_with("A body runs in another with a gap of 0.4 mm all round"),
        "{says}"
    );
    for what in [
        "keep support out of the gap",
        "work it free after cooling",
        "first layers",
    ] {
        assert!(says.contains(what), "{says}");
    }
    assert_eq!(said(&pose, "separate_parts"), None);
    // A pin with a chamfer at the bed does not grow on to the bore there.
    let chamfered = turned(
        &[[0.0, 0.0], [4.2, 0.0], [4.6, 1.0], [4.6, 12.0], [0.0, 12.0]],
        32,
    );
    let pose = advice(&[tube(10.0, 5.0, 12.0, 48), chamfered], DOWN);
    let says = said(&pose, "print_in_place").expect("told");
    assert!(!says.contains("first layers"), "{says}");
    // Lying, it begins a gap above the bore: it rests there, and is not lost.
    let pose = advice(&pinned, ON_SIDE);
    let says = said(&pose, "print_in_place").expect("told");
    assert!(!says.contains("first layers"), "{says}");
    assert_eq!(said(&pose, "starts_in_the_air"), None);
}

/// A pin that is off the middle of its bore by 0.2 mm has 0.2 mm left on one side.
#[test]
fn an_uneven_gap_is_told_where_it_is_narrowest() {
    let mut pin = rod(4.6, 0.0, 12.0);
    for p in &mut pin.vertices {
        p.x += 0.2;
    }
    let pose = advice(&[tube(10.0, 5.0, 12.0, 48), pin], DOWN);
    let says = said(&pose, "print_in_place").expect("told");
    assert!(
        says.starts_with("A body runs in another with a gap of 0.2 mm where it is narrowest:"),
        "{says}"
    );
}

#[test]
fn what_crosses_touches_or_hangs_together_gets_no_remark() {
    let plate = || block([0.0; 3], [30.0, 20.0, 4.0]);
    nothing_of_bodies(&[plate(), block([5.0, 5.0, 2.0], [6.0, 6.0, 9.0])]);
    // Letters that stand on a face, and a stud no larger than a crumb.
    nothing_of_bodies(&[plate(), block([5.0, 5.0, 4.0], [6.0, 2.0, 0.8])]);
    nothing_of_bodies(&[plate(), block([5.0, 5.0, 4.0], [0.5, 0.5, 0.5])]);
    // Two halves side by side.
    nothing_of_bodies(&[plate(), block([30.0, 0.0, 0.0], [30.0, 20.0, 4.0])]);
    // One within the material of the other.
    nothing_of_bodies(&[plate(), block([5.0, 5.0, 1.0], [6.0, 6.0, 2.0])]);
}

/// A ring hung loosely round a post: no plane parts them, and the gap is no bearing's.
#[test]
fn a_body_round_another_is_told_as_a_part_of_its_own() {
    let pose = advice(&[tube(12.0, 8.0, 5.0, 32), rod(4.0, 0.0, 20.0)], DOWN);
    let told = said(&pose, "separate_parts").expect("told");
    assert!(
        told.starts_with("2 bodies lie in this file that touch nowhere, one round another"),
        "{told}"
    );
    assert_eq!(said(&pose, "print_in_place"), None);
}

/// Many bodies one in the other, asked by more threads than the machine has: each thread that waits takes up
/// other work, and none may wait for itself.
#[test]
fn many_bodies_within_one_have_an_answer_on_many_threads() {
    let ball = |radius: f64| {
        let profile: Vec<[f64; 2]> = (0..=30)
            .map(|k| libm::sincos(std::f64::consts::PI * f64::from(k) / 30.0))
            .map(|(s, c)| [radius * s.abs(), -radius * c])
            .collect();
        turned(&profile, 60)
    };
    // Shells one in the other, every second the wall of a hollow: each holds all that come after it.
    let shells = (0..30).map(|k| (k, ball(60.0 - f64::from(k))));
    let bodies: Vec<Mesh> = shells
        .map(|(k, shell)| if k % 2 == 0 { shell } else { inside_out(shell) })
        .collect();
    let mesh = together(&bodies);
    let (done, answers) = std::sync::mpsc::channel();
    // Left behind where it hangs, so that the test can say so.
    std::thread::spawn(move || {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(8).build();
        let pool = pool.expect("threads");
        for _ in 0..60 {
            let one = pool.install(|| part(mesh.clone()));
            if done
                .send(one.bodies.iter().filter(|b| b.cavity).count())
                .is_err()
            {
                return;
            }
        }
    });
    for _ in 0..60 {
        let cavities = answers.recv_timeout(std::time::Duration::from_secs(60));
        assert_eq!(cavities.ok(), Some(15));
    }
}
