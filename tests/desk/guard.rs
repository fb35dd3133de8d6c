//! Who may ask.

use super::client::{Client, Running};
use std::io::{Read, Write};
use std::net::TcpStream;
use std::time::{Duration, Instant};
use tokio_tungstenite::tungstenite::Message;
use wayup::desk::server::Limits;

fn status(desk: &Running, path: &str, heads: &str) -> u16 {
    let request = format!("GET {path} HTTP/1.1\r\n{heads}Connection: close\r\n\r\n");
    desk.raw(request.as_bytes()).expect("an answer").0
}

#[test]
fn only_the_page_itself_is_answered() {
    let desk = Running::start();
    let (page, host, port) = (desk.path("/"), desk.host(), desk.desk.port);
    let ours = format!("Host: {host}\r\n");
    assert_eq!(status(&desk, &page, &ours), 200);
    let by_name = format!("Host: localhost:{port}\r\nOrigin: http://localhost:{port}\r\n");
    assert_eq!(status(&desk, &page, &by_name), 200);

    // Another name that is pointed at this machine, another port, no host, two hosts.
    for heads in [
        format!("Host: elsewhere.test:{port}\r\n"),
        "Host: 127.0.0.1:1\r\n".to_string(),
        "Host: 127.0.0.1\r\n".to_string(),
        format!("Host: 127.0.0.1:{port}.elsewhere.test\r\n"),
        String::new(),
        format!("Host: {host}\r\nHost: elsewhere.test\r\n"),
    ] {
        let status = status(&desk, &page, &heads);
        assert!(status == 403 || status == 400, "{heads:?}: {status}");
    }
    // A page of another site in the same browser, a file, another program's page.
    for origin in [
        "http://elsewhere.test".to_string(),
        "null".to_string(),
        "http://127.0.0.1:1".to_string(),
        format!("https://{host}"),
    ] {
        let heads = format!("Host: {host}\r\nOrigin: {origin}\r\n");
        assert_eq!(status(&desk, &page, &heads), 403, "{origin}");
    }
    // Without the secret, with another, with a part of it.
    let token = &desk.desk.token;
    assert_eq!(token.len(), 32);
    for path in ["/", "/table", "/00000000000000000000000000000000/"] {
        assert_eq!(status(&desk, path, &ours), 404, "{path}");
    }
    assert_eq!(status(&desk, &format!("/{}/", &token[..31]), &ours), 404);
    assert_eq!(status(&desk, &format!("/{token}x/"), &ours), 404);
}

/// What browsers say of themselves (W3C, Fetch Metadata), and the form of a target that a proxy gets.
#[test]
fn another_site_is_refused_and_so_is_a_target_with_another_host() {
    let desk = Running::start();
    let (page, table, host) = (desk.path("/"), desk.path("/table"), desk.host());
    let with = |path: &str, more: &str| status(&desk, path, &format!("Host: {host}\r\n{more}"));
    for site in ["cross-site", "same-site", "anything"] {
        let heads = format!("Sec-Fetch-Site: {site}\r\n");
        for path in [&page, &table] {
            assert_eq!(with(path, &heads), 403, "{site} {path}");
        }
        // A link to the page may be followed, by a person and to the page alone.
        let visit = format!("{heads}Sec-Fetch-Mode: navigate\r\nSec-Fetch-Dest: document\r\n");
        assert_eq!(
            (with(&page, &visit), with(&table, &visit)),
            (200, 403),
            "{site}"
        );
        let frame = format!("{heads}Sec-Fetch-Mode: navigate\r\nSec-Fetch-Dest: iframe\r\n");
        assert_eq!(with(&page, &frame), 403, "{site}");
    }
    for site in ["same-origin", "none"] {
        assert_eq!(with(&table, &format!("Sec-Fetch-Site: {site}\r\n")), 200);
    }
    let target = |name: &str| format!("http://{name}{page}");
    assert_eq!(with(&target(&host), ""), 200);
    for name in ["elsewhere.test", "127.0.0.1:1", "127.0.0.1"] {
        assert_eq!(with(&target(name), ""), 403, "{name}");
    }
}

