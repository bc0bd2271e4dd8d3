//! S0 of a tool and the spring of its yoke, from heads that were proven.
//!
//! x = s0 + G + h − F·c, with c = 1/k: a straight line in the force, fitted by
//! Bayesian linear regression. Before the first head nothing is known of s0,
//! and c is what practice says; each head adds one equation with a known
//! noise. Everything is counted from the first head, so no absolute gap is
//! needed or shown.

use faying_joint::odds::combined;
use faying_standards::{Cited, Length, Working};

use crate::settings::{Head, Spring};

/// A proven head and the setting that made it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reading {
    /// The setting, as the change from that of the first head; positive is more open.
    pub open: Length,
    /// The head as measured, with the force reckoned from its width.
    pub head: Head,
}

/// What the heads say of one tool, yoke and pair of dies.
#[derive(Clone, Debug, PartialEq)]
pub struct Yoke {
    /// How many heads were used.
    pub heads: usize,
    /// Heads left out: no force is known for their alloy.
    pub left_out: usize,
    /// The spring before the heads.
    pub before: Spring,
    /// The spring with them.
    pub spring: Spring,
    /// Mean of s0, in, about which the line is told: at the mean force of the heads.
    at_mean: f64,
    /// Its standard uncertainty, in.
    at_mean_u: f64,
    /// Mean force of the heads, lbf.
    mean_force: f64,
    /// Scatter of the heads about the line over the noise that was assumed; `None` under three heads.
    pub scatter: Option<f64>,
}

impl Yoke {
    /// What heads say, or `None` without a head whose force is known.
    ///
    /// # Units
    /// - `height_u`: standard uncertainty of the height that a set-up leaves
    /// - `caliper_u`: standard uncertainty of a caliper reading
    #[must_use]
    pub fn of(readings: &[Reading], before: Spring, height_u: Length, caliper_u: Length) -> Option<Self> {
        let noise = combined([height_u.inches(), caliper_u.inches()]);
        let points: Vec<(f64, f64)> = readings
            .iter()
            .filter_map(|reading| {
                let Head { seat_to_seat, height, force } = reading.head;
                Some((force?.lbf(), (reading.open - seat_to_seat - height).inches()))
            })
            .collect();
        if points.is_empty() || noise <= 0.0 {
            return None;
        }
        let count = points.len() as f64;
        let mean = |of: &dyn Fn(&(f64, f64)) -> f64| points.iter().map(of).sum::<f64>() / count;
        // About the mean force the line y = a − (F − F̄)·c has its two unknowns apart, so that a
        // handful of nearly equal forces costs no digits.
        let mean_force = mean(&|point| point.0);
        let mean_y = mean(&|point| point.1);
        let spread: f64 = points.iter().map(|point| (point.0 - mean_force).powi(2)).sum();
        let product: f64 = points.iter().map(|point| (point.0 - mean_force) * (point.1 - mean_y)).sum();
        let spring = if before.u > 0.0 {
            let precision = before.u.powi(-2) + spread / noise.powi(2);
            Spring {
                per_lbf: (before.per_lbf * before.u.powi(-2) - product / noise.powi(2)) / precision,
                u: precision.powf(-0.5),
            }
        } else {
            before
        };
        let scatter = (points.len() >= 3).then(|| {
            let squares: f64 = points
                .iter()
                .map(|point| (point.1 - mean_y + (point.0 - mean_force) * spring.per_lbf).powi(2))
                .sum();
            (squares / (count - 2.0)).sqrt() / noise
        });
        Some(Self {
            heads: points.len(),
            left_out: readings.len() - points.len(),
            before,
            spring,
            at_mean: mean_y,
            at_mean_u: noise / count.sqrt(),
            mean_force,
            scatter,
        })
    }

    /// s0 and its standard uncertainty: the constant of the tool, counted from the first head's setting.
    #[must_use]
    pub fn s0(&self) -> (Length, Length) {
        let (mean, u) = self.line_at(0.0);
        (Length::from_inches(mean), Length::from_inches(u))
    }

    /// s0 − F·c and its standard uncertainty, in.
    fn line_at(&self, force: f64) -> (f64, f64) {
        let off = force - self.mean_force;
        // Nothing was known of s0, so the value at the mean force does not depend on c.
        let u = combined([self.at_mean_u, off * self.spring.u]);
        (self.at_mean - off * self.spring.per_lbf, u)
    }

    /// The setting that leaves a head, as the change from the first head's, with its standard uncertainty.
    ///
    /// The uncertainty is that of the aim; the height of one head scatters
    /// about it by what the set-up leaves. `None` for an alloy without a force.
    #[must_use]
    pub fn setting_for(&self, head: &Head) -> Option<(Length, Length)> {
        let (line, u) = self.line_at(head.force?.lbf());
        Some((head.seat_to_seat + head.height + Length::from_inches(line), Length::from_inches(u)))
    }

    /// The lines by which it was learned.
    #[must_use]
    pub fn working(&self) -> Working {
        let mut working = Working::default();
        let theory = || Cited::theory("learning");
        let said = |spring: Spring| {
            format!("{:.1} ± {:.1} in per million lbf", spring.per_lbf * 1e6, spring.u * 1e6)
        };
        working.add(
            "spring of the yoke, before",
            "c = 1/k",
            String::new(),
            said(self.before),
            Cited::theory("settings"),
        );
        working.add(
            "spring of the yoke, with your heads",
            "x − G − h = s0 − F·c, by Bayesian regression",
            format!("{} heads about {:.0} lbf", self.heads, self.mean_force),
            said(self.spring),
            theory(),
        );
        if let Some(scatter) = self.scatter {
            working.add(
                "scatter of the heads",
                "about the line, over the noise assumed",
                String::new(),
                format!("{scatter:.2}"),
                theory(),
            );
        }
        working
    }
}
