//! Comparing poses: gates, penalties, bounds, the search and its order.

pub mod known;
pub mod pareto;
pub mod penalties;
pub mod search;

use crate::settings::weights::Penalty;
use schemars::{JsonSchema, Schema, SchemaGenerator};
use serde::{Serialize, Serializer};
use std::borrow::Cow;

/// Where a candidate came from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
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
    Stored,
    /// Named by the user.
    Named,
}

/// Why a pose cannot be printed as it stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum FailedGate {
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

/// Penalties as the JSON shows them.
pub struct Charges;

impl Charges {
    /// Writes them by name, in table order.
    pub(crate) fn by_name<S: Serializer>(
        list: &[Charge],
        serializer: S,
    ) -> Result<S::Ok, S::Error> {
        serializer.collect_map(list.iter().map(|c| (c.penalty.name(), c.value)))
    }
}

impl JsonSchema for Charges {
    fn schema_name() -> Cow<'static, str> {
        "Charges".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        schemars::json_schema!({
            "type": "object",
            "description": "Penalties by name, in the order of the penalty table; their sum is the total.",
            "additionalProperties": {"type": ["number", "null"]}
        })
    }
}

/// How many candidates there were.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Candidates {
    /// Facets of the convex hull, standing and helped.
    pub resting: usize,
    /// Directions of the even lattice.
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
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Confidence {
    /// No change of the weights by up to a fifth, all at once, and none of the overhang
    /// limit by a fifth moves the winner.
    Clear,
    /// Some such change does.
    Close,
    /// Another entry is as good to within what people's choices can tell.
    Tied,
}
