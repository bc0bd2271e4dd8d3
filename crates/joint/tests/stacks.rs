//! The layers at every drawn hole of the demo kit, against Shapely.
//!
//! `reference/stacks.py` reads the plan files by its own rules and asks
//! Shapely, a general-purpose geometry library, which outlines hold each hole
//! and how far it is from their edges; `data/stacks.csv` is what it printed.
//! Distances are printed to .0001 in, and arcs here keep within .0001 in of
//! their chords: the tolerance is the sum of the two.

#![allow(clippy::unwrap_used, reason = "a test ends where its data is not as written")]
#![expect(clippy::disallowed_methods, reason = "the demo kit's files are read as they stand")]

use std::collections::HashMap;
use std::path::Path;

use faying_joint::{Stacks, spacing};
use faying_plan::{HoleId, Plan, SourceText, read};

fn teasel() -> Plan {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../plans/teasel");
    let mut names: Vec<_> = std::fs::read_dir(&folder)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .filter(|name| {
            name.ends_with(".toml") && !["limits.toml", "people.toml", "gates.toml"].contains(&name.as_str())
        })
        .collect();
    names.sort();
    let texts = names
        .iter()
        .map(|name| SourceText {
            name: format!("plan/{name}").into(),
            text: std::fs::read_to_string(folder.join(name)).unwrap().into(),
        })
        .collect();
    read(texts).plan
}

#[test]
fn every_stack_of_the_demo_kit_is_as_shapely_has_it() {
    const DISTANCE: f64 = 0.000_05 + 0.000_1;
    let plan = teasel();
    let stacks = Stacks::of(&plan);
    let mut compared = HashMap::new();
    for line in include_str!("data/stacks.csv").lines().skip(1) {
        let [name, layers, edges] = line.split(',').collect::<Vec<_>>().try_into().unwrap();
        let hole = plan.hole_named(name).unwrap_or_else(|| panic!("the plan has no hole {name}"));
        let ours: Vec<String> = stacks.at(hole).iter().map(|&piece| plan.piece_name(piece)).collect();
        // A row that lists its layers itself is not told by its outlines.
        if plan[plan[hole].row].through.is_none() {
            assert_eq!(ours.join(" "), layers, "{name}");
            let distances = spacing::edge_distances(&plan, hole, &stacks);
            for (distance, printed) in distances.iter().zip(edges.split(' ')) {
                match (distance, printed) {
                    (None, "") => {}
                    (Some(distance), printed) => {
                        let printed: f64 = printed.parse().unwrap();
                        assert!(
                            (distance - printed).abs() <= DISTANCE,
                            "{name}: {distance:.5} in here, {printed} in by Shapely"
                        );
                    }
                    (None, printed) => panic!("{name}: no edge here, {printed} in by Shapely"),
                }
            }
        }
        *compared.entry(stacks.number(hole)).or_insert(0) += 1;
    }
    let drawn = (0..plan.holes.len())
        .map(HoleId::from_index)
        .filter(|&hole| plan[hole].at.is_some() && !plan[plan[plan[hole].row].assembly].mirrored)
        .count();
    assert_eq!(compared.values().sum::<i32>(), i32::try_from(drawn).unwrap(), "every drawn hole is compared");
    assert!(compared.len() > 20, "only {} different stacks", compared.len());
}
