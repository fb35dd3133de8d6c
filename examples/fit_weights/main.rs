//! How often the ranking puts first what people chose, and which weights would do better.
//!
//! `cargo run --release --example fit_weights -- tests/labels/labels.toml` takes a table of
//! parts (that one, or `tests/labels/blind.toml`, on which nothing is tuned) with the
//! directions that a practitioner would put on the bed. Each part is turned
//! at random (the same way every time), rounded to single precision and ranked; the answer
//! counts where it lies within 5° of a chosen direction or of a symmetric twin. Beside it
//! stand the two-term rule on the facets of the hull, the ranking with each row of the
//! table left out, and weights fitted by a conditional logit: held-out agreement over
//! folds, an L2 pull towards the table, no weight below zero.

mod chart;
mod even;
mod fit;
mod kits;
mod labels;
mod temperature;

use clap::Parser;
use fit::Fit;
use labels::{Asks, Case, Contest, Label};
use std::path::PathBuf;
use temperature::{IN_FORCE, Model, Said, all_said, bins, calibration_error, mean_loss, wilson};
use wayup::advice::share::{CLEAR, TOSS_UP};
use wayup::rank::penalties::ROWS;

/// Agreement with labelled parts, and fitted weights.
#[derive(Parser)]
struct Args {
    /// Tables of labelled parts.
    #[arg(required = true)]
    tables: Vec<PathBuf>,
    /// Keep the measured figures of all tables in this file, or take them from it if it is there.
    #[arg(long)]
    cache: Option<PathBuf>,
    /// Folds of the held-out test.
    #[arg(long, default_value_t = 5)]
    folds: usize,
    /// Pull of the weights towards the table: each is worth this many parts.
    #[arg(long, default_value_t = 2.0)]
    pull: f64,
    /// Print the disagreements row by row.
    #[arg(long)]
    why: bool,
    /// Draw what was said against what was found into this file (SVG).
    #[arg(long, value_name = "FILE")]
    chart: Option<PathBuf>,
    /// Only parts whose file contains this.
    #[arg(long, default_value = "")]
    only: String,
    /// Leave out parts whose file contains this (repeatable).
    #[arg(long, value_name = "TEXT")]
    skip: Vec<String>,
}

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let args = Args::parse();
    let cases = match &args.cache {
        Some(file) if file.exists() => serde_json::from_slice(&std::fs::read(file)?)?,
        _ => {
            let mut cases = Vec::new();
            for table in &args.tables {
                cases.extend(measured(&wanted(labels::read(table)?, &args)));
            }
            if let Some(file) = &args.cache {
                std::fs::write(file, serde_json::to_vec(&cases)?)?;
            }
            cases
        }
    };
    report(&cases, &args);
    let said = shares(&cases, args.folds);
    if let Some(file) = &args.chart {
        std::fs::write(file, chart::svg(&bins(&said)))?;
    }
    Ok(())
}

/// The parts asked for, each with its place in the table: the turn depends on the place, so
/// that a part is turned the same way however many others are left out.
fn wanted(labels: Vec<Label>, args: &Args) -> Vec<(u64, Label)> {
    (0..)
        .zip(labels)
        .filter(|(_, l)| l.file.contains(&args.only))
        .filter(|(_, l)| !args.skip.iter().any(|s| l.file.contains(s)))
        .collect()
}

/// Measures every part that is there; names the others.
fn measured(labels: &[(u64, Label)]) -> Vec<Case> {
    let mut cases = Vec::new();
    for (place, label) in labels {
        match labels::measure(label, *place) {
            Ok(case) => cases.push(case),
            Err(error) => eprintln!("{}: {error}", label.file),
        }
    }
    cases
}

/// First, within three, of how many.
#[derive(Clone, Copy, Default)]
struct Score {
    first: usize,
    three: usize,
    of: usize,
}

impl Score {
    fn add(&mut self, place: Option<usize>) {
        self.of += 1;
        self.first += usize::from(place == Some(0));
        self.three += usize::from(place.is_some_and(|p| p < 3));
    }
}

