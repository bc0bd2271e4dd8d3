//! A relaxation that is solved quickly: paths with a short memory.
//!
//! A path of n places may come to a job again, but only if it has forgotten
//! it: each job has a small neighbourhood, and standing at a job the path
//! remembers of what it has seen only what lies in that neighbourhood. What it
//! remembers it may not visit again, nor visit what has to come before it. Each
//! job carries a potential, raised where the path keeps away and lowered where
//! it comes too often; the cheapest such path less what the potentials give
//! away is never dearer than the cheapest order (Lagrangian relaxation). The
//! neighbourhoods grow along the circles that the path still makes.
//!
//! Passes run from the back (the least cost of what is left at place k, at job
//! i, with this remembered) and from the front. Together they rule out ways
//! that cannot be part of a better order; and the one from the back tells the
//! search over sets what the rest must cost at least.
//!
//! All numbers are whole: costs are multiplied by a scale, so that no rounding
//! can spoil a bound.

use super::{Bits, Problem};

/// The most jobs in one neighbourhood.
pub(super) const MOST_NEAR: usize = 14;
const HALF: usize = 7;
const HALF_SIZE: usize = 1 << HALF;
/// More than any path costs.
const FAR: i32 = i32::MAX / 2;
/// All costs of a path, and all its potentials, stay within this.
const ROOM: i64 = 1 << 28;
/// Costs are multiplied by no more than this.
const FINEST: i64 = 1024;
/// The most jobs of a problem for which passes are worth their time.
const MOST_JOBS: usize = 250;

/// What the rest of an order must cost at least, and which ways are still open.
pub(super) struct Completion {
    n: usize,
    words: usize,
    scale: i64,
    /// Arc costs, scaled, less the potential of the job gone to.
    arcs: Vec<i32>,
    potentials: Vec<i32>,
    /// Per job (or, with tables, per place and job) the jobs that may come next.
    open: Vec<u64>,
    /// From a pass from the back; without it the rest costs nothing beyond the potentials.
    tables: Option<Tables>,
}

struct Tables {
    near: Vec<Vec<u16>>,
    spans: Vec<(u32, u32)>,
    entries: Vec<Entry>,
}

/// The least cost of a part of a path, with what is remembered at its open end.
#[derive(Clone, Copy)]
struct Entry {
    cost: i32,
    /// One bit for each job of the neighbourhood of the job it stands at.
    seen: u16,
}

impl Completion {
    /// Without any pass: every job is come to by its cheapest way in.
    pub(super) fn plain(problem: &Problem) -> Self {
        let n = problem.n;
        let mut open = Bits::new(n);
        let mut potentials = vec![0_i32; n];
        for (j, potential) in potentials.iter_mut().enumerate() {
            let mut least = i32::MAX;
            for i in (0..n).filter(|&i| problem.may_follow(i, j)) {
                open.set(i, j);
                least = least.min(problem.cost(i, j));
            }
            *potential = if least == i32::MAX { 0 } else { least };
        }
        let mut arcs = vec![0; n * n];
        for i in 0..n {
            for j in (0..n).filter(|&j| open.has(i, j)) {
                arcs[i * n + j] = problem.cost(i, j) - potentials[j];
            }
        }
        Self { n, words: open.words, scale: 1, arcs, potentials, open: open.bits, tables: None }
    }

    pub(super) fn potential(&self, job: usize) -> i64 {
        i64::from(self.potentials[job])
    }

    pub(super) fn arc(&self, i: usize, j: usize) -> i64 {
        i64::from(self.arcs[i * self.n + j])
    }

    /// One word of the jobs that may come after `job`, which stands at `place`.
    pub(super) fn followers(&self, place: usize, job: usize, word: usize) -> u64 {
        let row = if self.tables.is_some() { place * self.n + job } else { job };
        self.open[row * self.words + word]
    }

    fn given(&self) -> i64 {
        self.potentials.iter().map(|&potential| i64::from(potential)).sum()
    }

    /// The most that a scaled path may cost to be better than `cost`.
    pub(super) fn ceiling(&self, cost: i64) -> i64 {
        (cost - 1) * self.scale - self.given()
    }

    /// The cost of an order that a scaled path of this cost stands for, rounded up: costs are whole.
    pub(super) fn bound_of(&self, scaled: i64) -> i64 {
        div_up(scaled.saturating_add(self.given()), self.scale)
    }

