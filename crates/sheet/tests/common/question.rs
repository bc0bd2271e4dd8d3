//! Questions about faults of the demo kit, and at the ends of what can be asked.
//!
//! Places and planned distances are the kit's; readings, forces and limits
//! are made up and stand for the look only. They are no advice on a joint.
#![allow(dead_code, reason = "each test file uses its part")]

use faying_plan::{HoleId, PieceId, Plan, Preparation, Side};
use faying_sheet::question::{
    Asked, Compared, CutHole, CutOut, Dimension, End, OptionLine, Question, RuleLine, StrengthLine,
};
use faying_sheet::{SectionInput, SectionSheet, ShopHead};
use faying_standards::HeadStyle;

use super::common::{plan_of, plane_named};

pub const ADDRESS: &str = "http://bench.local:4780/fault/flap-left/web/K/1";

pub fn day() -> faying_sheet::Date {
    faying_sheet::Date { year: 2026, month: 5, day: 12 }
}

pub fn flap() -> Plan {
    plan_of(&[
        include_str!("../../../../plans/teasel/flap-left.toml"),
        include_str!("../../../../plans/teasel/bellcrank.toml"),
        include_str!("../../../../plans/teasel/wing-left.toml"),
        include_str!("../../../../plans/teasel/aileron-left.toml"),
    ])
}

pub fn hole(plan: &Plan, name: &str) -> HoleId {
    plan.hole_named(name).unwrap_or_else(|| panic!("{name} is in the plan"))
}

/// The piece of a plane's layer by its name.
pub fn piece(plan: &Plan, plane: &str, name: &str) -> PieceId {
    let plane = plane_named(plan, "flap-left", plane);
    let mut pieces = plan[plane].layers.iter().map(|layer| layer.piece);
    pieces.find(|id| plan.piece_name(*id) == name).unwrap_or_else(|| panic!("{name} is in the plane"))
}

fn eighth(_: HoleId) -> CutHole {
    CutHole { diameter_in: Some(0.1285), set: false }
}

fn eighth_set(_: HoleId) -> CutHole {
    CutHole { diameter_in: Some(0.1285), set: true }
}

fn small_set(_: HoleId) -> CutHole {
    CutHole { diameter_in: Some(0.0965), set: true }
}

fn small(_: HoleId) -> CutHole {
    CutHole { diameter_in: None, set: false }
}

fn compared(what: &str, planned: &str, there: &str) -> Compared {
    Compared { what: what.to_owned(), planned: planned.to_owned(), there: there.to_owned() }
}

fn rule(rule: &str, asks: &str, reading: &str, says: &str) -> RuleLine {
    let [rule, asks, reading, says] = [rule, asks, reading, says].map(str::to_owned);
    RuleLine { rule, asks, reading, says, ruling: false }
}

fn strength(place: &str, planned: &str, built: &str, ratio: Option<&str>, left_out: &str) -> StrengthLine {
    let [place, planned, built, left_out] = [place, planned, built, left_out].map(str::to_owned);
    StrengthLine { place, planned, built, ratio: ratio.map(str::to_owned), left_out }
}

fn option(option: &str, hole: &str, edge: &str, pitch: &str, effect: &str) -> OptionLine {
    let [option, hole, edge, pitch, effect] = [option, hole, edge, pitch, effect].map(str::to_owned);
    OptionLine { option, hole, edge, pitch, effect }
}

fn words(words: &[&str]) -> Vec<String> {
    words.iter().map(|words| (*words).to_owned()).collect()
}

