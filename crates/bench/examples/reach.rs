//! How long reach takes, and what it says of a folder of plan files.
//!
//! `cargo run --release -p faying-bench --example reach -- plans/teasel`
//! prints the answers of the folder; with a number behind it the holes of the
//! folder's largest plane are repeated until there are that many.
#![allow(clippy::print_stdout)]
// The room is pure; this example opens the files for it and times it.
#![allow(clippy::disallowed_methods, clippy::disallowed_types)]

use std::collections::BTreeMap;
use std::time::Instant;

use faying_bench::reach::{Basis, Means, Reaches, helpers_evenings};
use faying_joint::Joints;
use faying_plan::{HoleId, SourceText, read};
use faying_sequence::Sequence;

fn main() -> std::io::Result<()> {
    let mut arguments = std::env::args().skip(1);
    let folder = arguments.next().unwrap_or_else(|| "plans/teasel".to_owned());
    let least: usize = arguments.next().and_then(|count| count.parse().ok()).unwrap_or(0);
    let mut files = Vec::new();
    let mut names: Vec<_> = std::fs::read_dir(&folder)?.filter_map(Result::ok).map(|it| it.path()).collect();
    names.sort();
    for path in names.iter().filter(|path| path.extension().is_some_and(|it| it == "toml")) {
        let name = path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
        let own = matches!(name.as_str(), "limits.toml" | "tools.toml");
        let name = if own { name } else { format!("plan/{name}") };
        files.push(SourceText { name: name.into(), text: std::fs::read_to_string(path)?.into() });
    }
    let mut plan = read(files).plan;
    let of_drawn: Vec<HoleId> =
        (0..plan.holes.len()).map(HoleId::from_index).filter(|&hole| plan[hole].at.is_some()).collect();
    let mut next = 0;
    while plan.holes.len() < least && !of_drawn.is_empty() {
        // A hole beside a drawn one: the same row, so that all its facts are asked for again.
        let mut hole = plan[of_drawn[next % of_drawn.len()]];
        let moved = faying_standards::inches(0.0001 * (1 + next / of_drawn.len()) as f64);
        hole.at = hole.at.map(|at| faying_plan::Point::new(at.x + moved, at.y));
        plan.holes.push(hole);
        next += 1;
    }
    let joints = Joints::of(&plan);
    let sequence = Sequence::of(&plan, &joints.stacks);
    let start = Instant::now();
    let reaches = Reaches::of(&plan, &joints, &sequence);
    let took = start.elapsed();
    println!("{} holes, {} answers, {took:.1?}", plan.holes.len(), reaches.all().len());
    let mut best: BTreeMap<String, usize> = BTreeMap::new();
    for hole in (0..plan.holes.len()).map(HoleId::from_index) {
        let Some(reach) = reaches.at(hole) else { continue };
        let how = if reach.basis == Basis::Drawn { "" } else { ", by force only" };
        let name = match reach.choices.first().map(|way| (way.means, way.people)) {
            Some((Means::Squeezer { squeezer, yoke }, _)) => {
                format!("{} with {}", plan.tools.squeezers[squeezer].name, plan.tools.yokes[yoke].name)
            }
            Some((Means::GunAndBar { bar, .. }, people)) => {
                format!("gun and {}, people {people}", plan.tools.bars[bar].name)
            }
            Some((Means::BackRiveting { plate, .. }, _)) => plan.tools.plates[plate].name.clone(),
            None => format!("nothing: {}", plan.hole_name(hole)),
        };
        *best.entry(format!("{name}{how}")).or_default() += 1;
    }
    for (name, count) in best {
        println!("{count:6}  {name}");
    }
    for evening in helpers_evenings(&plan, &sequence, &reaches, |_| false) {
        println!("{}: {} holes for two", plan.step_name(evening.step), evening.holes.len());
    }
    Ok(())
}
