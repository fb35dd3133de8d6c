//! What people expect of any command: help that fits and ends with an example, suggestions, a version,
//! completions, manual pages, lines that keep to the width; and the quickstart, line by line.

use crate::bench::{Bench, Said};
use std::fs;
use std::io::{BufRead, BufReader};
use std::path::Path;
use std::process::{Command, Stdio};

/// The commands that `wayup --help` lists.
fn listed(bench: &Bench) -> Vec<String> {
    let help = bench.run(&["--help"]).out;
    let list = help.split("Commands:\n").nth(1).expect("a list");
    let list = list.split("\n\n").next().expect("its end");
    let name = |line: &str| line.split_whitespace().next().map(String::from);
    list.lines().filter_map(name).collect()
}

/// A folder in which the examples of the help work.
fn bench() -> Bench {
    let bench = Bench::new();
    bench.block("bracket.stl", [30.0, 20.0, 10.0]);
    bench.block("parts/one.stl", [30.0, 20.0, 10.0]);
    bench.block("parts/two.stl", [10.0, 20.0, 40.0]);
    bench
}

/// Runs a line as a shell would, with the words of `wayup` given to the program. A command that
/// does not end by itself is ended once it has said where it is.
fn typed(bench: &Bench, line: &str) -> Said {
    let (line, into) = match line.split_once(" > ") {
        Some((line, into)) => (line, Some(into)),
        None => (line, None),
    };
    let mut words = words(line);
    assert_eq!(words.remove(0), "wayup", "{line}");
    if words.first().is_some_and(|w| w == "desk") {
        words.push("--no-browser".into());
        let words: Vec<&str> = words.iter().map(String::as_str).collect();
        let mut desk = bench.command(&words);
        let mut desk = desk.stdout(Stdio::piped()).spawn().expect("started");
        let mut out = String::new();
        let said = desk.stdout.take().expect("piped");
        BufReader::new(said).read_line(&mut out).expect("said");
        desk.kill().expect("ended");
        desk.wait().expect("ended");
        let code = i32::from(!out.contains("http://127.0.0.1:"));
        let err = String::new();
        return Said { code, out, err };
    }
    let words: Vec<&str> = words.iter().map(String::as_str).collect();
    let said = bench.run(&words);
    if let Some(into) = into {
        bench.write(into, &said.out);
    }
    said
}

/// The words of a line, those in double quotes together.
fn words(line: &str) -> Vec<String> {
    let pieces = line.split('"').enumerate();
    pieces
        .flat_map(|(i, piece)| match i % 2 {
            0 => piece.split_whitespace().map(String::from).collect(),
            _ => vec![piece.to_string()],
        })
        .collect()
}

#[test]
fn the_help_fits_one_screen() {
    let help = bench().run(&["--help"]).out;
    assert!(help.lines().count() < 24, "{help}");
    assert!(help.lines().all(|l| l.chars().count() <= 80), "{help}");
    assert!(
        help.trim_end()
            .lines()
            .last()
            .is_some_and(|l| l.starts_with("Example: wayup advise"))
    );
}

#[test]
fn the_help_of_every_command_ends_with_an_example_that_works() {
    let bench = bench();
    let commands = listed(&bench);
    assert!(commands.len() >= 8, "{commands:?}");
    for command in commands {
        for flag in ["--help", "-h"] {
            let help = bench.run(&[&command, flag]).out;
            let mut end = help.trim_end().lines().rev();
            let example = end.next().unwrap_or_default();
            assert_eq!(end.next(), Some("Example:"), "{command} {flag}: {help}");
            assert!(
                example.starts_with(&format!("  wayup {command}")),
                "{example}"
            );
            if flag == "--help" {
                let said = typed(&bench, example.trim());
                assert_eq!(said.code, 0, "{example}: {}", said.err);
                assert!(!said.out.is_empty(), "{example}");
            }
        }
    }
}

#[test]
fn the_version_names_the_schema() {
    let said = bench().run(&["--version"]);
    let schema = wayup::report::json::SCHEMA_VERSION;
    let start = format!("wayup {} (schema {schema}", env!("CARGO_PKG_VERSION"));
    assert!(said.out.starts_with(&start), "{}", said.out);
    assert_eq!((said.code, said.out.lines().count()), (0, 1));
}

