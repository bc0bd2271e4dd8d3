//! Reports of `faying strength`, shared by command line and pages.
//!
//! Versioned as the others are: a key is added, never renamed. They carry
//! numbers for a question to the designer; none says that a part will do.

use faying_joint::strength::deviation::{self, HoleDeviation};
use faying_joint::strength::flexibility::{self as flex, Flexibility, FlexibilityError, SpreadError};
use faying_joint::strength::group::{Carried, GroupError};
use faying_joint::strength::modes::{Hole, ModeName, Strength, modes};
use faying_joint::strength::per_inch::{Governs, PerInchError, Reduction};
use faying_joint::strength::share::ShareError;
use faying_standards::{Length, RivetType, Working, figures};
use serde::Serialize;

pub use faying_joint::strength::deviation::InRow;
pub use faying_joint::strength::flexibility::{Band, Formula, Joint, Kind};
pub use faying_joint::strength::group::Fastener;
pub use faying_joint::strength::modes::{Head, Hole as HoleAsked, Sheet as SheetAsked};
pub use faying_joint::strength::share::Line;

use crate::report::{VERSION, cited};

/// What is said under every figure of strength.
pub const PURPOSE: &str = "Computed for a question to the designer; it does not say that a part will do.";

/// What is said under the tables of rivets per inch.
const SPLICE_PURPOSE: &str =
    "The tables restore sheet that was cut. They are no check of a kit's row, which has another load.";

/// The documents behind a working, each once, in the order they come up.
fn sources(working: &Working) -> Vec<String> {
    let mut named = Vec::new();
    for figure in working.figures() {
        let source = cited(&figure.source);
        if !named.contains(&source) {
            named.push(source);
        }
    }
    named
}

fn rounded(number: f64) -> f64 {
    (number * 1e4).round() / 1e4
}

fn inches(length: Length) -> f64 {
    (length.inches() * 1e6).round() / 1e6
}

/// Rivets for each inch of width.
#[derive(Debug, Serialize)]
pub struct PerInchReport {
    /// Version of the report.
    pub version: u32,
    /// The table: 4-9.
    pub table: String,
    /// The sheet it is for.
    pub sheet: String,
    /// Thickness of the sheet.
    pub thickness_in: f64,
    /// The fastener: 1/8, AN-3.
    pub fastener: String,
    /// The number computed; null where a term is left out that could govern.
    pub per_inch: Option<f64>,
    /// What gives way first: bearing or shear.
    pub governs: Option<Governs>,
    /// What bearing asks for.
    pub bearing_per_inch: f64,
    /// What shear asks for; null where it is not known.
    pub shear_per_inch: Option<f64>,
    /// The printed cell, where there is one.
    pub printed: Option<f64>,
    /// Whether it disagrees with what is computed by more than its last digit allows.
    pub printed_differs: bool,
    /// The number to use: the larger of the two.
    pub to_use: Option<f64>,
    /// Where fewer may be used, as printed.
    pub reductions: Vec<Reduction>,
    /// Sentences.
    pub says: Vec<String>,
    /// What the tables are for.
    pub purpose: &'static str,
    /// Formula, numbers, result, source.
    pub working: Working,
    /// Documents behind it.
    pub sources: Vec<String>,
}

/// Rivets per inch by a table of AC 43.13-1B.
///
/// # Errors
/// [`PerInchError`] says what the tables have.
pub fn per_inch_report(
    table: &str,
    thickness: Length,
    fastener: &str,
) -> Result<PerInchReport, PerInchError> {
    let found = faying_joint::strength::per_inch(table, thickness, fastener)?;
    let mut sources = sources(&found.working);
    let rule = cited(&found.rule.cited);
    if !sources.contains(&rule) {
        sources.push(rule);
    }
    Ok(PerInchReport {
        version: VERSION,
        table: found.rule.table.clone(),
        sheet: found.rule.sheet.clone(),
        thickness_in: inches(thickness),
        fastener: found.fastener.to_string(),
        per_inch: found.per_inch.map(rounded),
        governs: found.governs,
        bearing_per_inch: rounded(found.bearing),
        shear_per_inch: found.shear.map(rounded),
        printed: found.printed.map(|cell| cell.per_inch),
        printed_differs: found.differs,
        to_use: found.to_use.map(rounded),
        reductions: found
            .reductions
            .into_iter()
            .map(|it| Reduction { per_inch: rounded(it.per_inch), ..it })
            .collect(),
        says: found.says,
        purpose: SPLICE_PURPOSE,
        working: found.working,
        sources,
    })
}

/// A group under a force and a moment.
#[derive(Debug, Serialize)]
pub struct GroupReport {
    /// Version of the report.
    pub version: u32,
    /// Centroid by weight.
    pub centroid: [f64; 2],
    /// Σ w·r² about it.
    pub polar: f64,
    /// What each carries, in the order given.
    pub fasteners: Vec<Carried>,
    /// The largest resultant.
    pub largest: f64,
    /// Which carries it, from 1.
    pub largest_fastener: usize,
    /// What it is for.
    pub purpose: &'static str,
    /// Formula, numbers, result, source.
    pub working: Working,
    /// Documents behind it.
    pub sources: Vec<String>,
}

