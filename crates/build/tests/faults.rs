//! From a reading to a decision at the record's level: what stands at the gate, what ends it, what shares it.

#![allow(clippy::unwrap_used, reason = "a test may fail")]

use faying_build::room::{ActId, HoleId, Length, Said, WayKind};
use faying_build::{ActRequest, Answer, Build, Disk, FaultState, Folder, Repairs};
use serde_json::{Value, json};
use tempfile::TempDir;

const PLAN: &str = r#"format = 1
id = "tab"
[parts]
web = { material = "2024-T3", thickness = 0.040 }
doubler = { material = "2024-T3", thickness = 0.063 }
cover = { thickness = 0.025 }
[planes.web]
near = "aft"
far = "forward"
layers = ["web", "doubler"]
outline.web = { rect = [0, 0, 12, 4] }
outline.doubler = { rect = [0, 0, 12, 4] }
[planes.web.rows]
A = { from = [1, 1], to = [10, 1], count = 10, called = "MS20470AD4-4.5" }
B = { from = [1, 3], to = [10, 3], count = 10, called = "MS20470AD4-4.5" }
[rows]
P = { count = 1, called = "AN3-5A" }
[steps.drill]
work = "final-drill"
adds = ["web", "doubler"]
rows = ["web/A", "web/B"]
[steps.first]
sets = ["web/A", "web/B", "P"]
after = ["drill"]
[steps.close]
adds = ["cover"]
closes = ["web: aft", "web: forward"]
after = ["first"]
[gates.close]
before = "close"
"#;

struct Kit {
    _folder: TempDir,
    build: Build,
}

impl Kit {
    /// Drilled, and row A set in order.
    fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("kit");
        Folder::create(&path, &[("plan/tab.toml", PLAN)]).unwrap();
        let build = Build::open_with(&path, &Disk { sync: false, ..Disk::default() }).unwrap();
        let kit = Self { _folder: folder, build };
        kit.taken("drilled", json!({ "kind": "work-done", "step": "tab/drill" }));
        kit.taken("set", json!({ "kind": "set", "holes": holes(1..=10) }));
        kit
    }

    fn act(&self, id: &str, act: &Value) -> Answer {
        let mut whole = json!({ "id": id, "at": "2026-05-12T19:30:12+02:00", "person": "bea" });
        whole.as_object_mut().unwrap().extend(act.as_object().unwrap().clone());
        self.build.act(serde_json::from_value::<ActRequest>(whole).unwrap()).unwrap()
    }

    fn taken(&self, id: &str, act: Value) {
        let answer = self.act(id, &act);
        assert!(matches!(answer, Answer::Taken { .. }), "{act}: {answer:?}");
    }

    fn refused(&self, act: Value) -> String {
        match self.act("refused", &act) {
            Answer::Refused { why, .. } => why,
            other => panic!("{act}: {other:?}"),
        }
    }

    /// What stands against the gate, by sort.
    fn against(&self) -> Vec<(&'static str, String)> {
        let world = self.build.world();
        let gate = world.plan().gate_named("tab/close").unwrap();
        let report = world.gate_report(&world.progress(), gate);
        report
            .blockers
            .into_iter()
            .filter(|it| it.sort != "unset" && it.sort != "torque")
            .map(|it| (it.sort, it.what))
            .collect()
    }

    fn faults(&self) -> Vec<String> {
        self.against()
            .into_iter()
            .filter(|(sort, _)| ["fault", "outside"].contains(sort))
            .map(|(_, what)| what)
            .collect()
    }

    fn state(&self, id: &str) -> FaultState {
        self.build.world().fault_report(id).unwrap().state
    }
}

fn hole(number: u32) -> String {
    format!("tab/web/A/{number}")
}

fn holes(numbers: impl IntoIterator<Item = u32>) -> Vec<String> {
    numbers.into_iter().map(hole).collect()
}

fn edge(hole: &str, rim: &str) -> Value {
    json!({ "kind": "examine", "holes": [hole], "aspect": "edge", "rim": rim })
}

#[test]
fn a_short_edge_distance_stands_until_somebody_decides() {
    let kit = Kit::new();
    kit.taken("good", edge(&hole(1), ".300"));
    assert_eq!((kit.faults(), kit.state("good")), (vec![], FaultState::None));
    kit.taken("short", edge(&hole(2), ".110"));
    assert_eq!(kit.faults(), ["fault at tab/web/A/2: Edge distance"]);
    // Drilling the rivet out moves no edge.
    kit.taken("out", json!({ "kind": "open", "hole": hole(2), "why": "tried" }));
    assert_eq!((kit.faults().len(), kit.state("short")), (1, FaultState::Open));
    let by = |role: &str| json!({ "kind": "decide", "about": "short", "what": "leave it", "who": "N", "role": role });
    assert!(kit.refused(by("helper")).contains("structure"));
    kit.taken("said", by("designer"));
    assert_eq!((kit.faults(), kit.state("short")), (vec![], FaultState::Decided));
    assert!(kit.refused(by("designer")).contains("decided already"));
}

