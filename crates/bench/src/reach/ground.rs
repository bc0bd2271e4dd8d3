//! What is there round a hole: sheet edges, flanges, brackets, at one step.

use faying_plan::{Loop, PieceId, Plan, PlaneId, Point, Side};
use geo::{Contains, Coord, LineString, Polygon};

/// How far an arc may lie from its chords, in: a sixth of the room that is left round a jaw.
const CHORD_IN: f64 = 0.01;
/// Directions that are tried, evenly round the hole; the way to the nearest edge of each outline is added.
const DIRECTIONS: usize = 36;

/// What stands on a plane.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Stander {
    /// A flange, by its number among those of the plane.
    Flange(usize),
    /// A bracket or another part, by its number among those of the plane.
    Stand(usize),
}

/// Something that stands up from one side.
#[derive(Clone, Debug)]
struct Obstacle {
    what: Stander,
    side: Side,
    height: f64,
    /// A wall is one segment; a bracket is a closed outline.
    edges: Vec<[[f64; 2]; 2]>,
    area: Option<Polygon>,
    /// The strip over which a return flange lies.
    lip: Option<Lip>,
}

#[derive(Clone, Debug)]
struct Lip {
    edges: Vec<[[f64; 2]; 2]>,
    area: Polygon,
}

/// A plane as it is at one step: the outlines that are there and what stands on it.
#[derive(Clone, Debug)]
pub struct Ground {
    edges: Vec<[[f64; 2]; 2]>,
    outlines: Vec<Vec<[[f64; 2]; 2]>>,
    obstacles: Vec<Obstacle>,
    /// A piece that is there and has no outline: how far the sheet goes is not known.
    pub undrawn: Option<PieceId>,
    /// Longest extent of what is there along an axis of the drawing, in.
    pub long: f64,
}

/// What a jaw, a set or a bar meets at a hole. Lengths in inches.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Met {
    /// How far.
    pub distance: f64,
    /// What.
    pub what: Stander,
    /// How high it stands.
    pub height: f64,
}

/// One way in, for a strip of some width.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WayIn {
    /// How far the sheet goes on in this direction, in.
    pub edge: f64,
    /// The highest thing on the way on the near and on the far side.
    pub over: [Option<Met>; 2],
    /// Sides on which a wall is crossed whose lip lies over the hole.
    pub through_lip: [bool; 2],
}

/// The place of a side in a pair.
pub const fn at(side: Side) -> usize {
    match side {
        Side::Near => 0,
        Side::Far => 1,
    }
}