/// The force on each fastener of a group; `moment` about its centroid.
///
/// # Errors
/// [`GroupError`] says what the group lacks.
pub fn group_report(
    fasteners: &[Fastener],
    force: (f64, f64),
    moment: f64,
) -> Result<GroupReport, GroupError> {
    let found = faying_joint::strength::group(fasteners, force, moment)?;
    Ok(GroupReport {
        version: VERSION,
        centroid: [found.centroid.0, found.centroid.1],
        polar: found.polar,
        largest: found.fasteners[found.largest].resultant,
        largest_fastener: found.largest + 1,
        fasteners: found.fasteners,
        purpose: PURPOSE,
        sources: sources(&found.working),
        working: found.working,
    })
}

/// How rows in line share a load.
#[derive(Debug, Serialize)]
pub struct ShareReport {
    /// Version of the report.
    pub version: u32,
    /// How many rows.
    pub rows: usize,
    /// The share of each; they sum to 1.
    pub shares: Vec<f64>,
    /// What it is for.
    pub purpose: &'static str,
    /// Formula, numbers, result, source.
    pub working: Working,
    /// Documents behind it.
    pub sources: Vec<String>,
}

/// The share of each row.
///
/// # Errors
/// [`ShareError`] says which spring is amiss.
pub fn share_report(line: &Line) -> Result<ShareReport, ShareError> {
    let shares = faying_joint::strength::share(line)?;
    let working = faying_joint::strength::share::working(line, &shares);
    Ok(ShareReport {
        version: VERSION,
        rows: shares.len(),
        shares,
        purpose: PURPOSE,
        sources: sources(&working),
        working,
    })
}

/// The flexibility of a fastener by one formula.
#[derive(Debug, Serialize)]
pub struct FlexibilityReport {
    /// Version of the report.
    pub version: u32,
    /// The code of the formula.
    pub formula: &'static str,
    /// Flexibility, length over force.
    pub c: f64,
    /// Its inverse.
    pub k: f64,
    /// Misprints and disagreements.
    pub note: String,
    /// Formula, numbers, result, source.
    pub working: Working,
    /// Documents behind it.
    pub sources: Vec<String>,
}

impl FlexibilityReport {
    fn of(it: Flexibility) -> Self {
        Self {
            version: VERSION,
            formula: it.formula.code(),
            c: it.c,
            k: it.k,
            note: it.note,
            sources: sources(&it.working),
            working: it.working,
        }
    }
}

/// The flexibility of a fastener.
///
/// # Errors
/// [`FlexibilityError`] where a number is amiss or the formula is for another joint.
pub fn flexibility_report(formula: Formula, joint: &Joint) -> Result<FlexibilityReport, FlexibilityError> {
    flex::flexibility(formula, joint).map(FlexibilityReport::of)
}

/// The flexibility of a fastener by every formula that applies, and the shares of a line of rows under them.
#[derive(Debug, Serialize)]
pub struct FlexibilitiesReport {
    /// Version of the report.
    pub version: u32,
    /// By formula.
    pub formulas: Vec<FlexibilityReport>,
    /// The formulas that are for another joint, each with what it is for.
    pub left_out: Vec<String>,
    /// Least and greatest flexibility.
    pub c: Band,
    /// Least and greatest share of each row under all of them, where a line of rows was asked for.
    pub spread: Option<Vec<Band>>,
    /// What it is for.
    pub purpose: &'static str,
    /// Formula, numbers, result, source of the spread.
    pub working: Working,
}

/// Every formula that applies; `line` is rows, kA and kB.
///
/// # Errors
/// [`SpreadError`] where a number is amiss.
pub fn flexibilities_report(
    joint: &Joint,
    line: Option<(usize, f64, f64)>,
) -> Result<FlexibilitiesReport, SpreadError> {
    let formulas: Vec<_> = flex::all(joint)?.into_iter().map(FlexibilityReport::of).collect();
    let left_out = Formula::ALL
        .into_iter()
        .filter_map(|formula| formula.applies(joint).err())
        .map(|error| error.to_string())
        .collect();
    let spread = line.map(|(rows, ka, kb)| flex::spread(joint, rows, ka, kb)).transpose()?;
    let cs = formulas.iter().map(|it| it.c);
    Ok(FlexibilitiesReport {
        version: VERSION,
        c: Band {
            least: cs.clone().fold(f64::INFINITY, f64::min),
            most: cs.fold(f64::NEG_INFINITY, f64::max),
        },
        formulas,
        left_out,
        working: spread.as_ref().map_or_else(Working::default, flex::spread_working),
        spread: spread.map(|it| it.rows),
        purpose: PURPOSE,
    })
}

