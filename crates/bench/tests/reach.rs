//! Reach: hand-drawn cases with answers computed by hand, and properties.
//!
//! The tools of these tests, the room left round everything (`reach-margin`) is .06 in:
//!
//! | yoke | throat | reaches | gap | nose, half | with room | nose, high | with room |
//! |---|---|---|---|---|---|---|---|
//! | short | 2 | 1.94 | .75 | .30 | .36 | .80 | .86 |
//! | deep | 4 | 3.94 | 1.25 | .40 | .46 | 1.10 | 1.16 |
//! | slim | 2 | 1.94 | .75 | .20 | .26 | .40 | .46 |
//! | needle | 2 | 1.94 | .75 | .10 | .16 | .40 | .46 |

use faying_bench::reach::{Basis, HelpersEvening, Means, Reach, Reaches, helpers_evenings, reach_at};
use faying_joint::Joints;
use faying_plan::{Plan, SourceText, read};
use faying_sequence::Sequence;
use proptest::prelude::*;

const TOOLS: &str = r#"
format = 1
helper = true
[squeezers]
air = { title = "Air squeezer", force = 3000, pressure = 90 }
hand = { title = "Hand squeezer", force = 2500 }
[yokes]
short = { title = "Short yoke", fits = "air", throat = 2, gap = 0.75, nose = { half_width = 0.3, height = 0.8 } }
deep = { title = "Deep yoke", fits = "air", throat = 4, gap = 1.25, nose = { half_width = 0.4, height = 1.1 } }
slim = { title = "Slim yoke", fits = "air", throat = 2, gap = 0.75, nose = { half_width = 0.2, height = 0.4 } }
needle = { title = "Needle yoke", fits = "air", throat = 2, gap = 0.75, nose = { half_width = 0.1, height = 0.4 } }
jaw = { title = "Hand jaw", fits = "hand", throat = 1, gap = 0.75, nose = { half_width = 0.3, height = 0.8 } }
[dies]
cup = { title = "Cup", held_in = "squeezer", head = "universal", across = 0.375 }
flat = { title = "Flat", held_in = "squeezer", head = "flush", across = 0.375 }
set = { title = "Cupped set", held_in = "gun", head = "universal", across = 0.5 }
mushroom = { title = "Mushroom set", held_in = "gun", head = "flush", across = 1 }
back = { title = "Back set", held_in = "back-riveting", head = "flush", across = 0.75 }
[guns]
gun = { title = "Gun", pressure."1/8" = 35 }
[bars]
block = { title = "Block", weight = 2, enters = 1.25 }
tongue = { title = "Tongue", weight = 1, enters = 0.5 }
[plates]
plate = { title = "Plate", size = [12, 8] }
"#;

fn plan_with(tools: &str, texts: &[&str]) -> Plan {
    let mut files: Vec<SourceText> = texts
        .iter()
        .enumerate()
        .map(|(n, text)| SourceText { name: format!("plan/{n}.toml").into(), text: (*text).into() })
        .collect();
    files.push(SourceText { name: "tools.toml".into(), text: tools.into() });
    let reading = read(files);
    assert!(reading.findings.is_empty(), "{}", reading.findings[0]);
    reading.plan
}

/// A web and a strap of .040 with one outline, and one row of 1/8 universal rivets, heads aft.
fn sheet(outline: &str, more: &str, hole: [f64; 2]) -> String {
    format!(
        r#"
format = 1
id = "box"
[parts]
web = {{ material = "2024-T3", thickness = 0.040 }}
strap = {{ material = "2024-T3", thickness = 0.040 }}
[planes.p]
near = "aft"
far = "forward"
layers = ["web", "strap"]
outline.web = {outline}
outline.strap = {outline}
{more}
[planes.p.rows]
A = {{ at = [[{:.4}, {:.4}]], rivet = "MS20470AD4", called = "-4", head = "aft" }}
"#,
        hole[0], hole[1]
    )
}

fn reach_of(plan: &Plan, name: &str) -> Reach {
    let joints = Joints::of(plan);
    let sequence = Sequence::of(plan, &joints.stacks);
    let hole = plan.hole_named(name).expect("the hole is drawn");
    let all = Reaches::of(plan, &joints, &sequence);
    let reach = all.at(hole).expect("a solid rivet").clone();
    let alone = reach_at(plan, &joints, &sequence.order, hole, sequence.due(hole)).expect("a solid rivet");
    assert_eq!(reach, alone, "alone and among all others");
    reach
}

