use super::*;
use crate::pose::fixtures::*;
use approx::assert_relative_eq;

fn of(mesh: crate::mesh::Mesh) -> Vec<Rest> {
    let part = part(mesh);
    standing(
        &Hull::new(&part.mesh.vertices).unwrap(),
        &part.mass.centroid,
        100,
    )
}

#[test]
fn a_block_stands_on_all_sides() {
    let s = of(box_mesh([0.0; 3], [10.0, 10.0, 40.0]));
    assert_eq!(s.len(), 6);
    assert!(s.iter().all(|r| r.stands));
    // 5 mm from the middle of an end to its edge, and of a side.
    let end = s.iter().find(|r| r.down.z == -1.0).unwrap();
    assert_relative_eq!(end.margin_mm, 5.0, epsilon = 1e-12);
    assert_relative_eq!(s[0].margin_mm, 5.0, epsilon = 1e-12);
}

/// Base 10 × 10, top at z = 20 sheared: by 8 it stands with 1 mm to spare, by 12 it falls.
#[test]
fn a_sheared_block_falls() {
    for (shear, margin_mm, stands) in [(8.0, 1.0, true), (12.0, -1.0, false)] {
        let mut mesh = box_mesh([0.0; 3], [10.0, 10.0, 20.0]);
        mesh.vertices
            .iter_mut()
            .filter(|p| p.z > 0.0)
            .for_each(|p| p.x += shear);
        let s = of(mesh);
        let base = s.iter().find(|r| r.down.z == -1.0).unwrap();
        assert_eq!(base.stands, stands);
        assert_relative_eq!(base.margin_mm, margin_mm, epsilon = 1e-9);
    }
}

#[test]
fn a_turned_part_stands_the_same() {
    let mut mesh = box_mesh([0.0; 3], [10.0, 12.0, 20.0]);
    mesh.vertices
        .iter_mut()
        .filter(|p| p.z > 0.0)
        .for_each(|p| p.x += 12.0);
    let reference = of(mesh.clone());
    let mut random = Random::new(2);
    for _ in 0..100 {
        let turn = random.rotation();
        let s = of(turned_mesh(&mesh, &turn));
        assert_eq!(s.len(), reference.len());
        for r in &reference {
            let down = turn * r.down.into_inner();
            let twin = s.iter().find(|t| t.down.dot(&down) > 1.0 - 1e-9).unwrap();
            assert_eq!(twin.stands, r.stands);
            assert_relative_eq!(twin.margin_mm, r.margin_mm, epsilon = 1e-4);
        }
    }
}

#[test]
fn few_are_kept_of_many() {
    // All triangles of a ball of n points are facets: 2n − 4 (Euler).
    let part = part(hull_mesh(&ball(2_000, 10.0)));
    let hull = Hull::new(&part.mesh.vertices).unwrap();
    assert_eq!(hull.facets().len(), 3_996);
    let few = standing(&hull, &part.mass.centroid, 100);
    assert_eq!(few.len(), 100);
    assert!((few.iter().zip(hull.facets())).all(|(rest, facet)| rest.down == facet.normal));
}
