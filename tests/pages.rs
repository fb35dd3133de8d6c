//! Sheet, comparison and lesson as files: what stands on them, and how they fail.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use tempfile::TempDir;
use wayup::report::figures::{COLUMNS, TABLE, figure};

/// A cube of 10 mm.
const CUBE: &str = "OFF\n8 6 0\n0 0 0\n10 0 0\n10 10 0\n0 10 0\n0 0 10\n10 0 10\n10 10 10\n0 10 10\n4 3 2 1 0\n4 4 5 6 7\n4 0 1 5 4\n4 1 2 6 5\n4 2 3 7 6\n4 3 0 4 7\n";

fn run(folder: &Path, words: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_wayup"))
        .current_dir(folder)
        .env("HOME", folder)
        .env_remove("XDG_CONFIG_HOME")
        .env_remove("SOURCE_DATE_EPOCH")
        .args(words)
        .output()
        .expect("runs")
}

/// A folder with two demo parts in it.
fn bench() -> TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    let meshes = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("meshes");
    for name in ["page-holder.stl", "stand-clip.stl"] {
        fs::copy(meshes.join(name), folder.path().join(name)).expect("copied");
    }
    folder
}

fn err(done: &Output) -> String {
    String::from_utf8_lossy(&done.stderr).into_owned()
}

fn read(folder: &TempDir, name: &str) -> String {
    fs::read_to_string(folder.path().join(name)).expect("written")
}

/// Addresses that a page would fetch: anything but anchors of its own and data.
fn fetched(page: &str) -> Vec<&str> {
    ["href=\"", "src=\"", "url("]
        .iter()
        .flat_map(|mark| page.split(mark).skip(1))
        .map(|rest| &rest[..rest.len().min(40)])
        .filter(|a| !a.starts_with('#') && !a.starts_with("data:"))
        .collect()
}

#[test]
fn a_sheet_has_every_piece_and_fetches_nothing() {
    let folder = bench();
    let done = run(
        folder.path(),
        &[
            "advise",
            "page-holder.stl",
            "--sheet",
            "s.html",
            "--date",
            "3 May",
        ],
    );
    assert!(done.status.success(), "{}", err(&done));
    let page = read(&folder, "s.html");
    for piece in [
        "Which way up should page-holder go?",
        "Print it with the −Y side down",
        "Why this way up",
        "On the machine",
        "Measuring card",
        "114 ± 0.40",
        "Section area against height",
        "Pose 1: total 2.80",
        "From the file: turn it 90° about X.",
        ">from below (−Y side)<",
        ">from the front (+X side)<",
        "Underlined: the best of the column.",
        "<dt>Title</dt><dd>page-holder</dd>",
        "<dt>Material</dt><dd>PLA</dd>",
        "<dt>Date</dt><dd>3 May</dd>",
        "<dt>File, SHA-256</dt><dd>42f929b69437d1bd</dd>",
        "First angle projection",
        "qualified person",
        "<b class=\"best\">2.7</b>",
    ] {
        assert!(page.contains(piece), "{piece}");
    }
    // A bar with its words for each of the five poses; slenderness decides against pose 2, so no two
    // penalties do.
    assert_eq!(page.matches("class=\"bar\"").count(), 5);
    assert!(page.contains("total 7.36: slenderness 2.72"), "{page}");
    assert!(!page.contains("The listed poses by their penalties"));
    // No overhang is drawn, so no hatching is named.
    assert!(!page.contains("45° hatching: overhang"));
    assert_eq!(fetched(&page), Vec::<&str>::new());
    assert_eq!(page.matches("<h1").count(), 1);
    // The small figures of poses 2 to 5.
    assert_eq!(page.matches("aria-label=\"Pose ").count(), 4);
}

/// Where a rival near the first pose is better in something, that is told under a heading of its
/// own.
#[test]
fn a_sheet_says_what_the_first_pose_costs() {
    let folder = bench();
    let saddle = concat!(env!("CARGO_MANIFEST_DIR"), "/meshes/cable-saddle.3mf");
    let words = ["advise", saddle, "--sheet", "s.html"];
    let done = run(
        folder.path(),
        &[&words[..], &["--weight", "bores=20"]].concat(),
    );
    assert!(done.status.success(), "{}", err(&done));
    let page = read(&folder, "s.html");
    assert!(page.contains("What it costs") && page.contains("Worse than pose 2: "));
    let done = run(
        folder.path(),
        &["advise", "page-holder.stl", "--sheet", "s.html"],
    );
    assert!(done.status.success(), "{}", err(&done));
    assert!(!read(&folder, "s.html").contains("What it costs"));
}

