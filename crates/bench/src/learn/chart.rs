//! Control charts of measured heights: has the set-up drifted?
//!
//! EWMA with a known standard deviation, z = λ·x + (1 − λ)·z, signalled when it
//! leaves L·σ·√(λ/(2 − λ)·(1 − (1 − λ)^2i)) about the aim; and the individuals
//! chart, whose limits come from the mean moving range. NIST/SEMATECH
//! e-Handbook 6.3.2.4 and 6.3.2.2.
//!
//! A chart belongs to one setting: after a change of it a new one begins.

use faying_standards::{Cited, Length, Working, figures};

use crate::settings::{Adjust, Move};

/// One point of an EWMA chart.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Average {
    /// The value.
    pub value: f64,
    /// The moving average with it.
    pub z: f64,
    /// How far from the target the average may be at this point.
    pub limit: f64,
}

impl Average {
    /// Whether the average is outside its limits.
    #[must_use]
    pub fn outside(&self, target: f64) -> bool {
        (self.z - target).abs() > self.limit
    }
}

/// Half width of EWMA limits at the `count`th value; without a count, after many.
#[must_use]
pub fn ewma_limit(sigma: f64, lambda: f64, limits: f64, count: Option<usize>) -> f64 {
    let grown = count.map_or(1.0, |count| 1.0 - (1.0 - lambda).powf(2.0 * count as f64));
    limits * sigma * (lambda / (2.0 - lambda) * grown).sqrt()
}

/// An EWMA chart that starts at its target.
///
/// # Units
/// - `values`, `target`, `sigma`: one unit
/// - `lambda`: weight of the newest value, 0 to 1
/// - `limits`: in standard deviations of the average
///
/// # Source
/// NIST/SEMATECH e-Handbook 6.3.2.4, with the limits of a chart that has just
/// begun: a set-up has few heads.
#[must_use]
pub fn ewma(values: &[f64], target: f64, sigma: f64, lambda: f64, limits: f64) -> Vec<Average> {
    let mut z = target;
    values
        .iter()
        .enumerate()
        .map(|(index, &value)| {
            z = lambda * value + (1.0 - lambda) * z;
            Average { value, z, limit: ewma_limit(sigma, lambda, limits, Some(index + 1)) }
        })
        .collect()
}

/// An individuals chart.
#[derive(Clone, Debug, PartialEq)]
pub struct Individuals {
    /// Mean of the values.
    pub mean: f64,
    /// Mean moving range of two.
    pub moving_range: f64,
    /// Lower limit.
    pub lower: f64,
    /// Upper limit.
    pub upper: f64,
    /// Values outside, by number from 0.
    pub outside: Vec<usize>,
}

/// The individuals chart of values in their order; `None` for fewer than two.
///
/// # Source
/// NIST/SEMATECH e-Handbook 6.3.2.2.
#[must_use]
pub fn individuals(values: &[f64]) -> Option<Individuals> {
    if values.len() < 2 {
        return None;
    }
    let mean = values.iter().sum::<f64>() / values.len() as f64;
    let moving_range =
        values.windows(2).map(|pair| (pair[1] - pair[0]).abs()).sum::<f64>() / (values.len() - 1) as f64;
    let half =
        figures().constant("chart-limits").value * moving_range / figures().constant("moving-range-d2").value;
    let (lower, upper) = (mean - half, mean + half);
    let outside = |&(_, value): &(usize, &f64)| *value < lower || *value > upper;
    let outside = values.iter().enumerate().filter(outside).map(|(at, _)| at).collect();
    Some(Individuals { mean, moving_range, lower, upper, outside })
}

/// Where a set-up stands.
#[derive(Clone, Debug, PartialEq)]
pub struct Drift {
    /// The chart of the heights less the aim, in.
    pub chart: Vec<Average>,
    /// The head at which a drift was signalled first, from 0.
    pub signalled: Option<usize>,
    /// Heads that by themselves stand farther from the aim than the limits of a single one, from 0.
    pub astray: Vec<usize>,
    /// The chart of the same deviations with limits of their own, in.
    pub individuals: Option<Individuals>,
    /// What the tool is to be changed by; only where the newest head signals.
    pub adjustment: Option<Move>,
}

