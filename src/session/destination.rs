//! A file that is going to be written: checked before the long run, written
//! beside its place, then renamed, so that nothing half-written is ever seen.

use crate::session::exit::{Exit, Failure};
use std::fs::{self, File};
use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};
use tempfile::NamedTempFile;

/// A checked place for an output file.
#[derive(Debug, Clone)]
pub struct Destination {
    /// As the person named it, for messages.
    named: PathBuf,
    /// Where it really lies: a link is followed, not replaced.
    real: PathBuf,
}

impl Destination {
    /// Checks that a file can be created at `path`.
    ///
    /// A file is created beside it and taken away again, which is the only
    /// answer that counts on every file system.
    ///
    /// # Errors
    /// Exit 5: the folder is missing or may not be written, or the path is a
    /// folder, a device or a write-protected file.
    pub fn check(path: &Path) -> Result<Self, Failure> {
        let fail = |defect: &str, hint: &str| {
            Failure::new(Exit::Unwritable, path.display().to_string(), defect, hint)
        };
        match fs::metadata(path) {
            Ok(meta) if meta.is_dir() => {
                return Err(fail("is a folder", "name a file inside it"));
            }
            Ok(meta) if !meta.is_file() => {
                return Err(fail("is not a plain file", "name a plain file"));
            }
            Ok(meta) if meta.permissions().readonly() => {
                let hint = "name another file, or allow writing to this one";
                return Err(fail("is write-protected", hint));
            }
            _ => {}
        }
        let real = fs::canonicalize(path).unwrap_or_else(|_| path.to_path_buf());
        if real.file_name().is_none() {
            return Err(fail("is not the name of a file", "name a file"));
        }
        let destination = Self {
            named: path.to_path_buf(),
            real,
        };
        destination.stage().map_err(|e| destination.failure(&e))?;
        Ok(destination)
    }

    /// Writes the file by `fill` and puts it in place.
    ///
    /// # Errors
    /// Exit 5, and what was there before is untouched.
    pub fn write(&self, fill: impl FnOnce(&mut File) -> io::Result<()>) -> Result<(), Failure> {
        let write = || {
            let mut file = self.stage()?;
            fill(file.writer.get_mut().as_file_mut())?;
            file.sync()?;
            file.publish()?;
            keep_names(self.folder());
            Ok(())
        };
        write().map_err(|e| self.failure(&e))
    }

    /// A fresh file in the same folder. It has the permissions of a file that any program
    /// creates, or of the file that it is going to replace.
    fn stage(&self) -> io::Result<Staged> {
        let mut builder = tempfile::Builder::new();
        builder.prefix(".wayup-").suffix(".part");
        let staged = Staged::new(builder, self.folder(), &self.real)?;
        if let Ok(meta) = fs::metadata(&self.real) {
            let file = staged.writer.get_ref().as_file();
            file.set_permissions(meta.permissions())?;
        }
        Ok(staged)
    }

    fn folder(&self) -> &Path {
        let folder = self.real.parent().filter(|f| !f.as_os_str().is_empty());
        folder.unwrap_or(Path::new("."))
    }

    fn failure(&self, error: &io::Error) -> Failure {
        // The error of a temporary file names that file; the reason alone is wanted.
        let reason = match error.kind() {
            io::ErrorKind::NotFound => "its folder does not exist".to_string(),
            io::ErrorKind::PermissionDenied => "no permission to write in its folder".to_string(),
            io::ErrorKind::NotADirectory => "its folder is a file".to_string(),
            _ => error
                .get_ref()
                .map_or_else(|| error.to_string(), ToString::to_string),
        };
        Failure::new(
            Exit::Unwritable,
            self.named.display().to_string(),
            format!("cannot be written: {reason}"),
            "name a file in a folder that you may write to and that has room",
        )
    }
}

/// Brings the names of a folder to the disk, so that what was renamed is found there after a power
/// cut. Where the system cannot do that (a folder without the right to read it, some network
/// shares) it is left to the system's own time: the files are whole either way.
pub fn keep_names(folder: &Path) {
    if let Ok(folder) = File::open(folder) {
        let _ = folder.sync_all();
    }
}

/// A file that is written beside its place and goes away unless it is published: any number
/// of them can be whole on the disk before the first takes its place.
pub struct Staged {
    writer: BufWriter<NamedTempFile>,
    place: PathBuf,
}

