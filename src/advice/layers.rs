//! Which way the layers run through a part, in words: where bending parts them, and which
//! members have them along.

use crate::advice::reasons::FAR_BEHIND;
use crate::advice::spans::mm;
use crate::figures::parting::{Parting, Seat};
use crate::plane::rect;
use crate::rank::search::Scored;
use crate::settings::{Aim, Settings};
use crate::words;
use nalgebra::{Unit, Vector3};

/// Stress for each newton below which bending parts nothing, mm⁻²: a hand's push of 50 N makes
/// 20 N/mm² of it, about what layers hold (house value).
const HARMLESS: f64 = 0.4;
/// Height that a section carries, over that of the part, from which on bending is worth a word
/// (house value).
const LEVER_SHARE: f64 = 0.15;
/// A section that is less solid than this is a shell or a profile: its wall gives way before the
/// whole of it bends (house value).
const SOLID: f64 = 0.9;
/// … of several alike, which are fingers, so much (house value).
const FINGERS: f64 = 0.7;
/// A section that is as solid is round: a disc has 1.05, a hexagon 1.04.
const ROUND: f64 = 1.03;
/// The same stress of a wall in the corner with its base, which a bracket is for, mm⁻²: 130 N make 20 N/mm²
/// of it (house value).
const CORNER: f64 = 0.15;
/// A part touches the bed within this height, mm (house value).
const TOUCH_MM: f64 = 2.0;
/// Height over width from which it is a post (house value).
const POST: f64 = 3.0;
/// A post no wider than this, and so many times as high, may be meant to flex, mm (house values).
const FLEXES: (f64, f64) = (4.0, 8.0);
/// A part lies flat that is no higher than this share of its longer side (house value).
const FLAT: f64 = 0.25;
/// … and that is so many times as long as wide: of a square one the length says nothing (house
/// value).
const LONG: f64 = 2.0;
/// Sections of a plate are no smaller than this share of the largest, over the inner eight tenths
/// (house value).
const PLATE: f64 = 0.6;
/// Sections are one profile from this share of the largest on, over the inner eight tenths …
const EVEN: f64 = 0.9;
/// … which make up this share of the largest of all …
const LIKE_ENDS: f64 = 0.75;
/// … and it is more than a plate below this share of its rectangle (house values).
const OPEN: f64 = 0.6;
/// A part stands on its end that is so many times as high as its longer side, and so high, mm (house
/// values).
const ON_END: f64 = 1.5;
const ON_END_MM: f64 = 30.0;
/// What is higher than this share of its longer side stands, and bends over its height (house
/// value).
const LIES: f64 = 0.75;
/// Poses whose bed direction lies this near to a line look along it, cosine of 10°.
const ALONG_COS: f64 = 0.985;
/// Stress of another pose, as a share of that here, from which on it is pointed to (house value).
const LESS: f64 = 0.5;
/// … and this near to square to it lay it down, sine of 15°.
const ACROSS_SIN: f64 = 0.259;

/// What is sure of the layers of one pose, in a sentence; `listed` are the poses of the list, best
/// first, in which it may point to another one.
pub(super) fn sentence(entry: &Scored, listed: &[Scored]) -> Option<String> {
    let others = Others { entry, listed };
    // Arms that bend along their layers say more than where the rest of the part is weakest.
    along(entry)
        .or_else(|| parts_at(entry, &others))
        .or_else(|| sturdy(entry))
        .or_else(|| on_end(entry, &others))
}

/// What the aim asks for and cannot have.
pub(super) fn aim(settings: &Settings) -> Option<String> {
    let blind = settings.aim == Aim::Strong && settings.load.is_none();
    blind.then(|| {
        "The aim `strong` ranks by the load on the part: name its direction with `--load X,Y,Z`, else it changes nothing."
            .into()
    })
}

/// Whether the section is where a slanting underside first touches the bed: a little higher there is
/// far more.
fn is_first_touch(entry: &Scored, p: &Parting) -> bool {
    let profile = &entry.cuts.profile;
    let at = |z: f64| {
        let k = profile.z_mm.partition_point(|&other| other < z);
        profile.area_mm2.get(k).copied().unwrap_or(0.0)
    };
    p.z_mm <= TOUCH_MM && at(p.z_mm + TOUCH_MM) > 2.0 * at(p.z_mm)
}

