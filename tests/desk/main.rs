//! The desk as its page meets it: requests over a real port, messages over a real socket.

mod attacks;
mod client;
mod guard;
#[cfg(unix)]
mod program;
mod takeaway;
mod uploads;
mod what_if;

use client::Running;
use serde_json::Value;
use std::path::Path;

/// The bytes of a demo part.
fn demo(name: &str) -> Vec<u8> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("meshes")
        .join(name);
    std::fs::read(path).expect("a demo part")
}

/// Takes a part off the table: the status.
fn close(desk: &Running, part: &Value) -> u16 {
    let head = format!(
        "POST {} HTTP/1.1\r\nHost: {}\r\nConnection: close\r\nContent-Length: 0\r\n\r\n",
        desk.path(&format!("/part/{part}/close")),
        desk.host()
    );
    desk.raw(head.as_bytes()).expect("an answer").0
}
