//! A plane of an assembly with its parts, rows and holes.
//!
//! What is nearest the viewer is drawn in full, what it hides is dashed. The
//! far side is the near side turned over left for right, and so is the other
//! hand of a mirrored assembly; up stays up. A plane that is too long for the
//! width asked for is broken into strips at the same scale, between two holes.
//!
//! Holes are drawn as symbols of one size, not at their diameter: at the scale
//! of a whole wing skin a rivet would be a dot. How each stands is asked of
//! the caller; nothing here knows an event.

use std::collections::{BTreeMap, BTreeSet, HashMap, HashSet};
use std::fmt::Write as _;

use faying_plan::{HoleId, PieceId, Plan, PlaneId, RowId, Side};

use crate::foot::{Entry, legend, nothing, scale_bar, title_block};
use crate::marks::{Anchor, Dash, Drawing, Fill, Group, Mark, PX_PER_INCH, Role, Shape, Stroke, Text};
use crate::outline::{Face, Window, clip_line, clip_ring, edges, in_view};
use crate::room::{Bounds, Taken, text_bounds};
use crate::symbol::{HoleLook, HoleState, LETTER};
use crate::text::{CAPITAL, width};

mod spacing;

pub use spacing::{SpacingDimension, SpacingMark};

/// How large the plane is drawn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Scale {
    /// As large as the width allows.
    Fit,
    /// An inch of paper for so many inches of the part: 1 is full size, 4 a quarter.
    OneTo(f64),
}

/// How a plane is shown.
#[derive(Clone)]
pub struct PlaneOptions<'o> {
    /// Prefix of the drawing's ids.
    pub key: String,
    /// Width of the drawing, px.
    pub width: f64,
    /// Greatest height of the plane itself, px; only [`Scale::Fit`] minds it.
    pub max_height: f64,
    /// How large.
    pub scale: Scale,
    /// Only what lies here: low x, low y, high x, high y, in, as seen from the near side.
    pub window: Option<[f64; 4]>,
    /// Broken into strips until none is longer than this many times its height.
    pub max_aspect: Option<f64>,
    /// Broken into strips until most holes are this far from their neighbour, px; at most eight strips.
    pub least_pitch: f64,
    /// Whether each hole takes a finger.
    pub touch: bool,
    /// Pieces that come with a later step: drawn as phantoms, hiding nothing.
    pub later: Vec<PieceId>,
    /// Where a hole leads, if anywhere.
    pub link: Option<&'o dyn Fn(HoleId) -> String>,
    /// What the letters beside holes mean, for the legend.
    pub letters: Vec<(char, String)>,
    /// Holes that are under a rule of spacing, the worst first.
    pub spacing: Vec<SpacingMark>,
    /// Whether there is a title block.
    pub title_block: bool,
    /// Plan revision, as text.
    pub revision: String,
    /// Date, as text.
    pub date: String,
    /// Where this stands in the builder's own plans.
    pub sheet: String,
}

impl Default for PlaneOptions<'_> {
    fn default() -> Self {
        Self {
            key: "plane".to_owned(),
            width: 1180.0,
            max_height: 900.0,
            scale: Scale::Fit,
            window: None,
            max_aspect: None,
            least_pitch: 12.0,
            touch: false,
            later: Vec::new(),
            link: None,
            letters: Vec::new(),
            spacing: Vec::new(),
            title_block: true,
            revision: String::new(),
            date: String::new(),
            sheet: String::new(),
        }
    }
}

/// Least radius of a hole's area for a finger, px.
pub const TOUCH_RADIUS: f64 = 12.0;

const NUMBER: f64 = 11.0;
const NAME: f64 = 13.0;
/// Left and right of the plane, px: a row's name, a ring.
const SIDE_MARGIN: [f64; 2] = [30.0, 16.0];
/// Above and below each strip, px: a line of numbers.
const STRIP_MARGIN: [f64; 2] = [26.0, 22.0];
const MOST_STRIPS: usize = 8;
/// Holes further apart than this are no neighbours, in.
const FURTHEST_NEIGHBOUR: f64 = 6.0;

/// A plane with its holes as the caller says they stand.
#[must_use]
pub fn plane_drawing(
    plan: &Plan,
    plane: PlaneId,
    side: Side,
    look: &dyn Fn(HoleId) -> HoleLook,
    options: &PlaneOptions<'_>,
) -> Drawing {
    let view = View::new(plan, plane, side, look, options);
    let mut sheet = Sheet::new(&view);
    let strips = view.strips();
    let bottom = sheet.strips(&strips);
    let height = sheet.foot(&strips, bottom);
    Drawing {
        key: options.key.clone(),
        width: view.full_width(&strips),
        height: height.ceil(),
        title: view.title(),
        description: view.description(&strips),
        marks: sheet.marks,
    }
}

/// A hole as seen: turned over where the view is.
#[derive(Clone, Copy)]
pub(crate) struct Seen {
    pub(crate) hole: HoleId,
    pub(crate) row: RowId,
    pub(crate) at: [f64; 2],
    pub(crate) look: HoleLook,
}

/// A layer as seen.
pub(crate) struct SeenLayer {
    piece: PieceId,
    face: Face,
    later: bool,
}

