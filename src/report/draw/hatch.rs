//! Hatching over a view: 45° where something hangs over, along the strands where a
//! bridge carries it, and an arrow as long as the bridge.

use super::depth::Frame;
use super::join::{apart, runs};
use super::lines::{Polyline, Seen};
use super::surface::{MarkedSurface, Meaning};

/// Bridges that get an arrow at most, the largest areas first.
const ARROWS: usize = 3;

/// A bridged area smaller than this gets no arrow, square mm.
const ARROW_LEAST_MM2: f64 = 4.0;

/// An arrow is as long as its bridge where they differ by no more than this share.
const SAME_SPAN: f64 = 0.15;

/// An arrow over a bridge with the length to write beside it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Arrow {
    /// Both ends in the view plane, mm.
    pub ends: [[f64; 2]; 2],
    /// Span of the bridge, mm.
    pub span_mm: f64,
}

/// The hatching of one view.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Hatching {
    /// Over surface that needs holding up.
    pub over: Vec<Polyline>,
    /// Over surface that bridges carry.
    pub bridged: Vec<Polyline>,
    /// One for each large bridge.
    pub arrows: Vec<Arrow>,
}

/// Hatches a view with lines `pitch_mm` apart.
pub fn hatching(surface: &MarkedSurface, seen: &Seen, pitch_mm: f64) -> Hatching {
    let meaning = surface.picture(seen);
    let frame = seen.depth.frame;
    let pitch = pitch_mm / frame.step_mm;
    let mut out = Hatching {
        over: across(frame, 45.0_f64.to_radians(), pitch, |i| {
            meaning[i] == Meaning::HangsOver
        }),
        ..Hatching::default()
    };
    let mut angles: Vec<i32> = meaning
        .iter()
        .filter_map(|m| strand_deg(surface, seen, *m))
        .collect();
    angles.sort_unstable();
    angles.dedup();
    for degrees in angles {
        out.bridged.extend(across(
            frame,
            f64::from(degrees).to_radians(),
            0.6 * pitch,
            |i| strand_deg(surface, seen, meaning[i]) == Some(degrees),
        ));
    }
    out.arrows = arrows(surface, seen, &meaning);
    out
}

/// Direction of a bridge's strands in the view, whole degrees; `None` for other
/// surface and where they come out as points.
fn strand_deg(surface: &MarkedSurface, seen: &Seen, meaning: Meaning) -> Option<i32> {
    let Meaning::Bridged(i) = meaning else {
        return None;
    };
    let turn = surface.bridges.get(i as usize)?.direction_deg.to_radians();
    let along = seen.view.right * 1.0;
    let (u, v) = (
        along.x * libm::cos(turn) + along.y * libm::sin(turn),
        seen.view.up.x * libm::cos(turn) + seen.view.up.y * libm::sin(turn),
    );
    (libm::hypot(u, v) > 0.3)
        .then(|| (libm::atan2(v, u).to_degrees().round() as i32).rem_euclid(180))
}

/// Lines at an angle through all pixels of a kind.
fn across(frame: Frame, angle_rad: f64, pitch: f64, is: impl Fn(usize) -> bool) -> Vec<Polyline> {
    let (s, c) = libm::sincos(angle_rad);
    let (w, h) = (frame.nx as f64, frame.ny as f64);
    let corners = [[0.0, 0.0], [w, 0.0], [0.0, h], [w, h]];
    let range = |x: f64, y: f64| {
        let of = corners.map(|p| p[0] * x + p[1] * y);
        (
            of.into_iter().fold(f64::INFINITY, f64::min),
            of.into_iter().fold(f64::NEG_INFINITY, f64::max),
        )
    };
    let (along, over) = (range(c, s), range(-s, c));
    let steps: Vec<f64> = std::iter::successors(Some(along.0), |t| Some(t + 1.0))
        .take_while(|t| *t <= along.1 + 1.0)
        .collect();
    let mut out = Vec::new();
    let mut k = (over.0 / pitch).ceil();
    while k * pitch < over.1 {
        let o = k * pitch;
        k += 1.0;
        let place = |t: f64| [t * c - o * s, t * s + o * c];
        let on = |t: &f64| frame.at(place(*t)).is_some_and(&is);
        let on: Vec<bool> = steps.iter().map(on).collect();
        for (from, to, state) in runs(&on) {
            // The last step lies past the frame.
            if state && to < steps.len() && steps[to] - steps[from] >= 2.0 {
                out.push([from, to].map(|i| frame.mm(place(steps[i]))).into());
            }
        }
    }
    out
}

/// An arrow through the middle of each large bridged area.
fn arrows(surface: &MarkedSurface, seen: &Seen, meaning: &[Meaning]) -> Vec<Arrow> {
    let frame = seen.depth.frame;
    let mut left: Vec<bool> = meaning
        .iter()
        .map(|m| matches!(m, Meaning::Bridged(_)))
        .collect();
    let mut areas: Vec<Vec<usize>> = Vec::new();
    for start in 0..left.len() {
        if !left[start] {
            continue;
        }
        left[start] = false;
        let mut area = vec![start];
        let mut next = 0;
        while next < area.len() {
            let i = area[next];
            next += 1;
            let (x, y) = (i % frame.nx, i / frame.nx);
            for (inside, j) in [
                (x > 0, i.wrapping_sub(1)),
                (x + 1 < frame.nx, i + 1),
                (y > 0, i.wrapping_sub(frame.nx)),
                (y + 1 < frame.ny, i + frame.nx),
            ] {
                if inside && left[j] {
                    left[j] = false;
                    area.push(j);
                }
            }
        }
        if area.len() as f64 * frame.step_mm.powi(2) >= ARROW_LEAST_MM2 {
            areas.push(area);
        }
    }
    areas.sort_by_key(|a| std::cmp::Reverse(a.len()));
    areas
        .iter()
        .take(ARROWS)
        .filter_map(|area| arrow(surface, seen, meaning, area))
        .collect()
}

