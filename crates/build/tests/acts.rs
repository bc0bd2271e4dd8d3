//! Acts against an open build: taken, had, refused and why; together, again, after an edit, on a full disk.
//!
//! After each, what is held in memory is compared with what a fresh reading of
//! the folder gives: they must never differ.

#![allow(clippy::unwrap_used, reason = "a test may fail")]

use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU64, Ordering};

use faying_build::room::{HoleStatus, StepState};
use faying_build::{ActKind, ActRequest, Answer, Build, Disk, Folder, World, verify};
use serde_json::{Value, json};
use tempfile::TempDir;

/// A web with a doubler, a rib that shares holes 4 and 5 of A, a row that is held, and one without a plane.
const PLAN: &str = r#"format = 1
id = "tab"
units = "in"
[usual]
rivet = "MS20470AD4"
[parts]
web = { thickness = 0.040 }
doubler = { thickness = 0.063 }
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
[steps.prime]
[steps.doubler]
adds = ["web", "doubler"]
sets = ["web/A", "web/H"]
[steps.ribs]
adds = ["rib"]
sets = ["web/A"]
after = ["doubler"]
[steps.loose]
sets = ["K"]
[steps.paint]
after = ["prime"]
[steps.fit]
sets = ["web/H"]
after = ["ribs"]
"#;

struct Kit {
    folder: TempDir,
}

impl Kit {
    fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        Folder::create(&folder.path().join("kit"), &[("plan/tab.toml", PLAN)]).unwrap();
        Self { folder }
    }

    fn path(&self) -> PathBuf {
        self.folder.path().join("kit")
    }

    fn open(&self) -> Build {
        Build::open_with(&self.path(), &Disk { sync: false, ..Disk::default() }).unwrap()
    }

    fn write(&self, text: &str) {
        // Another length, so that the change shows whatever the clock of the file system does.
        assert_ne!(std::fs::metadata(self.path().join("plan/tab.toml")).unwrap().len(), text.len() as u64);
        std::fs::write(self.path().join("plan/tab.toml"), text).unwrap();
    }
}

static NEXT: AtomicU64 = AtomicU64::new(1);

fn request(act: Value) -> ActRequest {
    let id = format!("act-{}", NEXT.fetch_add(1, Ordering::Relaxed));
    ActRequest {
        id,
        person: String::new(),
        at: "2026-05-12T19:30:12+02:00".into(),
        revision: None,
        build: None,
        act: read(act),
    }
}

fn read(act: Value) -> ActKind {
    serde_json::from_value(act).unwrap()
}

fn act(build: &Build, act: Value) -> Answer {
    build.act(request(act)).unwrap()
}

/// Does an act that must be taken; gives its id.
fn taken(build: &Build, it: Value) -> String {
    let request = request(it);
    let id = request.id.clone();
    let answer = build.act(request).unwrap();
    assert!(matches!(answer, Answer::Taken { .. }), "{answer:?}");
    id
}

/// Does an act that must be refused; gives the reason.
fn refused(build: &Build, it: Value) -> String {
    let before = build.world().state.acts().len();
    match act(build, it) {
        Answer::Refused { why } => {
            assert_eq!(build.world().state.acts().len(), before, "a refused act left something");
            why
        }
        other => panic!("not refused: {other:?}"),
    }
}

/// Everything of a world that a page may show of its record.
fn seen(world: &World) -> Vec<String> {
    let plan = world.plan();
    let state = &world.state;
    let mut seen: Vec<String> = (0..plan.holes.len())
        .map(faying_build::room::HoleId::from_index)
        .map(|hole| {
            format!(
                "{} {:?} {:?} {:?}",
                plan.hole_name(hole),
                state.status(hole),
                state.head(hole),
                state.history(hole).iter().map(|&act| &state.act(act).id).collect::<Vec<_>>()
            )
        })
        .collect();
    seen.extend(state.acts().iter().map(|act| format!("{} {} {:?}", act.id, act.at, act.event)));
    seen.extend(state.runs().iter().map(|run| format!("{run:?}")));
    seen.extend(world.progress().steps.iter().map(|step| format!("{step:?}")));
    seen.push(format!("{:?} {} {}", state.orphans, state.revision, world.is_adopted()));
    seen
}

