//! What was written where, in words.

use super::json::TurnReport;
use super::layout::Look;
use crate::words::printable;
use crate::words::{decimal, side_down};

/// One or two lines on a part that was written in a pose.
pub fn text(report: &TurnReport, look: Look) -> String {
    let [x, y, z] = report.posed_size_mm.map(|c| decimal(c, 2));
    let side = side_down(&report.pose.down);
    let text = format!(
        "{}: {} with the {side}, standing on z = 0, centred, {x} × {y} × {z} mm.",
        printable(&report.written),
        printable(&report.part.path)
    );
    look.paragraph(&text)
}
