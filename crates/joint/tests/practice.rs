//! Call-outs against the practice of builders, and their accounts of what went wrong.
//!
//! Practice: the method chapters 1 and 4; how each is known stands beside it.
//! Accounts (P..): the collection of builders' pains, each named by its id
//! there; dimensions that an account leaves out are supplied and said so.

#![allow(clippy::unwrap_used, reason = "a test may fail")]

use faying_joint::Joint;
use faying_joint::callout::{CallOut, CalledVerdict, Fold, Stock, call_out, limits_in_force, working};
use faying_joint::constants::Constants;
use faying_joint::examine::{Aspect, At, Reading, Readings, examine};
use faying_joint::ruling::{Judgement, Said};
use faying_joint::seats::{HeadOn, Seats, Sheet, ShopSeat, seats};
use faying_joint::side::HeadChoice;
use faying_joint::way_back::{Situation, Way, WayKind, removal_steps, ways};
use faying_plan::Preparation::{self, Countersunk, Dimpled, Plain};
use faying_plan::{BuildLimits, Side};
use faying_standards::{
    Dash, Diameter, Fastener, HeadStyle, Length, Rivet, RivetAlloy, RivetType, figures, inches,
};
use proptest::prelude::*;

fn stack(kind: &str, sheets: &[(f64, Preparation)]) -> Seats {
    let sheets: Vec<Sheet> = sheets
        .iter()
        .map(|&(thickness, preparation)| Sheet { thickness: inches(thickness), preparation })
        .collect();
    seats(kind.parse().unwrap(), &sheets, HeadOn::First, None, &Constants::standard()).unwrap()
}

fn of(seats: &Seats, called: Option<&str>, half: bool) -> CallOut {
    let limits = limits_in_force(seats.kind, None, &[]).unwrap();
    call_out(seats, &limits, called.map(dash), Stock { half, in_run: &[] }, &Constants::standard())
}

fn dash(text: &str) -> Dash {
    Dash::read(text).unwrap()
}

fn best(kind: &str, sheets: &[(f64, Preparation)], half: bool) -> Option<String> {
    of(&stack(kind, sheets), None, half).best.map(|dash| dash.to_string())
}

/// Whole and half sizes; how known: memory, memory, a builder's trial (seen), memory.
#[test]
fn call_outs_of_practice() {
    assert_eq!(best("MS20426AD3", &[(0.025, Dimpled), (0.032, Dimpled)], true).unwrap(), "-3.5");
    assert_eq!(best("MS20426AD3", &[(0.032, Dimpled), (0.040, Dimpled)], true).unwrap(), "-4");
    for half in [false, true] {
        assert_eq!(best("MS20470AD4", &[(0.032, Plain), (0.032, Plain)], half).unwrap(), "-4");
        assert_eq!(best("MS20470AD4", &[(0.032, Plain), (0.040, Plain)], half).unwrap(), "-4");
    }
}

/// The worked example of method 4, figures as printed there to the thousandth and the hundredth.
#[test]
fn the_worked_example() {
    let seats = stack("MS20470AD4", &[(0.063, Plain), (0.040, Plain), (0.040, Plain)]);
    assert_eq!(seats.seat_to_seat, inches(0.143));
    let thousandth = |length: Option<Length>| (length.unwrap().inches() * 1e3).round() / 1e3;
    let hundredth = |number: f64| (number * 1e2).round() / 1e2;

    let five = of(&seats, Some("-5"), false);
    assert_eq!((five.called, five.best), (Some(CalledVerdict::Stands), Some(dash("-5"))));
    assert_eq!(five.limits, "MIL-R-47196A");
    let candidate = five.candidate(dash("-5")).unwrap();
    assert_eq!(hundredth(candidate.tail_d), 1.36);
    assert_eq!(candidate.heights.unwrap().middle(), inches(0.060));
    assert_eq!(thousandth(candidate.head_at_mid), 0.205);
    assert_eq!(thousandth(candidate.head_at_mid_less), 0.189);
    assert_eq!(candidate.fold, Fold::None);

    let four = of(&seats, Some("-4"), false);
    assert_eq!((four.called, four.best), (Some(CalledVerdict::Short), Some(dash("-5"))));
    let candidate = four.candidate(dash("-4")).unwrap();
    assert_eq!(hundredth(candidate.tail_d), 0.86);
    assert_eq!((candidate.heights, candidate.p_height), (None, None));
    for figure in [".163 in wide", "below .058 in", "not above .049 in"] {
        assert!(four.why[0].contains(figure), "{}", four.why[0]);
    }

    let six = of(&seats, Some("-6"), false);
    assert_eq!((six.called, six.best), (Some(CalledVerdict::Fold), Some(dash("-5"))));
    assert_eq!(hundredth(six.candidate(dash("-6")).unwrap().tail_d), 1.86);
}

