//! `faying bench-sop FILE`: the ordering search on a public instance. Hidden: it is for measuring.

use std::io::{IsTerminal, Write};
use std::path::PathBuf;
use std::sync::Mutex;
use std::time::{Duration, Instant};

use faying_build::room::sop;
use serde::Serialize;

use crate::{Ended, Failure, Outcome};

/// Between two progress lines that are written below each other.
const BETWEEN_LINES: Duration = Duration::from_secs(1);
/// Between two that are written over each other.
const BETWEEN_CHANGES: Duration = Duration::from_millis(100);

/// The ordering search on a file in the public .sop format
#[derive(clap::Args)]
pub struct Arguments {
    /// The file
    file: PathBuf,
    /// How long to search; it ends sooner where the order is proven best
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
    cost: i64,
    /// No order is cheaper than this.
    lower_bound: i64,
    proven: bool,
    /// Jobs in order, numbered as in the file, the first row being 0.
    order: Vec<u32>,
}

pub fn run(arguments: &Arguments) -> Ended {
    if !(arguments.seconds.is_finite() && (0.0..=1e6).contains(&arguments.seconds)) {
        return Err(Failure(format!("--seconds {}: write a number such as 10", arguments.seconds)));
    }
    let file = arguments.file.display();
    let bytes =
        std::fs::read(&arguments.file).map_err(|error| Failure(format!("{file} cannot be read: {error}")))?;
    let problem = sop::read(&String::from_utf8_lossy(&bytes))
        .map_err(|error| Failure(format!("{file} cannot be read: {error}")))?;
    let solution = search(&problem, arguments);
    let report = Report {
        cost: solution.cost,
        lower_bound: solution.lower_bound,
        proven: solution.proven,
        order: solution.order,
    };
    if arguments.json {
        // One line: an order of hundreds of jobs, one to a line, is nothing to read.
        let text = serde_json::to_string(&report).map_err(|error| Failure::of(&error))?;
        say!("{text}");
    } else {
        show(&report);
    }
    Ok(Outcome::Clean)
}

/// Searches on two threads until the time is over, with a progress line on the standard error.
fn search(problem: &sop::Problem, arguments: &Arguments) -> sop::Solution {
    let (start, time) = (Instant::now(), Duration::from_secs_f64(arguments.seconds));
    let terminal = std::io::stderr().is_terminal();
    let between = if terminal { BETWEEN_CHANGES } else { BETWEEN_LINES };
    let last = Mutex::new(start);
    let solution = sop::solve_on_two(problem, arguments.seed, &|progress| {
        // A line that is being written by the other thread is not waited for.
        if let Ok(mut last) = last.try_lock()
            && last.elapsed() >= between
        {
            *last = Instant::now();
            let line = format!(
                "{:.1} s  cost {}  at least {}  {}",
                start.elapsed().as_secs_f64(),
                progress.cost,
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
        say!("cost {}, proven: no order is cheaper", report.cost);
    } else {
        let gap = (report.cost - report.lower_bound) as f64 / report.cost.max(1) as f64;
        let percent = gap * 100.0;
        say!("cost {}; no order is cheaper than {} ({percent:.2} % less)", report.cost, report.lower_bound);
    }
    let order: Vec<String> = report.order.iter().map(u32::to_string).collect();
    say!("order, the first row of the file being 0: {}", order.join(" "));
}
