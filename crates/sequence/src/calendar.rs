//! Days, the sessions of a week, and where an hour of work falls.
//!
//! A day is a whole number, days since 1 January 1970 in the civil calendar.
//! A week is a list of sessions; a [`Calendar`] repeats it from a moment on and
//! turns hours of work into a day and an hour of it, and back. Hours of a cure
//! pass between sessions, hours of work only in them.
//!
//! The clock is the builder's own wall clock: a day has 24 hours here, also
//! where summer time begins.

use std::fmt;
use std::ops::{Add, Sub};

/// Hours in a day.
const DAY: f64 = 24.0;
/// Hours in a week.
pub(crate) const WEEK: f64 = 7.0 * DAY;
/// Days from 1 March of the year 0 to 1 January 1970.
const MARCH_0_TO_1970: i64 = 719_468;
/// Days of 400 years; then the civil calendar repeats itself.
const FOUR_CENTURIES: i64 = 146_097;
/// 1 January 1970 was a Thursday: the third day behind a Monday.
const WEEKDAY_OF_1970: i64 = 3;

/// A day of the civil calendar.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Day(i32);

impl Day {
    /// The day so many days after 1 January 1970.
    #[must_use]
    pub const fn new(since_1970: i32) -> Self {
        Self(since_1970)
    }

    /// Days since 1 January 1970.
    #[must_use]
    pub const fn since_1970(self) -> i32 {
        self.0
    }

    /// The day of a date, if there is such a date in the years 1 to 9999.
    ///
    /// ```
    /// # use faying_sequence::Day;
    /// assert_eq!(Day::of(2024, 2, 29).map(Day::since_1970), Some(19_782));
    /// assert_eq!(Day::of(2023, 2, 29), None);
    /// ```
    #[must_use]
    pub fn of(year: i32, month: u8, day: u8) -> Option<Self> {
        if !(1..=9999).contains(&year) || !(1..=12).contains(&month) || !(1..=31).contains(&day) {
            return None;
        }
        // Years from March, so that the odd day comes last; months of a March
        // year have 30.6 days on average.
        let (years, months) = if month > 2 { (year, month - 3) } else { (year - 1, month + 9) };
        let (years, months) = (i64::from(years), i64::from(months));
        let in_year = (153 * months + 2) / 5 + i64::from(day) - 1;
        let days =
            365 * years + years.div_euclid(4) - years.div_euclid(100) + years.div_euclid(400) + in_year;
        let found = Self(i32::try_from(days - MARCH_0_TO_1970).ok()?);
        // A day that its month does not have comes back as another date.
        (found.date() == (year, month, day)).then_some(found)
    }

    /// Year, month from 1, day of the month from 1.
    #[must_use]
    pub fn date(self) -> (i32, u8, u8) {
        let days = i64::from(self.0) + MARCH_0_TO_1970;
        let (era, in_era) = (days.div_euclid(FOUR_CENTURIES), days.rem_euclid(FOUR_CENTURIES));
        let in_era_year = (in_era - in_era / 1_460 + in_era / 36_524 - in_era / 146_096) / 365;
        let in_year = in_era - (365 * in_era_year + in_era_year / 4 - in_era_year / 100);
        let march = (5 * in_year + 2) / 153;
        let day = in_year - (153 * march + 2) / 5 + 1;
        let month = if march < 10 { march + 3 } else { march - 9 };
        let year = era * 400 + in_era_year + i64::from(month <= 2);
        let whole = "a day of an i32 has a date of this size";
        (
            i32::try_from(year).expect(whole),
            u8::try_from(month).expect(whole),
            u8::try_from(day).expect(whole),
        )
    }

    /// Which day of the week it is.
    #[must_use]
    pub fn weekday(self) -> Weekday {
        Weekday::ALL[usize::try_from((i64::from(self.0) + WEEKDAY_OF_1970).rem_euclid(7)).expect("0 to 6")]
    }

    /// The Monday of its week.
    #[must_use]
    pub fn monday(self) -> Self {
        self - self.weekday().behind_monday()
    }
}

impl Add<i32> for Day {
    type Output = Self;

