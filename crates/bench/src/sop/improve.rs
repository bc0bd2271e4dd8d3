//! The searching half: simulated annealing over orders that keep their precedence.
//!
//! Two moves. *Exchange*: two neighbouring stretches of the order change
//! places; nothing is turned round, so that only pairs across the two
//! stretches matter. *Turn*: one stretch is run through backwards. What a move
//! changes in cost is known from its few ends; only a move that would be taken
//! is looked at for precedence. Half of the moves are drawn to bring a job
//! next to one that is cheap to reach from it.

use super::{Problem, Shared};

/// Neighbours kept for each job, cheapest first.
const NEAR: usize = 12;
/// A stretch longer than this is not turned where going back costs otherwise than going there.
const LONGEST_TURN: usize = 60;
/// Moves between two looks at the temperature.
const STRIDE: u32 = 256;
/// What one move counts as work.
const WORK_PER_MOVE: u64 = 12;
/// The first annealings, in moves for each job.
const FIRST_RUN: u64 = 2_000;
/// The longest, in moves for each job.
const LONGEST_RUN: u64 = 200_000;

/// A small generator (splitmix64): seeded, the same everywhere.
pub(super) struct Draw(u64);

impl Draw {
    pub(super) const fn new(seed: u64) -> Self {
        Self(seed)
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// A whole number below `end`, which is not 0.
    fn below(&mut self, end: usize) -> usize {
        ((u128::from(self.next()) * end as u128) >> 64) as usize
    }

    /// A stretch of at least 1 and at most `longest`: short ones are likelier.
    fn stretch(&mut self, longest: usize) -> usize {
        let x = (self.next() >> 40) as f32 / (1 << 24) as f32;
        1 + ((longest as f32 * x * x * x) as usize).min(longest - 1)
    }
}

pub(super) struct Improver<'p> {
    problem: &'p Problem,
    draw: Draw,
    /// Direct precedences: from one to the next without a third between.
    after: Lists,
    before: Lists,
    /// The cheapest to go to from each.
    near: Vec<u32>,
    near_each: usize,
    symmetric: bool,
    /// The mean cost of an arc: the warmth at which nearly anything goes.
    typical: f32,
    order: Vec<u32>,
    place: Vec<u32>,
    cost: i64,
    best_here: i64,
    /// `-ln x` over the middle of 1,024 equal parts of 0 to 1.
    logs: Vec<f32>,
    temperature: f32,
    cooling: f32,
    coldest: f32,
    strides_left: u64,
    run: u64,
}

/// Lists of jobs, one for each job.
struct Lists {
    start: Vec<u32>,
    items: Vec<u32>,
}

impl Lists {
    fn of(n: usize, has: impl Fn(usize, usize) -> bool) -> Self {
        let (mut start, mut items) = (vec![0], vec![]);
        for i in 0..n {
            items.extend((0..n).filter(|&j| has(i, j)).map(|j| j as u32));
            start.push(items.len() as u32);
        }
        Self { start, items }
    }

    fn of_job(&self, job: usize) -> &[u32] {
        &self.items[self.start[job] as usize..self.start[job + 1] as usize]
    }
}

impl<'p> Improver<'p> {
    pub(super) fn new(problem: &'p Problem, seed: u64, shared: &Shared) -> Self {
        let n = problem.n;
        let direct = |i: usize, j: usize| problem.comes_before(i, j) && problem.may_follow(i, j);
        let after = Lists::of(n, direct);
        let before = Lists::of(n, |i, j| direct(j, i));
        let near_each = NEAR.min(n.saturating_sub(1));
        let mut near = Vec::with_capacity(n * near_each);
        for i in 0..n {
            let mut others: Vec<u32> = (0..n as u32).filter(|&j| problem.may_follow(i, j as usize)).collect();
            others.sort_by_key(|&j| problem.cost(i, j as usize));
            others.resize(near_each, u32::MAX);
            near.extend(others);
        }
        let symmetric = (0..n).all(|i| {
            (0..i).all(|j| {
                problem.comes_before(i, j)
                    || problem.comes_before(j, i)
                    || problem.cost(i, j) == problem.cost(j, i)
            })
        });
        let (mut sum, mut arcs) = (0.0_f64, 0.0_f64);
        for i in 0..n {
            for j in (0..n).filter(|&j| problem.may_follow(i, j)) {
                // One arc of a million among small ones must not set the warmth for all.
                sum += f64::from(problem.cost(i, j)).min(shared.cost() as f64);
                arcs += 1.0;
            }
        }
        let typical = (sum / f64::max(arcs, 1.0)).max(0.5) as f32;
        let logs = (0..1024).map(|part| -((part as f32 + 0.5) / 1024.0).ln()).collect();
        let (order, cost) = shared.best();
        let mut improver = Self {
            problem,
            draw: Draw::new(seed),
            after,
            before,
            near,
            near_each,
            symmetric,
            typical,
            place: vec![0; n],
            order,
            cost,
            best_here: cost,
            logs,
            temperature: 0.0,
            cooling: 1.0,
            coldest: 0.0,
            strides_left: 0,
            run: 0,
        };
        improver.note_places(0, n);
        improver
    }

    /// Goes on for about so much work.
    pub(super) fn advance(&mut self, shared: &Shared, work: u64) {
        if self.problem.n < 2 {
            return;
        }
        for _ in 0..(work / (WORK_PER_MOVE * u64::from(STRIDE))).max(1) {
            if self.strides_left == 0 {
                self.start_run(shared);
            }
            for _ in 0..STRIDE {
                self.try_move();
                if self.cost < self.best_here {
                    self.best_here = self.cost;
                    shared.offer(&self.order, self.cost);
                }
            }
            self.strides_left -= 1;
            self.temperature = (self.temperature * self.cooling).max(self.coldest);
        }
    }

