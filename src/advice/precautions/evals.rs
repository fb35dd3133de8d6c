//! What each rule looks at and what it says.

use crate::advice::bodies::BodyRemarks;
use crate::advice::spans;
use crate::advice::support::{FREE_LEDGE_MM, hangs};
use crate::figures::bed_detail::BedDetail;
use crate::figures::profile::{Jump, Story};
use crate::figures::{Bridge, Figures, Stretch};
use crate::mesh::Part;
use crate::rank::FailedGate;
use crate::settings::Settings;
use crate::words;

/// Contact below this for each millimetre of height is little, mm²/mm.
const CONTACT_PER_HEIGHT: f64 = 4.0;
/// Tip angle below which a knock is a danger, degrees.
const SAFE_TIP_DEG: f64 = 15.0;
/// Free contraction across the base that pulls a corner off its line: one line, mm.
const PULL_MM: f64 = 0.45;
/// Sway that doubles the lever of a knock, mm/N.
const SWAY_MM_PER_N: f64 = 1.0;
/// Narrowest and widest brim, mm.
const BRIM_MM: (f64, f64) = (4.0, 12.0);
/// Contraction of a material that is printed in a warm, closed machine.
const SHRINKER: f64 = 0.005;
/// Free contraction across the base from which draught matters: of such a material,
/// and of any, mm.
const DRAUGHT_MM: (f64, f64) = (0.3, 0.6);
/// Bridges longer than this are worth a look, mm.
pub(super) const WATCH_BRIDGE_MM: f64 = 3.0;
/// Height over width from which a free-standing feature is named, and braced.
pub(super) const SLENDER_WATCH: f64 = 8.0;
const SLENDER_BRACE: f64 = 15.0;
/// Change of section area that draws a line one is told of, as a factor.
pub(super) const LINE_FACTOR: f64 = 2.0;
/// … further than this from bed and top, mm.
const LINE_CLEAR_MM: f64 = 1.0;
/// A layer done sooner than this is still soft under the next one, s.
pub(super) const QUICK_LAYER_S: f64 = 6.0;
/// … over at least this height, mm.
const QUICK_HEIGHT_MM: f64 = 2.0;
/// Raised islands or sunk grooves on the bed from which a face counts as detailed.
pub(super) const DETAILS: usize = 3;

/// Islands below this begin as a tip, mm².
const TIP_MM2: f64 = 1.0;

/// What the rules look at.
pub(crate) struct RuleInput<'a> {
    pub figures: &'a Figures,
    pub gates: &'a [FailedGate],
    pub part: &'a Part,
    pub settings: &'a Settings,
    pub near: &'a BedDetail,
    /// Diameters of upright bores that open on the bed, mm.
    pub bores_on_bed: &'a [f64],
    /// What stands free and is too narrow to be drawn.
    pub slivers: &'a [Stretch],
    /// The height story, where it was told.
    pub story: Option<&'a Story>,
    /// What separate bodies are, where it is told.
    pub bodies: &'a BodyRemarks,
    /// Number of places that support would spoil, with what to do there; none where it is off.
    pub kept_out: &'a Spoken,
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

pub(super) fn trapped_support(g: &RuleInput) -> (f64, String) {
    let volume_mm3 = g.figures.support_trapped_mm3;
    let volume = words::volume(volume_mm3);
    let says = format!(
        "{volume} of the support would stand in a closed cavity and cannot be removed: open the cavity in the model, or leave the support in it for good."
    );
    (volume_mm3, says)
}

pub(super) fn ledge(g: &RuleInput) -> Spoken {
    let reach_mm = g.figures.ledge_longest_mm;
    let reach = words::length(reach_mm);
    let says = format!("A ledge reaches out {reach} with one end free: its edge droops a little.");
    (!hangs(g.figures) && reach_mm <= FREE_LEDGE_MM).then_some((reach_mm, says))
}

pub(super) fn detail_on_the_bed(g: &RuleInput) -> (f64, String) {
    let (islands, grooves) = (g.near.islands, g.near.grooves);
    let raised = words::count(islands, "raised spot", "raised spots");
    let sunk = words::count(grooves, "sunk spot", "sunk spots");
    let detail = match (islands, grooves) {
        (_, 0) => raised,
        (0, _) => sunk,
        _ => format!("{raised}, {sunk}"),
    };
    let says = format!(
        "The side on the bed carries detail ({detail}): the first layer presses it flat and fills it. Turn another side down if it is to be read."
    );
    ((islands + grooves) as f64, says)
}

