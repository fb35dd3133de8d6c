//! Things that carry: page holder, wall hanger, stand foot.

use super::solid::{Along, block, circle, finish, prism, rod, rounded, screw, tapered, union};
use manifold_rust::linalg::Vec3;
use wayup::mesh::{Mesh, Units};

/// A foot plate and two tall prongs that hold a page against the music desk.
pub fn page_holder() -> Mesh {
    let [width, depth, thick] = [110.0, 28.0, 4.0];
    let [prong_width, prong_thick, top] = [8.0, 3.6, 114.0];
    let x = width / 2.0;
    let foot = prism(
        &rounded(&[
            [-x, 0.0, 0.0],
            [x, 0.0, 0.0],
            [x, depth, 6.0],
            [-x, depth, 6.0],
        ]),
        Along::Z,
        0.0,
        thick,
    );
    let w = prong_width / 2.0;
    let prong = prism(
        &rounded(&[[-w, 1.0, 0.0], [w, 1.0, 0.0], [w, top, w], [-w, top, w]]),
        Along::Y,
        0.0,
        prong_thick,
    );
    let brace = prism(
        &[
            [prong_thick - 1.0, thick - 1.0],
            [prong_thick + 7.0, thick - 1.0],
            [prong_thick - 1.0, thick + 7.0],
        ],
        Along::X,
        -w,
        w,
    );
    let prongs = [-38.0, 38.0].map(|x| prong.union(&brace).translate(Vec3::new(x, 0.0, 0.0)));
    let screws = [-20.0, 20.0].map(|x| screw([x, 17.0, thick], 4.2, thick + 1.0));
    finish(&[foot.union(&union(prongs)).difference(&union(screws))])
}

/// A hook for a horn on a wall plate with two screws.
pub fn wall_hanger() -> Mesh {
    let profile = rounded(&[
        [0.0, 0.0, 0.0],
        [6.0, 0.0, 2.0],
        [6.0, 8.0, 4.0],
        [22.0, 24.0, 8.0],
        [58.0, 24.0, 10.0],
        [58.0, 58.0, 4.0],
        [49.0, 58.0, 4.0],
        [49.0, 34.0, 6.0],
        [6.0, 34.0, 6.0],
        [6.0, 110.0, 2.0],
        [0.0, 110.0, 0.0],
    ]);
    // Both above the tip, where a screwdriver reaches them.
    let screws = [72.0, 100.0].map(|z| {
        screw([0.0; 3], 4.5, 7.0)
            .rotate(0.0, 90.0, 0.0)
            .translate(Vec3::new(6.0, 0.0, z))
    });
    finish(&[prism(&profile, Along::Y, -9.0, 9.0).difference(&union(screws))])
}

/// A bar with a hub for a 16 mm tube; rubber dots go under its ends.
pub fn stand_foot() -> Mesh {
    let [reach, thick, chamfer] = [125.0, 12.0, 2.0];
    let outline = |inset: f64| -> Vec<[f64; 2]> {
        [(-reach, 10.0), (0.0, 17.0), (reach, 10.0)]
            .into_iter()
            .flat_map(|(x, r)| circle([x, 0.0], r - inset, 12))
            .collect()
    };
    let bar = tapered(&[
        (0.0, &outline(0.6)),
        (0.6, &outline(0.0)),
        (thick - chamfer, &outline(0.0)),
        (thick, &outline(chamfer)),
    ]);
    let hub = tapered(&[
        (0.6, &circle([0.0; 2], 16.0, 16)),
        (26.0 - chamfer, &circle([0.0; 2], 16.0, 16)),
        (26.0, &circle([0.0; 2], 16.0 - chamfer, 16)),
    ]);
    let tube = rod([0.0; 2], 8.2, Along::Z, -1.0, 27.0);
    let clamp_screw = rod([0.0, 19.0], 2.25, Along::Y, 0.0, 20.0);
    let dots = [-reach, reach].map(|x| rod([x, 0.0], 4.75, Along::Z, -1.0, 1.2));
    finish(&[bar
        .union(&hub)
        .difference(&tube)
        .difference(&clamp_screw)
        .difference(&union(dots))])
}

/// A saddle over a quarter-inch cable; all its dimensions are in inches.
pub fn cable_saddle() -> Mesh {
    let [half_length, half_width, thick] = [0.85, 0.25, 0.125];
    let [bore, wall] = [0.14, 0.125];
    let top = bore + bore + wall;
    let r = bore + wall;
    let arch = prism(
        &rounded(&[[-r, 0.0, 0.0], [r, 0.0, 0.0], [r, top, r], [-r, top, r]]),
        Along::Y,
        -half_width,
        half_width,
    );
    let foot = prism(
        &rounded(&[
            [-half_length, -half_width, 0.12],
            [half_length, -half_width, 0.12],
            [half_length, half_width, 0.12],
            [-half_length, half_width, 0.12],
        ]),
        Along::Z,
        0.0,
        thick,
    );
    let cable = rod([0.0, bore], bore, Along::Y, -1.0, 1.0)
        .union(&block([-bore, -1.0, -1.0], [bore, 1.0, bore]));
    let screws = [-0.57, 0.57].map(|x| rod([x, 0.0], 0.0885, Along::Z, -1.0, 1.0));
    let mut mesh = finish(&[foot
        .union(&arch)
        .difference(&cable)
        .difference(&union(screws))]);
    for p in &mut mesh.vertices {
        *p *= Units::Inch.mm();
    }
    mesh
}
