//! What hangs over: ledges, ceilings, slopes, closed cavities.

use crate::advice::design::remedy::LEAST_CHANGE_MM;
use crate::advice::design::{Change, Remedy, Site};
use crate::advice::spans;
use crate::advice::support::{MACHINE_SPAN_MM, SHUT_MM3};
use crate::figures::subdivide::mean;
use crate::figures::{Bridge, Section, bridges, slicing};
use crate::mesh::{Body, NO_NEIGHBOUR};
use crate::plane::polygon;
use crate::plane::rect::span;
use crate::pose::bounds;
use crate::words;
use nalgebra::{Point2, Point3};
use std::collections::BTreeSet;

/// A patch is level, a ledge or a ceiling, if it is no higher than this share of
/// its reach.
const LEVEL_SHARE: f64 = 0.3;
/// Overhang patches spoken of, largest first.
const MOST_PATCHES: usize = 2;
/// A patch under which less than this share of all support stands is not worth a change.
const LEAST_SHARE: f64 = 0.3;
/// More ribs under a ceiling than these fill the hollow below it (house value).
const MOST_RIBS: f64 = 3.0;
/// Chamfers with a longer leg than this cost more than they save, mm (house value).
const LONGEST_LEG_MM: f64 = 30.0;
/// The room under a triangle is looked at at places so far apart, mm, at most so many along a side.
const LOOK_MM: f64 = 1.0;
const LOOKS: usize = 12;
/// A small joint is glued from this area on, mm²: a bar of 10 mm (house value).
const GLUED_MM2: f64 = 100.0;
/// A gable higher than this share of the part is another part.
const GABLE_SHARE: f64 = 0.3;
/// Patches whose areas agree to this share are copies: one is spoken of.
const COPY_SHARE: f64 = 0.05;
/// A slope that can be made steeper is a plane: the sum of its normals by area over the area.
const PLANE_SHARE: f64 = 0.99;
/// A slope that leans further beyond the limit than this is no slope to be made steeper, but another
/// shape, degrees (house value).
const STEEPENED_DEG: f64 = 20.0;
/// A patch this large is a face to split the part at, mm² …
const SPLIT_MM2: f64 = 50.0;
/// … and this large where a smaller change helps too (house values).
const WIDE_SPLIT_MM2: f64 = 1000.0;

/// Connected overhang that no bridge carries.
struct Patch {
    area_mm2: f64,
    /// Plan area times height: what support under it would come to at most.
    hung_mm3: f64,
    low_mm: f64,
    high_mm: f64,
    /// Middle of the facet nearest to the patch's own middle, which may lie in the
    /// open where the patch is a ring.
    middle: Point3<f64>,
    is_plane: bool,
    /// How far it leans from the vertical, radians.
    lean_rad: f64,
    triangles: Vec<usize>,
}

/// Chamfers, ribs and splits for the largest overhangs.
pub(super) fn overhangs(site: &Site) -> Vec<Remedy> {
    let spanning = &site.entry.hanging.spanning;
    let mut patches = patches(site, &spanning.carried);
    patches.sort_by(|a, b| b.hung_mm3.total_cmp(&a.hung_mm3));
    let all: f64 = patches.iter().map(|p| p.hung_mm3).sum();
    let mut out = Vec::new();
    let mut told: Vec<f64> = Vec::new();
    let large = (patches.iter()).filter(|p| p.hung_mm3 >= LEAST_SHARE * all);
    let large = large.filter(|p| {
        let copy = |area: &f64| (area - p.area_mm2).abs() <= COPY_SHARE * p.area_mm2;
        let new = !told.iter().any(copy);
        told.push(p.area_mm2);
        new
    });
    for patch in large.take(MOST_PATCHES) {
        out.extend(proposals(
            site,
            patch,
            spanning,
            freed(site, patch.area_mm2),
        ));
    }
    if out.is_empty() {
        out.extend(cut_up(site, &patches, all));
    }
    // One cut is advice, two are a kit.
    let mut cuts = 0;
    out.retain(|r: &Remedy| {
        cuts += usize::from(r.change == Change::Split);
        r.change != Change::Split || cuts == 1
    });
    out
}