/// A tail of 1.5 d pressed to 1.5 d stands .667 d high, and pressed to .5 d it is 1.73 d wide; a head
/// of 1.5 d × .5 d takes 1.125 d, one of 1.3 d × .4 d takes .676 d (length_rule.csv, volume constancy).
#[test]
fn the_two_rules_of_thumb_are_not_one() {
    use faying_joint::head::{Bore, Metal};
    let d = 0.125;
    let bore = Bore { shank: inches(d), hole: inches(d), cylinder: inches(0.1), fill: 1.0 };
    let tail = |times: f64| Metal::of_tail(&bore, inches(times * d), 1.0);
    assert!((tail(1.5).height_at(inches(1.5 * d)).inches() / d - 2.0 / 3.0).abs() < 1e-6);
    assert!((tail(1.5).width_at(inches(0.5 * d)).inches() / d - 3_f64.sqrt()).abs() < 1e-6);
    for (wide, high, needs) in [(1.5, 0.5, 1.125), (1.3, 0.4, 0.676), (1.3, 0.3, 0.507), (1.25, 0.66, 1.031)]
    {
        let got = tail(needs).height_at(inches(wide * d)).inches() / d;
        assert!((got - high).abs() < 5e-4, "{wide} × {high}: {got}");
    }
}

/// What the hole swallows as a share of the grip: 9.3, 5.7, 3.6 and 3.8 % (length_rule.csv, printed to .1 %).
#[test]
fn a_thick_grip_swallows_tail() {
    use faying_joint::head::{Bore, Metal};
    for (dash, printed) in [(3, 9.3), (4, 5.7), (5, 3.6), (6, 3.8)] {
        let diameter = Diameter::from_dash(dash).unwrap();
        let hole = figures().usual_hole(diameter).unwrap().nominal.unwrap();
        let bore = Bore { shank: diameter.length(), hole, cylinder: inches(1.0), fill: 1.0 };
        let with = Metal::of_tail(&bore, inches(0.5), 1.0).volume();
        let without = Metal::of_tail(&Bore { fill: 0.0, ..bore }, inches(0.5), 1.0).volume();
        let share =
            100.0 * (without - with) / (std::f64::consts::FRAC_PI_4 * diameter.length().inches().powi(2));
        assert!((share - printed).abs() <= 0.05 + 1e-9, "{diameter}: {share}");
    }
}

/// From 5/32 up the handbook's minimum judges: no greatest height, so no middle and no P(height).
#[test]
fn without_a_greatest_height_the_page_says_so() {
    let found = of(&stack("MS20470AD5", &[(0.063, Plain), (0.063, Plain)]), None, false);
    assert_eq!(found.limits, "MIL-HDBK-5H");
    for candidate in &found.candidates {
        assert_eq!((candidate.heights, candidate.p_height, candidate.head_at_mid), (None, None, None));
    }
    assert!(found.why.iter().any(|why| why.contains("no greatest height")), "{:?}", found.why);
}

/// P02: the plan's -11 on a thick bracket leaves a small head. The account gives no grip; .538 in leaves
/// 1.2 d, of which the hole takes a quarter. Its answer: strong enough, and if it is replaced the next
/// length cut to a half size. Here: it stays, a coupon first.
#[test]
fn p02_a_thick_bracket_leaves_a_small_head() {
    let seats = stack("MS20470AD4", &[(0.188, Plain), (0.250, Plain), (0.0995, Plain)]);
    let called = of(&seats, Some("-11"), false);
    assert_eq!((called.called, called.best), (Some(CalledVerdict::Coupon), Some(dash("-11"))));
    assert!(called.why[0].contains("coupon"), "{}", called.why[0]);
    let free = of(&seats, None, false);
    assert_eq!(free.bracket, (Some(dash("-11")), Some(dash("-12"))));
    assert!((free.cut.inches() - dash("-11.5").length().inches()).abs() < 0.008);
    assert_eq!(of(&seats, None, true).best, Some(dash("-11.5")));
}

