//! Poses that are equal by the symmetry of the part.

use super::Hull;
use crate::mesh::Part;
use nalgebra::{Unit, Vector3};

/// The symmetries of a part: for now only the identity is looked for.
#[derive(Debug, Clone, Default)]
pub struct Symmetry;

impl Symmetry {
    /// Finds the symmetries of `part`.
    pub fn detect(_part: &Part, _hull: &Hull) -> Self {
        Self
    }

    /// Whether a symmetry maps one direction onto the other.
    pub fn equivalent(&self, a: &Unit<Vector3<f64>>, b: &Unit<Vector3<f64>>) -> bool {
        (a.into_inner() - b.into_inner()).norm() < 1e-9
    }

    /// Number of directions that are equal to `down`, itself included.
    pub fn orbit(&self, _down: &Unit<Vector3<f64>>) -> usize {
        1
    }
}
