//! What a fault costs: hole, row and group as built over as planned.
//!
//! Never above 1, and no figure where a mode is left out. Beside it stands
//! what is left if the faulty rivets carried nothing at all, which no fault
//! can be worse than. The figures go into the question to the designer; the
//! load, and whether that is enough, is the designer's knowledge.

use faying_joint::examine::{Aspect, Reading, Readings};
use faying_joint::spacing::edge_distances;
use faying_joint::strength::deviation::{self, GroupDeviation, HoleDeviation, InGroup, InRow, RowDeviation};
use faying_joint::strength::modes::{Head, Hole, Sheet};
use faying_plan::HoleId;
use faying_standards::{Length, ShopHeadLimits, figures};

use crate::world::World;

/// What a fault costs.
#[derive(Clone, Debug)]
pub struct Cost {
    /// The hole; none where what is wrong is in no mode here.
    pub hole: Option<HoleDeviation>,
    /// Its row with what the hole keeps.
    pub row: Option<RowDeviation>,
    /// Its group with what the hole keeps.
    pub group: Option<GroupDeviation>,
    /// The row, if the faulty rivets carried nothing.
    pub row_without: Option<RowDeviation>,
    /// The group, if they carried nothing.
    pub group_without: Option<GroupDeviation>,
    /// Rivets of the row, and of the group.
    pub of: (usize, usize),
    /// Why there is no figure, or what is left out of one.
    pub left_out: Vec<String>,
}

/// What is wrong, as far as it changes a number of the hole.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Wrong {
    /// The hole as read.
    pub diameter: Option<Length>,
    /// Its edge distance as read.
    pub edge: Option<Length>,
    /// Its pitch as read.
    pub pitch: Option<Length>,
    /// Width and height of its shop head.
    pub head: Option<(Length, Length)>,
    /// Whether anything of that is all that is wrong.
    pub in_modes: bool,
}

impl Wrong {
    /// What readings of an aspect change.
    pub(crate) fn examined(aspect: Aspect, readings: &Readings, edge: Option<Length>) -> Self {
        let length = |name: &str| match readings.get(name) {
            Some(Reading::Length(length)) => Some(*length),
            _ => None,
        };
        let wrong = match aspect {
            Aspect::Hole => Self { diameter: length("diameter"), ..Self::default() },
            Aspect::FigureEight => {
                Self { diameter: length("long").into_iter().chain(length("wide")).max(), ..Self::default() }
            }
            Aspect::Edge => Self { edge, ..Self::default() },
            Aspect::Pitch => Self { pitch: length("centres"), ..Self::default() },
            _ => Self::default(),
        };
        let in_modes = wrong.diameter.is_some() || wrong.edge.is_some() || wrong.pitch.is_some();
        Self { in_modes, ..wrong }
    }

    /// A head with its dimensions.
    pub(crate) const fn head(width: Length, height: Length) -> Self {
        Self { head: Some((width, height)), diameter: None, edge: None, pitch: None, in_modes: true }
    }
}

/// Whether a head is at least the handbook's, on which its values rest.
fn within(set: &ShopHeadLimits, (width, height): (Length, Length)) -> Head {
    if width >= set.min_width && height >= set.min_height { Head::Within } else { Head::Under }
}

