//! From records to places: block references opened, object coordinates turned, kinds sorted.
//!
//! Every entity of model space ends in one of four bins: a circle, pieces of an
//! outline, a bend line, or a count in [`Tally`] with the reason it was left.

use std::collections::HashMap;
use std::sync::Arc;

use super::document::{Block, Document, Entity, Insert, Knot, Shape};
use super::space::{Map, Vector, View};
use super::{Bend, Circle, Corner, Counted, Left, MOST_COPIES, MOST_NESTED};

/// A piece of an outline: a line, or an arc by its bulge.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Piece {
    pub from: [f64; 2],
    pub to: [f64; 2],
    /// tan(a quarter of the swept angle), above zero counter-clockwise.
    pub bulge: f64,
    pub layer: Arc<str>,
    /// Name of the record it came from.
    pub name: Arc<str>,
}

/// What was left, counted by kind and reason, in the order it was met.
#[derive(Debug, Default)]
pub(super) struct Tally {
    seen: HashMap<(String, String), usize>,
    pub left: Vec<Left>,
}

impl Tally {
    pub fn add(&mut self, what: &str, why: &str) {
        self.add_many(what, why, 1);
    }

    pub fn add_many(&mut self, what: &str, why: &str, count: usize) {
        if count == 0 {
            return;
        }
        let at = *self.seen.entry((what.to_owned(), why.to_owned())).or_insert_with(|| {
            self.left.push(Left { what: what.to_owned(), count: 0, why: why.to_owned() });
            self.left.len() - 1
        });
        self.left[at].count += count;
    }
}

/// A closed polyline, as drawn.
pub(super) struct Ring {
    pub corners: Vec<Corner>,
    pub layer: Arc<str>,
}

#[derive(Default)]
pub(super) struct Expanded {
    pub circles: Vec<Circle>,
    pub rings: Vec<Ring>,
    pub pieces: Vec<Piece>,
    pub bends: Vec<Bend>,
    pub counted: Counted,
    pub tally: Tally,
    /// Broken records: kind, place, group code.
    pub broken: Vec<(Arc<str>, usize, i32)>,
    /// Names of blocks that were asked for and are not there.
    pub missing: Vec<String>,
    /// Blocks that hold themselves.
    pub cyclic: Vec<String>,
    /// Whether [`MOST_COPIES`] or [`MOST_NESTED`] stopped the work.
    pub too_many: bool,
    pub too_deep: bool,
    visits: usize,
}

/// What a block reference hands down to what is in it.
struct Frame<'d> {
    map: Map,
    layer: Option<Arc<str>>,
    invisible: bool,
    open: Vec<&'d str>,
}

pub(super) fn expand(document: &Document) -> Expanded {
    let mut out = Expanded::default();
    let mut frame = Frame { map: Map::SAME, layer: None, invisible: false, open: Vec::new() };
    for entity in &document.entities {
        out.entity(document, entity, &mut frame);
    }
    out
}

impl Expanded {
    /// Counts one more thing placed; false once the limit is passed.
    fn visit(&mut self) -> bool {
        self.visits += 1;
        self.too_many |= self.visits > MOST_COPIES;
        !self.too_many
    }

