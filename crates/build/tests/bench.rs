//! Runs of a build: what is frozen, what is changed on the way, what is learned, and the other hand.

#![allow(clippy::unwrap_used, reason = "a test may fail")]

use std::path::PathBuf;
use std::sync::atomic::{AtomicU64, Ordering};

use faying_build::report::RunReport;
use faying_build::room::Event;
use faying_build::{ActRequest, Answer, Build, Disk, Folder};
use serde_json::{Value, json};
use tempfile::TempDir;

/// A web and a cap, 24 holes in two rows; a doubler under the first half. And its right hand.
const LEFT: &str = r#"format = 1
id = "spar-left"
title = "Left spar"
[usual]
rivet = "MS20470AD4"
head = "aft"
[parts]
web = { thickness = 0.040 }
cap = { thickness = 0.040 }
doubler = { thickness = 0.063 }
[planes.web]
near = "aft"
far = "forward"
layers = ["doubler", "web", "cap"]
outline.doubler = { rect = [0, 0, 12.5, 2] }
outline.web = { rect = [0, 0, 25, 2] }
outline.cap = { rect = [0, 0, 25, 2] }
[planes.web.rows]
A = { from = [1, 0.5], to = [23, 0.5], count = 12 }
B = { like = "A", shift = [0, 1] }
[steps.all]
title = "Doubler and cap"
adds = ["web", "cap", "doubler"]
sets = ["web"]
"#;
const RIGHT: &str = "format = 1\nid = \"spar-right\"\ntitle = \"Right spar\"\nmirror = \"spar-left\"\n";

struct Kit {
    folder: TempDir,
    build: Build,
}

static NEXT: AtomicU64 = AtomicU64::new(1);

impl Kit {
    fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("kit");
        Folder::create(&path, &[("plan/left.toml", LEFT), ("plan/right.toml", RIGHT)]).unwrap();
        let build = Build::open_with(&path, &Disk { sync: false, ..Disk::default() }).unwrap();
        assert_eq!(build.world().side.findings, []);
        let bench = Self { folder, build };
        for hand in ["spar-left", "spar-right"] {
            bench.taken(json!({ "kind": "looked", "need": "hands", "at": hand }));
        }
        bench
    }

    fn path(&self) -> PathBuf {
        self.folder.path().join("kit")
    }

    fn act_at(&self, at: &str, act: Value) -> Answer {
        let id = format!("act-{}", NEXT.fetch_add(1, Ordering::Relaxed));
        let act = serde_json::from_value(act).unwrap();
        self.build
            .act(ActRequest { id, person: String::new(), at: at.into(), revision: None, build: None, act })
            .unwrap()
    }

    fn act(&self, act: Value) -> Answer {
        self.act_at("2026-05-12T19:30:12+02:00", act)
    }

    fn taken(&self, act: Value) -> String {
        match self.act(act) {
            Answer::Taken { says } => says,
            other => panic!("not taken: {other:?}"),
        }
    }

    fn refused(&self, act: Value) -> String {
        match self.act(act) {
            Answer::Refused { why } => why,
            other => panic!("not refused: {other:?}"),
        }
    }

    fn start(&self, step: &str) {
        self.taken(json!({ "kind": "start", "run": "r", "step": step }));
    }

    /// Keys of the set-ups of the run, with their holes.
    fn set_ups(&self) -> Vec<(String, Vec<String>)> {
        let world = self.build.world();
        let run = world.state.run("r").unwrap();
        run.set_ups.iter().map(|it| (it.key.clone(), it.holes.clone())).collect()
    }

    fn set(&self, key: &str, holes: &[String]) {
        self.taken(json!({ "kind": "set", "run": "r", "set_up": key, "holes": holes }));
    }

    fn coupon(&self, key: &str, opened: &str, height: &str) {
        self.taken(json!({ "kind": "coupon", "run": "r", "set_up": key, "width": ".185", "height": height, "opened": opened }));
    }
}

