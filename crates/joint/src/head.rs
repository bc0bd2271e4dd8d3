//! The shop head: how much metal, how wide at a height, which heights work.
//!
//! Constant volume: what stands out of the hole, less what fills the hole,
//! becomes a short cylinder. Theory chapter, "Tail and shop head". Heights are
//! from the face the shop head sits on; on a dimple that is the lip.
//!
//! The model says nothing of force, of cracks or of a head that leans.

use std::f64::consts::FRAC_PI_4;

use faying_standards::{Length, ShopHeadLimits};

/// The metal of one shop head.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Metal {
    /// Volume, in³; never below nothing.
    volume: f64,
    /// Widest over mean diameter.
    spread: f64,
}

/// What a tail stands out of.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bore {
    /// Shank diameter.
    pub shank: Length,
    /// Hole diameter.
    pub hole: Length,
    /// The cylindrical part of the grip.
    pub cylinder: Length,
    /// Share of the clearance that is filled, 1 for all of it.
    pub fill: f64,
}

impl Metal {
    /// The metal that a tail brings, V = π/4·d²·p − φ·π/4·(Dh² − d²)·g.
    ///
    /// # Units
    /// - `tail`: what stands out of the grip before driving
    /// - `spread`: widest over mean head diameter, 1 for a cylinder
    /// - returns: in³, nothing where the hole swallows it all
    ///
    /// # Source
    /// Theory chapter, "Tail and shop head".
    #[must_use]
    pub fn of_tail(bore: &Bore, tail: Length, spread: f64) -> Self {
        let shank = bore.shank.inches().powi(2);
        let clearance = bore.hole.inches().powi(2) - shank;
        let swallowed = bore.fill * clearance * bore.cylinder.inches();
        Self { volume: (FRAC_PI_4 * (shank * tail.inches() - swallowed)).max(0.0), spread }
    }

    /// The metal in a head of this width and height.
    #[must_use]
    pub fn of_head(width: Length, height: Length, spread: f64) -> Self {
        let mean = width.inches() / spread;
        Self { volume: FRAC_PI_4 * mean.powi(2) * height.inches(), spread }
    }

    /// The metal with a share of it missing.
    #[must_use]
    pub fn less(self, share: f64) -> Self {
        Self { volume: self.volume * (1.0 - share), ..self }
    }

    /// Volume, in³.
    #[must_use]
    pub const fn volume(self) -> f64 {
        self.volume
    }

    /// How wide the head is when it is pressed to a height: D(h) = β·√(4V/(π h)).
    #[must_use]
    pub fn width_at(self, height: Length) -> Length {
        Length::from_inches(self.spread * (self.volume / (FRAC_PI_4 * height.inches())).sqrt())
    }

    /// How high the head is when it has reached a width: h(D) = 4V·β²/(π D²).
    #[must_use]
    pub fn height_at(self, width: Length) -> Length {
        Length::from_inches(self.volume * (self.spread / width.inches()).powi(2) / FRAC_PI_4)
    }
}

/// Why no height works.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NoHeight {
    /// The least width is reached only below the least height: too little metal.
    TooShort,
    /// The greatest width is passed before the greatest height is reached: too much metal.
    TooLong,
}

/// Heights at which a head meets every limit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Heights {
    /// The lowest.
    pub least: Length,
    /// The highest, set by the greatest height or by the least width.
    pub most: Length,
}

impl Heights {
    /// The middle, to aim at.
    #[must_use]
    pub fn middle(self) -> Length {
        Length::from_nanometres(i64::midpoint(self.least.nanometres(), self.most.nanometres()))
    }
}

