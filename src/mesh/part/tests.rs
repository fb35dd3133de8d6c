use super::*;
use nalgebra::{Isometry3, Matrix3, UnitQuaternion};

/// A mesh of literal coordinates.
fn mesh(points: &[[f64; 3]], triangles: &[[u32; 3]]) -> Mesh {
    Mesh {
        vertices: points.iter().map(|p| Point3::from(*p)).collect(),
        triangles: triangles.to_vec(),
    }
}

fn tetrahedron() -> Mesh {
    mesh(
        &[[0., 0., 0.], [1., 0., 0.], [0., 1., 0.], [0., 0., 1.]],
        &[[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]],
    )
}

/// Box from `lo` to `hi`, faces outward.
fn cuboid(lo: [f64; 3], hi: [f64; 3]) -> Mesh {
    let corner = |i: usize| {
        [0, 1, 2].map(|axis| {
            if i >> axis & 1 == 0 {
                lo[axis]
            } else {
                hi[axis]
            }
        })
    };
    let quads = [
        [0, 2, 3, 1],
        [4, 5, 7, 6],
        [0, 1, 5, 4],
        [2, 6, 7, 3],
        [0, 4, 6, 2],
        [1, 3, 7, 5],
    ];
    let triangles: Vec<[u32; 3]> = quads
        .iter()
        .flat_map(|[a, b, c, d]| [[*a, *b, *c], [*a, *c, *d]])
        .collect();
    mesh(&(0..8).map(corner).collect::<Vec<_>>(), &triangles)
}

fn cylinder(sides: u32, radius: f64, height: f64) -> Mesh {
    let mut points = vec![[0., 0., 0.], [0., 0., height]];
    let mut triangles = Vec::new();
    for i in 0..sides {
        let angle = f64::from(i) * std::f64::consts::TAU / f64::from(sides);
        points.push([radius * libm::cos(angle), radius * libm::sin(angle), 0.]);
        points.push([radius * libm::cos(angle), radius * libm::sin(angle), height]);
        let (a, b) = (2 + 2 * i, 2 + 2 * ((i + 1) % sides));
        triangles.extend([
            [0, b, a],
            [1, a + 1, b + 1],
            [a, b, b + 1],
            [a, b + 1, a + 1],
        ]);
    }
    mesh(&points, &triangles)
}

fn turned(mut mesh: Mesh) -> Mesh {
    for t in &mut mesh.triangles {
        t.swap(1, 2);
    }
    mesh
}

fn moved(mut mesh: Mesh, by: &Isometry3<f64>) -> Mesh {
    for p in &mut mesh.vertices {
        *p = by * *p;
    }
    mesh
}

/// Several meshes as one, positions welded.
fn join(meshes: &[Mesh]) -> Mesh {
    let mut all = Mesh::default();
    for one in meshes {
        let base = all.vertices.len() as u32;
        all.vertices.extend(&one.vertices);
        all.triangles
            .extend(one.triangles.iter().map(|t| t.map(|v| v + base)));
    }
    crate::mesh::weld::weld_indexed(&all.vertices, &all.triangles)
}

fn kinds(defects: &[Defect]) -> Vec<(DefectKind, u64)> {
    defects.iter().map(|d| (d.kind, d.count)).collect()
}

/// What must hold of any part.
fn assert_sound(part: &Part) {
    let h = part.opposite.len() as u32;
    assert_eq!(h as usize, 3 * part.mesh.triangles.len());
    for i in 0..h {
        let other = part.opposite[i as usize];
        if other != crate::mesh::NO_NEIGHBOUR {
            assert_eq!(part.opposite[other as usize], i);
            let (a, b) = crate::mesh::edges::ends(&part.mesh, i);
            assert_eq!(crate::mesh::edges::ends(&part.mesh, other), (b, a));
        }
    }
    let mut seen: Vec<u32> = part
        .bodies
        .iter()
        .flat_map(|b| b.triangles.clone())
        .collect();
    seen.sort_unstable();
    assert_eq!(
        seen,
        (0..part.mesh.triangles.len() as u32).collect::<Vec<_>>()
    );
    if part.closed {
        let sum: Vector3<f64> = part
            .normals
            .iter()
            .zip(&part.areas)
            .map(|(n, a)| n * *a)
            .sum();
        assert!(sum.norm() <= 1e-12 * part.mass.area_mm2, "{sum}");
        assert!(
            part.opposite
                .iter()
                .all(|o| *o != crate::mesh::NO_NEIGHBOUR)
        );
    }
}

