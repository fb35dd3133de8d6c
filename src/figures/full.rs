//! All figures of one pose, from the part to [`Figures`].

use super::quick::{Bench, CEILING_SIN, Quick};
use super::stop::Stop;
use super::{
    Figures, bridges, deposit, height, show, slender, slicing, strength, support, tree::PieceTree,
    weakest,
};
use crate::features::Size;
use crate::pose::{Pose, Posed};
use nalgebra::Point3;
use rayon::prelude::*;

/// Facets are sampled at this spacing when asking what a bridge carries, mm …
const SAMPLE_MM: f64 = 0.5;
/// … in at most the square of this many pieces each.
const SAMPLES: usize = 200;
/// The same when asking how deep the void below is.
const VOID_SAMPLE_MM: f64 = 2.0;
const VOID_SAMPLES: usize = 20;

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

/// Measures everything in `pose`; `quick` are the quick figures of its direction.
///
/// The quick figures are exact and enter as they are; the rest comes from
/// sections at mid-layer height and from the column sweep.
pub fn measure(bench: &Bench, quick: &Quick, pose: &Pose) -> Figures {
    figures(bench, quick, pose, &Stop::never())
}

/// The same; none where it is stopped.
pub fn measure_until(bench: &Bench, quick: &Quick, pose: &Pose, stop: &Stop) -> Option<Figures> {
    let figures = figures(bench, quick, pose, stop);
    (!stop.asked()).then_some(figures)
}

fn figures(bench: &Bench, quick: &Quick, pose: &Pose, stop: &Stop) -> Figures {
    let (part, settings) = (bench.part, bench.settings);
    let posed = Posed::new(part, pose.clone());
    let (layers, mended) = slicing::layers_until(&posed, settings, stop);
    let touch = slicing::cut(&posed, &[settings.touch_mm()]);
    let spanning = bridges::bridges_until(&layers, settings, stop);
    let carried = |x: f64, y: f64, z: f64| spanning.carried.carried(x, y, z);
    let held = support::support_until(&posed, settings, &carried, *stop);
    if stop.asked() {
        return Figures::default();
    }
    let tree = PieceTree::new(&layers, settings.line_mm);
    let stretches = slender::stretches_of(&tree, settings);
    let slenderest = slender::slenderest(&stretches);
    let weakest = weakest::weakest(&tree);
    let deposit = deposit::deposit(&layers, settings);
    let wide = |x: f64, y: f64, z: f64| spanning.wide.carried(x, y, z);
    let mut overhang = Overhang::of(bench, &posed, &carried, &wide);
    let mut overhang_area_mm2 = quick.overhang_area_mm2;
    let mut light_mm2 = quick.small_overhang_mm2 + overhang.broad_carried;
    let mut wide_mm2 = quick.middling_overhang_mm2 + overhang.broad_wide;
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
    // Sampled areas may exceed exact ones by a hair.
    let light_mm2 = light_mm2.min(overhang_area_mm2);
    let wide_mm2 = wide_mm2.min(overhang_area_mm2 - light_mm2);
    let support_needed_mm3 = (held.after_bridges_mm3 - overhang.small_mm3).max(0.0);
    let mut doubtful: Vec<String> = Vec::new();
    if !part.closed || mended > 0 || touch.mended > 0 {
        doubtful.extend(OPEN_DOUBTS.iter().map(|&k| k.to_owned()));
    }
    if part.overlapping {
        doubtful.extend(OVERLAP_DOUBTS.iter().map(|&k| k.to_owned()));
    }
    Figures {
        height_mm: quick.height_mm,
        layers: height::layer_count(quick.height_mm, settings),
        footprint_mm: posed.footprint_mm(),
        contact_area_mm2: quick.contact_area_mm2,
        contact_patches: touch.sections.first().map_or(0, |s| s.pieces.len() as u32),
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
        bridges: spanning.bridges,
        bridge_longest_mm: spanning.longest_mm,
        ledge_longest_mm: spanning.ledge_longest_mm,
        floating_starts: spanning.floating_starts,
        slender_ratio: slenderest.as_ref().map_or(0.0, |s| s.ratio),
        slender: slenderest,
        sway_mm_per_n: slender::softest_sway(&stretches),
        stair_mean_um: quick.stair_mean_um,
        underside_area_mm2: quick.underside_area_mm2,
        bores_lying_mm2: quick.bores_lying_mm2,
        shrink_pull_mm: quick.contact_chord_mm * settings.material.contraction(),
        weakest_section_mm2: weakest.as_ref().map_or(0.0, |w| w.area_mm2),
        weakest_section_z_mm: weakest.as_ref().map_or(0.0, |w| w.z_mm),
        load_across_layers: settings
            .load
            .map(|load| strength::load_across_layers(&pose.down, &load)),
        show_marked_mm2: show::marked_mm2(&posed, settings),
        extrude_mm3: deposit.extrude_mm3,
        print_min: deposit.print_min,
        filament_g: deposit.filament_g,
        doubtful,
    }
}