/// The plane turned to the viewer, in inches.
pub(crate) struct View<'a> {
    plan: &'a Plan,
    plane: PlaneId,
    side: Side,
    pub(crate) flip: bool,
    layers: Vec<SeenLayer>,
    pub(crate) holes: Vec<Seen>,
    options: &'a PlaneOptions<'a>,
}

/// A stretch of the plane and where it goes.
pub(crate) struct Strip {
    pub(crate) window: Window,
    /// Upper left corner, px.
    pub(crate) origin: [f64; 2],
    /// Px to the inch.
    pub(crate) scale: f64,
    /// Radius of a hole, px.
    pub(crate) radius: f64,
    /// Whether the plane goes on beyond each edge: left, right, below, above.
    pub(crate) goes_on: [bool; 4],
}

impl Strip {
    pub(crate) fn px(&self, [x, y]: [f64; 2]) -> [f64; 2] {
        [
            self.origin[0] + (x - self.window[0]) * self.scale,
            self.origin[1] + (self.window[3] - y) * self.scale,
        ]
    }

    fn height(&self) -> f64 {
        (self.window[3] - self.window[1]) * self.scale
    }

    fn has(&self, [x, y]: [f64; 2]) -> bool {
        let [low_x, low_y, high_x, high_y] = self.window;
        low_x <= x && (x < high_x || (x == high_x && !self.goes_on[1])) && low_y <= y && y <= high_y
    }

    /// Where labels of this strip may stand.
    fn band(&self, full_width: f64) -> Bounds {
        [
            3.0,
            self.origin[1] - STRIP_MARGIN[0] + 2.0,
            full_width - 3.0,
            self.origin[1] + self.height() + STRIP_MARGIN[1] - 2.0,
        ]
    }
}

impl<'a> View<'a> {
    pub(crate) fn new(
        plan: &'a Plan,
        plane: PlaneId,
        side: Side,
        look: &dyn Fn(HoleId) -> HoleLook,
        options: &'a PlaneOptions<'a>,
    ) -> Self {
        let flip = (side == Side::Far) != plan[plan[plane].assembly].mirrored;
        let turned = |[x, y]: [f64; 2]| if flip { [-x, y] } else { [x, y] };
        // At full size a hundredth of an inch is a corner that is seen.
        let chord_in = match options.scale {
            Scale::Fit => 0.01,
            Scale::OneTo(ratio) => (0.001 * ratio).clamp(1e-4, 0.01),
        };
        let mut layers: Vec<SeenLayer> = plan[plane]
            .layers
            .iter()
            .map(|layer| SeenLayer {
                piece: layer.piece,
                later: options.later.contains(&layer.piece),
                face: Face {
                    rings: layer
                        .outline
                        .iter()
                        .chain(&layer.cuts)
                        .map(|ring| ring.flattened(chord_in).into_iter().map(turned).collect())
                        .collect(),
                    everywhere: layer.outline.is_none(),
                },
            })
            .collect();
        if side == Side::Far {
            layers.reverse();
        }
        let holes = plan[plane]
            .rows
            .iter()
            .flat_map(|&row| plan[row].hole_ids().map(move |hole| (row, hole)))
            .filter_map(|(row, hole)| {
                let at = turned(plan[hole].at?.inches());
                Some(Seen { hole, row, at, look: look(hole) })
            })
            .collect();
        Self { plan, plane, side, flip, layers, holes, options }
    }

    /// The box around everything drawn, or around nothing at all.
    pub(crate) fn extent(&self) -> Option<Window> {
        let points = self.layers.iter().flat_map(|layer| layer.face.rings.iter().flatten());
        let bends = self.bends().flatten();
        let holes = self.holes.iter().map(|hole| hole.at);
        let mut extent: Option<Window> = None;
        for [x, y] in points.copied().chain(bends).chain(holes) {
            let [low_x, low_y, high_x, high_y] = extent.unwrap_or([x, y, x, y]);
            extent = Some([low_x.min(x), low_y.min(y), high_x.max(x), high_y.max(y)]);
        }
        // A single line of holes has no height of its own.
        extent.map(|[low_x, low_y, high_x, high_y]| {
            let grow = |low: f64, high: f64| if high - low < 0.5 { 0.25 } else { 0.0 };
            let (x, y) = (grow(low_x, high_x), grow(low_y, high_y));
            [low_x - x, low_y - y, high_x + x, high_y + y]
        })
    }

