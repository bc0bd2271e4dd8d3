//! Any text as the files of a build: the reader must give findings, never panic.
//!
//! A NUL parts the input into up to three assemblies and the files beside them, so that
//! names across files are reached too.

#![no_main]

use faying_plan::{SourceText, read};
use libfuzzer_sys::fuzz_target;

const NAMES: [&str; 7] =
    ["plan/a.toml", "plan/b.toml", "limits.toml", "plan/c.toml", "gates.toml", "people.toml", "tools.toml"];

fuzz_target!(|text: &str| {
    let files: Vec<SourceText> = NAMES
        .iter()
        .zip(text.split('\0'))
        .map(|(name, text)| SourceText { name: (*name).into(), text: text.into() })
        .collect();
    let reading = read(files);
    for finding in &reading.findings {
        // The place must lie in the text it is shown from.
        let _ = finding.to_string();
    }
});
