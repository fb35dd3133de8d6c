//! The verdict in one or two sentences, and when no pose of a part is good.

use crate::advice::share::are_twins;
use crate::advice::spans;
use crate::advice::support::{SHUT_MM3, WATCH_BRIDGE_MM, held_mm3, needs_support, on_mm3};
use crate::figures::Figures;
pub use crate::figures::quick::{CONTACT_PER_HEIGHT, TIP_DEG};
use crate::mesh::Part;
use crate::rank::penalties::{is_volume_known, volume_mm3};
use crate::rank::search::{Scored, angle_deg};
use crate::rank::{Confidence, FailedGate};
use crate::settings::Settings;
use crate::words;

/// Support beyond this share of the part's own volume is no good pose (house value).
pub const SUPPORT_SHARE: f64 = 0.4;
/// … and beyond this volume, mm³: a thimble, whatever the part.
pub const SUPPORT_LEAST_MM3: f64 = 500.0;
/// A second pose that fewer makers would choose is not close, as a share (house value).
const FEW: f64 = 0.15;
/// Support this many times that of another pose sets the two apart, from so many mm³ on (house
/// values).
const SEVERAL: f64 = 3.0;
const WORTH_MM3: f64 = 2500.0;
/// Support up to this volume is easily cleared, mm³: a third of a matchbox …
const EASY_MM3: f64 = 8000.0;
/// …, more where it stands on the part under no more than this share of what it holds (house values).
const EASY_BELOW: f64 = 0.25;
/// Where slopes hardly beyond the limit take more than this share of the support, that is said (house value).
const MOSTLY_GENTLE: f64 = 0.5;
/// One whose total is larger by no more than this is the better choice (house value).
const NEAR: f64 = 1.0;
/// A pose without a fault whose total is larger by more than this is no way out (house value).
const TOO_DEAR: f64 = 6.0;
/// Trapped support below this share of the part is what gaps between its bodies hold (house value).
const SHUT_SHARE: f64 = 1e-3;
/// A limit of slenderness or sway that is passed by less than this factor is no fault yet (house value).
const JUST_PAST: f64 = 1.1;
/// Height over width from which a free-standing piece is no good pose (house value).
pub const SLENDER: f64 = 15.0;
/// Sway from which it is none, mm/N: two lines for a push of the nozzle (house value).
pub const SWAY_MM_PER_N: f64 = 1.0;

/// Volume of a part.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bulk {
    /// Volume, mm³; of an open surface a guess from its area.
    pub mm3: f64,
    /// The surface closes, so that a share of the volume may be told.
    pub is_measured: bool,
}

impl Bulk {
    /// That of a part.
    pub fn of(part: &Part) -> Self {
        Self {
            mm3: volume_mm3(part),
            is_measured: is_volume_known(part),
        }
    }

    /// "26 % of the part's own volume"; none where that is not known.
    pub fn share(&self, mm3: f64) -> Option<String> {
        let percent = words::decimal(100.0 * mm3 / self.mm3, 0);
        (self.is_measured).then(|| format!("{percent} % of the part's own volume"))
    }
}

/// What keeps a pose from being a good one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PoseFault {
    /// Fails a gate.
    FailedGate(FailedGate),
    /// More support than two fifths of the part.
    Support,
    /// Support that cannot be got out.
    Trapped,
    /// A free-standing piece too slender or too soft.
    Slender,
    /// Too little to stand on.
    Foot,
}

/// Everything that keeps a pose from being a good one; empty for a good pose.
pub fn faults(entry: &Scored, bulk: Bulk, settings: &Settings) -> Vec<PoseFault> {
    let f = &entry.figures;
    let gates = entry.candidate.gates.iter().copied();
    let mut out: Vec<PoseFault> = gates.map(PoseFault::FailedGate).collect();
    if is_much(f, bulk, settings) && !is_easy(f, bulk) {
        out.push(PoseFault::Support);
    }
    if f.support_trapped_mm3 > SHUT_MM3.max(SHUT_SHARE * bulk.mm3) {
        out.push(PoseFault::Trapped);
    }
    if sways(f) {
        out.push(PoseFault::Slender);
    }
    let little = f.contact_area_mm2 < CONTACT_PER_HEIGHT * f.height_mm;
    if entry.candidate.gates.is_empty() && (f.held_tip_deg() < TIP_DEG || little) {
        out.push(PoseFault::Foot);
    }
    out
}

