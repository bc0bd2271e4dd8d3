//! How far every step is, and what it waits for.

use faying_plan::{GateId, HoleId, Plan, StepId};
use faying_record::{Act, ActId, HoleStatus, State, seconds_of};

use crate::gate::{GateStanding, standings};
use crate::open::Sequence;

/// Where a step stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum StepState {
    /// Everything of it is done.
    Done,
    /// It can be begun, or gone on with.
    Ready,
    /// A step before it is not done.
    Blocked {
        /// The first such step.
        by: StepId,
    },
    /// A step before it is done and has not cured.
    Curing {
        /// That step.
        after: StepId,
        /// Until when, seconds from 1970-01-01 00:00 UTC.
        until: i64,
    },
    /// A gate before it is not passed.
    AtGate {
        /// The first such gate.
        gate: GateId,
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
    /// How many things there are to do: holes, pieces, or the step as a whole.
    pub all: usize,
    /// How many of them are done.
    pub done: usize,
    /// Until when what it left behind must be left alone, seconds from 1970-01-01 00:00 UTC, where it
    /// is done and cures.
    pub cures_until: Option<i64>,
}

impl StepProgress {
    /// Holes still to be set.
    #[must_use]
    pub fn left(&self) -> usize {
        self.holes - self.set
    }

    /// The share of it that is done, 0 to 1.
    #[must_use]
    #[expect(clippy::cast_precision_loss, reason = "counts of a build are far below 2^52")]
    pub fn share(&self) -> f64 {
        self.done as f64 / self.all as f64
    }

    /// Whether some of it is done and some is not.
    #[must_use]
    pub const fn is_begun(&self) -> bool {
        self.done > 0 && self.done < self.all
    }
}

/// How far the whole build is.
#[derive(Clone, Debug, Default)]
pub struct Progress {
    /// Every step, in an order that the plan allows.
    pub steps: Vec<StepProgress>,
    /// Every gate, in the order of the plan.
    pub gates: Vec<GateStanding>,
    /// Holes with a fastener in them.
    pub set: usize,
    /// All holes.
    pub holes: usize,
    /// Position in `steps` of each step.
    place: Vec<usize>,
}

impl Progress {
    /// How far a step is.
    #[must_use]
    pub fn of(&self, step: StepId) -> &StepProgress {
        &self.steps[self.place[step.index()]]
    }

    /// Where a gate stands.
    #[must_use]
    pub fn gate(&self, gate: GateId) -> &GateStanding {
        &self.gates[gate.index()]
    }
}

/// How far every step is at a moment, seconds from 1970-01-01 00:00 UTC.
#[must_use]
pub fn progress(plan: &Plan, sequence: &Sequence, state: &State, now: i64) -> Progress {
    let counted: Vec<Counted> =
        (0..plan.steps.len()).map(|step| count(plan, sequence, state, StepId::from_index(step))).collect();
    let gates = standings(plan, sequence, state, &|step| counted[step.index()].is_done());
    // The gates that stand before each step.
    let mut before: Vec<Vec<GateId>> = vec![Vec::new(); plan.steps.len()];
    for gate in (0..plan.gates.len()).map(GateId::from_index) {
        if let Some(step) = plan[gate].before {
            before[step.index()].push(gate);
        }
    }
    let mut steps = Vec::with_capacity(plan.steps.len());
    let mut place = vec![0; plan.steps.len()];
    for &step in sequence.order.sorted() {
        let own = &counted[step.index()];
        let waits = || {
            let undone = plan[step].after.iter().copied().find(|it| !counted[it.index()].is_done());
            if let Some(by) = undone {
                return StepState::Blocked { by };
            }
            if let Some(&gate) = before[step.index()].iter().find(|it| !gates[it.index()].is_passed()) {
                return StepState::AtGate { gate };
            }
            let cures = plan[step].after.iter().copied().filter_map(|after| {
                let until = cured(plan, after, counted[after.index()].last)?;
                (until > now).then_some(StepState::Curing { after, until })
            });
            cures
                .max_by_key(|it| if let StepState::Curing { until, .. } = it { *until } else { 0 })
                .unwrap_or(StepState::Ready)
        };
        let state = if own.is_done() { StepState::Done } else { waits() };
        place[step.index()] = steps.len();
        let (holes, set, all, done) = (own.holes, own.set, own.all, own.done);
        let cures_until = cured(plan, step, own.last).filter(|_| own.is_done());
        steps.push(StepProgress { step, state, holes, set, all, done, cures_until });
    }
    let is_set = |&hole: &HoleId| state.status(hole) == HoleStatus::Set;
    let set = (0..plan.holes.len()).map(HoleId::from_index).filter(is_set).count();
    Progress { steps, gates, set, holes: plan.holes.len(), place }
}

/// Until when what a step left behind must be left alone, where it cures.
#[expect(clippy::cast_possible_truncation, reason = "hours of a cure, in whole seconds")]
fn cured(plan: &Plan, step: StepId, last: Option<i64>) -> Option<i64> {
    Some(last? + (plan[step].cure_hours? * 3600.0) as i64)
}

/// What is done of a step.
struct Counted {
    holes: usize,
    set: usize,
    all: usize,
    done: usize,
    /// When the last of it was done.
    last: Option<i64>,
}

impl Counted {
    const fn is_done(&self) -> bool {
        self.done == self.all
    }
}

fn count(plan: &Plan, sequence: &Sequence, state: &State, step: StepId) -> Counted {
    let work = sequence.work(step);
    let name = plan.step_name(step);
    let cures = plan[step].cure_hours.is_some();
    let mut last: Option<i64> = None;
    let mut note = |act: ActId| {
        // Only what cures asks when it was done.
        if cures {
            last = last.max(when(state.act(act)));
        }
    };
    // A step that was marked as done as a whole is done, whatever it was split into since.
    let whole = state.step_done(&name);
    if let Some(act) = whole {
        note(act);
    }
    let is_set = |hole: &&HoleId| state.status(**hole) == HoleStatus::Set;
    let mut set = 0;
    for &hole in work.fill.iter().filter(is_set) {
        set += 1;
        if let Some(act) = state.set_by(hole).filter(|_| cures) {
            note(act);
        }
    }
    let mut done = set;
    for act in work.pieces.iter().filter_map(|&piece| state.worked(&name, piece)) {
        done += 1;
        note(act);
    }
    for act in work.worked.iter().filter_map(|&hole| state.worked_hole(&name, hole)) {
        done += 1;
        note(act);
    }
    let all = work.count();
    if whole.is_some() && work.fill.is_empty() {
        done = all;
    }
    Counted { holes: work.fill.len(), set, all, done, last }
}

fn when(act: &Act) -> Option<i64> {
    seconds_of(&act.at)
}
