//! From an order of activities to a schedule.
//!
//! Each activity in turn starts as early as links and resources allow
//! (forwards), or ends as late as they allow (backwards). Going backwards over
//! a schedule and then forwards again never makes it longer, and often
//! shorter.

use super::Problem;

/// One in every lane's highest bit: a lane of 16 bits stands for one resource.
const HIGH: u64 = 0x8000_8000_8000_8000;

/// What is left of each resource in each slot.
///
/// A lane holds what is left plus 0x8000, so that one subtraction tries four
/// resources: the highest bit of a lane is gone where there is too little.
pub(super) struct Profile {
    words: usize,
    full: Vec<u64>,
    free: Vec<u64>,
}

impl Profile {
    pub(super) fn new(problem: &Problem) -> Self {
        let mut full = vec![HIGH; problem.words];
        for (r, &capacity) in problem.capacities.iter().enumerate() {
            full[r / 4] += u64::from(capacity) << (16 * (r % 4));
        }
        Self { words: problem.words, full, free: vec![] }
    }

    /// Everything is free in the first `slots` slots; those behind are as they were.
    pub(super) fn clear(&mut self, slots: usize) {
        self.grow(slots);
        if self.words == 1 {
            self.free[..slots].fill(self.full[0]);
        } else {
            for slot in self.free[..slots * self.words].chunks_exact_mut(self.words) {
                slot.copy_from_slice(&self.full);
            }
        }
    }

    pub(super) fn grow(&mut self, slots: usize) {
        while self.free.len() < slots * self.words {
            self.free.extend_from_slice(&self.full);
        }
    }

    pub(super) fn fits(&self, slot: usize, demand: &[u64]) -> bool {
        if self.words == 1 {
            return (self.free[slot] - demand[0]) & HIGH == HIGH;
        }
        let free = &self.free[slot * self.words..(slot + 1) * self.words];
        free.iter().zip(demand).all(|(free, demand)| (free - demand) & HIGH == HIGH)
    }

    /// The last slot of some in which a demand does not fit.
    pub(super) fn last_full(&self, from: usize, to: usize, demand: &[u64]) -> Option<usize> {
        if self.words == 1 && from < to {
            let full = |free: &u64| (free - demand[0]) & HIGH != HIGH;
            return self.free[from..to].iter().rposition(full).map(|at| from + at);
        }
        (from..to).rev().find(|&slot| !self.fits(slot, demand))
    }

    /// The first slot of some in which a demand does not fit.
    pub(super) fn first_full(&self, from: usize, to: usize, demand: &[u64]) -> Option<usize> {
        if self.words == 1 && from < to {
            let full = |free: &u64| (free - demand[0]) & HIGH != HIGH;
            return self.free[from..to].iter().position(full).map(|at| from + at);
        }
        (from..to).find(|&slot| !self.fits(slot, demand))
    }

    /// Whether more is taken in a slot than there is.
    pub(super) fn overdrawn(&self, slot: usize) -> bool {
        let free = &self.free[slot * self.words..(slot + 1) * self.words];
        free.iter().any(|free| free & HIGH != HIGH)
    }

    /// What is left of a resource; negative where more is taken than there is.
    pub(super) fn left(&self, slot: usize, resource: usize) -> i32 {
        let lane = self.free[slot * self.words + resource / 4] >> (16 * (resource % 4)) & 0xffff;
        lane as i32 - 0x8000
    }

    pub(super) fn take(&mut self, from: usize, to: usize, demand: &[u64]) {
        if self.words == 1 {
            return self.free[from..to].iter_mut().for_each(|free| *free -= demand[0]);
        }
        for slot in self.free[from * self.words..to * self.words].chunks_exact_mut(self.words) {
            for (free, demand) in slot.iter_mut().zip(demand) {
                *free -= demand;
            }
        }
    }

    pub(super) fn give(&mut self, from: usize, to: usize, demand: &[u64]) {
        if self.words == 1 {
            return self.free[from..to].iter_mut().for_each(|free| *free += demand[0]);
        }
        for slot in self.free[from * self.words..to * self.words].chunks_exact_mut(self.words) {
            for (free, demand) in slot.iter_mut().zip(demand) {
                *free += demand;
            }
        }
    }
}

/// Makes schedules out of orders, one after another in the same memory.
pub(super) struct Generator<'p> {
    problem: &'p Problem,
    profile: Profile,
    /// Slots that a schedule may have filled.
    dirty: usize,
    busy: Vec<bool>,
    pub(super) starts: Vec<i32>,
    /// Slots looked at so far: what the work is counted by.
    pub(super) work: u64,
}

