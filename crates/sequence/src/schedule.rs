//! Project scheduling: when to start each activity so that the whole ends soonest.
//!
//! A [`Problem`] holds activities with durations and demands, resources with
//! capacities, and links: what may start only when something else has ended,
//! and how long after. [`solve`] looks for the starts with the earliest end,
//! and says with them a lower bound: no schedule ends sooner. Where the two
//! meet, the schedule is proven to be the best.
//!
//! Time is counted in slots of working time, from 0. A wait may be in slots,
//! or in calendar time (something cures overnight, whether anybody works or
//! not); then a [`Clock`] says when each slot begins. What the activities are
//! is not known here.
//!
//! No clock of the machine is read: the caller says when to stop.
//! `docs/scheduling.md` explains the method and holds the measurements.

mod bound;
mod generate;
mod heap;
mod improve;
mod prove;
mod reader;
mod shared;

pub use reader::{ReadError, read};

use improve::Improver;
use prove::Prover;
use shared::Shared;

use std::sync::atomic::{AtomicU64, Ordering};

use thiserror::Error;

/// The largest capacity of a resource, and so the largest demand: four of them are counted in one word.
pub const LARGEST_CAPACITY: u32 = 32_767;

/// The longest that all activities and waits one after another may take, in slots.
pub const LONGEST: u32 = 4_000_000;

/// What is to be done: how long it takes and what it keeps busy meanwhile.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Activity {
    /// How long it takes, in slots; it is not interrupted. 0 is a mere point in time.
    pub duration: u32,
    /// How much of each resource it keeps busy, in the order of the resources.
    pub demands: Vec<u32>,
}

/// How long to wait after an end before the next may start.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Wait {
    /// In slots of working time.
    Slots(u32),
    /// In the units of the [`Clock`], working or not.
    Calendar(u32),
}

/// One activity that may start only when another has ended and a wait is over.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Link {
    /// The activity that ends.
    pub from: u32,
    /// The activity that may start then.
    pub to: u32,
    /// How long after.
    pub wait: Wait,
}

impl Link {
    /// `to` may start when `from` has ended.
    #[must_use]
    pub const fn after(from: u32, to: u32) -> Self {
        Self { from, to, wait: Wait::Slots(0) }
    }
}

/// When each slot of working time begins, by the calendar.
///
/// ```
/// # use faying_sequence::schedule::Clock;
/// // Two evenings of three hours from 19 h; the hours run on over midnight.
/// let clock = Clock::new(1, vec![19, 20, 21, 43, 44, 45])?;
/// // What ends with the first evening, at 22 h, has dried for twelve hours by the second.
/// assert_eq!((clock.end_of(3), clock.first_from(22 + 12)), (22, 3));
/// # Ok::<(), faying_sequence::schedule::ProblemError>(())
/// ```
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Clock {
    slot: i64,
    begins: Vec<i64>,
}

impl Clock {
    /// Slots of `slot` units each (at least one), with the time at which each begins.
    ///
    /// After the last one they go on without a pause, so the table should reach as far as the
    /// work can.
    ///
    /// # Units
    /// - `slot`, `begins`: any one unit of calendar time, such as minutes from some midnight
    ///
    /// # Errors
    /// [`ProblemError::Clock`] if a slot begins before the one before it has ended, or none is given.
    pub fn new(slot: u32, begins: Vec<i64>) -> Result<Self, ProblemError> {
        let slot = i64::from(slot.max(1));
        let far = i64::from(u32::MAX) * i64::from(LONGEST);
        let odd = begins.iter().enumerate().position(|(at, &begin)| {
            // So far from any calendar that sums would overflow.
            !(-far..=far).contains(&begin) || (at > 0 && begin < begins[at - 1] + slot)
        });
        match odd {
            _ if begins.is_empty() => Err(ProblemError::Clock { at: 0 }),
            Some(at) => Err(ProblemError::Clock { at }),
            None => Ok(Self { slot, begins }),
        }
    }

