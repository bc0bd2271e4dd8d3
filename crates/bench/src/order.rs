//! The order of one run: few changes of the set-up, little walking.
//!
//! Jobs lie at points of several places (planes that are reached one at a
//! time), each is done with one configuration (a [`Family`]: one value for
//! everything that can be changed), and some come before others. Going from
//! one job to the next costs what has to be changed, a proof where a change
//! asks for one, and the way. Nothing here knows what a job is.
//!
//! How it is solved:
//! 1. Changes of configuration and place obey the triangle inequality, so
//!    doing everything that is free before changing is never dearer as far as
//!    changes go. A state is then a set of jobs closed under precedence and
//!    what is set up now; the cheapest sequence of visits is searched exactly
//!    (`visits`).
//! 2. Paths are laid through each visit and bettered as one order by moving
//!    and turning pieces, with seeded kicks (`path`).
//! 3. A bound below every order comes from the same search together with
//!    spanning trees over each visit's jobs (`bound`); few jobs are solved
//!    exactly (`exact`).
//!
//! Everything here is pure: when to stop is asked of the caller, chance comes
//! from a seed. Figures come with the problem; none stands in this module.

mod bound;
mod exact;
mod model;
mod path;
mod precedence;
mod visits;

use std::collections::BTreeSet;

use thiserror::Error;

use model::Model;
use precedence::Precedence;

/// What is set up while jobs are done: one value for each thing that can be changed.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Family {
    /// The values; all families of a problem have the same number of them.
    pub parts: Vec<u16>,
}

/// One thing to do.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Job {
    /// Which of [`Problem::families`] it needs.
    pub family: u16,
    /// Where it lies in its place, in.
    pub at: [f64; 2],
    /// The place it lies in; distances count only inside one place.
    pub place: u16,
    /// Doing it, s. It is the same in every order.
    pub seconds: f64,
}

/// A proof that is owed when something that touches it has been changed.
#[derive(Clone, Debug, PartialEq)]
pub struct Proof {
    /// Indices into [`Family::parts`]; a change of any of them asks for the proof, once.
    pub parts: Vec<u16>,
    /// What it takes, s.
    pub seconds: f64,
}

/// What going from one job to the next costs.
#[derive(Clone, Debug, PartialEq)]
pub struct Costs {
    /// Changing each part, s.
    pub change: Vec<f64>,
    /// Proofs that changes ask for.
    pub proofs: Vec<Proof>,
    /// Moving along a place, s for each inch.
    pub seconds_per_inch: f64,
    /// Going to another place, s.
    pub between_places: f64,
}

/// Where things stand before the first job.
#[derive(Clone, Debug, PartialEq)]
pub struct Start {
    /// What is set up; it need not be one of [`Problem::families`].
    pub family: Family,
    /// Where the last job was, in.
    pub at: [f64; 2],
    /// In which place.
    pub place: u16,
}

/// Jobs to be put in order.
#[derive(Clone, Debug, PartialEq)]
pub struct Problem {
    /// Configurations.
    pub families: Vec<Family>,
    /// Jobs; elsewhere they go by their index here.
    pub jobs: Vec<Job>,
    /// Pairs (first, then). A pair given twice does no harm.
    pub before: Vec<(u32, u32)>,
    /// What changes and ways cost.
    pub costs: Costs,
    /// Where things stand; without it the first job costs nothing to get to.
    pub start: Option<Start>,
}

/// What an order costs, and of what it is made up.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Cost {
    /// All of it, s.
    pub seconds: f64,
    /// Doing the jobs, s; the same in every order.
    pub doing: f64,
    /// Changing parts, s.
    pub changing: f64,
    /// Proofs, s.
    pub proving: f64,
    /// Moving inside places, s.
    pub travelling: f64,
    /// Going to other places, s.
    pub moving: f64,
    /// How often each part is changed.
    pub changes: Vec<u32>,
    /// How many proofs are owed.
    pub proofs: u32,
    /// How often something is changed at all: set-ups after the first.
    pub set_ups: u32,
    /// How often another place is gone to.
    pub moves: u32,
    /// Way inside places, in.
    pub travel_in: f64,
}

