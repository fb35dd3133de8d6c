//! Words of the command, files that are no mesh, settings files: what is refused and how.

use crate::bench::{Bench, Said, boxes, golden, stl};
use std::fs;

#[test]
fn help_of_every_command() {
    let bench = Bench::new();
    for (name, words) in [
        ("help.txt", vec!["--help"]),
        ("help-advise.txt", vec!["advise", "--help"]),
        ("help-measure.txt", vec!["measure", "--help"]),
        ("help-inspect.txt", vec!["inspect", "--help"]),
        ("help-turn.txt", vec!["turn", "--help"]),
        ("help-lesson.txt", vec!["lesson", "--help"]),
        ("help-desk.txt", vec!["desk", "--help"]),
        ("help-library.txt", vec!["library", "--help"]),
        ("help-schema.txt", vec!["schema", "--help"]),
        ("help-completions.txt", vec!["completions", "--help"]),
        ("help-manual.txt", vec!["manual", "--help"]),
    ] {
        let said = bench.run(&words);
        assert_eq!((said.code, said.err.as_str()), (0, ""));
        golden(name, &said.out);
    }
}

#[test]
fn words_that_are_off_give_two() {
    let bench = Bench::new();
    bench.block("box.stl", [30.0, 20.0, 10.0]);
    for words in [
        vec![],
        vec!["advise"],
        vec!["nonsense"],
        vec!["advise", "box.stl", "--nonsense"],
        vec!["measure", "box.stl", "--down", "0,0,0"],
        vec!["measure", "box.stl", "--down", "0,0"],
        vec!["measure", "box.stl", "--down", "up"],
        vec!["measure", "box.stl", "--down", "--json"],
        vec!["advise", "box.stl", "--material", "cheese"],
        vec!["advise", "box.stl", "--aim", "cheap"],
        vec!["advise", "box.stl", "--units", "furlong"],
        vec!["advise", "box.stl", "--seconds", "0"],
        vec!["advise", "box.stl", "--seconds", "nan"],
        vec!["advise", "box.stl", "--threads", "0"],
        vec!["advise", "box.stl", "--top", "0"],
        vec!["advise", "box.stl", "--pose", "2"],
        vec!["turn", "box.stl", "--down", "+x"],
        vec!["turn", "box.stl", "-o", "out.stl"],
        vec!["library"],
        vec!["library", "box.stl"],
        vec!["library", "nowhere"],
        vec!["library", ".", "--recheck"],
    ] {
        let said = bench.run(&words);
        assert_eq!(
            (said.code, said.out.as_str()),
            (2, ""),
            "{words:?}: {}",
            said.err
        );
        assert!(!said.err.is_empty(), "{words:?}");
    }
    assert_eq!(bench.files(), ["box.stl"]);
}

#[test]
fn a_value_out_of_range_names_flag_and_range() {
    let bench = Bench::new();
    bench.block("box.stl", [30.0, 20.0, 10.0]);
    for command in ["advise", "measure", "inspect"] {
        bench.run(&[command, "box.stl", "--layer", "-1"]).refuses(
            2,
            "--layer: -1 is outside 0.01 to 10 mm",
            "layer",
        );
        bench.run(&[command, "box.stl", "--limit", "200"]).refuses(
            2,
            "--limit: 200 is outside 0 to 89°",
            "limit",
        );
        bench
            .run(&[command, "box.stl", "--first-layer=nan"])
            .refuses(2, "--first-layer: NaN", "first layer");
        bench
            .run(&[command, "box.stl", "--bed", "200,-5,200"])
            .refuses(2, "--bed: -5 is outside", "bed");
        bench
            .run(&[command, "box.stl", "--weight", "height=-1"])
            .refuses(2, "the weight -1 of height is outside 0 to 1000", "weight");
    }
}

#[test]
fn a_file_that_is_no_mesh_gives_three_with_place_and_next_step() {
    let bench = Bench::new();
    bench.write("text.stl", "this is a letter, not a part\n");
    bench.write("empty.stl", "");
    bench.write("cut.stl", &stl(&boxes(&[([0.0; 3], [1.0; 3])]))[..300]);
    bench.write("nan.obj", "v 0 0 0\nv 1 0 nan\nv 0 1 0\nf 1 2 3\n");
    fs::create_dir(bench.path("folder.stl")).expect("a folder");
    for command in ["advise", "measure", "inspect"] {
        bench
            .run(&[command, "nowhere.stl"])
            .refuses(3, "nowhere.stl: no such file", "path");
        bench
            .run(&[command, "text.stl"])
            .refuses(3, "text.stl: is not a mesh", "export");
        bench
            .run(&[command, "empty.stl"])
            .refuses(3, "empty.stl: is empty", "again");
        bench.run(&[command, "cut.stl"]).refuses(3, "cut.stl: ", "");
        bench.run(&[command, "nan.obj"]).refuses(
            3,
            "nan.obj: a coordinate is not a finite number at line 2",
            "repair",
        );
        bench
            .run(&[command, "folder.stl"])
            .refuses(3, "folder.stl: is a folder", "inside");
    }
}

