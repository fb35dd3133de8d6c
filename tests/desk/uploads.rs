//! Parts that come in, good and bad, long and broken off.

use super::client::{Client, Running, answer};
use super::demo;
use serde_json::json;
use std::io::Write;
use std::net::TcpStream;
use std::process::Command;
use std::time::{Duration, Instant};
use wayup::desk::engine::table::MOST_PARTS;
use wayup::desk::server::Limits;

#[test]
fn a_part_is_opened_and_drawn() {
    let desk = Running::start();
    let reply = desk
        .upload("wall-hanger.stl", &demo("wall-hanger.stl"))
        .expect("a good part");
    assert_eq!(reply["name"], "wall-hanger");
    assert_eq!(reply["facts"]["path"], "wall-hanger.stl");
    assert_eq!(reply["facts"]["closed"], true);
    let (status, _, block) = desk
        .get(&format!("/part/{}/mesh", reply["part"]))
        .expect("its surface");
    assert_eq!(status, 200);
    let word = |i: usize| {
        let bytes: [u8; 4] = block[4 * i..4 * i + 4].try_into().expect("four bytes");
        u32::from_le_bytes(bytes)
    };
    let [nv, nt, ne] = [1, 2, 3].map(|i| word(i) as usize);
    assert_eq!(&block[..4], b"WYM1");
    assert_eq!(reply["facts"]["triangles"], nt);
    assert_eq!(block.len(), 4 * (4 + 3 * nv + 3 * nt + nt + 2 * ne));
    // A closed surface of V corners and T = 2 E / 3 faces: V − E + T is even (Euler).
    assert_eq!((nv + nt + 3 * nt / 2) % 2, 0);
    let size = reply["facts"]["size_mm"].as_array().expect("three");
    for (axis, size) in size.iter().enumerate() {
        let along = (0..nv).map(|v| f32::from_bits(word(4 + 3 * v + axis)));
        let half = along.fold(0.0_f32, |m, c| m.max(c.abs()));
        let wanted = size.as_f64().expect("a length") / 2.0;
        assert!((f64::from(half) - wanted).abs() < 1e-4, "{half} {wanted}");
    }
    for t in 0..3 * nt {
        assert!((word(4 + 3 * nv + t) as usize) < nv);
    }
}

/// The page shows the very words of the terminal, for every way in which a file is bad.
#[test]
fn a_broken_file_is_told_of_as_on_the_terminal() {
    let desk = Running::start();
    let folder = tempfile::tempdir().expect("a folder");
    let mut cut = demo("wall-hanger.stl");
    cut.truncate(1000);
    let flat = b"OFF\n3 1 0\n0 0 0\n1 0 0\n0 1 0\n3 0 1 2\n".to_vec();
    for (name, bytes) in [
        ("cut.stl", cut),
        ("empty.stl", Vec::new()),
        ("flat.off", flat),
        ("words.obj", b"v 0 0 0\nv 1 0 zero\n".to_vec()),
        ("note.txt", b"not a mesh at all".to_vec()),
    ] {
        std::fs::write(folder.path().join(name), &bytes).expect("written");
        let terminal = Command::new(env!("CARGO_BIN_EXE_wayup"))
            .args(["advise", name])
            .current_dir(folder.path())
            .output()
            .expect("runs");
        assert_eq!(terminal.status.code(), Some(3), "{name}");
        let (status, reply) = desk
            .post(&format!("/part?name={name}"), &bytes)
            .expect("an answer");
        assert_eq!(status, 422, "{name}");
        let error = &reply["error"];
        let said = String::from_utf8(terminal.stderr).expect("text");
        assert_eq!(error["text"], said.trim_end(), "{name}");
        assert_eq!(error["file"], name);
        let hint = error["hint"].as_str().expect("a hint");
        assert!(!hint.is_empty() && said.contains(hint));
        assert!(said.contains(error["defect"].as_str().expect("a defect")));
    }
}

#[test]
fn a_name_is_a_label_and_never_a_path() {
    let desk = Running::start();
    let bytes = demo("wall-hanger.stl");
    for (sent, kept) in [
        ("..%2F..%2Fetc%2Fpasswd", "passwd"),
        ("C%3A%5Cparts%5Chook.stl", "hook.stl"),
        ("%00%0A%1B", "part"),
        ("a%E2%80%AEgpj.stl", "agpj.stl"),
        ("..", "part"),
        ("", "part"),
    ] {
        let reply = desk.upload(sent, &bytes).expect("a good part");
        assert_eq!(reply["facts"]["path"], kept, "{sent}");
    }
}

#[test]
fn a_length_over_the_limit_is_refused_before_the_body_is_read() {
    let desk = Running::start();
    let head = format!(
        "POST {} HTTP/1.1\r\nHost: {}\r\nContent-Length: {}\r\n\r\n",
        desk.path("/part?name=long.stl"),
        desk.host(),
        1_000_000_000
    );
    // Nothing of the gigabyte is sent: the answer has to come all the same.
    let mut stream = TcpStream::connect(desk.host()).expect("connected");
    stream.write_all(head.as_bytes()).expect("sent");
    stream
        .set_read_timeout(Some(Duration::from_secs(20)))
        .expect("set");
    let mut first = [0; 12];
    std::io::Read::read_exact(&mut stream, &mut first).expect("an answer");
    assert_eq!(&first, b"HTTP/1.1 413");
}

