//! What went wrong for builders with a rivet, a hole or a sheet, from the account to the decision.
//!
//! Each test is named by the id of an account in the collection of builders'
//! pains, restated in a line; dimensions that an account leaves out are
//! supplied and said so. It goes the way the builder goes: the mistake enters
//! the record as it was read or seen, the limits speak, the ways back are
//! looked at, and what stands against the gate stands until somebody with the
//! authority decides or the work is done anew. What the limits themselves say
//! is tested in the joint room; here it is that nothing is lost on the way.
//!
//! Answered in part, with what is missing: P05 (no limit of a hole after
//! dimpling), P29 (nobody is asked to look a second time), P32 (a row that moves
//! under its own name takes its rivets along), P34 (no rule for a bolt's hole),
//! P37 (no pulled rivets), P41 (no heads of 120°), P43 (no screws), P44 (no
//! spare cutters). None of these accounts is without any answer.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test may fail")]

mod common;

use std::path::Path;

use common::{faying_in, findings};
use faying_build::room::{Said, WayKind};
use faying_build::{ActRequest, Answer, Build, FaultReport, FaultState};
use serde_json::{Value, json};
use tempfile::TempDir;

/// A build whose plan is one assembly named `bay`, closed by a gate.
struct Kit {
    folder: TempDir,
    build: Build,
}

impl Kit {
    fn new(plan: &str) -> Self {
        let folder = common::build(plan);
        let build = Build::open(&folder.path().join("kit")).unwrap();
        Self { folder, build }
    }

    fn act(&self, id: &str, act: &Value) -> Answer {
        let mut whole = json!({ "id": id, "at": "2026-05-12T19:30:12+02:00", "person": "builder" });
        whole.as_object_mut().unwrap().extend(act.as_object().unwrap().clone());
        self.build.act(serde_json::from_value::<ActRequest>(whole).unwrap()).unwrap()
    }

    /// Writes the plan anew, as an editor does.
    fn write(&self, plan: &str) {
        std::fs::write(self.folder.path().join("kit/plan/tab.toml"), plan).unwrap();
        self.build.refresh().unwrap();
    }

    /// Does an act and gives what is told about it.
    fn taken(&self, id: &str, act: Value) -> String {
        match self.act(id, &act) {
            Answer::Taken { says } => says,
            other => panic!("{act}: {other:?}"),
        }
    }

    fn refused(&self, act: Value) -> String {
        match self.act("refused", &act) {
            Answer::Refused { why } => why,
            other => panic!("{act}: {other:?}"),
        }
    }

    fn set(&self, row: &str, numbers: impl IntoIterator<Item = u32>) {
        self.taken(&format!("set {row}"), json!({ "kind": "set", "holes": holes(row, numbers) }));
    }

    /// Asks the designer about a fault and writes the answer down.
    fn decided(&self, about: &str, what: &str) {
        let ask = json!({ "kind": "ask", "about": about, "who": "N. N.", "role": "designer" });
        self.taken(&format!("{about} asked"), ask);
        assert_eq!(self.fault(about).state, FaultState::Open, "a question ends nothing");
        let by = |role: &str| json!({ "kind": "decide", "about": about, "what": what, "who": "N. N.", "role": role });
        assert!(self.refused(by("builder")).contains("does not decide on it alone"));
        self.taken(&format!("{about} decided"), by("designer"));
        let report = self.fault(about);
        assert_eq!(report.state, FaultState::Decided);
        let (decision, _) = report.decided.unwrap();
        assert_eq!((decision.what.as_str(), decision.role.as_str()), (what, "designer"));
    }

    fn fault(&self, id: &str) -> FaultReport {
        self.build.world().fault_report(id).unwrap()
    }

    /// What stands against the gate of the closing, as the command line tells it: what is not
    /// done, set or measured yet is left out.
    fn against(&self) -> Vec<String> {
        let gate = faying_in(self.folder.path(), &["gate", "kit", "bay/close", "--json"]).json();
        let blockers = gate["blockers"].as_array().unwrap().clone();
        let counts =
            |it: &&Value| !["unset", "undone", "first-article"].contains(&it["sort"].as_str().unwrap());
        blockers.iter().filter(counts).map(|it| it["what"].as_str().unwrap().to_owned()).collect()
    }

    fn before_first(&self, step: &str) -> Vec<String> {
        let world = self.build.world();
        let id = world.plan().step_named(step).unwrap();
        world.step_report(&world.progress(), id).before_first
    }
}

fn holes(row: &str, numbers: impl IntoIterator<Item = u32>) -> Vec<String> {
    numbers.into_iter().map(|number| format!("bay/{row}/{number}")).collect()
}

/// Two sheets with rows in them, set in one step, hidden by the next, behind a gate.
fn bay(sheets: [&str; 2], rows: &str) -> String {
    let [skin, rib] = sheets;
    let sets: Vec<String> =
        rows.lines().filter_map(|line| Some(format!("\"web/{}\"", line.split_once(" = ")?.0))).collect();
    format!(
        "format = 1\nid = \"bay\"\n[parts]\nskin = {{ material = \"2024-T3\", thickness = {skin} }}\n\
         rib = {{ material = \"2024-T3\", thickness = {rib} }}\n\
         [planes.web]\nnear = \"outer\"\nfar = \"inner\"\nlayers = [\"skin\", \"rib\"]\n\
         outline.skin = {{ rect = [0, 0, 60, 4] }}\noutline.rib = {{ rect = [0, 0, 60, 4] }}\n\
         [planes.web.rows]\n{rows}\
         [steps.rivet]\nadds = [\"skin\", \"rib\"]\nsets = [{}]\n\
         [steps.close]\ncloses = [\"web: outer\", \"web: inner\"]\nafter = [\"rivet\"]\n\
         [gates.close]\nbefore = \"close\"\n",
        sets.join(", ")
    )
}

/// A step of other work before the rivets.
fn with_work(plan: &str, work: &str, rows: &str) -> String {
    let step = format!(
        "[steps.work]\nwork = \"{work}\"\nadds = [\"skin\", \"rib\"]\nrows = [{rows}]\n[steps.rivet]\nafter = [\"work\"]\n"
    );
    plan.replace("[steps.rivet]\nadds = [\"skin\", \"rib\"]\n", &step)
}

fn offered(report: &FaultReport) -> Vec<WayKind> {
    report.ways.iter().filter(|way| way.offered).map(|way| way.kind).collect()
}

