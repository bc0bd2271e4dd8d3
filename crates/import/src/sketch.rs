//! A sketch of a plane: what a drawing gives towards a plan.
//!
//! Circles become holes in rows, or cut-outs where they are too large for a
//! fastener; closed loops become the part's outline, and cut-outs inside it;
//! straight bend lines become bends, and so do centre lines that no hole lies on.
//! Everything else is listed as left, with the reason. The builder names the
//! sides, the part and the rivets: a drawing does not know them.
//!
//! Limits here are our own values, stated beside their names; no figure of the
//! trade is used but the hole sizes of `standards/`.

mod rows;
mod suits;
mod text;

use std::collections::HashMap;
use std::sync::Arc;

use faying_standards::Finding;
use serde::Serialize;

use crate::dxf::{Bend, Circle, Corner, Drawing, DrawingUnits, Drawn, Left, Outline};

pub use suits::{Suits, suits};

/// What a sketch is made by; every approximation has its limit here.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Options {
    /// Unit of the drawing: the header's, or the builder's answer, which wins.
    pub units: DrawingUnits,
    /// How far a hole of a row may lie from its even place, in.
    pub pitch_slack_in: f64,
    /// How far two diameters may differ and still be one size, in.
    pub size_slack_in: f64,
    /// Circles wider than this are cut-outs, in.
    pub widest_hole_in: f64,
    /// Layers to leave out, such as the frame of the drawing sheet.
    pub leave_layers: Vec<String>,
}

impl Options {
    /// The usual limits, for a drawing in `units`: .002 in of pitch, .0005 in of diameter, holes up to 1/2 in.
    #[must_use]
    pub const fn new(units: DrawingUnits) -> Self {
        Self {
            units,
            pitch_slack_in: 0.002,
            size_slack_in: 0.0005,
            widest_hole_in: 0.5,
            leave_layers: Vec::new(),
        }
    }
}

/// A closed shape, in inches.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Shape {
    /// Left, bottom, width, height.
    Rect([f64; 4]),
    /// Centre and diameter.
    Circle([f64; 3]),
    /// Corners with bulges, counter-clockwise.
    Path(Vec<Corner>),
}

/// Where the holes of a row are, in inches.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Places {
    /// Evenly from the first hole to the last.
    Line {
        /// First hole.
        from: [f64; 2],
        /// Last hole.
        to: [f64; 2],
        /// How many, ends included.
        count: usize,
    },
    /// One by one, in drawing order.
    At(Vec<[f64; 2]>),
}

impl Places {
    /// How many holes.
    #[must_use]
    pub fn count(&self) -> usize {
        match self {
            Self::Line { count, .. } => *count,
            Self::At(places) => places.len(),
        }
    }
}

/// Holes of one size on one layer of the drawing.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Row {
    /// Name of the row: `A`, `B` … `AA`.
    pub name: String,
    /// Diameter as drawn, in.
    pub diameter_in: f64,
    /// The fastener such a hole would suit.
    pub suits: Option<Suits>,
    /// Layer of the drawing, a hint at what the row is.
    pub layer: Arc<str>,
    /// Where the holes are.
    pub places: Places,
}

/// What a drawing gives towards a plane of a plan.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Sketch {
    /// Unit the drawing was read in.
    pub units: DrawingUnits,
    /// The part: usually one loop.
    pub outlines: Vec<Shape>,
    /// Lightening holes and other cut-outs.
    pub cuts: Vec<Shape>,
    /// Bend lines from end to end, in.
    pub bends: Vec<[[f64; 2]; 2]>,
    /// Holes, each in one row.
    pub rows: Vec<Row>,
    /// What was not taken, that of the reading included.
    pub left: Vec<Left>,
    /// What wants a look, that of the reading included.
    pub findings: Vec<Finding>,
}