impl Cost {
    /// What another order could have done otherwise, s.
    #[must_use]
    pub fn changeable(&self) -> f64 {
        self.seconds - self.doing
    }
}

/// The order found, and how good it is.
#[derive(Clone, Debug, PartialEq)]
pub struct Answer {
    /// Jobs in the order to do them.
    pub order: Vec<u32>,
    /// What it costs.
    pub cost: Cost,
    /// No order takes less than this, s.
    pub bound: f64,
    /// Whether the order is known to be the best: it takes no more than
    /// `bound` and a thousandth of a second.
    pub proven: bool,
    /// Changes, proofs and going to other places take at least this in every order, s.
    pub least_changing: f64,
    /// Whether `least_changing` is reached by an order.
    pub least_changing_exact: bool,
    /// Rounds of the search.
    pub rounds: u64,
}

impl Answer {
    /// How much shorter another order could at most be, as a part of the whole.
    #[must_use]
    pub fn gap(&self) -> f64 {
        part(self.cost.seconds - self.bound, self.cost.seconds)
    }

    /// The same as a part of what an order can change at all.
    #[must_use]
    pub fn gap_of_changeable(&self) -> f64 {
        part(self.cost.seconds - self.bound, self.cost.changeable())
    }
}

fn part(gap: f64, of: f64) -> f64 {
    if of > 0.0 { (gap / of).clamp(0.0, 1.0) } else { 0.0 }
}

/// What the search is at.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Phase {
    /// The sequence of visits.
    Visits,
    /// A few jobs, solved exactly.
    Exact,
    /// The bound.
    Bound,
    /// Moving pieces about.
    Bettering,
}

/// How far the search is, for a progress bar and for deciding when to stop.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Progress {
    /// What is being done.
    pub phase: Phase,
    /// The best order so far, s; infinite before there is one.
    pub seconds: f64,
    /// The bound so far, s.
    pub bound: f64,
    /// Calls so far, this one counted. With a stop by this count the same
    /// problem and seed give the same answer on every machine.
    pub calls: u64,
    /// Steps of work so far, by the count of jobs that each part goes over. Calls lie closer together
    /// in a small problem than in a large one; a patience counted in work is about the same time for both.
    pub work: u64,
}

/// What is wrong with a problem or an order.
#[derive(Clone, Debug, PartialEq, Error)]
#[non_exhaustive]
pub enum Broken {
    /// A family or the start has another number of parts than there are costs of change.
    #[error(
        "family {family} has {parts} parts, and there are costs for {costs}; give one cost for each part"
    )]
    Parts {
        /// Index of the family; one past the last is the start.
        family: usize,
        /// Its parts.
        parts: usize,
        /// Costs of change.
        costs: usize,
    },
    /// A job needs a family that is not there.
    #[error("job {job} needs family {family}, and there are {families}")]
    Family {
        /// The job.
        job: u32,
        /// What it asks for.
        family: u16,
        /// How many there are.
        families: usize,
    },
    /// A proof names a part that is not there.
    #[error("a proof names part {part}, and a family has {parts}")]
    Proof {
        /// What it names.
        part: u16,
        /// How many there are.
        parts: usize,
    },
    /// A cost or coordinate is not a number, or a cost is below nothing.
    #[error("{what} is {value}; give a finite number, and none below 0 for a cost")]
    Number {
        /// Which figure.
        what: String,
        /// The figure.
        value: f64,
    },
    /// A pair names a job that is not there.
    #[error("a pair of before and after names job {job}, and there are {jobs}")]
    Unknown {
        /// What it names.
        job: u32,
        /// How many there are.
        jobs: usize,
    },
    /// Jobs wait for each other.
    #[error("these jobs wait for each other in a circle: {}; take one pair away", circle(.0))]
    Circle(Vec<u32>),
    /// An order has another length than there are jobs.
    #[error("the order has {found} jobs, and there are {jobs}")]
    Length {
        /// In the order.
        found: usize,
        /// In the problem.
        jobs: usize,
    },
    /// A job stands twice in an order.
    #[error("job {0} stands twice in the order")]
    Twice(u32),
    /// An order does a job too early.
    #[error("job {then} is done before job {first}, which has to come first")]
    Early {
        /// What has to come first.
        first: u32,
        /// What is done too early.
        then: u32,
    },
}

