//! The penalty table: data, in one place.
//!
//! A pose costs the sum of `weight × scale(figures)` over the rows. Every scale
//! is zero or more, and so is every weight: so the sum over what the quick figures
//! know for certain ([`floor`]) is a lower bound of the total, and a candidate whose
//! bound is above the last place to be shown cannot enter the list.
//!
//! Two rows rest on measured practice: over several hundred parts in the pose
//! their makers print, contact counts by its logarithm (2.3 for each e-fold) and
//! overhang by its share of the surface (40 for the whole of it). The other rows
//! are set against these two by what they cost a print; the `why` says how. The
//! labelled parts of `tests/labels` (`examples/fit_weights`) hold the table to account.
//!
//! Overhang is charged by how it prints. What common practice prints without support
//! (ceilings within the bridge limit, roofs of small lying bores, thin ledges) counts a
//! seventh; spans of up to twice the limit, on which published limits disagree, count
//! half; the rest counts in full. Support is charged for that rest only.

use crate::figures::Figures;
use crate::figures::quick::{Bench, Quick};
use crate::mesh::Part;
use crate::settings::weights::Penalty;
use crate::settings::{Aim, Settings};
use nalgebra::{Unit, Vector3};

/// What a scale may look at.
#[derive(Debug, Clone, Copy)]
pub struct Scene<'a> {
    /// Figures of the pose.
    pub figures: &'a Figures,
    /// Surface area of the part, mm².
    pub surface_mm2: f64,
    /// Volume of the part, mm³; its surface to the power 3/2 over 15 where the
    /// mesh is open.
    pub volume_mm3: f64,
    /// Settings in force.
    pub settings: &'a Settings,
}

/// One row of the table.
#[derive(Debug, Clone, Copy)]
pub struct Row {
    /// Which row it is.
    pub penalty: Penalty,
    /// Weight before the aim changes it.
    pub weight: f64,
    /// The scale in words, so that a reader can redo the sum.
    pub scale: &'static str,
    /// Why this scale and weight.
    pub why: &'static str,
    /// Factors on the weight for the aims clean, quick and strong.
    pub aims: [f64; 3],
    /// The scale.
    pub eval: fn(&Scene) -> f64,
}

impl Row {
    /// Name in the JSON.
    pub const fn name(&self) -> &'static str {
        self.penalty.name()
    }

    /// Weight in force for an aim.
    pub fn weight_for(&self, aim: Aim) -> f64 {
        self.weight
            * match aim {
                Aim::Sound => 1.0,
                Aim::Clean => self.aims[0],
                Aim::Quick => self.aims[1],
                Aim::Strong => self.aims[2],
            }
    }

    /// Weight in force: the one that a person gives, else that of the aim.
    pub fn weight_in(&self, settings: &Settings) -> f64 {
        (settings.weights.get(self.penalty)).unwrap_or_else(|| self.weight_for(settings.aim))
    }
}

