//! A folder of parts for one test, and what the program said there.

use crate::common::PORTAL;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use tempfile::TempDir;

/// A folder with parts in it and a home without settings.
pub struct Bench {
    pub dir: TempDir,
}

impl Bench {
    pub fn new() -> Self {
        let dir = tempfile::tempdir().expect("a folder");
        fs::create_dir(dir.path().join("home")).expect("a home");
        Self { dir }
    }

    pub fn path(&self, name: &str) -> PathBuf {
        self.dir.path().join(name)
    }

    pub fn write(&self, name: &str, bytes: impl AsRef<[u8]>) -> PathBuf {
        let path = self.path(name);
        fs::create_dir_all(path.parent().expect("a parent")).expect("a folder");
        fs::write(&path, bytes).expect("written");
        path
    }

    /// A box with one corner at the origin, as binary STL.
    pub fn block(&self, name: &str, size: [f32; 3]) -> PathBuf {
        self.write(name, stl(&boxes(&[([0.0; 3], size)])))
    }

    /// A table: a top of 30 × 10 × 5 on two legs of 5 × 10 × 15, 20 apart. One solid
    /// (the worked example of a bridge).
    pub fn gate(&self, name: &str) -> PathBuf {
        let outline = PORTAL.map(|point| point.map(|x| x as f32));
        let faces = [
            [0, 1, 2],
            [0, 2, 7],
            [2, 3, 7],
            [3, 6, 7],
            [3, 4, 6],
            [4, 5, 6],
        ];
        self.write(name, stl(&prism(&outline, &faces, 10.0)))
    }

    pub fn command(&self, words: &[&str]) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_wayup"));
        command
            .args(words)
            .current_dir(self.dir.path())
            .stdin(Stdio::null());
        for name in ["XDG_CONFIG_HOME", "NO_COLOR", "COLUMNS", "TERM"] {
            command.env_remove(name);
        }
        command.env("HOME", self.path("home")).env("COLUMNS", "80");
        command
    }

    pub fn run(&self, words: &[&str]) -> Said {
        Said::from(self.command(words).output().expect("started"))
    }

    /// Names of what lies in the folder, home left out.
    pub fn files(&self) -> Vec<String> {
        self.files_in("")
    }

    /// The same of a folder below it.
    pub fn files_in(&self, below: &str) -> Vec<String> {
        let mut names: Vec<String> = fs::read_dir(self.path(below))
            .expect("listed")
            .map(|e| {
                e.expect("an entry")
                    .file_name()
                    .to_string_lossy()
                    .into_owned()
            })
            .filter(|n| n != "home")
            .collect();
        names.sort();
        names
    }
}

/// What a run said.
#[derive(Debug)]
pub struct Said {
    pub code: i32,
    pub out: String,
    pub err: String,
}

impl From<Output> for Said {
    fn from(output: Output) -> Self {
        Self {
            code: output.status.code().expect("ended by itself"),
            out: String::from_utf8(output.stdout).expect("UTF-8"),
            err: String::from_utf8(output.stderr).expect("UTF-8"),
        }
    }
}

impl Said {
    #[track_caller]
    pub fn json(&self) -> serde_json::Value {
        assert_eq!(self.code, 0, "{}", self.err);
        serde_json::from_str(&self.out).expect("one JSON object")
    }

    /// Exit code, nothing on standard output, and both lines of the error.
    #[track_caller]
    pub fn refuses(&self, code: i32, error: &str, hint: &str) {
        assert_eq!((self.code, self.out.as_str()), (code, ""), "{}", self.err);
        let mut lines = self.err.lines();
        let (first, second) = (lines.next().unwrap_or(""), lines.next().unwrap_or(""));
        assert!(
            first.starts_with("error: ") && first.contains(error),
            "{first:?} lacks {error:?}"
        );
        assert!(
            second.starts_with("hint: ") && second.contains(hint),
            "{second:?} lacks {hint:?}"
        );
    }
}

pub type Triangle = [[f32; 3]; 3];

pub fn boxes(list: &[([f32; 3], [f32; 3])]) -> Vec<Triangle> {
    let quads = [
        [0, 1, 3, 2],
        [4, 6, 7, 5],
        [0, 4, 5, 1],
        [2, 3, 7, 6],
        [0, 2, 6, 4],
        [1, 5, 7, 3],
    ];
    let mut out = Vec::new();
    for (at, size) in list {
        let corner = |i: usize| {
            [0, 1, 2].map(|k| {
                at[k]
                    + if (i >> (2 - k)) & 1 == 1 {
                        size[k]
                    } else {
                        0.0
                    }
            })
        };
        for [a, b, c, d] in quads {
            out.push([a, b, c].map(corner));
            out.push([a, c, d].map(corner));
        }
    }
    out
}

/// An outline in X–Z, counter-clockwise as seen from −Y, with its triangles, drawn out along Y.
pub fn prism(outline: &[[f32; 2]], faces: &[[usize; 3]], depth: f32) -> Vec<Triangle> {
    let at = |i: usize, y: f32| [outline[i][0], y, outline[i][1]];
    let mut out = Vec::new();
    for &[a, b, c] in faces {
        out.push([at(a, 0.0), at(b, 0.0), at(c, 0.0)]);
        out.push([at(a, depth), at(c, depth), at(b, depth)]);
    }
    for i in 0..outline.len() {
        let j = (i + 1) % outline.len();
        out.push([at(i, 0.0), at(j, depth), at(j, 0.0)]);
        out.push([at(i, 0.0), at(i, depth), at(j, depth)]);
    }
    out
}

pub fn stl(triangles: &[Triangle]) -> Vec<u8> {
    let mut out = vec![0; 80];
    out.extend((triangles.len() as u32).to_le_bytes());
    for t in triangles {
        out.extend([0; 12]);
        for c in t.iter().flatten() {
            out.extend(c.to_le_bytes());
        }
        out.extend([0; 2]);
    }
    out
}

/// Compares with a golden text, or writes it.
#[track_caller]
pub fn golden(name: &str, text: &str) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("tests/golden")
        .join(name);
    let text = text.replace(env!("CARGO_PKG_VERSION"), "VERSION");
    if std::env::var_os("WAYUP_GOLDEN").is_some_and(|v| v == "write") {
        fs::write(&path, &text).expect("written");
    }
    let wanted = fs::read_to_string(&path).unwrap_or_default();
    assert_eq!(
        text, wanted,
        "differs from tests/golden/{name}; if that is right: WAYUP_GOLDEN=write cargo test --test cli"
    );
}

#[track_caller]
pub fn keeps_to_width(text: &str, width: usize) {
    for line in text.lines() {
        assert!(
            line.chars().count() <= width,
            "{} columns: {line:?}",
            line.chars().count()
        );
    }
}
