//! The lesson: a page that begins with a question, lets one choose, tips the part from
//! one side onto another and shows what every figure does, and ends with two parts for
//! which the usual rule fails. Without scripts it is a hand-out.
//!
//! - [`tilt`]: the figures while the part tips
//! - [`frames`]: the drawing of each step
//! - [`curves`]: every figure against the tilt
//! - [`blocks`]: two parts for which the usual rule fails
//! - [`set`]: questions on several parts on one page, with an answer sheet

pub mod blocks;
pub mod curves;
pub mod frames;
pub mod set;
pub mod tilt;

use super::act::act;
use super::cautions::in_full;
use super::draw::model::DrawingModel;
use super::draw::small;
use super::draw::surface::MarkedSurface;
use super::figures::{self, FigureKey};
use super::html::{TAIL, escape, figure, head, list};
use super::series::Series;
use super::sheet::SheetJob;
use super::sheet::page::{SheetPose, figures_table, underlined};
use super::sum::{self, Sum};
use super::terms::terms;
use crate::figures::quick::Bench;
use crate::mesh::Part;
use crate::pose::Hull;
use crate::rank::search::{Search, Silent, Wanted};

use crate::advice::{self, Advice, RankedPose};
use crate::settings::Settings;
use crate::words;
use nalgebra::{Unit, Vector3};

/// Said above a lesson whose search had no time to end.
const CUT_SHORT: &str = "<p role=\"note\"><b>The time limit cut the search short.</b> This page shows the best poses found until then; with more time it may show better ones.</p>\n";

/// Answers to choose from at most.
const CHOICES: usize = 4;

/// Poses that the page looks at.
pub const LOOKED_AT: usize = 5;

/// The whole page. `job.advice` holds [`LOOKED_AT`] poses where the part has so many.
///
/// `cut_short` says that the time limit ended the search, so that another run may show other poses.
pub fn page(job: &SheetJob, cut_short: bool) -> String {
    let name = job.name();
    let mut out = head(&format!("Lesson: which way up should {name} go?"), STYLE);
    out.push_str("<main class=\"lesson\">\n");
    if cut_short {
        out.push_str(CUT_SHORT);
    }
    match job.advice.poses.first() {
        Some(first) => {
            let model = DrawingModel::new(job.bench.part);
            let rival = rival(job.advice, first);
            question(&mut out, job, &model, first);
            let from = rival.map_or(-first.pose.down, |r| r.pose.down);
            tipping(&mut out, job, &model, from, first);
            rule(&mut out, job, first);
        }
        None => out.push_str(&format!(
            "<section><h1>{}</h1><p>No pose was found for this part.</p></section>",
            escape(&name)
        )),
    }
    exceptions(&mut out, job.bench.settings);
    out.push_str("</main>\n");
    out.push_str(SCRIPT);
    out.push_str(TAIL);
    out
}

/// The pose that tempts most: the largest contact after the winner.
fn rival<'a>(advice: &'a Advice, first: &RankedPose) -> Option<&'a RankedPose> {
    let contact = |p: &RankedPose| p.figures.contact_area_mm2;
    let others = advice.poses.iter().filter(|p| p.rank != first.rank);
    others.max_by(|a, b| contact(a).total_cmp(&contact(b)).then(b.rank.cmp(&a.rank)))
}

/// The poses to choose from, in an order that gives nothing away, each with its letter.
pub(super) fn choices(advice: &Advice) -> Vec<(char, &RankedPose)> {
    let mut choices: Vec<&RankedPose> = advice.poses.iter().take(CHOICES).collect();
    choices.sort_by(|a, b| {
        let (a, b) = (a.pose.down, b.pose.down);
        a.x.total_cmp(&b.x)
            .then(a.y.total_cmp(&b.y))
            .then(a.z.total_cmp(&b.z))
    });
    ('A'..).zip(choices).collect()
}