#[test]
fn what_goes_with_the_rivet_is_over_when_it_is_out_and_the_new_head_is_asked_for() {
    let kit = Kit::new();
    kit.taken("first", json!({ "kind": "measure", "hole": hole(9), "width": ".175", "height": ".058" }));
    assert_eq!(kit.against(), []);
    kit.taken("cracked", json!({ "kind": "examine", "holes": [hole(3)], "aspect": "cracks", "count": "5" }));
    assert_eq!(kit.faults(), ["fault at tab/web/A/3: Cracks in the shop head"]);
    kit.taken("out", json!({ "kind": "open", "hole": hole(3), "why": "cracked" }));
    assert_eq!((kit.faults(), kit.state("cracked")), (vec![], FaultState::Over));
    kit.taken("read", json!({ "kind": "examine", "holes": [hole(3)], "aspect": "hole", "diameter": ".130", "when": "drilled" }));
    {
        let world = kit.build.world();
        let judged = world.hole_read_since_opened(world.plan().hole_named(&hole(3)).unwrap()).unwrap();
        assert_eq!(judged.said, Said::Inside);
    }
    kit.taken("again", json!({ "kind": "set", "holes": [hole(3)] }));
    let asks = [(
        "first-article",
        "tab/web/A, hole 3: a rivet took the place of another and its head is not measured".to_owned(),
    )];
    assert_eq!(kit.against(), asks);
    kit.taken("new", json!({ "kind": "measure", "hole": hole(3), "width": ".175", "height": ".058" }));
    assert_eq!(kit.against(), []);
    // Taking back that it was drilled out brings the cracked head back, with all that was seen of it.
    let report = kit.build.world().fault_report("cracked").unwrap();
    assert_eq!(report.repairs, Repairs { pattern: 10, oversize: 0, adjacent: 0, removals: 1 });
}

#[test]
fn a_head_is_never_squeezed_again_where_a_crack_was_seen() {
    let kit = Kit::new();
    kit.taken("tall", json!({ "kind": "measure", "hole": hole(4), "width": ".150", "height": ".080" }));
    let kinds = |id: &str| -> Vec<WayKind> {
        let ways = kit.build.world().fault_report(id).unwrap().ways;
        ways.into_iter().filter(|way| way.offered).map(|way| way.kind).collect()
    };
    assert_eq!(kinds("tall"), [WayKind::SqueezeMore, WayKind::Replace, WayKind::Ask]);
    kit.taken(
        "crack",
        json!({ "kind": "examine", "holes": [hole(4)], "aspect": "cracks", "count": "1", "meet": "yes" }),
    );
    assert_eq!(kinds("tall"), [WayKind::Replace, WayKind::Ask]);
    assert_eq!(kit.faults().len(), 2);
}

#[test]
fn a_question_is_asked_of_those_who_may_decide_and_ends_nothing() {
    let kit = Kit::new();
    kit.taken(
        "eight",
        json!({ "kind": "examine", "holes": [hole(5)], "aspect": "figure-eight", "long": ".150" }),
    );
    let ask = |role: &str| json!({ "kind": "ask", "about": "eight", "who": "N", "role": role });
    assert!(kit.refused(ask("builder")).contains("Ask the designer"));
    kit.taken("asked", ask("designer"));
    assert_eq!((kit.faults().len(), kit.state("eight")), (1, FaultState::Open));
    let owed = {
        let world = kit.build.world();
        world.owed(&world.progress())
    };
    assert_eq!(owed[0].why, "N was asked on 2026-05-12");
    assert_eq!(owed[0].link, "/fault/eight");
    kit.taken(
        "said",
        json!({ "kind": "decide", "about": "eight", "what": "next size", "who": "N", "role": "designer" }),
    );
    assert!(kit.refused(ask("designer")).contains("no open fault"));
}

