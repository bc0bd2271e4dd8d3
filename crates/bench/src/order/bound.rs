//! A bound below every order, from trees over the classes and the cheapest visits.
//!
//! **One class.** Cut an order into visits. The k visits to one class leave a
//! forest of k paths over its m jobs: m − k steps inside the class. Let T be
//! the shortest spanning tree of the class. The m − k shortest links of T are
//! the shortest forest of k pieces, so the ways inside the visits take at
//! least the sum of T without its k − 1 longest links, and therefore for every
//! allowance e ≥ 0 at least
//!
//! > W(e) − (k − 1)·e, where W(e) = Σ over links w of T of min(w, e).
//!
//! **Sharper trees.** On a path every job has at most two neighbours, and when
//! all of group A come before all of group B, an order steps at most once
//! from A to B. For prices π ≥ 0 of each job and λ ≥ 0 of each such pair of
//! groups, the forest under w + π + π + λ costs at most 2·Σπ + Σλ more than
//! under w. So W(e) taken under the dearer links, less 2·Σπ + Σλ, holds too.
//! Links that no order can use (something has to come between their ends)
//! are left out. Prices are raised where the tree breaks the rule (subgradient
//! steps); whatever prices come out, the bound stands.
//!
//! **Together.** Changes and places cost s(a → b) from visit to visit. Summing
//! over the classes, an order costs at least
//!
//! > Σ W(e) + Σ e + Σ over visits (s(a → b) − e of b).
//!
//! The last sum is least for a cheapest sequence of visits at those costs.
//! No e is larger than the cheapest change into or out of its class, so these
//! costs are not below nothing; replacing them by the cheapest detour makes
//! them obey the triangle inequality and only lowers the sum, and then
//! `visits` finds the least of it, or something below. Several e are tried,
//! each gives a bound, the best is kept.

use std::collections::HashMap;

use super::model::Model;
use super::precedence::Precedence;
use super::visits::{self, Chunks};
use super::{Phase, Watch};

/// Distances that may be looked at in raising prices, over all classes.
const MOST_LINKS: usize = 150_000_000;
/// Rounds of raising prices.
const MOST_ROUNDS: usize = 150;
const LEAST_ROUNDS: usize = 12;
/// Up to this many jobs of a class the distances are kept.
const KEPT_DISTANCES: usize = 1_200;
/// Up to this many groups in a class precedence is used; with more the trees are plainer.
const MOST_GROUPS: usize = 800;
/// Work of a search for the cheapest visits, for each e.
const WORK_AN_ALLOWANCE: u64 = 2_000_000;
/// How many e are tried.
const ALLOWANCES: i32 = 10;

/// The best bound found, s, without the doing of jobs.
pub(super) fn best(
    model: &Model,
    precedence: &Precedence,
    chunks: &Chunks,
    order: &[u32],
    watch: &mut Watch<'_>,
) -> f64 {
    let mut jobs = vec![Vec::new(); model.classes];
    (0..model.start()).for_each(|job| jobs[usize::from(model.class[job as usize])].push(job));
    let mut ways = vec![0.0; model.classes];
    for pair in order.windows(2) {
        let class = model.class[pair[0] as usize];
        if class == model.class[pair[1] as usize] {
            ways[usize::from(class)] += model.way(pair[0], pair[1]);
        }
    }
    let links: usize = jobs.iter().map(|jobs| jobs.len() * jobs.len()).sum();
    let rounds = (MOST_LINKS / links.max(1)).clamp(LEAST_ROUNDS, MOST_ROUNDS);
    let trees: Vec<Trees> = jobs
        .iter()
        .zip(&ways)
        .map(|(jobs, &way)| Class::of(model, precedence, jobs).raise(way, rounds, watch))
        .collect();
    together(model, chunks, &trees, watch)
}

/// Tries allowances from small to large.
fn together(model: &Model, chunks: &Chunks, trees: &[Trees], watch: &mut Watch<'_>) -> f64 {
    let width = model.classes + 1;
    let switching = model.switching();
    let least_change = |class: usize| {
        let others = (0..model.classes).filter(|&other| other != class);
        others
            .map(|other| switching[other * width + class].min(switching[class * width + other]))
            .fold(f64::INFINITY, f64::min)
    };
    let longest = trees.iter().map(Trees::longest).fold(0.0, f64::max);
    let most: Vec<f64> =
        (0..model.classes).map(|class| least_change(class).min(trees[class].longest())).collect();
    let mut best = 0.0_f64;
    for halvings in 0..ALLOWANCES {
        let allowance = longest / f64::from(1 << halvings);
        let e: Vec<f64> = most.iter().map(|&most| most.min(allowance)).collect();
        let ways: f64 = trees.iter().zip(&e).map(|(trees, &e)| trees.at_least(e) + e).sum();
        let mut costs = switching.clone();
        for from in 0..width {
            for to in 0..model.classes {
                costs[from * width + to] -= e[to];
            }
        }
        with_detours(&mut costs, model.classes, width);
        let visits = visits::cheapest(model, chunks, &costs, WORK_AN_ALLOWANCE, watch);
        best = best.max(ways + visits.bound);
        if watch.asks_to_stop(Phase::Bound, (model.n * model.n) as u64) {
            break;
        }
    }
    best
}