impl<'p> Generator<'p> {
    pub(super) fn new(problem: &'p Problem) -> Self {
        let busy = (0..problem.n).map(|i| problem.packed_of(i).iter().any(|&demand| demand > 0)).collect();
        Self { problem, profile: Profile::new(problem), dirty: 0, busy, starts: vec![0; problem.n], work: 0 }
    }

    /// Each activity of `order` as early as it can; says when the last one ends.
    ///
    /// The order keeps the links.
    pub(super) fn forwards(&mut self, order: &[u32]) -> i32 {
        let problem = self.problem;
        self.profile.clear(self.dirty);
        let mut makespan = 0;
        for &i in order {
            let i = i as usize;
            let mut start = 0;
            for &link in problem.into.of(i) {
                let from = problem.links[link as usize].from as usize;
                start = start.max(problem.ready(link, self.starts[from] + problem.durations[from]));
            }
            let duration = problem.durations[i] as usize;
            if self.busy[i] {
                let demand = problem.packed_of(i);
                let (mut at, mut known) = (start as usize, start as usize);
                self.profile.grow(at + duration);
                // From behind: where a slot is too full, all starts up to it are out.
                while let Some(full) = self.profile.last_full(known, at + duration, demand) {
                    self.work += (at + duration - full) as u64;
                    known = at + duration;
                    at = full + 1;
                    self.profile.grow(at + duration);
                }
                self.profile.take(at, at + duration, demand);
                self.work += 2 * duration as u64 + 4;
                start = at as i32;
            }
            self.starts[i] = start;
            makespan = makespan.max(start + duration as i32);
        }
        self.dirty = self.dirty.max(makespan as usize);
        makespan
    }

    /// Each activity of `order`, the last one first, as late as it can, everything to have ended at `end`.
    ///
    /// The order is by ends, so that what is taken away by later ones is known; it keeps the links.
    /// Made from a schedule that ends at `end`, no start becomes negative.
    pub(super) fn backwards(&mut self, order: &[u32], end: i32) {
        let problem = self.problem;
        self.dirty = self.dirty.max(end as usize);
        self.profile.clear(self.dirty);
        for &i in order.iter().rev() {
            let i = i as usize;
            let mut last = end;
            for &link in problem.out.of(i) {
                let to = problem.links[link as usize].to as usize;
                last = last.min(problem.last_end(link, self.starts[to]));
            }
            let duration = problem.durations[i];
            let mut start = last - duration;
            if self.busy[i] {
                let demand = problem.packed_of(i);
                let mut known = last;
                while let Some(full) = self.profile.first_full(start as usize, known as usize, demand) {
                    let full = full as i32;
                    self.work += (full - start) as u64;
                    known = start;
                    start = full - duration;
                    debug_assert!(start >= 0, "where it was before is still free");
                }
                self.profile.take(start as usize, (start + duration) as usize, demand);
                self.work += 2 * duration as u64 + 4;
            }
            self.starts[i] = start;
        }
    }

    /// Backwards and forwards over the schedule in `starts`, which ends at `end`; says when it ends then.
    ///
    /// `order` is rewritten on the way: at the end it is by starts.
    pub(super) fn press(&mut self, order: &mut [u32], end: i32) -> i32 {
        let problem = self.problem;
        self.by(order, |it, i| it.starts[i] + problem.durations[i]);
        self.backwards(order, end);
        self.by(order, |it, i| it.starts[i]);
        let end = self.forwards(order);
        self.by(order, |it, i| it.starts[i]);
        end
    }

    /// Sorts by a time; those with equal times stay in the order they have, which keeps the links.
    fn by(&self, order: &mut [u32], time: impl Fn(&Self, usize) -> i32) {
        order.sort_by_key(|&i| time(self, i as usize));
    }
}

/// The earliest start and the longest way from a start to the end, by links alone, in slots.
pub(super) fn heads_and_tails(problem: &Problem) -> (Vec<i32>, Vec<i32>) {
    let mut heads = vec![0; problem.n];
    for &i in &problem.topological {
        let i = i as usize;
        for &link in problem.out.of(i) {
            let to = problem.links[link as usize].to as usize;
            heads[to] = heads[to].max(problem.ready(link, heads[i] + problem.durations[i]));
        }
    }
    let mut tails = problem.durations.clone();
    for &i in problem.topological.iter().rev() {
        let i = i as usize;
        for &link in problem.out.of(i) {
            let link = &problem.links[link as usize];
            let wait = match link.wait {
                super::Wait::Slots(slots) => slots as i32,
                // How many slots it takes depends on when; at the least, none.
                super::Wait::Calendar(_) => 0,
            };
            tails[i] = tails[i].max(problem.durations[i] + wait + tails[link.to as usize]);
        }
    }
    (heads, tails)
}

