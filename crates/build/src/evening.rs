//! The evening and the years: what to do in the hours there are, in what order the rest is best done,
//! and when it will be finished at this builder's pace.

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, PoisonError};

use faying_plan::{GateId, StepId};
use faying_record::Event;
use faying_sequence::{
    Asked, Batch, Calendar, DRAWS, Day, Effort, FinishedStep, Forecast, Moment, Pace, Pick, Progress,
    Question, Reason, Remaining, StepState, Week, WeekHours, With, WorkingOrder, batches, forecast,
    planned_hours, today, working_order,
};
use serde::Serialize;

use crate::gates::{OwedReport, waiting};
use crate::world::World;

/// Work that each look for an order may do: some tens of milliseconds.
const LOOK: u64 = 2_000_000;

/// What to do in the hours there are.
#[derive(Clone, Debug, Serialize)]
pub struct NextReport {
    /// Hours of the session.
    pub hours: f64,
    /// Whether a second person is there.
    pub helper: bool,
    /// Real hours for each planned one that were reckoned with.
    pub pace: f64,
    /// Steps, or parts of them, in order.
    pub work: Vec<NextStep>,
    /// What is owed before a gate that is next.
    pub owed: Vec<OwedReport>,
    /// What cures, and for how long still.
    pub clocks: Vec<CuringReport>,
    /// Gates that stand before work that is otherwise ready.
    pub gates: Vec<NextGate>,
}

/// A step for this session.
#[derive(Clone, Debug, Serialize)]
pub struct NextStep {
    /// Its lasting name.
    pub step: String,
    /// Its name as shown, with its assembly's.
    pub title: String,
    /// Where it stands in the builder's own plans.
    pub sheet: String,
    /// Real hours at it.
    pub hours: f64,
    /// Whether it is finished then.
    pub finishes: bool,
    /// How many people it takes.
    pub people: u32,
    /// Why it was chosen, in words.
    pub reasons: Vec<String>,
    /// What to fetch: tools, parts, fasteners.
    pub fetch: Vec<String>,
    /// Its page.
    pub link: String,
}

/// Something that cures.
#[derive(Clone, Debug, Serialize)]
pub struct CuringReport {
    /// The step that is done and cures.
    pub step: String,
    /// As shown.
    pub title: String,
    /// How long still, in words.
    pub left: String,
}

/// A gate that stands before work that is otherwise ready.
#[derive(Clone, Debug, Serialize)]
pub struct NextGate {
    /// Its lasting name.
    pub gate: String,
    /// As shown.
    pub title: String,
    /// How many things stand against it.
    pub against: usize,
}

/// When the build will be finished.
#[derive(Clone, Debug, Serialize)]
pub struct ForecastReport {
    /// Hours planned for a week.
    pub hours_a_week: f64,
    /// Planned hours that are left.
    pub planned_left: f64,
    /// Real hours that are left: one in ten has fewer, the middle, one in ten has more.
    pub hours_left: [f64; 3],
    /// The finish: one in ten ends before, the middle, nine in ten are over.
    pub finish: [String; 3],
    /// The chance that it is finished by a day.
    pub curve: Vec<(String, f64)>,
    /// Real hours for each planned one: low, middle, high.
    pub pace: [f64; 3],
    /// Finished steps that the pace was learned from.
    pub steps_seen: usize,
    /// Whole weeks that the weekly hours were learned from.
    pub weeks_seen: usize,
    /// The share of all draws in which waiting for a cure made it later.
    pub waited: f64,
}

/// A batch of finishing, in words.
#[derive(Clone, Debug, Serialize)]
pub struct BatchReport {
    /// The finish.
    pub finish: String,
    /// Steps whose parts can join now, as shown.
    pub ready: Vec<(String, String)>,
    /// Steps that could be brought forward: name, as shown, what has to be done first, planned hours of it.
    pub forward: Vec<(String, String, Vec<String>, f64)>,
    /// Hours that each step that joins saves.
    pub set_up_hours: f64,
    /// Planned hours of work that waits for this batch alone.
    pub waiting_hours: f64,
    /// How many steps that is.
    pub waiting: usize,
}

/// What was reckoned for one version of the world.
#[derive(Debug, Default)]
pub(crate) struct EveningMemo(Mutex<Option<(u64, i32, Arc<WorkingOrder>)>>);