/// Everything that a change of the part would be good for: its faults, and much support even where
/// that comes off easily.
pub fn to_mend(entry: &Scored, bulk: Bulk, settings: &Settings) -> Vec<PoseFault> {
    let mut out = faults(entry, bulk, settings);
    if is_much(&entry.figures, bulk, settings) && !out.contains(&PoseFault::Support) {
        out.push(PoseFault::Support);
    }
    out
}

/// Whether support is needed, and much of it for the size of the part.
fn is_much(f: &Figures, bulk: Bulk, settings: &Settings) -> bool {
    let much = SUPPORT_LEAST_MM3.max(SUPPORT_SHARE * bulk.mm3);
    needs_support(f, settings) && held_mm3(f) > much
}

/// Whether what support there is comes off: it is little, or no more than the part and stands on the
/// bed for the most part.
fn is_easy(f: &Figures, bulk: Bulk) -> bool {
    let on_bed = f.support_marks_mm2.below <= EASY_BELOW * f.overhang_needed_mm2();
    let most_mm3 = if on_bed {
        EASY_MM3.max(bulk.mm3)
    } else {
        EASY_MM3
    };
    held_mm3(f) <= most_mm3
}

/// Whether a free-standing piece is too slender or too soft.
pub fn sways(f: &Figures) -> bool {
    f.slender_ratio >= JUST_PAST * SLENDER || f.sway_mm_per_n >= JUST_PAST * SWAY_MM_PER_N
}

/// A fault in words, with its figure and the threshold.
pub fn in_words(fault: PoseFault, f: &Figures, bulk: Bulk) -> String {
    match fault {
        PoseFault::FailedGate(FailedGate::DoesNotFit) => "it does not fit the bed".into(),
        PoseFault::FailedGate(FailedGate::NoContact) => {
            "it touches the bed only at a point or an edge".into()
        }
        PoseFault::FailedGate(FailedGate::Tips) => "it falls over by itself".into(),
        PoseFault::Support => {
            let support = words::volume(f.support_needed_mm3);
            match bulk.share(f.support_needed_mm3) {
                Some(share) => {
                    format!("it needs {support} of support, {share} (good: up to two fifths)")
                }
                None => format!("it needs {support} of support, much for its size"),
            }
        }
        PoseFault::Trapped => {
            let shut = words::volume(f.support_trapped_mm3);
            format!("{shut} of trapped support could not be removed")
        }
        PoseFault::Slender => slender(f),
        PoseFault::Foot => foot(f),
    }
}

/// What is too slender, what sways too far, or both: they may be two features.
fn slender(f: &Figures) -> String {
    let thin = (f.slender_ratio >= SLENDER).then(|| {
        let size = f.slender.map_or_else(String::new, |s| {
            let [tall, wide] = [s.to_mm - s.from_mm, s.width_mm].map(words::length);
            format!(" ({tall} tall, {wide} wide)")
        });
        let ratio = words::decimal(f.slender_ratio, 0);
        format!(
            "a feature stands free at a slenderness of {ratio} : 1{size} (good: below {SLENDER})"
        )
    });
    let soft = (f.sway_mm_per_n >= SWAY_MM_PER_N).then(|| {
        let sway = words::three(f.sway_mm_per_n);
        format!("a free tip sways {sway} mm under 1 N (good: below {SWAY_MM_PER_N})")
    });
    words::joined(thin.into_iter().chain(soft), ", and ")
}

/// What is wrong with the base: the contact, the tipping angle, or both.
fn foot(f: &Figures) -> String {
    let least_mm2 = CONTACT_PER_HEIGHT * f.height_mm;
    let little = (f.contact_area_mm2 < least_mm2).then(|| {
        format!(
            "{} of contact is too little for {} of height (good: from {})",
            words::area(f.contact_area_mm2),
            words::length(f.height_mm),
            words::area(least_mm2.ceil())
        )
    });
    let tips = (f.held_tip_deg() < TIP_DEG).then(|| {
        if f.held_tip_deg() <= 0.0 {
            return "it leans off its base until support holds it".into();
        }
        format!(
            "it tips at {} (good: from {TIP_DEG}°)",
            words::degrees(f.held_tip_deg())
        )
    });
    words::joined(little.into_iter().chain(tips), ", and ")
}

