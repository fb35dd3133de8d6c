//! Bridges, ledges and islands, from the sections of the layers.
//!
//! Layer k is the section at mid-layer height. `overhang` is layer k less layer
//! k−1 grown by the *offset*, the gap is the connected part of (layer k less
//! layer k−1) that contains it, and the held part of the gap's outline is what it
//! shares with layer k−1. For a direction θ the gap is cut into chords along
//! θ, one line width apart: a chord held at both ends is bridged, at one end
//! a ledge. The bridge direction is the θ that makes the longest chord shortest
//! among those that leave nothing unbridged, else the θ that bridges most area.
//!
//! What the definition leaves open is decided so:
//!
//! - The offset is the height from one cut to the next times the tangent of the
//!   overhang limit and its margin, so that what leans less is no overhang here.
//! - A chord that meets no overhang carries itself. Only chords through overhanging
//!   material count.
//! - Overhang areas of one gap that are apart are looked at one by one: what joins
//!   them is a rim that carries itself, or the rounding of equal walls, and must
//!   not tie two slots to one direction.
//! - The reach of a ledge chord is how far it gets from layer k−1, read at its
//!   free end and quarter points: no more than its length, and the same
//!   where the chord stands square on its edge. The length alone would make a
//!   long ledge out of every chord that grazes a round rim.
//! - A narrow ledge, which reaches less than a line past the offset off an
//!   outline that runs along the layer below, is one line laid beside that
//!   layer. It is a ledge whatever the direction; chords that graze a hollow of it
//!   are no bridges.
//! - Pieces and gaps below (line/10)² are specks that no nozzle lays down. Overhang
//!   areas below offset²/3 are dropped too: at the upright corner of a 45°
//!   chamfer (1 − π/4)·offset² lies out of the corner's reach.
//! - An island is a piece of a layer that overlaps less than a speck of
//!   the layer below.
//! - A ceiling with a hole in it keeps span, area and direction as the chords
//!   give them; the hole is told beside them.

mod band;
mod carried;
mod chords;
mod cut;
mod outline;
mod overlay;
mod rings;
mod rows;
mod screen;
mod tell;
#[cfg(test)]
mod tests;
mod thin;
mod ways;

pub use carried::Carried;
pub(crate) use carried::ROUNDING_MM;

use super::stop::Stop;
use super::{Bridge, Island, Layers, Piece, Section};
use crate::plane::overlay::{Area, Window};
use crate::plane::polygon::Ends;
use crate::settings::Settings;
use carried::Field;
use chords::Cutter;
use nalgebra::Point2;
use overlay::{Cluster, Overlay};
use rayon::prelude::*;
use rows::{Ready, Rows};
use std::sync::Arc;
use thin::Shape;
use ways::Ways;

/// Layers that one task works through, so that each section is sorted once.
const RUN: usize = 16;

/// No limit carries more than this lean, degrees: beyond it the offset would be
/// larger than any part.
const STEEPEST_DEG: f64 = 89.0;

/// Corners of an outline that lie this near a straight line are left out, in line
/// widths. Far below what a nozzle follows, and so small because longest bridge and ledge
/// may turn on less than a micrometre of outline.
const THIN_REL: f64 = 3e-4;

/// Shapes within that tolerance are one only where it is this small a part of the offset.
const LEAST_OFFSET: f64 = 16.0;

/// A bridge of up to this many times the limit may still print, with a sag: published
/// limits run from 5 to 30 mm.
pub const WIDE: f64 = 2.0;

/// An overhang area is a narrow ledge only if this share of its outline hangs free.
const FREE_SHARE: f64 = 0.4;

/// What prints in the air.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Spanning {
    /// Bridges, from the bed up.
    pub bridges: Vec<Bridge>,
    /// Largest span of any bridge, mm; 0 without bridges.
    pub longest_mm: f64,
    /// Largest reach of a piece held on one side only, mm; 0 without any.
    pub cantilever_longest_mm: f64,
    /// The same by the short way and so high that support has room under it.
    pub ledge_high_mm: f64,
    /// Height at which that one, the lowest of equal ones, sticks out, mm.
    pub ledge_high_z_mm: f64,
    /// Ceilings whose chords end free, yet that two sides hold: each the short way across.
    pub grooves: Vec<Bridge>,
    /// Which overhang these carry within the limit.
    pub across: Carried,
    /// Pieces that rest on nothing, from the bed up.
    pub islands: Vec<Island>,
    /// Which overhang a bridge within the limit carries.
    pub carried: Carried,
    /// Which overhang a bridge beyond the limit spans, up to twice the limit.
    pub wide: Carried,
}

