//! A longer look for a better order: a thread beside the world, one for each question.
//!
//! A page reckons a run with a fixed patience. Whoever wants to wait has it
//! looked for longer; what is found takes the place of what the page showed,
//! and a start freezes it. The thread holds what it needs by itself and asks
//! the world only when the build's version has risen, so that pages and acts
//! go on meanwhile. It ends when its time is over, when it is stopped, or when
//! something changes that the run rests on; nothing is kept in that case.
//!
//! A search is seeded and always begins at the beginning: looking for the same
//! time again finds the same. So every further look is given twice the time.

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError, RwLock};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

use faying_bench::order::Progress;
use faying_bench::{Asked, Run};
use faying_plan::{HoleId, StepId};
use serde::Serialize;
use thiserror::Error;

use crate::bench_run::BenchSide;
use crate::clock;
use crate::run_memo::Kept;
use crate::world::{PlanSide, World};
use crate::writer::Build;

/// What the first look is given.
pub const FIRST_LOOK: Duration = Duration::from_secs(10);
/// The most that a look is given.
pub const LONGEST_LOOK: Duration = Duration::from_secs(60);
/// Seconds that the bound must leave open, or nobody would feel what a look can find.
const WORTH: f64 = 10.0;
/// Searches at the same moment: a small machine has other things to do as well.
const AT_ONCE: usize = 2;
/// Searches whose end is still known.
const REMEMBERED: usize = 8;

/// Why a longer look is not begun.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum LookError {
    /// The step is not in the plan.
    #[error("the plan has no step {0}")]
    NoStep(String),
    /// A run of it is going on.
    #[error("a run of {0} is started, and its order is frozen; end it first")]
    Started(String),
    /// Nothing better can be found.
    #[error("no order of these set-ups is quicker; there is nothing to look for")]
    Proven,
    /// Others are looking.
    #[error("{AT_ONCE} searches are going on; wait until one has ended, or stop it on its page")]
    Busy,
    /// The machine gave no thread.
    #[error("the machine has no room for a search now ({0}); try again")]
    NoThread(String),
}

/// Everything that the run of a step rests on, by itself.
#[derive(Clone, Debug)]
pub(crate) struct Question {
    side: Arc<PlanSide>,
    bench: BenchSide,
    step: StepId,
    holes: Vec<HoleId>,
    follow: Vec<HoleId>,
    without: Vec<String>,
}

impl PartialEq for Question {
    /// A plan that was read again is another one, whatever it says: that is sure and costs nothing.
    fn eq(&self, other: &Self) -> bool {
        self.is_asked_like(other)
            && self.holes == other.holes
            && self.follow == other.follow
            && self.bench == other.bench
    }
}

impl Question {
    /// Looks until `stop` says so.
    pub(crate) fn search(&self, stop: &mut dyn FnMut(&Progress) -> bool) -> Run {
        let bench = self.bench.on_plan(&self.side, &self.without);
        let asked =
            Asked { step: self.step, holes: &self.holes, put_off: &[], standing: None, follow: &self.follow };
        faying_bench::run(&bench, &asked, stop)
    }

    /// Whether the newer question makes this one idle.
    pub(crate) fn is_replaced_by(&self, newer: &Self) -> bool {
        !Arc::ptr_eq(&self.side, &newer.side) || self.is_asked_like(newer)
    }

    /// The same step of the same plan, with the same tools out.
    fn is_asked_like(&self, other: &Self) -> bool {
        Arc::ptr_eq(&self.side, &other.side) && self.step == other.step && self.without == other.without
    }

    /// Whether the run keeps to the order of the other hand, which no search betters.
    fn keeps_to_other_hand(&self, run: &Run) -> bool {
        let ours = run.set_ups.iter().flat_map(|set_up| &set_up.holes);
        let theirs = self.follow.iter().filter(|hole| self.holes.contains(hole));
        !self.follow.is_empty() && ours.eq(theirs)
    }
}

impl World {
    /// What the run of a step rests on now.
    pub(crate) fn question(&self, step: StepId, without: &[String]) -> Question {
        let holes =
            self.side.sequence.work(step).fill.iter().copied().filter(|&hole| !self.is_set(hole)).collect();
        Question {
            side: Arc::clone(&self.side),
            bench: self.bench_side(),
            step,
            holes,
            follow: self.other_hand(step).map_or_else(Vec::new, |other| other.order),
            without: self.tools_out(without),
        }
    }

