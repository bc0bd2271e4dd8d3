//! Edge distance and pitch, against the rules of the trade side by side.
//!
//! Measured from the hole's centre to the nearest edge of every layer it
//! passes (outline, cut-out) and to bend lines, and from hole to hole within a
//! plane. The least value that makes a finding is that of the rule used first
//! in `standards/spacing.csv`; the others are named beside it, because they
//! disagree. The plan itself may have its reasons: the question goes to the
//! kit's designer. Every rule on every distance of a plane, row spacing,
//! countersunk sheets and the room of a dimple's foot among them, is in
//! [`Survey`].

use faying_plan::{HoleId, PieceId, Plan, PlaneId};
use faying_standards::{Cited, Length, RivetType, SpacingItem, SpacingUse, figures};
use rstar::RTree;
use rstar::primitives::GeomWithData;

use crate::stack::{LayerShapes, Stacks};

mod survey;

pub use survey::{Asked, Group, Shortfall, Spaced, Survey, To, at_hole};

/// What a hole is too near to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Near {
    /// The edge of a layer.
    Edge(PieceId),
    /// A bend line of the plane.
    Bend,
    /// Another hole.
    Hole(HoleId),
}

/// A hole that is nearer to something than the rule allows.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TooNear {
    /// Which hole.
    pub hole: HoleId,
    /// What it is too near to.
    pub near: Near,
    /// The distance found.
    pub distance: Length,
    /// The least distance of the rule that is used.
    pub least: Length,
}

/// A rule of least distance for one rivet.
#[derive(Clone, Debug)]
pub struct LeastRule {
    /// For which joints, in words; empty where it holds for all.
    pub condition: String,
    /// The rule in words.
    pub rule: String,
    /// The least distance it asks for this rivet.
    pub least: Length,
    /// Where it comes from.
    pub cited: Cited,
}

/// The rules of least distance that hold for a rivet, the one that is used first.
#[must_use]
pub fn rules(item: SpacingItem, rivet: RivetType) -> Vec<LeastRule> {
    figures()
        .spacing_rules()
        .iter()
        .filter(|rule| rule.item == item && rule.used == SpacingUse::Compare)
        .filter(|rule| {
            rule.diameter.is_none_or(|d| d == rivet.diameter) && rule.head.is_none_or(|h| h == rivet.head)
        })
        .filter_map(|rule| {
            Some(LeastRule {
                condition: rule.condition.clone(),
                rule: rule.rule.clone(),
                least: rule.least_for(rivet)?,
                cited: rule.cited.clone(),
            })
        })
        .collect()
}

/// Every hole of a plan that is too near to an edge, a bend or another hole.
#[must_use]
pub fn too_near(plan: &Plan, stacks: &Stacks) -> Vec<TooNear> {
    let mut found = Vec::new();
    let mut least = LeastOf::default();
    for plane in (0..plan.planes.len()).map(PlaneId::from_index) {
        in_plane(plan, stacks, plane, &mut least, &mut found);
    }
    found
}

/// Least edge distance and pitch by rivet, looked up once for each.
#[derive(Default)]
struct LeastOf(Vec<(RivetType, Option<Length>, Option<Length>)>);

impl LeastOf {
    fn of(&mut self, rivet: RivetType) -> (Option<Length>, Option<Length>) {
        if let Some((_, edge, pitch)) = self.0.iter().find(|(known, ..)| *known == rivet) {
            return (*edge, *pitch);
        }
        let first = |item| rules(item, rivet).first().map(|rule| rule.least);
        let (edge, pitch) = (first(SpacingItem::EdgeDistance), first(SpacingItem::Pitch));
        self.0.push((rivet, edge, pitch));
        (edge, pitch)
    }
}

fn in_plane(plan: &Plan, stacks: &Stacks, plane: PlaneId, least: &mut LeastOf, found: &mut Vec<TooNear>) {
    let shapes = LayerShapes::of(plan, plane);
    let places: Vec<GeomWithData<[f64; 2], HoleId>> = plan[plane]
        .rows
        .iter()
        .flat_map(|&row| plan[row].hole_ids())
        .filter_map(|hole| Some(GeomWithData::new(plan[hole].at?.inches(), hole)))
        .collect();
    let tree = RTree::bulk_load(places.clone());
    for place in &places {
        let (at, hole) = (*place.geom(), place.data);
        let Some(rivet) = plan[plan[hole].row].rivet else { continue };
        let (edge, pitch) = least.of(rivet);
        if let Some(edge) = edge {
            for layer in &shapes.layers {
                let distance =
                    stacks.at(hole).contains(&layer.piece).then(|| layer.edge_distance(at)).flatten();
                if let Some(distance) = distance.filter(|&d| short(d, edge)) {
                    let distance = Length::from_inches(distance);
                    found.push(TooNear { hole, near: Near::Edge(layer.piece), distance, least: edge });
                }
            }
            for &[from, to] in &plan[plane].bends {
                let distance = segment_distance(at, from.inches(), to.inches());
                if short(distance, edge) {
                    let distance = Length::from_inches(distance);
                    found.push(TooNear { hole, near: Near::Bend, distance, least: edge });
                }
            }
        }
        if let Some(pitch) = pitch {
            // Each pair is told once, by the hole that comes later.
            let nearest = tree.nearest_neighbor_iter(&at).find(|other| other.data != hole);
            if let Some(other) = nearest.filter(|other| other.data < hole) {
                let [x, y] = *other.geom();
                let distance = (x - at[0]).hypot(y - at[1]);
                if short(distance, pitch) {
                    let distance = Length::from_inches(distance);
                    found.push(TooNear { hole, near: Near::Hole(other.data), distance, least: pitch });
                }
            }
        }
    }
}

/// A plan is drawn to a thousandth; half of one is not a shortfall.
fn short(distance_in: f64, least: Length) -> bool {
    distance_in < least.inches() - 0.000_5
}

fn segment_distance(at: [f64; 2], from: [f64; 2], to: [f64; 2]) -> f64 {
    let (dx, dy) = (to[0] - from[0], to[1] - from[1]);
    let length2 = dx * dx + dy * dy;
    let along = if length2 == 0.0 {
        0.0
    } else {
        (((at[0] - from[0]) * dx + (at[1] - from[1]) * dy) / length2).clamp(0.0, 1.0)
    };
    (from[0] + along * dx - at[0]).hypot(from[1] + along * dy - at[1])
}

/// Distance from a hole to the nearest edge of each of its layers, near to far.
///
/// # Units
/// - returns: in; none where a layer has neither outline nor cut-out, or the hole no place
#[must_use]
pub fn edge_distances(plan: &Plan, hole: HoleId, stacks: &Stacks) -> Vec<Option<f64>> {
    let layers = stacks.at(hole);
    let place = plan[plan[hole].row].plane.zip(plan[hole].at);
    let Some((plane, at)) = place else { return vec![None; layers.len()] };
    let shapes = LayerShapes::of(plan, plane);
    let edge =
        |piece: PieceId| shapes.layers.iter().find(|layer| layer.piece == piece)?.edge_distance(at.inches());
    layers.iter().map(|&piece| edge(piece)).collect()
}
