//! Exact search over precedence-closed sets, layer by layer.
//!
//! A state is the set of jobs done and the last of them; of two ways to the
//! same state only the cheaper is kept, so that no order is lost that could
//! be the best. A state is dropped when what it has cost and what the rest
//! must cost at least together cannot beat the best order known.
//!
//! A layer holds so many states and no more. Where it overflows, the least
//! promising go, and the smallest of their bounds is kept: the true best costs
//! no less than that or than what the search ends with.

use super::relax::Completion;
use super::{Problem, Shared};

/// What looking at one follower of a state counts as work.
const WORK_PER_FOLLOWER: u64 = 25;
/// Followers noted for tracing orders back, over all layers: at 8 bytes each.
const MOST_TRACES: usize = 40_000_000;
const NONE: u32 = u32::MAX;

/// A search over sets of any number of jobs.
pub(super) trait SetSearch: Send {
    /// Goes on for about so much work; says whether it is through, and has then told what it proved.
    fn advance(&mut self, problem: &Problem, shared: &Shared, completion: &Completion, work: u64) -> bool;
}

/// A search with at most `cap` states to a layer, fewer where states are large; `None` where there are too many jobs for it.
pub(super) fn search(problem: &Problem, completion: &Completion, cap: usize) -> Option<Box<dyn SetSearch>> {
    Some(match problem.n {
        0..=64 => Box::new(Sets::<1>::new(problem, completion, cap)),
        65..=128 => Box::new(Sets::<2>::new(problem, completion, cap)),
        129..=256 => Box::new(Sets::<4>::new(problem, completion, cap)),
        257..=512 => Box::new(Sets::<8>::new(problem, completion, cap)),
        513..=1024 => Box::new(Sets::<16>::new(problem, completion, cap)),
        _ => return None,
    })
}

#[derive(Clone, Copy)]
struct State<const W: usize> {
    set: [u64; W],
    last: u16,
    /// State of the layer before from which it is reached.
    from: u32,
    /// Cost so far, less the potentials of the jobs done; scaled.
    cost: i64,
    /// With the least that the rest can cost.
    bound: i64,
}

struct Sets<const W: usize> {
    cap: usize,
    before: Vec<[u64; W]>,
    /// How many jobs the states of `now` have done.
    depth: usize,
    now: Vec<State<W>>,
    at: usize,
    next: Vec<State<W>>,
    slots: Vec<u32>,
    /// For each layer before `now`: where each state came from, and its last job.
    traces: Vec<Vec<(u32, u16)>>,
    traced: usize,
    /// The least bound of all that was dropped for want of room.
    least_dropped: i64,
}

impl<const W: usize> Sets<W> {
    fn new(problem: &Problem, completion: &Completion, cap: usize) -> Self {
        let n = problem.n;
        let widen = |row: &[u64]| {
            let mut wide = [0; W];
            wide[..row.len()].copy_from_slice(row);
            wide
        };
        let before: Vec<[u64; W]> = (0..n).map(|job| widen(problem.before.row(job))).collect();
        let mut sets = Self {
            cap: (cap / W).max(1),
            before,
            depth: 1,
            now: vec![],
            at: 0,
            next: vec![],
            slots: vec![NONE; 1024],
            traces: vec![],
            traced: 0,
            least_dropped: i64::MAX,
        };
        for job in (0..n).filter(|&job| problem.before.count(job) == 0) {
            let mut set = [0; W];
            set[job / 64] |= 1 << (job % 64);
            let cost = -completion.potential(job);
            if let Some(rest) = completion.rest(0, job, &set) {
                let bound = cost + rest;
                sets.now.push(State { set, last: job as u16, from: NONE, cost, bound });
            }
        }
        sets
    }

    fn slot(&self, set: &[u64; W], last: u16) -> usize {
        let mut hash = u64::from(last).wrapping_mul(0x9e37_79b9_7f4a_7c15);
        for word in set {
            hash = (hash ^ word).wrapping_mul(0xff51_afd7_ed55_8ccd);
            hash ^= hash >> 32;
        }
        let mask = self.slots.len() - 1;
        let mut slot = hash as usize & mask;
        loop {
            match self.slots[slot] {
                NONE => return slot,
                at => {
                    let state = &self.next[at as usize];
                    if state.last == last && state.set == *set {
                        return slot;
                    }
                }
            }
            slot = (slot + 1) & mask;
        }
    }