    /// Tools that are not at hand, in one order and without names that no tool has.
    fn tools_out(&self, without: &[String]) -> Vec<String> {
        let mut out: Vec<String> =
            without.iter().filter(|name| self.plan().tools.title_of(name).is_some()).cloned().collect();
        out.sort_unstable();
        out.dedup();
        out
    }

    /// Whether a run of this step is going on.
    fn is_started(&self, step: &str) -> bool {
        self.state.runs().iter().any(|run| run.step == step && run.ended.is_none())
    }
}

/// How a search ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum End {
    /// No order is quicker.
    Proven,
    /// Its time was over.
    Time,
    /// Long looking bettered nothing.
    Spent,
    /// Somebody stopped it.
    Stopped,
    /// What it rests on has changed.
    Changed,
    /// A run of the step was started.
    Started,
    /// The build was closed.
    Closed,
    /// It failed.
    Broken,
}

/// What became of a search.
#[derive(Debug)]
struct Ended {
    end: End,
    took: Duration,
    /// Seconds that the order which was found saves; nothing where none was quicker.
    saved: f64,
    /// What the step asked when it ended: what is said of it holds for as long.
    since: Question,
}

/// A search, and how far it is.
#[derive(Debug)]
struct Search {
    step: String,
    without: Vec<String>,
    length: Duration,
    began: Instant,
    /// What was reckoned before.
    before: Kept,
    /// Seconds of the best order so far, as the bits of a float.
    best: AtomicU64,
    /// The bound so far, likewise.
    bound: AtomicU64,
    stopped: AtomicBool,
    closed: AtomicBool,
    ended: Mutex<Option<Ended>>,
}

impl Search {
    fn ended(&self) -> MutexGuard<'_, Option<Ended>> {
        self.ended.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn is_going(&self) -> bool {
        self.ended().is_none()
    }

    fn is_of(&self, step: &str, without: &[String]) -> bool {
        self.step == step && self.without == without
    }

    fn going(&self) -> Going {
        let (best, bound) = (&self.best, &self.bound);
        let [best, bound] = [best, bound].map(|bits| f64::from_bits(bits.load(Ordering::Relaxed)));
        // Before it has an order of its own, and for as long as that is no better, the one before holds.
        let before = &self.before.run.takes;
        let best = best.min(before.seconds);
        let bound = bound.max(before.bound).min(best);
        Going {
            seconds: self.began.elapsed().min(self.length).as_secs_f64(),
            of_seconds: self.length.as_secs_f64(),
            best_minutes: best / 60.0,
            saved_seconds: before.seconds - best,
            gap: if best > 0.0 { (best - bound) / best } else { 0.0 },
        }
    }

    /// Looks, and hands over what was found.
    fn run(&self, question: &Question, world: &RwLock<World>, version: &AtomicU64) {
        let mut seen = version.load(Ordering::Acquire);
        let mut cut = None;
        let mut stop = |progress: &Progress| {
            self.best.store(progress.seconds.to_bits(), Ordering::Relaxed);
            self.bound.store(progress.bound.to_bits(), Ordering::Relaxed);
            let now = version.load(Ordering::Acquire);
            if now != seen {
                seen = now;
                let world = world.read().unwrap_or_else(PoisonError::into_inner);
                cut = cut.or_else(|| self.overtaken(question, &world));
            }
            cut = cut.or_else(|| self.cut());
            cut.is_some()
        };
        // A page must not show a search that nobody is at any more.
        let found = catch_unwind(AssertUnwindSafe(|| question.search(&mut stop)));
        let took = self.began.elapsed();
        let mut world = world.write().unwrap_or_else(PoisonError::into_inner);
        let end = match (self.overtaken(question, &world), cut, &found) {
            (_, _, Err(_)) => End::Broken,
            (Some(overtaken), ..) => overtaken,
            // Changed and changed back: what was found holds, but the search was cut short.
            (None, Some(cut), _) => cut,
            (None, None, Ok(run)) if run.takes.proven => End::Proven,
            (None, None, Ok(_)) => End::Spent,
        };
        let mut saved = 0.0;
        if let (Ok(run), End::Proven | End::Time | End::Spent | End::Stopped) = (found, end) {
            // What was stopped early may be asked for again with the same time.
            let looked = if end == End::Stopped { took } else { self.length };
            saved = self.before.run.takes.seconds - run.takes.seconds;
            world.runs.better(question.clone(), run, looked, end == End::Spent);
        }
        let since = match world.plan().step_named(&self.step) {
            Some(step) => world.question(step, &self.without),
            None => question.clone(),
        };
        *self.ended() = Some(Ended { end, took, saved: saved.max(0.0), since });
        // Pages that show the run fetch it anew.
        world.show_again(version);
    }

