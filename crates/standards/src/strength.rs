//! Figures behind an estimate of strength.
//!
//! They are there to put numbers into a question to the designer, not to
//! design by. Most of the sheet values and half of the rivet values are
//! remembered, and say so; the factors for thin sheet and double shear are not
//! here at all, because no copy that can be trusted was found. The tables of
//! rivets per inch restore cut sheet.

use crate::figures::one_diameter;
use crate::quantity::{Force, Length};
use crate::rivet::{Diameter, RivetAlloy};
use crate::source::Cited;
use crate::table::{DataError, Row};

/// Strength of a sheet over a range of thickness.
#[derive(Clone, Debug, PartialEq)]
pub struct SheetStrength {
    /// The sheet as a plan names it: 2024-T3 clad.
    pub sheet: String,
    /// Whether it is computed with; else it disagrees with one that is, and is shown.
    pub computes: bool,
    /// From this thickness, itself included.
    pub from: Length,
    /// To this thickness, itself included.
    pub to: Length,
    /// Ultimate tension, ksi.
    pub ftu_ksi: Option<f64>,
    /// Ultimate shear, ksi.
    pub fsu_ksi: Option<f64>,
    /// Ultimate bearing at the lesser and the full edge distance, ksi.
    pub bearing_ultimate_ksi: Option<(f64, f64)>,
    /// Yield in bearing at the lesser and the full edge distance, ksi.
    pub bearing_yield_ksi: Option<(f64, f64)>,
    /// Where it comes from.
    pub cited: Cited,
    /// What to know about it.
    pub note: String,
}

/// The area that a shear stress is said of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ShearArea {
    /// The listed hole.
    ListedHole,
    /// The nominal shank.
    NominalShank,
    /// The document does not say.
    NotSaid,
}

impl ShearArea {
    /// In words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::ListedHole => "the listed hole",
            Self::NominalShank => "the nominal shank",
            Self::NotSaid => "an area that is not said",
        }
    }
}

/// Ultimate shear stress of a driven rivet under one convention.
#[derive(Clone, Debug, PartialEq)]
pub struct RivetShear {
    /// The alloy.
    pub alloy: RivetAlloy,
    /// Its designation and temper.
    pub designation: String,
    /// Whether it is computed with; else it is shown.
    pub computes: bool,
    /// The stress, ksi.
    pub stress_ksi: f64,
    /// The area it is said of.
    pub area: ShearArea,
    /// Where it comes from.
    pub cited: Cited,
    /// What to know about it.
    pub note: String,
}

/// Shear of one rivet, as printed.
#[derive(Clone, Debug, PartialEq)]
pub struct PrintedShear {
    /// The alloy.
    pub alloy: RivetAlloy,
    /// The rivet.
    pub diameter: Diameter,
    /// Single shear, ultimate.
    pub shear: Force,
    /// Where it comes from.
    pub cited: Cited,
    /// What to know about it; begins with "differs" where stress and listed hole give another.
    pub note: String,
}

/// Strength of a flush joint, from a table of tests.
#[derive(Clone, Debug, PartialEq)]
pub struct FlushJoint {
    /// The rivet's diameter.
    pub diameter: Diameter,
    /// The rivet's alloy.
    pub alloy: RivetAlloy,
    /// The sheet.
    pub sheet: String,
    /// `dimpled` or `countersunk`.
    pub preparation: String,
    /// Thickness of the sheet under the head.
    pub thickness: Length,
    /// Ultimate, for one rivet.
    pub ultimate: Force,
    /// Yield, for one rivet.
    pub yields: Force,
    /// Where it comes from.
    pub cited: Cited,
    /// What to know about it.
    pub note: String,
}

/// The rule behind a table of rivets per inch.
#[derive(Clone, Debug, PartialEq)]
pub struct SpliceRule {
    /// The table: 4-9.
    pub table: String,
    /// The sheet it is for.
    pub sheet: String,
    /// Tension of the sheet, ksi; `None` where it was not in the copy.
    pub tension_ksi: Option<f64>,
    /// Shear stress of the rivet over tension of the sheet.
    pub shear_ratio: f64,
    /// Bearing stress over tension of the sheet, as the cells have it.
    pub bearing_ratio: f64,
    /// The same, as the note of the table prints it.
    pub bearing_ratio_printed: f64,
    /// Where it comes from.
    pub cited: Cited,
    /// What to know about it.
    pub note: String,
}

/// What holds a splice in the tables of rivets per inch.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SpliceFastener {
    /// A 2117-T4 rivet with a protruding head.
    Rivet(Diameter),
    /// An AN-3 bolt.
    An3,
}

