//! Requirements: exit codes, what is said, reports.

use crate::bench::Bench;
use std::fs;

#[test]
fn a_requirement_that_is_met_changes_nothing() {
    let bench = Bench::new();
    bench.block("box.stl", [30.0, 20.0, 10.0]);
    let plain = bench.run(&["advise", "box.stl"]);
    let checked = bench.run(&[
        "advise",
        "box.stl",
        "--require",
        "height_mm <= 1 cm and support_volume_mm3 == 0",
        "--require=part.volume_mm3 == 6 cm3",
    ]);
    assert_eq!((checked.code, checked.err.as_str()), (0, ""));
    assert_eq!(checked.out, plain.out);
}

#[test]
fn a_requirement_that_is_missed_gives_six_and_its_values() {
    let bench = Bench::new();
    bench.block("box.stl", [10.0, 20.0, 30.0]);
    let words = ["advise", "box.stl", "--require", "height_mm < 20"];
    let said = bench.run(&words);
    assert_eq!(said.code, 0, "{}", said.err);
    let said = bench.run(&[&words[..], &["--as-stored"]].concat());
    assert_eq!(said.code, 6, "{}", said.err);
    assert!(said.out.contains("Print it"), "the advice is still printed");
    assert!(
        said.err.starts_with(
            "error: box.stl: the pose as stored misses 'height_mm < 20': height_mm is 30.0\nhint: "
        ),
        "{}",
        said.err
    );
}

#[test]
fn other_codes_go_before_six() {
    let bench = Bench::new();
    bench.block("box.stl", [10.0, 20.0, 30.0]);
    bench.write("torn.stl", "");
    let missed = ["--require", "layers < 1"];
    for (words, code) in [
        (vec!["advise", "box.stl", "torn.stl"], 3),
        (vec!["advise", "box.stl", "--bed", "5,5,5"], 4),
        (
            vec!["advise", "box.stl", "--junit", "nowhere/report.xml"],
            5,
        ),
        (vec!["advise", "box.stl", "--sarif", "nowhere/log.sarif"], 5),
    ] {
        let said = bench.run(&[&words[..], &missed[..]].concat());
        assert_eq!(said.code, code, "{words:?}: {}", said.err);
    }
    bench
        .run(&["advise", "box.stl", "--require", "hieght_mm < 3"])
        .refuses(
            2,
            "--require: 'hieght_mm < 3': 'hieght_mm' is no key at character 1",
            "'height_mm'",
        );
    assert_eq!(bench.run(&["advise", "box.stl", "--as-stored"]).code, 2);
}

#[test]
fn reports_are_the_same_for_any_number_of_threads() {
    let bench = Bench::new();
    bench.gate("gate.stl");
    bench.block("box.stl", [30.0, 20.0, 10.0]);
    let mut seen = Vec::new();
    for threads in ["1", "3"] {
        let said = bench.run(&[
            "advise",
            "gate.stl",
            "box.stl",
            "--threads",
            threads,
            "--require",
            "bridges == 0",
            "--require",
            "layers > 60",
            "--junit",
            "report.xml",
            "--sarif",
            "log.sarif",
        ]);
        assert_eq!(said.code, 6, "{}", said.err);
        let read = |name: &str| fs::read_to_string(bench.path(name)).expect(name);
        seen.push((read("report.xml"), read("log.sarif")));
    }
    assert_eq!(seen[0], seen[1]);
    assert_eq!(seen[0].0.matches("<testcase").count(), 4);
    assert_eq!(
        bench.files(),
        ["box.stl", "gate.stl", "log.sarif", "report.xml"]
    );
}

#[test]
fn a_library_is_judged_from_its_records_and_again_without_scoring() {
    let bench = Bench::new();
    for (name, size) in [("a.stl", [10.0, 20.0, 30.0]), ("b.stl", [10.0, 10.0, 80.0])] {
        bench.block(&format!("parts/{name}"), size);
    }
    bench.write("parts/torn.stl", "solid torn\nfacet");
    let words = [
        "library",
        "parts",
        "--out",
        "out",
        "--as-stored",
        "--require",
        "height_mm <= 50",
        "--require",
        "bridges == 0",
        "--junit",
        "report.xml",
        "--sarif",
        "log.sarif",
    ];
    let mut seen = Vec::new();
    for _ in 0..2 {
        let said = bench.run(&words);
        assert_eq!(said.code, 6, "{}", said.err);
        assert!(
            said.err.contains(
                "parts/b.stl: the pose as stored misses 'height_mm <= 50': height_mm is 80.0"
            ),
            "{}",
            said.err
        );
        let read = |name: &str| fs::read_to_string(bench.path(name)).expect(name);
        seen.push((read("report.xml"), read("log.sarif")));
    }
    assert_eq!(seen[0], seen[1]);
    let (junit, sarif) = &seen[0];
    assert!(
        junit.contains("tests=\"5\" failures=\"1\" errors=\"1\""),
        "{junit}"
    );
    assert_eq!(sarif.matches("\"ruleId\"").count(), 2);
    // Without --out the same report, whatever the order in which the parts are done.
    let printed = [&["library", "parts"], &words[4..]].concat();
    let said = bench.run(&printed);
    assert_eq!(
        (said.code, said.out.lines().count()),
        (6, 3),
        "{}",
        said.err
    );
    assert_eq!(
        &fs::read_to_string(bench.path("report.xml")).expect("report"),
        junit
    );
    let met = [&["library", "parts", "--out", "out"], &words[7..]].concat();
    assert_eq!(
        bench.run(&met).code,
        1,
        "unread is told where nothing is missed"
    );
    bench
        .run(&[
            "library",
            "parts",
            "--out",
            "other",
            "--require",
            "layers <",
        ])
        .refuses(
            2,
            "'layers <': the end where a value is due at character 9",
            "write it like",
        );
    assert!(
        !bench.path("other").exists(),
        "refused before anything is made"
    );
}
