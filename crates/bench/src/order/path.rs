//! One order, bettered by moving and turning pieces of it.
//!
//! The order stands in an array between two fixed marks. A piece may be
//! turned when nothing in it has to come before something else in it, and two
//! neighbouring pieces may change places when nothing in the first has to
//! come before something in the second. Both are tested by the first and the
//! last position of each precedence group. The test is a little too strict
//! where a group lies on both sides of a piece, never too lax.

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

use super::model::Model;
use super::precedence::Precedence;
use super::visits::{self, Chunks};
use super::{Phase, Watch};

/// A gain in s below which a move is none.
const LEAST_GAIN: f64 = 1e-7;

/// Near jobs of its own class that each job is moved to.
const NEAR: usize = 8;
/// Near groups of its own class, by their nearest job.
const NEAR_GROUPS: usize = 6;
/// Near jobs of other classes.
const NEAR_OTHERS: usize = 4;

/// Sequences of visits of nearly equal cost that are tried as a beginning.
const BEGINNINGS: usize = 6;
/// With more jobs only one more is tried.
const MANY: usize = 1_500;
/// Work each of them may take to search.
const WORK_A_BEGINNING: u64 = 1_000_000;
/// Changes are made dearer by up to this part, to fall on another sequence.
const SHAKE: f64 = 0.02;

/// Pops of the queue, and kicks, between two questions whether to stop.
const POPS_A_CALL: u32 = 64;
const KICKS_A_CALL: u64 = 16;
/// What a kick and the mending after it take, against a step of the spanning trees: measured on
/// the generated spars of 40 to 600 jobs, so that work goes with time.
const WORK_A_KICK: u64 = 16_000;
const WORK_A_KICK_AND_JOB: u64 = 110;
/// How many usual steps an order may be dearer than the best to be gone on from.
const SLACK_STEPS: f64 = 2.0;
/// Longest piece of a kick.
const LONGEST_KICK: usize = 50;

/// What is done with two neighbouring pieces.
#[derive(Clone, Copy, Debug)]
enum How {
    /// Both as one are turned.
    Turn,
    /// They change places.
    Swap,
    /// They change places and the first is turned.
    SwapTurnFirst,
    /// They change places and the second is turned.
    SwapTurnSecond,
}

/// Ways for two pieces to change places.
const SWAPS: [How; 3] = [How::Swap, How::SwapTurnFirst, How::SwapTurnSecond];

/// Pieces `i..=j` and `j + 1..=k` of the order.
#[derive(Clone, Copy, Debug)]
struct Move {
    i: usize,
    j: usize,
    k: usize,
    how: How,
}

/// An order and what is needed to better it.
pub(super) struct Path<'a> {
    model: &'a Model,
    precedence: &'a Precedence,
    rng: ChaCha8Rng,
    /// Start, jobs, end.
    order: Vec<u32>,
    position: Vec<u32>,
    /// First and last position of each group.
    low: Vec<u32>,
    high: Vec<u32>,
    /// The last position of what comes before a group, the first of what comes behind it.
    last_before: Vec<u32>,
    first_after: Vec<u32>,
    /// For each position the first and last of its stretch of one group, and of one class.
    group_run: Vec<(u32, u32)>,
    class_run: Vec<(u32, u32)>,
    near: Vec<Vec<u32>>,
    queue: std::collections::VecDeque<u32>,
    queued: Vec<bool>,
    cost: f64,
}

impl<'a> Path<'a> {
    /// Lays ways through the visits of the cheapest of some beginnings.
    pub fn lay(
        model: &'a Model,
        precedence: &'a Precedence,
        chunks: &Chunks,
        sequence: &[u16],
        seed: u64,
        watch: &mut Watch<'_>,
    ) -> Self {
        let mut rng = ChaCha8Rng::seed_from_u64(seed);
        let mut best = lay_visits(model, precedence, chunks, sequence);
        let mut least = cost_of(model, &best);
        let beginnings = if model.n > MANY { 1 } else { BEGINNINGS };
        for _ in 0..beginnings {
            if model.classes < 3 || watch.asks_to_stop(Phase::Visits, model.n as u64) {
                break;
            }
            let costs: Vec<f64> = model
                .switching()
                .into_iter()
                .map(|cost| cost * (1.0 + SHAKE * rng.random::<f64>()))
                .collect();
            let other = visits::cheapest(model, chunks, &costs, WORK_A_BEGINNING, watch);
            let order = lay_visits(model, precedence, chunks, &other.sequence);
            let cost = cost_of(model, &order);
            if cost < least - LEAST_GAIN {
                (best, least) = (order, cost);
            }
        }

        let (n, groups) = (model.n, precedence.members.len());
        let mut order = Vec::with_capacity(n + 2);
        order.push(model.start());
        order.extend(best);
        order.push(model.end());
        let mut path = Self {
            model,
            precedence,
            rng,
            order,
            position: vec![0; n + 2],
            low: vec![0; groups],
            high: vec![0; groups],
            last_before: vec![0; groups],
            first_after: vec![0; groups],
            group_run: vec![(0, 0); n + 2],
            class_run: vec![(0, 0); n + 2],
            near: near(model, precedence),
            queue: std::collections::VecDeque::new(),
            queued: vec![false; n],
            cost: least,
        };
        path.refresh();
        path
    }

