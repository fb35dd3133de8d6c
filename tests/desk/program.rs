//! The program itself: it says where it is, answers, and ends when it is told to.

use super::demo;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::{TcpListener, TcpStream};
use std::path::PathBuf;
use std::process::{Child, ChildStdout, Command, Stdio};
use std::time::{Duration, Instant};

/// The program at work, and its address.
struct Program {
    child: Child,
    out: BufReader<ChildStdout>,
    host: String,
    path: String,
}

impl Program {
    fn start(words: &[&str]) -> Self {
        Self::run(
            Command::new(env!("CARGO_BIN_EXE_wayup"))
                .arg("desk")
                .args(words),
        )
    }

    fn run(command: &mut Command) -> Self {
        let mut child = command
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .expect("runs");
        let mut out = BufReader::new(child.stdout.take().expect("its output"));
        let mut line = String::new();
        out.read_line(&mut line).expect("an address");
        let rest = line.trim().strip_prefix("http://").expect("an address");
        let (host, path) = rest.split_once('/').expect("a path");
        Self {
            host: host.to_string(),
            path: format!("/{path}"),
            child,
            out,
        }
    }

    fn get(&self, rest: &str) -> String {
        let mut stream = TcpStream::connect(&self.host).expect("connected");
        let head = format!(
            "GET {}{rest} HTTP/1.1\r\nHost: {}\r\nConnection: close\r\n\r\n",
            self.path, self.host
        );
        stream.write_all(head.as_bytes()).expect("sent");
        let mut all = Vec::new();
        stream.read_to_end(&mut all).expect("an answer");
        String::from_utf8_lossy(&all).into_owned()
    }

    /// Puts a part on the table; the answer.
    fn post(&self, name: &str, bytes: &[u8]) -> String {
        let mut stream = TcpStream::connect(&self.host).expect("connected");
        let head = format!(
            "POST {}part?name={name} HTTP/1.1\r\nHost: {}\r\nConnection: close\r\nContent-Length: {}\r\n\r\n",
            self.path,
            self.host,
            bytes.len()
        );
        stream.write_all(head.as_bytes()).expect("sent");
        stream.write_all(bytes).expect("sent");
        let mut all = Vec::new();
        stream.read_to_end(&mut all).expect("an answer");
        String::from_utf8_lossy(&all).into_owned()
    }

    /// Sends a signal; the exit code, and what else was printed.
    fn end(mut self, signal: &str) -> (Option<i32>, String, String) {
        let id = self.child.id().to_string();
        let sent = Command::new("kill").args([signal, &id]).status();
        assert!(sent.expect("kill runs").success());
        let (mut out, mut err) = (String::new(), String::new());
        self.out.read_to_string(&mut out).expect("its output");
        let mut pipe = self.child.stderr.take().expect("its notes");
        pipe.read_to_string(&mut err).expect("its notes");
        (self.child.wait().expect("ended").code(), out, err)
    }
}

#[test]
fn it_serves_the_part_named_and_ends_cleanly() {
    let part = format!("{}/meshes/wall-hanger.stl", env!("CARGO_MANIFEST_DIR"));
    for signal in ["-INT", "-TERM"] {
        let program = Program::start(&["--no-browser", "--limit", "50", &part]);
        assert!(program.host.starts_with("127.0.0.1:"));
        assert!(program.get("").starts_with("HTTP/1.1 200"));
        let table = program.get("table");
        assert!(table.contains("\"name\":\"wall-hanger\""), "{table}");
        assert!(table.contains("\"limit_deg\":50.0"), "{table}");
        let (code, out, err) = program.end(signal);
        assert_eq!(code, Some(0), "{signal}: {err}");
        assert_eq!(out, "", "only the address goes to standard output");
        assert_eq!(err.lines().count(), 1, "{err}");
    }
}

#[test]
fn the_unit_of_the_settings_file_beside_the_part_is_taken_and_a_flag_beats_it() {
    let dir = tempfile::tempdir().expect("a folder");
    let part = dir.path().join("part.stl");
    let whole = format!("{}/meshes/wall-hanger.stl", env!("CARGO_MANIFEST_DIR"));
    std::fs::copy(whole, &part).expect("copied");
    std::fs::write(dir.path().join("wayup.toml"), "units = \"cm\"\n").expect("written");
    let part = part.to_str().expect("text");
    for (words, unit) in [
        (&["--no-browser", part][..], "cm"),
        (&["--no-browser", "--units", "mm", part], "mm"),
    ] {
        let program = Program::start(words);
        let table = program.get("table");
        let wanted = format!("\"units\":\"{unit}\"");
        assert!(table.contains(&wanted), "{words:?}: {table}");
        assert_eq!(program.end("-INT").0, Some(0));
    }
}