    /// The least the rest can cost after `job` at `place`, whatever has been done.
    pub(super) fn least_rest(&self, place: usize, job: usize) -> i64 {
        match &self.tables {
            None => 0,
            Some(tables) => {
                let (start, end) = tables.spans[place * self.n + job];
                if start == end { i64::from(FAR) } else { i64::from(tables.entries[start as usize].cost) }
            }
        }
    }

    /// The least the rest can cost after `job` at `place` with `done` done, or `None` where there
    /// is no rest that would make a better order.
    pub(super) fn rest(&self, place: usize, job: usize, done: &[u64]) -> Option<i64> {
        let Some(tables) = &self.tables else { return Some(0) };
        let mut seen = 0_u16;
        for (bit, &near) in tables.near[job].iter().enumerate() {
            seen |= ((done[usize::from(near) / 64] >> (near % 64) & 1) as u16) << bit;
        }
        let (start, end) = tables.spans[place * self.n + job];
        // Cheapest first, so that the first that fits is the answer.
        tables.entries[start as usize..end as usize]
            .iter()
            .find(|entry| entry.seen & seen == 0)
            .map(|entry| i64::from(entry.cost))
    }
}

fn div_up(value: i64, by: i64) -> i64 {
    value.div_euclid(by) + i64::from(value.rem_euclid(by) != 0)
}

/// Which pass, from which end.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Pass {
    /// From the last place to the first, over all ways still open.
    Back,
    /// From the last place to the first, dropping what cannot meet anything of the pass from the front.
    BackPruned,
    /// From the first place to the last, dropping what cannot meet anything of the pass from the back.
    FrontPruned,
}

/// The relaxation of one problem: potentials, neighbourhoods, open ways, and the last passes.
pub(super) struct Relaxation {
    n: usize,
    words: usize,
    scale: i64,
    costs: Vec<i32>,
    potentials: Vec<i32>,
    largest_potential: i32,
    arcs: Vec<i32>,
    /// Per place and job the jobs that may come next.
    open: Vec<u64>,
    near: Vec<Vec<u16>>,
    /// Per pair (j, i): what of the memory at j forbids standing at i just before.
    forbids_before: Vec<u16>,
    /// Per pair (i, j): what of the memory at i forbids going on to j.
    forbids_after: Vec<u16>,
    /// Per pair (from, to): the memory carried over, in two halves.
    low: Vec<[u16; HALF_SIZE]>,
    high: Vec<[u16; HALF_SIZE]>,
    back: Side,
    front: Side,
    scratch: Vec<i32>,
    touched: Vec<u16>,
    found: Vec<Entry>,
    /// Steps of inner loops done.
    pub(super) work: u64,
}

/// The entries of one pass, for each place and job, cheapest first.
struct Side {
    spans: Vec<(u32, u32)>,
    entries: Vec<Entry>,
}

impl Side {
    fn new(n: usize) -> Self {
        Self { spans: vec![(0, 0); n * n], entries: vec![] }
    }

    fn clear(&mut self) {
        self.spans.fill((0, 0));
        self.entries.clear();
    }

    fn at(&self, row: usize) -> &[Entry] {
        let (start, end) = self.spans[row];
        &self.entries[start as usize..end as usize]
    }

    fn put(&mut self, row: usize, found: &[Entry]) {
        let start = self.entries.len() as u32;
        self.entries.extend_from_slice(found);
        self.spans[row] = (start, self.entries.len() as u32);
    }
}