/// A first schedule, from the given order or from the longest ways to the end, whichever ends sooner.
pub(super) fn first(problem: &Problem, wish: &[u32]) -> (Vec<i32>, u32) {
    let mut generator = Generator::new(problem);
    let (_, tails) = heads_and_tails(problem);
    let rules: [Option<&[u32]>; 2] = [None, (!wish.is_empty()).then_some(wish)];
    let mut best: Option<(Vec<i32>, i32)> = None;
    for wish in rules.into_iter().flatten().map(Some).chain([None]) {
        let mut order = match wish {
            Some(wish) => along(problem, &places(problem.n, wish)),
            None => along(problem, &tails.iter().map(|&tail| -i64::from(tail)).collect::<Vec<_>>()),
        };
        let end = generator.forwards(&order);
        let plain = (generator.starts.clone(), end);
        generator.by(&mut order, |it, i| it.starts[i]);
        let pressed = generator.press(&mut order, end);
        let found = if pressed < end { (generator.starts.clone(), pressed) } else { plain };
        if best.as_ref().is_none_or(|best| found.1 < best.1) {
            best = Some(found);
        }
    }
    let (starts, end) = best.expect("one rule is always tried");
    (starts, end as u32)
}

/// The place of each activity in a wish; those that it does not name come last.
pub(super) fn places(n: usize, wish: &[u32]) -> Vec<i64> {
    let mut places = vec![n as i64; n];
    for (at, &i) in wish.iter().enumerate() {
        if let Some(place) = places.get_mut(i as usize) {
            *place = (*place).min(at as i64);
        }
    }
    places
}

/// All activities in an order that keeps the links: of those that may come next, the one with the
/// least key.
pub(super) fn along(problem: &Problem, keys: &[i64]) -> Vec<u32> {
    use std::cmp::Reverse;
    use std::collections::BinaryHeap;
    let mut waits: Vec<usize> = (0..problem.n).map(|i| problem.into.of(i).len()).collect();
    let mut free: BinaryHeap<_> =
        (0..problem.n).filter(|&i| waits[i] == 0).map(|i| Reverse((keys[i], i))).collect();
    let mut order = Vec::with_capacity(problem.n);
    while let Some(Reverse((_, i))) = free.pop() {
        order.push(i as u32);
        for &link in problem.out.of(i) {
            let to = problem.links[link as usize].to as usize;
            waits[to] -= 1;
            if waits[to] == 0 {
                free.push(Reverse((keys[to], to)));
            }
        }
    }
    order
}

#[cfg(test)]
mod tests {
    use super::super::{Activity, Link, Problem};
    use super::*;

    /// Five resources take two words; each lane minds its own.
    #[test]
    fn a_profile_of_two_words() {
        let demands = vec![1, 0, 32_767, 2, 3];
        let activity = Activity { duration: 2, demands };
        let problem = Problem::new(&[1, 0, 32_767, 4, 7], &[activity], &[], None).unwrap();
        let mut profile = Profile::new(&problem);
        profile.clear(3);
        let demand = problem.packed_of(0);
        assert!(profile.fits(1, demand));
        profile.take(1, 3, demand);
        assert!(profile.fits(0, demand) && !profile.fits(1, demand) && !profile.fits(2, demand));
        assert_eq!([0, 1, 2, 3, 4].map(|r| profile.left(1, r)), [0, 0, 0, 2, 4]);
        profile.take(1, 2, demand);
        assert!(profile.overdrawn(1) && !profile.overdrawn(2));
        assert_eq!([0, 1, 2, 3, 4].map(|r| profile.left(1, r)), [-1, 0, -32_767, 0, 1]);
        profile.give(1, 2, demand);
        profile.give(1, 3, demand);
        assert_eq!(profile.left(1, 2), 32_767);
    }

    /// In turn, 1 lies across the middle and 2 cannot start before it. Backwards from 7: 2 stays at
    /// 3, 3 goes to 5 and 0 to 3, 1 stays at 2. Forwards again 1 comes first, then 0 beside 2.
    #[test]
    fn pressing_makes_a_schedule_shorter() {
        let work = |duration, demand| Activity { duration, demands: vec![demand] };
        let activities = [work(2, 1), work(1, 2), work(4, 1), work(2, 1)];
        let problem = Problem::new(&[2], &activities, &[Link::after(0, 3)], None).unwrap();
        let mut generator = Generator::new(&problem);
        let mut order = [0, 1, 2, 3];
        assert_eq!(generator.forwards(&order), 7);
        assert_eq!(generator.starts, [0, 2, 3, 3]);
        assert_eq!(generator.press(&mut order, 7), 5);
        assert_eq!(generator.starts, [1, 0, 1, 3]);
    }
}