fn circle(jobs: &[u32]) -> String {
    let mut text: Vec<String> = jobs.iter().map(u32::to_string).collect();
    text.extend(jobs.first().map(u32::to_string));
    text.join(" before ")
}

impl Problem {
    /// Whether the problem can be solved at all.
    ///
    /// # Errors
    /// The first [`Broken`] thing found, circles last.
    pub fn check(&self) -> Result<(), Broken> {
        self.check_figures()?;
        Precedence::of(self.jobs.len(), &self.before).map(drop).map_err(Broken::Circle)
    }

    fn check_figures(&self) -> Result<(), Broken> {
        let parts = self.costs.change.len();
        let start = self.start.iter().map(|s| &s.family);
        for (family, it) in self.families.iter().chain(start).enumerate() {
            if it.parts.len() != parts {
                return Err(Broken::Parts { family, parts: it.parts.len(), costs: parts });
            }
        }
        for proof in &self.costs.proofs {
            if let Some(&part) = proof.parts.iter().find(|&&part| usize::from(part) >= parts) {
                return Err(Broken::Proof { part, parts });
            }
            cost_is_sound("a proof", proof.seconds)?;
        }
        for (part, &seconds) in self.costs.change.iter().enumerate() {
            cost_is_sound(&format!("changing part {part}"), seconds)?;
        }
        cost_is_sound("moving an inch", self.costs.seconds_per_inch)?;
        cost_is_sound("going to another place", self.costs.between_places)?;
        for (job, it) in (0..).zip(&self.jobs) {
            if usize::from(it.family) >= self.families.len() {
                return Err(Broken::Family { job, family: it.family, families: self.families.len() });
            }
            cost_is_sound(&format!("doing job {job}"), it.seconds)?;
            point_is_sound(&format!("job {job}"), it.at)?;
        }
        if let Some(start) = &self.start {
            point_is_sound("the start", start.at)?;
        }
        let jobs = self.jobs.len();
        for &(first, then) in &self.before {
            if let Some(job) = [first, then].into_iter().find(|&job| job as usize >= jobs) {
                return Err(Broken::Unknown { job, jobs });
            }
        }
        Ok(())
    }

    /// What has to be changed between two families: which parts, and which proofs follow.
    fn changed<'a>(&'a self, from: &'a Family, to: &'a Family) -> Changed<'a> {
        Changed { costs: &self.costs, from, to }
    }
}

fn cost_is_sound(what: &str, value: f64) -> Result<(), Broken> {
    if value.is_finite() && value >= 0.0 {
        Ok(())
    } else {
        Err(Broken::Number { what: what.to_owned(), value })
    }
}

fn point_is_sound(what: &str, at: [f64; 2]) -> Result<(), Broken> {
    match at.into_iter().find(|value| !value.is_finite()) {
        Some(value) => Err(Broken::Number { what: format!("the point of {what}"), value }),
        None => Ok(()),
    }
}

/// A change from one family to another.
#[derive(Clone, Copy)]
struct Changed<'a> {
    costs: &'a Costs,
    from: &'a Family,
    to: &'a Family,
}

