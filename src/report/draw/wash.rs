//! Views that are too dense for lines as a wash of ink.

use super::canvas::{Canvas, finish};
use super::depth::NOTHING;
use super::lines::{Lines, Seen};
use super::model::DrawingModel;
use nalgebra::Vector3;

/// Strongest wash on a surface seen edge-on, of 15.
const WASH: f64 = 5.0;

/// Ink on transparent paper in sixteen strengths.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Wash {
    /// Columns.
    pub nx: usize,
    /// Rows, the first on top.
    pub ny: usize,
    /// Strength of the ink at each pixel, 0 to 15.
    pub ink: Vec<u8>,
}

impl Wash {
    /// A view in lines over a wash that grows darker as the surface turns away: form,
    /// not meaning. One pixel of the wash is one of the depth buffer.
    pub fn of(seen: &Seen, model: &DrawingModel, lines: &Lines) -> Self {
        let frame = seen.depth.frame;
        let toward: Vector3<f64> = seen.posed.pose.rotation().inverse() * seen.view.toward;
        let mut canvas = Canvas::new(frame.nx, frame.ny);
        // As wide on a small picture as on a large one.
        let size = frame.nx.max(frame.ny) as f64 / 1400.0;
        for (list, width) in [(&lines.outline, 2.6), (&lines.edges, 1.6)] {
            let width = (width * size).max(1.1);
            for line in list {
                let px = line.iter().map(|p| frame.flat_px(p));
                let px: Vec<[f64; 2]> = px.map(|[x, y]| [x, frame.ny as f64 - y]).collect();
                canvas.line(&px, width);
            }
        }
        let ink = canvas
            .shares()
            .into_iter()
            .enumerate()
            .map(|(i, line)| {
                let (x, y) = (i % frame.nx, frame.ny - 1 - i / frame.nx);
                let face = seen.depth.face[y * frame.nx + x];
                let wash = if face == NOTHING {
                    0.0
                } else {
                    WASH * libm::pow(1.0 - model.normals[face as usize].dot(&toward).abs(), 1.5)
                };
                (15.0 * line).max(wash).round() as u8
            })
            .collect();
        Self {
            nx: frame.nx,
            ny: frame.ny,
            ink,
        }
    }

    /// PNG: black with sixteen strengths of cover.
    pub fn png(&self) -> Vec<u8> {
        let rows = self.ink.chunks(self.nx.max(1));
        let packed: Vec<u8> = rows
            .flat_map(|row| {
                row.chunks(2)
                    .map(|p| p[0] << 4 | p.get(1).copied().unwrap_or(0))
            })
            .collect();
        let mut out = Vec::new();
        let mut encoder = png::Encoder::new(&mut out, self.nx as u32, self.ny as u32);
        encoder.set_color(png::ColorType::Indexed);
        encoder.set_depth(png::BitDepth::Four);
        encoder.set_palette([0x16, 0x18, 0x1c].repeat(16));
        encoder.set_trns((0..16).map(|i| i * 17).collect::<Vec<u8>>());
        finish(encoder, &packed);
        out
    }
}
