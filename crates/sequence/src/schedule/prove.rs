//! The proving half: a search that learns from every failure.
//!
//! What is known of each start is a lowest and a highest value. A *fact* is
//! "at least so much" of one of them (the highest values are kept negated, so
//! that all facts look alike). Links and resources derive facts from facts and
//! remember from which. Where two facts contradict each other, what led there
//! is followed back to one decision and a few earlier facts; that these cannot
//! all be true is learned as a *clause*, and never walked into again.
//!
//! Half of the time it is assumed that everything ends as soon as is not yet
//! refuted. When that is refuted, the bound rises by at least one; when it is
//! reached, the schedule is proven. The other half, all but a part of the best
//! schedule is assumed to stay as it is, and what comes after that part to
//! start sooner by one: so better schedules are found. What is learned is true
//! whatever was assumed.
//!
//! Resources are kept by their sure use: an activity whose lowest end comes
//! after its highest start is under way between the two, whenever it starts.

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

use super::generate::{Profile, heads_and_tails};
use super::heap::Heap;
use super::{Options, Problem, Shared};

/// More starts than this times more values of them are not kept in memory; then nothing is proven.
const MOST_VALUES: usize = 8_000_000;
/// Learned clauses before the worse half is thrown away; grows.
const FIRST_LIMIT: usize = 4_000;
/// Failures before the first new round; the rounds are as long as 1 1 2 1 1 2 4 ... of this.
const RESTART: u64 = 128;
/// Failures before another part of the best schedule is left open.
const NEAR: u64 = 200;

/// A step here takes about as long as so many of the searching half.
const STEP: u64 = 2;

const NONE: u32 = u32::MAX;

/// Bound `b` is at least `v`. Bound `2 i` is the start of `i`; bound `2 i + 1` is its negation.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Fact {
    b: u32,
    v: i32,
}

impl Fact {
    /// What is true exactly where this is not.
    const fn not(self) -> Self {
        Self { b: self.b ^ 1, v: 1 - self.v }
    }
}

/// Why a fact is true.
#[derive(Clone, Copy, Debug)]
enum Reason {
    /// It was decided, or is true of the problem itself.
    None,
    /// A link, from the one activity to the other or back.
    Link(u32),
    /// The end of everything and one activity's start.
    End(u32),
    /// All facts of a clause but the first are false.
    Clause(u32),
    /// All of some facts, in the store of reasons.
    Facts { from: u32, count: u32 },
}

/// A step by which a bound rose.
struct Step {
    fact: Fact,
    old: i32,
    /// The step before of the same bound.
    before: u32,
    level: u32,
    reason: Reason,
}

struct Clause {
    facts: Vec<Fact>,
    /// Levels that it spans: the fewer, the more it is worth.
    spans: u32,
    used: f32,
}

#[derive(Clone, Copy)]
struct Watch {
    /// The fact is false once the bound is at least this.
    from: i32,
    clause: u32,
    /// Another fact of the clause: where it is true there is nothing to do.
    other: Fact,
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum State {
    Fresh,
    Searching,
    Idle,
}

pub(super) struct Prover<'p> {
    problem: &'p Problem,
    state: State,
    /// Number that stands for the end of everything, as a start.
    last: usize,
    /// Activities that take time and keep something busy.
    busy: Vec<u32>,
    users: Vec<Vec<u32>>,

    bound: Vec<i32>,
    latest: Vec<u32>,
    steps: Vec<Step>,
    levels: Vec<u32>,
    reasons: Vec<Fact>,
    /// Where the store of reasons stood when each level began.
    reason_levels: Vec<u32>,

    clauses: Vec<Clause>,
    watches: Vec<Vec<Watch>>,
    next: usize,
    limit: usize,

    /// The sure use, made of bounds up to step `profiled`.
    profile: Profile,
    profiled: usize,
    seen_bound: Vec<i32>,

    base: Vec<u32>,
    lowest: Vec<i32>,
    heap: Heap,
    popped: Vec<u32>,
    popped_levels: Vec<u32>,
    step_weight: f32,
    clause_weight: f32,
    best: Vec<i32>,
    best_end: i32,

    failures: u64,
    restart_at: u64,
    restarts: u64,
    /// Assumed in this order, before anything else is decided.
    assumed: Vec<Fact>,
    /// Whether what was assumed was found to be impossible.
    refuted: bool,
    /// Near the best schedule until so many failures.
    near_until: u64,
    was_near: bool,
    /// How much of the best schedule is left open, of its length.
    open_share: f64,
    rng: ChaCha8Rng,

    conflict: Vec<Fact>,
    needed: Vec<i32>,
    learned: Vec<Fact>,
    scratch: Vec<Fact>,
    work: u64,
    debt: u64,
}

