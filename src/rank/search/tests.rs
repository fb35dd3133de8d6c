use super::*;
use crate::figures::fixture::{boxes, part_of};
use crate::pose::Hull;

/// A step: no two of its sides are alike. Its two poses are given totals that are equal but for
/// rounding, then for less than is printed, then for more.
#[test]
fn of_equal_poses_the_one_of_the_file_comes_first() {
    let step = [
        [[0.0, 0.0, 0.0], [40.0, 20.0, 5.0]],
        [[0.0, 0.0, 5.0], [10.0, 20.0, 20.0]],
    ];
    let part = part_of(&boxes(&step, &[]));
    let settings = Settings::default();
    let bench = Bench::new(
        &part,
        &settings,
        Hull::new(&part.mesh.vertices).expect("a hull"),
    );
    let search = Search::new(&bench);
    let score = |down, origin| search.score(search.candidate(down, origin));
    let mut stored = score(-Vector3::z_axis(), Origin::Stored);
    let mut turned = score(Vector3::y_axis(), Origin::Resting);
    for (less, stays) in [(0.0, true), (1e-9, true), (1e-3, false)] {
        (stored.total, turned.total) = (4.0, 4.0 - less);
        let entries = search.distinct(&[turned.clone(), stored.clone()]);
        let first = entries[0].candidate.origin;
        assert_eq!(first == Origin::Stored, stays, "{less}");
        let found = search.found(entries, stored.clone(), 2);
        assert_eq!(found.better_than_stored, usize::from(!stays), "{less}");
    }
}
