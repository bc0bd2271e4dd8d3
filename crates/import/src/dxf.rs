//! A DXF drawing: its circles, closed outlines, bend lines, and all that was left.
//!
//! Reads ASCII and binary files from R12 on, without a library: the readers
//! at hand lose hatches and broken records without a word, and here every
//! record must be accounted for. Block references are opened (nested, in
//! arrays, scaled, turned, seen from the back); separate lines and arcs are
//! chained into loops.
//!
//! Everything is in drawing units, in the plane seen from above. What a hole
//! is for, and which unit the drawing means where it does not say, is settled
//! in [`sketch`](crate::sketch).

mod document;
mod expand;
mod groups;
mod loops;
mod space;

use std::sync::Arc;

use faying_standards::Finding;
use serde::Serialize;

use document::Document;
use expand::{Expanded, expand};
use groups::Slip;

/// Most things placed from one drawing, copies in blocks included. Our own
/// limit: a few hundred times a large part, and a second or so of work.
pub const MOST_COPIES: usize = 1_000_000;
/// Deepest nesting of block references. Our own limit.
pub const MOST_NESTED: usize = 32;
/// Largest file, bytes. Our own limit.
pub const MOST_BYTES: usize = 256 << 20;

/// The unit a drawing is in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum DrawingUnits {
    /// Inch.
    Inch,
    /// Foot.
    Foot,
    /// Yard.
    Yard,
    /// Thousandth of an inch.
    Mil,
    /// Millionth of an inch.
    Microinch,
    /// Millimetre.
    Millimetre,
    /// Centimetre.
    Centimetre,
    /// Decimetre.
    Decimetre,
    /// Metre.
    Metre,
    /// Micrometre.
    Micrometre,
}

impl DrawingUnits {
    /// From `$INSUNITS`, by the DXF reference; nothing for 0 (no unit) and for units no part is drawn in.
    #[must_use]
    pub const fn from_header(code: i64) -> Option<Self> {
        Some(match code {
            1 => Self::Inch,
            2 => Self::Foot,
            4 => Self::Millimetre,
            5 => Self::Centimetre,
            6 => Self::Metre,
            8 => Self::Microinch,
            9 => Self::Mil,
            10 => Self::Yard,
            13 => Self::Micrometre,
            14 => Self::Decimetre,
            _ => return None,
        })
    }

    /// One unit in inches. Metric units are derived from the exact inch of 25.4 mm.
    #[must_use]
    pub const fn in_inches(self) -> f64 {
        const MM: f64 = 1.0 / 25.4;
        match self {
            Self::Inch => 1.0,
            Self::Foot => 12.0,
            Self::Yard => 36.0,
            Self::Mil => 1e-3,
            Self::Microinch => 1e-6,
            Self::Millimetre => MM,
            Self::Centimetre => 10.0 * MM,
            Self::Decimetre => 100.0 * MM,
            Self::Metre => 1000.0 * MM,
            Self::Micrometre => 1e-3 * MM,
        }
    }

    /// Whether it is a metric unit.
    #[must_use]
    pub const fn is_metric(self) -> bool {
        matches!(self, Self::Millimetre | Self::Centimetre | Self::Decimetre | Self::Metre | Self::Micrometre)
    }

    /// The abbreviation, as it is also read by [`DrawingUnits::read`].
    #[must_use]
    pub const fn symbol(self) -> &'static str {
        match self {
            Self::Inch => "in",
            Self::Foot => "ft",
            Self::Yard => "yd",
            Self::Mil => "mil",
            Self::Microinch => "microinch",
            Self::Millimetre => "mm",
            Self::Centimetre => "cm",
            Self::Decimetre => "dm",
            Self::Metre => "m",
            Self::Micrometre => "micrometre",
        }
    }

    /// The unit a builder wrote: `in`, `mm`, `ft` …
    #[must_use]
    pub fn read(text: &str) -> Option<Self> {
        Some(match text.trim().to_lowercase().as_str() {
            "in" | "inch" | "inches" | "\"" => Self::Inch,
            "ft" | "foot" | "feet" => Self::Foot,
            "yd" | "yard" => Self::Yard,
            "mil" | "thou" => Self::Mil,
            "microinch" => Self::Microinch,
            "mm" | "millimetre" | "millimeter" => Self::Millimetre,
            "cm" | "centimetre" | "centimeter" => Self::Centimetre,
            "dm" | "decimetre" => Self::Decimetre,
            "m" | "metre" | "meter" => Self::Metre,
            "micrometre" | "micron" => Self::Micrometre,
            _ => return None,
        })
    }
}

