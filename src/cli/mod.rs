//! The command line: words in, one of the documented exit codes out.
//!
//! - [`args`]: the words as typed; `help`: what the help says besides
//! - [`crate::session::config`]: flags and settings files to checked settings
//! - [`crate::session::intake`]: a path to a part
//! - [`advise`], [`measure`], [`inspect`], [`turn`], [`lesson`], [`desk`], [`library`]: one command each
//! - [`manual`]: shell completions and manual pages
//! - [`paper`]: pages and pictures; [`map`]: figures of every direction
//! - [`gate`]: requirements and their reports
//! - [`crate::session::destination`]: output files, checked first and written in one move
//! - [`terminal`]: standard output and error, width, colour, progress
//! - [`crate::session::exit`]: how a run ends

pub mod advise;
pub mod args;
#[cfg(feature = "desk")]
pub mod desk;
mod flags;
pub mod gate;
mod help;
pub mod inspect;
mod json;
pub mod lesson;
#[cfg(feature = "library")]
pub mod library;
pub mod manual;
pub mod map;
pub mod measure;
pub mod paper;
mod purpose;
pub mod terminal;
pub mod turn;

use crate::report::schema;
use crate::session::exit::{Exit, Failure};
use crate::session::intake::guarded;
use args::{Cli, Command};
use clap::FromArgMatches;
use std::path::Path;
use std::process::ExitCode;

/// Runs the program with the words of the process' command line.
pub fn run() -> ExitCode {
    let parsed = args::command()
        .try_get_matches()
        .and_then(|m| Cli::from_arg_matches(&m));
    let exit = match parsed {
        Ok(cli) => guarded(Path::new(""), || dispatch(&cli.command)).unwrap_or_else(|failure| {
            terminal::complain(&failure);
            failure.exit
        }),
        Err(help) => {
            let typed = std::env::args().nth(1);
            let help = help::with_new_name(help, &args::command(), typed.as_deref());
            // Where the reader of the help has gone away there is nobody to tell.
            let _ = help.print();
            if help.use_stderr() {
                Exit::Words
            } else {
                Exit::Done
            }
        }
    };
    exit.into()
}

fn dispatch(command: &Command) -> Result<Exit, Failure> {
    match command {
        Command::Advise(args) => advise::run(args),
        Command::Measure(args) => measure::run(args),
        Command::Inspect(args) => inspect::run(args),
        Command::Turn(args) => turn::run(args),
        Command::Lesson(args) => lesson::run(args),
        #[cfg(feature = "desk")]
        Command::Desk(args) => desk::run(args),
        #[cfg(feature = "library")]
        Command::Library(args) => library::run(args),
        Command::Completions(args) => manual::completions(args),
        Command::Manual(args) => manual::manual(args),
        Command::Schema => terminal::result(&schema::text()).map(|()| Exit::Done),
    }
}
