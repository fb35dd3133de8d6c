//! The comparison as a page.

use super::differences::{cells, rows, sentences};
use super::pick::Picked;
use crate::report::advise::CAUTIONS;
use crate::report::draw::arrange::scale_below;
use crate::report::draw::model::DrawingModel;
use crate::report::draw::pair;
use crate::report::draw::picture::Picture;
use crate::report::html::{escape, figure, list as bullets, table};
use crate::report::sheet::page::SheetPose;
use crate::report::sheet::{Page, SheetJob, block};
use crate::report::table::gate_in_words;
use crate::words;
use std::iter;

/// The comparison as a page: drawings to one scale, figures, differences.
pub fn page(job: &SheetJob, model: &DrawingModel, poses: &[Picked]) -> Page {
    let names: Vec<String> = poses.iter().map(|p| p.name.clone()).collect();
    let counted = words::count(poses.len(), "pose", "poses");
    let heading = format!("{}: {counted} compared", escape(&job.name()));
    let standing: Vec<SheetPose> = poses.iter().map(|p| SheetPose::new(job, p.pose)).collect();
    let wide = 174.0 / poses.len() as f64 - 3.0;
    let room = [wide, if poses.len() > 2 { 92.0 } else { 112.0 }];
    let most = standing
        .iter()
        .map(|s| pair::scale(s.sliced.posed(), room))
        .fold(f64::INFINITY, f64::min);
    let (scale, scale_words) = scale_below(most);
    let pairs: Vec<(Picture, String)> = standing
        .iter()
        .map(|s| pair::pair(job, model, s, room, scale))
        .collect();
    let tallest = pairs.iter().map(|p| p.0.height_mm).fold(0.0, f64::max);
    let mut html = String::from("<div class=\"side-by-side\">");
    for ((pose, (picture, alt)), name) in poses.iter().zip(pairs).zip(&names) {
        // All stand on one line, whatever their heights.
        let mut framed = Picture::new(picture.width_mm, tallest);
        let drop = tallest - picture.height_mm;
        framed.place(picture, 0.0, drop);
        let gate = pose.pose.gates.first().map(gate_in_words);
        let gate = gate.map_or_else(String::new, |gate| format!(": {gate}"));
        let caption = format!("<b>{}</b>{gate}", escape(name));
        html.push_str(&figure(&framed.svg(&alt), &caption));
    }
    html.push_str("</div>\n<p class=\"cautions\">Above, each pose in a pictorial view with the space that support would fill; below, what the bed sees of it: solid ink touches, 45° hatching has to be held up. All to one scale.</p>\n");
    let rows = rows(poses);
    let heads = iter::once("Quantity".into()).chain(poses.iter().map(|p| p.head.clone()));
    let body = rows
        .iter()
        .map(|r| (r.figure.label.clone(), cells(r).collect()));
    html.push_str(&table(&job.name(), heads, body));
    for (i, called) in names.iter().enumerate().skip(1) {
        html.push_str(&format!(
            "<h{0}>{1} against {2}</h{0}>{3}\n",
            job.level() + 1,
            escape(called),
            escape(&names[0]),
            bullets(&sentences(poses, &rows, i))
        ));
    }
    html.push_str(&block::title_with_cautions(job, &scale_words, &CAUTIONS));
    job.page(&heading, &html, format!("Compared: {}.", names.join(", ")))
}
