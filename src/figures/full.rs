//! All figures of one pose, from the part to [`Figures`].

use super::quick::{Bench, CEILING_SIN, Quick};
use super::{
    Figures, bridges, deposit, height, show, slender, slicing, strength, support, tree::PieceTree,
    weakest,
};
use crate::pose::{Pose, Posed};
use nalgebra::Point3;
use rayon::prelude::*;

/// Facets are sampled at this spacing when asking what a bridge carries, mm.
const SAMPLE_MM: f64 = 0.5;

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
    let (part, settings) = (bench.part, bench.settings);
    let posed = Posed::new(part, pose.clone());
    let (layers, mended) = slicing::layers(&posed, settings);
    let touch = slicing::cut(&posed, &[settings.touch_mm()]);
    let spanning = bridges::bridges(&layers, settings);
    let carried = |x: f64, y: f64, z: f64| spanning.carried.carried(x, y, z);
    let held = support::support(&posed, settings, &carried);
    let tree = PieceTree::new(&layers, settings.line_mm);
    let stretches = slender::stretches_of(&tree, settings);
    let slenderest = slender::slenderest(&stretches);
    let weakest = weakest::weakest(&tree);
    let deposit = deposit::deposit(&layers, settings);
    let mut overhang = Overhang::of(
        &posed,
        settings.overhang_sin(),
        settings.touch_mm(),
        &carried,
    );
    let mut overhang_area_mm2 = quick.overhang_area_mm2;
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
    }
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
        overhang_charged_mm2: (overhang_area_mm2 - overhang.ceiling_carried).max(0.0),
        ceiling_carried_mm2: overhang.ceiling_carried.min(overhang_area_mm2),
        support_volume_mm3: held.volume_mm3,
        support_after_bridges_mm3: held.after_bridges_mm3,
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

/// Overhang area that bridges carry, mm².
struct Overhang {
    carried: f64,
    ceiling_carried: f64,
}

impl Overhang {
    /// Asks at points spread over every overhang facet.
    fn of(
        posed: &Posed,
        sine: f64,
        touch_mm: f64,
        carried: &(dyn Fn(f64, f64, f64) -> bool + Sync),
    ) -> Self {
        // Fixed chunks, summed in order: the same bits on any number of threads.
        let sums: Vec<(f64, f64)> = posed
            .normal_z
            .par_chunks(8192)
            .enumerate()
            .map(|(chunk, normals)| {
                let mut sum = (0.0, 0.0);
                for (i, n) in normals.iter().enumerate() {
                    if -n <= sine {
                        continue;
                    }
                    let t = chunk * 8192 + i;
                    let corners = posed.part.mesh.triangles[t].map(|v| posed.vertices[v as usize]);
                    let area = posed.part.areas[t] * share(&corners, touch_mm, carried);
                    sum.0 += area;
                    if -n > CEILING_SIN.max(sine) {
                        sum.1 += area;
                    }
                }
                sum
            })
            .collect();
        let (carried, ceiling_carried) = sums
            .into_iter()
            .fold((0.0, 0.0), |(a, b), (x, y)| (a + x, b + y));
        Self {
            carried,
            ceiling_carried,
        }
    }
}

/// Share of a triangle's area that is carried: it is cut into n² equal triangles
/// no longer than the sample spacing, and each is asked at its centroid.
fn share(
    corners: &[Point3<f64>; 3],
    touch_mm: f64,
    carried: &(dyn Fn(f64, f64, f64) -> bool + Sync),
) -> f64 {
    let [a, b, c] = corners;
    let longest = (b - a).norm().max((c - b).norm()).max((a - c).norm());
    let n = ((longest / SAMPLE_MM).ceil() as usize).clamp(1, 200);
    let (u, v) = ((b - a) / n as f64, (c - a) / n as f64);
    let mut hits = 0_usize;
    let mut ask = |i: f64, j: f64| {
        let p = a + u * i + v * j;
        if p.z > touch_mm && carried(p.x, p.y, p.z) {
            hits += 1;
        }
    };
    for j in 0..n {
        for i in 0..n - j {
            let (fi, fj) = (i as f64, j as f64);
            ask(fi + 1.0 / 3.0, fj + 1.0 / 3.0);
            if i + j + 1 < n {
                ask(fi + 2.0 / 3.0, fj + 2.0 / 3.0);
            }
        }
    }
    hits as f64 / (n * n) as f64
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
        let share = share(&corners, 0.1, &|x, y, _| x > y);
        assert!((share - 0.5).abs() < 0.01, "{share}");
    }
}