    fn entity<'d>(&mut self, document: &'d Document, entity: &'d Entity, frame: &mut Frame<'d>) {
        if !self.visit() {
            return;
        }
        if entity.paper && frame.open.is_empty() {
            self.tally.add(&entity.name, "in a print layout, not in the drawing itself");
            return;
        }
        // Layer 0 inside a block means: the layer of the reference.
        let layer = match &frame.layer {
            Some(layer) if &*entity.layer == "0" => Arc::clone(layer),
            _ => Arc::clone(&entity.layer),
        };
        let table = document.layers.get(&layer.to_lowercase());
        let hidden =
            frame.invisible || entity.invisible || table.is_some_and(|layer| layer.off || layer.frozen);
        match &entity.shape {
            Shape::Circle { centre, radius, normal } => {
                self.counted.circles_all += 1;
                self.circle(&frame.map.after(&Map::object(*normal)), *centre, *radius, layer, hidden);
            }
            Shape::Insert(insert) => {
                let hides = entity.invisible || table.is_some_and(|layer| layer.frozen);
                self.insert(document, entity, insert, layer, hides, frame);
            }
            Shape::Broken { at, code } => {
                self.tally.add(&entity.name, "broken: a number is missing or cannot be read");
                self.broken.push((Arc::clone(&entity.name), *at, *code));
            }
            Shape::Other => self.tally.add(&entity.name, why_left(&entity.name)),
            Shape::Line { .. } | Shape::Arc { .. } | Shape::Polyline { .. } => {
                let counter = match &entity.shape {
                    Shape::Line { .. } => &mut self.counted.lines,
                    Shape::Arc { .. } => &mut self.counted.arcs,
                    Shape::Polyline { light: true, .. } => &mut self.counted.lwpolylines,
                    _ => &mut self.counted.polylines,
                };
                *counter += 1;
                let linetype = match entity.linetype.as_str() {
                    "" => table.map_or("", |layer| layer.linetype.as_str()),
                    own => own,
                };
                if hidden {
                    self.tally.add(&entity.name, HIDDEN);
                    return;
                }
                let why = match (not_an_edge(&layer, linetype), &entity.shape) {
                    (Some(mark), shape) => self.bend(&frame.map, shape, mark, layer, &entity.name),
                    (None, Shape::Line { from, to }) => {
                        self.line(&frame.map, *from, *to, layer, &entity.name)
                    }
                    (None, Shape::Arc { centre, radius, normal, start, end }) => {
                        let map = frame.map.after(&Map::object(*normal)).after(&Map::shift(*centre));
                        self.arc(&map, *radius, *start, *end, layer, &entity.name)
                    }
                    (None, Shape::Polyline { knots, closed, normal, .. }) => {
                        let map = frame.map.after(&Map::object(*normal));
                        self.polyline(&map, knots, *closed, layer, &entity.name)
                    }
                    _ => Ok(()),
                };
                if let Err(why) = why {
                    self.tally.add(&entity.name, why);
                }
            }
        }
    }

    fn circle(&mut self, map: &Map, centre: Vector, radius: f64, layer: Arc<str>, hidden: bool) {
        if radius <= 0.0 {
            self.tally.add("CIRCLE", "a radius of nothing or less");
            return;
        }
        let (scale, flat) = match map.view() {
            View::Even { scale, .. } => (scale, true),
            View::Tilted { scale } => (scale, false),
            View::Squashed { .. } => {
                self.tally.add("CIRCLE", "scaled unevenly by its block reference: an ellipse");
                return;
            }
            View::Nothing => {
                self.tally.add("CIRCLE", OFF_THE_LINE);
                return;
            }
        };
        let [x, y, _] = map.point(centre);
        let diameter = 2.0 * radius * scale;
        if !(in_range(x) && in_range(y) && in_range(diameter)) {
            self.tally.add("CIRCLE", OFF_THE_LINE);
            return;
        }
        self.circles.push(Circle { x, y, diameter, layer, hidden, flat });
    }

    fn insert<'d>(
        &mut self,
        document: &'d Document,
        entity: &'d Entity,
        insert: &'d Insert,
        layer: Arc<str>,
        hides: bool,
        frame: &mut Frame<'d>,
    ) {
        let Some(block) = document.blocks.get(&insert.block) else {
            self.tally.add(&entity.name, "its block is not in the file");
            if !self.missing.contains(&insert.block) {
                self.missing.push(insert.block.clone());
            }
            return;
        };
        if block.external {
            self.tally.add(&entity.name, "its block is kept in another file");
            return;
        }
        if frame.open.contains(&insert.block.as_str()) {
            self.tally.add(&entity.name, "its block holds itself");
            if !self.cyclic.contains(&insert.block) {
                self.cyclic.push(insert.block.clone());
            }
            return;
        }
        if frame.open.len() >= MOST_NESTED {
            self.tally.add(&entity.name, "nested too deep");
            self.too_deep = true;
            return;
        }
        let outer = frame.map;
        let before = frame.layer.replace(layer);
        let seen = frame.invisible;
        frame.invisible |= hides;
        frame.open.push(&insert.block);
        self.copies(document, block, insert, &outer, frame);
        frame.open.pop();
        (frame.map, frame.layer, frame.invisible) = (outer, before, seen);
    }

    fn copies<'d>(
        &mut self,
        document: &'d Document,
        block: &'d Block,
        insert: &'d Insert,
        outer: &Map,
        frame: &mut Frame<'d>,
    ) {
        // The spacing of an array turns with the reference, but is not scaled by it.
        let placed = outer
            .after(&Map::object(insert.normal))
            .after(&Map::shift(insert.at))
            .after(&Map::turn(insert.rotation));
        let inner = Map::scale(insert.scale).after(&Map::shift(block.base.map(|part| -part)));
        for row in 0..insert.rows {
            for column in 0..insert.columns {
                if !self.visit() {
                    return;
                }
                let step =
                    [f64::from(column) * insert.column_spacing, f64::from(row) * insert.row_spacing, 0.0];
                frame.map = placed.after(&Map::shift(step)).after(&inner);
                for entity in &block.entities {
                    self.entity(document, entity, frame);
                }
            }
        }
    }

    fn line(
        &mut self,
        map: &Map,
        from: Vector,
        to: Vector,
        layer: Arc<str>,
        name: &Arc<str>,
    ) -> Result<(), &'static str> {
        let (from, to) = (map.point(from), map.point(to));
        let (a, b) = (above(from)?, above(to)?);
        if a == b && from[2] != to[2] {
            return Err("runs along z: seen from above it is a point");
        }
        self.pieces.push(Piece { from: a, to: b, bulge: 0.0, layer, name: Arc::clone(name) });
        Ok(())
    }

    /// A line that is marked as a bend or a centre: taken where it is one straight line.
    fn bend(
        &mut self,
        map: &Map,
        shape: &Shape,
        mark: Reader,
        layer: Arc<str>,
        name: &Arc<str>,
    ) -> Result<(), &'static str> {
        let (from, to) = match shape {
            Shape::Line { from, to } => (map.point(*from), map.point(*to)),
            Shape::Polyline { knots, closed: false, normal, .. } => match &knots[..] {
                [from, to] if from.bulge == 0.0 => {
                    let map = map.after(&Map::object(*normal));
                    (map.point(from.at), map.point(to.at))
                }
                _ => return Err(mark.why_left()),
            },
            _ => return Err(mark.why_left()),
        };
        let (a, b) = (above(from)?, above(to)?);
        if a == b {
            return Err("bend line or centre line without a length");
        }
        let maybe_axis = mark == Reader::Centre;
        self.bends.push(Bend { from: a, to: b, layer, maybe_axis, what: Arc::clone(name) });
        Ok(())
    }

    fn arc(
        &mut self,
        map: &Map,
        radius: f64,
        start: f64,
        end: f64,
        layer: Arc<str>,
        name: &Arc<str>,
    ) -> Result<(), &'static str> {
        if radius <= 0.0 {
            return Err("a radius of nothing or less");
        }
        let mirrored = even(map)?;
        let mut sweep = (end - start).rem_euclid(360.0);
        if sweep < 1e-9 {
            sweep = 360.0;
        }
        // An arc that goes almost all round has a bulge off the number line: it is cut in two.
        let parts = if sweep > 300.0 { 2 } else { 1 };
        let step = sweep / f64::from(parts);
        let bulge = (step.to_radians() / 4.0).tan() * if mirrored { -1.0 } else { 1.0 };
        let place = |degrees: f64| above(map.point(Map::turn(degrees).direction([radius, 0.0, 0.0])));
        let first = place(start)?;
        let mut from = first;
        for part in 1..=parts {
            let closes = sweep == 360.0 && part == parts;
            let to = if closes { first } else { place(start + step * f64::from(part))? };
            let piece = Piece { from, to, bulge, layer: Arc::clone(&layer), name: Arc::clone(name) };
            self.pieces.push(piece);
            from = to;
        }
        Ok(())
    }

    fn polyline(
        &mut self,
        map: &Map,
        knots: &[Knot],
        closed: bool,
        layer: Arc<str>,
        name: &Arc<str>,
    ) -> Result<(), &'static str> {
        let curved = knots.iter().any(|knot| knot.bulge != 0.0);
        // Straight pieces stay straight however they are scaled; arcs do not.
        let sign = if curved && even(map)? { -1.0 } else { 1.0 };
        let mut corners = Vec::with_capacity(knots.len());
        for knot in knots {
            let [x, y] = above(map.point(knot.at))?;
            corners.push(Corner { x, y, bulge: knot.bulge * sign });
        }
        // The first corner is often repeated at the end instead of the flag.
        let repeated = corners.len() > 2
            && corners.first().zip(corners.last()).is_some_and(|(a, b)| a.x == b.x && a.y == b.y);
        if repeated && (closed || corners.len() > 3 || curved) {
            corners.pop();
        }
        if closed || repeated {
            if corners.len() < 2 || (corners.len() < 3 && !curved) {
                return Err("encloses nothing");
            }
            self.rings.push(Ring { corners, layer });
            return Ok(());
        }
        if corners.len() < 2 {
            return Err("has fewer than two corners");
        }
        for pair in corners.windows(2) {
            let (from, to) = ([pair[0].x, pair[0].y], [pair[1].x, pair[1].y]);
            let (layer, name) = (Arc::clone(&layer), Arc::clone(name));
            self.pieces.push(Piece { from, to, bulge: pair[0].bulge, layer, name });
        }
        Ok(())
    }
}