/// The words of a running program can be read by everybody on the machine.
#[test]
fn the_browser_is_led_in_by_a_file_that_nobody_else_can_read() {
    use std::os::unix::fs::PermissionsExt;
    let dir = tempfile::tempdir().expect("a folder");
    let (browser, seen) = (dir.path().join("browser"), dir.path().join("seen"));
    let script = format!(
        "#!/bin/sh\necho \"$@\" > {0}.part\nmv {0}.part {0}\n",
        seen.display()
    );
    std::fs::write(&browser, script).expect("written");
    std::fs::set_permissions(&browser, PermissionsExt::from_mode(0o755)).expect("allowed");
    let program = Program::run(
        Command::new(env!("CARGO_BIN_EXE_wayup"))
            .arg("desk")
            .env("BROWSER", &browser)
            .env("XDG_RUNTIME_DIR", dir.path()),
    );
    let began = Instant::now();
    while !seen.exists() && began.elapsed() < Duration::from_secs(20) {
        std::thread::sleep(Duration::from_millis(10));
    }
    let words = std::fs::read_to_string(&seen).expect("a browser was started");
    let secret = program.path.trim_matches('/');
    assert!(!words.contains(secret), "{words}");
    let door = PathBuf::from(words.trim());
    let text = std::fs::read_to_string(&door).expect("a file");
    assert!(
        text.contains(&format!("http://{}{}", program.host, program.path)),
        "{text}"
    );
    let mode = std::fs::metadata(&door)
        .expect("a file")
        .permissions()
        .mode();
    assert_eq!(mode & 0o777, 0o600);
    assert_eq!(program.end("-INT").0, Some(0));
    assert!(!door.exists(), "it outlives the desk");
}

#[test]
fn it_ends_in_the_middle_of_a_long_search() {
    let program = Program::start(&["--no-browser"]);
    program.post("bell.ply", &demo("bell-spout.ply"));
    // The sheet takes a whole search; its answer is not waited for.
    let mut asking = TcpStream::connect(&program.host).expect("connected");
    let head = format!(
        "GET {}part/1/sheet.html HTTP/1.1\r\nHost: {}\r\n\r\n",
        program.path, program.host
    );
    asking.write_all(head.as_bytes()).expect("sent");
    assert!(program.get("").starts_with("HTTP/1.1 200"));
    assert_eq!(program.end("-INT").0, Some(0));
}

#[test]
fn what_cannot_be_served_ends_at_once() {
    let taken = TcpListener::bind("127.0.0.1:0").expect("a port");
    let port = taken.local_addr().expect("its address").port().to_string();
    let run = |words: &[&str]| {
        let done = Command::new(env!("CARGO_BIN_EXE_wayup"))
            .arg("desk")
            .args(words)
            .output()
            .expect("runs");
        let err = String::from_utf8_lossy(&done.stderr).into_owned();
        (done.status.code(), err)
    };
    let (code, err) = run(&["--no-browser", "--port", &port]);
    assert_eq!(code, Some(2), "{err}");
    assert!(err.contains("is taken by another program"), "{err}");
    let (code, err) = run(&["--no-browser", "nowhere.stl"]);
    assert_eq!(code, Some(3), "{err}");
    assert!(err.contains("nowhere.stl"), "{err}");
    let (code, err) = run(&["--no-browser", "--limit", "95"]);
    assert_eq!(code, Some(2), "{err}");
    assert!(err.contains("--limit"), "{err}");
}

/// A limit on addresses is set on the running desk, so that threads and the parts on its table stay
/// as they are. Without the refusal an allocation fails there, which ends the program with every
/// part on its table.
#[cfg(target_os = "linux")]
#[test]
fn a_part_too_large_for_the_memory_is_refused_and_the_desk_goes_on() {
    let program = Program::start(&["--no-browser", "--threads", "1"]);
    let id = program.child.id().to_string();
    let small = demo("wall-hanger.stl");
    let answer = program.post("small.stl", &small);
    assert!(answer.starts_with("HTTP/1.1 200"), "{answer}");
    let status = std::fs::read_to_string(format!("/proc/{id}/status")).expect("its table");
    let taken: u64 = (status.lines().find_map(|l| l.strip_prefix("VmSize:")))
        .and_then(|row| row.trim().strip_suffix(" kB")?.parse().ok())
        .expect("a size");
    let most = format!("--as={}", (taken << 10) + (350 << 20));
    let set = Command::new("prlimit").args(["--pid", &id, &most]).status();
    assert!(set.expect("prlimit runs").success());
    let answer = program.post("large.stl", &loose(400_000));
    assert!(answer.starts_with("HTTP/1.1 422"), "{answer}");
    assert!(
        answer.contains("needs about 0.4 GB of memory, and 0."),
        "{answer}"
    );
    assert!(
        answer.contains("use a machine with more memory"),
        "{answer}"
    );
    let answer = program.post("small.stl", &small);
    assert!(answer.starts_with("HTTP/1.1 200"), "{answer}");
    assert_eq!(program.end("-INT").0, Some(0));
}

/// A binary STL of so many loose triangles in a row.
fn loose(count: u32) -> Vec<u8> {
    let mut out = vec![0; 80];
    out.extend(count.to_le_bytes());
    for k in 0..count {
        let x = k as f32;
        let corners = [[x, 0.0, 0.0], [x, 1.0, 0.0], [x, 0.0, 1.0]];
        out.extend([0; 12]);
        out.extend(corners.as_flattened().iter().flat_map(|c| c.to_le_bytes()));
        out.extend([0; 2]);
    }
    out
}