/// P05: a folded rivet. In .025 + .020 dimpled, a -4 of 3/32 has 1.86 d of tail.
#[test]
fn p05_a_length_that_folds_is_no_candidate() {
    let seats = stack("MS20426AD3", &[(0.025, Dimpled), (0.020, Dimpled)]);
    let found = of(&seats, Some("-4"), true);
    assert_eq!(found.called, Some(CalledVerdict::Fold));
    assert!(found.best.unwrap() < dash("-4"));
    assert!(found.why.iter().any(|why| why.contains("designer")));
}

/// P10: some thirty -4 set where -3.5 was called, 3/32. The answer: longer will do where it did not fold.
#[test]
fn p10_one_half_size_too_long() {
    let seats = stack("MS20426AD3", &[(0.025, Dimpled), (0.032, Dimpled)]);
    let called = of(&seats, Some("-3.5"), true);
    assert_eq!((called.called, called.best), (Some(CalledVerdict::Stands), Some(dash("-3.5"))));
    let found = of(&seats, Some("-4"), true);
    assert_eq!(found.called, Some(CalledVerdict::Stands));
    assert_eq!(found.candidate(dash("-4")).unwrap().fold, Fold::Caution);
    assert!(found.why[0].contains("may fold"), "{}", found.why[0]);
}

/// P13: AN470AD4-2 lies below the table and is a rivet all the same; in .024 in it is short.
#[test]
fn p13_a_length_below_the_table() {
    let read = Fastener::read("AN470AD4-2").unwrap();
    let Fastener::Solid { kind, dash: Some(two) } = read.fastener else { panic!("a solid rivet") };
    assert!(!read.notes.is_empty());
    let seats = stack(&kind.to_string(), &[(0.016, Plain), (0.016, Plain)]);
    let limits = limits_in_force(kind, Some("MIL-HDBK-5H"), &[]).unwrap();
    let found = call_out(&seats, &limits, Some(two), Stock::default(), &Constants::standard());
    assert!(!found.candidate(two).unwrap().listed);
    assert_eq!(found.called, Some(CalledVerdict::Stands));
    assert!(found.why.iter().any(|why| why.contains("below the table")), "{:?}", found.why);
}

/// P14: nutplate rivets one length too long look ugly. 3/32 flush, .032 + .040 dimpled: -4 is right, -5 folds.
#[test]
fn p14_one_length_too_long() {
    let seats = stack("MS20426AD3", &[(0.032, Dimpled), (0.040, Dimpled)]);
    assert_eq!(of(&seats, Some("-5"), false).called, Some(CalledVerdict::Fold));
    assert_eq!(of(&seats, Some("-4"), false).called, Some(CalledVerdict::Stands));
}

fn thin_countersink(kind: &str, sheets: &[(f64, Preparation)]) -> bool {
    stack(kind, sheets).notes.iter().any(|note| note.kind == "thin-countersink")
}

/// P28: least sheet for a 1/8 countersink quoted as .050.
#[test]
fn p28_least_sheet_for_an_eighth() {
    assert!(thin_countersink("MS20426AD4", &[(0.049, Countersunk), (0.063, Plain)]));
    assert!(!thin_countersink("MS20426AD4", &[(0.050, Countersunk), (0.063, Plain)]));
}

/// P37: dimpling grows the hole; the wider one is what the shank must fill.
#[test]
fn p37_dimpling_grows_the_hole() {
    let plain = stack("MS20426AD3", &[(0.040, Countersunk), (0.032, Plain)]);
    let dimpled = stack("MS20426AD3", &[(0.025, Dimpled), (0.032, Dimpled)]);
    assert!(dimpled.hole > plain.hole);
    assert_eq!(dimpled.shop_seat, ShopSeat::Lip);
}

/// P38 and P40: a countersink for 3/32 in .032 is noted (both figures in circulation are in the standards).
#[test]
fn p38_p40_a_thin_sheet_countersunk() {
    assert!(thin_countersink("MS20426AD3", &[(0.032, Countersunk), (0.040, Plain)]));
    assert!(!thin_countersink("MS20426AD3", &[(0.040, Countersunk), (0.040, Plain)]));
    let rows = figures().countersink_minima(Diameter::from_dash(3).unwrap());
    let figures: Vec<Length> = rows.filter_map(|row| row.least_sheet).collect();
    assert!(figures.contains(&inches(0.032)) && figures.contains(&inches(0.040)));
}