/// Where bending parts the layers first, if that is a wall or a post that a hand can bend.
fn parts_at(entry: &Scored, others: &Others) -> Option<String> {
    // Where several pieces carry the rest together, which of them parts is not known; between the holes of
    // a wall that does not matter.
    let slim = |p: &Parting| {
        let corner = match p.seat {
            Seat::Base => p.base_beyond_mm > p.width_mm,
            Seat::More => others.along(p).is_some(),
            Seat::Bed => false,
        };
        let corner = p.is_wall() && corner;
        (p.pieces == 1 || p.in_row)
            && p.stress() >= if corner { CORNER } else { HARMLESS }
            && p.arm_mm >= POST * p.width_mm
            && p.arm_mm >= LEVER_SHARE * entry.figures.height_mm
            && p.solid >= if p.alike > 1 { FINGERS } else { SOLID }
            && !is_first_touch(entry, p)
    };
    let p = entry.cuts.parting.filter(slim)?;
    let (wide, tall) = (about(thickness_mm(&p)), mm(p.arm_mm));
    let at = format!("between the layers at z = {}", mm(p.z_mm));
    let wall = p.is_wall();
    let upright = if wall {
        format!("wall (about {wide} thick, {tall} high)")
    } else {
        format!("post (about {wide} wide, {tall} high)")
    };
    let each = if p.alike > 1 { "each " } else { "the " };
    match p.seat {
        Seat::Base if wall && p.base_beyond_mm > p.width_mm => {
            let round = match others.along(&p) {
                Some(pose) => format!(" {pose} runs the layers round that corner."),
                None => String::new(),
            };
            Some(format!(
                "Bent, it parts first {at}, in the corner where {each}{upright} meets its base.{round}"
            ))
        }
        Seat::Base => {
            let flex = flexes(&p).then(|| others.across()).flatten();
            let (it_is, it) = if p.alike > 1 {
                ("they are", "them")
            } else {
                ("it is", "it")
            };
            let flex = flex.map(|pose| {
                format!(" If {it_is} to flex, take {pose}: its layers run along {it}.")
            });
            Some(format!(
                "Bent sideways, it parts first {at}, where {each}{upright} meets its base.{}",
                flex.unwrap_or_default()
            ))
        }
        Seat::Bed => Some(format!(
            "Bent sideways, it parts first just above the bed: the layers run across {each}{upright}."
        )),
        // A row of holes weakens a bracket above its corner.
        Seat::More if wall => others.along(&p).map(|pose| {
            let what = if p.pieces == 1 {
                format!("the upright {upright}")
            } else {
                "an upright wall with holes in it".to_owned()
            };
            format!("Bent, {what} parts between layers. {pose} runs the layers along its profile.")
        }),
        // Along a taper the stress is much the same over a long way: the place is not sure.
        Seat::More => None,
    }
}

/// What is true of a part that bending does not part.
fn sturdy(entry: &Scored) -> Option<String> {
    let f = &entry.figures;
    let [x, y] = f.footprint_mm;
    let (long, short) = (x.max(y), x.min(y));
    if is_profile(entry) && f.height_mm <= LIES * long {
        Some(
            "Every layer follows the whole profile: bent in its plane, it does not part between layers."
                .into(),
        )
    } else if f.height_mm <= FLAT * long && long >= LONG * short && is_plate(entry) {
        Some(
            if f.height_mm <= short {
                "It lies flat: the layers run along its whole length, so bending it does not part them."
            } else {
                "The layers run along its whole length, so bending it does not part them."
            }
                .into(),
        )
    } else {
        None
    }
}

/// That a part which a hand can bend stands on its end, where it is not sure at which layer it parts.
fn on_end(entry: &Scored, others: &Others) -> Option<String> {
    let f = &entry.figures;
    let [x, y] = f.footprint_mm;
    let stands = f.height_mm >= (ON_END * x.max(y)).max(ON_END_MM);
    let is_weak = (entry.cuts.parting).is_some_and(|p| p.stress() >= HARMLESS);
    let lying = || (others.across()).map(|pose| format!("; {pose} lays it down"));
    (stands && is_weak).then(|| {
        format!(
            "It stands on its end: bent or pulled hard, it parts between layers{}.",
            lying().unwrap_or_default()
        )
    })
}

