//! The part of a plane round a fault, to a scale that is said, with its dimensions.
//!
//! Holes are drawn at their diameter. What a dimension says is handed in; only
//! where its arrows stand is found here. Places are the plan's: a hole that
//! was drilled elsewhere is shown where it was to be, and the words of the
//! dimension say what was measured.

use faying_plan::{HoleId, PieceId, Plan, PlaneId, Side};

use crate::foot::scale_bar;
use crate::marks::{Anchor, Drawing, Fill, Group, Mark, PX_PER_INCH, Role, Shape, Stroke, Text};
use crate::outline::{Window, edges};
use crate::plane::{PlaneOptions, Scale, Sheet, Strip, View};
use crate::room::Bounds;
use crate::symbol::{HoleLook, HoleState};
use crate::text::{CAPITAL, width, wrap_tight};

/// The part of a plane round a fault.
#[derive(Clone)]
pub struct CutOut<'q> {
    /// The plan.
    pub plan: &'q Plan,
    /// The plane.
    pub plane: PlaneId,
    /// The side in view.
    pub side: Side,
    /// The holes with the fault.
    pub faulty: Vec<HoleId>,
    /// How each hole is drawn.
    pub hole: &'q dyn Fn(HoleId) -> CutHole,
    /// Pieces that are not there yet.
    pub later: Vec<PieceId>,
    /// What is dimensioned, the most telling first.
    pub dimensions: Vec<Dimension>,
}

/// How one hole is drawn.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct CutHole {
    /// Its diameter, in; none is drawn as a cross only.
    pub diameter_in: Option<f64>,
    /// Whether a fastener is in it.
    pub set: bool,
}

/// A distance from a hole's centre.
#[derive(Clone, Debug, PartialEq)]
pub struct Dimension {
    /// The hole.
    pub from: HoleId,
    /// To where.
    pub to: End,
    /// As drawn in the plan, with its unit: ".250 in"; may be empty.
    pub planned: String,
    /// As measured, with its unit: ".172 in"; may be empty.
    pub there: String,
}

/// Where a dimension ends.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum End {
    /// The nearest edge of a piece, cut-outs as well.
    Edge(PieceId),
    /// The centre of another hole.
    Hole(HoleId),
    /// A place, in, as seen from the near side: on a bend, say.
    At([f64; 2]),
}

/// Scales in turn and their names, paper to part: a rule shows each of them without reckoning.
const SCALES: [(f64, &str); 8] = [
    (2.0, "2:1"),
    (1.0, "1:1"),
    (0.5, "1:2"),
    (0.25, "1:4"),
    (0.125, "1:8"),
    (0.0625, "1:16"),
    (0.03125, "1:32"),
    (0.015625, "1:64"),
];
/// Kept clear round what must be seen, px: a ring, a name.
const ROUND: f64 = 30.0;
/// Kept clear above and below, px; more where a dimension lies there.
const ABOVE: [f64; 2] = [24.0, 40.0];
/// From this scale on every hole is named; below it only what is spoken of.
const NAMED_FROM: f64 = 0.5;
/// The part's edge is not drawn further inside the frame than this, px.
const OUTSIDE: f64 = 64.0;
/// Names of holes, px.
const NAME: f64 = 9.5;
/// Words of a dimension and below the frame, px.
const WORDS: f64 = 10.0;
/// Length and half width of an arrowhead, px.
const ARROW: [f64; 2] = [7.5, 2.4];
/// A dimension shorter than this has its arrows outside, px.
const SHORT: f64 = 20.0;
/// Half the cross of a hole without a diameter, px.
const BARE: f64 = 5.0;
/// Least radius of a hole, px: a smaller one is not seen.
const LEAST_RADIUS: f64 = 2.0;
/// A hole with the fault has a ring this far outside of it, px; narrower where there are many.
const RING: [f64; 2] = [5.0, 2.6];
/// So many faults have narrow rings, and only the ends of the run are named.
const MANY: usize = 4;
/// Under this radius a hole has no cross, px: it would be a blot.
const LEAST_CROSS: f64 = 4.0;
/// Dimensions drawn at most: more hide what they measure.
const MOST: usize = 6;

