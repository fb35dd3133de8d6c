//! How a part stands in the file that is written, and how a calliper lies to it.

use crate::features::regions::Region;
use crate::pose::Pose;
use crate::words::named;
use nalgebra::{Point3, Unit, Vector3};
use serde::Serialize;
use std::fmt;

/// A direction within this of a build axis is called by it, cosine (2°).
const ON_AXIS: f64 = 0.999_4;
/// How deep its outside jaws go, mm (house value).
pub(super) const JAW_MM: f64 = 40.0;
/// An end of the part is all that lies within this of it, mm.
const END_MM: f64 = 0.05;
/// Smallest plane face that a jaw sits on, mm² (house value), …
const LEAST_FLAT_MM2: f64 = 4.0;
/// … square to the jaws to within this, cosine of 0.5°.
const SQUARE_COS: f64 = 0.999_962;
/// Ways in which a round outline is looked at, and the share of its radius that it reaches in
/// each: an outline of 24 sides has 0.991.
const ROUND_WAYS: u32 = 48;
const ROUND_SHARE: f64 = 0.99;
/// … at one height, to this, mm.
const LEVEL_MM: f64 = 1.0;
/// A part turned by less than this from an axis lies along it, degrees.
const SQUARE_DEG: f64 = 0.05;

named! {
    /// How a direction lies to the build axes.
    #[derive(Serialize)]
    BuildAxis:
    /// Along X.
    X "X",
    /// Along Y.
    Y "Y",
    /// Along Z: upright.
    Z "Z",
    /// Along none of them.
    Aslant "aslant",
}

impl BuildAxis {
    /// The axis that a direction in the build frame runs along, either way.
    pub(super) fn of(d: &Unit<Vector3<f64>>) -> Self {
        match d.iamax() {
            _ if d.amax() <= ON_AXIS => Self::Aslant,
            0 => Self::X,
            1 => Self::Y,
            _ => Self::Z,
        }
    }
}

impl fmt::Display for BuildAxis {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

/// How a calliper lies to the part as it stands in the file that is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Lie {
    /// Along an axis, or aslant to all.
    Of(BuildAxis),
    /// Along the part's long side, which lies along no axis.
    Long,
    /// Square to that, level.
    Cross,
}

impl Lie {
    /// "along X", "across the part".
    pub(super) fn along(self) -> String {
        match self {
            Self::Of(BuildAxis::Aslant) => "aslant".into(),
            Self::Of(axis) => format!("along {axis}"),
            Self::Long => "along the part".into(),
            Self::Cross => "across the part".into(),
        }
    }

    /// "about X", "about the cross side".
    pub(super) fn about(self) -> String {
        match self {
            Self::Of(BuildAxis::Aslant) => "aslant".into(),
            Self::Of(axis) => format!("about {axis}"),
            Self::Long => "about the part's long side".into(),
            Self::Cross => "about the part's cross side".into(),
        }
    }

    /// "X", "the long side".
    pub(super) fn name(self) -> String {
        match self {
            Self::Of(axis) => axis.to_string(),
            Self::Long => "the long side".into(),
            Self::Cross => "the cross side".into(),
        }
    }
}

/// A part as it stands in the file that is written.
#[derive(Debug, Clone, Copy)]
pub struct AsWritten<'a> {
    /// Its pose at the default yaw: the long side along X.
    pub level: &'a Pose,
    /// Its pose in the file.
    pub written: &'a Pose,
    /// Its extents along X, Y and Z at the default yaw, mm.
    pub extents_mm: [f64; 3],
    /// Corners of its hull, part frame, mm.
    pub corners: &'a [Point3<f64>],
}

