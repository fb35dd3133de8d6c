//! What one overhang area shows, read off its cut.

use super::carried::Field;
use super::chords::Cutter;
use super::cut::{ALONG_LEDGE, Cut};
use super::rows::Rows;
use super::ways::Ways;
use super::{Finder, LayerSpans, WIDE};
use crate::figures::{Across, Bridge, CeilingHole};

impl Finder {
    /// Reads bridge, ledge and carried strips off the final cut.
    pub(super) fn tell(
        &self,
        cut: &Cut,
        (around_hole, across): (Option<CeilingHole>, Option<Across>),
        lower: &Rows,
        z_mm: f64,
        out: &mut LayerSpans,
    ) {
        let (mut span_mm, mut area_mm2) = (0.0_f64, 0.0);
        for c in &cut.chords {
            if c.bridged() {
                span_mm = span_mm.max(c.length());
                area_mm2 += c.length() * c.width;
            } else if c.ledge() && c.length() > out.ledge_mm {
                for share in ALONG_LEDGE {
                    let p = cut.out_from_hold(c, share);
                    out.ledge_mm = out.ledge_mm.max(lower.distance(p, c.length()));
                }
            }
        }
        if span_mm > 0.0 {
            let direction_deg = cut.direction_rad.to_degrees();
            out.bridges.push(Bridge {
                z_mm,
                span_mm,
                area_mm2,
                direction_deg,
                around_hole,
                across,
            });
            let (limit, slack) = (self.bridge_limit_mm, self.slack_mm());
            out.fields.extend(Field::new(cut, [0.0, limit], slack));
            out.wide
                .extend(Field::new(cut, [limit, WIDE * limit], slack));
        }
    }

    /// Tells what is held the short way, and what of it bridges within the limit that way.
    pub(super) fn tell_across(
        &self,
        cutter: &mut Cutter,
        (ways, bridged, hole): (Ways, bool, Option<CeilingHole>),
        z_mm: f64,
        out: &mut LayerSpans,
    ) {
        // A layer across the hole holds the ring round it, which is told for that.
        if hole.is_none_or(|h| h.closed_span_mm > self.bridge_limit_mm) {
            out.reach_mm = out.reach_mm.max(ways.reach_mm);
        }
        let lone = ways.groove.filter(|_| !bridged);
        if let Some(Across { mm, direction_deg }) = lone {
            out.grooves.push(Bridge {
                z_mm,
                span_mm: mm,
                direction_deg,
                ..Bridge::default()
            });
        }
        let held = [ways.groove, ways.bridge].into_iter().flatten();
        let within = |a: &Across| a.mm > 0.0 && a.mm <= self.bridge_limit_mm;
        for Across { direction_deg, .. } in held.filter(within) {
            let cut = cutter.along(direction_deg.to_radians());
            let lengths = [0.0, self.bridge_limit_mm];
            out.across
                .extend(Field::new(&cut, lengths, self.slack_mm()));
        }
    }

    /// How far a point may lie off a bridge that carries it, mm.
    fn slack_mm(&self) -> f64 {
        0.1 * self.line_mm
    }
}