/// What of the overhang needs no support.
#[derive(Debug, Clone, Copy, Default)]
struct Overhang {
    /// Area that a bridge within the limit carries, mm².
    carried: f64,
    /// The ceilings among that, mm².
    ceiling_carried: f64,
    /// Those of them that are not small in themselves, mm².
    broad_carried: f64,
    /// Ceilings, not small, that a bridge up to twice the limit spans, mm².
    broad_wide: f64,
    /// Void below what is small, where no bridge carries it, mm³.
    small_mm3: f64,
    /// Void below what is middling or such a bridge spans, likewise, mm³.
    wide_mm3: f64,
}

impl Overhang {
    /// Asks at points spread over every overhang facet.
    fn of(
        bench: &Bench,
        posed: &Posed,
        carried: &(dyn Fn(f64, f64, f64) -> bool + Sync),
        wide: &(dyn Fn(f64, f64, f64) -> bool + Sync),
    ) -> Self {
        let settings = bench.settings;
        let (sine, touch_mm) = (settings.overhang_sin(), settings.touch_mm());
        // Fixed chunks, summed in order: the same bits on any number of threads.
        let sums: Vec<Self> = posed
            .normal_z
            .par_chunks(8192)
            .enumerate()
            .map(|(chunk, normals)| {
                let mut sum = Self::default();
                for (i, n) in normals.iter().enumerate() {
                    if -n <= sine {
                        continue;
                    }
                    let t = chunk * 8192 + i;
                    let corners = posed.part.mesh.triangles[t].map(|v| posed.vertices[v as usize]);
                    let above = posed.part.areas[t];
                    let area = above * share(&corners, SAMPLE_MM, touch_mm, carried);
                    let ceiling = -n > CEILING_SIN.max(sine);
                    sum.carried += area;
                    if ceiling {
                        sum.ceiling_carried += area;
                    }
                    let bare = |x: f64, y: f64, z: f64| !carried(x, y, z);
                    let spanned = |x: f64, y: f64, z: f64| bare(x, y, z) && wide(x, y, z);
                    match bench.size(t) {
                        Size::Small => {
                            sum.small_mm3 += -n * above * void(bench, posed, &corners, &bare);
                        }
                        Size::Middling => {
                            sum.wide_mm3 += -n * above * void(bench, posed, &corners, &bare);
                        }
                        Size::Large if ceiling => {
                            sum.broad_carried += area;
                            sum.broad_wide +=
                                above * share(&corners, SAMPLE_MM, touch_mm, &spanned);
                            sum.wide_mm3 += -n * above * void(bench, posed, &corners, &spanned);
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
            small_mm3: a.small_mm3 + b.small_mm3,
            wide_mm3: a.wide_mm3 + b.wide_mm3,
        })
    }
}

/// Mean over a triangle of the length of the void below it, zero where `counts` says no
/// and below touch height, mm.
fn void(
    bench: &Bench,
    posed: &Posed,
    corners: &[Point3<f64>; 3],
    counts: &(dyn Fn(f64, f64, f64) -> bool + Sync),
) -> f64 {
    let touch_mm = bench.settings.touch_mm();
    let part_from_build = posed.pose.build_from_part.inverse();
    let (mut sum, mut count) = (0.0, 0_usize);
    each_piece(corners, VOID_SAMPLE_MM, VOID_SAMPLES, |p| {
        count += 1;
        if p.z > touch_mm && counts(p.x, p.y, p.z) {
            sum += bench
                .void_below(&(part_from_build * p), &posed.pose.down)
                .unwrap_or(p.z)
                .min(p.z);
        }
    });
    sum / count.max(1) as f64
}

/// Share of a triangle's area above touch height that is carried, asked at the
/// centroids of pieces no longer than the spacing.
fn share(
    corners: &[Point3<f64>; 3],
    spacing_mm: f64,
    touch_mm: f64,
    carried: &(dyn Fn(f64, f64, f64) -> bool + Sync),
) -> f64 {
    let (mut hits, mut count) = (0_usize, 0_usize);
    each_piece(corners, spacing_mm, SAMPLES, |p| {
        count += 1;
        hits += usize::from(p.z > touch_mm && carried(p.x, p.y, p.z));
    });
    hits as f64 / count.max(1) as f64
}

/// Cuts a triangle into n² equal ones no longer than `spacing_mm`, n at most `most`,
/// and hands over the centroid of each.
fn each_piece(
    corners: &[Point3<f64>; 3],
    spacing_mm: f64,
    most: usize,
    mut take: impl FnMut(Point3<f64>),
) {
    let [a, b, c] = corners;
    let longest = (b - a).norm().max((c - b).norm()).max((a - c).norm());
    let n = ((longest / spacing_mm).ceil() as usize).clamp(1, most);
    let (u, v) = ((b - a) / n as f64, (c - a) / n as f64);
    for j in 0..n {
        for i in 0..n - j {
            let (fi, fj) = (i as f64, j as f64);
            take(a + u * (fi + 1.0 / 3.0) + v * (fj + 1.0 / 3.0));
            if i + j + 1 < n {
                take(a + u * (fi + 2.0 / 3.0) + v * (fj + 2.0 / 3.0));
            }
        }
    }
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
        let share = share(&corners, SAMPLE_MM, 0.1, &|x, y, _| x > y);
        assert!((share - 0.5).abs() < 0.01, "{share}");
    }
}