impl CutOut<'_> {
    /// Whether any of the holes has a place.
    pub(super) fn is_drawn(&self) -> bool {
        self.faulty.iter().any(|&hole| self.plan[hole].at.is_some())
    }

    /// The drawing in a width and a height at most, px; of the width given.
    pub(super) fn drawing(&self, [wide, most_high]: [f64; 2]) -> Drawing {
        let options = PlaneOptions {
            key: "question-plane".to_owned(),
            scale: Scale::OneTo(0.5),
            later: self.later.clone(),
            ..PlaneOptions::default()
        };
        let look = |_| HoleLook::plain(HoleState::ToDo);
        let view = View::new(self.plan, self.plane, self.side, &look, &options);
        let focus = self.focus(view.flip);
        let bar_room = 0.2 * wide;
        let frame = [wide - 2.0, most_high - 30.0];
        let lies = self
            .dimensions
            .iter()
            .take(MOST)
            .filter_map(|it| self.ends(it, view.flip))
            .any(|[a, b]| (a[0] - b[0]).abs() > (a[1] - b[1]).abs());
        let above = ABOVE[usize::from(lies)];
        let fits = |scale: f64| {
            let px = scale * PX_PER_INCH;
            (focus[2] - focus[0]) * px + 2.0 * ROUND <= frame[0]
                && (focus[3] - focus[1]) * px + 2.0 * above <= frame[1]
        };
        let (scale, name) =
            SCALES.into_iter().find(|(scale, _)| fits(*scale)).unwrap_or(SCALES[SCALES.len() - 1]);
        let px = scale * PX_PER_INCH;
        let extent = view.extent().unwrap_or(focus);
        let outside = OUTSIDE / px;
        // A narrow part needs no high frame.
        let high = frame[1].min((extent[3] - extent[1]) * px + 2.0 * OUTSIDE);
        let window = window(focus, extent, [frame[0] / px, high / px], outside);
        let strip = Strip { window, origin: [1.0, 1.0], scale: px, radius: 0.0, goes_on: [true; 4] };
        let inner: Bounds = [4.0, 4.0, wide - 4.0, high - 2.0];
        let mut sheet = Sheet::new(&view);
        sheet.full_width = wide;
        sheet.frame = Some(inner);
        sheet.fills(&strip);
        sheet.outlines(&strip);
        sheet.bends(&strip);
        let inside = |[x, y]: [f64; 2]| window[0] <= x && x <= window[2] && window[1] <= y && y <= window[3];
        let holes: Vec<(HoleId, [f64; 2])> = view
            .holes
            .iter()
            .map(|seen| (seen.hole, strip.px(seen.at)))
            // Half a hole on the frame tells nothing.
            .filter(|&(hole, [x, y])| {
                let reach = self.reach(hole, px);
                inner[0] + reach <= x
                    && x <= inner[2] - reach
                    && inner[1] + reach <= y
                    && y <= inner[3] - reach
            })
            .collect();
        for &(hole, [x, y]) in &holes {
            let reach = self.reach(hole, px);
            sheet.taken.add([x - reach, y - reach, x + reach, y + reach]);
        }
        let mut drawn = Vec::new();
        let mut said = Vec::new();
        for (index, dimension) in self.dimensions.iter().enumerate() {
            let ends = self.ends(dimension, view.flip);
            let there = ends.filter(|ends| index < MOST && ends.iter().all(|end| inside(*end)));
            let marks = there.and_then(|ends| {
                let reach = [self.reach(dimension.from, px), self.end_reach(dimension, px)];
                self.dimension(&mut sheet, dimension, ends.map(|end| strip.px(end)), reach, inner)
            });
            match marks {
                Some(marks) => drawn.extend(marks),
                // Not lost: it is said below where it cannot be drawn.
                None => said.push(self.in_words(dimension)),
            }
        }
        let names = self.names(&mut sheet, &strip, &holes, px);
        let parts = sheet.part_labels(&strip);
        let mut marks = sheet.marks;
        marks.extend(parts.into_iter().map(Mark::Text));
        for &(hole, centre) in &holes {
            marks.push(self.hole(hole, centre, px));
        }
        marks.extend(drawn);
        marks.extend(names.into_iter().map(Mark::Text));
        marks.push(Mark::line(Shape::rectangle(1.0, 1.0, wide - 2.0, high), Stroke::solid(Role::Ink, 0.8)));
        let mut y = high + 14.0;
        let bar = scale_bar(&mut marks, [1.0, y], px, bar_room, faying_standards::Unit::Inch) + 14.0;
        let side = self.plan[self.plane].side_name(self.side);
        let mut words =
            vec![format!("Scale {name} printed at 100 %, {side} side in view, places as planned.")];
        words.extend(self.legend(&holes).into_iter().map(str::to_owned));
        words.extend(said);
        for line in wrap_tight(&words.join(" "), WORDS, wide - bar) {
            marks.push(Mark::Text(Text::new([bar, y], WORDS, line)));
            y += WORDS * 1.25;
        }
        y -= WORDS * 1.25 - 4.0;
        Drawing {
            key: options.key.clone(),
            width: wide,
            height: y,
            title: "The part round the fault".to_owned(),
            description: format!("{} holes, {} with the fault.", holes.len(), self.faulty.len()),
            marks,
        }
    }

    fn is_faulty(&self, hole: HoleId) -> bool {
        self.faulty.contains(&hole)
    }

    fn seen(&self, hole: HoleId, flip: bool) -> Option<[f64; 2]> {
        self.plan[hole].at.map(|at| turned(at.inches(), flip))
    }

    /// The box of what must be seen, in.
    fn focus(&self, flip: bool) -> Window {
        let faulty = self.faulty.iter().filter_map(|&hole| self.seen(hole, flip));
        let ends = self.dimensions.iter().take(MOST).filter_map(|it| self.ends(it, flip)).flatten();
        let mut focus: Option<Window> = None;
        for [x, y] in faulty.chain(ends) {
            let [a, b, c, d] = focus.unwrap_or([x, y, x, y]);
            focus = Some([a.min(x), b.min(y), c.max(x), d.max(y)]);
        }
        focus.unwrap_or([0.0; 4])
    }

    /// Both ends of a dimension, in; none where one has no place.
    fn ends(&self, dimension: &Dimension, flip: bool) -> Option<[[f64; 2]; 2]> {
        let from = self.plan[dimension.from].at?.inches();
        let to = match dimension.to {
            End::Hole(hole) => self.plan[hole].at?.inches(),
            End::At(at) => at,
            End::Edge(piece) => self.nearest(piece, from)?,
        };
        Some([turned(from, flip), turned(to, flip)])
    }

    /// The nearest point of a piece's edge, in.
    fn nearest(&self, piece: PieceId, from: [f64; 2]) -> Option<[f64; 2]> {
        let layers = self.plan[self.plane].layers.iter().filter(|layer| layer.piece == piece);
        let rings = layers.flat_map(|layer| layer.outline.iter().chain(&layer.cuts));
        let mut best: Option<(f64, [f64; 2])> = None;
        for ring in rings {
            // A drawn thousandth is thinner than any line.
            for (a, b) in edges(&ring.flattened(0.001)) {
                let along = [b[0] - a[0], b[1] - a[1]];
                let square = along[0] * along[0] + along[1] * along[1];
                let t = ((from[0] - a[0]) * along[0] + (from[1] - a[1]) * along[1]) / square.max(1e-12);
                let t = t.clamp(0.0, 1.0);
                let at = [a[0] + t * along[0], a[1] + t * along[1]];
                let distance = (at[0] - from[0]).hypot(at[1] - from[1]);
                if best.is_none_or(|(least, _)| distance < least) {
                    best = Some((distance, at));
                }
            }
        }
        best.map(|(_, at)| at)
    }

    /// Whether a dimension goes to it.
    fn is_spoken_of(&self, hole: HoleId) -> bool {
        self.dimensions.iter().any(|it| it.from == hole || it.to == End::Hole(hole))
    }

    fn radius(&self, hole: HoleId, px: f64) -> Option<f64> {
        (self.hole)(hole).diameter_in.map(|inches| (inches / 2.0 * px).max(LEAST_RADIUS))
    }

    fn reach(&self, hole: HoleId, px: f64) -> f64 {
        let body = self.radius(hole, px).unwrap_or(BARE);
        if self.is_faulty(hole) { body + self.ring() + 1.5 } else { body + 1.0 }
    }

    fn ring(&self) -> f64 {
        RING[usize::from(self.faulty.len() >= MANY)]
    }

    fn end_reach(&self, dimension: &Dimension, px: f64) -> f64 {
        match dimension.to {
            End::Hole(hole) => self.reach(hole, px),
            End::Edge(_) | End::At(_) => 1.0,
        }
    }

    fn short_name(&self, hole: HoleId) -> String {
        let row = &self.plan[self.plan[hole].row].name;
        format!("{row} {}", self.plan[hole].number)
    }

    fn hole(&self, hole: HoleId, centre: [f64; 2], px: f64) -> Mark {
        let look = (self.hole)(hole);
        let [x, y] = centre;
        let ink = |width| Some(Stroke::solid(Role::Ink, width));
        let mut marks = Vec::new();
        if let Some(radius) = self.radius(hole, px) {
            let fill = if look.set { Role::Ink } else { Role::Paper };
            marks.push(Mark::Circle { centre, radius, fill: Some(Fill::Flat(fill)), stroke: ink(1.0) });
        }
        let (body, faulty) = (self.radius(hole, px), self.is_faulty(hole));
        let inner = body.unwrap_or(0.0);
        let arm = match body {
            None => BARE,
            Some(radius) if faulty => radius + self.ring() + 4.0,
            Some(radius) => radius + 2.5,
        };
        if inner >= LEAST_CROSS || body.is_none() {
            // Light on a filled hole, so that its centre is seen.
            let within = Stroke::solid(if look.set { Role::Paper } else { Role::Ink }, 0.7);
            let (mut light, mut outer) = (Shape::default(), Shape::default());
            for [dx, dy] in [[1.0, 0.0], [-1.0, 0.0], [0.0, 1.0], [0.0, -1.0]] {
                light.run(&[[x, y], [x + dx * inner, y + dy * inner]]);
                outer.run(&[[x + dx * inner, y + dy * inner], [x + dx * arm, y + dy * arm]]);
            }
            if body.is_some() {
                marks.push(Mark::line(light, within));
            }
            marks.push(Mark::line(outer, Stroke::solid(Role::Ink, 0.7)));
        }
        if faulty {
            let radius = body.unwrap_or(BARE) + self.ring();
            marks.push(Mark::Circle { centre, radius, fill: None, stroke: ink(2.0) });
        }
        Mark::Group(Group {
            data: vec![("hole", self.plan.hole_name(hole))],
            title: Some(self.short_name(hole)),
            marks,
            ..Group::default()
        })
    }

    /// Names of the holes with the fault, whatever is in the way; of the others where there is room.
    fn names(
        &self,
        sheet: &mut Sheet<'_, '_>,
        strip: &Strip,
        holes: &[(HoleId, [f64; 2])],
        px: f64,
    ) -> Vec<Text> {
        let ways: [[f64; 2]; 8] = [-45.0, -135.0, 45.0, 135.0, -90.0, 90.0, 0.0, 180.0]
            .map(|degrees: f64| [degrees.to_radians().cos(), degrees.to_radians().sin()]);
        let mut names = Vec::new();
        for faulty in [true, false] {
            for &(hole, centre) in holes.iter().filter(|(hole, _)| self.is_faulty(*hole) == faulty) {
                let ends = [self.faulty.first(), self.faulty.last()];
                let told = match faulty {
                    true => self.faulty.len() < MANY || ends.contains(&Some(&hole)),
                    false => px >= NAMED_FROM * PX_PER_INCH,
                };
                if !told && !self.is_spoken_of(hole) {
                    continue;
                }
                let size = if faulty { NAME + 2.5 } else { NAME };
                let mut text = Text::new(centre, size, self.short_name(hole));
                text.bold = faulty;
                let reach = self.reach(hole, px);
                let placed = sheet.place(strip, &text, centre, &ways, reach, 1.5);
                // In a crowded run a name may be missing; a lone fault's may not.
                let forced = (faulty && self.faulty.len() < MANY).then(|| {
                    let at = [centre[0], centre[1] - reach - 2.0];
                    Text { at, ..text }.anchored(Anchor::Middle).rimmed()
                });
                names.extend(placed.or(forced));
            }
        }
        names
    }

    fn legend(&self, holes: &[(HoleId, [f64; 2])]) -> Vec<&'static str> {
        let mut words = Vec::new();
        if holes.iter().any(|(hole, _)| self.is_faulty(*hole)) {
            words.push("Ringed: the fault.");
        }
        let set = holes.iter().filter(|(hole, _)| (self.hole)(*hole).set).count();
        if set > 0 {
            words.push("Black: fastener set.");
        }
        if holes.iter().any(|(hole, _)| (self.hole)(*hole).diameter_in.is_none()) {
            words.push("Cross: size not known.");
        }
        words
    }

    fn in_words(&self, dimension: &Dimension) -> String {
        let to = match dimension.to {
            End::Edge(piece) => format!("edge of {}", self.plan.piece_name(piece)),
            End::Hole(hole) => self.short_name(hole),
            End::At(_) => "line".to_owned(),
        };
        let words: Vec<String> = said(dimension).into_iter().map(|(words, _)| words).collect();
        format!("{} to {to}: {}.", self.short_name(dimension.from), words.join(", "))
    }

    /// Extension lines, dimension line, arrowheads and words, where they fall on nothing; none where they would.
    fn dimension(
        &self,
        sheet: &mut Sheet<'_, '_>,
        dimension: &Dimension,
        [from, to]: [[f64; 2]; 2],
        reach: [f64; 2],
        inner: Bounds,
    ) -> Option<Vec<Mark>> {
        let along = [to[0] - from[0], to[1] - from[1]];
        let length = along[0].hypot(along[1]);
        let words = said(dimension);
        if length < 1.0 || words.is_empty() {
            return None;
        }
        let unit = along.map(|v| v / length);
        let wide = words.iter().map(|(words, _)| width(words, WORDS)).fold(0.0, f64::max);
        let step = WORDS * 1.2;
        let high = CAPITAL * WORDS + step * (words.len() - 1) as f64;
        let least = reach[0].max(reach[1]) + 9.0;
        let offsets = [0.0, 14.0, 28.0, 42.0, 60.0, 80.0].map(|more| least + more);
        let run = if length < SHORT { 15.0 } else { 0.0 };
        for clear in [true, false] {
            for offset in offsets {
                for sign in [1.0, -1.0] {
                    let across = [-unit[1] * sign, unit[0] * sign];
                    let shifted = |[x, y]: [f64; 2], by: f64| [x + across[0] * by, y + across[1] * by];
                    let (a, b) = (shifted(from, offset), shifted(to, offset));
                    let half = |way: [f64; 2]| way[0].abs() * wide / 2.0 + way[1].abs() * high / 2.0;
                    let middle = [f64::midpoint(a[0], b[0]), f64::midpoint(a[1], b[1])];
                    let beyond = |[x, y]: [f64; 2], sense: f64| {
                        let off = run + 6.0 + half(unit);
                        [x + unit[0] * sense * off, y + unit[1] * sense * off]
                    };
                    let outward = shifted(middle, 5.0 + half(across));
                    for centre in [outward, beyond(b, 1.0), beyond(a, -1.0)] {
                        let texts = lines(&words, centre, high, step);
                        let boxed: Bounds = [
                            centre[0] - wide / 2.0 - 2.0,
                            centre[1] - high / 2.0 - 2.0,
                            centre[0] + wide / 2.0 + 2.0,
                            centre[1] + high / 2.0 + 3.0,
                        ];
                        let within = boxed[0] >= inner[0]
                            && boxed[1] >= inner[1]
                            && boxed[2] <= inner[2]
                            && boxed[3] <= inner[3];
                        let ends = [
                            [a[0] - unit[0] * run, a[1] - unit[1] * run],
                            [b[0] + unit[0] * run, b[1] + unit[1] * run],
                        ];
                        let line_within = ends.iter().all(|[x, y]| {
                            *x >= inner[0] && *x <= inner[2] && *y >= inner[1] && *y <= inner[3]
                        });
                        let free = sheet.taken.free(boxed)
                            && (!clear || sheet.lines.free(boxed))
                            && is_free(sheet, ends[0], ends[1]);
                        if !(within && line_within && free) {
                            continue;
                        }
                        sheet.taken.add(boxed);
                        sheet.taken.add_line(ends[0], ends[1]);
                        let mut marks = Vec::new();
                        let thin = Stroke::solid(Role::Ink, 0.6);
                        for (end, reach) in [from, to].into_iter().zip(reach) {
                            let start = shifted(end, (reach + 1.5).min(offset));
                            let stop = shifted(end, offset + 4.0);
                            marks.push(Mark::straight(start, stop, thin));
                            sheet.taken.add_line(start, stop);
                        }
                        let line = Stroke::solid(Role::Ink, 0.9);
                        if run > 0.0 {
                            marks.push(Mark::straight(ends[0], a, line));
                            marks.push(Mark::straight(b, ends[1], line));
                        } else {
                            marks.push(Mark::straight(a, b, line));
                        }
                        let sense = if run > 0.0 { 1.0 } else { -1.0 };
                        marks.push(arrow(a, unit.map(|v| v * sense)));
                        marks.push(arrow(b, unit.map(|v| -v * sense)));
                        marks.extend(texts.into_iter().map(|text| Mark::Text(text.rimmed())));
                        return Some(marks);
                    }
                }
            }
        }
        None
    }
}