#[test]
fn a_near_miss_of_command_flag_or_value_is_suggested() {
    let bench = bench();
    for (line, suggested) in [
        ("wayup advse bracket.stl", "'advise'"),
        ("wayup advise bracket.stl --matrial PLA", "'--material'"),
        (
            "wayup advise bracket.stl --material PETGG",
            "do you mean PETG?",
        ),
        ("wayup advise bracket.stl --aim quik", "do you mean quick?"),
        ("wayup advise bracket.stl --units mn", "do you mean mm?"),
        (
            "wayup advise bracket.stl --angle frist",
            "do you mean first?",
        ),
        (
            "wayup advise bracket.stl --weight heigth=1",
            "do you mean height?",
        ),
        ("wayup completions bsh", "'bash'"),
        ("wayup manual advice", "'advise'"),
    ] {
        let said = typed(&bench, line);
        assert_eq!((said.code, said.out.as_str()), (2, ""), "{line}");
        assert!(said.err.contains(suggested), "{line}: {}", said.err);
    }
    let said = typed(&bench, "wayup advise bracket.stl --material cheese");
    assert!(!said.err.contains("do you mean"), "{}", said.err);
}

#[test]
fn what_was_renamed_is_refused_with_its_new_name() {
    let bench = bench();
    for (line, new) in [
        ("wayup measure bracket.stl --found 30,20,10", "'--readings'"),
        ("wayup measure bracket.stl --found=30,20,10", "'--readings'"),
        (
            "wayup advise bracket.stl --require total<9 --as-loaded",
            "'--as-stored'",
        ),
        ("wayup advise bracket.stl --compare 1,loaded", "'stored'"),
        (
            "wayup advise bracket.stl --require floating_starts==0",
            "'islands'",
        ),
        (
            "wayup advise bracket.stl --require support_scar_mm2.below<1",
            "'support_marks_mm2.below'",
        ),
    ] {
        let said = typed(&bench, line);
        assert_eq!((said.code, said.out.as_str()), (2, ""), "{line}");
        assert!(said.err.contains(new), "{line}: {}", said.err);
    }
}

#[test]
fn completions_know_commands_flags_and_values() {
    let bench = bench();
    for shell in ["bash", "elvish", "fish", "powershell", "zsh"] {
        let said = bench.run(&["completions", shell]);
        assert_eq!((said.code, said.err.as_str()), (0, ""), "{shell}");
        for word in [
            "advise",
            "library",
            "bridge-limit",
            "PETG",
            "strong",
            "third",
        ] {
            // What PowerShell's generator leaves out is told by the program itself.
            let values = ["elvish", "powershell"].contains(&shell);
            let is_value = ["PETG", "strong", "third"].contains(&word);
            assert!(
                said.out.contains(word) || values && is_value,
                "{shell}: {word}"
            );
        }
    }
    // Bash itself takes the script, and completes with it.
    bench.write("wayup.bash", bench.run(&["completions", "bash"]).out);
    let asked = "source ./wayup.bash; COMP_WORDS=(wayup advise --material PE); COMP_CWORD=3; \
        _wayup wayup PE --material; echo ${COMPREPLY[@]}";
    let bash = Command::new("bash")
        .args(["-c", asked])
        .current_dir(bench.dir.path())
        .output();
    let said = Said::from(bash.expect("bash"));
    assert_eq!((said.out.trim(), said.err.as_str()), ("PETG", ""));
}

#[test]
fn manual_pages_are_there_for_the_program_and_each_command() {
    let bench = bench();
    let page = bench.run(&["manual"]).out;
    assert!(
        page.contains(".TH wayup 1") && page.contains("Exit codes:"),
        "{page}"
    );
    for command in listed(&bench) {
        assert!(page.contains(&format!("wayup\\-{command}(1)")), "{command}");
        let own = bench.run(&["manual", &command]);
        assert_eq!((own.code, own.err.as_str()), (0, ""));
        assert!(
            own.out.contains(&format!(".TH wayup-{command} 1")),
            "{}",
            own.out
        );
        assert!(own.out.contains("Example:"), "{command}");
    }
}

