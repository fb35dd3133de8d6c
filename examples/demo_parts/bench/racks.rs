//! Things that things stand in: tray, rack, reed case, mute cradle.

use super::solid::{
    Along, block, circle, finish, plate, prism, rod, rounded, screw, tapered, union,
};
use manifold_rust::linalg::Vec3;
use wayup::mesh::Mesh;

/// Six drained pockets for brass mouthpieces.
pub fn mouthpiece_tray() -> Mesh {
    let [pitch, height, floor, r] = [34.0, 22.0, 4.0, 15.0];
    let pocket = tapered(&[
        (height - 1.0, &circle([0.0; 2], r, 16)),
        (height + 1.0, &circle([0.0; 2], r + 2.0, 16)),
    ])
    .union(&rod([0.0; 2], r, Along::Z, floor, height))
    .union(&rod([0.0; 2], 2.5, Along::Z, -1.0, floor + 1.0));
    let pockets = [-1.0, 0.0, 1.0]
        .into_iter()
        .flat_map(|i| [-0.5, 0.5].map(|j| pocket.translate(Vec3::new(i * pitch, j * pitch, 0.0))));
    finish(&[plate([108.0, 74.0, height], 6.0, [1.0, 1.0]).difference(&union(pockets))])
}

/// Three wells for valve-oil bottles; a strap goes through the slot in the floor.
pub fn valve_oil_rack() -> Mesh {
    let [length, height, floor] = [100.0, 34.0, 10.0];
    let wells = [-31.0, 0.0, 31.0].map(|x| rod([x, 0.0], 13.5, Along::Z, floor, height + 1.0));
    let slot = block([-length, -4.0, 3.0], [length, 4.0, 7.0]);
    let body = plate([length, 36.0, height], 4.0, [1.0, 1.0]);
    finish(&[body.difference(&union(wells)).difference(&slot)])
}

/// Four reed beds over four sealed, gabled air chambers.
pub fn reed_case() -> Mesh {
    let [length, width, height] = [78.0, 66.0, 16.0];
    let [bed_floor, bed_width, pitch] = [12.4, 13.5, 15.5];
    // Half the chamber's width is the gable's height: its roof leans 45°.
    let [half, low, eaves] = [5.75, 2.4, 4.4];
    let gable = [
        [-half, low],
        [half, low],
        [half, eaves],
        [0.0, eaves + half],
        [-half, eaves],
    ];
    let hollows = [-1.5, -0.5, 0.5, 1.5].map(|i| {
        let bed = block(
            [-35.0, -bed_width / 2.0, bed_floor],
            [35.0, bed_width / 2.0, height + 1.0],
        );
        let chamber = prism(&gable, Along::X, -35.0, 35.0);
        bed.union(&chamber)
            .translate(Vec3::new(0.0, i * pitch, 0.0))
    });
    // A finger reaches under the reeds here.
    let scoop = rod([22.0, height + 6.0], 9.0, Along::Y, -30.0, 30.0);
    let body = plate([length, width, height], 4.0, [1.0, 1.0]);
    finish(&[body.difference(&union(hollows)).difference(&scoop)])
}

/// Two V-shaped ribs on a foot plate; every flare is at 45°.
pub fn mute_cradle() -> Mesh {
    let half = [
        [20.0, 5.0, 0.0],
        [20.0, 6.0, 0.0],
        [13.0, 13.0, 0.0],
        [13.0, 15.0, 0.0],
        [40.0, 42.0, 0.0],
        [40.0, 54.0, 1.5],
        [36.0, 54.0, 1.5],
    ];
    let mut outline = half.to_vec();
    outline.push([0.0, 18.0, 6.0]);
    outline.extend(half.iter().rev().map(|[x, z, r]| [-x, *z, *r]));
    let rib = prism(&rounded(&outline), Along::Y, -5.0, 5.0);
    let ribs = [-25.0, 25.0].map(|y| rib.translate(Vec3::new(0.0, y, 0.0)));
    let screws = [-36.0, 36.0].map(|x| screw([x, 0.0, 6.0], 4.5, 7.0));
    let foot = plate([90.0, 70.0, 6.0], 6.0, [0.6, 1.0]);
    finish(&[foot.union(&union(ribs)).difference(&union(screws))])
}
