//! Writes prints of the demo kit to a folder: `print FOLDER`.

use std::path::Path;

#[path = "../tests/common/mod.rs"]
mod common;
#[path = "../tests/common/prints.rs"]
mod prints;

use faying_sheet::{Paper, pdf, svg};

#[allow(
    clippy::print_stdout,
    clippy::unwrap_used,
    clippy::disallowed_types,
    clippy::disallowed_methods,
    reason = "an example that writes files and takes times"
)]
fn main() {
    let folder = std::env::args().nth(1).unwrap_or_else(|| ".".to_owned());
    let plan = prints::kit();
    for paper in Paper::ALL {
        let mut documents = prints::all(&plan, paper);
        for (name, card) in prints::awkward(&plan) {
            documents.push((name, card.pages(paper).unwrap()));
        }
        for (name, document) in documents {
            let start = std::time::Instant::now();
            let bytes = pdf::write(&document).unwrap();
            let took = start.elapsed();
            let stem = format!("{name}-{}", paper.name().to_lowercase());
            println!("{stem}: {} pages, {} bytes, {took:?}", document.pages.len(), bytes.len());
            std::fs::write(Path::new(&folder).join(format!("{stem}.pdf")), bytes).unwrap();
            for (index, page) in document.pages.iter().enumerate() {
                let file = format!("{stem}-{}.svg", index + 1);
                std::fs::write(Path::new(&folder).join(file), svg::write(page)).unwrap();
            }
        }
    }
}