impl SpliceFastener {
    /// Reads `1/8` or `AN-3`.
    #[must_use]
    pub fn read(text: &str) -> Option<Self> {
        let text = text.trim();
        if text.eq_ignore_ascii_case("AN-3") || text.eq_ignore_ascii_case("AN3") {
            return Some(Self::An3);
        }
        let length = Length::read(text, crate::quantity::Unit::Inch).ok()?;
        Diameter::from_length(length).map(Self::Rivet)
    }
}

impl std::fmt::Display for SpliceFastener {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Rivet(diameter) => diameter.fmt(f),
            Self::An3 => f.write_str("AN-3"),
        }
    }
}

/// One printed cell of a table of rivets per inch.
#[derive(Clone, Debug, PartialEq)]
pub struct SpliceCell {
    /// The table.
    pub table: String,
    /// Thickness of the sheet.
    pub thickness: Length,
    /// The fastener.
    pub fastener: SpliceFastener,
    /// How many for each inch of width.
    pub per_inch: f64,
    /// Where it comes from.
    pub cited: Cited,
    /// Begins with "differs" where the notes of the table give another number.
    pub note: String,
}

/// A note of a table of rivets per inch.
#[derive(Clone, Debug, PartialEq)]
pub struct SpliceNote {
    /// The table.
    pub table: String,
    /// What it says, or where fewer may be used.
    pub text: String,
    /// The share of the number that may be used there; `None` for a plain statement.
    pub share: Option<f64>,
    /// Where it comes from.
    pub cited: Cited,
    /// What to know about it.
    pub note: String,
}

/// A worked example of a splice.
#[derive(Clone, Debug, PartialEq)]
pub struct SpliceExample {
    /// What is spliced.
    pub example: String,
    /// The table it reads, where it reads one.
    pub table: Option<String>,
    /// Thickness of the sheet.
    pub thickness: Option<Length>,
    /// The fastener it takes.
    pub fastener: SpliceFastener,
    /// Width of the cut.
    pub width: Option<Length>,
    /// What it reads from the table.
    pub per_inch: Option<f64>,
    /// The share it takes of it.
    pub share: Option<f64>,
    /// How many it asks for.
    pub required: Option<u32>,
    /// Its steps in words.
    pub steps: String,
    /// Where it comes from.
    pub cited: Cited,
    /// What to know about it.
    pub note: String,
}

/// What a document allows in place of a rivet.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Substitute {
    /// `bolt`, `next size` or `alloy`.
    pub kind: String,
    /// What it takes the place of.
    pub in_place_of: String,
    /// What is put there.
    pub instead: String,
    /// On what condition.
    pub condition: String,
    /// What the document is for.
    pub scope: String,
    /// Where it comes from.
    pub cited: Cited,
    /// What to know about it.
    pub note: String,
}

/// Constants of one formula for the flexibility of a fastener.
#[derive(Clone, Debug, PartialEq)]
pub struct FlexibilityFigures {
    /// The code of the formula: H, S, B, G, TR single, TR double.
    pub formula: String,
    /// The joint these constants are for.
    pub joint: String,
    /// First constant.
    pub a: Option<f64>,
    /// Second constant.
    pub b: Option<f64>,
    /// Where it comes from.
    pub cited: Cited,
    /// What to know about it: misprints, disagreements.
    pub note: String,
}

fn computes(row: &Row<'_>) -> Result<bool, DataError> {
    match row.text("use")? {
        "compute" => Ok(true),
        "shown" => Ok(false),
        other => Err(row.error(format!("\"{other}\" is not a use of a figure"))),
    }
}

fn alloy(row: &Row<'_>) -> Result<RivetAlloy, DataError> {
    let code = row.text("code")?;
    RivetAlloy::from_code(code).ok_or_else(|| row.error(format!("\"{code}\" is not a rivet alloy")))
}

/// A plain number, or a fraction such as 2/3.
fn ratio(row: &Row<'_>, column: &str) -> Result<Option<f64>, DataError> {
    row.maybe(column, |text| {
        let number = match text.split_once('/') {
            Some((top, bottom)) => {
                top.parse::<f64>().ok().zip(bottom.parse::<f64>().ok()).map(|(top, bottom)| top / bottom)
            }
            None => text.parse().ok(),
        };
        number
            .filter(|number: &f64| number.is_finite())
            .ok_or_else(|| row.error(format!("{column}: \"{text}\" is not a number")))
    })
}

fn filled(row: &Row<'_>, column: &str) -> Result<Option<String>, DataError> {
    row.maybe(column, |text| Ok(text.to_owned()))
}

