//! Every distance of a drawn plane under every rule on it.
//!
//! Edge and bend, pitch, row spacing, the least sheet under a countersink, and
//! the room of a dimple's foot or a countersink's rim. Rules stand side by
//! side: one of them rules the build and makes the finding of [`too_near`],
//! the others are named. A figure that nobody gave, such as the outside of a
//! dimple die, is a blank and no rule. Theory chapter, "Spacing".
//!
//! Only the plane asked for is measured: its edges and holes go into trees,
//! and rules are put together once for each kind of hole.
//!
//! [`too_near`]: super::too_near

use std::cmp::Ordering;
use std::collections::HashMap;
use std::sync::Arc;

use faying_plan::{HoleId, PieceId, Plan, PlaneId, Preparation, RowId, Side};
use faying_standards::{Cited, HeadStyle, Length, RivetType, SpacingItem, figures};
use rstar::primitives::{GeomWithData, Line};
use rstar::{PointDistance, RTree};

use super::{rules, short};
use crate::check::Joints;
use crate::seats::{FLUSH_DEG, cone_depth, usual_hole};
use crate::stack::CHORD_IN;

/// To what a distance of a hole goes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum To {
    /// The edge of a layer: outline or cut-out.
    Edge(PieceId),
    /// A bend line of the plane.
    Bend,
    /// The centre of another hole.
    Hole(HoleId),
    /// The line of a parallel row beside its own.
    Row(RowId),
    /// No distance in the plane but the thickness of a countersunk sheet.
    Sheet(PieceId),
}

/// What one rule asks.
#[derive(Clone, Debug, PartialEq)]
pub struct Asked {
    /// The rule in words, with the joints it speaks of.
    pub rule: String,
    /// The least it asks; blank where its figure is not known here.
    pub least: Option<Length>,
    /// Whether it is the one that rules this build: of a distance at most one does.
    pub rules: bool,
    /// Where it comes from.
    pub cited: Cited,
}

/// How a distance stands against all rules.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Shortfall {
    /// Under what the rule asks that rules this build.
    Ruling,
    /// Under what another rule asks, and not under the ruling one.
    Another,
    /// Under no rule that has a figure.
    None,
}

/// One distance of a hole with every rule on it.
#[derive(Clone, Debug, PartialEq)]
pub struct Spaced {
    /// Which hole.
    pub hole: HoleId,
    /// To what.
    pub to: To,
    /// How far; blank where the plan does not draw what it goes to.
    pub distance: Option<Length>,
    /// Where it ends in the plane, in, as seen from the near side.
    pub end: Option<[f64; 2]>,
    /// The rivet whose diameter counts: of two holes the larger.
    pub rivet: RivetType,
    /// Every rule on it, the ruling one first.
    pub asked: Arc<[Asked]>,
}

impl Spaced {
    /// Whether it is under what a rule asks; none where either is blank.
    ///
    /// A plan is drawn to a thousandth, so half of one is no shortfall of a
    /// drawn distance; a sheet has the thickness that is written.
    #[must_use]
    pub fn under(&self, asked: &Asked) -> Option<bool> {
        let (distance, least) = (self.distance?, asked.least?);
        Some(match self.to {
            To::Sheet(_) => distance < least,
            _ => short(distance.inches(), least),
        })
    }

    /// How it stands against all rules.
    #[must_use]
    pub fn shortfall(&self) -> Shortfall {
        let under = |asked: &Asked| self.under(asked) == Some(true);
        if self.asked.iter().any(|asked| asked.rules && under(asked)) {
            Shortfall::Ruling
        } else if self.asked.iter().any(under) {
            Shortfall::Another
        } else {
            Shortfall::None
        }
    }

    /// The distance over the shank diameter.
    #[must_use]
    pub fn diameters(&self) -> Option<f64> {
        Some(self.distance?.inches() / self.rivet.diameter.length().inches())
    }