/// P41: under a dimpled skin the countersink goes deeper, so the sheet must be thicker than .040 and .050.
#[test]
fn p41_a_countersink_under_a_dimpled_skin() {
    assert!(thin_countersink("MS20426AD3", &[(0.025, Dimpled), (0.040, Countersunk)]));
    assert!(!thin_countersink("MS20426AD3", &[(0.025, Dimpled), (0.063, Countersunk)]));
}

/// P73: 2.4 mm is not 3/32, 3.2 mm is not 1/8: a metric sheet mixes exactly all the same.
#[test]
fn p73_metric_sheets_mix_with_inch_rivets() {
    let sheets = [
        Sheet { thickness: faying_standards::millimetres(0.8), preparation: Plain },
        Sheet { thickness: inches(0.032), preparation: Plain },
    ];
    let kind: RivetType = "MS20470AD4".parse().unwrap();
    let seats = seats(kind, &sheets, HeadOn::First, None, &Constants::standard()).unwrap();
    assert_eq!(seats.grip.nanometres(), 800_000 + 812_800);
    assert_eq!(of(&seats, None, false).best, Some(dash("-4")));
}

/// A whole rivet of the plan, read and weighed up, with its working.
#[test]
fn a_working_goes_with_every_figure() {
    let rivet: Rivet = "MS20426AD3-3.5".parse().unwrap();
    let seats = stack(&rivet.kind.to_string(), &[(0.025, Dimpled), (0.032, Dimpled)]);
    let limits = limits_in_force(rivet.kind, None, &[]).unwrap();
    let working = working(&seats, &limits, rivet.dash, &Constants::standard());
    let line = |name: &str| working.figures().iter().find(|line| line.name == name).unwrap();
    assert_eq!(line("lip").put_in, "(.179 − .105)/(2·tan 50°)");
    assert_eq!(line("lip").result, ".031 in");
    assert_eq!(line("tail").formula, "p = L − G");
    // A line that cites the theory chapter names a heading of it.
    let theory = include_str!("../../../docs/theory.md").to_lowercase();
    let cited: Vec<&str> = working
        .figures()
        .iter()
        .filter(|line| line.source.source == "theory")
        .map(|line| line.source.place.as_str())
        .collect();
    assert!(cited.len() > 5);
    for heading in cited {
        assert!(theory.contains(&format!("\n## {heading}\n")), "{heading}");
    }
}

proptest! {
    /// More grip never gives a shorter rivet, and less metal missing never a longer one.
    #[test]
    fn more_grip_is_never_a_shorter_rivet(first in 0.016_f64..0.19, second in 0.016_f64..0.19, more in 0.0_f64..0.05) {
        for kind in ["MS20470AD3", "MS20470AD4", "MS20470AD5"] {
            let length = |thickness: f64| of(&stack(kind, &[(thickness, Plain), (second, Plain)]), None, false).best;
            if let (Some(thin), Some(thick)) = (length(first), length(first + more)) {
                prop_assert!(thin <= thick, "{kind}: {thin} before {thick}");
            }
        }
    }

    /// Odds are odds, longer is never less likely wide, and whatever is proposed stands and does not fold.
    #[test]
    fn a_proposal_stands(thicknesses in proptest::collection::vec(0.016_f64..0.25, 1..5), dash_d in 2_u8..7, half: bool) {
        let kind = RivetType {
            head: HeadStyle::Universal, alloy: RivetAlloy::Ad, diameter: Diameter::from_dash(dash_d).unwrap(),
        };
        let sheets: Vec<(f64, Preparation)> = thicknesses.iter().map(|&t| (t, Plain)).collect();
        let found = of(&stack(&kind.to_string(), &sheets), None, half);
        for pair in found.candidates.windows(2) {
            prop_assert!(pair[0].p_wide <= pair[1].p_wide + 1e-12);
        }
        for candidate in &found.candidates {
            prop_assert!((0.0..=1.0).contains(&candidate.p_wide));
            prop_assert!(candidate.p_height.is_none_or(|p| (0.0..=1.0).contains(&p)));
        }
        if let Some(best) = found.best.and_then(|best| found.candidate(best)) {
            prop_assert!(best.p_wide >= 0.95 && best.fold != Fold::Refused);
        }
        // What is proposed, called by a plan, stays.
        if let Some(best) = found.best {
            let called = of(&stack(&kind.to_string(), &sheets), Some(&best.to_string()), half);
            prop_assert_eq!((called.best, called.called), (Some(best), Some(CalledVerdict::Stands)));
        }
    }
}

// --- accounts of faults: what the rules say of them, and the way back ---

