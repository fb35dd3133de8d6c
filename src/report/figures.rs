//! The table of figures: what each is called, how it is written, what was measured, what
//! it means and what to do. Tables, pages, drawings, columns, schema and desk read it.

use super::quantity::{
    ANGLE, AREA, COMPLIANCE, COUNT, LENGTH, MICRONS, Notation, PENALTY, RATIO, SHARE, TIME, VOLUME,
};
use crate::advice::RankedPose;
use crate::advice::support::SHUT_MM3;
use crate::figures::Figures;
use crate::materials::AMBIENT_C;
use crate::settings::Settings;
use crate::settings::weights::Penalty;
use crate::words::{area, count, decimal, degrees, length, three, volume};
use serde::Serialize;
use serde_json::{Value, json};

/// Bridges and islands that are listed before the rest is summed up.
const LISTED: usize = 6;

/// Which of two values is the better one.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Better {
    /// The lower.
    Lower,
    /// The higher.
    Higher,
    /// Neither.
    Neither,
}

/// When a value is shown as measured, rather than as 0.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Shown {
    /// Always.
    Always,
    /// Above a value that common practice takes for nothing.
    Above(f64),
    /// Where the pose needs support
    /// ([`needs_support`](crate::advice::precautions::needs_support)).
    WithSupport,
}

/// A pose as the table looks at it.
#[derive(Debug, Clone, Copy)]
pub struct PoseFigures<'a> {
    /// What was measured.
    pub figures: &'a Figures,
    /// Whether a person would switch support on.
    pub needs_support: bool,
    /// Sum of the penalties.
    pub total: f64,
}

impl<'a> From<&'a RankedPose> for PoseFigures<'a> {
    fn from(pose: &'a RankedPose) -> Self {
        Self {
            figures: &pose.figures,
            needs_support: pose.needs_support,
            total: pose.total,
        }
    }
}

/// One figure.
#[derive(Debug)]
pub struct Figure {
    /// Key in the JSON.
    pub key: &'static str,
    /// Other keys that are shown with it.
    pub with: &'static [&'static str],
    /// What it is called.
    pub label: &'static str,
    /// Kind of number.
    pub quantity: Notation,
    /// Which way is better.
    pub better: Better,
    /// When it is shown as measured.
    pub shown: Shown,
    /// A part of another figure: told only where it is not 0.
    pub part: bool,
    /// What was measured, with the [names of settings](Figure::measured) in braces.
    pub measured: &'static str,
    /// What it means.
    pub means: &'static str,
    /// What to do about it.
    pub todo: &'static str,
    get: fn(&PoseFigures) -> Option<f64>,
    /// What follows the number in a list of all figures.
    more: fn(&Figures) -> String,
    /// What follows it where there is room for a few words only. The page of the desk puts in
    /// the figures whose keys stand in braces; `{layers:layer|layers}` is a count with its noun.
    short: &'static str,
}

impl Figure {
    /// The value that is shown; `None` where the pose has none.
    pub fn value(&self, pose: &PoseFigures) -> Option<f64> {
        let value = (self.get)(pose)?;
        Some(if self.counts(pose, value) { value } else { 0.0 })
    }

    /// Whether a value is shown as measured, rather than as 0.
    fn counts(&self, pose: &PoseFigures, value: f64) -> bool {
        match self.shown {
            Shown::Always => true,
            Shown::Above(least) => value > least,
            Shown::WithSupport => pose.needs_support,
        }
    }

    /// The value with its unit: "18.4 cm²".
    pub fn say(&self, pose: &PoseFigures) -> Option<String> {
        Some(self.quantity.say(self.value(pose)?))
    }

    /// A caption: "contact 18.4 cm²".
    pub fn caption(&self, pose: &PoseFigures) -> Option<String> {
        Some(format!("{} {}", self.label, self.say(pose)?))
    }