/// A circle of the drawing's own geometry, in drawing units.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Circle {
    /// Centre, to the right.
    pub x: f64,
    /// Centre, upwards.
    pub y: f64,
    /// Diameter, above zero.
    pub diameter: f64,
    /// Layer; inside a block, layer 0 stands for the layer of the reference.
    pub layer: Arc<str>,
    /// Invisible, or on a layer that is switched off or frozen.
    pub hidden: bool,
    /// Lies in the plane of the drawing; if not, its centre is still right and the hole is seen aslant.
    pub flat: bool,
}

/// A corner of an outline and the piece that goes on from it.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Corner {
    /// To the right, drawing units.
    pub x: f64,
    /// Upwards, drawing units.
    pub y: f64,
    /// Tangent of a quarter of the angle the arc to the next corner sweeps;
    /// above zero counter-clockwise, zero for a straight line.
    pub bulge: f64,
}

/// How an outline was drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Drawn {
    /// As one closed polyline.
    Polyline,
    /// As separate lines and arcs whose ends meet.
    Chained,
}

/// A closed loop, counter-clockwise.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Outline {
    /// Corners in order; the last joins the first.
    pub path: Vec<Corner>,
    /// Layer of its first piece.
    pub layer: Arc<str>,
    /// How it was drawn.
    pub drawn: Drawn,
}

impl Outline {
    /// A loop turned counter-clockwise, or nothing where it encloses nothing.
    fn closed(mut path: Vec<Corner>, layer: Arc<str>, drawn: Drawn) -> Option<Self> {
        let area = signed_area(&path);
        if !(area.is_finite() && area != 0.0) {
            return None;
        }
        if area < 0.0 {
            // Backwards, each bulge belongs to the piece before, and turns the other way.
            path.reverse();
            let bulges: Vec<f64> = path.iter().map(|corner| -corner.bulge).collect();
            let count = path.len();
            for (at, corner) in path.iter_mut().enumerate() {
                corner.bulge = bulges[(at + 1) % count];
            }
        }
        for corner in &mut path {
            // No negative zero in what is printed.
            corner.bulge += 0.0;
        }
        Some(Self { path, layer, drawn })
    }

    /// Area enclosed, square drawing units.
    #[must_use]
    pub fn area(&self) -> f64 {
        signed_area(&self.path)
    }

    /// Least and greatest x and y, arcs included, drawing units.
    #[must_use]
    pub fn extent(&self) -> [f64; 4] {
        let mut extent = [f64::INFINITY, f64::INFINITY, f64::NEG_INFINITY, f64::NEG_INFINITY];
        let mut grow = |x: f64, y: f64| {
            extent = [extent[0].min(x), extent[1].min(y), extent[2].max(x), extent[3].max(y)];
        };
        for (from, to) in sides(&self.path) {
            grow(from.x, from.y);
            if let Some(([cx, cy], radius)) = arc(from, to) {
                let start = (from.y - cy).atan2(from.x - cx);
                for quarter in 0..4 {
                    let angle = f64::from(quarter) * std::f64::consts::FRAC_PI_2;
                    let turned = if from.bulge > 0.0 { angle - start } else { start - angle };
                    if turned.rem_euclid(std::f64::consts::TAU) < loops::sweep(from.bulge).abs() {
                        grow(cx + radius * angle.cos(), cy + radius * angle.sin());
                    }
                }
            }
        }
        extent
    }

    /// Centre and diameter, where the loop is a circle in pieces.
    ///
    /// # Units
    /// - `slack`: how far the pieces may differ in centre and radius, drawing units
    #[must_use]
    pub fn round(&self, slack: f64) -> Option<([f64; 2], f64)> {
        let arcs: Option<Vec<_>> = sides(&self.path).map(|(from, to)| arc(from, to)).collect();
        let arcs = arcs?;
        let &([x, y], radius) = arcs.first()?;
        let same =
            arcs.iter().all(|&([cx, cy], r)| (cx - x).hypot(cy - y) <= slack && (r - radius).abs() <= slack);
        let swept: f64 = self.path.iter().map(|corner| loops::sweep(corner.bulge)).sum();
        (same && (swept - std::f64::consts::TAU).abs() < 1e-3).then_some(([x, y], 2.0 * radius))
    }

