//! Surfaces that are wrong in one way each, as triangles.

use crate::bench::{Triangle, boxes};

const PI: f64 = std::f64::consts::PI;

/// Numbers that look random and are the same on every machine (xorshift, G. Marsaglia, 2003).
pub struct Random(pub u64);

impl Random {
    /// A seed of zero would give nothing but zeros.
    pub fn new(seed: u64) -> Self {
        Self(seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) | 1)
    }

    pub fn bits(&mut self) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0
    }

    /// Below `most`.
    pub fn below(&mut self, most: usize) -> usize {
        (self.bits() >> 11) as usize % most.max(1)
    }

    /// From 0 to 1.
    pub fn unit(&mut self) -> f32 {
        (self.bits() >> 40) as f32 / (1u64 << 24) as f32
    }

    pub fn point(&mut self, size: f32) -> [f32; 3] {
        [self.unit() * size, self.unit() * size, self.unit() * size]
    }
}

pub fn block(at: [f32; 3], size: [f32; 3]) -> Vec<Triangle> {
    boxes(&[(at, size)])
}

pub fn cube(size: f32) -> Vec<Triangle> {
    block([0.0; 3], [size; 3])
}

pub fn turned(mut shape: Vec<Triangle>) -> Vec<Triangle> {
    for t in &mut shape {
        t.swap(1, 2);
    }
    shape
}

pub fn moved(mut shape: Vec<Triangle>, by: [f32; 3]) -> Vec<Triangle> {
    for p in shape.as_flattened_mut() {
        *p = [p[0] + by[0], p[1] + by[1], p[2] + by[2]];
    }
    shape
}

pub fn tetrahedron(at: [f32; 3], size: f32) -> Vec<Triangle> {
    let [x, y, z] = at;
    let p = [at, [x + size, y, z], [x, y + size, z], [x, y, z + size]];
    [[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]]
        .map(|t| t.map(|i| p[i]))
        .to_vec()
}

/// Tetrahedra on a cubic grid, none touching another.
pub fn tetrahedra(count: usize) -> Vec<Triangle> {
    let mut side = 1;
    while side * side * side < count {
        side += 1;
    }
    let at = |i: usize| [i % side, i / side % side, i / side / side].map(|k| 2.0 * k as f32);
    (0..count).flat_map(|i| tetrahedron(at(i), 1.0)).collect()
}

/// Triangles between random points.
pub fn soup(count: usize, seed: u64) -> Vec<Triangle> {
    let mut random = Random::new(seed);
    (0..count)
        .map(|_| [(); 3].map(|()| random.point(100.0)))
        .collect()
}

/// Long thin triangles between points of a sphere.
pub fn needles(count: usize) -> Vec<Triangle> {
    let mut random = Random::new(7);
    let mut on_sphere = || loop {
        let p = random.point(2.0).map(|c| c - 1.0);
        let length = libm::sqrtf(p.iter().map(|c| c * c).sum());
        if (0.1..=1.0).contains(&length) {
            return p.map(|c| 50.0 * c / length);
        }
    };
    (0..count)
        .map(|_| {
            let (a, b) = (on_sphere(), on_sphere());
            [a, b, [b[0] + 0.005, b[1] + 0.004, b[2] + 0.003]]
        })
        .collect()
}

/// A drum whose two faces have a hub that all their triangles share.
pub fn drum(sides: usize) -> Vec<Triangle> {
    let at = |k: usize, z: f32| {
        let (s, c) = libm::sincos(2.0 * PI * (k % sides) as f64 / sides as f64);
        [50.0 * c as f32, 50.0 * s as f32, z]
    };
    (0..sides)
        .flat_map(|k| {
            let (a, b, c, d) = (at(k, 0.0), at(k + 1, 0.0), at(k + 1, 30.0), at(k, 30.0));
            [
                [[0.0; 3], b, a],
                [[0.0, 0.0, 30.0], d, c],
                [a, b, c],
                [a, c, d],
            ]
        })
        .collect()
}

/// Facets like the leaves of a book, all on one edge.
pub fn book(leaves: usize) -> Vec<Triangle> {
    (0..leaves)
        .map(|k| {
            let (s, c) = libm::sincos(2.0 * PI * k as f64 / leaves as f64);
            [
                [0.0; 3],
                [0.0, 0.0, 50.0],
                [50.0 * c as f32, 50.0 * s as f32, 25.0],
            ]
        })
        .collect()
}

/// Cubes in cubes, all facing outward or each other one inward.
pub fn nest(count: usize, cavities: bool) -> Vec<Triangle> {
    (0..count)
        .flat_map(|k| {
            let inset = k as f32 * 0.4 * 50.0 / count as f32;
            let shell = block([inset; 3], [50.0 - 2.0 * inset; 3]);
            if cavities && k % 2 == 1 {
                turned(shell)
            } else {
                shell
            }
        })
        .collect()
}