    /// The jobs in order.
    pub fn order(&self) -> &[u32] {
        &self.order[1..=self.model.n]
    }

    /// What the order costs but for the doing, s.
    pub fn cost(&self) -> f64 {
        self.cost
    }

    /// Betters the order until no move does.
    pub fn settle(&mut self, watch: &mut Watch<'_>) {
        loop {
            for at in 1..=self.model.n {
                self.put_in_queue(at);
            }
            self.drain(Some(watch));
            if watch.stopped || !self.move_visits() {
                return;
            }
        }
    }

    /// Kicks and settles again, and keeps what is not dearer.
    pub fn better(&mut self, bound: f64, watch: &mut Watch<'_>) {
        if self.model.n < 3 {
            return;
        }
        let patience = 40 * self.model.n as u64 + 2_000;
        let (mut kicks, mut since) = (0_u64, 0_u64);
        // An order a little dearer than the best is gone on from: a few steps of a usual way.
        let slack = SLACK_STEPS * self.usual_step();
        let mut kept = self.order.clone();
        let (mut best, mut least) = (self.order.clone(), self.cost);
        while since < patience && least > bound + LEAST_GAIN {
            kicks += 1;
            since += 1;
            if kicks % KICKS_A_CALL == 0 {
                watch.seconds = self.model.doing + least;
                if watch.asks_to_stop(
                    Phase::Bettering,
                    KICKS_A_CALL * (WORK_A_KICK + WORK_A_KICK_AND_JOB * self.model.n as u64),
                ) {
                    break;
                }
            }
            let before = self.cost;
            if !self.kick() {
                continue;
            }
            self.drain(None);
            if self.cost > before.max(least + slack) + LEAST_GAIN * 0.01 {
                self.order.copy_from_slice(&kept);
                self.cost = before;
                self.refresh();
                continue;
            }
            kept.copy_from_slice(&self.order);
            if self.cost < least - LEAST_GAIN {
                since = 0;
                least = self.cost;
                best.copy_from_slice(&self.order);
            }
        }
        self.order = best;
        self.refresh();
        // Many small differences have been summed; begin from the whole again.
        self.cost = cost_of(self.model, self.order());
    }

    /// The middle way between neighbours of one class, s.
    fn usual_step(&self) -> f64 {
        let pairs = self.order().windows(2);
        let inside =
            pairs.filter(|pair| self.model.class[pair[0] as usize] == self.model.class[pair[1] as usize]);
        let mut ways: Vec<f64> = inside.map(|pair| self.model.way(pair[0], pair[1])).collect();
        ways.sort_unstable_by(f64::total_cmp);
        ways.get(ways.len() / 2).copied().unwrap_or(0.0)
    }

    fn put_in_queue(&mut self, at: usize) {
        let job = self.order[at] as usize;
        if job < self.model.n && !self.queued[job] {
            self.queued[job] = true;
            self.queue.push_back(self.order[at]);
        }
    }

    fn drain(&mut self, mut watch: Option<&mut Watch<'_>>) {
        let mut pops = 0;
        while let Some(job) = self.queue.pop_front() {
            self.queued[job as usize] = false;
            while let Some(it) = self.find(job) {
                self.make(it);
            }
            pops += 1;
            if let Some(watch) = watch.as_deref_mut()
                && pops % POPS_A_CALL == 0
            {
                watch.seconds = self.model.doing + self.cost;
                if watch.asks_to_stop(Phase::Bettering, u64::from(POPS_A_CALL) * self.model.n as u64) {
                    self.queue.clear();
                    self.queued.fill(false);
                    return;
                }
            }
        }
    }

