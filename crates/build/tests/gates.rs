//! A gate stops what was skipped, put off, held and changed, names all of it, and lets it pass by the
//! right person's word only: on the demonstration's wing, whose lower skin hides most.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test may fail")]

use std::collections::BTreeMap;
use std::path::PathBuf;
use std::sync::atomic::{AtomicU32, Ordering};

use faying_build::{ActRequest, Answer, BlockerReport, Build, Disk, Folder, GateReport};
use serde_json::{Value, json};

/// The demonstration's files.
const FILES: [(&str, &str); 10] = [
    ("plan/aileron-left.toml", include_str!("../../../plans/teasel/aileron-left.toml")),
    ("plan/bellcrank.toml", include_str!("../../../plans/teasel/bellcrank.toml")),
    ("plan/fin.toml", include_str!("../../../plans/teasel/fin.toml")),
    ("plan/flap-left.toml", include_str!("../../../plans/teasel/flap-left.toml")),
    ("plan/flap-right.toml", include_str!("../../../plans/teasel/flap-right.toml")),
    ("plan/tailcone.toml", include_str!("../../../plans/teasel/tailcone.toml")),
    ("plan/wing-left.toml", include_str!("../../../plans/teasel/wing-left.toml")),
    ("limits.toml", include_str!("../../../plans/teasel/limits.toml")),
    ("people.toml", include_str!("../../../plans/teasel/people.toml")),
    ("gates.toml", include_str!("../../../plans/teasel/gates.toml")),
];

static NEXT: AtomicU32 = AtomicU32::new(1);

struct Kit {
    folder: tempfile::TempDir,
    build: Build,
}

impl Kit {
    fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        Folder::create(&folder.path().join("kit"), &FILES).unwrap();
        let build =
            Build::open_with(&folder.path().join("kit"), &Disk { sync: false, ..Disk::default() }).unwrap();
        let kit = Self { folder, build };
        for assembly in ["flap-left", "fin", "wing-left", "bellcrank", "aileron-left"] {
            kit.taken(json!({ "kind": "looked", "need": "hands", "at": assembly }));
        }
        kit
    }

    fn act(&self, act: Value) -> (String, Answer) {
        let id = format!("act-{}", NEXT.fetch_add(1, Ordering::Relaxed));
        let act = serde_json::from_value(act).unwrap();
        let at = "2026-05-12T19:30:12+02:00".to_owned();
        let request =
            ActRequest { id: id.clone(), person: String::new(), at, revision: None, build: None, act };
        (id, self.build.act(request).unwrap())
    }

    /// Does an act that must be taken; its id.
    fn taken(&self, act: Value) -> String {
        match self.act(act.clone()) {
            (id, Answer::Taken { .. }) => id,
            other => panic!("{act}: {other:?}"),
        }
    }

    fn refused(&self, act: Value) -> String {
        match self.act(act) {
            (_, Answer::Refused { why }) => why,
            other => panic!("not refused: {other:?}"),
        }
    }

    /// Sets every hole of some rows.
    fn set(&self, rows: &[&str]) {
        for row in rows {
            let holes = self.holes(row);
            self.taken(json!({ "kind": "set", "holes": holes }));
        }
    }

    /// Sets rows and measures a head of each: the first article of each row.
    fn set_and_measure(&self, rows: &[&str]) {
        self.set(rows);
        for row in rows {
            self.taken(
                json!({ "kind": "measure", "hole": format!("{row}/1"), "width": ".175", "height": ".058" }),
            );
        }
    }

    fn holes(&self, row: &str) -> Vec<String> {
        let world = self.build.world();
        let plan = world.plan();
        let row = plan.row_named(row).unwrap_or_else(|| panic!("no row {row}"));
        plan[row].hole_ids().map(|hole| plan.hole_name(hole)).collect()
    }

    fn gate(&self, name: &str) -> GateReport {
        let world = self.build.world();
        let gate = world.plan().gate_named(name).unwrap();
        world.gate_report(&world.progress(), gate)
    }

    fn edit(&self, file: &str, from: &str, to: &str) {
        let path: PathBuf = self.folder.path().join("kit").join(file);
        let text = std::fs::read_to_string(&path).unwrap();
        assert!(text.contains(from), "{from}");
        std::fs::write(&path, text.replace(from, to)).unwrap();
        self.build.refresh().unwrap();
    }
}

/// What stands against a gate, by sort.
fn sorts(report: &GateReport) -> BTreeMap<&str, Vec<&BlockerReport>> {
    let mut sorts: BTreeMap<&str, Vec<&BlockerReport>> = BTreeMap::new();
    for it in &report.blockers {
        sorts.entry(it.sort).or_default().push(it);
    }
    sorts
}

