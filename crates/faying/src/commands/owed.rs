//! `faying owed DIR`.

use std::path::PathBuf;

use faying_build::Build;

use super::print_json;
use crate::{Ended, Failure, Outcome};

/// Everything that was put off, by gate; what presses first
#[derive(clap::Args)]
pub struct Arguments {
    /// The build's folder
    dir: PathBuf,
    /// As JSON
    #[arg(long)]
    json: bool,
}

pub fn run(arguments: &Arguments) -> Ended {
    let world = Build::read(&arguments.dir).map_err(|error| Failure::of(&error))?;
    let owed = world.owed(&world.progress());
    if arguments.json {
        print_json(&owed)?;
    } else if owed.is_empty() {
        say!("Nothing is owed.");
    } else {
        let mut gate = None;
        for it in &owed {
            if gate != Some(&it.gate) {
                let until = if it.gate.is_empty() { "until no gate" } else { &it.gate };
                say!("{until}{}", if it.now { ", which is next" } else { "" });
                gate = Some(&it.gate);
            }
            let at = if it.at.is_empty() { String::new() } else { format!(", at {}", it.at) };
            let why = if it.why.is_empty() { String::new() } else { format!(" ({})", it.why) };
            say!("  {}{at}{why}, since {}", it.what, it.since.get(..10).unwrap_or(&it.since));
        }
    }
    Ok(if owed.is_empty() { Outcome::Clean } else { Outcome::Findings })
}
