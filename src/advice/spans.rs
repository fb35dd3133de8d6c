//! Bridges in words: span, direction and height are those of one and the same bridge.

use crate::advice::support::{FREE_LEDGE_MM, within_limit};
use crate::figures::low::low_slope_mm;
use crate::figures::{Bridge, CeilingHole, Figures};
use crate::settings::Settings;
use crate::words;

/// A bridge that runs within this angle of an axis runs along it, degrees.
const ALONG_DEG: f64 = 10.0;
/// Heights that are told one by one.
const LISTED: usize = 3;

/// The hole in a ceiling that a sacrificial layer would turn into a bridge within the limit.
pub(super) fn hole(bridge: &Bridge, settings: &Settings) -> Option<CeilingHole> {
    let within = |h: &CeilingHole| h.closed_span_mm <= settings.bridge_limit_mm;
    bridge.around_hole.filter(within)
}

/// Bridges within the limit that are held along both ends, from the bed up.
pub(super) fn held<'a>(f: &'a Figures, settings: &'a Settings) -> impl Iterator<Item = &'a Bridge> {
    within_limit(f, settings).filter(|b| hole(b, settings).is_none())
}

/// Ceilings that are a ring around a hole, from the bed up, each with its hole. So low over the
/// bed they sag on to it, and no layer is modelled for that.
pub(super) fn rings(f: &Figures, settings: &Settings) -> Vec<(f64, CeilingHole)> {
    let least_mm = low_slope_mm(settings);
    let high = |b: &&Bridge| b.z_mm > least_mm;
    // A narrow ring prints as it is.
    let wide = |h: &CeilingHole| 0.5 * (h.closed_span_mm - h.width_mm) > FREE_LEDGE_MM;
    let ring = |b: &Bridge| Some((b.z_mm, hole(b, settings).filter(|h| high(&b) && wide(h))?));
    f.bridges.iter().filter_map(ring).collect()
}

/// The longest of some bridges, the lowest among equals.
pub(super) fn longest<'a>(bridges: impl IntoIterator<Item = &'a Bridge>) -> Option<&'a Bridge> {
    let longer = |a: &'a Bridge, b: &'a Bridge| if b.span_mm > a.span_mm { b } else { a };
    bridges.into_iter().reduce(longer)
}

/// "9.6 mm across the part at z = 11.8 mm".
pub(super) fn one(bridge: &Bridge, f: &Figures) -> String {
    format!("{} at {}", along(bridge, f), heights(&[bridge.z_mm]))
}

/// "9.6 mm across the part".
pub(super) fn along(bridge: &Bridge, f: &Figures) -> String {
    format!(
        "{}{}",
        mm(bridge.span_mm),
        direction(bridge.direction_deg, f)
    )
}

/// The longest in full, then how many more, how long they are and where; those that are alike
/// are counted.
pub(super) fn all(bridges: &[&Bridge], f: &Figures) -> Option<String> {
    let first = longest(bridges.iter().copied())?;
    let alike = |b: &&Bridge| mm(b.span_mm) == mm(first.span_mm);
    let (same, rest): (Vec<&Bridge>, Vec<&Bridge>) = bridges.iter().copied().partition(alike);
    let z = |list: &[&Bridge]| heights(&list.iter().map(|b| b.z_mm).collect::<Vec<f64>>());
    let mut text = if same.len() == 1 {
        one(first, f)
    } else {
        format!("{} of {} at {}", same.len(), mm(first.span_mm), z(&same))
    };
    if let Some(next) = longest(rest.iter().copied()) {
        let (count, up_to) = (rest.len(), mm(next.span_mm));
        let of = if count == 1 { "of" } else { "of up to" };
        text += &format!("; {count} more {of} {up_to} at {}", z(&rest));
    }
    Some(text)
}

/// "z = 7 mm", "z = 4.2, 7 and 9 mm", "z = 4.2 to 9 mm".
pub(super) fn heights(z_mm: &[f64]) -> String {
    let mut z: Vec<String> = Vec::new();
    let mut sorted = z_mm.to_vec();
    sorted.sort_by(f64::total_cmp);
    for height in sorted {
        let said = words::decimal(height, 1);
        if z.last() != Some(&said) {
            z.push(said);
        }
    }
    let listed = match &z[..] {
        [] => String::new(),
        [one] => one.clone(),
        [.., last] if z.len() <= LISTED => format!("{} and {last}", z[..z.len() - 1].join(", ")),
        [first, .., last] => format!("{first} to {last}"),
    };
    format!("z = {listed} mm")
}