/// "Which of these would you print?", with what each choice comes to.
fn question(out: &mut String, job: &SheetJob, model: &DrawingModel, first: &RankedPose) {
    let choices = choices(job.advice);
    let sums: Vec<Sum> = choices.iter().map(|(_, p)| Sum::of(p)).collect();
    let most = sum::most(&sums);
    out.push_str(&format!(
        "<section aria-labelledby=\"q\"><h1 id=\"q\">Which of these would you print?</h1>\n<p>This is <i>{}</i>, the same part each time, standing on the bed of a printer that lays one layer on another from the bed upwards. Layer {} mm, {}. Look first, then choose.</p>\n<fieldset><legend>Your choice</legend><div class=\"choices\">",
        escape(&job.name()),
        words::decimal(job.bench.settings.layer_mm, 3),
        job.bench.settings.material.name
    ));
    let mut answers = String::new();
    for ((letter, pose), sum) in choices.iter().zip(&sums) {
        let standing = SheetPose::new(job, pose);
        let posed = standing.sliced.posed();
        let picture = small::figure(model, posed, None, [60.0, 42.0]);
        let side = words::side_down(&pose.pose.down);
        out.push_str(&format!(
            "<div class=\"choice\"><input type=\"radio\" name=\"choice\" id=\"c{letter}\" value=\"{letter}\"><label for=\"c{letter}\"><b>{letter}</b> {}{}</label></div>",
            escape(&side),
            picture.svg(&format!("{letter}: the part with its {side}"))
        ));
        let surface = MarkedSurface::of(&standing.sliced);
        let marked = small::figure(model, posed, Some(&surface), [60.0, 42.0]);
        let right = pose.rank == first.rank;
        let cost = figures::main_cost(pose, first).map_or_else(String::new, |c| {
            format!(" What speaks most against it: {c}.")
        });
        let opening = if right {
            "This one: pose 1 of all directions that were tried.".to_string()
        } else {
            format!("It is pose {}.{cost}", pose.rank)
        };
        let said: Vec<String> = pose.reasons.iter().take(3).cloned().collect();
        answers.push_str(&format!(
            "<div class=\"answer\" data-for=\"{letter}\"><h3>{letter}: {}</h3><div class=\"two\"><figure>{}</figure><div><p><b>{}</b> {}.</p><p><b>total {}</b>{}{}</p>{}</div></div></div>",
            escape(&side),
            marked.svg(&format!("{letter} with the space that support would fill as upright lines")),
            escape(&opening),
            escape(&words::capital(&act(&pose.pose.down))),
            words::fixed(sum.total, 2),
            sum.bar(most),
            escape(&sum.words()),
            list(&said)
        ));
    }
    out.push_str("</div></fieldset>\n<div class=\"answers\" aria-live=\"polite\"><h2>How your choice scores</h2><p class=\"quiet\">The bar is the sum of the penalties, its largest first; a shorter bar is better.</p>");
    out.push_str(&answers);
    out.push_str("</div></section>\n");
}

/// The part tips from one side onto the winner's.
fn tipping(
    out: &mut String,
    job: &SheetJob,
    model: &DrawingModel,
    from: Unit<Vector3<f64>>,
    first: &RankedPose,
) {
    let bench = job.bench;
    let path = tilt::Path::new(from, &first.pose.down);
    let steps = tilt::steps(&Search::new(bench), &path, bench);
    let curves = curves::curves(&steps, bench.settings);
    let last = steps.len().max(1) - 1;
    out.push_str(&format!(
        "<section aria-labelledby=\"t\"><h2 id=\"t\">Tip it over</h2>\n<p>From the {} onto the {}, {} in all. On the left the part on its bed, on the right what the bed sees of it. Solid ink: contact; 45° hatching: overhang; upright lines: space that support fills. Watch how contact vanishes the moment the part leaves its face, and how support grows.</p>\n",
        escape(&words::side(&from)),
        escape(&words::side(&first.pose.down)),
        words::degrees(path.degrees())
    ));
    out.push_str(&format!(
        "<div class=\"tilting\"><div class=\"beside\"><p class=\"slider\"><label for=\"tip\">Tilt</label><span class=\"ends\"><span>{} down</span><span>{} down</span></span><input type=\"range\" id=\"tip\" min=\"0\" max=\"{last}\" value=\"0\" step=\"1\"><output id=\"angle\" for=\"tip\" aria-hidden=\"true\">0°</output></p>\n<div class=\"frames\">",
        escape(&words::side(&from)),
        escape(&words::side(&first.pose.down))
    ));
    let pictures = frames::frames(model, &steps, bench);
    let keys = [0, last / 4, last / 2, last - last / 4, last];
    for (k, (step, picture)) in steps.iter().zip(&pictures).enumerate() {
        let value = |c: &Series| {
            let said = c.scale.say(c.values[k]);
            format!("<div><dt>{}</dt><dd>{said}</dd></div>", c.figure.label)
        };
        let values: String = curves.iter().map(value).collect();
        let key = if keys.contains(&k) { " key" } else { "" };
        let on = if k == 0 { " on" } else { "" };
        let tilted = words::degrees(step.degrees);
        out.push_str(&format!(
            "<figure class=\"frame{key}{on}\" data-step=\"{k}\" data-words=\"{tilted}\">{}<figcaption><b>{tilted}</b> {}; {}. Right: from below<dl>{values}</dl></figcaption></figure>",
            picture.svg(&format!("The part tipped by {tilted}, {}", words::side_down(&step.down))),
            escape(&words::side_down(&step.down)),
            escape(&act(&step.down))
        ));
    }
    out.push_str("</div></div>\n<div class=\"curves\">");
    for curve in &curves {
        out.push_str(&figure(
            &curves::svg(curve, path.degrees()),
            &curve.figure.means,
        ));
    }
    out.push_str(&format!(
        "</div></div>\n{}<div hidden id=\"pace\" data-mm=\"{}\"></div></section>\n",
        dip_words(&curves, &steps, bench.settings),
        super::draw::picture::number(curves::cursor_mm(last))
    ));
}

