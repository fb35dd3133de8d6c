//! Files that are somewhere odd, or change while they are read.

use crate::bench::{Bench, stl};
use crate::shapes::{self, cube, soup};
use std::fs;
use std::io::Write;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

fn is_root() -> bool {
    let id = Command::new("id").arg("-u").output();
    id.is_ok_and(|o| o.stdout == b"0\n")
}

#[test]
fn a_folder_that_is_called_like_a_file() {
    let bench = Bench::new();
    fs::create_dir(bench.path("part.stl")).expect("a folder");
    for command in ["inspect", "advise", "measure"] {
        let said = bench.run(&[command, "part.stl"]);
        said.refuses(3, "is a folder, not a file", "name a file inside it");
    }
}

/// A sparse file of a terabyte: no machine that runs these tests has so much memory.
#[cfg(unix)]
#[test]
fn a_file_larger_than_the_memory_is_refused_before_it_is_read_and_others_are_not() {
    let bench = Bench::new();
    let huge = fs::File::create(bench.path("huge.stl")).expect("a file");
    huge.set_len(1 << 40).expect("a sparse file");
    bench.write("part.stl", stl(&cube(20.0)));
    let said = bench.run(&["inspect", "huge.stl"]);
    let hint = "reduce its triangles, end other programs, or use a machine with more memory";
    said.refuses(3, "needs about 1099.5 GB of memory, and ", hint);
    let said = bench.run(&["library", ".", "--out", "kept"]);
    // 1: not all were read.
    assert_eq!(said.code, 1, "{}", said.err);
    let records = fs::read_to_string(bench.path("kept/parts.jsonl")).expect("records");
    let of = |name: &str| {
        records
            .lines()
            .find(|l| l.contains(name))
            .expect("a record")
    };
    assert!(
        of("huge.stl").contains("GB of memory"),
        "{}",
        of("huge.stl")
    );
    assert!(of("part.stl").contains("\"poses\""));
}

#[test]
fn a_name_longer_than_any_system_takes() {
    let bench = Bench::new();
    let long = format!("{}.stl", "x".repeat(5000));
    let said = bench.run(&["inspect", &long]);
    assert_eq!((said.code, said.out.as_str()), (3, ""), "{}", said.err);
    assert!(said.err.contains("cannot be read"), "{}", &said.err[..200]);
    let fits = format!("{}.stl", "ü".repeat(120));
    bench.write(&fits, stl(&cube(20.0)));
    assert_eq!(bench.run(&["inspect", &fits]).code, 0);
}

#[cfg(unix)]
#[test]
fn a_file_that_may_not_be_read_and_a_folder_that_may_not_be_written() {
    use std::os::unix::fs::PermissionsExt;
    let bench = Bench::new();
    let part = bench.write("part.stl", stl(&cube(20.0)));
    let shut = bench.path("shut");
    fs::create_dir(&shut).expect("a folder");
    let mode = |path: &std::path::Path, mode: u32| {
        fs::set_permissions(path, fs::Permissions::from_mode(mode)).expect("changed");
    };
    mode(&shut, 0o500);
    let said = bench.run(&["turn", "part.stl", "--down", "+z", "-o", "shut/turned.stl"]);
    // The first user of a machine may do anything.
    if !is_root() {
        assert_eq!(said.code, 5, "{}", said.err);
        mode(&part, 0o000);
        let said = bench.run(&["inspect", "part.stl"]);
        said.refuses(3, "no permission to read it", "allow reading it");
    }
    mode(&shut, 0o700);
}

#[cfg(target_os = "linux")]
#[test]
fn a_device_without_room_takes_no_part_of_a_file() {
    let bench = Bench::new();
    bench.write("part.stl", stl(&cube(20.0)));
    let said = bench.run(&["turn", "part.stl", "--down", "+z", "-o", "/dev/full"]);
    assert!([2, 5].contains(&said.code), "{}: {}", said.code, said.err);
    let said = bench.run(&[
        "turn",
        "part.stl",
        "--down",
        "+z",
        "-o",
        "no/such/folder.stl",
    ]);
    assert_eq!(said.code, 5, "{}", said.err);
    assert_eq!(bench.files(), ["part.stl"]);
}

#[cfg(unix)]
#[test]
fn a_named_pipe_is_read_and_one_that_says_nothing_is_not_waited_for() {
    let bench = Bench::new();
    let made = Command::new("mkfifo").arg(bench.path("pipe.stl")).status();
    assert!(made.is_ok_and(|s| s.success()));
    let pipe = bench.path("pipe.stl");
    let writer = std::thread::spawn(move || {
        let mut pipe = fs::OpenOptions::new().write(true).open(pipe)?;
        pipe.write_all(&stl(&cube(20.0)))
    });
    let said = bench.run(&["inspect", "pipe.stl"]);
    assert_eq!(said.code, 0, "{}", said.err);
    writer.join().expect("ended").expect("written");
    let began = Instant::now();
    let said = bench.run(&["advise", "--seconds", "0.5", "pipe.stl"]);
    assert_eq!(said.code, 7, "{}", said.err);
    assert!(began.elapsed() < Duration::from_secs(20));
    // A library passes it over.
    bench.write("part.stl", stl(&cube(20.0)));
    #[cfg(feature = "library")]
    {
        let said = bench.run(&["library", ".", "--out", "out", "--seconds", "20"]);
        assert!([0, 1].contains(&said.code), "{}", said.err);
    }
}

