//! The ranking of a part: first what needs no layers, then the full search.

use super::command;
use super::part::DeskPart;
use crate::advice::glance::{KNOWN_FIGURES, KNOWN_PENALTIES};
use crate::figures::quick::Bench;
use crate::figures::stop::{Stop, Stopped};
use crate::pose::{Pose, Posed};
use crate::rank::search::{Found, Progress, Search, Stage, Wanted, angle_deg};

use crate::advice::{self, Advice, RankedPose};
use crate::report::advise::{CAUTIONS, how_sure};
use crate::report::draw::{model::DrawingModel, small};
use crate::report::figures;
use crate::report::json::{AdviceReport, Seconds};
use crate::session::config::{TOP, in_force};
use crate::settings::Settings;
use crate::settings::weights::Penalty;
use crate::sync::held;
use crate::words;
use nalgebra::{Unit, Vector3};
use serde_json::{Value, json};
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};

/// Size of a small figure, mm.
const PICTURE_MM: [f64; 2] = [40.0, 30.0];

/// An advice and what it took.
pub struct FullAdvice {
    /// The advice.
    pub advice: Advice,
    /// Poses whose layers or overhang were measured for it.
    pub measured_anew: usize,
}

/// The full advice: the very one that `wayup advise` gives. `told` gets the answer so far
/// now and then.
///
/// # Errors
/// `progress` had the work stopped before one pose was measured.
pub fn full(
    part: &DeskPart,
    settings: &Settings,
    progress: &dyn Progress,
    told: &(dyn Fn(FullAdvice) + Sync),
) -> Result<FullAdvice, Stopped> {
    let bench = part.bench(settings);
    let search = Search::on(&bench, &part.known);
    let relay = Relay {
        bench: &bench,
        search: &search,
        progress,
        told,
        pause: Mutex::new((Instant::now(), Duration::ZERO)),
    };
    let advice = advice::advise_on(&bench, &search, &Wanted::first(TOP as usize), &relay)?;
    Ok(FullAdvice {
        advice,
        measured_anew: search.measured_anew(),
    })
}

/// Ends a search where its part is closed, and says nothing.
pub struct UntilClosed<'a>(pub &'a DeskPart);

impl Progress for UntilClosed<'_> {
    fn step(&self, _: Stage, _: usize, _: usize) {}

    fn cancelled(&self) -> bool {
        self.0.is_closed()
    }
}

/// The answer from the poses that were measured before and still count under these
/// settings; none where there are none.
pub fn from_memory(part: &DeskPart, settings: &Settings) -> Option<FullAdvice> {
    let bench = part.bench(settings);
    let search = Search::on(&bench, &part.known);
    let found = search.from_memory()?;
    Some(FullAdvice {
        advice: advice::told(&bench, &search, &found, TOP as usize),
        measured_anew: 0,
    })
}

/// Hands the answer so far on, no oftener than leaves most of the time to the search.
struct Relay<'a> {
    bench: &'a Bench<'a>,
    search: &'a Search<'a>,
    progress: &'a dyn Progress,
    told: &'a (dyn Fn(FullAdvice) + Sync),
    /// When the last one was told, and how long that took.
    pause: Mutex<(Instant, Duration)>,
}

/// Shortest time between two answers.
const PAUSE: Duration = Duration::from_millis(400);

impl Progress for Relay<'_> {
    fn step(&self, stage: Stage, done: usize, of: usize) {
        self.progress.step(stage, done, of);
    }

    fn cancelled(&self) -> bool {
        self.progress.cancelled()
    }

    fn so_far(&self, found: &dyn Fn() -> Found) {
        let mut pause = held(&self.pause);
        if pause.0.elapsed() < PAUSE.max(5 * pause.1) {
            return;
        }
        let began = Instant::now();
        // All that was ever measured and still counts, so that no answer says less than the
        // one before.
        let found = self.search.from_memory().unwrap_or_else(found);
        (self.told)(FullAdvice {
            advice: advice::told(self.bench, self.search, &found, TOP as usize),
            measured_anew: self.search.measured_anew(),
        });
        *pause = (Instant::now(), began.elapsed());
    }
}

/// The JSON of `wayup advise`, its times at zero.
pub fn report(part: &DeskPart, settings: &Settings, advice: &Advice) -> AdviceReport {
    AdviceReport::new(
        part.intake.facts.clone(),
        in_force(settings, &part.base.files),
        advice.clone(),
        false,
        Seconds::default(),
    )
}