impl std::fmt::Display for Score {
    fn fmt(&self, f: &mut std::fmt::Formatter) -> std::fmt::Result {
        let share = |n: usize| 100.0 * n as f64 / self.of.max(1) as f64;
        write!(
            f,
            "first {:3} of {} ({:.1} %), within three {:3} ({:.1} %)",
            self.first,
            self.of,
            share(self.first),
            self.three,
            share(self.three)
        )
    }
}

fn score(cases: &[Case], factors: &[f64]) -> Score {
    let mut sum = Score::default();
    for case in cases {
        sum.add(case.place(factors));
    }
    sum
}

fn report(cases: &[Case], args: &Args) {
    let ones = vec![1.0; ROWS.len()];
    let (mut program, mut base, mut said) = (Score::default(), Score::default(), [[0; 2]; 3]);
    for case in cases {
        program.add(case.program);
        base.add(case.two_term);
        said[case.confidence][usize::from(case.program == Some(0))] += 1;
    }
    println!("program             {program}");
    println!("two-term rule       {base}");
    println!("measured, table     {}", score(cases, &ones));
    for (word, [wrong, right]) in ["clear", "close", "tied"].iter().zip(said) {
        println!(
            "  said {word:<6} {:3} of them, {right} agree",
            wrong + right
        );
    }
    purposes_told(cases);
    let only = |names: &[&str]| -> Vec<f64> {
        ROWS.iter()
            .map(|row| f64::from(u8::from(names.contains(&row.name()))))
            .collect()
    };
    println!(
        "its first two rows  {}",
        score(cases, &only(&["contact", "overhang"]))
    );
    println!(
        "… bridges, support  {}",
        score(
            cases,
            &only(&["contact", "overhang", "bridge", "wide", "support"])
        )
    );
    println!("\nwithout a row (of the poses that were measured):");
    for (i, row) in ROWS.iter().enumerate() {
        let mut factors = ones.clone();
        factors[i] = 0.0;
        println!("  {:<10} {}", row.name(), score(cases, &factors));
    }
    let mut held = Score::default();
    for fold in 0..args.folds {
        let (out, kept): (Vec<_>, Vec<_>) = cases
            .iter()
            .cloned()
            .enumerate()
            .partition(|(i, _)| i % args.folds == fold);
        let kept: Vec<Case> = kept.into_iter().map(|c| c.1).collect();
        let fitted = Fit::new(&kept, args.pull).run();
        for (_, case) in out {
            held.add(case.place(&fitted));
        }
    }
    println!("\nfitted, held out    {held}  ({} folds)", args.folds);
    let fitted = Fit::new(cases, args.pull).run();
    println!("fitted on all       {}", score(cases, &fitted));
    println!("\n  row         in force   fitted");
    for (row, factor) in ROWS.iter().zip(&fitted) {
        println!(
            "  {:<10} {:9.2} {:9.2}",
            row.name(),
            row.weight,
            row.weight * factor
        );
    }
    println!("\ndisagreements:");
    for case in cases.iter().filter(|c| c.program != Some(0)) {
        case.explain(args.why);
    }
}

