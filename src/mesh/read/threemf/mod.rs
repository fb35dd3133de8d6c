//! 3MF Core: a zip package (OPC) with a model part in XML.
//!
//! What is printed are the build items; objects, components and items each carry a
//! transform. Matrices are row-major 4 × 3, for row vectors (3MF Core 1.4). The
//! `path` attribute of the production extension, which puts objects into further
//! model parts, is followed.
//!
//! A package is the sender's word against ours: unpacked bytes are counted as they
//! come, the archive's own sizes are not believed; instances are counted before
//! they are made.

mod model;
mod package;
mod place;

pub(super) use package::read;
