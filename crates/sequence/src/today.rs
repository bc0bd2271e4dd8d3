//! I have so many hours: the best set of ready work that fits.
//!
//! Work is worth its hours, and more the longer the way behind it is; a step
//! that is finished is worth more than one that is only begun. What a pick
//! finishes may make others ready within the same evening, unless a gate or a
//! cure stands between. The best set is searched exactly, up to a number of
//! looks that no evening reaches.

use faying_plan::{Plan, StepId, Work};

use crate::effort::Effort;
use crate::open::Sequence;
use crate::progress::{Progress, StepState};

/// What there is to work with.
#[derive(Clone, Copy, Debug)]
pub struct Asked {
    /// Hours of the session.
    pub hours: f64,
    /// Whether a second person is there.
    pub helper: bool,
    /// Real hours for each planned one, by the builder's own pace.
    pub pace: f64,
}

/// A step, or part of it, for this session.
#[derive(Clone, Debug, PartialEq)]
pub struct Pick {
    /// Which step.
    pub step: StepId,
    /// Real hours at it.
    pub hours: f64,
    /// Whether it is finished then.
    pub finishes: bool,
    /// Why it was chosen.
    pub reasons: Vec<Reason>,
}

/// Why a step was chosen.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Reason {
    /// The longest way to the end goes through it.
    LongestWay {
        /// Planned hours of that way, its own and cures included.
        hours: f64,
    },
    /// It is begun already.
    Begun,
    /// What comes after it must cure first, so the sooner the better.
    StartsCure {
        /// For how long.
        hours: f64,
    },
    /// So many steps become ready by it.
    MakesReady {
        /// How many.
        steps: usize,
    },
    /// It shares the getting ready and cleaning up with the one before it.
    SameBatch,
    /// It fits into the time.
    Fits,
}

/// The most sets that are looked at; an evening has some dozen ready steps.
const MOST_LOOKS: u32 = 50_000;
/// What a step is worth that is only begun, beside one that is finished: our own choice, so that an
/// evening ends with something done.
const ONLY_BEGUN: f64 = 0.7;
/// Nothing is begun for less, hours: getting it out takes as long.
const LEAST: f64 = 0.25;

/// The best set of ready work that fits into a session, in the order in which it is done.
#[must_use]
pub fn today(
    plan: &Plan,
    sequence: &Sequence,
    progress: &Progress,
    effort: &Effort,
    asked: Asked,
) -> Vec<Pick> {
    let longest = effort.way.iter().copied().fold(1e-9, f64::max);
    let mut waits: Vec<usize> = vec![0; plan.steps.len()];
    let mut ready = Vec::new();
    for &step in sequence.order.sorted() {
        let state = progress.of(step).state;
        waits[step.index()] =
            plan[step].after.iter().filter(|it| progress.of(**it).state != StepState::Done).count();
        if state == StepState::Ready {
            ready.push(step);
        }
    }
    let gated = |step: StepId| {
        (0..plan.gates.len())
            .any(|gate| plan.gates[gate].before == Some(step) && !progress.gates[gate].is_passed())
    };
    let mut search = Search {
        plan,
        effort,
        asked,
        batch: plan.tools.times.batch.value / 3600.0,
        worth: effort.way.iter().map(|way| 1.0 + way / longest).collect(),
        gated: (0..plan.steps.len()).map(|step| gated(StepId::from_index(step))).collect(),
        waits,
        looks: 0,
        skipped: Vec::new(),
        chosen: Vec::new(),
        best: Vec::new(),
        best_worth: 0.0,
    };
    search.sort(&mut ready);
    search.look(&ready, asked.hours, 0.0, false);
    let best = std::mem::take(&mut search.best);
    let mut primed = false;
    best.into_iter()
        .map(|(step, hours, finishes)| {
            let batch = is_batch(plan, step);
            let same = batch && primed;
            primed |= batch;
            let reasons = search.reasons(progress, step, finishes, same, longest);
            Pick { step, hours, finishes, reasons }
        })
        .collect()
}

/// Whether a step is done in a batch, with one getting ready and one cleaning up.
pub(crate) fn is_batch(plan: &Plan, step: StepId) -> bool {
    plan[step].work == Work::Prime
}

struct Search<'a> {
    plan: &'a Plan,
    effort: &'a Effort,
    asked: Asked,
    /// Hours of getting ready for a batch and cleaning up.
    batch: f64,
    /// What an hour at each step is worth.
    worth: Vec<f64>,
    /// Steps before which a gate stands that is not passed.
    gated: Vec<bool>,
    /// How many steps before each are not done.
    waits: Vec<usize>,
    looks: u32,
    /// Steps that are not chosen, on the way to where the search stands.
    skipped: Vec<StepId>,
    chosen: Vec<(StepId, f64, bool)>,
    best: Vec<(StepId, f64, bool)>,
    best_worth: f64,
}