/// The world in memory is the one that the folder gives to a fresh reader, and the chain holds.
fn agrees_with_the_disk(build: &Build, path: &Path) {
    let fresh = Build::read(path).unwrap();
    assert_eq!(seen(&build.world()), seen(&fresh));
    let report = verify(&Folder::open(path).unwrap()).unwrap();
    assert_eq!(report.faults, 0, "{:?}", report.lines);
}

fn status(build: &Build, hole: &str) -> HoleStatus {
    let world = build.world();
    let hole = world.plan().hole_named(hole).unwrap();
    world.state.status(hole)
}

fn set(holes: &[&str]) -> Value {
    json!({ "kind": "set", "holes": holes })
}

/// The key of a run's only set-up, or of its first.
fn first_set_up(build: &Build, run: &str) -> String {
    build.world().state.run(run).unwrap().set_ups[0].key.clone()
}

#[test]
fn starting_and_ending_a_run() {
    let kit = Kit::new();
    let build = kit.open();
    assert_eq!(
        refused(&build, json!({ "kind": "start", "run": "r", "step": "tab/none" })),
        "the plan has no step tab/none"
    );
    assert_eq!(
        refused(&build, json!({ "kind": "start", "run": "r", "step": "tab/prime" })),
        "step tab/prime has no hole that can be set now"
    );
    assert_eq!(refused(&build, json!({ "kind": "end", "run": "r" })), "there is no run r");
    let start = taken(&build, json!({ "kind": "start", "run": "r", "step": "tab/doubler" }));
    {
        // Holes 5 and 6 of row A lie under the rib, and H is held: four are left.
        let world = build.world();
        let run = world.state.run("r").unwrap();
        let mut holes: Vec<&String> = run.set_ups.iter().flat_map(|it| &it.holes).collect();
        holes.sort();
        assert_eq!(holes, ["tab/web/A/1", "tab/web/A/2", "tab/web/A/3", "tab/web/A/4"]);
    }
    assert_eq!(refused(&build, json!({ "kind": "undo", "act": start })), "a run is not taken back; end it");
    let end = taken(&build, json!({ "kind": "end", "run": "r", "why": "supper" }));
    assert_eq!(refused(&build, json!({ "kind": "end", "run": "r" })), "this run is ended already");
    assert_eq!(
        refused(&build, json!({ "kind": "set", "holes": ["tab/web/A/1"], "run": "r" })),
        "this run is ended; start it again to go on"
    );
    // An end that is taken back lets the run go on.
    let undo = taken(&build, json!({ "kind": "undo", "act": end }));
    taken(&build, json!({ "kind": "set", "holes": ["tab/web/A/1"], "run": "r" }));
    agrees_with_the_disk(&build, &kit.path());
    taken(&build, json!({ "kind": "undo", "act": undo }));
    assert_eq!(refused(&build, json!({ "kind": "end", "run": "r" })), "this run is ended already");
    agrees_with_the_disk(&build, &kit.path());
}

#[test]
fn a_run_with_an_id_that_is_in_use_is_refused() {
    let kit = Kit::new();
    let build = kit.open();
    taken(&build, json!({ "kind": "start", "run": "r", "step": "tab/doubler" }));
    assert_eq!(
        refused(&build, json!({ "kind": "start", "run": "r", "step": "tab/ribs" })),
        "there is a run r already; load the page again"
    );
}

