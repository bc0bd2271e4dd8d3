//! Every figure of `standards/`, read once.
//!
//! The tables are compiled in, so a mistake in them is a mistake in the
//! program: [`figures`] panics with the file and line, and a test reads them
//! all. What a document leaves blank is `None` here; nothing is filled in.
//! Where documents disagree every row is here, and the one that is used by
//! default is marked in the data, not chosen in code.

use std::collections::BTreeMap;
use std::sync::OnceLock;

use serde::Deserialize;

use crate::drill::Drill;
use crate::fastener::Family;
use crate::limits::{LimitSet, ShopHeadLimits};
use crate::quantity::{Force, Length};
use crate::rivet::{Dash, Diameter, HeadStyle, RivetAlloy, RivetType};
use crate::source::{Cited, Source, SourceKey};
use crate::strength::{
    self, FlexibilityFigures, FlushJoint, PrintedShear, RivetShear, SheetStrength, SpliceCell, SpliceExample,
    SpliceFastener, SpliceNote, SpliceRule, Substitute,
};
use crate::table::{DataError, Row, Table};

/// Dimensions of a solid rivet.
#[derive(Clone, Debug, PartialEq)]
pub struct RivetSize {
    /// The manufactured head.
    pub head: HeadStyle,
    /// The nominal diameter.
    pub diameter: Diameter,
    /// Shank diameter.
    pub shank: Length,
    /// How far the shank may be over.
    pub shank_plus: Length,
    /// How far the shank may be under.
    pub shank_minus: Length,
    /// Diameter of the manufactured head; of a flush head, the theoretical sharp edge.
    pub head_diameter: Length,
    /// Head diameter, plus or minus.
    pub head_diameter_tolerance: Length,
    /// Height of the manufactured head.
    pub head_height: Length,
    /// Head height, plus or minus, where known.
    pub head_height_tolerance: Option<Length>,
    /// Included angle of a flush head, degrees.
    pub countersink_deg: Option<f64>,
    /// Length, plus or minus.
    pub length_tolerance: Length,
    /// Where it comes from.
    pub cited: Cited,
    /// What to know about it.
    pub note: String,
}

/// What a rivet alloy is and how it is set.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct AlloyFigures {
    /// The alloy.
    pub alloy: RivetAlloy,
    /// Its designation: 2117-T4.
    pub designation: String,
    /// The mark on the manufactured head; empty where not known.
    pub head_mark: String,
    /// How it is driven: as received, after heat treatment.
    pub driving: String,
    /// Where it comes from.
    pub cited: Cited,
    /// What to know about it.
    pub note: String,
}

/// The lengths listed for a rivet.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RivetLengths {
    /// The table read for it, as the trade names it: AN470.
    pub table: String,
    /// Shortest listed, where it is known.
    pub shortest: Option<Dash>,
    /// Longest listed.
    pub longest: Dash,
    /// Where it comes from.
    pub cited: Cited,
    /// What to know about it.
    pub note: String,
}

struct LengthRow {
    head: HeadStyle,
    diameter: Option<Diameter>,
    lengths: RivetLengths,
}

/// What a hole row is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum HoleRole {
    /// The hole drilled for it today.
    Usual,
    /// The hole that strength figures rest on.
    Listed,
    /// A band within which a finished hole is asked to lie.
    Band,
    /// Earlier practice.
    Older,
    /// A hole somebody measured.
    Measured,
    /// A hole for a bolt in a rivet's place.
    Bolt,
    /// A rule in words.
    Rule,
}

/// A hole for a rivet.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct HoleSize {
    /// The rivet's diameter, where the row is about one.
    pub diameter: Option<Diameter>,
    /// What the row is for.
    pub role: HoleRole,
    /// The drill by its mark: `#30`, `F`; empty where none is named.
    pub drill: String,
    /// The hole as drilled.
    pub nominal: Option<Length>,
    /// Smallest hole.
    pub min: Option<Length>,
    /// Largest hole.
    pub max: Option<Length>,
    /// Where it comes from.
    pub cited: Cited,
    /// What to know about it.
    pub note: String,
}

/// An alloy of sheet.
#[derive(Clone, Debug, PartialEq)]
pub struct SheetAlloy {
    /// As a plan writes it: 2024-T3.
    pub name: String,
    /// Base alloy: 2024.
    pub base: String,
    /// Whether it is clad.
    pub clad: bool,
    /// Density, lb/in³.
    pub density_lb_in3: Option<f64>,
    /// Modulus in tension, Msi (10⁶ psi).
    pub modulus_msi: Option<f64>,
    /// Where it comes from.
    pub cited: Cited,
    /// What to know about it.
    pub note: String,
}

/// A thickness in which sheet is made.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Gauge {
    /// The thickness.
    pub thickness: Length,
    /// `today`, or the older series of some tables.
    pub series: String,
    /// Where it comes from.
    pub cited: Cited,
}

/// A tolerance on sheet thickness.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ThicknessTolerance {
    /// Which sheet it is said of.
    pub group: String,
    /// Whether it is the one used until somebody has better.
    pub default: bool,
    /// From this thickness, itself included.
    pub from: Length,
    /// To this thickness, itself included.
    pub to: Length,
    /// Plus or minus.
    pub plus_minus: Length,
    /// Where it comes from.
    pub cited: Cited,
    /// What to know about it.
    pub note: String,
}

/// The least sheet in which to cut a countersink.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CountersinkMinimum {
    /// The rivet, or `None` for any.
    pub diameter: Option<Diameter>,
    /// Least sheet, where the row gives a figure.
    pub least_sheet: Option<Length>,
    /// The rule in words.
    pub rule: String,
    /// Whether it is the one used until somebody has better.
    pub default: bool,
    /// Where it comes from.
    pub cited: Cited,
    /// What to know about it.
    pub note: String,
}