    fn bends(&self) -> impl Iterator<Item = [[f64; 2]; 2]> + '_ {
        let turned = |[x, y]: [f64; 2]| if self.flip { [-x, y] } else { [x, y] };
        self.plan[self.plane].bends.iter().map(move |bend| bend.map(|point| turned(point.inches())))
    }

    fn room(&self) -> f64 {
        (self.options.width - SIDE_MARGIN[0] - SIDE_MARGIN[1]).max(60.0)
    }

    fn strips(&self) -> Vec<Strip> {
        let Some(extent) = self.extent() else { return Vec::new() };
        let shown = match self.options.window {
            None => extent,
            Some([a, low, b, high]) => {
                let (a, b) = if self.flip { (-b, -a) } else { (a, b) };
                [a.min(b), low.min(high), a.max(b).max(a.min(b) + 0.01), high.max(low + 0.01)]
            }
        };
        let (near, usual) = self.distances(shown);
        let stretches = self.stretches(shown, usual);
        let scale = self.scale_of(&stretches, shown[3] - shown[1]);
        let radius = (0.36 * near * scale).clamp(2.4, 8.0);
        let longest = stretches.iter().map(|(low, high)| high - low).fold(0.0, f64::max);
        let left = SIDE_MARGIN[0] + ((self.room() - longest * scale) / 2.0).max(0.0);
        let mut top = 0.0;
        let last = stretches.len() - 1;
        stretches
            .iter()
            .enumerate()
            .map(|(index, &(low, high))| {
                top += STRIP_MARGIN[0];
                let strip = Strip {
                    window: [low, shown[1], high, shown[3]],
                    origin: [left, top],
                    scale,
                    radius,
                    goes_on: [
                        index > 0 || extent[0] < shown[0] - 1e-6,
                        index < last || extent[2] > shown[2] + 1e-6,
                        extent[1] < shown[1] - 1e-6,
                        extent[3] > shown[3] + 1e-6,
                    ],
                };
                top += strip.height() + STRIP_MARGIN[1];
                strip
            })
            .collect()
    }

    fn scale_of(&self, stretches: &[(f64, f64)], high: f64) -> f64 {
        let longest = stretches.iter().map(|(low, high)| high - low).fold(0.0, f64::max);
        match self.options.scale {
            Scale::OneTo(ratio) => PX_PER_INCH / ratio,
            Scale::Fit => {
                (self.room() / longest).min(self.options.max_height / (high * stretches.len() as f64))
            }
        }
    }

    /// Stretches of x, cut between holes so that each hole lies in one.
    fn stretches(&self, shown: Window, usual: f64) -> Vec<(f64, f64)> {
        let long = shown[2] - shown[0];
        let high = shown[3] - shown[1];
        let enough = |stretches: &[(f64, f64)]| {
            let longest = stretches.iter().map(|(low, high)| high - low).fold(0.0, f64::max);
            match self.options.scale {
                Scale::OneTo(ratio) => longest * PX_PER_INCH / ratio <= self.room() + 1e-6,
                Scale::Fit => {
                    let aspect = self.options.max_aspect.is_none_or(|most| longest <= most * high + 1e-6);
                    // Breaking helps only what is held down by its width.
                    let by_width =
                        self.room() / longest * high * stretches.len() as f64 <= self.options.max_height;
                    aspect && (usual * self.room() / longest >= self.options.least_pitch || !by_width)
                }
            }
        };
        let most = match self.options.scale {
            Scale::OneTo(_) => 200,
            Scale::Fit => MOST_STRIPS,
        };
        let mut best = vec![(shown[0], shown[2])];
        for count in 1..=most {
            best = self.cut(shown[0], long, count);
            if enough(&best) {
                break;
            }
        }
        best
    }

    fn cut(&self, low: f64, long: f64, count: usize) -> Vec<(f64, f64)> {
        let mut places: Vec<f64> = self.holes.iter().map(|hole| hole.at[0]).collect();
        places.sort_by(f64::total_cmp);
        places.dedup_by(|a, b| (*a - *b).abs() < 0.02);
        let gaps: Vec<f64> = places.windows(2).map(|pair| f64::midpoint(pair[0], pair[1])).collect();
        let mut bounds = vec![low];
        for part in 1..count {
            let wanted = low + long * part as f64 / count as f64;
            let after = bounds.last().copied().unwrap_or(low);
            let nearest = gaps
                .iter()
                .copied()
                .filter(|gap| *gap > after && (gap - wanted).abs() < long / count as f64 / 2.0)
                .min_by(|a, b| (a - wanted).abs().total_cmp(&(b - wanted).abs()));
            bounds.push(nearest.unwrap_or(wanted));
        }
        bounds.push(low + long);
        bounds.windows(2).map(|pair| (pair[0], pair[1])).collect()
    }

    /// Distance from a hole to its nearest neighbour, in: the least and the median; 1 without neighbours.
    fn distances(&self, shown: Window) -> (f64, f64) {
        let mut places: Vec<[f64; 2]> = self
            .holes
            .iter()
            .map(|hole| hole.at)
            .filter(|[x, y]| shown[0] <= *x && *x <= shown[2] && shown[1] <= *y && *y <= shown[3])
            .collect();
        places.sort_by(|a, b| a[0].total_cmp(&b[0]));
        let mut nearest = vec![f64::INFINITY; places.len()];
        for i in 0..places.len() {
            for j in i + 1..places.len() {
                let [dx, dy] = [places[j][0] - places[i][0], places[j][1] - places[i][1]];
                // Sorted by x, so no later one is within reach either.
                if dx > FURTHEST_NEIGHBOUR {
                    break;
                }
                let distance = dx.hypot(dy);
                if distance > 1e-3 {
                    nearest[i] = nearest[i].min(distance);
                    nearest[j] = nearest[j].min(distance);
                }
            }
        }
        nearest.retain(|distance| distance.is_finite());
        nearest.sort_by(f64::total_cmp);
        match nearest.first() {
            Some(&least) => (least, nearest[nearest.len() / 2]),
            None => (1.0, 1.0),
        }
    }

    fn full_width(&self, strips: &[Strip]) -> f64 {
        strips
            .iter()
            .map(|strip| SIDE_MARGIN[0] + SIDE_MARGIN[1] + (strip.window[2] - strip.window[0]) * strip.scale)
            .fold(self.options.width, f64::max)
            .ceil()
    }

    pub(crate) fn assembly_title(&self) -> String {
        let assembly = &self.plan[self.plan[self.plane].assembly];
        let title = if assembly.title.is_empty() { &assembly.id } else { &assembly.title };
        match assembly.mirror_of {
            Some(other) => format!("{title} (other hand of {})", self.plan[other].id),
            None => title.clone(),
        }
    }

    pub(crate) fn plane_title(&self) -> &str {
        let plane = &self.plan[self.plane];
        if plane.title.is_empty() { &plane.name } else { &plane.title }
    }

    pub(crate) fn title(&self) -> String {
        let side = self.plan[self.plane].side_name(self.side);
        format!("{}, {}, seen from {side}", self.assembly_title(), self.plane_title())
    }

    fn description(&self, strips: &[Strip]) -> String {
        let shown: Vec<&Seen> =
            self.holes.iter().filter(|hole| strips.iter().any(|strip| strip.has(hole.at))).collect();
        let mut text = match shown.len() {
            1 => "1 hole".to_owned(),
            count => format!("{count} holes"),
        };
        if shown.len() < self.holes.len() {
            let _ = write!(text, " of {}", self.holes.len());
        }
        let mut before = ": ";
        for state in HoleState::ALL {
            let count = shown.iter().filter(|hole| hole.look.state == state).count();
            if count > 0 {
                let _ = write!(text, "{before}{count} {}", state.words());
                before = "; ";
            }
        }
        text.push('.');
        text
    }
}