/// What a dimension says, line by line, and whether it is heavy.
fn said(dimension: &Dimension) -> Vec<(String, bool)> {
    let mut words = Vec::new();
    if !dimension.there.is_empty() {
        words.push((format!("there {}", dimension.there), true));
    }
    if !dimension.planned.is_empty() {
        words.push((format!("planned {}", dimension.planned), false));
    }
    words
}

fn lines(words: &[(String, bool)], centre: [f64; 2], high: f64, step: f64) -> Vec<Text> {
    words
        .iter()
        .enumerate()
        .map(|(index, (words, bold))| {
            let base = centre[1] - high / 2.0 + CAPITAL * WORDS + step * index as f64;
            let mut text = Text::new([centre[0], base], WORDS, words.clone()).anchored(Anchor::Middle);
            text.bold = *bold;
            text
        })
        .collect()
}

/// Whether a line crosses no hole, word or other dimension.
fn is_free(sheet: &Sheet<'_, '_>, from: [f64; 2], to: [f64; 2]) -> bool {
    let length = (to[0] - from[0]).hypot(to[1] - from[1]);
    let steps = (length / 4.0).ceil().max(1.0) as u32;
    (0..=steps).all(|step| {
        let t = f64::from(step) / f64::from(steps);
        let [x, y] = [from[0] + t * (to[0] - from[0]), from[1] + t * (to[1] - from[1])];
        sheet.taken.free([x - 2.0, y - 2.0, x + 2.0, y + 2.0])
    })
}

