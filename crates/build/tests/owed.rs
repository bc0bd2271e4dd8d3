//! What a page asks about a place: the gate that needs it, what is owed there, what shows that it is done.

#![allow(clippy::unwrap_used, reason = "a test may fail")]

use faying_build::room::Role;
use faying_build::{ActRequest, Answer, Build, Disk, Folder};
use serde_json::{Value, json};
use tempfile::TempDir;

/// Two closings one behind the other, a row that the second hides and no step sets, a row outside of both, a bolt.
const PLAN: &str = r#"format = 1
id = "tab"
[parts]
web = { thickness = 0.040 }
doubler = { thickness = 0.063 }
cover = { thickness = 0.025 }
[planes.web]
near = "aft"
far = "forward"
layers = ["web", "doubler"]
outline.web = { rect = [0, 0, 10, 4] }
outline.doubler = { rect = [0, 0, 10, 4] }
[planes.web.rows]
A = { from = [1, 1], to = [6, 1], count = 6, called = "MS20470AD4-5" }
B = { from = [1, 3], to = [6, 3], count = 6, called = "MS20470AD4-5" }
[rows]
P = { count = 1, called = "AN3-5A" }
Z = { count = 2, called = "MS20470AD4-5" }
[steps.first]
adds = ["web", "doubler"]
sets = ["web/A"]
[steps.near]
closes = ["web: aft"]
after = ["first"]
[steps.bolt]
sets = ["P"]
after = ["near"]
[steps.far]
adds = ["cover"]
closes = ["web: forward"]
after = ["bolt"]
[steps.last]
sets = ["Z"]
after = ["far"]
[gates.near]
before = "near"
[gates.far]
before = "far"
"#;
const PEOPLE: &str = "format = 1\n[people.bea]\nrole = \"builder\"\n";

struct Kit {
    folder: TempDir,
    build: Build,
}

impl Kit {
    fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("kit");
        Folder::create(&path, &[("plan/tab.toml", PLAN), ("people.toml", PEOPLE)]).unwrap();
        let build = Build::open_with(&path, &Disk { sync: false, ..Disk::default() }).unwrap();
        Self { folder, build }
    }

    /// Sends an act whole, as a page does.
    fn taken(&self, id: &str, act: Value) {
        let mut whole = json!({ "id": id, "at": "2026-05-12T19:30:12+02:00" });
        whole.as_object_mut().unwrap().extend(act.as_object().unwrap().clone());
        let answer = self.build.act(serde_json::from_value::<ActRequest>(whole).unwrap()).unwrap();
        assert!(matches!(answer, Answer::Taken { .. }), "{act}: {answer:?}");
    }

    /// The gate that needs a place, by its name.
    fn hiding(&self, at: &str) -> Option<String> {
        let world = self.build.world();
        world.gate_hiding(&world.progress(), at).map(|gate| world.plan().gate_name(gate))
    }

    /// Ids of what is owed at a place.
    fn owed_at(&self, at: &str) -> Vec<String> {
        let world = self.build.world();
        world.owed_at(&world.progress(), |place| place == at).into_iter().map(|it| it.act).collect()
    }
}

#[test]
fn when_and_where_are_two_things() {
    let kit = Kit::new();
    kit.taken("o", json!({ "kind": "owe", "what": "look", "place": "tab/web/A/1" }));
    kit.taken("f", json!({ "kind": "fault", "what": "a dent", "place": "tab/first" }));
    kit.taken("l", json!({ "kind": "looked", "need": "hands", "place": "tab" }));
    let world = kit.build.world();
    assert!(world.state.acts().iter().all(|act| act.at.starts_with("2026-05-12T19:30")));
    let owed = world.owed(&world.progress());
    let places: Vec<(&str, &str)> = owed.iter().map(|it| (it.act.as_str(), it.at.as_str())).collect();
    assert_eq!(places, [("o", "tab/web/A/1"), ("f", "tab/first")]);
}

