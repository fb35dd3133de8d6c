//! Makes the demo parts: `cargo run --release --example demo_parts -- meshes`.
//!
//! Writes one file a part and the table of them, `README.md`, into the folder
//! given (`meshes` by default). The bytes are the same on every run; a test
//! compares them with the files in the repository.
#![doc = ""]
#![doc = include_str!("../../meshes/README.md")]

mod bench;

use std::path::PathBuf;

fn main() -> std::io::Result<()> {
    let folder = std::env::args_os()
        .nth(1)
        .map_or_else(|| PathBuf::from("meshes"), PathBuf::from);
    for file in bench::write_all(&folder)? {
        println!("{}", file.display());
    }
    Ok(())
}
