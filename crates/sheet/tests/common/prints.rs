//! Prints of the demo kit, as realistic as a plan without a record allows.
//!
//! What a bench would compute (heights, minutes, turns) is made up here and
//! stands for the look only; it is no advice on a joint.
#![allow(dead_code, reason = "each test file uses its part")]

use std::collections::BTreeMap;

use faying_plan::{HoleId, Plan, Side};
use faying_sheet::card::{Aim, Card, Line, MapHole, OpenHoles, Pick, SetUp, Totals, map};
use faying_sheet::full_size::{self, FullSize, FullSizeHole};
use faying_sheet::label::{Label, Labels};
use faying_sheet::{Date, Document, Paper};

use super::common::{plan_of, plane_named};

pub const ADDRESS: &str = "http://bench.local:4780/run/wing-left/spar";

pub fn day() -> Date {
    Date { year: 2026, month: 5, day: 12 }
}

/// The demo kit's drawn assemblies that need no other.
pub fn kit() -> Plan {
    plan_of(&[
        include_str!("../../../../plans/teasel/wing-left.toml"),
        include_str!("../../../../plans/teasel/bellcrank.toml"),
        include_str!("../../../../plans/teasel/flap-left.toml"),
        include_str!("../../../../plans/teasel/aileron-left.toml"),
    ])
}

/// Rows of the main spar by set-up; what is in none stays open.
const SPAR: [(u32, &[&str]); 4] =
    [(1, &["A", "B", "C", "D"]), (2, &["E", "F", "G", "H"]), (3, &["J"]), (4, &["K"])];

fn set_up_of(plan: &Plan, hole: HoleId) -> Option<u32> {
    let row = plan[plan[hole].row].name.as_str();
    SPAR.iter().find(|(_, rows)| rows.contains(&row)).map(|(number, _)| *number)
}