/// What a way says, all in one.
fn way(report: &FaultReport, kind: WayKind) -> String {
    let way = report.ways.iter().find(|way| way.kind == kind).unwrap_or_else(|| panic!("{:#?}", report.ways));
    way.says.iter().map(|(says, _)| says.as_str()).collect::<Vec<_>>().join(" ")
}

fn said(report: &FaultReport) -> Said {
    report.judgement.as_ref().unwrap().said
}

/// What is published beside the verdict, all in one.
fn views(report: &FaultReport) -> String {
    let judgement = report.judgement.as_ref().unwrap();
    judgement.views.iter().map(|(words, _)| words.as_str()).collect::<Vec<_>>().join(" ")
}

fn examine(aspect: &str, holes: &[String], more: Value) -> Value {
    let mut act = json!({ "kind": "examine", "holes": holes, "aspect": aspect });
    act.as_object_mut().unwrap().extend(more.as_object().unwrap().clone());
    act
}

/// P01: a squeezer left a crescent in a manufactured head of a hinge bracket. AN470AD4-7 as in the account;
/// supplied: sheets of .188 and .063, marks of .010 and .020. A quarter of .054 is .0135. The thread had one that is
/// inside replaced, because the bracket is loaded: a builder can put it to the designer all the same.
#[test]
fn p01_a_crescent_on_a_hinge_bracket() {
    let rows = "A = { from = [1, 1], to = [5, 1], count = 5, called = \"AN470AD4-7\" }\n\
                F = { from = [1, 2], to = [5, 2], count = 5, called = \"MS20426AD4-7\", prep = { skin = \"countersunk\" } }\n";
    let kit = Kit::new(&bay(["0.188", "0.063"], rows));
    kit.set("web/A", 1..=5);
    kit.set("web/F", 1..=5);
    let smile = |hole: &str, depth: &str| examine("smile", &[hole.to_owned()], json!({ "depth": depth }));
    let says = kit.taken("shallow", smile("bay/web/A/2", ".010"));
    assert!(says.contains("to 0.25 of its height: .0135 in of .054 in; .010 in is not deeper"), "{says}");
    let shallow = kit.fault("shallow");
    assert_eq!((said(&shallow), shallow.state), (Said::Inside, FaultState::None));
    assert!(views(&shallow).contains("replacing one on a loaded hinge bracket"), "{}", views(&shallow));
    assert_eq!(kit.against(), Vec::<String>::new());
    kit.taken(
        "loaded",
        json!({ "kind": "fault", "holes": ["bay/web/A/2"], "what": "crescent of .010 on the hinge bracket" }),
    );
    assert_eq!(kit.against(), ["fault at bay/web/A/2: crescent of .010 on the hinge bracket"]);
    kit.decided("loaded", "replace it, the bracket is loaded");
    // A deeper one is outside: another of the same kind, or the question.
    kit.taken("deep", smile("bay/web/A/4", ".020"));
    assert_eq!(
        (said(&kit.fault("deep")), offered(&kit.fault("deep"))),
        (Said::Outside, vec![WayKind::Replace, WayKind::Ask])
    );
    // On a flush head never, however shallow.
    kit.taken("flush", smile("bay/web/F/1", ".001"));
    assert_eq!(said(&kit.fault("flush")), Said::Outside);
    assert_eq!(kit.against().len(), 2);
    // A new rivet in each ends them; both new heads are owed a measurement.
    for (id, hole) in [("out 4", "bay/web/A/4"), ("out 1", "bay/web/F/1")] {
        kit.taken(id, json!({ "kind": "open", "hole": hole, "why": "crescent" }));
        kit.taken(&format!("{id} again"), json!({ "kind": "set", "holes": [hole] }));
    }
    assert_eq!((kit.fault("deep").state, kit.against().len()), (FaultState::Over, 0));
    let gate = faying_in(kit.folder.path(), &["gate", "kit", "bay/close"]).out;
    assert!(gate.contains("a rivet took the place of another and its head is not measured"), "{gate}");
}

/// P04: the head drilled off, the shank would not leave a thick stack, and drilling again left a funnel. 1/8 in and
/// #40 as in the account; supplied: .188 + .250 in, a hole of .129 and a funnel of .150. Its answer: the same
/// diameter where the hole is not enlarged; support the part, centre punch, a hammer-set tool.
#[test]
fn p04_a_shank_that_stays_in_a_thick_stack() {
    let plan = bay(
        ["0.188", "0.250"],
        "A = { from = [1, 1], to = [5, 1], count = 5, called = \"MS20470AD4-10\" }\n",
    );
    let kit = Kit::new(&plan);
    kit.set("web/A", 1..=5);
    kit.taken("turns", examine("loose", &holes("web/A", [3]), json!({})));
    let removal = |kit: &Kit, id: &str| -> String {
        kit.fault(id).removal.into_iter().map(|(step, _)| step).collect::<Vec<_>>().join(" ")
    };
    let steps = removal(&kit, "turns");
    for words in
        ["Support the part", "centre punch", "hammer-set", "which leaves a funnel", "the hole must not grow"]
    {
        assert!(steps.contains(words), "{words}: {steps}");
    }
    // Two thin sheets have no such warning: it is the stack's.
    let thin = Kit::new(&bay(
        ["0.032", "0.040"],
        "A = { from = [1, 1], to = [5, 1], count = 5, called = \"MS20470AD4-4\" }\n",
    ));
    thin.set("web/A", 1..=5);
    thin.taken("turns", examine("loose", &holes("web/A", [3]), json!({})));
    assert!(removal(&thin, "turns").contains("centre punch") && !removal(&thin, "turns").contains("funnel"));

    kit.taken("out", json!({ "kind": "open", "hole": "bay/web/A/3", "why": "loose" }));
    let read = |diameter: &str| {
        examine("hole", &holes("web/A", [3]), json!({ "diameter": diameter, "when": "drilled" }))
    };
    kit.taken("as it was", read(".129"));
    assert_eq!((said(&kit.fault("as it was")), kit.against().len()), (Said::Inside, 0));
    let replace = way(&kit.fault("turns"), WayKind::Replace);
    assert!(replace.contains("read as .129 in, not over .1315 in"), "{replace}");
    assert!(replace.contains("One rivet was taken out of this hole already"), "{replace}");
    // The funnel is larger than any hole for a 1/8, and only the designer may name what goes into it.
    kit.taken("funnel", read(".150"));
    assert_eq!(
        (said(&kit.fault("funnel")), offered(&kit.fault("funnel"))),
        (Said::Outside, vec![WayKind::Ask])
    );
    let next = way(&kit.fault("funnel"), WayKind::NextSize);
    assert!(
        next.contains("MS20470AD5 in a hole of #21, .159 in; .150 in, as this was read, opens to that"),
        "{next}"
    );
    assert_eq!(kit.against(), ["fault at bay/web/A/3: Hole size"]);
    kit.decided("funnel", "open to #21, MS20470AD5-11");
    assert_eq!(kit.against().len(), 0);
}

