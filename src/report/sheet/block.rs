//! The title block and the measuring card.

use super::SheetJob;
use crate::gauge::card::{Card, CardGroup, Reading};
use crate::report::draw::dimension;
use crate::report::html::escape;
use crate::words::{decimal, fixed, joined, vector};

/// Readings on the sheet at most: the extents and a few more.
const READINGS: usize = 6;

/// Letters of a reading's name that stand on one line.
const CARD_LETTERS: usize = 15;

/// Letters of the file's hash that tell it apart.
const HASH_LETTERS: usize = 16;

/// The readings that the sheet shows, by group.
pub struct ShownCard<'a>(Vec<(CardGroup, Vec<&'a Reading>)>);

impl<'a> ShownCard<'a> {
    /// All extents, then walls and fits in turn, as many as take no more than `most_lines`.
    pub fn within(card: &'a Card, most_lines: usize) -> Self {
        let extents = Self::of(card, 0);
        let mut tried = (1..=READINGS).rev().map(|most| Self::of(card, most));
        let fitting = tried.find(|shown| shown.lines() <= most_lines);
        fitting.unwrap_or(extents)
    }

    fn of(card: &'a Card, most: usize) -> Self {
        let mut groups: Vec<(CardGroup, Vec<&Reading>)> = card.groups().collect();
        let of = |group: CardGroup| card.lines.iter().filter(|l| l.group == group).count();
        let left = most.saturating_sub(of(CardGroup::Overall));
        let fits = of(CardGroup::Fits);
        let walls = of(CardGroup::Walls).min(left.saturating_sub(fits).max(left.div_ceil(2)));
        for (group, lines) in &mut groups {
            match group {
                CardGroup::Overall => {}
                CardGroup::Walls => lines.truncate(walls),
                CardGroup::Fits => lines.truncate(left - walls),
            }
        }
        groups.retain(|g| !g.1.is_empty());
        Self(groups)
    }

    /// Lines that the rows take: a long name breaks.
    pub fn lines(&self) -> usize {
        let lines = |line: &&Reading| line.label().chars().count().div_ceil(CARD_LETTERS).max(1);
        self.0.iter().flat_map(|(_, all)| all).map(lines).sum()
    }

    /// What the callipers should read, the name of each group beside its rows.
    pub fn table(&self) -> String {
        let row = |line: &&Reading, group: &str| {
            let label = line.label();
            let count = match line.count {
                0 | 1 => String::new(),
                n => format!(", {n} ×"),
            };
            let (size, off) = (decimal(line.nominal_mm, 2), fixed(line.tolerance_mm, 2));
            format!(
                "<tr>{group}<th scope=\"row\">{label}{count}</th><td>{size} ± {off}</td><td></td></tr>"
            )
        };
        let body = |(group, lines): &(CardGroup, Vec<&Reading>)| {
            let name = format!(
                "<th class=\"group\" scope=\"rowgroup\" rowspan=\"{}\">{}</th>",
                lines.len(),
                group.short()
            );
            let rows = lines.iter().enumerate();
            let rows = rows.map(|(i, line)| row(line, if i == 0 { &name } else { "" }));
            format!("<tbody>{}</tbody>", joined(rows, ""))
        };
        let bodies = joined(self.0.iter().map(body), "");
        format!(
            "<table class=\"card\"><thead><tr><th scope=\"col\" colspan=\"2\">Callipers</th><th scope=\"col\">should read, mm</th>\
             <th scope=\"col\">reads</th></tr></thead>{bodies}</table>"
        )
    }
}

/// The title block (fields of ISO 7200, from memory).
pub fn title(job: &SheetJob, scale: &str) -> String {
    let s = job.bench.settings;
    let facts = job.facts;
    let size = facts.size_mm.map(|v| decimal(v, 1)).join(" × ");
    let hash: String = facts.sha256.chars().take(HASH_LETTERS).collect();
    let [layer, first, line] = [s.layer_mm, s.first_layer_mm, s.line_mm].map(|mm| decimal(mm, 3));
    let [limit, bridge] = [s.limit_deg, s.bridge_limit_mm].map(|v| decimal(v, 1));
    let mut settings = format!(
        "layer {layer} (first {first}), line {line}, overhang limit {limit}°, bridges to {bridge} mm, aim {}",
        s.aim.name()
    );
    if let Some(load) = &s.load {
        settings += &format!(", load along {}", vector(load));
    }
    for side in &s.show {
        settings += &format!(", clean side {}", vector(side));
    }
    let symbol = dimension::symbol(job.angle).svg(match job.angle {
        crate::report::draw::view::Angle::First => "First angle projection",
        crate::report::draw::view::Angle::Third => "Third angle projection",
    });
    let sheet = format!("{} of {}", job.number[0], job.number[1]);
    let drawn_by = format!("wayup {}", env!("CARGO_PKG_VERSION"));
    let fields = [
        (4, "Title", escape(&job.name())),
        (3, "Document", "Pose for printing".into()),
        (3, "Size as in the file, mm", escape(&size)),
        (2, "Sheet", sheet),
        (2, "Material", escape(&s.material.name)),
        (6, "Settings, mm", escape(&settings)),
        (2, "Projection", symbol),
        (2, "Scale", escape(scale)),
        (3, "File, SHA-256", escape(&hash)),
        (3, "Drawn by", drawn_by),
        (2, "Date", escape(job.date.unwrap_or(""))),
        (2, "Owner", String::new()),
        (2, "Approved", String::new()),
    ]
    .map(|(width, label, html)| {
        format!("<div class=\"w{width}\"><dt>{label}</dt><dd>{html}</dd></div>")
    });
    format!("<dl class=\"block\">{}</dl>\n", fields.concat())
}

/// The title block under the cautions.
pub fn title_with_cautions(job: &SheetJob, scale: &str, cautions: &[&str]) -> String {
    format!(
        "<footer class=\"foot\"><p class=\"cautions\">{}</p>\n{}</footer>\n",
        escape(&cautions.join(" ")),
        title(job, scale)
    )
}