/// A day as it is written: `2027-03-14`.
pub(crate) fn written(day: Day) -> String {
    let (year, month, day) = day.date();
    format!("{year:04}-{month:02}-{day:02}")
}

/// Now by the clock on the wall, as a day and an hour.
fn wall(at: &str) -> Moment {
    let number =
        |from: usize, to: usize| at.get(from..to).and_then(|text| text.parse::<f64>().ok()).unwrap_or(0.0);
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a date")]
    let day = Day::of(number(0, 4) as i32, number(5, 7) as u8, number(8, 10) as u8).unwrap_or(Day::new(0));
    Moment { day, hour: number(11, 13) + number(14, 16) / 60.0 }
}

impl World {
    /// The builder's week as sessions.
    fn week(&self) -> Week {
        // A week without an hour finishes nothing; the standards' own is shown instead.
        Week::of_hours(self.plan().people.week).unwrap_or_else(|_| Week::common())
    }

    /// What the finished steps say of the builder's pace.
    #[must_use]
    pub fn pace(&self, progress: &Progress) -> Pace {
        let mut real: BTreeMap<&str, f64> = BTreeMap::new();
        for (_, act) in self.state.of_kind("worked") {
            if let Event::Worked(worked) = &act.event {
                *real.entry(&worked.step).or_default() += worked.minutes / 60.0;
            }
        }
        let plan = self.plan();
        let finished: Vec<FinishedStep> = progress
            .steps
            .iter()
            .filter(|it| it.state == StepState::Done)
            .filter_map(|it| {
                Some(FinishedStep {
                    assembly: plan[it.step].assembly.index(),
                    planned_hours: planned_hours(plan, &self.side.sequence, it.step),
                    real_hours: *real.get(plan.step_name(it.step).as_str())?,
                })
            })
            .collect();
        Pace::learn(&finished)
    }

    /// Hours of each whole week so far, and whether this one has any.
    fn weeks(&self, now: Moment) -> (Vec<f64>, bool) {
        let this = now.day.monday();
        let mut weeks: BTreeMap<Day, f64> = BTreeMap::new();
        for (_, act) in self.state.of_kind("worked") {
            if let Event::Worked(worked) = &act.event {
                *weeks.entry(wall(&act.at).day.monday()).or_default() += worked.minutes / 60.0;
            }
        }
        let at_work = weeks.get(&this).is_some_and(|&hours| hours > 0.0);
        let Some((&first, _)) = weeks.first_key_value() else { return (Vec::new(), at_work) };
        let mut list = Vec::new();
        let mut monday = first;
        while monday < this {
            list.push(weeks.get(&monday).copied().unwrap_or(0.0));
            monday = monday + 7;
        }
        (list, at_work)
    }

    /// The best order of what is left, reckoned once for a version of the world and a day.
    #[must_use]
    pub fn working_order(&self, progress: &Progress, effort: &Effort) -> Arc<WorkingOrder> {
        let now = wall(&crate::clock::now());
        let mut memo = self.evening.0.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some((version, day, order)) = memo.as_ref()
            && *version == self.version
            && *day == now.day.since_1970()
        {
            return Arc::clone(order);
        }
        let calendar = Calendar::new(now, self.week());
        let with = With { calendar: &calendar, pace: self.pace(progress).ratio().middle, work: LOOK };
        let plan = self.plan();
        let order = working_order(plan, &self.side.sequence, progress, effort, &with).unwrap_or_else(|_| {
            // More hours than can be counted: the plan's own order says as much.
            WorkingOrder { turns: Vec::new(), finish: now, bound: now, shared_batches: 0 }
        });
        let order = Arc::new(order);
        *memo = Some((self.version, now.day.since_1970(), Arc::clone(&order)));
        order
    }

    /// What is left of every step.
    #[must_use]
    pub fn effort(&self, progress: &Progress) -> Effort {
        Effort::of(self.plan(), &self.side.sequence, progress)
    }

    /// When it will be finished at this builder's pace.
    ///
    /// # Errors
    /// A sentence where `hours_a_week` cannot be.
    pub fn forecast(&self, progress: &Progress, hours_a_week: Option<f64>) -> Result<ForecastReport, String> {
        let now = wall(&crate::clock::now());
        let effort = self.effort(progress);
        let order = self.working_order(progress, &effort);
        let week = self.week();
        let (weeks, at_work) = self.weeks(now);
        let pace = self.pace(progress);
        let week_hours = WeekHours::learn(week.hours(), &weeks);
        let remaining = self.remaining(&order, &effort);
        let hours_a_week = hours_a_week.unwrap_or_else(|| week.hours());
        let found = forecast(&Question {
            remaining: &remaining,
            pace: &pace,
            week_hours: &week_hours,
            week: &week,
            hours_a_week,
            start: now,
            at_work,
            seed: 1,
            draws: DRAWS,
        })
        .map_err(|error| error.to_string())?;
        Ok(report(&found, &pace, &week_hours, hours_a_week, effort.total()))
    }

