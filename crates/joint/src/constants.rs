//! The figures that one computation of a joint rests on.
//!
//! They come from `standards/constants.csv`; a builder's own value is laid
//! over by setting the field, and carries its own citation, so that a working
//! can say "your own". Nothing here is a figure: the code names them only.

use faying_standards::{Cited, Diameter, Length, figures};

/// A figure with where it comes from.
#[derive(Clone, Debug, PartialEq)]
pub struct Value<T> {
    /// The figure.
    pub value: T,
    /// Where it comes from.
    pub cited: Cited,
}

impl<T> Value<T> {
    /// A figure with where it comes from.
    #[must_use]
    pub const fn new(value: T, cited: Cited) -> Self {
        Self { value, cited }
    }
}

/// What seats, head, odds, call-out and verdict rest on.
///
/// Ratios are plain numbers, `_d` fields count shank diameters.
#[derive(Clone, Debug, PartialEq)]
pub struct Constants {
    /// Hole in a dimpled sheet, by rivet diameter; a size without one has none known.
    pub dimpled_holes: Vec<(Diameter, Value<Length>)>,
    /// Height of the lip of a dimple over the seat of the head, as the builder measured it.
    pub lips: Vec<(Diameter, Value<Length>)>,
    /// Greatest axial thickness of a dimpled sheet over its thickness.
    pub dimple_thickness_most: Value<f64>,
    /// Primer film on one face of a sheet.
    pub film: Value<Length>,
    /// Share of the hole's clearance that the shank fills.
    pub fill: Value<f64>,
    /// Widest over mean diameter of a shop head.
    pub spread: Value<f64>,
    /// Share of the metal of the tail that does not arrive in the head.
    pub missing_metal: Value<f64>,
    /// Rivet length, plus or minus.
    pub rivet_length: Value<Length>,
    /// How far a hole may be over its drill.
    pub hole_over: Value<Length>,
    /// How far a hole may be under its drill.
    pub hole_under: Value<Length>,
    /// Standard uncertainty of a caliper reading.
    pub caliper_u: Value<Length>,
    /// Standard uncertainty of the height that a set-up leaves.
    pub set_height_u: Value<Length>,
    /// Probability at which a measured value counts as inside.
    pub guard_level: Value<f64>,
    /// P(wide) from which a length stands.
    pub wide_stands: Value<f64>,
    /// P(wide) from which a length is proven on a coupon first.
    pub wide_coupon: Value<f64>,
    /// P(height) under which a set-up is narrow.
    pub height_narrow: Value<f64>,
    /// Tail over which a rivet may fold.
    pub fold_caution_d: Value<f64>,
    /// Tail from which a length is no candidate.
    pub fold_refusal_d: Value<f64>,
    /// Preferred tail, least.
    pub tail_least_d: Value<f64>,
    /// Preferred tail, most.
    pub tail_most_d: Value<f64>,
    /// Land that must be left under a countersink.
    pub countersink_land: Value<Length>,
}

impl Constants {
    /// The standards' own, nothing of the builder's in them.
    #[must_use]
    pub fn standard() -> Self {
        let ratio = |name: &str| {
            let constant = figures().constant(name);
            Value::new(constant.value, constant.cited.clone())
        };
        let length = |name: &str| {
            let Value { value, cited } = ratio(name);
            Value::new(Length::from_inches(value), cited)
        };
        let dimpled = |dash, name| {
            let diameter = Diameter::from_dash(dash).expect("both are rivet diameters");
            (diameter, length(name))
        };
        Self {
            dimpled_holes: vec![dimpled(3, "dimpled-hole-3/32"), dimpled(4, "dimpled-hole-1/8")],
            lips: Vec::new(),
            dimple_thickness_most: ratio("dimple-thickness-most"),
            film: Value::new(Length::ZERO, Cited::theory("seats")),
            fill: Value::new(1.0, Cited::theory("tail and shop head")),
            spread: Value::new(1.0, Cited::theory("tail and shop head")),
            missing_metal: ratio("missing-metal"),
            rivet_length: length("rivet-length-tolerance"),
            hole_over: length("hole-over"),
            hole_under: length("hole-under"),
            caliper_u: length("caliper-u"),
            set_height_u: length("set-height-u"),
            guard_level: ratio("guard-level"),
            wide_stands: ratio("wide-stands"),
            wide_coupon: ratio("wide-coupon"),
            height_narrow: ratio("height-narrow"),
            fold_caution_d: ratio("fold-caution"),
            fold_refusal_d: ratio("fold-refusal"),
            tail_least_d: ratio("tail-least"),
            tail_most_d: ratio("tail-most"),
            countersink_land: length("countersink-land"),
        }
    }

    /// The hole in a dimpled sheet, where one is known for the diameter.
    #[must_use]
    pub fn dimpled_hole(&self, diameter: Diameter) -> Option<&Value<Length>> {
        at(&self.dimpled_holes, diameter)
    }

    /// The builder's own lip, where one was measured for the diameter.
    #[must_use]
    pub fn lip(&self, diameter: Diameter) -> Option<&Value<Length>> {
        at(&self.lips, diameter)
    }
}

fn at(values: &[(Diameter, Value<Length>)], diameter: Diameter) -> Option<&Value<Length>> {
    values.iter().find(|(own, _)| *own == diameter).map(|(_, value)| value)
}

impl Default for Constants {
    fn default() -> Self {
        Self::standard()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use faying_standards::{Known, inches};

    /// The defaults of the method chapter, each by its name.
    #[test]
    fn the_defaults_are_those_of_the_method() {
        let standard = Constants::standard();
        let hole = |dash| standard.dimpled_hole(Diameter::from_dash(dash).unwrap()).map(|own| own.value);
        assert_eq!(hole(3), Some(inches(0.105)));
        assert_eq!(hole(4), Some(inches(0.134)));
        assert_eq!(hole(5), None);
        assert_eq!(standard.missing_metal.value, 0.15);
        assert_eq!(standard.rivet_length.value, inches(0.010));
        assert_eq!((standard.hole_under.value, standard.hole_over.value), (Length::ZERO, inches(0.003)));
        assert_eq!(standard.caliper_u.value, inches(0.001));
        assert_eq!(standard.set_height_u.value, inches(0.0026));
        assert_eq!((standard.tail_least_d.value, standard.tail_most_d.value), (1.33, 1.5));
        assert_eq!((standard.fold_caution_d.value, standard.fold_refusal_d.value), (1.6, 1.75));
        assert_eq!((standard.wide_stands.value, standard.wide_coupon.value), (0.95, 0.5));
        assert_eq!(standard.rivet_length.cited.known, Known::Memory);
    }
}
