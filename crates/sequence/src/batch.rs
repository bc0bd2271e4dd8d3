//! Finishing batches: what can join the next one, what could be brought forward to fill it, what waiting costs.

use std::collections::BTreeMap;

use faying_plan::{Plan, StepId};

use crate::effort::Effort;
use crate::open::Sequence;
use crate::progress::{Progress, StepState};
use crate::today::is_batch;

/// The next batch of one finish.
#[derive(Clone, Debug, PartialEq)]
pub struct Batch {
    /// The finish: the first word of what the plan says of the parts, such as `prime`.
    pub finish: String,
    /// Steps whose parts can join now.
    pub ready: Vec<StepId>,
    /// Steps that could be brought forward to join, the cheapest first.
    pub forward: Vec<Forward>,
    /// Hours of getting ready and cleaning up, which every batch costs once.
    pub set_up_hours: f64,
    /// Steps that only wait for parts of this batch.
    pub waiting: Vec<StepId>,
    /// Planned hours of those steps: work that cannot be done while the batch is not.
    pub waiting_hours: f64,
}

/// A step that could be brought forward to join a batch.
#[derive(Clone, Debug, PartialEq)]
pub struct Forward {
    /// The step.
    pub step: StepId,
    /// Steps that have to be done before it, in order.
    pub first: Vec<StepId>,
    /// Planned hours of those.
    pub hours: f64,
}

/// The next batch of every finish.
///
/// A step is brought forward only over work that can be done now: nothing that waits for a gate, for
/// a cure or for this very batch.
#[must_use]
pub fn batches(plan: &Plan, sequence: &Sequence, progress: &Progress, effort: &Effort) -> Vec<Batch> {
    let mut by_finish: BTreeMap<String, Batch> = BTreeMap::new();
    let open = |step: StepId| progress.of(step).state != StepState::Done;
    let steps: Vec<StepId> =
        sequence.order.sorted().iter().copied().filter(|&it| is_batch(plan, it) && open(it)).collect();
    for &step in &steps {
        let finish = finish(plan, step);
        let batch = by_finish.entry(finish.clone()).or_insert_with(|| Batch {
            finish,
            ready: Vec::new(),
            forward: Vec::new(),
            set_up_hours: plan.tools.times.batch.value / 3600.0,
            waiting: Vec::new(),
            waiting_hours: 0.0,
        });
        match progress.of(step).state {
            StepState::Ready => batch.ready.push(step),
            _ => batch.forward.extend(bring_forward(plan, sequence, progress, effort, step)),
        }
    }
    for batch in by_finish.values_mut() {
        batch.forward.sort_by(|a, b| a.hours.total_cmp(&b.hours));
        for &step in sequence.order.sorted() {
            let mut undone = plan[step].after.iter().filter(|&&it| open(it)).peekable();
            if open(step) && undone.peek().is_some() && undone.all(|it| batch.ready.contains(it)) {
                batch.waiting.push(step);
                batch.waiting_hours += effort.left[step.index()];
            }
        }
    }
    by_finish.into_values().collect()
}

/// What finish a step gives its parts: the first word of theirs.
pub(crate) fn finish(plan: &Plan, step: StepId) -> String {
    let word =
        plan[step].parts.iter().find_map(|&piece| plan[plan[piece].part].finish.split_whitespace().next());
    word.unwrap_or(plan[step].work.word()).to_owned()
}

fn bring_forward(
    plan: &Plan,
    sequence: &Sequence,
    progress: &Progress,
    effort: &Effort,
    step: StepId,
) -> Option<Forward> {
    let order = &sequence.order;
    let first: Vec<StepId> = order
        .sorted()
        .iter()
        .copied()
        .filter(|&before| order.is_before(before, step) && progress.of(before).state != StepState::Done)
        .collect();
    let can = |&before: &StepId| {
        !is_batch(plan, before)
            && plan[before].cure_hours.is_none()
            && !matches!(progress.of(before).state, StepState::AtGate { .. } | StepState::Curing { .. })
    };
    let gated = first.iter().chain([&step]).any(|&it| {
        (0..plan.gates.len())
            .any(|gate| plan.gates[gate].before == Some(it) && !progress.gates[gate].is_passed())
    });
    if gated || !first.iter().all(can) {
        return None;
    }
    let hours = first.iter().map(|it| effort.left[it.index()]).sum();
    Some(Forward { step, first, hours })
}