impl World {
    /// What a fault at some holes costs; none where no solid rivet with a known stack is planned there.
    pub(crate) fn cost(&self, holes: &[HoleId], wrong: &Wrong) -> Option<Cost> {
        let first = *holes.first()?;
        let planned = self.hole_as_planned(first)?;
        let rivet = planned.rivet?;
        let row: Vec<HoleId> = self.plan()[self.plan()[first].row].hole_ids().collect();
        let group = self.group_of(first);
        let mut left_out: Vec<String> = Vec::new();
        let hole = wrong.in_modes.then(|| {
            let mut built = planned.clone();
            built.diameter = wrong.diameter.unwrap_or(built.diameter);
            built.edge_distance = wrong.edge.or(built.edge_distance);
            built.pitch = wrong.pitch.or(built.pitch);
            if let (Some(head), Some(set)) = (wrong.head, figures().limit_set("MIL-HDBK-5H")) {
                built.head = set.at(rivet).map_or(Head::NotMeasured, |set| within(&set, head));
            }
            deviation::hole(&planned, &built)
        });
        match &hole {
            None => left_out.push("what is wrong here is in no mode that is reckoned".to_owned()),
            Some(hole) if hole.ratio.is_none() => left_out.extend(hole.left_out.iter().cloned()),
            Some(_) => {}
        }
        let mut told = std::collections::HashSet::new();
        left_out.retain(|it| told.insert(it.clone()));
        let keeps = hole.as_ref().and_then(|it| it.ratio.or(it.at_least));
        let in_row = |keeps: Option<f64>| {
            let each = row.iter().map(|hole| match (holes.contains(hole), keeps) {
                (false, _) => InRow::Keeps(1.0),
                (true, Some(share)) => InRow::Keeps(share),
                (true, None) => InRow::Empty,
            });
            deviation::row(&each.collect::<Vec<_>>()).ok()
        };
        let in_group = |keeps: Option<f64>| {
            let each = group.iter().filter_map(|&hole| {
                let [x, y] = self.plan()[hole].at?.inches();
                let planned = self.plan()[self.plan()[hole].row].rivet?.diameter.length().inches().powi(2);
                let share = if holes.contains(&hole) { keeps.unwrap_or(0.0) } else { 1.0 };
                Some(InGroup { x, y, planned, built: planned * share })
            });
            deviation::group(&each.collect::<Vec<_>>()).ok()
        };
        Some(Cost {
            row: keeps.and_then(|keeps| in_row(Some(keeps))),
            group: keeps.and_then(|keeps| in_group(Some(keeps))),
            row_without: in_row(None),
            group_without: in_group(None),
            of: (row.len(), group.len()),
            hole,
            left_out,
        })
    }

    /// A hole as the plan has it, for its strength.
    fn hole_as_planned(&self, hole: HoleId) -> Option<Hole> {
        let plan = self.plan();
        let row = &plan[plan[hole].row];
        let rivet = row.rivet?;
        let joint = self.side.joints.at(hole)?;
        let sheets: Vec<Sheet> = joint
            .layers
            .iter()
            .zip(&joint.sheets)
            .map(|(&piece, sheet)| {
                let material = &plan[plan[piece].part].material;
                Sheet {
                    alloy: (!material.is_empty()).then(|| material.clone()),
                    thickness: sheet.thickness,
                    preparation: sheet.preparation,
                }
            })
            .collect();
        let edge = edge_distances(plan, hole, &self.side.joints.stacks).into_iter().flatten();
        Some(Hole {
            rivet: Some(rivet),
            diameter: figures().usual_hole(rivet.diameter)?.nominal?,
            edge_distance: edge.min_by(f64::total_cmp).map(Length::from_inches),
            pitch: self.pitch_at(hole).map(Length::from_inches),
            sheets,
            head: Head::Within,
            double_shear: false,
        })
    }

    /// Holes of a plane through the same layers as one: they join the same parts.
    fn group_of(&self, hole: HoleId) -> Vec<HoleId> {
        let plan = self.plan();
        let plane = plan[plan[hole].row].plane;
        let stacks = &self.side.joints.stacks;
        let number = stacks.number(hole);
        let rows = &plan[plan[plan[hole].row].assembly].rows;
        rows.iter()
            .filter(|&&row| plan[row].plane == plane && plane.is_some() && plan[row].same.is_none())
            .flat_map(|&row| plan[row].hole_ids())
            .filter(|&other| stacks.number(other) == number && plan[other].at.is_some())
            .collect()
    }
}
