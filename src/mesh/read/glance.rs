//! What a file seems to be, from its first bytes and its length: enough to walk a
//! folder of all sorts of files without reading each in full.

use super::raw::Format;
use super::sniff::{self, Content};
use super::stl;
use super::text::{self, Words};
use std::fs::File;
use std::io::{self, Read, Seek, SeekFrom};
use std::path::Path;
use zip::ZipArchive;

/// Bytes that are looked at. No binary STL is exactly so long, so a head is never
/// taken for a whole one.
const HEAD: u64 = 1 << 16;
/// The same for a text that begins with nothing but comments.
const LONG_HEAD: u64 = 1 << 22;
/// What a file seems to be.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Glance {
    /// A mesh in this format; whether it can be read is another matter.
    Mesh(Format),
    /// No mesh by its content, but its name says that it is one: broken.
    Named,
    /// Something else: a picture, a text, an archive.
    Other,
}

/// Looks at the beginning of a plain file.
///
/// Content decides, as it does when the file is read; a name only says of a file
/// without readable content that it was meant to be a mesh. An OBJ under another
/// ending must hold a vertex, a zip package a 3MF model, to be taken for a mesh:
/// texts and archives are many.
///
/// # Errors
/// The file cannot be opened or read.
pub fn glance(path: &Path) -> io::Result<Glance> {
    let mut file = File::open(path)?;
    let length = file.metadata()?.len();
    let named = named_as_mesh(path);
    let mut head = Vec::new();
    (&mut file).take(HEAD).read_to_end(&mut head)?;
    let whole_stl = length > stl::HEADER as u64 && stl::binary_length(&head) == Some(length);
    if whole_stl {
        return Ok(Glance::Mesh(Format::Stl));
    }
    if length > HEAD
        && sniff::statements(text::without_mark(&head))
            .next()
            .is_none()
    {
        (&mut file).take(LONG_HEAD - HEAD).read_to_end(&mut head)?;
    }
    let unclear = if named { Glance::Named } else { Glance::Other };
    Ok(match sniff::content(&head) {
        Ok(Content::StlBinary | Content::StlText) => Glance::Mesh(Format::Stl),
        Ok(Content::Ply) => Glance::Mesh(Format::Ply),
        Ok(Content::Off) => Glance::Mesh(Format::Off),
        Ok(Content::Obj) if ends_in(path, "obj") || has_vertex(&head) => Glance::Mesh(Format::Obj),
        Ok(Content::Zip) if ends_in(path, "3mf") || holds_model(file) => {
            Glance::Mesh(Format::ThreeMf)
        }
        Ok(Content::Obj | Content::Zip) | Err(_) => unclear,
    })
}

/// Whether a path ends as those of mesh files do, in either case.
pub fn named_as_mesh(path: &Path) -> bool {
    Format::of_ending(path).is_some()
}

fn ends_in(path: &Path, ending: &str) -> bool {
    path.extension()
        .is_some_and(|e| e.eq_ignore_ascii_case(ending))
}

/// Whether some line is an OBJ vertex: `v` and three numbers.
fn has_vertex(head: &[u8]) -> bool {
    sniff::statements(head).any(|line| {
        let mut words = Words::new(line, 1);
        let is_number = |word: Option<&[u8]>| word.and_then(text::number).is_some();
        words.word() == Some(b"v") && (0..3).all(|_| is_number(words.word()))
    })
}

/// Whether a zip package lists a 3MF model part.
fn holds_model(mut file: File) -> bool {
    if file.seek(SeekFrom::Start(0)).is_err() {
        return false;
    }
    ZipArchive::new(io::BufReader::new(file)).is_ok_and(|archive| {
        (0..archive.len()).any(|i| {
            matches!(archive.name_for_index(i), Some(Ok(name))
                if ends_in(Path::new(&*name), "model"))
        })
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::fs;

    #[test]
    fn content_decides_and_a_name_only_says_what_was_meant() {
        let dir = tempfile::tempdir().expect("a folder");
        let look = |name: &str, bytes: &[u8]| {
            let path = dir.path().join(name);
            fs::write(&path, bytes).expect("written");
            glance(&path).expect("readable")
        };
        let mut stl = vec![b' '; 80];
        stl.extend(2000_u32.to_le_bytes());
        stl.resize(84 + 50 * 2000, 0);
        assert_eq!(look("a", &stl), Glance::Mesh(Format::Stl));
        let cut = &stl[..stl.len() - 7];
        assert_eq!(look("cut.stl", cut), Glance::Mesh(Format::Stl));
        assert_eq!(look("empty.stl", b""), Glance::Named);
        assert_eq!(look("empty.txt", b""), Glance::Other);
        assert_eq!(look("page.stl", b"<html>not found</html>"), Glance::Named);
        assert_eq!(look("page.html", b"<html>hello</html>"), Glance::Other);
        assert_eq!(look("a.png", b"\x89PNG\r\n\x1a\n"), Glance::Other);
        assert_eq!(look("a.stl.gz", b"\x1f\x8b\x08"), Glance::Other);
        let obj = b"# box\no box\nv 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 3\n";
        assert_eq!(look("box", obj), Glance::Mesh(Format::Obj));
        // Begins like an OBJ and is a note to a friend.
        assert_eq!(look("note.txt", b"o my dear, see you\n"), Glance::Other);
        assert_eq!(look("note.obj", b"o my dear\n"), Glance::Mesh(Format::Obj));
        let mut long = b"# a comment\n".repeat(10_000);
        assert_eq!(look("long.txt", &long), Glance::Other);
        long.extend(obj);
        assert_eq!(look("long", &long), Glance::Mesh(Format::Obj));
    }

    #[test]
    fn a_package_is_a_mesh_only_with_a_model_in_it() {
        use std::io::Write;
        let dir = tempfile::tempdir().expect("a folder");
        let pack = |name: &str, entry: &str| {
            let path = dir.path().join(name);
            let mut zip = zip::ZipWriter::new(File::create(&path).expect("created"));
            zip.start_file(entry, zip::write::SimpleFileOptions::default())
                .and_then(|()| Ok(zip.write_all(b"x")?))
                .expect("packed");
            zip.finish().expect("closed");
            glance(&path).expect("readable")
        };
        assert_eq!(pack("a.zip", "part.stl"), Glance::Other);
        assert_eq!(
            pack("a.bin", "3D/part.MODEL"),
            Glance::Mesh(Format::ThreeMf)
        );
        assert_eq!(pack("a.3mf", "nothing"), Glance::Mesh(Format::ThreeMf));
    }
}
