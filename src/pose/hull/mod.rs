//! Convex hull of a point set in space, decided by exact signs.
//!
//! Sources: see `quick` (the algorithm), `cull` (what is thrown away first) and
//! `facets` (triangles merged to flats).

mod convex;
mod cull;
mod facets;
mod quick;
#[cfg(test)]
mod tests;

pub(crate) use convex::plane_basis;
pub use convex::{Facet, Hull};
pub use quick::Degenerate;
