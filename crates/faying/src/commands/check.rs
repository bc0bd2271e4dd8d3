//! `faying check DIR`.

use std::path::PathBuf;

use faying_build::report::CheckReport;
use faying_build::{Folder, PlanSide};

use super::{counted, print_json};
use crate::{Ended, Failure, Outcome};

/// Reads the plan of a build and tells everything that somebody should look at
#[derive(clap::Args)]
pub struct Arguments {
    /// The build's folder
    dir: PathBuf,
    /// As JSON
    #[arg(long)]
    json: bool,
}

pub fn run(arguments: &Arguments) -> Ended {
    let folder = Folder::open(&arguments.dir).map_err(|error| Failure::of(&error))?;
    let side = PlanSide::of(folder.texts().map_err(|error| Failure::of(&error))?);
    let report = CheckReport::of(&side);
    if arguments.json {
        print_json(&report)?;
    } else {
        for finding in &report.findings {
            say!("{finding}\n");
        }
        say!(
            "{}, {}, {}, {}, {}: {}",
            counted(report.assemblies, "assembly"),
            counted(report.parts, "part"),
            counted(report.rows, "row"),
            counted(report.holes, "hole"),
            counted(report.steps, "step"),
            match report.findings.len() {
                0 => "no findings".to_owned(),
                count => counted(count, "finding"),
            }
        );
    }
    Ok(if report.findings.is_empty() { Outcome::Clean } else { Outcome::Findings })
}
