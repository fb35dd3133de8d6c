//! What the bed and the first layer ask for.

use super::{RuleInput, Spoken};
use crate::figures::Figures;
use crate::figures::bed_detail::Openings;
use crate::figures::feet::Foot;
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
/// Raised islands or sunk grooves on the bed from which a face counts as detailed.
pub(in super::super) const DETAILS: usize = 3;
/// Demand above which a brim is called for; see the table.
pub(in super::super) const DEMAND: f64 = 1.0;
/// Diameters that agree to this share are those of one hole.
const SAME_ROUND: f64 = 0.05;
/// … and one drawn with few corners leaves no less than this share of its width clear: of 6 sides 0.87.
const COARSE: f64 = 0.86;
/// Sizes of holes that are listed.
const MOST_SIZES: usize = 4;

/// What asks most of the base.
#[derive(Clone, Copy)]
enum Strain {
    /// The base shrinks.
    Shrinkage,
    /// It is small for the height.
    SmallBase,
    /// A slight tilt tips the part.
    Tipping,
    /// One of several feet is small for the height that it stands alone.
    Foot(Foot),
}

/// How much the base has to hold against what it can, and why; see the table. What is asked
/// of the base as a whole first, then the same with each foot.
fn demands(g: &RuleInput) -> [(f64, Strain); 2] {
    let f = g.figures;
    let pull = if g.settings.material.lifts() {
        f.base_shrinkage_mm / PULL_MM
    } else {
        0.0
    };
    let sway = (1.0 + f.sway_mm_per_n / SWAY_MM_PER_N).min(2.0);
    let small = CONTACT_PER_HEIGHT * f.height_mm / f.contact_area_mm2.max(1e-6) * sway;
    let tip = SAFE_TIP_DEG / f.held_tip_deg().max(0.5);
    let larger = |a: (f64, Strain), b: (f64, Strain)| if b.0 > a.0 { b } else { a };
    let whole = [(small, Strain::SmallBase), (tip, Strain::Tipping)];
    let whole = (whole.into_iter()).fold((pull, Strain::Shrinkage), larger);
    // Bodies that run in each other hold each other.
    let foot = g.traits.foot.filter(|_| g.bodies.in_place.is_none());
    let foot = foot.map(|foot| {
        let demand = CONTACT_PER_HEIGHT * foot.alone_mm / foot.area_mm2.max(1e-6);
        (demand, Strain::Foot(foot))
    });
    [whole, foot.map_or(whole, |foot| larger(whole, foot))]
}

/// Width of the brim for a demand, whole mm; 0 for none.
pub(in super::super) fn width_mm(demand: f64) -> f64 {
    if demand > DEMAND {
        (BRIM_MM.0 * (1.0 + libm::log(demand)))
            .round()
            .clamp(BRIM_MM.0, BRIM_MM.1)
    } else {
        0.0
    }
}

/// Share of the contact area below which a part hardly lies flat (house value).
pub(in super::super) const FLAT_SHARE: f64 = 0.1;

/// Edges and roundings on the bed: there is hardly a first layer.
pub(in super::super) fn edges(g: &RuleInput) -> Spoken {
    let deep = words::length(g.settings.layer_mm);
    let says = format!(
        "Sink the part {deep} into the bed, or cut a flat: it stands on edges or roundings, and hardly any of it lies flat."
    );
    let share = g.traits.flat_share.filter(|_| g.gates.is_empty())?;
    Some((share, says))
}

/// Whether a brim is called for.
pub(super) fn has_brim(g: &RuleInput) -> bool {
    g.gates.is_empty() && demands(g)[1].0 > DEMAND
}

pub(in super::super) fn brim(g: &RuleInput) -> Spoken {
    let f = g.figures;
    if !g.gates.is_empty() {
        return None;
    }
    let [(whole, _), (demand, why)] = demands(g);
    let (contact, tall) = (words::area(f.contact_area_mm2), words::length(f.height_mm));
    let wide = width_mm(demand);
    let (mut place, why) = match why {
        Strain::Shrinkage => {
            let pull = words::length(f.base_shrinkage_mm);
            let name = &g.settings.material.name;
            let says =
                format!("{name} shrinks by up to {pull} across this base and lifts its ends");
            (String::new(), says)
        }
        Strain::Tipping => {
            let tip = words::degrees(f.held_tip_deg().max(0.0));
            (String::new(), format!("a tilt of {tip} tips it"))
        }
        Strain::SmallBase => (
            String::new(),
            format!("only {contact} on the bed for {tall} of height"),
        ),
        Strain::Foot(foot) => standing(&foot),
    };
    // Where the part as a whole asks for one, it goes all round.
    if whole > DEMAND && !place.is_empty() {
        place = format!(", above all{place}");
    }
    Some((
        demand,
        format!("Brim {} wide{place}: {why}.", words::length(wide)),
    ))
}