/// Finds everything that prints in the air; see the module for the definitions.
///
/// Build frame, mm. Takes the sections of one pose and the layer, line, overhang and
/// bridge limits of `settings`. The first layer lies on the bed and never counts. Fewer than two layers, and empty
/// sections, give an empty result; loops with coordinates that are not finite
/// are left out. The result is the same on any number of threads. Where it is stopped, what
/// lies higher is missing.
pub fn bridges(layers: &Layers, settings: &Settings, stop: &Stop) -> Spanning {
    let finder = Finder::new(settings);
    let count = layers.sections.len();
    let runs: Vec<Vec<LayerSpans>> = (0..count.div_ceil(RUN))
        .into_par_iter()
        .map(|r| finder.run(layers, r * RUN..(r * RUN + RUN).min(count), stop))
        .collect();
    let mut out = Spanning::default();
    let mut fields = Vec::with_capacity(count);
    let mut wide = Vec::with_capacity(count);
    let mut across = Vec::with_capacity(count);
    let levels = layers
        .levels_mm
        .iter()
        .chain(std::iter::repeat(&f64::INFINITY));
    for (found, z_mm) in runs.into_iter().flatten().zip(levels) {
        out.cantilever_longest_mm = out.cantilever_longest_mm.max(found.ledge_mm);
        if found.reach_mm > out.ledge_high_mm && ways::is_high(found.reach_mm, *z_mm, settings) {
            (out.ledge_high_mm, out.ledge_high_z_mm) = (found.reach_mm, *z_mm);
        }
        out.grooves.extend(found.grooves);
        across.push(found.across);
        out.bridges.extend(found.bridges);
        out.islands.extend(found.floating);
        fields.push(found.fields);
        wide.push(found.wide);
    }
    out.longest_mm = out.bridges.iter().fold(0.0, |m, b| m.max(b.span_mm));
    out.carried = Carried::new(layers, fields);
    out.wide = Carried::new(layers, wide);
    out.across = Carried::new(layers, across);
    out
}

/// What one layer shows.
#[derive(Default)]
struct LayerSpans {
    bridges: Vec<Bridge>,
    ledge_mm: f64,
    reach_mm: f64,
    grooves: Vec<Bridge>,
    floating: Vec<Island>,
    fields: Vec<Field>,
    wide: Vec<Field>,
    across: Vec<Field>,
}

/// Where a layer lies.
#[derive(Clone, Copy)]
struct At<'a> {
    /// Its bottom, mm.
    z_mm: f64,
    /// Whether the layer below it is the first.
    on_first: bool,
    /// The section two layers below it.
    deeper: Option<&'a Section>,
    /// The sections above it, as far as a hole has to go on to be one.
    higher: &'a [Section],
}

impl At<'_> {
    /// Whether a place of the layer that nothing is below has the part again two layers below.
    fn is_slit(&self, p: Point2<f64>) -> bool {
        let pieces = self.deeper.map_or(&[][..], |s| &s.pieces);
        pieces.iter().any(|piece| piece.contains(p))
    }

    /// Whether a hole of the layer stays open at this place.
    fn is_open_above(&self, p: Point2<f64>) -> bool {
        let mut pieces = self.higher.iter().flat_map(|s| &s.pieces);
        !pieces.any(|piece| piece.contains(p))
    }
}

struct Finder {
    line_mm: f64,
    bridge_limit_mm: f64,
    offset_per_mm: f64,
    speck_mm2: f64,
}

impl Finder {
    fn new(settings: &Settings) -> Self {
        let lean = settings.overhang_lean_rad().min(STEEPEST_DEG.to_radians());
        Self {
            line_mm: settings.line_mm,
            bridge_limit_mm: settings.bridge_limit_mm,
            offset_per_mm: libm::tan(lean),
            speck_mm2: (settings.line_mm / 10.0).powi(2),
        }
    }

