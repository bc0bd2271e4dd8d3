//! `faying run DIR STEP`, `faying open DIR [STEP]` and `faying print DIR STEP WHAT`.

use std::io::IsTerminal;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use faying_build::report::{OpenReport, RunReport, SetUpReport, TakesReport, open_report};
use faying_build::room::{StepId, order};
use faying_build::{Build, World};
use faying_sheet::Paper;
use faying_web::prints::{Print, print};

use super::{counted, print_json};
use crate::{Ended, Failure, Outcome};

/// One step at the bench: tools, set-ups, order, tray, and what it takes
#[derive(clap::Args)]
pub struct RunArguments {
    /// The build's folder
    dir: PathBuf,
    /// The step, such as flap-left/ribs
    step: String,
    /// A tool that is not at hand, by its name in tools.toml; may be given again
    #[arg(long, value_name = "TOOL")]
    without: Vec<String>,
    /// How long to look for a better order; it ends sooner where the order is proven best
    #[arg(long, value_name = "SECONDS", default_value_t = 2.0)]
    seconds: f64,
    /// Say why each tool, and why not the others
    #[arg(long)]
    why: bool,
    /// As JSON
    #[arg(long)]
    json: bool,
}

/// What to tape off before a step, and why; without a step what stays open and what closes in the whole build
#[derive(clap::Args)]
pub struct OpenArguments {
    /// The build's folder
    dir: PathBuf,
    /// The step, such as flap-left/ribs
    step: Option<String>,
    /// As JSON
    #[arg(long)]
    json: bool,
}

/// A step's run card, bag labels or full-size maps, as PDF
#[derive(clap::Args)]
pub struct PrintArguments {
    /// The build's folder
    dir: PathBuf,
    /// The step, such as flap-left/ribs
    step: String,
    /// What: card, labels or map
    #[arg(value_parser = ["card", "labels", "map"])]
    what: String,
    /// The paper: a4 or letter
    #[arg(long, default_value = "a4", value_parser = ["a4", "letter"])]
    paper: String,
    /// The file to write; the step's name otherwise
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
    /// Where the pages are served, for the QR code
    #[arg(long, value_name = "ADDRESS", default_value = "http://localhost:8711")]
    address: String,
}

pub fn run(arguments: &RunArguments) -> Ended {
    if !(arguments.seconds.is_finite() && arguments.seconds >= 0.0) {
        return Err(Failure(format!("--seconds {}: write a number such as 10", arguments.seconds)));
    }
    let (report, not_yet) = with_step(&arguments.dir, &arguments.step, |world, step| {
        if let Some(name) = arguments.without.iter().find(|name| world.plan().tools.title_of(name).is_none())
        {
            return Err(Failure(format!(
                "tools.toml has no tool {name}: see the Tools page for their names"
            )));
        }
        let run = search(world, step, &arguments.without, arguments.seconds);
        Ok((RunReport::of(world, &run), world.not_yet(step)))
    })??;
    if arguments.json {
        print_json(&report)?;
        return Ok(Outcome::Clean);
    }
    say!("{}  {}", report.title, report.sheet);
    if let Some(why) = not_yet {
        say!("Not yet: {why}.");
    }
    say_takes(&report.takes);
    for (number, set_up) in (1..).zip(&report.set_ups) {
        say_set_up(number, set_up, arguments.why);
    }
    print_open(&report.open);
    if !report.helper.is_empty() {
        say!("\nFor an evening with a helper (look at the first rivets from outside before going on):");
        for row in &report.helper {
            say!("   {}, {}", row.row, row.holes);
        }
    }
    say!("\nTray (look at the head marks, measure three):");
    for line in &report.bag {
        say!("   {} and {} spare  {}", line.need, line.spare, line.fastener);
    }
    for line in &report.clecoes {
        let have = line.have.map_or_else(|| "not written in tools.toml".to_owned(), |have| have.to_string());
        say!("   {} clecoes {}, at hand: {have}", line.need, line.diameter);
    }
    Ok(Outcome::Clean)
}

/// Looks for a good order, with a line of progress for somebody who waits. Ctrl-C ends the program.
fn search(world: &World, step: StepId, without: &[String], seconds: f64) -> faying_build::room::Run {
    let start = Instant::now();
    let patience = Duration::from_secs_f64(seconds);
    let watched = std::io::stderr().is_terminal();
    let mut said = Instant::now();
    let run = world.search_run(step, without, &mut |progress: &order::Progress| {
        if watched && said.elapsed() > Duration::from_millis(200) {
            said = Instant::now();
            let done = (start.elapsed().as_secs_f64() / seconds.max(0.1) * 20.0).min(20.0) as usize;
            eprint!(
                "\r[{}{}] {:.0} s, at least {:.0} s ",
                "#".repeat(done),
                ".".repeat(20 - done),
                progress.seconds,
                progress.bound
            );
        }
        start.elapsed() > patience
    });
    if watched {
        eprint!("\r{}\r", " ".repeat(60));
    }
    run
}