fn part(mesh: Mesh) -> (Part, Vec<Defect>) {
    let (part, defects) = Part::new(mesh).unwrap();
    assert_sound(&part);
    (part, defects)
}

fn near(a: f64, b: f64) -> bool {
    (a - b).abs() <= 1e-12 * b.abs().max(1.0)
}

// T1 of the worked examples, derived: V, centroid, area and moments of the unit corner.
#[test]
fn tetrahedron_has_its_closed_form() {
    let (part, defects) = part(tetrahedron());
    assert!(defects.is_empty() && part.closed && !part.overlapping);
    assert!(near(part.mass.volume_mm3, 1.0 / 6.0));
    assert!(near(part.mass.area_mm2, 1.5 + 3f64.sqrt() / 2.0));
    assert!((part.mass.centroid - Point3::new(0.25, 0.25, 0.25)).norm() < 1e-15);
    let expected = Matrix3::from_fn(|i, j| if i == j { 1.0 / 80.0 } else { 1.0 / 480.0 });
    assert!(
        (part.mass.inertia_mm5 - expected).norm() < 1e-15,
        "{}",
        part.mass.inertia_mm5
    );
}

// T2, derived: box 10 x 20 x 30.
#[test]
fn box_has_its_closed_form_wherever_it_stands() {
    for shift in [0.0, 1e3, -1e5] {
        let by = Isometry3::translation(shift, -shift, 2.0 * shift);
        let (part, _) = part(moved(cuboid([0.; 3], [10., 20., 30.]), &by));
        let slack = 1e-9;
        assert!((part.mass.volume_mm3 - 6000.0).abs() < slack);
        assert!((part.mass.area_mm2 - 2200.0).abs() < slack);
        let inertia = part.mass.inertia_mm5.diagonal();
        assert!((inertia - Vector3::new(650_000.0, 500_000.0, 250_000.0)).norm() < 1e-4);
        assert!((part.mass.centroid - by * Point3::new(5., 10., 15.)).norm() < 1e-9);
    }
}

#[test]
fn inertia_turns_with_the_part() {
    let turn = UnitQuaternion::from_euler_angles(0.3, -1.1, 2.2);
    let by = Isometry3::from_parts(nalgebra::Translation3::new(4., 5., -6.), turn);
    let (still, _) = part(cuboid([0.; 3], [1., 2., 3.]));
    let (turned, _) = part(moved(cuboid([0.; 3], [1., 2., 3.]), &by));
    let matrix = turn.to_rotation_matrix();
    let expected = matrix * still.mass.inertia_mm5 * matrix.inverse();
    assert!((turned.mass.inertia_mm5 - expected).norm() < 1e-12);
}

// T4, derived: an n-gon cylinder has n/(2π)·sin(2π/n) of the round one's volume.
#[test]
fn cylinder_volume_ratio() {
    for (sides, ratio) in [(16, 0.974_495), (64, 0.998_394)] {
        let (part, _) = part(cylinder(sides, 5.0, 20.0));
        let round = std::f64::consts::PI * 25.0 * 20.0;
        assert!((part.mass.volume_mm3 / round - ratio).abs() < 1e-6);
    }
}

#[test]
fn an_inside_out_body_is_turned() {
    let (part, defects) = part(turned(cuboid([0.; 3], [1.; 3])));
    assert_eq!(kinds(&defects), [(DefectKind::InsideOutBodies, 1)]);
    assert!(near(part.mass.volume_mm3, 1.0) && part.bodies[0].turned && part.closed);
}

#[test]
fn single_flipped_faces_are_turned_by_the_majority() {
    for t in 0..12 {
        let mut mesh = cuboid([0.; 3], [1., 2., 3.]);
        mesh.triangles[t].swap(0, 1);
        let (part, defects) = part(mesh);
        assert_eq!(kinds(&defects), [(DefectKind::FlippedFaces, 1)]);
        assert!(near(part.mass.volume_mm3, 6.0) && part.closed);
    }
}