    fn keep(&mut self, state: State<W>) {
        let slot = self.slot(&state.set, state.last);
        match self.slots[slot] {
            NONE => {
                self.slots[slot] = self.next.len() as u32;
                self.next.push(state);
                if self.next.len() * 2 > self.slots.len() {
                    self.rebuild_slots(self.slots.len() * 2);
                }
                if self.next.len() >= 2 * self.cap {
                    self.trim();
                }
            }
            at => {
                let known = &mut self.next[at as usize];
                if state.cost < known.cost {
                    *known = state;
                }
            }
        }
    }

    fn rebuild_slots(&mut self, len: usize) {
        self.slots.clear();
        self.slots.resize(len, NONE);
        for at in 0..self.next.len() {
            let state = self.next[at];
            let slot = self.slot(&state.set, state.last);
            self.slots[slot] = at as u32;
        }
    }

    /// Drops the least promising states beyond the cap.
    fn trim(&mut self) {
        if self.next.len() <= self.cap {
            return;
        }
        let cap = self.cap;
        let (_, least, _) =
            self.next.select_nth_unstable_by_key(cap, |state| (state.bound, state.set, state.last));
        self.least_dropped = self.least_dropped.min(least.bound);
        self.next.truncate(cap);
        self.rebuild_slots(self.slots.len());
    }

    fn expand(
        &mut self,
        problem: &Problem,
        completion: &Completion,
        ceiling: i64,
        state: &State<W>,
        index: u32,
    ) -> u64 {
        let n = problem.n;
        let last = usize::from(state.last);
        let mut looked = 1;
        for word in 0..n.div_ceil(64) {
            let mut bits = completion.followers(self.depth - 1, last, word) & !state.set[word];
            while bits != 0 {
                let job = word * 64 + bits.trailing_zeros() as usize;
                bits &= bits - 1;
                looked += 1;
                if self.before[job].iter().zip(&state.set).any(|(wants, has)| wants & !has != 0) {
                    continue;
                }
                let cost = state.cost + completion.arc(last, job);
                if cost + completion.least_rest(self.depth, job) > ceiling {
                    continue;
                }
                let mut set = state.set;
                set[word] |= 1 << (job % 64);
                let Some(rest) = completion.rest(self.depth, job, &set) else { continue };
                if cost + rest > ceiling {
                    continue;
                }
                self.keep(State { set, last: job as u16, from: index, cost, bound: cost + rest });
            }
        }
        looked
    }

    /// The order that ends in a state of the last layer.
    fn order_of(&self, end: &State<W>) -> Vec<u32> {
        let mut order = vec![u32::from(end.last)];
        let mut from = end.from;
        for layer in self.traces.iter().rev() {
            let (before, last) = layer[from as usize];
            order.push(u32::from(last));
            from = before;
        }
        order.reverse();
        order
    }
}

impl<const W: usize> SetSearch for Sets<W> {
    fn advance(&mut self, problem: &Problem, shared: &Shared, completion: &Completion, work: u64) -> bool {
        let mut spent = 0;
        loop {
            // The ceiling comes down whenever the other half finds something better.
            let ceiling = completion.ceiling(shared.cost());
            if self.depth == problem.n {
                let best = self.now.iter().min_by_key(|state| state.cost);
                if let Some(best) = best.filter(|best| best.cost <= ceiling) {
                    let order = self.order_of(best);
                    if let Some(cost) = problem.cost_of(&order) {
                        shared.offer(&order, cost);
                    }
                }
            }
            if self.depth == problem.n || self.now.is_empty() {
                let complete = self.least_dropped > completion.ceiling(shared.cost());
                shared.raise(if complete {
                    shared.cost()
                } else {
                    completion.bound_of(self.least_dropped).min(shared.cost())
                });
                return true;
            }
            while self.at < self.now.len() {
                let state = self.now[self.at];
                let index = self.at as u32;
                self.at += 1;
                if state.bound <= ceiling {
                    spent += WORK_PER_FOLLOWER * self.expand(problem, completion, ceiling, &state, index);
                    if spent >= work {
                        return false;
                    }
                }
            }
            self.trim();
            self.traced += self.now.len();
            if self.traced > MOST_TRACES {
                // Memory is short: what is left now counts as dropped.
                for state in &self.next {
                    self.least_dropped = self.least_dropped.min(state.bound);
                }
                self.next.clear();
            }
            self.traces.push(self.now.iter().map(|state| (state.from, state.last)).collect());
            std::mem::swap(&mut self.now, &mut self.next);
            self.next.clear();
            self.rebuild_slots(self.slots.len());
            self.at = 0;
            self.depth += 1;
        }
    }
}
