//! Hand-made layers for tests.

use super::{Layers, Piece, Section};
use nalgebra::Point2;

/// Axis-parallel rectangle about a centre.
pub(crate) fn rectangle(cx: f64, cy: f64, wx: f64, wy: f64) -> Piece {
    let (x, y) = (wx / 2.0, wy / 2.0);
    let corners = [(-x, -y), (x, -y), (x, y), (-x, y)];
    Piece::from_loops(
        corners.map(|(u, v)| Point2::new(cx + u, cy + v)).to_vec(),
        vec![],
    )
}

/// Axis-parallel square about a centre.
pub(crate) fn square(cx: f64, cy: f64, side: f64) -> Piece {
    rectangle(cx, cy, side, side)
}

/// Regular polygon of `n` corners about a centre.
pub(crate) fn disc(cx: f64, cy: f64, radius: f64, n: u32) -> Piece {
    Piece::from_loops(circle(cx, cy, radius, n), vec![])
}

/// Counter-clockwise loop of `n` points on a circle.
pub(crate) fn circle(cx: f64, cy: f64, radius: f64, n: u32) -> Vec<Point2<f64>> {
    let at = |k: u32| f64::from(k) * std::f64::consts::TAU / f64::from(n);
    (0..n)
        .map(at)
        .map(|t| Point2::new(cx + radius * libm::cos(t), cy + radius * libm::sin(t)))
        .collect()
}

/// A ring between two circles.
pub(crate) fn ring(cx: f64, cy: f64, outer: f64, inner: f64, n: u32) -> Piece {
    let mut hole = circle(cx, cy, inner, n);
    hole.reverse();
    Piece::from_loops(circle(cx, cy, outer, n), vec![hole])
}

/// Layers of one thickness, stacked from the bed up.
pub(crate) struct Stack {
    layer: f64,
    layers: Layers,
}

impl Stack {
    pub(crate) fn new(layer: f64) -> Self {
        Self {
            layer,
            layers: Layers {
                sections: vec![],
                levels_mm: vec![0.0],
            },
        }
    }

    /// Adds layers up to a height, each with the pieces of a function of its middle.
    pub(crate) fn shaped(mut self, top: f64, pieces: impl Fn(f64) -> Vec<Piece>) -> Self {
        while self.layers.sections.len() < (top / self.layer).round() as usize {
            let k = self.layers.sections.len() as f64;
            let z_mm = (k + 0.5) * self.layer;
            self.layers.sections.push(Section {
                z_mm,
                pieces: pieces(z_mm),
            });
            self.layers.levels_mm.push((k + 1.0) * self.layer);
        }
        self
    }

    /// Adds layers up to a height, all of the same pieces.
    pub(crate) fn up_to(self, top: f64, pieces: &[Piece]) -> Self {
        self.shaped(top, |_| pieces.to_vec())
    }

    pub(crate) fn layers(&self) -> Layers {
        self.layers.clone()
    }
}
