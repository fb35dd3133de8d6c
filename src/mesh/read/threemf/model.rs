//! One model part, streamed: objects with meshes or components, and build items.

use crate::mesh::error::{LocatedFault, ReadFault};
use crate::mesh::read::raw::{ReadOptions, check_count};
use crate::mesh::read::text;
use crate::mesh::units::Units;
use crate::mesh::weld::weld_indexed;
use nalgebra::{Affine3, Matrix3x4, Matrix4, Point3};
use quick_xml::Reader;
use quick_xml::events::{BytesStart, Event};
use quick_xml::name::Prefix;
use std::borrow::Cow;
use std::collections::BTreeMap;
use std::io::BufRead;

/// A transform `m00 m01 m02 m10 ... m32`: row i holds the image of axis i, the last row the shift.
fn transform(value: &str) -> Option<Affine3<f64>> {
    let numbers: Vec<f64> = value
        .split_ascii_whitespace()
        .map(|word| text::number(word.as_bytes()))
        .collect::<Option<_>>()?;
    let rows: [f64; 12] = numbers.try_into().ok()?;
    // For row vectors there, for column vectors here: its rows are our columns.
    let mut matrix = Matrix4::identity();
    (matrix.fixed_view_mut::<3, 4>(0, 0)).copy_from(&Matrix3x4::from_column_slice(&rows));
    Some(Affine3::from_matrix_unchecked(matrix))
}

/// Factor on volumes; negative where a transform mirrors.
pub(super) fn swelling(transform: &Affine3<f64>) -> f64 {
    transform.matrix().fixed_view::<3, 3>(0, 0).determinant()
}

/// A placed object: a component or a build item.
#[derive(Debug)]
pub(super) struct Use {
    pub(super) object: u32,
    /// Other model part that holds the object.
    pub(super) path: Option<String>,
    pub(super) transform: Affine3<f64>,
}

/// An object: a mesh, components, or (of an extension) neither.
#[derive(Debug, Default)]
pub(super) struct Object {
    /// Helps printing, is no part: `support` or `solidsupport`.
    pub(super) support: bool,
    pub(super) points: Vec<Point3<f64>>,
    pub(super) triangles: Vec<[u32; 3]>,
    pub(super) components: Vec<Use>,
}

/// A model part in file units.
#[derive(Debug, Default)]
pub(super) struct ModelPart {
    pub(super) units: Option<Units>,
    pub(super) objects: BTreeMap<u32, Object>,
    pub(super) items: Vec<Use>,
}

impl ModelPart {
    /// Other model parts that this one refers to.
    pub(super) fn paths(&self) -> impl Iterator<Item = &str> {
        let components = self.objects.values().flat_map(|o| &o.components);
        components
            .chain(&self.items)
            .filter_map(|used| used.path.as_deref())
    }
}

/// Part names compare without regard to case (OPC) and start at the package's root.
pub(super) fn normal_path(path: &str) -> String {
    path.trim_start_matches('/').to_ascii_lowercase()
}

/// Value of an attribute by its local name, entities resolved.
pub(super) fn attribute<'a>(
    element: &'a BytesStart,
    name: &str,
    at: usize,
) -> Result<Option<Cow<'a, str>>, LocatedFault> {
    let broken = || LocatedFault::bad("a broken XML attribute", at);
    for found in element.attributes() {
        let found = found.map_err(|_| broken())?;
        if found.key.local_name().into_inner() == name {
            let value = found.normalized_value(quick_xml::XmlVersion::Implicit1_0);
            return Ok(Some(value.map_err(|_| broken())?.into_owned().into()));
        }
    }
    Ok(None)
}

/// A flaw out of the XML reader's error.
pub(super) fn xml_flaw(error: &quick_xml::Error, at: u64) -> LocatedFault {
    let fault = match error {
        quick_xml::Error::Io(_) => "the package is damaged or truncated",
        _ => "the XML is broken",
    };
    LocatedFault::bad(fault, at as usize)
}

/// Where in the tree the reader is; only the expected parents count, so that
/// extension elements of the same name elsewhere do no harm.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Inside {
    Nothing,
    Object(u32),
    Build,
}

/// Reads one model part.
pub(super) fn read<R: BufRead>(
    reader: &mut Reader<R>,
    options: &ReadOptions,
) -> Result<ModelPart, LocatedFault> {
    let mut model = ModelPart::default();
    let mut prefix: Option<Option<String>> = None;
    let mut inside = Inside::Nothing;
    let mut buffer = Vec::new();
    loop {
        buffer.clear();
        let at = reader.buffer_position() as usize;
        let event = match reader.read_event_into(&mut buffer) {
            Ok(event) => event,
            Err(error) => return Err(xml_flaw(&error, reader.error_position())),
        };
        match event {
            Event::Start(ref e) | Event::Empty(ref e) => {
                let own = e.name().prefix().map(|p| p.into_inner().to_owned());
                if prefix.is_none() {
                    if e.local_name().into_inner() != "model" {
                        return Err(LocatedFault::bad("the XML is no 3MF model", at));
                    }
                    prefix = Some(own.clone());
                }
                // Elements of extensions carry another prefix than the root.
                if prefix.as_ref() == Some(&own) {
                    let open = matches!(event, Event::Start(_));
                    inside = element(&mut model, e, inside, open, at, options)?;
                }
            }
            Event::End(e) => {
                let core = prefix.as_ref().map(|p| p.as_deref())
                    == Some(e.name().prefix().map(Prefix::into_inner));
                if core && matches!(e.local_name().into_inner(), "object" | "build") {
                    inside = Inside::Nothing;
                }
            }
            Event::Eof => break,
            _ => {}
        }
    }
    if prefix.is_none() {
        return Err(ReadFault::BadRecord("the model part is empty".to_owned()).into());
    }
    finish(&mut model)?;
    Ok(model)
}

