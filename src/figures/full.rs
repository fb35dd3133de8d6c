//! All figures of one pose, from the part to [`Figures`].

use super::quick::{Bench, Quick};
use super::spared::Spared;
use super::stop::Stop;
use super::support::Support;
use super::tree::PieceTree;
use super::weakest::Weakest;
use super::{
    Bridge, Figures, FloatingStart, Layers, Slender, bridges, deposit, height, show, slender,
    slicing, strength, support, weakest,
};
use crate::pose::{Pose, Posed};
use crate::settings::Settings;
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
    "floating_starts",
    "slender_ratio",
    "sway_mm_per_n",
    "weakest_section_mm2",
    "extrude_mm3",
    "print_min",
    "filament_g",
];

/// Figures that are estimated where bodies may overlap.
const OVERLAP_DOUBTS: &[&str] = &["stair_mean_um"];

/// What the sections of a pose show by themselves, whatever hangs over and whatever the
/// material.
#[derive(Debug, Clone, PartialEq)]
pub struct Cuts {
    contact_patches: u32,
    /// Chains of some section had to be closed by a guess.
    mended: bool,
    slender: Option<Slender>,
    /// Sway of the softest stretch at a Young's modulus of 1 N/mm², mm/N.
    softest: f64,
    weakest: Option<Weakest>,
    extrude_mm3: f64,
    print_min: f64,
}

/// What hangs over in a pose, and what holds it.
#[derive(Debug, Clone, PartialEq)]
pub struct Hanging {
    overhang: Spared,
    held: Support,
    bridges: Vec<Bridge>,
    longest_mm: f64,
    ledge_longest_mm: f64,
    floating_starts: Vec<FloatingStart>,
}

/// Settings by their bits, to tell whether a figure has to be measured anew.
pub type Bits = [u64; 7];

/// The values that [`Cuts`] depend on, by their bits.
pub fn cuts_depend_on(settings: &Settings) -> Bits {
    // Taken apart in full here and below, so that a new setting has to be thought of.
    let Settings {
        layer_mm,
        first_layer_mm,
        line_mm,
        walls,
        infill,
        rate_mm3_s,
        layer_change_s,
        limit_deg: _,
        bridge_limit_mm: _,
        bed_mm: _,
        material: _,
        load: _,
        show: _,
        aim: _,
        weights: _,
        tolerance_mm: _,
    } = settings;
    [
        layer_mm.to_bits(),
        first_layer_mm.to_bits(),
        line_mm.to_bits(),
        u64::from(*walls),
        infill.to_bits(),
        rate_mm3_s.to_bits(),
        layer_change_s.to_bits(),
    ]
}

