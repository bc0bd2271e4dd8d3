//! The builder's own times, from how long acts took.
//!
//! The time of one act is the gap to the one before. Telephone, coffee and
//! supper are in it, so gaps from some minutes on are left out and the median
//! is taken; and the default stands beside it as so many acts, so that a few
//! acts move it little. A learned time is never far beyond its default: a
//! clock that is wrong, or acts that were entered all at once afterwards,
//! would otherwise rule the order of a run.

use faying_standards::figures;

/// What the builder's acts say of the time of one kind of act.
#[derive(Clone, Debug, PartialEq)]
pub struct Learned<K> {
    /// The kind.
    pub kind: K,
    /// Seconds before.
    pub before: f64,
    /// The median of the builder's own, in seconds.
    pub own: Option<f64>,
    /// What comes of both, in seconds.
    pub seconds: f64,
    /// How many acts were used.
    pub acts: usize,
    /// How many were left out as breaks, or as no time at all.
    pub left_out: usize,
}

/// Times of every kind, in the order of the defaults.
///
/// # Units
/// - `defaults`: seconds of each kind
/// - `acts`: seconds that acts took; a kind without a default is not learned
///
/// # Source
/// Theory chapter, "Learning"; `times-acts`, `times-break`, `times-break-ratio`
/// and `times-cap` of the constants.
#[must_use]
pub fn learn_times<K: Copy + PartialEq>(defaults: &[(K, f64)], acts: &[(K, f64)]) -> Vec<Learned<K>> {
    let constant = |name: &str| figures().constant(name).value;
    let (weight, cap) = (constant("times-acts"), constant("times-cap"));
    defaults
        .iter()
        .map(|&(kind, before)| {
            let a_break = a_break(before);
            let all = acts.iter().filter(|act| act.0 == kind);
            let mut taken: Vec<f64> =
                all.clone().map(|act| act.1).filter(|&seconds| seconds > 0.0 && seconds < a_break).collect();
            let left_out = all.count() - taken.len();
            taken.sort_unstable_by(f64::total_cmp);
            let own = median(&taken);
            let count = taken.len() as f64;
            let seconds = own.map_or(before, |own| {
                let capped = own.clamp(before / cap, before * cap);
                (weight * before + count * capped) / (weight + count)
            });
            Learned { kind, before, own, seconds, acts: taken.len(), left_out }
        })
        .collect()
}

/// What one stretch of time says of each thing that was done in it, when nobody wrote down which took how long.
///
/// Each has the part of the time that it has of what was reckoned for all of
/// them. A thing that is also done by itself finds its own time in that way;
/// things that are always done together keep their ratio. Nothing comes of a
/// stretch that is a break, or of things that are reckoned to take no time.
///
/// # Units
/// - `done`: what was done, and the seconds reckoned for it
/// - `seconds`: what all of it took
///
/// # Example
/// A setting at 30 s and a head on scrap at 180 s took 420 s: 60 s and 360 s.
#[must_use]
pub fn share<K: Copy>(done: &[(K, f64)], seconds: f64) -> Vec<(K, f64)> {
    let reckoned: f64 = done.iter().map(|one| one.1).sum();
    if reckoned <= 0.0 || seconds <= 0.0 || seconds >= a_break(reckoned) {
        return Vec::new();
    }
    done.iter().map(|&(kind, each)| (kind, seconds * each / reckoned)).collect()
}

/// From how many seconds a gap is a break and not the work that is reckoned for it.
fn a_break(reckoned: f64) -> f64 {
    let constant = |name: &str| figures().constant(name).value;
    constant("times-break").max(constant("times-break-ratio") * reckoned)
}

/// The middle of sorted values, or the mean of the two middle ones.
fn median(sorted: &[f64]) -> Option<f64> {
    let last = sorted.len().checked_sub(1)?;
    Some(f64::midpoint(sorted[last / 2], sorted[last - last / 2]))
}
