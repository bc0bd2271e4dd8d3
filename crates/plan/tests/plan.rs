//! Plans read as a whole: the example of the design, the other hand, units, depths.
//!
//! Expected positions and counts are worked out in the comments beside them,
//! by hand, from the text of the plan.

use faying_plan::{Depth, GaugeSize, HeadSide, Plan, Preparation, Reading, Side, SourceText, read};
use faying_standards::rivet::Diameter;
use faying_standards::{Length, Unit, inches, millimetres};

const FLAP_LEFT: &str = include_str!("flap-left.toml");
const LIMITS: &str = include_str!("limits.toml");

fn read_files(files: &[(&str, &str)]) -> Reading {
    read(files.iter().map(|&(name, text)| SourceText { name: name.into(), text: text.into() }).collect())
}

/// The plan of files in which nothing was found.
fn clean(files: &[(&str, &str)]) -> Plan {
    let reading = read_files(files);
    let found: Vec<String> = reading.findings.iter().map(ToString::to_string).collect();
    assert!(found.is_empty(), "{}", found.join("\n"));
    reading.plan
}

fn flap_left() -> Plan {
    read_files(&[("plan/flap-left.toml", FLAP_LEFT)]).plan
}

/// Where a hole is, in inches; from its lasting name.
fn at(plan: &Plan, hole: &str) -> [f64; 2] {
    let id = plan.hole_named(hole).unwrap_or_else(|| panic!("there is no hole {hole}"));
    plan[id].at.unwrap_or_else(|| panic!("{hole} is not drawn")).inches()
}

/// The rows a step sets, as `web/A 1-37`.
fn sets(plan: &Plan, step: &str) -> Vec<String> {
    let step = plan.step_named(step).expect("the plan has the step");
    let parts = plan[step].sets.iter();
    parts.map(|part| format!("{} {}-{}", plan.row_name(part.row), part.first, part.last)).collect()
}

/// The sides a step closes, as `flap-left/web: aft`.
fn closes(plan: &Plan, step: &str) -> Vec<String> {
    let step = plan.step_named(step).expect("the plan has the step");
    let sides = plan[step].closes.iter();
    sides.map(|&(id, side)| format!("{}: {}", plan.plane_name(id), plan[id].side_name(side))).collect()
}

/// The pieces a step brings in.
fn adds(plan: &Plan, step: &str) -> Vec<String> {
    let step = plan.step_named(step).expect("the plan has the step");
    let name = |&piece: &faying_plan::PieceId| {
        let part = &plan[plan[piece].part];
        format!("{}:{}", plan[part.assembly].id, plan.piece_name(piece))
    };
    plan[step].adds.iter().map(name).collect()
}

