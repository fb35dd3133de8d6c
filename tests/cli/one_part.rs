//! `inspect`, `turn`, `measure` and `schema`.

use crate::bench::{Bench, Said, boxes, golden, keeps_to_width, stl};
use std::fs;

#[test]
fn inspect_in_words_and_numbers() {
    let bench = Bench::new();
    bench.block("box.stl", [30.0, 20.0, 10.0]);
    let said = bench.run(&["inspect", "box.stl"]);
    assert_eq!((said.code, said.err.as_str()), (0, ""));
    golden("inspect-box.txt", &said.out);
    let reply = bench.run(&["inspect", "box.stl", "--json"]).json();
    assert_eq!(reply["part"]["volume_mm3"].as_f64(), Some(6000.0));
    assert_eq!(reply["part"]["inertia_mm5"][0][0].as_f64(), Some(250_000.0));
    assert_eq!(reply["defects"].as_array().map(Vec::len), Some(0));
}

#[test]
fn inspect_lists_what_is_wrong() {
    let bench = Bench::new();
    let mut triangles = boxes(&[([0.0; 3], [30.0, 20.0, 10.0])]);
    triangles.pop();
    triangles[3].swap(0, 1);
    bench.write("open.stl", stl(&triangles));
    let said = bench.run(&["inspect", "open.stl"]);
    assert_eq!(said.code, 0);
    golden("inspect-open.txt", &said.out);
    let reply = bench.run(&["inspect", "open.stl", "--json"]).json();
    assert!(reply["part"]["volume_mm3"].is_null());
    assert!(
        reply["part"]["notes"].as_array().is_some_and(|n| n
            .iter()
            .any(|n| n.as_str().is_some_and(|n| n.contains("open edges: 3")))),
        "{reply}"
    );
}

#[test]
fn turn_writes_the_part_standing_and_centred() {
    let bench = Bench::new();
    bench.block("box.stl", [30.0, 20.0, 10.0]);
    for (file, units) in [
        ("out.stl", "mm"),
        ("out.3mf", "mm"),
        ("out.OBJ", "mm"),
        ("out.ply", "mm"),
    ] {
        let said = bench.run(&[
            "turn", "box.stl", "--down", "-1,0,0", "-o", file, "--units", units,
        ]);
        assert_eq!((said.code, said.err.as_str()), (0, ""));
        let reply = bench.run(&["inspect", file, "--json"]).json();
        assert_eq!(
            reply["part"]["size_mm"],
            serde_json::json!([20.0, 10.0, 30.0]),
            "{file}"
        );
        assert_eq!(
            reply["part"]["centroid_mm"],
            serde_json::json!([0.0, 0.0, 15.0]),
            "{file}"
        );
    }
    assert_eq!(
        bench
            .run(&["turn", "box.stl", "--down", "+x", "-o", "o.stl"])
            .out,
        "o.stl: box.stl with the +X side down, standing on z = 0, centred, 20 × 10 × 30\nmm.\n"
    );
}

#[test]
fn turn_keeps_the_units_of_the_file() {
    let bench = Bench::new();
    bench.block("box.stl", [3.0, 2.0, 1.0]);
    assert_eq!(
        bench
            .run(&[
                "turn", "box.stl", "--units", "in", "--down", "-z", "-o", "out.3mf"
            ])
            .code,
        0
    );
    let reply = bench.run(&["inspect", "out.3mf", "--json"]).json();
    assert_eq!(reply["part"]["units"], "in");
    assert_eq!(
        reply["part"]["size_mm"],
        serde_json::json!([76.2, 50.8, 25.4])
    );
}

#[test]
fn an_output_that_cannot_be_written_gives_five_and_leaves_nothing() {
    let bench = Bench::new();
    bench.block("box.stl", [30.0, 20.0, 10.0]);
    fs::create_dir(bench.path("taken.stl")).expect("a folder");
    for command in [
        vec!["turn", "box.stl", "--down", "+x", "-o"],
        vec!["advise", "box.stl", "--turned"],
    ] {
        let with = |file| bench.run(&[command.as_slice(), &[file]].concat());
        with("missing/out.stl").refuses(
            5,
            "missing/out.stl: cannot be written: its folder does not exist",
            "folder",
        );
        with("taken.stl").refuses(5, "taken.stl: is a folder", "file inside");
        with("/dev/null.stl/x.stl").refuses(5, "/dev/null.stl/x.stl", "");
        with("out.txt").refuses(
            2,
            "out.txt: its ending names no format",
            ".stl, .3mf, .obj or .ply",
        );
        with("out.off").refuses(2, "out.off: its ending", ".ply");
    }
    assert_eq!(bench.files(), ["box.stl", "taken.stl"]);
}

#[test]
fn schema_is_json_of_the_draft_and_stays_as_it_is() {
    let said = Bench::new().run(&["schema"]);
    let document = said.json();
    assert_eq!(
        document["$schema"],
        "https://json-schema.org/draft/2020-12/schema"
    );
    assert_eq!(document["oneOf"].as_array().map(Vec::len), Some(7));
}

#[test]
fn measure_in_words_at_sixty_columns() {
    let bench = Bench::new();
    bench.gate("gate.stl");
    let said = Said::from(
        bench
            .command(&["measure", "gate.stl", "--load", "+z"])
            .env("COLUMNS", "60")
            .output()
            .expect("started"),
    );
    assert_eq!((said.code, said.err.as_str()), (0, ""));
    keeps_to_width(&said.out, 60);
    golden("measure-gate-60.txt", &said.out);
}

#[test]
fn directions_take_every_spelling() {
    let bench = Bench::new();
    bench.gate("gate.stl");
    let down = |words: &str| {
        bench
            .run(&["measure", "gate.stl", "--json", "--down", words])
            .json()["pose"]["down"]
            .clone()
    };
    for (words, wanted) in [
        ("0,0,-1", [0.0, 0.0, -1.0]),
        ("-z", [0.0, 0.0, -1.0]),
        ("-2,0,0", [-1.0, 0.0, 0.0]),
        ("+Y", [0.0, 1.0, 0.0]),
    ] {
        assert_eq!(down(words), serde_json::json!(wanted), "{words}");
    }
    let reply = bench.run(&["measure", "gate.stl", "--json"]).json();
    assert!(reply["pose"].get("rank").is_none());
    assert_eq!(reply["pose"]["down"], serde_json::json!([0.0, 0.0, -1.0]));
    assert_eq!(reply["pose"]["figures"]["height_mm"].as_f64(), Some(20.0));
}
