//! All figures of one pose, a line each: value, what was measured, what it means.

use super::json::PartFacts;
use super::layout::{Look, left, list, printable, wrap};
use super::table::gate_in_words;
use crate::advice::RankedPose;
use crate::figures::Figures;
use crate::gauge::readings::Found;
use crate::materials::AMBIENT_C;
use crate::settings::Settings;
use crate::words::{
    area, count, decimal, degrees, duration, length, side_down, three, vector, volume,
};

/// Columns of the label.
const LABEL: usize = 18;

/// Single bridges and floating starts that are listed before the rest is summed up.
const LISTED: usize = 6;

/// One figure as it is shown.
struct Row {
    label: &'static str,
    /// JSON keys it shows.
    keys: &'static [&'static str],
    value: String,
    /// What was measured and what it means.
    meaning: String,
}

/// The figures of one pose with a line of meaning each.
pub fn text(
    part: &PartFacts,
    pose: &RankedPose,
    found: Option<&Found>,
    settings: &Settings,
    look: Look,
) -> String {
    let width = look.text_width();
    let mut head = format!(
        "{}: {} {}, axes {}",
        printable(&part.path),
        side_down(&pose.pose.down),
        vector(&pose.pose.down),
        pose.axes
    );
    for gate in &pose.gates {
        head.push_str("; ");
        head.push_str(gate_in_words(gate));
    }
    head.push('.');
    let mut out = wrap(&head, width, "", "");
    out.push('\n');
    if let Some(found) = found {
        list(&mut out, look, "What the calliper found", &readings(found));
        out.push('\n');
    }
    for row in rows(&pose.figures, settings) {
        let doubt = row
            .keys
            .iter()
            .any(|k| pose.figures.doubtful.iter().any(|d| d == k));
        let value = if doubt {
            format!("{} (doubtful, the surface has defects)", row.value)
        } else {
            row.value
        };
        out.push_str(
            &wrap(&value, width, &left(row.label, LABEL), &" ".repeat(LABEL)).replacen(
                row.label,
                &look.bold(row.label),
                1,
            ),
        );
        out.push_str(&wrap(&row.meaning, width, "    ", "    "));
    }
    let charges: Vec<String> = pose
        .charges
        .iter()
        .filter(|c| c.value != 0.0)
        .map(|c| format!("{}: {}", c.name, three(c.value)))
        .collect();
    list(
        &mut out,
        look,
        &format!("Penalties, together {}", three(pose.total)),
        &charges,
    );
    list(
        &mut out,
        look,
        "What speaks for it and against it",
        &pose.reasons,
    );
    let machine: Vec<String> = pose.precautions.iter().map(|n| n.says.clone()).collect();
    list(&mut out, look, "On the machine", &machine);
    list(
        &mut out,
        look,
        "What keeps this pose from being good",
        &pose.faults,
    );
    let design: Vec<String> = pose.design.iter().map(|r| r.says.clone()).collect();
    list(
        &mut out,
        look,
        "What change of the part would help",
        &design,
    );
    list(&mut out, look, "What the calliper should read", &card(pose));
    list(&mut out, look, "About the file", &part.notes);
    out
}

/// The measuring card, a line a reading.
fn card(pose: &RankedPose) -> Vec<String> {
    let tolerance = |mm: f64| format!(" (± {})", decimal(mm, 2));
    pose.card
        .lines
        .iter()
        .map(|l| format!("{}{}", l.says, tolerance(l.tolerance_mm)))
        .chain(pose.card.notes.iter().cloned())
        .collect()
}

/// Readings against the part, then what they mean.
fn readings(found: &Found) -> Vec<String> {
    let mut out: Vec<String> = (0..3)
        .map(|i| {
            format!(
                "{}: read {}, should be {}: {} mm, {} %",
                ["X", "Y", "Z"][i],
                decimal(found.read_mm[i], 2),
                length(found.nominal_mm[i]),
                signed(found.difference_mm[i]),
                signed(found.difference_percent[i])
            )
        })
        .collect();
    out.extend(found.says.iter().cloned());
    out
}

/// Two decimals with a sign.
fn signed(value: f64) -> String {
    let text = decimal(value, 2);
    if value > 0.0 && text != "0" {
        format!("+{text}")
    } else {
        text
    }
}

fn rows(f: &Figures, s: &Settings) -> Vec<Row> {
    let mut rows = size_and_stance(f, s);
    rows.extend(overhang_and_support(f, s));
    rows.extend(free_features(f, s));
    rows.extend(finish_and_strength(f, s));
    rows
}

