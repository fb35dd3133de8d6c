//! Whether a part has the bores and sides that the settings name.

use super::kind::typed;
use crate::features::Bore;
use crate::figures::purpose::{LEVEL_DEG, UPRIGHT_DEG};
use crate::figures::quick::Bench;
use crate::rank::search::angle_deg;
use nalgebra::{Unit, Vector3};

/// Sides smaller than this share of the surface are not named (house value).
const LEAST_SIDE: f64 = 0.002;
/// Nearest ones named at most.
const NAMED: usize = 3;

/// What is wrong with a purpose that a part cannot have.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct UnmetPurpose {
    /// The flag.
    pub flag: &'static str,
    /// What is wrong, as the end of a sentence.
    pub defect: String,
    /// What to give instead.
    pub hint: String,
}

/// Checks that the part has each axis of `--round` and each side of `--flat`.
///
/// # Errors
/// The first that it has not, with the nearest ones that it has.
pub fn check(bench: &Bench) -> Result<(), UnmetPurpose> {
    let settings = bench.settings;
    if settings.round.is_empty() && settings.flat.is_empty() {
        return Ok(());
    }
    let features = &bench.layout.features;
    let threads = features.threads(bench.part).iter().map(|t| t.axis);
    let axes = features.bores.iter().map(|b: &Bore| b.axis).chain(threads);
    let axes = distinct(axes, |a, b| angle_deg(a, b).min(angle_deg(a, &-*b)));
    let least = LEAST_SIDE * bench.part.mass.area_mm2;
    let large = features.regions.list.iter().filter(|r| r.area_mm2 >= least);
    let on_hull = large.filter(|r| {
        let reach = |p: &nalgebra::Point3<f64>| (p - r.centre).dot(&r.normal);
        let hull = bench.hull().vertices.iter().map(reach);
        hull.fold(0.0, f64::max) <= settings.touch_mm()
    });
    let sides = distinct(on_hull.map(|r| r.normal), angle_deg);
    for (flag, wanted, has, within_deg, both, thing) in [
        (
            "--round",
            &settings.round,
            &axes,
            UPRIGHT_DEG,
            true,
            "round bore or boss along",
        ),
        (
            "--flat",
            &settings.flat,
            &sides,
            LEVEL_DEG,
            false,
            "flat side that can lie on the bed towards",
        ),
    ] {
        let off = |a: &Unit<Vector3<f64>>, b: &Unit<Vector3<f64>>| {
            let one = angle_deg(a, b);
            if both {
                one.min(angle_deg(a, &-*b))
            } else {
                one
            }
        };
        for direction in wanted {
            let mut near: Vec<(f64, String)> =
                has.iter().map(|d| (off(d, direction), typed(d))).collect();
            near.sort_by(|a, b| a.0.total_cmp(&b.0));
            if near.first().is_some_and(|n| n.0 <= within_deg) {
                continue;
            }
            let names: Vec<String> = near.into_iter().take(NAMED).map(|n| n.1).collect();
            return Err(UnmetPurpose {
                flag,
                defect: format!("the part has no {thing} {}", typed(direction)),
                hint: if names.is_empty() {
                    format!("leave {flag} out: the part has none in any direction")
                } else {
                    format!("the nearest it has: {}", names.join("; "))
                },
            });
        }
    }
    Ok(())
}

/// Directions without repeats, to within a degree.
fn distinct(
    all: impl Iterator<Item = Unit<Vector3<f64>>>,
    off: impl Fn(&Unit<Vector3<f64>>, &Unit<Vector3<f64>>) -> f64,
) -> Vec<Unit<Vector3<f64>>> {
    let mut out: Vec<Unit<Vector3<f64>>> = Vec::new();
    for d in all {
        if out.iter().all(|o| off(o, &d) > 1.0) {
            out.push(d);
        }
    }
    out
}