/// The diameter of a countersink, at the surface.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CountersinkDiameter {
    /// The rivet.
    pub diameter: Diameter,
    /// Smallest.
    pub min: Length,
    /// Largest.
    pub max: Length,
    /// Where it comes from.
    pub cited: Cited,
    /// What to know about it.
    pub note: String,
}

/// What a spacing row measures.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SpacingItem {
    /// Hole centre to the edge.
    EdgeDistance,
    /// Hole to hole along a row.
    Pitch,
    /// Row to row.
    RowSpacing,
    /// Diameter of the rivet against the sheet.
    RivetDiameter,
}

/// How far a row is to be taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SpacingUse {
    /// It may be put beside a measured distance.
    Compare,
    /// Shown only: advice, or a rule that needs reading.
    Shown,
    /// A misprint or a wrong attribution, kept so that it is recognised.
    Mistaken,
}

/// One rule on spacing; rules stand side by side.
#[derive(Clone, Debug, PartialEq)]
pub struct SpacingRule {
    /// What it measures.
    pub item: SpacingItem,
    /// How far it is to be taken.
    pub used: SpacingUse,
    /// For which joints, in words.
    pub condition: String,
    /// The rivet, or `None` for any.
    pub diameter: Option<Diameter>,
    /// The head, or `None` for either.
    pub head: Option<HeadStyle>,
    /// The rule in words.
    pub rule: String,
    /// Least, in shank diameters.
    pub least_d: Option<f64>,
    /// Greatest, in shank diameters.
    pub most_d: Option<f64>,
    /// Least, as a length.
    pub least: Option<Length>,
    /// Where it comes from.
    pub cited: Cited,
    /// What to know about it.
    pub note: String,
}

impl SpacingRule {
    /// The least distance the rule asks of a rivet, or `None` where it asks none of it.
    #[must_use]
    pub fn least_for(&self, kind: RivetType) -> Option<Length> {
        if self.diameter.is_some_and(|d| d != kind.diameter) || self.head.is_some_and(|h| h != kind.head) {
            return None;
        }
        self.least.or_else(|| self.least_d.map(|d| Length::from_inches(kind.diameter.length().inches() * d)))
    }
}

/// One measured force to squeeze a rivet.
#[derive(Clone, Debug, PartialEq)]
pub struct SqueezePoint {
    /// The rivet of the test.
    pub rivet: String,
    /// Its nominal diameter.
    pub diameter: Diameter,
    /// Its measured shank.
    pub shank: Length,
    /// Width of the head over the shank.
    pub width_over_shank: f64,
    /// The force.
    pub force: Force,
    /// Where it comes from.
    pub cited: Cited,
    /// What to know about it.
    pub note: String,
}

/// A constant or a default of the methods.
#[derive(Clone, Debug, PartialEq)]
pub struct Constant {
    /// Steady name.
    pub name: String,
    /// What it is.
    pub what: String,
    /// Value.
    pub value: f64,
    /// Unit: `in`, `d`, `lbf`, `MPa`, `1` for a ratio.
    pub unit: String,
    /// Where it comes from.
    pub cited: Cited,
    /// What to know about it.
    pub note: String,
}

impl Constant {
    /// The value as a length; `None` unless its unit is the inch.
    #[must_use]
    pub fn length(&self) -> Option<Length> {
        (self.unit == "in").then(|| Length::from_inches(self.value))
    }
}

/// All figures.
pub struct Figures {
    revision: String,
    sources: BTreeMap<SourceKey, Source>,
    tables: Vec<Table>,
    rivet_sizes: Vec<RivetSize>,
    alloys: Vec<AlloyFigures>,
    lengths: Vec<LengthRow>,
    holes: Vec<HoleSize>,
    limit_sets: Vec<LimitSet>,
    sheet_alloys: Vec<SheetAlloy>,
    gauges: Vec<Gauge>,
    thickness_tolerances: Vec<ThicknessTolerance>,
    countersink_minima: Vec<CountersinkMinimum>,
    countersink_diameters: Vec<CountersinkDiameter>,
    spacing: Vec<SpacingRule>,
    squeeze: Vec<SqueezePoint>,
    sheet_strengths: Vec<SheetStrength>,
    rivet_shears: Vec<RivetShear>,
    printed_shears: Vec<PrintedShear>,
    flush_joints: Vec<FlushJoint>,
    splice_rules: Vec<SpliceRule>,
    splice_cells: Vec<SpliceCell>,
    splice_notes: Vec<SpliceNote>,
    splice_examples: Vec<SpliceExample>,
    substitutes: Vec<Substitute>,
    flexibilities: Vec<FlexibilityFigures>,
    families: Vec<Family>,
    constants: BTreeMap<String, Constant>,
}

/// The figures of `standards/`.
///
/// # Panics
/// Never in a released program: only where a compiled-in table does not read,
/// which the tests of this room find.
#[must_use]
pub fn figures() -> &'static Figures {
    static FIGURES: OnceLock<Figures> = OnceLock::new();
    FIGURES.get_or_init(|| Figures::parse().unwrap_or_else(|error| panic!("compiled-in figures: {error}")))
}

impl Figures {
    /// The revision of the figures: a date and a number, no more.
    #[must_use]
    pub fn revision(&self) -> &str {
        &self.revision
    }

    /// All documents by key.
    #[must_use]
    pub fn sources(&self) -> &BTreeMap<SourceKey, Source> {
        &self.sources
    }

    /// A document by key.
    #[must_use]
    pub fn source(&self, key: &str) -> Option<&Source> {
        self.sources.get(key)
    }

    /// Every table as written, in the order of the Standards page.
    #[must_use]
    pub fn tables(&self) -> &[Table] {
        &self.tables
    }

