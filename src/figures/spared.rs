//! Overhang that needs no support: what bridges carry, and what is small.

use super::below::Below;
use super::bridges::{ROUNDING_MM, Spanning};
use super::low::{low_mm, low_slope_mm};
use super::quick::{Bench, CEILING_SIN};
use super::stop::Stop;
use super::subdivide::{mean, means};
use crate::features::Size;
use crate::pose::Posed;
use crate::settings::Settings;
use crate::tol;
use nalgebra::Point3;
use rayon::prelude::*;

/// Facets are sampled at this spacing when asking what a bridge carries, mm …
const SAMPLE_MM: f64 = 0.5;
/// … in at most the square of this many pieces each.
const SAMPLES: usize = 200;
/// The same when asking how deep the void below is.
const VOID_SAMPLE_MM: f64 = 2.0;
const VOID_SAMPLES: usize = 20;
/// A facet smaller than this is asked once whether it hangs over a slit, mm² (house value).
const SLIVER_MM2: f64 = 1.0;

/// Support needs a layer of its own and a gap over it: slits lower than so many layers have no
/// room for it.
const SLIT_LAYERS: f64 = 2.0;

/// Leans beyond the limit by no more than this print, with a rough underside, degrees …
const GENTLE_DEG: f64 = 15.0;
/// … as long as they are no more than this (house values).
const GENTLEST_DEG: f64 = 60.0;

/// Lean up to which overhang prints with a rough underside only, degrees from the vertical.
pub(crate) fn gentle_deg(settings: &Settings) -> f64 {
    let limit = settings.limit_deg;
    (limit + GENTLE_DEG).min(limit.max(GENTLEST_DEG))
}

/// Height over the bed up to which a facet is low, mm: of a ceiling less than of a slope. `down` is the sine of
/// its angle to the vertical.
pub(crate) fn low_over_bed_mm(settings: &Settings, down: f64) -> f64 {
    if down > CEILING_SIN {
        low_mm(settings)
    } else {
        low_slope_mm(settings)
    }
}

/// Height of a slit below which no support fits in, mm.
pub(crate) fn slit_mm(settings: &Settings) -> f64 {
    SLIT_LAYERS * settings.layer_mm
}

/// What of the overhang needs no support.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(super) struct Spared {
    /// Area that a bridge within the limit carries, mm².
    pub(super) carried: f64,
    /// The ceilings among that, mm².
    pub(super) ceiling_carried: f64,
    /// Those of them that are not small in themselves, mm².
    pub(super) broad_carried: f64,
    /// Ceilings, not small, that a bridge up to twice the limit spans, mm².
    pub(super) broad_wide: f64,
    /// Overhang neither small nor carried that is low over the bed, mm².
    pub(super) low: f64,
    /// Void below that, mm³.
    pub(super) low_mm3: f64,
    /// The rest of that, as far as it leans hardly more than the limit, mm².
    pub(super) gentle: f64,
    /// Void below that, mm³.
    pub(super) gentle_mm3: f64,
    /// The ceilings of that with a slit below them that no support fits in, mm².
    pub(super) slit: f64,
    /// Void below those, mm³.
    pub(super) slit_mm3: f64,
    /// What is left of it and bridges within the limit the short way, mm².
    pub(super) across: f64,
    /// Void below what is small, where no bridge carries it, mm³.
    pub(super) small_mm3: f64,
    /// Void below what is middling or such a bridge spans, likewise, mm³.
    pub(super) wide_mm3: f64,
}

