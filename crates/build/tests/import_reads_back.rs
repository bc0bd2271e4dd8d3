//! What the DXF import prints is a plane that the plan reader takes, hole for hole.
//!
//! The drawings are our own (`crates/import/tests/data`, made by a general-purpose
//! DXF library, see `make_drawings.py` beside them).

use std::path::Path;

use faying_build::room::{DrawingUnits, Sketch, SketchOptions, Unit, read_dxf};
use faying_plan::SourceText;

#[test]
fn every_drawing_reads_back_as_a_plane() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../import/tests/data");
    let mut seen = 0;
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_none_or(|ending| ending != "dxf") {
            continue;
        }
        let drawing = read_dxf(&std::fs::read(&path).unwrap());
        let units = drawing.units.unwrap_or(DrawingUnits::read("in").unwrap());
        let sketch = Sketch::of(&drawing, &SketchOptions::new(units));
        for unit in [Unit::Inch, Unit::Millimetre] {
            let plane = sketch.to_toml("web", unit);
            let text = format!(
                "format = 1\nid = \"part\"\nunits = \"{}\"\n[usual]\nrivet = \"MS20470AD4\"\n[parts]\nweb = {{ thickness = \"1 mm\" }}\n{plane}",
                unit.symbol()
            );
            let reading = faying_plan::read(vec![SourceText {
                name: "plan/part.toml".into(),
                text: text.clone().into(),
            }]);
            let wrong: Vec<String> = reading
                .findings
                .iter()
                .filter(|finding| finding.severity == faying_build::room::Severity::Wrong)
                .map(ToString::to_string)
                .collect();
            assert!(wrong.is_empty(), "{}:\n{text}\n{}", path.display(), wrong.join("\n"));
            let taken: usize = plane
                .lines()
                .find_map(|line| line.strip_prefix("# Taken: ")?.split_once(" hole")?.0.parse().ok())
                .unwrap_or(0);
            assert_eq!(reading.plan.holes.len(), taken, "{} in {}", path.display(), unit.symbol());
        }
        seen += 1;
    }
    assert!(seen >= 10, "only {seen} drawings");
}
