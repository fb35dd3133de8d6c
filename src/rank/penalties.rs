//! The penalty table: `penalties.toml`, and how each scale is got.
//!
//! A pose costs the sum of `weight × scale(figures)` over the rows. Every scale
//! is zero or more, and so is every weight: so the sum over what the quick figures
//! know for certain ([`floor`]) is a lower bound of the total, and a candidate whose
//! bound is above the last place to be shown cannot enter the list.
//!
//! Two rows rest on measured practice: over several hundred parts in the pose
//! their makers print, contact counts by its logarithm (2.3 for each e-fold) and
//! overhang by its share of the surface (40 for the whole of it). The other rows
//! are set against these two by what they cost a print; the `why` of each says how. The
//! labelled parts of `tests/labels` (`examples/fit_weights`) hold the table to account.
//!
//! Two changes hold on those kits when each is predicted by the others: 1.15 for contact, and a
//! term in the amount of light and charged overhang (0.87 · ln(1 + light / 10 mm²) and
//! 0.19 · ln(1 + charged / 10 mm²)). They are not taken over, since they do not hold here: of
//! the poses measured, contact at 1.15 puts 83 instead of 85 of the 88 parts first and raises
//! the mean loss of a logit from 0.240 to 0.277, and on the blind 70 from 0.232 to 0.284; the
//! amounts alone leave it at 0.242 (blind: 0.207, with 66 first either way), both together make
//! it 0.288 (blind: 0.261).
//!
//! Overhang is charged by how it prints. What common practice prints without support
//! (ceilings within the bridge limit, roofs of small lying bores, thin ledges, slopes within
//! 1.5 mm of the bed: a lying bar, a fillet) counts a seventh; spans of up to twice the limit, on which published limits disagree, count
//! half; the rest counts in full. Support is charged for that rest only, and only where the
//! advice has it on ([`needs_support`](crate::figures::support_need::needs_support)): what is low over the bed, gentle or shallow prints without.

use crate::figures::Figures;
use crate::figures::quick::{Bench, Quick};
use crate::figures::support_need::on_mm3;
use crate::mesh::Part;
use crate::settings::weights::Penalty;
use crate::settings::{Aim, Settings};
use crate::tables::rows;
use nalgebra::{Unit, Vector3};
use serde::Deserialize;
use std::sync::LazyLock;

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

/// One row of the table: a row of `penalties.toml`.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Row {
    /// Which row it is.
    pub penalty: Penalty,
    /// Weight before the aim changes it.
    pub weight: f64,
    /// The scale by keys of the JSON, so that a reader of it can redo the sum.
    pub scale: String,
    /// The scale in words.
    pub formula: String,
    /// Why this scale and weight.
    pub why: String,
    /// Factors on the weight for the aims clean, quick and strong.
    #[serde(default = "unchanged")]
    pub aims: [f64; 3],
}

/// By what totals are divided before they become odds (`advice::share`).
///
/// Fitted with [`BY_PURPOSE`] by `examples/fit_weights`, and held between what two kinds of evidence
/// ask for. The choices of the 157 labelled parts are best calibrated at 0.3 and 1 % (off by
/// 1.3 %). Several hundred parts of seven open-hardware kits, in their makers' published pose and
/// held back from all tuning, are harder: read from a table of shares of an earlier build they are
/// off by 3.5 % at 0.55 and 1 %, by 5.2 % at 1 and none. At 0.48 and 1.6 % both are off by less than
/// 4 % (labels 3.8 %, kits about 3.8 %). Both labelled sets were looked at for it, so neither is
/// blind to these two values, and the evidence conflicts: fitted with the kits, labelled parts held
/// out are off by 3.8 %, the set that was tuned on alone by 5.5 % and the blind one by 5.1 %.
pub const TEMPERATURE: f64 = 0.48;

/// Share of the makers who choose for a purpose that the shape does not tell, whatever the totals:
/// of the kits' families whose first pose leads by most, 0.7 % were published in another one. About
/// a third of all that disagree are stored in no pose that prints; the rest follow a purpose.
pub const BY_PURPOSE: f64 = 0.016;

fn unchanged() -> [f64; 3] {
    [1.0; 3]
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

/// The table. Order is the order of the JSON. The file is part of the program, and a test
/// reads it: it cannot fail to be a table.
pub static ROWS: LazyLock<Vec<Row>> = LazyLock::new(|| rows(include_str!("penalties.toml")));

/// The row of the table.
pub fn row(penalty: Penalty) -> &'static Row {
    &ROWS[penalty as usize]
}

/// Support that every machine needs, mm³: none where the advice leaves it off.
fn sure_support_mm3(figures: &Figures, settings: &Settings) -> f64 {
    (on_mm3(figures, settings) - figures.support_wide_mm3).max(0.0)
}

/// Surface that shares are taken of, mm²: not zero.
fn surface_mm2(part: &Part) -> f64 {
    part.mass.area_mm2.max(f64::MIN_POSITIVE)
}

/// Whether the volume is measured: that of an open surface is a guess.
pub(crate) fn is_volume_known(part: &Part) -> bool {
    part.closed && part.mass.volume_mm3 > 0.0
}