    /// All drills.
    #[must_use]
    pub fn drills(&self) -> &'static [Drill] {
        crate::drill::drills()
    }

    /// Dimensions of a rivet, or `None` where the table has no such size.
    #[must_use]
    pub fn rivet_size(&self, kind: RivetType) -> Option<&RivetSize> {
        self.rivet_sizes.iter().find(|size| size.head == kind.head && size.diameter == kind.diameter)
    }

    /// All rivet dimensions.
    #[must_use]
    pub fn rivet_sizes(&self) -> &[RivetSize] {
        &self.rivet_sizes
    }

    /// What an alloy is and how it is set.
    #[must_use]
    pub fn alloy(&self, alloy: RivetAlloy) -> &AlloyFigures {
        self.alloys.iter().find(|row| row.alloy == alloy).expect("every alloy has a row (tested)")
    }

    /// The lengths listed for a rivet.
    #[must_use]
    pub fn rivet_lengths(&self, kind: RivetType) -> &RivetLengths {
        let row =
            |diameter| self.lengths.iter().find(move |row| row.head == kind.head && row.diameter == diameter);
        &row(Some(kind.diameter))
            .or_else(|| row(None))
            .expect("every head has a row for any diameter (tested)")
            .lengths
    }

    /// All hole rows.
    #[must_use]
    pub fn holes(&self) -> &[HoleSize] {
        &self.holes
    }

    /// The hole rows of a diameter, disagreements included.
    pub fn holes_for(&self, diameter: Diameter) -> impl Iterator<Item = &HoleSize> {
        self.holes.iter().filter(move |hole| hole.diameter == Some(diameter))
    }

    /// The hole drilled for a rivet today.
    #[must_use]
    pub fn usual_hole(&self, diameter: Diameter) -> Option<&HoleSize> {
        self.holes_for(diameter).find(|hole| hole.role == HoleRole::Usual)
    }

    /// The hole that strength figures rest on; a larger one earns nothing.
    #[must_use]
    pub fn listed_hole(&self, diameter: Diameter) -> Option<&HoleSize> {
        self.holes_for(diameter).find(|hole| hole.role == HoleRole::Listed)
    }

    /// All sets of shop-head limits, those that judge first.
    #[must_use]
    pub fn limit_sets(&self) -> &[LimitSet] {
        &self.limit_sets
    }

    /// A set by its short name, `MIL-R-47196A`.
    #[must_use]
    pub fn limit_set(&self, key: &str) -> Option<&LimitSet> {
        self.limit_sets.iter().find(|set| set.key == key)
    }

    /// The set that judges a rivet where the build chooses none: the first that speaks of it.
    #[must_use]
    pub fn usual_limits(&self, kind: RivetType) -> Option<(&LimitSet, ShopHeadLimits)> {
        self.limit_sets.iter().filter(|set| set.judges).find_map(|set| Some((set, set.at(kind)?)))
    }

    /// An alloy of sheet by name as a plan writes it.
    ///
    /// Small letters are taken as capitals, and "clad" or "alclad" may stand on either side.
    #[must_use]
    pub fn sheet_alloy(&self, name: &str) -> Option<&SheetAlloy> {
        let words: Vec<String> = name.split_whitespace().map(str::to_ascii_uppercase).collect();
        let is_clad = |word: &String| word == "CLAD" || word == "ALCLAD";
        let (clad, bare): (Vec<_>, Vec<_>) = words.iter().partition(|word| is_clad(word));
        let ([bare], true) = (bare.as_slice(), clad.len() <= 1) else { return None };
        self.sheet_alloys.iter().find(|alloy| {
            alloy.clad != clad.is_empty() && alloy.name.split(' ').next() == Some(bare.as_str())
        })
    }

    /// All alloys of sheet.
    #[must_use]
    pub fn sheet_alloys(&self) -> &[SheetAlloy] {
        &self.sheet_alloys
    }

    /// The thicknesses in which sheet is made, today's and the older series.
    #[must_use]
    pub fn gauges(&self) -> &[Gauge] {
        &self.gauges
    }

    /// The tolerance used for a thickness until somebody has better.
    ///
    /// The table is printed to the nearest thousandth, with a step between its
    /// bands; a thickness between two bands is rounded to the thousandth first.
    #[must_use]
    pub fn thickness_tolerance(&self, thickness: Length) -> Option<&ThicknessTolerance> {
        self.thickness_tolerances_at(thickness).find(|row| row.default)
    }

    /// Every tolerance said of a thickness, disagreements included.
    pub fn thickness_tolerances_at(&self, thickness: Length) -> impl Iterator<Item = &ThicknessTolerance> {
        let printed = to_thousandth(thickness);
        self.thickness_tolerances.iter().filter(move |row| row.from <= printed && printed <= row.to)
    }

    /// What is said of the least sheet for a countersink, disagreements included.
    pub fn countersink_minima(&self, diameter: Diameter) -> impl Iterator<Item = &CountersinkMinimum> {
        self.countersink_minima.iter().filter(move |row| row.diameter.is_none_or(|d| d == diameter))
    }

    /// The least sheet for a countersink used until somebody has better.
    #[must_use]
    pub fn countersink_minimum(&self, diameter: Diameter) -> Option<&CountersinkMinimum> {
        self.countersink_minima(diameter).find(|row| row.default)
    }

    /// The diameter of a countersink.
    #[must_use]
    pub fn countersink_diameter(&self, diameter: Diameter) -> Option<&CountersinkDiameter> {
        self.countersink_diameters.iter().find(|row| row.diameter == diameter)
    }

    /// All rules on spacing.
    #[must_use]
    pub fn spacing_rules(&self) -> &[SpacingRule] {
        &self.spacing
    }

    /// The measured squeeze forces.
    #[must_use]
    pub fn squeeze_points(&self) -> &[SqueezePoint] {
        &self.squeeze
    }

    /// Everything said of the strength of a sheet, disagreements included.
    pub fn sheet_strengths(&self, name: &str) -> impl Iterator<Item = &SheetStrength> {
        let name = self.sheet_alloy(name).map(|alloy| alloy.name.as_str());
        self.sheet_strengths.iter().filter(move |row| Some(row.sheet.as_str()) == name)
    }

    /// The strength of a sheet that is computed with, where it is known at this thickness.
    ///
    /// The bands are printed to the thousandth; a thickness between two is rounded to it first.
    #[must_use]
    pub fn sheet_strength(&self, name: &str, thickness: Length) -> Option<&SheetStrength> {
        let printed = to_thousandth(thickness);
        self.sheet_strengths(name).find(|row| row.computes && row.from <= printed && printed <= row.to)
    }

    /// Every shear stress said of an alloy, by whatever convention.
    pub fn rivet_shears(&self, alloy: RivetAlloy) -> impl Iterator<Item = &RivetShear> {
        self.rivet_shears.iter().filter(move |row| row.alloy == alloy)
    }

    /// The shear stress of an alloy that is computed with.
    #[must_use]
    pub fn rivet_shear(&self, alloy: RivetAlloy) -> Option<&RivetShear> {
        self.rivet_shears(alloy).find(|row| row.computes)
    }

    /// Shear of single rivets, as printed.
    #[must_use]
    pub fn printed_shears(&self) -> &[PrintedShear] {
        &self.printed_shears
    }

    /// Flush joints as tabulated.
    #[must_use]
    pub fn flush_joints(&self) -> &[FlushJoint] {
        &self.flush_joints
    }

    /// The rules behind the tables of rivets per inch.
    #[must_use]
    pub fn splice_rules(&self) -> &[SpliceRule] {
        &self.splice_rules
    }

    /// The printed cells of the tables of rivets per inch.
    #[must_use]
    pub fn splice_cells(&self) -> &[SpliceCell] {
        &self.splice_cells
    }

    /// A printed cell, where there is one for this thickness and fastener.
    #[must_use]
    pub fn splice_cell(
        &self,
        table: &str,
        thickness: Length,
        fastener: SpliceFastener,
    ) -> Option<&SpliceCell> {
        self.splice_cells
            .iter()
            .find(|cell| cell.table == table && cell.thickness == thickness && cell.fastener == fastener)
    }

    /// The notes of a table of rivets per inch.
    pub fn splice_notes(&self, table: &str) -> impl Iterator<Item = &SpliceNote> {
        self.splice_notes.iter().filter(move |note| note.table == table)
    }

    /// The worked examples of splices.
    #[must_use]
    pub fn splice_examples(&self) -> &[SpliceExample] {
        &self.splice_examples
    }

    /// What documents allow in place of a rivet.
    #[must_use]
    pub fn substitutes(&self) -> &[Substitute] {
        &self.substitutes
    }

    /// Constants of the formulas for the flexibility of a fastener.
    #[must_use]
    pub fn flexibilities(&self) -> &[FlexibilityFigures] {
        &self.flexibilities
    }

    /// The family a part number belongs to.
    #[must_use]
    pub fn family(&self, part: &str) -> Option<&Family> {
        self.families.iter().find(|family| family.holds(part))
    }

    /// All constants.
    pub fn constants(&self) -> impl Iterator<Item = &Constant> {
        self.constants.values()
    }

    /// A constant by its steady name.
    ///
    /// # Panics
    /// Where there is none of that name: a slip in the program, not in what a builder wrote.
    #[must_use]
    pub fn constant(&self, name: &str) -> &Constant {
        self.constants.get(name).unwrap_or_else(|| panic!("standards/constants.csv has no \"{name}\""))
    }

    fn parse() -> Result<Self, DataError> {
        let tables: Vec<Table> = Table::names().map(Table::compiled_in).collect::<Result<_, _>>()?;
        let table = |name| {
            tables.iter().find(|table| table.name == name).expect("every table asked for is compiled in")
        };
        let (revision, sources) = parse_sources()?;
        let figures = Self {
            rivet_sizes: table("solid_rivets").read(rivet_size).collect::<Result<_, _>>()?,
            alloys: table("rivet_alloys").read(alloy_figures).collect::<Result<_, _>>()?,
            lengths: table("rivet_lengths").read(length_row).collect::<Result<_, _>>()?,
            holes: table("hole_sizes").read(hole).collect::<Result<_, _>>()?,
            limit_sets: LimitSet::parse(table("limit_sets"), table("shop_head_limits"))?,
            sheet_alloys: table("sheet_alloys").read(sheet_alloy).collect::<Result<_, _>>()?,
            gauges: table("gauges").read(gauge).collect::<Result<_, _>>()?,
            thickness_tolerances: table("thickness_tolerance")
                .read(thickness_tolerance)
                .collect::<Result<_, _>>()?,
            countersink_minima: table("countersink_min")
                .read(countersink_minimum)
                .collect::<Result<_, _>>()?,
            countersink_diameters: table("countersink_dia")
                .read(countersink_diameter)
                .collect::<Result<_, _>>()?,
            spacing: table("spacing").read(spacing_rule).collect::<Result<_, _>>()?,
            squeeze: table("squeeze").read(squeeze_point).collect::<Result<_, _>>()?,
            sheet_strengths: table("sheet_strength")
                .read(strength::sheet_strength)
                .collect::<Result<_, _>>()?,
            rivet_shears: table("rivet_shear").read(strength::rivet_shear).collect::<Result<_, _>>()?,
            printed_shears: table("rivet_shear_printed")
                .read(strength::printed_shear)
                .collect::<Result<_, _>>()?,
            flush_joints: table("flush_joints").read(strength::flush_joint).collect::<Result<_, _>>()?,
            splice_rules: table("splice_rules").read(strength::splice_rule).collect::<Result<_, _>>()?,
            splice_cells: table("splice_cells").read(strength::splice_cell).collect::<Result<_, _>>()?,
            splice_notes: table("splice_notes").read(strength::splice_note).collect::<Result<_, _>>()?,
            splice_examples: table("splice_examples")
                .read(strength::splice_example)
                .collect::<Result<_, _>>()?,
            substitutes: table("substitutes").read(strength::substitute).collect::<Result<_, _>>()?,
            flexibilities: table("flexibility").read(strength::flexibility).collect::<Result<_, _>>()?,
            families: Family::parse(table("fastener_families"))?,
            constants: table("constants").read(constant).collect::<Result<_, _>>()?,
            revision,
            sources,
            tables,
        };
        Ok(figures)
    }
}

