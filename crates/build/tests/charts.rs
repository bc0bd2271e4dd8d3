//! Charts of a build: heads by setting, rivets drilled out, and readings of a caliper.

#![allow(clippy::unwrap_used, reason = "a test may fail")]

use std::sync::atomic::{AtomicU64, Ordering};

use faying_build::{ActRequest, Answer, Build, ChartsReport, Disk, Folder};
use serde_json::{Value, json};
use tempfile::TempDir;

/// A web and a cap with a row of thirty along them.
const PLAN: &str = r#"format = 1
id = "spar"
title = "Spar"
[usual]
rivet = "MS20470AD4"
head = "aft"
[parts]
web = { thickness = 0.040 }
cap = { thickness = 0.040 }
[planes.web]
near = "aft"
far = "forward"
layers = ["web", "cap"]
outline.web = { rect = [0, 0, 32, 2] }
outline.cap = { rect = [0, 0, 32, 2] }
[planes.web.rows]
A = { from = [1, 1], to = [30, 1], count = 30 }
[steps.all]
adds = ["web", "cap"]
sets = ["web"]
"#;

static NEXT: AtomicU64 = AtomicU64::new(1);

struct Kit {
    _folder: TempDir,
    build: Build,
}

impl Kit {
    fn new(limits: &str) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("kit");
        Folder::create(&path, &[("plan/spar.toml", PLAN), ("limits.toml", limits)]).unwrap();
        let build = Build::open_with(&path, &Disk { sync: false, ..Disk::default() }).unwrap();
        Self { _folder: folder, build }
    }

    fn taken_by(&self, person: &str, act: Value) -> String {
        let id = format!("act-{}", NEXT.fetch_add(1, Ordering::Relaxed));
        let request = ActRequest {
            id: id.clone(),
            person: person.into(),
            at: "2026-05-12T19:30:12+02:00".into(),
            revision: None,
            build: None,
            act: serde_json::from_value(act.clone()).unwrap(),
        };
        match self.build.act(request).unwrap() {
            Answer::Taken { .. } => id,
            other => panic!("not taken: {act}: {other:?}"),
        }
    }

    fn taken(&self, act: Value) -> String {
        self.taken_by("ann", act)
    }

    /// Key and holes of the only set-up, of a run that is started by it.
    fn start(&self) -> (String, Vec<String>) {
        self.taken(json!({ "kind": "start", "run": "r", "step": "spar/all" }));
        let world = self.build.world();
        let run = world.state.run("r").unwrap();
        assert_eq!(run.set_ups.len(), 1);
        (run.set_ups[0].key.clone(), run.set_ups[0].holes.clone())
    }

    fn set(&self, key: &str, hole: &str) -> String {
        self.taken(json!({ "kind": "set", "run": "r", "set_up": key, "holes": [hole] }))
    }

    fn measure(&self, hole: &str, width: &str, height: &str) {
        self.taken(json!({ "kind": "measure", "hole": hole, "width": width, "height": height }));
    }

    fn charts(&self) -> ChartsReport {
        self.build.world().charts()
    }
}

#[test]
fn a_build_without_heads_has_no_chart() {
    let kit = Kit::new("");
    let charts = kit.charts();
    assert!(charts.settings.is_empty() && charts.drilled.is_empty());
}

/// Below five heads there are the limits in force and no others, and how many are missing is said.
#[test]
fn four_heads_have_no_limits_of_their_own() {
    let kit = Kit::new("");
    let (key, holes) = kit.start();
    for (hole, height) in holes.iter().zip([".060", ".061", ".059", ".060"]) {
        kit.set(&key, hole);
        kit.measure(hole, ".190", height);
    }
    let charts = kit.charts();
    let [it] = &charts.settings[..] else { panic!("{:?}", charts.settings) };
    assert_eq!((it.set, it.measured, it.heads.len(), it.first), (4, 4, 4, 1));
    let heights = it.heights.as_ref().unwrap();
    assert_eq!((heights.n, heights.missing), (4, 1));
    assert_eq!(heights.of_heads_in, None);
    assert!(heights.capability.is_none() && heights.averages.iter().all(Option::is_none));
    assert!(heights.says.iter().any(|line| line.contains("1 head more is wanted")), "{:?}", heights.says);
    assert!(it.limits.is_some());
}