fn element(
    model: &mut ModelPart,
    e: &BytesStart,
    inside: Inside,
    open: bool,
    at: usize,
    options: &ReadOptions,
) -> Result<Inside, LocatedFault> {
    options.in_time()?;
    let bad = |what: &str| LocatedFault::bad(what, at);
    let object = match inside {
        Inside::Object(id) => model.objects.get_mut(&id),
        _ => None,
    };
    match (e.local_name().into_inner(), object, inside) {
        ("vertex", Some(object), _) => object.points.push(vertex(e, at)?),
        ("triangle", Some(object), _) => {
            object.triangles.push(triangle(e, at)?);
            check_count(object.triangles.len() as u64, options)?;
        }
        ("component", Some(object), _) => object.components.push(used(e, at)?),
        ("item", _, Inside::Build) => model.items.push(used(e, at)?),
        ("object", _, Inside::Nothing) => {
            let id = identifier(e, "id", at)?;
            let kind = attribute(e, "type", at)?;
            let support = matches!(kind.as_deref(), Some("support" | "solidsupport"));
            let object = Object {
                support,
                ..Object::default()
            };
            if model.objects.insert(id, object).is_some() {
                return Err(bad(&format!("two objects have the number {id}")));
            }
            return Ok(if open { Inside::Object(id) } else { inside });
        }
        ("build", _, Inside::Nothing) if open => return Ok(Inside::Build),
        ("model", ..) => {
            model.units = Some(match attribute(e, "unit", at)? {
                None => Units::Millimeter,
                Some(word) => Units::from_attribute(&word).ok_or_else(|| bad("an unknown unit"))?,
            });
        }
        _ => {}
    }
    Ok(inside)
}

fn identifier(e: &BytesStart, name: &str, at: usize) -> Result<u32, LocatedFault> {
    attribute(e, name, at)?
        .and_then(|value| value.trim().parse().ok())
        .ok_or_else(|| LocatedFault::bad(format!("'{name}' is no number"), at))
}

fn used(e: &BytesStart, at: usize) -> Result<Use, LocatedFault> {
    let transform = match attribute(e, "transform", at)? {
        None => Affine3::identity(),
        Some(value) => self::transform(&value)
            .ok_or_else(|| LocatedFault::bad("a transform is not twelve numbers", at))?,
    };
    if !transform.matrix().iter().all(|c| c.is_finite()) {
        return Err(LocatedFault::at_byte(ReadFault::NotFinite, at));
    }
    if swelling(&transform) == 0.0 {
        return Err(LocatedFault::bad("a transform flattens the object", at));
    }
    let path = attribute(e, "path", at)?.map(|path| normal_path(&path));
    Ok(Use {
        object: identifier(e, "objectid", at)?,
        path,
        transform,
    })
}

/// Reads three attributes in one pass: this runs once a vertex and once a triangle.
fn three<T>(
    e: &BytesStart,
    names: [&str; 3],
    at: usize,
    parse: impl Fn(&str) -> Option<T>,
) -> Result<[T; 3], LocatedFault> {
    let mut values = [None, None, None];
    for found in e.attributes().with_checks(false).flatten() {
        if let Some(slot) = names
            .iter()
            .position(|name| *name == found.key.into_inner())
        {
            values[slot] = parse(found.value.trim());
        }
    }
    if let [Some(a), Some(b), Some(c)] = values {
        return Ok([a, b, c]);
    }
    let what = format!(
        "{}, {}, {} are not three numbers",
        names[0], names[1], names[2]
    );
    Err(LocatedFault::bad(what, at))
}

fn vertex(e: &BytesStart, at: usize) -> Result<Point3<f64>, LocatedFault> {
    let point = three(e, ["x", "y", "z"], at, |v| text::number(v.as_bytes()))?;
    if point.iter().all(|c| c.is_finite()) {
        Ok(Point3::from(point))
    } else {
        Err(LocatedFault::at_byte(ReadFault::NotFinite, at))
    }
}

fn triangle(e: &BytesStart, at: usize) -> Result<[u32; 3], LocatedFault> {
    three(e, ["v1", "v2", "v3"], at, |v| v.parse().ok())
}

/// Refuses indices out of range, and drops vertices without a triangle: an object
/// is placed many times, so its size must be bounded by its triangles.
fn finish(model: &mut ModelPart) -> Result<(), LocatedFault> {
    for object in model.objects.values_mut() {
        let worst = object.triangles.as_flattened().iter().max();
        if let Some(index) = worst.filter(|v| **v as usize >= object.points.len()) {
            return Err(ReadFault::no_vertex(*index, object.points.len()).into());
        }
        let mesh = weld_indexed(&object.points, &object.triangles);
        object.points = mesh.vertices;
        object.triangles = mesh.triangles;
    }
    Ok(())
}
