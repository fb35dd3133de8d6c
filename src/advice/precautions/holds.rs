//! What is said of support: on or off, for what, and where it is kept out.

use super::evals::{RuleInput, Spoken};
use crate::advice::marks::UNDERNEATH;
use crate::advice::spans;
use crate::advice::support::{
    MACHINE_SPAN_MM, SHUT_MM3, SPARE_MM2, all_too_long, free_ledge_mm, hangs, islands, ledge_mm,
    left_alone, needs_support, room_mm3, spare, steep_mm2, under_mm2,
};
use crate::figures::spared::gentle_deg;
use crate::figures::{Bridge, Figures};
use crate::settings::Settings;
use crate::words;

/// Support lower than this on average hardly comes off, mm (house value).
const THIN_MM: f64 = 1.0;
/// Support that stands on the part under less than this share of the overhang stands on the bed.
const LEAST_BELOW: f64 = 0.1;
/// Two figures this near to each other are one (house value).
const SAME: f64 = 1.05;
/// A face that makes up less than this share of what is held is not all of it.
const MOST_OF: f64 = 0.8;
/// Slopes that lean hardly further than the limit are worth a word from this share of what is held on.
const SLOPES: f64 = 0.3;
/// A face that leans as far is a ceiling, degrees.
const CEILING_DEG: f64 = 85.0;
/// Support that stands on the part with this share of the overhang fills a hollow in it.
const HOLLOW_SHARE: f64 = 0.5;

pub(super) fn leave_support_off(g: &RuleInput) -> Spoken {
    let says = format!("No support: {}.", left_alone(g.figures, g.settings));
    let off = spare(g.figures, g.settings) && hangs(g.figures);
    off.then(|| (steep_mm2(g.figures), says))
}

/// Something that support holds: what it is, and where, mm above the bed.
struct Held {
    what: String,
    z_mm: Option<f64>,
}

impl Held {
    fn whole(&self) -> String {
        let at = (self.z_mm).map_or_else(String::new, |z| format!(" at {}", spans::heights(&[z])));
        format!("{}{at}", self.what)
    }
}

/// What begins in the air, hangs from one end or spans too far.
fn single(f: &Figures, settings: &Settings) -> Vec<Held> {
    let mut out = Vec::new();
    if let Some(first) = islands(f, settings).next() {
        let n = islands(f, settings).count();
        let level = islands(f, settings).all(|i| i.z_mm - first.z_mm <= settings.layer_mm);
        out.push(if level {
            Held {
                what: words::some(n, "an island", "islands"),
                z_mm: Some(first.z_mm),
            }
        } else {
            Held {
                what: format!("{n} islands from {} on", spans::heights(&[first.z_mm])),
                z_mm: None,
            }
        });
    }
    if ledge_mm(f) > free_ledge_mm(f) {
        out.push(Held {
            what: format!("a cantilever of {}", words::length(ledge_mm(f))),
            z_mm: f.ledge_high_z_mm,
        });
    }
    let long: Vec<Bridge> = all_too_long(f, settings).collect();
    if let Some(bridge) = spans::longest(&long) {
        out.push(Held {
            what: format!("a span of {}", spans::along(bridge, f)),
            z_mm: Some(bridge.z_mm),
        });
    }
    out
}

/// What support would hold: the face that most of it lies under, with what is at its height, then
/// the rest, the worst first.
fn held(g: &RuleInput) -> Vec<String> {
    let (f, settings) = (g.figures, g.settings);
    let single = single(f, settings);
    let Some(face) = &g.touched.face else {
        if single.is_empty() && steep_mm2(f) > 0.0 {
            let at = g.touched.z_mm.map_or_else(String::new, |z| {
                let [low, high] = z.map(|z| words::decimal(z, 1));
                // What is lower is held with it.
                if f.overhang_low_mm2 > LEAST_BELOW * f.overhang_needed_mm2() {
                    format!(" from the bed up to z = {high} mm")
                } else {
                    format!(" from z = {low} to {high} mm")
                }
            });
            return vec![format!("undersides{at}")];
        }
        return single.iter().map(Held::whole).collect();
    };
    let [low, high] = face.z_mm;
    let near = 2.0 * settings.layer_mm;
    let (its, other): (Vec<Held>, Vec<Held>) = single
        .into_iter()
        .partition(|h| (h.z_mm).is_some_and(|z| z >= low - near && z <= high + near));
    let area = words::area(face.area_mm2);
    let is_ceiling = face.leans_deg >= CEILING_DEG || high - low <= near;
    let mut first = if is_ceiling {
        let at = spans::heights(&[low]);
        if face.cut_up {
            format!("undersides of {area} in all at {at}")
        } else {
            let what = words::some(face.count, "an underside", "undersides");
            format!("{what} of {area} at {at}")
        }
    } else {
        let [low, high] = face.z_mm.map(|z| words::decimal(z, 1));
        let what = words::some(face.count, "a face", "faces");
        let leans = words::decimal(face.leans_deg, 0);
        format!("{what} of {area} leaning {leans}°, from z = {low} to {high} mm")
    };
    if !its.is_empty() {
        let its = its.iter().map(|h| {
            if is_ceiling {
                h.what.clone()
            } else {
                h.whole()
            }
        });
        first += &format!(" ({})", words::joined(its, ", "));
    }
    let mut rest: Vec<String> = other.iter().map(Held::whole).collect();
    let told_mm2 = face.area_mm2 * face.count as f64;
    if rest.is_empty() && told_mm2 < MOST_OF * under_mm2(f) {
        rest.push("smaller undersides".into());
    }
    std::iter::once(first).chain(rest).collect()
}

