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
use crate::settings::Settings;
use crate::words;

/// Support lower than this on average hardly comes off, mm (house value).
const THIN_MM: f64 = 1.0;
/// Support that stands on the part under less than this share of the overhang stands on the bed.
const LEAST_BELOW: f64 = 0.1;
/// Places are told until they make up this share of what is held, in area and in room below.
const MOST_OF: f64 = 0.9;
/// Undersides of this share of the least one told are no smaller ones (house value).
const AS_LARGE: f64 = 0.5;
/// … but no more than so many.
const MOST_PLACES: usize = 3;
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

/// "a cantilever of 12 mm", "3 islands": what is in one place, each kind once.
fn causes(with: &[Single]) -> Vec<(String, f64)> {
    let is_island = |s: &&Single| s.what == Cause::Island;
    let starts: Vec<f64> = with.iter().filter(is_island).map(|s| s.z_mm).collect();
    let mut out = Vec::new();
    if let Some(&first) = starts.first() {
        out.push((words::some(starts.len(), "an island", "islands"), first));
    }
    for single in with {
        let what = match &single.what {
            Cause::Island => continue,
            Cause::Cantilever(reach_mm) => format!("a cantilever of {}", words::length(*reach_mm)),
            Cause::Span(span) => format!("a span of {span}"),
        };
        out.push((what, single.z_mm));
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
    let inner: Vec<String> = (causes(&held.with).into_iter())
        .map(|(what, z)| {
            if is_level {
                what
            } else {
                format!("{what} {}", at(z))
            }
        })
        .collect();
    let inner = if inner.is_empty() {
        String::new()
    } else {
        format!(" ({})", inner.join(", "))
    };
    format!("{what}{leans} {stretch}{inner}")
}

/// The places that are told: that with the most room below first, until most of what is held is among them.
fn told(touched: &Touched) -> &[Held] {
    let [area, room] = sums(&touched.needed);
    let enough = |n: usize| {
        let [a, r] = sums(&touched.needed[..n]);
        a >= MOST_OF * area && r >= MOST_OF * room
    };
    let most = touched.needed.len().min(MOST_PLACES);
    let n = (1..most).find(|&n| enough(n)).unwrap_or(most);
    &touched.needed[..n]
}

/// Area and room below of places, mm² and mm³.
fn sums(held: &[Held]) -> [f64; 2] {
    held.iter().fold([0.0; 2], |[area, room], h| {
        [area + h.place.area_mm2, room + h.place.room_mm3]
    })
}

/// What support would hold, in words, the most of it first.
fn held(touched: &Touched) -> Vec<String> {
    let told = told(touched);
    let mut out: Vec<String> = told.iter().map(in_words).collect();
    // What is in a place that is not told, or in none.
    let more = &touched.needed[told.len()..];
    let lone: Vec<Single> = (more.iter().flat_map(|h| &h.with))
        .chain(&touched.lone)
        .cloned()
        .collect();
    out.extend(causes(&lone).into_iter().map(|(what, z)| {
        let first = if what.ends_with("islands") {
            format!("from {} on", spans::heights(&[z]))
        } else {
            at(z)
        };
        format!("{what} {first}")
    }));
    let [[all_area, all_room], [area, room]] = [sums(&touched.needed), sums(told)];
    if area < MOST_OF * all_area || room < MOST_OF * all_room {
        let least = told
            .iter()
            .map(|h| h.place.each_mm2())
            .fold(f64::MAX, f64::min);
        let as_large = more.iter().any(|h| h.place.each_mm2() >= AS_LARGE * least);
        let rest = if as_large { "other" } else { "smaller" };
        out.push(format!("{rest} undersides"));
    }
    out
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
    let [area, room] = sums(&g.touched.needed);
    let limit = words::degrees(g.settings.limit_deg);
    let holds = held(g.touched);
    let what = match &holds[..] {
        [] => String::new(),
        [one] => format!(" for {one}"),
        [first @ .., last] => format!(" for {} and {last}", first.join(", ")),
    };
    // In the figures of the table is also what no support fits under, or prints by itself.
    let all_mm3 = f.support_needed_mm3;
    let volume = if holds.is_empty() || (room - all_mm3).abs() <= SAME * all_mm3 {
        let volume = words::volume(all_mm3);
        if holds.len() > 1 {
            format!("{volume} in all")
        } else {
            volume
        }
    } else {
        let [part, all] = words::volumes_compared(words::two_digits(room), all_mm3);
        format!("about {part} ({all} with the limit at {limit})")
    };
    let mut text = format!("Switch support on{what}: {volume}.");
    text += &stands_on(g, area);
    if f.tip_with_support_deg.is_some() {
        text += " Without it the part would tip over while it prints.";
    }
    if let Some(span) = only_spans(f, g.settings) {
        text += &format!(
            " A machine that bridges {} needs none there: try that first.",
            spans::mm(span)
        );
    }
    text += &slopes(g, area);
    let mean = room / area.max(1e-6);
    if area > 0.0 && mean < THIN_MM {
        text += &format!(
            " This support is only {} high on average",
            words::length(mean)
        );
        // Between two faces of the part: a hollow, not the edge of the base.
        text += if stood_on_mm2(&g.touched.needed) >= HOLLOW_SHARE * area {
            " and hardly comes off: fill that hollow in the model, or let it sag if the face does not matter."
        } else {
            ": pry it off with a blade, or extend the part down to the bed there in the model."
        };
    }
    Some((room_mm3(f), text))
}

fn stood_on_mm2(held: &[Held]) -> f64 {
    held.iter().map(|h| h.place.stood_on_mm2).sum()
}

/// What support stands on, and what it marks, a blank before it.
fn stands_on(g: &RuleInput, area: f64) -> String {
    let needed = &g.touched.needed;
    let below = stood_on_mm2(needed);
    let inside = if !needed.is_empty() && told(g.touched).iter().all(|h| h.place.is_inside) {
        " This support fills a hollow of the part and marks the inside."
    } else {
        ""
    };
    if below > LEAST_BELOW * area {
        let on_part = |h: &Held| h.place.stood_on_mm2 > LEAST_BELOW * h.place.area_mm2;
        let told = told(g.touched);
        // Of several places those that stand there.
        let only: Vec<f64> = (told.iter().filter(|h| on_part(h)))
            .map(|h| h.place.z_mm[0])
            .collect();
        let only_told = !needed[told.len()..].iter().any(on_part);
        // Sampled, it is no finer than this.
        let below = words::area(words::two_digits(below.min(area)));
        return if only_told && only.len() < told.len() {
            let at = spans::heights(&only);
            format!(
                " Below {at} it stands on the part, not on the bed, and marks about {below} there.{inside}"
            )
        } else {
            format!(" It rests on about {below} of the part and marks it there.{inside}")
        };
    }
    let mean = sums(needed)[1] / area.max(1e-6);
    if g.figures.support_trapped_mm3 > SHUT_MM3 || mean < THIN_MM {
        return String::new();
    }
    match &g.touched.marks {
        _ if !inside.is_empty() => inside.into(),
        Some(place) => {
            format!(" It stands on the bed, comes off from outside and marks the part {place}.")
        }
        None => " It stands on the bed.".into(),
    }
}

/// Slopes that need none, though they lean beyond the limit, a blank before it.
fn slopes(g: &RuleInput, area: f64) -> String {
    let gentle = &g.touched.gentle;
    let all: f64 = gentle.iter().map(|p| p.face_mm2).sum();
    if all <= SLOPES * (area + all) {
        return String::new();
    }
    let z = |by: fn(f64, f64) -> f64, k: usize, from: f64| {
        words::decimal(gentle.iter().map(|p| p.z_mm[k]).fold(from, by), 1)
    };
    let (low, high) = (z(f64::min, 0, f64::MAX), z(f64::max, 1, 0.0));
    let limits = gentle.iter().map(|p| p.left_out_by_deg(g.settings));
    let most = limits.fold(0.0, f64::max);
    let what = format!(
        "the slopes between z = {low} and {high} mm ({})",
        words::area(all)
    );
    // With such a limit what is needed there would be left out too.
    let is_needed =
        |h: &Held| h.place.shape != Shape::Ceiling && h.place.most_lean_deg <= most + CLEAR_DEG;
    if g.touched.needed.iter().any(is_needed) || !g.touched.lone.is_empty() {
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
