//! Planar geometry: hulls, rectangles, polygons.

pub mod polygon;
pub mod rect;
