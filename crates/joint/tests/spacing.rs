//! Distances of a drawn plane under every rule, and builders' accounts of them.
//!
//! Accounts (P..): the collection of builders' pains, each named by its id
//! there. Expected figures are written as the formula of the theory chapter,
//! "Spacing", with the head diameters of MS20426 and the drills of the
//! standards put in. Edge distances are held against Shapely
//! (`reference/stacks.py`), within what `tests/stacks.rs` says of it.

#![allow(clippy::unwrap_used, reason = "a test may fail")]
#![expect(clippy::disallowed_methods, reason = "the demo kit's files are read as they stand")]

use std::path::Path;

use faying_joint::spacing::{Asked, Near, Shortfall, Spaced, Survey, To, at_hole, too_near};
use faying_joint::{Joints, check};
use faying_plan::{HoleId, Plan, PlaneId, SourceText, read};
use faying_standards::{Length, inches};

/// Head diameter of MS20426, 3/32 and 1/8, in.
const A3: f64 = 0.179;
const A4: f64 = 0.225;
/// Drills #40 and #30, in.
const D3: f64 = 0.098;
const D4: f64 = 0.1285;
/// A length is stored to the nanometre.
const STORED: f64 = 1e-7;

fn plan_of(text: &str) -> (Plan, Joints) {
    let reading = read(vec![SourceText { name: "plan/a.toml".into(), text: text.to_owned().into() }]);
    let wrong: Vec<_> = reading.findings.iter().map(|it| format!("{}: {}", it.kind, it.what)).collect();
    assert!(reading.plan.assemblies.len() == 1, "{wrong:?}");
    let joints = Joints::of(&reading.plan);
    (reading.plan, joints)
}

/// Two sheets of 10 by 4 in on each other, with rows.
fn sheets(near: f64, far: f64, more: &str, rows: &str) -> (Plan, Joints) {
    plan_of(&format!(
        "format = 1\nid = \"a\"\nunits = \"in\"\n[usual]\nrivet = \"MS20470AD4\"\n[parts]\n\
         skin = {{ thickness = {near} }}\ncap = {{ thickness = {far} }}\n[planes.web]\nnear = \"aft\"\n\
         far = \"forward\"\nlayers = [\"skin\", \"cap\"]\noutline.skin = {{ rect = [-5, -5, 20, 20] }}\n\
         outline.cap = {{ rect = [0, 0, 10, 4] }}\n{more}\n[planes.web.rows]\n{rows}\n"
    ))
}

fn hole(plan: &Plan, name: &str) -> HoleId {
    plan.hole_named(&format!("a/web/{name}")).unwrap_or_else(|| panic!("no hole {name}"))
}

fn survey(plan: &Plan, joints: &Joints) -> Survey {
    Survey::of(plan, joints, PlaneId::from_index(0))
}

fn to<'s>(plan: &Plan, spaced: &'s [Spaced], to: &str) -> &'s Spaced {
    let is = |it: &&Spaced| match it.to {
        To::Edge(piece) => to == format!("edge of {}", plan.piece_name(piece)),
        To::Sheet(piece) => to == format!("sheet {}", plan.piece_name(piece)),
        To::Bend => to == "bend",
        To::Hole(other) => to == format!("hole {}/{}", plan[plan[other].row].name, plan[other].number),
        To::Row(row) => to == format!("row {}", plan[row].name),
    };
    spaced.iter().find(is).unwrap_or_else(|| panic!("nothing to {to}: {spaced:?}"))
}

fn asked<'s>(spaced: &'s Spaced, rule: &str) -> &'s Asked {
    spaced.asked.iter().find(|it| it.rule.contains(rule)).unwrap_or_else(|| panic!("no {rule}: {spaced:?}"))
}

fn near(length: Option<Length>, expected: f64) {
    let length = length.unwrap().inches();
    assert!((length - expected).abs() <= STORED, "{length} in, expected {expected} in");
}

