//! `advise --map`: figures of every direction that was looked at.

use crate::bench::Bench;
use serde_json::Value;
use std::fs;

fn map(bench: &Bench, file: &str, more: &[&str]) -> String {
    let mut words = vec!["advise", "gate.stl", "--map", file];
    words.extend(more);
    let said = bench.run(&words);
    assert_eq!(said.code, 0, "{}", said.err);
    fs::read_to_string(bench.path(file)).expect("a map")
}

fn json(bench: &Bench) -> Value {
    serde_json::from_str(&map(bench, "map.json", &[])).expect("one object")
}

#[test]
fn directions_have_the_figures_that_measure_gives() {
    let bench = Bench::new();
    bench.gate("gate.stl");
    let map = json(&bench);
    assert_eq!(map["part"]["triangles"], 28);
    let rows = map["directions"].as_array().expect("a list");
    // An even lattice no further than 5° from any direction has 635 at the very least.
    assert!(rows.len() > 635, "{}", rows.len());
    let stored = rows
        .iter()
        .find(|r| r["origin"] == "stored")
        .expect("the pose of the file");
    // The worked example of a bridge: clear span × depth × height.
    let [volume, error] =
        ["support_volume_mm3", "support_error_mm3"].map(|k| stored[k].as_f64().expect("a number"));
    assert!(
        (volume - 20.0 * 10.0 * 15.0).abs() <= error.max(1e-3),
        "{stored}"
    );
    assert!(error <= 60.0);
    for row in rows.iter().step_by(rows.len() / 7) {
        let down: Vec<String> = (0..3).map(|k| row["down"][k].to_string()).collect();
        let said = bench.run(&["measure", "gate.stl", "--json", "--down", &down.join(",")]);
        let figures = &said.json()["pose"]["figures"];
        for key in [
            "height_mm",
            "contact_area_mm2",
            "overhang_area_mm2",
            "tip_angle_deg",
        ] {
            let [a, b] = [&row[key], &figures[key]].map(|v| v.as_f64().expect("a number"));
            assert!((a - b).abs() <= 1e-5 * b.abs().max(1.0), "{key}: {a}, {b}");
        }
        let of = |of: &Value, key: &str| of[key].as_f64().expect("a number");
        let off = of(row, "support_volume_mm3") - of(figures, "support_volume_mm3");
        let most = of(row, "support_error_mm3") + of(figures, "support_error_mm3");
        assert!(off.abs() <= most + 1e-3, "{row}: {off}");
        assert_eq!(row["support_resolved"], true);
        assert!(
            of(row, "support_error_mm3")
                <= (0.02 * of(row, "support_volume_mm3")).max(1.0) * 1.000_001
        );
    }
}

#[test]
fn the_table_says_what_the_json_says_on_any_number_of_threads() {
    let bench = Bench::new();
    bench.gate("gate.stl");
    let table = map(&bench, "map.csv", &["--threads", "1"]);
    assert_eq!(table, map(&bench, "MAP.CSV", &["--threads", "3"]));
    let mut lines = table.lines();
    assert_eq!(
        lines.next(),
        Some(
            "down_x,down_y,down_z,origin,fits,height_mm,contact_area_mm2,tip_angle_deg,\
             overhang_area_mm2,layer_steps_mean_um,base_shrinkage_mm,support_volume_mm3,\
             support_error_mm3,support_resolved"
        )
    );
    let map = json(&bench);
    let rows = map["directions"].as_array().expect("a list");
    assert_eq!(lines.clone().count(), rows.len());
    for (line, row) in lines.zip(rows) {
        let cells: Vec<&str> = line.split(',').collect();
        assert_eq!(cells.len(), 14, "{line}");
        assert_eq!(cells[2], row["down"][2].to_string());
        assert_eq!(cells[3], row["origin"]);
        assert_eq!(cells[5], row["height_mm"].to_string());
        assert_eq!(cells[11], row["support_volume_mm3"].to_string());
        assert_eq!(cells[13], row["support_resolved"].to_string());
    }
}

/// Ink on paper: two rims, the winner ringed, lines with their step, and the same bytes on any number of
/// threads.
#[test]
fn the_drawing_has_both_halves_and_marks_the_winner() {
    let bench = Bench::new();
    bench.gate("gate.stl");
    let drawn = map(&bench, "map.svg", &["--threads", "1"]);
    assert_eq!(drawn, map(&bench, "again.svg", &["--threads", "3"]));
    for what in [
        "<title>Map of ",
        "from below (−Z side)",
        "from above (+Z side)",
        "support by the side that goes down, a line every ",
        r#"<path class="o""#,
        ">1</text>",
    ] {
        assert!(drawn.contains(what), "{what}: {drawn}");
    }
}

#[test]
fn what_is_no_place_for_a_map_is_refused_before_the_work() {
    let bench = Bench::new();
    bench.gate("gate.stl");
    let said = bench.run(&["advise", "gate.stl", "--map", "map.txt"]);
    said.refuses(
        2,
        "its ending names no map",
        "end the name in .csv, .json or .svg",
    );
    let said = bench.run(&["advise", "gate.stl", "--map", "none/map.csv"]);
    said.refuses(5, "its folder does not exist", "name a file");
    let said = bench.run(&["advise", "gate.stl", "gate.stl", "--map", "map.csv"]);
    said.refuses(
        2,
        "takes one part, not several",
        "run it once for each part",
    );
    assert_eq!(bench.files(), ["gate.stl"]);
}

/// A sheet written by the same call has the map on a page of its own; without --map it has none.
#[test]
fn a_sheet_of_the_same_call_shows_the_map() {
    let bench = Bench::new();
    bench.gate("gate.stl");
    let drawn = map(&bench, "map.svg", &["--sheet", "with.html"]);
    let page = fs::read_to_string(bench.path("with.html")).expect("a sheet");
    assert_eq!(page.matches("<article class=\"sheet").count(), 2);
    assert!(
        page.contains("Support for “gate”, by the side that is down"),
        "{page}"
    );
    let title = drawn
        .split("<title>")
        .nth(1)
        .and_then(|t| t.split("</title>").next());
    let title = title.expect("what it shows");
    assert!(page.contains(title), "{title}");
    let said = bench.run(&["advise", "gate.stl", "--sheet", "without.html"]);
    assert_eq!(said.code, 0, "{}", said.err);
    let page = fs::read_to_string(bench.path("without.html")).expect("a sheet");
    assert_eq!(page.matches("<article class=\"sheet").count(), 1);
}
