//! The room under overhang that support would fill, as upright lines.

use super::join::{between, runs};
use super::lines::{Polyline, Seen};
use super::surface::MarkedSurface;
use crate::figures::dexels::{Dexels, Grid, Raster};
use crate::figures::stop::Stop;

/// Lines along one side of the plan at most.
const MOST: f64 = 400.0;

/// Lines looked at for each one drawn, along one side.
const FINER: f64 = 3.0;

/// Shorter pieces are left out, as a share of the pitch.
const SHORTEST: f64 = 0.27;

/// Upright pieces from where support would stand to the overhang above: x, y, from z, to z.
pub type Prop = [f64; 4];

/// Finds the room under overhang, for lines that are to be drawn `pitch_mm` apart: it is
/// looked for at a third of that, so that nothing thin is missed.
pub fn props(surface: &MarkedSurface, pitch_mm: f64) -> Vec<Prop> {
    let posed = surface.posed;
    let [x, y] = posed.footprint_mm();
    let cell = (pitch_mm / FINER).max(x.max(y) / MOST);
    let Some(grid) = Grid::over(posed, cell, 0.0, [0.5, 0.5]) else {
        return Vec::new();
    };
    let raster = Raster::new(posed, &grid);
    let mut dexels = Dexels::default();
    let mut out = Vec::new();
    for strip in 0..raster.strips() {
        raster.strip(strip, &mut dexels, Stop::never());
        for j in dexels.rows.clone() {
            for i in 0..grid.nx {
                let place = grid.line(i, j);
                let (mut depth, mut floor) = (0_i32, 0.0);
                for crossing in dexels.line(i, j) {
                    if crossing.enters {
                        let p = [place.x, place.y, crossing.z_mm];
                        if depth == 0 && surface.hangs(crossing.triangle, p) {
                            out.push([place.x, place.y, floor, crossing.z_mm]);
                        }
                        depth += 1;
                    } else {
                        depth -= 1;
                        floor = crossing.z_mm;
                    }
                }
            }
        }
    }
    out
}

/// The upright lines as they are seen in a view, `pitch_mm` apart, those on one another
/// joined; only where nothing stands before them.
pub fn seen(props: &[Prop], seen: &Seen, pitch_mm: f64) -> Vec<Polyline> {
    let frame = seen.depth.frame;
    let pitch_px = pitch_mm / frame.step_mm;
    // Number of the line drawn, and from where to where, pixels.
    let mut pieces: Vec<(i64, f64, f64)> = Vec::new();
    for &[x, y, from, to] in props {
        let [a, b] = [from, to].map(|z| frame.px(seen.view.map(&nalgebra::Point3::new(x, y, z))));
        let line = (a[0] / pitch_px).round();
        // Half of the spacing they are looked for at, and a hair.
        if (a[0] / pitch_px - line).abs() > 0.51 / FINER {
            continue;
        }
        let n = ((b[1] - a[1]).abs().ceil() as usize).max(1);
        let free = |i: usize| {
            let middle = between(a, b, (i as f64 + 0.5) / n as f64);
            seen.depth.clear(middle)
        };
        let free: Vec<bool> = (0..n).map(free).collect();
        for (from, to, _) in runs(&free).into_iter().filter(|r| r.2) {
            let [v, w] = [from, to].map(|i| a[1] + i as f64 / n as f64 * (b[1] - a[1]));
            pieces.push((line as i64, v.min(w), v.max(w)));
        }
    }
    pieces.sort_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)));
    let mut joined: Vec<(i64, f64, f64)> = Vec::new();
    for piece in pieces {
        match joined.last_mut() {
            Some(last) if last.0 == piece.0 && piece.1 <= last.2 + 1.0 => {
                last.2 = last.2.max(piece.2);
            }
            _ => joined.push(piece),
        }
    }
    joined
        .into_iter()
        .filter(|(_, from, to)| (to - from) * frame.step_mm >= SHORTEST * pitch_mm)
        .map(|(u, from, to)| {
            let u = u as f64 * pitch_px;
            vec![frame.mm([u, from]), frame.mm([u, to])]
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::figures::sliced::Sliced;
    use crate::pose::Pose;
    use crate::report::draw::fixture::{bench, blocks};
    use crate::report::draw::view::View;
    use crate::settings::Settings;

    #[test]
    fn props_stand_under_a_ledge_and_nowhere_else() {
        // A ledge of 20 × 10 mm, 15 mm above the bed.
        let part = blocks(&[
            ([0.0, 0.0, 0.0], [10.0, 10.0, 20.0]),
            ([10.0, 0.0, 15.0], [30.0, 10.0, 20.0]),
        ]);
        let settings = Settings::default();
        let bench = bench(&part, &settings);
        let sliced = Sliced::new(&bench, Pose::as_stored(&part.mesh.vertices));
        let surface = MarkedSurface::of(&sliced);
        let found = props(&surface, 1.0);
        assert!(
            (found.len() as f64 - 1800.0).abs() <= 100.0,
            "{}",
            found.len()
        );
        for [x, _, from, to] in &found {
            // The footprint is centred: the ledge begins at −5.
            assert!(*x > -5.0);
            assert!(*from == 0.0 && (to - 15.0).abs() < 1e-6);
        }
        let seen_from = Seen::new(sliced.posed(), View::front(), 400).expect("extent");
        let lines = seen(&found, &seen_from, 1.0);
        assert!((lines.len() as f64 - 20.0).abs() <= 1.0);
    }
}
