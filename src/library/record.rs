//! One part's record: the line of JSON, the columns, and what the summary shows.

use super::columns::{self, Cell, RecordParts};
use super::outline::Outlines;
use crate::report::json::{AdviceReport, ErrorReport};
use crate::report::number;
use serde::Serialize;

/// What the advice on a part says yes or no to.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Marks {
    /// A free-standing piece is too slender or too soft there.
    pub sways: bool,
    /// No pose fits the build volume.
    pub does_not_fit: bool,
}

/// Advice on one part as whoever scores it hands it over.
pub struct Answer {
    /// The report; its times are left out of the record.
    pub report: AdviceReport,
    /// Yes or no.
    pub marks: Marks,
    /// The part from the front, in the best pose and as loaded.
    pub outlines: Outlines,
}

/// Why there is no answer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Refused {
    /// Exit code of `advise` for this part.
    pub exit: u8,
    /// What is wrong, with its place.
    pub defect: String,
    /// What to do next.
    pub hint: String,
    /// The time limit ended the work before there was an answer.
    pub late: bool,
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
    /// Whether a record made on this basis answers for a file of that checksum under
    /// those settings and time limit. A search that was cut short answers only where no
    /// more time is given now.
    pub fn holds(&self, sha256: &str, settings: &str, limit_s: Option<f64>) -> bool {
        let time = match (self.cut_at_s, limit_s) {
            (None, _) => true,
            (Some(then), Some(now)) => now <= then,
            (Some(_), None) => false,
        };
        self.sha256.as_deref() == Some(sha256) && self.settings == settings && time
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
    pub cells: Vec<Cell>,
    /// What it holds good for.
    pub basis: Basis,
    /// The part from the front.
    pub outlines: Outlines,
    /// Seconds of reading, and of all the work on it.
    pub seconds: [f64; 2],
}

/// A part as it was found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Origin {
    /// What tells it apart.
    pub key: String,
    /// Path as shown.
    pub shown: String,
    /// Length of the file.
    pub bytes: u64,
}

impl Record {
    /// The record of an advice. The times go beside the JSON, not into it: the same part
    /// gives the same bytes on every run.
    ///
    /// # Errors
    /// The report cannot be put into JSON.
    pub fn advised(origin: &Origin, mut answer: Answer, basis: Basis) -> serde_json::Result<Self> {
        let seconds = answer
            .report
            .seconds
            .take()
            .map_or([0.0; 2], |s| [s.read, s.total]);
        Self::new(
            origin,
            &answer.report,
            Some(answer.marks),
            answer.outlines,
            basis,
            seconds,
        )
    }

    /// The record of a part without advice.
    ///
    /// # Errors
    /// The report cannot be put into JSON.
    pub fn refused(origin: &Origin, refused: &Refused, basis: Basis) -> serde_json::Result<Self> {
        let report = ErrorReport::new(
            origin.shown.clone(),
            basis.sha256.clone(),
            refused.exit,
            &refused.defect,
            &refused.hint,
        );
        Self::new(origin, &report, None, Outlines::default(), basis, [0.0; 2])
    }

    fn new<T: Serialize>(
        origin: &Origin,
        report: &T,
        marks: Option<Marks>,
        outlines: Outlines,
        basis: Basis,
        seconds: [f64; 2],
    ) -> serde_json::Result<Self> {
        let value = number::tree(report)?;
        Ok(Self {
            key: origin.key.clone(),
            line: serde_json::to_string(&value)?,
            cells: columns::cells(&RecordParts {
                value: &value,
                marks,
                bytes: origin.bytes,
            }),
            basis,
            outlines,
            seconds,
        })
    }

    /// Whether there is no advice.
    pub fn is_unread(&self) -> bool {
        columns::place("status").and_then(|i| self.cells.get(i))
            == Some(&Cell::Text("unread".into()))
    }

    /// The record of another file with the same bytes under the same settings: all but
    /// the path is the same. `None` where the line does not begin as a record does.
    #[must_use]
    pub fn moved(mut self, origin: &Origin) -> Option<Self> {
        let place = columns::place("path")?;
        let old = match self.cells.get(place) {
            Some(Cell::Text(old)) => serde_json::to_string(old).ok()?,
            _ => return None,
        };
        let start = self.line.find("\"path\":")? + "\"path\":".len();
        let rest = self.line.get(start..)?.strip_prefix(old.as_str())?;
        let new = serde_json::to_string(&origin.shown).ok()?;
        self.line = format!("{}{new}{rest}", self.line.get(..start)?);
        self.cells[place] = Cell::Text(origin.shown.clone());
        self.key.clone_from(&origin.key);
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
        assert!(whole.holds("ab", "s", None) && whole.holds("ab", "s", Some(1.0)));
        assert!(!whole.holds("ac", "s", None) && !whole.holds("ab", "t", None));
        let cut = basis(Some(5.0));
        assert!(cut.holds("ab", "s", Some(5.0)) && cut.holds("ab", "s", Some(2.0)));
        assert!(!cut.holds("ab", "s", Some(6.0)) && !cut.holds("ab", "s", None));
        assert!(!Basis::default().holds("ab", "", None));
    }

    #[test]
    fn a_moved_record_differs_in_its_path_alone() {
        let origin = |path: &str| Origin {
            key: path.into(),
            shown: path.into(),
            bytes: 7,
        };
        let refused = Refused {
            exit: 3,
            defect: "a \"path\":\"x\" of no good".into(),
            hint: "none".into(),
            late: false,
        };
        let of = |path| {
            let mut r = Record::refused(&origin(path), &refused, Basis::default()).expect("plain");
            // The words of an error name the file; those of an advice do not.
            r.line = r
                .line
                .replace(&format!("{}: a", path.replace('"', "\\\"")), "a");
            r
        };
        let (a, b) = (of("one \"two\".stl"), of("b/ü.stl"));
        assert_ne!(a.line, b.line);
        assert_eq!(a.moved(&origin("b/ü.stl")), Some(b));
    }
}