impl Relaxation {
    /// `None` where there are too many jobs, or costs too large for whole numbers of this size.
    pub(super) fn new(problem: &Problem, best: i64) -> Option<Self> {
        let n = problem.n;
        if !(2..=MOST_JOBS).contains(&n) {
            return None;
        }
        let mut ways = Bits::new(n);
        let mut largest = 1;
        for i in 0..n {
            for j in (0..n).filter(|&j| problem.may_follow(i, j)) {
                let cost = i64::from(problem.cost(i, j));
                // An arc that costs as much as the whole best order is part of no better one.
                if cost < best.max(1) {
                    ways.set(i, j);
                    largest = largest.max(cost);
                }
            }
        }
        let scale = (ROOM / (n as i64 * largest)).min(FINEST);
        if scale < 1 {
            return None;
        }
        let words = ways.words;
        let mut open = vec![0; n * n * words];
        for place in 0..n - 1 {
            for i in (0..n).filter(|&i| fits(problem, place, i)) {
                for j in (0..n).filter(|&j| ways.has(i, j) && fits(problem, place + 1, j)) {
                    open[(place * n + i) * words + j / 64] |= 1 << (j % 64);
                }
            }
        }
        let costs: Vec<i32> = (0..n * n)
            .map(|at| if ways.has(at / n, at % n) { problem.costs[at] * scale as i32 } else { 0 })
            .collect();
        let mut relaxation = Self {
            n,
            words,
            scale,
            arcs: costs.clone(),
            costs,
            potentials: vec![0; n],
            largest_potential: (ROOM / n as i64) as i32,
            open,
            near: first_near(problem, &ways),
            forbids_before: vec![0; n * n],
            forbids_after: vec![0; n * n],
            low: vec![[0; HALF_SIZE]; n * n],
            high: vec![[0; HALF_SIZE]; n * n],
            back: Side::new(n),
            front: Side::new(n),
            scratch: vec![FAR; 1 << MOST_NEAR],
            touched: vec![],
            found: vec![],
            work: 0,
        };
        relaxation.learn_near(problem);
        Some(relaxation)
    }

    pub(super) fn potentials(&self) -> &[i32] {
        &self.potentials
    }

    /// Sets the potentials; each is held within what the numbers have room for.
    pub(super) fn set_potentials(&mut self, potentials: impl IntoIterator<Item = f64>) {
        let most = f64::from(self.largest_potential);
        for (own, new) in self.potentials.iter_mut().zip(potentials) {
            *own = new.clamp(-most, most).round() as i32;
        }
        for i in 0..self.n {
            for j in 0..self.n {
                self.arcs[i * self.n + j] = self.costs[i * self.n + j] - self.potentials[j];
            }
        }
    }

    fn given(&self) -> i64 {
        self.potentials.iter().map(|&potential| i64::from(potential)).sum()
    }

    /// What a path may cost to stand for an order better than `cost`.
    fn ceiling(&self, cost: i64) -> i32 {
        ((cost - 1) * self.scale - self.given()).clamp(-i64::from(FAR), i64::from(FAR)) as i32
    }

    /// Rebuilds what depends on the neighbourhoods.
    fn learn_near(&mut self, problem: &Problem) {
        let n = self.n;
        for from in 0..n {
            for to in 0..n {
                let pair = from * n + to;
                let (mut before, mut after) = (0, 0);
                for (bit, &job) in self.near[from].iter().enumerate() {
                    let job = usize::from(job);
                    if job == to || problem.comes_before(job, to) {
                        before |= 1 << bit;
                    }
                    if job == to || problem.comes_before(to, job) {
                        after |= 1 << bit;
                    }
                }
                self.forbids_before[pair] = before;
                self.forbids_after[pair] = after;
                let place_of = |job: u16| self.near[to].iter().position(|&other| other == job);
                let own = place_of(from as u16).map_or(0, |bit| 1_u16 << bit);
                let mut carried = [0_u16; MOST_NEAR];
                for (bit, &job) in self.near[from].iter().enumerate() {
                    carried[bit] = place_of(job).map_or(0, |bit| 1 << bit);
                }
                let (low, high) = (&mut self.low[pair], &mut self.high[pair]);
                low[0] = own;
                high[0] = 0;
                for memory in 1..HALF_SIZE {
                    let bit = memory.trailing_zeros() as usize;
                    let rest = memory & (memory - 1);
                    low[memory] = low[rest] | carried[bit];
                    high[memory] = high[rest] | carried[HALF + bit];
                }
            }
        }
        self.back.clear();
        self.front.clear();
    }

    /// Makes a pass ready; its layers are then done one by one.
    pub(super) fn begin(&mut self, pass: Pass) {
        match pass {
            Pass::Back | Pass::BackPruned => self.back.clear(),
            Pass::FrontPruned => self.front.clear(),
        }
    }