#[test]
fn a_run_is_frozen_with_what_it_rests_on() {
    let kit = Kit::new();
    kit.start("spar-left/all");
    let world = kit.build.world();
    let run = world.state.run("r").unwrap();
    let Event::RunStarted(started) = &world.state.act(run.started).event else { panic!("no start") };
    let named: Vec<&str> = started.constants.iter().map(|(name, _)| name.as_str()).collect();
    assert!(named.contains(&"missing-metal") && named.contains(&"time squeeze"), "{named:?}");
    assert!(started.seconds > 24.0 && started.bound <= started.seconds, "{started:?}");
    assert_eq!(run.set_ups.len(), 2);
    for set_up in &run.set_ups {
        assert_eq!(set_up.on.len(), 6);
        assert!(set_up.opening.is_some());
        assert_eq!(set_up.measure.len(), 3, "three of twelve; the next would be the thirteenth");
        assert!(set_up.least_height < set_up.most_height);
    }
}

#[test]
fn a_bag_is_looked_at_and_a_wrong_length_is_said() {
    let kit = Kit::new();
    kit.start("spar-left/all");
    let (key, _) = kit.set_ups()[0].clone();
    let report = kit.build.world().bench("r").unwrap();
    let bag = report.set_ups[0].bag.as_ref().unwrap();
    assert!(bag.mark.contains("dimple"), "{}", bag.mark);
    let length = bag.length_in.unwrap();
    let bag = |mark: bool, lengths: &[String]| json!({ "kind": "bag", "run": "r", "set_up": key, "head_mark": mark, "lengths": lengths });
    let right = [format!("{length}"), format!("{}", length + 0.006)];
    assert_eq!(kit.taken(bag(true, &right)), "");
    // One sixteenth longer is the next rivet of the list.
    let says = kit.taken(bag(true, &[format!("{}", length + 0.0625)]));
    assert!(says.contains("is not the length of a -"), "{says}");
    assert!(kit.build.world().bench("r").unwrap().set_ups[0].bag.as_ref().unwrap().checked.is_some());
    kit.taken(bag(false, &[]));
    let report = kit.build.world().bench("r").unwrap();
    assert!(report.set_ups[0].bag.as_ref().unwrap().checked.is_none(), "the wrong bag is not a checked one");
    assert!(
        kit.refused(json!({ "kind": "bag", "run": "r", "set_up": "x", "head_mark": true }))
            .contains("its order was changed")
    );
}

#[test]
fn what_is_left_is_put_in_order_anew() {
    let kit = Kit::new();
    kit.start("spar-left/all");
    let before = kit.set_ups();
    let (key, holes) = before[0].clone();
    kit.set(&key, &holes[..4]);
    // Two are put off: they come last; what is set stays where it is; the tool goes on with its own.
    let off = &holes[4..6];
    kit.taken(json!({ "kind": "change", "run": "r", "put_off": off }));
    let after = kit.set_ups();
    assert_eq!(after[0].0, key);
    assert_eq!(after[0].1[..4], holes[..4]);
    let order: Vec<&String> = after.iter().flat_map(|(_, holes)| holes).collect();
    assert_eq!(order.len(), 24);
    let last: Vec<&String> = order[22..].to_vec();
    assert!(off.iter().all(|hole| last.contains(&hole)), "{last:?}");
    let keys: std::collections::BTreeSet<&String> = after.iter().map(|(key, _)| key).collect();
    assert_eq!(keys.len(), after.len(), "each visit has a name of its own");

    // The squeezer is not at hand: the rest goes to another tool, what is done stays with its own.
    let squeezer = kit.build.world().state.run("r").unwrap().set_ups[0].on[0].clone();
    kit.taken(json!({ "kind": "change", "run": "r", "without": [squeezer] }));
    let world = kit.build.world();
    let run = world.state.run("r").unwrap();
    assert_eq!((run.changes, run.without.as_slice()), (2, [squeezer.clone()].as_slice()));
    for set_up in &run.set_ups {
        let done = set_up.holes.iter().all(|hole| world.is_set(world.plan().hole_named(hole).unwrap()));
        assert_eq!(set_up.on[0] == squeezer, done, "{set_up:?}");
    }
    drop(world);
    kit.taken(json!({ "kind": "change", "run": "r", "again": [squeezer] }));
    assert_eq!(kit.build.world().state.run("r").unwrap().without, Vec::<String>::new());
    assert!(
        kit.refused(json!({ "kind": "change", "run": "r", "without": ["hammer"] }))
            .contains("no tool hammer")
    );
    let fresh = Build::read(&kit.path()).unwrap();
    let names = |run: &faying_build::room::State| format!("{:?}", run.run("r").unwrap());
    assert_eq!(names(&fresh.state), names(&kit.build.world().state), "the disk has the same run");
}

