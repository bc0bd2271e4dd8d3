//! When it will be finished, and the order in which the rest is best done.

use faying_sequence::{Day, Moment, Progress, StepState};
use serde::Serialize;

use crate::evening::ForecastReport;
use crate::world::World;

/// Most labels below a curve.
const TICKS: usize = 4;

/// When it will be finished, and in what order.
#[derive(Clone, Debug, Serialize)]
pub struct FinishReport {
    /// Whether nothing is left to do.
    pub finished: bool,
    /// The forecast, or why there is none.
    pub forecast: Result<ForecastReport, String>,
    /// Its curve, for drawing.
    pub curve: Option<CurveReport>,
    /// The working order.
    pub order: OrderReport,
    /// Hours of the builder's week as `people.toml` has it, or as it is taken without one.
    pub week_hours: f64,
    /// Whether that week is the builder's own.
    pub week_is_own: bool,
}

/// A curve of chance over days, for drawing.
#[derive(Clone, Debug, Serialize)]
pub struct CurveReport {
    /// Days after the first, and the chance by then, 0 to 1.
    pub points: Vec<[f64; 2]>,
    /// Days after the first at which a month begins, with the month: `2027-03`.
    pub ticks: Vec<(f64, String)>,
    /// Days after the first of the band's low end, its middle and its high end.
    pub band: [f64; 3],
}

/// The working order in words.
#[derive(Clone, Debug, Serialize)]
pub struct OrderReport {
    /// Turn by turn.
    pub turns: Vec<TurnReport>,
    /// When the last one is over, if every session is kept.
    pub finish: String,
    /// No order of these turns is over before.
    pub bound: String,
    /// Batches in it that finish more than one step.
    pub shared_batches: usize,
}

/// A step of the working order, or the steps of one batch.
#[derive(Clone, Debug, Serialize)]
pub struct TurnReport {
    /// Its steps: lasting name, as shown.
    pub steps: Vec<(String, String)>,
    /// The day it begins.
    pub begins: String,
    /// The day it is over.
    pub ends: String,
    /// Real hours that it takes.
    pub hours: f64,
}

impl World {
    /// When it will be finished, and in what order; `hours_a_week` is what the builder asks about.
    ///
    /// Takes some tenths of a second at some hundred steps: a page asks for it apart.
    #[must_use]
    pub fn finish_report(&self, progress: &Progress, hours_a_week: Option<f64>) -> FinishReport {
        let plan = self.plan();
        let effort = self.effort(progress);
        let order = self.working_order(progress, &effort);
        let forecast = self.forecast(progress, hours_a_week);
        let people = &plan.people;
        let turns = order.turns.iter().map(|turn| TurnReport {
            steps: turn.steps.iter().map(|&step| (plan.step_name(step), self.step_title(step))).collect(),
            begins: day(turn.begins),
            ends: day(turn.ends),
            hours: turn.hours,
        });
        FinishReport {
            finished: progress.steps.iter().all(|it| it.state == StepState::Done),
            curve: forecast.as_ref().ok().and_then(CurveReport::of),
            forecast,
            order: OrderReport {
                turns: turns.collect(),
                finish: day(order.finish),
                bound: day(order.bound),
                shared_batches: order.shared_batches,
            },
            week_hours: people.hours_a_week(),
            week_is_own: plan.files.iter().any(|file| *file.name == *crate::folder::PEOPLE_FILE),
        }
    }
}

fn day(moment: Moment) -> String {
    crate::evening::written(moment.day)
}

fn read(written: &str) -> Option<Day> {
    let mut parts = written.splitn(3, '-');
    let year = parts.next()?.parse().ok()?;
    let (month, day) = (parts.next()?.parse().ok()?, parts.next()?.parse().ok()?);
    Day::of(year, month, day)
}

impl CurveReport {
    fn of(forecast: &ForecastReport) -> Option<Self> {
        let days: Option<Vec<(Day, f64)>> =
            forecast.curve.iter().map(|(written, chance)| Some((read(written)?, *chance))).collect();
        let days = days?;
        let (&(first, _), &(last, _)) = (days.first()?, days.last()?);
        let after = |day: Day| f64::from(day - first);
        let [low, middle, high] = &forecast.finish;
        Some(Self {
            points: days.iter().map(|&(day, chance)| [after(day), chance]).collect(),
            ticks: ticks(first, last),
            band: [after(read(low)?), after(read(middle)?), after(read(high)?)],
        })
    }
}

/// Beginnings of months between two days, as far apart as leaves room for their names.
fn ticks(first: Day, last: Day) -> Vec<(f64, String)> {
    let (year, month, _) = first.date();
    let months = |step: i32| -> Vec<(f64, String)> {
        // Counted from year 0, so that every third month is a quarter's first.
        let begin = year * 12 + i32::from(month) - 1;
        let mut at = (begin + step - 1).div_euclid(step) * step;
        let mut ticks = Vec::new();
        loop {
            let (year, month) = (at.div_euclid(12), at.rem_euclid(12) + 1);
            let Some(day) = u8::try_from(month).ok().and_then(|month| Day::of(year, month, 1)) else { break };
            if day > last || ticks.len() > TICKS {
                break;
            }
            if day >= first {
                ticks.push((f64::from(day - first), format!("{year:04}-{month:02}")));
            }
            at += step;
        }
        ticks
    };
    [1, 2, 3, 6, 12, 24, 60, 120, 240]
        .into_iter()
        .map(months)
        .find(|it| it.len() <= TICKS)
        .unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn on(year: i32, month: u8, day: u8) -> Day {
        Day::of(year, month, day).expect("a day of the calendar")
    }

    #[test]
    fn months_below_a_curve() {
        let names = |from, to| -> Vec<String> { ticks(from, to).into_iter().map(|(_, name)| name).collect() };
        assert_eq!(names(on(2027, 1, 20), on(2027, 4, 2)), ["2027-02", "2027-03", "2027-04"]);
        assert_eq!(names(on(2027, 1, 1), on(2027, 9, 1)), ["2027-01", "2027-04", "2027-07"]);
        assert_eq!(names(on(2026, 11, 5), on(2029, 2, 1)), ["2027-01", "2028-01", "2029-01"]);
        assert_eq!(names(on(2027, 5, 2), on(2027, 5, 20)), Vec::<String>::new());
        assert_eq!(ticks(on(2027, 1, 30), on(2027, 2, 3)), [(2.0, "2027-02".to_owned())]);
    }
}
