//! What on a part a maker may have a purpose with: threads, bores and bosses, large flats, lettering,
//! long members.

use super::kind::{PurposeKind, the};
use super::reliefs::reliefs;
use crate::advice::support::needs_support;
use crate::features::Bore;
use crate::features::regions::Region;
use crate::figures::parting::Parting;
use crate::figures::purpose::is_on_bed;
use crate::figures::quick::Bench;
use crate::gauge::holes::{MOST_DRILLED_MM, is_head_deep};
use crate::rank::search::{Scored, Search};
use crate::words;
use nalgebra::{Point3, Unit, Vector3};

/// Narrower bores and pins are drilled out or do not matter, mm (house value).
const LEAST_ROUND_MM: f64 = 5.0;
/// A surface that goes round by less than this is a fillet, a slot's end or a bore with a pointed
/// roof (three quarters of a turn), degrees.
const LEAST_TURN_DEG: f64 = 300.0;
/// Length over radius of a boss at least (house value).
const LEAST_BOSS: f64 = 1.0;
/// So many alike holes of up to this width along one axis are for screws (house values; clearance for an
/// M6: 6.6 mm, ISO 273, from memory).
const SCREWS: usize = 2;
const SCREW_MM: f64 = 7.0;
/// A hole shorter than this share of its width goes through a plate (house value).
const PLATE: f64 = 0.4;
/// Axes and sides this near to each other are one, cosine of 1°.
const SAME: f64 = 0.999_85;
/// Diameters within this share are equal.
const EQUAL: f64 = 0.02;
/// A flat is large from this share of the surface …
const LARGE_FLAT: f64 = 0.15;
/// … and from this one where it hangs over or leans in the first pose (house values).
const LEANING_FLAT: f64 = 0.05;
/// A smaller one is no side that a part lies on, mm² (house value).
const LEAST_FLAT_MM2: f64 = 50.0;
/// A side that is within this of upright or of level does not lean, sine of 2°.
const STRAIGHT: f64 = 0.035;
/// A part this many times as long as wide is a long one …
const LONG: f64 = 3.0;
/// … and a member of it is from this on: the wall of a housing is none (house values).
const LONG_MEMBER: f64 = 4.0;
/// Support marks that take up this share of the surface matter where they are seen (house value).
const MARKED: f64 = 0.05;
/// Arms of snap fits are no thicker, mm (house value).
const ARM_MM: f64 = 4.0;
/// A face looks down from this cosine on, of 45°: less steep ones need no support.
const FACES_DOWN: f64 = 0.70;
/// Members that a purpose is asked of are at least so wide and so long, mm (house values).
const MEMBER_MM: [f64; 2] = [1.0, 10.0];
/// Kinds of bores named for one axis at most.
const KINDS: usize = 2;

/// Something that may be wanted.
#[derive(Debug, Clone)]
pub(super) struct Wish {
    /// What kind of thing.
    pub kind: PurposeKind,
    /// What it is about, in words.
    pub what: String,
    /// Whether that is several things.
    pub several: bool,
    /// Where, mm, part frame.
    pub at_mm: [f64; 3],
    /// Axis, side or pull, part frame.
    pub direction: Unit<Vector3<f64>>,
    /// What to do where no pose meets it; none where that is not worth a word.
    pub instead: Option<&'static str>,
}

/// All that may be wanted of a part and that the first pose does not do anyway; what the
/// settings ask for already is left out.
pub(super) fn wishes(bench: &Bench, search: &Search, first: &Scored) -> Vec<Wish> {
    let mut all = thread(bench);
    let threaded: Vec<Unit<Vector3<f64>>> = all.iter().map(|w| w.direction).collect();
    // A pose that stands a thread upright does so with what is bored along it.
    let round = round(bench).into_iter();
    all.extend(round.filter(|w| !threaded.iter().any(|axis| parallel(axis, &w.direction))));
    all.extend(flat(bench, search, first));
    all.extend(relief(bench));
    all.extend(seen(bench, first));
    let snaps = snap(bench);
    let bends = !snaps.is_empty();
    all.extend(snaps);
    all.extend(pull(bench, first).filter(|_| !bends));
    // What symmetry carries onto each other is told once.
    let mut out: Vec<Wish> = Vec::new();
    for wish in all {
        let images = search.images(&wish.direction);
        let same = |told: &Wish, image: &Unit<Vector3<f64>>| match wish.kind {
            PurposeKind::Flat | PurposeKind::Relief | PurposeKind::Seen => {
                told.direction.dot(image) > SAME
            }
            _ => parallel(&told.direction, image),
        };
        let told = |w: &Wish| w.kind == wish.kind && images.iter().any(|i| same(w, i));
        if !out.iter().any(told) {
            out.push(wish);
        }
    }
    out
}