    /// The turns as what the forecast asks for.
    fn remaining(&self, order: &WorkingOrder, effort: &Effort) -> Vec<Remaining> {
        let plan = self.plan();
        let mut of = vec![usize::MAX; plan.steps.len()];
        let mut remaining: Vec<Remaining> = Vec::with_capacity(order.turns.len());
        for (at, turn) in order.turns.iter().enumerate() {
            let batch = turn.steps.iter().any(|&it| plan[it].work == faying_plan::Work::Prime);
            let set_up = if batch { plan.tools.times.batch.value / 3600.0 } else { 0.0 };
            let before = turn.steps.iter().flat_map(|&it| plan[it].after.iter());
            let mut waits_for: Vec<usize> =
                before.map(|it| of[it.index()]).filter(|&it| it != usize::MAX && it != at).collect();
            waits_for.sort_unstable();
            waits_for.dedup();
            remaining.push(Remaining {
                assembly: plan[turn.steps[0]].assembly.index(),
                planned_hours: turn.steps.iter().map(|it| effort.left[it.index()]).sum::<f64>() + set_up,
                cure_hours: turn.steps.iter().filter_map(|&it| plan[it].cure_hours).fold(0.0, f64::max),
                waits_for,
            });
            for step in &turn.steps {
                of[step.index()] = at;
            }
        }
        remaining
    }

    /// What to do in the hours there are.
    #[must_use]
    pub fn next(&self, progress: &Progress, hours: f64, helper: bool) -> NextReport {
        let plan = self.plan();
        let effort = self.effort(progress);
        let pace = self.pace(progress).ratio().middle;
        let picks = today(plan, &self.side.sequence, progress, &effort, Asked { hours, helper, pace });
        let now = crate::clock::seconds();
        let mut clocks: Vec<CuringReport> = Vec::new();
        let mut gates: Vec<NextGate> = Vec::new();
        for it in &progress.steps {
            match it.state {
                StepState::Curing { after, until } => {
                    let step = plan.step_name(after);
                    if !clocks.iter().any(|clock| clock.step == step) {
                        clocks.push(CuringReport {
                            title: self.step_title(after),
                            step,
                            left: waiting(until - now),
                        });
                    }
                }
                StepState::AtGate { gate } => gates.push(self.next_gate(progress, gate)),
                _ => {}
            }
        }
        NextReport {
            hours,
            helper,
            pace,
            work: picks.iter().map(|pick| self.next_step(progress, pick)).collect(),
            owed: self.owed(progress).into_iter().filter(|it| it.now).collect(),
            clocks,
            gates,
        }
    }

    fn next_gate(&self, progress: &Progress, gate: GateId) -> NextGate {
        NextGate {
            gate: self.plan().gate_name(gate),
            title: self.gate_title(gate),
            against: progress.gate(gate).blockers.len(),
        }
    }

    /// Hours of today's session: the week's own of this day; of its shortest day where this has none.
    #[must_use]
    pub fn session_hours(&self) -> f64 {
        let week = self.plan().people.week;
        let today = wall(&crate::clock::now()).day.weekday().behind_monday();
        let own = usize::try_from(today).ok().and_then(|day| week.get(day)).copied().unwrap_or(0.0);
        let shortest = week.iter().copied().filter(|&hours| hours > 0.0).fold(f64::INFINITY, f64::min);
        match own {
            own if own > 0.0 => own,
            _ if shortest.is_finite() => shortest,
            _ => self.week().hours(),
        }
    }

    /// A step by its assembly's and its own title.
    #[must_use]
    pub fn step_title(&self, step: StepId) -> String {
        let plan = self.plan();
        format!("{}: {}", plan[plan[step].assembly].title, plan[step].title)
    }

