//! What stands badly: too little base, slender pieces, parts too large for the bed.

use crate::advice::design::remedy::LEAST_CHANGE_MM;
use crate::advice::design::{Change, Remedy, Site};
use crate::figures::slender::slenderest;
use crate::figures::slicing;
use crate::figures::slivers::is_sliver;
use crate::figures::{Footing, Piece, Stretch};
use crate::plane::rect;
use crate::pose::{Pose, Posed};
use crate::words;
use nalgebra::{Point2, Point3, Unit, Vector2, Vector3};

/// Contact that needs no brim, for each millimetre of height, mm²/mm.
const CONTACT_PER_HEIGHT: f64 = 4.0;
/// A flat may take this share of the height away.
const MOST_CUT: f64 = 0.1;
/// Sections that shrink by more than this share below a flat are those of a lug or a rim, through which
/// nobody cuts.
const SHRINKS: f64 = 0.02;
/// Height over width up to which a piece may stand free (house value).
const FREE_RATIO: f64 = 8.0;
/// A brace longer than this, from wall to wall, is a part of its own, mm (house value).
const LONGEST_BRACE_MM: f64 = 40.0;
/// Planes among which the best place to cut is looked for.
const PLANES: usize = 64;

/// A cut is worth it where it leaves so many times the contact (house value).
const WORTH_CUTTING: f64 = 1.5;

/// Cuts a flat off the lowest end, as low as gives the contact that is missing.
pub(super) fn flat(site: &Site) -> Vec<Remedy> {
    let f = &site.entry.figures;
    let wanted = CONTACT_PER_HEIGHT * f.height_mm;
    let profile = &site.entry.cuts.profile;
    let grows = |k: usize| {
        let below = profile.area_mm2[..=k].windows(2);
        below.into_iter().all(|w| w[1] >= (1.0 - SHRINKS) * w[0])
    };
    let found =
        (profile.z_mm.iter().zip(&profile.area_mm2).enumerate()).find(|&(k, (z_mm, area))| {
            (LEAST_CHANGE_MM..=MOST_CUT * f.height_mm).contains(z_mm) && *area >= wanted && grows(k)
        });
    let cut = found.map(|(_, (&z_mm, _))| slicing::cut(&site.posed, &[z_mm]));
    let side = words::side(&site.entry.candidate.down);
    let now = words::area(f.contact_area_mm2);
    let gain = |to: f64| ("contact_area_mm2", f.contact_area_mm2, to);
    let Some(section) = cut.as_ref().and_then(|c| c.sections.first()) else {
        let (at, to) = (Point3::origin(), words::area(wanted));
        return vec![site.remedy(Change::Flat, at, wanted, gain(wanted), |place| {
            format!("Give the {side} a flat of {to} to stand on, at {place}: it stands on {now} now.")
        })];
    };
    let area: f64 = section.pieces.iter().map(|p| p.area_mm2).sum();
    if area < WORTH_CUTTING * f.contact_area_mm2 {
        return Vec::new();
    }
    let weighed = (section.pieces.iter()).map(|p| p.centroid.coords * p.area_mm2);
    let middle = weighed.sum::<Vector2<f64>>() / area;
    let at = Point3::new(middle.x, middle.y, section.z_mm);
    let (flat, up) = (words::area(area), words::length(section.z_mm));
    vec![site.remedy(Change::Flat, at, area, gain(area), |place| {
        format!(
            "Cut a flat of {flat} on the {side}, {up} up from its lowest point, at {place}: it stands on {now} now."
        )
    })]
}

/// How much further the base has to go under the centroid.
pub(super) fn foot(site: &Site) -> Vec<Remedy> {
    let f = &site.entry.figures;
    let cut = slicing::cut(&site.posed, &[site.bench.settings.touch_mm()]);
    let pieces = cut.sections.iter().flat_map(|s| &s.pieces);
    let points: Vec<Point2<f64>> = pieces.flat_map(|p| p.outer.iter().copied()).collect();
    let base = rect::hull2d(&points);
    let centroid = site.posed.centroid();
    let short = -rect::margin(&base, &centroid.xy());
    // A base that is hardly too short is none: nobody moves it by so little.
    if !(short.is_finite() && short >= LEAST_CHANGE_MM) {
        return Vec::new();
    }
    // As far again as a tilt of 15° would carry the centroid.
    let out = short + centroid.z * libm::tan(15.0_f64.to_radians());
    let at = Point3::new(centroid.x, centroid.y, 0.0);
    let gain = ("tip_angle_deg", f.tip_angle_deg, 15.0);
    let [further, short] = [out, short].map(words::length);
    vec![site.remedy(Change::Foot, at, out, gain, |place| {
        format!(
            "Carry the base {further} further, under the centre of mass and beyond, to {place}: it ends {short} short of it now."
        )
    })]
}

