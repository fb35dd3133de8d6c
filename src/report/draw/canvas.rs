//! Lines and fills as pixels, laid down at three times the resolution.

/// Pixels of the fine grid along one pixel of the result.
const FINE: usize = 3;

/// A bitmap finer than the result.
pub(super) struct Canvas {
    nx: usize,
    ny: usize,
    fine: Vec<bool>,
}

impl Canvas {
    pub(super) fn new(nx: usize, ny: usize) -> Self {
        Self {
            nx,
            ny,
            fine: vec![false; nx * ny * FINE * FINE],
        }
    }

    /// Inks everything within half the width of the line, pixels.
    pub(super) fn line(&mut self, line: &[[f64; 2]], width: f64) {
        self.along(line, width, true);
    }

    /// Leaves everything within half the width of the line, pixels, to the paper.
    pub(super) fn clear(&mut self, line: &[[f64; 2]], width: f64) {
        self.along(line, width, false);
    }

    fn along(&mut self, line: &[[f64; 2]], width: f64, ink: bool) {
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
                    if libm::hypot(x - a[0] - t * d[0], y - a[1] - t * d[1]) <= r {
                        self.fine[j * nx + i] = ink;
                    }
                }
            }
        }
    }

    /// Inks what is inside an odd number of rings.
    pub(super) fn fill(&mut self, rings: &[Vec<[f64; 2]>]) {
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
    pub(super) fn shares(&self) -> Vec<f64> {
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

/// Writing to memory fails only where the size is zero or past what PNG can say; there
/// the bytes end early.
pub(super) fn finish(mut encoder: png::Encoder<&mut Vec<u8>>, data: &[u8]) {
    encoder.set_compression(png::Compression::Balanced);
    if let Ok(mut writer) = encoder.write_header() {
        let _ = writer.write_image_data(data);
    }
}
