//! How much memory there is to work in, and how much a part takes.

use crate::words;
use std::fs;
use std::path::Path;

/// What a triangle takes at the peak of reading and scoring, bytes: 700 measured on scans of 200,000
/// triangles and more, and a third on top (`tests/bench-memory`).
const BYTES_A_TRIANGLE: u64 = 1000;
/// Parts that take less than this are not held against what is free, bytes.
const LITTLE: u64 = 256 << 20;

/// Bytes of memory that a part takes at its peak, by the length of its file: so many bytes of a
/// file of that ending are a triangle.
pub fn needed(path: &Path, bytes: u64) -> u64 {
    let ending = path.extension().and_then(|e| e.to_str());
    let of_file = match ending.map(str::to_ascii_lowercase).as_deref() {
        // Packed text; binary with shared vertices.
        Some("3mf") => 10,
        Some("ply" | "off") => 20,
        // Binary with every corner; text is longer.
        _ => 50,
    };
    (bytes / of_file).saturating_mul(BYTES_A_TRIANGLE)
}

/// What is wrong with a part of so many triangles that would take more memory than there is, as
/// the end of a sentence.
pub fn too_many(triangles: usize) -> Option<String> {
    too_much((triangles as u64).saturating_mul(BYTES_A_TRIANGLE))
}

/// The same of so many bytes in one piece.
pub fn too_much(needed: u64) -> Option<String> {
    (needed >= LITTLE).then(|| beyond(needed, room())).flatten()
}

fn beyond(needed: u64, room: u64) -> Option<String> {
    let gigabytes = |bytes: u64| words::decimal(bytes as f64 / 1e9, 1);
    (needed > room).then(|| {
        format!(
            "needs about {} GB of memory, and {} GB are free",
            gigabytes(needed),
            gigabytes(room)
        )
    })
}

/// Where the system does not say.
const UNKNOWN: u64 = 4 << 30;

/// Bytes that are free, by the kernel's own estimate, or what a container or a limit of the process
/// leaves of them.
pub fn room() -> u64 {
    let free = fs::read_to_string("/proc/meminfo")
        .ok()
        .and_then(|text| available(&text))
        .unwrap_or(UNKNOWN);
    let own = fs::read_to_string("/proc/self/cgroup").unwrap_or_default();
    let left = left_in_groups(Path::new("/sys/fs/cgroup"), &own);
    let table = |name: &str| fs::read_to_string(Path::new("/proc/self").join(name));
    let limits = table("limits").unwrap_or_default();
    let addresses = left_of_addresses(&limits, &table("status").unwrap_or_default());
    (left.into_iter().chain(addresses)).fold(free, u64::min)
}

/// What the limit on addresses (`ulimit -v`) leaves, bytes; `None` where there is none.
fn left_of_addresses(limits: &str, status: &str) -> Option<u64> {
    let row = (limits.lines()).find_map(|l| l.strip_prefix("Max address space"))?;
    let most = row.split_whitespace().next()?.parse::<u64>().ok()?;
    Some(most.saturating_sub(kibibytes(status, "VmSize:").unwrap_or(0)))
}

/// What the tightest control group of this process leaves, bytes; `None` where none has a limit.
///
/// `root` is where groups of version 2 are mounted, `own` the table of the process' groups, whose
/// row `0::` has its path. The groups around it count, too, and so does the root, which is the
/// container's own group where it sees no other (Linux, *Control Group v2*).
fn left_in_groups(root: &Path, own: &str) -> Option<u64> {
    let path = own.lines().find_map(|line| line.strip_prefix("0::"));
    let path = path.unwrap_or_default().trim_start_matches('/');
    let group = Path::new(path);
    // A path that climbs is one that this mount does not show.
    let plain = (group.components()).all(|c| matches!(c, std::path::Component::Normal(_)));
    let group = if plain { group } else { Path::new("") };
    (group.ancestors())
        .filter_map(|group| left(&root.join(group)))
        .min()
}

