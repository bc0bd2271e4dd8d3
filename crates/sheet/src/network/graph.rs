//! What follows what: an order, depths, and which arcs are implied by others.
//!
//! Sets are bits, so that a build of hundreds of steps is weighed at once:
//! everything here takes the number of arcs times a 64th of the number of
//! nodes. Ties are broken by the order in which the caller lists the nodes, so
//! that the same plan is always drawn the same.

/// A set of small numbers.
#[derive(Clone)]
pub struct Bits(Vec<u64>);

impl Bits {
    pub fn none(count: usize) -> Self {
        Self(vec![0; count.div_ceil(64)])
    }

    pub fn add(&mut self, at: usize) {
        self.0[at / 64] |= 1 << (at % 64);
    }

    pub fn has(&self, at: usize) -> bool {
        self.0[at / 64] >> (at % 64) & 1 == 1
    }

    pub fn join(&mut self, other: &Self) {
        for (mine, theirs) in self.0.iter_mut().zip(&other.0) {
            *mine |= theirs;
        }
    }
}

/// Nodes by number and their arcs, without rings.
pub struct Graph {
    /// Arcs that are kept, as indices into what was handed in, with their ends.
    pub arcs: Vec<(usize, [usize; 2])>,
    /// Arcs left out because a longer way says the same, as indices.
    pub implied: Vec<usize>,
    /// Arcs left out because they close a ring or have no end, as indices.
    pub rings: Vec<usize>,
    /// What directly follows each node.
    pub after: Vec<Vec<usize>>,
    /// What each node directly follows.
    pub before: Vec<Vec<usize>>,
    /// Everything that follows each node, near and far.
    pub reach: Vec<Bits>,
}

impl Graph {
    /// Sorts out arcs among `count` nodes; one that is marked is kept even if others imply it.
    pub fn of(count: usize, arcs: &[([usize; 2], bool)]) -> Self {
        let (mut rings, mut first) = (Vec::new(), Vec::new());
        let mut listed: Vec<Vec<usize>> = vec![Vec::new(); count];
        for (index, &([from, to], _)) in arcs.iter().enumerate() {
            if from >= count || to >= count || from == to {
                rings.push(index);
            } else {
                listed[from].push(index);
            }
        }
        let closing = closing(count, &listed, arcs);
        rings.extend(closing.iter().copied());
        for (from, out) in listed.iter_mut().enumerate() {
            out.retain(|index| !closing.contains(index));
            first.extend(out.iter().map(|index| [from, arcs[*index].0[1]]));
        }
        let order = order_of(count, &first);
        let mut place = vec![0; count];
        for (at, &node) in order.iter().enumerate() {
            place[node] = at;
        }
        let mut it = Self {
            arcs: Vec::new(),
            implied: Vec::new(),
            rings,
            after: vec![Vec::new(); count],
            before: vec![Vec::new(); count],
            reach: vec![Bits::none(count); count],
        };
        for &node in order.iter().rev() {
            let mut out = std::mem::take(&mut listed[node]);
            // Nearest first; of several arcs to one node the marked one.
            out.sort_by_key(|index| (place[arcs[*index].0[1]], !arcs[*index].1));
            let mut seen = Bits::none(count);
            let mut last = None;
            for index in out {
                let ([_, to], marked) = arcs[index];
                if last == Some(to) || (seen.has(to) && !marked) {
                    it.implied.push(index);
                } else {
                    it.arcs.push((index, [node, to]));
                    it.after[node].push(to);
                    it.before[to].push(node);
                }
                last = Some(to);
                seen.add(to);
                let far = it.reach[to].clone();
                seen.join(&far);
            }
            it.reach[node] = seen;
        }
        it.arcs.sort_unstable();
        it.implied.sort_unstable();
        it.rings.sort_unstable();
        for list in it.after.iter_mut().chain(&mut it.before) {
            list.sort_unstable();
        }
        it
    }
}

/// Arcs that lead back to where a walk came from.
fn closing(count: usize, listed: &[Vec<usize>], arcs: &[([usize; 2], bool)]) -> Vec<usize> {
    let mut closing = Vec::new();
    // Not met, on the way, left behind.
    let mut met = vec![0_u8; count];
    for start in 0..count {
        if met[start] != 0 {
            continue;
        }
        let mut way = vec![(start, 0)];
        met[start] = 1;
        while let Some((node, next)) = way.last_mut() {
            let Some(&index) = listed[*node].get(*next) else {
                met[*node] = 2;
                way.pop();
                continue;
            };
            *next += 1;
            let to = arcs[index].0[1];
            match met[to] {
                0 => {
                    met[to] = 1;
                    way.push((to, 0));
                }
                1 => closing.push(index),
                _ => {}
            }
        }
    }
    closing
}