/// Everything up to the lower skin that is not skipped, put off or held in the story.
fn build_up(kit: &Kit) {
    for step in ["flap-left/prime-1", "wing-left/prime-1", "fin/prime-1"] {
        kit.taken(json!({ "kind": "step-done", "step": step }));
    }
    let spar = ["A", "B", "C", "D", "E", "F", "G", "H", "J", "K"].map(|row| format!("wing-left/spar/{row}"));
    kit.set_and_measure(&spar.each_ref().map(String::as_str));
    kit.set_and_measure(&["wing-left/rear/D"]);
    kit.set_and_measure(&["flap-left/web/K", "flap-left/web/L"]);
    kit.set_and_measure(&["flap-left/web/A", "flap-left/web/B", "flap-left/web/C"]);
    let flap = ["D", "E", "F", "H", "J"].map(|row| format!("flap-left/web/{row}"));
    kit.set_and_measure(&flap.each_ref().map(String::as_str));
    kit.set_and_measure(&["bellcrank/base/B"]);
}

#[test]
fn a_gate_names_what_was_skipped_put_off_held_and_changed() {
    let kit = Kit::new();
    build_up(&kit);
    // A later rib shares them, the builder thinks: the row of upright 1 stays open on their word.
    let hold = kit.taken(json!({ "kind": "hold", "holes": ["wing-left/spar/L"], "why": "the rib of the tank comes first", "until": "wing-left/close" }));
    let why = kit.refused(json!({ "kind": "set", "holes": ["wing-left/spar/L/1"] }));
    assert_eq!(
        why,
        "wing-left/spar/L/1 is held until wing-left/close on your word: the rib of the tank comes first; lift the hold first"
    );
    // One row of rivets is set and nobody measures the first of it.
    kit.set(&["wing-left/spar/M"]);
    kit.set_and_measure(&["wing-left/spar/N"]);
    // The torque of the fitting is put off.
    let torque = kit.taken(json!({
        "kind": "owe", "what": "final torque of the fitting", "at": "wing-left/rear/P", "gate": "wing-left/close",
    }));
    // The plan changes under rows that are set: the doubler is thicker than it was.
    kit.edit(
        "plan/wing-left.toml",
        "doubler = { title = \"Web doubler\", material = \"2024-T3\", thickness = 0.063",
        "doubler = { title = \"Web doubler\", material = \"2024-T3\", thickness = 0.050",
    );
    let pending = kit.build.world().disagreements();
    assert!(
        pending
            .iter()
            .any(|it| it.at == "wing-left/spar/A, holes 1 to 6" && it.what.starts_with("stack: set by")),
        "{pending:?}"
    );

    kit.taken(json!({ "kind": "fault", "holes": ["wing-left/spar/E/3"], "what": "a crescent on the manufactured head" }));
    let report = kit.gate("wing-left/close");
    assert!(!report.passed);
    let sorts = sorts(&report);
    for sort in [
        "unset",
        "undone",
        "owed",
        "held",
        "first-article",
        "plan",
        "fault",
        "inspection",
        "check",
        "photograph",
    ] {
        assert!(sorts.contains_key(sort), "{sort} is missing: {:?}", sorts.keys());
    }
    let words: Vec<&str> = report.blockers.iter().map(|it| it.what.as_str()).collect();
    for said in [
        "wing-left/hinge: Flap hinge fitting, clamped is not done",
        "wing-left/upper/C, holes 1 to 28: not set",
        "owed at wing-left/rear/P: final torque of the fitting",
        "wing-left/spar/L, holes 1 to 4: held open, the rib of the tank comes first",
        "wing-left/spar/M, holes 1 to 4: are set and no head of them is measured",
        "fault at wing-left/spar/E/3: a crescent on the manufactured head",
        "inspection of centre-bay: not recorded",
        "conduit is in: not looked for",
        "photograph of bell crank from the hatch: not taken",
    ] {
        assert!(words.contains(&said), "{said}\n{words:#?}");
    }
    assert!(
        report.blockers.iter().all(|it| !it.link.is_empty() && !it.next.is_empty() && !it.keys.is_empty())
    );

    // The step itself says which gate, and passing it says how much stands against it.
    let why = kit.refused(json!({ "kind": "pass-gate", "gate": "wing-left/close" }));
    let count = report.blockers.len();
    assert!(
        why.starts_with(&format!("{count} things stand against gate wing-left/close; the first: ")),
        "{why}"
    );

    // What is owed says so before its gate, and ends by an act that shows it.
    assert_eq!(
        kit.refused(json!({ "kind": "owed-done", "owed": torque })),
        "nothing shows that it is done: measure, torque or photograph it, or say how"
    );
    kit.taken(json!({ "kind": "owed-done", "owed": torque, "how": "torqued with the beam wrench" }));
    kit.taken(json!({ "kind": "lift-hold", "hold": hold }));
    let after = kit.gate("wing-left/close");
    assert!(!after.blockers.iter().any(|it| it.sort == "owed" || it.sort == "held"));
    assert!(
        after.blockers.iter().any(|it| it.what == "wing-left/spar/L, holes 1 to 4: not set"),
        "held no more, and still not set"
    );
}

