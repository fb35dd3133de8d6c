//! How a run ends: the exit codes and the two lines of an error.

use std::fmt;
use std::process::ExitCode;

/// Every way a run can end. The numbers are fixed; scripts rely on them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
#[repr(u8)]
pub enum Exit {
    /// Done.
    Done = 0,
    /// Done, but some part of a library could not be read.
    SomeUnread = 1,
    /// Invalid command line or settings file.
    Words = 2,
    /// A file cannot be read as a mesh. With several parts: at least one of them
    /// cannot; the others have been answered.
    Unreadable = 3,
    /// A part fits the bed in no pose; the advice is still printed. With several
    /// parts, [`Exit::Unreadable`] of another one takes precedence over this.
    FitsNowhere = 4,
    /// The output cannot be written; nothing half-written is left.
    Unwritable = 5,
    /// A part misses a requirement. This takes precedence over [`Exit::SomeUnread`], any other code
    /// over this.
    NotMet = 6,
    /// The time limit ended the work on a part before one pose was measured.
    TooLate = 7,
}

impl From<Exit> for ExitCode {
    fn from(exit: Exit) -> Self {
        Self::from(exit as u8)
    }
}

/// An error that ends a command, or the work on one of several parts.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Failure {
    /// How the run ends because of it.
    pub exit: Exit,
    /// What it is about: a file or a flag. Empty where there is nothing to name.
    pub subject: String,
    /// What is wrong, with its place.
    pub defect: String,
    /// What to do next.
    pub hint: String,
    /// Whether the same may go well another time, with nothing about the part changed.
    pub passing: bool,
}

impl Failure {
    /// A failure with all its parts.
    pub fn new(
        exit: Exit,
        subject: impl Into<String>,
        defect: impl Into<String>,
        hint: impl Into<String>,
    ) -> Self {
        Self {
            exit,
            subject: subject.into(),
            defect: defect.into(),
            hint: hint.into(),
            passing: false,
        }
    }
}

impl std::error::Error for Failure {}

impl fmt::Display for Failure {
    /// `error: <file>: <defect> at <place>`, then `hint: <next step>`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let printable = crate::words::printable;
        let colon = if self.subject.is_empty() { "" } else { ": " };
        write!(
            f,
            "error: {}{colon}{}",
            printable(&self.subject),
            printable(&self.defect)
        )?;
        if !self.hint.is_empty() {
            write!(f, "\nhint: {}", printable(&self.hint))?;
        }
        Ok(())
    }
}