fn parse_sources() -> Result<(String, BTreeMap<SourceKey, Source>), DataError> {
    #[derive(Deserialize)]
    #[serde(deny_unknown_fields)]
    struct File {
        revision: String,
        source: BTreeMap<SourceKey, Source>,
    }
    const TEXT: &str = include_str!("../../../standards/sources.toml");
    let file: File = toml::from_str(TEXT).map_err(|error| {
        let before = error.span().and_then(|span| TEXT.get(..span.start)).unwrap_or_default();
        DataError {
            file: "sources.toml".to_owned(),
            line: before.matches('\n').count() + 1,
            what: error.message().to_owned(),
        }
    })?;
    Ok((file.revision, file.source))
}

/// The column of a rivet diameter: a fraction, or `any`.
pub(crate) fn diameter(row: &Row<'_>, column: &str) -> Result<Option<Diameter>, DataError> {
    if row.text(column)? == "any" {
        return Ok(None);
    }
    let length = row.need_length(column)?;
    Diameter::from_length(length)
        .map(Some)
        .ok_or_else(|| row.error(format!("{column}: {} is not a rivet diameter", length.decimal())))
}

/// Rounded to the thousandth of an inch, as tables of thickness are printed.
fn to_thousandth(thickness: Length) -> Length {
    Length::from_inches((thickness.inches() * 1e3).round() / 1e3)
}

