//! Separate lines and arcs chained into closed loops.
//!
//! Ends within the join gap of each other are one corner. Pieces drawn twice
//! count once; what hangs loose is taken off; a chain in which every corner
//! joins two pieces is a loop. Where more pieces meet, the outer edge is the
//! loop and the pieces inside it are left. Pieces of one layer are chained
//! first, then what remains, across layers.
//!
//! Everything follows drawing order, so the same file gives the same loops.

use std::collections::{BTreeMap, HashMap};
use std::f64::consts::TAU;
use std::sync::Arc;

use super::expand::{Piece, Tally};
use super::{Corner, Drawn, Outline, signed_area};

/// A corner: a place and the pieces that end there.
struct Node {
    at: [f64; 2],
    ends: Vec<usize>,
}

struct Edge {
    from: usize,
    to: usize,
    bulge: f64,
    piece: usize,
}

/// A corner where more than two pieces met.
pub(super) struct Fork {
    pub at: [f64; 2],
    pub pieces: usize,
}

/// Chains `pieces` into loops; what does not close goes to `tally`.
///
/// # Units
/// - `gap`: how far apart two ends may be and still join, drawing units
pub(super) fn chain(pieces: Vec<Piece>, gap: f64, tally: &mut Tally) -> (Vec<Outline>, Vec<Fork>) {
    let mut layers: Vec<(Arc<str>, Vec<Piece>)> = Vec::new();
    let mut index: HashMap<Arc<str>, usize> = HashMap::new();
    for piece in pieces {
        let at = *index.entry(Arc::clone(&piece.layer)).or_insert_with(|| {
            layers.push((Arc::clone(&piece.layer), Vec::new()));
            layers.len() - 1
        });
        layers[at].1.push(piece);
    }
    let several = layers.len() > 1;
    let (mut outlines, mut forks, mut loose) = (Vec::new(), Vec::new(), Vec::new());
    for (_, pieces) in layers {
        loose.extend(Web::of(pieces, gap, tally).loops(&mut outlines, &mut forks, tally));
    }
    if several {
        loose = Web::of(loose, gap, tally).loops(&mut outlines, &mut forks, tally);
    }
    for piece in loose {
        tally.add(&piece.name, &format!("on layer {}: does not close into a loop", piece.layer));
    }
    (outlines, forks)
}

struct Web {
    pieces: Vec<Piece>,
    nodes: Vec<Node>,
    edges: Vec<Edge>,
    gone: Vec<bool>,
}

impl Web {
    fn of(pieces: Vec<Piece>, gap: f64, tally: &mut Tally) -> Self {
        let mut nodes: Vec<Node> = Vec::new();
        let mut cells: HashMap<(i64, i64), Vec<usize>> = HashMap::new();
        let mut node = |at: [f64; 2]| {
            // Casts of floats saturate; a saturated cell only means more comparing.
            let cell = at.map(|part| (part / gap).floor() as i64);
            let around = (-1..=1).flat_map(|dx| (-1..=1).map(move |dy| (dx, dy)));
            let nearest = around
                .filter_map(|(dx, dy)| cells.get(&(cell[0].saturating_add(dx), cell[1].saturating_add(dy))))
                .flatten()
                .map(|&index: &usize| (distance(nodes[index].at, at), index))
                .filter(|(away, _)| *away <= gap)
                .min_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
            match nearest {
                Some((_, index)) => index,
                None => {
                    nodes.push(Node { at, ends: Vec::new() });
                    cells.entry((cell[0], cell[1])).or_default().push(nodes.len() - 1);
                    nodes.len() - 1
                }
            }
        };
        let ends: Vec<_> = pieces.iter().map(|piece| (node(piece.from), node(piece.to))).collect();
        let mut edges = Vec::with_capacity(ends.len());
        let mut drawn: HashMap<(usize, usize, i64), ()> = HashMap::new();
        for (piece, (from, to)) in ends.into_iter().enumerate() {
            let Piece { bulge, name, .. } = &pieces[piece];
            if from == to {
                tally.add(name, "shorter than the gap at which ends are joined");
                continue;
            }
            // The same piece drawn from its other end has the other sign.
            let steps = (bulge * 1e6).round() as i64;
            let key = if from < to { (from, to, steps) } else { (to, from, steps.saturating_neg()) };
            if drawn.insert(key, ()).is_some() {
                tally.add(name, "drawn twice");
                continue;
            }
            for end in [from, to] {
                nodes[end].ends.push(edges.len());
            }
            edges.push(Edge { from, to, bulge: *bulge, piece });
        }
        let gone = vec![false; edges.len()];
        Self { pieces, nodes, edges, gone }
    }