/// A length to a tenth of a millimetre, a long one to a whole one: no ruler shows more.
pub(super) fn mm(length_mm: f64) -> String {
    let places = usize::from(length_mm < 100.0);
    format!("{} mm", words::decimal(length_mm, places))
}

/// A part is as long as it is wide up to this ratio of its sides.
const SQUARE: f64 = 1.1;

/// Which way the strands run, where that is along the part or across it: at the default yaw its long
/// side lies along X. However it is turned on the bed, a person sees that; of a square part there is
/// nothing to see, a round ceiling has no way of its own, and none askew is worth a number.
fn direction(deg: f64, f: &Figures) -> &'static str {
    let off = |axis: f64| {
        let apart = (deg - axis).rem_euclid(180.0);
        apart.min(180.0 - apart)
    };
    let [long, wide] = f.footprint_mm;
    if long < SQUARE * wide {
        ""
    } else if off(0.0) <= ALONG_DEG {
        " along the part"
    } else if off(90.0) <= ALONG_DEG {
        " across the part"
    } else {
        ""
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::advice::measure;
    use crate::figures::fixture;
    use crate::figures::quick::Bench;
    use crate::pose::Hull;
    use nalgebra::Vector3;

    fn bridge(z_mm: f64, span_mm: f64, direction_deg: f64) -> Bridge {
        Bridge {
            z_mm,
            span_mm,
            direction_deg,
            area_mm2: 50.0,
            ..Bridge::default()
        }
    }

    #[test]
    fn span_direction_and_height_are_of_one_bridge() {
        let low = bridge(9.2, 4.0, 90.0);
        let high = bridge(11.8, 21.64, 178.0);
        let (a, b) = (bridge(3.0, 6.0, 44.0), bridge(9.24, 3.2, 0.0));
        let sides = |footprint_mm| Figures {
            footprint_mm,
            ..Figures::default()
        };
        let long = sides([40.0, 20.0]);
        let said = |list: &[&Bridge]| all(list, &long).expect("bridges");
        assert_eq!(
            said(&[&low, &high]),
            "21.6 mm along the part at z = 11.8 mm; 1 more of 4 mm at z = 9.2 mm"
        );
        assert_eq!(said(&[&low]), "4 mm across the part at z = 9.2 mm");
        assert_eq!(
            said(&[&a, &low, &b, &high]),
            "21.6 mm along the part at z = 11.8 mm; 3 more of up to 6 mm at z = 3 and 9.2 mm"
        );
        assert_eq!(
            said(&[&low, &low, &b]),
            "2 of 4 mm at z = 9.2 mm; 1 more of 3.2 mm at z = 9.2 mm"
        );
        assert_eq!(one(&a, &long), "6 mm at z = 3 mm");
        assert_eq!(one(&low, &sides([21.0, 20.0])), "4 mm at z = 9.2 mm");
        assert_eq!(all(&[], &long), None);
    }

    #[test]
    fn few_heights_are_listed_and_many_are_a_range() {
        assert_eq!(heights(&[9.0, 4.2, 7.0, 7.04]), "z = 4.2, 7 and 9 mm");
        assert_eq!(heights(&[1.0, 2.0, 3.0, 4.0]), "z = 1 to 4 mm");
    }

    /// A counterbore that looks down, 9 mm wide and 6.2 mm deep, with a hole of 5 mm through.
    #[test]
    fn a_counterbore_from_below_is_told_as_a_ring_and_not_as_a_bridge() {
        let block = [[0.0, 0.0, 0.0], [20.0, 20.0, 12.0]];
        let pocket = [[5.5, 5.5, -1.0], [14.5, 14.5, 6.2]];
        let through = [[7.5, 7.5, 0.0], [12.5, 12.5, 13.0]];
        let soup = fixture::boxes(&[block], &[pocket, through]);
        let part = fixture::part_of(&soup);
        let settings = Settings::default();
        let hull = Hull::new(&part.mesh.vertices).expect("a hull");
        let pose = measure(&Bench::new(&part, &settings, hull), -Vector3::z_axis());
        let machine = pose.precautions.join(" ");
        assert!(
            machine
                .contains("(0.2 mm) across the 5 mm hole at z = 6.2 mm, and cut or drill it out"),
            "{machine}"
        );
        assert!(!machine.contains("Watch the bridge"), "{machine}");
    }
}