    /// The least share of what a rule asks: of the ruling one where that is not met, else of any.
    fn share(&self) -> f64 {
        let ruling = self.shortfall() == Shortfall::Ruling;
        let asked = self.asked.iter().filter(|asked| asked.rules || !ruling);
        let distance = self.distance.map_or(f64::INFINITY, Length::inches);
        asked
            .filter_map(|asked| asked.least)
            .map(|least| distance / least.inches())
            .fold(f64::INFINITY, f64::min)
    }

    /// The worst first.
    fn worse(&self, other: &Self) -> Ordering {
        (self.shortfall().cmp(&other.shortfall()))
            .then_with(|| self.share().total_cmp(&other.share()))
            .then_with(|| self.hole.cmp(&other.hole))
    }
}

/// Holes of one row that are too near to the same thing.
#[derive(Clone, Debug, PartialEq)]
pub struct Group {
    /// Their row.
    pub row: RowId,
    /// The worst of them.
    pub worst: Spaced,
    /// How all of them stand.
    pub shortfall: Shortfall,
    /// The holes, each once, in the order of the plan.
    pub holes: Vec<HoleId>,
    /// The greatest distance among them.
    pub most: Length,
}

/// What of a plane is under a rule.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Survey {
    /// Holes for a solid rivet that were held against the rules.
    pub compared: usize,
    /// Holes for something else: no rule here speaks of them.
    pub not_compared: usize,
    /// Row by row, the row with the worst first, and the worst of a row first.
    pub groups: Vec<Group>,
    /// Layers with holes whose edge is not drawn, so that no edge distance is known.
    pub no_edge: Vec<PieceId>,
    /// Whether the plane has dimples, whose die's size is not known here.
    pub dimpled: bool,
    /// Where the rules come from that were asked, each once, what rules this build first.
    pub asked: Vec<Cited>,
}

impl Survey {
    /// Measures every hole of a plane.
    #[must_use]
    pub fn of(plan: &Plan, joints: &Joints, plane: PlaneId) -> Self {
        let mut ground = Ground::of(plan, joints, plane);
        let mut survey = Self::default();
        let mut index: HashMap<(RowId, Target, Shortfall), usize> = HashMap::new();
        for &row in &plan[plane].rows {
            for hole in plan[row].hole_ids().filter(|&hole| plan[hole].at.is_some()) {
                if plan[row].rivet.is_none() {
                    survey.not_compared += 1;
                    continue;
                }
                survey.compared += 1;
                for spaced in ground.measure(hole, Which::EachPairOnce) {
                    if let (To::Edge(piece), None) = (spaced.to, spaced.distance)
                        && !survey.no_edge.contains(&piece)
                    {
                        survey.no_edge.push(piece);
                    }
                    let (shortfall, Some(distance)) = (spaced.shortfall(), spaced.distance) else { continue };
                    if shortfall == Shortfall::None {
                        continue;
                    }
                    let key = (row, Target::of(plan, spaced.to), shortfall);
                    match index.get(&key) {
                        Some(&at) => survey.groups[at].add(spaced, distance),
                        None => {
                            index.insert(key, survey.groups.len());
                            let holes = vec![hole];
                            survey.groups.push(Group {
                                row,
                                worst: spaced,
                                shortfall,
                                holes,
                                most: distance,
                            });
                        }
                    }
                }
            }
        }
        survey.dimpled = ground.dimpled;
        survey.asked = ground.cited();
        survey.sort();
        survey
    }

    /// The row with the worst first, and within a row the worst first.
    fn sort(&mut self) {
        self.groups.sort_by(|a, b| a.worst.worse(&b.worst));
        let mut rank: HashMap<RowId, usize> = HashMap::new();
        for group in &self.groups {
            let next = rank.len();
            rank.entry(group.row).or_insert(next);
        }
        self.groups.sort_by_key(|group| rank[&group.row]);
    }
}

