//! Hours: what a step takes, what is left of it, and how much work waits behind it.

use faying_plan::{Plan, StepId};
use faying_standards::figures;

use crate::open::Sequence;
use crate::progress::{Progress, StepState};

/// Hours that the plan gives a step; where it gives none, by the number of its holes.
///
/// Sources: `rivets-an-hour` and `step-hours` of the standards, both builders' practice and marked so.
#[must_use]
#[expect(clippy::cast_precision_loss, reason = "holes of a step are far below 2^52")]
pub fn planned_hours(plan: &Plan, sequence: &Sequence, step: StepId) -> f64 {
    let holes = sequence.work(step).fill.len();
    match plan[step].hours {
        Some(hours) => hours,
        None if holes > 0 => holes as f64 / figures().constant("rivets-an-hour").value,
        None => figures().constant("step-hours").value,
    }
}

/// Hours of what is left, step by step.
#[derive(Clone, Debug, Default)]
pub struct Effort {
    /// Planned hours of what is left of each step.
    pub left: Vec<f64>,
    /// Hours of the longest way from the beginning of each step to the end of the plan, its own and
    /// those of cures included.
    pub way: Vec<f64>,
    /// Steps that come directly after each.
    pub then: Vec<Vec<StepId>>,
}

impl Effort {
    /// Looks at every step once.
    #[must_use]
    pub fn of(plan: &Plan, sequence: &Sequence, progress: &Progress) -> Self {
        let count = plan.steps.len();
        let mut effort =
            Self { left: vec![0.0; count], way: vec![0.0; count], then: vec![Vec::new(); count] };
        for step in (0..count).map(StepId::from_index) {
            for before in &plan[step].after {
                effort.then[before.index()].push(step);
            }
            let it = progress.of(step);
            if it.state != StepState::Done {
                effort.left[step.index()] = planned_hours(plan, sequence, step) * (1.0 - it.share());
            }
        }
        for &step in sequence.order.sorted().iter().rev() {
            let behind =
                effort.then[step.index()].iter().map(|it| effort.way[it.index()]).fold(0.0, f64::max);
            let cures = match progress.of(step).state {
                StepState::Done => 0.0,
                _ => plan[step].cure_hours.unwrap_or(0.0),
            };
            effort.way[step.index()] = effort.left[step.index()] + cures + behind;
        }
        effort
    }

    /// Hours of everything that is left.
    #[must_use]
    pub fn total(&self) -> f64 {
        self.left.iter().sum()
    }
}