/// The drawing while it is made.
pub(crate) struct Sheet<'v, 'a> {
    view: &'v View<'a>,
    pub(crate) marks: Vec<Mark>,
    /// Holes and texts: nothing may fall on them.
    pub(crate) taken: Taken,
    /// Outlines: a text avoids them where it can.
    pub(crate) lines: Taken,
    kinds: BTreeMap<LineKind, BTreeSet<String>>,
    letters: HashMap<HoleId, Text>,
    /// Holes with a ring round them.
    ringed: HashSet<HoleId>,
    pub(crate) full_width: f64,
    /// No text leaves it, where there is one; px.
    pub(crate) frame: Option<Bounds>,
}

/// What a line of the drawing means.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum LineKind {
    Front,
    Behind,
    Later,
    Bend,
}

impl LineKind {
    const fn stroke(self) -> Stroke {
        match self {
            Self::Front => Stroke::solid(Role::Ink, 1.5),
            Self::Behind => Stroke::solid(Role::Faint, 1.2).dashed(Dash::Hidden),
            Self::Later => Stroke::solid(Role::Faint, 1.2).dashed(Dash::Phantom),
            Self::Bend => Stroke::solid(Role::Ink, 1.0).dashed(Dash::Chain),
        }
    }

    const fn words(self) -> &'static str {
        match self {
            Self::Front => "in front",
            Self::Behind => "behind",
            Self::Later => "part of a later step",
            Self::Bend => "bend",
        }
    }

    /// A sample for the legend.
    fn sample(self, [x, y]: [f64; 2]) -> Mark {
        match self {
            Self::Front => Mark::area(
                Shape::rectangle(x - 18.0, y - 6.0, 36.0, 12.0),
                Fill::Flat(Role::Wash),
                Some(self.stroke()),
            ),
            _ => Mark::straight([x - 18.0, y], [x + 18.0, y], self.stroke()),
        }
    }

    /// With the pieces' names while they are few: not each has room for its name in the plane.
    fn words_for(self, pieces: &BTreeSet<String>) -> String {
        if pieces.is_empty() || pieces.len() > 6 {
            return self.words().to_owned();
        }
        let names: Vec<&str> = pieces.iter().map(String::as_str).collect();
        format!("{}: {}", self.words(), names.join(", "))
    }
}

impl<'v, 'a> Sheet<'v, 'a> {
    pub(crate) fn new(view: &'v View<'a>) -> Self {
        Self {
            view,
            marks: Vec::new(),
            taken: Taken::default(),
            lines: Taken::default(),
            kinds: BTreeMap::new(),
            letters: HashMap::new(),
            ringed: view.options.spacing.iter().map(|mark| mark.hole).collect(),
            full_width: 0.0,
            frame: None,
        }
    }

    /// Draws every strip; returns where the last one ends, px.
    fn strips(&mut self, strips: &[Strip]) -> f64 {
        self.full_width = self.view.full_width(strips);
        for strip in strips {
            self.fills(strip);
            self.outlines(strip);
            self.bends(strip);
            self.breaks(strip);
        }
        for strip in strips {
            self.reserve(strip);
        }
        for strip in strips {
            self.letters(strip);
        }
        let mut dimensions = Vec::new();
        for strip in strips {
            dimensions.extend(self.spacing(strip));
        }
        let mut labels = Vec::new();
        for strip in strips {
            labels.extend(self.row_labels(strip));
            labels.extend(self.part_labels(strip));
        }
        // Texts below the circles: where a rim of paper meets a hole, the hole wins.
        self.marks.extend(labels.into_iter().map(Mark::Text));
        for strip in strips {
            self.holes(strip);
        }
        self.marks.extend(dimensions);
        match strips.last() {
            Some(strip) => strip.origin[1] + strip.height() + STRIP_MARGIN[1],
            None => {
                nothing(
                    &mut self.marks,
                    [self.full_width / 2.0, 40.0],
                    "No hole or outline is drawn in this plane.",
                );
                70.0
            }
        }
    }

