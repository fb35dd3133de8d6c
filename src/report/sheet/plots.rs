//! The two plots of a sheet: section area against height, and the poses on two axes.

use crate::advice::RankedPose;
use crate::figures::profile::{Jump, LayerProfile};
use crate::report::draw::picture::{Anchor, Pen, Picture, circle};
use crate::report::figures::charged;
use crate::report::plot::{Plot, round_up};
use crate::words::{decimal, joined, length, three};

/// Lettering, mm.
const LETTER: f64 = 2.3;

/// Room for the axes' lettering, mm: left and below.
const LEFT: f64 = 7.5;
const BELOW: f64 = 7.5;

/// Jumps that get their height lettered.
const LETTERED: usize = 3;

/// Jumps that are marked at most, the largest changes first.
const MARKED: usize = 10;

/// Section area to the right, height upwards, with a mark where it jumps.
pub fn area_by_height(layer_profile: &LayerProfile, height_mm: f64, size: [f64; 2]) -> Plot {
    let mut out = Picture::new(size[0], size[1]);
    let most = layer_profile.area_mm2.iter().copied().fold(0.0, f64::max);
    let (unit, factor) = if most >= 1000.0 {
        ("cm²", 100.0)
    } else {
        ("mm²", 1.0)
    };
    let top = round_up(most / factor) * factor;
    let (wide, tall) = (size[0] - LEFT - 3.0, size[1] - BELOW - 2.5);
    let base = size[1] - BELOW;
    let x = |area: f64| LEFT + area / top * wide;
    let y = |z: f64| base - z / height_mm.max(1e-9) * tall;
    out.stroke(Pen::Ground, &[[LEFT, base], [LEFT + wide + 2.0, base]]);
    out.stroke(Pen::Thin, &[[LEFT, base], [LEFT, base - tall - 1.0]]);
    let mut outline = vec![[x(0.0), y(0.0)]];
    let mut below = 0.0;
    let n = layer_profile.z_mm.len();
    for (i, area) in layer_profile.area_mm2.iter().enumerate() {
        let above = if i + 1 < n {
            f64::midpoint(layer_profile.z_mm[i], layer_profile.z_mm[i + 1])
        } else {
            height_mm
        };
        outline.push([x(*area), y(below)]);
        outline.push([x(*area), y(above.min(height_mm))]);
        below = above.min(height_mm);
    }
    outline.push([x(0.0), y(below)]);
    out.stroke(Pen::Edge, &thinned(&outline));

    let marked = largest_jumps(&layer_profile.jumps);
    let mut lettered: Vec<f64> = Vec::new();
    for jump in &marked {
        let at = y(jump.z_mm);
        out.stroke(Pen::Mark, &[[LEFT - 1.2, at], [LEFT + wide + 1.0, at]]);
        let free = lettered.iter().all(|l| (l - at).abs() > 3.0);
        if lettered.len() < LETTERED && free && at < base - 2.5 && at > base - tall + 2.5 {
            lettered.push(at);
            let z = decimal(jump.z_mm, 1);
            out.label([LEFT - 1.7, at + 0.8], z, LETTER, Anchor::End);
        }
    }
    let (end, tip) = ([LEFT + wide, base + 3.2], [LEFT - 1.2, base - tall + 0.8]);
    let below = [LEFT + wide / 2.0, base + 6.4];
    out.label([LEFT - 1.2, base + 0.8], "0", LETTER, Anchor::End);
    out.label(tip, decimal(height_mm, 1), LETTER, Anchor::End);
    let above = [LEFT + 1.2, base - tall - 0.6];
    out.label(above, "height, mm", LETTER, Anchor::Start);
    out.label(end, three(top / factor), LETTER, Anchor::Middle);
    out.label(
        below,
        format!("section area, {unit}"),
        LETTER,
        Anchor::Middle,
    );
    let jumps = match marked.as_slice() {
        [] => "it changes steadily".to_string(),
        list => {
            let mut heights: Vec<f64> = list.iter().map(|j| j.z_mm).collect();
            heights.sort_by(f64::total_cmp);
            let heights = joined(heights.into_iter().map(length), ", ");
            format!("it jumps at {heights}")
        }
    };
    Plot {
        picture: out,
        alt: format!(
            "Section area against height: at most {} {unit}; {jumps}.",
            three(most / factor)
        ),
    }
}