fn at<'a>(kind: &str, joint: Option<&'a Joint>, limits: &'a BuildLimits) -> At<'a> {
    At { rivet: kind.parse().unwrap(), joint, limits }
}

fn joint(kind: &str, sheets: &[(f64, Preparation)]) -> Joint {
    let seats = stack(kind, sheets);
    Joint {
        rivet: seats.kind,
        called: None,
        layers: Vec::new(),
        sheets: seats.sheets.clone(),
        head: HeadChoice { side: Side::Near, reasons: Vec::new(), contradicted: false },
        in_force: limits_in_force(seats.kind, None, &[]),
        seats: Ok(seats),
        call_out: None,
    }
}

fn examined(kind: &str, joint: Option<&Joint>, aspect: Aspect, read: &[(&str, f64)]) -> Judgement {
    let read: Readings =
        read.iter().map(|&(name, length)| (name.to_owned(), Reading::Length(inches(length)))).collect();
    examine(aspect, &read, &at(kind, joint, &BuildLimits::default()), &Constants::standard())
}

fn situation<'a>(kind: &str, aspect: Aspect, said: Said, limits: &'a BuildLimits) -> Situation<'a> {
    Situation {
        at: at(kind, None, limits),
        aspect: Some(aspect),
        said,
        head: None,
        defects: false,
        hole: None,
        edge: None,
        pitch: None,
        pattern: 20,
        oversize: 0,
        adjacent: 0,
        removals: 0,
    }
}

fn has(found: &[Way], kind: WayKind, words: &str) -> bool {
    found
        .iter()
        .filter(|way| way.kind == kind)
        .flat_map(|way| &way.says)
        .any(|(text, _)| text.contains(words))
}

fn offered(found: &[Way]) -> Vec<WayKind> {
    found.iter().filter(|way| way.offered).map(|way| way.kind).collect()
}

/// P01: a crescent in the protruding head of a 1/8 rivet on a hinge bracket; to a quarter of the head's height is
/// quoted. Supplied: depths of .010 and .020. The thread advised replacing it all the same: told, and no verdict.
#[test]
fn p01_a_crescent_on_the_manufactured_head() {
    let shallow = examined("MS20470AD4", None, Aspect::Smile, &[("depth", 0.010)]);
    assert_eq!(shallow.said, Said::Inside);
    assert!(shallow.views.iter().any(|(words, _)| words.contains("hinge bracket")));
    assert_eq!(examined("MS20470AD4", None, Aspect::Smile, &[("depth", 0.020)]).said, Said::Outside);
    assert_eq!(examined("MS20426AD4", None, Aspect::Smile, &[("depth", 0.001)]).said, Said::Outside);
    let limits = BuildLimits::default();
    let left = ways(&situation("MS20470AD4", Aspect::Smile, Said::Inside, &limits), &Constants::standard());
    assert_eq!(offered(&left), [WayKind::Ask]);
    let deep = ways(&situation("MS20470AD4", Aspect::Smile, Said::Outside, &limits), &Constants::standard());
    assert_eq!(offered(&deep), [WayKind::Replace, WayKind::Ask]);
}

/// P04: the shank would not leave a thick stack, and drilling again and again left a funnel. Supplied: .438 in of
/// sheets. Its answer: the hole is not enlarged, so the same diameter; support, centre punch, a hammer-set tool.
#[test]
fn p04_a_shank_that_stays_in_a_thick_stack() {
    let thick = joint("MS20470AD4", &[(0.188, Plain), (0.250, Plain)]);
    let steps = removal_steps("MS20470AD4".parse().unwrap(), Some(&thick));
    let says = |words: &str| steps.iter().any(|(text, _)| text.contains(words));
    assert!(says("Support the part") && says("centre punch") && says("hammer-set") && says("funnel"));
    let limits = BuildLimits::default();
    let same = Situation {
        hole: Some(inches(0.1285)),
        ..situation("MS20470AD4", Aspect::Loose, Said::Outside, &limits)
    };
    let found = ways(&same, &Constants::standard());
    assert!(has(&found, WayKind::Replace, "not over .1315 in"));
}