    /// One layer of a pass, counted from the end it starts from; `cost` is that of the best order.
    pub(super) fn layer(&mut self, pass: Pass, step: usize, problem: &Problem, cost: i64) {
        let ceiling = self.ceiling(cost);
        match pass {
            Pass::Back => self.back_layer(self.n - 1 - step, problem, None),
            Pass::BackPruned => self.back_layer(self.n - 1 - step, problem, Some(ceiling)),
            Pass::FrontPruned => self.front_layer(step, problem, ceiling),
        }
    }

    fn back_layer(&mut self, place: usize, problem: &Problem, ceiling: Option<i32>) {
        let n = self.n;
        for i in (0..n).filter(|&i| fits(problem, place, i)) {
            self.touched.clear();
            if place == n - 1 {
                self.scratch[0] = 0;
                self.touched.push(0);
            }
            for word in 0..self.words {
                let row = (place * n + i) * self.words + word;
                let mut bits = self.open[row];
                while bits != 0 {
                    let bit = bits.trailing_zeros();
                    bits &= bits - 1;
                    let j = word * 64 + bit as usize;
                    let pair = j * n + i;
                    let (arc, forbids) = (self.arcs[i * n + j], self.forbids_before[pair]);
                    let least = pull(
                        self.back.at((place + 1) * n + j),
                        arc,
                        forbids,
                        &self.low[pair],
                        &self.high[pair],
                        &mut self.scratch,
                        &mut self.touched,
                        &mut self.work,
                    );
                    if let Some(ceiling) = ceiling {
                        let other = self.front.at(place * n + i).first().map_or(FAR, |entry| entry.cost);
                        if least.saturating_add(other) > ceiling {
                            self.open[row] &= !(1 << bit);
                        }
                    }
                }
            }
            self.gather();
            if let Some(ceiling) = ceiling {
                let others = self.front.at(place * n + i);
                self.found.retain(|entry| meets(entry, others, ceiling));
            }
            self.back.put(place * n + i, &self.found);
        }
    }

    fn front_layer(&mut self, place: usize, problem: &Problem, ceiling: i32) {
        let n = self.n;
        for j in (0..n).filter(|&j| fits(problem, place, j)) {
            self.touched.clear();
            if place == 0 {
                self.scratch[0] = -self.potentials[j];
                self.touched.push(0);
            } else {
                let other = self.back.at(place * n + j).first().map_or(FAR, |entry| entry.cost);
                for i in 0..n {
                    let row = ((place - 1) * n + i) * self.words + j / 64;
                    if self.open[row] >> (j % 64) & 1 == 0 {
                        continue;
                    }
                    let pair = i * n + j;
                    let least = pull(
                        self.front.at((place - 1) * n + i),
                        self.arcs[pair],
                        self.forbids_after[pair],
                        &self.low[pair],
                        &self.high[pair],
                        &mut self.scratch,
                        &mut self.touched,
                        &mut self.work,
                    );
                    if least.saturating_add(other) > ceiling {
                        self.open[row] &= !(1 << (j % 64));
                    }
                }
            }
            self.gather();
            let others = self.back.at(place * n + j);
            self.found.retain(|entry| meets(entry, others, ceiling));
            self.front.put(place * n + j, &self.found);
        }
    }

    /// Takes the touched entries out of the scratch, cheapest first, without those that remember
    /// more and cost no less than another.
    fn gather(&mut self) {
        self.found.clear();
        for &seen in &self.touched {
            let cost = std::mem::replace(&mut self.scratch[usize::from(seen)], FAR);
            self.found.push(Entry { cost, seen });
        }
        self.found.sort_unstable_by_key(|entry| (entry.cost, entry.seen.count_ones(), entry.seen));
        let mut kept = 0;
        for at in 0..self.found.len() {
            let entry = self.found[at];
            if !self.found[..kept].iter().any(|other| other.seen & !entry.seen == 0) {
                self.found[kept] = entry;
                kept += 1;
            }
        }
        self.work += (self.touched.len() * 8 + self.touched.len() * kept / 2) as u64;
        self.found.truncate(kept);
    }

    /// The bound on the cost of an order that the last pass from the back proves, or `None` where
    /// nothing better than the best order is left.
    pub(super) fn bound(&self) -> Option<i64> {
        let least = self.starts().map(|(_, cost)| i64::from(cost)).min()?;
        Some(div_up(least + self.given(), self.scale))
    }