#[test]
fn structure_passes_by_the_word_of_those_who_may_give_it() {
    let kit = Kit::new();
    kit.taken(json!({ "kind": "step-done", "step": "fin/prime-1" }));
    let report = kit.gate("fin/close");
    let reasons = |who: &str, role: &str| -> Vec<Value> {
        report
            .blockers
            .iter()
            .map(|it| json!({ "keys": it.keys, "who": who, "role": role, "why": "seen and agreed" }))
            .collect()
    };
    let why =
        kit.refused(json!({ "kind": "pass-gate", "gate": "fin/close", "reasons": reasons("Me", "builder") }));
    assert!(why.contains("this is structure; the builder's word does not let it pass"), "{why}");
    assert!(
        kit.refused(json!({ "kind": "pass-gate", "gate": "fin/close", "reasons": reasons("", "inspector") }))
            .starts_with("write the name")
    );
    // A photograph that is missing is nobody's strength: the builder's own reason will do for that.
    let mixed: Vec<Value> = report
        .blockers
        .iter()
        .map(|it| json!({ "keys": it.keys, "who": "Somebody", "role": if it.structure { "designer" } else { "builder" }, "why": "said on the telephone" }))
        .collect();
    kit.taken(json!({ "kind": "pass-gate", "gate": "fin/close", "reasons": mixed }));
    let passed = kit.gate("fin/close");
    assert!(passed.passed && passed.blockers.is_empty());
    assert_eq!(passed.let_pass.len(), report.blockers.len(), "who let what pass stays told");
    assert!(kit.refused(json!({ "kind": "pass-gate", "gate": "fin/close" })).ends_with("is passed already"));

    // What comes up afterwards stands against it anew: nobody let that pass.
    kit.taken(
        json!({ "kind": "owe", "what": "look at the dent again", "at": "fin/left/B/3", "gate": "fin/close" }),
    );
    let again = kit.gate("fin/close");
    assert!(!again.passed && again.blockers.len() == 1, "{:?}", again.blockers);
}

#[test]
fn what_a_changed_plan_leaves_behind_waits_for_a_decision() {
    let kit = Kit::new();
    kit.taken(json!({ "kind": "step-done", "step": "fin/prime-1" }));
    kit.set_and_measure(&["fin/spar/E"]);
    kit.edit(
        "plan/fin.toml",
        "count = 11, called = \"-4\", note = \"left cap\"",
        "count = 11, called = \"-5\", note = \"left cap\"",
    );
    assert_eq!(kit.build.world().disagreements().len(), 1);
    let note = kit.taken(json!({ "kind": "note", "text": "the change is adopted with this" }));
    let world = kit.build.world();
    let owed = world.owed(&world.progress());
    let of_plan: Vec<_> = owed.iter().filter(|it| it.sort == "plan").collect();
    let [it] = of_plan.as_slice() else { panic!("{owed:?}") };
    assert_eq!(it.what, "fin/spar/E, holes 1 to 11: fastener: set by MS20470AD4-4, now MS20470AD4-5");
    let (about, key) = (it.act.clone(), it.key.clone());
    assert_eq!(about, format!("{note}-plan"));
    drop(world);
    let decide = |role: &str| json!({ "kind": "decide", "about": about, "key": key, "what": "stays as it is", "who": "The designer", "role": role });
    assert!(kit.refused(decide("builder")).starts_with("this is structure"));
    kit.taken(decide("designer"));
    let world = kit.build.world();
    assert!(world.owed(&world.progress()).iter().all(|it| it.sort != "plan"));
}

