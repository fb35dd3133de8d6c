//! The commit that `wayup --version` names: read from the files of a repository, without git.

#[allow(dead_code, missing_docs)]
#[path = "../src/build.rs"]
mod build;

use build::{checked_out, is_release, short};
use std::fs;
use std::path::Path;

const A: &str = "0123456789abcdef0123456789abcdef01234567";
const B: &str = "89abcdef0123456789abcdef0123456789abcdef";

fn write(root: &Path, files: &[(&str, &str)]) {
    for (name, text) in files {
        let path = root.join(name);
        fs::create_dir_all(path.parent().expect("a parent")).expect("a folder");
        fs::write(path, text).expect("written");
    }
}

/// The commit found in a folder with these files, and how many files it rests on.
fn found(files: &[(&str, &str)]) -> Option<(String, usize)> {
    let dir = tempfile::tempdir().expect("a folder");
    write(dir.path(), files);
    checked_out(dir.path()).map(|f| (f.commit, f.rests_on.len()))
}

#[test]
fn a_commit_is_read_from_a_branch_a_packed_one_or_the_head_itself() {
    let head = (".git/HEAD", "ref: refs/heads/main\n");
    let packed = format!(
        "# pack-refs with: peeled\n{A} refs/tags/refs/heads/main\n^{A}\n{B} refs/heads/main\n"
    );
    let packed = (".git/packed-refs", packed.as_str());
    let line = format!("{A}\n");
    let branch = (".git/refs/heads/main", line.as_str());
    assert_eq!(found(&[head, branch]), Some((A.into(), 2)));
    assert_eq!(found(&[head, packed]), Some((B.into(), 2)));
    // The branch by itself is newer than the packed one.
    assert_eq!(found(&[head, packed, branch]), Some((A.into(), 3)));
    assert_eq!(found(&[(".git/HEAD", &line)]), Some((A.into(), 1)));
}

#[test]
fn a_second_working_tree_has_a_head_of_its_own() {
    let dir = tempfile::tempdir().expect("a folder");
    let own = "main/.git/worktrees/second";
    write(
        dir.path(),
        &[
            ("main/.git/HEAD", A),
            ("main/.git/refs/heads/side", B),
            ("second/.git", "gitdir: ../main/.git/worktrees/second\n"),
            (&format!("{own}/HEAD"), "ref: refs/heads/side"),
            (&format!("{own}/commondir"), "../..\n"),
        ],
    );
    let commit = |tree: &str| checked_out(&dir.path().join(tree)).expect("found").commit;
    assert_eq!(commit("second"), B);
    assert_eq!(commit("main"), A);
}

#[test]
fn nothing_is_said_of_a_commit_that_nobody_names() {
    assert_eq!(found(&[("src/main.rs", "")]), None);
    assert_eq!(found(&[(".git/HEAD", "ref: refs/heads/.invalid")]), None);
    assert_eq!(found(&[(".git/HEAD", "something else")]), None);
    assert_eq!(short("dirty"), None);
    assert_eq!(short("0123456-dirty"), None);
    assert_eq!(short(A), Some("0123456789ab"));
    assert_eq!(short("0123456\n"), Some("0123456"));
}

#[test]
fn only_a_release_looks_for_the_commit_by_itself() {
    assert!(is_release(Path::new("target/release/build/wayup-1/out")));
    assert!(is_release(Path::new("t/a-b-c/release/build/wayup-1/out")));
    assert!(!is_release(Path::new("target/checked/build/wayup-1/out")));
    assert!(!is_release(Path::new("release/debug/build/wayup-1/out")));
}
