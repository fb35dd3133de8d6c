//! Command lines that give the same answers, quoted for a POSIX shell.

use super::part::{Base, DeskPart, printed};
use crate::settings::Settings;
use nalgebra::{Unit, Vector3};
use std::fmt::Display;

/// `wayup advise` of a part under some settings.
pub fn advise(part: &DeskPart, settings: &Settings) -> String {
    let mut line = Line::new("advise");
    line.units(part);
    line.settings(&part.base, settings);
    line.path(&part.intake.facts.path);
    line.text
}

/// `wayup turn` of a part, as it fits the bed.
pub fn turn(part: &DeskPart, settings: &Settings, down: &Unit<Vector3<f64>>) -> String {
    let mut line = Line::new("turn");
    line.units(part);
    line.flag("--down", triple(down));
    if let Some(yaw) = part.yaw_deg(down, settings) {
        line.flag("--yaw", yaw);
    }
    line.flag("-o", format!("{}-turned.{}", part.stem(), ending(part)));
    line.path(&part.intake.facts.path);
    line.text
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

struct Line {
    text: String,
}

impl Line {
    fn new(command: &str) -> Self {
        Self {
            text: format!("wayup {command}"),
        }
    }

    fn flag(&mut self, name: &str, value: impl Display) {
        self.text
            .push_str(&format!(" {name} {}", quoted(&value.to_string())));
    }

    fn path(&mut self, path: &str) {
        let rest = if path.starts_with('-') { " --" } else { "" };
        self.text.push_str(&format!("{rest} {}", quoted(path)));
    }

    fn units(&mut self, part: &DeskPart) {
        if part.units_given {
            self.flag("--units", part.intake.units.name());
        }
    }

    /// Every value that a run without flags would not have.
    fn settings(&mut self, base: &Base, now: &Settings) {
        let plain = &base.plain;
        if let Some(file) = &base.named {
            self.flag("--settings", file.display());
        }
        let numbers = [
            ("--layer", plain.layer_mm, now.layer_mm),
            ("--first-layer", plain.first_layer_mm, now.first_layer_mm),
            ("--line", plain.line_mm, now.line_mm),
            ("--limit", plain.limit_deg, now.limit_deg),
            ("--bridge-limit", plain.bridge_limit_mm, now.bridge_limit_mm),
            ("--tolerance", plain.tolerance_mm, now.tolerance_mm),
        ];
        for (name, was, is) in numbers {
            if was != is {
                self.flag(name, is);
            }
        }
        if plain.bed_mm != now.bed_mm {
            let [x, y, z] = now.bed_mm;
            self.flag("--bed", format!("{x},{y},{z}"));
        }
        if plain.material != now.material {
            self.flag("--material", now.material.name);
        }
        if let Some(load) = now.load.filter(|_| plain.load != now.load) {
            self.flag("--load", triple(&load));
        }
        if plain.show != now.show {
            for side in &now.show {
                self.flag("--show", triple(side));
            }
        }
        if plain.aim != now.aim {
            self.flag("--aim", now.aim.word());
        }
        for (row, weight) in now.weights.given() {
            if plain.weights.get(row) != Some(weight) {
                self.flag("--weight", format!("{}={weight}", row.name()));
            }
        }
    }
}
