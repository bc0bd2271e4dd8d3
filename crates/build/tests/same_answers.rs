//! What must not change what is known: an edit of the plan over recorded holes, the other hand taken for
//! the first, and the unit in which the plan is written.

#![allow(clippy::unwrap_used, reason = "a test may fail")]

use std::collections::BTreeSet;
use std::fmt::Write;
use std::sync::atomic::{AtomicU32, Ordering};

use faying_build::room::HoleStatus;
use faying_build::{ActRequest, Answer, Build, Disk, Folder, PlanSide};
use faying_plan::{GateId, HoleId, SourceText, StepId};
use proptest::prelude::*;
use serde_json::{Value, json};

/// A row of a made-up plane: from (x, y) in twentieths of an inch, so many holes at a pitch of an inch.
#[derive(Clone, Debug)]
struct Row {
    name: String,
    x: i64,
    y: i64,
    count: i64,
    called: u8,
}

/// A number of twentieths of an inch, in the unit of the file: exact in both.
fn number(twentieths: i64, metric: bool) -> String {
    let thousandths = twentieths * 50;
    if metric {
        // .05 in is 1.27 mm.
        let hundredths = twentieths * 127;
        format!(
            "{}{}.{:02}",
            if hundredths < 0 { "-" } else { "" },
            hundredths.abs() / 100,
            hundredths.abs() % 100
        )
    } else {
        format!(
            "{}{}.{:03}",
            if thousandths < 0 { "-" } else { "" },
            thousandths.abs() / 1000,
            thousandths.abs() % 1000
        )
    }
}

/// A web with a doubler over part of it and a rib that comes later, and rows where they fall.
fn text(rows: &[Row], metric: bool) -> String {
    let n = |twentieths| number(twentieths, metric);
    let mut text = format!(
        "format = 1\nid = \"tab\"\nunits = \"{}\"\n[usual]\nrivet = \"MS20470AD4\"\nhead = \"aft\"\n[parts]\n\
         web = {{ thickness = \".040 in\" }}\ndoubler = {{ thickness = \".063 in\" }}\nrib = {{ thickness = \".025 in\" }}\n\
         [planes.web]\nnear = \"aft\"\nfar = \"forward\"\nlayers = [\"rib\", \"web\", \"doubler\"]\n\
         outline.web = {{ rect = [{}, {}, {}, {}] }}\noutline.doubler = {{ rect = [{}, {}, {}, {}] }}\n\
         outline.rib = {{ rect = [{}, {}, {}, {}] }}\n[planes.web.rows]\n",
        if metric { "mm" } else { "in" },
        n(-20),
        n(-20),
        n(1_000),
        n(400),
        n(-20),
        n(-20),
        n(300),
        n(400),
        n(200),
        n(-20),
        n(300),
        n(400),
    );
    for Row { name, x, y, count, called } in rows {
        let _ = writeln!(
            text,
            "{name} = {{ from = [{}, {}], to = [{}, {}], count = {count}, called = \"-{called}\" }}",
            n(*x),
            n(*y),
            n(x + (count - 1) * 20),
            n(*y)
        );
    }
    let names: Vec<String> = rows.iter().map(|row| format!("\"web/{}\"", row.name)).collect();
    let sets = names.join(", ");
    let _ = write!(
        text,
        "[steps.prime]\nhours = 3\n[steps.web]\nadds = [\"web\", \"doubler\"]\nsets = [{sets}]\nafter = [\"prime\"]\n\
         [steps.rib]\nadds = [\"rib\"]\nsets = [{sets}]\nafter = [\"web\"]\ncloses = [\"web: aft\"]\n"
    );
    text
}

/// Rows one above the other, two inches apart, so that no two holes share a place.
fn rows() -> impl Strategy<Value = Vec<Row>> {
    prop::collection::vec((0_i64..100, 2_i64..7, 4_u8..8), 1..6).prop_map(|list| {
        list.into_iter()
            .enumerate()
            .map(|(at, (x, count, called))| Row {
                name: char::from(b'A' + u8::try_from(at).unwrap()).to_string(),
                x,
                y: 40 * i64::try_from(at).unwrap(),
                count,
                called,
            })
            .collect()
    })
}

/// Something that a builder does to the text of a row.
#[derive(Clone, Debug)]
enum Edit {
    Longer,
    Shorter,
    OneBefore,
    Rename,
    Remove,
    Call(u8),
    Insert,
}