    /// The value with all that belongs to it, for a list of all figures. `None` where
    /// there is nothing to tell.
    pub fn all(&self, pose: &PoseFigures) -> Option<String> {
        let value = self.value(pose).filter(|v| !self.part || *v > 0.0);
        let more = (self.more)(pose.figures);
        match value {
            Some(v) => Some(format!("{}{more}", self.quantity.say(v))),
            None if self.part || more.is_empty() => None,
            None => Some(more),
        }
    }

    /// What was measured, with the settings in force.
    pub fn measured(&self, s: &Settings) -> String {
        [
            ("{touch}", length(s.touch_mm())),
            ("{lean}", decimal(s.overhang_lean_rad().to_degrees(), 1)),
            ("{limit}", decimal(s.limit_deg, 1)),
            (
                "{bed}",
                format!(
                    "{} × {} mm",
                    decimal(s.bed_mm[0], 1),
                    decimal(s.bed_mm[1], 1)
                ),
            ),
            ("{bridge}", length(s.bridge_limit_mm)),
            ("{twice}", length(2.0 * s.bridge_limit_mm)),
            ("{material}", s.material.name.to_string()),
            ("{modulus}", decimal(s.material.e_mpa, 0)),
            ("{stiffens}", decimal(s.material.stiffens_c, 0)),
            ("{ambient}", decimal(AMBIENT_C, 0)),
            ("{expansion}", decimal(s.material.alpha_e6_per_k, 0)),
            ("{walls}", count(s.walls as usize, "wall", "walls")),
            ("{line}", decimal(s.line_mm, 2)),
            ("{infill}", decimal(s.infill * 100.0, 0)),
            ("{rate}", decimal(s.rate_mm3_s, 1)),
            ("{change}", decimal(s.layer_change_s, 1)),
        ]
        .iter()
        .fold(self.measured.to_string(), |text, (name, value)| {
            text.replace(name, value)
        })
    }
}

/// What most figures have in common.
const PLAIN: Figure = Figure {
    key: "",
    with: &[],
    label: "",
    quantity: AREA,
    better: Better::Lower,
    shown: Shown::Always,
    part: false,
    measured: "",
    means: "",
    todo: "",
    get: |_| None,
    more: |_| String::new(),
    short: "",
};

/// Extent along Z.
pub static HEIGHT: Figure = Figure {
    key: "height_mm",
    with: &["layers"],
    label: "height",
    quantity: LENGTH,
    measured: "From the bed to the highest point.",
    means: "Each layer takes time and is one more joint.",
    todo: "Where time matters, choose a lower pose or thicker layers.",
    get: |p| Some(p.figures.height_mm),
    more: |f| format!(" in {}", count(f.layers as usize, "layer", "layers")),
    short: "in {layers:layer|layers}",
    ..PLAIN
};

/// Extents along X and Y.
pub static FOOTPRINT: Figure = Figure {
    key: "footprint_mm",
    label: "footprint",
    quantity: LENGTH,
    better: Better::Neither,
    measured: "Smallest rectangle around the plan, long side along X. The bed offers {bed}.",
    means: "The part has to fit the bed.",
    todo: "Too large? Turn it about Z, choose another pose, or cut the part in two.",
    more: |f| {
        format!(
            "{} × {}",
            length(f.footprint_mm[0]),
            length(f.footprint_mm[1])
        )
    },
    ..PLAIN
};

/// What touches the bed.
pub static CONTACT: Figure = Figure {
    key: "contact_area_mm2",
    with: &["contact_patches"],
    label: "contact",
    better: Better::Higher,
    measured: "Area of the section {touch} above the bed, half the first layer.",
    means: "It is all that holds the part down while it is printed.",
    todo: "Small for the height? Print a brim, or choose a pose with a larger base.",
    get: |p| Some(p.figures.contact_area_mm2),
    more: |f| {
        format!(
            " in {}",
            count(f.contact_patches as usize, "patch", "patches")
        )
    },
    short: "in {contact_patches:patch|patches}",
    ..PLAIN
};

