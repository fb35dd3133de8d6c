//! The table of figures: what each is called, how it is written, what was measured, what
//! it means and what to do. Tables, pages, drawings, columns, schema and desk read it.

use super::quantity::Notation;
use crate::advice::RankedPose;
use crate::advice::support::SHUT_MM3;
use crate::figures::Figures;
use crate::figures::deposit::SUPPORT_INFILL;
use crate::materials::AMBIENT_C;
use crate::settings::Settings;
use crate::settings::weights::Penalty;
use crate::tables::rows;
use crate::words::{area, count, decimal, degrees, estimate, length, mass, named, three, volume};
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};
use std::sync::LazyLock;

/// Bridges and islands that are listed before the rest is summed up.
const LISTED: usize = 6;

/// Which of two values is the better one.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Better {
    /// The lower.
    #[default]
    Lower,
    /// The higher.
    Higher,
    /// Neither.
    Neither,
}

/// When a value is shown as measured, rather than as 0.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Shown {
    /// Always.
    #[default]
    Always,
    /// Above the volume of a void that common practice takes for none ([`SHUT_MM3`]).
    AboveShut,
    /// Where the pose needs support
    /// ([`needs_support`](crate::advice::support::needs_support)).
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

named! {
    /// Which figure it is, in reading order.
    FigureKey:
    /// Extent along Z.
    Height "height_mm",
    /// Extents along X and Y.
    Footprint "footprint_mm",
    /// What touches the bed.
    Contact "contact_area_mm2",
    /// How far it can be tilted.
    Tipping "tip_angle_deg",
    /// Surface past the limit.
    Overhang "overhang_area_mm2",
    /// The overhang that counts in full.
    Unsupported "overhang_charged_mm2",
    /// The overhang that prints by itself.
    SelfSupporting "overhang_light_mm2",
    /// Spans of up to twice the limit.
    Wide "overhang_wide_mm2",
    /// What bridges carry.
    Bridged "ceiling_carried_mm2",
    /// Support that would be printed.
    Support "support_needed_mm3",
    /// Marks of support.
    Marks "support_marks_mm2",
    /// Support that stays in.
    Trapped "support_trapped_mm3",
    /// The longest bridge.
    Bridge "bridge_longest_mm",
    /// The longest cantilever.
    Cantilever "cantilever_longest_mm",
    /// Pieces that start on nothing.
    Islands "islands",
    /// Height over width.
    Slenderness "slender_ratio",
    /// Deflection of the softest tip.
    Sway "sway_mm_per_n",
    /// Cusp height.
    Steps "layer_steps_mean_um",
    /// Surface that looks down.
    Underside "underside_area_mm2",
    /// Bores that are not upright.
    Bores "bores_lying_mm2",
    /// Contraction of the base.
    Shrinkage "base_shrinkage_mm",
    /// The smallest section.
    Weakest "weakest_section_mm2",
    /// Load across the layers.
    Load "load_across_layers",
    /// Marks on cosmetic sides.
    Cosmetic "show_marked_mm2",
    /// Bores that must come out round and do not stand upright.
    Round "round_missed",
    /// Sides that must come out flat and do not lie on the bed.
    Flat "flat_missed",
    /// Printing time.
    Printing "print_min",
    /// Sum of the penalties.
    Total "total",
}

/// One figure: a row of `figures.toml`.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Figure {
    /// Key in the JSON.
    pub key: FigureKey,
    /// Other keys that are shown with it.
    #[serde(default)]
    pub with: Vec<String>,
    /// What it is called.
    pub label: String,
    /// What the word means, in a few words, for those who read it for the first time.
    #[serde(default)]
    pub term: Option<String>,
    /// Kind of number.
    #[serde(deserialize_with = "Notation::of_name")]
    pub quantity: &'static Notation,
    /// Which way is better.
    #[serde(default)]
    pub better: Better,
    /// When it is shown as measured.
    #[serde(default)]
    pub shown: Shown,
    /// The key of a figure that is added where support is on.
    #[serde(default)]
    pub plus: String,
    /// A part of another figure: told only where it is not 0.
    #[serde(default)]
    pub part: bool,
    /// What was measured, with the [names of settings](Figure::measured) in braces.
    pub measured: String,
    /// What it means.
    pub means: String,
    /// What to do about it.
    pub todo: String,
    /// What follows it where there is room for a few words only. The page of the desk puts in
    /// the figures whose keys stand in braces; `{layers:layer|layers}` is a count with its noun.
    #[serde(default)]
    short: String,
    /// The same where support is on, if that differs.
    #[serde(default)]
    short_with_support: String,
    /// What follows it in a list of all figures, written the same way.
    #[serde(default)]
    more: String,
    /// The same where support is on, if that differs.
    #[serde(default)]
    more_with_support: String,
    /// Behind that: the key of a list, and what is said of each of its entries.
    each: Option<[String; 2]>,
    /// The row of the penalty table that looks at it.
    penalty: Option<Penalty>,
    /// What that row is called, where the label alone would sound like praise.
    #[serde(default)]
    as_penalty: String,
}

