//! One part on one page.

use super::{Page, SheetJob, block, plots, room};
use crate::advice::RankedPose;
use crate::figures::Figures;
use crate::figures::sliced::Sliced;
use crate::pose::Pose;
use crate::report::act::act;
use crate::report::advise::CAUTIONS;
use crate::report::draw::model::DrawingModel;
use crate::report::draw::small;
use crate::report::draw::surface::MarkedSurface;
use crate::report::draw::views::{self, Drawing};
use crate::report::html::{self, escape, figure, list};
use crate::report::purposes;
use crate::report::sum::{self, Sum};
use crate::report::table;
use crate::report::terms::terms;
use crate::words;
use nalgebra::Point3;
use std::iter;

/// Width of the drawing, mm.
pub const WIDE_MM: f64 = 174.0;

/// Size of one of two plots, and of one alone, mm.
const PLOT_MM: [f64; 2] = [37.0, 27.0];
const WIDE_PLOT_MM: [f64; 2] = [76.0, 27.0];

/// Small figures in a row at most.
const SMALL: usize = 4;

/// Said under a table of figures; `terms` are the words that it explains.
pub fn underlined(terms: &str) -> String {
    format!("<p class=\"cautions\">Underlined: the best of the column. {terms}</p>\n")
}

/// A pose set square to the sheet: the default yaw, whatever the bed asked for.
pub struct SheetPose<'a> {
    /// The part in that pose, with the bridges found when it was measured; only a pose that
    /// the bed asked to be turned is cut into layers for its drawing.
    pub sliced: Sliced<'a>,
    /// The figures, with points in that pose.
    pub figures: Figures,
}

impl<'a> SheetPose<'a> {
    /// Sets a ranked pose square.
    pub fn new(job: &SheetJob<'a>, pose: &RankedPose) -> Self {
        let level = Pose::new(&pose.pose.down, &job.bench.hull().vertices);
        let mut figures = pose.figures.clone();
        if let Some(s) = &mut figures.slender {
            let tip = pose
                .pose
                .build_from_part
                .inverse_transform_point(&Point3::from(s.tip_mm));
            s.tip_mm = (level.build_from_part * tip).coords.into();
        }
        Self {
            sliced: pose.sliced(job.bench, level),
            figures,
        }
    }

    /// The drawing in three views and an axonometric one.
    pub fn drawing(&self, job: &SheetJob, model: &DrawingModel, size_mm: [f64; 2]) -> Drawing {
        let mut surface = MarkedSurface::of(&self.sliced);
        surface.markers = purposes::markers(job.advice);
        let name = job.name();
        views::drawing(model, &surface, &self.figures, job.angle, size_mm, &name)
    }
}

/// The page of one part. `model` is the part made ready for drawing.
pub fn page(job: &SheetJob, model: &DrawingModel) -> Page {
    let (advice, level) = (job.advice, job.level());
    let heading = format!("Which way up should {} go?", escape(&job.name()));
    let mut html = String::new();
    let Some(first) = advice.poses.first() else {
        return job.page(&heading, &html, advice.verdict.clone());
    };
    let mut lists = words_of(job, first);
    let rows = advice.poses.len().min(SMALL + 1);
    let others = &advice.poses[1..rows];
    let sums: Vec<Sum> = advice.poses[..rows]
        .iter()
        .map(|p| Sum::of(p).briefer())
        .collect();
    let captions = others.iter().zip(&sums[1..]);
    let terms = terms(&advice.verdict);
    let fixed = room::Fixed {
        verdict: &advice.verdict,
        terms: &terms,
        rows,
        captions: captions.map(|(p, s)| [place(p), total(s)]).collect(),
    };
    let gone = room::fit(&mut lists, fixed.most_words_mm());
    let words_mm = room::words_mm(&lists) + if gone > 0 { room::LINE_MM } else { 0.0 };
    let card = block::ShownCard::within(&first.card, fixed.most_card_lines());
    let drawing_mm = fixed.drawing_mm(words_mm, card.lines());

    let standing = SheetPose::new(job, first);
    let drawing = standing.drawing(job, model, [WIDE_MM, drawing_mm]);
    let posed = standing.sliced.posed();
    let whole = small::figure(model, posed, None, [80.0, 52.0]);
    html.push_str(&format!(
        "<figure class=\"whole\">{}</figure><div class=\"main\" role=\"region\" tabindex=\"0\" aria-label=\"Drawing of {}\">{}</div>\n",
        whole.svg(&format!("{} in its pose, pictorial view", job.name())),
        escape(&job.name()),
        figure(&drawing.picture.svg(&drawing.alt), &drawing.key)
    ));
    let most = sum::most(&sums);
    html.push_str(&format!(
        "<p class=\"winner\"><span>Pose 1: total {}</span>{}<span>{}</span></p>\n",
        words::fixed(sums[0].total, 2),
        sums[0].bar(most),
        escape(&sums[0].words())
    ));
    html.push_str(&small_row(job, model, others, (&sums[1..], most)));
    html.push_str(&figures_table(&advice.poses[..rows], &job.name()));
    html.push_str(&underlined(&terms));
    html.push_str("<div class=\"columns\"><div>\n");
    let headings = [
        "Why this way up",
        "What it costs",
        "On the machine",
        "How sure",
        "What it is for",
    ];
    for (heading, items) in headings.into_iter().zip(&lists) {
        if !items.is_empty() {
            html.push_str(&format!(
                "<h{0}>{heading}</h{0}>{1}\n",
                level + 1,
                list(items)
            ));
        }
    }
    if gone > 0 {
        html.push_str(&format!(
            "<p class=\"cautions\">{} left out for want of room; the command prints them.</p>",
            words::count(gone, "sentence", "sentences")
        ));
    }
    html.push_str("</div><div>\n");
    let decided = plots::two_axes(&advice.poses, PLOT_MM);
    let size = if decided.is_some() {
        PLOT_MM
    } else {
        WIDE_PLOT_MM
    };
    html.push_str(if decided.is_some() {
        "<div class=\"plots\">"
    } else {
        "<div>"
    });
    let story = plots::area_by_height(&first.cuts.profile, standing.sliced.posed().height_mm, size);
    let jumps = "Where the area jumps, a line may show outside.";
    html.push_str(&figure(&story.svg(), jumps));
    if let Some(plot) = decided {
        let joined = "The two penalties that decide; joined: no other pose is better on both.";
        html.push_str(&figure(&plot.svg(), joined));
    }
    html.push_str("</div>\n");
    html.push_str(&format!(
        "<h{0}>Measuring card</h{0}>{1}",
        level + 1,
        card.table()
    ));
    html.push_str("</div></div>\n");
    html.push_str(&block::title_with_cautions(job, &drawing.scale, &CAUTIONS));
    job.page(&heading, &html, advice.verdict.clone())
}

