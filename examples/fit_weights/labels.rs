//! The labelled parts, and what the program makes of each.

use super::even::Even;
use nalgebra::{Point3, Unit, UnitQuaternion, Vector3};
use serde::{Deserialize, Serialize};
use std::path::Path;
use std::time::Instant;
use wayup::advice::purposes::purposes;
use wayup::advice::share::{Sure, are_twins};
use wayup::figures::quick::Bench;
use wayup::mesh::{Part, ReadOptions, read_path};
use wayup::pose::symmetry::Symmetry;
use wayup::pose::{Hull, standing};
use wayup::rank::penalties::ROWS;
use wayup::rank::search::{JUDGED, Scored, Search, Silent, Wanted};
use wayup::rank::{Confidence, Origin};
use wayup::settings::Settings;

/// A direction within this of a chosen one is that one, degrees.
const SAME_DEG: f64 = 5.0;
/// Entries to be ranked, so that the fit has something to choose from.
const ENTRIES: usize = 8;

/// A row of the table of labels.
#[derive(Deserialize)]
pub struct Label {
    /// Path from the root of the repository.
    pub file: String,
    /// Length of one unit of the file, mm; what the file says, without.
    mm: Option<f64>,
    /// Directions chosen, file frame.
    down: Vec<[f64; 3]>,
}

#[derive(Deserialize)]
struct Table {
    part: Vec<Label>,
}

/// Reads the table.
pub fn read(path: &Path) -> Result<Vec<Label>, Box<dyn std::error::Error>> {
    Ok(toml::from_str::<Table>(&std::fs::read_to_string(path)?)?.part)
}

/// One measured pose: scales of the penalty rows, before the weights.
#[derive(Clone, Serialize, Deserialize)]
pub struct Choice {
    pub down: [f64; 3],
    pub chosen: bool,
    pub gated: bool,
    pub scales: Vec<f64>,
}

/// What the share of a part's first pose rests on.
#[derive(Clone, Default, Serialize, Deserialize)]
pub struct Contest {
    /// Totals of the poses that makers choose among, best first; of those that are practically
    /// equal one.
    pub totals: Vec<f64>,
    /// Whether each, or one that is practically equal to it, was chosen.
    pub chosen: Vec<bool>,
    /// Total of the chosen pose where it is none of them.
    pub outsider: Option<f64>,
    /// Bounds of what was left unmeasured.
    pub left: Vec<f64>,
}

/// One part with its measured poses.
#[derive(Clone, Serialize, Deserialize)]
pub struct Case {
    pub file: String,
    pub choices: Vec<Choice>,
    /// Place of the first chosen direction in the program's own list.
    pub program: Option<usize>,
    /// The same by the two-term rule over the facets of the hull.
    pub two_term: Option<usize>,
    /// Index into clear, close, tied.
    pub confidence: usize,
    /// Surface, mm².
    pub surface_mm2: f64,
    /// Shares rest on it; none where no pose can be printed.
    pub contest: Option<Contest>,
    /// What would put another pose first.
    #[serde(default)]
    pub asks: Asks,
}

/// The purposes told of a part.
#[derive(Clone, Default, Serialize, Deserialize)]
pub struct Asks {
    /// Each in words.
    pub says: Vec<String>,
    /// The first that puts a chosen pose first.
    pub chosen: Option<usize>,
    /// Seconds that reading the shape, the search and the judgement took.
    pub search_s: f64,
    /// Seconds that the purposes took beyond it.
    pub seconds: f64,
}

/// Totals of a pose with each weight of the table times a factor.
pub fn total(choice: &Choice, factors: &[f64]) -> f64 {
    ROWS.iter()
        .zip(&choice.scales)
        .zip(factors)
        .map(|((row, scale), factor)| row.weight * factor * scale)
        .sum()
}