/// A gigabyte whose length is not told: the desk has to hang up near its limit, not at the
/// end, and must not hold what it has read.
#[test]
fn a_body_over_the_limit_is_refused_while_it_comes() {
    const LIMIT: usize = 1 << 20;
    let desk = Running::with(Limits {
        upload_bytes: LIMIT,
        ..Limits::default()
    });
    let head = format!(
        "POST {} HTTP/1.1\r\nHost: {}\r\nTransfer-Encoding: chunked\r\n\r\n",
        desk.path("/part?name=long.stl"),
        desk.host()
    );
    let mut stream = TcpStream::connect(desk.host()).expect("connected");
    stream
        .set_write_timeout(Some(Duration::from_secs(5)))
        .expect("set");
    stream.write_all(head.as_bytes()).expect("sent");
    let chunk = [&b"10000\r\n"[..], &vec![b'x'; 0x10000], &b"\r\n"[..]].concat();
    let mut sent = 0;
    // As much as the desk takes; then it closes or stops reading.
    while sent < 1_000_000_000 && stream.write_all(&chunk).is_ok() {
        sent += 0x10000;
    }
    // The buffers of both ends of the connection come on top.
    assert!(sent >= LIMIT, "{sent}");
    assert!(sent < 64 * LIMIT, "{sent} bytes were taken");
    // Others are served as before.
    assert_eq!(desk.get("/").expect("the page").0, 200);
}

/// An upload of which only the beginning is sent.
fn begun(desk: &Running) -> TcpStream {
    let head = format!(
        "POST {} HTTP/1.1\r\nHost: {}\r\nConnection: close\r\nContent-Length: 1000\r\n\r\nsolid",
        desk.path("/part?name=slow.stl"),
        desk.host()
    );
    let mut stream = TcpStream::connect(desk.host()).expect("connected");
    stream.write_all(head.as_bytes()).expect("sent");
    stream
}

#[test]
fn a_slow_upload_ends() {
    let desk = Running::with(Limits {
        upload_time: Duration::from_millis(200),
        ..Limits::default()
    });
    let mut stream = begun(&desk);
    let began = Instant::now();
    let (status, _, body) = answer(&mut stream).expect("an answer");
    assert_eq!(status, 408, "{}", String::from_utf8_lossy(&body));
    assert!(began.elapsed() < Duration::from_secs(20));
}

/// Two senders that fall silent must not keep a third waiting for the whole time of an upload.
#[test]
fn uploads_that_fall_silent_make_room_for_others() {
    let desk = Running::with(Limits {
        upload_idle: Duration::from_secs(1),
        ..Limits::default()
    });
    let mut slow = [begun(&desk), begun(&desk)];
    // Time for them to be let in.
    std::thread::sleep(Duration::from_millis(300));
    let began = Instant::now();
    desk.upload("hook.stl", &demo("wall-hanger.stl"))
        .expect("a good part");
    assert!(began.elapsed() < Duration::from_secs(20));
    for stream in &mut slow {
        let (status, _, body) = answer(stream).expect("an answer");
        assert_eq!(status, 408, "{}", String::from_utf8_lossy(&body));
    }
}

#[test]
fn a_query_that_is_off_is_refused_in_plain_words() {
    let desk = Running::start();
    let bytes = demo("wall-hanger.stl");
    for query in ["name=a.stl&name=b.stl", "units=mm&units=cm"] {
        let (status, reply) = desk
            .post(&format!("/part?{query}"), &bytes)
            .expect("an answer in JSON");
        assert_eq!(status, 400, "{query}");
        let said = reply["error"]["text"].as_str().expect("words");
        assert!(
            said.contains("is not understood") && said.contains("once each"),
            "{said}"
        );
    }
    let part = desk.upload("hook.stl", &bytes).expect("a good part")["part"].clone();
    for query in ["down=0,0,1&down=0,1,0", "down=up"] {
        let (status, _, body) = desk
            .get(&format!("/part/{part}/turned.stl?{query}"))
            .expect("an answer");
        let said = String::from_utf8_lossy(&body);
        assert_eq!(status, 400, "{query}");
        assert!(!said.is_empty() && !said.contains("deserialize"), "{said}");
    }
}

#[test]
fn the_table_holds_so_many_parts_and_the_oldest_falls_off() {
    let desk = Running::start();
    let bytes = demo("wall-hanger.stl");
    let parts: Vec<_> = (0..=MOST_PARTS)
        .map(|_| desk.upload("hook.stl", &bytes).expect("a good part")["part"].clone())
        .collect();
    let status = |part: &serde_json::Value| {
        let (status, _, _) = desk.get(&format!("/part/{part}/mesh")).expect("an answer");
        status
    };
    assert_eq!(status(&parts[0]), 404);
    assert_eq!(status(&parts[1]), 200);
    assert_eq!(status(&parts[MOST_PARTS]), 200);
    // A page that still shows it is told so.
    let mut page = Client::connect(&desk).expect("a socket");
    page.say(&json!({"do": "open", "part": parts[0]}))
        .expect("sent");
    let said = page.hear().expect("an answer");
    assert_eq!((&said["say"], &said["part"]), (&json!("failed"), &parts[0]));
}