/// The example of the design has four loose ends, and each is told once: K
/// and L are set at no step; L goes through "cap", which is two pieces; and the
/// upper plane draws one outline where two caps lie.
#[test]
fn the_example_has_its_four_findings_and_no_more() {
    let findings = read_files(&[("plan/flap-left.toml", FLAP_LEFT)]).findings;
    let told: Vec<(&str, &str)> = findings.iter().map(|f| (f.kind, f.what.as_str())).collect();
    assert_eq!(
        told,
        [
            ("copies", "cap has 2 copies and one outline in plane upper"),
            ("never-set", "row K is set at no step"),
            ("never-set", "row L is set at no step"),
            ("copies", "\"cap\" is several pieces"),
        ]
    );
    // With the loose ends tied, nothing is found.
    let tied = FLAP_LEFT
        .replace(r#"layers = ["skin", "cap"]"#, r#"layers = ["skin", "cap/upper"]"#)
        .replace("outline.cap = { rect", "outline.\"cap/upper\" = { rect")
        .replace(r#"["doubler", "web", "cap"] }"#, r#"["doubler", "web", "cap/lower"] }"#)
        .replace(r#"sets = ["web/A", "web/B"]"#, r#"sets = ["web/A", "web/B", "K", "L"]"#);
    clean(&[("plan/flap-left.toml", &tied)]);
}

#[test]
fn the_example_has_its_holes() {
    let plan = flap_left();
    let counts: Vec<(String, u32)> = plan[plan.assembly_named("flap-left").unwrap()]
        .rows
        .iter()
        .map(|&id| (plan.row_name(id), plan[id].count()))
        .collect();
    // S: 45 in at 1 1/4 in is 36 spaces, 37 holes.
    let expected = [
        ("flap-left/web/A", 37),
        ("flap-left/web/B", 37),
        ("flap-left/upper/S", 37),
        ("flap-left/K", 26),
        ("flap-left/L", 12),
    ];
    assert_eq!(counts, expected.map(|(name, count)| (name.to_owned(), count)));
    assert_eq!(plan.holes.len(), 3 * 37 + 26 + 12);
    // A: 45 in in 36 spaces is 1.25 in. B is A, 3.5 in further up.
    assert_eq!(at(&plan, "flap-left/web/A/1"), [1.0, 0.5]);
    assert_eq!(at(&plan, "flap-left/web/A/2"), [2.25, 0.5]);
    assert_eq!(at(&plan, "flap-left/web/A/37"), [46.0, 0.5]);
    assert_eq!(at(&plan, "flap-left/web/B/2"), [2.25, 4.0]);
    assert_eq!(at(&plan, "flap-left/upper/S/36"), [44.75, 11.5]);
    // Every hole goes by the name that finds it.
    for id in (0..plan.holes.len()).map(faying_plan::HoleId::from_index) {
        assert_eq!(plan.hole_named(&plan.hole_name(id)), Some(id));
    }
}

#[test]
fn the_example_has_its_layers_copies_and_call_outs() {
    let plan = flap_left();
    let row = |name: &str| plan.row_named(name).unwrap();
    let web = plan[row("flap-left/web/A")].plane.unwrap();
    let layers: Vec<String> = plan[web].layers.iter().map(|layer| plan.piece_name(layer.piece)).collect();
    assert_eq!(layers, ["doubler", "rib/1", "rib/2", "web", "cap/upper", "cap/lower"]);
    // Outlines of copies in their order: rib 2 is the one at 36.75 in.
    let bounds = plan[web].layers[2].outline.as_ref().unwrap().bounds();
    assert_eq!(bounds, [[36.75, 0.1], [40.25, 4.4]]);

    let a = &plan[row("flap-left/web/A")];
    assert_eq!((a.depth, a.rivet.unwrap().to_string()), (Depth::Drawn, "MS20470AD4".to_owned()));
    assert_eq!((&a.head, &a.called), (&Some(HeadSide::Side(Side::Near)), &None));
    let s = &plan[row("flap-left/upper/S")];
    assert_eq!(s.rivet.unwrap().to_string(), "MS20426AD3");
    let skin = plan.parts.iter().position(|part| part.name == "skin").map(faying_plan::PartId::from_index);
    assert_eq!(plan.preparation(row("flap-left/upper/S"), skin.unwrap()), Preparation::Dimpled);
    let hold = s.hold.as_ref().unwrap();
    assert_eq!(hold.until, plan.step_named("flap-left/skin-upper"));
    assert_eq!(hold.why, "closes the spar");
    let k = &plan[row("flap-left/K")];
    assert_eq!(
        (k.depth, k.called.as_ref().unwrap().to_string()),
        (Depth::Counted, "MS20470AD4-5".to_owned())
    );
    assert_eq!(k.note, "hinge bracket");
    assert_eq!(plan[row("flap-left/L")].depth, Depth::Stacked);
}

#[test]
fn the_example_has_its_steps() {
    let plan = flap_left();
    assert_eq!(sets(&plan, "flap-left/doubler"), ["flap-left/web/A 1-37", "flap-left/web/B 1-20"]);
    assert_eq!(sets(&plan, "flap-left/skin-upper"), ["flap-left/upper/S 1-37"]);
    assert_eq!(closes(&plan, "flap-left/skin-upper"), ["flap-left/web: aft", "flap-left/web: forward"]);
    let own = |names: &[&str]| names.iter().map(|name| format!("flap-left:{name}")).collect::<Vec<_>>();
    assert_eq!(adds(&plan, "flap-left/doubler"), own(&["web", "cap/upper", "cap/lower", "doubler"]));
    assert_eq!(adds(&plan, "flap-left/ribs"), own(&["rib/1", "rib/2"]));
    let step = &plan[plan.step_named("flap-left/doubler").unwrap()];
    assert_eq!((step.sheet.as_str(), step.hours), ("F-2, step 3", Some(1.5)));
    assert_eq!(step.after, [plan.step_named("flap-left/prime-1").unwrap()]);
    assert_eq!(plan.gates[0].needs.iter().map(ToString::to_string).collect::<Vec<_>>(), ["inspection:spar"]);
    assert_eq!(plan.gates[0].before, plan.step_named("flap-left/skin-upper"));
}

/// A range of one, of some, a whole plane; the numbers are those of the plan.
#[test]
fn a_step_sets_parts_of_rows() {
    let plan = clean(&[(
        "plan/tab.toml",
        r#"
        format = 1
        id = "tab"
        usual.rivet = "MS20470AD4"
        [parts]
        web = {}
        [planes.web]
        layers = ["web"]
        [planes.web.rows]
        A = { from = [0, 1], to = [9, 1], count = 10 }
        B = { at = [[0, 2], [4, 2]] }
        [rows]
        K = { count = 8 }
        [steps]
        one = { adds = ["web"], sets = ["web/A/7", "web/A/1-3", "K/2 - 8"] }
        all = { sets = ["web", "K"] }
        "#,
    )]);
    assert_eq!(sets(&plan, "tab/one"), ["tab/web/A 7-7", "tab/web/A 1-3", "tab/K 2-8"]);
    assert_eq!(sets(&plan, "tab/all"), ["tab/web/A 1-10", "tab/web/B 1-2", "tab/K 1-8"]);
}

/// `like` may name a row further down, and one that is itself like another.
#[test]
fn like_and_shift_follow_one_another() {
    let plan = clean(&[(
        "plan/tab.toml",
        r#"
        format = 1
        id = "tab"
        usual.rivet = "MS20470AD4"
        [parts]
        web = {}
        [planes.web]
        layers = ["web"]
        [planes.web.rows]
        A = { like = "B", shift = [0.5, 0] }
        B = { like = "C", shift = [0, "1/4"] }
        C = { at = [[1, 1], [2, 1]] }
        D = { like = "C" }
        "#,
    )]);
    assert_eq!(at(&plan, "tab/web/A/2"), [2.5, 1.25]);
    assert_eq!(at(&plan, "tab/web/B/1"), [1.0, 1.25]);
    assert_eq!(at(&plan, "tab/web/D/2"), [2.0, 1.0]);
}

/// Holes even to the nanometre: 1 in in 3 spaces is 8466666 2/3 nm, and the rounding never adds up.
#[test]
fn a_row_is_spread_without_drift() {
    let plan = clean(&[(
        "plan/tab.toml",
        r#"
        format = 1
        id = "tab"
        usual.rivet = "MS20470AD4"
        [parts]
        web = {}
        [planes.web]
        layers = ["web"]
        [planes.web.rows]
        A = { from = [1, 2], to = [0, 2], count = 4 }
        "#,
    )]);
    let x: Vec<i64> = plan.holes.iter().map(|hole| hole.at.unwrap().x.nanometres()).collect();
    assert_eq!(x, [25_400_000, 16_933_333, 8_466_667, 0]);
}

const WING: &str = r#"
format = 1
id = "wing-left"
usual.rivet = "MS20426AD3"
[parts]
skin = { copies = ["inner", "outer"] }
[planes.skin]
near = "upper"
far = "lower"
layers = ["skin"]
[planes.skin.rows]
C = { from = [0, 1], to = [4, 1], count = 5, head = "upper" }
[steps]
skin = { adds = ["skin"] }
"#;

const SPAR: &str = r#"
format = 1
id = "spar-left"
usual.rivet = "MS20470AD4"
[parts]
web = {}
cap = {}
[planes.web]
near = "aft"
far = "forward"
layers = ["web", "cap"]
[planes.web.rows]
A = { from = [1, 1], to = [5, 1], count = 5, head = "aft" }
B = { same = "wing-left/skin/C" }
[bays]
tank = ["web: aft", "wing-left/skin: lower"]
[steps]
build = { adds = ["web", "cap"], sets = ["web/A"], after = ["wing-left/skin"] }
close = { sets = ["wing-left/skin/C/2-5", "web/B/1"], closes = ["bay:tank"], after = ["build"] }
"#;

/// A hole is declared once; the plane that sees it adds none, and setting it there sets the declared one.
#[test]
fn the_same_holes_are_seen_from_another_plane() {
    let plan = clean(&[("plan/spar-left.toml", SPAR), ("plan/wing-left.toml", WING)]);
    assert_eq!(plan.holes.len(), 10);
    let seen = plan.row_named("spar-left/web/B").unwrap();
    assert_eq!(plan[seen].count(), 0);
    assert_eq!(plan[seen].same, plan.row_named("wing-left/skin/C"));
    assert_eq!(sets(&plan, "spar-left/close"), ["wing-left/skin/C 2-5", "wing-left/skin/C 1-1"]);
}

/// Bays and `after` reach over assemblies, whichever file comes first.
#[test]
fn bays_and_steps_reach_over_assemblies() {
    let plan = clean(&[("plan/spar-left.toml", SPAR), ("plan/wing-left.toml", WING)]);
    assert_eq!(closes(&plan, "spar-left/close"), ["spar-left/web: aft", "wing-left/skin: lower"]);
    let build = plan.step_named("spar-left/build").unwrap();
    assert_eq!(plan[build].after, [plan.step_named("wing-left/skin").unwrap()]);
}

fn both_hands(differs: &str) -> Reading {
    let spar = format!("format = 1\nid = \"spar-right\"\nmirror = \"spar-left\"\n{differs}");
    read_files(&[
        ("plan/spar-left.toml", SPAR),
        ("plan/spar-right.toml", &spar),
        ("plan/wing-left.toml", WING),
        ("plan/wing-right.toml", "format = 1\nid = \"wing-right\"\nmirror = \"wing-left\"\n"),
    ])
}

/// Names, numbers, sides and positions stay; what refers to a hand refers to the own one.
#[test]
fn the_other_hand_is_one_line() {
    let reading = both_hands("");
    assert!(reading.findings.is_empty(), "{:?}", reading.findings);
    let plan = reading.plan;
    let [left, right] = ["spar-left", "spar-right"].map(|id| plan.assembly_named(id).unwrap());
    assert!(plan[right].mirrored && !plan[left].mirrored);
    assert_eq!(plan[right].mirror_of, Some(left));
    assert_eq!(plan[right].title, "Spar right");
    assert_eq!(plan.holes.len(), 20);
    for hole in ["web/A/1", "web/A/5"] {
        assert_eq!(at(&plan, &format!("spar-left/{hole}")), at(&plan, &format!("spar-right/{hole}")));
    }
    let row = |name: &str| plan.row_named(name).unwrap();
    assert_eq!(plan[row("spar-right/web/A")].head, Some(HeadSide::Side(Side::Near)));
    let plane = plan[row("spar-right/web/A")].plane.unwrap();
    assert_eq!((plan[plane].near.as_str(), plan[plane].far.as_str()), ("aft", "forward"));
    assert_eq!(plan[row("spar-right/web/B")].same, Some(row("wing-right/skin/C")));
    assert_eq!(closes(&plan, "spar-right/close"), ["spar-right/web: aft", "wing-right/skin: lower"]);
    assert_eq!(closes(&plan, "spar-left/close"), ["spar-left/web: aft", "wing-left/skin: lower"]);
    assert_eq!(sets(&plan, "spar-right/close"), ["wing-right/skin/C 2-5", "wing-right/skin/C 1-1"]);
    assert_eq!(adds(&plan, "wing-right/skin"), ["wing-right:skin/inner", "wing-right:skin/outer"]);
    let build = plan.step_named("spar-right/build").unwrap();
    assert_eq!(plan[build].after, [plan.step_named("wing-right/skin").unwrap()]);
}

/// One row of the other hand has another call-out and one hole less; all else is as mirrored.
#[test]
fn the_other_hand_differs_in_one_row() {
    let reading = both_hands("[differs.planes.web.rows]\nA = { count = 4, rivet = \"MS20470AD5\" }\n");
    assert!(reading.findings.is_empty(), "{:?}", reading.findings);
    let plan = reading.plan;
    let row = |name: &str| &plan[plan.row_named(name).unwrap()];
    let shown = |name| (row(name).count(), row(name).rivet.unwrap().to_string());
    assert_eq!(shown("spar-left/web/A"), (5, "MS20470AD4".to_owned()));
    assert_eq!(shown("spar-right/web/A"), (4, "MS20470AD5".to_owned()));
    // What the row does not say differently stays: ends and head.
    assert_eq!(at(&plan, "spar-right/web/A/4"), [5.0, 1.0]);
    assert_eq!(row("spar-right/web/A").head, Some(HeadSide::Side(Side::Near)));
    assert_eq!(sets(&plan, "spar-right/build"), ["spar-right/web/A 1-4"]);
}

/// Under [differs] the builder speaks of the hand that is written, not of its image.
#[test]
fn a_reference_under_differs_is_taken_as_it_is_written() {
    let reading = both_hands("[differs.planes.web.rows]\nB = { same = \"wing-left/skin/C\" }\n");
    let plan = reading.plan;
    let row = |name: &str| plan.row_named(name).unwrap();
    assert_eq!(plan[row("spar-right/web/B")].same, Some(row("wing-left/skin/C")));
    // The step was copied, and still speaks of this hand's own wing.
    assert_eq!(sets(&plan, "spar-right/close"), ["wing-right/skin/C 2-5", "wing-left/skin/C 1-1"]);
}

/// What is left over on one hand only is told with that hand's name, at the row both have.
#[test]
fn a_row_that_only_the_other_hand_leaves_out_says_which_hand() {
    let reading = both_hands("[differs.steps]\nbuild = { sets = [] }\n");
    let told: Vec<&str> = reading.findings.iter().map(|finding| finding.what.as_str()).collect();
    assert_eq!(told, ["row spar-right/web/A is set at no step"]);
}

/// 1.25 in is 31.75 mm, .025 in is .635 mm: the same plan to the nanometre.
#[test]
fn a_metric_plan_is_the_same_plan() {
    let inch = r#"
        format = 1
        id = "tab"
        units = "in"
        usual.rivet = "MS20470AD4"
        [parts]
        web = { thickness = 0.025 }
        [planes.web]
        layers = ["web"]
        outline.web = { rect = [0, 0, 10, "4 1/2"] }
        [planes.web.rows]
        A = { from = [1, 0.5], to = [8.5, 0.5], pitch = "1 1/4", clearance = "1/2" }
    "#;
    let metric = inch
        .replace("units = \"in\"", "units = \"mm\"")
        .replace("0.025", "0.635")
        .replace("[0, 0, 10, \"4 1/2\"]", "[0, 0, 254, 114.3]")
        .replace("[1, 0.5]", "[25.4, 12.7]")
        .replace("[8.5, 0.5]", "[215.9, 12.7]")
        .replace("\"1 1/4\"", "31.75")
        .replace("\"1/2\"", "12.7");
    let mixed = metric.replace("31.75", "\"1 1/4 in\"").replace("0.635", "\".025\\\"\"");
    let [inch, metric, mixed] = [inch, &metric, &mixed].map(|text| clean(&[("plan/tab.toml", text)]));
    assert_eq!((inch.assemblies[0].unit, metric.assemblies[0].unit), (Unit::Inch, Unit::Millimetre));
    for other in [&metric, &mixed] {
        let points = |plan: &Plan| plan.holes.iter().map(|hole| hole.at).collect::<Vec<_>>();
        assert_eq!(points(&inch), points(other));
        assert_eq!(inch.parts[0].thickness, other.parts[0].thickness);
        assert_eq!(inch.rows[0].clearance, other.rows[0].clearance);
        assert_eq!(inch.planes[0].layers[0].outline, other.planes[0].layers[0].outline);
    }
    assert_eq!(inch.holes.len(), 7);
}

/// Number drills by `standards/drills.csv`: #30 is .1285 in, #40 is .098 in; in any unit of the file.
#[test]
fn a_hole_size_may_be_a_drill() {
    for units in ["in", "mm"] {
        let plan = clean(&[(
            "plan/tab.toml",
            &format!(
                r##"
                format = 1
                id = "tab"
                units = "{units}"
                [usual]
                rivet = "MS20470AD4"
                hole = "#30"
                [rows]
                A = {{ count = 2 }}
                B = {{ count = 2, rivet = "MS20426AD3", hole = "#40" }}
                C = {{ count = 2, hole = "3.3 mm" }}
                "##
            ),
        )]);
        let sizes: Vec<Length> = plan.rows.iter().filter_map(|row| row.hole_size).collect();
        assert_eq!(sizes, [inches(0.1285), inches(0.098), millimetres(3.3)]);
    }
}

/// A length behind a dash takes the rivet of the row, else the usual one; a whole number wins over the usual.
#[test]
fn a_call_out_is_a_length_or_a_number() {
    let plan = clean(&[(
        "plan/tab.toml",
        r#"
        format = 1
        id = "tab"
        usual.rivet = "MS20470AD4"
        [rows]
        A = { count = 2, called = "-5" }
        B = { count = 2, rivet = "MS20426AD3", called = "-3.5" }
        C = { count = 2, called = "MS20426AD3-4" }
        D = { count = 2, called = "AN3-5A" }
        E = { count = 2, rivet = "MS20470AD4-6" }
        F = { count = 2, called = "MS21059L3", attach = { rivet = "MS20426AD3-4" } }
        G = { count = 2 }
        "#,
    )]);
    let shown: Vec<String> = plan
        .rows
        .iter()
        .map(|row| {
            let text = |name: Option<String>| name.unwrap_or_else(|| "none".to_owned());
            format!(
                "{}: {}, {}",
                row.name,
                text(row.rivet.map(|kind| kind.to_string())),
                text(row.called.as_ref().map(ToString::to_string))
            )
        })
        .collect();
    assert_eq!(
        shown,
        [
            "A: MS20470AD4, MS20470AD4-5",
            "B: MS20426AD3, MS20426AD3-3.5",
            "C: MS20426AD3, MS20426AD3-4",
            "D: none, AN3-5A",
            "E: MS20470AD4, MS20470AD4-6",
            "F: none, MS21059L3",
            "G: MS20470AD4, none",
        ]
    );
    let attach = plan.rows[5].attach.as_ref().unwrap();
    assert_eq!((attach.called.to_string().as_str(), attach.each), ("MS20426AD3-4", 2));
}

/// The builder's own values; lengths in inches and millimetres, a drill for a hole.
#[test]
fn own_limits_are_read() {
    let limits = clean(&[("limits.toml", LIMITS)]).limits;
    assert_eq!(limits.shop_head.as_deref(), Some("own-copy"));
    let eighth = Diameter::from_dash(4).unwrap();
    let set = &limits.own_sets[0];
    let head = set.at(eighth).unwrap();
    assert_eq!((head.min_width, head.max_width), (inches(0.163), None));
    assert_eq!((head.min_height, head.max_height), (inches(0.050), Some(inches(0.070))));
    assert_eq!(head.cited.source, "my own copy, revision and table as I read them");
    assert_eq!(head.cited.known, faying_standards::Known::Own);
    let head = set.at(Diameter::from_dash(5).unwrap()).unwrap();
    assert_eq!((head.max_width, head.min_height), (Some(inches(0.25)), inches(0.0625)));
    assert!(set.at(Diameter::from_dash(3).unwrap()).is_none(), "what was not typed in is not there");
    let three = Diameter::from_dash(3).unwrap();
    let kit = &limits.own_sets[1];
    assert_eq!((set.kit, kit.kit, kit.name.as_str()), (false, true, "kit-manual"));
    assert_eq!(kit.at(three).unwrap().min_width, inches(0.130));
    let gauge = &limits.gauges[0];
    assert_eq!((limits.gauges.len(), gauge.name.as_str()), (1, "plate"));
    let both = GaugeSize { hole: Some(inches(0.183)), slot: Some(inches(0.060)) };
    assert_eq!(gauge.at(eighth), Some(both));
    assert_eq!(gauge.at(three), Some(GaugeSize { hole: Some(millimetres(3.5)), slot: None }));
    assert_eq!(gauge.at(Diameter::from_dash(5).unwrap()), None);
    assert_eq!(limits.lips, [(three, inches(0.009)), (eighth, millimetres(0.3))]);
    assert_eq!(limits.dimpled_holes, [(three, inches(0.098))]);
    assert_eq!((limits.half_sizes, limits.missing_metal), (true, Some(0.05)));
    assert_eq!((limits.caliper, limits.set_height), (Some(inches(0.0005)), Some(millimetres(0.02))));
    assert_eq!((limits.film, limits.rivet_length), (None, None));
}

/// Four thousand rows, twenty thousand holes: what a large build comes to.
#[test]
fn a_large_build_is_read_whole() {
    use std::fmt::Write as _;
    let mut text = String::from("format = 1\nid = \"wing\"\nusual.rivet = \"MS20426AD3\"\n[parts]\n");
    text.push_str("skin = { thickness = 0.025 }\nrib = { thickness = 0.032 }\n");
    for plane in 0..40 {
        write!(text, "[planes.p{plane}]\nlayers = [\"skin\", \"rib\"]\n[planes.p{plane}.rows]\n").unwrap();
        for row in 0..100 {
            let y = f64::from(row) * 0.5;
            writeln!(text, "R{row} = {{ from = [1, {y}], to = [5, {y}], count = 5 }}").unwrap();
        }
    }
    text.push_str("[steps]\nall = { adds = [\"skin\", \"rib\"], sets = [");
    for plane in 0..40 {
        write!(text, "\"p{plane}\", ").unwrap();
    }
    text.push_str("] }\n");
    let plan = clean(&[("plan/wing.toml", &text)]);
    assert_eq!((plan.rows.len(), plan.holes.len()), (4_000, 20_000));
    assert_eq!(plan.steps[0].sets.len(), 4_000);
    assert_eq!(at(&plan, "wing/p39/R99/3"), [3.0, 49.5]);
}
