//! Estimate of the deposit: how much is extruded, how long it takes, what it weighs.
//!
//! The model, per layer of thickness h, with walls of d = walls × line:
//!
//! - **Shell**: perimeter × d, less π·d² for an outer loop and more π·d² for each
//!   hole, where the wall closes round a corner (Steiner's formula for a strip
//!   inside a smooth outline; exact for discs and rings, at a square corner too
//!   large by 0.2·d²). A piece not wider than its walls is all shell.
//! - **Solid top and bottom**, as thick as the walls: where the area shrinks from
//!   one layer to the next, that much is top; where it grows, bottom; all of the
//!   first layer is bottom and all of the last top. The same share of the inside of
//!   the layers that lie within d below (above) is solid. Only total areas are
//!   compared, so a section that moves sideways without changing its area shows none.
//! - **Infill**: the share `infill` of the rest.
//!
//! Time is the volume over the deposition rate and a fixed time per layer, for travel
//! and the change of layer. Support is worked out by itself ([`support`]); heating up and
//! acceleration are left out.

use super::{Layers, Piece};
use crate::settings::Settings;
use crate::tol::LAYER_COUNT_TOL;
use rayon::prelude::*;
use std::f64::consts::PI;

/// Deposit of one pose, without support.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Deposit {
    /// Extruded volume, mm³.
    pub extrude_mm3: f64,
    /// Printing time, min.
    pub print_min: f64,
}

/// Estimates the deposit by the model at the top of this file.
///
/// `settings` gives walls, line, infill, deposition rate, time per layer and the
/// material's density. With an infill of 1 the volume is that of the stacked
/// layers. No layers give zeros.
pub fn deposit(layers: &Layers, settings: &Settings) -> Deposit {
    let wall_mm = f64::from(settings.walls) * settings.line_mm;
    let rows: Vec<Row> = layers
        .sections
        .par_iter()
        .map(|section| Row {
            area: section.pieces.iter().map(|p| p.area_mm2).sum(),
            shell: section.pieces.iter().map(|p| shell_mm2(p, wall_mm)).sum(),
        })
        .collect();
    let skin = (wall_mm / settings.layer_mm - LAYER_COUNT_TOL)
        .ceil()
        .max(0.0) as usize;
    let area = |k: Option<usize>| k.and_then(|k| rows.get(k)).map_or(0.0, |r| r.area);
    // Bottoms and tops summed up from the bed: the sum over a window is a difference.
    let sums = |exposed: &dyn Fn(usize) -> f64| {
        let mut sums = vec![0.0];
        sums.extend((0..rows.len()).scan(0.0, |sum, k| {
            *sum += exposed(k).max(0.0);
            Some(*sum)
        }));
        sums
    };
    let bottoms = sums(&|k| area(Some(k)) - area(k.checked_sub(1)));
    let tops = sums(&|k| area(Some(k)) - area(Some(k + 1)));

    let extrude_mm3: f64 = rows
        .iter()
        .zip(layers.levels_mm.windows(2))
        .enumerate()
        .filter(|(_, (row, _))| row.area > 0.0)
        .map(|(k, (row, level))| {
            let above = k.saturating_add(skin).min(rows.len());
            let below = (k + 1).saturating_sub(skin);
            let exposed = bottoms[k + 1] - bottoms[below] + tops[above] - tops[k];
            let solid = (exposed / row.area).clamp(0.0, 1.0);
            let inside = row.area - row.shell;
            (level[1] - level[0]) * (row.shell + inside * (solid + (1.0 - solid) * settings.infill))
        })
        .sum();
    let layer_min = rows.len() as f64 * settings.layer_change_s / 60.0;
    Deposit {
        extrude_mm3,
        print_min: extrude_mm3 / settings.rate_mm3_s / 60.0 + layer_min,
    }
}

/// Share of its space that support fills (a house value).
pub const SUPPORT_INFILL: f64 = 0.15;

/// What support of a volume adds where it is switched on: its layers are the part's own, so
/// only the volume takes time.
pub fn support(volume_mm3: f64, settings: &Settings) -> Deposit {
    let extrude_mm3 = SUPPORT_INFILL * volume_mm3;
    Deposit {
        extrude_mm3,
        print_min: extrude_mm3 / settings.rate_mm3_s / 60.0,
    }
}

/// Mass of an extruded volume in the material in force, g.
pub fn mass_g(extrude_mm3: f64, settings: &Settings) -> f64 {
    extrude_mm3 / 1000.0 * settings.material.density_g_cm3
}

/// Areas of one layer, mm².
struct Row {
    area: f64,
    shell: f64,
}