    /// When slot `at` begins.
    #[must_use]
    pub fn begin_of(&self, at: u32) -> i64 {
        let last = self.begins.len() - 1;
        let over = (at as usize).saturating_sub(last);
        self.begins[(at as usize).min(last)] + over as i64 * self.slot
    }

    /// When work that ends at `end` is over: the end of the slot before.
    #[must_use]
    pub fn end_of(&self, end: u32) -> i64 {
        match end.checked_sub(1) {
            None => self.begin_of(0),
            Some(last) => self.begin_of(last) + self.slot,
        }
    }

    /// The first slot that begins at or after a time.
    #[must_use]
    pub fn first_from(&self, time: i64) -> u32 {
        let inside = self.begins.partition_point(|&begin| begin < time);
        if inside < self.begins.len() {
            return inside as u32;
        }
        let last = self.begins.len() - 1;
        let over = (time - self.begins[last]).max(0) as u64;
        last as u32
            + u32::try_from(over.div_ceil(self.slot as u64)).map_or(FAR as u32, |more| more.min(FAR as u32))
    }

    /// The last end, at most `most`, of work that is over by a time; -1 where there is none.
    fn last_end_by(&self, time: i64, most: i32) -> i32 {
        let (mut low, mut high) = (-1, most.max(-1));
        // The end of work moves on with the slots.
        while low < high {
            let middle = low + (high - low + 1) / 2;
            if self.end_of(middle as u32) <= time { low = middle } else { high = middle - 1 }
        }
        low
    }
}

/// Activities, resources and links that make sense together.
#[derive(Clone, Debug)]
pub struct Problem {
    n: usize,
    durations: Vec<i32>,
    resources: usize,
    /// `demands[i * resources + r]`.
    demands: Vec<u32>,
    capacities: Vec<u32>,
    /// Demands of four resources to a word: see [`generate::Profile`].
    words: usize,
    packed: Vec<u64>,
    links: Vec<Link>,
    clock: Option<Clock>,
    /// Per activity the links that leave it, and those that come to it.
    out: Lists,
    into: Lists,
    /// The activities, each after all that come before it.
    topological: Vec<u32>,
}

/// Lists of numbers, one for each activity.
#[derive(Clone, Debug)]
struct Lists {
    start: Vec<u32>,
    items: Vec<u32>,
}

impl Lists {
    /// The numbers of the keys, by key.
    fn by(n: usize, keys: impl Iterator<Item = u32> + Clone) -> Self {
        let mut start = vec![0_u32; n + 1];
        for key in keys.clone() {
            start[key as usize + 1] += 1;
        }
        for at in 0..n {
            start[at + 1] += start[at];
        }
        let mut next = start.clone();
        let mut items = vec![0; start[n] as usize];
        for (at, key) in keys.enumerate() {
            items[next[key as usize] as usize] = at as u32;
            next[key as usize] += 1;
        }
        Self { start, items }
    }

    fn of(&self, i: usize) -> &[u32] {
        &self.items[self.start[i] as usize..self.start[i + 1] as usize]
    }
}