#[test]
fn without_every_tool_a_change_is_refused_and_says_which_holes() {
    let kit = Kit::new();
    kit.start("spar-left/all");
    let tools: Vec<String> = {
        let world = kit.build.world();
        let tools = &world.plan().tools;
        tools
            .squeezers
            .iter()
            .map(|it| it.name.clone())
            .chain(tools.guns.iter().map(|it| it.name.clone()))
            .collect()
    };
    let why = kit.refused(json!({ "kind": "change", "run": "r", "without": tools }));
    assert!(why.starts_with("without it no tool sets spar-left/web/"), "{why}");
    assert_eq!(kit.build.world().state.run("r").unwrap().changes, 0);
}

#[test]
fn a_reject_asks_for_a_new_proof_and_measures_the_next_heads() {
    let kit = Kit::new();
    kit.start("spar-left/all");
    let (key, holes) = kit.set_ups()[0].clone();
    kit.coupon(&key, "", ".060");
    kit.set(&key, &holes[..1]);
    assert!(kit.build.world().bench("r").unwrap().set_ups[0].proven.is_some());
    kit.taken(json!({ "kind": "measure", "hole": holes[0], "width": ".140", "height": ".030" }));
    let report = kit.build.world().bench("r").unwrap();
    assert_eq!(report.set_ups[0].proven, None, "the first reject takes the proof away");
    let next: Vec<bool> = report.set_ups[0].holes.iter().map(|hole| hole.measure && !hole.set).collect();
    assert_eq!(next.iter().filter(|&&it| it).count(), 3, "{next:?}");
    kit.coupon(&key, "", ".060");
    assert!(kit.build.world().bench("r").unwrap().set_ups[0].proven.is_some());
}

#[test]
fn heads_that_creep_raise_an_adjustment_before_one_is_outside() {
    let kit = Kit::new();
    kit.start("spar-left/all");
    let (key, holes) = kit.set_ups()[0].clone();
    kit.coupon(&key, "", ".060");
    kit.set(&key, &holes);
    let report = kit.build.world().bench("r").unwrap();
    let [least, most] = report.set_ups[0].heights_in.unwrap();
    // Inside every limit, and off the aim by little more than one set-up scatters (.0028 in).
    let high = f64::midpoint(least, most) + 0.004;
    let mut said = Vec::new();
    for hole in &holes {
        let act = json!({ "kind": "measure", "hole": hole, "width": ".180", "height": format!("{high:.4}") });
        said.push(kit.taken(act));
    }
    assert!(said.iter().all(|it| it.starts_with(".180 wide") && it.contains("is inside")), "{said:?}");
    assert!(!said[0].contains("Drift"), "one head is no drift: {}", said[0]);
    let last = &said[said.len() - 1];
    assert!(last.contains("Drift") && last.contains("less open"), "heads too high: close the gap: {last}");
}

#[test]
fn a_temperature_says_in_what() {
    let kit = Kit::new();
    kit.start("spar-left/all");
    let at = |text: &str| json!({ "kind": "temperature", "run": "r", "temperature": text });
    for (text, celsius) in [("20 C", 20.0), ("68 F", 20.0), ("18,5 °C", 18.5), ("-2c", -2.0)] {
        kit.taken(at(text));
        let world = kit.build.world();
        let Event::BenchTemperature(noted) = &world.state.acts().last().unwrap().event else { panic!() };
        assert!((noted.celsius - celsius).abs() < 1e-9, "{text}: {}", noted.celsius);
    }
    assert_eq!(kit.refused(at("20")), "\"20\" does not say in what; write 20 C or 68 F");
    assert_eq!(kit.refused(at("warm")), "\"warm\" is no temperature; write 20 C or 68 F");
    assert_eq!(kit.refused(at("200 C")), "nobody rivets at 200 C; write for example 20 C or 68 F");
}

