//! Two small parts for which the largest flat is not the way: a fork that would wobble, and
//! a hook whose tip would hang in the air.

use crate::mesh::{Part, ReadOptions, read_bytes};

/// A fork: a foot of 60 × 26 × 4 mm with two tines 4 mm square and 90 mm tall at its edge.
/// `None` never happens; the surface is closed.
pub fn fork() -> Option<Part> {
    part(include_bytes!("fork.off"))
}

/// A hook: a back of 18 × 6 × 70 mm, an arm 10 mm high out to 48 mm, its tip 20 mm higher.
/// `None` never happens; the surface is closed.
pub fn hook() -> Option<Part> {
    part(include_bytes!("hook.off"))
}

fn part(off: &[u8]) -> Option<Part> {
    let mut read = read_bytes("", off, &ReadOptions::default()).ok()?;
    Some(read.take_part().ok()?.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn both_parts_close_and_have_the_volume_of_their_blocks() {
        let fork = fork().expect("a part");
        assert!(fork.closed && !fork.overlapping);
        assert!((fork.mass.volume_mm3 - (60.0 * 26.0 * 4.0 + 2.0 * 16.0 * 90.0)).abs() < 1e-6);
        let hook = hook().expect("a part");
        assert!(hook.closed && !hook.overlapping);
        let profile = 6.0 * 70.0 + 34.0 * 10.0 + 8.0 * 30.0;
        assert!((hook.mass.volume_mm3 - 18.0 * profile).abs() < 1e-6);
    }
}