pub(super) fn parallel(a: &Unit<Vector3<f64>>, b: &Unit<Vector3<f64>>) -> bool {
    a.dot(b).abs() > SAME
}

/// Of things along axes the first along each, and how many there are along it; those along an axis
/// that was asked for already are left out.
fn one_an_axis<'t, T>(
    things: &'t [T],
    axis: impl Fn(&T) -> Unit<Vector3<f64>>,
    asked: &[Unit<Vector3<f64>>],
) -> Vec<(&'t T, usize)> {
    let mut told = asked.to_vec();
    let mut out = Vec::new();
    for thing in things {
        let own = axis(thing);
        if !told.iter().any(|a| parallel(a, &own)) {
            told.push(own);
            let along = things.iter().filter(|t| parallel(&axis(t), &own));
            out.push((thing, along.count()));
        }
    }
    out
}

/// Threads, one for each direction of axis: the largest.
fn thread(bench: &Bench) -> Vec<Wish> {
    let threads = bench.layout.features.threads(bench.part);
    let mut out = Vec::new();
    for (thread, along) in one_an_axis(threads, |t| t.axis, &bench.settings.round) {
        let wide = words::length(thread.diameter_mm);
        out.push(Wish {
            kind: PurposeKind::Thread,
            what: the(along, &wide, ["thread", "threads"]),
            several: along > 1,
            at_mm: thread.centre.coords.into(),
            direction: thread.axis,
            instead: Some(if thread.inner {
                "print a plain hole and cut the thread with a tap"
            } else {
                "cut the thread with a die, or print it as a part of its own"
            }),
        });
    }
    out
}

/// Bores and bosses that are whole, round and at least this wide: those that may matter. Without a least
/// width all that a user may ask for.
fn rounds<'a>(bench: &'a Bench, least_mm: Option<f64>) -> Vec<&'a Bore> {
    let features = &bench.layout.features;
    let scan = features.is_scan();
    let turn_rad = LEAST_TURN_DEG.to_radians();
    let counts = |b: &&Bore| {
        // Short pieces of round bar are links of a bent one.
        let straight = b.hole || b.length_mm >= LEAST_BOSS * b.radius_mm;
        let wide_mm = 2.0 * b.radius_mm;
        let for_head = b.hole && is_head_deep(b);
        let matters = least_mm.is_none_or(|least_mm| wide_mm >= least_mm && !for_head);
        !scan && straight && matters && b.turn_rad >= turn_rad
    };
    features.bores.iter().filter(counts).collect()
}

/// What along an axis must be round, in words: "the 22 mm bore and the four 8.7 mm bores", and
/// whether that is several. The two kinds with the largest surfaces are named; steps of one bore
/// are one.
pub(super) fn named_along(
    bench: &Bench,
    axis: &Unit<Vector3<f64>>,
    least_mm: Option<f64>,
) -> Option<(String, bool)> {
    let along: Vec<&Bore> = (rounds(bench, least_mm).into_iter())
        .filter(|b| parallel(&b.axis, axis))
        .collect();
    let alike = |a: &Bore, b: &Bore| {
        (a.radius_mm - b.radius_mm).abs() <= EQUAL * b.radius_mm && a.hole == b.hole
    };
    // Two pieces of one bore, before and behind a gap, are one.
    let in_line =
        |a: &Bore, b: &Bore| (a.centre - b.centre).cross(&b.axis).norm() <= EQUAL * b.radius_mm;
    let mut kinds: Vec<(&Bore, Vec<&Bore>)> = Vec::new();
    for bore in along {
        match kinds.iter_mut().find(|k| alike(bore, k.0)) {
            Some(kind) if kind.1.iter().any(|b| in_line(b, bore)) => {}
            Some(kind) => kind.1.push(bore),
            None => kinds.push((bore, vec![bore])),
        }
    }
    let for_screws = |(bore, all): &(&Bore, Vec<&Bore>)| {
        bore.hole && all.len() >= SCREWS && 2.0 * bore.radius_mm <= SCREW_MM
    };
    if least_mm.is_some() {
        kinds.retain(|k| !for_screws(k));
    }
    let words: Vec<String> = (kinds.iter().take(KINDS))
        .map(|(bore, all)| {
            let wide = words::length(2.0 * bore.radius_mm);
            let nouns = if bore.hole {
                ["bore", "bores"]
            } else {
                ["boss", "bosses"]
            };
            the(all.len(), &wide, nouns)
        })
        .collect();
    let several = kinds.len() > 1 || kinds.iter().any(|k| k.1.len() > 1);
    let along = axis_name(axis).filter(|_| is_ambiguous(bench, axis, least_mm));
    let along = along.map_or_else(String::new, |axis| format!(" along {axis}"));
    (!words.is_empty()).then(|| (words.join(" and ") + &along, several))
}

