//! Control of the work: what heads, readings and drilled-out rivets say, and how surely.
//!
//! A slow drift is found by adding up ([`cusum`]); how far the heads of a
//! setting are from their limits is one number ([`Capability`]); ten readings
//! of one head give the caliper's own spread ([`Repeatability`]); a count of
//! rivets drilled out has an interval ([`rate_interval`]); and
//! [`zero_acceptance`] says how many heads must be measured, none of them
//! outside, before a row can be spoken of.
//!
//! The charts of single heads and of their moving average are
//! [`crate::learn::individuals`] and [`crate::learn::ewma`]. Everything here
//! is plain numbers in one unit; nothing of it judges a head. Theory chapter,
//! "Control of the work".

use faying_joint::odds::{Range, combined, normal, rectangular};
use faying_standards::{Cited, Known, Working, figures};
use statrs::distribution::{ContinuousCDF, StudentsT};
use statrs::function::gamma::ln_gamma;

use crate::learn::{Average, Individuals, ewma, individuals};

/// Heads from which a chart shows limits of its own.
///
/// # Source
/// `chart-least-heads` of the constants.
#[must_use]
pub fn least_heads() -> usize {
    figures().constant("chart-least-heads").value as usize
}

/// Readings of one head from which a caliper's spread is taken.
///
/// # Source
/// `caliper-readings` of the constants.
#[must_use]
pub fn least_readings() -> usize {
    figures().constant("caliper-readings").value as usize
}

/// The mean of some values; `None` for none.
#[must_use]
pub fn mean(values: &[f64]) -> Option<f64> {
    let first = *values.first()?;
    // About the first value: readings that are all the same have no spread, not even a rounding.
    Some(first + values.iter().map(|value| value - first).sum::<f64>() / values.len() as f64)
}

/// Standard deviation with n − 1; `None` for fewer than two values.
#[must_use]
pub fn standard_deviation(values: &[f64]) -> Option<f64> {
    let mean = mean(values).filter(|_| values.len() > 1)?;
    let squares: f64 = values.iter().map(|value| (value - mean).powi(2)).sum();
    Some((squares / (values.len() - 1) as f64).sqrt())
}

/// What the standard deviation of `n` normal values is on average, over the true one: the c4 of the tables.
///
/// ```
/// assert!((faying_bench::control::c4(5) - 0.9400).abs() < 5e-5);
/// ```
///
/// # Panics
/// Where `n` is below two: one value has no spread.
#[must_use]
pub fn c4(n: usize) -> f64 {
    assert!(n > 1, "one value has no spread");
    let n = n as f64;
    (2.0 / (n - 1.0)).sqrt() * (ln_gamma(n / 2.0) - ln_gamma((n - 1.0) / 2.0)).exp()
}

/// The two sums of a chart that adds up.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Sums {
    /// What has come together above the target.
    pub up: f64,
    /// What has come together below it.
    pub down: f64,
}

impl Sums {
    /// Whether one of them is above the limit.
    #[must_use]
    pub fn outside(&self, limit: f64) -> bool {
        self.up > limit || self.down > limit
    }
}

/// The tabular CUSUM: up = max(0, up + x − target − slack), down the other way round.
///
/// # Units
/// - `values`, `target`, `slack`: one unit
/// - returns: the sums with every value, in the same unit
///
/// # Source
/// NIST/SEMATECH e-Handbook 6.3.2.3.
#[must_use]
pub fn cusum(values: &[f64], target: f64, slack: f64) -> Vec<Sums> {
    let mut sums = Sums::default();
    let add = |&value: &f64| {
        sums.up = (sums.up + value - target - slack).max(0.0);
        sums.down = (sums.down + target - value - slack).max(0.0);
        sums
    };
    values.iter().map(add).collect()
}

/// Slack and limit of a CUSUM that looks for a shift of `cusum-shift` standard deviations.
///
/// The slack is half of the shift; the limit leaves as small a chance of a
/// false alarm to each side as the limits of a single head do.
///
/// # Units
/// - `sigma`, both results: one unit
///
/// # Source
/// h = k·(2/δ²)·ln(1/α): gives the limit of the example in the NIST/SEMATECH
/// e-Handbook 6.3.2.3 from its slack, to the last digit printed.
#[must_use]
pub fn cusum_limits(sigma: f64) -> (f64, f64) {
    let shift = figures().constant("cusum-shift").value;
    let slack = shift * sigma / 2.0;
    let alarm = normal(-figures().constant("chart-limits").value);
    (slack, slack * 2.0 / (shift * shift) * -alarm.ln())
}