impl Ground {
    /// What is there of a plane.
    ///
    /// # Units
    /// - `is_there`: whether a piece has come in
    /// - `stands`: whether a bracket, by its number, stands already
    pub fn of(
        plan: &Plan,
        plane: PlaneId,
        is_there: impl Fn(PieceId) -> bool,
        stands: impl Fn(usize) -> bool,
    ) -> Self {
        let drawn = &plan[plane];
        let present: Vec<_> = drawn.layers.iter().filter(|layer| is_there(layer.piece)).collect();
        let undrawn = present.iter().find(|layer| layer.outline.is_none()).map(|layer| layer.piece);
        let shapes: Vec<(PieceId, Vec<[f64; 2]>)> = present
            .iter()
            .filter_map(|layer| Some((layer.piece, layer.outline.as_ref()?.flattened(CHORD_IN))))
            .collect();
        let polygons: Vec<Polygon> = shapes.iter().map(|(_, points)| polygon(points)).collect();
        // An outline inside another one says nothing of where the sheet ends.
        let outer = |index: usize| {
            !polygons.iter().enumerate().any(|(other, shape)| {
                other != index
                    && shape.contains(&polygons[index])
                    && (other < index || !polygons[index].contains(shape))
            })
        };
        let outlines: Vec<Vec<[[f64; 2]; 2]>> =
            (0..shapes.len()).filter(|&index| outer(index)).map(|index| edges_of(&shapes[index].1)).collect();
        let edges: Vec<[[f64; 2]; 2]> = outlines.iter().flatten().copied().collect();
        let mut ground = Self { long: longest(&edges), edges, outlines, obstacles: Vec::new(), undrawn };
        for (index, flange) in drawn.flanges.iter().enumerate() {
            if !flange.pieces.is_empty() && !flange.pieces.iter().any(|&piece| is_there(piece)) {
                continue;
            }
            let [from, to] = drawn.bends[flange.bend].map(Point::inches);
            let own =
                shapes.iter().filter(|(piece, _)| flange.pieces.is_empty() || flange.pieces.contains(piece));
            let lip = flange.lip.map(|lip| {
                let middle = middle(own.flat_map(|(_, points)| points.iter().copied()));
                lip_over([from, to], lip.inches(), middle)
            });
            ground.obstacles.push(Obstacle {
                what: Stander::Flange(index),
                side: flange.side,
                height: flange.height.inches(),
                edges: vec![[from, to]],
                area: None,
                lip,
            });
        }
        for (index, stand) in drawn.stands.iter().enumerate().filter(|(index, _)| stands(*index)) {
            let points = Loop::flattened(&stand.outline, CHORD_IN);
            ground.obstacles.push(Obstacle {
                what: Stander::Stand(index),
                side: stand.side,
                height: stand.height.inches(),
                edges: edges_of(&points),
                area: Some(polygon(&points)),
                lip: None,
            });
        }
        ground
    }

    /// The nearest wall or bracket on a side.
    pub fn nearest(&self, hole: [f64; 2], side: Side) -> Option<Met> {
        self.on(side)
            .map(|it| Met { distance: it.distance(hole), what: it.what, height: it.height })
            .min_by(|a, b| a.distance.total_cmp(&b.distance))
    }

    /// Lips of return flanges that lie nearer than `radius` on a side.
    pub fn lips_within(&self, hole: [f64; 2], side: Side, radius: f64) -> impl Iterator<Item = Met> {
        self.on(side).filter_map(move |it| {
            let distance = it.lip.as_ref()?.distance(hole);
            (distance < radius).then_some(Met { distance, what: it.what, height: it.height })
        })
    }

    /// The lowest of them.
    pub fn lip_within(&self, hole: [f64; 2], side: Side, radius: f64) -> Option<Met> {
        self.lips_within(hole, side, radius).min_by(|a, b| a.height.total_cmp(&b.height))
    }

    /// Free width at a hole between what stands on a side, the narrowest; none where one end is open everywhere.
    pub fn width_between(&self, hole: [f64; 2], side: Side) -> Option<f64> {
        self.on(side).next()?;
        let half: Vec<f64> = (0..DIRECTIONS).map(|n| self.free(hole, turn(n), side)).collect();
        let across = (0..DIRECTIONS / 2).map(|n| half[n] + half[n + DIRECTIONS / 2]);
        across.min_by(f64::total_cmp).filter(|width| width.is_finite())
    }

    /// How far a ray goes before it meets something on a side.
    fn free(&self, hole: [f64; 2], along: [f64; 2], side: Side) -> f64 {
        let mut free = f64::INFINITY;
        for edge in self.on(side).flat_map(|it| &it.edges) {
            if let Some((least, _)) = clipped(edge, hole, along, 1e-9) {
                free = free.min(least.max(0.0));
            }
        }
        free
    }

    /// Directions to try from a hole.
    pub fn directions(&self, hole: [f64; 2]) -> Vec<[f64; 2]> {
        let mut directions: Vec<[f64; 2]> = (0..DIRECTIONS).map(turn).collect();
        for outline in &self.outlines {
            let nearest = outline
                .iter()
                .map(|edge| foot(edge, hole))
                .min_by(|a, b| length(from_to(hole, *a)).total_cmp(&length(from_to(hole, *b))));
            if let Some(point) = nearest {
                let along = from_to(hole, point);
                let far = length(along);
                if far > 1e-6 {
                    directions.push([along[0] / far, along[1] / far]);
                }
            }
        }
        directions
    }

