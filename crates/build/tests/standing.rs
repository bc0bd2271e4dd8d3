//! What the desk's pages ask: how holes stand, what a section is drawn from, what limits say of a head as typed.

#![allow(clippy::unwrap_used, reason = "a test may fail")]

use faying_build::report::{HoleStanding, JudgeReport, Standing, TypedHead, judge_typed, section_numbers};
use faying_build::room::{Openness, StepId};
use faying_build::{ActKind, ActRequest, Answer, Build, Disk, Folder, World};
use tempfile::TempDir;

/// A web with a doubler, a rib that shares the last two holes of A, a held row, a row without a plane,
/// a row of the worked example (.063 + .040 + .040) and one through dimples.
const PLAN: &str = r#"format = 1
id = "tab"
units = "in"
[usual]
rivet = "MS20470AD4"
[parts]
web = { thickness = 0.040 }
doubler = { thickness = 0.063 }
cap = { thickness = 0.040 }
rib = { thickness = 0.032 }
[planes.web]
near = "aft"
far = "forward"
layers = ["web", "doubler", "rib"]
outline.web = { rect = [0, 0, 10, 4] }
outline.doubler = { rect = [0, 0, 10, 4] }
outline.rib = { rect = [4.5, 0, 2, 4] }
[planes.web.rows]
A = { from = [1, 1], to = [6, 1], count = 6, called = "-5" }
H = { from = [1, 3], to = [3, 3], count = 3, called = "-5", hold = { until = "fit", why = "fits the hinge pin" } }
[rows]
K = { count = 4, called = "MS20470AD4-4" }
W = { count = 2, called = "MS20470AD4-5", through = ["doubler", "web", "cap"] }
F = { count = 2, called = "MS20426AD3-3.5", through = ["rib", "web"], prep = { rib = "dimpled", web = "dimpled" } }
[steps.prime]
[steps.doubler]
adds = ["web", "doubler"]
sets = ["web/A", "web/H"]
after = ["prime"]
[steps.ribs]
adds = ["rib"]
sets = ["web/A", "K"]
after = ["doubler"]
[steps.fit]
sets = ["web/H"]
after = ["ribs"]
"#;

struct Kit {
    build: Build,
    _folder: TempDir,
}

impl Kit {
    fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("kit");
        Folder::create(&path, &[("plan/tab.toml", PLAN)]).unwrap();
        let build = Build::open_with(&path, &Disk { sync: false, ..Disk::default() }).unwrap();
        Self { build, _folder: folder }
    }

    fn done(&self, id: &str, act: ActKind) {
        let request = ActRequest {
            id: id.to_owned(),
            person: String::new(),
            at: String::new(),
            revision: None,
            build: None,
            act,
        };
        let answer = self.build.act(request).unwrap();
        assert!(matches!(answer, Answer::Taken { .. }), "{answer:?}");
    }
}

fn standing(world: &World, hole: &str) -> HoleStanding {
    Standing::of(world).hole(world.plan().hole_named(hole).unwrap())
}

fn step(world: &World, name: &str) -> StepId {
    world.plan().step_named(name).unwrap()
}

#[test]
fn a_plane_is_seen_as_at_its_next_step() {
    let kit = Kit::new();
    {
        let world = kit.build.world();
        let (doubler, ribs, fit) =
            (step(&world, "tab/doubler"), step(&world, "tab/ribs"), step(&world, "tab/fit"));
        assert_eq!(standing(&world, "tab/web/A/1"), HoleStanding::Later(doubler), "priming comes first");
        assert!(
            matches!(standing(&world, "tab/web/A/5"), HoleStanding::Open(Openness::SharedWith { arrives, .. }) if arrives == ribs)
        );
        let held = HoleStanding::Open(Openness::Held { until: Some(fit) });
        assert_eq!(standing(&world, "tab/web/H/2"), held);
        assert_eq!(
            standing(&world, "tab/K/1"),
            HoleStanding::Later(ribs),
            "a counted row has no layer to wait for"
        );
        assert_eq!(standing(&world, "tab/W/1"), HoleStanding::NoStep);
        let plane = world.plan().assemblies[0].planes[0];
        let later: Vec<String> = Standing::of(&world)
            .later(plane)
            .into_iter()
            .map(|piece| world.plan().piece_name(piece))
            .collect();
        assert_eq!(later, ["rib"]);
    }
    kit.done("a", ActKind::StepDone { step: "tab/prime".into() });
    {
        let world = kit.build.world();
        assert_eq!(standing(&world, "tab/web/A/1"), HoleStanding::Ready(step(&world, "tab/doubler")));
        assert!(matches!(standing(&world, "tab/web/A/5"), HoleStanding::Open(Openness::SharedWith { .. })));
    }
    let holes = (1..=4).map(|number| format!("tab/web/A/{number}")).collect();
    kit.done("b", ActKind::Set { holes, run: String::new(), set_up: String::new() });
    let world = kit.build.world();
    let plane = world.plan().assemblies[0].planes[0];
    assert_eq!(standing(&world, "tab/web/A/1"), HoleStanding::Set);
    assert_eq!(standing(&world, "tab/web/A/5"), HoleStanding::Ready(step(&world, "tab/ribs")));
    assert!(matches!(standing(&world, "tab/web/H/2"), HoleStanding::Open(Openness::Held { .. })));
    assert!(Standing::of(&world).later(plane).is_empty());
}

