//! What is said of support: on or off, for what, and where it is kept out.

use super::evals::{RuleInput, Spoken};
use crate::advice::spans;
use crate::advice::support::{
    SHUT_MM3, all_too_long, free_ledge_mm, hangs, islands, ledge_mm, left_alone, needs_support,
    room_mm3, spare, steep_mm2, under_mm2,
};
use crate::figures::{Bridge, Figures};
use crate::settings::Settings;
use crate::words;

/// Support lower than this on average hardly comes off, mm (house value).
const THIN_MM: f64 = 1.0;
/// Support that stands on the part under less than this share of the overhang stands on the bed.
const LEAST_BELOW: f64 = 0.1;
/// Two figures this near to each other are one (house value).
const SAME: f64 = 1.05;
/// Support that stands on the part with this share of the overhang fills a hollow in it.
const HOLLOW_SHARE: f64 = 0.5;

pub(super) fn leave_support_off(g: &RuleInput) -> Spoken {
    let says = format!("No support: {}.", left_alone(g.figures, g.settings));
    let off = spare(g.figures, g.settings) && hangs(g.figures);
    off.then(|| (steep_mm2(g.figures), says))
}

/// What support would hold, the worst first.
fn held(f: &Figures, settings: &Settings) -> Vec<String> {
    let mut out = Vec::new();
    if let Some(first) = islands(f, settings).next() {
        let z = words::length(first.z_mm);
        out.push(match islands(f, settings).count() {
            1 => format!("an island at z = {z}"),
            n => format!("{n} islands from z = {z} on"),
        });
    }
    if ledge_mm(f) > free_ledge_mm(f) {
        let at = (f.ledge_high_z_mm)
            .map_or_else(String::new, |z| format!(" at {}", spans::heights(&[z])));
        out.push(format!(
            "a cantilever of {}{at}",
            words::length(ledge_mm(f))
        ));
    }
    let long: Vec<Bridge> = all_too_long(f, settings).collect();
    if let Some(bridge) = spans::longest(&long) {
        let limit_mm = settings.bridge_limit_mm;
        // Slanting undersides are a bridge a layer: of many, the longest is enough.
        let more = match long.len() - 1 {
            more @ 1..=5 => format!(" and {more} more of over {}", words::length(limit_mm)),
            _ => String::new(),
        };
        out.push(format!("a span of {}{more}", spans::one(bridge)));
    }
    let steep = steep_mm2(f);
    if out.is_empty() && steep > 0.0 {
        out.push("steep overhang".into());
    }
    out
}

pub(super) fn support(g: &RuleInput) -> Spoken {
    let f = g.figures;
    if !needs_support(f, g.settings) {
        return None;
    }
    let (room, area) = (room_mm3(f), under_mm2(f));
    let limit = words::degrees(g.settings.limit_deg);
    let holds = held(f, g.settings);
    let what = match &holds[..] {
        [] => String::new(),
        [one] => format!(" for {one}"),
        [first @ .., last] => format!(" for {} and {last}", first.join(", ")),
    };
    // Told with the figures of the pose where these hold no more than has room.
    let (all_mm3, all_mm2) = (f.support_needed_mm3, f.overhang_needed_mm2());
    let mut text = if all_mm3 <= SAME * room && all_mm2 <= SAME * area {
        let (volume, under) = (words::volume(all_mm3), words::area(all_mm2));
        format!("Switch support on{what}: {volume} under {under} beyond {limit}.")
    } else {
        format!("Switch support on{what}.")
    };
    // In a slit there is none.
    let below = (f.support_marks_mm2.below - f.overhang_slit_mm2).max(0.0);
    let mean = room / area.max(1e-6);
    if below > LEAST_BELOW * area {
        // What it stands on is no larger than what it holds.
        let below = words::area(below.min(area));
        text += &format!(" It rests on {below} of the part and marks it there.");
    } else if f.support_trapped_mm3 <= SHUT_MM3 && mean >= THIN_MM {
        text += &match &g.marked {
            Some(place) => {
                format!(" It stands on the bed, comes off from outside and marks the part {place}.")
            }
            None => " It stands on the bed and comes off from outside.".into(),
        };
    }
    if mean < THIN_MM {
        text += &format!(
            " It is only {} high on average and hardly comes off",
            words::length(mean)
        );
        // Between two faces of the part: a hollow, not the edge of the base.
        text += if below >= HOLLOW_SHARE * area {
            ": fill that hollow in the model, or let it sag if the face does not matter."
        } else {
            "."
        };
    }
    Some((room, text))
}

pub(super) fn kept_out(g: &RuleInput) -> Spoken {
    g.kept_out.clone()
}

pub(super) fn crumbs(g: &RuleInput) -> Spoken {
    g.bodies.crumbs.clone()
}

pub(super) fn parts(g: &RuleInput) -> Spoken {
    g.bodies.parts.clone()
}

pub(super) fn in_place(g: &RuleInput) -> Spoken {
    g.bodies.in_place.clone()
}
