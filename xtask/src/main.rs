//! What developers and CI run: `cargo xtask test`, or one step of it by name.
//!
//! A step either passes, is left out with a reason (only where a tool is
//! optional), or fails with what to do next; the first failure ends the run.
//! Tools come from the machine's package registries: Debian packages for the
//! browser, npm for its driver, PyPI for the spelling checker. A step that
//! cannot install what it needs says precisely what is missing.

mod browser;
mod fuzz;
mod licences;
mod rooms;
mod shell;
mod steps;

use std::process::ExitCode;
use std::time::Instant;

use clap::{Parser, Subcommand, ValueEnum};

use shell::{Fault, say};

/// What became of a step that did not fail.
enum Outcome {
    Passed,
    /// Passed but for this part of it, which an optional tool does; and why.
    LeftOut(String),
}

#[derive(Parser)]
#[command(name = "cargo xtask", about = "What developers and CI run")]
struct Cli {
    #[command(subcommand)]
    task: Task,
}

#[derive(Subcommand)]
enum Task {
    /// Every step in order, stopping at the first that fails
    Test {
        /// This step alone; may be given more than once
        #[arg(long)]
        only: Vec<Step>,
    },
    /// Inputs made at random, for a while: not part of `test`
    Fuzz {
        /// Minutes in all
        #[arg(long, default_value_t = 5)]
        minutes: u64,
    },
    #[command(flatten)]
    One(Step),
}

/// The steps of `test`, in their order: the cheap ones first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Subcommand, ValueEnum)]
enum Step {
    /// Is every Rust file formatted?
    Fmt,
    /// Does each crate use only the rooms that ARCHITECTURE.md allows it?
    Rooms,
    /// Licences and sources of every dependency; more with cargo-deny
    Deny,
    /// Spelling, with typos from PyPI
    Typos,
    /// Clippy, warnings refused
    Lint,
    /// Rustdoc, warnings refused
    Docs,
    /// Every Rust test, and the examples in the documentation
    Unit,
    /// The binary's pages in Chromium
    Browser,
}

impl Step {
    /// The word that `--only` takes.
    fn name(self) -> String {
        self.to_possible_value().map_or_else(String::new, |value| value.get_name().to_owned())
    }

    fn run(self) -> Result<Outcome, Fault> {
        match self {
            Self::Fmt => steps::fmt(),
            Self::Rooms => rooms::check(),
            Self::Deny => licences::check(),
            Self::Typos => steps::typos(),
            Self::Lint => steps::lint(),
            Self::Docs => steps::docs(),
            Self::Unit => steps::unit(),
            Self::Browser => browser::check(),
        }
    }
}

fn main() -> ExitCode {
    let chosen = match Cli::parse().task {
        Task::Fuzz { minutes } => return end(fuzz::run(minutes), "fuzz"),
        Task::One(step) => vec![step],
        Task::Test { only } if only.is_empty() => Step::value_variants().to_vec(),
        Task::Test { only } => only,
    };
    let begun = Instant::now();
    let mut told = Vec::new();
    for step in chosen {
        say(&format!("\n==== {} ====", step.name()));
        let started = Instant::now();
        let outcome = step.run();
        let took = started.elapsed().as_secs_f64();
        match outcome {
            Ok(Outcome::Passed) => told.push(format!("{:<8} {took:.1} s", step.name())),
            Ok(Outcome::LeftOut(why)) => {
                say(&format!("left out: {why}"));
                told.push(format!("{:<8} {took:.1} s, left out: {why}", step.name()));
            }
            Err(fault) => return end(Err(fault), &step.name()),
        }
        say(&format!("==== {} ended after {took:.1} s ====", step.name()));
    }
    say(&format!("\n{}\nin all   {:.1} s", told.join("\n"), begun.elapsed().as_secs_f64()));
    ExitCode::SUCCESS
}

fn end(outcome: Result<Outcome, Fault>, step: &str) -> ExitCode {
    match outcome {
        Ok(Outcome::Passed) => ExitCode::SUCCESS,
        Ok(Outcome::LeftOut(why)) => {
            say(&format!("{step} left out: {why}"));
            ExitCode::SUCCESS
        }
        Err(Fault { what, next }) => {
            say(&format!("\n==== {step} failed ====\n{what}\n  {next}\n  again with: cargo xtask {step}"));
            ExitCode::FAILURE
        }
    }
}