/// More holes than this are listed without looking for rows: as many as a whole aeroplane has. Our own limit.
const MOST_GROUPED: usize = 20_000;
/// Most loops compared with each other. Our own limit.
const MOST_LOOPS: usize = 1_000;
/// Most bend lines taken. Our own limit: more than any part that is folded by hand.
const MOST_BENDS: usize = 200;
/// A circle round a hole, up to so many times as wide, is its countersink,
/// dimple or head; one wider still is a hole of its own. Our own value.
const ROUND_A_HOLE: f64 = 2.5;

/// A round hole, in inches.
#[derive(Clone)]
struct Hole {
    at: [f64; 2],
    diameter: f64,
    layer: Arc<str>,
}

impl Sketch {
    /// Makes a sketch of a drawing.
    #[must_use]
    pub fn of(drawing: &Drawing, options: &Options) -> Self {
        let mut maker = Maker {
            options,
            left: drawing.left.clone(),
            findings: drawing.findings.iter().filter(|f| f.kind != "no-units").cloned().collect(),
        };
        let (mut outlines, mut cuts, round) = maker.loops(&drawing.outlines);
        let mut holes = maker.holes(&drawing.circles);
        holes.extend(round);
        let mut holes = maker.one_at_each_place(holes);

        if outlines.is_empty() {
            outlines.extend(take_round_part(&mut holes, options));
        }
        let (wide, holes): (Vec<Hole>, Vec<Hole>) =
            holes.into_iter().partition(|hole| hole.diameter > options.widest_hole_in);
        cuts.extend(
            wide.iter().map(|hole| (Shape::Circle([hole.at[0], hole.at[1], hole.diameter]), vec![hole.at])),
        );
        let centres: Vec<[f64; 2]> = holes.iter().chain(&wide).map(|hole| hole.at).collect();
        let bends = maker.bends(&drawing.bends, &centres);
        maker.outside(&outlines, &cuts, &holes);
        if outlines.is_empty() {
            maker.findings.push(Finding::look(
                "no-outline",
                "the drawing gives no closed outline",
                "write the outline of the part by hand, or close it in the drawing",
            ));
        }
        if outlines.len() > 1 {
            maker.findings.push(Finding::look(
                "several-outlines",
                format!("{} separate outlines were taken as one part", outlines.len()),
                "where they are several parts, give each its own plane",
            ));
        }
        let rows = maker.rows(&holes);
        Self {
            units: options.units,
            outlines: outlines.into_iter().map(|(shape, _)| shape).collect(),
            cuts: cuts.into_iter().map(|(shape, _)| shape).collect(),
            bends,
            rows,
            left: maker.left,
            findings: maker.findings,
        }
    }

    /// How many holes stand in rows.
    #[must_use]
    pub fn holes(&self) -> usize {
        self.rows.iter().map(|row| row.places.count()).sum()
    }
}

struct Maker<'o> {
    options: &'o Options,
    left: Vec<Left>,
    findings: Vec<Finding>,
}

/// A shape and its corners, arcs flattened, in inches.
type Placed = (Shape, Vec<[f64; 2]>);

/// A loop in inches with its area, its extent, and its corners, arcs flattened.
type Measured = (Outline, f64, [f64; 4], Vec<[f64; 2]>);