fn first(outline: &str, more: &str, hole: [f64; 2]) -> (Plan, Reach) {
    let plan = plan_with(TOOLS, &[&sheet(outline, more, hole)]);
    let reach = reach_of(&plan, "box/p/A/1");
    (plan, reach)
}

/// Yokes that come in, and the other tools, by name; best first.
fn ways(plan: &Plan, reach: &Reach) -> Vec<String> {
    let tools = &plan.tools;
    reach
        .choices
        .iter()
        .map(|way| match way.means {
            Means::Squeezer { yoke, .. } => tools.yokes[yoke].name.clone(),
            Means::GunAndBar { bar, .. } => format!("gun and {}", tools.bars[bar].name),
            Means::BackRiveting { plate, .. } => tools.plates[plate].name.clone(),
        })
        .collect()
}

fn reason(reach: &Reach, tool: &str) -> String {
    let refused = reach.refused.iter().find(|refused| refused.tool == tool);
    refused.unwrap_or_else(|| panic!("{tool} is not refused: {:?}", reach.refused)).reason.clone()
}

/// A hole half an inch from an edge: every yoke comes in. The shortest throat first, but the hand
/// squeezer last: a -4 through .080 makes a head .2 wide at its middle height, for which
/// F = π/4·.2²·K·(2 ln 1.6)^.2 = 2,230 lbf, .74 of 3,000 and .89 of 2,500: near its end.
#[test]
fn an_edge_hole_is_easy() {
    let (plan, reach) = first("{ rect = [0, 0, 12, 12] }", "", [6.0, 0.5]);
    assert_eq!(ways(&plan, &reach), ["short", "slim", "needle", "deep", "jaw", "gun and block"]);
    assert_eq!(reach.basis, Basis::Drawn);
    assert!(reach.choices[0].why.starts_with("the short yoke comes in over the edge .50 in away"));
    assert!(reach.choices.iter().all(|way| way.people == 1 && !way.cited.is_empty()));
}

/// The middle of a web of 12 by 12 is 6 in from every edge; the lightening
/// hole beside it, its rim 1.5 − 1 = .5 in away, is no way in.
#[test]
fn a_deep_web_is_beyond_every_throat() {
    let cut = "cut.web = { circle = [6, 4.5, 2] }\ncut.strap = { circle = [6, 4.5, 2] }";
    for more in ["", cut] {
        let (plan, reach) = first("{ rect = [0, 0, 12, 12] }", more, [6.0, 6.0]);
        assert_eq!(ways(&plan, &reach), ["gun and block"]);
        insta::allow_duplicates! {
            insta::assert_snapshot!(
                reason(&reach, "Air squeezer with the deep yoke"),
                @"the deep yoke reaches 4.000 in less .06 in of room; the nearest free edge is 6.00 in away"
            );
        }
    }
}

/// 3.94 in is what the deep yoke reaches: at 3.93 in it comes in, at 3.95 in not.
#[test]
fn the_throat_decides_to_the_hundredth() {
    for (y, comes_in) in [(3.93, true), (3.95, false)] {
        let (plan, reach) = first("{ rect = [0, 0, 12, 12] }", "", [6.0, y]);
        assert_eq!(ways(&plan, &reach).contains(&"deep".to_owned()), comes_in, "{y}");
    }
}