    /// Specks of the first layer stay: they lie on the bed, so that a part that
    /// stands on a tip does not float above it.
    fn ready<'a>(&self, layers: &'a Layers, k: usize) -> Ready<'a> {
        let section = &layers.sections[k];
        let speck_mm2 = if k == 0 { 0.0 } else { self.speck_mm2 };
        let finite = |p: &&Piece| {
            p.loops()
                .flatten()
                .all(|q| q.x.is_finite() && q.y.is_finite())
        };
        let printable = section.pieces.iter().filter(|p| p.area_mm2 >= speck_mm2);
        let pieces: Vec<Piece> = (printable.filter(finite))
            .map(|p| thin::piece(p, self.line_mm * THIN_REL))
            .collect();
        Ready {
            section,
            rows: Rows::new(&pieces),
            pieces,
        }
    }

    /// Whether layer `k` has the shape of the one below it: then nothing hangs over. `known` is the shape of a
    /// layer, handed on from one to the next.
    fn is_unchanged(&self, layers: &Layers, k: usize, known: &mut Option<(usize, Shape)>) -> bool {
        let [lower, upper] = [k - 1, k].map(|k| &layers.sections[k]);
        if upper.pieces == lower.pieces {
            return true;
        }
        let within_mm = self.line_mm * THIN_REL;
        let offset = self.offset_per_mm * (upper.z_mm - lower.z_mm);
        if offset < LEAST_OFFSET * within_mm || !Shape::may_be_one(upper, lower, within_mm) {
            return false;
        }
        let below = match known.take() {
            Some((at, shape)) if at + 1 == k => shape,
            _ => Shape::of(lower, within_mm),
        };
        let (_, shape) = known.insert((k, Shape::of(upper, within_mm)));
        *shape == below
    }

    fn run(&self, layers: &Layers, range: std::ops::Range<usize>, stop: &Stop) -> Vec<LayerSpans> {
        let mut below: Option<(usize, Ready)> = None;
        let mut shape: Option<(usize, Shape)> = None;
        let mut out = Vec::with_capacity(range.len());
        for k in range {
            if stop.asked() {
                break;
            }
            let Some(under) = k.checked_sub(1) else {
                out.push(LayerSpans::default());
                continue;
            };
            if self.is_unchanged(layers, k, &mut shape) {
                out.push(LayerSpans::default());
                continue;
            }
            let lower = match below.take() {
                Some((at, ready)) if at == under => ready,
                _ => self.ready(layers, under),
            };
            let upper = self.ready(layers, k);
            let z_mm = (layers.levels_mm.get(k).copied()).unwrap_or(upper.section.z_mm);
            let at = At {
                z_mm,
                on_first: under == 0,
                deeper: under.checked_sub(1).map(|d| &layers.sections[d]),
                higher: layers.sections[k..]
                    .split(|s| s.z_mm > z_mm + rings::LEAST_HIGH_MM)
                    .next()
                    .unwrap_or_default(),
            };
            out.push(self.layer(&upper, &lower, at));
            below = Some((k, upper));
        }
        out
    }

    fn layer(&self, upper: &Ready, lower: &Ready, at: At) -> LayerSpans {
        let At { z_mm, on_first, .. } = at;
        let mut out = LayerSpans::default();
        let offset = self.offset_per_mm * (upper.section.z_mm - lower.section.z_mm);
        if !(offset > 0.0 && offset.is_finite()) {
            return out;
        }
        let screened = screen::overhang_points(
            &upper.rows,
            &lower.rows,
            &lower.pieces,
            offset,
            self.line_mm,
        );
        let doubtful: Vec<bool> = upper.pieces.iter().map(|p| !rests(p, lower)).collect();
        if let (Some(reach), false) = (screened.narrow_mm, doubtful.contains(&true)) {
            out.ledge_mm = reach;
            return out;
        }
        let mut pieces: Vec<&Piece> = Vec::new();
        for (piece, doubtful) in upper.pieces.iter().zip(&doubtful) {
            let floating = if *doubtful {
                self.floating(piece, lower, offset, on_first)
            } else {
                Vec::new()
            };
            if floating.is_empty() {
                pieces.push(piece);
            }
            out.floating
                .extend((floating.into_iter()).map(|area_mm2| Island {
                    z_mm,
                    area_mm2,
                    graze: false,
                }));
        }
        let mut overlay = Overlay::new(pieces, lower, offset);
        for cluster in Cluster::of(&screened.stretches, offset) {
            self.cluster(&mut overlay, &cluster, at, &mut out);
        }
        out
    }

    /// Areas of a piece that rest on nothing: none if it rests on the layer below, one as
    /// a rule, more where the piece hangs together by a corner only.
    fn floating(&self, piece: &Piece, lower: &Ready, offset: f64, on_first: bool) -> Vec<f64> {
        let [lo, hi] = piece.bounds;
        let alone = Overlay::new(vec![piece], lower, offset);
        (alone.difference(&Window { lo, hi }.grown(offset)).iter())
            .filter(|gap| gap.mm2 >= self.speck_mm2 && self.floats(gap, &alone, on_first))
            .map(|gap| gap.mm2)
            .collect()
    }

    /// Looks at the overhang areas of one cluster.
    fn cluster(&self, overlay: &mut Overlay, cluster: &Cluster, at: At, out: &mut LayerSpans) {
        let At { z_mm, on_first, .. } = at;
        let core = &cluster.core;
        let offset = overlay.offset;
        let mut gaps = overlay.gaps(cluster, 4.0 * (offset + self.line_mm));
        gaps.retain(|g| g.mm2 >= self.speck_mm2);
        let (floating, gaps): (Vec<Arc<Area>>, Vec<Arc<Area>>) =
            (gaps.into_iter()).partition(|g| self.floats(g, overlay, on_first));
        for gap in floating {
            if overlay.is_new(&gap) {
                let area_mm2 = gap.mm2;
                out.floating.push(Island {
                    z_mm,
                    area_mm2,
                    graze: false,
                });
            }
        }
        if gaps.is_empty() {
            return;
        }
        let grid = overlay.grid;
        let smallest = self.speck_mm2.max(screen::smallest_overhang_mm2(offset));
        // Hardly any overhang area reaches past the box around its stretches.
        let (mut near, mut overhangs) = (core.grown(0.5 * offset), Vec::new());
        for _ in 0..9 {
            let of_gaps: Vec<Ends> = gaps.iter().flat_map(|g| g.shortened(&near)).collect();
            let band = band::band(&overlay.lower.rows, &near, offset);
            overhangs = grid.difference(&of_gaps, &band);
            overhangs.retain(|f| f.mm2 >= smallest && core.meets(&f.around));
            if overhangs.iter().all(|f| near.holds(&f.around)) {
                break;
            }
            near = near.grown(offset + 0.5 * (near.hi - near.lo).max());
        }
        for overhang in overhangs {
            if let Some(reach) = self.narrow(&overhang, &overlay.lower.rows, offset) {
                out.ledge_mm = out.ledge_mm.max(reach);
                continue;
            }
            let inner = overhang.inner_point();
            let gap = inner.and_then(|p| gaps.iter().find(|g| g.contains(p)));
            let Some(gap) = gap else { continue };
            let mut cutter = Cutter::new(gap, &overhang, self.line_mm, offset);
            let cut = cutter.best();
            let hole = rings::around_hole(gap, &overhang, self.line_mm, offset, |p| {
                at.is_open_above(p)
            });
            let ways = if inner.is_some_and(|p| at.is_slit(p)) {
                Ways::NONE
            } else {
                Ways::of(&cut, gap, &overlay.lower.rows, self.bridge_limit_mm)
            };
            self.tell(&cut, (hole, ways.bridge), &overlay.lower.rows, z_mm, out);
            let bridged = cut.chords.iter().any(cut::Chord::bridged);
            self.tell_across(&mut cutter, (ways, bridged, hole), z_mm, out);
        }
    }

    /// Does the gap take a whole piece, but for a speck, or hang on the rest of its piece
    /// by a corner only? Nothing small on the bed is a speck.
    fn floats(&self, gap: &Area, overlay: &Overlay, on_first: bool) -> bool {
        let touches = gap.edges.iter().any(|e| e.2);
        let missing = |p: &&&Piece| (p.area_mm2 - gap.mm2).abs() < self.speck_mm2;
        let within = |p: &Piece| gap.inner_point().is_some_and(|q| p.contains(q));
        !touches || (!on_first && overlay.upper.iter().filter(missing).any(|p| within(p)))
    }

    /// The reach of an overhang area if it is a narrow ledge.
    fn narrow(&self, overhang: &Area, lower: &Rows, offset: f64) -> Option<f64> {
        let at_most = offset + self.line_mm;
        let mut reach = 0.0_f64;
        let (mut all, mut free, mut away) = (0.0, 0.0, 0.0);
        for &(a, b, inner) in &overhang.edges {
            all += (b - a).norm();
            if inner {
                continue;
            }
            for (a, b) in screen::parts((a, b), self.line_mm) {
                reach = reach.max(lower.distance(a, at_most));
                if reach >= at_most {
                    return None;
                }
                let length = (b - a).norm();
                free += length;
                if !screen::runs_along((a, b), lower, at_most) {
                    away += length;
                }
            }
        }
        (free >= FREE_SHARE * all && away <= 0.1 * free).then_some(reach)
    }
}

/// Does the piece surely overlap the section below? A corner of one inside
/// the other says so; where none is, the exact difference has to tell.
fn rests(piece: &Piece, lower: &Ready) -> bool {
    piece.loops().flatten().any(|&p| lower.rows.inside(p))
        || (lower.pieces.iter())
            .flat_map(Piece::loops)
            .filter_map(|l| l.first())
            .any(|&p| piece.contains(p))
}
