//! `faying next DIR --hours H`.

use std::path::PathBuf;

use faying_build::{Build, NextReport};

use super::{counted, print_json};
use crate::{Ended, Failure, Outcome};

/// What to do in the hours there are: the best ready work that fits, why, and what to fetch
#[derive(clap::Args)]
pub struct Arguments {
    /// The build's folder
    dir: PathBuf,
    /// Hours of the session
    #[arg(long, value_name = "HOURS", default_value_t = 2.0)]
    hours: f64,
    /// A second person is there
    #[arg(long)]
    helper: bool,
    /// As JSON
    #[arg(long)]
    json: bool,
}

pub fn run(arguments: &Arguments) -> Ended {
    if !(arguments.hours > 0.0 && arguments.hours <= 24.0) {
        return Err(Failure(format!("--hours {}: write hours of one day, such as 2.5", arguments.hours)));
    }
    let world = Build::read(&arguments.dir).map_err(|error| Failure::of(&error))?;
    let report = world.next(&world.progress(), arguments.hours, arguments.helper);
    if arguments.json {
        print_json(&report)?;
    } else {
        say(&report);
    }
    Ok(if report.owed.is_empty() { Outcome::Clean } else { Outcome::Findings })
}

fn say(report: &NextReport) {
    if report.work.is_empty() {
        say!("Nothing is ready that fits into {} h.", report.hours);
    }
    for step in &report.work {
        let people = if step.people > 1 { format!(", {} people", step.people) } else { String::new() };
        let begins = if step.finishes { "" } else { ", to begin it" };
        say!("{:>4.1} h  {}{begins}{people}", step.hours, step.title);
        say!("        {}", step.reasons.join("; "));
        if !step.fetch.is_empty() {
            say!("        fetch: {}", step.fetch.join(", "));
        }
    }
    for clock in &report.clocks {
        say!("{} cures for another {}.", clock.title, clock.left);
    }
    for gate in &report.gates {
        let against = if gate.against == 0 {
            "nothing stands against it".to_owned()
        } else {
            format!("{} against it", counted(gate.against, "thing"))
        };
        say!("Gate {} is next: {against}.", gate.gate);
    }
    for owed in &report.owed {
        say!("Owed now: {}", owed.what);
    }
}
