//! Where support is to be kept out of a part for which it is switched on.

use crate::advice::marks::{Held, Touched};
use crate::features::{Between, Bore, Opposite, Size};
use crate::figures::quick::Bench;
use crate::figures::spared::slit_mm;
use crate::pose::Pose;
use crate::words;

/// … but from the side into one no deeper than so many times its height.
const REACHED: f64 = 4.0;
/// Heights that agree to this are one, mm: a layer and a half.
const SAME_HEIGHT_MM: f64 = 0.3;
/// Round holes go at least this far round, degrees.
const LEAST_TURN_DEG: f64 = 300.0;
/// Holes lie that lean no more than 15° from level, sine.
const LYING_SIN: f64 = 0.26;
/// Thinner holes are none to a nozzle, mm; in those shorter than they are wide support is reached.
const LEAST_HOLE_MM: f64 = 1.0;
/// A bore so many times as long as its radius is hard to clear (house value).
const LONG: f64 = 4.0;
/// No tool reaches into a slot narrower than this, mm …
const SLOT_MM: f64 = 3.0;
/// … whose walls are larger than so many times its width, squared (house values).
const DEEP: f64 = 3.0;

/// How many places of a pose are spoiled by support, and what to do there; none without any.
///
/// Only what the shape surely shows counts: round holes that lie and close over themselves, and
/// narrow slots that lie.
pub(super) fn kept_out(bench: &Bench, pose: &Pose, touched: &Touched) -> Option<(f64, String)> {
    let upright = libm::cos(bench.settings.overhang_lean_rad());
    let lying: Vec<&Bore> = (bench.layout.features.bores.iter())
        .filter(|b| b.hole && b.turn_rad >= LEAST_TURN_DEG.to_radians())
        .filter(|b| b.axis.dot(&pose.down).abs() < LYING_SIN && closes(bench, b))
        .filter(|b| 2.0 * b.radius_mm >= LEAST_HOLE_MM)
        .filter(|b| b.length_mm >= 2.0 * b.radius_mm)
        .collect();
    let holes: Vec<f64> = lying.iter().map(|b| 2.0 * b.radius_mm).collect();
    let deep = lying.iter().all(|b| b.length_mm >= LONG * b.radius_mm);
    let slots: Vec<f64> = (bench.layout.opposite(bench.part).iter())
        .filter(|pair| pair.between == Between::Open && pair.apart_mm <= SLOT_MM)
        // None fits into a lower one.
        .filter(|pair| pair.apart_mm >= slit_mm(bench.settings))
        .filter(|pair| pair.area_mm2 >= (DEEP * pair.apart_mm).powi(2))
        .filter(|pair| pair.normal.dot(&pose.down).abs() > upright)
        .filter(|pair| !is_held(pair, pose, touched))
        .map(|pair| pair.apart_mm)
        .collect();
    let mut says: Vec<String> = Vec::new();
    if let Some((n, sizes)) = listed(&holes) {
        let (mut text, it) = if n == 1 {
            let one = format!(
                "Block support in the horizontal bore of Ø {sizes} mm: its roof closes by itself, with a sag to drill out"
            );
            (one, "it")
        } else {
            let all = format!(
                "Block support in the horizontal bores (Ø {sizes} mm): their roofs close by themselves, with a sag to drill out"
            );
            (all, "them")
        };
        if deep {
            text += &format!(", and support in {it} is hard to clear");
        }
        says.push(text + ".");
    }
    if let Some((n, sizes)) = listed(&slots) {
        says.push(if n == 1 {
            format!("Block support in the slot {sizes} mm wide: no tool reaches into it.")
        } else {
            format!("Block support in the {n} slots ({sizes} mm wide): no tool reaches into them.")
        });
    }
    let n = holes.len() + slots.len();
    (n > 0).then(|| (n as f64, says.join(" ")))
}

/// Whether the ceiling of a slot is the very face that support is switched on for.
fn is_held(slot: &Opposite, pose: &Pose, touched: &Touched) -> bool {
    let ceiling_mm = (pose.build_from_part * slot.middle).z + 0.5 * slot.apart_mm;
    let at = |held: &Held| (held.place.z_mm[0] - ceiling_mm).abs() <= SAME_HEIGHT_MM;
    // Into a deeper one no tool reaches, whatever it holds.
    let is_reached = slot.narrow_mm <= REACHED * slot.apart_mm;
    is_reached && touched.needed.iter().any(at)
}

/// Whether a hole is so narrow that its roof surely closes when it lies.
fn closes(bench: &Bench, bore: &Bore) -> bool {
    let roof_mm = 2.0 * bore.radius_mm * libm::cos(bench.settings.limit_deg.to_radians());
    if roof_mm > bench.settings.bridge_limit_mm {
        return false;
    }
    let size = |t: &u32| bench.size(*t as usize);
    bore.triangles
        .first()
        .is_some_and(|t| size(t) == Size::Small)
}

/// How many, and the different sizes in words, the smallest first.
fn listed(sizes: &[f64]) -> Option<(usize, String)> {
    let mut different = sizes.to_vec();
    different.sort_by(f64::total_cmp);
    different.dedup_by(|a, b| (*a - *b).abs() < 0.1);
    let more = if different.len() > 4 { " …" } else { "" };
    let listed = different.iter().take(4).map(|d| words::decimal(*d, 1));
    let listed = words::joined(listed, ", ");
    (!sizes.is_empty()).then(|| (sizes.len(), format!("{listed}{more}")))
}