    /// The loops, in drawing order; returns the pieces that hang loose.
    fn loops(mut self, outlines: &mut Vec<Outline>, forks: &mut Vec<Fork>, tally: &mut Tally) -> Vec<Piece> {
        let mut loose = self.prune();
        for first in 0..self.edges.len() {
            if self.gone[first] {
                continue;
            }
            let members = self.component(first);
            let forked: Vec<usize> =
                members.iter().copied().filter(|&node| self.live(node).count() > 2).collect();
            let walk = if forked.is_empty() { self.around(first) } else { self.outer(&members) };
            let mut used = vec![];
            if let Some(walk) = walk
                && let Some(outline) = self.outline(&walk)
            {
                used = walk.iter().map(|&(edge, _)| edge).collect();
                outlines.push(outline);
            }
            if let Some(&at) = forked.first() {
                forks.push(Fork { at: self.nodes[at].at, pieces: self.live(at).count() });
            }
            used.sort_unstable();
            let mut all: Vec<usize> = members.iter().flat_map(|&node| self.live(node)).collect();
            all.sort_unstable();
            all.dedup();
            for edge in all {
                self.gone[edge] = true;
                let piece = &self.pieces[self.edges[edge].piece];
                if used.binary_search(&edge).is_ok() {
                    continue;
                }
                if used.is_empty() {
                    loose.push(self.edges[edge].piece);
                } else {
                    tally.add(
                        &piece.name,
                        &format!("on layer {}: inside the outline it touches", piece.layer),
                    );
                }
            }
        }
        loose.sort_unstable();
        loose.into_iter().map(|piece| self.pieces[piece].clone()).collect()
    }