/// The worked example of the method chapter: G .143, -5, a head of .205 × .060.
/// It is printed to the thousandth, so ±.0005 in is the whole tolerance.
#[test]
fn a_section_is_drawn_from_the_worked_example() {
    let kit = Kit::new();
    let world = kit.build.world();
    let hole = world.plan().hole_named("tab/W/1").unwrap();
    let numbers = section_numbers(world.side.joints.at(hole).unwrap()).unwrap();
    assert_eq!((numbers.shank_in, numbers.length_in, numbers.hole_in), (0.125, 5.0 / 16.0, 0.1285));
    assert!((numbers.seat_to_seat_in - 0.143).abs() < 1e-9, "{numbers:?}");
    let [width, height] = numbers.shop_head_in.unwrap();
    assert!((width - 0.205).abs() <= 0.0005 && (height - 0.060).abs() <= 0.0005, "{numbers:?}");
    assert!(!numbers.head_on_near, "the shop head goes against the thicker sheet, which is near");
    let counted = world.plan().hole_named("tab/K/1").unwrap();
    assert!(world.side.joints.at(counted).is_none(), "nothing is drawn of a row that is only counted");
}

fn judged(world: &World, hole: &str, typed: &TypedHead) -> Result<JudgeReport, String> {
    let hole = world.plan().hole_named(hole).unwrap();
    let rivet = world.plan()[world.plan()[hole].row].rivet.unwrap();
    judge_typed(world, rivet, Some(hole), typed)
}

#[test]
fn a_head_as_typed_is_judged() {
    let kit = Kit::new();
    let world = kit.build.world();
    let head = |width: &str, height: &str| TypedHead {
        width: width.into(),
        height: height.into(),
        ..TypedHead::default()
    };
    // MIL-R-47196A, 1/8: .163 wide at least, .050 to .070 high. 4.4 mm is .1732 in.
    assert_eq!(judged(&world, "tab/W/1", &head("4.4 mm", "1/16")).unwrap().inside, Some(true));
    assert_eq!(judged(&world, "tab/W/1", &head(".160", ".060")).unwrap().inside, Some(false));
    assert_eq!(judged(&world, "tab/W/1", &head(".175", "")).unwrap().inside, None, "no height, no verdict");
    let error = judged(&world, "tab/W/1", &head(".17x", ".060")).unwrap_err();
    assert!(error.starts_with("width: \".17x\" is not a length"), "{error}");

    // A smaller width across is the one that counts.
    let across = TypedHead { width_across: ".160".into(), ..head(".175", ".060") };
    assert_eq!(judged(&world, "tab/W/1", &across).unwrap().inside, Some(false));

    // On a dimple nobody may assume the flat.
    assert_eq!(judged(&world, "tab/F/1", &head(".140", ".045")).unwrap().inside, None);
    let lip = TypedHead { seat: "lip".into(), ..head(".140", ".045") };
    assert_eq!(judged(&world, "tab/F/1", &lip).unwrap().inside, Some(true));

    // A set that does not exist is said and not swapped for another.
    let other = TypedHead { limits: "MIL-R-1".into(), ..head(".175", ".060") };
    let report = judged(&world, "tab/W/1", &other).unwrap();
    assert!(report.inside.is_none() && report.limits.is_none(), "{report:?}");
    assert!(report.reasons[0].contains("MIL-R-1"), "{report:?}");
}