    /// Why it ends although its answer would still be wanted.
    fn cut(&self) -> Option<End> {
        if self.closed.load(Ordering::Relaxed) {
            Some(End::Closed)
        } else if self.stopped.load(Ordering::Relaxed) {
            Some(End::Stopped)
        } else {
            (self.began.elapsed() >= self.length).then_some(End::Time)
        }
    }

    /// Why nobody wants its answer any more.
    fn overtaken(&self, question: &Question, world: &World) -> Option<End> {
        if world.is_started(&self.step) {
            return Some(End::Started);
        }
        let step = world.plan().step_named(&self.step);
        let same = step.is_some_and(|step| world.question(step, &self.without) == *question);
        (!same).then_some(End::Changed)
    }
}

impl World {
    /// Raises the version although nothing was recorded: something that pages show has changed.
    fn show_again(&mut self, version: &AtomicU64) {
        self.version += 1;
        version.store(self.version, Ordering::Release);
    }
}

/// The searches of a build.
#[derive(Debug, Default)]
pub(crate) struct Searches(Mutex<Vec<Thread>>);

/// A search with the thread that is at it.
type Thread = (Arc<Search>, Option<JoinHandle<()>>);

impl Searches {
    fn locked(&self) -> MutexGuard<'_, Vec<Thread>> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn find(&self, step: &str, without: &[String]) -> Option<Arc<Search>> {
        self.locked().iter().find(|(it, _)| it.is_of(step, without)).map(|(it, _)| Arc::clone(it))
    }

    /// Ends them all, and waits for it.
    pub(crate) fn close(&self) {
        let all = std::mem::take(&mut *self.locked());
        for (search, _) in &all {
            search.closed.store(true, Ordering::Relaxed);
        }
        for (_, thread) in all {
            if let Some(thread) = thread {
                let _ = thread.join();
            }
        }
    }
}

/// How far a search is. Minutes are reckoned.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Going {
    /// Since it began.
    pub seconds: f64,
    /// What it was given.
    pub of_seconds: f64,
    /// The best order so far.
    pub best_minutes: f64,
    /// What that saves against the order that is shown.
    pub saved_seconds: f64,
    /// How far it is from the least there can be, as a part of the whole.
    pub gap: f64,
}

/// What a page shows of longer looks at a step.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct LookReport {
    /// A search that is going on.
    pub going: Option<Going>,
    /// What became of the last one, for as long as that is still so.
    pub says: Option<String>,
    /// Seconds that another look would be given; nothing where none would find more.
    pub offers: Option<u64>,
}

impl Build {
    /// Has the run of a step looked for longer than a page waits; the same search for everybody who asks.
    ///
    /// # Units
    /// - `length`: how long at most; never more than [`LONGEST_LOOK`]
    ///
    /// # Errors
    /// [`LookError`] where there is nothing to look for, or no room.
    pub fn look_longer(&self, step: &str, without: &[String], length: Duration) -> Result<(), LookError> {
        let (question, before) = {
            let world = self.world();
            let id = world.plan().step_named(step).ok_or_else(|| LookError::NoStep(step.to_owned()))?;
            if world.is_started(step) {
                return Err(LookError::Started(step.to_owned()));
            }
            (world.question(id, without), world.kept_run(id, without))
        };
        if before.run.takes.proven || question.keeps_to_other_hand(&before.run) {
            return Err(LookError::Proven);
        }
        {
            let mut searches = self.searches.locked();
            let going = searches.iter().filter(|(it, _)| it.is_going());
            if going.clone().any(|(it, _)| it.is_of(step, &question.without)) {
                return Ok(());
            }
            if going.count() >= AT_ONCE {
                return Err(LookError::Busy);
            }
            searches.retain(|(it, _)| it.is_going() || !it.is_of(step, &question.without));
            while searches.len() >= REMEMBERED {
                let Some(over) = searches.iter().position(|(it, _)| !it.is_going()) else { break };
                searches.remove(over);
            }
            let search = Arc::new(Search {
                step: step.to_owned(),
                without: question.without.clone(),
                length: length.min(LONGEST_LOOK),
                began: clock::moment(),
                before,
                best: AtomicU64::new(f64::INFINITY.to_bits()),
                bound: AtomicU64::new(0.0_f64.to_bits()),
                stopped: AtomicBool::new(false),
                closed: AtomicBool::new(false),
                ended: Mutex::new(None),
            });
            let (looking, world, version) =
                (Arc::clone(&search), Arc::clone(&self.world), Arc::clone(&self.version));
            let thread = std::thread::Builder::new()
                .name("search".to_owned())
                .spawn(move || looking.run(&question, &world, &version))
                .map_err(|error| LookError::NoThread(error.to_string()))?;
            searches.push((search, Some(thread)));
        }
        // Another device that looks at this step sees the search as well.
        self.world.write().unwrap_or_else(PoisonError::into_inner).show_again(&self.version);
        Ok(())
    }