#[test]
fn the_first_gate_ahead_that_needs_a_place() {
    let kit = Kit::new();
    let near = Some("tab/near".to_owned());
    let far = Some("tab/far".to_owned());
    // Set before the first closing, or hidden by it: row B is never set and lies on the side that is closed.
    for at in ["tab/web/A/1", "tab/web/A", "tab/web/B/6", "tab/first", "tab/doubler", "tab"] {
        assert_eq!(kit.hiding(at), near, "{at}");
    }
    assert_eq!(kit.hiding("tab/P/1"), far);
    assert_eq!(kit.hiding("tab/bolt"), far);
    // Behind every gate, or nowhere.
    for at in ["", "tab/Z/1", "tab/last", "tab/nowhere"] {
        assert_eq!(kit.hiding(at), None, "{at}");
    }

    // A gate that is passed is not ahead any more.
    let rows: Vec<String> = ["A", "B"]
        .iter()
        .flat_map(|row| (1..=6).map(move |number| format!("tab/web/{row}/{number}")))
        .collect();
    kit.taken("s", json!({ "kind": "set-before", "holes": rows }));
    kit.taken("g", json!({ "kind": "pass-gate", "gate": "tab/near" }));
    assert_eq!(kit.hiding("tab/web/A/1"), far);
}

#[test]
fn what_is_owed_is_found_at_each_of_its_places() {
    let kit = Kit::new();
    kit.taken("o", json!({ "kind": "owe", "what": "look", "place": "tab/web/A/1" }));
    kit.taken("h", json!({ "kind": "hold", "holes": ["tab/web/A"], "why": "a rib comes later" }));
    kit.taken("f", json!({ "kind": "fault", "holes": ["tab/web/B/2", "tab/web/B/3"], "what": "oversize" }));
    assert_eq!(kit.owed_at("tab/web/A/1"), ["o", "h"]);
    assert_eq!(kit.owed_at("tab/web/A/6"), ["h"]);
    assert_eq!(kit.owed_at("tab/web/B/3"), ["f"]);
    assert!(kit.owed_at("tab/web/B/1").is_empty());

    // What a changed plan no longer agrees with is owed at every hole that was set by the old one.
    kit.taken("s", json!({ "kind": "set-before", "holes": ["tab/web/B/5", "tab/web/B/6"] }));
    let path = kit.folder.path().join("kit/plan/tab.toml");
    let text = PLAN.replace(
        "B = { from = [1, 3], to = [6, 3], count = 6, called = \"MS20470AD4-5\"",
        "B = { from = [1, 3], to = [6, 3], count = 6, called = \"MS20470AD4-5.5\"",
    );
    assert_ne!(text, PLAN);
    std::fs::write(&path, text).unwrap();
    kit.build.refresh().unwrap();
    kit.taken("n", json!({ "kind": "note", "text": "another sheet" }));
    assert_eq!(kit.owed_at("tab/web/B/5").len(), 1);
    assert_eq!(kit.owed_at("tab/web/B/6").len(), 1);
    assert_eq!(kit.owed_at("tab/web/B/2"), ["f"]);
}

#[test]
fn what_was_recorded_since_shows_that_it_is_done() {
    let kit = Kit::new();
    let shown = |owed: &str| -> Vec<String> {
        kit.build.world().evidence(owed).iter().map(|act| act.id.clone()).collect()
    };
    kit.taken("s", json!({ "kind": "set-before", "holes": ["tab/P/1"] }));
    kit.taken("o", json!({ "kind": "owe", "what": "Final torque", "place": "tab/P/1" }));
    assert!(shown("o").is_empty(), "what was there before does not show it");
    kit.taken("t", json!({ "kind": "torque", "holes": ["tab/P/1"], "torque": "25" }));
    assert_eq!(shown("o"), ["t"]);
    assert!(shown("t").is_empty(), "nothing was put off there");
    kit.taken("u", json!({ "kind": "undo", "act": "t" }));
    assert!(shown("o").is_empty(), "it was taken back");
}

#[test]
fn names_come_from_the_file_and_from_the_record() {
    let kit = Kit::new();
    kit.taken("f", json!({ "kind": "fault", "holes": ["tab/web/A/1"], "what": "a dent" }));
    let decided =
        json!({ "kind": "decide", "about": "f", "what": "may stay", "who": "ann", "role": "inspector" });
    kit.taken("d", decided);
    let known = kit.build.world().known_people();
    assert_eq!(known, [("bea".to_owned(), Some(Role::Builder)), ("ann".to_owned(), Some(Role::Inspector))]);
}