/// The card of the kit's main spar.
pub fn card(plan: &Plan, paper: Paper) -> Card {
    let spar = plane_named(plan, "wing-left", "spar");
    let hole = |id: HoleId| set_up_of(plan, id).map_or(MapHole::Open, MapHole::SetUp);
    let mut counts = BTreeMap::<u32, u32>::new();
    for row in &plan[spar].rows {
        for id in plan[*row].hole_ids() {
            *counts.entry(set_up_of(plan, id).unwrap_or(0)).or_default() += 1;
        }
    }
    let line = |words: &str, changed: bool| Line { words: words.to_owned(), changed };
    let aim = |aim: &str, limits: &str| Aim { aim: aim.to_owned(), limits: limits.to_owned() };
    let names = |row: &str, numbers: &[u32]| numbers.iter().map(|n| format!("{row} {n}")).collect::<Vec<_>>();
    let set_up = |number: u32, fastener: &str| SetUp {
        number,
        fastener: fastener.to_owned(),
        holes: counts.get(&number).copied().unwrap_or(0),
        head_side: "aft".to_owned(),
        ..SetUp::default()
    };
    let set_ups = vec![
        SetUp {
            tool: line("Gun and bar, 4X", true),
            dies: line("Set -6 universal", true),
            setting: line("Air at 60 psi, two short bursts on scrap first", true),
            face_up: line("aft", true),
            rows: "spar A 1 to 6, B 1 to 6, C 1 to 6, D 1 to 6".to_owned(),
            height: aim(".094 in", ".080 to .103"),
            width: aim(".281 in", ".253 to .291"),
            coupon: ".063 + .040 + .125, two rivets".to_owned(),
            bag_check: "dimple on the head; three lengths 1/2 in".to_owned(),
            first: names("A", &[1, 2, 3]),
            one_in: Some(8),
            then: ["B 5", "D 1"].map(str::to_owned).to_vec(),
            notes: vec!["Second person on the bar; the first rivets are looked at from outside.".to_owned()],
            ..set_up(1, "MS20470AD6-8")
        },
        SetUp {
            tool: line("Gun and bar, 4X", false),
            dies: line("Set -6 universal", false),
            setting: line("Air at 60 psi", false),
            face_up: line("aft", false),
            rows: "spar E 1 to 18, F 1 to 17, G 1 to 18, H 1 to 17".to_owned(),
            height: aim(".094 in", ".080 to .103"),
            width: aim(".281 in", ".253 to .291"),
            coupon: ".040 + .125, two rivets".to_owned(),
            bag_check: "dimple on the head; three lengths 7/16 in".to_owned(),
            first: names("E", &[1, 2, 3]),
            one_in: Some(10),
            then: ["E 11", "F 3", "F 13", "G 6", "G 16", "H 8"].map(str::to_owned).to_vec(),
            ..set_up(2, "MS20470AD6-7")
        },
        SetUp {
            tool: line("Pneumatic squeezer", true),
            yoke: line("Longeron, 3 in", true),
            dies: line("-5 cupped, flat", true),
            setting: line("Open by .018 in: 3/8 turn out", true),
            face_up: line("forward", true),
            rows: "spar J 1, J 2".to_owned(),
            height: aim(".078 in", ".067 to .086"),
            width: aim(".234 in", ".211 to .242"),
            coupon: ".063 + .040 + .063, two rivets".to_owned(),
            bag_check: "dimple on the head; three lengths 3/8 in".to_owned(),
            first: names("J", &[1, 2]),
            ..set_up(3, "MS20470AD5-6")
        },
        SetUp {
            tool: line("Pneumatic squeezer", false),
            yoke: line("Longeron, 3 in", false),
            dies: line("-5 cupped, flat", false),
            setting: line("Close by .063 in: 1 1/4 turns in", true),
            face_up: line("forward", false),
            rows: "spar K 1 to 4".to_owned(),
            height: aim(".078 in", ".067 to .086"),
            width: aim(".234 in", ".211 to .242"),
            coupon: ".063 + .040, two rivets".to_owned(),
            bag_check: "dimple on the head; three lengths 5/16 in".to_owned(),
            first: names("K", &[1, 2, 3]),
            ..set_up(4, "MS20470AD5-5")
        },
    ];
    let pick = |fastener: &str, set_up: u32, spare: u32, have: Option<u32>, short: Option<u32>| Pick {
        fastener: fastener.to_owned(),
        set_ups: vec![set_up],
        need: counts.get(&set_up).copied().unwrap_or(0),
        spare,
        have,
        short,
    };
    Card {
        assembly: "Left wing, flap hinge bay".to_owned(),
        step: "spar: Main spar".to_owned(),
        sheet: "W-1, step 4".to_owned(),
        revision: "4".to_owned(),
        date: day(),
        author: String::new(),
        address: ADDRESS.to_owned(),
        cautions: vec!["Eye and ear protection.".to_owned(), "No finger between set and bar.".to_owned()],
        set_ups,
        picks: vec![
            pick("MS20470AD6-8", 1, 4, Some(60), Some(0)),
            pick("MS20470AD6-7", 2, 6, Some(50), Some(26)),
            pick("MS20470AD5-6", 3, 4, None, None),
            pick("MS20470AD5-5", 4, 4, Some(120), Some(0)),
        ],
        open: vec![
            OpenHoles {
                rows: "spar L 1 to 4".to_owned(),
                count: 4,
                reason: "main and nose rib 1 come with step ribs".to_owned(),
            },
            OpenHoles {
                rows: "spar M 1 to 4, N 1 to 4".to_owned(),
                count: 8,
                reason: "ribs 2 and 3 come with step ribs".to_owned(),
            },
        ],
        maps: vec![
            map(plan, (spar, Side::Near), &hole, &[], paper),
            map(plan, (spar, Side::Far), &hole, &[], paper),
        ],
        totals: Totals {
            holes: counts.iter().filter(|(number, _)| **number > 0).map(|(_, count)| count).sum(),
            settings: 4,
            die_changes: 1,
            flips: 1,
            minutes: "1 h 25 min".to_owned(),
            bound: "1 h 22 min".to_owned(),
            plan_order: "1 h 58 min".to_owned(),
        },
    }
}

