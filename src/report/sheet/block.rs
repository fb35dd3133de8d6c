//! The title block and the measuring card.

use super::Job;
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
pub fn title(job: &Job, scale: &str) -> String {
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
        s.aim.word()
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
    let field = |width: u8, label: &str, value: &str| {
        format!(
            "<div class=\"w{width}\"><dt>{label}</dt><dd>{}</dd></div>",
            escape(value)
        )
    };
    let mut out = String::from("<dl class=\"block\">");
    out.push_str(&field(4, "Title", &job.name()));
    out.push_str(&field(3, "Document", "Pose for printing"));
    out.push_str(&field(3, "Size as in the file, mm", &size));
    out.push_str(&field(
        2,
        "Sheet",
        &format!("{} of {}", job.number[0], job.number[1]),
    ));
    out.push_str(&field(2, "Material", s.material.name));
    out.push_str(&field(6, "Settings, mm", &settings));
    out.push_str(&format!(
        "<div class=\"w2\"><dt>Projection</dt><dd>{symbol}</dd></div>"
    ));
    out.push_str(&field(2, "Scale", scale));
    out.push_str(&field(3, "File, SHA-256", &hash));
    out.push_str(&field(
        3,
        "Drawn by",
        &format!("wayup {}", env!("CARGO_PKG_VERSION")),
    ));
    out.push_str(&field(2, "Date", job.date.unwrap_or("")));
    out.push_str(&field(2, "Owner", ""));
    out.push_str(&field(2, "Approved", ""));
    out.push_str("</dl>\n");
    out
}

/// The title block under the cautions.
pub fn title_with_cautions(job: &Job, scale: &str, cautions: &[&str]) -> String {
    format!(
        "<footer class=\"foot\"><p class=\"cautions\">{}</p>\n{}</footer>\n",
        escape(&cautions.join(" ")),
        title(job, scale)
    )
}
