//! The plan's page: lines and what follows what, the path to a gate, open and closing, adopting a plan.

#![allow(clippy::unwrap_used, reason = "a test may fail")]

use faying_build::{Answer, Build, Disk, Folder, PlanReport, Stands};
use serde_json::{Value, json};
use tempfile::TempDir;

/// A box: the web's ribs, a skin that hides the web's forward side, one row too late, one nobody fills,
/// one held past the closing; and a second assembly on which the skin waits.
const BOX: &str = r#"format = 1
id = "box"
title = "Box"
[parts]
web = { title = "Web", thickness = 0.040 }
rib = { title = "Rib", thickness = 0.032 }
skin = { title = "Skin", thickness = 0.025 }
[planes.web]
title = "Spar web"
near = "aft"
far = "forward"
layers = ["web", "rib"]
outline.web = { rect = [0, 0, 10, 4] }
outline.rib = { rect = [0, 0, 10, 4] }
[planes.web.rows]
A = { from = [1, 1], to = [9, 1], count = 6, called = "MS20470AD4-5" }
B = { from = [1, 2], to = [9, 2], count = 4, called = "MS20470AD4-5" }
C = { from = [1, 3], to = [9, 3], count = 3, called = "MS20470AD4-5" }
D = { from = [1, 3.5], to = [9, 3.5], count = 2, called = "MS20470AD4-5", hold = { until = "last", why = "the bracket decides" } }
[steps.prime]
work = "prime"
parts = ["web", "rib"]
cure = 24
hours = 1.5
[steps.ribs]
title = "Ribs on the web"
adds = ["web", "rib"]
sets = ["web/A"]
after = ["prime"]
hours = 2
[steps.skin]
title = "Skin"
adds = ["skin"]
closes = ["web: forward"]
after = ["ribs", "arm/fit"]
hours = 3
[steps.last]
title = "The last rows"
sets = ["web/B", "web/D"]
after = ["skin"]
hours = 1
[gates.shut]
title = "Shut"
before = "skin"
needs = ["check:nothing loose"]
"#;

const ARM: &str = r#"format = 1
id = "arm"
title = "Arm"
[steps.make]
title = "Make the arm"
hours = 4
[steps.fit]
title = "Fit the arm"
after = ["make"]
hours = 0.5
"#;

const GATES: &str = r#"format = 1
[gates.weighing]
title = "Weighing"
covers = ["box", "arm"]
"#;

struct Kit {
    _folder: TempDir,
    path: std::path::PathBuf,
    build: Build,
    acts: std::cell::Cell<u32>,
}

impl Kit {
    fn new() -> Self {
        Self::with(&[("plan/box.toml", BOX), ("plan/arm.toml", ARM), ("gates.toml", GATES)])
    }

    fn with(files: &[(&str, &str)]) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("kit");
        Folder::create(&path, files).unwrap();
        let build = Build::open_with(&path, &Disk { sync: false, ..Disk::default() }).unwrap();
        Self { _folder: folder, path, build, acts: std::cell::Cell::new(0) }
    }

    fn act(&self, it: Value) -> Answer {
        self.acts.set(self.acts.get() + 1);
        // Long ago: what cures has cured.
        let mut whole =
            json!({ "id": format!("act-{}", self.acts.get()), "at": "2020-03-01T10:00:00+00:00" });
        whole.as_object_mut().unwrap().extend(it.as_object().unwrap().clone());
        self.build.act(serde_json::from_value(whole).unwrap()).unwrap()
    }

    fn taken(&self, it: Value) {
        let answer = self.act(it);
        assert!(matches!(answer, Answer::Taken { .. }), "{answer:?}");
    }

    fn report(&self) -> PlanReport {
        let world = self.build.world();
        world.plan_report(&world.progress())
    }

    /// Each line as `name: state | note`.
    fn lines(&self) -> Vec<String> {
        let report = self.report();
        report.lines.iter().map(|it| format!("{}: {} | {}", it.name, it.state, it.note)).collect()
    }
}

/// Arcs by names: `prime -> ribs (cures 24 h)`.
fn arcs(report: &PlanReport) -> Vec<String> {
    let mut arcs: Vec<String> = report
        .arcs
        .iter()
        .map(|arc| {
            let wait = if arc.wait.is_empty() { String::new() } else { format!(" ({})", arc.wait) };
            format!("{} -> {}{wait}", report.lines[arc.from].name, report.lines[arc.to].name)
        })
        .collect();
    arcs.sort();
    arcs
}