/// Every cost becomes that of the cheapest detour over other classes.
fn with_detours(costs: &mut [f64], classes: usize, width: usize) {
    for over in 0..classes {
        for from in 0..width {
            if from == over {
                continue;
            }
            for to in (0..classes).filter(|&to| to != from) {
                let detour = costs[from * width + over] + costs[over * width + to];
                let slot = &mut costs[from * width + to];
                if to != over && detour < *slot {
                    *slot = detour;
                }
            }
        }
    }
}

/// Shortest trees over a class, plain and with prices.
struct Trees {
    plain: Vec<f64>,
    priced: Vec<f64>,
    /// What is to be taken from the priced tree.
    prices: f64,
}

impl Trees {
    /// W(e).
    fn at_least(&self, e: f64) -> f64 {
        let cut = |links: &[f64]| links.iter().map(|&link| link.min(e)).sum::<f64>();
        cut(&self.plain).max(cut(&self.priced) - self.prices)
    }

    fn longest(&self) -> f64 {
        let priced = self.priced.iter().copied().filter(|link| link.is_finite());
        self.plain.iter().copied().chain(priced).fold(0.0, f64::max)
    }
}

/// The jobs of a class and what the precedence among them forbids.
struct Class<'a> {
    model: &'a Model,
    jobs: &'a [u32],
    distances: Vec<f64>,
    /// Number of each job's group among those of the class.
    group: Vec<usize>,
    groups: usize,
    /// Pairs of groups that an order steps between at most once.
    once: Vec<(usize, usize)>,
    /// For each pair of groups: no price, the price of which pair, or not to be used.
    kind: Vec<u32>,
}

const FREE: u32 = u32::MAX;
const NEVER: u32 = u32::MAX - 1;

/// A tree in raising prices.
struct Grown {
    links: Vec<f64>,
    ends: Vec<(u32, u32)>,
}

impl<'a> Class<'a> {
    fn of(model: &'a Model, precedence: &Precedence, jobs: &'a [u32]) -> Self {
        let n = jobs.len();
        let mut distances = Vec::new();
        if n <= KEPT_DISTANCES {
            distances.reserve(n * n);
            for &a in jobs {
                distances.extend(jobs.iter().map(|&b| model.way(a, b)));
            }
        }
        let mut number = HashMap::new();
        let mut first: Vec<u32> = Vec::new();
        let mut group = Vec::with_capacity(n);
        for &job in jobs {
            group.push(*number.entry(precedence.group[job as usize]).or_insert_with(|| {
                first.push(job);
                first.len() - 1
            }));
        }
        let mut it = Self { model, jobs, distances, group, groups: first.len(), once: vec![], kind: vec![] };
        if it.groups > MOST_GROUPS {
            it.groups = 1;
            it.group.fill(0);
            it.kind = vec![FREE];
            return it;
        }
        it.kind = vec![FREE; it.groups * it.groups];
        for a in 0..it.groups {
            for b in 0..it.groups {
                if a == b || !precedence.comes_before(first[a], first[b]) {
                    continue;
                }
                let [from, to] = [first[a], first[b]].map(|job| precedence.group[job as usize]);
                let kind = if precedence.after[from as usize].contains(&to) {
                    it.once.push((a, b));
                    u32::try_from(it.once.len() - 1).expect("few groups")
                } else {
                    NEVER
                };
                it.kind[a * it.groups + b] = kind;
                it.kind[b * it.groups + a] = kind;
            }
        }
        it
    }

    /// Prices to begin with: stepping between two groups made as dear as staying in one.
    fn first_prices(&self) -> Vec<f64> {
        let mut members = vec![Vec::new(); self.groups];
        (0..self.jobs.len()).for_each(|at| members[self.group[at]].push(at));
        // The mean way from the jobs of one group to the nearest of another, or of itself.
        let mean = |a: usize, b: usize| {
            let nearest = members[a].iter().map(|&from| {
                let others = members[b].iter().filter(|&&to| to != from);
                others.map(|&to| self.distance(from, to)).fold(f64::INFINITY, f64::min)
            });
            nearest.sum::<f64>() / members[a].len() as f64
        };
        let own: Vec<f64> = (0..self.groups).map(|a| mean(a, a)).collect();
        let dearer = |&(a, b): &(usize, usize)| {
            let own = if members[a].len() > members[b].len() { own[a] } else { own[b] };
            if own.is_finite() { (own - mean(a, b)).max(0.0) } else { 0.0 }
        };
        self.once.iter().map(dearer).collect()
    }

