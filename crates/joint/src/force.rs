//! The force that forms a shop head.
//!
//! Own fit to published measurements of 2117-T4 rivets: theory chapter, "Force
//! to form". It ignores grip and friction. Other alloys have no fit here and
//! get no figure.

use faying_standards::{Force, Length, RivetAlloy, figures};

/// Pascals in a megapascal.
const MEGA: f64 = 1e6;
/// Metres in an inch. Exact by definition: international yard and pound agreement (1959).
const INCH_IN_METRES: f64 = 0.0254;

/// Force to press a head to a width, F = π/4·D²·K·(2 ln(D/d))^n.
///
/// # Units
/// - `shank`: shank diameter, nominal or measured
/// - `width`: width of the head when the force is read
/// - returns: the force; `None` for an alloy without a fit. Nothing is needed
///   for a head no wider than the shank.
///
/// # Source
/// Theory chapter, "Force to form"; `standards/squeeze.csv`.
///
/// ```
/// use faying_joint::force::to_form;
/// use faying_standards::{RivetAlloy, inches};
/// let force = to_form(RivetAlloy::Ad, inches(0.125), inches(0.1875)).expect("2117-T4 is fitted");
/// assert!((force.lbf() - 1906.0).abs() < 5.0);
/// ```
#[must_use]
pub fn to_form(alloy: RivetAlloy, shank: Length, width: Length) -> Option<Force> {
    if alloy != RivetAlloy::Ad {
        return None;
    }
    if width <= shank {
        return Some(Force::from_lbf(0.0));
    }
    let strength = figures().constant("squeeze-strength").value * MEGA;
    let exponent = figures().constant("squeeze-exponent").value;
    let strain = 2.0 * (width.inches() / shank.inches()).ln();
    let area = std::f64::consts::FRAC_PI_4 * (width.inches() * INCH_IN_METRES).powi(2);
    Some(Force::from_newtons(area * strength * strain.powf(exponent)))
}

/// A force against what a squeezer is rated for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Loading {
    /// Force over rating.
    pub share: f64,
    /// Whether it is near enough to the rating to be warned of.
    pub warn: bool,
}

/// How far a force loads a squeezer.
///
/// The rating holds at the end of the stroke and at the air pressure it is
/// stated for; earlier in the stroke there is less.
#[must_use]
pub fn loading(force: Force, rated: Force) -> Loading {
    let share = force.lbf() / rated.lbf();
    Loading { share, warn: share >= figures().constant("squeezer-warn").value }
}

#[cfg(test)]
mod tests {
    use super::*;
    use faying_standards::inches;

    #[test]
    fn an_alloy_without_a_fit_has_no_force() {
        for alloy in RivetAlloy::ALL {
            let force = to_form(alloy, inches(0.125), inches(0.175));
            assert_eq!(force.is_some(), alloy == RivetAlloy::Ad, "{alloy}");
        }
    }

    /// The common squeezer of 3,000 lbf: 1/8 to 1.5 d needs some 1,900 lbf, 5/32 nearly 3,000.
    #[test]
    fn a_squeezer_is_warned_of_near_its_rating() {
        let rated = Force::from_lbf(3000.0);
        let force = |shank: f64| to_form(RivetAlloy::Ad, inches(shank), inches(1.5 * shank)).unwrap();
        assert!(!loading(force(0.125), rated).warn);
        assert!(loading(force(0.15625), rated).warn);
        assert!(loading(Force::from_lbf(2550.0), rated).warn);
        assert!(!loading(Force::from_lbf(2549.0), rated).warn);
    }
}