/// A short edge distance in the end of a doubler, before anything is set.
pub fn short_edge(plan: &Plan, side: Side) -> Question<'_> {
    let k1 = hole(plan, "flap-left/web/K/1");
    Question {
        asked: Asked::Designer,
        build: "Teasel Two, number 7".to_owned(),
        assembly: "Left flap".to_owned(),
        plane: format!("Spar web, seen from {}", if side == Side::Near { "aft" } else { "forward" }),
        holes: "web K 1".to_owned(),
        sheet: "FL-1, step 2".to_owned(),
        revision: "4".to_owned(),
        address: ADDRESS.to_owned(),
        fault: "The hole at the lower inboard corner of the inboard doubler was drilled too near the doubler's lower edge."
            .to_owned(),
        asks: "May the hole be filled as it is, or what is to be done about it? Nothing is set in this row yet.".to_owned(),
        cut_out: Some(CutOut {
            plan,
            plane: plane_named(plan, "flap-left", "web"),
            side,
            faulty: vec![k1],
            hole: &eighth,
            later: Vec::new(),
            dimensions: vec![
                Dimension {
                    from: k1,
                    to: End::Edge(piece(plan, "web", "doubler/inboard")),
                    planned: ".350 in".to_owned(),
                    there: ".210 in".to_owned(),
                },
                Dimension {
                    from: k1,
                    to: End::Hole(hole(plan, "flap-left/web/K/2")),
                    planned: ".900 in".to_owned(),
                    there: "1.040 in".to_owned(),
                },
            ],
        }),
        section: Some(SectionInput {
            key: "s".to_owned(),
            width: 300.0,
            title: "Hole K 1".to_owned(),
            sheets: vec![
                SectionSheet { name: "spar".to_owned(), thickness_in: 0.040, preparation: Preparation::Plain },
                SectionSheet { name: "doubler".to_owned(), thickness_in: 0.071, preparation: Preparation::Plain },
            ],
            head: HeadStyle::Universal,
            shank_in: 0.125,
            length_in: 0.28125,
            hole_in: 0.1285,
            head_dia_in: 0.250,
            head_height_in: 0.054,
            head_on_near: true,
            seat_to_seat_in: 0.111,
            shop_head: None,
            near_name: "aft".to_owned(),
            far_name: "forward".to_owned(),
        }),
        section_says: "As planned.".to_owned(),
        compared: vec![
            compared("Fastener", "MS20470AD4-4.5, manufactured head aft", "not set"),
            compared("Stack, aft to forward", "spar .040 2024-T3, doubler .071 2024-T3", "as planned, looked at"),
            compared("Hole", "#30, .1285 in", ".129 in ± .001, pin gauges"),
            compared("Edge distance, doubler", ".350 in, 2.8 d", ".210 in ± .010, steel rule; 1.68 d"),
            compared("Edge distance, spar", ".600 in, 4.8 d", ".460 in ± .010, steel rule; 3.68 d"),
            compared("Pitch to K 2", ".900 in, 7.2 d", "1.040 in ± .010, steel rule; 8.32 d"),
        ],
        rules: vec![
            rule("AC 43.13-1B, 4-57", "2 d for a protruding head", ".210 in, 1.68 d", "short by .040 in"),
            RuleLine {
                ruling: true,
                ..rule("Kit manual, 5-3", "2 d, or ask", ".210 in, 1.68 d", "short by .040 in: ask")
            },
        ],
        published: words(&["MIL-HDBK-5H gives bearing at 1.5 d as well as at 2 d; below 1.5 d it gives none."]),
        unchecked: words(&["Fatigue.", "Whether the lower hole edge was reamed or deburred on the faying side."]),
        strength: vec![
            strength("Hole K 1", "388 lb, rivet shear", "388 lb, rivet shear", Some("1.00"), "bearing of the doubler interpolated"),
            strength("Ends of the doubler, 6 holes", "2328 lb", "", None, "the load of the bracket is not in the plan"),
        ],
        working: words(&["Rivet shear 30 000 psi × .01297 in² = 389 lb.", "Bearing .1285 × .040 × Fbr at e/D 1.68 from the table's 1.5 and 2.0."]),
        options: vec![
            option("Leave it, set as called", "#30", "1.68 d", "8.3 d", "edge distance stays short"),
            option("Next size, MS20470AD5", "#21, .159 in", "1.34 d", "6.7 d", "edge distance in diameters falls further; under 1.5 d no bearing value is published"),
            option("A second rivet beside it", "#30", "1.68 d", "4.1 d", "the short hole stays; a new hole between K 1 and K 2"),
            option("New doubler", "#30", "2.8 d", "7.2 d", "six holes to match-drill again; the spar's hole is already off its place"),
        ],
        repairs: words(&["0 of 6 holes of this pattern were repaired; nothing was set or removed in this hole."]),
        photographs: words(&["flap-left-K1-01.jpg", "flap-left-K1-02.jpg"]),
        gate: "closing the left flap".to_owned(),
        ..Question::of(day())
    }
}

