//! All figures of one pose, from the part to [`Figures`].

use super::bed_detail::BedDetail;
use super::bridges::Spanning;
use super::deposit::Deposit;
use super::feet::{self, Foot};
use super::limbs::Limbs;
use super::parting::Parting;
use super::profile::LayerProfile;
use super::quick::{Bench, Quick};
use super::sliced::Sliced;
use super::spared::Spared;
use super::stop::Stop;
use super::support::Support;
use super::support_need::needs_support;
use super::tree::PieceTree;
use super::weakest::Weakest;
use super::{
    Figures, Island, Stretch, deposit, grazes, limbs, parting, show, slender, slivers, support,
    weakest,
};
use std::sync::Arc;

/// Figures that suffer where the surface is open.
const OPEN_DOUBTS: &[&str] = &[
    "contact_area_mm2",
    "contact_patches",
    "tip_angle_deg",
    "support_volume_mm3",
    "support_after_bridges_mm3",
    "support_trapped_mm3",
    "bridges",
    "islands",
    "slender_ratio",
    "sway_mm_per_n",
    "weakest_section_mm2",
    "extrude_mm3",
    "print_min",
    "filament_g",
    "support_min",
    "support_g",
];

/// Figures that are estimated where bodies may overlap.
const OVERLAP_DOUBTS: &[&str] = &["layer_steps_mean_um"];

/// What the sections of a pose show by themselves, whatever hangs over and whatever the
/// material.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Cuts {
    contact_patches: u32,
    /// Chains of some section had to be closed by a guess.
    mended: bool,
    /// What stands free, its sway at a Young's modulus of 1 N/mm².
    pub(crate) stretches: Vec<Stretch>,
    /// Pieces that begin in the air and are scraps: where, mm above the bed, and their area, mm².
    pub(crate) grazes: Vec<(f64, f64)>,
    weakest: Option<Weakest>,
    /// Where bending parts the layers.
    pub(crate) parting: Option<Parting>,
    /// Thin arms that lie in the layers.
    pub(crate) limbs: Option<Limbs>,
    deposit: Deposit,
    /// Area, pieces and outline of every layer.
    pub(crate) profile: LayerProfile,
    /// Detail on the bed.
    pub(crate) bed: BedDetail,
    /// Of several feet, the one that has the least area for its height.
    pub(crate) foot: Option<Foot>,
}

/// What hangs over in a pose, and what holds it.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Hanging {
    overhang: Spared,
    support: Support,
    /// Bridges, and where they carry.
    pub(crate) spanning: Arc<Spanning>,
}

/// What is known of a pose from before: of these settings, or at least of those values
/// that it depends on.
#[derive(Debug, Clone, Default)]
pub struct Before {
    /// Its sections.
    pub cuts: Option<Arc<Cuts>>,
    /// Its overhang.
    pub hanging: Option<Arc<Hanging>>,
}

impl Before {
    /// Nothing is left to measure.
    pub fn complete(&self) -> bool {
        self.cuts.is_some() && self.hanging.is_some()
    }
}

/// Measures a pose from what is known of it; hands back all that is known then.
///
/// `quick` are the quick figures of its direction: they are exact and enter as they are.
/// The rest comes from sections at mid-layer height and from the column sweep. Where it is
/// stopped, what was not known before means nothing.
pub fn measure(
    bench: &Bench,
    quick: &Quick,
    sliced: &Sliced,
    before: &Before,
    stop: &Stop,
) -> (Figures, Arc<Cuts>, Arc<Hanging>) {
    let hanging =
        (before.hanging.clone()).unwrap_or_else(|| Arc::new(Hanging::new(bench, sliced, stop)));
    let cuts = (before.cuts.clone()).unwrap_or_else(|| Arc::new(Cuts::new(sliced, stop)));
    let figures = figures(bench, quick, sliced, &cuts, &hanging);
    (figures, cuts, hanging)
}

impl Cuts {
    fn new(sliced: &Sliced, stop: &Stop) -> Self {
        let (layers, mended) = sliced.layers_until(stop);
        if stop.asked() {
            return Self::default();
        }
        let (touch, settings) = (sliced.touch(), sliced.settings());
        let tree = PieceTree::new(layers, settings.line_mm);
        Self {
            contact_patches: touch.sections.first().map_or(0, |s| s.pieces.len() as u32),
            mended: *mended > 0 || touch.mended > 0,
            stretches: slender::stretches(&tree, settings.line_mm, 1.0),
            grazes: grazes::grazes(&tree),
            weakest: weakest::weakest(&tree),
            parting: parting::parting(&tree, settings.line_mm),
            limbs: limbs::limbs(layers, settings.line_mm),
            deposit: deposit::deposit(layers, settings),
            profile: LayerProfile::new(layers),
            bed: BedDetail::new(sliced),
            foot: feet::neediest(&tree, settings.line_mm),
        }
    }
}

impl Hanging {
    fn new(bench: &Bench, sliced: &Sliced, stop: &Stop) -> Self {
        let (posed, settings) = (sliced.posed(), bench.settings);
        let spanning = Arc::clone(sliced.spanning_until(stop));
        if stop.asked() {
            return Self::default();
        }
        let carried = |x: f64, y: f64, z: f64| spanning.carried.carried(x, y, z);
        let support = support::support(posed, settings, &carried, *stop);
        if stop.asked() {
            return Self::default();
        }
        Self {
            overhang: Spared::of(bench, posed, &spanning, *stop),
            support,
            spanning,
        }
    }
}

