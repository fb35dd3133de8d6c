//! OFF: text and binary, with or without normals, colours and texture coordinates.
//!
//! The keyword is `[ST][C][N][4][n]OFF [BINARY]`; binary is big-endian
//! (Geomview's manual, from memory).

use super::polygon::Faces;
use super::raw::{Raw, ReadOptions, check_count};
use super::text::{self, Words};
use crate::mesh::error::{LocatedFault, Place, ReadFault};
use nalgebra::Point3;

/// Whether the first word of a file is an OFF keyword; the counts may be glued to it.
pub(super) fn is_header(word: &[u8]) -> bool {
    split_header(word).is_some()
}

/// Prefix before `OFF`, and digits glued on behind.
fn split_header(word: &[u8]) -> Option<(&[u8], &[u8])> {
    let at = word.windows(3).position(|w| w == b"OFF")?;
    let (prefix, tail) = (&word[..at], &word[at + 3..]);
    let known = [
        "", "C", "N", "CN", "ST", "STC", "STN", "STCN", "4", "C4", "n", "4n",
    ];
    let is_known = known.iter().any(|k| k.as_bytes() == prefix);
    (is_known && tail.iter().all(u8::is_ascii_digit)).then_some((prefix, tail))
}

/// Reads an OFF file.
pub(super) fn read(bytes: &[u8], options: &ReadOptions) -> Result<Raw, LocatedFault> {
    let bytes = text::without_mark(bytes);
    let text = uncommented(bytes);
    let mut words = Words::new(&text, 1);
    let header = words.word().unwrap_or_default();
    let (prefix, glued) = split_header(header).ok_or(ReadFault::NotAMesh)?;
    if prefix.contains(&b'4') || prefix.contains(&b'n') {
        return Err(words.flaw(ReadFault::Unsupported("OFF of other than three dimensions")));
    }
    let first = words.word_on_line();
    if first == Some(b"BINARY") {
        // Comments belong to text; binary begins after the keyword's line in the bytes as they are.
        let start = bytes
            .windows(6)
            .position(|w| w == b"BINARY")
            .map_or(0, |at| at + 6);
        let line = bytes[start..]
            .iter()
            .position(|&b| b == b'\n')
            .map_or(0, |at| at + 1);
        return Binary {
            bytes,
            at: start + line,
        }
        .read(prefix, options);
    }

    let counted = if glued.is_empty() { first } else { Some(glued) };
    let vertices = count(counted.or_else(|| words.word()), &words, "the vertex count")?;
    // Glued to the keyword, the second word on the line is the face count.
    let second = if glued.is_empty() {
        words.word()
    } else {
        first.or_else(|| words.word())
    };
    let faces = count(second, &words, "the face count")?;
    words.end_line();
    // Every vertex takes at least six bytes, every face at least two.
    if vertices
        .saturating_mul(6)
        .saturating_add(faces.saturating_mul(2))
        > words.left() as u64 + 2
    {
        return Err(words.missing("part of the vertices or faces"));
    }
    check_count(faces, options)?;

    let mut points = Vec::with_capacity(vertices as usize);
    for _ in 0..vertices {
        points.push(Point3::from(words.point()?));
        // Normals, colours and texture coordinates share the line.
        words.end_line();
    }
    let mut split = Faces::default();
    let mut polygon = Vec::new();
    for _ in 0..faces {
        let corners = count(words.word(), &words, "the corner count of a face")?;
        polygon.clear();
        for _ in 0..corners {
            let word = words
                .word()
                .ok_or_else(|| words.missing("a vertex index of a face"))?;
            let index = text::integer(word).ok_or_else(|| {
                words.bad(format!(
                    "a vertex index is not a whole number: '{}'",
                    text::shown(word)
                ))
            })?;
            let vertex = u32::try_from(index)
                .ok()
                .filter(|v| u64::from(*v) < vertices);
            let fault = || words.flaw(ReadFault::no_vertex(index, vertices as usize));
            polygon.push(vertex.ok_or_else(fault)?);
        }
        split.add(&points, &polygon, Place::Line(words.line()), options)?;
        words.end_line();
    }
    Ok(split.into_raw(&points))
}

/// A count that is a plain non-negative number.
fn count(word: Option<&[u8]>, words: &Words, what: &str) -> Result<u64, LocatedFault> {
    let word = word.ok_or_else(|| words.missing(what))?;
    text::count(word)
        .ok_or_else(|| words.bad(format!("{what} is no count: '{}'", text::shown(word))))
}

/// The text with comments blanked, so that words and lines stay where they were.
fn uncommented(bytes: &[u8]) -> Vec<u8> {
    let mut comment = false;
    let blanked = bytes.iter().map(|&b| {
        comment = b == b'#' || (comment && b != b'\n' && b != b'\r');
        if comment { b' ' } else { b }
    });
    blanked.collect()
}

struct Binary<'a> {
    bytes: &'a [u8],
    at: usize,
}

impl Binary<'_> {
    fn next(&mut self, what: &str) -> Result<[u8; 4], LocatedFault> {
        let cut = || LocatedFault::cut_short(format!("{what} is missing"), self.bytes.len());
        let raw = self
            .bytes
            .get(self.at..)
            .and_then(|b| b.first_chunk::<4>())
            .ok_or_else(cut)?;
        self.at += 4;
        Ok(*raw)
    }

    fn count(&mut self, what: &str) -> Result<u32, LocatedFault> {
        let at = self.at;
        let value = u32::from_be_bytes(self.next(what)?);
        // Four bytes each: no count can exceed what is left.
        if u64::from(value) * 4 > self.bytes.len() as u64 {
            return Err(LocatedFault::cut_short(format!("{what} is {value}"), at));
        }
        Ok(value)
    }

    fn skip(&mut self, fields: usize, what: &str) -> Result<(), LocatedFault> {
        (0..fields).try_for_each(|_| self.next(what).map(drop))
    }

    fn read(mut self, prefix: &[u8], options: &ReadOptions) -> Result<Raw, LocatedFault> {
        let vertices = self.count("the vertex count")?;
        let faces = self.count("the face count")?;
        self.skip(1, "the edge count")?;
        check_count(u64::from(faces), options)?;
        let extra = 3 * usize::from(prefix.contains(&b'N'))
            + 4 * usize::from(prefix.contains(&b'C'))
            + 2 * usize::from(prefix.contains(&b'S'));
        let mut points = Vec::with_capacity(vertices as usize);
        for _ in 0..vertices {
            let mut point = Point3::origin();
            for slot in point.iter_mut() {
                let at = self.at;
                let value = f32::from_be_bytes(self.next("a vertex")?);
                if !value.is_finite() {
                    return Err(LocatedFault::at_byte(ReadFault::NotFinite, at));
                }
                *slot = f64::from(value);
            }
            self.skip(extra, "a vertex")?;
            points.push(point);
        }
        let mut split = Faces::default();
        let mut polygon = Vec::new();
        for _ in 0..faces {
            let place = Place::Byte(self.at as u64);
            let corners = self.count("the corner count of a face")?;
            polygon.clear();
            for _ in 0..corners {
                let at = self.at;
                let index = u32::from_be_bytes(self.next("a vertex index of a face")?);
                if index >= vertices {
                    let fault = ReadFault::no_vertex(index, vertices as usize);
                    return Err(LocatedFault::at_byte(fault, at));
                }
                polygon.push(index);
            }
            let colours = self.count("the colour count of a face")?;
            self.skip(colours as usize, "a face colour")?;
            split.add(&points, &polygon, place, options)?;
        }
        Ok(split.into_raw(&points))
    }
}
