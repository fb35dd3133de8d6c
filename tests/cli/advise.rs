//! `advise`: its table, its objects, its exit codes and the part that it writes.

use crate::bench::{Bench, Said, golden, keeps_to_width};

#[test]
fn advise_in_words_at_three_widths() {
    let bench = Bench::new();
    bench.gate("gate.stl");
    for width in ["60", "80", "120"] {
        let said = Said::from(
            bench
                .command(&["advise", "gate.stl"])
                .env("COLUMNS", width)
                .output()
                .expect("started"),
        );
        assert_eq!((said.code, said.err.as_str()), (0, ""));
        keeps_to_width(&said.out, width.parse().expect("a number"));
        golden(&format!("advise-gate-{width}.txt"), &said.out);
    }
}

#[test]
fn a_purpose_that_the_part_cannot_have_gives_two_with_the_nearest() {
    let bench = Bench::new();
    bench.block("box.stl", [30.0, 20.0, 10.0]);
    for command in ["advise", "measure"] {
        bench.run(&[command, "box.stl", "--round", "+x"]).refuses(
            2,
            "--round: the part has no round bore or boss along +x",
            "the part has none in any direction",
        );
        bench.run(&[command, "box.stl", "--flat", "0,3,4"]).refuses(
            2,
            "no flat side that can lie on the bed towards 0,0.6,0.8",
            "nearest it has: +z; +y; ",
        );
    }
    let said = bench.run(&["advise", "box.stl", "--flat", "-x", "--json"]);
    assert_eq!((said.code, said.err.as_str()), (0, ""));
    let reply = said.json();
    for down in [&reply["poses"][0]["down"], &reply["settings"]["flat"][0]] {
        assert_eq!(down[0].as_f64(), Some(-1.0), "{down}");
    }
}

#[test]
fn advise_prints_one_object_a_line_and_the_same_bytes_again() {
    let bench = Bench::new();
    bench.gate("gate.stl");
    bench.block("box.stl", [30.0, 20.0, 10.0]);
    let lines = |threads: &str| -> Vec<serde_json::Value> {
        let said = bench.run(&[
            "advise",
            "gate.stl",
            "box.stl",
            "--json",
            "--threads",
            threads,
        ]);
        assert_eq!((said.code, said.err.as_str()), (0, ""));
        said.out
            .lines()
            .map(|line| {
                let mut reply: serde_json::Value = serde_json::from_str(line).expect("JSON");
                assert!(reply["seconds"]["total"].as_f64().is_some_and(|s| s > 0.0));
                reply["seconds"] = serde_json::Value::Null;
                reply
            })
            .collect()
    };
    let once = lines("1");
    assert_eq!(once.len(), 2);
    // Values keep their key order, so this compares bytes.
    assert_eq!(
        serde_json::to_string(&once).ok(),
        serde_json::to_string(&lines("3")).ok()
    );
    let keys: Vec<&String> = once[0].as_object().expect("an object").keys().collect();
    assert_eq!(
        keys,
        [
            "wayup",
            "schema",
            "part",
            "settings",
            "candidates",
            "poses",
            "as_stored",
            "verdict",
            "no_good_pose",
            "faultless",
            "margin",
            "purposes",
            "asked",
            "certified_gap",
            "confidence",
            "cut_short",
            "seconds"
        ]
    );
}

#[test]
fn a_broken_part_among_several_is_told_and_the_others_go_on() {
    let bench = Bench::new();
    bench.block("box.stl", [30.0, 20.0, 10.0]);
    bench.write("broken.stl", "");
    let said = bench.run(&["advise", "box.stl", "broken.stl", "box.stl", "--json"]);
    assert_eq!((said.code, said.out.lines().count()), (3, 2));
    assert!(
        said.err.starts_with("error: broken.stl: is empty"),
        "{}",
        said.err
    );
}

