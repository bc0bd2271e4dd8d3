//! Which hole of a run comes before which.
//!
//! Three reasons, the strongest first: what a part of this step covers is set
//! before that part is riveted; a flush rivet is set before a protruding head
//! beside it is in the way of its die; every other hole of a row is set first,
//! so that clecoes hold the ones between. Where they contradict one another,
//! the weaker gives way.

use std::collections::HashSet;

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
}

impl Passes {
    /// The passes along every stretch of one set-up.
    pub fn of(plan: &Plan, decided: &[Decided], family_of: &[u16]) -> Self {
        let mut passes = Self { second: vec![false; decided.len()], listed: Vec::new(), pairs: Vec::new() };
        for stretch in &stretches(plan, decided, family_of) {
            let pass = |pass: usize| stretch.iter().copied().skip(pass).step_by(2);
            passes.listed.extend(pass(0).chain(pass(1)));
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
    let mut problem = Problem { before: passes.pairs.clone(), ..problem.clone() };
    problem.before.extend(dies.iter().chain(&hard));
    let dies: HashSet<(u32, u32)> = dies.into_iter().collect();
    let hard: HashSet<(u32, u32)> = hard.into_iter().collect();
    let strength = |pair: &(u32, u32)| match pair {
        pair if hard.contains(pair) => 2,
        pair if dies.contains(pair) => 1,
        _ => 0,
    };
    while let Err(Broken::Circle(circle)) = problem.check() {
        let along = circle.iter().zip(circle.iter().cycle().skip(1)).map(|(&first, &then)| (first, then));
        let weakest = along.min_by_key(strength).expect("a circle has jobs");
        problem.before.retain(|&pair| pair != weakest);
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
    let adds = &plan[step].adds;
    let plane_of = |hole: HoleId| plan[plan[hole].row].plane;
    let is_new = |piece: &PieceId| adds.contains(piece);
    let closed = |hole: HoleId| plan[step].closes.iter().any(|&(plane, _)| plane_of(hole) == Some(plane));
    let under: HashSet<(HoleId, PieceId)> =
        stacks.under.iter().copied().filter(|(_, piece)| is_new(piece)).collect();
    if under.is_empty() && plan[step].closes.is_empty() {
        return Vec::new();
    }
    let mut pairs = Vec::new();
    for (first, below) in (0_u32..).zip(decided) {
        let holds_new = stacks.at(below.hole).iter().any(is_new);
        let hidden = closed(below.hole) && !holds_new;
        for (then, above) in (0_u32..).zip(decided) {
            let layers = stacks.at(above.hole);
            let lies_under = plane_of(below.hole) == plane_of(above.hole)
                && layers.iter().any(|piece| under.contains(&(below.hole, *piece)));
            if lies_under || (hidden && layers.iter().any(is_new)) {
                pairs.push((first, then));
            }
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