// T13, derived: closed hollow cube 20, wall 2, V 3904.
#[test]
fn a_cavity_stays_and_an_outward_inner_body_is_reported() {
    let outer = cuboid([0.; 3], [20.; 3]);
    let inner = cuboid([2.; 3], [18.; 3]);
    let (hollow, defects) = part(join(&[outer.clone(), turned(inner.clone())]));
    assert!(defects.is_empty(), "{defects:?}");
    assert!(near(hollow.mass.volume_mm3, 3904.0) && !hollow.overlapping);
    assert!(hollow.bodies[1].cavity && !hollow.bodies[0].cavity);

    // The whole file inside out: still hollow.
    let (hollow, defects) = part(join(&[turned(outer.clone()), inner.clone()]));
    assert_eq!(kinds(&defects), [(DefectKind::InsideOutBodies, 2)]);
    assert!(near(hollow.mass.volume_mm3, 3904.0) && hollow.bodies[1].cavity);

    let (filled, defects) = part(join(&[outer.clone(), inner.clone()]));
    assert_eq!(defects[0].kind, DefectKind::BodiesInsideBodies);
    assert_eq!(defects[1].kind, DefectKind::SelfOverlap);
    assert!(filled.overlapping && !filled.bodies[1].cavity);

    // A loose ball in the cavity, written inside out, is a body and not a second cavity.
    let ball = cuboid([8.; 3], [12.; 3]);
    let (loose, defects) = part(join(&[outer, turned(inner), turned(ball)]));
    assert_eq!(kinds(&defects), [(DefectKind::InsideOutBodies, 1)]);
    assert!(near(loose.mass.volume_mm3, 3904.0 + 64.0));
    assert_eq!(
        loose.bodies.iter().map(|b| b.cavity).collect::<Vec<_>>(),
        [false, true, false]
    );
}

#[test]
fn an_inside_out_body_beside_another_is_no_cavity() {
    // Its box lies in the box of an L, but not in the L.
    let l = join(&[
        cuboid([0.; 3], [10., 2., 10.]),
        cuboid([0., 3., 0.], [2., 10., 10.]),
    ]);
    let (part, defects) = part(join(&[l, turned(cuboid([5., 5., 5.], [6., 6., 6.]))]));
    assert_eq!(kinds(&defects), [(DefectKind::InsideOutBodies, 1)]);
    assert!(part.bodies.iter().all(|b| !b.cavity && b.volume_mm3 > 0.0));
}

#[test]
fn an_open_box_is_open_and_keeps_its_sense() {
    for inside_out in [false, true] {
        let mut mesh = cuboid([0.; 3], [2.; 3]);
        mesh.triangles.drain(2..4);
        let mesh = if inside_out { turned(mesh) } else { mesh };
        let (part, defects) = part(mesh);
        assert!(!part.closed && !part.bodies[0].closed);
        assert_eq!(defects[0].kind, DefectKind::OpenEdges);
        assert_eq!(defects[0].count, 4);
        assert_eq!(defects[0].at.z, 2.0);
        assert_eq!(part.bodies[0].turned, inside_out);
        // Five squares: the surface's centroid, 4/5 of the lid's way down from the middle of six.
        assert!((part.mass.centroid - Point3::new(1.0, 1.0, 0.8)).norm() < 1e-12);
        // The floor faces down.
        assert!(part.normals[0].z < -0.99);
    }
}

#[test]
fn bodies_that_touch_keep_apart_and_close() {
    // Along an edge, over a whole face, and at a corner.
    let first = cuboid([0.; 3], [1.; 3]);
    for (lo, hi, crowded) in [
        ([1., 1., 0.], [2., 2., 1.], 1),
        ([1., 0., 0.], [2., 1., 1.], 5),
        ([1., 1., 1.], [2., 2., 2.], 0),
    ] {
        let (part, defects) = part(join(&[first.clone(), cuboid(lo, hi)]));
        assert!(part.closed, "{defects:?}");
        assert!(near(part.mass.volume_mm3, 2.0));
        assert!(!part.overlapping);
        let found = defects
            .iter()
            .find(|d| d.kind == DefectKind::NonManifoldEdges);
        let count = found.map_or(0, |d| d.count);
        // The diagonals of a shared face need not agree; its four sides are always shared.
        assert!(count == crowded || (crowded == 5 && count == 4), "{count}");
        assert_eq!(part.bodies.len(), 2);
    }
}

