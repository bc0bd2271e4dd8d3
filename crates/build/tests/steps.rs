//! A step's page: what it waits for, what of it is done, hours and the clock.

#![allow(clippy::unwrap_used, reason = "a test may fail")]

use faying_build::room::now;
use faying_build::{Answer, Build, Disk, Folder, StepReport};
use serde_json::{Value, json};
use tempfile::TempDir;

/// Two ribs and a web to prime with a cure of a day, a row to dimple, a gate before the assembling.
const PLAN: &str = r#"format = 1
id = "tab"
title = "Trim tab"
[parts]
web = { title = "Spar web", thickness = 0.040 }
rib = { title = "Rib", copies = ["1", "2"], thickness = 0.032 }
[planes.web]
near = "aft"
far = "forward"
layers = ["web", "rib"]
outline.web = { rect = [0, 0, 10, 4] }
outline.rib = [{ rect = [0, 0, 5, 4] }, { rect = [5, 0, 5, 4] }]
[planes.web.rows]
A = { from = [1, 1], to = [9, 1], count = 6, called = "MS20470AD4-5" }
[rows]
K = { count = 4, called = "MS20470AD4-4" }
[steps.dimple]
work = "dimple"
rows = ["K"]
[steps.prime]
title = "Prime the parts"
work = "prime"
parts = ["web", "rib"]
after = ["dimple"]
cure = 24
hours = 1.5
people = 2
[steps.assemble]
adds = ["web", "rib/1"]
sets = ["web/A"]
after = ["prime"]
[steps.rest]
adds = ["rib/2"]
sets = ["web/A", "K"]
closes = ["web: aft"]
after = ["assemble"]
[gates.look]
title = "Look inside"
before = "assemble"
needs = ["check:chips"]
"#;

struct Kit {
    _folder: TempDir,
    build: Build,
}

impl Kit {
    fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("kit");
        Folder::create(&path, &[("plan/tab.toml", PLAN)]).unwrap();
        let build = Build::open_with(&path, &Disk { sync: false, ..Disk::default() }).unwrap();
        Self { _folder: folder, build }
    }

    fn act(&self, id: &str, at: &str, it: Value) -> Answer {
        let mut whole = json!({ "id": id, "at": at });
        whole.as_object_mut().unwrap().extend(it.as_object().unwrap().clone());
        self.build.act(serde_json::from_value(whole).unwrap()).unwrap()
    }

    fn taken(&self, id: &str, at: &str, it: Value) {
        let answer = self.act(id, at, it);
        assert!(matches!(answer, Answer::Taken { .. }), "{answer:?}");
    }

    fn step(&self, name: &str) -> StepReport {
        let world = self.build.world();
        let id = world.plan().step_named(name).unwrap();
        world.step_report(&world.progress(), id)
    }
}

fn waits(step: &StepReport) -> Vec<(&str, &str, &str)> {
    step.waits.iter().map(|it| (it.what.as_str(), it.how_far.as_str(), it.link.as_str())).collect()
}

fn items(step: &StepReport) -> Vec<(&str, usize, usize)> {
    step.items.iter().map(|it| (it.title.as_str(), it.done, it.all)).collect()
}

#[test]
fn pieces_and_rows_are_done_one_by_one() {
    let kit = Kit::new();
    let at = "2026-05-12T20:00:00+02:00";
    let dimple = kit.step("tab/dimple");
    assert_eq!((dimple.state, dimple.work.as_str()), ("ready", "dimple"));
    assert_eq!(items(&dimple), [("K, holes 1 to 4", 0, 4)]);
    let prime = kit.step("tab/prime");
    assert_eq!(prime.state, "waits");
    assert_eq!(waits(&prime), [("Dimple", "0 of 4 done", "/step/tab/dimple")]);
    assert_eq!(items(&prime), [("Spar web", 0, 1), ("Rib 1", 0, 1), ("Rib 2", 0, 1)]);
    assert_eq!((prime.people, prime.cure_hours, prime.hours), (2, Some(24.0), Some(1.5)));

    kit.taken("d", at, json!({ "kind": "work-done", "step": "tab/dimple", "rows": ["tab/K"] }));
    assert_eq!(kit.step("tab/dimple").state, "done");
    kit.taken("p1", at, json!({ "kind": "work-done", "step": "tab/prime", "parts": ["tab/rib/2"] }));
    let prime = kit.step("tab/prime");
    assert_eq!(prime.state, "begun");
    assert_eq!(items(&prime), [("Spar web", 0, 1), ("Rib 1", 0, 1), ("Rib 2", 1, 1)]);
    assert_eq!(prime.items[2].at.as_deref(), Some(at));
    // All that are left, at once; then each act can be found and taken back.
    kit.taken("p2", at, json!({ "kind": "work-done", "step": "tab/prime" }));
    assert_eq!(kit.step("tab/prime").state, "done");
    assert_eq!(kit.step("tab/prime").acts.len(), 2);
    kit.taken("u", at, json!({ "kind": "undo", "act": "p1" }));
    assert_eq!(items(&kit.step("tab/prime")), [("Spar web", 1, 1), ("Rib 1", 1, 1), ("Rib 2", 0, 1)]);
}