    /// A new annealing: mostly hot, which forgets where it came from, and now and then a mild one
    /// around the best order. They grow longer slowly, so that quick problems are quick.
    fn start_run(&mut self, shared: &Shared) {
        let n = self.problem.n;
        let mild = self.run % 3 == 2;
        if mild || self.run == 0 {
            let (order, cost) = shared.best();
            self.order = order;
            self.cost = cost;
            self.note_places(0, n);
        }
        self.best_here = shared.cost();
        let moves = ((n as u64 * FIRST_RUN) << (self.run / 4).min(20)).min(n as u64 * LONGEST_RUN);
        self.strides_left = (moves / u64::from(STRIDE)).max(8);
        let mean = (shared.cost() as f32 / n as f32).max(0.5);
        self.temperature = if mild { mean * 0.3 } else { self.typical * 0.3 };
        self.coldest = (mean / 100.0).max(0.15).min(self.temperature);
        self.cooling = (self.coldest / self.temperature).powf(1.0 / self.strides_left as f32);
        self.run += 1;
    }

    fn try_move(&mut self) {
        let n = self.order.len();
        let bits = self.draw.next();
        // How much dearer the order may become by this move.
        let slack = self.temperature * self.logs[(bits & 1023) as usize];
        let kind = bits >> 10 & 7;
        if kind < 4 {
            let a = self.draw.below(n - 1);
            let b = a + self.draw.stretch(n - 1 - a);
            let c = b + self.draw.stretch(n - b);
            self.exchange(a, b, c, slack);
            return;
        }
        let job = self.draw.below(n);
        let near = self.near[job * self.near_each + self.draw.below(self.near_each)];
        if near == u32::MAX {
            return;
        }
        let (p, q) = (self.place[job] as usize, self.place[near as usize] as usize);
        // `near` is to stand right behind `job`.
        match (kind, p < q) {
            (4 | 5, true) if q > p + 1 => {
                let c = q + self.draw.stretch(n - q);
                self.exchange(p + 1, q, c, slack);
            }
            (6, true) if q > p + 1 => {
                let a = p + 1 - self.draw.stretch(p + 1);
                self.exchange(a, p + 1, q, slack);
            }
            (4 | 5, false) => {
                let b = q + self.draw.stretch(p - q);
                self.exchange(q, b, p + 1, slack);
            }
            (7, true) if q > p + 1 => self.turn(p + 1, q + 1, slack),
            (7, false) if p > q => self.turn(q, p, slack),
            _ => {}
        }
    }

    /// `a..b` and `b..c` change places, if that is cheap enough and keeps precedence.
    fn exchange(&mut self, a: usize, b: usize, c: usize, slack: f32) {
        debug_assert!(a < b && b < c && c <= self.order.len());
        let order = &self.order;
        let cost = |i: u32, j: u32| i64::from(self.problem.cost(i as usize, j as usize));
        let (a0, a1, b0, b1) = (order[a], order[b - 1], order[b], order[c - 1]);
        let mut delta = cost(b1, a0) - cost(a1, b0);
        if a > 0 {
            delta += cost(order[a - 1], b0) - cost(order[a - 1], a0);
        }
        if c < order.len() {
            delta += cost(a1, order[c]) - cost(b1, order[c]);
        }
        if delta as f32 > slack {
            return;
        }
        // A chain from the left stretch into the right one steps over the border by a direct pair,
        // so that direct pairs are enough, and one side of them.
        let (a_, b_, c_) = (a as u32, b as u32, c as u32);
        let broken = if b - a <= c - b {
            order[a..b].iter().any(|&job| {
                self.after
                    .of_job(job as usize)
                    .iter()
                    .any(|&then| self.place[then as usize] < c_ && self.place[then as usize] >= b_)
            })
        } else {
            order[b..c].iter().any(|&job| {
                self.before
                    .of_job(job as usize)
                    .iter()
                    .any(|&first| self.place[first as usize] >= a_ && self.place[first as usize] < b_)
            })
        };
        if broken {
            return;
        }
        self.order[a..c].rotate_left(b - a);
        self.cost += delta;
        self.note_places(a, c);
    }

    /// `a..c` is run through backwards, if that is cheap enough and keeps precedence.
    fn turn(&mut self, a: usize, c: usize, slack: f32) {
        if c - a < 2 || (!self.symmetric && c - a > LONGEST_TURN) {
            return;
        }
        let order = &self.order;
        let cost = |i: u32, j: u32| i64::from(self.problem.cost(i as usize, j as usize));
        let mut delta = 0;
        if a > 0 {
            delta += cost(order[a - 1], order[c - 1]) - cost(order[a - 1], order[a]);
        }
        if c < order.len() {
            delta += cost(order[a], order[c]) - cost(order[c - 1], order[c]);
        }
        if !self.symmetric {
            delta += order[a..c]
                .windows(2)
                .map(|pair| cost(pair[1], pair[0]) - cost(pair[0], pair[1]))
                .sum::<i64>();
        }
        if delta as f32 > slack {
            return;
        }
        let (a_, c_) = (a as u32, c as u32);
        let broken = order[a..c].iter().any(|&job| {
            let after = self.after.of_job(job as usize);
            after.iter().any(|&then| self.place[then as usize] < c_ && self.place[then as usize] >= a_)
        });
        if broken {
            return;
        }
        self.order[a..c].reverse();
        self.cost += delta;
        self.note_places(a, c);
    }

    fn note_places(&mut self, from: usize, to: usize) {
        for at in from..to {
            self.place[self.order[at] as usize] = at as u32;
        }
    }
}
