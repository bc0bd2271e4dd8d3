//! The cheapest sequence of visits to classes, whatever the ways inside them.
//!
//! **Why doing all that is free is never dearer.** Let the cost of going from
//! class to class obey the triangle inequality. Take any order, and a job of
//! the current class that is free now but done later. Doing it now costs
//! nothing more (the class is set up); leaving it out later joins its two
//! neighbours directly, which is never dearer. So some cheapest sequence does
//! everything that is free on every visit, and a state is what is done and
//! which class is set up.
//!
//! **Chunks.** On such a sequence the jobs of one class that wait for the same
//! jobs of other classes become free together and are done on the same visit:
//! a chunk. What comes before what among chunks has no circle: a job that
//! comes before one of a chunk from outside its class comes before all of it.
//!
//! The search is best first over (chunks done, class set up). What it has at
//! the top when it is broken off is below every sequence, so it bounds too.

use std::cmp::Ordering;
use std::collections::{BinaryHeap, HashMap};

use super::model::Model;
use super::precedence::Precedence;
use super::{Phase, Watch};

/// Work the search may do before it is broken off: links looked at in estimating.
pub(super) const MOST_WORK: u64 = 30_000_000;

/// States it may keep, whatever the work.
const MOST_STATES: usize = 400_000;

/// Work between two questions whether to stop.
const WORK_A_CALL: u64 = 200_000;

/// Chunks beyond this number do not go into the state; the sequence is then a greedy one.
const MOST_CHUNKS: usize = 256;

type Set = [u64; MOST_CHUNKS / 64];

/// Jobs of one class that become free together.
pub(super) struct Chunks {
    /// Class of each chunk.
    pub class: Vec<u16>,
    /// Jobs of each chunk.
    pub members: Vec<Vec<u32>>,
    /// Chunks before each chunk.
    before: Vec<Vec<u32>>,
    /// Chunks of each class.
    of_class: Vec<Vec<u32>>,
    /// How many visits to its class a chunk still asks for when it is the next of
    /// them: one, and one more for each later chunk that has another class between.
    visits: Vec<u32>,
}

impl Chunks {
    pub fn of(model: &Model, precedence: &Precedence) -> Self {
        let words = precedence.words();
        let mut own = vec![vec![0_u64; words]; model.classes];
        for job in 0..model.n {
            own[usize::from(model.class[job])][job / 64] |= 1 << (job % 64);
        }
        let mut number = HashMap::new();
        let mut it = Self {
            class: vec![],
            members: vec![],
            before: vec![],
            of_class: vec![vec![]; model.classes],
            visits: vec![],
        };
        let mut chunk = Vec::with_capacity(model.n);
        for job in 0..model.start() {
            let class = model.class[job as usize];
            let foreign: Vec<u64> =
                precedence.ancestors(job).iter().zip(&own[usize::from(class)]).map(|(a, o)| a & !o).collect();
            let next = it.members.len();
            let at: usize = *number.entry((class, foreign)).or_insert(next);
            if at == next {
                it.class.push(class);
                it.members.push(Vec::new());
                it.of_class[usize::from(class)].push(tag(at));
            }
            it.members[at].push(job);
            chunk.push(tag(at));
        }
        for (at, members) in it.members.iter().enumerate() {
            let firsts = members.iter().flat_map(|&job| &precedence.given[job as usize]);
            let mut before: Vec<u32> =
                firsts.map(|&first| chunk[first as usize]).filter(|&first| first != tag(at)).collect();
            before.sort_unstable();
            before.dedup();
            it.before.push(before);
        }
        it.count_visits();
        it
    }

