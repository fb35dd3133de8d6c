//! The demo parts: the files in the repository are what the generator makes, and
//! the meshes are closed, of the stated size and, where a closed form is at hand,
//! of the right volume.

#[path = "../examples/demo_parts/bench/mod.rs"]
mod bench;

use bench::{DemoPart, PARTS};
use std::collections::BTreeMap;
use std::path::Path;
use wayup::mesh::{DefectKind, Mesh, ReadOptions, read_bytes};

fn part(file: &str) -> DemoPart {
    PARTS
        .into_iter()
        .find(|p| p.file == file)
        .expect("a demo part")
}

/// How often each directed edge occurs, less how often its reverse does.
fn open_edges(mesh: &Mesh) -> Vec<(u32, u32)> {
    let mut count: BTreeMap<(u32, u32), i32> = BTreeMap::new();
    for t in &mesh.triangles {
        for k in 0..3 {
            *count.entry((t[k], t[(k + 1) % 3])).or_default() += 1;
        }
    }
    let paired =
        |&(a, b): &(u32, u32)| count.get(&(a, b)) == Some(&1) && count.get(&(b, a)) == Some(&1);
    count.keys().copied().filter(|e| !paired(e)).collect()
}

/// The lowest vertex joined with `v`, halving the paths on the way.
fn find(root: &mut [usize], mut v: usize) -> usize {
    while root[v] != v {
        root[v] = root[root[v]];
        v = root[v];
    }
    v
}

/// Signed volumes of the connected shells, in the order of their first triangle.
fn shell_volumes(mesh: &Mesh) -> Vec<f64> {
    let mut root: Vec<usize> = (0..mesh.vertices.len()).collect();
    for t in &mesh.triangles {
        for k in 1..3 {
            let (a, b) = (
                find(&mut root, t[0] as usize),
                find(&mut root, t[k] as usize),
            );
            root[a.max(b)] = a.min(b);
        }
    }
    let mut shells: BTreeMap<usize, f64> = BTreeMap::new();
    for (i, t) in mesh.triangles.iter().enumerate() {
        let [a, b, c] = mesh.corners(i).map(|p| p.coords);
        *shells.entry(find(&mut root, t[0] as usize)).or_default() += a.dot(&b.cross(&c)) / 6.0;
    }
    shells.into_values().collect()
}

fn volume(file: &str) -> f64 {
    shell_volumes(&(part(file).make)()).iter().sum()
}

fn close(measured: f64, expected: f64) {
    assert!(
        (measured - expected).abs() < 1e-5 * expected.abs(),
        "{measured} is not {expected}"
    );
}

/// Area over r² of a regular polygon with `n` corners.
fn disc(n: f64) -> f64 {
    n / 2.0 * libm::sin(std::f64::consts::TAU / n)
}

/// Volume of a plate with chamfers of 1 on both faces and corners of 8 chords a
/// quarter turn: the section is quadratic in the inset, so Simpson's rule is exact.
fn plate_volume([x, y, z]: [f64; 3], r: f64) -> f64 {
    let section = |c: f64| (x - 2.0 * c) * (y - 2.0 * c) - (4.0 - disc(32.0)) * (r - c) * (r - c);
    section(0.0) * (z - 2.0) + 2.0 * (section(0.0) + 4.0 * section(0.5) + section(1.0)) / 6.0
}

#[test]
fn files_are_what_the_generator_makes() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let written = bench::write_all(folder.path()).expect("written");
    assert_eq!(written.len(), PARTS.len() + 1);
    let kept = Path::new(env!("CARGO_MANIFEST_DIR")).join("meshes");
    let mut total = 0;
    for path in written {
        let name = path.file_name().expect("a name");
        let [new, old] = [&path, &kept.join(name)].map(|p| std::fs::read(p).expect("a file"));
        assert!(
            new == old,
            "meshes/{} is not what the generator makes; \
             run `cargo run --release --example demo_parts -- meshes`",
            name.display()
        );
        assert!(new.len() < 500_000, "{} is too large", name.display());
        total += new.len();
    }
    assert!(total < 3_000_000, "the demo parts are too large together");
}

