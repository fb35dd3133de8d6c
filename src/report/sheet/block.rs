//! The title block and the measuring card.

use super::SheetJob;
use crate::gauge::card::{Card, Measurement};
use crate::report::draw::dimension;
use crate::report::html::escape;
use crate::words::{decimal, vector};

/// Readings on the sheet at most: the extents and a few more.
pub const READINGS: usize = 6;

/// Letters of the file's hash that tell it apart.
const HASH_LETTERS: usize = 16;

/// What the callipers should read.
pub fn card(card: &Card) -> String {
    let rows: String = card
        .lines
        .iter()
        .take(READINGS)
        .map(|line| {
            let along = match line.kind {
                Measurement::Extent => format!("{} over all", line.along),
                Measurement::Thickness => format!("wall along {}", line.along),
                Measurement::Slot => format!("slot along {}", line.along),
                Measurement::Bore => format!("bore Ø about {}", line.along),
                Measurement::Pin => format!("pin Ø about {}", line.along),
            };
            let count = if line.count > 1 {
                format!(", {} ×", line.count)
            } else {
                String::new()
            };
            format!(
                "<tr><th scope=\"row\">{along}{count}</th><td>{} ± {}</td><td></td></tr>",
                decimal(line.nominal_mm, 2),
                decimal(line.tolerance_mm, 2)
            )
        })
        .collect::<Vec<_>>()
        .concat();
    format!(
        "<table class=\"card\"><thead><tr><th scope=\"col\">Callipers</th><th scope=\"col\">should read, mm</th>\
         <th scope=\"col\">reads</th></tr></thead><tbody>{rows}</tbody></table>"
    )
}

/// The title block (fields of ISO 7200, from memory).
pub fn title(job: &SheetJob, scale: &str) -> String {
    let s = job.bench.settings;
    let facts = job.facts;
    let size = facts.size_mm.map(|v| decimal(v, 1)).join(" × ");
    let hash: String = facts.sha256.chars().take(HASH_LETTERS).collect();
    let mut settings = format!(
        "layer {} (first {}), line {}, overhang limit {}°, bridges to {} mm, aim {}",
        decimal(s.layer_mm, 3),
        decimal(s.first_layer_mm, 3),
        decimal(s.line_mm, 3),
        decimal(s.limit_deg, 1),
        decimal(s.bridge_limit_mm, 1),
        s.aim.name()
    );
    if let Some(load) = &s.load {
        settings.push_str(&format!(", pull along {}", vector(load)));
    }
    for side in &s.show {
        settings.push_str(&format!(", clean side {}", vector(side)));
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
