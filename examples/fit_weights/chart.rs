//! What was said against what was found, as a drawing.

use super::temperature::{Bin, wilson};
use std::fmt::Write;

/// Side of the square from 0 to 100 %.
const SIDE: f64 = 360.0;
/// Room beside and below it.
const ROOM: f64 = 52.0;

/// The chart of the bins as SVG: a dot for each at what was said and found, its area by the
/// parts in it, its bar the Wilson interval; on the diagonal what is said holds.
pub fn svg(bins: &[Bin]) -> String {
    let x = |share: f64| ROOM + SIDE * share;
    let y = |share: f64| 20.0 + SIDE * (1.0 - share);
    let (wide, high) = (ROOM + SIDE + 20.0, SIDE + 20.0 + ROOM);
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {wide} {high}\" width=\"{wide}\" height=\"{high}\" \
         font-family=\"sans-serif\" font-size=\"11\" role=\"img\">\n\
         <title>Share said of the first pose against how often it was chosen</title>\n\
         <rect width=\"{wide}\" height=\"{high}\" fill=\"#fff\"/>\n"
    );
    let mut draw = |line: std::fmt::Arguments| {
        // Writing to a string does not fail.
        let _ = writeln!(out, "{line}");
    };
    for i in 0..=5 {
        let share = f64::from(i) / 5.0;
        let (at_x, at_y, percent) = (x(share), y(share), 20 * i);
        let (left, right, top, foot) = (x(0.0), x(1.0), y(1.0), y(0.0));
        draw(format_args!(
            "<path d=\"M{at_x:.1} {top:.1}V{foot:.1}M{left:.1} {at_y:.1}H{right:.1}\" stroke=\"#ddd\"/>"
        ));
        draw(format_args!(
            "<text x=\"{at_x:.1}\" y=\"{:.1}\" text-anchor=\"middle\">{percent}</text>",
            foot + 16.0
        ));
        draw(format_args!(
            "<text x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"end\">{percent}</text>",
            left - 6.0,
            at_y + 4.0
        ));
    }
    draw(format_args!(
        "<path d=\"M{:.1} {:.1}L{:.1} {:.1}\" stroke=\"#888\" stroke-dasharray=\"4 3\"/>",
        x(0.0),
        y(0.0),
        x(1.0),
        y(1.0)
    ));
    for bin in bins {
        let ([lo, hi], at) = (wilson(bin.right, bin.of), x(bin.said));
        draw(format_args!(
            "<path d=\"M{at:.1} {:.1}V{:.1}\" stroke=\"#111\"/>",
            y(lo),
            y(hi)
        ));
        let radius = 2.0 + (bin.of as f64).sqrt();
        draw(format_args!(
            "<circle cx=\"{at:.1}\" cy=\"{:.1}\" r=\"{radius:.1}\" fill=\"#111\"><title>{} of {} parts</title></circle>",
            y(bin.found()),
            bin.right,
            bin.of
        ));
    }
    draw(format_args!(
        "<text x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"middle\">makers in 100 said to choose pose 1</text>",
        x(0.5),
        high - 14.0
    ));
    draw(format_args!(
        "<text transform=\"translate(16 {:.1}) rotate(-90)\" text-anchor=\"middle\">in 100 that did</text>",
        y(0.5)
    ));
    out.push_str("</svg>\n");
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_bin_that_holds_lies_on_the_diagonal_and_one_that_does_not_is_off_it() {
        let bin = |said: f64, right: f64| Bin {
            from: 0.5,
            of: 10,
            said,
            right,
        };
        let drawn = svg(&[bin(0.5, 5.0)]);
        // The middle of the square: 52 + 180, 20 + 180.
        assert!(drawn.contains("cx=\"232.0\" cy=\"200.0\""), "{drawn}");
        assert!(svg(&[bin(0.5, 10.0)]).contains("cx=\"232.0\" cy=\"20.0\""));
    }
}