/// Why activities, resources and links make no problem.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum ProblemError {
    /// An activity with too few or too many demands.
    #[error("activity {activity} has {found} demands; there are {resources} resources, write one for each")]
    Demands {
        /// Number of the activity, from 0.
        activity: usize,
        /// How many demands it has.
        found: usize,
        /// How many resources there are.
        resources: usize,
    },
    /// A capacity that is too large to be counted.
    #[error(
        "resource {resource} has a capacity of {capacity}; {LARGEST_CAPACITY} is the largest that is counted"
    )]
    Capacity {
        /// Number of the resource, from 0.
        resource: usize,
        /// Its capacity.
        capacity: u32,
    },
    /// An activity that can never run.
    #[error(
        "activity {activity} wants {demand} of resource {resource}, which has {capacity}; take less or provide more"
    )]
    TooMuch {
        /// Number of the activity, from 0.
        activity: usize,
        /// Number of the resource, from 0.
        resource: usize,
        /// What it wants.
        demand: u32,
        /// What there is.
        capacity: u32,
    },
    /// A link to an activity that there is not.
    #[error("activity {activity} is named in a link, but the {n} activities are numbered from 0")]
    NoSuchActivity {
        /// The number.
        activity: u32,
        /// How many activities there are.
        n: usize,
    },
    /// Activities that wait for each other.
    #[error("these activities wait for each other: {}; take one of the links away", circle(activities))]
    Circle {
        /// Each comes before the next, and the last before the first.
        activities: Vec<u32>,
    },
    /// A wait in calendar time without a calendar.
    #[error("activity {to} waits for {from} in calendar time, but no clock says when the slots begin")]
    NoClock {
        /// The activity that ends.
        from: u32,
        /// The activity that waits.
        to: u32,
    },
    /// A clock that goes back.
    #[error("slot {at} of the clock begins before the one before it has ended; write the slots in order")]
    Clock {
        /// Number of the slot, from 0.
        at: usize,
    },
    /// More time than is counted.
    #[error("one after another, all activities and waits take more than {LONGEST} slots; write longer slots")]
    TooLong,
}

fn circle(activities: &[u32]) -> String {
    let mut text: Vec<String> = activities.iter().map(u32::to_string).collect();
    text.extend(text.first().cloned());
    text.join(" before ")
}

impl Problem {
    /// Activities that share resources of the given capacities, with what comes before what.
    ///
    /// # Errors
    /// [`ProblemError`]; activities that wait for each other are refused, with the circle.
    ///
    /// ```
    /// # use faying_sequence::schedule::{Activity, Link, Problem};
    /// let work = |duration, people| Activity { duration, demands: vec![people] };
    /// let problem = Problem::new(&[2], &[work(3, 1), work(2, 2)], &[Link::after(0, 1)], None)?;
    /// assert_eq!(problem.end_of(&[0, 3]), Some(5));
    /// assert_eq!(problem.end_of(&[2, 0]), None);
    /// # Ok::<(), faying_sequence::schedule::ProblemError>(())
    /// ```
    pub fn new(
        capacities: &[u32],
        activities: &[Activity],
        links: &[Link],
        clock: Option<Clock>,
    ) -> Result<Self, ProblemError> {
        let (n, resources) = (activities.len(), capacities.len());
        if let Some(resource) = capacities.iter().position(|&capacity| capacity > LARGEST_CAPACITY) {
            return Err(ProblemError::Capacity { resource, capacity: capacities[resource] });
        }
        for (activity, it) in activities.iter().enumerate() {
            if it.demands.len() != resources {
                return Err(ProblemError::Demands { activity, found: it.demands.len(), resources });
            }
            for (resource, (&demand, &capacity)) in it.demands.iter().zip(capacities).enumerate() {
                // What takes no time keeps nothing busy.
                if it.duration > 0 && demand > capacity {
                    return Err(ProblemError::TooMuch { activity, resource, demand, capacity });
                }
            }
        }
        for link in links {
            for activity in [link.from, link.to] {
                if activity as usize >= n {
                    return Err(ProblemError::NoSuchActivity { activity, n });
                }
            }
            if matches!(link.wait, Wait::Calendar(_)) && clock.is_none() {
                return Err(ProblemError::NoClock { from: link.from, to: link.to });
            }
        }
        let out = Lists::by(n, links.iter().map(|link| link.from));
        let into = Lists::by(n, links.iter().map(|link| link.to));
        let topological = in_order(n, links, &out)?;
        let words = resources.div_ceil(4).max(1);
        let mut packed = vec![0; n * words];
        let mut demands = vec![0; n * resources];
        for (i, it) in activities.iter().enumerate().filter(|(_, it)| it.duration > 0) {
            for (r, &demand) in it.demands.iter().enumerate() {
                demands[i * resources + r] = demand;
                packed[i * words + r / 4] |= u64::from(demand) << (16 * (r % 4));
            }
        }
        let total: u64 = activities.iter().map(|it| u64::from(it.duration)).sum();
        if total > u64::from(LONGEST) {
            return Err(ProblemError::TooLong);
        }
        let problem = Self {
            n,
            durations: activities.iter().map(|it| it.duration as i32).collect(),
            resources,
            demands,
            capacities: capacities.to_vec(),
            words,
            packed,
            links: links.to_vec(),
            clock,
            out,
            into,
            topological,
        };
        // One after another, each with all that it lets others wait for.
        let mut at = 0_i32;
        for &i in &problem.topological {
            at += problem.durations[i as usize];
            let waits = problem.out.of(i as usize).iter().map(|&link| problem.ready(link, at)).max();
            at = waits.unwrap_or(at).max(at);
            if at > LONGEST as i32 {
                return Err(ProblemError::TooLong);
            }
        }
        Ok(problem)
    }

