//! A few jobs in the best order there is, by layers of sets that are closed under precedence.
//!
//! A state is what is done and which job was last. Of two ways to one state
//! the cheaper is kept; a state goes no further when what it has cost and the
//! shortest tree over what is left come to no less than an order in hand.

use std::collections::HashMap;

use super::model::Model;
use super::precedence::Precedence;
use super::{Phase, Watch};

/// More jobs are not tried.
const MOST_JOBS: usize = 26;
/// States that may be kept before it is given up.
const MOST_STATES: usize = 120_000;
/// Between two questions whether to stop.
const STATES_A_CALL: usize = 256;

#[derive(Clone, Copy)]
struct State {
    done: u64,
    last: u32,
    parent: u32,
    cost: f64,
}

/// The best order and its cost, s; nothing where there are too many jobs or states.
pub(super) fn solve(
    model: &Model,
    precedence: &Precedence,
    in_hand: &[u32],
    cost: f64,
    watch: &mut Watch<'_>,
) -> Option<(Vec<u32>, f64)> {
    let n = model.n;
    if n > MOST_JOBS {
        return None;
    }
    let before: Vec<u64> = (0..model.start()).map(|job| precedence.ancestors(job)[0]).collect();
    let mut states = vec![State { done: 0, last: model.start(), parent: u32::MAX, cost: 0.0 }];
    let mut layer = 0..1;
    let mut known: HashMap<(u64, u32), usize> = HashMap::new();
    let mut tree = Tree { model, left: Vec::new(), link: Vec::new() };
    for _ in 0..n {
        known.clear();
        let from = states.len();
        for at in layer.clone() {
            if at % STATES_A_CALL == 0 && watch.asks_to_stop(Phase::Exact, (STATES_A_CALL * model.n) as u64) {
                return None;
            }
            let state = states[at];
            // Only what is strictly cheaper than the order in hand is followed.
            if state.cost + tree.over(state.done, state.last) >= cost - 1e-9 {
                continue;
            }
            for job in 0..model.start() {
                let bit = 1 << job;
                if state.done & bit != 0 || before[job as usize] & !state.done != 0 {
                    continue;
                }
                let it = State {
                    done: state.done | bit,
                    last: job,
                    parent: u32::try_from(at).expect("few states"),
                    cost: state.cost + model.step(state.last, job),
                };
                let slot = *known.entry((it.done, it.last)).or_insert(states.len());
                if slot == states.len() {
                    states.push(it);
                } else if it.cost < states[slot].cost {
                    states[slot] = it;
                }
            }
            if states.len() > MOST_STATES {
                return None;
            }
        }
        layer = from..states.len();
    }
    let best = layer.min_by(|&a, &b| states[a].cost.total_cmp(&states[b].cost));
    let Some(best) = best.filter(|&best| states[best].cost < cost - 1e-9) else {
        return Some((in_hand.to_vec(), cost));
    };
    let mut order = Vec::with_capacity(n);
    let mut at = best;
    while states[at].parent != u32::MAX {
        order.push(states[at].last);
        at = states[at].parent as usize;
    }
    order.reverse();
    Some((order, states[best].cost))
}

struct Tree<'a> {
    model: &'a Model,
    left: Vec<u32>,
    link: Vec<f64>,
}

impl Tree<'_> {
    /// The shortest tree over the last job and all that are left: what is still to come is no less.
    fn over(&mut self, done: u64, last: u32) -> f64 {
        self.left.clear();
        self.left.extend((0..self.model.start()).filter(|&job| done >> job & 1 == 0));
        self.link.clear();
        self.link.extend(self.left.iter().map(|&job| self.model.step(last, job)));
        let mut total = 0.0;
        while !self.left.is_empty() {
            let nearest = (0..self.left.len()).min_by(|&a, &b| self.link[a].total_cmp(&self.link[b]));
            let nearest = nearest.expect("something is left");
            total += self.link.swap_remove(nearest);
            let job = self.left.swap_remove(nearest);
            for (slot, &other) in self.link.iter_mut().zip(&self.left) {
                *slot = slot.min(self.model.step(job, other));
            }
        }
        total
    }
}