    /// Longest chains of chunks of one class with another class between each two.
    fn count_visits(&mut self) {
        let n = self.members.len();
        let mut after = vec![Vec::new(); n];
        let mut waiting: Vec<usize> = self.before.iter().map(Vec::len).collect();
        for (then, firsts) in (0..).zip(&self.before) {
            firsts.iter().for_each(|&first| after[first as usize].push(then));
        }
        let mut sorted: Vec<usize> = (0..n).filter(|&chunk| waiting[chunk] == 0).collect();
        let mut next = 0;
        while let Some(&chunk) = sorted.get(next) {
            next += 1;
            for &then in &after[chunk] {
                waiting[then as usize] -= 1;
                if waiting[then as usize] == 0 {
                    sorted.push(then as usize);
                }
            }
        }
        self.visits = vec![1; n];
        if n > MOST_CHUNKS {
            return;
        }
        // For every chunk and class: visits of that class that come strictly behind it,
        // with another class between or with a start in another class.
        let classes = self.of_class.len();
        let mut behind = vec![0_u32; n * classes];
        for &chunk in sorted.iter().rev() {
            let own = usize::from(self.class[chunk]);
            for &then in &after[chunk] {
                let then = then as usize;
                let its = usize::from(self.class[then]);
                for class in 0..classes {
                    let more = behind[then * classes + class];
                    let slot = &mut behind[chunk * classes + class];
                    *slot = (*slot).max(more);
                }
                if its != own {
                    let slot = &mut behind[chunk * classes + its];
                    *slot = (*slot).max(self.visits[then]);
                }
            }
            self.visits[chunk] = 1 + behind[chunk * classes + own];
        }
    }

    fn is_free(&self, chunk: u32, done: &[bool]) -> bool {
        !done[chunk as usize] && self.before[chunk as usize].iter().all(|&first| done[first as usize])
    }

    /// Chunks done on one visit to `class`, in an order that keeps precedence.
    pub fn visit(&self, class: u16, done: &mut [bool]) -> Vec<u32> {
        let mut now = Vec::new();
        loop {
            let of_class = &self.of_class[usize::from(class)];
            let free: Vec<u32> =
                of_class.iter().copied().filter(|&chunk| self.is_free(chunk, done)).collect();
            if free.is_empty() {
                return now;
            }
            free.iter().for_each(|&chunk| done[chunk as usize] = true);
            now.extend(free);
        }
    }

    /// From where things stand always to the nearest class with something free.
    fn greedy(&self, model: &Model, costs: &[f64]) -> Vec<u16> {
        let width = model.classes + 1;
        let mut done = vec![false; self.members.len()];
        let mut left = done.len();
        // Without a start its row of costs is nothing.
        let mut here = model.classes;
        let mut sequence = Vec::new();
        while left > 0 {
            let free = |class: &usize| self.of_class[*class].iter().any(|&chunk| self.is_free(chunk, &done));
            let cost = |class: &usize| costs[here * width + class];
            let next = (0..model.classes)
                .filter(free)
                .min_by(|a, b| cost(a).total_cmp(&cost(b)))
                .expect("without circles something is always free");
            left -= self.visit(tag16(next), &mut done).len();
            sequence.push(tag16(next));
            here = next;
        }
        sequence
    }
}

fn tag(number: usize) -> u32 {
    u32::try_from(number).expect("jobs are numbered by u32")
}

fn tag16(number: usize) -> u16 {
    u16::try_from(number).expect("a run has fewer classes than 65,536")
}

/// A sequence of visits.
pub(super) struct Sequence {
    /// Classes in turn; everything that is free is done on each visit.
    pub sequence: Vec<u16>,
    /// No sequence costs less, s.
    pub bound: f64,
    /// Whether the sequence costs just that.
    pub exact: bool,
}

/// The cheapest sequence of visits.
///
/// `costs` has a row and a column for each class and for the start. Between
/// classes it must obey the triangle inequality; a step from the start may be
/// anything, below nothing too.
pub(super) fn cheapest(
    model: &Model,
    chunks: &Chunks,
    costs: &[f64],
    most_work: u64,
    watch: &mut Watch<'_>,
) -> Sequence {
    let mut search = Search::new(model, chunks, costs);
    if chunks.members.len() > MOST_CHUNKS {
        return Sequence { sequence: chunks.greedy(model, costs), bound: search.below_all(), exact: false };
    }
    search.run(most_work, watch)
}

struct Node {
    done: Set,
    class: u16,
    cost: f64,
    parent: u32,
}

struct Open {
    estimate: f64,
    cost: f64,
    node: u32,
}

impl Ord for Open {
    /// The least estimate is the greatest; among equals the one that has come furthest.
    fn cmp(&self, other: &Self) -> Ordering {
        other
            .estimate
            .total_cmp(&self.estimate)
            .then(self.cost.total_cmp(&other.cost))
            .then(other.node.cmp(&self.node))
    }
}

