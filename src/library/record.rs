//! One part's record: the line of JSON, the columns, and what the summary shows.

use super::columns::{self, Flags, RecordParts};
use super::outline::Outlines;
use super::walk::{self, PartFile};
use crate::report::first::FirstAnswer;
use crate::report::json::{AdviceReport, ErrorReport};
use crate::report::number;
use crate::session::exit::{Exit, Failure};
use serde::Serialize;
use serde_json::Value;

/// Advice on one part as it was scored.
pub struct ScoredPart {
    /// The report; its times are left out of the record.
    pub report: AdviceReport,
    /// Yes or no.
    pub flags: Flags,
    /// The part from the front, in the best pose and as stored.
    pub outlines: Outlines,
    /// The page that `advise --sheet` makes, where it is asked for.
    pub sheet: Option<String>,
}

/// What a record holds good for: the same file under the same basis need not be scored
/// again.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Basis {
    /// SHA-256 of the file's bytes; none where it could not be read.
    pub sha256: Option<String>,
    /// Fingerprint of program version and settings in force.
    pub settings: String,
    /// Time limit, seconds, where it ended the search.
    pub cut_at_s: Option<f64>,
}

impl Basis {
    /// Whether a record made on this basis answers for a file on that one under that time
    /// limit. A search that was cut short answers only where no more time is given now.
    pub fn holds(&self, asked: &Self, limit_s: Option<f64>) -> bool {
        let time = match (self.cut_at_s, limit_s) {
            (None, _) => true,
            (Some(then), Some(now)) => now <= then,
            (Some(_), None) => false,
        };
        let same = self.sha256.is_some() && self.sha256 == asked.sha256;
        same && self.settings == asked.settings && time
    }
}

/// A part's record.
#[derive(Debug, Clone, PartialEq)]
pub struct Record {
    /// What tells the part apart ([`super::walk::key`]).
    pub key: String,
    /// The JSON, without a line break.
    pub line: String,
    /// Its columns, in the order of [`columns::COLUMNS`].
    pub cells: Vec<Value>,
    /// What it holds good for.
    pub basis: Basis,
    /// The part from the front.
    pub outlines: Outlines,
    /// Seconds of reading, and of all the work on it.
    pub seconds: [f64; 2],
    /// The sheet, of a part that was scored just now; it is not kept in the database.
    pub sheet: Option<String>,
}

impl Record {
    /// The record of an advice. The times go beside the JSON, not into it: the same part
    /// gives the same bytes on every run.
    ///
    /// # Errors
    /// The report cannot be put into JSON.
    pub fn advised(
        file: &PartFile,
        mut scored: ScoredPart,
        basis: Basis,
    ) -> serde_json::Result<Self> {
        let seconds = scored.report.seconds.take();
        let record = Self::new(file, &scored.report, Some(scored.flags), basis)?;
        Ok(Self {
            outlines: scored.outlines,
            sheet: scored.sheet,
            seconds: seconds.map_or([0.0; 2], |s| [s.read, s.total]),
            ..record
        })
    }

    /// The record of a part of which no pose was measured in time.
    ///
    /// # Errors
    /// The report cannot be put into JSON.
    pub fn first(file: &PartFile, first: FirstAnswer, basis: Basis) -> serde_json::Result<Self> {
        let report = FirstAnswer {
            seconds: None,
            ..first
        };
        Self::new(file, &report, None, basis)
    }

    /// The record of a part without advice.
    ///
    /// # Errors
    /// The report cannot be put into JSON.
    pub fn refused(file: &PartFile, why: &Failure, basis: Basis) -> serde_json::Result<Self> {
        // A settings file is not the part itself: it has to be named.
        let defect = if why.exit == Exit::Words && !why.subject.is_empty() {
            format!("{}: {}", why.subject, why.defect)
        } else {
            why.defect.clone()
        };
        let (shown, sha256) = (file.path.display().to_string(), basis.sha256.clone());
        let report = ErrorReport::new(shown, sha256, why.exit as u8, &defect, &why.hint);
        Self::new(file, &report, None, basis)
    }

    fn new<T: Serialize>(
        file: &PartFile,
        report: &T,
        flags: Option<Flags>,
        basis: Basis,
    ) -> serde_json::Result<Self> {
        let value = number::tree(report)?;
        Ok(Self {
            key: walk::key(&file.path),
            line: serde_json::to_string(&value)?,
            cells: columns::cells(&RecordParts {
                value: &value,
                flags,
                bytes: file.bytes,
            }),
            basis,
            outlines: Outlines::default(),
            seconds: [0.0; 2],
            sheet: None,
        })
    }

    /// Whether there is no advice.
    pub fn is_unread(&self) -> bool {
        columns::named(&self.cells, "status") == "unread"
    }

    /// The record of another file with the same bytes under the same settings: all but
    /// the path is the same. `None` where the line does not begin as a record does.
    #[must_use]
    pub fn moved(mut self, file: &PartFile) -> Option<Self> {
        let place = columns::place("path")?;
        let new = Value::from(file.path.display().to_string());
        let old = std::mem::replace(self.cells.get_mut(place)?, new);
        let start = self.line.find("\"path\":")? + "\"path\":".len();
        let rest = self.line.get(start..)?.strip_prefix(&old.to_string())?;
        self.line = format!("{}{}{rest}", self.line.get(..start)?, self.cells[place]);
        self.key = walk::key(&file.path);
        self.seconds = [0.0; 2];
        Some(self)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_record_holds_for_the_same_bytes_settings_and_no_more_time() {
        let basis = |cut_at_s| Basis {
            sha256: Some("ab".into()),
            settings: "s".into(),
            cut_at_s,
        };
        let whole = basis(None);
        let asked = |sum: &str, settings: &str| Basis {
            sha256: Some(sum.into()),
            settings: settings.into(),
            cut_at_s: None,
        };
        let same = asked("ab", "s");
        assert!(whole.holds(&same, None) && whole.holds(&same, Some(1.0)));
        assert!(!whole.holds(&asked("ac", "s"), None) && !whole.holds(&asked("ab", "t"), None));
        let cut = basis(Some(5.0));
        assert!(cut.holds(&same, Some(5.0)) && cut.holds(&same, Some(2.0)));
        assert!(!cut.holds(&same, Some(6.0)) && !cut.holds(&same, None));
        assert!(!Basis::default().holds(&asked("ab", ""), None));
        assert!(!Basis::default().holds(&Basis::default(), None));
    }

    #[test]
    fn a_moved_record_differs_in_its_path_alone() {
        let file = |path: &str| PartFile {
            path: path.into(),
            bytes: 7,
        };
        let refused = Failure::new(Exit::Unreadable, "", "a \"path\":\"x\" of no good", "none");
        let of = |path| {
            let mut r = Record::refused(&file(path), &refused, Basis::default()).expect("plain");
            // The words of an error name the file; those of an advice do not.
            r.line = r
                .line
                .replace(&format!("{}: a", path.replace('"', "\\\"")), "a");
            r
        };
        let (a, b) = (of("one \"two\".stl"), of("b/ü.stl"));
        assert_ne!(a.line, b.line);
        assert_eq!(a.moved(&file("b/ü.stl")), Some(b));
    }
}