#[test]
fn a_coupon_belongs_to_a_set_up_of_a_run() {
    let kit = Kit::new();
    let build = kit.open();
    let coupon = |run: &str, set_up: &str, width: &str, height: &str| json!({ "kind": "coupon", "run": run, "set_up": set_up, "width": width, "height": height });
    assert_eq!(refused(&build, coupon("r", "x", "", "")), "there is no run r");
    taken(&build, json!({ "kind": "start", "run": "r", "step": "tab/doubler" }));
    let key = first_set_up(&build, "r");
    assert_eq!(
        refused(&build, coupon("r", "x", ".18", ".06")),
        "the run has no set-up \"x\" any more: its order was changed; load the page again"
    );
    assert_eq!(
        refused(&build, coupon("r", &key, "", "")),
        "nothing was measured: type the width and the height"
    );
    assert_eq!(
        refused(&build, coupon("r", &key, "wide", ".06")),
        "width: \"wide\" is not a length: write a fraction (3/32, 1 1/8), a decimal (.063) or millimetres (3.2 mm)"
    );
    let inside = taken(&build, coupon("r", &key, ".180", ".060"));
    let verdict = |id: &str| {
        let world = build.world();
        let faying_build::room::Event::CouponProven(coupon) =
            world.state.act(world.state.act_with_id(id).unwrap()).event.clone()
        else {
            panic!("no coupon")
        };
        coupon.verdict
    };
    assert_eq!(verdict(&inside), "inside");
    let outside = taken(&build, coupon("r", &key, ".150", ".060"));
    assert_eq!(verdict(&outside), "outside");
    agrees_with_the_disk(&build, &kit.path());
}

#[test]
fn setting_holes() {
    let kit = Kit::new();
    let build = kit.open();
    assert_eq!(refused(&build, set(&[])), "no hole is named");
    assert_eq!(
        refused(&build, set(&["tab/web/A/9"])),
        "the plan has no hole tab/web/A/9; load the page again"
    );
    assert_eq!(
        refused(&build, json!({ "kind": "set", "holes": ["tab/K/1"], "run": "gone" })),
        "this run is ended; start it again to go on"
    );
    taken(&build, set(&["tab/K/1", "tab/K/2"]));
    assert_eq!(status(&build, "tab/K/2"), HoleStatus::Set);
    assert_eq!(refused(&build, set(&["tab/K/1"])), "tab/K/1 is set already");
    assert_eq!(refused(&build, set(&["tab/K/1", "tab/K/2"])), "these 2 holes are set already");
    // Taken in part, and it says so.
    let answer = act(&build, set(&["tab/K/2", "tab/K/3"]));
    assert_eq!(answer, Answer::Taken { says: "1 of them were set already".into() });
    assert_eq!(status(&build, "tab/K/3"), HoleStatus::Set);
    agrees_with_the_disk(&build, &kit.path());
}

#[test]
fn a_hole_that_must_stay_open_is_refused() {
    let kit = Kit::new();
    let build = kit.open();
    taken(&build, json!({ "kind": "start", "run": "r", "step": "tab/doubler" }));
    let in_run = |hole: &str| json!({ "kind": "set", "holes": [hole], "run": "r" });
    assert_eq!(
        refused(&build, in_run("tab/web/A/5")),
        "tab/web/A/5 stays open: rib shares it and comes at ribs"
    );
    assert_eq!(refused(&build, in_run("tab/web/H/1")), "tab/web/H/1 is held until fit: fits the hinge pin");
    // One that must stay open keeps the whole tap from being taken: nothing is taken in part unsaid.
    refused(&build, json!({ "kind": "set", "holes": ["tab/web/A/1", "tab/web/A/5"], "run": "r" }));
    assert_eq!(status(&build, "tab/web/A/1"), HoleStatus::Empty);
    taken(&build, in_run("tab/web/A/1"));
    agrees_with_the_disk(&build, &kit.path());
}