/// How far it can be tilted.
pub static TIPPING: Figure = Figure {
    key: "tip_angle_deg",
    label: "tipping angle",
    quantity: ANGLE,
    better: Better::Higher,
    measured: "Smallest tilt that brings the centre of mass over an edge of the base.",
    means: "Small: a knock of the nozzle topples the part. Below zero it falls over by itself.",
    todo: "Print a brim or a raft, or widen the base.",
    get: |p| Some(p.figures.tip_angle_deg),
    ..PLAIN
};

/// Surface past the limit.
pub static OVERHANG: Figure = Figure {
    key: "overhang_area_mm2",
    with: &["overhang_after_bridges_mm2"],
    label: "overhang",
    measured: "Surface that leans more than {lean}° from the vertical (the limit of {limit}° and a margin) and does not rest on the bed.",
    means: "It sags, or needs something under it.",
    todo: "Tilt the part, chamfer the edge in the model, or accept support there.",
    get: |p| Some(p.figures.overhang_area_mm2),
    more: |f| format!(", after bridges {}", area(f.overhang_after_bridges_mm2)),
    short: "of which {overhang_charged_mm2} count in full",
    ..PLAIN
};

/// The overhang that counts in full.
pub static UNSUPPORTED: Figure = Figure {
    key: "overhang_charged_mm2",
    label: "unbridged overhang",
    part: true,
    measured: "The part of the overhang that neither bridges nor prints by itself.",
    means: "The ranking counts it in full.",
    todo: "Tilt the part, or chamfer the edge in the model.",
    get: |p| Some(p.figures.overhang_charged_mm2),
    ..PLAIN
};

/// The overhang that prints by itself.
pub static SELF_SUPPORTING: Figure = Figure {
    key: "overhang_light_mm2",
    label: "self-supporting overhang",
    part: true,
    measured: "The part of the overhang that prints without support as a rule: bridges within the limit, roofs of small bores, short cantilevers.",
    means: "It sags slightly and comes out rough.",
    todo: "Turn it away from the side that is seen.",
    get: |p| Some(p.figures.overhang_light_mm2),
    ..PLAIN
};

/// Spans of up to twice the limit.
pub static WIDE: Figure = Figure {
    key: "overhang_wide_mm2",
    label: "bridges past the limit",
    part: true,
    measured: "The part of the overhang that spans more than the bridge limit of {bridge}, up to {twice}.",
    means: "One machine bridges it with a sag, another does not.",
    todo: "Print a test bridge of that span before the part.",
    get: |p| Some(p.figures.overhang_wide_mm2),
    ..PLAIN
};

/// What bridges carry.
pub static BRIDGED: Figure = Figure {
    key: "ceiling_carried_mm2",
    label: "bridged area",
    part: true,
    measured: "Area that bridges of up to {bridge} carry.",
    means: "It spans by itself.",
    todo: "Check the first bridge while it prints.",
    get: |p| Some(p.figures.ceiling_carried_mm2),
    ..PLAIN
};

/// Support that would be printed.
pub static SUPPORT: Figure = Figure {
    key: "support_needed_mm3",
    with: &[
        "support_volume_mm3",
        "support_after_bridges_mm3",
        "support_wide_mm3",
        "support_error_mm3",
        "support_cell_mm",
    ],
    label: "support",
    quantity: VOLUME,
    shown: Shown::WithSupport,
    measured: "Space under overhang down to the next surface or the bed, less what bridges and small roofs carry.",
    means: "It is filled, paid for and broken away again.",
    todo: "A pose with less of it saves material and leaves fewer marks.",
    get: |p| Some(p.figures.support_needed_mm3),
    more: |f| {
        format!(
            "; {} with no bridge at all, {} after bridges; ± {} at columns of {}",
            volume(f.support_volume_mm3),
            volume(f.support_after_bridges_mm3),
            volume(f.support_error_mm3),
            length(f.support_cell_mm)
        )
    },
    short: "{support_volume_mm3} if nothing bridged",
    ..PLAIN
};

