//! `faying bench-psplib FILE`: the scheduling search on a public instance. Hidden: it is for measuring.

use faying_build::room::schedule;
use serde::Serialize;

use super::measured;
use crate::Ended;

/// The scheduling search on a file in the public .sm format
#[derive(clap::Args)]
pub struct Arguments {
    #[command(flatten)]
    of: measured::Instance,
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
    let problem = arguments.of.read(schedule::read)?;
    let options = schedule::Options { seed: arguments.of.seed, ..schedule::Options::default() };
    let solution = arguments.of.search(|stop| {
        schedule::solve_on_two(&problem, &options, &|at| {
            stop(&format!("ends at {}  none before {}  {}", at.makespan, at.lower_bound, at.phase))
        })
    });
    let report = Report {
        makespan: solution.makespan,
        lower_bound: solution.lower_bound,
        proven: solution.proven,
        starts: solution.starts,
    };
    arguments.of.tell(&report, show)
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
