//! `faying backup DIR`.

use std::path::PathBuf;

use faying_build::{Folder, backup};

use crate::{Ended, Failure, Outcome};

/// Copies the record into the build's backups folder
#[derive(clap::Args)]
pub struct Arguments {
    /// The build's folder
    dir: PathBuf,
}

pub fn run(arguments: &Arguments) -> Ended {
    let folder = Folder::open(&arguments.dir).map_err(|error| Failure::of(&error))?;
    say!("{}", backup(&folder).map_err(|error| Failure::of(&error))?);
    Ok(Outcome::Clean)
}