/// Marks of support.
pub static MARKS: Figure = Figure {
    key: "support_scar_mm2",
    with: &["support_scar_error_mm2"],
    label: "support marks",
    shown: Shown::WithSupport,
    measured: "Where support would stand on the part instead of the bed, and the overhang that it would touch.",
    means: "Both come out rough.",
    todo: "Turn such places away from the side that is seen, or plan to sand them.",
    get: |p| Some(p.figures.support_scar_mm2.below + p.figures.support_scar_mm2.above),
    more: |f| {
        format!(
            "; space under overhang stands on {} ± {} of the part and reaches {}",
            area(f.support_scar_mm2.below),
            area(f.support_scar_error_mm2),
            area(f.support_scar_mm2.above)
        )
    },
    ..PLAIN
};

/// Support that stays in.
pub static TRAPPED: Figure = Figure {
    key: "support_trapped_mm3",
    label: "trapped support",
    quantity: VOLUME,
    shown: Shown::Above(SHUT_MM3),
    measured: "Support in a void that nothing joins to the outside.",
    means: "It cannot be removed.",
    todo: "Cut the part in two, or open the void.",
    get: |p| Some(p.figures.support_trapped_mm3),
    ..PLAIN
};

/// The longest bridge.
pub static BRIDGE: Figure = Figure {
    key: "bridge_longest_mm",
    with: &["bridges"],
    label: "bridge",
    quantity: LENGTH,
    measured: "Longest span that is held at both ends. Up to the limit of {bridge} it needs nothing below.",
    means: "Longer ones sag.",
    todo: "Test with a bridge of that length on your machine, then set the limit to what it manages.",
    get: |p| Some(p.figures.bridge_longest_mm),
    more: |f| {
        let one = |b: &crate::figures::Bridge| {
            format!(
                " {} of {} at z = {}, {} from X",
                length(b.span_mm),
                area(b.area_mm2),
                length(b.z_mm),
                degrees(b.direction_deg)
            )
        };
        listed(
            &f.bridges,
            &format!(", the longest of {}:", f.bridges.len()),
            one,
        )
    },
    short: "of {bridges}",
    ..PLAIN
};

/// The longest cantilever.
pub static CANTILEVER: Figure = Figure {
    key: "ledge_longest_mm",
    label: "cantilever",
    quantity: LENGTH,
    measured: "Longest span that is held at one end.",
    means: "It droops at its free end.",
    todo: "Past a millimetre or two, support it or brace it at 45° in the model.",
    get: |p| Some(p.figures.ledge_longest_mm),
    ..PLAIN
};

/// Pieces that start on nothing.
pub static ISLANDS: Figure = Figure {
    key: "floating_starts",
    label: "islands",
    quantity: COUNT,
    measured: "Pieces of a layer that start without anything below.",
    means: "Without support they are lost.",
    todo: "Support each of them, or choose a pose without.",
    get: |p| Some(p.figures.floating_starts.len() as f64),
    more: |f| {
        let one = |s: &crate::figures::FloatingStart| {
            format!(" {} at z = {}", area(s.area_mm2), length(s.z_mm))
        };
        listed(&f.floating_starts, ":", one)
    },
    short: "the first at z = {floating_starts.0.z_mm}",
    ..PLAIN
};

/// Height over width.
pub static SLENDERNESS: Figure = Figure {
    key: "slender_ratio",
    with: &["slender"],
    label: "slenderness",
    quantity: RATIO,
    measured: "Height over width of the slimmest stretch that stands free while it is printed.",
    means: "The nozzle pushes slim pieces about; their tops come out wavy.",
    todo: "Turn its side down, brace it, or slow down near the top.",
    get: |p| Some(p.figures.slender_ratio),
    more: |f| {
        f.slender.map_or_else(String::new, |t| {
            let [from, to, width] = [t.from_mm, t.to_mm, t.width_mm].map(length);
            format!(", from z = {from} to {to}, {width} wide")
        })
    },
    short: "{slender.width_mm} wide, free from z = {slender.from_mm} to {slender.to_mm}",
    ..PLAIN
};