/// Which feet the brim goes round, and why.
fn standing(foot: &Foot) -> (String, String) {
    let [x, y] = foot.at_mm.map(|v| words::decimal(v, 0));
    let (area, alone) = (words::area(foot.area_mm2), words::length(foot.alone_mm));
    if foot.alike == 1 {
        let place = format!(" round the foot of {area} at x {x}, y {y} from the middle");
        (place, format!("it stands alone for {alone}"))
    } else {
        let place = format!(" round {} feet", foot.alike);
        (
            place,
            format!("each has {area} on the bed and stands alone for {alone}"),
        )
    }
}

pub(in super::super) fn detail_on_the_bed(g: &RuleInput) -> (f64, String) {
    // A bore is no detail.
    let touch_mm = g.settings.touch_mm();
    let bores = g.traits.holes.iter().filter(|h| h.from_mm <= touch_mm);
    let (islands, grooves) = (g.near.islands, g.near.grooves.saturating_sub(bores.count()));
    let raised = words::count(islands, "raised spot", "raised spots");
    let sunk = words::count(grooves, "sunk spot", "sunk spots");
    let detail = match (islands, grooves) {
        (_, 0) => raised,
        (0, _) => sunk,
        _ => format!("{raised}, {sunk}"),
    };
    let says = format!(
        "Turn another side down if the detail on the bed is to be read ({detail}): the first layer squeezes it flat and fills it."
    );
    ((islands + grooves) as f64, says)
}

pub(in super::super) fn bores(g: &RuleInput) -> Spoken {
    let touch_mm = g.settings.touch_mm();
    let on_bed = g.traits.holes.iter().filter(|h| h.from_mm <= touch_mm);
    let mut on_bed: Vec<f64> = on_bed.map(|h| h.diameter_mm).collect();
    let Openings {
        round_mm,
        shaped_mm: shaped,
    } = &g.near.openings;
    on_bed.extend(beyond(&on_bed, round_mm));
    let count = on_bed.len() + shaped.len();
    if count == 0 || !g.gates.is_empty() {
        return None;
    }
    let holes = match count {
        1 => "the hole".into(),
        n => format!("{n} holes"),
    };
    let round = (!on_bed.is_empty()).then(|| diameters(&on_bed));
    let wide = (!shaped.is_empty()).then(|| format!("{} wide", listed(shaped)));
    let sizes = words::joined(round.into_iter().chain(wide), "; ");
    let says = format!(
        "Set first-layer compensation to about 0.2 mm: the first layer squeezes {holes} on the bed narrower ({sizes})."
    );
    Some((count as f64, says))
}

/// Round openings beyond the holes that are known: walls that no bore is found in, of twisted facets or
/// with a cross hole say, leave a round opening all the same.
pub(super) fn beyond(known: &[f64], round_mm: &[f64]) -> Vec<f64> {
    let mut known = known.to_vec();
    let is_new = |round: &&f64| {
        let same = |d: &f64| {
            (d - *round).abs() <= SAME_ROUND * *round || (COARSE * **round..**round).contains(d)
        };
        let at = known.iter().position(same);
        if let Some(at) = at {
            known.swap_remove(at);
        }
        at.is_none()
    };
    round_mm.iter().filter(is_new).copied().collect()
}

/// "Ø 4.5, 5 mm".
pub(super) fn diameters(sizes: &[f64]) -> String {
    format!("Ø {}", listed(sizes))
}

/// Sizes no further apart are one, mm: two readings of a calliper.
const ONE_SIZE_MM: f64 = 0.1;

/// "4.5, 5 mm": each size once, a few of them.
fn listed(sizes: &[f64]) -> String {
    let mut sizes = sizes.to_vec();
    sizes.sort_by(f64::total_cmp);
    sizes.dedup_by(|a, b| *a - *b < ONE_SIZE_MM);
    let sizes: Vec<String> = sizes.iter().map(|d| words::decimal(*d, 1)).collect();
    let listed = words::joined(sizes.iter().take(MOST_SIZES).cloned(), ", ");
    let more = if sizes.len() > MOST_SIZES { " …" } else { "" };
    format!("{listed}{more} mm")
}

/// Free contraction across the base from which draught matters: of a material that warps,
/// and of any, mm.
const DRAUGHT_MM: (f64, f64) = (0.3, 0.6);

/// The threshold of a material.
pub(in super::super) fn draught_mm(settings: &Settings) -> f64 {
    if settings.material.warps() {
        DRAUGHT_MM.0
    } else {
        DRAUGHT_MM.1
    }
}

pub(in super::super) fn draught(g: &RuleInput) -> Spoken {
    let f: &Figures = g.figures;
    let material = g.settings.material;
    // A brim against shrinkage says how much of it there is; draughts are no more than that.
    let [_, (demand, why)] = demands(g);
    if !material.warps() && demand > DEMAND && matches!(why, Strain::Shrinkage) {
        return None;
    }
    let what = if material.warps() {
        "Print it in a closed, warm machine and let it cool on the bed"
    } else {
        "Keep it out of draughts"
    };
    let (name, pull) = (&material.name, words::length(f.base_shrinkage_mm));
    let percent = words::decimal(100.0 * material.contraction(), 1);
    let says =
        format!("{what}: {name} contracts by {percent} % as it cools, {pull} across this base.");
    (g.gates.is_empty() && material.lifts()).then_some((f.base_shrinkage_mm, says))
}
