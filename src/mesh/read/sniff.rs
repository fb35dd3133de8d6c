//! Telling formats apart by content; a file's ending is never asked.

use super::stl;
use super::text::without_mark;
use crate::mesh::error::{LocatedFault, ReadFault};

/// What the bytes are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Content {
    StlBinary,
    StlText,
    Zip,
    Obj,
    Ply,
    Off,
}

/// Compressed files and archives by their first bytes (PKWARE and IANA registrations, from memory).
const ARCHIVES: [(&[u8], &str); 6] = [
    (b"\x1f\x8b", "a gzip-compressed file"),
    (b"BZh", "a bzip2-compressed file"),
    (b"\xfd7zXZ\0", "an xz-compressed file"),
    (b"\x28\xb5\x2f\xfd", "a zstd-compressed file"),
    (b"7z\xbc\xaf\x27\x1c", "a 7z archive"),
    (b"Rar!\x1a\x07", "a rar archive"),
];

/// Names the format of `bytes`.
///
/// A binary STL is recognised by its length before anything else: its 80-byte
/// header is free text and may well begin with `solid`.
pub(super) fn content(bytes: &[u8]) -> Result<Content, LocatedFault> {
    if bytes.is_empty() {
        return Err(ReadFault::Empty.into());
    }
    let is_binary_length = stl::binary_length(bytes) == Some(bytes.len() as u64);
    if is_binary_length && bytes.len() > stl::HEADER {
        return Ok(Content::StlBinary);
    }
    if bytes.starts_with(b"PK\x03\x04") || bytes.starts_with(b"PK\x05\x06") {
        return Ok(Content::Zip);
    }
    for (magic, kind) in ARCHIVES {
        if bytes.starts_with(magic) {
            return Err(ReadFault::Archive(kind).into());
        }
    }
    if bytes.starts_with(b"\xff\xfe") || bytes.starts_with(b"\xfe\xff") {
        return Err(ReadFault::Unsupported("16-bit text").into());
    }
    if let Some(text) = text_format(without_mark(bytes)) {
        return Ok(text);
    }
    // The length of an empty STL says little, so it is asked last.
    if is_binary_length || stl::looks_binary(bytes) {
        return Ok(Content::StlBinary);
    }
    Err(ReadFault::NotAMesh.into())
}

/// Lines of a text that are neither empty nor a comment, without the blanks around them.
pub(super) fn statements(bytes: &[u8]) -> impl Iterator<Item = &[u8]> {
    bytes
        .split(|&b| b == b'\n' || b == b'\r')
        .map(<[u8]>::trim_ascii)
        .filter(|line| !line.is_empty() && line[0] != b'#')
}

fn text_format(bytes: &[u8]) -> Option<Content> {
    let mut lines = statements(bytes);
    let first = lines.next()?;
    let word = first_word(first);
    if word == b"ply" {
        return Some(Content::Ply);
    }
    if super::off::is_header(word) {
        return Some(Content::Off);
    }
    if word.eq_ignore_ascii_case(b"facet") {
        return Some(Content::StlText);
    }
    if word.eq_ignore_ascii_case(b"solid") {
        // A binary file cut short may begin the same way; text goes on with
        // another statement.
        let text = lines.next().is_none_or(|line| {
            [&b"facet"[..], b"endsolid", b"solid"]
                .iter()
                .any(|w| first_word(line).eq_ignore_ascii_case(w))
        });
        let in_one_line = contains_word(first, b"facet");
        let binary = bytes.iter().take(512).any(|&b| b == 0);
        return ((text || in_one_line) && !binary).then_some(Content::StlText);
    }
    super::obj::is_statement(word).then_some(Content::Obj)
}

fn first_word(line: &[u8]) -> &[u8] {
    let end = line
        .iter()
        .position(u8::is_ascii_whitespace)
        .unwrap_or(line.len());
    &line[..end]
}

fn contains_word(line: &[u8], word: &[u8]) -> bool {
    line.split(u8::is_ascii_whitespace)
        .any(|w| w.eq_ignore_ascii_case(word))
}