    /// The edges at a node that are still there.
    fn live(&self, node: usize) -> impl Iterator<Item = usize> + '_ {
        self.nodes[node].ends.iter().copied().filter(|&edge| !self.gone[edge])
    }

    /// Takes off what hangs by one end; returns its pieces.
    fn prune(&mut self) -> Vec<usize> {
        let mut loose = Vec::new();
        let mut degree: Vec<usize> = self.nodes.iter().map(|node| node.ends.len()).collect();
        let mut queue: Vec<usize> = (0..degree.len()).filter(|&node| degree[node] == 1).collect();
        while let Some(node) = queue.pop() {
            let Some(edge) = self.live(node).next() else { continue };
            self.gone[edge] = true;
            loose.push(self.edges[edge].piece);
            for end in [self.edges[edge].from, self.edges[edge].to] {
                degree[end] -= 1;
                if degree[end] == 1 {
                    queue.push(end);
                }
            }
        }
        loose
    }

    /// The nodes that hang together with an edge, in the order of their numbers.
    fn component(&self, first: usize) -> Vec<usize> {
        let mut seen = BTreeMap::from([(self.edges[first].from, ())]);
        let mut queue = vec![self.edges[first].from];
        while let Some(node) = queue.pop() {
            for edge in self.live(node) {
                for end in [self.edges[edge].from, self.edges[edge].to] {
                    if seen.insert(end, ()).is_none() {
                        queue.push(end);
                    }
                }
            }
        }
        seen.into_keys().collect()
    }

    /// Round a component in which every node has two edges: (edge, forwards).
    fn around(&self, first: usize) -> Option<Vec<(usize, bool)>> {
        let mut walk = vec![(first, true)];
        let (start, mut node) = (self.edges[first].from, self.edges[first].to);
        let mut edge = first;
        while node != start {
            edge = self.live(node).find(|&next| next != edge)?;
            let forwards = self.edges[edge].from == node;
            node = if forwards { self.edges[edge].to } else { self.edges[edge].from };
            walk.push((edge, forwards));
        }
        Some(walk)
    }

    /// The outer edge of a component with forks, or nothing where it is no simple loop.
    ///
    /// All faces are walked, at each node taking the next edge clockwise; the
    /// one that runs clockwise as a whole is the outer one.
    fn outer(&self, members: &[usize]) -> Option<Vec<(usize, bool)>> {
        let mut order: HashMap<usize, Vec<(usize, bool)>> = HashMap::new();
        for &node in members {
            let mut leaving: Vec<_> = self
                .live(node)
                .map(|edge| {
                    let forwards = self.edges[edge].from == node;
                    (self.heading(edge, forwards), edge, forwards)
                })
                .collect();
            leaving.sort_by(|a, b| a.0.0.cmp(&b.0.0).then(a.0.1.total_cmp(&b.0.1)).then(a.1.cmp(&b.1)));
            order.insert(node, leaving.into_iter().map(|(_, edge, forwards)| (edge, forwards)).collect());
        }
        // The place of each departure in the order round its node, so that a walk need not search.
        let place: HashMap<(usize, bool), usize> = order
            .values()
            .flat_map(|leaving| leaving.iter().enumerate().map(|(at, &departure)| (departure, at)))
            .collect();
        let mut walked: HashMap<(usize, bool), ()> = HashMap::new();
        let mut best: Option<(f64, Vec<(usize, bool)>)> = None;
        let mut starts: Vec<_> = place.keys().copied().collect();
        starts.sort_unstable();
        for start in starts {
            let mut face = Vec::new();
            let mut half = start;
            while walked.insert(half, ()).is_none() {
                face.push(half);
                let (edge, forwards) = half;
                let node = if forwards { self.edges[edge].to } else { self.edges[edge].from };
                let leaving = order.get(&node)?;
                let back = *place.get(&(edge, !forwards))?;
                half = leaving[(back + leaving.len() - 1) % leaving.len()];
            }
            if face.is_empty() {
                continue;
            }
            let area = signed_area(&self.corners(&face));
            if best.as_ref().is_none_or(|(least, _)| area < *least) {
                best = Some((area, face));
            }
        }
        let (area, face) = best?;
        let mut nodes: Vec<usize> = face.iter().map(|&half| self.start(half)).collect();
        let count = nodes.len();
        nodes.sort_unstable();
        nodes.dedup();
        (area < 0.0 && nodes.len() == count).then_some(face)
    }

    fn start(&self, (edge, forwards): (usize, bool)) -> usize {
        if forwards { self.edges[edge].from } else { self.edges[edge].to }
    }

    /// Direction in which an edge leaves, in millionths of a radian, and how it curves (left above zero).
    fn heading(&self, edge: usize, forwards: bool) -> (i64, f64) {
        let Edge { from, to, bulge, .. } = self.edges[edge];
        let (from, to, bulge) = if forwards { (from, to, bulge) } else { (to, from, -bulge) };
        let (from, to) = (self.nodes[from].at, self.nodes[to].at);
        let chord = (to[1] - from[1]).atan2(to[0] - from[0]);
        let angle = (chord - 2.0 * bulge.atan()).rem_euclid(TAU);
        let steps = ((angle * 1e6).round() as i64).rem_euclid((TAU * 1e6).round() as i64);
        // 1/radius of the arc over a chord c: sin(half the sweep)·2/c.
        (steps, (2.0 * bulge.atan()).sin() * 2.0 / distance(from, to))
    }

    fn corners(&self, walk: &[(usize, bool)]) -> Vec<Corner> {
        walk.iter()
            .map(|&(edge, forwards)| {
                let [x, y] = self.nodes[self.start((edge, forwards))].at;
                let bulge = self.edges[edge].bulge;
                Corner { x, y, bulge: if forwards { bulge } else { -bulge } }
            })
            .collect()
    }

    fn outline(&self, walk: &[(usize, bool)]) -> Option<Outline> {
        let layer = &self.pieces[self.edges[walk.first()?.0].piece].layer;
        Outline::closed(self.corners(walk), Arc::clone(layer), Drawn::Chained)
    }
}

fn distance(a: [f64; 2], b: [f64; 2]) -> f64 {
    (a[0] - b[0]).hypot(a[1] - b[1])
}

/// The swept angle of a bulge, radians.
pub(super) fn sweep(bulge: f64) -> f64 {
    (4.0 * bulge.atan()).clamp(-TAU, TAU)
}

/// Area between an arc and its chord, above zero for a bulge above zero.
pub(super) fn segment_area(chord: f64, bulge: f64) -> f64 {
    if bulge == 0.0 {
        return 0.0;
    }
    let sweep = sweep(bulge.abs());
    let sine = (sweep / 2.0).sin();
    if sine.abs() < 1e-12 {
        return 0.0;
    }
    let radius = chord / (2.0 * sine.abs());
    bulge.signum() * radius * radius * (sweep - sweep.sin()) / 2.0
}

