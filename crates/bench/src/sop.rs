//! Sequential ordering: the cheapest path through all jobs that keeps their precedence.
//!
//! A [`Problem`] says what it costs to go from one job to the next and which
//! job comes before which; [`solve`] looks for the cheapest order that visits
//! every job once, and says with it a lower bound: no order is cheaper than
//! that. Where the two meet, the order is proven to be the best.
//!
//! The path is free at both ends: its first and its last job are whatever
//! precedence and costs make best. What the jobs are is not known here.
//!
//! No clock is read: the caller says when to stop. `docs/ordering.md` explains
//! the method and holds the measurements.

mod improve;
mod prove;
mod reader;
mod relax;
mod sets;
mod shared;

pub use reader::{ReadError, read};

use improve::Improver;
use prove::Prover;
use shared::Shared;

use std::sync::atomic::{AtomicU64, Ordering};

use thiserror::Error;

/// The largest cost of one arc: a sum over any path stays far inside 64 bits.
pub const LARGEST_COST: i32 = 1_000_000_000;

/// Jobs, what it costs to go from one to another, and which come before which.
#[derive(Clone, Debug)]
pub struct Problem {
    n: usize,
    /// Row-major, `costs[i * n + j]` of going from `i` to `j`.
    costs: Vec<i32>,
    /// Per job one row of bits: what comes before it, directly or through others.
    before: Bits,
    /// The same the other way round.
    after: Bits,
}

/// Rows of bits, one row per job.
#[derive(Clone, Debug)]
struct Bits {
    words: usize,
    bits: Vec<u64>,
}

impl Bits {
    fn new(n: usize) -> Self {
        let words = n.div_ceil(64);
        Self { words, bits: vec![0; n * words] }
    }

    fn row(&self, i: usize) -> &[u64] {
        &self.bits[i * self.words..(i + 1) * self.words]
    }

    fn has(&self, i: usize, j: usize) -> bool {
        self.bits[i * self.words + j / 64] >> (j % 64) & 1 != 0
    }

    fn set(&mut self, i: usize, j: usize) {
        self.bits[i * self.words + j / 64] |= 1 << (j % 64);
    }

    /// Adds what row `from` holds to row `to`.
    fn join(&mut self, to: usize, from: usize) {
        for word in 0..self.words {
            self.bits[to * self.words + word] |= self.bits[from * self.words + word];
        }
    }

    fn count(&self, i: usize) -> usize {
        self.row(i).iter().map(|word| word.count_ones() as usize).sum()
    }
}

/// Why jobs, costs and precedence make no problem.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum ProblemError {
    /// The matrix is not square, or not of this many jobs.
    #[error("{n} jobs want {} costs, one for each pair in order; there are {found}", n * n)]
    Shape {
        /// How many jobs there are.
        n: usize,
        /// How many costs were given.
        found: usize,
    },
    /// A job number that there is not.
    #[error("job {job} is named in a precedence, but the {n} jobs are numbered from 0")]
    NoSuchJob {
        /// The number.
        job: u32,
        /// How many jobs there are.
        n: usize,
    },
    /// A cost outside the range.
    #[error("the cost of going from job {from} to job {to} is {cost}; costs are 0 to {LARGEST_COST}")]
    Cost {
        /// The job before.
        from: usize,
        /// The job after.
        to: usize,
        /// The cost.
        cost: i32,
    },
    /// Jobs that wait for each other.
    #[error("these jobs wait for each other: {}; take one of the precedences away", circle(jobs))]
    Circle {
        /// Each comes before the next, and the last before the first.
        jobs: Vec<u32>,
    },
}

fn circle(jobs: &[u32]) -> String {
    let mut text: Vec<String> = jobs.iter().map(u32::to_string).collect();
    text.extend(text.first().cloned());
    text.join(" before ")
}

