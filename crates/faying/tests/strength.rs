//! `faying strength` as a builder types it: keys, words, exit codes.

#![allow(clippy::unwrap_used, reason = "a test may fail")]

mod common;

use std::path::Path;

use common::{Ended, faying_in};
use insta::assert_snapshot;
use serde_json::Value;

fn faying(arguments: &[&str]) -> Ended {
    faying_in(Path::new("."), arguments)
}

/// Runs `faying strength` and reads what it printed as JSON.
fn json(arguments: &[&str]) -> Value {
    let ended = faying(&[&["strength"], arguments, &["--json"]].concat());
    assert_eq!(ended.code, 0, "{}", ended.err);
    ended.json()
}

fn refused(arguments: &[&str]) -> String {
    let ended = faying(&[&["strength"], arguments].concat());
    assert_eq!(ended.code, 2, "{arguments:?}: {}", ended.out);
    ended.err.trim_end().to_owned()
}

#[test]
fn rivets_per_inch_with_their_printed_cell() {
    let report = json(&["per-inch", "--table", "4-9", "--thickness", "0.032", "--fastener", "1/8"]);
    assert_eq!(report["version"], 1);
    // Printed 6.2, to .1.
    assert!((report["per_inch"].as_f64().unwrap() - 6.2).abs() <= 0.05);
    assert_eq!((&report["governs"], &report["printed"]), (&"shear".into(), &6.2.into()));
    assert_eq!((&report["printed_differs"], &report["to_use"]), (&false.into(), &6.2.into()));
    assert!(report["purpose"].as_str().unwrap().contains("no check of a kit's row"));
    assert!(
        report["working"].as_array().unwrap().len() >= 4 && !report["sources"].as_array().unwrap().is_empty()
    );
    // A fraction, millimetres and a small letter read as well; the misprint is said.
    let metric = json(&["per-inch", "--table", "4-9", "--thickness", "0.8128 mm", "--fastener", ".125"]);
    assert_eq!(metric["per_inch"], report["per_inch"]);
    let out =
        faying(&["strength", "per-inch", "--table", "4-9", "--thickness", ".128", "--fastener", "an-3"]).out;
    assert!(out.contains("printed: 3.2, which disagrees; to use, the larger: 4.21"), "{out}");
    assert_eq!(
        json(&["per-inch", "--table", "4-9", "--thickness", "0.016", "--fastener", "3/32"])["governs"],
        "bearing"
    );
}

/// The examination question of four bolts: 7.16 kN on the two towards the load.
#[test]
fn a_group_with_negative_numbers() {
    let at = "40,30 -40,30 -40,-30 40,-30";
    let report = json(&["group", "--at", at, "--force", "0,-10", "--moment", "-1000"]);
    let fasteners = report["fasteners"].as_array().unwrap();
    let places: Vec<f64> = fasteners.iter().map(|it| it["x"].as_f64().unwrap()).collect();
    assert_eq!(places, [40.0, -40.0, -40.0, 40.0]);
    assert!((report["largest"].as_f64().unwrap() - 7.16).abs() <= 0.005);
    assert_eq!(report["largest_fastener"], 1);
    assert_eq!(fasteners[1]["fx"], 3.0);
    // A place that begins with a minus; no moment is none.
    let report = json(&["group", "--at", "-20,25 20,25", "--force", "-10,0"]);
    assert_eq!(report["fasteners"][1]["resultant"], 5.0);
    // A third number is a weight: three quarters go to the stiffer one.
    let report = json(&["group", "--at", "0,0,3 0,0,1", "--force", "8,0"]);
    assert_eq!(report["fasteners"][0]["fx"], 6.0);
}

#[test]
fn rows_in_line_share_a_load() {
    let report = json(&["share", "--rows", "3", "--ka", "216000", "--kb", "216000", "--flexibility", "2e-5"]);
    let shares: Vec<f64> =
        report["shares"].as_array().unwrap().iter().map(|it| it.as_f64().unwrap()).collect();
    // By hand, with c = C·k = 4.32 and F2 = 1 − 2·F1: c·F1 + F1 = 1 − F1 + c·F2, so F1 = (1 + c)/(2 + 3·c).
    let end = 5.32 / (2.0 + 3.0 * 4.32);
    for (share, by_hand) in shares.iter().zip([end, 1.0 - 2.0 * end, end]) {
        assert!((share - by_hand).abs() < 1e-12, "{shares:?}");
    }
    assert!((shares.iter().sum::<f64>() - 1.0).abs() < 1e-12);
    let each = json(&["share", "--rows", "3", "--ka", "1,1", "--kb", "1,1", "--flexibility", "1,1,1"]);
    assert!((each["shares"][1].as_f64().unwrap() - 0.2).abs() < 1e-12);
}

