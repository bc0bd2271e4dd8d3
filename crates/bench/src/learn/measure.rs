//! Which heads of a set-up are measured, and how far back a reject reaches.
//!
//! The first ones on the part after every set-up, then one in so many. The
//! first reject stops the run: every head since the last good measured one
//! may be like it.

use std::ops::Range;

use faying_standards::figures;

/// Whether the head at `place` (from 0) of a set-up is measured.
///
/// # Source
/// `first-article` and `measure-one-in` of the constants.
///
/// ```
/// use faying_bench::learn::heads_to_measure;
/// assert_eq!(heads_to_measure(30), [0, 1, 2, 12, 22]);
/// ```
#[must_use]
pub fn is_measured(place: usize) -> bool {
    let first = figures().constant("first-article").value as usize;
    let one_in = figures().constant("measure-one-in").value as usize;
    place < first || (place - first + 1).is_multiple_of(one_in.max(1))
}

/// The places (from 0) of the heads to measure, of so many in a set-up.
#[must_use]
pub fn heads_to_measure(count: usize) -> Vec<usize> {
    (0..count).filter(|&place| is_measured(place)).collect()
}

/// What is to be looked at after the first reject of a set-up.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LookBack {
    /// The head that was rejected, by its place from 0.
    pub reject: usize,
    /// The last measured head before it that was inside; `None` if there is none.
    pub last_good: Option<usize>,
    /// The heads between, set but not known to be good: measure them.
    pub between: Range<usize>,
}

/// The stretch from the first reject back to the last good measured head.
///
/// # Units
/// - `heads`: the heads of a set-up in the order they were set; `Some(true)`
///   for one measured and inside its limits, `Some(false)` for a reject,
///   `None` for one not measured, or not judged
///
/// Heads that were set after the reject are not in the stretch; they have the
/// same doubt, and a run that stops has none.
#[must_use]
pub fn look_back(heads: &[Option<bool>]) -> Option<LookBack> {
    let reject = heads.iter().position(|&head| head == Some(false))?;
    let last_good = heads[..reject].iter().rposition(|&head| head == Some(true));
    Some(LookBack { reject, last_good, between: last_good.map_or(0, |at| at + 1)..reject })
}
