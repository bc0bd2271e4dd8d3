//! How long ordering a run takes, and how near to the bound it comes.
//!
//! Plain wall-clock over generated spars: `cargo bench -p faying-bench --bench order`,
//! or with `-- SECONDS NAME` for those whose name holds NAME.

#![allow(
    clippy::disallowed_types,
    clippy::disallowed_methods,
    clippy::print_stdout,
    reason = "a measurement reads the clock and prints"
)]

use std::time::Instant;

use faying_bench::order::{Problem, Progress, Start, cost_of, in_turn, solve};

#[path = "../tests/data/order_spar.rs"]
mod order_spar;

use order_spar::spar;

fn measure(name: &str, problem: &Problem, seconds: f64) -> (f64, f64) {
    let only = std::env::args().nth(2).filter(|it| !it.starts_with('-'));
    if only.is_some_and(|only| !name.contains(&only)) {
        return (0.0, 0.0);
    }
    let begin = Instant::now();
    let mut first = None;
    let answer = solve(problem, 1, &mut |progress: &Progress| {
        let now = begin.elapsed().as_secs_f64();
        if progress.bound > 0.0 && progress.seconds.is_finite() && first.is_none() {
            first = Some((now, progress.seconds));
        }
        now > seconds
    })
    .expect("generated spars are sound");
    let took = begin.elapsed().as_secs_f64();
    let given: Vec<u32> = (0..problem.jobs.len() as u32).collect();
    let given =
        in_turn(problem, &given).and_then(|order| cost_of(problem, &order)).map_or(f64::NAN, |it| it.seconds);
    let (at, early) = first.unwrap_or((took, answer.cost.seconds));
    println!(
        "{name:24} {:5} {:8.1} {:8.1} {:6.2} % {:6.2} % {:7.1} {:8.0} {:3} {} {took:6.2} s  first {early:8.1} at {at:5.2} s  as listed {given:8.0}",
        problem.jobs.len(),
        answer.cost.seconds,
        answer.bound,
        100.0 * answer.gap(),
        100.0 * answer.gap_of_changeable(),
        answer.least_changing,
        answer.cost.travel_in,
        answer.cost.set_ups,
        if answer.proven {
            "proven"
        } else if answer.least_changing_exact {
            "exact "
        } else {
            "      "
        },
    );
    (answer.gap(), answer.gap_of_changeable())
}

fn main() {
    let seconds: f64 = std::env::args().filter_map(|it| it.parse().ok()).next().unwrap_or(5.0);
    println!("name                      jobs  seconds    bound  of all  of rest changing travel in set-ups");
    let mut worst = (0.0_f64, 0.0_f64);
    for seed in 0..50_u64 {
        let holes = 40 + (seed as usize * 560) / 49;
        let gap = measure(&format!("spar {seed}"), &spar(seed, holes), seconds);
        worst = (worst.0.max(gap.0), worst.1.max(gap.1));
    }
    println!("worst gap {:.2} % of all, {:.2} % of what an order changes", 100.0 * worst.0, 100.0 * worst.1);
    for seed in [100, 101, 102] {
        measure(&format!("large spar {seed}"), &spar(seed, 5_000), 10.0);
    }
    for seed in [200, 201, 202] {
        let mut problem = spar(seed, 600);
        let family = problem.families[0].clone();
        problem.start = Some(Start { family, at: [10.0, 0.5], place: 0 });
        measure(&format!("what is left {seed}"), &problem, 0.9);
    }
}