impl Case {
    /// Place of the best chosen pose; `None` where none was measured.
    pub fn place(&self, factors: &[f64]) -> Option<usize> {
        let mut order: Vec<(bool, f64, bool)> = self
            .choices
            .iter()
            .map(|c| (c.gated, total(c, factors), c.chosen))
            .collect();
        order.sort_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)));
        order.iter().position(|c| c.2)
    }

    /// The first place against the chosen one, with the rows that differ.
    pub fn explain(&self, rows: bool) {
        let ones = vec![1.0; ROWS.len()];
        let best = |chosen: bool| {
            self.choices
                .iter()
                .filter(|c| c.chosen == chosen)
                .min_by(|a, b| {
                    (a.gated, total(a, &ones))
                        .partial_cmp(&(b.gated, total(b, &ones)))
                        .expect("totals are numbers")
                })
        };
        let name = self.file.rsplit('/').next().unwrap_or_default();
        let (Some(ours), Some(theirs)) = (best(false), best(true)) else {
            println!("  {name}: not measured");
            return;
        };
        println!(
            "  {name}: {:.2?} {:.3} before {:.2?} {:.3} (place {}, two-term {})",
            ours.down,
            total(ours, &ones),
            theirs.down,
            total(theirs, &ones),
            self.program.map_or(-1, |p| p as i64 + 1),
            self.two_term.map_or(-1, |p| p as i64 + 1),
        );
        for (i, says) in self.asks.says.iter().enumerate() {
            let mark = if self.asks.chosen == Some(i) {
                "*"
            } else {
                "-"
            };
            println!("      {mark} {says}");
        }
        if rows {
            let mut parts: Vec<(f64, String)> = ROWS
                .iter()
                .zip(ours.scales.iter().zip(&theirs.scales))
                .map(|(row, (a, b))| {
                    let (a, b) = (row.weight * a, row.weight * b);
                    (a - b, format!("{} {a:.2}/{b:.2}", row.name()))
                })
                .filter(|p| p.0.abs() > 0.02)
                .collect();
            parts.sort_by(|a, b| b.0.abs().total_cmp(&a.0.abs()));
            let words: Vec<String> = parts.into_iter().map(|p| p.1).collect();
            println!("      {}", words.join(", "));
        }
    }
}

/// A turn that depends on the index alone (Shoemake's uniform rotations).
fn turn(index: u64) -> UnitQuaternion<f64> {
    let mut even = Even::new(index.wrapping_mul(0x9E37_79B9_7F4A_7C15) ^ 0x5851_F42D_4C95_7F2D);
    let mut next = || even.draw();
    let (a, b, c) = (
        next(),
        next() * std::f64::consts::TAU,
        next() * std::f64::consts::TAU,
    );
    let (s, t) = ((1.0 - a).sqrt(), a.sqrt());
    UnitQuaternion::new_normalize(nalgebra::Quaternion::new(
        t * libm::cos(c),
        s * libm::sin(b),
        s * libm::cos(b),
        t * libm::sin(c),
    ))
}

