//! `wayup completions` and `wayup manual`: what the shell and the reader of manual pages want, made
//! from the same table of commands and flags as the help.

use super::args::{self, CompletionsArgs, ManualArgs};
use super::help;
use super::terminal;
use crate::materials::MATERIALS;
use crate::mesh::Units;
use crate::session::exit::{Exit, Failure};
use crate::settings::Aim;
use clap::builder::PossibleValuesParser;
use clap_mangen::Man;

/// Prints completions for a shell.
///
/// # Errors
/// Standard output cannot be written.
pub fn completions(args: &CompletionsArgs) -> Result<Exit, Failure> {
    let mut command = args::command();
    let names: Vec<String> = (command.get_subcommands())
        .map(|sub| sub.get_name().to_string())
        .collect();
    for name in names {
        command = command.mut_subcommand(name, with_values);
    }
    let mut script = Vec::new();
    clap_complete::generate(args.shell, &mut command, "wayup", &mut script);
    print(&script)
}

/// A command whose flags name the words that they take.
fn with_values(command: clap::Command) -> clap::Command {
    let materials = MATERIALS.iter().map(|m| m.name.as_str()).collect();
    let values: [(&str, Vec<&'static str>); 4] = [
        ("material", materials),
        ("aim", Aim::ALL.map(Aim::name).to_vec()),
        ("units", Units::ALL.map(Units::name).to_vec()),
        ("angle", vec!["first", "third"]),
    ];
    values.into_iter().fold(command, |command, (flag, values)| {
        if command.get_arguments().all(|arg| arg.get_id() != flag) {
            return command;
        }
        command.mut_arg(flag, |arg| {
            arg.value_parser(PossibleValuesParser::new(values))
        })
    })
}

/// Prints the manual page of the program or of one of its commands, as `man` reads it.
///
/// # Errors
/// Standard output cannot be written.
pub fn manual(args: &ManualArgs) -> Result<Exit, Failure> {
    let mut command = args::command();
    command.build();
    let page = match &args.page {
        Some(name) => command.find_subcommand(name).cloned().unwrap_or(command),
        None => command.after_help(format!("{}\n\n{}", help::SETTINGS, help::EXIT_CODES)),
    };
    let mut text = Vec::new();
    let manual = Man::new(page).manual("Manual of wayup");
    manual.render(&mut text).map_err(|e| {
        let defect = format!("the page cannot be made: {e}");
        Failure::new(
            Exit::Unwritable,
            "manual",
            defect,
            "read wayup --help instead",
        )
    })?;
    print(&text)
}

fn print(text: &[u8]) -> Result<Exit, Failure> {
    terminal::result(&String::from_utf8_lossy(text)).map(|()| Exit::Done)
}
