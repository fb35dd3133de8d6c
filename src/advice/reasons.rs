//! Why a pose stands where it stands, in sentences with the numbers in them.
//!
//! The first sentences say how the pose lies and what holds it up. The next are
//! built from the largest differences between its penalties and those of the pose
//! it is compared with. Rows of the table that are about one thing (overhang,
//! support and its marks, say) are added up and spoken of once.

mod clauses;

use crate::advice::share::are_twins;
use crate::advice::spans;
use crate::advice::support::{hangs, needs_support, spare};
use crate::advice::verdict::Bulk;
use crate::figures::{Bridge, CeilingHole, Figures};
use crate::rank::search::Scored;
use crate::rank::{FailedGate, Origin};
use crate::settings::Settings;
use crate::settings::weights::Penalty;
use crate::words;
use clauses::{clause, is_ample, matter};
use std::ops::Range;

/// Differences smaller than this are not worth a sentence, in units of penalty.
const WORTH_SAYING: f64 = 0.15;

/// Bridges from this span and area on are counted in words, mm and mm²: below, all print.
const TOLD_SPAN_MM: f64 = 3.0;
const TOLD_AREA_MM2: f64 = 10.0;

/// A pose whose total is larger than the first's by more than this is no rival: of two so far
/// apart people would choose the better one 95 times in a hundred.
pub(crate) const FAR_BEHIND: f64 = 3.0;
/// A pose with less than this share of the contact hardly touches the bed (house value).
const HARDLY_TOUCHES: f64 = 0.1;

/// A difference that is so many times the next largest decides nearly alone (house value).
const DECIDES: f64 = 2.0;

/// Support beyond this share of the part's volume ends the talk about a pose.
const HOPELESS_SHARE: f64 = 0.5;

/// What is said of a pose.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Reasons {
    /// Everything, a sentence each.
    pub full: Vec<String>,
    /// What some of them are there for.
    pub roles: Roles,
    /// The gist in one line.
    pub brief: String,
}

/// What the sentences on a pose are there for, by their places.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Roles {
    /// Those that the verdict says too of the first pose: how it lies, what holds it up.
    pub headline: Range<usize>,
    /// The one that says what the pose costs against its rival.
    pub cost: Option<usize>,
    /// The gist says what speaks for it.
    pub has_gain: bool,
}

/// A matter with the difference of its penalties, the other's less this one's. Rows of
/// one matter that pull apart stand for themselves: its gains and its losses.
type Difference = (usize, f64);

/// Sentences for one entry. `rival` is the runner-up for the first place, the
/// first place for all others; `None` with a single pose. A rival that fails a gate is not
/// spoken of.
pub fn reasons(
    entry: &Scored,
    rank: usize,
    rival: Option<(&Scored, usize)>,
    bulk: Bulk,
    settings: &Settings,
) -> Reasons {
    let f = &entry.figures;
    let gates = entry.candidate.gates.iter();
    let gates: Vec<String> = gates.map(|g| gate(*g, entry, settings)).collect();
    if rank > 1 && !gates.is_empty() {
        return Reasons {
            brief: gates.join(" "),
            full: gates,
            roles: Roles::default(),
        };
    }
    let share = f.support_needed_mm3 / bulk.mm3;
    if rank > 1 && needs_support(f, settings) && share > HOPELESS_SHARE {
        let support = words::volume(f.support_needed_mm3);
        let share = bulk.share(f.support_needed_mm3);
        let share = share.unwrap_or_else(|| "much for its size".into());
        let brief = format!("Needs {support} of support, {share}.");
        return Reasons {
            full: vec![lies(entry), brief.clone()],
            roles: Roles {
                headline: 0..2,
                ..Roles::default()
            },
            brief,
        };
    }
    let mut full = gates;
    let mut roles = Roles {
        headline: full.len()..full.len() + 2,
        ..Roles::default()
    };
    full.push(lies(entry));
    full.push(holds(f, settings));
    if let Some(load) = f.load_across_layers {
        full.push(format!(
            "{} % of the load acts across the layers, where a print is weakest.",
            words::decimal(100.0 * load, 0)
        ));
    }
    let mut brief = words::joined(full.iter().take(2), " ");
    // A pose that cannot be printed is no alternative to one that can, nor to another.
    if let Some((rival, rival_rank)) = rival.filter(|(r, _)| r.candidate.gates.is_empty()) {
        let mut rows = differences(entry, rival);
        let spare_contact = without_spare_contact(&mut rows, entry, rival);
        let comparison = Comparison {
            here: entry,
            rank,
            there: rival,
            rival_rank,
            rows,
            spare_contact,
            settings,
        };
        let (said, at) = comparison.against();
        roles.cost = at.map(|at| full.len() + at);
        full.extend(said);
        if rank > rival_rank {
            (brief, roles.has_gain) = comparison.one_line();
        }
    }
    Reasons { full, roles, brief }
}

