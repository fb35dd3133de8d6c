//! Measuring one pose: every figure by its definition, one figure one file.

pub mod bed_detail;
mod below;
pub mod bridges;
mod buckets;
pub mod cap;
pub(crate) mod corners;
pub mod depends;
pub mod deposit;
pub mod dexels;
pub(crate) mod feet;
#[cfg(test)]
pub(crate) mod fixture;
pub mod full;
pub mod gauss;
pub(crate) mod grazes;
pub mod height;
pub(crate) mod held;
mod join;
pub mod limbs;
pub(crate) mod low;
#[cfg(test)]
pub(crate) mod mock;
pub(crate) mod outer_wall;
pub(crate) mod overlap;
pub mod parting;
pub mod piece;
pub mod profile;
pub mod purpose;
pub mod quick;
pub mod show;
pub mod slender;
pub mod sliced;
pub mod slicing;
pub mod slivers;
pub(crate) mod spared;
pub mod stop;
pub mod strength;
pub mod subdivide;
pub mod support;
pub mod support_need;
pub(crate) mod sway;
mod touch;
pub mod tree;
pub mod warp;
pub mod weakest;

use nalgebra::Point2;
use serde::Serialize;

/// A connected piece of a horizontal section: an outer loop and its holes.
///
/// Build frame, mm. Loops do not repeat the first point; the outer one runs
/// counter-clockwise, holes clockwise. Loops do not cross.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Piece {
    /// Outer loop, counter-clockwise.
    pub outer: Vec<Point2<f64>>,
    /// Holes, clockwise.
    pub holes: Vec<Vec<Point2<f64>>>,
    /// Area less the holes, mm².
    pub area_mm2: f64,
    /// Centroid.
    pub centroid: Point2<f64>,
    /// Second moments about the centroid `[∫x², ∫y², ∫xy]`, mm⁴.
    pub second_mm4: [f64; 3],
    /// Lowest and highest corner of the box around the outer loop.
    pub bounds: [Point2<f64>; 2],
}

/// The section of the solid by one horizontal plane.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Section {
    /// Height of the plane that was cut, mm.
    pub z_mm: f64,
    /// Connected pieces, in a fixed order.
    pub pieces: Vec<Piece>,
}

/// Sections at mid-layer height, from the bed up: `sections[0]` is the first layer.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Layers {
    /// One section a layer.
    pub sections: Vec<Section>,
    /// Bottom of each layer and, last, the top of the last one, mm: one more than sections.
    pub levels_mm: Vec<f64>,
}

/// A hole in a ceiling: what is printed towards it finds no hold there.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, schemars::JsonSchema)]
pub struct CeilingHole {
    /// Diameter of a round hole, shorter side of another, of the widest if there are several, mm.
    pub width_mm: f64,
    /// Number of such holes in this ceiling.
    pub count: u32,
    /// What the ceiling would span with its holes closed, mm.
    pub closed_span_mm: f64,
}

/// The short way across a ceiling that is held along its long side.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Across {
    /// From one side to the other, mm; 0 where the other side hangs free.
    pub mm: f64,
    /// Which way that is, from build +X, degrees in [0, 180).
    pub direction_deg: f64,
}

/// A ceiling strip that is printed in the air between two held ends.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, schemars::JsonSchema)]
pub struct Bridge {
    /// Bottom of the layer that bridges, mm.
    pub z_mm: f64,
    /// Longest chord in the bridge direction, mm.
    pub span_mm: f64,
    /// Bridged plan area, mm².
    pub area_mm2: f64,
    /// Bridge direction from build +X, degrees in [0, 180).
    pub direction_deg: f64,
    /// The hole that the ceiling goes round, where that leaves a ring of it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub around_hole: Option<CeilingHole>,
    /// What is told of it instead of span and direction, where its strands would run beside
    /// what holds them.
    #[serde(skip)]
    pub across: Option<Across>,
}

impl Bridge {
    /// The bridge as it is told: by the short way, where its strands would run beside what
    /// holds them; none where the other side of that hangs free.
    pub fn told(&self) -> Option<Self> {
        let Some(Across { mm, direction_deg }) = self.across else {
            return Some(*self);
        };
        (mm > 0.0).then_some(Self {
            span_mm: mm,
            direction_deg,
            across: None,
            ..*self
        })
    }
}

