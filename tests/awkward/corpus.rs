//! The files, and one test that holds the program's answer on each to `outcomes.toml`.

mod written;

use crate::bench::{Bench, Triangle, stl};
use crate::formats::text_stl;
use crate::shapes::{self, block, cube, moved, turned};
use serde::Deserialize;
use std::time::{Duration, Instant};

/// Seconds that a search may take; what comes after is a first answer.
const SECONDS: &str = "2";
/// Longest for one call, with a debug build on a busy machine.
const PATIENCE: Duration = Duration::from_secs(60);

/// What the program must answer on one file.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Outcome {
    file: String,
    /// Exit code of `inspect`.
    exit: i32,
    /// A phrase of what it says, on either output.
    says: String,
    /// Exit codes that `advise` may have: two where it depends on the time.
    advise: Vec<i32>,
}

#[derive(Debug, Deserialize)]
struct Outcomes {
    outcome: Vec<Outcome>,
}

type Made = (&'static str, Vec<u8>);

fn surface(name: &'static str, shape: &[Triangle]) -> Made {
    (name, stl(shape))
}

/// Every file of the corpus, by name.
pub fn files() -> Vec<Made> {
    let mut out = solids();
    out.extend(open_and_crossed());
    out.extend(sizes());
    out.extend(crowds());
    out.extend(stl_files());
    out.extend(written::text_files());
    out.extend(written::packages());
    out.extend(written::others());
    out
}

/// Closed surfaces, in and on and beside each other.
fn solids() -> Vec<Made> {
    let box_20 = || cube(20.0);
    let pair = |other: Vec<Triangle>| [box_20(), other].concat();
    let one_flipped = {
        let mut shape = box_20();
        shape[3].swap(0, 1);
        shape
    };
    let checkers: Vec<Triangle> = (0..5)
        .flat_map(|i| (0..5).map(move |j| (i, j)))
        .filter(|(i, j)| (i + j) % 2 == 0)
        .flat_map(|(i, j)| block([10.0 * i as f32, 10.0 * j as f32, 0.0], [10.0; 3]))
        .collect();
    vec![
        surface("a-cube.stl", &box_20()),
        surface("inside-out.stl", &turned(box_20())),
        surface("one-face-flipped.stl", &one_flipped),
        surface("every-other-face-flipped.stl", &{
            let mut shape = box_20();
            shape.iter_mut().step_by(2).for_each(|t| t.swap(0, 1));
            shape
        }),
        surface(
            "two-cubes-on-one-edge.stl",
            &pair(moved(box_20(), [20.0, 20.0, 0.0])),
        ),
        surface(
            "two-cubes-on-one-corner.stl",
            &pair(moved(box_20(), [20.0; 3])),
        ),
        surface(
            "two-cubes-on-one-face.stl",
            &pair(moved(box_20(), [20.0, 0.0, 0.0])),
        ),
        surface("checkers-on-edges.stl", &checkers),
        surface("cube-in-a-cube.stl", &pair(block([5.0; 3], [10.0; 3]))),
        surface("cavity.stl", &pair(turned(block([5.0; 3], [10.0; 3])))),
        surface(
            "cavity-inside-out.stl",
            &turned(pair(turned(block([5.0; 3], [10.0; 3])))),
        ),
        surface("the-same-cube-twice.stl", &pair(box_20())),
        surface("the-same-cube-turned.stl", &pair(turned(box_20()))),
        surface(
            "the-same-cube-a-hair-off.stl",
            &pair(moved(box_20(), [1e-5, 0.0, 0.0])),
        ),
        surface(
            "overlapping-cubes.stl",
            &pair(moved(box_20(), [9.0, 8.0, 7.0])),
        ),
        surface(
            "every-face-three-times.stl",
            &[box_20(), box_20(), box_20()].concat(),
        ),
        surface("loose-corner-on-an-edge.stl", &shapes::with_loose_corners()),
        surface("ring.stl", &shapes::ring(20.0, 6.0)),
        surface("ring-through-itself.stl", &shapes::ring(8.0, 14.0)),
        surface("thin-plate.stl", &block([0.0; 3], [50.0, 50.0, 0.001])),
        surface("thin-wire.stl", &block([0.0; 3], [0.01, 0.01, 100.0])),
    ]
}

/// Surfaces that do not close, or run through themselves.
fn open_and_crossed() -> Vec<Made> {
    let mut lidless = cube(20.0);
    lidless.truncate(10);
    let mut spiked = cube(20.0);
    for p in spiked.as_flattened_mut() {
        if *p == [20.0; 3] {
            *p = [1000.0; 3];
        }
    }
    let bow = [[0.0, 0.0], [20.0, 20.0], [20.0, 0.0], [0.0, 20.0]];
    let sheet = shapes::sheet(12, 0.0);
    vec![
        surface("without-a-lid.stl", &lidless),
        surface("one-triangle.stl", &cube(20.0)[..1]),
        surface("two-triangles-folded.stl", &[cube(20.0)[0], cube(20.0)[4]]),
        surface("flat-sheet.stl", &sheet),
        surface(
            "flat-sheet-of-two-sides.stl",
            &[sheet.clone(), turned(sheet)].concat(),
        ),
        surface("wavy-sheet.stl", &shapes::sheet(12, 1.5)),
        surface("wavy-sheet-of-two-sides.stl", &{
            let waves = shapes::sheet(12, 1.5);
            [waves.clone(), turned(waves)].concat()
        }),
        surface("half-turned-strip.stl", &shapes::half_turned_strip(48)),
        surface("one-sided-bottle.stl", &shapes::one_sided_bottle()),
        surface("bow-tie.stl", &shapes::fan_prism(&bow, 10.0)),
        surface(
            "crossing-star.stl",
            &shapes::fan_prism(&shapes::crossing_star(7), 10.0),
        ),
        surface("spike.stl", &spiked),
        surface(
            "points-on-a-line.stl",
            &[
                [[0.0; 3], [1.0; 3], [2.0; 3]],
                [[3.0; 3], [5.0; 3], [4.0; 3]],
            ],
        ),
        surface("all-in-one-point.stl", &[[[1.0; 3]; 3]; 20]),
        surface("no-triangles.stl", &[]),
    ]
}

/// The very small, the very large, the very far.
fn sizes() -> Vec<Made> {
    let far = moved(cube(20.0), [1e7, 1e7, 1e7]);
    let mut stray = cube(20.0);
    stray[0][0] = [1e15; 3];
    let with = |value: f32| {
        let mut shape = cube(20.0);
        shape[0][0][0] = value;
        shape
    };
    let mut odd_normals = stl(&cube(20.0));
    odd_normals[84..96].copy_from_slice(&[0xff; 12]);
    vec![
        surface("micro-1e-6.stl", &cube(1e-6)),
        surface("micro-1e-30.stl", &cube(1e-30)),
        surface("denormal.stl", &cube(1e-42)),
        surface("huge-1e6.stl", &cube(1e6)),
        surface("huge-1e10.stl", &cube(1e10)),
        surface("huge-3e38.stl", &cube(3e38)),
        surface("long-1e6-by-1.stl", &block([0.0; 3], [1e6, 1.0, 1.0])),
        surface("far-from-the-origin.stl", &far),
        surface("stray-vertex.stl", &stray),
        surface("not-a-number.stl", &with(f32::NAN)),
        surface("infinite.stl", &with(f32::INFINITY)),
        surface("minus-infinite.stl", &with(f32::NEG_INFINITY)),
        ("normals-not-a-number.stl", odd_normals),
        surface("minus-zero.stl", &with(-0.0)),
    ]
}

/// Many of one kind.
fn crowds() -> Vec<Made> {
    vec![
        surface(
            "needle.stl",
            &shapes::fan_prism(&[[0.0, 0.0], [0.001, 0.0], [0.0, 0.001]], 100.0),
        ),
        surface("needles-500.stl", &shapes::needles(500)),
        surface("soup-300.stl", &shapes::soup(300, 1)),
        surface("book-of-500-leaves.stl", &shapes::book(500)),
        surface("drum-of-2000-sides.stl", &shapes::drum(2000)),
        surface("tetrahedra-1000.stl", &shapes::tetrahedra(1000)),
        surface("nest-of-200.stl", &shapes::nest(200, false)),
        surface("nest-of-200-cavities.stl", &shapes::nest(200, true)),
        surface(
            "crumbs-beside-a-cube.stl",
            &[
                cube(20.0),
                (0..50)
                    .flat_map(|k| shapes::tetrahedron([30.0, k as f32, 0.0], 0.01))
                    .collect(),
            ]
            .concat(),
        ),
    ]
}

/// Containers of STL, with words and counts that are off.
fn stl_files() -> Vec<Made> {
    let good = stl(&cube(20.0));
    let counted = |count: u32| {
        let mut bytes = good.clone();
        bytes[80..84].copy_from_slice(&count.to_le_bytes());
        bytes
    };
    let mut solid = good.clone();
    solid[..12].copy_from_slice(b"solid binary");
    let text = text_stl(&cube(20.0));
    let with = |from: &str, to: &str| text.replacen(from, to, 1).into_bytes();
    let wide: Vec<u8> = [
        vec![0xff, 0xfe],
        text.encode_utf16().flat_map(u16::to_le_bytes).collect(),
    ]
    .concat();
    vec![
        ("count-too-high.stl", counted(1000)),
        ("count-of-four-milliards.stl", counted(u32::MAX)),
        ("count-too-low.stl", counted(3)),
        ("count-of-zero.stl", counted(0)),
        ("header-says-solid.stl", solid),
        (
            "text-behind-the-records.stl",
            [&good[..], b"made by hand"].concat(),
        ),
        ("zeros-alone.stl", vec![0; 84]),
        ("upper-case.stl", text.to_uppercase().into_bytes()),
        ("without-endsolid.stl", with("endsolid made\n", "")),
        (
            "decimal-comma.stl",
            text.replace("20 ", "20,5 ").into_bytes(),
        ),
        ("wide-characters.stl", wide),
        (
            "byte-order-mark.stl",
            [b"\xef\xbb\xbf", text.as_bytes()].concat(),
        ),
        ("lines-end-in-cr.stl", text.replace('\n', "\r").into_bytes()),
        ("all-in-one-line.stl", text.replace('\n', " ").into_bytes()),
        (
            "four-corners-a-facet.stl",
            with("endloop", "vertex 1 2 3\nendloop"),
        ),
        (
            "facet-in-a-facet.stl",
            with("endloop", "facet normal 0 0 1\nendloop"),
        ),
        (
            "number-of-300-digits.stl",
            with("20 ", &format!("{} ", "9".repeat(300))),
        ),
        (
            "ends-in-a-word.stl",
            text.as_bytes()[..text.len() - 20].to_vec(),
        ),
        (
            "two-solids.stl",
            [
                text.as_bytes(),
                text_stl(&moved(cube(20.0), [40.0, 0.0, 0.0])).as_bytes(),
            ]
            .concat(),
        ),
    ]
}

/// A text with one space between words: columns are as wide as what stands in them.
fn plain(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn every_awkward_file_has_its_written_outcome() {
    let table: Outcomes =
        toml::from_str(include_str!("outcomes.toml")).expect("outcomes.toml is a table");
    let files = files();
    let bench = Bench::new();
    let show = std::env::var_os("WAYUP_OUTCOMES").is_some();
    let mut wrong = Vec::new();
    for (name, bytes) in &files {
        bench.write(name, bytes);
        let began = Instant::now();
        let looked = bench.run(&["inspect", "--", name]);
        let advised = bench.run(&[
            "advise",
            "--json",
            "--top",
            "1",
            "--seconds",
            SECONDS,
            "--",
            name,
        ]);
        let took = began.elapsed();
        let said = format!("{}{}", looked.out, looked.err).replace("\n  ", " ");
        if show {
            let line = said
                .lines()
                .find(|l| l.contains("error: "))
                .unwrap_or(&said);
            println!(
                "{name:?}\t{}\t{}\t{took:?}\t{line:?}",
                looked.code, advised.code
            );
            continue;
        }
        let Some(wanted) = table.outcome.iter().find(|o| o.file == *name) else {
            wrong.push(format!("{name:?} has no outcome in the table"));
            continue;
        };
        if looked.code != wanted.exit || !plain(&said).contains(&plain(&wanted.says)) {
            wrong.push(format!(
                "inspect {name:?}: {} {said}\nwanted: {wanted:?}",
                looked.code
            ));
        }
        if !wanted.advise.contains(&advised.code) {
            let (code, err) = (advised.code, &advised.err);
            wrong.push(format!("advise {name:?}: {code} {err}\nwanted: {wanted:?}"));
        }
        for said in [&looked, &advised] {
            if said.err.contains("panicked") || said.err.contains("internal error") {
                wrong.push(format!("{name:?} breaks the program: {}", said.err));
            }
        }
        if took > PATIENCE {
            wrong.push(format!("{name:?} takes {took:?}"));
        }
    }
    assert!(files.len() >= 80, "{} files", files.len());
    for outcome in &table.outcome {
        if !files.iter().any(|(name, _)| *name == outcome.file) {
            wrong.push(format!(
                "{:?} is in the table and nowhere else",
                outcome.file
            ));
        }
    }
    assert!(
        wrong.is_empty(),
        "{} wrong:\n{}",
        wrong.len(),
        wrong.join("\n")
    );
}
