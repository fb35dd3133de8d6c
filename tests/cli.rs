//! The program as a person or a script meets it: words in, text and exit code out.
//!
//! Parts are made here, in a folder of their own for each test. Golden texts lie in
//! `tests/golden/`; `WAYUP_GOLDEN=write cargo test --test cli` writes them anew.

use std::fs;
use std::io::Read;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use tempfile::TempDir;

/// A folder with parts in it and a home without settings.
struct Bench {
    dir: TempDir,
}

impl Bench {
    fn new() -> Self {
        let dir = tempfile::tempdir().expect("a folder");
        fs::create_dir(dir.path().join("home")).expect("a home");
        Self { dir }
    }

    fn path(&self, name: &str) -> PathBuf {
        self.dir.path().join(name)
    }

    fn write(&self, name: &str, bytes: impl AsRef<[u8]>) -> PathBuf {
        let path = self.path(name);
        fs::create_dir_all(path.parent().expect("a parent")).expect("a folder");
        fs::write(&path, bytes).expect("written");
        path
    }

    /// A box with one corner at the origin, as binary STL.
    fn block(&self, name: &str, size: [f32; 3]) -> PathBuf {
        self.write(name, stl(&boxes(&[([0.0; 3], size)])))
    }

    /// A table: a top of 30 × 10 × 5 on two legs of 5 × 10 × 15, 20 apart. One solid
    /// (the worked example of a bridge).
    fn gate(&self, name: &str) -> PathBuf {
        let outline = [
            [0.0, 0.0],
            [5.0, 0.0],
            [5.0, 15.0],
            [25.0, 15.0],
            [25.0, 0.0],
            [30.0, 0.0],
            [30.0, 20.0],
            [0.0, 20.0],
        ];
        let faces = [
            [0, 1, 2],
            [0, 2, 7],
            [2, 3, 7],
            [3, 6, 7],
            [3, 4, 6],
            [4, 5, 6],
        ];
        self.write(name, stl(&prism(&outline, &faces, 10.0)))
    }

    fn command(&self, words: &[&str]) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_wayup"));
        command
            .args(words)
            .current_dir(self.dir.path())
            .stdin(Stdio::null());
        for name in ["XDG_CONFIG_HOME", "NO_COLOR", "COLUMNS", "TERM"] {
            command.env_remove(name);
        }
        command.env("HOME", self.path("home")).env("COLUMNS", "80");
        command
    }

    fn run(&self, words: &[&str]) -> Said {
        Said::from(self.command(words).output().expect("started"))
    }

    /// Names of what lies in the folder, home left out.
    fn files(&self) -> Vec<String> {
        let mut names: Vec<String> = fs::read_dir(self.dir.path())
            .expect("listed")
            .map(|e| {
                e.expect("an entry")
                    .file_name()
                    .to_string_lossy()
                    .into_owned()
            })
            .filter(|n| n != "home")
            .collect();
        names.sort();
        names
    }
}

/// What a run said.
#[derive(Debug)]
struct Said {
    code: i32,
    out: String,
    err: String,
}

impl From<Output> for Said {
    fn from(output: Output) -> Self {
        Self {
            code: output.status.code().expect("ended by itself"),
            out: String::from_utf8(output.stdout).expect("UTF-8"),
            err: String::from_utf8(output.stderr).expect("UTF-8"),
        }
    }
}

impl Said {
    #[track_caller]
    fn json(&self) -> serde_json::Value {
        assert_eq!(self.code, 0, "{}", self.err);
        serde_json::from_str(&self.out).expect("one JSON object")
    }

    /// Exit code, nothing on standard output, and both lines of the error.
    #[track_caller]
    fn refuses(&self, code: i32, error: &str, hint: &str) {
        assert_eq!((self.code, self.out.as_str()), (code, ""), "{}", self.err);
        let mut lines = self.err.lines();
        let (first, second) = (lines.next().unwrap_or(""), lines.next().unwrap_or(""));
        assert!(
            first.starts_with("error: ") && first.contains(error),
            "{first:?} lacks {error:?}"
        );
        assert!(
            second.starts_with("hint: ") && second.contains(hint),
            "{second:?} lacks {hint:?}"
        );
    }
}

type Triangle = [[f32; 3]; 3];

fn boxes(list: &[([f32; 3], [f32; 3])]) -> Vec<Triangle> {
    let quads = [
        [0, 1, 3, 2],
        [4, 6, 7, 5],
        [0, 4, 5, 1],
        [2, 3, 7, 6],
        [0, 2, 6, 4],
        [1, 5, 7, 3],
    ];
    let mut out = Vec::new();
    for (at, size) in list {
        let corner = |i: usize| {
            [0, 1, 2].map(|k| {
                at[k]
                    + if (i >> (2 - k)) & 1 == 1 {
                        size[k]
                    } else {
                        0.0
                    }
            })
        };
        for [a, b, c, d] in quads {
            out.push([a, b, c].map(corner));
            out.push([a, c, d].map(corner));
        }
    }
    out
}

/// An outline in X–Z, counter-clockwise as seen from −Y, with its triangles, drawn out along Y.
fn prism(outline: &[[f32; 2]], faces: &[[usize; 3]], depth: f32) -> Vec<Triangle> {
    let at = |i: usize, y: f32| [outline[i][0], y, outline[i][1]];
    let mut out = Vec::new();
    for &[a, b, c] in faces {
        out.push([at(a, 0.0), at(b, 0.0), at(c, 0.0)]);
        out.push([at(a, depth), at(c, depth), at(b, depth)]);
    }
    for i in 0..outline.len() {
        let j = (i + 1) % outline.len();
        out.push([at(i, 0.0), at(j, depth), at(j, 0.0)]);
        out.push([at(i, 0.0), at(i, depth), at(j, depth)]);
    }
    out
}