fn say_takes(it: &TakesReport) {
    let [tool, yoke, dies, settings, bags, flips] = it.changes;
    say!(
        "{:.0} min reckoned; {}; row by row as the plan lists them {:.0} min",
        it.minutes,
        if it.proven {
            "no order of these set-ups is quicker".to_owned()
        } else {
            format!("at least {:.0} min in any order ({:.1} % apart)", it.bound_minutes, it.gap * 100.0)
        },
        it.plan_order_minutes
    );
    say!(
        "{} set-ups, {} settings (one for each length {}, one for each grip {})",
        it.set_ups,
        it.settings,
        it.settings_per_length,
        it.settings_per_grip
    );
    say!(
        "changes: tool {tool}, yoke or bar {yoke}, dies {dies}, setting {settings}, bag {bags}, turned over {flips}; \
         as the plan lists them: {}",
        it.plan_changes.map(|count| count.to_string()).join(", ")
    );
}

fn say_set_up(number: usize, set_up: &SetUpReport, why: bool) {
    say!("\n{number}. {}  {} holes", set_up.title, set_up.holes.len());
    let parts = [&set_up.tool, &set_up.with, &set_up.dies];
    let parts: Vec<&str> = parts.into_iter().filter(|it| !it.is_empty()).map(String::as_str).collect();
    say!("   {}{}", parts.join(", "), if set_up.people > 1 { "; two people" } else { "" });
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
    if !set_up.measure.is_empty() {
        say!("   measure {}", set_up.measure.join(" "));
    }
    if why {
        say!("   {}", set_up.why);
        for (tool, reason) in &set_up.refused {
            say!("   not with {tool}: {reason}");
        }
    }
}

pub fn prints(arguments: &PrintArguments) -> Ended {
    let paper = if arguments.paper == "letter" { Paper::Letter } else { Paper::A4 };
    let what = Print::named(&arguments.what).expect("clap let nothing else through");
    let address = format!("{}/run/{}", arguments.address.trim_end_matches('/'), arguments.step);
    let bytes =
        with_step(&arguments.dir, &arguments.step, |world, step| print(world, step, what, paper, &address))?
            .map_err(|why| Failure(format!("not printed: {why}")))?;
    let out = arguments.out.clone().unwrap_or_else(|| {
        PathBuf::from(format!("{}-{}.pdf", arguments.step.replace('/', "-"), arguments.what))
    });
    std::fs::write(&out, bytes)
        .map_err(|error| Failure(format!("{} cannot be written: {error}", out.display())))?;
    say!("{}", out.display());
    Ok(Outcome::Clean)
}

pub fn open(arguments: &OpenArguments) -> Ended {
    let Some(name) = &arguments.step else { return open_everywhere(arguments) };
    let report =
        with_step(&arguments.dir, name, |world, step| open_report(world.plan(), &world.run_of(step)))?;
    if arguments.json {
        print_json(&report)?;
    } else {
        print_open(&report);
        if report.is_empty() {
            say!("Nothing stays open at {name}.");
        }
    }
    Ok(Outcome::Clean)
}

/// The whole build: what stays open at every step, what every closing hides, what nobody ever fills.
fn open_everywhere(arguments: &OpenArguments) -> Ended {
    let world = Build::read(&arguments.dir).map_err(|error| Failure::of(&error))?;
    let report = world.whole_open_report(&world.progress());
    let outcome = if report.has_findings() { Outcome::Findings } else { Outcome::Clean };
    if arguments.json {
        print_json(&report)?;
        return Ok(outcome);
    }
    for row in &report.never {
        say!("Nobody ever fills {}, {}: {}", row.row, row.holes, row.words);
    }
    for closing in &report.closings {
        let hides = if closing.done { "has hidden" } else { "hides" };
        say!("\n{} {hides} {}: {}", closing.step, closing.sides.join("; "), closing.counted());
        for row in &closing.rows {
            let late = if row.sort == "late" { "too late: " } else { "" };
            say!("   {late}{}, {}: {}", row.row, row.holes, row.words);
        }
    }
    for step in &report.steps {
        say!("\n{} leaves {} open:", step.step, counted(step.count, "hole"));
        for line in &step.open {
            say!("   {}, {}: {}", line.row, line.holes, line.why);
        }
    }
    if report.steps.is_empty() && report.closings.is_empty() && report.never.is_empty() {
        say!("Nothing stays open, nothing is hidden.");
    }
    Ok(outcome)
}

fn print_open(open: &[OpenReport]) {
    if !open.is_empty() {
        say!("\nTape these; they stay open:");
    }
    for line in open {
        say!("   {}, {}: {}", line.row, line.holes, line.why);
    }
}

fn with_step<T>(dir: &Path, step: &str, ask: impl FnOnce(&World, StepId) -> T) -> Result<T, Failure> {
    let world = Build::read(dir).map_err(|error| Failure::of(&error))?;
    let plan = world.plan();
    let Some(id) = plan.step_named(step) else {
        let known: Vec<String> =
            (0..plan.steps.len()).map(|index| plan.step_name(StepId::from_index(index))).collect();
        let near = faying_build::room::nearest(step, known.iter().map(String::as_str));
        let next = near.map_or_else(
            || format!("the steps are {}", known.join(", ")),
            |near| format!("did you mean {near}?"),
        );
        return Err(Failure(format!("the plan has no step {step}: {next}")));
    };
    Ok(ask(&world, id))
}
