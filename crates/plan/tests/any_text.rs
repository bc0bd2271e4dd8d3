//! Whatever is typed: nothing panics, every finding can be shown, the same text gives the same plan.

mod common;

use faying_plan::{Reading, SourceText, read};
use proptest::prelude::*;

const FLAP_LEFT: &str = include_str!("flap-left.toml");
const LIMITS: &str = include_str!("limits.toml");
const RIGHT: &str = "format = 1\nid = \"flap-right\"\nmirror = \"flap-left\"\n\
    [differs.planes.web.rows]\nA = { count = 36 }\n[differs.rows]\nK = { called = \"MS20470AD4-6\" }\n";

const PEOPLE: &str =
    "format = 1\n[people.ann]\ntitle = \"Ann\"\nrole = \"inspector\"\n[week]\nfriday = 2.5\n";
const GATES: &str = "format = 1\n[gates.rigging]\ntitle = \"Rigging\"\ncovers = [\"flap-left\"]\n\
    needs = [\"check:full travel\", \"photograph:stops\", \"holes\"]\n[gates.ribs]\nafter = [\"flap-left/ribs\"]\n\
    structure = false\nrule = \"none\"\n";

fn build(left: &str, right: &str, limits: &str) -> Reading {
    build_with(left, right, limits, faying_plan::tools::STARTER, PEOPLE, GATES)
}

fn build_with(left: &str, right: &str, limits: &str, tools: &str, people: &str, gates: &str) -> Reading {
    let files = [
        ("gates.toml", gates),
        ("limits.toml", limits),
        ("people.toml", people),
        ("plan/flap-left.toml", left),
        ("plan/flap-right.toml", right),
        ("tools.toml", tools),
    ];
    read(files.map(|(name, text)| SourceText { name: name.into(), text: text.into() }).to_vec())
}

/// Asserts what holds of every reading.
fn check(reading: &Reading) {
    let plan = &reading.plan;
    for finding in &reading.findings {
        let kind = finding.kind;
        assert!(common::KINDS.contains(&kind), "the kind {kind} is in no list");
        assert!(!finding.what.is_empty() && !finding.next.is_empty(), "{kind} says too little");
        let place = finding.place.as_ref().expect("a finding in a file has its place");
        let file = plan.files.iter().find(|file| file.name == place.file).expect("the file was read");
        let line = file.text.split('\n').nth(place.line as usize - 1).expect("the line is in the file");
        assert_eq!(place.excerpt, line.trim_end_matches('\r'));
        assert!(place.column as usize <= line.chars().count() + 1);
        assert!(finding.to_string().contains(&place.excerpt));
    }
    for (index, hole) in plan.holes.iter().enumerate() {
        let row = &plan[hole.row];
        assert!((row.holes.start as usize..row.holes.end as usize).contains(&index));
    }
    for step in &plan.steps {
        for part in &step.sets {
            assert!(part.last <= plan[part.row].count());
        }
    }
}

/// All that may be compared; the list of names by hash has no order of its own.
fn shown(reading: &Reading) -> String {
    let plan = &reading.plan;
    format!(
        "{:?}{:?}{:?}{:?}{:?}{:?}{:?}{:?}{:?}{:?}{:?}{:?}{:?}",
        reading.findings,
        plan.assemblies,
        plan.parts,
        plan.pieces,
        plan.planes,
        plan.rows,
        plan.holes,
        plan.steps,
        plan.bays,
        plan.gates,
        plan.limits,
        plan.tools,
        plan.people
    )
}

/// Bits of plans, and bits that stand in no plan.
const BITS: [&str; 45] = [
    "\"",
    "'",
    "\"\"\"",
    "[",
    "]",
    "[[",
    "{",
    "}",
    "=",
    ",",
    ".",
    "#",
    "\\",
    "/",
    ":",
    "\n",
    "\r\n",
    "\t",
    "é",
    "日本",
    "\u{0}",
    "\u{feff}",
    "0",
    "-1",
    "1e400",
    "nan",
    "inf",
    "0x10",
    "99999999999999999999",
    ".032",
    "3/32",
    "true",
    "1979-05-27",
    "web",
    "cap/upper",
    "\"web/A/0-9\"",
    "like = \"A\"",
    "same = \"web/A\"",
    "count = 0",
    "pitch = 0.0001",
    "mirror = \"flap-left\"",
    "[differs.planes.web]\n",
    "bends = [{ line = [[0, 1], [9, 1]], side = \"aft\", height = 0.7, lip = 0.3 }]\n",
    "stands.bracket = { rect = [1, 1, 2, 2], side = \"aft\", height = 1, from = \"ribs\" }\n",
    "nose = { half_width = 0 }",
];

#[derive(Clone, Debug)]
enum Slip {
    Insert(usize, usize),
    DeleteChar(usize),
    DeleteLine(usize),
    RepeatLine(usize),
    SwapLines(usize, usize),
    CutOff(usize),
}