    /// Left, bottom, width and height, where the loop is a rectangle along the axes.
    ///
    /// # Units
    /// - `slack`: how far a corner may be off, drawing units
    #[must_use]
    pub fn rectangle(&self, slack: f64) -> Option<[f64; 4]> {
        if self.path.len() != 4 || self.path.iter().any(|corner| corner.bulge != 0.0) {
            return None;
        }
        let [left, bottom, right, top] = self.extent();
        let off = |value: f64, a: f64, b: f64| (value - a).abs().min((value - b).abs());
        let square =
            self.path.iter().all(|c| off(c.x, left, right) <= slack && off(c.y, bottom, top) <= slack);
        let area = (right - left) * (top - bottom);
        let full = (self.area() - area).abs() <= slack * 2.0 * ((right - left) + (top - bottom));
        (square && full).then_some([left, bottom, right - left, top - bottom])
    }

    /// The loop as straight pieces, arcs in steps of at most a sixteenth of a turn.
    #[must_use]
    pub fn flattened(&self) -> Vec<[f64; 2]> {
        let mut points = Vec::with_capacity(self.path.len());
        for (from, to) in sides(&self.path) {
            points.push([from.x, from.y]);
            if let Some(([cx, cy], radius)) = arc(from, to) {
                let sweep = loops::sweep(from.bulge);
                let start = (from.y - cy).atan2(from.x - cx);
                let steps = (sweep.abs() / (std::f64::consts::TAU / 16.0)).ceil().clamp(1.0, 16.0) as u32;
                for step in 1..steps {
                    let angle = start + sweep * f64::from(step) / f64::from(steps);
                    points.push([cx + radius * angle.cos(), cy + radius * angle.sin()]);
                }
            }
        }
        points
    }
}

/// The pieces of a closed path: each corner with the next.
fn sides(path: &[Corner]) -> impl Iterator<Item = (Corner, Corner)> + '_ {
    path.iter().zip(path.iter().cycle().skip(1)).map(|(from, to)| (*from, *to))
}

/// Centre and radius of the arc from one corner to the next; nothing for a straight piece.
fn arc(from: Corner, to: Corner) -> Option<([f64; 2], f64)> {
    let (dx, dy) = (to.x - from.x, to.y - from.y);
    let bulge = from.bulge;
    if bulge == 0.0 || (dx == 0.0 && dy == 0.0) {
        return None;
    }
    // The centre lies on the perpendicular of the chord, (1 − b²)/4b chords to the left of its middle.
    let across = (1.0 - bulge * bulge) / (4.0 * bulge);
    let centre = [(from.x + to.x) / 2.0 - dy * across, (from.y + to.y) / 2.0 + dx * across];
    let radius = (from.x - centre[0]).hypot(from.y - centre[1]);
    radius.is_finite().then_some((centre, radius))
}

/// Area of a closed path, above zero counter-clockwise, arcs included.
fn signed_area(path: &[Corner]) -> f64 {
    let Some(origin) = path.first() else { return 0.0 };
    sides(path)
        .map(|(from, to)| {
            // About the first corner, so that a small part far from the origin keeps its digits.
            let cross = (from.x - origin.x) * (to.y - origin.y) - (to.x - origin.x) * (from.y - origin.y);
            cross / 2.0 + loops::segment_area((to.x - from.x).hypot(to.y - from.y), from.bulge)
        })
        .sum()
}

/// A straight line that a drawing marks as a bend, or may mean as one.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Bend {
    /// One end, drawing units.
    pub from: [f64; 2],
    /// The other end, drawing units.
    pub to: [f64; 2],
    /// Layer; inside a block, layer 0 stands for the layer of the reference.
    pub layer: Arc<str>,
    /// Known by its centre linetype alone, so that it may be an axis as well.
    pub maybe_axis: bool,
    /// Name of the record it came from, for what is left.
    #[serde(skip)]
    what: Arc<str>,
}

impl Bend {
    /// Kind, by the name the drawing uses: `LINE`.
    #[must_use]
    pub fn what(&self) -> &str {
        &self.what
    }
}

/// Something of the drawing that was not taken.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Left {
    /// Kind, by the name the drawing uses: `HATCH`, `LINE`.
    pub what: String,
    /// How many.
    pub count: usize,
    /// Why.
    pub why: String,
}

/// Records met, copies in blocks included, for checking against another reader.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Counted {
    /// Circles, those without a radius included.
    pub circles_all: usize,
    /// Polylines of the newer kind.
    pub lwpolylines: usize,
    /// Polylines of the older kind, meshes left out.
    pub polylines: usize,
    /// Lines.
    pub lines: usize,
    /// Arcs.
    pub arcs: usize,
}

