//! The tables of `standards/*.csv`, compiled in, as plain text.
//!
//! A table is kept as it is written, so that a page can show every figure
//! beside its source. The typed figures are read out of it, cell by cell; a
//! cell that cannot be read names its file, line and column.

use thiserror::Error;

use crate::quantity::{Length, Unit};
use crate::source::{Cited, Known};

/// One table of figures, as written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Table {
    /// File name without `.csv`.
    pub name: &'static str,
    /// What the table holds, as a heading.
    pub title: &'static str,
    /// Column names; a unit is part of the name.
    pub columns: Vec<String>,
    /// Rows in file order; each has as many cells as there are columns.
    pub rows: Vec<Vec<String>>,
}

/// A cell that cannot be read.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[error("standards/{file}:{line}: {what}")]
pub(crate) struct DataError {
    /// File name.
    pub file: String,
    /// Line, from 1.
    pub line: usize,
    /// What is wrong.
    pub what: String,
}

macro_rules! files {
    ($($name:literal, $title:literal;)*) => {
        /// Every table: name, heading, text. The order is that of the Standards page.
        const FILES: &[(&str, &str, &str)] = &[
            $(($name, $title, include_str!(concat!("../../../standards/", $name, ".csv"))),)*
        ];
    };
}

files! {
    "solid_rivets", "Solid rivets: dimensions";
    "rivet_alloys", "Solid rivets: alloys and head marks";
    "rivet_lengths", "Solid rivets: lengths that exist";
    "hole_sizes", "Holes for solid rivets";
    "drills", "Number and letter drills";
    "limit_sets", "Shop heads: sets of limits";
    "shop_head_limits", "Shop heads: limits";
    "acceptance", "Rules for finished rivets and holes";
    "length_rules", "Rules for the length of a rivet";
    "spacing", "Edge distance, pitch, row spacing";
    "countersink_min", "Countersinks: least sheet thickness";
    "countersink_dia", "Countersinks: diameter";
    "sheet_alloys", "Sheet: alloys";
    "gauges", "Sheet: thicknesses";
    "thickness_tolerance", "Sheet: thickness tolerance";
    "squeeze", "Squeezing: measured forces";
    "rivet_shear", "Strength: shear stress of solid rivets";
    "rivet_shear_printed", "Strength: shear of a solid rivet, as printed";
    "sheet_strength", "Strength: sheet";
    "flush_joints", "Strength: flush joints";
    "splice_rules", "Splices: rivets per inch, the rule";
    "splice_cells", "Splices: rivets per inch, as printed";
    "splice_notes", "Splices: notes";
    "splice_examples", "Splices: worked examples";
    "substitutes", "Substitutes for a rivet";
    "flexibility", "Fastener flexibility: constants of the formulas";
    "fastener_families", "Other fasteners by part number";
    "constants", "Constants and defaults of the methods";
}

impl Table {
    /// The names of all tables, in the order of the Standards page.
    pub(crate) fn names() -> impl Iterator<Item = &'static str> {
        FILES.iter().map(|(name, _, _)| *name)
    }

    /// A compiled-in table by name.
    pub(crate) fn compiled_in(name: &str) -> Result<Self, DataError> {
        let (name, title, text) =
            *FILES.iter().find(|file| file.0 == name).expect("every table asked for is compiled in");
        Self::parse(name, title, text)
    }

    /// Reads CSV text with a heading line.
    pub(crate) fn parse(name: &'static str, title: &'static str, text: &str) -> Result<Self, DataError> {
        let bad = |error: csv::Error| DataError {
            file: format!("{name}.csv"),
            line: error
                .position()
                .map_or(0, |position| usize::try_from(position.line()).unwrap_or(usize::MAX)),
            what: error.to_string(),
        };
        let mut reader = csv::ReaderBuilder::new().from_reader(text.as_bytes());
        let columns = reader.headers().map_err(bad)?.iter().map(str::to_owned).collect();
        let rows = reader
            .records()
            .map(|record| record.map(|record| record.iter().map(str::to_owned).collect()).map_err(bad))
            .collect::<Result<_, _>>()?;
        Ok(Self { name, title, columns, rows })
    }

    /// Reads each row with `one`.
    pub(crate) fn read<'a, T>(
        &'a self,
        one: impl Fn(Row<'a>) -> Result<T, DataError> + 'a,
    ) -> impl Iterator<Item = Result<T, DataError>> + 'a {
        // Line 1 is the heading. No cell holds a line break (a test holds that).
        self.rows
            .iter()
            .enumerate()
            .map(move |(index, cells)| one(Row { table: self, cells, line: index + 2 }))
    }
}

/// One row while it is read.
#[derive(Clone, Copy)]
pub(crate) struct Row<'a> {
    table: &'a Table,
    cells: &'a [String],
    line: usize,
}

