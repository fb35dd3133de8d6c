//! Which poses are compared.

use crate::advice::{Advice, RankedPose};
use crate::report::table::as_stored;
use crate::words;

/// Poses side by side at most: more have no room on the paper.
pub const MOST: usize = 4;

/// One of the poses to be compared.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Which {
    /// By its place in the list.
    Rank(usize),
    /// The pose in which the file is.
    Stored,
}

/// Reads a list such as "1,3" or "stored,1".
///
/// # Errors
/// Fewer than two or more than [`MOST`] entries, one of them twice, or a word that is
/// neither a place nor `stored`.
pub fn parse(text: &str) -> Result<Vec<Which>, String> {
    let mut out = Vec::new();
    for word in text.split(',').map(str::trim) {
        let which = match word.parse::<usize>() {
            Ok(n) if (1..=1000).contains(&n) => Which::Rank(n),
            _ if word.eq_ignore_ascii_case("stored") => Which::Stored,
            _ => {
                return Err(format!(
                    "'{word}' is neither the number of a pose nor 'stored'"
                ));
            }
        };
        if out.contains(&which) {
            return Err(format!("'{word}' stands there twice"));
        }
        out.push(which);
    }
    if (2..=MOST).contains(&out.len()) {
        Ok(out)
    } else {
        Err(format!(
            "compares 2 to {MOST} poses, such as 1,3 or stored,1"
        ))
    }
}

/// A pose that is compared, with what it is called.
#[derive(Debug, Clone)]
pub struct Picked<'a> {
    /// The pose.
    pub pose: &'a RankedPose,
    /// For the head of a column: "pose 3", "as stored".
    pub head: String,
    /// In a sentence: "pose 3 (+X side down)".
    pub name: String,
}

/// The poses of a list, or the first place that there is none of. The pose as stored is left
/// out where it is another one of the list, whose head says so then; a list of both alone keeps them.
///
/// # Errors
/// The place.
pub fn pick<'a>(advice: &'a Advice, list: &[Which]) -> Result<Vec<Picked<'a>>, usize> {
    let twin = as_stored(advice).map(|pose| Which::Rank(pose.rank));
    let is_twin = |which: &Which| twin.as_ref() == Some(which);
    let joins = list.len() > 2 && list.contains(&Which::Stored) && list.iter().any(is_twin);
    list.iter()
        .filter(|which| !joins || **which != Which::Stored)
        .map(|which| {
            let (pose, head) = match which {
                Which::Rank(n) => (advice.poses.get(n - 1).ok_or(*n)?, format!("pose {n}")),
                Which::Stored => (&advice.as_stored, "as stored".to_string()),
            };
            let side = words::side_down(&pose.pose.down);
            let (head, name) = match which {
                Which::Rank(_) if joins && is_twin(which) => (
                    format!("{head}, as stored"),
                    format!("{head}, as stored ({side})"),
                ),
                Which::Rank(_) => (head.clone(), format!("{head} ({side})")),
                Which::Stored => (head, format!("the pose as stored ({side})")),
            };
            Ok(Picked { pose, head, name })
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lists_of_poses_are_read_or_refused_in_words() {
        assert_eq!(parse("1,3"), Ok(vec![Which::Rank(1), Which::Rank(3)]));
        assert_eq!(
            parse(" Stored , 2"),
            Ok(vec![Which::Stored, Which::Rank(2)])
        );
        for bad in ["1", "", "1,1", "0,2", "1,x", "1,2,3,4,5", "stored,stored"] {
            assert!(parse(bad).is_err(), "{bad}");
        }
    }
}