/// Deflection of the softest tip.
pub static SWAY: Figure = Figure {
    key: "sway_mm_per_n",
    label: "sway",
    quantity: COMPLIANCE,
    measured: "How far a push of 1 N moves the softest free tip sideways, in {material} with a modulus of {modulus} MPa.",
    means: "About a layer height or more, and layers begin to miss each other.",
    todo: "A stiffer material helps a little, a lower pose a lot.",
    get: |p| Some(p.figures.sway_mm_per_n),
    ..PLAIN
};

/// Cusp height.
pub static STEPS: Figure = Figure {
    key: "stair_mean_um",
    label: "layer steps",
    quantity: MICRONS,
    measured: "Mean cusp height between layers, over all surface that is not level.",
    means: "The lower, the smoother it feels.",
    todo: "Thinner layers lower all of them; a pose lowers those of one side.",
    get: |p| Some(p.figures.stair_mean_um),
    ..PLAIN
};

/// Surface that looks down.
pub static UNDERSIDE: Figure = Figure {
    key: "underside_area_mm2",
    label: "down-facing surface",
    part: true,
    measured: "Surface that looks down by 10° or more and is no overhang.",
    means: "It comes out rougher than surface that looks up.",
    todo: "Turn the fine side up.",
    get: |p| Some(p.figures.underside_area_mm2),
    ..PLAIN
};

/// Bores that are not upright.
pub static BORES: Figure = Figure {
    key: "bores_lying_mm2",
    label: "walls of horizontal bores",
    part: true,
    measured: "Wall area of round holes, times sin² of the angle of their axis to the vertical.",
    means: "A hole comes out round where its axis is upright.",
    todo: "Stand the hole that has to fit upright, or drill it out.",
    get: |p| Some(p.figures.bores_lying_mm2),
    ..PLAIN
};

/// Contraction of the base.
pub static SHRINKAGE: Figure = Figure {
    key: "shrink_pull_mm",
    label: "base shrinkage",
    quantity: LENGTH,
    measured: "Free contraction of {material} across the longest chord of the base on cooling from {stiffens} to {ambient} °C at {expansion} × 10⁻⁶/K.",
    means: "It lifts corners off the bed.",
    todo: "A wide brim, no draughts, a filled grade, or a pose with a shorter base.",
    get: |p| Some(p.figures.shrink_pull_mm),
    ..PLAIN
};

/// The smallest section.
pub static WEAKEST: Figure = Figure {
    key: "weakest_section_mm2",
    with: &["weakest_section_z_mm"],
    label: "weakest section",
    better: Better::Higher,
    measured: "Smallest section that has material above it.",
    means: "A load along the height parts the layers there first.",
    todo: "For a part that carries, turn it so that the load runs along the layers.",
    get: |p| Some(p.figures.weakest_section_mm2),
    more: |f| format!(" at z = {}", length(f.weakest_section_z_mm)),
    short: "at z = {weakest_section_z_mm}",
    ..PLAIN
};

/// Load across the layers.
pub static LOAD: Figure = Figure {
    key: "load_across_layers",
    label: "load across layers",
    quantity: SHARE,
    measured: "Share of the load that acts square to the layers: cos² of its angle to Z.",
    means: "Layers hold least that way.",
    todo: "Turn the part so that the load runs along the bed.",
    get: |p| p.figures.load_across_layers,
    ..PLAIN
};

/// Marks on cosmetic sides.
pub static COSMETIC: Figure = Figure {
    key: "show_marked_mm2",
    label: "marks on cosmetic sides",
    measured: "Area of the cosmetic sides that the bed, support or coarse steps would mark.",
    means: "That is what will be seen.",
    todo: "Turn these sides up or upright.",
    get: |p| p.figures.show_marked_mm2,
    ..PLAIN
};