fn tan50() -> f64 {
    50.0_f64.to_radians().tan()
}

/// 1/sin 50° − 1: .305.
fn nest() -> f64 {
    1.0 / 50.0_f64.to_radians().sin() - 1.0
}

/// P31: the drill came out one diameter from the edge of a flange where two are wanted.
#[test]
fn p31_one_diameter_where_two_are_wanted() {
    let (plan, joints) = sheets(0.032, 0.040, "", "A = { at = [[2, 0.5], [3, 0.125], [4, 0.5]] }");
    let it = at_hole(&plan, &joints, hole(&plan, "A/2"));
    let edge = to(&plan, &it, "edge of cap");
    near(edge.distance, 0.125);
    assert!((edge.diameters().unwrap() - 1.0).abs() < 1e-6);
    assert_eq!(edge.end, Some([3.0, 0.0]));
    let first = &edge.asked[0];
    assert!(first.rules && first.cited.source == "ac43-13-1b", "{first:?}");
    near(first.least, 2.0 * 0.125);
    assert_eq!(edge.shortfall(), Shortfall::Ruling);
    // It is the only hole that is under anything, and the row says which.
    let survey = survey(&plan, &joints);
    assert_eq!(survey.compared, 3);
    let [group] = survey.groups.as_slice() else { panic!("{:?}", survey.groups) };
    assert_eq!((group.worst.hole, group.holes.len()), (hole(&plan, "A/2"), 1));
}

/// P32: the holes of an angle from a later batch crowd two old ones; the others keep clear.
#[test]
fn p32_a_moved_pattern_crowds_two_old_holes() {
    let rows = "OLD = { from = [1, 2], to = [4, 2], count = 4 }\n\
                NEW = { at = [[1.5, 2], [2.2, 2.1], [3.2, 2], [4.5, 2]] }";
    let (plan, joints) = sheets(0.032, 0.040, "", rows);
    let survey = survey(&plan, &joints);
    let [group] = survey.groups.as_slice() else { panic!("{:?}", survey.groups) };
    assert_eq!((plan[group.row].name.as_str(), group.shortfall), ("NEW", Shortfall::Ruling));
    let names: Vec<String> = group.holes.iter().map(|&hole| plan.hole_name(hole)).collect();
    assert_eq!(names, ["a/web/NEW/2", "a/web/NEW/3"]);
    // The worst is .200 in from OLD 3; the other .224 in from OLD 2; 3 d is .375 in.
    assert_eq!(group.worst.to, To::Hole(hole(&plan, "OLD/3")));
    near(group.worst.distance, 0.2);
    near(Some(group.most), 0.2_f64.hypot(0.1));
    near(group.worst.asked[0].least, 3.0 * 0.125);
}

/// P28: pilot holes of a flange drilled up to 1/8: its countersink wants .050 in, and the edge distance
/// counts from the centre whatever is countersunk.
#[test]
fn p28_the_next_size_up_in_a_flange() {
    let row = |rivet: &str, prep: &str| {
        format!(
            "A = {{ at = [[3, 0.25]], rivet = \"{rivet}\", prep = {{ skin = \"{prep}\" }}, head = \"aft\" }}"
        )
    };
    let of = |rivet: &str, prep: &str| {
        let (plan, joints) = sheets(0.040, 0.040, "", &row(rivet, prep));
        let it = at_hole(&plan, &joints, hole(&plan, "A/1"));
        (plan, it)
    };
    let (plan, three) = of("MS20426AD3", "countersunk");
    assert_eq!(
        to(&plan, &three, "sheet skin").shortfall(),
        Shortfall::Another,
        "under .051 and with a land only"
    );
    assert_eq!(to(&plan, &three, "edge of cap").shortfall(), Shortfall::None);
    let (plan, four) = of("MS20426AD4", "countersunk");
    let sheet = to(&plan, &four, "sheet skin");
    assert_eq!((sheet.shortfall(), sheet.asked[0].least), (Shortfall::Ruling, Some(inches(0.050))));
    let quoted: Vec<_> = sheet.asked.iter().filter(|it| it.cited.source == "builder-accounts").collect();
    assert!(quoted.iter().any(|it| it.least == Some(inches(0.050)) && sheet.under(it) == Some(true)));
    // .0405 in of cone in .040 in of sheet: a knife edge.
    let knife = asked(sheet, "knife edge");
    near(knife.least, (A4 - D4) / (2.0 * tan50()));
    assert_eq!(sheet.under(knife), Some(true));
    // 2 d by the rule that rules, .3125 in for a flush head by the one beside it.
    let edge = to(&plan, &four, "edge of cap");
    assert_eq!((edge.distance, edge.shortfall()), (Some(inches(0.25)), Shortfall::Another));
    let (plan, dimpled) = of("MS20426AD4", "dimpled");
    assert_eq!(to(&plan, &dimpled, "edge of cap").distance, edge.distance);
}

