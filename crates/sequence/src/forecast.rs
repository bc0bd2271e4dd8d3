//! When the build will be finished, as a band and a curve.
//!
//! Each of some thousand draws takes one pace, one scatter and one run of
//! weeks from what is believed of this builder ([`Pace`], [`WeekHours`]), and
//! walks the remaining steps through the calendar. While something cures,
//! other work goes on that is ready; if there is none, the session is lost.
//! The finish days of all draws, in order, are the forecast.
//!
//! The steps come in working order. Where cures would cost sessions, a few
//! other orders are tried too ([`arrange`]), and each draw takes the one that
//! ends first. The orders do not depend on the hours that are asked about, so
//! more hours never end later.
//!
//! Left out: what is not in the list (rework not yet known, parts that do not
//! come, an inspector's date), and a pace that changes for good.

pub(crate) mod arrange;
pub(crate) mod draw;
mod weeks;

use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;

use crate::calendar::{Day, Moment, Week};
use crate::pace::{Band, Pace, WeekHours};
use arrange::Orders;
use draw::Normals;
use weeks::Weeks;

/// Hours that a sum may lose by its order.
const DUST: f64 = 1e-9;

/// Draws that a forecast takes unless more are asked for.
pub const DRAWS: usize = 2_000;

/// A step, or what is left of it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Remaining {
    /// Its assembly: the numbers of [`crate::FinishedStep::assembly`].
    pub assembly: usize,
    /// Hours of the plan that are left; 0 for what only has to cure.
    pub planned_hours: f64,
    /// Hours that must pass behind it before what waits for it.
    pub cure_hours: f64,
    /// What it waits for: places in the list, all before its own.
    pub waits_for: Vec<usize>,
}

/// What is asked.
#[derive(Clone, Copy, Debug)]
pub struct Question<'a> {
    /// What is left, in working order.
    pub remaining: &'a [Remaining],
    /// The builder's pace.
    pub pace: &'a Pace,
    /// The hours that the builder's weeks really have, over those planned.
    pub week_hours: &'a WeekHours,
    /// The builder's week.
    pub week: &'a Week,
    /// Hours planned for a week from now on; those of `week`, or what if it were another number.
    pub hours_a_week: f64,
    /// From when on.
    pub start: Moment,
    /// Whether this week has hours in the record already.
    pub at_work: bool,
    /// The same seed gives the same draws, also for other hours a week.
    pub seed: u64,
    /// How many draws; [`DRAWS`] will do.
    pub draws: usize,
}

/// Why there is no forecast.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum ForecastError {
    /// A step waits for one that does not come before it.
    #[error(
        "step {step} of the list waits for {waits_for}, which is not before it; put the list in working order"
    )]
    Order {
        /// The step's place in the list.
        step: usize,
        /// The place of what it waits for.
        waits_for: usize,
    },
    /// Hours that are no hours.
    #[error("step {step} of the list has {hours} h; write 0 or more")]
    Hours {
        /// The step's place in the list.
        step: usize,
        /// Its hours of work or of cure.
        hours: f64,
    },
    /// A week without hours.
    #[error("{hours} h a week never ends anything; write more than 0 and at most 168 h")]
    HoursAWeek {
        /// The hours a week that were asked about.
        hours: f64,
    },
    /// No draw.
    #[error("a forecast of 0 draws says nothing; ask for some hundred at least")]
    NoDraws,
}

/// When it will be finished.
#[derive(Clone, Debug, PartialEq)]
pub struct Forecast {
    /// The finish of each draw, in order.
    days: Vec<Day>,
    /// Hours of work of each draw, in order.
    hours: Vec<f64>,
    waited: usize,
    beyond: usize,
}

impl Forecast {
    /// The day by which it is finished with a chance.
    ///
    /// # Units
    /// - `chance`: 0 to 1
    #[must_use]
    pub fn by(&self, chance: f64) -> Day {
        self.days[place(self.days.len(), chance)]
    }

    /// One in ten ends before, one in two, nine in ten: the outer two hold it eight times in ten.
    #[must_use]
    pub fn band(&self) -> Band<Day> {
        Band::of(|chance| self.by(chance))
    }

    /// The chance that it is finished on a day or before it.
    ///
    /// # Units
    /// - returns: 0 to 1
    #[must_use]
    pub fn chance_by(&self, day: Day) -> f64 {
        self.days.partition_point(|&finish| finish <= day) as f64 / self.days.len() as f64
    }

    /// The mean of the finish days.
    #[must_use]
    pub fn mean(&self) -> Day {
        let first = self.days[0];
        let sum: i64 = self.days.iter().map(|&day| i64::from(day - first)).sum();
        let count = i64::try_from(self.days.len()).expect("a list's length");
        first + i32::try_from((sum + count / 2) / count).expect("between the first day and the last")
    }

    /// The chance by each of so many days, evenly from the first in a hundred to the last.
    #[must_use]
    pub fn curve(&self, points: usize) -> Vec<(Day, f64)> {
        let (first, last) = (self.by(0.01), self.by(0.99));
        let span = i64::from(last - first);
        let mut days: Vec<Day> = (0..points)
            .map(|point| {
                let (point, steps) = (point as i64, points.saturating_sub(1).max(1) as i64);
                first + i32::try_from(span * point / steps).expect("no farther than the last day")
            })
            .collect();
        days.dedup();
        days.into_iter().map(|day| (day, self.chance_by(day))).collect()
    }

    /// Hours of work that are left.
    ///
    /// # Units
    /// - returns: hours
    #[must_use]
    pub fn hours_left(&self) -> Band<f64> {
        Band::of(|chance| self.hours[place(self.hours.len(), chance)])
    }