    /// The first move found that brings a job beside one it is near to, and gains.
    fn find(&self, job: u32) -> Option<Move> {
        let at = self.position[job as usize] as usize;
        let n = self.model.n;
        for (i, k) in [(1, at), (at, n)] {
            let it = Move { i, j: i, k, how: How::Turn };
            if i < k && self.gains(it) {
                return Some(it);
            }
        }
        for &other in &self.near[job as usize] {
            let there = self.position[other as usize] as usize;
            let (p, r) = (at.min(there), at.max(there));
            if r == p + 1 {
                continue;
            }
            if let Some(it) = self.find_between(p, r) {
                return Some(it);
            }
        }
        None
    }

    /// Moves after which what stands at `p` and at `r` are neighbours.
    fn find_between(&self, p: usize, r: usize) -> Option<Move> {
        let good = |i: usize, j: usize, k: usize, how: How| {
            let it = Move { i, j, k, how };
            self.gains(it).then_some(it)
        };
        let mut found = good(p + 1, p + 1, r, How::Turn).or_else(|| good(p, p, r - 1, How::Turn));
        for y in self.ends_right(r) {
            found = found
                .or_else(|| good(p + 1, r - 1, y, How::Swap))
                .or_else(|| good(p, r - 1, y, How::SwapTurnSecond));
        }
        for y in self.ends_left(p) {
            found =
                found.or_else(|| good(y, p, r - 1, How::Swap)).or_else(|| good(y, p, r, How::SwapTurnFirst));
        }
        for y in self.ends_left(r) {
            if y > p + 1 {
                found = found
                    .or_else(|| good(p + 1, y - 1, r, How::SwapTurnSecond))
                    .or_else(|| good(p, y - 1, r, How::Swap));
            }
        }
        for y in self.ends_right(p) {
            if y + 1 < r {
                found = found
                    .or_else(|| good(p, y, r - 1, How::SwapTurnFirst))
                    .or_else(|| good(p, y, r, How::Swap));
            }
        }
        found
    }

    /// Where a piece that begins at `x` may end.
    fn ends_right(&self, x: usize) -> [usize; 5] {
        let n = self.model.n;
        let run = |of: &[(u32, u32)]| of[x].1 as usize;
        [x, (x + 1).min(n), (x + 2).min(n), run(&self.group_run), run(&self.class_run)]
    }

    /// Where a piece that ends at `x` may begin.
    fn ends_left(&self, x: usize) -> [usize; 5] {
        let run = |of: &[(u32, u32)]| of[x].0 as usize;
        [x, (x - 1).max(1), x.saturating_sub(2).max(1), run(&self.group_run), run(&self.class_run)]
    }

    fn gains(&self, it: Move) -> bool {
        self.change(it) < -LEAST_GAIN && self.may(it)
    }

    /// What a move adds to the cost, s.
    fn change(&self, Move { i, j, k, how }: Move) -> f64 {
        let at = |x: usize| self.order[x];
        let step = |a: u32, b: u32| self.model.step(a, b);
        let (p, q) = (at(i - 1), at(k + 1));
        let (a1, a2, b1, b2) = (at(i), at(j), at(j + 1), at(k));
        match how {
            How::Turn => step(p, b2) + step(a1, q) - step(p, a1) - step(b2, q),
            _ => {
                let now = step(p, a1) + step(a2, b1) + step(b2, q);
                let then = match how {
                    How::SwapTurnFirst => step(p, b1) + step(b2, a2) + step(a1, q),
                    How::SwapTurnSecond => step(p, b2) + step(b1, a1) + step(a2, q),
                    _ => step(p, b1) + step(b2, a1) + step(a2, q),
                };
                then - now
            }
        }
    }

    fn may(&self, Move { i, j, k, how }: Move) -> bool {
        match how {
            How::Turn => self.may_turn(i, k),
            How::Swap => self.may_swap(i, j, k),
            How::SwapTurnFirst => self.may_turn(i, j) && self.may_swap(i, j, k),
            How::SwapTurnSecond => self.may_turn(j + 1, k) && self.may_swap(i, j, k),
        }
    }

    fn group_at(&self, x: usize) -> usize {
        self.precedence.group[self.order[x] as usize] as usize
    }