impl<'a> Row<'a> {
    /// An error at this row.
    pub(crate) fn error(&self, what: impl Into<String>) -> DataError {
        DataError { file: format!("{}.csv", self.table.name), line: self.line, what: what.into() }
    }

    /// The cell, which may be blank.
    pub(crate) fn cell(&self, column: &str) -> Result<&'a str, DataError> {
        let at = self.table.columns.iter().position(|name| name == column);
        at.and_then(|at| self.cells.get(at))
            .map(String::as_str)
            .ok_or_else(|| self.error(format!("there is no column \"{column}\"")))
    }

    /// The cell, which must be filled.
    pub(crate) fn text(&self, column: &str) -> Result<&'a str, DataError> {
        let text = self.cell(column)?;
        if text.is_empty() { Err(self.error(format!("\"{column}\" is blank"))) } else { Ok(text) }
    }

    /// A blank cell is nothing; any other goes through `read`.
    pub(crate) fn maybe<T>(
        &self,
        column: &str,
        read: impl FnOnce(&'a str) -> Result<T, DataError>,
    ) -> Result<Option<T>, DataError> {
        let text = self.cell(column)?;
        if text.is_empty() { Ok(None) } else { read(text).map(Some) }
    }

    /// A length in inches, where the cell is filled.
    pub(crate) fn length(&self, column: &str) -> Result<Option<Length>, DataError> {
        self.maybe(column, |text| {
            Length::read(text, Unit::Inch).map_err(|error| self.error(format!("{column}: {error}")))
        })
    }

    /// A length in inches that must be there.
    pub(crate) fn need_length(&self, column: &str) -> Result<Length, DataError> {
        self.length(column)?.ok_or_else(|| self.error(format!("\"{column}\" is blank")))
    }

    /// A number, where the cell is filled.
    pub(crate) fn number(&self, column: &str) -> Result<Option<f64>, DataError> {
        self.maybe(column, |text| match text.parse::<f64>() {
            Ok(number) if number.is_finite() => Ok(number),
            _ => Err(self.error(format!("{column}: \"{text}\" is not a number"))),
        })
    }

    /// A number that must be there.
    pub(crate) fn need_number(&self, column: &str) -> Result<f64, DataError> {
        self.number(column)?.ok_or_else(|| self.error(format!("\"{column}\" is blank")))
    }

    /// The columns `source`, `place` and `known`.
    pub(crate) fn cited(&self) -> Result<Cited, DataError> {
        let known = match self.text("known")? {
            "seen" => Known::Seen,
            "second-hand" => Known::SecondHand,
            "derived" => Known::Derived,
            "practice" => Known::Practice,
            "memory" => Known::Memory,
            other => return Err(self.error(format!("\"{other}\" is not a way a figure is known"))),
        };
        Ok(Cited::new(self.text("source")?, self.cell("place")?, known))
    }

    /// The column `note`.
    pub(crate) fn note(&self) -> Result<String, DataError> {
        self.cell("note").map(str::to_owned)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn table(text: &str) -> Table {
        Table::parse("sample", "Sample", text).unwrap()
    }

    #[test]
    fn a_bad_cell_names_its_line_and_column() {
        let table = table("a_in,b,known,source,place\n0.5,,seen,x,\n3/16x,two,sen,x,\n");
        let lengths: Vec<_> = table.read(|row| row.need_length("a_in")).collect();
        assert!(lengths[0].is_ok());
        insta::assert_snapshot!(
            lengths[1].clone().unwrap_err(),
            @r#"standards/sample.csv:3: a_in: "3/16x" is not a length: write a fraction (3/32, 1 1/8), a decimal (.063) or millimetres (3.2 mm)"#
        );
        let numbers: Vec<_> = table.read(|row| row.number("b")).collect();
        assert_eq!(numbers[0], Ok(None));
        insta::assert_snapshot!(
            numbers[1].clone().unwrap_err(),
            @r#"standards/sample.csv:3: b: "two" is not a number"#
        );
        let cited: Vec<_> = table.read(|row| row.cited()).collect();
        insta::assert_snapshot!(
            cited[1].clone().unwrap_err(),
            @r#"standards/sample.csv:3: "sen" is not a way a figure is known"#
        );
        let missing: Vec<_> = table.read(|row| row.cell("c")).collect();
        insta::assert_snapshot!(
            missing[0].clone().unwrap_err(),
            @r#"standards/sample.csv:2: there is no column "c""#
        );
    }

    #[test]
    fn a_row_with_a_cell_too_many_is_refused() {
        assert!(Table::parse("sample", "Sample", "a,b\n1,2,3\n").is_err());
    }

    /// Line numbers in [`DataError`] rest on it.
    #[test]
    fn no_cell_holds_a_line_break() {
        for (name, _, text) in FILES {
            let table = Table::compiled_in(name).unwrap();
            assert_eq!(table.rows.len() + 1, text.lines().count(), "{name}");
        }
    }
}