impl Group {
    fn add(&mut self, spaced: Spaced, distance: Length) {
        if self.holes.last() != Some(&spaced.hole) {
            self.holes.push(spaced.hole);
        }
        self.most = self.most.max(distance);
        if spaced.worse(&self.worst) == Ordering::Less {
            self.worst = spaced;
        }
    }
}

/// Every distance of one hole: edges near to far, bend, neighbours, rows, sheets.
///
/// Empty where the hole is not drawn or holds no solid rivet.
#[must_use]
pub fn at_hole(plan: &Plan, joints: &Joints, hole: HoleId) -> Vec<Spaced> {
    let row = &plan[plan[hole].row];
    let Some(plane) = row.plane.filter(|_| row.rivet.is_some() && plan[hole].at.is_some()) else {
        return Vec::new();
    };
    Ground::of(plan, joints, plane).measure(hole, Which::All)
}

/// What holes of a row are too near to in common.
#[derive(Clone, Copy, PartialEq, Eq, Hash)]
enum Target {
    Edge(PieceId),
    Bend,
    /// Holes of a row, its own as well.
    Holes(RowId),
    Line(RowId),
    Sheet(PieceId),
}

impl Target {
    fn of(plan: &Plan, to: To) -> Self {
        match to {
            To::Edge(piece) => Self::Edge(piece),
            To::Bend => Self::Bend,
            To::Hole(other) => Self::Holes(plan[other].row),
            To::Row(row) => Self::Line(row),
            To::Sheet(piece) => Self::Sheet(piece),
        }
    }
}

/// Which distances are wanted.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Which {
    /// A pair of holes or of rows told by the later one only; far neighbours left out.
    EachPairOnce,
    /// The nearest of each kind, however far, and all that are under a rule.
    All,
}

/// Holes of one row are taken to lie on a line while none is farther off it, in.
const STRAIGHT_IN: f64 = 0.02;
/// Rows within this angle of each other are parallel, degrees.
const PARALLEL_DEG: f64 = 1.0;
/// Rows nearer than this lie on one line: what counts between them is the pitch. In.
const ONE_LINE_IN: f64 = 0.01;
/// Neighbours shown of one hole.
const NEIGHBOURS: usize = 2;

/// A straight row.
struct RowLine {
    row: RowId,
    from: [f64; 2],
    /// Along the row, of length 1.
    unit: [f64; 2],
    length: f64,
    /// Parallel rows that run beside it, by their place in the list.
    beside: Vec<usize>,
}

impl RowLine {
    fn of(plan: &Plan, row: RowId) -> Option<Self> {
        let places: Vec<[f64; 2]> =
            plan[row].hole_ids().filter_map(|hole| Some(plan[hole].at?.inches())).collect();
        let (from, to) = (*places.first()?, *places.last()?);
        let length = (to[0] - from[0]).hypot(to[1] - from[1]);
        if length < ONE_LINE_IN {
            return None;
        }
        let unit = [(to[0] - from[0]) / length, (to[1] - from[1]) / length];
        let line = Self { row, from, unit, length, beside: Vec::new() };
        places.iter().all(|&at| line.across(at).abs() <= STRAIGHT_IN).then_some(line)
    }

    fn along(&self, [x, y]: [f64; 2]) -> f64 {
        (x - self.from[0]) * self.unit[0] + (y - self.from[1]) * self.unit[1]
    }

    /// How far a point lies beside the line; the sign says on which side.
    fn across(&self, [x, y]: [f64; 2]) -> f64 {
        (y - self.from[1]) * self.unit[0] - (x - self.from[0]) * self.unit[1]
    }

    fn point(&self, along: f64) -> [f64; 2] {
        [self.from[0] + along * self.unit[0], self.from[1] + along * self.unit[1]]
    }