/// Every node after all that it follows; there is no ring.
fn order_of(count: usize, arcs: &[[usize; 2]]) -> Vec<usize> {
    let mut waits = vec![0; count];
    let mut after = vec![Vec::new(); count];
    for &[from, to] in arcs {
        waits[to] += 1;
        after[from].push(to);
    }
    let mut order: Vec<usize> = (0..count).filter(|node| waits[*node] == 0).collect();
    let mut at = 0;
    while let Some(&node) = order.get(at) {
        at += 1;
        for &to in &after[node] {
            waits[to] -= 1;
            if waits[to] == 0 {
                order.push(to);
            }
        }
    }
    order
}

/// How many nodes the longest way to each one has before it.
pub fn depths(count: usize, arcs: &[[usize; 2]]) -> Vec<usize> {
    let mut depth = vec![0; count];
    let mut after = vec![Vec::new(); count];
    for &[from, to] in arcs {
        after[from].push(to);
    }
    for node in order_of(count, arcs) {
        for &to in &after[node] {
            depth[to] = depth[to].max(depth[node] + 1);
        }
    }
    depth
}

/// The nodes one below the other so that every arc goes down and few go far.
///
/// It stays in an assembly while there is something to place. When there is not,
/// it goes on with what follows the latest placed, and begins something new only
/// when what waits needs it.
pub fn column(graph: &Graph, lanes: &[usize]) -> Vec<usize> {
    let count = lanes.len();
    let mut waits: Vec<usize> = graph.before.iter().map(Vec::len).collect();
    let mut latest: Vec<Option<usize>> = vec![None; count];
    let mut free: Vec<usize> = (0..count).filter(|node| waits[*node] == 0).collect();
    let mut order = Vec::with_capacity(count);
    let mut lane = None;
    while !free.is_empty() {
        // Half-begun nodes: a new beginning that leads to one of them is wanted.
        let wanted = |node: usize| {
            (0..count).any(|it| waits[it] > 0 && latest[it].is_some() && graph.reach[node].has(it))
        };
        let follows = free.iter().any(|node| Some(lanes[*node]) == lane || latest[*node].is_some());
        let best = (0..free.len())
            .min_by_key(|at| {
                let node = free[*at];
                let same = Some(lanes[node]) == lane;
                let begins = latest[node].is_none();
                let unwanted = begins && !follows && !wanted(node);
                // Within an assembly the builder's own order; elsewhere on from what was last placed.
                let back = latest[node].map_or(0, |at| count - at);
                (!same, !same && begins, unwanted, if same { 0 } else { back }, node)
            })
            .unwrap_or(0);
        let node = free.swap_remove(best);
        lane = Some(lanes[node]);
        for &to in &graph.after[node] {
            latest[to] = Some(order.len());
            waits[to] -= 1;
            if waits[to] == 0 {
                free.push(to);
            }
        }
        order.push(node);
    }
    order
}

#[cfg(test)]
mod tests {
    use super::*;

    fn plain(arcs: &[[usize; 2]]) -> Vec<([usize; 2], bool)> {
        arcs.iter().map(|ends| (*ends, false)).collect()
    }

    #[test]
    fn the_short_cut_of_a_longer_way_is_implied() {
        let graph = Graph::of(4, &plain(&[[0, 3], [0, 1], [1, 2], [2, 3], [0, 2]]));
        assert_eq!(graph.implied, [0, 4]);
        assert_eq!(graph.arcs, [(1, [0, 1]), (2, [1, 2]), (3, [2, 3])]);
    }

    #[test]
    fn a_marked_arc_is_kept_and_of_two_the_marked_one() {
        let graph = Graph::of(3, &[([0, 1], false), ([1, 2], false), ([0, 2], true), ([0, 1], true)]);
        assert_eq!(graph.implied, [0]);
        assert_eq!(graph.arcs, [(1, [1, 2]), (2, [0, 2]), (3, [0, 1])]);
    }

    #[test]
    fn a_ring_is_opened_and_named() {
        let graph = Graph::of(3, &plain(&[[0, 1], [1, 2], [2, 0], [1, 1], [1, 9]]));
        assert_eq!(graph.rings, [2, 3, 4]);
        assert_eq!(graph.arcs.len(), 2);
    }

    #[test]
    fn depth_is_that_of_the_longest_way() {
        assert_eq!(depths(5, &[[0, 1], [1, 2], [0, 2], [3, 2]]), [0, 1, 2, 0, 0]);
    }

    /// Two assemblies of two steps, the second step of the first waits for the second assembly.
    #[test]
    fn the_column_stays_in_an_assembly_and_fetches_what_is_wanted() {
        let graph = Graph::of(6, &plain(&[[0, 1], [1, 2], [4, 2], [3, 4]]));
        assert_eq!(column(&graph, &[0, 0, 0, 2, 2, 1]), [0, 1, 3, 4, 2, 5]);
    }
}
