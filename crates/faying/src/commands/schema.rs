//! `faying schema`.

use faying_build::room::{keys, plan_schema};

use super::print_json;
use crate::{Ended, Outcome};

/// The JSON Schema of the plan files, for editors
#[derive(clap::Args)]
pub struct Arguments {
    /// That of limits.toml instead
    #[arg(long)]
    limits: bool,
}

pub fn run(arguments: &Arguments) -> Ended {
    let root = if arguments.limits { &keys::LIMITS } else { &keys::ASSEMBLY };
    print_json(&plan_schema(root))?;
    Ok(Outcome::Clean)
}
