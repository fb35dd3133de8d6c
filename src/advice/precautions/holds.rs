//! What is said of support: on or off, for what, and where it is kept out.

use super::evals::{RuleInput, Spoken};
use crate::advice::marks::{Cause, Held, Single, Touched};
use crate::advice::spans;
use crate::advice::support::{
    MACHINE_SPAN_MM, SHUT_MM3, SPARE_MM2, all_too_long, free_ledge_mm, hangs, islands, ledge_mm,
    left_alone, needs_support, room_mm3, spare, steep_mm2,
};
use crate::figures::Figures;
use crate::figures::held::Shape;
use crate::plane::rect;
use crate::settings::Settings;
use crate::words;

/// Support lower than this on average hardly comes off, mm (house value).
const THIN_MM: f64 = 1.0;
/// Support that stands on the part under less than this share of the overhang stands on the bed.
const LEAST_BELOW: f64 = 0.1;
/// Places are told until they make up this share of what is held, in area and in room below.
const MOST_OF: f64 = 0.9;
/// … but no more than so many.
const MOST_PLACES: usize = 3;
/// Undersides of this share of the least one told are no smaller ones (house value).
const AS_LARGE: f64 = 0.5;
/// A volume that differs from that of the table by no more than this share is that one (house value).
const SAME: f64 = 0.1;
/// Slopes that lean hardly further than the limit are worth a word from this share of the overhang on.
const SLOPES: f64 = 0.15;
/// What leans less than so much beyond a limit is not sure to be held with it, degrees.
const CLEAR_DEG: f64 = 5.0;
/// Support that stands on the part with this share of the overhang fills a hollow in it.
const HOLLOW_SHARE: f64 = 0.5;

pub(super) fn leave_support_off(g: &RuleInput) -> Spoken {
    let says = format!("No support: {}.", left_alone(g.figures, g.settings));
    let off = spare(g.figures, g.settings) && hangs(g.figures);
    off.then(|| (steep_mm2(g.figures), says))
}

/// "at z = 12 mm".
fn at(z_mm: f64) -> String {
    format!("at {}", spans::heights(&[z_mm]))
}

/// What needs something below it, in words.
struct Named {
    what: String,
    /// The height where it is, or where the first of several is.
    z_mm: f64,
    several: bool,
}

impl Named {
    /// With its height.
    fn whole(&self) -> String {
        let at = spans::heights(&[self.z_mm]);
        if self.several {
            format!("{} from {at} on", self.what)
        } else {
            format!("{} at {at}", self.what)
        }
    }
}

/// "a cantilever of 12 mm", "3 islands": what is in one place, each kind once.
fn causes<'a>(with: impl IntoIterator<Item = &'a Single>) -> Vec<Named> {
    let (islands, others): (Vec<&Single>, Vec<&Single>) =
        with.into_iter().partition(|s| s.what == Cause::Island);
    let mut out = Vec::new();
    if let Some(first) = islands.first() {
        out.push(Named {
            what: words::some(islands.len(), "an island", "islands"),
            z_mm: first.z_mm,
            several: islands.len() > 1,
        });
    }
    for single in others {
        let what = match &single.what {
            Cause::Island => continue,
            Cause::Cantilever(reach_mm) => format!("a cantilever of {}", words::length(*reach_mm)),
            Cause::Span(span) => format!("a span of {span}"),
        };
        out.push(Named {
            what,
            z_mm: single.z_mm,
            several: false,
        });
    }
    out
}