const UNSEEN: i32 = i32::MIN;

/// A contradiction; what led to it stands in `conflict`.
struct Failure;

impl<'p> Prover<'p> {
    pub(super) fn new(problem: &'p Problem, options: &Options) -> Self {
        let n = problem.n;
        let busy = |i: usize| problem.packed_of(i).iter().any(|&demand| demand > 0);
        Self {
            problem,
            state: if n == 0 { State::Idle } else { State::Fresh },
            last: n,
            busy: (0..n).filter(|&i| busy(i)).map(|i| i as u32).collect(),
            users: (0..problem.resources)
                .map(|r| (0..n).filter(|&i| problem.demands_of(i)[r] > 0).map(|i| i as u32).collect())
                .collect(),
            bound: vec![],
            latest: vec![NONE; 2 * n + 2],
            steps: vec![],
            levels: vec![],
            reasons: vec![],
            reason_levels: vec![],
            clauses: vec![],
            watches: vec![vec![]; 2 * n + 2],
            next: 0,
            limit: FIRST_LIMIT,
            profile: Profile::new(problem),
            profiled: 0,
            seen_bound: vec![],
            base: vec![],
            lowest: vec![],
            heap: Heap::new(0),
            popped: vec![],
            popped_levels: vec![],
            step_weight: 1.0,
            clause_weight: 1.0,
            best: vec![],
            best_end: 0,
            failures: 0,
            restart_at: 0,
            restarts: 0,
            assumed: vec![],
            refuted: false,
            near_until: 0,
            was_near: false,
            open_share: 0.3,
            rng: ChaCha8Rng::seed_from_u64(options.seed),
            conflict: vec![],
            needed: vec![],
            learned: vec![],
            scratch: vec![],
            work: 0,
            debt: 0,
        }
    }

    /// Whether nothing more is to be proven.
    pub(super) fn idle(&self) -> bool {
        self.state == State::Idle
    }