#[test]
fn no_line_is_wider_than_the_terminal() {
    let bench = bench();
    bench.gate("gate.stl");
    for width in [40, 80] {
        for line in [
            "wayup --help",
            "wayup advise --help",
            "wayup library --help",
            "wayup manual --help",
            "wayup advise gate.stl --drawing",
            "wayup advise gate.stl --compare 1,2,stored",
            "wayup advise gate.stl --compare 1,2,3,4",
            "wayup measure gate.stl --readings 30,10,20.4",
            "wayup inspect gate.stl",
            "wayup turn gate.stl --down +x -o out.stl",
            "wayup lesson gate.stl -o out.html",
        ] {
            let all = words(line);
            let all: Vec<&str> = all.iter().skip(1).map(String::as_str).collect();
            let mut command = bench.command(&all);
            let said = command.env("COLUMNS", width.to_string()).output();
            let said = Said::from(said.expect("started"));
            assert_eq!(said.code, 0, "{line}: {}", said.err);
            for row in said.out.lines() {
                assert!(row.chars().count() <= width, "{width}, {line}: {row:?}");
            }
        }
    }
}

/// Each command of the quickstart, in its order, in one folder with the demo parts.
#[test]
fn the_quickstart_works_line_by_line() {
    let bench = Bench::new();
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    for entry in fs::read_dir(root.join("meshes")).expect("demo parts") {
        let path = entry.expect("an entry").path();
        let name = path
            .file_name()
            .expect("a name")
            .to_string_lossy()
            .into_owned();
        bench.write(&format!("meshes/{name}"), fs::read(&path).expect("read"));
    }
    let text = fs::read_to_string(root.join("src/docs/quickstart.md")).expect("read");
    let lines = text
        .lines()
        .map(str::trim)
        .filter(|l| l.starts_with("wayup "));
    let mut ran = 0;
    for line in lines {
        let said = typed(&bench, line);
        let wanted = if line.contains("--require") { 6 } else { 0 };
        assert_eq!(said.code, wanted, "{line}: {}", said.err);
        ran += 1;
        if line.contains("--readings") {
            assert!(said.out.contains("What the calliper found"), "{}", said.out);
        }
        if line.contains("--require") {
            assert!(
                said.out.contains("0 scored now, 13 unchanged"),
                "{}",
                said.out
            );
        }
    }
    assert!(ran >= 8, "{ran}");
    for made in [
        "hanger.stl",
        "hanger.html",
        "page-holder.html",
        "scored/summary.html",
        "report.xml",
    ] {
        assert!(bench.path(made).exists(), "{made}");
    }
    let page = fs::read_to_string(bench.path("scored/summary.html")).expect("read");
    let links = page.matches("<a href=\"sheets/").count();
    assert!(links >= 13, "{links}");
    for link in page.split("<a href=\"").skip(1) {
        let to = link.split('"').next().expect("an end");
        assert!(
            to.starts_with('#') || bench.path(&format!("scored/{to}")).exists(),
            "{to}"
        );
    }
}

/// A sheet that is gone is made again, that of a changed part takes the place of the old one, and
/// nothing else is scored.
#[test]
fn sheets_of_a_library_follow_its_parts() {
    let bench = bench();
    let run = || {
        let said = bench.run(&["library", "parts", "--out", "scored", "--sheets"]);
        assert_eq!(said.code, 0, "{}", said.err);
        (said.out, bench.files_in("scored/sheets"))
    };
    let without = bench.run(&["library", "parts", "--out", "scored"]);
    assert!(without.out.contains("2 scored now"), "{}", without.out);
    assert!(!bench.path("scored/sheets").exists());
    let (said, first) = run();
    assert!(said.contains("2 scored now, 0 unchanged"), "{said}");
    assert_eq!(first.len(), 2, "{first:?}");
    let (said, again) = run();
    assert!(said.contains("0 scored now, 2 unchanged"), "{said}");
    assert_eq!(again, first);
    fs::remove_file(bench.path(&format!("scored/sheets/{}", first[0]))).expect("gone");
    let (said, again) = run();
    assert!(said.contains("1 scored now, 1 unchanged"), "{said}");
    assert_eq!(again, first);
    bench.block("parts/two.stl", [10.0, 20.0, 50.0]);
    let (said, changed) = run();
    assert!(said.contains("1 scored now, 1 unchanged"), "{said}");
    assert_eq!((changed.len(), &changed[0]), (2, &first[0]));
    assert_ne!(changed[1], first[1]);
    bench
        .run(&["library", "parts", "--sheets"])
        .err
        .contains("--out");
}
