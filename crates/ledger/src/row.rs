//! A row, its hash, and the heads of the chains.
//!
//! The hash rule is fixed for ever, because a hash once printed on paper must
//! come out the same from any later version. The hash of a row is the plain
//! BLAKE3 (32 bytes) of these bytes, one after the other:
//!
//! | what | how it is written |
//! | --- | --- |
//! | mark | the 16 bytes `faying ledger 1` and a line feed |
//! | writer | its length, then its UTF-8 |
//! | seq | number |
//! | prev | 32 bytes; 32 zeros for the first row of a chain |
//! | order | number |
//! | act | its length, then its UTF-8 |
//! | bytes | their length, then they themselves |
//!
//! Every length and number is 8 bytes, least byte first. Lengths stand before
//! what they measure, so no two different rows give the same bytes. Every
//! column is in it, not only the bytes: a changed act id or order would
//! otherwise pass unseen. The expected values in
//! `tests/reference/row_hash.csv` come from another program in another
//! language.

use std::fmt;
use std::str::FromStr;

use thiserror::Error;

use crate::ledger::Position;

/// What stands first in the hashed bytes: the name and version of the rule, 16 bytes.
const MARK: &[u8; 16] = b"faying ledger 1\n";

/// The hash of a row, 32 bytes; shown as 64 hexadecimal digits.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct RowHash([u8; 32]);

impl RowHash {
    /// What the first row of a chain names as its `prev`: 32 zero bytes.
    pub const NONE: Self = Self([0; 32]);

    /// From the 32 bytes.
    #[must_use]
    pub const fn from_bytes(bytes: [u8; 32]) -> Self {
        Self(bytes)
    }

    /// The 32 bytes.
    #[must_use]
    pub const fn as_bytes(&self) -> &[u8; 32] {
        &self.0
    }

    /// The first 16 hexadecimal digits, for print where 64 would not be compared by eye.
    #[must_use]
    pub fn short(&self) -> String {
        self.to_string()[..16].to_owned()
    }
}

impl fmt::Display for RowHash {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(blake3::Hash::from_bytes(self.0).to_hex().as_str())
    }
}

impl fmt::Debug for RowHash {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "RowHash({self})")
    }
}

/// A text that is not a hash.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[error("\"{text}\" is not a hash: write its 64 digits, 0 to 9 and a to f")]
pub struct NotAHash {
    text: String,
}

impl FromStr for RowHash {
    type Err = NotAHash;

    fn from_str(text: &str) -> Result<Self, NotAHash> {
        blake3::Hash::from_hex(text)
            .map(|hash| Self(*hash.as_bytes()))
            .map_err(|_| NotAHash { text: text.to_owned() })
    }
}

/// One row of the ledger.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Row {
    /// Who wrote it: the name of a copy of the ledger. Not empty.
    pub writer: String,
    /// Its number in the writer's chain, from 1, without gaps.
    pub seq: u64,
    /// The hash of the writer's row before it; [`RowHash::NONE`] for the first.
    pub prev: RowHash,
    /// The hash of this row; see [`Row::computed_hash`].
    pub hash: RowHash,
    /// Its Lamport number, which rises along a chain: the order of all writers together.
    pub order: u64,
    /// The id of the act it came from, for "had it already". Not empty.
    pub act: String,
    /// What is kept. Never read here.
    pub bytes: Vec<u8>,
}

impl Row {
    /// A row with its hash.
    #[must_use]
    pub fn seal(
        writer: impl Into<String>,
        seq: u64,
        prev: RowHash,
        order: u64,
        act: impl Into<String>,
        bytes: Vec<u8>,
    ) -> Self {
        let mut row =
            Self { writer: writer.into(), seq, prev, hash: RowHash::NONE, order, act: act.into(), bytes };
        row.hash = row.computed_hash();
        row
    }

    /// The hash that this row must carry: BLAKE3 of its fields, each length before what it measures.
    ///
    /// The mark `faying ledger 1` with a line feed; then writer, seq, prev,
    /// order, act, bytes. Lengths and numbers are 8 bytes, least byte first.
    ///
    /// ```
    /// use faying_ledger::{Row, RowHash};
    /// // The bytes below, through any BLAKE3 program, give the value asserted.
    /// let hashed = [
    ///     b"faying ledger 1\n".as_slice(),
    ///     b"\x01\0\0\0\0\0\0\0a",  // writer "a"
    ///     b"\x01\0\0\0\0\0\0\0",   // seq 1
    ///     &[0; 32],                // no row before
    ///     b"\x07\0\0\0\0\0\0\0",   // order 7
    ///     b"\x02\0\0\0\0\0\0\0a1", // act "a1"
    ///     b"\x03\0\0\0\0\0\0\0{}\n",
    /// ];
    /// assert_eq!(hashed.concat().len(), 16 + 9 + 8 + 32 + 8 + 10 + 11);
    /// let row = Row::seal("a", 1, RowHash::NONE, 7, "a1", b"{}\n".to_vec());
    /// assert_eq!(row.hash.to_string(), "cd5f25929897ac8c8502ad17cb84baea3039abd3cb87ab2ffb27b3b7724c2b12");
    /// ```
    #[must_use]
    pub fn computed_hash(&self) -> RowHash {
        let mut hasher = blake3::Hasher::new();
        let number = |hasher: &mut blake3::Hasher, value: u64| {
            hasher.update(&value.to_le_bytes());
        };
        let counted = |hasher: &mut blake3::Hasher, bytes: &[u8]| {
            number(hasher, bytes.len() as u64);
            hasher.update(bytes);
        };
        hasher.update(MARK);
        counted(&mut hasher, self.writer.as_bytes());
        number(&mut hasher, self.seq);
        hasher.update(&self.prev.0);
        number(&mut hasher, self.order);
        counted(&mut hasher, self.act.as_bytes());
        counted(&mut hasher, &self.bytes);
        RowHash(*hasher.finalize().as_bytes())
    }

