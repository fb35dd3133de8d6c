//! A view in block characters: each character is a field of two by four dots.

use super::join::between;
use super::lines::{Polyline, Seen};
use super::model::DrawingModel;
use super::view::View;
use crate::pose::Posed;

/// First of the 256 patterns of eight dots.
const PATTERNS: u32 = 0x2800;

/// Value of each dot by row and column (Unicode, block "Braille Patterns").
const DOT: [[u8; 2]; 4] = [[0x01, 0x08], [0x02, 0x10], [0x04, 0x20], [0x40, 0x80]];

/// The pose in isometric, at most `columns` wide and `rows` high, with the ground
/// under it. Lines end without trailing blanks. Empty for a part without extent.
pub fn text(model: &DrawingModel, posed: &Posed, columns: usize, rows: usize) -> String {
    let Some(seen) = Seen::new(posed, View::isometric(), 400) else {
        return String::new();
    };
    let lines = seen.lines(model, false);
    let frame = seen.depth.frame;
    let size = [frame.nx, frame.ny].map(|n| n as f64 * frame.step_mm);
    // Dots stand as far apart in both directions on the usual terminal, whose
    // characters are twice as high as wide.
    let (most_x, most_y) = (2 * columns.max(1), 4 * rows.max(1));
    let scale = ((most_x - 1) as f64 / size[0]).min((most_y - 1) as f64 / size[1]);
    let (nx, ny) = (
        ((size[0] * scale).ceil() as usize + 1).div_ceil(2),
        ((size[1] * scale).ceil() as usize + 1).div_ceil(4),
    );
    let mut field = vec![0_u8; nx * ny];
    let mut ink = |line: &Polyline| {
        for w in line.windows(2) {
            let [a, b] = [w[0], w[1]].map(|p| {
                let [x, y] = [0, 1].map(|k| p[k] - frame.lo[k]);
                [x * scale, (size[1] - y) * scale]
            });
            let n = (b[0] - a[0]).abs().max((b[1] - a[1]).abs()).ceil().max(1.0) as usize;
            for i in 0..=n {
                let at = between(a, b, i as f64 / n as f64);
                let [x, y] = at.map(|v| v.round().max(0.0) as usize);
                if let (true, Some(cell)) = (x / 2 < nx, field.get_mut(y / 4 * nx + x / 2)) {
                    *cell |= DOT[y % 4][x % 2];
                }
            }
        }
    };
    lines.outline.iter().for_each(&mut ink);
    lines.edges.iter().for_each(&mut ink);
    let mut out = String::new();
    for row in field.chunks(nx) {
        let text: String = row
            .iter()
            .map(|&dots| match dots {
                0 => ' ',
                dots => char::from_u32(PATTERNS + u32::from(dots)).unwrap_or(' '),
            })
            .collect();
        out.push_str(text.trim_end());
        out.push('\n');
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pose::Pose;
    use crate::report::draw::fixture::cuboid;

    #[test]
    fn a_box_is_drawn_within_the_room_given() {
        let part = cuboid(30.0, 20.0, 10.0);
        let posed = Posed::new(&part, Pose::as_stored(&part.mesh.vertices));
        let out = text(&DrawingModel::new(&part), &posed, 30, 10);
        assert!(
            out.lines().count() <= 10 && out.lines().count() >= 6,
            "{out}"
        );
        assert!(out.lines().all(|l| l.chars().count() <= 30), "{out}");
        let inked = out.chars().filter(|c| !c.is_whitespace()).count();
        assert!(inked > 40, "{out}");
        assert!(
            out.chars()
                .all(|c| c.is_whitespace() || ('\u{2800}'..='\u{28ff}').contains(&c))
        );
    }
}