/// Sheets under a dimpled skin: z0 + .305 t, a land of .008 below it.
#[test]
fn a_countersink_under_a_dimpled_skin() {
    let row = "A = { at = [[3, 1], [3, 3.905]], rivet = \"MS20426AD3\", head = \"aft\", \
               prep = { skin = \"dimpled\", cap = \"countersunk\" } }";
    let (plan, joints) = sheets(0.025, 0.048, "", row);
    let it = at_hole(&plan, &joints, hole(&plan, "A/1"));
    let sheet = to(&plan, &it, "sheet cap");
    let depth = (A3 - D3) / (2.0 * tan50()) + nest() * 0.025;
    assert!(sheet.asked[0].rules && sheet.asked[0].cited.source == "theory", "{:?}", sheet.asked[0]);
    near(sheet.asked[0].least, depth + 0.008);
    assert!((depth + 0.008 - 0.050).abs() < 5e-4, "about .050 (method, section 10)");
    near(asked(sheet, "knife edge").least, depth);
    assert_eq!(sheet.shortfall(), Shortfall::Ruling);
    assert_eq!(sheet.under(asked(sheet, "least sheet for a 100 degree")), Some(false));
    // What a document says without a figure stays a blank that nothing fails.
    let blank = asked(sheet, "knife edge and is not approved");
    assert_eq!((blank.least, sheet.under(blank)), (None, None));
    // The rim is wider by what the cone is deeper: at .095 in it breaks out of the cap's edge.
    let it = at_hole(&plan, &joints, hole(&plan, "A/2"));
    let edge = to(&plan, &it, "edge of cap");
    let rim = asked(edge, "rim of the countersink");
    near(rim.least, A3 / 2.0 + nest() * 0.025 * tan50());
    assert_eq!(edge.under(rim), Some(true));
}

/// A dimple's foot clears edge, bend and neighbour; what its die needs is not known and fails nothing.
#[test]
fn the_foot_of_a_dimple_has_its_room() {
    let row = "A = { at = [[3, 0.085], [3.17, 0.085], [6, 1.085]], rivet = \"MS20426AD3\", \
               head = \"aft\", prep = { skin = \"dimpled\", cap = \"dimpled\" } }";
    let (plan, joints) = sheets(0.025, 0.025, "bends = [[[0, 1], [10, 1]]]", row);
    let it = at_hole(&plan, &joints, hole(&plan, "A/2"));
    let (edge, beside) = (to(&plan, &it, "edge of cap"), to(&plan, &it, "hole A/1"));
    near(asked(edge, "foot of the dimple").least, A3 / 2.0);
    assert_eq!(edge.under(asked(edge, "foot of the dimple")), Some(true));
    near(asked(beside, "foot of the dimple").least, A3);
    assert_eq!(beside.under(asked(beside, "foot of the dimple")), Some(true));
    let it = at_hole(&plan, &joints, hole(&plan, "A/3"));
    let bend = to(&plan, &it, "bend");
    near(bend.distance, 0.085);
    assert_eq!(bend.under(asked(bend, "foot of the dimple")), Some(true));
    for spaced in [edge, beside, bend] {
        let die = asked(spaced, "die");
        assert_eq!((die.least, spaced.under(die)), (None, None));
    }
    let survey = survey(&plan, &joints);
    assert!(survey.dimpled);
    // The near skin is dimpled as well, and its edge is far off.
    let skin = joints.stacks.at(hole(&plan, "A/1"))[0];
    assert!(survey.groups.iter().all(|it| it.worst.to != To::Edge(skin)));
}