impl Changed<'_> {
    fn differs(&self, part: usize) -> bool {
        self.from.parts[part] != self.to.parts[part]
    }

    fn parts(&self) -> impl Iterator<Item = usize> + '_ {
        (0..self.costs.change.len()).filter(|&part| self.differs(part))
    }

    fn proofs(&self) -> impl Iterator<Item = &Proof> + '_ {
        self.costs.proofs.iter().filter(|it| it.parts.iter().any(|&part| self.differs(usize::from(part))))
    }

    fn seconds(&self) -> f64 {
        self.parts().map(|part| self.costs.change[part]).sum::<f64>()
            + self.proofs().map(|proof| proof.seconds).sum::<f64>()
    }
}

/// What an order costs, whoever made it.
///
/// # Errors
/// [`Broken`] if the problem is not sound, if the order does not hold every
/// job once, or if it does a job too early.
pub fn cost_of(problem: &Problem, order: &[u32]) -> Result<Cost, Broken> {
    problem.check_figures()?;
    let jobs = problem.jobs.len();
    if order.len() != jobs {
        return Err(Broken::Length { found: order.len(), jobs });
    }
    let mut position = vec![usize::MAX; jobs];
    for (at, &job) in order.iter().enumerate() {
        let slot = position.get_mut(job as usize).ok_or(Broken::Unknown { job, jobs })?;
        if *slot != usize::MAX {
            return Err(Broken::Twice(job));
        }
        *slot = at;
    }
    for &(first, then) in &problem.before {
        if position[first as usize] >= position[then as usize] {
            return Err(Broken::Early { first, then });
        }
    }

    let mut cost = Cost { changes: vec![0; problem.costs.change.len()], ..Cost::default() };
    let mut here = problem.start.as_ref().map(|start| (&start.family, start.at, start.place));
    for &job in order {
        let it = &problem.jobs[job as usize];
        let next = (&problem.families[usize::from(it.family)], it.at, it.place);
        if let Some(from) = here {
            cost.step(problem, from, next);
        }
        cost.doing += it.seconds;
        here = Some(next);
    }
    cost.travelling = cost.travel_in * problem.costs.seconds_per_inch;
    cost.moving = f64::from(cost.moves) * problem.costs.between_places;
    cost.seconds = cost.doing + cost.changing + cost.proving + cost.travelling + cost.moving;
    Ok(cost)
}

/// What is set up, where, in which place.
type Here<'a> = (&'a Family, [f64; 2], u16);

impl Cost {
    fn step(&mut self, problem: &Problem, from: Here<'_>, to: Here<'_>) {
        let changed = problem.changed(from.0, to.0);
        self.set_ups += u32::from(changed.parts().next().is_some());
        for part in changed.parts() {
            self.changes[part] += 1;
            self.changing += problem.costs.change[part];
        }
        for proof in changed.proofs() {
            self.proofs += 1;
            self.proving += proof.seconds;
        }
        if from.2 == to.2 {
            self.travel_in += distance(from.1, to.1);
        } else {
            self.moves += 1;
        }
    }
}

/// Distance in the plane, in.
fn distance(a: [f64; 2], b: [f64; 2]) -> f64 {
    let (x, y) = (a[0] - b[0], a[1] - b[1]);
    (x * x + y * y).sqrt()
}

/// An order somebody wrote, made to keep precedence: always the first in it that is free.
///
/// It says what working through a list from the top would have cost, where the
/// list itself takes no heed of what comes before what.
///
/// # Errors
/// [`Broken`] if the problem is not sound or the order does not hold every job once.
pub fn in_turn(problem: &Problem, order: &[u32]) -> Result<Vec<u32>, Broken> {
    problem.check()?;
    let loose = Problem { before: Vec::new(), ..problem.clone() };
    cost_of(&loose, order)?;

    let n = order.len();
    let mut rank = vec![0; n];
    for (at, &job) in order.iter().enumerate() {
        rank[job as usize] = at;
    }
    let mut waiting = vec![0_u32; n];
    let mut behind = vec![Vec::new(); n];
    for &(first, then) in &problem.before {
        waiting[then as usize] += 1;
        behind[first as usize].push(then);
    }
    let mut free: BTreeSet<usize> = (0..n).filter(|&at| waiting[order[at] as usize] == 0).collect();
    let mut kept = Vec::with_capacity(n);
    while let Some(at) = free.pop_first() {
        let job = order[at];
        kept.push(job);
        for &then in &behind[job as usize] {
            waiting[then as usize] -= 1;
            if waiting[then as usize] == 0 {
                free.insert(rank[then as usize]);
            }
        }
    }
    Ok(kept)
}