const HIDDEN: &str = "invisible, or on a layer that is switched off";
const OFF_THE_LINE: &str = "its numbers leave the range of a drawing";

/// Larger than any drawing; keeps every later product finite.
fn in_range(value: f64) -> bool {
    value.abs() < 1e12
}

fn above([x, y, _]: Vector) -> Result<[f64; 2], &'static str> {
    if in_range(x) && in_range(y) { Ok([x, y]) } else { Err(OFF_THE_LINE) }
}

/// Whether arcs stay arcs; then, whether they turn the other way.
fn even(map: &Map) -> Result<bool, &'static str> {
    match map.view() {
        View::Even { mirrored, .. } => Ok(mirrored),
        View::Tilted { .. } | View::Squashed { flat: false } => Err("lies in another plane than the drawing"),
        View::Squashed { flat: true } => Err("scaled unevenly by its block reference: an ellipse"),
        View::Nothing => Err(OFF_THE_LINE),
    }
}

/// What a line that is drawn for the reader, not cut by the maker, is marked as.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Reader {
    /// By its layer.
    Bend,
    /// By its linetype: a bend line or an axis.
    Centre,
}

impl Reader {
    /// Why such a line is left where it is not one straight line.
    fn why_left(self) -> &'static str {
        match self {
            Self::Bend => "bend line that is not one straight line: a plan holds straight ones only",
            Self::Centre => "centre line that is not one straight line: not an edge",
        }
    }
}