impl Maker<'_> {
    fn leave(&mut self, what: &str, why: &str) {
        match self.left.iter_mut().find(|left| left.what == what && left.why == why) {
            Some(left) => left.count += 1,
            None => self.left.push(Left { what: what.to_owned(), count: 1, why: why.to_owned() }),
        }
    }

    fn is_left(&self, layer: &str) -> bool {
        self.options.leave_layers.iter().any(|name| name.eq_ignore_ascii_case(layer))
    }

    /// Circles that may be holes.
    fn holes(&mut self, circles: &[Circle]) -> Vec<Hole> {
        let scale = self.options.units.in_inches();
        let mut holes = Vec::new();
        for circle in circles {
            let why = if self.is_left(&circle.layer) {
                LEFT_LAYER
            } else if circle.hidden {
                "invisible, or on a layer that is switched off"
            } else if !circle.flat {
                "lies in another plane than the drawing"
            } else {
                holes.push(Hole {
                    at: [circle.x * scale, circle.y * scale],
                    diameter: circle.diameter * scale,
                    layer: Arc::clone(&circle.layer),
                });
                continue;
            };
            self.leave("CIRCLE", why);
        }
        holes
    }

    /// Of circles round one centre, the hole; the others are drawn twice, or are its countersink.
    fn one_at_each_place(&mut self, holes: Vec<Hole>) -> Vec<Hole> {
        let slack = self.options.pitch_slack_in;
        let mut centres: Vec<([f64; 2], Vec<usize>)> = Vec::new();
        let mut cells: HashMap<(i64, i64), Vec<usize>> = HashMap::new();
        for (index, hole) in holes.iter().enumerate() {
            let cell = hole.at.map(|part| (part / slack).floor() as i64);
            let around = (-1..=1).flat_map(|dx| (-1..=1).map(move |dy| (dx, dy)));
            let found = around
                .filter_map(|(dx, dy)| cells.get(&(cell[0].saturating_add(dx), cell[1].saturating_add(dy))))
                .flatten()
                .copied()
                .find(|&centre: &usize| apart(centres[centre].0, hole.at) <= slack);
            match found {
                Some(centre) => centres[centre].1.push(index),
                None => {
                    cells.entry((cell[0], cell[1])).or_default().push(centres.len());
                    centres.push((hole.at, vec![index]));
                }
            }
        }
        let mut kept = vec![true; holes.len()];
        for (_, mut members) in centres {
            members.sort_by(|&a, &b| holes[a].diameter.total_cmp(&holes[b].diameter).then(a.cmp(&b)));
            let least = holes[members[0]].diameter;
            let mut last = least;
            for &index in &members[1..] {
                let diameter = holes[index].diameter;
                if diameter - last <= self.options.size_slack_in {
                    kept[index] = false;
                    self.leave("CIRCLE", "drawn twice");
                } else if diameter <= ROUND_A_HOLE * least {
                    kept[index] = false;
                    self.leave("CIRCLE", "round a smaller hole: its countersink, dimple or head");
                } else {
                    last = diameter;
                }
            }
        }
        holes.into_iter().zip(kept).filter_map(|(hole, kept)| kept.then_some(hole)).collect()
    }

    /// Loops sorted into the part's outlines, cut-outs, and round holes drawn in pieces.
    fn loops(&mut self, outlines: &[Outline]) -> (Vec<Placed>, Vec<Placed>, Vec<Hole>) {
        let scale = self.options.units.in_inches();
        let slack = self.options.pitch_slack_in;
        let mut loops: Vec<Measured> = Vec::new();
        for outline in outlines {
            if self.is_left(&outline.layer) {
                self.leave(kind(outline), LEFT_LAYER);
                continue;
            }
            let scaled = |c: &Corner| Corner { x: c.x * scale, y: c.y * scale, bulge: c.bulge };
            let outline = Outline { path: outline.path.iter().map(scaled).collect(), ..outline.clone() };
            let (area, extent, flat) = (outline.area(), outline.extent(), outline.flattened());
            loops.push((outline, area, extent, flat));
        }
        // Largest first, so that what holds a loop stands before it; equals stay in drawing order.
        loops.sort_by(|a, b| b.1.total_cmp(&a.1));
        if loops.len() > MOST_LOOPS {
            let more = loops.len() - MOST_LOOPS;
            self.findings.push(Finding::wrong(
                "too-many-loops",
                format!("the drawing has {} closed loops; the {MOST_LOOPS} largest are taken", loops.len()),
                "leave out layers, or save only the part",
            ));
            for _ in 0..more {
                self.leave("loop", "more loops than are compared");
            }
            loops.truncate(MOST_LOOPS);
        }
        let (mut parts, mut cuts, mut round) = (Vec::new(), Vec::new(), Vec::new());
        for (at, (outline, area, extent, flat)) in loops.iter().enumerate() {
            let twice = loops[..at].iter().any(|(_, other, box_, _)| {
                extent.iter().zip(box_).all(|(a, b)| (a - b).abs() <= slack)
                    && (area - other).abs() <= slack * (extent[2] - extent[0] + extent[3] - extent[1])
            });
            if twice {
                self.leave(kind(outline), "drawn twice");
                continue;
            }
            let depth =
                loops[..at].iter().filter(|(_, _, box_, other)| holds(box_, other, extent, flat)).count();
            let circle =
                outline.round(slack).filter(|(_, wide)| depth > 0 || *wide <= self.options.widest_hole_in);
            let shape = match outline.rectangle(slack / 2.0) {
                Some(rect) => Shape::Rect(rect),
                None => Shape::Path(outline.path.clone()),
            };
            match (depth, circle) {
                (0 | 1, Some((at, diameter))) => {
                    round.push(Hole { at, diameter, layer: Arc::clone(&outline.layer) });
                }
                (0, None) => parts.push((shape, flat.clone())),
                (1, None) => cuts.push((shape, flat.clone())),
                _ => self.leave(kind(outline), "lies inside a cut-out"),
            }
        }
        if self.left.iter().any(|left| left.why == "lies inside a cut-out") {
            self.findings.push(Finding::look(
                "inside-a-cut-out",
                "loops lie inside what would be a cut-out",
                "where the outermost loop is the frame of the drawing sheet, leave its layer out",
            ));
        }
        (parts, cuts, round)
    }

    /// Bend lines, and of the centre lines those that no centre of a hole lies on.
    ///
    /// # Units
    /// - `centres`: of all holes and round cut-outs, in
    /// - returns: in
    fn bends(&mut self, drawn: &[Bend], centres: &[[f64; 2]]) -> Vec<[[f64; 2]; 2]> {
        let scale = self.options.units.in_inches();
        let slack = self.options.pitch_slack_in;
        let mut bends: Vec<[[f64; 2]; 2]> = Vec::new();
        let mut centre_lines = 0;
        for bend in drawn {
            let [from, to] = [bend.from, bend.to].map(|end| end.map(|part| part * scale));
            let twice = |&[a, b]: &[[f64; 2]; 2]| {
                (apart(a, from) <= slack && apart(b, to) <= slack)
                    || (apart(a, to) <= slack && apart(b, from) <= slack)
            };
            let why = if self.is_left(&bend.layer) {
                LEFT_LAYER
            } else if apart(from, to) <= slack {
                "bend line or centre line without a length"
            } else if bends.len() >= MOST_BENDS {
                "more bend lines than are taken"
            } else if bends.iter().any(twice) {
                "drawn twice"
            } else if bend.maybe_axis && centres.iter().any(|&at| off_the_line(from, to, at) <= slack) {
                "centre line through a hole: its axis, not a bend"
            } else {
                centre_lines += usize::from(bend.maybe_axis);
                bends.push([from, to]);
                continue;
            };
            self.leave(bend.what(), why);
        }
        if centre_lines > 0 {
            let (noun, verb) = if centre_lines == 1 { ("line", "was") } else { ("lines", "were") };
            self.findings.push(Finding::look(
                "centre-lines",
                format!("{centre_lines} centre {noun} {verb} taken as bend lines: no hole lies on them"),
                "look whether the part is bent there; take an axis out of the plane's bends",
            ));
        }
        bends
    }

    /// A finding where holes lie outside every outline.
    fn outside(&mut self, outlines: &[Placed], cuts: &[Placed], holes: &[Hole]) {
        let corners: usize = outlines.iter().map(|(_, flat)| flat.len()).sum();
        if outlines.is_empty() {
            return;
        }
        if corners.saturating_mul(holes.len()) > 50_000_000 {
            self.findings.push(Finding::look(
                "not-compared",
                "too many holes and corners to see which holes lie outside the outline",
                "look at the drawing",
            ));
            return;
        }
        let out = |at: [f64; 2]| !outlines.iter().any(|(_, flat)| inside(flat, at));
        let count = holes.iter().filter(|hole| out(hole.at)).count()
            + cuts.iter().filter(|(_, flat)| flat.first().is_some_and(|&at| out(at))).count();
        if count > 0 {
            self.findings.push(Finding::look(
                "outside",
                format!("{count} holes or cut-outs lie outside every outline"),
                "look whether they belong to this part; leave their layer out if not",
            ));
        }
    }

    fn rows(&mut self, holes: &[Hole]) -> Vec<Row> {
        let mut layers: Vec<&str> = Vec::new();
        let mut order: HashMap<&str, usize> = HashMap::new();
        for hole in holes {
            order.entry(&hole.layer).or_insert_with(|| {
                layers.push(&hole.layer);
                layers.len() - 1
            });
        }
        let mut sorted: Vec<usize> = (0..holes.len()).collect();
        let key = |index: usize| (order[&*holes[index].layer], holes[index].diameter);
        sorted.sort_by(|&a, &b| {
            let ((layer_a, a_in), (layer_b, b_in)) = (key(a), key(b));
            layer_a.cmp(&layer_b).then(a_in.total_cmp(&b_in)).then(a.cmp(&b))
        });
        let grouped = holes.len() <= MOST_GROUPED;
        if !grouped {
            self.findings.push(Finding::look(
                "too-many-holes",
                format!(
                    "{} holes are listed one by one: rows are looked for up to {MOST_GROUPED}",
                    holes.len()
                ),
                "leave out layers, or save only the part",
            ));
        }
        let mut rows = Vec::new();
        let mut rest = &sorted[..];
        while let Some(&first) = rest.first() {
            let (layer, least) = key(first);
            let alike = |&index: &usize| {
                let (other, diameter) = key(index);
                other == layer && diameter - least <= self.options.size_slack_in
            };
            let count = rest.iter().take_while(|index| alike(index)).count().max(1);
            let mut members = rest[..count].to_vec();
            rest = &rest[count..];
            // Back in drawing order: sizes that differ by rounding must not shuffle the holes.
            members.sort_unstable();
            let places: Vec<[f64; 2]> = members.iter().map(|&index| holes[index].at).collect();
            let (mut lines, singles) = if grouped {
                rows::group(&places, self.options.pitch_slack_in)
            } else {
                (Vec::new(), (0..places.len()).collect())
            };
            let low = |line: &Vec<usize>| places[line[0]];
            lines.sort_by(|a, b| low(a)[1].total_cmp(&low(b)[1]).then(low(a)[0].total_cmp(&low(b)[0])));
            let lines = lines.into_iter().map(|line| Places::Line {
                from: places[line[0]],
                to: places[line[line.len() - 1]],
                count: line.len(),
            });
            let singles: Vec<[f64; 2]> = singles.into_iter().map(|index| places[index]).collect();
            let singles = (!singles.is_empty()).then_some(Places::At(singles));
            let diameter_in = holes[members[0]].diameter;
            for places in lines.chain(singles) {
                rows.push(Row {
                    name: row_name(rows.len()),
                    diameter_in,
                    suits: suits(diameter_in),
                    layer: Arc::clone(&holes[members[0]].layer),
                    places,
                });
            }
        }
        rows
    }
}

