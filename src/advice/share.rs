//! How many makers in a hundred would choose a pose.
//!
//! The penalty table is read as a conditional logit (D. `McFadden`, *Conditional logit analysis
//! of qualitative choice behavior*, 1974, from memory): a maker chooses a pose with odds of
//! exp(−total / [`TEMPERATURE`]); a few in a hundred choose for a purpose that the shape does not
//! tell ([`BY_PURPOSE`]), and are in no share. The odds are shared among the poses that were judged and the
//! directions that were left unmeasured, each of these by the lower bound of its total
//! ([`LEFT_BEHIND`]), so that no share is too high for want of measuring. Poses that are practically equal count as one:
//! whoever chooses either chooses both. How well shares hold is told in [`crate::rank`].

use crate::advice::margin;
use crate::figures::quick::Bench;
use crate::rank::penalties::{BY_PURPOSE, TEMPERATURE};
use crate::rank::search::Scored;
use crate::rank::{Charge, Confidence};
use crate::settings::{Aim, Settings};
use crate::words::capital;

/// Sentences on how sure the first place is, and what it is called.
///
/// By its share where shares are defined, else by how far weights and limit can move
/// ([`margin::confidence`]).
pub struct Sure<'a> {
    /// Shares of the poses, where they are defined.
    pub shares: Option<Shares<'a>>,
    /// clear, close or tied.
    pub confidence: Confidence,
}

impl<'a> Sure<'a> {
    /// Judges the first of the poses judged.
    pub fn new(bench: &Bench, judged: &'a [Scored], left: Option<&[f64]>) -> Self {
        let asked = is_defined(bench.settings) && !bench.is_crumb();
        let stands = judged.first().is_some_and(|e| e.candidate.gates.is_empty());
        let shares = (left.filter(|_| asked && stands)).and_then(|left| Shares::new(judged, left));
        let confidence = match &shares {
            Some(shares) => name(shares.first()),
            None => margin::confidence(judged, bench),
        };
        Self { shares, confidence }
    }
}

/// Two poses of which no penalty differs by more than this are practically equal.
const TWIN: f64 = 0.05;
/// A direction that was left unmeasured counts at its bound and this much more: the bound has no
/// support, no sway and no marks in it. House value: of the labelled parts no such direction
/// was chosen, and from 3 on their shares hardly change.
pub const LEFT_BEHIND: f64 = 4.0;
/// Share of the first pose from which it is clear. Of makers' kits about 97.7 in 100 were right
/// from here on, and 96 in 100 from 0.95 on ([`crate::rank`]).
pub const CLEAR: f64 = 0.98;
/// Share of the first pose below which it is a toss-up.
pub const TOSS_UP: f64 = 0.6;

/// Of a first pose with less no share is told: nobody could tell it from the others.
const STANDS_OUT: f64 = 0.05;

/// Said once where there are no shares.
pub const UNDEFINED: &str = "How many makers would choose a pose is known only for the default weights and aim, without a load, a cosmetic side or a purpose.";

/// Whether shares are defined: they were fitted at the default weights and aim, without a
/// load or cosmetic side.
pub fn is_defined(settings: &Settings) -> bool {
    settings.aim == Aim::Sound
        && settings.weights.given().next().is_none()
        && settings.load.is_none()
        && settings.show.is_empty()
        && settings.round.is_empty()
        && settings.flat.is_empty()
}

/// Whether two poses are practically equal: on every penalty, and both can be printed.
pub fn are_twins(a: &Scored, b: &Scored) -> bool {
    a.candidate.gates.is_empty()
        && b.candidate.gates.is_empty()
        && are_near(a.charges.iter().zip(&b.charges))
}

fn are_near<'p>(mut pairs: impl Iterator<Item = (&'p f64, &'p f64)>) -> bool {
    pairs.all(|(x, y)| (x - y).abs() <= TWIN)
}

/// Whether two sets of penalties are practically the same.
pub fn are_equal(a: &[Charge], b: &[Charge]) -> bool {
    are_near(a.iter().zip(b).map(|(x, y)| (&x.value, &y.value)))
}

/// Shares, from 0 to 1, of alternatives with these totals beside others of which only a
/// lower bound of the total is known, and which count [`LEFT_BEHIND`] it. Totals that are no numbers
/// have none. `by_purpose` is the share of the makers who go by something else than totals.
pub fn split(totals: &[f64], left: &[f64], temperature: f64, by_purpose: f64) -> Vec<f64> {
    let behind = left.iter().map(|bound| bound + LEFT_BEHIND);
    let all: Vec<f64> = (totals.iter().copied().chain(behind))
        .filter(|t| t.is_finite())
        .collect();
    let least = all.iter().copied().fold(f64::INFINITY, f64::min);
    let odds = |t: f64| libm::exp((least - t) / temperature);
    let sum: f64 = all.iter().map(|t| odds(*t)).sum();
    let by_total = 1.0 - by_purpose;
    let share = |t: &f64| {
        if t.is_finite() {
            by_total * odds(*t) / sum
        } else {
            0.0
        }
    };
    totals.iter().map(share).collect()
}