    /// Stops the search of a step; the best so far is kept. Without one, nothing happens.
    ///
    /// Returns when it has handed over what it found.
    pub fn stop_looking(&self, step: &str, without: &[String]) {
        let without = self.world().tools_out(without);
        if let Some(search) = self.searches.find(step, &without) {
            search.stopped.store(true, Ordering::Relaxed);
        }
        self.wait_for_look(step, &without);
    }

    /// Waits until the search of a step has ended by itself; for tests.
    #[doc(hidden)]
    pub fn wait_for_look(&self, step: &str, without: &[String]) {
        let thread = {
            let mut searches = self.searches.locked();
            searches.iter_mut().find(|(it, _)| it.is_of(step, without)).and_then(|(_, thread)| thread.take())
        };
        if let Some(thread) = thread {
            let _ = thread.join();
        }
    }

    /// What there is to show of longer looks at a step of this build's world.
    #[must_use]
    pub fn look(&self, world: &World, step: StepId, without: &[String]) -> LookReport {
        let name = world.plan().step_name(step);
        let question = world.question(step, without);
        let search = self.searches.find(&name, &question.without);
        let mut report = LookReport::default();
        if let Some(search) = search {
            match &*search.ended() {
                None => {
                    report.going = Some(search.going());
                    return report;
                }
                Some(ended) if ended.since == question => report.says = ended.says(),
                Some(_) => {}
            }
        }
        let kept = world.kept_run(step, without);
        let can_better = kept.run.takes.seconds - kept.run.takes.bound >= WORTH
            && !kept.run.takes.proven
            && !kept.spent
            && !question.keeps_to_other_hand(&kept.run)
            && !world.is_started(&name);
        report.offers = can_better.then(|| next_look(kept.looked)).flatten().map(|it| it.as_secs());
        report
    }
}

/// What a look is given after one of this length; nothing after the longest.
fn next_look(looked: Duration) -> Option<Duration> {
    if looked < FIRST_LOOK {
        return Some(FIRST_LOOK);
    }
    (looked < LONGEST_LOOK).then(|| (looked * 2).min(LONGEST_LOOK))
}

impl Ended {
    /// What is said of it on the page.
    fn says(&self) -> Option<String> {
        let took = format!("{} s", self.took.as_secs_f64().round().max(1.0));
        let found = match self.saved.round() {
            saved if saved >= 1.0 => format!("the order below is {} quicker than before", spell(saved)),
            _ => "nothing quicker was found".to_owned(),
        };
        Some(match self.end {
            End::Proven => format!("Looked for {took}: {found}, and no order of these set-ups is quicker."),
            End::Time => format!("Looked for {took}: {found}."),
            End::Spent => format!("Looked for {took}, until nothing more came of it: {found}."),
            End::Stopped => format!("Stopped after {took}: {found}."),
            End::Changed => format!(
                "Something changed that this run rests on, so the search ended after {took}. \
                 What is shown is reckoned with the change; nothing that was recorded is lost."
            ),
            End::Started => {
                "A run of this step was started, so the search ended. The run keeps the order it was started with."
                    .to_owned()
            }
            End::Broken => format!(
                "The search failed after {took}; what is shown is as it was before. The failure is in the server's log."
            ),
            End::Closed => return None,
        })
    }
}

/// Seconds in words: `40 s`, `2 min 05 s`.
fn spell(seconds: f64) -> String {
    let whole = seconds as u64;
    match (whole / 60, whole % 60) {
        (0, seconds) => format!("{seconds} s"),
        (minutes, seconds) => format!("{minutes} min {seconds:02} s"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_look_has_twice_the_time_up_to_a_minute() {
        let seconds = |looked: u64| next_look(Duration::from_secs(looked)).map(|it| it.as_secs());
        assert_eq!([0, 4, 10, 20, 40, 59].map(seconds), [10, 10, 20, 40, 60, 60].map(Some));
        assert_eq!(seconds(60), None);
    }

    #[test]
    fn seconds_are_spelt_as_a_clock_has_them() {
        assert_eq!(spell(40.0), "40 s");
        assert_eq!(spell(125.0), "2 min 05 s");
    }
}
