//! `faying run DIR STEP` and `faying open DIR STEP`.

use std::path::{Path, PathBuf};

use faying_build::report::{OpenReport, RunReport, open_report};
use faying_build::{Build, World};

use super::print_json;
use crate::{Ended, Failure, Outcome};

/// One step at the bench: set-ups, order, tray
#[derive(clap::Args)]
pub struct RunArguments {
    /// The build's folder
    dir: PathBuf,
    /// The step, such as flap-left/ribs
    step: String,
    /// As JSON
    #[arg(long)]
    json: bool,
}

/// What to tape off before a step: the holes that stay open, and why
#[derive(clap::Args)]
pub struct OpenArguments {
    /// The build's folder
    dir: PathBuf,
    /// The step, such as flap-left/ribs
    step: String,
    /// As JSON
    #[arg(long)]
    json: bool,
}

pub fn run(arguments: &RunArguments) -> Ended {
    let (report, not_yet) = with_step(&arguments.dir, &arguments.step, |world, step| {
        (RunReport::of(world, &world.run_of(step)), world.not_yet(step))
    })?;
    if arguments.json {
        print_json(&report)?;
        return Ok(Outcome::Clean);
    }
    say!("{}  {}", report.title, report.sheet);
    if let Some(why) = not_yet {
        say!("Not yet: {why}.");
    }
    for (number, set_up) in (1..).zip(&report.set_ups) {
        say!("\n{number}. {}  {} holes", set_up.title, set_up.holes.len());
        say!("   {}, {}", set_up.tool, set_up.dies);
        if !set_up.head_on.is_empty() {
            say!("   manufactured head: {}", set_up.head_on);
        }
        if !set_up.setting.is_empty() {
            say!("   {}", set_up.setting);
        }
        let names: Vec<&str> = set_up.holes.iter().map(|hole| hole.short.as_str()).collect();
        for line in names.chunks(12) {
            say!("   {}", line.join(" "));
        }
    }
    print_open(&report.open);
    say!("\nTray (look at the head marks, measure three):");
    for line in &report.bag {
        say!("   {} and {} spare  {}", line.need, line.spare, line.fastener);
    }
    Ok(Outcome::Clean)
}

pub fn open(arguments: &OpenArguments) -> Ended {
    let report = with_step(&arguments.dir, &arguments.step, |world, step| {
        open_report(world.plan(), &world.run_of(step))
    })?;
    if arguments.json {
        print_json(&report)?;
    } else {
        print_open(&report);
        if report.is_empty() {
            say!("Nothing stays open at {}.", arguments.step);
        }
    }
    Ok(Outcome::Clean)
}

fn print_open(open: &[OpenReport]) {
    if !open.is_empty() {
        say!("\nTape these; they stay open:");
    }
    for line in open {
        say!("   {}, {}: {}", line.row, line.holes, line.why);
    }
}

fn with_step<T>(
    dir: &Path,
    step: &str,
    ask: impl FnOnce(&World, faying_build::room::StepId) -> T,
) -> Result<T, Failure> {
    let world = Build::read(dir).map_err(|error| Failure::of(&error))?;
    let plan = world.plan();
    let Some(id) = plan.step_named(step) else {
        let known: Vec<String> = (0..plan.steps.len())
            .map(|index| plan.step_name(faying_build::room::StepId::from_index(index)))
            .collect();
        let near = faying_build::room::nearest(step, known.iter().map(String::as_str));
        let next = near.map_or_else(
            || format!("the steps are {}", known.join(", ")),
            |near| format!("did you mean {near}?"),
        );
        return Err(Failure(format!("the plan has no step {step}: {next}")));
    };
    Ok(ask(&world, id))
}