#[test]
fn a_file_that_goes_away_before_it_is_read() {
    let bench = Bench::new();
    let said = bench.run(&["advise", "gone.stl"]);
    said.refuses(3, "no such file", "check the path");
    #[cfg(unix)]
    {
        std::os::unix::fs::symlink("nowhere.stl", bench.path("link.stl")).expect("a link");
        bench
            .run(&["advise", "link.stl"])
            .refuses(3, "no such file", "check the path");
        std::os::unix::fs::symlink("loop.stl", bench.path("loop.stl")).expect("a link");
        assert_eq!(bench.run(&["advise", "loop.stl"]).code, 3);
    }
}

/// What is read is one moment of the file: all of a prefix, never a mixture.
#[test]
fn a_file_that_grows_and_shrinks_while_it_is_read() {
    let bench = Bench::new();
    let bytes = stl(&soup(2000, 9));
    let path = bench.write("part.stl", &bytes);
    let stop = std::sync::atomic::AtomicBool::new(false);
    std::thread::scope(|scope| {
        scope.spawn(|| {
            let mut at = 0;
            while !stop.load(std::sync::atomic::Ordering::Relaxed) {
                at = (at + 7919) % bytes.len();
                fs::write(&path, &bytes[..at]).expect("written");
            }
        });
        for _ in 0..12 {
            let said = bench.run(&["inspect", "part.stl"]);
            assert!([0, 3].contains(&said.code), "{}: {}", said.code, said.err);
            assert!(!said.err.contains("panicked"), "{}", said.err);
        }
        stop.store(true, std::sync::atomic::Ordering::Relaxed);
    });
}

/// Files that are not there any more when their turn comes are records, and the run goes on.
#[cfg(feature = "library")]
#[test]
fn a_library_whose_files_go_away_in_mid_run() {
    let bench = Bench::new();
    for k in 0..40 {
        bench.write(&format!("parts/{k}.stl"), stl(&cube(10.0 + k as f32)));
    }
    let mut child = bench
        .command(&["library", "parts", "--out", "out", "--threads", "1"])
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .expect("started");
    std::thread::sleep(Duration::from_millis(300));
    for k in 0..20 {
        let _ = fs::remove_file(bench.path(&format!("parts/{k}.stl")));
    }
    let code = child.wait().expect("ended").code();
    assert!([Some(0), Some(1)].contains(&code), "{code:?}");
}

/// Under a limit on addresses, as `ulimit -v` and batch systems set one: without the refusal an
/// allocation fails there, which ends the program and with it all other parts.
#[cfg(target_os = "linux")]
#[test]
fn a_part_too_large_for_the_memory_is_refused_and_the_others_go_on() {
    const NEEDS: &str = "needs about 0.4 GB of memory, and 0.";
    let bench = Bench::new();
    bench.write("parts/large.stl", stl(&shapes::tetrahedra(100_000)));
    bench.write("parts/small.stl", stl(&cube(20.0)));
    let limited = |words: &[&str]| {
        let said = Command::new("sh")
            .args(["-c", "ulimit -v 300000; exec \"$0\" \"$@\""])
            .arg(env!("CARGO_BIN_EXE_wayup"))
            .args(words)
            .args(["--threads", "1"])
            .current_dir(bench.dir.path())
            .stdin(Stdio::null())
            .output()
            .expect("a shell");
        let text = |bytes| String::from_utf8(bytes).expect("text");
        (said.status.code(), text(said.stdout), text(said.stderr))
    };
    let (code, out, err) = limited(&["advise", "parts/large.stl"]);
    assert_eq!((code, out.as_str()), (Some(3), ""), "{err}");
    assert!(err.contains(NEEDS), "{err}");
    let (code, _, err) = limited(&["library", "parts", "--out", "kept"]);
    assert_eq!(code, Some(1), "{err}");
    let lines = fs::read_to_string(bench.path("kept/parts.jsonl")).expect("records");
    let lines: Vec<serde_json::Value> = (lines.lines())
        .map(|line| serde_json::from_str(line).expect("JSON"))
        .collect();
    let defect = lines[0]["error"]["defect"].as_str().unwrap_or_default();
    assert!(defect.starts_with(NEEDS), "{}", lines[0]);
    assert_eq!(lines[0]["part"]["sha256"].as_str().map(str::len), Some(64));
    assert!(lines[1]["poses"].is_array(), "{}", lines[1]);
    // With more memory it is tried again.
    let said = bench.run(&["library", "parts", "--out", "kept", "--seconds", "1"]);
    assert!([0, 1].contains(&said.code), "{}", said.err);
    let lines = fs::read_to_string(bench.path("kept/parts.jsonl")).expect("records");
    assert!(!lines.contains(NEEDS), "{lines}");
}