/// A piece of a layer that rests on nothing.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, schemars::JsonSchema)]
pub struct Island {
    /// Bottom of the layer where it begins, mm.
    pub z_mm: f64,
    /// Area of the piece in that layer, mm².
    pub area_mm2: f64,
    /// A scrap that the part takes in within two layers: a graze of the mesh, which nobody holds.
    #[serde(skip)]
    pub graze: bool,
}

/// What a stretch starts on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Footing {
    /// The bed.
    #[default]
    Bed,
    /// The part below.
    Part,
    /// Nothing.
    Air,
}

/// A run of pieces that stands free.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, schemars::JsonSchema)]
#[schemars(
    rename = "Slender",
    description = "The stretch that governs `slender_ratio`."
)]
pub struct Stretch {
    /// Where it leaves the bed or its parent, mm.
    pub from_mm: f64,
    /// Where it ends or merges, mm.
    pub to_mm: f64,
    /// Median width `√(12·I_min/A)`, mm.
    pub width_mm: f64,
    /// Height over width.
    pub ratio: f64,
    /// Centroid of its topmost section in the build frame, mm.
    // At the top of that layer.
    pub tip_mm: [f64; 3],
    /// Sideways deflection of the tip in its softest direction, mm per N, down to
    /// the bed; down to its own start where it hangs in the air.
    #[serde(skip)]
    pub sway_mm_per_n: f64,
    /// What it starts on.
    #[serde(skip)]
    pub footing: Footing,
}

/// Area where support leaves marks, mm².
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, schemars::JsonSchema)]
pub struct SupportMarks {
    /// Plan area where support stands on the part instead of the bed.
    pub below: f64,
    /// Overhang area that support touches.
    pub above: f64,
}

