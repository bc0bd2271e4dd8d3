//! A longer look for a better order: beside the world, one for everybody, ended by what it rests on.

#![allow(clippy::unwrap_used, reason = "a test may fail")]

use std::sync::atomic::{AtomicU64, Ordering};
use std::time::Duration;

use faying_build::{
    ActRequest, Answer, Build, Disk, FIRST_LOOK, Folder, LONGEST_LOOK, LookError, LookReport,
};
use serde_json::{Value, json};
use tempfile::TempDir;

/// The build that the browser's tests search in, too.
const WEB: &str = include_str!("../../../tests/browser/plans/web/plan/web.toml");
const TAB: &str = include_str!("../../../tests/browser/plans/web/plan/tab.toml");

struct Kit {
    _folder: TempDir,
    build: Build,
}

static NEXT: AtomicU64 = AtomicU64::new(1);

impl Kit {
    fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("kit");
        Folder::create(&path, &[("plan/web.toml", WEB), ("plan/tab.toml", TAB)]).unwrap();
        let build = Build::open_with(&path, &Disk { sync: false, ..Disk::default() }).unwrap();
        assert_eq!(build.world().side.findings, []);
        Self { _folder: folder, build }
    }

    fn act(&self, act: Value) -> Answer {
        let id = format!("act-{}", NEXT.fetch_add(1, Ordering::Relaxed));
        let act = serde_json::from_value(act).unwrap();
        self.build
            .act(ActRequest {
                id,
                person: String::new(),
                at: String::new(),
                revision: None,
                build: None,
                act,
            })
            .unwrap()
    }

    fn taken(&self, act: Value) {
        assert!(matches!(self.act(act.clone()), Answer::Taken { .. }), "{act}");
    }

    fn look_longer(&self, length: Duration) {
        self.build.look_longer("web/all", &[], length).unwrap();
    }

    fn look(&self) -> LookReport {
        let world = self.build.world();
        let step = world.plan().step_named("web/all").unwrap();
        self.build.look(&world, step, &[])
    }

    fn is_going(&self) -> bool {
        self.look().going.is_some()
    }

    /// What is said when the search has ended by itself.
    fn ended(&self) -> String {
        self.build.wait_for_look("web/all", &[]);
        let look = self.look();
        assert_eq!(look.going, None);
        look.says.unwrap_or_default()
    }

    fn seconds(&self) -> f64 {
        let world = self.build.world();
        world.run_of(world.plan().step_named("web/all").unwrap()).takes.seconds
    }

    /// Holes of the step in the order of its run.
    fn order(&self) -> Vec<String> {
        let world = self.build.world();
        let run = world.run_of(world.plan().step_named("web/all").unwrap());
        run.set_ups.iter().flat_map(|it| &it.holes).map(|&hole| world.plan().hole_name(hole)).collect()
    }
}

#[test]
fn acts_and_pages_go_on_while_a_search_looks() {
    let kit = Kit::new();
    assert_eq!(kit.look().offers, Some(FIRST_LOOK.as_secs()));
    let (version, order) = (kit.build.version(), kit.order());
    kit.look_longer(LONGEST_LOOK);
    assert!(kit.build.version() > version, "another device must look again");
    // Neither waits for the search, which holds nothing of the world; a rivet elsewhere does not end it.
    kit.taken(json!({ "kind": "set-before", "holes": ["tab/A/1"] }));
    let look = kit.look();
    let going = look.going.expect("it still looks");
    assert!(going.of_seconds == 60.0 && going.seconds < 60.0 && going.gap > 0.0, "{going:?}");
    assert_eq!((look.says, look.offers), (None, None));
    assert_eq!(kit.order(), order, "until it ends, what was shown is shown");
    // The build closes although a minute is not over.
    drop(kit);
}

#[test]
fn what_was_found_is_shown_and_frozen_by_a_start() {
    let kit = Kit::new();
    let (before, first) = (kit.seconds(), kit.order());
    let version = kit.build.version();
    kit.look_longer(Duration::from_secs(2));
    let says = kit.ended();
    assert!(kit.build.version() > version + 1, "pages look again when it has ended");
    let (after, order) = (kit.seconds(), kit.order());
    // In these two seconds more is found than in a page's patience; a slow machine finds less of it.
    assert!(after <= before);
    let expected = if before - after >= 0.5 {
        format!("Looked for 2 s: the order below is {} s quicker than before.", (before - after).round())
    } else {
        "Looked for 2 s: nothing quicker was found.".to_owned()
    };
    assert_eq!(says, expected);
    assert_eq!(after < before, order != first, "another order because it is quicker");

    // An act elsewhere leaves it, although a page would reckon anew.
    kit.taken(json!({ "kind": "set-before", "holes": ["tab/A/1"] }));
    assert_eq!(kit.order(), order);
    // So do eight pages that look at other runs.
    {
        let world = kit.build.world();
        let step = world.plan().step_named("tab/all").unwrap();
        for tool in world
            .plan()
            .tools
            .squeezers
            .iter()
            .map(|it| &it.name)
            .chain(world.plan().tools.yokes.iter().map(|it| &it.name))
        {
            let _ = world.run_without(step, std::slice::from_ref(tool));
        }
    }
    kit.taken(json!({ "kind": "start", "run": "r", "step": "web/all" }));
    let world = kit.build.world();
    let frozen: Vec<String> =
        world.state.run("r").unwrap().set_ups.iter().flat_map(|it| it.holes.clone()).collect();
    assert_eq!(frozen, order);
}