/// A strip that is joined to itself after half a turn.
pub fn half_turned_strip(steps: usize) -> Vec<Triangle> {
    let at = |k: usize, side: f64| {
        let turn = 2.0 * PI * k as f64 / steps as f64;
        let (sin, cos) = libm::sincos(turn);
        let (half_sin, half_cos) = libm::sincos(turn / 2.0);
        let far = 20.0 + side * 5.0 * half_cos;
        [far * cos, far * sin, side * 5.0 * half_sin].map(|c| c as f32)
    };
    // The last step ends on the first one's sides, exchanged.
    let corner = |k: usize, side: f64| {
        if k == steps {
            at(0, -side)
        } else {
            at(k, side)
        }
    };
    (0..steps)
        .flat_map(|k| {
            let (a, b) = (corner(k, -1.0), corner(k, 1.0));
            let (c, d) = (corner(k + 1, 1.0), corner(k + 1, -1.0));
            [[a, b, c], [a, c, d]]
        })
        .collect()
}

/// A surface over two angles; closed where `at` comes round in both.
fn over(steps: [usize; 2], at: impl Fn(f64, f64) -> [f64; 3]) -> Vec<Triangle> {
    let [n, m] = steps;
    let corner = |i: usize, j: usize| {
        let (u, v) = ((i % n) as f64 / n as f64, (j % m) as f64 / m as f64);
        at(2.0 * PI * u, 2.0 * PI * v).map(|c| c as f32)
    };
    (0..n * m)
        .flat_map(|k| {
            let (i, j) = (k / m, k % m);
            let (a, b) = (corner(i, j), corner(i + 1, j));
            let (c, d) = (corner(i + 1, j + 1), corner(i, j + 1));
            [[a, b, c], [a, c, d]]
        })
        .collect()
}

/// A ring; one that crosses itself where the tube is thicker than the ring is wide.
pub fn ring(wide: f64, tube: f64) -> Vec<Triangle> {
    over([24, 16], |u, v| {
        let (su, cu) = libm::sincos(u);
        let (sv, cv) = libm::sincos(v);
        [(wide + tube * cv) * cu, (wide + tube * cv) * su, tube * sv]
    })
}

/// A closed surface with one side only, which has to cross itself: a figure of eight that makes
/// half a turn on its way round (B. Lawson's form of F. Klein's surface, from memory).
pub fn one_sided_bottle() -> Vec<Triangle> {
    let n = 24;
    let at = |i: usize, j: usize| {
        let (u, v) = (
            2.0 * PI * i as f64 / n as f64,
            2.0 * PI * j as f64 / n as f64,
        );
        let (s, c) = libm::sincos(u / 2.0);
        let (sv, s2v) = (libm::sin(v), libm::sin(2.0 * v));
        let far = 20.0 + 5.0 * (c * sv - s * s2v);
        let (su, cu) = libm::sincos(u);
        [far * cu, far * su, 5.0 * (s * sv + c * s2v)].map(|x| x as f32)
    };
    // After one way round, v runs backward.
    let corner = |i: usize, j: usize| {
        let j = j % n;
        if i == n { at(0, (n - j) % n) } else { at(i, j) }
    };
    (0..n * n)
        .flat_map(|k| {
            let (i, j) = (k / n, k % n);
            let (a, b) = (corner(i, j), corner(i + 1, j));
            let (c, d) = (corner(i + 1, j + 1), corner(i, j + 1));
            [[a, b, c], [a, c, d]]
        })
        .collect()
}

/// A prism over an outline that may cross itself, its faces fans from the first corner.
pub fn fan_prism(outline: &[[f32; 2]], tall: f32) -> Vec<Triangle> {
    let at = |i: usize, z: f32| [outline[i][0], outline[i][1], z];
    let n = outline.len();
    let mut out = Vec::new();
    for i in 1..n - 1 {
        out.push([at(0, 0.0), at(i + 1, 0.0), at(i, 0.0)]);
        out.push([at(0, tall), at(i, tall), at(i + 1, tall)]);
    }
    for i in 0..n {
        let j = (i + 1) % n;
        out.push([at(i, 0.0), at(j, 0.0), at(j, tall)]);
        out.push([at(i, 0.0), at(j, tall), at(i, tall)]);
    }
    out
}

/// The corners of a star, visited so that its sides cross.
pub fn crossing_star(points: usize) -> Vec<[f32; 2]> {
    (0..points)
        .map(|i| {
            let (s, c) = libm::sincos(2.0 * PI * (i * (points / 2)) as f64 / points as f64);
            [20.0 * c as f32, 20.0 * s as f32]
        })
        .collect()
}

/// A cube of which each second edge has a corner in its middle that the neighbour does not know.
pub fn with_loose_corners() -> Vec<Triangle> {
    let mut out = cube(20.0);
    let [a, b, c] = out.remove(0);
    let middle = [0, 1, 2].map(|k| 0.5 * (a[k] + b[k]));
    out.extend([[a, middle, c], [middle, b, c]]);
    out
}

/// A square sheet with so many squares a side, and waves in it.
pub fn sheet(squares: usize, wave: f64) -> Vec<Triangle> {
    let at = |i: usize, j: usize| {
        [
            i as f32,
            j as f32,
            (wave * libm::sin(i as f64) * libm::cos(j as f64)) as f32,
        ]
    };
    (0..squares * squares)
        .flat_map(|k| {
            let (i, j) = (k / squares, k % squares);
            let (a, b) = (at(i, j), at(i + 1, j));
            let (c, d) = (at(i + 1, j + 1), at(i, j + 1));
            [[a, b, c], [a, c, d]]
        })
        .collect()
}
