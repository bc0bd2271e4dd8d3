//! What goes to the printer: pages of marks on a size of paper.
//!
//! A page is a [`Drawing`] of the size of its paper, so that whatever writes a
//! drawing writes a page. Nothing here reads a clock: the date is handed in.

use std::fmt;

use crate::marks::{Drawing, PX_PER_INCH};

/// A size of paper, upright.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Paper {
    /// 210 × 297 mm (ISO 216).
    #[default]
    A4,
    /// 8 1/2 × 11 in.
    Letter,
}

impl Paper {
    /// Both.
    pub const ALL: [Self; 2] = [Self::A4, Self::Letter];

    /// Width and height, in.
    #[must_use]
    pub const fn inches(self) -> [f64; 2] {
        match self {
            Self::A4 => [210.0 / 25.4, 297.0 / 25.4],
            Self::Letter => [8.5, 11.0],
        }
    }

    /// Width and height, px.
    #[must_use]
    pub fn px(self) -> [f64; 2] {
        self.inches().map(|inches| inches * PX_PER_INCH)
    }

    /// Its name, as it stands on the pack.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::A4 => "A4",
            Self::Letter => "Letter",
        }
    }
}

/// A day, as a document carries it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Date {
    /// Year, such as 2026.
    pub year: u16,
    /// Month, 1 to 12.
    pub month: u8,
    /// Day of the month, 1 to 31.
    pub day: u8,
}

impl fmt::Display for Date {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:04}-{:02}-{:02}", self.year, self.month, self.day)
    }
}

/// Pages that are printed together.
#[derive(Clone, Debug, PartialEq)]
pub struct Document {
    /// What it is, for the window of a viewer.
    pub title: String,
    /// Who it is from: the build, or the builder if they wish; may be empty.
    pub author: String,
    /// The day it was made, handed in.
    pub date: Date,
    /// The pages in order, each as large as its paper.
    pub pages: Vec<Drawing>,
}
