//! Row entry on the disk: the file's text before and after, and what is refused.

use std::path::Path;

use faying_build::entry::drawing::{self, DrawingAnswers, OtherPart, SizeRivet};
use faying_build::entry::{self, Edit, EntryError, RowEntry};
use faying_build::{Build, Folder, start_text};

const FLAP: &str = r#"# my flap, sheet 7
format = 1
id = "flap"   # short
[parts]
web     = { thickness = 0.040, material = "2024-T3" }   # bent at home
doubler = { thickness = 0.063, material = "2024-T3" }

# counted from the sheet
[rows]
A = { count = 6, called = "MS20470AD4-5", through = ["doubler", "web"] }   # hinge
"#;

struct Bench {
    build: Build,
    folder: tempfile::TempDir,
}

impl Bench {
    fn new(text: &str) -> Self {
        let folder = tempfile::tempdir().expect("a temporary folder");
        let path = folder.path().join("build");
        Folder::create(&path, &[("plan/flap.toml", text)]).expect("a new build");
        Self { build: Build::open(&path).expect("it opens"), folder }
    }

    fn path(&self, name: &str) -> std::path::PathBuf {
        self.folder.path().join("build").join(name)
    }

    fn text(&self) -> String {
        std::fs::read_to_string(self.path("plan/flap.toml")).expect("the plan is there")
    }

    fn write(&self, edit: &Edit) -> Result<String, EntryError> {
        entry::write(&self.build, "flap", &entry::mark(&self.text()), edit).map(|written| written.says)
    }
}

fn row(line: &str) -> RowEntry {
    RowEntry { line: line.into(), rivet: "MS20470AD4".into(), ..RowEntry::default() }
}

#[test]
fn a_part_and_a_row_are_spliced_in_and_nothing_else_changes() {
    let bench = Bench::new(FLAP);
    let part = Edit::AddPart { line: "rib .025 2024-T3".into(), step: String::new() };
    assert_eq!(bench.write(&part).unwrap(), "Part rib is in the plan.");
    assert_eq!(bench.write(&Edit::AddRow(row("26 × -4, rib to web"))).unwrap(), "Row B is in the plan.");
    let want = FLAP
        .replace(
            "doubler = { thickness = 0.063, material = \"2024-T3\" }\n",
            "doubler = { thickness = 0.063, material = \"2024-T3\" }\nrib = { material = \"2024-T3\", thickness = 0.025 }\n",
        )
        + "B = { count = 26, called = \"MS20470AD4-4\", through = [\"rib\", \"web\"] }\n";
    assert_eq!(bench.text(), want);
    // The open build has it at once.
    let world = bench.build.world();
    assert_eq!(world.plan()[world.plan().row_named("flap/B").unwrap()].count(), 26);
}

#[test]
fn a_file_that_changed_meanwhile_is_left_alone() {
    let bench = Bench::new(FLAP);
    let seen = entry::mark(&bench.text());
    let theirs = FLAP.replace("count = 6", "count = 8");
    std::fs::write(bench.path("plan/flap.toml"), &theirs).unwrap();
    let error =
        entry::write(&bench.build, "flap", &seen, &Edit::AddRow(row("2 -5, doubler to web"))).unwrap_err();
    assert!(matches!(error, EntryError::Changed { .. }));
    assert_eq!(
        error.to_string(),
        "plan/flap.toml has changed since this page was made, so nothing was written; look at it again below, then send this again"
    );
    assert_eq!(bench.text(), theirs);
    // Sent again from what is there now, it is taken.
    bench.write(&Edit::AddRow(row("2 -5, doubler to web"))).unwrap();
    assert!(bench.text().starts_with(&theirs));
}

#[test]
fn what_would_not_be_usable_is_refused() {
    let bench = Bench::new(FLAP);
    let change = |thickness: &str| Edit::ChangePart {
        part: "web".into(),
        thickness: thickness.into(),
        material: String::new(),
    };
    for (edit, want) in [
        (change("thick"), "\"thick\" is not a length"),
        (
            Edit::AddRow(RowEntry { name: "A".into(), ..row("2 -5, doubler to web") }),
            "there is already a row \"A\"",
        ),
        (Edit::AddRow(row("2 -99, doubler to web")), "-99"),
        (Edit::AddPart { line: "web .032".into(), step: String::new() }, "there is already a part \"web\""),
    ] {
        let error = bench.write(&edit).unwrap_err().to_string();
        assert!(error.contains(want), "{error}");
        assert!(error.contains("; "), "it says what to do next: {error}");
    }
    assert_eq!(bench.text(), FLAP);
    bench.write(&change("1/32")).unwrap();
    assert_eq!(bench.text(), FLAP.replace("0.040", "\"1/32\""));
}