#[test]
fn crossing_bodies_overlap() {
    let (part, defects) = part(join(&[
        cuboid([0.; 3], [2.; 3]),
        cuboid([1., 1., -1.], [3., 3., 1.]),
    ]));
    assert!(part.overlapping && part.closed);
    let overlap = defects
        .iter()
        .find(|d| d.kind == DefectKind::SelfOverlap)
        .unwrap();
    let at = overlap.at;
    assert!(
        (0..2).all(|i| (1.0..2.0).contains(&at[i])) && (0.0..1.0).contains(&at.z),
        "{at}"
    );
}

#[test]
fn a_body_that_runs_through_itself_overlaps() {
    // A closed ring of square tube whose two ends are pushed past each other would
    // need many faces; a figure of eight prism shows the same.
    let outline = [
        [0., 0.],
        [2., 0.],
        [2., 2.],
        [0.5, 2.],
        [0.5, 1.],
        [3., 1.],
        [3., 3.],
        [0., 3.],
    ];
    let n = outline.len() as u32;
    let mut points: Vec<[f64; 3]> = outline.iter().map(|[x, y]| [*x, *y, 0.]).collect();
    points.extend(outline.iter().map(|[x, y]| [*x, *y, 1.]));
    let mut triangles = Vec::new();
    for i in 0..n {
        let j = (i + 1) % n;
        triangles.extend([[i, j, j + n], [i, j + n, i + n]]);
        if i > 0 && i + 1 < n {
            triangles.extend([[0, i + 1, i], [n, n + i, n + i + 1]]);
        }
    }
    let (part, defects) = part(mesh(&points, &triangles));
    assert!(part.overlapping, "{defects:?}");
    assert_eq!(part.bodies.len(), 1);
}

#[test]
fn duplicates_go() {
    let mut twice = cuboid([0.; 3], [1.; 3]);
    twice.triangles.extend(twice.triangles.clone());
    let (doubled, defects) = part(twice);
    assert_eq!(kinds(&defects), [(DefectKind::DuplicateFaces, 12)]);
    assert!(doubled.closed && near(doubled.mass.volume_mm3, 1.0));

    let mut sides = cuboid([0.; 3], [1.; 3]);
    sides
        .triangles
        .extend(turned(cuboid([0.; 3], [1.; 3])).triangles);
    let (single, defects) = part(sides);
    assert_eq!(kinds(&defects), [(DefectKind::DuplicateFaces, 12)]);
    assert!(single.closed && near(single.mass.volume_mm3, 1.0));

    let mut one = cuboid([0.; 3], [1.; 3]);
    one.triangles.push(one.triangles[5]);
    let (one, defects) = part(one);
    assert_eq!(kinds(&defects), [(DefectKind::DuplicateFaces, 1)]);
    assert!(one.closed && one.mesh.triangles.len() == 12);
}

#[test]
fn a_fin_is_a_crowded_edge_and_the_rest_stays_closed() {
    let mut mesh = cuboid([0.; 3], [1.; 3]);
    mesh.vertices.push(Point3::new(0.5, -1.0, -1.0));
    mesh.triangles.push([0, 1, 8]);
    let (part, defects) = part(mesh);
    assert_eq!(
        kinds(&defects),
        [
            (DefectKind::OpenEdges, 2),
            (DefectKind::NonManifoldEdges, 1)
        ]
    );
    assert!(!part.closed);
}

#[test]
fn faces_without_area_go_unless_they_close_the_surface() {
    let mut stray = cuboid([0.; 3], [1.; 3]);
    stray.vertices.push(Point3::new(3.0, 0.0, 0.0));
    stray.triangles.push([0, 0, 5]);
    stray.triangles.push([0, 1, 8]);
    let (stray, defects) = part(stray);
    assert!(stray.closed, "{defects:?}");
    assert!(
        defects
            .iter()
            .any(|d| d.kind == DefectKind::ZeroAreaFaces && d.count == 2)
    );
    assert_eq!(
        (stray.mesh.vertices.len(), stray.mesh.triangles.len()),
        (8, 12)
    );

    // Vertex 4 lies on the edge 0-1 of one face; the sliver 0-4-1 closes the gap.
    let bridged = mesh(
        &[
            [0., 0., 0.],
            [2., 0., 0.],
            [0., 2., 0.],
            [0., 0., 2.],
            [1., 0., 0.],
        ],
        &[
            [0, 2, 1],
            [0, 4, 3],
            [4, 1, 3],
            [0, 1, 4],
            [0, 3, 2],
            [1, 2, 3],
        ],
    );
    let (bridged, defects) = part(bridged);
    assert!(bridged.closed && near(bridged.mass.volume_mm3, 8.0 / 6.0));
    assert_eq!(kinds(&defects), [(DefectKind::ZeroAreaFaces, 1)]);
    assert_eq!(
        (bridged.normals[3], bridged.areas[3]),
        (Vector3::zeros(), 0.0)
    );
}

