//! `faying demo`.

use std::path::PathBuf;

use faying_build::{BuildError, Folder};

use super::serve;
use crate::{Ended, Failure};

/// The demo kit, compiled in.
const FILES: [(&str, &str); 10] = [
    ("plan/aileron-left.toml", include_str!("../../../../plans/teasel/aileron-left.toml")),
    ("plan/bellcrank.toml", include_str!("../../../../plans/teasel/bellcrank.toml")),
    ("plan/fin.toml", include_str!("../../../../plans/teasel/fin.toml")),
    ("plan/flap-left.toml", include_str!("../../../../plans/teasel/flap-left.toml")),
    ("plan/flap-right.toml", include_str!("../../../../plans/teasel/flap-right.toml")),
    ("plan/tailcone.toml", include_str!("../../../../plans/teasel/tailcone.toml")),
    ("plan/wing-left.toml", include_str!("../../../../plans/teasel/wing-left.toml")),
    ("limits.toml", include_str!("../../../../plans/teasel/limits.toml")),
    ("people.toml", include_str!("../../../../plans/teasel/people.toml")),
    ("gates.toml", include_str!("../../../../plans/teasel/gates.toml")),
];

/// Makes the demo build, the invented Teasel Two, and serves it
#[derive(clap::Args)]
pub struct Arguments {
    /// Where to put it; what is there already is used on
    #[arg(long, default_value = "teasel-two")]
    dir: PathBuf,
    #[command(flatten)]
    server: serve::Server,
}

pub fn run(arguments: &Arguments) -> Ended {
    match Folder::create(&arguments.dir, &FILES) {
        Ok(_) => say!("The demo build is in {}.", arguments.dir.display()),
        // A second start goes on with what was done in the first.
        Err(BuildError::NotEmpty { .. }) if Folder::open(&arguments.dir).is_ok() => {
            say!("The demo build in {} is used on.", arguments.dir.display());
        }
        Err(error) => return Err(Failure::of(&error)),
    }
    serve::serve(&arguments.dir, &arguments.server)
}