fn gate(gate: FailedGate, entry: &Scored, settings: &Settings) -> String {
    let f = &entry.figures;
    match gate {
        FailedGate::DoesNotFit => {
            let [x, y, z] = settings.bed_mm.map(words::three);
            let [wide, deep] = f.footprint_mm.map(words::length);
            let tall = words::length(f.height_mm);
            format!(
                "Does not fit the build volume of {x} × {y} × {z} mm at any yaw: it is {wide} × {deep} and {tall} tall."
            )
        }
        FailedGate::NoContact => "Touches the bed only at a point or an edge.".into(),
        FailedGate::Tips => format!(
            "Falls over by itself: its centre of mass is {} outside its base.",
            words::degrees(-f.tip_angle_deg)
        ),
    }
}

fn lies(entry: &Scored) -> String {
    let f = &entry.figures;
    let side = words::side(&entry.candidate.down);
    let area = words::area(f.contact_area_mm2);
    let tall = words::length(f.height_mm);
    let patches = f.contact_patches as usize;
    let plain = !matches!(entry.candidate.origin, Origin::Lattice | Origin::Refined);
    if plain && patches <= 1 {
        format!("Lies on its {side}: {area} on the bed, {tall} tall.")
    } else {
        format!(
            "Stands on its {side}: {area} on the bed in {}, {tall} tall.",
            words::count(patches, "piece", "pieces")
        )
    }
}

fn holds(f: &Figures, settings: &Settings) -> String {
    let limit = words::degrees(settings.limit_deg);
    if needs_support(f, settings) {
        let [volume, area] = [
            words::volume(f.support_needed_mm3),
            words::area(f.overhang_needed_mm2()),
        ];
        return format!("Needs {volume} of support under {area} that leans beyond {limit}.");
    }
    // What is left to itself is told with what to do.
    if hangs(f) && spare(f, settings) {
        return "Needs no support.".into();
    }
    let wide = |b: &&Bridge| b.span_mm >= TOLD_SPAN_MM && b.area_mm2 >= TOLD_AREA_MM2;
    let held: Vec<&Bridge> = spans::held(f, settings).filter(wide).collect();
    let longest = spans::longest(held.iter().copied()).map(|b| spans::one(b, f));
    let mut ceilings: Vec<String> = Vec::new();
    ceilings.extend(longest.map(|longest| match held.len() {
        1 => format!("one bridge of {longest}"),
        n => format!("{n} bridges, the longest {longest}"),
    }));
    ceilings.extend(around_holes(&spans::rings(f, settings)));
    let [light, all] = [f.overhang_light_mm2, f.overhang_area_mm2].map(words::area);
    let why = if !ceilings.is_empty() {
        ceilings.join("; ")
    } else if f.overhang_light_mm2 > 0.5 {
        format!(
            "the {light} beyond {limit} are short bridges, roofs of small bores and short cantilevers"
        )
    } else if f.overhang_area_mm2 > 0.5 {
        format!("the {all} beyond {limit} lie within a layer of what is below")
    } else {
        format!("nothing leans beyond {limit}")
    };
    format!("Needs no support: {why}.")
}