    /// The same, not rounded, scaled.
    pub(super) fn scaled_bound(&self) -> Option<i64> {
        Some(self.starts().map(|(_, cost)| i64::from(cost)).min()? + self.given())
    }

    pub(super) const fn scale(&self) -> i64 {
        self.scale
    }

    /// First jobs, and what a whole path from each costs at least.
    fn starts(&self) -> impl Iterator<Item = (usize, i32)> {
        (0..self.n).filter_map(|job| Some((job, self.back.at(job).first()?.cost - self.potentials[job])))
    }

    /// The cheapest path of the last pass from the back.
    pub(super) fn path(&self, path: &mut Vec<u32>) {
        path.clear();
        let n = self.n;
        let Some((mut job, _)) = self.starts().min_by_key(|&(job, cost)| (cost, job)) else { return };
        let mut entry = self.back.at(job)[0];
        path.push(job as u32);
        'places: for place in 0..n - 1 {
            for j in 0..n {
                if self.open[(place * n + job) * self.words + j / 64] >> (j % 64) & 1 == 0 {
                    continue;
                }
                let pair = j * n + job;
                for next in self.back.at((place + 1) * n + j) {
                    if next.seen & self.forbids_before[pair] == 0
                        && next.cost + self.arcs[job * n + j] == entry.cost
                        && carry(next.seen, &self.low[pair], &self.high[pair]) == entry.seen
                    {
                        (job, entry) = (j, *next);
                        path.push(j as u32);
                        continue 'places;
                    }
                }
            }
            unreachable!("an entry came from another");
        }
    }

    /// Lets neighbourhoods of at most `most` jobs grow so that up to `circles` of the circles and
    /// broken precedences of `path` are remembered, the shortest first. Says whether any grew.
    pub(super) fn grow(&mut self, path: &[u32], most: usize, circles: usize, problem: &Problem) -> bool {
        let mut spans = vec![];
        for (b, &job) in path.iter().enumerate() {
            let back = path[..b]
                .iter()
                .rposition(|&other| other == job || problem.comes_before(job as usize, other as usize));
            if let Some(a) = back {
                spans.push((b - a, a, b));
            }
        }
        spans.sort_unstable();
        let mut grown = 0;
        for (_, a, b) in spans {
            let job = path[b] as u16;
            let between = &path[a + 1..b];
            let wants =
                |near: &Vec<Vec<u16>>, at: u32| !near[at as usize].contains(&job) && at != u32::from(job);
            if between
                .iter()
                .any(|&at| wants(&self.near, at) && self.near[at as usize].len() >= most.min(MOST_NEAR))
            {
                continue;
            }
            for &at in between {
                if wants(&self.near, at) {
                    self.near[at as usize].push(job);
                }
            }
            grown += 1;
            if grown == circles {
                break;
            }
        }
        if grown > 0 {
            self.learn_near(problem);
        }
        grown > 0
    }

    /// What the last pass from the back says of the rest of an order.
    pub(super) fn completion(&self) -> Completion {
        Completion {
            n: self.n,
            words: self.words,
            scale: self.scale,
            arcs: self.arcs.clone(),
            potentials: self.potentials.clone(),
            open: self.open.clone(),
            tables: Some(Tables {
                near: self.near.clone(),
                spans: self.back.spans.clone(),
                entries: self.back.entries.clone(),
            }),
        }
    }
}

/// Whether `job` can stand at `place` (from 0) for all that must come before and after it.
fn fits(problem: &Problem, place: usize, job: usize) -> bool {
    (problem.before.count(job)..problem.n - problem.after.count(job)).contains(&place)
}

/// A few neighbours each to begin with: those cheapest to go to or to come from.
fn first_near(problem: &Problem, ways: &Bits) -> Vec<Vec<u16>> {
    const FIRST: usize = 4;
    let n = problem.n;
    let cost = |i: usize, j: usize| if ways.has(i, j) { problem.cost(i, j) } else { i32::MAX };
    (0..n)
        .map(|i| {
            let mut others: Vec<usize> = (0..n).filter(|&j| ways.has(i, j) && ways.has(j, i)).collect();
            others.sort_by_key(|&j| (cost(i, j).min(cost(j, i)), j));
            others.into_iter().take(FIRST).map(|j| j as u16).collect()
        })
        .collect()
}