/// The message with a full ranking, so many seconds after it was asked for; unless it is the
/// `last`, a better one follows.
pub fn message(
    part: &DeskPart,
    settings: &Settings,
    answer: &FullAdvice,
    (last, seconds): (bool, f64),
) -> Value {
    let advice = &answer.advice;
    let mut told = ranking(part, settings, "full", seconds);
    told["final"] = last.into();
    told["measured_anew"] = answer.measured_anew.into();
    told["advice"] = json!(report(part, settings, advice));
    let pictures = advice
        .poses
        .iter()
        .map(|p| picture(part, &p.pose.down).to_string());
    told["pictures"] = pictures.collect();
    told["sure"] = json!(how_sure(advice));
    told
}

/// A message with a ranking, to be filled in.
fn ranking(part: &DeskPart, settings: &Settings, stage: &str, seconds: f64) -> Value {
    json!({
        "say": "ranking",
        "part": part.id,
        "stage": stage,
        "final": false,
        "seconds": seconds,
        "measured_anew": 0,
        "command": command::advise(part, settings),
        "advice": null,
        "pictures": [],
        "sure": [],
        "cautions": CAUTIONS,
        "figures": figures::table(settings),
    })
}

/// The message with the first, quick ranking: facets of the hull by their bounds, and of
/// figures and penalties only those that need no layers.
pub fn quick_message(part: &DeskPart, settings: &Settings, seconds: impl Fn() -> f64) -> Value {
    let bench = part.bench(settings);
    let search = Search::on(&bench, &part.known);
    let closed = || part.is_closed();
    let poses = advice::glance::glance(&bench, &search, TOP as usize, &Stop::when(&closed));
    let stored = advice::glance::of_direction(&bench, &search, -Vector3::z_axis());
    let verdict = poses.first().map_or_else(String::new, |first| {
        let (side, standing) = standing(first);
        format!("Before anything is cut into layers, the {side} looks best: {standing}.")
    });
    let mut told = ranking(part, settings, "quick", seconds());
    told["advice"] = json!({
        "wayup": env!("CARGO_PKG_VERSION"),
        "part": part.intake.facts,
        "settings": in_force(settings, &part.base.files),
        "poses": poses.iter().map(known_only).collect::<Vec<_>>(),
        "as_stored": known_only(&stored),
        "verdict": verdict,
    });
    told
}

/// The side that goes down in a pose, and how the part stands on it.
fn standing(pose: &RankedPose) -> (String, String) {
    let contact = words::area(pose.figures.contact_area_mm2);
    let height = words::length(pose.figures.height_mm);
    let side = words::side_down(&pose.pose.down);
    (side, format!("{contact} on the bed, {height} tall"))
}

/// A pose entry with only what is exact without layers; the total is its lower bound.
pub fn known_only(pose: &RankedPose) -> Value {
    let mut value = json!(pose);
    let keep = |value: &mut Value, keys: &[&str]| {
        if let Value::Object(map) = value {
            map.retain(|k, _| keys.contains(&k.as_str()));
        }
    };
    keep(&mut value["figures"], &KNOWN_FIGURES);
    keep(&mut value["penalties"], &KNOWN_PENALTIES.map(Penalty::name));
    // Told by figures that need layers.
    if let Value::Object(map) = &mut value {
        map.remove("needs_support");
        map.remove("support");
    }
    value
}

/// The small figure of a direction, as an SVG on its own. Drawn once.
pub fn picture(part: &DeskPart, down: &Unit<Vector3<f64>>) -> Arc<str> {
    part.picture(down, || {
        let pose = Pose::new(down, &part.layout.hull.vertices);
        let posed = Posed::new(&part.intake.part, pose);
        let model = DrawingModel::new(&part.intake.part);
        small::figure(&model, &posed, None, PICTURE_MM).svg_image(&words::side_down(down))
    })
}

/// Puts a direction that the person chose before the ranked ones.
pub fn put_first(
    part: &DeskPart,
    settings: &Settings,
    advice: &mut Advice,
    down: Unit<Vector3<f64>>,
) {
    let bench = part.bench(settings);
    let search = Search::on(&bench, &part.known);
    let closed = || part.is_closed();
    let stop = Stop::when(&closed);
    let Some((chosen, _)) = advice::measure_until(&bench, &search, down, &stop) else {
        return;
    };
    let (side, standing) = standing(&chosen);
    let verdict = &advice.verdict;
    advice.verdict = format!("Chosen by hand, the {side}: {standing}. The advice was: {verdict}");
    let same = |p: &RankedPose| angle_deg(&p.pose.down, &down) < 0.01;
    advice.poses.retain(|p| !same(p));
    advice.poses.insert(0, chosen);
    for (i, pose) in advice.poses.iter_mut().enumerate() {
        pose.rank = i + 1;
    }
}