impl Figure {
    /// The value as measured.
    fn get(&self, pose: &PoseFigures) -> Option<f64> {
        let f = pose.figures;
        Some(match self.key {
            FigureKey::Height => f.height_mm,
            FigureKey::Footprint => return None,
            FigureKey::Contact => f.contact_area_mm2,
            FigureKey::Tipping => f.tip_angle_deg,
            FigureKey::Overhang => f.overhang_area_mm2,
            FigureKey::Unsupported => f.overhang_charged_mm2,
            FigureKey::SelfSupporting => f.overhang_light_mm2,
            FigureKey::Wide => f.overhang_wide_mm2,
            FigureKey::Bridged => f.ceiling_carried_mm2,
            FigureKey::Support => f.support_needed_mm3,
            FigureKey::Marks => f.support_marks_mm2.below + f.support_marks_mm2.above,
            FigureKey::Trapped => f.support_trapped_mm3,
            FigureKey::Bridge => f.bridge_longest_mm,
            FigureKey::Cantilever => f.cantilever_longest_mm,
            FigureKey::Islands => f.islands.len() as f64,
            FigureKey::Slenderness => f.slender_ratio,
            FigureKey::Sway => f.sway_mm_per_n,
            FigureKey::Steps => f.layer_steps_mean_um,
            FigureKey::Underside => f.underside_area_mm2,
            FigureKey::Bores => f.bores_lying_mm2,
            FigureKey::Shrinkage => f.base_shrinkage_mm,
            FigureKey::Weakest => f.weakest_section_mm2,
            FigureKey::Load => f.load_across_layers?,
            FigureKey::Round => f64::from(f.round_missed?),
            FigureKey::Flat => f64::from(f.flat_missed?),
            FigureKey::Cosmetic => f.show_marked_mm2?,
            FigureKey::Printing if pose.needs_support => f.print_min + f.support_min,
            FigureKey::Printing => f.print_min,
            FigureKey::Total => pose.total,
        })
    }

    /// What follows the number in a list of all figures.
    fn more(&self, pose: &PoseFigures) -> String {
        let all = json!(pose.figures);
        let more = if pose.needs_support && !self.more_with_support.is_empty() {
            &self.more_with_support
        } else {
            &self.more
        };
        let mut text = filled(more, &all).unwrap_or_default();
        if let Some([key, says]) = &self.each {
            let list = all[key].as_array().map_or(&[][..], Vec::as_slice);
            if list.is_empty() {
                return String::new();
            }
            // The longest bridge is the one that the figure tells of, so it is listed first.
            let mut list: Vec<&Value> = list.iter().collect();
            let span = |one: &Value| one["span_mm"].as_f64().unwrap_or_default();
            list.sort_by(|a, b| span(b).total_cmp(&span(a)));
            let first = list.iter().copied().take(LISTED);
            let mut said: Vec<String> = first.filter_map(|one| filled(says, one)).collect();
            if list.len() > LISTED {
                said.push(format!(" and {} more", list.len() - LISTED));
            }
            text += &said.join(";");
        }
        text
    }

    /// The value that is shown; `None` where the pose has none.
    pub fn value(&self, pose: &PoseFigures) -> Option<f64> {
        let value = self.get(pose)?;
        Some(if self.counts(pose, value) { value } else { 0.0 })
    }

