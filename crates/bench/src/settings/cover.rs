//! Which of a row of points to open, so that each user is served by an open one.
//!
//! Every user has a cost at every point, infinite where it cannot be served.
//! Opening a point costs the same everywhere. Costs are *valleys*: along the
//! row they never rise up to the user's best point and never fall behind it.
//!
//! For valleys the answer is exact. Let i < j be neighbours among the open
//! points, and a user's best point lie in i ≤ best < j. An open point left of
//! i costs the user no less than i, because its costs do not rise from there
//! up to the best point; one right of j no less than j. So the user takes the
//! cheaper of i and j, whatever else is open, and its cost can be charged to
//! the pair (i, j). Users with their best point before the first open point
//! take that one, users behind the last take the last. The least total is
//! therefore a shortest path over pairs of open points, found by dynamic
//! programming in m² pairs.

/// Costs of one user along the row.
pub(super) type Valley = Vec<f64>;

/// The best point of a valley: the first of the least cost.
pub(super) fn best(valley: &[f64]) -> usize {
    let least = valley.iter().copied().fold(f64::INFINITY, f64::min);
    valley.iter().position(|&cost| cost <= least).unwrap_or(0)
}

/// Whether costs never rise before their best point and never fall behind it.
pub(super) fn is_valley(costs: &[f64]) -> bool {
    let at = best(costs);
    costs[..=at].is_sorted_by(|a, b| a >= b) && costs[at..].is_sorted()
}

/// The open points of the least total cost, in order; none where there is no user.
///
/// Every user must be served by at least one point, else nothing is opened.
pub(super) fn cheapest(valleys: &[Valley], opening: f64) -> Vec<usize> {
    let Some(count) = valleys.first().map(Vec::len).filter(|&count| count > 0) else { return Vec::new() };
    debug_assert!(valleys.iter().all(|valley| valley.len() == count && is_valley(valley)));
    let bests: Vec<usize> = valleys.iter().map(|valley| best(valley)).collect();
    let users = || valleys.iter().zip(&bests);
    // The least cost with `last` open and every user before it served, and the open point before it.
    let mut reached: Vec<(f64, Option<usize>)> = Vec::with_capacity(count);
    for last in 0..count {
        let alone: f64 = users().filter(|&(_, &at)| at < last).map(|(valley, _)| valley[last]).sum();
        let mut least = (alone, None);
        for (before, &(so_far, _)) in reached.iter().enumerate() {
            if so_far >= least.0 {
                continue;
            }
            let between: f64 = users()
                .filter(|&(_, &at)| (before..last).contains(&at))
                .map(|(valley, _)| valley[before].min(valley[last]))
                .sum();
            if so_far + between < least.0 {
                least = (so_far + between, Some(before));
            }
        }
        reached.push((least.0 + opening, least.1));
    }
    let mut least = (f64::INFINITY, None);
    for (last, &(so_far, _)) in reached.iter().enumerate() {
        let behind: f64 = users().filter(|&(_, &at)| at >= last).map(|(valley, _)| valley[last]).sum();
        if so_far + behind < least.0 {
            least = (so_far + behind, Some(last));
        }
    }
    let mut open: Vec<usize> = std::iter::successors(least.1, |&point| reached[point].1).collect();
    open.reverse();
    open
}

/// What a choice of open points costs: openings, and each user at its cheapest open point.
#[cfg(test)]
fn cost(valleys: &[Valley], open: &[usize], opening: f64) -> f64 {
    let served = |valley: &Valley| open.iter().map(|&point| valley[point]).fold(f64::INFINITY, f64::min);
    opening * open.len() as f64 + valleys.iter().map(served).sum::<f64>()
}

/// The fewest points that lie in every span (both ends included), in order.
///
/// By right ends: of the spans that hold no point yet, the one that ends first
/// needs a point, and none serves the others better than its right end.
pub(super) fn stab(spans: &[(usize, usize)]) -> Vec<usize> {
    let mut sorted = spans.to_vec();
    sorted.sort_unstable_by_key(|&(_, end)| end);
    let mut points: Vec<usize> = Vec::new();
    for (start, end) in sorted {
        if points.last().is_none_or(|&point| point < start) {
            points.push(end);
        }
    }
    points
}

