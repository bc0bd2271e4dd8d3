//! How far every step is, and what it waits for.

use faying_plan::{HoleId, Plan, StepId};
use faying_record::{HoleStatus, State};

use crate::open::Sequence;

/// Where a step stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum StepState {
    /// Everything of it is done.
    Done,
    /// It can be gone on with.
    Ready,
    /// A step before it is not done.
    Blocked {
        /// The first such step.
        by: StepId,
    },
}

/// How far a step is.
#[derive(Clone, Debug)]
pub struct StepProgress {
    /// Which step.
    pub step: StepId,
    /// Where it stands.
    pub state: StepState,
    /// How many holes it fills.
    pub holes: usize,
    /// How many of them are set.
    pub set: usize,
}

impl StepProgress {
    /// Holes still to be set.
    #[must_use]
    pub fn left(&self) -> usize {
        self.holes - self.set
    }
}

/// How far the whole build is.
#[derive(Clone, Debug, Default)]
pub struct Progress {
    /// Every step, in an order that the plan allows.
    pub steps: Vec<StepProgress>,
    /// Holes with a fastener in them.
    pub set: usize,
    /// All holes.
    pub holes: usize,
}

/// How far every step is.
#[must_use]
pub fn progress(plan: &Plan, sequence: &Sequence, state: &State) -> Progress {
    let is_set = |hole: HoleId| state.status(hole) == HoleStatus::Set;
    let mut done = vec![false; plan.steps.len()];
    let mut steps = Vec::with_capacity(plan.steps.len());
    for &step in sequence.order.sorted() {
        let work = sequence.work(step);
        let set = work.fill.iter().filter(|&&hole| is_set(hole)).count();
        let finished = if work.fill.is_empty() {
            state.step_done(&plan.step_name(step)).is_some()
        } else {
            set == work.fill.len()
        };
        done[step.index()] = finished;
        let blocked = plan[step].after.iter().copied().find(|before| !done[before.index()]);
        let state = match blocked {
            _ if finished => StepState::Done,
            Some(by) => StepState::Blocked { by },
            None => StepState::Ready,
        };
        steps.push(StepProgress { step, state, holes: work.fill.len(), set });
    }
    let set = (0..plan.holes.len()).map(HoleId::from_index).filter(|&hole| is_set(hole)).count();
    Progress { steps, set, holes: plan.holes.len() }
}
