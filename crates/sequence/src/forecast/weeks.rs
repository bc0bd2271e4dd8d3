//! One drawn run of weeks, made as far as it is looked at.

use rand_chacha::ChaCha8Rng;

use super::draw::Normals;
use crate::calendar::{Day, Moment, WEEK, Week};
use crate::pace::{ASSUMED, Habit};

/// Weeks that are looked at: fifty years. What does not end in them ends with the last.
const WEEKS: usize = 2_600;

/// The weeks of one draw, from the Monday of the first.
///
/// Work is counted in hours of capacity from that Monday: what is done and what is lost.
#[derive(Clone, Debug)]
pub(super) struct Weeks<'a> {
    week: &'a Week,
    start: Day,
    monday: Day,
    /// Hours after that Monday at which the forecast begins.
    begins: f64,
    /// How long a session is for an hour planned, at real over planned hours of 1.
    scale: f64,
    /// What the weeks are drawn from; none if they are steady.
    habit: Option<Habit>,
    at_work: bool,
    /// How many times as long the sessions of each week are.
    factor: Vec<f64>,
    /// The week that was looked at last.
    looked_at: usize,
    /// Hours of work before each week, and behind the last.
    before: Vec<f64>,
}

impl<'a> Weeks<'a> {
    pub(super) fn new(week: &'a Week, start: Moment, hours_a_week: f64) -> Self {
        let monday = start.day.monday();
        Self {
            week,
            start: start.day,
            monday,
            begins: f64::from(start.day - monday) * 24.0 + start.hour,
            scale: hours_a_week / week.hours(),
            habit: None,
            at_work: false,
            factor: Vec::with_capacity(WEEKS),
            looked_at: 0,
            before: Vec::with_capacity(WEEKS + 1),
        }
    }

    /// Forgets the weeks and begins a new draw.
    pub(super) fn begin(&mut self, habit: Habit, at_work: bool, normals: &mut Normals, rng: &mut ChaCha8Rng) {
        self.habit = Some(habit);
        self.at_work = at_work;
        self.factor.clear();
        self.before.clear();
        self.before.push(0.0);
        self.add(normals, rng);
    }

    /// Weeks that all have the planned hours; nothing is drawn.
    pub(super) fn steady(week: &'a Week, start: Moment, hours_a_week: f64) -> Self {
        let mut weeks = Self::new(week, start, hours_a_week);
        weeks.before.push(0.0);
        weeks.push(1.0);
        weeks
    }

    fn push(&mut self, ratio: f64) {
        let most = ASSUMED.most_week_hours / self.week.hours();
        let factor = (self.scale * ratio).min(most.max(self.scale));
        let sum = self.before.last().copied().unwrap_or(0.0) + factor * self.week.hours();
        self.factor.push(factor);
        self.before.push(sum);
    }

    fn add(&mut self, normals: &mut Normals, rng: &mut ChaCha8Rng) {
        let first = self.factor.is_empty();
        let ratio = self.habit.as_mut().map_or(1.0, |habit| habit.next(self.at_work && first, normals, rng));
        self.push(ratio);
    }

    /// Hours of the first week that had passed at the beginning.
    pub(super) fn missed(&self) -> f64 {
        self.done_by(0, self.begins)
    }

    fn done_by(&self, week: usize, clock: f64) -> f64 {
        let factor = self.factor[week];
        if factor > 0.0 { self.week.done_by(clock, factor) } else { 0.0 }
    }

    /// Hours of capacity by the end of a cure that begins when `done` hours are.
    ///
    /// The days are looked up: a cure ends on the clock, work goes on in a session.
    pub(super) fn after(&mut self, done: f64, cure: f64, normals: &mut Normals, rng: &mut ChaCha8Rng) -> f64 {
        if cure <= 0.0 {
            return done;
        }
        let (week, done_at) = if done <= self.missed() {
            // What only has to cure does so from now, not from a session.
            (0, self.begins)
        } else {
            let (week, weekday, hour) = self.when(done, normals, rng);
            (week, f64::from(weekday) * 24.0 + hour)
        };
        let clock = done_at + cure;
        let passed = (clock / WEEK).floor();
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "held to the last week")]
        let week = week.saturating_add(passed as usize);
        while self.factor.len() <= week && self.factor.len() < WEEKS {
            self.add(normals, rng);
        }
        if week >= WEEKS {
            return f64::INFINITY;
        }
        (self.before[week] + self.done_by(week, clock - passed * WEEK)).max(done)
    }

    /// Week, day of the week and hour at which so much is done; the last hour of the last week if never.
    fn when(&mut self, done: f64, normals: &mut Normals, rng: &mut ChaCha8Rng) -> (usize, i32, f64) {
        while self.before[self.factor.len()] < done {
            if self.factor.len() == WEEKS {
                return (WEEKS - 1, 6, 24.0);
            }
            self.add(normals, rng);
        }
        // The week that ends with this hour or later and begins before it; mostly it is the last
        // one that was asked for, or the next.
        let (before, last) = (&self.before, self.looked_at);
        let from = if before.get(last).is_some_and(|&sum| sum < done) { last } else { 0 };
        let near = before[from + 1..].iter().take(4).position(|&sum| sum >= done);
        let week = near.map_or_else(|| before[1..].partition_point(|&sum| sum < done), |near| from + near);
        self.looked_at = week;
        if self.factor[week] <= 0.0 {
            // Nothing is done yet, and the first week has nothing: its beginning.
            return (week, 0, 0.0);
        }
        let (weekday, hour) = self.week.when_done(done - self.before[week], self.factor[week]);
        (week, weekday, hour)
    }

    /// The day on which so much is done.
    pub(super) fn day(&mut self, done: f64, normals: &mut Normals, rng: &mut ChaCha8Rng) -> Day {
        if done <= self.missed() {
            return self.start;
        }
        let (week, weekday, _) = self.when(done, normals, rng);
        self.monday + i32::try_from(week).expect("fifty years") * 7 + weekday
    }

    /// Whether so much is never done.
    pub(super) fn is_beyond(&self, done: f64) -> bool {
        self.factor.len() == WEEKS && self.before[WEEKS] < done
    }
}