/// How far the heads of a setting are from their limits, in threefold standard deviations.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Capability {
    /// Heads it rests on.
    pub n: usize,
    /// Their mean.
    pub mean: f64,
    /// Their standard deviation.
    pub s: f64,
    /// From the least that is asked: (mean − least)/3s.
    pub lower: Option<f64>,
    /// From the most that is allowed: (most − mean)/3s.
    pub upper: Option<f64>,
}

impl Capability {
    /// Of values against limits; `None` where there is no limit, no spread, or too few heads.
    #[must_use]
    pub fn of(values: &[f64], limits: Range) -> Option<Self> {
        let s = standard_deviation(values).filter(|_| values.len() >= least_heads())?;
        Self::from_spread(values.len(), mean(values)?, s, limits)
    }

    /// The same from mean and standard deviation.
    ///
    /// # Source
    /// NIST/SEMATECH e-Handbook 6.1.6.
    #[must_use]
    pub fn from_spread(n: usize, mean: f64, s: f64, limits: Range) -> Option<Self> {
        if s <= 0.0 {
            return None;
        }
        let lower = limits.least.map(|least| (mean - least) / (3.0 * s));
        let upper = limits.most.map(|most| (most - mean) / (3.0 * s));
        (lower.is_some() || upper.is_some()).then_some(Self { n, mean, s, lower, upper })
    }

    /// The nearer limit: Cpk, one-sided where there is one limit only.
    #[must_use]
    pub fn index(&self) -> f64 {
        [self.lower, self.upper].into_iter().flatten().fold(f64::INFINITY, f64::min)
    }

    /// The mean of both: Cp; only where there are two limits.
    #[must_use]
    pub fn spread_only(&self) -> Option<f64> {
        Some(f64::midpoint(self.lower?, self.upper?))
    }
}

/// A measured head in the course of a setting.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Point {
    /// What was measured.
    pub value: f64,
    /// What was aimed at, where that is known.
    pub aim: Option<f64>,
    /// Whether the tool was set anew before it.
    pub anew: bool,
}

/// How the heads of one setting went: three charts over the same heads.
///
/// Averages and sums begin anew wherever the tool was set anew; the limits of
/// single heads are of all of them.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Course {
    /// How many heads more it takes before there are limits; 0 where there are.
    pub missing: usize,
    /// The chart of single heads.
    pub individuals: Option<Individuals>,
    /// Whether averages and sums are about what was aimed at; else about the mean.
    pub about_aim: bool,
    /// The standard deviation behind their limits; 0 where there are none.
    pub sigma: f64,
    /// Moving averages of value less aim, or less mean.
    pub averages: Vec<Average>,
    /// Sums of the same.
    pub sums: Vec<Sums>,
    /// What a sum must not be above.
    pub sum_limit: f64,
    /// How far the heads are from the limits in force.
    pub capability: Option<Capability>,
}

impl Course {
    /// Of heads in the order in which they were set.
    ///
    /// # Units
    /// - `heads`, `sigma`, `limits`: one unit
    /// - `sigma`: standard uncertainty of a measured head about its aim; used
    ///   where every head has an aim. Without, it comes from the moving range.
    #[must_use]
    pub fn of(heads: &[Point], sigma: f64, limits: Range) -> Self {
        let missing = least_heads().saturating_sub(heads.len());
        let values: Vec<f64> = heads.iter().map(|head| head.value).collect();
        let Some(single) = individuals(&values).filter(|_| missing == 0) else {
            return Self { missing, ..Self::default() };
        };
        let about_aim = sigma > 0.0 && heads.iter().all(|head| head.aim.is_some());
        let sigma =
            if about_aim { sigma } else { single.moving_range / figures().constant("moving-range-d2").value };
        let mut course = Self {
            about_aim,
            capability: Capability::of(&values, limits),
            individuals: Some(single.clone()),
            ..Self::default()
        };
        // Heads that are all the same have no spread to draw limits from.
        if sigma > 0.0 {
            let off = |head: &Point| head.value - head.aim.filter(|_| about_aim).unwrap_or(single.mean);
            let lambda = figures().constant("ewma-lambda").value;
            let (slack, limit) = cusum_limits(sigma);
            (course.sigma, course.sum_limit) = (sigma, limit);
            let mut from = 0;
            while from < heads.len() {
                let rest = &heads[from + 1..];
                let to = rest.iter().position(|head| head.anew).map_or(heads.len(), |at| from + 1 + at);
                let offs: Vec<f64> = heads[from..to].iter().map(off).collect();
                let limits = figures().constant("chart-limits").value;
                course.averages.extend(ewma(&offs, 0.0, sigma, lambda, limits));
                course.sums.extend(cusum(&offs, 0.0, slack));
                from = to;
            }
        }
        course
    }

