//! Why a file is not a part: a closed list of defects, each with a place and a next step.

use crate::words::printable;
use std::fmt;
use std::time::Instant;

/// Where in a file something is wrong.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Place {
    /// Offset in bytes from the start of the file (of the unpacked model inside a package).
    Byte(u64),
    /// Line, counted from 1.
    Line(u64),
    /// Face, counted from 1.
    Face(u64),
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Byte(at) => write!(f, "at byte {at}"),
            Self::Line(at) => write!(f, "at line {at}"),
            Self::Face(at) => write!(f, "at face {at}"),
        }
    }
}

/// What is wrong with a file that cannot be read as a printable mesh.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum ReadFault {
    /// No such file.
    #[error("no such file")]
    NotFound,
    /// The file may not be read.
    #[error("no permission to read it")]
    NoPermission,
    /// The path is a folder.
    #[error("is a folder, not a file")]
    Folder,
    /// The system could not read it; its own words.
    #[error("cannot be read: {0}")]
    Unreadable(String),
    /// Zero bytes.
    #[error("is empty (0 bytes)")]
    Empty,
    /// Content of no known mesh format.
    #[error("is not a mesh: its content is none of STL, 3MF, OBJ, PLY, OFF")]
    NotAMesh,
    /// A compressed file or archive that is not 3MF; its kind.
    #[error("is {0}, not a mesh")]
    Archive(&'static str),
    /// A known format in a variant that is not read; which.
    #[error("uses {0}, which is not read")]
    Unsupported(&'static str),
    /// A 3MF package whose entries are compressed otherwise than 3MF has it; how.
    #[error("is packed with {0}, and of a 3MF package only deflate is read")]
    Compression(&'static str),
    /// Ends too soon; what was expected.
    #[error("is truncated: {0}")]
    CutShort(String),
    /// A record that breaks the rules of the format; which.
    #[error("{0}")]
    BadRecord(String),
    /// A coordinate that is not a number or infinite.
    #[error("a coordinate is not a finite number")]
    NotFinite,
    /// A face names a vertex that the file does not have.
    #[error("a face names vertex {index}, but there are {vertices} vertices")]
    IndexOutOfRange {
        /// The index as written in the file.
        index: i64,
        /// How many vertices there are.
        vertices: u64,
    },
    /// Readable, but without one usable triangle.
    #[error("holds no usable triangle")]
    NoTriangles,
    /// All vertices lie on one plane (or line): nothing encloses a volume.
    #[error("is a flat sheet without volume")]
    Flat,
    /// One vertex lies so far out that all others are one place beside it; where, in mm.
    #[error("has a stray vertex at ({0}) mm, far from all others")]
    Stray(String),
    /// More triangles than are taken in.
    #[error("has at least {triangles} triangles, more than the {limit} that are taken")]
    TooManyTriangles {
        /// As many as the file holds, at least.
        triangles: u64,
        /// The most that are taken.
        limit: u64,
    },
    /// A package unpacks to more bytes than allowed.
    #[error("unpacks to more than {} MB", .limit_bytes / 1_000_000)]
    Inflates {
        /// The most that is unpacked.
        limit_bytes: u64,
    },
    /// A package with too many entries.
    #[error("is a package of {entries} entries, more than the {limit} that are taken")]
    TooManyEntries {
        /// Entries it claims.
        entries: u64,
        /// The most that are taken.
        limit: u64,
    },
    /// A package that places too many objects.
    #[error("places {objects} objects, more than the {limit} that are taken")]
    TooManyObjects {
        /// Objects it places, those inside others included.
        objects: u64,
        /// The most that are taken.
        limit: u64,
    },
    /// The time for reading was over.
    #[error("could not be read in the time given")]
    TooLate,
    /// 3MF objects that contain themselves.
    #[error("object {object} contains itself")]
    ComponentCycle {
        /// Identifier of an object on the cycle.
        object: u32,
    },
}

impl ReadFault {
    /// A face that names a vertex, counted as in the file, which it does not have.
    pub(crate) fn no_vertex(index: impl Into<i64>, vertices: usize) -> Self {
        let (index, vertices) = (index.into(), vertices as u64);
        Self::IndexOutOfRange { index, vertices }
    }

    /// An error where the time is over.
    pub(crate) fn if_late(until: Option<Instant>) -> Result<(), Self> {
        if until.is_some_and(|until| Instant::now() >= until) {
            return Err(Self::TooLate);
        }
        Ok(())
    }

    /// What a person can do next.
    pub fn next_step(&self) -> &'static str {
        match self {
            Self::NotFound => "check the path",
            Self::NoPermission => "allow reading it, or copy it to a place you own",
            Self::Folder => "name a file inside it",
            Self::Unreadable(_) => "check that the disk or share is available",
            Self::Empty | Self::CutShort(_) => "export or download it again",
            Self::NotAMesh => "export the part as STL, 3MF, OBJ, PLY or OFF",
            Self::Archive(_) => "unpack it and name the mesh file inside",
            Self::Unsupported(_) => "export it as plain 3MF or binary STL",
            Self::Compression(_) => {
                "unpack it and zip it again with deflate, or export it as binary STL"
            }
            Self::BadRecord(_) => "export it again; if it was edited by hand, fix that line",
            Self::NotFinite | Self::IndexOutOfRange { .. } => {
                "repair the model in the program it came from and export it again"
            }
            Self::NoTriangles => {
                "export the solid itself, not an empty, curve-only or point-only model"
            }
            Self::Flat => "give the sheet a thickness and export it again",
            Self::Stray(_) => "delete that vertex in the program it came from and export it again",
            Self::TooManyTriangles { .. } => "export it with a coarser tolerance",
            Self::Inflates { .. } | Self::TooManyEntries { .. } => {
                "do not trust this file; ask its sender for a plain export"
            }
            Self::TooManyObjects { .. } => "export the parts one by one",
            Self::TooLate => "give it more time, or export it with a coarser tolerance",
            Self::ComponentCycle { .. } => "export it again without nested assemblies",
        }
    }
}

/// A fault and its place, before the file's name is known.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct LocatedFault {
    pub(crate) fault: ReadFault,
    pub(crate) place: Option<Place>,
}