    /// How many activities there are.
    #[must_use]
    pub const fn activities(&self) -> usize {
        self.n
    }

    /// When everything has ended, or `None` where the starts are not one for each activity, break
    /// a link, or want more of a resource than there is.
    ///
    /// # Units
    /// - `starts`, returns: slots
    #[must_use]
    pub fn end_of(&self, starts: &[u32]) -> Option<u32> {
        if starts.len() != self.n || starts.iter().any(|&start| start > i32::MAX as u32 / 4) {
            return None;
        }
        let end = |i: usize| starts[i] as i32 + self.durations[i];
        let kept = |(at, link): (usize, &Link)| {
            self.ready(at as u32, end(link.from as usize)) <= starts[link.to as usize] as i32
        };
        if !self.links.iter().enumerate().all(kept) {
            return None;
        }
        for r in 0..self.resources {
            let mut changes: Vec<(i32, i64)> = vec![];
            for (i, &start) in starts.iter().enumerate() {
                let demand = i64::from(self.demands[i * self.resources + r]);
                changes.extend([(start as i32, demand), (end(i), -demand)]);
            }
            // At the same moment what ends is over before what starts.
            changes.sort_unstable();
            let mut busy = 0;
            for (_, change) in changes {
                busy += change;
                if busy > i64::from(self.capacities[r]) {
                    return None;
                }
            }
        }
        Some((0..self.n).map(end).max().unwrap_or(0) as u32)
    }

    /// The first start that a link allows after an end.
    fn ready(&self, link: u32, end: i32) -> i32 {
        match self.links[link as usize].wait {
            Wait::Slots(slots) => end.saturating_add(i32::try_from(slots).unwrap_or(i32::MAX)).min(FAR),
            Wait::Calendar(time) => {
                let clock = self.clock.as_ref().expect("a wait in calendar time has its clock");
                let end = end.max(0) as u32;
                end.max(clock.first_from(clock.end_of(end) + i64::from(time))).min(FAR as u32) as i32
            }
        }
    }

    /// The last end that a link allows before a start; negative where there is none.
    fn last_end(&self, link: u32, start: i32) -> i32 {
        match self.links[link as usize].wait {
            Wait::Slots(slots) => start.saturating_sub(i32::try_from(slots).unwrap_or(i32::MAX)).max(-FAR),
            Wait::Calendar(_) if start < 0 => -1,
            Wait::Calendar(time) => {
                let clock = self.clock.as_ref().expect("a wait in calendar time has its clock");
                clock.last_end_by(clock.begin_of(start as u32) - i64::from(time), start)
            }
        }
    }

    fn demands_of(&self, i: usize) -> &[u32] {
        &self.demands[i * self.resources..(i + 1) * self.resources]
    }

    fn packed_of(&self, i: usize) -> &[u64] {
        &self.packed[i * self.words..(i + 1) * self.words]
    }
}

/// Beyond any time that is reckoned with.
const FAR: i32 = i32::MAX / 4;