    /// Groups of a piece; a group that goes on is named once.
    fn groups(&self, from: usize, to: usize) -> impl Iterator<Item = usize> + '_ {
        let mut x = from;
        std::iter::from_fn(move || {
            if x > to {
                return None;
            }
            let group = self.group_at(x);
            x = self.group_run[x].1 as usize + 1;
            Some(group)
        })
    }

    fn may_turn(&self, i: usize, k: usize) -> bool {
        self.groups(i, k)
            .all(|group| self.first_after[group] as usize > k || self.all_after_is_behind(group, i, k))
    }

    /// Nothing that comes behind the group stands in `i..=k`, as far as first and last positions say.
    fn all_after_is_behind(&self, group: usize, i: usize, k: usize) -> bool {
        self.precedence.after[group]
            .iter()
            .all(|&then| self.low[then as usize] as usize > k || (self.high[then as usize] as usize) < i)
    }

    fn may_swap(&self, i: usize, j: usize, k: usize) -> bool {
        if j - i < k - j {
            self.groups(i, j).all(|group| {
                self.first_after[group] as usize > k || self.all_after_is_behind(group, j + 1, k)
            })
        } else {
            self.groups(j + 1, k).all(|group| {
                (self.last_before[group] as usize) < i
                    || self.precedence.before[group].iter().all(|&first| {
                        (self.high[first as usize] as usize) < i || self.low[first as usize] as usize > j
                    })
            })
        }
    }

    fn make(&mut self, it: Move) {
        let Move { i, j, k, how } = it;
        self.cost += self.change(it);
        let (first, second) = (j + 1 - i, k - j);
        let piece = &mut self.order[i..=k];
        match how {
            How::Turn => piece.reverse(),
            How::Swap => piece.rotate_left(first),
            How::SwapTurnFirst => {
                piece[..first].reverse();
                piece.rotate_left(first);
            }
            How::SwapTurnSecond => {
                piece[first..].reverse();
                piece.rotate_left(first);
            }
        }
        self.refresh();
        let inner = i + second;
        for at in [i - 1, i, inner - 1, inner, k, k + 1] {
            self.put_in_queue(at.min(k + 1));
        }
    }

    /// Makes everything that is kept by position anew from the order.
    fn refresh(&mut self) {
        self.low.fill(u32::MAX);
        self.high.fill(0);
        let n = self.model.n;
        let (mut group_from, mut class_from) = (1, 1);
        for (at, x) in (1..=n).zip(1_u32..) {
            let job = self.order[at] as usize;
            self.position[job] = x;
            let group = self.precedence.group[job] as usize;
            self.low[group] = self.low[group].min(x);
            self.high[group] = x;
            let last = at == n;
            let next = if last { usize::MAX } else { self.order[at + 1] as usize };
            if last || self.precedence.group[next] as usize != group {
                self.group_run[group_from as usize..=at].fill((group_from, x));
                group_from = x + 1;
            }
            if last || self.model.class[next] != self.model.class[job] {
                self.class_run[class_from as usize..=at].fill((class_from, x));
                class_from = x + 1;
            }
        }
        for group in 0..self.low.len() {
            let before = self.precedence.before[group].iter().map(|&first| self.high[first as usize]).max();
            self.last_before[group] = before.unwrap_or(0);
            let after = self.precedence.after[group].iter().map(|&then| self.low[then as usize]).min();
            self.first_after[group] = after.unwrap_or(u32::MAX);
        }
    }

    /// Moves and turns whole visits while that gains; whether it did.
    fn move_visits(&mut self) -> bool {
        let mut any = false;
        while let Some(it) = self.find_visits() {
            self.make(it);
            any = true;
        }
        any
    }

    fn find_visits(&self) -> Option<Move> {
        let runs = self.visits();
        let reach = 24;
        for a in 0..runs.len() {
            for b in a..runs.len().min(a + reach) {
                let (i, j) = (runs[a].0, runs[b].1);
                let turn = Move { i, j: i, k: j, how: How::Turn };
                if i < j && self.gains(turn) {
                    return Some(turn);
                }
                for &(_, k) in &runs[(b + 1).min(runs.len())..runs.len().min(b + 1 + reach)] {
                    for how in [How::Swap, How::SwapTurnFirst, How::SwapTurnSecond] {
                        let it = Move { i, j, k, how };
                        if self.gains(it) {
                            return Some(it);
                        }
                    }
                }
            }
        }
        None
    }

    /// First and last position of each visit.
    fn visits(&self) -> Vec<(usize, usize)> {
        let mut runs = Vec::new();
        let mut at = 1;
        while at <= self.model.n {
            let (from, to) = self.class_run[at];
            runs.push((from as usize, to as usize));
            at = to as usize + 1;
        }
        runs
    }

    /// A move by chance; whether one was possible.
    fn kick(&mut self) -> bool {
        let n = self.model.n;
        for _ in 0..10 {
            let draw: f64 = self.rng.random();
            let i = self.rng.random_range(1..n);
            let mut length = |from: usize| self.rng.random_range(0..LONGEST_KICK.min(n - from + 1));
            let it = if draw < 0.5 {
                let j = (i + length(i)).min(n - 1);
                let k = j + 1 + length(j + 1);
                Move { i, j, k, how: How::Swap }
            } else if draw < 0.65 {
                let k = (i + 1 + length(i + 1)).min(n);
                Move { i, j: i, k, how: How::Turn }
            } else if draw < 0.75 {
                // Two neighbouring visits, or pieces of one group, change places.
                let runs = if draw < 0.7 { &self.class_run } else { &self.group_run };
                let (from, to) = runs[i];
                if to as usize >= n {
                    continue;
                }
                let k = runs[to as usize + 1].1 as usize;
                Move { i: from as usize, j: to as usize, k, how: SWAPS[length(i) % 3] }
            } else {
                // A whole piece of one group goes to a job that is near to one of it.
                let job = self.order[i] as usize;
                let near = &self.near[job];
                if near.is_empty() {
                    continue;
                }
                let there = self.position[near[length(i) % near.len()] as usize] as usize;
                let (from, to) = self.group_run[i];
                let (from, to) = (from as usize, to as usize);
                let how = SWAPS[length(i) % 3];
                if there > to {
                    Move { i: from, j: to, k: there, how }
                } else if there < from {
                    Move { i: there, j: from - 1, k: to, how }
                } else {
                    continue;
                }
            };
            if self.may(it) {
                self.make(it);
                return true;
            }
        }
        false
    }
}

