//! Call-outs against the practice of builders, and their accounts of what went wrong.
//!
//! Practice: the method chapters 1 and 4; how each is known stands beside it.
//! Accounts (P..): the collection of builders' pains, each named by its id
//! there; dimensions that an account leaves out are supplied and said so.

#![allow(clippy::unwrap_used, reason = "a test may fail")]

use faying_joint::callout::{CallOut, CalledVerdict, Fold, Stock, call_out, limits_in_force, working};
use faying_joint::constants::Constants;
use faying_joint::seats::{HeadOn, Seats, Sheet, ShopSeat, seats};
use faying_plan::Preparation::{self, Countersunk, Dimpled, Plain};
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
