//! How much memory there is to work in.

use std::fs;

/// Where the system does not say.
const UNKNOWN: u64 = 4 << 30;

/// Bytes that are free, by the kernel's own estimate, or what a container leaves of them.
pub fn room() -> u64 {
    let free = fs::read_to_string("/proc/meminfo")
        .ok()
        .and_then(|text| available(&text))
        .unwrap_or(UNKNOWN);
    fs::read_to_string("/sys/fs/cgroup/memory.max")
        .ok()
        .and_then(|text| text.trim().parse().ok())
        .map_or(free, |most: u64| free.min(most))
}

/// The row `MemAvailable` of the kernel's table, which is in KiB.
fn available(text: &str) -> Option<u64> {
    let row = text.lines().find_map(|l| l.strip_prefix("MemAvailable:"))?;
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
}