/// Turns, ranks and measures one labelled part.
pub fn measure(label: &Label, index: u64) -> Result<Case, Box<dyn std::error::Error>> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(&label.file);
    let options = ReadOptions {
        units: label.mm.map(|_| wayup::mesh::Units::Millimeter),
        ..ReadOptions::default()
    };
    let mut mesh = read_path(&path, &options)?.mesh;
    let turned_from_file = turn(index);
    for p in &mut mesh.vertices {
        let there = turned_from_file * (p.coords * label.mm.unwrap_or(1.0));
        *p = Point3::from(there.map(|c| f64::from(c as f32)));
    }
    let part = Part::new(mesh).map_err(|fault| format!("{fault}"))?.0;
    let settings = Settings::default();
    let begun = Instant::now();
    let hull = Hull::new(&part.mesh.vertices).map_err(|_| "no hull")?;
    let symmetry = Symmetry::detect(&part, &hull);
    let bench = Bench::new(&part, &settings, hull);
    let search = Search::new(&bench);
    let wanted: Vec<Unit<Vector3<f64>>> = label
        .down
        .iter()
        .map(|d| Unit::new_normalize(turned_from_file * Vector3::from(*d)))
        .collect();
    let chosen = |down: &Unit<Vector3<f64>>| {
        wanted
            .iter()
            .any(|w| symmetry.apart_deg(w, down) < SAME_DEG)
    };
    let wish = Wanted {
        named: Vec::new(),
        top: ENTRIES,
    };
    let found = search.run_to_judge(&wish, JUDGED, &Silent);
    let found = found.map_err(|e| e.to_string())?;
    let sure = Sure::new(&bench, &found.judged, found.left.as_deref());
    let confidence = match sure.confidence {
        Confidence::Clear => 0,
        Confidence::Close => 1,
        Confidence::Tied => 2,
    };
    let program = found.entries.iter().position(|e| chosen(&e.candidate.down));
    let search_s = begun.elapsed().as_secs_f64();
    let place = |e: &Scored| {
        let mut listed = found.entries.iter();
        listed
            .position(|x| x.candidate.down == e.candidate.down)
            .map(|at| at + 1)
    };
    let told = purposes(&bench, &search, &found, found.entries.len(), &place);
    let puts_first = |down: &Option<[f64; 3]>| {
        down.is_some_and(|d| chosen(&Unit::new_normalize(Vector3::from(d))))
    };
    let asks = Asks {
        chosen: told.iter().position(|p| puts_first(&p.down)),
        says: told.into_iter().map(|p| p.says).collect(),
        search_s,
        seconds: begun.elapsed().as_secs_f64() - search_s,
    };
    let mut entries = found.entries.clone();
    if program.is_none() {
        entries.push(search.score(search.candidate(wanted[0], Origin::Named)));
    }
    let contest = (sure.shares.as_ref()).map(|shares| {
        let is_chosen = |e: &Scored| chosen(&e.candidate.down);
        let alternatives = shares.alternatives();
        let with_twins = |a: &&Scored| {
            let twin = |e: &&Scored| are_twins(a, e) && is_chosen(e);
            is_chosen(a) || found.judged.iter().any(|e| twin(&e))
        };
        let hit: Vec<bool> = alternatives.iter().map(with_twins).collect();
        let elsewhere = || entries.iter().find(|e| is_chosen(e)).map(|e| e.total);
        Contest {
            totals: alternatives.iter().map(|e| e.total).collect(),
            outsider: if hit.contains(&true) {
                None
            } else {
                elsewhere()
            },
            chosen: hit,
            left: found.left.clone().unwrap_or_default(),
        }
    });
    let choice = |e: &Scored| Choice {
        down: (turned_from_file.inverse() * e.candidate.down.into_inner()).into(),
        chosen: chosen(&e.candidate.down),
        gated: !e.candidate.gates.is_empty(),
        scales: ROWS
            .iter()
            .zip(&e.charges)
            .map(|(row, c)| c / row.weight)
            .collect(),
    };
    Ok(Case {
        file: label.file.clone(),
        choices: entries.iter().map(choice).collect(),
        program,
        two_term: two_term(&bench, &symmetry, &chosen),
        confidence,
        surface_mm2: part.mass.area_mm2,
        contest,
        asks,
    })
}

/// Place of the first chosen facet by 2.3·ln(contact/surface) − 40·(overhang/surface).
fn two_term(
    bench: &Bench,
    symmetry: &Symmetry,
    chosen: &dyn Fn(&Unit<Vector3<f64>>) -> bool,
) -> Option<usize> {
    let surface = bench.part.mass.area_mm2;
    let rests = standing::standing(bench.hull(), &bench.part.mass.centroid, 400);
    let mut order: Vec<(f64, Unit<Vector3<f64>>)> = rests
        .iter()
        .filter(|r| r.stands)
        .map(|r| {
            let quick = bench.quick(&r.down);
            let contact = quick.contact_area_mm2.max(1e-6 * surface);
            let cost =
                -2.3 * libm::log(contact / surface) + 40.0 * quick.overhang_area_mm2 / surface;
            (cost, r.down)
        })
        .collect();
    order.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut kept: Vec<Unit<Vector3<f64>>> = Vec::new();
    for (_, down) in order {
        if kept.iter().all(|k| symmetry.apart_deg(k, &down) > SAME_DEG) {
            if chosen(&down) {
                return Some(kept.len());
            }
            kept.push(down);
        }
    }
    None
}
