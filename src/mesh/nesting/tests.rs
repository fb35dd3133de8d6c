use super::*;

/// Boxes, each closed; a box in an odd number of others faces inward.
fn boxes_of(boxes: &[(Bounds, usize)]) -> Mesh {
    let mut mesh = Mesh::default();
    for ((lo, hi), depth) in boxes {
        let first = mesh.vertices.len() as u32;
        for corner in 0..8 {
            let pick = |axis: usize| {
                if corner >> axis & 1 == 0 {
                    lo[axis]
                } else {
                    hi[axis]
                }
            };
            mesh.vertices.push(Point3::new(pick(0), pick(1), pick(2)));
        }
        for quad in [
            [0, 2, 3, 1],
            [4, 5, 7, 6],
            [0, 1, 5, 4],
            [2, 6, 7, 3],
            [0, 4, 6, 2],
            [1, 3, 7, 5],
        ] {
            let [a, b, c, d] = quad.map(|v: u32| first + v);
            for [p, q, r] in [[a, b, c], [a, c, d]] {
                mesh.triangles
                    .push(if depth % 2 == 0 { [p, q, r] } else { [p, r, q] });
            }
        }
    }
    mesh
}

/// A number from 0 to 1 that follows from the one before (Knuth's MMIX generator).
fn next(state: &mut u64) -> f64 {
    *state = state
        .wrapping_mul(6_364_136_223_846_793_005)
        .wrapping_add(1_442_695_040_888_963_407);
    (*state >> 11) as f64 / (1_u64 << 53) as f64
}

/// Fills a box with smaller ones that lie apart, and those again.
fn fill(within: &Bounds, depth: usize, state: &mut u64, into: &mut Vec<(Bounds, usize)>) {
    let axis = (next(state) * 3.0) as usize;
    let parts = 1 + (next(state) * 3.0) as usize;
    let (lo, hi) = within;
    let width = (hi[axis] - lo[axis]) / parts as f64;
    for part in 0..parts {
        let (mut from, mut to) = (*lo, *hi);
        from[axis] = lo[axis] + width * part as f64;
        to[axis] = from[axis] + width;
        let size = to - from;
        let shrunk = (from + size * 0.02, to - size * 0.03);
        if depth < 40 && next(state) < 0.85 && into.len() < 400 {
            into.push((shrunk, depth));
            fill(&shrunk, depth + 1, state, into);
        }
    }
}

fn part_of(boxes: &[(Bounds, usize)]) -> (Mesh, Vec<Body>, Vec<Bounds>) {
    let mesh = boxes_of(boxes);
    let bodies = boxes
        .iter()
        .enumerate()
        .map(|(b, ((lo, hi), depth))| Body {
            triangles: (12 * b as u32..12 * (b as u32 + 1)).collect(),
            volume_mm3: (hi - lo).product() * if depth % 2 == 0 { 1.0 } else { -1.0 },
            closed: true,
            cavity: false,
            turned: false,
        })
        .collect();
    (mesh, bodies, boxes.iter().map(|(one, _)| *one).collect())
}

#[test]
fn the_tree_of_bodies_says_what_the_list_of_all_pairs_says() {
    let whole = (Point3::origin(), Point3::new(100.0, 80.0, 60.0));
    let mut deepest = 0;
    for seed in 1..40 {
        let mut boxes = Vec::new();
        fill(&whole, 0, &mut (seed * 7919), &mut boxes);
        // In no order that helps.
        boxes.sort_by(|a, b| {
            let key = |one: &Bounds| (one.0.x * 7.3 + one.0.y * 3.1 + one.1.z) % 1.0;
            key(&a.0).total_cmp(&key(&b.0))
        });
        let (mesh, bodies, bounds) = part_of(&boxes);
        let Nesting::Listed(lists) = nesting(&mesh, &bodies, &bounds) else {
            panic!("{} boxes are few", boxes.len());
        };
        let space = Space {
            mesh: &mesh,
            bodies: &bodies,
            boxes: &bounds,
            facets: bodies.iter().map(|_| OnceLock::new()).collect(),
        };
        let tree = Nesting::Tree(innermost(&space));
        for (body, (_, depth)) in boxes.iter().enumerate() {
            assert_eq!(lists[body].len(), *depth, "seed {seed}, body {body}");
            let closest = lists[body].iter().max_by_key(|o| lists[**o as usize].len());
            let Nesting::Tree(around) = &tree else {
                unreachable!()
            };
            assert_eq!(around[body], closest.copied(), "seed {seed}, body {body}");
            deepest = deepest.max(*depth);
        }
        // All face as they should: nothing is turned, nothing is buried.
        let facing: Vec<i8> = boxes
            .iter()
            .map(|(_, depth)| if depth % 2 == 0 { 1 } else { -1 })
            .collect();
        for nest in [Nesting::Listed(lists), tree] {
            let settled = settle(&facing, &nest);
            assert!(!settled.turn.contains(&true) && settled.buried.is_empty());
        }
    }
    assert!(deepest > 15, "{deepest}");
}

/// Boxes in one another, each written the wrong way round.
fn chain(length: usize) -> Vec<(Bounds, usize)> {
    (0..length)
        .map(|i| {
            let size = 50.0 - 40.0 * i as f64 / length as f64;
            let corner = Point3::new(size, size, size);
            ((Point3::from(-corner.coords), corner), i + 1)
        })
        .collect()
}

#[test]
fn of_many_bodies_in_one_another_no_list_of_pairs_is_kept() {
    let (mesh, bodies, bounds) = part_of(&chain(3000));
    let nest = nesting(&mesh, &bodies, &bounds);
    let Nesting::Tree(around) = &nest else {
        panic!("4.5 million pairs were listed");
    };
    assert!(
        around
            .iter()
            .enumerate()
            .all(|(b, o)| o.map_or(0, |o| o + 1) as usize == b)
    );
    let facing: Vec<i8> = (0..3000).map(|b| if b % 2 == 0 { -1 } else { 1 }).collect();
    // The outermost is inside out, so the whole nest is turned with it.
    let settled = settle(&facing, &nest);
    assert!(settled.turn.iter().all(|turn| *turn) && settled.buried.is_empty());
}

#[test]
fn a_body_finds_its_place_in_a_few_steps() {
    // A comb: each box holds the next and a small one beside it, which comes first.
    let mut boxes = Vec::new();
    for (outer, depth) in chain(400) {
        let corner = outer.1;
        let small = (corner.map(|c| c - 0.08), corner.map(|c| c - 0.06));
        boxes.push((small, depth + 1));
        boxes.push((outer, depth));
    }
    let (mesh, bodies, bounds) = part_of(&boxes);
    let mut around = vec![None; boxes.len()];
    let mut paths = Paths::new(boxes.len());
    let order: Vec<usize> = (0..400).flat_map(|i| [2 * i + 1, 2 * i]).collect();
    for (place, &body) in order.iter().enumerate() {
        let outer = if body % 2 == 0 {
            Some(body as u32 + 1)
        } else {
            (body as u32).checked_sub(2)
        };
        around[body] = outer.filter(|_| place > 0);
        paths.add(body as u32, around[body]);
    }
    paths.divide(&order, &around);
    let mut asked = 0;
    let found = paths.deepest(1, |b| {
        asked += 1;
        b <= 601
    });
    assert!(asked <= 9, "{asked}");
    assert_eq!(found, 601);
    let space = Space {
        mesh: &mesh,
        bodies: &bodies,
        boxes: &bounds,
        facets: bodies.iter().map(|_| OnceLock::new()).collect(),
    };
    assert_eq!(innermost(&space), around);
}