    /// The point of the line beside another point, where the row reaches that far.
    fn foot(&self, at: [f64; 2]) -> Option<[f64; 2]> {
        let along = self.along(at);
        let reaches = (-ONE_LINE_IN..=self.length + ONE_LINE_IN).contains(&along);
        reaches.then(|| self.point(along))
    }

    /// Whether two rows are parallel, run beside each other for some way and are not one line.
    fn runs_beside(&self, other: &Self) -> bool {
        let cross = self.unit[0] * other.unit[1] - self.unit[1] * other.unit[0];
        let (a, b) = (other.point(0.0), other.point(other.length));
        let (low, high) = (self.along(a).min(self.along(b)), self.along(a).max(self.along(b)));
        cross.abs() <= PARALLEL_DEG.to_radians().sin()
            && low < self.length
            && high > 0.0
            && self.across(a).abs().max(self.across(b).abs()) > ONE_LINE_IN
    }
}

/// Two rows with the stacks of two of their holes: between such holes the rules are the same.
type PairKey = (RowId, u32, RowId, u32);

/// A sheet and what is asked of its thickness.
type OnSheet = (PieceId, Arc<[Asked]>);

/// One plane, ready to be measured.
struct Ground<'p> {
    plan: &'p Plan,
    joints: &'p Joints,
    edges: Vec<(PieceId, RTree<Line<[f64; 2]>>)>,
    bends: Vec<Line<[f64; 2]>>,
    holes: RTree<GeomWithData<[f64; 2], HoleId>>,
    lines: Vec<RowLine>,
    line_of: HashMap<RowId, usize>,
    /// No rule on a pair of holes asks for more, in.
    widest: f64,
    dimpled: bool,
    on_edge: HashMap<(RowId, u32, Option<PieceId>), Arc<[Asked]>>,
    on_pair: HashMap<PairKey, Arc<[Asked]>>,
    on_rows: HashMap<RivetType, Arc<[Asked]>>,
    on_sheets: HashMap<(RowId, u32), Vec<OnSheet>>,
}

impl<'p> Ground<'p> {
    fn of(plan: &'p Plan, joints: &'p Joints, plane: PlaneId) -> Self {
        let it = &plan[plane];
        let edges = it.layers.iter().map(|layer| {
            let mut lines = Vec::new();
            for ring in layer.outline.iter().chain(&layer.cuts) {
                let points = ring.flattened(CHORD_IN);
                lines.extend(
                    (0..points.len()).map(|at| Line::new(points[at], points[(at + 1) % points.len()])),
                );
            }
            (layer.piece, RTree::bulk_load(lines))
        });
        let drawn = it.rows.iter().flat_map(|&row| plan[row].hole_ids());
        let holes = drawn.filter_map(|hole| Some(GeomWithData::new(plan[hole].at?.inches(), hole)));
        let mut lines: Vec<RowLine> = it.rows.iter().filter_map(|&row| RowLine::of(plan, row)).collect();
        for one in 0..lines.len() {
            let others = (0..lines.len()).filter(|&other| other != one);
            lines[one].beside = others.filter(|&other| lines[one].runs_beside(&lines[other])).collect();
        }
        let rivets = it.rows.iter().filter_map(|&row| plan[row].rivet);
        // Two rims side by side are two heads wide, and a flush head is less than two diameters.
        let widest = rivets.flat_map(|rivet| {
            let pitch = rules(SpacingItem::Pitch, rivet).into_iter().map(|rule| rule.least.inches());
            pitch.chain([4.0 * rivet.diameter.length().inches()])
        });
        Self {
            plan,
            joints,
            edges: edges.collect(),
            bends: it.bends.iter().map(|[from, to]| Line::new(from.inches(), to.inches())).collect(),
            holes: RTree::bulk_load(holes.collect()),
            line_of: lines.iter().enumerate().map(|(at, line)| (line.row, at)).collect(),
            lines,
            widest: widest.fold(0.0, f64::max),
            dimpled: false,
            on_edge: HashMap::new(),
            on_pair: HashMap::new(),
            on_rows: HashMap::new(),
            on_sheets: HashMap::new(),
        }
    }