/// Why overhang falls and rises again while the part tips; nothing where it does not.
fn dip_words(curves: &[Series], steps: &[tilt::Step], settings: &Settings) -> String {
    let overhang = curves.iter().find(|c| c.figure.key == FigureKey::Overhang);
    let Some(at) = overhang.and_then(|c| curves::dip(&c.values)) else {
        return String::new();
    };
    format!(
        "<p class=\"dip\"><b>Why the dip at {}?</b> A surface counts as overhang only where it leans past the limit of {}. Near this tilt large surfaces lean less than that on one side and on the other, so they print without support. The part then stands on an edge: look at contact before you call it a good pose.</p>\n",
        words::degrees(steps[at].degrees),
        words::degrees(settings.limit_deg)
    )
}

/// Why the largest flat usually goes down, with this part's numbers.
fn rule(out: &mut String, job: &SheetJob, first: &RankedPose) {
    let poses = &job.advice.poses;
    let widest = widest(poses, first);
    out.push_str("<section aria-labelledby=\"r\"><h2 id=\"r\">Why the largest flat usually goes down</h2>\n<p>A print holds to the bed by what touches it and by nothing else. Twice the contact holds twice as much against the pull of shrinking plastic and the push of the nozzle, a low part is a stiff part, and what lies on the bed cannot hang over it. So the wise first try is the largest flat (common practice).</p>\n");
    let [most, own] = [widest, first].map(|p| words::area(p.figures.contact_area_mm2));
    let sentence = if widest.rank == first.rank {
        let listed = poses.len();
        format!(
            "This part follows the rule: of the {listed} listed poses the winner has the most on the bed, {own}."
        )
    } else {
        let cost = figures::main_cost(widest, first);
        let cost = cost.unwrap_or_else(|| "the sum of small things".into());
        let side = words::side(&widest.pose.down);
        format!(
            "This part breaks the rule: its {side} would give {most} on the bed, the winner {own}. What decides: {cost}."
        )
    };
    out.push_str(&format!("<p><b>{}</b></p>\n", escape(&sentence)));
    out.push_str(&figures_table(poses, &job.name()));
    out.push_str(&underlined(&terms(&job.advice.verdict)));
    let named = |p: &RankedPose| {
        let name = format!("{} {}", p.rank, words::side_down(&p.pose.down));
        (name, Sum::of(p))
    };
    out.push_str("<h3>What each total is made of</h3>");
    out.push_str(&sum::list(&poses.iter().map(named).collect::<Vec<_>>()));
    out.push_str("</section>\n");
}

/// The pose with the largest contact, of equal ones the first.
fn widest<'a>(poses: &'a [RankedPose], first: &'a RankedPose) -> &'a RankedPose {
    let contact = |p: &RankedPose| p.figures.contact_area_mm2;
    (poses.iter()).fold(first, |a, b| match contact(b) - contact(a) {
        more if more > 1e-6 => b,
        _ => a,
    })
}

