//! Every finding this room can make, one small text for each place that makes one.
//!
//! The expected texts were written from the intention, with the spot that must
//! be marked, before the reader was asked. Each shows kind and severity, then
//! the message as the command line prints it. The last test compares the kinds
//! that were brought about with the list of all there are.

mod common;

use std::cell::RefCell;
use std::collections::BTreeSet;

use faying_plan::{SourceText, read};
use faying_standards::Severity;

thread_local! {
    static SEEN: RefCell<BTreeSet<&'static str>> = const { RefCell::new(BTreeSet::new()) };
}

/// The findings of these files, as they are shown.
fn files(files: &[(&str, &str)]) -> String {
    let files = files.iter().map(|&(name, text)| SourceText { name: name.into(), text: text.into() });
    let findings = read(files.collect()).findings;
    SEEN.with_borrow_mut(|seen| seen.extend(findings.iter().map(|finding| finding.kind)));
    let shown = findings.iter().map(|finding| {
        let severity = match finding.severity {
            Severity::Wrong => "wrong",
            Severity::Look => "look",
        };
        format!("{}, {severity}\n{finding}", finding.kind)
    });
    shown.collect::<Vec<_>>().join("\n")
}

/// The findings of one assembly that has its first two lines.
fn tab(text: &str) -> String {
    files(&[("plan/tab.toml", &format!("format = 1\nid = \"tab\"\n{text}"))])
}

/// The findings of `limits.toml` behind its first line.
fn limits(text: &str) -> String {
    files(&[("limits.toml", &format!("format = 1\n{text}"))])
}

/// The findings of `tools.toml` behind its first line.
fn tools(text: &str) -> String {
    files(&[("tools.toml", &format!("format = 1\n{text}"))])
}