    /// Whether a value is shown as measured, rather than as 0.
    fn counts(&self, pose: &PoseFigures, value: f64) -> bool {
        match self.shown {
            Shown::Always => true,
            Shown::AboveShut => value > SHUT_MM3,
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
        let more = self.more(pose);
        match value {
            // Nothing, and nothing else to say of it: one 0 is enough.
            Some(v) if v == 0.0 && !more.contains(|c| ('1'..='9').contains(&c)) => {
                Some(self.quantity.say(v))
            }
            Some(v) => Some(format!("{}{more}", self.quantity.say(v))),
            None if self.part || more.is_empty() => None,
            None => Some(more),
        }
    }

    /// What was measured, with the settings in force.
    pub fn measured(&self, s: &Settings) -> String {
        let bed = [s.bed_mm[0], s.bed_mm[1]].map(|mm| decimal(mm, 1));
        [
            ("{touch}", length(s.touch_mm())),
            ("{lean}", decimal(s.overhang_lean_rad().to_degrees(), 1)),
            ("{limit}", decimal(s.limit_deg, 1)),
            ("{bed}", bed.join(" × ") + " mm"),
            ("{bridge}", length(s.bridge_limit_mm)),
            ("{twice}", length(2.0 * s.bridge_limit_mm)),
            ("{material}", s.material.name.clone()),
            ("{modulus}", decimal(s.material.e_mpa, 0)),
            ("{stiffens}", decimal(s.material.stiffens_c, 0)),
            ("{ambient}", decimal(AMBIENT_C, 0)),
            ("{expansion}", decimal(s.material.alpha_e6_per_k, 0)),
            ("{walls}", count(s.walls as usize, "wall", "walls")),
            ("{line}", decimal(s.line_mm, 2)),
            ("{infill}", decimal(s.infill * 100.0, 0)),
            ("{rate}", decimal(s.rate_mm3_s, 1)),
            ("{change}", decimal(s.layer_change_s, 1)),
            ("{sparse}", decimal(SUPPORT_INFILL * 100.0, 0)),
        ]
        .iter()
        .fold(self.measured.clone(), |text, (name, value)| {
            text.replace(name, value)
        })
    }
}

/// Every figure of a pose, in the order of their keys. The file is part of the program, and
/// a test reads it: it cannot fail to be a table.
pub static TABLE: LazyLock<Vec<Figure>> = LazyLock::new(|| rows(include_str!("figures.toml")));

/// The row of a figure.
pub fn figure(key: FigureKey) -> &'static Figure {
    &TABLE[key as usize]
}

/// Columns of a table of poses, in reading order.
pub const COLUMNS: [FigureKey; 8] = [
    FigureKey::Total,
    FigureKey::Height,
    FigureKey::Contact,
    FigureKey::Overhang,
    FigureKey::Support,
    FigureKey::Bridge,
    FigureKey::Slenderness,
    FigureKey::Printing,
];

/// The figure that a row of the penalty table looks at.
pub fn charged(row: Penalty) -> &'static Figure {
    let of_row = TABLE.iter().find(|f| f.penalty == Some(row));
    of_row.unwrap_or_else(|| figure(FigureKey::Total))
}

/// What a row of the penalty table is called in words.
pub fn penalty_label(row: Penalty) -> &'static str {
    let figure = charged(row);
    if figure.as_penalty.is_empty() {
        &figure.label
    } else {
        &figure.as_penalty
    }
}

/// Said where nothing speaks against a pose beside another.
pub const EQUAL: &str = "practically equal";