#[test]
fn what_cures_and_the_gate_are_both_waited_for() {
    let kit = Kit::new();
    // Primed just now, by the clock of this machine, which is the one that the cure is held against.
    kit.taken("d", &now(), json!({ "kind": "work-done", "step": "tab/dimple" }));
    kit.taken("p", &now(), json!({ "kind": "work-done", "step": "tab/prime" }));
    let assemble = kit.step("tab/assemble");
    assert_eq!(assemble.state, "at a gate");
    let [(primed, cures, link), gate] = waits(&assemble)[..] else { panic!("{:?}", waits(&assemble)) };
    assert_eq!((primed, link), ("Prime the parts", "/step/tab/prime"));
    assert!(cures.starts_with("cures until 20") && cures.contains(", another "), "{cures}");
    assert_eq!(gate, ("Gate: Look inside", "1 thing stands against it", "/gate/tab/look"));
    assert_eq!(assemble.adds, ["Spar web", "Rib 1"]);
    assert_eq!(kit.step("tab/rest").closes, ["Web, aft side"]);
    let sets: Vec<(&str, usize, usize)> =
        assemble.sets.iter().map(|(row, set)| (row.holes.as_str(), *set, row.count)).collect();
    assert_eq!(sets, [("holes 1 to 3", 0, 3)]);
    let open: Vec<(&str, &str)> =
        assemble.open.iter().map(|it| (it.holes.as_str(), it.why.as_str())).collect();
    assert_eq!(open, [("holes 4 to 6", "rib/2 shares them and comes at Rest")]);

    // Once the gate is passed, only the primer is left to wait for.
    kit.taken("c", &now(), json!({ "kind": "looked", "need": "check:chips", "place": "tab/look" }));
    let answer = kit.act("g", &now(), json!({ "kind": "pass-gate", "gate": "tab/look" }));
    assert!(matches!(answer, Answer::Taken { .. }), "{answer:?}");
    let assemble = kit.step("tab/assemble");
    assert_eq!(assemble.state, "cures");
    let [(what, how_far, link)] = waits(&assemble)[..] else { panic!("{:?}", waits(&assemble)) };
    assert_eq!((what, link), ("Prime the parts", "/step/tab/prime"));
    assert!(how_far.starts_with("cures until 20") && how_far.contains(", another "), "{how_far}");
}

#[test]
fn hours_go_to_the_step_they_were_spent_on() {
    let kit = Kit::new();
    let at = "2026-05-12T20:00:00+02:00";
    kit.taken("w", at, json!({ "kind": "worked", "step": "tab/dimple", "time": "1:30" }));
    kit.taken("w2", at, json!({ "kind": "worked", "step": "tab/dimple", "time": "20 min" }));
    kit.taken("w3", at, json!({ "kind": "worked", "step": "tab/prime", "time": "2" }));
    assert!((kit.step("tab/dimple").worked_minutes - 110.0).abs() < 1e-9);
    kit.taken("u", at, json!({ "kind": "undo", "act": "w2" }));
    assert!((kit.step("tab/dimple").worked_minutes - 90.0).abs() < 1e-9);

    assert_eq!(kit.build.world().clock_report(), None);
    kit.taken("c", at, json!({ "kind": "clock", "step": "tab/dimple" }));
    let clock = kit.build.world().clock_report().unwrap();
    assert_eq!((clock.step.as_str(), clock.title.as_str()), ("tab/dimple", "Trim tab: Dimple"));
    assert_eq!(clock.since, at);
    // Stopped on another device, 25 minutes later by the clock on its wall.
    kit.taken("s", "2026-05-12T19:25:00+01:00", json!({ "kind": "worked" }));
    assert_eq!(kit.build.world().clock_report(), None);
    assert!((kit.step("tab/dimple").worked_minutes - 115.0).abs() < 1e-9);
}

#[test]
fn a_hold_of_the_builder_is_among_what_stays_open() {
    let kit = Kit::new();
    let hold =
        json!({ "kind": "hold", "holes": ["tab/K/2"], "why": "the drill wandered", "until": "tab/rest" });
    kit.taken("h", "2026-05-12T20:00:00+02:00", hold);
    let rest = kit.step("tab/rest");
    let open: Vec<(&str, &str, &str)> =
        rest.open.iter().map(|it| (it.row.as_str(), it.holes.as_str(), it.why.as_str())).collect();
    assert_eq!(open, [("tab/K", "hole 2", "held until tab/rest: the drill wandered")]);
}