/// What is said: why, what it costs, what to do, how sure, what the part is for.
fn words_of(job: &SheetJob, first: &RankedPose) -> [Vec<String>; 5] {
    let mut why = first.reasons.clone();
    let mut costs: Vec<String> = first
        .roles
        .cost
        .map(|i| why.remove(i))
        .into_iter()
        .collect();
    // What change of the part would help.
    costs.extend(first.design.iter().map(|r| r.says.clone()));
    // What is wrong with the file comes first.
    let mut machine: Vec<String> = job.facts.notes.clone();
    machine.extend(first.precautions.iter().cloned());
    if machine.is_empty() {
        machine.push(
            "Nothing out of the ordinary: clean bed, and watch the first layer go down.".into(),
        );
    }
    let sure = crate::report::advise::how_sure(job.advice);
    [why, costs, machine, sure, purposes::sentences(job.advice)]
}

/// The next poses as small figures in rank order.
fn small_row(
    job: &SheetJob,
    model: &DrawingModel,
    others: &[RankedPose],
    (sums, most): (&[Sum], f64),
) -> String {
    if others.is_empty() {
        return String::new();
    }
    let mut out = String::from("<ol class=\"poses\">");
    for (pose, sum) in others.iter().zip(sums) {
        let standing = SheetPose::new(job, pose);
        let (posed, surface) = (standing.sliced.posed(), MarkedSurface::of(&standing.sliced));
        let picture = small::figure(model, posed, Some(&surface), [40.0, 18.0]);
        let side = words::side_down(&pose.pose.down);
        let svg = picture.svg(&format!("Pose {}: {side}", pose.rank));
        let caption = format!(
            "<b>{}</b> {}{}<span class=\"sum\">{}</span>",
            pose.rank,
            escape(&place(pose)),
            sum.bar(most),
            escape(&total(sum))
        );
        out.push_str(&format!("<li>{}</li>", figure(&svg, &caption)));
    }
    out.push_str("</ol>\n");
    out
}

/// Under a small figure, above its bar: how the pose lies, what rules it out, what to do.
fn place(pose: &RankedPose) -> String {
    let gate = pose.gates.first().map(table::gate_in_words);
    let gate = gate.map_or_else(String::new, |gate| format!(", {gate}"));
    let down = &pose.pose.down;
    format!("{}{gate}; {}", words::side_down(down), act(down))
}

/// Under its bar.
fn total(sum: &Sum) -> String {
    format!("total {}: {}", words::fixed(sum.total, 2), sum.words())
}

/// The figures of the poses, the best of each column underlined.
pub fn figures_table(poses: &[RankedPose], name: &str) -> String {
    let columns = table::columns(&poses.iter().collect::<Vec<_>>());
    let heads = columns.iter().map(|c| match c.unit {
        "" => format!("{} ", c.name),
        unit => format!("{} <span class=\"unit\">{unit}</span>", c.name),
    });
    let rows = poses.iter().enumerate().map(|(i, pose)| {
        let side = words::side_down(&pose.pose.down);
        let cells = columns.iter().map(|c| c.for_page(i)).collect();
        (format!("{}&ensp;{}", pose.rank, escape(&side)), cells)
    });
    html::table(name, iter::once("Pose".into()).chain(heads), rows)
}