#[test]
fn set_before_drilled_out_and_set_again() {
    let kit = Kit::new();
    let build = kit.open();
    let before = |holes: &[&str]| json!({ "kind": "set-before", "holes": holes, "note": "bought so" });
    assert_eq!(
        refused(&build, json!({ "kind": "open", "hole": "tab/K/1" })),
        "tab/K/1 has no fastener in it"
    );
    taken(&build, before(&["tab/K/1", "tab/K/2"]));
    assert_eq!(refused(&build, before(&["tab/K/1"])), "tab/K/1 is set already");
    let answer = act(&build, json!({ "kind": "open", "hole": "tab/K/1", "why": "folded" }));
    assert!(matches!(answer, Answer::Taken { says } if says.contains("before the next rivet")));
    assert_eq!(status(&build, "tab/K/1"), HoleStatus::OpenedAgain);
    taken(&build, set(&["tab/K/1"]));
    assert_eq!(status(&build, "tab/K/1"), HoleStatus::Set);
    agrees_with_the_disk(&build, &kit.path());
}

#[test]
fn measuring_a_head() {
    let kit = Kit::new();
    let build = kit.open();
    let measure = |width: &str, height: &str| json!({ "kind": "measure", "hole": "tab/web/A/1", "width": width, "height": height });
    assert_eq!(
        refused(&build, measure(".175", ".058")),
        "tab/web/A/1 has no fastener in it yet; set it first"
    );
    taken(&build, set(&["tab/web/A/1"]));
    assert_eq!(refused(&build, measure("", " ")), "nothing was measured: type the width and the height");
    // A caliper left in millimetres, or a point forgotten.
    assert_eq!(
        refused(&build, measure("175", ".058")),
        "width: 175.000 in is not the size of a shop head; write for example .175"
    );
    refused(&build, measure(".175", "-.058"));
    let Answer::Taken { says } = act(&build, measure(".175", "1.5 mm")) else { panic!("not taken") };
    assert!(says.contains("inside the quoted limits checked"), "{says}");
    let Answer::Taken { says } = act(&build, measure(".140", ".058")) else { panic!("not taken") };
    assert!(says.contains(".163"), "{says}");
    // The newest counts, the older one is kept.
    let world = build.world();
    let hole = world.plan().hole_named("tab/web/A/1").unwrap();
    assert_eq!(world.state.measured(hole).unwrap().head.verdict, "outside");
    assert_eq!(world.state.history(hole).len(), 3);
    drop(world);
    agrees_with_the_disk(&build, &kit.path());
}

#[test]
fn notes_and_steps_without_holes() {
    let kit = Kit::new();
    let build = kit.open();
    assert_eq!(refused(&build, json!({ "kind": "note", "text": " " })), "the note is empty");
    assert_eq!(
        refused(&build, json!({ "kind": "note", "about": "tab/K/1", "text": "" })),
        "the note on tab/K/1 is empty"
    );
    taken(&build, json!({ "kind": "note", "about": "tab/K/1", "text": " the bar slipped " }));
    assert_eq!(
        refused(&build, json!({ "kind": "step-done", "step": "tab/none" })),
        "the plan has no step tab/none"
    );
    assert_eq!(
        refused(&build, json!({ "kind": "step-done", "step": "tab/ribs" })),
        "step tab/ribs is done when its 2 holes are set"
    );
    let state = |name: &str| {
        let world = build.world();
        let step = world.plan().step_named(name).unwrap();
        world.progress().steps.iter().find(|it| it.step == step).unwrap().state
    };
    assert!(matches!(state("tab/paint"), StepState::Blocked { .. }));
    let not_yet = "tab/prime comes before, and is not marked as done; mark it on the Plan page";
    assert_eq!(refused(&build, json!({ "kind": "step-done", "step": "tab/paint" })), not_yet);
    assert_eq!(
        refused(&build, json!({ "kind": "start", "run": "early", "step": "tab/ribs" })),
        "tab/doubler comes before, and has 4 holes to set; set them first"
    );
    // Held and shared holes stay open without a run as well.
    let why = refused(&build, set(&["tab/web/H/1"]));
    assert!(why.starts_with("tab/web/H/1 is set at tab/fit: tab/ribs comes before"), "{why}");
    let done = taken(&build, json!({ "kind": "step-done", "step": "tab/prime" }));
    assert_eq!((state("tab/prime"), state("tab/paint")), (StepState::Done, StepState::Ready));
    assert_eq!(
        refused(&build, json!({ "kind": "step-done", "step": "tab/prime" })),
        "step tab/prime is done already"
    );
    taken(&build, json!({ "kind": "undo", "act": done }));
    assert!(matches!(state("tab/paint"), StepState::Blocked { .. }));
    agrees_with_the_disk(&build, &kit.path());
}