/// The pose that a verdict tells of last.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum LastNamed {
    /// The first alone.
    First,
    /// The best one without a fault.
    Faultless,
    /// The second.
    Second,
}

/// What a verdict is given on.
pub struct Judgement<'a> {
    /// Poses that it rests on, the best first.
    pub judged: &'a [Scored],
    /// The pose of the file.
    pub stored: &'a Scored,
    /// The best of those judged without a fault.
    pub faultless: Option<&'a Scored>,
    /// A pose that only the size of the bed rules out, where it is much better than the first.
    pub larger_bed: Option<&'a Scored>,
    /// How sure the first place is.
    pub confidence: Confidence,
    /// Share of the makers who would choose the second pose, where that is known.
    pub second_share: Option<f64>,
    /// Room under slopes of the first pose that print without support, mm³.
    pub gentle_mm3: f64,
    /// Volume of the part.
    pub bulk: Bulk,
    /// Length of a part that is no larger than a line or two.
    pub crumb_mm: Option<f64>,
    /// Settings in force.
    pub settings: &'a Settings,
}

impl Judgement<'_> {
    /// Whether the best pose without a fault costs too much in other ways to be a way out.
    pub fn is_too_dear(&self) -> bool {
        (self.judged.first().zip(self.faultless))
            .is_some_and(|(first, other)| other.total - first.total > TOO_DEAR)
    }

    /// What is said of the second pose, a blank before it; nothing where it is far behind.
    fn second(&self) -> String {
        let pair = self.judged.first().zip(self.judged.get(1));
        let Some((first, second)) = pair.filter(|p| p.1.candidate.gates.is_empty()) else {
            return String::new();
        };
        let side = words::side_down(&second.candidate.down);
        let apart = support_apart(first, second, self.settings);
        let few = self.second_share.is_some_and(|s| s < FEW);
        match (self.confidence, apart) {
            _ if are_twins(first, second) => format!(" The {side} is practically equal."),
            (Confidence::Close, _) if few => String::new(),
            (Confidence::Tied | Confidence::Close, Some(support)) => {
                format!(" The {side} comes next, with {support}.")
            }
            (Confidence::Tied, None) => format!(" A toss-up with the {side}."),
            (Confidence::Close, None) => format!(" Close: the {side} comes next."),
            (Confidence::Clear, _) => String::new(),
        }
    }

    /// Whether the first pose has a fault and another one is named that has none.
    fn names_faultless(&self) -> bool {
        let has_fault = |first: &Scored| !faults(first, self.bulk, self.settings).is_empty();
        self.faultless.is_some() && self.judged.first().is_some_and(has_fault)
    }

    /// The pose that the verdict tells of last.
    pub(super) fn last_named(&self) -> LastNamed {
        if !self.second().is_empty() {
            LastNamed::Second
        } else if self.names_faultless() {
            LastNamed::Faultless
        } else {
            LastNamed::First
        }
    }

    /// A few sentences: which side down, what holds it up, what is wrong with that, how sure.
    pub fn verdict(&self) -> String {
        let Some(first) = self.judged.first() else {
            return "No pose was found.".into();
        };
        let f = &first.figures;
        if let Some(extent_mm) = self.crumb_mm {
            return format!(
                "Too small to print: it is {} mm long, and a printed line is {} wide. Its numbers are likely in another unit: give it with --units.",
                words::short(extent_mm),
                words::length(self.settings.line_mm)
            );
        }
        if first.candidate.gates.contains(&FailedGate::DoesNotFit) {
            return "Fits the build volume in no pose.".into();
        }
        let faults = faults(first, self.bulk, self.settings);
        let why = faults.iter().map(|x| in_words(*x, f, self.bulk));
        let why = words::joined(why, "; ");
        let mut text = match self.faultless {
            Some(_) if faults.is_empty() => {
                let most = self.gentle_mm3 > MOSTLY_GENTLE * f.support_needed_mm3;
                let slopes = if most {
                    let needed = words::two_digits(f.support_needed_mm3 - self.gentle_mm3);
                    format!(
                        " Only about {} of that support is needed: the rest lies under slopes that print without.",
                        words::volume(needed.max(0.0))
                    )
                } else {
                    String::new()
                };
                format!(
                    "Print it with the {}.{slopes}",
                    stands(first, self.settings)
                )
            }
            Some(other) if self.is_too_dear() => format!(
                "Print it with the {}. It has a serious fault: {why}. The best pose without one, the {}, costs more on balance.",
                stands(first, self.settings),
                words::side_down(&other.candidate.down)
            ),
            Some(other) if other.total - first.total <= NEAR => format!(
                "Print it with the {}. It has a serious fault: {why}. Rather take the {}: that pose has none, and its total is only {} higher.",
                stands(first, self.settings),
                stands(other, self.settings),
                words::decimal(other.total - first.total, 1)
            ),
            Some(other) => format!(
                "Print it with the {}. It has a serious fault: {why}. The best pose without one is the {}.",
                stands(first, self.settings),
                stands(other, self.settings)
            ),
            None => format!(
                "Every pose of this part has a serious fault. The least bad is the {}: {} on the bed, {} tall, but {why}.",
                words::side_down(&first.candidate.down),
                words::area(f.contact_area_mm2),
                words::length(f.height_mm)
            ),
        };
        let off_deg = angle_deg(&first.candidate.down, &self.stored.candidate.down);
        if off_deg < 0.1 {
            text.push_str(if self.names_faultless() {
                " The file already stands as the first of the two."
            } else {
                " The file already stands that way."
            });
        } else if off_deg < 1.0 {
            let off = words::degrees(off_deg);
            text.push_str(&format!(
                " The file stands {off} off: turn it all the same, so that it stands on its face."
            ));
        }
        text.push_str(&self.second());
        if let Some(other) = self.larger_bed {
            let [long, wide] = other
                .figures
                .footprint_mm
                .map(|mm| words::decimal(mm.ceil(), 0));
            text.push_str(&format!(
                " A bed of {long} × {wide} mm or more would allow a much better pose, the {}.",
                stands(other, self.settings)
            ));
        }
        text
    }
}

