//! What the help says besides the flags: an example for each command, exit codes, requirements,
//! settings files, the version.

use crate::report::json::SCHEMA_VERSION;
use clap::error::{ContextKind, ContextValue};
use std::sync::LazyLock;

/// Whole help of the program: it fits one screen of 80 × 24.
pub(super) const PAGE: &str =
    "{about-with-newline}\n{usage-heading} {usage}\n\nCommands:\n{subcommands}{after-help}";

/// End of the help of the program.
pub(super) const OPTIONS: &str = "\
Options: --help (of each command too), --version
Example: wayup advise bracket.stl";

/// An example for each command, as it is typed where the files are.
pub(super) const EXAMPLES: [(&str, &str); 10] = [
    ("advise", "wayup advise bracket.stl --material PETG"),
    ("measure", "wayup measure bracket.stl --down -z"),
    ("inspect", "wayup inspect bracket.stl"),
    ("turn", "wayup turn bracket.stl --down +x -o turned.stl"),
    ("lesson", "wayup lesson bracket.stl -o lesson.html"),
    ("desk", "wayup desk bracket.stl"),
    ("library", "wayup library parts --out scored"),
    ("schema", "wayup schema > wayup.schema.json"),
    ("completions", "wayup completions bash > wayup.bash"),
    ("manual", "wayup manual advise > wayup-advise.1"),
];

pub(super) const EXIT_CODES: &str = "\
Exit codes:
  0  done
  1  done, but some part of a library could not be read
  2  invalid command line or settings file
  3  a file cannot be read as a mesh
  4  a part fits the bed in no pose (the advice is still printed)
  5  the output cannot be written
  6  a part misses what --require asks for (takes precedence over 1)
  7  stopped by the time limit before any pose was measured";

pub(super) const REQUIRE: &str = "\
A requirement compares keys of the schema (wayup schema) with numbers or with each other. Figures \
and the rest of the pose go by their names (height_mm, support_marks_mm2.below, \
penalties.contact, total), those of the part and the advice by dotted ones (part.volume_mm3, \
settings.bridge_limit_mm, confidence). It knows + - * /, < <= > >= == !=, and, or, not, \
parentheses and chains such as 10 <= height_mm < 50. A number may have a unit (um mm cm m in, \
mm2 cm2, mm3 cm3, deg, s min h, g kg), else it is in that of the key. .x .y .z take a pair or \
triple apart; another list stands for the number of its entries (bridges == 0). A missing value \
leaves the requirement undecided, and undecided counts as not met.";

pub(super) const SETTINGS: &str = "\
Settings files: wayup.toml in the user's configuration folder ($XDG_CONFIG_HOME/wayup, else \
~/.config/wayup), then wayup.toml beside the part. Later files override earlier ones, and flags \
override both. Keys are the flags' names with _ for - (units too, for the files beside it), and \
walls, infill, rate (mm³/s) and layer_change (s) for the time estimate; weights are a table of \
their own, [weights].";

/// Flags that had another name before schema 2, and what they are called now.
const RENAMED: [(&str, &str); 2] = [("--found", "--readings"), ("--as-loaded", "--as-stored")];

/// "0.1.0 (schema 2, commit 0123456789ab)"; the commit where it is known.
pub static VERSION: LazyLock<String> = LazyLock::new(|| {
    let commit = option_env!("WAYUP_BUILT_FROM").map(|commit| format!(", commit {commit}"));
    format!(
        "{} (schema {SCHEMA_VERSION}{})",
        env!("CARGO_PKG_VERSION"),
        commit.unwrap_or_default()
    )
});

/// The example of a command, to close its help with.
fn example(name: &str) -> String {
    let typed = EXAMPLES.iter().find(|(of, _)| *of == name);
    typed.map_or_else(String::new, |(_, typed)| format!("Example:\n  {typed}"))
}

/// Puts version, page and examples into the command line.
pub(super) fn completed(command: clap::Command) -> clap::Command {
    let command = command
        .version(VERSION.as_str())
        .help_template(PAGE)
        .after_help(OPTIONS);
    EXAMPLES.iter().fold(command, |command, (name, _)| {
        if command.find_subcommand(name).is_none() {
            return command;
        }
        command.mut_subcommand(*name, |sub| {
            let texts: &[&str] = match *name {
                "schema" | "completions" | "manual" => &[],
                "inspect" | "turn" => &[EXIT_CODES],
                "advise" | "library" => &[REQUIRE, SETTINGS, EXIT_CODES],
                _ => &[SETTINGS, EXIT_CODES],
            };
            let example = example(name);
            let whole = texts.iter().copied().chain([example.as_str()]);
            let whole = whole.collect::<Vec<_>>().join("\n\n");
            let short = texts.last().copied().into_iter().chain([example.as_str()]);
            let short = short.collect::<Vec<_>>().join("\n\n");
            sub.after_help(short).after_long_help(whole)
        })
    })
}

/// An error about a flag that was renamed, with its new name as the tip, and with the command that
/// has it where it is not the one `typed`. The parser's own guess and the usage line that goes with it
/// name a flag that nobody asked for: they are left out.
pub(super) fn with_new_name(
    mut error: clap::Error,
    commands: &clap::Command,
    typed: Option<&str>,
) -> clap::Error {
    let Some(ContextValue::String(flag)) = error.get(ContextKind::InvalidArg) else {
        return error;
    };
    if let Some((_, new)) = RENAMED.iter().find(|(was, _)| flag == was) {
        let long = new.strip_prefix("--");
        let has = |sub: &&clap::Command| sub.get_arguments().any(|arg| arg.get_long() == long);
        let here = commands.get_subcommands().filter(has);
        let names: Vec<&str> = here.map(clap::Command::get_name).collect();
        let tip = match names.first() {
            Some(other) if !names.iter().any(|name| typed == Some(name)) => {
                format!("it is called '{new}' now, and 'wayup {other}' has it")
            }
            _ => format!("it is called '{new}' now"),
        };
        error.remove(ContextKind::SuggestedArg);
        error.remove(ContextKind::Usage);
        error.insert(
            ContextKind::Suggested,
            ContextValue::StyledStrs(vec![tip.into()]),
        );
    }
    error
}