/// What was let pass of one hole is not let pass of another that has its number now, nor of the next rivet in it.
#[test]
fn what_was_let_pass_stays_with_its_own_fastener() {
    let kit = Kit::new();
    kit.taken(json!({ "kind": "step-done", "step": "fin/prime-1" }));
    kit.set(&["fin/spar/E"]);
    let all = |kit: &Kit| -> Vec<Value> {
        let blockers = kit.gate("fin/close").blockers;
        let reason = |it: &BlockerReport| json!({ "keys": it.keys, "who": "N. N.", "role": "designer", "why": "agreed" });
        blockers.iter().map(reason).collect()
    };
    kit.taken(json!({ "kind": "pass-gate", "gate": "fin/close", "reasons": all(&kit) }));
    assert!(kit.gate("fin/close").passed);
    // Drilled out: the hole is empty in another way than when it was let pass.
    kit.taken(json!({ "kind": "open", "hole": "fin/spar/E/3", "why": "folded" }));
    let words =
        |kit: &Kit| -> Vec<String> { kit.gate("fin/close").blockers.into_iter().map(|it| it.what).collect() };
    assert_eq!(words(&kit), ["fin/spar/E, hole 3: not set"]);
    // Another rivet is another first article; of the rest of the row that was let pass.
    kit.taken(json!({ "kind": "set", "holes": ["fin/spar/E/3"] }));
    assert_eq!(words(&kit).len(), 1, "{:?}", words(&kit));
    kit.taken(json!({ "kind": "measure", "hole": "fin/spar/E/3", "width": ".175", "height": ".058" }));
    assert_eq!(words(&kit), Vec::<String>::new());
    // A hole before the first of row F, which nobody set: what was let pass moves on with its holes.
    kit.edit(
        "plan/fin.toml",
        "F = { from = [11, 1.1083], to = [23.5, 1.0042], count = 11",
        "F = { from = [9.75, 1.118_71], to = [23.5, 1.0042], count = 12",
    );
    let found = words(&kit);
    assert_eq!(found, ["fin/spar/F, hole 1: not set"], "only the new hole");
}

/// A line of the plan goes, and the rivets stay: that waits for a decision, at every gate of the assembly.
#[test]
fn a_rivet_whose_row_is_gone_is_not_forgotten() {
    let kit = Kit::new();
    kit.taken(json!({ "kind": "step-done", "step": "fin/prime-1" }));
    kit.set_and_measure(&["fin/spar/E"]);
    kit.edit(
        "plan/fin.toml",
        "E = { from = [11, -1.1083], to = [23.5, -1.0042], count = 11,",
        "E = { from = [12.25, -1.0978], to = [23.5, -1.0042], count = 10,",
    );
    let told: Vec<String> =
        kit.build.world().disagreements().iter().map(|it| format!("{}: {}", it.at, it.what)).collect();
    assert_eq!(told, ["fin/spar/E, hole 1: gone: set, and not in the plan any more"]);
    kit.taken(json!({ "kind": "adopt-plan" }));
    assert!(
        kit.gate("fin/close")
            .blockers
            .iter()
            .any(|it| it.sort == "plan" && it.what.contains("not in the plan any more"))
    );
    // The next change does not tell it once more.
    kit.edit("plan/fin.toml", "title = \"Fin\"", "title = \"The fin\"");
    assert!(kit.build.world().disagreements().is_empty());
    // The gate of something owed is gone as well: it presses now, instead of never.
    kit.taken(json!({ "kind": "owe", "what": "balance it", "gate": "fin/close" }));
    kit.edit("plan/fin.toml", "[gates.close]", "[gates.shut]");
    let world = kit.build.world();
    let owed = world.owed(&world.progress());
    assert!(owed.iter().any(|it| it.what == "balance it" && it.now), "{owed:?}");
}

