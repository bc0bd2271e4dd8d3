//! Which of the tools that reach a hole sets it.
//!
//! Few tools before the nearest one: of the kind that makes the best head, the
//! tool that reaches most. Then, where a tool is out anyway, whether it had
//! better set more of the holes is asked of the whole run: settings, changes
//! and way. A rivet that gives up the kind of tool that suits it best is
//! reckoned dearer (`second-kind` in `standards/constants.csv`).

use std::collections::HashMap;

use faying_standards::figures;

use super::Bench;
use crate::reach::{Means, Way};

/// Above so many holes only the first choice is looked at, so that what is left of a run is
/// put in order within a second.
const MANY: usize = 1_000;

/// The tool of one hole.
#[derive(Clone, Debug, Default)]
pub(super) struct Picked<'w> {
    /// How it is set; nothing where no tool sets it.
    pub way: Option<&'w Way>,
    /// Why it is not the tool of its own best kind, in a sentence.
    pub instead: Option<String>,
}

/// A tool for every hole.
///
/// # Units
/// - `ways`: what sets each hole, best first
/// - `tried`: what the run takes with these tools, seconds
pub(super) fn tools<'w>(
    ways: &[Vec<&'w Way>],
    bench: &Bench<'_>,
    tried: &mut dyn FnMut(&[Picked<'w>]) -> f64,
) -> Vec<Picked<'w>> {
    let first: Vec<Picked<'w>> =
        few_tools(ways).into_iter().map(|way| Picked { way, instead: None }).collect();
    let mut used: Vec<Means> = Vec::new();
    for way in first.iter().filter_map(|it| it.way) {
        if !used.contains(&way.means) {
            used.push(way.means);
        }
    }
    if used.len() < 2 || ways.len() > MANY {
        return first;
    }
    let second_kind = figures().constant("second-kind").value;
    let mut weighed = |picked: &[Picked<'w>]| {
        let given_up = ways.iter().zip(picked).filter(|(ways, it)| gives_up(ways, it)).count();
        tried(picked) + given_up as f64 * second_kind
    };
    let mut best = first;
    let mut seconds = weighed(&best);
    loop {
        let next = used
            .iter()
            .map(|&means| {
                let more = widened(ways, &best, means);
                (weighed(&more), means, more)
            })
            .min_by(|a, b| a.0.total_cmp(&b.0));
        let Some((least, means, mut more)) = next.filter(|(least, ..)| least + 1.0 < seconds) else {
            return best;
        };
        let note = format!(
            "{} is out anyway: with it for these too the run is about {:.0} min shorter",
            title(bench, means),
            ((seconds - least) / 60.0).max(1.0)
        );
        for (was, is) in best.iter().zip(&mut more) {
            if was.way.map(|way| way.means) != is.way.map(|way| way.means) {
                is.instead = Some(note.clone());
            }
        }
        (best, seconds) = (more, least);
    }
}

/// Whether a hole is set with another kind of tool than the one that suits it best.
fn gives_up(ways: &[&Way], picked: &Picked<'_>) -> bool {
    let best = ways.first().map(|way| kind(way.means));
    picked.way.map(|way| kind(way.means)) != best
}

/// Kinds of tools, that of the best heads first.
const fn kind(means: Means) -> u8 {
    match means {
        Means::Squeezer { .. } => 0,
        Means::BackRiveting { .. } => 1,
        Means::GunAndBar { .. } => 2,
    }
}

/// The same with one tool for all that it sets with no more people.
fn widened<'w>(ways: &[Vec<&'w Way>], picked: &[Picked<'w>], means: Means) -> Vec<Picked<'w>> {
    ways.iter()
        .zip(picked)
        .map(|(ways, now)| {
            let people = now.way.map_or(0, |way| way.people);
            match ways.iter().find(|way| way.means == means && way.people <= people) {
                Some(way) => Picked { way: Some(way), instead: now.instead.clone() },
                None => now.clone(),
            }
        })
        .collect()
}

fn title(bench: &Bench<'_>, means: Means) -> String {
    let tools = &bench.plan.tools;
    match means {
        Means::Squeezer { yoke, .. } => tools.yokes[yoke].title.clone(),
        Means::GunAndBar { gun, .. } => tools.guns[gun].title.clone(),
        Means::BackRiveting { plate, .. } => tools.plates[plate].title.clone(),
    }
}

/// A way for each hole, so that few tools are used: of the kind that suits the hole best, the
/// tool that reaches most of those left, again and again.
fn few_tools<'w>(ways: &[Vec<&'w Way>]) -> Vec<Option<&'w Way>> {
    let mut picked: Vec<Option<&Way>> = vec![None; ways.len()];
    let mut left: Vec<usize> = (0..ways.len()).filter(|&at| !ways[at].is_empty()).collect();
    // A hole's own kind and people are those of its best way.
    let suits = |at: usize, way: &Way| {
        let best = ways[at][0];
        kind(way.means) == kind(best.means) && way.people <= best.people
    };
    while !left.is_empty() {
        // How many a tool reaches; among equals the one that stands nearest to the front.
        let mut reach: HashMap<Means, (usize, usize)> = HashMap::new();
        for &at in &left {
            for (rank, way) in ways[at].iter().enumerate().filter(|(_, way)| suits(at, way)) {
                let entry = reach.entry(way.means).or_default();
                entry.0 += 1;
                entry.1 += rank;
            }
        }
        let order = |means: Means| match means {
            Means::Squeezer { squeezer, yoke } => (0, squeezer, yoke),
            Means::BackRiveting { gun, plate } => (1, gun, plate),
            Means::GunAndBar { gun, bar } => (2, gun, bar),
        };
        let best = reach.into_iter().min_by_key(|&(means, (count, rank))| {
            (kind(means), std::cmp::Reverse(count), rank, order(means))
        });
        let Some((means, _)) = best else { break };
        left.retain(|&at| {
            let way = ways[at].iter().find(|way| way.means == means && suits(at, way));
            picked[at] = way.copied();
            way.is_none()
        });
    }
    picked
}
