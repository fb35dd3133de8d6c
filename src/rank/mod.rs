//! Comparing poses: gates, penalties, bounds, the search and its order.

pub mod known;
pub mod pareto;
pub mod penalties;
pub mod search;

use crate::settings::weights::Penalty;

/// Where a candidate came from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Origin {
    /// Stands on a facet of the convex hull by itself.
    Resting,
    /// On a facet of the hull, but falls over without help.
    Helped,
    /// A direction of the even lattice.
    Lattice,
    /// Found by refinement on the sphere.
    Refined,
    /// The pose in which the file is.
    Loaded,
    /// Named by the user.
    Named,
}

/// Why a pose cannot be printed as it stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Gate {
    /// Larger than the build volume at any yaw.
    DoesNotFit,
    /// No contact with the bed.
    NoContact,
    /// Tips over by itself.
    Tips,
}

/// One penalty of one pose: `weight × scale(figure)`, already multiplied.
#[derive(Debug, Clone, PartialEq)]
pub struct Charge {
    /// Row of the penalty table.
    pub penalty: Penalty,
    /// Value added to the total.
    pub value: f64,
}

/// How many candidates there were.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Counts {
    /// Facets of the hull (standing and helped).
    pub resting: usize,
    /// Lattice directions.
    pub lattice: usize,
    /// Found by refinement.
    pub refined: usize,
    /// Measured with every figure.
    pub fully_scored: usize,
    /// Not measured in full although their bound lies below the winner's total: 0
    /// where no other direction can win.
    pub unsettled: usize,
}

/// How sure the first place is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Confidence {
    /// No change of the weights by up to a fifth, all at once, and none of the overhang
    /// limit by a fifth moves the winner.
    Clear,
    /// Some such change does.
    Close,
    /// Another entry is as good to within what people's choices can tell.
    Tied,
}
