//! Sideways deflection of a standing feature under a push at its tip.
//!
//! A column of sections, clamped at the bed, bends as a beam: a moment m in the
//! plane of bending gives the curvature J⁻¹·m/E, with J = ∫ r·rᵀ dA about the
//! centroid (bending along x is resisted by ∫x²). A force of 1 N at the tip has
//! the moment t − z, t the height of the tip, so the tip moves by the tensor
//! ∫ (t − z)²·J⁻¹(z)/E dz; its largest eigenvalue is the deflection in the
//! softest direction. Shear and the offset of the centroids are left out.
//! Source: unit-load method, any strength-of-materials text; uniform cantilever
//! L³/(3EI), *Roark's Formulas for Stress and Strain*.

use super::Piece;
use super::tree::PieceTree;
use nalgebra::Matrix2;

/// Pieces that may be visited below merges, for each piece of the part.
const VISITS_PER_PIECE: usize = 50;

/// Flexibility of a column at its present top, times E: how the top shifts and
/// turns under a force and a moment there. Each entry is a 2 × 2 plan tensor.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(crate) struct Flexibility {
    /// Shift per force, ∫ (z − s)²·J⁻¹ ds, mm⁻¹.
    shift: Matrix2<f64>,
    /// Turn per force and shift per moment, ∫ (z − s)·J⁻¹ ds, mm⁻².
    cross: Matrix2<f64>,
    /// Turn per moment, ∫ J⁻¹ ds, mm⁻³.
    turn: Matrix2<f64>,
}

impl Flexibility {
    /// Puts a length `h_mm` of the moment tensor `stiff` (mm⁴) on top.
    pub(crate) fn rise(&mut self, h_mm: f64, stiff: &Matrix2<f64>) {
        let h = h_mm;
        let soft = stiff.try_inverse().unwrap_or_default();
        self.shift += self.cross * (2.0 * h) + self.turn * (h * h) + soft * (h * h * h / 3.0);
        self.cross += self.turn * h + soft * (h * h / 2.0);
        self.turn += soft * h;
    }

    /// Deflection under 1 N in the softest direction, mm, for the modulus `e_mpa`.
    pub(crate) fn softest(&self, e_mpa: f64) -> f64 {
        let [xx, yy, xy] = [self.shift.m11, self.shift.m22, self.shift.m12];
        (f64::midpoint(xx, yy) + libm::hypot(0.5 * (xx - yy), xy)) / e_mpa
    }
}

/// The columns that lead from every piece down to the bed.
///
/// Below a merge several pieces of a layer carry the same tip. They bend as one
/// beam whose J is the sum of theirs; that legs set apart also brace each other
/// as a frame is left out. In a lattice with more merges than can be followed
/// down (see [`VISITS_PER_PIECE`]), the stiffest branch counts alone.
pub(crate) struct Columns<'a> {
    tree: &'a PieceTree<'a>,
    line_mm: f64,
    /// Whether pieces lead from this one down to the bed.
    carried: Vec<bool>,
    /// Flexibility at the top of each piece.
    tops: Vec<Flexibility>,
    visits_left: usize,
}

impl<'a> Columns<'a> {
    pub(crate) fn new(tree: &'a PieceTree<'a>, line_mm: f64) -> Self {
        let visits_left = VISITS_PER_PIECE.saturating_mul(tree.nodes().len());
        Self {
            tree,
            line_mm,
            carried: Vec::new(),
            tops: Vec::new(),
            visits_left,
        }
    }

    /// Adds the next piece of the tree; hands back the pieces that it stands on
    /// and the flexibility of its top. A carried piece stands on carried ones
    /// only, for what hangs in the air braces nothing.
    pub(crate) fn add(&mut self) -> (Vec<usize>, Flexibility) {
        let (tree, n) = (self.tree, self.tops.len());
        let on_bed = tree.nodes()[n].layer == 0;
        self.carried
            .push(on_bed || tree.below(n).iter().any(|&p| self.carried[p]));
        let parents = self.stands_on(n);
        let mut top = self.joined(&parents);
        self.raise(&mut top, &[n]);
        self.tops.push(top);
        (parents, top)
    }

    fn stands_on(&self, n: usize) -> Vec<usize> {
        let alike = |p: &usize| self.carried[*p] == self.carried[n];
        self.tree.below(n).iter().copied().filter(alike).collect()
    }

