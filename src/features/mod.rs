//! Form features that a person would name: flats and bores. Part frame.
//!
//! They do not depend on the pose, so they are found once. The ranking asks which
//! roofs are bores that close by themselves and which bores stand upright; the
//! measuring card asks what a calliper can reach.

pub mod bores;
pub mod regions;

pub use bores::{Bore, bores};
pub use regions::{Regions, regions};