fn edits() -> impl Strategy<Value = Vec<(usize, Edit)>> {
    let edit = prop_oneof![
        Just(Edit::Longer),
        Just(Edit::Shorter),
        Just(Edit::OneBefore),
        Just(Edit::Rename),
        Just(Edit::Remove),
        (4_u8..8).prop_map(Edit::Call),
        Just(Edit::Insert),
    ];
    prop::collection::vec((0_usize..6, edit), 1..5)
}

fn edited(rows: &[Row], edits: &[(usize, Edit)]) -> Vec<Row> {
    let mut rows = rows.to_vec();
    for (number, (at, edit)) in edits.iter().enumerate() {
        let at = at % rows.len();
        let last = rows.len() == 1;
        let row = &mut rows[at];
        match edit {
            Edit::Longer => row.count += 1,
            Edit::Shorter => row.count = (row.count - 1).max(1),
            Edit::OneBefore => {
                row.x -= 20;
                row.count += 1;
            }
            Edit::Rename => row.name = format!("N{number}"),
            // A plan without a row says nothing.
            Edit::Remove if last => {}
            Edit::Remove => {
                rows.remove(at);
            }
            Edit::Call(called) => row.called = *called,
            // Above all others; the name is one that no row has had.
            Edit::Insert => {
                let y = 40 * (8 + i64::try_from(number).unwrap());
                rows.push(Row { name: format!("I{number}"), x: 0, y, count: 2, called: 4 });
            }
        }
    }
    rows
}

static NEXT: AtomicU32 = AtomicU32::new(1);

fn taken(build: &Build, act: Value) {
    let id = format!("act-{}", NEXT.fetch_add(1, Ordering::Relaxed));
    let act = serde_json::from_value(act).unwrap();
    let at = "2026-05-12T19:30:12+02:00".into();
    let answer =
        build.act(ActRequest { id, person: String::new(), at, revision: None, build: None, act }).unwrap();
    assert!(matches!(answer, Answer::Taken { .. }), "{answer:?}");
}

/// Places of holes that are set, in twentieths of an inch.
fn set_places(build: &Build) -> BTreeSet<(i64, i64)> {
    let world = build.world();
    let plan = world.plan();
    (0..plan.holes.len())
        .map(HoleId::from_index)
        .filter(|&hole| world.state.status(hole) == HoleStatus::Set)
        .map(|hole| {
            let [x, y] = plan[hole].at.unwrap().inches();
            #[expect(clippy::cast_possible_truncation, reason = "inches of a made-up plan")]
            let twentieths = |inches: f64| (inches * 20.0).round() as i64;
            (twentieths(x), twentieths(y))
        })
        .collect()
}

/// Places of a row's holes.
fn places(row: &Row) -> Vec<(i64, i64)> {
    (0..row.count).map(|hole| (row.x + 20 * hole, row.y)).collect()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 40, ..ProptestConfig::default() })]

    /// What was set at a place is still set there if the new plan has a hole there, and is named as an orphan
    /// if not; nothing is set where nothing was.
    #[test]
    fn no_act_is_orphaned_in_silence(rows in rows(), edits in edits()) {
        let folder = tempfile::tempdir().unwrap();
        let kit = folder.path().join("kit");
        Folder::create(&kit, &[("plan/tab.toml", &text(&rows, false))]).unwrap();
        let build = Build::open_with(&kit, &Disk { sync: false, ..Disk::default() }).unwrap();
        let mut set = BTreeSet::new();
        for row in &rows {
            // Every other hole, and the first.
            let some: Vec<i64> = (1..=row.count).filter(|n| n % 2 == 1).collect();
            let names: Vec<String> = some.iter().map(|n| format!("tab/web/{}/{n}", row.name)).collect();
            taken(&build, json!({ "kind": "set-before", "holes": names }));
            set.extend(some.iter().map(|n| places(row)[usize::try_from(n - 1).unwrap()]));
        }
        prop_assert_eq!(&set_places(&build), &set);
        let after = edited(&rows, &edits);
        std::fs::write(kit.join("plan/tab.toml"), format!("{}# edited\n", text(&after, false))).unwrap();
        build.refresh().unwrap();
        // A row that moves as a whole keeps its names and their record, which is another rule.
        let moved = |row: &Row| after.iter().any(|it| it.name == row.name && it.count == row.count && it.x != row.x);
        prop_assume!(!rows.iter().any(moved));
        let here: BTreeSet<(i64, i64)> = after.iter().flat_map(places).collect();
        let kept: BTreeSet<(i64, i64)> = set.intersection(&here).copied().collect();
        // Before it is adopted as after it: a page shows it as it will be.
        for _ in 0..2 {
            prop_assert_eq!(&set_places(&build), &kept);
            let orphans = build.world().state.orphans.len();
            prop_assert_eq!(orphans, set.len() - kept.len(), "what is gone is named");
            taken(&build, json!({ "kind": "note", "text": "adopted with this" }));
        }
    }

    /// The same plan in millimetres: the same layers, call-outs, steps and gates.
    #[test]
    fn inches_and_millimetres_give_the_same_answers(rows in rows()) {
        let side = |metric| {
            PlanSide::of(vec![SourceText { name: "plan/tab.toml".into(), text: text(&rows, metric).into() }])
        };
        prop_assert_eq!(answers(&side(false), "tab"), answers(&side(true), "tab"));
    }
}

