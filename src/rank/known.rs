//! What the ranking knows of a part whatever the settings.

use super::card::Holds;
use crate::mesh::Part;
use crate::pose::hull::Hull;
use crate::pose::twins::Symmetry;

/// Symmetry of a part, and what a calliper can take hold of.
pub struct Known {
    /// Its symmetries.
    pub symmetry: Symmetry,
    /// Flats and bores for the measuring card.
    pub holds: Holds,
}

impl Known {
    /// Looks at a part with its hull.
    pub fn new(part: &Part, hull: &Hull) -> Self {
        let (symmetry, holds) = rayon::join(|| Symmetry::detect(part, hull), || Holds::new(part));
        Self { symmetry, holds }
    }
}