#[test]
fn steps_and_gates_in_their_places_with_their_states() {
    let kit = Kit::new();
    // Against the gate: prime, row A, the arm, rows B and C that come too late, the check. Against the weighing:
    // four steps without holes, rows A to D.
    assert_eq!(
        kit.lines(),
        [
            "arm/make: ready | 4 h",
            "arm/fit: waits for Make the arm | 0.5 h",
            "box/prime: ready | 1.5 h",
            "box/ribs: waits for Prime | 6 to set · 2 h",
            "box/shut: not passed | 6 things stand against it",
            "box/skin: waits for Ribs on the web | 3 h",
            "box/last: waits for Skin | 6 to set · 1 h",
            "weighing: not passed | 8 things stand against it",
        ]
        .map(str::to_owned)
    );
    let report = kit.report();
    assert_eq!((report.steps_done, report.steps, report.gates_passed, report.gates), (0, 6, 0, 2));
    assert!((report.hours_planned - 12.0).abs() < 1e-9 && (report.hours_left - 12.0).abs() < 1e-9);
    let lanes: Vec<&str> = report.lanes.iter().map(|it| it.title.as_str()).collect();
    assert_eq!(lanes, ["Arm", "Box", "The whole build"]);

    kit.taken(json!({ "kind": "work-done", "step": "box/prime", "parts": ["box/web"] }));
    assert_eq!(kit.lines()[2], "box/prime: begun, 1 of 2 | 0.8 h");
    assert_eq!(kit.report().lines[2].stands, Stands::Begun(0.5));
    kit.taken(json!({ "kind": "work-done", "step": "box/prime" }));
    assert_eq!(kit.lines()[2..4], ["box/prime: done | ", "box/ribs: ready | 6 to set · 2 h"]);
    kit.taken(json!({ "kind": "set-before", "holes": ["box/web/A/1", "box/web/A/2", "box/web/A/3"] }));
    assert_eq!(kit.lines()[3], "box/ribs: begun, 3 of 6 | 3 to set · 1 h");
    let world = kit.build.world();
    assert_eq!(world.plan_report(&world.progress()).set, 3);
}

/// A step whose work before it is all done stands at its gate; a passed gate says when.
#[test]
fn a_step_stands_at_its_gate_and_a_passed_gate_says_when() {
    let plain = "format = 1\nid = \"a\"\n[steps.one]\n[steps.two]\nafter = [\"one\"]\n[gates.between]\ntitle = \"Between\"\nbefore = \"two\"\n";
    let kit = Kit::with(&[("plan/a.toml", plain)]);
    kit.taken(json!({ "kind": "step-done", "step": "a/one" }));
    assert_eq!(
        kit.lines()[1..].iter().map(|it| it.split(" | ").next().unwrap()).collect::<Vec<_>>(),
        ["a/between: not passed", "a/two: at gate: Between"]
    );
    assert_eq!(kit.report().lines[1].stands, Stands::Clear);
    kit.taken(json!({ "kind": "pass-gate", "gate": "a/between" }));
    assert_eq!(kit.lines()[1], "a/between: passed on 2020-03-01 | ");
    assert_eq!(kit.report().lines[2].stands, Stands::Ready);
    assert_eq!(kit.report().gates_passed, 1);
}

/// A gate follows the last of what it asks for, and its step follows it. The arm's last step leads to the weighing
/// through the skin.
#[test]
fn what_follows_what() {
    assert_eq!(
        arcs(&Kit::new().report()),
        [
            "arm/fit -> box/shut",
            "arm/fit -> box/skin",
            "arm/make -> arm/fit",
            "box/last -> weighing",
            "box/prime -> box/ribs (cures 24 h)",
            "box/ribs -> box/shut",
            "box/ribs -> box/skin",
            "box/shut -> box/skin",
            "box/skin -> box/last",
        ]
    );
}

/// Primed long ago: the cure is no wait any more. Primed just now: it is one still.
#[test]
fn what_has_cured_is_no_wait() {
    let wait = |act: Value| {
        let kit = Kit::new();
        kit.taken(act);
        arcs(&kit.report()).into_iter().find(|it| it.starts_with("box/prime -> box/ribs")).unwrap()
    };
    let primed = json!({ "kind": "work-done", "step": "box/prime" });
    assert_eq!(wait(primed), "box/prime -> box/ribs");
    let now = faying_build::room::now();
    let primed = json!({ "kind": "work-done", "step": "box/prime", "at": now });
    assert_eq!(wait(primed), "box/prime -> box/ribs (cures 24 h)");
}