/// One way in which a hole can give way.
#[derive(Debug, Serialize)]
pub struct ModeReport {
    /// Which: rivet-shear, bearing, flush-joint, net-section, shear-out.
    pub mode: ModeName,
    /// The same in words, with its sheet.
    pub words: String,
    /// The sheet, from 1, where it is about one.
    pub sheet: Option<usize>,
    /// Ultimate load on one hole; null where it is not known.
    pub ultimate_lbf: Option<f64>,
    /// Whether the figure is an upper limit.
    pub at_most: bool,
    /// Why there is no figure, or what is left out of it.
    pub left_out: String,
}

/// The ways in which one hole can give way.
#[derive(Debug, Serialize)]
pub struct HoleReport {
    /// Version of the report.
    pub version: u32,
    /// The rivet; null for an empty hole.
    pub rivet: Option<String>,
    /// Every mode.
    pub modes: Vec<ModeReport>,
    /// The lowest figure; with a mode left out, the hole may be weaker.
    pub lowest_lbf: Option<f64>,
    /// The mode that governs; null where one is left out that could be lower.
    pub governs: Option<ModeName>,
    /// What is left out.
    pub left_out: Vec<String>,
    /// What was taken for granted.
    pub assumed: Vec<String>,
    /// By which convention rivet shear is reckoned, and what others say.
    pub convention: Vec<String>,
    /// As built over as planned, where both were given.
    pub deviation: Option<DeviationReport>,
    /// What it is for.
    pub purpose: &'static str,
    /// Formula, numbers, result, source.
    pub working: Working,
    /// Documents behind it.
    pub sources: Vec<String>,
}

/// A hole as built over the hole as planned.
#[derive(Debug, Serialize)]
pub struct DeviationReport {
    /// Lowest as built over lowest as planned, at most 1; null where a mode is left out.
    pub ratio: Option<f64>,
    /// The least ratio of any mode; null where one cannot be compared.
    pub at_least: Option<f64>,
    /// What is left out.
    pub left_out: Vec<String>,
    /// The row with this hole in it, the rest taking over and the weakest governing; null without a figure
    /// or a row.
    pub row: Option<RowReport>,
    /// Formula, numbers, result, source.
    pub working: Working,
}

/// A row as built over the row as planned.
#[derive(Debug, Serialize)]
pub struct RowReport {
    /// The rest taking over.
    pub taking_over: f64,
    /// The weakest governing.
    pub weakest_governs: f64,
    /// What was taken for granted.
    pub assumed: [&'static str; 2],
}

fn mode_reports(strength: &Strength) -> Vec<ModeReport> {
    let one = |it: &faying_joint::strength::modes::Mode| ModeReport {
        mode: it.name,
        words: it.words(),
        sheet: it.sheet.map(|sheet| sheet + 1),
        ultimate_lbf: it.ultimate.map(|force| rounded(force.lbf())),
        at_most: it.at_most,
        left_out: it.left_out.clone(),
    };
    strength.modes.iter().map(one).collect()
}

impl DeviationReport {
    /// From a deviation, in a row of `holes` that are otherwise as planned.
    #[must_use]
    pub fn of(built: &Hole, found: &HoleDeviation, holes: Option<usize>) -> Self {
        let mut working = found.working.clone();
        let row = holes.filter(|count| *count > 0).and_then(|count| {
            let mut row = vec![InRow::Keeps(1.0); count];
            row[0] = InRow::of(built, found);
            deviation::row(&row).ok()
        });
        if let Some(row) = &row {
            working.append(row.working.clone());
        }
        Self {
            ratio: found.ratio.map(rounded),
            at_least: found.at_least.map(rounded),
            left_out: found.left_out.clone(),
            row: row.map(|row| RowReport {
                taking_over: rounded(row.taking_over),
                weakest_governs: rounded(row.weakest_governs),
                assumed: row.assumed,
            }),
            working,
        }
    }
}

/// A hole as planned; with `built`, as built beside it, in a row of so many holes.
#[must_use]
pub fn hole_report(planned: &Hole, built: Option<&Hole>, holes: Option<usize>) -> HoleReport {
    let found = modes(planned);
    HoleReport {
        version: VERSION,
        rivet: planned.rivet.map(|rivet| rivet.to_string()),
        modes: mode_reports(&found),
        lowest_lbf: found.lowest.map(|force| rounded(force.lbf())),
        governs: found.governs,
        left_out: found.left_out,
        assumed: found.assumed,
        convention: found.convention,
        deviation: built.map(|built| DeviationReport::of(built, &deviation::hole(planned, built), holes)),
        purpose: PURPOSE,
        sources: sources(&found.working),
        working: found.working,
    }
}

/// The hole drilled for a rivet, where nothing else is said: the usual one.
#[must_use]
pub fn usual_hole(rivet: RivetType) -> Option<Length> {
    figures().usual_hole(rivet.diameter).and_then(|hole| hole.nominal)
}