/// A channel seen from aft; its lower flange stands .80 forward and goes back .50 over the web.
///
/// ```text
///   y                 web 12 × 6
///   1.2   ─ ─ ─ ─ ○ B     lip ends at .70
///    .6   ○ C  lip  ○ A   .40 from the flange, below the lip
///    .2   ═══════════     flange, .80 forward
///    0    edge
/// ```
///
/// A: short needs .86 below the lip of .80: too tall. Deep needs .46 beside the
/// wall: .40. Slim needs .46 below .80 and fits, but every edge within 1.94 is
/// the one behind the flange.
/// C, .80 from the end of the channel: slim comes in from the end, below the lip.
/// B clears the lip by .50. Over the flange the jaws must pass .80 forward
/// (more than the tail), .054 of head aft (the standards' height of a 1/8
/// universal head), .080 of sheets and .06 of room: .994, printed 1.00. Short
/// has .75; deep has 1.25.
#[test]
fn a_return_flange_asks_for_throat_and_gap() {
    const WEB: &str = "{ rect = [0, 0, 12, 6] }";
    const FLANGE: &str = r#"bends = [{ line = [[0, 0.2], [12, 0.2]], part = "web", side = "forward", height = 0.8, lip = 0.5 }]"#;
    let (plan, a) = first(WEB, FLANGE, [6.0, 0.6]);
    assert!(!ways(&plan, &a).iter().any(|way| plan.tools.yokes.iter().any(|yoke| yoke.name == *way)));
    insta::assert_snapshot!(
        reason(&a, "Air squeezer with the short yoke"),
        @"the return flange on the forward side (.800 in high) lies over the hole on the forward side and leaves .80 in; the nose of the short yoke needs .86 in"
    );
    insta::assert_snapshot!(
        reason(&a, "Air squeezer with the deep yoke"),
        @"the nose of the deep yoke needs .46 in beside the hole on the forward side; the return flange on the forward side (.800 in high) is .40 in away"
    );
    insta::assert_snapshot!(
        reason(&a, "Air squeezer with the slim yoke"),
        @"the return flange on the forward side (.800 in high) lies over the hole, and the slim yoke reaches no other edge"
    );
    let (plan, c) = first(WEB, FLANGE, [0.8, 0.6]);
    assert!(ways(&plan, &c).contains(&"slim".to_owned()));
    assert!(!ways(&plan, &c).contains(&"short".to_owned()));

    let head = faying_standards::figures().rivet_size("MS20470AD4".parse().unwrap()).unwrap().head_height;
    let needs = 0.8 + head.inches() + 0.08 + 0.06;
    assert!(0.75 < needs && needs < 1.25);
    let (plan, b) = first(WEB, FLANGE, [6.0, 1.2]);
    assert_eq!(ways(&plan, &b), ["deep", "gun and tongue"], "the block needs 1.25 and goes to the wall only");
    assert!(b.choices[0].why.contains("its gap of 1.250 in passes the return flange"));
    assert!(reason(&b, "Air squeezer with the short yoke").contains(
        &format!("the jaws must be {:.2} in apart", (needs * 100.0).ceil() / 100.0).replace("be 0.", "be .")
    ));
}

/// A bracket 1 in high stands aft, .30 in beside a hole that is .50 in from the edge.
///
/// Die: .375/2 + .06 = .2475, clear. Short needs .36: no. Slim needs .26: yes.
/// Set: .5/2 + .06 = .31: no. The bracket comes with the second step: before, all is open.
#[test]
fn a_bracket_beside_the_hole_asks_for_a_slim_nose() {
    const STANDS: &str = r#"stands.bracket = { rect = [6.3, 0.1, 1, 1], side = "aft", height = 1 }"#;
    let (plan, reach) = first("{ rect = [0, 0, 12, 12] }", STANDS, [6.0, 0.5]);
    assert_eq!(ways(&plan, &reach), ["slim", "needle"]);
    insta::assert_snapshot!(
        reason(&reach, "Air squeezer with the short yoke"),
        @"the nose of the short yoke needs .36 in beside the hole on the aft side; bracket on the aft side (1.000 in high) is .30 in away"
    );
    insta::assert_snapshot!(
        reason(&reach, "Gun and bar"),
        @"cupped set is .500 in across and needs .31 in to what stands beside it; bracket on the aft side (1.000 in high) is .30 in from the hole"
    );

    let later = STANDS.replace("height = 1 ", "height = 1, from = \"second\" ");
    let steps =
        "[steps.one]\nadds = [\"web\", \"strap\"]\nsets = [\"p/A\"]\n[steps.second]\nafter = [\"one\"]\n";
    let text = sheet("{ rect = [0, 0, 12, 12] }", &later, [6.0, 0.5]);
    let plan = plan_with(TOOLS, &[&format!("{text}{steps}")]);
    let free = reach_of(&plan, "box/p/A/1");
    assert_eq!(ways(&plan, &free).len(), 6, "the bracket is not there yet");
    let joints = Joints::of(&plan);
    let sequence = Sequence::of(&plan, &joints.stacks);
    let second = plan.step_named("box/second");
    let hole = plan.hole_named("box/p/A/1").unwrap();
    let then = reach_at(&plan, &joints, &sequence.order, hole, second).unwrap();
    assert_eq!(ways(&plan, &then), ["slim", "needle"]);
}