    /// How far the sheet goes on within a strip.
    ///
    /// The farthest of all outlines that are there counts: a yoke comes in
    /// from a free edge only, never through a cut-out.
    pub fn edge(&self, hole: [f64; 2], along: [f64; 2], half_width: f64) -> f64 {
        let mut farthest: f64 = 0.0;
        for edge in &self.edges {
            if let Some((_, most)) = clipped(edge, hole, along, half_width) {
                farthest = farthest.max(most);
            }
        }
        farthest
    }

    /// What a strip meets between the hole and the open.
    ///
    /// # Units
    /// - `half_width`: of the jaw, in
    /// - `under`: height of the jaw's end where it may pass below a lip, in
    /// - `edge`: how far the sheet goes on in that strip, in
    pub fn way_in(&self, hole: [f64; 2], along: [f64; 2], half_width: f64, under: f64, edge: f64) -> WayIn {
        let mut way = WayIn { edge, over: [None; 2], through_lip: [false; 2] };
        for it in &self.obstacles {
            let crossed = it.edges.iter().any(|edge| reached(edge, hole, along, half_width))
                || it.area.as_ref().is_some_and(|area| area.contains(&geo::Point::new(hole[0], hole[1])));
            let lip = it.lip.as_ref();
            let over_hole = lip.is_some_and(|lip| lip.distance(hole) < half_width);
            let below = lip.is_some_and(|lip| {
                lip.edges.iter().any(|edge| reached(edge, hole, along, half_width)) || over_hole
            });
            if crossed && over_hole {
                way.through_lip[at(it.side)] = true;
            }
            // Below a lip, or over it: whichever goes.
            if crossed || (below && it.height < under) {
                let met = Met { distance: it.distance(hole), what: it.what, height: it.height };
                let over = &mut way.over[at(it.side)];
                if over.is_none_or(|known| known.height < met.height) {
                    *over = Some(met);
                }
            }
        }
        way
    }

    fn on(&self, side: Side) -> impl Iterator<Item = &Obstacle> {
        self.obstacles.iter().filter(move |it| it.side == side)
    }
}

impl Obstacle {
    fn distance(&self, hole: [f64; 2]) -> f64 {
        distance(&self.edges, self.area.as_ref(), hole)
    }
}

impl Lip {
    fn distance(&self, hole: [f64; 2]) -> f64 {
        distance(&self.edges, Some(&self.area), hole)
    }
}

fn distance(edges: &[[[f64; 2]; 2]], area: Option<&Polygon>, hole: [f64; 2]) -> f64 {
    if area.is_some_and(|area| area.contains(&geo::Point::new(hole[0], hole[1]))) {
        return 0.0;
    }
    let each = edges.iter().map(|edge| length(from_to(hole, foot(edge, hole))));
    each.min_by(f64::total_cmp).unwrap_or(f64::INFINITY)
}

/// The strip of a return flange, on that side of its bend where the web's middle lies.
fn lip_over(bend: [[f64; 2]; 2], width: f64, middle: [f64; 2]) -> Lip {
    let [from, to] = bend;
    let along = from_to(from, to);
    let far = length(along).max(1e-9);
    let left = [-along[1] / far, along[0] / far];
    let toward = from_to(from, middle);
    let sign = if toward[0] * left[0] + toward[1] * left[1] < 0.0 { -1.0 } else { 1.0 };
    let off = [sign * width * left[0], sign * width * left[1]];
    let points = [from, to, [to[0] + off[0], to[1] + off[1]], [from[0] + off[0], from[1] + off[1]]];
    Lip { edges: edges_of(&points), area: polygon(&points) }
}