/// Six heads, the last too low for the limits in force and then drilled out: it stays in the chart.
#[test]
fn a_reject_stays_in_its_chart_after_it_is_drilled_out() {
    let kit = Kit::new("");
    let (key, holes) = kit.start();
    let heights = [".060", ".061", ".059", ".060", ".060", ".040"];
    for (hole, height) in holes.iter().zip(heights) {
        kit.set(&key, hole);
        kit.measure(hole, ".190", height);
    }
    kit.taken(json!({ "kind": "open", "hole": holes[5], "why": "low" }));
    kit.set(&key, &holes[5]);
    let charts = kit.charts();
    let it = &charts.settings[0];
    // The new rivet in the sixth hole is set and not measured.
    assert_eq!((it.set, it.measured, it.heads.len()), (6, 5, 6));
    assert!(it.heads[5].drilled_out && !it.heads[0].drilled_out);
    let chart = it.heights.as_ref().unwrap();
    assert_eq!((chart.missing, chart.outside.as_slice()), (0, &[5][..]));
    assert!(chart.says[0].contains(".040, drilled out"), "{:?}", chart.says);
    // Mean .0567, mean moving range (.001 + .002 + .001 + 0 + .020)/5 = .0048.
    let half = 3.0 * 0.0048 / 1.128;
    let [lower, upper] = chart.of_heads_in.unwrap();
    assert!((lower - (0.34 / 6.0 - half)).abs() < 1e-9 && (upper - (0.34 / 6.0 + half)).abs() < 1e-9);
    let capability = chart.capability.as_ref().unwrap();
    assert_eq!(capability.n, 6);
    assert!(chart.about_aim, "the run froze an opening, so every head has an aim");
    assert!(it.heads.iter().all(|head| head.aim_in.is_some()));
    assert_eq!(chart.averages.iter().flatten().count(), 6);
}

/// Proven anew on scrap: a break, and averages and sums begin from nothing.
#[test]
fn a_proof_on_scrap_breaks_the_chart() {
    let kit = Kit::new("");
    let (key, holes) = kit.start();
    for hole in &holes[..5] {
        kit.set(&key, hole);
        kit.measure(hole, ".190", ".066");
    }
    kit.taken(json!({ "kind": "coupon", "run": "r", "set_up": key, "width": ".190", "height": ".060", "opened": "" }));
    for hole in &holes[5..7] {
        kit.set(&key, hole);
        kit.measure(hole, ".190", ".066");
    }
    let charts = kit.charts();
    let it = &charts.settings[0];
    assert_eq!(it.breaks, [5]);
    let chart = it.heights.as_ref().unwrap();
    let first = chart.averages[0].unwrap();
    assert!((chart.averages[5].unwrap() - first).abs() < 1e-12, "the sixth is a first one again");
    assert!(chart.averages[4].unwrap().abs() > first.abs());
}

/// Of two widths the smaller one counts, and a width taken back is gone.
#[test]
fn the_smaller_width_is_drawn() {
    let kit = Kit::new("");
    let (key, holes) = kit.start();
    kit.set(&key, &holes[0]);
    let act =
        json!({ "kind": "measure", "hole": holes[0], "width": ".195", "width_across": ".188", "height": "" });
    let id = kit.taken(act);
    assert_eq!(kit.charts().settings[0].heads[0].width_in, Some(0.188));
    assert!(kit.charts().settings[0].heights.is_none());
    kit.taken(json!({ "kind": "undo", "act": id }));
    assert!(kit.charts().settings.is_empty());
}

/// Ann sets four and one comes out, ben sets two; the same hole set again counts again.
#[test]
fn drilled_out_is_counted_against_what_was_set() {
    let kit = Kit::new("");
    let (key, holes) = kit.start();
    for hole in &holes[..3] {
        kit.set(&key, hole);
    }
    kit.taken_by("ben", json!({ "kind": "open", "hole": holes[0], "why": "folded" }));
    kit.set(&key, &holes[0]);
    for hole in &holes[3..5] {
        kit.taken_by("ben", json!({ "kind": "set", "run": "r", "set_up": key, "holes": [hole] }));
    }
    let mistaken = kit.taken(json!({ "kind": "open", "hole": holes[1], "why": "" }));
    kit.taken(json!({ "kind": "undo", "act": mistaken }));
    let charts = kit.charts();
    let by: Vec<&str> = charts.drilled.iter().map(|it| it.by.as_str()).collect();
    assert_eq!(by, ["the person who set them", "tool", "diameter"]);
    let rows: Vec<(&str, usize, usize)> =
        charts.drilled[0].rows.iter().map(|it| (it.name.as_str(), it.set, it.drilled)).collect();
    // Who drilled it out is nobody's rate; who set it is.
    assert_eq!(rows, [("ann", 4, 1), ("ben", 2, 0)]);
    assert_eq!(charts.drilled[0].rows[0].per_hundred, 25.0);
    assert!(charts.drilled[0].rows.iter().all(|it| it.few));
    assert!(charts.drilled[0].says.contains("do not tell one from another"));
    // One of four at 90 %: 1 − .95^(1/4) at the low end.
    let low = 100.0 * (1.0 - 0.95_f64.powf(0.25));
    assert!((charts.drilled[0].rows[0].interval[0] - low).abs() < 1e-9);
    assert_eq!(charts.drilled[2].rows.len(), 1);
    assert_eq!(charts.drilled[2].rows[0].name, "1/8 in");
    assert_eq!((charts.drilled[2].rows[0].set, charts.drilled[2].rows[0].drilled), (6, 1));
}