/// A wall .22 in from the hole: the needle's nose needs .16 and clears it, its die needs .2475 and does not.
#[test]
fn a_die_stands_against_a_flange() {
    let flange = r#"bends = [{ line = [[0, 0.22], [12, 0.22]], side = "aft", height = 0.3 }]"#;
    let (plan, reach) = first("{ rect = [0, 0, 12, 12] }", flange, [6.0, 0.44]);
    assert_eq!(ways(&plan, &reach), [""; 0]);
    insta::assert_snapshot!(
        reason(&reach, "Air squeezer with the needle yoke"),
        @"the die of cup is .375 in across on the aft side and needs .25 in beside the hole; the flange on the aft side (.300 in high) is .22 in away"
    );
}

/// Not drawn, pressed to 1.5 d: F grows with d², from 1,906 lbf at 1/8 (theory chapter) to
/// 1,906 · 25/16 = 2,978 at 5/32 and 1,906 · 36/16 = 4,289 at 3/16.
#[test]
fn force_decides_what_is_not_drawn() {
    let text = "format = 1\nid = \"box\"\n[rows]\n\
        A = { count = 3, called = \"MS20470AD4\" }\n\
        B = { count = 3, called = \"MS20470AD5\" }\n\
        C = { count = 3, called = \"MS20470AD6\" }\n\
        D = { count = 3, called = \"AN3-5A\" }\n";
    let plan = plan_with(TOOLS, &[text]);
    let eighth = reach_of(&plan, "box/A/1");
    assert_eq!(eighth.basis, Basis::ForceOnly);
    assert!(eighth.notes[0].starts_with("not drawn"));
    assert_eq!(
        ways(&plan, &eighth)[0],
        "jaw",
        "1,906 of 2,500 is .76, not near the rating: the shortest throat"
    );
    let shares: Vec<(String, f64)> = ways(&plan, &eighth)
        .into_iter()
        .zip(eighth.choices.iter().filter_map(|way| way.force_share))
        .collect();
    for (yoke, share) in shares {
        let rated = if yoke == "jaw" { 2500.0 } else { 3000.0 };
        assert!((share - 1906.0 / rated).abs() < 0.005, "{yoke} {share}");
    }
    let more = reach_of(&plan, "box/B/1");
    assert!(
        reason(&more, "Hand squeezer")
            .contains("the hand squeezer has 2500 lbf at the end of its stroke (119 %)")
    );
    assert!(more.choices[0].warn && (more.choices[0].force_share.unwrap() - 2978.0 / 3000.0).abs() < 0.005);
    let most = reach_of(&plan, "box/C/1");
    assert_eq!(ways(&plan, &most), ["gun and block"]);
    assert!(reason(&most, "Air squeezer").contains("(143 %)"));
    let joints = Joints::of(&plan);
    let reaches = Reaches::of(&plan, &joints, &Sequence::of(&plan, &joints.stacks));
    assert_eq!(reaches.at(plan.hole_named("box/D/1").unwrap()), None, "a bolt has its own tools");
    assert_eq!(reaches.all().len(), 3);
}

fn skin(more: &str, prep: &str, length: f64) -> String {
    format!(
        r#"
format = 1
id = "box"
[parts]
skin = {{ material = "2024-T3", thickness = 0.025 }}
rib = {{ material = "2024-T3", thickness = 0.025 }}
[planes.p]
near = "outer"
far = "inner"
layers = ["skin", "rib"]
outline.skin = {{ rect = [0, 0, {length}, 20] }}
outline.rib = {{ rect = [0, 9.5, {length}, 1] }}
{more}
[planes.p.rows]
A = {{ at = [[10, 10]], rivet = "{prep}", called = "-3.5", head = "outer" }}
"#
    )
    .replace("head = \"outer\" }", "head = \"outer\", prep = { skin = \"dimpled\", rib = \"dimpled\" } }")
}

