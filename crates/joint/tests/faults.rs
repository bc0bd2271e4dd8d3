//! What every rule says of a fault, and the way back from it.
//!
//! Limits are those of the reference tables as quoted there, typed here anew
//! and not taken from the tables of the program. A reading stands at, just
//! inside and just outside each; the caliper's own uncertainty marks what is
//! close (1.645 × .001 in) and turns no side. Messages are written from what
//! they are meant to say.

#![allow(clippy::unwrap_used, reason = "a test may fail")]

use std::collections::BTreeMap;
use std::fmt::Write as _;

use faying_joint::callout::limits_in_force;
use faying_joint::examine::{Aspect, At, FieldKind, Reading, Readings, examine, is_oversize, read};
use faying_joint::ruling::{Judgement, Said};
use faying_joint::seats::{HeadOn, Sheet, seats};
use faying_joint::side::HeadChoice;
use faying_joint::way_back::{Situation, Way, WayKind, next_larger, removal_steps, ways};
use faying_joint::{Constants, Joint};
use faying_plan::Preparation::{self, Countersunk, Dimpled, Plain};
use faying_plan::{BuildLimits, Side};
use faying_standards::{Cited, Dash, Diameter, Length, RivetType, figures, inches};
use proptest::prelude::*;

const UNIVERSAL: &str = "MS20470AD4";
const FLUSH: &str = "MS20426AD3";

/// A joint of these sheets, its manufactured head on the first.
fn joint(kind: &str, called: Option<&str>, sheets: &[(f64, Preparation)]) -> Joint {
    let rivet: RivetType = kind.parse().unwrap();
    let sheets: Vec<Sheet> = sheets
        .iter()
        .map(|&(thickness, preparation)| Sheet { thickness: inches(thickness), preparation })
        .collect();
    Joint {
        rivet,
        called: called.map(|text| Dash::read(text).unwrap()),
        layers: Vec::new(),
        head: HeadChoice { side: Side::Near, reasons: Vec::new(), contradicted: false },
        seats: seats(rivet, &sheets, HeadOn::First, None, &Constants::standard()),
        sheets,
        in_force: limits_in_force(rivet, None, &[]),
        call_out: None,
    }
}

fn lengths(readings: &[(&str, f64)]) -> Readings {
    readings.iter().map(|&(name, length)| (name.to_owned(), Reading::Length(inches(length)))).collect()
}

fn of(kind: &str, joint: Option<&Joint>, aspect: Aspect, readings: &Readings) -> Judgement {
    let limits = BuildLimits::default();
    let at = At { rivet: kind.parse().unwrap(), joint, limits: &limits };
    examine(aspect, readings, &at, &Constants::standard())
}

fn sized(kind: &str, aspect: Aspect, readings: &[(&str, f64)]) -> (Said, bool) {
    let judged = of(kind, None, aspect, &lengths(readings));
    (judged.said, judged.close)
}

fn said_of(judged: &Judgement, rule: &str) -> Said {
    judged.rulings.iter().find(|it| it.rule == rule).unwrap_or_else(|| panic!("{rule}: {judged:#?}")).said
}

/// A judgement as it is read: what rules is marked, what only is shown stands in brackets.
fn told(judged: &Judgement) -> String {
    let said = |said: Said| match said {
        Said::Inside => "inside",
        Said::Outside => "outside",
        Said::NotJudged => "not judged",
    };
    let mut text =
        format!("{}{}: {}\n", said(judged.said), if judged.close { ", close" } else { "" }, judged.why);
    for it in &judged.rulings {
        let mark = if it.rules { "> " } else { "- " };
        let lacks = if it.lacks.is_empty() { String::new() } else { format!(" [{}]", it.lacks) };
        let judges = if it.judges { "" } else { " (shown)" };
        writeln!(text, "{mark}{}{judges}: {} {}{lacks}", it.rule, said(it.said), it.words).unwrap();
    }
    for (words, _) in &judged.views {
        writeln!(text, "also: {words}").unwrap();
    }
    for (words, _) in &judged.cautions {
        writeln!(text, "not: {words}").unwrap();
    }
    for what in &judged.not_checked {
        writeln!(text, "not checked: {what}").unwrap();
    }
    text
}

// --- sizes ---