/// A pose in short: its side, contact, support and height.
fn stands(entry: &Scored, settings: &Settings) -> String {
    let f = &entry.figures;
    format!(
        "{}: {} on the bed, {}, {} tall",
        words::side_down(&entry.candidate.down),
        words::area(f.contact_area_mm2),
        support(f, settings),
        words::length(f.height_mm)
    )
}

/// The support of the second pose, where one of the two needs several times that of the other: a
/// person sees no toss-up there.
fn support_apart(first: &Scored, second: &Scored, settings: &Settings) -> Option<String> {
    let [here, there] = [first, second].map(|e| on_mm3(&e.figures, settings));
    are_apart(here, there).then(|| support(&second.figures, settings))
}

/// Whether one volume of support, mm³, is several times another and worth a word.
fn are_apart(here: f64, there: f64) -> bool {
    let (less, more) = (here.min(there), here.max(there));
    more > SEVERAL * less && more > WORTH_MM3
}

/// What holds the part up, to stand in a list.
fn support(f: &Figures, settings: &Settings) -> String {
    if needs_support(f, settings) {
        let volume = words::volume(f.support_needed_mm3);
        return format!("{volume} of support");
    }
    let longest = spans::longest(spans::held(f, settings)).map_or(0.0, |b| b.span_mm);
    if longest > WATCH_BRIDGE_MM && f.ceiling_carried_mm2 > 1.0 {
        let longest = spans::mm(longest);
        format!("no support needed (bridges of up to {longest})")
    } else {
        "no support needed".into()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn three_times_the_support_sets_two_poses_apart_where_it_is_much() {
        assert!(are_apart(10_000.0, 3_000.0) && are_apart(3_000.0, 10_000.0));
        assert!(!are_apart(10_000.0, 4_000.0));
        assert!(!are_apart(2_000.0, 0.0));
    }

    #[test]
    fn a_limit_passed_by_a_hair_is_no_fault() {
        let with = |slender_ratio: f64, sway_mm_per_n: f64| Figures {
            slender_ratio,
            sway_mm_per_n,
            ..Figures::default()
        };
        assert!(!sways(&with(16.0, 1.05)));
        assert!(sways(&with(17.0, 0.0)) && sways(&with(0.0, 1.2)));
    }
}
