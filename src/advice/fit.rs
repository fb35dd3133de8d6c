//! How a part goes on the bed: whether it has to be turned, and what room a brim has there.

use crate::figures::quick::Bench;
use crate::gauge::card::AsWritten;
use crate::mesh::{Part, bounds};
use crate::plane::rect;
use crate::pose::Pose;
use crate::rank::FailedGate;
use crate::rank::search::Scored;
use crate::words::{degrees, length};
use nalgebra::{Point2, Point3};

/// A brim narrower than this is none, mm (house value).
const LEAST_BRIM_MM: f64 = 1.0;
/// The widest brim that is ever asked for, mm: beyond it, room is room.
const WIDEST_BRIM_MM: f64 = 12.0;

/// What to say of the place of a pose on the bed, in sentences; nothing where it simply fits.
/// `brim_mm` is the width of the brim that is asked for.
pub(super) fn on_the_bed(bench: &Bench, entry: &Scored, brim_mm: f64) -> Vec<String> {
    if entry.candidate.gates.contains(&FailedGate::DoesNotFit) {
        return Vec::new();
    }
    let corners = &bench.hull().vertices;
    let level = Pose::new(&entry.candidate.down, corners);
    let stands = AsWritten {
        level: &level,
        written: &entry.pose,
        extents_mm: [0.0; 3],
        corners,
    };
    let [bed_x, bed_y, _] = bench.settings.bed_mm;
    let beside_mm = |pose: &Pose| {
        let ends = bounds(pose.shadow(corners));
        ends.map_or(0.0, |[lo, hi]| {
            (bed_x - (hi.x - lo.x)).min(bed_y - (hi.y - lo.y)) / 2.0
        })
    };
    let beside = beside_mm(&entry.pose);
    let room = |pose: &Pose, beside_mm: f64| {
        if beside_mm >= WIDEST_BRIM_MM {
            return WIDEST_BRIM_MM;
        }
        let touch_mm = bench.settings.touch_mm();
        room_mm(bench.part, pose, [bed_x, bed_y], touch_mm)
    };
    let aslant = stands.aslant_deg();
    let mut out = Vec::new();
    if let Some(deg) = aslant {
        out.push(format!(
            "Fits the bed only aslant, its long side at {} to the front edge: the file that `wayup turn` writes has it that way. {}",
            degrees(deg),
            with_brim(room(&entry.pose, beside), brim_mm)
        ));
        return out;
    }
    if stands.turned_deg().abs() > 45.0 {
        out.push("Fits the bed only with its long side from front to back: the file that `wayup turn` writes has it that way.".into());
    }
    let here = room(&entry.pose, beside);
    if brim_mm <= here {
        return out;
    }
    let shadow = rect::hull2d(&entry.pose.shadow(corners));
    let better = rect::roomiest_yaw(&shadow, bed_x, bed_y).and_then(|(yaw, room_mm)| {
        let turned = entry.pose.turned(yaw, corners);
        (room_mm >= 0.0 && room(&turned, room_mm / 2.0) >= brim_mm).then_some(yaw)
    });
    let edges = length(whole(here));
    out.push(match better {
        Some(yaw) => format!(
            "As it stands there is room for {} only: turn it by {} about Z on the bed for the brim of {}.",
            if here < LEAST_BRIM_MM { "no brim".into() } else { format!("a brim of {edges}") },
            degrees(signed_deg(yaw)),
            length(brim_mm)
        ),
        None => with_brim(here, brim_mm),
    });
    out
}

/// What brim has room, where so much is asked for.
fn with_brim(room_mm: f64, brim_mm: f64) -> String {
    let most = length(whole(room_mm));
    let asked = length(brim_mm);
    if room_mm < LEAST_BRIM_MM {
        if brim_mm > 0.0 {
            return format!(
                "The bed has no room for the brim of {asked}: use glue on the bed instead, or a larger bed."
            );
        }
        return "There is no room for a brim.".into();
    }
    if brim_mm > room_mm {
        return format!(
            "The bed has room for only {most} of the {asked} brim: make it that wide, or use a larger bed."
        );
    }
    if room_mm >= WIDEST_BRIM_MM {
        "A brim still fits.".into()
    } else {
        format!("A brim of up to {most} still fits.")
    }
}

/// Whole millimetres, down.
fn whole(mm: f64) -> f64 {
    (mm + 1e-6).floor().max(0.0)
}

/// A turn of a half turn at most either way, degrees.
fn signed_deg(yaw_rad: f64) -> f64 {
    let deg = yaw_rad.to_degrees().rem_euclid(180.0);
    if deg > 90.0 { deg - 180.0 } else { deg }
}

/// Room from what touches the bed to its edges where the part stands in the middle, mm: the
/// widest brim. O(n).
fn room_mm(part: &Part, pose: &Pose, bed_mm: [f64; 2], touch_mm: f64) -> f64 {
    let map = pose.build_from_part;
    // Most of a part is far above the bed: only the height of each vertex is worked out.
    let up = map.rotation.matrix().row(2).transpose();
    let low: Vec<bool> = (part.mesh.vertices.iter())
        .map(|p| up.dot(&p.coords) + map.translation.z <= touch_mm)
        .collect();
    let down = |t: &&[u32; 3]| t.iter().any(|v| low[*v as usize]);
    let on_bed = part.mesh.triangles.iter().filter(down).flat_map(|t| {
        let corners = t.map(|v| (map * part.mesh.vertices[v as usize], low[v as usize]));
        (0..3).flat_map(move |i| {
            let ((a, a_low), (b, b_low)) = (corners[i], corners[(i + 1) % 3]);
            let crossing = (a_low != b_low).then(|| a + (b - a) * ((touch_mm - a.z) / (b.z - a.z)));
            [a_low.then_some(a), crossing].into_iter().flatten()
        })
    });
    let ends = bounds(on_bed.map(|p: Point3<f64>| p.xy()));
    ends.map_or(0.0, |[lo, hi]: [Point2<f64>; 2]| {
        let [x, y] = bed_mm.map(|mm| mm / 2.0);
        [x + lo.x, x - hi.x, y + lo.y, y - hi.y]
            .into_iter()
            .fold(f64::INFINITY, f64::min)
    })
}

#[cfg(test)]
mod tests;