    fn add(self, days: i32) -> Self {
        Self(self.0 + days)
    }
}

impl Sub<i32> for Day {
    type Output = Self;

    fn sub(self, days: i32) -> Self {
        Self(self.0 - days)
    }
}

impl Sub for Day {
    type Output = i32;

    fn sub(self, before: Self) -> i32 {
        self.0 - before.0
    }
}

impl fmt::Display for Day {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (year, month, day) = self.date();
        write!(f, "{year:04}-{month:02}-{day:02}")
    }
}

/// A day of the week.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[expect(missing_docs, reason = "the names say it")]
pub enum Weekday {
    Monday,
    Tuesday,
    Wednesday,
    Thursday,
    Friday,
    Saturday,
    Sunday,
}

impl Weekday {
    /// All seven, from Monday.
    pub const ALL: [Self; 7] = [
        Self::Monday,
        Self::Tuesday,
        Self::Wednesday,
        Self::Thursday,
        Self::Friday,
        Self::Saturday,
        Self::Sunday,
    ];

    /// Days behind Monday, 0 to 6.
    #[must_use]
    pub const fn behind_monday(self) -> i32 {
        self as i32
    }
}

/// A session that comes back every week.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Session {
    /// On which day.
    pub weekday: Weekday,
    /// When it begins, hours after midnight.
    pub start_hour: f64,
    /// How long it is, hours.
    pub hours: f64,
}

impl Session {
    /// When it begins, hours after Monday 0:00.
    fn start(&self) -> f64 {
        f64::from(self.weekday.behind_monday()) * DAY + self.start_hour
    }
}

/// What is wrong with a week.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum WeekError {
    /// There is no session in it.
    #[error("a week without a session never ends anything; write at least one")]
    Empty,
    /// A session is not inside its day.
    #[error(
        "a session on {weekday:?} from {start_hour} h, {hours} h long, is not inside its day; \
         write a start from 0 and an end up to 24 h, and more than 0 h between them"
    )]
    OutsideDay {
        /// On which day.
        weekday: Weekday,
        /// When it begins, hours after midnight.
        start_hour: f64,
        /// How long it is, hours.
        hours: f64,
    },
    /// Two sessions of a day overlap.
    #[error("two sessions on {weekday:?} overlap; write one of them, or begin the second later")]
    Overlap {
        /// On which day.
        weekday: Weekday,
    },
    /// So many hours do not go into a week.
    #[error("{hours} h a week cannot be; write more than 0 and at most {WEEK} h")]
    Hours {
        /// The hours of a week that were asked for.
        hours: f64,
    },
}

/// The sessions of a week, in order.
#[derive(Clone, Debug, PartialEq)]
pub struct Week {
    sessions: Vec<Session>,
    /// Hours of work before each session, and behind the last.
    before: Vec<f64>,
    /// The longest each session can become before it meets the next one or midnight, hours.
    room: Vec<f64>,
}

impl Week {
    /// A week of sessions, in any order.
    ///
    /// # Errors
    /// [`WeekError`] if there is none, one leaves its day, or two overlap.
    pub fn new(mut sessions: Vec<Session>) -> Result<Self, WeekError> {
        for &Session { weekday, start_hour, hours } in &sessions {
            if !(start_hour >= 0.0 && hours > 0.0 && start_hour + hours <= DAY) {
                return Err(WeekError::OutsideDay { weekday, start_hour, hours });
            }
        }
        sessions.sort_by(|a, b| a.start().total_cmp(&b.start()));
        let Some(last) = sessions.last() else { return Err(WeekError::Empty) };
        let mut room = Vec::with_capacity(sessions.len());
        for pair in sessions.windows(2) {
            let midnight = f64::from(pair[0].weekday.behind_monday() + 1) * DAY;
            let free = pair[1].start().min(midnight) - pair[0].start();
            if pair[0].hours > free {
                return Err(WeekError::Overlap { weekday: pair[0].weekday });
            }
            room.push(free);
        }
        room.push(DAY - last.start_hour);
        let mut before = vec![0.0];
        before.extend(sessions.iter().scan(0.0, |sum, session| {
            *sum += session.hours;
            Some(*sum)
        }));
        Ok(Self { sessions, before, room })
    }