/// P05: a folded rivet stretched a 3/32 hole, and the next one is likely to fold. Supplied: .112 in. Its answers, a
/// repair rivet with the smaller head and a backing piece, are named for the designer and not offered.
#[test]
fn p05_a_folded_rivet_stretched_its_hole() {
    let folded = examined("MS20426AD3", None, Aspect::Clinched, &[]);
    assert_eq!(folded.said, Said::Outside);
    assert!(folded.views.iter().any(|(words, _)| words.contains("likely to fold too")));
    let limits = BuildLimits::default();
    let it = Situation {
        hole: Some(inches(0.112)),
        ..situation("MS20426AD3", Aspect::Clinched, folded.said, &limits)
    };
    let found = ways(&it, &Constants::standard());
    assert_eq!(offered(&found), [WayKind::Replace, WayKind::Ask]);
    assert!(has(&found, WayKind::Replace, "over .103 in: ask before a rivet of the same size"));
    assert!(has(&found, WayKind::Replace, "likely to fold again"));
    assert!(has(&found, WayKind::NextSize, ".112 in, as this was read, opens to that"));
    assert!(has(&found, WayKind::NextSize, "repair rivet with the larger shank under the smaller head"));
}

/// P07: cracked heads written up before closing; the designer advised leaving them. Supplied: two cracks outside the
/// circle that do not meet, then two that do. The rule decides, and what producers found stands beside it.
#[test]
fn p07_cracked_heads_before_closing() {
    let cracks = |meet| {
        let read = Readings::from([
            ("count".into(), Reading::Count(2)),
            ("inside".into(), Reading::Yes(false)),
            ("meet".into(), Reading::Yes(meet)),
        ]);
        examine(
            Aspect::Cracks,
            &read,
            &at("MS20470AD4", None, &BuildLimits::default()),
            &Constants::standard(),
        )
    };
    assert_eq!((cracks(false).said, cracks(true).said), (Said::Inside, Said::Outside));
    assert!(cracks(true).views.iter().any(|(words, _)| words.contains("within 5 % of the strongest")));
    assert_eq!(examined("MS20470AD4", None, Aspect::Tilt, &[]).said, Said::NotJudged);
    let limits = BuildLimits::default();
    let found =
        ways(&situation("MS20470AD4", Aspect::Cracks, Said::Outside, &limits), &Constants::standard());
    assert_eq!(offered(&found), [WayKind::Replace, WayKind::Ask]);
    assert!(has(&found, WayKind::Replace, "likely worse than the first"));
}

/// P11: overset flush rivets of 3/32, .170 × .025 to .030, and holes of .120 once they were out, against .103. Supplied:
/// edge distance .300, eight in the row. Its answer: ream to #30, 1/8 in, the designer to confirm.
#[test]
fn p11_overset_rivets_and_grown_holes() {
    let limits = BuildLimits::default();
    let head = Situation {
        aspect: None,
        head: Some((inches(0.170), inches(0.027))),
        ..situation("MS20426AD3", Aspect::Hole, Said::Outside, &limits)
    };
    assert_eq!(offered(&ways(&head, &Constants::standard())), [WayKind::Replace, WayKind::Ask]);
    let grown = examined("MS20426AD3", None, Aspect::Hole, &[("diameter", 0.120)]);
    assert_eq!((grown.said, grown.close), (Said::Outside, false));
    assert!(grown.rulings[0].words.contains(".093 to .103 in"), "{}", grown.rulings[0].words);
    let it = Situation {
        hole: Some(inches(0.120)),
        edge: Some(inches(0.300)),
        pattern: 8,
        oversize: 7,
        adjacent: 7,
        ..situation("MS20426AD3", Aspect::Hole, grown.said, &limits)
    };
    let found = ways(&it, &Constants::standard());
    assert_eq!(offered(&found), [WayKind::Ask]);
    assert!(has(
        &found,
        WayKind::NextSize,
        "MS20426AD4 in a hole of #30, .1285 in; .120 in, as this was read, opens"
    ));
    // .300 is 3.20 d of 3/32 and 2.40 d of 1/8.
    assert!(has(&found, WayKind::NextSize, "3.20 d becomes 2.40 d, not under .250 in"));
    assert!(has(&found, WayKind::NextSize, "the limit is 1 (20 % or 10, whichever is less): over it"));
    assert!(has(&found, WayKind::NextSize, "8 oversize lie side by side"));
    // With the plan's dimpled sheets a hole read after dimpling has no band; .120 is told beside what was seen.
    let skin = joint("MS20426AD3", &[(0.025, Dimpled), (0.032, Dimpled)]);
    let after = examined("MS20426AD3", Some(&skin), Aspect::Hole, &[("diameter", 0.120)]);
    assert_eq!(after.said, Said::NotJudged);
    assert!(
        after.views[0]
            .0
            .ends_with("a drill of .104 in went through a hole, #40 then dimpled; .120 in is .016 in more."),
        "{}",
        after.views[0].0
    );
}