#[test]
fn a_name_with_control_characters_stays_on_its_line() {
    let bench = Bench::new();
    let said = bench.run(&["inspect", "no\n\u{1b}[31msuch"]);
    said.refuses(3, "no\\n\\u{1b}[31msuch: no such file", "path");
    assert_eq!(said.err.lines().count(), 2);
}

#[test]
fn a_flag_beats_the_file_beside_the_part_which_beats_the_users() {
    let bench = Bench::new();
    bench.block("parts/box.stl", [30.0, 20.0, 10.0]);
    let layer_and_line = |words: &[&str]| {
        let reply = bench
            .run(&[&["measure", "parts/box.stl", "--json"], words].concat())
            .json();
        let s = &reply["settings"];
        (
            s["layer_mm"].as_f64(),
            s["line_mm"].as_f64(),
            s["files"].as_array().map(Vec::len),
        )
    };
    assert_eq!(layer_and_line(&[]), (Some(0.2), Some(0.45), Some(0)));
    bench.write("home/.config/wayup/wayup.toml", "layer = 0.3\nline = 0.6\n");
    assert_eq!(layer_and_line(&[]), (Some(0.3), Some(0.6), Some(1)));
    bench.write("parts/wayup.toml", "layer = 0.1\n");
    assert_eq!(layer_and_line(&[]), (Some(0.1), Some(0.6), Some(2)));
    assert_eq!(
        layer_and_line(&["--layer", "0.25"]),
        (Some(0.25), Some(0.6), Some(2))
    );
    bench.write("other.toml", "line = 0.5\n");
    assert_eq!(
        layer_and_line(&["--settings", "other.toml"]),
        (Some(0.2), Some(0.5), Some(1))
    );
    let mut command = bench.command(&["measure", "parts/box.stl", "--json"]);
    command.env("XDG_CONFIG_HOME", bench.path("elsewhere"));
    let reply = Said::from(command.output().expect("started")).json();
    assert_eq!(reply["settings"]["line_mm"].as_f64(), Some(0.45));
}

#[test]
fn a_settings_file_with_a_slip_gives_two_with_line_and_nearest_key() {
    let bench = Bench::new();
    bench.block("box.stl", [30.0, 20.0, 10.0]);
    bench.write("wayup.toml", "layer = 0.2\nlimt = 50\n");
    bench.run(&["measure", "box.stl"]).refuses(
        2,
        "wayup.toml: unknown setting 'limt' at line 2",
        "'limit'",
    );
    bench.write("wayup.toml", "layer = 99\n");
    bench.run(&["measure", "box.stl"]).refuses(
        2,
        "wayup.toml: layer = 99 is outside 0.01 to 10 mm",
        "layer",
    );
    bench.write("wayup.toml", [0xff, 0xfe, 0x00]);
    bench
        .run(&["measure", "box.stl"])
        .refuses(2, "not UTF-8 text at byte 0", "UTF-8");
    fs::remove_file(bench.path("wayup.toml")).expect("gone");
    bench
        .run(&["measure", "box.stl", "--settings", "none.toml"])
        .refuses(2, "none.toml: settings file cannot be opened", "path");
}

#[test]
fn a_part_too_large_for_any_machine_is_refused_with_its_likely_unit() {
    let bench = Bench::new();
    // 100 mm in µm, 25.4 mm in nm, and no length at all.
    bench.block("microns.stl", [1e5, 1e5, 1e5]);
    bench.block("huge.stl", [2.54e7, 1e7, 1e7]);
    bench.block("absurd.stl", [1e10, 1e10, 1e10]);
    let unit = "if its numbers are in um, say --units um: then it is 100 mm long";
    let of_size =
        |size: &str| format!("is too large: {size} mm long, and no more than 131072 layers");
    for words in [
        vec!["advise"],
        vec!["measure"],
        vec!["lesson", "-o", "out.html"],
    ] {
        let on = |part| [words.clone(), vec![part]].concat();
        bench
            .run(&on("microns.stl"))
            .refuses(3, &of_size("100000"), unit);
        bench
            .run(&on("huge.stl"))
            .refuses(3, &of_size("25400000"), "export it again");
        bench
            .run(&on("absurd.stl"))
            .refuses(3, &of_size("1.0e10"), "export it again");
        assert!(!bench.path("out.html").exists());
    }
    // With the unit, and in thick layers, it goes.
    let said = bench.run(&["measure", "microns.stl", "--units", "um", "--json"]);
    assert_eq!(said.code, 0, "{}", said.err);
    bench.block("tall.stl", [10.0, 10.0, 20_000.0]);
    let thin = [
        "measure",
        "tall.stl",
        "--layer",
        "0.1",
        "--first-layer",
        "0.1",
    ];
    bench
        .run(&thin)
        .refuses(3, "no more than 131072 layers of 0.1 mm", "");
    let said = bench.run(&["measure", "tall.stl", "--layer", "5", "--first-layer", "5"]);
    assert_eq!(said.code, 0, "{}", said.err);
    // One such part in a library is a record; the others are scored.
    bench.block("parts/box.stl", [30.0, 20.0, 10.0]);
    fs::copy(bench.path("absurd.stl"), bench.path("parts/absurd.stl")).expect("copied");
    let said = bench.run(&["library", "parts"]);
    assert_eq!(said.code, 1, "{}", said.err);
    assert!(said.out.contains("is too large"), "{}", said.out);
}

