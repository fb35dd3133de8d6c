//! Area integrals over polygons.
//!
//! Green's theorem turns each into a sum over the edges of the loops (polygon moments, any
//! strength-of-materials text).

use super::polygon::edges;
use nalgebra::Point2;

/// Area integrals of 1, x, y, x², y², xy about an origin near the loops.
#[derive(Debug, Clone, Copy, Default)]
pub struct PolygonMoments {
    /// ∫1.
    pub area: f64,
    /// ∫x.
    pub x: f64,
    /// ∫y.
    pub y: f64,
    /// ∫x².
    pub xx: f64,
    /// ∫y².
    pub yy: f64,
    /// ∫xy.
    pub xy: f64,
}

impl PolygonMoments {
    /// Adds a closed loop: counter-clockwise ones count as material, clockwise ones as holes.
    /// Fewer than three points add nothing.
    pub fn add_loop(&mut self, ring: &[Point2<f64>], origin: Point2<f64>) {
        if ring.len() < 3 {
            return;
        }
        let mut part = PolygonMoments::default();
        for (a, b) in edges(ring) {
            let (a, b) = (a - origin, b - origin);
            let cross = a.x * b.y - b.x * a.y;
            part.area += cross;
            part.x += cross * (a.x + b.x);
            part.y += cross * (a.y + b.y);
            part.xx += cross * (a.x * a.x + a.x * b.x + b.x * b.x);
            part.yy += cross * (a.y * a.y + a.y * b.y + b.y * b.y);
            part.xy += cross * (2.0 * (a.x * a.y + b.x * b.y) + a.x * b.y + b.x * a.y);
        }
        self.area += part.area / 2.0;
        self.x += part.x / 6.0;
        self.y += part.y / 6.0;
        self.xx += part.xx / 12.0;
        self.yy += part.yy / 12.0;
        self.xy += part.xy / 24.0;
    }
}
