//! `faying verify DIR`.

use std::path::PathBuf;

use faying_build::{Folder, verify};

use crate::{Ended, Failure, Outcome};

/// Checks the record: every row, its chain, the file itself
#[derive(clap::Args)]
pub struct Arguments {
    /// The build's folder
    dir: PathBuf,
}

pub fn run(arguments: &Arguments) -> Ended {
    let folder = Folder::open(&arguments.dir).map_err(|error| Failure::of(&error))?;
    let report = verify(&folder).map_err(|error| Failure::of(&error))?;
    for line in &report.lines {
        say!("{line}");
    }
    Ok(if report.faults == 0 { Outcome::Clean } else { Outcome::Findings })
}