/// All figures from what was measured: sums and products only.
fn figures(
    bench: &Bench,
    quick: &Quick,
    sliced: &Sliced,
    cuts: &Cuts,
    hanging: &Hanging,
) -> Figures {
    let pose = &sliced.pose;
    let (part, settings) = (bench.part, bench.settings);
    let (held, mut overhang) = (&hanging.support, hanging.overhang);
    let drawn = slivers::drawn(&cuts.stretches, settings);
    let (spanning, slender) = (&hanging.spanning, slender::slenderest(&drawn).copied());
    let mut overhang_area_mm2 = quick.overhang_area_mm2;
    // Sampled areas may exceed exact ones by a hair, here and below: no more is carried
    // than there is, so that a sum over the exact ones bounds the penalties.
    let broad_mm2 = quick.broad_ceiling_mm2;
    let carried_mm2 = overhang.broad_carried.min(broad_mm2);
    let spanned_mm2 = overhang.broad_wide.min(broad_mm2 - carried_mm2);
    let mut low_slope_mm2 = quick.low_slope_mm2;
    let mut light_mm2 = quick.small_overhang_mm2 + carried_mm2 + low_slope_mm2;
    let mut wide_mm2 = quick.middling_overhang_mm2 + spanned_mm2;
    if part.overlapping {
        // Facets hidden in another body are in the facet sums; the columns see
        // only what is exposed.
        let share = if overhang_area_mm2 > 0.0 {
            (held.exposed_overhang_mm2 / overhang_area_mm2).min(1.0)
        } else {
            1.0
        };
        overhang_area_mm2 *= share;
        overhang.carried *= share;
        overhang.ceiling_carried *= share;
        overhang.small_mm3 *= share;
        overhang.low *= share;
        overhang.low_mm3 *= share;
        overhang.gentle *= share;
        overhang.gentle_mm3 *= share;
        overhang.slit *= share;
        overhang.slit_mm3 *= share;
        overhang.across *= share;
        overhang.wide_mm3 *= share;
        low_slope_mm2 *= share;
        light_mm2 *= share;
        wide_mm2 *= share;
    }
    let light_mm2 = light_mm2.min(overhang_area_mm2);
    let wide_mm2 = wide_mm2.min(overhang_area_mm2 - light_mm2);
    let support_needed_mm3 = (held.after_bridges_mm3 - overhang.small_mm3).max(0.0);
    let support = deposit::support(support_needed_mm3, settings);
    let mut doubtful: Vec<String> = Vec::new();
    if !part.closed || cuts.mended {
        doubtful.extend(OPEN_DOUBTS.iter().map(|&k| k.to_owned()));
    }
    if part.overlapping {
        doubtful.extend(OVERLAP_DOUBTS.iter().map(|&k| k.to_owned()));
    }
    let mut all = Figures {
        footprint_mm: bench.hull().footprint_mm(pose),
        contact_patches: cuts.contact_patches,
        overhang_area_mm2,
        overhang_after_bridges_mm2: (overhang_area_mm2 - overhang.carried).max(0.0),
        overhang_light_mm2: light_mm2,
        overhang_wide_mm2: wide_mm2,
        overhang_charged_mm2: overhang_area_mm2 - light_mm2 - wide_mm2,
        ceiling_carried_mm2: overhang.ceiling_carried.min(overhang_area_mm2),
        support_volume_mm3: held.volume_mm3,
        support_after_bridges_mm3: held.after_bridges_mm3,
        support_needed_mm3,
        support_wide_mm3: overhang.wide_mm3.min(support_needed_mm3),
        support_error_mm3: held.error_mm3,
        support_cell_mm: held.cell_mm,
        support_marks_mm2: held.scar,
        support_marks_error_mm2: held.scar_below_error_mm2,
        support_trapped_mm3: held.trapped_mm3,
        bridges: spanning.bridges.clone(),
        bridge_longest_mm: spanning.longest_mm,
        cantilever_longest_mm: spanning.cantilever_longest_mm,
        ledge_high_mm: Some(spanning.ledge_high_mm),
        ledge_high_z_mm: (spanning.ledge_high_mm > 0.0).then_some(spanning.ledge_high_z_mm),
        grooves: spanning.grooves.clone(),
        overhang_across_mm2: overhang.across,
        overhang_slit_mm2: overhang.slit,
        slit_mm3: overhang.slit_mm3,
        low_mm3: overhang.low_mm3,
        gentle_mm3: overhang.gentle_mm3,
        overhang_low_mm2: overhang.low,
        overhang_low_slope_mm2: low_slope_mm2.min(light_mm2),
        overhang_gentle_mm2: overhang.gentle,
        islands: (spanning.islands.iter())
            .map(|island| Island {
                graze: grazes::is_one(&cuts.grazes, island),
                ..*island
            })
            .collect(),
        slender_ratio: slender.map_or(0.0, |s| s.ratio),
        slender,
        sway_mm_per_n: slender::softest_sway(&drawn) / settings.material.e_mpa,
        weakest_section_mm2: cuts.weakest.map_or(0.0, |w| w.area_mm2),
        weakest_section_z_mm: cuts.weakest.map_or(0.0, |w| w.z_mm),
        show_marked_mm2: (!settings.show.is_empty())
            .then(|| show::marked_mm2(sliced.posed(), settings)),
        extrude_mm3: cuts.deposit.extrude_mm3,
        print_min: cuts.deposit.print_min,
        filament_g: deposit::mass_g(cuts.deposit.extrude_mm3, settings),
        support_min: support.print_min,
        support_g: deposit::mass_g(support.extrude_mm3, settings),
        doubtful,
        ..quick.figures(settings, &pose.down)
    };
    // Where no support is set there is none to hold it up.
    if !needs_support(&all, settings) {
        all.tip_with_support_deg = None;
    }
    all
}