    /// Heads (from 0) at which the moving average is outside its limits.
    #[must_use]
    pub fn drifted(&self) -> Vec<usize> {
        let outside = self.averages.iter().enumerate().filter(|(_, point)| point.outside(0.0));
        outside.map(|(at, _)| at).collect()
    }

    /// Heads (from 0) at which one of the two sums is above the limit.
    pub fn crept(&self, side: impl Fn(&Sums) -> f64) -> Vec<usize> {
        let outside = self.sums.iter().enumerate().filter(|(_, sums)| side(sums) > self.sum_limit);
        outside.map(|(at, _)| at).collect()
    }

    /// Where the limits come from, line by line.
    ///
    /// # Units
    /// Values in inches.
    #[must_use]
    pub fn working(&self) -> Working {
        let mut working = Working::default();
        let limits = figures().constant("chart-limits");
        let handbook = |place: &str| Cited::new("nist-e-handbook", place, limits.cited.known);
        if let Some(it) = &self.individuals {
            working.add(
                "limits of single heads",
                "mean ± L·mean moving range/d2",
                format!(
                    "{:.4} ± {}·{:.4}/{}",
                    it.mean,
                    limits.value,
                    it.moving_range,
                    figures().constant("moving-range-d2").value
                ),
                format!("{:.4} to {:.4} in", it.lower, it.upper),
                handbook("6.3.2.2"),
            );
        }
        if let Some(last) = self.averages.last() {
            let lambda = figures().constant("ewma-lambda");
            let sigma =
                if self.about_aim { "σ of set height and caliper" } else { "σ of the mean moving range" };
            working.add(
                "limit of the moving average, last head",
                "L·σ·√(λ/(2 − λ)·(1 − (1 − λ)^2i))",
                format!("L {}, λ {}, {sigma} {:.4}", limits.value, lambda.value, self.sigma),
                format!("{:.4} in", last.limit),
                handbook("6.3.2.4"),
            );
            let shift = figures().constant("cusum-shift").value;
            working.add(
                "limit of the sums",
                "h = k·(2/δ²)·ln(1/α), k = δ·σ/2, α = 1 − Φ(L)",
                format!("δ {shift}, σ {:.4}, k {:.4}", self.sigma, shift * self.sigma / 2.0),
                format!("{:.4} in", self.sum_limit),
                handbook("6.3.2.3"),
            );
        }
        if let Some(it) = &self.capability {
            working.add(
                "distance to the nearer limit",
                "Cpk = least of (mean − least)/3s and (most − mean)/3s",
                format!("mean {:.4}, s {:.4}, {} heads", it.mean, it.s, it.n),
                format!("{:.2}", it.index()),
                Cited::new("nist-e-handbook", "6.1.6", Known::Memory),
            );
        }
        working
    }
}

/// Effective degrees of freedom of a sum of contributions: u⁴/Σ(uᵢ⁴/νᵢ).
///
/// # Units
/// - `contributions`: standard uncertainty (one unit) and its degrees of
///   freedom, infinite for one that is known
///
/// # Source
/// JCGM 100:2008 (GUM) G.4.1.
#[must_use]
pub fn effective_freedom(contributions: &[(f64, f64)]) -> f64 {
    let whole = combined(contributions.iter().map(|(u, _)| *u));
    let parts: f64 = contributions.iter().map(|(u, freedom)| u.powi(4) / freedom).sum();
    if parts > 0.0 { whole.powi(4) / parts } else { f64::INFINITY }
}

/// How many standard uncertainties to either side hold the truth with a probability.
///
/// The degrees of freedom are cut to a whole number, as for a printed table.
///
/// # Source
/// JCGM 100:2008 (GUM) G.4.1; the t distribution.
#[must_use]
pub fn coverage_factor(level: f64, freedom: f64) -> f64 {
    let side = f64::midpoint(1.0, level);
    match StudentsT::new(0.0, 1.0, freedom.floor().max(1.0)) {
        Ok(student) if freedom < 1e6 => student.inverse_cdf(side),
        _ => faying_joint::odds::guard_band(1.0, side),
    }
}

