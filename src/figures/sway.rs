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
use nalgebra::{Cholesky, Matrix2, Matrix4};

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
    /// Puts a length `h_mm` with the inverse moment tensor `soft` on top.
    pub(crate) fn rise(&mut self, h_mm: f64, soft: &Matrix2<f64>) {
        let h = h_mm;
        self.shift += self.cross * (2.0 * h) + self.turn * (h * h) + soft * (h * h * h / 3.0);
        self.cross += self.turn * h + soft * (h * h / 2.0);
        self.turn += soft * h;
    }

    /// Columns joined at their tops: they shift and turn as one, so their
    /// stiffnesses add. That legs set apart also brace each other as a frame is
    /// left out, so the deflection is an upper bound. Nothing below: rigid.
    pub(crate) fn joined(columns: &[Self]) -> Self {
        let [first, rest @ ..] = columns else {
            return Self::default();
        };
        if rest.is_empty() {
            return *first;
        }
        // The turn is scaled to a length, which keeps the matrices well conditioned.
        let most = |of: fn(&Self) -> f64| columns.iter().map(of).fold(0.0, f64::max);
        let scale = (most(|f| f.shift.trace()) / most(|f| f.turn.trace())).sqrt();
        let inverse = |m: Matrix4<f64>| Cholesky::new(m).map(|c| c.inverse());
        let stiffness: Option<Matrix4<f64>> =
            columns.iter().map(|f| inverse(f.as_one(scale))).sum();
        if let Some(flexible) = stiffness.and_then(inverse) {
            return Self {
                shift: flexible.fixed_view::<2, 2>(0, 0).into(),
                cross: flexible.fixed_view::<2, 2>(0, 2) / scale,
                turn: flexible.fixed_view::<2, 2>(2, 2) / (scale * scale),
            };
        }
        // A column without height is rigid, and then so is the joint.
        rest.iter().fold(*first, |a, b| {
            if b.shift.trace() < a.shift.trace() {
                *b
            } else {
                a
            }
        })
    }

    fn as_one(&self, scale: f64) -> Matrix4<f64> {
        let mut m = Matrix4::zeros();
        m.fixed_view_mut::<2, 2>(0, 0).copy_from(&self.shift);
        m.fixed_view_mut::<2, 2>(0, 2)
            .copy_from(&(self.cross * scale));
        m.fixed_view_mut::<2, 2>(2, 0)
            .copy_from(&(self.cross * scale));
        m.fixed_view_mut::<2, 2>(2, 2)
            .copy_from(&(self.turn * (scale * scale)));
        m
    }

    /// Deflection under 1 N in the softest direction, mm, for the modulus `e_mpa`.
    pub(crate) fn softest(&self, e_mpa: f64) -> f64 {
        let [xx, yy, xy] = [self.shift.m11, self.shift.m22, self.shift.m12];
        (f64::midpoint(xx, yy) + (0.5 * (xx - yy)).hypot(xy)) / e_mpa
    }
}

/// Inverse of the second-moment tensor of a piece, mm⁻⁴.
///
/// No section is printed thinner than one line, so each principal moment counts
/// as at least that of a strip `line_mm` thick, and the area as at least a
/// line's square; without this a knife edge at the top would swing without limit.
pub(crate) fn softness(piece: &Piece, line_mm: f64) -> Matrix2<f64> {
    let line = line_mm * line_mm;
    let least = piece.area_mm2.max(line) * line / 12.0;
    let (small, large) = piece.principal_mm4();
    let (small, large) = (small.max(least), large.max(least));
    let [xx, yy, xy] = piece.second_mm4;
    let radius = (0.5 * (xx - yy)).hypot(xy);
    // Projector onto the axis of the larger moment, from the deviator.
    let (cos, sin) = if radius > 0.0 {
        (0.5 * (xx - yy) / radius, xy / radius)
    } else {
        (1.0, 0.0)
    };
    let along = Matrix2::new(1.0 + cos, sin, sin, 1.0 - cos) / 2.0;
    along / large + (Matrix2::identity() - along) / small
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::figures::mock::{rectangle, square};
    use approx::assert_relative_eq;
    use nalgebra::Point2;

    fn column(height: f64, piece: &Piece) -> Flexibility {
        let mut f = Flexibility::default();
        for _ in 0..100 {
            f.rise(height / 100.0, &softness(piece, 0.45));
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
            let (s, c) = degrees.to_radians().sin_cos();
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
        f.rise(20.0, &softness(&rectangle(0.0, 0.0, 2.0, 8.0), 0.45));
        let (weak, strong) = (8.0 * 8.0 / 12.0, 2.0 * 512.0 / 12.0);
        let (far, near) = (
            (40.0_f64.powi(3) - 20.0_f64.powi(3)) / 3.0,
            20.0_f64.powi(3) / 3.0,
        );
        let expected = (far / weak + near / strong).max(far / strong + near / weak);
        assert_relative_eq!(f.softest(1.0), expected, max_relative = 1e-12);
    }

    #[test]
    fn sway_of_joined_columns_adds_their_stiffness() {
        let (a, b) = (square(0.0, 0.0, 4.0), rectangle(30.0, 0.0, 5.0, 3.0));
        let mut joined = Flexibility::joined(&[column(25.0, &a), column(25.0, &b)]);
        // Side by side and bending alike, they are one column of the summed moments.
        let sum = [0, 1, 2].map(|i| a.second_mm4[i] + b.second_mm4[i]);
        let both = Piece {
            second_mm4: sum,
            area_mm2: a.area_mm2 + b.area_mm2,
            ..Piece::default()
        };
        let mut one = column(25.0, &both);
        for f in [&mut joined, &mut one] {
            f.rise(10.0, &softness(&square(0.0, 0.0, 3.0), 0.45));
        }
        assert_relative_eq!(
            joined.softest(3500.0),
            one.softest(3500.0),
            max_relative = 1e-9
        );
        // A column without height holds the joint fast.
        let rigid = Flexibility::joined(&[column(25.0, &a), Flexibility::default()]);
        assert_eq!(rigid, Flexibility::default());
        assert_eq!(Flexibility::joined(&[]), Flexibility::default());
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