fn slip() -> impl Strategy<Value = Slip> {
    let any = || 0..100_000_usize;
    prop_oneof![
        (any(), 0..BITS.len()).prop_map(|(at, bit)| Slip::Insert(at, bit)),
        any().prop_map(Slip::DeleteChar),
        any().prop_map(Slip::DeleteLine),
        any().prop_map(Slip::RepeatLine),
        (any(), any()).prop_map(|(a, b)| Slip::SwapLines(a, b)),
        any().prop_map(Slip::CutOff),
    ]
}

fn slipped(text: &str, slips: &[Slip]) -> String {
    let mut text = text.to_owned();
    for slip in slips {
        let chars: Vec<(usize, char)> = text.char_indices().collect();
        let mut lines: Vec<&str> = text.split('\n').collect();
        if chars.is_empty() {
            break;
        }
        let at = |n: usize| chars[n % chars.len()];
        text = match *slip {
            Slip::Insert(n, bit) => format!("{}{}{}", &text[..at(n).0], BITS[bit], &text[at(n).0..]),
            Slip::DeleteChar(n) => {
                let (from, char) = at(n);
                format!("{}{}", &text[..from], &text[from + char.len_utf8()..])
            }
            Slip::DeleteLine(n) => {
                lines.remove(n % lines.len());
                lines.join("\n")
            }
            Slip::RepeatLine(n) => {
                let n = n % lines.len();
                lines.insert(n, lines[n]);
                lines.join("\n")
            }
            Slip::SwapLines(a, b) => {
                let count = lines.len();
                lines.swap(a % count, b % count);
                lines.join("\n")
            }
            Slip::CutOff(n) => text[..at(n).0].to_owned(),
        };
    }
    text
}

proptest! {
    /// A good plan with slips of the pen in every file.
    #[test]
    fn slips_of_the_pen(
        left in prop::collection::vec(slip(), 0..4),
        right in prop::collection::vec(slip(), 0..3),
        limits in prop::collection::vec(slip(), 0..3),
        tools in prop::collection::vec(slip(), 0..4),
        people in prop::collection::vec(slip(), 0..2),
        gates in prop::collection::vec(slip(), 0..3),
    ) {
        let texts = [
            slipped(FLAP_LEFT, &left),
            slipped(RIGHT, &right),
            slipped(LIMITS, &limits),
            slipped(faying_plan::tools::STARTER, &tools),
            slipped(PEOPLE, &people),
            slipped(GATES, &gates),
        ];
        let [left, right, limits, tools, people, gates] = &texts;
        let reading = build_with(left, right, limits, tools, people, gates);
        check(&reading);
        for yoke in &reading.plan.tools.yokes {
            prop_assert!(yoke.squeezers.iter().all(|&n| n < reading.plan.tools.squeezers.len()));
        }
        prop_assert_eq!(shown(&reading), shown(&build_with(left, right, limits, tools, people, gates)));
    }

    /// Text that was never a plan.
    #[test]
    fn any_text(text in "\\PC{0,80}", bits in prop::collection::vec(0..BITS.len(), 0..40)) {
        check(&build(&text, RIGHT, ""));
        let bits: String = bits.into_iter().map(|bit| BITS[bit]).collect();
        check(&build_with(&bits, &text, &bits, &text, &bits, &text));
        check(&build_with(&text, &bits, &text, &bits, &text, &bits));
    }
}

/// Each line of the example left out in turn: a plan remains, and every finding can be shown.
#[test]
fn any_one_line_may_be_missing() {
    let tools = faying_plan::tools::STARTER;
    for text in [FLAP_LEFT, LIMITS, tools] {
        let lines: Vec<&str> = text.lines().collect();
        for left_out in 0..lines.len() {
            let mut rest = lines.clone();
            rest.remove(left_out);
            let rest = rest.join("\n");
            check(&match text {
                LIMITS => build(FLAP_LEFT, RIGHT, &rest),
                FLAP_LEFT => build(&rest, RIGHT, LIMITS),
                _ => build_with(FLAP_LEFT, RIGHT, LIMITS, &rest, PEOPLE, GATES),
            });
        }
    }
}

/// Nested a hundred thousand deep, and rows that are like one another five
/// thousand long, on the small stack of a server's thread.
#[test]
fn depth_does_not_run_out_of_stack() {
    use std::fmt::Write as _;
    for open in ["[", "{ a = ", "a."] {
        check(&build(&format!("a = {}", open.repeat(100_000)), &open.repeat(100_000), ""));
    }
    let mut chain =
        String::from("format = 1\nid = \"flap-left\"\nusual.rivet = \"MS20470AD4\"\n[parts]\nweb = {}\n");
    chain.push_str("[planes.web]\nlayers = [\"web\"]\n[planes.web.rows]\n");
    for row in 0..5_000 {
        writeln!(chain, "R{row} = {{ like = \"R{}\", shift = [0, 0.001] }}", row + 1).unwrap();
    }
    chain.push_str("R5000 = { at = [[1, 1]] }\n");
    let small = std::thread::Builder::new().stack_size(512 * 1024);
    let reading = small.spawn(move || build(&chain, "", "format = 1\n")).unwrap().join().unwrap();
    let first = reading.plan.hole_named("flap-left/web/R0/1").unwrap();
    assert_eq!(reading.plan[first].at.unwrap().inches(), [1.0, 6.0]);
}
