//! Which files a run is about: a folder walked through, or a list of paths.

use crate::mesh::{Glance, glance};
use crate::words::hex;
use std::collections::BTreeSet;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

/// Parts of a library, in the order of their paths, with what was left aside.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Walk {
    /// Files that hold a mesh or are named as one.
    pub parts: Vec<PartFile>,
    /// Files that are no mesh: pictures, texts, archives.
    pub others: usize,
    /// Folders that could not be looked into, with the system's words.
    pub shut: Vec<(PathBuf, String)>,
}

/// A file to be scored.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct PartFile {
    /// Path as `advise` would be given it.
    pub path: PathBuf,
    /// Length of the file in bytes; 0 where it cannot be asked.
    pub bytes: u64,
}

impl PartFile {
    /// A path with the length of its file.
    pub fn new(path: PathBuf) -> Self {
        let bytes = fs::metadata(&path).map_or(0, |m| m.len());
        Self { path, bytes }
    }
}

/// Every mesh file below a folder, whatever its name; files are told apart by content.
///
/// Names that begin with a dot are passed over, and so is the folder `except`. A link is
/// followed after all that lies there by itself has been seen, and leads to each file
/// and folder once: a loop of links ends, and a linked file keeps its true path where
/// that lies below the folder too. A file that cannot be opened is a part where its name
/// ends as a mesh does.
///
/// # Errors
/// The folder itself cannot be read.
pub fn folder(root: &Path, except: Option<&Path>) -> io::Result<Walk> {
    fs::read_dir(root)?;
    let except = except.and_then(|p| fs::canonicalize(p).ok());
    let mut walk = Walk::default();
    let mut seen = BTreeSet::new();
    let mut folders = vec![root.to_path_buf()];
    // In the order of their paths, each with what lies behind it.
    let mut links: BTreeSet<PathBuf> = BTreeSet::new();
    loop {
        let Some(path) = folders.pop() else {
            let Some(link) = links.pop_first() else { break };
            match fs::metadata(&link) {
                Ok(meta) if meta.is_dir() => folders.push(link),
                Ok(meta) if meta.is_file() => file(&mut walk, &mut seen, link, meta.len()),
                _ => walk.others += 1,
            }
            continue;
        };
        let real = fs::canonicalize(&path)?;
        if except.as_ref() == Some(&real) || !seen.insert(real) {
            continue;
        }
        let listed = fs::read_dir(&path).and_then(Iterator::collect::<io::Result<Vec<_>>>);
        let entries = match listed {
            Ok(entries) => entries,
            Err(e) => {
                walk.shut.push((path, e.to_string()));
                continue;
            }
        };
        for entry in entries {
            if entry.file_name().as_encoded_bytes().starts_with(b".") {
                continue;
            }
            match entry.file_type() {
                Ok(kind) if kind.is_dir() => folders.push(entry.path()),
                Ok(kind) if kind.is_symlink() => {
                    links.insert(entry.path());
                }
                Ok(kind) if kind.is_file() => {
                    let bytes = entry.metadata().map_or(0, |m| m.len());
                    file(&mut walk, &mut seen, entry.path(), bytes);
                }
                // Pipes, sockets and devices.
                _ => walk.others += 1,
            }
        }
    }
    walk.parts.sort();
    walk.shut.sort();
    Ok(walk)
}

fn file(walk: &mut Walk, seen: &mut BTreeSet<PathBuf>, path: PathBuf, bytes: u64) {
    if fs::canonicalize(&path).is_ok_and(|real| !seen.insert(real)) {
        return;
    }
    let part = match glance(&path) {
        Ok(Glance::Mesh(_) | Glance::Named) => true,
        Ok(Glance::Other) => false,
        Err(_) => crate::mesh::named_as_mesh(&path),
    };
    if part {
        walk.parts.push(PartFile { path, bytes });
    } else {
        walk.others += 1;
    }
}

/// The paths of a list, one a line, as `advise` would be given them. Empty lines are
/// passed over; a path that is named twice counts once.
pub fn list(text: &[u8]) -> Vec<PathBuf> {
    let mut seen = BTreeSet::new();
    text.split(|&b| b == b'\n')
        .filter_map(line)
        .filter(|path| seen.insert(path.clone()))
        .collect()
}

