//! PLY: text, binary little-endian and binary big-endian, every scalar type.
//!
//! Read are `x y z` of element `vertex` and the list `vertex_indices` (or
//! `vertex_index`) of element `face`; all other elements and properties are skipped.

use super::polygon::Faces;
use super::raw::{Raw, ReadOptions, check_count};
use super::text::{self, Words};
use crate::mesh::error::{LocatedFault, Place, ReadFault};
use nalgebra::Point3;

/// How a number is stored.
#[derive(Clone, Copy)]
struct Scalar {
    /// Bytes.
    size: usize,
    /// Its value, of little-endian bytes that are zero beyond the size.
    value: fn([u8; 8]) -> f64,
}

impl Scalar {
    fn named(word: &[u8]) -> Option<Self> {
        let (size, value): (usize, fn([u8; 8]) -> f64) = match word {
            b"char" | b"int8" => (1, |b| (u64::from_le_bytes(b) as i8).into()),
            b"uchar" | b"uint8" => (1, |b| (u64::from_le_bytes(b) as u8).into()),
            b"short" | b"int16" => (2, |b| (u64::from_le_bytes(b) as i16).into()),
            b"ushort" | b"uint16" => (2, |b| (u64::from_le_bytes(b) as u16).into()),
            b"int" | b"int32" => (4, |b| (u64::from_le_bytes(b) as i32).into()),
            b"uint" | b"uint32" => (4, |b| (u64::from_le_bytes(b) as u32).into()),
            b"float" | b"float32" => (4, |b| f32::from_bits(u64::from_le_bytes(b) as u32).into()),
            b"double" | b"float64" => (8, f64::from_le_bytes),
            _ => return None,
        };
        Some(Self { size, value })
    }
}

/// What a property is good for.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Use {
    Axis(usize),
    Corners,
    None,
}

struct Property {
    scalar: Scalar,
    /// Type of the count, for a list.
    list: Option<Scalar>,
    used: Use,
}

struct Element {
    name: Vec<u8>,
    count: u64,
    properties: Vec<Property>,
}

#[derive(Clone, Copy)]
enum Encoding {
    Text,
    Little,
    Big,
}

/// Reads a PLY file.
pub(super) fn read(bytes: &[u8], options: &ReadOptions) -> Result<Raw, LocatedFault> {
    let bytes = text::without_mark(bytes);
    let mut words = Words::new(bytes, 1);
    let (encoding, elements) = read_header(&mut words)?;
    let body = bytes.len() - words.left();
    let mut source = Source {
        words,
        bytes,
        at: body,
        encoding,
    };

    let mut points = Vec::new();
    let mut polygons = Polygons::default();
    for element in &elements {
        read_element(element, &mut source, &mut points, &mut polygons, options)?;
    }
    if polygons.ends.is_empty() && elements.iter().any(|e| e.name == b"tristrips") {
        return Err(ReadFault::Unsupported("PLY triangle strips").into());
    }
    polygons.into_mesh(&points, options)
}

fn read_header(words: &mut Words) -> Result<(Encoding, Vec<Element>), LocatedFault> {
    let mut encoding = None;
    let mut elements: Vec<Element> = Vec::new();
    let missing = |words: &Words| words.missing("the end of the header");
    loop {
        let word = words.word().ok_or_else(|| missing(words))?;
        match word {
            b"ply" | b"comment" | b"obj_info" => {}
            b"format" => {
                encoding = Some(match words.word_on_line() {
                    Some(b"ascii") => Encoding::Text,
                    Some(b"binary_little_endian") => Encoding::Little,
                    Some(b"binary_big_endian") => Encoding::Big,
                    _ => return Err(words.bad("the format is none of PLY")),
                });
            }
            b"element" => {
                let name = words.word_on_line().unwrap_or_default().to_vec();
                let count = words
                    .word_on_line()
                    .and_then(text::count)
                    .ok_or_else(|| words.bad("an element has no usable count"))?;
                elements.push(Element {
                    name,
                    count,
                    properties: Vec::new(),
                });
            }
            b"property" => {
                let property = read_property(words, elements.last())?;
                let Some(element) = elements.last_mut() else {
                    return Err(words.bad("a property stands before any element"));
                };
                element.properties.push(property);
            }
            b"end_header" => {
                words.end_line();
                let encoding = encoding.ok_or_else(|| words.bad("the header names no format"))?;
                return Ok((encoding, elements));
            }
            other => {
                let what = format!("unknown word '{}' in the header", text::shown(other));
                return Err(words.bad(what));
            }
        }
        if !words.end_line() {
            return Err(missing(words));
        }
    }
}

fn read_property(words: &mut Words, element: Option<&Element>) -> Result<Property, LocatedFault> {
    let scalar = |words: &mut Words| {
        let word = words.word_on_line().unwrap_or_default();
        Scalar::named(word)
            .ok_or_else(|| words.bad(format!("unknown type '{}'", text::shown(word))))
    };
    let mut ahead = words.clone();
    let list = if ahead.word_on_line() == Some(b"list") {
        *words = ahead;
        Some(scalar(words)?)
    } else {
        None
    };
    let scalar = scalar(words)?;
    let name = words.word_on_line().unwrap_or_default();
    let used = match (element.map(|e| e.name.as_slice()), list.is_some(), name) {
        (Some(b"vertex"), false, b"x") => Use::Axis(0),
        (Some(b"vertex"), false, b"y") => Use::Axis(1),
        (Some(b"vertex"), false, b"z") => Use::Axis(2),
        (Some(b"face"), true, b"vertex_indices" | b"vertex_index") => Use::Corners,
        _ => Use::None,
    };
    Ok(Property { scalar, list, used })
}