    pub(crate) fn fills(&mut self, strip: &Strip) {
        let size = |layer: &SeenLayer| layer.face.rings.first().map_or(0.0, |ring| area(ring));
        let there = |layer: &&SeenLayer| !layer.later && !layer.face.everywhere;
        let largest = self.view.layers.iter().filter(there).map(size).fold(0.0, f64::max);
        let mut in_front = true;
        let mut areas = Vec::new();
        for layer in self.view.layers.iter().filter(there) {
            in_front &= size(layer) < largest;
            let mut shape = Shape::default();
            for ring in &layer.face.rings {
                let clipped = clip_ring(ring, strip.window);
                if clipped.len() > 2 {
                    shape.ring(&clipped.into_iter().map(|point| strip.px(point)).collect::<Vec<_>>());
                }
            }
            let role = if in_front { Role::Wash } else { Role::Paper };
            if !shape.0.is_empty() {
                if in_front {
                    let name = self.view.plan.piece_name(layer.piece);
                    self.kinds.entry(LineKind::Front).or_default().insert(name);
                }
                areas.push(Mark::area(shape, Fill::Flat(role), None));
            }
        }
        self.marks.extend(areas.into_iter().rev());
    }

    /// Hidden lines first, so that where two fall together the full one is seen.
    pub(crate) fn outlines(&mut self, strip: &Strip) {
        let mut full = Shape::default();
        let mut behind = Shape::default();
        let mut later = Shape::default();
        let mut nearer: Vec<Face> = Vec::new();
        for layer in &self.view.layers {
            let before = [behind.0.len(), later.0.len()];
            for ring in &layer.face.rings {
                let mut run = Run::default();
                for (from, to) in edges(ring) {
                    let Some((from, to)) = clip_line(from, to, strip.window) else { continue };
                    if layer.later {
                        run.add(&mut later, &mut behind, strip.px(from), strip.px(to), true);
                    } else {
                        for (a, b, seen) in in_view(from, to, &nearer) {
                            run.add(&mut full, &mut behind, strip.px(a), strip.px(b), seen);
                        }
                    }
                    self.lines.add_line(strip.px(from), strip.px(to));
                }
                let shape = if layer.later { &mut later } else { &mut full };
                run.end(shape, &mut behind);
            }
            let name = self.view.plan.piece_name(layer.piece);
            for (kind, grew) in
                [(LineKind::Behind, behind.0.len() > before[0]), (LineKind::Later, later.0.len() > before[1])]
            {
                if grew {
                    self.kinds.entry(kind).or_default().insert(name.clone());
                }
            }
            if !layer.later {
                nearer.push(Face { rings: layer.face.rings.clone(), everywhere: layer.face.everywhere });
            }
        }
        for (shape, kind) in [(behind, LineKind::Behind), (later, LineKind::Later)] {
            if !shape.0.is_empty() {
                self.marks.push(Mark::line(shape, kind.stroke()));
            }
        }
        if !full.0.is_empty() {
            self.marks.push(Mark::line(full, Stroke::solid(Role::Ink, 1.5)));
        }
    }

    pub(crate) fn bends(&mut self, strip: &Strip) {
        for [from, to] in self.view.bends() {
            if let Some((from, to)) = clip_line(from, to, strip.window) {
                let (from, to) = (strip.px(from), strip.px(to));
                self.lines.add_line(from, to);
                self.kinds.entry(LineKind::Bend).or_default();
                self.marks.push(Mark::straight(from, to, LineKind::Bend.stroke()));
            }
        }
    }

    /// A thin line with a kink where the plane goes on beyond the strip.
    fn breaks(&mut self, strip: &Strip) {
        let [left, top] = strip.origin;
        let right = left + (strip.window[2] - strip.window[0]) * strip.scale;
        let bottom = top + strip.height();
        let kink = |from: [f64; 2], to: [f64; 2]| {
            let along = [to[0] - from[0], to[1] - from[1]];
            let length = along[0].hypot(along[1]).max(1.0);
            let unit = along.map(|v| v / length);
            let middle = [f64::midpoint(from[0], to[0]), f64::midpoint(from[1], to[1])];
            let at = |along: f64, across: f64| {
                [
                    middle[0] + unit[0] * along - unit[1] * across,
                    middle[1] + unit[1] * along + unit[0] * across,
                ]
            };
            Shape::open(&[from, at(-6.0, 0.0), at(-2.5, 5.0), at(2.5, -5.0), at(6.0, 0.0), to])
        };
        let over = 5.0;
        let sides = [
            ([left, top - over], [left, bottom + over]),
            ([right, top - over], [right, bottom + over]),
            ([left - over, bottom], [right + over, bottom]),
            ([left - over, top], [right + over, top]),
        ];
        for ((from, to), goes_on) in sides.into_iter().zip(strip.goes_on) {
            if goes_on {
                self.lines.add_line(from, to);
                self.marks.push(Mark::line(kink(from, to), Stroke::solid(Role::Faint, 1.0)));
            }
        }
    }

