//! Rivets per inch of a splice: AC 43.13-1B tables 4-9 to 4-11.
//!
//! The tables restore sheet that was cut: as many rivets as carry what a strip
//! 1 in wide would carry in tension. They are no check of a kit's row, which
//! has another load. Their cells follow from two terms, and most of them are
//! found again from those; where a cell does not agree, both stand, and the
//! larger count is the one to use.

use faying_standards::strength::{SpliceCell, SpliceFastener, SpliceRule};
use faying_standards::{Cited, Length, Working, figures};
use serde::Serialize;
use thiserror::Error;

use super::{figure, theory};

/// Half of the last digit of a printed cell; a cell that is further off disagrees.
const PRINTED_TO: f64 = 0.05;

/// What gives way first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Governs {
    /// The sheet bears on the fastener.
    Bearing,
    /// The fastener shears.
    Shear,
}

/// Where fewer may be used, as a table prints it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Reduction {
    /// Where.
    pub at: String,
    /// The share of the number.
    pub share: f64,
    /// The number that leaves, per inch.
    pub per_inch: f64,
}

/// Rivets for each inch of width.
#[derive(Clone, Debug, PartialEq)]
pub struct PerInch {
    /// The rule of the table.
    pub rule: &'static SpliceRule,
    /// Thickness of the sheet.
    pub thickness: Length,
    /// The fastener.
    pub fastener: SpliceFastener,
    /// What bearing asks for.
    pub bearing: f64,
    /// What shear asks for; `None` where the copy of the table lacks what it takes.
    pub shear: Option<f64>,
    /// The number computed: the larger of the two. `None` where shear could be the larger and is not known.
    pub per_inch: Option<f64>,
    /// What gives way first.
    pub governs: Option<Governs>,
    /// The printed cell, where there is one.
    pub printed: Option<&'static SpliceCell>,
    /// Whether it disagrees with what is computed by more than its last digit allows.
    pub differs: bool,
    /// The number to use: the larger of computed and printed.
    pub to_use: Option<f64>,
    /// Where fewer may be used.
    pub reductions: Vec<Reduction>,
    /// What the table says beside its numbers, and what is to be known of this one.
    pub says: Vec<String>,
    /// Formula, numbers, result, source.
    pub working: Working,
}

/// A question the tables do not answer.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum PerInchError {
    /// No such table.
    #[error("there is no table \"{0}\": write 4-9 (2014, 2024, 7075), 4-10 (2017, 2024 clad) or 4-11 (5052)")]
    Table(String),
    /// A rivet the tables do not have.
    #[error("the tables have 3/32, 1/8, 5/32, 3/16, 1/4 and AN-3, and no {0}")]
    Fastener(String),
    /// No sheet of a splice.
    #[error("{} in is no sheet of these tables: they go from {} to {} in", .0.decimal(), .1.decimal(), .2.decimal())]
    Thickness(Length, Length, Length),
}

