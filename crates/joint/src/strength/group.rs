//! A group of fasteners under a force and a moment.
//!
//! Elastic: the plates are rigid, every fastener gives in proportion to its
//! force. The direct part is shared by weight, the moment by weight and
//! distance from the centroid. Any consistent units; x to the right, y up,
//! moments anticlockwise.

use faying_standards::Working;
use serde::Serialize;
use thiserror::Error;

use super::{figure, theory};

/// One fastener of a group.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fastener {
    /// Place, to the right.
    pub x: f64,
    /// Place, up.
    pub y: f64,
    /// How stiff it is beside the others: 1 for equal ones, d² for the areas of unequal ones.
    pub weight: f64,
}

impl Fastener {
    /// One of equal fasteners.
    #[must_use]
    pub const fn at(x: f64, y: f64) -> Self {
        Self { x, y, weight: 1.0 }
    }
}

/// What one fastener carries.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Carried {
    /// Place, to the right.
    pub x: f64,
    /// Place, up.
    pub y: f64,
    /// Force to the right.
    pub fx: f64,
    /// Force up.
    pub fy: f64,
    /// √(fx² + fy²).
    pub resultant: f64,
}

/// How a load spreads over a group.
#[derive(Clone, Debug, PartialEq)]
pub struct Group {
    /// Centroid by weight.
    pub centroid: (f64, f64),
    /// Sum of the weights.
    pub total: f64,
    /// Σ w·r² about the centroid.
    pub polar: f64,
    /// What each carries, in the order given.
    pub fasteners: Vec<Carried>,
    /// Which carries most, from 0; the first of several that carry alike.
    pub largest: usize,
    /// Formula, numbers, result, source.
    pub working: Working,
}

/// A group that cannot be worked out.
#[derive(Clone, Copy, Debug, PartialEq, Error)]
#[non_exhaustive]
pub enum GroupError {
    /// No fastener.
    #[error("a group needs at least one fastener")]
    Empty,
    /// A weight of nothing or less, or a number that is none.
    #[error("fastener {0}: its place must be a number and its weight more than 0")]
    Fastener(usize),
    /// A load that is no number.
    #[error("the force and the moment must be numbers")]
    Load,
    /// A moment on fasteners that lie at one point.
    #[error("fasteners at one point take no moment: leave the moment at 0, or place a second fastener")]
    OnePoint,
}

/// Centroid, sum of weights and Σ w·r² of a group.
pub(crate) fn properties(fasteners: &[Fastener]) -> ((f64, f64), f64, f64) {
    let total: f64 = fasteners.iter().map(|it| it.weight).sum();
    let mean = |of: fn(&Fastener) -> f64| fasteners.iter().map(|it| it.weight * of(it)).sum::<f64>() / total;
    let centroid = (mean(|it| it.x), mean(|it| it.y));
    let polar = fasteners
        .iter()
        .map(|it| it.weight * ((it.x - centroid.0).powi(2) + (it.y - centroid.1).powi(2)))
        .sum();
    (centroid, total, polar)
}