#[test]
fn the_same_part_gives_the_same_bytes_and_an_empty_date() {
    let folder = bench();
    for (name, threads) in [("a.html", "1"), ("b.html", "3")] {
        let words = [
            "advise",
            "stand-clip.stl",
            "--sheet",
            name,
            "--threads",
            threads,
        ];
        assert!(run(folder.path(), &words).status.success());
    }
    let page = read(&folder, "a.html");
    assert!(page == read(&folder, "b.html"));
    assert!(page.contains("<dt>Date</dt><dd></dd>"));
}

#[test]
fn several_parts_share_a_file_with_an_index_first() {
    let folder = bench();
    let words = [
        "advise",
        "stand-clip.stl",
        "missing.stl",
        "page-holder.stl",
        "--sheet",
        "all.html",
    ];
    let done = run(folder.path(), &words);
    // The part that cannot be read is told of; the others are on the sheet.
    assert_eq!(done.status.code(), Some(3), "{}", err(&done));
    let page = read(&folder, "all.html");
    assert!(page.contains("Skip the index"));
    assert!(page.contains("Which way up: 2 parts"));
    for anchor in ["part-1", "part-3"] {
        assert!(page.contains(&format!("href=\"#{anchor}\"")));
        assert!(page.contains(&format!("id=\"{anchor}\"")));
    }
}

#[test]
fn a_name_from_the_disk_is_no_markup() {
    let folder = bench();
    let name = "<img src=x>&.stl";
    fs::copy(
        folder.path().join("stand-clip.stl"),
        folder.path().join(name),
    )
    .expect("copied");
    assert!(
        run(folder.path(), &["advise", name, "--sheet", "s.html"])
            .status
            .success()
    );
    let page = read(&folder, "s.html");
    assert!(!page.contains("<img"));
    assert!(page.contains("&lt;img src=x&gt;&amp;"));
}

#[test]
fn poses_are_compared_in_words_and_on_paper() {
    let folder = bench();
    let words = [
        "advise",
        "page-holder.stl",
        "--compare",
        "1,stored",
        "--sheet",
        "c.html",
    ];
    let done = run(folder.path(), &words);
    assert!(done.status.success(), "{}", err(&done));
    let said = String::from_utf8_lossy(&done.stdout);
    for piece in [
        "pose 1",
        "as stored",
        "slenderness",
        "Worse than pose 1",
        "Pose 1: −Y side down; from the file: turn it 90° about X",
        "7.36  slenderness 2.72",
    ] {
        assert!(said.contains(piece), "{piece}: {said}");
    }
    let page = read(&folder, "c.html");
    assert!(
        page.contains("2 poses compared")
            && page.contains("height 114 mm instead of 28 mm (86 mm more)")
    );
    assert!(page.contains("Underlined: the best of the row."));
    assert_eq!(page.matches("class=\"bar\"").count(), 2);
    // A cube has few poses that differ.
    fs::write(folder.path().join("cube.off"), CUBE).expect("written");
    let missing = run(folder.path(), &["advise", "cube.off", "--compare", "1,900"]);
    assert_eq!(missing.status.code(), Some(2));
    assert!(
        err(&missing).contains("there is no pose 900"),
        "{}",
        err(&missing)
    );
}

#[test]
fn a_lesson_asks_tips_and_explains() {
    let folder = bench();
    let done = run(
        folder.path(),
        &["lesson", "page-holder.stl", "-o", "l.html"],
    );
    assert!(done.status.success(), "{}", err(&done));
    let page = read(&folder, "l.html");
    for piece in [
        "Which of these would you print?",
        "Tip it over",
        "From the −Z side onto the −Y side, 90° in all",
        "Why the largest flat usually goes down",
        "This part breaks the rule",
        "−Z side down</span><span>−Y side down</span>",
        "Why the dip at 45°?",
        "Nozzle and bed burn skin",
        "A fork",
        "A hook",
    ] {
        assert!(page.contains(piece), "{piece}");
    }
    assert_eq!(page.matches("data-step=").count(), 25);
    // Each step says the side and the act.
    let captions = page.split("<figcaption><b>").skip(1);
    let captions: Vec<&str> = captions.filter(|c| c.contains("<dl>")).collect();
    assert_eq!(captions.len(), 25);
    for caption in captions {
        let caption = caption.split("<dl>").next().expect("a caption");
        assert!(caption.contains(" side down"), "{caption}");
        let act = ["as stored in the file", "from the file: turn it"];
        assert!(act.iter().any(|a| caption.contains(a)), "{caption}");
    }
    assert_eq!(page.matches("type=\"radio\"").count(), 4);
    assert_eq!(fetched(&page), Vec::<&str>::new());
}

