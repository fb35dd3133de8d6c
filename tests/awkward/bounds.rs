//! Bounds on time, whatever the surface: an answer, or a reason why there is none.

use crate::bench::{Bench, Triangle, stl};
use crate::formats::{mesh_xml, model_xml, package};
use crate::shapes::{self, Random, cube};
use std::time::{Duration, Instant};
use wayup::mesh::{ReadOptions, read_bytes};
use wayup::session::clock::deadline;

/// How late a stop may come in these tests: far above what a release needs (README), since they run
/// without optimisation beside others.
const LATE: Duration = Duration::from_secs(30);

/// `advise` on a surface that cannot be measured in time: the first answer, exit 7, and soon.
#[track_caller]
fn gives_a_first_answer_or_more(name: &str, shape: &[Triangle], seconds: &str) {
    let bench = Bench::new();
    bench.write(name, stl(shape));
    let began = Instant::now();
    let said = bench.run(&["advise", "--json", "--seconds", seconds, name]);
    let (took, limit) = (began.elapsed(), seconds.parse::<f64>().expect("a number"));
    assert!(
        took < Duration::from_secs_f64(limit) + LATE,
        "{name} took {took:?}"
    );
    assert!(
        [0, 4, 7].contains(&said.code),
        "{name}: {} {}",
        said.code,
        said.err
    );
    let answer: serde_json::Value = serde_json::from_str(&said.out).expect("an answer");
    assert_eq!(answer["first_answer"] == true, said.code == 7, "{name}");
    assert!(
        answer["poses"].as_array().is_some_and(|p| !p.is_empty()),
        "{name}"
    );
    let height = answer["poses"][0]["figures"]["height_mm"].as_f64();
    assert!(height.is_some_and(|h| h > 0.0), "{name}: {}", said.out);
}

#[test]
fn a_soup_of_20_000_triangles_has_an_answer() {
    gives_a_first_answer_or_more("soup.stl", &shapes::soup(20_000, 3), "5");
}

#[test]
fn a_drum_whose_hub_has_100_000_facets_has_an_answer() {
    gives_a_first_answer_or_more("drum.stl", &shapes::drum(100_000), "20");
}

/// Its faces are fans from one corner, of triangles that overlap in one plane: cut aslant, hundreds
/// of edges lie on one line but for the last bits. United as they are, one section takes hours.
#[test]
fn a_star_whose_sides_all_cross_has_an_answer() {
    let star = shapes::fan_prism(&shapes::crossing_star(1501), 10.0);
    gives_a_first_answer_or_more("star.stl", &star, "10");
}

#[test]
fn ten_thousand_facets_on_one_edge_have_an_answer() {
    gives_a_first_answer_or_more("book.stl", &shapes::book(10_000), "5");
}

#[test]
fn two_thousand_bodies_in_each_other_have_an_answer() {
    let mut random = Random::new(4);
    let shape: Vec<Triangle> = (0..2000)
        .flat_map(|_| shapes::tetrahedron(random.point(50.0), 30.0))
        .collect();
    gives_a_first_answer_or_more("heap.stl", &shape, "5");
}

#[test]
fn a_hundred_thousand_needles_have_an_answer() {
    gives_a_first_answer_or_more("needles.stl", &shapes::needles(100_000), "20");
}

#[test]
fn a_hundred_thousand_bodies_apart_have_an_answer() {
    gives_a_first_answer_or_more("bodies.stl", &shapes::tetrahedra(100_000), "30");
}

/// Each was held against all others, so that four times as many took sixteen times as long.
#[test]
fn loose_facets_are_not_held_against_each_other_one_by_one() {
    let seconds = |count: usize| {
        let bytes = stl(&shapes::needles(count));
        let began = Instant::now();
        let loaded = read_bytes("needles", &bytes, &ReadOptions::default());
        loaded.expect("read").take_part().expect("a part");
        began.elapsed().as_secs_f64()
    };
    let (few, many) = (seconds(40_000), seconds(160_000));
    assert!(many < 9.0 * few + 1.0, "{few} s, then {many} s");
}

