//! One part, from its path to its record.

use super::Judge;
use super::record::{Basis, Origin, Record, Refused};
use super::walk::{self, Part};
use crate::mesh::checksum;
use std::time::Instant;

/// What came of one part.
pub(super) enum Done {
    /// Its record holds good.
    Kept,
    /// So does that of a copy, in this row.
    Copy(i64),
    /// Scored, or refused.
    New(Box<Record>),
}

/// The part as it was found.
pub(super) fn origin(part: &Part) -> Origin {
    Origin {
        key: walk::key(&part.path),
        shown: part.path.display().to_string(),
        bytes: part.bytes,
    }
}

/// One part from its path to its record, unless `known` has an answer for its bytes
/// under its settings.
pub(super) fn score(
    part: &Part,
    judge: &dyn Judge,
    known: impl Fn(&Origin, &Basis) -> Option<Done>,
) -> Done {
    let mut origin = origin(part);
    let began = Instant::now();
    let mut basis = Basis::default();
    let read = judge.ground(&part.path).and_then(|ground| {
        let bytes = judge.bytes(&part.path)?;
        Ok((ground, bytes))
    });
    let (ground, bytes) = match read {
        Ok(read) => read,
        Err(refused) => return new(Record::refused(&origin, &refused, basis), &origin),
    };
    origin.bytes = bytes.len() as u64;
    basis.sha256 = Some(checksum(&bytes));
    basis.settings.clone_from(&ground.key);
    if let Some(done) = known(&origin, &basis) {
        return done;
    }
    let read = began.elapsed().as_secs_f64();
    match judge.advise(&part.path, bytes, &ground) {
        Ok(mut answer) => {
            if answer.report.cut_short {
                basis.cut_at_s = judge.limit_s();
            }
            if let Some(seconds) = &mut answer.report.seconds {
                seconds.read += read;
                seconds.total += read;
            }
            new(Record::advised(&origin, answer, basis), &origin)
        }
        Err(refused) => {
            if refused.late {
                basis.cut_at_s = judge.limit_s();
            }
            new(Record::refused(&origin, &refused, basis), &origin)
        }
    }
}

/// A record, or that it could not be made, which is a fault of the program.
fn new(record: serde_json::Result<Record>, origin: &Origin) -> Done {
    record.map_or_else(|_| panicked(origin), |r| Done::New(Box::new(r)))
}

/// The record of a part on which the program itself failed. It holds good for nothing,
/// so the next run tries again.
pub(super) fn panicked(origin: &Origin) -> Done {
    let refused = Refused {
        exit: 3,
        defect: "the program failed on this part".into(),
        hint: "report it with the file; the other parts are not touched by it".into(),
        late: false,
    };
    // Four texts and a number: there is nothing in it that JSON refuses.
    Record::refused(origin, &refused, Basis::default())
        .map_or(Done::Kept, |r| Done::New(Box::new(r)))
}
