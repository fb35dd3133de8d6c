//! What to do on the machine, each sentence tied to a figure and a threshold.
//!
//! Thresholds are house values or common practice unless a source is named; the
//! figure stands in the sentence, so that a person can judge for themselves.

use super::reasons::NO_SUPPORT_MM3;
use super::search::Scored;
use crate::mesh::Part;
use crate::settings::Settings;
use crate::words;

/// A brim is advised below this tip angle (common practice, house value).
const BRIM_TIP_DEG: f64 = 15.0;
/// … or below this contact area for each millimetre of height, mm²/mm.
const BRIM_CONTACT_PER_HEIGHT: f64 = 2.0;
/// … or beyond this free contraction across the base, mm: a line width pulls a
/// corner off its line. PLA reaches it at 190 mm, ABS at 60 mm.
const BRIM_PULL_MM: f64 = 0.45;
/// Contraction from which an enclosure is advised, mm.
const ENCLOSE_PULL_MM: f64 = 0.6;
/// Height over width from which a free-standing feature is named, and from which
/// it should be braced. No sourced value was found: house values.
const SLENDER_WATCH: f64 = 8.0;
const SLENDER_BRACE: f64 = 15.0;
/// Longest ledge that prints without support with a drooping edge, mm (0.5–1.5
/// in the literature on extrusion limits).
const FREE_LEDGE_MM: f64 = 1.5;

/// Sentences for one entry; empty where there is nothing to mind.
pub fn precautions(entry: &Scored, part: &Part, settings: &Settings) -> Vec<String> {
    let f = &entry.figures;
    let mut out = Vec::new();
    let small = f.contact_area_mm2 < BRIM_CONTACT_PER_HEIGHT * f.height_mm;
    let shaky = f.tip_angle_deg < BRIM_TIP_DEG;
    let pulls = f.shrink_pull_mm > BRIM_PULL_MM;
    if small || shaky || pulls {
        let wide = if shaky || f.shrink_pull_mm > ENCLOSE_PULL_MM {
            8
        } else {
            5
        };
        let mut why = Vec::new();
        if small {
            why.push(format!(
                "only {} hold {} of height",
                words::area(f.contact_area_mm2),
                words::length(f.height_mm)
            ));
        }
        if shaky {
            why.push(format!(
                "a tilt of {} tips it",
                words::degrees(f.tip_angle_deg.max(0.0))
            ));
        }
        if pulls {
            why.push(format!(
                "{} would shrink {} across the base if it were free",
                settings.material.name,
                words::length(f.shrink_pull_mm)
            ));
        }
        out.push(format!(
            "Give it a brim {wide} mm wide: {}.",
            why.join("; ")
        ));
    }
    if f.shrink_pull_mm > ENCLOSE_PULL_MM {
        out.push(format!(
            "Keep draught off and close the machine if it can be closed: corners of this base pull {} inward ({}, {} × 10⁻⁶/K, range {}–{}).",
            words::length(f.shrink_pull_mm / 2.0),
            settings.material.name,
            words::three(settings.material.alpha_e6_per_k),
            words::three(settings.material.alpha_range_e6_per_k.0),
            words::three(settings.material.alpha_range_e6_per_k.1)
        ));
    }
    if f.support_needed_mm3 > NO_SUPPORT_MM3 {
        let below = f.support_scar_mm2.below;
        let mut text = format!(
            "Switch support on for what leans beyond {}: {}",
            words::degrees(settings.limit_deg),
            words::volume(f.support_needed_mm3)
        );
        if below > 1.0 {
            text.push_str(&format!(
                ", of which {} stand on the part and will mark it",
                words::area(below)
            ));
        } else {
            text.push_str(", all of it from the bed");
        }
        text.push('.');
        out.push(text);
    }
    if f.support_trapped_mm3 > NO_SUPPORT_MM3 {
        out.push(format!(
            "{} of that space is closed off: support there cannot be got out. Split the part, open the cavity, or print it without and accept the sag.",
            words::volume(f.support_trapped_mm3)
        ));
    }
    let over: Vec<f64> = f
        .bridges
        .iter()
        .filter(|b| b.span_mm <= settings.bridge_limit_mm && b.span_mm > 3.0)
        .map(|b| b.z_mm)
        .collect();
    if let (Some(first), true) = (over.first(), f.bridge_longest_mm > 0.0) {
        out.push(format!(
            "Watch the bridging at z = {}{}: full fan, no faster than your machine bridges well.",
            words::length(*first),
            if over.len() > 1 {
                format!(
                    " and {} further up",
                    words::count(over.len() - 1, "ceiling", "ceilings")
                )
            } else {
                String::new()
            }
        ));
    }
    if f.ledge_longest_mm > settings.line_mm && f.ledge_longest_mm <= FREE_LEDGE_MM {
        out.push(format!(
            "A ledge reaches out {} with one end free: its edge will droop a little.",
            words::length(f.ledge_longest_mm)
        ));
    }
    for start in f.floating_starts.iter().take(3) {
        out.push(format!(
            "At z = {} a piece of {} begins in the air: it needs support under it.",
            words::length(start.z_mm),
            words::area(start.area_mm2)
        ));
    }
    if let Some(s) = f.slender.filter(|s| s.ratio >= SLENDER_WATCH) {
        out.push(format!(
            "From z = {} a piece {} wide stands free for {} ({} : 1) and gives {} mm per newton at the tip: {}.",
            words::length(s.from_mm),
            words::length(s.width_mm),
            words::length(s.to_mm - s.from_mm),
            words::three(s.ratio),
            words::three(f.sway_mm_per_n),
            if s.ratio >= SLENDER_BRACE {
                "slow down up there, print two at a time for cooling, and brace it to its neighbour if you can"
            } else {
                "slow down towards the top"
            }
        ));
    }
    if entry.candidate.gates.contains(&super::Gate::DoesNotFit) {
        out.push("Cut the part in two or use a larger machine.".into());
    }
    if !part.closed {
        out.push("Mend the open surface before slicing: figures of volume and support are guesses until then.".into());
    }
    out
}
