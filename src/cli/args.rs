//! The words of the command line, as typed; nothing is checked against a file yet.

use crate::cli::flags::flags;
use crate::cli::help;
use crate::cli::json::json_line;
use crate::cli::terminal;
use crate::mesh::Units;
use crate::report::compare::{self, Which};
use crate::report::draw::view::Angle;
use crate::report::layout::Look;
use crate::session::config::{Request, Resolved};
use crate::session::exit::{Exit, Failure};
use crate::session::intake::{self, Intake};
use crate::settings::overrides::Overrides;
use crate::settings::triple::{direction, triple};
use crate::words::near_miss;
use clap::builder::PossibleValuesParser;
use clap::{Args, CommandFactory, Parser, Subcommand};
use nalgebra::{Unit, Vector3};
use serde::Serialize;
use std::path::PathBuf;
use std::str::FromStr;

/// Which way up should this part be printed?
///
/// Reads a mesh (STL, 3MF, OBJ, PLY or OFF), measures the ways it can stand on the bed, and
/// says which is best, what it costs and why.
#[derive(Debug, Parser)]
#[command(name = "wayup", version, disable_help_subcommand = true)]
pub struct Cli {
    /// What to do.
    #[command(subcommand)]
    pub command: Command,
}

/// The commands.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Rank the poses of each part: a verdict, reasons, a table
    Advise(AdviseArgs),
    /// Show every figure of one pose
    Measure(MeasureArgs),
    /// Check a file first: size, bodies, defects
    Inspect(OnePart),
    /// Write a part in a pose, standing on z = 0, centred
    Turn(TurnArgs),
    /// Write a page that teaches why this part goes this way up
    Lesson(LessonArgs),
    #[cfg(feature = "desk")]
    /// Open a page in the browser: turn the part by hand, ask what if
    Desk(DeskArgs),
    #[cfg(feature = "library")]
    /// Score every part of a folder; keep a database and a page
    Library(LibraryArgs),
    /// Print the JSON Schema of everything that --json prints
    Schema,
    /// Print completions for a shell
    Completions(CompletionsArgs),
    /// Print the manual page, or that of one command
    Manual(ManualArgs),
}

/// `wayup advise`.
#[derive(Debug, Args)]
pub struct AdviseArgs {
    /// Mesh files, each with its own advice
    #[arg(value_name = "PART", required = true)]
    pub parts: Vec<PathBuf>,
    /// Most poses to list [default: 5]
    #[arg(long, value_name = "N", value_parser = whole::<1000>)]
    pub top: Option<u32>,
    /// Write the winner, turned and ready to use, as .stl, .3mf, .obj or .ply
    ///
    /// The format follows the ending of the name; the numbers keep the units of the file that was
    /// read. The file is also written where the part fits the bed in no pose.
    #[arg(long, value_name = "FILE")]
    pub turned: Option<PathBuf>,
    /// Write one page per part to look at, print on A4 and file: drawings, figures, reasons
    ///
    /// One file without links to others; of several parts with an index.
    #[arg(long, value_name = "FILE")]
    pub sheet: Option<PathBuf>,
    /// Poses to set side by side, in words and on the --sheet: numbers of the list, or 'stored'
    #[arg(long, value_name = "LIST", value_parser = compared)]
    pub compare: Option<Compared>,
    /// Write the drawing of the winner as .png or .svg
    #[arg(long, value_name = "FILE")]
    pub picture: Option<PathBuf>,
    /// Write figures of every direction looked at, support with its error, as .csv or .json; drawn as .svg
    ///
    /// Those that need no layers, and the support volume to 2 %: all space under overhang, whatever
    /// bridges carry. The JSON follows wayup schema; the names of the columns end in their units. The drawing
    /// has lines of equal support on the two halves of the sphere, and the poses of the list. A sheet that is
    /// written too shows it on a page of its own.
    #[arg(long, value_name = "FILE")]
    pub map: Option<PathBuf>,
    /// Work out the most by which any direction could beat pose 1; stop once that is PERCENT or less [default: 1]
    ///
    /// Every direction counts, not only those that were looked at, and what is printed is guaranteed. Support,
    /// slender features, sway and time are taken as zero for the other directions, so that the limit is looser where they
    /// make up much of the total of pose 1. Closed meshes only. It ends with --seconds as well.
    #[arg(long, value_name = "PERCENT", num_args = 0..=1, require_equals = true, default_missing_value = "1",
          value_parser = percent)]
    pub certify: Option<f64>,
    /// Projection method of drawings: first or third angle (ISO 5456) [default: first]
    #[arg(long, value_name = "ANGLE", value_parser = angle)]
    pub angle: Option<Angle>,
    /// Date to print on the sheet
    ///
    /// Without it the day of `SOURCE_DATE_EPOCH`, else a line to fill in by hand: the same part
    /// gives the same bytes on any day.
    #[arg(long, value_name = "TEXT")]
    pub date: Option<String>,
    /// Draw the winner in block characters [default: only on a terminal]
    #[arg(long, overrides_with = "no_drawing")]
    pub drawing: bool,
    /// Leave that drawing out
    #[arg(long, overrides_with = "drawing")]
    pub no_drawing: bool,
    /// Which pose of the list --turned and --picture write [default: 1]
    #[arg(long, value_name = "N", value_parser = whole::<1000>)]
    pub pose: Option<u32>,
    /// Print JSON, one object a line, instead of words
    #[arg(long)]
    pub json: bool,
    /// What the parts must meet.
    #[command(flatten)]
    pub checks: Checks,
    /// What is in force, and how the work is done.
    #[command(flatten)]
    pub common: Common,
}