/// P28: some fifty holes of the wrong feature drilled to #30. Supplied: 3/32 planned, edge distance .240. Its answer: the
/// next size if the edge distance holds, and that counts from the hole's centre, countersunk or not.
#[test]
fn p28_holes_of_the_wrong_feature() {
    let wrong = examined("MS20426AD3", None, Aspect::WrongFeature, &[]);
    assert_eq!(wrong.said, Said::NotJudged);
    assert!(wrong.views[0].0.contains("from the centre of the hole"), "{}", wrong.views[0].0);
    let limits = BuildLimits::default();
    let it = Situation {
        hole: Some(inches(0.1285)),
        edge: Some(inches(0.240)),
        pattern: 50,
        oversize: 49,
        ..situation("MS20426AD3", Aspect::WrongFeature, wrong.said, &limits)
    };
    let found = ways(&it, &Constants::standard());
    assert_eq!(offered(&found), [WayKind::Ask]);
    // .240 is 2.56 d of 3/32 and 1.92 d of 1/8.
    assert!(has(&found, WayKind::NextSize, "2.56 d becomes 1.92 d, under .250 in"));
    assert!(has(&found, WayKind::NextSize, "takes a sheet of .050 in"));
    assert!(has(&found, WayKind::NextSize, "50 would be oversize with this one; the limit is 10"));
}

/// P29: two holes countersunk on the wrong spar. Its answer: harmless, they are opened later; the designer was asked.
/// Nothing here judges that, and asking is the one way.
#[test]
fn p29_countersunk_at_the_wrong_place() {
    let wrong = examined("MS20470AD4", None, Aspect::WrongFeature, &[]);
    assert_eq!(wrong.said, Said::NotJudged);
    assert!(wrong.why.contains("departs from the plan") && wrong.why.contains("Ask"), "{}", wrong.why);
    let limits = BuildLimits::default();
    let found =
        ways(&situation("MS20470AD4", Aspect::WrongFeature, wrong.said, &limits), &Constants::standard());
    assert_eq!(offered(&found), [WayKind::Ask]);
    // Where the plan has no countersink, a reading of one is not judged.
    assert_eq!(examined("MS20470AD4", None, Aspect::Countersink, &[("width", 0.225)]).said, Said::NotJudged);
}

/// P31: a hole came out 1 d from a flange's edge, 2 d wanted. Supplied: 1/8, so .125. The designer left it there.
#[test]
fn p31_a_hole_one_diameter_from_the_edge() {
    let short = examined("MS20470AD4", None, Aspect::Edge, &[("centre", 0.125)]);
    assert_eq!((short.said, short.close), (Said::Outside, false));
    assert!(short.rulings.iter().all(|it| it.said == Said::Outside));
    assert!(short.rulings[0].words.contains(".125 in, 1.00 d"), "{}", short.rulings[0].words);
    let limits = BuildLimits::default();
    let it =
        Situation { edge: Some(inches(0.125)), ..situation("MS20470AD4", Aspect::Edge, short.said, &limits) };
    let found = ways(&it, &Constants::standard());
    assert_eq!(offered(&found), [WayKind::Ask]);
    assert!(has(&found, WayKind::NextSize, "1.00 d becomes 0.80 d"));
    assert!(has(&found, WayKind::Bolt, "under 1.5 d, 2 d preferred"));
}

/// P32: the holes of a later splice angle crowd old ones. Supplied: 1/8, .280 from centre to centre, under 3 d.
#[test]
fn p32_two_holes_crowd_old_ones() {
    let near = examined("MS20470AD4", None, Aspect::Pitch, &[("centres", 0.280)]);
    assert_eq!(near.said, Said::Outside);
    assert!(
        near.rulings[0].words.contains("At least 3 d, .375 in; .280 in, 2.24 d"),
        "{}",
        near.rulings[0].words
    );
}

/// P34: at a spar's attach hole 2 d and the incidence do not both fit. Supplied: as a rivet of 1/4, edge distance .460.
/// This room knows rivets only: the attach bolt, and the incidence, are not in it.
#[test]
fn p34_two_diameters_at_an_attach_hole() {
    let short = examined("MS20470AD8", None, Aspect::Edge, &[("centre", 0.460)]);
    assert_eq!(short.said, Said::Outside);
    assert!(
        short.rulings[0].words.contains("At least 2 d, .500 in; .460 in, 1.84 d"),
        "{}",
        short.rulings[0].words
    );
}

