//! Judged parts as SARIF: a result for each requirement that is missed and each part
//! that cannot be read.
//!
//! Static Analysis Results Interchange Format (SARIF) Version 2.1.0, OASIS Standard,
//! 27 March 2020. The tests validate against its JSON schema (2.1.0-rtm.5), which the npm
//! package `jest-sarif` carries.

use crate::checks::judged::{Demands, Judged};
use crate::report::layout::percent_encoded;
use serde_json::{Value, json};
use sha2::{Digest, Sha256};
use std::io::{self, Write};

/// Rule of a part that cannot be read; the rules of the requirements come after it.
const UNREADABLE: &str = "unreadable";

/// Where the schema of the standard is published.
const SCHEMA: &str =
    "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json";

/// Writes a report part by part.
pub struct Report<'a, W: Write> {
    to: W,
    demands: &'a Demands,
    /// Identities of the requirements' rules.
    rules: Vec<String>,
    results: usize,
}

impl<'a, W: Write> Report<'a, W> {
    /// Begins a report.
    ///
    /// # Errors
    /// `to` cannot be written.
    pub fn begin(mut to: W, demands: &'a Demands) -> io::Result<Self> {
        let rules: Vec<String> = demands
            .requirements
            .iter()
            .map(|r| identity(&r.expr.to_string()))
            .collect();
        let mut all = vec![rule(UNREADABLE, "the part can be read")];
        all.extend(
            rules
                .iter()
                .zip(&demands.requirements)
                .map(|(id, r)| rule(id, &r.text)),
        );
        let tool = json!({"driver": {
            "name": "wayup", "version": env!("CARGO_PKG_VERSION"), "rules": all
        }});
        write!(
            to,
            "{{\"$schema\":{},\"version\":\"2.1.0\",\"runs\":[{{\"tool\":{tool},\"columnKind\":\"unicodeCodePoints\",\"results\":[",
            json!(SCHEMA)
        )?;
        Ok(Self {
            to,
            demands,
            rules,
            results: 0,
        })
    }

    /// Writes what one part misses, if anything.
    ///
    /// # Errors
    /// The file cannot be written.
    pub fn part(&mut self, judged: &Judged) -> io::Result<()> {
        if let Err(why) = &judged.result {
            return self.result(judged, UNREADABLE, 0, why);
        }
        for (i, why) in judged.missed(self.demands) {
            let id = self.rules[i].clone();
            self.result(judged, &id, i + 1, &why)?;
        }
        Ok(())
    }

    fn result(&mut self, judged: &Judged, id: &str, index: usize, why: &str) -> io::Result<()> {
        let mut result = json!({
            "ruleId": id,
            "ruleIndex": index,
            "level": "error",
            "message": {"text": why},
            "locations": [{"physicalLocation": {"artifactLocation": {"uri": uri(&judged.path)}}}],
        });
        if let Some(sha256) = &judged.sha256 {
            result["partialFingerprints"] = json!({"partSha256/v1": sha256});
        }
        let comma = if self.results > 0 { "," } else { "" };
        self.results += 1;
        write!(self.to, "{comma}\n{result}")
    }

    /// Ends the report.
    ///
    /// # Errors
    /// The file cannot be written.
    pub fn end(mut self) -> io::Result<()> {
        self.to.write_all(b"]}]}\n")?;
        self.to.flush()
    }
}

fn rule(id: &str, says: &str) -> Value {
    json!({"id": id, "shortDescription": {"text": says}, "defaultConfiguration": {"level": "error"}})
}

/// An identity that stays the same when other requirements come and go.
fn identity(expression: &str) -> String {
    let hash = Sha256::digest(expression.as_bytes());
    let start = u32::from_be_bytes([hash[0], hash[1], hash[2], hash[3]]);
    format!("require-{start:08x}")
}

/// A path as a URI reference (RFC 3986): `file:` where it is absolute, else relative to
/// wherever the program was started.
fn uri(path: &str) -> String {
    let scheme = if path.starts_with('/') { "file://" } else { "" };
    let safe = |c: char| c.is_ascii_alphanumeric() || "-._~/".contains(c);
    format!("{scheme}{}", percent_encoded(path, safe))
}

#[cfg(test)]
mod tests {
    use crate::checks::judged::tests::{demands, records};
    use crate::checks::require::Subject;
    use crate::checks::sarif::*;

    fn report(demands: &Demands) -> Value {
        let mut out = Vec::new();
        let mut report = Report::begin(&mut out, demands).expect("memory");
        for record in records() {
            report.part(&Judged::new(&record, demands)).expect("memory");
        }
        report.end().expect("memory");
        serde_json::from_slice(&out).expect("JSON")
    }

    #[test]
    fn what_is_missed_and_what_is_unread() {
        let log = report(&demands(Subject::AsStored));
        let run = &log["runs"][0];
        let results = run["results"].as_array().expect("results");
        let seen: Vec<(&str, u64, &str, &str)> = results
            .iter()
            .map(|r| {
                (
                    r["ruleId"].as_str().unwrap_or("")[..7].into(),
                    r["ruleIndex"].as_u64().unwrap_or(9),
                    r["locations"][0]["physicalLocation"]["artifactLocation"]["uri"]
                        .as_str()
                        .unwrap_or(""),
                    r["message"]["text"].as_str().unwrap_or(""),
                )
            })
            .collect();
        let tall = "the pose as stored misses 'height_mm <= 2.5 cm': height_mm is 30.0";
        assert_eq!(
            seen,
            [
                ("require", 2, "parts/a%20%26%20b.stl", tall),
                ("require", 2, "parts/%3Codd%20%22name%22%3E%07.stl", tall),
                (
                    "unreada",
                    0,
                    "file:///parts/torn.stl",
                    "is truncated at byte 84"
                ),
            ]
        );
        let rules = run["tool"]["driver"]["rules"].as_array().expect("rules");
        for result in results {
            let index = result["ruleIndex"].as_u64().expect("an index") as usize;
            assert_eq!(rules[index]["id"], result["ruleId"]);
        }
        assert_eq!(results[0]["partialFingerprints"]["partSha256/v1"], "ab12");
        assert!(results[2].get("partialFingerprints").is_none());
    }

    #[test]
    fn an_identity_is_of_the_meaning_not_of_the_spelling() {
        let id = |text: &str| {
            let r: crate::checks::require::Requirement = text.parse().expect(text);
            identity(&r.expr.to_string())
        };
        assert_eq!(id("layers<5"), id("( layers  < 5.0 )"));
        assert_ne!(id("layers < 5"), id("layers < 6"));
    }
}