pub(crate) fn one_diameter(row: &Row<'_>, column: &str) -> Result<Diameter, DataError> {
    diameter(row, column)?.ok_or_else(|| row.error(format!("{column}: one diameter is needed")))
}

fn head(row: &Row<'_>, column: &str) -> Result<Option<HeadStyle>, DataError> {
    match row.text(column)? {
        "MS20470" => Ok(Some(HeadStyle::Universal)),
        "MS20426" => Ok(Some(HeadStyle::Flush)),
        "any" => Ok(None),
        other => Err(row.error(format!("{column}: \"{other}\" is not a head"))),
    }
}

fn one_head(row: &Row<'_>, column: &str) -> Result<HeadStyle, DataError> {
    head(row, column)?.ok_or_else(|| row.error(format!("{column}: one head is needed")))
}

fn yes(row: &Row<'_>, column: &str) -> Result<bool, DataError> {
    match row.cell(column)? {
        "yes" => Ok(true),
        "" => Ok(false),
        other => Err(row.error(format!("{column}: \"{other}\" is neither yes nor blank"))),
    }
}

fn rivet_size(row: Row<'_>) -> Result<RivetSize, DataError> {
    Ok(RivetSize {
        head: one_head(&row, "part")?,
        diameter: one_diameter(&row, "rivet")?,
        shank: row.need_length("shank_in")?,
        shank_plus: row.need_length("shank_plus_in")?,
        shank_minus: row.need_length("shank_minus_in")?,
        head_diameter: row.need_length("head_diameter_in")?,
        head_diameter_tolerance: row.need_length("head_diameter_plus_minus_in")?,
        head_height: row.need_length("head_height_in")?,
        head_height_tolerance: row.length("head_height_plus_minus_in")?,
        countersink_deg: row.number("countersink_deg")?,
        length_tolerance: row.need_length("length_plus_minus_in")?,
        cited: row.cited()?,
        note: row.note()?,
    })
}

fn alloy_figures(row: Row<'_>) -> Result<AlloyFigures, DataError> {
    let code = row.text("code")?;
    Ok(AlloyFigures {
        alloy: RivetAlloy::from_code(code)
            .ok_or_else(|| row.error(format!("\"{code}\" is not a rivet alloy")))?,
        designation: row.text("alloy")?.to_owned(),
        head_mark: row.cell("head_mark")?.to_owned(),
        driving: row.cell("driving")?.to_owned(),
        cited: row.cited()?,
        note: row.note()?,
    })
}

fn length_row(row: Row<'_>) -> Result<LengthRow, DataError> {
    let dash = |column: &str| {
        row.maybe(column, |text| {
            Dash::read(text).ok_or_else(|| row.error(format!("{column}: \"{text}\" is not a length")))
        })
    };
    Ok(LengthRow {
        head: one_head(&row, "part")?,
        diameter: diameter(&row, "rivet")?,
        lengths: RivetLengths {
            table: row.text("table")?.to_owned(),
            shortest: dash("shortest_dash")?,
            longest: dash("longest_dash")?.ok_or_else(|| row.error("\"longest_dash\" is blank"))?,
            cited: row.cited()?,
            note: row.note()?,
        },
    })
}