/// Rows are lines: parallel ones that run beside each other are told once, by the later.
#[test]
fn row_spacing_is_from_line_to_line() {
    let rows = "A = { from = [1, 1], to = [4, 1], count = 4 }\n\
                B = { from = [1.5, 1.3], to = [4.5, 1.3], count = 4 }\n\
                C = { from = [5, 1.1], to = [8, 1.1], count = 4 }\n\
                D = { from = [9, 1], to = [9, 3], count = 3 }\n\
                E = { from = [1.5, 1], to = [3.5, 1], count = 3 }";
    let (plan, joints) = sheets(0.032, 0.040, "", rows);
    let survey = survey(&plan, &joints);
    let mut told: Vec<(&str, &str)> = survey
        .groups
        .iter()
        .filter_map(|it| match it.worst.to {
            To::Row(other) => Some((plan[it.row].name.as_str(), plan[other].name.as_str())),
            _ => None,
        })
        .collect();
    // C runs on where A and B end, D stands across, E lies on the line of A.
    told.sort_unstable();
    assert_eq!(told, [("B", "A"), ("E", "B")]);
    let it = at_hole(&plan, &joints, hole(&plan, "B/1"));
    let row = to(&plan, &it, "row A");
    near(row.distance, 0.3);
    near(row.asked[0].least, 2.5 * 0.125);
    assert_eq!(row.shortfall(), Shortfall::Ruling);
    let it = at_hole(&plan, &joints, hole(&plan, "B/4"));
    assert!(it.iter().all(|it| !matches!(it.to, To::Row(_))), "A does not reach that far");
}

/// The row with the worst comes first, and what only another rule turns down after what the ruling one does.
#[test]
fn the_worst_comes_first() {
    let rows = "FLUSH = { at = [[2, 0.2]], rivet = \"MS20426AD3\", prep = { cap = \"dimpled\", skin = \"dimpled\" } }\n\
                MILD = { at = [[4, 0.24], [5, 0.23], [6, 3.8]] }\n\
                BAD = { at = [[8, 0.1]] }";
    let (plan, joints) = sheets(0.032, 0.040, "", rows);
    let survey = survey(&plan, &joints);
    let order: Vec<_> =
        survey.groups.iter().map(|it| (plan[it.row].name.as_str(), it.shortfall, it.holes.len())).collect();
    assert_eq!(
        order,
        [("BAD", Shortfall::Ruling, 1), ("MILD", Shortfall::Ruling, 3), ("FLUSH", Shortfall::Another, 1)]
    );
    assert_eq!(survey.groups[1].worst.hole, hole(&plan, "MILD/3"), ".2 in of .25 in is the least share");
    near(Some(survey.groups[1].most), 0.24);
}

/// What is not drawn is a blank and fails nothing; what holds no solid rivet is counted and not compared.
#[test]
fn blanks_stay_blank() {
    let (plan, joints) = plan_of(
        "format = 1\nid = \"a\"\nunits = \"in\"\n[parts]\nskin = { thickness = 0.032 }\n\
         cap = { thickness = 0.040 }\n[planes.web]\nlayers = [\"skin\", \"cap\"]\n\
         outline.skin = { rect = [0, 0, 10, 4] }\n[planes.web.rows]\n\
         A = { at = [[2, 2]], rivet = \"MS20470AD4\" }\nB = { at = [[4, 2]], called = \"AN3-3A\" }\n",
    );
    let it = at_hole(&plan, &joints, hole(&plan, "A/1"));
    let edge = to(&plan, &it, "edge of cap");
    assert_eq!((edge.distance, edge.shortfall()), (None, Shortfall::None));
    assert!(at_hole(&plan, &joints, hole(&plan, "B/1")).is_empty());
    let survey = survey(&plan, &joints);
    assert_eq!((survey.compared, survey.not_compared, survey.no_edge.len()), (1, 1, 1));
    assert!(survey.groups.is_empty());
}

