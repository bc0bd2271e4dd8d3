//! Verdicts against heads that builders wrote about.
//!
//! Accounts (P..): the collection of builders' pains, each named by its id
//! there. Limits: MIL-R-47196A as quoted, MIL-HDBK-5H 8.1.2, and the rule of
//! thumb of AC 43.13-1B as quoted.

#![allow(clippy::unwrap_used, reason = "a test may fail")]

use faying_joint::callout::limits_in_force;
use faying_joint::constants::Constants;
use faying_joint::judge::{Action, Defects, Measured, Verdict, judge, judge_every};
use faying_joint::ruling::Said;
use faying_joint::seats::ShopSeat;
use faying_plan::{BuildLimits, GaugeSize, HeadGauge};
use faying_standards::{Diameter, RivetType, figures, inches};

fn of(kind: &str, set: Option<&str>, measured: &Measured) -> Verdict {
    let kind = kind.parse().unwrap();
    let limits = limits_in_force(kind, set, &[]);
    judge(kind, measured, limits.as_ref(), &Constants::standard())
}

fn head(diameter: f64, height: f64) -> Measured {
    Measured { diameter: Some(inches(diameter)), height: Some(inches(height)), ..Measured::default() }
}

/// A head of .175 × .055 on 1/8 is inside MIL-R-47196A as quoted and outside the rule of thumb.
#[test]
fn the_specification_and_the_thumb_disagree() {
    let verdict = of("MS20470AD4", None, &head(0.175, 0.055));
    assert_eq!((verdict.limits.as_str(), verdict.inside), ("MIL-R-47196A", Some(true)));
    assert_eq!(verdict.action, Action::None);
    let thumb = verdict.thumb_rule.unwrap();
    assert_eq!(thumb.inside, Some(false));
    assert!(thumb.says.contains("the width of .175 in is under .1875 in"), "{}", thumb.says);
    assert!(thumb.says.contains("the height of .055 in is under .0625 in"), "{}", thumb.says);
    assert_eq!(of("MS20470AD4", Some("thumb"), &head(0.175, 0.055)).inside, Some(false));
    assert_eq!(of("MS20470AD4", None, &head(0.190, 0.064)).thumb_rule.unwrap().inside, Some(true));
}

/// P08: a gauge cut to .183 × .060 turns a head of .175 × .058 down that is .163 wide and more, .050 to .070 high.
#[test]
fn p08_a_gauge_rejects_what_the_specification_takes() {
    let kind: RivetType = "MS20470AD4".parse().unwrap();
    let size = GaugeSize { hole: Some(inches(0.183)), slot: Some(inches(0.060)) };
    let limits = BuildLimits {
        gauges: vec![HeadGauge { name: "plate".to_owned(), sizes: vec![(kind.diameter, size)] }],
        ..BuildLimits::default()
    };
    let judged = judge_every(kind, &head(0.175, 0.058), &limits, &Constants::standard());
    assert_eq!((judged.said, judged.close), (Said::Inside, false));
    assert_eq!((judged.rulings[0].rule.as_str(), judged.rulings[0].rules), ("MIL-R-47196A", true));
    let gauge = judged.rulings.iter().find(|it| it.rule == "gauge plate").unwrap();
    assert_eq!((gauge.said, gauge.rules, gauge.judges), (Said::Outside, false, false));
    assert!(gauge.words.contains("turned down as too small"), "{}", gauge.words);
    assert!(gauge.words.contains("turned down as too low"), "{}", gauge.words);
    let thumb = judged.rulings.iter().find(|it| it.rule == "thumb").unwrap();
    assert_eq!((thumb.said, thumb.rules), (Said::Outside, false));
    // The head of the account, .175 × .060, and what a gauge cut to the rule of thumb says of it.
    let verdict = of("MS20470AD4", None, &head(0.175, 0.060));
    assert_eq!((verdict.inside, verdict.close), (Some(true), false));
    assert_eq!(verdict.thumb_rule.unwrap().inside, Some(false));
}