/// The largest changes of area, the largest first.
fn largest_jumps(jumps: &[Jump]) -> Vec<Jump> {
    let mut sorted = jumps.to_vec();
    let larger = |a: &Jump, b: &Jump| b.ratio().total_cmp(&a.ratio());
    sorted.sort_by(|a, b| larger(a, b).then(a.z_mm.total_cmp(&b.z_mm)));
    sorted.truncate(MARKED);
    sorted
}

/// Leaves out points that change nothing at a fiftieth of a mm.
fn thinned(line: &[[f64; 2]]) -> Vec<[f64; 2]> {
    let mut out: Vec<[f64; 2]> = Vec::new();
    for p in line {
        while let [.., a, b] = out[..] {
            let between =
                (b[0] - a[0]) * (p[0] - b[0]) >= 0.0 && (b[1] - a[1]) * (p[1] - b[1]) >= 0.0;
            let off = ((b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0])).abs();
            let span = libm::hypot(p[0] - a[0], p[1] - a[1]).max(1e-9);
            if between && off / span < 0.02 {
                out.pop();
            } else {
                break;
            }
        }
        out.push(*p);
    }
    out
}

/// Share of all differences between the first two poses that two penalties make up where the decision
/// lay between them, and the least share of the smaller in the larger.
const DECIDED: f64 = 0.8;
const BALANCED: f64 = 0.25;

/// The two penalties between which the decision lay: one speaks for the first pose and one for the
/// second, and beside them nothing else sets the two apart. By their places in the table.
fn deciding(differences: &[f64]) -> Option<[usize; 2]> {
    let all: f64 = differences.iter().map(|d| d.abs()).sum();
    let places = || 0..differences.len();
    let most = places().max_by(|a, b| differences[*a].total_cmp(&differences[*b]))?;
    let least = places().min_by(|a, b| differences[*a].total_cmp(&differences[*b]))?;
    let (plus, minus) = (differences[most], -differences[least]);
    let both = plus > 0.0 && minus > 0.0 && plus.min(minus) >= BALANCED * plus.max(minus);
    (both && plus + minus >= DECIDED * all).then_some([most, least])
}