const LEFT_LAYER: &str = "on a layer that was to be left";

fn kind(outline: &Outline) -> &'static str {
    match outline.drawn {
        Drawn::Polyline => "polyline",
        Drawn::Chained => "loop",
    }
}

/// `A` … `Z`, `AA` …
fn row_name(index: usize) -> String {
    let mut letters = Vec::new();
    let mut rest = index + 1;
    while rest > 0 {
        rest -= 1;
        letters.push(b"ABCDEFGHIJKLMNOPQRSTUVWXYZ"[rest % 26]);
        rest /= 26;
    }
    letters.iter().rev().map(|&letter| char::from(letter)).collect()
}

/// The largest circle, where it holds every other hole: a round part drawn without a loop.
fn take_round_part(holes: &mut Vec<Hole>, options: &Options) -> Option<Placed> {
    let widest = (0..holes.len()).max_by(|&a, &b| holes[a].diameter.total_cmp(&holes[b].diameter))?;
    let part = holes[widest].clone();
    let [x, y] = part.at;
    let radius = part.diameter / 2.0;
    let all_inside = holes
        .iter()
        .enumerate()
        .all(|(index, hole)| index == widest || apart(hole.at, part.at) + hole.diameter / 2.0 < radius);
    if !all_inside || holes.len() < 2 || part.diameter <= options.widest_hole_in {
        return None;
    }
    holes.remove(widest);
    let corner = |x| Corner { x, y, bulge: 1.0 };
    let path = vec![corner(x + radius), corner(x - radius)];
    let outline = Outline { path: path.clone(), layer: part.layer, drawn: Drawn::Chained };
    Some((Shape::Path(path), outline.flattened()))
}