#[test]
fn taking_back_restoring_and_taking_back_again() {
    let kit = Kit::new();
    let build = kit.open();
    let undo = |act: &str| json!({ "kind": "undo", "act": act, "why": "wrong hole" });
    assert_eq!(refused(&build, undo("nothing")), "there is no such act to take back");
    let first = taken(&build, set(&["tab/K/1"]));
    let back = taken(&build, undo(&first));
    assert_eq!(status(&build, "tab/K/1"), HoleStatus::Empty);
    assert_eq!(refused(&build, undo(&first)), "this act is taken back already");
    taken(&build, undo(&back));
    assert_eq!(status(&build, "tab/K/1"), HoleStatus::Set, "restored");
    assert_eq!(refused(&build, undo(&back)), "this act is taken back already");
    taken(&build, undo(&first));
    assert_eq!(status(&build, "tab/K/1"), HoleStatus::Empty, "and taken back once more");
    let adoption = build.world().state.acts()[0].id.clone();
    assert_eq!(
        refused(&build, undo(&adoption)),
        "a revision cannot be taken back; adopt the one before it again"
    );
    agrees_with_the_disk(&build, &kit.path());
}

#[test]
fn an_act_that_comes_again_is_known() {
    let kit = Kit::new();
    let build = kit.open();
    let request = ActRequest { id: "tap-1".into(), ..request(set(&["tab/K/1"])) };
    assert!(matches!(build.act(request.clone()).unwrap(), Answer::Taken { .. }));
    assert_eq!(build.act(request.clone()).unwrap(), Answer::HadIt);
    // Whatever it says the second time; and also when it was taken back since.
    let other = ActRequest { act: read(set(&["tab/K/2"])), ..request.clone() };
    assert_eq!(build.act(other).unwrap(), Answer::HadIt);
    assert_eq!(status(&build, "tab/K/2"), HoleStatus::Empty);
    taken(&build, json!({ "kind": "undo", "act": "tap-1" }));
    assert_eq!(build.act(request.clone()).unwrap(), Answer::HadIt);
    // An id that was refused is free: the same tap may be taken later.
    let early = ActRequest {
        id: "tap-2".into(),
        revision: None,
        build: None,
        act: read(json!({ "kind": "open", "hole": "tab/K/3" })),
        ..request
    };
    assert!(matches!(build.act(early.clone()).unwrap(), Answer::Refused { .. }));
    taken(&build, set(&["tab/K/3"]));
    assert!(matches!(build.act(early).unwrap(), Answer::Taken { .. }));
    for id in ["", &"x".repeat(81)] {
        let answer = build.act(ActRequest { id: id.into(), ..self::request(set(&["tab/K/4"])) }).unwrap();
        assert_eq!(answer, Answer::Refused { why: "the act has no id; load the page again".into() });
    }
    agrees_with_the_disk(&build, &kit.path());
}