/// The overhang that bridges leave, before and after a change that takes some of it away, mm².
fn freed(site: &Site, area_mm2: f64) -> (&'static str, f64, f64) {
    let now = site.entry.figures.overhang_after_bridges_mm2;
    ("overhang_after_bridges_mm2", now, (now - area_mm2).max(0.0))
}

/// A cut along a ceiling that walls cut up into many patches at one height.
fn cut_up(site: &Site, patches: &[Patch], all_mm3: f64) -> Option<Remedy> {
    let layer_mm = site.bench.settings.layer_mm;
    let level = |p: &&Patch| p.high_mm - p.low_mm <= layer_mm;
    let mut level: Vec<&Patch> = patches.iter().filter(level).collect();
    level.sort_by(|a, b| a.low_mm.total_cmp(&b.low_mm));
    let groups = level.chunk_by(|a, b| b.low_mm - a.low_mm <= 0.5 * layer_mm);
    let hung = |g: &&[&Patch]| g.iter().map(|p| p.hung_mm3).sum::<f64>();
    let several = groups.filter(|g| g.len() > 1);
    let group = several.max_by(|a, b| hung(a).total_cmp(&hung(b)))?;
    let area_mm2: f64 = group.iter().map(|p| p.area_mm2).sum();
    let largest = group
        .iter()
        .max_by(|a, b| a.area_mm2.total_cmp(&b.area_mm2))?;
    let worth = hung(&group) >= LEAST_SHARE * all_mm3 && area_mm2 >= WIDE_SPLIT_MM2;
    let mut at = largest.middle;
    at.z = largest.low_mm;
    let gain = freed(site, area_mm2);
    (worth && largest.low_mm > site.bench.settings.first_layer_mm)
        .then(|| split(site, "Split", at, area_mm2, gain))
}