#[test]
fn one_step_takes_everything_and_later_rows_join_it() {
    let bench = Bench::new(FLAP);
    bench.write(&Edit::OneStep).unwrap();
    let step = "[steps.assemble]\nadds = [\"web\", \"doubler\"]\nsets = [\"A\"]\n";
    assert_eq!(bench.text(), format!("{FLAP}{step}"));
    let later = RowEntry { step: "assemble".into(), ..row("4 -5, doubler to web") };
    bench.write(&Edit::AddRow(later)).unwrap();
    assert!(bench.text().ends_with("sets = [\"A\", \"B\"]\n"), "{}", bench.text());
    bench.write(&Edit::AddRow(row("3 -5, doubler to web"))).unwrap();
    assert_eq!(bench.write(&Edit::IntoStep { step: "assemble".into() }).unwrap(), "C is in step assemble.");
    {
        let world = bench.build.world();
        let step = world.plan().step_named("flap/assemble").unwrap();
        assert_eq!(world.side.sequence.work(step).fill.len(), 6 + 4 + 3, "a run of it has every hole");
    }
    bench.write(&Edit::RemoveRow { row: "B".into() }).unwrap();
    assert!(bench.text().ends_with("sets = [\"A\", \"C\"]\n") && !bench.text().contains("\nB = "));
}

#[test]
fn a_preview_tells_what_would_be_found_and_writes_nothing() {
    let bench = Bench::new(FLAP);
    let world = bench.build.world();
    let preview = entry::preview(&world, "flap", &row("26 × -3, doubler to web")).unwrap();
    assert_eq!((preview.row.count, preview.row.stack.as_str()), (26, ".103 in"));
    // By hand: Σ t = .063 + .040. -3 is .1875 long, a tail of (.1875 − .103) / .125 = 0.68 d: no head can come of
    // it. -4 has 1.18 d and -5 1.68 d; the first is nearer to the band from 1.33 to 1.5 d.
    let kinds: Vec<&str> = preview.findings.iter().map(|finding| finding.kind).collect();
    assert_eq!(kinds, ["call-out-short"], "{}", preview.row.verdict);
    assert_eq!(preview.row.verdict, "-3 is too short; computed -4");
    assert_eq!(bench.text(), FLAP);
    assert!(world.plan().row_named("flap/B").is_none());
}

#[test]
fn the_other_hand_and_a_new_assembly_are_files_of_their_own() {
    let bench = Bench::new(FLAP);
    entry::mirror(&bench.build, "flap", "flap-right", "Right flap").unwrap();
    let text = std::fs::read_to_string(bench.path("plan/flap-right.toml")).unwrap();
    assert_eq!(text, "format = 1\nid = \"flap-right\"\ntitle = \"Right flap\"\nmirror = \"flap\"\n");
    assert!(bench.build.world().plan().row_named("flap-right/A").is_some());
    entry::new_assembly(&bench.build, "tab", "", "mm").unwrap();
    for (id, want) in
        [("tab", "there is already a file"), ("../tab", "cannot be the short name"), ("", "cannot be")]
    {
        let error = entry::new_assembly(&bench.build, id, "", "in").unwrap_err().to_string();
        assert!(error.contains(want), "{error}");
    }
    assert!(entry::mirror(&bench.build, "flap-right", "flap-left", "").is_err());
    // The other hand has no rows of its own to write.
    let seen = entry::mark(&text);
    let error = entry::write(&bench.build, "flap-right", &seen, &Edit::AddRow(row("2 -5"))).unwrap_err();
    assert!(error.to_string().contains("edit flap"), "{error}");
}

#[test]
fn a_mark_in_front_and_foreign_line_ends_stay() {
    let text = format!("\u{feff}{}", FLAP.replace('\n', "\r\n"));
    let bench = Bench::new(&text);
    let seen = entry::mark(text.trim_start_matches('\u{feff}'));
    entry::write(&bench.build, "flap", &seen, &Edit::AddRow(row("2 -5, doubler to web"))).unwrap();
    let line = "B = { count = 2, called = \"MS20470AD4-5\", through = [\"doubler\", \"web\"] }\r\n";
    assert_eq!(bench.text(), format!("{text}{line}"));
}

/// A web with one line of #40 and one of #30 holes, drawn here by hand; the unit is in the header or not.
fn drawing(header: bool) -> Vec<u8> {
    let mut text = String::new();
    let mut put = |code: i32, value: &str| text.push_str(&format!("{code}\n{value}\n"));
    if header {
        for (code, value) in [(0, "SECTION"), (2, "HEADER"), (9, "$INSUNITS"), (70, "1"), (0, "ENDSEC")] {
            put(code, value);
        }
    }
    put(0, "SECTION");
    put(2, "ENTITIES");
    put(0, "LWPOLYLINE");
    put(8, "CUT");
    put(90, "4");
    put(70, "1");
    for (x, y) in [("0", "0"), ("10", "0"), ("10", "4"), ("0", "4")] {
        put(10, x);
        put(20, y);
    }
    for (radius, y, count) in [("0.049", "0.5", 9), ("0.06425", "3.5", 5)] {
        for at in 1..=count {
            put(0, "CIRCLE");
            put(8, "HOLES");
            put(10, &at.to_string());
            put(20, y);
            put(40, radius);
        }
    }
    put(0, "ENDSEC");
    put(0, "EOF");
    text.into_bytes()
}