/// P05: a folded rivet stretched the hole of a dimpled rib; the next is likely to fold again. 3/32 as in the account;
/// supplied: sheets of .025, a hole of .112. Its answers, a repair rivet with the smaller head and a backing piece, are
/// options for the designer. Missing: of a dimpled hole no limit is known, so the reading itself stands against nothing.
#[test]
fn p05_the_second_one_would_fold_again() {
    let rows = "A = { from = [1, 1], to = [10, 1], count = 10, called = \"MS20426AD3-3.5\", prep = { skin = \"dimpled\", rib = \"dimpled\" } }\n";
    let kit = Kit::new(&bay(["0.025", "0.025"], rows));
    kit.set("web/A", 1..=10);
    kit.taken("folded", examine("clinched", &holes("web/A", [6]), json!({})));
    let folded = kit.fault("folded");
    assert_eq!((said(&folded), offered(&folded)), (Said::Outside, vec![WayKind::Replace, WayKind::Ask]));
    assert!(views(&folded).contains("the next one is likely to fold too"));
    assert!(way(&folded, WayKind::Replace).contains("No rivet was taken out of this hole so far"));
    assert_eq!(kit.against(), ["fault at bay/web/A/6: Tail folded over"]);
    kit.taken("out", json!({ "kind": "open", "hole": "bay/web/A/6", "why": "folded" }));
    assert_eq!((kit.fault("folded").state, kit.against().len()), (FaultState::Over, 0));
    let stretched = examine("hole", &holes("web/A", [6]), json!({ "diameter": ".112", "when": "dimpled" }));
    kit.taken("stretched", stretched);
    let stretched = kit.fault("stretched");
    assert_eq!((said(&stretched), stretched.state), (Said::NotJudged, FaultState::None));
    assert!(views(&stretched).contains(".112 in is .008 in more"), "{}", views(&stretched));
    // The second one, in the same hole.
    kit.taken("again", json!({ "kind": "set", "holes": ["bay/web/A/6"] }));
    kit.taken("folded again", examine("clinched", &holes("web/A", [6]), json!({})));
    let again = kit.fault("folded again");
    let replace = way(&again, WayKind::Replace);
    for words in [
        "One rivet was taken out",
        "likely to fold again: read the hole first",
        "of a dimpled one no band is known here: ask",
    ] {
        assert!(replace.contains(words), "{words}: {replace}");
    }
    let next = way(&again, WayKind::NextSize);
    assert!(next.contains(".112 in, as this was read, opens to that"), "{next}");
    assert!(next.contains(
        "repair rivet with the larger shank under the smaller head, and of a dimpled backing piece"
    ));
    kit.decided("folded again", "repair rivet, 1/8 shank with the 3/32 head");
    assert_eq!(kit.against().len(), 0);
}

/// P07: cracked and tilted heads written up at the visit before closing; two in a wing, as in the account. Supplied: two
/// cracks that meet, a slant of .012. The designer advised leaving them: the rule, what a producer found and the
/// warning of a second rivet stand side by side, and leaving them is a decision with a name under it.
#[test]
fn p07_written_up_before_closing_and_left() {
    let plan = bay(
        ["0.040", "0.063"],
        "A = { from = [1, 1], to = [10, 1], count = 10, called = \"MS20470AD4-4.5\" }\n",
    );
    let kit = Kit::new(&plan);
    kit.set("web/A", 1..=10);
    kit.taken(
        "cracked",
        examine("cracks", &holes("web/A", [4]), json!({ "count": "2", "inside": "no", "meet": "yes" })),
    );
    let says =
        kit.taken("tilted", examine("tilt", &holes("web/A", [7]), json!({ "high": ".066", "low": ".054" })));
    assert!(says.contains("stands against every gate"), "{says}");
    assert_eq!(
        kit.against(),
        ["fault at bay/web/A/4: Cracks in the shop head", "fault at bay/web/A/7: Tilted head"]
    );
    let (cracked, tilted) = (kit.fault("cracked"), kit.fault("tilted"));
    assert_eq!((said(&cracked), said(&tilted)), (Said::Outside, Said::NotJudged));
    assert!(views(&cracked).contains("within 5 % of the strongest in tension"));
    for report in [&cracked, &tilted] {
        // Not another blow: neither is brought back that way.
        assert_eq!(offered(report), [WayKind::Replace, WayKind::Ask]);
        assert!(way(report, WayKind::Replace).contains("likely worse than the first"));
        assert!(
            report.judgement.as_ref().unwrap().cautions[0].0.contains("Do not squeeze or drive it again")
        );
        // No figure for the head itself; one rivet of ten that carried nothing leaves nine.
        let cost = report.cost.as_ref().unwrap();
        assert!(cost.hole.is_none() && !cost.left_out.is_empty());
        assert!((cost.row_without.as_ref().unwrap().taking_over - 0.9).abs() < 1e-12);
    }
    // Looked at a second time with a glass, there are two that do not meet: inside, and no decision is asked.
    kit.taken(
        "with a glass",
        examine("cracks", &holes("web/A", [4]), json!({ "count": "2", "inside": "no", "meet": "no" })),
    );
    assert_eq!((kit.fault("cracked").state, kit.against().len()), (FaultState::Over, 1));
    kit.decided("tilted", "leave it: a second rivet is likely worse");
    assert_eq!(kit.against().len(), 0);
}