fn size_and_stance(f: &Figures, s: &Settings) -> Vec<Row> {
    let [x, y] = f.footprint_mm;
    vec![
        Row {
            label: "height",
            keys: &["height_mm", "layers"],
            value: format!(
                "{} in {}",
                length(f.height_mm),
                count(f.layers as usize, "layer", "layers")
            ),
            meaning:
                "From the bed to the highest point. Every layer takes time and is one more joint."
                    .into(),
        },
        Row {
            label: "footprint",
            keys: &["footprint_mm"],
            value: format!("{} × {}", length(x), length(y)),
            meaning: format!(
                "Smallest rectangle around the plan, long side along X. The bed offers {} × {} mm.",
                decimal(s.bed_mm[0], 1),
                decimal(s.bed_mm[1], 1)
            ),
        },
        Row {
            label: "contact",
            keys: &["contact_area_mm2", "contact_patches"],
            value: format!(
                "{} in {}",
                area(f.contact_area_mm2),
                count(f.contact_patches as usize, "patch", "patches")
            ),
            meaning: format!(
                "Section {} above the bed, half the first layer. It is all that holds the part down.",
                length(s.touch_mm())
            ),
        },
        Row {
            label: "tip angle",
            keys: &["tip_angle_deg"],
            value: degrees(f.tip_angle_deg),
            meaning: if f.tip_angle_deg < 0.0 {
                "The centroid lies outside the base: the part falls over by itself.".into()
            } else {
                "Smallest tilt that carries the centroid over an edge of the base. The smaller, the less of a knock topples it.".into()
            },
        },
    ]
}

fn overhang_and_support(f: &Figures, s: &Settings) -> Vec<Row> {
    let sc = f.support_scar_mm2;
    vec![
        Row {
            label: "overhang",
            keys: &["overhang_area_mm2", "overhang_after_bridges_mm2", "overhang_light_mm2", "overhang_wide_mm2", "overhang_charged_mm2"],
            value: format!(
                "{}, after bridges {}; {} prints without support as a rule, {} with a sag",
                area(f.overhang_area_mm2),
                area(f.overhang_after_bridges_mm2),
                area(f.overhang_light_mm2),
                area(f.overhang_wide_mm2)
            ),
            meaning: format!(
                "Surface that leans more than {}° from the vertical (the limit of {}° and a margin). It sags or needs something under it.",
                decimal(s.overhang_lean_rad().to_degrees(), 1),
                decimal(s.limit_deg, 1)
            ),
        },
        Row {
            label: "support",
            keys: &["support_volume_mm3", "support_after_bridges_mm3", "support_needed_mm3", "support_wide_mm3", "support_error_mm3", "support_cell_mm"],
            value: format!(
                "{}, after bridges {}, after small roofs and ledges {}; ± {} at columns of {}",
                volume(f.support_volume_mm3),
                volume(f.support_after_bridges_mm3),
                volume(f.support_needed_mm3),
                volume(f.support_error_mm3),
                length(f.support_cell_mm)
            ),
            meaning: "Empty room under overhang, down to the next surface or the bed. To be filled, paid for and broken away.".into(),
        },
        Row {
            label: "support marks",
            keys: &["support_scar_mm2", "support_scar_error_mm2"],
            value: format!(
                "{} ± {} under it, {} above it",
                area(sc.below),
                area(f.support_scar_error_mm2),
                area(sc.above)
            ),
            meaning: "Where support stands on the part instead of the bed, and overhang that it touches. Both come out rough.".into(),
        },
        Row {
            label: "trapped support",
            keys: &["support_trapped_mm3"],
            value: volume(f.support_trapped_mm3),
            meaning: "Support in a void that nothing joins to the outside. It stays in for good.".into(),
        },
        Row {
            label: "bridges",
            keys: &["bridges", "bridge_longest_mm"],
            value: bridges(f),
            meaning: format!("Ceilings printed in the air between two held ends. Up to {} they need nothing below.", length(s.bridge_limit_mm)),
        },
    ]
}

fn bridges(f: &Figures) -> String {
    if f.bridges.is_empty() {
        return "none".into();
    }
    let mut text = format!(
        "{}, longest {}:",
        f.bridges.len(),
        length(f.bridge_longest_mm)
    );
    for b in f.bridges.iter().take(LISTED) {
        text.push_str(&format!(
            " {} of {} at z = {}, {} from X;",
            length(b.span_mm),
            area(b.area_mm2),
            length(b.z_mm),
            degrees(b.direction_deg)
        ));
    }
    more(&mut text, f.bridges.len());
    text
}