/// Ceilings that are a ring around a hole, as part of a sentence.
fn around_holes(rings: &[(f64, CeilingHole)]) -> Option<String> {
    let z: Vec<f64> = rings.iter().map(|r| r.0).collect();
    let at = spans::heights(&z);
    match rings {
        [] => None,
        [(_, hole)] if hole.count == 1 => {
            let wide = spans::mm(hole.width_mm);
            Some(format!(
                "one ceiling ({at}) is a ring around a hole of {wide}"
            ))
        }
        [_] => Some(format!("one ceiling ({at}) has holes in it")),
        _ => Some(format!(
            "{} ceilings ({at}) are rings around holes",
            rings.len()
        )),
    }
}

/// What sets two poses apart, the largest difference first.
fn differences(entry: &Scored, rival: &Scored) -> Vec<Difference> {
    let mut sums: Vec<Difference> = Vec::new();
    for (row, (here, there)) in
        (Penalty::ALL.into_iter()).zip(entry.charges.iter().zip(&rival.charges))
    {
        let m = matter(row);
        let d = there - here;
        let same = |s: &&mut Difference| s.0 == m && (s.1 > 0.0) == (d > 0.0);
        if let Some(sum) = sums.iter_mut().find(same) {
            sum.1 += d;
        } else {
            sums.push((m, d));
        }
    }
    sums.retain(|s| s.1.abs() >= WORTH_SAYING);
    sums.sort_by(|a, b| b.1.abs().total_cmp(&a.1.abs()).then(a.0.cmp(&b.0)));
    sums
}

/// Takes the contact out of what sets two poses apart where both have more than they need.
/// Whether there was something to take out.
fn without_spare_contact(rows: &mut Vec<Difference>, here: &Scored, there: &Scored) -> bool {
    let (count, contact) = (rows.len(), matter(Penalty::Contact));
    let of = |is_contact: bool| {
        let rows = rows.iter().filter(|r| (r.0 == contact) == is_contact);
        rows.map(|r| r.1.abs()).fold(0.0, f64::max)
    };
    // Where it decides nearly alone, the rest would be a pretext.
    let decides = of(false) > 0.0 && of(true) > DECIDES * of(false);
    if is_ample(&here.figures) && is_ample(&there.figures) && !decides {
        rows.retain(|r| r.0 != contact);
    }
    rows.len() < count
}

/// A pose at its rank beside another at that one's.
struct Comparison<'a> {
    here: &'a Scored,
    rank: usize,
    there: &'a Scored,
    rival_rank: usize,
    rows: Vec<Difference>,
    /// Contact sets them apart too, but both have enough.
    spare_contact: bool,
    settings: &'a Settings,
}