fn not_an_edge(layer: &str, linetype: &str) -> Option<Reader> {
    let (layer, linetype) = (layer.to_uppercase(), linetype.to_uppercase());
    if layer.contains("BEND") {
        Some(Reader::Bend)
    } else if linetype.contains("CENTER") || linetype.contains("CENTRE") {
        Some(Reader::Centre)
    } else {
        None
    }
}

fn why_left(name: &str) -> &'static str {
    match name {
        "TEXT" | "MTEXT" | "ATTRIB" | "ATTDEF" | "RTEXT" | "ARCALIGNEDTEXT" => "text: read it in the drawing",
        "DIMENSION"
        | "LEADER"
        | "MULTILEADER"
        | "MLEADER"
        | "TOLERANCE"
        | "LARGE_RADIAL_DIMENSION"
        | "ARC_DIMENSION" => "dimension or note: read it in the drawing",
        "HATCH" | "MPOLYGON" | "SOLID" | "TRACE" | "WIPEOUT" => "a filled area: its edges are not taken",
        "SPLINE" | "HELIX" => "a free curve: a plan holds lines and arcs only",
        "ELLIPSE" => "an ellipse: a plan holds lines and arcs only",
        "POINT" => "a point has no diameter",
        "XLINE" | "RAY" => "a line without an end: construction only",
        "IMAGE" | "OLEFRAME" | "OLE2FRAME" | "UNDERLAY" | "PDFUNDERLAY" | "DWFUNDERLAY" | "DGNUNDERLAY" => {
            "a picture"
        }
        "3DFACE" | "3DSOLID" | "BODY" | "REGION" | "SURFACE" | "MESH" | "POLYLINE" => {
            "a solid, a surface or a mesh: flatten it first"
        }
        "VIEWPORT" => "a window of a print layout",
        "ACAD_TABLE" => "a table: read it in the drawing",
        _ => "not a kind that holds holes or outlines",
    }
}