/// Shares of the poses of a part.
#[derive(Debug)]
pub struct Shares<'a> {
    /// Of those that are practically equal the best, best first.
    alternatives: Vec<&'a Scored>,
    shares: Vec<f64>,
}

impl<'a> Shares<'a> {
    /// Shares among the poses judged, best first, and what is `left`
    /// ([`crate::rank::search::Found::left`]). None where no pose can be printed.
    pub fn new(judged: &'a [Scored], left: &[f64]) -> Option<Self> {
        let mut alternatives: Vec<&Scored> = Vec::new();
        for entry in judged.iter().filter(|e| e.candidate.gates.is_empty()) {
            if !alternatives.iter().any(|a| are_twins(a, entry)) {
                alternatives.push(entry);
            }
        }
        let totals: Vec<f64> = alternatives.iter().map(|e| e.total).collect();
        let shares = split(&totals, left, TEMPERATURE, BY_PURPOSE);
        (!alternatives.is_empty()).then_some(Self {
            alternatives,
            shares,
        })
    }

    /// Poses that makers choose among, of those that are practically equal the best, best first.
    pub fn alternatives(&self) -> &[&'a Scored] {
        &self.alternatives
    }

    /// Share of a pose together with those that are practically equal to it, 0 to 1. One
    /// that was measured later, for a longer list, has the odds of its own total.
    pub fn of(&self, entry: &Scored) -> f64 {
        if !entry.candidate.gates.is_empty() {
            return 0.0;
        }
        let twin = (self.alternatives.iter()).position(|a| are_twins(a, entry));
        twin.map_or_else(
            || {
                let behind = entry.total - self.alternatives[0].total;
                self.shares[0] * libm::exp(-behind / TEMPERATURE)
            },
            |at| self.shares[at],
        )
    }

    /// Share of the first pose, with those that are practically equal to it.
    pub fn first(&self) -> f64 {
        self.shares[0]
    }

    /// How many makers would choose the first pose, in a sentence; `rank` gives the place of
    /// a pose in the list.
    pub fn sentence(&self, judged: &[Scored], rank: &dyn Fn(&Scored) -> usize) -> String {
        if self.first() < STANDS_OUT {
            return "No pose stands out: makers would choose among many that are about as good."
                .into();
        }
        let first = self.alternatives[0];
        let twins = judged
            .iter()
            .filter(|e| rank(e) != rank(first) && are_twins(e, first));
        let twins: Vec<String> = twins.map(|e| rank(e).to_string()).collect();
        let this = format!("pose {}", rank(first));
        let this = match &twins[..] {
            [] => this,
            [one] => format!("{this} or pose {one}, which is practically equal"),
            [most @ .., last] => {
                let most = most.join(", ");
                format!("{this} or one of poses {most} and {last}, which are practically equal")
            }
        };
        let mut text = format!("{} would choose {this}", capital(&makers(self.first())));
        if let (Some(second), false) = (self.alternatives.get(1), self.first() >= CLEAR) {
            let share = makers(self.shares[1]).replace(" in 100 makers", "");
            let stop = if twins.is_empty() { "," } else { ";" };
            text.push_str(&format!("{stop} {share} pose {}", rank(second)));
        }
        text + "."
    }
}

/// What a share of the first pose is called.
pub fn name(share: f64) -> Confidence {
    if share >= CLEAR {
        Confidence::Clear
    } else if share >= TOSS_UP {
        Confidence::Close
    } else {
        Confidence::Tied
    }
}