impl Search<'_> {
    /// The dearest first.
    fn sort(&self, steps: &mut [StepId]) {
        steps.sort_by(|a, b| self.worth[b.index()].total_cmp(&self.worth[a.index()]).then(a.cmp(b)));
    }

    /// Real hours of what is left of a step; a batch counts its getting ready once.
    fn hours(&self, step: StepId, primed: bool) -> f64 {
        let set_up = if is_batch(self.plan, step) && !primed { self.batch } else { 0.0 };
        self.effort.left[step.index()] * self.asked.pace + set_up
    }

    /// Whether a step may be left half done overnight.
    fn can_be_begun(&self, step: StepId) -> bool {
        !is_batch(self.plan, step)
            && self.plan[step].work != Work::Seal
            && self.plan[step].cure_hours.is_none()
    }

    /// Whether whoever is there can do a step.
    fn can_do(&self, step: StepId) -> bool {
        self.plan[step].people <= 1 || self.asked.helper
    }

    /// Looks at every set of ready steps, the dearest first: with it, then without it.
    fn look(&mut self, ready: &[StepId], left: f64, worth: f64, primed: bool) {
        self.looks += 1;
        self.keep(worth, None, left);
        self.begin_one(ready, left, worth, primed);
        let most = ready.iter().map(|it| self.worth[it.index()]).fold(0.0, f64::max);
        let begun = self.skipped.iter().map(|it| self.worth[it.index()] * ONLY_BEGUN).fold(most, f64::max);
        // What becomes ready lies behind something that is, and is worth no more than the dearest.
        if self.looks >= MOST_LOOKS || left < 1e-9 || worth + left * begun <= self.best_worth + 1e-9 {
            return;
        }
        let Some((&step, rest)) = ready.split_first() else { return };
        let hours = self.hours(step, primed);
        if self.can_do(step) && hours <= left + 1e-9 {
            let mut then = rest.to_vec();
            let next = self.effort.then[step.index()].clone();
            let cures = self.plan[step].cure_hours.is_some();
            for &after in &next {
                self.waits[after.index()] -= 1;
                if self.waits[after.index()] == 0 && !cures && !self.gated[after.index()] {
                    then.push(after);
                }
            }
            self.sort(&mut then);
            // Getting ready takes time and is worth nothing.
            let own = self.effort.left[step.index()] * self.asked.pace * self.worth[step.index()];
            self.chosen.push((step, hours, true));
            self.look(&then, left - hours, worth + own, primed || is_batch(self.plan, step));
            self.chosen.pop();
            for &after in &next {
                self.waits[after.index()] += 1;
            }
        }
        self.skipped.push(step);
        self.look(rest, left, worth, primed);
        self.skipped.pop();
    }

    /// The session ends with something that is only begun.
    fn begin_one(&mut self, ready: &[StepId], left: f64, worth: f64, primed: bool) {
        if left < LEAST {
            return;
        }
        let fits = |it: &&StepId| {
            self.can_do(**it) && self.can_be_begun(**it) && self.hours(**it, primed) > left + 1e-9
        };
        let dearest = ready
            .iter()
            .chain(&self.skipped)
            .filter(fits)
            .max_by(|a, b| self.worth[a.index()].total_cmp(&self.worth[b.index()]).then(b.cmp(a)));
        if let Some(&step) = dearest {
            self.keep(worth + left * self.worth[step.index()] * ONLY_BEGUN, Some(step), left);
        }
    }

    /// Keeps what is chosen, with something begun at its end, if it is the best so far.
    fn keep(&mut self, worth: f64, begun: Option<StepId>, left: f64) {
        if worth > self.best_worth + 1e-9 {
            self.best_worth = worth;
            self.best.clone_from(&self.chosen);
            self.best.extend(begun.map(|step| (step, left, false)));
        }
    }

    fn reasons(
        &self,
        progress: &Progress,
        step: StepId,
        finishes: bool,
        same_batch: bool,
        longest: f64,
    ) -> Vec<Reason> {
        let mut reasons = Vec::new();
        let way = self.effort.way[step.index()];
        if progress.of(step).is_begun() {
            reasons.push(Reason::Begun);
        }
        // As near as planned hours are meant.
        if way >= longest * 0.95 {
            reasons.push(Reason::LongestWay { hours: way });
        }
        if let Some(hours) = self.plan[step].cure_hours.filter(|_| finishes) {
            reasons.push(Reason::StartsCure { hours });
        }
        let ready = self.effort.then[step.index()].iter().filter(|it| self.waits[it.index()] == 1).count();
        if ready > 0 && finishes {
            reasons.push(Reason::MakesReady { steps: ready });
        }
        if same_batch {
            reasons.push(Reason::SameBatch);
        }
        if reasons.is_empty() {
            reasons.push(Reason::Fits);
        }
        reasons
    }
}
