//! The page of promises: each names tests that hold it, and those tests are there.

use crate::bench::Bench;
use std::fs;
use std::path::Path;

const PAGE: &str = include_str!("../../src/promises.md");

/// Names of all tests of the project: functions of Rust below `#[test]` or in `proptest!`, and of
/// Python's that begin with `test_`.
fn tests() -> Vec<String> {
    fn walk(folder: &Path, out: &mut Vec<String>) {
        for entry in fs::read_dir(folder).expect("a folder") {
            let path = entry.expect("an entry").path();
            let name = path.file_name().unwrap_or_default().to_string_lossy();
            if path.is_dir() {
                if !name.starts_with('.') && name != "out" {
                    walk(&path, out);
                }
                continue;
            }
            let ending = path.extension().unwrap_or_default();
            if ending != "rs" && ending != "py" {
                continue;
            }
            let text = fs::read_to_string(&path).expect("text");
            let marker = if ending == "rs" { "fn " } else { "def test_" };
            let mut is_test = false;
            for line in text.lines().map(str::trim_start) {
                is_test |= line.starts_with("#[test]") || line.starts_with("#[tokio::test");
                let Some(rest) = line
                    .strip_prefix(marker)
                    .or_else(|| (line.strip_prefix("async ")).and_then(|l| l.strip_prefix(marker)))
                else {
                    continue;
                };
                let word: String = (rest.chars())
                    .take_while(|c| c.is_ascii_alphanumeric() || *c == '_')
                    .collect();
                if ending == "py" {
                    out.push(format!("test_{word}"));
                } else if is_test {
                    out.push(word);
                }
                is_test = false;
            }
        }
    }
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut out = Vec::new();
    walk(&root.join("src"), &mut out);
    walk(&root.join("tests"), &mut out);
    out
}

/// Words in back quotes of a line.
fn quoted(line: &str) -> impl Iterator<Item = &str> {
    line.split('`').skip(1).step_by(2)
}

#[test]
fn every_promise_names_tests_that_are_there() {
    let tests = tests();
    assert!(tests.len() > 500, "{}", tests.len());
    let mut rows = 0;
    let mut missing = Vec::new();
    for line in PAGE.lines().filter(|l| l.starts_with("| ")) {
        let Some(held) = line.split('|').nth(2).filter(|h| h.contains('`')) else {
            continue;
        };
        rows += 1;
        missing.extend(quoted(held).filter(|name| !tests.iter().any(|t| t == name)));
    }
    assert!(rows >= 25, "{rows} rows");
    assert_eq!(missing, Vec::<&str>::new(), "named, and not there");
}

/// Every row of a table of promises or attacks has its test.
#[test]
fn no_promise_stands_without_a_test() {
    let bare: Vec<&str> = PAGE
        .lines()
        .filter(|l| l.starts_with("| ") && !l.contains("held by"))
        .filter(|l| !l.split('|').nth(2).is_some_and(|held| held.contains('`')))
        .collect();
    assert_eq!(bare, Vec::<&str>::new());
}

/// All files below a folder, with their lengths.
fn below(folder: &Path) -> Vec<(String, u64)> {
    let mut out = Vec::new();
    for entry in fs::read_dir(folder).expect("a folder") {
        let path = entry.expect("an entry").path();
        if path.is_dir() {
            out.extend(below(&path));
        } else {
            let length = fs::metadata(&path).map_or(0, |m| m.len());
            out.push((path.display().to_string(), length));
        }
    }
    out.sort();
    out
}

#[test]
fn only_what_was_named_is_written() {
    let bench = Bench::new();
    bench.block("part.stl", [30.0, 20.0, 10.0]);
    let temporary = bench.path("temporary");
    fs::create_dir(&temporary).expect("a folder");
    let before = below(bench.dir.path());
    let quiet = [
        vec!["advise", "part.stl"],
        vec!["advise", "--json", "part.stl"],
        vec!["measure", "part.stl"],
        vec!["inspect", "part.stl"],
        vec!["schema"],
        vec!["advise", "gone.stl"],
    ];
    for words in quiet {
        let mut command = bench.command(&words);
        command.env("TMPDIR", &temporary);
        assert!(command.output().is_ok(), "{words:?}");
        assert_eq!(below(bench.dir.path()), before, "{words:?}");
    }
    let named = [
        (
            vec!["turn", "part.stl", "--down", "+x", "-o", "a.stl"],
            "a.stl",
        ),
        (vec!["advise", "part.stl", "--sheet", "b.html"], "b.html"),
        (vec!["lesson", "part.stl", "-o", "c.html"], "c.html"),
    ];
    for (words, file) in named {
        let mut command = bench.command(&words);
        let said = command.env("TMPDIR", &temporary).output().expect("started");
        assert!(said.status.success(), "{words:?}");
        fs::remove_file(bench.path(file)).expect("the file that was named");
        assert_eq!(below(bench.dir.path()), before, "{words:?}");
    }
}

/// Told by the source and by the list of crates: a run cannot show that something never happens.
#[test]
fn no_connection_is_opened_and_only_this_machine_is_listened_to() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut listeners = Vec::new();
    for (file, _) in below(&root.join("src")) {
        if Path::new(&file).extension().is_none_or(|e| e != "rs") {
            continue;
        }
        let text = fs::read_to_string(&file).expect("text");
        for word in ["TcpStream", "UdpSocket", "UnixStream"] {
            assert!(!text.contains(word), "{file} has {word}");
        }
        listeners.extend(
            text.lines()
                .filter(|l| l.contains("TcpListener::bind"))
                .map(str::to_owned),
        );
    }
    assert_eq!(listeners.len(), 1);
    assert!(
        listeners[0].contains("Ipv4Addr::LOCALHOST"),
        "{}",
        listeners[0]
    );
    let manifest = fs::read_to_string(root.join("Cargo.toml")).expect("text");
    let normal = manifest
        .split("[dev-dependencies]")
        .next()
        .expect("a table");
    for client in [
        "reqwest",
        "ureq",
        "curl",
        "isahc",
        "attohttpc",
        "rustls",
        "native-tls",
        "openssl",
    ] {
        assert!(!normal.contains(client), "{client}");
    }
}

/// The crates that the program is made of are those of the guide's table, each with its reason.
#[test]
fn every_dependency_has_its_reason() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let text = |file: &str| fs::read_to_string(root.join(file)).expect("text");
    let mut used = std::collections::BTreeSet::new();
    for manifest in ["Cargo.toml", "src/python/Cargo.toml"] {
        let table: toml::Table = text(manifest).parse().expect("a manifest");
        let crates = table["dependencies"].as_table().expect("a table").clone();
        used.extend(
            crates
                .into_iter()
                .map(|(name, _)| name)
                .filter(|n| n != "wayup"),
        );
    }
    let guide = text("DEVELOPERS.md");
    let section = guide
        .split("\n## Dependencies\n")
        .nth(1)
        .expect("a section");
    let section = section.split("\n## ").next().expect("its text");
    let mut told = std::collections::BTreeSet::new();
    for line in section.lines().filter(|l| l.starts_with("| `")) {
        let cells: Vec<&str> = line.split('|').collect();
        assert!(cells[2].trim().len() > 10, "no reason: {line}");
        for name in quoted(cells[1]) {
            assert!(told.insert(name.to_owned()), "{name} stands there twice");
        }
    }
    assert_eq!(used, told);
}
