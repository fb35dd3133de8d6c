//! The sheet of each part, beside the records of a library: `sheets/NAME.html`.
//!
//! A name ends in a checksum of what the record rests on, so that a sheet that is there is the one
//! of that record: of the same path, bytes, settings and program version.

use super::record::{Basis, Record};
use super::trouble::unwritable;
use crate::session::destination::Staged;
use crate::session::exit::Failure;
use crate::words::hex;
use sha2::{Digest, Sha256};
use std::collections::BTreeSet;
use std::fs;
use std::io::{ErrorKind, Write};
use std::path::{Path, PathBuf};

/// Folder of the sheets, within that of the library.
pub(super) const FOLDER: &str = "sheets";
/// Letters of the part's own name that a sheet's name begins with, at most.
const MOST_LETTERS: usize = 40;
/// Bytes of the checksum in a name.
const BYTES: usize = 8;

/// The sheets that are there.
pub struct Sheets {
    folder: PathBuf,
    there: BTreeSet<String>,
}

impl Sheets {
    /// Looks at the sheets of the library in the folder `out`; there may be none.
    pub fn of(out: &Path) -> Self {
        let folder = out.join(FOLDER);
        let files = fs::read_dir(&folder).into_iter().flatten().flatten();
        let names = files.filter_map(|f| f.file_name().into_string().ok());
        let there = names.collect();
        Self { folder, there }
    }

    /// Makes the folder where there is none.
    ///
    /// # Errors
    /// Exit 5: it cannot be made.
    pub(super) fn begin(&self) -> Result<(), Failure> {
        fs::create_dir_all(&self.folder).map_err(|e| unwritable(&self.folder, &e))
    }

    /// Whether the sheet of a record is there.
    pub(super) fn has(&self, key: &str, basis: &Basis) -> bool {
        self.there.contains(&name(key, basis))
    }

    /// The address of a record's sheet from a page in the folder of the library, where it is there.
    pub fn link(&self, record: &Record) -> Option<String> {
        let name = name(&record.key, &record.basis);
        self.there
            .contains(&name)
            .then(|| format!("{FOLDER}/{name}"))
    }

    /// Writes a record's sheet: beside its place, then renamed.
    ///
    /// # Errors
    /// Exit 5: it cannot be written.
    pub(super) fn put(&mut self, record: &Record, page: &str) -> Result<(), Failure> {
        let name = name(&record.key, &record.basis);
        let write = || {
            let mut file = Staged::alone(&self.folder, &name)?;
            file.write_all(page.as_bytes())?;
            file.sync()?;
            file.publish()
        };
        write().map_err(|e| unwritable(&self.folder.join(&name), &e))?;
        self.there.insert(name);
        Ok(())
    }

    /// Takes away the sheets of records that are no longer so; other files stay.
    ///
    /// # Errors
    /// Exit 5: one cannot be removed.
    pub(super) fn tidy(&mut self, wanted: &BTreeSet<String>) -> Result<(), Failure> {
        let stale = |name: &String| !wanted.contains(name) && is_name(name);
        let stale: Vec<String> = self.there.iter().filter(|n| stale(n)).cloned().collect();
        for name in stale {
            let file = self.folder.join(&name);
            match fs::remove_file(&file) {
                Err(e) if e.kind() != ErrorKind::NotFound => return Err(unwritable(&file, &e)),
                _ => self.there.remove(&name),
            };
        }
        Ok(())
    }
}

/// The name of a record's sheet: letters, digits, `-`, `_` and `.` alone.
pub(super) fn name(key: &str, basis: &Basis) -> String {
    let rests_on = (
        key,
        &basis.sha256,
        &basis.settings,
        basis.cut_at_s.map(f64::to_bits),
    );
    let sum = Sha256::digest(format!("{rests_on:?}").as_bytes());
    let stem = Path::new(key)
        .file_stem()
        .map(|s| s.to_string_lossy().into_owned());
    let plain = |c: char| c.is_ascii_alphanumeric() || c == '-' || c == '_';
    let stem = stem.unwrap_or_default();
    let stem: String = (stem.chars().take(MOST_LETTERS))
        .map(|c| if plain(c) { c } else { '_' })
        .collect();
    format!("{stem}.{}.html", hex(&sum[..BYTES]))
}

/// Whether a file may be a sheet of ours.
fn is_name(name: &str) -> bool {
    let sum = name.strip_suffix(".html").and_then(|n| n.rsplit_once('.'));
    sum.is_some_and(|(_, s)| s.len() == 2 * BYTES && s.bytes().all(|b| b.is_ascii_hexdigit()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::library::walk::PartFile;
    use crate::session::exit::Exit;

    fn record(path: &str, sum: &str) -> Record {
        let file = PartFile {
            path: path.into(),
            bytes: 1,
        };
        let why = Failure::new(Exit::Unreadable, "", "d", "h");
        let basis = Basis {
            sha256: Some(sum.into()),
            settings: "s".into(),
            cut_at_s: None,
        };
        Record::refused(&file, &why, basis).expect("plain")
    }

    #[test]
    fn a_name_is_plain_and_changes_with_what_the_record_rests_on() {
        let named = |path, sum| name(&record(path, sum).key, &record(path, sum).basis);
        let one = named("parts/a b\"<ü>.stl", "1");
        assert!(one.starts_with("a_b____.") && is_name(&one), "{one}");
        assert_eq!(one, named("parts/a b\"<ü>.stl", "1"));
        assert_ne!(one, named("parts/a b\"<ü>.stl", "2"));
        assert_ne!(named("x/a.stl", "1"), named("y/a.stl", "1"));
        assert!(named(&"n".repeat(300), "1").len() < 70);
        assert!(!is_name("notes.html") && !is_name("a.0123456789abcdef.txt"));
    }

    #[test]
    fn a_sheet_is_linked_while_it_is_there_and_goes_with_its_record() {
        let dir = tempfile::tempdir().expect("a folder");
        let mut sheets = Sheets::of(dir.path());
        let [a, b] = [record("a.stl", "1"), record("b.stl", "1")];
        assert_eq!(sheets.link(&a), None);
        sheets.begin().expect("made");
        sheets.put(&a, "<p>a").expect("written");
        sheets.put(&b, "<p>b").expect("written");
        fs::write(dir.path().join(FOLDER).join("notes.html"), "mine").expect("written");
        let mut again = Sheets::of(dir.path());
        let link = again.link(&a).expect("there");
        assert_eq!(
            fs::read_to_string(dir.path().join(&link)).ok().as_deref(),
            Some("<p>a")
        );
        assert!(!again.has("a.stl", &record("a.stl", "2").basis));
        again
            .tidy(&BTreeSet::from([name(&a.key, &a.basis)]))
            .expect("tidied");
        assert_eq!((again.link(&a), again.link(&b)), (Some(link), None));
        assert_eq!(Sheets::of(dir.path()).there.len(), 2);
    }
}