/// A part that is looked at by itself: `wayup inspect`, and what other commands share with it.
#[derive(Debug, Args)]
pub struct OnePart {
    /// Mesh file
    #[arg(value_name = "PART")]
    pub part: PathBuf,
    /// Print JSON, one object a line, instead of words
    #[arg(long)]
    pub json: bool,
    /// What is in force, and how the work is done.
    #[command(flatten)]
    pub common: Common,
}

/// `wayup measure`.
#[derive(Debug, Args)]
pub struct MeasureArgs {
    /// Direction of the part that goes down [default: -z, as stored]
    #[arg(long, value_name = "X,Y,Z", allow_hyphen_values = true, value_parser = direction)]
    pub down: Option<Unit<Vector3<f64>>>,
    /// What the calliper read along build X, Y and Z, in mm: compares it with the part
    #[arg(long, value_name = "X,Y,Z", allow_hyphen_values = true, value_parser = triple)]
    pub readings: Option<[f64; 3]>,
    /// The part, and how it is shown.
    #[command(flatten)]
    pub one: OnePart,
}

/// `wayup turn`.
#[derive(Debug, Args)]
pub struct TurnArgs {
    /// Direction of the part that goes down: X,Y,Z or one of +x -x +y -y +z -z
    #[arg(long, value_name = "X,Y,Z", allow_hyphen_values = true, value_parser = direction)]
    pub down: Unit<Vector3<f64>>,
    /// Turn it so many degrees further about the vertical [default: long side along X]
    #[arg(long, value_name = "DEG", allow_negative_numbers = true, value_parser = turn)]
    pub yaw: Option<f64>,
    /// File to write: .stl, .3mf, .obj or .ply
    #[arg(short = 'o', long = "output", value_name = "FILE")]
    pub file: PathBuf,
    /// The part, and how it is shown.
    #[command(flatten)]
    pub one: OnePart,
}

/// `wayup lesson`.
#[derive(Debug, Args)]
pub struct LessonArgs {
    /// Mesh file; several with --set
    #[arg(value_name = "PART", required = true)]
    pub parts: Vec<PathBuf>,
    /// Write questions on the parts for a class instead, with an answer sheet to print
    #[arg(long)]
    pub set: bool,
    /// Page to write: .html
    #[arg(short = 'o', long = "output", value_name = "FILE")]
    pub file: PathBuf,
    /// What is in force, and how the work is done.
    #[command(flatten)]
    pub common: Common,
}

/// `wayup desk`.
#[cfg(feature = "desk")]
#[derive(Debug, Args)]
pub struct DeskArgs {
    /// Mesh file to begin with; others are dropped on the page
    #[arg(value_name = "PART")]
    pub part: Option<PathBuf>,
    /// Port of this machine to listen at [default: a free one]
    #[arg(long, value_name = "N", value_parser = port)]
    pub port: Option<u16>,
    /// Print the address only; open no browser
    #[arg(long)]
    pub no_browser: bool,
    /// What is in force, and how the work is done.
    #[command(flatten)]
    pub common: Common,
}