fn splice_fastener(row: &Row<'_>) -> Result<SpliceFastener, DataError> {
    let text = row.text("fastener")?;
    SpliceFastener::read(text).ok_or_else(|| row.error(format!("\"{text}\" is not a fastener of a splice")))
}

pub(crate) fn sheet_strength(row: Row<'_>) -> Result<SheetStrength, DataError> {
    let pair = |least: &str, full: &str| -> Result<Option<(f64, f64)>, DataError> {
        Ok(row.number(least)?.zip(row.number(full)?))
    };
    Ok(SheetStrength {
        sheet: row.text("sheet")?.to_owned(),
        computes: computes(&row)?,
        from: row.need_length("from_in")?,
        to: row.need_length("to_in")?,
        ftu_ksi: row.number("ftu_ksi")?,
        fsu_ksi: row.number("fsu_ksi")?,
        bearing_ultimate_ksi: pair("fbru_1_5_ksi", "fbru_2_0_ksi")?,
        bearing_yield_ksi: pair("fbry_1_5_ksi", "fbry_2_0_ksi")?,
        cited: row.cited()?,
        note: row.note()?,
    })
}

pub(crate) fn rivet_shear(row: Row<'_>) -> Result<RivetShear, DataError> {
    Ok(RivetShear {
        alloy: alloy(&row)?,
        designation: row.text("alloy")?.to_owned(),
        computes: computes(&row)?,
        stress_ksi: row.need_number("stress_ksi")?,
        area: match row.text("area")? {
            "listed hole" => ShearArea::ListedHole,
            "nominal shank" => ShearArea::NominalShank,
            "not said" => ShearArea::NotSaid,
            other => return Err(row.error(format!("\"{other}\" is not an area"))),
        },
        cited: row.cited()?,
        note: row.note()?,
    })
}

pub(crate) fn printed_shear(row: Row<'_>) -> Result<PrintedShear, DataError> {
    Ok(PrintedShear {
        alloy: alloy(&row)?,
        diameter: one_diameter(&row, "rivet")?,
        shear: Force::from_lbf(row.need_number("shear_lbf")?),
        cited: row.cited()?,
        note: row.note()?,
    })
}

pub(crate) fn flush_joint(row: Row<'_>) -> Result<FlushJoint, DataError> {
    Ok(FlushJoint {
        diameter: one_diameter(&row, "rivet")?,
        alloy: alloy(&row)?,
        sheet: row.text("sheet")?.to_owned(),
        preparation: row.text("preparation")?.to_owned(),
        thickness: row.need_length("thickness_in")?,
        ultimate: Force::from_lbf(row.need_number("ultimate_lbf")?),
        yields: Force::from_lbf(row.need_number("yield_lbf")?),
        cited: row.cited()?,
        note: row.note()?,
    })
}

pub(crate) fn splice_rule(row: Row<'_>) -> Result<SpliceRule, DataError> {
    Ok(SpliceRule {
        table: row.text("table")?.to_owned(),
        sheet: row.text("sheet")?.to_owned(),
        tension_ksi: row.number("tension_ksi")?,
        shear_ratio: row.need_number("shear_ratio")?,
        bearing_ratio: row.need_number("bearing_ratio")?,
        bearing_ratio_printed: row.need_number("bearing_ratio_printed")?,
        cited: row.cited()?,
        note: row.note()?,
    })
}

pub(crate) fn splice_cell(row: Row<'_>) -> Result<SpliceCell, DataError> {
    Ok(SpliceCell {
        table: row.text("table")?.to_owned(),
        thickness: row.need_length("thickness_in")?,
        fastener: splice_fastener(&row)?,
        per_inch: row.need_number("per_inch")?,
        cited: row.cited()?,
        note: row.note()?,
    })
}

pub(crate) fn splice_note(row: Row<'_>) -> Result<SpliceNote, DataError> {
    let share = row.number("share")?;
    match (row.text("kind")?, share) {
        ("statement", None) | ("reduction", Some(_)) => {}
        (kind, _) => return Err(row.error(format!("\"{kind}\" does not fit its share"))),
    }
    Ok(SpliceNote {
        table: row.text("table")?.to_owned(),
        text: row.text("text")?.to_owned(),
        share,
        cited: row.cited()?,
        note: row.note()?,
    })
}