/// Whether other round things lie along another axis.
fn is_ambiguous(bench: &Bench, axis: &Unit<Vector3<f64>>, least_mm: Option<f64>) -> bool {
    let all = rounds(bench, least_mm);
    all.iter().any(|b| !parallel(&b.axis, axis))
}

/// The axis of the file that a direction lies along.
fn axis_name(direction: &Unit<Vector3<f64>>) -> Option<&'static str> {
    let main = direction.iamax();
    (direction[main].abs() > SAME).then(|| ["X", "Y", "Z"][main])
}

/// What stands upright in one pose and lies in another, in words: "the 22 mm bore along Z then lies".
pub(super) fn laid_down(bench: &Bench, [here, there]: [&Unit<Vector3<f64>>; 2]) -> Option<String> {
    if parallel(here, there) {
        return None;
    }
    let (what, several) = named_along(bench, here, Some(LEAST_ROUND_MM))?;
    Some(format!(
        "{what} then {}",
        if several { "lie" } else { "lies" }
    ))
}

/// Where in the part a bore along an axis is: the one with the largest surface.
pub(super) fn place(
    bench: &Bench,
    kind: PurposeKind,
    axis: &Unit<Vector3<f64>>,
) -> Option<[f64; 3]> {
    let round = kind == PurposeKind::Round;
    let all = rounds(bench, None).into_iter().filter(|_| round);
    let mut along = all.filter(|b| parallel(&b.axis, axis));
    along.next().map(|b| b.centre.coords.into())
}

/// Whether a hole is so short for its width that it comes out round enough as it lies.
fn is_in_plate(b: &Bore) -> bool {
    b.hole && b.length_mm < PLATE * 2.0 * b.radius_mm
}

/// Bores and bosses, one for each direction of axis: all that is round along it.
fn round(bench: &Bench) -> Vec<Wish> {
    let all = rounds(bench, Some(LEAST_ROUND_MM));
    let mut out = Vec::new();
    for (bore, _) in one_an_axis(&all, |b| b.axis, &bench.settings.round) {
        let Some((what, several)) = named_along(bench, &bore.axis, Some(LEAST_ROUND_MM)) else {
            continue;
        };
        out.push(Wish {
            kind: PurposeKind::Round,
            what,
            several,
            at_mm: bore.centre.coords.into(),
            direction: bore.axis,
            instead: (!is_in_plate(bore)).then_some(
                if bore.hole && 2.0 * bore.radius_mm > MOST_DRILLED_MM {
                    "support it from inside and file it to size"
                } else if bore.hole {
                    "print it small and drill or ream it to size"
                } else {
                    "file it round, or print it as a part of its own and glue it on"
                },
            ),
        });
    }
    out
}

/// Lettering and reliefs that nobody asked for yet.
fn relief(bench: &Bench) -> Vec<Wish> {
    let asked = &bench.settings.show;
    let found = reliefs(&bench.layout.features, bench.part.mass.area_mm2);
    let open = found
        .into_iter()
        .filter(|r| !asked.iter().any(|s| s.dot(&r.side) > SAME));
    open.map(|r| {
        let way = if r.height_mm > 0.0 { "raised" } else { "sunk" };
        let side = words::side(&r.side);
        Wish {
            kind: PurposeKind::Relief,
            what: format!("the {way} lettering or relief on the {side}"),
            several: false,
            at_mm: r.at_mm.coords.into(),
            direction: r.side,
            instead: None,
        }
    })
    .collect()
}

/// Sides of the part on which it could lie and which the first pose does not print as flat as
/// the bed: large ones, and smaller ones that lean or hang over in it.
fn flat(bench: &Bench, search: &Search, first: &Scored) -> Vec<Wish> {
    let down = &first.candidate.down;
    let images = search.images(down);
    let surface = bench.part.mass.area_mm2;
    let asked = &bench.settings.flat;
    let touch_mm = bench.settings.touch_mm();
    let mut sides: Vec<(Unit<Vector3<f64>>, f64, Point3<f64>)> = Vec::new();
    for region in &bench.layout.features.regions.list {
        if region.area_mm2 < LEAST_FLAT_MM2.max(LEANING_FLAT * surface) {
            continue;
        }
        // Only what can lie on the bed.
        let reach = (bench.hull().vertices.iter())
            .map(|p| (p - region.centre).dot(&region.normal))
            .fold(0.0, f64::max);
        if reach > touch_mm {
            continue;
        }
        match sides.iter_mut().find(|s| s.0.dot(&region.normal) > SAME) {
            Some(side) => side.1 += region.area_mm2,
            None => sides.push((region.normal, region.area_mm2, region.centre)),
        }
    }
    // A side that is square to an axis of the file has a name that a person knows.
    let wanted = |(side, area_mm2, _): &(Unit<Vector3<f64>>, f64, Point3<f64>)| {
        let up = -side.dot(down);
        let leans = up < -STRAIGHT || (up > STRAIGHT && up < 1.0 - STRAIGHT * STRAIGHT);
        let lies = images.iter().any(|image| is_on_bed(image, side));
        let known = asked.iter().any(|s| s.dot(side) > SAME);
        let is_named = axis_name(side).is_some();
        !lies && !known && is_named && (*area_mm2 >= LARGE_FLAT * surface || leans)
    };
    let told = |(side, _, centre): (Unit<Vector3<f64>>, f64, Point3<f64>)| Wish {
        kind: PurposeKind::Flat,
        what: format!("the {}", words::side(&side)),
        several: false,
        at_mm: centre.coords.into(),
        direction: side,
        instead: None,
    };
    sides.into_iter().filter(wanted).map(told).collect()
}