/// Overdriven flush rivets along a row, some of it beyond the frame.
pub fn overdriven(plan: &Plan) -> Question<'_> {
    let faulty: Vec<HoleId> = (4..=15).map(|n| hole(plan, &format!("flap-left/upper/F/{n}"))).collect();
    let between = |a: u32, b: u32, planned: &str| Dimension {
        from: hole(plan, &format!("flap-left/upper/F/{a}")),
        to: End::Hole(hole(plan, &format!("flap-left/upper/F/{b}"))),
        planned: planned.to_owned(),
        there: String::new(),
    };
    Question {
        asked: Asked::Inspector,
        plane: "Upper skin, seen from upper".to_owned(),
        holes: "upper F 4 to F 15".to_owned(),
        sheet: "FL-2, step 1".to_owned(),
        fault: "Twelve flush rivets in a row have shop heads lower than the specification has them."
            .to_owned(),
        asks: "May the twelve stay, or which are to be replaced?".to_owned(),
        cut_out: Some(CutOut {
            plan,
            plane: plane_named(plan, "flap-left", "upper"),
            side: Side::Near,
            faulty,
            hole: &small_set,
            later: Vec::new(),
            dimensions: vec![
                between(4, 15, "13.750 in"),
                between(4, 5, "1.250 in"),
                Dimension {
                    from: hole(plan, "flap-left/upper/F/15"),
                    to: End::Edge(piece(plan, "upper", "skin-upper")),
                    planned: ".375 in".to_owned(),
                    there: ".370 in".to_owned(),
                },
            ],
        }),
        section: Some(flush_section()),
        section_says: "As planned; shop head as measured at F 9.".to_owned(),
        compared: vec![
            compared("Fastener", "MS20426AD3-4, head upper", "as called, from the bag of 2026-04-28"),
            compared(
                "Shop head width",
                ".131 to .150 in",
                ".158 to .171 in ± .002, caliper, twelve readings",
            ),
            compared(
                "Shop head height",
                ".038 to .050 in",
                ".026 to .033 in ± .002, caliper, twelve readings",
            ),
            compared("Flushness", "", "0 to .002 in proud, feeler"),
        ],
        ..short_edge(plan, Side::Near)
    }
}

fn flush_section() -> SectionInput {
    let sheet = |name: &str, thickness_in| SectionSheet {
        name: name.to_owned(),
        thickness_in,
        preparation: Preparation::Dimpled,
    };
    SectionInput {
        key: "s".to_owned(),
        width: 300.0,
        title: "Hole F 9".to_owned(),
        sheets: vec![sheet("nose-skin", 0.025), sheet("skin-upper", 0.025), sheet("spar", 0.040)],
        head: HeadStyle::Flush,
        shank_in: 0.09375,
        length_in: 0.25,
        hole_in: 0.105,
        head_dia_in: 0.179,
        head_height_in: 0.036,
        head_on_near: true,
        seat_to_seat_in: 0.121,
        shop_head: Some(ShopHead { width_in: 0.165, height_in: 0.030 }),
        near_name: "upper".to_owned(),
        far_name: "lower".to_owned(),
    }
}