impl Comparison<'_> {
    /// Clauses of the matters on one side, largest first. What the table does not show is told
    /// only where it makes the largest difference.
    fn clauses(&self, better: bool, most: usize) -> Vec<String> {
        (self.rows.iter())
            .filter(|r| (r.1 > 0.0) == better)
            .take(most)
            .filter_map(|r| clause(r.0, better, self.here, self.there, self.settings))
            .enumerate()
            .filter(|(k, said)| *k == 0 || said.is_known)
            .map(|(_, said)| said.says)
            .collect()
    }

    /// Sentences, and which of them says what the pose costs.
    fn against(&self) -> (Vec<String>, Option<usize>) {
        let side = words::side_down(&self.there.candidate.down);
        let other = format!("pose {} ({side})", self.rival_rank);
        let (better, worse) = (self.clauses(true, 3), self.clauses(false, 3));
        if better.is_empty() && worse.is_empty() && self.spare_contact {
            let [here, there] = self.contact();
            let only = format!(
                "Little but contact sets it apart from {other}: {here} instead of {there}, and both have enough."
            );
            return (vec![only], None);
        }
        if better.is_empty() && worse.is_empty() {
            let equal = if are_twins(self.here, self.there) {
                format!(
                    "Equal to {other} on every weighted figure: choose by the side that is seen."
                )
            } else {
                format!("Hardly different from {other}: choose by the side that is seen.")
            };
            return (vec![equal], None);
        }
        let ahead = self.rank < self.rival_rank;
        let said = |clauses: &[String], lead: String| {
            (!clauses.is_empty()).then(|| format!("{lead}: {}.", clauses.join("; ")))
        };
        if !ahead {
            let behind = said(&worse, format!("Worse than {other}"));
            let behind = behind.or_else(|| self.by_contact("Worse than", &other));
            let speaks = said(&better, "Better than there".into());
            return (behind.into_iter().chain(speaks).collect(), None);
        }
        if self.there.total - self.here.total > FAR_BEHIND {
            // Nobody weighs a pose that hardly touches the bed.
            let [here, there] = [self.here, self.there].map(|s| s.figures.contact_area_mm2);
            if there < HARDLY_TOUCHES * here {
                let [here, there] = self.contact();
                let only = format!(
                    "No other pose comes near: {other} has {there} on the bed instead of {here}."
                );
                return (vec![only], None);
            }
            // Where the other needs less support, that is weighed.
            let support = matter(Penalty::Support);
            let has_less = self.rows.iter().any(|r| r.0 == support && r.1 < 0.0);
            if worse.is_empty() || !has_less {
                let better = &better[..better.len().min(2)];
                let ahead = said(better, format!("No other pose comes near. Against {other}"));
                return (ahead.into_iter().collect(), None);
            }
        }
        let mut out = Vec::from_iter(said(&better, format!("Better than {other}")));
        if better.is_empty() {
            out.extend(self.by_contact("Better than", &other));
        }
        let cost = (!worse.is_empty()).then_some(out.len());
        out.extend(said(&worse, format!("Worse than pose {}", self.rival_rank)));
        (out, cost)
    }

    /// The contact of both.
    fn contact(&self) -> [String; 2] {
        let [here, there] = [self.here, self.there].map(|s| s.figures.contact_area_mm2);
        words::areas_compared(here, there)
    }

    /// That contact alone decides between the two, where both have enough of it and it does.
    fn by_contact(&self, lead: &str, other: &str) -> Option<String> {
        let contact = |s: &Scored| s.figures.contact_area_mm2;
        let more = contact(self.here) > contact(self.there);
        let decides = self.spare_contact && more == (self.rank < self.rival_rank);
        let [here, there] = self.contact();
        decides.then(|| {
            format!(
                "{lead} {other} by contact alone ({here} instead of {there}), and both have enough."
            )
        })
    }

    /// One line on a pose further down: what it needs, and what speaks for it, if anything does.
    fn one_line(&self) -> (String, bool) {
        let mut worse = self.clauses(false, 2).join("; ");
        if worse.is_empty()
            && let Some(says) = self.by_contact("Worse than", &format!("pose {}", self.rival_rank))
        {
            return (says, false);
        }
        if worse.is_empty() {
            let says = if are_twins(self.here, self.there) {
                format!(
                    "Equal to pose {} on every weighted figure.",
                    self.rival_rank
                )
            } else {
                format!("Hardly different from pose {}.", self.rival_rank)
            };
            return (says, false);
        }
        if let Some(first) = worse.get(..1).map(str::to_uppercase) {
            worse.replace_range(..1, &first);
        }
        let better = self.clauses(true, 1);
        let speaks = better.first().map(|clause| format!(" Better: {clause}."));
        let has_gain = speaks.is_some();
        (format!("{worse}.{}", speaks.unwrap_or_default()), has_gain)
    }
}

#[cfg(test)]
mod tests;