#[cfg(test)]
mod tests {
    use super::*;
    use rand::{RngExt, SeedableRng};
    use rand_chacha::ChaCha8Rng;

    /// Random valleys: costs fall to a best point and rise behind it, in steps that may be
    /// nothing; a span outside of which the user cannot be served.
    fn valleys(rng: &mut ChaCha8Rng, points: usize) -> Vec<Valley> {
        let users = rng.random_range(1..=6);
        (0..users)
            .map(|_| {
                let at = rng.random_range(0..points);
                let span = (rng.random_range(0..=at), rng.random_range(at..points));
                let mut valley = vec![f64::INFINITY; points];
                valley[at] = rng.random_range(0.0..10.0);
                let mut step = || if rng.random_bool(0.2) { 0.0 } else { rng.random_range(0.0..30.0) };
                for point in (span.0..at).rev() {
                    valley[point] = valley[point + 1] + step();
                }
                for point in at + 1..=span.1 {
                    valley[point] = valley[point - 1] + step();
                }
                valley
            })
            .collect()
    }

    /// Every subset of the row is tried.
    #[test]
    fn a_thousand_random_rows_cost_what_all_subsets_say() {
        let mut rng = ChaCha8Rng::seed_from_u64(6);
        for case in 0..1000 {
            let points = rng.random_range(1..=9);
            let valleys = valleys(&mut rng, points);
            let opening = rng.random_range(0.0..60.0);
            let least = (1_u32..1 << points)
                .map(|mask| {
                    let open: Vec<usize> = (0..points).filter(|&point| mask & 1 << point != 0).collect();
                    cost(&valleys, &open, opening)
                })
                .fold(f64::INFINITY, f64::min);
            let got = cost(&valleys, &cheapest(&valleys, opening), opening);
            assert!((got - least).abs() < 1e-9, "case {case}: {got}, all subsets {least}");
        }
    }

    #[test]
    fn a_thousand_random_rows_are_stabbed_as_few_times_as_all_subsets_say() {
        let mut rng = ChaCha8Rng::seed_from_u64(15);
        for case in 0..1000 {
            let points = rng.random_range(1..=9);
            let spans: Vec<(usize, usize)> = (0..rng.random_range(1..=7))
                .map(|_| {
                    let start = rng.random_range(0..points);
                    (start, rng.random_range(start..points))
                })
                .collect();
            let holds =
                |open: u32, &(start, end): &(usize, usize)| (start..=end).any(|point| open & 1 << point != 0);
            let least = (1_u32..1 << points)
                .filter(|&open| spans.iter().all(|span| holds(open, span)))
                .map(u32::count_ones)
                .min()
                .unwrap();
            let got = stab(&spans);
            let open = got.iter().fold(0, |open, &point| open | 1 << point);
            assert!(spans.iter().all(|span| holds(open, span)), "case {case}");
            assert_eq!(got.len(), least as usize, "case {case}: {spans:?}");
        }
    }

    /// Where serving costs nothing inside the spans, the two forms agree.
    #[test]
    fn without_costs_of_serving_the_cheapest_is_the_stabbing() {
        let mut rng = ChaCha8Rng::seed_from_u64(4);
        for _ in 0..300 {
            let points = rng.random_range(1..=20);
            let mut valleys = valleys(&mut rng, points);
            let mut spans = Vec::new();
            for valley in &mut valleys {
                let start = valley.iter().position(|cost| cost.is_finite()).unwrap();
                let end = valley.iter().rposition(|cost| cost.is_finite()).unwrap();
                valley[start..=end].fill(0.0);
                spans.push((start, end));
            }
            assert_eq!(cheapest(&valleys, 1.0).len(), stab(&spans).len());
        }
    }

    #[test]
    fn nobody_to_serve_opens_nothing() {
        assert!(cheapest(&[], 1.0).is_empty());
        assert!(cheapest(&[Vec::new()], 1.0).is_empty());
        assert!(stab(&[]).is_empty());
        assert!(cheapest(&[vec![f64::INFINITY; 3]], 1.0).is_empty());
        assert!(!is_valley(&[1.0, 2.0, 1.0]) && is_valley(&[f64::INFINITY, 1.0, 1.0, 2.0]));
    }
}