/// What a DXF file holds.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Drawing {
    /// Version as the header has it, such as `AC1015`; R12 may have none.
    pub version: Option<String>,
    /// Unit of the header; nothing where it gives none.
    pub units: Option<DrawingUnits>,
    /// Every circle with a radius, in drawing order.
    pub circles: Vec<Circle>,
    /// Closed loops: polylines first, then chained ones.
    pub outlines: Vec<Outline>,
    /// Straight bend lines, and centre lines that may be bends, in drawing order.
    pub bends: Vec<Bend>,
    /// What was not taken, and why.
    pub left: Vec<Left>,
    /// What was wrong or wants a look.
    pub findings: Vec<Finding>,
    /// Records met.
    pub counted: Counted,
}

/// Gap at which ends are joined, inches: less than the kerf of any cutter, more than rounding. Our own value.
const JOIN_GAP_IN: f64 = 0.002;
/// The same where the unit is not known, as a part of the drawing's larger extent.
const JOIN_GAP_PART: f64 = 2e-5;

/// Reads a DXF file. Never fails: what is wrong with the file is among the findings.
///
/// ```
/// let drawing = faying_import::read(b"0\nSECTION\n2\nENTITIES\n0\nCIRCLE\n10\n1\n20\n2\n40\n.049\n0\nENDSEC\n0\nEOF\n");
/// assert_eq!((drawing.circles[0].x, drawing.circles[0].diameter), (1.0, 0.098));
/// assert_eq!(drawing.findings[0].kind, "no-units");
/// ```
#[must_use]
pub fn read(bytes: &[u8]) -> Drawing {
    if let Some(finding) = not_dxf(bytes) {
        return Drawing { findings: vec![finding], ..Drawing::default() };
    }
    let document = Document::read(bytes);
    let mut findings = Vec::new();
    if document.sections == 0 {
        findings.push(Finding::wrong(
            "not-dxf",
            "this file has no section of a DXF drawing",
            "save the drawing again as DXF, R12 or later, ASCII or binary",
        ));
    }
    let units = document.units.and_then(DrawingUnits::from_header);
    let mut placed = expand(&document);
    about_the_file(&document, units, &mut findings);
    about_the_records(&document, &placed, &mut findings);

    let mut outlines = Vec::new();
    for ring in std::mem::take(&mut placed.rings) {
        let name = if ring.corners.len() == 1 { "POINT" } else { "polyline" };
        match Outline::closed(ring.corners, ring.layer, Drawn::Polyline) {
            Some(outline) => outlines.push(outline),
            None => placed.tally.add(name, "encloses nothing"),
        }
    }
    let gap = join_gap(units, &placed);
    let (chained, forks) = loops::chain(std::mem::take(&mut placed.pieces), gap, &mut placed.tally);
    outlines.extend(chained);
    if let Some(fork) = forks.first() {
        let [x, y] = fork.at;
        findings.push(Finding::look(
            "fork",
            format!(
                "{} loops have corners where more than two lines meet; the first is at ({x:.4}, {y:.4}), where {} meet",
                forks.len(),
                fork.pieces
            ),
            "the outer edge is taken; look whether that is the part",
        ));
    }
    Drawing {
        version: document.version,
        units,
        circles: placed.circles,
        outlines,
        bends: placed.bends,
        left: placed.tally.left,
        findings,
        counted: placed.counted,
    }
}

/// Files that are something else, by their first bytes.
fn not_dxf(bytes: &[u8]) -> Option<Finding> {
    let wrong = |what: String| {
        Some(Finding::wrong("not-dxf", what, "save the drawing as DXF, R12 or later, ASCII or binary"))
    };
    if bytes.trim_ascii().is_empty() {
        return wrong("the file is empty".to_owned());
    }
    if bytes.len() > MOST_BYTES {
        return wrong(format!("the file has {} bytes; drawings are read up to {MOST_BYTES}", bytes.len()));
    }
    for (start, what) in [
        (&b"AC10"[..], "a DWG file"),
        (b"%PDF", "a PDF file"),
        (b"PK\x03\x04", "a packed (zip) file"),
        (b"<?xml", "an XML file"),
        (b"<svg", "an SVG file"),
    ] {
        if bytes.starts_with(start) {
            return wrong(format!("this is {what}, not DXF"));
        }
    }
    None
}