#[test]
fn a_small_package_cannot_ask_for_a_million_objects() {
    let item = r#"<item objectid="1"/>"#.repeat(200_000);
    let object = format!(r#"<object id="1">{}</object>"#, mesh_xml(&cube(1.0)));
    let bench = Bench::new();
    bench.write("many.3mf", package(&model_xml(&object, &item)));
    let said = bench.run(&["inspect", "many.3mf"]);
    said.refuses(3, "places 200000 objects", "export the parts one by one");
}

/// One long step of the reading is not waited for.
#[test]
fn the_time_limit_holds_while_a_file_is_read() {
    let bench = Bench::new();
    bench.write("soup.stl", stl(&shapes::soup(100_000, 5)));
    let began = Instant::now();
    let said = bench.run(&["advise", "--seconds", "0.05", "soup.stl"]);
    assert_eq!(said.code, 7, "{}", said.err);
    assert!(
        said.err.contains("--seconds ended the work"),
        "{}",
        said.err
    );
    assert!(
        began.elapsed() < Duration::from_secs(3),
        "{:?}",
        began.elapsed()
    );
}

/// A polygon of so many corners as no drawing has.
#[test]
fn a_polygon_of_300_000_corners_is_read_in_time() {
    let corners = 300_000;
    let mut text = String::new();
    for z in ["0", "10"] {
        for k in 0..corners {
            let (s, c) = libm::sincos(std::f64::consts::TAU * f64::from(k) / f64::from(corners));
            let far = 50.0 + 5.0 * libm::sin(0.01 * f64::from(k));
            text += &format!("v {:.5} {:.5} {z}\n", far * c, far * s);
        }
    }
    for (first, sense) in [(corners, -1), (corners + 1, 1)] {
        text += "f";
        for k in 0..corners {
            text += &format!(" {}", first + sense * k);
        }
        text += "\n";
    }
    let bench = Bench::new();
    bench.write("polygon.obj", text);
    let began = Instant::now();
    let said = bench.run(&["advise", "--seconds", "1", "polygon.obj"]);
    assert!([0, 7].contains(&said.code), "{}", said.err);
    assert!(began.elapsed() < LATE, "{:?}", began.elapsed());
}

/// A soup of any size and spread: read, made a part and told of within a bound that grows with its
/// size, or refused. Other ones each day (`WAYUP_SEED`).
#[test]
fn any_soup_gives_an_answer_or_a_reason_in_time() {
    let seed = std::env::var("WAYUP_SEED")
        .ok()
        .and_then(|s| s.parse().ok());
    let mut random = Random::new(seed.unwrap_or(1));
    let bench = Bench::new();
    // All sizes from a triangle to a hundred thousand, by ratio.
    for round in 0..8 {
        let count = libm::pow(10.0, 5.0 * f64::from(random.unit())) as usize;
        let size = libm::powf(10.0, 4.0 * random.unit() - 1.0);
        // Short facets in a wide space, or long ones; on a grid, where many coincide, or not.
        let (reach, grid) = (size * random.unit(), random.below(2) == 0);
        let mut shape = Vec::with_capacity(count);
        for _ in 0..count {
            let at = random.point(size);
            shape.push([(); 3].map(|()| {
                let off = random.point(reach);
                [0, 1, 2].map(|k| {
                    let x = at[k] + off[k];
                    if grid {
                        (x * 8.0 / size).round() * size / 8.0
                    } else {
                        x
                    }
                })
            }));
        }
        bench.write("soup.stl", stl(&shape));
        let began = Instant::now();
        let said = bench.run(&["advise", "--json", "--seconds", "2", "soup.stl"]);
        let what = format!("round {round}: {count} of {reach} mm in {size} mm, on a grid: {grid}");
        assert!(
            [0, 3, 4, 7].contains(&said.code),
            "{what}: {} {}",
            said.code,
            said.err
        );
        assert!(!said.err.contains("panicked"), "{what}: {}", said.err);
        assert!(began.elapsed() < LATE, "{what}: {:?}", began.elapsed());
        assert_eq!(
            said.out.is_empty(),
            said.code == 3 || said.out.is_empty(),
            "{what}"
        );
    }
}

/// The clock of a run is one for reading and search.
#[test]
fn a_limit_of_no_time_is_over_at_once() {
    assert!(deadline(Some(0.0)).is_some_and(|end| end <= Instant::now()));
    assert!(deadline(None).is_none());
}