impl PartialOrd for Open {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl PartialEq for Open {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl Eq for Open {}

struct Search<'a> {
    model: &'a Model,
    chunks: &'a Chunks,
    costs: &'a [f64],
    width: usize,
    before: Vec<Set>,
    /// The cheapest way into each class from another.
    least_in: Vec<f64>,
    // Kept between calls of `rest`.
    left: Vec<(usize, u32)>,
    link: Vec<f64>,
    work: u64,
}

impl<'a> Search<'a> {
    fn new(model: &'a Model, chunks: &'a Chunks, costs: &'a [f64]) -> Self {
        let width = model.classes + 1;
        let set = |list: &Vec<u32>| {
            let mut bits = Set::default();
            list.iter().for_each(|&chunk| put(&mut bits, chunk));
            bits
        };
        let small = chunks.members.len() <= MOST_CHUNKS;
        let before = if small { chunks.before.iter().map(set).collect() } else { Vec::new() };
        let least_in = (0..model.classes)
            .map(|to| {
                let others = (0..model.classes).filter(|&from| from != to);
                others.map(|from| costs[from * width + to]).fold(f64::INFINITY, f64::min)
            })
            .collect();
        Self { model, chunks, costs, width, before, least_in, left: Vec::new(), link: Vec::new(), work: 0 }
    }

    fn run(&mut self, most_work: u64, watch: &mut Watch<'_>) -> Sequence {
        let mut nodes: Vec<Node> = Vec::new();
        let mut best: HashMap<(Set, u16), f64> = HashMap::new();
        let mut open = BinaryHeap::new();
        let start = tag16(self.model.classes);
        for class in 0..start {
            if self.chunks.of_class[usize::from(class)].iter().all(|&c| !self.is_free(c, &Set::default())) {
                continue;
            }
            let cost = self.cost(start, class);
            let done = self.saturate(&Set::default(), class);
            best.insert((done, class), cost);
            open.push(Open { estimate: cost + self.rest(&done, class), cost, node: tag(nodes.len()) });
            nodes.push(Node { done, class, cost, parent: u32::MAX });
        }
        let mut ask_at = WORK_A_CALL;
        while let Some(top) = open.pop() {
            let (done, class, cost) = {
                let node = &nodes[top.node as usize];
                (node.done, node.class, node.cost)
            };
            if best[&(done, class)] < cost {
                continue;
            }
            if count(&done) == self.chunks.members.len() {
                return Sequence { sequence: trail(&nodes, top.node), bound: cost, exact: true };
            }
            let ask = self.work >= ask_at;
            if ask {
                ask_at = self.work + WORK_A_CALL;
            }
            let spent = self.work >= most_work || nodes.len() >= MOST_STATES;
            if spent || (ask && watch.asks_to_stop(Phase::Visits, WORK_A_CALL)) {
                // Best first: what is on top estimates no more than any way to the end costs.
                let sequence = self.finish(&nodes, top.node);
                return Sequence { sequence, bound: top.estimate, exact: false };
            }
            for next in 0..start {
                if next == class {
                    continue;
                }
                let then = self.saturate(&done, next);
                if then == done {
                    continue;
                }
                let cost = cost + self.cost(class, next);
                let known = best.entry((then, next)).or_insert(f64::INFINITY);
                if cost >= *known {
                    continue;
                }
                *known = cost;
                // The estimate of a child is made no less than its parent's, so that the top is a bound.
                let estimate = (cost + self.rest(&then, next)).max(top.estimate);
                open.push(Open { estimate, cost, node: tag(nodes.len()) });
                nodes.push(Node { done: then, class: next, cost, parent: top.node });
            }
        }
        Sequence { sequence: Vec::new(), bound: 0.0, exact: self.chunks.members.is_empty() }
    }

    fn cost(&self, from: u16, to: u16) -> f64 {
        self.costs[usize::from(from) * self.width + usize::from(to)]
    }

    fn is_free(&self, chunk: u32, done: &Set) -> bool {
        !has(done, chunk) && self.before[chunk as usize].iter().zip(done).all(|(b, d)| b & !d == 0)
    }