/// A place with what is in it: "2 undersides of 40 mm² at z = 12 mm (a cantilever of 12 mm)".
fn in_words(held: &Held) -> String {
    let place = &held.place;
    let [low, high] = place.z_mm;
    let level = spans::heights(&[low]) == spans::heights(&[high]);
    let noun = if matches!(place.shape, Shape::Slope(_)) {
        ["a face", "faces"]
    } else {
        ["an underside", "undersides"]
    };
    let what = if let Shape::Roof(wide_mm) = place.shape {
        let wide = words::length(wide_mm);
        if place.count == 1 {
            format!("the roof of the horizontal hole of Ø {wide}")
        } else {
            format!("the roofs of {} horizontal holes of Ø {wide}", place.count)
        }
    } else if place.alike {
        let what = words::some(place.count, noun[0], noun[1]);
        format!("{what} of {}", words::area(place.each_mm2()))
    } else {
        format!("{} of {} in all", noun[1], words::area(place.face_mm2))
    };
    let leans = match place.shape {
        Shape::Slope(deg) => format!(" leaning {} from the vertical", words::degrees(deg)),
        _ => String::new(),
    };
    let is_level = place.shape == Shape::Ceiling || level;
    let stretch = if is_level {
        at(low)
    } else {
        let [low, high] = [low, high].map(|z| words::decimal(z, 1));
        format!("from z = {low} to {high} mm")
    };
    let named = |n: &Named| match (is_level, n.several) {
        (true, _) => n.what.clone(),
        (false, true) => format!("{} {}", n.what, at(n.z_mm)),
        (false, false) => n.whole(),
    };
    let inner: Vec<String> = causes(&held.with).iter().map(named).collect();
    let inner = if inner.is_empty() {
        String::new()
    } else {
        format!(" ({})", inner.join(", "))
    };
    format!("{what}{leans} {stretch}{inner}")
}

/// Area and room below of places, mm² and mm³.
fn sums(held: &[Held]) -> [f64; 2] {
    held.iter().fold([0.0; 2], |[area, room], h| {
        [area + h.place.area_mm2, room + h.place.room_mm3]
    })
}

/// What support is needed for.
struct Needed<'a> {
    touched: &'a Touched,
    /// The places that are told: that with the most room below first, until most of what is held is
    /// among them.
    told: &'a [Held],
    /// The others.
    more: &'a [Held],
    /// Of all of them.
    area_mm2: f64,
    room_mm3: f64,
}

impl<'a> Needed<'a> {
    fn new(touched: &'a Touched) -> Self {
        let all = &touched.needed;
        let [area_mm2, room_mm3] = sums(all);
        let enough = |n: &usize| {
            let [area, room] = sums(&all[..*n]);
            area >= MOST_OF * area_mm2 && room >= MOST_OF * room_mm3
        };
        let most = all.len().min(MOST_PLACES);
        let (told, more) = all.split_at((1..most).find(enough).unwrap_or(most));
        Self {
            touched,
            told,
            more,
            area_mm2,
            room_mm3,
        }
    }

    /// What it would hold, in words, the most of it first.
    fn in_words(&self) -> Vec<String> {
        let mut out: Vec<String> = self.told.iter().map(in_words).collect();
        // What is in a place that is not told, or in none.
        let lone = self.more.iter().flat_map(|h| &h.with);
        let lone = causes(lone.chain(&self.touched.lone));
        out.extend(lone.iter().map(Named::whole));
        let [area, room] = sums(self.told);
        if area < MOST_OF * self.area_mm2 || room < MOST_OF * self.room_mm3 {
            let each = self.told.iter().map(|h| h.place.each_mm2());
            let least = AS_LARGE * each.fold(f64::MAX, f64::min);
            let as_large = self.more.iter().any(|h| h.place.each_mm2() >= least);
            let rest = if as_large { "other" } else { "smaller" };
            out.push(format!("{rest} undersides"));
        }
        out
    }

    /// Its height on average, mm.
    fn mean_mm(&self) -> f64 {
        self.room_mm3 / self.area_mm2.max(1e-6)
    }

    /// Plan area of the part that it stands on, mm².
    fn stood_on_mm2(&self) -> f64 {
        let all = &self.touched.needed;
        all.iter().map(|h| h.place.stood_on_mm2).sum()
    }

