//! The searching half: orders that are bred from each other.
//!
//! A score of orders are kept. Of two of them a third is made: a stretch as in
//! the one, all else as in the other, some activities a few places forward; or
//! of one, with what starts in a part of its time in another order. The new
//! order becomes a schedule, is pressed backwards and forwards, and takes the
//! place of the one it is most like unless it is worse: so the kept ones stay
//! different for long. When nothing has come of it for longer, all are drawn
//! anew: far and wide, or near the best.

use rand::{Rng, RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

use super::generate::{Generator, along, heads_and_tails, places};
use super::{Options, Problem, Shared};

/// Orders that are kept.
const KEPT: usize = 20;
/// Children in a row that make no better best, for each order kept, before all are drawn anew.
const PATIENCE: usize = 200;

pub(super) struct Improver<'p> {
    problem: &'p Problem,
    generator: Generator<'p>,
    rng: ChaCha8Rng,
    tails: Vec<i32>,
    kept: Vec<Kept>,
    /// Which of them the order at hand takes most from.
    parent: usize,
    /// The best since all were drawn anew.
    best_here: i32,
    idle: usize,
    rounds: u32,
    /// Work done beyond what was asked for.
    debt: u64,
    order: Vec<u32>,
    seen: Vec<bool>,
    wish: Vec<u32>,
}

/// An order that is by the starts of its schedule.
struct Kept {
    order: Vec<u32>,
    starts: Vec<i32>,
    end: i32,
}

impl<'p> Improver<'p> {
    pub(super) fn new(problem: &'p Problem, options: &Options) -> Self {
        Self {
            problem,
            generator: Generator::new(problem),
            rng: ChaCha8Rng::seed_from_u64(options.seed),
            tails: heads_and_tails(problem).1,
            kept: Vec::with_capacity(KEPT),
            parent: 0,
            best_here: i32::MAX,
            idle: 0,
            rounds: 0,
            debt: 0,
            order: Vec::with_capacity(problem.n),
            seen: vec![false; problem.n],
            wish: options.order.clone(),
        }
    }

    /// Searches for about `work` steps.
    pub(super) fn advance(&mut self, shared: &Shared, work: u64) {
        let until = self.generator.work + work.saturating_sub(self.debt);
        while self.generator.work < until && !shared.closed() {
            if self.kept.len() < KEPT {
                self.draw(shared);
            } else {
                self.parent = self.rng.random_range(0..KEPT);
                if self.rng.next_u32().is_multiple_of(2) {
                    self.breed();
                } else {
                    self.stir();
                }
                if self.idle > PATIENCE * KEPT {
                    self.kept.clear();
                    self.rounds += 1;
                    (self.idle, self.best_here) = (0, i32::MAX);
                    continue;
                }
            }
            // Putting in order costs as much as some slots for each activity.
            self.generator.work += 20 * self.problem.n as u64 + 20;
            let end = self.generator.forwards(&self.order);
            let starts = &self.generator.starts;
            self.order.sort_by_key(|&i| starts[i as usize]);
            let end = self.generator.press(&mut self.order, end);
            shared.offer(&self.generator.starts, end as u32);
            self.keep(end);
        }
        self.debt = self.generator.work.saturating_sub(until);
    }

    /// An order drawn at random, likelier with long ways to the end first, or near the best.
    fn draw(&mut self, shared: &Shared) {
        let n = self.problem.n;
        let near = self.rounds % 3 == 1;
        let mut keys: Vec<f64> = if near {
            let (starts, _) = shared.best();
            starts.iter().map(|&start| f64::from(start)).collect()
        } else if self.rounds == 0 && self.kept.is_empty() && !self.wish.is_empty() {
            places(n, &self.wish).iter().map(|&place| place as f64).collect()
        } else {
            self.tails.iter().map(|&tail| -f64::from(tail)).collect()
        };
        let spread = keys.iter().fold(0.0_f64, |most, key| most.max(key.abs()))
            * if near { 0.1 } else { self.rng.random_range(0.0..0.6) };
        for key in &mut keys {
            *key += spread * self.rng.random_range(-1.0..1.0);
        }
        let keys: Vec<i64> = keys.iter().map(|key| (key * 1024.0) as i64).collect();
        self.order = along(self.problem, &keys);
    }

    /// A kept order with what starts in a part of its time stirred up, into `order`.
    fn stir(&mut self) {
        let one = &self.kept[self.parent];
        let end = f64::from(one.end);
        let length = self.rng.random_range(0.05..0.4) * end;
        let from = self.rng.random_range(-0.5 * length..=end - 0.5 * length);
        let most = self.rng.random_range(0.1..1.0) * length;
        let rng = &mut self.rng;
        let keys = one.starts.iter().map(|&start| {
            let mut key = f64::from(start);
            if (from..from + length).contains(&key) {
                key = (key + most * rng.random_range(-1.0..1.0)).clamp(from, from + length);
            }
            (key * 1024.0) as i64
        });
        let keys: Vec<i64> = keys.collect();
        self.order = along(self.problem, &keys);
        self.generator.work += 20 * self.problem.n as u64;
    }

    /// An order of two kept ones, into `order`.
    fn breed(&mut self) {
        let n = self.problem.n;
        let other = self.rng.random_range(0..KEPT);
        let (mut from, mut to) = (self.rng.random_range(0..=n), self.rng.random_range(0..=n));
        if from > to {
            (from, to) = (to, from);
        }
        // Up to `from` as in the one, to `to` in the order of the other, then as in the one again.
        self.seen.fill(false);
        self.order.clear();
        let (one, two) = (&self.kept[self.parent].order, &self.kept[other].order);
        let parts = [(one, from), (two, to), (one, n)];
        for (order, until) in parts {
            for &i in order {
                if self.order.len() >= until {
                    break;
                }
                if !std::mem::replace(&mut self.seen[i as usize], true) {
                    self.order.push(i);
                }
            }
        }
        for at in 1..n {
            // One in twenty-five.
            if self.rng.next_u32() < u32::MAX / 25 {
                self.bring_forward(at);
            }
        }
    }

    /// Brings an activity forward by up to a few places, as far as the links let it.
    fn bring_forward(&mut self, at: usize) {
        let i = self.order[at];
        let most = self.rng.random_range(1..=8);
        let mut to = at;
        while to > 0 && at - to < most {
            let before = self.order[to - 1];
            let links = self.problem.into.of(i as usize);
            if links.iter().any(|&link| self.problem.links[link as usize].from == before) {
                break;
            }
            to -= 1;
        }
        self.order[to..=at].rotate_right(1);
    }

    /// Keeps the order at hand instead of its parent, unless it is worse or there already.
    fn keep(&mut self, end: i32) {
        self.idle += 1;
        if end < self.best_here {
            (self.best_here, self.idle) = (end, 0);
        }
        let starts = &self.generator.starts;
        if self.kept.len() < KEPT {
            self.kept.push(Kept { order: self.order.clone(), starts: starts.clone(), end });
            return;
        }
        if self.kept.iter().any(|it| it.end == end && it.starts == *starts) {
            return;
        }
        let parent = &mut self.kept[self.parent];
        if parent.end >= end {
            parent.order.clone_from(&self.order);
            parent.starts.clone_from(starts);
            parent.end = end;
        }
    }
}
