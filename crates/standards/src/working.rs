//! The working of a computed figure: formula, numbers put in, result, source.
//!
//! Page, print and test show the same lines, so a figure and its working
//! cannot drift apart.

use serde::Serialize;

use crate::source::Cited;

/// One computed or quoted figure.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Figure {
    /// What it is, in the trade's words: "grip", "tail".
    pub name: String,
    /// The formula in symbols, or empty for a figure that is only quoted.
    pub formula: String,
    /// The formula with its numbers put in.
    pub put_in: String,
    /// The result with its unit.
    pub result: String,
    /// Where the formula or the figure comes from.
    pub source: Cited,
}

/// The lines of a working, in the order they were worked.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
#[serde(transparent)]
pub struct Working(Vec<Figure>);

impl Working {
    /// Adds a line.
    pub fn add(
        &mut self,
        name: impl Into<String>,
        formula: impl Into<String>,
        put_in: impl Into<String>,
        result: impl Into<String>,
        source: Cited,
    ) {
        self.0.push(Figure {
            name: name.into(),
            formula: formula.into(),
            put_in: put_in.into(),
            result: result.into(),
            source,
        });
    }

    /// Adds all lines of another working behind these.
    pub fn append(&mut self, mut other: Self) {
        self.0.append(&mut other.0);
    }

    /// The lines.
    #[must_use]
    pub fn figures(&self) -> &[Figure] {
        &self.0
    }
}