/// The spread of readings that one caliper and one hand give of the same head.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Repeatability {
    /// Readings.
    pub n: usize,
    /// Heads they are of.
    pub heads: usize,
    /// Standard deviation of a reading about the mean of its own head.
    pub s: f64,
    /// Degrees of freedom of `s`: readings less heads.
    pub freedom: usize,
    /// Standard uncertainty of one reading: `s`, and the step of the display as a rectangle.
    pub u: f64,
    /// Degrees of freedom of `u`.
    pub u_freedom: f64,
}

impl Repeatability {
    /// From the readings of each head; `None` where no head was read twice.
    ///
    /// # Units
    /// - `heads`: readings, head by head, one unit
    /// - `step`: the smallest step of the display, same unit; 0 for none
    ///
    /// The step is in the spread of the readings already where they differ by
    /// several of it; counted beside them it makes u a little greater, never
    /// less than a display can know.
    ///
    /// # Source
    /// JCGM 100:2008 (GUM) 4.2 and F.2.2.1; pooled over heads as the
    /// repeatability of a gauge study is.
    #[must_use]
    pub fn of(heads: &[&[f64]], step: f64) -> Option<Self> {
        let read: Vec<&[f64]> = heads.iter().copied().filter(|it| !it.is_empty()).collect();
        let n: usize = read.iter().map(|it| it.len()).sum();
        let freedom = n - read.len();
        if freedom == 0 {
            return None;
        }
        let squares: f64 =
            read.iter().filter_map(|it| Some(standard_deviation(it)?.powi(2) * (it.len() - 1) as f64)).sum();
        let s = (squares / freedom as f64).sqrt();
        let step_u = rectangular(step / 2.0);
        let u_freedom = effective_freedom(&[(s, freedom as f64), (step_u, f64::INFINITY)]);
        Some(Self { n, heads: read.len(), s, freedom, u: combined([s, step_u]), u_freedom })
    }

    /// How far `s` itself may be off, as a share of it: √(1 − c4²)/c4.
    #[must_use]
    pub fn s_share(&self) -> f64 {
        let c4 = c4(self.freedom + 1);
        (1.0 - c4 * c4).sqrt() / c4
    }
}

/// Probability of at most `most` of `n`, each with chance `share`: a binomial, summed.
///
/// # Units
/// - `share`: 0 to 1
#[must_use]
pub fn at_most(n: usize, most: usize, share: f64) -> f64 {
    if most >= n || share <= 0.0 {
        return 1.0;
    }
    if share >= 1.0 {
        return 0.0;
    }
    // In logarithms: the chance of none among thousands is too small for the first term.
    let (all, odds) = (n as f64, share.ln() - (-share).ln_1p());
    let mut term = all * (-share).ln_1p();
    let mut sum = term.exp();
    for k in 1..=most {
        term += ((all - k as f64 + 1.0) / k as f64).ln() + odds;
        sum += term.exp();
    }
    sum.min(1.0)
}

/// The exact binomial interval of a rate: what true rates go with so many of so many.
///
/// # Units
/// - `level`: probability, such as .90; half of what is left lies at each end
/// - returns: least and greatest rate, 0 to 1; 0 to 1 for no trials
///
/// # Source
/// The two tails of the binomial, inverted by halving; textbook. Never
/// narrower than it says, and on the wide side for few trials.
#[must_use]
pub fn rate_interval(events: usize, trials: usize, level: f64) -> [f64; 2] {
    if trials == 0 {
        return [0.0, 1.0];
    }
    let tail = (1.0 - level) / 2.0;
    let low = if events == 0 { 0.0 } else { halve(|share| 1.0 - at_most(trials, events - 1, share) > tail) };
    let high = if events >= trials { 1.0 } else { halve(|share| at_most(trials, events, share) < tail) };
    [low, high]
}

/// Where a condition that holds from some share on begins, between 0 and 1.
fn halve(holds: impl Fn(f64) -> bool) -> f64 {
    let (mut low, mut high) = (0.0, 1.0);
    // Each turn halves the rest: after 60 nothing is left of a double.
    for _ in 0..60 {
        let middle = f64::midpoint(low, high);
        if holds(middle) {
            high = middle;
        } else {
            low = middle;
        }
    }
    f64::midpoint(low, high)
}

