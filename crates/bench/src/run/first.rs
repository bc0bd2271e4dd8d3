//! Which hole of a run comes before which.
//!
//! Three reasons, the strongest first: what a part of this step covers is set
//! before that part is riveted; a flush rivet is set before a protruding head
//! beside it is in the way of its die; every other hole of a row is set first,
//! so that clecoes hold the ones between. Where they contradict one another,
//! the weaker gives way.

use std::collections::{HashMap, HashSet};

use faying_plan::{HoleId, PieceId, Plan, Point, StepId};
use faying_standards::figures;

use super::{Bench, Choice, Decided};
use crate::order::{Broken, Problem};

/// Every other hole of a stretch first, then those between.
pub(super) struct Passes {
    /// Whether a job is of the second pass.
    pub second: Vec<bool>,
    /// The jobs as the plan lists their rows, each stretch in its two passes.
    pub listed: Vec<u32>,
    /// Pairs (first, then) that keep the passes apart.
    pairs: Vec<(u32, u32)>,
    /// The stretch of each job.
    stretch: Vec<usize>,
}

impl Passes {
    /// The passes along every stretch of one set-up.
    pub fn of(plan: &Plan, decided: &[Decided], family_of: &[u16]) -> Self {
        let mut passes = Self {
            second: vec![false; decided.len()],
            listed: Vec::new(),
            pairs: Vec::new(),
            stretch: vec![0; decided.len()],
        };
        for (number, stretch) in stretches(plan, decided, family_of).iter().enumerate() {
            let pass = |pass: usize| stretch.iter().copied().skip(pass).step_by(2);
            passes.listed.extend(pass(0).chain(pass(1)));
            for &job in stretch {
                passes.stretch[job as usize] = number;
            }
            for then in pass(1) {
                passes.second[then as usize] = true;
                passes.pairs.extend(pass(0).map(|first| (first, then)));
            }
        }
        passes
    }
}

/// All pairs (first, then), with no circle in them.
///
/// # Units
/// - `problem`: the jobs as they stand, their pairs still empty
pub(super) fn before(
    bench: &Bench<'_>,
    step: StepId,
    decided: &[Decided],
    choices: &[Choice],
    passes: &Passes,
    problem: &Problem,
) -> Vec<(u32, u32)> {
    let hard = covered(bench, step, decided);
    let dies = in_the_way(bench, decided, choices);
    if hard.is_empty() && dies.is_empty() {
        return passes.pairs.clone();
    }
    without_circles(problem, &hard, &dies, passes)
}

/// The strongest pairs that agree. A stretch whose passes contradict stronger pairs loses them
/// all: pair by pair there would be as many circles to break as it has holes times holes.
fn without_circles(
    problem: &Problem,
    hard: &[(u32, u32)],
    dies: &[(u32, u32)],
    passes: &Passes,
) -> Vec<(u32, u32)> {
    let mut problem = Problem { before: [hard, dies, &passes.pairs].concat(), ..problem.clone() };
    let hard: HashSet<(u32, u32)> = hard.iter().copied().collect();
    let dies: HashSet<(u32, u32)> = dies.iter().copied().collect();
    let strength = |pair: &(u32, u32)| match pair {
        pair if hard.contains(pair) => 2,
        pair if dies.contains(pair) => 1,
        _ => 0,
    };
    while let Err(Broken::Circle(circle)) = problem.check() {
        let along = circle.iter().zip(circle.iter().cycle().skip(1)).map(|(&first, &then)| (first, then));
        let weakest = along.min_by_key(strength).expect("a circle has jobs");
        let stretch = |pair: &(u32, u32)| passes.stretch[pair.0 as usize];
        let goes = |pair: &(u32, u32)| match strength(&weakest) {
            0 => strength(pair) == 0 && stretch(pair) == stretch(&weakest),
            _ => *pair == weakest,
        };
        problem.before.retain(|pair| !goes(pair));
    }
    problem.before
}

/// What lies under a part of this step, and what holds that part.
///
/// A hole lies under a part where the part is drawn over it and its row leaves
/// the part out, or where the step closes a side of the hole's plane. What
/// holds the part are the holes through a piece that this step adds.
fn covered(bench: &Bench<'_>, step: StepId, decided: &[Decided]) -> Vec<(u32, u32)> {
    let plan = bench.plan;
    let stacks = &bench.joints.stacks;
    let plane_of = |hole: HoleId| plan[plan[hole].row].plane;
    let is_new = |piece: &PieceId| plan[step].adds.contains(piece);
    let closed = |hole: HoleId| plan[step].closes.iter().any(|&(plane, _)| plane_of(hole) == Some(plane));
    let mut under: HashMap<HoleId, Vec<PieceId>> = HashMap::new();
    for &(hole, piece) in stacks.under.iter().filter(|(_, piece)| is_new(piece)) {
        under.entry(hole).or_default().push(piece);
    }
    if under.is_empty() && plan[step].closes.is_empty() {
        return Vec::new();
    }
    let holders: Vec<(u32, HoleId)> = (0..)
        .zip(decided)
        .map(|(job, one)| (job, one.hole))
        .filter(|&(_, hole)| stacks.at(hole).iter().any(is_new))
        .collect();
    let mut pairs = Vec::new();
    for (first, below) in (0_u32..).zip(decided).map(|(job, one)| (job, one.hole)) {
        let over = under.get(&below).map_or(&[][..], Vec::as_slice);
        let hidden = closed(below) && !stacks.at(below).iter().any(is_new);
        let holds_it = |above: HoleId| {
            hidden
                || (plane_of(below) == plane_of(above)
                    && stacks.at(above).iter().any(|piece| over.contains(piece)))
        };
        if hidden || !over.is_empty() {
            pairs.extend(
                holders.iter().filter(|&&(_, above)| holds_it(above)).map(|&(then, _)| (first, then)),
            );
        }
    }
    pairs
}

