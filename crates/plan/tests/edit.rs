//! Write-back: the rest of the file stays as it is, byte for byte.

use faying_plan::edit::{
    EditError, PartText, RowText, StepText, add_part, add_plane, add_row, add_step, change_part, copy_row,
    extend_step, new_assembly, remove_row, set_called, unset_row,
};
use faying_plan::{SourceText, read};
use faying_standards::Unit;
use proptest::prelude::*;

const FLAP_LEFT: &str = include_str!("flap-left.toml");

fn counted(count: u32, called: &str) -> RowText {
    RowText { count: Some(count), called: called.to_owned(), ..RowText::default() }
}

/// The lines that `new` has more than `old`; asserts that without them it is the old text.
fn added(old: &str, new: &str) -> String {
    let from = old.bytes().zip(new.bytes()).take_while(|(a, b)| a == b).count();
    let start = old[..from].rfind('\n').map_or(0, |at| at + 1);
    let more = new.len().checked_sub(old.len()).expect("something was added");
    // The first place from the start of that line on at which taking `more` bytes out gives the old text.
    let at = (start..=from)
        .find(|&at| new.get(..at).zip(new.get(at + more..)).is_some_and(|(a, b)| format!("{a}{b}") == old));
    let at = at.unwrap_or_else(|| panic!("the rest has changed:\n{new}"));
    new[at..at + more].to_owned()
}

fn kinds(text: &str) -> Vec<(&'static str, String)> {
    let reading = read(vec![SourceText { name: "plan/x.toml".into(), text: text.into() }]);
    reading.findings.into_iter().map(|finding| (finding.kind, finding.what)).collect()
}

#[test]
fn a_row_goes_behind_the_last_of_its_plane() {
    let row = RowText {
        from: Some(["1".into(), ".5".into()]),
        to: Some(["1 1/2".into(), "12 mm".into()]),
        pitch: "1.25".into(),
        rivet: "MS20470AD4".into(),
        note: "the \"short\" one".into(),
        ..RowText::default()
    };
    let new = add_row(FLAP_LEFT, Some("web"), "C", &row).unwrap();
    let line = concat!(
        r#"C = { from = [1, 0.5], to = ["1 1/2", "12 mm"], pitch = 1.25, rivet = "MS20470AD4", "#,
        r#"note = "the \"short\" one" }"#,
        "\n"
    );
    assert_eq!(added(FLAP_LEFT, &new), line);
    assert!(new.contains(&format!("B = {{ like = \"A\", shift = [0, 3.5] }}\n{line}[planes.upper]\n")));
}

#[test]
fn a_row_without_a_plane_goes_to_the_rows() {
    let mut row = counted(6, "MS20470AD4-5");
    row.through = vec!["doubler".into(), "web".into()];
    let new = add_row(FLAP_LEFT, None, "M", &row).unwrap();
    assert_eq!(
        added(FLAP_LEFT, &new),
        "M = { count = 6, called = \"MS20470AD4-5\", through = [\"doubler\", \"web\"] }\n"
    );
    let [before, after] = kinds_of([FLAP_LEFT, &new]);
    // One more row that no step sets, and nothing else.
    assert_eq!(after.len(), before.len() + 1);
    assert!(after.contains(&("never-set", "row M is set at no step".to_owned())));
}

