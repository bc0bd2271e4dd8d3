//! Uncertainty: from tolerances to probabilities, and from a reading to a verdict.
//!
//! Tolerances are propagated to first order. The set height is normal; the
//! width depends on it, so the two are one pair and not two independent
//! figures: the product of the two marginals is off by up to .04. Where one
//! tolerance makes most of the spread (the rivet's length does), its rectangle
//! is kept as a rectangle, because a normal in its place is off by up to .05.
//! Measured values are judged by JCGM 106. Theory chapter, "Uncertainty".
//!
//! Everything here is plain numbers; a caller keeps to one unit.

use std::f64::consts::{PI, SQRT_2};

use statrs::function::erf;

/// Distribution function of the standard normal.
#[must_use]
pub fn normal(z: f64) -> f64 {
    0.5 * erf::erfc(-z / SQRT_2)
}

/// Density of the standard normal.
fn density(z: f64) -> f64 {
    (-0.5 * z * z).exp() / (2.0 * PI).sqrt()
}

/// Integral of [`normal`], needed for a rectangle smeared by a normal.
fn integral(z: f64) -> f64 {
    z * normal(z) + density(z)
}

/// Standard uncertainty of a rectangular tolerance of half width `half`: a/√3.
#[must_use]
pub fn rectangular(half: f64) -> f64 {
    half.abs() / 3_f64.sqrt()
}

/// Standard uncertainty of a sum of independent contributions.
pub fn combined(contributions: impl IntoIterator<Item = f64>) -> f64 {
    contributions.into_iter().map(|u| u * u).sum::<f64>().sqrt()
}

/// A value with its spread: a mean, one rectangle, and a normal for all the rest.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Spread {
    /// Mean.
    pub mean: f64,
    /// Half width of the rectangle, 0 for none.
    pub half: f64,
    /// Standard uncertainty of the rest.
    pub rest: f64,
}

impl Spread {
    /// From rectangular tolerances, each already multiplied by its sensitivity:
    /// the widest stays a rectangle, the others become one normal.
    pub fn of_tolerances(mean: f64, halves: impl IntoIterator<Item = f64>) -> Self {
        let (mut widest, mut squares) = (0.0_f64, 0.0_f64);
        for half in halves {
            let half = half.abs();
            let other = half.min(widest);
            widest = widest.max(half);
            squares += other * other / 3.0;
        }
        Self { mean, half: widest, rest: squares.sqrt() }
    }

    /// Standard uncertainty of the whole.
    #[must_use]
    pub fn u(&self) -> f64 {
        combined([rectangular(self.half), self.rest])
    }

    /// Probability of being at or below `x`.
    #[must_use]
    pub fn at_most(&self, x: f64) -> f64 {
        let (x, half, rest) = (x - self.mean, self.half, self.rest);
        if half < 1e-3 * rest {
            // The difference of two nearly equal integrals would lose its digits.
            return normal(x / self.u());
        }
        if rest < 1e-9 * half {
            return ((x + half) / (2.0 * half)).clamp(0.0, 1.0);
        }
        if half == 0.0 {
            return if x >= 0.0 { 1.0 } else { 0.0 };
        }
        let (upper, lower) = ((x + half) / rest, (x - half) / rest);
        (rest / (2.0 * half) * (integral(upper) - integral(lower))).clamp(0.0, 1.0)
    }

    /// Probability of being at or above `x`.
    #[must_use]
    pub fn at_least(&self, x: f64) -> f64 {
        Self { mean: -self.mean, ..*self }.at_most(-x)
    }

    /// The same spread about another mean.
    const fn about(&self, mean: f64) -> Self {
        Self { mean, ..*self }
    }
}

/// A range with either end left open where there is no limit.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Range {
    /// Lower end.
    pub least: Option<f64>,
    /// Upper end.
    pub most: Option<f64>,
}

impl Range {
    fn of(&self, spread: &Spread) -> f64 {
        let above = self.most.map_or(0.0, |most| spread.at_least(most));
        let below = self.least.map_or(0.0, |least| spread.at_most(least));
        (1.0 - above - below).max(0.0)
    }
}

/// A set height and the head width that goes with it, to first order.
///
/// The height is normal. The width falls with the height by `slope`, and has a
/// spread of its own from metal and hole.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HeightAndWidth {
    /// Mean height.
    pub height: f64,
    /// Standard uncertainty of the height.
    pub height_u: f64,
    /// The width at the mean height, with its own spread.
    pub width: Spread,
    /// Change of the width with the height, dD/dh.
    pub slope: f64,
}