impl AsWritten<'_> {
    /// How far it is turned about Z from the default yaw, degrees, above −90 to 90.
    pub fn turned_deg(&self) -> f64 {
        let turn = self.written.rotation() * self.level.rotation().inverse();
        let deg = libm::atan2(turn[(1, 0)], turn[(0, 0)]).to_degrees();
        let half = if deg > 90.0 + SQUARE_DEG {
            deg - 180.0
        } else if deg <= -90.0 + SQUARE_DEG {
            deg + 180.0
        } else {
            deg
        };
        half + 0.0
    }

    /// The angle where no side of it lies along an axis.
    pub fn aslant_deg(&self) -> Option<f64> {
        let deg = self.turned_deg();
        let square = deg.abs() < SQUARE_DEG || (deg.abs() - 90.0).abs() < SQUARE_DEG;
        (!square).then_some(deg)
    }

    /// Whether a plane face lies square to a direction, part frame, at both ends of the part.
    pub(super) fn is_between_flats(&self, regions: &[Region], way: &Vector3<f64>) -> bool {
        [1.0, -1.0].iter().all(|side| {
            let out = way * *side;
            let end = self.corners.iter().map(|p| p.coords.dot(&out));
            let end = end.fold(f64::NEG_INFINITY, f64::max);
            regions.iter().any(|r| {
                r.area_mm2 >= LEAST_FLAT_MM2
                    && r.normal.dot(&out) >= SQUARE_COS
                    && (r.centre.coords.dot(&out) - end).abs() <= END_MM
            })
        })
    }

    /// Directions of its extents, part frame: along X, Y and Z, or along its long side, across
    /// it, and along Z.
    pub(super) fn ways(&self) -> [(Lie, f64, Vector3<f64>); 3] {
        let aslant = self.aslant_deg().is_some();
        let quarter = !aslant && self.turned_deg().abs() > 45.0;
        let [long, cross, tall] = self.extents_mm;
        let frame = if aslant { self.level } else { self.written };
        let axis = |i: usize| frame.rotation().inverse() * Vector3::ith(i, 1.0);
        let (x, y) = if aslant {
            (Lie::Long, Lie::Cross)
        } else {
            (Lie::Of(BuildAxis::X), Lie::Of(BuildAxis::Y))
        };
        let (wide, deep) = if quarter {
            (cross, long)
        } else {
            (long, cross)
        };
        [
            (x, wide, axis(0)),
            (y, deep, axis(1)),
            (Lie::Of(BuildAxis::Z), tall, axis(2)),
        ]
    }

    /// Which of the ways the outline is round about, and its diameter there, mm.
    pub(super) fn round_outline(&self) -> Option<(usize, f64)> {
        let ways = self.ways().map(|w| w.2);
        [2, 0, 1].into_iter().find_map(|about| {
            let [u, v] = [1, 2].map(|k| ways[(about + k) % 3]);
            let reaches: Vec<(Vector3<f64>, f64)> = (0..ROUND_WAYS)
                .map(|k| {
                    let turn = std::f64::consts::TAU * f64::from(k) / f64::from(ROUND_WAYS);
                    let (s, c) = libm::sincos(turn);
                    let way = u * c + v * s;
                    (way, self.most(&way))
                })
                .collect();
            // The middle of what the outline reaches in all ways (its Steiner point).
            let sum: Vector3<f64> = reaches.iter().map(|(way, mm)| way * *mm).sum();
            let middle = sum * (2.0 / f64::from(ROUND_WAYS));
            let off = |p: &Point3<f64>| {
                let from = p.coords - middle;
                libm::hypot(from.dot(&u), from.dot(&v))
            };
            let radius_mm = self.corners.iter().map(off).fold(0.0, f64::max);
            // Round at one height: blades that twist go all round on the way up.
            let high = |p: &Point3<f64>| p.coords.dot(&ways[about]);
            let outermost = self.corners.iter().find(|p| off(p) >= radius_mm)?;
            let level = |p: &&Point3<f64>| (high(p) - high(outermost)).abs() <= LEVEL_MM;
            let level: Vec<&Point3<f64>> = self.corners.iter().filter(level).collect();
            let most = |way: &Vector3<f64>| {
                let from = level.iter().map(|p| (p.coords - middle).dot(way));
                from.fold(f64::NEG_INFINITY, f64::max)
            };
            let all_round = reaches
                .iter()
                .all(|r| most(&r.0) >= ROUND_SHARE * radius_mm);
            all_round.then_some((about, 2.0 * radius_mm))
        })
    }

    /// How far the part goes in a direction, from the origin of its frame, mm.
    fn most(&self, d: &Vector3<f64>) -> f64 {
        let along = self.corners.iter().map(|p| p.coords.dot(d));
        along.fold(f64::NEG_INFINITY, f64::max)
    }

    /// How a direction of the part lies.
    pub(super) fn lie(&self, d: &Unit<Vector3<f64>>) -> Lie {
        if self.aslant_deg().is_none() {
            return Lie::Of(BuildAxis::of(&(self.written.rotation() * d)));
        }
        match BuildAxis::of(&(self.level.rotation() * d)) {
            BuildAxis::X => Lie::Long,
            BuildAxis::Y => Lie::Cross,
            other => Lie::Of(other),
        }
    }

    /// The jaws reach both ends along `d` from some side.
    pub(super) fn jaws_reach(&self, d: &Vector3<f64>) -> bool {
        let along = |p: &Point3<f64>, d: &Vector3<f64>| p.coords.dot(d);
        let most = |d: &Vector3<f64>, of: &dyn Fn(&Point3<f64>) -> bool| {
            (self.corners.iter().filter(|p| of(p)))
                .map(|p| along(p, d))
                .fold(f64::NEG_INFINITY, f64::max)
        };
        let (high, low) = (most(d, &|_| true), -most(&-*d, &|_| true));
        // The four sides of the part and the ways between them.
        let others: Vec<Vector3<f64>> = (self.ways().iter())
            .map(|w| w.2)
            .filter(|w| w.dot(d).abs() < 0.5)
            .collect();
        let [u, v] = others[..] else {
            return true;
        };
        let sides = [u, v, (u + v).normalize(), (u - v).normalize()];
        (sides.into_iter().flat_map(|s| [s, -s])).any(|side| {
            let outer = most(&side, &|_| true);
            let top = most(&side, &|p| along(p, d) > high - END_MM);
            let foot = most(&side, &|p| along(p, d) < low + END_MM);
            outer - top.min(foot) <= JAW_MM
        })
    }
}
