//! Who may ask.

use super::client::{Client, Running};

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