    /// Where the rules come from that were asked so far.
    fn cited(&self) -> Vec<Cited> {
        let sheets = self.on_sheets.values().flatten().map(|(_, asked)| asked);
        let all =
            self.on_edge.values().chain(self.on_pair.values()).chain(self.on_rows.values()).chain(sheets);
        let mut cited: Vec<(bool, &Cited)> = all
            .flat_map(|asked| asked.iter())
            .filter(|asked| asked.least.is_some())
            .map(|asked| (!asked.rules, &asked.cited))
            .collect();
        cited.sort_by_key(|&(beside, cited)| (beside, &cited.source, &cited.place));
        let mut told: Vec<Cited> = Vec::new();
        for (_, one) in cited {
            if !told.contains(one) {
                told.push(one.clone());
            }
        }
        told
    }

    fn measure(&mut self, hole: HoleId, which: Which) -> Vec<Spaced> {
        let row = &self.plan[self.plan[hole].row];
        let (Some(at), Some(rivet)) = (self.plan[hole].at, row.rivet) else { return Vec::new() };
        let from = From { hole, at: at.inches(), rivet };
        let mut found = Vec::new();
        self.edges(from, &mut found);
        self.bends(from, which, &mut found);
        self.neighbours(from, which, &mut found);
        self.rows(from, which, &mut found);
        self.sheets(from, &mut found);
        found
    }

    fn edges(&mut self, from: From, found: &mut Vec<Spaced>) {
        let joints = self.joints;
        for &piece in joints.stacks.at(from.hole) {
            let edge = self.edges.iter().find(|(known, _)| *known == piece);
            let nearest =
                edge.and_then(|(_, lines)| lines.nearest_neighbor(&from.at)).map(|line| from.to(line));
            let asked = self.asked_on_edge(from, Some(piece));
            found.push(from.spaced(To::Edge(piece), nearest, from.rivet, asked));
        }
    }

    fn bends(&mut self, from: From, which: Which, found: &mut Vec<Spaced>) {
        let mut near: Vec<(f64, [f64; 2])> = self.bends.iter().map(|line| from.to(line)).collect();
        near.sort_by(|a, b| a.0.total_cmp(&b.0));
        if which == Which::All {
            near.truncate(1);
        }
        for nearest in near {
            let asked = self.asked_on_edge(from, None);
            found.push(from.spaced(To::Bend, Some(nearest), from.rivet, asked));
        }
    }

    fn neighbours(&mut self, from: From, which: Which, found: &mut Vec<Spaced>) {
        let widest2 = self.widest.powi(2);
        let near: Vec<(f64, [f64; 2], HoleId)> = self
            .holes
            .nearest_neighbor_iter_with_distance_2(&from.at)
            .filter(|(other, _)| other.data != from.hole)
            .enumerate()
            .take_while(|&(rank, (_, square))| {
                square <= widest2 || (which == Which::All && rank < NEIGHBOURS)
            })
            .map(|(_, (other, square))| (square.sqrt(), *other.geom(), other.data))
            .collect();
        for (rank, (distance, end, other)) in near.into_iter().enumerate() {
            // A neighbour that holds no solid rivet asks nothing itself: the pair is told by the hole that does.
            let theirs = self.plan[self.plan[other].row].rivet;
            if which == Which::EachPairOnce && theirs.is_some() && other > from.hole {
                continue;
            }
            let larger = theirs.filter(|it| it.diameter > from.rivet.diameter).unwrap_or(from.rivet);
            let asked = self.asked_on_pair(from.hole, other, larger);
            let spaced = from.spaced(To::Hole(other), Some((distance, end)), larger, asked);
            if which == Which::EachPairOnce || rank < NEIGHBOURS || spaced.shortfall() != Shortfall::None {
                found.push(spaced);
            }
        }
    }