/// The middle of the box round some points.
fn middle(points: impl Iterator<Item = [f64; 2]>) -> [f64; 2] {
    let (mut low, mut high) = ([f64::INFINITY; 2], [f64::NEG_INFINITY; 2]);
    for point in points {
        for axis in 0..2 {
            low[axis] = low[axis].min(point[axis]);
            high[axis] = high[axis].max(point[axis]);
        }
    }
    [f64::midpoint(low[0], high[0]), f64::midpoint(low[1], high[1])]
}

fn longest(edges: &[[[f64; 2]; 2]]) -> f64 {
    let span = |axis: usize| {
        let ends = || edges.iter().flatten().map(|point| point[axis]);
        ends().fold(f64::NEG_INFINITY, f64::max) - ends().fold(f64::INFINITY, f64::min)
    };
    if edges.is_empty() { 0.0 } else { span(0).max(span(1)) }
}

fn polygon(points: &[[f64; 2]]) -> Polygon {
    let ring: LineString = points.iter().map(|&[x, y]| Coord { x, y }).collect();
    Polygon::new(ring, Vec::new())
}

fn edges_of(points: &[[f64; 2]]) -> Vec<[[f64; 2]; 2]> {
    (0..points.len()).map(|n| [points[n], points[(n + 1) % points.len()]]).collect()
}

/// Direction `n` of [`DIRECTIONS`]; those along the axes are exact.
fn turn(n: usize) -> [f64; 2] {
    const QUARTER: usize = DIRECTIONS / 4;
    let angle = (n % QUARTER) as f64 / QUARTER as f64 * std::f64::consts::FRAC_PI_2;
    let (sin, cos) = if n.is_multiple_of(QUARTER) { (0.0, 1.0) } else { angle.sin_cos() };
    match n / QUARTER {
        0 => [cos, sin],
        1 => [-sin, cos],
        2 => [-cos, -sin],
        _ => [sin, -cos],
    }
}

fn from_to(from: [f64; 2], to: [f64; 2]) -> [f64; 2] {
    [to[0] - from[0], to[1] - from[1]]
}

fn length(vector: [f64; 2]) -> f64 {
    vector[0].hypot(vector[1])
}

/// The point of a segment that is nearest to another point.
fn foot(edge: &[[f64; 2]; 2], point: [f64; 2]) -> [f64; 2] {
    let [from, to] = *edge;
    let (along, away) = (from_to(from, to), from_to(from, point));
    let square = along[0] * along[0] + along[1] * along[1];
    if square == 0.0 {
        return from;
    }
    let share = ((along[0] * away[0] + along[1] * away[1]) / square).clamp(0.0, 1.0);
    [from[0] + share * along[0], from[1] + share * along[1]]
}

/// Whether a segment lies in the strip from the hole on.
fn reached(edge: &[[f64; 2]; 2], hole: [f64; 2], along: [f64; 2], half_width: f64) -> bool {
    clipped(edge, hole, along, half_width).is_some_and(|(_, most)| most > 0.0)
}

/// The least and the greatest distance along the strip of that part of a segment that lies in it.
fn clipped(edge: &[[f64; 2]; 2], hole: [f64; 2], along: [f64; 2], half_width: f64) -> Option<(f64, f64)> {
    // t along the strip, s across it.
    let seen = |point: [f64; 2]| {
        let v = from_to(hole, point);
        (v[0] * along[0] + v[1] * along[1], v[1] * along[0] - v[0] * along[1])
    };
    let ((t0, s0), (t1, s1)) = (seen(edge[0]), seen(edge[1]));
    if (s0 > half_width && s1 > half_width) || (s0 < -half_width && s1 < -half_width) {
        return None;
    }
    let on = |s: f64, t: f64, other_s: f64, other_t: f64| {
        let limit = s.clamp(-half_width, half_width);
        if limit == s || s == other_s { t } else { t + (limit - s) / (other_s - s) * (other_t - t) }
    };
    let (a, b) = (on(s0, t0, s1, t1), on(s1, t1, s0, t0));
    // What lies behind the hole is no part of the way.
    (a.max(b) >= 0.0).then_some((a.min(b), a.max(b)))
}