/// P08: a gauge turns down rivets that are inside the specification: hole .183, slot .060, head .175; a height of .058
/// supplied, between the account's .050 and .070. What the gauge would say is told and stands against nothing.
#[test]
fn p08_the_gauge_says_no_and_nothing_is_drilled_out() {
    let kit = Kit::new(&bay(
        ["0.040", "0.063"],
        "A = { from = [1, 1], to = [5, 1], count = 5, called = \"MS20470AD4-4.5\" }\n",
    ));
    drop(kit.build);
    std::fs::write(
        kit.folder.path().join("kit/limits.toml"),
        "format = 1\n[gauges.plate]\n\"1/8\" = { hole = 0.183, slot = 0.060 }\n",
    )
    .unwrap();
    let kit = Kit { build: Build::open(&kit.folder.path().join("kit")).unwrap(), folder: kit.folder };
    kit.set("web/A", 1..=5);
    kit.taken("read", json!({ "kind": "measure", "hole": "bay/web/A/1", "width": ".175", "height": ".058" }));
    let report = kit.fault("read");
    assert_eq!((said(&report), report.state), (Said::Inside, FaultState::None));
    let ruling = |rule: &str| {
        let judgement = report.judgement.as_ref().unwrap();
        judgement
            .rulings
            .iter()
            .find(|it| it.rule == rule)
            .unwrap_or_else(|| panic!("{judgement:#?}"))
            .clone()
    };
    assert_eq!((ruling("gauge plate").said, ruling("gauge plate").judges), (Said::Outside, false));
    assert_eq!((ruling("MIL-R-47196A").said, ruling("MIL-R-47196A").rules), (Said::Inside, true));
    // 1.5 d and 0.5 d, the rule that the gauge is cut to, turns it down as well.
    assert_eq!(ruling("thumb").said, Said::Outside);
    assert_eq!(kit.against(), Vec::<String>::new());
    let line = ["judge", "kit", "--rivet", "MS20470AD4", "--width", ".175", "--height", ".058", "--json"];
    let ended = faying_in(kit.folder.path(), &line);
    assert_eq!((ended.code, &ended.json()["inside"]), (0, &true.into()));
    // The least of the specification is no gauge's hole: .160 is outside under both.
    kit.taken(
        "small",
        json!({ "kind": "measure", "hole": "bay/web/A/2", "width": ".160", "height": ".058" }),
    );
    assert_eq!(kit.against().len(), 1);
}

/// P11: overset flush rivets of a second-hand project, AD3-3.5: .170 by .025 to .030 in against .122 and .038 to .050,
/// and holes of .120 once they were out, against .103. Supplied: sheets of .025 and .032, eight in the row, .300 from
/// the edge. Its answer: ream to #30 and set 1/8, the designer to confirm.
#[test]
fn p11_overset_rivets_of_a_second_hand_project() {
    let rows = "A = { from = [1, 0.3], to = [8, 0.3], count = 8, called = \"MS20426AD3-3.5\", prep = { skin = \"dimpled\", rib = \"dimpled\" } }\n";
    let kit = Kit::new(&bay(["0.025", "0.032"], rows));
    // Nobody knows who set them, or when.
    kit.taken("bought", json!({ "kind": "set-before", "holes": holes("web/A", 1..=8), "note": "as bought" }));
    for (number, height) in [(1, ".025"), (2, ".030")] {
        let head = json!({ "kind": "measure", "hole": format!("bay/web/A/{number}"), "width": ".170", "height": height, "seat": "lip" });
        kit.taken(&format!("head {number}"), head);
        let report = kit.fault(&format!("head {number}"));
        // Too low: no squeeze brings that back.
        assert_eq!((said(&report), offered(&report)), (Said::Outside, vec![WayKind::Replace, WayKind::Ask]));
    }
    assert_eq!(kit.against().len(), 2);
    for number in 1..=2 {
        kit.taken(
            &format!("out {number}"),
            json!({ "kind": "open", "hole": format!("bay/web/A/{number}"), "why": "overset" }),
        );
        let read =
            examine("hole", &holes("web/A", [number]), json!({ "diameter": ".120", "when": "drilled" }));
        let says = kit.taken(&format!("hole {number}"), read);
        assert!(says.contains(".093 to .103 in") && says.contains("stands against every gate"), "{says}");
    }
    // The heads are gone with their rivets, the holes are not.
    assert_eq!(kit.against(), ["fault at bay/web/A/1: Hole size", "fault at bay/web/A/2: Hole size"]);
    let report = kit.fault("hole 2");
    assert_eq!(offered(&report), [WayKind::Ask]);
    assert_eq!((report.repairs.pattern, report.repairs.oversize, report.repairs.adjacent), (8, 1, 1));
    let next = way(&report, WayKind::NextSize);
    for words in [
        "MS20426AD4 in a hole of #30, .1285 in; .120 in, as this was read, opens to that",
        "3.20 d becomes 2.40 d, not under .250 in",
        "2 would be oversize with this one; the limit is 1 (20 % or 10, whichever is less): over it",
    ] {
        assert!(next.contains(words), "{words}: {next}");
    }
    kit.decided("hole 1", "ream to #30, MS20426AD4");
    kit.decided("hole 2", "ream to #30, MS20426AD4");
    assert_eq!(kit.against().len(), 0);
    // Said to have been read after dimpling, no band judges them: they tell of a die of the wrong size.
    kit.taken(
        "after",
        examine("hole", &holes("web/A", [1]), json!({ "diameter": ".120", "when": "dimpled" })),
    );
    assert_eq!(said(&kit.fault("after")), Said::NotJudged);
    assert!(views(&kit.fault("after")).contains(".120 in is .016 in more"));
}

/// P28: the pilot holes of the flange were drilled up instead of those of the web: fifty to #30, a least sheet of .050
/// for a 1/8 countersink. Supplied: 3/32 planned, .240 from the edge, sheets of .032. Its answer: the next size where
/// the edge distance holds, counted from the centre, countersunk or not.
#[test]
fn p28_the_flange_was_drilled_up_in_place_of_the_web() {
    let rows = "W = { from = [1, 2], to = [50, 2], count = 50, called = \"MS20470AD4-4\" }\n\
                F = { from = [1, 0.24], to = [50, 0.24], count = 50, called = \"MS20426AD3-3.5\", prep = { skin = \"dimpled\", rib = \"dimpled\" } }\n";
    let kit = Kit::new(&bay(["0.032", "0.032"], rows));
    let flange = holes("web/F", 1..=50);
    assert!(kit.refused(examine("wrong-feature", &flange, json!({}))).contains("write what is wrong"));
    kit.taken(
        "wrong",
        examine("wrong-feature", &flange, json!({ "words": "drilled to #30 in place of row W" })),
    );
    // One act, one line, one question for all fifty; nothing need be set in them.
    assert_eq!(kit.against().len(), 1, "{:?}", kit.against());
    let wrong = kit.fault("wrong");
    assert_eq!((wrong.holes.len(), said(&wrong), offered(&wrong)), (50, Said::NotJudged, vec![WayKind::Ask]));
    assert!(views(&wrong).contains(
        "An edge distance counts from the centre of the hole, and a countersink does not change it."
    ));
    kit.taken("read", examine("hole", &flange, json!({ "diameter": ".1285", "when": "drilled" })));
    let read = kit.fault("read");
    assert_eq!((said(&read), offered(&read)), (Said::Outside, vec![WayKind::Ask]));
    let next = way(&read, WayKind::NextSize);
    for words in [
        "MS20426AD4 in a hole of #30",
        "2.56 d becomes 1.92 d, under .250 in",
        "50 would be oversize with this one; the limit is 10",
        "a countersink for 1/8 in takes a sheet of .050 in",
    ] {
        assert!(next.contains(words), "{words}: {next}");
    }
    // What is left if none of the fifty carried anything.
    assert!(read.cost.unwrap().row_without.unwrap().taking_over.abs() < 1e-12);
    kit.decided("wrong", "1/8 flush, dimpled, in the whole flange");
    kit.decided("read", "as above");
    assert_eq!(kit.against().len(), 0);
}

