//! What must hold of every ranked list, on the demo parts.

use nalgebra::{Point3, Rotation3, Vector3};
use std::path::{Path, PathBuf};
use wayup::figures::quick::Bench;
use wayup::mesh::{Part, ReadOptions, read_path};
use wayup::pose::Hull;
use wayup::pose::twins::Symmetry;
use wayup::rank::search::{Search, Silent, Wanted, angle_deg};
use wayup::rank::{self, Advice, Origin};
use wayup::settings::Settings;

fn demo_files() -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("meshes");
    let mut files: Vec<PathBuf> = std::fs::read_dir(folder)
        .expect("the demo parts")
        .map(|e| e.expect("an entry").path())
        .filter(|p| p.extension().is_some_and(|e| e != "md"))
        .collect();
    files.sort();
    assert!(files.len() >= 13, "{} demo parts", files.len());
    files
}

fn part(path: &Path) -> Part {
    let mut loaded = read_path(path, &ReadOptions::default()).expect("a mesh");
    loaded.take_part().expect("a solid").0
}

fn advised(part: &Part, settings: &Settings) -> Advice {
    let hull = Hull::new(&part.mesh.vertices).expect("a hull");
    let bench = Bench::new(part, settings, hull);
    rank::advise(
        &bench,
        &Wanted {
            named: Vec::new(),
            top: 5,
        },
        &Silent,
    )
}

#[test]
fn totals_are_sums_in_order_and_entries_are_apart() {
    let settings = Settings::default();
    for file in demo_files() {
        let part = part(&file);
        let hull = Hull::new(&part.mesh.vertices).expect("a hull");
        let symmetry = Symmetry::detect(&part, &hull);
        let advice = advised(&part, &settings);
        let name = file.display();
        assert!(advice.poses.len() >= 2, "{name}");
        for pose in &advice.poses {
            let sum: f64 = pose.charges.iter().map(|c| c.value).sum();
            assert!((sum - pose.total).abs() < 1e-9, "{name}");
            assert!(pose.charges.iter().all(|c| c.value >= 0.0), "{name}");
            assert!((pose.pose.rotation().matrix().determinant() - 1.0).abs() < 1e-9);
        }
        for pair in advice.poses.windows(2) {
            if pair[0].gates.is_empty() == pair[1].gates.is_empty() {
                assert!(pair[0].total <= pair[1].total, "{name}");
            } else {
                assert!(pair[0].gates.is_empty(), "{name}: a gated pose comes first");
            }
        }
        for (i, a) in advice.poses.iter().enumerate() {
            for b in &advice.poses[i + 1..] {
                let apart = symmetry.apart_deg(&a.pose.down, &b.pose.down);
                assert!(apart > 9.99, "{name}: entries {apart}° apart");
            }
        }
    }
}

/// The search leaves out what its bound says cannot win: so the bound must hold.
#[test]
fn no_total_lies_below_its_bound() {
    let settings = Settings::default();
    for file in demo_files() {
        let part = part(&file);
        let hull = Hull::new(&part.mesh.vertices).expect("a hull");
        let bench = Bench::new(&part, &settings, hull);
        let search = Search::new(&bench);
        for down in [
            Vector3::new(0.0, 0.0, -1.0),
            Vector3::new(0.0, 1.0, 0.0),
            Vector3::new(-0.6, 0.3, 0.8),
        ] {
            let down = nalgebra::Unit::new_normalize(down);
            let candidate = search.candidate(down, Origin::Named);
            let bound = candidate.bound;
            let total = search.score(candidate).total;
            assert!(
                bound <= total + 1e-9,
                "{}: bound {bound} above total {total}",
                file.display()
            );
        }
    }
}

/// A part that was turned at random before it was written in single precision gets
/// the same answer in its own frame.
#[test]
fn a_turned_part_gets_the_same_answer() {
    let settings = Settings::default();
    let turn = Rotation3::from_euler_angles(0.71, -1.13, 2.3);
    for name in ["page-holder.stl", "mouthpiece-tray.stl", "mute-cradle.off"] {
        let file = Path::new(env!("CARGO_MANIFEST_DIR"))
            .join("meshes")
            .join(name);
        let straight = part(&file);
        let mut mesh = straight.mesh.clone();
        for p in &mut mesh.vertices {
            *p = Point3::from((turn * *p).coords.map(|c| f64::from(c as f32)));
        }
        let turned = Part::new(mesh).expect("a solid").0;
        let (a, b) = (advised(&straight, &settings), advised(&turned, &settings));
        let (first, again) = (&a.poses[0], &b.poses[0]);
        assert!(
            (first.total - again.total).abs() < 0.02 * first.total,
            "{name}: {} and {}",
            first.total,
            again.total
        );
        let hull = Hull::new(&straight.mesh.vertices).expect("a hull");
        let symmetry = Symmetry::detect(&straight, &hull);
        let back = turn.inverse() * again.pose.down;
        assert!(
            symmetry.apart_deg(&first.pose.down, &back) < 0.1,
            "{name}: {}° apart",
            angle_deg(&first.pose.down, &back)
        );
    }
}
