//! What a bad neighbour may try: slow and endless senders, floods, bytes that are no request, messages
//! that mean nothing. Each ends by itself, and others are served meanwhile.

use crate::client::{Client, Running, answer};
use crate::{close, demo};
use serde_json::json;
use std::io::{Read, Write};
use std::net::TcpStream;
use std::time::{Duration, Instant};
use tokio_tungstenite::tungstenite::Message;
use wayup::desk::server::Limits;

/// Numbers that look random and are the same on every machine (xorshift, G. Marsaglia, 2003).
fn random(state: &mut u64, below: usize) -> usize {
    *state ^= *state << 13;
    *state ^= *state >> 7;
    *state ^= *state << 17;
    (*state >> 11) as usize % below
}

/// Seconds for each target, as for the other ones (`tests/awkward/mutate.rs`).
fn seconds() -> f64 {
    let given = std::env::var("WAYUP_FUZZ_SECONDS").ok();
    given.and_then(|s| s.parse().ok()).unwrap_or(0.5)
}

#[test]
fn an_upload_that_drips_makes_room_for_others() {
    let desk = Running::with(Limits {
        upload_idle: Duration::from_millis(600),
        ..Limits::default()
    });
    let host = desk.host();
    let drip = |name: &str| {
        let head = format!(
            "POST {} HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\nContent-Length: 100000\r\n\r\n",
            desk.path(&format!("/part?name={name}"))
        );
        let mut stream = TcpStream::connect(&host).expect("connected");
        stream.write_all(head.as_bytes()).expect("sent");
        stream
    };
    let mut slow = [drip("a.stl"), drip("b.stl")];
    let began = Instant::now();
    std::thread::scope(|scope| {
        let third = scope.spawn(|| {
            desk.upload("hook.stl", &demo("wall-hanger.stl"))
                .map(drop)
                .is_ok()
        });
        // A byte well within the time in which nothing may come.
        while !third.is_finished() && began.elapsed() < Duration::from_secs(60) {
            for stream in &mut slow {
                let _ = stream.write_all(b"x");
            }
            std::thread::sleep(Duration::from_millis(150));
        }
        assert!(third.join().expect("ended"));
    });
    assert!(
        began.elapsed() < Duration::from_secs(30),
        "{:?}",
        began.elapsed()
    );
    for stream in &mut slow {
        assert_eq!(answer(stream).expect("an answer").0, 408);
    }
}

#[test]
fn more_sockets_than_there_is_room_for_are_refused_until_one_closes() {
    let desk = Running::with(Limits {
        sockets: 3,
        ..Limits::default()
    });
    let mut open: Vec<Client> = (0..3)
        .map(|_| Client::connect(&desk).expect("a socket"))
        .collect();
    assert!(Client::connect(&desk).is_err());
    assert_eq!(desk.get("/table").expect("an answer").0, 200);
    drop(open.pop());
    let until = Instant::now() + Duration::from_secs(20);
    while Client::connect(&desk).is_err() {
        assert!(Instant::now() < until, "no socket closed");
        std::thread::sleep(Duration::from_millis(50));
    }
}

/// Whoever goes away while his part is read does not push another part off the table.
#[test]
fn a_part_whose_sender_went_away_is_not_put_on_the_table() {
    let desk = Running::start();
    let bytes = demo("wall-hanger.stl");
    let head = format!(
        "POST {} HTTP/1.1\r\nHost: {}\r\nContent-Length: {}\r\n\r\n",
        desk.path("/part?name=gone.stl"),
        desk.host(),
        bytes.len()
    );
    // All threads that read are busy for a while.
    let desk_state = std::sync::Arc::clone(&desk.desk);
    desk_state
        .rest
        .spawn_broadcast(|_| std::thread::sleep(Duration::from_secs(3)));
    let mut stream = TcpStream::connect(desk.host()).expect("connected");
    stream
        .write_all(&[head.as_bytes(), &bytes].concat())
        .expect("sent");
    std::thread::sleep(Duration::from_millis(500));
    drop(stream);
    std::thread::sleep(Duration::from_secs(5));
    let (_, _, table) = desk.get("/table").expect("an answer");
    let table: serde_json::Value = serde_json::from_slice(&table).expect("JSON");
    assert_eq!(table["parts"], json!([]));
    desk.upload("hook.stl", &bytes).expect("a good part");
}

#[test]
fn bytes_that_are_no_request_end_one_connection_and_nothing_else() {
    let desk = Running::with(Limits {
        head_time: Duration::from_millis(300),
        ..Limits::default()
    });
    let good = format!(
        "GET {} HTTP/1.1\r\nHost: {}\r\nConnection: close\r\nContent-Length: 5\r\n\r\nhello",
        desk.path("/table?a=%41"),
        desk.host()
    )
    .into_bytes();
    let (mut state, mut runs, began) = (7, 0, Instant::now());
    while runs < 20 || began.elapsed().as_secs_f64() < seconds() {
        let mut bytes = good.clone();
        for _ in 0..=random(&mut state, 6) {
            let at = random(&mut state, bytes.len().max(1)).min(bytes.len() - 1);
            match random(&mut state, 4) {
                0 => bytes[at] = random(&mut state, 256) as u8,
                1 => bytes.truncate(at.max(1)),
                2 => drop(bytes.splice(at..at, b"\r\n\r\n".iter().copied())),
                _ => drop(bytes.splice(at..at, b"99999999999999999999".iter().copied())),
            }
        }
        let mut stream = TcpStream::connect(desk.host()).expect("connected");
        let _ = stream.write_all(&bytes);
        let _ = stream.shutdown(std::net::Shutdown::Write);
        stream
            .set_read_timeout(Some(Duration::from_secs(20)))
            .expect("set");
        let mut said = Vec::new();
        let ended = stream.read_to_end(&mut said);
        assert!(
            ended.is_ok() || ended.is_err_and(|e| e.kind() == std::io::ErrorKind::ConnectionReset),
            "{:?}",
            String::from_utf8_lossy(&bytes)
        );
        runs += 1;
    }
    println!("requests: {runs} runs");
    assert_eq!(desk.get("/table").expect("an answer").0, 200);
}

