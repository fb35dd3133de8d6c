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

pub use convex::{Facet, Hull};
pub(crate) use convex::{in_plane, plane_basis};
pub use quick::Degenerate;