fn cost_of(model: &Model, order: &[u32]) -> f64 {
    let first = order.first().map_or(0.0, |&first| model.step(model.start(), first));
    first + order.windows(2).map(|pair| model.step(pair[0], pair[1])).sum::<f64>()
}

/// The order of a sequence of visits, each laid from where the last ended.
fn lay_visits(model: &Model, precedence: &Precedence, chunks: &Chunks, sequence: &[u16]) -> Vec<u32> {
    let mut sweeper = Sweeper::new(model, precedence);
    let mut done = vec![false; chunks.members.len()];
    let mut order: Vec<u32> = Vec::with_capacity(model.n);
    for &class in sequence {
        let mut jobs: Vec<u32> = Vec::new();
        for chunk in chunks.visit(class, &mut done) {
            jobs.extend(&chunks.members[chunk as usize]);
        }
        jobs.sort_unstable();
        let here = order.last().copied().unwrap_or(model.start());
        let cost = |laid: &[u32]| model.step(here, laid[0]) + cost_inside(model, laid);
        let by_level = sweeper.sweep(&jobs, here, true);
        let nearest = sweeper.sweep(&jobs, here, false);
        let cheaper = if cost(&by_level) <= cost(&nearest) { by_level } else { nearest };
        order.extend(cheaper);
    }
    order
}

fn cost_inside(model: &Model, order: &[u32]) -> f64 {
    order.windows(2).map(|pair| model.step(pair[0], pair[1])).sum()
}

/// Lays visits job by job.
struct Sweeper<'a> {
    model: &'a Model,
    precedence: &'a Precedence,
    /// Jobs of the visit that are not laid yet, for each group.
    left: Vec<u32>,
    /// Whether nothing of the visit has to come before a group any more.
    free: Vec<bool>,
    level: Vec<u32>,
}

impl<'a> Sweeper<'a> {
    fn new(model: &'a Model, precedence: &'a Precedence) -> Self {
        let groups = precedence.members.len();
        Self { model, precedence, left: vec![0; groups], free: vec![false; groups], level: vec![0; groups] }
    }

    fn group(&self, job: u32) -> usize {
        self.precedence.group[job as usize] as usize
    }