fn hole(row: Row<'_>) -> Result<HoleSize, DataError> {
    Ok(HoleSize {
        diameter: diameter(&row, "rivet")?,
        role: match row.text("role")? {
            "usual" => HoleRole::Usual,
            "listed" => HoleRole::Listed,
            "band" => HoleRole::Band,
            "older" => HoleRole::Older,
            "measured" => HoleRole::Measured,
            "bolt" => HoleRole::Bolt,
            "rule" => HoleRole::Rule,
            other => return Err(row.error(format!("\"{other}\" is not what a hole is for"))),
        },
        drill: row.cell("drill")?.to_owned(),
        nominal: row.length("nominal_in")?,
        min: row.length("min_in")?,
        max: row.length("max_in")?,
        cited: row.cited()?,
        note: row.note()?,
    })
}

fn sheet_alloy(row: Row<'_>) -> Result<SheetAlloy, DataError> {
    Ok(SheetAlloy {
        name: row.text("name")?.to_owned(),
        base: row.text("alloy")?.to_owned(),
        clad: yes(&row, "clad")?,
        density_lb_in3: row.number("density_lb_in3")?,
        modulus_msi: row.number("modulus_msi")?,
        cited: row.cited()?,
        note: row.note()?,
    })
}

fn gauge(row: Row<'_>) -> Result<Gauge, DataError> {
    Ok(Gauge {
        thickness: row.need_length("thickness_in")?,
        series: row.text("series")?.to_owned(),
        cited: row.cited()?,
    })
}

fn thickness_tolerance(row: Row<'_>) -> Result<ThicknessTolerance, DataError> {
    Ok(ThicknessTolerance {
        group: row.text("group")?.to_owned(),
        default: yes(&row, "default")?,
        from: row.need_length("from_in")?,
        to: row.need_length("to_in")?,
        plus_minus: row.need_length("plus_minus_in")?,
        cited: row.cited()?,
        note: row.note()?,
    })
}

fn countersink_minimum(row: Row<'_>) -> Result<CountersinkMinimum, DataError> {
    Ok(CountersinkMinimum {
        diameter: diameter(&row, "rivet")?,
        least_sheet: row.length("least_sheet_in")?,
        rule: row.text("rule")?.to_owned(),
        default: yes(&row, "default")?,
        cited: row.cited()?,
        note: row.note()?,
    })
}

fn countersink_diameter(row: Row<'_>) -> Result<CountersinkDiameter, DataError> {
    Ok(CountersinkDiameter {
        diameter: one_diameter(&row, "rivet")?,
        min: row.need_length("min_in")?,
        max: row.need_length("max_in")?,
        cited: row.cited()?,
        note: row.note()?,
    })
}

fn spacing_rule(row: Row<'_>) -> Result<SpacingRule, DataError> {
    Ok(SpacingRule {
        item: match row.text("item")? {
            "edge distance" => SpacingItem::EdgeDistance,
            "pitch" => SpacingItem::Pitch,
            "row spacing" => SpacingItem::RowSpacing,
            "rivet diameter" => SpacingItem::RivetDiameter,
            other => return Err(row.error(format!("\"{other}\" is not a spacing"))),
        },
        used: match row.text("use")? {
            "compare" => SpacingUse::Compare,
            "shown" => SpacingUse::Shown,
            "mistaken" => SpacingUse::Mistaken,
            other => return Err(row.error(format!("\"{other}\" is not a use of a rule"))),
        },
        condition: row.cell("condition")?.to_owned(),
        diameter: diameter(&row, "rivet")?,
        head: head(&row, "part")?,
        rule: row.text("rule")?.to_owned(),
        least_d: row.number("least_d")?,
        most_d: row.number("most_d")?,
        least: row.length("least_in")?,
        cited: row.cited()?,
        note: row.note()?,
    })
}

fn squeeze_point(row: Row<'_>) -> Result<SqueezePoint, DataError> {
    Ok(SqueezePoint {
        rivet: row.text("tested")?.to_owned(),
        diameter: one_diameter(&row, "rivet")?,
        shank: row.need_length("shank_in")?,
        width_over_shank: row.need_number("width_over_shank")?,
        force: Force::from_newtons(row.need_number("force_kn")? * 1e3),
        cited: row.cited()?,
        note: row.note()?,
    })
}

