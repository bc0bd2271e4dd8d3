//! Gauges: what a plate with a hole and a slot would have said of a shop head.
//!
//! A head that drops into the hole is turned down as too small, one that the
//! slot passes over as too low. Many are cut wider and higher than a
//! specification asks, and turn down heads that are inside it; what a gauge
//! says is therefore shown, and judges nothing. Its hole and slot are the
//! builder's own, from `limits.toml`.
//!
//! Over a dimple a tab gauge misreads the height (`acceptance.csv`): its feet
//! stand on the flat and the head on the lip. There the slot says nothing here.

use faying_plan::HeadGauge;
use faying_standards::{Cited, Known, Length, RivetType};

use crate::constants::Constants;
use crate::judge::Measured;
use crate::odds::guard_band;
use crate::ruling::{Ruling, Said};
use crate::seats::ShopSeat;

/// What a gauge would have said of a measured head; it never rules and never judges.
///
/// # Units
/// - `measured`: the larger of two widths meets the hole, because a round hole
///   stops at the widest; the height meets the slot
///
/// # Source
/// The gauge: `limits.toml`. Over a dimple: builders' accounts, `acceptance.csv`.
///
/// ```
/// # use faying_joint::{Constants, gauge, judge::Measured, ruling::Said};
/// # use faying_plan::{GaugeSize, HeadGauge};
/// # use faying_standards::{Diameter, inches};
/// let size = GaugeSize { hole: Some(inches(0.183)), slot: Some(inches(0.060)) };
/// let gauge = HeadGauge { name: "plate".into(), sizes: vec![(Diameter::from_dash(4).unwrap(), size)] };
/// let head = Measured {
///     diameter: Some(inches(0.190)), height: Some(inches(0.062)), ..Measured::default()
/// };
/// let says = gauge::ruling(&gauge, "MS20470AD4".parse()?, &head, &Constants::standard());
/// assert_eq!((says.said, says.judges), (Said::Inside, false));
/// # Ok::<(), faying_standards::ReadFastenerError>(())
/// ```
#[must_use]
pub fn ruling(gauge: &HeadGauge, kind: RivetType, measured: &Measured, constants: &Constants) -> Ruling {
    let mut ruling = Ruling {
        rule: format!("gauge {}", gauge.name),
        rules: false,
        judges: false,
        said: Said::NotJudged,
        close: false,
        words: String::new(),
        lacks: String::new(),
        cited: Cited::new("limits.toml", format!("gauges.{}", gauge.name), Known::Own),
    };
    let Some(size) = gauge.at(kind.diameter) else {
        ruling.words = format!("It has no place for {} in.", kind.diameter);
        return ruling;
    };
    let widest = match (measured.diameter, measured.second_diameter) {
        (Some(one), Some(other)) => Some(one.max(other)),
        (one, other) => one.or(other),
    };
    let over_dimple = measured.seat() == Some(ShopSeat::Lip);
    let height = measured.height().filter(|_| !over_dimple);
    let guard = guard_band(constants.caliper_u.value.inches(), constants.guard_level.value);
    // A head that is as wide as the hole, or as high as the slot, is stopped.
    let mut tries: Vec<(Option<bool>, String)> = Vec::new();
    let mut meet = |cut: Option<Length>, reading: Option<Length>, words: fn(bool) -> [&'static str; 3]| {
        let Some(cut) = cut else { return };
        let Some(reading) = reading.filter(|&reading| reading > Length::ZERO) else {
            tries.push((None, String::new()));
            return;
        };
        ruling.close |= (reading - cut).inches().abs() < guard;
        let holds = reading >= cut;
        let [before, between, after] = words(holds);
        let says = format!("{before} {} {between} {} {after}", reading.decimal(), cut.decimal());
        tries.push((Some(holds), says));
    };
    meet(size.hole, widest, |holds| match holds {
        true => ["The head,", "in wide, does not drop into the hole of", "in."],
        false => ["The head,", "in wide, drops into the hole of", "in: turned down as too small."],
    });
    meet(size.slot, height, |holds| match holds {
        true => ["At", "in high it stops the slot of", "in."],
        false => ["At", "in high the slot of", "in passes over it: turned down as too low."],
    });
    let mut says: Vec<String> =
        tries.iter().map(|(_, says)| says.clone()).filter(|it| !it.is_empty()).collect();
    ruling.said = if tries.iter().any(|(holds, _)| *holds == Some(false)) {
        Said::Outside
    } else if tries.iter().all(|(holds, _)| *holds == Some(true)) {
        Said::Inside
    } else {
        Said::NotJudged
    };
    if over_dimple && size.slot.is_some() {
        says.push(
            "Over a dimple a tab gauge misreads the height, so the slot says nothing: measure from the lip."
                .to_owned(),
        );
    } else if ruling.said == Said::NotJudged {
        says.push("It needs a width and a height.".to_owned());
    }
    ruling.words = says.join(" ");
    ruling
}