/// Demand above which a brim is called for; see the table.
pub(super) const DEMAND: f64 = 1.0;

/// Free contraction across the base from which draught matters, mm.
pub(super) fn draught_mm(settings: &Settings) -> f64 {
    if shrinks(settings) {
        DRAUGHT_MM.0
    } else {
        DRAUGHT_MM.1
    }
}

fn shrinks(settings: &Settings) -> bool {
    settings.material.contraction() >= SHRINKER
}

/// What asks most of the base.
#[derive(Clone, Copy)]
enum Strain {
    /// The base shrinks.
    Shrinkage,
    /// It is small for the height.
    SmallBase,
    /// A slight tilt tips the part.
    Tipping,
}

/// How much the base has to hold against what it can, and why; see the table.
fn brim_demand(f: &Figures) -> (f64, Strain) {
    let pull = f.shrink_pull_mm / PULL_MM;
    let sway = (1.0 + f.sway_mm_per_n / SWAY_MM_PER_N).min(2.0);
    let small = CONTACT_PER_HEIGHT * f.height_mm / f.contact_area_mm2.max(1e-6) * sway;
    let tip = SAFE_TIP_DEG / f.tip_angle_deg.max(0.5);
    [
        (pull, Strain::Shrinkage),
        (small, Strain::SmallBase),
        (tip, Strain::Tipping),
    ]
    .into_iter()
    .reduce(|a, b| if b.0 > a.0 { b } else { a })
    .unwrap_or((0.0, Strain::Shrinkage))
}

/// Width of the brim for a demand, whole mm; 0 for none.
pub(super) fn brim_mm(demand: f64) -> f64 {
    if demand > DEMAND {
        (BRIM_MM.0 * (1.0 + libm::log(demand)))
            .round()
            .clamp(BRIM_MM.0, BRIM_MM.1)
    } else {
        0.0
    }
}

pub(super) fn brim(g: &RuleInput) -> Spoken {
    let f = g.figures;
    if !g.gates.is_empty() {
        return None;
    }
    let (demand, why) = brim_demand(f);
    let (contact, tall) = (words::area(f.contact_area_mm2), words::length(f.height_mm));
    let hold = format!("{contact} hold {tall} of height");
    let wide = brim_mm(demand);
    if wide == 0.0 {
        return Some((demand, format!("No brim: {hold}.")));
    }
    let why = match why {
        Strain::Shrinkage => format!(
            "{} would shrink {} across this base if it were free, and that lifts the ends",
            g.settings.material.name,
            words::length(f.shrink_pull_mm)
        ),
        Strain::Tipping => format!(
            "a tilt of {} tips it",
            words::degrees(f.tip_angle_deg.max(0.0))
        ),
        Strain::SmallBase => format!("only {hold}"),
    };
    Some((demand, format!("Brim {} wide: {why}.", words::length(wide))))
}

pub(super) fn draught(g: &RuleInput) -> Spoken {
    let material = g.settings.material;
    let pull = g.figures.shrink_pull_mm;
    let what = if shrinks(g.settings) {
        "Print it in a closed, warm machine and let it cool on the bed"
    } else {
        "Keep draught off it"
    };
    let (name, alpha) = (&material.name, words::three(material.alpha_e6_per_k));
    let [from, to] = material.alpha_range_e6_per_k.map(words::three);
    let percent = words::decimal(100.0 * material.contraction(), 2);
    let says = format!(
        "{what}: {name} contracts {percent} % on cooling, {} across this base (α {alpha}, seen {from} to {to}, × 10⁻⁶/K).",
        words::length(pull)
    );
    g.gates.is_empty().then_some((pull, says))
}

pub(super) fn starts(g: &RuleInput) -> Spoken {
    let starts = &g.figures.floating_starts;
    let first = starts.first()?;
    let largest = starts.iter().map(|s| s.area_mm2).fold(0.0, f64::max);
    let (n, z) = (starts.len(), words::length(first.z_mm));
    // A tip has no area worth the name where it begins.
    let area = (largest >= TIP_MM2).then(|| words::area(largest));
    let text = if n == 1 {
        let of = area.map_or_else(String::new, |area| format!(" of {area}"));
        format!(
            "At z = {z} a piece{of} begins in the air: without support under it the print is lost there."
        )
    } else {
        let of = area.map_or_else(String::new, |area| format!(", the largest {area}"));
        format!(
            "{n} pieces begin in the air, the first at z = {z}{of}: without support under them they are lost."
        )
    };
    Some((n as f64, text))
}