#[test]
fn a_time_limit_too_short_for_one_pose_says_so() {
    let bench = Bench::new();
    bench.block("box.stl", [30.0, 20.0, 10.0]);
    bench
        .run(&["advise", "box.stl", "--seconds", "0.000001"])
        .refuses(7, "box.stl: --seconds ended the work", "more time");
    bench
        .run(&[
            "lesson",
            "box.stl",
            "-o",
            "box.html",
            "--seconds",
            "0.000001",
        ])
        .refuses(7, "box.stl: --seconds ended the work", "more time");
}

#[test]
fn a_lesson_that_was_cut_short_says_so_and_a_whole_one_does_not() {
    let bench = Bench::new();
    // Many facets, so that there are many poses to measure.
    bench.write("dome.obj", dome(120, 60));
    let mut seconds = 0.1;
    // The limit is too short for one pose, or long enough for all, until it is neither: how
    // long that takes hangs on what else the machine does.
    let cut = (0..100).find_map(|_| {
        let limit = seconds.to_string();
        let said = bench.run(&["lesson", "dome.obj", "-o", "cut.html", "--seconds", &limit]);
        if said.code == 0 && said.err.contains("the time limit cut the search short") {
            return Some(said);
        }
        assert!(said.code == 0 || said.code == 7, "{}", said.err);
        seconds *= if said.code == 7 { 1.3 } else { 0.8 };
        None
    });
    assert!(cut.is_some(), "no limit cuts the search short");
    let page = |name| fs::read_to_string(bench.path(name)).expect("written");
    let words = "The time limit cut the search short.";
    assert!(page("cut.html").contains(words));
    bench.block("box.stl", [30.0, 20.0, 10.0]);
    let whole = bench.run(&["lesson", "box.stl", "-o", "whole.html", "--seconds", "600"]);
    assert_eq!((whole.code, whole.err.as_str()), (0, ""));
    assert!(!page("whole.html").contains(words));
}

/// Half a ball of radius 20 on a disc: rings of points from the rim up, then the pole.
fn dome(around: usize, up: usize) -> String {
    let mut text = String::new();
    for ring in 0..up {
        let lift = ring as f64 / up as f64 * std::f64::consts::FRAC_PI_2;
        for i in 0..around {
            let turn = i as f64 / around as f64 * std::f64::consts::TAU;
            let (x, y) = (
                libm::cos(lift) * libm::cos(turn),
                libm::cos(lift) * libm::sin(turn),
            );
            text += &format!("v {} {} {}\n", 20.0 * x, 20.0 * y, 20.0 * libm::sin(lift));
        }
    }
    text += "v 0 0 20\nv 0 0 0\n";
    let (pole, middle) = (around * up + 1, around * up + 2);
    for i in 0..around {
        let next = (i + 1) % around;
        for ring in 0..up - 1 {
            let [a, b] = [i, next].map(|k| ring * around + k + 1);
            text += &format!("f {a} {b} {} {}\n", b + around, a + around);
        }
        let [a, b] = [i, next].map(|k| (up - 1) * around + k + 1);
        text += &format!("f {a} {b} {pole}\nf {} {} {middle}\n", next + 1, i + 1);
    }
    text
}

#[test]
fn a_settings_file_gives_the_unit_of_what_lies_beside_it() {
    let bench = Bench::new();
    bench.block("inches/box.stl", [1.0, 2.0, 0.5]);
    bench.write("inches/wayup.toml", "units = \"in\"\n");
    let size = |words: &[&str]| {
        let said = bench.run(&[words, &["inches/box.stl", "--json"]].concat());
        let part = &said.json()["part"];
        (part["units"].clone(), part["size_mm"][1].as_f64())
    };
    for words in [
        &["inspect"][..],
        &["measure"],
        &["advise"],
        &["turn", "--down", "-z", "-o", "out.stl"],
    ] {
        assert_eq!(size(words), ("in".into(), Some(50.8)), "{words:?}");
    }
    // A flag beats it.
    assert_eq!(
        size(&["inspect", "--units", "mm"]),
        ("mm".into(), Some(2.0))
    );
    bench.write("inches/wayup.toml", "units = \"furlong\"\n");
    bench.run(&["inspect", "inches/box.stl"]).refuses(
        2,
        "wayup.toml: 'units' is not a unit at line 1",
        "um, mm, cm",
    );
}
