//! The layer profile: section area, pieces and perimeter of every layer, and the
//! heights where they jump.
//!
//! Where the area changes at once, the layer time and the shrinkage change at once,
//! and a line shows at that height on an outer wall that runs on (common practice).

use crate::figures::{Layers, Piece, Section};
use schemars::JsonSchema;
use serde::Serialize;

/// Areas of neighbouring layers that differ by more than this factor jump
/// (a house value).
pub const JUMP_FACTOR: f64 = 1.3;

/// A change of area below this is no jump, mm² (a house value).
pub const JUMP_LEAST_MM2: f64 = 5.0;

/// Samples that a layer profile keeps at most; the jumps keep their own heights.
pub const MOST_SAMPLES: usize = 160;

/// Jumps that a layer profile keeps at most, the largest changes of area first.
pub const MOST_JUMPS: usize = 24;

/// The layers of one pose in numbers, from the bed up; all lists are of one length.
#[derive(Debug, Clone, Default, PartialEq, Serialize, JsonSchema)]
pub struct LayerProfile {
    /// Height of each section, mm.
    pub z_mm: Vec<f64>,
    /// Total area of each section, mm².
    pub area_mm2: Vec<f64>,
    /// Connected pieces of each section.
    pub pieces: Vec<u32>,
    /// Length of all outlines of each section, holes included, mm.
    pub perimeter_mm: Vec<f64>,
    /// Heights where something jumps, from the bed up.
    pub jumps: Vec<Jump>,
}

/// A sudden change between two neighbouring layers.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Jump {
    /// Level between the two layers, mm.
    pub z_mm: f64,
    /// Area of the layer below, mm².
    pub from_mm2: f64,
    /// Area of the layer above, mm².
    pub to_mm2: f64,
    /// Pieces of the layer below.
    pub from_pieces: u32,
    /// Pieces of the layer above.
    pub to_pieces: u32,
    /// What changes.
    pub why: String,
}

impl Jump {
    /// Larger area over smaller, 1 or more.
    pub fn ratio(&self) -> f64 {
        let (a, b) = (self.from_mm2, self.to_mm2);
        a.max(b) / a.min(b).max(f64::MIN_POSITIVE)
    }
}

impl LayerProfile {
    /// Sums up every layer and finds the jumps.
    ///
    /// The area jumps where the larger of two neighbours exceeds the smaller by
    /// more than the factor [`JUMP_FACTOR`] and by more than [`JUMP_LEAST_MM2`];
    /// the number of pieces jumps where it changes. Neither is reported next to an
    /// empty layer, where a ratio means nothing. No layers give an empty layer profile.
    pub fn new(layers: &Layers) -> Self {
        let sections = &layers.sections;
        let of = |number: fn(&Section) -> f64| sections.iter().map(number).collect::<Vec<_>>();
        let mut layer_profile = Self {
            z_mm: of(|s| s.z_mm),
            area_mm2: of(|s| s.pieces.iter().map(|p| p.area_mm2).sum()),
            pieces: sections.iter().map(|s| s.pieces.len() as u32).collect(),
            perimeter_mm: of(|s| s.pieces.iter().map(Piece::perimeter_mm).sum()),
            jumps: Vec::new(),
        };
        // The top of a layer, and the layer with the next one.
        let levels = layers.levels_mm.iter().skip(1);
        let areas = layer_profile.area_mm2.windows(2);
        for ((&z_mm, area), pieces) in levels.zip(areas).zip(layer_profile.pieces.windows(2)) {
            let (&[from_mm2, to_mm2], &[from_pieces, to_pieces]) = (area, pieces) else {
                continue;
            };
            if from_pieces == 0 || to_pieces == 0 {
                continue;
            }
            let (small, large) = (from_mm2.min(to_mm2), from_mm2.max(to_mm2));
            let area_jumps = large > JUMP_FACTOR * small && large - small > JUMP_LEAST_MM2;
            if area_jumps || from_pieces != to_pieces {
                layer_profile.jumps.push(Jump {
                    z_mm,
                    from_mm2,
                    to_mm2,
                    from_pieces,
                    to_pieces,
                    why: why(area_jumps, to_mm2 > from_mm2, from_pieces, to_pieces),
                });
            }
        }
        layer_profile
    }

    /// The same with at most [`MOST_SAMPLES`] samples, evenly over the height, the
    /// first and the last among them, and at most [`MOST_JUMPS`] jumps, those with
    /// the largest change of area.
    #[must_use]
    pub fn compact(mut self) -> Self {
        let n = self.z_mm.len();
        if n > MOST_SAMPLES {
            let picks: Vec<usize> = (0..MOST_SAMPLES)
                .map(|k| k * (n - 1) / (MOST_SAMPLES - 1))
                .collect();
            let thin = |list: &[f64]| picks.iter().map(|&i| list[i]).collect();
            self.z_mm = thin(&self.z_mm);
            self.area_mm2 = thin(&self.area_mm2);
            self.perimeter_mm = thin(&self.perimeter_mm);
            self.pieces = picks.iter().map(|&i| self.pieces[i]).collect();
        }
        if self.jumps.len() > MOST_JUMPS {
            let change = |j: &Jump| (j.to_mm2 - j.from_mm2).abs();
            self.jumps.sort_by(|a, b| {
                change(b)
                    .total_cmp(&change(a))
                    .then(a.z_mm.total_cmp(&b.z_mm))
            });
            self.jumps.truncate(MOST_JUMPS);
            self.jumps.sort_by(|a, b| a.z_mm.total_cmp(&b.z_mm));
        }
        self
    }
}