/// The heights that work: [max(hmin, h(Dmax)), min(hmax, h(Dmin))].
///
/// Whether a head can be wide enough is asked of `little`, whether it must be
/// too wide of `much`, because nobody knows how much of the metal arrives.
///
/// # Errors
/// [`NoHeight`] says on which side it fails.
///
/// # Source
/// Theory chapter, "Tail and shop head".
pub fn heights_that_work(limits: &ShopHeadLimits, little: Metal, much: Metal) -> Result<Heights, NoHeight> {
    let wide_enough_below = little.height_at(limits.min_width);
    if wide_enough_below < limits.min_height {
        return Err(NoHeight::TooShort);
    }
    let not_too_wide_above = limits.max_width.map(|width| much.height_at(width));
    if let (Some(above), Some(most)) = (not_too_wide_above, limits.max_height)
        && above > most
    {
        return Err(NoHeight::TooLong);
    }
    let least = not_too_wide_above.map_or(limits.min_height, |above| above.max(limits.min_height));
    let most = limits.max_height.map_or(wide_enough_below, |most| most.min(wide_enough_below));
    // Between the two metals a length can be too short for one and too long for the other.
    if least > most { Err(NoHeight::TooLong) } else { Ok(Heights { least, most }) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use faying_standards::{Cited, inches};
    use proptest::prelude::*;

    fn limits(widths: (f64, Option<f64>), heights: (f64, Option<f64>)) -> ShopHeadLimits {
        ShopHeadLimits {
            min_width: inches(widths.0),
            max_width: widths.1.map(inches),
            min_height: inches(heights.0),
            max_height: heights.1.map(inches),
            cited: Cited::theory("test"),
            note: String::new(),
        }
    }

    fn no_clearance(shank: f64) -> Bore {
        Bore { shank: inches(shank), hole: inches(shank), cylinder: inches(0.1), fill: 1.0 }
    }

    /// The greatest width is asked of all the metal, the least of what is left of it.
    #[test]
    fn heights_lie_between_the_two_widths() {
        let much = Metal::of_head(inches(0.200), inches(0.060), 1.0);
        let all = limits((0.163, Some(0.210)), (0.050, Some(0.070)));
        let found = heights_that_work(&all, much, much).unwrap();
        // .2² · .06 / .21² = .05442: above the least height of .050.
        assert!((found.least.inches() - 0.0024 / 0.0441).abs() < 1e-7);
        assert_eq!(found.most, inches(0.070));

        let little = Metal::of_head(inches(0.150), inches(0.050), 1.0);
        assert_eq!(heights_that_work(&all, little, little), Err(NoHeight::TooShort));
        let heavy = Metal::of_head(inches(0.230), inches(0.070), 1.0);
        assert_eq!(heights_that_work(&all, heavy, heavy), Err(NoHeight::TooLong));
        assert_eq!(heights_that_work(&all, little.less(-0.2), heavy), Err(NoHeight::TooLong));
    }

    #[test]
    fn a_tail_that_the_hole_swallows_leaves_no_head() {
        let bore = Bore { shank: inches(0.125), hole: inches(0.190), cylinder: inches(0.2), fill: 1.0 };
        assert_eq!(Metal::of_tail(&bore, inches(0.1), 1.0).volume(), 0.0);
        assert_eq!(Metal::of_tail(&bore, inches(-0.1), 1.0).volume(), 0.0);
    }

    proptest! {
        /// Width and height undo each other, for any metal and any spread.
        #[test]
        fn width_and_height_are_inverse(tail in 0.05..0.4, height in 0.02..0.1, spread in 1.0..1.2) {
            let metal = Metal::of_tail(&no_clearance(0.125), inches(tail), spread);
            let back = metal.height_at(metal.width_at(inches(height)));
            prop_assert!((back.inches() - height).abs() < 1e-6);
        }

        /// Pressing on does not change the metal: D' = D·√(h/h').
        #[test]
        fn squeezing_on_keeps_the_volume(width in 0.1..0.3, height in 0.04..0.1, on in 0.3..1.0) {
            let metal = Metal::of_head(inches(width), inches(height), 1.0);
            let lower = inches(height * on);
            let wider = metal.width_at(lower);
            prop_assert!((wider.inches() - width / f64::sqrt(on)).abs() < 1e-6);
        }

        /// More tail never makes a narrower head.
        #[test]
        fn more_tail_is_more_head(tail in 0.0..0.3, more in 0.0..0.1, height in 0.02..0.1) {
            let bore = Bore { shank: inches(0.125), hole: inches(0.1285), cylinder: inches(0.143), fill: 1.0 };
            let width = |tail: f64| Metal::of_tail(&bore, inches(tail), 1.0).width_at(inches(height));
            prop_assert!(width(tail + more) >= width(tail));
        }
    }
}