/// Printing time.
pub static PRINTING: Figure = Figure {
    key: "print_min",
    with: &["extrude_mm3", "filament_g"],
    label: "time",
    quantity: TIME,
    measured: "Estimate for {walls} of {line} mm, {infill} % infill, {rate} mm³/s and {change} s a layer, without support and heating up.",
    means: "Good for comparing poses, not for a promise.",
    todo: "Set the rate of your machine in wayup.toml.",
    get: |p| Some(p.figures.print_min),
    more: |f| format!(", {} g, {}", three(f.filament_g), volume(f.extrude_mm3)),
    short: "and {filament_g} g",
    ..PLAIN
};

/// Sum of the penalties.
pub static TOTAL: Figure = Figure {
    key: "total",
    label: "total",
    quantity: PENALTY,
    measured: "Sum of the penalties.",
    means: "All of it weighed; the lowest comes first.",
    todo: "Change a weight where something else matters more to you.",
    get: |p| Some(p.total),
    ..PLAIN
};

/// Every figure of a pose, in reading order.
pub static TABLE: [&Figure; 26] = [
    &HEIGHT,
    &FOOTPRINT,
    &CONTACT,
    &TIPPING,
    &OVERHANG,
    &UNSUPPORTED,
    &SELF_SUPPORTING,
    &WIDE,
    &BRIDGED,
    &SUPPORT,
    &MARKS,
    &TRAPPED,
    &BRIDGE,
    &CANTILEVER,
    &ISLANDS,
    &SLENDERNESS,
    &SWAY,
    &STEPS,
    &UNDERSIDE,
    &BORES,
    &SHRINKAGE,
    &WEAKEST,
    &LOAD,
    &COSMETIC,
    &PRINTING,
    &TOTAL,
];

/// Columns of a table of poses, in reading order.
pub static COLUMNS: [&Figure; 8] = [
    &HEIGHT,
    &CONTACT,
    &OVERHANG,
    &SUPPORT,
    &BRIDGE,
    &SLENDERNESS,
    &PRINTING,
    &TOTAL,
];

/// The figure that a row of the penalty table looks at.
pub fn charged(row: Penalty) -> &'static Figure {
    match row {
        Penalty::Contact => &CONTACT,
        Penalty::Overhang => &UNSUPPORTED,
        Penalty::Bridge => &SELF_SUPPORTING,
        Penalty::Wide => &WIDE,
        Penalty::Support => &SUPPORT,
        Penalty::Underside => &UNDERSIDE,
        Penalty::Bores => &BORES,
        Penalty::Trapped => &TRAPPED,
        Penalty::Slender => &SLENDERNESS,
        Penalty::Sway => &SWAY,
        Penalty::Tip => &TIPPING,
        Penalty::Height => &HEIGHT,
        Penalty::Stairs => &STEPS,
        Penalty::Scar => &MARKS,
        Penalty::Time => &PRINTING,
        Penalty::Load => &LOAD,
        Penalty::Show => &COSMETIC,
    }
}

/// Said where nothing speaks against a pose beside another.
pub const EQUAL: &str = "practically equal";

/// The row that speaks most against `pose` in comparison with `other`, as a caption; of
/// rows whose figure is shown as 0, none.
pub fn main_cost(pose: &RankedPose, other: &RankedPose) -> Option<String> {
    let measured = PoseFigures::from(pose);
    (pose.charges.iter().zip(&other.charges))
        .map(|(a, b)| (a.value - b.value, charged(a.penalty)))
        .filter(|(more, figure)| {
            *more > 0.0 && (figure.get)(&measured).is_some_and(|v| figure.counts(&measured, v))
        })
        .max_by(|x, y| x.0.total_cmp(&y.0))
        .and_then(|(_, figure)| figure.caption(&measured))
}

