//! Holes on one line with one pitch, grouped into rows.
//!
//! Long rows first: every pair of neighbours is followed as far as it goes in
//! both directions, the longest run is taken, and what it used is struck from
//! the others. No hole of a row lies further than the slack from where the
//! even pitch between the row's ends puts it. Ties go to the closer pitch,
//! then to the lower left, so the same holes always give the same rows.

use std::cmp::Reverse;
use std::collections::{BinaryHeap, HashSet};

use rstar::RTree;
use rstar::primitives::GeomWithData;

/// Fewest holes that make a row; two lie on a line with any pitch.
const FEWEST: usize = 3;
/// Up to so many holes, every pair is tried as neighbours.
const TRY_ALL: usize = 300;
/// Above that, so many of the nearest to each hole.
const NEIGHBOURS: usize = 16;

/// How often what remains is looked through again.
const PASSES: usize = 4;

type Tree = RTree<GeomWithData<[f64; 2], usize>>;

/// Rows as indices in order along the row, and the indices that are in none.
///
/// # Units
/// - `places`: any length
/// - `slack`: how far a hole may lie from its even place, the same length
pub(super) fn group(places: &[[f64; 2]], slack: f64) -> (Vec<Vec<usize>>, Vec<usize>) {
    let mut rows = Vec::new();
    let mut rest: Vec<usize> = (0..places.len()).collect();
    // A run that had to be cut gives up holes that may form a row of their own.
    for _ in 0..PASSES {
        let found = pass(places, &rest, slack);
        if found.is_empty() {
            break;
        }
        let used: HashSet<usize> = found.iter().flatten().copied().collect();
        rest.retain(|index| !used.contains(index));
        rows.extend(found);
    }
    (rows, rest)
}

fn pass(places: &[[f64; 2]], of: &[usize], slack: f64) -> Vec<Vec<usize>> {
    let tree = RTree::bulk_load(of.iter().map(|&index| GeomWithData::new(places[index], index)).collect());
    let mut covered: HashSet<(usize, usize)> = HashSet::new();
    let mut heap = BinaryHeap::new();
    let mut try_pair = |from: usize, to: usize| {
        let (from, to) = if ahead(places[from], places[to]) { (from, to) } else { (to, from) };
        if from == to || covered.contains(&(from, to)) || apart(places[from], places[to]) <= 2.0 * slack {
            return;
        }
        let run = grow(places, &tree, from, to, slack);
        covered.extend(run.windows(2).map(|pair| (pair[0], pair[1])));
        if run.len() >= FEWEST {
            heap.push(Candidate::of(run, places, slack));
        }
    };
    for (at, &from) in of.iter().enumerate() {
        if of.len() <= TRY_ALL {
            of[at + 1..].iter().for_each(|&to| try_pair(from, to));
        } else {
            let near = tree.nearest_neighbor_iter(&places[from]).take(NEIGHBOURS + 1);
            near.for_each(|other| try_pair(from, other.data));
        }
    }
    let mut used = HashSet::new();
    let mut rows = Vec::new();
    while let Some(candidate) = heap.pop() {
        if candidate.run.iter().any(|index| used.contains(index)) {
            let parts = candidate.run.split(|index| used.contains(index));
            heap.extend(
                parts
                    .filter(|part| part.len() >= FEWEST)
                    .map(|part| Candidate::of(part.to_vec(), places, slack)),
            );
            continue;
        }
        used.extend(candidate.run.iter().copied());
        rows.push(candidate.run);
    }
    rows
}

/// A run of holes; the greatest is taken first.
#[derive(PartialEq, Eq, PartialOrd, Ord)]
struct Candidate {
    count: usize,
    /// In steps of the slack, so that rounding does not decide.
    pitch: Reverse<i64>,
    start: Reverse<(i64, i64)>,
    run: Vec<usize>,
}

impl Candidate {
    fn of(run: Vec<usize>, places: &[[f64; 2]], slack: f64) -> Self {
        let (first, last) = (places[run[0]], places[run[run.len() - 1]]);
        let steps = |length: f64| (length / slack).round() as i64;
        let pitch = steps(apart(first, last) / (run.len() - 1) as f64);
        Self {
            count: run.len(),
            pitch: Reverse(pitch),
            start: Reverse((steps(first[1]), steps(first[0]))),
            run,
        }
    }
}

/// Follows a pair both ways, then cuts it back until every hole is in its place.
fn grow(places: &[[f64; 2]], tree: &Tree, from: usize, to: usize, slack: f64) -> Vec<usize> {
    let mut forwards = vec![from, to];
    extend(places, tree, &mut forwards, slack);
    let mut run: Vec<usize> = forwards.into_iter().rev().collect();
    extend(places, tree, &mut run, slack);
    run.reverse();
    while run.len() > 2 && !even(places, &run, slack) {
        let half = run.len().div_ceil(2).max(2);
        // Keep the half in which the pair stands that was asked for.
        let at = run.iter().position(|&index| index == from).unwrap_or(0);
        run = if at + 1 < half { run[..half].to_vec() } else { run[run.len() - half..].to_vec() };
        if !run.contains(&from) || !run.contains(&to) {
            return vec![from, to];
        }
    }
    run
}

