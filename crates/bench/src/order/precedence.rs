//! Which job comes before which, gathered into groups that stand alike.
//!
//! Jobs with the same jobs before and the same jobs behind them form a group.
//! Where one job of a group comes before one of another, every one does, so a
//! thousand pairs "all of these before all of those" shrink to one.

use std::collections::HashMap;

/// Precedence with everything it implies.
pub(super) struct Precedence {
    words: usize,
    /// A row of bits for each job: what comes before it.
    ancestors: Vec<u64>,
    /// Group of each job.
    pub group: Vec<u32>,
    /// Jobs of each group.
    pub members: Vec<Vec<u32>>,
    /// Groups directly before each group, nothing between.
    pub before: Vec<Vec<u32>>,
    /// Groups directly behind each group, nothing between.
    pub after: Vec<Vec<u32>>,
    /// Jobs directly before each job, as given, without repetitions.
    pub given: Vec<Vec<u32>>,
}

impl Precedence {
    /// All that follows from the pairs, or a circle in them.
    pub fn of(n: usize, pairs: &[(u32, u32)]) -> Result<Self, Vec<u32>> {
        let mut given = vec![Vec::new(); n];
        let mut behind = vec![Vec::new(); n];
        for &(first, then) in pairs {
            given[then as usize].push(first);
        }
        for (then, firsts) in (0..).zip(&mut given) {
            firsts.sort_unstable();
            firsts.dedup();
            for &first in firsts.iter() {
                behind[first as usize].push(then);
            }
        }
        let sorted = sort(&given, &behind)?;

        let words = n.div_ceil(64);
        let ancestors = closure(words, sorted.iter().copied(), &given);
        let descendants = closure(words, sorted.iter().rev().copied(), &behind);
        let row = |bits: &[u64], job: usize| bits[job * words..(job + 1) * words].to_vec();

        let mut number = HashMap::new();
        let mut group = Vec::with_capacity(n);
        let mut members: Vec<Vec<u32>> = Vec::new();
        for job in 0..n {
            let next = members.len();
            let at = *number.entry((row(&ancestors, job), row(&descendants, job))).or_insert(next);
            if at == next {
                members.push(Vec::new());
            }
            members[at].push(tag(job));
            group.push(tag(at));
        }

        let mut before = vec![Vec::new(); members.len()];
        let mut after = vec![Vec::new(); members.len()];
        let mut further = vec![0_u64; words];
        for (at, jobs) in members.iter().enumerate() {
            let firsts = &given[jobs[0] as usize];
            further.fill(0);
            for &first in firsts {
                let row = &ancestors[first as usize * words..][..words];
                further.iter_mut().zip(row).for_each(|(all, more)| *all |= more);
            }
            let mut direct: Vec<u32> =
                firsts.iter().filter(|&&first| !has(&further, first)).map(|&f| group[f as usize]).collect();
            direct.sort_unstable();
            direct.dedup();
            for &first in &direct {
                after[first as usize].push(tag(at));
            }
            before[at] = direct;
        }
        Ok(Self { words, ancestors, group, members, before, after, given })
    }

    /// Whether `first` has to come before `then`.
    pub fn comes_before(&self, first: u32, then: u32) -> bool {
        has(self.ancestors(then), first)
    }

    /// A row of bits: what comes before the job.
    pub fn ancestors(&self, job: u32) -> &[u64] {
        &self.ancestors[job as usize * self.words..][..self.words]
    }

    /// Words in a row of bits.
    pub fn words(&self) -> usize {
        self.words
    }
}

fn tag(number: usize) -> u32 {
    u32::try_from(number).expect("jobs are numbered by u32")
}

fn has(bits: &[u64], job: u32) -> bool {
    bits[job as usize / 64] >> (job % 64) & 1 == 1
}

/// For each job the union of what its neighbours have, and the neighbours themselves.
fn closure(words: usize, sorted: impl Iterator<Item = u32>, neighbours: &[Vec<u32>]) -> Vec<u64> {
    let mut bits = vec![0_u64; words * neighbours.len()];
    let mut row = vec![0_u64; words];
    for job in sorted {
        row.fill(0);
        for &other in &neighbours[job as usize] {
            let more = &bits[other as usize * words..][..words];
            row.iter_mut().zip(more).for_each(|(all, more)| *all |= more);
            row[other as usize / 64] |= 1 << (other % 64);
        }
        bits[job as usize * words..][..words].copy_from_slice(&row);
    }
    bits
}

/// Jobs so that every one stands behind what comes before it.
fn sort(given: &[Vec<u32>], behind: &[Vec<u32>]) -> Result<Vec<u32>, Vec<u32>> {
    let mut waiting: Vec<usize> = given.iter().map(Vec::len).collect();
    let mut sorted: Vec<u32> = (0..).zip(&waiting).filter(|&(_, &w)| w == 0).map(|(job, _)| job).collect();
    let mut next = 0;
    while let Some(&job) = sorted.get(next) {
        next += 1;
        for &then in &behind[job as usize] {
            waiting[then as usize] -= 1;
            if waiting[then as usize] == 0 {
                sorted.push(then);
            }
        }
    }
    if sorted.len() == given.len() {
        return Ok(sorted);
    }
    // Every job that is left waits for one that is left; walking back must come round.
    let stuck = |job: &&u32| waiting[**job as usize] > 0;
    let first = (0..).zip(&waiting).find(|&(_, &w)| w > 0).map(|(job, _)| job);
    let mut trail = vec![first.expect("a job is left over")];
    loop {
        let here = *trail.last().expect("the trail begins with a job");
        let back = *given[here as usize].iter().find(stuck).expect("it waits for one that is left");
        if let Some(at) = trail.iter().position(|&job| job == back) {
            let mut circle = trail.split_off(at);
            circle.reverse();
            let least = circle.iter().enumerate().min_by_key(|(_, job)| **job).map_or(0, |(at, _)| at);
            circle.rotate_left(least);
            return Err(circle);
        }
        trail.push(back);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 0, 1 before 2, 3 before 4; 5 stands alone. Pairs that follow from others are left out.
    #[test]
    fn jobs_that_stand_alike_are_one_group() {
        let pairs = [(0, 2), (0, 3), (1, 2), (1, 3), (2, 4), (3, 4), (0, 4), (0, 4)];
        let it = Precedence::of(6, &pairs).unwrap();
        assert_eq!(it.group, [0, 0, 1, 1, 2, 3]);
        assert_eq!(it.before, [vec![], vec![0], vec![1], vec![]]);
        assert_eq!(it.after, [vec![1], vec![2], vec![], vec![]]);
        assert!(it.comes_before(1, 4) && !it.comes_before(4, 1) && !it.comes_before(5, 4));
    }
}