/// The side that looks down in the first pose, where support marks much of it: that of a large face
/// above the bed, or what is down where the underside is round.
fn seen(bench: &Bench, first: &Scored) -> Option<Wish> {
    let settings = bench.settings;
    let down = first.candidate.down;
    if !needs_support(&first.figures, settings) {
        return None;
    }
    let least_mm2 = MARKED * bench.part.mass.area_mm2;
    if first.figures.overhang_area_mm2 < least_mm2 {
        return None;
    }
    let lowest = (bench.hull().vertices.iter())
        .map(|p| p.coords.dot(&down))
        .fold(f64::NEG_INFINITY, f64::max);
    let hangs = |region: &&Region| {
        let above_mm = lowest - region.centre.coords.dot(&down);
        region.normal.dot(&down) > FACES_DOWN && above_mm > settings.touch_mm()
    };
    let faces = bench.layout.features.regions.list.iter().filter(hangs);
    let largest = faces.max_by(|a, b| a.area_mm2.total_cmp(&b.area_mm2));
    let (side, at) = (largest.filter(|face| face.area_mm2 >= 0.5 * least_mm2))
        .map_or((down, bench.part.mass.centroid), |f| (f.normal, f.centre));
    let known = settings.show.iter().any(|s| s.dot(&side) > SAME);
    // One that lies askew in the file has no name that a person knows it by.
    (!known && axis_name(&side).is_some()).then(|| Wish {
        kind: PurposeKind::Seen,
        what: format!("the {}", words::side(&side)),
        several: false,
        at_mm: at.coords.into(),
        direction: side,
        instead: None,
    })
}

/// Thin arms with a catch, one for each direction: the layers should run along them.
fn snap(bench: &Bench) -> Vec<Wish> {
    if bench.settings.load.is_some() {
        return Vec::new();
    }
    let hooks = one_an_axis(bench.layout.hooks(bench.part), |h| h.along, &[]);
    let told = hooks.into_iter().map(|(hook, count)| {
        let long = words::length(hook.length_mm);
        Wish {
            kind: PurposeKind::Snap,
            what: the(count, &long, ["arm with a catch", "arms with a catch"]),
            several: count > 1,
            at_mm: hook.centre.coords.into(),
            direction: hook.along,
            instead: None,
        }
    });
    told.collect()
}

/// Directions of pull: along a part that is long, and along what stands slim in the first pose.
fn pull(bench: &Bench, first: &Scored) -> Option<Wish> {
    if bench.settings.load.is_some() {
        return None;
    }
    let at_mm: [f64; 3] = bench.part.mass.centroid.coords.into();
    let up = -first.candidate.down;
    let [x, y] = first.figures.footprint_mm;
    // A part that lies along the bed has its layers along it already.
    if first.figures.height_mm >= LONG * x.max(y) {
        return Some(Wish {
            kind: PurposeKind::Pull,
            what: "it is pulled along its length".into(),
            several: false,
            at_mm,
            direction: up,
            instead: None,
        });
    }
    let [wide_mm, long_mm] = MEMBER_MM;
    let large = |p: &Parting| p.width_mm >= wide_mm && p.arm_mm >= long_mm && !p.is_wall();
    let p = (first.cuts.parting).filter(|p| large(p) && p.arm_mm >= LONG_MEMBER * p.width_mm)?;
    // A thin one may be the arm of a snap fit.
    let does = if p.width_mm <= ARM_MM {
        "bends as a snap fit or is pulled"
    } else {
        "is pulled"
    };
    let [wide, tall] = [p.width_mm, p.arm_mm].map(words::length);
    Some(Wish {
        kind: PurposeKind::Pull,
        what: format!("the member {wide} wide and {tall} high {does} along its length"),
        several: false,
        at_mm,
        direction: up,
        instead: None,
    })
}