impl Staged {
    /// A fresh file for `name` in a folder that no one else writes to: a leftover of the same
    /// name is a dead run's, and is replaced.
    ///
    /// # Errors
    /// It cannot be made.
    pub fn alone(folder: &Path, name: &str) -> io::Result<Self> {
        let leftover = format!(".{name}.part");
        match fs::remove_file(folder.join(&leftover)) {
            Err(e) if e.kind() != io::ErrorKind::NotFound => return Err(e),
            _ => {}
        }
        let mut builder = tempfile::Builder::new();
        builder.prefix(&leftover).rand_bytes(0);
        Self::new(builder, folder, &folder.join(name))
    }

    fn new(mut builder: tempfile::Builder, folder: &Path, place: &Path) -> io::Result<Self> {
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt;
            builder.permissions(fs::Permissions::from_mode(0o666));
        }
        Ok(Self {
            writer: BufWriter::with_capacity(1 << 16, builder.tempfile_in(folder)?),
            place: place.to_path_buf(),
        })
    }

    /// Where it is going to lie.
    pub fn place(&self) -> &Path {
        &self.place
    }

    /// Brings all of it to the disk.
    ///
    /// # Errors
    /// There is no room, or the disk fails.
    pub fn sync(&mut self) -> io::Result<()> {
        self.writer.flush()?;
        self.writer.get_ref().as_file().sync_all()
    }

    /// Puts it in its place; call [`Self::sync`] first.
    ///
    /// # Errors
    /// The system refuses to rename it.
    pub fn publish(self) -> io::Result<()> {
        let (_, path) = self.writer.into_inner()?.into_parts();
        // By the standard library, so that what a run does to its files can be watched; where it fails
        // the file beside the place goes away.
        fs::rename(&path, &self.place)?;
        path.keep().map(drop).map_err(|e| e.error)
    }
}

impl Write for Staged {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.writer.write(bytes)
    }

    fn flush(&mut self) -> io::Result<()> {
        self.writer.flush()
    }
}

#[cfg(test)]
mod tests {
    use crate::session::destination::*;

    #[test]
    fn a_failed_write_leaves_the_old_file_and_nothing_else() {
        let dir = tempfile::tempdir().expect("a folder");
        let path = dir.path().join("out.stl");
        fs::write(&path, "old").expect("written");
        let place = Destination::check(&path).expect("writable");
        let said = place.write(|w| {
            w.write_all(b"half")?;
            Err(io::Error::other("no more room"))
        });
        assert_eq!(
            said.map_err(|f| (f.exit, f.defect)),
            Err((
                Exit::Unwritable,
                "cannot be written: no more room".to_string()
            ))
        );
        assert_eq!(fs::read_to_string(&path).ok().as_deref(), Some("old"));
        assert_eq!(fs::read_dir(dir.path()).expect("listed").count(), 1);
    }

    #[test]
    fn a_write_replaces_what_was_there() {
        let dir = tempfile::tempdir().expect("a folder");
        let path = dir.path().join("out.stl");
        for text in ["one", "two"] {
            Destination::check(&path)
                .expect("writable")
                .write(|w| w.write_all(text.as_bytes()))
                .expect("written");
            assert_eq!(fs::read_to_string(&path).ok().as_deref(), Some(text));
        }
        assert_eq!(fs::read_dir(dir.path()).expect("listed").count(), 1);
    }

    #[cfg(unix)]
    #[test]
    fn a_link_is_followed_and_a_device_refused() {
        let dir = tempfile::tempdir().expect("a folder");
        let (real, link) = (dir.path().join("real.stl"), dir.path().join("link.stl"));
        fs::write(&real, "old").expect("written");
        std::os::unix::fs::symlink(&real, &link).expect("linked");
        Destination::check(&link)
            .expect("writable")
            .write(|w| w.write_all(b"new"))
            .expect("written");
        assert_eq!(fs::read_to_string(&real).ok().as_deref(), Some("new"));
        assert!(fs::symlink_metadata(&link).expect("there").is_symlink());
        for (path, defect) in [
            ("/dev/null", "is not a plain file"),
            ("/", "is a folder"),
            ("/nowhere/at/all.stl", "its folder does not exist"),
        ] {
            let said = Destination::check(Path::new(path)).expect_err(path);
            assert!(said.defect.contains(defect), "{path}: {said:?}");
            assert_eq!(said.exit, Exit::Unwritable);
        }
    }
}