/// The row that speaks most against `pose` in comparison with `other`, as a caption; of
/// rows whose figure is shown as 0, none.
pub fn main_cost(pose: &RankedPose, other: &RankedPose) -> Option<String> {
    let [measured, beside] = [pose, other].map(PoseFigures::from);
    // A figure that reads the same in both poses tells nobody why.
    let apart = |f: &Figure| f.caption(&measured) != f.caption(&beside);
    (pose.charges.iter().zip(&other.charges))
        .map(|(a, b)| (a.value - b.value, charged(a.penalty)))
        .filter(|(more, figure)| {
            *more > 0.0
                && figure
                    .get(&measured)
                    .is_some_and(|v| figure.counts(&measured, v))
                && apart(figure)
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
                "key": f.key.name(),
                "label": f.label,
                "quantity": f.quantity,
                "better": f.better,
                "with_support": f.shown == Shown::WithSupport,
                "above": if f.shown == Shown::AboveShut { SHUT_MM3 } else { 0.0 },
                "part": f.part,
                "optional": f.get(&nothing).is_none(),
                "plus": f.plus,
                "short": f.short,
                "short_with_support": f.short_with_support,
                "measured": f.measured(settings),
                "means": f.means,
                "todo": f.todo,
            })
        })
        .collect();
    json!({
        "rows": rows,
        "columns": COLUMNS.map(FigureKey::name),
        "charged": crate::rank::penalties::ROWS
            .iter()
            .map(|row| (row.name().to_string(), charged(row.penalty).key.name().into()))
            .collect::<serde_json::Map<_, _>>(),
        "penalties": crate::rank::penalties::ROWS
            .iter()
            .map(|row| (row.name().to_string(), penalty_label(row.penalty).into()))
            .collect::<serde_json::Map<_, _>>(),
        "formulas": crate::rank::penalties::ROWS
            .iter()
            .map(|row| (row.name().to_string(), row.formula.as_str().into()))
            .collect::<serde_json::Map<_, _>>(),
        "equal": EQUAL,
    })
}

/// A text with what stands in an object at the paths in its braces, a list as its length;
/// none where there is nothing at one of them.
fn filled(text: &str, all: &Value) -> Option<String> {
    let mut pieces = text.split(['{', '}']);
    let mut out = pieces.next()?.to_string();
    while let (Some(name), Some(text)) = (pieces.next(), pieces.next()) {
        let (path, nouns) = name.split_once(':').unwrap_or((name, ""));
        let found = all.pointer(&format!("/{}", path.replace('.', "/")))?;
        let length = found.as_array().map(|list| list.len() as f64);
        // A number that is not finite is null.
        let value = length.or(found.as_f64()).unwrap_or(f64::NAN);
        out += &match nouns.split_once('|') {
            Some((one, many)) => count(value as usize, one, many),
            None => in_unit(path, value),
        };
        out += text;
    }
    Some(out)
}

