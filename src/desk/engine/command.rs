//! Command lines that give the same answers, quoted for a POSIX shell.

use super::part::{DeskPart, printed};
use crate::session::config::Resolved;
use crate::settings::Settings;
use crate::settings::table::{SETTINGS, Slot};
use nalgebra::{Unit, Vector3};
use std::fmt::Display;

/// `wayup advise` of a part under some settings.
pub fn advise(part: &DeskPart, settings: &Settings) -> String {
    let mut line = CommandLine::new("advise", part);
    line.settings(&part.base, settings);
    line.of(part)
}

/// `wayup turn` of a part, as it fits the bed.
pub fn turn(part: &DeskPart, settings: &Settings, down: &Unit<Vector3<f64>>) -> String {
    let mut line = CommandLine::new("turn", part);
    line.flag("--down", triple(down));
    if let Some(yaw) = part.yaw_deg(down, settings) {
        line.flag("--yaw", yaw);
    }
    line.flag("-o", format!("{}-turned.{}", part.stem(), ending(part)));
    line.of(part)
}

/// The ending of a turned file: that of the part, where it can be written.
fn ending(part: &DeskPart) -> &str {
    match part.intake.facts.format.as_str() {
        "off" => "stl",
        format => format,
    }
}

/// A word as a shell takes it: plain ones as they are, others in single quotes.
fn quoted(word: &str) -> String {
    let plain = |c: char| c.is_ascii_alphanumeric() || "_./+=:,@%-".contains(c);
    if !word.is_empty() && word.chars().all(plain) {
        return word.to_string();
    }
    format!("'{}'", word.replace('\'', r"'\''"))
}

fn triple(d: &Unit<Vector3<f64>>) -> String {
    let [x, y, z] = printed(d);
    format!("{x},{y},{z}")
}

/// A command and its flags, in the making.
struct CommandLine(String);

impl CommandLine {
    fn new(command: &str, part: &DeskPart) -> Self {
        let mut line = Self(format!("wayup {command}"));
        if part.units_given {
            line.flag("--units", part.intake.units.name());
        }
        line
    }

    fn flag(&mut self, name: &str, value: impl Display) {
        self.0 += &format!(" {name} {}", quoted(&value.to_string()));
    }

    /// The whole line, with the path of the part.
    fn of(self, part: &DeskPart) -> String {
        let path = &part.intake.facts.path;
        let rest = if path.starts_with('-') { " --" } else { "" };
        format!("{}{rest} {}", self.0, quoted(path))
    }

    /// Every value that a run without flags would not have.
    fn settings(&mut self, base: &Resolved, now: &Settings) {
        let plain = &base.plain;
        if let Some(file) = &base.named {
            self.flag("--settings", file.display());
        }
        let (mut was, mut is) = (plain.clone(), now.clone());
        for setting in &SETTINGS {
            let (was, is) = (setting.slot(&mut was), setting.slot(&mut is));
            let Some(flag) = setting.flag.as_ref().filter(|_| was != is) else {
                continue;
            };
            let values = match is {
                Slot::Number(x) => vec![x.to_string()],
                Slot::Whole(n) => vec![n.to_string()],
                Slot::Triple([x, y, z]) => vec![format!("{x},{y},{z}")],
                Slot::Material(material) => vec![material.name.clone()],
                Slot::Direction(load) => load.iter().map(triple).collect(),
                Slot::Directions(sides) => sides.iter().map(triple).collect(),
                Slot::Aim(aim) => vec![aim.name().to_string()],
                Slot::Weights(weights) => weights
                    .given()
                    .filter(|(row, weight)| plain.weights.get(*row) != Some(*weight))
                    .map(|(row, weight)| format!("{}={weight}", row.name()))
                    .collect(),
            };
            for value in values {
                self.flag(&format!("--{}", flag.name), value);
            }
        }
    }
}