#[test]
fn what_is_learned_is_used_after_it_is_taken_over_and_not_before() {
    let kit = Kit::new();
    kit.start("spar-left/all");
    for (key, holes) in kit.set_ups() {
        kit.coupon(&key, "", ".060");
        kit.set(&key, &holes);
        for hole in &holes {
            kit.taken(json!({ "kind": "measure", "hole": hole, "width": ".178", "height": ".058" }));
        }
    }
    let learned = kit.build.world().learned();
    let metal = learned.iter().find(|it| it.name == "missing-metal").unwrap();
    assert!(metal.from.starts_with("Your 24 heads"), "{}", metal.from);
    assert!((metal.used - 0.15).abs() < 1e-12);
    assert!((metal.value - metal.used).abs() > 1e-3, "{metal:?}");
    let adopt = |value: f64| json!({ "kind": "adopt", "values": [["missing-metal", value]] });
    assert!(kit.refused(adopt(0.5)).contains("has changed since the page was loaded"));
    assert!(
        kit.refused(json!({ "kind": "adopt", "values": [["hammer", 1.0]] }))
            .contains("nothing is learned about hammer")
    );
    kit.taken(adopt(metal.value));
    let now = kit.build.world().bench_side().constants.missing_metal.value;
    assert!((now - metal.value).abs() < 1e-12);
    let again = kit.build.world().learned();
    let again = again.iter().find(|it| it.name == "missing-metal").unwrap();
    assert!((again.value - metal.value).abs() < 1e-9, "the same heads say the same again");

    // One figure everywhere: call-outs are reckoned with it too, and say where it is from.
    let in_force = || kit.build.world().side.joints.constants.missing_metal.clone();
    assert!((in_force().value - metal.value).abs() < 1e-12);
    assert!(
        format!("{:?}", in_force().cited).contains("taken over by the builder"),
        "{:?}",
        in_force().cited
    );
    let heights = |build: &Build| {
        let world = build.world();
        let hole = world.plan().hole_named("spar-left/web/A/1").unwrap();
        let joint = world.side.joints.at(hole).unwrap().clone();
        joint.call_out.as_ref().unwrap().candidate(joint.dash().unwrap()).map(|it| format!("{it:?}"))
    };
    let with_it = heights(&kit.build);
    let id = kit.build.world().state.acts().last().unwrap().id.clone();
    kit.taken(json!({ "kind": "undo", "act": id, "why": "" }));
    assert!((in_force().value - 0.15).abs() < 1e-12, "taken back");
    assert_ne!(heights(&kit.build), with_it, "the call-out follows");
}

#[test]
fn the_times_of_the_builders_own_runs_are_learned() {
    let kit = Kit::new();
    kit.start("spar-left/all");
    let (key, holes) = kit.set_ups()[0].clone();
    for (n, hole) in holes.iter().enumerate() {
        // Every ten seconds, but for a break of an hour in the middle.
        let (hour, second) = if n < 6 { (19, n * 10) } else { (20, n * 10 - 60) };
        let act = json!({ "kind": "set", "run": "r", "set_up": key, "holes": [hole] });
        let answer = kit.act_at(&format!("2026-05-12T{hour}:30:{second:02}+02:00"), act);
        assert!(matches!(answer, Answer::Taken { .. }), "{answer:?}");
    }
    let learned = kit.build.world().learned();
    let time = learned.iter().find(|it| it.name == "time squeeze").unwrap();
    assert!(time.from.contains("median 10.0 s"), "{}", time.from);
    // Between the default and ten seconds, and nearer to the default while there are few.
    let (low, high) = (time.used.min(10.0), time.used.max(10.0));
    assert!(time.value >= low && time.value <= high, "{time:?}");

    // The next set-up: scrap, and the first rivet 306 s after the last of the one before. Its two stacks
    // differ in setting and in length (another bag); reckoned 30, 40 and 180 s, and 6 s for the rivet.
    let (next, holes) = kit.set_ups()[1].clone();
    kit.coupon(&next, "", ".060");
    let act = json!({ "kind": "set", "run": "r", "set_up": next, "holes": [holes[0]] });
    let answer = kit.act_at("2026-05-12T20:35:56+02:00", act);
    assert!(matches!(answer, Answer::Taken { .. }), "{answer:?}");
    let learned = kit.build.world().learned();
    let own = |name: &str| {
        let from = &learned.iter().find(|it| it.name == name).unwrap().from;
        from.split("median ").nth(1).unwrap().split(' ').next().unwrap().parse::<f64>().unwrap()
    };
    let (setting, bag, coupon) = (own("time setting"), own("time bag"), own("time coupon"));
    // 300 s shared as 30 : 40 : 180.
    assert!(
        (setting - 36.0).abs() < 0.06 && (bag - 48.0).abs() < 0.06 && (coupon - 216.0).abs() < 0.06,
        "{setting} {bag} {coupon}"
    );
    assert!(!learned.iter().any(|it| it.name == "time flip"), "nothing was turned over");
}

