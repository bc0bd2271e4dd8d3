//! How long a forecast takes: 300 steps, 2,000 draws.
//!
//! `cargo bench -p faying-sequence --bench forecast`. It says the quickest
//! and the middle of twenty.

#![allow(
    clippy::disallowed_types,
    clippy::disallowed_methods,
    clippy::print_stdout,
    reason = "a measurement reads the clock and prints"
)]

use std::hint::black_box;
use std::time::Instant;

use faying_sequence::{
    DRAWS, Day, FinishedStep, Moment, Pace, Question, Remaining, Week, WeekHours, forecast,
};

fn main() {
    let finished: Vec<FinishedStep> = (0..40)
        .map(|step| FinishedStep {
            assembly: step / 20,
            planned_hours: 2.0 + f64::from(u8::try_from(step % 7).unwrap_or(0)),
            real_hours: 3.0 + f64::from(u8::try_from(step % 5).unwrap_or(0)),
        })
        .collect();
    let weeks: Vec<f64> =
        (0..60_u8).map(|week| if week % 9 == 0 { 0.0 } else { 4.0 + f64::from(week % 5) }).collect();
    let pace = Pace::learn(&finished);
    let week = Week::common();
    let week_hours = WeekHours::learn(week.hours(), &weeks);
    let start = Moment { day: Day::new(20_782), hour: 0.0 };
    for (name, every) in
        [("no cure", usize::MAX), ("a cure behind every seventh step", 7), ("every second", 2)]
    {
        let remaining: Vec<Remaining> = (0..300)
            .map(|step: usize| Remaining {
                assembly: 1 + step / 60,
                planned_hours: 1.0 + (step % 9) as f64,
                cure_hours: if step % every == every - 1 { 48.0 } else { 0.0 },
                waits_for: step.checked_sub(1 + step % 5).into_iter().collect(),
            })
            .collect();
        let mut seconds: Vec<f64> = (0..20)
            .map(|seed| {
                let begun = Instant::now();
                let found = forecast(&Question {
                    remaining: &remaining,
                    pace: &pace,
                    week_hours: &week_hours,
                    week: &week,
                    hours_a_week: week.hours(),
                    start,
                    at_work: false,
                    seed,
                    draws: DRAWS,
                });
                black_box(found.is_ok());
                begun.elapsed().as_secs_f64()
            })
            .collect();
        seconds.sort_by(f64::total_cmp);
        println!("{name}: quickest {:.1} ms, middle {:.1} ms", seconds[0] * 1e3, seconds[10] * 1e3);
    }
}