/// P29: two holes were countersunk on the wrong spar. The step says to read the mark first; the two holes stand against
/// the gate until the designer is asked, who found them harmless.
#[test]
fn p29_countersunk_on_the_wrong_spar() {
    let rows = "A = { from = [1, 1], to = [6, 1], count = 6, called = \"MS20426AD4-4\", prep = { skin = \"countersunk\" } }\n\
                R = { from = [1, 3], to = [6, 3], count = 6, called = \"MS20470AD4-4\" }\n";
    let kit = Kit::new(&with_work(&bay(["0.063", "0.040"], rows), "countersink", "\"web/A\""));
    let before = kit.before_first("bay/work");
    assert!(
        before[0].starts_with("Read the mark on the part against the plan before the first hole"),
        "{before:?}"
    );
    kit.taken("done", json!({ "kind": "work-done", "step": "bay/work" }));
    kit.taken(
        "wrong",
        examine("wrong-feature", &holes("web/R", [1, 2]), json!({ "words": "countersunk, taken for row A" })),
    );
    assert_eq!(
        (said(&kit.fault("wrong")), offered(&kit.fault("wrong"))),
        (Said::NotJudged, vec![WayKind::Ask])
    );
    assert_eq!(kit.against().len(), 1);
    // A rivet over it hides nothing: the plan has no countersink there.
    kit.set("web/R", 1..=6);
    assert_eq!(kit.against().len(), 1);
    kit.decided("wrong", "leave them, they are opened for nutplates");
    assert_eq!(kit.against().len(), 0);
}

/// P31: a drill came out 1 d from a flange edge where the plan has 2 d. Supplied: 1/8, so .125 and .250; ten in the row.
/// The designer left it, a doubler as he liked.
#[test]
fn p31_one_diameter_where_two_were_wanted() {
    let plan = bay(
        ["0.040", "0.063"],
        "A = { from = [1, 0.25], to = [10, 0.25], count = 10, called = \"MS20470AD4-4.5\" }\n",
    );
    let kit = Kit::new(&plan);
    // As planned there is nothing to find; it is the drill that went.
    assert_eq!(findings(kit.folder.path()), Vec::<Value>::new());
    let says = kit.taken("short", examine("edge", &holes("web/A", [8]), json!({ "centre": ".125" })));
    assert!(says.contains("At least 2 d, .250 in; .125 in, 1.00 d, is outside"), "{says}");
    let short = kit.fault("short");
    assert!(short.planned.iter().any(|it| it.1.starts_with(".250 in, 2.00 d")), "{:?}", short.planned);
    assert_eq!(offered(&short), [WayKind::Ask]);
    assert!(way(&short, WayKind::NextSize).contains("1.00 d becomes 0.80 d, under"));
    assert!(way(&short, WayKind::Bolt).contains("under 1.5 d, 2 d preferred"));
    let cost = short.cost.as_ref().unwrap();
    assert!(cost.hole.as_ref().unwrap().ratio.is_none(), "no bearing value under 1.5 d");
    assert!((cost.row_without.as_ref().unwrap().taking_over - 0.9).abs() < 1e-12);
    // No rivet in it, or one: an edge does not come back.
    kit.set("web/A", 1..=10);
    kit.taken("out", json!({ "kind": "open", "hole": "bay/web/A/8", "why": "tried" }));
    assert_eq!(kit.against(), ["fault at bay/web/A/8: Edge distance"]);
    kit.decided("short", "leave it in this rib; a doubler if you like");
    assert_eq!(kit.against().len(), 0);
}

/// P32: a replacement splice of a later batch has its holes moved, and they crowd the old ones. Supplied: 1/8, .280 from
/// an old hole to a new one. Its answer: make the old part again; what is set by the old plan is not lost over it.
#[test]
fn p32_the_holes_of_a_later_batch_crowd_the_old_ones() {
    let old = "A = { from = [1, 1], to = [5, 1], count = 5, called = \"MS20470AD4-4.5\" }\n";
    let plan = bay(["0.040", "0.063"], old);
    let kit = Kit::new(&plan);
    kit.set("web/A", 1..=2);
    assert_eq!(findings(kit.folder.path()), Vec::<Value>::new());
    let says = kit.taken("crowded", examine("pitch", &holes("web/A", [3]), json!({ "centres": ".280" })));
    assert!(says.contains("At least 3 d, .375 in; .280 in, 2.24 d, is outside"), "{says}");
    assert_eq!(offered(&kit.fault("crowded")), [WayKind::Ask]);
    assert!(way(&kit.fault("crowded"), WayKind::NextSize).contains("Pitch .280 in: 2.24 d becomes 1.79 d"));
    assert_eq!(kit.against(), ["fault at bay/web/A/3: Pitch"]);

    // Drawn beside the old ones, the new holes are found before one is drilled.
    let new = "B = { from = [1.28, 1], to = [5.28, 1], count = 5, called = \"MS20470AD4-4.5\" }\n";
    kit.write(&bay(["0.040", "0.063"], &format!("{old}{new}")));
    let found = findings(kit.folder.path());
    let pitch: Vec<&str> =
        found.iter().filter(|it| it["kind"] == "pitch").map(|it| it["what"].as_str().unwrap()).collect();
    assert!(pitch.iter().any(|what| what.contains(".280 in from row A, the least .375 in")), "{found:?}");

    // Only the new part's holes: the two rivets that sit in the old ones are owed a decision.
    kit.write(&bay(["0.040", "0.063"], new));
    kit.taken("adopted", json!({ "kind": "adopt-plan" }));
    let against = kit.against();
    assert!(against.iter().any(|it| it.contains("gone: set, and not in the plan any more")), "{against:?}");

    // The old part made again from its plan: both are back, and what was read stands until it is answered.
    kit.write(&plan);
    kit.taken("old again", json!({ "kind": "adopt-plan" }));
    assert_eq!(findings(kit.folder.path()), Vec::<Value>::new());
    let is_in = |kit: &Kit| {
        let world = kit.build.world();
        world.is_set(world.plan().hole_named("bay/web/A/2").unwrap())
    };
    assert!(is_in(&kit));
    kit.taken("remade", examine("pitch", &holes("web/A", [3]), json!({ "centres": "1" })));
    assert_eq!(kit.fault("crowded").state, FaultState::Over);

    // What the plan between them had asked is still owed, also after its rivets are back: it ends with an answer.
    assert_eq!(
        kit.against(),
        ["bay/web/A, holes 1 and 2: gone: set, and not in the plan any more (revision 2)"]
    );
    let answer = json!({ "kind": "decide", "about": "adopted", "key": "bay/web/A:gone", "what": "the old part is made again", "who": "N. N.", "role": "designer" });
    kit.taken("answered", answer);
    assert_eq!(kit.against().len(), 0);

    // A row that moves as a whole keeps its rivets, and somebody is asked.
    kit.write(&plan.replace("from = [1, 1], to = [5, 1]", "from = [1.28, 1], to = [5.28, 1]"));
    kit.taken("moved", json!({ "kind": "adopt-plan" }));
    assert!(is_in(&kit));
    assert_eq!(
        kit.against(),
        ["bay/web/A, holes 1 and 2: place: set, and the plan has it .280 in from there now (revision 4)"]
    );
}

