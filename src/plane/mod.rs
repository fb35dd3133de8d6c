//! Planar geometry: hulls, rectangles, polygons.

pub mod rect;
