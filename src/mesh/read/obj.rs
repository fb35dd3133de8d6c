//! Wavefront OBJ: vertices and faces; everything else is left out.

use super::polygon::triangulate;
use super::text::{self, Words};
use super::{Raw, ReadOptions, check_count, sniff};
use crate::mesh::error::{Fault, Flaw};
use crate::mesh::weld::weld_indexed;
use nalgebra::Point3;

/// Words that begin a statement.
const STATEMENTS: [&[u8]; 27] = [
    b"v", b"vt", b"vn", b"vp", b"f", b"fo", b"l", b"p", b"o", b"g", b"s", b"mg", b"mtllib",
    b"usemtl", b"usemap", b"maplib", b"cstype", b"deg", b"curv", b"curv2", b"surf", b"parm",
    b"trim", b"hole", b"end", b"lod", b"bevel",
];

/// Whether a line that begins with `word` can be OBJ.
pub(super) fn is_statement(word: &[u8]) -> bool {
    STATEMENTS.contains(&word)
}

/// A face, its corners in a shared list.
struct Face {
    from: usize,
    to: usize,
    line: u64,
}

/// Reads an OBJ file. Faces may name vertices that follow later.
pub(super) fn read(bytes: &[u8], options: &ReadOptions) -> Result<Raw, Flaw> {
    let mut words = Words::new(sniff::without_mark(bytes), 1);
    let mut points: Vec<Point3<f64>> = Vec::new();
    let mut corners: Vec<i64> = Vec::new();
    let mut faces: Vec<Face> = Vec::new();
    let mut statements = 0u64;
    let mut unknown = None;
    loop {
        match words.word_on_line() {
            Some(b"v") => {
                let mut point = Point3::origin();
                for (slot, axis) in point.iter_mut().zip(text::AXES) {
                    *slot = words.coordinate_on_line(axis)?;
                }
                points.push(point);
            }
            Some(b"f" | b"fo") => {
                let face = read_face(&mut words, points.len(), &mut corners)?;
                faces.push(face);
            }
            // A comment, an empty line, or the tail of a continued line.
            None => {}
            Some(word) if word.starts_with(b"#") => {}
            Some(word) if is_statement(word) => statements += 1,
            Some(word) => {
                unknown.get_or_insert_with(|| {
                    words.bad(format!("unknown statement '{}'", text::shown(word)))
                });
            }
        }
        if !words.end_line() {
            break;
        }
    }
    // Writers add statements of their own; without a single face it is no OBJ at all.
    if faces.is_empty() {
        return Err(match unknown {
            Some(_) if points.is_empty() => Fault::NotAMesh.into(),
            Some(flaw) => flaw,
            None if points.is_empty() && statements == 0 => Fault::NotAMesh.into(),
            None => Fault::NoTriangles.into(),
        });
    }

    let mut triangles = Vec::with_capacity(faces.len());
    let mut polygon = Vec::new();
    for face in &faces {
        polygon.clear();
        for &index in &corners[face.from..face.to] {
            let vertex = u32::try_from(index)
                .ok()
                .filter(|v| (*v as usize) < points.len());
            let vertex = vertex.ok_or_else(|| {
                let fault = Fault::IndexOutOfRange {
                    index: index.saturating_add(1),
                    vertices: points.len() as u64,
                };
                Flaw::at_line(fault, face.line)
            })?;
            polygon.push(vertex);
        }
        triangulate(&points, &polygon, &mut triangles);
        check_count(triangles.len() as u64, options)?;
    }
    Ok(Raw {
        mesh: weld_indexed(&points, &triangles),
        units: None,
        notes: Vec::new(),
    })
}

/// Reads `f a/b/c ...` into zero-based vertex numbers; a relative number counts
/// back from the vertices read so far. Range is checked when all are known.
fn read_face(words: &mut Words, vertices: usize, corners: &mut Vec<i64>) -> Result<Face, Flaw> {
    let from = corners.len();
    let line = words.line();
    while let Some(word) = words.word_on_line() {
        if word == b"\\" {
            words.end_line();
            continue;
        }
        if word.starts_with(b"#") {
            break;
        }
        let number = word.split(|&b| b == b'/').next().unwrap_or_default();
        let index = text::integer(number)
            .ok_or_else(|| words.bad(format!("a face has no index in '{}'", text::shown(word))))?;
        let zero_based = match index {
            0 => {
                let fault = Fault::IndexOutOfRange {
                    index: 0,
                    vertices: vertices as u64,
                };
                return Err(words.flaw(fault));
            }
            1.. => index - 1,
            _ => index.saturating_add(vertices as i64),
        };
        if zero_based < 0 {
            return Err(words.flaw(Fault::IndexOutOfRange {
                index,
                vertices: vertices as u64,
            }));
        }
        corners.push(zero_based);
    }
    Ok(Face {
        from,
        to: corners.len(),
        line,
    })
}
