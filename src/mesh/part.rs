//! From a mesh to a part: cleaned, oriented, divided into bodies, weighed.

use super::clean::{clean, double_area, drop_unused, is_flat, is_sliver};
use super::defect::{Defect, DefectKind, DefectTally};
use super::edges::{Pairing, middle};
use super::error::ReadFault;
use super::mass::Moments;
use super::nesting::{boxes_meet, nesting, overlaps, settle};
use super::shells::{shells, turn_triangles};
use super::stray::stray;
use super::{Body, Mesh, Part};
use crate::tol;
use nalgebra::{Point3, Vector3};
use rayon::prelude::*;
use std::time::Instant;

/// An open shell faces inward if the volume it encloses with its own centroid is
/// below minus this share of area times extent; nearer to zero it is a sheet that has no inside.
const OPEN_FACING_REL: f64 = 0.01;

/// A mesh longer than this, mm, is looked through for a stray vertex before it is cleaned: a
/// kilometre is no part.
const FAR_OUT_MM: f64 = 1e6;

impl Part {
    /// Makes a part of a welded mesh in mm, and lists what was wrong with it.
    ///
    /// Triangles may come in any sense and order; defects are mended in memory as far
    /// as [`DefectKind`] says, and listed in the order of that enum. Triangles keep
    /// their order; those that print nothing go. A zero-area triangle that closes the
    /// surface stays, with area 0 and a zero normal.
    ///
    /// # Errors
    /// [`ReadFault::NotFinite`], [`ReadFault::IndexOutOfRange`], [`ReadFault::NoTriangles`], or
    /// [`ReadFault::Flat`]: all vertices within the file's precision of one plane; or
    /// [`ReadFault::Stray`] where they are so beside one of them alone, or where that one lies a
    /// kilometre off.
    pub fn new(mesh: Mesh) -> Result<(Self, Vec<Defect>), ReadFault> {
        Self::until(mesh, None)
    }

    /// [`Self::new`], which ends soon after the time is over.
    ///
    /// # Errors
    /// As there, and [`ReadFault::TooLate`].
    pub fn until(mut mesh: Mesh, until: Option<Instant>) -> Result<(Self, Vec<Defect>), ReadFault> {
        let in_time = || ReadFault::if_late(until);
        check(&mesh)?;
        // So far out that the precision of the file there would join all the rest into one place.
        let extent_mm = mesh.bounds().map_or(0.0, |(lo, hi)| (hi - lo).max());
        if let Some(at) = (extent_mm > FAR_OUT_MM).then(|| stray(&mesh)).flatten() {
            return Err(ReadFault::Stray(at));
        }
        let mut defects = Vec::new();
        let mut pairing = clean(&mut mesh, &mut defects);
        drop_unused(&mut mesh);
        in_time()?;
        if mesh.triangles.is_empty() {
            return Err(ReadFault::NoTriangles);
        }
        if is_flat(&mesh) {
            return Err(stray(&mesh).map_or(ReadFault::Flat, ReadFault::Stray));
        }
        let (lo, hi) = mesh.bounds().ok_or(ReadFault::NoTriangles)?;
        defects.extend(edge_defects(&mesh, &pairing));

        let (mut flipped, mut one_sided) = (DefectTally::default(), DefectTally::default());
        let shells = shells(&mut mesh, &mut pairing, &mut flipped, &mut one_sided);
        defects.extend(flipped.defect(DefectKind::FlippedFaces));
        defects.extend(one_sided.defect(DefectKind::OneSidedEdges));

        in_time()?;

        let origin = nalgebra::center(&lo, &hi);
        let mut moments: Vec<Moments> = shells
            .lists
            .iter()
            .map(|list| Moments::of(&mesh, list, origin))
            .collect();
        let mut bodies: Vec<Body> = shells
            .lists
            .into_iter()
            .zip(shells.closed)
            .zip(&moments)
            .map(|((triangles, closed), moments)| {
                let volume_mm3 = if closed {
                    moments.volume
                } else {
                    Moments::of(&mesh, &triangles, moments.area_centroid()).volume
                };
                Body {
                    triangles,
                    volume_mm3,
                    closed,
                    cavity: false,
                    turned: false,
                }
            })
            .collect();

        let boxes = bodies.iter().map(|body| mesh.bounds_of(&body.triangles));
        let boxes: Vec<_> = boxes.collect();
        in_time()?;
        let nest = nesting(&mesh, &bodies, &boxes);
        in_time()?;
        let facing: Vec<i8> = bodies
            .iter()
            .zip(&boxes)
            .zip(&moments)
            .map(|((body, (lo, hi)), moments)| {
                let least = if body.closed {
                    0.0
                } else {
                    OPEN_FACING_REL * moments.area * (hi - lo).max()
                };
                if body.volume_mm3 < -least {
                    -1
                } else {
                    i8::from(body.volume_mm3 > least)
                }
            })
            .collect();
        let settled = settle(&facing, &nest);
        defects.extend(turn_bodies(
            &mut mesh,
            &mut pairing,
            &mut bodies,
            &mut moments,
            &settled.turn,
        ));
        for (b, body) in bodies.iter_mut().enumerate() {
            body.cavity = body.closed && body.volume_mm3 < 0.0 && nest.is_held(b);
        }
        if let Some(&first) = settled.buried.first() {
            let at = mesh.corners(bodies[first].triangles[0] as usize)[0];
            let count = settled.buried.len() as u64;
            defects.push(Defect::new(DefectKind::BodiesInsideBodies, count, at));
        }

        in_time()?;
        let overlap = overlaps(&mesh, &bodies);
        in_time()?;
        defects.extend(overlap.map(|(count, at)| Defect::new(DefectKind::SelfOverlap, count, at)));
        let extent = (hi - lo).max();
        let overlapping =
            overlap.is_some() || boxes_meet(&bodies, &boxes, &nest, tol::length(extent));

        let closed = bodies.iter().all(|body| body.closed);
        let mass = weigh(&mesh, &bodies, &moments, closed);
        let (normals, areas) = normals_and_areas(&mesh);
        defects.sort_by_key(|defect| defect.kind);
        let opposite = pairing.across;
        Ok((
            Self {
                mesh,
                normals,
                areas,
                opposite,
                mass,
                bodies,
                closed,
                overlapping,
            },
            defects,
        ))
    }
}