pub(crate) fn splice_example(row: Row<'_>) -> Result<SpliceExample, DataError> {
    Ok(SpliceExample {
        example: row.text("example")?.to_owned(),
        table: filled(&row, "table")?,
        thickness: row.length("thickness_in")?,
        fastener: splice_fastener(&row)?,
        width: row.length("width_in")?,
        per_inch: row.number("per_inch")?,
        share: row.number("share")?,
        required: row.maybe("required", |text| {
            text.parse().map_err(|_| row.error(format!("required: \"{text}\" is not a count")))
        })?,
        steps: row.text("steps")?.to_owned(),
        cited: row.cited()?,
        note: row.note()?,
    })
}

pub(crate) fn substitute(row: Row<'_>) -> Result<Substitute, DataError> {
    Ok(Substitute {
        kind: row.text("kind")?.to_owned(),
        in_place_of: row.text("in_place_of")?.to_owned(),
        instead: row.text("instead")?.to_owned(),
        condition: row.cell("condition")?.to_owned(),
        scope: row.text("scope")?.to_owned(),
        cited: row.cited()?,
        note: row.note()?,
    })
}

pub(crate) fn flexibility(row: Row<'_>) -> Result<FlexibilityFigures, DataError> {
    Ok(FlexibilityFigures {
        formula: row.text("formula")?.to_owned(),
        joint: row.text("joint")?.to_owned(),
        a: ratio(&row, "a")?,
        b: ratio(&row, "b")?,
        cited: row.cited()?,
        note: row.note()?,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::figures;
    use crate::quantity::{Area, inches};

    #[test]
    fn a_fastener_of_a_splice_is_read_as_a_builder_writes_it() {
        let eighth = Diameter::from_dash(4).unwrap();
        for text in ["1/8", ".125", "0.125", " 1/8 in"] {
            assert_eq!(SpliceFastener::read(text), Some(SpliceFastener::Rivet(eighth)), "{text}");
        }
        for text in ["AN-3", "an-3", "AN3"] {
            assert_eq!(SpliceFastener::read(text), Some(SpliceFastener::An3), "{text}");
        }
        for text in ["", "AN-4", "1/9", "AN"] {
            assert_eq!(SpliceFastener::read(text), None, "{text}");
        }
        assert_eq!(SpliceFastener::An3.to_string(), "AN-3");
    }

    /// What disagrees is kept, and only one figure is computed with.
    #[test]
    fn one_figure_is_computed_with() {
        for alloy in RivetAlloy::ALL {
            let rows: Vec<_> = figures().rivet_shears(alloy).filter(|row| row.computes).collect();
            assert!(rows.len() <= 1, "{alloy}");
            assert_eq!(rows.first().copied(), figures().rivet_shear(alloy));
            assert!(rows.iter().all(|row| row.area == ShearArea::ListedHole));
        }
        for (name, count) in [("2024-T3", 1), ("2024-T3 clad", 1), ("6061-T6", 1), ("7075-T6", 0)] {
            for thousandth in [16, 32, 40, 63, 125] {
                let at = inches(f64::from(thousandth) / 1e3);
                let rows = figures().sheet_strengths(name).filter(|row| row.computes);
                assert_eq!(rows.filter(|row| row.from <= at && at <= row.to).count(), count, "{name}");
            }
        }
        // 59 is computed with, 60 stands beside it.
        let thin = figures().sheet_strength("2024-T3 clad", inches(0.032)).unwrap();
        assert_eq!((thin.ftu_ksi, thin.fsu_ksi), (Some(59.0), None));
        assert!(figures().sheet_strengths("2024-T3 clad").any(|row| row.ftu_ksi == Some(60.0)));
        assert_eq!(figures().sheet_strength("2024-T3", inches(0.250)), None);
        assert_eq!(figures().sheet_strength("2024-T3 clad", inches(0.0625)).unwrap().ftu_ksi, Some(62.0));
    }

    /// Printed to the pound, so half a pound is the tolerance; the rows that do not fit say so, and
    /// still do not fit.
    #[test]
    fn printed_shears_fit_their_stress_on_the_listed_hole() {
        let mut differing = 0;
        for row in figures().printed_shears() {
            let stress = figures().rivet_shear(row.alloy).unwrap().stress_ksi * 1e3;
            let hole = figures().listed_hole(row.diameter).and_then(|hole| hole.nominal).unwrap();
            let computed = stress * Area::of_circle(hole).square_inches();
            let off = (computed - row.shear.lbf()).abs();
            // The two rows as quoted are of a flush joint, not of this table.
            if row.cited.source == "mil-hdbk-5f" {
                assert!(off <= 1.2, "{computed}");
                continue;
            }
            assert_eq!(off > 0.5, row.note.starts_with("differs"), "{} {computed}", row.diameter);
            differing += usize::from(off > 0.5);
        }
        assert_eq!(differing, 13);
    }
}