/// A cut where a ledge begins: the upper piece lies on that very face.
fn split(
    site: &Site,
    lead: &str,
    at: Point3<f64>,
    area_mm2: f64,
    gain: (&'static str, f64, f64),
) -> Remedy {
    let area = words::area(area_mm2);
    site.remedy(Change::Split, at, area_mm2, gain, |place| {
        format!(
            "{lead} the part at {place}: the upper piece then lies with these {area} on the bed and needs no support under them. Glue or bolt the two."
        )
    })
}

fn proposals(
    site: &Site,
    patch: &Patch,
    spanning: &bridges::Spanning,
    gain: (&'static str, f64, f64),
) -> Vec<Remedy> {
    let s = site.bench.settings;
    let mut out = Vec::new();
    let below = section_below(site, patch);
    let reach = reach(site, patch, below.as_ref());
    let area = words::area(patch.area_mm2);
    let limit = words::degrees(s.limit_deg);
    let level = patch.high_mm - patch.low_mm <= (LEVEL_SHARE * reach).max(s.layer_mm);
    let mut at = patch.middle;
    at.z = patch.low_mm;
    let told = spanning.bridges.iter().filter_map(Bridge::told);
    let over = told.filter(|b| {
        b.span_mm > s.bridge_limit_mm
            && b.z_mm >= patch.low_mm - s.layer_mm
            && b.z_mm <= patch.high_mm + s.layer_mm
    });
    let over: Vec<Bridge> = over.collect();
    if let (Some(bridge), true) = (spans::longest(&over), level) {
        let span = bridge.span_mm;
        at.z = bridge.z_mm.clamp(patch.low_mm, patch.high_mm);
        let ribs = (span / s.bridge_limit_mm).ceil() - 1.0;
        let [wide, each, high] = [span, span / (ribs + 1.0), span / 2.0].map(words::length);
        if span <= MACHINE_SPAN_MM {
            return out;
        }
        let few = ribs <= MOST_RIBS && is_whole(site, patch);
        let ribs = words::count(ribs as usize, "rib", "ribs");
        let fits = span / 2.0 <= GABLE_SHARE * site.entry.figures.height_mm;
        let gable = format!(" Or close it as a gable of {limit} instead, {high} high.");
        let gable = if fits { gable } else { String::new() };
        if few {
            out.push(site.remedy(Change::Rib, at, span, gain, |place| {
            format!(
                "If the space below may be divided, put {ribs} under the ceiling at {place}, down to what is below: {wide} across becomes {each} at a time, which bridges.{gable}"
            )
        }));
        }
    } else if let (true, true) = (level, reach.is_finite()) {
        let leg = reach / libm::tan(s.limit_deg.to_radians()).max(1e-3);
        let [out_mm, lower] = [reach, leg].map(words::length);
        let worth = reach.min(leg) >= LEAST_CHANGE_MM;
        if worth
            && leg <= LONGEST_LEG_MM
            && leg < patch.low_mm
            && has_room(site, patch, below.as_ref(), [reach, leg])
        {
            out.push(site.remedy(Change::Chamfer, at, reach, gain, |place| {
                format!(
                    "Put a chamfer of {limit} under the overhang at {place}: it reaches out {out_mm}, so the chamfer starts {lower} lower; that takes {area} of overhang away."
                )
            }));
        }
    } else if !level && patch.is_plane && can_be_steepened(patch, s.limit_deg) {
        out.push(site.remedy(Change::Steepen, at, reach, gain, |place| {
            format!(
                "Make the underside from {place} up to z = {} mm no flatter than {limit} from the vertical: {area} lean further than that now.",
                words::decimal(patch.high_mm, 1)
            )
        }));
    }
    let lead = if out.is_empty() { "Split" } else { "Or split" };
    let holds = || {
        below
            .as_ref()
            .is_some_and(|s| s.pieces.iter().map(|p| p.area_mm2).sum::<f64>() >= GLUED_MM2)
    };
    let worth = patch.area_mm2 >= WIDE_SPLIT_MM2 || out.is_empty() && holds();
    if level && worth && patch.area_mm2 >= SPLIT_MM2 && patch.low_mm > s.first_layer_mm {
        out.push(split(site, lead, at, patch.area_mm2, gain));
    }
    out
}

/// Whether a patch goes round no hole: a rib across it would block that. By Euler's formula, corners less
/// edges and facets are 1 then.
fn is_whole(site: &Site, patch: &Patch) -> bool {
    let triangles = patch
        .triangles
        .iter()
        .map(|&t| site.bench.part.mesh.triangles[t]);
    let (mut corners, mut edges) = (BTreeSet::new(), BTreeSet::new());
    for t in triangles {
        corners.extend(t);
        edges.extend((0..3).map(|k| (t[k].min(t[(k + 1) % 3]), t[k].max(t[(k + 1) % 3]))));
    }
    corners.len() + patch.triangles.len() == edges.len() + 1
}

/// Whether a slope needs only a change of some degrees, and more of it than a print is off by.
fn can_be_steepened(patch: &Patch, limit_deg: f64) -> bool {
    let high_mm = patch.high_mm - patch.low_mm;
    let limit = libm::tan(limit_deg.to_radians());
    let moved_mm = high_mm * (libm::tan(patch.lean_rad) - limit);
    patch.lean_rad.to_degrees() <= limit_deg + STEEPENED_DEG && moved_mm >= LEAST_CHANGE_MM
}

/// The section just below a patch.
fn section_below(site: &Site, patch: &Patch) -> Option<Section> {
    let below = (patch.low_mm - 0.5 * site.bench.settings.layer_mm)
        .max(0.5 * site.bench.settings.touch_mm());
    slicing::cut(&site.posed, &[below])
        .sections
        .into_iter()
        .next()
}

/// Whether a chamfer with this reach and leg under a patch runs into nothing of the part.
fn has_room(
    site: &Site,
    patch: &Patch,
    below: Option<&Section>,
    [reach_mm, leg_mm]: [f64; 2],
) -> bool {
    let Some(section) = below else {
        return false;
    };
    let down = &site.posed.pose.down;
    let part_from_build = site.posed.pose.build_from_part.inverse();
    patch.triangles.iter().all(|&t| {
        let blocked = mean(&site.posed.corners(t), LOOK_MM, LOOKS, |p| {
            let deep_mm = leg_mm * (1.0 - distance(section, p.xy()) / reach_mm);
            let from = part_from_build * p;
            let room_mm = site.bench.void_within(&from, down, deep_mm.max(0.0));
            let is_free = room_mm.is_none_or(|room_mm| room_mm >= deep_mm - LEAST_CHANGE_MM);
            f64::from(u8::from(!is_free))
        });
        blocked == 0.0
    })
}

/// How far the patch reaches from the material just below it, mm; infinite over none.
fn reach(site: &Site, patch: &Patch, below: Option<&Section>) -> f64 {
    let Some(section) = below else {
        return f64::INFINITY;
    };
    let top_mm = patch.low_mm + site.bench.settings.layer_mm;
    let corners = patch.triangles.iter().flat_map(|&t| site.posed.corners(t));
    corners
        .filter(|p| p.z <= top_mm || patch.triangles.len() == 1)
        .map(|p| distance(section, p.xy()))
        .fold(0.0, f64::max)
}

/// From a point to the nearest outline of a section, mm; 0 inside it.
fn distance(section: &Section, p: Point2<f64>) -> f64 {
    let rings = || section.pieces.iter().flat_map(crate::figures::Piece::loops);
    if polygon::contains(rings().flat_map(polygon::edges), p) {
        return 0.0;
    }
    (rings().flat_map(polygon::edges))
        .map(|edge| polygon::from_edge(edge, p).norm())
        .fold(f64::INFINITY, f64::min)
}

/// Middle of a facet in the build frame.
fn middle(site: &Site, t: usize) -> Point3<f64> {
    let [a, b, c] = site.posed.corners(t);
    Point3::from((a.coords + b.coords + c.coords) / 3.0)
}

/// Overhang that no bridge carries, in connected patches.
fn patches(site: &Site, carried: &bridges::Carried) -> Vec<Patch> {
    let (part, s) = (site.bench.part, site.bench.settings);
    let hangs = |t: usize| {
        let at = middle(site, t);
        -site.posed.normal_z[t] > s.overhang_sin()
            && site.posed.corners(t).iter().any(|p| p.z > s.touch_mm())
            && !carried.carried(at.x, at.y, at.z)
    };
    let mut left: Vec<bool> = (0..part.mesh.triangles.len()).map(hangs).collect();
    let mut out = Vec::new();
    for seed in 0..left.len() {
        let mut triangles = Vec::new();
        let mut next = vec![seed];
        while let Some(t) = next.pop() {
            if std::mem::take(&mut left[t]) {
                triangles.push(t);
                let across = &part.opposite[3 * t..3 * t + 3];
                let there = across.iter().filter(|&&h| h != NO_NEIGHBOUR);
                next.extend(there.map(|h| (h / 3) as usize));
            }
        }
        if !triangles.is_empty() {
            triangles.sort_unstable();
            out.push(patch(site, triangles));
        }
    }
    out
}

fn patch(site: &Site, triangles: Vec<usize>) -> Patch {
    let (mut area, mut hung, mut leans) = (0.0, 0.0, 0.0);
    let (mut moment, mut flux) = (nalgebra::Vector3::zeros(), nalgebra::Vector3::zeros());
    for &t in &triangles {
        let (a, at) = (site.bench.part.areas[t], middle(site, t));
        flux += site.bench.part.normals[t] * a;
        area += a;
        leans += a * -site.posed.normal_z[t];
        hung += a * -site.posed.normal_z[t] * at.z;
        moment += at.coords * a;
    }
    let (low_mm, high_mm) =
        span((triangles.iter()).flat_map(|&t| site.posed.corners(t).map(|p| p.z)));
    let mean = Point3::from(moment / area.max(f64::MIN_POSITIVE));
    let middles = triangles.iter().map(|&t| middle(site, t));
    Patch {
        area_mm2: area,
        hung_mm3: hung,
        low_mm,
        high_mm,
        is_plane: flux.norm() >= PLANE_SHARE * area,
        lean_rad: libm::asin((leans / area.max(f64::MIN_POSITIVE)).clamp(0.0, 1.0)),
        middle: middles
            .min_by(|a, b| (a - mean).norm().total_cmp(&(b - mean).norm()))
            .unwrap_or(mean),
        triangles,
    }
}

/// Ways into closed cavities.
pub(super) fn cavities(site: &Site) -> Vec<Remedy> {
    let f = &site.entry.figures;
    let room = |b: &&Body| b.cavity && b.volume_mm3.abs() >= SHUT_MM3;
    let cavities = site.bench.part.bodies.iter().filter(room);
    let measured = cavities.map(|b| {
        let corners = (b.triangles.iter()).flat_map(|&t| site.posed.corners(t as usize));
        (b.volume_mm3.abs(), bounds(corners).unwrap_or_default())
    });
    let mut shut: Vec<(f64, [Point3<f64>; 2])> = measured.collect();
    shut.sort_by(|a, b| b.0.total_cmp(&a.0));
    let Some((volume, [lo, hi])) = shut.first() else {
        return Vec::new();
    };
    let mut top = nalgebra::center(lo, hi);
    top.z = hi.z;
    let across = (hi.x - lo.x).min(hi.y - lo.y);
    let gain = ("support_trapped_mm3", f.support_trapped_mm3, 0.0);
    let several = (shut.len() > 1).then(|| format!(" (the largest of {})", shut.len()));
    let several = several.unwrap_or_default();
    let limit = words::degrees(site.bench.settings.limit_deg);
    let [wide, high] = [across, across / 2.0].map(words::length);
    vec![
        site.remedy(Change::Open, top, *volume, gain, |place| {
            format!(
                "Open the closed cavity of {}{several}, its ceiling at {place}: leave out what lies over or beside it, or make it a lid, so that support can be removed.",
                words::volume(*volume)
            )
        }),
        site.remedy(Change::Chamfer, top, across / 2.0, gain, |place| {
            format!(
                "Or close that cavity with a gable of {limit} instead of the flat ceiling at {place}: {wide} across needs {high} of height, and nothing to hold it."
            )
        }),
        site.remedy(Change::Split, top, across, gain, |place| {
            format!("Or split the part at {place}, where the cavity ends, and put the lid on afterwards.")
        }),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 10 mm high at 55° it reaches out 4.3 mm further than at 45°, at 46° 0.35 mm; half a millimetre
    /// high 0.21 mm; at 80° it is a ceiling.
    #[test]
    fn a_slope_is_made_steeper_only_by_some_degrees_and_more_than_a_hair() {
        let slope = |high_mm: f64, lean_deg: f64| Patch {
            area_mm2: 100.0,
            hung_mm3: 100.0,
            low_mm: 5.0,
            high_mm: 5.0 + high_mm,
            middle: Point3::origin(),
            is_plane: true,
            lean_rad: lean_deg.to_radians(),
            triangles: vec![0],
        };
        for (high_mm, lean_deg, worth) in [
            (10.0, 55.0, true),
            (10.0, 46.0, true),
            (0.5, 55.0, false),
            (5.0, 46.0, false),
            (10.0, 80.0, false),
        ] {
            assert_eq!(
                can_be_steepened(&slope(high_mm, lean_deg), 45.0),
                worth,
                "{high_mm} {lean_deg}"
            );
        }
    }
}