    /// How far a hole's marks reach from its centre, letter apart, px.
    fn reach(&self, hole: &Seen, strip: &Strip) -> f64 {
        let ringed = self.ringed.contains(&hole.hole);
        let ring = if ringed { spacing::ring_reach(strip.radius) } else { 0.0 };
        hole.look.reach(strip.radius).max(ring)
    }

    fn seen_in(&self, strip: &Strip) -> Vec<Seen> {
        self.view.holes.iter().filter(|hole| strip.has(hole.at)).copied().collect()
    }

    pub(crate) fn reserve(&mut self, strip: &Strip) {
        for hole in self.seen_in(strip) {
            let [x, y] = strip.px(hole.at);
            let reach = self.reach(&hole, strip);
            self.taken.add([x - reach, y - reach, x + reach, y + reach]);
        }
    }

    /// Letters go above their holes, or round them; without any room above all the same, because one must not vanish.
    fn letters(&mut self, strip: &Strip) {
        let ways =
            [-90.0, 90.0, -45.0, -135.0, 45.0, 135.0, 0.0, 180.0].map(|degrees| turn([1.0, 0.0], degrees));
        for hole in self.seen_in(strip) {
            let centre = strip.px(hole.at);
            let Some(fixed) = hole.look.letter_text(centre, strip.radius) else { continue };
            let reach = self.reach(&hole, strip);
            let letter = self.place(strip, &fixed, centre, &ways, reach, 1.5).unwrap_or_else(|| {
                self.taken.add(text_bounds(&fixed));
                fixed
            });
            self.letters.insert(hole.hole, letter);
        }
    }

    fn holes(&mut self, strip: &Strip) {
        for seen in self.seen_in(strip) {
            let plan = self.view.plan;
            let centre = strip.px(seen.at);
            let mut marks = seen.look.body(centre, strip.radius);
            marks.extend(self.letters.remove(&seen.hole).map(Mark::Text));
            if self.view.options.touch {
                marks.insert(0, Mark::Target { centre, radius: TOUCH_RADIUS.max(strip.radius) });
            }
            let name = plan.hole_name(seen.hole);
            let words = seen.look.state.words();
            let title = format!("{} {}: {words}", plan[seen.row].name, plan[seen.hole].number);
            self.marks.push(Mark::Group(Group {
                id: None,
                link: self.view.options.link.map(|link| link(seen.hole)),
                data: vec![("hole", name), ("state", seen.look.state.key().to_owned())],
                title: Some(title),
                marks,
            }));
        }
    }

    /// Names at the left end of each row, then numbers, the pressing ones first.
    fn row_labels(&mut self, strip: &Strip) -> Vec<Text> {
        let mut labels = Vec::new();
        let mut numbers: Vec<Number> = Vec::new();
        let seen = self.seen_in(strip);
        for &row in &self.view.plan[self.view.plane].rows {
            let mut holes: Vec<Seen> = seen.iter().filter(|hole| hole.row == row).copied().collect();
            holes.sort_by(|a, b| a.at[0].total_cmp(&b.at[0]).then(b.at[1].total_cmp(&a.at[1])));
            let (Some(first), Some(last)) = (holes.first(), holes.last()) else { continue };
            let (a, b) = (strip.px(first.at), strip.px(last.at));
            let length = (b[0] - a[0]).hypot(b[1] - a[1]);
            let along =
                if length < 1.0 { [1.0, 0.0] } else { [(b[0] - a[0]) / length, (b[1] - a[1]) / length] };
            let name = Text::new(a, NAME, self.view.plan[row].name.clone()).heavy();
            let ways = [0.0, 30.0, -30.0, 60.0, -60.0, 90.0, -90.0]
                .map(|degrees: f64| turn([-along[0], -along[1]], degrees));
            let reach = self.reach(first, strip);
            labels.extend(self.place(strip, &name, a, &ways, reach, 4.0));
            // Upwards if the row lies, else to the right of it.
            let across = if along[0].abs() > 0.3 { [along[1], -along[0]] } else { [1.0, 0.0] };
            // Straight across only: slantwise it would stand at the next hole.
            let ways = [across, [-across[0], -across[1]]];
            let ends = [first.hole, last.hole];
            for hole in &holes {
                let number = self.view.plan[hole.hole].number;
                let pressing =
                    hole.look.emphasis || matches!(hole.look.state, HoleState::Now | HoleState::Fault);
                let rank = match () {
                    () if pressing => 0,
                    () if ends.contains(&hole.hole) => 1,
                    () if number.is_multiple_of(10) => 2,
                    () => continue,
                };
                let mut text = Text::new([0.0; 2], NUMBER, number.to_string());
                if pressing {
                    text = text.heavy();
                }
                numbers.push(Number { rank, text, hole: *hole, ways });
            }
        }
        numbers.sort_by_key(|number| number.rank);
        for Number { text, hole, ways, .. } in numbers {
            let reach = self.reach(&hole, strip);
            labels.extend(self.place(strip, &text, strip.px(hole.at), &ways, reach, 2.5));
        }
        labels
    }

