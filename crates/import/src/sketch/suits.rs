//! The fastener a hole would suit, by the holes of `standards/hole_sizes.csv`.
//!
//! A drawing gives a diameter, not a purpose: this names the nearest rivet or
//! bolt whose hole it could be, or none. Holes are drawn at their drill's
//! size, rounded, or at the metric size nearest to it.

use faying_standards::{Cited, HoleRole, Length, figures};
use serde::Serialize;

/// How far below its drill a hole may be drawn, in: what rounding to a
/// thousandth and to a metric drill takes off. Our own value.
const UNDER_IN: f64 = 0.001;

/// A fastener and the hole that is drilled for it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Suits {
    /// Nominal diameter of the rivet, such as `1/8`, or the bolt, such as `AN4`.
    pub fastener: String,
    /// The drill by its mark: `#30`; empty for a bolt hole given as a band.
    pub drill: String,
    /// The hole as drilled, in; for a band the nearest point of it.
    pub hole_in: f64,
    /// Where that hole comes from.
    pub cited: Cited,
}

/// The fastener whose hole lies nearest to a diameter, or none.
///
/// A rivet's hole goes before a bolt's; where sources name two drills for one
/// rivet (#40 and #41 for 3/32), the nearer is named.
///
/// # Units
/// - `diameter_in`: as drawn, in
///
/// ```
/// use faying_import::sketch::suits;
/// assert_eq!(suits(0.1285).map(|suits| suits.fastener).as_deref(), Some("1/8"));
/// assert_eq!(suits(2.0), None);
/// ```
#[must_use]
pub fn suits(diameter_in: f64) -> Option<Suits> {
    let over = figures().constant("hole-over").value;
    let fits = |least: f64, most: f64| {
        (diameter_in >= least - UNDER_IN - 1e-9 && diameter_in <= most + over + 1e-9)
            .then(|| (diameter_in - diameter_in.clamp(least, most)).abs())
    };
    let mut best: Option<(bool, f64, Suits)> = None;
    for hole in figures().holes() {
        let (bolt, fastener, drill, least, most) = match (hole.role, hole.diameter) {
            (HoleRole::Usual | HoleRole::Listed | HoleRole::Older, Some(diameter)) => {
                let Some(nominal) = hole.nominal.map(Length::inches) else { continue };
                // "1/8 then #22" names a way to make a hole, not another hole.
                if hole.drill.contains(' ') {
                    continue;
                }
                (false, diameter.to_string(), hole.drill.clone(), nominal, nominal)
            }
            (HoleRole::Bolt, _) => {
                let (Some(min), Some(max)) = (hole.min, hole.max) else { continue };
                // "AN3 or AN23 for AD4 AD5 AD6": the first name is the bolt.
                let name = hole.drill.split(' ').next().unwrap_or_default().to_owned();
                (true, name, String::new(), min.inches(), max.inches())
            }
            _ => continue,
        };
        let Some(off) = fits(least, most) else { continue };
        // The first of equals stays: rows stand with today's practice first.
        if best.as_ref().is_none_or(|(was_bolt, was_off, _)| (bolt, off) < (*was_bolt, *was_off)) {
            let hole_in = diameter_in.clamp(least, most);
            best = Some((bolt, off, Suits { fastener, drill, hole_in, cited: hole.cited.clone() }));
        }
    }
    best.map(|(_, _, suits)| suits)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn holes_of_the_trade_and_others() {
        let named =
            |diameter: f64| suits(diameter).map(|suits| format!("{} {}", suits.fastener, suits.drill));
        for (diameter, want) in [
            (0.098, Some("3/32 #40")),
            (0.096, Some("3/32 #41")),
            (0.1285, Some("1/8 #30")),
            (0.129, Some("1/8 #30")),
            (0.159, Some("5/32 #21")),
            (0.157, Some("5/32 #22")),
            (0.191, Some("3/16 #11")),
            (0.257, Some("1/4 F")),
            // 2.5 mm and 3.3 mm, the metric drills nearest to #40 and #30.
            (2.5 / 25.4, Some("3/32 #40")),
            (3.3 / 25.4, Some("1/8 #30")),
            (0.251, Some("AN4DD ")),
            (0.112, None),
            (0.145, None),
            (2.0, None),
            (0.0, None),
            (f64::NAN, None),
        ] {
            assert_eq!(named(diameter).as_deref(), want, "{diameter}");
        }
    }
}