/// Ends a list of which only the first few were shown.
fn more(text: &mut String, all: usize) {
    if text.ends_with(';') {
        text.pop();
    }
    if all > LISTED {
        text.push_str(&format!("; and {} more", all - LISTED));
    }
}

fn free_features(f: &Figures, s: &Settings) -> Vec<Row> {
    let starts = if f.floating_starts.is_empty() {
        "none".to_string()
    } else {
        let mut text = format!("{}:", f.floating_starts.len());
        for start in f.floating_starts.iter().take(LISTED) {
            text.push_str(&format!(
                " {} at z = {};",
                area(start.area_mm2),
                length(start.z_mm)
            ));
        }
        more(&mut text, f.floating_starts.len());
        text
    };
    let slender = f.slender.map_or_else(
        || "none".to_string(),
        |t| {
            format!(
                "{} to 1: from z = {} to {}, {} wide",
                decimal(f.slender_ratio, 1),
                length(t.from_mm),
                length(t.to_mm),
                length(t.width_mm)
            )
        },
    );
    vec![
        Row {
            label: "longest ledge",
            keys: &["ledge_longest_mm"],
            value: length(f.ledge_longest_mm),
            meaning: "Reach of a piece that is held on one side only. It droops at its free end.".into(),
        },
        Row {
            label: "floating starts",
            keys: &["floating_starts"],
            value: starts,
            meaning: "Pieces of a layer that begin on nothing at all. Each one needs support or is lost.".into(),
        },
        Row {
            label: "slenderness",
            keys: &["slender_ratio", "slender"],
            value: slender,
            meaning: "Height over width of the slimmest stretch that stands free while it is printed. The higher, the wavier its top.".into(),
        },
        Row {
            label: "sway",
            keys: &["sway_mm_per_n"],
            value: format!("{} mm per newton", three(f.sway_mm_per_n)),
            meaning: format!("How far a push of 1 N moves the softest free tip sideways, in {} with a modulus of {} MPa.", s.material.name, decimal(s.material.e_mpa, 0)),
        },
    ]
}

fn finish_and_strength(f: &Figures, s: &Settings) -> Vec<Row> {
    let mut rows = vec![
        Row {
            label: "stair steps",
            keys: &["stair_mean_um"],
            value: format!("{} µm", three(f.stair_mean_um)),
            meaning: "Mean cusp height between layers over all surface that is not level. The lower, the smoother.".into(),
        },
        Row {
            label: "shrink pull",
            keys: &["shrink_pull_mm"],
            value: length(f.shrink_pull_mm),
            meaning: format!(
                "Free contraction of {} across the longest chord of the base on cooling from {} to {} °C at {} × 10⁻⁶/K. It is what lifts corners.",
                s.material.name,
                decimal(s.material.stiffens_c, 0),
                decimal(AMBIENT_C, 0),
                decimal(s.material.alpha_e6_per_k, 0)
            ),
        },
        Row {
            label: "weakest section",
            keys: &["weakest_section_mm2", "weakest_section_z_mm"],
            value: format!("{} at z = {}", area(f.weakest_section_mm2), length(f.weakest_section_z_mm)),
            meaning: "Smallest section with material above it. Layers part there first.".into(),
        },
    ];
    if let Some(share) = f.load_across_layers {
        rows.push(Row {
            label: "load on layers",
            keys: &["load_across_layers"],
            value: format!("{} %", decimal(share * 100.0, 0)),
            meaning: "Share of the pull that acts square to the layers, cos² of its angle to Z. Layers are weakest that way.".into(),
        });
    }
    rows.push(Row {
        label: "deposit",
        keys: &["extrude_mm3", "print_min", "filament_g"],
        value: format!("{}, {} g, {}", volume(f.extrude_mm3), three(f.filament_g), duration(f.print_min)),
        meaning: format!(
            "Estimate for {} of {} mm, {} % infill, {} mm³/s and {} s a layer; without support and heating up.",
            count(s.walls as usize, "wall", "walls"),
            decimal(s.line_mm, 2),
            decimal(s.infill * 100.0, 0),
            decimal(s.rate_mm3_s, 1),
            decimal(s.layer_change_s, 1)
        ),
    });
    rows
}