/// Holes 2 and 8 were measured inside; 5 is outside: what was set between them is not known.
#[test]
fn looking_back_goes_to_the_last_good_one_and_on_to_the_next() {
    let kit = Kit::new();
    for number in [2, 8] {
        kit.taken(
            &format!("good {number}"),
            json!({ "kind": "measure", "hole": hole(number), "width": ".175", "height": ".058" }),
        );
    }
    kit.taken("bad", json!({ "kind": "measure", "hole": hole(5), "width": ".150", "height": ".045" }));
    let shared = |id: &str| -> Vec<(String, Vec<u32>, Option<u32>)> {
        let world = kit.build.world();
        let number = |hole: HoleId| world.plan()[hole].number;
        let report = world.fault_report(id).unwrap();
        report
            .shared
            .into_iter()
            .map(|it| (it.what, it.holes.into_iter().map(number).collect(), it.since.map(number)))
            .collect()
    };
    let bag = "the length, and so the bag: MS20470AD4-4.5".to_owned();
    assert_eq!(shared("bad"), [(bag, vec![3, 4, 6, 7], Some(2))]);
    // One act has them looked at; each is to be looked at before it is done.
    let names = holes([3, 4, 6, 7]);
    kit.taken(
        "look",
        json!({ "kind": "owe", "what": "Look at them again", "holes": names, "gate": "tab/close" }),
    );
    assert_eq!(kit.against().iter().filter(|(sort, _)| *sort == "owed").count(), 1);
    kit.taken("3", json!({ "kind": "measure", "hole": hole(3), "width": ".175", "height": ".058" }));
    let done = json!({ "kind": "owed-done", "owed": "look" });
    assert!(kit.refused(done.clone()).contains("3 of them since, such as tab/web/A/4"));
    kit.taken("4", json!({ "kind": "examine", "holes": holes([4, 6]), "aspect": "cracks", "count": "0", "inside": "no", "meet": "no" }));
    kit.taken("7", json!({ "kind": "open", "hole": hole(7), "why": "outside as well" }));
    kit.taken("done", done);
    // What was measured inside since is known now.
    assert_eq!(shared("bad")[0].1, [4, 6]);
}

/// A hole that was drilled too large: those that the same step drilled.
#[test]
fn a_hole_looks_back_to_who_drilled_it() {
    let kit = Kit::new();
    kit.taken(
        "large",
        json!({ "kind": "examine", "holes": [hole(5)], "aspect": "hole", "diameter": ".140" }),
    );
    kit.taken(
        "small",
        json!({ "kind": "examine", "holes": [hole(3)], "aspect": "hole", "diameter": ".130" }),
    );
    let world = kit.build.world();
    let shared = world.fault_report("large").unwrap().shared;
    assert_eq!(shared[0].what, "the step: tab/drill");
    // From 4 on: 3 is inside, 5 is the fault; row B was drilled in the same act.
    let numbers: Vec<u32> = shared[0].holes.iter().map(|&hole| world.plan()[hole].number).collect();
    assert_eq!(numbers, [4, 6, 7, 8, 9, 10, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10]);
    assert_eq!(shared[0].since.map(|hole| world.plan().hole_name(hole)), Some(hole(3)));
}

/// 20 % or 10 of a pattern, whichever is less: of ten rivets two; side by side they are told.
#[test]
fn repairs_are_counted_by_the_row() {
    let kit = Kit::new();
    for number in [4, 6, 7] {
        kit.taken(
            &number.to_string(),
            json!({ "kind": "examine", "holes": [hole(number)], "aspect": "hole", "diameter": ".140" }),
        );
    }
    let world = kit.build.world();
    let at = |number| world.repairs_at(world.plan().hole_named(&hole(number)).unwrap());
    assert_eq!(at(5), Repairs { pattern: 10, oversize: 3, adjacent: 3, removals: 0 });
    assert_eq!(at(7), Repairs { pattern: 10, oversize: 2, adjacent: 1, removals: 0 });
    let report = world.fault_report("7").unwrap();
    let next = report.ways.iter().find(|way| way.kind == WayKind::NextSize).unwrap();
    assert!(!next.offered);
    assert!(
        next.says.iter().any(|(says, _)| says.contains("3 would be oversize with this one; the limit is 2")),
        "{:?}",
        next.says
    );
}