impl HeightAndWidth {
    /// A bivariate normal of height and width by its usual five numbers.
    ///
    /// # Units
    /// - `means`, `us`: height and width
    /// - `correlation`: strictly between −1 and 1
    #[must_use]
    pub fn bivariate_normal(means: [f64; 2], us: [f64; 2], correlation: f64) -> Self {
        let rest = us[1] * (1.0 - correlation * correlation).sqrt();
        Self {
            height: means[0],
            height_u: us[0],
            width: Spread { mean: means[1], half: 0.0, rest },
            slope: correlation * us[1] / us[0],
        }
    }

    /// Probability that height and width are both inside their ranges.
    ///
    /// One-dimensional Gauss-Legendre quadrature over the height, in panels
    /// that break where the width crosses a limit; the error is below 10⁻⁶.
    #[must_use]
    pub fn inside(&self, heights: Range, widths: Range) -> f64 {
        /// Standard deviations beyond which nothing is left to count.
        const FAR: f64 = 6.0;
        /// A probability too small to count.
        const NOTHING: f64 = 1e-9;
        let at = |height: f64| self.width.about(self.width.mean + self.slope * (height - self.height));
        if self.height_u == 0.0 {
            let held = heights.least.is_none_or(|least| self.height >= least)
                && heights.most.is_none_or(|most| self.height <= most);
            return if held { widths.of(&self.width) } else { 0.0 };
        }
        let low = heights.least.unwrap_or(f64::NEG_INFINITY).max(self.height - FAR * self.height_u);
        let high = heights.most.unwrap_or(f64::INFINITY).min(self.height + FAR * self.height_u);
        if low >= high {
            return 0.0;
        }
        let phi = |height: f64| normal((height - self.height) / self.height_u);
        let mut breaks = Breaks::new(low, high);
        for limit in [widths.least, widths.most].into_iter().flatten() {
            if self.slope != 0.0 {
                let crossing = self.height + (limit - self.width.mean) / self.slope;
                let reach = |width: f64| (width / self.slope).abs();
                let (half, far) = (reach(self.width.half), reach(self.width.half + FAR * self.width.rest));
                for step in [-far, -half, 0.0, half, far] {
                    breaks.add(crossing + step);
                }
            }
        }
        // The density of the height is not flat either where it is narrow against the range.
        for step in [-2.0, 0.0, 2.0] {
            breaks.add(self.height + step * self.height_u);
        }
        // The width is straight in the height: what is certain at both ends is certain between them.
        let certain = |low: f64, high: f64| {
            let (low_end, high_end) = (widths.of(&at(low)), widths.of(&at(high)));
            (low_end.min(high_end) > 1.0 - NOTHING).then(|| phi(high) - phi(low))
        };
        if let Some(all) = certain(low, high) {
            return all;
        }
        breaks
            .panels(|low, high| {
                certain(low, high).unwrap_or_else(|| {
                    gauss(low, high, |height| {
                        density((height - self.height) / self.height_u) / self.height_u
                            * widths.of(&at(height))
                    })
                })
            })
            .clamp(0.0, 1.0)
    }
}

/// Break points of a quadrature, in a fixed room: this runs for every length of every stack.
struct Breaks {
    points: [f64; 16],
    count: usize,
}

impl Breaks {
    const fn new(low: f64, high: f64) -> Self {
        let mut points = [0.0; 16];
        points[0] = low;
        points[1] = high;
        Self { points, count: 2 }
    }

    fn add(&mut self, point: f64) {
        if self.points[0] < point && point < self.points[1] && self.count < self.points.len() {
            self.points[self.count] = point;
            self.count += 1;
        }
    }

    /// Adds up what every panel between two neighbouring points comes to.
    fn panels(mut self, panel: impl Fn(f64, f64) -> f64) -> f64 {
        let points = &mut self.points[..self.count];
        points.sort_unstable_by(f64::total_cmp);
        points.windows(2).map(|ends| panel(ends[0], ends[1])).sum()
    }
}

/// Integral by the Gauss-Legendre rule with eight points.
fn gauss(low: f64, high: f64, of: impl Fn(f64) -> f64) -> f64 {
    /// Positive nodes and their weights: Abramowitz and Stegun, table 25.4; a
    /// test integrates polynomials with them.
    const NODES: [(f64, f64); 4] = [
        (0.183_434_642_495_649_8, 0.362_683_783_378_362),
        (0.525_532_409_916_329, 0.313_706_645_877_887_3),
        (0.796_666_477_413_626_7, 0.222_381_034_453_374_48),
        (0.960_289_856_497_536_2, 0.101_228_536_290_376_26),
    ];
    let (middle, half) = (f64::midpoint(low, high), (high - low) / 2.0);
    let pair = |&(node, weight): &(f64, f64)| weight * (of(middle - half * node) + of(middle + half * node));
    half * NODES.iter().map(pair).sum::<f64>()
}