    pub(super) const fn phase(&self) -> &'static str {
        match self.state {
            State::Fresh => "bounding",
            State::Searching => "proving",
            State::Idle => "searching",
        }
    }

    /// Proves for about `work` steps.
    pub(super) fn advance(&mut self, shared: &Shared, work: u64) {
        let until = self.work + (work / STEP).saturating_sub(self.debt);
        if self.state == State::Fresh {
            self.start(shared);
        }
        while self.state == State::Searching && self.work < until && !shared.closed() {
            if self.turn(shared).is_err() {
                // Contradicted without any decision: nothing ends before the best known.
                shared.raise(self.best_end as u32);
                self.state = State::Idle;
            }
        }
        self.debt = self.work.saturating_sub(until);
    }

    fn low(&self, i: usize) -> i32 {
        self.bound[2 * i]
    }

    fn high(&self, i: usize) -> i32 {
        -self.bound[2 * i + 1]
    }

    fn level(&self) -> u32 {
        self.levels.len() as u32
    }

    /// First bounds, and memory for them.
    fn start(&mut self, shared: &Shared) {
        let n = self.problem.n;
        let (starts, end) = shared.best();
        (self.best, self.best_end) = (starts, end as i32);
        let (mut heads, tails) = heads_and_tails(self.problem);
        heads.push(shared.bound() as i32);
        let mut values = 0;
        for i in 0..=n {
            let high = self.best_end - 1 - if i < n { tails[i] } else { 0 };
            self.bound.extend([heads[i], -high]);
            self.lowest.push(heads[i]);
            self.base.push(values as u32);
            values += (high - heads[i]).max(0) as usize + 1;
        }
        self.best.push(self.best_end);
        self.seen_bound = self.bound.clone();
        if values > MOST_VALUES || (0..=n).any(|i| self.low(i) > self.high(i)) {
            if values <= MOST_VALUES {
                shared.raise(self.best_end as u32);
            }
            self.state = State::Idle;
            return;
        }
        self.heap = Heap::new(values);
        self.profile.grow(self.best_end as usize);
        for at in 0..self.busy.len() {
            let i = self.busy[at] as usize;
            let (low, high) = (self.low(i), self.high(i));
            let end = low + self.problem.durations[i];
            for slot in high..end {
                self.profile.take(slot as usize, slot as usize + 1, self.problem.packed_of(i));
                if self.profile.overdrawn(slot as usize) {
                    shared.raise(self.best_end as u32);
                    self.state = State::Idle;
                    return;
                }
            }
        }
        self.state = State::Searching;
        // What the links say is known from heads and tails, but for waits in calendar time.
        if self.link_all().is_err() {
            shared.raise(self.best_end as u32);
            self.state = State::Idle;
        }
    }

    fn link_all(&mut self) -> Result<(), Failure> {
        for i in 0..=self.last {
            self.follow_links(2 * i as u32)?;
            self.follow_links(2 * i as u32 + 1)?;
        }
        Ok(())
    }

    /// Derives all that can be derived, then learns or decides. A failure here is for good.
    fn turn(&mut self, shared: &Shared) -> Result<(), Failure> {
        if self.propagate().is_err() {
            self.failures += 1;
            return self.learn();
        }
        if self.level() == 0 {
            shared.raise(self.low(self.last) as u32);
            self.reduce();
            if self.tighten(shared)? {
                return Ok(());
            }
            if self.failures >= self.restart_at {
                self.next_round();
            }
        }
        if self.failures >= self.restart_at && self.level() > 0 {
            self.back_to(0);
            return Ok(());
        }
        self.decide(shared);
        Ok(())
    }

    /// Takes over what the other half has found meanwhile, if anything; without decisions.
    fn tighten(&mut self, shared: &Shared) -> Result<bool, Failure> {
        if (shared.makespan() as i32) >= self.best_end {
            return Ok(false);
        }
        let (starts, end) = shared.best();
        (self.best, self.best_end) = (starts, end as i32);
        self.best.push(self.best_end);
        self.derive(Fact { b: 2 * self.last as u32 + 1, v: 1 - self.best_end }, Reason::None)?;
        Ok(true)
    }

    /// What is assumed until the next round: see the head of this module.
    fn next_round(&mut self) {
        self.assumed.clear();
        let was_near = std::mem::take(&mut self.was_near);
        if was_near {
            // As much is left open as is just decided within the failures allowed.
            self.open_share *= if self.refuted { 1.1 } else { 0.9 };
            self.open_share = self.open_share.clamp(0.05, 1.0);
        }
        if self.failures >= self.near_until {
            self.restarts += 1;
            let failures = RESTART * luby(self.restarts);
            self.restart_at = self.failures + failures;
            self.near_until = self.restart_at + failures;
            let low = self.low(self.last);
            self.assumed.push(Fact { b: 2 * self.last as u32 + 1, v: -low });
            return;
        }
        (self.was_near, self.refuted) = (true, false);
        self.restart_at = (self.failures + NEAR).min(self.near_until);
        let length = (f64::from(self.best_end) * self.open_share).ceil() as i32;
        let from = self.rng.random_range(-length / 2..=self.best_end - length / 2);
        for &i in &self.busy {
            let start = self.best[i as usize];
            if start + self.problem.durations[i as usize] <= from {
                self.assumed.push(Fact { b: 2 * i + 1, v: -start });
                self.assumed.push(Fact { b: 2 * i, v: start });
            } else if start >= from + length {
                self.assumed.push(Fact { b: 2 * i + 1, v: 1 - start });
                self.assumed.push(Fact { b: 2 * i, v: start - 1 });
            }
        }
    }

    fn decide(&mut self, shared: &Shared) {
        self.levels.push(self.steps.len() as u32);
        self.reason_levels.push(self.reasons.len() as u32);
        self.popped_levels.push(self.popped.len() as u32);
        let assumed = self.assumed.iter().find(|&&fact| !self.holds(fact)).copied();
        if assumed.is_some_and(|fact| self.holds(fact.not())) {
            // What was assumed cannot be, so this round is over.
            self.refuted = true;
            self.restart_at = self.failures;
            return;
        }
        match assumed.or_else(|| self.weightiest()).or_else(|| self.earliest()) {
            Some(fact) => {
                let fine = self.derive(fact, Reason::None);
                debug_assert!(fine.is_ok(), "a decision is open when it is made");
            }
            None => {
                // Everything that keeps something busy has its start; the rest follows at once.
                let starts: Vec<i32> = (0..self.last).map(|i| self.low(i)).collect();
                let ends =
                    starts.iter().zip(&self.problem.durations).map(|(start, duration)| start + duration);
                let end = ends.max().unwrap_or(0);
                shared.offer(&starts, end as u32);
                self.restart_at = self.failures;
                self.back_to(0);
            }
        }
    }

    /// The fact that was most often in the way, as in the best schedule.
    fn weightiest(&mut self) -> Option<Fact> {
        while let Some(item) = self.heap.pop() {
            self.popped.push(item);
            let i = self.base.partition_point(|&base| base <= item) - 1;
            let v = self.lowest[i] + (item - self.base[i]) as i32;
            if self.low(i) < v && v <= self.high(i) {
                let fact = Fact { b: 2 * i as u32, v };
                return Some(if self.best[i] >= v { fact } else { fact.not() });
            }
        }
        None
    }

    /// The activity that can start first starts then.
    fn earliest(&self) -> Option<Fact> {
        let open = self.busy.iter().map(|&i| i as usize).filter(|&i| self.low(i) < self.high(i));
        let first = open.min_by_key(|&i| (self.low(i), self.high(i)))?;
        Some(Fact { b: 2 * first as u32 + 1, v: -self.low(first) })
    }

    fn holds(&self, fact: Fact) -> bool {
        self.bound[fact.b as usize] >= fact.v
    }

    /// Raises a bound for a reason.
    fn derive(&mut self, fact: Fact, reason: Reason) -> Result<(), Failure> {
        if self.holds(fact) {
            return Ok(());
        }
        if self.holds(fact.not()) {
            self.conflict.clear();
            let mut facts = std::mem::take(&mut self.conflict);
            self.explain(fact, reason, &mut facts);
            facts.push(fact.not());
            self.conflict = facts;
            return Err(Failure);
        }
        let b = fact.b as usize;
        self.steps.push(Step {
            fact,
            old: self.bound[b],
            before: self.latest[b],
            level: self.level(),
            reason,
        });
        self.needed.push(UNSEEN);
        self.latest[b] = (self.steps.len() - 1) as u32;
        self.bound[b] = fact.v;
        Ok(())
    }

    /// The facts from which a fact was derived: as weak as they may be.
    fn explain(&self, fact: Fact, reason: Reason, facts: &mut Vec<Fact>) {
        match reason {
            Reason::None => {}
            Reason::Link(at) => {
                let link = &self.problem.links[at as usize];
                let duration = self.problem.durations[link.from as usize];
                facts.push(if fact.b & 1 == 0 {
                    let end = self.problem.last_end(at, fact.v - 1) + 1;
                    Fact { b: 2 * link.from, v: end - duration }
                } else {
                    let start = self.problem.ready(at, 1 - fact.v + duration) - 1;
                    Fact { b: 2 * link.to + 1, v: -start }
                });
            }
            Reason::End(i) => {
                let duration = self.problem.durations[i as usize];
                facts.push(if fact.b & 1 == 0 {
                    Fact { b: 2 * i, v: fact.v - duration }
                } else {
                    Fact { b: 2 * self.last as u32 + 1, v: fact.v - duration }
                });
            }
            Reason::Clause(at) => {
                facts.extend(self.clauses[at as usize].facts[1..].iter().map(|fact| fact.not()));
            }
            Reason::Facts { from, count } => {
                facts.extend_from_slice(&self.reasons[from as usize..(from + count) as usize]);
            }
        }
    }

    fn propagate(&mut self) -> Result<(), Failure> {
        loop {
            while self.next < self.steps.len() {
                let fact = self.steps[self.next].fact;
                self.next += 1;
                self.follow_links(fact.b)?;
                self.follow_clauses(fact.b)?;
            }
            self.take_over()?;
            let before = self.steps.len();
            self.follow_resources()?;
            if self.steps.len() == before {
                return Ok(());
            }
        }
    }

    /// What the links say of a bound.
    fn follow_links(&mut self, b: u32) -> Result<(), Failure> {
        let (i, problem) = (b as usize / 2, self.problem);
        if i == self.last {
            if b & 1 == 1 {
                let end = self.high(i);
                for from in 0..self.last {
                    if problem.out.of(from).is_empty() {
                        let v = problem.durations[from] - end;
                        self.derive(Fact { b: 2 * from as u32 + 1, v }, Reason::End(from as u32))?;
                    }
                }
            }
            return Ok(());
        }
        if b & 1 == 0 {
            let end = self.low(i) + problem.durations[i];
            let links = problem.out.of(i);
            self.work += links.len() as u64 + 1;
            for &link in links {
                let fact = Fact { b: 2 * problem.links[link as usize].to, v: problem.ready(link, end) };
                self.derive(fact, Reason::Link(link))?;
            }
            if links.is_empty() {
                self.derive(Fact { b: 2 * self.last as u32, v: end }, Reason::End(i as u32))?;
            }
        } else {
            let start = self.high(i);
            let links = problem.into.of(i);
            self.work += links.len() as u64 + 1;
            for &link in links {
                let from = problem.links[link as usize].from;
                let v = problem.durations[from as usize] - problem.last_end(link, start);
                self.derive(Fact { b: 2 * from + 1, v }, Reason::Link(link))?;
            }
        }
        Ok(())
    }

    /// What the clauses say where a bound has risen.
    fn follow_clauses(&mut self, b: u32) -> Result<(), Failure> {
        let now = self.bound[b as usize];
        let mut watches = std::mem::take(&mut self.watches[b as usize]);
        self.work += watches.len() as u64 / 4;
        let (mut read, mut write) = (0, 0);
        let mut result = Ok(());
        'watches: while read < watches.len() {
            let watch = watches[read];
            read += 1;
            if watch.from > now || self.holds(watch.other) {
                watches[write] = watch;
                write += 1;
                continue;
            }
            self.work += 3;
            let facts = &mut self.clauses[watch.clause as usize].facts;
            let fallen = Fact { b: b ^ 1, v: 1 - watch.from };
            if facts[0] == fallen {
                facts.swap(0, 1);
            }
            let first = facts[0];
            if first != watch.other && self.bound[first.b as usize] >= first.v {
                watches[write] = Watch { other: first, ..watch };
                write += 1;
                continue;
            }
            for at in 2..facts.len() {
                let fact = facts[at];
                // Not false: its negation does not hold.
                if -self.bound[(fact.b ^ 1) as usize] >= fact.v {
                    facts.swap(1, at);
                    let watch = Watch { from: 1 - fact.v, clause: watch.clause, other: first };
                    self.watches[(fact.b ^ 1) as usize].push(watch);
                    continue 'watches;
                }
            }
            watches[write] = watch;
            write += 1;
            result = self.derive(first, Reason::Clause(watch.clause));
            if result.is_err() {
                break;
            }
        }
        while read < watches.len() {
            watches[write] = watches[read];
            (read, write) = (read + 1, write + 1);
        }
        watches.truncate(write);
        // A clause may have come to watch the same bound further up meanwhile.
        watches.append(&mut self.watches[b as usize]);
        self.watches[b as usize] = watches;
        result
    }

    /// Brings the sure use up to what the bounds say.
    fn take_over(&mut self) -> Result<(), Failure> {
        while self.profiled < self.steps.len() {
            let Step { fact, old, .. } = self.steps[self.profiled];
            self.profiled += 1;
            self.seen_bound[fact.b as usize] = fact.v;
            let Some((from, to)) = self.gained(fact, old) else { continue };
            let i = fact.b as usize / 2;
            self.work += (to - from) as u64;
            self.profile.take(from, to, self.problem.packed_of(i));
            if let Some(slot) = (from..to).find(|&slot| self.profile.overdrawn(slot)) {
                let resource = (0..self.problem.resources)
                    .find(|&r| self.profile.left(slot, r) < 0)
                    .expect("one is overdrawn");
                let mut facts = std::mem::take(&mut self.conflict);
                facts.clear();
                let too_much = -self.profile.left(slot, resource);
                self.under_way(resource, slot as i32, None, too_much, &mut facts);
                self.conflict = facts;
                return Err(Failure);
            }
        }
        Ok(())
    }

    /// The slots in which an activity has become sure to be under way by a step of one of its bounds.
    fn gained(&self, fact: Fact, old: i32) -> Option<(usize, usize)> {
        let i = fact.b as usize / 2;
        if i == self.last || self.problem.packed_of(i).iter().all(|&demand| demand == 0) {
            return None;
        }
        let duration = self.problem.durations[i];
        let (from, to) = if fact.b & 1 == 0 {
            let high = -self.seen_bound[2 * i + 1];
            (high.max(old + duration), fact.v + duration)
        } else {
            let end = self.seen_bound[2 * i] + duration;
            (-fact.v, end.min(-old))
        };
        (from < to).then_some((from as usize, to as usize))
    }

    /// Facts that put activities under way in a slot, so many that `too_much` or more would be
    /// over what is left of a resource; all but the given one are asked.
    fn under_way(
        &self,
        resource: usize,
        slot: i32,
        but: Option<u32>,
        mut too_much: i32,
        facts: &mut Vec<Fact>,
    ) {
        for &i in &self.users[resource] {
            let duration = self.problem.durations[i as usize];
            let (low, high) = (self.seen_bound[2 * i as usize], -self.seen_bound[2 * i as usize + 1]);
            if Some(i) == but || high > slot || slot >= low + duration {
                continue;
            }
            // What is more than enough is left out.
            let demand = self.problem.demands_of(i as usize)[resource] as i32;
            if demand < too_much {
                too_much -= demand;
                continue;
            }
            facts.push(Fact { b: 2 * i, v: slot - duration + 1 });
            facts.push(Fact { b: 2 * i + 1, v: -slot });
        }
    }

    /// What the sure use says of activities that are not yet fixed.
    fn follow_resources(&mut self) -> Result<(), Failure> {
        let problem = self.problem;
        for at in 0..self.busy.len() {
            let i = self.busy[at] as usize;
            let (mut low, mut high) = (self.low(i), self.high(i));
            if low >= high {
                continue;
            }
            let (duration, demand) = (problem.durations[i], problem.packed_of(i));
            // Earlier starts: where a slot before the sure part is too full, the start comes after it.
            let mut known = low;
            loop {
                let end = (low + duration).min(high);
                let Some(full) = self.profile.last_full(known as usize, end as usize, demand) else { break };
                let slot = full as i32;
                self.work += (end - slot) as u64;
                let reason = self.too_full(i, slot, Fact { b: 2 * i as u32, v: slot - duration + 1 });
                self.derive(Fact { b: 2 * i as u32, v: slot + 1 }, reason)?;
                (known, low) = (end, slot + 1);
                if low >= high {
                    break;
                }
            }
            if low >= high {
                continue;
            }
            // Later starts, the same way round from behind.
            let mut known = high + duration;
            loop {
                let from = high.max(low + duration);
                let Some(full) = self.profile.first_full(from as usize, known as usize, demand) else {
                    break;
                };
                let slot = full as i32;
                self.work += (slot - from) as u64;
                let reason = self.too_full(i, slot, Fact { b: 2 * i as u32 + 1, v: -slot });
                self.derive(Fact { b: 2 * i as u32 + 1, v: duration - slot }, reason)?;
                (known, high) = (from, slot - duration);
                if low >= high {
                    break;
                }
            }
            self.work += duration as u64 / 2 + 2;
        }
        Ok(())
    }

    /// Why an activity cannot be under way in a slot, with the fact that it would be.
    fn too_full(&mut self, i: usize, slot: i32, whole: Fact) -> Reason {
        let demands = self.problem.demands_of(i);
        let left = |r: usize| self.profile.left(slot as usize, r) - demands[r] as i32;
        let resource = (0..self.problem.resources).find(|&r| left(r) < 0).expect("some resource is too full");
        let too_much = -left(resource);
        let from = self.reasons.len() as u32;
        let mut facts = std::mem::take(&mut self.reasons);
        facts.push(whole);
        self.under_way(resource, slot, Some(i as u32), too_much, &mut facts);
        self.reasons = facts;
        self.work += self.users[resource].len() as u64;
        Reason::Facts { from, count: self.reasons.len() as u32 - from }
    }

    /// The step that made a fact true, if it was not so from the beginning.
    fn made_by(&self, fact: Fact) -> Option<u32> {
        let mut at = self.latest[fact.b as usize];
        debug_assert!(self.holds(fact));
        while at != NONE {
            let step = &self.steps[at as usize];
            if step.old < fact.v {
                return (step.level > 0).then_some(at);
            }
            at = step.before;
        }
        None
    }

    /// Learns from the contradiction at hand, and goes back as far as it says.
    fn learn(&mut self) -> Result<(), Failure> {
        let conflict = std::mem::take(&mut self.conflict);
        // A contradiction may show only after the decisions that it rests on.
        let level =
            conflict.iter().filter_map(|&fact| self.made_by(fact)).map(|at| self.steps[at as usize].level);
        let level = level.max().unwrap_or(0);
        if level == 0 {
            return Err(Failure);
        }
        self.back_to(level);
        self.learned.clear();
        let mut open = 0;
        let mut at = self.steps.len();
        let mut facts = conflict;
        let unique = loop {
            self.work += 4 * facts.len() as u64 + 2;
            for &fact in &facts {
                let Some(made) = self.made_by(fact) else { continue };
                let needed = &mut self.needed[made as usize];
                if *needed == UNSEEN {
                    if self.steps[made as usize].level == level {
                        open += 1;
                    } else {
                        self.learned.push(Fact { b: made, v: 0 });
                    }
                }
                *needed = (*needed).max(fact.v);
                self.bump(fact);
            }
            let (step, needed) = loop {
                at -= 1;
                if self.needed[at] != UNSEEN && self.steps[at].level == level {
                    break (&self.steps[at], self.needed[at]);
                }
            };
            let fact = Fact { b: step.fact.b, v: needed };
            let reason = step.reason;
            self.needed[at] = UNSEEN;
            open -= 1;
            if open == 0 {
                break fact;
            }
            if let Reason::Clause(clause) = reason {
                self.clauses[clause as usize].used += self.clause_weight;
            }
            facts.clear();
            self.explain(fact, reason, &mut facts);
        };
        self.conflict = facts;
        // So far `learned` holds steps: those from which others follow are left out.
        let steps = std::mem::take(&mut self.learned);
        let mut clause = vec![unique.not()];
        let mut levels: Vec<u32> = vec![];
        let mut back = (0, 0);
        for it in &steps {
            let at = it.b as usize;
            if self.follows(at) {
                continue;
            }
            let level = self.steps[at].level;
            levels.push(level);
            if level > back.0 {
                back = (level, clause.len());
            }
            clause.push(Fact { b: self.steps[at].fact.b, v: self.needed[at] }.not());
        }
        for it in &steps {
            self.needed[it.b as usize] = UNSEEN;
        }
        self.learned = steps;
        levels.sort_unstable();
        levels.dedup();
        self.step_weight *= 1.0 / 0.95;
        self.clause_weight *= 1.0 / 0.999;
        if self.step_weight > 1e20 {
            self.heap.scale(1e-20);
            self.step_weight *= 1e-20;
        }
        if self.clause_weight > 1e20 {
            for clause in &mut self.clauses {
                clause.used *= 1e-20;
            }
            self.clause_weight *= 1e-20;
        }
        self.back_to(back.0);
        if clause.len() == 1 {
            return self.derive(clause[0], Reason::None);
        }
        clause.swap(1, back.1);
        let first = clause[0];
        let number = self.clauses.len() as u32;
        self.watch(number, clause[0], clause[1]);
        self.clauses.push(Clause { facts: clause, spans: levels.len() as u32, used: self.clause_weight });
        self.derive(first, Reason::Clause(number))
    }

    /// Whether a step's needed fact follows from others of the clause being learned.
    fn follows(&mut self, at: usize) -> bool {
        let step = &self.steps[at];
        if matches!(step.reason, Reason::None) {
            return false;
        }
        let mut facts = std::mem::take(&mut self.scratch);
        facts.clear();
        self.explain(Fact { b: step.fact.b, v: self.needed[at] }, step.reason, &mut facts);
        self.work += 2 * facts.len() as u64;
        let follows = facts
            .iter()
            .all(|&fact| self.made_by(fact).is_none_or(|made| self.needed[made as usize] >= fact.v));
        self.scratch = facts;
        follows
    }

    fn watch(&mut self, number: u32, one: Fact, two: Fact) {
        self.watches[(one.b ^ 1) as usize].push(Watch { from: 1 - one.v, clause: number, other: two });
        self.watches[(two.b ^ 1) as usize].push(Watch { from: 1 - two.v, clause: number, other: one });
    }

    fn bump(&mut self, fact: Fact) {
        let fact = if fact.b & 1 == 0 { fact } else { fact.not() };
        let i = fact.b as usize / 2;
        let offset = fact.v - self.lowest[i];
        let end = self.base.get(i + 1).copied().unwrap_or(self.heap.weights.len() as u32);
        // Facts outside the first bounds are true or false for good.
        if offset > 0 && self.base[i] + (offset as u32) < end {
            self.heap.add(self.base[i] + offset as u32, self.step_weight);
        }
    }

    /// Takes back all decisions beyond a level.
    fn back_to(&mut self, level: u32) {
        if self.level() <= level {
            return;
        }
        let keep = self.levels[level as usize] as usize;
        while self.steps.len() > keep {
            let step = self.steps.pop().expect("more than are kept");
            self.needed.pop();
            let b = step.fact.b as usize;
            if self.profiled > self.steps.len() {
                self.profiled = self.steps.len();
                if let Some((from, to)) = self.gained(step.fact, step.old) {
                    self.profile.give(from, to, self.problem.packed_of(b / 2));
                }
                self.seen_bound[b] = step.old;
            }
            self.bound[b] = step.old;
            self.latest[b] = step.before;
        }
        self.next = self.next.min(keep);
        self.reasons.truncate(self.reason_levels[level as usize] as usize);
        let popped = self.popped_levels[level as usize] as usize;
        for item in self.popped.drain(popped..) {
            self.heap.insert(item);
        }
        self.levels.truncate(level as usize);
        self.reason_levels.truncate(level as usize);
        self.popped_levels.truncate(level as usize);
    }

    /// Throws away the worse half of the clauses when there are many; without decisions.
    fn reduce(&mut self) {
        if self.clauses.len() < self.limit {
            return;
        }
        self.limit += FIRST_LIMIT / 8;
        let mut clauses = std::mem::take(&mut self.clauses);
        // What is true for good needs no clause.
        clauses.retain(|clause| !clause.facts.iter().any(|&fact| self.holds(fact)));
        let worth = |clause: &Clause| (clause.spans <= 2, clause.used);
        clauses.sort_by(|a, b| worth(b).partial_cmp(&worth(a)).expect("weights are numbers"));
        let half = clauses.len() / 2;
        let good = clauses.iter().take_while(|clause| clause.spans <= 2).count();
        clauses.truncate(half.max(good.min(self.limit)));
        for watches in &mut self.watches {
            watches.clear();
        }
        for (at, clause) in clauses.iter_mut().enumerate() {
            // Everything is derived that can be: what is false for good goes, and two are left.
            clause.facts.retain(|fact| -self.bound[(fact.b ^ 1) as usize] >= fact.v);
            let (one, two) = (clause.facts[0], clause.facts[1]);
            self.watches[(one.b ^ 1) as usize].push(Watch { from: 1 - one.v, clause: at as u32, other: two });
            self.watches[(two.b ^ 1) as usize].push(Watch { from: 1 - two.v, clause: at as u32, other: one });
        }
        self.clauses = clauses;
    }
}