/// How many heads are to be measured, and none found outside, before it can be
/// said that fewer than `share` of them are.
///
/// # Units
/// - `lot`: heads there are; `None` for more than can be counted
/// - `share`, `level`: 0 to 1, such as .05 (one in twenty) and .95
/// - returns: heads to measure, at most all of them
///
/// The heads must be chosen so that each has the same chance.
///
/// # Source
/// Hypergeometric, or (1 − share)^n ≤ 1 − level without a lot; textbook.
///
/// ```
/// use faying_bench::control::zero_acceptance;
/// assert_eq!(zero_acceptance(None, 0.05, 0.95), 59);
/// assert_eq!(zero_acceptance(Some(100), 0.05, 0.95), 45);
/// ```
#[must_use]
pub fn zero_acceptance(lot: Option<usize>, share: f64, level: f64) -> usize {
    let Some(lot) = lot else {
        return ((1.0 - level).ln() / (-share).ln_1p()).ceil() as usize;
    };
    // 0.05·100 is a hair over five as a float.
    let outside = ((share * lot as f64 - 1e-9).ceil() as usize).max(1);
    (0..=lot).find(|&n| none_found(lot, outside, n) <= 1.0 - level).unwrap_or(lot)
}

/// Fewer than how many of a lot are outside, where so many were measured and none was.
///
/// # Units
/// - `level`: 0 to 1
/// - returns: heads; one more than the lot where nothing can be said
#[must_use]
pub fn fewer_than(lot: usize, measured: usize, level: f64) -> usize {
    (1..=lot).find(|&outside| none_found(lot, outside, measured) <= 1.0 - level).unwrap_or(lot + 1)
}