/// A cheap order, and a bound that says how cheap it is.
///
/// `stop` is asked often (every few thousand steps); what it sees is in
/// [`Progress`]. The search ends by itself when the order is proven or when
/// long searching has bettered nothing. With a stop by count the same problem
/// and seed give the same answer.
///
/// # Errors
/// [`Broken`] if the problem is not sound or jobs wait for each other.
pub fn solve(
    problem: &Problem,
    seed: u64,
    stop: &mut dyn FnMut(&Progress) -> bool,
) -> Result<Answer, Broken> {
    problem.check_figures()?;
    let precedence = Precedence::of(problem.jobs.len(), &problem.before).map_err(Broken::Circle)?;
    let model = Model::of(problem);
    let mut watch = Watch { stop, seconds: f64::INFINITY, bound: 0.0, calls: 0, work: 0, stopped: false };
    let found = search(&model, &precedence, seed, &mut watch);
    let rounds = watch.calls;
    let cost = cost_of(problem, &found.order)?;
    let bound = (model.doing + found.bound).min(cost.seconds);
    Ok(Answer {
        proven: cost.seconds - bound <= PROVEN,
        order: found.order,
        bound,
        cost,
        least_changing: found.least_changing,
        least_changing_exact: found.least_changing_exact,
        rounds,
    })
}

/// A difference in s that is none: sums of floats in another order differ by less.
const PROVEN: f64 = 1e-3;

/// Asks the caller whether to go on.
struct Watch<'a> {
    stop: &'a mut dyn FnMut(&Progress) -> bool,
    seconds: f64,
    bound: f64,
    calls: u64,
    work: u64,
    stopped: bool,
}

impl Watch<'_> {
    /// Whether to stop; once yes, always yes.
    ///
    /// # Units
    /// - `work`: steps since the last time, as [`Progress::work`] counts them
    fn asks_to_stop(&mut self, phase: Phase, work: u64) -> bool {
        if !self.stopped {
            self.calls += 1;
            self.work += work;
            let (calls, work) = (self.calls, self.work);
            let progress = Progress { phase, seconds: self.seconds, bound: self.bound, calls, work };
            self.stopped = (self.stop)(&progress);
        }
        self.stopped
    }
}

/// What the phases have found together; seconds without the doing of jobs.
struct Found {
    order: Vec<u32>,
    bound: f64,
    least_changing: f64,
    least_changing_exact: bool,
}