/// The pattern of restarts, from 1: 1 1 2 1 1 2 4 1 1 2 1 1 2 4 8 ....
fn luby(mut at: u64) -> u64 {
    loop {
        let power = (at + 1).next_power_of_two();
        if power == at + 1 {
            return power / 2;
        }
        at -= power / 2 - 1;
    }
}

#[cfg(test)]
mod tests {
    use super::super::generate::{Generator, first};
    use super::super::{Activity, Link, Wait, bound};
    use super::*;

    /// The soonest end over all orders that keep the links.
    fn by_every_order(problem: &Problem) -> u32 {
        fn go_on(generator: &mut Generator<'_>, problem: &Problem, order: &mut Vec<u32>, best: &mut i32) {
            if order.len() == problem.n {
                *best = (*best).min(generator.forwards(order));
                return;
            }
            for i in 0..problem.n as u32 {
                let mut before =
                    problem.into.of(i as usize).iter().map(|&link| problem.links[link as usize].from);
                if !order.contains(&i) && before.all(|from| order.contains(&from)) {
                    order.push(i);
                    go_on(generator, problem, order, best);
                    order.pop();
                }
            }
        }
        let mut best = i32::MAX;
        go_on(&mut Generator::new(problem), problem, &mut vec![], &mut best);
        best as u32
    }

