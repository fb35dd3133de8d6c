//! The comparison as a page.

use super::{Comparison, Picked, rows, sentences};
use crate::report::advise::CAUTIONS;
use crate::report::draw::arrange::scale_below;
use crate::report::draw::model::DrawingModel;
use crate::report::draw::pair;
use crate::report::draw::picture::Picture;
use crate::report::html::{escape, list as bullets};
use crate::report::sheet::page::SheetPose;
use crate::report::sheet::{Page, SheetJob, block};
use crate::report::table::gate_in_words;
use crate::words;

/// The comparison as a page: drawings to one scale, figures, differences.
pub fn page(job: &SheetJob, model: &DrawingModel, poses: &[Picked]) -> Page {
    let id = format!("part-{}", job.number[0]);
    let level = if job.number[1] > 1 { 2 } else { 1 };
    let name = escape(&job.name());
    let names: Vec<String> = poses.iter().map(|p| p.name.clone()).collect();
    let verdict = format!("Compared: {}.", names.join(", "));
    let mut html = format!(
        "<article class=\"sheet\" id=\"{id}\" aria-labelledby=\"{id}-t\">\n<header><h{level} id=\"{id}-t\">{name}: {} compared</h{level}>\n<p class=\"verdict\">{}</p></header>\n",
        words::count(poses.len(), "pose", "poses"),
        escape(&job.advice.verdict)
    );
    let standing: Vec<SheetPose> = poses.iter().map(|p| SheetPose::new(job, p.pose)).collect();
    let wide = 174.0 / poses.len() as f64 - 3.0;
    let room = [wide, if poses.len() > 2 { 92.0 } else { 112.0 }];
    let most = standing
        .iter()
        .map(|s| pair::scale(&s.posed, room))
        .fold(f64::INFINITY, f64::min);
    let (scale, scale_words) = scale_below(most);
    let pairs: Vec<(Picture, String)> = standing
        .iter()
        .map(|s| pair::pair(job, model, s, room, scale))
        .collect();
    let tallest = pairs.iter().map(|p| p.0.height_mm).fold(0.0, f64::max);
    html.push_str("<div class=\"side-by-side\">");
    for ((pose, (picture, alt)), name) in poses.iter().zip(pairs).zip(&names) {
        // All stand on one line, whatever their heights.
        let mut framed = Picture::new(picture.width_mm, tallest);
        let drop = tallest - picture.height_mm;
        framed.place(picture, 0.0, drop);
        html.push_str(&format!(
            "<figure>{}<figcaption><b>{}</b>{}</figcaption></figure>",
            framed.svg(&alt),
            escape(name),
            if pose.pose.gates.is_empty() {
                String::new()
            } else {
                format!(": {}", gate_in_words(&pose.pose.gates[0]))
            }
        ));
    }
    html.push_str("</div>\n<p class=\"cautions\">Above, each pose in axonometry with the room that support would fill; below, what the bed sees of it: solid ink touches, 45° hatching has to be held up. All to one scale.</p>\n");
    let rows = rows(poses);
    html.push_str(&table_html(poses, &rows, &job.name()));
    for (i, called) in names.iter().enumerate().skip(1) {
        html.push_str(&format!(
            "<h{0}>{1} against {2}</h{0}>{3}\n",
            level + 1,
            escape(called),
            escape(&names[0]),
            bullets(&sentences(poses, &rows, i))
        ));
    }
    html.push_str(&block::title_with_cautions(job, &scale_words, &CAUTIONS));
    html.push_str("</article>\n");
    Page {
        id,
        name: job.name(),
        verdict,
        html,
    }
}

fn table_html(poses: &[Picked], rows: &[Comparison], name: &str) -> String {
    let mut out = format!(
        "<div class=\"scroll figures\" role=\"region\" aria-label=\"Figures of {}\" tabindex=\"0\"><table><thead><tr><th scope=\"col\">Quantity</th>",
        escape(name)
    );
    for p in poses {
        out.push_str(&format!("<th scope=\"col\">{}</th>", p.head));
    }
    out.push_str("</tr></thead><tbody>");
    for row in rows {
        out.push_str(&format!("<tr><th scope=\"row\">{}</th>", row.figure.label));
        for (cell, best) in row.cells().iter().zip(row.best()) {
            let class = if best { " class=\"best\"" } else { "" };
            out.push_str(&format!("<td{class}>{}</td>", escape(cell)));
        }
        out.push_str("</tr>");
    }
    out.push_str("</tbody></table></div>\n");
    out
}
