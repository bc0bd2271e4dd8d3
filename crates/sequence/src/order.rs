//! Which step comes before which, and when each piece arrives.

use faying_plan::{PieceId, Plan, StepId};

/// The partial order of a plan's steps.
#[derive(Clone, Debug, Default)]
pub struct StepOrder {
    /// For each step a bit for every step that comes before it.
    before: Vec<Vec<u64>>,
    /// Steps so that none comes before one it waits for; file order otherwise.
    sorted: Vec<StepId>,
    arrives: Vec<Option<StepId>>,
}

impl StepOrder {
    /// The order that the plan's `after` gives. Steps in a circle come last, in file order.
    #[must_use]
    pub fn of(plan: &Plan) -> Self {
        let count = plan.steps.len();
        let words = count.div_ceil(64);
        let mut before = vec![vec![0_u64; words]; count];
        let mut sorted = Vec::with_capacity(count);
        let mut done = vec![false; count];
        // Repeated passes over some hundred steps; a queue would save nothing that can be measured.
        loop {
            let ready = (0..count)
                .find(|&step| !done[step] && plan.steps[step].after.iter().all(|s| done[s.index()]));
            let Some(step) = ready else { break };
            done[step] = true;
            sorted.push(StepId::from_index(step));
            for prior in plan.steps[step].after.clone() {
                let inherited = before[prior.index()].clone();
                let own = &mut before[step];
                own.iter_mut().zip(inherited).for_each(|(own, inherited)| *own |= inherited);
                own[prior.index() / 64] |= 1 << (prior.index() % 64);
            }
        }
        sorted.extend((0..count).filter(|&step| !done[step]).map(StepId::from_index));
        let mut arrives: Vec<Option<StepId>> = vec![None; plan.pieces.len()];
        for &step in &sorted {
            for piece in &plan[step].adds {
                arrives[piece.index()].get_or_insert(step);
            }
        }
        Self { before, sorted, arrives }
    }

    /// Whether `first` comes before `then`, directly or through others.
    #[must_use]
    pub fn is_before(&self, first: StepId, then: StepId) -> bool {
        self.before[then.index()][first.index() / 64] >> (first.index() % 64) & 1 == 1
    }

    /// Whether `first` is `then`, or comes before it.
    #[must_use]
    pub fn is_by(&self, first: StepId, then: StepId) -> bool {
        first == then || self.is_before(first, then)
    }

    /// All steps in an order that the plan allows.
    #[must_use]
    pub fn sorted(&self) -> &[StepId] {
        &self.sorted
    }

    /// The step at which a piece comes in; none where the plan does not say, and then it is there.
    #[must_use]
    pub fn arrival(&self, piece: PieceId) -> Option<StepId> {
        self.arrives[piece.index()]
    }

    /// Whether a piece is there at a step.
    #[must_use]
    pub fn is_there(&self, piece: PieceId, step: StepId) -> bool {
        self.arrival(piece).is_none_or(|arrival| self.is_by(arrival, step))
    }
}