/// A figure-eight hole: the plan gives the row, the drawing has no size for it.
pub fn figure_eight(plan: &Plan) -> Question<'_> {
    let d2 = hole(plan, "flap-left/web/D/2");
    Question {
        asked: Asked::Authority,
        holes: "web D 2".to_owned(),
        fault: "Two holes run into each other: double-punched, .171 in long and .129 in across.".to_owned(),
        asks: String::new(),
        cut_out: Some(CutOut {
            plan,
            plane: plane_named(plan, "flap-left", "web"),
            side: Side::Near,
            faulty: vec![d2],
            hole: &small,
            later: vec![piece(plan, "web", "rib/2")],
            dimensions: vec![
                Dimension {
                    from: d2,
                    to: End::Hole(hole(plan, "flap-left/web/D/1")),
                    planned: ".533 in".to_owned(),
                    there: ".53 in".to_owned(),
                },
                Dimension {
                    from: d2,
                    to: End::Hole(hole(plan, "flap-left/web/D/3")),
                    planned: ".533 in".to_owned(),
                    there: ".53 in".to_owned(),
                },
                Dimension {
                    from: d2,
                    to: End::Edge(piece(plan, "web", "bracket/inboard")),
                    planned: ".500 in".to_owned(),
                    there: ".49 in".to_owned(),
                },
            ],
        }),
        photographs: Vec::new(),
        ..short_edge(plan, Side::Near)
    }
}

/// A row that is counted and not drawn.
pub fn counted(plan: &Plan) -> Question<'_> {
    Question { cut_out: None, section: None, ..short_edge(plan, Side::Near) }
}

/// Next to nothing.
pub fn least() -> Question<'static> {
    Question { fault: "A gap under a head.".to_owned(), ..Question::of(day()) }
}

/// A sentence of its own: its number is in it.
fn sentence(list: &str, number: usize) -> String {
    format!(
        "{list} {number} goes on at length about what somebody saw, where it was seen and by what light, \
         because it was written late in the evening and nobody had the heart to shorten it before it was printed, ending {list}-{number}-end."
    )
}

/// More of everything than a page holds.
pub fn most(plan: &Plan) -> Question<'_> {
    let unbroken = "Antidisestablishmentarianism-without-a-break-in-it-anywhere-at-all-".repeat(4);
    let many = |list: &str, count: usize| -> Vec<String> { (1..=count).map(|n| sentence(list, n)).collect() };
    Question {
        build: unbroken.clone(),
        assembly: sentence("assembly", 1),
        plane: sentence("plane", 1),
        holes: (1..=60).map(|n| format!("F {n}")).collect::<Vec<_>>().join(", "),
        sheet: sentence("sheet", 1),
        revision: sentence("revision", 1),
        fault: many("fault", 4).join(" "),
        asks: many("asks", 4).join(" "),
        compared: (1..=30)
            .map(|n| Compared {
                what: format!("compared {n}"),
                planned: sentence("planned", n),
                there: sentence("there", n),
            })
            .collect(),
        rules: (1..=30)
            .map(|n| RuleLine {
                rule: format!("rule {n}"),
                asks: sentence("asks", n),
                reading: sentence("reading", n),
                says: sentence("says", n),
                ruling: n == 17,
            })
            .collect(),
        published: many("published", 20),
        unchecked: many("unchecked", 20),
        strength: (1..=20)
            .map(|n| {
                strength(
                    &format!("place {n}"),
                    &sentence("planned", n),
                    &unbroken,
                    None,
                    &sentence("left", n),
                )
            })
            .collect(),
        working: many("working", 90),
        options: (1..=20)
            .map(|n| option(&format!("option {n}"), &unbroken, "1.5 d", "3 d", &sentence("effect", n)))
            .collect(),
        repairs: many("repair", 12),
        photographs: many("photograph", 12),
        gate: sentence("gate", 1),
        section_says: sentence("section", 1),
        ..overdriven(plan)
    }
}

/// The same with a section that is higher than what is left of the page.
pub fn thick(plan: &Plan) -> Question<'_> {
    let mut question = most(plan);
    let mut section = flush_section();
    section.sheets = (1..=40)
        .map(|n| SectionSheet {
            name: format!("shim number {n} of a great many"),
            thickness_in: 0.016,
            preparation: Preparation::Plain,
        })
        .collect();
    question.section = Some(section);
    question
}

pub fn all(plan: &Plan) -> Vec<(&'static str, Question<'_>)> {
    vec![
        ("short-edge", short_edge(plan, Side::Near)),
        ("far", short_edge(plan, Side::Far)),
        ("overdriven", overdriven(plan)),
        ("figure-eight", figure_eight(plan)),
        ("counted", counted(plan)),
        ("least", least()),
        ("most", most(plan)),
        ("most-thick", thick(plan)),
    ]
}
