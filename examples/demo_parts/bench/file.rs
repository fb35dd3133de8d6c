//! The demo files' bytes: by the crate's own writers, save for OFF, which the crate
//! reads but does not write.

use std::fmt::Write as _;
use std::io::{self, Cursor};
use std::path::Path;
use wayup::mesh::{Format, Mesh, Units, write_to};

/// The bytes of `mesh` (mm) in the format of the file's ending, its numbers in `units`.
///
/// # Errors
/// An ending of no mesh format, or what the writer reports.
pub fn bytes(file: &str, mesh: &Mesh, units: Units) -> io::Result<Vec<u8>> {
    match Format::of_ending(Path::new(file)) {
        Some(Format::Off) => Ok(off(mesh).into_bytes()),
        Some(format) => {
            let mut to = Cursor::new(Vec::new());
            write_to(&mut to, mesh, format, units)?;
            Ok(to.into_inner())
        }
        None => Err(io::ErrorKind::Unsupported.into()),
    }
}

fn off(mesh: &Mesh) -> String {
    let mut out = format!("OFF\n{} {} 0\n", mesh.vertices.len(), mesh.triangles.len());
    for p in &mesh.vertices {
        let _ = writeln!(out, "{} {} {}", p.x, p.y, p.z);
    }
    for [a, b, c] in &mesh.triangles {
        let _ = writeln!(out, "3 {a} {b} {c}");
    }
    out
}