fn kinds_of(texts: [&str; 2]) -> [Vec<(&'static str, String)>; 2] {
    texts.map(kinds)
}

#[test]
fn a_section_that_is_missing_is_made_where_it_belongs() {
    let text = "# my tab\nformat = 1\nid = \"tab\" # short\n\n[parts]\nweb = {} # bent\n\n# the order of work\n[steps]\nfit = { adds = [\"web\"] }\n";
    let new = add_row(text, None, "A", &counted(2, "MS20470AD4-4")).unwrap();
    assert_eq!(added(text, &new), "[rows]\nA = { count = 2, called = \"MS20470AD4-4\" }\n");
    assert!(new.contains("web = {} # bent\n[rows]\n"));
    let text = "format = 1\nid = \"tab\"";
    let new = add_part(text, "web", &PartText { thickness: ".032".into(), ..PartText::default() }).unwrap();
    assert_eq!(new, "format = 1\nid = \"tab\"\n[parts]\nweb = { thickness = 0.032 }");
}

/// Rows may be written under dotted names, under headings of their own, or not yet at all.
#[test]
fn a_row_is_written_as_its_neighbours_are() {
    let head = "format = 1\nid = \"tab\"\n[parts]\nweb = {}\n[planes.p]\nlayers = [\"web\"]\n";
    let tail = "[steps]\nfit = { adds = [\"web\"] }\n";
    let row = counted(2, "-4");
    let line = "B = { count = 2, called = \"-4\" }\n";
    for (rows, expected) in [
        ("  rows.A = { at = [[1, 1]] } # first\n", format!("  rows.{line}")),
        ("[planes.p.rows.A]\nat = [[1, 1]]\n", format!("[planes.p.rows]\n{line}")),
        ("[planes.p.rows]\n", line.to_owned()),
        ("[planes.p.rows]\n[planes.p.rows.A]\nat = [[1, 1]]\n", line.to_owned()),
        ("", format!("[planes.p.rows]\n{line}")),
    ] {
        let text = format!("{head}{rows}{tail}");
        let new = add_row(&text, Some("p"), "B", &row).unwrap();
        assert_eq!(added(&text, &new), expected, "{new}");
    }
    let inline =
        "format = 1\nid = \"tab\"\n[planes]\np = { layers = [], rows = { A = { at = [[1, 1]] } } }\n";
    insta::assert_snapshot!(
        add_row(inline, Some("p"), "B", &row).unwrap_err(),
        @"the rows cannot be edited here as the file writes it; write [planes.p.rows] with one line for each, or edit the text"
    );
}

/// Line ends as the file has them.
#[test]
fn a_file_of_another_machine_keeps_its_line_ends() {
    let text = FLAP_LEFT.replace('\n', "\r\n");
    let new = add_row(&text, None, "M", &counted(6, "-5")).unwrap();
    assert_eq!(added(&text, &new), "M = { count = 6, called = \"-5\" }\r\n");
    assert_eq!(new.matches('\n').count(), new.matches("\r\n").count());
}

#[test]
fn a_row_is_copied_to_the_line_below() {
    let new = copy_row(FLAP_LEFT, None, "K", "K2").unwrap();
    assert_eq!(
        added(FLAP_LEFT, &new),
        "K2 = { count = 26, called = \"MS20470AD4-5\", note = \"hinge bracket\" }\n"
    );
    assert!(new.contains("note = \"hinge bracket\" }\nK2 = "));
    // The remark behind A's line is about A.
    let new = copy_row(FLAP_LEFT, Some("web"), "A", "C").unwrap();
    assert_eq!(added(FLAP_LEFT, &new), "C = { from = [1, 0.5], to = [46, 0.5], count = 37 }\n");
    let long = "format = 1\nid = \"tab\"\n[rows.A]\ncount = 3 # three\ncalled = \"MS20470AD4-4\"\nhold.why = \"x\"\n";
    let new = copy_row(long, None, "A", "B").unwrap();
    assert_eq!(added(long, &new), "[rows]\nB = { count = 3, called = \"MS20470AD4-4\", hold.why = \"x\" }\n");
}

#[test]
fn a_row_is_taken_out_with_its_line() {
    let new = remove_row(FLAP_LEFT, Some("web"), "B").unwrap();
    assert_eq!(
        FLAP_LEFT,
        new.replacen("[planes.upper]", "B = { like = \"A\", shift = [0, 3.5] }\n[planes.upper]", 1)
    );
    let text = "format = 1\nid = \"tab\"\n# first\n[rows.A]\ncount = 3\nhold.why = \"x\"\n# second\n[rows.B]\ncount = 4\n";
    assert_eq!(
        remove_row(text, None, "A").unwrap(),
        "format = 1\nid = \"tab\"\n# first\n# second\n[rows.B]\ncount = 4\n"
    );
}

#[test]
fn a_call_out_is_put_in_its_place() {
    let new = set_called(FLAP_LEFT, None, "K", "MS20470AD4-6").unwrap();
    assert_eq!(new, FLAP_LEFT.replacen("26, called = \"MS20470AD4-5\"", "26, called = \"MS20470AD4-6\"", 1));
    let new = set_called(FLAP_LEFT, Some("web"), "A", "-4").unwrap();
    assert_eq!(added(FLAP_LEFT, &new), ", called = \"-4\"");
    assert!(new.contains("count = 37, called = \"-4\" }          # the rib's part"));
    let text = "format = 1\nid = \"tab\"\n[rows]\nA = {}\n[rows.B]\ncount = 3 # three\n";
    assert_eq!(set_called(text, None, "A", "-4").unwrap(), text.replace("{}", "{ called = \"-4\" }"));
    assert_eq!(added(text, &set_called(text, None, "B", "-4").unwrap()), "called = \"-4\"\n");
}

#[test]
fn parts_and_steps_go_behind_the_last() {
    let part = PartText {
        material: "2024-T3".into(),
        thickness: "1/8".into(),
        copies: vec!["upper".into(), "lower".into()],
        ..PartText::default()
    };
    let new = add_part(FLAP_LEFT, "angle", &part).unwrap();
    assert_eq!(
        added(FLAP_LEFT, &new),
        "angle = { material = \"2024-T3\", thickness = \"1/8\", copies = [\"upper\", \"lower\"] }\n"
    );
    // The steps of the example stand under headings of their own.
    let step = StepText {
        sheet: "F-2, step 9".into(),
        sets: vec!["K".into()],
        after: vec!["ribs".into()],
        hours: "2.5".into(),
        ..StepText::default()
    };
    let new = add_step(FLAP_LEFT, "hinges", &step).unwrap();
    assert_eq!(
        added(FLAP_LEFT, &new),
        "[steps.hinges]\nsheet = \"F-2, step 9\"\nsets = [\"K\"]\nafter = [\"ribs\"]\nhours = 2.5\n"
    );
    assert!(new.contains("after = [\"ribs\"]\n[steps.hinges]\n"), "behind the last step, before the gates");
}

#[test]
fn a_new_assembly_can_be_filled_from_nothing() {
    let text = new_assembly("tab", "A \"small\" tab", Unit::Millimetre);
    assert_eq!(text, "format = 1\nid = \"tab\"\ntitle = \"A \\\"small\\\" tab\"\nunits = \"mm\"\n");
    let text = add_part(&text, "skin", &PartText { thickness: "0.6".into(), ..PartText::default() }).unwrap();
    let text = add_row(&text, None, "A", &counted(4, "MS20470AD4-4")).unwrap();
    let step = StepText { adds: vec!["skin".into()], sets: vec!["A".into()], ..StepText::default() };
    let text = add_step(&text, "rivet", &step).unwrap();
    assert_eq!(kinds(&text), []);
    insta::assert_snapshot!(text, @r#"
    format = 1
    id = "tab"
    title = "A \"small\" tab"
    units = "mm"
    [parts]
    skin = { thickness = 0.6 }
    [rows]
    A = { count = 4, called = "MS20470AD4-4" }
    [steps.rivet]
    adds = ["skin"]
    sets = ["A"]
    "#);
}

/// What is not done, with the reason and the next move.
#[test]
fn what_is_refused() {
    let row = counted(2, "-4");
    let told = |result: Result<String, EditError>| result.unwrap_err().to_string();
    insta::assert_snapshot!(
        told(add_row(FLAP_LEFT, Some("web"), "A", &row)),
        @r#"there is already a row "A" in plane web; write another name, for example C"#
    );
    insta::assert_snapshot!(
        told(add_step(FLAP_LEFT, "prime-1", &StepText::default())),
        @r#"there is already a step "prime-1"; write another name, for example prime-2"#
    );
    insta::assert_snapshot!(
        told(add_part(FLAP_LEFT, "web", &PartText::default())),
        @r#"there is already a part "web"; write another name, for example web-2"#
    );
    insta::assert_snapshot!(
        told(add_row(FLAP_LEFT, None, "my row", &row)),
        @r#"the name "my row" has a blank or one of / : " \ in it; use letters, digits, - and _, for example rib-2"#
    );
    insta::assert_snapshot!(
        told(add_row(FLAP_LEFT, Some("uper"), "A", &row)),
        @r#"there is no plane "uper" in this file; did you mean "upper"?"#
    );
    insta::assert_snapshot!(
        told(remove_row(FLAP_LEFT, Some("web"), "Q")),
        @r#"there is no row "Q" in plane web; did you mean "A"?"#
    );
    insta::assert_snapshot!(
        told(set_called("format = 1\nid = \"x\"\n", None, "Q", "-4")),
        @r#"there is no row "Q"; it has no row yet"#
    );
    insta::assert_snapshot!(
        told(add_row("format = 1\nid = \"right\"\nmirror = \"left\"\n", None, "A", &row)),
        @"this file is the other hand of left; edit left, or write under [differs] what differs here"
    );
    insta::assert_snapshot!(
        told(add_row("format = 1\nid = \"tab\n", None, "A", &row)),
        @r#"
    this file:2:10  this text has no closing quotation mark
      2 │ id = "tab
        │          ^
      texts stand in quotes, and the closing one is on the same line
    "#
    );
}

proptest! {
    /// Whatever is typed into a form: a row added and taken out again leaves the file as it was,
    /// and what was typed is what is read.
    #[test]
    fn a_row_added_and_taken_out_leaves_no_trace(
        name in "[A-Za-z0-9_é-]{1,8}", note in "\\PC{0,20}", pitch in "[ -~]{0,8}", count in 1_u32..200,
        plane in prop::option::of(Just("web")),
    ) {
        prop_assume!(!["A", "B", "K", "L"].contains(&name.as_str()));
        let row = RowText { count: Some(count), pitch: pitch.clone(), note: note.clone(), ..RowText::default() };
        let new = add_row(FLAP_LEFT, plane, &name, &row).unwrap();
        let tree: toml::Table = new.parse().unwrap();
        let rows = match plane {
            Some(plane) => &tree["planes"][plane]["rows"],
            None => &tree["rows"],
        };
        let read = |key: &str| rows[&name].get(key).and_then(toml::Value::as_str).map(str::to_owned);
        prop_assert_eq!(read("note").unwrap_or_default(), note.trim());
        prop_assert_eq!(rows[&name]["count"].as_integer(), Some(i64::from(count)));
        if let Some(pitch_read) = read("pitch") {
            prop_assert_eq!(pitch_read, pitch.trim());
        }
        prop_assert_eq!(remove_row(&new, plane, &name).unwrap(), FLAP_LEFT);
    }

    /// No text and no name makes an edit panic.
    #[test]
    fn edits_never_panic(text in "\\PC{0,60}", cut in 0..FLAP_LEFT.len(), name in "\\PC{0,6}") {
        let cut = (0..=cut).rev().find(|&at| FLAP_LEFT.is_char_boundary(at)).unwrap();
        for text in [text.as_str(), &FLAP_LEFT[..cut]] {
            let _ = add_row(text, None, &name, &counted(2, &name));
            let _ = add_row(text, Some("web"), &name, &counted(2, &name));
            let _ = copy_row(text, Some("web"), "A", &name);
            let _ = remove_row(text, Some("web"), "B");
            let _ = set_called(text, None, "K", &name);
            let _ = add_part(text, &name, &PartText::default());
            let _ = add_step(text, &name, &StepText::default());
        }
    }
}

#[test]
fn a_row_says_how_its_layers_are_prepared() {
    let text = "format = 1\nid = \"tab\"\n[rows]\n";
    let row = RowText {
        count: Some(6),
        called: "MS20426AD3-3.5".into(),
        through: vec!["skin".into(), "rib".into()],
        prep: vec![("skin".into(), "dimpled".into()), ("rib".into(), "dimpled".into())],
        ..RowText::default()
    };
    let line = concat!(
        r#"A = { count = 6, called = "MS20426AD3-3.5", through = ["skin", "rib"], "#,
        r#"prep = { skin = "dimpled", rib = "dimpled" } }"#,
        "\n"
    );
    assert_eq!(added(text, &add_row(text, None, "A", &row).unwrap()), line);
}

#[test]
fn a_part_is_changed_where_it_stands() {
    let text = "format = 1\nid = \"tab\"\n[parts]\nweb = { material = \"2024-T3\", thickness = 0.032 } # bent\nrib = {}\n";
    let part = PartText { thickness: ".040".into(), finish: "prime".into(), ..PartText::default() };
    let new = change_part(text, "web", &part).unwrap();
    assert_eq!(
        new,
        text.replace("thickness = 0.032", "thickness = 0.040, finish = \"prime\""),
        "the comment behind the line stays"
    );
    let error = change_part(text, "rip", &part).unwrap_err();
    assert_eq!(error.to_string(), "there is no part \"rip\" in this file; did you mean \"rib\"?");
}

#[test]
fn a_step_gets_more_to_do_and_less() {
    let text = "format = 1\nid = \"tab\"\n[steps.fit] # first\nadds = [\"web\"] # flat\nsets = [\n  \"A\",\n  \"B/1-20\", # by hand\n  \"B/21-40\",\n  \"C\",\n]\n[steps.fit-2]\n";
    let names = |list: &[&str]| list.iter().map(|&name| name.to_owned()).collect::<Vec<_>>();
    let new = extend_step(text, "fit", &names(&["rib"]), &names(&["D"])).unwrap();
    assert_eq!(new, text.replace("[\"web\"]", "[\"web\", \"rib\"]").replace("\"C\",", "\"C\", \"D\","));
    let new = extend_step(text, "fit-2", &[], &names(&["D"])).unwrap();
    assert_eq!(new, format!("{text}sets = [\"D\"]\n"));
    assert_eq!(unset_row(text, "C").unwrap(), text.replace("\"B/21-40\",\n  \"C\"", "\"B/21-40\""));
    assert_eq!(unset_row(text, "A").unwrap(), text.replace("\"A\",\n  ", ""));
    assert!(unset_row(text, "B").unwrap_err().to_string().contains("step fit"), "a remark would go with it");
    assert_eq!(unset_row(text, "E").unwrap(), text);
}

#[test]
fn a_plane_goes_before_the_rows() {
    let text = "format = 1\nid = \"tab\"\n[parts]\nweb = {} # bent\n\n# by hand\n[rows]\nA = { count = 2, called = \"MS20470AD4-4\" }\n";
    let block = "# Sketch\n[planes.web]\nlayers = [\"web\"]\n[planes.web.rows]\nA = { at = [[1, 2]], hole = \"#30\" }   # one\n";
    let new = add_plane(text, "web", block).unwrap();
    assert_eq!(new, text.replace("# bent\n", &format!("# bent\n{block}")));
    assert!(matches!(add_plane(&new, "web", block), Err(EditError::Taken { sort: "plane", .. })));
    assert!(add_plane(text, "web", "[planes.web]\n[rows]\nZ = {}\n").is_err(), "nothing else is slipped in");
}
