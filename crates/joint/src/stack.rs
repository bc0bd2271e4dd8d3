//! The layers at every hole, near to far.
//!
//! A layer counts where its outline contains the hole's centre and none of its
//! cut-outs does; a layer without an outline lies everywhere in its plane. A
//! list that the builder wrote (`through`) wins over the outlines, and a
//! difference between the two is a finding.
//!
//! Equal stacks are kept once: twenty thousand holes have some hundred stacks.

use std::collections::HashMap;

use faying_plan::{HoleId, PieceId, Plan, PlaneId, RowId};
use geo::{BoundingRect, Contains, Coord, Distance, Euclidean, LineString, Polygon};

/// How far an arc may lie from the chords that stand in for it, in.
///
/// A tenth of the thousandth to which a plan is drawn.
pub(crate) const CHORD_IN: f64 = 1e-4;

/// The layers at every hole of a plan.
#[derive(Clone, Debug, Default)]
pub struct Stacks {
    stacks: Vec<Vec<PieceId>>,
    of_hole: Vec<u32>,
    /// Rows whose list of layers differs from what the outlines say, with the first such hole.
    pub differ: Vec<(RowId, HoleId, Vec<PieceId>)>,
    /// Layers drawn over a hole that its row's list leaves out: the hole lies under them and is not through them.
    pub under: Vec<(HoleId, PieceId)>,
}

impl Stacks {
    /// Finds the layers at every hole.
    #[must_use]
    pub fn of(plan: &Plan) -> Self {
        let mut stacks = Self { of_hole: vec![0; plan.holes.len()], ..Self::default() };
        let mut known: HashMap<Vec<PieceId>, u32> = HashMap::new();
        stacks.intern(&mut known, &[]);
        for plane in (0..plan.planes.len()).map(PlaneId::from_index) {
            stacks.find_in_plane(plan, plane, &mut known);
        }
        for row in plan.rows.iter().filter(|row| row.plane.is_none()) {
            if let Some(through) = &row.through {
                let id = stacks.intern(&mut known, through);
                for hole in row.hole_ids() {
                    stacks.of_hole[hole.index()] = id;
                }
            }
        }
        stacks
    }

    fn find_in_plane(&mut self, plan: &Plan, plane: PlaneId, known: &mut HashMap<Vec<PieceId>, u32>) {
        let shapes = LayerShapes::of(plan, plane);
        let mut layers = Vec::new();
        for &row in &plan[plane].rows {
            let through = plan[row].through.as_deref();
            let mut differs = false;
            for hole in plan[row].hole_ids() {
                let Some(at) = plan[hole].at else { continue };
                shapes.at(at.inches(), &mut layers);
                // A plane without a single outline says nothing; the list stands alone.
                if let Some(through) = through.filter(|_| shapes.any_outline)
                    && layers != through
                {
                    if !differs {
                        self.differ.push((row, hole, layers.clone()));
                        differs = true;
                    }
                    let left_out = layers.iter().filter(|piece| !through.contains(piece));
                    self.under.extend(left_out.map(|&piece| (hole, piece)));
                }
                self.of_hole[hole.index()] = self.intern(known, through.unwrap_or(&layers));
            }
        }
    }

    fn intern(&mut self, known: &mut HashMap<Vec<PieceId>, u32>, layers: &[PieceId]) -> u32 {
        if let Some(&id) = known.get(layers) {
            return id;
        }
        let id = u32::try_from(self.stacks.len()).expect("a build has fewer stacks than holes");
        self.stacks.push(layers.to_vec());
        known.insert(layers.to_vec(), id);
        id
    }

    /// The layers at a hole, near to far; empty where the plan does not say.
    #[must_use]
    pub fn at(&self, hole: HoleId) -> &[PieceId] {
        &self.stacks[self.of_hole[hole.index()] as usize]
    }

    /// A number that is the same for holes with the same layers.
    #[must_use]
    pub fn number(&self, hole: HoleId) -> u32 {
        self.of_hole[hole.index()]
    }
}

/// The layers of one plane as polygons, in inches.
pub(crate) struct LayerShapes {
    pub layers: Vec<LayerShape>,
    pub any_outline: bool,
}

pub(crate) struct LayerShape {
    pub piece: PieceId,
    outline: Option<(Polygon, geo::Rect)>,
    cuts: Vec<Polygon>,
}

impl LayerShapes {
    pub fn of(plan: &Plan, plane: PlaneId) -> Self {
        let layers: Vec<LayerShape> = plan[plane]
            .layers
            .iter()
            .map(|layer| LayerShape {
                piece: layer.piece,
                outline: layer.outline.as_ref().map(polygon).and_then(|shape| {
                    let bounds = shape.bounding_rect()?;
                    Some((shape, bounds))
                }),
                cuts: layer.cuts.iter().map(polygon).collect(),
            })
            .collect();
        let any_outline = layers.iter().any(|layer| layer.outline.is_some());
        Self { layers, any_outline }
    }

    /// The layers at a point, near to far.
    fn at(&self, at: [f64; 2], layers: &mut Vec<PieceId>) {
        layers.clear();
        layers.extend(self.layers.iter().filter(|layer| layer.covers(at)).map(|layer| layer.piece));
    }
}

impl LayerShape {
    fn covers(&self, at: [f64; 2]) -> bool {
        let point = Coord { x: at[0], y: at[1] };
        let inside = self
            .outline
            .as_ref()
            .is_none_or(|(shape, bounds)| bounds.contains(&point) && shape.contains(&geo::Point(point)));
        inside && !self.cuts.iter().any(|cut| cut.contains(&geo::Point(point)))
    }

    /// Distance from a point to the nearest edge of this layer: outline or cut-out.
    ///
    /// # Units
    /// - returns: in; none where the layer has no outline and no cut-out
    pub fn edge_distance(&self, at: [f64; 2]) -> Option<f64> {
        let point = geo::Point::new(at[0], at[1]);
        let outline = self.outline.iter().map(|(shape, _)| shape);
        outline
            .chain(&self.cuts)
            .map(|shape| Euclidean.distance(&point, shape.exterior()))
            .min_by(f64::total_cmp)
    }
}

fn polygon(shape: &faying_plan::Loop) -> Polygon {
    let ring: LineString = shape.flattened(CHORD_IN).into_iter().map(|[x, y]| Coord { x, y }).collect();
    Polygon::new(ring, Vec::new())
}