/// The force on each fastener of a group.
///
/// # Units
/// - places, `force`, `moment`: any consistent ones; `moment` about the
///   centroid of the group by weight, anticlockwise
/// - returns: forces in the unit of `force`
///
/// # Errors
/// [`GroupError`] says what the group lacks.
///
/// # Source
/// Theory chapter, "Strength": F = P·w/Σw + M·w·r/Σ(w·r²), the second across the radius.
///
/// ```
/// use faying_joint::strength::group::{Fastener, group};
/// let four = [(40.0, 30.0), (-40.0, 30.0), (-40.0, -30.0), (40.0, -30.0)].map(|(x, y)| Fastener::at(x, y));
/// let loaded = group(&four, (0.0, -10.0), -1000.0)?;
/// assert_eq!(format!("{:.2}", loaded.fasteners[0].resultant), "7.16");
/// # Ok::<(), faying_joint::strength::group::GroupError>(())
/// ```
pub fn group(fasteners: &[Fastener], force: (f64, f64), moment: f64) -> Result<Group, GroupError> {
    if fasteners.is_empty() {
        return Err(GroupError::Empty);
    }
    for (index, it) in fasteners.iter().enumerate() {
        if !(it.x.is_finite() && it.y.is_finite() && it.weight.is_finite() && it.weight > 0.0) {
            return Err(GroupError::Fastener(index + 1));
        }
    }
    if !(force.0.is_finite() && force.1.is_finite() && moment.is_finite()) {
        return Err(GroupError::Load);
    }
    let (centroid, total, polar) = properties(fasteners);
    // Places that differ by rounding alone are one point: the radius is then noise.
    let size = fasteners.iter().fold(0.0_f64, |size, it| size.max(it.x.abs()).max(it.y.abs()));
    let one_point = polar <= total * (size * 1e-12).powi(2);
    if one_point && moment != 0.0 {
        return Err(GroupError::OnePoint);
    }
    let turn = if one_point { 0.0 } else { moment / polar };
    let carried: Vec<Carried> = fasteners
        .iter()
        .map(|it| {
            let fx = force.0 * it.weight / total - turn * it.weight * (it.y - centroid.1);
            let fy = force.1 * it.weight / total + turn * it.weight * (it.x - centroid.0);
            Carried { x: it.x, y: it.y, fx, fy, resultant: fx.hypot(fy) }
        })
        .collect();
    let most = carried.iter().fold(0.0_f64, |most, it| most.max(it.resultant));
    let largest = carried.iter().position(|it| it.resultant >= most * (1.0 - 1e-9)).unwrap_or(0);

    let mut working = Working::default();
    let show = |number| figure(number, 5);
    working.add(
        "centroid",
        "Σ(w·x)/Σw, Σ(w·y)/Σw",
        format!("{} fasteners, Σw = {}", fasteners.len(), show(total)),
        format!("{}, {}", show(centroid.0), show(centroid.1)),
        theory(),
    );
    working.add("polar sum", "J = Σ w·r², about the centroid", "", show(polar), theory());
    let (it, weight) = (carried[largest], fasteners[largest].weight);
    working.add(
        "force to the right on the one that carries most",
        "Px·w/Σw − M·w·y/J",
        format!(
            "{}·{w}/{} − ({})·{w}·({})/{}",
            show(force.0),
            show(total),
            show(moment),
            show(it.y - centroid.1),
            show(polar),
            w = show(weight)
        ),
        show(it.fx),
        theory(),
    );
    working.add(
        "force up on it",
        "Py·w/Σw + M·w·x/J",
        format!(
            "{}·{w}/{} + ({})·{w}·({})/{}",
            show(force.1),
            show(total),
            show(moment),
            show(it.x - centroid.0),
            show(polar),
            w = show(weight)
        ),
        show(it.fy),
        theory(),
    );
    working.add(
        "its resultant",
        "√(fx² + fy²)",
        format!("√({}² + {}²)", show(it.fx.abs()), show(it.fy.abs())),
        show(it.resultant),
        theory(),
    );
    Ok(Group { centroid, total, polar, fasteners: carried, largest, working })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_cannot_be_worked_out_is_refused() {
        let at = |x, y| Fastener::at(x, y);
        assert_eq!(group(&[], (1.0, 0.0), 0.0).unwrap_err(), GroupError::Empty);
        let weightless = Fastener { weight: 0.0, ..at(1.0, 1.0) };
        assert_eq!(group(&[at(0.0, 0.0), weightless], (1.0, 0.0), 0.0).unwrap_err(), GroupError::Fastener(2));
        assert_eq!(group(&[at(f64::NAN, 0.0)], (1.0, 0.0), 0.0).unwrap_err(), GroupError::Fastener(1));
        assert_eq!(group(&[at(0.0, 0.0)], (f64::INFINITY, 0.0), 0.0).unwrap_err(), GroupError::Load);
        // Two at one place, off the origin: rounding must not make an arm of it.
        let same = [at(0.1, 0.2), at(0.1, 0.2), at(0.1, 0.2)];
        assert_eq!(group(&same, (1.0, 0.0), 1.0).unwrap_err(), GroupError::OnePoint);
        let shared = group(&same, (3.0, 0.0), 0.0).unwrap();
        assert!(shared.fasteners.iter().all(|it| (it.fx - 1.0).abs() < 1e-12 && it.fy == 0.0));
    }
}
