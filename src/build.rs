//! Before the program is built: which commit is it built from? `wayup --version` says so.
//!
//! `WAYUP_COMMIT` of the environment comes first; a packager sets it. Else the files of `.git` are
//! read, without git and without a network, and only for the profile `release`: while somebody works
//! on the program a new commit must not build all of it anew. Where neither says anything, nothing
//! is said of a commit. The same sources and the same commit give the same program.

use std::env;
use std::fs;
use std::path::{Path, PathBuf};

/// Digits of a commit that are shown.
const SHOWN: usize = 12;

fn main() {
    println!("cargo::rerun-if-changed=src/build.rs");
    println!("cargo::rerun-if-env-changed=WAYUP_COMMIT");
    let given = env::var("WAYUP_COMMIT").ok();
    let commit = given.or_else(|| {
        let folder = |name| env::var_os(name).map(PathBuf::from);
        if !is_release(&folder("OUT_DIR")?) {
            return None;
        }
        let found = checked_out(&folder("CARGO_MANIFEST_DIR")?)?;
        for file in &found.rests_on {
            println!("cargo::rerun-if-changed={}", file.display());
        }
        Some(found.commit)
    });
    match commit.as_deref().map(short) {
        Some(Some(commit)) => println!("cargo::rustc-env=WAYUP_BUILT_FROM={commit}"),
        Some(None) => println!("cargo::warning=WAYUP_COMMIT is no commit and is left out"),
        None => {}
    }
}

/// Whether what is built goes to `target/release`: `OUT_DIR` is `…/release/build/NAME/out`.
pub fn is_release(out: &Path) -> bool {
    out.ancestors()
        .nth(3)
        .is_some_and(|p| p.ends_with("release"))
}

/// The first digits of a commit; `None` for what is none.
pub fn short(commit: &str) -> Option<&str> {
    let commit = commit.trim();
    let digits = (7..=64).contains(&commit.len()) && commit.bytes().all(|b| b.is_ascii_hexdigit());
    digits.then(|| &commit[..commit.len().min(SHOWN)])
}

/// A commit, and the files that would say another one.
#[derive(Debug, PartialEq)]
pub struct CheckedOut {
    /// All its digits.
    pub commit: String,
    /// Files and folders that are there.
    pub rests_on: Vec<PathBuf>,
}

/// What the repository at `root` has checked out. Changes on top of it are not looked for. `None`
/// where there is no repository, or one that keeps its branches otherwise.
pub fn checked_out(root: &Path) -> Option<CheckedOut> {
    let text = |path: &Path| Some(fs::read_to_string(path).ok()?.trim().to_string());
    let mut own = root.join(".git");
    if own.is_file() {
        // A second working tree: the file names the folder that belongs to it.
        own = root.join(text(&own)?.strip_prefix("gitdir:")?.trim());
    }
    let shared = text(&own.join("commondir")).map_or(own.clone(), |to| own.join(to));
    let (head, packed) = (own.join("HEAD"), shared.join("packed-refs"));
    let said = text(&head)?;
    let commit = match said.strip_prefix("ref:").map(str::trim) {
        None => said,
        Some(branch) => text(&shared.join(branch)).or_else(|| {
            let all = text(&packed)?;
            let line = all
                .lines()
                .find_map(|l| l.strip_suffix(branch)?.strip_suffix(' '));
            line.map(str::to_string)
        })?,
    };
    let mut rests_on = vec![head, packed, shared.join("refs")];
    rests_on.retain(|p| p.exists());
    short(&commit)?;
    Some(CheckedOut { commit, rests_on })
}
