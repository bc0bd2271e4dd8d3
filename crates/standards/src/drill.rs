//! Number and letter drills.
//!
//! `standards/drills.csv`, `#1` to `#60` and the letters `A` to `Z`. The sizes
//! are a list, not a rule: no formula gives them.
//!
//! Out of scope: which drill a rivet wants; that is `standards/hole_sizes.csv`.

use std::sync::OnceLock;

use crate::quantity::Length;
use crate::source::Cited;
use crate::table::{DataError, Table};

/// One drill of the list.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Drill {
    /// `1` to `60`, or `A` to `Z`.
    pub name: String,
    /// Diameter.
    pub diameter: Length,
    /// Where the diameter comes from.
    pub cited: Cited,
}

pub(crate) fn parse(table: &Table) -> Result<Vec<Drill>, DataError> {
    table
        .read(|row| {
            let name = row.text("drill")?.trim_start_matches('#').to_owned();
            Ok(Drill { name, diameter: row.need_length("diameter_in")?, cited: row.cited()? })
        })
        .collect()
}

/// All drills, numbers before letters, largest number drill last.
///
/// Parsed apart from the other figures, because reading a length asks for it
/// and the other tables are full of lengths.
#[must_use]
pub fn drills() -> &'static [Drill] {
    static DRILLS: OnceLock<Vec<Drill>> = OnceLock::new();
    DRILLS.get_or_init(|| {
        let table = Table::compiled_in("drills");
        table.and_then(|table| parse(&table)).unwrap_or_else(|error| panic!("compiled-in figures: {error}"))
    })
}

/// The diameter of a number drill, given without its `#`: `"30"` is .1285 in.
///
/// `None` outside 1 to 60, and for anything that is not plain digits.
#[must_use]
pub fn number_drill(text: &str) -> Option<Length> {
    if !text.bytes().all(|b| b.is_ascii_digit()) {
        return None;
    }
    drills().iter().find(|drill| drill.name == text).map(|drill| drill.diameter)
}

/// The diameter of a drill by its mark as written on it: `#30`, `30` or `F`.
#[must_use]
pub fn drill(mark: &str) -> Option<Length> {
    let name = mark.trim().trim_start_matches('#');
    drills().iter().find(|drill| drill.name.eq_ignore_ascii_case(name)).map(|drill| drill.diameter)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::{Unit, inches};

    #[test]
    fn a_length_reads_number_drills() {
        assert_eq!(Length::read("#30", Unit::Inch).unwrap(), inches(0.1285));
        assert_eq!(Length::read("#40", Unit::Inch).unwrap(), inches(0.098));
        assert_eq!(Length::read("# 21", Unit::Inch).unwrap(), inches(0.159));
        for text in ["#0", "#61", "#030", "#+30", "#F", "#"] {
            assert!(Length::read(text, Unit::Inch).is_err(), "{text} was read");
        }
    }

    #[test]
    fn the_list_is_whole_and_falls_with_the_number() {
        let numbers: Vec<Length> = (1..=60)
            .map(|n| number_drill(&n.to_string()).unwrap_or_else(|| panic!("#{n} is missing")))
            .collect();
        assert!(numbers.windows(2).all(|pair| pair[0] > pair[1]), "a higher number is not thinner");
        let letters: Vec<Length> =
            ('A'..='Z').map(|c| drill(&c.to_string()).unwrap_or_else(|| panic!("{c} is missing"))).collect();
        assert!(letters.windows(2).all(|pair| pair[0] < pair[1]), "a later letter is not thicker");
        // The letters go on where the numbers end.
        assert!(letters[0] > numbers[0]);
        assert_eq!(drills().len(), 60 + 26);
    }
}
