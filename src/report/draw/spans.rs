//! Bridges that the view from below does not show, because a floor lies before them:
//! where they are, for an arrow in the front or the side view.

use super::surface::MarkedSurface;
use crate::figures::subdivide::{cuts, each_piece};
use nalgebra::{Point3, Vector3};

/// A bridge smaller than this is not shown, mm².
const LEAST_MM2: f64 = 20.0;

/// Facets are looked at this closely, mm …
const STEP_MM: f64 = 1.0;
/// … in at most the square of this many pieces each.
const STEPS: usize = 40;

/// Bridges shown at most.
const MOST: usize = 3;

/// A bridge with its place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BridgeSpan {
    /// Middle of the ceiling that it carries, build frame, mm.
    pub middle: Point3<f64>,
    /// Unit direction of its strands.
    pub along: Vector3<f64>,
    /// Its span, mm.
    pub span_mm: f64,
}

/// The largest bridges within the limit, by area; for each the mean of the carried
/// facets at its height.
pub fn spans(surface: &MarkedSurface, limit_mm: f64) -> Vec<BridgeSpan> {
    let mut list: Vec<_> = surface
        .bridges
        .iter()
        .filter(|b| b.area_mm2 >= LEAST_MM2 && b.span_mm <= limit_mm)
        .collect();
    list.sort_by(|a, b| {
        b.area_mm2
            .total_cmp(&a.area_mm2)
            .then(a.z_mm.total_cmp(&b.z_mm))
    });
    let posed = surface.posed;
    let mut out: Vec<BridgeSpan> = Vec::new();
    for bridge in list.into_iter().take(MOST) {
        let (mut sum, mut weight) = (Vector3::zeros(), 0.0);
        for (t, tri) in posed.part.mesh.triangles.iter().enumerate() {
            if !surface.leans(t as u32) {
                continue;
            }
            let corners = tri.map(|v| posed.vertices[v as usize]);
            let level = corners
                .iter()
                .all(|p| (p.z - bridge.z_mm).abs() <= surface.settings.layer_mm);
            if !level {
                continue;
            }
            // A facet may be carried in part.
            let n = cuts(&corners, STEP_MM, STEPS);
            let share = posed.part.areas[t] / (n * n) as f64;
            each_piece(&corners, n, |p| {
                if surface.carried.carried(p.x, p.y, p.z) {
                    sum += p.coords * share;
                    weight += share;
                }
            });
        }
        if weight > 0.0 {
            let turn = bridge.direction_deg.to_radians();
            out.push(BridgeSpan {
                middle: Point3::from(sum / weight),
                along: Vector3::new(libm::cos(turn), libm::sin(turn), 0.0),
                span_mm: bridge.span_mm,
            });
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::figures::sliced::Sliced;
    use crate::pose::Pose;
    use crate::report::draw::fixture::{bench, blocks};
    use crate::settings::Settings;

    #[test]
    fn a_slot_over_a_floor_is_found_where_it_is() {
        // A floor, two walls 8 mm apart and a lid: the ceiling lies at z = 8.
        let part = blocks(&[
            ([0.0, 0.0, 0.0], [30.0, 28.0, 4.0]),
            ([0.0, 0.0, 4.0], [30.0, 10.0, 8.0]),
            ([0.0, 18.0, 4.0], [30.0, 28.0, 8.0]),
            ([0.0, 0.0, 8.0], [30.0, 28.0, 12.0]),
        ]);
        let settings = Settings::default();
        let bench = bench(&part, &settings);
        let sliced = Sliced::new(&bench, Pose::as_stored(&part.mesh.vertices));
        let surface = MarkedSurface::of(&sliced);
        let found = spans(&surface, 10.0);
        let [span] = found[..] else {
            panic!("{found:?}")
        };
        assert!((span.span_mm - 8.0).abs() < 0.1);
        assert!(span.along.y.abs() > 0.99);
        assert!((span.middle.z - 8.0).abs() < 0.2 && span.middle.y.abs() < 0.3);
        assert!(spans(&surface, 6.0).is_empty());
    }
}
