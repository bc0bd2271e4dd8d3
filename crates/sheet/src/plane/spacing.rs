//! Holes that are under a rule of spacing, and the distances that are.
//!
//! A ring tells that a hole is under a rule, a dimension which distance: both
//! unbroken for the rule that rules the build, dashed for another one. At the
//! scale of a skin a hole's symbol is larger than its edge distance, so a
//! dimension stands beside the hole with its arrows outside, or is told at the
//! end of a leader. What finds no room is left to the table below the drawing.

use faying_plan::HoleId;

use super::{HoleState, Seen, Sheet, Strip, turn};
use crate::foot::Entry;
use crate::marks::{Anchor, Dash, Fill, Group, Mark, Role, Shape, Stroke, Text};
use crate::room::Bounds;
use crate::symbol::HoleLook;
use crate::text::{CAPITAL, width};

/// A hole that is under a rule of spacing.
#[derive(Clone, Debug, PartialEq)]
pub struct SpacingMark {
    /// Which hole.
    pub hole: HoleId,
    /// Whether it is under the rule that rules the build, and not only under another one.
    pub ruling: bool,
    /// The distances that are drawn; none where the ring must do.
    pub dimensions: Vec<SpacingDimension>,
}

/// A distance of a hole.
#[derive(Clone, Debug, PartialEq)]
pub struct SpacingDimension {
    /// Whether it is under the rule that rules the build.
    pub ruling: bool,
    /// Where it ends, in, as seen from the near side; none where it is no distance in the plane.
    pub to: Option<[f64; 2]>,
    /// What it says: "A-7: .190 in, 1.52 d".
    pub words: String,
}

/// Words of a dimension, px.
const WORDS: f64 = 10.5;
/// Length and half width of an arrowhead, px.
const ARROW: [f64; 2] = [7.0, 2.4];
/// A dimension shorter than this has its arrows outside, px.
const SHORT: f64 = 20.0;
/// How far an outside arrow's line runs on, px.
const RUN: f64 = 14.0;
/// The ring, as a multiple of a hole's radius: rings of neighbours just do not touch.
const RING: f64 = 1.36;

/// The ring's stroke around a hole of a radius in px.
fn ring_stroke(ruling: bool, radius: f64) -> Stroke {
    line(ruling, (0.2 * radius).clamp(1.0, 1.8))
}

fn line(ruling: bool, width: f64) -> Stroke {
    if ruling {
        Stroke::solid(Role::Warn, width)
    } else {
        Stroke::solid(Role::Ink, width).dashed(Dash::Hidden)
    }
}

fn ring(centre: [f64; 2], ruling: bool, radius: f64) -> Mark {
    Mark::Circle { centre, radius: RING * radius, fill: None, stroke: Some(ring_stroke(ruling, radius)) }
}

/// How far a ring reaches from its hole's centre, px.
pub(super) fn ring_reach(radius: f64) -> f64 {
    RING * radius + 1.0
}

/// The two kinds of ring with their lines, where they are shown.
pub(super) fn entries(marks: &[SpacingMark], radius: f64) -> Vec<Entry> {
    let kinds = [(true, "under the rule that rules this build"), (false, "under another rule only")];
    kinds
        .into_iter()
        .filter(|(ruling, _)| marks.iter().any(|mark| mark.ruling == *ruling))
        .map(|(ruling, words)| Entry {
            symbol: Box::new(move |[x, y]| {
                let mut marks = HoleLook::plain(HoleState::ToDo).marks([x - 10.0, y], radius);
                marks.push(ring([x - 10.0, y], ruling, radius));
                let reach = ring_reach(radius);
                marks.push(Mark::straight([x - 8.0 + reach, y], [x + 12.0 + reach, y], line(ruling, 1.2)));
                marks
            }),
            half: 12.0 + ring_reach(radius),
            head: 0.0,
            words: words.to_owned(),
        })
        .collect()
}