fn check(mesh: &Mesh) -> Result<(), ReadFault> {
    if mesh.triangles.len() as u64 >= u64::from(u32::MAX) / 3 {
        let (triangles, limit) = (mesh.triangles.len() as u64, u64::from(u32::MAX) / 3 - 1);
        return Err(ReadFault::TooManyTriangles { triangles, limit });
    }
    if !mesh
        .vertices
        .iter()
        .all(|p| p.iter().all(|c| c.is_finite()))
    {
        return Err(ReadFault::NotFinite);
    }
    let vertices = mesh.vertices.len();
    match mesh.triangles.as_flattened().iter().max() {
        Some(index) if *index as usize >= vertices => Err(ReadFault::no_vertex(*index, vertices)),
        _ => Ok(()),
    }
}

fn edge_defects(mesh: &Mesh, pairing: &Pairing) -> Vec<Defect> {
    let of = |kind, edges: &[u32]| {
        edges
            .first()
            .map(|h| Defect::new(kind, edges.len() as u64, middle(mesh, *h)))
    };
    let open = of(DefectKind::OpenEdges, &pairing.open);
    let crowded = of(DefectKind::NonManifoldEdges, &pairing.crowded);
    open.into_iter().chain(crowded).collect()
}

fn turn_bodies(
    mesh: &mut Mesh,
    pairing: &mut Pairing,
    bodies: &mut [Body],
    moments: &mut [Moments],
    turn: &[bool],
) -> Option<Defect> {
    let mut tally = DefectTally::default();
    if !turn.contains(&true) {
        return None;
    }
    let mut triangles = vec![false; mesh.triangles.len()];
    let all = bodies.iter_mut().zip(moments).zip(turn);
    for ((body, moments), _) in all.filter(|(_, turn)| **turn) {
        body.turned = true;
        body.volume_mm3 = -body.volume_mm3;
        moments.turn();
        tally.add(|| mesh.corners(body.triangles[0] as usize)[0]);
        for &t in &body.triangles {
            triangles[t as usize] = true;
        }
    }
    turn_triangles(mesh, &mut pairing.across, &triangles);
    tally.defect(DefectKind::InsideOutBodies)
}

fn weigh(mesh: &Mesh, bodies: &[Body], moments: &[Moments], closed: bool) -> super::Mass {
    let origin = moments.first().map_or_else(Point3::origin, |m| m.origin);
    let mut sum = Moments::zero(origin);
    for one in moments {
        sum.add(one);
    }
    if closed {
        return sum.mass(true);
    }
    // The moments of an open shell depend on the origin: take its own centroid.
    let origin = sum.area_centroid();
    let mut sum = Moments::zero(origin);
    for body in bodies {
        sum.add(&Moments::of(mesh, &body.triangles, origin));
    }
    let mut mass = sum.mass(false);
    mass.volume_mm3 = bodies.iter().map(|body| body.volume_mm3).sum();
    mass
}

fn normals_and_areas(mesh: &Mesh) -> (Vec<Vector3<f64>>, Vec<f64>) {
    let of = |t| {
        let corners = mesh.corners(t);
        let double = double_area(&corners);
        let length = double.norm();
        if is_sliver(&corners) {
            (Vector3::zeros(), 0.0)
        } else {
            (double / length, length / 2.0)
        }
    };
    let all = (0..mesh.triangles.len()).into_par_iter();
    all.with_min_len(1 << 14).map(of).unzip()
}

#[cfg(test)]
mod tests;