#[test]
fn everybody_who_asks_gets_the_same_search_and_anybody_stops_it() {
    let kit = Kit::new();
    kit.look_longer(LONGEST_LOOK);
    let version = kit.build.version();
    kit.look_longer(Duration::from_secs(1));
    assert_eq!(kit.look().going.unwrap().of_seconds, 60.0, "the one that is going on");
    assert_eq!(kit.build.version(), version, "nothing new for any page");
    kit.build.stop_looking("web/all", &["no such tool".into()]);
    let look = kit.look();
    assert!(look.says.as_ref().unwrap().starts_with("Stopped after "), "{look:?}");
    assert_eq!((look.going, look.offers), (None, Some(10)));
    // Nothing is there to stop any more, which is no fault.
    kit.build.stop_looking("web/all", &[]);
    kit.build.stop_looking("no/step", &[]);
}

#[test]
fn a_change_of_what_it_rests_on_ends_it_and_is_said() {
    let kit = Kit::new();
    let hole = kit.order().pop().unwrap();
    kit.look_longer(LONGEST_LOOK);
    kit.taken(json!({ "kind": "set-before", "holes": [hole] }));
    let says = kit.ended();
    assert!(
        says.starts_with("Something changed that this run rests on, so the search ended after "),
        "{says}"
    );
    assert!(!kit.order().contains(&hole), "reckoned with what is set now");
    assert!(kit.look().offers.is_some());
    // With the next change that sentence is old.
    let another = kit.order().pop().unwrap();
    kit.taken(json!({ "kind": "set-before", "holes": [another] }));
    assert_eq!(kit.look().says, None);

    // A plan file, too.
    kit.look_longer(LONGEST_LOOK);
    let file = kit.build.folder().path().join("plan/web.toml");
    let text = std::fs::read_to_string(&file).unwrap();
    std::fs::write(&file, format!("{text}# mine\n")).unwrap();
    assert!(kit.build.refresh().unwrap());
    assert!(kit.ended().starts_with("Something changed"), "{:?}", kit.look());
}

#[test]
fn a_start_ends_it_and_takes_what_was_shown() {
    let kit = Kit::new();
    let order = kit.order();
    kit.look_longer(LONGEST_LOOK);
    kit.taken(json!({ "kind": "start", "run": "r", "step": "web/all" }));
    assert!(kit.ended().starts_with("A run of this step was started, so the search ended."));
    assert_eq!(kit.look().offers, None);
    let world = kit.build.world();
    let frozen: Vec<String> =
        world.state.run("r").unwrap().set_ups.iter().flat_map(|it| it.holes.clone()).collect();
    assert_eq!(frozen, order);
    drop(world);
    assert_eq!(
        kit.build.look_longer("web/all", &[], FIRST_LOOK),
        Err(LookError::Started("web/all".to_owned()))
    );
}

#[test]
fn what_cannot_be_bettered_is_not_looked_for() {
    let kit = Kit::new();
    let refused = |step: &str| kit.build.look_longer(step, &[], FIRST_LOOK).unwrap_err().to_string();
    assert_eq!(refused("tab/all"), "no order of these set-ups is quicker; there is nothing to look for");
    assert_eq!(refused("tab/none"), "the plan has no step tab/none");
    let world = kit.build.world();
    let step = world.plan().step_named("tab/all").unwrap();
    assert_eq!(kit.build.look(&world, step, &[]), LookReport::default());
}

#[test]
fn a_small_machine_does_not_search_for_everybody_at_once() {
    let kit = Kit::new();
    let tools: Vec<String> = {
        let world = kit.build.world();
        world.plan().tools.yokes.iter().take(2).map(|it| it.name.clone()).collect()
    };
    kit.look_longer(LONGEST_LOOK);
    kit.build.look_longer("web/all", &tools[..1], LONGEST_LOOK).unwrap();
    assert_eq!(kit.build.look_longer("web/all", &tools[1..2], LONGEST_LOOK), Err(LookError::Busy));
    kit.build.stop_looking("web/all", &tools[..1]);
    assert!(kit.is_going(), "the other one goes on");
    kit.build.look_longer("web/all", &tools[1..2], LONGEST_LOOK).unwrap();
}
