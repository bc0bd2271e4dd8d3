//! `faying bench-sop FILE`: the ordering search on a public instance. Hidden: it is for measuring.

use faying_build::room::sop;
use serde::Serialize;

use super::measured;
use crate::Ended;

/// The ordering search on a file in the public .sop format
#[derive(clap::Args)]
pub struct Arguments {
    #[command(flatten)]
    of: measured::Instance,
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
    let problem = arguments.of.read(sop::read)?;
    let solution = arguments.of.search(|stop| {
        sop::solve_on_two(&problem, arguments.of.seed, &|at| {
            stop(&format!("cost {}  at least {}  {}", at.cost, at.lower_bound, at.phase))
        })
    });
    let report = Report {
        cost: solution.cost,
        lower_bound: solution.lower_bound,
        proven: solution.proven,
        order: solution.order,
    };
    arguments.of.tell(&report, show)
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
