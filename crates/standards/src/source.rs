//! Where a figure comes from, and how it is known.
//!
//! `standards/sources.toml` names each document once (title, revision, year);
//! a figure then cites it by key with the place in it.

use std::fmt;

use serde::{Deserialize, Serialize};

/// The short name of a document in `standards/sources.toml`, such as `mil-hdbk-5h`.
pub type SourceKey = String;

/// How a figure is known, best first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Known {
    /// The figure itself stood in a document that was read.
    Seen,
    /// Somebody else's quotation of the document was read, not the document.
    SecondHand,
    /// Computed by a stated formula from figures that have their own source.
    Derived,
    /// Common practice of the trade, without a document behind it.
    Practice,
    /// Remembered; to be checked before it is relied on.
    Memory,
    /// The builder's own value; it wins over the others.
    Own,
}

impl fmt::Display for Known {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Seen => "seen",
            Self::SecondHand => "as quoted",
            Self::Derived => "derived",
            Self::Practice => "practice",
            Self::Memory => "from memory",
            Self::Own => "your own",
        })
    }
}

/// A citation: the document, the place in it, and how the figure is known.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Cited {
    /// Key into the sources.
    pub source: SourceKey,
    /// Table, paragraph or page; empty where the whole document is meant.
    pub place: String,
    /// How it is known.
    pub known: Known,
}

impl Cited {
    /// A citation.
    #[must_use]
    pub fn new(source: impl Into<SourceKey>, place: impl Into<String>, known: Known) -> Self {
        Self { source: source.into(), place: place.into(), known }
    }

    /// A formula of `docs/theory.md`, by its heading.
    #[must_use]
    pub fn theory(heading: impl Into<String>) -> Self {
        Self::new("theory", heading, Known::Derived)
    }
}

/// A document.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Source {
    /// Full title.
    pub title: String,
    /// Revision or edition, where known.
    #[serde(default)]
    pub revision: String,
    /// Year of issue, where known.
    #[serde(default)]
    pub year: Option<u16>,
    /// What to know about it: superseded, second-hand only, builder's account.
    #[serde(default)]
    pub note: String,
}
