//! A set of questions for a class: one page of several parts, each shown in a few poses with its question,
//! and an answer sheet at the end.

use super::super::act::act;
use super::super::advise::CAUTIONS;
use super::super::draw::model::DrawingModel;
use super::super::draw::small;
use super::super::figures;
use super::super::html::{TAIL, escape, head, list};
use super::super::sheet::SheetJob;
use super::super::sheet::page::SheetPose;
use super::{STYLE, choices, rival};
use crate::advice::RankedPose;
use crate::settings::weights::Penalty;
use crate::words;

/// One part of a set: its question and its row of the answer sheet, as HTML.
#[derive(Debug, Clone)]
pub struct SetPart {
    question: String,
    answer: String,
}

/// What to look for, by the penalty that tells the tempting pose from the best one.
fn question(row: Option<Penalty>) -> &'static str {
    match row {
        Some(Penalty::Slender | Penalty::Sway) => {
            "In which of these does something thin stand tall, so that the nozzle pushes it about?"
        }
        Some(Penalty::Support | Penalty::Overhang | Penalty::Scar) => {
            "Which of these need support, and where would it leave marks?"
        }
        Some(Penalty::Trapped) => "From which of these can the support not be removed?",
        Some(Penalty::Bridge | Penalty::Wide) => {
            "Where would the printer span a gap, and is the span short enough?"
        }
        Some(Penalty::Contact | Penalty::Tip) => "Which of these holds best to the bed?",
        Some(Penalty::Stairs | Penalty::Underside) => {
            "On which surfaces would the layers show as steps, and which side comes out roughest?"
        }
        Some(Penalty::Flat) => "In which of these does the side that must be flat lie on the bed?",
        Some(Penalty::Bores | Penalty::Round) => "In which of these do the holes come out round?",
        Some(Penalty::Load) => "In which of these would the load pull the layers apart?",
        Some(Penalty::Show) => "In which of these does the cosmetic side stay free of marks?",
        Some(Penalty::Height | Penalty::Time) | None => {
            "Which of these prints soonest, and does that matter?"
        }
    }
}

/// The row that speaks most for `first` against `other`.
fn deciding(first: &RankedPose, other: &RankedPose) -> Option<Penalty> {
    let pairs = first.charges.iter().zip(&other.charges);
    let apart = pairs.map(|(a, b)| (a.penalty, b.value - a.value));
    let most = apart.max_by(|a, b| a.1.total_cmp(&b.1));
    most.filter(|m| m.1 > 0.0).map(|m| m.0)
}

/// The part of a set with this number. `job.advice` holds [`LOOKED_AT`](super::LOOKED_AT) poses where
/// the part has so many; a part without a pose gives an empty question.
pub fn part(job: &SheetJob, number: usize) -> SetPart {
    let name = escape(&job.name());
    let Some(first) = job.advice.poses.first() else {
        return SetPart {
            question: format!(
                "<section class=\"task\"><h2>{number}. {name}</h2><p>No pose was found.</p></section>\n"
            ),
            answer: String::new(),
        };
    };
    let model = DrawingModel::new(job.bench.part);
    let choices = choices(job.advice);
    let mut shown = String::new();
    for (letter, pose) in &choices {
        let standing = SheetPose::new(job, pose);
        let picture = small::figure(&model, standing.sliced.posed(), None, [60.0, 42.0]);
        let side = words::side_down(&pose.pose.down);
        shown += &format!(
            "<li><b>{letter}</b>{}</li>",
            picture.svg(&format!("{letter}: {side}"))
        );
    }
    let rival = rival(job.advice, first);
    let question = question(rival.and_then(|r| deciding(first, r)));
    let right = choices.iter().find(|(_, p)| p.rank == first.rank);
    let letter = right.map_or(String::new(), |(l, _)| l.to_string());
    let others = choices.iter().filter(|(_, p)| p.rank != first.rank);
    let against = others.map(|(l, p)| {
        let cost = figures::main_cost(p, first).unwrap_or_else(|| figures::EQUAL.into());
        format!("{l}: {cost}")
    });
    let against = words::joined(against, "; ");
    SetPart {
        question: format!(
            "<section class=\"task\" aria-labelledby=\"part-{number}\"><h2 id=\"part-{number}\">{number}. {name}</h2>\n<p>{question} Which one would you print?</p>\n<ul class=\"four\">{shown}</ul>\n<p class=\"fill\"><span>My choice:</span> <span>because</span></p></section>\n"
        ),
        answer: format!(
            "<tr><th scope=\"row\">{number}. {name}</th><td>{letter}</td><td>{}; {}</td><td>{}</td><td>{}</td></tr>",
            escape(&words::side_down(&first.pose.down)),
            escape(&act(&first.pose.down)),
            escape(&job.advice.verdict),
            escape(&against)
        ),
    }
}