/// Everything that a plan's own side says of an assembly's holes, steps and gates, in words and numbers.
fn answers(side: &PlanSide, assembly: &str) -> Vec<String> {
    let plan = &side.plan;
    let mut said = Vec::new();
    for hole in (0..plan.holes.len()).map(HoleId::from_index) {
        let name = plan.hole_name(hole);
        let Some(own) = name.strip_prefix(assembly).filter(|rest| rest.starts_with('/')) else { continue };
        let layers: Vec<String> =
            side.joints.stacks.at(hole).iter().map(|&piece| plan.piece_name(piece)).collect();
        let joint = side.joints.at(hole);
        let call = joint.map(|it| {
            (it.dash(), it.head.side, format!("{:?}", it.seats.as_ref().map(|seats| seats.seat_to_seat)))
        });
        let due = side.sequence.due(hole).map(|step| plan[step].name.clone());
        said.push(format!("{own}: {layers:?} {call:?} {due:?}"));
    }
    for step in
        (0..plan.steps.len()).map(StepId::from_index).filter(|&it| plan[plan[it].assembly].id == assembly)
    {
        let open: Vec<String> = side
            .sequence
            .work(step)
            .open
            .iter()
            .map(|(hole, why)| {
                format!("{} {}", plan[*hole].number, format!("{why:?}").split(['{', '(']).next().unwrap())
            })
            .collect();
        said.push(format!("{}: {open:?}", plan[step].name));
    }
    for gate in (0..plan.gates.len()).map(GateId::from_index) {
        if plan[gate].assembly.is_some_and(|it| plan[it].id == assembly) {
            let late = side.sequence.scope(gate).late.len();
            said.push(format!("gate {}: {} late", plan[gate].name, late));
        }
    }
    said
}

/// Mirrored twice is the first again: whichever hand is written down, both say the same.
#[test]
fn either_hand_may_be_the_one_that_is_written() {
    let wing = include_str!("../../../plans/teasel/wing-left.toml");
    let bellcrank = include_str!("../../../plans/teasel/bellcrank.toml");
    let flap = include_str!("../../../plans/teasel/flap-left.toml");
    let file = |name: &str, text: String| SourceText { name: name.into(), text: text.into() };
    let other = |id: &str, of: &str| format!("format = 1\nid = \"{id}\"\nmirror = \"{of}\"\n");
    let rest = || [file("plan/bellcrank.toml", bellcrank.into()), file("plan/wing-left.toml", wing.into())];
    let first = PlanSide::of(
        [
            file("plan/flap-left.toml", flap.into()),
            file("plan/flap-right.toml", other("flap-right", "flap-left")),
        ]
        .into_iter()
        .chain(rest())
        .collect(),
    );
    let second = PlanSide::of(
        [
            file("plan/flap-left.toml", other("flap-left", "flap-right")),
            file(
                "plan/flap-right.toml",
                flap.replace("id = \"flap-left\"", "id = \"flap-right\"")
                    .replace("flap-left/", "flap-right/"),
            ),
        ]
        .into_iter()
        .chain(rest())
        .collect(),
    );
    for hand in ["flap-left", "flap-right"] {
        let (a, b) = (answers(&first, hand), answers(&second, hand));
        // 225 holes, eight steps, two gates.
        assert_eq!(a.len(), 235);
        assert_eq!(a, b, "{hand}");
    }
    // And one hand says of its holes what the other does.
    assert_eq!(answers(&first, "flap-left"), answers(&first, "flap-right"));
    // The drawing is reversed once and not twice.
    let mirrored = |side: &PlanSide, id: &str| side.plan[side.plan.assembly_named(id).unwrap()].mirrored;
    assert!(!mirrored(&first, "flap-left") && mirrored(&first, "flap-right"));
    assert!(mirrored(&second, "flap-left") && !mirrored(&second, "flap-right"));
}
