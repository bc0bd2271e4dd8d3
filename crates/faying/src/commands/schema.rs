//! `faying schema`.

use faying_build::room::{keys, plan_schema};

use super::print_json;
use crate::{Ended, Outcome};

/// The JSON Schema of the plan files, for editors
#[derive(clap::Args)]
pub struct Arguments {
    /// That of limits.toml instead
    #[arg(long, group = "file")]
    limits: bool,
    /// That of tools.toml instead
    #[arg(long, group = "file")]
    tools: bool,
    /// That of people.toml instead
    #[arg(long, group = "file")]
    people: bool,
    /// That of gates.toml instead
    #[arg(long, group = "file")]
    gates: bool,
}

pub fn run(arguments: &Arguments) -> Ended {
    let root = match arguments {
        Arguments { limits: true, .. } => &keys::LIMITS,
        Arguments { tools: true, .. } => &keys::TOOLS,
        Arguments { people: true, .. } => &keys::PEOPLE,
        Arguments { gates: true, .. } => &keys::GATES,
        _ => &keys::ASSEMBLY,
    };
    print_json(&plan_schema(root))?;
    Ok(Outcome::Clean)
}