/// Labels of that card's bags, and enough others for a second sheet.
pub fn labels(plan: &Plan) -> Labels {
    let card = card(plan, Paper::A4);
    let label = |pick: &Pick| Label {
        fastener: pick.fastener.clone(),
        set_ups: pick.set_ups.clone(),
        count: pick.need,
        spare: pick.spare,
        assembly: card.assembly.clone(),
        step: card.step.clone(),
        address: card.address.clone(),
    };
    let mut labels: Vec<Label> = card.picks.iter().cycle().take(12).map(label).collect();
    labels[1].set_ups = vec![1, 2, 3, 5];
    labels[2].fastener = "MS21059L08 with MS20426AD3-3.5".to_owned();
    Labels { title: "Bags for the main spar".to_owned(), author: String::new(), date: day(), labels }
}

/// A plane at full size; a hole has the diameter of its row's rivet, as the row writes it.
pub fn full(plan: &Plan, assembly: &str, plane: &str, paper: Paper) -> Document {
    let plane = plane_named(plan, assembly, plane);
    let hole = |id: HoleId| FullSizeHole { diameter_in: Some(0.1285), open: set_up_of(plan, id).is_none() };
    full_size::pages(
        &FullSize {
            plan,
            plane,
            side: Side::Near,
            hole: &hole,
            revision: "4".to_owned(),
            date: day(),
            sheet: "W-1, step 4".to_owned(),
            author: String::new(),
        },
        paper,
    )
}

pub fn all(plan: &Plan, paper: Paper) -> Vec<(&'static str, Document)> {
    vec![
        ("card", card(plan, paper).pages(paper).expect("the address is short")),
        ("labels", labels(plan).pages(paper).expect("the address is short")),
        ("full-spar", full(plan, "wing-left", "spar", paper)),
        ("full-upper", full(plan, "wing-left", "upper", paper)),
    ]
}

/// Cards at the ends of what a builder may have.
pub fn awkward(plan: &Plan) -> Vec<(&'static str, Card)> {
    let usual = card(plan, Paper::A4);
    let line = |words: &str| Line { words: words.to_owned(), changed: true };
    let long =
        "a long-winded title of an assembly that somebody wrote out in full, with its place and its hand";
    let huge = SetUp {
        number: 112,
        fastener: "MS21059L08-with-two-MS20426AD3-3.5-and-a-very-long-name".to_owned(),
        tool: line(long),
        yoke: line("Antidisestablishmentarianism-without-a-break-in-it-anywhere"),
        dies: line(long),
        setting: line(long),
        face_up: line("inboard and a little forward"),
        head_side: "outboard".to_owned(),
        holes: 1234,
        rows: "upper-rear-spar-web A 1 to 400, B 1 to 400, ".repeat(6),
        height: Aim {
            aim: "1.23 mm".to_owned(),
            limits: "1.00 to 1.50, of the builder's own limits".to_owned(),
        },
        width: Aim { aim: ".100 in".to_owned(), limits: String::new() },
        coupon: long.to_owned(),
        bag_check: long.to_owned(),
        first: (1..=5).map(|n| format!("upper-rear {n}")).collect(),
        one_in: Some(10),
        then: (1..=40).map(|n| format!("B {n}")).collect(),
        notes: vec![long.to_owned(), long.to_owned()],
    };
    let endless = SetUp { number: 113, then: (1..=400).map(|n| format!("B {n}")).collect(), ..huge.clone() };
    let bare =
        SetUp { number: 1, fastener: "AN3-5A".to_owned(), holes: 1, one_in: Some(5), ..SetUp::default() };
    let many = Card {
        assembly: long.to_owned(),
        step: long.to_owned(),
        sheet: long.to_owned(),
        cautions: vec![long.to_owned(), "Short.".to_owned(), "Another short one.".to_owned()],
        set_ups: (1..=9)
            .map(|number| SetUp { number, ..huge.clone() })
            .chain([huge.clone(), endless])
            .collect(),
        picks: vec![
            Pick {
                fastener: huge.fastener.clone(),
                set_ups: (1..40).step_by(2).collect(),
                need: 12345,
                ..Pick::default()
            };
            40
        ],
        open: vec![OpenHoles { rows: huge.rows.clone(), count: 800, reason: long.to_owned() }; 30],
        ..usual.clone()
    };
    let least = Card {
        sheet: String::new(),
        cautions: Vec::new(),
        set_ups: vec![bare],
        picks: Vec::new(),
        open: Vec::new(),
        maps: Vec::new(),
        totals: Totals::default(),
        ..usual.clone()
    };
    vec![("many", many), ("least", least)]
}
