//! Things that grip or guide: stand clip, its broken twin, drum-rim comb, bell spout, tag.
// The files in the repository were made with the functions of the platform; no result hangs on them.
#![allow(clippy::disallowed_methods)]

use super::solid::{
    Along, at, block, drawn_out, finish, plate, polygons, prism, rod, stroke, turned, union,
};
use manifold_rust::cross_section::CrossSection;
use manifold_rust::linalg::Vec3;
use wayup::mesh::Mesh;

const CLIP_HALF_WIDTH: f64 = 7.0;

/// A clip for a 16 mm stand tube with a smaller one for a pencil.
pub fn stand_clip() -> Mesh {
    let rod = |center, r| rod(center, r, Along::Y, -CLIP_HALF_WIDTH, CLIP_HALF_WIDTH);
    let cut = |center, r| self::rod(center, r, Along::Y, -20.0, 20.0);
    // Opens by `half` degrees to both sides of the direction `facing_deg`.
    let mouth = |c: [f64; 2], facing_deg: f64, half: f64| {
        let far = [-half, half].map(|a| at(c, 40.0, facing_deg + a));
        prism(&[c, far[0], far[1]], Along::Y, -20.0, 20.0)
    };
    let tube = [0.0, 0.0];
    let pencil = [-15.9, 0.0];
    let lips = |c: [f64; 2], r: f64, facing_deg: f64, half: f64, lip: f64| {
        union([-half, half].map(|a| rod(at(c, r, facing_deg + a), lip)))
    };
    let solid = rod(tube, 11.2)
        .union(&rod(pencil, 6.4))
        .union(&block(
            [-15.0, -CLIP_HALF_WIDTH, -5.0],
            [-8.0, CLIP_HALF_WIDTH, 5.0],
        ))
        .difference(&cut(tube, 8.2))
        .difference(&cut(pencil, 4.0))
        .difference(&mouth(tube, 0.0, 52.0))
        .difference(&mouth(pencil, 180.0, 55.0))
        .union(&lips(tube, 9.9, 0.0, 52.0, 2.0))
        .union(&lips(pencil, 5.3, 180.0, 55.0, 1.5));
    finish(&[solid])
}

/// The stand clip as a careless export leaves it: the pencil clip's end face is
/// gone, and the tube clip's end face on the same side points inward.
pub fn broken_clip() -> Mesh {
    let mut mesh = stand_clip();
    let x_on_end_face = |t: &[u32; 3]| {
        let corners = t.map(|v| mesh.vertices[v as usize]);
        corners
            .iter()
            .all(|p| p.y == CLIP_HALF_WIDTH)
            .then(|| corners.iter().map(|p| p.x).sum::<f64>() / 3.0)
    };
    mesh.triangles = mesh
        .triangles
        .iter()
        .filter_map(|t| match x_on_end_face(t) {
            Some(x) if x < -10.0 => None,
            Some(_) => Some([t[0], t[2], t[1]]),
            None => Some(*t),
        })
        .collect();
    mesh
}

/// A comb on an arc of a 14-inch drum's rim that keeps the cords apart.
pub fn drum_rim_comb() -> Mesh {
    let [outer, inner, tip, half_thick] = [179.0, 165.0, 131.0, 3.0];
    let center = [0.0, outer];
    let [first_deg, last_deg] = [244.0, 296.0];
    let arc = |r: f64, from: f64, to: f64| {
        (0..=26).map(move |i| at(center, r, from + (to - from) * f64::from(i) / 26.0))
    };
    let back: Vec<[f64; 2]> = arc(outer, first_deg, last_deg)
        .chain(arc(inner, last_deg, first_deg))
        .collect();
    let tines = (0..13).map(|i| {
        let angle = first_deg + 2.0 + 4.0 * f64::from(i);
        stroke(
            at(center, inner + 3.0, angle),
            at(center, tip + 1.5, angle),
            3.0,
        )
    });
    let comb = tines.chain([CrossSection::new(polygons(&back))]);
    let mid = f64::midpoint(outer, inner);
    let holes = [252.0, 288.0].map(|a| rod(at(center, mid, a), 2.5, Along::Y, -5.0, 5.0));
    finish(&[drawn_out(comb, Along::Y, -half_thick, half_thick).difference(&union(holes))])
}

/// A rinsing spout shaped like a bell: one wall, two rolled rims, no flat.
pub fn bell_spout() -> Mesh {
    let [rim, length, wall] = [33.0, 75.0, 2.4];
    // A horn r = rim·(1 + z/b)^-γ as instrument bells have it: 7 mm at the throat.
    let [b, gamma] = [9.2, 0.7];
    let samples = 20;
    let middle: Vec<([f64; 2], f64)> = (0..=samples)
        .map(|i| {
            let s = f64::from(i) / f64::from(samples);
            let z = length * s * s;
            let r = rim * (1.0 + z / b).powf(-gamma);
            let slope = -gamma * r / (b + z);
            ([r, z], 1.0_f64.atan2(slope).to_degrees())
        })
        .collect();
    let half = wall / 2.0;
    let roll = |(c, heading): ([f64; 2], f64), first: f64| {
        (1..8).map(move |k| at(c, half, heading + first + 180.0 * f64::from(k) / 8.0))
    };
    let outside = middle
        .iter()
        .map(|(c, heading)| at(*c, half, heading - 90.0));
    let inside = middle
        .iter()
        .rev()
        .map(|(c, heading)| at(*c, half, heading + 90.0));
    let outline: Vec<[f64; 2]> = outside
        .chain(roll(middle[middle.len() - 1], -90.0))
        .chain(inside)
        .chain(roll(middle[0], 90.0))
        .collect();
    finish(&[turned(&outline, 64)])
}

/// A tag with raised letters; each letter is a body sunk 0.4 mm into the plate.
pub fn tuning_key_tag() -> Mesh {
    let hole = rod([-25.0, 0.0], 2.5, Along::Z, -1.0, 4.0);
    let mut bodies = vec![plate([62.0, 24.0, 3.0], 5.0, [0.6, 0.6]).difference(&hole)];
    // Strokes in a cell 7 wide and 10 high, from its lower left. They run at
    // multiples of 22.5°, as the corners of their round ends do, so that the ends
    // of strokes that meet coincide.
    let seven_foot = 6.5 - 10.0 * 22.5_f64.to_radians().tan();
    let letters: [(f64, &[[[f64; 2]; 2]]); 4] = [
        (
            -17.0,
            &[
                [[0.0, 0.0], [0.0, 10.0]],
                [[0.0, 3.5], [6.5, 10.0]],
                [[1.75, 5.25], [7.0, 0.0]],
            ],
        ),
        (
            -6.0,
            &[
                [[0.0, 0.0], [0.0, 10.0]],
                [[0.0, 0.0], [6.5, 0.0]],
                [[0.0, 5.0], [5.5, 5.0]],
                [[0.0, 10.0], [6.5, 10.0]],
            ],
        ),
        (
            4.5,
            &[
                [[0.0, 10.0], [3.5, 6.5]],
                [[7.0, 10.0], [3.5, 6.5]],
                [[3.5, 6.5], [3.5, 0.0]],
            ],
        ),
        (
            18.5,
            &[[[0.0, 10.0], [6.5, 10.0]], [[6.5, 10.0], [seven_foot, 0.0]]],
        ),
    ];
    for (x, strokes) in letters {
        let letter = strokes.iter().map(|[a, b]| stroke(*a, *b, 2.0));
        bodies.push(drawn_out(letter, Along::Z, 2.6, 3.8).translate(Vec3::new(x, -5.0, 0.0)));
    }
    finish(&bodies)
}
