//! A part as it tips from one side onto another: every figure at every step.

use crate::advice::support::needs_support;
use crate::figures::Figures;
use crate::figures::quick::Bench;
use crate::pose::Pose;
use crate::rank::Origin;
use crate::rank::search::Search;
use crate::report::figures::PoseFigures;
use crate::settings::Settings;
use nalgebra::{Matrix3, Point3, Quaternion, Rotation3, Unit, UnitQuaternion, Vector3};

/// Steps from one side to the other, and those of a part so dense that every one costs
/// the reader a large picture.
const STEPS: usize = 24;
const STEPS_DENSE: usize = 8;

/// Triangles beyond which a part is dense.
const DENSE: usize = 100_000;

/// One position of the part while it tips.
pub struct Step {
    /// How far it has been tipped, degrees.
    pub degrees: f64,
    /// What then points down, part frame.
    pub down: Unit<Vector3<f64>>,
    /// The position: the part turns about build Y.
    pub pose: Pose,
    /// All figures.
    pub figures: Figures,
    /// Sum of the penalties.
    pub total: f64,
}

impl Step {
    /// The step as the table of figures looks at it.
    pub fn measured(&self, settings: &Settings) -> PoseFigures<'_> {
        PoseFigures {
            figures: &self.figures,
            needs_support: needs_support(&self.figures, settings),
            total: self.total,
        }
    }
}

/// The turn from `from` to `to` (part directions), the short way round.
pub struct Path {
    axis: Unit<Vector3<f64>>,
    from: Unit<Vector3<f64>>,
    angle_rad: f64,
}

impl Path {
    /// The turn between two directions; opposite ones are turned about an axis square to
    /// them, the first of X, Y, Z that is not along them.
    pub fn new(from: Unit<Vector3<f64>>, to: &Unit<Vector3<f64>>) -> Self {
        let cross = from.cross(to);
        let axis = if cross.norm() > 1e-6 {
            cross
        } else {
            let other = if from.x.abs() < 0.9 {
                Vector3::x()
            } else {
                Vector3::y()
            };
            from.cross(&other)
        };
        Self {
            axis: Unit::new_normalize(axis),
            from,
            angle_rad: libm::acos(from.dot(to).clamp(-1.0, 1.0)),
        }
    }

    /// Whole angle of the turn, degrees.
    pub fn degrees(&self) -> f64 {
        self.angle_rad.to_degrees()
    }

    /// What points down after `share` of the way.
    pub fn down(&self, share: f64) -> Unit<Vector3<f64>> {
        // As nalgebra makes it from axis and angle, but without the functions of the platform.
        let (sin, cos) = libm::sincos(share * self.angle_rad / 2.0);
        let turn = Quaternion::from_parts(cos, self.axis.into_inner() * sin);
        UnitQuaternion::new_unchecked(turn) * self.from
    }

    /// The position then: down is down, and the axis of the turn lies along build Y, so
    /// that from the front the part is seen to tip. It stands on z = 0, centred.
    pub fn pose(&self, share: f64, points: &[Point3<f64>]) -> Pose {
        let down = self.down(share);
        let up = -down.into_inner();
        let y = self.axis.into_inner();
        let rows = Matrix3::from_rows(&[y.cross(&up).transpose(), y.transpose(), up.transpose()]);
        let rotation = Rotation3::from_matrix_unchecked(rows);
        Pose::with_rotation(down, rotation, points)
    }
}

/// Measures the part at every step of the way, both ends included.
pub fn steps(search: &Search, path: &Path, bench: &Bench) -> Vec<Step> {
    let count = if bench.part.mesh.triangles.len() > DENSE {
        STEPS_DENSE
    } else {
        STEPS
    };
    (0..=count)
        .map(|i| {
            let share = i as f64 / count as f64;
            let down = path.down(share);
            let scored = search.score(search.candidate(down, Origin::Named));
            Step {
                degrees: share * path.degrees(),
                down,
                pose: path.pose(share, &bench.hull().vertices),
                figures: scored.figures,
                total: scored.total,
            }
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn a_turn_keeps_lengths_and_ends_where_it_should() {
        let from = -Vector3::z_axis();
        for to in [Vector3::x_axis(), -Vector3::y_axis(), Vector3::z_axis()] {
            let path = Path::new(from, &to);
            assert_relative_eq!(
                path.down(1.0).into_inner(),
                to.into_inner(),
                epsilon = 1e-12
            );
            for share in [0.0, 0.3, 1.0] {
                let pose = path.pose(share, &[Point3::origin()]);
                let m = *pose.rotation().matrix();
                assert_relative_eq!(m * m.transpose(), Matrix3::identity(), epsilon = 1e-12);
                assert_relative_eq!(m.determinant(), 1.0, epsilon = 1e-12);
                assert_relative_eq!(
                    m * path.down(share).into_inner(),
                    -Vector3::z(),
                    epsilon = 1e-12
                );
            }
        }
        assert_relative_eq!(
            Path::new(from, &Vector3::z_axis()).degrees(),
            180.0,
            epsilon = 1e-9
        );
    }
}