    /// A week of so many hours a day, Monday first: in the evening, at the weekend from the morning on.
    ///
    /// When a session begins is common practice without a source; only a cure that is over in
    /// between asks for it.
    ///
    /// # Units
    /// - `hours`: hours, 0 for a day off
    ///
    /// # Errors
    /// [`WeekError`] if there is no hour at all, or more on a day than it has.
    pub fn of_hours(hours: [f64; 7]) -> Result<Self, WeekError> {
        const EVENING: f64 = 19.0;
        const MORNING: f64 = 9.0;
        let session = |(weekday, hours): (Weekday, f64)| {
            let usual = if weekday.behind_monday() >= 5 { MORNING } else { EVENING };
            Session { weekday, start_hour: usual.min(DAY - hours), hours }
        };
        let worked = Weekday::ALL.into_iter().zip(hours).filter(|&(_, hours)| hours > 0.0);
        Self::new(worked.map(session).collect())
    }

    /// The week of a builder who has not said theirs: that of the standards.
    #[must_use]
    pub fn common() -> Self {
        Self::of_hours(faying_plan::People::default().week).expect("the standards have a week with hours")
    }

    /// The sessions, from Monday on.
    #[must_use]
    pub fn sessions(&self) -> &[Session] {
        &self.sessions
    }

    /// Hours of work in the week.
    #[must_use]
    pub fn hours(&self) -> f64 {
        self.before.last().copied().unwrap_or(0.0)
    }

    /// The same sessions, each longer or shorter by the same factor, `hours` in all.
    ///
    /// # Errors
    /// [`WeekError`] if a session no longer goes into its day or meets the next one.
    pub fn scaled_to(&self, hours: f64) -> Result<Self, WeekError> {
        if !(hours > 0.0 && hours <= WEEK) {
            return Err(WeekError::Hours { hours });
        }
        let factor = hours / self.hours();
        Self::new(
            self.sessions
                .iter()
                .map(|session| Session { hours: session.hours * factor, ..*session })
                .collect(),
        )
    }

    /// Hours of work done in the week by `clock` hours after Monday 0:00, with every session
    /// `factor` times as long.
    ///
    /// A session that no longer goes into its day is not cut short: its work
    /// is done faster. It keeps its day, and a longer week never has done less
    /// between any two moments than a shorter one.
    pub(crate) fn done_by(&self, clock: f64, factor: f64) -> f64 {
        let at = self.sessions.partition_point(|session| session.start() < clock);
        let Some(last) = at.checked_sub(1) else { return 0.0 };
        let long = self.sessions[last].hours * factor;
        let takes = long.min(self.room[last]);
        let share = ((clock - self.sessions[last].start()) / takes).min(1.0);
        self.before[last] * factor + long * share
    }

    /// When `work` hours of the week are done: day of the week (0 Monday) and hour of the day.
    pub(crate) fn when_done(&self, work: f64, factor: f64) -> (i32, f64) {
        // Work that ends a session ends on its day, not at the start of the next.
        let wanted = work / factor;
        let last = self.sessions.len() - 1;
        let at = self.before[1..=last].partition_point(|&sum| sum < wanted);
        let session = &self.sessions[at];
        let long = session.hours * factor;
        let share = ((work - self.before[at] * factor) / long).clamp(0.0, 1.0);
        (session.weekday.behind_monday(), session.start_hour + share * long.min(self.room[at]))
    }
}

/// A moment: a day and the hour of it.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Moment {
    /// The day.
    pub day: Day,
    /// Hours after midnight, 0 to 24.
    pub hour: f64,
}

impl Moment {
    /// The moment so many hours after this one.
    #[must_use]
    pub fn after(self, hours: f64) -> Self {
        let total = self.hour + hours;
        let days = (total / DAY).floor();
        #[expect(
            clippy::cast_possible_truncation,
            reason = "a float that is out of range ends at the last day"
        )]
        let whole = days as i32;
        Self { day: Day(self.day.0.saturating_add(whole)), hour: total - days * DAY }
    }
}

