//! Places to look at in the model before it is printed.

use super::evals::{RuleInput, SLENDER_WATCH, Spoken};
use crate::advice::spans;
use crate::figures::Stretch;
use crate::figures::slender::SLIVER_LINES;
use crate::plane::rect;
use crate::settings::Settings;
use crate::words;

/// Width below which the nozzle draws nothing, mm.
pub(super) fn sliver_mm(settings: &Settings) -> f64 {
    SLIVER_LINES * settings.line_mm
}

pub(super) fn ceiling_hole(g: &RuleInput) -> Spoken {
    let rings = spans::rings(g.figures, g.settings);
    let count: u32 = rings.iter().map(|r| r.1.count).sum();
    let (narrow, wide) = rect::span(rings.iter().map(|r| r.1.width_mm));
    let z: Vec<f64> = rings.iter().map(|r| r.0).collect();
    let (one, wide) = (words::decimal(narrow, 1), words::decimal(wide, 1));
    let (holes, them) = match count {
        0 => return None,
        1 => (format!("the {wide} mm hole"), "it"),
        n if one == wide => (format!("the {n} holes of {wide} mm"), "them"),
        n => (format!("the {n} holes of {one} to {wide} mm"), "them"),
    };
    let layer = words::decimal(g.settings.layer_mm, 2);
    let says = format!(
        "Model a sacrificial layer of one layer thickness ({layer} mm) across {holes} at {}, and cut or drill {them} out after printing: the ceiling there is a ring, and its strands find no hold at the hole.",
        spans::heights(&z)
    );
    Some((rings.len() as f64, says))
}

/// Slivers that are as slender as what is braced elsewhere: the lower ones nobody notices.
pub(super) fn sliver(g: &RuleInput) -> Spoken {
    let seen = (g.slivers.iter()).filter(|s| s.ratio >= SLENDER_WATCH);
    let all: Vec<&Stretch> = seen.collect();
    let narrow_mm = all.iter().map(|s| s.width_mm).reduce(f64::min)?;
    let least = 0.05;
    let wide = if narrow_mm < least {
        format!("less than {least} mm")
    } else {
        format!("{} mm", words::decimal(narrow_mm, 2))
    };
    let z: Vec<f64> = all.iter().map(|s| s.from_mm).collect();
    let at = spans::heights(&z);
    let says = match all.len() {
        1 => format!(
            "Look at the model at {at}: a sliver {wide} wide stands there, which the nozzle cannot draw."
        ),
        n => format!(
            "Look at the model at {at}: {n} slivers stand there, the narrowest {wide} wide, which the nozzle cannot draw."
        ),
    };
    Some((narrow_mm, says))
}