fn search(model: &Model, precedence: &Precedence, seed: u64, watch: &mut Watch<'_>) -> Found {
    let mut found = Found { order: Vec::new(), bound: 0.0, least_changing: 0.0, least_changing_exact: true };
    if model.n == 0 {
        return found;
    }
    let chunks = visits::Chunks::of(model, precedence);
    let least = visits::cheapest(model, &chunks, &model.switching(), visits::MOST_WORK, watch);
    found.least_changing = least.bound;
    found.least_changing_exact = least.exact;
    found.bound = least.bound;
    watch.bound = model.doing + found.bound;

    let mut path = path::Path::lay(model, precedence, &chunks, &least.sequence, seed, watch);
    watch.seconds = model.doing + path.cost();
    path.settle(watch);
    watch.seconds = model.doing + path.cost();

    if let Some((order, bound)) = exact::solve(model, precedence, path.order(), path.cost(), watch) {
        found.order = order;
        found.bound = found.bound.max(bound);
        return found;
    }
    let trees = bound::best(model, precedence, &chunks, path.order(), watch);
    found.bound = found.bound.max(trees);
    watch.bound = model.doing + found.bound;

    path.better(found.bound, watch);
    found.order = path.order().to_vec();
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    fn two_families() -> Problem {
        let job = |family, x, place| Job { family, at: [x, 0.0], place, seconds: 5.0 };
        Problem {
            families: vec![Family { parts: vec![0, 0] }, Family { parts: vec![1, 0] }],
            jobs: vec![job(0, 0.0, 0), job(1, 1.0, 0), job(0, 2.0, 0), job(1, 4.0, 1)],
            before: vec![(0, 2)],
            costs: Costs {
                change: vec![60.0, 30.0],
                proofs: vec![Proof { parts: vec![0, 1], seconds: 100.0 }],
                seconds_per_inch: 0.5,
                between_places: 20.0,
            },
            start: None,
        }
    }

    /// Counted by hand: 0 → 2 is 2 in, 2 → 1 is 1 in and a change with its
    /// proof, 1 → 3 is another place.
    #[test]
    fn an_order_is_counted_by_its_parts() {
        let cost = cost_of(&two_families(), &[0, 2, 1, 3]).unwrap();
        let by_hand = Cost {
            seconds: 20.0 + 60.0 + 100.0 + 1.5 + 20.0,
            doing: 20.0,
            changing: 60.0,
            proving: 100.0,
            travelling: 1.5,
            moving: 20.0,
            changes: vec![1, 0],
            proofs: 1,
            set_ups: 1,
            moves: 1,
            travel_in: 3.0,
        };
        assert_eq!(cost, by_hand);
        assert!((cost.changeable() - 181.5).abs() < 1e-9);
    }

    #[test]
    fn what_is_wrong_is_said() {
        let sound = two_families();
        let say = |problem: &Problem, order: &[u32]| cost_of(problem, order).unwrap_err().to_string();
        assert_eq!(say(&sound, &[0, 1, 2]), "the order has 3 jobs, and there are 4");
        assert_eq!(say(&sound, &[0, 1, 2, 2]), "job 2 stands twice in the order");
        assert_eq!(say(&sound, &[2, 0, 1, 3]), "job 2 is done before job 0, which has to come first");
        let circle = Problem { before: vec![(0, 2), (2, 3), (3, 0)], ..sound.clone() };
        assert_eq!(
            circle.check().unwrap_err().to_string(),
            "these jobs wait for each other in a circle: 0 before 2 before 3 before 0; take one pair away"
        );
        let itself = Problem { before: vec![(1, 1)], ..sound.clone() };
        assert_eq!(
            itself.check().unwrap_err().to_string(),
            "these jobs wait for each other in a circle: 1 before 1; take one pair away"
        );
        let mut number = sound.clone();
        number.costs.seconds_per_inch = f64::NAN;
        assert_eq!(
            number.check().unwrap_err().to_string(),
            "moving an inch is NaN; give a finite number, and none below 0 for a cost"
        );
        let mut family = sound;
        family.families[1].parts.pop();
        assert_eq!(
            family.check().unwrap_err().to_string(),
            "family 1 has 1 parts, and there are costs for 2; give one cost for each part"
        );
    }

    /// Problems drawn small, so that the best order can be had; rows of a grid, to have many near ties.
    fn drawn(seed: u64) -> Problem {
        use rand::{RngExt, SeedableRng};
        let mut rng = rand_chacha::ChaCha8Rng::seed_from_u64(seed);
        let families = rng.random_range(1..5);
        let n = rng.random_range(2..11_u32);
        let places = rng.random_range(1..3);
        let mut problem = Problem {
            families: (0..families)
                .map(|_| Family { parts: (0..3).map(|_| rng.random_range(0..2)).collect() })
                .collect(),
            jobs: (0..n)
                .map(|_| Job {
                    family: rng.random_range(0..families),
                    at: [f64::from(rng.random_range(0..12)), f64::from(rng.random_range(0..2))],
                    place: rng.random_range(0..places),
                    seconds: 0.0,
                })
                .collect(),
            before: vec![],
            costs: Costs {
                change: (0..3).map(|_| rng.random_range(0.0..8.0)).collect(),
                proofs: vec![Proof { parts: vec![0, 1], seconds: rng.random_range(0.0..5.0) }],
                seconds_per_inch: rng.random_range(0.0..2.0),
                between_places: rng.random_range(0.0..8.0),
            },
            start: None,
        };
        if rng.random_bool(0.4) {
            let family = problem.families[0].clone();
            problem.start = Some(Start { family, at: [3.0, 0.0], place: 0 });
        }
        // Single pairs, and all of one set before all of another.
        for _ in 0..rng.random_range(0..4) {
            let cut = rng.random_range(1..n);
            let (a, b) = (rng.random_range(0..cut), rng.random_range(cut..n));
            problem.before.push((a, b));
        }
        if rng.random_bool(0.6) {
            let cut = rng.random_range(1..n);
            let step = rng.random_range(1..3);
            problem
                .before
                .extend((0..cut).step_by(step).flat_map(|a| (cut..n).step_by(step).map(move |b| (a, b))));
        }
        problem
    }

    /// The bound of trees and visits is below the best order, and not idle: on
    /// some problems it meets it, and together it reaches most of the cost.
    #[test]
    fn the_bound_is_below_the_best_order() {
        let (mut met, mut bounds, mut bests) = (0, 0.0, 0.0);
        for seed in 0..1_000 {
            let problem = drawn(seed);
            let precedence = Precedence::of(problem.jobs.len(), &problem.before).unwrap();
            let model = Model::of(&problem);
            let mut go_on = |_: &Progress| false;
            let mut watch =
                Watch { stop: &mut go_on, seconds: 0.0, bound: 0.0, calls: 0, work: 0, stopped: false };
            let best = solve(&problem, 1, &mut |_| false).unwrap();
            assert!(best.proven, "seed {seed}: {best:?}");
            let best = best.cost.changeable();
            let chunks = visits::Chunks::of(&model, &precedence);
            let least = visits::cheapest(&model, &chunks, &model.switching(), visits::MOST_WORK, &mut watch);
            assert!(least.exact && least.bound <= best + 1e-9, "seed {seed}: {} of {best}", least.bound);
            let any = in_turn(&problem, &(0..model.start()).collect::<Vec<_>>()).unwrap();
            let bound = bound::best(&model, &precedence, &chunks, &any, &mut watch);
            assert!(bound <= best + 1e-9, "seed {seed}: {bound} of {best}");
            met += u32::from(bound > best - 1e-6);
            bounds += bound.max(least.bound);
            bests += best;
        }
        assert!(met > 50, "met {met} times");
        assert!(bounds > 0.75 * bests, "{bounds} of {bests}");
    }

    /// What is found without the exact search is an order, never below the best one.
    #[test]
    fn moves_keep_precedence_and_count_right() {
        for seed in 0..200 {
            let problem = drawn(seed);
            let precedence = Precedence::of(problem.jobs.len(), &problem.before).unwrap();
            let model = Model::of(&problem);
            let mut go_on = |progress: &Progress| progress.calls >= 40;
            let mut watch =
                Watch { stop: &mut go_on, seconds: 0.0, bound: 0.0, calls: 0, work: 0, stopped: false };
            let chunks = visits::Chunks::of(&model, &precedence);
            let least = visits::cheapest(&model, &chunks, &model.switching(), visits::MOST_WORK, &mut watch);
            let mut path = path::Path::lay(&model, &precedence, &chunks, &least.sequence, seed, &mut watch);
            path.settle(&mut watch);
            let settled = cost_of(&problem, path.order()).unwrap().changeable();
            assert!((settled - path.cost()).abs() < 1e-6, "seed {seed}");
            path.better(0.0, &mut watch);
            let bettered = cost_of(&problem, path.order()).unwrap().changeable();
            assert!((bettered - path.cost()).abs() < 1e-6 && bettered <= settled + 1e-6, "seed {seed}");
        }
    }
}