#[test]
fn a_bolt_asks_for_its_torque_and_a_batch_for_what_it_primed() {
    let kit = Kit::new();
    // Piece by piece: one is forgotten, and the step is not done.
    let parts = ["web", "cap/left", "cap/right"].map(|it| format!("fin/{it}"));
    kit.taken(json!({ "kind": "work-done", "step": "fin/prime-1", "parts": parts }));
    assert!(
        kit.refused(json!({ "kind": "work-done", "step": "fin/prime-1", "parts": parts }))
            .contains("done already")
    );
    assert!(
        kit.refused(json!({ "kind": "set", "holes": ["fin/spar/E/1"] })).contains("prime-1 comes before")
    );
    kit.taken(json!({ "kind": "work-done", "step": "fin/prime-1" }));
    kit.set_and_measure(&["fin/spar/E"]);
    // Another finish under what is primed.
    kit.edit(
        "plan/fin.toml",
        "web = { title = \"Spar web\", material = \"2024-T3\", thickness = 0.032, finish = \"prime\"",
        "web = { title = \"Spar web\", material = \"2024-T3\", thickness = 0.032, finish = \"epoxy\"",
    );
    let found = kit.build.world().disagreements();
    assert_eq!(found.len(), 1, "{found:?}");
    assert_eq!(found[0].what, "finish: primed as prime, now epoxy");
    // Bolts.
    assert!(
        kit.refused(json!({ "kind": "torque", "holes": ["fin/spar/E/1"], "torque": "25" }))
            .ends_with("takes no bolt")
    );
    kit.taken(json!({ "kind": "set-before", "holes": ["tailcone/F/1", "tailcone/F/2"] }));
    let rigging = || kit.gate("weighing");
    assert!(
        rigging()
            .blockers
            .iter()
            .any(|it| it.what == "tailcone/F, holes 1 and 2: these bolts are not torqued")
    );
    kit.taken(json!({ "kind": "torque", "holes": ["tailcone/F/1", "tailcone/F/2"], "torque": "25 in-lb", "drag": "9", "wrench": "beam" }));
    assert!(!rigging().blockers.iter().any(|it| it.sort == "torque"));
    // Drilled out and set again, it is another bolt.
    kit.taken(json!({ "kind": "open", "hole": "tailcone/F/2", "why": "thread" }));
    kit.taken(json!({ "kind": "set-before", "holes": ["tailcone/F/2"] }));
    assert!(rigging().blockers.iter().any(|it| it.what == "tailcone/F, hole 2: this bolt is not torqued"));
}

#[test]
fn left_and_right_are_told_apart_before_the_first_rivet() {
    let folder = tempfile::tempdir().unwrap();
    Folder::create(&folder.path().join("kit"), &FILES).unwrap();
    let build =
        Build::open_with(&folder.path().join("kit"), &Disk { sync: false, ..Disk::default() }).unwrap();
    let kit = Kit { folder, build };
    kit.taken(json!({ "kind": "step-done", "step": "flap-left/prime-1" }));
    let start = json!({ "kind": "start", "run": "one", "step": "flap-left/doublers" });
    assert_eq!(
        kit.refused(start.clone()),
        "left and right first: lay out Left flap as it will be, read the marks on its parts, and say so"
    );
    kit.taken(json!({ "kind": "looked", "need": "hands", "at": "flap-left", "who": "Two of us" }));
    kit.taken(start);
    // The tailcone has no other hand.
    kit.taken(json!({ "kind": "start", "run": "two", "step": "tailcone/frames" }));
}

#[test]
fn the_clock_runs_once_and_hours_are_told_as_written() {
    let kit = Kit::new();
    let at = |time: &str, act: Value| {
        let id = format!("act-{}", NEXT.fetch_add(1, Ordering::Relaxed));
        let act = serde_json::from_value(act).unwrap();
        kit.build
            .act(ActRequest {
                id,
                person: String::new(),
                at: format!("2026-05-12T{time}:00+02:00"),
                revision: None,
                build: None,
                act,
            })
            .unwrap()
    };
    assert!(matches!(at("19:00", json!({ "kind": "clock", "step": "fin/prime-1" })), Answer::Taken { .. }));
    let Answer::Refused { why } = at("19:10", json!({ "kind": "clock", "step": "fin/spar" })) else {
        panic!()
    };
    assert_eq!(why, "the clock runs already, on fin/prime-1; stop it first");
    assert!(matches!(at("20:30", json!({ "kind": "worked" })), Answer::Taken { .. }));
    assert!((kit.build.world().hours_worked("fin/prime-1") - 1.5).abs() < 1e-9);
    assert_eq!(
        kit.refused(json!({ "kind": "worked" })),
        "the clock does not run; write how long it was, such as 1.5"
    );
    kit.taken(json!({ "kind": "worked", "step": "fin/spar", "time": "2:15" }));
    assert!((kit.build.world().hours_worked("fin/spar") - 2.25).abs() < 1e-9);
    // A clock that was forgotten overnight is not believed.
    assert!(matches!(at("21:00", json!({ "kind": "clock" })), Answer::Taken { .. }));
    let next_day = |act: Value| {
        let act = serde_json::from_value(act).unwrap();
        kit.build
            .act(ActRequest {
                id: "late".into(),
                person: String::new(),
                at: "2026-05-13T19:00:00+02:00".into(),
                revision: None,
                build: None,
                act,
            })
            .unwrap()
    };
    let Answer::Refused { why } = next_day(json!({ "kind": "worked" })) else { panic!() };
    assert_eq!(why, "the clock ran on; write how long it was, such as 2:15");
}
