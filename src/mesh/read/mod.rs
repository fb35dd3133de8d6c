//! Reading mesh files: STL, 3MF, OBJ, PLY and OFF, told apart by content.
//!
//! Out comes one welded mesh in mm, whatever went in. Nothing here repairs: what is
//! wrong with the surface is found when the part is made
//! ([`Part::new`](super::Part::new)).

mod arrays;
mod glance;
mod obj;
mod off;
mod ply;
mod polygon;
mod raw;
mod sniff;
mod stl;
mod text;
mod threemf;

use super::error::{LocatedFault, ReadError, ReadFault};
use super::units::{Units, UnitsOrigin};
use super::{Defect, Mesh, Part};
use crate::words::{hex, short};
use nalgebra::Point3;
use raw::Raw;
pub use raw::{Format, ReadOptions};
use sha2::{Digest, Sha256};
use std::fs::File;
use std::io::Read;
use std::path::Path;
use std::time::Instant;

pub use arrays::{ArrayFault, from_arrays};
pub use glance::{Glance, glance, named_as_mesh};

/// A file that has been read.
#[derive(Debug, Clone)]
pub struct Loaded {
    /// The file as the caller named it.
    pub name: String,
    /// Welded mesh, part frame, mm. Has at least one triangle; may be open, flipped or degenerate.
    pub mesh: Mesh,
    /// Format that the content is in.
    pub format: Format,
    /// Units that its numbers were taken in.
    pub units: Units,
    /// Who decided the units.
    pub units_origin: UnitsOrigin,
    /// SHA-256 of the file's bytes, lower-case hexadecimal.
    pub sha256: String,
    /// Remarks for the person: oddities of the file that were tolerated, doubtful units.
    pub notes: Vec<String>,
    /// When the making of the part ends, too, finished or not.
    pub until: Option<Instant>,
}

impl Loaded {
    /// Makes the part and takes the mesh out of `self`.
    ///
    /// # Errors
    /// The mesh encloses nothing: no usable triangle, or all of it in one plane; or the time is over.
    pub fn take_part(&mut self) -> Result<(Part, Vec<Defect>), ReadError> {
        Part::until(std::mem::take(&mut self.mesh), self.until)
            .map_err(|fault| ReadError::new(&self.name, fault.into()))
    }
}

/// Reads a mesh file.
///
/// # Errors
/// The file cannot be read, or holds no mesh; see [`ReadFault`].
pub fn read_path(path: &Path, options: &ReadOptions) -> Result<Loaded, ReadError> {
    read_bytes(
        &path.display().to_string(),
        &file_bytes(path, options)?,
        options,
    )
}

/// The bytes of a mesh file, which may be none.
///
/// # Errors
/// The file cannot be read, or is larger than the options allow.
pub fn file_bytes(path: &Path, options: &ReadOptions) -> Result<Vec<u8>, ReadError> {
    bytes_of(path, options).map_err(|flaw| ReadError::new(&path.display().to_string(), flaw))
}

fn bytes_of(path: &Path, options: &ReadOptions) -> Result<Vec<u8>, LocatedFault> {
    use std::io::ErrorKind;
    let failed = |error: std::io::Error| match error.kind() {
        ErrorKind::NotFound => ReadFault::NotFound,
        ErrorKind::PermissionDenied => ReadFault::NoPermission,
        ErrorKind::IsADirectory => ReadFault::Folder,
        _ => ReadFault::Unreadable(error.to_string()),
    };
    let file = File::open(path).map_err(failed)?;
    let length = file.metadata().map_err(failed)?;
    if length.is_dir() {
        return Err(ReadFault::Folder.into());
    }
    // The stated length only sizes the buffer; a device or pipe states none.
    let mut bytes = Vec::with_capacity(length.len().min(options.byte_limit) as usize);
    file.take(options.byte_limit.saturating_add(1))
        .read_to_end(&mut bytes)
        .map_err(failed)?;
    if bytes.len() as u64 > options.byte_limit {
        return Err(ReadFault::Unreadable(format!(
            "more than {} MB",
            options.byte_limit / 1_000_000
        ))
        .into());
    }
    Ok(bytes)
}

/// SHA-256 of the bytes of a file, as hexadecimal text.
pub fn checksum(bytes: &[u8]) -> String {
    hex(&Sha256::digest(bytes))
}

/// Beyond this, the fifth powers of length in an inertia leave the range of a double.
const FARTHEST_MM: f64 = 1e50;