    /// Flexibility of the common top of several pieces of one layer: down to
    /// where one piece carries them all, or to where they start, and up again.
    fn joined(&mut self, pieces: &[usize]) -> Flexibility {
        let mut layers = Vec::new();
        let mut carriers = pieces.to_vec();
        while carriers.len() > 1 {
            if carriers.len() > self.visits_left {
                let tops = pieces.iter().map(|&p| self.tops[p]);
                let trace = |top: &Flexibility| top.shift.trace();
                let stiffest = tops.min_by(|a, b| trace(a).total_cmp(&trace(b)));
                return stiffest.unwrap_or_default();
            }
            self.visits_left -= carriers.len();
            let mut below: Vec<usize> = carriers.iter().flat_map(|&n| self.stands_on(n)).collect();
            below.sort_unstable();
            below.dedup();
            layers.push(std::mem::replace(&mut carriers, below));
        }
        let mut top = carriers.first().map(|&n| self.tops[n]).unwrap_or_default();
        for layer in layers.iter().rev() {
            self.raise(&mut top, layer);
        }
        top
    }

    /// Puts the given pieces of one layer on top of a column.
    fn raise(&self, top: &mut Flexibility, pieces: &[usize]) {
        let Some(&any) = pieces.first() else { return };
        let (bottom, level) = self.tree.span(any);
        let piece = |&n: &usize| second_moment(self.tree.nodes()[n].piece, self.line_mm);
        top.rise(level - bottom, &pieces.iter().map(piece).sum());
    }
}