/// A week that repeats itself from a moment on.
#[derive(Clone, Debug, PartialEq)]
pub struct Calendar {
    week: Week,
    monday: Day,
    /// Hours of the first week that had passed already.
    missed: f64,
}

impl Calendar {
    /// The week `week` from `start` on.
    #[must_use]
    pub fn new(start: Moment, week: Week) -> Self {
        let monday = start.day.monday();
        let missed = week.done_by(f64::from(start.day - monday) * DAY + start.hour, 1.0);
        Self { week, monday, missed }
    }

    /// When so many hours of work from the start are done.
    ///
    /// # Units
    /// - `work`: hours, from 0
    #[must_use]
    pub fn when(&self, work: f64) -> Moment {
        let total = self.missed + work.max(0.0);
        let per_week = self.week.hours();
        // A week is over with its last hour, not before it: full weeks are counted down by one.
        let weeks = ((total / per_week).ceil() - 1.0).max(0.0);
        let (weekday, hour) = self.week.when_done(total - weeks * per_week, 1.0);
        #[expect(
            clippy::cast_possible_truncation,
            reason = "a float that is out of range ends at the last day"
        )]
        let days = (weeks * 7.0) as i32;
        Moment { day: Day(self.monday.0.saturating_add(days).saturating_add(weekday)), hour }
    }

    /// Hours of work from the start up to a moment; 0 before the start.
    ///
    /// # Units
    /// - returns: hours
    #[must_use]
    pub fn work_until(&self, moment: Moment) -> f64 {
        let clock = f64::from(moment.day - self.monday) * DAY + moment.hour;
        let weeks = (clock / WEEK).floor();
        let total = weeks * self.week.hours() + self.week.done_by(clock - weeks * WEEK, 1.0);
        (total - self.missed).max(0.0)
    }

    /// The first moment from `moment` on that lies in a session.
    #[must_use]
    pub fn next_session(&self, moment: Moment) -> Moment {
        let monday = moment.day.monday();
        let clock = f64::from(moment.day - monday) * DAY + moment.hour;
        let mut weeks = std::iter::successors(Some(0.0), |weeks| Some(weeks + WEEK));
        weeks
            .find_map(|passed| {
                let session = self.week.sessions.iter().find(|s| passed + s.start() + s.hours > clock)?;
                let start = Moment { day: monday, hour: 0.0 }.after(passed + session.start());
                Some(if passed + session.start() < clock { moment } else { start })
            })
            .expect("a week has a session")
    }

    /// The first moment in a session at which a cure is over.
    ///
    /// # Units
    /// - `cure`: hours that must pass
    #[must_use]
    pub fn after_cure(&self, begun: Moment, cure: f64) -> Moment {
        self.next_session(begun.after(cure))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(year: i32, month: u8, day: u8) -> Day {
        Day::of(year, month, day).unwrap()
    }

    #[test]
    fn dates_of_the_calendar_on_the_wall() {
        assert_eq!(day(1970, 1, 1), Day::new(0));
        assert_eq!(day(1970, 1, 1).weekday(), Weekday::Thursday);
        assert_eq!(day(2000, 3, 1) - day(2000, 2, 28), 2);
        assert_eq!(day(1900, 3, 1) - day(1900, 2, 28), 1);
        assert_eq!(Day::new(-1).to_string(), "1969-12-31");
        assert_eq!(day(2026, 11, 25).weekday(), Weekday::Wednesday);
        assert_eq!(day(2026, 11, 25).monday(), day(2026, 11, 23));
        for (year, month, odd) in [(2026, 2, 29), (2026, 4, 31), (2026, 13, 1), (2026, 0, 1), (0, 1, 1)] {
            assert_eq!(Day::of(year, month, odd), None, "{year}-{month}-{odd}");
        }
    }

    /// Every day of four centuries and a bit, counted one by one.
    #[test]
    fn days_are_counted_without_a_gap() {
        let months = |year: i32| {
            let leap = year % 4 == 0 && (year % 100 != 0 || year % 400 == 0);
            [31, if leap { 29 } else { 28 }, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31]
        };
        let mut expected = day(1890, 1, 1);
        for year in 1890..2310 {
            for (month, days) in (1..).zip(months(year)) {
                for date in 1..=days {
                    assert_eq!(Day::of(year, month, date), Some(expected));
                    assert_eq!(expected.date(), (year, month, date));
                    expected = expected + 1;
                }
            }
        }
    }

    /// 25 November 2026 is a Wednesday: the first session of the common week behind it is Thursday's.
    #[test]
    fn hours_of_work_fall_into_sessions() {
        let start = Moment { day: day(2026, 11, 25), hour: 12.0 };
        let calendar = Calendar::new(start, Week::common());
        let at = |work| {
            let moment = calendar.when(work);
            format!("{} {:.1}", moment.day, moment.hour)
        };
        assert_eq!(at(1.0), "2026-11-26 20.0");
        assert_eq!(at(2.0), "2026-11-26 21.0");
        assert_eq!(at(2.5), "2026-11-28 9.5");
        assert_eq!(at(6.0), "2026-11-28 13.0");
        assert_eq!(at(6.5), "2026-12-01 19.5");
        assert_eq!(at(14.0), "2026-12-05 13.0");
        let work = calendar.work_until(Moment { day: day(2026, 11, 28), hour: 11.0 });
        assert!((work - 4.0).abs() < 1e-12, "{work}");
        assert_eq!(calendar.work_until(Moment { day: day(2026, 11, 24), hour: 20.0 }), 0.0);
    }

    /// Thursday 20:30 and 24 h is Friday evening: Saturday at nine. And 48 h is inside Saturday's
    /// session only if it began early enough.
    #[test]
    fn a_cure_ends_in_the_next_session() {
        let thursday = Moment { day: day(2026, 11, 26), hour: 20.5 };
        let calendar = Calendar::new(thursday, Week::common());
        assert_eq!(calendar.after_cure(thursday, 24.0), Moment { day: day(2026, 11, 28), hour: 9.0 });
        assert_eq!(calendar.after_cure(thursday, 38.0), Moment { day: day(2026, 11, 28), hour: 10.5 });
        assert_eq!(calendar.after_cure(thursday, 48.0), Moment { day: day(2026, 12, 1), hour: 19.0 });
        assert_eq!(calendar.after_cure(thursday, 0.0), thursday);
    }

    #[test]
    fn weeks_that_cannot_be_are_said() {
        let session = |weekday, start_hour, hours| Session { weekday, start_hour, hours };
        let said = |sessions: &[Session]| Week::new(sessions.to_vec()).unwrap_err().to_string();
        assert_eq!(said(&[]), "a week without a session never ends anything; write at least one");
        assert_eq!(
            said(&[session(Weekday::Friday, 22.0, 3.0)]),
            "a session on Friday from 22 h, 3 h long, is not inside its day; \
             write a start from 0 and an end up to 24 h, and more than 0 h between them"
        );
        assert_eq!(
            said(&[session(Weekday::Friday, 20.0, 3.0), session(Weekday::Friday, 18.0, 2.5)]),
            "two sessions on Friday overlap; write one of them, or begin the second later"
        );
        assert_eq!(
            Week::common().scaled_to(0.0).unwrap_err().to_string(),
            "0 h a week cannot be; write more than 0 and at most 168 h"
        );
        assert!(matches!(Week::common().scaled_to(40.0), Err(WeekError::OutsideDay { .. })));
        assert!((Week::common().scaled_to(12.0).unwrap().hours() - 12.0).abs() < 1e-12);
    }

    /// 80 h in the common week: Saturday's 40 h go into the 15 h from nine to midnight.
    #[test]
    fn too_long_a_session_is_done_faster() {
        let week = Week::common();
        assert!((week.done_by(5.0 * DAY + 9.0 + 7.5, 10.0) - 60.0).abs() < 1e-9);
        assert_eq!(week.when_done(60.0, 10.0), (5, 16.5));
        assert!((week.done_by(WEEK, 10.0) - 80.0).abs() < 1e-9);
    }
}
