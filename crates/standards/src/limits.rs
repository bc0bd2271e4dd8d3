//! Limits of a shop head: least and greatest width and height.
//!
//! Several sets are in circulation and do not agree; none is mixed with
//! another. A set whose document was not seen for a size has no row for it,
//! and says what it lacks. Some sets are advice: they are shown beside a
//! verdict and never judge.

use crate::quantity::Length;
use crate::rivet::{Diameter, RivetAlloy, RivetType};
use crate::source::Cited;
use crate::table::{DataError, Table};

/// What a set asks of the shop head of one rivet.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ShopHeadLimits {
    /// Least width (diameter) of the head.
    pub min_width: Length,
    /// Greatest width, where the set has one.
    pub max_width: Option<Length>,
    /// Least height.
    pub min_height: Length,
    /// Greatest height, where the set has one.
    pub max_height: Option<Length>,
    /// Where it comes from.
    pub cited: Cited,
    /// What to know about it.
    pub note: String,
}

/// Which alloys a row holds for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Alloys {
    Any,
    Not7050,
    Only7050,
}

impl Alloys {
    fn hold(self, alloy: RivetAlloy) -> bool {
        match self {
            Self::Any => true,
            Self::Not7050 => alloy != RivetAlloy::E,
            Self::Only7050 => alloy == RivetAlloy::E,
        }
    }
}

/// A bound as a set writes it: a length, or so many shank diameters.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Bound {
    Length(Length),
    Diameters(f64),
}

impl Bound {
    fn at(self, diameter: Diameter) -> Length {
        match self {
            Self::Length(length) => length,
            Self::Diameters(times) => Length::from_inches(diameter.length().inches() * times),
        }
    }
}

#[derive(Clone, Debug, PartialEq)]
struct LimitRow {
    diameter: Option<Diameter>,
    alloys: Alloys,
    min_width: Bound,
    max_width: Option<Bound>,
    min_height: Bound,
    max_height: Option<Bound>,
    cited: Cited,
    note: String,
}

/// A named set of limits.
#[derive(Clone, Debug, PartialEq)]
pub struct LimitSet {
    /// Short name, as a builder writes it: `MIL-R-47196A`.
    pub key: String,
    /// What it is.
    pub title: String,
    /// Whether it judges a head; else it is advice, shown and no more.
    pub judges: bool,
    /// What it lacks, in words; empty where everything its document asks is here.
    pub lacks: String,
    /// Where it comes from.
    pub cited: Cited,
    /// What to know about it.
    pub note: String,
    rows: Vec<LimitRow>,
}

impl LimitSet {
    /// Whether everything its document asks is here.
    #[must_use]
    pub fn is_complete(&self) -> bool {
        self.lacks.is_empty()
    }

    /// What the set asks of a rivet, or `None` where it says nothing of this size or alloy.
    #[must_use]
    pub fn at(&self, kind: RivetType) -> Option<ShopHeadLimits> {
        self.rows
            .iter()
            .find(|row| row.diameter.is_none_or(|d| d == kind.diameter) && row.alloys.hold(kind.alloy))
            .map(|row| ShopHeadLimits {
                min_width: row.min_width.at(kind.diameter),
                max_width: row.max_width.map(|bound| bound.at(kind.diameter)),
                min_height: row.min_height.at(kind.diameter),
                max_height: row.max_height.map(|bound| bound.at(kind.diameter)),
                cited: row.cited.clone(),
                note: row.note.clone(),
            })
    }