impl Sheet<'_, '_> {
    /// Rings and dimensions of one strip, the first of the list first: they find more room.
    pub(super) fn spacing(&mut self, strip: &Strip) -> Vec<Mark> {
        let view = self.view;
        let there: std::collections::HashMap<HoleId, Seen> =
            self.seen_in(strip).into_iter().map(|seen| (seen.hole, seen)).collect();
        let mut drawn = Vec::new();
        for mark in &view.options.spacing {
            let Some(seen) = there.get(&mark.hole) else { continue };
            let centre = strip.px(seen.at);
            drawn.push(ring(centre, mark.ruling, strip.radius));
        }
        for mark in &view.options.spacing {
            let Some(seen) = there.get(&mark.hole) else { continue };
            let (centre, reach) = (strip.px(seen.at), self.reach(seen, strip));
            for dimension in &mark.dimensions {
                let end = dimension.to.map(|[x, y]| strip.px(if view.flip { [-x, y] } else { [x, y] }));
                // Words clear of every outline if they can be; on one they have a rim.
                let marks = [true, false].into_iter().find_map(|clear| {
                    let beside =
                        end.and_then(|end| self.dimension(strip, dimension, [centre, end], reach, clear));
                    beside.or_else(|| {
                        self.leader(strip, dimension, [centre, end.unwrap_or(centre)], reach, clear)
                    })
                });
                if let Some(marks) = marks {
                    drawn.push(Mark::Group(Group {
                        data: vec![("spacing", view.plan.hole_name(mark.hole))],
                        title: Some(dimension.words.clone()),
                        marks,
                        ..Group::default()
                    }));
                }
            }
        }
        drawn
    }

    /// Extension lines, arrows and words beside the hole, where they fall on nothing.
    fn dimension(
        &mut self,
        strip: &Strip,
        dimension: &SpacingDimension,
        [from, to]: [[f64; 2]; 2],
        reach: f64,
        clear: bool,
    ) -> Option<Vec<Mark>> {
        let along = [to[0] - from[0], to[1] - from[1]];
        let length = along[0].hypot(along[1]);
        if length < 1.0 {
            return None;
        }
        let unit = along.map(|v| v / length);
        let band = strip.band(self.full_width);
        let run = if length < SHORT { RUN } else { 0.0 };
        let (wide, high) = (width(&dimension.words, WORDS), CAPITAL * WORDS);
        for offset in [5.0, 12.0, 20.0, 32.0].map(|more| reach + more) {
            for sign in [1.0, -1.0] {
                let across = [-unit[1] * sign, unit[0] * sign];
                let shifted = |[x, y]: [f64; 2], by: f64| [x + across[0] * by, y + across[1] * by];
                let (a, b) = (shifted(from, offset), shifted(to, offset));
                let ends = [
                    [a[0] - unit[0] * run, a[1] - unit[1] * run],
                    [b[0] + unit[0] * run, b[1] + unit[1] * run],
                ];
                if !ends.iter().all(|&end| within(end, band)) || !self.clear(ends[0], ends[1]) {
                    continue;
                }
                let half = |way: [f64; 2]| way[0].abs() * wide / 2.0 + way[1].abs() * high / 2.0;
                let middle = [f64::midpoint(a[0], b[0]), f64::midpoint(a[1], b[1])];
                let beyond = |[x, y]: [f64; 2], sense: f64| {
                    let off = 5.0 + half(unit);
                    [x + unit[0] * sense * off, y + unit[1] * sense * off]
                };
                for centre in
                    [shifted(middle, 5.0 + half(across)), beyond(ends[1], 1.0), beyond(ends[0], -1.0)]
                {
                    let Some(text) = self.words(dimension, centre, band, clear) else { continue };
                    self.taken.add_line(ends[0], ends[1]);
                    let mut marks = Vec::new();
                    for (end, reach) in [(from, reach), (to, 1.5)] {
                        marks.push(Mark::straight(
                            shifted(end, reach.min(offset)),
                            shifted(end, offset + 3.5),
                            Stroke::solid(Role::Ink, 0.6),
                        ));
                    }
                    let stroke = line(dimension.ruling, 1.2);
                    let spans = if run > 0.0 { vec![[ends[0], a], [b, ends[1]]] } else { vec![[a, b]] };
                    marks.extend(spans.into_iter().map(|[a, b]| Mark::straight(a, b, stroke)));
                    let sense = if run > 0.0 { 1.0 } else { -1.0 };
                    marks.push(arrow(a, unit.map(|v| v * sense), stroke.role));
                    marks.push(arrow(b, unit.map(|v| -v * sense), stroke.role));
                    marks.push(Mark::Text(text));
                    return Some(marks);
                }
            }
        }
        None
    }