fn teasel() -> Plan {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../plans/teasel");
    let mut names: Vec<_> = std::fs::read_dir(&folder)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .filter(|name| name.ends_with(".toml"))
        .collect();
    names.sort();
    let texts = names.iter().map(|name| {
        let builders = ["limits.toml", "people.toml", "gates.toml", "tools.toml"].contains(&name.as_str());
        SourceText {
            name: if builders { name.clone() } else { format!("plan/{name}") }.into(),
            text: std::fs::read_to_string(folder.join(name)).unwrap().into(),
        }
    });
    read(texts.collect()).plan
}

/// Every edge distance of the demo kit as Shapely has it.
#[test]
fn edges_are_as_shapely_has_them() {
    const DISTANCE: f64 = 0.000_05 + 0.000_1;
    let plan = teasel();
    let joints = Joints::of(&plan);
    let mut compared = 0;
    // Every seventh hole meets every plane; all of them are held against it in `tests/stacks.rs`.
    for line in include_str!("data/stacks.csv").lines().skip(1).step_by(7) {
        let [name, layers, edges] = line.split(',').collect::<Vec<_>>().try_into().unwrap();
        let hole = plan.hole_named(name).unwrap_or_else(|| panic!("the plan has no hole {name}"));
        if plan[plan[hole].row].through.is_some() || plan[plan[hole].row].rivet.is_none() {
            continue;
        }
        let spaced = at_hole(&plan, &joints, hole);
        for (layer, printed) in layers.split(' ').zip(edges.split(' ')) {
            let edge = to(&plan, &spaced, &format!("edge of {layer}"));
            match (edge.distance, printed.parse::<f64>()) {
                (None, Err(_)) => {}
                (Some(distance), Ok(printed)) => {
                    assert!(
                        (distance.inches() - printed).abs() <= DISTANCE,
                        "{name}: {distance:?}, {printed}"
                    );
                    compared += 1;
                }
                (distance, printed) => panic!("{name}: {distance:?} here, {printed:?} by Shapely"),
            }
        }
    }
    assert!(compared > 200, "only {compared} distances");
}

/// What makes a finding stands in the survey under the rule that rules, at the same distance.
#[test]
fn findings_and_survey_agree() {
    let rows =
        "A = { from = [1, 0.2], to = [3, 0.2], pitch = 0.3 }\nB = { at = [[5, 1.1], [6, 3.9], [6.2, 3.7]] }";
    let (crowded, crowded_joints) = sheets(0.032, 0.040, "bends = [[[0, 1], [10, 1]]]", rows);
    let plan = teasel();
    let joints = Joints::of(&plan);
    assert!(check(&crowded, &crowded_joints).iter().any(|it| it.kind == "pitch"));
    for (plan, joints) in [(&crowded, &crowded_joints), (&plan, &joints)] {
        for found in too_near(plan, &joints.stacks) {
            let spaced = at_hole(plan, joints, found.hole);
            let wanted = match found.near {
                Near::Edge(piece) => To::Edge(piece),
                Near::Bend => To::Bend,
                Near::Hole(other) => To::Hole(other),
            };
            let it = spaced.iter().find(|it| it.to == wanted).unwrap();
            assert_eq!(it.shortfall(), Shortfall::Ruling);
            assert_eq!(it.asked[0].least, Some(found.least));
            near(it.distance, found.distance.inches());
        }
    }
    assert!(too_near(&crowded, &crowded_joints.stacks).len() > 8);
}