fn apart(a: [f64; 2], b: [f64; 2]) -> f64 {
    (a[0] - b[0]).hypot(a[1] - b[1])
}

/// How far a point lies from the line between two points, ends included.
fn off_the_line(from: [f64; 2], to: [f64; 2], at: [f64; 2]) -> f64 {
    let (along, out) = ([to[0] - from[0], to[1] - from[1]], [at[0] - from[0], at[1] - from[1]]);
    let part = (along[0] * out[0] + along[1] * out[1]) / (along[0] * along[0] + along[1] * along[1]);
    let part = part.clamp(0.0, 1.0);
    apart(at, [from[0] + part * along[0], from[1] + part * along[1]])
}

/// Whether most of a loop lies inside another.
fn holds(outer_box: &[f64; 4], outer: &[[f64; 2]], inner_box: &[f64; 4], inner: &[[f64; 2]]) -> bool {
    let apart = inner_box[0] > outer_box[2]
        || inner_box[1] > outer_box[3]
        || inner_box[2] < outer_box[0]
        || inner_box[3] < outer_box[1];
    if apart {
        return false;
    }
    // A few corners tell as much as all of them, and a spline in ten thousand pieces stays cheap.
    let step = inner.len().div_ceil(64).max(1);
    let sample: Vec<_> = inner.iter().step_by(step).collect();
    let count = sample.iter().filter(|&&&at| inside(outer, at)).count();
    2 * count > sample.len()
}