/// How often the chosen pose is first or comes first under a purpose that is told, and what the
/// purposes cost.
fn purposes_told(cases: &[Case]) {
    let named = |c: &&Case| c.program == Some(0) || c.asks.chosen.is_some();
    let right = cases.iter().filter(named).count();
    let of = cases.len().max(1);
    println!(
        "first or named under a purpose {right} of {of} ({:.1} %)",
        100.0 * right as f64 / of as f64
    );
    let told: usize = cases.iter().map(|c| c.asks.says.len()).sum();
    let most = cases.iter().map(|c| c.asks.says.len()).max();
    let none = cases.iter().filter(|c| c.asks.says.is_empty()).count();
    println!(
        "  {:.1} purposes told of a part, at most {}, none of {none}",
        told as f64 / of as f64,
        most.unwrap_or(0)
    );
    let sum = |seconds: &dyn Fn(&Asks) -> f64| cases.iter().map(|c| seconds(&c.asks)).sum::<f64>();
    let (seconds, search_s) = (sum(&|a| a.seconds), sum(&|a| a.search_s));
    let mut dear: Vec<(f64, &str)> = (cases.iter())
        .map(|c| (c.asks.seconds / c.asks.search_s.max(1e-3), c.file.as_str()))
        .collect();
    dear.sort_by(|a, b| b.0.total_cmp(&a.0));
    println!(
        "  they took {seconds:.2} s beside {search_s:.2} s of the search ({:.1} %); the dearest:",
        100.0 * seconds / search_s.max(1e-3)
    );
    for (share, file) in dear.iter().take(3) {
        let name = file.rsplit('/').next().unwrap_or_default();
        println!("    {name}: {:.1} %", 100.0 * share);
    }
}

/// The share said of each first pose against what was chosen; which model would do better, and
/// how well one does on parts that it was not fitted on.
fn shares(cases: &[Case], folds: usize) -> Vec<Said> {
    let contests = temperature::contests(cases);
    let told = |what: &str, said: &[Said], loss: f64| {
        let error = 100.0 * calibration_error(&bins(said));
        println!("{what}: calibration error {error:.1} %, log loss {loss:.3}");
    };
    let words = |model: Model| {
        let percent = 100.0 * model.by_purpose;
        format!("{:.2} and {percent:.1} %", model.temperature)
    };
    let said = all_said(&contests, IN_FORCE);
    println!(
        "\nshare of the first pose, temperature and makers by purpose {}:",
        words(IN_FORCE)
    );
    println!("  from    parts   said  found  (95 in 100 times within)");
    for b in bins(&said) {
        let [lo, hi] = wilson(b.right, b.of);
        println!(
            "  {:5.3} {:7}  {:5.3}  {:5.3}  {lo:.3} to {hi:.3}",
            b.from,
            b.of,
            b.said,
            b.found()
        );
    }
    told("shares", &said, mean_loss(&contests, IN_FORCE));
    for (name, from, below) in [
        ("clear", CLEAR, 2.0),
        ("close", TOSS_UP, CLEAR),
        ("tied", 0.0, TOSS_UP),
    ] {
        let (of, right) = temperature::between(&said, from, below);
        println!("called {name}: {of}, chosen {right:.1}");
    }
    for (how, model) in [
        ("likeliest", temperature::likeliest(&contests)),
        ("best calibrated", temperature::calibrated(&contests)),
        (
            "best calibrated with the kits",
            temperature::calibrated_with_kits(&contests),
        ),
    ] {
        let loss = mean_loss(&contests, model);
        let what = format!("{how} at {}", words(model));
        told(&what, &all_said(&contests, model), loss);
        kits_told(model);
    }
    println!("in force");
    kits_told(IN_FORCE);
    let (mut held, mut loss, mut of_folds) = (Vec::new(), 0.0, Vec::new());
    for fold in 0..folds {
        let split = |out: bool| -> Vec<&Contest> {
            let of = contests.iter().enumerate();
            of.filter(|(i, _)| (i % folds == fold) == out)
                .map(|c| *c.1)
                .collect()
        };
        let (out, kept) = (split(true), split(false));
        let model = temperature::calibrated_with_kits(&kept);
        held.extend(all_said(&out, model));
        loss += mean_loss(&out, model) * out.len() as f64 / contests.len().max(1) as f64;
        of_folds.push(words(model));
    }
    let what = format!("held out, fitted with the kits at {}", of_folds.join("; "));
    told(&what, &held, loss);
    said
}

/// How well a model does on the kits.
fn kits_told(model: Model) {
    let kits = kits::said(model);
    let (clear, chosen) = kits.clear;
    println!(
        "  on the kits: off by {:.1} %, clear {clear:.0} of {:.0}, chosen {:.1} %",
        100.0 * kits.error,
        kits.families,
        100.0 * chosen / clear.max(1.0)
    );
}