/// `wayup library`.
#[cfg(feature = "library")]
#[derive(Debug, Args)]
pub struct LibraryArgs {
    /// Folder with mesh files, list of paths (one a line), or - for paths on standard input
    ///
    /// A folder is searched with all folders below it. File types are recognised by content; anything
    /// that is no mesh is skipped, and so are archives and names that begin with a dot.
    #[arg(value_name = "PARTS")]
    pub source: PathBuf,
    /// Keep the records in this folder: library.sqlite, parts.jsonl, parts.csv, parts.parquet,
    /// summary.html [default: print a line of JSON for each part as it is done]
    ///
    /// A run that was stopped goes on where it was; unchanged files are not scored again. Files that
    /// are gone keep their records, marked as gone, and are left out of the rest.
    #[arg(long, value_name = "FOLDER")]
    pub out: Option<PathBuf>,
    /// Write the sheet of each part too, and link it from summary.html
    ///
    /// The pages of `advise --sheet`, in the folder `sheets` of the --out folder.
    #[arg(long, requires = "out")]
    pub sheets: bool,
    /// Score all parts again, unchanged ones too
    #[arg(long)]
    pub recheck: bool,
    /// Most poses to keep of each part [default: 5]
    #[arg(long, value_name = "N", value_parser = whole::<1000>)]
    pub top: Option<u32>,
    /// What the parts must meet.
    #[command(flatten)]
    pub checks: Checks,
    /// What is in force, and how the work is done.
    #[command(flatten)]
    pub common: Common,
}

/// `wayup completions`.
#[derive(Debug, Args)]
pub struct CompletionsArgs {
    /// Shell to complete in
    #[arg(value_name = "SHELL")]
    pub shell: clap_complete::Shell,
}

/// `wayup manual`.
#[derive(Debug, Args)]
pub struct ManualArgs {
    /// Command to describe [default: the program as a whole]
    #[arg(value_name = "COMMAND")]
    pub page: Option<String>,
}

/// The command line with the help of each command cut to what matters to it: every command
/// takes the flags of all settings, so that a script may pass one set to all.
pub fn command() -> clap::Command {
    let hide = |command: clap::Command, name: &str| {
        let given = flags().map(|(_, flag)| flag.name);
        let given = given.filter(|_| ["inspect", "turn"].contains(&name));
        let without_effect = given.chain(["seconds"]);
        command.mut_subcommand(name, |sub| {
            without_effect.fold(sub, |sub, flag| sub.mut_arg(flag, |arg| arg.hide(true)))
        })
    };
    let command = help::completed(Cli::command());
    let names = (help::EXAMPLES.into_iter())
        .map(|(name, _)| name)
        .filter(|name| command.find_subcommand(name).is_some());
    let names: Vec<&str> = names.collect();
    let command = command.mut_subcommand("manual", |sub| {
        sub.mut_arg("page", |arg| {
            arg.value_parser(PossibleValuesParser::new(names))
        })
    });
    #[cfg(feature = "desk")]
    let command = hide(command, "desk");
    ["measure", "inspect", "turn"]
        .into_iter()
        .fold(command, hide)
}

/// What parts must meet, and reports of it for build systems.
#[derive(Debug, Args)]
#[command(next_help_heading = "Checks in a build")]
pub struct Checks {
    /// Conditions that every part must meet.
    #[arg(
        long,
        value_name = "EXPR",
        allow_hyphen_values = true,
        help = "Condition that every part must meet, such as \"support_after_bridges_mm3 < 500\"; repeatable"
    )]
    pub require: Vec<String>,
    /// Judge the pose of the file as stored, not the best one
    #[arg(long, requires = "require")]
    pub as_stored: bool,
    /// Report for build systems.
    #[arg(
        long,
        value_name = "FILE",
        help = "Write a JUnit XML report: one case per part and requirement"
    )]
    pub junit: Option<PathBuf>,
    /// Write a SARIF 2.1.0 report: one result per missed requirement and per unread part
    #[arg(long, value_name = "FILE")]
    pub sarif: Option<PathBuf>,
}

