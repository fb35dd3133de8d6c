//! Form features that a person would name: flats, bores and ledges. Part frame.
//!
//! They do not depend on the pose, so they are found once. The ranking asks which
//! overhang is too small to need support and which bores stand upright; the
//! measuring card asks what a calliper can reach.

pub mod bores;
pub mod regions;
pub mod small;

pub use bores::{Bore, bores};
pub use regions::{Regions, regions};
pub use small::{Size, sizes};