/// Holes of a row that follow one another with one set-up, as jobs.
fn stretches(plan: &Plan, decided: &[Decided], family_of: &[u16]) -> Vec<Vec<u32>> {
    let mut jobs: Vec<u32> = (0..decided.len() as u32).collect();
    jobs.sort_by_key(|&job| decided[job as usize].hole);
    let mut stretches: Vec<Vec<u32>> = Vec::new();
    for job in jobs {
        let hole = decided[job as usize].hole;
        let goes_on = stretches.last().and_then(|stretch| stretch.last()).is_some_and(|&last| {
            let before = decided[last as usize].hole;
            plan[before].row == plan[hole].row && family_of[last as usize] == family_of[job as usize]
        });
        match stretches.last_mut() {
            Some(stretch) if goes_on => stretch.push(job),
            _ => stretches.push(vec![job]),
        }
    }
    // As the step lists them.
    stretches.sort_by_key(|stretch| stretch.iter().copied().min());
    stretches
}

/// Flush before protruding where the protruding head is in the way of the die.
///
/// A protruding head within half a die of a flush rivet keeps the die from
/// lying flat on the skin.
fn in_the_way(bench: &Bench<'_>, decided: &[Decided], choices: &[Choice]) -> Vec<(u32, u32)> {
    use faying_standards::HeadStyle::{Flush, Universal};
    let plan = bench.plan;
    let style = |one: &Decided| one.need.rivet.map(|(rivet, _)| rivet.head);
    let drawn = |one: &Decided| plan[one.hole].at.map(Point::inches);
    let flush: Vec<(u32, [f64; 2], f64)> = (0..)
        .zip(decided)
        .filter(|(_, one)| style(one) == Some(Flush) && choices[one.choice].means.is_some())
        .filter_map(|(job, one)| {
            let (rivet, _) = one.need.rivet?;
            let dies = plan.tools.dies.iter().find(|dies| dies.title == choices[one.choice].dies)?;
            let half = dies.across.max(dies.across_shop).inches() / 2.0;
            Some((job, drawn(one)?, half.max(rivet.diameter.length().inches())))
        })
        .collect();
    if flush.is_empty() {
        return Vec::new();
    }
    let mut pairs = Vec::new();
    for (job, one) in (0_u32..).zip(decided).filter(|(_, one)| style(one) == Some(Universal)) {
        let (Some(at), Some((rivet, _))) = (drawn(one), one.need.rivet) else { continue };
        let head = figures().rivet_size(rivet).map_or(0.0, |size| size.head_diameter.inches() / 2.0);
        for &(first, beside, half) in &flush {
            let same_plane =
                plan[plan[decided[first as usize].hole].row].plane == plan[plan[one.hole].row].plane;
            let apart = (at[0] - beside[0]).hypot(at[1] - beside[1]);
            if same_plane && apart < half + head {
                pairs.push((first, job));
            }
        }
    }
    pairs
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::order::{Costs, Family, Job};

    #[test]
    fn the_weaker_gives_way_and_other_stretches_keep_their_passes() {
        let job = Job { family: 0, at: [0.0, 0.0], place: 0, seconds: 1.0 };
        let problem = Problem {
            families: vec![Family { parts: vec![0] }],
            jobs: vec![job; 8],
            before: Vec::new(),
            costs: Costs {
                change: vec![1.0],
                proofs: Vec::new(),
                seconds_per_inch: 0.0,
                between_places: 0.0,
            },
            start: None,
        };
        // Two stretches, 0 to 3 and 4 to 7: the first and third of each before the second and fourth.
        let pairs = vec![(0, 1), (0, 3), (2, 1), (2, 3), (4, 5), (4, 7), (6, 5), (6, 7)];
        let passes = Passes {
            second: vec![false; 8],
            listed: (0..8).collect(),
            pairs: pairs.clone(),
            stretch: vec![0, 0, 0, 0, 1, 1, 1, 1],
        };
        // Job 1 lies under what job 0 holds, against the passes; job 0 under what 5 holds, against a die.
        let kept = without_circles(&problem, &[(1, 0), (0, 5)], &[(5, 0), (3, 4)], &passes);
        assert_eq!(kept, [vec![(1, 0), (0, 5), (3, 4)], pairs[4..].to_vec()].concat());
        // Nothing contradicts: all of it stays.
        let kept = without_circles(&problem, &[(0, 4)], &[], &passes);
        assert_eq!(kept, [vec![(0, 4)], pairs].concat());
    }
}