    fn next_step(&self, progress: &Progress, pick: &Pick) -> NextStep {
        let plan = self.plan();
        let it = &plan[pick.step];
        let name = plan.step_name(pick.step);
        let has_holes = progress.of(pick.step).left() > 0;
        NextStep {
            title: self.step_title(pick.step),
            sheet: it.sheet.clone(),
            hours: pick.hours,
            finishes: pick.finishes,
            people: it.people,
            reasons: pick.reasons.iter().map(reason_words).collect(),
            fetch: self.fetch(pick.step),
            link: if has_holes { format!("/run/{name}") } else { format!("/step/{name}") },
            step: name,
        }
    }

    /// What to fetch for a step: tools, parts, fasteners.
    #[must_use]
    pub fn fetch(&self, step: StepId) -> Vec<String> {
        let plan = self.plan();
        let it = &plan[step];
        let mut fetch: Vec<String> = it
            .tools
            .iter()
            .map(|tool| plan.tools.title_of(tool).map_or_else(|| tool.clone(), str::to_owned))
            .collect();
        let mut parts: Vec<String> = Vec::new();
        for &piece in it.adds.iter().chain(&it.parts) {
            let title = plan[plan[piece].part].title.clone();
            if !parts.contains(&title) {
                parts.push(title);
            }
        }
        fetch.extend(parts);
        let mut fasteners: BTreeMap<String, usize> = BTreeMap::new();
        for &hole in self.side.sequence.work(step).fill.iter().filter(|&&hole| !self.is_set(hole)) {
            let fastener = faying_bench::need(plan, &self.side.joints, hole).fastener;
            *fasteners.entry(fastener).or_default() += 1;
        }
        fetch.extend(fasteners.into_iter().map(|(fastener, count)| format!("{count} × {fastener}")));
        fetch
    }

    /// The next batch of every finish, in words.
    #[must_use]
    pub fn batches(&self, progress: &Progress) -> Vec<BatchReport> {
        let effort = self.effort(progress);
        batches(self.plan(), &self.side.sequence, progress, &effort)
            .iter()
            .map(|it| self.batch_report(it))
            .collect()
    }

    fn batch_report(&self, batch: &Batch) -> BatchReport {
        let plan = self.plan();
        let named = |&step: &StepId| (plan.step_name(step), self.step_title(step));
        BatchReport {
            finish: batch.finish.clone(),
            ready: batch.ready.iter().map(named).collect(),
            forward: batch
                .forward
                .iter()
                .map(|it| {
                    let (name, title) = named(&it.step);
                    (name, title, it.first.iter().map(|&step| self.step_title(step)).collect(), it.hours)
                })
                .collect(),
            set_up_hours: batch.set_up_hours,
            waiting_hours: batch.waiting_hours,
            waiting: batch.waiting.len(),
        }
    }

    /// Hours worked on a step so far.
    #[must_use]
    pub fn hours_worked(&self, step: &str) -> f64 {
        let of_step = self.state.of_kind("worked").filter_map(|(_, act)| match &act.event {
            Event::Worked(worked) if worked.step == step => Some(worked.minutes),
            _ => None,
        });
        of_step.sum::<f64>() / 60.0
    }
}

/// Why a step was chosen, in words.
fn reason_words(reason: &Reason) -> String {
    match reason {
        Reason::LongestWay { hours } => format!("the longest way to the end goes through it: {hours:.0} h"),
        Reason::Begun => "it is begun".to_owned(),
        Reason::StartsCure { hours } => format!("it must cure for {hours:.0} h before anything goes on"),
        Reason::MakesReady { steps: 1 } => "another step becomes ready by it".to_owned(),
        Reason::MakesReady { steps } => format!("{steps} steps become ready by it"),
        Reason::SameBatch => "it joins the batch before it".to_owned(),
        Reason::Fits => "it is ready, and fits".to_owned(),
    }
}

fn report(
    found: &Forecast,
    pace: &Pace,
    week_hours: &WeekHours,
    hours_a_week: f64,
    planned_left: f64,
) -> ForecastReport {
    let (band, hours, ratio) = (found.band(), found.hours_left(), pace.ratio());
    ForecastReport {
        hours_a_week,
        planned_left,
        hours_left: [hours.low, hours.middle, hours.high],
        finish: [band.low, band.middle, band.high].map(written),
        curve: found.curve(40).into_iter().map(|(day, chance)| (written(day), chance)).collect(),
        pace: [ratio.low, ratio.middle, ratio.high],
        steps_seen: pace.steps(),
        weeks_seen: week_hours.weeks(),
        waited: found.waited(),
    }
}