/// Ties the slimmest piece to its nearest neighbour, or makes it wider.
pub(super) fn braces(site: &Site) -> Vec<Remedy> {
    // What sways without being slender is helped by neither.
    // A sliver of the mesh is neither braced nor a neighbour to be tied to.
    let all = || {
        let drawn = |s: &&Stretch| !is_sliver(s, site.bench.settings);
        (site.entry.cuts.stretches.iter().filter(drawn)).filter(|s| s.footing != Footing::Air)
    };
    let Some(thin) = slenderest(all()).filter(|s| s.ratio > FREE_RATIO) else {
        return Vec::new();
    };
    let height = thin.to_mm - thin.from_mm;
    let ties = ((thin.ratio / FREE_RATIO).ceil() - 1.0).max(1.0);
    let each = height / (ties + 1.0);
    let tip = Point3::from(thin.tip_mm);
    let low_mm = thin.from_mm + each;
    let others = all()
        .filter(|s| s.tip_mm != thin.tip_mm)
        .filter(|s| s.from_mm < low_mm && s.to_mm >= thin.from_mm + each * ties)
        .map(|s| Point3::from(s.tip_mm).xy());
    let others: Vec<Point2<f64>> = others.collect();
    let neighbour = brace(site, low_mm, tip.xy(), &others);
    let gain = ("slender_ratio", thin.ratio, each / thin.width_mm);
    let mut out = Vec::new();
    if let Some((from, apart)) = neighbour {
        let at = Point3::new(from.x, from.y, low_mm);
        let one = |value: f64| words::decimal(value, 1);
        let heights = (1..=ties as usize).map(|k| one(thin.from_mm + each * k as f64));
        let several =
            (ties > 1.0).then(|| format!("z = {} mm, the first at ", words::joined(heights, ", ")));
        let several = several.unwrap_or_default();
        let [now, then] = [thin.ratio, each / thin.width_mm].map(one);
        let braces = words::count(ties as usize, "brace", "braces");
        let across = words::length(apart);
        out.push(site.remedy(Change::Brace, at, apart, gain, |place| {
            format!(
                "Tie the pieces that stand free together with {braces} of {across} across, at {several}{place}: {now} : 1 becomes {then} : 1. Slope its underside at 45° where it is longer than your bridges."
            )
        }));
    }
    let wide_mm = height / FREE_RATIO;
    if wide_mm - thin.width_mm < LEAST_CHANGE_MM {
        return out;
    }
    let at = Point3::new(tip.x, tip.y, thin.from_mm);
    let gain = ("slender_ratio", thin.ratio, FREE_RATIO);
    let lead = if neighbour.is_some() {
        "Or make"
    } else {
        "Make"
    };
    let [wide, now] = [wide_mm, thin.width_mm].map(words::length);
    out.push(site.remedy(Change::Thicken, at, wide_mm, gain, |place| {
        format!(
            "{lead} the piece that stands on {place} {wide} wide instead of {now}, or print it lying as a piece of its own."
        )
    }));
    out
}

/// The shortest way from the piece that stands below `tip` to a piece below one of `others`, at a height:
/// where it begins on the first, and how long it is, mm. None without one that a brace may be.
fn brace(
    site: &Site,
    z_mm: f64,
    tip: Point2<f64>,
    others: &[Point2<f64>],
) -> Option<(Point2<f64>, f64)> {
    let cut = slicing::cut(&site.posed, &[z_mm]);
    let pieces = &cut.sections.first()?.pieces;
    let below = |p: &Point2<f64>| {
        let off = |piece: &Piece| (piece.centroid - p).norm();
        (0..pieces.len()).min_by(|&a, &b| off(&pieces[a]).total_cmp(&off(&pieces[b])))
    };
    let own = below(&tip)?;
    let mut ends: Vec<usize> = others.iter().filter_map(below).collect();
    ends.sort_unstable();
    ends.dedup();
    (ends.into_iter().filter(|&other| other != own))
        .filter_map(|other| pieces[own].nearest(&pieces[other]))
        .filter(|(_, apart)| (LEAST_CHANGE_MM..=LONGEST_BRACE_MM).contains(apart))
        .min_by(|a, b| a.1.total_cmp(&b.1))
}

/// The smallest section in the middle third of the part's longest side.
pub(super) fn cut_to_fit(site: &Site) -> Vec<Remedy> {
    let part = site.bench.part;
    let Some((lo, hi)) = part.mesh.bounds() else {
        return Vec::new();
    };
    let size = hi - lo;
    let axis = size.iamax();
    let mut down = Vector3::zeros();
    down[axis] = -1.0;
    let down = Unit::new_unchecked(down);
    let posed = Posed::new(part, Pose::new(&down, &site.bench.hull().vertices));
    let planes: Vec<f64> = (0..PLANES)
        .map(|k| size[axis] * (1.0 + (k as f64 + 0.5) / PLANES as f64) / 3.0)
        .collect();
    let cut = slicing::cut(&posed, &planes);
    let smallest = cut
        .sections
        .iter()
        .map(|s| (s, s.pieces.iter().map(|p| p.area_mm2).sum::<f64>()))
        .filter(|(_, area)| *area > 0.0)
        .min_by(|a, b| {
            // Of equal sections the one nearest the middle.
            let off = |s: &crate::figures::Section| (s.z_mm - size[axis] / 2.0).abs();
            let slack = 1e-6 * (a.1 + b.1);
            if (a.1 - b.1).abs() <= slack {
                off(a.0).total_cmp(&off(b.0))
            } else {
                a.1.total_cmp(&b.1)
            }
        });
    let Some((section, area)) = smallest else {
        return Vec::new();
    };
    let mut at = nalgebra::center(&lo, &hi);
    at[axis] = lo[axis] + section.z_mm;
    let longest = (section.z_mm).max(size[axis] - section.z_mm);
    // A cut whose pieces do not fit either is no help.
    let room = site.bench.settings.bed_mm.into_iter().fold(0.0, f64::max);
    if longest > room {
        return Vec::new();
    }
    let name = ["X", "Y", "Z"][axis.min(2)];
    let build = site.entry.pose.build_from_part * at;
    let gain = ("size_mm", size[axis], longest);
    let (cut, section) = (words::decimal(at[axis], 1), words::area(area));
    vec![site.remedy(Change::Split, build, area, gain, |_| {
        format!(
            "Cut the part across {name} at {cut} in the file, where its section is smallest in the middle third ({section}): the longer piece is {}.",
            words::length(longest)
        )
    })]
}
