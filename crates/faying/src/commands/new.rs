//! `faying new DIR`.

use std::path::PathBuf;

use faying_build::Folder;

use crate::{Ended, Failure, Outcome};

/// Makes the folder of a new build, with one assembly to start from
#[derive(clap::Args)]
pub struct Arguments {
    /// A folder that does not exist yet, or is empty
    dir: PathBuf,
    /// Short name of the first assembly
    #[arg(long, default_value = "first")]
    assembly: String,
    /// Unit of bare numbers: in or mm
    #[arg(long, default_value = "in", value_parser = ["in", "mm"])]
    units: String,
}

pub fn run(arguments: &Arguments) -> Ended {
    if let Some(fault) = faying_build::start_fault(&arguments.assembly) {
        return Err(Failure(fault));
    }
    let text = faying_build::start_text(&arguments.assembly, &arguments.units);
    let file = format!("plan/{}.toml", arguments.assembly);
    let folder = Folder::create(&arguments.dir, &[(&file, &text)]).map_err(|error| Failure::of(&error))?;
    say!("{} is ready: its plan is {file}.", folder.path().display());
    say!(
        "Next: faying serve {}, and type parts and rows; or write the file and run faying check.",
        folder.path().display()
    );
    Ok(Outcome::Clean)
}