#[test]
fn surfaces_are_closed_and_consistently_turned() {
    for part in PARTS {
        let mesh = (part.make)();
        let open = open_edges(&mesh);
        assert_eq!(
            open.is_empty(),
            part.file != "broken-clip.stl",
            "{}: {open:?}",
            part.file
        );
    }
}

#[test]
fn broken_clip_lacks_faces_and_has_turned_ones() {
    let (good, broken) = (
        (part("stand-clip.stl").make)(),
        (part("broken-clip.stl").make)(),
    );
    let turned = broken
        .triangles
        .iter()
        .filter(|t| !good.triangles.contains(t) && good.triangles.contains(&[t[0], t[2], t[1]]))
        .count();
    let missing = good.triangles.len() - broken.triangles.len();
    assert!(
        turned >= 50 && missing >= 50,
        "{turned} turned, {missing} missing"
    );
}

#[test]
fn sizes_are_as_stated() {
    // The bell's and the clip's are from the profile: rim, lip and arc end.
    let horn = 2.0 * (33.0 + 1.2);
    let comb_x = 2.0 * 179.0 * libm::sin(26.0_f64.to_radians());
    let comb_z = 179.0 - 165.0 * libm::cos(26.0_f64.to_radians());
    for (file, size) in [
        ("page-holder.stl", [110.0, 28.0, 114.0]),
        ("mouthpiece-tray.stl", [108.0, 74.0, 22.0]),
        ("valve-oil-rack.stl", [100.0, 36.0, 34.0]),
        ("wall-hanger.stl", [58.0, 18.0, 110.0]),
        ("reed-case.stl", [78.0, 66.0, 16.0]),
        ("mute-cradle.off", [90.0, 70.0, 54.0]),
        ("tuning-key-tag.stl", [62.0, 24.0, 3.8]),
        ("stand-foot.stl", [270.0, 34.0, 26.0]),
        ("cable-saddle.3mf", [43.18, 12.7, 10.287]),
    ] {
        let (low, high) = (part(file).make)().bounds().expect("vertices");
        let extent = high - low;
        for k in 0..3 {
            assert!(
                (extent[k] - size[k]).abs() < 3e-4,
                "{file}: {extent:?} is not {size:?}"
            );
        }
    }
    let (low, high) = (part("bell-spout.ply").make)().bounds().expect("vertices");
    assert!((high - low).x <= horn && (high - low).x > 0.999 * horn);
    let (low, high) = (part("drum-rim-comb.obj").make)()
        .bounds()
        .expect("vertices");
    assert!(((high - low).x - comb_x).abs() < 3e-4);
    assert!((high - low).z > comb_z && (high - low).y == 6.0);
}

#[test]
fn files_read_back_as_made() {
    for part in PARTS {
        let made = (part.make)();
        let bytes = part.bytes().expect("written");
        let mut loaded = read_bytes(part.file, &bytes, &ReadOptions::default()).expect("a mesh");
        assert_eq!(loaded.units, part.units, "{}", part.file);
        let (read, defects) = loaded.take_part().expect("a part");
        let ((low, high), (made_low, made_high)) = (
            read.mesh.bounds().expect("vertices"),
            made.bounds().expect("vertices"),
        );
        assert!(
            (low - made_low).amax() < 1e-4 && (high - made_high).amax() < 1e-4,
            "{}",
            part.file
        );
        let kinds: Vec<DefectKind> = defects.iter().map(|d| d.kind).collect();
        let expected: &[DefectKind] = match part.file {
            "broken-clip.stl" => &[DefectKind::OpenEdges, DefectKind::FlippedFaces],
            "tuning-key-tag.stl" => &[DefectKind::SelfOverlap],
            _ => &[],
        };
        assert_eq!(kinds, expected, "{}", part.file);
        assert_eq!(read.closed, part.file != "broken-clip.stl", "{}", part.file);
    }
}

#[test]
fn volumes_are_the_closed_forms() {
    let wells = 3.0 * 24.0 * disc(64.0) * 13.5 * 13.5;
    let slot = 100.0 * 8.0 * 4.0;
    close(
        volume("valve-oil-rack.stl"),
        plate_volume([100.0, 36.0, 34.0], 4.0) - wells - slot,
    );

    let lead_in = disc(64.0) * (15.0 * 15.0 + 15.0 * 16.0 + 16.0 * 16.0) / 3.0;
    let pocket = disc(64.0) * 15.0 * 15.0 * 17.0 + lead_in + disc(32.0) * 2.5 * 2.5 * 4.0;
    close(
        volume("mouthpiece-tray.stl"),
        plate_volume([108.0, 74.0, 22.0], 6.0) - 6.0 * pocket,
    );
}