/// How many fasteners for each inch of width restore a cut sheet.
///
/// # Units
/// - `thickness`: the sheet
/// - returns: fasteners per inch of width
///
/// # Errors
/// [`PerInchError`] says what the tables have.
///
/// # Source
/// `ac43-13-1b` tables 4-9 to 4-11; theory chapter, "Strength": the larger of
/// t/(s·A) and 1/(b·d), with diameter and area of the listed hole; for the
/// AN-3 t·F/2,126 lb and 1/(b·.190).
///
/// ```
/// use faying_joint::strength::per_inch;
/// use faying_standards::inches;
/// let found = per_inch("4-9", inches(0.032), "1/8")?;
/// assert_eq!(format!("{:.1}", found.per_inch.unwrap_or_default()), "6.2");
/// # Ok::<(), faying_joint::strength::per_inch::PerInchError>(())
/// ```
pub fn per_inch(table: &str, thickness: Length, fastener: &str) -> Result<PerInch, PerInchError> {
    let rule = figures()
        .splice_rules()
        .iter()
        .find(|rule| rule.table == table.trim())
        .ok_or_else(|| PerInchError::Table(table.trim().to_owned()))?;
    let cells = || figures().splice_cells().iter();
    let read = SpliceFastener::read(fastener).filter(|read| cells().any(|cell| cell.fastener == *read));
    let fastener = read.ok_or_else(|| PerInchError::Fastener(fastener.trim().to_owned()))?;
    let thinnest = cells().map(|cell| cell.thickness).min().unwrap_or_default();
    let thickest = cells().map(|cell| cell.thickness).max().unwrap_or_default();
    if !(thinnest..=thickest).contains(&thickness) {
        return Err(PerInchError::Thickness(thickness, thinnest, thickest));
    }

    let mut working = Working::default();
    let t = thickness.inches();
    let diameter = match fastener {
        SpliceFastener::Rivet(diameter) => {
            let listed = figures().listed_hole(diameter).and_then(|hole| hole.nominal);
            listed.expect("every rivet of the tables has a listed hole (tested)")
        }
        SpliceFastener::An3 => figures().constant("splice-bolt-diameter").length().unwrap_or_default(),
    };
    let (d, s, b) = (diameter.inches(), rule.shear_ratio, rule.bearing_ratio);
    let bearing = 1.0 / (b * d);
    working.add(
        "bearing",
        "1/(b·d)",
        format!("1/({b:.2}·{})", diameter.decimal()),
        figure(bearing, 4),
        theory(),
    );
    let shear = match fastener {
        SpliceFastener::Rivet(_) => {
            let area = faying_standards::Area::of_circle(diameter).square_inches();
            let shear = t / (s * area);
            let put_in = format!("{}/({s:.2}·{})", thickness.decimal(), figure(area, 5));
            working.add("rivet shear", "t/(s·A)", put_in, figure(shear, 4), theory());
            Some(shear)
        }
        SpliceFastener::An3 => rule.tension_ksi.map(|tension| {
            let bolt = figures().constant("splice-bolt-shear").value;
            let shear = t * tension * 1e3 / bolt;
            let put_in = format!("{}·{:.0}/{bolt:.0}", thickness.decimal(), tension * 1e3);
            working.add("bolt shear", "t·F/V", put_in, figure(shear, 4), theory());
            shear
        }),
    };
    let mut says = Vec::new();
    // Without the sheet's tension the shear term is not known. It grows with the thickness, so where a
    // printed cell of thicker sheet is the bearing term, shear does not govern up to there.
    let bears_by_print = |cell: &SpliceCell| {
        cell.table == rule.table
            && cell.fastener == fastener
            && cell.thickness >= thickness
            && (cell.per_inch - bearing).abs() <= PRINTED_TO
    };
    let (computed, governs) = match shear {
        Some(shear) if shear > bearing => (Some(shear), Some(Governs::Shear)),
        Some(_) => (Some(bearing), Some(Governs::Bearing)),
        None if cells().any(bears_by_print) => {
            says.push(
                "bolt shear is not computed: the tension of this sheet was not in the copy of the table. \
                 Its printed cells for this bolt are the bearing term up to the thickest sheet, so shear \
                 does not govern here"
                    .to_owned(),
            );
            (Some(bearing), Some(Governs::Bearing))
        }
        None => {
            says.push(
                "no figure: bolt shear could govern and is not known, because the tension of this sheet was \
                 not in the copy of the table"
                    .to_owned(),
            );
            (None, None)
        }
    };
    if let (Some(computed), Some(governs)) = (computed, governs) {
        let name = match governs {
            Governs::Bearing => "bearing governs",
            Governs::Shear => "shear governs",
        };
        let put_in = match shear {
            Some(shear) => format!("{} and {}", figure(bearing, 4), figure(shear, 4)),
            None => figure(bearing, 4),
        };
        working.add(
            name,
            "the larger",
            put_in,
            format!("{} per inch", figure(computed, 4)),
            rule.cited.clone(),
        );
    }
    let printed = figures().splice_cell(&rule.table, thickness, fastener);
    // A cell that the table leaves empty, at a thickness it has: said, not filled in.
    let differs =
        computed.zip(printed).is_some_and(|(computed, cell)| (computed - cell.per_inch).abs() > PRINTED_TO);
    let to_use = match (computed, printed) {
        (Some(computed), Some(cell)) => Some(computed.max(cell.per_inch)),
        (computed, cell) => computed.or_else(|| cell.map(|cell| cell.per_inch)),
    };
    if let Some(cell) = printed {
        let note =
            if cell.note.is_empty() { "as printed".to_owned() } else { format!("as printed, {}", cell.note) };
        working.add(note, "", "", format!("{:.1} per inch", cell.per_inch), cell.cited.clone());
        if differs {
            says.push(format!(
                "the printed cell, {:.1}, does not agree with the notes of its own table: the larger is to be used",
                cell.per_inch
            ));
        }
    } else if rule.table == "4-10" {
        says.push(
            "the cells of table 4-10 are not here: its copy was read only through two worked examples"
                .to_owned(),
        );
    } else {
        says.push(format!(
            "table {} has no cell for {fastener} in {} in: it was recomputed, not interpolated",
            rule.table,
            thickness.decimal()
        ));
    }
    let mut reductions = Vec::new();
    for note in figures().splice_notes(&rule.table) {
        match (note.share, to_use) {
            (Some(share), Some(number)) => {
                reductions.push(Reduction { at: note.text.clone(), share, per_inch: number * share });
            }
            (None, _) => says.push(note.text.clone()),
            (Some(_), None) => {}
        }
    }
    if !rule.note.is_empty() {
        says.push(rule.note.clone());
    }
    Ok(PerInch {
        rule,
        thickness,
        fastener,
        bearing,
        shear,
        per_inch: computed,
        governs,
        printed,
        differs,
        to_use,
        reductions,
        says,
        working,
    })
}