    fn drawn(seed: u64) -> Problem {
        let mut rng = ChaCha8Rng::seed_from_u64(seed);
        let n = rng.random_range(2..8_u32);
        let activities: Vec<Activity> = (0..n)
            .map(|_| Activity {
                duration: rng.random_range(0..6),
                demands: (0..2).map(|_| rng.random_range(0..5)).collect(),
            })
            .collect();
        let links: Vec<Link> = (0..rng.random_range(0..n))
            .map(|_| {
                let to = rng.random_range(1..n);
                Link { from: rng.random_range(0..to), to, wait: Wait::Slots(rng.random_range(0..3)) }
            })
            .collect();
        Problem::new(&[4, 5], &activities, &links, None).unwrap()
    }

    /// Without the other half: from a first schedule to the proof.
    #[test]
    fn alone_it_finds_and_proves_what_every_order_gives() {
        let mut left_to_prove = 0;
        for seed in 0..300 {
            let problem = drawn(seed);
            let (starts, end) = first(&problem, &[]);
            let shared = Shared::new(starts, end, bound::at_once(&problem));
            left_to_prove += u32::from(!shared.closed());
            let mut prover = Prover::new(&problem, &Options::default());
            while !prover.idle() && !shared.closed() {
                prover.advance(&shared, 10_000);
            }
            let optimum = by_every_order(&problem);
            assert_eq!((shared.makespan(), shared.bound()), (optimum, optimum), "seed {seed}");
        }
        assert!(left_to_prove > 30, "only {left_to_prove} of the drawn problems needed it");
    }