#[test]
fn reed_case_has_four_sealed_chambers() {
    let volumes = shell_volumes(&(part("reed-case.stl").make)());
    let cavities: Vec<f64> = volumes.iter().copied().filter(|v| *v < 0.0).collect();
    assert_eq!((volumes.len(), cavities.len()), (5, 4));
    for v in cavities {
        close(-v, 70.0 * (11.5 * 2.0 + 5.75 * 5.75));
    }
}

#[test]
fn tag_letters_are_bodies_of_their_own() {
    let volumes = shell_volumes(&(part("tuning-key-tag.stl").make)());
    assert_eq!(volumes.len(), 5);
    // The E: strokes 2 wide, a half disc at each of the four free or corner ends of
    // the stem's line and the bars', 1.2 high.
    let ends = disc(16.0);
    let stem = 10.0 * 2.0 + ends;
    let bars = 2.0 * (6.5 - 1.0) * 2.0 + (5.5 - 1.0) * 2.0;
    // A bar's root disc lies within the stem's line; its own end is half a disc, and
    // on the root's far side a corner of the stem's round end is filled.
    let corner_fill = 1.0 * 1.0 - ends / 4.0;
    let area = stem + bars + 3.0 * ends / 2.0 + 2.0 * corner_fill;
    assert!(
        volumes.iter().any(|v| (v - 1.2 * area).abs() < 1e-2),
        "{volumes:?}, {}",
        1.2 * area
    );
}

#[test]
fn parts_stand_on_the_side_that_the_table_names() {
    for part in PARTS {
        let mesh = (part.make)();
        for down in part.down {
            let down = nalgebra::Vector3::from(*down);
            let lowest = mesh
                .vertices
                .iter()
                .map(|p| p.coords.dot(&down))
                .fold(f64::MIN, f64::max);
            let flat: f64 = (0..mesh.triangles.len())
                .map(|t| mesh.corners(t))
                .filter(|c| c.iter().all(|p| lowest - p.coords.dot(&down) < 1e-9))
                .map(|[a, b, c]| (b - a).cross(&(c - a)).norm() / 2.0)
                .sum();
            let (low, high) = mesh.bounds().expect("vertices");
            let share = flat / (high - low).dot(&(high - low)) * 100.0;
            // The spout has no flat on purpose.
            assert_eq!(
                share > 1.0,
                part.file != "bell-spout.ply",
                "{}: {share}",
                part.file
            );
        }
    }
}

/// The sides that the table of the demo parts would lay on the bed, chosen by hand for
/// each part's lesson, against the program's own first place.
#[test]
fn the_first_place_is_a_side_that_a_practitioner_would_choose() {
    use wayup::figures::quick::Bench;
    use wayup::pose::Hull;
    use wayup::rank::search::{Silent, Wanted, angle_deg};
    let settings = wayup::settings::Settings::default();
    for demo in PARTS {
        let path = Path::new(env!("CARGO_MANIFEST_DIR"))
            .join("meshes")
            .join(demo.file);
        let bytes = std::fs::read(path).expect("a demo file");
        let mut loaded = read_bytes(demo.file, &bytes, &ReadOptions::default()).expect("a mesh");
        let part = loaded.take_part().expect("a part").0;
        let hull = Hull::new(&part.mesh.vertices).expect("a hull");
        let bench = Bench::new(&part, &settings, hull);
        let wanted = Wanted {
            named: Vec::new(),
            top: 2,
        };
        let advice = wayup::advice::advise(&bench, &wanted, &Silent).unwrap();
        let first = advice.poses[0].pose.down;
        let chosen = demo.down.iter().any(|d| {
            let side = nalgebra::Unit::new_normalize(nalgebra::Vector3::from(*d));
            angle_deg(&side, &first) < 1.0
        });
        assert!(chosen, "{}: {}", demo.file, advice.verdict);
        assert!(!advice.no_good_pose, "{}: {}", demo.file, advice.verdict);
    }
}
