//! Bytes that are changed at random, again and again, for as long as `WAYUP_FUZZ_SECONDS` says for
//! each target (half a second where it says nothing): nothing may panic or take long.
//!
//! It needs no more than a stable compiler. What is changed are the files of the corpus and small
//! texts; a finding is written to `tests/out` with the words of the panic, and belongs
//! into `corpus.rs` as a file of its own, with its outcome. `tests/run fuzz` runs all targets for a minute.

use crate::bench::stl;
use crate::corpus;
use crate::formats;
use crate::shapes::{self, Random};
use std::fs;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;
use std::time::{Duration, Instant};
use wayup::advice;
use wayup::checks::require::Requirement;
use wayup::figures::quick::Bench;
use wayup::mesh::{Mesh, Part, ReadOptions, read_bytes};
use wayup::pose::Hull;
use wayup::rank::search::Search;
use wayup::report::first::FirstAnswer;
use wayup::report::json::PartFacts;
use wayup::session::config::in_force;
use wayup::settings::Settings;
use wayup::settings::overrides::Overrides;

/// Longest for one input: small ones, without optimisation, beside other tests.
const LONGEST: Duration = Duration::from_secs(20);

/// Runs a target on changed seeds until the time is over. `WAYUP_SEED` sets where it begins.
fn hunt(target: &str, seeds: &[Vec<u8>], run: impl Fn(&[u8])) {
    let number = |name: &str| std::env::var(name).ok()?.parse::<f64>().ok();
    let seconds = number("WAYUP_FUZZ_SECONDS").unwrap_or(0.5);
    let mut random = Random::new(number("WAYUP_SEED").unwrap_or(1.0) as u64 + target.len() as u64);
    let (began, mut runs) = (Instant::now(), 0_u64);
    while runs < seeds.len() as u64 || began.elapsed().as_secs_f64() < seconds {
        let seed = &seeds[runs as usize % seeds.len()];
        // Each seed as it is, first.
        let input = if runs < seeds.len() as u64 {
            seed.clone()
        } else {
            changed(seed, &seeds[random.below(seeds.len())], &mut random)
        };
        let one = Instant::now();
        let ended = catch_unwind(AssertUnwindSafe(|| run(&input)));
        // On a busy machine a short run may wait long: it is too long if it is so twice.
        let is_long = || {
            let again = Instant::now();
            let _ = catch_unwind(AssertUnwindSafe(|| run(&input)));
            again.elapsed() > LONGEST
        };
        if ended.is_err() || (one.elapsed() > LONGEST && is_long()) {
            let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/out");
            let file = folder.join(format!("found-{target}-{runs}"));
            let _ = fs::create_dir_all(&folder);
            fs::write(&file, &input).expect("written");
            let what = if ended.is_err() {
                "panics"
            } else {
                "takes too long"
            };
            panic!("{target} {what} on tests/out/found-{target}-{runs}");
        }
        runs += 1;
    }
    println!(
        "{target}: {runs} runs in {:.1} s",
        began.elapsed().as_secs_f64()
    );
}

/// Numbers at which programs stumble.
const ODD: [&str; 12] = [
    "0",
    "-1",
    "1e309",
    "nan",
    "-0.0",
    "4294967296",
    "1e-320",
    "inf",
    "99999999999999999999",
    "0x1",
    "",
    "1.",
];