/// Volume that shares are taken of; see [`Scene::volume_mm3`].
pub(crate) fn volume_mm3(part: &Part) -> f64 {
    if is_volume_known(part) {
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

    /// The scale of a row.
    pub fn scale(&self, row: Penalty) -> f64 {
        let f = self.figures;
        match row {
            Penalty::Contact => {
                let contact = f.contact_area_mm2.max(1e-6 * self.surface_mm2);
                libm::log(self.surface_mm2 / (2.0 * contact)).max(0.0)
            }
            Penalty::Overhang => f.overhang_charged_mm2 / self.surface_mm2,
            Penalty::Bridge => f.overhang_light_mm2 / self.surface_mm2,
            Penalty::Wide => f.overhang_wide_mm2 / self.surface_mm2,
            Penalty::Support => {
                let sure_mm3 = sure_support_mm3(f, self.settings);
                libm::log1p(sure_mm3 / 100.0)
                    + 6.0 * libm::log1p(sure_mm3 / self.volume_mm3.max(f64::MIN_POSITIVE))
            }
            Penalty::Underside => f.underside_area_mm2 / self.surface_mm2,
            Penalty::Bores => f.bores_lying_mm2 / self.surface_mm2,
            Penalty::Trapped => libm::log1p(f.support_trapped_mm3 / 100.0),
            Penalty::Slender => libm::log((f.slender_ratio / 5.0).max(1.0)),
            Penalty::Sway => libm::log1p(f.sway_mm_per_n / 0.5),
            Penalty::Tip => libm::log(15.0 / charged_tip_deg(f).clamp(0.5, 15.0)),
            Penalty::Height => f.height_mm / libm::cbrt(self.volume_mm3),
            Penalty::Stairs => f.layer_steps_mean_um / (1000.0 * self.settings.layer_mm),
            Penalty::Scar => {
                let scar = f.support_marks_mm2;
                let after = f.support_after_bridges_mm3;
                let share = if after > 0.0 {
                    sure_support_mm3(f, self.settings) / after
                } else {
                    0.0
                };
                share * (scar.below + scar.above) / self.surface_mm2
            }
            Penalty::Time => libm::log1p(f.print_min / 30.0),
            Penalty::Load => f.load_across_layers.unwrap_or(0.0),
            Penalty::Show => f.show_marked_mm2.unwrap_or(0.0) / self.surface_mm2,
            Penalty::Round => f64::from(f.round_missed.unwrap_or(0)),
            Penalty::Flat => f64::from(f.flat_missed.unwrap_or(0)),
        }
    }

    /// Penalties in table order, by the weights in force.
    pub fn charges(&self) -> Vec<f64> {
        ROWS.iter()
            .map(|row| row.weight_in(self.settings) * self.scale(row.penalty))
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
/// Of the overhang, what is neither ceiling nor small nor low over the bed is charged as such in
/// the end.
/// Whether the rest is charged, light or wide is known only when the bridges are: it is
/// booked in the cheapest of the three rows.
pub fn floor(bench: &Bench, quick: &Quick, down: &Unit<Vector3<f64>>) -> Figures {
    let settings = bench.settings;
    let mut figures = quick.figures(settings, down);
    let open = quick.small_overhang_mm2
        + quick.middling_overhang_mm2
        + quick.broad_ceiling_mm2
        + quick.low_slope_mm2;
    figures.overhang_charged_mm2 = (quick.overhang_area_mm2 - open).max(0.0);
    booked(bench, &mut figures, open);
    figures.overhang_charged_mm2 = figures.overhang_charged_mm2.min(quick.overhang_area_mm2);
    figures
}

/// Books overhang of which layers must tell how it prints in the cheapest of its three rows; none at all where
/// facets hidden in another body may be in the sums.
pub(super) fn booked(bench: &Bench, figures: &mut Figures, open_mm2: f64) {
    if bench.part.overlapping {
        figures.overhang_charged_mm2 = 0.0;
        return;
    }
    let settings = bench.settings;
    let [light, wide, charged] =
        [Penalty::Bridge, Penalty::Wide, Penalty::Overhang].map(|p| row(p).weight_in(settings));
    if light <= wide.min(charged) {
        figures.overhang_light_mm2 += open_mm2;
    } else if wide <= charged {
        figures.overhang_wide_mm2 += open_mm2;
    } else {
        figures.overhang_charged_mm2 += open_mm2;
    }
}

/// The tipping angle that is charged: a pose that only its support holds up is no steadier than this,
/// degrees (house value; with 15 two of 158 labelled parts went over to such a pose).
const PROPPED_TIP_DEG: f64 = 6.0;

fn charged_tip_deg(f: &Figures) -> f64 {
    f.tip_with_support_deg
        .map_or(f.tip_angle_deg, |tip_deg| tip_deg.min(PROPPED_TIP_DEG))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::figures::SupportMarks;

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

    /// 21 cm³ under slopes that hardly lean past the limit are left off, and cost no support and no
    /// marks; a cantilever among them turns support on.
    #[test]
    fn support_that_is_left_off_costs_nothing() {
        let settings = Settings::default();
        let gentle = Figures {
            overhang_area_mm2: 1300.0,
            overhang_charged_mm2: 1300.0,
            overhang_gentle_mm2: 1300.0,
            support_after_bridges_mm3: 21_000.0,
            support_needed_mm3: 21_000.0,
            support_marks_mm2: SupportMarks {
                below: 0.0,
                above: 1300.0,
            },
            ..Figures::default()
        };
        let cost = |figures: &Figures| {
            let scene = Scene {
                figures,
                surface_mm2: 46_000.0,
                volume_mm3: 45_000.0,
                settings: &settings,
            };
            [Penalty::Support, Penalty::Scar].map(|row| scene.scale(row))
        };
        assert_eq!(cost(&gentle), [0.0, 0.0]);
        let held = Figures {
            ledge_high_mm: Some(12.0),
            ..gentle
        };
        let [support, marks] = cost(&held);
        assert!(support > 5.0 && marks > 0.02, "{support} {marks}");
    }
}
