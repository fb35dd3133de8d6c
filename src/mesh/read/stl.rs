//! STL, binary and text.
//!
//! Binary: 80 bytes of free header, a little-endian count n, then n records of 50
//! bytes: normal, three corners (single-precision floats), two attribute bytes.
//! The stored normals are not used; corner order decides.

use super::raw::{Raw, ReadOptions, check_count};
use super::text::{self, Words};
use crate::mesh::error::{LocatedFault, ReadFault};
use crate::mesh::weld::weld_corners;
use nalgebra::Point3;
use rayon::prelude::*;

pub(super) const HEADER: usize = 84;
const RECORD: usize = 50;
/// Records that tell whether bytes of the wrong length are a binary STL.
const SAMPLE: usize = 64;
/// Records parsed by one task.
const CHUNK: usize = 1 << 14;

/// Records that the header states, `None` if the file is too short to have one.
fn stated(bytes: &[u8]) -> Option<u32> {
    let count = bytes.get(80..HEADER)?.first_chunk::<4>()?;
    Some(u32::from_le_bytes(*count))
}

/// Length that a binary file with this header has, `None` if it is too short to have one.
pub(super) fn binary_length(bytes: &[u8]) -> Option<u64> {
    Some(HEADER as u64 + RECORD as u64 * u64::from(stated(bytes)?))
}

/// Whether bytes of the wrong length are still likely a binary STL: the first
/// records hold plausible numbers. What lies behind the last record is not looked at.
///
/// A normal is a unit vector or zero, and corners are within a kilometre or so;
/// other binary files fail this within a record or two.
pub(super) fn looks_binary(bytes: &[u8]) -> bool {
    let Some(records) = bytes.get(HEADER..) else {
        return false;
    };
    let plausible = |record: &[u8]| {
        let value = |i: usize| {
            let raw = record.get(4 * i..).and_then(|rest| rest.first_chunk::<4>());
            raw.map_or(f32::NAN, |raw| f32::from_le_bytes(*raw))
        };
        let normal = libm::hypotf(libm::hypotf(value(0), value(1)), value(2));
        let corners_fine =
            (3..12).all(|i| value(i) == 0.0 || (1e-12..1e8).contains(&value(i).abs()));
        corners_fine && (normal == 0.0 || (0.9..1.1).contains(&normal))
    };
    // A writer that never filled the count in leaves 0.
    let stated = stated(bytes).filter(|n| *n > 0).unwrap_or(u32::MAX);
    let mut sample = (records.chunks_exact(RECORD))
        .take(SAMPLE.min(stated as usize))
        .peekable();
    sample.peek().is_some() && sample.all(plausible)
}

/// Reads a binary STL.
pub(super) fn read_binary(bytes: &[u8], options: &ReadOptions) -> Result<Raw, LocatedFault> {
    let expected = binary_length(bytes)
        .ok_or_else(|| ReadFault::CutShort("the header is incomplete".to_owned()))?;
    let length = bytes.len() as u64;
    if length < expected {
        let there = (length - HEADER as u64) / RECORD as u64;
        let count = (expected - HEADER as u64) / RECORD as u64;
        let what = format!("{there} of {count} triangles are there");
        return Err(LocatedFault::cut_short(what, bytes.len()));
    }
    let mut notes = Vec::new();
    if length > expected {
        notes.push(format!(
            "{} bytes after the last triangle were ignored",
            length - expected
        ));
    }
    let count = (expected - HEADER as u64) / RECORD as u64;
    check_count(count, options)?;
    let records = &bytes[HEADER..expected as usize];

    let mut keys = vec![[0u32; 3]; 3 * count as usize];
    let bad: Vec<Option<usize>> = records
        .par_chunks(RECORD * CHUNK)
        .zip(keys.par_chunks_mut(3 * CHUNK))
        .map(|(records, keys)| {
            let mut bad = None;
            for (t, (record, corners)) in records
                .chunks_exact(RECORD)
                .zip(keys.chunks_exact_mut(3))
                .enumerate()
            {
                let floats = record[12..48].chunks_exact(4);
                for (bits, raw) in corners.as_flattened_mut().iter_mut().zip(floats) {
                    let value = f32::from_le_bytes([raw[0], raw[1], raw[2], raw[3]]);
                    if !value.is_finite() && bad.is_none() {
                        bad = Some(t);
                    }
                    // Adding 0.0 turns −0.0 into 0.0 and changes nothing else.
                    *bits = (value + 0.0).to_bits();
                }
            }
            bad
        })
        .collect();
    if let Some((chunk, t)) = bad.iter().enumerate().find_map(|(c, t)| t.map(|t| (c, t))) {
        let record = chunk * CHUNK + t;
        return Err(LocatedFault::at_byte(
            ReadFault::NotFinite,
            HEADER + RECORD * record + 12,
        ));
    }
    let mesh = weld_corners(&keys, |k| {
        Point3::from(k.map(|c| f64::from(f32::from_bits(c))))
    });
    Ok(Raw {
        mesh,
        units: None,
        notes,
    })
}