    /// Words at the end of a line to the hole, where a dimension has no room.
    fn leader(
        &mut self,
        strip: &Strip,
        dimension: &SpacingDimension,
        [centre, end]: [[f64; 2]; 2],
        reach: f64,
        clear: bool,
    ) -> Option<Vec<Mark>> {
        let band = strip.band(self.full_width);
        let towards = [end[0] - centre[0], end[1] - centre[1]];
        let length = towards[0].hypot(towards[1]);
        let unit = if length < 0.1 { [0.0, -1.0] } else { towards.map(|v| v / length) };
        let (wide, high) = (width(&dimension.words, WORDS), CAPITAL * WORDS);
        for long in [8.0, 16.0, 28.0, 44.0, 64.0, 90.0] {
            for degrees in [0.0, 35.0, -35.0, 65.0, -65.0, 90.0, -90.0, 180.0, 140.0, -140.0] {
                let way = turn(unit, degrees);
                let at = |by: f64| [centre[0] + way[0] * by, centre[1] + way[1] * by];
                let (start, stop) = (at(reach + 1.0), at(reach + long));
                if !within(stop, band) || !self.clear(at(reach + 3.5), stop) {
                    continue;
                }
                let off = reach + long + 3.0 + way[0].abs() * wide / 2.0 + way[1].abs() * high / 2.0;
                let Some(text) = self.words(dimension, at(off), band, clear) else { continue };
                self.taken.add_line(start, stop);
                let stroke = line(dimension.ruling, 1.2);
                let mut marks = vec![
                    Mark::straight(stop, at(reach + 1.0 + ARROW[0] * 0.8), Stroke::solid(stroke.role, 0.8)),
                    arrow(start, way.map(|v| -v), stroke.role),
                    Mark::Text(text),
                ];
                // The distance itself, where it leaves the symbol.
                if length > reach + 1.0 {
                    let from = [centre[0] + unit[0] * reach, centre[1] + unit[1] * reach];
                    marks.push(Mark::straight(from, end, stroke));
                }
                return Some(marks);
            }
        }
        None
    }

    /// The words centred on a point, if their room is free; then it is taken.
    fn words(
        &mut self,
        dimension: &SpacingDimension,
        [x, y]: [f64; 2],
        band: Bounds,
        clear: bool,
    ) -> Option<Text> {
        let (wide, high) = (width(&dimension.words, WORDS), CAPITAL * WORDS);
        let boxed = [x - wide / 2.0 - 2.0, y - high / 2.0 - 2.0, x + wide / 2.0 + 2.0, y + high / 2.0 + 3.0];
        let inside = within([boxed[0], boxed[1]], band) && within([boxed[2], boxed[3]], band);
        (inside && self.taken.free(boxed) && (!clear || self.lines.free(boxed))).then(|| {
            self.taken.add(boxed);
            let text =
                Text::new([x, y + high / 2.0], WORDS, dimension.words.clone()).anchored(Anchor::Middle);
            if dimension.ruling { text.heavy().rimmed() } else { text.rimmed() }
        })
    }

    /// Whether a line crosses no hole, word or other dimension.
    fn clear(&self, from: [f64; 2], to: [f64; 2]) -> bool {
        let length = (to[0] - from[0]).hypot(to[1] - from[1]);
        let steps = (length / 4.0).ceil().max(1.0) as u32;
        (0..=steps).all(|step| {
            let t = f64::from(step) / f64::from(steps);
            let [x, y] = [from[0] + t * (to[0] - from[0]), from[1] + t * (to[1] - from[1])];
            self.taken.free([x - 1.5, y - 1.5, x + 1.5, y + 1.5])
        })
    }
}

fn within([x, y]: [f64; 2], [left, top, right, bottom]: Bounds) -> bool {
    left <= x && x <= right && top <= y && y <= bottom
}

/// An arrowhead with its tip at a point.
fn arrow([x, y]: [f64; 2], points: [f64; 2], role: Role) -> Mark {
    let [long, half] = ARROW;
    let back = [x - points[0] * long, y - points[1] * long];
    let side = [-points[1] * half, points[0] * half];
    let tip = [[x, y], [back[0] + side[0], back[1] + side[1]], [back[0] - side[0], back[1] - side[1]]];
    Mark::area(Shape::closed(&tip), Fill::Flat(role), None)
}