/// Every figure of one pose, under the keys of the JSON. Units are in the names.
#[derive(Debug, Clone, Default, PartialEq, Serialize, schemars::JsonSchema)]
pub struct Figures {
    /// Extent along Z.
    pub height_mm: f64,
    /// Number of layers.
    pub layers: u32,
    /// Extents along X and Y after the default yaw.
    pub footprint_mm: [f64; 2],
    /// Area of the section at touch height.
    pub contact_area_mm2: f64,
    /// Connected pieces of the contact section.
    pub contact_patches: u32,
    /// Smallest tilt that brings the centre of mass over an edge of the contact hull.
    pub tip_angle_deg: f64,
    /// The same with the support counted to the base; only of a pose that falls over without
    /// support and is held up by it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub tip_with_support_deg: Option<f64>,
    /// True surface area that is an overhang.
    pub overhang_area_mm2: f64,
    /// The part of the overhang area that no bridge within the limit carries.
    pub overhang_after_bridges_mm2: f64,
    /// Overhang that prints without support as a rule: ceilings (lean of 75° and more)
    /// that a bridge within the limit carries, roofs of horizontal bores that span no more
    /// than that limit, cantilevers up to 1.8 mm, and slopes within 1.5 mm of the bed.
    pub overhang_light_mm2: f64,
    /// Overhang that prints with a sag: ceilings and roofs of horizontal bores that span up to
    /// twice the bridge limit.
    pub overhang_wide_mm2: f64,
    /// Overhang that the ranking charges as such: the rest.
    pub overhang_charged_mm2: f64,
    /// Ceilings that a bridge within the limit carries.
    pub ceiling_carried_mm2: f64,
    /// Void volume under overhang down to the next surface or the bed.
    pub support_volume_mm3: f64,
    /// The same without overhang that a bridge within the limit carries.
    pub support_after_bridges_mm3: f64,
    /// The same, less the void below roofs of small bores and below cantilevers
    /// (`overhang_light_mm2`): the support that common practice would print.
    pub support_needed_mm3: f64,
    /// The part of that below `overhang_wide_mm2`: not needed where such spans bridge.
    pub support_wide_mm3: f64,
    /// Estimated error of the support volumes, from halving the cell.
    pub support_error_mm3: f64,
    /// Column spacing at which that error was reached.
    pub support_cell_mm: f64,
    /// Marks that support leaves.
    pub support_marks_mm2: SupportMarks,
    /// Estimated error of the area where support stands on the part.
    pub support_marks_error_mm2: f64,
    /// Support in a void that nothing joins to the outside.
    pub support_trapped_mm3: f64,
    /// Bridges, from the bed up.
    pub bridges: Vec<Bridge>,
    /// Largest span of any bridge.
    pub bridge_longest_mm: f64,
    /// Largest reach of a piece held on one side only.
    pub cantilever_longest_mm: f64,
    /// The same by the short way to what holds it, of those so far above the bed that support
    /// could hold them. None where it was not told apart.
    #[serde(skip)]
    pub ledge_high_mm: Option<f64>,
    /// Height at which the longest of those sticks out; none without any.
    #[serde(skip)]
    pub ledge_high_z_mm: Option<f64>,
    /// Ceilings held along two sides that no bridge of the list spans, each the short way across.
    #[serde(skip)]
    pub grooves: Vec<Bridge>,
    /// Overhang that support is set for, yet that bridges the short way within the limit.
    #[serde(skip)]
    pub overhang_across_mm2: f64,
    /// Overhang that support is set for, yet in slits so low that none has room there.
    #[serde(skip)]
    pub overhang_slit_mm2: f64,
    /// The void of these slits.
    #[serde(skip)]
    pub slit_mm3: f64,
    /// The void under overhang that leans hardly more than the limit.
    #[serde(skip)]
    pub gentle_mm3: f64,
    /// The void under overhang so low over the bed that support would not come off.
    #[serde(skip)]
    pub low_mm3: f64,
    /// Overhang that support is set for, yet so low over the bed that it would not come off.
    #[serde(skip)]
    pub overhang_low_mm2: f64,
    /// Slopes so low over the bed that the ranking counts them as overhang that prints; the
    /// advice tells of them where it leaves support off.
    #[serde(skip)]
    pub overhang_low_slope_mm2: f64,
    /// Higher overhang that support is set for, yet leans hardly more than the limit.
    #[serde(skip)]
    pub overhang_gentle_mm2: f64,
    /// Pieces of a layer that rest on nothing.
    pub islands: Vec<Island>,
    /// Largest height over width of a free-standing stretch that is half a line wide or more: no
    /// nozzle draws a narrower one.
    pub slender_ratio: f64,
    /// The stretch that governs, if any.
    pub slender: Option<Stretch>,
    /// Sideways deflection under 1 N of the softest free tip of such a stretch.
    pub sway_mm_per_n: f64,
    /// Area-weighted mean cusp height, level surfaces left out.
    pub layer_steps_mean_um: f64,
    /// Area that looks down at 10° or more and yet is no overhang.
    pub underside_area_mm2: f64,
    /// Wall area of round holes times sin² of the angle of their axis to the vertical.
    pub bores_lying_mm2: f64,
    /// Free thermal contraction across the base.
    pub base_shrinkage_mm: f64,
    /// Smallest total section area of bodies that carry material above.
    pub weakest_section_mm2: f64,
    /// Height of that section.
    pub weakest_section_z_mm: f64,
    /// cos² of the angle between load and Z, where a load was given.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub load_across_layers: Option<f64>,
    /// Axes of bores that must come out round and lie more than 5° off upright, where such axes
    /// were named.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub round_missed: Option<u32>,
    /// Sides that must come out flat and do not lie on the bed, where such sides were named.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub flat_missed: Option<u32>,
    /// Area of the cosmetic sides that support, the bed or coarse steps mark,
    /// where such sides were named.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub show_marked_mm2: Option<f64>,
    /// Deposited volume without support.
    pub extrude_mm3: f64,
    /// Printing time estimate without heating up.
    pub print_min: f64,
    /// Mass of the deposit.
    pub filament_g: f64,
    /// Printing time that support adds where it is switched on.
    pub support_min: f64,
    /// Mass of that support.
    pub support_g: f64,
    /// Keys that suffer from an open or overlapping surface.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub doubtful: Vec<String>,
}

impl Figures {
    /// The tipping angle while it is printed: with its support where that holds it up.
    pub fn held_tip_deg(&self) -> f64 {
        self.tip_with_support_deg.unwrap_or(self.tip_angle_deg)
    }

    /// Overhang that support would be set for by its lean alone: what the ranking charges in
    /// full or by half, and slopes low over the bed, mm².
    pub fn overhang_needed_mm2(&self) -> f64 {
        self.overhang_charged_mm2 + self.overhang_wide_mm2 + self.overhang_low_slope_mm2
    }
}