#[test]
fn what_was_set_before_the_record_is_in_no_rate() {
    let kit = Kit::new("");
    let hole = "spar/web/A/1";
    kit.taken(json!({ "kind": "set-before", "holes": [hole], "note": "" }));
    kit.taken(json!({ "kind": "open", "hole": hole, "why": "" }));
    let charts = kit.charts();
    assert_eq!((charts.drilled.len(), charts.drilled_before), (0, 1));
}

/// Three of thirty measured say little; with one outside, nothing is said.
#[test]
fn measured_heads_speak_for_the_others_only_as_far_as_they_can() {
    let kit = Kit::new("");
    let (key, holes) = kit.start();
    for hole in &holes {
        kit.set(&key, hole);
    }
    for hole in &holes[..3] {
        kit.measure(hole, ".190", ".060");
    }
    let sample = kit.charts().settings[0].sample.clone();
    // Two outside of thirty: C(28, 23)/C(30, 23) = 21/435 = .0483, and with 22 measured .0644.
    assert_eq!(sample.wanted, 23);
    assert!(sample.says.contains("With 20 more"), "{}", sample.says);
    kit.measure(&holes[3], ".190", ".030");
    let sample = kit.charts().settings[0].sample.clone();
    assert_eq!(sample.outside, 1);
    assert!(sample.says.contains("nothing is said of the rest"), "{}", sample.says);
}

fn typed(readings: &[&str]) -> Vec<String> {
    readings.iter().map(|&it| it.to_owned()).collect()
}

/// Ten readings: s = √(Σ(x − .1880)²/9) = √(6·.0005²/9), u with the step's rectangle of half .00025.
#[test]
fn ten_readings_of_a_head_give_the_line_for_limits_toml() {
    let kit = Kit::new("");
    let world = kit.build.world();
    let ten = [".1880", ".1885", ".1875", ".1880", ".1885", ".1875", ".1880", ".1885", ".1875", "4.7752 mm"];
    let it = world.caliper(&[typed(&ten), typed(&["", " "])], ".0005").unwrap().unwrap();
    assert_eq!((it.n, it.heads, it.freedom, it.missing), (10, 1, 9, 0));
    let s = (6.0 * 0.0005_f64.powi(2) / 9.0).sqrt();
    assert!((it.s_in - s).abs() < 1e-9, "{}", it.s_in);
    let u = (s * s + 0.00025_f64.powi(2) / 3.0).sqrt();
    assert!((it.u_in - u).abs() < 1e-9);
    assert!((it.u_freedom.unwrap() - u.powi(4) / (s.powi(4) / 9.0)).abs() < 1e-4);
    // u = .000433 in: written up to the next ten-thousandth.
    assert_eq!(it.line.as_deref(), Some("caliper = 0.0005"));
    assert!(it.note.unwrap().contains("9 degrees of freedom"));
    assert!((it.used_in, it.used_own) == (0.001, false));

    // The line does what it says.
    let own = Kit::new("format = 1\ncaliper = 0.0005\n");
    let it = own.build.world().caliper(&[typed(&ten)], ".0005").unwrap().unwrap();
    assert!((it.used_in, it.used_own) == (0.0005, true));
    assert_eq!(own.build.world().side.findings, []);
}

#[test]
fn too_few_readings_and_wrong_ones_are_said() {
    let kit = Kit::new("");
    let world = kit.build.world();
    let it = world.caliper(&[typed(&[".188", "", ".189"])], "").unwrap().unwrap();
    assert_eq!((it.n, it.missing, it.line), (2, 8, None));
    assert!(world.caliper(&[typed(&[".188"])], "").unwrap().is_none());
    assert!(world.caliper(&[], "").unwrap().is_none());
    let why = world.caliper(&[typed(&[".188", "wide"])], "").unwrap_err();
    assert!(why.starts_with("reading 2: \"wide\" is not a length"), "{why}");
    let why = world.caliper(&[typed(&[".188"]), typed(&["x"])], "").unwrap_err();
    assert!(why.starts_with("reading 1 of the second head"), "{why}");
    // All the same and no step: a caliper that is never wrong is not written down.
    let same = world.caliper(&[typed(&[".188"; 10])], "").unwrap().unwrap();
    assert_eq!((same.u_in, same.line), (0.0, None));
}