/// Values one after the other, whatever the encoding.
struct Source<'a> {
    words: Words<'a>,
    bytes: &'a [u8],
    at: usize,
    encoding: Encoding,
}

impl Source<'_> {
    fn value(&mut self, scalar: Scalar, what: &str) -> Result<f64, LocatedFault> {
        let big = match self.encoding {
            Encoding::Text => return self.words.number(what),
            Encoding::Little => false,
            Encoding::Big => true,
        };
        let size = scalar.size;
        let Some(found) = self.bytes.get(self.at..self.at + size) else {
            let what = format!("{what} is missing");
            return Err(LocatedFault::cut_short(what, self.bytes.len()));
        };
        self.at += size;
        let mut raw = [0u8; 8];
        for (i, b) in found.iter().enumerate() {
            raw[if big { size - 1 - i } else { i }] = *b;
        }
        Ok((scalar.value)(raw))
    }

    fn flaw(&self, fault: ReadFault) -> LocatedFault {
        match self.encoding {
            Encoding::Text => self.words.flaw(fault),
            Encoding::Little | Encoding::Big => LocatedFault::at_byte(fault, self.at),
        }
    }

    /// Bytes that are left for values.
    fn left(&self) -> u64 {
        match self.encoding {
            Encoding::Text => self.words.left() as u64,
            Encoding::Little | Encoding::Big => self.bytes.len().saturating_sub(self.at) as u64,
        }
    }
}

fn read_element(
    element: &Element,
    source: &mut Source,
    points: &mut Vec<Point3<f64>>,
    polygons: &mut Polygons,
    options: &ReadOptions,
) -> Result<(), LocatedFault> {
    if element.properties.is_empty() {
        return Ok(());
    }
    // A value takes at least one byte: a count beyond that is not worth starting on.
    if element.count > source.left() + 1 {
        let name = String::from_utf8_lossy(&element.name).into_owned();
        return Err(source.flaw(ReadFault::CutShort(format!(
            "{} bytes are left for {} of element '{}'",
            source.left(),
            element.count,
            text::shown(name.as_bytes())
        ))));
    }
    let is_vertex = element.name == b"vertex";
    if is_vertex {
        let axes = |axis| element.properties.iter().any(|p| p.used == Use::Axis(axis));
        if !(0..3).all(axes) {
            return Err(source.flaw(ReadFault::BadRecord("vertices lack x, y or z".to_owned())));
        }
    }
    for _ in 0..element.count {
        let mut point = [0.0; 3];
        for property in &element.properties {
            let length = match property.list {
                None => 1,
                Some(count) => {
                    let length = source.value(count, "the length of a list")?;
                    if !(length >= 0.0 && length.fract() == 0.0 && length <= source.left() as f64) {
                        return Err(source.flaw(ReadFault::CutShort(format!(
                            "a list of {length} values does not fit into the file"
                        ))));
                    }
                    length as u64
                }
            };
            for _ in 0..length {
                let value = source.value(property.scalar, "a value")?;
                match property.used {
                    Use::None => {}
                    Use::Axis(_) if !value.is_finite() => {
                        return Err(source.flaw(ReadFault::NotFinite));
                    }
                    Use::Axis(axis) => point[axis] = value,
                    Use::Corners => polygons.corners.push(corner(value, source)?),
                }
            }
            if property.used == Use::Corners {
                polygons.ends.push(polygons.corners.len());
                check_count(polygons.ends.len() as u64, options)?;
            }
        }
        if is_vertex {
            points.push(Point3::from(point));
        }
    }
    Ok(())
}

/// A vertex index; whether there are that many vertices is checked at the end.
fn corner(value: f64, source: &Source) -> Result<u32, LocatedFault> {
    if value.fract() == 0.0 && (0.0..f64::from(u32::MAX)).contains(&value) {
        return Ok(value as u32);
    }
    Err(source.flaw(ReadFault::BadRecord(format!("{value} is no vertex index"))))
}

/// Faces in flat lists: corners, and where each face ends.
#[derive(Default)]
struct Polygons {
    corners: Vec<u32>,
    ends: Vec<usize>,
}

impl Polygons {
    fn into_mesh(self, points: &[Point3<f64>], options: &ReadOptions) -> Result<Raw, LocatedFault> {
        if let Some(index) = self.corners.iter().find(|v| **v as usize >= points.len()) {
            return Err(ReadFault::no_vertex(*index, points.len()).into());
        }
        let mut faces = Faces::default();
        let mut from = 0;
        for (&to, place) in self.ends.iter().zip((1..).map(Place::Face)) {
            faces.add(points, &self.corners[from..to], place, options)?;
            from = to;
        }
        Ok(faces.into_raw(points))
    }
}
