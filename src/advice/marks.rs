//! Which side of the part support marks, where that is seen.

use crate::features::Size;
use crate::figures::bridges::Spanning;
use crate::figures::low::low_slope_mm;
use crate::figures::quick::Bench;
use crate::pose::{Pose, Posed};
use crate::words;
use nalgebra::{Unit, Vector3, center};

/// Facets that are looked at.
const MOST_LOOKS: usize = 4000;
/// Share of the marks that lie on one side and are seen from there, from which on the side is
/// named (house value).
const MOSTLY: f64 = 0.9;
/// A side that looks down within 30° is the underside, cosine.
const UNDER_COS: f64 = 0.866;

/// Where support leaves its marks, to stand behind "marks the part": the side of the file that
/// nearly all of them lie on, where nothing of the part stands before them.
pub(super) fn marked(bench: &Bench, pose: &Pose, spanning: &Spanning) -> Option<String> {
    let (part, settings) = (bench.part, bench.settings);
    let posed = Posed::new(part, pose.clone());
    let (sine, low_mm) = (settings.overhang_sin(), low_slope_mm(settings));
    let middle = |t: usize| {
        let [a, b, c] = posed.corners(t);
        center(&a, &center(&b, &c))
    };
    let marked = |t: &usize| {
        let p = middle(*t);
        -posed.normal_z[*t] > sine
            && p.z > low_mm
            && bench.size(*t) != Size::Small
            && !spanning.carried.carried(p.x, p.y, p.z)
    };
    let all: Vec<usize> = (0..part.mesh.triangles.len()).filter(marked).collect();
    let step = all.len().div_ceil(MOST_LOOKS).max(1);
    // Area that is seen by the side it looks to: −X, +X and so on.
    let (mut seen, mut whole) = ([0.0; 6], 0.0);
    for t in all.into_iter().step_by(step) {
        let normal = Unit::new_unchecked(part.normals[t]);
        whole += part.areas[t];
        let [a, b, c] = part.mesh.corners(t);
        // Off the middle, so that a symmetrical part is not hit on an edge.
        let from = nalgebra::Point3::from(a.coords * 0.37 + b.coords * 0.36 + c.coords * 0.27);
        if bench.void_below(&from, &normal).is_none() {
            let axis = normal.iamax();
            seen[2 * axis + usize::from(normal[axis] > 0.0)] += part.areas[t];
        }
    }
    let most = (0..6).max_by(|a, b| seen[*a].total_cmp(&seen[*b]).then(b.cmp(a)))?;
    if whole <= 0.0 || seen[most] < MOSTLY * whole {
        return None;
    }
    let mut side = Vector3::zeros();
    side[most / 2] = if most % 2 == 1 { 1.0 } else { -1.0 };
    let side = Unit::new_unchecked(side);
    let named = words::side(&side);
    Some(if side.dot(&pose.down) >= UNDER_COS {
        format!("underneath ({named})")
    } else {
        format!("on the {named}")
    })
}