    /// Taking back every decision leaves the sure use as it was at first.
    #[test]
    fn going_back_restores_everything() {
        let problem = drawn(17);
        let (starts, end) = first(&problem, &[]);
        // A later end, so that there is room for decisions.
        let shared = Shared::new(starts, end + 6, 0);
        let mut prover = Prover::new(&problem, &Options::default());
        prover.start(&shared);
        assert!(prover.propagate().is_ok());
        let left = |it: &Prover<'_>| -> Vec<i32> {
            (0..end as usize + 6).flat_map(|slot| [0, 1].map(|r| it.profile.left(slot, r))).collect()
        };
        let before = (prover.bound.clone(), prover.latest.clone(), prover.steps.len(), left(&prover));
        for _ in 0..3 {
            prover.decide(&shared);
            if prover.propagate().is_err() {
                break;
            }
        }
        assert!(prover.level() > 0 && prover.steps.len() > before.2);
        prover.back_to(0);
        assert!(prover.propagate().is_ok());
        let after = (prover.bound.clone(), prover.latest.clone(), prover.steps.len(), left(&prover));
        assert_eq!(before, after);
    }

    #[test]
    fn the_pattern_of_rounds() {
        let pattern: Vec<u64> = (1..16).map(luby).collect();
        assert_eq!(pattern, [1, 1, 2, 1, 1, 2, 4, 1, 1, 2, 1, 1, 2, 4, 8]);
    }
}