    fn distance(&self, a: usize, b: usize) -> f64 {
        if self.distances.is_empty() {
            self.model.way(self.jobs[a], self.jobs[b])
        } else {
            self.distances[a * self.jobs.len() + b]
        }
    }

    /// Raises prices where the tree has a job with too many neighbours or steps between groups too often.
    fn raise(&self, way: f64, rounds: usize, watch: &mut Watch<'_>) -> Trees {
        let n = self.jobs.len();
        if n < 2 {
            return Trees { plain: vec![], priced: vec![], prices: 0.0 };
        }
        let plain = self.grow(&vec![0.0; n], &vec![0.0; self.groups * self.groups]).links;
        let mut found = Trees { priced: plain.clone(), plain, prices: 0.0 };
        if n < 3 {
            return found;
        }
        let (mut pi, mut lambda) = (vec![0.0_f64; n], self.first_prices());
        let mut table = vec![0.0; self.groups * self.groups];
        let mut best = 0.0_f64;
        let (mut stride, mut since) = (1.0, 0);
        let mut neighbours = vec![0_i32; n];
        let mut steps = vec![0_i32; lambda.len()];
        for _ in 0..rounds {
            for (slot, &kind) in table.iter_mut().zip(&self.kind) {
                *slot = match kind {
                    FREE => 0.0,
                    NEVER => f64::INFINITY,
                    pair => lambda[pair as usize],
                };
            }
            let grown = self.grow(&pi, &table);
            let prices = 2.0 * pi.iter().sum::<f64>() + lambda.iter().sum::<f64>();
            let links: f64 = grown.links.iter().filter(|link| link.is_finite()).sum();
            let value = links - prices;
            if value > best {
                since = 0;
                best = value;
                found.prices = prices;
                found.priced.clone_from(&grown.links);
            } else {
                since += 1;
                if since == 6 {
                    stride *= 0.6;
                    since = 0;
                }
            }

            neighbours.fill(-2);
            steps.fill(-1);
            for (&(a, b), link) in grown.ends.iter().zip(&grown.links) {
                if !link.is_finite() {
                    continue;
                }
                neighbours[a as usize] += 1;
                neighbours[b as usize] += 1;
                let kind = self.kind[self.group[a as usize] * self.groups + self.group[b as usize]];
                if kind < NEVER {
                    steps[kind as usize] += 1;
                }
            }
            let counts = |price: f64, slope: i32| price > 0.0 || slope > 0;
            let norm: i32 =
                pi.iter().zip(&neighbours).filter(|(p, s)| counts(**p, **s)).map(|(_, s)| s * s).sum::<i32>()
                    + lambda
                        .iter()
                        .zip(&steps)
                        .filter(|(p, s)| counts(**p, **s))
                        .map(|(_, s)| s * s)
                        .sum::<i32>();
            if norm == 0 || watch.asks_to_stop(Phase::Bound, (self.jobs.len() * self.jobs.len()) as u64) {
                break;
            }
            let stride = stride * (way.max(value * 1.002) - value).max(way * 1e-4) / f64::from(norm);
            for (price, &slope) in pi.iter_mut().zip(&neighbours).chain(lambda.iter_mut().zip(&steps)) {
                *price = (*price + stride * f64::from(slope)).max(0.0);
            }
        }
        found
    }

    /// The shortest tree at some prices, grown from the first job.
    fn grow(&self, pi: &[f64], table: &[f64]) -> Grown {
        let n = self.jobs.len();
        let mut left: Vec<u32> = (1..u32::try_from(n).expect("jobs are numbered by u32")).collect();
        let mut link = vec![f64::INFINITY; n - 1];
        let mut from = vec![0_u32; n - 1];
        let mut grown = Grown { links: Vec::with_capacity(n - 1), ends: Vec::with_capacity(n - 1) };
        let mut here = 0_usize;
        while !left.is_empty() {
            let row = &table[self.group[here] * self.groups..][..self.groups];
            let mut nearest = (0, f64::INFINITY);
            for (at, &other) in left.iter().enumerate() {
                let other = other as usize;
                let weight = self.distance(here, other) + pi[here] + pi[other] + row[self.group[other]];
                if weight < link[at] {
                    link[at] = weight;
                    from[at] = u32::try_from(here).expect("jobs are numbered by u32");
                }
                if link[at] < nearest.1 {
                    nearest = (at, link[at]);
                }
            }
            let at = nearest.0;
            grown.links.push(link.swap_remove(at));
            let (a, b) = (from.swap_remove(at), left.swap_remove(at));
            grown.ends.push((a, b));
            here = b as usize;
        }
        grown
    }
}