/// A few changes: bits, bytes, numbers, pieces left out, doubled, or taken from another seed.
fn changed(seed: &[u8], other: &[u8], random: &mut Random) -> Vec<u8> {
    let mut out = seed.to_vec();
    for _ in 0..=random.below(4) {
        let at = random.below(out.len() + 1).min(out.len().saturating_sub(1));
        let end = (at + 1 + random.below(32)).min(out.len());
        match random.below(9) {
            _ if out.is_empty() => out.push(random.bits() as u8),
            0 => out[at] ^= 1 << random.below(8),
            1 => out[at] = random.bits() as u8,
            2 => drop(out.drain(at..end)),
            3 => {
                let piece = out[at..end].to_vec();
                out.splice(at..at, piece);
            }
            4 if !other.is_empty() => {
                let from = random.below(other.len());
                let to = (from + 1 + random.below(64)).min(other.len());
                out.splice(at..end, other[from..to].iter().copied());
            }
            5 => {
                let number = ODD[random.below(ODD.len())];
                let digits = |b: &u8| b.is_ascii_digit() || *b == b'.';
                let begin = out[at..].iter().position(digits).map_or(at, |k| at + k);
                let length = out[begin..].iter().take_while(|b| digits(b)).count();
                out.splice(begin..begin + length, number.bytes());
            }
            6 => out.truncate(at),
            7 => {
                let count = (random.bits() as u32).to_le_bytes();
                let end = (at + 4).min(out.len());
                out.splice(at..end, count);
            }
            _ => out[at] = [0, 0xff, b'\n', b' ', b'"', b'<', b'#', b'-'][random.below(8)],
        }
    }
    out
}

/// Reads bytes and makes the part, in a second at most.
fn read(bytes: &[u8]) {
    let options = ReadOptions {
        until: Instant::now().checked_add(Duration::from_secs(1)),
        inflate_limit: 4_000_000,
        triangle_limit: 200_000,
        ..ReadOptions::default()
    };
    match read_bytes("changed", bytes, &options) {
        Ok(mut loaded) => {
            let closed = loaded.take_part().map(|(part, _)| part.closed);
            let _ = closed;
        }
        Err(error) => assert!(!error.to_string().is_empty()),
    }
}

/// The files of the corpus with one of these endings, small ones.
fn small_files(endings: &[&str]) -> Vec<Vec<u8>> {
    corpus::files()
        .into_iter()
        .filter(|(name, bytes)| endings.iter().any(|e| name.ends_with(e)) && bytes.len() < 4000)
        .map(|(_, bytes)| bytes)
        .collect()
}

#[test]
fn changed_stl_files() {
    hunt("stl", &small_files(&[".stl"]), read);
}

#[test]
fn changed_obj_ply_and_off_files() {
    hunt("text", &small_files(&[".obj", ".ply", ".off"]), read);
}

#[test]
fn changed_packages() {
    hunt("zip", &small_files(&[".3mf"]), read);
}