/// P34: the rear spar's attach hole was drilled, and edge distance and incidence cannot both be right. Its answer: level
/// the fuselage, measure both wings to the same reference, then drill. A gate before the drilling asks for that.
/// Supplied: AN4, an edge of .460. Missing: no rule here speaks of a bolt's hole, so its edge stands only in words.
#[test]
fn p34_both_wings_are_measured_before_the_attach_hole() {
    let kit = Kit::new(
        "format = 1\nid = \"bay\"\n[rows]\nP = { count = 2, called = \"AN4-10A\" }\n\
         [steps.fit]\n[steps.drill]\nwork = \"final-drill\"\nrows = [\"P\"]\nafter = [\"fit\"]\n\
         [steps.bolt]\nsets = [\"P\"]\nafter = [\"drill\"]\n[steps.close]\nafter = [\"bolt\"]\n\
         [gates.incidence]\nbefore = \"drill\"\n\
         needs = [\"check:fuselage is level\", \"check:left wing is measured\", \"check:right wing is measured\"]\n\
         [gates.close]\nbefore = \"close\"\n",
    );
    let drill = json!({ "kind": "work-done", "step": "bay/drill" });
    kit.taken("fit", json!({ "kind": "step-done", "step": "bay/fit" }));
    assert!(
        kit.refused(drill.clone()).contains("gate bay/incidence comes before, and is not passed: 3 things")
    );
    let looked = |what: &str, found: &str| json!({ "kind": "looked", "need": format!("check:{what}"), "place": "bay/incidence", "who": "two of us", "found": found });
    kit.taken("level", looked("fuselage is level", "0.0 at the longeron"));
    kit.taken("left", looked("left wing is measured", "1.4"));
    // One wing is not both.
    assert!(
        kit.refused(json!({ "kind": "pass-gate", "gate": "bay/incidence" }))
            .contains("right wing is measured: not looked for")
    );
    assert!(kit.refused(drill.clone()).contains("one thing stands against it"));
    kit.taken("right", looked("right wing is measured", "1.4"));
    kit.taken("pass", json!({ "kind": "pass-gate", "gate": "bay/incidence" }));
    kit.taken("drilled", drill);
    // A bolt's edge is read and kept, and nothing here judges it: it is the builder's word that makes it a fault.
    kit.taken("edge", examine("edge", &holes("P", [1]), json!({ "centre": ".460" })));
    let edge = kit.fault("edge");
    assert_eq!(
        (edge.judgement.is_none(), edge.distance.is_none(), edge.then.0.as_str()),
        (true, true, "not judged")
    );
    assert!(edge.readings.iter().any(|(_, value)| value == ".460 in"), "{:?}", edge.readings);
    assert_eq!(kit.against().iter().filter(|it| it.starts_with("fault")).count(), 0);
    kit.taken("fault", json!({ "kind": "fault", "holes": ["bay/P/1"], "what": "edge .460 in, 2 d is .500" }));
    assert!(kit.against().contains(&"fault at bay/P/1: edge .460 in, 2 d is .500".to_owned()));
    kit.decided("fault", "leave it, the incidence goes first");
}

/// P37: dimpling grows a hole. The step asks for a reading before, names the drill and its band, and what is read
/// afterwards is held against no band of before. Supplied: 3/32, .098 and .104. Missing: pulled rivets, of which the
/// account tells (7/64, #32 before, #30 after), have no figures here and are told nothing.
#[test]
fn p37_a_hole_is_read_before_it_is_dimpled() {
    let rows = "A = { from = [1, 1], to = [6, 1], count = 6, called = \"MS20426AD3-3.5\", prep = { skin = \"dimpled\", rib = \"dimpled\" } }\n";
    let kit = Kit::new(&with_work(&bay(["0.025", "0.032"], rows), "dimple", "\"web/A\""));
    let before = kit.before_first("bay/work");
    let drill = before.iter().find(|it| it.starts_with("MS20426AD3: ")).unwrap();
    assert!(drill.contains("#40 (.098 in)") && drill.contains(".093 to .103 in as drilled"), "{drill}");
    assert!(drill.ends_with("Read it before it is dimpled: dimpling makes it larger."), "{drill}");
    let read = |diameter: &str, when: &str| {
        let more = if when.is_empty() {
            json!({ "diameter": diameter })
        } else {
            json!({ "diameter": diameter, "when": when })
        };
        examine("hole", &holes("web/A", [1]), more)
    };
    kit.taken("before", read(".098", "drilled"));
    assert_eq!((said(&kit.fault("before")), kit.against().len()), (Said::Inside, 0));
    kit.taken("unsaid", read(".104", ""));
    let unsaid = kit.fault("unsaid");
    assert_eq!((said(&unsaid), kit.against().len()), (Said::NotJudged, 0));
    assert!(unsaid.judgement.unwrap().why.contains("say whether it was measured before or after"));
    kit.taken("after", read(".104", "dimpled"));
    assert!(kit.fault("after").judgement.unwrap().why.contains("a hole is checked before"));
    // The same .104 as drilled is over .103 and stands.
    kit.taken("as drilled", read(".104", "drilled"));
    assert_eq!(
        (said(&kit.fault("as drilled")), kit.against()),
        (Said::Outside, vec!["fault at bay/web/A/1: Hole size".to_owned()])
    );

    let pulled = "A = { from = [1, 1], to = [6, 1], count = 6, called = \"pulled 7/64 flush\" }\n";
    let pulled = Kit::new(&with_work(&bay(["0.025", "0.032"], pulled), "dimple", "\"web/A\""));
    assert_eq!(pulled.before_first("bay/work").len(), 1, "only the mark on the part");
}