    /// Puts a text beside a hole where there is room, clear of lines if it can be.
    pub(crate) fn place(
        &mut self,
        strip: &Strip,
        text: &Text,
        centre: [f64; 2],
        ways: &[[f64; 2]],
        reach: f64,
        gap: f64,
    ) -> Option<Text> {
        let (wide, high) = (width(&text.text, text.size), CAPITAL * text.size);
        let band = strip.band(self.full_width);
        for clear in [true, false] {
            // Straight out first, past an outline if need be, then round the hole.
            let straight =
                ways.iter().take(1).flat_map(|way| [0.0, 5.0, 10.0, 15.0].map(|extra| (way, extra)));
            let round = ways.iter().skip(1).flat_map(|way| [0.0, 6.0].map(|extra| (way, extra)));
            for (way, extra) in straight.chain(round) {
                let off = reach + gap + extra + way[0].abs() * wide / 2.0 + way[1].abs() * high / 2.0;
                let at = [centre[0] + way[0] * off, centre[1] + way[1] * off + high / 2.0];
                let placed = Text { at, anchor: Anchor::Middle, rim: !clear, ..text.clone() };
                // Further out it must not seem to belong to another hole.
                let alone = extra < 8.0 || self.taken.free(grown(text_bounds(&placed), 7.0));
                if alone && self.take(&placed, band, clear) {
                    return Some(placed);
                }
            }
        }
        None
    }

    /// Takes the room of a text if it is free.
    fn take(&mut self, text: &Text, band: Bounds, clear: bool) -> bool {
        let [left, top, right, bottom] = text_bounds(text);
        // Figures and capitals have no tail; the air above and below comes from the gap.
        let bounds = [left - 1.5, top - 0.5, right + 1.5, bottom - 0.2 * text.size];
        let within = |outer: Bounds| {
            bounds[0] >= outer[0] && bounds[1] >= outer[1] && bounds[2] <= outer[2] && bounds[3] <= outer[3]
        };
        let inside = within(band) && self.frame.is_none_or(within);
        let aired = [bounds[0], bounds[1] - 2.0, bounds[2], bounds[3] + 2.0];
        let free = inside && self.taken.free(bounds) && (!clear || self.lines.free(aired));
        if free {
            self.taken.add([left, top, right, bottom]);
        }
        free
    }

    /// Names of parts inside their outlines, the small ones first; left out where there is no room.
    pub(crate) fn part_labels(&mut self, strip: &Strip) -> Vec<Text> {
        let mut order: Vec<&SeenLayer> =
            self.view.layers.iter().filter(|layer| !layer.face.everywhere).collect();
        order.sort_by(|a, b| area(&a.face.rings[0]).total_cmp(&area(&b.face.rings[0])));
        let mut labels = Vec::new();
        for layer in order {
            // A name on a part that covers this one would be taken for that part's.
            let hidden = self.kinds.get(&LineKind::Behind);
            let hidden = hidden.is_some_and(|names| names.contains(&self.view.plan.piece_name(layer.piece)));
            let nearer = |inch: [f64; 2]| {
                let before = self.view.layers.iter().take_while(|other| other.piece != layer.piece);
                before.filter(|other| !other.later).any(|other| other.face.has(inch))
            };
            let ring = clip_ring(&layer.face.rings[0], strip.window);
            let Some(bounds) = bounds_of(ring.into_iter().map(|point| strip.px(point))) else { continue };
            let name = self.view.plan.piece_name(layer.piece);
            let (wide, high) = (width(&name, NUMBER), CAPITAL * NUMBER);
            let [left, top, right, bottom] = bounds;
            let inset = 6.0;
            let lines = [top + inset + high, bottom - inset, f64::midpoint(top, bottom) + high / 2.0];
            let places = [left + inset, right - inset - wide, f64::midpoint(left, right) - wide / 2.0];
            let mut spots: Vec<[f64; 2]> = lines.into_iter().flat_map(|y| places.map(|x| [x, y])).collect();
            // Along the edge past holes and other names.
            let step = 24.0;
            spots.extend((1..24).map(|n| [left + inset + f64::from(n) * step, top + inset + high]));
            spots.extend((1..24).map(|n| [left + inset + f64::from(n) * step, lines[2]]));
            for at in spots {
                let text = Text::new(at, NUMBER, name.clone()).coloured(Role::Faint);
                let corners = [
                    [at[0] - 2.0, at[1] + 2.0],
                    [at[0] + wide + 2.0, at[1] + 2.0],
                    [at[0] - 2.0, at[1] - high - 2.0],
                    [at[0] + wide + 2.0, at[1] - high - 2.0],
                ];
                let in_it = corners.iter().all(|&[x, y]| {
                    let inch = [
                        strip.window[0] + (x - strip.origin[0]) / strip.scale,
                        strip.window[3] - (y - strip.origin[1]) / strip.scale,
                    ];
                    layer.face.has(inch) && (hidden || layer.later || !nearer(inch))
                });
                if in_it && self.take(&text, strip.band(self.full_width), true) {
                    labels.push(text);
                    break;
                }
            }
        }
        labels
    }

    /// Legend, scale bar and title block; returns the height of the whole, px.
    fn foot(&mut self, strips: &[Strip], bottom: f64) -> f64 {
        let edge = 8.0;
        let measure = self.full_width - 2.0 * edge;
        let mut y = bottom + 6.0;
        let entries = self.legend_entries(strips);
        let mut marks = Vec::new();
        y += legend(&mut marks, &entries, [edge + 4.0, y], measure - 8.0);
        if let Some(strip) = strips.first() {
            y += 20.0;
            let most = (measure * 0.4).min(260.0);
            let plan = self.view.plan;
            let unit = plan[plan[self.view.plane].assembly].unit;
            scale_bar(&mut marks, [edge + 4.0, y], strip.scale, most, unit);
            y += 12.0;
        }
        if self.view.options.title_block {
            let cells = self.title_cells(strips);
            y += title_block(&mut marks, &cells, [edge, y], measure) + edge;
        }
        self.marks.append(&mut marks);
        y
    }

