//! A pose as an act: what to do to the part as it lies in its file.

use crate::advice::Advice;
use crate::advice::verdict::LastNamed;
use crate::rank::FailedGate;
use crate::words::{capital, decimal, joined};
use nalgebra::{Rotation3, Unit, Vector3};

/// A component below this is none.
const NOTHING: f64 = 1e-6;
/// A tenth is told as a whole degree where it is no nearer, degrees.
const HALF_TENTH_DEG: f64 = 0.05;
/// A smaller turn is not told, degrees: the verdict says that the file lies that way.
const LEAST_DEG: f64 = 0.1;

/// The turns that bring a side of the part down: angle in degrees and axis of the file, by the right
/// hand, in the order in which they are made. One where an axis is enough, else two; none where the
/// side is down in the file.
///
/// `down` is the part direction that is turned to the bed.
pub fn turns(down: &Unit<Vector3<f64>>) -> Vec<(f64, char)> {
    let [x, y, z] = [down.x, down.y, down.z].map(|c| if c.abs() < NOTHING { 0.0 } else { c });
    let deg = |s: f64, c: f64| libm::atan2(s, c).to_degrees();
    // About X until nothing of it points along Y, then about Y until all of it points down.
    let level = y == 0.0 && x != 0.0;
    let about_x = match (level, y == 0.0) {
        (true, _) => 0.0,
        (false, true) => deg(0.0, -z),
        (false, false) => deg(-y, -z),
    };
    let about_y = deg(x, if level { -z } else { libm::hypot(y, z) });
    [(about_x, 'X'), (about_y, 'Y')]
        .into_iter()
        .filter(|(angle, _)| angle.abs() >= LEAST_DEG)
        .collect()
}

/// All of them in one.
pub fn rotation(down: &Unit<Vector3<f64>>) -> Rotation3<f64> {
    let one = |(angle, axis): (f64, char)| {
        let about = match axis {
            'X' => Vector3::x_axis(),
            _ => Vector3::y_axis(),
        };
        Rotation3::from_axis_angle(&about, angle.to_radians())
    };
    turns(down)
        .into_iter()
        .fold(Rotation3::identity(), |made, turn| one(turn) * made)
}

/// The turns in words: "from the file: turn it 90° about X", or "as stored in the file".
pub fn act(down: &Unit<Vector3<f64>>) -> String {
    let turns = turns(down);
    if turns.is_empty() {
        return "as stored in the file".into();
    }
    let each = turns
        .iter()
        .map(|(angle, axis)| format!("{}° about {axis}", tenths(*angle)));
    format!("from the file: turn it {}", joined(each, ", then "))
}

/// An angle to a tenth: at half a degree off, a face of 50 mm touches the bed along one edge alone.
fn tenths(deg: f64) -> String {
    let whole = (deg - deg.round()).abs() < HALF_TENTH_DEG;
    decimal(deg, usize::from(!whole))
}

/// What to do for the first pose, as a sentence behind the verdict, a blank before it. Nothing where no
/// pose fits, for there the part is cut first, and where the part is too small to be printed.
pub fn to_do(advice: &Advice) -> String {
    let first = advice.poses.first();
    let fits =
        first.filter(|p| !p.gates.contains(&FailedGate::DoesNotFit) && advice.crumb_mm.is_none());
    fits.map_or_else(String::new, |p| {
        after(&advice.verdict, advice.last_named, &p.pose.down)
    })
}

/// The turns as a sentence behind a verdict, a blank before it; nothing where the verdict says already that
/// the file lies that way.
fn after(verdict: &str, named: LastNamed, down: &Unit<Vector3<f64>>) -> String {
    if turns(down).is_empty() && verdict.contains("The file already") {
        return String::new();
    }
    // Behind a sentence on another pose it says which one it means.
    let act = act(down);
    match named {
        LastNamed::First => format!(" {}.", capital(&act)),
        LastNamed::Faultless => format!(" For the first of the two, {act}."),
        LastNamed::Second => format!(" For pose 1, {act}."),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::advice::advise;
    use crate::rank::search::{Silent, Wanted};
    use crate::report::draw::fixture::{bench, cuboid};
    use crate::settings::Settings;

    /// What the words ask for, done to the direction.
    fn done(down: &Unit<Vector3<f64>>) -> Vector3<f64> {
        rotation(down) * down.into_inner()
    }

    #[test]
    fn the_turns_bring_the_side_down() {
        let steps = [-1.0, -0.7, -0.2, 0.0, 0.3, 0.8, 1.0];
        let mut looked_at = 0;
        for x in steps {
            for y in steps {
                for z in steps {
                    let Some(down) = Unit::try_new(Vector3::new(x, y, z), 1e-9) else {
                        continue;
                    };
                    let off = (done(&down) + Vector3::z()).norm();
                    assert!(off < 0.01, "{down:?}: {off}");
                    looked_at += 1;
                }
            }
        }
        assert_eq!(looked_at, 342);
    }

    #[test]
    fn a_verdict_says_once_that_the_file_lies_that_way() {
        let down = -Vector3::z_axis();
        assert_eq!(
            after(
                "Print it. The file already lies that way.",
                LastNamed::First,
                &down
            ),
            ""
        );
        assert_eq!(
            after("Print it.", LastNamed::First, &down),
            " As stored in the file."
        );
        assert_eq!(
            after("Print it.", LastNamed::First, &Vector3::x_axis()),
            " From the file: turn it 90° about Y."
        );
        assert_eq!(
            after("A toss-up.", LastNamed::Second, &Vector3::x_axis()),
            " For pose 1, from the file: turn it 90° about Y."
        );
    }

    /// A beam of 2 m fits no bed of the default settings; one of 20 mm does.
    #[test]
    fn a_part_that_fits_nowhere_is_told_no_turn() {
        for (long, told) in [(2000.0, false), (20.0, true)] {
            let part = cuboid(3.0, 3.0, long);
            let settings = Settings::default();
            let bench = bench(&part, &settings);
            let advice = advise(&bench, &Wanted::first(1), &Silent).expect("not stopped");
            let says = to_do(&advice);
            assert_eq!(says.contains("turn it"), told, "{long}: {says}");
            assert_eq!(says.is_empty(), !told, "{long}: {says}");
        }
    }

    #[test]
    fn one_turn_is_said_where_one_is_enough() {
        for (down, words) in [
            (-Vector3::z_axis(), "as stored in the file"),
            (Vector3::z_axis(), "from the file: turn it 180° about X"),
            (-Vector3::y_axis(), "from the file: turn it 90° about X"),
            (Vector3::x_axis(), "from the file: turn it 90° about Y"),
            (
                Unit::new_normalize(Vector3::new(0.48, 0.6, -0.64)),
                "from the file: turn it −43.2° about X, then 28.7° about Y",
            ),
        ] {
            assert_eq!(act(&down), words);
        }
    }
}