impl Problem {
    /// Jobs `0..n`; `costs[i * n + j]` of going from `i` straight to `j`; each pair of `before` is
    /// a job and one that comes after it.
    ///
    /// # Units
    /// - `costs`: any one unit (seconds, tenths), whole, 0 to [`LARGEST_COST`]. The diagonal and
    ///   the arcs that precedence rules out are not read: they may hold anything.
    ///
    /// # Errors
    /// [`ProblemError`]; jobs that wait for each other are refused, with the circle.
    ///
    /// ```
    /// # use faying_bench::sop::Problem;
    /// let costs = vec![0, 5, 9, 5, 0, 2, 9, 2, 0];
    /// let problem = Problem::new(3, costs, &[(2, 0)])?;
    /// assert_eq!(problem.cost_of(&[2, 1, 0]), Some(7));
    /// assert_eq!(problem.cost_of(&[0, 1, 2]), None);
    /// # Ok::<(), faying_bench::sop::ProblemError>(())
    /// ```
    pub fn new(n: usize, costs: Vec<i32>, before: &[(u32, u32)]) -> Result<Self, ProblemError> {
        if n.checked_mul(n) != Some(costs.len()) {
            return Err(ProblemError::Shape { n, found: costs.len() });
        }
        let mut next: Vec<Vec<usize>> = vec![Vec::new(); n];
        let mut waits = vec![0_usize; n];
        for &(first, then) in before {
            for job in [first, then] {
                if job as usize >= n {
                    return Err(ProblemError::NoSuchJob { job, n });
                }
            }
            next[first as usize].push(then as usize);
            waits[then as usize] += 1;
        }
        let mut order: Vec<usize> = (0..n).filter(|&job| waits[job] == 0).collect();
        let mut at = 0;
        while at < order.len() {
            for &then in &next[order[at]] {
                waits[then] -= 1;
                if waits[then] == 0 {
                    order.push(then);
                }
            }
            at += 1;
        }
        if order.len() < n {
            return Err(ProblemError::Circle { jobs: find_circle(&next, &waits) });
        }
        let (mut before, mut after) = (Bits::new(n), Bits::new(n));
        for &job in order.iter().rev() {
            for &then in &next[job] {
                // What comes after it has been joined already if it stands in the row.
                if !after.has(job, then) {
                    after.join(job, then);
                    after.set(job, then);
                }
            }
        }
        for &job in &order {
            for &then in &next[job] {
                if !before.has(then, job) {
                    before.join(then, job);
                    before.set(then, job);
                }
            }
        }
        let problem = Self { n, costs, before, after };
        for i in 0..n {
            for j in 0..n {
                let cost = problem.costs[i * n + j];
                if i != j && !problem.comes_before(j, i) && !(0..=LARGEST_COST).contains(&cost) {
                    return Err(ProblemError::Cost { from: i, to: j, cost });
                }
            }
        }
        Ok(problem)
    }

    /// How many jobs there are.
    #[must_use]
    pub const fn jobs(&self) -> usize {
        self.n
    }

    /// Whether `i` comes before `j`, directly or through others.
    #[must_use]
    pub fn comes_before(&self, i: usize, j: usize) -> bool {
        self.after.has(i, j)
    }

    /// What an order costs, or `None` where it is not all jobs once each or breaks a precedence.
    #[must_use]
    pub fn cost_of(&self, order: &[u32]) -> Option<i64> {
        if order.len() != self.n {
            return None;
        }
        let mut seen = vec![0_u64; self.before.words];
        for &job in order {
            let job = job as usize;
            if job >= self.n || seen[job / 64] >> (job % 64) & 1 != 0 {
                return None;
            }
            if self.before.row(job).iter().zip(&seen).any(|(wants, has)| wants & !has != 0) {
                return None;
            }
            seen[job / 64] |= 1 << (job % 64);
        }
        Some(order.windows(2).map(|pair| i64::from(self.cost(pair[0] as usize, pair[1] as usize))).sum())
    }

    fn cost(&self, i: usize, j: usize) -> i32 {
        self.costs[i * self.n + j]
    }

    /// Whether some order goes straight from `i` to `j`.
    fn may_follow(&self, i: usize, j: usize) -> bool {
        i != j
            && !self.comes_before(j, i)
            // With a third between them, they are never neighbours.
            && !(self.comes_before(i, j)
                && self.after.row(i).iter().zip(self.before.row(j)).any(|(one, two)| one & two != 0))
    }
}

/// A circle among the jobs that still wait for another.
fn find_circle(next: &[Vec<usize>], waits: &[usize]) -> Vec<u32> {
    // Every waiting job has a waiting one before it: walking back must come round.
    let mut previous = vec![usize::MAX; next.len()];
    for (job, after) in next.iter().enumerate() {
        if waits[job] > 0 {
            for &then in after {
                previous[then] = job;
            }
        }
    }
    let mut job = waits.iter().position(|&count| count > 0).expect("some job waits");
    for _ in 0..next.len() {
        job = previous[job];
    }
    let (start, mut circle) = (job, vec![]);
    loop {
        circle.push(job as u32);
        job = previous[job];
        if job == start {
            break;
        }
    }
    circle.reverse();
    let least = circle.iter().enumerate().min_by_key(|(_, job)| **job).map_or(0, |(at, _)| at);
    circle.rotate_left(least);
    circle
}

/// How far a search has come.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Progress {
    /// Cost of the best order so far.
    pub cost: i64,
    /// No order is cheaper than this.
    pub lower_bound: i64,
    /// What is being done now, in a word or two.
    pub phase: &'static str,
    /// Work done so far, in steps of some nanoseconds each; the same on every machine.
    pub work: u64,
}

/// An order, and what is known of it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Solution {
    /// The jobs in order.
    pub order: Vec<u32>,
    /// What it costs.
    pub cost: i64,
    /// No order is cheaper than this.
    pub lower_bound: i64,
    /// Whether the two are equal: the order is the best there is.
    pub proven: bool,
}