/// P37: dimpling grows the hole. What is read after it is held against nothing, and the page says to read before.
#[test]
fn p37_a_hole_read_after_dimpling() {
    let skin = joint("MS20426AD3", &[(0.025, Dimpled), (0.032, Dimpled)]);
    let grown = examined("MS20426AD3", Some(&skin), Aspect::Hole, &[("diameter", 0.104)]);
    assert_eq!(grown.said, Said::NotJudged);
    assert!(grown.why.contains("say whether it was measured before or after"), "{}", grown.why);
}

/// P38, P40: 3/32 countersunk in .032 and in .040, with both figures in circulation side by side.
#[test]
fn p38_p40_both_least_sheets_stand_side_by_side() {
    let of = |thickness| {
        let sheets = joint("MS20426AD3", &[(thickness, Countersunk), (0.040, Plain)]);
        examined("MS20426AD3", Some(&sheets), Aspect::Countersink, &[("depth", 0.034)])
    };
    let (thin, forty) = (of(0.032), of(0.040));
    assert_eq!((thin.said, forty.said), (Said::Outside, Said::Inside));
    assert_eq!(thin.rulings[0].rule, "MIL-HDBK-5F, knife edge");
    let figure = |judged: &Judgement, words: &str| judged.rulings.iter().any(|it| it.words.contains(words));
    assert!(
        figure(&thin, "countersink: .032 in; this sheet is .032 in") && figure(&thin, "countersink: .040 in")
    );
}

/// P41: under a skin of .025 a 3/32 countersink may be .0076 deeper than .036; shallow costs nothing, deep does.
#[test]
fn p41_the_depth_under_a_dimpled_skin() {
    let sheets = joint("MS20426AD3", &[(0.025, Dimpled), (0.063, Countersunk)]);
    let depth = |depth| examined("MS20426AD3", Some(&sheets), Aspect::Countersink, &[("depth", depth)]);
    for (deep, said) in
        [(0.030, Said::Inside), (0.043, Said::Inside), (0.044, Said::Outside), (0.047, Said::Outside)]
    {
        assert_eq!(depth(deep).said, said, "{deep}");
    }
    assert!(depth(0.047).rulings[0].words.contains("Shallow costs no strength, deep does"));
}

/// P43: countersinks cut by trial, too small, that could still be cut further because they were shallow. The account is
/// of screws, which this room does not know; supplied: a 1/8 rivet, .205 wide against .222.
#[test]
fn p43_a_countersink_cut_too_small() {
    let small = examined("MS20426AD4", None, Aspect::Countersink, &[("width", 0.205)]);
    assert_eq!(small.said, Said::Outside);
    assert!(small.rulings[0].words.ends_with("It can be cut further."), "{}", small.rulings[0].words);
    let limits = BuildLimits::default();
    let found =
        ways(&situation("MS20426AD4", Aspect::Countersink, small.said, &limits), &Constants::standard());
    assert!(!offered(&found).contains(&WayKind::Replace));
}

/// P67: how deep is too deep on clad sheet. Supplied: .003 in .032. No rule was found: the 10 % that is quoted is for
/// tubing, the clad layer about 5 %, place and direction decide.
#[test]
fn p67_a_mark_on_clad_sheet() {
    let skin = joint("MS20470AD4", &[(0.032, Plain), (0.032, Plain)]);
    let mark = examined("MS20470AD4", Some(&skin), Aspect::Mark, &[("depth", 0.003)]);
    assert_eq!(mark.said, Said::NotJudged);
    assert!(mark.why.contains("place and direction decide"), "{}", mark.why);
    let view = |words: &str| mark.views.iter().any(|(text, _)| text.contains(words));
    assert!(
        view("about .0016 in deep; this mark of .003 in is deeper, and 9 % of the sheet"),
        "{:?}",
        mark.views
    );
    assert!(view("one for tubing") && view("deburring"));
    assert!(mark.cautions[0].0.contains("blended") && mark.cautions[0].0.contains("ask first"));
    // The cladding is half as thick, as a share, from .063 on: .0016 in .063 too.
    let thick = joint("MS20470AD4", &[(0.063, Plain), (0.063, Plain)]);
    let mark = examined("MS20470AD4", Some(&thick), Aspect::Mark, &[]);
    assert!(mark.views[0].0.ends_with("its cladding is about .0016 in deep."), "{}", mark.views[0].0);
}