#[cfg(test)]
mod tests {
    use super::*;
    use faying_plan::GaugeSize;
    use faying_standards::{Diameter, inches};

    fn plate() -> HeadGauge {
        let eighth = GaugeSize { hole: Some(inches(0.183)), slot: Some(inches(0.060)) };
        let small = GaugeSize { hole: Some(inches(0.140)), slot: None };
        let sizes = vec![(Diameter::from_dash(4).unwrap(), eighth), (Diameter::from_dash(3).unwrap(), small)];
        HeadGauge { name: "plate".to_owned(), sizes }
    }

    fn of(kind: &str, measured: &Measured) -> Ruling {
        ruling(&plate(), kind.parse().unwrap(), measured, &Constants::standard())
    }

    fn head(diameter: f64, height: f64) -> Measured {
        Measured { diameter: Some(inches(diameter)), height: Some(inches(height)), ..Measured::default() }
    }

    #[test]
    fn hole_and_slot_each_turn_down() {
        let both = of("MS20470AD4", &head(0.175, 0.058));
        assert_eq!((both.said, both.judges, both.rules), (Said::Outside, false, false));
        insta::assert_snapshot!(
            both.words,
            @"The head, .175 in wide, drops into the hole of .183 in: turned down as too small. At .058 in high the slot of .060 in passes over it: turned down as too low."
        );
        let low = of("MS20470AD4", &head(0.190, 0.058));
        assert_eq!(low.said, Said::Outside);
        assert!(low.words.starts_with("The head, .190 in wide, does not drop"), "{}", low.words);
        assert_eq!(of("MS20470AD4", &head(0.183, 0.060)).said, Said::Inside, "at the size it is stopped");
    }

    /// A round hole stops at the widest, where the limits ask the narrowest.
    #[test]
    fn an_oval_head_stays_on_the_hole() {
        let oval = Measured { second_diameter: Some(inches(0.165)), ..head(0.186, 0.062) };
        assert_eq!(of("MS20470AD4", &oval).said, Said::Inside);
    }

    #[test]
    fn close_is_the_calipers_guard_band() {
        assert!(of("MS20470AD4", &head(0.1845, 0.070)).close);
        assert!(!of("MS20470AD4", &head(0.190, 0.070)).close);
    }

    #[test]
    fn over_a_dimple_the_slot_says_nothing() {
        let lip = |width, height| Measured { seat: Some(ShopSeat::Lip), ..head(width, height) };
        let low = of("MS20426AD4", &lip(0.190, 0.040));
        assert_eq!((low.said, low.close), (Said::NotJudged, false));
        assert!(low.words.ends_with("measure from the lip."), "{}", low.words);
        assert_eq!(of("MS20426AD4", &lip(0.175, 0.062)).said, Said::Outside, "the hole speaks still");
        // A plate without a slot reads no height that a dimple could falsify.
        assert_eq!(of("MS20426AD3", &lip(0.145, 0.040)).said, Said::Inside);
    }

    #[test]
    fn what_it_has_no_place_for_or_was_not_read_is_not_judged() {
        assert_eq!(of("MS20470AD5", &head(0.2, 0.06)).said, Said::NotJudged);
        let width = Measured { diameter: Some(inches(0.190)), ..Measured::default() };
        assert_eq!(of("MS20470AD4", &width).said, Said::NotJudged);
        let small = Measured { diameter: Some(inches(0.170)), ..Measured::default() };
        assert_eq!(of("MS20470AD4", &small).said, Said::Outside);
    }
}
