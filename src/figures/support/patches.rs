//! Overhang split into connected patches, with the integrals of each that need
//! no sampling.

use crate::figures::join::Join;
use crate::pose::Posed;

/// Marks a triangle that is in no patch.
pub(super) const NONE: u32 = u32::MAX;

/// Exact integrals over some overhang above touch height.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(super) struct Exact {
    /// Plan area, mm².
    pub plan_mm2: f64,
    /// Surface area, mm².
    pub area_mm2: f64,
    /// Integral of the height over the plan, mm³.
    pub under_mm3: f64,
}

impl Exact {
    pub fn add(&mut self, other: &Self) {
        self.plan_mm2 += other.plan_mm2;
        self.area_mm2 += other.area_mm2;
        self.under_mm3 += other.under_mm3;
    }
}

/// Every overhang triangle by patch; triangles that share a vertex share a patch.
#[derive(Debug)]
pub(super) struct Patches {
    /// Patch of each triangle of the mesh, or [`NONE`].
    pub of: Vec<u32>,
    /// Integrals of each patch.
    pub exact: Vec<Exact>,
}

impl Patches {
    /// Finds the patches of what leans more than the limit and reaches above `touch_mm`.
    pub fn new(posed: &Posed, overhang_sin: f64, touch_mm: f64) -> Self {
        let triangles = &posed.part.mesh.triangles;
        let overhangs = |t: usize, tri: &[u32; 3]| {
            posed.normal_z.get(t).is_some_and(|n| -n > overhang_sin)
                && tri.iter().any(|v| posed.vertices[*v as usize].z > touch_mm)
        };
        let mut join = Join::new(posed.vertices.len());
        for (t, tri) in triangles.iter().enumerate() {
            if overhangs(t, tri) {
                join.unite(tri[0], tri[1]);
                join.unite(tri[0], tri[2]);
            }
        }
        let mut id_of_root = vec![NONE; posed.vertices.len()];
        let mut of = vec![NONE; triangles.len()];
        let mut exact: Vec<Exact> = Vec::new();
        for (t, tri) in triangles.iter().enumerate() {
            if overhangs(t, tri) {
                let root = join.root(tri[0]) as usize;
                if id_of_root[root] == NONE {
                    id_of_root[root] = exact.len() as u32;
                    exact.push(Exact::default());
                }
                of[t] = id_of_root[root];
                let z = posed.corners(t).map(|p| p.z);
                let area = posed.part.areas[t];
                exact[of[t] as usize].add(&above(z, area, -posed.normal_z[t], touch_mm));
            }
        }
        Self { of, exact }
    }
}

/// Integrals over the part of a triangle above `level`, by the heights of its corners.
pub(super) fn above(mut z: [f64; 3], area: f64, normal_z: f64, level: f64) -> Exact {
    z.sort_by(f64::total_cmp);
    let [low, mid, high] = z;
    let mean = (low + mid + high) / 3.0;
    // Share of the area above the level, and share × mean height of it.
    let (share, moment) = if low >= level {
        (1.0, mean)
    } else if mid >= level {
        let cut = (level - low) / (mid - low) * (level - low) / (high - low);
        (1.0 - cut, mean - cut * (low + 2.0 * level) / 3.0)
    } else {
        let kept = (high - level) / (high - mid) * (high - level) / (high - low);
        (kept, kept * (high + 2.0 * level) / 3.0)
    };
    let plan = area * normal_z;
    Exact {
        plan_mm2: plan * share,
        area_mm2: area * share,
        under_mm3: plan * moment,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn a_clipped_triangle_has_the_integrals_of_its_pieces() {
        // The share above a level by similar triangles, the mean by its centroid.
        let tri = [0.0, 2.0, 3.0];
        let whole = above(tri, 2.0, 0.5, -1.0);
        assert_relative_eq!(whole.under_mm3, 1.0 * 5.0 / 3.0);
        for level in [0.5, 1.9, 2.1, 2.9] {
            let up = above(tri, 2.0, 0.5, level);
            let flipped = tri.map(|z| -z);
            let down = above(flipped, 2.0, 0.5, -level);
            assert_relative_eq!(up.plan_mm2 + down.plan_mm2, whole.plan_mm2, epsilon = 1e-12);
            assert_relative_eq!(up.area_mm2 + down.area_mm2, whole.area_mm2, epsilon = 1e-12);
            assert_relative_eq!(
                up.under_mm3 - down.under_mm3,
                whole.under_mm3,
                epsilon = 1e-12
            );
        }
        let tip = above(tri, 2.0, 0.5, 2.5);
        assert_relative_eq!(tip.plan_mm2, 1.0 * 0.5 * (0.5 / 3.0), epsilon = 1e-12);
        assert_relative_eq!(
            tip.under_mm3,
            tip.plan_mm2 * (3.0 + 5.0) / 3.0,
            epsilon = 1e-12
        );
    }
}