/// How many fasteners a width takes, rounded up twice as the document's frame example does: the count,
/// then the count after a reduction.
///
/// # Units
/// - `per_inch`: fasteners per inch; `width_in`: in; `share`: 1 where nothing is taken off
/// - returns: fasteners on each side of the cut
#[must_use]
pub fn count(per_inch: f64, width_in: f64, share: f64) -> u32 {
    // What is whole but for the noise of binary fractions stays whole: 10 × 4.9 is 49.
    let up = |number: f64| (number - 1e-9).ceil().max(0.0);
    // Splices of a thousand inches do not occur; the cast cannot overflow for what does.
    up(up(per_inch * width_in) * share).min(f64::from(u32::MAX)) as u32
}

/// Where the counting comes from.
#[must_use]
pub fn counted_as() -> Cited {
    let example = figures().splice_examples().iter().find(|it| it.required.is_some());
    example.map_or_else(theory, |it| it.cited.clone())
}

#[cfg(test)]
mod tests {
    use super::*;
    use faying_standards::inches;

    #[test]
    fn what_the_tables_do_not_have_is_said() {
        let of = |table: &str, t: f64, fastener: &str| {
            per_inch(table, inches(t), fastener).unwrap_err().to_string()
        };
        insta::assert_snapshot!(
            of("4-12", 0.032, "1/8"),
            @r#"there is no table "4-12": write 4-9 (2014, 2024, 7075), 4-10 (2017, 2024 clad) or 4-11 (5052)"#
        );
        insta::assert_snapshot!(
            of("4-9", 0.032, "AN-4"),
            @"the tables have 3/32, 1/8, 5/32, 3/16, 1/4 and AN-3, and no AN-4"
        );
        assert_eq!(
            of("4-9", 0.032, "1/16"),
            "the tables have 3/32, 1/8, 5/32, 3/16, 1/4 and AN-3, and no 1/16"
        );
        insta::assert_snapshot!(
            of("4-9", 0.250, "1/8"),
            @".250 in is no sheet of these tables: they go from .016 to .128 in"
        );
    }

    /// The misprint on the unsafe side: both stand, the larger is the one to use.
    #[test]
    fn a_cell_that_disagrees_is_shown_and_the_larger_is_used() {
        let found = per_inch("4-9", inches(0.128), "AN-3").unwrap();
        assert_eq!(found.printed.unwrap().per_inch, 3.2);
        assert!(found.differs && found.governs == Some(Governs::Shear));
        assert_eq!(found.to_use, found.per_inch);
        assert_eq!(found.per_inch, Some(0.128 * 70_000.0 / 2126.0));
        // Here it is the cell that is larger, within its last digit.
        let found = per_inch("4-9", inches(0.032), "3/32").unwrap();
        assert!(!found.differs && found.to_use == Some(11.1) && found.per_inch < Some(11.1));
    }

    /// Table 4-11 gives no tension of its sheet, so what a bolt's shear asks for is not known.
    #[test]
    fn a_bolt_in_soft_sheet_has_no_shear_term() {
        let found = per_inch("4-11", inches(0.128), "AN-3").unwrap();
        assert_eq!((found.shear, found.governs), (None, Some(Governs::Bearing)));
        assert!(!found.differs && found.says[0].contains("was not in the copy"));
    }

    /// Today's sheet is between the printed rows: worked out anew, never less than the thinner row.
    #[test]
    fn todays_sheet_is_recomputed() {
        let found = per_inch("4-9", inches(0.063), "1/8").unwrap();
        assert!(
            found.printed.is_none() && found.says.iter().any(|it| it.contains("no cell for 1/8 in .063"))
        );
        assert!(found.per_inch > per_inch("4-9", inches(0.051), "1/8").unwrap().per_inch);
        assert_eq!(found.reductions.iter().map(|it| it.share).collect::<Vec<_>>(), [0.8, 0.6, 0.75]);
    }
}