/// The table. Order is the order of the JSON.
pub const ROWS: &[Row] = &[
    Row {
        penalty: Penalty::Contact,
        weight: 2.3,
        scale: "ln(surface / (2 · contact_area_mm2)), not below 0",
        why: "twice the base is worth the same whether small or large; fitted on makers' choices",
        aims: [1.0; 3],
        eval: |s| {
            let contact = s.figures.contact_area_mm2.max(1e-6 * s.surface_mm2);
            libm::log(s.surface_mm2 / (2.0 * contact)).max(0.0)
        },
    },
    Row {
        penalty: Penalty::Overhang,
        weight: 40.0,
        scale: "overhang_charged_mm2 / surface",
        why: "share of the surface that hangs over and no bridge carries; fitted on makers' choices",
        aims: [1.25, 1.0, 1.0],
        eval: |s| s.figures.overhang_charged_mm2 / s.surface_mm2,
    },
    Row {
        penalty: Penalty::Bridge,
        weight: 6.0,
        scale: "overhang_light_mm2 / surface",
        why: "bridges, roofs of small holes and thin ledges print, but sag and are rough: about a seventh of an overhang",
        aims: [2.0, 1.0, 1.0],
        eval: |s| s.figures.overhang_light_mm2 / s.surface_mm2,
    },
    Row {
        penalty: Penalty::Wide,
        weight: 18.0,
        scale: "overhang_wide_mm2 / surface",
        why: "spans of up to twice the bridge limit: one machine bridges them, another does not, so half an overhang",
        aims: [1.5, 1.0, 1.0],
        eval: |s| s.figures.overhang_wide_mm2 / s.surface_mm2,
    },
    Row {
        penalty: Penalty::Support,
        weight: 0.6,
        scale: "ln(1 + s / 100 mm³) + 6 · ln(1 + s / volume of the part), s = support_needed_mm3 − support_wide_mm3",
        why: "any support at all costs a setting, a scar and a clean-up; ten times the support is one step more; support as large as the part is a second print, tall and loose",
        aims: [1.5, 1.5, 1.0],
        eval: |s| {
            let sure_mm3 = sure_support_mm3(s.figures);
            libm::log1p(sure_mm3 / 100.0)
                + 6.0 * libm::log1p(sure_mm3 / s.volume_mm3.max(f64::MIN_POSITIVE))
        },
    },
    Row {
        penalty: Penalty::Underside,
        weight: 2.0,
        scale: "underside_area_mm2 / surface",
        why: "the fine side looks up: chamfers, countersinks and draft print rougher facing down, and open wider at the bed",
        aims: [2.0, 1.0, 1.0],
        eval: |s| s.figures.underside_area_mm2 / s.surface_mm2,
    },
    Row {
        penalty: Penalty::Bores,
        weight: 3.0,
        scale: "bores_lying_mm2 / surface",
        why: "a hole comes out round where its axis stands upright; weak, since small ones are drilled out",
        aims: [1.5, 1.0, 1.0],
        eval: |s| s.figures.bores_lying_mm2 / s.surface_mm2,
    },
    Row {
        penalty: Penalty::Trapped,
        weight: 1.5,
        scale: "ln(1 + support_trapped_mm3 / 100 mm³)",
        why: "support that cannot be got out stays in the part for good",
        aims: [1.0; 3],
        eval: |s| libm::log1p(s.figures.support_trapped_mm3 / 100.0),
    },
    Row {
        penalty: Penalty::Slender,
        weight: 1.5,
        scale: "ln(slender_ratio / 5), not below 0",
        why: "house value: free-standing features print wavy from about 8 times their width, and it begins before that",
        aims: [1.5, 1.0, 1.0],
        eval: |s| libm::log((s.figures.slender_ratio / 5.0).max(1.0)),
    },
    Row {
        penalty: Penalty::Sway,
        weight: 1.0,
        scale: "ln(1 + sway_mm_per_n / 0.5 mm/N)",
        why: "the nozzle pushes with about a newton; half a millimetre is a line width of yielding",
        aims: [1.0; 3],
        eval: |s| libm::log1p(s.figures.sway_mm_per_n / 0.5),
    },
    Row {
        penalty: Penalty::Tip,
        weight: 1.0,
        scale: "ln(15° / tip_angle_deg), not below 0, tip angle not below 0.5°",
        why: "a part that leans over its base at a light knock comes loose",
        aims: [1.0; 3],
        eval: |s| libm::log(15.0 / s.figures.tip_angle_deg.clamp(0.5, 15.0)),
    },
    Row {
        penalty: Penalty::Height,
        weight: 0.15,
        scale: "height_mm / cube root of volume",
        why: "time, and a longer way for a knock to work; weak, since makers' choices hardly show it",
        aims: [1.0, 8.0, 1.0],
        eval: |s| s.figures.height_mm / libm::cbrt(s.volume_mm3),
    },
    Row {
        penalty: Penalty::Stairs,
        weight: 0.8,
        scale: "stair_mean_um / layer in µm",
        why: "mean cusp height as a share of the layer: 0 for upright walls, 1 nearly level",
        aims: [5.0, 1.0, 1.0],
        eval: |s| s.figures.stair_mean_um / (1000.0 * s.settings.layer_mm),
    },
    Row {
        penalty: Penalty::Scar,
        weight: 4.0,
        scale: "(support_scar_mm2.below + support_scar_mm2.above) / surface · (support_needed_mm3 − support_wide_mm3) / support_after_bridges_mm3",
        why: "where support stood the surface is rough; on the part below as well",
        aims: [4.0, 1.0, 1.0],
        eval: |s| {
            let scar = s.figures.support_scar_mm2;
            let after = s.figures.support_after_bridges_mm3;
            let share = if after > 0.0 {
                sure_support_mm3(s.figures) / after
            } else {
                0.0
            };
            share * (scar.below + scar.above) / s.surface_mm2
        },
    },
    Row {
        penalty: Penalty::Time,
        weight: 0.2,
        scale: "ln(1 + print_min / 30 min)",
        why: "weak unless time is the aim",
        aims: [1.0, 10.0, 1.0],
        eval: |s| libm::log1p(s.figures.print_min / 30.0),
    },
    Row {
        penalty: Penalty::Load,
        weight: 4.0,
        scale: "load_across_layers (0 without a load direction)",
        why: "layers part more easily than strands break: a pull across them is charged by cos² of its angle to the layers' normal",
        aims: [1.0, 1.0, 4.0],
        eval: |s| s.figures.load_across_layers.unwrap_or(0.0),
    },
    Row {
        penalty: Penalty::Show,
        weight: 60.0,
        scale: "show_marked_mm2 / surface (0 without a side to show)",
        why: "a side that must come out clean weighs more than any other surface",
        aims: [2.0, 1.0, 1.0],
        eval: |s| s.figures.show_marked_mm2.unwrap_or(0.0) / s.surface_mm2,
    },
];