/// The table for the page of the desk, with the settings in force.
pub fn table(settings: &Settings) -> Value {
    // What has no value even here is a figure that not every pose has.
    let nothing = PoseFigures {
        figures: &Figures::default(),
        needs_support: false,
        total: 0.0,
    };
    let rows: Vec<Value> = TABLE
        .iter()
        .map(|f| {
            json!({
                "key": f.key,
                "label": f.label,
                "quantity": f.quantity,
                "better": f.better,
                "with_support": f.shown == Shown::WithSupport,
                "above": if let Shown::Above(least) = f.shown { least } else { 0.0 },
                "part": f.part,
                "optional": (f.get)(&nothing).is_none(),
                "short": f.short,
                "measured": f.measured(settings),
                "means": f.means,
                "todo": f.todo,
            })
        })
        .collect();
    json!({
        "rows": rows,
        "columns": COLUMNS.map(|f| f.key),
        "charged": crate::rank::penalties::ROWS
            .iter()
            .map(|row| (row.name().to_string(), charged(row.penalty).key.into()))
            .collect::<serde_json::Map<_, _>>(),
        "equal": EQUAL,
    })
}

/// `head` and the first few of a list, each after a blank; empty for an empty list.
fn listed<T>(all: &[T], head: &str, one: impl Fn(&T) -> String) -> String {
    if all.is_empty() {
        return String::new();
    }
    let mut text: Vec<String> = all.iter().take(LISTED).map(one).collect();
    if all.len() > LISTED {
        text.push(format!(" and {} more", all.len() - LISTED));
    }
    format!("{head}{}", text.join(";"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::advice::support::NO_SUPPORT_MM3;
    use crate::rank::penalties::ROWS;
    use crate::report::schema;

    fn filled() -> Figures {
        Figures {
            overhang_wide_mm2: 12.0,
            underside_area_mm2: 34.0,
            bores_lying_mm2: 56.0,
            support_needed_mm3: 0.231,
            load_across_layers: Some(0.5),
            show_marked_mm2: Some(7.0),
            ..Figures::default()
        }
    }

    #[test]
    fn every_penalty_row_has_its_caption() {
        let figures = filled();
        let pose = PoseFigures {
            figures: &figures,
            needs_support: false,
            total: 0.0,
        };
        for row in ROWS {
            assert!(
                charged(row.penalty).caption(&pose).is_some(),
                "{}",
                row.name()
            );
        }
        for (row, says) in [
            (Penalty::Wide, "bridges past the limit 12 mm²"),
            (Penalty::Underside, "down-facing surface 34 mm²"),
            (Penalty::Bores, "walls of horizontal bores 56 mm²"),
        ] {
            let caption = charged(row).caption(&pose);
            assert_eq!(caption.as_deref(), Some(says));
        }
    }

    #[test]
    fn support_that_is_none_is_shown_as_none() {
        let figures = filled();
        assert!(figures.support_needed_mm3 < NO_SUPPORT_MM3);
        let pose = PoseFigures {
            figures: &figures,
            needs_support: false,
            total: 0.0,
        };
        assert_eq!(SUPPORT.caption(&pose).as_deref(), Some("support 0 mm³"));
    }

    #[test]
    fn the_table_has_one_figure_a_key_and_each_is_in_the_schema() {
        let document = schema::document();
        let properties = &document["$defs"]["Figures"]["properties"];
        let mut keys: Vec<&str> = TABLE.iter().map(|f| f.key).collect();
        for figure in TABLE {
            for text in [figure.label, figure.measured, figure.means, figure.todo] {
                assert!(!text.is_empty(), "{}", figure.key);
            }
            assert!(!figure.measured(&Settings::default()).contains('{'));
            if figure.key != TOTAL.key {
                let says = properties[figure.key]["description"].as_str();
                let says = says.unwrap_or_else(|| panic!("{} is no figure", figure.key));
                assert!(says.to_lowercase().starts_with(figure.label), "{says}");
            }
        }
        keys.sort_unstable();
        keys.dedup();
        assert_eq!(keys.len(), TABLE.len());
    }
}
