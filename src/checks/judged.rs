//! Parts with what came of their requirements.

use crate::checks::require::{Finding, Requirement, Subject};
use serde_json::Value;

/// What is asked of every part.
#[derive(Debug, Clone, Default)]
pub struct Demands {
    /// All of them must hold; no two are the same.
    pub requirements: Vec<Requirement>,
    /// Which pose is judged.
    pub subject: Subject,
}

impl Demands {
    /// The demands with each requirement once.
    pub fn new(given: &[Requirement], subject: Subject) -> Self {
        let mut requirements: Vec<Requirement> = Vec::new();
        for one in given {
            if !requirements.iter().any(|r| r.expr == one.expr) {
                requirements.push(one.clone());
            }
        }
        Self {
            requirements,
            subject,
        }
    }
}

/// One part, judged.
#[derive(Debug, Clone, PartialEq)]
pub struct Judged {
    /// Its path, as given.
    pub path: String,
    /// SHA-256 of the file, where it could be opened.
    pub sha256: Option<String>,
    /// A finding for each requirement in their order, or why the part could not be read.
    pub result: Result<Vec<Finding>, String>,
}

impl Judged {
    /// Judges a record by its line of JSON.
    pub fn of_line(line: &str, demands: &Demands) -> Self {
        match serde_json::from_str(line) {
            Ok(record) => Self::new(&record, demands),
            Err(error) => Self {
                path: String::new(),
                sha256: None,
                result: Err(format!("its record is damaged: {error}")),
            },
        }
    }

    /// Judges a record of a part: an advice object, or one with the key `error`.
    pub fn new(record: &Value, demands: &Demands) -> Self {
        let text = |pointer: &str| Some(record.pointer(pointer)?.as_str()?.to_string());
        let result = if record.get("error").is_some() {
            Err(text("/error/text").unwrap_or_else(|| "cannot be read".into()))
        } else {
            let judge = |r: &Requirement| r.judge(record, demands.subject);
            Ok(demands.requirements.iter().map(judge).collect())
        };
        Self {
            path: text("/part/path").unwrap_or_default(),
            sha256: text("/part/sha256"),
            result,
        }
    }

    /// The requirements that are not met, by their places, each with why.
    pub fn missed<'a>(&'a self, demands: &'a Demands) -> impl Iterator<Item = (usize, String)> {
        let findings = self.result.as_deref().unwrap_or_default();
        let all = demands.requirements.iter().zip(findings).enumerate();
        all.filter_map(|(i, (asked, found))| Some((i, failure(asked, found, demands.subject)?)))
    }
}

/// How many cases there are and how they went. A part that could not be read is one
/// case; one of which nothing is required is one case, that it can be read.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct CaseCounts {
    /// Cases.
    pub cases: usize,
    /// Requirements that are not met.
    pub failed: usize,
    /// Parts that could not be read.
    pub unread: usize,
}

impl CaseCounts {
    /// Counts one part.
    pub fn add(&mut self, judged: &Judged) {
        let Ok(findings) = &judged.result else {
            self.cases += 1;
            self.unread += 1;
            return;
        };
        self.cases += findings.len().max(1);
        self.failed += findings.iter().filter(|f| f.met != Some(true)).count();
    }
}

/// Why a requirement counts as failed, in one sentence; `None` where it is met.
pub fn failure(requirement: &Requirement, finding: &Finding, subject: Subject) -> Option<String> {
    let pose = match subject {
        Subject::Winner => "the best pose",
        Subject::AsStored => "the pose as stored",
    };
    let verdict = match finding.met {
        Some(true) => return None,
        Some(false) => "misses",
        None => "cannot be judged by",
    };
    let (asked, because) = (&requirement.text, &finding.says);
    let colon = if because.is_empty() { "" } else { ": " };
    Some(format!("{pose} {verdict} '{asked}'{colon}{because}"))
}

#[cfg(test)]
pub(super) mod tests {
    use crate::checks::judged::*;
    use serde_json::json;

    /// Three records: good, too much support, and not readable; names that need care.
    pub fn records() -> [Value; 3] {
        let advice = |path: &str, support: f64| {
            json!({"part": {"path": path, "sha256": "ab12"},
                   "poses": [{"figures": {"support_volume_mm3": support, "height_mm": 20.0}}],
                   "as_stored": {"figures": {"support_volume_mm3": 7.5, "height_mm": 30.0}}})
        };
        [
            advice("parts/a & b.stl", 0.0),
            advice("parts/<odd \"name\">\u{7}.stl", 812.5),
            json!({"part": {"path": "/parts/torn.stl", "sha256": null},
                   "error": {"exit": 3, "text": "is truncated at byte 84"}}),
        ]
    }

    pub fn demands(subject: Subject) -> Demands {
        let given = [
            "support_volume_mm3 < 500",
            "height_mm <= 2.5 cm",
            "support_volume_mm3<500",
        ]
        .map(|t| t.parse().expect("a requirement"));
        Demands::new(&given, subject)
    }

    #[test]
    fn a_requirement_given_twice_counts_once() {
        let texts: Vec<String> = demands(Subject::Winner)
            .requirements
            .into_iter()
            .map(|r| r.text)
            .collect();
        assert_eq!(texts, ["support_volume_mm3 < 500", "height_mm <= 2.5 cm"]);
    }

    #[test]
    fn the_winner_or_the_pose_as_stored_is_judged() {
        for (subject, failed) in [(Subject::Winner, 1), (Subject::AsStored, 2)] {
            let mut tally = CaseCounts::default();
            for record in records() {
                tally.add(&Judged::new(&record, &demands(subject)));
            }
            let wanted = CaseCounts {
                cases: 5,
                failed,
                unread: 1,
            };
            assert_eq!(tally, wanted, "{subject:?}");
        }
    }

    #[test]
    fn a_failure_says_the_values() {
        let demands = demands(Subject::Winner);
        let judged = Judged::new(&records()[1], &demands);
        let findings = judged.result.expect("read");
        let says = |i: usize| failure(&demands.requirements[i], &findings[i], demands.subject);
        assert_eq!(
            says(0).as_deref(),
            Some("the best pose misses 'support_volume_mm3 < 500': support_volume_mm3 is 812.5")
        );
        assert_eq!(says(1), None);
    }
}