    /// The head that this row is while nothing follows it.
    #[must_use]
    pub fn head(&self) -> Head {
        Head { writer: self.writer.clone(), seq: self.seq, hash: self.hash, order: self.order }
    }
}

/// A row as it is held in one file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct HeldRow {
    /// Where it stands in this file; another copy of the ledger holds it elsewhere.
    pub position: Position,
    /// 0 on the chain this file knew first, 1 and up on chains that parted from it. Differs between copies.
    pub branch: u32,
    /// The row.
    pub row: Row,
}

/// The last row of a chain: what is printed on packs, gates and backups.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Head {
    /// Whose chain.
    pub writer: String,
    /// The number of its last row.
    pub seq: u64,
    /// The hash of its last row.
    pub hash: RowHash,
    /// The Lamport number of its last row.
    pub order: u64,
}

impl fmt::Display for Head {
    /// Writer, number and the whole hash.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {} {}", self.writer, self.seq, self.hash)
    }
}

/// A writer's chain that parted in two: two copies of one file both went on under one name.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fork {
    /// Whose chain.
    pub writer: String,
    /// The branch that this file came to know later.
    pub branch: u32,
    /// The first number that the two have different rows for.
    pub seq: u64,
}

#[cfg(test)]
mod tests {
    use super::*;

    /// One line of the file written by `tests/reference/row_hash.py`.
    fn published() -> Vec<Row> {
        let hex = |text: &str| -> Vec<u8> {
            (0..text.len()).step_by(2).map(|at| u8::from_str_radix(&text[at..at + 2], 16).unwrap()).collect()
        };
        include_str!("../tests/reference/row_hash.csv")
            .lines()
            .filter(|line| !line.starts_with('#'))
            .skip(1)
            .map(|line| {
                let cells: Vec<&str> = line.split(',').collect();
                assert_eq!(cells.len(), 7, "{line}");
                Row {
                    writer: cells[0].to_owned(),
                    seq: cells[1].parse().unwrap(),
                    prev: cells[2].parse().unwrap(),
                    order: cells[3].parse().unwrap(),
                    act: cells[4].to_owned(),
                    bytes: hex(cells[5]),
                    hash: cells[6].parse().unwrap(),
                }
            })
            .collect()
    }

    #[test]
    fn hashes_are_those_of_an_independent_program() {
        let rows = published();
        assert_eq!(rows.len(), 8);
        for row in &rows {
            assert_eq!(row.computed_hash(), row.hash, "{} {}", row.writer, row.seq);
        }
        // A rule that left a column out would pass the lines above only if it were wrong in both programs.
        assert!(rows.iter().any(|row| row.bytes.len() > 1024), "no row is longer than one BLAKE3 chunk");
        assert!(rows.iter().any(|row| row.bytes.is_empty()));
    }

    #[test]
    fn every_field_is_in_the_hash() {
        let row = Row::seal("ab", 1, RowHash::NONE, 7, "cd", b"ef".to_vec());
        let others = [
            Row { writer: "ac".into(), ..row.clone() },
            Row { seq: 2, ..row.clone() },
            Row { prev: RowHash::from_bytes([1; 32]), ..row.clone() },
            Row { order: 8, ..row.clone() },
            Row { act: "ce".into(), ..row.clone() },
            Row { bytes: b"eg".to_vec(), ..row.clone() },
            // Moved borders: the same letters, cut differently.
            Row { act: "cde".into(), bytes: b"f".to_vec(), ..row.clone() },
        ];
        for other in others {
            assert_ne!(other.computed_hash(), row.hash, "{other:?}");
        }
    }

    #[test]
    fn a_hash_reads_back_and_refuses_other_text() {
        let hash = Row::seal("a", 1, RowHash::NONE, 1, "a", Vec::new()).hash;
        assert_eq!(hash.to_string().parse::<RowHash>().unwrap(), hash);
        assert_eq!(RowHash::NONE.short(), "0000000000000000");
        let error = "12ab".parse::<RowHash>().unwrap_err();
        assert_eq!(error.to_string(), "\"12ab\" is not a hash: write its 64 digits, 0 to 9 and a to f");
        assert!("é".repeat(32).parse::<RowHash>().is_err());
    }
}