/// Reads a text STL: any number of solids, named or not, in any letter case.
///
/// A missing `endsolid` is tolerated; a facet that is not finished is not.
pub(super) fn read_text(bytes: &[u8], options: &ReadOptions) -> Result<Raw, LocatedFault> {
    let mut words = Words::new(text::without_mark(bytes), 1);
    let mut keys: Vec<[u64; 3]> = Vec::new();
    let mut in_facet = None;
    let mut solids = 0u32;
    let mut open_solid = false;
    while let Some(word) = words.word() {
        let is = |name: &[u8]| word.eq_ignore_ascii_case(name);
        if is(b"vertex") {
            let Some(corners) = in_facet.as_mut() else {
                return Err(words.bad("a vertex stands outside any facet"));
            };
            *corners += 1;
            keys.push(words.point()?.map(|value| (value + 0.0).to_bits()));
        } else if is(b"facet") {
            if in_facet.is_some() {
                return Err(words.bad("a facet begins inside another"));
            }
            in_facet = Some(0u32);
            check_count(keys.len() as u64 / 3 + 1, options)?;
        } else if is(b"normal") {
            // Not used, so a normal of `nan` is no reason to refuse the facet.
            for _ in 0..3 {
                words.number("a normal component")?;
            }
        } else if is(b"endfacet") {
            if in_facet.take() != Some(3) {
                return Err(words.bad("a facet does not have three vertices"));
            }
        } else if is(b"solid") || is(b"endsolid") {
            if in_facet.is_some() {
                return Err(words.bad("a solid begins or ends inside a facet"));
            }
            open_solid = is(b"solid");
            solids += u32::from(open_solid);
            // The name is free text, unless the whole file is one line.
            let name = words.clone();
            let is_vertex = |w: &[u8]| w.eq_ignore_ascii_case(b"vertex");
            if words
                .rest_of_line()
                .split(u8::is_ascii_whitespace)
                .any(is_vertex)
            {
                words = name;
                skip_name(&mut words);
            }
        } else if !(is(b"outer") || is(b"loop") || is(b"endloop")) {
            // The last word of the file may be half a word.
            return Err(if words.left() == 0 {
                words.missing("the rest of the last word")
            } else {
                words.bad(format!("unknown word '{}'", text::shown(word)))
            });
        }
    }
    if in_facet.is_some() {
        return Err(words.missing("the end of the last facet"));
    }
    let mut notes = Vec::new();
    if open_solid {
        notes.push("the file does not end its last solid (no endsolid)".to_owned());
    }
    if solids > 1 {
        notes.push(format!("{solids} solids in the file, read as one part"));
    }
    let mesh = weld_corners(&keys, |k| Point3::from(k.map(f64::from_bits)));
    Ok(Raw {
        mesh,
        units: None,
        notes,
    })
}

/// Skips words up to the first `facet`.
fn skip_name(words: &mut Words) {
    let mut ahead = words.clone();
    while let Some(word) = ahead.word() {
        if word.eq_ignore_ascii_case(b"facet") {
            return;
        }
        *words = ahead.clone();
    }
}