/// Area of the walls of a piece, mm².
fn shell_mm2(piece: &Piece, wall_mm: f64) -> f64 {
    let perimeter = piece.perimeter_mm();
    let closing = (1.0 - piece.holes.len() as f64) * PI * wall_mm;
    // Beyond this wall the formula would shrink again; the piece is full before that.
    if 2.0 * closing >= perimeter {
        return piece.area_mm2;
    }
    ((perimeter - closing) * wall_mm).clamp(0.0, piece.area_mm2.max(0.0))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::figures::mock::{Stack, disc, ring, square};
    use approx::assert_relative_eq;

    fn settings() -> Settings {
        Settings {
            walls: 2,
            line_mm: 0.5,
            infill: 0.2,
            ..Settings::default()
        }
    }

    #[test]
    fn deposit_of_a_full_cylinder_is_its_volume() {
        let s = Settings {
            infill: 1.0,
            ..settings()
        };
        let layers = Stack::new(0.2)
            .up_to(20.0, &[disc(0.0, 0.0, 10.0, 3000)])
            .layers();
        let d = deposit(&layers, &s);
        let volume = PI * 100.0 * 20.0;
        assert_relative_eq!(d.extrude_mm3, volume, max_relative = 1e-5);
        // PLA 1.24 g/cm³; 5 mm³/s and 2 s a layer for 100 layers.
        assert_relative_eq!(
            mass_g(d.extrude_mm3, &s),
            volume * 1.24e-3,
            max_relative = 1e-5
        );
        assert_relative_eq!(
            d.print_min,
            (volume / 5.0 + 200.0) / 60.0,
            max_relative = 1e-5
        );
    }

    /// 15 % of 20 cm³ are 3000 mm³: ten minutes at 5 mm³/s, 3.72 g of PLA.
    #[test]
    fn support_is_filled_by_a_seventh() {
        let s = settings();
        let d = support(20_000.0, &s);
        assert_relative_eq!(d.print_min, 10.0, max_relative = 1e-12);
        assert_relative_eq!(mass_g(d.extrude_mm3, &s), 3.72, max_relative = 1e-12);
    }

    #[test]
    fn deposit_of_a_cylinder_is_shell_skin_and_infill() {
        // Worked by hand: walls 1 mm, five solid layers at each end, 90 between.
        let layers = Stack::new(0.2)
            .up_to(20.0, &[disc(0.0, 0.0, 10.0, 3000)])
            .layers();
        let (whole, inside) = (PI * 100.0, PI * 81.0);
        let hand = 2.0 * whole + 18.0 * (whole - inside + 0.2 * inside);
        assert_relative_eq!(
            deposit(&layers, &settings()).extrude_mm3,
            hand,
            max_relative = 1e-5
        );
    }

    #[test]
    fn deposit_of_a_tube_has_two_walls() {
        let layers = Stack::new(0.2)
            .up_to(20.0, &[ring(0.0, 0.0, 10.0, 5.0, 3000)])
            .layers();
        let (whole, inside) = (PI * 75.0, PI * (81.0 - 36.0));
        let hand = 2.0 * whole + 18.0 * (whole - inside + 0.2 * inside);
        assert_relative_eq!(
            deposit(&layers, &settings()).extrude_mm3,
            hand,
            max_relative = 1e-5
        );
    }

    #[test]
    fn deposit_makes_a_step_solid_on_both_sides() {
        // 20 × 20 × 10 with 10 × 10 × 10 on top: below the step 3/4 of the inside is
        // solid for 1 mm; the post adds no bottom.
        let layers = Stack::new(0.2)
            .up_to(10.0, &[square(0.0, 0.0, 20.0)])
            .up_to(20.0, &[square(0.0, 0.0, 10.0)])
            .layers();
        let (shell, post_shell) = (80.0 - PI, 40.0 - PI);
        let (inside, post_inside) = (400.0 - shell, 100.0 - post_shell);
        let hand = 10.0 * shell
            + inside * (1.0 + 8.0 * 0.2 + 0.75 + 0.25 * 0.2)
            + 10.0 * post_shell
            + post_inside * (9.0 * 0.2 + 1.0);
        assert_relative_eq!(
            deposit(&layers, &settings()).extrude_mm3,
            hand,
            max_relative = 1e-9
        );
    }

    #[test]
    fn deposit_of_a_thin_pin_is_solid() {
        for radius in [0.2, 0.6, 0.99] {
            let layers = Stack::new(0.2)
                .up_to(20.0, &[disc(0.0, 0.0, radius, 3000)])
                .layers();
            let full = PI * radius * radius * 20.0;
            assert_relative_eq!(
                deposit(&layers, &settings()).extrude_mm3,
                full,
                max_relative = 1e-5
            );
        }
    }

    #[test]
    fn deposit_of_nothing_is_nil_and_walls_may_be_absent() {
        assert_eq!(deposit(&Layers::default(), &settings()), Deposit::default());
        let bare = Settings {
            walls: 0,
            ..settings()
        };
        let layers = Stack::new(0.2)
            .up_to(2.0, &[square(0.0, 0.0, 10.0)])
            .layers();
        assert_relative_eq!(
            deposit(&layers, &bare).extrude_mm3,
            40.0,
            max_relative = 1e-12
        );
    }
}