    fn rows(&mut self, from: From, which: Which, found: &mut Vec<Spaced>) {
        let row = self.plan[from.hole].row;
        let Some(&own) = self.line_of.get(&row) else { return };
        let beside = self.lines[own].beside.iter().map(|&other| &self.lines[other]);
        let told_here =
            |other: &RowLine| which == Which::All || other.row < row || self.plan[other.row].rivet.is_none();
        let mut near: Vec<(f64, [f64; 2], RowId)> = beside
            .filter(|other| told_here(other))
            .filter_map(|other| Some((other.across(from.at).abs(), other.foot(from.at)?, other.row)))
            .collect();
        near.sort_by(|a, b| a.0.total_cmp(&b.0));
        if which == Which::All {
            near.truncate(NEIGHBOURS);
        }
        for (distance, end, other) in near {
            let theirs = self.plan[other].rivet.filter(|it| it.diameter > from.rivet.diameter);
            let rivet = theirs.unwrap_or(from.rivet);
            let asked = self.on_rows.entry(rivet);
            let asked = asked.or_insert_with(|| ruled(published(SpacingItem::RowSpacing, rivet), Vec::new()));
            found.push(from.spaced(To::Row(other), Some((distance, end)), rivet, Arc::clone(asked)));
        }
    }

    fn sheets(&mut self, from: From, found: &mut Vec<Spaced>) {
        let (plan, joints) = (self.plan, self.joints);
        let key = (plan[from.hole].row, joints.stacks.number(from.hole));
        let sheets =
            self.on_sheets.entry(key).or_insert_with(|| on_sheets(plan, joints, from.hole, from.rivet));
        for (piece, asked) in sheets {
            let spaced = from.spaced(To::Sheet(*piece), None, from.rivet, Arc::clone(asked));
            found.push(Spaced { distance: plan[plan[*piece].part].thickness, ..spaced });
        }
    }

    /// The rules on the edge of a layer; on a bend, which all layers of the plane have, where none is given.
    fn asked_on_edge(&mut self, from: From, piece: Option<PieceId>) -> Arc<[Asked]> {
        let (plan, joints) = (self.plan, self.joints);
        let key = (plan[from.hole].row, joints.stacks.number(from.hole), piece);
        if let Some(known) = self.on_edge.get(&key) {
            return Arc::clone(known);
        }
        let layers = joints.stacks.at(from.hole).iter().copied();
        let layers = layers.filter(|&it| piece.is_none_or(|only| only == it));
        let mut rims: Vec<Rim> = layers.filter_map(|it| Rim::of(plan, joints, from.hole, it)).collect();
        rims.sort_by_key(|rim| (!rim.dimple, std::cmp::Reverse(rim.radius)));
        rims.dedup_by_key(|rim| rim.dimple);
        let to = match piece {
            Some(_) => "ends inside the edge",
            None => "ends before the bend line (its radius is not counted)",
        };
        let mut more = Vec::new();
        for rim in rims {
            self.dimpled |= rim.dimple;
            more.push(derived(format!("{} {to}: {}", rim.what(), rim.formula), Some(rim.radius)));
            more.extend(rim.dimple.then(unknown_die));
        }
        let asked = ruled(published(SpacingItem::EdgeDistance, from.rivet), more);
        self.on_edge.insert(key, Arc::clone(&asked));
        asked
    }

