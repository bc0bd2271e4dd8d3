//! The reader against drawings of our own, whose circles another reader has listed.
//!
//! `tests/data/expected.csv` is written by `tests/reference/make_drawings.py`
//! to nine places; it is read here with a tolerance of 1e-6 drawing units,
//! because the other reader goes through its own order of sums.

use std::path::Path;

use faying_import::dxf::Drawn;
use faying_import::sketch::{Options, Places, Reading, Shape, Sketch};
use faying_import::{Drawing, DrawingUnits, read};

fn bytes(name: &str) -> Vec<u8> {
    std::fs::read(Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data").join(name))
        .expect("a file of tests/data")
}

fn drawing(name: &str) -> Drawing {
    read(&bytes(name))
}

const DRAWINGS: [(&str, Option<&str>); 12] = [
    ("blocks-r12.dxf", Some("AC1009")),
    ("blocks-r12-binary.dxf", Some("AC1009")),
    ("blocks-r2000.dxf", Some("AC1015")),
    ("blocks-r2010.dxf", Some("AC1024")),
    ("blocks-r2010-binary.dxf", Some("AC1024")),
    ("blocks-r2018.dxf", Some("AC1032")),
    ("plate-r12.dxf", Some("AC1009")),
    ("plate-r12-binary.dxf", Some("AC1009")),
    ("plate-r2000.dxf", Some("AC1015")),
    ("plate-r2010.dxf", Some("AC1024")),
    ("plate-r2018-binary.dxf", Some("AC1032")),
    ("plate-r2018.dxf", Some("AC1032")),
];

#[test]
fn every_circle_is_where_another_reader_puts_it() {
    let text = String::from_utf8(bytes("expected.csv")).unwrap();
    for (name, version) in DRAWINGS {
        let drawing = drawing(name);
        assert_eq!(drawing.version.as_deref(), version, "{name}");
        let unit = if name.starts_with("plate") { DrawingUnits::Inch } else { DrawingUnits::Millimetre };
        assert_eq!(drawing.units, (!name.contains("r12")).then_some(unit), "{name}");
        let mut want: Vec<[f64; 3]> = csv::Reader::from_reader(text.as_bytes())
            .deserialize::<(String, f64, f64, f64)>()
            .map(Result::unwrap)
            .filter(|row| row.0 == name)
            .map(|(_, x, y, diameter)| [x, y, diameter])
            .collect();
        let got: Vec<[f64; 3]> = drawing.circles.iter().map(|c| [c.x, c.y, c.diameter]).collect();
        assert_eq!(got.len(), want.len(), "{name}");
        for circle in got {
            let near = |other: &[f64; 3]| circle.iter().zip(other).all(|(a, b)| (a - b).abs() < 1e-6);
            let at = want.iter().position(near).unwrap_or_else(|| panic!("{name}: {circle:?} is not listed"));
            want.swap_remove(at);
        }
    }
}

#[test]
fn what_is_left_of_the_blocks_is_said() {
    let left: Vec<String> = drawing("blocks-r2010.dxf")
        .left
        .iter()
        .map(|left| format!("{} {}: {}", left.count, left.what, left.why))
        .collect();
    assert_eq!(
        left,
        [
            "2 CIRCLE: scaled unevenly by its block reference: an ellipse",
            "1 ATTRIB: text: read it in the drawing",
        ]
    );
}

#[test]
fn the_plate_becomes_rows_an_outline_and_a_cut_out() {
    for (name, _) in DRAWINGS.iter().filter(|(name, _)| name.starts_with("plate")) {
        let drawing = drawing(name);
        let sketch = Sketch::of(&drawing, &Options::new(DrawingUnits::Inch));
        let rows: Vec<Places> = sketch.rows.iter().map(|row| row.places.clone()).collect();
        assert_eq!(
            rows,
            [
                Places::Line { from: [1.0, 0.75], to: [11.0, 0.75], count: 11 },
                Places::Line { from: [1.0, 3.25], to: [11.0, 3.25], count: 17 },
            ],
            "{name}"
        );
        assert_eq!(sketch.cuts, [Shape::Circle([6.0, 2.0, 1.5])], "{name}");
        assert_eq!((drawing.outlines.len(), drawing.outlines[0].drawn), (1, Drawn::Chained), "{name}");
        // The rectangle without its four corners, each a square less a quarter of a circle.
        let corner = 0.5 * 0.5 - std::f64::consts::PI * 0.5 * 0.5 / 4.0;
        assert!((drawing.outlines[0].area() - (12.0 * 4.0 - 4.0 * corner)).abs() < 1e-6, "{name}");
        let [left, bottom, right, top] = drawing.outlines[0].extent();
        assert!(left.abs() + bottom.abs() + (right - 12.0).abs() + (top - 4.0).abs() < 1e-6, "{name}");
        let left: Vec<(&str, usize)> =
            sketch.left.iter().map(|left| (left.what.as_str(), left.count)).collect();
        assert_eq!(left, [("TEXT", 1)], "{name}");
        let [[from, to]] = sketch.bends[..] else { panic!("{name}: {:?}", sketch.bends) };
        // As `make_drawings.py` draws it.
        for (got, want) in [from, to].concat().iter().zip([0.0, 0.4, 12.0, 0.4]) {
            assert!((got - want).abs() < 1e-6, "{name}: {:?}", sketch.bends);
        }
        assert_eq!(Reading::of(&drawing, None).bends.len(), 1, "{name}");
    }
}

#[test]
fn polylines_close_by_flag_or_by_a_repeated_corner() {
    let sketch = Sketch::of(&drawing("polylines.dxf"), &Options::new(DrawingUnits::Millimetre));
    let inches = |mm: f64| mm / 25.4;
    let same = |shape: &Shape, want: [f64; 4]| matches!(shape, Shape::Rect(got) if got.iter().zip(want).all(|(a, b)| (a - inches(b)).abs() < 1e-9));
    assert_eq!(sketch.outlines.len(), 1);
    assert!(same(&sketch.outlines[0], [0.0, 0.0, 100.0, 60.0]));
    // Largest first: the slot (20·8 and a circle of 8), the older polyline, the one with a repeated corner.
    assert_eq!(sketch.cuts.len(), 3);
    assert!(same(&sketch.cuts[1], [30.0, 10.0, 20.0, 10.0]), "{:?}", sketch.cuts);
    assert!(
        matches!(&sketch.cuts[0], Shape::Path(path) if path.len() == 4 && path.iter().filter(|c| c.bulge == 1.0).count() == 2)
    );
    assert!(same(&sketch.cuts[2], [10.0, 10.0, 10.0, 10.0]));
    // Two half circles are one hole of 2.5 mm.
    assert_eq!(sketch.holes(), 1);
    let Places::At(at) = &sketch.rows[0].places else { panic!("one hole is no line") };
    assert!((at[0][0] - inches(80.0)).abs() < 1e-9 && (at[0][1] - inches(40.0)).abs() < 1e-9);
    assert_eq!(sketch.rows[0].suits.as_ref().map(|suits| suits.drill.as_str()), Some("#40"));
    assert_eq!(
        sketch.left.iter().map(|left| left.count).sum::<usize>(),
        2,
        "the open polyline: {:?}",
        sketch.left
    );
}

/// What stands on a bend layer or in a centre linetype: straight lines are bends unless a hole is on
/// them, all else is left and said.
#[test]
fn straight_bend_lines_are_taken_and_the_rest_is_left() {
    let line = |layer: &str, more: &str, [x, y, to_x, to_y]: [f64; 4]| {
        format!("0\nLINE\n8\n{layer}\n{more}10\n{x}\n20\n{y}\n11\n{to_x}\n21\n{to_y}\n")
    };
    let poly = |bulge: f64, flag: u8| {
        format!("0\nLWPOLYLINE\n8\nBEND\n90\n2\n70\n{flag}\n10\n0\n20\n1\n42\n{bulge}\n10\n9\n20\n1\n")
    };
    let centre = "6\nCENTER2\n";
    let body = [
        line("Bend-up", "", [0.0, 3.0, 9.0, 3.0]),
        // The same again, the other way round, and one of no length.
        line("Bend-up", "", [9.0, 3.001, 0.0, 3.0]),
        line("Bend-up", "", [1.0, 3.0, 1.0, 3.0]),
        "0\nARC\n8\nBEND\n10\n0\n20\n0\n40\n1\n50\n0\n51\n90\n".to_owned(),
        poly(0.0, 0),
        poly(0.5, 0),
        poly(0.0, 1),
        // A centre line beside the hole, one that ends before it, one through it.
        line("0", centre, [0.0, 2.0, 9.0, 2.0]),
        line("0", centre, [3.0, 0.5, 9.0, 0.5]),
        line("0", centre, [0.0, 0.5, 3.0, 0.5]),
        // Invisible.
        line("BEND", "60\n1\n", [0.0, 4.0, 9.0, 4.0]),
        line("BEND OFF", "", [0.0, 5.0, 9.0, 5.0]),
        "0\nCIRCLE\n8\nH\n10\n2\n20\n.5\n40\n.064\n".to_owned(),
    ]
    .concat();
    let text = format!("0\nSECTION\n2\nENTITIES\n{body}0\nENDSEC\n0\nEOF\n");
    let mut options = Options::new(DrawingUnits::Inch);
    options.leave_layers = vec!["bend off".into()];
    let sketch = Sketch::of(&read(text.as_bytes()), &options);
    assert_eq!(
        sketch.bends,
        [
            [[0.0, 3.0], [9.0, 3.0]],
            [[0.0, 1.0], [9.0, 1.0]],
            [[0.0, 2.0], [9.0, 2.0]],
            [[3.0, 0.5], [9.0, 0.5]],
        ]
    );
    let left: Vec<String> =
        sketch.left.iter().map(|left| format!("{} {}: {}", left.count, left.what, left.why)).collect();
    let curved = "bend line that is not one straight line: a plan holds straight ones only";
    assert_eq!(
        left,
        [
            "1 LINE: bend line or centre line without a length".into(),
            format!("1 ARC: {curved}"),
            format!("2 LWPOLYLINE: {curved}"),
            "1 LINE: invisible, or on a layer that is switched off".into(),
            "1 LINE: drawn twice".into(),
            "1 LINE: centre line through a hole: its axis, not a bend".into(),
            "1 LINE: on a layer that was to be left".into(),
        ]
    );
    let look: Vec<&str> = sketch.findings.iter().map(|finding| finding.what.as_str()).collect();
    assert!(look.contains(&"2 centre lines were taken as bend lines: no hole lies on them"), "{look:?}");
}

#[test]
fn a_reading_names_fasteners_only_where_the_unit_is_known() {
    let unknown = drawing("plate-r12.dxf");
    let reading = Reading::of(&unknown, None);
    assert_eq!(
        (reading.units, reading.holes[0].diameter_in, reading.holes[0].suits.as_deref()),
        (None, None, None)
    );
    assert!(reading.findings.iter().any(|finding| finding.kind == "no-units"));

    let answered = Reading::of(&unknown, Some(DrawingUnits::Inch));
    assert_eq!(answered.holes.iter().filter(|hole| hole.suits.as_deref() == Some("1/8")).count(), 28);
    assert_eq!(answered.holes.iter().filter(|hole| hole.suits.is_none()).count(), 1);
    assert!(answered.findings.is_empty(), "{:?}", answered.findings);
}

#[test]
fn hand_written_drawings_with_a_fault_give_a_finding() {
    let wrap = |body: &str| format!("0\nSECTION\n2\nENTITIES\n{body}0\nENDSEC\n0\nEOF\n");
    let whole = "0\nCIRCLE\n8\n0\n10\n1\n20\n2\n40\n.5\n";
    for (name, text, circles, kind) in [
        ("nothing", String::new(), 0, "not-dxf"),
        ("a text", "Dear builder,\n".to_owned(), 0, "broken-file"),
        ("a DWG file", "AC1032\0\0\0".to_owned(), 0, "not-dxf"),
        (
            "a broken coordinate",
            wrap(&format!("{whole}0\nCIRCLE\n10\nabc\n20\n2\n40\n.5\n")),
            1,
            "broken-record",
        ),
        (
            "a coordinate that is no number",
            wrap(&format!("{whole}0\nCIRCLE\n10\nNaN\n20\n2\n40\n.5\n")),
            1,
            "broken-record",
        ),
        ("no radius", wrap(&format!("{whole}0\nCIRCLE\n10\n1\n20\n2\n")), 1, "broken-record"),
        ("a lost line", wrap(&format!("0\nLINE\n10\n20\n2\n{whole}")), 1, "broken-file"),
        ("cut short", format!("0\nSECTION\n2\nENTITIES\n{whole}0\n"), 1, "cut-short"),
        ("no end mark", format!("0\nSECTION\n2\nENTITIES\n{whole}"), 1, "cut-short"),
        ("no section", format!("{whole}0\nEOF\n"), 0, "stray"),
        ("a lost block", wrap("0\nINSERT\n2\nGONE\n10\n0\n20\n0\n"), 0, "no-block"),
    ] {
        let drawing = read(text.as_bytes());
        assert_eq!(drawing.circles.len(), circles, "{name}");
        let kinds: Vec<_> = drawing.findings.iter().map(|finding| finding.kind).collect();
        assert!(kinds.contains(&kind), "{name}: {kinds:?}");
    }
    assert!(read(&bytes("plate-r2000.dxf")).findings.is_empty());
}
