//! Which holes are set at a step, and which stay open and why (methods: what stays open).

use faying_joint::Stacks;
use faying_plan::{GateId, HoleId, PieceId, Plan, StepId};

use crate::gate::Scope;
use crate::order::StepOrder;

/// Whether a hole may be filled at a step.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Openness {
    /// Everything that belongs in it is there.
    Fill,
    /// A layer of it comes later.
    SharedWith {
        /// The piece that is not there yet.
        piece: PieceId,
        /// The step at which it comes.
        arrives: StepId,
    },
    /// The plan holds its row.
    Held {
        /// The step until which.
        until: Option<StepId>,
    },
}

/// Whether a hole may be filled at a step.
#[must_use]
pub fn hole_at(plan: &Plan, stacks: &Stacks, order: &StepOrder, hole: HoleId, step: StepId) -> Openness {
    if let Some(hold) = &plan[plan[hole].row].hold
        && hold.until.is_none_or(|until| !order.is_by(until, step))
    {
        return Openness::Held { until: hold.until };
    }
    let later = stacks.at(hole).iter().copied().find(|&piece| !order.is_there(piece, step));
    match later.and_then(|piece| Some((piece, order.arrival(piece)?))) {
        Some((piece, arrives)) => Openness::SharedWith { piece, arrives },
        None => Openness::Fill,
    }
}

/// What there is to do at a step.
///
/// A step without any of it is done as a whole.
#[derive(Clone, Debug, Default)]
pub struct StepWork {
    /// Holes that are filled at this step, in plan order.
    pub fill: Vec<HoleId>,
    /// Pieces that are worked on, one by one.
    pub pieces: Vec<PieceId>,
    /// Holes that are worked on and not filled, such as those that are dimpled.
    pub worked: Vec<HoleId>,
    /// Holes of its planes that stay open, with the reason.
    pub open: Vec<(HoleId, Openness)>,
}

/// What the plan's order of steps means for every hole; computed once for a plan.
#[derive(Clone, Debug, Default)]
pub struct Sequence {
    /// The order of steps.
    pub order: StepOrder,
    due: Vec<Option<StepId>>,
    work: Vec<StepWork>,
    scopes: Vec<Scope>,
}

impl StepWork {
    /// How many things there are to do; a step that is done as a whole is one.
    #[must_use]
    pub fn count(&self) -> usize {
        (self.fill.len() + self.pieces.len() + self.worked.len()).max(1)
    }

    /// Whether it is done as a whole.
    #[must_use]
    pub fn is_whole(&self) -> bool {
        self.fill.is_empty() && self.pieces.is_empty() && self.worked.is_empty()
    }
}

impl Sequence {
    /// Goes through the steps of a plan.
    #[must_use]
    pub fn of(plan: &Plan, stacks: &Stacks) -> Self {
        let order = StepOrder::of(plan);
        let due = due(plan, stacks, &order);
        let work = (0..plan.steps.len())
            .map(|step| work_at(plan, stacks, &order, &due, StepId::from_index(step)))
            .collect();
        let mut sequence = Self { order, due, work, scopes: Vec::new() };
        let gates = (0..plan.gates.len()).map(GateId::from_index);
        sequence.scopes = gates.map(|gate| Scope::of(plan, &sequence, gate)).collect();
        sequence
    }

    /// The step at which the plan fills a hole, if one does.
    #[must_use]
    pub fn due(&self, hole: HoleId) -> Option<StepId> {
        self.due[hole.index()]
    }

    /// What a gate looks at.
    #[must_use]
    pub fn scope(&self, gate: GateId) -> &Scope {
        &self.scopes[gate.index()]
    }

    /// The holes of a step.
    #[must_use]
    pub fn work(&self, step: StepId) -> &StepWork {
        &self.work[step.index()]
    }
}

/// The holes that a step fills, and those of its planes that must stay open.
///
/// Open are also the holes that the step does not name but whose layers so far
/// are there in a plane it works in: they are what must be taped off.
fn work_at(
    plan: &Plan,
    stacks: &Stacks,
    order: &StepOrder,
    due: &[Option<StepId>],
    step: StepId,
) -> StepWork {
    let mut work = StepWork { pieces: plan[step].parts.clone(), ..StepWork::default() };
    for part in &plan[step].rows {
        work.worked.extend(plan[part.row].hole_ids().filter(|&hole| part.has(plan[hole].number)));
    }
    let mut planes = Vec::new();
    for part in &plan[step].sets {
        planes.extend(plan[part.row].plane);
        for hole in plan[part.row].hole_ids().filter(|&hole| part.has(plan[hole].number)) {
            match hole_at(plan, stacks, order, hole, step) {
                // What an earlier step fills is not filled again.
                Openness::Fill if due[hole.index()] == Some(step) => work.fill.push(hole),
                Openness::Fill => {}
                reason => work.open.push((hole, reason)),
            }
        }
    }
    planes.sort_unstable();
    planes.dedup();
    for row in planes.into_iter().flat_map(|plane| plan[plane].rows.iter().copied()) {
        for hole in plan[row].hole_ids() {
            let named = plan[step].sets.iter().any(|part| part.row == row && part.has(plan[hole].number));
            let here = stacks.at(hole).iter().any(|&piece| order.is_there(piece, step));
            if named || !here {
                continue;
            }
            match hole_at(plan, stacks, order, hole, step) {
                Openness::Fill => {}
                reason => work.open.push((hole, reason)),
            }
        }
    }
    work
}

/// For every hole the first step that names it and may fill it.
fn due(plan: &Plan, stacks: &Stacks, order: &StepOrder) -> Vec<Option<StepId>> {
    let mut due: Vec<Option<StepId>> = vec![None; plan.holes.len()];
    for &step in order.sorted() {
        for part in &plan[step].sets {
            for hole in plan[part.row].hole_ids().filter(|&hole| part.has(plan[hole].number)) {
                if due[hole.index()].is_none() && hole_at(plan, stacks, order, hole, step) == Openness::Fill {
                    due[hole.index()] = Some(step);
                }
            }
        }
    }
    due
}
