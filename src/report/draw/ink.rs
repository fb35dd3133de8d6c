//! Pictures as pixels: lines and fills laid down at three times the resolution, and
//! views that are too dense for lines as a wash of ink.

use super::depth::NOTHING;
use super::lettering;
use super::lines::{Lines, Seen};
use super::model::Model;
use super::picture::{Anchor, Picture};
use nalgebra::Vector3;

/// Pixels of the fine grid along one pixel of the result.
const FINE: usize = 3;

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
    pub fn of(seen: &Seen, model: &Model, lines: &Lines) -> Self {
        let frame = seen.depth.frame;
        let toward: Vector3<f64> = seen.posed.pose.rotation().inverse() * seen.view.toward;
        let mut canvas = Canvas::new(frame.nx, frame.ny);
        // As wide on a small picture as on a large one.
        let size = frame.nx.max(frame.ny) as f64 / 1400.0;
        for (list, width) in [(&lines.outline, 2.6), (&lines.edges, 1.6)] {
            let width = (width * size).max(1.1);
            for line in list {
                let px: Vec<[f64; 2]> = line
                    .iter()
                    .map(|p| {
                        let [x, y, _] = frame.px([p[0], p[1], 0.0]);
                        [x, frame.ny as f64 - y]
                    })
                    .collect();
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
                    WASH * (1.0 - model.normals[face as usize].dot(&toward).abs()).powf(1.5)
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

/// Writing to memory fails only where the size is zero or past what PNG can say; there
/// the bytes end early.
fn finish(mut encoder: png::Encoder<&mut Vec<u8>>, data: &[u8]) {
    encoder.set_compression(png::Compression::Balanced);
    if let Ok(mut writer) = encoder.write_header() {
        let _ = writer.write_image_data(data);
    }
}

impl Picture {
    /// Darkness of every pixel, 0 (paper) to 255 (ink), with `px_per_mm` pixels a mm;
    /// columns, rows, values. Letters other than those of dimensions are left out.
    pub fn pixels(&self, px_per_mm: f64) -> (usize, usize, Vec<u8>) {
        let count = |mm: f64| ((mm * px_per_mm).ceil() as usize).clamp(1, 8000);
        let (nx, ny) = (count(self.width_mm), count(self.height_mm));
        let mut canvas = Canvas::new(nx, ny);
        let scaled = |line: &[[f64; 2]]| -> Vec<[f64; 2]> {
            line.iter().map(|p| p.map(|x| x * px_per_mm)).collect()
        };
        for rings in &self.fills {
            canvas.fill(&rings.iter().map(|r| scaled(r)).collect::<Vec<_>>());
        }
        for (pen, line) in &self.strokes {
            let width = (pen.width_mm() * px_per_mm).max(0.7);
            match pen.dashes() {
                Some(dashes) => {
                    for piece in dashed(line, dashes) {
                        canvas.line(&scaled(&piece), width);
                    }
                }
                None => canvas.line(&scaled(line), width),
            }
        }
        for l in &self.labels {
            let width = lettering::width(&l.text) * l.size_mm;
            let start = match l.anchor {
                Anchor::Start => 0.0,
                Anchor::Middle => -width / 2.0,
                Anchor::End => -width,
            };
            for stroke in lettering::strokes(&l.text) {
                let on: Vec<[f64; 2]> = stroke
                    .iter()
                    .map(|p| {
                        let (x, y) = (start + p[0] * l.size_mm, -p[1] * l.size_mm);
                        let (x, y) = if l.upright { (y, -x) } else { (x, y) };
                        [(l.at[0] + x) * px_per_mm, (l.at[1] + y) * px_per_mm]
                    })
                    .collect();
                canvas.line(&on, (0.09 * l.size_mm * px_per_mm).max(0.8));
            }
        }
        let mut dark: Vec<u8> = canvas
            .shares()
            .into_iter()
            .map(|s| (255.0 * s).round() as u8)
            .collect();
        for image in &self.images {
            let [x, y, w, h] = image.place;
            for (i, d) in dark.iter_mut().enumerate() {
                let at = [(i % nx) as f64 + 0.5, (i / nx) as f64 + 0.5].map(|v| v / px_per_mm);
                let (u, v) = ((at[0] - x) / w, (at[1] - y) / h);
                if (0.0..1.0).contains(&u) && (0.0..1.0).contains(&v) {
                    let column = (u * image.wash.nx as f64) as usize;
                    let row = (v * image.wash.ny as f64) as usize;
                    *d = (*d).max(17 * image.wash.ink[row * image.wash.nx + column]);
                }
            }
        }
        (nx, ny, dark)
    }

    /// The picture as a grey PNG, white paper.
    pub fn png(&self, px_per_mm: f64) -> Vec<u8> {
        let (nx, ny, dark) = self.pixels(px_per_mm);
        let light: Vec<u8> = dark.iter().map(|d| 255 - d).collect();
        let mut out = Vec::new();
        let mut encoder = png::Encoder::new(&mut out, nx as u32, ny as u32);
        encoder.set_color(png::ColorType::Grayscale);
        encoder.set_depth(png::BitDepth::Eight);
        finish(encoder, &light);
        out
    }
}

/// A line in dashes.
fn dashed(line: &[[f64; 2]], dashes: [f64; 2]) -> Vec<Vec<[f64; 2]>> {
    let mut out = Vec::new();
    let mut piece = line.first().map(|p| vec![*p]).unwrap_or_default();
    let (mut on, mut left) = (true, dashes[0]);
    for w in line.windows(2) {
        let [a, b] = [w[0], w[1]];
        let length = (b[0] - a[0]).hypot(b[1] - a[1]);
        let mut done = 0.0;
        while length - done > left {
            done += left;
            let t = done / length;
            let p = [a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])];
            if on {
                piece.push(p);
                out.push(std::mem::take(&mut piece));
            } else {
                piece = vec![p];
            }
            on = !on;
            left = dashes[usize::from(!on)];
        }
        left -= length - done;
        if on {
            piece.push(b);
        }
    }
    if on && piece.len() > 1 {
        out.push(piece);
    }
    out
}

/// A bitmap finer than the result.
struct Canvas {
    nx: usize,
    ny: usize,
    fine: Vec<bool>,
}

impl Canvas {
    fn new(nx: usize, ny: usize) -> Self {
        Self {
            nx,
            ny,
            fine: vec![false; nx * ny * FINE * FINE],
        }
    }

    /// Inks everything within half the width of the line, pixels.
    fn line(&mut self, line: &[[f64; 2]], width: f64) {
        let (nx, ny) = (self.nx * FINE, self.ny * FINE);
        let fine = FINE as f64;
        let r = width / 2.0 * fine;
        for w in line.windows(2) {
            let [a, b] = [w[0].map(|x| x * fine), w[1].map(|x| x * fine)];
            let span = |k: usize, n: usize| {
                let lo = (a[k].min(b[k]) - r).floor().clamp(0.0, n as f64);
                let hi = (a[k].max(b[k]) + r).ceil().clamp(0.0, n as f64);
                lo as usize..hi as usize
            };
            let d = [b[0] - a[0], b[1] - a[1]];
            let square = d[0] * d[0] + d[1] * d[1];
            for j in span(1, ny) {
                let y = j as f64 + 0.5;
                for i in span(0, nx) {
                    let x = i as f64 + 0.5;
                    let t = if square > 0.0 {
                        (((x - a[0]) * d[0] + (y - a[1]) * d[1]) / square).clamp(0.0, 1.0)
                    } else {
                        0.0
                    };
                    if (x - a[0] - t * d[0]).hypot(y - a[1] - t * d[1]) <= r {
                        self.fine[j * nx + i] = true;
                    }
                }
            }
        }
    }

    /// Inks what is inside an odd number of rings.
    fn fill(&mut self, rings: &[Vec<[f64; 2]>]) {
        let (nx, ny) = (self.nx * FINE, self.ny * FINE);
        let fine = FINE as f64;
        for j in 0..ny {
            let y = (j as f64 + 0.5) / fine;
            let mut cuts: Vec<f64> = Vec::new();
            for ring in rings {
                for i in 0..ring.len() {
                    let (a, b) = (ring[i], ring[(i + 1) % ring.len()]);
                    if (a[1] <= y) != (b[1] <= y) {
                        cuts.push(a[0] + (y - a[1]) / (b[1] - a[1]) * (b[0] - a[0]));
                    }
                }
            }
            cuts.sort_by(f64::total_cmp);
            for pair in cuts.chunks_exact(2) {
                let at = |x: f64| (x * fine).round().clamp(0.0, nx as f64) as usize;
                self.fine[j * nx + at(pair[0])..j * nx + at(pair[1])].fill(true);
            }
        }
    }

    /// Inked share of every pixel.
    fn shares(&self) -> Vec<f64> {
        let nx = self.nx * FINE;
        (0..self.nx * self.ny)
            .map(|i| {
                let (x, y) = (i % self.nx * FINE, i / self.nx * FINE);
                let inked: usize = (0..FINE)
                    .map(|k| {
                        let from = (y + k) * nx + x;
                        self.fine[from..from + FINE].iter().filter(|f| **f).count()
                    })
                    .sum();
                inked as f64 / (FINE * FINE) as f64
            })
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::super::picture::Pen;
    use super::*;

    #[test]
    fn ink_covers_the_area_of_what_is_drawn() {
        let mut p = Picture::new(20.0, 20.0);
        p.fills.push(vec![
            vec![[2.0, 2.0], [12.0, 2.0], [12.0, 12.0], [2.0, 12.0]],
            vec![[4.0, 4.0], [8.0, 4.0], [8.0, 8.0], [4.0, 8.0]],
        ]);
        p.stroke(Pen::Ground, &[[0.0, 16.0], [20.0, 16.0]]);
        let (_, _, dark) = p.pixels(10.0);
        let mm2 = dark.iter().map(|d| f64::from(*d) / 255.0).sum::<f64>() / 100.0;
        // 10² − 4² and a line 0.5 wide.
        assert!((mm2 - (84.0 + 10.0)).abs() < 1.5, "{mm2}");
    }

    #[test]
    fn dashes_are_as_long_as_the_pen_says() {
        let pieces = dashed(&[[0.0, 0.0], [1.0, 0.0], [22.0, 0.0]], [1.6, 0.6]);
        assert_eq!(pieces.len(), 10);
        for p in &pieces {
            assert!((p[p.len() - 1][0] - p[0][0] - 1.6).abs() < 1e-9);
        }
        assert!((pieces[1][0][0] - 2.2).abs() < 1e-9);
    }

    #[test]
    fn png_can_be_read_back() {
        let mut p = Picture::new(8.0, 4.0);
        p.fill(&[[0.0, 0.0], [4.0, 0.0], [4.0, 4.0], [0.0, 4.0]]);
        let bytes = p.png(2.0);
        let mut reader = png::Decoder::new(std::io::Cursor::new(bytes))
            .read_info()
            .expect("a PNG");
        let mut pixels = vec![0; reader.output_buffer_size().expect("small")];
        reader.next_frame(&mut pixels).expect("a frame");
        assert_eq!((reader.info().width, reader.info().height), (16, 8));
        assert_eq!(
            (pixels[0], pixels[7], pixels[8], pixels[15]),
            (0, 0, 255, 255)
        );
    }
}
