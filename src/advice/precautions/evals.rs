//! What each rule looks at and what it says.

pub(super) mod after;
pub(super) mod bed;
pub(super) mod material;
pub(super) mod surface;

use crate::advice::precautions::traits::PoseTraits;
use crate::advice::support::{FREE_LEDGE_MM, SHUT_MM3, hangs, needs_support, spare, within_limit};
use crate::figures::bed_detail::BedDetail;
use crate::figures::profile::Story;
use crate::figures::{Bridge, Figures};
use crate::mesh::Part;
use crate::rank::FailedGate;
use crate::settings::Settings;
use crate::words;

/// Support lower than this on average hardly comes off, mm (house value).
const THIN_MM: f64 = 1.0;
/// Bridges longer than this are worth a look, mm.
pub(super) const WATCH_BRIDGE_MM: f64 = 3.0;
/// Height over width from which a free-standing feature is named, and braced.
pub(super) const SLENDER_WATCH: f64 = 8.0;
const SLENDER_BRACE: f64 = 15.0;

/// What the rules look at.
pub(crate) struct RuleInput<'a> {
    pub figures: &'a Figures,
    pub gates: &'a [FailedGate],
    pub part: &'a Part,
    pub settings: &'a Settings,
    pub near: &'a BedDetail,
    pub traits: &'a PoseTraits,
    /// The height story, where it was told.
    pub story: Option<&'a Story>,
}

/// The figure's value and what is said of it, where all else that the rule asks for is given.
pub(super) type Spoken = Option<(f64, String)>;

pub(super) fn too_large(g: &RuleInput) -> (f64, String) {
    let outside = g.gates.contains(&FailedGate::DoesNotFit);
    let says = "Cut the part in two or use a larger machine.";
    (f64::from(outside), says.into())
}

pub(super) fn open_surface(g: &RuleInput) -> (f64, String) {
    let says = "Mend the open surface first: volume and support are guesses until then.";
    (f64::from(g.part.closed), says.into())
}

pub(super) fn leave_support_off(g: &RuleInput) -> Spoken {
    let area_mm2 = g.figures.overhang_needed_mm2();
    let (area, limit) = (words::area(area_mm2), words::degrees(g.settings.limit_deg));
    let says = format!(
        "Leave support off: the {area} beyond {limit} lie in small roofs that close by themselves and sag by a hair."
    );
    (spare(g.figures, g.settings) && hangs(g.figures)).then_some((area_mm2, says))
}

pub(super) fn trapped_support(g: &RuleInput) -> (f64, String) {
    let volume_mm3 = g.figures.support_trapped_mm3;
    let volume = words::volume(volume_mm3);
    let says = format!(
        "{volume} of the support stand in a closed cavity and cannot be got out: they stay in the part for good."
    );
    (volume_mm3, says)
}

pub(super) fn ledge(g: &RuleInput) -> Spoken {
    let reach_mm = g.figures.ledge_longest_mm;
    let reach = words::length(reach_mm);
    let says = format!("A ledge reaches out {reach} with one end free: its edge droops a little.");
    (!hangs(g.figures) && reach_mm <= FREE_LEDGE_MM).then_some((reach_mm, says))
}

pub(super) fn support(g: &RuleInput) -> Spoken {
    let f = g.figures;
    if !needs_support(f, g.settings) {
        return None;
    }
    let (room, area) = (f.support_needed_mm3, f.overhang_needed_mm2());
    let (volume, limit) = (words::volume(room), words::degrees(g.settings.limit_deg));
    let under = words::area(area);
    let mut text = format!("Switch support on: {volume} under {under} beyond {limit}");
    let long = |b: &&Bridge| b.span_mm > g.settings.bridge_limit_mm;
    if let Some(first) = f.bridges.iter().find(long) {
        let [longest, from] = [f.bridge_longest_mm, first.z_mm].map(words::length);
        text += &format!(", a span of {longest} from z = {from} on");
    }
    let below = f.support_scar_mm2.below;
    if below > 1.0 {
        let below = words::area(below);
        text += &format!(". It stands on the part with {below} and marks it there");
    } else if f.support_trapped_mm3 <= SHUT_MM3 {
        text += ". It stands on the bed and comes off from outside";
    }
    text += ".";
    let mean = room / area.max(1e-6);
    if mean < THIN_MM {
        text.push_str(&format!(
            " It is only {} high on average and hardly comes off: fill that hollow in the model, or let it sag if the face does not matter.",
            words::length(mean)
        ));
    }
    Some((room, text))
}

pub(super) fn starts(g: &RuleInput) -> Spoken {
    let starts = &g.figures.floating_starts;
    let first = starts.first()?;
    let largest = starts.iter().map(|s| s.area_mm2).fold(0.0, f64::max);
    let (n, z, area) = (
        starts.len(),
        words::length(first.z_mm),
        words::area(largest),
    );
    let text = if n == 1 {
        format!(
            "At z = {z} a piece of {area} begins in the air: without support under it the print is lost there."
        )
    } else {
        format!(
            "{n} pieces begin in the air, the first at z = {z}, the largest {area}: without support under them they are lost."
        )
    };
    Some((n as f64, text))
}

pub(super) fn bridging(g: &RuleInput) -> Spoken {
    let over: Vec<&Bridge> = within_limit(g.figures, g.settings)
        .filter(|b| b.span_mm > WATCH_BRIDGE_MM)
        .collect();
    let (first, last) = (over.first()?.z_mm, over.last()?.z_mm);
    let longest = over.iter().map(|b| b.span_mm).fold(0.0, f64::max);
    let near = last - first < g.settings.layer_mm / 2.0;
    let from = words::length(first);
    let ceilings = words::count(over.len(), "ceiling", "ceilings");
    let at = if over.len() == 1 {
        format!("at z = {from}")
    } else if near {
        format!("at z = {from} ({ceilings})")
    } else {
        let (from, to) = (words::decimal(first, 1), words::length(last));
        format!("between z = {from} and {to} ({ceilings})")
    };
    let says = format!(
        "Watch the bridging {at}, up to {} across: {}, and no faster than your machine bridges well.",
        words::length(longest),
        g.settings.material.bridge_fan()
    );
    Some((longest, says))
}

pub(super) fn slender(g: &RuleInput) -> Spoken {
    let s = g.figures.slender?;
    let end = if s.ratio >= SLENDER_BRACE {
        "brace it, or slow down from there to the top"
    } else {
        "slow down towards the top"
    };
    let [from, wide, free] = [s.from_mm, s.width_mm, s.to_mm - s.from_mm].map(words::length);
    let (ratio, sway) = (
        words::decimal(s.ratio, 1),
        words::three(g.figures.sway_mm_per_n),
    );
    let says = format!(
        "From z = {from} a piece {wide} wide stands free for {free} ({ratio} : 1); the softest tip gives {sway} mm to a push of 1 N: {end}."
    );
    Some((s.ratio, says))
}