/// Reads a mesh from bytes; `name` is only for messages.
///
/// # Errors
/// The bytes hold no mesh; see [`ReadFault`].
pub fn read_bytes(name: &str, bytes: &[u8], options: &ReadOptions) -> Result<Loaded, ReadError> {
    let (sha256, read) = rayon::join(|| checksum(bytes), || read_raw(bytes, options));
    let (format, mut raw) = read.map_err(|flaw| ReadError::new(name, flaw))?;

    let (units, units_origin) = match (options.units, raw.units) {
        (Some(units), _) => (units, UnitsOrigin::Given),
        (None, Some(units)) => (units, UnitsOrigin::File),
        (None, None) => (Units::Millimeter, UnitsOrigin::Assumed),
    };
    (options.in_time()).map_err(|fault| ReadError::new(name, fault.into()))?;
    let odd = to_mm(&mut raw.mesh, units).map_err(|fault| ReadError::new(name, fault.into()))?;
    if raw
        .mesh
        .vertices
        .iter()
        .any(|p| p.iter().any(|c| c.is_nan() || c.abs() > FARTHEST_MM))
    {
        return Err(ReadError::new(name, ReadFault::NotFinite.into()));
    }
    raw.notes.extend(odd);
    Ok(Loaded {
        name: name.to_owned(),
        mesh: raw.mesh,
        format,
        units,
        units_origin,
        sha256,
        notes: raw.notes,
        until: options.until,
    })
}

/// Brings a mesh to mm; a remark where its size is doubtful.
fn to_mm(mesh: &mut Mesh, units: Units) -> Result<Option<String>, ReadFault> {
    if units != Units::Millimeter {
        for p in &mut mesh.vertices {
            p.coords *= units.mm();
        }
    }
    if mesh.triangles.is_empty() {
        return Err(ReadFault::NoTriangles);
    }
    Ok(mesh
        .bounds()
        .and_then(|(lo, hi)| doubtful_units(lo, hi, units)))
}

fn read_raw(bytes: &[u8], options: &ReadOptions) -> Result<(Format, Raw), LocatedFault> {
    use sniff::Content;
    let (format, raw) = match sniff::content(bytes)? {
        Content::StlBinary => (Format::Stl, stl::read_binary(bytes, options)?),
        Content::StlText => (Format::Stl, stl::read_text(bytes, options)?),
        Content::Zip => (Format::ThreeMf, threemf::read(bytes, options)?),
        Content::Obj => (Format::Obj, obj::read(bytes, options)?),
        Content::Ply => (Format::Ply, ply::read(bytes, options)?),
        Content::Off => (Format::Off, off::read(bytes, options)?),
    };
    Ok((format, raw))
}

/// A remark on a part under 1 mm or over 2 m, with its size in the likeliest unit.
fn doubtful_units(lo: Point3<f64>, hi: Point3<f64>, units: Units) -> Option<String> {
    const LEAST_MM: f64 = 1.0;
    const MOST_MM: f64 = 2000.0;
    let size = hi - lo;
    let extent = size.max();
    if (LEAST_MM..=MOST_MM).contains(&extent) || extent == 0.0 {
        return None;
    }
    let word = if extent < LEAST_MM { "small" } else { "large" };
    let shown = |scale: f64| {
        let [x, y, z] = <[f64; 3]>::from(size * scale).map(short);
        format!("{x} × {y} × {z} mm")
    };
    // Inches before metres and centimetres: of two that fit, the one nearest to a
    // hand-sized part of 60 mm, by ratio.
    let likely = [
        Units::Millimeter,
        Units::Micron,
        Units::Centimeter,
        Units::Inch,
        Units::Meter,
    ]
    .into_iter()
    .filter(|other| *other != units)
    .map(|other| (other, other.mm() / units.mm()))
    .filter(|(_, scale)| (LEAST_MM..=MOST_MM).contains(&(extent * scale)))
    .min_by(|a, b| {
        let far = |scale: f64| libm::log(extent * scale / 60.0).abs();
        far(a.1).total_cmp(&far(b.1))
    });
    let guess = likely.map_or_else(String::new, |(other, scale)| {
        let plural = other.plural();
        let name = other.name();
        format!(
            ": if its numbers are {plural} (--units {name}), it is {}",
            shown(scale)
        )
    });
    Some(format!(
        "the part is very {word}: {}; its units may be wrong{guess}",
        shown(1.0)
    ))
}

#[cfg(test)]
mod tests;