/// The values that [`Hanging`] depends on, by their bits.
pub fn hanging_depends_on(settings: &Settings) -> Bits {
    let Settings {
        layer_mm,
        first_layer_mm,
        line_mm,
        limit_deg,
        bridge_limit_mm,
        walls: _,
        infill: _,
        rate_mm3_s: _,
        layer_change_s: _,
        bed_mm: _,
        material: _,
        load: _,
        show: _,
        aim: _,
        weights: _,
        tolerance_mm: _,
    } = settings;
    [
        layer_mm.to_bits(),
        first_layer_mm.to_bits(),
        line_mm.to_bits(),
        limit_deg.to_bits(),
        bridge_limit_mm.to_bits(),
        0,
        0,
    ]
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

/// Measures everything in `pose`; `quick` are the quick figures of its direction.
///
/// The quick figures are exact and enter as they are; the rest comes from
/// sections at mid-layer height and from the column sweep.
pub fn measure(bench: &Bench, quick: &Quick, pose: &Pose) -> Figures {
    // Only a stop leaves it without an answer, and nobody stops it.
    measure_from(bench, quick, pose, &mut Before::default(), &Stop::never()).unwrap_or_default()
}

/// The same from what is known; what was missing is added to it. None where it is stopped.
pub fn measure_from(
    bench: &Bench,
    quick: &Quick,
    pose: &Pose,
    before: &mut Before,
    stop: &Stop,
) -> Option<Figures> {
    let (cuts, hanging) = measured(bench, pose, before, stop)?;
    Some(figures(bench, quick, pose, &cuts, &hanging))
}

/// Measures what is missing.
fn measured(
    bench: &Bench,
    pose: &Pose,
    before: &mut Before,
    stop: &Stop,
) -> Option<(Arc<Cuts>, Arc<Hanging>)> {
    if let (Some(cuts), Some(hanging)) = (&before.cuts, &before.hanging) {
        return Some((Arc::clone(cuts), Arc::clone(hanging)));
    }
    let settings = bench.settings;
    let posed = Posed::new(bench.part, pose.clone());
    let (layers, mended) = slicing::layers_until(&posed, settings, stop);
    let hanging = match before.hanging.take() {
        Some(hanging) => hanging,
        None => Arc::new(Hanging::new(bench, &posed, &layers, stop)),
    };
    if stop.asked() {
        return None;
    }
    let cuts = match before.cuts.take() {
        Some(cuts) => cuts,
        None => Arc::new(Cuts::new(&posed, &layers, mended, settings)),
    };
    before.cuts = Some(Arc::clone(&cuts));
    before.hanging = Some(Arc::clone(&hanging));
    Some((cuts, hanging))
}

impl Cuts {
    fn new(posed: &Posed, layers: &Layers, mended: usize, settings: &Settings) -> Self {
        let touch = slicing::cut(posed, &[settings.touch_mm()]);
        let tree = PieceTree::new(layers, settings.line_mm);
        let stretches = slender::stretches_of(&tree, settings.line_mm, 1.0);
        let deposit = deposit::deposit(layers, settings);
        Self {
            contact_patches: touch.sections.first().map_or(0, |s| s.pieces.len() as u32),
            mended: mended > 0 || touch.mended > 0,
            slender: slender::slenderest(&stretches),
            softest: slender::softest_sway(&stretches),
            weakest: weakest::weakest(&tree),
            extrude_mm3: deposit.extrude_mm3,
            print_min: deposit.print_min,
        }
    }
}

impl Hanging {
    fn new(bench: &Bench, posed: &Posed, layers: &Layers, stop: &Stop) -> Self {
        let settings = bench.settings;
        let spanning = bridges::bridges_until(layers, settings, stop);
        let carried = |x: f64, y: f64, z: f64| spanning.carried.carried(x, y, z);
        let wide = |x: f64, y: f64, z: f64| spanning.wide.carried(x, y, z);
        let held = support::support_until(posed, settings, &carried, *stop);
        let overhang = if stop.asked() {
            Spared::default()
        } else {
            Spared::of(bench, posed, &carried, &wide)
        };
        Self {
            overhang,
            held,
            bridges: spanning.bridges,
            longest_mm: spanning.longest_mm,
            ledge_longest_mm: spanning.ledge_longest_mm,
            floating_starts: spanning.floating_starts,
        }
    }
}

/// All figures from what was measured: sums and products only.
fn figures(bench: &Bench, quick: &Quick, pose: &Pose, cuts: &Cuts, hanging: &Hanging) -> Figures {
    let (part, settings) = (bench.part, bench.settings);
    let (held, mut overhang) = (&hanging.held, hanging.overhang);
    let mut overhang_area_mm2 = quick.overhang_area_mm2;
    // Sampled areas may exceed exact ones by a hair, here and below: no more is carried
    // than there is, so that a sum over the exact ones bounds the penalties.
    let broad_mm2 = quick.broad_ceiling_mm2;
    let carried_mm2 = overhang.broad_carried.min(broad_mm2);
    let spanned_mm2 = overhang.broad_wide.min(broad_mm2 - carried_mm2);
    let mut light_mm2 = quick.small_overhang_mm2 + carried_mm2;
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
        overhang.wide_mm3 *= share;
        light_mm2 *= share;
        wide_mm2 *= share;
    }
    let light_mm2 = light_mm2.min(overhang_area_mm2);
    let wide_mm2 = wide_mm2.min(overhang_area_mm2 - light_mm2);
    let support_needed_mm3 = (held.after_bridges_mm3 - overhang.small_mm3).max(0.0);
    let mut doubtful: Vec<String> = Vec::new();
    if !part.closed || cuts.mended {
        doubtful.extend(OPEN_DOUBTS.iter().map(|&k| k.to_owned()));
    }
    if part.overlapping {
        doubtful.extend(OVERLAP_DOUBTS.iter().map(|&k| k.to_owned()));
    }
    Figures {
        height_mm: quick.height_mm,
        layers: height::layer_count(quick.height_mm, settings),
        footprint_mm: bench.hull().footprint_mm(pose),
        contact_area_mm2: quick.contact_area_mm2,
        contact_patches: cuts.contact_patches,
        tip_angle_deg: quick.tip_angle_rad.to_degrees(),
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
        support_scar_mm2: held.scar,
        support_scar_error_mm2: held.scar_below_error_mm2,
        support_trapped_mm3: held.trapped_mm3,
        bridges: hanging.bridges.clone(),
        bridge_longest_mm: hanging.longest_mm,
        ledge_longest_mm: hanging.ledge_longest_mm,
        floating_starts: hanging.floating_starts.clone(),
        slender_ratio: cuts.slender.map_or(0.0, |s| s.ratio),
        slender: cuts.slender,
        sway_mm_per_n: cuts.softest / settings.material.e_mpa,
        stair_mean_um: quick.stair_mean_um,
        underside_area_mm2: quick.underside_area_mm2,
        bores_lying_mm2: quick.bores_lying_mm2,
        shrink_pull_mm: quick.contact_chord_mm * settings.material.contraction(),
        weakest_section_mm2: cuts.weakest.map_or(0.0, |w| w.area_mm2),
        weakest_section_z_mm: cuts.weakest.map_or(0.0, |w| w.z_mm),
        load_across_layers: settings
            .load
            .map(|load| strength::load_across_layers(&pose.down, &load)),
        show_marked_mm2: (!settings.show.is_empty())
            .then(|| Posed::new(part, pose.clone()))
            .and_then(|posed| show::marked_mm2(&posed, settings)),
        extrude_mm3: cuts.extrude_mm3,
        print_min: cuts.print_min,
        filament_g: deposit::mass_g(cuts.extrude_mm3, settings),
        doubtful,
    }
}