fn extend(places: &[[f64; 2]], tree: &Tree, run: &mut Vec<usize>, slack: f64) {
    loop {
        let (first, last) = (places[run[0]], places[run[run.len() - 1]]);
        let steps = (run.len() - 1) as f64;
        let next = [last[0] + (last[0] - first[0]) / steps, last[1] + (last[1] - first[1]) / steps];
        let Some(found) = tree.nearest_neighbor(&next) else { return };
        if apart(*found.geom(), next) > slack || found.data == run[run.len() - 1] {
            return;
        }
        run.push(found.data);
    }
}

fn even(places: &[[f64; 2]], run: &[usize], slack: f64) -> bool {
    let (first, last) = (places[run[0]], places[run[run.len() - 1]]);
    let steps = (run.len() - 1) as f64;
    run.iter().enumerate().all(|(at, &index)| {
        let part = at as f64 / steps;
        let want = [first[0] + (last[0] - first[0]) * part, first[1] + (last[1] - first[1]) * part];
        apart(places[index], want) <= slack
    })
}

fn apart(a: [f64; 2], b: [f64; 2]) -> f64 {
    (a[0] - b[0]).hypot(a[1] - b[1])
}

/// A row runs to the right; one that stands upright runs upwards.
fn ahead(from: [f64; 2], to: [f64; 2]) -> bool {
    let (dx, dy) = (to[0] - from[0], to[1] - from[1]);
    if dx.abs() > dy.abs() * 1e-3 { dx > 0.0 } else { dy > 0.0 }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn line(from: [f64; 2], step: [f64; 2], count: usize) -> Vec<[f64; 2]> {
        (0..count).map(|at| [from[0] + step[0] * at as f64, from[1] + step[1] * at as f64]).collect()
    }

    #[test]
    fn a_row_is_found_whatever_the_order() {
        let mut places = line([1.0, 0.5], [0.75, 0.0], 57);
        places.reverse();
        places.swap(3, 40);
        let (rows, rest) = group(&places, 0.002);
        assert_eq!((rows.len(), rest.len()), (1, 0));
        let xs: Vec<f64> = rows[0].iter().map(|&index| places[index][0]).collect();
        assert_eq!((xs[0], xs[56]), (1.0, 43.0));
        assert!(xs.is_sorted());
    }

    #[test]
    fn a_change_of_pitch_starts_another_row() {
        let mut places = line([0.0, 0.0], [0.75, 0.0], 20);
        places.extend(line([16.0, 0.0], [0.5, 0.0], 10));
        let (rows, rest) = group(&places, 0.002);
        assert_eq!(rows.iter().map(Vec::len).collect::<Vec<_>>(), [20, 10]);
        assert!(rest.is_empty());
    }

    #[test]
    fn columns_closer_than_lines_are_taken_as_columns() {
        let places: Vec<_> =
            [6.0, 20.0, 34.0].into_iter().flat_map(|x| line([x, 1.6], [0.0, 0.7], 3)).collect();
        let (rows, _) = group(&places, 0.002);
        assert_eq!(rows.len(), 3);
        assert!(rows.iter().all(|row| places[row[0]][0] == places[row[2]][0]));
    }

    /// A drift of a tenth of the slack in each step adds up; the whole row would be out in the middle.
    #[test]
    fn slowly_growing_pitch_is_not_one_row() {
        let places: Vec<[f64; 2]> = (0..60).map(f64::from).map(|at| [at + 0.0002 * at * at, 0.0]).collect();
        let (rows, rest) = group(&places, 0.002);
        assert!(rows.len() > 1);
        assert_eq!(rows.iter().map(Vec::len).sum::<usize>() + rest.len(), 60);
        assert!(rows.iter().all(|row| even(&places, row, 0.002)));
    }

    proptest! {
        /// Each hole is in exactly one row or in none, and where the row puts it.
        #[test]
        fn every_hole_once(
            grid in proptest::collection::vec((0_i32..12, 0_i32..6), 0..60),
            wide in 0.0..0.003_f64,
        ) {
            let places: Vec<[f64; 2]> =
                grid.iter().enumerate().map(|(at, &(x, y))| [f64::from(x) + wide * (at % 2) as f64, f64::from(y)]).collect();
            let (rows, rest) = group(&places, 0.002);
            let mut all: Vec<usize> = rows.iter().flatten().chain(&rest).copied().collect();
            all.sort_unstable();
            prop_assert_eq!(all, (0..places.len()).collect::<Vec<_>>());
            for row in &rows {
                prop_assert!(row.len() >= FEWEST && even(&places, row, 0.002));
            }
            prop_assert_eq!(group(&places, 0.002), (rows, rest));
        }
    }
}
