//! How rows in line share a load.
//!
//! Sheet A carries the whole load before the first row, sheet B behind the
//! last. Between two rows each sheet stretches as a spring; each row gives by
//! its flexibility. The rows at the ends carry more than those between, the
//! more so the stiffer the fasteners are beside the sheets. Elastic: nothing
//! yields, no hole is loose. Any consistent units.

use faying_standards::Working;
use thiserror::Error;

use super::{figure, theory};

/// Springs of a joint with its rows in line.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    /// Stiffness of sheet A between one row and the next, E·A/p, force over length; one fewer than rows.
    pub ka: Vec<f64>,
    /// The same of sheet B.
    pub kb: Vec<f64>,
    /// Flexibility of each row, length over force.
    pub flexibility: Vec<f64>,
}

impl Line {
    /// Rows that are all alike, over sheets that are the same from row to row.
    #[must_use]
    pub fn even(rows: usize, ka: f64, kb: f64, flexibility: f64) -> Self {
        let between = rows.saturating_sub(1);
        Self { ka: vec![ka; between], kb: vec![kb; between], flexibility: vec![flexibility; rows] }
    }
}

/// A line of rows that cannot be worked out.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum ShareError {
    /// No row.
    #[error("there must be at least one row")]
    NoRows,
    /// Springs and rows do not match.
    #[error("{rows} rows have {between} stretches of sheet between them: give one stiffness, or {between}")]
    Count {
        /// Rows.
        rows: usize,
        /// Stretches between them.
        between: usize,
    },
    /// A stiffness that is nothing, negative or no number.
    #[error("the stiffness of a sheet must be a number over 0 (E·A/p, force over length)")]
    Stiffness,
    /// A flexibility that is negative or no number.
    #[error("the flexibility of a fastener must be 0 (rigid) or a number over 0 (length over force)")]
    Flexibility,
}

/// The share of the load that each row carries; they sum to 1.
///
/// # Units
/// - `line`: stiffness and flexibility in one consistent set
/// - returns: fractions of the load, first row first
///
/// # Errors
/// [`ShareError`] says which spring is amiss.
///
/// # Source
/// Theory chapter, "Strength". With S the load that has gone over to sheet B:
/// C_i·(S_i − S_i−1) + S_i/kB = (1 − S_i)/kA + C_i+1·(S_i+1 − S_i). In S the
/// equations are tridiagonal and every pivot is a sum of terms of one sign, so
/// the recurrence needs no exchange of rows.
///
/// ```
/// use faying_joint::strength::share::{Line, share};
/// let shares = share(&Line::even(3, 216_000.0, 216_000.0, 1.0 / 216_000.0))?;
/// assert!((shares[0] - 0.4).abs() < 1e-12 && (shares[1] - 0.2).abs() < 1e-12);
/// # Ok::<(), faying_joint::strength::share::ShareError>(())
/// ```
pub fn share(line: &Line) -> Result<Vec<f64>, ShareError> {
    let rows = line.flexibility.len();
    let Some(between) = rows.checked_sub(1) else { return Err(ShareError::NoRows) };
    if line.ka.len() != between || line.kb.len() != between {
        return Err(ShareError::Count { rows, between });
    }
    if line.ka.iter().chain(&line.kb).any(|k| !(k.is_finite() && *k > 0.0)) {
        return Err(ShareError::Stiffness);
    }
    if line.flexibility.iter().any(|c| !(c.is_finite() && *c >= 0.0)) {
        return Err(ShareError::Flexibility);
    }
    let c = &line.flexibility;
    // Forward: S_i = rest_i·S_i+1 + constant_i. `own` is what is left of the pivot once C_i+1 is
    // taken off it; kept apart, nothing is lost by subtraction where fasteners are soft.
    let (mut rest, mut constant) = (Vec::with_capacity(between), Vec::with_capacity(between));
    let (mut own_before, mut constant_before) = (0.0_f64, 0.0_f64);
    for i in 0..between {
        let (sheet_a, sheet_b) = (1.0 / line.ka[i], 1.0 / line.kb[i]);
        // C_i·(1 − rest_i−1) without the difference; the first row has nothing before it.
        let behind = if i == 0 { c[0] } else { c[i] * own_before };
        let own = sheet_a + sheet_b + behind;
        let pivot = own + c[i + 1];
        rest.push(c[i + 1] / pivot);
        constant.push((sheet_a + c[i] * constant_before) / pivot);
        own_before = own / pivot;
        constant_before = constant[i];
    }
    let mut over = vec![1.0; rows];
    for i in (0..between).rev() {
        over[i] = rest[i] * over[i + 1] + constant[i];
    }
    let mut before = 0.0;
    Ok(over
        .into_iter()
        .map(|so_far| {
            let own = so_far - before;
            before = so_far;
            own
        })
        .collect())
}

/// The lines of working that go with the shares.
#[must_use]
pub fn working(line: &Line, shares: &[f64]) -> Working {
    let mut working = Working::default();
    let list = |numbers: &[f64]| {
        let alike = numbers.windows(2).all(|pair| pair[0] == pair[1]);
        match (numbers.first(), alike) {
            (Some(first), true) => figure(*first, 5),
            _ => numbers.iter().map(|it| figure(*it, 5)).collect::<Vec<_>>().join(", "),
        }
    };
    working.add(
        "share of each row",
        "C_i·F_i + S_i/kB = (P − S_i)/kA + C_i+1·F_i+1, S_i = F_1 + … + F_i, S_n = P",
        format!(
            "{} rows, kA = {}, kB = {}, C = {}",
            shares.len(),
            list(&line.ka),
            list(&line.kb),
            list(&line.flexibility)
        ),
        shares.iter().map(|it| format!("{:.1} %", it * 100.0)).collect::<Vec<_>>().join(", "),
        theory(),
    );
    working
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The two limits of the method: rigid fasteners leave nothing to the middle, soft ones share alike.
    #[test]
    fn the_limits_are_met() {
        assert_eq!(share(&Line::even(3, 7.0, 7.0, 0.0)).unwrap(), [0.5, 0.0, 0.5]);
        for rows in [1, 2, 3, 7, 40] {
            for share in share(&Line::even(rows, 1.0, 1.0, 1e9)).unwrap() {
                assert!((share * rows as f64 - 1.0).abs() < 1e-6, "{rows}: {share}");
            }
        }
        assert_eq!(share(&Line::even(1, 1.0, 1.0, 0.3)).unwrap(), [1.0]);
    }

    #[test]
    fn what_cannot_be_worked_out_is_refused() {
        assert_eq!(share(&Line::even(0, 1.0, 1.0, 1.0)).unwrap_err(), ShareError::NoRows);
        assert_eq!(share(&Line::even(3, 0.0, 1.0, 1.0)).unwrap_err(), ShareError::Stiffness);
        assert_eq!(share(&Line::even(3, 1.0, f64::NAN, 1.0)).unwrap_err(), ShareError::Stiffness);
        assert_eq!(share(&Line::even(3, 1.0, 1.0, -1e-9)).unwrap_err(), ShareError::Flexibility);
        let mut short = Line::even(4, 1.0, 1.0, 1.0);
        short.ka.pop();
        insta::assert_snapshot!(
            share(&short).unwrap_err(),
            @"4 rows have 3 stretches of sheet between them: give one stiffness, or 3"
        );
    }
}