#[test]
fn gaps_below_the_files_precision_close() {
    let gapped = |gap: f64| {
        let mut mesh = cuboid([0.; 3], [10.; 3]);
        for (v, t) in [(0, 0), (3, 1)] {
            let corner = mesh.vertices[v];
            mesh.vertices.push(corner + Vector3::new(0.0, gap, -gap));
            let new = mesh.vertices.len() as u32 - 1;
            for slot in &mut mesh.triangles[t] {
                if *slot == v as u32 {
                    *slot = new;
                }
            }
        }
        part(mesh)
    };
    let (closed, defects) = gapped(1e-7);
    assert!(closed.closed && closed.mesh.vertices.len() == 8);
    assert_eq!(
        kinds(&defects),
        [(DefectKind::JoinedEdges, defects[0].count)]
    );
    let (open, defects) = gapped(1e-3);
    assert!(!open.closed);
    assert_eq!(defects[0].kind, DefectKind::OpenEdges);
}

#[test]
fn a_one_sided_surface_is_told_and_survives() {
    // A Möbius strip of five quads, given some width in space.
    let mut points = Vec::new();
    let mut triangles = Vec::new();
    for i in 0..5u32 {
        let angle = f64::from(i) * std::f64::consts::TAU / 5.0;
        for side in [-1.0, 1.0] {
            let r = 5.0 + side * libm::cos(angle / 2.0);
            points.push([
                r * libm::cos(angle),
                r * libm::sin(angle),
                side * libm::sin(angle / 2.0),
            ]);
        }
        let (a, b) = (2 * i, 2 * i + 1);
        let (c, d) = if i < 4 { (a + 2, b + 2) } else { (1, 0) };
        triangles.extend([[a, c, b], [b, c, d]]);
    }
    let (part, defects) = part(mesh(&points, &triangles));
    assert!(!part.closed);
    assert!(defects.iter().any(|d| d.kind == DefectKind::OneSidedEdges));
}

#[test]
fn sheets_and_single_triangles_are_no_solid_however_they_are_turned() {
    let sheet = mesh(
        &[
            [0., 0., 0.],
            [80., 0., 0.],
            [80., 50., 0.],
            [0., 50., 0.],
            [30., 20., 0.],
        ],
        &[[0, 1, 4], [1, 2, 4], [2, 3, 4], [3, 0, 4]],
    );
    let turn = UnitQuaternion::from_euler_angles(0.7, -0.4, 1.9);
    let by = Isometry3::from_parts(nalgebra::Translation3::new(100., 7., -9.), turn);
    let mut rounded = moved(sheet.clone(), &by);
    for p in &mut rounded.vertices {
        // As a single-precision file would hold it.
        p.iter_mut().for_each(|c| *c = f64::from(*c as f32));
    }
    assert_eq!(Part::new(sheet).unwrap_err(), ReadFault::Flat);
    assert_eq!(Part::new(rounded).unwrap_err(), ReadFault::Flat);
    let single = mesh(&[[0., 0., 1.], [1., 0., 0.], [0., 1., 0.]], &[[0, 1, 2]]);
    assert_eq!(Part::new(single).unwrap_err(), ReadFault::Flat);
    let line = mesh(&[[0., 0., 0.], [1., 1., 1.], [2., 2., 2.]], &[[0, 1, 2]]);
    assert_eq!(Part::new(line).unwrap_err(), ReadFault::NoTriangles);
    assert_eq!(
        Part::new(Mesh::default()).unwrap_err(),
        ReadFault::NoTriangles
    );
    // A tenth of a layer of thickness is a solid.
    assert!(Part::new(cuboid([0.; 3], [200., 200., 0.02])).is_ok());
}