impl Spared {
    /// Asks at points spread over every overhang facet; where it is stopped, it means nothing.
    pub(super) fn of(bench: &Bench, posed: &Posed, spanning: &Spanning, stop: Stop) -> Self {
        let settings = bench.settings;
        let (sine, touch_mm) = (settings.overhang_sin(), settings.touch_mm());
        let gentle_deg = gentle_deg(settings) + tol::OVERHANG_MARGIN_DEG;
        let gentle_sin = libm::sin(gentle_deg.min(90.0).to_radians());
        let slit_mm = slit_mm(settings);
        let below = Below::new(bench, posed);
        // Fixed chunks, summed in order: the same bits on any number of threads.
        let sums: Vec<Self> = posed
            .normal_z
            .par_chunks(8192)
            .enumerate()
            .map(|(chunk, normals)| {
                let mut sum = Self::default();
                for (i, normal) in normals.iter().enumerate() {
                    if -normal <= sine {
                        continue;
                    }
                    if stop.asked() {
                        break;
                    }
                    let t = chunk * 8192 + i;
                    let corners = posed.corners(t);
                    let above = posed.part.areas[t];
                    // Most facets have no bridge near: then no point needs to be asked.
                    let bridges = spanning.carried.near(&corners);
                    let bridged = !bridges.is_empty();
                    let carried = |p: &Point3<f64>| bridged && bridges.carried(p);
                    let bare = |p: &Point3<f64>| !carried(p);
                    let area = if bridged {
                        above * share(&corners, touch_mm, carried)
                    } else {
                        0.0
                    };
                    let void_of =
                        |counts| -normal * above * void(&below, touch_mm, &corners, counts);
                    let ceiling = -normal > CEILING_SIN.max(sine);
                    let size = bench.size(t);
                    if size != Size::Small {
                        let low_mm = low_over_bed_mm(settings, -normal);
                        let part = |counts: &dyn Fn(&Point3<f64>) -> bool| {
                            above * share(&corners, touch_mm, counts)
                        };
                        if corners.iter().any(|p| p.z <= low_mm) {
                            sum.low += part(&|p| p.z <= low_mm && bare(p));
                            let is_low = |p: &Point3<f64>| p.z <= low_mm && bare(p);
                            sum.low_mm3 +=
                                -normal * above * void(&below, touch_mm, &corners, &is_low);
                        }
                        if -normal <= gentle_sin {
                            // Every point counts where all lie high and no bridge is near.
                            let floor_mm = low_mm.max(touch_mm) + ROUNDING_MM;
                            let whole = !bridged && corners.iter().all(|p| p.z > floor_mm);
                            let counts = |p: &Point3<f64>| p.z > low_mm && bare(p);
                            sum.gentle += if whole { above } else { part(&counts) };
                            sum.gentle_mm3 +=
                                -normal * above * void(&below, touch_mm, &corners, &counts);
                        }
                        let slit = |p: &Point3<f64>| {
                            let asked = p.z > low_mm.max(touch_mm) && bare(p);
                            asked.then(|| below.void_within_mm(p, slit_mm)).flatten()
                        };
                        if ceiling {
                            // Of a sliver its middle tells enough: a hundred thousand of them may
                            // share a corner, where each ray meets them all.
                            let most = if above < SLIVER_MM2 { 1 } else { VOID_SAMPLES };
                            let [share, void_mm] = means(&corners, VOID_SAMPLE_MM, most, |p| {
                                let void = slit(&p);
                                [f64::from(u8::from(void.is_some())), void.unwrap_or(0.0)]
                            });
                            sum.slit += above * share;
                            sum.slit_mm3 += -normal * above * void_mm;
                        }
                        let across = spanning.across.near(&corners);
                        if -normal > gentle_sin && !across.is_empty() {
                            sum.across += part(&|p| {
                                p.z > low_mm && bare(p) && across.carried(p) && slit(p).is_none()
                            });
                        }
                    }
                    sum.carried += area;
                    if ceiling {
                        sum.ceiling_carried += area;
                    }
                    match size {
                        Size::Small => sum.small_mm3 += void_of(&bare),
                        Size::Middling => sum.wide_mm3 += void_of(&bare),
                        Size::Large if ceiling => {
                            sum.broad_carried += area;
                            let wide = spanning.wide.near(&corners);
                            if wide.is_empty() {
                                continue;
                            }
                            let spanned = |p: &Point3<f64>| bare(p) && wide.carried(p);
                            sum.broad_wide += above * share(&corners, touch_mm, spanned);
                            sum.wide_mm3 += void_of(&spanned);
                        }
                        Size::Large => {}
                    }
                }
                sum
            })
            .collect();
        sums.into_iter().fold(Self::default(), |a, b| Self {
            carried: a.carried + b.carried,
            ceiling_carried: a.ceiling_carried + b.ceiling_carried,
            broad_carried: a.broad_carried + b.broad_carried,
            broad_wide: a.broad_wide + b.broad_wide,
            low: a.low + b.low,
            low_mm3: a.low_mm3 + b.low_mm3,
            gentle: a.gentle + b.gentle,
            gentle_mm3: a.gentle_mm3 + b.gentle_mm3,
            slit: a.slit + b.slit,
            slit_mm3: a.slit_mm3 + b.slit_mm3,
            across: a.across + b.across,
            small_mm3: a.small_mm3 + b.small_mm3,
            wide_mm3: a.wide_mm3 + b.wide_mm3,
        })
    }
}

/// Mean over a triangle of the length of the void below it, zero where `counts` says no
/// and below touch height, mm.
fn void(
    below: &Below,
    touch_mm: f64,
    corners: &[Point3<f64>; 3],
    counts: &dyn Fn(&Point3<f64>) -> bool,
) -> f64 {
    mean(corners, VOID_SAMPLE_MM, VOID_SAMPLES, |p| {
        if p.z > touch_mm && counts(&p) {
            below.void_mm(&p).unwrap_or(p.z).min(p.z)
        } else {
            0.0
        }
    })
}

/// Share of a triangle's area above touch height that is carried, asked at the
/// centroids of pieces no longer than the spacing.
fn share(corners: &[Point3<f64>; 3], touch_mm: f64, carried: impl Fn(&Point3<f64>) -> bool) -> f64 {
    mean(corners, SAMPLE_MM, SAMPLES, |p| {
        f64::from(p.z > touch_mm && carried(&p))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn half_a_triangle_is_half_carried() {
        let corners = [
            Point3::new(0.0, 0.0, 5.0),
            Point3::new(40.0, 0.0, 5.0),
            Point3::new(0.0, 40.0, 5.0),
        ];
        let share = share(&corners, 0.1, |p| p.x > p.y);
        assert!((share - 0.5).abs() < 0.01, "{share}");
    }
}