/// The row of the table.
pub fn row(penalty: Penalty) -> &'static Row {
    &ROWS[penalty as usize]
}

/// Support that every machine needs, mm³.
fn sure_support_mm3(figures: &Figures) -> f64 {
    (figures.support_needed_mm3 - figures.support_wide_mm3).max(0.0)
}

/// Surface that shares are taken of, mm²: not zero.
fn surface_mm2(part: &Part) -> f64 {
    part.mass.area_mm2.max(f64::MIN_POSITIVE)
}

/// Volume that shares are taken of; see [`Scene::volume_mm3`].
pub(crate) fn volume_mm3(part: &Part) -> f64 {
    if part.closed && part.mass.volume_mm3 > 0.0 {
        part.mass.volume_mm3
    } else {
        libm::pow(surface_mm2(part), 1.5) / 15.0
    }
}

impl<'a> Scene<'a> {
    /// The scene for a pose of `part` with these figures.
    pub fn new(part: &Part, settings: &'a Settings, figures: &'a Figures) -> Self {
        Self {
            figures,
            surface_mm2: surface_mm2(part),
            volume_mm3: volume_mm3(part),
            settings,
        }
    }

    /// Penalties in table order, by the weights in force.
    pub fn charges(&self) -> Vec<f64> {
        ROWS.iter()
            .map(|row| row.weight_in(self.settings) * (row.eval)(self))
            .collect()
    }

    /// Their sum.
    pub fn total(&self) -> f64 {
        self.charges().iter().sum()
    }
}

/// Figures that no measurement of the same pose can undercut on the sum of the penalties,
/// whatever the weights, as long as none is below zero: quick ones exact, the rest at zero.
///
/// Of the overhang, what is neither ceiling nor small is charged as such in the end.
/// Whether the rest is charged, light or wide is known only when the bridges are: it is
/// booked in the cheapest of the three rows. Where bodies overlap, facets hidden in
/// another body are in the quick sums, so nothing is booked.
pub fn floor(bench: &Bench, quick: &Quick, down: &Unit<Vector3<f64>>) -> Figures {
    let settings = bench.settings;
    let mut figures = quick.figures(settings, down);
    if bench.part.overlapping {
        return figures;
    }
    let open = quick.small_overhang_mm2 + quick.middling_overhang_mm2 + quick.broad_ceiling_mm2;
    figures.overhang_charged_mm2 = (quick.overhang_area_mm2 - open).max(0.0);
    let [light, wide, charged] =
        [Penalty::Bridge, Penalty::Wide, Penalty::Overhang].map(|p| row(p).weight_in(settings));
    if light <= wide.min(charged) {
        figures.overhang_light_mm2 = open;
    } else if wide <= charged {
        figures.overhang_wide_mm2 = open;
    } else {
        figures.overhang_charged_mm2 = quick.overhang_area_mm2;
    }
    figures
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_stand_in_the_order_of_their_names() {
        let rows: Vec<Penalty> = ROWS.iter().map(|r| r.penalty).collect();
        assert_eq!(rows, Penalty::ALL);
    }

    #[test]
    fn a_weight_that_is_given_is_in_force_whatever_the_aim() {
        let mut settings = Settings {
            aim: Aim::Quick,
            ..Settings::default()
        };
        let row = row(Penalty::Height);
        assert!((row.weight_in(&settings) - 1.2).abs() < 1e-12);
        settings.weights.set(Penalty::Height, Some(0.3));
        assert_eq!(row.weight_in(&settings), 0.3);
    }
}