/// Looks for the cheapest order until it is proven or `stop` says so, on this thread alone.
///
/// `stop` is asked every few milliseconds, and once before anything is done. With the same seed
/// and a `stop` that goes by [`Progress`] or by the number of times it was asked, the answer is
/// the same every time.
///
/// ```
/// # use faying_bench::sop::{Problem, solve};
/// let costs = vec![0, 5, 9, 5, 0, 2, 9, 2, 0];
/// let problem = Problem::new(3, costs, &[(2, 0)])?;
/// let solution = solve(&problem, 1, &mut |_| false);
/// assert_eq!((solution.order, solution.cost, solution.proven), (vec![2, 1, 0], 7, true));
/// # Ok::<(), faying_bench::sop::ProblemError>(())
/// ```
pub fn solve(problem: &Problem, seed: u64, stop: &mut dyn FnMut(&Progress) -> bool) -> Solution {
    let shared = begin(problem);
    let mut work = 0;
    let mut go_on = |phase| {
        let progress = Progress { cost: shared.cost(), lower_bound: shared.bound(), phase, work };
        // Each half does a slice before the next question.
        work += 2 * SLICE;
        !stop(&progress) && !shared.closed()
    };
    if go_on("starting") {
        let mut improver = Improver::new(problem, seed, &shared);
        let mut prover = Prover::new(problem);
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
/// its order is as true.
pub fn solve_on_two(problem: &Problem, seed: u64, stop: &(dyn Fn(&Progress) -> bool + Sync)) -> Solution {
    let shared = begin(problem);
    let work = AtomicU64::new(0);
    let go_on = |phase| {
        let work = work.fetch_add(SLICE, Ordering::Relaxed);
        let progress = Progress { cost: shared.cost(), lower_bound: shared.bound(), phase, work };
        !stop(&progress) && !shared.closed()
    };
    if go_on("starting") {
        std::thread::scope(|scope| {
            scope.spawn(|| {
                let mut prover = Prover::new(problem);
                while !prover.idle() && go_on(prover.phase()) {
                    prover.advance(&shared, SLICE);
                }
            });
            let mut improver = Improver::new(problem, seed, &shared);
            while go_on("searching") {
                improver.advance(&shared, SLICE);
            }
        });
    }
    end(problem, &shared)
}

/// Work between two questions whether to stop.
const SLICE: u64 = 1_000_000;

fn begin(problem: &Problem) -> Shared {
    let order = greedy(problem);
    let cost = problem.cost_of(&order).expect("built along precedence");
    Shared::new(order, cost, cheapest_ways_in(problem))
}

fn end(problem: &Problem, shared: &Shared) -> Solution {
    let (order, cost) = shared.best();
    // Costs are kept up by differences while searching; what is said is counted anew.
    assert_eq!(problem.cost_of(&order), Some(cost), "a search keeps precedence and its own count");
    let lower_bound = shared.bound();
    Solution { order, cost, lower_bound, proven: cost == lower_bound }
}

/// Always the cheapest next job of those that may come.
fn greedy(problem: &Problem) -> Vec<u32> {
    let n = problem.n;
    let mut waits: Vec<usize> = (0..n).map(|job| problem.before.count(job)).collect();
    let mut done = vec![false; n];
    let mut order: Vec<u32> = Vec::with_capacity(n);
    for _ in 0..n {
        let best =
            (0..n).filter(|&job| !done[job] && waits[job] == 0).min_by_key(|&job| match order.last() {
                Some(&last) => problem.cost(last as usize, job),
                None => 0,
            });
        let best = best.expect("there is no circle, so some job is free");
        done[best] = true;
        order.push(best as u32);
        for (job, waits) in waits.iter_mut().enumerate() {
            *waits -= usize::from(problem.comes_before(best, job));
        }
    }
    order
}

/// Every job but the first is come to from some other: the sum of the cheapest ways in.
fn cheapest_ways_in(problem: &Problem) -> i64 {
    let n = problem.n;
    let (mut sum, mut first) = (0, 0);
    for j in 0..n {
        let way_in =
            (0..n).filter(|&i| problem.may_follow(i, j)).map(|i| i64::from(problem.cost(i, j))).min();
        let way_in = way_in.unwrap_or(0);
        sum += way_in;
        if problem.before.count(j) == 0 {
            first = first.max(way_in);
        }
    }
    sum - first
}

/// The cheapest order by trying every one that keeps precedence, for the tests of the halves.
#[cfg(test)]
fn cheapest_order(problem: &Problem) -> (i64, Vec<u32>) {
    fn go_on(problem: &Problem, order: &mut Vec<u32>, cost: i64, best: &mut (i64, Vec<u32>)) {
        if cost >= best.0 {
            return;
        }
        if order.len() == problem.n {
            *best = (cost, order.clone());
            return;
        }
        for job in 0..problem.n {
            let ready =
                (0..problem.n).all(|it| !problem.comes_before(it, job) || order.contains(&(it as u32)));
            if ready && !order.contains(&(job as u32)) {
                let arc = order.last().map_or(0, |&last| i64::from(problem.cost(last as usize, job)));
                order.push(job as u32);
                go_on(problem, order, cost + arc, best);
                order.pop();
            }
        }
    }
    let mut best = (i64::MAX, vec![]);
    go_on(problem, &mut vec![], 0, &mut best);
    best
}
