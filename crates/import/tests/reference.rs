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
            assert!((sum - printed).abs() <= 0.5001e-4, "{file}: {name} printed {printed}, computed {sum:.6}");
        }
        rows += 1;
    }
    assert_eq!(rows, 16, "rows of expected.csv");
}