#[test]
fn the_spring_of_a_yoke_is_learned_from_what_was_opened() {
    let kit = Kit::new();
    kit.start("spar-left/all");
    let set_ups = kit.set_ups();
    kit.coupon(&set_ups[0].0, "", ".060");
    assert!(!kit.build.world().learned().iter().any(|it| it.name.starts_with("yoke-spring")));
    let world = kit.build.world();
    let run = world.state.run("r").unwrap();
    let asked = run.set_ups[1].opening.unwrap() - run.set_ups[0].opening.unwrap();
    drop(world);
    kit.coupon(&set_ups[1].0, &asked.decimal(), ".060");
    let learned = kit.build.world().learned();
    let spring = learned.iter().find(|it| it.name.starts_with("yoke-spring")).unwrap();
    assert!(spring.value > 0.0 && spring.value.is_finite(), "{spring:?}");
    assert!(spring.from.starts_with("2 heads"), "{}", spring.from);
}

#[test]
fn the_other_hand_runs_as_the_first_did() {
    let kit = Kit::new();
    kit.start("spar-left/all");
    for (key, holes) in kit.set_ups() {
        kit.set(&key, &holes);
    }
    let left: Vec<String> = kit.set_ups().into_iter().flat_map(|(_, holes)| holes).collect();
    kit.taken(json!({ "kind": "open", "hole": left[3], "why": "folded" }));
    let world = kit.build.world();
    let step = world.plan().step_named("spar-right/all").unwrap();
    let other = world.other_hand(step).unwrap();
    assert_eq!(other.title, "Left spar");
    assert!(other.learned.contains("(folded)"), "{}", other.learned);
    let report = RunReport::of(&world, &world.run_of(step));
    let right: Vec<String> =
        report.set_ups.iter().flat_map(|it| &it.holes).map(|hole| hole.name.clone()).collect();
    let mirrored: Vec<String> = left.iter().map(|hole| hole.replace("spar-left", "spar-right")).collect();
    assert_eq!(right, mirrored);
}

#[test]
fn the_first_heads_are_those_that_are_set_first() {
    let kit = Kit::new();
    kit.start("spar-left/all");
    let (key, holes) = kit.set_ups()[0].clone();
    let measured = || {
        let world = kit.build.world();
        let report = world.bench("r").unwrap();
        let heads: Vec<String> =
            report.set_ups[0].holes.iter().filter(|it| it.measure).map(|it| it.name.clone()).collect();
        heads
    };
    assert_eq!(measured(), holes[..3]);
    // The last two of the order are picked on the map and set before all others: they are the first
    // heads, and one of the planned three is left to make three of them.
    kit.set(&key, &[holes[11].clone()]);
    kit.set(&key, &[holes[10].clone()]);
    assert_eq!(measured(), [holes[0].clone(), holes[10].clone(), holes[11].clone()]);
    kit.set(&key, &holes[..4]);
    assert_eq!(measured(), [holes[0].clone(), holes[10].clone(), holes[11].clone()]);
}