#[test]
fn the_path_to_a_gate_has_only_what_is_not_done() {
    let kit = Kit::new();
    let path = |name: &str| {
        let world = kit.build.world();
        let progress = world.progress();
        let report = world.plan_report(&progress);
        let path = world.path_to(&progress, &report, world.plan().gate_named(name).unwrap());
        let names = |places: &[usize]| -> Vec<String> {
            places.iter().map(|&at| report.lines[at].name.clone()).collect()
        };
        (names(&path.lines), names(&path.first), path)
    };
    let (lines, first, it) = path("box/shut");
    assert_eq!(lines, ["arm/make", "arm/fit", "box/prime", "box/ribs", "box/shut"]);
    assert_eq!(first, ["arm/make", "box/prime"]);
    assert!((it.hours - 8.0).abs() < 1e-9, "{}", it.hours);
    // Prime, its cure of a day, the ribs: 1.5 + 24 + 2.
    assert!((it.longest - 27.5).abs() < 1e-9, "{}", it.longest);
    let beside: Vec<&str> = it.beside.iter().map(|(what, ..)| what.as_str()).collect();
    assert_eq!(it.gates, 0);
    assert!(beside.contains(&"nothing loose: not looked for"), "{beside:?}");

    // What is done falls out, and what it stood between stays connected.
    kit.taken(json!({ "kind": "step-done", "step": "arm/make" }));
    kit.taken(json!({ "kind": "step-done", "step": "arm/fit" }));
    kit.taken(json!({ "kind": "work-done", "step": "box/prime" }));
    let (lines, first, it) = path("weighing");
    assert_eq!(lines, ["box/ribs", "box/shut", "box/skin", "box/last", "weighing"]);
    assert_eq!(first, ["box/ribs"]);
    assert_eq!((it.steps, it.gates), (3, 1));
    assert!((it.hours - 6.0).abs() < 1e-9, "{}", it.hours);
}

/// A hole set out of turn: its step is done between two that are not, and the path does not fall apart.
#[test]
fn a_done_step_between_two_others_does_not_cut_the_path() {
    let chain = "format = 1\nid = \"a\"\n[rows]\nK = { count = 2, called = \"MS20470AD4-4\" }\n[steps.one]\nhours = 1\n\
                 [steps.two]\nsets = [\"K\"]\nafter = [\"one\"]\n[steps.three]\nafter = [\"two\"]\nhours = 1\n\
                 [gates.end]\nbefore = \"three\"\n";
    let kit = Kit::with(&[("plan/a.toml", chain)]);
    kit.taken(json!({ "kind": "set-before", "holes": ["a/K/1", "a/K/2"] }));
    let report = kit.report();
    let ahead = report.ahead();
    let among: Vec<String> = report
        .arcs_among(&ahead)
        .iter()
        .map(|arc| format!("{} -> {}", report.lines[arc.from].name, report.lines[arc.to].name))
        .collect();
    assert_eq!(ahead.len(), 3, "step two is done");
    assert!(among.contains(&"a/one -> a/end".to_owned()), "{among:?}");
    assert!(among.contains(&"a/one -> a/three".to_owned()), "{among:?}");
}

#[test]
fn open_and_closing_of_the_whole_build() {
    let kit = Kit::new();
    kit.taken(json!({ "kind": "set-before", "holes": ["box/web/A/1", "box/web/B/1"] }));
    let world = kit.build.world();
    let report = world.whole_open_report(&world.progress());
    assert_eq!(report.closings.len(), 1);
    let closing = &report.closings[0];
    assert_eq!((closing.step.as_str(), closing.done), ("box/skin", false));
    assert_eq!(closing.sides, ["Spar web, forward side"]);
    assert_eq!(closing.counted(), "15 holes, 2 set");
    let rows: Vec<String> =
        closing.rows.iter().map(|it| format!("{} {} {}: {}", it.sort, it.row, it.holes, it.words)).collect();
    assert_eq!(
        rows,
        [
            "late box/web/B holes 2 to 4: the plan sets them later, at Box: The last rows",
            "late box/web/C holes 1 to 3: no step sets them",
            "held box/web/D holes 1 and 2: the plan holds them until Box: The last rows: the bracket decides",
            "before box/web/A holes 2 to 6: due before, at Box: Ribs on the web",
        ]
    );
    assert_eq!((closing.late, report.late), (6, 6));
    let never: Vec<String> = report.never.iter().map(|it| format!("{}: {}", it.row, it.words)).collect();
    assert_eq!(never, ["box/web/C: no step names them"]);
    assert!(report.has_findings());
    // The ribs' step works in the web: row D is held there.
    let ribs = report.steps.iter().find(|it| it.step == "box/ribs").unwrap();
    assert_eq!((ribs.count, ribs.open[0].row.as_str()), (2, "box/web/D"));
    assert_eq!(ribs.open[0].why, "held until The last rows: the bracket decides");
}