/// Four devices send the same taps and their own at once: each tap counts once, each hole is set once.
#[test]
fn devices_that_send_at_once() {
    let kit = Kit::new();
    let build = kit.open();
    let holes: Vec<String> =
        (1..=6).map(|n| format!("tab/web/A/{n}")).chain((1..=4).map(|n| format!("tab/K/{n}"))).collect();
    let answers: Vec<Answer> = std::thread::scope(|scope| {
        let threads: Vec<_> = (0..4)
            .map(|device| {
                let (build, holes) = (&build, &holes);
                scope.spawn(move || {
                    let mut answers = Vec::new();
                    for hole in holes {
                        // The shared tap, under one id; then the device's own on the same hole.
                        for id in [format!("shared {hole}"), format!("own {device} {hole}")] {
                            let act = read(set(&[hole]));
                            let request = ActRequest {
                                id,
                                person: String::new(),
                                at: String::new(),
                                revision: None,
                                build: None,
                                act,
                            };
                            answers.push(build.act(request).unwrap());
                        }
                        let note =
                            json!({ "kind": "note", "about": hole, "text": format!("device {device}") });
                        let id = format!("note {device} {hole}");
                        let act = read(note);
                        answers.push(
                            build
                                .act(ActRequest {
                                    id,
                                    person: String::new(),
                                    at: String::new(),
                                    revision: None,
                                    build: None,
                                    act,
                                })
                                .unwrap(),
                        );
                    }
                    answers
                })
            })
            .collect();
        threads.into_iter().flat_map(|thread| thread.join().unwrap()).collect()
    });
    let count = |wanted: fn(&Answer) -> bool| answers.iter().filter(|answer| wanted(answer)).count();
    // Ten holes are set once each, forty notes are taken; of the shared taps three in four were had
    // where the shared one was taken, and none was where another device's own tap was before it.
    assert_eq!(count(|answer| matches!(answer, Answer::Taken { .. })), 10 + 40);
    assert_eq!(answers.len(), 4 * 10 * 3);
    {
        let world = build.world();
        assert_eq!(world.progress().set, 10);
        assert_eq!(world.state.acts().len(), 1 + 10 + 40, "the plan's adoption comes once");
        let orders: Vec<&str> = world.state.acts().iter().map(|act| act.id.as_str()).collect();
        let mut distinct = orders.clone();
        distinct.sort_unstable();
        distinct.dedup();
        assert_eq!(distinct.len(), orders.len());
    }
    agrees_with_the_disk(&build, &kit.path());
}

#[test]
fn a_restart_gives_the_same_world() {
    let kit = Kit::new();
    let build = kit.open();
    taken(&build, json!({ "kind": "step-done", "step": "tab/prime" }));
    taken(&build, json!({ "kind": "start", "run": "r", "step": "tab/doubler" }));
    let key = first_set_up(&build, "r");
    taken(&build, json!({ "kind": "coupon", "run": "r", "set_up": key, "width": ".180", "height": ".060" }));
    let tap = taken(
        &build,
        json!({ "kind": "set", "holes": ["tab/web/A/1", "tab/web/A/2"], "run": "r", "set_up": key }),
    );
    taken(&build, json!({ "kind": "measure", "hole": "tab/web/A/1", "width": ".180", "height": ".060" }));
    taken(&build, json!({ "kind": "undo", "act": tap }));
    let before = seen(&build.world());
    drop(build);
    let build = kit.open();
    assert_eq!(seen(&build.world()), before);
    taken(&build, set(&["tab/K/1"]));
    agrees_with_the_disk(&build, &kit.path());
}

/// A hole put before a row's first moves every number; what was done stays with the holes.
#[test]
fn an_edited_plan_is_adopted_with_the_next_act_and_names_are_carried() {
    let kit = Kit::new();
    let build = kit.open();
    taken(&build, json!({ "kind": "start", "run": "r", "step": "tab/doubler" }));
    taken(&build, set(&["tab/web/A/1", "tab/web/A/2"]));
    taken(&build, json!({ "kind": "measure", "hole": "tab/web/A/2", "width": ".180", "height": ".060" }));
    assert!(!build.refresh().unwrap(), "nothing has changed");
    kit.write(
        &PLAN.replace("from = [1, 1], to = [6, 1], count = 6", "from = [0.5, 1], to = [6, 1], count = 12"),
    );
    assert!(build.refresh().unwrap());
    // Twelve holes half an inch apart: the old first is the new second, the old second the new fourth.
    assert!(!build.world().is_adopted());
    let set_now = || -> Vec<u32> {
        (1..=12).filter(|n| status(&build, &format!("tab/web/A/{n}")) == HoleStatus::Set).collect()
    };
    // Already before the next act adopts it: the pages show the plan as it is now.
    assert_eq!(set_now(), [2, 4]);
    taken(&build, set(&["tab/web/A/1"]));
    assert_eq!(set_now(), [1, 2, 4]);
    {
        let world = build.world();
        assert_eq!(world.state.revision, 2);
        let hole = world.plan().hole_named("tab/web/A/4").unwrap();
        assert!(world.state.measured(hole).is_some(), "the measurement went with its hole");
        let mut run: Vec<&String> =
            world.state.run("r").unwrap().set_ups.iter().flat_map(|it| &it.holes).collect();
        run.sort();
        assert_eq!(run, ["tab/web/A/2", "tab/web/A/4", "tab/web/A/6", "tab/web/A/8"], "and so did the run");
        assert_eq!(world.state.orphans, []);
    }
    agrees_with_the_disk(&build, &kit.path());
    drop(build);
    agrees_with_the_disk(&kit.open(), &kit.path());
}