/// The whole page.
pub fn page(parts: &[SetPart]) -> String {
    let mut out = head("Which way up? Questions for a class", STYLE);
    let counted = words::count(parts.len(), "part", "parts");
    out += &format!(
        "<main class=\"lesson set\">\n<section><h1>Which way up? {counted}</h1>\n<p>A printer lays one layer on another, from the bed upwards. Each part is shown in a few poses on the bed. Look first, then choose, and say why. The <a href=\"#answers\">answer sheet</a> is on the last pages: keep it back.</p>\n<p class=\"fill\"><span>Name:</span> <span>Date:</span></p></section>\n"
    );
    out.extend(parts.iter().map(|p| p.question.as_str()));
    out += "<section class=\"answer-sheet\" id=\"answers\"><h2 id=\"answers-t\">Answer sheet</h2>\n<div class=\"scroll\" role=\"region\" tabindex=\"0\" aria-labelledby=\"answers-t\"><table><thead><tr><th scope=\"col\">Part</th><th scope=\"col\">Best</th><th scope=\"col\">Side down</th><th scope=\"col\">Why</th><th scope=\"col\">Against the others</th></tr></thead><tbody>";
    out.extend(parts.iter().map(|p| p.answer.as_str()));
    out += "</tbody></table></div>\n";
    out += &format!(
        "<h3>Before you print</h3>{}</section>\n",
        list(&CAUTIONS.map(String::from))
    );
    out + "</main>\n" + TAIL
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::advice::advise;
    use crate::rank::search::{Silent, Wanted};
    use crate::report::draw::fixture::bench;
    use crate::report::draw::view::Angle;
    use crate::report::json::PartFacts;
    use crate::report::lesson::{LOOKED_AT, blocks};
    use crate::settings::Settings;

    #[test]
    fn a_set_asks_of_each_part_and_answers_at_the_end() {
        let settings = Settings::default();
        let mut parts = Vec::new();
        for (i, part) in [blocks::fork(), blocks::hook()].into_iter().enumerate() {
            let part = part.expect("a part");
            let bench = bench(&part, &settings);
            let advice = advise(&bench, &Wanted::first(LOOKED_AT), &Silent).expect("not stopped");
            let facts = PartFacts::new(&part, &[], Vec::new());
            let job = SheetJob {
                bench: &bench,
                advice: &advice,
                facts: &facts,
                angle: Angle::default(),
                date: None,
                number: [1, 1],
            };
            parts.push(super::part(&job, i + 1));
        }
        let page = page(&parts);
        assert!(parts[0].question.contains("thin"), "{}", parts[0].question);
        assert!(
            parts[1].question.contains("support"),
            "{}",
            parts[1].question
        );
        assert_eq!(page.matches("My choice:").count(), 2);
        assert_eq!(page.matches("<svg").count(), 8);
        let (questions, answers) = page
            .split_once("id=\"answers\"")
            .expect("a sheet of answers");
        assert!(!questions.contains("from the file: turn it"));
        assert_eq!(answers.matches("<tr><th scope=\"row\">").count(), 2);
        assert!(answers.contains("qualified person"));
    }
}