fn constant(row: Row<'_>) -> Result<(String, Constant), DataError> {
    let name = row.text("name")?.to_owned();
    Ok((
        name.clone(),
        Constant {
            name,
            what: row.text("what")?.to_owned(),
            value: row.need_number("value")?,
            unit: row.text("unit")?.to_owned(),
            cited: row.cited()?,
            note: row.note()?,
        },
    ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drill::drill;
    use crate::quantity::{Unit, inches};
    use crate::source::Known;

    fn size(dash: u8) -> Diameter {
        Diameter::from_dash(dash).unwrap()
    }

    fn kind(text: &str) -> RivetType {
        text.parse().unwrap()
    }

    #[test]
    fn everything_reads() {
        let figures = Figures::parse().unwrap_or_else(|error| panic!("{error}"));
        assert!(!figures.revision().is_empty());
        for table in figures.tables() {
            assert!(!table.rows.is_empty(), "{} is empty", table.name);
        }
    }

    #[test]
    fn every_row_cites_a_document_and_says_how_it_is_known() {
        for table in figures().tables() {
            let end: Vec<&str> = table.columns.iter().rev().take(4).rev().map(String::as_str).collect();
            assert_eq!(end, ["source", "place", "known", "note"], "{}", table.name);
            for cited in table.read(|row| row.cited()) {
                let cited = cited.unwrap_or_else(|error| panic!("{error}"));
                assert!(
                    figures().source(&cited.source).is_some(),
                    "{}: {} is not in sources.toml",
                    table.name,
                    cited.source
                );
            }
        }
    }

    /// Those without a row yet are named in a note. The build's own two files hold no row of ours.
    #[test]
    fn no_document_stands_idle() {
        for key in figures().sources().keys().filter(|key| !["plan", "limits.toml"].contains(&key.as_str())) {
            let named = figures().tables().iter().flat_map(|table| &table.rows).flatten();
            let named = named.into_iter().any(|cell| cell.contains(key.as_str()));
            assert!(named, "nothing cites {key}");
        }
    }

    /// Figures are carried over, addresses are not: they may hold names.
    #[test]
    fn no_cell_holds_an_address() {
        for table in figures().tables() {
            for cell in table.rows.iter().flatten() {
                assert!(!cell.contains("http") && !cell.contains("www."), "{}: {cell}", table.name);
                assert_eq!(cell.trim(), cell, "{}: blanks around \"{cell}\"", table.name);
            }
        }
    }

    #[test]
    fn dimensions_are_there_for_the_sizes_of_the_trade() {
        for dash in [2, 3, 4, 5, 6, 8] {
            for head in HeadStyle::ALL {
                let kind = RivetType { head, alloy: RivetAlloy::Ad, diameter: size(dash) };
                let row = figures().rivet_size(kind).unwrap_or_else(|| panic!("{kind} has no dimensions"));
                assert_eq!(row.shank, kind.diameter.length());
                assert!(row.head_diameter > row.shank);
                assert_eq!(row.countersink_deg.is_some(), head == HeadStyle::Flush);
            }
        }
        assert_eq!(figures().rivet_size(kind("MS20470AD7")), None);
        for alloy in RivetAlloy::ALL {
            assert_eq!(figures().alloy(alloy).alloy, alloy);
            assert_eq!(figures().rivet_lengths(kind("MS20470AD7")).shortest, None);
        }
    }

    /// Height and diameter of a flush head are remembered apart: a cone of 100° must join them.
    /// Both are printed to the thousandth, so .001 is the whole tolerance.
    #[test]
    fn a_flush_head_is_a_cone() {
        for row in figures().rivet_sizes().iter().filter(|row| row.head == HeadStyle::Flush) {
            let half_angle = row.countersink_deg.unwrap().to_radians() / 2.0;
            let cone = (row.head_diameter - row.shank).inches() / 2.0 / half_angle.tan();
            let height = row.head_height.inches();
            assert!(
                (height - cone).abs() <= 0.001,
                "{}: printed {height}, a cone gives {cone:.4}",
                row.diameter
            );
        }
    }

    /// Two documents: the countersink bands printed in one, the head diameters of the other.
    #[test]
    fn a_head_fits_the_middle_of_its_countersink() {
        for dash in [4, 5, 6] {
            let row = figures().countersink_diameter(size(dash)).unwrap();
            let head = figures()
                .rivet_size(RivetType {
                    head: HeadStyle::Flush,
                    alloy: RivetAlloy::Ad,
                    diameter: row.diameter,
                })
                .unwrap()
                .head_diameter;
            assert_eq!(row.min + row.max, head * 2, "{}", row.diameter);
        }
        assert_eq!(figures().countersink_diameter(size(3)), None);
    }

    #[test]
    fn usual_holes_and_their_drills_agree() {
        for (dash, mark, hole) in [
            (2, "#51", 0.067),
            (3, "#40", 0.098),
            (4, "#30", 0.1285),
            (5, "#21", 0.159),
            (6, "#11", 0.191),
            (8, "F", 0.257),
        ] {
            let row = figures().usual_hole(size(dash)).unwrap();
            assert_eq!((row.drill.as_str(), row.nominal), (mark, Some(inches(hole))));
        }
        for row in figures().holes() {
            if let (Some(drilled), Some(hole)) = (drill(&row.drill), row.nominal) {
                assert_eq!(drilled, hole, "{}", row.drill);
            }
            if let (Some(diameter), Some(hole)) = (row.diameter, row.nominal) {
                assert!(hole > diameter.length(), "{} does not pass a {diameter} rivet", row.drill);
            }
        }
    }

    /// Both drills for 3/32 stay, each with its document, and the quoted band holds both.
    #[test]
    fn the_disagreement_on_three_thirty_seconds_is_kept() {
        let usual = figures().usual_hole(size(3)).unwrap();
        let listed = figures().listed_hole(size(3)).unwrap();
        assert_eq!((usual.drill.as_str(), listed.drill.as_str()), ("#40", "#41"));
        let band = figures().holes_for(size(3)).find(|hole| hole.role == HoleRole::Band).unwrap();
        assert_eq!((band.min, band.max), (Some(inches(0.093)), Some(inches(0.103))));
        assert_eq!(band.cited.known, Known::SecondHand);
        for hole in [usual, listed] {
            assert!(band.min < hole.nominal && hole.nominal < band.max);
        }
        let dimpled = figures().holes_for(size(3)).find(|hole| hole.role == HoleRole::Measured).unwrap();
        assert!(dimpled.min > band.max, "a dimpled hole lies beyond the band");
    }

    /// Bands as printed: .006-.012, .013-.019, .020-.032, .033-.063, .064-.125, .126-.249.
    #[test]
    fn thickness_tolerance_at_the_edges_of_its_bands() {
        let at = |thickness: &str| {
            let thickness = Length::read(thickness, Unit::Inch).unwrap();
            figures().thickness_tolerance(thickness).map(|row| row.plus_minus.decimal())
        };
        for (thickness, printed) in [
            (".006", ".0008"),
            (".012", ".0008"),
            (".013", ".001"),
            (".019", ".001"),
            (".020", ".0015"),
            (".032", ".0015"),
            (".033", ".002"),
            (".063", ".002"),
            (".064", ".003"),
            (".125", ".003"),
            (".126", ".005"),
            (".249", ".005"),
            // Between two bands: to the thousandth first.
            ("1/16", ".002"),
            (".0634", ".002"),
            (".0635", ".003"),
            ("1.6 mm", ".002"),
        ] {
            assert_eq!(
                at(thickness).unwrap(),
                Length::read(printed, Unit::Inch).unwrap().decimal(),
                "{thickness}"
            );
        }
        assert_eq!(at(".005"), None);
        assert_eq!(at(".250"), None);
        // Three sources, three answers for .040; the default is the only one not from memory.
        let all: Vec<_> = figures().thickness_tolerances_at(inches(0.040)).collect();
        assert_eq!(all.len(), 3);
        assert_eq!(all.iter().filter(|row| row.default).count(), 1);
        assert_eq!(figures().thickness_tolerance(inches(0.040)).unwrap().cited.known, Known::SecondHand);
    }

    #[test]
    fn each_default_is_the_only_one() {
        for thousandth in 1..300 {
            let thickness = inches(f64::from(thousandth) / 1e3);
            assert!(figures().thickness_tolerances_at(thickness).filter(|row| row.default).count() <= 1);
        }
        for (dash, least) in [(3, 0.040), (4, 0.050), (5, 0.064), (6, 0.072), (8, 0.072)] {
            let rows: Vec<_> = figures().countersink_minima(size(dash)).filter(|row| row.default).collect();
            assert_eq!(rows.len(), 1);
            assert_eq!(rows[0].least_sheet, Some(inches(least)));
        }
        // The quarrel over 3/32 is kept: .032 stands beside .040.
        assert!(figures().countersink_minima(size(3)).any(|row| row.least_sheet == Some(inches(0.032))));
        for diameter in Diameter::ALL {
            for role in [HoleRole::Usual, HoleRole::Listed, HoleRole::Band] {
                assert!(figures().holes_for(diameter).filter(|hole| hole.role == role).count() <= 1);
            }
        }
    }

    #[test]
    fn spacing_rules_say_what_they_ask() {
        let edges = |rivet: &str| -> Vec<String> {
            let kind = kind(rivet);
            figures()
                .spacing_rules()
                .iter()
                .filter(|rule| rule.item == SpacingItem::EdgeDistance && rule.used == SpacingUse::Compare)
                .filter_map(|rule| rule.least_for(kind))
                .map(Length::decimal)
                .collect()
        };
        assert_eq!(edges("MS20470AD4"), [".250", ".250"]);
        assert_eq!(edges("MS20426AD3"), [".1875", ".2344", ".156", ".1875"]);
        assert_eq!(edges("MS20470AD3"), [".1875", ".156", ".1875"]);
        // A misprint must not be put beside a measured distance.
        for rule in figures().spacing_rules().iter().filter(|rule| rule.used == SpacingUse::Mistaken) {
            assert_eq!(rule.least_for(kind("MS20470AD4")), None, "{}", rule.rule);
        }
    }

    /// The constants of the force are an own fit: it must come within what is said of it.
    #[test]
    fn the_squeeze_fit_comes_near_the_measured_points() {
        let strength = figures().constant("squeeze-strength").value;
        let exponent = figures().constant("squeeze-exponent").value;
        let error = figures().constant("squeeze-fit-error").value;
        let fitted = |point: &SqueezePoint| {
            let (shank_mm, ratio) = (point.shank.millimetres(), point.width_over_shank);
            let area_mm2 = std::f64::consts::FRAC_PI_4 * (shank_mm * ratio).powi(2);
            area_mm2 * strength * (2.0 * ratio.ln()).powf(exponent)
        };
        let points = |dash| figures().squeeze_points().iter().filter(move |p| p.diameter == size(dash));
        assert_eq!(points(4).count(), 12);
        for point in points(4) {
            let off = fitted(point) / point.force.newtons() - 1.0;
            assert!(off.abs() <= error, "{} d: off by {off:.3}", point.width_over_shank);
        }
        // On 5/32 it lies low; the band is said to the nearest hundredth.
        let least = figures().constant("squeeze-low-5/32-least").value;
        let most = figures().constant("squeeze-low-5/32-most").value;
        for point in points(5) {
            let low = 1.0 - fitted(point) / point.force.newtons();
            assert!(
                least - 0.005 <= low && low <= most + 0.005,
                "{} d: low by {low:.3}",
                point.width_over_shank
            );
        }
    }

    #[test]
    fn derived_constants_are_what_their_formula_gives() {
        let sine = 50_f64.to_radians().sin();
        assert!((figures().constant("dimple-thickness-most").value - 1.0 / sine).abs() < 1e-12);
        assert!((figures().constant("film-proud").value - (1.0 / sine - 1.0)).abs() < 1e-12);
        assert_eq!(figures().constant("dimpled-hole-3/32").length(), Some(inches(0.105)));
        assert_eq!(figures().constant("fold-caution").length(), None);
        // A length in the constants and the same in a table must not drift apart.
        let tolerance = figures().constant("rivet-length-tolerance").length();
        for row in figures().rivet_sizes() {
            assert_eq!(Some(row.length_tolerance), tolerance);
        }
    }

    #[test]
    fn sheet_alloys_are_found_as_written() {
        let name = |text| figures().sheet_alloy(text).map(|alloy| alloy.name.as_str());
        assert_eq!(name("2024-T3"), Some("2024-T3"));
        assert_eq!(name("2024-t3 alclad"), Some("2024-T3 clad"));
        assert_eq!(name("Alclad 2024-T3"), Some("2024-T3 clad"));
        assert_eq!(name("6061-T6"), Some("6061-T6"));
        assert_eq!(name("6061-T6 clad"), None);
        assert_eq!(name("2024"), None);
        assert_eq!(name(""), None);
    }
}