/// Table I of MIL-R-47196A as quoted: .093 to .103 for 3/32, before dimpling.
#[test]
fn a_hole_of_3_32_is_held_against_table_one() {
    let hole = |size| sized("MS20470AD3", Aspect::Hole, &[("diameter", size)]);
    for (size, said, close) in [
        (0.0929, Said::Outside, true),
        (0.0930, Said::Inside, true),
        (0.0946, Said::Inside, true),
        (0.0947, Said::Inside, false),
        (0.0980, Said::Inside, false),
        (0.1030, Said::Inside, true),
        (0.1031, Said::Outside, true),
        (0.1046, Said::Outside, true),
        (0.1047, Said::Outside, false),
        (0.0913, Said::Outside, false),
    ] {
        assert_eq!(hole(size), (said, close), "{size}");
    }
    insta::assert_snapshot!(told(&of("MS20470AD3", None, Aspect::Hole, &lengths(&[("diameter", 0.098)]))), @"
    inside: MIL-R-47196A rules: its band for 3/32 was seen, second-hand.
    > MIL-R-47196A, table I: inside It asks .093 to .103 in, before dimpling; .098 in is inside.
    - drill and its tolerance: inside #40 drills .098 in, and up to .101 in is taken for its tolerance; .098 in is inside.
    - MIL-HDBK-5, listed hole (shown): not judged Over .096 in, the hole that the handbook's shear values stand for: a larger hole earns nothing.
    ");
}

/// Every other size of table I is blank: the drill and its .003 rule, and the page says whose figure is missing.
/// Under its drill nothing is judged: a caliper reads a hole small, and a small one is drilled again.
#[test]
fn a_hole_of_another_size_is_held_against_its_drill() {
    let hole = |size| sized(UNIVERSAL, Aspect::Hole, &[("diameter", size)]);
    for (size, said, close) in [
        (0.1260, Said::NotJudged, false),
        (0.1284, Said::NotJudged, true),
        (0.1285, Said::Inside, false),
        (0.1315, Said::Inside, true),
        (0.1316, Said::Outside, true),
        (0.1332, Said::Outside, false),
    ] {
        assert_eq!(hole(size), (said, close), "{size}");
    }
    insta::assert_snapshot!(told(&of(UNIVERSAL, None, Aspect::Hole, &lengths(&[("diameter", 0.126)]))), @"
    not judged: The drill and its tolerance rule: no band of a finished hole was seen for 1/8. Enter it from your own copy of MIL-R-47196A, table I.
    > drill and its tolerance: not judged #30 drills .1285 in, and up to .1315 in is taken for its tolerance; .126 in is under the drill: run it through and read again.
    - MIL-HDBK-5, listed hole (shown): not judged Not over .1285 in, the hole that the handbook's shear values stand for.
    ");
    // 7/32 has neither a band nor a drill nor a listed hole; 5/16 a listed hole only.
    for kind in ["MS20470AD7", "MS20470AD10"] {
        let judged = of(kind, None, Aspect::Hole, &lengths(&[("diameter", 0.25)]));
        assert_eq!(judged.said, Said::NotJudged);
        assert!(judged.why.contains("neither a band nor a drill"), "{}", judged.why);
        assert!(judged.rulings.iter().all(|it| !it.judges));
    }
}

/// A fresh #40 hole that a builder dimpled took a drill of .104: nothing here calls that outside, whenever it was read.
#[test]
fn a_dimpled_hole_is_not_held_against_a_band_from_before() {
    let skin = joint(FLUSH, None, &[(0.025, Dimpled), (0.032, Dimpled)]);
    let plain = joint("MS20470AD3", None, &[(0.025, Plain), (0.032, Plain)]);
    let mut readings = lengths(&[("diameter", 0.104)]);
    assert_eq!(of(FLUSH, Some(&skin), Aspect::Hole, &readings).said, Said::NotJudged);
    assert_eq!(of("MS20470AD3", Some(&plain), Aspect::Hole, &readings).said, Said::Outside);
    readings.insert("when".into(), Reading::Word("drilled".into()));
    assert_eq!(of(FLUSH, Some(&skin), Aspect::Hole, &readings).said, Said::Outside);
    readings.insert("when".into(), Reading::Word("dimpled".into()));
    insta::assert_snapshot!(told(&of(FLUSH, Some(&skin), Aspect::Hole, &readings)), @"
    not judged: Not judged: after dimpling no band is known here; a hole is checked before. Ask the kit's designer.
    - MIL-R-47196A, table I: not judged It asks .093 to .103 in, before dimpling; this was measured after.
    - drill and its tolerance: not judged #40 drills .098 in, and up to .101 in is taken for its tolerance; this was measured after.
    - MIL-HDBK-5, listed hole (shown): not judged Over .096 in, the hole that the handbook's shear values stand for: a larger hole earns nothing.
    also: In a builder's test a drill of .104 in went through a hole, #40 then dimpled; .104 in is not more.
    ");
    // The builder's own die, from limits.toml, stands beside it.
    let limits = BuildLimits {
        dimpled_holes: vec![(Diameter::from_dash(3).unwrap(), inches(0.106))],
        ..Default::default()
    };
    let at = At { rivet: FLUSH.parse().unwrap(), joint: Some(&skin), limits: &limits };
    let judged = examine(Aspect::Hole, &readings, &at, &Constants::with(&limits));
    assert_eq!(judged.views[1].0, "Your own die leaves .106 in; .104 in is not more.");
}

/// A figure-eight hole counts as long as it is, and is inside nothing.
#[test]
fn a_figure_eight_hole_is_never_inside() {
    let eight = |readings: &[(&str, f64)]| of(UNIVERSAL, None, Aspect::FigureEight, &lengths(readings));
    assert_eq!(eight(&[("long", 0.142), ("wide", 0.1285)]).said, Said::Outside);
    // Typed the other way round it is the same hole.
    assert_eq!(eight(&[("long", 0.1285), ("wide", 0.142)]).said, Said::Outside);
    for readings in [&[("long", 0.130)][..], &[("wide", 0.1285)], &[("long", 0.120)], &[]] {
        let judged = eight(readings);
        assert_eq!(judged.said, Said::NotJudged, "{readings:?}");
        assert!(judged.rulings.iter().all(|it| !it.rules));
    }
    let narrow = eight(&[("wide", 0.1285)]);
    assert!(narrow.why.contains("that was not measured"), "{}", narrow.why);
    assert_eq!(narrow.not_checked, ["its length"]);
    // What it is wide already is enough to be outside.
    assert_eq!(eight(&[("wide", 0.140)]).said, Said::Outside);
}

/// Printed for 1/8: .222 to .228 wide; the head takes .042; knife edge and least sheet .050.
#[test]
fn a_countersink_is_held_against_all_that_is_known() {
    let sheet = joint("MS20426AD4", None, &[(0.063, Countersunk), (0.040, Plain)]);
    let sunk =
        |readings: &[(&str, f64)]| of("MS20426AD4", Some(&sheet), Aspect::Countersink, &lengths(readings));
    for (width, said, close) in [
        (0.2219, Said::Outside, true),
        (0.2220, Said::Inside, true),
        (0.2250, Said::Inside, false),
        (0.2280, Said::Inside, true),
        (0.2281, Said::Outside, true),
        (0.2300, Said::Outside, false),
    ] {
        let judged = sunk(&[("width", width)]);
        assert_eq!((judged.said, judged.close), (said, close), "{width}");
    }
    for (depth, said, close) in [
        (0.030, Said::Inside, false),
        (0.042, Said::Inside, true),
        (0.0421, Said::Outside, true),
        (0.044, Said::Outside, false),
    ] {
        let judged = sunk(&[("depth", depth)]);
        assert_eq!((judged.said, judged.close), (said, close), "{depth}");
    }
    insta::assert_snapshot!(told(&sunk(&[("width", 0.215), ("depth", 0.036)])), @"
    outside: What is said of TM 9-2320-363-34-2, width rules: it is outside, whatever else is inside.
    > TM 9-2320-363-34-2, width: outside It prints .222 to .228 in wide; .215 in is outside. It can be cut further. [printed for blind rivets with the same head]
    - the head's own depth: inside The head takes .042 in; .036 in is not deeper. Shallow costs no strength, deep does.
    - MIL-HDBK-5F, knife edge: inside It leaves .027 in of the sheet of .063 in. [quoted for 3/32 in .032 in only]
    - least sheet: inside Least sheet for a 100 degree machine countersink: .050 in; this sheet is .063 in.
    - land below the countersink (shown): inside A land of .008 in is asked below the cone; .027 in is left.
    - least sheet, otherwise (shown): inside Least sheet for a machine countersink: .050 in; this sheet is .063 in.
    - least sheet, otherwise (shown): inside Press countersink up to .051, never drill-countersink below it: .051 in; this sheet is .063 in.
    - least sheet, otherwise (shown): inside Dimple under .040, countersink from .040: .040 in; this sheet is .063 in.
    ");
    // A thick sheet says nothing of a countersink that nobody read.
    let unread = sunk(&[]);
    assert_eq!(unread.said, Said::NotJudged);
    assert_eq!(unread.why, "Not judged: neither width nor depth was measured.");
    assert_eq!(unread.not_checked, ["the width", "the depth"]);
    // On a protruding head there is none.
    let none = of(UNIVERSAL, None, Aspect::Countersink, &lengths(&[("width", 0.225)]));
    assert_eq!((none.said, none.rulings.len()), (Said::NotJudged, 0));
}

/// 3/32 in .040 is printed as enough: a flush countersink in it (.034) is inside, though a land of .008 is not left.
/// The same in .032 goes through.
#[test]
fn the_printed_least_sheet_is_not_turned_down_for_its_land() {
    let depth = lengths(&[("depth", 0.034)]);
    let forty = joint(FLUSH, None, &[(0.040, Countersunk), (0.040, Plain)]);
    let judged = of(FLUSH, Some(&forty), Aspect::Countersink, &depth);
    assert_eq!(judged.said, Said::Inside);
    assert_eq!(said_of(&judged, "land below the countersink"), Said::Outside);
    assert!(judged.rulings.iter().any(|it| it.words
        == "No width of a countersink was seen for 3/32 in; the head itself is .179 ± .004 in wide."));
    let thin = joint(FLUSH, None, &[(0.032, Countersunk), (0.040, Plain)]);
    let judged = of(FLUSH, Some(&thin), Aspect::Countersink, &depth);
    assert_eq!((judged.said, judged.rulings[0].rule.as_str()), (Said::Outside, "MIL-HDBK-5F, knife edge"));
    assert_eq!(said_of(&judged, "least sheet"), Said::Outside);
    // A sheet under the least one is a fault before anything is read.
    assert_eq!(of(FLUSH, Some(&thin), Aspect::Countersink, &Readings::new()).said, Said::Outside);
    // 1/16 has neither a width nor a least sheet: what is missing is said, and the depth alone judges.
    let small = joint("MS20426AD2", None, &[(0.040, Countersunk), (0.040, Plain)]);
    let judged = of("MS20426AD2", Some(&small), Aspect::Countersink, &lengths(&[("width", 0.114)]));
    assert_eq!(judged.said, Said::NotJudged);
    assert!(
        judged.rulings.iter().any(|it| it.words == "No least sheet for a countersink was seen for 1/16 in.")
    );
}

/// Under a skin of .032 the cone goes .305 × .032 = .0098 deeper and 2·tan 50° × .0098 = .0233 wider.
#[test]
fn a_countersink_under_a_dimpled_skin_is_deeper_and_wider() {
    let under = joint("MS20426AD4", None, &[(0.032, Dimpled), (0.063, Countersunk)]);
    let sunk =
        |readings: &[(&str, f64)]| of("MS20426AD4", Some(&under), Aspect::Countersink, &lengths(readings));
    for (readings, said) in [
        ([("width", 0.228)], Said::Inside),
        ([("width", 0.2512)], Said::Inside),
        ([("width", 0.2514)], Said::Outside),
        ([("depth", 0.0517)], Said::Inside),
        ([("depth", 0.0519)], Said::Outside),
    ] {
        assert_eq!(sunk(&readings).said, said, "{readings:?}");
    }
    let judged = sunk(&[("width", 0.245), ("depth", 0.050)]);
    // z0 + .305 t + land to the thousandth; the cone to the wall of the hole is .0405 deep.
    let least = judged.rulings.iter().find(|it| it.rule == "least sheet under a dimpled skin").unwrap();
    assert_eq!(least.words, "Least sheet, head, nesting and land together: .058 in; this sheet is .063 in.");
    let line =
        |name: &str| judged.working.figures().iter().find(|it| it.name == name).unwrap().result.clone();
    assert_eq!(line("depth that takes the head"), ".052 in");
    assert_eq!(line("widest countersink under a dimpled skin"), ".251 in");
}

/// AC 43.13-1B as quoted, 2 d: .250 for 1/8; 2.5 d for flush is from memory and stands beside it.
#[test]
fn edge_distance_stands_under_every_rule() {
    for (centre, said, close) in [
        (0.2483, Said::Outside, false),
        (0.2499, Said::Outside, true),
        (0.2500, Said::Inside, true),
        (0.2517, Said::Inside, false),
    ] {
        assert_eq!(sized(UNIVERSAL, Aspect::Edge, &[("centre", centre)]), (said, close), "{centre}");
    }
    // Rim .100 and half of .1285 are .164, 1.31 d.
    insta::assert_snapshot!(told(&of(UNIVERSAL, None, Aspect::Edge, &lengths(&[("rim", 0.100)]))), @"
    outside: AC 43.13-1B rules: it stands first in the standards. The plan itself may have its reasons.
    > AC 43.13-1B: outside At least 2 d, .250 in; .164 in, 1.31 d, is outside.
    - TM 10-5410-229-13P: outside At least 2 d, .250 in; .164 in, 1.31 d, is outside.
    ");
    let flush = of("MS20426AD4", None, Aspect::Edge, &lengths(&[("centre", 0.280)]));
    assert_eq!(flush.said, Said::Inside);
    assert!(
        flush.rulings.iter().any(|it| it.said == Said::Outside && it.words.starts_with("At least 2.5 d"))
    );
    // 3/32: .156 of MIL-R-47196A as quoted beside 2 d, .1875.
    let small = of("MS20470AD3", None, Aspect::Edge, &lengths(&[("centre", 0.160)]));
    assert_eq!((small.said, said_of(&small, "MIL-R-47196A")), (Said::Outside, Said::Inside));
    // Of a rim and a centre that disagree the smaller counts.
    assert_eq!(sized(UNIVERSAL, Aspect::Edge, &[("centre", 0.260), ("rim", 0.150)]).0, Said::Outside);
    let unread = of(UNIVERSAL, None, Aspect::Edge, &Readings::new());
    assert_eq!(
        (unread.said, unread.why.as_str()),
        (Said::NotJudged, "Not judged: the edge distance was not measured.")
    );
    assert_eq!(unread.rulings[0].words, "At least 2 d, .250 in.");
    // From the rim it takes a hole, and none is known of 7/32.
    let no_hole = of("MS20470AD7", None, Aspect::Edge, &lengths(&[("rim", 0.5)]));
    assert!(no_hole.why.contains("measure from its centre"), "{}", no_hole.why);
}

/// 3 d: .375 for 1/8.
#[test]
fn pitch_stands_under_every_rule() {
    for (centres, said, close) in [
        (0.3733, Said::Outside, false),
        (0.3749, Said::Outside, true),
        (0.3750, Said::Inside, true),
        (0.3767, Said::Inside, false),
    ] {
        assert_eq!(sized(UNIVERSAL, Aspect::Pitch, &[("centres", centres)]), (said, close), "{centres}");
    }
    assert_eq!(of(UNIVERSAL, None, Aspect::Pitch, &Readings::new()).said, Said::NotJudged);
}

/// .006 is quoted for 3/32 that is to be shaved: more is outside, less says nothing of a head that is not.
#[test]
fn a_proud_head_is_outside_beyond_what_may_be_shaved() {
    let flush = |readings: &[(&str, f64)]| of(FLUSH, None, Aspect::Flushness, &lengths(readings));
    for (proud, said, shaved, close) in [
        (0.004, Said::NotJudged, Said::Inside, false),
        (0.0060, Said::NotJudged, Said::Inside, false),
        (0.0061, Said::Outside, Said::Outside, true),
        (0.0080, Said::Outside, Said::Outside, false),
    ] {
        let judged = flush(&[("proud", proud)]);
        assert_eq!((judged.said, judged.close), (said, close), "{proud}");
        assert_eq!(said_of(&judged, "MIL-R-47196A, before shaving"), shaved);
    }
    insta::assert_snapshot!(told(&flush(&[("proud", 0.004)])), @"
    not judged: Not judged: a head that is not shaved stays a step, and no figure for that was seen. Ask the kit's designer.
    - MIL-R-47196A, before shaving: inside A head that is to be shaved may stand proud by .006 in before; .004 in is inside.
    - TM 1-1520-240-BD (shown): not judged No marked step above or below the skin; it has no figure for it.
    also: A film of primer in the countersink lifts a 100° head by 1.305 times the film, and leaves it .305 times the film proud where the outer face has the same coat.
    ");
    for readings in [&[("low", 0.020)][..], &[("proud", 0.004), ("low", 0.004)], &[("proud", 0.0)], &[]] {
        assert_eq!(flush(readings).said, Said::NotJudged, "{readings:?}");
    }
    // Other sizes were not seen.
    let other = of("MS20426AD4", None, Aspect::Flushness, &lengths(&[("proud", 0.020)]));
    assert_eq!(other.said, Said::NotJudged);
    assert!(other.why.contains("was seen for this size"), "{}", other.why);
    // A film of .001: .0013 and .0003.
    let limits = BuildLimits { film: Some(inches(0.001)), ..Default::default() };
    let at = At { rivet: FLUSH.parse().unwrap(), joint: None, limits: &limits };
    let judged = examine(Aspect::Flushness, &Readings::new(), &at, &Constants::with(&limits));
    assert!(judged.views[0].0.contains("by .0013 in, and leaves it .0003 in proud"), "{}", judged.views[0].0);
    assert_eq!(of(UNIVERSAL, None, Aspect::Flushness, &lengths(&[("proud", 0.02)])).said, Said::NotJudged);
}

// --- seen ---

fn cracks(count: Option<u32>, inside: Option<bool>, meet: Option<bool>) -> Judgement {
    let count = count.map(|it| ("count".to_owned(), Reading::Count(it)));
    let inside = inside.map(|it| ("inside".to_owned(), Reading::Yes(it)));
    let meet = meet.map(|it| ("meet".to_owned(), Reading::Yes(it)));
    of(UNIVERSAL, None, Aspect::Cracks, &count.into_iter().chain(inside).chain(meet).collect())
}

/// As quoted: inside 1.10 d, meeting, or five and more. What was not looked at is not taken for clear.
#[test]
fn cracks_are_counted_and_looked_at_wholly() {
    let (yes, no) = (Some(true), Some(false));
    for (count, inside, meet, said) in [
        (Some(4), no, no, Said::Inside),
        (Some(5), no, no, Said::Outside),
        (Some(1), yes, None, Said::Outside),
        (Some(2), no, yes, Said::Outside),
        (None, yes, None, Said::Outside),
        (Some(4), None, no, Said::NotJudged),
        (Some(4), no, None, Said::NotJudged),
        (None, no, no, Said::NotJudged),
        (None, None, None, Said::NotJudged),
        // One alone meets no other; none at all is nowhere.
        (Some(1), no, None, Said::Inside),
        (Some(0), None, None, Said::Inside),
    ] {
        assert_eq!(cracks(count, inside, meet).said, said, "{count:?} {inside:?} {meet:?}");
    }
    // 1.10 × .125 is .1375, told to the thousandth.
    insta::assert_snapshot!(told(&cracks(Some(3), Some(false), None)), @"
    not judged: MIL-R-47196A rules: the only rule here that counts cracks, as a builder quotes it.
    > MIL-R-47196A: not judged Rejected: inside a circle of 1.10 d (.138 in across) about the shank, where two meet, or from 5 on; that was not looked at wholly. [quoted without its heading, read as a list of rejections]
    - AC 43.13-1B: outside A finished rivet is straight, tight, not overdriven and free from cracks; this one has cracks.
    also: A producer's tests: ten heads from good to very poor were within 5 % of the strongest in tension, and a second rivet in a hole is likely worse than the first.
    also: A producer's book: badly cracked heads keep static strength, fatigue life and resistance to corrosion.
    not: Do not squeeze or drive it again: a head that is cracked, slanted or folded, or has a gap, is not brought back that way.
    not checked: whether two meet
    ");
    let none = cracks(Some(0), None, None);
    assert_eq!(said_of(&none, "AC 43.13-1B"), Said::Inside);
    assert!(none.not_checked.is_empty());
}

/// A quarter of .054 is .0135 on a protruding 1/8; a quarter of .067 is .01675 on 5/32, told as .0167.
#[test]
fn a_smile_is_held_against_a_quarter_of_the_head() {
    for (kind, depth, said, close) in [
        (UNIVERSAL, 0.0100, Said::Inside, false),
        (UNIVERSAL, 0.0135, Said::Inside, true),
        (UNIVERSAL, 0.0136, Said::Outside, true),
        (UNIVERSAL, 0.0160, Said::Outside, false),
        ("MS20470AD5", 0.0167, Said::Inside, true),
        ("MS20470AD5", 0.0168, Said::Outside, true),
        ("MS20426AD4", 0.0010, Said::Outside, false),
    ] {
        assert_eq!(sized(kind, Aspect::Smile, &[("depth", depth)]), (said, close), "{kind} {depth}");
    }
    insta::assert_snapshot!(told(&of(UNIVERSAL, None, Aspect::Smile, &Readings::new())), @"
    not judged: MIL-STD-403C rules: the only rule here for a tool mark, as a builder quotes it. Measure the depth of the mark.
    > MIL-STD-403C: not judged On a protruding head to 0.25 of its height: .0135 in of .054 in; the depth was not measured.
    also: Builders advised replacing one on a loaded hinge bracket all the same; that is the designer's decision.
    ");
    assert_eq!(of("MS20426AD4", None, Aspect::Smile, &Readings::new()).said, Said::Outside);
    // No head of 7/32 was seen.
    assert_eq!(sized("MS20470AD7", Aspect::Smile, &[("depth", 0.001)]).0, Said::NotJudged);
}

/// No figure was seen for these: whatever is read, nothing is judged, and somebody is to be asked.
#[test]
fn without_a_rule_nothing_is_judged() {
    for (aspect, readings) in [
        (Aspect::Tilt, vec![("high", 0.070), ("low", 0.040)]),
        (Aspect::Offset, vec![("most", 0.040), ("least", 0.0)]),
        (Aspect::Gap, vec![("gap", 0.010)]),
        (Aspect::Mark, vec![("depth", 0.020)]),
        (Aspect::MissingLayer, vec![]),
        (Aspect::WrongFeature, vec![]),
    ] {
        let judged = of(UNIVERSAL, None, aspect, &lengths(&readings));
        assert_eq!(judged.said, Said::NotJudged, "{aspect:?}");
        assert!(judged.rulings.iter().all(|it| !it.rules && !it.judges), "{aspect:?}");
        assert!(judged.why.contains("Ask the kit's designer"), "{}", judged.why);
    }
    for (aspect, one, other, words) in [
        (Aspect::Tilt, ("high", 0.062), ("low", 0.055), "Measured: .007 in from side to side."),
        (Aspect::Tilt, ("high", 0.055), ("low", 0.062), "Measured: .007 in from side to side."),
        (Aspect::Offset, ("most", 0.035), ("least", 0.021), "it stands .007 in beside the shank."),
        (Aspect::Offset, ("most", 0.021), ("least", 0.035), "it stands .007 in beside the shank."),
    ] {
        let judged = of(UNIVERSAL, None, aspect, &lengths(&[one, other]));
        assert!(judged.rulings[0].words.ends_with(words), "{}", judged.rulings[0].words);
    }
    // What no faulty head gets is said of every one of them.
    for aspect in [Aspect::Cracks, Aspect::Tilt, Aspect::Offset, Aspect::Clinched] {
        let judged = of(UNIVERSAL, None, aspect, &Readings::new());
        assert!(judged.cautions.iter().any(|(words, _)| words.contains("Do not squeeze")), "{aspect:?}");
    }
    let gap = of(UNIVERSAL, None, Aspect::Gap, &lengths(&[("gap", 0.001)]));
    assert!(gap.rulings[0].words.starts_with("A feeler of .002 in, of blind rivets only."), "{gap:#?}");
    assert!(gap.cautions[0].0.contains("not closed by striking again"));
}

/// One sentence without a figure, and one rule of a field manual: these two are outside by their name alone.
#[test]
fn a_folded_and_a_loose_rivet_are_outside() {
    for (aspect, rule) in [(Aspect::Clinched, "AC 43.13-1B"), (Aspect::Loose, "TM 1-1520-240-BD")] {
        let judged = of(UNIVERSAL, None, aspect, &Readings::new());
        assert_eq!((judged.said, judged.rulings[0].rule.as_str()), (Said::Outside, rule));
    }
}

/// Another length is reckoned, and what is reckoned rules nothing; another rivet is outside the plan.
#[test]
fn another_length_is_reckoned_and_another_rivet_is_not_the_plan() {
    let five = joint(UNIVERSAL, Some("-5"), &[(0.063, Plain), (0.040, Plain), (0.040, Plain)]);
    let went_in = |text: &str| {
        let readings = Readings::from([("fastener".into(), Reading::Word(text.into()))]);
        of(UNIVERSAL, Some(&five), Aspect::WrongLength, &readings)
    };
    // The worked example of the call-out: -4 has .86 d, -6 has 1.86 d.
    for text in ["MS20470AD4-4", "AN470AD4-4", "-4"] {
        let judged = went_in(text);
        assert_eq!((judged.said, judged.rulings[0].said), (Said::NotJudged, Said::Outside), "{text}");
        assert!(judged.rulings[0].words.contains(".163 in wide"), "{}", judged.rulings[0].words);
        assert_eq!(
            judged.why,
            "Not judged: as computed -4 is likely too short for MIL-R-47196A. Look for folds and measure the heads: \
             what is measured is judged, and the length is not the plan's, so ask. The plan calls -5."
        );
        assert!(judged.working.figures().iter().any(|it| it.name == "tail" && it.result.ends_with(".86 d")));
    }
    let long = went_in("-6");
    assert_eq!(long.said, Said::NotJudged);
    assert!(long.why.contains("-6 has a tail so long that it may have folded"), "{}", long.why);
    let half = went_in("-5.5");
    assert_eq!((half.said, half.rulings[0].said), (Said::NotJudged, Said::NotJudged));
    assert!(half.why.contains("can give a head inside MIL-R-47196A"), "{}", half.why);
    for (text, words) in [
        ("-5", "-5 is the length that the plan calls"),
        ("", "write what went in"),
        ("short ones", "write what went in"),
        ("MS20470AD4-99", "write what went in"),
    ] {
        let judged = went_in(text);
        assert_eq!(judged.said, Said::NotJudged, "{text}");
        assert!(judged.why.contains(words), "{text}: {}", judged.why);
    }
    for other in ["MS20470AD5-5", "MS20426AD4-5", "MS20470A4-5", "AN3-5A"] {
        let judged = went_in(other);
        assert_eq!(
            (judged.said, judged.rulings[0].rule.as_str()),
            (Said::Outside, "the plan's call-out"),
            "{other}"
        );
    }
    // A shop head that fills a countersink has no limits to be reckoned against.
    let double = joint(FLUSH, Some("-4"), &[(0.063, Countersunk), (0.063, Countersunk)]);
    let readings = Readings::from([("fastener".into(), Reading::Word("-3".into()))]);
    let judged = of(FLUSH, Some(&double), Aspect::WrongLength, &readings);
    assert!(judged.why.contains("-3 cannot be reckoned"), "{}", judged.why);
    assert_eq!(of(UNIVERSAL, None, Aspect::WrongLength, &readings).said, Said::NotJudged);
}

/// What counts as oversize for a repair limit: too large, never too small.
#[test]
fn a_small_hole_is_no_repair() {
    let limits = BuildLimits::default();
    let is = |kind: &str, aspect, readings: &[(&str, f64)]| {
        let at = At { rivet: kind.parse().unwrap(), joint: None, limits: &limits };
        is_oversize(aspect, &lengths(readings), &at, &Constants::standard())
    };
    assert!(is("MS20470AD3", Aspect::Hole, &[("diameter", 0.104)]));
    assert!(!is("MS20470AD3", Aspect::Hole, &[("diameter", 0.103)]));
    assert!(!is("MS20470AD3", Aspect::Hole, &[("diameter", 0.090)]));
    assert!(is(UNIVERSAL, Aspect::FigureEight, &[("long", 0.140)]));
    assert!(!is(UNIVERSAL, Aspect::FigureEight, &[("long", 0.130)]));
    assert!(is("MS20426AD4", Aspect::Countersink, &[("width", 0.230)]));
    assert!(is("MS20426AD4", Aspect::Countersink, &[("depth", 0.045)]));
    assert!(!is("MS20426AD4", Aspect::Countersink, &[("width", 0.215), ("depth", 0.035)]));
    assert!(!is("MS20470AD4", Aspect::Edge, &[("centre", 0.1)]));
}

// --- the way back ---

fn situation<'a>(kind: &str, limits: &'a BuildLimits) -> Situation<'a> {
    Situation {
        at: At { rivet: kind.parse().unwrap(), joint: None, limits },
        aspect: None,
        said: Said::Outside,
        head: None,
        defects: false,
        hole: None,
        edge: None,
        pitch: None,
        pattern: 24,
        oversize: 0,
        adjacent: 0,
        removals: 0,
    }
}

fn way(found: &[Way], kind: WayKind) -> Option<&Way> {
    found.iter().find(|way| way.kind == kind)
}

fn says(found: &[Way], kind: WayKind) -> String {
    let way = way(found, kind).unwrap();
    way.says.iter().map(|(words, _)| format!("{words}\n")).collect()
}

/// Constant volume by hand: .155² × .065 is .163² × .0588, so from .050 (least) to .058 rounded inwards.
#[test]
fn another_squeeze_only_where_a_band_is_left() {
    let limits = BuildLimits::default();
    let constants = Constants::standard();
    let head = |width, height| Some((inches(width), inches(height)));
    let small = Situation { head: head(0.155, 0.065), ..situation(UNIVERSAL, &limits) };
    let found = ways(&small, &constants);
    let more = way(&found, WayKind::SqueezeMore).unwrap();
    let (low, high) = more.squeeze_to.unwrap();
    assert_eq!(low, inches(0.050));
    assert!((high.inches() - 0.155 * 0.155 * 0.065 / (0.163 * 0.163)).abs() < 1e-6, "{}", high.inches());
    assert!(more.says.iter().any(|(words, _)| words.contains(".058")), "{:?}", more.says);
    // None for a defect, a head under its least height, one that is inside, one not judged, one without a size.
    for it in [
        Situation { defects: true, ..small },
        Situation { head: head(0.160, 0.045), ..small },
        Situation { said: Said::Inside, head: head(0.175, 0.058), ..small },
        Situation { said: Said::NotJudged, ..small },
        Situation { head: None, ..small },
        Situation { aspect: Some(Aspect::Cracks), ..small },
    ] {
        assert!(way(&ways(&it, &constants), WayKind::SqueezeMore).is_none(), "{it:?}");
    }
}

/// The count of earlier rivets and the warning stand before the hole; a dimpled hole is not called too large.
#[test]
fn a_replacement_says_how_often_and_warns() {
    let limits = BuildLimits::default();
    let constants = Constants::standard();
    let cracked = Situation { aspect: Some(Aspect::Cracks), removals: 2, ..situation(UNIVERSAL, &limits) };
    insta::assert_snapshot!(says(&ways(&cracked, &constants), WayKind::Replace), @"
    2 rivets were taken out of this hole already.
    A second rivet in a hole is likely worse than the first: replace one only for a reason.
    Read the hole once the rivet is out: over .1315 in, ask before another of the same size goes in.
    The new head is measured; until then it stands against the gate.
    ");
    let hole = |kind: &str, joint, size| {
        let it = Situation { hole: Some(inches(size)), ..situation(kind, &limits) };
        let at = At { joint, ..it.at };
        says(&ways(&Situation { at, aspect: Some(Aspect::Loose), ..it }, &constants), WayKind::Replace)
    };
    assert!(hole(UNIVERSAL, None, 0.1315).contains(".1315 in, not over .1315 in"));
    assert!(hole(UNIVERSAL, None, 0.1316).contains("over .1315 in: ask before a rivet of the same size"));
    let skin = joint(FLUSH, None, &[(0.025, Dimpled), (0.032, Dimpled)]);
    let dimpled = hole(FLUSH, Some(&skin), 0.104);
    assert!(dimpled.contains("of a dimpled one no band is known here"), "{dimpled}");
    assert!(!dimpled.contains("over .103"), "{dimpled}");
    // A rivet comes out for a hole, an edge, a mark in no case of its own; one inside is left.
    for aspect in [Aspect::Hole, Aspect::Edge, Aspect::Mark, Aspect::FigureEight, Aspect::WrongFeature] {
        let it = Situation { aspect: Some(aspect), ..situation(UNIVERSAL, &limits) };
        assert!(way(&ways(&it, &constants), WayKind::Replace).is_none(), "{aspect:?}");
    }
    let inside = Situation { said: Said::Inside, ..cracked };
    assert!(way(&ways(&inside, &constants), WayKind::Replace).is_none());
    // The layer and the plan's length go in first.
    let missing = Situation { aspect: Some(Aspect::MissingLayer), ..cracked };
    assert!(says(&ways(&missing, &constants), WayKind::Replace).contains("missing layer goes in first"));
    let five = joint(UNIVERSAL, Some("-5"), &[(0.063, Plain), (0.040, Plain), (0.040, Plain)]);
    let at = At { joint: Some(&five), ..cracked.at };
    let wrong = Situation { at, aspect: Some(Aspect::WrongLength), ..cracked };
    assert!(says(&ways(&wrong, &constants), WayKind::Replace).contains("own goes in, MS20470AD4-5, not"));
}

/// By hand: .250 is 2 d of 1/8 and 1.6 d of 5/32 (.15625), whose 2 d are .3125; .500 is 4 d and 3.2 d, and 3 d are
/// .46875; AN3 as paired there to .197: .250/.197 = 1.27, .500/.197 = 2.54.
#[test]
fn the_next_size_and_a_bolt_are_told_in_diameters() {
    let limits = BuildLimits::default();
    let it = Situation {
        aspect: Some(Aspect::FigureEight),
        hole: Some(inches(0.142)),
        edge: Some(inches(0.250)),
        pitch: Some(inches(0.500)),
        oversize: 3,
        ..situation(UNIVERSAL, &limits)
    };
    let found = ways(&it, &Constants::standard());
    insta::assert_snapshot!(says(&found, WayKind::NextSize), @"
    MS20470AD5 in a hole of #21, .159 in; .142 in, as this was read, opens to that.
    Edge distance .250 in: 2.00 d becomes 1.60 d, under .313 in (at least 2 d).
    Pitch .500 in: 4.00 d becomes 3.20 d, not under .469 in (at least 3 d).
    Of the 24 rivets of the row 4 would be oversize with this one; the limit is 4 (20 % or 10, whichever is less).
    ");
    insta::assert_snapshot!(says(&found, WayKind::Bolt), @"
    AN3 or AN23 for AD4 AD5 AD6: hole .191 to .197 in. A manual of one helicopter; columns read in printed order.
    Edge distance .250 in: 1.27 times the largest of such a hole.
    Pitch .500 in: 2.54 times the largest of such a hole.
    There a bolt takes the rivet's place where the edge distance is under 1.5 d, 2 d preferred.
    ");
    // None of the three is the builder's, whatever is wrong.
    for kind in [WayKind::NextSize, WayKind::Bolt, WayKind::Blind] {
        assert!(!way(&found, kind).unwrap().offered, "{kind:?}");
    }
    let past = Situation { hole: Some(inches(0.165)), edge: None, ..it };
    let past = says(&ways(&past, &Constants::standard()), WayKind::NextSize);
    assert!(past.contains(".165 in, as this was read, is past that already"), "{past}");
    assert!(past.contains("Edge distance: not known here."), "{past}");
    // The pairing is of AD rivets, and none is named for 3/32.
    for kind in ["MS20470AD3", "MS20470E5"] {
        let found = ways(&situation(kind, &limits), &Constants::standard());
        assert!(
            says(&found, WayKind::Bolt)
                .starts_with(&format!("No document read here names a bolt for {kind}."))
        );
    }
    let flush = says(&ways(&situation(FLUSH, &limits), &Constants::standard()), WayKind::NextSize);
    assert!(flush.contains("a countersink for 1/8 in takes a sheet of .050 in"), "{flush}");
}

/// 1/32 more up to and with 1/4 and 1/16 above it; there is no 9/32, so 1/4 goes to 5/16.
#[test]
fn next_sizes() {
    let next = |dash| next_larger(Diameter::from_dash(dash).unwrap()).map(Diameter::dash);
    for (dash, larger) in [
        (2, Some(3)),
        (3, Some(4)),
        (4, Some(5)),
        (5, Some(6)),
        (6, Some(7)),
        (7, Some(8)),
        (8, Some(10)),
        (10, Some(12)),
        (12, None),
    ] {
        assert_eq!(next(dash), larger, "{dash}");
    }
}

/// 20 % or 10, whichever is less, in whole rivets and this one counted; three side by side are more than two.
#[test]
fn repair_limits_by_hand() {
    let limits = BuildLimits::default();
    let of = |pattern, oversize, adjacent| {
        let it = Situation { pattern, oversize, adjacent, ..situation(UNIVERSAL, &limits) };
        says(&ways(&it, &Constants::standard()), WayKind::NextSize)
    };
    for (pattern, oversize, limit, over) in [
        (24, 3, 4, false),
        (24, 4, 4, true),
        (25, 4, 5, false),
        (29, 4, 5, false),
        (29, 5, 5, true),
        (50, 9, 10, false),
        (100, 9, 10, false),
        (100, 10, 10, true),
        (4, 0, 0, true),
        (5, 0, 1, false),
    ] {
        let text = of(pattern, oversize, 0);
        let tail = if over { "less): over it." } else { "less)." };
        let words = format!(
            "Of the {pattern} rivets of the row {} would be oversize with this one; the limit is {limit} (20 % or 10, whichever is {tail}",
            oversize + 1
        );
        assert!(text.contains(&words), "{text}\n{words}");
    }
    assert!(of(0, 0, 0).contains("How many rivets its pattern has is not known here"));
    assert!(!of(24, 2, 1).contains("side by side"));
    assert!(of(24, 2, 2).contains("With this one 3 oversize lie side by side; more than two need more"));
}

/// A removal drills the head and not the sheet; a thick stack, and one that is not known, has its own warning.
#[test]
fn a_rivet_is_taken_out_step_by_step() {
    let thin = joint(UNIVERSAL, None, &[(0.032, Plain), (0.032, Plain)]);
    let steps = removal_steps(UNIVERSAL.parse().unwrap(), Some(&thin));
    let text: String = steps.iter().map(|(words, _)| format!("{words}\n")).collect();
    insta::assert_snapshot!(text, @"
    Wear eye protection. Support the part behind the hole: what is not held bends.
    File or spot the manufactured head flat, and centre punch it in its middle.
    Drill the head only, no deeper than it is high (.054 in), with a drill not larger than the shank (.125 in; its hole is #30): the hole must not grow.
    Snap the head off with a pin punch of the drill's size, levered in its hole.
    Drive the shank out with a pin punch, the shop head's side held on a bar with a hole in it.
    Look at the hole and at every sheet round it, and read its size before anything else.
    ");
    let thick = |sheets| joint(UNIVERSAL, None, sheets);
    let warned = |joint: Option<&Joint>| {
        removal_steps(UNIVERSAL.parse().unwrap(), joint).iter().any(|(words, _)| words.contains("hammer-set"))
    };
    // From 2 d, .250, on.
    assert!(!warned(Some(&thick(&[(0.125, Plain), (0.124, Plain)]))));
    assert!(warned(Some(&thick(&[(0.125, Plain), (0.125, Plain)]))));
    assert!(warned(None));
}

// --- all of them ---

/// What a rule, a view, a way or a step cites is a known document, and a formula a heading of the theory.
fn check_cited(cited: &Cited) {
    assert!(figures().source(&cited.source).is_some(), "{} is no source", cited.source);
    if cited.source == "theory" {
        let theory = include_str!("../../../docs/theory.md").to_lowercase();
        assert!(theory.contains(&format!("\n## {}\n", cited.place)), "{} is no heading", cited.place);
    }
}

/// Words that would let a part pass, in any form a sentence might use.
fn check_words(text: &str) {
    for word in text.split(|c: char| !c.is_alphanumeric()) {
        let word = word.to_lowercase();
        let passes = [
            "ok",
            "okay",
            "legal",
            "safe",
            "safely",
            "airworthy",
            "satisfactory",
            "fine",
            "passes",
            "passed",
        ];
        let starts = ["accept", "approv", "permit", "certif"];
        assert!(!passes.contains(&word.as_str()), "{word} in: {text}");
        assert!(!starts.iter().any(|start| word.starts_with(start)), "{word} in: {text}");
    }
}

fn check_judgement(judged: &Judgement) {
    assert!(judged.rulings.iter().filter(|it| it.rules).count() <= 1);
    assert!(judged.rulings.iter().all(|it| it.judges || !it.rules));
    match judged.rulings.iter().find(|it| it.rules) {
        Some(ruling) => assert_eq!((judged.said, judged.close), (ruling.said, ruling.close)),
        None => assert_eq!((judged.said, judged.close), (Said::NotJudged, false)),
    }
    assert!(!judged.why.is_empty());
    check_words(&judged.why);
    for it in &judged.rulings {
        check_words(&it.words);
        check_words(&it.lacks);
        check_words(&it.rule);
        check_cited(&it.cited);
    }
    for (words, cited) in judged.views.iter().chain(&judged.cautions) {
        check_words(words);
        check_cited(cited);
    }
    judged.not_checked.iter().for_each(|words| check_words(words));
    for line in judged.working.figures() {
        check_cited(&line.source);
        check_words(&line.result);
    }
}

fn kinds() -> impl Strategy<Value = RivetType> {
    (prop::sample::select(vec!["MS20470", "MS20426"]), prop::sample::select(vec!["AD", "E", "A"]), 0..9_usize)
        .prop_map(|(head, alloy, size)| {
            format!("{head}{alloy}{}", Diameter::ALL[size].dash()).parse().unwrap()
        })
}

fn reading(kind: FieldKind) -> BoxedStrategy<Reading> {
    match kind {
        FieldKind::Length => {
            (0_i64..305_000_000).prop_map(|nm| Reading::Length(Length::from_nanometres(nm))).boxed()
        }
        FieldKind::Count => any::<u32>().prop_map(Reading::Count).boxed(),
        FieldKind::Yes => any::<bool>().prop_map(Reading::Yes).boxed(),
        FieldKind::Choice(words) => {
            prop::sample::select(words).prop_map(|(word, _)| Reading::Word(word.to_owned())).boxed()
        }
        FieldKind::Words => {
            prop_oneof![any::<String>(), "(MS20470|AN426|AN3|NAS1149)?(AD|A|E)?[0-9]{0,2}-?[0-9]{1,2}(\\.5)?"]
                .prop_map(Reading::Word)
                .boxed()
        }
    }
}

/// A reading for each field or none, now and then one of the wrong kind, as an old record may hold.
fn readings(aspect: Aspect) -> impl Strategy<Value = Readings> {
    let fields: Vec<_> = aspect
        .fields()
        .iter()
        .map(|field| {
            let any_kind = prop_oneof![
                8 => reading(field.kind),
                1 => Just(Reading::Count(3)),
                1 => Just(Reading::Word("yes".to_owned())),
            ];
            prop::option::of(any_kind).prop_map(move |it| it.map(|it| (field.name.to_owned(), it)))
        })
        .collect();
    fields.prop_map(|all| all.into_iter().flatten().collect())
}

fn stacks() -> impl Strategy<Value = Vec<(f64, Preparation)>> {
    let sheet = (0.010_f64..0.3, prop::sample::select(vec![Plain, Dimpled, Countersunk]));
    prop::collection::vec(sheet, 0..5)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(600))]

    /// Nothing that is read makes it panic, rule twice, cite what is not there or let a part pass; and inside takes
    /// a reading, as does close.
    #[test]
    fn no_judgement_approves(
        (aspect, readings) in prop::sample::select(Aspect::ALL.to_vec())
            .prop_flat_map(|aspect| readings(aspect).prop_map(move |it| (aspect, it))),
        rivet in kinds(), sheets in stacks(), known: bool, called in prop::option::of(2_u16..12),
    ) {
        let limits = BuildLimits::default();
        let called = called.map(|dash| format!("-{dash}"));
        let joint = (known && !sheets.is_empty()).then(|| joint(&rivet.to_string(), called.as_deref(), &sheets));
        let at = At { rivet, joint: joint.as_ref(), limits: &limits };
        let constants = Constants::standard();
        let judged = examine(aspect, &readings, &at, &constants);
        check_judgement(&judged);
        if readings.is_empty() {
            prop_assert!(judged.said != Said::Inside, "{:?}: {}", aspect, judged.why);
        }
        let oversize = is_oversize(aspect, &readings, &at, &constants);
        prop_assert!(!oversize || judged.said == Said::Outside);
    }

    /// Asking is always there; a squeeze never with a defect, and only to a lower head that still is high enough;
    /// the three that are the designer's are never offered; no sentence lets a part pass.
    #[test]
    fn no_way_approves(
        rivet in kinds(), sheets in stacks(), known: bool,
        aspect in prop::option::of(prop::sample::select(Aspect::ALL.to_vec())),
        said in prop::sample::select(vec![Said::Inside, Said::Outside, Said::NotJudged]),
        head in prop::option::of((0.0_f64..0.4, 0.0_f64..0.2)),
        sizes in prop::array::uniform3(prop::option::of(0.0_f64..2.0)),
        counts in prop::array::uniform4(0_usize..60), defects: bool,
    ) {
        let limits = BuildLimits::default();
        let joint = (known && !sheets.is_empty()).then(|| joint(&rivet.to_string(), None, &sheets));
        let [hole, edge, pitch] = sizes.map(|it| it.map(inches));
        let [pattern, oversize, adjacent, removals] = counts;
        let head = head.map(|(width, height)| (inches(width), inches(height)));
        let it = Situation {
            at: At { rivet, joint: joint.as_ref(), limits: &limits },
            aspect, said, head, defects, hole, edge, pitch, pattern, oversize, adjacent, removals,
        };
        let found = ways(&it, &Constants::standard());
        prop_assert!(way(&found, WayKind::Ask).unwrap().offered);
        for kind in [WayKind::NextSize, WayKind::Bolt, WayKind::Blind] {
            prop_assert!(!way(&found, kind).unwrap().offered);
        }
        if let Some(more) = way(&found, WayKind::SqueezeMore) {
            let (low, high) = more.squeeze_to.unwrap();
            prop_assert!(!defects && aspect.is_none() && said == Said::Outside);
            prop_assert!(low <= high && high <= head.unwrap().1);
        }
        if let Some(again) = way(&found, WayKind::Replace) {
            prop_assert!(said != Said::Inside);
            prop_assert!(again.says.iter().any(|(words, _)| words.contains("likely worse than the first")));
            prop_assert!(again.says[0].0.contains("taken out of this hole"));
        }
        for (words, cited) in found.iter().flat_map(|way| &way.says) {
            check_words(words);
            check_cited(cited);
        }
        for line in found.iter().flat_map(|way| way.working.figures()) {
            check_cited(&line.source);
        }
        for (words, cited) in &removal_steps(rivet, joint.as_ref()) {
            check_words(words);
            check_cited(cited);
        }
    }
}

/// What is typed is read field by field; a sentence names the field that cannot be.
#[test]
fn what_cannot_be_read_is_named() {
    let typed = |pairs: &[(&str, &str)]| -> BTreeMap<String, String> {
        pairs.iter().map(|&(name, text)| (name.to_owned(), text.to_owned())).collect()
    };
    let of = |aspect, pairs: &[(&str, &str)]| read(aspect, &typed(pairs));
    let half = of(Aspect::Edge, &[("rim", " .164 "), ("centre", "")]).unwrap();
    assert_eq!(half, lengths(&[("rim", 0.164)]));
    for (aspect, pairs, words) in [
        (Aspect::Hole, &[("when", "drilled")][..], "Diameter, in: nothing is written there yet"),
        (Aspect::Hole, &[("diameter", "13")], "Diameter, in: 13.000 in cannot be; write for example .012"),
        (
            Aspect::Hole,
            &[("diameter", ".1"), ("when", "later")],
            "Measured: \"later\" is none of drilled, dimpled",
        ),
        (Aspect::Cracks, &[("count", "some")], "How many: \"some\" is no count; write for example 2"),
        (Aspect::Cracks, &[("meet", "maybe")], "Two of them meet: \"maybe\" is neither yes nor no"),
    ] {
        assert_eq!(of(aspect, pairs).unwrap_err(), words);
    }
}