/// A phone that was out of reach while the plan was renumbered names its holes as its page had them.
#[test]
fn an_act_that_waited_while_the_plan_was_renumbered_reaches_its_own_hole() {
    let kit = Kit::new();
    let build = kit.open();
    taken(&build, set(&["tab/web/A/1"]));
    let of_the_page = build.world().revision();
    kit.write(
        &PLAN.replace("from = [1, 1], to = [6, 1], count = 6", "from = [0.5, 1], to = [6, 1], count = 12"),
    );
    assert!(build.refresh().unwrap());
    let waited = ActRequest { revision: Some(of_the_page), ..request(set(&["tab/web/A/2"])) };
    assert!(matches!(build.act(waited).unwrap(), Answer::Taken { .. }));
    // What the page called 2 is 4 now; the new 2 is the old 1, set before.
    let set_now: Vec<u32> =
        (1..=12).filter(|n| status(&build, &format!("tab/web/A/{n}")) == HoleStatus::Set).collect();
    assert_eq!(set_now, [2, 4]);
    // By today's names the same word means the hole that has it today.
    taken(&build, set(&["tab/web/A/1"]));
    assert_eq!(status(&build, "tab/web/A/1"), HoleStatus::Set);
    agrees_with_the_disk(&build, &kit.path());
}

/// Where the first hole goes, the second takes its name: what was done to the first must not pass to it.
#[test]
fn a_hole_that_is_gone_leaves_its_record_to_no_other() {
    let kit = Kit::new();
    let build = kit.open();
    taken(&build, set(&["tab/web/A/1", "tab/web/A/3"]));
    kit.write(
        &PLAN.replace("from = [1, 1], to = [6, 1], count = 6", "from = [2, 1], to = [6.0, 1], count = 5"),
    );
    assert!(build.refresh().unwrap());
    for _ in 0..2 {
        let set_now: Vec<u32> =
            (1..=5).filter(|n| status(&build, &format!("tab/web/A/{n}")) == HoleStatus::Set).collect();
        assert_eq!(set_now, [2], "the old third is the new second; the old first is no more");
        assert_eq!(build.world().state.orphans.len(), 1, "and is not forgotten");
        // The second time round with the new revision adopted.
        taken(&build, json!({ "kind": "note", "text": "the first hole was a slip of the pen" }));
    }
    agrees_with_the_disk(&build, &kit.path());
    // A row that is moved as a whole keeps its names, and with them its record.
    kit.write(
        &PLAN.replace("from = [1, 1], to = [6, 1], count = 6", "from = [2, 1.25], to = [6, 1.25], count = 5"),
    );
    assert!(build.refresh().unwrap());
    assert_eq!(status(&build, "tab/web/A/2"), HoleStatus::Set);
}