pub(super) fn bridging(g: &RuleInput) -> Spoken {
    let over: Vec<&Bridge> = spans::held(g.figures, g.settings)
        .filter(|b| b.span_mm > WATCH_BRIDGE_MM)
        .collect();
    let longest = spans::longest(over.iter().copied())?.span_mm;
    let all = spans::all(&over)?;
    let bridges = if over.len() == 1 { "bridge" } else { "bridges" };
    let says = format!(
        "Watch the {bridges} ({all}): full fan, and no faster than your machine bridges well."
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

pub(super) fn line(g: &RuleInput) -> Spoken {
    let top = g.figures.height_mm - LINE_CLEAR_MM;
    let jump = g
        .story?
        .jumps
        .iter()
        .filter(|j| j.ratio() >= LINE_FACTOR && j.z_mm > LINE_CLEAR_MM && j.z_mm < top)
        .reduce(|a, b| {
            let change = |j: &Jump| (j.to_mm2 - j.from_mm2).abs();
            if change(b) > change(a) { b } else { a }
        })?;
    let [from, to] = [jump.from_mm2, jump.to_mm2].map(words::area);
    let says = format!(
        "A line may show on the sides at z = {}: the section goes from {from} to {to} there, and with it time and shrinkage of a layer.",
        words::length(jump.z_mm)
    );
    Some((jump.ratio(), says))
}

pub(super) fn quick_layers(g: &RuleInput) -> Spoken {
    let story = g.story?;
    let s = g.settings;
    let seconds = |area: f64| area * s.layer_mm / s.rate_mm3_s + s.layer_change_s;
    // Nothing is printed of a layer of slivers.
    let slivers = |z: f64| {
        g.slivers
            .iter()
            .filter(|s| s.from_mm < z && z < s.to_mm)
            .count()
    };
    let layers: Vec<(f64, f64)> = (story.z_mm.iter().zip(&story.area_mm2).zip(&story.pieces))
        .map(|((&z, &area), &n)| (z, if slivers(z) == n as usize { 0.0 } else { area }))
        .collect();
    // The highest run of quick layers.
    let quick = |&(_, area): &(f64, f64)| area > 0.0 && seconds(area) < QUICK_LAYER_S;
    let (from, to, least) = (layers.chunk_by(|a, b| quick(a) == quick(b)))
        .filter(|run| quick(&run[0]))
        .map(|run| {
            let times = run.iter().map(|l| seconds(l.1));
            let least = times.fold(f64::INFINITY, f64::min);
            (run[0].0, run[run.len() - 1].0, least)
        })
        .max_by(|a, b| (a.1 - a.0).total_cmp(&(b.1 - b.0)))
        .filter(|run| run.1 - run.0 >= QUICK_HEIGHT_MM)?;
    let whole = from <= s.first_layer_mm && to >= g.figures.height_mm - s.layer_mm;
    let (from, to) = (words::decimal(from, 1), words::length(to));
    let place = if whole {
        "Every layer is".to_string()
    } else {
        format!("From z = {from} to {to} a layer is")
    };
    let says = format!(
        "{place} done in as little as {} s and still soft under the next one: print two at once, or let the machine slow down.",
        words::decimal(least, 0)
    );
    Some((least, says))
}

pub(super) fn bores(g: &RuleInput) -> Spoken {
    let mut sizes = g.bores_on_bed.to_vec();
    sizes.sort_by(f64::total_cmp);
    let n = sizes.len();
    if n == 0 || !g.gates.is_empty() {
        return None;
    }
    sizes.dedup_by(|a, b| (*a - *b).abs() < 0.05);
    let listed = sizes.iter().take(4).map(|d| words::decimal(*d, 2));
    let listed = words::joined(listed, ", ");
    let count = words::count(n, "bore opens", "bores open");
    let more = if sizes.len() > 4 { " …" } else { "" };
    let them = if n == 1 { "it" } else { "them" };
    let says = format!(
        "{count} on the bed without a chamfer (Ø {listed}{more} mm): the first layer presses {them} 0.1–0.3 mm narrower. Where something has to fit, ream or model a chamfer of 0.4 mm."
    );
    Some((n as f64, says))
}