fn answers() -> DrawingAnswers {
    DrawingAnswers {
        part: "spar web".into(),
        thickness: ".032".into(),
        material: "2024-T3".into(),
        near: "aft".into(),
        far: "forward".into(),
        others: vec![OtherPart { part: "web".into(), side: "far".into(), ..OtherPart::default() }],
        rivets: vec![
            SizeRivet { size: "#40".into(), rivet: "MS20426AD3".into(), flush: "dimpled".into() },
            SizeRivet { size: "#30".into(), rivet: "MS20470AD4".into(), flush: String::new() },
        ],
        head: "near".into(),
        one_step: true,
        ..DrawingAnswers::default()
    }
}

#[test]
fn a_drawing_becomes_a_plane_with_what_was_answered() {
    let bench = Bench::new(FLAP);
    let written =
        drawing::import(&bench.build, "flap", &entry::mark(FLAP), &drawing(true), &answers()).unwrap();
    assert_eq!(written.says, "Plane spar-web is in the plan: 14 holes in 2 rows.");
    let text = bench.text();
    for line in FLAP.lines() {
        assert!(text.lines().any(|it| it == line), "{line} has gone:\n{text}");
    }
    for line in [
        "spar-web = { title = \"spar web\", material = \"2024-T3\", thickness = 0.032 }",
        "near = \"aft\"",
        "far = \"forward\"",
        "layers = [\"spar-web\", \"web\"]   # near to far",
        "outline.spar-web = { rect = [0, 0, 10, 4] }",
    ] {
        assert!(text.lines().any(|it| it == line), "{line} is missing:\n{text}");
    }
    let world = bench.build.world();
    let plan = world.plan();
    let joint = |row: &str| {
        let row = plan.row_named(row).unwrap();
        let hole = plan[row].hole_ids().next().unwrap();
        (
            plan[row].count(),
            world.side.joints.at(hole).unwrap().rivet.to_string(),
            world.side.sequence.due(hole),
        )
    };
    let step = plan.step_named("flap/assemble");
    assert!(step.is_some());
    assert_eq!(joint("flap/spar-web/A"), (9, "MS20426AD3".to_owned(), step));
    assert_eq!(joint("flap/spar-web/B"), (5, "MS20470AD4".to_owned(), step));
}

#[test]
fn a_drawing_asks_for_what_it_does_not_know() {
    let unit = faying_build::room::Unit::Inch;
    let shown = drawing::look(&drawing(false), "", &[], unit).unwrap();
    assert_eq!((shown.unit, shown.taken), (None, [1, 0, 14]));
    let shown = drawing::look(&drawing(false), "in", &[], unit).unwrap();
    assert_eq!((shown.unit, shown.taken, shown.extent.as_str()), (Some("in"), [1, 0, 14], "10 in × 4 in"));
    let sizes: Vec<(&str, usize, usize)> =
        shown.sizes.iter().map(|it| (it.size.as_str(), it.holes, it.rivets.len())).collect();
    assert_eq!(sizes, [("#40", 9, 2), ("#30", 5, 2)]);
    assert_eq!(drawing::look(&drawing(false), "in", &["holes".to_owned()], unit).unwrap().taken, [1, 0, 0]);

    let refused = |bytes: &[u8], answers: &DrawingAnswers| {
        drawing::imported(FLAP, "flap", bytes, answers).unwrap_err().to_string()
    };
    assert_eq!(
        refused(&drawing(false), &answers()),
        "the drawing does not say its unit; choose the unit it was drawn in"
    );
    let unnamed = DrawingAnswers { part: " ".into(), ..answers() };
    assert_eq!(
        refused(&drawing(true), &unnamed),
        "the drawing's part has no name; write which part the outline is, such as web"
    );
    let other = DrawingAnswers { units: "in".into(), ..answers() };
    assert_eq!(
        refused(b"0\nEOF\n", &other),
        "the drawing gives no outline and no hole; look whether its unit and its layers are right"
    );
}

#[test]
fn a_build_from_nothing_can_be_typed_in() {
    let bench = Bench::new(&start_text("flap", "in"));
    for line in ["web .040 2024-T3", "doubler .063 2024-T3"] {
        bench.write(&Edit::AddPart { line: line.into(), step: String::new() }).unwrap();
    }
    bench.write(&Edit::AddRow(row("26 × -5, doubler to web"))).unwrap();
    bench.write(&Edit::OneStep).unwrap();
    assert!(bench.build.world().side.findings.is_empty(), "{:?}", bench.build.world().side.findings);
    for line in start_text("flap", "in").lines() {
        assert!(bench.text().contains(line), "{line} has gone");
    }
    assert!(!hidden_files(&bench.path("plan")), "nothing half written is left");
}

fn hidden_files(folder: &Path) -> bool {
    std::fs::read_dir(folder)
        .expect("a folder")
        .any(|it| it.expect("an entry").file_name().to_string_lossy().starts_with('.'))
}