    /// The share of draws in which waiting for a cure made the finish a later day.
    ///
    /// # Units
    /// - returns: 0 to 1
    #[must_use]
    pub fn waited(&self) -> f64 {
        self.waited as f64 / self.days.len() as f64
    }

    /// The share of draws that do not end within fifty years; their day is the last of these.
    ///
    /// # Units
    /// - returns: 0 to 1
    #[must_use]
    pub fn beyond(&self) -> f64 {
        self.beyond as f64 / self.days.len() as f64
    }
}

/// Which of a sorted list has a share of it up to and with itself.
fn place(count: usize, share: f64) -> usize {
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "between 0 and the count")]
    let upto = (share.clamp(0.0, 1.0) * count as f64).ceil() as usize;
    upto.clamp(1, count) - 1
}

/// When the remaining steps will be finished.
///
/// # Errors
/// [`ForecastError`] if the list is not in working order, hours are not hours, or nothing is drawn.
pub fn forecast(question: &Question) -> Result<Forecast, ForecastError> {
    check(question)?;
    let &Question { remaining, pace, week_hours, week, start, at_work, .. } = question;
    let middle = pace.ln_ratio_at(0.5).exp();
    let usual: Vec<f64> = remaining.iter().map(|step| step.planned_hours * middle).collect();
    let orders = Orders::of(remaining, &usual, week, start);
    let spread: Vec<f64> = remaining.iter().map(|step| Pace::spread(step.planned_hours)).collect();
    // Assemblies in the order in which the list comes to them, each step with the place of its own.
    let mut assemblies: Vec<usize> = Vec::new();
    let of_step: Vec<usize> = remaining
        .iter()
        .map(|step| {
            assemblies.iter().position(|&known| known == step.assembly).unwrap_or_else(|| {
                assemblies.push(step.assembly);
                assemblies.len() - 1
            })
        })
        .collect();
    let seen: Vec<Option<usize>> = assemblies.iter().map(|&assembly| pace.place(assembly)).collect();
    let mut centres = vec![0.0; assemblies.len()];

    // Pace, steps and weeks of every draw have a stream of their own, so that one more of them
    // changes no other number.
    let mut pace_rng = ChaCha8Rng::seed_from_u64(question.seed);
    let (mut step_rng, mut week_rng) = (pace_rng.clone(), pace_rng.clone());
    let mut weeks = Weeks::new(week, start, question.hours_a_week);
    let mut took = vec![0.0; remaining.len()];
    let mut ready = vec![0.0; remaining.len()];
    let mut found = Forecast {
        days: Vec::with_capacity(question.draws),
        hours: Vec::with_capacity(question.draws),
        waited: 0,
        beyond: 0,
    };
    // The order that was best in the last draw is tried first.
    let mut likely = 0;
    for draw in 0..question.draws {
        for (rng, stream) in [(&mut pace_rng, 0), (&mut step_rng, 1), (&mut week_rng, 2)] {
            rng.set_stream(3 * draw as u64 + stream);
            rng.set_word_pos(0);
        }
        let (mut normals, mut week_normals) = (Normals::default(), Normals::default());
        let drawn = pace.draw(&mut normals, &mut pace_rng);
        for (centre, &seen) in centres.iter_mut().zip(&seen) {
            *centre = pace.of_assembly(drawn, seen, &mut normals, &mut pace_rng);
        }
        let mut normals = Normals::default();
        let mut hours = 0.0;
        for (((took, step), spread), &assembly) in took.iter_mut().zip(remaining).zip(&spread).zip(&of_step) {
            let scatter = drawn.sigma * spread * normals.next(&mut step_rng);
            *took = step.planned_hours * (centres[assembly] + scatter).exp();
            hours += *took;
        }
        let habit = week_hours.draw(&mut week_normals, &mut week_rng);
        weeks.begin(habit, at_work, &mut week_normals, &mut week_rng);
        let begun = weeks.missed();
        let mut end = f64::INFINITY;
        for order in orders.beginning_with(likely) {
            let ends = orders.walk(order, remaining, &took, begun, &mut ready, |done, cure| {
                weeks.after(done, cure, &mut week_normals, &mut week_rng)
            });
            if ends < end {
                (end, likely) = (ends, order);
            }
            // Nothing ends before all hours are worked.
            if end <= begun + hours + DUST {
                break;
            }
        }
        let day = weeks.day(end, &mut week_normals, &mut week_rng);
        let unhindered = weeks.day(begun + hours, &mut week_normals, &mut week_rng);
        found.beyond += usize::from(weeks.is_beyond(end));
        found.waited += usize::from(day > unhindered);
        found.days.push(day);
        found.hours.push(hours);
    }
    found.days.sort_unstable();
    found.hours.sort_unstable_by(f64::total_cmp);
    Ok(found)
}

fn check(question: &Question) -> Result<(), ForecastError> {
    for (step, left) in question.remaining.iter().enumerate() {
        if let Some(&waits_for) = left.waits_for.iter().find(|&&before| before >= step) {
            return Err(ForecastError::Order { step, waits_for });
        }
        for hours in [left.planned_hours, left.cure_hours] {
            if !(hours.is_finite() && hours >= 0.0) {
                return Err(ForecastError::Hours { step, hours });
            }
        }
    }
    let hours = question.hours_a_week;
    if !(hours > 0.0 && hours <= crate::calendar::WEEK) {
        return Err(ForecastError::HoursAWeek { hours });
    }
    if question.draws == 0 { Err(ForecastError::NoDraws) } else { Ok(()) }
}
