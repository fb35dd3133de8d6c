//! From build items through nested components to one mesh.

use super::model::{ModelPart, Object, Use, swelling};
use crate::mesh::error::{LocatedFault, ReadFault};
use crate::mesh::read::raw::{Raw, ReadOptions, check_count};
use crate::mesh::weld::weld_indexed;
use nalgebra::{Affine3, Point3};
use std::collections::BTreeMap;

type Models = BTreeMap<String, ModelPart>;
/// An object anywhere in the package: its model part and its number.
type Key<'a> = (&'a str, u32);

/// Deepest nesting of components; assemblies of assemblies stay far below.
const DEEPEST: usize = 64;
/// Most placed objects, empty ones included: a package of a few kilobytes can ask for any number,
/// and no build holds so many.
const MOST_INSTANCES: u64 = 100_000;

/// Triangles and objects under one object, once placed.
#[derive(Clone, Copy, Default)]
struct Count {
    triangles: u64,
    instances: u64,
    /// Levels of nesting, itself included.
    depth: usize,
}

impl Count {
    fn plus(self, other: Self) -> Self {
        Self {
            triangles: self.triangles.saturating_add(other.triangles),
            instances: self.instances.saturating_add(other.instances),
            depth: self.depth.max(other.depth),
        }
    }
}

/// Places everything that the root model's items name.
pub(super) fn build(
    models: &Models,
    root: &str,
    options: &ReadOptions,
) -> Result<Raw, LocatedFault> {
    let model = models.get(root).ok_or(ReadFault::NotAMesh)?;
    let mut notes = Vec::new();

    // Counted first: a few nested objects can stand for more triangles than fit anywhere.
    let mut counted = BTreeMap::new();
    let mut total = Count::default();
    for item in &model.items {
        let key = key_of(item, root);
        total = total.plus(count(models, key, &mut Vec::new(), &mut counted)?);
    }
    check_count(total.triangles, options)?;
    if total.instances > MOST_INSTANCES {
        let fault = ReadFault::TooManyObjects {
            objects: total.instances,
            limit: MOST_INSTANCES,
        };
        return Err(fault.into());
    }

    let mut placed = Placed::default();
    for item in &model.items {
        place(
            models,
            key_of(item, root),
            &item.transform,
            &mut placed,
            options,
        )?;
    }
    if placed.supports > 0 {
        notes.push(format!(
            "{} support objects in the file were left out",
            placed.supports
        ));
    }
    let mesh = weld_indexed(&placed.points, &placed.triangles);
    Ok(Raw {
        mesh,
        units: model.units,
        notes,
    })
}

fn key_of<'a>(used: &'a Use, own: &'a str) -> Key<'a> {
    (used.path.as_deref().unwrap_or(own), used.object)
}

fn object<'a>(models: &'a Models, (path, id): Key) -> Option<&'a Object> {
    models.get(path)?.objects.get(&id)
}

fn count<'a>(
    models: &'a Models,
    key: Key<'a>,
    above: &mut Vec<Key<'a>>,
    counted: &mut BTreeMap<Key<'a>, Count>,
) -> Result<Count, LocatedFault> {
    if let Some(&known) = counted.get(&key) {
        return Ok(known);
    }
    if above.contains(&key) {
        return Err(ReadFault::ComponentCycle { object: key.1 }.into());
    }
    let Some(object) = object(models, key) else {
        let what = format!("object {} is used but not there", key.1);
        return Err(ReadFault::BadRecord(what).into());
    };
    let mut sum = Count {
        triangles: object.triangles.len() as u64,
        instances: 1,
        depth: 0,
    };
    above.push(key);
    let too_deep = || {
        ReadFault::BadRecord(format!(
            "object {} is nested more than {DEEPEST} levels deep",
            key.1
        ))
    };
    if above.len() > DEEPEST {
        return Err(too_deep().into());
    }
    for component in &object.components {
        sum = sum.plus(count(models, key_of(component, key.0), above, counted)?);
    }
    above.pop();
    sum.depth += 1;
    // What is below may have been counted from another, shallower place.
    if sum.depth > DEEPEST {
        return Err(too_deep().into());
    }
    counted.insert(key, sum);
    Ok(sum)
}

#[derive(Default)]
struct Placed {
    points: Vec<Point3<f64>>,
    triangles: Vec<[u32; 3]>,
    supports: u32,
}

/// Depth and number of instances were bounded by [`count`].
fn place(
    models: &Models,
    key: Key,
    outer: &Affine3<f64>,
    placed: &mut Placed,
    options: &ReadOptions,
) -> Result<(), ReadFault> {
    let Some(object) = object(models, key) else {
        return Ok(());
    };
    if object.support {
        placed.supports += 1;
        return Ok(());
    }
    options.in_time()?;
    let base = placed.points.len() as u32;
    (placed.points).extend(object.points.iter().map(|p| outer * p));
    // A mirror image has its corners the other way round.
    let mirrored = swelling(outer) < 0.0;
    placed
        .triangles
        .extend(object.triangles.iter().map(|&[a, b, c]| {
            let [a, b, c] = [a, b, c].map(|v| v + base);
            if mirrored { [a, c, b] } else { [a, b, c] }
        }));
    for component in &object.components {
        let transform = outer * component.transform;
        place(
            models,
            key_of(component, key.0),
            &transform,
            placed,
            options,
        )?;
    }
    Ok(())
}