fn carry(seen: u16, low: &[u16; HALF_SIZE], high: &[u16; HALF_SIZE]) -> u16 {
    low[usize::from(seen) & (HALF_SIZE - 1)] | high[usize::from(seen) >> HALF & (HALF_SIZE - 1)]
}

/// Carries the entries of a neighbour over one arc into the scratch; the least of them.
#[allow(clippy::too_many_arguments, reason = "one inner loop, called from two places")]
fn pull(
    entries: &[Entry],
    arc: i32,
    forbids: u16,
    low: &[u16; HALF_SIZE],
    high: &[u16; HALF_SIZE],
    scratch: &mut [i32],
    touched: &mut Vec<u16>,
    work: &mut u64,
) -> i32 {
    *work += 4 + entries.len() as u64;
    let mut least = FAR;
    let scratch: &mut [i32; 1 << MOST_NEAR] = scratch.try_into().expect("as long as there are memories");
    for entry in entries {
        if entry.seen & forbids != 0 {
            continue;
        }
        let cost = entry.cost + arc;
        least = least.min(cost);
        let seen = carry(entry.seen, low, high);
        let known = &mut scratch[usize::from(seen) & ((1 << MOST_NEAR) - 1)];
        if cost < *known {
            if *known == FAR {
                touched.push(seen);
            }
            *known = cost;
        }
    }
    least
}

/// Whether an entry meets one from the other end that remembers nothing of the same, below the ceiling.
fn meets(entry: &Entry, others: &[Entry], ceiling: i32) -> bool {
    others
        .iter()
        .take_while(|other| entry.cost + other.cost <= ceiling)
        .any(|other| other.seen & entry.seen == 0)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::sop::cheapest_order;

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(300))]

        /// Whatever the potentials: no bound is above the best order, no way that it takes is
        /// closed while a dearer one is known, and no rest of it is said to cost more than it does.
        #[test]
        fn the_best_order_comes_through_every_pass(
            n in 2_usize..9,
            costs in prop::collection::vec(0..40_i32, 64),
            pairs in prop::collection::vec((0..8_u32, 0..8_u32), 0..6),
            potentials in prop::collection::vec(-9_000.0..30_000.0_f64, 8),
            grow in 0..3,
        ) {
            let pairs: Vec<_> = pairs.into_iter().filter(|(i, j)| i < j && (*j as usize) < n).collect();
            let problem = Problem::new(n, costs[..n * n].to_vec(), &pairs).unwrap();
            let (best, order) = cheapest_order(&problem);
            let known = best + 1;
            let mut relaxation = Relaxation::new(&problem, known).unwrap();
            relaxation.set_potentials(potentials);
            let mut path = vec![];
            let through = |relaxation: &mut Relaxation, pass| {
                relaxation.begin(pass);
                for step in 0..n {
                    relaxation.layer(pass, step, &problem, known);
                }
            };
            for _ in 0..grow {
                through(&mut relaxation, Pass::Back);
                relaxation.path(&mut path);
                relaxation.grow(&path, 6, 2, &problem);
            }
            for pass in [Pass::Back, Pass::FrontPruned, Pass::BackPruned, Pass::FrontPruned, Pass::BackPruned] {
                through(&mut relaxation, pass);
                if pass == Pass::FrontPruned {
                    continue;
                }
                prop_assert!(relaxation.bound().is_some_and(|bound| bound <= best), "{:?}", relaxation.bound());
                let completion = relaxation.completion();
                let mut done = [0_u64];
                let mut cost = 0;
                for (place, &job) in order.iter().enumerate() {
                    let job = job as usize;
                    cost += match place {
                        0 => -completion.potential(job),
                        _ => completion.arc(order[place - 1] as usize, job),
                    };
                    done[0] |= 1 << job;
                    let rest = completion.rest(place, job, &done).unwrap();
                    prop_assert!(cost + rest <= completion.ceiling(known));
                    prop_assert!(completion.least_rest(place, job) <= rest);
                    if let Some(&next) = order.get(place + 1) {
                        prop_assert!(completion.followers(place, job, 0) >> next & 1 != 0);
                    }
                }
                prop_assert_eq!(completion.bound_of(cost), best);
            }
        }
    }
}