/// Findings about the file as a whole: unit, end, lines that could not be followed.
fn about_the_file(document: &Document, units: Option<DrawingUnits>, findings: &mut Vec<Finding>) {
    let line = if document.binary { "byte" } else { "line" };
    for slip in document.slips.iter().take(5) {
        findings.push(match *slip {
            Slip::NotACode { line, resumed: Some(resumed) } => Finding::wrong(
                "broken-file",
                format!("line {line} should hold a group code and does not"),
                format!("read on from the record at line {resumed}; compare with the drawing"),
            ),
            Slip::NotACode { line, resumed: None } => Finding::wrong(
                "broken-file",
                format!("line {line} should hold a group code and does not; no record follows"),
                "what stands before it was read; save the drawing again",
            ),
            Slip::CutShort { at } => Finding::wrong(
                "cut-short",
                format!("the file stops inside a group, at {line} {at}"),
                "what stands before it was read; save the drawing again",
            ),
        });
    }
    if document.slips.len() > 5 {
        findings.push(Finding::wrong(
            "broken-file",
            format!("{} more places could not be followed", document.slips.len() - 5),
            "save the drawing again",
        ));
    }
    if !document.ended && document.slips.is_empty() && document.sections > 0 {
        findings.push(Finding::look(
            "cut-short",
            "the file has no end mark (EOF)",
            "it may be cut short: compare the number of holes with the drawing",
        ));
    }
    if document.stray > 0 {
        findings.push(Finding::wrong(
            "stray",
            format!("{} records of geometry stand outside every section and were not read", document.stray),
            "save the drawing again",
        ));
    }
    if units.is_none() && document.sections > 0 {
        let hint = match document.metric {
            Some(true) => "; $MEASUREMENT says metric, which is a hint only",
            Some(false) => "; $MEASUREMENT says inch, which is a hint only",
            None => "",
        };
        let what = match document.units {
            Some(code) if code != 0 => format!("$INSUNITS is {code}, a unit no part is drawn in{hint}"),
            _ => format!("the drawing does not say its unit{hint}"),
        };
        findings.push(Finding::look("no-units", what, "say whether it is drawn in inches or millimetres"));
    }
}

/// Findings about records and blocks.
fn about_the_records(document: &Document, placed: &Expanded, findings: &mut Vec<Finding>) {
    let place = if document.binary { "byte" } else { "line" };
    for (name, at, code) in placed.broken.iter().take(5) {
        findings.push(Finding::wrong(
            "broken-record",
            format!("a {name} near {place} {at} has no readable number for group {code}"),
            "it was left out; mend the drawing or add the hole by hand",
        ));
    }
    if placed.broken.len() > 5 {
        findings.push(Finding::wrong(
            "broken-record",
            format!("{} more records have numbers missing", placed.broken.len() - 5),
            "they were left out; mend the drawing",
        ));
    }
    for name in placed.missing.iter().take(5) {
        findings.push(Finding::look(
            "no-block",
            format!("the block \"{name}\" is used and is not in the file"),
            "what it holds was not read",
        ));
    }
    for name in placed.cyclic.iter().take(5) {
        findings.push(Finding::wrong(
            "block-in-itself",
            format!("the block \"{name}\" holds itself"),
            "the inner copies were left out",
        ));
    }
    if placed.too_many {
        findings.push(Finding::wrong(
            "too-many-copies",
            format!("the drawing places more than {MOST_COPIES} things, copies in blocks included"),
            "the rest was not read; save only the part, without arrays of blocks",
        ));
    }
    if placed.too_deep {
        findings.push(Finding::wrong(
            "nested-too-deep",
            format!("blocks are nested more than {MOST_NESTED} deep"),
            "what lies deeper was not read; explode the blocks first",
        ));
    }
    let hidden = placed.circles.iter().filter(|circle| circle.hidden).count();
    if hidden > 0 {
        findings.push(Finding::look(
            "hidden",
            format!("{hidden} circles are invisible or on layers that are switched off"),
            "they are read, but not taken into a sketch",
        ));
    }
}

/// # Units
/// - returns: drawing units
fn join_gap(units: Option<DrawingUnits>, placed: &Expanded) -> f64 {
    if let Some(units) = units {
        return JOIN_GAP_IN / units.in_inches();
    }
    let mut extent = [f64::INFINITY, f64::INFINITY, f64::NEG_INFINITY, f64::NEG_INFINITY];
    for [x, y] in placed.pieces.iter().flat_map(|piece| [piece.from, piece.to]) {
        extent = [extent[0].min(x), extent[1].min(y), extent[2].max(x), extent[3].max(y)];
    }
    let larger = (extent[2] - extent[0]).max(extent[3] - extent[1]);
    let farthest = extent.iter().fold(0.0, |far: f64, part| far.max(part.abs()));
    // Never finer than the digits of the coordinates, and never nothing.
    let gap = (larger * JOIN_GAP_PART).max(farthest * 1e-12).max(1e-12);
    if gap.is_finite() { gap } else { JOIN_GAP_PART }
}
