//! The tools of a build as they are read.

use faying_plan::tools::{Adjust, DiesFor, Drive, STARTER, Times, Tools};
use faying_plan::{Plan, SourceText, read};
use faying_standards::{Diameter, HeadStyle, Known, inches};

fn with_tools(text: &str) -> Plan {
    let reading = read(vec![SourceText { name: "tools.toml".into(), text: text.into() }]);
    assert!(reading.findings.is_empty(), "{}", reading.findings[0]);
    reading.plan
}

#[test]
fn a_build_without_the_file_has_the_starter_set() {
    let plan = read(Vec::new()).plan;
    assert!(!plan.tools.own);
    assert_eq!(&plan.tools, Tools::starter());
    assert_eq!(plan.tools.cited("yokes.deep").known, Known::Memory);
    assert_eq!(plan.tools.times, Times::standard());
}

/// Copied by `faying new` it is still nobody's measurement; with one change it is the builder's.
#[test]
fn the_starter_set_is_read_without_a_finding() {
    assert!(!with_tools(STARTER).tools.own);
    let own = with_tools(&format!("# mine\n{STARTER}")).tools;
    assert!(own.own);
    assert_eq!(own.cited("yokes.deep").known, Known::Own);
    assert_eq!(Tools { own: false, ..own }, *Tools::starter());
}

#[test]
fn the_starter_set_serves_the_rivets_of_the_trade() {
    let tools = Tools::starter();
    for dash in [3, 4, 5] {
        let diameter = Diameter::from_dash(dash).unwrap();
        for held_in in [DiesFor::Squeezer, DiesFor::Gun] {
            for head in HeadStyle::ALL {
                let fit = tools.dies.iter().any(|it| it.held_in == held_in && it.fit(head, diameter));
                assert!(fit, "{diameter} {head} in {held_in:?}");
            }
        }
        assert!(tools.clecoes.iter().any(|it| it.diameter == diameter));
    }
    assert_eq!(tools.yokes.len(), 3);
    assert_eq!(tools.bars.len(), 2);
    assert_eq!(tools.title_of("deep"), Some("Deep yoke"));
    assert_eq!(tools.title_of("nothing"), None);
}

/// The demo kit has the starter set, word for word.
#[test]
fn the_demo_kit_has_the_starter_set() {
    assert_eq!(include_str!("../../../plans/teasel/tools.toml"), STARTER);
}

#[test]
fn what_is_written_is_what_is_read() {
    let tools = with_tools(
        r#"
format = 1
units = "mm"
[squeezers]
old-red = { title = "The old red one", force = 1800, shims = [0.5, 0.25, "1/64 in"], stroke = 12 }
[yokes]
c = { fits = "old-red", throat = 50.8, gap = "3/4 in", nose = { half_width = 8, height = 20 }, stiffness = 90000 }
[times]
squeeze = 4.5
"#,
    )
    .tools;
    let squeezer = &tools.squeezers[0];
    assert_eq!((squeezer.title.as_str(), squeezer.drive), ("The old red one", Drive::Hand));
    let mm = faying_standards::millimetres;
    assert_eq!(squeezer.adjust, Adjust::Shims(vec![mm(0.25), inches(1.0 / 64.0), mm(0.5)]));
    assert_eq!(tools.yokes[0].throat, inches(2.0));
    assert_eq!(tools.yokes[0].squeezers, [0]);
    assert_eq!(tools.yokes[0].stiffness_lbf_in, Some(90_000.0));
    assert_eq!((tools.times.squeeze.value, tools.times.squeeze.cited.known), (4.5, Known::Own));
    assert_eq!(tools.times.gun, Times::standard().gun);
    assert!(!tools.helper);
}

/// Flanges and brackets keep the trade names of their sides on the other hand.
#[test]
fn the_other_hand_has_the_same_flanges_and_brackets() {
    let left = r#"
format = 1
id = "left"
[parts]
web = { thickness = 0.04 }
strap = { thickness = 0.04 }
[planes.p]
near = "aft"
far = "forward"
layers = ["web", "strap"]
outline.web = { rect = [0, 0, 20, 5] }
outline.strap = { rect = [0, 1, 20, 1] }
bends = [[[0, 2], [20, 2]], { line = [[0, 0.2], [20, 0.2]], part = "web", side = "forward", height = 0.8, lip = "1/2" }]
stands.bracket = { rect = [3, 1, 1, 1], side = "aft", height = 1.5, from = "second" }
[steps.first]
adds = ["web", "strap"]
[steps.second]
after = ["first"]
"#;
    let right = "format = 1\nid = \"right\"\nmirror = \"left\"\n";
    let files = [("plan/left.toml", left), ("plan/right.toml", right)];
    let files = files.map(|(name, text)| SourceText { name: name.into(), text: text.into() });
    let reading = read(files.to_vec());
    assert!(reading.findings.is_empty(), "{}", reading.findings[0]);
    let plan = reading.plan;
    let [one, other] = [&plan.planes[0], &plan.planes[1]];
    assert_eq!(one.bends.len(), 2);
    assert_eq!(one.bends, other.bends);
    for plane in [one, other] {
        let flange = &plane.flanges[0];
        assert_eq!((flange.bend, plane.side_name(flange.side)), (1, "forward"));
        assert_eq!((flange.height, flange.lip), (inches(0.8), Some(inches(0.5))));
        assert_eq!(plan[plan[flange.pieces[0]].part].assembly, plane.assembly);
        let stand = &plane.stands[0];
        assert_eq!((stand.name.as_str(), plane.side_name(stand.side)), ("bracket", "aft"));
        assert_eq!(plan[stand.from.unwrap()].assembly, plane.assembly);
    }
}