/// Whether a point lies inside a closed path, by counting crossings.
fn inside(path: &[[f64; 2]], [x, y]: [f64; 2]) -> bool {
    let mut inside = false;
    for (from, to) in path.iter().zip(path.iter().cycle().skip(1)) {
        if (from[1] > y) != (to[1] > y) && x < from[0] + (to[0] - from[0]) * (y - from[1]) / (to[1] - from[1])
        {
            inside = !inside;
        }
    }
    inside
}

/// A hole as `faying import dxf --json` gives it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ReadHole {
    /// Centre, drawing units.
    pub x: f64,
    /// Centre, drawing units.
    pub y: f64,
    /// Diameter, drawing units.
    pub diameter: f64,
    /// Centre, in; nothing where the unit is not known.
    pub x_in: Option<f64>,
    /// Centre, in.
    pub y_in: Option<f64>,
    /// Diameter, in.
    pub diameter_in: Option<f64>,
    /// The fastener size it would suit, or none.
    pub suits: Option<String>,
    /// The drill of that fastener, where it has a mark.
    pub drill: Option<String>,
    /// Layer.
    pub layer: Arc<str>,
    /// Invisible, or on a layer that is switched off.
    pub hidden: bool,
    /// Lies in the plane of the drawing.
    pub flat: bool,
}

/// A drawing only read: no plane, no rows, no question asked.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Reading {
    /// Version of the file.
    pub version: Option<String>,
    /// Unit, as its abbreviation; nothing where it is not known.
    pub units: Option<&'static str>,
    /// Every circle with a radius.
    pub holes: Vec<ReadHole>,
    /// Closed loops, drawing units.
    pub outlines: Vec<Outline>,
    /// Straight bend lines, and centre lines that may be bends, drawing units.
    pub bends: Vec<Bend>,
    /// What was not taken, and why.
    pub left: Vec<Left>,
    /// What was wrong or wants a look.
    pub findings: Vec<Finding>,
}