/// The poses on two axes, where the decision lay between two penalties; poses that no other betters
/// on both are joined. `None` elsewhere.
pub fn two_axes(poses: &[RankedPose], size: [f64; 2]) -> Option<Plot> {
    let [first, second] = poses.first_chunk::<2>()?;
    let pairs = second.charges.iter().zip(&first.charges);
    let [kx, ky] = deciding(&pairs.map(|(b, a)| b.value - a.value).collect::<Vec<_>>())?;
    let point = |p: &RankedPose| [kx, ky].map(|k| p.charges[k].value);
    let points: Vec<[f64; 2]> = poses.iter().map(point).collect();
    let most = |k: usize| round_up(points.iter().map(|p| p[k]).fold(0.0, f64::max));
    let (top_x, top_y) = (most(0), most(1));
    let (wide, tall) = (size[0] - LEFT - 4.0, size[1] - BELOW - 3.5);
    let base = size[1] - BELOW;
    let place = |p: [f64; 2]| [LEFT + p[0] / top_x * wide, base - p[1] / top_y * tall];
    let mut out = Picture::new(size[0], size[1]);
    out.stroke(Pen::Thin, &[[LEFT, base], [LEFT + wide + 2.0, base]]);
    out.stroke(Pen::Thin, &[[LEFT, base], [LEFT, base - tall - 1.5]]);
    let mut best: Vec<usize> = (0..points.len())
        .filter(|&i| {
            !points.iter().any(|q| {
                let p = points[i];
                q[0] <= p[0] && q[1] <= p[1] && (q[0] < p[0] - 1e-9 || q[1] < p[1] - 1e-9)
            })
        })
        .collect();
    best.sort_by(|a, b| points[*a][0].total_cmp(&points[*b][0]).then(a.cmp(b)));
    let front: Vec<[f64; 2]> = best.iter().map(|i| place(points[*i])).collect();
    out.stroke(Pen::Mark, &front);
    let mut taken: Vec<[f64; 2]> = Vec::new();
    for (i, p) in points.iter().enumerate() {
        let at = place(*p);
        let ring = circle(at, 0.75, 16);
        if best.contains(&i) {
            out.fill(&ring);
        } else {
            out.stroke(Pen::Thin, &ring);
        }
        let mut label = [at[0] + 1.1, at[1] - 0.9];
        while taken
            .iter()
            .any(|t: &[f64; 2]| (t[0] - label[0]).abs() < 2.0 && (t[1] - label[1]).abs() < 2.0)
        {
            label[0] += 2.1;
        }
        taken.push(label);
        out.label(label, poses[i].rank.to_string(), LETTER, Anchor::Start);
    }
    let names = [kx, ky].map(|k| &charged(first.charges[k].penalty).label);
    let (end, tip) = ([LEFT + wide, base + 3.2], [LEFT - 0.8, base - tall + 0.8]);
    let (below, beside) = ([LEFT + wide / 2.0, base + 6.4], [2.4, base - tall / 2.0]);
    let [name_x, name_y] = names.map(|name| format!("{name}, penalty"));
    out.label(below, name_x, LETTER, Anchor::Middle);
    out.label(beside, name_y, LETTER, Anchor::Middle);
    if let Some(label) = out.labels.last_mut() {
        label.upright = true;
    }
    out.label(end, three(top_x), LETTER, Anchor::Middle);
    out.label(tip, three(top_y), LETTER, Anchor::End);
    out.label([LEFT - 0.8, base + 2.6], "0", LETTER, Anchor::End);
    let kept = joined(best.iter().map(|i| poses[*i].rank.to_string()), ", ");
    let (x, y) = (names[0], names[1]);
    let noun = if best.len() == 1 { "pose" } else { "poses" };
    Some(Plot {
        picture: out,
        alt: format!(
            "The listed poses by their penalties for {x} and {y}. On these two no other pose is better than {noun} {kept}."
        ),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_penalties_decide_where_one_speaks_for_each_pose_and_nothing_else_does() {
        assert_eq!(deciding(&[0.0, 2.0, -1.5, 0.2]), Some([1, 2]));
        // All for the first pose; a third in it; one far larger than the other.
        assert_eq!(deciding(&[2.0, 1.0, 0.0]), None);
        assert_eq!(deciding(&[2.0, -1.5, 1.5, 0.0]), None);
        assert_eq!(deciding(&[2.0, -0.3]), None);
        assert_eq!(deciding(&[]), None);
    }

    #[test]
    fn an_axis_ends_at_a_round_number_above_the_data() {
        for (v, top) in [
            (0.7, 0.8),
            (1.0, 1.0),
            (21.9, 30.0),
            (0.0, 1.0),
            (99.0, 100.0),
        ] {
            assert!((round_up(v) - top).abs() < 1e-9, "{v}");
        }
    }

    #[test]
    fn the_outline_of_the_sections_has_their_area() {
        // A step: 100 mm² for 10 mm, 25 mm² for 10 mm more.
        let layer_profile = LayerProfile {
            z_mm: (0..100).map(|k| 0.1 + 0.2 * f64::from(k)).collect(),
            area_mm2: (0..100)
                .map(|k| if k < 50 { 100.0 } else { 25.0 })
                .collect(),
            pieces: vec![1; 100],
            perimeter_mm: vec![40.0; 100],
            jumps: vec![Jump {
                z_mm: 10.0,
                from_mm2: 100.0,
                to_mm2: 25.0,
                from_pieces: 1,
                to_pieces: 1,
                why: String::new(),
            }],
        };
        let plot = area_by_height(&layer_profile, 20.0, [40.0, 40.0]);
        let line = &plot
            .picture
            .strokes
            .iter()
            .find(|s| s.0 == Pen::Edge)
            .expect("an outline")
            .1;
        let mut area = 0.0;
        for i in 0..line.len() {
            let (a, b) = (line[i], line[(i + 1) % line.len()]);
            area += (a[0] * b[1] - b[0] * a[1]) / 2.0;
        }
        // Paper: 29.5 mm for 100 mm², 30 mm for 20 mm.
        let volume = area.abs() / (29.5 / 100.0) / (30.0 / 20.0);
        assert!((volume - 1250.0).abs() < 2.0, "{volume}");
        assert!(plot.alt.contains("it jumps at 10 mm"), "{}", plot.alt);
        assert!(line.len() <= 7, "{line:?}");
    }
}