/// Whether every layer has the same section, and that is no mere plate or block: a hook, a clip
/// or a bracket that lies on its side.
fn is_profile(entry: &Scored) -> bool {
    let (least, most) = inner_sections(entry);
    let [x, y] = entry.figures.footprint_mm;
    // A box with a floor is none.
    let all = entry.cuts.profile.area_mm2.iter().copied();
    let ends_too = all.fold(0.0, f64::max) * LIKE_ENDS <= most;
    least >= EVEN * most && most <= OPEN * x * y && ends_too
}

/// Smallest and largest section over the inner eight tenths of the height, mm².
fn inner_sections(entry: &Scored) -> (f64, f64) {
    let areas = &entry.cuts.profile.area_mm2;
    let tenth = areas.len() / 10;
    let inner = areas.get(tenth..areas.len() - tenth).unwrap_or_default();
    rect::span(inner.iter().copied())
}

/// Whether the section stays the same by and large from bed to top: a tray or a box of that height
/// bends in its walls, which is another matter.
fn is_plate(entry: &Scored) -> bool {
    let (least, most) = inner_sections(entry);
    least >= PLATE * most
}

/// Members that have the layers along them.
fn along(entry: &Scored) -> Option<String> {
    let l = entry.cuts.limbs?;
    let size = format!("({} wide)", mm(l.width_mm));
    Some(match l.count {
        1 => format!(
            "Its thin arm {size} lies in the layers: it bends along them and does not part."
        ),
        n => format!(
            "Its {n} thin arms {size} lie in the layers: they bend along them and do not part."
        ),
    })
}

/// A width to half a millimetre: a cut where a wall meets a fillet or leans is no finer.
fn about(width_mm: f64) -> String {
    mm(libm::round(2.0 * width_mm).max(1.0) / 2.0)
}

/// How thick a post or wall is: of a round one its diameter.
fn thickness_mm(p: &Parting) -> f64 {
    let area_mm2 = p.length_mm * p.width_mm;
    if p.solid >= ROUND {
        2.0 * (area_mm2 / std::f64::consts::PI).sqrt()
    } else {
        p.width_mm
    }
}

/// Thin and tall enough to be an arm that gives.
fn flexes(p: &Parting) -> bool {
    let (widest, ratio) = FLEXES;
    p.width_mm <= widest && p.arm_mm >= ratio * p.width_mm
}

/// The other poses of the list.
struct Others<'a> {
    entry: &'a Scored,
    listed: &'a [Scored],
}

impl Others<'_> {
    /// The first other pose that can be printed and whose bed direction passes, by its rank and
    /// side.
    fn first(&self, passes: impl Fn(&Scored, &Unit<Vector3<f64>>) -> bool) -> Option<String> {
        let own = &self.entry.candidate.down;
        (self.listed.iter().zip(1..))
            .filter(|(s, _)| s.candidate.down != *own && s.candidate.gates.is_empty())
            .find(|(s, _)| passes(s, &s.candidate.down))
            .map(|(s, rank)| {
                let side = words::side_down(&s.candidate.down);
                format!("Pose {rank} ({side})")
            })
    }

    /// One that stands on the profile of a wall: its layers are parallel to the profile.
    fn along(&self, p: &Parting) -> Option<String> {
        let long = Vector3::new(p.along.x, p.along.y, 0.0);
        let in_part = self.entry.pose.rotation().inverse() * long;
        self.first(|_, down| down.dot(&in_part).abs() >= ALONG_COS)
    }

    /// One that lays down what stands upright.
    fn across(&self) -> Option<String> {
        let up = self.entry.candidate.down;
        let near = |s: &Scored| s.total - self.entry.total <= FAR_BEHIND;
        // What it stands up instead may be weaker.
        let stress = |s: &Scored| s.cuts.parting.map_or(0.0, |p| p.stress());
        let own = stress(self.entry);
        let better = |s: &Scored| stress(s) <= LESS * own;
        let pose =
            self.first(|s, down| near(s) && better(s) && down.dot(&up).abs() <= ACROSS_SIN)?;
        Some(pose.replacen('P', "p", 1))
    }
}

#[cfg(test)]
mod tests;