    pub(crate) fn parse(sets: &Table, limits: &Table) -> Result<Vec<Self>, DataError> {
        let mut parsed: Vec<Self> = sets
            .read(|row| {
                Ok(Self {
                    key: row.text("set")?.to_owned(),
                    title: row.text("title")?.to_owned(),
                    judges: match row.text("use")? {
                        "judges" => true,
                        "advice" => false,
                        other => return Err(row.error(format!("\"{other}\" is not a use of a set"))),
                    },
                    lacks: row.cell("lacks")?.to_owned(),
                    cited: row.cited()?,
                    note: row.note()?,
                    rows: Vec::new(),
                })
            })
            .collect::<Result<_, _>>()?;
        for row in limits
            .read(|row| {
                let bound = |name: &str| -> Result<Option<Bound>, DataError> {
                    let length = row.length(&format!("{name}_in"))?.map(Bound::Length);
                    let times = row.number(&format!("{name}_d"))?.map(Bound::Diameters);
                    if length.is_some() && times.is_some() {
                        return Err(row.error(format!("{name} is given twice")));
                    }
                    Ok(length.or(times))
                };
                let need = |name: &str| bound(name)?.ok_or_else(|| row.error(format!("{name} is blank")));
                let set = row.text("set")?;
                let at = parsed.iter().position(|known| known.key == set);
                let at = at.ok_or_else(|| row.error(format!("there is no set \"{set}\"")))?;
                let limits = LimitRow {
                    diameter: crate::figures::diameter(&row, "rivet")?,
                    alloys: match row.text("alloy")? {
                        "any" => Alloys::Any,
                        "not 7050" => Alloys::Not7050,
                        "7050" => Alloys::Only7050,
                        other => return Err(row.error(format!("\"{other}\" is not a choice of alloys"))),
                    },
                    min_width: need("min_width")?,
                    max_width: bound("max_width")?,
                    min_height: need("min_height")?,
                    max_height: bound("max_height")?,
                    cited: row.cited()?,
                    note: row.note()?,
                };
                Ok((at, limits))
            })
            .collect::<Result<Vec<_>, _>>()?
        {
            let (at, limits) = row;
            parsed[at].rows.push(limits);
        }
        Ok(parsed)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::figures::figures;
    use crate::quantity::inches;
    use crate::source::Known;

    fn kind(text: &str) -> RivetType {
        text.parse().unwrap()
    }

    fn at(set: &str, rivet: &str) -> Option<ShopHeadLimits> {
        figures().limit_set(set).unwrap().at(kind(rivet))
    }

    /// As quoted: width 3/32 .122, 1/8 .163; height .038 to .050, .050 to .070.
    #[test]
    fn the_specification_speaks_of_three_sizes_only() {
        let small = at("MIL-R-47196A", "MS20470AD3").unwrap();
        assert_eq!((small.min_width, small.min_height), (inches(0.122), inches(0.038)));
        assert_eq!((small.max_width, small.max_height), (None, Some(inches(0.050))));
        let eighth = at("MIL-R-47196A", "MS20426AD4").unwrap();
        assert_eq!((eighth.min_width, eighth.min_height), (inches(0.163), inches(0.050)));
        assert_eq!((eighth.max_width, eighth.max_height), (None, Some(inches(0.070))));
        let smallest = at("MIL-R-47196A", "MS20470AD2").unwrap();
        assert_eq!((smallest.min_width, smallest.min_height), (inches(0.081), inches(0.025)));
        assert_eq!((smallest.max_width, smallest.max_height), (None, None));
        for limits in [small, eighth, smallest] {
            assert_eq!(limits.cited.known, Known::SecondHand);
        }
    }

    /// Figures for larger sizes circulate; they are 1.3 d and 0.4 d continued, and were never read.
    #[test]
    fn extrapolated_sizes_are_no_limits() {
        let set = figures().limit_set("MIL-R-47196A").unwrap();
        for diameter in Diameter::ALL.into_iter().filter(|d| d.dash() >= 5) {
            for alloy in RivetAlloy::ALL {
                for head in crate::rivet::HeadStyle::ALL {
                    assert_eq!(set.at(RivetType { head, alloy, diameter }), None, "{diameter}");
                }
            }
        }
        assert!(!set.is_complete());
        for set in figures().limit_sets() {
            for row in &set.rows {
                assert!(
                    matches!(row.cited.known, Known::Seen | Known::SecondHand),
                    "{}: a limit that nobody read",
                    set.key
                );
            }
        }
    }

    #[test]
    fn the_handbook_asks_more_of_7050() {
        let usual = at("MIL-HDBK-5H", "MS20470AD4").unwrap();
        assert_eq!((usual.min_width, usual.min_height), (inches(0.1625), inches(0.0375)));
        assert_eq!((usual.max_width, usual.max_height), (None, None));
        assert_eq!(at("MIL-HDBK-5H", "MS20470E4").unwrap().min_width, inches(0.175));
    }

    #[test]
    fn the_first_set_that_speaks_of_a_rivet_judges_it() {
        let usual = |rivet| figures().usual_limits(kind(rivet)).unwrap().0.key.as_str();
        assert_eq!(usual("MS20426AD3"), "MIL-R-47196A");
        assert_eq!(usual("MS20470AD4"), "MIL-R-47196A");
        assert_eq!(usual("MS20470AD5"), "MIL-HDBK-5H");
        assert_eq!(usual("MS20470E4"), "MIL-HDBK-5H");
    }

    #[test]
    fn advice_never_judges() {
        for key in ["training", "1940s"] {
            assert!(!figures().limit_set(key).unwrap().judges, "{key}");
        }
        let training = at("training", "MS20470AD4").unwrap();
        assert_eq!(training.max_width, Some(inches(1.66 / 8.0)));
        // Printed for AN430 and AN442 as .188 by .063; the thumb rule gives .1875 by .0625.
        assert_eq!(at("1940s", "MS20470AD4").unwrap().min_width, inches(0.188));
        assert_eq!(at("thumb", "MS20470AD4").unwrap().min_width, inches(0.1875));
        assert_eq!(at("1940s", "MS20470AD3"), None);
    }

    #[test]
    fn a_greatest_is_never_under_its_least() {
        for set in figures().limit_sets() {
            for diameter in Diameter::ALL {
                for alloy in RivetAlloy::ALL {
                    let kind = RivetType { head: crate::rivet::HeadStyle::Universal, alloy, diameter };
                    if let Some(limits) = set.at(kind) {
                        assert!(limits.max_width.is_none_or(|most| most > limits.min_width), "{}", set.key);
                        assert!(limits.max_height.is_none_or(|most| most > limits.min_height), "{}", set.key);
                    }
                }
            }
        }
    }

    fn parse(limits: &str) -> Result<Vec<LimitSet>, DataError> {
        let sets = Table::parse(
            "sets",
            "",
            "set,title,use,lacks,source,place,known,note\nS,Set,judges,,x,,seen,\n",
        )?;
        let head = "set,rivet,alloy,min_width_in,min_width_d,max_width_in,max_width_d,min_height_in,min_height_d,max_height_in,max_height_d,source,place,known,note\n";
        LimitSet::parse(&sets, &Table::parse("limits", "", &format!("{head}{limits}\n"))?)
    }

    #[test]
    fn a_limit_is_given_once_and_in_a_known_set() {
        assert!(parse("S,1/8,any,.163,,,,.05,,,,x,,seen,").is_ok());
        insta::assert_snapshot!(
            parse("S,1/8,any,.163,1.3,,,.05,,,,x,,seen,").unwrap_err(),
            @"standards/limits.csv:2: min_width is given twice"
        );
        insta::assert_snapshot!(
            parse("S,1/8,any,.163,,,,,,,,x,,seen,").unwrap_err(),
            @"standards/limits.csv:2: min_height is blank"
        );
        insta::assert_snapshot!(
            parse("T,1/8,any,.163,,,,.05,,,,x,,seen,").unwrap_err(),
            @r#"standards/limits.csv:2: there is no set "T""#
        );
    }
}
