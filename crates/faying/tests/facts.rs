//! What documents and builders' practice say, asked of the program from outside.
//!
//! Limits: MIL-R-47196A as quoted, MIL-HDBK-5H 8.1.2, the rule of thumb as
//! quoted. Call-outs of practice and the worked example: the theory chapter,
//! where it says how each is known. The rooms have the same facts as tests of
//! their own; here they come through the command line, with its exit codes.

#![allow(clippy::unwrap_used, reason = "a test may fail")]

mod common;

use common::faying;
use serde_json::{Value, json};

fn judge(line: &str) -> (i32, Value) {
    let ended = faying(&format!("judge {line} --json"));
    (ended.code, ended.json())
}

fn callout(line: &str) -> (i32, Value) {
    let ended = faying(&format!("callout {line} --json"));
    (ended.code, ended.json())
}

fn candidate<'v>(report: &'v Value, dash: &str) -> &'v Value {
    report["candidates"].as_array().unwrap().iter().find(|it| it["dash"] == dash).unwrap()
}

/// A number as the document prints it, to so many places.
fn printed(value: &Value, places: i32) -> f64 {
    let scale = 10_f64.powi(places);
    (value.as_f64().unwrap() * scale).round() / scale
}

#[test]
fn a_head_inside_the_specification_and_outside_the_rule_of_thumb() {
    let (code, report) = judge("--rivet MS20470AD4 --diameter .175 --height .055");
    assert_eq!(code, 0);
    assert_eq!((&report["inside"], &report["action"]), (&json!(true), &json!("none")));
    let limits = &report["limits"];
    assert_eq!(limits["name"], "MIL-R-47196A");
    assert_eq!(
        [&limits["min_width_in"], &limits["min_height_in"], &limits["max_height_in"]],
        [&json!(0.163), &json!(0.05), &json!(0.07)]
    );
    assert_eq!(report["thumb_rule"]["inside"], false);
    let says = report["thumb_rule"]["says"].as_str().unwrap();
    assert!(says.contains(".1875 in") && says.contains(".0625 in"), "{says}");
    // Judged by the rule of thumb itself, the same head is a finding.
    let (code, report) = judge("--rivet MS20470AD4 --diameter .175 --height .055 --limits thumb");
    assert_eq!((code, &report["inside"]), (1, &json!(false)));
}

#[test]
fn an_overdriven_flush_head_can_only_be_replaced() {
    let (code, report) = judge("--rivet MS20426AD3 --diameter .170 --height .027 --seat lip");
    assert_eq!(code, 1);
    assert_eq!((&report["inside"], &report["action"]), (&json!(false), &json!("replace")));
    assert_eq!(report["resqueeze_band_in"], Value::Null);
    assert!(report["reasons"][0].as_str().unwrap().contains(".038 in"), "{report}");
    // The same head without its seat is not judged: from the flat or from the lip is not the same height.
    let (code, report) = judge("--rivet MS20426AD3 --diameter .140 --height .044");
    assert_eq!((code, &report["inside"], &report["action"]), (1, &Value::Null, &json!("ask")));
}

#[test]
fn half_a_measurement_is_not_judged() {
    for line in
        ["--rivet MS20470AD4 --diameter .175", "--rivet MS20470AD4 --height .058", "--rivet MS20470AD4"]
    {
        let (code, report) = judge(line);
        assert_eq!((code, &report["inside"], &report["action"]), (1, &Value::Null, &json!("ask")), "{line}");
        assert!(report["not_checked"].as_array().unwrap().len() > 1, "{line}");
    }
}

#[test]
fn a_head_too_high_may_be_squeezed_into_its_band() {
    let (code, report) = judge("--rivet MS20470AD4 --diameter .170 --height .080");
    assert_eq!((code, &report["inside"], &report["action"]), (1, &json!(false), &json!("squeeze")));
    let band = &report["resqueeze_band_in"];
    let [low, high] = [band[0].as_f64().unwrap(), band[1].as_f64().unwrap()];
    assert!(0.050 <= low && low < high && high <= 0.070, "{band}");
}