fn why(area_jumps: bool, grows: bool, from: u32, to: u32) -> String {
    let mut out = String::new();
    if area_jumps {
        out.push_str(if grows {
            "the section grows at once: the layers above take longer, stay warmer and shrink more"
        } else {
            "the section falls at once: the layers above are done sooner, cool less and shrink on a stiff base"
        });
    }
    if from != to {
        if area_jumps {
            out.push_str("; ");
        }
        out.push_str(&match from {
            1 => format!("1 piece becomes {to}"),
            _ => format!("{from} pieces become {to}"),
        });
    }
    out
}

#[cfg(test)]
mod tests {
    use crate::figures::mock::{Stack, disc, rectangle, ring, square};
    use crate::figures::profile::*;
    use approx::assert_relative_eq;

    #[test]
    fn layer_profile_of_a_comb_jumps_where_the_tines_start() {
        let tines: Vec<_> = (0..5)
            .map(|k| square(4.0 + 8.0 * f64::from(k), 5.0, 2.0))
            .collect();
        let comb = Stack::new(0.2)
            .up_to(4.0, &[rectangle(20.0, 5.0, 40.0, 10.0)])
            .up_to(44.0, &tines);
        let layer_profile = LayerProfile::new(&comb.layers());
        assert_eq!(layer_profile.z_mm.len(), 220);
        assert_relative_eq!(layer_profile.area_mm2[19], 400.0, max_relative = 1e-12);
        assert_relative_eq!(layer_profile.area_mm2[20], 20.0, max_relative = 1e-12);
        assert_relative_eq!(layer_profile.perimeter_mm[0], 100.0, max_relative = 1e-12);
        assert_relative_eq!(layer_profile.perimeter_mm[219], 40.0, max_relative = 1e-12);
        assert_eq!((layer_profile.pieces[0], layer_profile.pieces[219]), (1, 5));
        let [jump] = &layer_profile.jumps[..] else {
            panic!("{:?}", layer_profile.jumps)
        };
        assert_relative_eq!(jump.z_mm, 4.0, max_relative = 1e-12);
        assert_relative_eq!(jump.from_mm2, 400.0, max_relative = 1e-12);
        assert_relative_eq!(jump.to_mm2, 20.0, max_relative = 1e-12);
        assert_relative_eq!(jump.ratio(), 20.0, max_relative = 1e-12);
        assert_eq!((jump.from_pieces, jump.to_pieces), (1, 5));
        assert!(jump.why.contains("falls at once"), "{}", jump.why);
        assert!(jump.why.contains("1 piece becomes 5"), "{}", jump.why);
        let short = layer_profile.clone().compact();
        assert_eq!(short.z_mm.len(), MOST_SAMPLES);
        assert_eq!(short.z_mm.first(), layer_profile.z_mm.first());
        assert_eq!(short.z_mm.last(), layer_profile.z_mm.last());
        assert_eq!(short.jumps, layer_profile.jumps);
    }

    #[test]
    fn layer_profile_counts_holes() {
        let tube = LayerProfile::new(
            &Stack::new(0.2)
                .up_to(0.2, &[ring(0.0, 0.0, 10.0, 8.0, 4000)])
                .layers(),
        );
        assert_relative_eq!(
            tube.perimeter_mm[0],
            36.0 * std::f64::consts::PI,
            max_relative = 1e-5
        );
        assert_relative_eq!(
            tube.area_mm2[0],
            36.0 * std::f64::consts::PI,
            max_relative = 1e-5
        );
    }

    #[test]
    fn layer_profile_has_no_jump_in_small_or_steady_change() {
        // A 45° cone to its tip: quick relative change only where little is left.
        let cone = Stack::new(0.2).shaped(19.8, |z| vec![disc(0.0, 0.0, 20.0 - z, 90)]);
        assert_eq!(LayerProfile::new(&cone.layers()).jumps, []);
        let step = |upper: f64| {
            let s = Stack::new(0.2)
                .up_to(1.0, &[square(0.0, 0.0, 10.0)])
                .up_to(2.0, &[square(0.0, 0.0, upper)]);
            LayerProfile::new(&s.layers()).jumps.len()
        };
        // 100 mm² against 130 mm² is the threshold, up or down.
        assert_eq!((step(11.3), step(11.5), step(8.9), step(8.7)), (0, 1, 0, 1));
    }

    #[test]
    fn layer_profile_of_nothing_is_empty() {
        assert_eq!(
            LayerProfile::new(&Layers::default()),
            LayerProfile::default()
        );
        let gap = Stack::new(0.2)
            .up_to(0.2, &[square(0.0, 0.0, 9.0)])
            .up_to(0.4, &[])
            .up_to(0.6, &[square(0.0, 0.0, 9.0)]);
        assert_eq!(LayerProfile::new(&gap.layers()).jumps, []);
    }
}