/// A value with the unit that its key names.
fn in_unit(path: &str, value: f64) -> String {
    let unit = |piece| match piece {
        "mm" => Some(length(value)),
        "mm2" => Some(area(value)),
        "mm3" => Some(volume(value)),
        "deg" => Some(degrees(value)),
        "min" => Some(estimate(value)),
        "g" => Some(mass(value)),
        _ => None,
    };
    let said = path.rsplit(['_', '.']).find_map(unit);
    said.unwrap_or_else(|| three(value))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::advice::advise;
    use crate::advice::support::NO_SUPPORT_MM3;
    use crate::rank::penalties::ROWS;
    use crate::rank::search::{Silent, Wanted};
    use crate::report::draw::fixture::{bench, cuboid};
    use crate::report::schema;

    fn filled() -> Figures {
        Figures {
            overhang_wide_mm2: 12.0,
            underside_area_mm2: 34.0,
            bores_lying_mm2: 56.0,
            support_needed_mm3: 0.231,
            load_across_layers: Some(0.5),
            round_missed: Some(1),
            flat_missed: Some(1),
            show_marked_mm2: Some(7.0),
            ..Figures::default()
        }
    }

    /// The list ends after six: the longest must not be among those left out.
    #[test]
    fn the_longest_bridge_is_listed_first_with_its_own_height() {
        let bridge = |z_mm: f64, span_mm: f64| crate::figures::Bridge {
            z_mm,
            span_mm,
            area_mm2: 10.0,
            ..crate::figures::Bridge::default()
        };
        let mut bridges: Vec<_> = (1..9).map(|k| bridge(f64::from(k), 3.0)).collect();
        bridges.push(bridge(11.8, 21.6));
        let figures = Figures {
            bridges,
            bridge_longest_mm: 21.6,
            ..Figures::default()
        };
        let pose = PoseFigures {
            figures: &figures,
            needs_support: false,
            total: 0.0,
        };
        let all = figure(FigureKey::Bridge).all(&pose).expect("a value");
        assert!(
            all.starts_with("21.6 mm, the longest of 9: 21.6 mm of 10 mm² at z = 11.8 mm"),
            "{all}"
        );
    }

    #[test]
    fn every_penalty_row_has_its_caption() {
        let figures = filled();
        let pose = PoseFigures {
            figures: &figures,
            needs_support: false,
            total: 0.0,
        };
        for row in ROWS.iter() {
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
        assert_eq!(
            figure(FigureKey::Support).caption(&pose).as_deref(),
            Some("support 0 mm³")
        );
    }

    /// A difference that nobody can read off the numbers is no reason against a pose.
    #[test]
    fn what_reads_the_same_is_no_cost() {
        let part = cuboid(10.0, 20.0, 60.0);
        let settings = Settings::default();
        let bench = bench(&part, &settings);
        let advice = advise(&bench, &Wanted::first(2), &Silent).expect("not stopped");
        let (first, second) = (&advice.poses[0], &advice.poses[1]);
        assert!(main_cost(second, first).is_some());
        let mut twin = first.clone();
        twin.charges[0].value += 0.001;
        assert_eq!(main_cost(&twin, first), None);
    }

    /// The time that is shown holds the support where it is on, and says how much of it.
    #[test]
    fn time_and_mass_include_the_support_that_is_on() {
        let figures = Figures {
            print_min: 90.0,
            filament_g: 20.0,
            extrude_mm3: 16_100.0,
            support_min: 12.0,
            support_g: 4.5,
            ..Figures::default()
        };
        let said = |needs_support| {
            let pose = PoseFigures {
                figures: &figures,
                needs_support,
                total: 0.0,
            };
            figure(FigureKey::Printing).all(&pose).expect("a time")
        };
        assert_eq!(said(false), "1 h 30 min, 20 g, 16.1 cm³");
        assert_eq!(
            said(true),
            "1 h 42 min (of which 12 min of support), 20 g and 4.5 g of support, 16.1 cm³ without it"
        );
        let measured = figure(FigureKey::Printing).measured(&Settings::default());
        assert!(
            measured.ends_with("with support at 15 % infill where it is on, without warm-up."),
            "{measured}"
        );
    }

    #[test]
    fn the_file_has_a_row_for_each_key_and_each_is_in_the_schema() {
        let keys: Vec<FigureKey> = TABLE.iter().map(|f| f.key).collect();
        assert_eq!(keys, FigureKey::ALL);
        let document = schema::document();
        let properties = &document["$defs"]["Figures"]["properties"];
        for figure in TABLE.iter() {
            let key = figure.key.name();
            for text in [&figure.label, &figure.measured, &figure.means, &figure.todo] {
                assert!(!text.is_empty(), "{key}");
            }
            assert!(!figure.measured(&Settings::default()).contains('{'));
            for with in &figure.with {
                assert!(properties[with].is_object(), "{key} with {with}");
            }
            // A name in braces is a key of the JSON, perhaps with a path or a noun behind it.
            let with = [&figure.short_with_support, &figure.more_with_support];
            for text in [&figure.short, &figure.more].into_iter().chain(with) {
                for name in text.split('{').skip(1) {
                    let end = name.find(['.', ':', '}']).expect("a closing brace");
                    assert!(properties[&name[..end]].is_object(), "{key}: {name}");
                }
            }
            if let Some([list, says]) = &figure.each {
                let entry = properties[list]["items"]["$ref"].as_str().expect("a list");
                let entry = document.pointer(&entry[1..]).expect("a definition");
                for name in says.split('{').skip(1) {
                    let end = name.find('}').expect("a closing brace");
                    assert!(
                        entry["properties"][&name[..end]].is_object(),
                        "{key}: {name}"
                    );
                }
            }
            if figure.key != FigureKey::Total {
                let says = properties[key]["description"].as_str();
                let says = says.unwrap_or_else(|| panic!("{key} is no figure"));
                assert!(says.to_lowercase().starts_with(&figure.label), "{says}");
            }
        }
    }

    #[test]
    fn each_row_of_the_penalty_table_looks_at_one_figure() {
        for row in Penalty::ALL {
            let count = TABLE.iter().filter(|f| f.penalty == Some(row)).count();
            assert_eq!(count, 1, "{}", row.name());
        }
    }
}