impl Reading {
    /// A reading of a drawing; `units` answers for a header that gives none, and wins over one that does.
    #[must_use]
    pub fn of(drawing: &Drawing, units: Option<DrawingUnits>) -> Self {
        let answered = units.is_some();
        let units = units.or(drawing.units);
        let scale = units.map(DrawingUnits::in_inches);
        // A thousand holes have a handful of sizes.
        let mut known: HashMap<u64, Option<Suits>> = HashMap::new();
        let holes = drawing.circles.iter().map(|circle| {
            let diameter_in = scale.map(|scale| circle.diameter * scale);
            let suits = diameter_in
                .and_then(|size| known.entry(size.to_bits()).or_insert_with(|| suits(size)).clone());
            ReadHole {
                x: circle.x,
                y: circle.y,
                diameter: circle.diameter,
                x_in: scale.map(|scale| circle.x * scale),
                y_in: scale.map(|scale| circle.y * scale),
                diameter_in,
                drill: suits.as_ref().map(|suits| suits.drill.clone()).filter(|drill| !drill.is_empty()),
                suits: suits.map(|suits| suits.fastener),
                layer: Arc::clone(&circle.layer),
                hidden: circle.hidden,
                flat: circle.flat,
            }
        });
        Self {
            version: drawing.version.clone(),
            units: units.map(DrawingUnits::symbol),
            holes: holes.collect(),
            outlines: drawing.outlines.clone(),
            bends: drawing.bends.clone(),
            left: drawing.left.clone(),
            findings: drawing
                .findings
                .iter()
                .filter(|finding| !(answered && finding.kind == "no-units"))
                .cloned()
                .collect(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn circle(x: f64, y: f64, diameter: f64) -> Circle {
        Circle { x, y, diameter, layer: "HOLES".into(), hidden: false, flat: true }
    }

    fn rectangle(x: f64, y: f64, width: f64, height: f64) -> Outline {
        let path = [(x, y), (x + width, y), (x + width, y + height), (x, y + height)];
        Outline {
            path: path.into_iter().map(|(x, y)| Corner { x, y, bulge: 0.0 }).collect(),
            layer: "CUT".into(),
            drawn: Drawn::Polyline,
        }
    }

    fn sketch(circles: Vec<Circle>, outlines: Vec<Outline>) -> Sketch {
        Sketch::of(&Drawing { circles, outlines, ..Drawing::default() }, &Options::new(DrawingUnits::Inch))
    }

    fn left(sketch: &Sketch) -> Vec<String> {
        sketch.left.iter().map(|left| format!("{} {}: {}", left.count, left.what, left.why)).collect()
    }

    fn found(sketch: &Sketch) -> Vec<&str> {
        sketch.findings.iter().map(|finding| finding.kind).collect()
    }

    #[test]
    fn holes_cut_outs_and_the_part() {
        let mut circles: Vec<Circle> = (0..5).map(|at| circle(1.0 + f64::from(at), 1.0, 0.1285)).collect();
        circles.push(circle(3.0, 2.5, 1.5));
        circles.push(circle(9.0, 2.0, 0.098));
        let sketch = sketch(circles, vec![rectangle(0.0, 0.0, 10.0, 4.0), rectangle(6.0, 2.0, 1.0, 1.0)]);
        assert_eq!(sketch.outlines, [Shape::Rect([0.0, 0.0, 10.0, 4.0])]);
        assert_eq!(sketch.cuts, [Shape::Rect([6.0, 2.0, 1.0, 1.0]), Shape::Circle([3.0, 2.5, 1.5])]);
        let rows: Vec<_> = sketch.rows.iter().map(|row| (row.name.as_str(), row.places.clone())).collect();
        assert_eq!(
            rows,
            [
                ("A", Places::At(vec![[9.0, 2.0]])),
                ("B", Places::Line { from: [1.0, 1.0], to: [5.0, 1.0], count: 5 })
            ]
        );
        assert!(sketch.findings.is_empty() && sketch.left.is_empty());
    }

    #[test]
    fn circles_round_one_centre() {
        let circles = vec![
            circle(1.0, 1.0, 0.098),
            circle(1.0, 1.0, 0.098),
            circle(1.0, 1.0005, 0.179),
            // Too wide for a countersink of the small hole: a hole with a centre mark.
            circle(5.0, 1.0, 0.098),
            circle(5.0, 1.0, 2.0),
        ];
        let sketch = sketch(circles, vec![rectangle(0.0, 0.0, 10.0, 4.0)]);
        assert_eq!((sketch.holes(), sketch.cuts.len()), (2, 1));
        assert_eq!(
            left(&sketch),
            ["1 CIRCLE: drawn twice", "1 CIRCLE: round a smaller hole: its countersink, dimple or head"]
        );
    }

    #[test]
    fn a_frame_round_the_part_is_noticed_and_can_be_left() {
        let mut frame = rectangle(-5.0, -5.0, 40.0, 20.0);
        frame.layer = "FRAME".into();
        let outlines = vec![frame, rectangle(0.0, 0.0, 10.0, 4.0), rectangle(6.0, 2.0, 1.0, 1.0)];
        let drawing = Drawing { outlines, ..Drawing::default() };
        let mut options = Options::new(DrawingUnits::Inch);
        assert_eq!(found(&Sketch::of(&drawing, &options)), ["inside-a-cut-out"]);
        options.leave_layers.push("frame".to_owned());
        let sketch = Sketch::of(&drawing, &options);
        assert_eq!((sketch.outlines.len(), sketch.cuts.len()), (1, 1));
        assert_eq!(left(&sketch), ["1 polyline: on a layer that was to be left"]);
    }

    #[test]
    fn what_cannot_be_a_hole_of_this_plane_is_left() {
        let hidden = Circle { hidden: true, ..circle(1.0, 1.0, 0.098) };
        let aslant = Circle { flat: false, ..circle(2.0, 1.0, 0.098) };
        let sketch =
            sketch(vec![hidden, aslant, circle(20.0, 1.0, 0.098)], vec![rectangle(0.0, 0.0, 10.0, 4.0)]);
        assert_eq!(sketch.holes(), 1);
        assert_eq!(
            left(&sketch),
            [
                "1 CIRCLE: invisible, or on a layer that is switched off",
                "1 CIRCLE: lies in another plane than the drawing"
            ]
        );
        assert_eq!(found(&sketch), ["outside"]);
    }

    #[test]
    fn a_round_part_without_a_loop() {
        let mut circles = vec![circle(0.0, 0.0, 6.0)];
        circles.extend([(2.5, 0.0), (-2.5, 0.0), (0.0, 2.5), (0.0, -2.5)].map(|(x, y)| circle(x, y, 0.1285)));
        let sketch = sketch(circles, vec![]);
        assert!(matches!(&sketch.outlines[..], [Shape::Path(path)] if path.len() == 2 && path[0].x == 3.0));
        assert_eq!((sketch.holes(), sketch.cuts.len()), (4, 0));
    }

    #[test]
    fn a_metric_drawing_comes_out_in_inches() {
        let drawing = Drawing { circles: vec![circle(25.4, 50.8, 3.3)], ..Drawing::default() };
        let sketch = Sketch::of(&drawing, &Options::new(DrawingUnits::Millimetre));
        let Places::At(at) = &sketch.rows[0].places else { panic!("one hole is no line") };
        assert!((at[0][0] - 1.0).abs() < 1e-12 && (at[0][1] - 2.0).abs() < 1e-12);
        assert_eq!(sketch.rows[0].suits.as_ref().map(|suits| suits.fastener.as_str()), Some("1/8"));
        assert_eq!(found(&sketch), ["no-outline"]);
    }

    #[test]
    fn names_go_on_after_z() {
        assert_eq!([0, 25, 26, 51, 52, 701, 702].map(row_name), ["A", "Z", "AA", "AZ", "BA", "ZZ", "AAA"]);
    }
}