    fn asked_on_pair(&mut self, hole: HoleId, other: HoleId, larger: RivetType) -> Arc<[Asked]> {
        let (plan, joints) = (self.plan, self.joints);
        let stack = |hole: HoleId| joints.stacks.number(hole);
        let key = (plan[hole].row, stack(hole), plan[other].row, stack(other));
        if let Some(known) = self.on_pair.get(&key) {
            return Arc::clone(known);
        }
        let mut more: Vec<Asked> = Vec::new();
        let shared = joints.stacks.at(hole).iter().filter(|piece| joints.stacks.at(other).contains(piece));
        for &piece in shared {
            let rims = [hole, other].map(|hole| Rim::of(plan, joints, hole, piece));
            // A dimple counts before a countersink: its metal is moved.
            let Some(chief) = rims.iter().flatten().max_by_key(|rim| rim.dimple) else { continue };
            let half = |at: usize| match &rims[at] {
                Some(rim) => Some(rim.radius),
                None => half_hole(plan, [hole, other][at]),
            };
            let asked = derived(
                format!("{} ends before what is made of the hole beside it: half of each", chief.what()),
                half(0).zip(half(1)).map(|(a, b)| a + b),
            );
            match more.iter_mut().find(|known| known.rule == asked.rule) {
                Some(known) => known.least = known.least.max(asked.least),
                None => more.push(asked),
            }
            if chief.dimple {
                self.dimpled = true;
                if !more.iter().any(|known| known.rule == DIE) {
                    more.push(unknown_die());
                }
            }
        }
        let asked = ruled(published(SpacingItem::Pitch, larger), more);
        self.on_pair.insert(key, Arc::clone(&asked));
        asked
    }
}

/// A hole from which is measured.
#[derive(Clone, Copy)]
struct From {
    hole: HoleId,
    at: [f64; 2],
    rivet: RivetType,
}

impl From {
    /// How far a line is, in, and its nearest point.
    fn to(&self, line: &Line<[f64; 2]>) -> (f64, [f64; 2]) {
        (line.distance_2(&self.at).sqrt(), line.nearest_point(&self.at))
    }

    fn spaced(
        &self,
        to: To,
        nearest: Option<(f64, [f64; 2])>,
        rivet: RivetType,
        asked: Arc<[Asked]>,
    ) -> Spaced {
        Spaced {
            hole: self.hole,
            to,
            distance: nearest.map(|(distance, _)| Length::from_inches(distance)),
            end: nearest.map(|(_, end)| end),
            rivet,
            asked,
        }
    }
}

/// The rules of `standards/spacing.csv`, none of them ruling yet.
fn published(item: SpacingItem, rivet: RivetType) -> Vec<Asked> {
    let words = |condition: String, rule: String| {
        if condition.is_empty() { rule } else { format!("{condition}: {rule}") }
    };
    rules(item, rivet)
        .into_iter()
        .map(|it| Asked {
            rule: words(it.condition, it.rule),
            least: Some(it.least),
            rules: false,
            cited: it.cited,
        })
        .collect()
}

/// The first published rule rules, as it makes the finding; what is derived here stands beside it.
fn ruled(mut published: Vec<Asked>, more: Vec<Asked>) -> Arc<[Asked]> {
    if let Some(first) = published.first_mut() {
        first.rules = true;
    }
    published.extend(more);
    published.into()
}

fn derived(rule: String, least: Option<Length>) -> Asked {
    Asked { rule, least, rules: false, cited: Cited::theory("spacing") }
}

const DIE: &str = "the die of the dimple clears it";

/// The die is wider than the dimple, and nothing read here says how much.
fn unknown_die() -> Asked {
    derived(DIE.to_owned(), None)
}

/// What a plain sheet has at a hole: half its diameter, where that is known.
fn half_hole(plan: &Plan, hole: HoleId) -> Option<Length> {
    let row = &plan[plan[hole].row];
    let usual = || usual_hole(row.rivet?.diameter)?.nominal;
    row.hole_size.or_else(usual).map(|hole| Length::from_inches(hole.inches() / 2.0))
}

/// Where a dimple or a countersink ends at the face of its sheet.
struct Rim {
    dimple: bool,
    radius: Length,
    formula: &'static str,
}