/// The activities in an order that keeps the links.
fn in_order(n: usize, links: &[Link], out: &Lists) -> Result<Vec<u32>, ProblemError> {
    let mut waits = vec![0_u32; n];
    for link in links {
        waits[link.to as usize] += 1;
    }
    let mut order: Vec<u32> = (0..n as u32).filter(|&i| waits[i as usize] == 0).collect();
    let mut at = 0;
    while at < order.len() {
        for &link in out.of(order[at] as usize) {
            let to = links[link as usize].to;
            waits[to as usize] -= 1;
            if waits[to as usize] == 0 {
                order.push(to);
            }
        }
        at += 1;
    }
    if order.len() == n {
        return Ok(order);
    }
    // Every one that still waits has one before it that waits: walking back must come round.
    let mut previous = vec![0_u32; n];
    for link in links.iter().filter(|link| waits[link.from as usize] > 0) {
        previous[link.to as usize] = link.from;
    }
    let mut i = waits.iter().position(|&count| count > 0).expect("some activity waits") as u32;
    for _ in 0..n {
        i = previous[i as usize];
    }
    let (start, mut activities) = (i, vec![]);
    loop {
        activities.push(i);
        i = previous[i as usize];
        if i == start {
            break;
        }
    }
    activities.reverse();
    let least = activities.iter().enumerate().min_by_key(|(_, i)| **i).map_or(0, |(at, _)| at);
    activities.rotate_left(least);
    Err(ProblemError::Circle { activities })
}

/// How far a search has come.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Progress {
    /// When the best schedule so far ends, in slots.
    pub makespan: u32,
    /// No schedule ends before this, in slots.
    pub lower_bound: u32,
    /// What is being done now, in a word or two.
    pub phase: &'static str,
    /// Work done so far, in steps of some nanoseconds each; the same on every machine.
    pub work: u64,
}

/// A schedule, and what is known of it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Solution {
    /// When each activity starts, in slots.
    pub starts: Vec<u32>,
    /// When the last one has ended, in slots.
    pub makespan: u32,
    /// No schedule ends before this, in slots.
    pub lower_bound: u32,
    /// Whether the two are equal: no schedule ends sooner.
    pub proven: bool,
}

impl Solution {
    /// The activities by start; those that start together as the links want them, then by number.
    #[must_use]
    pub fn order(&self, problem: &Problem) -> Vec<u32> {
        let mut order = problem.topological.clone();
        // The sort is stable: activities without a duration stay before what waits for them.
        order.sort_by_key(|&i| self.starts[i as usize]);
        order
    }
}

/// What a search starts from.
#[derive(Clone, Debug, Default)]
pub struct Options {
    /// Where the draws start.
    pub seed: u64,
    /// Activities in an order to begin with, such as that of the last schedule; it need neither be
    /// complete nor keep the links.
    pub order: Vec<u32>,
}

/// Looks for the schedule that ends soonest until it is proven or `stop` says so, on this thread alone.
///
/// `stop` is asked every few milliseconds, and once before anything is done. With the same options
/// and a `stop` that goes by [`Progress`] or by the number of times it was asked, the answer is
/// the same every time.
///
/// ```
/// # use faying_sequence::schedule::{Activity, Link, Options, Problem, solve};
/// let work = |duration, people| Activity { duration, demands: vec![people] };
/// let activities = [work(3, 1), work(2, 1), work(4, 1), work(2, 2)];
/// let problem = Problem::new(&[2], &activities, &[Link::after(0, 3)], None)?;
/// let solution = solve(&problem, &Options::default(), &mut |_| false);
/// assert_eq!((solution.makespan, solution.proven), (7, true));
/// # Ok::<(), faying_sequence::schedule::ProblemError>(())
/// ```
pub fn solve(problem: &Problem, options: &Options, stop: &mut dyn FnMut(&Progress) -> bool) -> Solution {
    let shared = begin(problem, options);
    let mut work = 0;
    let mut go_on = |phase| {
        let progress = Progress { makespan: shared.makespan(), lower_bound: shared.bound(), phase, work };
        // Each half does a slice before the next question.
        work += 2 * SLICE;
        !stop(&progress) && !shared.closed()
    };
    if go_on("starting") {
        let mut improver = Improver::new(problem, options);
        let mut prover = Prover::new(problem, options);
        while go_on(prover.phase()) {
            improver.advance(&shared, SLICE);
            prover.advance(&shared, SLICE);
        }
    }
    end(problem, &shared)
}

