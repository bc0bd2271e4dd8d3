//! The order in which the steps that are left are best done: an early finish with few batches.
//!
//! The steps become activities of a scheduling problem in quarters of an hour
//! of working time: each keeps the builder busy, some a helper, the spray gun,
//! clecoes of a size, places on the bench. A clock says when each quarter of
//! an hour begins by the calendar, so that a cure goes on overnight. Steps
//! that are finished in one batch become one activity, which gets ready and
//! cleans up once; batches are joined as long as that ends no later.

use std::collections::BTreeMap;

use faying_plan::{Plan, StepId};

use crate::calendar::{Calendar, Moment};
use crate::effort::Effort;
use crate::open::Sequence;
use crate::progress::{Progress, StepState};
use crate::schedule::{Activity, Clock, Link, Options, Problem, ProblemError, Solution, Wait, solve};
use crate::today::is_batch;

/// Slots of working time to the hour.
const PER_HOUR: f64 = 4.0;
/// Minutes of a slot.
const SLOT_MINUTES: u32 = 15;

/// One activity of the working order: a step, or the steps of one batch.
#[derive(Clone, Debug, PartialEq)]
pub struct Turn {
    /// The steps; several where they are finished together.
    pub steps: Vec<StepId>,
    /// When it begins.
    pub begins: Moment,
    /// When it is over; what cures then is left alone.
    pub ends: Moment,
    /// Real hours that it takes, getting ready included.
    pub hours: f64,
}

/// The order in which the steps that are left are done.
#[derive(Clone, Debug, PartialEq)]
pub struct WorkingOrder {
    /// Turn by turn.
    pub turns: Vec<Turn>,
    /// When the last one is over.
    pub finish: Moment,
    /// No order of these turns is over before.
    pub bound: Moment,
    /// Batches in it that finish more than one step.
    pub shared_batches: usize,
}

/// What the order is looked for with.
#[derive(Clone, Debug)]
pub struct With<'a> {
    /// The sessions, from now on.
    pub calendar: &'a Calendar,
    /// Real hours for each planned one.
    pub pace: f64,
    /// How much work each look of the search may do; the same work gives the same order.
    pub work: u64,
}

/// The best order of the steps that are left; gates are thought passed in time.
///
/// # Errors
/// [`ProblemError`] where hours are so many that they cannot be counted.
pub fn working_order(
    plan: &Plan,
    sequence: &Sequence,
    progress: &Progress,
    effort: &Effort,
    with: &With<'_>,
) -> Result<WorkingOrder, ProblemError> {
    let left: Vec<StepId> = sequence
        .order
        .sorted()
        .iter()
        .copied()
        .filter(|&it| progress.of(it).state != StepState::Done)
        .collect();
    let model = Model { plan, sequence, effort, with, clock: clock(effort, with)?, left: &left };
    let mut groups: Vec<Vec<StepId>> = left.iter().map(|&step| vec![step]).collect();
    let mut best = model.solve(&groups, &[], with.work)?;
    // Two batches of the same finish that nothing lies between are tried as one.
    let mut pairs = model.pairs(&groups);
    while let Some((first, second)) = pairs.pop() {
        let Some(joined) = model.joined(&groups, first, second) else { continue };
        let order: Vec<StepId> = best.1.iter().flat_map(|&at| groups[at as usize].iter().copied()).collect();
        let Ok(tried) = model.solve(&joined, &order, with.work) else { continue };
        if tried.0.makespan <= best.0.makespan {
            groups = joined;
            best = tried;
        }
    }
    Ok(model.order(&groups, &best.0, &best.1))
}

fn slots(hours: f64) -> u32 {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "hours of a plan, checked by the problem"
    )]
    let slots = (hours * PER_HOUR).ceil().clamp(0.0, 1e9) as u32;
    slots
}

/// When each slot of working time begins, in minutes after the first.
fn clock(effort: &Effort, with: &With<'_>) -> Result<Clock, ProblemError> {
    // Room for all the work, once more for what has to wait, and for the batches.
    let count = 2 * slots(effort.total() * with.pace) + 400;
    let first = with.calendar.when(0.0);
    let mut begins = Vec::with_capacity(count as usize);
    let mut before = i64::MIN;
    for slot in 0..count {
        // The beginning of a slot, not the end of the one before it: just inside.
        let moment = with.calendar.when(f64::from(slot) / PER_HOUR + 1e-6);
        let begin = minutes(first, moment).max(before);
        begins.push(begin);
        before = begin + i64::from(SLOT_MINUTES);
    }
    Clock::new(SLOT_MINUTES, begins)
}

/// Whole minutes from one moment to another.
#[expect(clippy::cast_possible_truncation, reason = "minutes of a build's years")]
fn minutes(from: Moment, to: Moment) -> i64 {
    i64::from(to.day - from.day) * 1440 + ((to.hour - from.hour) * 60.0).floor() as i64
}

struct Model<'a> {
    plan: &'a Plan,
    sequence: &'a Sequence,
    effort: &'a Effort,
    with: &'a With<'a>,
    clock: Clock,
    left: &'a [StepId],
}