/// Probability that the true value is inside, for a reading with a standard uncertainty.
///
/// # Units
/// - `reading`, `u`, `limits`: one unit
/// - returns: conformance probability of a normal posterior
///
/// # Source
/// JCGM 106:2012 7.3 and 7.4.
///
/// ```
/// use faying_joint::odds::{Range, conforms};
/// let least = Range { least: Some(0.1625), most: None };
/// assert!((conforms(0.165, 0.001, least) - 0.9938).abs() < 5e-5);
/// ```
#[must_use]
pub fn conforms(reading: f64, u: f64, limits: Range) -> f64 {
    limits.of(&Spread { mean: reading, half: 0.0, rest: u })
}

/// Guard band for one limit: how far inside a reading must be for the true
/// value to be inside with probability `level`.
///
/// # Source
/// JCGM 106:2012 8.3; the level of ISO 14253-1 gives 1.645 u.
#[must_use]
pub fn guard_band(u: f64, level: f64) -> f64 {
    SQRT_2 * erf::erfc_inv(2.0 * (1.0 - level)) * u
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Eight points integrate polynomials up to degree 15 exactly: ∫₀¹ xⁿ = 1/(n + 1).
    #[test]
    fn the_rule_integrates_polynomials() {
        for degree in 0..16 {
            let got = gauss(0.0, 1.0, |x| x.powi(degree));
            assert!((got - 1.0 / f64::from(degree + 1)).abs() < 1e-14, "{degree}: {got}");
        }
    }

    #[test]
    fn a_spread_of_one_kind_is_that_kind() {
        let normal_only = Spread { mean: 2.0, half: 0.0, rest: 0.5 };
        assert!((normal_only.at_most(2.5) - normal(1.0)).abs() < 1e-15);
        let rectangle = Spread { mean: 2.0, half: 0.5, rest: 0.0 };
        assert!((rectangle.at_most(2.25) - 0.75).abs() < 1e-15);
        assert_eq!(rectangle.at_most(3.0), 1.0);
        let fixed = Spread { mean: 2.0, half: 0.0, rest: 0.0 };
        assert_eq!((fixed.at_most(1.9), fixed.at_most(2.0), fixed.at_least(2.0)), (0.0, 1.0, 1.0));
    }

    #[test]
    fn the_widest_tolerance_stays_a_rectangle() {
        let spread = Spread::of_tolerances(0.0, [0.002, -0.010, 0.003]);
        assert_eq!(spread.half, 0.010);
        assert!((spread.rest - ((4e-6 + 9e-6) / 3.0_f64).sqrt()).abs() < 1e-15);
        assert!((spread.u() - ((4e-6 + 1e-4 + 9e-6) / 3.0_f64).sqrt()).abs() < 1e-15);
    }

    /// With no slope the pair is two independent figures.
    #[test]
    fn without_a_slope_the_odds_multiply() {
        let pair = HeightAndWidth::bivariate_normal([0.06, 0.19], [0.0026, 0.003], 0.0);
        let heights = Range { least: Some(0.057), most: Some(0.064) };
        let widths = Range { least: Some(0.188), most: Some(0.195) };
        let product = conforms(0.06, 0.0026, heights) * conforms(0.19, 0.003, widths);
        assert!((pair.inside(heights, widths) - product).abs() < 1e-9);
    }

    proptest! {
        /// The smeared rectangle agrees with adding up many normals.
        #[test]
        fn a_smeared_rectangle_is_a_mean_of_normals(half in 0.1..3.0, rest in 0.05..2.0, x in -4.0..4.0) {
            let spread = Spread { mean: 0.0, half, rest };
            let count = 2000;
            let mean = (0..count)
                .map(|i| normal((x - half * ((2.0 * f64::from(i) + 1.0) / f64::from(count) - 1.0)) / rest))
                .sum::<f64>() / f64::from(count);
            prop_assert!((spread.at_most(x) - mean).abs() < 1e-4);
            prop_assert!((spread.at_most(x) + spread.at_least(x) - 1.0).abs() < 1e-12);
        }

        /// A probability, whatever is asked, and no larger than that of the height alone.
        #[test]
        fn inside_is_a_probability(
            low in -2.0..2.0, wide in 0.0..3.0, least in -3.0..3.0, slope in -3.0..3.0,
            half in 0.0..1.0, rest in 0.0..1.0,
        ) {
            let pair = HeightAndWidth {
                height: 0.0, height_u: 1.0, width: Spread { mean: 0.0, half, rest }, slope,
            };
            let heights = Range { least: Some(low), most: Some(low + wide) };
            let got = pair.inside(heights, Range { least: Some(least), most: None });
            let alone = conforms(0.0, 1.0, heights);
            prop_assert!((0.0..=1.0).contains(&got));
            prop_assert!(got <= alone + 1e-6, "{} of {}", got, alone);
        }
    }
}