/// As [`solve`], on two threads: one searches, the other proves.
///
/// What it finds depends on how the threads run, so that two runs may differ; what it says of
/// its schedule is as true.
pub fn solve_on_two(
    problem: &Problem,
    options: &Options,
    stop: &(dyn Fn(&Progress) -> bool + Sync),
) -> Solution {
    let shared = begin(problem, options);
    let work = AtomicU64::new(0);
    let go_on = |phase| {
        let work = work.fetch_add(SLICE, Ordering::Relaxed);
        let progress = Progress { makespan: shared.makespan(), lower_bound: shared.bound(), phase, work };
        !stop(&progress) && !shared.closed()
    };
    if go_on("starting") {
        std::thread::scope(|scope| {
            scope.spawn(|| {
                let mut prover = Prover::new(problem, options);
                while !prover.idle() && go_on(prover.phase()) {
                    prover.advance(&shared, SLICE);
                }
            });
            let mut improver = Improver::new(problem, options);
            while go_on("searching") {
                improver.advance(&shared, SLICE);
            }
        });
    }
    end(problem, &shared)
}

/// Work between two questions whether to stop.
const SLICE: u64 = 1_000_000;

fn begin(problem: &Problem, options: &Options) -> Shared {
    let (starts, makespan) = generate::first(problem, &options.order);
    Shared::new(starts, makespan, bound::at_once(problem))
}

fn end(problem: &Problem, shared: &Shared) -> Solution {
    let (starts, makespan) = shared.best();
    let starts: Vec<u32> = starts.iter().map(|&start| start as u32).collect();
    // What is said is counted anew, by other means than the search's own.
    assert_eq!(problem.end_of(&starts), Some(makespan), "a search keeps links and capacities");
    let lower_bound = shared.bound();
    Solution { starts, makespan, lower_bound, proven: makespan == lower_bound }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What a link lets start after an end and lets end before a start say the same, by trying all.
    #[test]
    fn a_link_means_the_same_from_both_its_ends() {
        // Two slots, a night, three slots, two nights, and on without a pause.
        let clock = Clock::new(2, vec![0, 2, 12, 14, 16, 40]).unwrap();
        let activity = Activity { duration: 1, demands: vec![] };
        for wait in [Wait::Slots(0), Wait::Slots(3)].into_iter().chain((0..40).map(Wait::Calendar)) {
            let link = Link { from: 0, to: 1, wait };
            let both = [activity.clone(), activity.clone()];
            let problem = Problem::new(&[], &both, &[link], Some(clock.clone())).unwrap();
            for end in 0..30 {
                for start in 0..60 {
                    let may = problem.ready(0, end) <= start;
                    assert_eq!(may, end <= problem.last_end(0, start), "{wait:?}, {end} to {start}");
                }
            }
        }
    }

    #[test]
    fn the_clock_goes_on_after_its_table() {
        let clock = Clock::new(3, vec![10, 20]).unwrap();
        assert_eq!([0, 1, 2, 5].map(|slot| clock.begin_of(slot)), [10, 20, 23, 32]);
        assert_eq!([0, 1, 2, 3].map(|end| clock.end_of(end)), [10, 13, 23, 26]);
        assert_eq!([0, 10, 11, 20, 21, 23, 24].map(|time| clock.first_from(time)), [0, 0, 1, 1, 2, 2, 3]);
    }
}