/// The XML by itself: a changed byte of a package is mostly a wrong checksum.
#[test]
fn changed_models() {
    let shape = shapes::tetrahedron([0.0; 3], 20.0);
    let object = format!(r#"<object id="1">{}</object>"#, formats::mesh_xml(&shape));
    let within = r#"<object id="2"><components><component objectid="1" transform="1 0 0 0 1 0 0 0 1 5 5 5"/></components></object>"#;
    let models = [
        formats::model_xml(&object, r#"<item objectid="1"/>"#),
        formats::model_xml(
            &(object + within),
            r#"<item objectid="2" transform="0 1 0 1 0 0 0 0 1 0 0 0"/>"#,
        ),
    ];
    hunt("xml", &models.map(String::into_bytes), |bytes| {
        read(&formats::zipped(&[
            ("_rels/.rels", br#"<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Target="/3D/3dmodel.model" Id="r" Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"/></Relationships>"#),
            ("3D/3dmodel.model", bytes),
        ]));
    });
}

/// Corners on a grid of small whole numbers: facets coincide, cross and vanish (an idea of
/// meshoptimizer's tests). Each part is measured in all figures of its first poses.
#[test]
fn figures_of_small_whole_numbers() {
    let random_bytes = |seed: u64| {
        let mut random = Random::new(seed);
        (0..120).map(|_| random.bits() as u8).collect::<Vec<u8>>()
    };
    let seeds: Vec<Vec<u8>> = (1..9).map(random_bytes).collect();
    hunt("figures", &seeds, |bytes| {
        let at = |k: usize| f64::from(bytes.get(k).copied().unwrap_or(0) % 4) * 5.0;
        let vertices = (0..12)
            .map(|v| nalgebra::Point3::new(at(3 * v), at(3 * v + 1), at(3 * v + 2)))
            .collect();
        let triangles = bytes
            .chunks_exact(3)
            .skip(12)
            .map(|t| [t[0], t[1], t[2]].map(|b| u32::from(b) % 12))
            .collect();
        let mesh = Mesh {
            vertices,
            triangles,
        };
        let Ok((part, defects)) = Part::new(mesh) else {
            return;
        };
        let settings = Settings {
            layer_mm: 2.0,
            first_layer_mm: 2.0,
            ..Settings::default()
        };
        let Ok(hull) = Hull::new(&part.mesh.vertices) else {
            return;
        };
        let bench = Bench::new(&part, &settings, hull);
        let search = Search::new(&bench);
        let facts = PartFacts::new(&part, &defects, Vec::new());
        let first = FirstAnswer::new(&bench, &search, facts, in_force(&settings, &[]));
        assert!(!first.verdict.is_empty());
        for down in first.poses.iter().map(|p| p.pose.down).take(2) {
            let told = advice::measure(&bench, down);
            let said = told.precautions.concat() + &told.faults.concat();
            assert!(!said.contains("NaN") && !said.contains("inf"), "{said}");
            let f = &told.figures;
            assert!(f.height_mm >= 0.0 && f.support_needed_mm3 >= 0.0 && f.contact_area_mm2 >= 0.0);
        }
    });
}

#[test]
fn changed_settings() {
    let seeds = [
        "layer_mm = 0.2\nlimit_deg = 45\nmaterial = \"PLA\"\n",
        "bed_mm = [250, 210, 200]\nshow = [[0, 0, 1], [1, 0, 0]]\naim = \"strong\"\n",
        "units = \"in\"\nload = [0, 0, -1]\n[weights]\nsupport = 2.5\n",
    ];
    hunt("settings", &seeds.map(|s| s.as_bytes().to_vec()), |bytes| {
        let text = String::from_utf8_lossy(bytes);
        match Overrides::from_toml(&text) {
            Ok(given) => drop(Settings::default().with(&given)),
            Err(error) => assert!(!error.to_string().is_empty() && !error.hint().is_empty()),
        }
    });
}

#[test]
fn changed_requirements() {
    let seeds = [
        "height_mm <= 120 and not needs_support",
        "support_needed_mm3 < 2.5 cm³ or bridge_longest_mm * 2 >= 10 mm",
        "(contact_area_mm2 / 2 > 1e2) and part.bodies == 1",
    ];
    hunt(
        "requirements",
        &seeds.map(|s| s.as_bytes().to_vec()),
        |bytes| {
            let text = String::from_utf8_lossy(bytes);
            if let Err(flaw) = text.parse::<Requirement>() {
                assert!(!flaw.to_string().is_empty());
            }
        },
    );
}

/// A database of this version, or one that says it is of an earlier or later one, with changed bytes,
/// or cut short: opened, taken over, read and exported, or
/// refused; the file of somebody else is never written over.
#[cfg(feature = "library")]
#[test]
fn changed_databases() {
    use wayup::library::{export, store};
    let bench = crate::bench::Bench::new();
    bench.write("parts/part.stl", stl(&shapes::cube(20.0)));
    let said = bench.run(&["library", "parts", "--out", "out", "--seconds", "5"]);
    assert!([0, 1].contains(&said.code), "{}", said.err);
    let whole = fs::read(bench.path("out").join(store::FILE)).expect("a database");
    // The version of the tables stands at byte 60 (SQLite, *Database File Format*, 1.3).
    let of_version = |version: u32| {
        let mut bytes = whole.clone();
        bytes[60..64].copy_from_slice(&version.to_be_bytes());
        bytes
    };
    let seeds: Vec<Vec<u8>> = [0, 1, 2, 3, 4].map(of_version).into();
    let folder = tempfile::tempdir().expect("a folder");
    hunt("database", &seeds, |bytes| {
        for entry in fs::read_dir(folder.path()).expect("a folder") {
            fs::remove_file(entry.expect("an entry").path()).expect("removed");
        }
        fs::write(folder.path().join(store::FILE), bytes).expect("written");
        if let Ok(store) = store::Store::open(folder.path()) {
            let _ = export::write(folder.path(), &store);
        }
    });
}