/// Keys that are not read.
#[test]
fn keys() {
    insta::assert_snapshot!(
        tab(r#"[parts]
web = { thicknes = 0.040 }
"#),
        @r#"
    unknown-key, wrong
    plan/tab.toml:4:9  a part has no "thicknes"
      4 │ web = { thicknes = 0.040 }
        │         ^^^^^^^^
      did you mean "thickness"?
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[rows]
A = { count = 2, rivet = "MS20470AD4", collor = 1, hold = { until = "x", why = "y", becuase = 1 } }
[steps]
x = { sets = ["A"] }
"#),
        @r#"
    unknown-key, wrong
    plan/tab.toml:4:40  a row has no "collor"
      4 │ A = { count = 2, rivet = "MS20470AD4", collor = 1, hold = { until = "x", why = "y", becuase = 1 } }
        │                                        ^^^^^^
      a row has from, to, count, pitch, at, like, shift, same, rivet, called, head, prep, through, hole, clearance, hold, attach and note
    unknown-key, wrong
    plan/tab.toml:4:85  a hold has no "becuase"
      4 │ A = { count = 2, rivet = "MS20470AD4", collor = 1, hold = { until = "x", why = "y", becuase = 1 } }
        │                                                                                     ^^^^^^^
      a hold has until and why
    "#
    );
    insta::assert_snapshot!(
        tab(r#"differs = { parts = {} }
    "#),
        @r#"
    mirror, wrong
    plan/tab.toml:3:1  "differs" stands without `mirror`, and is not read
      3 │ differs = { parts = {} }
        │ ^^^^^^^
      write mirror = the assembly this is the other hand of, or move the keys out of [differs]
    "#
    );
}

/// A value of the wrong sort, for every sort there is.
#[test]
fn sorts() {
    insta::assert_snapshot!(
        tab(r#"title = 5
    "#),
        @r#"
    wrong-sort, wrong
    plan/tab.toml:3:9  "title" is 5, and must be a text
      3 │ title = 5
        │         ^
      write title = "…"
    "#
    );
    insta::assert_snapshot!(
        tab(r#"note = 2026-01-01
    "#),
        @r#"
    wrong-sort, wrong
    plan/tab.toml:3:8  "note" is a date, and must be a text
      3 │ note = 2026-01-01
        │        ^^^^^^^^^^
      write note = "…"
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[steps]
fit = { adds = true }
"#),
        @r#"
    wrong-sort, wrong
    plan/tab.toml:4:16  "adds" is true, and must be a list of texts
      4 │ fit = { adds = true }
        │                ^^^^
      write adds = ["…", "…"]
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[steps]
fit = { after = [true] }
"#),
        @r#"
    wrong-sort, wrong
    plan/tab.toml:4:18  "after" holds true, and must hold texts
      4 │ fit = { after = [true] }
        │                  ^^^^
      write after = ["…", "…"]
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[steps]
fit = { hours = -1 }
"#),
        @r#"
    wrong-sort, wrong
    plan/tab.toml:4:17  "hours" is -1, and must be a number, 0 or more
      4 │ fit = { hours = -1 }
        │                 ^^
      write hours = 1.5
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[steps]
fit = { hours = inf }
"#),
        @r#"
    wrong-sort, wrong
    plan/tab.toml:4:17  "hours" is inf, and must be a number, 0 or more
      4 │ fit = { hours = inf }
        │                 ^^^
      write hours = 1.5
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[rows]
A = { count = 0, rivet = "MS20470AD4" }
"#),
        @r#"
    wrong-sort, wrong
    plan/tab.toml:4:15  "count" is 0, and must be a whole number from 1 to 100000
      4 │ A = { count = 0, rivet = "MS20470AD4" }
        │               ^
      write count = 12
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[rows]
A = { count = 2.5, rivet = "MS20470AD4" }
"#),
        @r#"
    wrong-sort, wrong
    plan/tab.toml:4:15  "count" is 2.5, and must be a whole number from 1 to 100000
      4 │ A = { count = 2.5, rivet = "MS20470AD4" }
        │               ^^^
      write count = 12
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[parts]
web = { thickness = true }
"#),
        @r#"
    wrong-sort, wrong
    plan/tab.toml:4:21  true stands where a length must
      4 │ web = { thickness = true }
        │                     ^^^^
      write 0.040, "1/8" or "3.2 mm"
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[parts]
web = {}
skin = {}
[planes.p]
layers = ["web", "skin"]
[planes.p.rows]
A = { from = [1], to = [2, 2], count = 2, rivet = "MS20470AD4" }
"#),
        @r#"
    wrong-sort, wrong
    plan/tab.toml:9:14  a point is two lengths, x and y
      9 │ A = { from = [1], to = [2, 2], count = 2, rivet = "MS20470AD4" }
        │              ^^^
      write [1.5, "1/2"]
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[parts]
web = {}
skin = {}
[planes.p]
layers = ["web", "skin"]
[planes.p.rows]
A = { at = 3, rivet = "MS20470AD4" }
"#),
        @r#"
    wrong-sort, wrong
    plan/tab.toml:9:12  "at" is 3, and must be a list of points
      9 │ A = { at = 3, rivet = "MS20470AD4" }
        │            ^
      write at = [[1, 2], [3, 4]]
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[parts]
web = {}
skin = {}
[planes.p]
layers = ["web", "skin"]
[planes.p.rows]
A = { at = [[1, 2], 3], rivet = "MS20470AD4" }
"#),
        @r#"
    wrong-sort, wrong
    plan/tab.toml:9:21  a point is two lengths, x and y
      9 │ A = { at = [[1, 2], 3], rivet = "MS20470AD4" }
        │                     ^
      write [1.5, "1/2"]
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[parts]
web = {}
skin = {}
[planes.p]
layers = ["web", "skin"]
bends = 3
"#),
        @r#"
    wrong-sort, wrong
    plan/tab.toml:8:9  "bends" is 3, and must be a list of lines
      8 │ bends = 3
        │         ^
      write bends = [[[0, 1], [40, 1]]]
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[parts]
web = {}
skin = {}
[planes.p]
layers = ["web", "skin"]
bends = [[[0, 1], [40, 1]], 7]
"#),
        @r#"
    wrong-sort, wrong
    plan/tab.toml:8:29  a line is two points
      8 │ bends = [[[0, 1], [40, 1]], 7]
        │                             ^
      write [[0, 1], [40, 1]]
    "#
    );
    insta::assert_snapshot!(
        tab(r#"parts = 3
    "#),
        @r#"
    wrong-sort, wrong
    plan/tab.toml:3:9  "parts" is 3, and must be a table
      3 │ parts = 3
        │         ^
      write parts = { … }
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[parts]
web = "2024-T3"
"#),
        @r#"
    wrong-sort, wrong
    plan/tab.toml:4:7  "web" is the text "2024-T3", and must be a part
      4 │ web = "2024-T3"
        │       ^^^^^^^^^
      write web = { … }
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[rows]
A = 12
"#),
        @r#"
    wrong-sort, wrong
    plan/tab.toml:4:5  "A" is 12, and must be a row
      4 │ A = 12
        │     ^^
      write A = { … }
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[bays]
spar = 3
"#),
        @r#"
    wrong-sort, wrong
    plan/tab.toml:4:8  "spar" is 3, and must be a list of texts
      4 │ spar = 3
        │        ^
      write spar = ["…", "…"]
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[parts]
web = {}
skin = {}
[planes.p]
layers = ["web", "skin"]
[planes.p.rows]
A = { at = [[1, 2]], rivet = "MS20470AD4", prep = { skin = 3 } }
"#),
        @r#"
    wrong-sort, wrong
    plan/tab.toml:9:60  "skin" is 3, and must be plain, dimpled or countersunk
      9 │ A = { at = [[1, 2]], rivet = "MS20470AD4", prep = { skin = 3 } }
        │                                                            ^
      write skin = "dimpled"
    "#
    );
}

/// Lengths that cannot be read, or cannot be meant.
#[test]
fn numbers() {
    insta::assert_snapshot!(
        tab(r#"[parts]
web = { thickness = "3/16x" }
"#),
        @r#"
    wrong-number, wrong
    plan/tab.toml:4:21  "3/16x" is not a length
      4 │ web = { thickness = "3/16x" }
        │                     ^^^^^^^
      write a fraction (3/32, 1 1/8), a decimal (.063) or millimetres (3.2 mm)
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[parts]
web = { thickness = "t: .040" }
"#),
        @r#"
    wrong-number, wrong
    plan/tab.toml:4:21  "t: .040" is not a length
      4 │ web = { thickness = "t: .040" }
        │                     ^^^^^^^^^
      write a fraction (3/32, 1 1/8), a decimal (.063) or millimetres (3.2 mm)
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[parts]
web = { thickness = 1e-3 }
"#),
        @r#"
    wrong-number, wrong
    plan/tab.toml:4:21  "1e-3" is not a length
      4 │ web = { thickness = 1e-3 }
        │                     ^^^^
      write a fraction (3/32, 1 1/8), a decimal (.063) or millimetres (3.2 mm)
    "#
    );
    insta::assert_snapshot!(
        tab(r##"[usual]
hole = "#77"
"##),
        @r##"
    wrong-number, wrong
    plan/tab.toml:4:8  "#77" is not a length
      4 │ hole = "#77"
        │        ^^^^^
      number drills run from #1 to #60
    "##
    );
    insta::assert_snapshot!(
        tab(r#"[parts]
web = { thickness = 0 }
"#),
        @r#"
    wrong-number, wrong
    plan/tab.toml:4:21  "thickness" is not more than nothing
      4 │ web = { thickness = 0 }
        │                     ^
      write a length above 0
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[parts]
web = { thickness = 9000 }
"#),
        @r#"
    wrong-unit, wrong
    plan/tab.toml:4:21  9000 in is longer than any aeroplane part
      4 │ web = { thickness = 9000 }
        │                     ^^^^
      is the unit right? bare numbers are inches in this file
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[parts]
web = { thickness = 1 }
"#),
        @r#"
    wrong-unit, look
    plan/tab.toml:4:21  a sheet 1 in thick
      4 │ web = { thickness = 1 }
        │                     ^
      if millimetres were meant, write "1.000 mm"
    "#
    );
    insta::assert_snapshot!(
        tab(r#"units = "mm"
[parts]
web = { thickness = 0.040 }
"#),
        @r#"
    wrong-unit, look
    plan/tab.toml:5:21  a sheet 0.04 mm thick
      5 │ web = { thickness = 0.040 }
        │                     ^^^^^
      if inches were meant, write "0.04 in"
    "#
    );
}

/// Outlines and cut-outs.
#[test]
fn shapes() {
    insta::assert_snapshot!(
        tab(r#"[parts]
web = {}
skin = {}
[planes.p]
layers = ["web", "skin"]
outline.web = 3
"#),
        @r#"
    wrong-sort, wrong
    plan/tab.toml:8:15  3 stands where a shape must
      8 │ outline.web = 3
        │               ^
      write { rect = [x, y, width, height] }, { circle = [x, y, diameter] } or { path = [[x, y], …] }
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[parts]
web = {}
skin = {}
[planes.p]
layers = ["web", "skin"]
outline.web = { rect = [0, 0, 1, 1], circle = [0, 0, 1] }
"#),
        @r#"
    wrong-sort, wrong
    plan/tab.toml:8:15  a shape is one of rect, circle and path
      8 │ outline.web = { rect = [0, 0, 1, 1], circle = [0, 0, 1] }
        │               ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^
      write { rect = [x, y, width, height] }, { circle = [x, y, diameter] } or { path = [[x, y], …] }
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[parts]
web = {}
skin = {}
[planes.p]
layers = ["web", "skin"]
outline.web = { rect = 3 }
"#),
        @r#"
    wrong-sort, wrong
    plan/tab.toml:8:24  "rect" must be a list
      8 │ outline.web = { rect = 3 }
        │                        ^
      write { rect = [x, y, width, height] }, { circle = [x, y, diameter] } or { path = [[x, y], …] }
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[parts]
web = {}
skin = {}
[planes.p]
layers = ["web", "skin"]
outline.web = { rect = [0, 0, 47] }
"#),
        @r#"
    wrong-shape, wrong
    plan/tab.toml:8:24  a rect is 4 lengths, and here are 3
      8 │ outline.web = { rect = [0, 0, 47] }
        │                        ^^^^^^^^^^
      write { rect = [x, y, width, height] }, { circle = [x, y, diameter] } or { path = [[x, y], …] }
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[parts]
web = {}
skin = {}
[planes.p]
layers = ["web", "skin"]
outline.web = { rect = [0, 0, 47, 0] }
"#),
        @r#"
    wrong-shape, wrong
    plan/tab.toml:8:24  this rect does not enclose anything
      8 │ outline.web = { rect = [0, 0, 47, 0] }
        │                        ^^^^^^^^^^^^^
      write { rect = [x, y, width, height] }, { circle = [x, y, diameter] } or { path = [[x, y], …] }
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[parts]
web = {}
skin = {}
[planes.p]
layers = ["web", "skin"]
outline.web = { rect = [0, 0, 47, "4x"] }
"#),
        @r#"
    wrong-number, wrong
    plan/tab.toml:8:35  "4x" is not a length
      8 │ outline.web = { rect = [0, 0, 47, "4x"] }
        │                                   ^^^^
      write a fraction (3/32, 1 1/8), a decimal (.063) or millimetres (3.2 mm)
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[parts]
web = {}
skin = {}
[planes.p]
layers = ["web", "skin"]
outline.web = { circle = [0, 0, -1] }
"#),
        @r#"
    wrong-shape, wrong
    plan/tab.toml:8:26  this circle does not enclose anything
      8 │ outline.web = { circle = [0, 0, -1] }
        │                          ^^^^^^^^^^
      write { rect = [x, y, width, height] }, { circle = [x, y, diameter] } or { path = [[x, y], …] }
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[parts]
web = {}
skin = {}
[planes.p]
layers = ["web", "skin"]
outline.web = { path = [[0, 0], [1, 0]] }
"#),
        @r#"
    wrong-shape, wrong
    plan/tab.toml:8:24  an outline needs at least three corners, or two with an arc between
      8 │ outline.web = { path = [[0, 0], [1, 0]] }
        │                        ^^^^^^^^^^^^^^^^
      write { rect = [x, y, width, height] }, { circle = [x, y, diameter] } or { path = [[x, y], …] }
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[parts]
web = {}
skin = {}
[planes.p]
layers = ["web", "skin"]
outline.web = { path = [[0, 0], [1, 0], [1]] }
"#),
        @r#"
    wrong-sort, wrong
    plan/tab.toml:8:41  a corner is two lengths and, for an arc, its bulge
      8 │ outline.web = { path = [[0, 0], [1, 0], [1]] }
        │                                         ^^^
      write [x, y], or [x, y, bulge] where an arc goes to the next corner
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[parts]
web = {}
skin = {}
[planes.p]
layers = ["web", "skin"]
outline.web = { cirlce = [0, 0, 1] }
"#),
        @r#"
    unknown-key, wrong
    plan/tab.toml:8:17  a shape has no "cirlce"
      8 │ outline.web = { cirlce = [0, 0, 1] }
        │                 ^^^^^^
      did you mean "circle"?
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[parts]
web = {}
skin = {}
[planes.p]
layers = ["web", "skin"]
outline.web = { square = [0, 0, 1] }
"#),
        @r#"
    unknown-key, wrong
    plan/tab.toml:8:17  a shape has no "square"
      8 │ outline.web = { square = [0, 0, 1] }
        │                 ^^^^^^
      write { rect = [x, y, width, height] }, { circle = [x, y, diameter] } or { path = [[x, y], …] }
    "#
    );
}

/// Names that cannot be used in a reference, and names taken twice.
#[test]
fn names() {
    insta::assert_snapshot!(
        tab(r#"[parts]
"rib 2" = {}
"#),
        @r#"
    wrong-name, wrong
    plan/tab.toml:4:1  the name "rib 2" has a blank or one of / : " \ in it
      4 │ "rib 2" = {}
        │ ^^^^^^^
      use letters, digits, - and _, for example rib-2
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[parts]
"" = {}
"#),
        @r#"
    wrong-name, wrong
    plan/tab.toml:4:1  the name "" is empty
      4 │ "" = {}
        │ ^^
      use letters, digits, - and _, for example rib-2
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[parts]
rrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrr = {}
"#),
        @r#"
    wrong-name, wrong
    plan/tab.toml:4:1  the name "rrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrr" is longer than 60 characters
      4 │ rrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrrr = {}
        │ ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^
      use letters, digits, - and _, for example rib-2
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[parts]
rib = { copies = ["1", "a/b"] }
"#),
        @r#"
    wrong-name, wrong
    plan/tab.toml:4:24  the name "a/b" has a blank or one of / : " \ in it
      4 │ rib = { copies = ["1", "a/b"] }
        │                        ^^^^^
      use letters, digits, - and _, for example rib-2
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[bays]
"a:b" = []
"#),
        @r#"
    wrong-name, wrong
    plan/tab.toml:4:1  the name "a:b" has a blank or one of / : " \ in it
      4 │ "a:b" = []
        │ ^^^^^
      use letters, digits, - and _, for example rib-2
    "#
    );
    insta::assert_snapshot!(
        files(&[("plan/tab.toml", r#"format = 1
id = "flap left"
"#)]),
        @r#"
    wrong-name, wrong
    plan/tab.toml:2:6  the id "flap left" has a blank or one of / : " \ in it
      2 │ id = "flap left"
        │      ^^^^^^^^^^^
      use letters, digits, - and _, for example flap-left
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[parts]
web = {}
skin = {}
[planes.p]
layers = ["web", "skin"]
near = "aft"
far = "aft"
"#),
        @r#"
    wrong-name, wrong
    plan/tab.toml:9:7  both sides of plane p are called "aft"
      9 │ far = "aft"
        │       ^^^^^
      give the two sides different names, such as aft and forward
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[parts]
rib = { copies = ["1", "1"] }
"#),
        @r#"
    duplicate, wrong
    plan/tab.toml:4:24  part rib has two copies called "1"
      4 │ rib = { copies = ["1", "1"] }
        │                        ^^^
      give every copy a name of its own
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[parts]
web = {}
skin = {}
[planes.p]
layers = ["web", "web", "skin"]
"#),
        @r#"
    duplicate, wrong
    plan/tab.toml:7:18  "web" stands twice among the layers of plane p
      7 │ layers = ["web", "web", "skin"]
        │                  ^^^^^
      name every layer once
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[parts]
web = {}
skin = {}
[planes.p]
layers = ["web", "skin"]
[rows]
p = { count = 2, rivet = "MS20470AD4" }
"#),
        @r#"
    duplicate, wrong
    plan/tab.toml:9:1  row p has the name of a plane
      9 │ p = { count = 2, rivet = "MS20470AD4" }
        │ ^
      give it another name: web/3 would be a hole of the one and a row of the other
    "#
    );
    insta::assert_snapshot!(
        files(&[("plan/a.toml", r#"format = 1
id = "tab"
"#), ("plan/b.toml", r#"format = 1
id = "tab"
"#)]),
        @r#"
    duplicate, wrong
    plan/b.toml:2:6  the id "tab" is already taken by plan/a.toml
      2 │ id = "tab"
        │      ^^^^^
      give one of the two another id
    "#
    );
}

/// Format, unit and id.
#[test]
fn head_of_a_file() {
    insta::assert_snapshot!(
        files(&[("plan/tab.toml", r#"format = 2
id = "tab"
"#)]),
        @r#"
    format, wrong
    plan/tab.toml:1:10  format 2 is not known
      1 │ format = 2
        │          ^
      this faying reads format 1: write format = 1, or read the file with a newer faying
    "#
    );
    insta::assert_snapshot!(
        files(&[("plan/tab.toml", r#"id = "tab"
    "#)]),
        @r#"
    format, look
    plan/tab.toml:1:1  an assembly does not say its format
      1 │ id = "tab"
        │ ^^
      write format = 1 in the first line
    "#
    );
    insta::assert_snapshot!(
        tab(r#"units = "cm"
    "#),
        @r#"
    wrong-unit, wrong
    plan/tab.toml:3:9  "cm" is not a unit of a plan
      3 │ units = "cm"
        │         ^^^^
      write units = "in" or units = "mm"
    "#
    );
    insta::assert_snapshot!(
        files(&[("plan/tab.toml", r#"format = 1
    "#)]),
        @r#"
    no-id, wrong
    plan/tab.toml:1:1  this file does not say which assembly it is
      1 │ format = 1
        │ ^^^^^^
      write id = "flap-left", its short name
    "#
    );
    insta::assert_snapshot!(
        files(&[("plan/a.toml", r#"format = 1
id = "tab"
"#), ("plan/b.toml", r#""#)]),
        @r#"
    format, look
    plan/b.toml:1:1  an assembly does not say its format
      1 │ 
        │ ^
      write format = 1 in the first line
    no-id, wrong
    plan/b.toml:1:1  this file does not say which assembly it is
      1 │ 
        │ ^
      write id = "flap-left", its short name
    "#
    );
}

/// The other hand.
#[test]
fn mirror_images() {
    insta::assert_snapshot!(
        files(&[("plan/a.toml", r#"format = 1
id = "tab"
"#), ("plan/b.toml", r#"format = 1
id = "right"
mirror = "tabb"
"#)]),
        @r#"
    unknown-name, wrong
    plan/b.toml:3:10  there is no assembly "tabb" to mirror
      3 │ mirror = "tabb"
        │          ^^^^^^
      did you mean "tab"?
    "#
    );
    insta::assert_snapshot!(
        files(&[("plan/a.toml", r#"format = 1
id = "tab"
"#), ("plan/b.toml", r#"format = 1
id = "b"
mirror = "tab"
"#), ("plan/c.toml", r#"format = 1
id = "c"
mirror = "b"
"#)]),
        @r#"
    mirror, wrong
    plan/c.toml:3:10  "b" is itself a mirror image
      3 │ mirror = "b"
        │          ^^^
      mirror the assembly that it mirrors
    "#
    );
    insta::assert_snapshot!(
        files(&[("plan/a.toml", r#"format = 1
id = "tab"
"#), ("plan/b.toml", r#"format = 1
id = "right"
mirror = "tab"
[parts]
web = {}
"#)]),
        @r#"
    mirror, wrong
    plan/b.toml:4:2  "parts" stands beside `mirror`
      4 │ [parts]
        │  ^^^^^
      what the other hand has differently goes under [differs.parts]
    "#
    );
    insta::assert_snapshot!(
        files(&[("plan/a.toml", r#"format = 1
id = "tab"
"#), ("plan/b.toml", r#"format = 1
id = "right"
units = "mm"
mirror = "tab"
"#)]),
        @r#"
    mirror, wrong
    plan/b.toml:3:9  "units" is not that of the assembly that is mirrored, in
      3 │ units = "mm"
        │         ^^^^
      leave it out, and write the unit behind the numbers of [differs], such as "3.2 mm"
    "#
    );
    insta::assert_snapshot!(
        files(&[("plan/a.toml", r#"format = 1
id = "tab"
"#), ("plan/b.toml", r#"format = 1
id = "right"
mirror = "tab"
[differs]
title = "Right tab"
"#)]),
        @r#"
    mirror, wrong
    plan/b.toml:5:1  "title" stands under [differs]
      5 │ title = "Right tab"
        │ ^^^^^
      write title at the top of the file, beside `mirror`
    "#
    );
}

/// Materials and part names.
#[test]
fn parts() {
    insta::assert_snapshot!(
        tab(r#"[parts]
web = { material = "2042-T3" }
"#),
        @r#"
    unknown-material, look
    plan/tab.toml:4:20  no standard here knows the material "2042-T3"
      4 │ web = { material = "2042-T3" }
        │                    ^^^^^^^^^
      did you mean "2024-T3"?
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[parts]
web = {}
skin = {}
[planes.p]
layers = ["web", "skinn", "skin"]
"#),
        @r#"
    unknown-name, wrong
    plan/tab.toml:7:18  there is no part "skinn"
      7 │ layers = ["web", "skinn", "skin"]
        │                  ^^^^^^^
      did you mean "skin"?
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[steps]
fit = { adds = ["web"] }
"#),
        @r#"
    unknown-name, wrong
    plan/tab.toml:4:17  there is no part "web"
      4 │ fit = { adds = ["web"] }
        │                 ^^^^^
      there is no part yet
    "#
    );
}

/// Layers and outlines.
#[test]
fn planes() {
    insta::assert_snapshot!(
        tab(r#"[planes.p]
[planes.p.rows]
A = { at = [[1, 1]], rivet = "MS20470AD4" }
"#),
        @r#"
    no-layers, wrong
    plan/tab.toml:3:9  plane p has rows and no layers
      3 │ [planes.p]
        │         ^
      write layers = ["…"], the parts from near to far
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[parts]
web = {}
skin = {}
[planes.p]
layers = ["web", "skin"]
outline.ski = { rect = [0, 0, 1, 1] }
"#),
        @r#"
    unknown-name, wrong
    plan/tab.toml:8:9  "ski" is not a layer of plane p
      8 │ outline.ski = { rect = [0, 0, 1, 1] }
        │         ^^^
      did you mean "skin"?
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[parts]
skin = {}
cap = { copies = ["upper", "lower"] }
[planes.p]
layers = ["skin", "cap/upper", "cap/lower"]
outline.cap = { rect = [0, 0, 1, 1] }
"#),
        @r#"
    unknown-name, wrong
    plan/tab.toml:8:9  "cap" is not a layer of plane p
      8 │ outline.cap = { rect = [0, 0, 1, 1] }
        │         ^^^
      write one of skin, cap/upper and cap/lower
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[parts]
web = {}
skin = {}
[planes.p]
layers = ["web", "skin"]
outline.web = [{ rect = [0, 0, 1, 1] }, { rect = [0, 0, 1, 1] }]
"#),
        @r#"
    copies, wrong
    plan/tab.toml:8:9  web has one copy and 2 outlines in plane p
      8 │ outline.web = [{ rect = [0, 0, 1, 1] }, { rect = [0, 0, 1, 1] }]
        │         ^^^
      write one outline for each copy, in the order of copies
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[parts]
rib = { copies = ["1", "2"] }
[planes.p]
layers = ["rib"]
outline.rib = { rect = [0, 0, 1, 1] }
"#),
        @r#"
    copies, wrong
    plan/tab.toml:7:9  rib has 2 copies and one outline in plane p
      7 │ outline.rib = { rect = [0, 0, 1, 1] }
        │         ^^^
      write one outline for each copy, in the order of copies
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[parts]
rib = { copies = ["1", "2"] }
[planes.p]
layers = ["rib"]
outline.rib = [{ rect = [0, 0, 1, 1] }, { rect = [0, 0, 1, 1] }, { rect = [0, 0, 1, 1] }]
"#),
        @r#"
    copies, wrong
    plan/tab.toml:7:9  rib has 2 copies and 3 outlines in plane p
      7 │ outline.rib = [{ rect = [0, 0, 1, 1] }, { rect = [0, 0, 1, 1] }, { rect = [0, 0, 1, 1] }]
        │         ^^^
      write one outline for each copy, in the order of copies
    "#
    );
}

/// Where a row is, and how many holes it has.
#[test]
fn positions() {
    insta::assert_snapshot!(
        tab(r#"[rows]
A = { rivet = "MS20470AD4" }
"#),
        @r#"
    no-count, wrong
    plan/tab.toml:4:1  row A does not say how many holes it has
      4 │ A = { rivet = "MS20470AD4" }
        │ ^
      write count = 12
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[rows]
A = { from = [1, 1], to = [2, 2], count = 2, rivet = "MS20470AD4" }
"#),
        @r#"
    no-plane, wrong
    plan/tab.toml:4:14  row A has `from` and lies in no plane
      4 │ A = { from = [1, 1], to = [2, 2], count = 2, rivet = "MS20470AD4" }
        │              ^^^^^^
      move the row into [planes.NAME.rows], or give its count only
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[parts]
web = {}
skin = {}
[planes.p]
layers = ["web", "skin"]
[planes.p.rows]
A = { count = 12, rivet = "MS20470AD4" }
"#),
        @r#"
    row, wrong
    plan/tab.toml:9:1  row A does not say where it is
      9 │ A = { count = 12, rivet = "MS20470AD4" }
        │ ^
      write from, to and count, or at = [[x, y], …], or like = another row
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[parts]
web = {}
skin = {}
[planes.p]
layers = ["web", "skin"]
[planes.p.rows]
A = { from = [1, 1], count = 12, rivet = "MS20470AD4" }
"#),
        @r#"
    row, wrong
    plan/tab.toml:9:1  row A does not say where it ends
      9 │ A = { from = [1, 1], count = 12, rivet = "MS20470AD4" }
        │ ^
      write to = [x, y], its last hole
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[parts]
web = {}
skin = {}
[planes.p]
layers = ["web", "skin"]
[planes.p.rows]
A = { from = [1, 1], pitch = 1, rivet = "MS20470AD4" }
"#),
        @r#"
    row, wrong
    plan/tab.toml:9:1  row A does not say where it ends
      9 │ A = { from = [1, 1], pitch = 1, rivet = "MS20470AD4" }
        │ ^
      write to = [x, y], its last hole
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[parts]
web = {}
skin = {}
[planes.p]
layers = ["web", "skin"]
[planes.p.rows]
A = { from = [1, 1], to = [9, 1], rivet = "MS20470AD4" }
"#),
        @r#"
    no-count, wrong
    plan/tab.toml:9:1  row A does not say how many holes it has
      9 │ A = { from = [1, 1], to = [9, 1], rivet = "MS20470AD4" }
        │ ^
      write count = 12, or pitch = 1.25
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[parts]
web = {}
skin = {}
[planes.p]
layers = ["web", "skin"]
[planes.p.rows]
A = { from = [1, 1], to = [1, 1], count = 12, rivet = "MS20470AD4" }
"#),
        @r#"
    row, wrong
    plan/tab.toml:9:27  row A starts and ends at the same place
      9 │ A = { from = [1, 1], to = [1, 1], count = 12, rivet = "MS20470AD4" }
        │                           ^^^^^^
      write to = [x, y], its last hole; for one hole write at = [[x, y]]
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[parts]
web = {}
skin = {}
[planes.p]
layers = ["web", "skin"]
[planes.p.rows]
A = { from = [1, 1], to = [9, 1], count = 1, rivet = "MS20470AD4" }
"#),
        @r#"
    row, wrong
    plan/tab.toml:9:43  row A has two ends and one hole
      9 │ A = { from = [1, 1], to = [9, 1], count = 1, rivet = "MS20470AD4" }
        │                                           ^
      write how many holes it has, both ends included
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[parts]
web = {}
skin = {}
[planes.p]
layers = ["web", "skin"]
[planes.p.rows]
A = { at = [[1, 1]], from = [1, 1], rivet = "MS20470AD4" }
"#),
        @r#"
    row, wrong
    plan/tab.toml:9:29  row A has both `at` and `from`
      9 │ A = { at = [[1, 1]], from = [1, 1], rivet = "MS20470AD4" }
        │                             ^^^^^^
      keep one of the two
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[parts]
web = {}
skin = {}
[planes.p]
layers = ["web", "skin"]
[planes.p.rows]
A = { at = [[1, 1]], count = 2, rivet = "MS20470AD4" }
"#),
        @r#"
    row, wrong
    plan/tab.toml:9:30  row A has 1 hole in `at`, and a count of 2
      9 │ A = { at = [[1, 1]], count = 2, rivet = "MS20470AD4" }
        │                              ^
      leave count out, or write the holes that are missing
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[parts]
web = {}
skin = {}
[planes.p]
layers = ["web", "skin"]
[planes.p.rows]
A = { at = [[1, 1]], shift = [1, 1], rivet = "MS20470AD4" }
"#),
        @r#"
    row, wrong
    plan/tab.toml:9:30  row A has `shift` and is like no other row
      9 │ A = { at = [[1, 1]], shift = [1, 1], rivet = "MS20470AD4" }
        │                              ^^^^^^
      write like = the row that is moved, or leave shift out
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[parts]
web = {}
skin = {}
[planes.p]
layers = ["web", "skin"]
[planes.p.rows]
B = { at = [[1, 1]], rivet = "MS20470AD4" }
A = { like = "B", count = 3, rivet = "MS20470AD4" }
"#),
        @r#"
    row, wrong
    plan/tab.toml:10:27  row A has both `like` and `count`
      10 │ A = { like = "B", count = 3, rivet = "MS20470AD4" }
         │                           ^
      keep one of the two
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[parts]
web = {}
skin = {}
[planes.p]
layers = ["web", "skin"]
[planes.p.rows]
B = { at = [[1, 1]], rivet = "MS20470AD4" }
A = { like = "C", rivet = "MS20470AD4" }
"#),
        @r#"
    unknown-name, wrong
    plan/tab.toml:10:14  there is no row "C" in this plane
      10 │ A = { like = "C", rivet = "MS20470AD4" }
         │              ^^^
      did you mean "B"?
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[parts]
web = {}
skin = {}
[planes.p]
layers = ["web", "skin"]
[planes.p.rows]
A = { like = "A", rivet = "MS20470AD4" }
"#),
        @r#"
    circle, wrong
    plan/tab.toml:9:14  row A is like itself
      9 │ A = { like = "A", rivet = "MS20470AD4" }
        │              ^^^
      give one of the rows its own positions
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[parts]
web = {}
skin = {}
[planes.p]
layers = ["web", "skin"]
[planes.p.rows]
A = { like = "B", rivet = "MS20470AD4" }
B = { like = "A", rivet = "MS20470AD4" }
"#),
        @r#"
    circle, wrong
    plan/tab.toml:10:14  row B is like A, which is like B
      10 │ B = { like = "A", rivet = "MS20470AD4" }
         │              ^^^
      give one of the rows its own positions
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[parts]
web = {}
skin = {}
[planes.p]
layers = ["web", "skin"]
[planes.p.rows]
A = { from = [0, 1], to = [10, 1], pitch = 3, rivet = "MS20470AD4" }
"#),
        @r#"
    pitch, look
    plan/tab.toml:9:44  row A is 10 in long, and a pitch of 3 in leaves 1 in over
      9 │ A = { from = [0, 1], to = [10, 1], pitch = 3, rivet = "MS20470AD4" }
        │                                            ^
      give count = 4 for even spaces, or move an end
    "#
    );
    insta::assert_snapshot!(
        tab(r#"units = "mm"
[parts]
web = {}
skin = {}
[planes.p]
layers = ["web", "skin"]
[planes.p.rows]
A = { from = [0, 1], to = [100, 1], pitch = 30, rivet = "MS20470AD4" }
"#),
        @r#"
    pitch, look
    plan/tab.toml:10:45  row A is 100 mm long, and a pitch of 30 mm leaves 10 mm over
      10 │ A = { from = [0, 1], to = [100, 1], pitch = 30, rivet = "MS20470AD4" }
         │                                             ^^
      give count = 4 for even spaces, or move an end
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[parts]
web = {}
skin = {}
[planes.p]
layers = ["web", "skin"]
[planes.p.rows]
A = { from = [0, 1], to = [10, 1], count = 6, pitch = 3, rivet = "MS20470AD4" }
"#),
        @r#"
    pitch, wrong
    plan/tab.toml:9:55  row A has 6 holes 2 in apart, and a pitch of 3 in is written
      9 │ A = { from = [0, 1], to = [10, 1], count = 6, pitch = 3, rivet = "MS20470AD4" }
        │                                                       ^
      keep count or pitch, whichever the drawing gives
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[parts]
web = {}
skin = {}
[planes.p]
layers = ["web", "skin"]
[planes.p.rows]
A = { from = [0, 1], to = [10, 1], pitch = 0.00001, rivet = "MS20470AD4" }
"#),
        @r#"
    wrong-number, wrong
    plan/tab.toml:9:44  a pitch of .000 in makes more than 100000 holes
      9 │ A = { from = [0, 1], to = [10, 1], pitch = 0.00001, rivet = "MS20470AD4" }
        │                                            ^^^^^^^
      is the unit right? write the pitch with its unit, such as "1 1/4 in" or "30 mm"
    "#
    );
}

/// Holes of another plane.
#[test]
fn same_holes() {
    insta::assert_snapshot!(
        tab(r#"[parts]
web = {}
skin = {}
[planes.p]
layers = ["web", "skin"]
[planes.p.rows]
A = { at = [[1, 1]], rivet = "MS20470AD4" }
[planes.q]
layers = ["skin"]
[planes.q.rows]
C = { same = "q/C" }
"#),
        @r#"
    unknown-name, wrong
    plan/tab.toml:13:14  row C is said to be the same as itself
      13 │ C = { same = "q/C" }
         │              ^^^^^
      name the row of the other plane
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[parts]
web = {}
skin = {}
[planes.p]
layers = ["web", "skin"]
[planes.p.rows]
A = { at = [[1, 1]], rivet = "MS20470AD4" }
[planes.q]
layers = ["skin"]
[planes.q.rows]
C = { same = "p/X" }
"#),
        @r#"
    unknown-name, wrong
    plan/tab.toml:13:14  there is no row "p/X"
      13 │ C = { same = "p/X" }
         │              ^^^^^
      did you mean "p/A"?
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[parts]
web = {}
skin = {}
[planes.p]
layers = ["web", "skin"]
[planes.p.rows]
A = { at = [[1, 1]], rivet = "MS20470AD4" }
[planes.q]
layers = ["skin"]
[planes.q.rows]
B = { same = "p/A" }
C = { same = "q/B" }
"#),
        @r#"
    unknown-name, wrong
    plan/tab.toml:14:14  row q/B has no holes of its own either
      14 │ C = { same = "q/B" }
         │              ^^^^^
      name the row in which the holes are declared
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[parts]
web = {}
skin = {}
[planes.p]
layers = ["web", "skin"]
[planes.p.rows]
A = { at = [[1, 1]], rivet = "MS20470AD4" }
[planes.q]
layers = ["skin"]
[planes.q.rows]
C = { same = "p/A", count = 3 }
"#),
        @r#"
    row, wrong
    plan/tab.toml:13:29  row C has both `same` and `count`
      13 │ C = { same = "p/A", count = 3 }
         │                             ^
      keep one of the two
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[parts]
web = {}
skin = {}
[planes.p]
layers = ["web", "skin"]
[planes.p.rows]
A = { at = [[1, 1]], rivet = "MS20470AD4" }
[planes.q]
layers = ["skin"]
[planes.q.rows]
B = { same = "p/A" }
C = { like = "B", rivet = "MS20470AD4" }
"#),
        @r#"
    row, wrong
    plan/tab.toml:14:14  row B has no positions of its own in this plane
      14 │ C = { like = "B", rivet = "MS20470AD4" }
         │              ^^^
      be like a row that has them, or write from, to and count
    "#
    );
}

/// What a row goes through.
#[test]
fn layers_of_a_row() {
    insta::assert_snapshot!(
        tab(r#"[parts]
rib = { copies = ["1", "2"] }
web = {}
[rows]
A = { count = 2, rivet = "MS20470AD4", through = ["rib", "web"] }
"#),
        @r#"
    copies, wrong
    plan/tab.toml:7:51  "rib" is several pieces
      7 │ A = { count = 2, rivet = "MS20470AD4", through = ["rib", "web"] }
        │                                                   ^^^^^
      write which: rib/1 and rib/2
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[parts]
web = {}
[rows]
A = { count = 2, rivet = "MS20470AD4", through = ["web", "cap"] }
"#),
        @r#"
    unknown-name, wrong
    plan/tab.toml:6:58  there is no part "cap"
      6 │ A = { count = 2, rivet = "MS20470AD4", through = ["web", "cap"] }
        │                                                          ^^^^^
      write one of web
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[parts]
web = {}
skin = {}
[planes.p]
layers = ["web", "skin"]
[planes.p.rows]
A = { at = [[1, 1]], rivet = "MS20470AD4", prep = { skn = "dimpled" } }
"#),
        @r#"
    unknown-name, wrong
    plan/tab.toml:9:53  there is no part "skn"
      9 │ A = { at = [[1, 1]], rivet = "MS20470AD4", prep = { skn = "dimpled" } }
        │                                                     ^^^
      did you mean "skin"?
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[parts]
web = {}
skin = {}
[planes.p]
layers = ["web", "skin"]
[planes.p.rows]
A = { at = [[1, 1]], rivet = "MS20470AD4", prep = { skin = "dimpld" } }
"#),
        @r#"
    wrong-word, wrong
    plan/tab.toml:9:60  "dimpld" is not a preparation
      9 │ A = { at = [[1, 1]], rivet = "MS20470AD4", prep = { skin = "dimpld" } }
        │                                                            ^^^^^^^^
      did you mean "dimpled"?
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[parts]
web = {}
skin = {}
[planes.p]
layers = ["web", "skin"]
[planes.p.rows]
A = { at = [[1, 1]], rivet = "MS20470AD4", prep = { skin = "welded" } }
"#),
        @r#"
    wrong-word, wrong
    plan/tab.toml:9:60  "welded" is not a preparation
      9 │ A = { at = [[1, 1]], rivet = "MS20470AD4", prep = { skin = "welded" } }
        │                                                            ^^^^^^^^
      write one of plain, dimpled and countersunk
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[parts]
web = {}
skin = {}
[planes.p]
layers = ["web", "skin"]
[planes.p.rows]
A = { at = [[1, 1]], rivet = "MS20470AD4", through = ["web"], prep = { skin = "dimpled" } }
"#),
        @r#"
    wrong-layer, wrong
    plan/tab.toml:9:72  row A prepares skin, which is not one of its layers
      9 │ A = { at = [[1, 1]], rivet = "MS20470AD4", through = ["web"], prep = { skin = "dimpled" } }
        │                                                                        ^^^^
      add the part to the layers, or leave it out here
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[parts]
skin = {}
[rows]
A = { count = 2, rivet = "MS20470AD4", prep = { skin = "dimpled" } }
"#),
        @r#"
    wrong-layer, wrong
    plan/tab.toml:6:49  row A prepares skin, which is not one of its layers
      6 │ A = { count = 2, rivet = "MS20470AD4", prep = { skin = "dimpled" } }
        │                                                 ^^^^
      name the layers as well, through = ["…"], or leave `prep` out
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[parts]
web = {}
skin = {}
[planes.p]
layers = ["web", "skin"]
near = "aft"
far = "forward"
[planes.p.rows]
A = { at = [[1, 1]], rivet = "MS20470AD4", head = "upper" }
"#),
        @r#"
    wrong-side, wrong
    plan/tab.toml:11:51  "upper" is not a side of plane p
      11 │ A = { at = [[1, 1]], rivet = "MS20470AD4", head = "upper" }
         │                                                   ^^^^^^^
      write head = "aft" or head = "forward"
    "#
    );
}

/// Fasteners.
#[test]
fn call_outs() {
    insta::assert_snapshot!(
        tab(r#"[rows]
A = { count = 2 }
"#),
        @r#"
    no-fastener, look
    plan/tab.toml:4:1  row A has no fastener
      4 │ A = { count = 2 }
        │ ^
      write rivet = "MS20470AD4", or called = with a part number
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[rows]
A = { count = 2, rivet = "MS20470AD4", called = "-x" }
"#),
        @r#"
    wrong-call-out, wrong
    plan/tab.toml:4:49  "-x" is not a rivet length
      4 │ A = { count = 2, rivet = "MS20470AD4", called = "-x" }
        │                                                 ^^^^
      write sixteenths of an inch behind a dash: -5, or -3.5 for a half size
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[rows]
A = { count = 2, called = "-5" }
"#),
        @r#"
    wrong-call-out, wrong
    plan/tab.toml:4:27  "-5" is a length, and no solid rivet is named
      4 │ A = { count = 2, called = "-5" }
        │                           ^^^^
      write rivet = "MS20470AD4" as well, or the whole part number
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[rows]
A = { count = 2, rivet = "MS20470AD4", called = "MS20426AD4-5" }
"#),
        @r#"
    wrong-call-out, wrong
    plan/tab.toml:4:49  row A names MS20470AD4 and calls MS20426AD4-5
      4 │ A = { count = 2, rivet = "MS20470AD4", called = "MS20426AD4-5" }
        │                                                 ^^^^^^^^^^^^^^
      leave one of the two out, or make them agree
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[rows]
A = { count = 2, rivet = "MS20470XX4", called = "-5" }
"#),
        @r#"
    wrong-call-out, wrong
    plan/tab.toml:4:26  "MS20470XX4" is not a rivet: XX is not a rivet alloy
      4 │ A = { count = 2, rivet = "MS20470XX4", called = "-5" }
        │                          ^^^^^^^^^^^^
      write one of A, AD, B, D, DD, E
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[rows]
A = { count = 2, called = "MS20470AD4-40" }
"#),
        @r#"
    wrong-call-out, wrong
    plan/tab.toml:4:27  "MS20470AD4-40" is not a rivet: -40 is 2 1/2 in long, and lengths end at -28 (1 3/4 in)
      4 │ A = { count = 2, called = "MS20470AD4-40" }
        │                           ^^^^^^^^^^^^^^^
      write a length up to -28
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[rows]
A = { count = 2, called = "" }
"#),
        @r#"
    wrong-call-out, wrong
    plan/tab.toml:4:27  no fastener is written
      4 │ A = { count = 2, called = "" }
        │                           ^^
      write a part number, for example MS20470AD4-5
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[rows]
A = { count = 2, called = "AN470AD4-5" }
"#),
        @r#"
    call-out-note, look
    plan/tab.toml:4:27  AN470 is superseded: read as MS20470
      4 │ A = { count = 2, called = "AN470AD4-5" }
        │                           ^^^^^^^^^^^^
      nothing needs to be changed; compare with your bag and your plans
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[rows]
A = { count = 2, called = "MS21059L3", attach = { each = 2 } }
"#),
        @r#"
    no-fastener, wrong
    plan/tab.toml:4:49  the rivets of the nutplate are not named
      4 │ A = { count = 2, called = "MS21059L3", attach = { each = 2 } }
        │                                                 ^^^^^^^^^^^^
      write attach = { rivet = "MS20426AD3-4", each = 2 }
    "#
    );
}

/// Sides of planes, and bays.
#[test]
fn bays_and_sides() {
    insta::assert_snapshot!(
        tab(r#"[parts]
web = {}
skin = {}
[planes.p]
layers = ["web", "skin"]
near = "aft"
far = "forward"
[bays]
spar = ["p"]
"#),
        @r#"
    wrong-side, wrong
    plan/tab.toml:11:9  "p" does not say which side
      11 │ spar = ["p"]
         │         ^^^
      write "plane: side", such as "web: aft", or bay:NAME
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[parts]
web = {}
skin = {}
[planes.p]
layers = ["web", "skin"]
near = "aft"
far = "forward"
[bays]
spar = ["q: aft"]
"#),
        @r#"
    unknown-name, wrong
    plan/tab.toml:11:9  there is no plane "q"
      11 │ spar = ["q: aft"]
         │         ^^^^^^^^
      did you mean "p"?
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[parts]
web = {}
skin = {}
[planes.p]
layers = ["web", "skin"]
near = "aft"
far = "forward"
[bays]
spar = ["tab/wing: aft"]
"#),
        @r#"
    unknown-name, wrong
    plan/tab.toml:11:9  there is no plane "tab/wing"
      11 │ spar = ["tab/wing: aft"]
         │         ^^^^^^^^^^^^^^^
      write one of p
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[parts]
web = {}
skin = {}
[planes.p]
layers = ["web", "skin"]
near = "aft"
far = "forward"
[bays]
spar = ["p: upper"]
"#),
        @r#"
    wrong-side, wrong
    plan/tab.toml:11:9  "upper" is not a side of plane p
      11 │ spar = ["p: upper"]
         │         ^^^^^^^^^^
      write "p: aft" or "p: forward"
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[parts]
web = {}
skin = {}
[planes.p]
layers = ["web", "skin"]
near = "aft"
far = "forward"
[bays]
spar = ["p: aft"]
[steps]
fit = { adds = ["web", "skin"], closes = ["bay:spr"] }
"#),
        @r#"
    unknown-name, wrong
    plan/tab.toml:13:43  there is no bay "spr"
      13 │ fit = { adds = ["web", "skin"], closes = ["bay:spr"] }
         │                                           ^^^^^^^^^
      did you mean "bay:spar"?
    "#
    );
}

/// Steps, holds and gates.
#[test]
fn steps() {
    insta::assert_snapshot!(
        tab(r#"[rows]
A = { count = 9, rivet = "MS20470AD4" }
[steps]
fit = { sets = ["A"], after = ["prme"] }
prime = {}
"#),
        @r#"
    unknown-name, wrong
    plan/tab.toml:6:32  there is no step "prme"
      6 │ fit = { sets = ["A"], after = ["prme"] }
        │                                ^^^^^^
      did you mean "prime"?
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[rows]
A = { count = 9, rivet = "MS20470AD4" }
[steps]
fit = { sets = ["A", "B"] }
"#),
        @r#"
    unknown-name, wrong
    plan/tab.toml:6:22  there is no row "B"
      6 │ fit = { sets = ["A", "B"] }
        │                      ^^^
      did you mean "A"?
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[rows]
A = { count = 9, rivet = "MS20470AD4" }
[steps]
fit = { sets = ["A/5-12"] }
rest = { sets = ["A"] }
"#),
        @r#"
    wrong-range, wrong
    plan/tab.toml:6:17  row A has the holes 1 to 9, not 5 to 12
      6 │ fit = { sets = ["A/5-12"] }
        │                 ^^^^^^^^
      write numbers from 1 to 9, the smaller first
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[rows]
A = { count = 9, rivet = "MS20470AD4" }
[steps]
fit = { sets = ["A/7-3"] }
rest = { sets = ["A"] }
"#),
        @r#"
    wrong-range, wrong
    plan/tab.toml:6:17  row A has the holes 1 to 9, not 7 to 3
      6 │ fit = { sets = ["A/7-3"] }
        │                 ^^^^^^^
      write numbers from 1 to 9, the smaller first
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[rows]
A = { count = 9, rivet = "MS20470AD4" }
[steps]
fit = { sets = ["A"], after = ["rest"] }
rest = { after = ["fit"] }
"#),
        @r#"
    circle, wrong
    plan/tab.toml:6:1  these steps wait for one another: fit after rest after fit
      6 │ fit = { sets = ["A"], after = ["rest"] }
        │ ^^^
      take one of them out of an `after`
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[rows]
A = { count = 9, rivet = "MS20470AD4" }
[steps]
fit = { sets = ["A"], after = ["fit"] }
"#),
        @r#"
    circle, wrong
    plan/tab.toml:6:1  step fit waits for itself
      6 │ fit = { sets = ["A"], after = ["fit"] }
        │ ^^^
      take one of them out of an `after`
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[rows]
A = { count = 9, rivet = "MS20470AD4", hold = { why = "see note" } }
"#),
        @r#"
    hold, look
    plan/tab.toml:4:47  row A is held without saying until when
      4 │ A = { count = 9, rivet = "MS20470AD4", hold = { why = "see note" } }
        │                                               ^^^^^^^^^^^^^^^^^^^^
      write until = the step at which it is filled, so that it is not forgotten
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[rows]
A = { count = 9, rivet = "MS20470AD4", hold = { until = "fit" } }
[steps]
fit = { sets = ["A"] }
"#),
        @r#"
    hold, look
    plan/tab.toml:4:47  row A is held without a reason
      4 │ A = { count = 9, rivet = "MS20470AD4", hold = { until = "fit" } }
        │                                               ^^^^^^^^^^^^^^^^^
      write why = "…"; in a year nobody remembers
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[rows]
A = { count = 9, rivet = "MS20470AD4", hold = { until = "fitt", why = "see note" } }
[steps]
fit = { sets = ["A"] }
"#),
        @r#"
    unknown-name, wrong
    plan/tab.toml:4:57  there is no step "fitt"
      4 │ A = { count = 9, rivet = "MS20470AD4", hold = { until = "fitt", why = "see note" } }
        │                                                         ^^^^^^
      did you mean "fit"?
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[steps]
fit = {}
[gates]
close = { needs = ["owed"] }
"#),
        @r#"
    gate, wrong
    plan/tab.toml:6:1  gate close stands before no step
      6 │ close = { needs = ["owed"] }
        │ ^^^^^
      write before = the step that must wait
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[steps]
fit = {}
[gates]
close = { before = "fitt", needs = ["owed", "ownd", "inspection:", "Inspction: spar"] }
"#),
        @r#"
    unknown-name, wrong
    plan/tab.toml:6:20  there is no step "fitt"
      6 │ close = { before = "fitt", needs = ["owed", "ownd", "inspection:", "Inspction: spar"] }
        │                    ^^^^^^
      did you mean "fit"?
    wrong-word, wrong
    plan/tab.toml:6:45  "ownd" is not something a gate can ask for
      6 │ close = { before = "fitt", needs = ["owed", "ownd", "inspection:", "Inspction: spar"] }
        │                                             ^^^^^^
      did you mean "owed"?
    wrong-word, wrong
    plan/tab.toml:6:53  "inspection:" is not something a gate can ask for
      6 │ close = { before = "fitt", needs = ["owed", "ownd", "inspection:", "Inspction: spar"] }
        │                                                     ^^^^^^^^^^^^^
      write needs = ["inspection:NAME", "photograph:NAME", "check:NAME"], or those of them that are meant
    wrong-word, wrong
    plan/tab.toml:6:68  "Inspction: spar" is not something a gate can ask for
      6 │ close = { before = "fitt", needs = ["owed", "ownd", "inspection:", "Inspction: spar"] }
        │                                                                    ^^^^^^^^^^^^^^^^^
      did you mean "inspection:spar"?
    "#
    );
}

/// Gates of the whole build, people and their week.
#[test]
fn gates_and_people() {
    const FRAME: (&str, &str) = (
        "plan/tab.toml",
        "format = 1\nid = \"tab\"\n[rows]\nA = { count = 9, called = \"MS20470AD4-4\" }\n[steps.frame]\nsets = [\"A\"]\n",
    );
    insta::assert_snapshot!(
        files(&[FRAME, ("gates.toml", "format = 1\n[gates.rigging]\ncovers = [\"tap\"]\nbefore = \"tab/frane\"\n[gates.none]\n")]),
        @r#"
    gate, wrong
    gates.toml:2:8  gate rigging stands before a step, and names after or covers as well
      2 │ [gates.rigging]
        │        ^^^^^^^
      keep `before`: everything that comes before that step is asked for
    unknown-name, wrong
    gates.toml:3:11  there is no assembly "tap"
      3 │ covers = ["tap"]
        │           ^^^^^
      did you mean "tab"?
    unknown-name, wrong
    gates.toml:4:10  there is no step "tab/frane"
      4 │ before = "tab/frane"
        │          ^^^^^^^^^^^
      did you mean "tab/frame"?
    gate, wrong
    gates.toml:5:8  gate none stands before no step
      5 │ [gates.none]
        │        ^^^^
      write covers = the assemblies it asks for, or after or before = steps
    "#
    );
    insta::assert_snapshot!(
        files(&[("people.toml", "format = 1\n[people.ann]\n[week]\nfriday = 25\n")]),
        @r#"
    person, look
    people.toml:2:9  ann has no role
      2 │ [people.ann]
        │         ^^^
      write role = "builder" or another of builder, helper, inspector, designer, authority
    week, wrong
    people.toml:4:10  25 hours do not fit into a friday
      4 │ friday = 25
        │          ^^
      write the hours that are worked on that day, such as 2.5
    "#
    );
}

/// Parts and rows that nothing uses.
#[test]
fn left_over() {
    insta::assert_snapshot!(
        tab(r#"[parts]
web = {}
cap = {}
[planes.p]
layers = ["web"]
"#),
        @r#"
    no-plane, look
    plan/tab.toml:5:1  part cap lies in no plane
      5 │ cap = {}
        │ ^^^
      add it to the layers of a plane, or to `through` of a row
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[parts]
web = {}
cap = {}
[steps]
fit = { adds = ["web"] }
"#),
        @r#"
    never-added, look
    plan/tab.toml:5:1  part cap comes in at no step
      5 │ cap = {}
        │ ^^^
      add it to `adds` of the step that brings it
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[parts]
rib = { copies = ["1", "2", "3"] }
[steps]
fit = { adds = ["rib/1", "rib/3"] }
"#),
        @r#"
    never-added, look
    plan/tab.toml:4:1  rib/2 comes in at no step
      4 │ rib = { copies = ["1", "2", "3"] }
        │ ^^^
      add it to `adds` of the step that brings it
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[rows]
A = { count = 9, rivet = "MS20470AD4" }
B = { count = 9, rivet = "MS20470AD4" }
[steps]
fit = { sets = ["A"] }
"#),
        @r#"
    never-set, look
    plan/tab.toml:5:1  row B is set at no step
      5 │ B = { count = 9, rivet = "MS20470AD4" }
        │ ^
      add it to `sets` of a step
    "#
    );
}

/// The builder's own values.
#[test]
fn own_limits() {
    insta::assert_snapshot!(
        limits(r#"lipp = {}
    "#),
        @r#"
    unknown-key, wrong
    limits.toml:2:1  limits.toml has no "lipp"
      2 │ lipp = {}
        │ ^^^^
      did you mean "lip"?
    "#
    );
    insta::assert_snapshot!(
        limits(r#"shop_head = "thum"
    "#),
        @r#"
    unknown-limits, wrong
    limits.toml:2:13  there is no set of limits "thum"
      2 │ shop_head = "thum"
        │             ^^^^^^
      did you mean "thumb"?
    "#
    );
    insta::assert_snapshot!(
        limits(r#"shop_head = "mine"
    "#),
        @r#"
    unknown-limits, wrong
    limits.toml:2:13  there is no set of limits "mine"
      2 │ shop_head = "mine"
        │             ^^^^^^
      write one of MIL-R-47196A, MIL-HDBK-5H, thumb, training and 1940s
    "#
    );
    insta::assert_snapshot!(
        limits(r#"half_sizes = "yes"
    "#),
        @r#"
    wrong-sort, wrong
    limits.toml:2:14  "half_sizes" is the text "yes", and must be true or false
      2 │ half_sizes = "yes"
        │              ^^^^^
      write half_sizes = true
    "#
    );
    insta::assert_snapshot!(
        limits(r#"missing_metal = 15
    "#),
        @r#"
    wrong-number, wrong
    limits.toml:2:17  15 of the metal cannot be missing from a head
      2 │ missing_metal = 15
        │                 ^^
      write a share, for example 0.15 for 15 %
    "#
    );
    insta::assert_snapshot!(
        limits(r#"[lip]
"1/7" = 0.010
"#),
        @r#"
    wrong-number, wrong
    limits.toml:3:1  "1/7" is not a rivet diameter
      3 │ "1/7" = 0.010
        │ ^^^^^
      write one of 1/16, 3/32, 1/8, 5/32, 3/16, 7/32, 1/4, 5/16 and 3/8
    "#
    );
    insta::assert_snapshot!(
        limits(r#"[lip]
"1/8" = 0.010
".125" = 0.012
"#),
        @r#"
    duplicate, wrong
    limits.toml:4:1  "lip" has the diameter 1/8 twice
      4 │ ".125" = 0.012
        │ ^^^^^^
      keep the one that was measured last
    "#
    );
    insta::assert_snapshot!(
        limits(r#"[shop_heads.mine]
heads."1/8" = { min_width = 0.16, min_height = 0.05 }
"#),
        @r#"
    no-source, look
    limits.toml:2:13  the set "mine" does not say where it comes from
      2 │ [shop_heads.mine]
        │             ^^^^
      write source = "document, revision, table", as it stands on your copy
    "#
    );
    insta::assert_snapshot!(
        limits(r#"[shop_heads.mine]
source = "own copy, table 2"
"#),
        @r#"
    no-limits, wrong
    limits.toml:2:13  the set "mine" has no limits
      2 │ [shop_heads.mine]
        │             ^^^^
      write heads."1/8" = { min_width = 0.163, min_height = 0.050, max_height = 0.070 }
    "#
    );
    insta::assert_snapshot!(
        limits(r#"[shop_heads.mine]
source = "own copy, table 2"
heads."1/8" = { min_width = 0.16 }
"#),
        @r#"
    no-limits, wrong
    limits.toml:4:7  the limits for 1/8 lack a least width or height
      4 │ heads."1/8" = { min_width = 0.16 }
        │       ^^^^^
      write min_width and min_height; max_width and max_height where the document has them
    "#
    );
    insta::assert_snapshot!(
        limits(r#"[shop_heads.mine]
source = "own copy, table 2"
heads."1/8" = { min_width = 0.16, max_width = 0.15, min_height = 0.05 }
"#),
        @r#"
    wrong-number, wrong
    limits.toml:4:7  the limits for 1/8 leave nothing between
      4 │ heads."1/8" = { min_width = 0.16, max_width = 0.15, min_height = 0.05 }
        │       ^^^^^
      the greatest value must be above the least; compare with your copy
    "#
    );
    insta::assert_snapshot!(
        limits(r#"[shop_heads.mine]
source = "own copy, table 2"
heads."1/8" = { min_width = 0.16, min_height = 0.05 }
heads."0.125" = { min_width = 0.16, min_height = 0.05 }
"#),
        @r#"
    duplicate, wrong
    limits.toml:5:7  the set "mine" has the diameter 1/8 twice
      5 │ heads."0.125" = { min_width = 0.16, min_height = 0.05 }
        │       ^^^^^^^
      keep the one that stands on your copy
    "#
    );
    insta::assert_snapshot!(
        limits(r#"[shop_heads.thumb]
source = "own copy, table 2"
heads."1/8" = { min_width = 0.16, min_height = 0.05 }
"#),
        @r#"
    duplicate, wrong
    limits.toml:2:13  "thumb" is the name of a set that is already here
      2 │ [shop_heads.thumb]
        │             ^^^^^
      give your own set a name of its own, so that a verdict says which one judged
    "#
    );
    insta::assert_snapshot!(
        limits(r#"[shop_heads.one]
source = "kit manual, section 5"
kit = true
heads."1/8" = { min_width = 0.16, min_height = 0.05 }
heads."5/32" = { min_width = 0.2, min_height = 0.06 }
[shop_heads.two]
source = "kit manual, section 6"
kit = true
heads."1/8" = { min_width = 0.17, min_height = 0.05 }
[shop_heads.three]
source = "kit manual, section 7"
kit = true
heads."3/32" = { min_width = 0.12, min_height = 0.04 }
"#),
        @r#"
    duplicate, look
    limits.toml:7:13  "one" and "two" are both the kit manual's, for the same diameter: the one above rules
      7 │ [shop_heads.two]
        │             ^^^
      write kit = true where the kit's last word stands
    "#
    );
    insta::assert_snapshot!(
        limits(r#"[gauges.plate]
"1/7" = { hole = 0.183 }
"1/8" = { hole = 0.183, slit = 0.060 }
".125" = { hole = 0.183 }
"5/32" = { }
"#),
        @r#"
    wrong-number, wrong
    limits.toml:3:1  "1/7" is not a rivet diameter
      3 │ "1/7" = { hole = 0.183 }
        │ ^^^^^
      write one of 1/16, 3/32, 1/8, 5/32, 3/16, 7/32, 1/4, 5/16 and 3/8
    unknown-key, wrong
    limits.toml:4:25  a gauge's hole and slot has no "slit"
      4 │ "1/8" = { hole = 0.183, slit = 0.060 }
        │                         ^^^^
      did you mean "slot"?
    duplicate, wrong
    limits.toml:5:1  the gauge "plate" has the diameter 1/8 twice
      5 │ ".125" = { hole = 0.183 }
        │ ^^^^^^
      keep the one that was measured last
    no-limits, wrong
    limits.toml:6:1  the gauge "plate" has neither hole nor slot for 5/32
      6 │ "5/32" = { }
        │ ^^^^^^
      measure it and write "1/8" = { hole = 0.183, slot = 0.060 }
    "#
    );
    insta::assert_snapshot!(
        files(&[("plan/tab.toml", r#"format = 1
id = "tab"
"#), ("limits.toml", r#""#)]),
        @r#"
    format, look
    limits.toml:1:1  limits.toml does not say its format
      1 │ 
        │ ^
      write format = 1 in the first line
    "#
    );
}

/// Text that is not TOML, said in the builder's terms.
#[test]
fn syntax() {
    insta::assert_snapshot!(
        tab(r#"[parts]
web = { thickness = .032 }
"#),
        @r#"
    syntax, wrong
    plan/tab.toml:4:21  ".032" without a leading zero is not a number in this file
      4 │ web = { thickness = .032 }
        │                     ^
      write 0.032, or ".032" in quotes
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[parts]
web = { thickness = 3/32 }
"#),
        @r#"
    syntax, wrong
    plan/tab.toml:4:21  3/32 without quotes is not a number in this file
      4 │ web = { thickness = 3/32 }
        │                     ^^^^
      write "3/32" in quotes
    "#
    );
    insta::assert_snapshot!(
        tab(r#"title = "x"
title = "y"
"#),
        @r#"
    duplicate, wrong
    plan/tab.toml:4:1  this name is already taken above
      4 │ title = "y"
        │ ^^^^^
      give one of the two another name, or remove one
    "#
    );
    insta::assert_snapshot!(
        tab(r#"title = "x
    "#),
        @r#"
    syntax, wrong
    plan/tab.toml:3:11  this text has no closing quotation mark
      3 │ title = "x
        │           ^
      texts stand in quotes, and the closing one is on the same line
    "#
    );
    insta::assert_snapshot!(
        tab(r#"title = 'x
    "#),
        @r#"
    syntax, wrong
    plan/tab.toml:3:11  this text has no closing quotation mark
      3 │ title = 'x
        │           ^
      texts stand in quotes, and the closing one is on the same line
    "#
    );
    insta::assert_snapshot!(
        tab(r#"title = x
    "#),
        @r#"
    syntax, wrong
    plan/tab.toml:3:9  this text has no quotation marks
      3 │ title = x
        │         ^
      texts stand in quotes: "…"
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[parts]
web = { material = "x" 
"#),
        @r#"
    syntax, wrong
    plan/tab.toml:4:23  this { is not closed
      4 │ web = { material = "x" 
        │                       ^
      write { name = value, name = value }, with a comma between
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[parts]
web = { material = "x" finish = "prime" }
"#),
        @r#"
    syntax, wrong
    plan/tab.toml:4:24  there is no comma between two names of this table
      4 │ web = { material = "x" finish = "prime" }
        │                        ^
      write { name = value, name = value }, with a comma between
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[parts]
a = {}
b = {}
[steps]
fit = { adds = ["a" "b"] }
"#),
        @r#"
    syntax, wrong
    plan/tab.toml:7:21  there is no comma between two values of this list
      7 │ fit = { adds = ["a" "b"] }
        │                     ^
      write [value, value], with a comma between
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[parts]
a = {}
b = {}
[steps]
fit = { adds = ["a", "b" 
"#),
        @r#"
    syntax, wrong
    plan/tab.toml:7:25  this [ is not closed
      7 │ fit = { adds = ["a", "b" 
        │                         ^
      write [value, value], with a comma between
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[parts
web = {}
"#),
        @r#"
    syntax, wrong
    plan/tab.toml:3:7  this heading is not closed
      3 │ [parts
        │       ^
      write [name], the bracket closed
    unknown-key, wrong
    plan/tab.toml:4:1  an assembly has no "web"
      4 │ web = {}
        │ ^^^
      an assembly has format, id, title, units, mirror, differs, note, usual, parts, planes, rows, bays, steps and gates
    "#
    );
    insta::assert_snapshot!(
        tab(r#"rivet MS20470AD4
    "#),
        @r#"
    syntax, wrong
    plan/tab.toml:3:7  there is a name here, and no = with a value behind it
      3 │ rivet MS20470AD4
        │       ^
      write name = value, one to a line; texts in quotes
    "#
    );
    insta::assert_snapshot!(
        tab(r#"title =
    "#),
        @r#"
    syntax, wrong
    plan/tab.toml:3:8  there is no value here
      3 │ title =
        │        ^
      write name = value, one to a line; texts in quotes
    "#
    );
    insta::assert_snapshot!(
        tab(r#"title = "a\q"
    "#),
        @r#"
    syntax, wrong
    plan/tab.toml:3:12  a \ stands before something it cannot mean
      3 │ title = "a\q"
        │            ^
      write \\ where a \ is meant, or the text in single quotes
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[rows]
A = { count = 012, rivet = "MS20470AD4" }
"#),
        @r#"
    syntax, wrong
    plan/tab.toml:4:15  a number cannot start with a nought
      4 │ A = { count = 012, rivet = "MS20470AD4" }
        │               ^
      write it without, or in quotes where it is a name
    "#
    );
    insta::assert_snapshot!(
        tab(r#"[parts]
web = {}
skin = {}
[planes.p]
layers = ["web", "skin"]
[planes.p.rows]
A = { from = [.5, 1], to = [2, 1], count = 2, rivet = "MS20470AD4" }
"#),
        @r#"
    syntax, wrong
    plan/tab.toml:9:15  ".5" without a leading zero is not a number in this file
      9 │ A = { from = [.5, 1], to = [2, 1], count = 2, rivet = "MS20470AD4" }
        │               ^
      write 0.5, or ".5" in quotes
    "#
    );
}

/// The tools of the build.
#[test]
fn own_tools() {
    insta::assert_snapshot!(
        tools(r#"[yokes.deep]
throt = 3
"#),
        @r#"
    no-figure, wrong
    tools.toml:2:8  "deep" does not say its throat depth
      2 │ [yokes.deep]
        │        ^^^^
      write throat = 3
    no-figure, wrong
    tools.toml:2:8  "deep" does not say its gap
      2 │ [yokes.deep]
        │        ^^^^
      write gap = "3/4"
    no-figure, wrong
    tools.toml:2:8  "deep" does not say its nose
      2 │ [yokes.deep]
        │        ^^^^
      write nose = { half_width = "5/16", height = "3/4" }
    unknown-key, wrong
    tools.toml:3:1  a yoke has no "throt"
      3 │ throt = 3
        │ ^^^^^
      did you mean "throat"?
    "#
    );
    insta::assert_snapshot!(
        tools(r#"[squeezers]
air = { force = 3000, pressure = 90, turns_per_inch = 20, shims = [0.01] }
hand = { drive = "hands", force = 0 }
"#),
        @r#"
    duplicate, wrong
    tools.toml:3:67  "air" is set by both `turns_per_inch` and `shims`
      3 │ air = { force = 3000, pressure = 90, turns_per_inch = 20, shims = [0.01] }
        │                                                                   ^^^^^^
      keep the one of the two that is used
    wrong-word, wrong
    tools.toml:4:18  "drive" cannot be "hands"
      4 │ hand = { drive = "hands", force = 0 }
        │                  ^^^^^^^
      did you mean "hand"?
    wrong-number, wrong
    tools.toml:4:35  "force" is not more than nothing
      4 │ hand = { drive = "hands", force = 0 }
        │                                   ^
      write a number above 0
    "#
    );
    insta::assert_snapshot!(
        tools(r#"[squeezers.air]
force = 3000
[yokes]
air = { throat = 2, gap = 1, nose = { half_width = 0.3, height = 0.5 }, fits = ["ear"] }
deep = { throat = 4, gap = 1, nose = { half_width = 0.3, height = 0.5 }, fits = ["ear"] }
"#),
        @r#"
    duplicate, wrong
    tools.toml:5:1  another tool is called "air" already
      5 │ air = { throat = 2, gap = 1, nose = { half_width = 0.3, height = 0.5 }, fits = ["ear"] }
        │ ^^^
      give one of the two another name: a run names its tools by that word alone
    unknown-name, wrong
    tools.toml:6:82  there is no squeezer "ear"
      6 │ deep = { throat = 4, gap = 1, nose = { half_width = 0.3, height = 0.5 }, fits = ["ear"] }
        │                                                                                  ^^^^^
      write "air"
    "#
    );
    insta::assert_snapshot!(
        tools(r#"[dies]
cup = { held_in = "squeezer", head = "universal", diameter = 0.13, across = "3/8" }
[clecoes]
"1/8" = 40
"0.125" = 20
[plates]
plate = { size = [12, 0] }
"#),
        @r#"
    wrong-number, wrong
    tools.toml:3:62  .130 in is not a rivet diameter
      3 │ cup = { held_in = "squeezer", head = "universal", diameter = 0.13, across = "3/8" }
        │                                                              ^^^^
      write one of 1/16, 3/32, 1/8, 5/32, 3/16, 7/32, 1/4, 5/16 and 3/8
    duplicate, wrong
    tools.toml:6:1  the diameter 1/8 stands here twice
      6 │ "0.125" = 20
        │ ^^^^^^^
      keep one of the two
    wrong-number, wrong
    tools.toml:8:18  "size" is not more than nothing
      8 │ plate = { size = [12, 0] }
        │                  ^^^^^^^
      write two lengths above 0
    "#
    );
}

/// Flanges, and what stands on a plane.
#[test]
fn flanges_and_brackets() {
    insta::assert_snapshot!(
        tab(r#"[parts]
web = {}
skin = {}
[planes.p]
layers = ["web", "skin"]
near = "aft"
far = "forward"
bends = [{ side = "aft", height = 0.7 }, { line = [[0, 1], [4, 1]], side = "aft" }]
stands.bracket = { rect = [1, 1, 2, 2], side = "up", height = 1 }
stands.post = { side = "aft" }
"#),
        @r#"
    no-figure, wrong
    plan/tab.toml:10:10  this bend does not say its line
      10 │ bends = [{ side = "aft", height = 0.7 }, { line = [[0, 1], [4, 1]], side = "aft" }]
         │          ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^
      write line = [[0, 1], [40, 1]]
    no-figure, wrong
    plan/tab.toml:10:42  a flange has both a side and a height
      10 │ bends = [{ side = "aft", height = 0.7 }, { line = [[0, 1], [4, 1]], side = "aft" }]
         │                                          ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^
      write side = the side it stands on, and height = how high, or neither
    wrong-side, wrong
    plan/tab.toml:11:48  "up" is not a side of plane p
      11 │ stands.bracket = { rect = [1, 1, 2, 2], side = "up", height = 1 }
         │                                                ^^^^
      write side = "aft" or side = "forward"
    wrong-shape, wrong
    plan/tab.toml:12:8  post has not one outline of rect, circle and path
      12 │ stands.post = { side = "aft" }
         │        ^^^^
      write rect = [x, y, width, height], beside side and height
    no-figure, wrong
    plan/tab.toml:12:8  post does not say its height
      12 │ stands.post = { side = "aft" }
         │        ^^^^
      write side = the side it stands on, and height = how high
    "#
    );
}

/// Runs every case once more in one thread, and compares the kinds they brought about with the list.
#[test]
fn every_kind_has_its_case() {
    insta::allow_duplicates! {
        keys();
        sorts();
        numbers();
        shapes();
        names();
        head_of_a_file();
        mirror_images();
        parts();
        planes();
        positions();
        same_holes();
        layers_of_a_row();
        call_outs();
        gates_and_people();
        left_over();
        steps();
        left_over();
        own_limits();
        own_tools();
        flanges_and_brackets();
        syntax();
    }
    let seen = SEEN.with_borrow(|seen| seen.iter().copied().collect::<Vec<_>>());
    assert_eq!(seen, common::KINDS);
}
