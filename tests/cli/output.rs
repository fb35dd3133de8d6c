//! Where output goes: a full device, a reader who leaves, a terminal, no terminal.

use crate::bench::{Bench, Said, keeps_to_width};
use std::fs;
use std::io::Read;
use std::process::{Command, Stdio};

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
