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