    /// What is done after a visit to `class`.
    fn saturate(&self, done: &Set, class: u16) -> Set {
        let mut then = *done;
        loop {
            let mut more = false;
            for &chunk in &self.chunks.of_class[usize::from(class)] {
                if self.is_free(chunk, &then) {
                    put(&mut then, chunk);
                    more = true;
                }
            }
            if !more {
                return then;
            }
        }
    }

    /// What is still to come costs at least this.
    ///
    /// The first entries into the classes that are left form a tree from the
    /// class that is set up, so they cost at least the shortest spanning tree.
    /// Every further visit that a chain of chunks forces costs at least the
    /// cheapest way into its class.
    fn rest(&mut self, done: &Set, here: u16) -> f64 {
        let mut left = std::mem::take(&mut self.left);
        left.clear();
        for (class, its) in self.chunks.of_class.iter().enumerate() {
            let visits =
                its.iter().filter(|&&c| !has(done, c)).map(|&c| self.chunks.visits[c as usize]).max();
            left.extend(visits.map(|visits| (class, visits)));
        }
        self.work += (left.len() * left.len() + self.chunks.members.len()) as u64;
        let mut total = 0.0;
        for &(class, visits) in &left {
            let further = if class == usize::from(here) { visits } else { visits - 1 };
            if further > 0 {
                total += f64::from(further) * self.least_in[class];
            }
        }
        left.retain(|&(class, _)| class != usize::from(here));
        total += self.tree(usize::from(here), &mut left);
        self.left = left;
        total
    }

    /// The shortest tree over a class and those left, each link at its cheaper direction.
    fn tree(&mut self, root: usize, left: &mut Vec<(usize, u32)>) -> f64 {
        let link = |a: usize, b: usize| self.costs[a * self.width + b].min(self.costs[b * self.width + a]);
        self.link.clear();
        self.link.extend(left.iter().map(|&(class, _)| link(root, class)));
        let mut total = 0.0;
        while !left.is_empty() {
            let nearest = (0..left.len()).min_by(|&a, &b| self.link[a].total_cmp(&self.link[b]));
            let nearest = nearest.expect("something is left");
            total += self.link.swap_remove(nearest);
            let (class, _) = left.swap_remove(nearest);
            for (slot, &(other, _)) in self.link.iter_mut().zip(left.iter()) {
                *slot = slot.min(link(class, other));
            }
        }
        total
    }

    /// A bound for what is too large to search: every class is visited once.
    fn below_all(&mut self) -> f64 {
        let first = (0..self.model.classes).map(|class| self.costs[self.model.classes * self.width + class]);
        let first = first.fold(f64::INFINITY, f64::min);
        let mut others = (1..self.model.classes).map(|class| (class, 1)).collect();
        first + self.tree(0, &mut others)
    }

    /// From a state on always to the nearest class with something free.
    fn finish(&self, nodes: &[Node], node: u32) -> Vec<u16> {
        let mut sequence = trail(nodes, node);
        let mut done = nodes[node as usize].done;
        let mut here = nodes[node as usize].class;
        while count(&done) < self.chunks.members.len() {
            let free = |class: &u16| self.saturate(&done, *class) != done;
            let next = (0..tag16(self.model.classes))
                .filter(free)
                .min_by(|&a, &b| self.cost(here, a).total_cmp(&self.cost(here, b)))
                .expect("without circles something is always free");
            done = self.saturate(&done, next);
            sequence.push(next);
            here = next;
        }
        sequence
    }
}

fn trail(nodes: &[Node], mut node: u32) -> Vec<u16> {
    let mut sequence = Vec::new();
    while node != u32::MAX {
        sequence.push(nodes[node as usize].class);
        node = nodes[node as usize].parent;
    }
    sequence.reverse();
    sequence
}

fn put(set: &mut Set, chunk: u32) {
    set[chunk as usize / 64] |= 1 << (chunk % 64);
}

fn has(set: &Set, chunk: u32) -> bool {
    set[chunk as usize / 64] >> (chunk % 64) & 1 == 1
}

fn count(set: &Set) -> usize {
    set.iter().map(|word| word.count_ones() as usize).sum()
}