/// Chance that `n` heads of a lot hold none of those outside.
fn none_found(lot: usize, outside: usize, n: usize) -> f64 {
    (0..n.min(lot)).map(|at| lot.saturating_sub(outside + at) as f64 / (lot - at) as f64).product()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn nothing_below_five_heads_pretends_to_be_a_limit() {
        let limits = Range { least: Some(0.05), most: None };
        let heads = [0.060, 0.061, 0.059, 0.060];
        assert_eq!(Capability::of(&heads, limits), None);
        let five = Capability::of(&[0.060, 0.061, 0.059, 0.060, 0.060], limits).unwrap();
        assert_eq!((five.n, five.upper, five.spread_only()), (5, None, None));
        // s = √(2·10⁻⁶/4); (.060 − .050)/3s.
        assert!((five.index() - 0.010 / (3.0 * 0.5e-6_f64.sqrt())).abs() < 1e-9);
    }

    #[test]
    fn readings_that_are_all_the_same_leave_the_step() {
        let same = Repeatability::of(&[&[0.188; 10]], 0.001).unwrap();
        assert_eq!((same.s, same.freedom), (0.0, 9));
        assert!((same.u - 0.0005 / 3_f64.sqrt()).abs() < 1e-12);
        assert_eq!(same.u_freedom, f64::INFINITY);
        assert!((coverage_factor(0.95, same.u_freedom) - 1.959_964).abs() < 1e-5);
        assert_eq!(Repeatability::of(&[&[0.188], &[]], 0.001), None);
        assert_eq!(Repeatability::of(&[], 0.001), None);
    }

    /// None of n: the upper end is where (1 − p)^n is half of what is left; and the mirror of it.
    #[test]
    fn an_interval_of_none_and_of_all_is_closed_form() {
        for n in [1, 7, 100, 3000] {
            let high = 1.0 - 0.05_f64.powf(1.0 / n as f64);
            let [low, got] = rate_interval(0, n, 0.90);
            assert_eq!(low, 0.0);
            assert!((got - high).abs() < 1e-12, "{n}: {got}, {high}");
            assert!((rate_interval(n, n, 0.90)[0] - (1.0 - high)).abs() < 1e-12);
        }
        assert_eq!(rate_interval(0, 0, 0.90), [0.0, 1.0]);
    }

    #[test]
    fn what_measured_heads_say_of_a_row() {
        // One outside among ten: nine of them measured leave a chance of .1 to have missed it.
        assert_eq!(zero_acceptance(Some(10), 0.05, 0.95), 10);
        assert_eq!(zero_acceptance(Some(0), 0.05, 0.95), 0);
        assert_eq!(fewer_than(10, 10, 0.95), 1);
        assert_eq!(fewer_than(10, 0, 0.95), 11);
        // Seven of forty measured: C(27, 7)/C(40, 7) = .0476 with thirteen outside; with twelve .0635.
        assert_eq!(fewer_than(40, 7, 0.95), 13);
    }

    fn points(values: &[f64], aim: Option<f64>) -> Vec<Point> {
        values.iter().map(|&value| Point { value, aim, anew: false }).collect()
    }

    #[test]
    fn a_course_of_four_heads_says_how_many_are_missing() {
        let course = Course::of(&points(&[0.06, 0.061, 0.06, 0.059], Some(0.06)), 0.0028, Range::default());
        assert_eq!(course, Course { missing: 1, ..Course::default() });
        assert_eq!(Course::of(&[], 0.0028, Range::default()).missing, 5);
    }

    /// Six heads .006 high each, σ .0028: the second average signals (z = .0022 against .0021). Then the
    /// tool is set anew, and both charts begin from nothing.
    #[test]
    fn averages_and_sums_begin_anew_with_the_setting() {
        let mut heads = points(&[0.066; 6], Some(0.060));
        heads.extend(points(&[0.060; 2], Some(0.060)));
        heads[6].anew = true;
        let course = Course::of(&heads, 0.0028, Range::default());
        assert!(course.about_aim && course.missing == 0);
        assert_eq!(course.drifted(), [1, 2, 3, 4, 5]);
        // Each adds .006 − .0014; the limit is 6.6077 σ = .0185: the fifth sum, .0230, is above it.
        assert_eq!(course.crept(|sums| sums.up), [4, 5]);
        assert_eq!(course.crept(|sums| sums.down), [0; 0]);
        assert!((course.sums[4].up - 5.0 * 0.0046).abs() < 1e-12);
        assert_eq!(course.sums[6], Sums::default());
        assert_eq!(course.averages[6].z, 0.0);
        assert!((course.averages[6].limit - course.averages[0].limit).abs() < 1e-15);
    }

    /// Without an aim everything is about the mean, with the spread of the heads.
    #[test]
    fn without_an_aim_the_mean_takes_its_place() {
        let mut heads = points(&[0.060, 0.062, 0.060, 0.062, 0.061], Some(0.05));
        heads[2].aim = None;
        let course = Course::of(&heads, 0.0028, Range::default());
        assert!(!course.about_aim);
        // Moving ranges .002, .002, .002, .001.
        assert!((course.sigma - 0.00175 / 1.128).abs() < 1e-12);
        assert!((course.averages[0].z - 0.2 * (0.060 - 0.061)).abs() < 1e-12);
        let same = Course::of(&points(&[0.06; 6], None), 0.0, Range::default());
        assert!(same.averages.is_empty() && same.sums.is_empty() && same.individuals.is_some());
        assert_eq!(same.working().figures().len(), 1);
    }

    proptest! {
        /// The two ways to ask agree: as many as are asked for say what is asked, one fewer does not.
        #[test]
        fn asked_and_said_agree(lot in 1_usize..300, share in 0.01_f64..0.5) {
            let outside = ((share * lot as f64 - 1e-9).ceil() as usize).max(1);
            let n = zero_acceptance(Some(lot), share, 0.95);
            prop_assert!(fewer_than(lot, n, 0.95) <= outside);
            prop_assert!(fewer_than(lot, n - 1, 0.95) > outside);
        }

        /// An interval holds its own rate, and grows with the level.
        #[test]
        fn an_interval_holds_its_rate(trials in 1_usize..400, part in 0.0_f64..=1.0) {
            let events = (part * trials as f64) as usize;
            let rate = events as f64 / trials as f64;
            let [low, high] = rate_interval(events, trials, 0.90);
            let [wide_low, wide_high] = rate_interval(events, trials, 0.99);
            prop_assert!(low <= rate && rate <= high);
            prop_assert!(wide_low <= low && high <= wide_high);
        }

        /// A slow drift signals sooner or later; values on the target never do.
        #[test]
        fn sums_find_what_stays_off(off in 1.0..3.0, sigma in 0.5..2.0) {
            let (slack, limit) = cusum_limits(sigma);
            let drifted = cusum(&[off * sigma; 40], 0.0, slack);
            prop_assert!(drifted.iter().any(|it| it.outside(limit)));
            prop_assert!(cusum(&[0.0; 40], 0.0, slack).iter().all(|it| *it == Sums::default()));
        }
    }
}