/// "About 96 in 100 makers"; what rounds to none is said to be fewer. Never all: some go by a
/// purpose ([`BY_PURPOSE`]).
fn makers(share: f64) -> String {
    match (100.0 * share).round() {
        n if n < 1.0 => "fewer than 1 in 100 makers".into(),
        n => format!("about {n} in 100 makers"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::advice::{Advice, advise};
    use crate::figures::fixture::{boxes, part_of};
    use crate::pose::Hull;
    use crate::rank::search::{Silent, Wanted};
    use nalgebra::Vector3;

    type Box3 = [[f64; 3]; 2];

    fn advised(solid: &[Box3], holes: &[Box3], settings: &Settings, top: usize) -> Advice {
        let part = part_of(&boxes(solid, holes));
        let hull = Hull::new(&part.mesh.vertices).expect("a solid has a hull");
        let bench = Bench::new(&part, settings, hull);
        advise(&bench, &Wanted::first(top), &Silent).expect("not stopped")
    }

    const PLATE: Box3 = [[0.0; 3], [60.0, 40.0, 8.0]];

    /// By hand: odds 1 : 1/3, then 1 : 1/3 : 1/3, then 1 : 1/9.
    #[test]
    fn odds_are_those_of_a_logit() {
        let third = libm::log(3.0);
        let near = |got: Vec<f64>, wanted: [f64; 2]| {
            let off = got.iter().zip(wanted).map(|(a, b)| (a - b).abs());
            assert!(off.fold(0.0, f64::max) < 1e-12, "{got:?}");
        };
        near(split(&[2.0, 2.0 + third], &[], 1.0, 0.0), [0.75, 0.25]);
        let left = 2.0 + third - LEFT_BEHIND;
        near(split(&[2.0, 2.0 + third], &[left], 1.0, 0.0), [0.6, 0.2]);
        near(split(&[2.0, 2.0 + third], &[], 0.5, 0.0), [0.9, 0.1]);
        near(split(&[2.0, f64::NAN], &[], 0.5, 0.0), [1.0, 0.0]);
        near(split(&[2.0, 2.0 + third], &[], 0.5, 0.1), [0.81, 0.09]);
    }

    #[test]
    fn names_are_ranges_of_the_share_and_numbers_are_never_0_or_100() {
        use Confidence::{Clear, Close, Tied};
        let named = [0.981, 0.98, 0.979, 0.6, 0.599].map(name);
        assert_eq!(named, [Clear, Clear, Close, Close, Tied]);
        assert_eq!(makers(0.9574), "about 96 in 100 makers");
        let all = split(&[1.0], &[], TEMPERATURE, BY_PURPOSE)[0];
        assert!(makers(all).starts_with("about 9"), "{}", makers(all));
        assert_eq!(makers(0.001), "fewer than 1 in 100 makers");
    }

    #[test]
    fn shares_are_those_of_the_totals_and_do_not_depend_on_the_length_of_the_list() {
        let settings = Settings::default();
        let step = [[40.0, 0.0, 8.0], [60.0, 40.0, 30.0]];
        let five = advised(&[PLATE, step], &[], &settings, 5);
        let one = advised(&[PLATE, step], &[], &settings, 1);
        assert_eq!(five.poses[0].share, one.poses[0].share);
        assert_eq!(five.makers, one.makers);
        let shares: Vec<f64> = five.poses.iter().filter_map(|p| p.share).collect();
        assert_eq!(shares.len(), five.poses.len());
        // To rounding all of it.
        let most = 1.0 - BY_PURPOSE + 1e-9;
        assert!(shares.is_sorted_by(|a, b| a >= b) && shares.iter().sum::<f64>() <= most);
        let printable = five.poses.iter().filter(|p| p.gates.is_empty());
        for pose in printable {
            let behind = pose.total - five.poses[0].total;
            let odds = pose.share.expect("at the defaults") / shares[0];
            assert!((odds - libm::exp(-behind / TEMPERATURE)).abs() < 1e-9);
        }
    }

    /// A nick makes top and bottom of a plate practically equal, and no symmetry of it.
    #[test]
    fn practically_equal_poses_count_as_one() {
        let settings = Settings::default();
        let nick = [[0.0, 0.0, 7.8], [10.0, 0.1, 8.0]];
        let advice = advised(&[PLATE], &[nick], &settings, 5);
        let [first, second] = [0, 1].map(|i| advice.poses[i].share.expect("at the defaults"));
        assert_eq!(first, second);
        assert!(first > 0.9, "{first}");
        let says = advice.makers.expect("at the defaults");
        assert!(
            says.ends_with("would choose pose 1 or pose 2, which is practically equal."),
            "{says}"
        );
        assert!(
            advice.verdict.contains("is practically equal."),
            "{}",
            advice.verdict
        );
    }

    /// Two hundred directions that were left unmeasured may be as good as the first.
    #[test]
    fn a_pose_that_nothing_sets_apart_has_no_share_told() {
        let part = part_of(&boxes(&[PLATE], &[]));
        let settings = Settings::default();
        let bench = Bench::new(
            &part,
            &settings,
            Hull::new(&part.mesh.vertices).expect("a solid"),
        );
        let found = crate::rank::search::Search::new(&bench)
            .run_to_judge(&Wanted::first(3), 5, &Silent)
            .expect("not stopped");
        let says = |left: &[f64]| {
            let shares = Shares::new(&found.judged, left).expect("it can be printed");
            shares.sentence(&found.judged, &|_| 1)
        };
        let least = found.judged[0].total - LEFT_BEHIND;
        assert!(says(&[]).contains("would choose pose 1"), "{}", says(&[]));
        assert!(
            says(&[least; 200]).starts_with("No pose stands out"),
            "{}",
            says(&[least; 200])
        );
    }

    #[test]
    fn without_the_defaults_there_are_no_shares_and_that_is_said_once() {
        let sideways = Some(Vector3::x_axis());
        let off = [
            Settings {
                aim: Aim::Clean,
                ..Settings::default()
            },
            Settings {
                load: sideways,
                ..Settings::default()
            },
            Settings {
                show: vec![Vector3::z_axis()],
                ..Settings::default()
            },
            Settings {
                flat: vec![Vector3::z_axis()],
                ..Settings::default()
            },
        ];
        for settings in off {
            let advice = advised(&[PLATE], &[], &settings, 3);
            assert!(advice.poses.iter().all(|p| p.share.is_none()) && advice.makers.is_none());
            assert!(advice.off_default);
        }
        let advice = advised(&[PLATE], &[], &Settings::default(), 3);
        assert!(!advice.off_default && advice.poses[0].share.is_some());
    }
}