    /// What it stands on, and what it marks, a blank before it.
    fn stands_on(&self, f: &Figures) -> String {
        let below = self.stood_on_mm2();
        let is_inside = !self.told.is_empty() && self.told.iter().all(|h| h.place.is_inside);
        let inside = if is_inside {
            " This support fills a hollow of the part and marks the inside."
        } else {
            ""
        };
        if below > LEAST_BELOW * self.area_mm2 {
            let on_part = |h: &&Held| h.place.stood_on_mm2 > LEAST_BELOW * h.place.area_mm2;
            // Of several places those that stand there.
            let only: Vec<f64> = (self.told.iter().filter(on_part))
                .map(|h| h.place.z_mm[0])
                .collect();
            let only_told = !self.more.iter().any(|h| on_part(&h));
            // Sampled, it is no finer than this.
            let below = words::area(words::two_digits(below.min(self.area_mm2)));
            return if only_told && only.len() < self.told.len() {
                let at = spans::heights(&only);
                format!(
                    " Below {at} it stands on the part, not on the bed, and marks about {below} there.{inside}"
                )
            } else {
                format!(" It rests on about {below} of the part and marks it there.{inside}")
            };
        }
        if f.support_trapped_mm3 > SHUT_MM3 || self.mean_mm() < THIN_MM {
            return String::new();
        }
        match &self.touched.marks {
            _ if is_inside => inside.into(),
            Some(place) => {
                format!(" It stands on the bed, comes off from outside and marks the part {place}.")
            }
            None => " It stands on the bed.".into(),
        }
    }

    /// Slopes that need none, though they lean beyond the limit, a blank before it.
    fn slopes(&self, settings: &Settings) -> String {
        let gentle = &self.touched.gentle;
        let all: f64 = gentle.iter().map(|p| p.face_mm2).sum();
        if all <= SLOPES * (self.area_mm2 + all) {
            return String::new();
        }
        let (low, high) = rect::span(gentle.iter().flat_map(|p| p.z_mm));
        let [low, high] = [low, high].map(|z| words::decimal(z, 1));
        let limits = gentle.iter().map(|p| p.left_out_by_deg(settings));
        let most = limits.fold(0.0, f64::max);
        let what = format!(
            "the slopes between z = {low} and {high} mm ({})",
            words::area(all)
        );
        // With such a limit what is needed there would be left out too.
        let is_needed = |h: &Held| {
            let place = &h.place;
            place.shape != Shape::Ceiling
                && (place.most_lean_deg <= most + CLEAR_DEG
                    || place.gentle_mm2 > SLOPES * place.area_mm2)
        };
        if self.touched.needed.iter().any(is_needed) || !self.touched.lone.is_empty() {
            return format!(
                " Place support by hand, only where it is named above: {what} lean at most {} from the vertical and print without, a little rough.",
                words::degrees(most)
            );
        }
        let [lean, flat] = [most, 90.0 - most].map(words::degrees);
        format!(
            " Set the limit for support to {lean} from the vertical ({flat} where it counts from the bed): then {what} get none, and print a little rough."
        )
    }
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
    let needed = Needed::new(g.touched);
    let limit = words::degrees(g.settings.limit_deg);
    let holds = needed.in_words();
    let what = match &holds[..] {
        [] => String::new(),
        [one] => format!(" for {one}"),
        [first @ .., last] => format!(" for {} and {last}", first.join(", ")),
    };
    // In the figures of the table is also what no support fits under, or prints by itself.
    let all_mm3 = f.support_needed_mm3;
    let volume = if holds.is_empty() || (needed.room_mm3 - all_mm3).abs() <= SAME * all_mm3 {
        let volume = words::volume(all_mm3);
        if holds.len() > 1 {
            format!("{volume} in all")
        } else {
            volume
        }
    } else {
        let [part, all] = words::volumes_compared(words::two_digits(needed.room_mm3), all_mm3);
        format!("about {part} ({all} with the limit at {limit})")
    };
    let mut text = format!("Switch support on{what}: {volume}.");
    text += &needed.stands_on(f);
    if f.tip_with_support_deg.is_some() {
        text += " Without it the part would tip over while it prints.";
    }
    if let Some(span) = only_spans(f, g.settings) {
        text += &format!(
            " A machine that bridges {} needs none there: try that first.",
            spans::mm(span)
        );
    }
    text += &needed.slopes(g.settings);
    let mean = needed.mean_mm();
    if needed.area_mm2 > 0.0 && mean < THIN_MM {
        text += &format!(
            " This support is only {} high on average",
            words::length(mean)
        );
        // Between two faces of the part: a hollow, not the edge of the base.
        text += if needed.stood_on_mm2() >= HOLLOW_SHARE * needed.area_mm2 {
            " and hardly comes off: fill that hollow in the model, or let it sag if the face does not matter."
        } else {
            ": pry it off with a blade, or extend the part down to the bed there in the model."
        };
    }
    Some((room_mm3(f), text))
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
