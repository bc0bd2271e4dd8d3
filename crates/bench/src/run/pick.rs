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
    // What the run takes, and what it is weighed as.
    let mut weighed = |picked: &[Picked<'w>]| {
        let given_up = ways.iter().zip(picked).filter(|(ways, it)| gives_up(ways, it)).count();
        let seconds = tried(picked);
        (seconds, seconds + given_up as f64 * second_kind)
    };
    let (mut seconds, mut weight) = weighed(&first);
    let mut best = first;
    loop {
        let next = used
            .iter()
            .map(|&means| {
                let more = widened(ways, &best, means);
                (weighed(&more), means, more)
            })
            .min_by(|a, b| a.0.1.total_cmp(&b.0.1));
        let Some(((takes, least), means, mut more)) = next.filter(|((_, least), ..)| least + 1.0 < weight)
        else {
            return best;
        };
        let note = format!(
            "{} is out anyway: with it for these too the run is about {:.0} min shorter",
            title(bench, means),
            ((seconds - takes) / 60.0).max(1.0)
        );
        for (was, is) in best.iter().zip(&mut more) {
            if was.way.map(|way| way.means) != is.way.map(|way| way.means) {
                is.instead = Some(note.clone());
            }
        }
        (best, seconds, weight) = (more, takes, least);
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

/// The same with one tool for all that it sets with no more people and no nearer to the end of its force.
fn widened<'w>(ways: &[Vec<&'w Way>], picked: &[Picked<'w>], means: Means) -> Vec<Picked<'w>> {
    ways.iter()
        .zip(picked)
        .map(|(ways, now)| {
            let no_worse =
                |way: &&&Way| now.way.is_some_and(|now| way.people <= now.people && (now.warn || !way.warn));
            match ways.iter().filter(|way| way.means == means).find(no_worse) {
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

#[cfg(test)]
mod tests {
    use super::*;

    fn way(means: Means, people: u8, warn: bool) -> Way {
        Way {
            means,
            dies: 0,
            force_share: None,
            warn,
            people,
            why: String::new(),
            notes: Vec::new(),
            cited: Vec::new(),
        }
    }

    #[test]
    fn one_tool_is_not_for_holes_where_it_wants_more_people_or_more_of_its_force() {
        let (near, deep) =
            (Means::Squeezer { squeezer: 0, yoke: 0 }, Means::Squeezer { squeezer: 0, yoke: 1 });
        let gun = Means::GunAndBar { gun: 0, bar: 0 };
        let all = [
            [way(near, 1, false), way(gun, 1, false)],
            [way(near, 1, false), way(gun, 2, false)],
            [way(near, 1, false), way(deep, 1, true)],
            [way(near, 1, true), way(deep, 1, true)],
        ];
        let ways: Vec<Vec<&Way>> = all.iter().map(|ways| ways.iter().collect()).collect();
        let first: Vec<Picked> =
            ways.iter().map(|ways| Picked { way: Some(ways[0]), instead: None }).collect();
        let with = |means| -> Vec<Means> {
            widened(&ways, &first, means).iter().map(|it| it.way.unwrap().means).collect()
        };
        assert_eq!(with(gun), [gun, near, near, near], "the second hole would want a helper");
        assert_eq!(with(deep), [near, near, near, deep], "the third would be near the end of its force");
    }
}