impl Model<'_> {
    fn hours(&self, steps: &[StepId]) -> f64 {
        let own: f64 = steps.iter().map(|it| self.effort.left[it.index()]).sum::<f64>() * self.with.pace;
        let set_up =
            if is_batch(self.plan, steps[0]) { self.plan.tools.times.batch.value / 3600.0 } else { 0.0 };
        own + set_up
    }

    /// Batches of the same finish that could be one; the last ones first, so that the first are tried first.
    fn pairs(&self, groups: &[Vec<StepId>]) -> Vec<(StepId, StepId)> {
        let batches: Vec<StepId> =
            groups.iter().map(|group| group[0]).filter(|&it| is_batch(self.plan, it)).collect();
        let mut pairs = Vec::new();
        for (at, &first) in batches.iter().enumerate() {
            for &second in &batches[at + 1..] {
                if crate::batch::finish(self.plan, first) == crate::batch::finish(self.plan, second) {
                    pairs.push((first, second));
                }
            }
        }
        pairs.reverse();
        pairs
    }

    /// The groups with those of two steps made one; none where one comes before the other.
    fn joined(&self, groups: &[Vec<StepId>], first: StepId, second: StepId) -> Option<Vec<Vec<StepId>>> {
        let of = |step: StepId| groups.iter().position(|group| group.contains(&step));
        let (a, b) = (of(first)?, of(second)?);
        let before = |x: StepId, y: StepId| self.sequence.order.is_before(x, y);
        let apart =
            a != b && groups[a].iter().all(|&x| groups[b].iter().all(|&y| !before(x, y) && !before(y, x)));
        if !apart {
            return None;
        }
        let mut joined = groups.to_vec();
        let (low, high) = (a.min(b), a.max(b));
        let moved = joined.remove(high);
        joined[low].extend(moved);
        Some(joined)
    }

    fn problem(&self, groups: &[Vec<StepId>]) -> Result<Problem, ProblemError> {
        let tools = &self.plan.tools;
        // Builder, helper, spray gun, bench, then clecoes by size. One who works alone has the helper
        // of the day on which two are wanted.
        let mut capacities = vec![1, 1, 1, tools.bench.clamp(1, crate::schedule::LARGEST_CAPACITY)];
        capacities.extend(tools.clecoes.iter().map(|it| it.count.min(crate::schedule::LARGEST_CAPACITY)));
        let mut of = vec![u32::MAX; self.plan.steps.len()];
        for (at, group) in (0_u32..).zip(groups) {
            for step in group {
                of[step.index()] = at;
            }
        }
        let activities: Vec<Activity> = groups
            .iter()
            .map(|group| Activity {
                duration: slots(self.hours(group)).max(1),
                demands: self.demands(group, &capacities),
            })
            .collect();
        let mut links = BTreeMap::new();
        for &step in self.left {
            for &before in &self.plan[step].after {
                let (from, to) = (of[before.index()], of[step.index()]);
                if from == u32::MAX || from == to {
                    continue;
                }
                #[expect(
                    clippy::cast_possible_truncation,
                    clippy::cast_sign_loss,
                    reason = "hours of a cure, in minutes"
                )]
                let cure = (self.plan[before].cure_hours.unwrap_or(0.0) * 60.0).clamp(0.0, 1e8) as u32;
                let longest: &mut u32 = links.entry((from, to)).or_default();
                *longest = cure.max(*longest);
            }
        }
        let links: Vec<Link> = links
            .into_iter()
            .map(|((from, to), cure)| Link { from, to, wait: Wait::Calendar(cure) })
            .collect();
        Problem::new(&capacities, &activities, &links, Some(self.clock.clone()))
    }

    fn demands(&self, group: &[StepId], capacities: &[u32]) -> Vec<u32> {
        let plan = self.plan;
        let mut demands = vec![0; capacities.len()];
        demands[0] = 1;
        for &step in group {
            let it = &plan[step];
            demands[1] = demands[1].max(it.people.saturating_sub(1));
            demands[2] = demands[2].max(u32::from(is_batch(plan, step)));
            demands[3] += it.bench.unwrap_or(0);
            // Every other hole is held by one while the row is set.
            for (at, clecoes) in plan.tools.clecoes.iter().enumerate() {
                let holes = self.sequence.work(step).fill.iter();
                let held = holes.filter(|&&hole| {
                    plan[plan[hole].row].rivet.is_some_and(|it| it.diameter == clecoes.diameter)
                });
                demands[4 + at] += u32::try_from(held.count().div_ceil(2)).unwrap_or(u32::MAX / 8);
            }
        }
        // What is more than there is cannot be helped by the order; the run says that it is short.
        demands.iter_mut().zip(capacities).for_each(|(demand, &most)| *demand = (*demand).min(most));
        demands
    }

    fn solve(
        &self,
        groups: &[Vec<StepId>],
        order: &[StepId],
        work: u64,
    ) -> Result<(Solution, Vec<u32>), ProblemError> {
        let problem = self.problem(groups)?;
        let of = |step: &StepId| {
            groups.iter().position(|group| group.contains(step)).and_then(|it| u32::try_from(it).ok())
        };
        let order: Vec<u32> = order.iter().filter_map(of).collect();
        let options = Options { seed: 1, order };
        let solution = solve(&problem, &options, &mut |progress| progress.work > work);
        let order = solution.order(&problem);
        Ok((solution, order))
    }

    fn order(&self, groups: &[Vec<StepId>], solution: &Solution, order: &[u32]) -> WorkingOrder {
        let first = self.with.calendar.when(0.0);
        #[expect(clippy::cast_precision_loss, reason = "minutes of a build's years")]
        let at = |minutes: i64| first.after(minutes as f64 / 60.0);
        let turns: Vec<Turn> = order
            .iter()
            .map(|&activity| {
                let steps = groups[activity as usize].clone();
                let hours = self.hours(&steps);
                let begins = solution.starts[activity as usize];
                let ends = begins + slots(hours).max(1);
                Turn {
                    steps,
                    hours,
                    begins: at(self.clock.begin_of(begins)),
                    ends: at(self.clock.end_of(ends)),
                }
            })
            .collect();
        WorkingOrder {
            finish: at(self.clock.end_of(solution.makespan)),
            bound: at(self.clock.end_of(solution.lower_bound)),
            shared_batches: turns.iter().filter(|turn| turn.steps.len() > 1).count(),
            turns,
        }
    }
}