#[test]
fn flexibilities_by_formula() {
    let thick = ["--t1", "3", "--t2", "4", "--d", "6.35", "--e1", "72000", "--e2", "72000", "--ef", "200000"];
    let report = json(&[&["flexibility", "--formula", "h", "--kind", "bolted"], &thick[..]].concat());
    // Printed 1.928e-5 mm/N and, to the hundred, 51,900 N/mm.
    assert!((report["c"].as_f64().unwrap() - 1.928e-5).abs() <= 0.0005e-5);
    assert!((report["k"].as_f64().unwrap() - 51_900.0).abs() <= 50.0);
    assert!(report["note"].as_str().unwrap().contains("One printing has"));
    let line = ["--rows", "3", "--ka", "2e5", "--kb", "2e5"];
    let all = json(&[&["flexibility", "--formula", "all"], &thick[..], &line[..]].concat());
    let codes: Vec<&str> =
        all["formulas"].as_array().unwrap().iter().map(|it| it["formula"].as_str().unwrap()).collect();
    assert_eq!(codes, ["H", "S", "B", "G", "TR single"]);
    for band in all["spread"].as_array().unwrap() {
        assert!(band["least"].as_f64() < band["most"].as_f64());
    }
}

#[test]
fn a_hole_as_built_beside_as_planned() {
    let sheets = ["--sheet", "2024-T3, .040", "--sheet", "2024-T3, .050"];
    let asked = [&["hole", "--rivet", "MS20470AD4", "--edge", ".257", "--pitch", "1"], &sheets[..]].concat();
    let report = json(&asked);
    assert_eq!((&report["governs"], &report["deviation"]), (&"rivet-shear".into(), &Value::Null));
    assert!((report["lowest_lbf"].as_f64().unwrap() - 389.06).abs() <= 0.05);
    let empty = json(&[&asked[..], &["--built-empty", "--row", "5"]].concat());
    assert_eq!(
        (&empty["deviation"]["ratio"], &empty["deviation"]["row"]["taking_over"]),
        (&0.0.into(), &0.8.into())
    );
    let out = faying(&[&["strength"], &asked[..], &["--built-edge", ".15"]].concat()).out;
    assert!(out.contains("as built over as planned: no figure"), "{out}");
    assert!(out.contains("under 1.5 there is no bearing value: ask"), "{out}");
    assert!(out.contains("does not say that a part will do"), "{out}");
}

/// P38: 217 lb dimpled, 178 machine countersunk, as tabulated.
#[test]
fn p38_a_flush_joint_by_its_row() {
    let of = |preparation: &str, second: &str| {
        let sheet = format!("2024-T3, .032, {preparation}");
        let second = format!("2024-T3, .063, {second}");
        let asked = ["hole", "--rivet", "MS20426AD3", "--edge", ".25", "--sheet", &sheet, "--sheet", &second];
        json(&asked)["modes"][0]["ultimate_lbf"].clone()
    };
    assert_eq!((of("dimpled", "dimpled"), of("countersunk", "plain")), (217.0.into(), 178.0.into()));
}

#[test]
fn a_wrong_input_is_told_what_is_allowed() {
    assert_snapshot!(
        refused(&["per-inch", "--table", "4-8", "--thickness", ".032", "--fastener", "1/8"]),
        @r#"there is no table "4-8": write 4-9 (2014, 2024, 7075), 4-10 (2017, 2024 clad) or 4-11 (5052)"#
    );
    assert_snapshot!(
        refused(&["per-inch", "--table", "4-9", "--thickness", "thin", "--fastener", "1/8"]),
        @r#""thin" is not a length: write a fraction (3/32, 1 1/8), a decimal (.063) or millimetres (3.2 mm)"#
    );
    assert_snapshot!(
        refused(&["per-inch", "--table", "4-9", "--thickness", ".032", "--fastener", "AN-4"]),
        @"the tables have 3/32, 1/8, 5/32, 3/16, 1/4 and AN-3, and no AN-4"
    );
    assert_snapshot!(
        refused(&["group", "--at", "1,2 3", "--force", "0,1"]),
        @r#"--at: "3" is not a place: write x,y for each fastener, such as "40,30 -40,30""#
    );
    assert_snapshot!(
        refused(&["group", "--at", "1,2", "--force", "0"]),
        @r#"--force: "0" is not two numbers: write x,y such as 0,-10"#
    );
    assert_snapshot!(refused(&["group", "--at", " ", "--force", "0,1"]), @"a group needs at least one fastener");
    assert_snapshot!(
        refused(&["share", "--rows", "3", "--ka", "1,2,3", "--kb", "1", "--flexibility", "1"]),
        @"--ka: 3 numbers where 2 are needed, one for each stretch between two rows: or write one for all"
    );
    assert_snapshot!(
        refused(&["share", "--rows", "3", "--ka", "-1", "--kb", "1", "--flexibility", "1"]),
        @"the stiffness of a sheet must be a number over 0 (E·A/p, force over length)"
    );
    let joint = ["--t1", "1", "--t2", "1", "--d", "1", "--e1", "1", "--ef", "1"];
    assert_snapshot!(
        refused(&[&["flexibility", "--formula", "X"], &joint[..]].concat()),
        @r#"there is no formula "X": write one of H, S, B, G, TR single, TR double, or all"#
    );
    assert_snapshot!(
        refused(&["hole", "--rivet", "MS20470AD4", "--sheet", "2024-T3"]),
        @r#""2024-T3" is not a sheet: write alloy, thickness and preparation, such as "2024-T3, .032, plain""#
    );
}