/// A part with a slip in one coordinate is no sheet that wants a thickness.
#[test]
fn one_stray_vertex_is_named_with_its_place() {
    let slipped = |slip: usize| {
        let mut mesh = cuboid([0.0; 3], [30.0, 20.0, 10.0]);
        mesh.vertices[slip].x = -1e15;
        mesh
    };
    for slip in 0..8 {
        let said = Part::new(slipped(slip)).unwrap_err().to_string();
        assert!(
            said.contains("has a stray vertex at (\u{2212}1.00e15, "),
            "{said}"
        );
    }
    // With two of them nobody can say which are astray.
    let mut two = slipped(0);
    two.vertices[1].y = 1e15;
    assert_eq!(Part::new(two).unwrap_err(), ReadFault::Flat);
}

#[test]
fn broken_meshes_are_refused() {
    let far = mesh(&[[0.; 3], [1.; 3]], &[[0, 1, 2]]);
    assert_eq!(
        Part::new(far).unwrap_err(),
        ReadFault::IndexOutOfRange {
            index: 2,
            vertices: 2
        }
    );
    let nan = mesh(&[[0.; 3], [1.; 3], [f64::NAN; 3]], &[[0, 1, 2]]);
    assert_eq!(Part::new(nan).unwrap_err(), ReadFault::NotFinite);
}

#[test]
fn volume_does_not_depend_on_scale_or_face_order() {
    let original = join(&[cuboid([0.; 3], [20.; 3]), turned(cuboid([2.; 3], [18.; 3]))]);
    for scale in [1e-6, 1e-2, 1e4, 1e9] {
        let mut scaled = original.clone();
        scaled.vertices.iter_mut().for_each(|p| p.coords *= scale);
        scaled.triangles.reverse();
        let (part, defects) = part(scaled);
        assert!(defects.is_empty() && part.closed);
        assert!((part.mass.volume_mm3 / (3904.0 * scale.powi(3)) - 1.0).abs() < 1e-12);
    }
}

proptest::proptest! {
    // Meshes of small whole numbers: every degeneracy comes up, nothing may panic.
    #[test]
    fn no_small_mesh_panics(
        points in proptest::collection::vec([0i8..3, 0i8..3, 0i8..3], 1..12),
        triangles in proptest::collection::vec([0u32..12, 0u32..12, 0u32..12], 0..30),
    ) {
        let points: Vec<[f64; 3]> = points.iter().map(|p| p.map(f64::from)).collect();
        let raw = mesh(&points, &triangles);
        if Part::new(raw.clone()).is_err_and(|e| matches!(e, ReadFault::IndexOutOfRange { .. })) {
            return Ok(());
        }
        let welded = crate::mesh::weld::weld_indexed(&raw.vertices, &raw.triangles);
        if let Ok((part, defects)) = Part::new(welded) {
            assert_sound(&part);
            assert!(part.mass.volume_mm3.is_finite() && part.mass.centroid.iter().all(|c| c.is_finite()));
            assert!(defects.iter().all(|d| d.count > 0 && d.at.iter().all(|c| c.is_finite())));
        }
    }
}

#[test]
fn many_bodies_keep_to_themselves() {
    // A grid of hollow cubes: each cavity belongs to its own cube.
    let mut meshes = Vec::new();
    for i in 0..64 {
        let [x, y, z] = [i % 4, i / 4 % 4, i / 16].map(|c| f64::from(c) * 3.0);
        meshes.push(turned(cuboid(
            [x + 0.5, y + 0.5, z + 0.5],
            [x + 1.5, y + 1.5, z + 1.5],
        )));
        meshes.push(cuboid([x, y, z], [x + 2.0, y + 2.0, z + 2.0]));
    }
    let (part, defects) = part(join(&meshes));
    assert!(defects.is_empty() && !part.overlapping, "{defects:?}");
    assert!(
        part.bodies
            .iter()
            .enumerate()
            .all(|(i, b)| b.cavity == (i % 2 == 0) && b.closed)
    );
    assert!(near(part.mass.volume_mm3, 64.0 * 7.0));
}