/// The path on a line; none on an empty one. A carriage return at its end is not part
/// of it.
pub fn line(bytes: &[u8]) -> Option<PathBuf> {
    let bytes = bytes.strip_suffix(b"\n").unwrap_or(bytes);
    let bytes = bytes.strip_suffix(b"\r").unwrap_or(bytes);
    if bytes.trim_ascii().is_empty() {
        return None;
    }
    #[cfg(unix)]
    {
        use std::os::unix::ffi::OsStrExt;
        Some(PathBuf::from(std::ffi::OsStr::from_bytes(bytes)))
    }
    #[cfg(not(unix))]
    Some(PathBuf::from(String::from_utf8_lossy(bytes).into_owned()))
}

/// A path as text that tells any two paths apart: as it is shown, and where that loses
/// bytes those bytes behind it.
pub fn key(path: &Path) -> String {
    path.to_str().map_or_else(
        || {
            let bytes = path.as_os_str().as_encoded_bytes();
            format!("{} bytes {}", path.display(), hex(bytes))
        },
        str::to_string,
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    const BOX: &[u8] = b"v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 3\n";

    fn names(walk: &Walk, root: &Path) -> Vec<String> {
        walk.parts
            .iter()
            .map(|p| {
                p.path
                    .strip_prefix(root)
                    .expect("below")
                    .display()
                    .to_string()
            })
            .collect()
    }

    #[test]
    fn a_folder_is_walked_in_the_order_of_its_paths() {
        let dir = tempfile::tempdir().expect("a folder");
        let root = dir.path();
        for sub in ["b/deep", "a", ".hidden", "out"] {
            fs::create_dir_all(root.join(sub)).expect("made");
        }
        for file in [
            "b/deep/z.obj",
            "b/1",
            "a/x.obj",
            ".hidden/h.obj",
            "out/o.obj",
            ".x.obj",
        ] {
            fs::write(root.join(file), BOX).expect("written");
        }
        fs::write(root.join("a/note.txt"), "hello").expect("written");
        fs::write(root.join("a/empty.stl"), "").expect("written");
        let walk = folder(root, Some(&root.join("out"))).expect("readable");
        assert_eq!(
            names(&walk, root),
            ["a/empty.stl", "a/x.obj", "b/1", "b/deep/z.obj"]
        );
        assert_eq!(walk.others, 1);
        assert_eq!(walk.parts[1].bytes, BOX.len() as u64);
        assert!(folder(&root.join("nowhere"), None).is_err());
    }

    #[cfg(unix)]
    #[test]
    fn links_lead_to_each_file_once_and_loops_end() {
        use std::os::unix::fs::symlink;
        let dir = tempfile::tempdir().expect("a folder");
        let outside = tempfile::tempdir().expect("a folder");
        let root = dir.path();
        fs::create_dir_all(root.join("z")).expect("made");
        fs::write(root.join("z/part.obj"), BOX).expect("written");
        fs::write(outside.path().join("far.obj"), BOX).expect("written");
        // Before the true one in the alphabet, and still not in its place.
        symlink(root.join("z/part.obj"), root.join("a.obj")).expect("linked");
        symlink(root, root.join("z/loop")).expect("linked");
        symlink(root.join("z"), root.join("again")).expect("linked");
        symlink(outside.path(), root.join("far")).expect("linked");
        symlink(root.join("nothing"), root.join("dead.obj")).expect("linked");
        let walk = folder(root, None).expect("readable");
        assert_eq!(names(&walk, root), ["far/far.obj", "z/part.obj"]);
    }

    #[test]
    fn a_list_has_a_path_a_line() {
        let paths = list(b"a b.stl\r\n\n  \nc.stl\na b.stl\nlast");
        let shown: Vec<_> = paths.iter().map(|p| key(p)).collect();
        assert_eq!(shown, ["a b.stl", "c.stl", "last"]);
    }

    #[cfg(unix)]
    #[test]
    fn two_names_that_look_alike_have_two_keys() {
        let [a, b] = [&b"x\xff.stl"[..], b"x\xfe.stl"].map(|n| key(&line(n).expect("a path")));
        assert_ne!(a, b);
        assert!(a.ends_with("78ff2e73746c"), "{a}");
    }
}