/// What a group leaves, bytes; its file cache is given back when it is needed.
fn left(group: &Path) -> Option<u64> {
    let number = |name: &str| {
        let text = fs::read_to_string(group.join(name)).ok()?;
        text.trim().parse::<u64>().ok()
    };
    let most = number("memory.max")?;
    let stat = fs::read_to_string(group.join("memory.stat")).unwrap_or_default();
    let cached = stat.lines().find_map(|l| l.strip_prefix("inactive_file "));
    let cached = cached.and_then(|n| n.trim().parse().ok()).unwrap_or(0);
    let held = number("memory.current").unwrap_or(0).saturating_sub(cached);
    Some(most.saturating_sub(held))
}

/// The row `MemAvailable` of the kernel's table.
fn available(text: &str) -> Option<u64> {
    kibibytes(text, "MemAvailable:")
}

/// Bytes in a row of one of the kernel's tables, which are in KiB.
fn kibibytes(table: &str, row: &str) -> Option<u64> {
    let row = table.lines().find_map(|l| l.strip_prefix(row))?;
    row.split_whitespace()
        .next()?
        .parse::<u64>()
        .ok()?
        .checked_mul(1024)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_row_is_found_whatever_stands_before_it() {
        let text = "MemTotal:       24000000 kB\nMemAvailable:    2048 kB\n";
        assert_eq!(available(text), Some(2 << 20));
        assert_eq!(available("MemFree: 1 kB"), None);
        assert!(room() > 0);
    }

    #[test]
    fn what_would_take_more_than_is_free_is_refused_with_both_numbers() {
        let said = beyond(3_260_000_000, 1_100_000_000).expect("too much");
        assert_eq!(said, "needs about 3.3 GB of memory, and 1.1 GB are free");
        assert_eq!(beyond(1_000_000_000, 1_000_000_000), None);
        // No machine has so much; every machine has room for what is little.
        assert!(too_many(usize::MAX).is_some());
        assert_eq!(too_many(100_000), None);
    }

    #[test]
    fn a_limit_on_addresses_leaves_what_is_not_taken() {
        let limits = |most: &str| {
            format!("Max stack size  8 9 bytes\nMax address space  {most}  {most}  bytes\n")
        };
        let left = |most: &str| left_of_addresses(&limits(most), "VmPeak: 9 kB\nVmSize:\t 2 kB\n");
        assert_eq!(left("10240"), Some(8192));
        assert_eq!(left("1024"), Some(0));
        assert_eq!((left("unlimited"), left_of_addresses("", "")), (None, None));
    }

    #[test]
    fn the_tightest_group_around_the_process_counts() {
        let root = tempfile::tempdir().expect("a folder");
        let group = |path: &str, files: &[(&str, &str)]| {
            let folder = root.path().join(path);
            fs::create_dir_all(&folder).expect("a folder");
            for (name, text) in files {
                fs::write(folder.join(name), text).expect("written");
            }
        };
        let left = |own: &str| left_in_groups(root.path(), own);
        assert_eq!(left("0::/a/b\n"), None);
        group("a/b", &[("memory.max", "max\n")]);
        assert_eq!(left("0::/a/b\n"), None);
        group(
            "a",
            &[("memory.max", "1000\n"), ("memory.current", "300\n")],
        );
        assert_eq!(left("1:cpu:/x\n0::/a/b\n"), Some(700));
        group("a", &[("memory.stat", "anon 200\ninactive_file 100\n")]);
        assert_eq!(left("0::/a/b\n"), Some(800));
        group(
            "a/b",
            &[("memory.max", "500\n"), ("memory.current", "900\n")],
        );
        assert_eq!(left("0::/a/b\n"), Some(0));
        assert_eq!(left("0::/\n"), None);
        group("", &[("memory.max", "600\n")]);
        assert_eq!(
            (left("0::/\n"), left("0::/../elsewhere\n"), left("")),
            (Some(600), Some(600), Some(600))
        );
    }
}