    /// Always to the nearest job that is free; by level, all of a lower level first.
    fn sweep(&mut self, jobs: &[u32], here: u32, by_level: bool) -> Vec<u32> {
        jobs.iter().for_each(|&job| self.left[self.precedence.group[job as usize] as usize] += 1);
        for &job in jobs {
            let group = self.group(job);
            self.free[group] = self.is_free(group);
            self.level[group] = 0;
        }
        if by_level {
            self.find_levels(jobs);
        }
        let deepest = jobs.iter().map(|&job| self.level[self.group(job)]).max().unwrap_or(0);
        let mut to_lay = vec![0_u32; deepest as usize + 1];
        jobs.iter().for_each(|&job| to_lay[self.level[self.group(job)] as usize] += 1);
        let mut lowest = 0;

        let mut left = jobs.to_vec();
        let mut laid = Vec::with_capacity(jobs.len());
        let mut here = here;
        // Where coming in costs the same everywhere, begin at the rim.
        let first = self.model.class[jobs[0] as usize];
        let from_rim = !self.model.same_place(self.model.class[here as usize], first);
        while !left.is_empty() {
            while to_lay[lowest] == 0 {
                lowest += 1;
            }
            let mut best: Option<(usize, f64)> = None;
            for (at, &job) in left.iter().enumerate() {
                let group = self.group(job);
                if !self.free[group] || self.level[group] as usize != lowest {
                    continue;
                }
                let cost = if from_rim && laid.is_empty() {
                    -from_middle(self.model, jobs, job)
                } else {
                    self.model.step(here, job)
                };
                if best.is_none_or(|(_, least)| cost < least) {
                    best = Some((at, cost));
                }
            }
            here = left.swap_remove(best.expect("without circles the lowest level is free").0);
            laid.push(here);
            to_lay[lowest] -= 1;
            let group = self.group(here);
            self.left[group] -= 1;
            if self.left[group] == 0 {
                for &then in &self.precedence.after[group] {
                    self.free[then as usize] = self.is_free(then as usize);
                }
            }
        }
        laid
    }

    fn is_free(&self, group: usize) -> bool {
        self.precedence.before[group].iter().all(|&first| self.left[first as usize] == 0)
    }

    /// The level of a group is the longest chain of groups of the visit before it.
    fn find_levels(&mut self, jobs: &[u32]) {
        let mut groups: Vec<usize> = jobs.iter().map(|&job| self.group(job)).collect();
        groups.sort_unstable();
        groups.dedup();
        // Levels rise along chains; a chain is no longer than there are groups.
        let mut again = true;
        while again {
            again = false;
            for &group in &groups {
                let before = self.precedence.before[group].iter().map(|&first| first as usize);
                let level =
                    before.filter(|&first| self.left[first] > 0).map(|first| self.level[first] + 1).max();
                let level = level.unwrap_or(0);
                if level > self.level[group] {
                    self.level[group] = level;
                    again = true;
                }
            }
        }
    }
}

/// How far a job lies from the others together.
fn from_middle(model: &Model, jobs: &[u32], job: u32) -> f64 {
    // A hundred of them say enough.
    let skip = jobs.len().div_ceil(100);
    jobs.iter().step_by(skip).map(|&other| model.way(job, other)).sum()
}

/// For each job those it may well stand beside.
fn near(model: &Model, precedence: &Precedence) -> Vec<Vec<u32>> {
    fn keep(list: &mut Vec<(f64, u32)>, most: usize, it: (f64, u32)) {
        if list.len() == most && it.0 >= list[most - 1].0 {
            return;
        }
        let at = list.partition_point(|held| held.0 <= it.0);
        list.insert(at, it);
        list.truncate(most);
    }
    let mut by_group: Vec<(f64, u32)> = vec![(f64::INFINITY, 0); precedence.members.len()];
    let mut touched: Vec<u32> = Vec::new();
    let (mut own, mut groups, mut others) = (Vec::new(), Vec::new(), Vec::new());
    (0..model.start())
        .map(|job| {
            own.clear();
            groups.clear();
            others.clear();
            for other in 0..model.start() {
                if other == job {
                    continue;
                }
                let cost = model.step(job, other);
                if model.class[job as usize] == model.class[other as usize] {
                    keep(&mut own, NEAR, (cost, other));
                    let group = precedence.group[other as usize];
                    let slot = &mut by_group[group as usize];
                    if slot.0 == f64::INFINITY {
                        touched.push(group);
                    }
                    if cost < slot.0 {
                        *slot = (cost, other);
                    }
                } else {
                    keep(&mut others, NEAR_OTHERS, (cost, other));
                }
            }
            for group in touched.drain(..) {
                let slot = &mut by_group[group as usize];
                keep(&mut groups, NEAR_GROUPS, *slot);
                slot.0 = f64::INFINITY;
            }
            let mut list: Vec<u32> = Vec::new();
            for &(_, other) in own.iter().chain(&groups).chain(&others) {
                if !list.contains(&other) {
                    list.push(other);
                }
            }
            list
        })
        .collect()
}