#[test]
fn every_desk_has_its_own_secret() {
    let (one, other) = (Running::start(), Running::start());
    assert_ne!(one.desk.token, other.desk.token);
    assert_ne!(one.desk.port, other.desk.port);
}

#[test]
fn a_socket_is_opened_for_the_page_only() {
    let desk = Running::start();
    let ours = format!("http://{}", desk.host());
    assert!(Client::connect(&desk).is_ok());
    assert!(Client::knock(&desk, &desk.path("/ws"), "http://elsewhere.test").is_err());
    assert!(Client::knock(&desk, "/ws", &ours).is_err());
    assert!(Client::knock(&desk, "/00000000000000000000000000000000/ws", &ours).is_err());
}

/// The page is told why, and what is open elsewhere goes on.
#[test]
fn a_message_that_is_too_long_is_hung_up_on_with_a_reason() {
    let desk = Running::start();
    for length in [70_000, 900_000] {
        let mut page = Client::connect(&desk).expect("a socket");
        page.say(&"x".repeat(length).into()).expect("sent");
        let why = loop {
            if let Message::Close(why) = page.socket.read().expect("a message") {
                break why.expect("a reason");
            }
        };
        assert_eq!(u16::from(why.code), 1009, "{why}");
        assert!(why.reason.contains("64 KB"), "{why}");
    }
    let mut page = Client::connect(&desk).expect("a socket");
    page.say(&"y".repeat(60_000).into()).expect("sent");
    assert_eq!(page.hear().expect("an answer")["say"], "refused");
}

/// Whoever says nothing, or only half of what he wants, is hung up on; more of them than there are
/// places keep nobody out for long.
#[test]
fn connections_that_say_nothing_end() {
    let desk = Running::with(Limits {
        head_time: Duration::from_millis(300),
        connections: 8,
        ..Limits::default()
    });
    let half = format!(
        "GET {} HTTP/1.1\r\nHost: {}\r\nX: ",
        desk.path("/"),
        desk.host()
    );
    let mut silent: Vec<TcpStream> = (0..40)
        .map(|_| TcpStream::connect(desk.host()).expect("connected"))
        .collect();
    for stream in silent.iter_mut().step_by(2) {
        stream.write_all(half.as_bytes()).expect("sent");
    }
    let began = Instant::now();
    assert_eq!(desk.get("/").expect("the page").0, 200);
    assert!(began.elapsed() < Duration::from_secs(20));
    for mut stream in silent {
        stream
            .set_read_timeout(Some(Duration::from_secs(20)))
            .expect("set");
        // Hung up on: an end or a broken connection, not a wait.
        let end = stream.read_to_end(&mut Vec::new());
        let waits = |e: &std::io::Error| e.kind() == std::io::ErrorKind::WouldBlock;
        assert!(!end.as_ref().is_err_and(waits), "{end:?}");
    }
}

#[test]
fn answers_are_private_and_run_nothing_of_others() {
    let desk = Running::start();
    let (status, head, _) = desk.get("/").expect("the page");
    let head = head.to_lowercase();
    assert_eq!(status, 200);
    for wanted in [
        "content-security-policy: default-src 'none'; script-src 'self'",
        "frame-ancestors 'none'",
        "x-content-type-options: nosniff",
        "referrer-policy: no-referrer",
        "cache-control: no-store",
        "content-type: text/html",
    ] {
        assert!(head.contains(wanted), "{wanted} is missing in\n{head}");
    }
    assert!(!head.contains("access-control-allow"));
}

#[test]
fn a_name_leads_to_no_file_of_the_machine() {
    let desk = Running::start();
    for rest in [
        "/assets/../../../etc/passwd",
        "/assets/..%2f..%2f..%2fetc%2fpasswd",
        "/assets/%2fetc%2fpasswd",
        "/assets/nothing.js",
        "/part/1/mesh",
    ] {
        assert_eq!(desk.get(rest).expect("an answer").0, 404, "{rest}");
    }
}
