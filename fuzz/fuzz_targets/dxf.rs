//! Any bytes as a drawing, text or binary: read, then made into a sketch.

#![no_main]

use faying_import::DrawingUnits;
use faying_import::sketch::{Options, Sketch};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    let drawing = faying_import::read(bytes);
    let sketch = Sketch::of(&drawing, &Options::new(DrawingUnits::Inch));
    for finding in drawing.findings.iter().chain(&sketch.findings) {
        // The place must lie in the text it is shown from.
        let _ = finding.to_string();
    }
});