fn stl(triangles: &[Triangle]) -> Vec<u8> {
    let mut out = vec![0; 80];
    out.extend((triangles.len() as u32).to_le_bytes());
    for t in triangles {
        out.extend([0; 12]);
        for c in t.iter().flatten() {
            out.extend(c.to_le_bytes());
        }
        out.extend([0; 2]);
    }
    out
}

/// Compares with a golden text, or writes it.
#[track_caller]
fn golden(name: &str, text: &str) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("tests/golden")
        .join(name);
    let text = text.replace(env!("CARGO_PKG_VERSION"), "VERSION");
    if std::env::var_os("WAYUP_GOLDEN").is_some_and(|v| v == "write") {
        fs::write(&path, &text).expect("written");
    }
    let wanted = fs::read_to_string(&path).unwrap_or_default();
    assert_eq!(
        text, wanted,
        "differs from tests/golden/{name}; if that is right: WAYUP_GOLDEN=write cargo test --test cli"
    );
}

#[track_caller]
fn keeps_to_width(text: &str, width: usize) {
    for line in text.lines() {
        assert!(
            line.chars().count() <= width,
            "{} columns: {line:?}",
            line.chars().count()
        );
    }
}

// ---- words and codes ------------------------------------------------------

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
        ("help-schema.txt", vec!["schema", "--help"]),
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
            "mend",
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

// ---- settings files -------------------------------------------------------

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

// ---- inspect and turn -----------------------------------------------------

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

#[cfg(target_os = "linux")]
#[test]
fn standard_output_without_room_gives_five() {
    let bench = Bench::new();
    bench.block("box.stl", [30.0, 20.0, 10.0]);
    for words in [
        vec!["inspect", "box.stl"],
        vec!["schema"],
        vec!["advise", "box.stl"],
    ] {
        let full = fs::OpenOptions::new()
            .write(true)
            .open("/dev/full")
            .expect("the full device");
        let said = Said::from(
            bench
                .command(&words)
                .stdout(full)
                .output()
                .expect("started"),
        );
        assert_eq!(said.code, 5);
        assert!(
            said.err
                .starts_with("error: standard output: cannot be written"),
            "{}",
            said.err
        );
    }
}

#[test]
fn a_reader_who_goes_away_is_no_error() {
    let bench = Bench::new();
    bench.block("box.stl", [30.0, 20.0, 10.0]);
    for words in [
        vec!["schema"],
        vec!["--help"],
        vec!["advise", "box.stl", "box.stl", "box.stl"],
    ] {
        let mut child = bench
            .command(&words)
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .expect("started");
        drop(child.stdout.take());
        let mut err = String::new();
        child
            .stderr
            .take()
            .expect("piped")
            .read_to_string(&mut err)
            .expect("UTF-8");
        let status = child.wait().expect("ended");
        assert_eq!((status.code(), err.as_str()), (Some(0), ""), "{words:?}");
    }
}

#[test]
fn schema_is_json_of_the_draft_and_stays_as_it_is() {
    let said = Bench::new().run(&["schema"]);
    let document = said.json();
    assert_eq!(
        document["$schema"],
        "https://json-schema.org/draft/2020-12/schema"
    );
    assert_eq!(document["oneOf"].as_array().map(Vec::len), Some(4));
}

// ---- advise and measure ---------------------------------------------------

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
fn output_without_a_terminal_has_no_escape_codes() {
    let bench = Bench::new();
    bench.gate("gate.stl");
    for words in [
        ["advise", "gate.stl"],
        ["measure", "gate.stl"],
        ["inspect", "gate.stl"],
    ] {
        let said = bench.run(&words);
        assert!(
            !said.out.contains('\u{1b}') && !said.err.contains('\u{1b}'),
            "{words:?}"
        );
    }
}

/// On a terminal made by `script` of util-linux, where there is one.
#[cfg(target_os = "linux")]
#[test]
fn colour_and_progress_only_on_a_terminal_that_wants_them() {
    let bench = Bench::new();
    bench.gate("gate.stl");
    let on_terminal = |extra: Option<(&str, &str)>| {
        let wayup = env!("CARGO_BIN_EXE_wayup");
        let mut command = Command::new("script");
        command.args([
            "-qec",
            &format!("stty rows 24 cols 60; '{wayup}' inspect gate.stl"),
            "/dev/null",
        ]);
        command
            .current_dir(bench.dir.path())
            .stdin(Stdio::null())
            .env_remove("NO_COLOR")
            .env_remove("COLUMNS")
            .env("TERM", "xterm");
        command.env("HOME", bench.path("home"));
        command.envs(extra);
        command
            .output()
            .ok()
            .map(|o| String::from_utf8_lossy(&o.stdout).replace('\r', ""))
    };
    let Some(coloured) = on_terminal(None) else {
        eprintln!("no program `script` here: not checked");
        return;
    };
    assert!(coloured.contains("\u{1b}[1m"), "{coloured:?}");
    for extra in [("NO_COLOR", "1"), ("TERM", "dumb")] {
        let plain = on_terminal(Some(extra)).expect("script ran before");
        assert!(plain.contains("size"), "{plain:?}");
        assert!(!plain.contains('\u{1b}'), "{extra:?}: {plain:?}");
        keeps_to_width(&plain, 60);
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
            "as_loaded",
            "verdict",
            "margin",
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