/// An arrowhead with its tip at a point.
fn arrow([x, y]: [f64; 2], points: [f64; 2]) -> Mark {
    let [long, half] = ARROW;
    let back = [x - points[0] * long, y - points[1] * long];
    let side = [-points[1] * half, points[0] * half];
    let tip = Shape::closed(&[
        [x, y],
        [back[0] + side[0], back[1] + side[1]],
        [back[0] - side[0], back[1] - side[1]],
    ]);
    Mark::area(tip, Fill::Flat(Role::Ink), None)
}

fn turned([x, y]: [f64; 2], flip: bool) -> [f64; 2] {
    if flip { [-x, y] } else { [x, y] }
}

/// What the frame shows, in: the focus in its middle, moved so that it does not show mostly paper.
fn window(focus: Window, extent: Window, size: [f64; 2], outside: f64) -> Window {
    let low = [0, 1].map(|axis| {
        let middle = f64::midpoint(focus[axis], focus[axis + 2]);
        let (least, most) = (extent[axis] - outside, extent[axis + 2] + outside - size[axis]);
        if least < most {
            (middle - size[axis] / 2.0).clamp(least, most)
        } else {
            f64::midpoint(extent[axis], extent[axis + 2]) - size[axis] / 2.0
        }
    });
    [low[0], low[1], low[0] + size[0], low[1] + size[1]]
}
