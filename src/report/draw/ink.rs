//! Pictures as pixels.

use super::canvas::{Canvas, finish};
use super::join::{apart, between};
use super::lettering;
use super::picture::{Anchor, Picture};

/// Rim of paper around what is said of the print, mm: half the stroke that pages give it.
const RIM_MM: f64 = 0.5;

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
            let width = (pen.class_and_width_mm().1 * px_per_mm).max(0.7);
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
            let on = |p: &[f64; 2]| {
                let (x, y) = (start + p[0] * l.size_mm, -p[1] * l.size_mm);
                let (x, y) = if l.upright { (y, -x) } else { (x, y) };
                [(l.at[0] + x) * px_per_mm, (l.at[1] + y) * px_per_mm]
            };
            let strokes = lettering::strokes(&l.text);
            let strokes: Vec<Vec<[f64; 2]>> = (strokes.iter())
                .map(|stroke| stroke.iter().map(on).collect())
                .collect();
            let width = (0.09 * l.size_mm * px_per_mm).max(0.8);
            for stroke in strokes.iter().filter(|_| l.mark) {
                canvas.clear(stroke, width + 2.0 * RIM_MM * px_per_mm);
            }
            for stroke in &strokes {
                canvas.line(stroke, width);
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
        let length = apart(a, b);
        let mut done = 0.0;
        while length - done > left {
            done += left;
            let p = between(a, b, done / length);
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
    fn what_is_said_on_solid_ink_stands_on_a_rim_of_paper() {
        let with = |mark: bool| {
            let mut p = Picture::new(10.0, 10.0);
            p.fill(&[[0.0, 0.0], [10.0, 0.0], [10.0, 10.0], [0.0, 10.0]]);
            p.label([4.0, 6.0], "8", 3.0, Anchor::Start);
            p.labels[0].mark = mark;
            let (_, _, dark) = p.pixels(10.0);
            dark.iter().filter(|d| **d < 128).count()
        };
        assert_eq!(with(false), 0);
        // A rim half a mm wide around a sign 1.3 by 2.1 mm, less its strokes.
        assert!((100..600).contains(&with(true)), "{}", with(true));
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