/// Tensor of second moments ∫ r·rᵀ dA of a piece, mm⁴.
///
/// No section is printed thinner than one line, so each principal moment counts
/// as at least that of a strip `line_mm` thick, and the area as at least a
/// line's square; without this a knife edge at the top would swing without limit.
fn second_moment(piece: &Piece, line_mm: f64) -> Matrix2<f64> {
    let line = line_mm * line_mm;
    let least = piece.area_mm2.max(line) * line / 12.0;
    let (small, large) = piece.principal_mm4();
    let (small, large) = (small.max(least), large.max(least));
    let [xx, yy, xy] = piece.second_mm4;
    let radius = libm::hypot(0.5 * (xx - yy), xy);
    // Projector onto the axis of the larger moment, from the deviator.
    let (cos, sin) = if radius > 0.0 {
        (0.5 * (xx - yy) / radius, xy / radius)
    } else {
        (1.0, 0.0)
    };
    let along = Matrix2::new(1.0 + cos, sin, sin, 1.0 - cos) / 2.0;
    along * large + (Matrix2::identity() - along) * small
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::figures::mock::{Stack, rectangle, square};
    use approx::assert_relative_eq;
    use nalgebra::Point2;

    fn column(height: f64, piece: &Piece) -> Flexibility {
        let mut f = Flexibility::default();
        for _ in 0..100 {
            f.rise(height / 100.0, &second_moment(piece, 0.45));
        }
        f
    }

    #[test]
    fn sway_of_a_column_is_the_end_loaded_cantilever() {
        // P 100 N, L 100 mm, 10 × 10 mm, E 200 GPa: 0.200 mm (Roark, cantilever with end load, from memory).
        let tip = 100.0 * column(100.0, &square(0.0, 0.0, 10.0)).softest(200_000.0);
        assert_relative_eq!(tip, 0.2, max_relative = 1e-12);
    }

    #[test]
    fn sway_is_softest_across_the_thin_side_whatever_the_turn() {
        let expected = 50.0_f64.powi(3) / (3.0 * 3500.0 * (12.0 * 8.0 / 12.0));
        for degrees in [0.0_f64, 30.0, 45.0, 90.0, 140.0] {
            let (s, c) = libm::sincos(degrees.to_radians());
            let turned = |p: &Point2<f64>| Point2::new(c * p.x - s * p.y, s * p.x + c * p.y);
            let bar = rectangle(4.0, -3.0, 12.0, 2.0)
                .outer
                .iter()
                .map(turned)
                .collect();
            let f = column(50.0, &Piece::from_loops(bar, vec![]));
            assert_relative_eq!(f.softest(3500.0), expected, max_relative = 1e-11);
        }
    }

    #[test]
    fn sway_adds_sections_turned_against_each_other_as_tensors() {
        // 8 × 2 below, 2 × 8 above, 20 mm each, by the unit-load integral in each direction.
        let mut f = column(20.0, &rectangle(0.0, 0.0, 8.0, 2.0));
        f.rise(20.0, &second_moment(&rectangle(0.0, 0.0, 2.0, 8.0), 0.45));
        let (weak, strong) = (8.0 * 8.0 / 12.0, 2.0 * 512.0 / 12.0);
        let (far, near) = (
            (40.0_f64.powi(3) - 20.0_f64.powi(3)) / 3.0,
            20.0_f64.powi(3) / 3.0,
        );
        let expected = (far / weak + near / strong).max(far / strong + near / weak);
        assert_relative_eq!(f.softest(1.0), expected, max_relative = 1e-12);
    }

    /// Top of the last piece of a stack, with visits to spare or not.
    fn top(stack: &Stack, visits: Option<usize>) -> f64 {
        let layers = stack.layers();
        let tree = PieceTree::new(&layers, 0.45);
        let mut columns = Columns::new(&tree, 0.45);
        columns.visits_left = visits.unwrap_or(columns.visits_left);
        let tops: Vec<_> = tree.nodes().iter().map(|_| columns.add().1).collect();
        tops.last().unwrap().softest(1.0)
    }

    /// ∫ s²/J ds over lengths counted from the tip.
    fn unit_load(parts: &[(f64, f64)]) -> f64 {
        let mut s = 0.0_f64;
        let part = |&(length, moment): &(f64, f64)| {
            let from = s;
            s += length;
            (s.powi(3) - from.powi(3)) / (3.0 * moment)
        };
        parts.iter().map(part).sum()
    }

    #[test]
    fn sway_below_a_merge_adds_the_moments_of_all_that_carries() {
        // A foot, two unlike pillars on it, a cap, a post: by the unit-load integral, along y.
        let (a, b) = (square(-10.0, 0.0, 3.0), square(10.0, 0.0, 5.0));
        let foot = rectangle(0.0, 0.0, 30.0, 6.0);
        let s = Stack::new(0.2)
            .up_to(4.0, std::slice::from_ref(&foot))
            .up_to(24.0, &[a.clone(), b.clone()])
            .up_to(26.0, std::slice::from_ref(&foot))
            .up_to(36.0, &[rectangle(0.0, 0.0, 4.0, 2.0)]);
        let (pillars, foot) = ((81.0 + 625.0) / 12.0, 30.0 * 216.0 / 12.0);
        let post = 4.0 * 8.0 / 12.0;
        let expected = unit_load(&[(10.0, post), (2.0, foot), (20.0, pillars), (4.0, foot)]);
        assert_relative_eq!(top(&s, None), expected, max_relative = 1e-9);
        // Without visits the stiffer pillar carries alone.
        let pillar = 625.0 / 12.0;
        let alone = unit_load(&[(10.0, post), (2.0, foot), (20.0, pillar), (4.0, foot)]);
        assert_relative_eq!(top(&s, Some(0)), alone, max_relative = 1e-9);
        // Legs that stand on the bed end there.
        let legs = Stack::new(0.2)
            .up_to(20.0, &[a, b])
            .up_to(22.0, &[rectangle(0.0, 0.0, 30.0, 6.0)]);
        let expected = unit_load(&[(2.0, foot), (20.0, pillars)]);
        assert_relative_eq!(top(&legs, None), expected, max_relative = 1e-9);
    }

    #[test]
    fn sway_of_a_wall_with_windows_stays_that_of_its_pillars() {
        // Each window splits the wall in two and joins it again; the trunk below
        // must not count twice.
        let (wall, pillar) = (square(0.0, 0.0, 10.0), rectangle(3.5, 0.0, 3.0, 10.0));
        let other = rectangle(-3.5, 0.0, 3.0, 10.0);
        let mut s = Stack::new(0.2);
        let mut parts = Vec::new();
        for k in 0..10 {
            let z = 4.0 * f64::from(k);
            s = s.up_to(z + 2.0, std::slice::from_ref(&wall));
            s = s.up_to(z + 4.0, &[pillar.clone(), other.clone()]);
            // Along x a pillar is 10 deep and 3 thick.
            parts.extend([(2.0, 2.0 * 10.0 * 27.0 / 12.0), (2.0, 10_000.0 / 12.0)]);
        }
        s = s.up_to(42.0, &[wall]);
        parts.insert(0, (2.0, 10_000.0 / 12.0));
        assert_relative_eq!(top(&s, None), unit_load(&parts), max_relative = 1e-9);
    }

    #[test]
    fn sway_counts_no_section_thinner_than_a_line() {
        let line = 0.45_f64;
        let blade = column(10.0, &rectangle(0.0, 0.0, 20.0, 1e-6)).softest(1.0);
        // The blade has less area than a line's square: a square of one line.
        assert_relative_eq!(
            blade,
            1000.0 / 3.0 * 12.0 / line.powi(4),
            max_relative = 1e-12
        );
    }
}
