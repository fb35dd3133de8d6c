//! The settings as flags: what the table of settings says of them.

use crate::settings::Settings;
use crate::settings::overrides::Overrides;
use crate::settings::table::{Flag, SETTINGS, Setting, Slot};
use clap::error::ErrorKind;
use clap::{Arg, ArgAction, ArgMatches, Args, FromArgMatches};

/// The settings that have a flag, as flags.
pub fn flags() -> impl Iterator<Item = (&'static Setting, &'static Flag)> {
    SETTINGS.iter().filter_map(|s| Some((s, s.flag.as_ref()?)))
}

impl Args for Overrides {
    fn augment_args(command: clap::Command) -> clap::Command {
        flags().fold(command, |command, (setting, flag)| {
            let read = |text: &str| {
                let slot = setting.slot(&mut Settings::default()).parse(text);
                slot.map(|()| text.to_string())
            };
            let arg = Arg::new(flag.name)
                .long(flag.name)
                .value_name(flag.value)
                .help(flag.help.lines().next())
                .value_parser(read);
            let arg = match setting.slot(&mut Settings::default()) {
                Slot::Number(_) => arg.allow_negative_numbers(true),
                Slot::Triple(_) | Slot::Direction(_) => arg.allow_hyphen_values(true),
                Slot::Directions(_) => arg.allow_hyphen_values(true).action(ArgAction::Append),
                Slot::Weights(_) => arg.action(ArgAction::Append),
                _ => arg,
            };
            let more = flag.help.contains('\n').then_some(flag.help);
            command.arg(arg.long_help(more))
        })
    }

    fn augment_args_for_update(command: clap::Command) -> clap::Command {
        Self::augment_args(command)
    }
}

impl FromArgMatches for Overrides {
    fn from_arg_matches(matches: &ArgMatches) -> Result<Self, clap::Error> {
        let mut out = Self::default();
        out.update_from_arg_matches(matches).map(|()| out)
    }

    fn update_from_arg_matches(&mut self, matches: &ArgMatches) -> Result<(), clap::Error> {
        for (setting, flag) in flags() {
            for text in matches.get_many::<String>(flag.name).into_iter().flatten() {
                let put = self.slot(setting).parse(text);
                put.map_err(|why| clap::Error::raw(ErrorKind::ValueValidation, why))?;
            }
        }
        Ok(())
    }
}