#[cfg(test)]
mod tests {
    use std::f64::consts::PI;

    use super::*;

    fn line(from: [f64; 2], to: [f64; 2]) -> Piece {
        Piece { from, to, bulge: 0.0, layer: "A".into(), name: "LINE".into() }
    }

    fn square() -> Vec<Piece> {
        // Out of order, and one of them drawn backwards.
        vec![
            line([0.0, 0.0], [2.0, 0.0]),
            line([2.0, 1.0], [0.0, 1.0]),
            line([0.0, 1.0], [0.0, 0.0]),
            line([2.0, 1.0], [2.0, 0.0]),
        ]
    }

    fn run(pieces: Vec<Piece>) -> (Vec<Outline>, usize, Vec<String>) {
        let mut tally = Tally::default();
        let (outlines, forks) = chain(pieces, 1e-3, &mut tally);
        let left =
            tally.left.iter().map(|left| format!("{} {}: {}", left.count, left.what, left.why)).collect();
        (outlines, forks.len(), left)
    }

    #[test]
    fn lines_in_any_order_close() {
        let (outlines, forks, left) = run(square());
        assert_eq!((outlines.len(), forks, left.len()), (1, 0, 0));
        assert!((outlines[0].area() - 2.0).abs() < 1e-12);
        assert_eq!(outlines[0].path.len(), 4);
    }

    #[test]
    fn a_small_gap_joins_and_a_large_one_does_not() {
        let mut pieces = square();
        pieces[0].to = [1.9995, 0.0];
        assert_eq!(run(pieces.clone()).0.len(), 1);
        pieces[0].to = [1.99, 0.0];
        let (outlines, _, left) = run(pieces);
        assert_eq!(outlines.len(), 0);
        assert_eq!(left, ["4 LINE: on layer A: does not close into a loop"]);
    }

    #[test]
    fn doubles_and_loose_ends_are_left() {
        let mut pieces = square();
        pieces.push(line([2.0, 0.0], [0.0, 0.0]));
        pieces.push(line([2.0, 0.0], [3.0, 0.0]));
        pieces.push(line([5.0, 5.0], [5.0, 5.0]));
        let (outlines, _, left) = run(pieces);
        assert_eq!(outlines.len(), 1);
        assert_eq!(
            left,
            [
                "1 LINE: drawn twice",
                "1 LINE: shorter than the gap at which ends are joined",
                "1 LINE: on layer A: does not close into a loop"
            ]
        );
    }

    #[test]
    fn where_more_pieces_meet_the_outer_edge_is_taken() {
        let mut pieces = square();
        // A diagonal, and a half-round bump on the right whose chord is an edge of the square.
        pieces.push(line([0.0, 0.0], [2.0, 1.0]));
        pieces.push(Piece { bulge: 1.0, ..line([2.0, 0.0], [2.0, 1.0]) });
        let (outlines, forks, left) = run(pieces);
        assert_eq!((outlines.len(), forks), (1, 1));
        let want = 2.0 + PI * 0.5_f64.powi(2) / 2.0;
        assert!((outlines[0].area() - want).abs() < 1e-9, "{}", outlines[0].area());
        assert_eq!(left, ["2 LINE: on layer A: inside the outline it touches"]);
    }

    #[test]
    fn two_half_rounds_make_a_circle() {
        let half = |from, to| Piece { bulge: 1.0, ..line(from, to) };
        let (outlines, _, left) = run(vec![half([1.0, 0.0], [-1.0, 0.0]), half([-1.0, 0.0], [1.0, 0.0])]);
        assert_eq!((outlines.len(), left.len()), (1, 0));
        assert!((outlines[0].area() - PI).abs() < 1e-9);
        let ([x, y], diameter) = outlines[0].round(1e-6).unwrap();
        assert!(x.abs() + y.abs() < 1e-9 && (diameter - 2.0).abs() < 1e-9);
    }

    #[test]
    fn a_loop_over_two_layers_closes_in_the_second_pass() {
        let mut pieces = square();
        pieces[3].layer = "B".into();
        assert_eq!(run(pieces).0.len(), 1);
    }
}