/// What the builder holds is told with the builder's own words, and is not late.
#[test]
fn a_hold_of_the_builder_is_no_late_row() {
    let kit = Kit::new();
    kit.taken(
        json!({ "kind": "hold", "holes": ["box/web/C"], "why": "the antenna comes first", "until": "" }),
    );
    let world = kit.build.world();
    let report = world.whole_open_report(&world.progress());
    let row = report.closings[0].rows.iter().find(|it| it.row == "box/web/C").unwrap();
    assert_eq!((row.sort, row.words.as_str()), ("held", "you hold them: the antenna comes first"));
    assert_eq!(row.link, "/owed#act-1");
}

#[test]
fn a_changed_plan_is_adopted_by_an_act_of_its_own() {
    let kit = Kit::new();
    kit.taken(json!({ "kind": "note", "about": "", "text": "begun" }));
    let Answer::Refused { why } = kit.act(json!({ "kind": "adopt-plan" })) else {
        panic!("nothing has changed")
    };
    assert_eq!(why, "the plan has not changed since revision 1: there is nothing to adopt");
    kit.taken(json!({ "kind": "set-before", "holes": ["box/web/A/1"] }));

    let file = kit.path.join("plan/box.toml");
    let longer = BOX.replace(
        "A = { from = [1, 1], to = [9, 1], count = 6, called = \"MS20470AD4-5\" }",
        "A = { from = [1, 1], to = [9, 1], count = 6, called = \"MS20470AD4-6\" }",
    );
    assert_ne!(longer, BOX);
    std::fs::write(&file, longer).unwrap();
    assert!(kit.build.refresh().unwrap());
    let before = kit.build.world().state.acts().len();
    assert_eq!(
        kit.act(json!({ "kind": "adopt-plan" })),
        Answer::Taken {
            says: "Revision 2 is adopted. One thing that was done does not agree with it and is owed a decision."
                .to_owned()
        }
    );
    let world = kit.build.world();
    assert_eq!(world.state.acts().len(), before + 1, "the adoption and nothing else");
    assert!(world.is_adopted());
    assert_eq!(world.state.revision, 2);
    assert_eq!(world.owed(&world.progress()).len(), 1);
}

#[test]
fn the_finish_says_where_its_figures_come_from() {
    let kit = Kit::new();
    let world = kit.build.world();
    let finish = |week: Option<f64>| world.finish_report(&world.progress(), week);
    let it = finish(None);
    let forecast = it.forecast.as_ref().unwrap();
    assert_eq!((forecast.steps_seen, forecast.weeks_seen), (0, 0));
    assert!(!it.week_is_own && !it.finished);
    let curve = it.curve.as_ref().unwrap();
    let [low, middle, high] = curve.band;
    assert!(low <= middle && middle <= high);
    assert!(curve.points.windows(2).all(|two| two[0][0] < two[1][0] && two[0][1] <= two[1][1]));
    // Six steps, each once, in an order that the plan allows.
    let names: Vec<&str> =
        it.order.turns.iter().flat_map(|turn| &turn.steps).map(|(name, _)| name.as_str()).collect();
    let place = |name: &str| names.iter().position(|it| *it == name).unwrap();
    assert_eq!(names.len(), 6);
    assert!(place("box/prime") < place("box/ribs") && place("box/ribs") < place("box/skin"));
    assert!(it.order.bound <= it.order.finish);
    // The same seed: more hours a week never end later.
    let more = finish(Some(40.0));
    assert!(more.forecast.unwrap().finish.iter().zip(&forecast.finish).all(|(more, own)| more <= own));
    assert!(finish(Some(0.0)).forecast.is_err());
}

#[test]
fn gates_are_offered_only_where_there_is_no_file_of_them() {
    assert!(Kit::new().build.world().practices_to_start().is_empty());
    let kit = Kit::with(&[("plan/arm.toml", ARM)]);
    let practice = kit.build.world().practices_to_start()[0];
    kit.build.folder().start_gates(practice).unwrap();
    assert!(kit.build.refresh().unwrap());
    assert!(kit.build.world().practices_to_start().is_empty());
    assert!(kit.report().lanes.iter().any(|lane| lane.title == "The whole build"));
}