/// Two small parts for which the rule fails, measured like any other.
fn exceptions(out: &mut String, settings: &Settings) {
    out.push_str(
        "<section aria-labelledby=\"x\"><h2 id=\"x\">Two parts for which it does not</h2>\n",
    );
    let plain = Settings {
        load: None,
        show: Vec::new(),
        ..settings.clone()
    };
    if let Some(part) = blocks::fork() {
        exception(
            out,
            &part,
            &plain,
            "A fork",
            "Its foot is the largest flat, and standing on it nothing hangs over. But the two tines are then pushed about by the nozzle, the more the higher they get.",
        );
    }
    if let Some(part) = blocks::hook() {
        exception(
            out,
            &part,
            &plain,
            "A hook",
            "Its back is the largest flat. But lying on it the tip of the hook hangs in the air and has to be held up, and the arm becomes a stack of layers on a narrow root. On its side nothing hangs over, it is a third as high, and every layer follows the whole hook.",
        );
    }
    out.push_str(&format!(
        "</section>\n<section aria-labelledby=\"w\"><h2 id=\"w\">Before you print</h2>{}</section>\n",
        list(&in_full())
    ));
}

/// The pose with the largest contact of all, and the winner.
pub fn largest_and_first(bench: &Bench) -> Option<(RankedPose, RankedPose)> {
    let wanted = Wanted::first(LOOKED_AT);
    let advice = advice::advise(bench, &wanted, &Silent).ok()?;
    let first = advice.poses.first()?.clone();
    Some((widest(&advice.poses, &first).clone(), first))
}

fn exception(out: &mut String, part: &Part, settings: &Settings, name: &str, why: &str) {
    let Ok(hull) = Hull::new(&part.mesh.vertices) else {
        return;
    };
    let bench = Bench::new(part, settings, hull);
    let Some((largest, first)) = largest_and_first(&bench) else {
        return;
    };
    let model = DrawingModel::new(part);
    out.push_str(&format!("<h3>{name}</h3><p>{why}</p><div class=\"two\">"));
    let pair = [(&largest, "Largest flat down"), (&first, "The winner")];
    // Each figure of both in one unit.
    let figures = [
        FigureKey::Contact,
        FigureKey::Slenderness,
        FigureKey::Support,
        FigureKey::Height,
        FigureKey::Total,
    ]
    .map(|key| {
        let figure = figures::figure(key);
        let value = |(pose, _): (&RankedPose, _)| figure.value(&pose.into()).unwrap_or(f64::NAN);
        Series::new(figure, pair.map(value).to_vec())
    });
    for (k, (pose, title)) in pair.into_iter().enumerate() {
        let sliced = pose.sliced(&bench, pose.pose.clone());
        let surface = MarkedSurface::of(&sliced);
        let picture = small::figure(&model, sliced.posed(), Some(&surface), [80.0, 50.0]);
        let values =
            (figures.iter()).map(|s| format!("{} {}", s.figure.label, s.scale.say(s.values[k])));
        let values = words::joined(values, ", ");
        let svg = picture.svg(&format!("{name}, {}", words::side_down(&pose.pose.down)));
        let caption = format!("<b>{title}</b>: {}", escape(&values));
        out.push_str(&figure(&svg, &caption));
    }
    out.push_str("</div>\n");
}

pub(super) const STYLE: &str = include_str!("lesson.css").trim_ascii_end();

/// Shows one answer and one step at a time. Without it all of them stand on the page.
const SCRIPT: &str = include_str!("lesson.html");

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::draw::fixture::bench;

    #[test]
    fn the_largest_flat_loses_on_both_parts_for_the_reason_given() {
        let plain = Settings::default();
        let of = |part: Option<Part>| {
            largest_and_first(&bench(&part.expect("a part"), &plain)).expect("poses")
        };
        let (largest, first) = of(blocks::fork());
        assert!(largest.rank > 1);
        assert!(largest.figures.slender_ratio > 3.0 * first.figures.slender_ratio);
        let (largest, first) = of(blocks::hook());
        assert!(
            largest.rank > 1,
            "{} {}",
            largest.rank,
            largest.pose.down.as_ref()
        );
        assert!(first.pose.down.x.abs() > 0.99, "on its side");
    }
}
