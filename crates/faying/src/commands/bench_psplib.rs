//! `faying bench-psplib FILE`: the scheduling search on a public instance. Hidden: it is for measuring.

use std::io::{IsTerminal, Write};
use std::path::PathBuf;
use std::sync::Mutex;
use std::time::{Duration, Instant};

use faying_build::room::schedule;
use serde::Serialize;

use crate::{Ended, Failure, Outcome};

/// Between two progress lines that are written below each other.
const BETWEEN_LINES: Duration = Duration::from_secs(1);
/// Between two that are written over each other.
const BETWEEN_CHANGES: Duration = Duration::from_millis(100);

/// The scheduling search on a file in the public .sm format
#[derive(clap::Args)]
pub struct Arguments {
    /// The file
    file: PathBuf,
    /// How long to search; it ends sooner where the schedule is proven best
    #[arg(long, value_name = "SECONDS", default_value_t = 10.0)]
    seconds: f64,
    /// Where the search's draws start
    #[arg(long, value_name = "NUMBER", default_value_t = 1)]
    seed: u64,
    /// As JSON
    #[arg(long)]
    json: bool,
}

/// What is printed with `--json`.
#[derive(Serialize)]
struct Report {
    makespan: u32,
    /// No schedule ends before this.
    lower_bound: u32,
    proven: bool,
    /// When each job starts, job 1 of the file first, those without a duration included.
    starts: Vec<u32>,
}

pub fn run(arguments: &Arguments) -> Ended {
    if !(arguments.seconds.is_finite() && (0.0..=1e6).contains(&arguments.seconds)) {
        return Err(Failure(format!("--seconds {}: write a number such as 10", arguments.seconds)));
    }
    let file = arguments.file.display();
    let bytes =
        std::fs::read(&arguments.file).map_err(|error| Failure(format!("{file} cannot be read: {error}")))?;
    let problem = schedule::read(&String::from_utf8_lossy(&bytes))
        .map_err(|error| Failure(format!("{file} cannot be read: {error}")))?;
    let solution = search(&problem, arguments);
    let report = Report {
        makespan: solution.makespan,
        lower_bound: solution.lower_bound,
        proven: solution.proven,
        starts: solution.starts,
    };
    if arguments.json {
        // One line: the starts of a hundred jobs, one to a line, are nothing to read.
        let text = serde_json::to_string(&report).map_err(|error| Failure::of(&error))?;
        say!("{text}");
    } else {
        show(&report);
    }
    Ok(Outcome::Clean)
}

/// Searches on two threads until the time is over, with a progress line on the standard error.
fn search(problem: &schedule::Problem, arguments: &Arguments) -> schedule::Solution {
    let (start, time) = (Instant::now(), Duration::from_secs_f64(arguments.seconds));
    let terminal = std::io::stderr().is_terminal();
    let between = if terminal { BETWEEN_CHANGES } else { BETWEEN_LINES };
    let last = Mutex::new(start);
    let options = schedule::Options { seed: arguments.seed, ..schedule::Options::default() };
    let solution = schedule::solve_on_two(problem, &options, &|progress| {
        // A line that is being written by the other thread is not waited for.
        if let Ok(mut last) = last.try_lock()
            && last.elapsed() >= between
        {
            *last = Instant::now();
            let line = format!(
                "{:.1} s  ends at {}  none before {}  {}",
                start.elapsed().as_secs_f64(),
                progress.makespan,
                progress.lower_bound,
                progress.phase
            );
            let mut err = std::io::stderr().lock();
            // Progress that cannot be shown is no reason to stop.
            let _ = if terminal { write!(err, "\r{line:<70}") } else { writeln!(err, "{line}") };
        }
        start.elapsed() >= time
    });
    if terminal {
        eprint!("\r{:70}\r", "");
    }
    solution
}

fn show(report: &Report) {
    if report.proven {
        say!("ends at {}, proven: no schedule ends sooner", report.makespan);
    } else {
        let percent =
            f64::from(report.makespan - report.lower_bound) / f64::from(report.makespan.max(1)) * 100.0;
        say!(
            "ends at {}; no schedule ends before {} ({percent:.2} % less)",
            report.makespan,
            report.lower_bound
        );
    }
    let starts: Vec<String> = report.starts.iter().map(u32::to_string).collect();
    say!("starts, job 1 of the file first: {}", starts.join(" "));
}
