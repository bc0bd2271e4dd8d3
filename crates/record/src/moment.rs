//! When something happened, as a number.
//!
//! Acts carry local time with its offset (`2026-05-12T19:30:12+02:00`), so
//! that a log reads as it was lived. To tell how long something has cured,
//! two of them are put on one scale.

/// Days from 1970-01-01 to a civil date of the Gregorian calendar.
///
/// ```
/// assert_eq!(faying_record::day_number(1970, 1, 1), 0);
/// assert_eq!(faying_record::day_number(2026, 11, 25), 20_782);
/// ```
#[must_use]
pub const fn day_number(year: i64, month: i64, day: i64) -> i64 {
    // Years that begin in March, so that the leap day is the last of its year.
    let (year, month) = if month <= 2 { (year - 1, month + 9) } else { (year, month - 3) };
    let era = year.div_euclid(400);
    let of_era = year.rem_euclid(400);
    let of_year = (153 * month + 2) / 5 + day - 1;
    era * 146_097 + of_era * 365 + of_era / 4 - of_era / 100 + of_year - 719_468
}

/// Seconds from 1970-01-01 00:00 UTC to a moment as acts carry it; none where it cannot be read.
///
/// ```
/// assert_eq!(faying_record::seconds_of("1970-01-02T01:00:00+01:00"), Some(86_400));
/// assert_eq!(faying_record::seconds_of("yesterday"), None);
/// ```
#[must_use]
pub fn seconds_of(at: &str) -> Option<i64> {
    let number = |from: usize, to: usize| -> Option<i64> {
        let digits = at.get(from..to)?;
        digits.bytes().all(|byte| byte.is_ascii_digit()).then(|| digits.parse().ok())?
    };
    let (year, month, day) = (number(0, 4)?, number(5, 7)?, number(8, 10)?);
    let (hour, minute, second) = (number(11, 13)?, number(14, 16)?, number(17, 19)?);
    if !((1..=12).contains(&month) && (1..=31).contains(&day)) {
        return None;
    }
    let zone = at.get(19..)?.trim_start_matches(|c: char| c == '.' || c.is_ascii_digit());
    let offset = match zone.as_bytes().first() {
        None | Some(b'Z') => 0,
        Some(sign @ (b'+' | b'-')) => {
            let hours: i64 = zone.get(1..3)?.parse().ok()?;
            let minutes: i64 = zone.get(4..6).map_or(Some(0), |text| text.parse().ok())?;
            let seconds = hours * 3600 + minutes * 60;
            if *sign == b'-' { -seconds } else { seconds }
        }
        Some(_) => return None,
    };
    Some(day_number(year, month, day) * 86_400 + hour * 3600 + minute * 60 + second - offset)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_offset_is_taken_off() {
        // The same moment, written in three places.
        let utc = seconds_of("2026-03-29T00:30:00Z").unwrap();
        assert_eq!(seconds_of("2026-03-29T01:30:00+01:00"), Some(utc));
        assert_eq!(seconds_of("2026-03-28T19:00:00-05:30"), Some(utc));
        assert_eq!(seconds_of("2026-03-29T00:30:00.25Z"), Some(utc));
    }

    #[test]
    fn leap_days_and_centuries() {
        // 1900 was no leap year, 2000 was one (Gregorian calendar).
        assert_eq!(day_number(1900, 3, 1) - day_number(1900, 2, 28), 1);
        assert_eq!(day_number(2000, 3, 1) - day_number(2000, 2, 28), 2);
        assert_eq!(day_number(2024, 12, 31) - day_number(2023, 12, 31), 366);
    }

    #[test]
    fn what_is_no_moment_is_none() {
        for text in [
            "",
            "2026",
            "2026-13-01T00:00:00Z",
            "2026-05-12 19:30",
            "2026-05-12T19:30:12x",
            "äöüäöüäöüäöüäöü",
        ] {
            assert_eq!(seconds_of(text), None, "{text}");
        }
    }
}