/// What every command takes.
#[derive(Debug, Args)]
pub struct Common {
    /// Values that replace the defaults.
    #[command(flatten)]
    pub given: Given,
    /// How files are read and the work is done.
    #[command(flatten)]
    pub run: Run,
}

impl OnePart {
    /// What is in force for the part, and the part, read on as many threads as are asked for.
    ///
    /// # Errors
    /// Flags or settings that are off, a file that is no mesh.
    pub fn read(&self) -> Result<(Resolved, Intake), Failure> {
        let asked = self.common.asked()?;
        intake::threads(self.common.run.threads)?;
        asked.read(&self.part, None)
    }

    /// Prints the answer, in JSON or in words.
    ///
    /// # Errors
    /// Standard output cannot be written.
    pub fn show(
        &self,
        report: &impl Serialize,
        words: impl FnOnce(Look) -> String,
    ) -> Result<Exit, Failure> {
        terminal::result(&if self.json {
            json_line(report)?
        } else {
            words(terminal::look())
        })?;
        Ok(Exit::Done)
    }
}

impl Common {
    /// What is asked for by them.
    ///
    /// # Errors
    /// A value outside its range.
    pub fn asked(&self) -> Result<Request, Failure> {
        let mut values = self.given.values.clone();
        values.units = self.run.units;
        Request::check(values, self.given.settings.clone())
    }
}

/// How the file is read and the work is done.
#[derive(Debug, Clone, Copy, Args)]
#[command(next_help_heading = "Reading and running")]
pub struct Run {
    /// Unit of the numbers in the file: um, mm, cm, m, in or ft [default: as the file says, else mm]
    #[arg(long, value_name = "UNIT", value_parser = Units::from_str)]
    pub units: Option<Units>,
    /// Threads to use [default: all]
    #[arg(long, value_name = "N", value_parser = whole::<1024>)]
    pub threads: Option<u32>,
}

/// Values that replace the defaults.
#[derive(Debug, Args)]
#[command(next_help_heading = "Machine, material and priorities")]
pub struct Given {
    /// Settings by their flags.
    #[command(flatten)]
    pub values: Overrides,
    /// Settings file to read instead of looking for wayup.toml
    #[arg(long, value_name = "FILE")]
    pub settings: Option<PathBuf>,
    /// Stop the search after so many seconds with the best answer so far [default: no limit]
    ///
    /// An answer that was cut short depends on the speed of the machine; it says so. Where not even
    /// one pose could be measured there is none.
    #[arg(long, value_name = "N", value_parser = seconds)]
    pub seconds: Option<f64>,
}

/// Poses to be compared. A type of its own: a list on one word, not a flag to repeat.
#[derive(Debug, Clone)]
pub struct Compared(pub Vec<Which>);

fn compared(word: &str) -> Result<Compared, String> {
    compare::parse(word).map(Compared)
}

/// A share in percent, above 0 and below 100.
fn percent(word: &str) -> Result<f64, String> {
    let number = word.parse().ok().filter(|p| *p > 0.0 && *p < 100.0);
    number.ok_or_else(|| "a number above 0 and below 100 is wanted, such as 2".into())
}

fn angle(word: &str) -> Result<Angle, String> {
    let none = || {
        let near = near_miss(word, Angle::ALL.map(Angle::name));
        format!("not a projection; write first or third{near}")
    };
    Angle::called(word).ok_or_else(none)
}

fn turn(word: &str) -> Result<f64, String> {
    let value = word.parse::<f64>().ok().filter(|v| v.abs() <= 360.0);
    value.ok_or_else(|| "not an angle of at most 360 degrees".to_string())
}

fn seconds(word: &str) -> Result<f64, String> {
    let value = word.parse::<f64>().ok().filter(|v| *v > 0.0 && *v <= 1e6);
    value.ok_or_else(|| "not a number of seconds above 0".to_string())
}

/// A whole number from 1 on.
fn whole<const MOST: u32>(word: &str) -> Result<u32, String> {
    let value = word.parse().ok().filter(|n| (1..=MOST).contains(n));
    value.ok_or_else(|| format!("not a whole number from 1 to {MOST}"))
}

#[cfg(feature = "desk")]
fn port(word: &str) -> Result<u16, String> {
    let value = word.parse().ok().filter(|n| *n > 0);
    value.ok_or_else(|| format!("not a whole number from 1 to {}", u16::MAX))
}
