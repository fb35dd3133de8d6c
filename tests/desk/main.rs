//! The desk as its page meets it: requests over a real port, messages over a real socket.

mod client;
mod guard;
#[cfg(unix)]
mod program;
mod takeaway;
mod uploads;
mod what_if;

use std::path::Path;

/// The bytes of a demo part.
fn demo(name: &str) -> Vec<u8> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("meshes")
        .join(name);
    std::fs::read(path).expect("a demo part")
}
