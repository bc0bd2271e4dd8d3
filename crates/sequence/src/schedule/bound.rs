//! Bounds that are known at once: ways through the links, and what each resource has to carry.

use super::Problem;
use super::generate::heads_and_tails;

/// No schedule ends before this, in slots.
///
/// The longest way through the links; and for each resource, what must pass between the time
/// before which none of some activities can start and the time after which all of them have
/// ended.
pub(super) fn at_once(problem: &Problem) -> u32 {
    let (heads, tails) = heads_and_tails(problem);
    let mut bound = (0..problem.n).map(|i| i64::from(heads[i]) + i64::from(tails[i])).max().unwrap_or(0);
    let after = |i: usize| tails[i] - problem.durations[i];
    for r in 0..problem.resources {
        let mut users: Vec<usize> = (0..problem.n).filter(|&i| problem.demands_of(i)[r] > 0).collect();
        let capacity = i64::from(problem.capacities[r]);
        let mut firsts: Vec<i32> = users.iter().map(|&i| heads[i]).collect();
        firsts.sort_unstable();
        firsts.dedup();
        // By what comes after, the longest first: with each more, more work and a shorter rest.
        users.sort_by_key(|&i| std::cmp::Reverse(after(i)));
        for first in firsts {
            let mut carried = 0;
            for &i in users.iter().filter(|&&i| heads[i] >= first) {
                carried += i64::from(problem.durations[i]) * i64::from(problem.demands_of(i)[r]);
                let takes = (carried + capacity - 1) / capacity;
                bound = bound.max(i64::from(first) + takes + i64::from(after(i)));
            }
        }
    }
    bound as u32
}

#[cfg(test)]
mod tests {
    use super::super::{Activity, Link, Problem};
    use super::*;

    fn work(duration: u32, demand: u32) -> Activity {
        Activity { duration, demands: vec![demand] }
    }

    #[test]
    fn the_longest_way() {
        let activities = [work(2, 0), work(3, 0), work(1, 0)];
        let wait = Link { from: 0, to: 1, wait: super::super::Wait::Slots(4) };
        let problem = Problem::new(&[1], &activities, &[wait, Link::after(1, 2)], None).unwrap();
        assert_eq!(at_once(&problem), 2 + 4 + 3 + 1);
    }

    /// One thing at a time, none before slot 2 and all of it before another 3: 2 + 4 + 5 + 3. The
    /// longest way is only 2 + 5 + 3.
    #[test]
    fn what_a_resource_carries_between_heads_and_tails() {
        let activities = [work(2, 0), work(4, 1), work(5, 1), work(3, 0)];
        let links = [(0, 1), (0, 2), (1, 3), (2, 3)].map(|(from, to)| Link::after(from, to));
        let problem = Problem::new(&[1], &activities, &links, None).unwrap();
        assert_eq!(at_once(&problem), 2 + 4 + 5 + 3);
    }

    /// Three times 2 of 3 for five slots: at the best 10 slots of the whole resource.
    #[test]
    fn shares_are_rounded_up() {
        let problem = Problem::new(&[3], &[work(5, 2), work(5, 2), work(5, 2)], &[], None).unwrap();
        assert_eq!(at_once(&problem), 10);
    }
}