/// Skin down on the plate: the outer side must be bare within half the plate's short side, 4 in;
/// the rib's web inside must leave .75/2 + .06 = .435 in to the set.
#[test]
fn back_riveting_wants_a_bare_outer_side() {
    let web = |y: f64| {
        format!("bends = [{{ line = [[0, {y}], [20, {y}]], part = \"rib\", side = \"inner\", height = 3 }}]")
    };
    let reach = |more: &str, length: f64| {
        let plan = plan_with(TOOLS, &[&skin(more, "MS20426AD3", length)]);
        let reach = reach_of(&plan, "box/p/A/1");
        (ways(&plan, &reach), reach)
    };
    let (ways, good) = reach(&web(9.5), 20.0);
    assert_eq!(ways, ["plate", "gun and block"], "the edge is 10 in away; the web .50 in from the hole");
    assert!(good.choices[0].notes[0].contains("under every rivet"));
    assert!(!good.choices[0].notes.iter().any(|note| note.contains("helper")));
    let (ways, long) = reach(&web(9.5), 60.0);
    assert_eq!(ways[0], "plate");
    assert!(long.choices[0].notes.iter().any(|note| note.contains("60.00 in long: a helper keeps it flat")));

    let (_, against) = reach(&web(9.6), 20.0);
    assert!(reason(&against, "back-riveting").contains("back set is .750 in across and needs .44 in"));
    let outside = "stands.bracket = { rect = [12, 9, 1, 2], side = \"outer\", height = 0.5 }";
    let (_, proud) = reach(outside, 20.0);
    insta::assert_snapshot!(
        reason(&proud, "back-riveting"),
        @"the outer side does not lie flat on the plate, 12.000 by 8.000 in: bracket on the outer side (.500 in high) is 2.00 in from the hole"
    );
    let (plan, universal) = first("{ rect = [0, 0, 12, 12] }", "", [6.0, 6.0]);
    assert_eq!(reason(&universal, "back-riveting"), "only flush heads lie on the plate");
    drop(plan);
}

/// The middle of a sheet of 50 by 50 is 25 in from every edge; an arm reaches 20.
#[test]
fn beyond_an_arm_it_takes_two_and_a_helpers_evening() {
    let steps = "[steps.one]\nadds = [\"web\", \"strap\"]\nsets = [\"p/A\"]\n";
    let text = sheet("{ rect = [0, 0, 50, 50] }", "", [25.0, 25.0]);
    let text = text.replace("[[25.0000, 25.0000]]", "[[25, 25], [25, 18], [25, 26]]");
    let plan = plan_with(TOOLS, &[&format!("{text}{steps}")]);
    let joints = Joints::of(&plan);
    let sequence = Sequence::of(&plan, &joints.stacks);
    let reaches = Reaches::of(&plan, &joints, &sequence);
    let holes = [1, 2, 3].map(|n| plan.hole_named(&format!("box/p/A/{n}")).unwrap());
    assert_eq!(holes.map(|hole| reaches.at(hole).unwrap().wants_two()), [true, false, true]);
    let evenings = helpers_evenings(&plan, &sequence, &reaches, |hole| hole == holes[2]);
    assert_eq!(
        evenings,
        [HelpersEvening {
            step: plan.step_named("box/one").unwrap(),
            holes: vec![holes[0]],
            note: "the helper's first rivets are looked at from outside, head and skin, before going on"
                .into(),
        }]
    );
}

/// A side that an earlier step has closed keeps every tool out.
#[test]
fn a_closed_side_keeps_every_tool_out() {
    let steps = "[steps.one]\nadds = [\"web\", \"strap\"]\ncloses = [\"p: forward\"]\n\
        [steps.two]\nafter = [\"one\"]\nsets = [\"p/A\"]\n";
    let text = sheet("{ rect = [0, 0, 12, 12] }", "", [6.0, 0.5]);
    let plan = plan_with(TOOLS, &[&format!("{text}{steps}")]);
    let reach = reach_of(&plan, "box/p/A/1");
    assert_eq!(ways(&plan, &reach), [""; 0]);
    assert_eq!(reason(&reach, "every tool"), "the forward side is closed since step box/one");
}