/// P11: overset flush rivets, .170 × .025 to .030 where .122 and .038 to .050 are asked.
#[test]
fn p11_an_overdriven_flush_rivet() {
    for height in [0.025, 0.027, 0.030] {
        let measured = Measured { seat: Some(ShopSeat::Lip), ..head(0.170, height) };
        let verdict = of("MS20426AD3", None, &measured);
        assert_eq!((verdict.inside, verdict.action), (Some(false), Action::Replace));
        assert_eq!(verdict.resqueeze, None);
        assert!(verdict.reasons[0].contains("under the least height of .038 in"), "{}", verdict.reasons[0]);
        assert!(verdict.reasons.iter().any(|why| why.contains("overdriven")));
        assert!(verdict.reasons.iter().any(|why| why.contains("second rivet")));
    }
}

/// P07: cracked or tilted heads written up before closing; the designer advised leaving them.
#[test]
fn p07_cracks_and_tilt_are_asked_about() {
    let cracked = Defects { cracked: Some(true), ..Defects::NONE_SEEN };
    let tilted = Defects { tilted: Some(true), ..Defects::NONE_SEEN };
    for defects in [cracked, tilted] {
        let verdict = of("MS20470AD4", None, &Measured { defects, ..head(0.175, 0.058) });
        assert_eq!((verdict.inside, verdict.action, verdict.resqueeze), (None, Action::Ask, None));
        assert!(verdict.reasons.iter().any(|why| why.contains("designer")));
        let producer = verdict.sources.iter().any(|cited| cited.source == "producer-1941");
        assert_eq!(producer, defects == cracked);
    }
}

/// P46: flush heads milled down. A shop head says nothing of the other one, and the verdict says so.
#[test]
fn p46_a_shaved_head_is_not_checked() {
    let measured = Measured { seat: Some(ShopSeat::Lip), ..head(0.140, 0.044) };
    let verdict = of("MS20426AD3", None, &measured);
    assert_eq!(verdict.inside, Some(true));
    assert!(verdict.not_checked.iter().any(|what| what.contains("shaved")));
    assert!(verdict.reasons[0].contains("shaved"));
}

/// .175 without a height is not judged.
#[test]
fn half_a_measurement_is_not_judged() {
    for measured in [
        Measured { diameter: Some(inches(0.175)), ..Measured::default() },
        Measured { height: Some(inches(0.058)), ..Measured::default() },
    ] {
        let verdict = of("MS20470AD4", None, &measured);
        assert_eq!((verdict.inside, verdict.action, verdict.close), (None, Action::Ask, false));
        assert!(verdict.reasons[0].starts_with("Not judged"));
    }
}

/// The extrapolated rows for 5/32 and up never judge: nothing of MIL-R-47196A is in force there.
#[test]
fn extrapolated_rows_are_no_limits() {
    let set = figures().limit_set("MIL-R-47196A").unwrap();
    for dash in [5, 6, 8, 10, 12] {
        let diameter = Diameter::from_dash(dash).unwrap();
        let kind = RivetType { diameter, .."MS20470AD4".parse().unwrap() };
        assert_eq!(set.at(kind), None, "{diameter}");
        assert_eq!(limits_in_force(kind, None, &[]).unwrap().key, "MIL-HDBK-5H");
    }
    // 1.3 d × .3 d of 5/32 is .2031 × .0469.
    assert_eq!(of("MS20470AD5", None, &head(0.210, 0.050)).inside, Some(true));
    assert_eq!(of("MS20470AD5", None, &head(0.200, 0.050)).inside, Some(false));
    assert_eq!(of("MS20470AD5", None, &head(0.210, 0.045)).inside, Some(false));
}

/// 7050 asks 1.4 d (MIL-HDBK-5H 8.1.2).
#[test]
fn limits_depend_on_the_alloy() {
    assert_eq!(of("MS20470E5", None, &head(0.212, 0.060)).inside, Some(false));
    assert_eq!(of("MS20470AD5", None, &head(0.212, 0.060)).inside, Some(true));
}
