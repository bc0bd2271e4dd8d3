//! The reader against drawings of other programs, counted by a general-purpose library.
//!
//! The drawings stand outside the project, in the reference folder beside it;
//! where that is absent there is nothing to compare. Sums are printed to
//! four places in `expected.csv`, and that is the whole tolerance: half a
//! unit of the last place, and 1e-4 for each circle as the least the importer
//! promises.

use std::path::{Path, PathBuf};

fn folder() -> Option<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../../shared/reference/dxf");
    folder.join("expected.csv").is_file().then_some(folder)
}

/// The table prints metres here, the other reader's own default: the file says nothing of a unit.
const NO_UNIT_IN_THE_FILE: [&str; 1] = ["integration_tests_data_R12_with_trash_beyond_EOF.dxf"];

#[test]
fn every_drawing_agrees_with_the_counts_of_another_reader() {
    let Some(folder) = folder() else {
        println!("not run: reference files absent");
        return;
    };
    let mut table = csv::Reader::from_path(folder.join("expected.csv")).unwrap();
    let heads = table.headers().unwrap().clone();
    let mut rows = 0;
    for row in table.records() {
        let row = row.unwrap();
        let cell = |name: &str| row.get(heads.iter().position(|head| head == name).unwrap()).unwrap();
        let file = cell("file");
        let drawing = faying_import::read(&std::fs::read(folder.join(file)).unwrap());
        // The other reader takes a file without a header for R12, and lifts R13 and R14 to R2000.
        let lifted = match drawing.version.as_deref() {
            None => "AC1009",
            Some("AC1012" | "AC1014") => "AC1015",
            Some(version) => version,
        };
        assert_eq!(lifted, cell("dxf_version"), "{file}");
        let units = cell("insunits").parse().ok().and_then(faying_import::DrawingUnits::from_header);
        if NO_UNIT_IN_THE_FILE.contains(&file) {
            assert_eq!((drawing.units, cell("insunits")), (None, "6"), "{file}: unit");
        } else {
            assert_eq!(drawing.units, units, "{file}: unit");
        }

        let count = |name: &str| cell(name).parse::<usize>().unwrap();
        let got = drawing.counted;
        assert_eq!(got.circles_all, count("circles_all"), "{file}: circles");
        assert_eq!(got.lwpolylines, count("lwpolylines"), "{file}: lwpolylines");
        assert_eq!(got.polylines, count("polylines"), "{file}: polylines");
        assert_eq!(got.lines, count("lines"), "{file}: lines");
        assert_eq!(got.arcs, count("arcs"), "{file}: arcs");
        assert_eq!(drawing.circles.len(), count("circles_positive_radius"), "{file}: circles with a radius");
        for (name, sum) in [
            ("sum_x", drawing.circles.iter().map(|circle| circle.x).sum::<f64>()),
            ("sum_y", drawing.circles.iter().map(|circle| circle.y).sum()),
            ("sum_radius", drawing.circles.iter().map(|circle| circle.diameter / 2.0).sum()),
        ] {
            if cell(name).is_empty() {
                assert_eq!(drawing.circles.len(), 0, "{file}: no {name} to compare with");
                continue;
            }
            let printed: f64 = cell(name).parse().unwrap();
            assert!(
                (sum - printed).abs() <= 0.5001e-4,
                "{file}: {name} printed {printed}, computed {sum:.6}"
            );
        }
        rows += 1;
    }
    assert_eq!(rows, 16, "rows of expected.csv");
}

/// The part as a builder would get it, looked at once by eye: one outline in nine lines and four
/// arcs, three rows of #40 and four of #30, two lightening holes, a bend line and a note.
#[test]
fn the_part_gives_a_sketch_that_a_builder_would_draw() {
    use faying_import::sketch::{Options, Places, Shape, Sketch};
    let Some(folder) = folder() else {
        println!("not run: reference files absent");
        return;
    };
    let drawing = faying_import::read(&std::fs::read(folder.join("part_web_inch.dxf")).unwrap());
    let sketch = Sketch::of(&drawing, &Options::new(faying_import::DrawingUnits::Inch));
    assert_eq!((drawing.outlines.len(), sketch.outlines.len(), drawing.outlines[0].path.len()), (1, 1, 12));
    // 44 × 6 less four fillets of 1/4 and a notch of .5 × .6.
    let fillets = 4.0 * (0.0625 - std::f64::consts::PI * 0.0625 / 4.0);
    let want = 44.0 * 6.0 - fillets - 0.5 * 0.6;
    assert!((drawing.outlines[0].area() - want).abs() < 1e-4, "{}", drawing.outlines[0].area());
    assert_eq!(sketch.cuts, [Shape::Circle([13.2, 3.0, 2.0]), Shape::Circle([33.0, 3.0, 2.0])]);
    let rows: Vec<(&str, &str, usize)> = sketch
        .rows
        .iter()
        .map(|row| {
            assert!(matches!(row.places, Places::Line { .. }), "{row:?}");
            (&*row.layer, row.suits.as_ref().unwrap().drill.as_str(), row.places.count())
        })
        .collect();
    assert_eq!(
        rows,
        [
            ("HOLES_40", "#40", 57),
            ("HOLES_40", "#40", 35),
            ("HOLES_40", "#40", 20),
            ("HOLES_30", "#30", 5),
            ("HOLES_30", "#30", 5),
            ("HOLES_30", "#30", 5),
            ("HOLES_30", "#30", 5),
        ]
    );
    let left: Vec<(&str, usize)> = sketch.left.iter().map(|left| (left.what.as_str(), left.count)).collect();
    assert_eq!(left, [("MTEXT", 1)]);
    // As the file has it: from (0, .35) to (44, .35) on layer BEND.
    assert_eq!(sketch.bends, [[[0.0, 0.35], [44.0, 0.35]]]);
    assert!(sketch.findings.is_empty(), "{:?}", sketch.findings);
}