/// A part without an outline has no known edge.
#[test]
fn a_part_without_an_outline_leaves_it_to_force() {
    let text = sheet("{ rect = [0, 0, 12, 12] }", "", [6.0, 6.0])
        .replace("outline.strap = { rect = [0, 0, 12, 12] }\n", "");
    let plan = plan_with(TOOLS, &[&text]);
    let reach = reach_of(&plan, "box/p/A/1");
    assert_eq!(reach.basis, Basis::ForceOnly);
    assert!(reach.notes[0].starts_with("the outline of strap is not drawn"));
    assert!(ways(&plan, &reach).contains(&"short".to_owned()));
}

/// The set of ways without their order.
fn set_of(plan: &Plan, reach: &Reach) -> std::collections::BTreeSet<String> {
    ways(plan, reach)
        .into_iter()
        .map(|way| if way.starts_with("gun") { "gun".to_owned() } else { way })
        .collect()
}

#[derive(Clone, Debug)]
struct Thing {
    text: String,
}

fn thing(n: usize) -> impl Strategy<Value = Thing> {
    let at = || 0.0..9.0_f64;
    (at(), at(), 0.1..2.0_f64, 0.1..1.5_f64, any::<bool>(), any::<bool>()).prop_map(
        move |(x, y, size, height, aft, wall)| {
            let side = if aft { "aft" } else { "forward" };
            let text = if wall {
                format!("{{ line = [[{x:.3}, {y:.3}], [{:.3}, {y:.3}]], side = \"{side}\", height = {height:.3}, lip = {size:.3} }}", x + 2.0)
            } else {
                format!("stands.s{n} = {{ rect = [{x:.3}, {y:.3}, {size:.3}, {size:.3}], side = \"{side}\", height = {height:.3} }}\n")
            };
            Thing { text }
        },
    )
}

fn things() -> impl Strategy<Value = Vec<Thing>> {
    (0..5_usize).prop_flat_map(|count| (0..count).map(thing).collect::<Vec<_>>())
}

fn with_things(things: &[Thing], hole: [f64; 2]) -> String {
    let stands: String =
        things.iter().filter(|it| it.text.starts_with("stands")).map(|it| it.text.as_str()).collect();
    let bends: Vec<&str> =
        things.iter().filter(|it| it.text.starts_with('{')).map(|it| it.text.as_str()).collect();
    let bends = format!("bends = [{}]\n", bends.join(", "));
    sheet("{ rect = [0, 0, 9, 9] }", &format!("{bends}{stands}"), hole)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    /// A deeper throat never loses a hole, and one more obstacle never gains a tool.
    #[test]
    fn more_throat_gains_and_more_in_the_way_loses(
        list in things(),
        x in 0.3..8.7_f64,
        y in 0.3..8.7_f64,
        deeper in 2.0..6.0_f64,
    ) {
        let text = with_things(&list, [x, y]);
        let plan = plan_with(TOOLS, &[&text]);
        let had = set_of(&plan, &reach_of(&plan, "box/p/A/1"));
        let tools = TOOLS.replace("throat = 2", &format!("throat = {deeper:.3}"));
        let deep = plan_with(&tools, &[&text]);
        let has = set_of(&deep, &reach_of(&deep, "box/p/A/1"));
        prop_assert!(had.is_subset(&has), "{:?} {:?}", had, has);
        for left_out in 0..list.len() {
            let mut fewer = list.clone();
            fewer.remove(left_out);
            let plan = plan_with(TOOLS, &[&with_things(&fewer, [x, y])]);
            let without = set_of(&plan, &reach_of(&plan, "box/p/A/1"));
            prop_assert!(had.is_subset(&without), "{:?} {:?}", had, without);
        }
    }

    /// The other hand reaches as this one does.
    #[test]
    fn the_other_hand_reaches_the_same(list in things(), x in 0.3..8.7_f64, y in 0.3..8.7_f64) {
        let text = with_things(&list, [x, y]);
        let right = "format = 1\nid = \"right\"\nmirror = \"box\"\n";
        let plan = plan_with(TOOLS, &[&text, right]);
        prop_assert_eq!(reach_of(&plan, "box/p/A/1"), reach_of(&plan, "right/p/A/1"));
    }
}