#[test]
fn messages_that_mean_nothing_are_refused_and_the_page_goes_on() {
    let desk = Running::start();
    let part = desk
        .upload("hook.stl", &demo("wall-hanger.stl"))
        .expect("a good part")["part"]
        .clone();
    let good = [
        json!({"do": "settings", "part": part, "values": {"layer_mm": 0.2, "show": [[0, 0, 1]], "material": "PLA"}}),
        json!({"do": "turn", "part": part, "seq": 1, "down": [0, 0, -1], "rest": false}),
        json!({"do": "face", "part": part, "seq": 2, "triangle": 5}),
    ]
    .map(|m| m.to_string());
    let (mut state, mut runs, began) = (11, 0, Instant::now());
    while runs == 0 || began.elapsed().as_secs_f64() < seconds() {
        let mut page = Client::connect(&desk).expect("a socket");
        // Far more answers than may wait to be sent, and none of them read meanwhile.
        for _ in 0..3000 {
            let mut bytes = good[runs % good.len()].clone().into_bytes();
            for _ in 0..=random(&mut state, 3) {
                let at = random(&mut state, bytes.len());
                let odd: [&[u8]; 6] = [b"1e999", b"null", b"[[[[", b"\"", b"-", b"{\"a\":0}"];
                let put = odd[random(&mut state, odd.len())];
                let end = (at + random(&mut state, 6)).min(bytes.len());
                bytes.splice(at..end, put.iter().copied());
            }
            let text = String::from_utf8_lossy(&bytes).into_owned();
            page.socket.send(Message::text(text)).expect("still open");
            runs += 1;
        }
        // It answers as before.
        page.say(
            &json!({"do": "turn", "part": part, "seq": 77_777, "down": [0, 1, 0], "rest": false}),
        )
        .expect("sent");
        let until = Instant::now() + Duration::from_secs(60);
        loop {
            let said = page.hear().expect("a message");
            assert!(!said.to_string().contains("internal error"), "{said}");
            if said["say"] == "figures" && said["seq"] == 77_777 {
                break;
            }
            assert!(Instant::now() < until, "no answer");
        }
    }
    println!("messages: {runs} runs");
    assert_eq!(close(&desk, &part), 204);
}

/// A name or a material is text in every answer, never a part of a page.
#[test]
fn script_in_a_name_stays_text() {
    let desk = Running::start();
    let name = "%3Cimg%20src=x%20onerror=alert(1)%3E.stl";
    let opened = desk
        .upload(name, &demo("wall-hanger.stl"))
        .expect("a good part");
    let part = &opened["part"];
    let mut page = Client::connect(&desk).expect("a socket");
    page.say(&json!({"do": "open", "part": part}))
        .expect("sent");
    page.wait(|m| m["say"] == "ranking" && m["final"] == true)
        .expect("a ranking");
    let (status, _, body) = desk
        .get(&format!("/part/{part}/sheet.html"))
        .expect("an answer");
    let body = String::from_utf8_lossy(&body);
    assert_eq!(status, 200, "{body}");
    assert!(!body.contains("<img src=x"));
    let (_, head, _) = desk.get("/table").expect("an answer");
    assert!(
        head.to_ascii_lowercase().contains("application/json"),
        "{head}"
    );
    page.say(&json!({"do": "settings", "part": part, "values": {"material": "<script>alert(1)</script>"}}))
        .expect("sent");
    let said = page.wait(|m| m["say"] == "refused");
    let text = said.map_or_else(|e| e.to_string(), |v| v.to_string());
    assert!(text.contains("refused"), "{text}");
}

/// A package that unpacks to more than is taken, and one of names in names, are refused; the desk
/// answers others meanwhile.
#[test]
fn bombs_are_refused() {
    let desk = Running::start();
    let zip_of = |model: &str| {
        let mut zip = zip::ZipWriter::new(std::io::Cursor::new(Vec::new()));
        let options = zip::write::SimpleFileOptions::default();
        let rels = r#"<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Target="/3D/3dmodel.model" Id="r" Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"/></Relationships>"#;
        for (name, text) in [("_rels/.rels", rels), ("3D/3dmodel.model", model)] {
            zip.start_file(name, options).expect("new");
            zip.write_all(text.as_bytes()).expect("in memory");
        }
        zip.finish().expect("in memory").into_inner()
    };
    let space = " ".repeat(550_000_000);
    let long = zip_of(&format!("<?xml version=\"1.0\"?>{space}<model/>"));
    drop(space);
    let names = "<!DOCTYPE m [<!ENTITY a \"aaaaaaaaaa\"><!ENTITY b \"&a;&a;&a;&a;\">]><model unit=\"&b;\"/>";
    for bytes in [long, zip_of(names)] {
        let (status, reply) = desk.post("/part?name=bomb.3mf", &bytes).expect("an answer");
        assert_eq!(status, 422, "{reply}");
        assert_eq!(desk.get("/table").expect("an answer").0, 200);
    }
}