impl Rim {
    /// At one sheet; none where it is plain, or no flush head of that diameter is in the standards.
    fn of(plan: &Plan, joints: &Joints, hole: HoleId, piece: PieceId) -> Option<Self> {
        let row = plan[hole].row;
        let rivet = plan[row].rivet?;
        let size = figures().rivet_size(RivetType { head: HeadStyle::Flush, ..rivet })?;
        let half = size.head_diameter.inches() / 2.0;
        let rim =
            |dimple, radius, formula| Some(Self { dimple, radius: Length::from_inches(radius), formula });
        match plan.preparation(row, plan[piece].part) {
            Preparation::Plain => None,
            Preparation::Dimpled => rim(true, half, "A/2"),
            Preparation::Countersunk => match deeper(plan, joints, hole, piece).inches() {
                0.0 => rim(false, half, "A/2"),
                deeper => {
                    let wider = deeper * (FLUSH_DEG / 2.0).to_radians().tan();
                    rim(false, half + wider, "A/2 + .305·t·tan 50°")
                }
            },
        }
    }

    const fn what(&self) -> &'static str {
        if self.dimple { "the foot of the dimple" } else { "the rim of the countersink" }
    }
}

/// How much deeper a countersink goes for the dimpled sheets that lie in it; zero without one.
fn deeper(plan: &Plan, joints: &Joints, hole: HoleId, piece: PieceId) -> Length {
    let row = plan[hole].row;
    if plan[row].rivet.is_none_or(|rivet| rivet.head != HeadStyle::Flush) {
        return Length::ZERO;
    }
    let mut layers = joints.stacks.at(hole).to_vec();
    // From the manufactured head, as dimples are pushed.
    if joints.at(hole).is_some_and(|joint| joint.head.side == Side::Far) {
        layers.reverse();
    }
    let over = layers.split(|&it| it == piece).next().unwrap_or(&[]);
    let skins: Length = over
        .iter()
        .rev()
        .map(|&it| plan[it].part)
        .take_while(|&part| plan.preparation(row, part) == Preparation::Dimpled)
        .filter_map(|part| plan[part].thickness)
        .sum();
    Length::from_inches(skins.inches() * (joints.constants.dimple_thickness_most.value - 1.0))
}

/// The countersunk sheets of a hole with every rule on their thickness.
fn on_sheets(plan: &Plan, joints: &Joints, hole: HoleId, rivet: RivetType) -> Vec<(PieceId, Arc<[Asked]>)> {
    let row = plan[hole].row;
    let flush = RivetType { head: HeadStyle::Flush, ..rivet };
    let own = plan[row].hole_size.filter(|_| rivet.head == HeadStyle::Universal);
    let drilled = own.or_else(|| usual_hole(rivet.diameter)?.nominal);
    let cone = figures().rivet_size(flush).zip(drilled).map(|(size, drilled)| cone_depth(size, drilled));
    let land = joints.constants.countersink_land.value;
    let layers = joints.stacks.at(hole).iter().copied();
    layers
        .filter(|&piece| plan.preparation(row, plan[piece].part) == Preparation::Countersunk)
        .map(|piece| {
            let deeper = deeper(plan, joints, hole, piece);
            let nested = deeper > Length::ZERO;
            let depth = cone.map(|cone| cone + deeper);
            let formula = if nested { "z0 + .305·t, under a dimpled skin" } else { "z0" };
            let with_land = derived(
                format!("a land is left under the cone: {formula}, and the land"),
                depth.map(|it| it + land),
            );
            let mut asked = vec![
                Asked { rules: nested, ..with_land },
                derived(format!("the cone ends inside the sheet, else it is a knife edge: {formula}"), depth),
            ];
            asked.extend(figures().countersink_minima(rivet.diameter).map(|it| Asked {
                rule: it.rule.clone(),
                least: it.least_sheet,
                // As the finding has it: the table's sheet rules where no dimple lies in the countersink.
                rules: it.default && !nested,
                cited: it.cited.clone(),
            }));
            asked.sort_by_key(|asked| !asked.rules);
            (piece, asked.into())
        })
        .collect()
}