impl LocatedFault {
    /// A record that breaks the rules of its format, by its place in bytes.
    pub(crate) fn bad(what: impl Into<String>, byte: usize) -> Self {
        Self::at_byte(ReadFault::BadRecord(what.into()), byte)
    }

    /// A file that ends too soon, by the place in bytes.
    pub(crate) fn cut_short(what: String, byte: usize) -> Self {
        Self::at_byte(ReadFault::CutShort(what), byte)
    }

    pub(crate) fn at_line(fault: ReadFault, line: u64) -> Self {
        Self {
            fault,
            place: Some(Place::Line(line)),
        }
    }

    pub(crate) fn at_byte(fault: ReadFault, byte: usize) -> Self {
        Self {
            fault,
            place: Some(Place::Byte(byte as u64)),
        }
    }
}

impl From<ReadFault> for LocatedFault {
    fn from(fault: ReadFault) -> Self {
        Self { fault, place: None }
    }
}

/// A file that cannot be read as a printable mesh: exit code 3.
///
/// `Display` is one line: file, what is wrong, where, and what to do next.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReadError {
    /// The file as the caller named it.
    pub file: String,
    /// What is wrong.
    pub fault: ReadFault,
    /// Where, if it has a place.
    pub place: Option<Place>,
}

impl ReadError {
    pub(crate) fn new(file: &str, flaw: LocatedFault) -> Self {
        Self {
            file: file.to_owned(),
            fault: flaw.fault,
            place: flaw.place,
        }
    }
}

impl fmt::Display for ReadError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        // A file name may hold line breaks or terminal codes; the message is one line.
        let file = printable(&self.file);
        let place = (self.place).map_or_else(String::new, |place| format!(" {place}"));
        write!(
            f,
            "{file}: {}{place}; {}",
            self.fault,
            self.fault.next_step()
        )
    }
}

impl std::error::Error for ReadError {}