#[test]
fn a_set_asks_of_several_parts_and_a_lesson_is_on_one() {
    let folder = bench();
    let both = ["page-holder.stl", "stand-clip.stl", "-o", "l.html"];
    let done = run(folder.path(), &[&["lesson"][..], &both].concat());
    assert_eq!(done.status.code(), Some(2), "{}", err(&done));
    assert!(err(&done).contains("--set"), "{}", err(&done));
    let done = run(folder.path(), &[&["lesson", "--set"][..], &both].concat());
    assert!(done.status.success(), "{}", err(&done));
    let page = read(&folder, "l.html");
    let (questions, answers) = page.split_once("id=\"answers\"").expect("answers");
    for piece in ["1. page-holder", "2. stand-clip"] {
        assert!(
            questions.contains(piece) && answers.contains(piece),
            "{piece}"
        );
    }
    assert_eq!(questions.matches("My choice:").count(), 2);
    assert!(questions.contains("In which of these does something thin stand tall"));
    assert!(answers.contains("−Y side down; from the file: turn it 90° about X"));
    assert_eq!(fetched(&page), Vec::<&str>::new());
}

#[test]
fn the_terminal_drawing_comes_when_it_is_asked_for() {
    let folder = bench();
    let blocks = |words: &[&str]| {
        let done = run(folder.path(), words);
        String::from_utf8_lossy(&done.stdout)
            .chars()
            .filter(|c| ('\u{2801}'..='\u{28ff}').contains(c))
            .count()
    };
    // No terminal here, so it stays away by itself.
    assert_eq!(blocks(&["advise", "stand-clip.stl"]), 0);
    assert!(blocks(&["advise", "stand-clip.stl", "--drawing"]) > 60);
    assert_eq!(
        blocks(&["advise", "stand-clip.stl", "--drawing", "--no-drawing"]),
        0
    );
}

#[test]
fn what_cannot_be_written_is_refused_before_the_work() {
    let folder = bench();
    for (words, code, said) in [
        (
            &["advise", "x.stl", "--sheet", "s.txt"][..],
            2,
            "end the name in .html",
        ),
        (
            &["advise", "x.stl", "--picture", "p.gif"],
            2,
            "end the name in .png or .svg",
        ),
        (
            &["advise", "x.stl", "y.stl", "--picture", "p.png"],
            2,
            "takes one part",
        ),
        (
            &["advise", "x.stl", "--sheet", "no/where.html"],
            5,
            "its folder does not exist",
        ),
        (
            &["lesson", "x.stl", "-o", "no/where.html"],
            5,
            "its folder does not exist",
        ),
        (
            &["advise", "x.stl", "--compare", "1"],
            2,
            "compares 2 to 4 poses",
        ),
        (
            &["advise", "x.stl", "--angle", "second"],
            2,
            "first or third",
        ),
        (&["advise", "x.stl", "--pose", "2"], 2, "neither is given"),
    ] {
        let done = run(folder.path(), words);
        assert_eq!(done.status.code(), Some(code), "{words:?} {}", err(&done));
        assert!(err(&done).contains(said), "{words:?} {}", err(&done));
    }
}

/// A beginner reads the first line of each part first: whatever term of the trade stands in it is
/// explained on the page below the table, and so is each column of the table.
#[test]
fn terms_of_the_first_line_are_explained_below() {
    let folder = bench();
    let mut met = BTreeSet::new();
    for entry in
        fs::read_dir(PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("meshes")).expect("there")
    {
        let part = entry.expect("a file").path();
        if part.extension().is_some_and(|e| e == "md") {
            continue;
        }
        // Under hard settings too, where more is said.
        for more in [&[][..], &["--bridge-limit", "1", "--limit", "20"]] {
            let file = part.to_string_lossy();
            let words = ["advise", &file, "--sheet", "s.html", "--json"];
            let done = run(folder.path(), &[&words[..], more].concat());
            assert!(done.status.success(), "{}", err(&done));
            let told: serde_json::Value = serde_json::from_slice(&done.stdout).expect("JSON");
            let verdict = told["verdict"].as_str().expect("a verdict").to_lowercase();
            let page = read(&folder, "s.html");
            let below = page
                .split("Underlined: ")
                .nth(1)
                .expect("a line below the table");
            let below = below.split("</p>").next().expect("its end").to_lowercase();
            for figure in TABLE.iter() {
                let label = &figure.label;
                // "print time" and "as tall as" are everyday words, and heights and times no terms.
                let plain = ["height", "time", "footprint"].contains(&label.as_str());
                if verdict.contains(label.as_str()) && !plain {
                    assert!(below.contains(&format!("{label}: ")), "{label}: {verdict}");
                    met.insert(label.clone());
                }
            }
            for column in COLUMNS {
                let label = &figure(column).label;
                let plain = ["height", "time"].contains(&label.as_str());
                assert!(plain || below.contains(&format!("{label}: ")), "{label}");
            }
        }
    }
    assert!(met.len() >= 2, "{met:?}");
}
