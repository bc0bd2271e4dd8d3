//! The one place that reads the clock.

use std::time::Instant;

use jiff::tz::TimeZone;
use jiff::{Timestamp, Unit};

/// Now, in whole seconds, with the offset from universal time: `2026-05-12T19:30:12+02:00`.
pub fn now() -> String {
    let now = Timestamp::now();
    let whole = now.round(Unit::Second).unwrap_or(now);
    whole.display_with_offset(TimeZone::system().to_offset(now)).to_string()
}

/// Where a wait begins.
pub fn moment() -> Instant {
    Instant::now()
}

/// The instant that an act carries; nothing where a device wrote something else.
pub fn instant(text: &str) -> Option<Timestamp> {
    text.parse().ok()
}

/// Now, in seconds from 1970-01-01 00:00 UTC.
pub fn seconds() -> i64 {
    Timestamp::now().as_second()
}

/// A moment as the builder's clock shows it: `2026-05-12 19:30`.
pub fn local(seconds: i64) -> String {
    let shown = |at: Timestamp| TimeZone::system().to_datetime(at).strftime("%Y-%m-%d %H:%M").to_string();
    Timestamp::from_second(seconds).map_or_else(|_| String::new(), shown)
}