/// Whether the heads of a setting drift from their aim.
///
/// # Units
/// - `deviations`: height less the height aimed at, in order, since the last change of the setting
/// - `height_u`: standard uncertainty of the height that a set-up leaves
/// - `caliper_u`: standard uncertainty of a caliper reading
/// - `x_per_height`: how far the gap changes for a change of the height, at
///   this head: [`crate::settings::Group::x_per_height`]
///
/// # Source
/// Theory chapter, "Learning"; `ewma-lambda` and `chart-limits` of the constants.
#[must_use]
pub fn drift(
    deviations: &[Length],
    height_u: Length,
    caliper_u: Length,
    adjust: &Adjust,
    fitted: &[Length],
    x_per_height: f64,
) -> Drift {
    let sigma = faying_joint::odds::combined([height_u.inches(), caliper_u.inches()]);
    let values: Vec<f64> = deviations.iter().map(|deviation| deviation.inches()).collect();
    let lambda = figures().constant("ewma-lambda").value;
    let limits = figures().constant("chart-limits").value;
    let chart = ewma(&values, 0.0, sigma, lambda, limits);
    let astray = |&(_, value): &(usize, &f64)| value.abs() > limits * sigma;
    let astray = values.iter().enumerate().filter(astray).map(|(at, _)| at).collect();
    let signalled = chart.iter().position(|point| point.outside(0.0));
    // The average is the forecast of the next head; the gap is changed against it.
    let adjustment = chart
        .last()
        .filter(|last| last.outside(0.0))
        .map(|last| adjust.nearest(fitted, Length::from_inches(-last.z * x_per_height)));
    Drift { chart, signalled, astray, individuals: individuals(&values), adjustment }
}

impl Drift {
    /// The state of the set-up in a sentence.
    #[must_use]
    pub fn sentence(&self) -> String {
        let thousandths = |inches: f64| Length::from_inches((inches.abs() * 1e3).round() / 1e3).decimal();
        let Some(last) = self.chart.last() else {
            return "No head of this setting is measured yet.".to_owned();
        };
        let side = if last.z >= 0.0 { "above" } else { "below" };
        let state = format!(
            "the average is {} {side} the aim; limit {}",
            thousandths(last.z),
            thousandths(last.limit)
        );
        let astray = match self.astray[..] {
            [] => String::new(),
            [one] => format!(" Measured head {} stands out by itself.", one + 1),
            _ => {
                let heads: Vec<String> = self.astray.iter().map(|at| (at + 1).to_string()).collect();
                format!(" Measured heads {} stand out by themselves.", heads.join(", "))
            }
        };
        let drift = match (&self.adjustment, self.signalled) {
            (Some(adjustment), _) => format!("Drift: {state}. {adjustment}, and prove it."),
            (None, Some(at)) => format!("It drifted at measured head {} and came back: {state}.", at + 1),
            (None, None) => format!("No drift: {state}."),
        };
        drift + &astray
    }

    /// The line of the newest head.
    #[must_use]
    pub fn working(&self) -> Working {
        let mut working = Working::default();
        if let Some(last) = self.chart.last() {
            let lambda = figures().constant("ewma-lambda");
            working.add(
                "moving average of the height",
                "z = λ·x + (1 − λ)·z, limit L·σ·√(λ/(2 − λ)·(1 − (1 − λ)^2i))",
                format!("λ {}, head {}, deviation {:.4}", lambda.value, self.chart.len(), last.value),
                format!("{:.4} in, limit {:.4}", last.z, last.limit),
                Cited::new("nist-e-handbook", "6.3.2.4", lambda.cited.known),
            );
        }
        working
    }
}
