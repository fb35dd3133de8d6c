//! What the ranking knows of a part whatever the settings, and what it has measured.

use super::Origin;
use crate::figures::depends::{Bits, Depends};
use crate::figures::full::{Before, Cuts, Hanging};
use crate::figures::quick::{Bench, Layout, Quick};
use crate::mesh::Part;
use crate::pose::Pose;
use crate::pose::symmetry::Symmetry;
use crate::settings::Settings;
use crate::sync::held;
use nalgebra::{Unit, Vector3};
use std::collections::BTreeMap;
use std::sync::{Arc, Mutex};

/// Poses remembered at most; the one asked for longest ago goes first.
const MOST_POSES: usize = 512;
/// Layers remembered at most, over all poses and settings: some 60 MB.
const MOST_LAYERS: usize = 1_000_000;
/// Settings of which a pose's measurements are remembered.
const MOST_SETTINGS: usize = 8;
/// Quick figures remembered at most, over all settings.
const MOST_QUICK: usize = 96_000;

/// Symmetry of a part, and, where it is to be asked
/// again under other settings, the poses measured so far.
///
/// What is remembered is found by the bits of a pose and of the settings that it depends
/// on, so an answer that rests on it is the same, bit for bit, as one measured anew.
pub struct Known {
    /// Its symmetries.
    pub symmetry: Symmetry,
    memory: Option<Memory>,
}

#[derive(Default)]
struct Memory {
    /// Quick figures by settings and direction.
    quick: Mutex<BTreeMap<(Bits, [u64; 3]), Quick>>,
    poses: Mutex<Poses>,
}

#[derive(Default)]
struct Poses {
    by_rotation: BTreeMap<[u64; 9], Measured>,
    /// Counts the questions.
    now: u64,
}

/// A pose that was measured.
struct Measured {
    down: Unit<Vector3<f64>>,
    origin: Origin,
    cuts: Vec<(Bits, Arc<Cuts>)>,
    hanging: Vec<(Bits, Arc<Hanging>)>,
    asked: u64,
}

impl Measured {
    /// Layers whose figures are kept.
    fn layers(&self) -> usize {
        self.cuts.iter().map(|(_, c)| c.profile.z_mm.len()).sum()
    }

    fn under(&self, on: &Depends) -> Before {
        Before {
            cuts: of(&self.cuts, &on.cuts),
            hanging: of(&self.hanging, &on.hanging),
        }
    }
}

fn of<T>(list: &[(Bits, Arc<T>)], bits: &Bits) -> Option<Arc<T>> {
    let found = list.iter().find(|(b, _)| b == bits);
    found.map(|(_, value)| Arc::clone(value))
}

fn put<T>(list: &mut Vec<(Bits, Arc<T>)>, bits: Bits, value: Option<Arc<T>>) {
    let Some(value) = value else { return };
    list.retain(|(b, _)| *b != bits);
    list.push((bits, value));
    if list.len() > MOST_SETTINGS {
        list.remove(0);
    }
}

fn bits_of(pose: &Pose) -> [u64; 9] {
    let rotation = pose.rotation();
    std::array::from_fn(|i| rotation.matrix()[i].to_bits())
}

impl Known {
    /// Looks at a part that is laid out; remembers nothing.
    pub fn new(part: &Part, layout: &Layout) -> Self {
        // What a calliper can hold is asked for with every pose: beside the symmetry it costs no time.
        let (symmetry, _) = rayon::join(
            || Symmetry::detect(part, &layout.hull),
            || rayon::join(|| layout.opposite(part), || layout.held(part)),
        );
        Self {
            symmetry,
            memory: None,
        }
    }

    /// Looks at a part that is laid out, and remembers what is measured.
    pub fn remembering(part: &Part, layout: &Layout) -> Self {
        Self {
            memory: Some(Memory::default()),
            ..Self::new(part, layout)
        }
    }

    /// Quick figures of a direction.
    pub(crate) fn quick(&self, bench: &Bench, down: &Unit<Vector3<f64>>) -> Quick {
        let Some(memory) = &self.memory else {
            return bench.quick(down);
        };
        let key = (
            Depends::on(bench.settings).quick,
            [down.x, down.y, down.z].map(f64::to_bits),
        );
        if let Some(quick) = held(&memory.quick).get(&key) {
            return *quick;
        }
        // Measured without the lock; what two threads measure at once is the same.
        let quick = bench.quick(down);
        let mut all = held(&memory.quick);
        if all.len() >= MOST_QUICK {
            all.clear();
        }
        all.insert(key, quick);
        quick
    }

    /// What is known of a pose under some settings.
    pub(crate) fn before(&self, pose: &Pose, settings: &Settings) -> Before {
        let Some(memory) = &self.memory else {
            return Before::default();
        };
        let mut poses = held(&memory.poses);
        poses.now += 1;
        let now = poses.now;
        let Some(measured) = poses.by_rotation.get_mut(&bits_of(pose)) else {
            return Before::default();
        };
        measured.asked = now;
        measured.under(&Depends::on(settings))
    }

    /// Remembers what was measured of a pose under some settings.
    pub(crate) fn keep(&self, pose: &Pose, origin: Origin, settings: &Settings, known: Before) {
        let Some(memory) = &self.memory else { return };
        let mut poses = held(&memory.poses);
        let now = poses.now;
        let measured = poses
            .by_rotation
            .entry(bits_of(pose))
            .or_insert_with(|| Measured {
                down: pose.down,
                origin,
                cuts: Vec::new(),
                hanging: Vec::new(),
                asked: now,
            });
        let on = Depends::on(settings);
        put(&mut measured.cuts, on.cuts, known.cuts);
        put(&mut measured.hanging, on.hanging, known.hanging);
        let mut layers: usize = poses.by_rotation.values().map(Measured::layers).sum();
        while poses.by_rotation.len() > MOST_POSES || layers > MOST_LAYERS {
            let oldest = poses.by_rotation.iter().min_by_key(|(_, m)| m.asked);
            let Some(key) = oldest.map(|(key, _)| *key) else {
                break;
            };
            layers -= poses.by_rotation.remove(&key).map_or(0, |m| m.layers());
        }
    }

    /// Directions of which everything is known under some settings; those that a person
    /// named are left out.
    pub(crate) fn measured_under(&self, settings: &Settings) -> Vec<(Unit<Vector3<f64>>, Origin)> {
        let Some(memory) = &self.memory else {
            return Vec::new();
        };
        let on = Depends::on(settings);
        held(&memory.poses)
            .by_rotation
            .values()
            .filter(|m| m.origin != Origin::Named && m.under(&on).complete())
            .map(|m| (m.down, m.origin))
            .collect()
    }
}