#[test]
fn a_part_too_large_for_the_bed_gives_four_with_its_advice() {
    let bench = Bench::new();
    bench.block("beam.stl", [400.0, 20.0, 10.0]);
    bench.block("box.stl", [30.0, 20.0, 10.0]);
    let said = bench.run(&["advise", "beam.stl"]);
    assert_eq!(said.code, 4);
    assert!(said.out.contains("too large for the bed"), "{}", said.out);
    assert!(
        said.err
            .starts_with("error: beam.stl: fits a bed of 220 × 220 × 250 mm in no pose"),
        "{}",
        said.err
    );
    assert_eq!(
        bench
            .run(&["advise", "beam.stl", "--bed", "500,100,100"])
            .code,
        0
    );
    assert_eq!(bench.run(&["advise", "box.stl", "beam.stl"]).code, 4);
    assert_eq!(bench.run(&["advise", "beam.stl", "nowhere.stl"]).code, 3);
}

#[test]
fn turned_writes_the_pose_asked_for() {
    let bench = Bench::new();
    bench.block("box.stl", [30.0, 20.0, 10.0]);
    let reply = bench
        .run(&["advise", "box.stl", "--json", "--turned", "first.stl"])
        .json();
    let heights: Vec<f64> = reply["poses"]
        .as_array()
        .expect("poses")
        .iter()
        .filter_map(|p| p["figures"]["height_mm"].as_f64())
        .collect();
    assert_eq!(
        bench
            .run(&["advise", "box.stl", "--turned", "second.stl", "--pose", "2"])
            .code,
        0
    );
    for (file, height) in [("first.stl", heights[0]), ("second.stl", heights[1])] {
        let part = bench.run(&["inspect", file, "--json"]).json();
        assert_eq!(part["part"]["size_mm"][2].as_f64(), Some(height), "{file}");
    }
    // No more than about 480 directions can all differ by the 10° that entries do.
    let said = bench.run(&[
        "advise", "box.stl", "--turned", "none.stl", "--pose", "1000",
    ]);
    assert_eq!(said.code, 2);
    assert!(
        said.err.starts_with("error: --pose: there is no pose 1000"),
        "{}",
        said.err
    );
    bench
        .run(&["advise", "box.stl", "box.stl", "--turned", "out.stl"])
        .refuses(2, "--turned: takes one part", "once for each");
    assert_eq!(bench.files(), ["box.stl", "first.stl", "second.stl"]);
}

/// A flag beats the file beside the part row by row; totals are the sums of the weights shown.
#[test]
fn weights_come_from_file_and_flag_and_stand_in_the_json() {
    let bench = Bench::new();
    bench.gate("gate.stl");
    let plain = bench.run(&["advise", "gate.stl", "--json"]).json();
    bench.write("wayup.toml", "[weights]\nheight = 4\ntip = 7\n");
    let words = [
        "advise",
        "gate.stl",
        "--json",
        "--weight",
        "height=3",
        "--weight",
        "contact=0",
    ];
    let given = bench.run(&words).json();
    let weight = |reply: &serde_json::Value, row: &str| {
        let rows = reply["settings"]["penalties"].as_array().expect("rows");
        let row = rows.iter().find(|r| r["name"] == row).expect("the row");
        row["weight"].as_f64().expect("a number")
    };
    assert_eq!(
        ["height", "tip", "contact", "support"].map(|row| weight(&given, row)),
        [3.0, 7.0, 0.0, 0.6]
    );
    let as_stored = |reply: &serde_json::Value, row: &str| {
        reply["as_stored"]["penalties"][row]
            .as_f64()
            .expect("a number")
    };
    let grown = as_stored(&given, "height") / as_stored(&plain, "height");
    assert!(
        (grown - 3.0 / weight(&plain, "height")).abs() < 1e-5,
        "{grown}"
    );
    assert_eq!(as_stored(&given, "contact"), 0.0);
    for pose in given["poses"].as_array().expect("poses") {
        let rows = pose["penalties"].as_object().expect("rows");
        let sum: f64 = rows.values().filter_map(serde_json::Value::as_f64).sum();
        let total = pose["total"].as_f64().expect("a number");
        assert!((sum - total).abs() < 1e-4 * total.max(1.0), "{sum} {total}");
    }
}
