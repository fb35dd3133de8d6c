//! What no direction within an angle of another can undercut.
//!
//! The quick figures of one direction are turned into bounds on those of all directions of a
//! spherical cap. A facet counts as an overhang of the cap where it is one of each of its
//! directions; contact is at most all of the surface that may look down and lie below touch
//! height; the height is at least that of the two points between which it was taken.

use super::quick::{Bench, CEILING_SIN, UNDERSIDE_SIN};
use super::touch::share_below;
use super::{Figures, gauss::Thresholds, low::low_slope_mm};
use crate::features::Size;
use crate::tol;
use nalgebra::{Point3, Unit, Vector3};
use std::f64::consts::{FRAC_PI_2, PI};

/// What rounding may do to a length, as a share of the part's.
const SLACK: f64 = 1e-9;

/// All directions within an angle of one.
#[derive(Debug, Clone, Copy)]
pub struct Cap {
    /// Its middle, part frame.
    pub middle: Unit<Vector3<f64>>,
    /// Angle from there to its rim, radians; below a right angle.
    pub radius_rad: f64,
}

/// Bounds on the figures of every direction of a cap.
#[derive(Debug, Clone)]
pub struct AtLeast {
    /// Contact area and tipping angle are no larger, all else is no smaller, than of any direction.
    pub figures: Figures,
    /// Overhang that bridges, smallness or the bed may let print by itself, mm²; the charged overhang
    /// of `figures` is without it.
    pub open_mm2: f64,
}

impl Cap {
    /// The cosine that a normal has at least with the middle, where its cosine with every direction
    /// is above `cosine`; above 1 where there is none.
    fn surely(&self, cosine: f64) -> f64 {
        let angle = libm::acos(cosine) - self.radius_rad;
        if angle > 0.0 { libm::cos(angle) } else { 2.0 }
    }

    /// The cosine that a normal has at least with the middle, where its cosine with some direction
    /// is above `cosine`.
    fn perhaps(&self, cosine: f64) -> f64 {
        libm::cos((libm::acos(cosine) + self.radius_rad).min(PI))
    }

    /// How far a direction of the cap and the middle are apart, as points of the unit sphere.
    fn chord(&self) -> f64 {
        2.0 * libm::sin(self.radius_rad / 2.0)
    }
}

impl Bench<'_> {
    /// What none of the directions of a cap undercuts. The part must be closed.
    pub fn at_least(&self, cap: &Cap) -> AtLeast {
        let (part, settings, down) = (self.part, self.settings, &cap.middle);
        let (lowest, highest) = (self.outermost(down), self.outermost(&-*down));
        let (touch, low) = (settings.touch_mm(), low_slope_mm(settings));
        let slack = SLACK * self.layout.diagonal_mm;
        let chord = cap.chord();

        let limit = settings.overhang_sin();
        let ceiling = CEILING_SIN.max(limit);
        let under = UNDERSIDE_SIN.min(limit);
        let sure = cap.surely(limit);
        let level = tol::LEVEL_DEG.to_radians();
        // Overhang of every direction; beyond the second threshold it may be a ceiling of some.
        let at = Thresholds {
            under: sure,
            overhang: sure,
            ceiling: cap.perhaps(ceiling).max(sure),
            level: libm::cos((level + cap.radius_rad).min(FRAC_PI_2)),
        };
        // Underside of every direction, and what may be overhang of some.
        let sure_under = cap.surely(under);
        let beside = Thresholds {
            under: sure_under,
            overhang: cap.perhaps(limit).max(sure_under),
            ceiling: 1.0,
            level: if level > cap.radius_rad {
                libm::cos(level - cap.radius_rad)
            } else {
                2.0
            },
        };
        let [all, little, middling] = self.gauss_sums(down, at);
        let mut overhang_mm2 = all.overhang;
        let mut charged_mm2 = (all.overhang - all.ceiling)
            - (little.overhang - little.ceiling)
            - (middling.overhang - middling.ceiling);
        let sums = self.layout.gauss.sums(down, beside);
        let mut underside_mm2 = sums.under - sums.overhang;

        let mut contact_mm2 = 0.0;
        let reach = low + chord * self.layout.diagonal_mm + slack;
        let from = down.dot(&lowest.coords);
        self.layout.bvh.visit(down, from - reach, |t| {
            let corners = part.mesh.corners(t);
            let depths = corners.map(|p| from - p.coords.dot(down));
            // A point lies no deeper than this below where it does as seen from the middle.
            let away = corners
                .map(|p| (p - lowest).norm())
                .into_iter()
                .fold(0.0, f64::max);
            let slack = chord * away + slack;
            let (area, cosine) = (part.areas[t], part.normals[t].dot(down));
            let touching = area * share_below(depths, touch + slack);
            let most = self.most_cosine(cap, cosine);
            contact_mm2 += touching * most;
            if cosine > sure {
                overhang_mm2 -= touching;
                if cosine <= at.ceiling && self.size(t) == Size::Large {
                    charged_mm2 -= area * share_below(depths, low + slack);
                }
            }
            if cosine > beside.under && cosine <= beside.overhang {
                underside_mm2 -= touching;
            }
        });
        let across: Vector3<f64> = lowest - highest;
        let tilt = libm::atan2(across.cross(down).norm(), across.dot(down)) + cap.radius_rad;
        let height_mm = across.norm() * libm::cos(tilt.min(FRAC_PI_2)) - slack;
        let charged_mm2 = charged_mm2.clamp(0.0, overhang_mm2.max(0.0));
        let steps = all.step_flux - chord * all.step_area;
        let lying = |(axis, area): &(Unit<Vector3<f64>>, f64)| {
            let off = libm::atan2(axis.cross(down).norm(), axis.dot(down).abs());
            let sine = libm::sin((off - cap.radius_rad).max(0.0));
            area * sine * sine
        };
        let figures = Figures {
            height_mm: height_mm.max(0.0),
            contact_area_mm2: contact_mm2 + slack * slack,
            tip_angle_deg: 90.0,
            overhang_charged_mm2: charged_mm2,
            underside_area_mm2: underside_mm2.max(0.0),
            bores_lying_mm2: self.small.holes.iter().map(lying).sum(),
            layer_steps_mean_um: if sums.step_area > 0.0 {
                settings.layer_mm * 1000.0 * steps.max(0.0) / sums.step_area
            } else {
                0.0
            },
            ..Figures::default()
        };
        AtLeast {
            figures,
            open_mm2: (overhang_mm2 - charged_mm2).max(0.0),
        }
    }

    /// The largest cosine that a normal has with a direction of the cap, by that with its middle; of a
    /// part whose bodies overlap it may face either way.
    fn most_cosine(&self, cap: &Cap, cosine: f64) -> f64 {
        let cosine = if self.part.overlapping {
            cosine.abs()
        } else {
            cosine
        };
        let angle = libm::acos(cosine.clamp(-1.0, 1.0)) - cap.radius_rad;
        libm::cos(angle.max(0.0)).max(0.0)
    }

    /// A corner of the hull that lies farthest along a direction.
    fn outermost(&self, along: &Unit<Vector3<f64>>) -> Point3<f64> {
        let of = |p: &Point3<f64>| p.coords.dot(along);
        let corners = self.hull().vertices.iter();
        corners
            .copied()
            .reduce(|best, p| if of(&p) > of(&best) { p } else { best })
            .unwrap_or_else(Point3::origin)
    }
}
