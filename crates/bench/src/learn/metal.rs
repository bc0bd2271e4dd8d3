//! How much of the metal of a tail does not arrive in the head, from measured heads.
//!
//! One share for the heads that are handed in. Each measured head has a volume, its tail had one;
//! what is missing is 1 − V(head)/V(tail). The default counts as much as
//! `calibration-heads` heads, so that a few heads move it little, and what is
//! learned is not offered before that many are in.

use faying_joint::constants::Constants;
use faying_joint::head::{Bore, Metal};
use faying_joint::odds::{combined, rectangular};
use faying_standards::{Cited, Length, Working, figures};

/// A head as it was measured, with what its tail stood out of.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HeadSeen {
    /// Shank, hole and grip.
    pub bore: Bore,
    /// The tail before driving, p = L − G.
    pub tail: Length,
    /// Width: the mean of the readings, because it is the volume that is asked.
    pub width: Length,
    /// Height from the face the head sits on.
    pub height: Length,
}

impl HeadSeen {
    /// The share that is missing; `None` where the hole swallows the whole tail.
    #[must_use]
    pub fn missing(&self, spread: f64) -> Option<f64> {
        let tail = Metal::of_tail(&self.bore, self.tail, spread).volume();
        let head = Metal::of_head(self.width, self.height, spread).volume();
        (tail > 0.0).then(|| 1.0 - head / tail)
    }

    /// Standard uncertainty of that share, from caliper and length of the rivet.
    fn missing_u(&self, constants: &Constants) -> f64 {
        let spread = constants.spread.value;
        let Some(missing) = self.missing(spread) else { return 0.0 };
        let caliper = constants.caliper_u.value.inches();
        let square = std::f64::consts::FRAC_PI_4 * self.bore.shank.inches().powi(2);
        let length = square * rectangular(constants.rivet_length.value.inches())
            / Metal::of_tail(&self.bore, self.tail, spread).volume();
        (1.0 - missing)
            * combined([2.0 * caliper / self.width.inches(), caliper / self.height.inches(), length])
    }
}

/// The missing share, before and after the builder's own heads.
#[derive(Clone, Debug, PartialEq)]
pub struct Calibration {
    /// How many heads were used.
    pub heads: usize,
    /// Heads left out: their hole swallows the tail.
    pub left_out: usize,
    /// The share before.
    pub before: f64,
    /// The mean of the builder's own heads.
    pub own: Option<f64>,
    /// Standard uncertainty of that mean.
    pub own_u: f64,
    /// What comes of both.
    pub after: f64,
    /// Standard uncertainty of `after`.
    pub u: f64,
    /// Whether there are heads enough to leave the default.
    pub settled: bool,
}

/// The missing share from measured heads.
///
/// # Source
/// Theory chapter, "Learning"; `calibration-heads`, `missing-metal-least` and
/// `missing-metal-most` of the constants.
#[must_use]
pub fn calibrate(heads: &[HeadSeen], constants: &Constants) -> Calibration {
    let spread = constants.spread.value;
    let weight = figures().constant("calibration-heads").value;
    let [least, most] =
        ["missing-metal-least", "missing-metal-most"].map(|name| figures().constant(name).value);
    let before = constants.missing_metal.value;
    let before_u = rectangular((most - least) / 2.0);
    let seen: Vec<(f64, f64)> =
        heads.iter().filter_map(|head| Some((head.missing(spread)?, head.missing_u(constants)))).collect();
    let count = seen.len() as f64;
    let own = (!seen.is_empty()).then(|| seen.iter().map(|&(missing, _)| missing).sum::<f64>() / count);
    let after = own.map_or(before, |own| (weight * before + count * own) / (weight + count));
    // What one head is good for: their own scatter, but never better than caliper and length allow.
    let reading = seen.iter().map(|&(_, u)| u).fold(0.0, f64::max);
    let scatter = own.filter(|_| seen.len() > 1).map_or(0.0, |own| {
        (seen.iter().map(|&(missing, _)| (missing - own).powi(2)).sum::<f64>() / (count - 1.0)).sqrt()
    });
    let own_u = if seen.is_empty() { 0.0 } else { reading.max(scatter) / count.sqrt() };
    let total = weight + count;
    Calibration {
        heads: seen.len(),
        left_out: heads.len() - seen.len(),
        before,
        own,
        own_u,
        after,
        u: combined([weight / total * before_u, count / total * own_u]),
        settled: count >= weight,
    }
}

impl Calibration {
    /// Whether the heads of both, each enough of them, say something else than one another: further
    /// apart than twice their uncertainty.
    #[must_use]
    pub fn disagrees(&self, other: &Self) -> bool {
        match (self.own, other.own) {
            (Some(a), Some(b)) if self.settled && other.settled => {
                (a - b).abs() > 2.0 * combined([self.own_u, other.own_u])
            }
            _ => false,
        }
    }

    /// Before and after, in a sentence.
    #[must_use]
    pub fn sentence(&self) -> String {
        let percent = |share: f64| format!("{:.0} %", share * 100.0);
        let Some(own) = self.own else {
            return format!(
                "No head is measured yet: {} of the metal is taken as missing.",
                percent(self.before)
            );
        };
        let one = self.heads == 1;
        let heads = if one { "1 head".to_owned() } else { format!("{} heads", self.heads) };
        let (miss, them) = if one { ("misses", "it") } else { ("miss", "them") };
        let (own, before, after) = (percent(own), percent(self.before), percent(self.after));
        let more = figures().constant("calibration-heads").value;
        let start = format!("Your {heads} {miss} {own} of the metal");
        if self.settled {
            format!("{start}: {before} before, {after} with {them}.")
        } else {
            format!("{start}; {before} stays until {more} are in (with {them} {after}).")
        }
    }

    /// The line by which it was learned.
    #[must_use]
    pub fn working(&self) -> Working {
        let mut working = Working::default();
        let weight = figures().constant("calibration-heads");
        working.add(
            "missing metal",
            "(n0·before + n·own)/(n0 + n)",
            format!(
                "({}·{:.3} + {}·{})/({} + {})",
                weight.value,
                self.before,
                self.heads,
                self.own.map_or_else(|| "none".to_owned(), |own| format!("{own:.3}")),
                weight.value,
                self.heads
            ),
            format!("{:.3}, u {:.3}", self.after, self.u),
            Cited::theory("learning"),
        );
        working
    }
}