/// The longest span, mm, where support is on for nothing but spans that another machine may bridge:
/// published limits run up to 30 mm.
fn only_spans(f: &Figures, settings: &Settings) -> Option<f64> {
    let spans: Vec<f64> = all_too_long(f, settings).map(|b| b.span_mm).collect();
    let longest = spans.iter().copied().reduce(f64::max)?;
    let others = islands(f, settings).next().is_some()
        || ledge_mm(f) > free_ledge_mm(f)
        || f.overhang_charged_mm2 - f.overhang_low_mm2 > SPARE_MM2;
    (!others && longest <= MACHINE_SPAN_MM).then_some(longest)
}

pub(super) fn support(g: &RuleInput) -> Spoken {
    let f = g.figures;
    if !needs_support(f, g.settings) {
        return None;
    }
    let (room, area) = (room_mm3(f), under_mm2(f));
    let limit = words::degrees(g.settings.limit_deg);
    let holds = held(g);
    let what = match &holds[..] {
        [] => String::new(),
        [one] => format!(" for {one}"),
        [first @ .., last] => format!(" for {} and {last}", first.join(", ")),
    };
    // Told with the figures of the pose where these hold no more than has room.
    let (all_mm3, all_mm2) = (f.support_needed_mm3, f.overhang_needed_mm2());
    let mut text = if all_mm3 <= SAME * room && all_mm2 <= SAME * area {
        let (volume, under) = (words::volume(all_mm3), words::area(all_mm2));
        let is_said = (g.touched.face)
            .is_some_and(|face| words::area(face.area_mm2 * face.count as f64) == under);
        let under = if is_said {
            String::new()
        } else {
            format!(" under {under} beyond {limit}")
        };
        format!("Switch support on{what}: {volume}{under}.")
    } else {
        format!("Switch support on{what}.")
    };
    // In a slit there is none.
    let below = (f.support_marks_mm2.below - f.overhang_slit_mm2).max(0.0);
    let below = below.min(g.touched.stood_on_mm2);
    let mean = room / area.max(1e-6);
    if below > LEAST_BELOW * area {
        // What it stands on is no larger than what it holds; sampled, it is no finer than this.
        let below = words::area(words::two_digits(below.min(area)));
        text += &format!(" It rests on about {below} of the part and marks it there.");
    } else if f.support_trapped_mm3 <= SHUT_MM3 && mean >= THIN_MM {
        text += &match &g.touched.marks {
            // Out of a hollow it comes from below, from under an arm from outside: underneath, both.
            Some(place) if place.starts_with(UNDERNEATH) => {
                format!(" It stands on the bed and marks the part {place}.")
            }
            Some(place) => {
                format!(" It stands on the bed, comes off from outside and marks the part {place}.")
            }
            None => " It stands on the bed.".into(),
        };
    }
    if let Some(span) = only_spans(f, g.settings) {
        text += &format!(
            " A machine that bridges {} needs none there: try that first.",
            spans::mm(span)
        );
    }
    if f.overhang_gentle_mm2 > SLOPES * area {
        let (slopes, lean) = (words::area(f.overhang_gentle_mm2), gentle_deg(g.settings));
        text += &format!(
            " {slopes} of the overhang lean at most {} from the vertical: with the limit for support set to that, they need none.",
            words::degrees(lean)
        );
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