/// P38: 3/32 flush in .032 in: countersink or dimple. The account's six figures are the table's, so what is lost is 18 %
/// in .032 and 11 % in .040; the knife edge is found in the plan, and read as one it stands. Supplied: depth .034.
#[test]
fn p38_countersink_or_dimple_in_a_thin_sheet() {
    let flush_joint = |thickness: &str, outer: &str, under: &str| -> f64 {
        let (outer, under) =
            (format!("2024-T3, {thickness}, {outer}"), format!("2024-T3, {thickness}, {under}"));
        let asked = [
            "strength",
            "hole",
            "--rivet",
            "MS20426AD3",
            "--edge",
            ".25",
            "--pitch",
            "1",
            "--sheet",
            &outer,
            "--sheet",
            &under,
            "--json",
        ];
        let report = faying_in(Path::new("."), &asked).json();
        let modes = report["modes"].as_array().unwrap().clone();
        modes.iter().find(|it| it["mode"] == "flush-joint").unwrap()["ultimate_lbf"].as_f64().unwrap()
    };
    // Whole pounds, as the account has them; the percentage to the whole, as told.
    for (thickness, dimpled, countersunk, lost) in
        [(".032", 217.0, 178.0, 18.0), (".040", 217.0, 193.0, 11.0), (".063", 217.0, 216.0, 0.0)]
    {
        let (with, without) =
            (flush_joint(thickness, "dimpled", "dimpled"), flush_joint(thickness, "countersunk", "plain"));
        assert!(
            (with - dimpled).abs() <= 0.5 && (without - countersunk).abs() <= 0.5,
            "{thickness}: {with}/{without}"
        );
        assert!((100.0 * (1.0 - without / with) - lost).abs() <= 0.5, "{thickness}: {with}/{without}");
    }
    let rows = "A = { from = [1, 1], to = [6, 1], count = 6, called = \"MS20426AD3-3\", prep = { skin = \"countersunk\" } }\n";
    let kit = Kit::new(&bay(["0.032", "0.040"], rows));
    let found = findings(kit.folder.path());
    assert_eq!((found.len(), found[0]["kind"].as_str()), (1, Some("thin-countersink")), "{found:?}");
    assert!(found[0]["next"].as_str().unwrap().starts_with("a thinner sheet is dimpled"));
    kit.taken("knife", examine("countersink", &holes("web/A", [1]), json!({ "depth": ".034" })));
    let knife = kit.fault("knife");
    let ruling = &knife.judgement.as_ref().unwrap().rulings[0];
    assert_eq!(
        (ruling.rule.as_str(), ruling.said, ruling.rules),
        ("MIL-HDBK-5F, knife edge", Said::Outside, true)
    );
    assert!(ruling.words.contains(".034 in goes through the sheet of .032 in"), "{}", ruling.words);
    assert_eq!(
        (offered(&knife), kit.against()),
        (vec![WayKind::Ask], vec!["fault at bay/web/A/1: Countersink".to_owned()])
    );
}

/// P40: two least sheets for a 3/32 countersink are in circulation: .032 of several threads, .040 of one kit manual. Its
/// answer: follow the plan, and dimple what is under it. Both stand beside each other, and the printed one asks.
#[test]
fn p40_two_least_sheets_in_circulation() {
    let rows = |prep: &str| {
        format!(
            "A = {{ from = [1, 1], to = [6, 1], count = 6, called = \"MS20426AD3-4\", prep = {{ {prep} }} }}\n"
        )
    };
    let plan = |skin: &str, prep: &str| common::build(&bay([skin, "0.040"], &rows(prep)));
    let thin = |skin: &str, prep: &str| {
        let found = findings(plan(skin, prep).path());
        found
            .iter()
            .filter(|it| it["kind"] == "thin-countersink")
            .map(|it| it["what"].as_str().unwrap().to_owned())
            .next()
    };
    let told = thin("0.032", "skin = \"countersunk\"").unwrap();
    assert!(
        told.contains("a sheet of .032 in is countersunk for a 3/32 in rivet; the least sheet is .040 in"),
        "{told}"
    );
    assert_eq!(thin("0.040", "skin = \"countersunk\""), None);
    assert_eq!(thin("0.032", "skin = \"dimpled\", rib = \"dimpled\""), None);
    // At the hole both figures are shown, each with its own source; shallow enough, the printed one is outside.
    let kit = Kit::new(&bay(["0.032", "0.040"], &rows("skin = \"countersunk\"")));
    kit.taken("shallow", examine("countersink", &holes("web/A", [1]), json!({ "depth": ".028" })));
    let judgement = kit.fault("shallow").judgement.unwrap();
    let least: Vec<(Said, bool, bool)> = judgement
        .rulings
        .iter()
        .filter(|it| it.words.contains("this sheet is .032 in"))
        .map(|it| (it.said, it.words.contains(" .040 in;"), it.judges))
        .collect();
    assert!(least.contains(&(Said::Outside, true, true)), "the printed .040: {judgement:#?}");
    assert!(least.contains(&(Said::Inside, false, false)), "the .032 of the threads: {judgement:#?}");
    assert_eq!((judgement.said, judgement.rulings[0].rule.as_str()), (Said::Outside, "least sheet"));
    kit.decided("shallow", "the plan's countersink stays");
}

