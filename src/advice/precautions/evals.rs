//! What each rule looks at and what it says.

pub(super) mod after;
pub(super) mod bed;
pub(super) mod material;
pub(super) mod surface;

use crate::advice::bodies::BodyRemarks;
use crate::advice::marks::Touched;
use crate::advice::precautions::traits::PoseTraits;
use crate::advice::spans;
use crate::advice::support::{
    FREE_LEDGE_MM, WATCH_BRIDGE_MM, hangs, islands, ledge_mm, needs_support,
};
use crate::figures::bed_detail::BedDetail;
use crate::figures::low::LOW_SLOPE_MM;
use crate::figures::profile::LayerProfile;
use crate::figures::{Bridge, Figures, Island, Stretch};
use crate::mesh::Part;
use crate::rank::FailedGate;
use crate::settings::Settings;
use crate::words;

/// Height over width from which a free-standing feature is named, and braced.
pub(super) const SLENDER_WATCH: f64 = 8.0;
const SLENDER_BRACE: f64 = 15.0;

/// Islands below this begin as a tip, mm².
const TIP_MM2: f64 = 1.0;

/// What the rules look at.
pub(crate) struct RuleInput<'a> {
    pub figures: &'a Figures,
    pub gates: &'a [FailedGate],
    pub part: &'a Part,
    pub settings: &'a Settings,
    pub near: &'a BedDetail,
    /// What stands free and is too narrow to be drawn.
    pub slivers: &'a [Stretch],
    pub traits: &'a PoseTraits,
    /// The layer profile, where it was told.
    pub layer_profile: Option<&'a LayerProfile>,
    /// What separate bodies are, where it is told.
    pub bodies: &'a BodyRemarks,
    /// Number of places that support would spoil, with what to do there; none where it is off.
    pub kept_out: &'a Spoken,
    /// What support touches.
    pub touched: &'a Touched,
}

/// The figure's value and what is said of it, where all else that the rule asks for is given.
pub(super) type Spoken = Option<(f64, String)>;

pub(super) fn too_large(g: &RuleInput) -> (f64, String) {
    let outside = g.gates.contains(&FailedGate::DoesNotFit);
    let says = "Cut the part into pieces that fit, or use a larger machine.";
    (f64::from(outside), says.into())
}

pub(super) fn open_surface(g: &RuleInput) -> (f64, String) {
    let says = "Mend the open surface first: volume and support are guesses until then.";
    (f64::from(g.part.closed), says.into())
}

pub(super) fn trapped_support(g: &RuleInput) -> (f64, String) {
    let volume_mm3 = g.figures.support_trapped_mm3;
    // No more of it stands there than there is of it.
    let needed_mm3 = g.figures.support_needed_mm3;
    let volume = if needed_mm3 > 0.0 && needed_mm3 < volume_mm3 {
        "Some".into()
    } else {
        words::volume(volume_mm3)
    };
    let says = format!(
        "{volume} of the support would stand in a closed cavity and cannot be removed: open the cavity in the model, or accept that the support stays inside."
    );
    (volume_mm3, says)
}

/// A cantilever from this reach on droops so that it is seen, mm (house value; a line at least).
pub(super) fn droops_mm(settings: &Settings) -> f64 {
    settings.line_mm.max(1.0)
}

pub(super) fn ledge(g: &RuleInput) -> Spoken {
    let reach_mm = ledge_mm(g.figures);
    let reach = words::length(reach_mm);
    let says = format!("A cantilever of {reach} prints without support: its edge droops a little.");
    (!hangs(g.figures) && reach_mm <= FREE_LEDGE_MM).then_some((reach_mm, says))
}

pub(super) fn starts(g: &RuleInput) -> Spoken {
    // Where support is on, it is said for what.
    let starts: Vec<&Island> = islands(g.figures, g.settings).collect();
    let first = starts
        .first()
        .filter(|_| !needs_support(g.figures, g.settings))?;
    let largest = starts.iter().map(|s| s.area_mm2).fold(0.0, f64::max);
    let (n, z) = (starts.len(), words::length(first.z_mm));
    // A tip has no area worth the name where it begins.
    let area = (largest >= TIP_MM2).then(|| words::area(largest));
    let text = if n == 1 {
        let of = area.map_or_else(String::new, |area| format!(" of {area}"));
        format!(
            "At z = {z} an island{of} starts with nothing below it: without support the print is lost there."
        )
    } else {
        let of = area.map_or_else(String::new, |area| format!(", the largest {area}"));
        format!(
            "{n} islands start with nothing below them, the first at z = {z}{of}: without support they are lost."
        )
    };
    Some((n as f64, text))
}

pub(super) fn bridging(g: &RuleInput) -> Spoken {
    let over: Vec<&Bridge> = spans::held(g.figures, g.settings)
        .filter(|b| b.span_mm > WATCH_BRIDGE_MM && b.z_mm > LOW_SLOPE_MM)
        .collect();
    // Where support is on, nobody watches what it does not stand under.
    if needs_support(g.figures, g.settings) {
        return None;
    }
    let longest = spans::longest(over.iter().copied())?.span_mm;
    let all = spans::all(&over, g.figures)?;
    let bridges = if over.len() == 1 { "bridge" } else { "bridges" };
    let says = format!(
        "Watch the {bridges} ({all}): {}, and no faster than your machine bridges well.",
        g.settings.material.bridge_fan()
    );
    Some((longest, says))
}

pub(super) fn slender(g: &RuleInput) -> Spoken {
    // Bodies that run in each other hold each other.
    let s = g.figures.slender.filter(|_| g.bodies.in_place.is_none())?;
    let end = if s.ratio >= SLENDER_BRACE {
        "brace it, or slow down from there to the top"
    } else {
        "slow down towards the top"
    };
    let [from, wide, free] = [s.from_mm, s.width_mm, s.to_mm - s.from_mm].map(spans::mm);
    let ratio = words::decimal(s.ratio, 1);
    let says = format!(
        "From z = {from} a feature {wide} wide stands free for {free} (slenderness {ratio} : 1): {end}."
    );
    Some((s.ratio, says))
}
