//! Writing mesh files: binary STL, 3MF, OBJ and binary PLY.
//!
//! Same mesh, same bytes: no time, name or number of threads enters a file.

mod threemf;

use super::{Format, Mesh, Units};
use std::io::{self, BufWriter, Seek, Write};
use std::path::Path;

impl Format {
    /// The format that a file name's ending asks for, in any letter case; `None` for an unknown one.
    pub fn of_ending(path: &Path) -> Option<Self> {
        Self::called(path.extension()?.to_str()?)
    }
}

/// Writes `mesh` (mm) to an open destination with its numbers in `units`.
///
/// 3MF states the units; the other formats have no place for them, so that only a
/// reader who is told gets the size back.
///
/// # Errors
/// The destination refuses, or the format is not written.
pub fn write_to<W: Write + Seek>(
    to: &mut W,
    mesh: &Mesh,
    format: Format,
    units: Units,
) -> io::Result<()> {
    let mut to = BufWriter::with_capacity(1 << 16, to);
    match format {
        Format::Stl => stl(&mut to, mesh, units)?,
        Format::ThreeMf => threemf::write(&mut to, mesh, units)?,
        Format::Obj => obj(&mut to, mesh, units)?,
        Format::Ply => ply(&mut to, mesh, units)?,
        Format::Off => return Err(io::ErrorKind::Unsupported.into()),
    }
    to.flush()
}

/// Binary STL by `stl_io`, which writes the layout and nothing of its own.
fn stl<W: Write>(to: &mut W, mesh: &Mesh, units: Units) -> io::Result<()> {
    let triangles = (0..mesh.triangles.len()).map(|t| {
        let corners = mesh.corners(t);
        let double = super::clean::double_area(&corners);
        // A face without area has no normal; the format's word for that is zero.
        let normal = double.try_normalize(0.0).unwrap_or_default();
        stl_io::Triangle {
            normal: stl_io::Normal::new([normal.x as f32, normal.y as f32, normal.z as f32]),
            vertices: corners
                .map(|p| stl_io::Vertex::new([p.x, p.y, p.z].map(|c| units.from_mm(c) as f32))),
        }
    });
    stl_io::write_stl(to, triangles)
}

fn obj<W: Write>(to: &mut W, mesh: &Mesh, units: Units) -> io::Result<()> {
    for p in &mesh.vertices {
        let [x, y, z] = [p.x, p.y, p.z].map(|c| units.from_mm(c));
        writeln!(to, "v {x} {y} {z}")?;
    }
    for t in &mesh.triangles {
        let [a, b, c] = t.map(|v| u64::from(v) + 1);
        writeln!(to, "f {a} {b} {c}")?;
    }
    Ok(())
}

fn ply<W: Write>(to: &mut W, mesh: &Mesh, units: Units) -> io::Result<()> {
    write!(
        to,
        "ply\nformat binary_little_endian 1.0\nelement vertex {}\nproperty double x\n\
         property double y\nproperty double z\nelement face {}\n\
         property list uchar uint vertex_indices\nend_header\n",
        mesh.vertices.len(),
        mesh.triangles.len()
    )?;
    for p in &mesh.vertices {
        for c in [p.x, p.y, p.z] {
            to.write_all(&units.from_mm(c).to_le_bytes())?;
        }
    }
    for t in &mesh.triangles {
        to.write_all(&[3])?;
        for v in t {
            to.write_all(&v.to_le_bytes())?;
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests;
