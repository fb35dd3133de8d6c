//! Wavefront OBJ: vertices and faces; everything else is left out.

use super::polygon::Faces;
use super::raw::{Raw, ReadOptions};
use super::text::{self, Words};
use crate::mesh::defect::Tally;
use crate::mesh::error::{LocatedFault, Place, ReadFault};
use nalgebra::Point3;

/// Words that begin a statement.
const STATEMENTS: &str = "v vt vn vp f fo l p o g s mg mtllib usemtl usemap maplib cstype deg \
    curv curv2 surf parm trim hole end lod bevel";

/// Further statements of the format, with which no file begins: curves, surfaces and
/// scripts (Wavefront's "Object Files", version 3.0, from memory).
const RARE: &str = "bmat step con scrv sp c_interp d_interp ctech stech shadow_obj trace_obj \
    call csh bsp bzp cdc cdp res trace_mat";

/// Whether a line that begins with `word` can be OBJ.
pub(super) fn is_statement(word: &[u8]) -> bool {
    is_among(STATEMENTS, word)
}

fn is_among(list: &str, word: &[u8]) -> bool {
    list.split_ascii_whitespace().any(|w| w.as_bytes() == word)
}

/// Statements that are none of the format, each as its line and its first word.
type Unknown = Tally<(u64, String)>;

impl Unknown {
    fn note(&self) -> Option<String> {
        let (line, word) = self.first.as_ref()?;
        Some(match self.count {
            1 => format!("an unknown statement was left out: '{word}' at line {line}"),
            n => format!("{n} unknown statements were left out, the first '{word}' at line {line}"),
        })
    }
}

/// A face, its corners in a shared list.
struct Face {
    from: usize,
    to: usize,
    line: u64,
}

/// Reads an OBJ file. Faces may name vertices that follow later.
pub(super) fn read(bytes: &[u8], options: &ReadOptions) -> Result<Raw, LocatedFault> {
    let mut words = Words::continued(text::without_mark(bytes));
    let mut points: Vec<Point3<f64>> = Vec::new();
    let mut corners: Vec<i64> = Vec::new();
    let mut faces: Vec<Face> = Vec::new();
    let mut statements = 0u64;
    let mut unknown = Unknown::default();
    loop {
        match words.word_on_line() {
            Some(b"v") => {
                let mut point = Point3::origin();
                for (slot, axis) in point.iter_mut().zip(text::AXES) {
                    *slot = words.coordinate_on_line(axis)?;
                }
                points.push(point);
                skip_statement(&mut words);
            }
            Some(b"f" | b"fo") => {
                let face = read_face(&mut words, points.len(), &mut corners)?;
                faces.push(face);
            }
            // An empty line or a comment, which ends with its line.
            None => {}
            Some(word) if word.starts_with(b"#") => {}
            Some(word) => {
                if is_statement(word) {
                    statements += 1;
                } else if !is_among(RARE, word) {
                    unknown.add(|| (words.line(), text::shown(word)));
                }
                skip_statement(&mut words);
            }
        }
        if !words.end_line() {
            break;
        }
    }
    // Writers add statements of their own; without a single face it is no OBJ at all.
    if faces.is_empty() {
        return Err(match unknown.first {
            Some(_) if points.is_empty() => ReadFault::NotAMesh.into(),
            Some((line, word)) => LocatedFault::at_line(
                ReadFault::BadRecord(format!("unknown statement '{word}'")),
                line,
            ),
            None if points.is_empty() && statements == 0 => ReadFault::NotAMesh.into(),
            None => ReadFault::NoTriangles.into(),
        });
    }

    let mut split = Faces::default();
    let mut polygon = Vec::new();
    for face in &faces {
        polygon.clear();
        for &index in &corners[face.from..face.to] {
            let vertex = u32::try_from(index)
                .ok()
                .filter(|v| (*v as usize) < points.len());
            let vertex = vertex.ok_or_else(|| {
                let fault = ReadFault::no_vertex(index.saturating_add(1), points.len());
                LocatedFault::at_line(fault, face.line)
            })?;
            polygon.push(vertex);
        }
        split.add(&points, &polygon, Place::Line(face.line), options)?;
    }
    let mut raw = split.into_raw(&points);
    raw.notes.extend(unknown.note());
    Ok(raw)
}

/// Skips what is left of a statement, to the end of its last line or a comment.
fn skip_statement(words: &mut Words) {
    while words.word_on_line().is_some_and(|w| !w.starts_with(b"#")) {}
}

/// Reads `f a/b/c ...` into zero-based vertex numbers; a relative number counts
/// back from the vertices read so far. Range is checked when all are known.
fn read_face(
    words: &mut Words,
    vertices: usize,
    corners: &mut Vec<i64>,
) -> Result<Face, LocatedFault> {
    let from = corners.len();
    let line = words.line();
    while let Some(word) = words.word_on_line() {
        if word.starts_with(b"#") {
            break;
        }
        // Broken after a slash, the rest of the corner is on the next line.
        if word.ends_with(b"/") && words.is_broken() {
            words.word_on_line();
        }
        let number = word.split(|&b| b == b'/').next().unwrap_or_default();
        let index = text::integer(number)
            .ok_or_else(|| words.bad(format!("a face has no index in '{}'", text::shown(word))))?;
        let zero_based = match index {
            1.. => index - 1,
            // Zero is no number of a vertex.
            0 => -1,
            _ => index.saturating_add(vertices as i64),
        };
        if zero_based < 0 {
            return Err(words.flaw(ReadFault::no_vertex(index, vertices)));
        }
        corners.push(zero_based);
    }
    Ok(Face {
        from,
        to: corners.len(),
        line,
    })
}
