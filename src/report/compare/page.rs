//! The comparison as a page.

use super::differences::{cells, rows, sentences};
use super::pick::Picked;
use crate::report::act::act;
use crate::report::advise::CAUTIONS;
use crate::report::draw::arrange::scale_below;
use crate::report::draw::model::DrawingModel;
use crate::report::draw::pair;
use crate::report::draw::picture::{Pen, Picture};
use crate::report::html::{escape, figure, list as bullets, table};
use crate::report::series::Series;
use crate::report::sheet::page::SheetPose;
use crate::report::sheet::{Page, SheetJob, block};
use crate::report::sum::{self, Sum};
use crate::report::table::gate_in_words;
use crate::report::terms::terms;
use crate::words::{self, capital};
use std::iter;

/// Height for the drawings by the number of poses, mm: what figures and sentences leave of the page.
const ROOM_MM: [f64; 4] = [136.0, 136.0, 110.0, 92.0];

/// The comparison as a page: drawings to one scale, figures, differences.
pub fn page(job: &SheetJob, model: &DrawingModel, poses: &[Picked]) -> Page {
    let names: Vec<String> = poses.iter().map(|p| p.name.clone()).collect();
    let counted = words::count(poses.len(), "pose", "poses");
    let heading = format!("{}: {counted} compared", escape(&job.name()));
    let standing: Vec<SheetPose> = poses.iter().map(|p| SheetPose::new(job, p.pose)).collect();
    let wide = 174.0 / poses.len() as f64 - 3.0;
    let room = [wide, ROOM_MM[poses.len().min(ROOM_MM.len()) - 1]];
    let most = standing
        .iter()
        .map(|s| pair::scale(s.sliced.posed(), room))
        .fold(f64::INFINITY, f64::min);
    let (scale, scale_words) = scale_below(most);
    let pairs: Vec<(Picture, f64, String)> = standing
        .iter()
        .map(|s| pair::pair(job, model, s, room, scale))
        .collect();
    let pens: Vec<Pen> = (pairs.iter())
        .flat_map(|p| &p.0.strokes)
        .map(|s| s.0)
        .collect();
    // All stand on one line, whatever their heights.
    let most = |of: fn(&(Picture, f64, String)) -> f64| pairs.iter().map(of).fold(0.0, f64::max);
    let (ground, under) = (most(|p| p.1), most(|p| p.0.height_mm - p.1));
    let sums: Vec<Sum> = poses.iter().map(|p| Sum::of(p.pose)).collect();
    let most_total = sum::most(&sums);
    let mut html = String::from("<div class=\"side-by-side\">");
    for ((pose, (picture, own, alt)), name) in poses.iter().zip(pairs).zip(&names) {
        let mut framed = Picture::new(picture.width_mm, ground + under);
        framed.stroke(
            Pen::Thin,
            &[[0.0, ground + 0.4], [picture.width_mm, ground + 0.4]],
        );
        framed.place(picture, 0.0, ground - own);
        let gate = pose.pose.gates.first().map(gate_in_words);
        let gate = gate.map_or_else(String::new, |gate| format!(": {gate}"));
        let sum = Sum::of(pose.pose);
        let caption = format!(
            "<b>{}</b>{gate}<br>{}<br><b>total {}</b>{}{}",
            escape(&capital(name)),
            escape(&act(&pose.pose.pose.down)),
            words::fixed(sum.total, 2),
            sum.bar(most_total),
            escape(&sum.words())
        );
        html.push_str(&figure(&framed.svg(&alt), &caption));
    }
    html.push_str("</div>\n");
    html.push_str(&format!("<p class=\"cautions\">{}</p>\n", key(&pens)));
    let rows = rows(poses);
    let unit = |r: &Series| match r.scale.unit() {
        "" => r.figure.label.clone(),
        unit => format!("{} <span class=\"in\">{unit}</span>", r.figure.label),
    };
    let heads = iter::once("Quantity".into()).chain(poses.iter().map(|p| p.head.clone()));
    let body = rows.iter().map(|r| (unit(r), aligned(r)));
    html.push_str(&format!("<div class=\"flow\"><div class=\"beside\">{}<p class=\"cautions\">Underlined: the best of the row. {}</p></div>\n", table(&job.name(), heads, body), terms(&job.advice.verdict)));
    for (i, called) in names.iter().enumerate().skip(1) {
        html.push_str(&format!(
            "<h{0}>{1} against {2}</h{0}>{3}\n",
            job.level() + 1,
            escape(&capital(called)),
            escape(&names[0]),
            bullets(&sentences(poses, &rows, i))
        ));
    }
    html.push_str("</div>\n");
    html.push_str(&block::title_with_cautions(job, &scale_words, &CAUTIONS));
    job.page(&heading, &html, format!("Compared: {}.", names.join(", ")))
}

/// The cells of a row for a page.
fn aligned(row: &Series) -> Vec<(String, bool, String)> {
    cells(row, true)
        .map(|(text, best)| (text, best, String::new()))
        .collect()
}

/// What the pictures show, and what the hatchings in them mean.
fn key(pens: &[Pen]) -> String {
    let mut out = String::from(
        "Above, each pose in a pictorial view; below, what the bed sees of it. Solid ink: contact",
    );
    for (pen, means) in [
        (Pen::Hatch, "45° hatching: overhang"),
        (Pen::Bridge, "hatching along an arrow: a bridge"),
        (Pen::Prop, "thin upright lines: space that support fills"),
        (Pen::Hidden, "dashed edges lie behind"),
    ] {
        if pens.contains(&pen) {
            out += &format!("; {means}");
        }
    }
    out + ". All to one scale."
}