    fn legend_entries(&self, strips: &[Strip]) -> Vec<Entry> {
        let radius = strips.first().map_or(6.0, |strip| strip.radius).max(4.0);
        let shown: Vec<HoleLook> =
            strips.iter().flat_map(|strip| self.seen_in(strip)).map(|seen| seen.look).collect();
        let mut entries = Vec::new();
        for state in HoleState::ALL {
            if shown.iter().any(|look| look.state == state) {
                let look = HoleLook::plain(state);
                entries.push(Entry {
                    symbol: Box::new(move |at| look.marks(at, radius)),
                    half: look.reach(radius).max(radius),
                    head: if look.shown_letter().is_some() { LETTER } else { 0.0 },
                    words: state.words().to_owned(),
                });
            }
        }
        for (letter, words) in &self.view.options.letters {
            if shown.iter().any(|look| look.letter == Some(*letter)) {
                let letter = *letter;
                entries.push(Entry {
                    symbol: Box::new(move |[x, y]| {
                        let text = Text::new([x, y + 4.0], NUMBER, letter).anchored(Anchor::Middle).heavy();
                        vec![Mark::Text(text)]
                    }),
                    half: 6.0,
                    head: 0.0,
                    words: words.clone(),
                });
            }
        }
        entries.extend(spacing::entries(&self.view.options.spacing, radius));
        for (&kind, pieces) in &self.kinds {
            entries.push(Entry {
                symbol: Box::new(move |at| vec![kind.sample(at)]),
                half: 18.0,
                head: 0.0,
                words: kind.words_for(pieces),
            });
        }
        entries
    }

    fn title_cells(&self, strips: &[Strip]) -> Vec<(&'static str, String)> {
        let view = self.view;
        let side = view.plan[view.plane].side_name(view.side);
        let mut cells = vec![
            ("Assembly", view.assembly_title()),
            ("Plane, side in view", format!("{}, from {side}", view.plane_title())),
        ];
        if let Some(strip) = strips.first() {
            cells.push(("Scale", scale_words(view.options.scale, strip.scale)));
        }
        for (caption, value) in [
            ("Plan revision", &view.options.revision),
            ("Date", &view.options.date),
            ("Sheet", &view.options.sheet),
        ] {
            if !value.is_empty() {
                cells.push((caption, value.clone()));
            }
        }
        cells
    }
}

/// The scale in words; on a screen it is only about right, and the bar is there for that.
fn scale_words(asked: Scale, px_per_in: f64) -> String {
    let ratio = PX_PER_INCH / px_per_in;
    let short = |value: f64| {
        let text = format!("{value:.1}");
        text.trim_end_matches(".0").to_owned()
    };
    let words =
        if ratio >= 1.0 { format!("1 : {}", short(ratio)) } else { format!("{} : 1", short(1.0 / ratio)) };
    match asked {
        Scale::OneTo(_) => words,
        Scale::Fit => format!("about {words}"),
    }
}

fn turn([x, y]: [f64; 2], degrees: f64) -> [f64; 2] {
    let (sin, cos) = degrees.to_radians().sin_cos();
    [x * cos - y * sin, x * sin + y * cos]
}

fn area(ring: &[[f64; 2]]) -> f64 {
    edges(ring).map(|(a, b)| (a[0] * b[1] - b[0] * a[1]) / 2.0).sum::<f64>().abs()
}

fn grown([left, top, right, bottom]: Bounds, by: f64) -> Bounds {
    [left - by, top - by, right + by, bottom + by]
}

fn bounds_of(points: impl Iterator<Item = [f64; 2]>) -> Option<Bounds> {
    points.fold(None, |bounds: Option<Bounds>, [x, y]| {
        let [left, top, right, bottom] = bounds.unwrap_or([x, y, x, y]);
        Some([left.min(x), top.min(y), right.max(x), bottom.max(y)])
    })
}

/// A hole's number that wants a place.
struct Number {
    /// The lowest is placed first.
    rank: u8,
    text: Text,
    hole: Seen,
    /// Directions to try, in order.
    ways: [[f64; 2]; 2],
}

/// Joins edges that follow each other, so that dashes run on and the text stays short.
#[derive(Default)]
struct Run {
    points: Vec<[f64; 2]>,
    seen: bool,
}

impl Run {
    fn add(&mut self, full: &mut Shape, behind: &mut Shape, from: [f64; 2], to: [f64; 2], seen: bool) {
        let follows =
            self.points.last().is_some_and(|last| (last[0] - from[0]).hypot(last[1] - from[1]) < 0.01);
        if !follows || seen != self.seen {
            self.end(full, behind);
            self.points.push(from);
            self.seen = seen;
        }
        self.points.push(to);
    }

    fn end(&mut self, full: &mut Shape, behind: &mut Shape) {
        let shape = if self.seen { full } else { behind };
        shape.run(&self.points);
        self.points.clear();
    }
}