#[test]
fn a_row_that_is_taken_out_of_the_plan_is_not_forgotten() {
    let kit = Kit::new();
    let build = kit.open();
    let tap = taken(&build, set(&["tab/K/1"]));
    kit.write(&PLAN.replace("K = { count = 4, called = \"MS20470AD4-4\" }\n", "").replace(", \"K\"", ""));
    assert!(build.refresh().unwrap());
    {
        let world = build.world();
        let [(name, act)] = world.state.orphans.as_slice() else { panic!("{:?}", world.state.orphans) };
        assert_eq!((name.as_str(), &world.state.act(*act).id), ("tab/K/1", &tap));
    }
    // Put back, it is there again.
    kit.write(PLAN);
    assert!(build.refresh().unwrap());
    assert_eq!(status(&build, "tab/K/1"), HoleStatus::Set);
    agrees_with_the_disk(&build, &kit.path());
}

#[test]
fn a_broken_plan_still_opens_and_loses_nothing() {
    let kit = Kit::new();
    let build = kit.open();
    taken(&build, set(&["tab/web/A/1"]));
    for broken in [
        "format = 1\nid = \"tab\"\n[parts\nweb = { thickness = }\n".to_owned(),
        PLAN.replace("units = \"in\"", "units = \"furlong\""),
        PLAN.replace("[steps.fit]", "[steps.ribs]"),
        String::from("\u{0}\u{1}"),
    ] {
        kit.write(&broken);
        assert!(build.refresh().unwrap());
        assert!(!build.world().side.findings.is_empty(), "{broken}");
        drop(Build::read(&kit.path()).unwrap());
    }
    drop(build);
    let build = kit.open();
    taken(&build, json!({ "kind": "note", "text": "mend the plan" }));
    kit.write(PLAN);
    assert!(build.refresh().unwrap());
    assert!(build.world().side.findings.is_empty(), "{:?}", build.world().side.findings);
    // The name was carried past a revision that could not be read.
    assert_eq!(status(&build, "tab/web/A/1"), HoleStatus::Set);
    taken(&build, set(&["tab/web/A/2"]));
    agrees_with_the_disk(&build, &kit.path());
}

/// The disk is full: the act is not taken, the world is what the record holds, and smaller acts still go in.
#[test]
fn a_full_disk_leaves_the_world_as_the_record_has_it() {
    let kit = Kit::new();
    let disk = Disk { sync: false, pages: Some(40) };
    let build = Build::open_with(&kit.path(), &disk).unwrap();
    taken(&build, set(&["tab/K/1"]));
    let before = seen(&build.world());
    let version = build.version();
    let long = json!({ "kind": "note", "about": "tab/K/1", "text": "x".repeat(400_000) });
    let error = build.act(request(long.clone())).unwrap_err().to_string();
    assert!(
        error.ends_with("no room left on the disk; nothing of this was written, what was there still is"),
        "{error}"
    );
    assert_eq!(seen(&build.world()), before);
    assert!(build.version() > version, "a page that showed it must look again");
    agrees_with_the_disk(&build, &kit.path());
    // Together with a small one, in one write or two: never half of one.
    let (small, large) = (request(set(&["tab/K/2"])), request(long));
    let (answer, answered) = std::sync::mpsc::channel();
    for one in [small.clone(), large] {
        let (answer, id) = (answer.clone(), one.id.clone());
        build.send(one, move |result| answer.send((id, result)).unwrap());
    }
    let answers: Vec<_> = (0..2).map(|_| answered.recv().unwrap()).collect();
    for (id, result) in answers {
        assert_eq!(build.world().state.act_with_id(&id).is_some(), result.is_ok(), "{result:?}");
    }
    agrees_with_the_disk(&build, &kit.path());
    // The device sends again what it got no answer for.
    assert!(matches!(build.act(small).unwrap(), Answer::Taken { .. } | Answer::HadIt));
    assert_eq!(status(&build, "tab/K/2"), HoleStatus::Set);
    agrees_with_the_disk(&build, &kit.path());
}

#[test]
fn a_build_is_open_for_writing_once() {
    let kit = Kit::new();
    let build = kit.open();
    let error = Build::open(&kit.path()).unwrap_err().to_string();
    assert!(error.contains("open in another faying"), "{error}");
    drop(build);
    kit.open();
}