#[test]
fn readings_are_refused_with_what_is_missing() {
    let kit = Kit::new();
    let empty = "tab/web/B/1";
    assert!(
        kit.refused(json!({ "kind": "examine", "holes": [empty], "aspect": "loose" }))
            .contains("no fastener")
    );
    assert!(
        kit.refused(json!({ "kind": "examine", "holes": [], "aspect": "edge", "rim": ".1" }))
            .contains("no hole")
    );
    assert!(
        kit.refused(json!({ "kind": "examine", "holes": [hole(1)], "aspect": "hole" })).contains("Diameter")
    );
    assert!(
        kit.refused(json!({ "kind": "examine", "holes": [hole(1)], "aspect": "missing-layer" }))
            .contains("what is wrong")
    );
    assert!(
        kit.refused(json!({ "kind": "examine", "holes": [hole(1)], "aspect": "rust" }))
            .contains("load the page again")
    );
    assert!(kit.refused(edge("tab/web/A/11", ".1")).contains("no hole tab/web/A/11"));
    let none = json!({ "kind": "examine", "holes": [hole(1)], "aspect": "gap", "where": "shop", "gap": "0" });
    assert!(kit.refused(none).contains("no gap to write down"));
    let typed = kit.refused(edge(&hole(1), "short"));
    assert!(typed.starts_with("Rim of the hole to the edge"), "{typed}");
}

/// Over-all .215 less two sheets of .103 and the .054 of the manufactured head leaves .058 of height.
#[test]
fn an_over_all_thickness_is_kept_as_read_with_the_height_that_follows() {
    let kit = Kit::new();
    let read = |id: &str, height: &str| {
        let act = json!({ "kind": "measure", "hole": hole(1), "width": ".175", "height": height, "seat": "over-all" });
        kit.taken(id, act);
        let world = kit.build.world();
        let head = world.state.measured(world.plan().hole_named(&hole(1)).unwrap()).unwrap().head.clone();
        (head.over_all, head.height, head.verdict)
    };
    let inches = |it: f64| Some(Length::from_inches(it));
    assert_eq!(read("thick", ".215"), (inches(0.215), inches(0.058), "inside".to_owned()));
    assert_eq!(kit.state("thick"), FaultState::None);
    // .187 leaves .030: overdriven.
    assert_eq!(read("thin", ".187"), (inches(0.187), inches(0.030), "outside".to_owned()));
    let report = kit.build.world().fault_report("thin").unwrap();
    assert!(
        report.readings.contains(&("Over-all thickness".to_owned(), ".187 in".to_owned())),
        "{:?}",
        report.readings
    );
    assert_eq!(report.judgement.unwrap().said, Said::Outside);
}

/// The whole of it survives a new start: nothing of a fault is kept but its acts.
#[test]
fn a_fault_is_read_off_the_record_again() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("kit");
    Folder::create(&path, &[("plan/tab.toml", PLAN)]).unwrap();
    let disk = || Disk { sync: false, ..Disk::default() };
    let act = |build: &Build, id: &str, act: Value| {
        let mut whole = json!({ "id": id, "at": "2026-05-12T19:30:12+02:00" });
        whole.as_object_mut().unwrap().extend(act.as_object().unwrap().clone());
        build.act(serde_json::from_value::<ActRequest>(whole).unwrap()).unwrap();
    };
    let before = {
        let build = Build::open_with(&path, &disk()).unwrap();
        act(&build, "e", edge(&hole(2), ".110"));
        act(
            &build,
            "a",
            json!({ "kind": "ask", "about": "e", "who": "N", "role": "designer", "words": "drill drifted" }),
        );
        let world = build.world();
        let report = world.fault_report("e").unwrap();
        (report.readings, report.planned, report.then, report.asked)
    };
    let build = Build::open_with(&path, &disk()).unwrap();
    let world = build.world();
    let report = world.fault_report("e").unwrap();
    assert_eq!((report.readings, report.planned, report.then, report.asked), before);
    assert_eq!(report.act, ActId(world.state.act_with_id("e").unwrap().0));
}

/// Edge 1.36 d has no bearing value; the row is still known if the rivet carried nothing: nine of ten.
#[test]
fn what_it_costs_is_never_above_one_and_blank_where_a_mode_is_left_out() {
    let kit = Kit::new();
    kit.taken("short", edge(&hole(2), ".110"));
    kit.taken("long", edge(&hole(3), "2"));
    let world = kit.build.world();
    let cost = world.fault_report("short").unwrap().cost.unwrap();
    assert_eq!(cost.hole.as_ref().unwrap().ratio, None);
    assert!(cost.left_out.iter().any(|it| it.contains("1.5")), "{:?}", cost.left_out);
    assert!((cost.row_without.unwrap().taking_over - 0.9).abs() < 1e-12);
    assert!((cost.group_without.unwrap().direct - 19.0 / 20.0).abs() < 1e-12);
    let cost = world.fault_report("long").unwrap().cost.unwrap();
    let hole = cost.hole.unwrap();
    assert!(hole.ratio.or(hole.at_least).is_none_or(|it| it <= 1.0));
}