/// The words of a verdict: what was checked and what was not, never a blessing.
#[test]
fn no_verdict_approves() {
    for line in [
        "judge --rivet MS20470AD4 --diameter .175 --height .058",
        "judge --rivet MS20470AD4 --diameter .1 --height .1",
    ] {
        let text = faying(line).out;
        assert!(text.contains("not checked") || text.contains("Not checked"), "{text}");
        for word in text.split(|c: char| !c.is_alphanumeric()) {
            let word = word.to_lowercase();
            assert!(
                !["ok", "okay", "legal", "accepted", "approved", "airworthy", "pass"].contains(&&*word),
                "{word}"
            );
        }
    }
}

/// How known, in this order: memory, memory, a builder's trial seen, memory.
#[test]
fn call_outs_of_practice() {
    for (line, best) in [
        ("--stack .025,.032 --prep dimpled,dimpled --rivet MS20426AD3 --half", "-3.5"),
        ("--stack .032,.040 --prep dimpled,dimpled --rivet MS20426AD3 --half", "-4"),
        ("--stack .032,.032 --rivet MS20470AD4", "-4"),
        ("--stack .032,.040 --rivet MS20470AD4", "-4"),
    ] {
        let (code, report) = callout(line);
        assert_eq!((code, report["best"].as_str()), (0, Some(best)), "{line}");
    }
}

/// .063 + .040 + .040 with 1/8 universal: -5 stands, -4 is short, -6 folds. Figures as the chapter prints them.
#[test]
fn the_worked_example() {
    let stack = "--stack .063,.040,.040 --rivet MS20470AD4";
    let (code, report) = callout(&format!("{stack} --called -5"));
    assert_eq!((code, &report["called"], &report["best"]), (0, &json!("stands"), &json!("-5")));
    assert_eq!((&report["grip_in"], &report["seat_to_seat_in"]), (&json!(0.143), &json!(0.143)));
    let five = candidate(&report, "-5");
    assert_eq!(printed(&five["tail_d"], 2), 1.36);
    assert_eq!((printed(&five["head_at_mid_in"], 3), printed(&five["mid_height_in"], 3)), (0.205, 0.060));
    assert_eq!(printed(&five["head_at_mid_less_in"], 3), 0.189);
    assert_eq!(five["fold"], "none");

    let (code, report) = callout(&format!("{stack} --called -4"));
    assert_eq!((code, &report["called"]), (1, &json!("short")));
    let four = candidate(&report, "-4");
    assert_eq!(printed(&four["tail_d"], 2), 0.86);
    assert_eq!([&four["heights_in"], &four["p_height"]], [&Value::Null, &Value::Null]);

    let (code, report) = callout(&format!("{stack} --called -6"));
    assert_eq!((code, &report["called"]), (1, &json!("fold")));
    let six = candidate(&report, "-6");
    assert_eq!((printed(&six["tail_d"], 2), &six["fold"]), (1.86, &json!("refused")));
}

/// From 5/32 up only the handbook's least width and height are known: nothing to aim at the middle of.
#[test]
fn where_only_the_handbook_speaks_there_is_no_middle() {
    let (_, report) = callout("--stack .063,.063 --rivet MS20470AD5");
    assert_eq!(report["limits"]["name"], "MIL-HDBK-5H");
    // 1.3 d × .3 d of 5/32.
    assert_eq!(printed(&report["limits"]["min_width_in"], 4), 0.2031);
    assert_eq!(printed(&report["limits"]["min_height_in"], 4), 0.0469);
    assert_eq!(report["limits"]["max_height_in"], Value::Null);
    for it in report["candidates"].as_array().unwrap() {
        assert_eq!([&it["p_height"], &it["heights_in"], &it["head_at_mid_in"]], [&Value::Null; 3], "{it}");
        assert!(it["p_wide"].is_number());
    }
}
