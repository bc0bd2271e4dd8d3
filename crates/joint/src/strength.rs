//! Strength, to put numbers into a question to the designer.
//!
//! Nothing here says that a part is strong enough. [`modes()`] gives the ways
//! in which one hole can give way, each with its working; [`deviation`] sets a
//! hole as built against the hole as planned; [`mod@group`] and [`mod@share`] tell how
//! a load spreads over fasteners; [`per_inch`](fn@per_inch) works out the
//! tables that restore cut sheet; [`substitute`] quotes what documents put in
//! a rivet's place.
//!
//! A mode whose figure is not known is left out by name, and then no figure is
//! given for the whole. Figures come from `standards/`; formulas from the
//! theory chapter, "Strength".

pub mod deviation;
pub mod flexibility;
pub mod group;
pub mod modes;
pub mod per_inch;
pub mod share;
pub mod substitute;

pub use deviation::{GroupDeviation, HoleDeviation, RowDeviation};
pub use flexibility::{Formula, flexibility, spread};
pub use group::group;
pub use modes::{Head, Hole, Sheet, Strength, modes};
pub use per_inch::per_inch;
pub use share::share;
pub use substitute::substitutes;

use faying_standards::Cited;

/// A formula of the theory chapter, "Strength".
pub(crate) fn theory() -> Cited {
    Cited::theory("strength")
}

/// A number to `digits` significant figures, without trailing zeros: 5.584e-6, .3125.
pub(crate) fn figure(number: f64, digits: usize) -> String {
    if number == 0.0 || !number.is_finite() {
        return format!("{number}");
    }
    let magnitude = number.abs().log10().floor() as i32;
    if !(-4..9).contains(&magnitude) {
        let text = format!("{number:.*e}", digits.saturating_sub(1));
        let Some((mantissa, exponent)) = text.split_once('e') else { return text };
        return format!("{}e{exponent}", trimmed(mantissa));
    }
    let places = usize::try_from(digits as i32 - 1 - magnitude).unwrap_or(0);
    trimmed(&format!("{number:.places$}")).to_owned()
}

/// Without the zeros behind a decimal point.
fn trimmed(text: &str) -> &str {
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.') } else { text }
}

#[cfg(test)]
mod tests {
    use super::figure;

    #[test]
    fn a_number_is_written_to_its_figures() {
        for (number, text) in [
            (0.0, "0"),
            (5.5839e-6, "5.584e-6"),
            (0.3125, "0.3125"),
            (216_000.0, "216000"),
            (-7.158_9, "-7.159"),
            (10.0, "10"),
            (85_560.4, "85560"),
            (2e-5, "2e-5"),
            (1e12, "1e12"),
        ] {
            assert_eq!(figure(number, 4), text);
        }
    }
}
