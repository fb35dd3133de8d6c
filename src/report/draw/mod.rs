//! Drawings of a posed part: ink lines and hatching, no shading that means anything.
//!
//! - [`view`]: the directions one looks from, and which side of the sheet each goes to
//! - [`model`]: what can be drawn of a part whatever the pose: edges and how they lie
//! - [`depth`]: which facet is seen at each point of a view
//! - [`lines`]: edges and outlines of a view, seen and hidden, joined into polylines
//! - [`surface`]: what each bit of surface means for the print
//! - [`hatch`]: hatching over a view by that meaning, and arrows for bridges
//! - [`spans`]: bridges that the view from below does not show
//! - [`props`]: the room under overhang as upright lines
//! - [`picture`]: strokes, fills and lettering on paper, mm; as SVG
//! - [`ink`]: the same as pixels, as PNG; [`wash`]: views too dense for lines
//! - [`placed`]: a view at its place on the paper
//! - [`arrange`]: where the views of a drawing go, and at which scale
//! - [`views`]: the drawing of a pose: three views and an axonometric one, with dimensions
//! - [`dimension`]: dimension lines, the ground, the symbol of the projection
//! - [`small`]: a pose as a small figure; [`pair`]: one to be set beside others
//! - [`dots`]: a view in block characters for a terminal
//!
//! Lines follow ISO 128, projections and their symbol ISO 5456, scales ISO 5455
//! (all from memory). All of it is the same, bit for bit, on any number of threads.

pub mod arrange;
mod canvas;
pub mod depth;
pub mod dimension;
pub mod dots;
#[cfg(test)]
pub(crate) mod fixture;
pub mod hatch;
pub mod ink;
pub mod join;
mod lettering;
pub mod lines;
pub mod marker;
pub mod markers;
pub mod model;
pub mod pair;
pub mod picture;
pub mod placed;
pub mod props;
pub mod small;
pub mod spans;
pub mod surface;
pub mod view;
pub mod views;
pub mod wash;