/// P41: how deep a countersink is that must take a dimpled skin: flush to .007 deeper, .3 of the skin for a 100° head;
/// shallow costs nothing, deep does. Supplied: a skin of .025 over .063, 3/32, whose head is .036 high. Missing: heads
/// of 120°, of which the account has .15.
#[test]
fn p41_a_countersink_that_takes_a_dimpled_skin() {
    let rows = "A = { from = [1, 1], to = [6, 1], count = 6, called = \"MS20426AD3-4\", prep = { skin = \"dimpled\", rib = \"countersunk\" } }\n";
    let kit = Kit::new(&bay(["0.025", "0.063"], rows));
    let read = |id: &str, number: u32, depth: &str| {
        kit.taken(id, examine("countersink", &holes("web/A", [number]), json!({ "depth": depth })))
    };
    // .036 + (1/sin 50° − 1)·.025 = .0436: flush, and .007 deeper, are inside; .008 deeper is not.
    for (id, number, depth) in [("flush", 1, ".036"), ("nested", 2, ".043")] {
        read(id, number, depth);
        assert_eq!(said(&kit.fault(id)), Said::Inside, "{depth}");
    }
    let deep = read("deep", 3, ".047");
    assert!(
        deep.contains(
            "under .025 in of dimpled skin; .047 in is deeper. Shallow costs no strength, deep does."
        ),
        "{deep}"
    );
    assert_eq!((said(&kit.fault("deep")), offered(&kit.fault("deep"))), (Said::Outside, vec![WayKind::Ask]));
    assert_eq!(kit.against(), ["fault at bay/web/A/3: Countersink"]);
    // It is the same depth under a thicker skin that is inside: .3 of .040 is .012.
    let thick = Kit::new(&bay(["0.040", "0.063"], rows));
    thick.taken("deep", examine("countersink", &holes("web/A", [3]), json!({ "depth": ".047" })));
    assert_eq!(said(&thick.fault("deep")), Said::Inside);
    kit.decided("deep", "leave it");
    assert_eq!(kit.against().len(), 0);
}

/// P43: countersinks of screws were set by trial, run fast, chattered and came out at 8 to 8.5 mm where 9.4 were wanted.
/// Its answer: look the diameter up first, slowest speed; the shallow ones could still be cut. Supplied: a 1/8 rivet,
/// .205 in against .222. Missing: a screw has no width here, and its step says only what holds for every cutter.
#[test]
fn p43_the_width_is_known_before_the_first_hole() {
    let rows = "A = { from = [1, 1], to = [6, 1], count = 6, called = \"MS20426AD4-5\", prep = { skin = \"countersunk\" } }\n";
    let kit = Kit::new(&with_work(&bay(["0.063", "0.040"], rows), "countersink", "\"web/A\""));
    let before = kit.before_first("bay/work").join(" ");
    assert!(before.contains("MS20426AD4: .222 to .228 in wide"), "{before}");
    assert!(
        before.contains("The first one on scrap") && before.contains("chatters runs too fast"),
        "{before}"
    );
    let read = |width: &str| examine("countersink", &holes("web/A", [1]), json!({ "width": width }));
    let says = kit.taken("narrow", read(".205"));
    assert!(says.contains(".205 in is outside. It can be cut further."), "{says}");
    assert_eq!(kit.against(), ["fault at bay/web/A/1: Countersink"]);
    // Not counted as a repair: nothing is oversize of it.
    let world = kit.build.world();
    let other = world.plan().hole_named("bay/web/A/2").unwrap();
    assert_eq!(world.repairs_at(other).oversize, 0);
    drop(world);
    // Cut further and read again, nobody need be asked.
    kit.taken("cut", read(".225"));
    assert_eq!((kit.fault("narrow").state, kit.against().len()), (FaultState::Over, 0));
    kit.taken("too wide", examine("countersink", &holes("web/A", [2]), json!({ "width": ".240" })));
    assert!(!kit.fault("too wide").judgement.unwrap().rulings[0].words.contains("cut further"));

    let screws = rows.replace("MS20426AD4-5", "screw 8-32 flush");
    let screws = Kit::new(&with_work(&bay(["0.063", "0.040"], &screws), "countersink", "\"web/A\""));
    let before = screws.before_first("bay/work");
    assert!(before.len() == 2 && before.iter().all(|it| !it.contains("wide")), "{before:?}");
}

/// P44: the pilot of a cutter broke on the last hole when the part tilted. The step says to clamp it square before the
/// first. Missing: a spare, for cutters are not among what is counted or bought here.
#[test]
fn p44_a_part_that_tilts_breaks_the_pilot() {
    let rows = "A = { from = [1, 1], to = [6, 1], count = 6, called = \"MS20426AD4-5\", prep = { skin = \"countersunk\" } }\n";
    let sunk = |work: &str| {
        Kit::new(&with_work(&bay(["0.063", "0.040"], rows), work, "\"web/A\"")).before_first("bay/work")
    };
    let clamp = "Clamp the part square under it: a part that tilts breaks the pilot.";
    assert!(sunk("countersink").last().unwrap().ends_with(clamp), "{:?}", sunk("countersink"));
    assert!(sunk("final-drill").iter().all(|it| !it.contains("pilot")), "it is of the cutter alone");
}

/// P67: a mark in clad sheet: how deep is too deep. The 10 % is for tubing, the cladding about 5 % a side; place and
/// direction decide. Supplied: .003 in a skin of .032 over .040. No rule judges it: it waits for the designer, and
/// no larger rivet is named as a cure.
#[test]
fn p67_a_mark_in_clad_sheet() {
    let plan =
        bay(["0.032", "0.040"], "A = { from = [1, 1], to = [6, 1], count = 6, called = \"MS20470AD4-4\" }\n");
    let kit = Kit::new(&plan);
    kit.taken(
        "mark",
        examine(
            "mark",
            &holes("web/A", [2]),
            json!({ "depth": ".003", "words": "along the skin, beside hole 2" }),
        ),
    );
    let mark = kit.fault("mark");
    assert_eq!(
        (said(&mark), offered(&mark), mark.state),
        (Said::NotJudged, vec![WayKind::Ask], FaultState::Open)
    );
    // 5 % of .032 is .0016; .003 of .032 is 9 %.
    let views = views(&mark);
    for words in
        ["about .0016 in deep; this mark of .003 in is deeper, and 9 % of the sheet", "is one for tubing"]
    {
        assert!(views.contains(words), "{words}: {views}");
    }
    let judgement = mark.judgement.unwrap();
    assert!(judgement.why.contains("place and direction decide"), "{}", judgement.why);
    assert!(
        judgement.cautions[0].0.contains("blended out along the sheet and primed")
            && judgement.cautions[0].0.contains("ask first")
    );
    assert_eq!(kit.against(), ["fault at bay/web/A/2: Mark in the sheet, along the skin, beside hole 2"]);
    assert!(mark.words.contains("along the skin"));
    kit.decided("mark", "blend along the grain, prime");
    assert_eq!(kit.against().len(), 0);
}