fn arrow(
    surface: &MarkedSurface,
    seen: &Seen,
    meaning: &[Meaning],
    area: &[usize],
) -> Option<Arrow> {
    let frame = seen.depth.frame;
    let middle = |i: usize| [(i % frame.nx) as f64 + 0.5, (i / frame.nx) as f64 + 0.5];
    let n = area.len() as f64;
    let centre = area
        .iter()
        .map(|&i| middle(i))
        .fold([0.0; 2], |a, p| [a[0] + p[0] / n, a[1] + p[1] / n]);
    let off = |i: usize| apart(centre, middle(i));
    let start = area
        .iter()
        .copied()
        .min_by(|a, b| off(*a).total_cmp(&off(*b)))?;
    let Meaning::Bridged(bridge) = meaning[start] else {
        return None;
    };
    let angle = f64::from(strand_deg(surface, seen, meaning[start])?).to_radians();
    let mut members = area.to_vec();
    members.sort_unstable();
    let from = middle(start);
    let (cos, sin) = (libm::cos(angle), libm::sin(angle));
    let reach = |sign: f64| {
        let place = |t: f64| [from[0] + sign * t * cos, from[1] + sign * t * sin];
        let mut t = 0.0;
        while (frame.at(place(t + 1.0))).is_some_and(|i| members.binary_search(&i).is_ok()) {
            t += 1.0;
        }
        frame.mm(place(t + 0.5))
    };
    let ends = [reach(-1.0), reach(1.0)];
    let drawn_mm = apart(ends[0], ends[1]);
    let span_mm = surface.bridges.get(bridge as usize)?.span_mm;
    // Where only the ends of a wide ceiling are within the limit, the arrow is theirs.
    let same = (drawn_mm - span_mm).abs() <= SAME_SPAN * span_mm;
    Some(Arrow {
        ends,
        span_mm: if same { span_mm } else { drawn_mm },
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::figures::sliced::Sliced;
    use crate::mesh::Part;
    use crate::pose::Pose;
    use crate::report::draw::fixture::{bench, blocks};
    use crate::report::draw::view::View;
    use crate::settings::Settings;

    fn below(part: &Part) -> (Hatching, f64) {
        let settings = Settings::default();
        let bench = bench(part, &settings);
        let sliced = Sliced::new(&bench, Pose::as_stored(&part.mesh.vertices));
        let surface = MarkedSurface::of(&sliced);
        let seen = Seen::new(sliced.posed(), View::below(), 500).expect("extent");
        let drawn = hatching(&surface, &seen, 2.0);
        let length = |lines: &[Polyline]| -> f64 {
            lines
                .iter()
                .map(|l| libm::hypot(l[1][0] - l[0][0], l[1][1] - l[0][1]))
                .sum()
        };
        let over = length(&drawn.over);
        (drawn, over)
    }

    /// A table: a top over two walls `gap` apart.
    fn table(gap: f64) -> Part {
        blocks(&[
            ([0.0, 0.0, 0.0], [5.0, 30.0, 20.0]),
            ([5.0 + gap, 0.0, 0.0], [10.0 + gap, 30.0, 20.0]),
            ([0.0, 0.0, 20.0], [10.0 + gap, 30.0, 24.0]),
        ])
    }

    #[test]
    fn hatching_of_a_wide_ceiling_has_the_length_of_area_over_pitch() {
        // 40 × 30 mm that nothing carries, in lines 2 mm apart: 600 mm of ink.
        let (drawn, over) = below(&table(40.0));
        assert!((over - 600.0).abs() < 12.0, "{over}");
        assert!(drawn.bridged.is_empty() && drawn.arrows.is_empty());
        for l in &drawn.over {
            assert!(
                ((l[1][0] - l[0][0]) - (l[1][1] - l[0][1])).abs() < 1e-6,
                "45°"
            );
        }
    }

    #[test]
    fn a_ceiling_that_bridges_gets_strands_across_and_an_arrow_of_its_span() {
        let (drawn, over) = below(&table(8.0));
        assert_eq!(over, 0.0);
        assert!(!drawn.bridged.is_empty());
        let [arrow] = drawn.arrows[..] else {
            panic!("{:?}", drawn.arrows)
        };
        assert!((arrow.span_mm - 8.0).abs() < 0.1);
        let [a, b] = arrow.ends;
        assert!(((b[0] - a[0]).abs() - 8.0).abs() < 0.2 && (b[1] - a[1]).abs() < 0.2);
        for l in &drawn.bridged {
            assert!(
                (l[1][1] - l[0][1]).abs() < 1e-9,
                "strands run across the gap"
            );
        }
    }
}
